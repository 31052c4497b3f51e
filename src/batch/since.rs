//! An audit against an earlier one: what is new, and since when the rest has
//! been open.

use super::compare;
use super::options::BatchError;
use crate::findings::{Audit, Severity};
use crate::report::ReportError;
use crate::report::compare::{Comparison, Fate, JobState, Side, compare};
use crate::report::jobs::Jobs;
use crate::report::list::GoneRow;
use crate::report::record::{NEW, Record};
use crate::schedule::Schedule;
use std::collections::BTreeMap;
use std::path::Path;

const OPEN: &str = "open since ";

/// An earlier audit folder.
#[derive(Clone, Debug, Default)]
pub struct Since {
    side: Side,
    /// By job key.
    jobs: BTreeMap<String, JobState>,
    /// By finding id: since when it is open.
    open: BTreeMap<String, String>,
    by_job: BTreeMap<String, Side>,
}

impl Since {
    /// Reads an audit folder.
    ///
    /// # Errors
    /// Where it is none, or what it holds cannot be read.
    pub fn read(folder: &Path) -> Result<Self, BatchError> {
        let side = compare::audited(folder)?;
        let jobs: BTreeMap<String, JobState> = side
            .jobs
            .iter()
            .map(|job| (job.key.clone(), job.clone()))
            .collect();
        let mut since = Self {
            jobs,
            ..Self::default()
        };
        for finding in &side.findings {
            let text = match finding.since.starts_with(OPEN) {
                true => finding.since.clone(),
                false => format!("{OPEN}{}", since.stood_in(&finding.job_key)),
            };
            since.open.insert(finding.id.clone(), text);
            let of_job = since.by_job.entry(finding.job_key.clone()).or_default();
            of_job.findings.push(finding.clone());
        }
        for ((key, rule), count) in &side.unchecked {
            let of_job = since.by_job.entry(key.clone()).or_default();
            of_job.unchecked.insert((key.clone(), rule.clone()), *count);
        }
        since.side = side;
        Ok(since)
    }

    /// `revision 2`, `2026-03-01`, `the audit before`.
    fn stood_in(&self, key: &str) -> String {
        let Some(job) = self.jobs.get(key) else {
            return "the audit before".to_owned();
        };
        match (job.revision.trim(), job.date.trim()) {
            ("", "") => "the audit before".to_owned(),
            ("", date) => date.to_owned(),
            (revision, _) if revision.to_lowercase().starts_with("rev") => revision.to_owned(),
            (revision, _) => format!("revision {revision}"),
        }
    }

    fn of(&self, id: &str) -> String {
        self.open.get(id).cloned().unwrap_or_else(|| NEW.to_owned())
    }

    /// Marks a job's findings; those of the earlier audit that it has no
    /// more.
    pub fn mark(&self, schedule: &Schedule, audit: &mut Audit) -> Vec<GoneRow> {
        for finding in &mut audit.findings {
            finding.since = self.of(&finding.id);
        }
        let Some(old) = self.by_job.get(&schedule.key) else {
            return Vec::new();
        };
        let state = |key: &str| JobState {
            key: key.to_owned(),
            ..JobState::default()
        };
        let unchecked = audit.tallies.iter().map(|tally| {
            let key = (schedule.key.clone(), tally.rule.to_owned());
            (key, tally.not_checked_total())
        });
        let new = Side {
            findings: audit
                .findings
                .iter()
                .map(|finding| Record::new(schedule, finding))
                .collect(),
            jobs: vec![state(&schedule.key)],
            unchecked: unchecked.collect(),
        };
        let old = Side {
            jobs: vec![state(&schedule.key)],
            findings: old
                .findings
                .iter()
                .filter(|f| of_a_job(f))
                .cloned()
                .collect(),
            unchecked: old.unchecked.clone(),
        };
        let stood = self.stood_in(&schedule.key);
        compare(&old, &new)
            .findings
            .into_iter()
            .filter(|compared| matches!(compared.fate, Fate::Gone | Fate::GoneUnchecked))
            .map(|compared| GoneRow {
                fate: match compared.fate {
                    Fate::Gone => format!("gone; stood in {stood}"),
                    _ => format!("not found, checked less than in {stood}"),
                },
                rule: compared.finding.rule,
                subject: compared.finding.subject,
                message: compared.finding.message,
                found: compared.finding.found,
                id: compared.finding.id,
            })
            .collect()
    }

    /// The whole batch against the earlier one; marks findings across jobs,
    /// which no job knows of itself. `least` is the least severity listed.
    ///
    /// # Errors
    /// As [`crate::report::jobs::Job::findings`].
    pub(super) fn compare(
        &self,
        jobs: &mut Jobs,
        least: Severity,
    ) -> Result<Comparison, ReportError> {
        jobs.mark_since(|id| self.of(id))?;
        let mut old = self.side.clone();
        old.findings.retain(|finding| finding.severity >= least);
        let mut new = Side::default();
        for job in jobs.counted() {
            let row = job.row();
            new.jobs.push(JobState {
                key: row.about.key.clone(),
                job: row.job.clone(),
                revision: row.about.revision.clone(),
                date: row.about.date.clone(),
                disposition: row.disposition_text(),
            });
            new.findings.extend(job.findings()?);
            for tally in job.tallies()? {
                let key = (row.about.key.clone(), tally.rule.to_owned());
                *new.unchecked.entry(key).or_default() += tally.not_checked_total();
            }
        }
        Ok(compare(&old, &new))
    }
}

/// Findings across jobs stand in no job's own list.
fn of_a_job(finding: &Record) -> bool {
    crate::rules::by_name(&finding.rule).is_some()
}
