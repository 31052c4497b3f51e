//! The result of a job's audit, in the form that every output prints.

use super::{Accepted, Change, Disposition, Outcome, Severity, Subject};
use crate::schedule::{Address, Place};
use serde::{Deserialize, Serialize};

/// One finding, rendered.
#[derive(Clone, Debug, PartialEq)]
pub struct Reported {
    /// Stable over revisions; see [`super::finding_id`].
    pub id: String,
    pub rule: &'static str,
    pub severity: Severity,
    pub subject: Subject,
    /// What people call the subject.
    pub subject_label: String,
    /// The dwelling that it stands in; empty for the building.
    pub dwelling: String,
    /// Its declared type; empty where it has none.
    pub dwelling_type: String,
    /// The place, spelled out: the source's own file, sheet and cell.
    pub address: Address,
    pub place: Place,
    pub related: Vec<Place>,
    pub message: String,
    pub found: String,
    pub limit: String,
    pub remedy: String,
    /// Sources by the adopted edition, and the profile values it stands on.
    pub source: String,
    pub changes: Vec<Change>,
    /// Findings with the same key are equal but for their dwelling.
    pub group: String,
    /// Somebody answers for it: it is listed and not counted.
    pub accepted: Option<Accepted>,
    /// Against an earlier audit: `new`, `open since revision 2`; empty where
    /// none was given.
    pub since: String,
}

impl Reported {
    /// Whether it stands: it is not accepted.
    pub fn stands(&self) -> bool {
        self.accepted.is_none()
    }

    /// The subject's name without the dwelling before it.
    pub fn subject_in_dwelling(&self) -> &str {
        subject_in_dwelling(&self.subject_label, &self.dwelling)
    }
}

/// A subject's label without the dwelling before it.
pub fn subject_in_dwelling<'a>(label: &'a str, dwelling: &str) -> &'a str {
    match dwelling {
        "" => label,
        dwelling => label.strip_prefix(dwelling).map_or(label, str::trim_start),
    }
}

/// How often a rule was met, broken, or could not be checked.
#[derive(Clone, Debug, PartialEq)]
pub struct RuleTally {
    pub rule: &'static str,
    pub met: u64,
    /// Subjects, not findings of one severity.
    pub broken: u64,
    pub not_checked: Vec<NotCheckedTally>,
}

impl RuleTally {
    /// Of a rule that nothing was counted of yet.
    pub fn new(rule: &'static str) -> Self {
        Self {
            rule,
            met: 0,
            broken: 0,
            not_checked: Vec::new(),
        }
    }

    pub fn not_checked_total(&self) -> u64 {
        self.not_checked.iter().map(|tally| tally.subjects).sum()
    }

    /// How many outcomes were counted at all: met, broken, and each thing
    /// that was wanting.
    pub fn outcomes(&self) -> usize {
        let wanting = self.not_checked.iter().filter(|tally| tally.subjects > 0);
        usize::from(self.met > 0) + usize::from(self.broken > 0) + wanting.count()
    }
}

/// How many subjects could not be checked for want of one thing.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct NotCheckedTally {
    pub wants: String,
    pub subjects: u64,
}

/// A job's audit.
#[derive(Clone, Debug, PartialEq)]
pub struct Audit {
    /// In the order of the rules, then of the rows.
    pub outcomes: Vec<Outcome>,
    /// In the order of file, sheet, row, column, rule.
    pub findings: Vec<Reported>,
    /// Those below the least severity that was asked for: counted, and
    /// listed nowhere.
    pub unlisted: Vec<Reported>,
    /// One entry a rule, in the order of the registry.
    pub tallies: Vec<RuleTally>,
    pub disposition: Disposition,
}

impl Audit {
    /// Findings of one severity that stand.
    pub fn count(&self, severity: Severity) -> usize {
        self.standing()
            .filter(|finding| finding.severity == severity)
            .count()
    }

    /// Findings that nobody accepted.
    pub fn standing(&self) -> impl Iterator<Item = &Reported> {
        self.all().filter(|finding| finding.stands())
    }

    fn all(&self) -> impl Iterator<Item = &Reported> {
        self.findings.iter().chain(&self.unlisted)
    }

    /// How many findings were accepted.
    pub fn accepted(&self) -> usize {
        self.all().filter(|finding| !finding.stands()).count()
    }

    /// Lists findings of this severity and worse alone.
    pub fn list_from(&mut self, least: Severity) {
        let all = std::mem::take(&mut self.findings);
        let (listed, below) = all
            .into_iter()
            .partition(|finding| finding.severity >= least);
        self.findings = listed;
        self.unlisted = below;
    }

    /// The worst severity that stands.
    pub fn worst(&self) -> Option<Severity> {
        self.standing().map(|finding| finding.severity).max()
    }

    /// The disposition as it is printed.
    pub fn disposition_text(&self) -> String {
        self.disposition.with_accepted(self.accepted())
    }

    /// Outcomes of one subject, in the order of the rules.
    pub fn of(&self, subject: Subject) -> impl Iterator<Item = &Outcome> {
        self.outcomes
            .iter()
            .filter(move |outcome| outcome.subject == subject)
    }
}
