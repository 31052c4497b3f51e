//! The batch as data frames: one row a job, one a finding, and what is
//! counted over them. Every query ends in a sort by its full key, so that
//! its rows do not depend on how it was carried out.

use super::ReportError;
use super::batch::JobRow;
use crate::findings::{Disposition, Severity};
use polars::prelude::*;

/// One row a job; `order` is its disposition's place, the worst first.
///
/// # Errors
/// None but those of the library.
pub fn jobs(rows: &[JobRow]) -> Result<DataFrame, ReportError> {
    let order = |disposition| {
        let found = Disposition::ALL.iter().position(|d| *d == disposition);
        found.unwrap_or(Disposition::ALL.len()) as u32
    };
    fn column<T>(rows: &[JobRow], pick: impl Fn(&JobRow) -> T) -> Vec<T> {
        rows.iter().map(pick).collect()
    }
    let columns = vec![
        Column::new("job".into(), column(rows, |j| j.job.clone())),
        Column::new("file".into(), column(rows, |j| j.files.join("; "))),
        Column::new("disposition".into(), column(rows, |j| j.disposition.name())),
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
        .agg([
            col("id").count().alias("findings"),
            col("job").n_unique().alias("jobs"),
        ])
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
pub fn worst_jobs(rows: &[JobRow], most: usize) -> Result<Vec<usize>, ReportError> {
    let mut frame = jobs(rows)?;
    let index: Vec<u32> = (0..rows.len() as u32).collect();
    frame.with_column(Column::new("index".into(), index))?;
    let keys = ["order", "fix", "verify", "job", "file", "index"];
    let descending = [false, true, true, false, false, false];
    let clean = Disposition::NoExceptionsNoted.name();
    let sorted = frame
        .lazy()
        .filter(col("disposition").neq(lit(clean)))
        .sort(
            keys,
            SortMultipleOptions::default().with_order_descending_multi(descending),
        )
        .limit(most as IdxSize)
        .collect()?;
    let index = sorted.column("index")?.u32()?;
    Ok(index.iter().flatten().map(|index| index as usize).collect())
}
