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

use super::jobs::Jobs;
use super::text::FindingsCsv;
use super::{ReportError, batch::UnreadFile};
use std::io::Write;

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

    /// Writes that file, job by job.
    ///
    /// # Errors
    /// Where `out` cannot be written to, or as [`super::jobs::Job::findings`].
    pub fn write(
        self,
        out: &mut dyn Write,
        jobs: &Jobs,
        rules: &[About],
        unread: &[UnreadFile],
    ) -> Result<(), ReportError> {
        match self {
            Self::Csv => {
                let mut csv = FindingsCsv::new(out)?;
                for job in jobs.iter() {
                    job.findings()?.iter().try_for_each(|f| csv.one(f))?;
                }
                csv.finish()
            }
            Self::JsonLines => json_lines(out, jobs),
            Self::Sarif => sarif(
                out,
                &SarifView {
                    jobs,
                    rules,
                    unread,
                },
            ),
            Self::Parquet => parquet(out, jobs.iter(), |job| job.findings(), findings_frame),
        }
    }
}
