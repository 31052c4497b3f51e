use super::{Context, Reading};
use crate::schedule::wire::*;
use crate::schedule::*;

/// A date that stands where a wire or a breaker is expected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DateDamage {
    pub year: Option<i16>,
    pub month: u8,
    pub day: Option<u8>,
}
impl DateDamage {
    /// From the text that a cell shows: `2-Oct`, `10/2/2026`, `Feb-30`.
    pub fn from_text(_text: &str) -> Option<Self> {
        None
    }
}
/// What may have been typed, likelier first.
pub fn date_damage(_date: DateDamage, _format: Option<&str>) -> Vec<String> {
    Vec::new()
}
/// Keeps those that a grammar reads.
pub fn readable<T>(
    originals: Vec<String>,
    grammar: fn(&str, &Context) -> Reading<T>,
    ctx: &Context,
) -> Vec<String> {
    originals
        .into_iter()
        .filter(|text| matches!(grammar(text, ctx), Reading::Value(_)))
        .collect()
}
pub fn plausible_wires(originals: Vec<String>) -> Vec<String> {
    originals
}
pub fn plausible_breakers(originals: Vec<String>) -> Vec<String> {
    originals
}
