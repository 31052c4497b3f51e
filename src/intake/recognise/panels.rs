//! Circuits named `A-5` are slots of a panel where the book has a panel A.

use super::grid::text_at;
use crate::intake::book::{Book, Sheet};
use crate::intake::found::FoundTable;
use crate::intake::notation::{Context, Reading, panel_slots};
use crate::schedule::{ColIndex, FieldName, Name, RowIndex};

/// Values of a column that are looked at.
const SAMPLE: usize = 50;

/// Takes a column of circuits' names as panel and slots where the names begin
/// with panels that the same book schedules.
pub(super) fn tell_slots_from_names(book: &Book, tables: &mut [FoundTable]) {
    let panels = known(book, tables);
    if panels.is_empty() {
        return;
    }
    for table in tables {
        let Some(sheet) = book.sheet(table.sheet) else {
            continue;
        };
        let fed = |field| table.column_of(field).is_some();
        if fed(FieldName::CircuitPanel) || fed(FieldName::CircuitPanelSlots) {
            continue;
        }
        let Some(column) = table.column_of(FieldName::CircuitName).map(|c| c.column) else {
            continue;
        };
        if names_slots(sheet, table, column, &panels)
            && let Some(found) = table.columns.iter_mut().find(|c| c.column == column)
        {
            found.fields = vec![FieldName::CircuitPanelSlots];
        }
    }
}

/// Names of panels: their own rows, forms, titles, and columns of circuits.
fn known(book: &Book, tables: &[FoundTable]) -> Vec<Name> {
    let mut panels = Vec::new();
    for table in tables {
        let Some(sheet) = book.sheet(table.sheet) else {
            continue;
        };
        panels.extend(table.panel.iter().map(|(name, _)| Name::new(name)));
        for entry in table
            .form
            .iter()
            .filter(|e| e.field == FieldName::PanelName)
        {
            let text = text_at(sheet, entry.value.0, entry.value.1);
            panels.extend(text.map(|text| Name::new(entry.value_in(&text))));
        }
        for field in [FieldName::PanelName, FieldName::CircuitPanel] {
            let Some(column) = table.column_of(field) else {
                continue;
            };
            let texts = texts(sheet, &table.rows, column.column);
            panels.extend(texts.map(|text| Name::new(&text)));
        }
    }
    panels.sort_by(|a, b| a.key().cmp(b.key()));
    panels.dedup_by(|a, b| a.key() == b.key());
    panels
}

fn texts(sheet: &Sheet, rows: &[RowIndex], column: ColIndex) -> impl Iterator<Item = String> {
    let rows = rows.iter().take(SAMPLE);
    rows.filter_map(move |row| text_at(sheet, *row, column).map(|text| text.into_owned()))
}

fn names_slots(sheet: &Sheet, table: &FoundTable, column: ColIndex, panels: &[Name]) -> bool {
    let mut hits = 0;
    let mut all = 0;
    for text in texts(sheet, &table.rows, column) {
        all += 1;
        if let Reading::Value(read) = panel_slots(&text, panels, &Context::default()) {
            let scheduled = panels.iter().any(|panel| panel.key() == read.panel.key());
            hits += usize::from(scheduled && !read.slots.is_empty());
        }
    }
    all > 0 && hits * 10 >= all * 7
}
