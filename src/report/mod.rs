//! What people and programs get back: the annotated workbook of a job, of a
//! source file and of the batch, CSV, and the summary on the terminal.
//!
//! The report prints what the rules found. It holds no limit and does no
//! arithmetic on quantities.

pub mod annotated;
mod author;
mod basis;
pub mod batch;
pub mod blank;
mod brief;
mod bus;
mod circuits;
pub mod compare;
mod controllers;
pub mod copy;
pub mod correction;
pub mod drawing;
pub mod facts;
pub mod formats;
pub mod frame;
pub mod groups;
pub mod job;
pub mod jobs;
mod kept;
pub mod letter;
pub mod list;
mod names;
pub mod ours;
pub mod package;
mod page;
mod proposed;
pub mod proposed_book;
pub mod record;
pub mod remarks;
mod row_remarks;
pub mod shelf;
mod style;
pub mod summary;
pub mod takeoff;
mod tallies;
#[cfg(test)]
mod tests;
pub mod text;
mod words;

pub use basis::CAUTIONS;

use jiff::civil::Date;
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Workbook, XlsxError};
use std::fmt;

/// Why an output could not be made.
#[derive(Debug)]
pub enum ReportError {
    Workbook(XlsxError),
    Csv(csv::Error),
    Frame(polars::prelude::PolarsError),
    Json(serde_json::Error),
    /// A file of ours holds what we do not write: a sentence without its dot.
    Unknown(String),
    Io(std::io::Error),
    /// An author's workbook has to be rebuilt.
    CannotEdit(package::CannotEdit),
}

impl fmt::Display for ReportError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Workbook(error) => write!(f, "the workbook cannot be written: {error}"),
            Self::Csv(error) => write!(f, "the CSV file cannot be written: {error}"),
            Self::Frame(error) => write!(f, "the roll-up cannot be made: {error}"),
            Self::Json(error) => write!(f, "the JSON cannot be used: {error}"),
            Self::Unknown(what) => f.write_str(what),
            Self::Io(error) => write!(f, "the file cannot be written: {error}"),
            Self::CannotEdit(reason) => {
                write!(
                    f,
                    "the author's workbook cannot be marked, because {reason}"
                )
            }
        }
    }
}

impl std::error::Error for ReportError {}

macro_rules! from_error {
    ($($variant:ident: $error:ty;)*) => {$(
        impl From<$error> for ReportError {
            fn from(error: $error) -> Self { Self::$variant(error) }
        }
    )*};
}

from_error! {
    Workbook: XlsxError;
    Csv: csv::Error;
    Frame: polars::prelude::PolarsError;
    Json: serde_json::Error;
    Io: std::io::Error;
    CannotEdit: package::CannotEdit;
}

/// How hard workbooks are packed, of 9. A season is thousands of them, and
/// the default packs a twentieth more for a third of the time that writing
/// one takes.
const PACKED: u8 = 3;
/// For an author's workbook: sheets of ours are packed twice in it, by their
/// writer and where they are put.
const PACKED_QUICKLY: u8 = 1;

/// An empty workbook whose properties depend on nothing but its content and
/// the date: two runs give the same bytes.
fn new_workbook(title: &str, as_of: Date) -> Result<Workbook, ReportError> {
    let mut workbook = Workbook::new();
    workbook.set_zip_compression_level(PACKED);
    let year = as_of.year().clamp(1900, 9999) as u16;
    let date = ExcelDateTime::from_ymd(year, as_of.month() as u8, as_of.day() as u8)?;
    workbook.set_properties(
        &DocProperties::new()
            .set_title(page::clip_to(&page::printable(title), 255))
            .set_subject("Audit of electrical and wire-run schedules")
            .set_author("ampledger")
            .set_creation_datetime(&date),
    );
    Ok(workbook)
}

/// `1 circuit`, `3 circuits`.
fn counted(count: usize, one: &str, many: &str) -> String {
    let number = crate::schedule::number(count as f64);
    format!("{number} {}", if count == 1 { one } else { many })
}
