//! Why a workbook is left to be rebuilt.

use std::fmt;

/// Why a workbook cannot be edited in place. As text it is the end of a
/// sentence: *the copy was rebuilt, because …*.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum CannotEdit {
    /// Locked by a password, or under rights management.
    Encrypted,
    /// No zip package, or none with a workbook in it.
    NotAPackage,
    /// A text file: it has no sheets.
    Text,
    /// XLS, the format before XLSX.
    OldBinary,
    /// ODS.
    OpenDocument,
    /// The file was gone, or closed to us, when it was read once more.
    Unreadable,
    /// XLSB: the parts are not XML.
    Binary,
    /// The strict variant of the standard, whose names differ.
    Strict,
    /// A digital signature, which every edit breaks.
    Signed,
    /// A workbook that keeps a log of its revisions.
    Shared,
    /// More than is edited in memory.
    TooLarge,
    /// A part that cannot be followed, and what is wrong with it.
    Damaged {
        part: String,
        why: String,
    },
    /// A part in an encoding other than UTF-8.
    Encoding {
        part: String,
    },
    NoSuchSheet {
        sheet: String,
    },
    /// A chart sheet, a dialogue or a sheet of old macros.
    NotAWorksheet {
        sheet: String,
    },
    /// A sheet to be appended has the name of one that is there.
    NameTaken {
        sheet: String,
    },
    /// No room for our styles.
    StylesFull,
}

impl CannotEdit {
    pub(super) fn damaged(part: &str, why: impl fmt::Display) -> Self {
        Self::Damaged {
            part: part.to_owned(),
            why: why.to_string(),
        }
    }
}

impl fmt::Display for CannotEdit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Encrypted => f.write_str("the workbook is encrypted"),
            Self::NotAPackage => f.write_str("the file is no XLSX or XLSM package"),
            Self::Text => f.write_str("the file is text, which has no sheets to be marked"),
            Self::OldBinary => f.write_str("the workbook is in the binary format XLS"),
            Self::OpenDocument => f.write_str("the workbook is in the OpenDocument format ODS"),
            Self::Unreadable => f.write_str("the file could not be read a second time"),
            Self::Binary => f.write_str("the workbook is in the binary format XLSB"),
            Self::Strict => f.write_str("the workbook is in the strict variant of the format"),
            Self::Signed => {
                f.write_str("the workbook is digitally signed, and an edit would break the signature")
            }
            Self::Shared => f.write_str(
                "the workbook is shared with a log of its revisions, which an edit would contradict",
            ),
            Self::TooLarge => f.write_str("the workbook is too large to be edited in memory"),
            Self::Damaged { part, why } => {
                write!(f, "a part of the workbook is damaged ({part}: {why})")
            }
            Self::Encoding { part } => {
                write!(f, "a part of the workbook is not in UTF-8 ({part})")
            }
            Self::NoSuchSheet { sheet } => write!(f, "the workbook has no sheet \"{sheet}\""),
            Self::NotAWorksheet { sheet } => write!(f, "\"{sheet}\" is not a sheet of cells"),
            Self::NameTaken { sheet } => {
                write!(f, "the workbook has a sheet \"{sheet}\" already")
            }
            Self::StylesFull => f.write_str("the workbook has no room for more cell styles"),
        }
    }
}

impl std::error::Error for CannotEdit {}
