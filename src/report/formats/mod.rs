//! The findings of a batch for programs: CSV, JSON Lines, Parquet and SARIF.
//! All carry the same findings in the same order.

mod json_lines;
mod parquet;
mod sarif;
#[cfg(test)]
mod tests;

pub use json_lines::{read as read_json_lines, write as json_lines};
pub use parquet::{
    findings as findings_frame, findings_of as findings_of_frame, read as read_parquet,
    write as parquet,
};
pub use sarif::{About, SarifView, write as sarif};

use super::record::Record;
use super::text::FindingsCsv;
use super::{ReportError, batch::UnreadFile};

/// A format of the findings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    Csv,
    JsonLines,
    Sarif,
    Parquet,
}

impl Format {
    pub const ALL: [Self; 4] = [Self::Csv, Self::JsonLines, Self::Sarif, Self::Parquet];

    /// Its file in an audit folder.
    pub fn file(self) -> &'static str {
        match self {
            Self::Csv => "findings.csv",
            Self::JsonLines => "findings.jsonl",
            Self::Sarif => "findings.sarif",
            Self::Parquet => "findings.parquet",
        }
    }

    /// The bytes of that file.
    ///
    /// # Errors
    /// None but those of the libraries.
    pub fn bytes(
        self,
        findings: &[Record],
        rules: &[About],
        unread: &[UnreadFile],
    ) -> Result<Vec<u8>, ReportError> {
        match self {
            Self::Csv => {
                let mut bytes = Vec::new();
                let mut csv = FindingsCsv::new(&mut bytes)?;
                csv.add(findings)?;
                csv.finish()?;
                Ok(bytes)
            }
            Self::JsonLines => json_lines(findings),
            Self::Sarif => sarif(&SarifView {
                findings,
                rules,
                unread,
            }),
            Self::Parquet => parquet(findings_frame(findings)?),
        }
    }
}
