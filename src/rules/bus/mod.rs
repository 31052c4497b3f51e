//! The family `bus`: the communication chain of each system.
//!
//! Crossing and repeated runs and runs to unknown tags are set aside first;
//! only runs of the indoor side are the chain.

mod layout;
mod length;
mod pairs;
mod power;
mod reached;
mod shape;
mod shield;
mod size;
mod wire;

#[cfg(test)]
mod example;
#[cfg(test)]
mod tests;

use super::Rule;
use super::runs::{each_run, tables_of};
use super::wording::list;
use crate::findings::{Outcome, Subject, Want};
use crate::schedule::wire::RunPurpose;
use crate::schedule::{Place, Run, RunEnd, RunId, Schedule, SystemId, TableKind, UnitId, UnitKind};

pub(super) static RULES: &[&Rule] = &[
    &shape::BUS_BRANCHES,
    &shape::BUS_CLOSES_ON_ITSELF,
    &reached::BUS_BROKEN,
    &shape::BUS_NOT_FROM_OUTDOOR,
    &pairs::BUS_RUN_REPEATED,
    &pairs::BUS_CROSSES_SYSTEMS,
    &wire::BUS_WRONG_SIDE,
    &wire::BUS_SPLICE,
    &length::BUS_OVER_LENGTH,
    &length::BUS_NEAR_LENGTH,
    &length::BUS_FARTHEST_OVER_LENGTH,
    &wire::BUS_GAUGE,
    &wire::BUS_CONDUCTOR_COUNT,
    &wire::BUS_SOLID_WIRE,
    &power::LOW_VOLTAGE_WITH_POWER,
    &power::BUS_NEAR_POWER_UNSHIELDED,
    &shield::BUS_SHIELD_NEEDLESS,
    &shield::BUS_SHIELD_BROKEN,
    &shield::BUS_SHIELD_GROUNDS,
    &size::BUS_TOO_MANY_UNITS,
    &length::BUS_LENGTH_MISSING,
    &size::CAPACITY_RATIO,
];

/// Names in one message before it says how many more.
const SHOWN: usize = 12;

fn unit_names(schedule: &Schedule, units: impl IntoIterator<Item = UnitId>) -> String {
    list(units.into_iter().map(|u| schedule.unit_label(u)), SHOWN)
}

fn run_names(schedule: &Schedule, runs: impl IntoIterator<Item = RunId>) -> String {
    list(runs.into_iter().map(|r| schedule.run_label(r)), SHOWN)
}

/// A run of the chain's side: bus wire, and neither end a central controller
/// or a gateway, which hang on the other pair of terminals.
fn indoor_side(schedule: &Schedule, run: &Run) -> bool {
    let central = |end: &RunEnd| {
        let unit = match end {
            RunEnd::Unit(unit) => Some(unit),
            RunEnd::Mark(units) => units.first(),
            _ => None,
        };
        unit.and_then(|unit| schedule.unit(*unit).kind())
            .is_some_and(|kind| matches!(kind, UnitKind::CentralController | UnitKind::Gateway))
    };
    run.serves == RunPurpose::Bus && !central(&run.from_end) && !central(&run.to_end)
}

/// Where a finding about a whole system is pinned: its outdoor unit's tag,
/// else its first unit's.
fn system_place(schedule: &Schedule, id: SystemId) -> Place {
    let system = schedule.system(id);
    system
        .outdoor
        .or_else(|| system.units.first().copied())
        .map_or(Place::Job, |unit| Place::Cell(schedule.unit(unit).tag.at))
}

/// What stands in the way of every rule of the chain: no table of runs, or
/// none of them a bus.
fn no_bus(schedule: &Schedule) -> Option<Vec<Outcome>> {
    let want = if schedule.runs.is_empty() {
        Want::Table(TableKind::WireRuns)
    } else if !schedule.runs.iter().any(|run| indoor_side(schedule, run)) {
        Want::Fact("runs of the bus")
    } else if schedule.systems.is_empty() {
        Want::Fact("the job's systems")
    } else {
        return None;
    };
    let outcome = Outcome::not_checked(Subject::Job, Place::Job, vec![want]);
    Some(vec![outcome])
}

/// Judges the chain of each system that has runs; one outcome that says
/// why no chain can be looked at.
fn each_chain(
    schedule: &Schedule,
    mut judge: impl FnMut(&layout::SystemBus<'_>) -> Vec<Outcome>,
) -> Vec<Outcome> {
    if let Some(outcomes) = no_bus(schedule) {
        return outcomes;
    }
    layout::Layout::of(schedule)
        .systems
        .iter()
        .flat_map(|bus| {
            if !bus.runs.is_empty() {
                return judge(bus);
            }
            let wanted = bus.to_reach().next();
            let not_checked = wanted.map(|_| {
                let wants = vec![Want::Fact("runs of the system's bus")];
                let at = system_place(schedule, bus.id);
                Outcome::not_checked(Subject::System(bus.id), at, wants)
            });
            not_checked.into_iter().collect()
        })
        .collect()
}

fn outdoor_label(schedule: &Schedule, bus: &layout::SystemBus<'_>) -> String {
    let start = bus.graph.start().and_then(|node| bus.nodes.get(node));
    start.map_or_else(
        || "the outdoor unit".to_owned(),
        |unit| schedule.unit_label(*unit),
    )
}
