//! Twins.
use super::Rule;
pub(super) static RULES: &[&Rule] = &[];
