use super::{Context, Reading};
use crate::schedule::wire::*;
use crate::schedule::*;

/// One entry of a circuit's list of loads.
#[derive(Clone, Debug, PartialEq)]
pub struct LoadEntry {
    /// The entry as written.
    pub text: String,
    pub part: Part,
    /// Words of it that are shaped like a tag, in their order.
    pub tags: Vec<Name>,
    /// Spare or space.
    pub spare: bool,
    /// Marked as existing or by others.
    pub elsewhere: bool,
}

pub fn free_text(text: &str, _ctx: &Context) -> Reading<String> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn loads(text: &str, _ctx: &Context) -> Reading<Vec<LoadEntry>> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn name(text: &str, _ctx: &Context) -> Reading<Name> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn tag_list(text: &str, _ctx: &Context) -> Reading<Vec<Name>> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}
