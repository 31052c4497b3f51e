//! Tables that are missing, lack a column, or have columns that are not
//! known; units whose kind is not told.

use super::met_elsewhere;
use crate::findings::{Finding, Outcome, Severity, Subject, Value, Want};
use crate::practice::Practice;
use crate::rules::wording::{count, counted, list};
use crate::rules::{Cite, Family, Rule};
use crate::schedule::{CellId, Fault, Field, FieldName, Place, Schedule, TableKind, UnitId};
use std::collections::BTreeMap;

/// Headings in one message before it says how many more.
const SHOWN: usize = 12;

pub(super) static REQUIRED_COLUMN_MISSING: Rule = Rule {
    name: "required-column-missing",
    family: Family::Reading,
    severities: &[Severity::Verify],
    summary: "a table lacks the columns that tell its rows apart",
    why: "Without its identity (a tag, a run's two ends, a panel and its slots) a row cannot be \
          joined with the rest of the job, and nothing of it is audited.",
    decides: "A table that its other headings make known, and that has none of the columns that \
              identify its rows.",
    leaves: "Columns that a rule would like to have and that identify nothing.",
    cites: &[Cite::Schedule],
    yields_to: &[],
    check: required_column_missing,
};

fn required_column_missing(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let found = schedule.faults.iter().filter_map(|fault| {
        let Fault::ColumnMissing { table, fields } = fault else {
            return None;
        };
        let kind = schedule.sources.tables.get(*table as usize)?.kind;
        let names = list(fields.iter().map(|field| field.name().to_owned()), SHOWN);
        let says = format!(
            "This table of {kind} has no column for {names}; not audited for want of it: {}.",
            not_audited(kind)
        );
        let remedy = format!("Add the column {names} to the table of {kind}.");
        let mut finding = Finding::verify(says, "no such column", remedy).limit(names, "");
        finding.field = fields.first().copied();
        let subject = Subject::Table(*table);
        Some(Outcome::broken(subject, Place::Table(*table), finding))
    });
    let found = found.collect();
    met_elsewhere(schedule, found)
}

/// What falls away where a table cannot be used.
fn not_audited(kind: TableKind) -> &'static str {
    match kind {
        TableKind::Equipment => {
            "everything that stands on nameplates, and the systems, circuits and runs of the units"
        }
        TableKind::Circuits => {
            "supply of each unit, overcurrent protection, conductors, shared circuits"
        }
        TableKind::Panels => "voltage and phases of the panels, and their load",
        TableKind::WireRuns => {
            "the communication bus of each system, its length and shield, and the controllers' wire"
        }
        TableKind::Controllers => "whether each indoor unit has a controller",
        TableKind::JobFacts => "what depends on the kind of job, its code edition and its dates",
    }
}

pub(super) static HEADING_NOT_RECOGNISED: Rule = Rule {
    name: "heading-not-recognised",
    family: Family::Reading,
    severities: &[Severity::Note],
    summary: "columns with a heading that is not known",
    why: "A column that is not recognised is not audited, and nobody would know.",
    decides: "Headings of a recognised table that fit no known heading well enough, once a \
              table, each with the nearest known one where there is one.",
    leaves: "Tables that are not recognised at all; columns without a heading.",
    cites: &[Cite::Schedule],
    yields_to: &[],
    check: heading_not_recognised,
};

fn heading_not_recognised(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let found = schedule.faults.iter().filter_map(|fault| {
        let Fault::HeadingNotRecognised { table, headings } = fault else {
            return None;
        };
        let source = schedule.sources.tables.get(*table as usize)?;
        let first = headings.first()?;
        let names = list(
            headings.iter().map(|(column, heading, nearest)| {
                let near = nearest
                    .as_ref()
                    .map_or(String::new(), |near| format!(" (nearest known: {near})"));
                format!("{column} “{heading}”{near}")
            }),
            SHOWN,
        );
        let says = format!(
            "{} of this table of {} {} not recognised and not audited: {names}.",
            match headings.len() {
                1 => "1 column".to_owned(),
                many => format!("{many} columns"),
            },
            source.kind,
            if headings.len() == 1 { "is" } else { "are" }
        );
        let remedy = "Rename a column that should be audited; leave the others as they are.";
        let found = counted(headings.len(), "column", "columns");
        let at = CellId {
            table: *table,
            row: source.header.1,
            column: first.0,
        };
        let related = headings[1..].iter().map(|(column, ..)| CellId {
            column: *column,
            ..at
        });
        let finding = Finding::note(says, found, remedy);
        Some(Outcome::broken(Subject::Table(*table), at, finding).related_all(related))
    });
    let found = found.collect();
    met_elsewhere(schedule, found)
}

pub(super) static KIND_UNKNOWN: Rule = Rule {
    name: "kind-unknown",
    family: Family::Reading,
    severities: &[Severity::Verify],
    summary: "a row of the equipment whose kind is not told",
    why: "Whether a unit is an outdoor unit, an indoor unit or something else decides which \
          rules hold for it; a guess would be wrong in silence.",
    decides: "A unit whose kind neither a column, nor its tag, nor its description tells. Where \
              no unit of a table tells, that is one question for the table.",
    leaves: "Other equipment, which is not audited.",
    cites: &[Cite::Schedule],
    yields_to: &[],
    check: kind_unknown,
};

fn kind_unknown(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let mut by_table: BTreeMap<u32, Vec<UnitId>> = BTreeMap::new();
    for (id, unit) in schedule.audited_units() {
        by_table.entry(unit.tag.at.table).or_default().push(id);
    }
    let told = |id: &UnitId| {
        let kind = &schedule.unit(*id).kind;
        kind.is_given() || kind.is_elsewhere()
    };
    let mut outcomes = Vec::new();
    for (table, units) in by_table {
        if units.len() > 1 && !units.iter().any(told) {
            outcomes.push(kinds_of_table(schedule, table, &units));
            continue;
        }
        outcomes.extend(units.iter().map(|id| {
            let unit = schedule.unit(*id);
            let subject = Subject::Unit(*id);
            if told(id) {
                return Outcome::met(subject, unit.tag.at);
            }
            if let Field::Unreadable(at) = unit.kind {
                let wants = vec![Want::WaitsFor("unreadable-value")];
                return Outcome::not_checked(subject, at, wants);
            }
            let label = schedule.unit_label(*id);
            let finding = Finding::verify(
                format!(
                    "Neither a column, nor the tag, nor a description tells what {label} is; it \
                     is not audited."
                ),
                label.as_str(),
                format!("Say whether {label} is an outdoor unit, an indoor unit, or what else."),
            )
            .field(FieldName::UnitKind);
            let at = schedule.anchor(&unit.kind, unit.tag.at);
            Outcome::broken(subject, at, finding)
        }));
    }
    if outcomes.is_empty() {
        let wants = vec![Want::Table(TableKind::Equipment)];
        outcomes.push(Outcome::not_checked(Subject::Job, Place::Job, wants));
    }
    outcomes
}

fn kinds_of_table(schedule: &Schedule, table: u32, units: &[UnitId]) -> Outcome {
    let names = list(units.iter().map(|id| schedule.unit_label(*id)), SHOWN);
    let says = format!(
        "Nothing tells what the {} of this table are ({names}); they are not audited.",
        count(units.len(), "unit", "units")
    );
    let remedy = "Add a column that says of each unit whether it is outdoor, indoor, an air \
                  handler, a branch box or what else.";
    let found = counted(units.len(), "unit", "units");
    let finding = Finding::verify(says, found, remedy).field(FieldName::UnitKind);
    Outcome::broken(Subject::Table(table), Place::Table(table), finding)
}

pub(super) static TABLE_MISSING: Rule = Rule {
    name: "table-missing",
    family: Family::Reading,
    severities: &[Severity::Verify],
    summary: "the job has no schedule of circuits, of wire runs or of controllers",
    why: "What is not scheduled is not audited: a job with no finding and no circuits has not \
          been checked for its circuits.",
    decides: "Whether the job has rows of each kind, in a table of their own or in wide rows. \
              Controllers that only the runs name count. A job without a row of any kind is one \
              question.",
    leaves: "Panels and job facts: rules that want them say so.",
    cites: &[Cite::Schedule],
    yields_to: &[],
    check: table_missing,
};

fn table_missing(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let kinds = [
        (
            TableKind::Equipment,
            schedule.units.is_empty(),
            FieldName::UnitTag,
        ),
        (
            TableKind::Circuits,
            schedule.circuits.is_empty(),
            FieldName::CircuitLoads,
        ),
        (
            TableKind::WireRuns,
            schedule.runs.is_empty(),
            FieldName::RunFrom,
        ),
        (
            TableKind::Controllers,
            schedule.controllers.is_empty(),
            FieldName::ControllerTag,
        ),
    ];
    if kinds.iter().all(|(_, empty, _)| *empty) {
        return nothing_filled_in(schedule);
    }
    kinds
        .into_iter()
        .map(|(kind, empty, field)| {
            if !empty {
                return Outcome::met(Subject::Job, Place::Job);
            }
            let table = schedule
                .sources
                .tables
                .iter()
                .position(|table| table.kind == kind && table.kinds.contains(&kind));
            let there = if table.is_some() {
                format!("The table of {kind} has no rows")
            } else {
                format!("The job has no table of {kind}")
            };
            let says = format!("{there}; not audited: {}.", not_audited(kind));
            let remedy = format!("Submit the schedule of {kind}, or say where it is.");
            let finding = Finding::verify(says, Value::Count(0, "rows"), remedy).field(field);
            let at = table.map_or(Place::Job, |table| Place::Table(table as u32));
            Outcome::broken(Subject::Job, at, finding)
        })
        .collect()
}

/// A form as it was sent out is one question, not one a table.
fn nothing_filled_in(schedule: &Schedule) -> Vec<Outcome> {
    const KINDS: [TableKind; 4] = [
        TableKind::Equipment,
        TableKind::Circuits,
        TableKind::WireRuns,
        TableKind::Controllers,
    ];
    let tables = &schedule.sources.tables;
    let first = tables.iter().position(|table| KINDS.contains(&table.kind));
    let says = match first {
        Some(_) => "Nothing is filled in yet: no table has a row. Nothing was audited.",
        None => {
            "The job has no table of equipment, circuits, wire runs or controllers. Nothing was \
             audited."
        }
    };
    let remedy = match first {
        Some(_) => "Fill in the schedule, and audit it again.",
        None => "Submit the schedules of the job, or say where they are.",
    };
    let finding = Finding::verify(says, Value::Count(0, "rows"), remedy).field(FieldName::UnitTag);
    let at = first.map_or(Place::Job, |table| Place::Table(table as u32));
    let mut outcomes = vec![Outcome::broken(Subject::Job, at, finding)];
    outcomes.extend(KINDS.iter().skip(1).map(|kind| {
        let wants = vec![Want::Table(*kind)];
        Outcome::not_checked(Subject::Job, Place::Job, wants)
    }));
    outcomes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::testing::{finds, meets, outcomes};
    use crate::schedule::ColIndex;
    use crate::schedule::fixture::Fixture;
    use crate::schedule::wire::RunPurpose;
    use crate::schedule::{Load, Part, UnitKind};
    use Severity::{Note, Verify};

    #[test]
    fn a_table_without_identity_says_what_did_not_run() {
        let mut fixture = Fixture::new();
        fixture.run("OU-1", "FC-1", |_, _| {});
        meets(&REQUIRED_COLUMN_MISSING, &fixture.build());
        let mut fixture = Fixture::new();
        fixture.run("OU-1", "FC-1", |_, _| {});
        fixture.draft.faults.push(Fault::ColumnMissing {
            table: 3,
            fields: vec![FieldName::RunFrom, FieldName::RunTo],
        });
        let schedule = fixture.build();
        finds(&REQUIRED_COLUMN_MISSING, &schedule, &[Verify]);
        let found = outcomes(&REQUIRED_COLUMN_MISSING, &schedule);
        let says = &found.last().unwrap().finding().unwrap().says;
        assert!(says.contains("run.from, run.to") && says.contains("communication bus"));
    }

    #[test]
    fn unknown_headings_are_one_note_a_table() {
        let mut fixture = Fixture::new();
        fixture.unit("OU-1", UnitKind::Outdoor, |_, _| {});
        fixture.draft.faults.push(Fault::HeadingNotRecognised {
            table: 0,
            headings: vec![
                (ColIndex(3), "Vib. Isol.".into(), None),
                (ColIndex(4), "MCAA".into(), Some("MCA".into())),
            ],
        });
        let schedule = fixture.build();
        finds(&HEADING_NOT_RECOGNISED, &schedule, &[Note]);
        let found = outcomes(&HEADING_NOT_RECOGNISED, &schedule);
        let outcome = found.last().unwrap();
        assert!(
            outcome
                .finding()
                .unwrap()
                .says
                .contains("nearest known: MCA")
        );
        assert_eq!(schedule.sources.address(outcome.at).cell, "D1");
    }

    #[test]
    fn a_kind_is_asked_for_each_unit_or_once_for_all() {
        let of = |kinds: &[Option<UnitKind>]| {
            let mut fixture = Fixture::new();
            for (n, kind) in kinds.iter().enumerate() {
                fixture.unit(&format!("X-{n}"), UnitKind::Other, |u, cells| {
                    u.kind = match kind {
                        Some(kind) => cells.given(*kind),
                        None => cells.blank(),
                    };
                });
            }
            fixture.build()
        };
        use UnitKind::{Indoor, Other};
        meets(&KIND_UNKNOWN, &of(&[Some(Indoor), Some(Other)]));
        finds(
            &KIND_UNKNOWN,
            &of(&[Some(Indoor), None, None]),
            &[Verify; 2],
        );
        finds(&KIND_UNKNOWN, &of(&[None]), &[Verify]);
        finds(&KIND_UNKNOWN, &of(&[None, None, None]), &[Verify]);
    }

    #[test]
    fn each_missing_table_is_one_finding_of_the_job() {
        let mut fixture = Fixture::new();
        fixture.unit("FC-1", UnitKind::Indoor, |_, _| {});
        finds(&TABLE_MISSING, &fixture.build(), &[Verify; 3]);
        // Circuits in the equipment's rows, and controllers that only the
        // runs name, are there.
        let mut fixture = Fixture::new();
        fixture
            .unit("FC-1", UnitKind::Indoor, |_, _| {})
            .run("T-1", "FC-1", |run, cells| {
                run.purpose = cells.given(RunPurpose::Controller);
            });
        let at = fixture.draft.units[0].tag.at;
        let mut circuit = crate::schedule::Circuit::new(at);
        circuit.loads = vec![Load::new("FC-1", Part::Whole, at)];
        fixture.draft.circuits.push(circuit);
        meets(&TABLE_MISSING, &fixture.build());
    }

    #[test]
    fn a_form_that_nobody_filled_in_is_one_question() {
        let empty = Fixture::new().build();
        finds(&TABLE_MISSING, &empty, &[Verify]);
        let all = outcomes(&TABLE_MISSING, &empty);
        let says = &all[0].finding().unwrap().says;
        assert!(says.starts_with("Nothing is filled in yet"), "{says}");
    }
}
