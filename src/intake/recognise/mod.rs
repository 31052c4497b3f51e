pub fn placeholder() {}
