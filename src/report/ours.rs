//! Marks by which what we wrote is known again: never by a sheet's name
//! alone, which an author may use as well.

use crate::intake::book::{Book, Sheet};
use crate::schedule::ColIndex;
use std::collections::BTreeSet;

/// What the first cell of our sheets, the headings of our columns and our
/// notes begin with.
pub const PREFIX: &str = "ampledger: ";

/// Headings of our columns beside an author's table.
pub const FINDING: &str = "ampledger: Finding";
pub const WHAT_TO_DO: &str = "ampledger: What to do";
/// Cells of the row that the proposal changes, and the rule that asks for it.
pub const CHANGES: &str = "ampledger: Was \u{2192} proposed";
pub const ROW_REMARK: &str = "ampledger: Reviewer's remark";
/// Ids of the row's findings, linked to our list: a remark typed beside a row
/// finds its findings again after rows were moved.
pub const ROW_IDS: &str = "ampledger: In the list";

/// In place of ids beside a row that changes though nothing is found at it:
/// by what stands there the row is known as ours.
pub(super) const NO_FINDING: &str = "see Proposed";

pub const COLUMNS: [&str; 5] = [FINDING, WHAT_TO_DO, CHANGES, ROW_REMARK, ROW_IDS];

/// Rows of a sheet in which a heading of ours is looked for.
const HEADING_ROWS: usize = 2_000;

/// Whether the sheet is one that we added to a workbook.
pub fn is_our_sheet(sheet: &Sheet) -> bool {
    let mut rows = sheet.rows();
    let first = rows.next().filter(|row| row.index().0 == 0);
    first
        .and_then(|row| row.cell(ColIndex(0)))
        .is_some_and(|cell| cell.text().starts_with(PREFIX))
}

/// Columns of an author's sheet that we added to it.
pub fn our_columns(sheet: &Sheet) -> BTreeSet<u16> {
    let mut columns = BTreeSet::new();
    for row in sheet.rows().take(HEADING_ROWS) {
        for cell in row.cells().rev().take_while(|cell| cell.column().0 > 0) {
            if COLUMNS.contains(&cell.text().as_ref()) {
                columns.insert(cell.column().0);
            }
        }
    }
    columns
}

/// The column that bears this heading of ours.
pub(super) fn column_of(sheet: &Sheet, heading: &str) -> Option<ColIndex> {
    sheet.rows().take(HEADING_ROWS).find_map(|row| {
        let mut cells = row.cells();
        cells
            .find(|cell| cell.text() == heading)
            .map(|cell| cell.column())
    })
}

/// The author's part of a note: what stands before ours.
pub fn without_our_note(text: &str) -> &str {
    let ours = text
        .match_indices(PREFIX)
        .map(|(at, _)| at)
        .find(|&at| at == 0 || text.as_bytes().get(at - 1) == Some(&b'\n'));
    text.get(..ours.unwrap_or(text.len()))
        .unwrap_or(text)
        .trim_end()
}

/// The author's sheets: those that are not ours.
pub fn authors_sheets(book: &Book) -> impl Iterator<Item = &Sheet> {
    book.sheets.iter().filter(|sheet| !is_our_sheet(sheet))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_authors_note_keeps_its_own_words() {
        assert_eq!(without_our_note("check this"), "check this");
        assert_eq!(without_our_note("check\n\nampledger: FIX x"), "check");
        assert_eq!(without_our_note("ampledger: FIX x"), "");
        assert_eq!(without_our_note("as ampledger: says"), "as ampledger: says");
    }
}
