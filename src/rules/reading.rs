//! The family `reading`.

use super::Rule;

pub(super) static RULES: &[&Rule] = &[];
