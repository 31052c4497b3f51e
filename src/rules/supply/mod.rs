//! The family `supply`: does each unit have its power, of the right volts,
//! poles and slots.

mod disconnect;
mod panels;
mod reach;
mod slots;
mod volts;

use super::Rule;

pub(crate) use panels::current;

pub(super) static RULES: &[&Rule] = &[
    &reach::NO_SUPPLY_CIRCUIT,
    &reach::OUTDOOR_NOT_DEDICATED,
    &reach::UNIT_ON_TWO_CIRCUITS,
    &volts::SUPPLY_VOLTAGE_MISMATCH,
    &volts::PHASE_MISMATCH,
    &volts::POLES_MISMATCH,
    &slots::SLOT_TAKEN_TWICE,
    &panels::PANEL_OVERLOADED,
    &panels::SUPPLY_IMBALANCE,
    &disconnect::DISCONNECT_MISSING,
    &disconnect::DISCONNECT_UNDERRATED,
    &disconnect::GROUND_FAULT_PROTECTION,
];
