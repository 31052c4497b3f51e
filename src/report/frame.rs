//! The batch as data frames: one row a job, one a finding, and what is
//! counted over them. Every query ends in a sort by its full key, so that
//! its rows do not depend on how it was carried out.

use super::ReportError;
use super::batch::JobRow;
use super::jobs::Jobs;
use crate::findings::{Disposition, Severity};
use polars::prelude::*;
use std::collections::BTreeMap;

/// One row a job; `order` is its disposition's place, the worst first.
///
/// # Errors
/// None but those of the library.
pub fn jobs(rows: &[&JobRow]) -> Result<DataFrame, ReportError> {
    let order = |disposition| {
        let found = Disposition::ALL.iter().position(|d| *d == disposition);
        found.unwrap_or(Disposition::ALL.len()) as u32
    };
    fn column<T>(rows: &[&JobRow], pick: impl Fn(&JobRow) -> T) -> Vec<T> {
        rows.iter().map(|row| pick(row)).collect()
    }
    let columns = vec![
        Column::new("job".into(), column(rows, |j| j.job.clone())),
        Column::new("file".into(), column(rows, |j| j.files.join("; "))),
        Column::new("disposition".into(), column(rows, |j| j.disposition.name())),
        Column::new("counts".into(), column(rows, JobRow::counts)),
        Column::new("order".into(), column(rows, |j| order(j.disposition))),
        Column::new("fix".into(), column(rows, |j| j.fix as u64)),
        Column::new("verify".into(), column(rows, |j| j.verify as u64)),
        Column::new("note".into(), column(rows, |j| j.note as u64)),
        Column::new(
            "workbook".into(),
            column(rows, |j| j.workbook.clone().unwrap_or_default()),
        ),
    ];
    Ok(DataFrame::new(rows.len(), columns)?)
}

/// Findings that stand in the jobs that totals count, one row a job (its
/// position), rule and severity: submitter, rule, severity, job, findings.
///
/// # Errors
/// As [`super::jobs::Job::findings`].
pub fn counted_findings(jobs: &Jobs) -> Result<DataFrame, ReportError> {
    let (mut submitter, mut rule, mut severity) = (Vec::new(), Vec::new(), Vec::new());
    let (mut job, mut findings) = (Vec::new(), Vec::new());
    for (at, of) in jobs.iter().enumerate().filter(|(_, job)| job.counts()) {
        let mut counts: BTreeMap<(String, Severity), u64> = BTreeMap::new();
        for finding in of.findings()?.into_iter().filter(|f| f.stands()) {
            *counts.entry((finding.rule, finding.severity)).or_default() += 1;
        }
        for ((broken, how), count) in counts {
            submitter.push(of.row().about.submitted_by.as_str());
            rule.push(broken);
            severity.push(how.name());
            job.push(at as u32);
            findings.push(count);
        }
    }
    let height = job.len();
    let columns = vec![
        Column::new("submitter".into(), submitter),
        Column::new("rule".into(), rule),
        Column::new("severity".into(), severity),
        Column::new("job".into(), job),
        Column::new("findings".into(), findings),
    ];
    Ok(DataFrame::new(height, columns)?)
}

/// How often one submitter breaks one rule.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Habit {
    pub submitter: String,
    pub rule: String,
    pub severity: Severity,
    pub findings: u64,
    pub jobs: u64,
}

/// Findings by submitter, rule and severity; of each submitter what stands in
/// most jobs first.
///
/// # Errors
/// None but those of the library.
pub fn habits(findings: &DataFrame) -> Result<Vec<Habit>, ReportError> {
    let counted = findings
        .clone()
        .lazy()
        .group_by([col("submitter"), col("rule"), col("severity")])
        .agg([col("findings").sum(), col("job").n_unique().alias("jobs")])
        .sort(
            ["submitter", "jobs", "findings", "rule", "severity"],
            SortMultipleOptions::default()
                .with_order_descending_multi([false, true, true, false, false]),
        )
        .collect()?;
    let text = |name: &str| -> Result<Vec<String>, ReportError> {
        let column = counted.column(name)?.str()?;
        Ok(column
            .iter()
            .map(|v| v.unwrap_or_default().to_owned())
            .collect())
    };
    let count = |name: &str| -> Result<Vec<u64>, ReportError> {
        let column = counted.column(name)?.cast(&DataType::UInt64)?;
        Ok(column
            .u64()?
            .iter()
            .map(Option::unwrap_or_default)
            .collect())
    };
    let (submitters, rules, severities) = (text("submitter")?, text("rule")?, text("severity")?);
    let (findings, jobs) = (count("findings")?, count("jobs")?);
    let rows = submitters
        .into_iter()
        .zip(rules)
        .zip(severities)
        .zip(findings.into_iter().zip(jobs));
    Ok(rows
        .filter_map(|(((submitter, rule), severity), (findings, jobs))| {
            let severity = Severity::ALL.into_iter().find(|s| s.name() == severity)?;
            Some(Habit {
                submitter,
                rule,
                severity,
                findings,
                jobs,
            })
        })
        .collect())
}

/// How often a rule was broken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RuleCount {
    pub rule: String,
    pub severity: Severity,
    pub findings: u64,
    /// Jobs in which it stands.
    pub jobs: u64,
}

/// Findings by rule and severity, the most frequent first.
///
/// # Errors
/// None but those of the library.
pub fn rules_by_severity(findings: &DataFrame) -> Result<Vec<RuleCount>, ReportError> {
    let counted = findings
        .clone()
        .lazy()
        .group_by([col("rule"), col("severity")])
        .agg([col("findings").sum(), col("job").n_unique().alias("jobs")])
        .sort(
            ["findings", "rule", "severity"],
            SortMultipleOptions::default().with_order_descending_multi([true, false, false]),
        )
        .collect()?;
    let rules = counted.column("rule")?.str()?;
    let severities = counted.column("severity")?.str()?;
    let findings = counted.column("findings")?.cast(&DataType::UInt64)?;
    let jobs = counted.column("jobs")?.cast(&DataType::UInt64)?;
    let (findings, jobs) = (findings.u64()?, jobs.u64()?);
    let rows = rules
        .iter()
        .zip(severities.iter())
        .zip(findings.iter().zip(jobs.iter()));
    Ok(rows
        .filter_map(|((rule, severity), (findings, jobs))| {
            let severity = Severity::ALL
                .into_iter()
                .find(|s| Some(s.name()) == severity)?;
            Some(RuleCount {
                rule: rule?.to_owned(),
                severity,
                findings: findings?,
                jobs: jobs?,
            })
        })
        .collect())
}

/// Positions in `rows` of the worst jobs: by disposition, then most to fix,
/// then most to verify, then job and file. Jobs without exceptions are left
/// out.
///
/// # Errors
/// None but those of the library.
pub fn worst_jobs(rows: &[&JobRow], most: usize) -> Result<Vec<usize>, ReportError> {
    let mut frame = jobs(rows)?;
    let index: Vec<u32> = (0..rows.len() as u32).collect();
    frame.with_column(Column::new("index".into(), index))?;
    let keys = ["order", "fix", "verify", "job", "file", "index"];
    let descending = [false, true, true, false, false, false];
    let clean = Disposition::NoExceptionsNoted.name();
    let sorted = frame
        .lazy()
        .filter(col("disposition").neq(lit(clean)).and(col("counts")))
        .sort(
            keys,
            SortMultipleOptions::default().with_order_descending_multi(descending),
        )
        .limit(most as IdxSize)
        .collect()?;
    let index = sorted.column("index")?.u32()?;
    Ok(index.iter().flatten().map(|index| index as usize).collect())
}
