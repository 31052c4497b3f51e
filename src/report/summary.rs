//! What the terminal says at the end of a batch.

use super::ReportError;
use super::batch::JobRow;
use super::compare::{self, Comparison};
use super::copy::CopyTold;
use super::frame::{self, RuleCount};
use super::groups::Counts;
use super::{counted, style};
use crate::findings::{Disposition, RuleTally, Severity};
use crate::schedule::number;
use std::collections::BTreeMap;
use std::fmt::Write;

const MOST_JOBS: usize = 20;
const MOST_RULES: usize = 10;
const MOST_WANTS: usize = 5;
const MOST_CLAUSES: usize = 6;
/// Files of one clause that are named.
const MOST_NAMED: usize = 2;
const WIDEST_NAME: usize = 40;

/// What the summary is made from.
pub struct SummaryView<'a> {
    pub jobs: &'a [&'a JobRow],
    /// As [`frame::rules_by_severity`] gives them.
    pub rules: &'a [RuleCount],
    /// Files that could not be read.
    pub unread: usize,
    /// The folder with the outputs, as the user named it.
    pub out: &'a str,
    /// Whether workbooks were written, or the lists alone.
    pub workbooks: bool,
    /// Jobs that were taken from an earlier audit.
    pub reused: usize,
    /// Summed over the jobs: how often each rule was met, broken, or could
    /// not be checked.
    pub tallies: &'a [RuleTally],
    /// What stands, equal findings of many dwellings counted once.
    pub distinct: Counts,
    /// Against an earlier audit.
    pub compared: Option<&'a Comparison>,
    /// The least severity that is listed.
    pub least: Severity,
    /// What is to be told of copies of source files, each once.
    pub copies: &'a [CopyTold],
}

/// Plain text, lines ended by `\n`.
///
/// # Errors
/// None but those of the data frames.
pub fn summary(view: &SummaryView) -> Result<String, ReportError> {
    let mut text = String::new();
    jobs_by_disposition(&mut text, view);
    reused(&mut text, view);
    counts(&mut text, view);
    checks(&mut text, view);
    worst(&mut text, view)?;
    rules(&mut text, view);
    copies(&mut text, view);
    places(&mut text, view);
    Ok(text)
}

fn jobs_by_disposition(text: &mut String, view: &SummaryView) {
    line(
        text,
        &format!(
            "{} audited",
            counted(
                view.jobs.iter().filter(|job| job.counts()).count(),
                "job",
                "jobs"
            )
        ),
    );
    for disposition in Disposition::ALL {
        let jobs = view
            .jobs
            .iter()
            .filter(|job| job.counts() && job.disposition == disposition);
        let count = jobs.count();
        if count > 0 {
            let accepted = view
                .jobs
                .iter()
                .filter(|job| job.counts() && job.disposition == disposition)
                .filter(|job| job.accepted > 0)
                .count();
            let accepted = match accepted {
                0 => String::new(),
                accepted => format!(" ({accepted} with accepted exceptions)"),
            };
            line(text, &format!("  {count:>5}  {disposition}{accepted}"));
        }
    }
    let superseded = view.jobs.iter().filter(|job| !job.counts()).count();
    if superseded > 0 {
        line(
            text,
            &format!("  {superseded:>5}  superseded, not counted here or below"),
        );
    }
}

fn reused(text: &mut String, view: &SummaryView) {
    if view.reused > 0 {
        let jobs = counted(view.jobs.len(), "job", "jobs");
        let reused = number(view.reused as f64);
        line(
            text,
            &format!("{reused} of {jobs} unchanged since the last run, and not audited again"),
        );
    }
}

/// How much was looked at, and for want of what the rest was not: silence is
/// no pass.
fn checks(text: &mut String, view: &SummaryView) {
    let sum = |pick: fn(&RuleTally) -> u64| -> String {
        number(view.tallies.iter().map(pick).sum::<u64>() as f64)
    };
    line(
        text,
        &format!(
            "Checks: {} met, {} broken, {} not made (by rule: ampledger rules --of {}{})",
            sum(|tally| tally.met),
            sum(|tally| tally.broken),
            sum(RuleTally::not_checked_total),
            view.out.trim_end_matches('/'),
            match view.workbooks {
                true => ", or sheet Rules of batch.xlsx",
                false => "",
            }
        ),
    );
    let mut wants: BTreeMap<&str, u64> = BTreeMap::new();
    for missing in view.tallies.iter().flat_map(|tally| &tally.not_checked) {
        *wants.entry(&missing.wants).or_default() += missing.subjects;
    }
    let mut wants: Vec<(&str, u64)> = wants.into_iter().collect();
    wants.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(b.0)));
    for (want, subjects) in wants.into_iter().take(MOST_WANTS) {
        let subjects = number(subjects as f64);
        line(text, &format!("  {subjects:>6}  for want of {want}"));
    }
}

fn counts(text: &mut String, view: &SummaryView) {
    let sum = |pick: fn(&JobRow) -> usize| -> usize {
        let counted = view.jobs.iter().filter(|job| job.counts());
        counted.map(|job| pick(job)).sum()
    };
    let count = |count: usize| number(count as f64);
    let all = Counts {
        fix: sum(|job| job.fix),
        verify: sum(|job| job.verify),
        note: sum(|job| job.note),
    };
    line(
        text,
        &format!(
            "\nFindings: {} fix, {} verify, {} note",
            count(all.fix),
            count(all.verify),
            count(all.note)
        ),
    );
    let listed = all.from(view.least);
    if view.distinct != listed {
        let of = view.distinct;
        line(
            text,
            &format!(
                "  Equal ones of many dwellings counted once: {} fix, {} verify, {} note",
                count(of.fix),
                count(of.verify),
                count(of.note)
            ),
        );
    }
    let below = all.total() - listed.total();
    if below > 0 {
        let findings = counted(below, "finding is", "findings are");
        let least = view.least;
        line(
            text,
            &format!("  {findings} below {least} and listed nowhere (--min-severity)"),
        );
    }
    let accepted = sum(|job| job.accepted);
    if accepted > 0 {
        let findings = counted(accepted, "finding is", "findings are");
        line(
            text,
            &format!("  {findings} accepted, listed and not counted"),
        );
    }
    if let Some(compared) = view.compared {
        line(
            text,
            &format!(
                "Since the earlier audit: {} (compared.csv)",
                compare::counts(compared).trim_end_matches('.')
            ),
        );
    }
}

fn worst(text: &mut String, view: &SummaryView) -> Result<(), ReportError> {
    let worst = frame::worst_jobs(view.jobs, MOST_JOBS)?;
    let clean = Disposition::NoExceptionsNoted;
    let all = view
        .jobs
        .iter()
        .filter(|job| job.counts() && job.disposition != clean)
        .count();
    if worst.is_empty() {
        return Ok(());
    }
    let title = match all > worst.len() {
        true => format!("\nWorst jobs ({} of {all})", worst.len()),
        false => "\nJobs with exceptions".to_owned(),
    };
    line(text, &title);
    let rows: Vec<&JobRow> = worst
        .iter()
        .filter_map(|index| view.jobs.get(*index).copied())
        .collect();
    let width = rows
        .iter()
        .map(|job| shortened(&job.job).chars().count())
        .max();
    let width = width.unwrap_or(0);
    for job in rows {
        let name = shortened(&job.job);
        let pad = " ".repeat(width.saturating_sub(name.chars().count()));
        let worst = job.worst.map_or_else(String::new, |(severity, rule)| {
            format!("  {} {rule}", style::word(severity))
        });
        line(
            text,
            &format!(
                "  {name}{pad}  {:<22} {:>4} fix {:>4} verify {:>4} note{worst}",
                job.disposition.name(),
                job.fix,
                job.verify,
                job.note
            ),
        );
    }
    Ok(())
}

fn rules(text: &mut String, view: &SummaryView) {
    let hit: Vec<&RuleCount> = view
        .rules
        .iter()
        .filter(|rule| rule.severity > Severity::Note)
        .take(MOST_RULES)
        .collect();
    if hit.is_empty() {
        return;
    }
    line(text, "\nRules hit most");
    for rule in hit {
        line(
            text,
            &format!(
                "  {:>6}  {:<6}  {}, in {}",
                number(rule.findings as f64),
                style::word(rule.severity),
                rule.rule,
                counted(rule.jobs as usize, "job", "jobs")
            ),
        );
    }
}

/// Copies that are not the author's own workbook, or lack something of ours:
/// how many, why, and which where they are few.
fn copies(text: &mut String, view: &SummaryView) {
    let mut by_clause: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    for copy in view.copies {
        for clause in copy.texts() {
            by_clause.entry(clause).or_default().push(&copy.file);
        }
    }
    if by_clause.is_empty() {
        return;
    }
    line(text, "\nAnnotated copies of the authors' files");
    let mut clauses: Vec<_> = by_clause.into_iter().collect();
    clauses.sort_by(|a, b| b.1.len().cmp(&a.1.len()).then(a.0.cmp(&b.0)));
    let more = clauses.len().saturating_sub(MOST_CLAUSES);
    for (clause, files) in clauses.into_iter().take(MOST_CLAUSES) {
        let count = number(files.len() as f64);
        let named = match files.len() <= MOST_NAMED {
            true => format!(": {}", files.join(", ")),
            false => String::new(),
        };
        line(text, &format!("  {count:>6}  {clause}{named}"));
    }
    if more > 0 {
        line(text, &format!("          and {more} other reasons"));
    }
    let sheet = match view.workbooks {
        true => "the sheets Jobs of batch.xlsx and Basis of each copy",
        false => "the column copy of jobs.csv",
    };
    line(text, &format!("  See {sheet}."));
}

fn places(text: &mut String, view: &SummaryView) {
    if view.unread > 0 {
        let files = counted(view.unread, "file", "files");
        let sheet = match view.workbooks {
            true => ": see Unread in batch.xlsx",
            false => "",
        };
        line(text, &format!("\n{files} could not be read{sheet}"));
    }
    let out = view.out.trim_end_matches('/');
    let start = match view.workbooks {
        true => format!("{out}/batch.xlsx; the workbooks of the jobs are in {out}/jobs"),
        false => format!("{out}/findings.csv; no workbooks were written"),
    };
    line(text, &format!("\nStart with {start}"));
    line(text, "No disposition is an approval: the reviewer signs.");
}

fn line(text: &mut String, line: &str) {
    // Writing to a String cannot fail.
    let _ = writeln!(text, "{line}");
}

fn shortened(name: &str) -> String {
    if name.chars().count() <= WIDEST_NAME {
        return name.to_owned();
    }
    let kept: String = name.chars().take(WIDEST_NAME - 1).collect();
    format!("{kept}\u{2026}")
}
