//! The sheet *Submitters*: who repeats what.

use crate::findings::Severity;
use crate::report::ReportError;
use crate::report::frame::{self, Habit};
use crate::report::jobs::Jobs;
use crate::report::page::{Cell, Column};
use polars::prelude::DataFrame;
use std::collections::BTreeMap;

pub(super) const COLUMNS: [Column; 7] = [
    ("Submitted by", 30.0),
    ("Jobs", 8.0),
    ("Severity", 10.0),
    ("Rule", 30.0),
    ("Findings", 10.0),
    ("In jobs", 9.0),
    ("Repeated", 26.0),
];

/// What jobs that do not say who submitted them stand under.
pub(super) const UNSTATED: &str = "not stated";

pub(super) fn leads() -> Vec<String> {
    vec![
        "Who repeats what: each rule that a submitter's current jobs break, the most widespread first."
            .to_owned(),
    ]
}

/// What a submitter is listed as.
pub(super) fn shown(submitter: &str) -> &str {
    if submitter.is_empty() {
        UNSTATED
    } else {
        submitter
    }
}

/// Current jobs by submitter.
fn jobs_of<'a>(jobs: &'a Jobs) -> BTreeMap<&'a str, u64> {
    let mut count = BTreeMap::new();
    for job in jobs.counted() {
        *count
            .entry(job.row().about.submitted_by.as_str())
            .or_default() += 1;
    }
    count
}

pub(super) fn rows(jobs: &Jobs, findings: &DataFrame) -> Result<Vec<Vec<Cell>>, ReportError> {
    let habits = frame::habits(findings)?;
    let of = jobs_of(jobs);
    Ok(habits
        .iter()
        .map(|habit| {
            row(
                habit,
                of.get(habit.submitter.as_str()).copied().unwrap_or(0),
            )
        })
        .collect())
}

fn row(habit: &Habit, jobs: u64) -> Vec<Cell> {
    let repeated = match habit.jobs {
        0 | 1 => Cell::text(""),
        // Advice that is not taken is no mistake.
        hit if habit.severity == Severity::Note => Cell::text(format!("in {hit} of {jobs} jobs")),
        hit => Cell::Tint(habit.severity, format!("in {hit} of {jobs} jobs")),
    };
    vec![
        Cell::text(shown(&habit.submitter)),
        Cell::Count(jobs),
        Cell::Severity(habit.severity),
        Cell::text(&habit.rule),
        Cell::Count(habit.findings),
        Cell::Count(habit.jobs),
        repeated,
    ]
}
