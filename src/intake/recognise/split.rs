//! Tables that stand beside each other under one row of headings.

use super::columns::Column;
use super::heading::Candidate;
use crate::intake::schema::Schemas;
use crate::schedule::{FieldName, TableKind};

/// The most tables beside each other.
const MOST: usize = 8;

/// Where the columns repeat themselves (a panel schedule with odd slots on
/// the left and even ones on the right, mirrored or not), they are cut.
pub(super) fn repeats(columns: &[Column], schemas: &Schemas) -> Vec<std::ops::Range<usize>> {
    let mut parts = Vec::new();
    let mut first = 0;
    while parts.len() + 1 < MOST {
        let rest = columns.get(first..).unwrap_or(&[]);
        match cut(rest, schemas) {
            Some(at) => {
                parts.push(first..first + at);
                first += at;
            }
            None => break,
        }
    }
    parts.push(first..columns.len());
    parts
}

/// The columns of a part. A dwelling or a system that the first part names is
/// that of the parts beside it too: `Apt` before the outdoor and the indoor
/// unit.
pub(super) fn with_shared(columns: &[Column], range: std::ops::Range<usize>) -> Vec<Column> {
    let part = columns.get(range.clone()).unwrap_or(&[]);
    let names = |column: &Column| {
        let sure = column.heading.candidates.first().filter(|c| !c.weak)?;
        is_shared(sure.field).then_some(sure.field)
    };
    let own: Vec<FieldName> = part.iter().filter_map(names).collect();
    let before = columns.get(..range.start).unwrap_or(&[]).iter();
    let leading = before.take_while(|column| {
        let first = column.heading.candidates.first();
        !first.is_some_and(|c| names_a_row(c.field) && !c.weak)
    });
    let shared = leading.filter(|column| names(column).is_some_and(|f| !own.contains(&f)));
    shared.chain(part).cloned().collect()
}

/// Holds for all that stands in its row.
pub(super) fn is_shared(field: FieldName) -> bool {
    super::roles::is_dwelling(field)
        || matches!(field, FieldName::UnitSystem | FieldName::RunSystem)
}

/// The meaning by which columns are compared: the surest field, else the
/// words of the heading.
fn meaning(column: &Column, schemas: &Schemas) -> (Option<FieldName>, String) {
    let sure = column
        .heading
        .candidates
        .first()
        .filter(|c: &&Candidate| !c.weak);
    match sure {
        Some(candidate) => (Some(candidate.field), String::new()),
        None => (None, schemas.key(&column.heading.text())),
    }
}

fn cut(columns: &[Column], schemas: &Schemas) -> Option<usize> {
    let meanings: Vec<_> = columns.iter().map(|c| meaning(c, schemas)).collect();
    // The last of the first occurrences, and the first of the second ones.
    let (mut low, mut high) = (0, usize::MAX);
    let mut twice = 0;
    let mut names_rows = false;
    for (at, this) in meanings.iter().enumerate() {
        let empty = this.0.is_none() && this.1.is_empty();
        let many = this
            .0
            .is_some_and(|f| schemas.field(f).is_some_and(|s| s.many));
        if empty
            || many
            || meanings
                .get(..at)
                .is_some_and(|before| before.contains(this))
        {
            continue;
        }
        let again = meanings.iter().skip(at + 1).position(|other| other == this);
        if let Some(again) = again {
            low = low.max(at);
            high = high.min(at + 1 + again);
            twice += 1;
            names_rows |= this.0.is_some_and(names_a_row);
        }
    }
    (twice >= 2 && names_rows && low < high).then_some(low + 1)
}

fn names_a_row(field: FieldName) -> bool {
    use FieldName::*;
    matches!(
        field,
        UnitTag
            | CircuitSlots
            | CircuitPanelSlots
            | CircuitName
            | RunFrom
            | ControllerTag
            | PanelName
    )
}

/// Whether columns that were understood alone are a table of their own: they
/// name what their rows are about.
pub(super) fn stands_alone(kind: TableKind, fields: &[FieldName]) -> bool {
    use FieldName::*;
    let has = |field| fields.contains(&field);
    match kind {
        TableKind::Equipment => has(UnitTag),
        TableKind::Circuits => {
            (has(CircuitSlots) || has(CircuitPanelSlots) || has(CircuitName)) && has(CircuitLoads)
        }
        TableKind::Panels => has(PanelName),
        TableKind::WireRuns => has(RunFrom) && has(RunTo),
        TableKind::Controllers => {
            has(ControllerTag) && (has(ControllerUnits) || has(ControllerRoom))
        }
        TableKind::JobFacts => false,
    }
}
