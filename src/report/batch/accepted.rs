//! The sheet *Accepted*: who answers for what, and whether it still holds.

use super::JobRow;
use crate::findings::{Severity, Standing, Use};
use crate::report::ReportError;
use crate::report::jobs::Jobs;
use crate::report::page::{Cell, Column};
use crate::report::record::Record;

pub(super) const COLUMNS: [Column; 9] = [
    ("Job", 26.0),
    ("Standing", 44.0),
    ("Findings", 10.0),
    ("About", 40.0),
    ("Accepted as found", 18.0),
    ("Reason", 44.0),
    ("By", 20.0),
    ("Until", 12.0),
    ("Stands in", 40.0),
];

pub(super) fn rows(jobs: &Jobs) -> Result<Vec<Vec<Cell>>, ReportError> {
    let mut rows = Vec::new();
    for job in jobs.counted().filter(|job| !job.uses().is_empty()) {
        let findings = job.findings()?;
        rows.extend(job.uses().iter().map(|of| row(job.row(), of, &findings)));
    }
    Ok(rows)
}

fn row(job: &JobRow, of: &Use, findings: &[Record]) -> Vec<Cell> {
    let acceptance = &of.acceptance;
    let first = of.ids.first();
    let finding = first.and_then(|id| findings.iter().find(|f| f.id == *id));
    let standing = of.standing.text();
    let covered = match of.standing {
        Standing::Holds => of.ids.len(),
        _ => 0,
    };
    vec![
        Cell::text(&job.job),
        match of.standing {
            Standing::Holds => Cell::text(standing),
            _ => Cell::Tint(Severity::Verify, standing),
        },
        Cell::Count(covered as u64),
        Cell::text(match finding {
            Some(finding) if of.ids.len() == 1 => {
                format!("{} {}", finding.rule, finding.subject)
            }
            _ => acceptance.about(),
        }),
        Cell::text(&acceptance.found),
        Cell::text(&acceptance.reason),
        Cell::text(&acceptance.by),
        Cell::text(
            acceptance
                .until
                .map_or_else(String::new, |until| until.to_string()),
        ),
        Cell::text(&acceptance.origin),
    ]
}
