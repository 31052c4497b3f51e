//! Which column of a table feeds which field.

use crate::intake::found::FoundTable;
use crate::schedule::{FieldName, TableKind};

/// Two sets of columns of one row: a wide row may carry the circuit of its
/// unit and another of the unit's heater under headings that differ in that
/// word alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Set {
    Whole = 0,
    Heater = 1,
}

/// Which column feeds which field, the surest where several do. Columns of
/// a circuit whose heading names the heater are a set of their own.
pub(super) fn plan(found: &FoundTable) -> [Vec<Option<u16>>; 2] {
    let none = || vec![None; FieldName::ALL.len()];
    let mut plan: [Vec<Option<u16>>; 2] = [none(), none()];
    for (index, column) in found.columns.iter().enumerate() {
        for &field in &column.fields {
            let set = if is_of_heater(field, &column.heading) {
                Set::Heater
            } else {
                Set::Whole
            };
            let Some(entry) = plan[set as usize].get_mut(field as usize) else {
                continue;
            };
            let surer = entry
                .and_then(|known| found.columns.get(usize::from(known)))
                .is_none_or(|known| column.score > known.score);
            if surer {
                *entry = u16::try_from(index).ok();
            }
        }
    }
    plan
}

fn is_of_heater(field: FieldName, heading: &str) -> bool {
    if field.table() != TableKind::Circuits {
        return false;
    }
    let upper = heading.to_uppercase();
    let words: Vec<&str> = upper
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .collect();
    words.iter().enumerate().any(|(at, word)| match *word {
        "HEATER" | "HTR" | "STRIP" => true,
        "HEAT" => words.get(at + 1) != Some(&"PUMP"),
        _ => false,
    })
}
