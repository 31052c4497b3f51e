//! The family `supply`.

use super::Rule;

pub(super) static RULES: &[&Rule] = &[];
