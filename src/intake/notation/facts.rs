use super::{Context, Reading};
use crate::schedule::wire::*;
use crate::schedule::*;

/// A date, and the other reading where day and month may be exchanged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WrittenDate {
    pub date: jiff::civil::Date,
    pub other: Option<jiff::civil::Date>,
}

pub fn customer(text: &str, _ctx: &Context) -> Reading<CustomerType> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn date(text: &str, _ctx: &Context) -> Reading<WrittenDate> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn edition(text: &str, _ctx: &Context) -> Reading<Edition> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn revision(text: &str, _ctx: &Context) -> Reading<String> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn yes_no(text: &str, _ctx: &Context) -> Reading<bool> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}
