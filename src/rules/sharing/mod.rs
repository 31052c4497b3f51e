//! The family `sharing`: several units on one circuit.

mod load;
mod mixing;
mod saving;

use super::Rule;

/// Causes on one circuit that come before the rest of this family.
const MIXED: [&str; 3] = [
    "outdoor-not-dedicated",
    "shared-with-strip-heat",
    "shared-mixed-voltage",
];

pub(super) static RULES: &[&Rule] = &[
    &load::SHARED_OVER_CAPACITY,
    &load::SHARED_RATING_TOO_LARGE,
    &mixing::SHARED_WITH_STRIP_HEAT,
    &mixing::SHARED_OUTSIDE_DWELLING,
    &mixing::SHARED_MIXED_VOLTAGE,
    &mixing::SHARED_MOTOR_OVER_LIMIT,
    &saving::SHARING_POSSIBLE,
];
