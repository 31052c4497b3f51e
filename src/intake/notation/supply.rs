use super::{Context, Reading};
use crate::schedule::wire::*;
use crate::schedule::*;

pub fn panel_supply(text: &str, _ctx: &Context) -> Reading<PanelSupply> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn phases(text: &str, _ctx: &Context) -> Reading<u8> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn supply(text: &str, _ctx: &Context) -> Reading<Supply> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn volts(text: &str, _ctx: &Context) -> Reading<Volts> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}
