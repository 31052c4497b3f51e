//! Findings and jobs as CSV: UTF-8, comma, `\n`, one heading row.
//!
//! A text that begins with `=`, `+`, `-`, `@`, a tab or a carriage return
//! gets an apostrophe before it, in every column: a spreadsheet program that
//! opens the file would else take it for a formula, and what stands in these
//! columns was written by strangers. A program that reads the file may take
//! the apostrophe away where one of these characters follows it.

use super::ReportError;
use super::batch::JobRow;
use super::copy::CopyTold;
use super::record::Record;
use std::borrow::Cow;
use std::io::Write;

/// Columns of `findings.csv`; later ones are only ever appended.
pub const FINDINGS: [&str; 19] = [
    "job",
    "file",
    "sheet",
    "cell",
    "subject",
    "rule",
    "severity",
    "message",
    "found",
    "limit",
    "remedy",
    "source",
    "id",
    "dwelling",
    "dwelling_type",
    "accepted_by",
    "accepted_reason",
    "accepted_until",
    "since",
];

/// Columns of `jobs.csv`.
pub const JOBS: [&str; 13] = [
    "job",
    "file",
    "disposition",
    "fix",
    "verify",
    "note",
    "workbook",
    "submitted_by",
    "revision",
    "date",
    "superseded_by",
    "accepted",
    "copy",
];

/// A text that no spreadsheet program takes for a formula.
pub fn guarded(text: &str) -> Cow<'_, str> {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        Cow::Owned(format!("'{text}"))
    } else {
        Cow::Borrowed(text)
    }
}

fn writer<W: Write>(out: W, headings: &[&str]) -> Result<csv::Writer<W>, ReportError> {
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::Any(b'\n'))
        .from_writer(out);
    writer.write_record(headings)?;
    Ok(writer)
}

fn record<W: Write>(writer: &mut csv::Writer<W>, fields: &[&str]) -> Result<(), ReportError> {
    for field in fields {
        writer.write_field(guarded(field).as_bytes())?;
    }
    writer.write_record(None::<&[u8]>)?;
    Ok(())
}

/// `findings.csv`, fed job by job.
pub struct FindingsCsv<W: Write> {
    writer: csv::Writer<W>,
}

impl<W: Write> FindingsCsv<W> {
    /// Writes the heading row.
    ///
    /// # Errors
    /// Where `out` cannot be written to; so for all of these.
    pub fn new(out: W) -> Result<Self, ReportError> {
        Ok(Self {
            writer: writer(out, &FINDINGS)?,
        })
    }

    pub fn one(&mut self, finding: &Record) -> Result<(), ReportError> {
        record(
            &mut self.writer,
            &[
                &finding.job,
                &finding.file,
                &finding.sheet,
                &finding.cell,
                &finding.subject,
                &finding.rule,
                finding.severity.name(),
                &finding.message,
                &finding.found,
                &finding.limit,
                &finding.remedy,
                &finding.source,
                &finding.id,
                &finding.dwelling,
                &finding.dwelling_type,
                &finding.accepted_by,
                &finding.accepted_reason,
                &finding.accepted_until,
                &finding.since,
            ],
        )
    }

    pub fn finish(mut self) -> Result<(), ReportError> {
        Ok(self.writer.flush()?)
    }
}

/// `jobs.csv`, fed job by job.
pub struct JobsCsv<W: Write> {
    writer: csv::Writer<W>,
}

impl<W: Write> JobsCsv<W> {
    /// Writes the heading row.
    ///
    /// # Errors
    /// Where `out` cannot be written to; so for all of these.
    pub fn new(out: W) -> Result<Self, ReportError> {
        Ok(Self {
            writer: writer(out, &JOBS)?,
        })
    }

    /// Several files of a job stand in one field, `; ` between them.
    pub fn add(&mut self, job: &JobRow) -> Result<(), ReportError> {
        record(
            &mut self.writer,
            &[
                &job.job,
                &job.files.join("; "),
                &job.disposition_text(),
                &job.fix.to_string(),
                &job.verify.to_string(),
                &job.note.to_string(),
                job.workbook.as_deref().unwrap_or_default(),
                &job.about.submitted_by,
                &job.about.revision,
                &job.about.date,
                job.about.superseded_by.as_deref().unwrap_or_default(),
                &job.accepted.to_string(),
                &CopyTold::of_job(&job.copies).replace('\n', " | "),
            ],
        )
    }

    pub fn finish(mut self) -> Result<(), ReportError> {
        Ok(self.writer.flush()?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::Disposition;

    #[test]
    fn no_field_begins_as_a_formula_does() {
        for text in ["=1+1", "+1", "-1", "@x", "\tx", "\rx"] {
            assert_eq!(guarded(text), format!("'{text}"));
        }
        assert_eq!(guarded("1-11"), "1-11");
        assert_eq!(guarded("FC-1"), "FC-1");
    }

    #[test]
    fn a_job_is_one_row() {
        let mut out = Vec::new();
        let mut csv = JobsCsv::new(&mut out).unwrap();
        csv.add(&JobRow {
            job: "=HYPERLINK(\"x\")".into(),
            disposition: Disposition::ReviseAndResubmit,
            fix: 2,
            verify: 1,
            note: 0,
            accepted: 1,
            worst: None,
            files: vec!["a/units.csv".into(), "a/circuits.csv".into()],
            reason: String::new(),
            workbook: Some("jobs/a.xlsx".into()),
            copies: vec![CopyTold {
                file: "a/units.csv".into(),
                rebuilt: Some("the file is text".into()),
                ..CopyTold::default()
            }],
            about: Default::default(),
        })
        .unwrap();
        csv.finish().unwrap();
        assert_eq!(
            String::from_utf8(out).unwrap(),
            "job,file,disposition,fix,verify,note,workbook,\
             submitted_by,revision,date,superseded_by,accepted,copy\n\
             \"'=HYPERLINK(\"\"x\"\")\",a/units.csv; a/circuits.csv,\
             \"revise and resubmit, with accepted exceptions\",2,1,0,jobs/a.xlsx,,,,,1,\
             \"written anew, because the file is text\"\n"
        );
    }
}
