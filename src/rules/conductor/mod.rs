//! The family `conductor`: size, grounding, count and drop of the conductors
//! of circuits that feed units.

mod ampacity;
mod drop;
mod ground;
mod make;

use super::Rule;

pub(in crate::rules) use ampacity::no_ampacity;

/// Causes on one circuit that come before all of this family.
const MIXED: [&str; 3] = [
    "outdoor-not-dedicated",
    "shared-with-strip-heat",
    "shared-mixed-voltage",
];

pub(super) static RULES: &[&Rule] = &[
    &ampacity::CONDUCTOR_UNDER_MCA,
    &ampacity::CONDUCTOR_UNDER_PROTECTION,
    &make::CONDUCTOR_TOO_SMALL,
    &ground::GROUNDING_CONDUCTOR_SMALL,
    &ground::GROUNDING_CONDUCTOR_MISSING,
    &make::CONDUCTOR_COUNT,
    &drop::VOLTAGE_DROP,
    &drop::CONDUCTOR_HEAVIER_THAN_NEEDED,
    &make::CABLE_TYPE_OUTDOORS,
];
