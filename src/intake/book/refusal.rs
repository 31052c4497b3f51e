//! Why a file is not read, each reason one plain sentence.

use std::fmt;

/// What stands in a file that is neither a workbook nor a table of text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Foreign {
    Pdf,
    Picture,
    /// A zip or another archive that is no workbook.
    Archive,
    Mail,
    WebPage,
    /// The one-file XML form of a workbook that came before XLSX.
    XmlSpreadsheet,
    /// A workbook of a form that was given up in the early 1990s.
    OldWorkbook,
    /// A text document or a presentation.
    Document,
    /// Structured text that is no table: JSON, XML, RTF.
    Markup,
    /// A workbook whose sheet list or sheets are missing.
    NoSheets,
    Unknown,
}

impl Foreign {
    fn words(self) -> &'static str {
        match self {
            Self::Pdf => "a PDF",
            Self::Picture => "a picture",
            Self::Archive => "an archive, not a workbook",
            Self::Mail => "a mail message",
            Self::WebPage => "a web page (HTML), whatever its name says",
            Self::XmlSpreadsheet => "a workbook in the XML form of 2003",
            Self::OldWorkbook => "a workbook in a form of the early 1990s",
            Self::Document => "a text document or a presentation, not a workbook",
            Self::Markup => "structured text (XML, JSON or RTF), not a table",
            Self::NoSheets => "a workbook without a sheet",
            Self::Unknown => "not a workbook and not a table of text",
        }
    }
}

/// The bound that a file went over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bound {
    FileBytes,
    /// Of a kind whose library builds whole sheets in memory.
    DenseFileBytes,
    UnpackedBytes,
    Ratio,
    Entries,
    Sheets,
    Rows,
    Columns,
    Cells,
    /// From the first to the last one of each sheet, empty ones counted.
    DenseCells,
    TextBytes,
    Merges,
}

impl Bound {
    fn words(self) -> &'static str {
        match self {
            Self::FileBytes | Self::DenseFileBytes => "bytes",
            Self::UnpackedBytes => "bytes once unpacked",
            Self::Ratio => "times its packed size once unpacked",
            Self::Entries => "parts in the package",
            Self::Sheets => "sheets",
            Self::Rows => "rows in one sheet",
            Self::Columns => "columns in one sheet",
            Self::Cells => "cells",
            Self::DenseCells => "cells (empty ones between the first and the last counted)",
            Self::TextBytes => "bytes of text",
            Self::Merges => "merged ranges in one sheet",
        }
    }
}

/// Why a file was not read. Its `Display` is one sentence without the file's
/// name: what is wrong, and what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Refusal {
    Vanished,
    NoPermission,
    /// A folder or a device where a file was expected.
    NotAFile,
    /// The operating system's own words.
    Unreadable(String),
    Empty,
    Encrypted,
    RightsManaged,
    Foreign(Foreign),
    /// The container is damaged; the detail is the library's own.
    Corrupt(String),
    /// `found` is a lower bound where reading stopped at the limit.
    OverLimit {
        bound: Bound,
        found: u64,
        limit: u64,
    },
    /// The reading library failed inside.
    ReaderFailed(String),
}

impl From<std::io::Error> for Refusal {
    fn from(error: std::io::Error) -> Self {
        match error.kind() {
            std::io::ErrorKind::NotFound => Self::Vanished,
            std::io::ErrorKind::PermissionDenied => Self::NoPermission,
            std::io::ErrorKind::IsADirectory => Self::NotAFile,
            _ => Self::Unreadable(error.to_string()),
        }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Vanished => f.write_str("The file is no longer there: check its path."),
            Self::NoPermission => {
                f.write_str("No permission to read the file: grant read access to it.")
            }
            Self::NotAFile => f.write_str("This is not a file: name a workbook or a CSV file."),
            Self::Unreadable(detail) => {
                write!(f, "The file could not be read ({detail}): copy it again.")
            }
            Self::Empty => f.write_str("The file is empty: export the schedule again."),
            Self::Encrypted => f.write_str(
                "The workbook is protected by a password: save it without one, then try again.",
            ),
            Self::RightsManaged => f.write_str(
                "The workbook is wrapped by rights management: save an unrestricted copy.",
            ),
            Self::Foreign(foreign) => write!(
                f,
                "The file is {}: export the schedule as XLSX or CSV.",
                foreign.words()
            ),
            Self::Corrupt(detail) => write!(
                f,
                "The workbook is damaged ({detail}): open it in a spreadsheet program, repair \
                 it and save it again."
            ),
            Self::OverLimit {
                bound,
                found,
                limit,
            } => write!(
                f,
                "The file has {found} {} or more, the limit is {limit}: {}.",
                bound.words(),
                match bound {
                    Bound::DenseCells | Bound::DenseFileBytes => "save it as XLSX, then try again",
                    _ => "remove what is not the schedule, then try again",
                }
            ),
            Self::ReaderFailed(detail) => write!(
                f,
                "The file could not be taken apart ({detail}): save it as XLSX or CSV."
            ),
        }
    }
}

impl std::error::Error for Refusal {}

/// Refuses a count above its limit.
pub(super) fn within(bound: Bound, found: u64, limit: u64) -> Result<(), Refusal> {
    if found > limit {
        return Err(Refusal::OverLimit {
            bound,
            found,
            limit,
        });
    }
    Ok(())
}
