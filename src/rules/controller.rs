//! The family `controller`.

use super::Rule;

pub(super) static RULES: &[&Rule] = &[];
