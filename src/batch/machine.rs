//! The outputs of a batch that programs read: its findings in every format,
//! and the facts of its jobs as Parquet.

use super::across;
use super::outputs::OutputFolder;
use crate::findings::Severity;
use crate::report::ReportError;
use crate::report::batch::UnreadFile;
use crate::report::facts::{self, JobResult, SystemFact, UnitFact};
use crate::report::formats::{self, About, Format};
use crate::report::record::Record;
use crate::rules;

/// Writes all of them.
///
/// # Errors
/// Where a file cannot be written.
pub(super) fn write(
    out: &OutputFolder,
    jobs: &[JobResult],
    unread: &[UnreadFile],
    workbooks: bool,
) -> Result<(), ReportError> {
    let rules = declared();
    let findings: Vec<&Record> = jobs.iter().flat_map(|job| &job.findings).collect();
    for format in Format::ALL {
        out.write_with(format.file(), |out| {
            format.write(out, &findings, &rules, unread)
        })?;
    }
    let units: Vec<&UnitFact> = jobs.iter().flat_map(|job| &job.facts.units).collect();
    let systems: Vec<&SystemFact> = jobs.iter().flat_map(|job| &job.facts.systems).collect();
    let mut frames = vec![
        ("jobs.parquet", facts::jobs(jobs)?),
        ("units.parquet", facts::units(&units)?),
        ("systems.parquet", facts::systems(&systems)?),
        ("tallies.parquet", facts::tallies(jobs)?),
    ];
    // No proposal is made without workbooks.
    if workbooks {
        frames.push(("takeoff.parquet", facts::takeoff(jobs)?));
    }
    for (name, frame) in frames {
        out.write(name, &formats::parquet(frame)?)?;
    }
    Ok(())
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
