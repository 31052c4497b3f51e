//! The circuits to bring: unit, place, volts, poles, protection, conductor,
//! disconnect, and what shares them.

use super::{Line, hold, hold_with_remedy, is_fix};
use crate::findings::{Audit, Reported, Subject};
use crate::report::circuits::{breaker, conductor, state, volts};
use crate::report::job::JobView;
use crate::schedule::{CircuitId, Disconnect, Field, Schedule, SystemId, UnitId, UnitKind};
use std::collections::{BTreeMap, BTreeSet};

const COLUMNS: [&str; 7] = [
    "Circuit",
    "Feeds",
    "Volts",
    "Breaker, poles",
    "Conductor, ground",
    "Disconnect",
    "Shared?",
];

/// `compact` leaves rooms to another table.
pub(super) fn add(
    view: &JobView,
    fixes: &Fixes,
    id: SystemId,
    compact: bool,
    lines: &mut Vec<Line>,
) {
    let schedule = view.schedule;
    let needs = |unit: &UnitId| {
        let kind = schedule.unit(*unit).kind();
        kind.is_none_or(UnitKind::needs_supply)
    };
    let units: Vec<UnitId> = schedule
        .system(id)
        .units
        .iter()
        .copied()
        .filter(needs)
        .collect();
    table(view, fixes, &units, compact, lines);
}

/// Units of no system still need their power.
pub(super) fn of_no_system(view: &JobView, fixes: &Fixes, lines: &mut Vec<Line>) {
    let units: Vec<UnitId> = view
        .schedule
        .audited_units()
        .filter(|(_, unit)| unit.system_id.is_none())
        .filter(|(_, unit)| unit.kind().is_some_and(UnitKind::needs_supply))
        .map(|(id, _)| id)
        .collect();
    if units.is_empty() {
        return;
    }
    lines.push(Line::Title(format!(
        "{}: units of no system",
        view.schedule.title
    )));
    table(view, fixes, &units, false, lines);
}

fn table(view: &JobView, fixes: &Fixes, units: &[UnitId], compact: bool, lines: &mut Vec<Line>) {
    let schedule = view.schedule;
    lines.push(Line::Heading("Circuits to bring".to_owned()));
    if schedule.circuits.is_empty() {
        lines.push(Line::Text(
            "The schedules hold no circuits: ask for them before pulling.".to_owned(),
        ));
        return;
    }
    let mut seen = BTreeSet::new();
    let circuits = units.iter().flat_map(|unit| &schedule.unit(*unit).circuits);
    let mut circuits: Vec<CircuitId> = circuits.map(|(circuit, _)| *circuit).collect();
    circuits.retain(|circuit| seen.insert(*circuit));
    lines.push(Line::Columns(COLUMNS));
    let (mut held, mut holds) = (BTreeSet::new(), Vec::new());
    for id in &circuits {
        let about = fixes.about(schedule, *id);
        lines.push(Line::Row(row(schedule, *id, compact, &about)));
        for finding in about {
            let text = hold_with_remedy(finding);
            if held.insert(text.clone()) {
                holds.push(text);
            }
        }
    }
    let unsupplied = view.audit.standing();
    let unsupplied: BTreeMap<Subject, &Reported> = unsupplied
        .filter(|finding| finding.rule == "no-supply-circuit")
        .map(|finding| (finding.subject, finding))
        .collect();
    for unit in units {
        if schedule.unit(*unit).circuits.is_empty() {
            let finding = unsupplied.get(&Subject::Unit(*unit)).copied();
            lines.push(Line::Row(without(schedule, *unit, finding)));
        }
    }
    lines.extend(holds.into_iter().map(Line::Hold));
}

/// Findings to fix, by what they are about. A building has thousands of
/// circuits, and each asks.
pub(super) struct Fixes<'a> {
    all: Vec<&'a Reported>,
    /// Places in `all`, by main subject and by what else an outcome names.
    main: BTreeMap<Subject, Vec<usize>>,
    also: BTreeMap<Subject, Vec<usize>>,
}

impl<'a> Fixes<'a> {
    pub fn of(audit: &'a Audit) -> Self {
        let all: Vec<&Reported> = audit.findings.iter().filter(is_fix).collect();
        let (mut main, mut also) = (BTreeMap::<_, Vec<_>>::new(), BTreeMap::<_, Vec<_>>::new());
        let mut told: BTreeMap<_, Vec<usize>> = BTreeMap::new();
        for (at, finding) in all.iter().enumerate() {
            main.entry(finding.subject).or_default().push(at);
            let key = (finding.rule, finding.subject, finding.place);
            told.entry(key).or_default().push(at);
        }
        let broken = audit.outcomes.iter().filter(|o| o.finding().is_some());
        for outcome in broken {
            let places = told.get(&(outcome.rule, outcome.subject, outcome.at));
            for at in places.into_iter().flatten() {
                for subject in &outcome.also {
                    also.entry(*subject).or_default().push(*at);
                }
            }
        }
        Self { all, main, also }
    }

    /// Those about a circuit, whether or not it is their main subject, and
    /// about the supply of the units on it.
    fn about(&self, schedule: &Schedule, id: CircuitId) -> Vec<&'a Reported> {
        let circuit = Subject::Circuit(id);
        let own = [self.main.get(&circuit), self.also.get(&circuit)];
        let units = schedule.circuit(id).units();
        let of_units = units
            .iter()
            .filter_map(|unit| self.main.get(&Subject::Unit(*unit)));
        let line = |at: &&usize| {
            let finding = self.all.get(**at);
            finding.is_some_and(|finding| !is_of_low_voltage(finding.rule))
        };
        let places = own.into_iter().flatten().flatten();
        let places = places.chain(of_units.flatten().filter(line));
        let places: BTreeSet<usize> = places.copied().collect();
        places
            .iter()
            .filter_map(|at| self.all.get(*at).copied())
            .collect()
    }
}

fn is_of_low_voltage(rule: &str) -> bool {
    ["bus-", "controller-", "low-voltage-", "interlock-"]
        .iter()
        .any(|family| rule.starts_with(family))
}

/// Which cells of a line a finding makes wrong: volts, protection,
/// conductor, disconnect. A finding of none of these families holds them
/// all.
fn wrong(rule: &str) -> [bool; 4] {
    let is = |starts: &[&str]| starts.iter().any(|start| rule.starts_with(start));
    if is(&["protection-", "fuse-", "rating-", "mop-"]) {
        [false, true, false, false]
    } else if is(&["conductor-", "grounding-"]) {
        [false, false, true, false]
    } else if is(&["disconnect-"]) {
        [false, false, false, true]
    } else if is(&["supply-voltage-", "phase-", "poles-"]) {
        [true, true, false, false]
    } else {
        [true; 4]
    }
}

fn row(schedule: &Schedule, id: CircuitId, compact: bool, about: &[&Reported]) -> [String; 7] {
    let circuit = schedule.circuit(id);
    let units = circuit.units();
    let mut held = [None; 4];
    for finding in about {
        for (cell, wrong) in held.iter_mut().zip(wrong(finding.rule)) {
            if wrong && cell.is_none() {
                *cell = Some(*finding);
            }
        }
    }
    let mut first = true;
    let mut or_hold = |at: usize, value: String| match held.get(at).copied().flatten() {
        // One long hold a line; the other cells only say that they hold.
        Some(finding) if first => {
            first = false;
            hold(finding)
        }
        Some(_) => "HOLD".to_owned(),
        None if value.is_empty() => "not stated".to_owned(),
        None => value,
    };
    let mut protection = breaker(schedule, circuit);
    let fuse = state(schedule, &circuit.fuse);
    if !fuse.is_empty() {
        protection.push_str(&format!(", {fuse} fuses at the disconnect"));
    }
    [
        schedule.circuit_label(id),
        feeds(schedule, id, compact),
        or_hold(0, volts(schedule, circuit)),
        or_hold(1, protection),
        or_hold(2, conductor(schedule, circuit)),
        or_hold(3, disconnects(schedule, id)),
        shared(&units, circuit.other_loads().count()),
    ]
}

fn feeds(schedule: &Schedule, id: CircuitId, compact: bool) -> String {
    let circuit = schedule.circuit(id);
    let units = circuit.units();
    let bare = compact && units.len() > 1;
    let mut lines: Vec<String> = units
        .into_iter()
        .map(|unit| match bare {
            true => schedule.unit_label(unit),
            false => place(schedule, unit),
        })
        .collect();
    lines.extend(circuit.other_loads().map(|load| load.text.value.clone()));
    lines.join(if bare { ", " } else { "\n" })
}

/// `FC-1, Kitchen`.
fn place(schedule: &Schedule, id: UnitId) -> String {
    let unit = schedule.unit(id);
    let mut text = schedule.unit_label(id);
    let room = state(schedule, &unit.room);
    if !room.is_empty() {
        text.push_str(&format!(", {room}"));
    } else if let Some(kind) = unit.kind().filter(|kind| kind.is_outdoor()) {
        text.push_str(&format!(", {kind}"));
    }
    text
}

fn shared(units: &[UnitId], others: usize) -> String {
    match units.len() + others {
        0 | 1 => "alone: nothing else on it".to_owned(),
        many => format!("shared by {many}, no more"),
    }
}

fn disconnects(schedule: &Schedule, id: CircuitId) -> String {
    let circuit = schedule.circuit(id);
    let own = disconnect(schedule, &circuit.disconnect);
    if !own.is_empty() {
        return own;
    }
    let mut texts: Vec<String> = Vec::new();
    for unit in circuit.units() {
        let text = disconnect(schedule, &schedule.unit(unit).disconnect);
        if !text.is_empty() && !texts.contains(&text) {
            texts.push(text);
        }
    }
    texts.join(", ")
}

fn disconnect(schedule: &Schedule, field: &Field<Disconnect>) -> String {
    match field.get() {
        Some(switch) => {
            let mut parts = Vec::new();
            parts.extend(switch.amps.map(|amps| amps.to_string()));
            parts.extend(
                switch
                    .fused
                    .map(|fused| if fused { "fused" } else { "not fused" }.to_owned()),
            );
            parts.extend(switch.fuse.map(|fuse| format!("{fuse} fuses")));
            match parts.is_empty() {
                true => "yes".to_owned(),
                false => parts.join(", "),
            }
        }
        None => state(schedule, &field.clone().map(|_| String::new())),
    }
}

fn without(schedule: &Schedule, unit: UnitId, finding: Option<&Reported>) -> [String; 7] {
    let says = match finding {
        Some(finding) => hold(finding),
        None => "no circuit in the schedules".to_owned(),
    };
    [
        "none".to_owned(),
        place(schedule, unit),
        state(schedule, &schedule.unit(unit).supply),
        says,
        String::new(),
        String::new(),
        String::new(),
    ]
}
