//! The family `controller`: thermostats, what they control, and their wire.

mod reach;
mod wiring;

use super::Rule;
use crate::schedule::wire::RunPurpose;
use crate::schedule::{Controller, Field, Run};

pub(super) static RULES: &[&Rule] = &[
    &reach::CONTROLLER_MISSING,
    &wiring::CONTROLLER_NOT_HOME_RUN,
    &reach::CONTROLLER_IDLE,
    &wiring::CONTROLLER_OVER_LENGTH,
    &wiring::CONTROLLER_WIRE,
    &reach::CONTROLLER_ELSEWHERE,
    &wiring::INTERLOCK_STOPS_ALL,
];

fn is_wireless(controller: &Controller) -> bool {
    controller.wireless.copied() == Some(true)
}

fn is_controller_run(run: &Run) -> bool {
    run.serves == RunPurpose::Controller
}

/// The rooms that a cell names: `LIVING / DINING` names two.
fn rooms(field: &Field<String>) -> Vec<crate::schedule::Name> {
    let text = field.get().map_or("", String::as_str);
    text.split(['/', ',', '&', '+', ';'])
        .flat_map(|part| part.split(" and "))
        .map(str::trim)
        .filter(|part| !part.is_empty())
        .map(crate::schedule::Name::new)
        .collect()
}
