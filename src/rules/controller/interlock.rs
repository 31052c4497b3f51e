//! What a switch on a unit's external stop contact does to the system.

use crate::findings::{Finding, Outcome, Severity, Subject, Want};
use crate::practice::Practice;
use crate::rules::{Cite, Family, Rule};
use crate::schedule::wire::RunPurpose;
use crate::schedule::{CellId, Field, FieldName, Name, Place, RunEnd, Schedule, UnitId};
use std::collections::BTreeMap;

pub(super) static INTERLOCK_STOPS_ALL: Rule = Rule {
    name: "interlock-stops-all",
    family: Family::Controller,
    severities: &[Severity::Note],
    summary: "a condensate or float switch on a unit's external stop contact",
    why: "On many systems an external stop of one unit stops every unit: one wet pan in a \
          closet, and no room is cooled.",
    decides: "A unit with an interlock run, or whose row names one, to a float or condensate \
              switch, on a system with more than one indoor unit. Once a unit.",
    leaves: "Interlocks that are named as something else (fire alarm, window contact); built-in \
             pumps, which have an alarm of their own.",
    cites: &[Cite::Practice, Cite::Manual],
    yields_to: &[],
    check: interlock_stops_all,
};

/// Words that tell of an interlock with another purpose than condensate.
const OTHER_STOPS: [&str; 9] = [
    "fire", "smoke", "window", "door", "occup", "key", "card", "bms", "vent",
];
const CONDENSATE: [&str; 6] = ["float", "condens", "overflow", "drain", "pump", "pan"];

fn any_of(text: &str, words: &[&str]) -> bool {
    let lower = text.to_lowercase();
    words.iter().any(|word| lower.contains(word))
}

fn interlock_stops_all(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let mut stops: BTreeMap<UnitId, (String, CellId, FieldName)> = BTreeMap::new();
    for (_, run) in schedule.run_ids() {
        if run.serves != RunPurpose::Interlock {
            continue;
        }
        for (end, far) in [(&run.from_end, &run.to), (&run.to_end, &run.from)] {
            let RunEnd::Unit(unit) = end else { continue };
            let name = far.get().map_or("an interlock", Name::text);
            if !any_of(name, &OTHER_STOPS) {
                let at = far.at().unwrap_or(run.at);
                let stop = (name.to_owned(), at, FieldName::RunPurpose);
                stops.entry(*unit).or_insert(stop);
            }
        }
    }
    let mut told = !stops.is_empty();
    for (id, unit) in schedule.audited_units() {
        if let Field::Given(text) = &unit.interlock {
            told = true;
            let built_in = any_of(&text.value, &["built", "internal", "integral", "factory"]);
            if any_of(&text.value, &CONDENSATE) && !built_in {
                let stop = (text.value.clone(), text.at, FieldName::UnitInterlock);
                stops.entry(id).or_insert(stop);
            }
        }
    }
    if !told {
        let wants = vec![Want::Field(FieldName::UnitInterlock)];
        return vec![Outcome::not_checked(Subject::Job, Place::Job, wants)];
    }
    let indoor_of: Vec<usize> = schedule
        .systems
        .iter()
        .map(|system| {
            let units = system.units.iter();
            units
                .filter(|unit| schedule.unit(**unit).is_indoor())
                .count()
        })
        .collect();
    schedule
        .audited_units()
        .filter(|(_, unit)| unit.is_indoor())
        .map(|(id, unit)| {
            let subject = Subject::Unit(id);
            let others = unit.system_id.map_or(0, |system| indoor_of[system.index()]);
            match stops.get(&id) {
                Some((what, at, field)) if others > 1 => {
                    let finding = stops_all(schedule, id, what, others).field(*field);
                    Outcome::broken(subject, *at, finding)
                }
                _ => Outcome::met(subject, unit.tag.at),
            }
        })
        .collect()
}

fn stops_all(schedule: &Schedule, id: UnitId, what: &str, units: usize) -> Finding {
    let label = schedule.unit_label(id);
    Finding::note(
        format!(
            "{what} is wired to the external stop of {label}: on many systems that stops all \
             {units} indoor units, and not {label} alone."
        ),
        what,
        format!(
            "Find out from the manual what the external stop of {label} stops, or use the alarm \
             of a built-in pump."
        ),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::testing::{finds, meets};
    use crate::schedule::UnitKind;
    use crate::schedule::fixture::Fixture;
    use Severity::Note;

    fn units(n: usize) -> Fixture {
        let mut fixture = Fixture::new();
        fixture.unit("OU-1", UnitKind::Outdoor, |_, _| {});
        for n in 1..=n {
            fixture.unit(&format!("FC-{n}"), UnitKind::Indoor, |_, _| {});
        }
        fixture
    }

    #[test]
    fn a_float_switch_stops_more_than_its_unit() {
        let of = |n: usize, text: &str, run: Option<&str>| {
            let mut fixture = units(n);
            if !text.is_empty() {
                let cell = fixture.draft.units[1].tag.at;
                fixture.draft.units[1].interlock = Field::given(text.to_owned(), cell);
            }
            if let Some(far) = run {
                fixture.run(far, "FC-1", |run, cells| {
                    run.purpose = cells.given(RunPurpose::Interlock);
                });
            }
            fixture.build()
        };
        let rule = &INTERLOCK_STOPS_ALL;
        finds(rule, &of(2, "FLOAT SWITCH", None), &[Note]);
        finds(rule, &of(2, "FLOAT SWITCH", Some("FS-1")), &[Note]);
        finds(rule, &of(2, "", Some("FLOAT SW")), &[Note]);
        meets(rule, &of(1, "FLOAT SWITCH", None));
        meets(rule, &of(2, "BUILT-IN PUMP", None));
        finds(rule, &of(2, "", Some("FIRE ALARM")), &[]);
        finds(rule, &of(2, "", None), &[]);
    }
}
