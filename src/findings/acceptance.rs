//! Findings that somebody answers for: what was accepted, by whom, why, and
//! whether that still holds.

use super::{Dwellings, Reported};
use crate::schedule::{Name, Schedule};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

/// Any subject, any dwelling.
const ANY: &str = "*";

/// Which findings an acceptance is about.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Target {
    /// The finding of this id.
    Id(String),
    Named {
        rule: String,
        /// As the list of findings names it, with or without the dwelling
        /// before it, or `*`.
        subject: String,
        /// A dwelling, else a type of dwelling, or `*`. Empty: the subject's
        /// whole name has to be given.
        dwelling: String,
    },
}

/// One acceptance, as somebody wrote it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Acceptance {
    /// The job's name, number or key; empty where it stands in the job's own
    /// workbook.
    pub job: String,
    pub target: Target,
    /// What was found and the limit when it was accepted: it lapses when
    /// either changes.
    pub found: String,
    pub limit: String,
    pub reason: String,
    /// Who answers for it.
    pub by: String,
    /// The last day on which it holds.
    pub until: Option<Date>,
    /// Where it stands: `accepted.toml, line 12`.
    pub origin: String,
    /// What it lacks to be one, as a clause.
    pub wanting: Option<String>,
}

/// By whom a finding was accepted, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Accepted {
    pub reason: String,
    pub by: String,
    pub until: Option<Date>,
}

impl Accepted {
    /// `accepted by J. Ames until 2027-01-31: …`.
    pub fn text(&self) -> String {
        let until = self
            .until
            .map_or_else(String::new, |until| format!(" until {until}"));
        format!("accepted by {}{until}: {}", self.by, self.reason)
    }
}

/// What became of an acceptance.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Standing {
    /// Some finding leaves the count by it.
    Holds,
    /// It once held: why it does no more, as a clause.
    Lapsed(String),
    /// No finding of the job is what it names.
    MatchesNothing,
    /// It was never one: what is wanting, as a clause.
    Incomplete(String),
}

impl Standing {
    /// As it stands beside a finding and in lists.
    pub fn text(&self) -> String {
        match self {
            Self::Holds => "holds".to_owned(),
            Self::Lapsed(why) => format!("lapsed: {why}"),
            Self::MatchesNothing => "matches no finding any more".to_owned(),
            Self::Incomplete(why) => format!("not accepted: {why}"),
        }
    }
}

/// An acceptance held against one job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Use {
    pub acceptance: Acceptance,
    pub standing: Standing,
    /// Findings that it covers; where it lapsed, those that it is about.
    pub ids: Vec<String>,
}

/// Text as it is compared: spaces and case set aside.
pub fn plain(text: &str) -> String {
    let words: Vec<String> = text.split_whitespace().map(str::to_lowercase).collect();
    words.join(" ")
}

impl Acceptance {
    /// Whether it is about this job.
    pub fn is_for(&self, schedule: &Schedule) -> bool {
        let wanted = self.job.trim();
        let facts = &schedule.facts;
        let names = [Some(&schedule.title), facts.number.get(), facts.name.get()];
        wanted.is_empty()
            || Name::new(wanted).key() == schedule.key
            || names
                .into_iter()
                .flatten()
                .any(|name| plain(name) == plain(wanted))
    }

    /// By whom and why.
    pub fn accepted(&self) -> Accepted {
        Accepted {
            reason: self.reason.trim().to_owned(),
            by: self.by.trim().to_owned(),
            until: self.until,
        }
    }

    /// What it is about, in a few words: `protection-over-mop LP-1,3 in 3B`.
    pub fn about(&self) -> String {
        match &self.target {
            Target::Id(id) => format!("finding {id}"),
            Target::Named {
                rule,
                subject,
                dwelling,
            } => match dwelling.trim() {
                "" => format!("{rule} {subject}"),
                dwelling => format!("{rule} {subject} in {dwelling}"),
            },
        }
    }

    fn is_about(&self, finding: &Reported, dwellings: &Dwellings) -> bool {
        let (rule, subject, dwelling) = match &self.target {
            Target::Id(id) => return *id == finding.id,
            Target::Named {
                rule,
                subject,
                dwelling,
            } => (rule.trim(), plain(subject), dwelling.trim()),
        };
        let whole = plain(&finding.subject_label);
        let stands_in = match dwelling {
            ANY => true,
            "" => subject == whole || subject == ANY,
            named => dwellings.is_in(&finding.dwelling, &Name::new(named)),
        };
        let own = plain(finding.subject_in_dwelling());
        let is_subject = subject == ANY || subject == whole || subject == own;
        rule == finding.rule && is_subject && stands_in
    }

    fn is_as_accepted(&self, finding: &Reported) -> bool {
        plain(&self.found) == plain(&finding.found) && plain(&self.limit) == plain(&finding.limit)
    }

    /// What changed since, as a clause.
    fn changed(&self, finding: &Reported) -> String {
        let quoted = |text: &str| match text.trim() {
            "" => "nothing".to_owned(),
            text => format!("\u{201c}{text}\u{201d}"),
        };
        let mut parts = Vec::new();
        for (what, was, is) in [
            ("what was found", &self.found, &finding.found),
            ("the limit", &self.limit, &finding.limit),
        ] {
            if plain(was) != plain(is) {
                parts.push(format!("{what} was {} and is {}", quoted(was), quoted(is)));
            }
        }
        parts.join("; ")
    }

    /// Marks the findings that it covers. The first acceptance of a finding
    /// is the one that is printed with it.
    pub fn hold_against(
        &self,
        findings: &mut [Reported],
        dwellings: &Dwellings,
        as_of: Date,
    ) -> Use {
        let mut about: Vec<String> = Vec::new();
        let mut covered = Vec::new();
        let mut changed = None;
        let ended = self.until.filter(|until| *until < as_of);
        for finding in findings.iter_mut() {
            if !self.is_about(finding, dwellings) {
                continue;
            }
            about.push(finding.id.clone());
            if self.wanting.is_some() {
                continue;
            }
            if !self.is_as_accepted(finding) {
                changed.get_or_insert_with(|| self.changed(finding));
            } else if ended.is_none() {
                covered.push(finding.id.clone());
                finding.accepted.get_or_insert_with(|| self.accepted());
            }
        }
        let incomplete = self.wanting.clone().map(Standing::Incomplete);
        let standing = incomplete.unwrap_or_else(|| match (covered.is_empty(), ended, changed) {
            (false, ..) => Standing::Holds,
            _ if about.is_empty() => Standing::MatchesNothing,
            (_, Some(until), _) => Standing::Lapsed(format!("it held until {until}")),
            (_, None, changed) => Standing::Lapsed(changed.unwrap_or_default()),
        });
        let ids = match standing {
            Standing::Holds => covered,
            _ => about,
        };
        Use {
            acceptance: self.clone(),
            standing,
            ids,
        }
    }
}
