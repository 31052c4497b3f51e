//! The family `strip-heat`.

use super::Rule;

pub(super) static RULES: &[&Rule] = &[];
