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
use rayon::prelude::*;

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
    let findings = |format: Format| {
        out.write_with(format.file(), |out| format.write(out, jobs, &rules, unread))
    };
    let file = Facts { out, jobs };
    let takeoff = || match workbooks {
        true => file.write("takeoff.parquet", facts::takeoff_rows, facts::takeoff),
        // No proposal is made without workbooks.
        false => Ok(()),
    };
    // The longest first; none needs another.
    let files: [&(dyn Fn() -> Result<(), ReportError> + Sync); 9] = [
        &|| findings(Format::Sarif),
        &|| findings(Format::JsonLines),
        &|| findings(Format::Csv),
        &|| findings(Format::Parquet),
        &|| file.write("units.parquet", |job| Ok(job.facts()?.units), facts::units),
        &|| file.write("tallies.parquet", facts::tally_rows, facts::tallies),
        &|| file.write("jobs.parquet", |job| Ok(vec![job]), facts::jobs),
        &|| {
            let systems = |job: Job| Ok(job.facts()?.systems);
            file.write("systems.parquet", systems, facts::systems)
        },
        &takeoff,
    ];
    files
        .par_iter()
        .with_max_len(1)
        .try_for_each(|write| write())
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
