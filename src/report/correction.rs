//! What the proposal changes, told beside the author's row in which it
//! changes: *was → proposed*, cell by cell, with the rule that asks for it.

use super::words;
use crate::proposal::{Changed, Proposal, Stands};
use crate::schedule::{Address, CellId, Place, Schedule, TableKind};
use std::collections::BTreeMap;

/// A line beside one row of an author's sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Correction {
    /// A cell of the row beside which it is told.
    pub address: Address,
    /// `Breaker (F4): 60 → 50 [protection-over-mop]`.
    pub text: String,
}

/// All of a job, in the order of the cells; rows that are new are told where
/// the finding stands that asks for them.
pub fn corrections(schedule: &Schedule, proposal: &Proposal) -> Vec<Correction> {
    let mut told = Vec::new();
    let mut fresh: BTreeMap<(u32, u32), Vec<&Changed>> = BTreeMap::new();
    for changed in &proposal.changes {
        let at = changed.change.at;
        match changed.stands {
            Stands::NewRow => fresh.entry((at.table, at.row.0)).or_default().push(changed),
            _ => told.push(Correction {
                address: schedule.sources.address(at.into()),
                text: of_cell(schedule, changed),
            }),
        }
    }
    told.extend(fresh.values().filter_map(|row| new_row(schedule, row)));
    told
}

/// The text of a cell as it was and as it is proposed; a table without a
/// column for the field says so.
fn of_cell(schedule: &Schedule, changed: &Changed) -> String {
    format!(
        "{}: {} \u{2192} {} [{}]",
        what(schedule, changed),
        was(changed),
        proposed(changed),
        changed.rule
    )
}

/// `Breaker (F4)`; the field's own name where the cell holds more than it.
pub(super) fn what(schedule: &Schedule, changed: &Changed) -> String {
    let change = &changed.change;
    let cell = schedule.sources.address(change.at.into()).cell;
    let title = words::title(change.field);
    match changed.stands {
        Stands::Alone => {
            // A form's labels are no headings.
            let heading = match change.field.table() {
                TableKind::JobFacts => String::new(),
                _ => words::heading(&schedule.sources, change.at),
            };
            let name = if heading.is_empty() { title } else { heading };
            format!("{name} ({cell})")
        }
        Stands::Among => format!("{title} (in {cell})"),
        Stands::WithoutColumn | Stands::NewRow => format!("{title} (no column)"),
    }
}

pub(super) fn was(changed: &Changed) -> &str {
    match changed.change.was.as_str() {
        "" => "(empty)",
        was => was,
    }
}

pub(super) fn proposed(changed: &Changed) -> String {
    match (changed.change.proposed.as_str(), changed.measure) {
        ("", _) => "(leave out)".to_owned(),
        (proposed, true) if proposed.starts_with(|c: char| c.is_ascii_digit()) => {
            format!("at most {proposed}, measure")
        }
        (proposed, true) => format!("{proposed}, measure"),
        (proposed, false) => proposed.to_owned(),
    }
}

/// One line for a row that the schedule has not yet, where the author's own
/// row asks for it.
fn new_row(schedule: &Schedule, row: &[&Changed]) -> Option<Correction> {
    let in_theirs = |at: &CellId| schedule.sources.tables.get(at.table as usize).is_some();
    let first = row.first()?;
    let asked = row.iter().find_map(|changed| match changed.asked_at {
        Some(Place::Cell(at)) if in_theirs(&at) => Some(at),
        _ => None,
    })?;
    let cells: Vec<String> = row
        .iter()
        .map(|changed| {
            let title = words::title(changed.change.field);
            format!("{title} {}", proposed(changed))
        })
        .collect();
    Some(Correction {
        address: schedule.sources.address(asked.into()),
        text: format!(
            "New row of the {}: {} [{}]",
            first.change.field.table(),
            cells.join(", "),
            first.rule
        ),
    })
}
