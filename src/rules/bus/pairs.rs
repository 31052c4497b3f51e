//! Runs that join what must not be joined, or what is joined already.

use super::layout::Layout;
use super::{indoor_side, no_bus, system_place};
use crate::findings::{Finding, Outcome, Severity, Subject, Value};
use crate::practice::Practice;
use crate::rules::{Cite, Family, Rule};
use crate::schedule::{Field, FieldName, Name, RowNumber, RunId, Schedule};
use std::collections::BTreeMap;

pub(super) static BUS_RUN_REPEATED: Rule = Rule {
    name: "bus-run-repeated",
    family: Family::Bus,
    severities: &[Severity::Fix],
    summary: "the same two units are joined by two bus runs",
    why: "A second run between the same units is a loop of two, or a row copied and not \
          changed: then the run that was meant is missing.",
    decides: "Two rows of one table that name the same two units, in either order.",
    leaves: "Rows of different tables: they tell of one run twice.",
    cites: &[Cite::Practice],
    yields_to: &[],
    check: bus_run_repeated,
};

fn bus_run_repeated(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    if let Some(outcomes) = no_bus(schedule) {
        return outcomes;
    }
    let layout = Layout::of(schedule);
    let first_of: BTreeMap<RunId, RunId> = layout.repeated.iter().copied().collect();
    judged_runs(schedule, |id| {
        let first = *first_of.get(&id)?;
        let row = schedule.run(id);
        let label = schedule.run_label(id);
        let earlier = RowNumber::from(schedule.run(first).at.row);
        let says = format!(
            "The run {label} joins two units that the run {} (row {earlier}) joins already.",
            schedule.run_label(first)
        );
        let finding = Finding::fix(
            says,
            Value::Count(2, "runs of one pair"),
            format!("Leave out the run {label}, or name the unit that was meant."),
        )
        .field(FieldName::RunTo)
        .limit(Value::Count(1, "run"), "each pair once");
        let at = row.to.at().unwrap_or(row.at);
        Some(
            Outcome::broken(Subject::Run(id), at, finding).related(
                schedule
                    .run(first)
                    .to
                    .at()
                    .unwrap_or(schedule.run(first).at),
            ),
        )
    })
}

pub(super) static BUS_CROSSES_SYSTEMS: Rule = Rule {
    name: "bus-crosses-systems",
    family: Family::Bus,
    severities: &[Severity::Fix],
    summary: "a bus run joins units of two systems on the indoor side",
    why: "Each system has a bus of its own. A run into the next system joins two masters, and \
          neither system starts.",
    decides: "An indoor-side run whose ends belong to two systems that the schedule itself \
              tells apart, by a system column or an outdoor unit's tag.",
    leaves: "Runs among outdoor units; systems that are only told from the bus itself.",
    cites: &[Cite::Practice],
    yields_to: &[],
    check: bus_crosses_systems,
};

fn bus_crosses_systems(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    if let Some(outcomes) = no_bus(schedule) {
        return outcomes;
    }
    let layout = Layout::of(schedule);
    let crossing: BTreeMap<RunId, _> = layout
        .crossing
        .iter()
        .map(|&(run, a, b)| (run, (a, b)))
        .collect();
    judged_runs(schedule, |id| {
        let (a, b) = *crossing.get(&id)?;
        let run = schedule.run(id);
        let label = schedule.run_label(id);
        let name = |end: &Field<Name>| end.get().map_or("?", Name::text).to_owned();
        let (from, to) = (name(&run.from), name(&run.to));
        let (one, other) = (schedule.system_label(a), schedule.system_label(b));
        let says = format!(
            "The run {label} joins {from} of system {one} with {to} of system {other} on the \
             indoor side."
        );
        let remedy = format!(
            "Leave out the run {label}; take {from} into the chain of system {one} and {to} into \
             that of system {other}, or correct the tag."
        );
        let found = Value::Text(format!("systems {one} and {other}"));
        let finding = Finding::fix(says, found, remedy)
            .field(FieldName::RunTo)
            .limit("one system", "a bus of its own for each");
        let systems = [a, b].map(|system| system_place(schedule, system));
        let mut outcome = Outcome::broken(Subject::Run(id), run.to.at().unwrap_or(run.at), finding);
        outcome.related.extend(systems);
        Some(outcome)
    })
}

/// One outcome for each bus run between units: what `judge` finds, or met.
fn judged_runs(schedule: &Schedule, judge: impl Fn(RunId) -> Option<Outcome>) -> Vec<Outcome> {
    schedule
        .run_ids()
        .filter(|(_, run)| indoor_side(schedule, run) && run.units().is_some())
        .map(|(id, run)| judge(id).unwrap_or_else(|| Outcome::met(Subject::Run(id), run.at)))
        .collect()
}
