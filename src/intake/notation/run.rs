use super::{Context, Reading};
use crate::schedule::wire::*;
use crate::schedule::*;

pub fn purpose(text: &str, _ctx: &Context) -> Reading<RunPurpose> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn routing(text: &str, _ctx: &Context) -> Reading<Routing> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn shield_ground(text: &str, _ctx: &Context) -> Reading<ShieldGround> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn side(text: &str, _ctx: &Context) -> Reading<TerminalSide> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn splices(text: &str, _ctx: &Context) -> Reading<u32> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}
