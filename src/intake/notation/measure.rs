use super::{Context, Reading};
use crate::schedule::wire::*;
use crate::schedule::*;

/// A quantity, and whether cell or column named its unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured<T> {
    pub value: T,
    pub unit_stated: bool,
}

pub fn capacity(text: &str, _ctx: &Context) -> Reading<Measured<Mbh>> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn horsepower(text: &str, _ctx: &Context) -> Reading<Horsepower> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn kilowatts(text: &str, _ctx: &Context) -> Reading<Measured<Kilowatts>> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn length(text: &str, _ctx: &Context) -> Reading<Measured<Feet>> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn temperature(text: &str, _ctx: &Context) -> Reading<Measured<Celsius>> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn volt_amps(text: &str, _ctx: &Context) -> Reading<Measured<VoltAmps>> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn whole_number(text: &str, _ctx: &Context) -> Reading<u32> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}
