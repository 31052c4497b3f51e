use super::{Context, Reading};
use crate::schedule::wire::*;
use crate::schedule::*;

/// A breaker of one cell: `30A/2P`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Breaker {
    pub amps: Amps,
    pub poles: Option<u8>,
}

pub fn breaker(text: &str, _ctx: &Context) -> Reading<Breaker> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn poles(text: &str, _ctx: &Context) -> Reading<u8> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}
