//! From grids of cells to tables: which rows are headings, which column
//! feeds which field, which rows are data.
//!
//! Nothing here reads a value for good: grammars are only asked whether the
//! values of a column read under a field. No heading stands in this code.

mod beside;
mod columns;
mod form;
mod grid;
mod header;
mod heading;
mod lists;
mod panels;
mod recast;
mod roles;
mod rows;
mod sections;
mod split;
mod table;
mod values;

use super::book::{Book, Sheet};
use super::found::FoundTable;
use super::schema::Schemas;

/// A sheet in which no table was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WithoutTable {
    /// Index into [`Book::sheets`].
    pub sheet: usize,
    /// A whole sentence.
    pub reason: String,
}

/// What was found in a book.
#[derive(Clone, Debug, Default)]
pub struct Recognition {
    /// By sheet, then by row, then by column.
    pub tables: Vec<FoundTable>,
    pub without: Vec<WithoutTable>,
    /// Sheets that were made: [`Book::recast`] for whoever keeps the book.
    pub recast: Vec<Sheet>,
    /// What the reader of `read` should know: whole sentences.
    pub notes: Vec<String>,
}

/// All tables of a book, and why a sheet has none.
pub fn recognise(book: &Book, schemas: &Schemas) -> Recognition {
    let mut found = Recognition::default();
    for (index, sheet) in book.sheets.iter().enumerate() {
        match beside::of_sheet(index, sheet, schemas) {
            Ok(tables) => found.tables.extend(tables),
            Err(reason) => found.without.push(WithoutTable {
                sheet: index,
                reason,
            }),
        }
    }
    recast::recast(book, schemas, &mut found);
    panels::tell_slots_from_names(book, &mut found.tables);
    found
}

/// All tables of a book.
pub fn tables(book: &Book, schemas: &Schemas) -> Vec<FoundTable> {
    recognise(book, schemas).tables
}

#[cfg(test)]
mod hands;
#[cfg(test)]
mod tests;
