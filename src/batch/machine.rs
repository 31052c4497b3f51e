//! The outputs of a batch that programs read: its findings in every format,
//! and the facts of its jobs as Parquet.

use super::outputs::OutputFolder;
use crate::findings::{RuleTally, Severity};
use crate::report::ReportError;
use crate::report::batch::{JobRow, UnreadFile};
use crate::report::facts::{self, JobFacts, SystemFact, UnitFact};
use crate::report::formats::{self, About, Format};
use crate::report::record::Record;
use crate::rules;
use polars::prelude::DataFrame;

/// What the jobs leave behind, in their order.
#[derive(Debug, Default)]
pub(super) struct All {
    pub findings: Vec<Record>,
    pub units: Vec<UnitFact>,
    pub systems: Vec<SystemFact>,
    tallies: Vec<(JobRow, Vec<RuleTally>)>,
}

impl All {
    pub fn add(
        &mut self,
        row: &JobRow,
        findings: Vec<Record>,
        facts: JobFacts,
        tallies: &[RuleTally],
    ) {
        self.findings.extend(findings);
        self.units.extend(facts.units);
        self.systems.extend(facts.systems);
        self.tallies.push((row.clone(), tallies.to_vec()));
    }

    /// Writes all of them; gives the findings as a frame.
    ///
    /// # Errors
    /// Where a file cannot be written.
    pub fn write(
        &self,
        out: &OutputFolder,
        rows: &[JobRow],
        unread: &[UnreadFile],
    ) -> Result<DataFrame, ReportError> {
        let rules = declared();
        for format in Format::ALL {
            out.write(
                format.file(),
                &format.bytes(&self.findings, &rules, unread)?,
            )?;
        }
        let tallies: Vec<(&JobRow, &[RuleTally])> = self
            .tallies
            .iter()
            .map(|(row, tallies)| (row, tallies.as_slice()))
            .collect();
        for (name, frame) in [
            ("jobs.parquet", facts::jobs(rows)?),
            ("units.parquet", facts::units(&self.units)?),
            ("systems.parquet", facts::systems(&self.systems)?),
            ("tallies.parquet", facts::tallies(&tallies)?),
        ] {
            out.write(name, &formats::parquet(frame)?)?;
        }
        formats::findings_frame(&self.findings)
    }
}

/// What the rules say of themselves, in the order of the catalogue.
pub(super) fn declared() -> Vec<About> {
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
        .collect()
}
