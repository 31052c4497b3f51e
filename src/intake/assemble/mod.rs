//! From the tables of a job's files to a draft of its schedule.
//!
//! Each cell of a known column is read by the grammar of its field, each
//! value keeps its cell, and what cannot be read becomes a fault. What may
//! not happen here: resolving names (that is [`Draft::build`]) and judging.

mod circuit;
mod columns;
mod dates;
mod dwellings;
mod facts;
mod low_voltage;
mod reader;
mod rows;
mod table;
#[cfg(test)]
pub(in crate::intake) mod tests;
mod typical;
mod unit;

pub use facts::facts_of;
pub use rows::{JobKeyOfRows, JobName, rows_by_job};

use super::book::{Book, Value};
use super::found::FoundTable;
use super::notation::{Style, decimal_style};
use super::recognise::Recognition;
use crate::schedule::{Draft, Fault, Name, Place, RowIndex, RowNumber, SourceFile};
use table::Assembly;

/// A file, its grids, and the tables that were found on them.
#[derive(Clone, Debug)]
pub struct ReadFile {
    /// Relative to the folder that was named, with `/` between its parts.
    pub path: String,
    pub bytes: u64,
    pub book: Book,
    pub tables: Vec<FoundTable>,
    /// Sheets without a table: name and reason, a whole sentence.
    pub without: Vec<(Option<String>, String)>,
    /// What the reader of `read` should know: whole sentences.
    pub notes: Vec<String>,
    /// How the file writes its decimals: settled once, from all its tables.
    pub style: Style,
}

impl ReadFile {
    pub fn new(path: String, bytes: u64, book: Book, tables: Vec<FoundTable>) -> Self {
        let style = style_of(&book, &tables);
        let mut notes = book.notes.clone();
        notes.extend(hidden_notes(&book, &tables));
        Self {
            path,
            bytes,
            book,
            tables,
            without: Vec::new(),
            notes,
            style,
        }
    }

    /// From a book in which tables were looked for.
    pub fn recognised(path: String, bytes: u64, mut book: Book, found: Recognition) -> Self {
        let without = found.without.into_iter().map(|without| {
            let sheet = book.sheet(without.sheet);
            (sheet.and_then(|sheet| sheet.name.clone()), without.reason)
        });
        let without = without.collect();
        book.recast = found.recast;
        let mut file = Self::new(path, bytes, book, found.tables);
        file.without = without;
        file.notes.extend(found.notes);
        file
    }

    /// The file's name without its folders.
    pub fn file_name(&self) -> &str {
        self.path.rsplit('/').next().unwrap_or(&self.path)
    }
}

/// Sheets that could not be read whole, as faults of the file.
fn damage<'a>(
    file: &'a ReadFile,
    choice: &'a RowChoice,
    index: u32,
) -> impl Iterator<Item = Fault> + 'a {
    let concerned = move |sheet: usize| match choice {
        RowChoice::All => true,
        RowChoice::Rows(tables) => tables
            .iter()
            .any(|(table, _)| file.tables.get(*table).is_some_and(|t| t.sheet == sheet)),
    };
    let sheets = file.book.sheets.iter().enumerate();
    sheets
        .filter(move |(at, _)| concerned(*at))
        .filter_map(move |(_, sheet)| {
            let says = sheet.damage.as_ref()?;
            let says = match &sheet.name {
                Some(name) => format!("Sheet {name}: {says}"),
                None => says.clone(),
            };
            let at = Place::File(index);
            Some(Fault::Other { at, says })
        })
}

/// What is hidden and was read all the same.
fn hidden_notes(book: &Book, tables: &[FoundTable]) -> Vec<String> {
    let mut notes = Vec::new();
    for (index, sheet) in book.sheets.iter().enumerate() {
        let label = sheet.name.as_deref().unwrap_or("the sheet");
        let here: Vec<&FoundTable> = tables.iter().filter(|t| t.sheet == index).collect();
        if here.is_empty() {
            continue;
        }
        if sheet.is_hidden() {
            notes.push(format!("Sheet {label} is hidden; it was read."));
        }
        let mut rows: Vec<RowIndex> = here
            .iter()
            .flat_map(|table| table.rows.iter().copied())
            .filter(|row| sheet.is_row_hidden(*row))
            .collect();
        rows.sort_unstable();
        rows.dedup();
        if let (Some(first), Some(last)) = (rows.first(), rows.last()) {
            notes.push(format!(
                "{} hidden or filtered rows of sheet {label} were read (rows {} to {}).",
                rows.len(),
                RowNumber::from(*first).0,
                RowNumber::from(*last).0
            ));
        }
        let columns: Vec<String> = here
            .iter()
            .flat_map(|table| &table.columns)
            .filter(|c| !c.fields.is_empty() && sheet.is_column_hidden(c.column))
            .map(|c| c.column.to_string())
            .collect();
        if !columns.is_empty() {
            notes.push(format!(
                "Hidden columns of sheet {label} were read: {}.",
                columns.join(", ")
            ));
        }
    }
    notes
}

fn style_of(book: &Book, tables: &[FoundTable]) -> Style {
    decimal_style(tables.iter().flat_map(|table| {
        let sheet = book.sheet(table.sheet);
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
        let faults = damage(file, choice, index);
        assembly.draft.faults.extend(faults);
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
