//! What a rule declares of itself. Pages, tables and outputs are generated
//! from it.

use crate::findings::{Outcome, Severity};
use crate::practice::Practice;
use crate::schedule::{Edition, Schedule};
use crate::tables::{Topic, section};
use std::fmt;

/// The family that a rule belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Family {
    Reading,
    Supply,
    Overcurrent,
    Sharing,
    StripHeat,
    Conductor,
    Bus,
    Controller,
    Sequence,
    Twins,
}

impl Family {
    pub fn name(self) -> &'static str {
        match self {
            Self::Reading => "reading",
            Self::Supply => "supply",
            Self::Overcurrent => "overcurrent",
            Self::Sharing => "sharing",
            Self::StripHeat => "strip-heat",
            Self::Conductor => "conductor",
            Self::Bus => "bus",
            Self::Controller => "controller",
            Self::Sequence => "sequence",
            Self::Twins => "twins",
        }
    }
}

impl fmt::Display for Family {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// What a rule stands on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cite {
    /// A section of NFPA 70, by the adopted edition.
    Code(Topic),
    /// The unit's nameplate.
    Nameplate,
    /// The manual of the equipment's maker.
    Manual,
    /// Common practice of the trade; no source.
    Practice,
    /// Our reading of the sections cited with it, where readings differ.
    OurReading,
    /// The notation or the table itself.
    Schedule,
}

impl Cite {
    /// As printed behind a finding: `NFPA 70-2023 440.22(A)`.
    pub fn text(self, edition: Edition) -> String {
        match self {
            Self::Code(topic) => match section(topic, edition) {
                Some(section) => format!("{edition} {section}"),
                None => format!("{edition}, section not known to us"),
            },
            Self::Nameplate => "nameplate of the unit".to_owned(),
            Self::Manual => "the unit's installation manual".to_owned(),
            Self::Practice => "common practice".to_owned(),
            Self::OurReading => "our reading; the AHJ decides".to_owned(),
            Self::Schedule => "the schedule itself".to_owned(),
        }
    }
}

/// A rule.
pub struct Rule {
    /// For good: kebab-case, named for the fault.
    pub name: &'static str,
    pub family: Family,
    /// The severities that it can give, worst first.
    pub severities: &'static [Severity],
    /// The fault in one line.
    pub summary: &'static str,
    /// Why it matters, in a sentence or two.
    pub why: &'static str,
    /// How it is decided.
    pub decides: &'static str,
    /// What it does not look at.
    pub leaves: &'static str,
    pub cites: &'static [Cite],
    /// Rules whose finding on the same subject makes this one wait.
    pub yields_to: &'static [&'static str],
    pub check: fn(&Schedule, &Practice) -> Vec<Outcome>,
}

impl Rule {
    /// All that it stands on, by edition, joined by semicolons.
    pub fn source(&self, edition: Edition) -> String {
        let texts: Vec<String> = self.cites.iter().map(|cite| cite.text(edition)).collect();
        texts.join("; ")
    }
}

impl fmt::Debug for Rule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Rule({})", self.name)
    }
}
