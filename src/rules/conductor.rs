//! The family `conductor`.

use super::Rule;

pub(super) static RULES: &[&Rule] = &[];
