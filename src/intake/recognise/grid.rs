//! Texts of cells, with merged and carried bands spread over their columns.

use crate::intake::book::{CellRef, RowRef, Sheet, Value};
use crate::schedule::{ColIndex, RowIndex};
use std::borrow::Cow;

/// A mark at the beginning of what this program wrote itself.
pub(super) const OWN_MARK: &str = "ampledger:";

/// The text of a cell that says something: formulas that give nothing,
/// `FALSE` and blanks do not.
pub(super) fn says(cell: CellRef<'_>) -> Option<Cow<'_, str>> {
    match cell.value() {
        Value::Bool(false) | Value::FormulaWithoutValue => None,
        Value::Text(text) if text.trim().is_empty() => None,
        _ => Some(cell.text()),
    }
}

/// Cells of a row that say something, with their columns.
pub(super) fn said<'a>(row: &RowRef<'a>) -> impl Iterator<Item = (ColIndex, Cow<'a, str>)> {
    row.cells()
        .filter_map(|cell| says(cell).map(|text| (cell.column(), text)))
}

pub(super) fn text_at(sheet: &Sheet, row: RowIndex, column: ColIndex) -> Option<Cow<'_, str>> {
    says(sheet.cell(row, column)?)
}

pub(super) fn is_own(text: &str) -> bool {
    let start = text.trim_start().get(..OWN_MARK.len());
    start.is_some_and(|s| s.eq_ignore_ascii_case(OWN_MARK))
}

/// The texts over one column, from the rows of a heading, top first.
#[derive(Clone, Debug)]
pub(super) struct Stack {
    pub column: ColIndex,
    pub texts: Vec<String>,
}

/// Reads the rows from `first` to `last` as one heading. Columns without a
/// text of their own are left out; those from the first of our own headings
/// on are cut off, and its column is given.
pub(super) fn stacks(
    sheet: &Sheet,
    first: RowIndex,
    last: RowIndex,
) -> (Vec<Stack>, Option<ColIndex>) {
    let rows: Vec<Vec<(ColIndex, String, bool)>> = (first.0..=last.0)
        .map(|row| level(sheet, RowIndex(row), last))
        .collect();
    let mut columns: Vec<ColIndex> = rows.iter().flatten().map(|(column, ..)| *column).collect();
    columns.sort_unstable();
    columns.dedup();
    let mut stacks = Vec::with_capacity(columns.len());
    // The band that is carried to the right, by row.
    let mut carried: Vec<Option<String>> = vec![None; rows.len()];
    let mut before: Option<ColIndex> = None;
    for column in columns {
        // A band ends where a column is wholly empty.
        if before.is_some_and(|before| column.0 > before.0 + 1) {
            carried.fill(None);
        }
        before = Some(column);
        let own: Vec<Option<&(ColIndex, String, bool)>> = rows
            .iter()
            .map(|row| row.iter().find(|(at, ..)| *at == column))
            .collect();
        if own.iter().flatten().any(|(_, text, _)| is_own(text)) {
            return (stacks, Some(column));
        }
        let mut texts = Vec::with_capacity(rows.len());
        for (depth, cell) in own.iter().enumerate() {
            let below = own.iter().skip(depth + 1).any(Option::is_some);
            let slot = carried.get_mut(depth);
            match (cell, slot) {
                (Some((_, text, spread)), Some(slot)) => {
                    *slot = (below && !spread).then(|| text.clone());
                    texts.push(text.clone());
                }
                (None, Some(Some(band))) if below => texts.push(band.clone()),
                (None, Some(slot)) => *slot = None,
                _ => {}
            }
        }
        stacks.push(Stack { column, texts });
    }
    (stacks, None)
}

/// Texts of one row of a heading: its cells, and what a merged range spreads
/// over them. In the last row a range names its first column alone.
fn level(sheet: &Sheet, row: RowIndex, last: RowIndex) -> Vec<(ColIndex, String, bool)> {
    let mut out: Vec<(ColIndex, String, bool)> = Vec::new();
    if let Some(cells) = sheet.row(row) {
        for (column, text) in said(&cells) {
            let merge = sheet.covering_merge(row, column);
            let wide = merge.filter(|m| m.last.1 > m.first.1 && m.last.0 < last);
            match wide {
                Some(merge) if merge.first == (row, column) => {
                    let end = merge.last.1.0.min(column.0.saturating_add(200));
                    for at in column.0..=end {
                        out.push((ColIndex(at), text.clone().into_owned(), true));
                    }
                }
                _ => out.push((column, text.into_owned(), merge.is_some())),
            }
        }
    }
    out
}
