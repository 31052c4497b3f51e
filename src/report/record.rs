//! A finding as the outputs of a batch carry it: all spelled out, so that the
//! schedule that it came from can leave memory. Every machine format writes
//! exactly these fields, or those of them that it has room for.

use crate::findings::{Accepted, Reported, Severity, subject_in_dwelling};
use crate::schedule::{Address, Schedule};
use serde::{Deserialize, Serialize};

/// *Since* of a finding that an earlier audit of its job does not have.
pub const NEW: &str = "new";

/// One finding of one job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Record {
    /// What people call the job.
    pub job: String,
    /// The job's number, else its normalised name, else its file's stem.
    pub job_key: String,
    /// Relative to the folder that was named.
    pub file: String,
    /// Empty for a text file.
    pub sheet: String,
    /// As a spreadsheet program names it; empty where it is about no cell.
    pub cell: String,
    pub subject: String,
    /// Empty for the building.
    pub dwelling: String,
    pub rule: String,
    pub severity: Severity,
    pub message: String,
    pub found: String,
    pub limit: String,
    pub remedy: String,
    pub source: String,
    /// The same in every revision of the job.
    pub id: String,
    /// Other cells that the finding stands on.
    pub related: Vec<Spot>,
    /// Cells that would have to change, and to what.
    pub changes: Vec<Edit>,
    /// The declared type of the dwelling; empty where it has none.
    pub dwelling_type: String,
    /// Who answers for it; empty where it stands.
    pub accepted_by: String,
    pub accepted_reason: String,
    /// As 2027-01-31; empty for no end.
    pub accepted_until: String,
    /// Against an earlier audit: `new`, `open since revision 2`; empty where
    /// none was given.
    pub since: String,
}

/// A cell.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Spot {
    pub file: String,
    pub sheet: String,
    pub cell: String,
}

/// A change of one cell.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Edit {
    pub file: String,
    pub sheet: String,
    pub cell: String,
    /// `table.name`, as in the schemas.
    pub field: String,
    /// As written now.
    pub was: String,
    pub proposed: String,
}

impl From<Address> for Spot {
    fn from(address: Address) -> Self {
        Self {
            file: address.file,
            sheet: address.sheet,
            cell: address.cell,
        }
    }
}

impl Record {
    /// Whether it stands: nobody accepted it.
    pub fn stands(&self) -> bool {
        self.accepted_by.is_empty()
    }

    /// The subject's name without the dwelling before it.
    pub fn subject_in_dwelling(&self) -> &str {
        subject_in_dwelling(&self.subject, &self.dwelling)
    }

    /// By whom it was accepted and why; empty where it stands.
    pub fn accepted_text(&self) -> String {
        if self.stands() {
            return String::new();
        }
        let until = match self.accepted_until.as_str() {
            "" => String::new(),
            until => format!(" until {until}"),
        };
        format!("{}{until}: {}", self.accepted_by, self.accepted_reason)
    }

    /// A finding of a rule that says nothing more yet.
    pub fn of(rule: &str, severity: Severity) -> Self {
        Self {
            job: String::new(),
            job_key: String::new(),
            file: String::new(),
            sheet: String::new(),
            cell: String::new(),
            subject: String::new(),
            dwelling: String::new(),
            rule: rule.to_owned(),
            severity,
            message: String::new(),
            found: String::new(),
            limit: String::new(),
            remedy: String::new(),
            source: String::new(),
            id: String::new(),
            related: Vec::new(),
            changes: Vec::new(),
            dwelling_type: String::new(),
            accepted_by: String::new(),
            accepted_reason: String::new(),
            accepted_until: String::new(),
            since: String::new(),
        }
    }

    /// Spells a finding of a job out.
    pub fn new(schedule: &Schedule, finding: &Reported) -> Self {
        let spot = |place| Spot::from(schedule.sources.address(place));
        let address = finding.address.clone();
        let accepted = |pick: fn(&Accepted) -> String| {
            finding.accepted.as_ref().map_or_else(String::new, pick)
        };
        Self {
            job: schedule.title.clone(),
            job_key: schedule.key.clone(),
            file: address.file,
            sheet: address.sheet,
            cell: address.cell,
            subject: finding.subject_label.clone(),
            dwelling: finding.dwelling.clone(),
            rule: finding.rule.to_owned(),
            severity: finding.severity,
            message: finding.message.clone(),
            found: finding.found.clone(),
            limit: finding.limit.clone(),
            remedy: finding.remedy.clone(),
            source: finding.source.clone(),
            id: finding.id.clone(),
            related: finding.related.iter().copied().map(spot).collect(),
            changes: finding
                .changes
                .iter()
                .map(|change| (spot(change.at.into()), change))
                .map(|(at, change)| Edit {
                    file: at.file,
                    sheet: at.sheet,
                    cell: at.cell,
                    field: change.field.name().to_owned(),
                    was: change.was.clone(),
                    proposed: change.proposed.clone(),
                })
                .collect(),
            dwelling_type: finding.dwelling_type.clone(),
            accepted_by: accepted(|a| a.by.clone()),
            accepted_reason: accepted(|a| a.reason.clone()),
            accepted_until: accepted(|a| a.until.map_or_else(String::new, |d| d.to_string())),
            since: finding.since.clone(),
        }
    }
}
