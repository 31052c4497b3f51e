//! What a rule says of one subject.

use super::Subject;
use crate::schedule::wire::Size;
use crate::schedule::{
    Amps, CellId, Celsius, Feet, FieldName, Kilowatts, Mbh, Percent, Place, TableKind, Volts,
    number,
};
use std::fmt;

/// How bad a finding is.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// Advice or a saving.
    Note,
    /// The schedule cannot show that it holds, readings differ, or common
    /// practice doubts it.
    Verify,
    /// Breaks a nameplate limit, a code rule or the working of the bus, and
    /// the schedule proves it.
    Fix,
}

impl Severity {
    pub const ALL: [Self; 3] = [Self::Fix, Self::Verify, Self::Note];

    pub fn name(self) -> &'static str {
        match self {
            Self::Fix => "fix",
            Self::Verify => "verify",
            Self::Note => "note",
        }
    }
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// A quantity in a finding or a working, printed with its unit.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    Amps(Amps),
    Volts(Volts),
    Feet(Feet),
    Kilowatts(Kilowatts),
    Mbh(Mbh),
    Celsius(Celsius),
    Percent(Percent),
    Size(Size),
    /// A count and what is counted: `3 runs`.
    Count(u64, &'static str),
    Text(String),
}

impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Amps(v) => v.fmt(f),
            Self::Volts(v) => v.fmt(f),
            Self::Feet(v) => v.fmt(f),
            Self::Kilowatts(v) => v.fmt(f),
            Self::Mbh(v) => v.fmt(f),
            Self::Celsius(v) => v.fmt(f),
            Self::Percent(v) => v.fmt(f),
            Self::Size(v) => v.fmt(f),
            Self::Count(count, what) => write!(f, "{} {what}", number(*count as f64)),
            Self::Text(text) => f.write_str(text),
        }
    }
}

macro_rules! into_value {
    ($($kind:ident),*) => {$(
        impl From<$kind> for Value { fn from(value: $kind) -> Self { Self::$kind(value) } }
    )*};
}

into_value!(Amps, Volts, Feet, Kilowatts, Mbh, Celsius, Percent, Size);

impl From<String> for Value {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

impl From<&str> for Value {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

/// The limit that a finding is held against, and how it came about.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    pub value: Value,
    /// The arithmetic in numbers: `1.25 x 1.12 + 11 x 1.12`; empty where the
    /// limit stands as it is in a cell or a table.
    pub how: String,
}

impl fmt::Display for Limit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.how.is_empty() {
            self.value.fmt(f)
        } else {
            write!(f, "{} ({})", self.value, self.how)
        }
    }
}

/// One cell that would have to change.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    pub at: CellId,
    pub field: FieldName,
    /// As written in the cell.
    pub was: String,
    /// What to write there, in a notation that intake reads.
    pub proposed: String,
}

/// One step of an arithmetic, for the sheets that show it.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// What it is: `load`, `mca`, `mop`, `protection`, `ampacity`, ….
    pub what: &'static str,
    pub value: Value,
    /// How it came about, in numbers.
    pub how: String,
    /// Where the rule or the table entry stands; empty for a plain cell.
    pub source: String,
}

impl From<crate::sizing::Step> for Step {
    fn from(step: crate::sizing::Step) -> Self {
        Self {
            what: step.what,
            value: Value::Text(step.value),
            how: step.how,
            source: step
                .source
                .map_or_else(String::new, |source| source.to_string()),
        }
    }
}

/// What is wrong, as data; text is rendered from it.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    pub severity: Severity,
    /// The field at fault, part of the finding's identity.
    pub field: Option<FieldName>,
    /// One or two sentences: what is wrong, with its numbers, so that it can
    /// be checked by hand.
    pub says: String,
    /// What was found.
    pub found: Value,
    /// What it is held against, if anything.
    pub limit: Option<Limit>,
    /// What to do, in the imperative.
    pub remedy: String,
    pub changes: Vec<Change>,
    /// Keys of the practice profile that the limit stands on.
    pub profile: Vec<&'static str>,
    /// Sources that differ from those of the rule's declaration.
    pub source: Option<String>,
}

impl Finding {
    pub fn new(
        severity: Severity,
        says: impl Into<String>,
        found: impl Into<Value>,
        remedy: impl Into<String>,
    ) -> Self {
        Self {
            severity,
            field: None,
            says: says.into(),
            found: found.into(),
            limit: None,
            remedy: remedy.into(),
            changes: Vec::new(),
            profile: Vec::new(),
            source: None,
        }
    }

    pub fn fix(
        says: impl Into<String>,
        found: impl Into<Value>,
        remedy: impl Into<String>,
    ) -> Self {
        Self::new(Severity::Fix, says, found, remedy)
    }

    pub fn verify(
        says: impl Into<String>,
        found: impl Into<Value>,
        remedy: impl Into<String>,
    ) -> Self {
        Self::new(Severity::Verify, says, found, remedy)
    }

    pub fn note(
        says: impl Into<String>,
        found: impl Into<Value>,
        remedy: impl Into<String>,
    ) -> Self {
        Self::new(Severity::Note, says, found, remedy)
    }

    pub fn field(mut self, field: FieldName) -> Self {
        self.field = Some(field);
        self
    }

    pub fn limit(mut self, value: impl Into<Value>, how: impl Into<String>) -> Self {
        self.limit = Some(Limit {
            value: value.into(),
            how: how.into(),
        });
        self
    }

    pub fn change(mut self, change: Change) -> Self {
        self.changes.push(change);
        self
    }

    pub fn profile(mut self, key: &'static str) -> Self {
        self.profile.push(key);
        self
    }
}

/// What was wanting where something could not be checked.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Want {
    /// A field that is empty, unknown or unreadable.
    Field(FieldName),
    /// A table that the job does not have.
    Table(TableKind),
    /// A value of the practice profile that has no default.
    Profile(&'static str),
    /// Another rule's finding on the same subject comes first.
    WaitsFor(&'static str),
    /// Anything else, in words: `the unit's system`.
    Fact(&'static str),
    /// What the user of the program has to give, and no submitter can.
    OfUser(&'static str),
}

impl fmt::Display for Want {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Field(field) => field.fmt(f),
            Self::Table(kind) => write!(f, "a table of {kind}"),
            Self::Profile(key) => write!(f, "{key} in the practice profile"),
            Self::WaitsFor(rule) => write!(f, "waits for {rule}"),
            Self::Fact(words) | Self::OfUser(words) => f.write_str(words),
        }
    }
}

/// Met, broken, or not checked; silence is not an outcome.
#[derive(Clone, Debug, PartialEq)]
pub enum Verdict {
    Met,
    Broken(Finding),
    NotChecked { wants: Vec<Want> },
}

/// What one rule says of one subject.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// The rule's name; set by the registry.
    pub rule: &'static str,
    pub subject: Subject,
    /// Other things that the outcome is about: a finding on one of these by
    /// a rule that this one yields to silences this one.
    pub also: Vec<Subject>,
    pub at: Place,
    /// Other cells that the verdict stands on: the one that gave the limit,
    /// the other row of a pair.
    pub related: Vec<Place>,
    pub verdict: Verdict,
    pub working: Vec<Step>,
}

impl Outcome {
    fn new(subject: Subject, at: impl Into<Place>, verdict: Verdict) -> Self {
        Self {
            rule: "",
            subject,
            also: Vec::new(),
            at: at.into(),
            related: Vec::new(),
            verdict,
            working: Vec::new(),
        }
    }

    pub fn met(subject: Subject, at: impl Into<Place>) -> Self {
        Self::new(subject, at, Verdict::Met)
    }

    pub fn broken(subject: Subject, at: impl Into<Place>, finding: Finding) -> Self {
        Self::new(subject, at, Verdict::Broken(finding))
    }

    pub fn not_checked(subject: Subject, at: impl Into<Place>, wants: Vec<Want>) -> Self {
        Self::new(subject, at, Verdict::NotChecked { wants })
    }

    /// Not checked for want of one field.
    pub fn wants(subject: Subject, at: impl Into<Place>, field: FieldName) -> Self {
        Self::not_checked(subject, at, vec![Want::Field(field)])
    }

    pub fn also(mut self, subject: Subject) -> Self {
        self.also.push(subject);
        self
    }

    pub fn related(mut self, place: impl Into<Place>) -> Self {
        self.related.push(place.into());
        self
    }

    pub fn related_all(mut self, places: impl IntoIterator<Item = CellId>) -> Self {
        self.related.extend(places.into_iter().map(Place::Cell));
        self
    }

    pub fn step(mut self, step: Step) -> Self {
        self.working.push(step);
        self
    }

    /// Appends the steps of an arithmetic.
    pub fn steps(mut self, steps: impl IntoIterator<Item = impl Into<Step>>) -> Self {
        self.working.extend(steps.into_iter().map(Into::into));
        self
    }

    pub fn finding(&self) -> Option<&Finding> {
        match &self.verdict {
            Verdict::Broken(finding) => Some(finding),
            _ => None,
        }
    }
}
