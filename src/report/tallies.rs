//! The sheet *Rules*: how often each was met, broken, and could not be
//! checked, and for want of what.

use super::page::{Cell, Column};
use crate::findings::{NotCheckedTally, RuleTally};
use crate::schedule::number;

pub(super) const COLUMNS: [Column; 5] = [
    ("Rule", 30.0),
    ("Met", 10.0),
    ("Broken", 10.0),
    ("Not checked", 13.0),
    ("For want of (how often)", 90.0),
];

pub(super) fn rows(tallies: &[RuleTally]) -> Vec<Vec<Cell>> {
    tallies
        .iter()
        .map(|tally| {
            vec![
                Cell::text(tally.rule),
                Cell::Count(tally.met),
                Cell::Count(tally.broken),
                Cell::Count(tally.not_checked_total()),
                Cell::text(wanting(&tally.not_checked)),
            ]
        })
        .collect()
}

/// What was wanting, most often first.
fn wanting(tallies: &[NotCheckedTally]) -> String {
    let mut tallies: Vec<&NotCheckedTally> = tallies.iter().collect();
    tallies.sort_by(|a, b| b.subjects.cmp(&a.subjects).then(a.wants.cmp(&b.wants)));
    let shown: Vec<String> = tallies
        .into_iter()
        .map(|tally| format!("{} ({})", tally.wants, number(tally.subjects as f64)))
        .collect();
    shown.join("; ")
}
