//! The outputs of a batch that programs read: its findings in every format,
//! and the facts of its jobs as Parquet.

use super::across;
use super::outputs::OutputFolder;
use crate::findings::Severity;
use crate::report::ReportError;
use crate::report::batch::UnreadFile;
use crate::report::facts;
use crate::report::formats::{About, Format, parquet};
use crate::report::jobs::{Job, Jobs};
use crate::rules;
use polars::prelude::DataFrame;

/// Writes all of them.
///
/// # Errors
/// Where a file cannot be written.
pub(super) fn write(
    out: &OutputFolder,
    jobs: &Jobs,
    unread: &[UnreadFile],
    workbooks: bool,
) -> Result<(), ReportError> {
    let rules = declared();
    for format in Format::ALL {
        out.write_with(format.file(), |out| format.write(out, jobs, &rules, unread))?;
    }
    let file = Facts { out, jobs };
    file.write("jobs.parquet", |job| Ok(vec![job]), facts::jobs)?;
    file.write("units.parquet", |job| Ok(job.facts()?.units), facts::units)?;
    let systems = |job: Job| Ok(job.facts()?.systems);
    file.write("systems.parquet", systems, facts::systems)?;
    file.write("tallies.parquet", facts::tally_rows, facts::tallies)?;
    // No proposal is made without workbooks.
    if workbooks {
        let items = |job| facts::takeoff_rows(job);
        file.write("takeoff.parquet", items, facts::takeoff)?;
    }
    Ok(())
}

struct Facts<'a> {
    out: &'a OutputFolder,
    jobs: &'a Jobs<'a>,
}

impl<'a> Facts<'a> {
    /// A file of what each job has.
    fn write<T>(
        &self,
        name: &str,
        of: impl Fn(Job<'a>) -> Result<Vec<T>, ReportError>,
        frame: impl Fn(&[T]) -> Result<DataFrame, ReportError>,
    ) -> Result<(), ReportError> {
        self.out
            .write_with(name, |out| parquet(out, self.jobs.iter(), of, frame))
    }
}

/// What the rules say of themselves, in the order of the catalogue; those
/// across jobs come last.
fn declared() -> Vec<About> {
    rules::ALL
        .iter()
        .map(|rule| About {
            name: rule.name,
            family: rule.family.name(),
            worst: rule
                .severities
                .iter()
                .copied()
                .max()
                .unwrap_or(Severity::Note),
            summary: rule.summary,
            why: rule.why,
            decides: rule.decides,
            leaves: rule.leaves,
        })
        .chain(across::RULES)
        .collect()
}
