//! The sheet *Twins*: dwellings or systems of one type that differ.

use crate::report::ReportError;
use crate::report::jobs::Jobs;
use crate::report::page::{self, Cell, Column};

pub(super) const COLUMNS: [Column; 8] = [
    ("Job", 26.0),
    ("Dwelling", 14.0),
    ("Subject", 18.0),
    ("How it differs", 64.0),
    ("Here", 20.0),
    ("In the others", 26.0),
    ("Where", 30.0),
    ("Id", 14.0),
];

/// The rule whose findings stand here.
const RULE: &str = "twin-units-differ";

pub(super) fn leads(rows: &[Vec<Cell>]) -> Vec<String> {
    vec![
        match rows.is_empty() {
            true => {
                "No twins differ. Only dwellings and systems that name their type are compared."
            }
            false => "Dwellings or systems of one declared type that differ from the others of it.",
        }
        .to_owned(),
    ]
}

pub(super) fn rows(jobs: &Jobs) -> Result<Vec<Vec<Cell>>, ReportError> {
    let mut rows = Vec::new();
    for job in jobs.counted() {
        let workbook = job.row().workbook.as_deref();
        let findings = job.findings()?;
        for finding in findings.iter().filter(|f| f.rule == RULE) {
            let place = match finding.sheet.as_str() {
                "" => format!("{} {}", finding.file, finding.cell),
                sheet => format!("{} {sheet}!{}", finding.file, finding.cell),
            };
            rows.push(vec![
                Cell::link(
                    workbook.and_then(|path| page::outside(path, None)),
                    &job.row().job,
                ),
                Cell::text(&finding.dwelling),
                Cell::text(&finding.subject),
                Cell::text(match finding.stands() {
                    true => finding.message.clone(),
                    false => format!(
                        "Accepted by {} {}",
                        finding.accepted_text(),
                        finding.message
                    ),
                }),
                Cell::text(&finding.found),
                Cell::text(&finding.limit),
                Cell::text(place),
                Cell::text(&finding.id),
            ]);
        }
    }
    Ok(rows)
}
