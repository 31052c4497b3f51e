//! The family `sequence`.

use super::Rule;

pub(super) static RULES: &[&Rule] = &[];
