use super::{Context, Reading};
use crate::schedule::wire::*;
use crate::schedule::*;

/// MCA and MOP of one cell: `18.2/30`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct McaMop {
    pub mca: NameplateAmps,
    pub mop: Mop,
}

pub fn amps(text: &str, _ctx: &Context) -> Reading<Amps> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn nameplate_amps(text: &str, _ctx: &Context) -> Reading<NameplateAmps> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn mop(text: &str, _ctx: &Context) -> Reading<Mop> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn mca_mop(text: &str, _ctx: &Context) -> Reading<McaMop> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}
