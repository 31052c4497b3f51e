//! Which circuits reach which units.

use crate::findings::{Finding, Outcome, Severity, Subject, Want};
use crate::practice::Practice;
use crate::rules::{Cite, Family, Rule, branch};
use crate::schedule::{
    CellId, Circuit, CircuitId, FieldName, Load, LoadTarget, Name, Part, Place, Schedule,
    TableKind, Unit, UnitId, UnitKind,
};
use crate::tables::Topic;
use std::collections::BTreeMap;

pub(super) static NO_SUPPLY_CIRCUIT: Rule = Rule {
    name: "no-supply-circuit",
    family: Family::Supply,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "a unit is on no circuit",
    why: "Each indoor unit and branch box needs its own supply of line voltage: unlike in a small \
          split system, the outdoor unit does not feed them. A bid without these circuits is short \
          of breakers, wire and labour.",
    decides: "No circuit of the job names the unit. While the text of a load might mean it (a class \
              of units, or a tag much like its own), or a circuit with a breaker names no load, \
              it is a question.",
    leaves: "Central controllers and gateways, whose supply is not audited, and jobs without any \
             circuits.",
    cites: &[Cite::Manual, Cite::Practice],
    yields_to: &[],
    check: no_supply,
};

fn no_supply(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let mut outcomes = Vec::new();
    let (by_id, by_name) = mentions(schedule);
    let named_loads = schedule
        .circuits
        .iter()
        .any(|circuit| !circuit.loads.is_empty());
    for (id, unit) in schedule.audited_units() {
        let subject = Subject::Unit(id);
        let wanted = match unit.kind() {
            Some(kind) if !kind.needs_supply() => continue,
            Some(_) => None,
            None => Some(Want::Field(FieldName::UnitKind)),
        };
        let at = circuit_cell(schedule, unit);
        if let Some(&(circuit, _)) = unit.circuits.first() {
            let place = Place::Cell(schedule.circuit(circuit).at);
            outcomes.push(Outcome::met(subject, unit.tag.at).related(place));
            continue;
        }
        let want = if schedule.circuits.is_empty() {
            // A column of lengths alone makes no circuit: the table is asked for.
            Some(Want::Table(TableKind::Circuits))
        } else if !schedule.circuits.is_empty() && !named_loads {
            Some(Want::Field(FieldName::CircuitLoads))
        } else {
            wanted
        };
        if let Some(want) = want {
            outcomes.push(Outcome::not_checked(subject, at, vec![want]));
            continue;
        }
        let maybe = by_id
            .get(&id)
            .or_else(|| by_name.get(&unit.tag.value))
            .copied();
        outcomes.push(match (maybe, nameless(schedule, unit)) {
            (Some((circuit, load)), _) => might_be(schedule, (id, unit), (circuit, load), at),
            (None, Some(circuit)) => might_be_nameless(schedule, (id, unit), circuit, at),
            (None, None) => on_none(unit, subject, at),
        });
    }
    outcomes
}

type Mention<'a> = (CircuitId, &'a Load);

/// Loads that might mean a unit, by the unit and by the tag that they are
/// nearest to; the first of each.
fn mentions(schedule: &Schedule) -> (BTreeMap<UnitId, Mention<'_>>, BTreeMap<&Name, Mention<'_>>) {
    let mut by_id = BTreeMap::new();
    let mut by_name = BTreeMap::new();
    for (id, circuit) in schedule.circuit_ids() {
        for load in &circuit.loads {
            match &load.target {
                LoadTarget::MaybeUnits(units) => {
                    for &unit in units {
                        by_id.entry(unit).or_insert((id, load));
                    }
                }
                LoadTarget::UnknownTag {
                    nearest: Some(name),
                } => {
                    by_name.entry(name).or_insert((id, load));
                }
                _ => {}
            }
        }
    }
    (by_id, by_name)
}

fn might_be(
    schedule: &Schedule,
    (id, unit): (UnitId, &Unit),
    (circuit, load): (CircuitId, &Load),
    at: CellId,
) -> Outcome {
    let tag = &unit.tag.value;
    let label = schedule.circuit_label(circuit);
    let text = &load.text.value;
    let finding = Finding::verify(
        format!("No circuit names {tag}. The load \u{201c}{text}\u{201d} of {label} might be it."),
        "no circuit by its tag",
        format!(
            "Write {tag} as the load of {label} if it is fed from there, else give it a circuit."
        ),
    )
    .field(FieldName::CircuitLoads);
    Outcome::broken(Subject::Unit(id), at, finding).related(load.text.at)
}

/// A circuit with a breaker that names no load at all and could be the unit's
/// by its dwelling.
fn nameless(schedule: &Schedule, unit: &Unit) -> Option<CircuitId> {
    let near = |circuit: &Circuit| match (circuit.dwelling.get(), unit.dwelling.get()) {
        (Some(a), Some(b)) => a == b,
        _ => true,
    };
    schedule
        .circuit_ids()
        .find(|(_, circuit)| {
            circuit.loads.is_empty() && circuit.breaker.is_given() && near(circuit)
        })
        .map(|(id, _)| id)
}

fn might_be_nameless(
    schedule: &Schedule,
    (id, unit): (UnitId, &Unit),
    circuit: CircuitId,
    at: CellId,
) -> Outcome {
    let tag = &unit.tag.value;
    let label = schedule.circuit_label(circuit);
    let finding = Finding::verify(
        format!("No circuit names {tag}. {label} has a breaker and names no load: it might be it."),
        "no circuit by its tag",
        format!("Name the load of {label}; if it is not {tag}, give {tag} a circuit."),
    )
    .field(FieldName::CircuitLoads);
    let related = schedule.circuit(circuit).at;
    Outcome::broken(Subject::Unit(id), at, finding).related(related)
}

fn on_none(unit: &Unit, subject: Subject, at: CellId) -> Outcome {
    let tag = &unit.tag.value;
    let kind = unit
        .kind()
        .map_or("unit".to_owned(), |kind| kind.to_string());
    let why = match unit.kind() {
        Some(UnitKind::Indoor | UnitKind::AirHandler | UnitKind::BranchBox) => {
            " The outdoor unit does not feed it: it needs its own supply of line voltage."
        }
        Some(UnitKind::OutdoorModule) => " Each module needs a circuit of its own.",
        _ => "",
    };
    let finding = Finding::fix(
        format!("The {kind} {tag} is on no circuit.{why}"),
        "no circuit",
        format!("Schedule a supply circuit for {tag} by its nameplate."),
    )
    .field(FieldName::CircuitLoads);
    Outcome::broken(subject, at, finding)
}

/// The empty cell of the unit's row that would name its circuit, else its
/// tag.
fn circuit_cell(schedule: &Schedule, unit: &Unit) -> CellId {
    let naming = [
        FieldName::CircuitPanelSlots,
        FieldName::CircuitSlots,
        FieldName::CircuitName,
        FieldName::CircuitPanel,
    ];
    let at = unit.tag.at;
    let column = schedule
        .sources
        .tables
        .get(at.table as usize)
        .and_then(|table| {
            naming.iter().find_map(|field| {
                let found = table.columns.iter().find(|c| c.fields.contains(field))?;
                Some(found.column)
            })
        });
    column.map_or(at, |column| CellId { column, ..at })
}

pub(super) static OUTDOOR_NOT_DEDICATED: Rule = Rule {
    name: "outdoor-not-dedicated",
    family: Family::Supply,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "an outdoor unit shares its circuit",
    why: "The outdoor unit, and each module of it, is always alone on its circuit: its device is \
          sized to its own nameplate and protects nothing else.",
    decides: "A circuit that names an outdoor unit names another unit or load. A text that might \
              mean the same unit, or a tag that matches none, is a question; spares, and words that \
              only say where the unit stands, are no load.",
    leaves: "Service receptacles beside the unit are judged only where they are written on its \
             circuit.",
    cites: &[Cite::Nameplate, Cite::Manual, Cite::Practice],
    yields_to: &[],
    check: not_dedicated,
};

fn not_dedicated(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let mut outcomes = Vec::new();
    for (id, circuit) in schedule.circuit_ids() {
        let units = circuit.units();
        let outdoor: Vec<UnitId> = units
            .iter()
            .copied()
            .filter(|&unit| schedule.unit(unit).is_outdoor())
            .collect();
        let Some(&first) = outdoor.first() else {
            continue;
        };
        let subject = Subject::Circuit(id);
        let at = circuit
            .loads
            .first()
            .map_or(circuit.at, |load| load.text.at);
        let others = branch::others(schedule, circuit);
        let rest: Vec<UnitId> = units.iter().copied().filter(|&u| u != first).collect();
        let sure = !rest.is_empty() || others.iter().any(|load| load.target == LoadTarget::Other);
        let outcome = if rest.is_empty() && others.is_empty() {
            Outcome::met(subject, at)
        } else {
            let mut with: Vec<String> = Vec::new();
            if !rest.is_empty() {
                with.push(branch::tags(schedule, &rest));
            }
            with.extend(
                others
                    .iter()
                    .take(4)
                    .map(|load| format!("\u{201c}{}\u{201d}", load.text.value)),
            );
            let tag = branch::tags(schedule, &[first]);
            let with = with.join(", ");
            let label = schedule.circuit_label(id);
            let severity = if sure {
                Severity::Fix
            } else {
                Severity::Verify
            };
            let says = if sure {
                format!("The outdoor unit {tag} shares {label} with {with}.")
            } else {
                format!("The outdoor unit {tag} is on {label}, which also names {with}.")
            };
            let remedy = if sure {
                format!("Give {tag} a circuit of its own, by its nameplate.")
            } else {
                format!("Say what {with} is; {tag} has to be alone on its circuit.")
            };
            let finding = Finding::new(severity, says, with, remedy)
                .field(FieldName::CircuitLoads)
                .limit("nothing else on the circuit", "");
            Outcome::broken(subject, at, finding)
        };
        outcomes.push(outcome);
    }
    outcomes
}

pub(super) static UNIT_ON_TWO_CIRCUITS: Rule = Rule {
    name: "unit-on-two-circuits",
    family: Family::Supply,
    severities: &[Severity::Verify],
    summary: "a unit is on more than one circuit",
    why: "Two circuits to one unit mean that one of them is a slip, or that another unit goes \
          without.",
    decides: "Two circuits or more name the unit as a whole, and it has no strip heat that would \
              explain the second.",
    leaves: "Circuits that name a part (heater, fan), and a second mention of one circuit in the \
             unit's own row.",
    cites: &[Cite::Schedule, Cite::Code(Topic::AcNameplate)],
    yields_to: &[],
    check: two_circuits,
};

fn two_circuits(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let mut outcomes = Vec::new();
    for (id, unit) in schedule.audited_units() {
        if !branch::is_audited(unit) || unit.circuits.is_empty() {
            continue;
        }
        let found = branch::circuits_of(schedule, unit);
        let mut ids: Vec<CircuitId> = found.iter().map(|(circuit, _)| *circuit).collect();
        ids.sort_unstable();
        ids.dedup();
        let parts = found.iter().any(|(_, part)| *part != Part::Whole);
        let subject = Subject::Unit(id);
        let [first, second, ..] = ids[..] else {
            outcomes.push(Outcome::met(subject, unit.tag.at));
            continue;
        };
        if parts || unit.has_strip_heat() {
            outcomes.push(Outcome::met(subject, unit.tag.at));
            continue;
        }
        let labels: Vec<String> = ids.iter().map(|&id| schedule.circuit_label(id)).collect();
        let tag = &unit.tag.value;
        let at = load_cell(schedule, second, id);
        let finding = Finding::verify(
            format!("{tag} is on {} circuits: {}.", ids.len(), labels.join(", ")),
            crate::findings::Value::Count(ids.len() as u64, "circuits"),
            format!("Say which circuit feeds {tag}, or which part of it each one feeds."),
        )
        .field(FieldName::CircuitLoads)
        .limit(crate::findings::Value::Count(1, "circuit"), "");
        outcomes.push(
            Outcome::broken(subject, at, finding)
                .related(load_cell(schedule, first, id))
                .related(unit.tag.at),
        );
    }
    outcomes
}

fn load_cell(schedule: &Schedule, circuit: CircuitId, unit: UnitId) -> CellId {
    let circuit = schedule.circuit(circuit);
    circuit
        .loads
        .iter()
        .find(|load| load.target == LoadTarget::Unit(unit))
        .map_or(circuit.at, |load| load.text.at)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::Verdict;
    use crate::rules::testing::{finds, meets, outcomes, whole_audit};
    use crate::schedule::Kilowatts;
    use crate::schedule::fixture::Fixture;
    use Severity::{Fix, Verify};

    fn units(fixture: &mut Fixture) -> &mut Fixture {
        fixture
            .unit("OU-1", UnitKind::Outdoor, |_, _| {})
            .unit("FC-1", UnitKind::Indoor, |_, _| {})
            .unit("FC-2", UnitKind::Indoor, |_, _| {})
    }

    #[test]
    fn indoor_units_need_a_supply_of_their_own() {
        let s = units(&mut Fixture::new())
            .circuit("LP", &[1, 3], &["OU-1"], |_, _| {})
            .build();
        finds(&NO_SUPPLY_CIRCUIT, &s, &[Fix, Fix]);
        let says = &outcomes(&NO_SUPPLY_CIRCUIT, &s)[1];
        assert!(
            says.finding()
                .unwrap()
                .says
                .contains("outdoor unit does not feed it")
        );
        let s = units(&mut Fixture::new())
            .circuit("LP", &[1, 3], &["OU-1"], |_, _| {})
            .circuit("LP", &[5, 7], &["FC-1", "FC-2"], |_, _| {})
            .circuit("LP", &[9], &["RANGE"], |_, _| {})
            .build();
        meets(&NO_SUPPLY_CIRCUIT, &s);
    }

    #[test]
    fn a_text_that_might_be_the_unit_is_a_question() {
        let s = units(&mut Fixture::new())
            .circuit("LP", &[1, 3], &["OU-1"], |_, _| {})
            .circuit("LP", &[5, 7], &["FAN COILS"], |_, _| {})
            .build();
        finds(&NO_SUPPLY_CIRCUIT, &s, &[Verify, Verify]);
    }

    #[test]
    fn without_circuits_or_loads_nothing_is_said() {
        // A column of lengths makes a table of circuits, and no circuit.
        let mut lengths = Fixture::new();
        units(&mut lengths);
        lengths.draft.sources.tables[0].kinds = vec![TableKind::Equipment, TableKind::Circuits];
        finds(&NO_SUPPLY_CIRCUIT, &lengths.build(), &[]);
        let s = units(&mut Fixture::new()).build();
        for outcome in outcomes(&NO_SUPPLY_CIRCUIT, &s) {
            assert_eq!(
                outcome.verdict,
                Verdict::NotChecked {
                    wants: vec![Want::Table(TableKind::Circuits)]
                }
            );
        }
        let s = units(&mut Fixture::new())
            .circuit("LP", &[1, 3], &[], |_, _| {})
            .build();
        finds(&NO_SUPPLY_CIRCUIT, &s, &[]);
    }

    #[test]
    fn an_outdoor_unit_is_alone() {
        let on = |loads: &[&str]| {
            units(&mut Fixture::new())
                .unit("OU-1A", UnitKind::OutdoorModule, |_, _| {})
                .circuit("LP", &[1, 3], loads, |_, _| {})
                .build()
        };
        meets(&OUTDOOR_NOT_DEDICATED, &on(&["OU-1"]));
        meets(&OUTDOOR_NOT_DEDICATED, &on(&["OU-1", "SPARE"]));
        meets(&OUTDOOR_NOT_DEDICATED, &on(&["OU-1", "ROOF LEVEL 2"]));
        finds(&OUTDOOR_NOT_DEDICATED, &on(&["OU-1", "FC-1"]), &[Fix]);
        finds(&OUTDOOR_NOT_DEDICATED, &on(&["OU-1", "OU-1A"]), &[Fix]);
        finds(
            &OUTDOOR_NOT_DEDICATED,
            &on(&["OU-1", "RECEPTACLES"]),
            &[Fix],
        );
        finds(
            &OUTDOOR_NOT_DEDICATED,
            &on(&["OU-1", "HEAT PUMP"]),
            &[Verify],
        );
        finds(&OUTDOOR_NOT_DEDICATED, &on(&["OU-1", "OU-7"]), &[Verify]);
        assert_eq!(outcomes(&OUTDOOR_NOT_DEDICATED, &on(&["FC-1", "FC-2"])), []);
    }

    #[test]
    fn a_shared_outdoor_circuit_silences_what_follows_from_it() {
        let s = units(&mut Fixture::new())
            .circuit("LP", &[1, 3], &["OU-1", "FC-1", "FC-2"], |c, cells| {
                c.breaker = cells.amps(60.0)
            })
            .build();
        let found = whole_audit(&s);
        assert!(found.contains(&("outdoor-not-dedicated", Fix)));
        for (rule, _) in found {
            assert!(
                !rule.starts_with("shared-") && !rule.starts_with("conductor-"),
                "{rule}"
            );
        }
    }

    #[test]
    fn two_circuits_are_explained_by_heat_or_by_parts() {
        let job = |kw: f64, second: &str| {
            let mut fixture = Fixture::new();
            fixture
                .unit("AH-1", UnitKind::AirHandler, |u, cells| {
                    u.heat_kw = cells.given(Kilowatts(kw))
                })
                .circuit("LP", &[1, 3], &["AH-1"], |_, _| {})
                .circuit("LP", &[5, 7], &[second], |c, _| {
                    if second.contains("HEATER") {
                        c.loads[0].part = Part::Heater(1);
                    }
                });
            fixture.build()
        };
        finds(&UNIT_ON_TWO_CIRCUITS, &job(0.0, "AH-1"), &[Verify]);
        meets(&UNIT_ON_TWO_CIRCUITS, &job(10.0, "AH-1"));
        meets(&UNIT_ON_TWO_CIRCUITS, &job(0.0, "AH-1 HEATER"));
        meets(&UNIT_ON_TWO_CIRCUITS, &job(0.0, "RANGE"));
    }
}
