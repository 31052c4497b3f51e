//! The family `overcurrent`: breakers and fuses of a circuit with one unit,
//! and the nameplates that they are held against.

mod device;
mod limits;
mod listed;
mod nameplate;

use super::Rule;

/// Causes on one circuit that come before all of this family.
const MIXED: [&str; 3] = [
    "outdoor-not-dedicated",
    "shared-with-strip-heat",
    "shared-mixed-voltage",
];

pub(super) static RULES: &[&Rule] = &[
    &limits::PROTECTION_OVER_MOP,
    &limits::PROTECTION_UNDER_MCA,
    &limits::PROTECTION_BELOW_MOP,
    &limits::FUSE_CARRIES_LIMIT,
    &device::FUSE_REQUIRED,
    &device::RATING_NOT_STANDARD,
    &nameplate::MOP_BELOW_MCA,
    &nameplate::NAMEPLATE_MISSING,
    &nameplate::NAMEPLATE_DISAGREES,
    &nameplate::MOP_NOT_STANDARD,
    &listed::NAMEPLATE_OFF_TABLE,
];
