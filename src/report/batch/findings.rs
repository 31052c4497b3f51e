//! Rows of the sheet *Findings*: equal findings of many dwellings as one
//! group, their rows outlined below it.

use super::JobRow;
use crate::findings::Dwellings;
use crate::report::groups::{self, Line};
use crate::report::page::{self, Cell, Column};
use crate::report::record::Record;

pub(super) const COLUMNS: [Column; 15] = [
    ("Job", 22.0),
    ("Severity", 10.0),
    ("Rule", 19.0),
    ("Subject", 15.0),
    ("What is wrong", 48.0),
    ("Found", 11.0),
    ("Limit", 18.0),
    ("What to do", 40.0),
    ("File", 20.0),
    ("Sheet", 12.0),
    ("Cell", 8.0),
    ("Source", 22.0),
    ("Since", 16.0),
    ("Accepted", 26.0),
    ("Id", 14.0),
];
/// Columns that are hidden where no job fills them.
pub(super) const SINCE: u16 = 12;
pub(super) const ACCEPTED: u16 = 13;

/// One line of a job's findings; `linked` where the sheet has room for more
/// links.
pub(super) fn row(
    job: &JobRow,
    line: &Line<&Record>,
    dwellings: &Dwellings,
    linked: bool,
) -> Vec<Cell> {
    let Some(finding) = line.items().first() else {
        return Vec::new();
    };
    let workbook = job.workbook.as_ref().filter(|_| linked);
    let severity = match finding.stands() {
        true => Cell::Severity(finding.severity),
        false => Cell::Section(format!("{}, accepted", finding.severity)),
    };
    let job = Cell::link(
        workbook.and_then(|path| page::outside(path, None)),
        &job.job,
    );
    let mut cells = vec![job, severity];
    let own = [
        &finding.rule,
        &finding.subject,
        &finding.message,
        &finding.found,
        &finding.limit,
        &finding.remedy,
        &finding.file,
        &finding.sheet,
        &finding.cell,
        &finding.source,
        &finding.since,
        &finding.accepted_text(),
        &finding.id,
    ];
    match line {
        Line::One(_) | Line::Member(_) => cells.extend(own.map(|text| Cell::text(text.as_str()))),
        Line::Group(members) => {
            let doors = groups::dwellings(members);
            let kind = finding.dwelling_type.as_str();
            let subject = format!(
                "{}, {}",
                finding.subject_in_dwelling(),
                groups::short(&doors, kind, dwellings)
            );
            let message = format!(
                "{}. In {}: {}",
                groups::naming(&doors, kind, dwellings),
                finding.dwelling,
                finding.message
            );
            let ids = counted_ids(members.len());
            let mut texts = own.map(String::clone);
            texts[1] = subject;
            texts[2] = message;
            texts[8] = String::new();
            texts[12] = ids;
            cells.extend(texts.map(Cell::Group));
        }
    }
    cells
}

/// The ids themselves stand in the rows below.
fn counted_ids(members: usize) -> String {
    format!("{members} below")
}
