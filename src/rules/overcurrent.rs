//! The family `overcurrent`.

use super::Rule;

pub(super) static RULES: &[&Rule] = &[];
