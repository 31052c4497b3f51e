//! Findings that somebody answers for: what was accepted, by whom, why, and
//! whether that still holds.

use super::Reported;
use crate::schedule::{Name, Schedule};
use jiff::civil::Date;
use std::collections::BTreeMap;

/// Any subject, any dwelling.
const ANY: &str = "*";

/// Which findings an acceptance is about.
#[derive(Clone, Debug, PartialEq, Eq)]
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
#[derive(Clone, Debug, PartialEq, Eq)]
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
#[derive(Clone, Debug, PartialEq, Eq)]
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
#[derive(Clone, Debug, PartialEq, Eq)]
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
            named => dwellings.is_in(&finding.dwelling, named),
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
                finding.accepted.get_or_insert_with(|| Accepted {
                    reason: self.reason.trim().to_owned(),
                    by: self.by.trim().to_owned(),
                    until: self.until,
                });
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

/// The dwellings of a job and their declared types.
#[derive(Clone, Debug, Default)]
pub struct Dwellings {
    /// Key of the dwelling: key and name of its type; empty where it has none.
    types: BTreeMap<String, (String, String)>,
    /// By key of the type: its dwellings, as written, in the order of the rows.
    of_type: BTreeMap<String, Vec<String>>,
}

impl Dwellings {
    pub fn of(schedule: &Schedule) -> Self {
        let mut dwellings = Self::default();
        for (_, unit) in schedule.audited_units() {
            let Some(dwelling) = unit.dwelling.get() else {
                continue;
            };
            let kind = unit.dwelling_type.get();
            let known = dwellings
                .types
                .entry(dwelling.key().to_owned())
                .or_default();
            if let Some(kind) = kind.filter(|_| known.0.is_empty()) {
                *known = (kind.key().to_owned(), kind.text().to_owned());
                let of_type = dwellings.of_type.entry(kind.key().to_owned());
                of_type.or_default().push(dwelling.text().to_owned());
            }
        }
        dwellings
    }

    /// The declared type of a dwelling, as written; empty where it has none.
    pub fn type_of(&self, dwelling: &str) -> &str {
        let known = self.types.get(Name::new(dwelling).key());
        known.map_or("", |(_, kind)| kind.as_str())
    }

    /// All dwellings of a type, in the order of the rows.
    pub fn of_type(&self, kind: &str) -> &[String] {
        let known = self.of_type.get(Name::new(kind).key());
        known.map_or(&[], Vec::as_slice)
    }

    /// Whether a dwelling is the one that is named, or of the type that is
    /// named: a dwelling's name goes before a type's.
    fn is_in(&self, dwelling: &str, named: &str) -> bool {
        let (own, named) = (Name::new(dwelling), Name::new(named));
        if self.types.contains_key(named.key()) {
            return own.key() == named.key();
        }
        let kind = self.types.get(own.key());
        own.key() == named.key()
            || kind.is_some_and(|(kind, _)| !kind.is_empty() && kind == named.key())
    }
}
