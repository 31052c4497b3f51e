use super::{Context, Reading};
use crate::schedule::wire::*;
use crate::schedule::*;

pub fn conductor_count(text: &str, _ctx: &Context) -> Reading<u8> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn gauge(text: &str, _ctx: &Context) -> Reading<Size> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn low_voltage_wire(text: &str, _ctx: &Context) -> Reading<LowVoltageWire> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn shielded(text: &str, _ctx: &Context) -> Reading<bool> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn stranded(text: &str, _ctx: &Context) -> Reading<bool> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}
