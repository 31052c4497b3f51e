use super::{Context, Reading};
use crate::schedule::wire::*;
use crate::schedule::*;

pub fn disconnect(text: &str, _ctx: &Context) -> Reading<Disconnect> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

/// The kind that a tag's prefix names.
pub fn kind_from_tag(_tag: &Name) -> Option<UnitKind> {
    None
}

/// The kind that a kind or description text names.
pub fn kind_from_text(_text: &str) -> Option<UnitKind> {
    None
}

pub fn place(text: &str, _ctx: &Context) -> Reading<UnitPlace> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn quantity(text: &str, _ctx: &Context) -> Reading<u32> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}
