//! The user's own price list, read as any table is: whatever its format,
//! encoding and delimiter.

use crate::intake::book::{Book, Limits, Sheet};
use crate::takeoff::{PriceFault, Prices};
use std::path::Path;

/// Reads the first sheet that has the headings.
///
/// # Errors
/// A sentence with the line: the file cannot be read, has no such table, or
/// a line of it cannot be meant.
pub fn read_prices(path: &Path) -> Result<Prices, String> {
    let shown = path.display();
    let book = Book::open(path, &Limits::default())
        .map_err(|error| format!("{shown} cannot be read: {error}"))?;
    let mut first: Option<PriceFault> = None;
    for sheet in &book.sheets {
        match Prices::of_rows(&rows(sheet)) {
            Ok(prices) => return Ok(prices),
            Err(fault) => _ = first.get_or_insert(fault),
        }
    }
    Err(match first {
        Some(fault) => format!("{shown}, {fault}"),
        None => format!("{shown}: no table in it"),
    })
}

fn rows(sheet: &Sheet) -> Vec<(u64, Vec<String>)> {
    let row = |row: crate::intake::book::RowRef<'_>| {
        let mut cells: Vec<String> = Vec::new();
        for cell in row.cells() {
            let at = usize::from(cell.column().0);
            cells.resize(cells.len().max(at + 1), String::new());
            if let Some(slot) = cells.get_mut(at) {
                *slot = cell.text().into_owned();
            }
        }
        (u64::from(row.index().0) + 1, cells)
    };
    sheet.rows().map(row).collect()
}
