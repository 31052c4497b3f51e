//! A grid from text and the columns of one table on it, as recognition would
//! hand them over.

use crate::intake::assemble::{Hints, ReadFile, RowChoice, draft};
use crate::intake::book::{Book, Limits, Merge, Merges};
use crate::intake::found::{FormEntry, FoundColumn, FoundTable};
use crate::intake::notation::ColumnUnit;
use crate::schedule::{ColIndex, Draft, FieldName, Place, RowIndex, Schedule, Sources, TableKind};

/// A file of one table. The text's first row is the heading; `fields` names
/// the field of each column, `circuit.length ft` with the column's unit,
/// `-` for a column that is not recognised.
#[derive(Clone)]
pub struct Grid {
    pub path: String,
    pub text: String,
    kinds: Vec<TableKind>,
    fields: String,
    merges: Vec<Merge>,
    form: Vec<FormEntry>,
    panel: Option<String>,
    header: u32,
}

impl Grid {
    pub fn new(path: &str, kinds: &[TableKind], fields: &str, text: &str) -> Self {
        Self {
            path: path.to_owned(),
            text: text.to_owned(),
            kinds: kinds.to_vec(),
            fields: fields.to_owned(),
            merges: Vec::new(),
            form: Vec::new(),
            panel: None,
            header: 0,
        }
    }

    pub fn merged(mut self, first: (u32, u16), last: (u32, u16)) -> Self {
        self.merges.push(Merge {
            first: (RowIndex(first.0), ColIndex(first.1)),
            last: (RowIndex(last.0), ColIndex(last.1)),
        });
        self
    }

    /// A label and its value above the table.
    pub fn form(mut self, field: FieldName, row: u32) -> Self {
        self.form.push(FormEntry {
            field,
            label: (RowIndex(row), ColIndex(0)),
            value: (RowIndex(row), ColIndex(1)),
        });
        self
    }

    pub fn panel(mut self, name: &str) -> Self {
        self.panel = Some(name.to_owned());
        self
    }

    pub fn header(mut self, row: u32) -> Self {
        self.header = row;
        self
    }

    pub fn read(self) -> ReadFile {
        let bytes = self.text.clone().into_bytes();
        let mut book = Book::from_bytes(&self.path, bytes, &Limits::default()).expect("a text");
        let sheet = &mut book.sheets[0];
        sheet.merges = Merges::new(self.merges);
        let mut table = table(&book, &self.kinds, &self.fields, self.header);
        table.form = self.form;
        table.panel = self.panel.map(|name| (name, None));
        let size = self.text.len() as u64;
        ReadFile::new(self.path, size, book, vec![table])
    }
}

/// The table of a book's first sheet, its heading in that row.
pub fn table(book: &Book, kinds: &[TableKind], fields: &str, header: u32) -> FoundTable {
    let sheet = &book.sheets[0];
    let headings = sheet.row(RowIndex(header)).expect("a heading");
    let fields = fields.split(',').map(str::trim).enumerate();
    let columns = fields
        .map(|(index, spec)| {
            let column = ColIndex(index as u16);
            let (field, unit) = spec.split_once(' ').unwrap_or((spec, ""));
            let heading = headings.cell(column).map(|c| c.text().into_owned());
            FoundColumn {
                column,
                heading: heading.unwrap_or_default(),
                fields: match field {
                    "-" => Vec::new(),
                    name => vec![FieldName::parse(name).expect("a field's name")],
                },
                unit: ColumnUnit::parse(unit),
                score: 1.0,
                nearest: None,
            }
        })
        .collect();
    let rows = sheet.rows_from(RowIndex(header + 1));
    FoundTable {
        sheet: 0,
        kind: kinds[0],
        kinds: kinds.to_vec(),
        header: (RowIndex(header), RowIndex(header)),
        columns,
        rows: rows.map(|row| row.index()).collect(),
        left_out: Vec::new(),
        form: Vec::new(),
        panel: None,
        sections: Vec::new(),
        types: Vec::new(),
    }
}

pub fn draft_of(files: &[ReadFile]) -> Draft {
    let files: Vec<_> = files.iter().map(|file| (file, RowChoice::All)).collect();
    draft(&files, Hints { stem: "Elm Court" })
}

pub fn schedule_of(files: &[ReadFile]) -> Schedule {
    draft_of(files).build()
}

/// The cell of a place, as a spreadsheet names it.
pub fn a1(sources: &Sources, place: impl Into<Place>) -> String {
    sources.address(place.into()).cell
}
