//! A table found on a sheet: which columns feed which fields, which rows are
//! data. What recognition hands to assembly.

use super::notation::ColumnUnit;
use crate::schedule::{ColIndex, FieldName, RowIndex, RowLeftOut, TableKind};
use serde::{Deserialize, Serialize};

/// How one column of a sheet was understood.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FoundColumn {
    pub column: ColIndex,
    /// As written, the rows of a tall heading joined by a space, bands first.
    pub heading: String,
    /// Fields that the column feeds. More than one for a heading that names
    /// several things of one row (`MCA/MOP` is one composite field, but a
    /// panel schedule's *Load* may feed loads and remarks). Empty where the
    /// heading is not recognised.
    pub fields: Vec<FieldName>,
    /// Unit of measure that the heading or a units row names.
    pub unit: Option<ColumnUnit>,
    /// How sure, 0 to 1.
    pub score: f64,
    /// The nearest known heading, for a column that is not recognised.
    pub nearest: Option<String>,
}

/// A label and its value in a block above or beside a table, or in a table
/// of two columns.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FormEntry {
    /// A field of the job, or `panel.*` for the panel of the table below.
    pub field: FieldName,
    pub label: (RowIndex, ColIndex),
    /// The same cell as the label's where both stand in one
    /// (`Panel: LP-1`): see [`FormEntry::value_in`].
    pub value: (RowIndex, ColIndex),
}

impl FormEntry {
    /// The value in the text of its cell: what follows the colon where the
    /// label stands in the same cell, else all of it.
    pub fn value_in<'a>(&self, text: &'a str) -> &'a str {
        match text.split_once(':') {
            Some((_, value)) if self.label == self.value => value.trim(),
            _ => text.trim(),
        }
    }
}

/// What a section row names for the rows below it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum SectionOf {
    Dwelling,
    System,
    Panel,
    /// What is of no dwelling: `COMMON AREAS`.
    Building,
    /// Not understood: no dwelling named above holds below it.
    Unknown,
}

/// A row such as `APARTMENT 12C`, that holds for the rows below it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Section {
    pub at: (RowIndex, ColIndex),
    pub of: SectionOf,
    pub name: String,
}

/// A dwelling, and the type of dwelling that it is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct TypedDwelling {
    /// As [`type_key`] makes it.
    pub of: String,
    pub name: String,
    pub at: (RowIndex, ColIndex),
}

/// `TYPE B` and `b` are one type.
pub fn type_key(text: &str) -> String {
    let upper = text.trim().to_uppercase();
    upper
        .strip_prefix("TYPE ")
        .unwrap_or(&upper)
        .trim()
        .to_owned()
}

/// A table on a sheet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FoundTable {
    /// Index into [`super::book::Book::sheets`].
    pub sheet: usize,
    pub kind: TableKind,
    /// All kinds that its rows carry, `kind` first.
    pub kinds: Vec<TableKind>,
    /// First and last row of the heading.
    pub header: (RowIndex, RowIndex),
    /// In the order of the sheet; all columns of the table, recognised or not.
    pub columns: Vec<FoundColumn>,
    /// Data rows, rising.
    pub rows: Vec<RowIndex>,
    /// Rows within the table's reach that are no data, with the reason.
    pub left_out: Vec<RowLeftOut>,
    /// Facts of the job or of the panel that stand in a block on the sheet.
    pub form: Vec<FormEntry>,
    /// The name of the panel that a panel schedule's sheet is about, where
    /// no form entry gives it: from a title (`PANEL LP`) or the sheet's name.
    /// With the cell that it stands in, if it stands in one.
    pub panel: Option<(String, Option<(RowIndex, ColIndex)>)>,
    /// Section rows that hold where the table has no column for it, rising.
    pub sections: Vec<Section>,
    /// Of a table that says which dwelling is of which type; it has nothing
    /// else, and no kinds.
    pub types: Vec<TypedDwelling>,
}

impl FoundTable {
    /// The column that feeds `field`, the surest first.
    pub fn column_of(&self, field: FieldName) -> Option<&FoundColumn> {
        self.columns
            .iter()
            .filter(|column| column.fields.contains(&field))
            .max_by(|a, b| a.score.total_cmp(&b.score).then(b.column.cmp(&a.column)))
    }
}
