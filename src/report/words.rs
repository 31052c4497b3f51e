//! Fields in the words that people know them by: the heading of the schedule
//! at hand, else that of our own form.

use crate::intake::schema::Schemas;
use crate::schedule::{CellId, FieldName, Schedule, Sources};

/// The title of a field in our schemas: `Grounding conductor`.
pub(super) fn title(field: FieldName) -> String {
    let known = Schemas::embedded().field(field);
    known.map_or_else(|| field.name().to_owned(), |schema| schema.title.clone())
}

/// The heading that stands above a cell, as written; empty where none does.
pub(super) fn heading(sources: &Sources, at: CellId) -> String {
    let words: Vec<&str> = sources.heading(at).split_whitespace().collect();
    words.join(" ")
}

/// A field as the job's schedules head it, else by its title, and the table
/// that it belongs to: `MOCP (equipment)`.
pub(super) fn in_schedule(schedule: &Schedule, field: FieldName) -> String {
    let tables = schedule.sources.tables.iter();
    let mut columns = tables.flat_map(|table| &table.columns);
    let own = columns.find(|column| column.fields.contains(&field) && !column.heading.is_empty());
    let words = match own {
        Some(column) => {
            let words: Vec<&str> = column.heading.split_whitespace().collect();
            words.join(" ")
        }
        None => title(field),
    };
    format!("{words} ({})", field.table())
}
