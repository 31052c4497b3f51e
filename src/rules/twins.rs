//! The family `twins`: dwellings of one declared type that differ.

use super::wording::count;
use super::{Cite, Family, Rule};
use crate::findings::{Finding, Outcome, Severity, Subject, Value, Want};
use crate::practice::Practice;
use crate::schedule::wire::RunPurpose;
use crate::schedule::{
    CellId, Field, FieldName, Name, Place, RunEnd, RunId, Schedule, TableKind, Unit, UnitId,
};
use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::fmt::Display;

pub(super) static RULES: &[&Rule] = &[&TWIN_UNITS_DIFFER];

/// The rule whose findings wait for any `fix` on the same cell.
pub(super) const NAME: &str = "twin-units-differ";

static TWIN_UNITS_DIFFER: Rule = Rule {
    name: NAME,
    family: Family::Twins,
    severities: &[Severity::Verify],
    summary: "units of one declared dwelling type whose circuits, wire or controllers differ",
    why: "Apartments of one type are built from one sheet. Where one of them differs it is \
          either meant, and has to be said, or a slip that is built once and looked for long.",
    decides: "Units of one dwelling type and one tag are compared: breaker, poles, fuse, \
              conductor and number of units of their circuits, gauge, conductors, strands and \
              shield of their bus wire, number of their controllers; and whether each dwelling \
              of the type has the unit. What most of them have is named. A cell for which another \
              rule has a fix is not told again.",
    leaves: "Lengths, slots and rooms, which differ from \
             dwelling to dwelling; nameplates; types that are not declared.",
    cites: &[Cite::Schedule],
    yields_to: &[],
    check: twin_units_differ,
};

/// What a unit has in one field: each different value with its cell, sorted.
type Values = Vec<(String, CellId)>;

/// Units that should be alike: of one type, one tag, one number of a mark.
type Key<'a> = (&'a Name, &'a Name, u32);

fn twin_units_differ(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let mut twins: BTreeMap<Key<'_>, Vec<UnitId>> = BTreeMap::new();
    for (id, unit) in schedule.audited_units() {
        if let Some(kind) = unit.dwelling_type.get() {
            let key = (kind, &unit.tag.value, unit.instance.0);
            twins.entry(key).or_default().push(id);
        }
    }
    if twins.is_empty() {
        let wants = vec![Want::Field(FieldName::UnitDwellingType)];
        return vec![Outcome::not_checked(Subject::Job, Place::Job, wants)];
    }
    let mut found = presence(schedule, &twins);
    let runs_of = bus_runs(schedule);
    // A shared circuit, or a run between two units, differs once.
    let mut told: HashSet<(FieldName, CellId)> = HashSet::new();
    let mut silent: BTreeMap<UnitId, Vec<FieldName>> = BTreeMap::new();
    for ((kind, tag, _), units) in &twins {
        if units.len() < 2 {
            continue;
        }
        for (field, values) in compared(schedule, units, &runs_of) {
            // No circuit, run or controller at all is another rule's.
            let stated = values.iter().any(|values| !values.is_empty());
            if stated && !matches!(field, FieldName::CircuitLoads | FieldName::ControllerUnits) {
                let of_circuit = field.table() == TableKind::Circuits;
                for (&unit, _) in units.iter().zip(&values).filter(|(_, v)| v.is_empty()) {
                    let wired = if of_circuit {
                        !schedule.unit(unit).circuits.is_empty()
                    } else {
                        !runs_of[unit.index()].is_empty()
                    };
                    if wired && field != FieldName::CircuitFuse {
                        silent.entry(unit).or_default().push(field);
                    }
                }
            }
            differences(
                schedule,
                (kind, tag),
                units,
                field,
                &values,
                &mut told,
                &mut found,
            );
        }
    }
    let differing: BTreeSet<Subject> = found.iter().map(|outcome| outcome.subject).collect();
    let mut outcomes: Vec<Outcome> = schedule
        .audited_units()
        .filter(|(id, _)| !differing.contains(&Subject::Unit(*id)))
        .map(|(id, unit)| match silent.get(&id) {
            Some(fields) => {
                let wants = fields.iter().map(|field| Want::Field(*field)).collect();
                Outcome::not_checked(Subject::Unit(id), unit.tag.at, wants)
            }
            None => alike(id, unit),
        })
        .collect();
    outcomes.extend(found);
    outcomes
}

fn alike(id: UnitId, unit: &Unit) -> Outcome {
    let subject = Subject::Unit(id);
    if unit.dwelling_type.is_given() {
        Outcome::met(subject, unit.tag.at)
    } else {
        Outcome::wants(subject, unit.tag.at, FieldName::UnitDwellingType)
    }
}

fn bus_runs(schedule: &Schedule) -> Vec<Vec<RunId>> {
    let mut runs_of: Vec<Vec<RunId>> = vec![Vec::new(); schedule.units.len()];
    for (id, run) in schedule.run_ids() {
        if run.serves != RunPurpose::Bus {
            continue;
        }
        for end in [&run.from_end, &run.to_end] {
            if let RunEnd::Unit(unit) = end {
                runs_of[unit.index()].push(id);
            }
        }
    }
    runs_of
}

/// Each compared field with the values of each unit, in the units' order.
fn compared(
    schedule: &Schedule,
    units: &[UnitId],
    runs_of: &[Vec<RunId>],
) -> Vec<(FieldName, Vec<Values>)> {
    use FieldName::*;
    let all = |of: &dyn Fn(UnitId) -> Values| -> Vec<Values> {
        units.iter().map(|unit| sorted(of(*unit))).collect()
    };
    let circuits = |unit: UnitId| {
        let circuits = schedule.unit(unit).circuits.iter();
        circuits.map(|(circuit, _)| schedule.circuit(*circuit))
    };
    let runs = |unit: UnitId| runs_of[unit.index()].iter().map(|run| schedule.run(*run));
    vec![
        (
            CircuitBreaker,
            all(&|u| circuits(u).flat_map(|c| shown(&c.breaker)).collect()),
        ),
        (
            CircuitPoles,
            all(&|u| {
                let poles = circuits(u).flat_map(|c| shown(&c.poles));
                poles
                    .map(|(poles, at)| (format!("{poles}-pole"), at))
                    .collect()
            }),
        ),
        (
            CircuitFuse,
            all(&|u| circuits(u).flat_map(|c| shown(&c.fuse)).collect()),
        ),
        (
            CircuitConductor,
            all(&|u| circuits(u).flat_map(|c| shown(&c.conductor)).collect()),
        ),
        (
            CircuitLoads,
            all(&|u| {
                let shared = circuits(u).map(|c| (count(c.units().len(), "unit", "units"), c));
                shared
                    .map(|(units, c)| (format!("a circuit of {units}"), c.at))
                    .collect()
            }),
        ),
        (
            ControllerUnits,
            all(&|u| {
                let unit = schedule.unit(u);
                let first = unit.controllers.first();
                first
                    .map(|id| {
                        let text = count(unit.controllers.len(), "controller", "controllers");
                        (text, schedule.controller(*id).tag.at)
                    })
                    .into_iter()
                    .collect()
            }),
        ),
        (
            RunGauge,
            all(&|u| runs(u).flat_map(|r| shown(&r.gauge)).collect()),
        ),
        (
            RunConductors,
            all(&|u| {
                let conductors = runs(u).flat_map(|r| shown(&r.conductors));
                conductors
                    .map(|(number, at)| (format!("{number} conductors"), at))
                    .collect()
            }),
        ),
        (
            RunStranding,
            all(&|u| {
                let words = runs(u).flat_map(|r| worded(&r.stranded, "stranded", "solid"));
                words.collect()
            }),
        ),
        (
            RunShield,
            all(&|u| {
                let words = runs(u).flat_map(|r| worded(&r.shielded, "shielded", "not shielded"));
                words.collect()
            }),
        ),
    ]
}

fn shown<T: Display>(field: &Field<T>) -> Option<(String, CellId)> {
    match field {
        Field::Given(located) => Some((located.value.to_string(), located.at)),
        _ => None,
    }
}

fn worded(field: &Field<bool>, yes: &str, no: &str) -> Option<(String, CellId)> {
    match field {
        Field::Given(located) => {
            let word = if located.value { yes } else { no };
            Some((word.to_owned(), located.at))
        }
        _ => None,
    }
}

fn sorted(mut values: Values) -> Values {
    values.sort();
    values.dedup_by(|a, b| a.0 == b.0);
    values
}

fn texts(values: &Values) -> Vec<&str> {
    values.iter().map(|(text, _)| text.as_str()).collect()
}

/// Units whose values are not what most of them have. A unit that states
/// nothing is no difference.
fn differences(
    schedule: &Schedule,
    (kind, tag): (&Name, &Name),
    units: &[UnitId],
    field: FieldName,
    values: &[Values],
    told: &mut HashSet<(FieldName, CellId)>,
    found: &mut Vec<Outcome>,
) {
    let mut having: BTreeMap<Vec<&str>, (usize, usize)> = BTreeMap::new();
    for (order, values) in values.iter().enumerate() {
        if !values.is_empty() {
            having.entry(texts(values)).or_insert((0, order)).0 += 1;
        }
    }
    let stated: usize = having.values().map(|(number, _)| number).sum();
    // Most of them; of equals the one met first.
    let usual = having
        .iter()
        .max_by_key(|(_, (number, first))| (*number, std::cmp::Reverse(*first)));
    let Some((usual, &(number, first))) = usual else {
        return;
    };
    for (&unit, values) in units.iter().zip(values) {
        if values.is_empty() || texts(values) == *usual {
            continue;
        }
        let odd = values.iter().find(|(text, _)| !usual.contains(&&**text));
        let Some(&(_, at)) = odd.or(values.first()) else {
            continue;
        };
        if !told.insert((field, at)) {
            continue;
        }
        let (has, most) = (texts(values).join(", "), usual.join(", "));
        let label = schedule.unit_label(unit);
        let says = format!(
            "{label} has {has} ({field}); {number} of the {stated} units {tag} of type {kind} \
             that state it have {most}."
        );
        let finding = Finding::verify(
            says,
            has,
            format!("Confirm that {label} is meant to differ, or make it like the others."),
        )
        .field(field)
        .limit(most, format!("{number} of {stated} of type {kind}"));
        let like = schedule.unit(units[first]).tag.at;
        let outcome = Outcome::broken(Subject::Unit(unit), at, finding);
        found.push(outcome.related(like));
    }
}

/// Dwellings of a type that lack a unit which most of them have, and units
/// that only few of them have.
fn presence(schedule: &Schedule, twins: &BTreeMap<Key<'_>, Vec<UnitId>>) -> Vec<Outcome> {
    // The dwellings of each type, each with its first unit.
    let mut dwellings: BTreeMap<&Name, BTreeMap<&Name, UnitId>> = BTreeMap::new();
    for (id, unit) in schedule.audited_units() {
        if let (Some(kind), Some(dwelling)) = (unit.dwelling_type.get(), unit.dwelling.get()) {
            let of_type = dwellings.entry(kind).or_default();
            of_type.entry(dwelling).or_insert(id);
        }
    }
    let mut found = Vec::new();
    for ((kind, tag, _), units) in twins {
        let Some(all) = dwellings.get(kind).filter(|all| all.len() > 1) else {
            continue;
        };
        let having: BTreeSet<&Name> = units
            .iter()
            .filter_map(|unit| schedule.unit(*unit).dwelling.get())
            .collect();
        if having.is_empty() || having.len() == all.len() {
            continue;
        }
        let share = format!(
            "{} of the {} dwellings of type {kind}",
            having.len(),
            all.len()
        );
        if having.len() * 2 > all.len() {
            for (dwelling, first) in all.iter().filter(|(d, _)| !having.contains(*d)) {
                let says = format!("{dwelling} has no {tag}; {share} have one.");
                let remedy = format!("Schedule {tag} in {dwelling}, or say why it has none.");
                found.push(odd_one(
                    schedule,
                    *first,
                    says,
                    "no such unit",
                    remedy,
                    &share,
                ));
            }
        } else {
            for unit in units {
                let label = schedule.unit_label(*unit);
                let says = format!("{label} has its like in few dwellings: {share} have one.");
                let remedy = format!("Confirm that {label} is meant, or take it out.");
                found.push(odd_one(schedule, *unit, says, tag.text(), remedy, &share));
            }
        }
    }
    found
}

fn odd_one(
    schedule: &Schedule,
    unit: UnitId,
    says: String,
    has: &str,
    remedy: String,
    share: &str,
) -> Outcome {
    let finding = Finding::verify(says, has, remedy)
        .field(FieldName::UnitTag)
        .limit(Value::Text(share.to_owned()), "");
    Outcome::broken(Subject::Unit(unit), schedule.unit(unit).tag.at, finding)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::testing::{finds, meets, outcomes};
    use crate::schedule::fixture::{Cells, Fixture};
    use crate::schedule::wire::{Conductor, Size};
    use crate::schedule::{Circuit, Run, UnitKind};
    use Severity::Verify;

    /// Fills a row of the apartment with that number, from zero.
    type FillRow<'a, T> = Option<&'a dyn Fn(usize, &mut T, &mut Cells)>;

    #[derive(Default)]
    struct Fill<'a> {
        circuit: FillRow<'a, Circuit>,
        run: FillRow<'a, Run>,
    }

    /// Three apartments of type A, each with OU-1, and FC-1 and FC-2 on one
    /// circuit.
    fn apartments(fill: &Fill<'_>) -> Fixture {
        let mut fixture = Fixture::new();
        for (n, door) in ["101", "102", "103"].into_iter().enumerate() {
            for (tag, kind) in [
                ("OU-1", UnitKind::Outdoor),
                ("FC-1", UnitKind::Indoor),
                ("FC-2", UnitKind::Indoor),
            ] {
                fixture.unit(tag, kind, |u, cells| {
                    u.dwelling = cells.name(door);
                    u.dwelling_type = cells.name("A");
                });
            }
            fixture.circuit("LP", &[1, 3], &["FC-1", "FC-2"], |c, cells| {
                c.dwelling = cells.name(door);
                c.breaker = cells.amps(15.0);
                if let Some(circuit) = fill.circuit {
                    circuit(n, c, cells);
                }
            });
            for (from, to) in [("OU-1", "FC-1"), ("FC-1", "FC-2")] {
                fixture.run(from, to, |run, cells| {
                    run.dwelling = cells.name(door);
                    if let Some(fill) = fill.run {
                        fill(n, run, cells);
                    }
                });
            }
            fixture.controller("T-1", &["FC-1"], |c, cells| c.dwelling = cells.name(door));
        }
        fixture
    }

    #[test]
    fn apartments_that_are_alike_meet_the_rule() {
        meets(&TWIN_UNITS_DIFFER, &apartments(&Fill::default()).build());
        let mut none = Fixture::new();
        none.unit("FC-1", UnitKind::Indoor, |_, _| {});
        finds(&TWIN_UNITS_DIFFER, &none.build(), &[]);
    }

    #[test]
    fn a_shared_circuit_that_differs_is_one_finding_with_the_majority_named() {
        let breaker = |n: usize, c: &mut Circuit, cells: &mut Cells| {
            if n == 1 {
                c.breaker = cells.amps(20.0);
            }
        };
        let fill = Fill {
            circuit: Some(&breaker),
            ..Fill::default()
        };
        let schedule = apartments(&fill).build();
        finds(&TWIN_UNITS_DIFFER, &schedule, &[Verify]);
        let found = outcomes(&TWIN_UNITS_DIFFER, &schedule);
        let finding = found.iter().find_map(Outcome::finding).unwrap();
        assert!(
            finding.says.contains("102 FC-1 has 20 A"),
            "{}",
            finding.says
        );
        assert!(finding.says.contains("2 of the 3") && finding.says.contains("have 15 A"));
    }

    #[test]
    fn conductors_and_bus_wire_differ_alone_and_a_blank_does_not() {
        let conductor = |n: usize, c: &mut Circuit, cells: &mut Cells| {
            c.conductor = if n == 2 {
                cells.blank()
            } else {
                cells.given(Conductor {
                    size: Some(Size::Awg([14, 12][n])),
                    sets: 1,
                    ..Conductor::default()
                })
            };
        };
        let fill = Fill {
            circuit: Some(&conductor),
            ..Fill::default()
        };
        finds(&TWIN_UNITS_DIFFER, &apartments(&fill).build(), &[Verify]);
        let gauge = |n: usize, run: &mut Run, cells: &mut Cells| {
            let odd = n == 2 && run.to.get() == Some(&Name::new("FC-2"));
            run.gauge = cells.given(Size::Awg(if odd { 16 } else { 18 }));
        };
        let fill = Fill {
            run: Some(&gauge),
            ..Fill::default()
        };
        finds(&TWIN_UNITS_DIFFER, &apartments(&fill).build(), &[Verify]);
        let shield = |n: usize, run: &mut Run, cells: &mut Cells| {
            run.shielded = cells.given(n == 0);
        };
        let fill = Fill {
            run: Some(&shield),
            ..Fill::default()
        };
        // Two runs of the one apartment, and each is a cell of its own.
        finds(&TWIN_UNITS_DIFFER, &apartments(&fill).build(), &[Verify; 2]);
    }

    #[test]
    fn a_second_controller_or_a_missing_unit_is_a_difference() {
        let mut fixture = apartments(&Fill::default());
        fixture.controller("T-2", &["FC-1"], |c, cells| c.dwelling = cells.name("103"));
        finds(&TWIN_UNITS_DIFFER, &fixture.build(), &[Verify]);
        let mut fixture = apartments(&Fill::default());
        for door in ["101", "102"] {
            fixture.unit("FC-3", UnitKind::Indoor, |u, cells| {
                u.dwelling = cells.name(door);
                u.dwelling_type = cells.name("A");
            });
        }
        let schedule = fixture.build();
        finds(&TWIN_UNITS_DIFFER, &schedule, &[Verify]);
        let found = outcomes(&TWIN_UNITS_DIFFER, &schedule);
        let says = &found.iter().find_map(Outcome::finding).unwrap().says;
        assert!(says.starts_with("103 has no FC-3; 2 of the 3"), "{says}");
        let mut fixture = apartments(&Fill::default());
        fixture.unit("FC-3", UnitKind::Indoor, |u, cells| {
            u.dwelling = cells.name("101");
            u.dwelling_type = cells.name("A");
        });
        finds(&TWIN_UNITS_DIFFER, &fixture.build(), &[Verify]);
    }
}
