//! From the tables of a job's files to a draft of its schedule.
//!
//! Each cell of a known column is read by the grammar of its field, each
//! value keeps its cell, and what cannot be read becomes a fault. What may
//! not happen here: resolving names (that is [`Draft::build`]) and judging.

mod circuit;
mod columns;
mod dates;
mod facts;
mod low_voltage;
mod reader;
mod rows;
mod table;
#[cfg(test)]
pub(in crate::intake) mod tests;
mod unit;

pub use facts::facts_of;
pub use rows::{JobKeyOfRows, JobName, rows_by_job};

use super::book::{Book, Value};
use super::found::FoundTable;
use super::notation::{Style, decimal_style};
use crate::schedule::{Draft, Name, RowIndex, SourceFile};
use table::Assembly;

/// A file, its grids, and the tables that were found on them.
#[derive(Clone, Debug)]
pub struct ReadFile {
    /// Relative to the folder that was named, with `/` between its parts.
    pub path: String,
    pub bytes: u64,
    pub book: Book,
    pub tables: Vec<FoundTable>,
    /// What the reader of `read` should know: whole sentences.
    pub notes: Vec<String>,
    /// How the file writes its decimals: settled once, from all its tables.
    pub style: Style,
}

impl ReadFile {
    pub fn new(path: String, bytes: u64, book: Book, tables: Vec<FoundTable>) -> Self {
        let style = style_of(&book, &tables);
        let notes = book.notes.clone();
        Self {
            path,
            bytes,
            book,
            tables,
            notes,
            style,
        }
    }

    /// The file's name without its folders.
    pub fn file_name(&self) -> &str {
        self.path.rsplit('/').next().unwrap_or(&self.path)
    }
}

fn style_of(book: &Book, tables: &[FoundTable]) -> Style {
    decimal_style(tables.iter().flat_map(|table| {
        let sheet = book.sheets.get(table.sheet);
        table.rows.iter().flat_map(move |&row| {
            let cells = sheet.and_then(|sheet| sheet.row(row));
            cells.into_iter().flat_map(move |cells| {
                table
                    .columns
                    .iter()
                    .filter(|column| !column.fields.is_empty())
                    .filter_map(move |column| match cells.cell(column.column)?.value() {
                        Value::Text(text) => Some(text),
                        _ => None,
                    })
            })
        })
    }))
}

/// The rows of a file that belong to a job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RowChoice {
    /// All tables, all rows.
    All,
    /// The rows of some tables: index into [`ReadFile::tables`], rows rising.
    /// The forms of those tables are read too.
    Rows(Vec<(usize, Vec<RowIndex>)>),
}

/// What a job is called where its schedules do not say.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Hints<'a> {
    /// The stem without table words and revision words, as people read it:
    /// see [`super::job::Stem`].
    pub stem: &'a str,
}

/// Reads the files of one job.
pub fn draft(files: &[(&ReadFile, RowChoice)], hints: Hints<'_>) -> Draft {
    let mut assembly = Assembly::default();
    for (file, choice) in files {
        let index = assembly.draft.sources.files.len() as u32;
        assembly.draft.sources.files.push(SourceFile {
            path: file.path.clone(),
            bytes: file.bytes,
        });
        assembly.add_file(file, choice, index);
    }
    assembly.read_tables();
    let mut draft = assembly.draft;
    let stated = |field: &crate::schedule::Field<String>| {
        let text = field.get().map(|text| text.trim().to_owned());
        text.filter(|text| !text.is_empty())
    };
    let number = stated(&draft.facts.number);
    let name = stated(&draft.facts.name);
    draft.key = number.as_deref().or(name.as_deref()).map_or_else(
        || Name::new(hints.stem).key().to_owned(),
        |text| Name::new(text).key().to_owned(),
    );
    draft.title = name.or(number).unwrap_or_else(|| hints.stem.to_owned());
    draft
}
