use super::{Context, Reading};
use crate::schedule::wire::*;
use crate::schedule::*;

pub fn conductor(text: &str, _ctx: &Context) -> Reading<Conductor> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn grounding(text: &str, _ctx: &Context) -> Reading<Grounding> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn insulation(text: &str, _ctx: &Context) -> Reading<Insulation> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn raceway(text: &str, _ctx: &Context) -> Reading<Raceway> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn size(text: &str, _ctx: &Context) -> Reading<Size> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}

pub fn terminals(text: &str, _ctx: &Context) -> Reading<Celsius> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}
