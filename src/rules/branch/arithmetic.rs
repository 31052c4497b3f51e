//! The arithmetic that every output shows of a circuit.

use super::{
    Span, ampacity, conditions, full_load, mca, mop, others, protection, shared_load, volts,
};
use crate::findings::Step;
use crate::practice::Practice;
use crate::schedule::{Amps, CircuitId, Quantity, Schedule, UnitId};

fn amps_step(what: &'static str, value: String, how: impl Into<String>) -> Step {
    Step {
        what,
        value: value.into(),
        how: how.into(),
        source: String::new(),
    }
}

/// The circuit's arithmetic for the reader: load, MCA, MOP, protection and
/// ampacity, as far as the schedule gives them.
pub fn arithmetic(schedule: &Schedule, id: CircuitId, practice: &Practice) -> Vec<Step> {
    let circuit = schedule.circuit(id);
    let units = circuit.units();
    let supply = volts(schedule, circuit);
    let mut steps = Vec::new();
    let together = units.len() + others(schedule, circuit).len() > 1;
    let states = |unit: &UnitId| {
        let unit = schedule.unit(*unit);
        full_load(unit).is_some() || unit.mca.is_given()
    };
    if together && units.iter().any(states) {
        let found = shared_load(schedule, circuit, &units, practice);
        let how: Vec<String> = found.steps.iter().map(|step| step.how.clone()).collect();
        let text = if found.load.exact {
            found.load.most.to_string()
        } else {
            format!("{} to {}", found.load.least, found.load.most)
        };
        steps.push(amps_step("load", text, how.join("; ")));
    } else if let [only] = units[..] {
        let unit = schedule.unit(only);
        match (full_load(unit), super::heater_amps(unit, supply)) {
            (Some(amps), None) => {
                steps.push(amps_step("load", amps.to_string(), "full-load current"));
            }
            (fan, Some(heat)) => {
                let fan = fan.unwrap_or(Amps(0.0));
                let load = Span {
                    least: heat.least + fan,
                    most: heat.most + fan,
                };
                let how = format!("heater {} and blower {fan}", heat.described());
                steps.push(amps_step("load", load.described(), how));
            }
            (None, None) => {}
        }
    }
    let mcas: Vec<Span> = units
        .iter()
        .filter_map(|&unit| mca(schedule.unit(unit), supply))
        .collect();
    match mcas[..] {
        [] => {}
        [one] => steps.push(amps_step("mca", one.described(), "nameplate")),
        _ => {
            let sum: Amps = mcas.iter().map(|mca| mca.most).sum();
            let how = format!("sum of {} nameplates", mcas.len());
            steps.push(amps_step("mca", sum.to_string(), how));
        }
    }
    let smallest = units
        .iter()
        .filter_map(|&unit| mop(schedule.unit(unit), supply))
        .reduce(|a, b| if b.least.below(a.least) { b } else { a });
    if let Some(mop) = smallest {
        let how = if together {
            "smallest nameplate on it"
        } else {
            "nameplate"
        };
        steps.push(amps_step("mop", mop.described(), how));
    }
    let unit = match units[..] {
        [only] => Some(schedule.unit(only)),
        _ => None,
    };
    let found = protection(circuit, unit);
    if let Some(rating) = found.rating() {
        steps.push(Step {
            what: "protection",
            value: rating.value.into(),
            how: found.described(),
            source: String::new(),
        });
    }
    if let Some(conductor) = circuit.conductor.get()
        && let Ok(worked) = ampacity(circuit, conductor, &conditions(circuit, practice))
    {
        let amps = worked.value;
        let text = if amps.is_settled() {
            amps.least.amps.to_string()
        } else {
            format!(
                "{} at {} °C, {} at {} °C terminals",
                amps.least.amps, amps.least.terminals, amps.most.amps, amps.most.terminals
            )
        };
        let last = worked.steps.last();
        steps.push(Step {
            what: "ampacity",
            value: text.into(),
            how: last.map_or_else(String::new, |step| step.how.clone()),
            source: last
                .and_then(|step| step.source)
                .map_or_else(String::new, |source| source.to_string()),
        });
    }
    steps
}
