//! From a file to grids of cells.
//!
//! Content decides what a file is, never its name. Cells are streamed under
//! caps into sparse rows; nothing here knows what a heading is. What cannot
//! be read is a [`Refusal`], never a panic and never an abort.

mod calendar;
mod cell;
mod compound;
mod date_format;
mod dense;
mod grid_xml;
#[cfg(test)]
mod hostile_tests;
mod limits;
mod look;
mod merges;
mod number_format;
mod ods;
mod ole;
mod package;
mod recast;
mod records;
mod refusal;
mod sheet;
mod sniff;
mod styles;
#[cfg(test)]
mod tests;
mod text;
mod xlsx;
mod xml;

pub use calendar::Clock;
pub use cell::{CellRef, Value};
pub use limits::Limits;
pub use look::{Edges, Horizontal, Line, Look, Rgb, Vertical};
pub use merges::{Merge, Merges};
pub use number_format::NumberFormat;
pub use recast::{Origin, Recaster, Turned};
pub use refusal::{Bound, Foreign, Refusal};
pub use sheet::{DefinedTable, Extent, RowRef, Sheet, SheetNote, Visibility};

use std::path::Path;

/// What a file turned out to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// Text in columns, by any delimiter.
    Csv {
        delimiter: char,
        /// The name of the encoding, as `UTF-8` or `windows-1252`.
        encoding: &'static str,
    },
    Xlsx,
    Xlsm,
    Xlsb,
    Xls,
    Ods,
}

impl Format {
    /// Packages whose parts can be edited in place.
    pub fn is_ooxml(self) -> bool {
        matches!(self, Self::Xlsx | Self::Xlsm)
    }

    /// The word that people use for it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Csv { .. } => "CSV",
            Self::Xlsx => "XLSX",
            Self::Xlsm => "XLSM",
            Self::Xlsb => "XLSB",
            Self::Xls => "XLS",
            Self::Ods => "ODS",
        }
    }
}

/// A file, taken apart into grids.
#[derive(Clone, Debug)]
pub struct Book {
    pub format: Format,
    /// In the author's order, hidden ones too; chart sheets are left out.
    pub sheets: Vec<Sheet>,
    /// Sheets whose cells stand otherwise in the file: one row a thing was
    /// made of columns, of attributes, of several sheets.
    pub recast: Vec<Sheet>,
    /// Dates count from 1904 instead of 1900. Serials are as stored; the
    /// texts of cells reckon with it.
    pub epoch_1904: bool,
    /// What the reader of `read` should know: how text was decoded, sheets
    /// that are no tables. Whole sentences.
    pub notes: Vec<String>,
}

impl Book {
    /// Reads a file.
    ///
    /// # Errors
    /// A [`Refusal`] where the file cannot be read, is no workbook and no
    /// text, or goes over a limit.
    pub fn open(path: &Path, limits: &Limits) -> Result<Self, Refusal> {
        let metadata = std::fs::metadata(path)?;
        if !metadata.is_file() {
            return Err(Refusal::NotAFile);
        }
        refusal::within(Bound::FileBytes, metadata.len(), limits.file_bytes)?;
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        Self::from_bytes(&name, std::fs::read(path)?, limits)
    }

    /// Reads a file that is already in memory. `name` is the file's; it only
    /// chooses the delimiter where the text has none.
    ///
    /// # Errors
    /// As [`Book::open`].
    pub fn from_bytes(name: &str, mut bytes: Vec<u8>, limits: &Limits) -> Result<Self, Refusal> {
        refusal::within(Bound::FileBytes, bytes.len() as u64, limits.file_bytes)?;
        if bytes.is_empty() {
            return Err(Refusal::Empty);
        }
        let mut budget = sheet::Budget::new(limits);
        let mut book = match sniff::container(&bytes) {
            sniff::Container::Text => text::read(name, bytes, &mut budget),
            sniff::Container::Foreign(foreign) => Err(Refusal::Foreign(foreign)),
            sniff::Container::Zip => Self::from_package(bytes, &mut budget),
            sniff::Container::Ole => {
                ole::check_xls(&mut bytes, &budget)?;
                dense::read_xls(bytes, &mut budget)
            }
        }?;
        book.tell_sheets_apart();
        Ok(book)
    }

    /// A cell is named by its sheet: in a damaged workbook two sheets may have
    /// one name, and the later gets another.
    fn tell_sheets_apart(&mut self) {
        let mut taken = std::collections::BTreeSet::new();
        for sheet in &mut self.sheets {
            let Some(name) = sheet.name.as_mut() else {
                continue;
            };
            let (own, mut count) = (name.clone(), 1);
            while !taken.insert(name.clone()) {
                count += 1;
                *name = format!("{own} ({count})");
            }
            if count > 1 {
                self.notes.push(format!(
                    "More than one sheet is named “{own}”; a later one is called “{name}” here."
                ));
            }
        }
    }

    fn from_package(bytes: Vec<u8>, budget: &mut sheet::Budget) -> Result<Self, Refusal> {
        let mut package = package::Package::open(bytes, budget.limits)?;
        if ods::is_ods(&mut package)? {
            return ods::read(&mut package, budget);
        }
        if package.has("word/document.xml") || package.has("ppt/presentation.xml") {
            return Err(Refusal::Foreign(Foreign::Document));
        }
        if !package.has("[Content_Types].xml") && !package.has_folder("xl/") {
            return Err(Refusal::Foreign(Foreign::Archive));
        }
        match xlsx::main_part(&mut package)? {
            Some(main) if main.ends_with(".bin") => {
                package.check_sizes()?;
                dense::read_xlsb(package.into_bytes(), budget)
            }
            Some(main) => xlsx::read(&mut package, &main, budget),
            None => Err(Refusal::Foreign(Foreign::NoSheets)),
        }
    }

    /// A sheet of the file, or behind them a recast one.
    pub fn sheet(&self, index: usize) -> Option<&Sheet> {
        let recast = || self.recast.get(index.checked_sub(self.sheets.len())?);
        self.sheets.get(index).or_else(recast)
    }

    /// The palette that [`CellRef::look_index`] indexes; empty for formats
    /// whose looks are not read.
    pub fn looks(&self) -> &[Look] {
        self.sheets.first().map_or(&[], Sheet::looks)
    }
}
