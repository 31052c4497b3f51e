//! Accepted findings: read from a TOML file, from a sheet of a job's workbook
//! or from what a reviewer typed into a copy of ours, and held against the
//! audit of a job.

mod sheet;
#[cfg(test)]
mod tests;
mod toml_file;
mod typed;
mod write;

pub use sheet::from_book;
pub use toml_file::{AcceptedError, AcceptedFault, from_file, from_toml};
pub use typed::{Typed, typed};
pub use write::{Entry, skeleton};

use crate::findings::{Acceptance, Audit, Dwellings, Use};
use crate::rules;
use crate::schedule::Schedule;
use jiff::civil::Date;

/// Takes the accepted findings of a job out of its counts and its
/// disposition; they stay listed. Gives what became of each acceptance that
/// is about this job.
pub fn apply<'a>(
    schedule: &Schedule,
    audit: &mut Audit,
    acceptances: impl Iterator<Item = &'a Acceptance>,
    as_of: Date,
) -> Vec<Use> {
    let dwellings = Dwellings::of(schedule);
    let uses: Vec<Use> = acceptances
        .filter(|acceptance| acceptance.is_for(schedule))
        .map(|acceptance| acceptance.hold_against(&mut audit.findings, &dwellings, as_of))
        .collect();
    if audit.accepted() > 0 {
        audit.disposition = rules::dispose(schedule, &audit.outcomes, audit.worst());
    }
    uses
}

/// Why a finding of this rule cannot be accepted, if so: a clause.
fn no_such_rule(rule: &str) -> Option<String> {
    if rules::by_name(rule).is_some() {
        return None;
    }
    let near = rules::ALL
        .iter()
        .map(|known| (strsim::jaro_winkler(rule, known.name), known.name))
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .filter(|(score, _)| *score > 0.8);
    let near = near.map_or_else(String::new, |(_, name)| format!("; nearest: {name}"));
    Some(format!(
        "\u{201c}{rule}\u{201d} is no rule whose findings can be accepted{near}"
    ))
}
