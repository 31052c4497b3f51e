//! From a file to grids of cells.
//!
//! Content decides what a file is, never its name. Cells are streamed under
//! caps into sparse rows; nothing here knows what a heading is. What cannot
//! be read is a [`Refusal`], never a panic and never an abort.

mod calendar;
mod cell;
mod limits;
mod look;
mod merges;
mod number_format;
mod records;
mod refusal;
mod sheet;
mod sniff;
mod text;

pub use calendar::Clock;
pub use cell::{CellRef, Value};
pub use limits::Limits;
pub use look::{Edges, Horizontal, Line, Look, Rgb, Vertical};
pub use merges::{Merge, Merges};
pub use number_format::NumberFormat;
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
    /// breaks ties that the content leaves.
    ///
    /// # Errors
    /// As [`Book::open`].
    pub fn from_bytes(name: &str, bytes: Vec<u8>, limits: &Limits) -> Result<Self, Refusal> {
        let _ = name;
        refusal::within(Bound::FileBytes, bytes.len() as u64, limits.file_bytes)?;
        if bytes.is_empty() {
            return Err(Refusal::Empty);
        }
        let mut budget = sheet::Budget::new(limits);
        match sniff::container(&bytes) {
            sniff::Container::Text => text::read(bytes, &mut budget),
            sniff::Container::Foreign(foreign) => Err(Refusal::Foreign(foreign)),
            sniff::Container::Zip | sniff::Container::Ole => {
                Err(Refusal::Foreign(Foreign::Unknown))
            }
        }
    }

    /// The palette that [`CellRef::look_index`] indexes; empty for formats
    /// whose looks are not read.
    pub fn looks(&self) -> &[Look] {
        self.sheets.first().map_or(&[], Sheet::looks)
    }
}
