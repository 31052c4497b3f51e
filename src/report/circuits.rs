//! The sheet *Circuits*: each circuit's arithmetic, as the rules give it.

use super::page::{Cell, Column, Links};
use super::style;
use crate::findings::{Audit, Outcome, Severity, Step, Subject, Verdict, Want};
use crate::schedule::wire::Grounding;
use crate::schedule::{Circuit, CircuitId, Field, Schedule, UnitId};
use std::collections::BTreeMap;
use std::fmt::Display;

pub(super) const COLUMNS: [Column; 15] = [
    ("Circuit", 12.0),
    ("Dwelling", 10.0),
    ("Loads", 20.0),
    ("Volts", 13.0),
    ("Load", 22.0),
    ("MCA", 11.0),
    ("MOP", 11.0),
    ("Breaker", 10.0),
    ("Fuse", 8.0),
    ("Protection", 17.0),
    ("Conductor", 18.0),
    ("Ampacity", 20.0),
    ("Verdict", 28.0),
    ("Working", 34.0),
    ("Row", 12.0),
];

/// Steps that have a column of their own, in its order.
const OWN_COLUMN: [&str; 5] = ["load", "mca", "mop", "protection", "ampacity"];

/// Outcomes about each circuit, the main subject first or further ones.
pub(super) fn by_circuit(audit: &Audit) -> BTreeMap<CircuitId, Vec<&Outcome>> {
    let mut of: BTreeMap<CircuitId, Vec<&Outcome>> = BTreeMap::new();
    for outcome in &audit.outcomes {
        let mut about: Vec<CircuitId> = std::iter::once(&outcome.subject)
            .chain(&outcome.also)
            .filter_map(|subject| match subject {
                Subject::Circuit(id) => Some(*id),
                _ => None,
            })
            .collect();
        about.dedup();
        for id in about {
            of.entry(id).or_default().push(outcome);
        }
    }
    of
}

/// One row a circuit.
pub(super) fn rows(schedule: &Schedule, audit: &Audit, links: &Links) -> Vec<Vec<Cell>> {
    let outcomes = by_circuit(audit);
    schedule
        .circuit_ids()
        .map(|(id, circuit)| {
            let about = outcomes.get(&id).map_or(&[][..], Vec::as_slice);
            row(schedule, id, circuit, about, links)
        })
        .collect()
}

fn row(
    schedule: &Schedule,
    id: CircuitId,
    circuit: &Circuit,
    about: &[&Outcome],
    links: &Links,
) -> Vec<Cell> {
    let steps = steps(about);
    let worked = |what: &str| {
        let shown = steps.iter().filter(|step| step.what == what);
        shown
            .map(|step| arithmetic(step))
            .collect::<Vec<_>>()
            .join("\n")
    };
    let or_nameplate = |worked: String, plain: Vec<String>| match worked.is_empty() {
        true => tallied(&plain),
        false => worked,
    };
    let units = circuit.units();
    let nameplate = |pick: &dyn Fn(UnitId) -> String| units.iter().map(|id| pick(*id)).collect();
    let mca = nameplate(&|id| state(schedule, &schedule.unit(id).mca));
    let mop = nameplate(&|id| {
        let mop = schedule.unit(id).mop.clone();
        state(schedule, &mop.map(|mop| mop.amps))
    });
    let address = schedule.sources.address(circuit.at.into());
    let place = match address.sheet.as_str() {
        "" => address.cell.clone(),
        sheet => format!("{sheet}!{}", address.cell),
    };
    vec![
        Cell::text(without_dwelling(schedule, id, circuit)),
        Cell::text(state(schedule, &circuit.dwelling)),
        Cell::text(loads(circuit)),
        Cell::text(volts(schedule, circuit)),
        Cell::text(worked("load")),
        Cell::text(or_nameplate(worked("mca"), mca)),
        Cell::text(or_nameplate(worked("mop"), mop)),
        Cell::text(breaker(schedule, circuit)),
        Cell::text(state(schedule, &circuit.fuse)),
        Cell::text(worked("protection")),
        Cell::text(conductor(schedule, circuit)),
        Cell::text(worked("ampacity")),
        verdict(about, units.is_empty()),
        Cell::text(other_steps(&steps)),
        Cell::link(links.to(&address), place),
    ]
}

/// Each step once, in the order of the rules.
fn steps<'a>(about: &[&'a Outcome]) -> Vec<&'a Step> {
    let mut steps: Vec<&Step> = Vec::new();
    for step in about.iter().flat_map(|outcome| &outcome.working) {
        let known = |other: &&Step| {
            other.what == step.what && other.value == step.value && other.how == step.how
        };
        if !steps.iter().any(known) {
            steps.push(step);
        }
    }
    steps
}

/// The value, and below it how it came about: a sum in numbers, or in words
/// where it was read.
fn arithmetic(step: &Step) -> String {
    match step.how.as_str() {
        "" => step.value.to_string(),
        how if how.starts_with(|c: char| c.is_ascii_digit() || c == '(') => {
            format!("{}\n= {how}", step.value)
        }
        how => format!("{}\n{how}", step.value),
    }
}

fn other_steps(steps: &[&Step]) -> String {
    let others = steps.iter().filter(|step| !OWN_COLUMN.contains(&step.what));
    let lines: Vec<String> = others
        .map(|step| {
            let mut line = format!("{}: {}", step.what.replace(['_', '-'], " "), step.value);
            if !step.how.is_empty() {
                line.push_str(&format!(" = {}", step.how));
            }
            if !step.source.is_empty() {
                line.push_str(&format!(" ({})", step.source));
            }
            line
        })
        .collect();
    lines.join("\n")
}

/// `12 × 1.4 A`, or the values one by one.
fn tallied(values: &[String]) -> String {
    let mut counted: Vec<(&str, usize)> = Vec::new();
    for value in values.iter().filter(|value| !value.is_empty()) {
        match counted.iter_mut().find(|(known, _)| *known == value) {
            Some((_, count)) => *count += 1,
            None => counted.push((value, 1)),
        }
    }
    let shown: Vec<String> = counted
        .into_iter()
        .map(|(value, count)| match count {
            1 => value.to_owned(),
            count => format!("{count} \u{00d7} {value}"),
        })
        .collect();
    shown.join(", ")
}

/// The value, or what stands in its cell where it is none.
pub(super) fn state<T: Display>(schedule: &Schedule, field: &Field<T>) -> String {
    match field {
        Field::Given(located) => located.value.to_string(),
        Field::Blank(_) => String::new(),
        Field::Unknown(at) | Field::Elsewhere(at) | Field::Unreadable(at) => {
            format!("\u{201c}{}\u{201d}", schedule.sources.text(*at))
        }
    }
}

fn without_dwelling(schedule: &Schedule, id: CircuitId, circuit: &Circuit) -> String {
    let label = schedule.circuit_label(id);
    let dwelling = circuit.dwelling.get().map(|name| name.text());
    match dwelling.and_then(|dwelling| label.strip_prefix(dwelling)) {
        Some(own) => own.trim_start().to_owned(),
        None => label,
    }
}

fn loads(circuit: &Circuit) -> String {
    let texts: Vec<&str> = circuit
        .loads
        .iter()
        .map(|load| load.text.value.as_str())
        .collect();
    texts.join(", ")
}

fn volts(schedule: &Schedule, circuit: &Circuit) -> String {
    let own = state(schedule, &circuit.supply);
    if !own.is_empty() {
        return own;
    }
    let panel = schedule.supply_of(circuit);
    panel.map_or_else(String::new, |supply| format!("panel {}", supply.value))
}

fn breaker(schedule: &Schedule, circuit: &Circuit) -> String {
    let rating = state(schedule, &circuit.breaker);
    match circuit.poles.copied() {
        Some(1) => format!("{rating} 1-pole").trim().to_owned(),
        Some(poles) => format!("{rating} {poles}-pole").trim().to_owned(),
        None => rating,
    }
}

fn conductor(schedule: &Schedule, circuit: &Circuit) -> String {
    let mut text = state(schedule, &circuit.conductor);
    if let Some(insulation) = circuit.insulation.get()
        && !text.contains(&insulation.to_string())
    {
        text.push_str(&format!(" {insulation}"));
    }
    let ground = circuit
        .conductor
        .get()
        .and_then(|conductor| conductor.ground);
    match circuit.ground.copied().or(ground) {
        Some(Grounding::Sized { size, .. }) => text.push_str(&format!(", ground {size}")),
        Some(Grounding::Unsized) => text.push_str(", with ground"),
        Some(Grounding::ByRaceway) => text.push_str(", grounded by its raceway"),
        Some(Grounding::Absent) => text.push_str(", no ground"),
        None => {}
    }
    text.trim_start_matches([' ', ',']).to_owned()
}

/// The worst that stands, else met, and what could not be checked.
fn verdict(about: &[&Outcome], no_unit: bool) -> Cell {
    let mut broken: Vec<(Severity, &str)> = about
        .iter()
        .filter_map(|outcome| Some((outcome.finding()?.severity, outcome.rule)))
        .collect();
    broken.sort_by_key(|(severity, _)| std::cmp::Reverse(*severity));
    broken.dedup();
    let worst = broken.first().map(|(severity, _)| *severity);
    let mut missing: Vec<String> = Vec::new();
    let mut met = false;
    for outcome in about {
        match &outcome.verdict {
            Verdict::Met => met = true,
            Verdict::Broken(_) => {}
            Verdict::NotChecked { wants } => {
                for want in wants.iter().filter(|want| !is_waiting(want)) {
                    let want = want.to_string();
                    if !missing.contains(&want) {
                        missing.push(want);
                    }
                }
            }
        }
    }
    if let Some(worst) = worst {
        let mut lines: Vec<String> = broken
            .iter()
            .map(|(severity, rule)| format!("{} {rule}", style::word(*severity)))
            .collect();
        if !missing.is_empty() {
            lines.push(format!("not checked for want of {}", missing.join(", ")));
        }
        return Cell::Tint(worst, lines.join("\n"));
    }
    Cell::text(match (met, missing.is_empty()) {
        (true, true) => "met".to_owned(),
        (true, false) => format!("met; not checked for want of {}", missing.join(", ")),
        (false, false) => format!("not checked for want of {}", missing.join(", ")),
        (false, true) if no_unit => "no unit of this job on it".to_owned(),
        (false, true) => "not checked".to_owned(),
    })
}

/// What waits for another finding is checked once that is mended.
fn is_waiting(want: &Want) -> bool {
    matches!(want, Want::WaitsFor(_))
}
