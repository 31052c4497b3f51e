//! The family `controller`: thermostats, what they control, and their wire.

mod interlock;
mod reach;
mod wiring;

use super::Rule;
use crate::schedule::wire::RunPurpose;
use crate::schedule::{Controller, Field, Run, RunId, Schedule};

pub(super) static RULES: &[&Rule] = &[
    &reach::CONTROLLER_MISSING,
    &wiring::CONTROLLER_NOT_HOME_RUN,
    &reach::CONTROLLER_IDLE,
    &wiring::CONTROLLER_OVER_LENGTH,
    &wiring::CONTROLLER_WIRE,
    &reach::CONTROLLER_ELSEWHERE,
    &interlock::INTERLOCK_STOPS_ALL,
];

fn is_wireless(controller: &Controller) -> bool {
    controller.wireless.copied() == Some(true)
}

/// Central control that stands among the thermostats: by its run, or by how
/// it is called.
fn may_be_central(schedule: &Schedule, controller: &Controller) -> bool {
    let tag = &controller.tag.value;
    let called = ["CC", "CRC", "BMS", "BAS", "GW"].contains(&tag.prefix());
    let room = controller.room.get().map_or("", String::as_str);
    let words = [tag.text(), room];
    let said = words
        .iter()
        .any(|text| text.to_lowercase().contains("central"));
    let by_run = |run: &RunId| schedule.run(*run).serves == RunPurpose::Central;
    called || said || controller.runs.iter().any(by_run)
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
