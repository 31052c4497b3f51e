//! What is about all jobs together, from what stays of each.

use super::held::{RUN, RunFacts};
use super::options::{Batch, BatchError, Review};
use super::outputs::OutputFolder;
use super::{accepted, across, machine};
use crate::findings::{NotCheckedTally, RuleTally, Severity};
use crate::practice::Practice;
use crate::report::ReportError;
use crate::report::batch::{BatchBook, BatchEnd, JobRow};
use crate::report::copy::CopyTold;
use crate::report::jobs::Jobs;
use crate::report::{compare, frame, summary, takeoff, text};
use crate::rules;
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};

/// What is known beside the jobs.
pub(super) struct Whole<'a> {
    pub run: RunFacts,
    pub practice: &'a Practice,
    /// The output folder as the user named it.
    pub shown: &'a str,
    pub review: &'a Review,
    /// Jobs that were taken from an earlier audit.
    pub reused: usize,
    /// What *Basis* says of this batch beside its date and edition: each a
    /// name and a sentence.
    pub notes: Vec<(String, String)>,
}

/// Judges the jobs against each other and writes the outputs of the batch,
/// whether the jobs were audited now or their facts read back.
pub(super) fn finish(
    whole: &Whole,
    out: &OutputFolder,
    mut jobs: Jobs,
) -> Result<Batch, BatchError> {
    let across = across::judge(&mut jobs)?;
    let review = whole.review;
    if whole.run.least > Severity::Note {
        jobs.list_from(whole.run.least)?;
    }
    let since = review.since.as_ref();
    let compared = since
        .map(|since| since.compare(&mut jobs, whole.run.least))
        .transpose()?;
    let jobs = &jobs;
    let counted = frame::counted_findings(jobs)?;
    let distinct = jobs.distinct()?;
    let mut tallies = sum_tallies(jobs)?;
    tallies.extend(across);
    let mut jobs_bytes = Vec::new();
    let mut jobs_csv = text::JobsCsv::new(&mut jobs_bytes)?;
    for row in jobs.rows() {
        jobs_csv.add(row)?;
    }
    let (unread, workbooks) = (&whole.run.unread, whole.run.workbooks);
    let mut notes = whole.notes.clone();
    notes.extend(whole.run.nameplates_note());
    let end = BatchEnd {
        jobs,
        counted: &counted,
        distinct,
        tallies: &tallies,
        unread,
        other_files: whole.run.others,
        practice: whole.practice,
        compared: compared.as_ref(),
        notes: &notes,
    };
    let book = || match workbooks {
        true => write_book(whole.run.as_of, &end, out),
        false => Ok(()),
    };
    let (book, machine) = rayon::join(book, || machine::write(out, jobs, unread, workbooks));
    book?;
    machine?;
    jobs_csv.finish()?;
    out.write("jobs.csv", &jobs_bytes)?;
    if workbooks {
        let mut takeoff_bytes = Vec::new();
        let mut takeoff_csv = takeoff::TakeoffCsv::new(&mut takeoff_bytes)?;
        for job in jobs.iter() {
            takeoff_csv.add(&job.row().job, &job.takeoff()?)?;
        }
        takeoff_csv.finish()?;
        out.write("takeoff.csv", &takeoff_bytes)?;
    }
    if let Some(compared) = &compared {
        out.write("compared.csv", &compare::csv(compared)?)?;
    }
    let ready = accepted::file(jobs)?;
    if !ready.is_empty() {
        out.write("accepted.toml", ready.as_bytes())?;
    }
    let rows: Vec<&JobRow> = jobs.rows().collect();
    let run = RunFacts {
        copies: copies(jobs),
        ..whole.run.clone()
    };
    out.write(RUN, &run.bytes()?)?;
    let summary = summary::summary(&summary::SummaryView {
        jobs: &rows,
        rules: &frame::rules_by_severity(&counted)?,
        unread: unread.len(),
        out: whole.shown,
        workbooks,
        reused: whole.reused,
        tallies: &tallies,
        distinct,
        compared: compared.as_ref(),
        least: whole.run.least,
        copies: &run.copies,
    })?;
    let worst = jobs
        .rows()
        .filter(|row| row.counts())
        .filter_map(|row| row.worst.map(|(severity, _)| severity))
        .max();
    Ok(Batch {
        summary,
        unread: 0,
        warnings: accepted::warnings(jobs, &review.accepted),
        worst,
    })
}

fn write_book(as_of: Date, end: &BatchEnd, out: &OutputFolder) -> Result<(), ReportError> {
    let mut book = BatchBook::new(as_of, end.jobs.findings())?;
    for job in end.jobs.iter() {
        book.add(job)?;
    }
    Ok(out.write("batch.xlsx", &book.finish(end)?)?)
}

/// A file of many jobs has one copy, and is told of once.
fn copies(jobs: &Jobs) -> Vec<CopyTold> {
    let copies: BTreeSet<&CopyTold> = jobs.rows().flat_map(|row| &row.copies).collect();
    copies.into_iter().cloned().collect()
}

/// Sums of the counted jobs' tallies, in the order of the registry.
fn sum_tallies(jobs: &Jobs) -> Result<Vec<RuleTally>, ReportError> {
    let mut sums: Vec<(RuleTally, BTreeMap<String, u64>)> = rules::ALL
        .iter()
        .map(|rule| (RuleTally::new(rule.name), BTreeMap::new()))
        .collect();
    for job in jobs.counted() {
        for ((sum, wants), tally) in sums.iter_mut().zip(job.tallies()?) {
            sum.met += tally.met;
            sum.broken += tally.broken;
            for missing in tally.not_checked {
                *wants.entry(missing.wants).or_default() += missing.subjects;
            }
        }
    }
    let whole = sums.into_iter().map(|(mut sum, wants)| {
        sum.not_checked = wants
            .into_iter()
            .map(|(wants, subjects)| NotCheckedTally { wants, subjects })
            .collect();
        sum
    });
    Ok(whole.collect())
}
