//! What is about all jobs together, from what stays of each.

use super::outputs::OutputFolder;
use super::run::{Batch, BatchError, Review};
use super::{accepted, across, machine};
use crate::findings::{NotCheckedTally, RuleTally};
use crate::practice::Practice;
use crate::report::batch::{BatchBook, BatchEnd, JobRow, UnreadFile};
use crate::report::facts::JobResult;
use crate::report::groups::Counts;
use crate::report::{compare, frame, summary, takeoff, text};
use crate::rules;
use jiff::civil::Date;
use std::collections::BTreeMap;

/// What is known beside the jobs.
pub(super) struct Whole<'a> {
    pub as_of: Date,
    pub practice: &'a Practice,
    pub unread: &'a [UnreadFile],
    /// Files that are no schedules.
    pub others: u64,
    /// The output folder as the user named it.
    pub shown: &'a str,
    /// Whether workbooks are written, or the lists alone.
    pub workbooks: bool,
    pub review: &'a Review,
}

/// Judges the jobs against each other and writes the outputs of the batch.
pub(super) fn finish(
    whole: &Whole,
    out: &OutputFolder,
    mut jobs: Vec<JobResult>,
) -> Result<Batch, BatchError> {
    let across = across::judge(&mut jobs, &whole.practice.nameplates)?;
    let review = whole.review;
    for job in &mut jobs {
        job.findings.retain(|f| f.severity >= review.least());
    }
    let since = review.since.as_ref();
    let compared = since.map(|since| since.compare(&mut jobs, review.least()));
    let mut tallies = sum_tallies(&jobs);
    tallies.extend(across);
    let mut jobs_bytes = Vec::new();
    let mut jobs_csv = text::JobsCsv::new(&mut jobs_bytes)?;
    for job in &jobs {
        jobs_csv.add(&job.row)?;
    }
    if whole.workbooks {
        let mut book =
            BatchBook::new(whole.as_of, jobs.iter().map(|job| job.findings.len()).sum())?;
        for job in &jobs {
            book.add(job)?;
        }
        let end = BatchEnd {
            jobs: &jobs,
            tallies: &tallies,
            unread: whole.unread,
            other_files: whole.others,
            practice: whole.practice,
            compared: compared.as_ref(),
        };
        out.write("batch.xlsx", &book.finish(&end)?)?;
    }
    jobs_csv.finish()?;
    out.write("jobs.csv", &jobs_bytes)?;
    if whole.workbooks {
        let mut takeoff_bytes = Vec::new();
        let mut takeoff_csv = takeoff::TakeoffCsv::new(&mut takeoff_bytes)?;
        for job in &jobs {
            takeoff_csv.add(&job.row.job, &job.takeoff)?;
        }
        takeoff_csv.finish()?;
        out.write("takeoff.csv", &takeoff_bytes)?;
    }
    if let Some(compared) = &compared {
        out.write("compared.csv", &compare::csv(compared)?)?;
    }
    let ready = accepted::file(&jobs);
    if !ready.is_empty() {
        out.write("accepted.toml", ready.as_bytes())?;
    }
    machine::write(out, &jobs, whole.unread)?;
    let rows: Vec<JobRow> = jobs.iter().map(|job| job.row.clone()).collect();
    let summary = summary::summary(&summary::SummaryView {
        jobs: &rows,
        rules: &frame::rules_by_severity(&frame::counted_findings(&jobs)?)?,
        unread: whole.unread.len(),
        out: whole.shown,
        workbooks: whole.workbooks,
        tallies: &tallies,
        distinct: distinct(&jobs),
        compared: compared.as_ref(),
        least: review.least(),
    })?;
    let worst = rows
        .iter()
        .filter(|row| row.counts())
        .filter_map(|row| row.worst.map(|(severity, _)| severity))
        .max();
    Ok(Batch {
        summary,
        unread: 0,
        warnings: accepted::warnings(&jobs, &review.accepted),
        worst,
    })
}

/// What stands in the jobs that count, equal findings of many dwellings as
/// one.
fn distinct(jobs: &[JobResult]) -> Counts {
    jobs.iter()
        .filter(|job| job.counts())
        .map(|job| Counts::of_records(&job.findings))
        .fold(Counts::default(), |sum, of| sum + of)
}

/// Sums of the counted jobs' tallies, in the order of the registry.
fn sum_tallies(jobs: &[JobResult]) -> Vec<RuleTally> {
    rules::ALL
        .iter()
        .enumerate()
        .map(|(at, rule)| {
            let mut sum = RuleTally {
                rule: rule.name,
                met: 0,
                broken: 0,
                not_checked: Vec::new(),
            };
            let mut wants: BTreeMap<String, u64> = BTreeMap::new();
            let counted = jobs.iter().filter(|job| job.counts());
            for tally in counted.filter_map(|job| job.tallies.get(at)) {
                sum.met += tally.met;
                sum.broken += tally.broken;
                for missing in &tally.not_checked {
                    *wants.entry(missing.wants.clone()).or_default() += missing.subjects;
                }
            }
            sum.not_checked = wants
                .into_iter()
                .map(|(wants, subjects)| NotCheckedTally { wants, subjects })
                .collect();
            sum
        })
        .collect()
}
