//! The family `bus`.

use super::Rule;

pub(super) static RULES: &[&Rule] = &[];
