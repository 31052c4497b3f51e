//! The family `sharing`.

use super::Rule;

pub(super) static RULES: &[&Rule] = &[];
