//! A workbook of an author's (XLSX, XLSM), edited in place: marks, notes,
//! columns beside the last one with a value, and sheets behind the others.
//!
//! The format is the open standard ECMA-376, Office Open XML. Every part that
//! is not touched is copied as it is compressed; in a part that is touched,
//! what is not ours stays byte for byte. What an earlier marking left is
//! taken out first, so that marks do not pile up.
//!
//! This module knows neither schedules nor findings: it is told what to
//! write where.

mod archive;
mod cells;
mod columns;
mod drawing;
mod editing;
mod fault;
mod graft;
mod notes;
mod relations;
mod renumber;
mod rows;
mod sheet;
mod strip;
mod styles;
mod tag;
#[cfg(test)]
mod tests;
mod text;
mod workbook;
mod xml;

pub use cells::At;
pub use editing::Editing;
pub use fault::CannotEdit;

use archive::Archive;
use relations::ContentTypes;
use workbook::Workbook;

/// Always true, and known again as ours.
const OUR_CONDITION: &str = "N(\"ampledger\")=0";
/// Ids are counted up from the highest that is there; a file with a higher one
/// is not counted up from it, since there is an end to numbers.
const HIGHEST_ID: u32 = 1 << 24;
/// Author of our notes.
const AUTHOR: &str = "ampledger";

/// Lines of an edge.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Line {
    Thin,
    Medium,
    Dashed,
    Dotted,
}

/// Where a text stands in a tall cell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Middle {
    Top,
    Centre,
}

/// How a cell of ours looks. Colours are `0xRRGGBB`.
#[derive(Clone, Debug, PartialEq)]
pub struct CellLook {
    pub font: &'static str,
    /// In points.
    pub size: f64,
    pub ink: u32,
    pub bold: bool,
    pub underline: bool,
    pub fill: Option<u32>,
    pub bottom: Option<(Line, u32)>,
    pub wrap: bool,
    pub middle: Middle,
    /// Written by people: open on a protected sheet, and what is typed stays
    /// a text.
    pub unlocked: bool,
}

/// How a marked cell of the author's shows over its own look.
#[derive(Clone, Debug, PartialEq)]
pub struct MarkLook {
    pub fill: u32,
    pub ink: u32,
    pub bold: bool,
    pub border: (Line, u32),
}

/// A cell of ours. An empty text gives a dressed blank.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OurCell {
    pub text: String,
    /// Place in [`Edits::cell_looks`].
    pub look: usize,
    /// A place in the workbook, `'Findings'!A12`.
    pub link: Option<String>,
}

/// One row of our columns.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct OurRow {
    /// Height in points that our texts need. A height that the author set
    /// by hand stays all the same.
    pub height: Option<f64>,
    /// One for each column; `None` leaves the cell alone.
    pub cells: Vec<Option<OurCell>>,
}

/// Our columns of a sheet: one block, right of the last column with a value,
/// with one column between.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Block {
    /// Width in characters, and whether the column is hidden.
    pub columns: Vec<(f64, bool)>,
    /// Heading rows and others, by row from zero. A heading row has the texts
    /// of [`COLUMNS`](super::ours::COLUMNS), the ids in the last column: by
    /// them the columns are known again.
    pub rows: std::collections::BTreeMap<u32, OurRow>,
}

/// A cell at fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Mark {
    pub at: At,
    /// Place in [`Edits::mark_looks`].
    pub look: usize,
}

/// A note at a cell. Where the author has one, it is left out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    pub at: At,
    /// Begins with our prefix; it is put before where it does not.
    pub text: String,
    pub fill: u32,
}

/// What is written into one sheet of the author's.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SheetEdit {
    pub name: String,
    pub block: Option<Block>,
    pub marks: Vec<Mark>,
    pub notes: Vec<Note>,
}

/// What is written into a workbook.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Edits<'a> {
    pub cell_looks: Vec<CellLook>,
    pub mark_looks: Vec<MarkLook>,
    pub sheets: Vec<SheetEdit>,
    /// A workbook of rust_xlsxwriter, whose sheets are put behind the
    /// author's. Its names have to differ from those of [`sheet_names`].
    pub appended: Option<&'a [u8]>,
    /// Which of the appended sheets is in front when the file is opened.
    pub active: usize,
}

/// A workbook with our marks.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Edited {
    pub bytes: Vec<u8>,
    /// Sheets that have no room for our columns, or for whose columns no
    /// heading was given by which they would be known again.
    pub without_columns: Vec<String>,
    /// Notes that were left out, because the cell has one of the author's:
    /// sheet and cell.
    pub notes_left_out: Vec<(String, String)>,
}

/// Writes into a workbook.
///
/// # Errors
/// Where it cannot be edited safely; nothing is lost by then, and the caller
/// rebuilds it.
pub fn edit(original: &[u8], edits: &Edits) -> Result<Edited, CannotEdit> {
    let mut editing = Editing::begin(original, &edits.cell_looks, &edits.mark_looks)?;
    editing.sheets(&edits.sheets)?;
    editing.finish(edits.appended, edits.active)
}

/// The workbook without what an earlier marking left in it.
///
/// # Errors
/// Where it cannot be edited safely.
pub fn strip(original: &[u8]) -> Result<Vec<u8>, CannotEdit> {
    let mut package = Package::open(original)?;
    strip::strip(&mut package)?;
    package.save()
}

/// Names of all sheets of the author's, chart sheets and hidden ones
/// included.
///
/// # Errors
/// Where the workbook cannot be edited safely.
pub fn sheet_names(original: &[u8]) -> Result<Vec<String>, CannotEdit> {
    let mut package = Package::open(original)?;
    let ours = strip::our_sheets(&mut package)?;
    let sheets = package.workbook.sheets.iter().enumerate();
    let theirs = sheets.filter(|(index, _)| !ours.contains(index));
    Ok(theirs.map(|(_, sheet)| sheet.name.clone()).collect())
}

/// The workbook as one that may hold macros, for a file that ends so.
///
/// # Errors
/// Where it is no workbook.
pub fn as_macro_enabled(original: &[u8]) -> Result<Vec<u8>, CannotEdit> {
    const KIND: &str = "application/vnd.ms-excel.sheet.macroEnabled.main+xml";
    let mut package = Package::open(original)?;
    let part = package.workbook.part().to_owned();
    package.types.forget(&part);
    package.types.add(&part, KIND);
    package.save()
}

/// A package that is being edited.
struct Package<'a> {
    archive: Archive<'a>,
    types: ContentTypes,
    workbook: Workbook,
}

impl<'a> Package<'a> {
    fn open(bytes: &'a [u8]) -> Result<Self, CannotEdit> {
        let mut archive = Archive::open(bytes)?;
        let types = ContentTypes::read(&mut archive)?;
        let workbook = Workbook::read(&mut archive, &types)?;
        Ok(Self {
            archive,
            types,
            workbook,
        })
    }

    fn save(mut self) -> Result<Vec<u8>, CannotEdit> {
        self.workbook.write(&mut self.archive);
        self.types.write(&mut self.archive)?;
        self.archive.save()
    }
}
