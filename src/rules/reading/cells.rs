//! Cells of known columns that could not be read, or only with a guess.

use super::{Rows, met_elsewhere};
use crate::findings::{Change, Finding, Outcome, Severity, Subject};
use crate::practice::Practice;
use crate::rules::{Cite, Family, Rule};
use crate::schedule::{Fault, Place, Schedule};

/// Characters of a cell's text that a message shows.
const SHOWN: usize = 60;

fn shown(text: &str) -> String {
    let mut shown: String = text.chars().take(SHOWN).collect();
    if shown.len() < text.len() {
        shown.push('…');
    }
    shown
}

pub(super) static UNREADABLE_VALUE: Rule = Rule {
    name: "unreadable-value",
    family: Family::Reading,
    severities: &[Severity::Verify],
    summary: "a cell of a known column holds text that cannot be understood",
    why: "A value that is not understood is a value that is not audited. It is never replaced \
          by a default.",
    decides: "Each cell of a recognised column whose text fits none of the notations of its \
              field; words for nothing, for 'to be determined' and for 'by others' are \
              understood.",
    leaves: "Columns that are not recognised; text beside a value that was read.",
    cites: &[Cite::Schedule],
    yields_to: &[],
    check: unreadable_value,
};

fn unreadable_value(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let rows = Rows::of(schedule);
    let found = schedule.faults.iter().filter_map(|fault| match fault {
        Fault::Unreadable {
            at,
            field,
            expected,
            guess,
        } => {
            let text = schedule.sources.text(*at);
            let column = match schedule.sources.heading(*at) {
                "" => String::new(),
                heading => format!(" under “{}”", shown(heading)),
            };
            let says = format!(
                "“{}”{column} cannot be read as {field}; expected: {expected}.",
                shown(text)
            );
            let remedy = match guess {
                Some(guess) => {
                    format!("Correct the cell to read: {expected}; perhaps “{guess}” is meant.")
                }
                None => format!("Correct the cell to read: {expected}."),
            };
            let mut finding = Finding::verify(says, shown(text), remedy)
                .field(*field)
                .limit(*expected, "");
            if let Some(guess) = guess {
                finding = finding.change(Change {
                    at: *at,
                    field: *field,
                    was: text.to_owned(),
                    proposed: guess.clone(),
                });
            }
            Some(Outcome::broken(rows.subject(*at, *field), *at, finding))
        }
        Fault::Other { at, says } => {
            let subject = match at {
                Place::Cell(cell) => Subject::Cell(*cell),
                Place::Table(table) => Subject::Table(*table),
                Place::File(_) | Place::Job => Subject::Job,
            };
            let remedy = "Correct the file at this place, and audit it again.";
            let finding = Finding::verify(says.clone(), "not readable", remedy);
            Some(Outcome::broken(subject, *at, finding))
        }
        _ => None,
    });
    let found = found.collect();
    met_elsewhere(schedule, found)
}

pub(super) static DATE_FOR_WIRE: Rule = Rule {
    name: "date-for-wire",
    family: Family::Reading,
    severities: &[Severity::Verify],
    summary: "a spreadsheet turned a wire or breaker notation into a date",
    why: "A spreadsheet takes 10/2 for the second of October. What was typed is gone from the \
          cell, and the next reader orders by what is left.",
    decides: "A date in a column of wires, breakers or the like. What may have been typed is \
              proposed, the likelier reading first; it is taken only where the row's other \
              values leave one.",
    leaves: "Dates in columns of dates.",
    cites: &[Cite::Schedule],
    yields_to: &[],
    check: date_for_wire,
};

fn date_for_wire(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let rows = Rows::of(schedule);
    let found = schedule.faults.iter().filter_map(|fault| {
        let Fault::DateForWire {
            at,
            field,
            shown,
            readings,
            taken,
        } = fault
        else {
            return None;
        };
        let likely = taken.as_ref().or(readings.first());
        let quoted: Vec<String> = readings.iter().map(|text| format!("“{text}”")).collect();
        let mut says = format!("The cell of {field} holds the date {shown}");
        if !quoted.is_empty() {
            says.push_str(&format!("; {} may have been typed", quoted.join(" or ")));
        }
        says.push_str(&match taken {
            Some(taken) => format!(". The row's other values leave “{taken}”, which was taken."),
            None => ". It was not read.".to_owned(),
        });
        let remedy = match likely {
            Some(text) => format!("Format the cell of {field} as text and type “{text}” again."),
            None => format!("Format the cell of {field} as text and type its value again."),
        };
        let mut finding = Finding::verify(says, shown.as_str(), remedy)
            .field(*field)
            .limit("a notation of wire or breaker", "");
        if let Some(text) = likely {
            finding = finding.change(Change {
                at: *at,
                field: *field,
                was: shown.clone(),
                proposed: text.clone(),
            });
        }
        Some(Outcome::broken(rows.subject(*at, *field), *at, finding))
    });
    let found = found.collect();
    met_elsewhere(schedule, found)
}

pub(super) static UNIT_OF_MEASURE_ASSUMED: Rule = Rule {
    name: "unit-of-measure-assumed",
    family: Family::Reading,
    severities: &[Severity::Note],
    summary: "lengths without a unit of measure",
    why: "Metres taken for feet make every budget of wire wrong by a factor of three.",
    decides: "A column of lengths whose heading, cells and neighbours name no unit, once a \
              column; the unit that was taken is said.",
    leaves: "Columns in which any cell or the heading names the unit.",
    cites: &[Cite::Schedule],
    yields_to: &[],
    check: unit_of_measure_assumed,
};

fn unit_of_measure_assumed(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let found = schedule.faults.iter().filter_map(|fault| {
        let Fault::UnitAssumed {
            first,
            field,
            assumed,
            cells,
        } = fault
        else {
            return None;
        };
        let heading = schedule.sources.heading(*first);
        let says = format!(
            "The column “{heading}” ({field}) names no unit of measure; its {} taken as \
             {assumed}.",
            match cells {
                1 => "one value was".to_owned(),
                many => format!("{many} values were"),
            }
        );
        let remedy =
            format!("Write the unit into the heading “{heading}”, as in “{heading} (ft)”.");
        let finding = Finding::note(says, *assumed, remedy).field(*field);
        let subject = Subject::Table(first.table);
        Some(Outcome::broken(subject, *first, finding))
    });
    let found = found.collect();
    met_elsewhere(schedule, found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::Value;
    use crate::rules::testing::{finds, meets, outcomes};
    use crate::schedule::fixture::Fixture;
    use crate::schedule::{CellId, FieldName, UnitId, UnitKind};
    use Severity::{Note, Verify};

    fn with(fault: impl FnOnce(CellId) -> Fault) -> Schedule {
        let mut fixture = Fixture::new();
        fixture.unit("OU-1", UnitKind::Outdoor, |_, _| {});
        let at = fixture.draft.units[0].tag.at;
        fixture.draft.sources.keep_text(at, "3O A");
        fixture.draft.faults.push(fault(at));
        fixture.build()
    }

    #[test]
    fn an_unreadable_cell_is_shown_with_what_was_expected() {
        let schedule = with(|at| Fault::Unreadable {
            at,
            field: FieldName::UnitMop,
            expected: "amperes, as in 30",
            guess: Some("30 A".into()),
        });
        finds(&UNREADABLE_VALUE, &schedule, &[Verify]);
        let found = outcomes(&UNREADABLE_VALUE, &schedule);
        let outcome = found.last().unwrap();
        assert_eq!(outcome.subject, Subject::Unit(UnitId(0)));
        let finding = outcome.finding().unwrap();
        assert!(finding.says.contains("“3O A”") && finding.says.contains("as in 30"));
        assert_eq!(finding.changes[0].proposed, "30 A");
        finds(&DATE_FOR_WIRE, &schedule, &[]);
        let other = with(|at| Fault::Other {
            at: at.into(),
            says: "The formula has no value.".into(),
        });
        finds(&UNREADABLE_VALUE, &other, &[Verify]);
    }

    #[test]
    fn a_date_is_given_back_as_what_was_typed() {
        for taken in [None, Some("10/2".to_owned())] {
            let schedule = with(|at| Fault::DateForWire {
                at,
                field: FieldName::CircuitConductor,
                shown: "2-Oct".into(),
                readings: vec!["10/2".into(), "2/10".into()],
                taken: taken.clone(),
            });
            finds(&DATE_FOR_WIRE, &schedule, &[Verify]);
            let found = outcomes(&DATE_FOR_WIRE, &schedule);
            let finding = found.last().unwrap().finding().unwrap();
            assert_eq!(finding.changes[0].proposed, "10/2");
            assert_eq!(finding.found, Value::Text("2-Oct".into()));
            assert_eq!(finding.says.contains("not read"), taken.is_none());
        }
    }

    #[test]
    fn an_assumed_unit_is_a_note_once_a_column() {
        let schedule = with(|at| Fault::UnitAssumed {
            first: at,
            field: FieldName::RunLength,
            assumed: "feet",
            cells: 12,
        });
        finds(&UNIT_OF_MEASURE_ASSUMED, &schedule, &[Note]);
    }

    #[test]
    fn a_schedule_without_faults_meets_them_all() {
        let mut fixture = Fixture::new();
        fixture.unit("OU-1", UnitKind::Outdoor, |_, _| {});
        let schedule = fixture.build();
        meets(&UNREADABLE_VALUE, &schedule);
        meets(&DATE_FOR_WIRE, &schedule);
        meets(&UNIT_OF_MEASURE_ASSUMED, &schedule);
    }
}
