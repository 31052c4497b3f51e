//! Whether the bus reaches every unit, and the chain in its order.

use super::layout::{Layout, SystemBus};
use super::{no_bus, outdoor_label, system_place, unit_names};
use crate::findings::{Finding, Outcome, Severity, Step, Subject, Value, Want};
use crate::practice::Practice;
use crate::rules::wording::counted;
use crate::rules::{Cite, Family, Rule};
use crate::schedule::{Feet, Schedule, UnitId};
use crate::sizing::bus::{Hangs, Stop};

pub(super) static BUS_BROKEN: Rule = Rule {
    name: "bus-broken",
    family: Family::Bus,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "the bus does not reach every unit of the system",
    why: "A unit that the chain does not reach does not answer the outdoor unit, and the system \
          does not start until somebody opens a wall to pull the missing run.",
    decides: "Follows the indoor-side runs from the outdoor unit; indoor units, air handlers and \
              branch boxes of the system that it does not come to are listed. A run with an \
              unknown tag or an empty end may be the missing one, so the rule waits for it. A \
              system of whose bus the schedule says nothing at all is asked about.",
    leaves: "Wireless links; units whose system is not told.",
    cites: &[Cite::Practice],
    yields_to: &["unknown-tag"],
    check: bus_broken,
};

fn bus_broken(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    if let Some(outcomes) = no_bus(schedule) {
        return outcomes;
    }
    let layout = Layout::of(schedule);
    let mut outcomes: Vec<Outcome> = layout
        .systems
        .iter()
        .map(|bus| reach(schedule, bus).steps(chain_steps(schedule, bus)))
        .collect();
    for (id, unit) in schedule.audited_units() {
        if unit.is_indoor() && unit.system_id.is_none() {
            let wants = vec![Want::Fact("the system of each unit on the bus")];
            outcomes.push(Outcome::not_checked(Subject::Unit(id), unit.tag.at, wants));
        }
    }
    outcomes
}

fn reach(schedule: &Schedule, bus: &SystemBus<'_>) -> Outcome {
    let subject = Subject::System(bus.id);
    let at = system_place(schedule, bus.id);
    let wanted: Vec<(usize, UnitId)> = bus.to_reach().collect();
    if bus.is_scheduled()
        && let Some(wants) = bus.unclear()
    {
        return Outcome::not_checked(subject, at, wants);
    }
    if wanted.is_empty() {
        return Outcome::met(subject, at);
    }
    let reached = bus.graph.reached();
    let missed: Vec<UnitId> = wanted
        .iter()
        .filter(|(node, _)| !reached[*node])
        .map(|(_, unit)| *unit)
        .collect();
    let Some(&first) = missed.first() else {
        return Outcome::met(subject, at);
    };
    if let Some(wants) = bus.empty_ends() {
        return Outcome::not_checked(subject, at, wants);
    }
    if only_the_first_run_is_missing(bus, missed.len()) {
        return Outcome::not_checked(subject, at, vec![Want::WaitsFor("bus-not-from-outdoor")]);
    }
    let finding = if bus.is_scheduled() {
        broken(schedule, bus, &missed)
    } else {
        unscheduled(schedule, bus, &missed)
    };
    Outcome::broken(subject, schedule.unit(first).tag.at, finding)
        .related_all(missed[1..].iter().map(|unit| schedule.unit(*unit).tag.at))
}

/// All units make one chain that only the outdoor unit is not on: that is
/// told by `bus-not-from-outdoor`.
fn only_the_first_run_is_missing(bus: &SystemBus<'_>, missed: usize) -> bool {
    let Some(start) = bus.graph.start() else {
        return false;
    };
    let branches = (0..bus.nodes.len()).any(|node| bus.graph.links_at(node).len() > 2);
    let lone = |(node, _): (usize, UnitId)| bus.graph.arms(node) == 0;
    bus.graph.arms(start) == 0
        && !branches
        && bus.graph.parts_apart() == 1
        && missed == bus.to_reach().count()
        && !bus.to_reach().any(lone)
}

fn broken(schedule: &Schedule, bus: &SystemBus<'_>, missed: &[UnitId]) -> Finding {
    let outdoor = outdoor_label(schedule, bus);
    let names = unit_names(schedule, missed.iter().copied());
    let total = bus.to_reach().count();
    let says = format!(
        "From {outdoor} the bus comes to {} of the {total} units of system {}; not reached: \
         {names}.",
        total - missed.len(),
        schedule.system_label(bus.id)
    );
    let remedy = format!("Add the runs that take {names} into the chain.");
    Finding::fix(
        says,
        counted(missed.len(), "unit not reached", "units not reached"),
        remedy,
    )
    .limit(Value::Count(0, "units not reached"), "every unit once")
}

fn unscheduled(schedule: &Schedule, bus: &SystemBus<'_>, missed: &[UnitId]) -> Finding {
    let system = schedule.system_label(bus.id);
    let says = format!(
        "The schedule of runs says nothing of the bus of system {system}, whose units are {}.",
        unit_names(schedule, missed.iter().copied())
    );
    Finding::verify(
        says,
        Value::Count(0, "bus runs"),
        format!("Schedule the bus runs of system {system}, or say where they are scheduled."),
    )
    .limit(
        counted(missed.len(), "bus run", "bus runs"),
        "one run to each unit",
    )
}

/// The chain in order, two steps a stop: the unit, and the length so far.
fn chain_steps(schedule: &Schedule, bus: &SystemBus<'_>) -> Vec<Step> {
    let mut steps = Vec::with_capacity(2 * bus.nodes.len());
    let mut before = Feet(0.0);
    for stop in bus.graph.walk() {
        let unit = schedule.unit(bus.nodes[stop.node]);
        let mut label = schedule.unit_label(bus.nodes[stop.node]);
        if let Some(room) = unit.room.get() {
            label.push_str(&format!(", {room}"));
        }
        steps.push(Step {
            what: "chain",
            value: Value::Text(label),
            how: stop_text(schedule, bus, &stop),
            source: String::new(),
        });
        let length = stop
            .by
            .map(|(_, link)| schedule.run(bus.links[link]).length.copied());
        let how = match length {
            None => String::new(),
            Some(Some(length)) => format!("{before} + {length}"),
            Some(None) => format!("{before} + a run without a length"),
        };
        steps.push(Step {
            what: "cumulative",
            value: Value::Feet(stop.total),
            how,
            source: String::new(),
        });
        before = stop.total;
    }
    steps
}

/// `OU-1 to FC-1, 40 ft`; what is off the chain says so.
fn stop_text(schedule: &Schedule, bus: &SystemBus<'_>, stop: &Stop) -> String {
    let label = |node: usize| schedule.unit_label(bus.nodes[node]);
    let run = stop.by.map(|(from, link)| {
        let length = schedule.run(bus.links[link]).length.copied();
        let length = length.map_or("length missing".to_owned(), |feet| feet.to_string());
        format!("{} to {}, {length}", label(from), label(stop.node))
    });
    match (stop.hangs, run) {
        (Hangs::Start, _) => "start".to_owned(),
        (Hangs::Chain, Some(run)) => run,
        (Hangs::Branch, Some(run)) => format!("branch: {run}"),
        (Hangs::Apart, Some(run)) => format!("not reached: {run}"),
        (_, None) => "not reached".to_owned(),
    }
}
