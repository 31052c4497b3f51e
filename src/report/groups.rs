//! Equal findings of many dwellings as one line: one rule, one type of
//! dwelling, the same values.

use super::list::Item;
use super::record::Record;
use crate::findings::{Dwellings, Reported, Severity};
use crate::schedule::Name;
use std::collections::{BTreeMap, BTreeSet};

/// Equal findings are grouped from this many dwellings on.
const GROUP_FROM: usize = 3;
/// Dwellings that the row of a group names.
const NAMED: usize = 12;

/// What is grouped.
pub(super) trait Grouped: Copy {
    fn severity(&self) -> Severity;
    fn stands(&self) -> bool;
    fn dwelling(&self) -> &str;
    /// Its dwelling's declared type, as written.
    fn dwelling_type(&self) -> &str;
    /// The same for findings that are equal but for their dwelling.
    fn key(&self) -> String;
}

/// One row of a list.
#[derive(Clone, Debug)]
pub(super) enum Line<T> {
    One(T),
    /// Stands above its members.
    Group(Vec<T>),
    Member(T),
}

impl<T> Line<T> {
    pub fn items(&self) -> &[T] {
        match self {
            Self::One(item) | Self::Member(item) => std::slice::from_ref(item),
            Self::Group(items) => items,
        }
    }

    /// Counts as one: a group does, and none of its members.
    pub fn is_top(&self) -> bool {
        !matches!(self, Self::Member(_))
    }
}

/// What stands, severity by severity, then what was accepted; else in the
/// order given, groups at the place of their first finding.
pub(super) fn lines<T: Grouped>(items: &[T]) -> Vec<Line<T>> {
    let keys: Vec<String> = items.iter().map(key).collect();
    let mut groups: BTreeMap<&str, Vec<T>> = BTreeMap::new();
    for (item, key) in items.iter().zip(&keys) {
        groups.entry(key).or_default().push(*item);
    }
    groups.retain(|key, items| !key.is_empty() && dwellings(items).len() >= GROUP_FROM);
    let mut told: BTreeSet<&str> = BTreeSet::new();
    let mut lines = Vec::with_capacity(items.len() + groups.len());
    for (stands, severity) in classes() {
        let of_class = |item: &T| item.stands() == stands && item.severity() == severity;
        for (item, key) in items.iter().zip(&keys).filter(|(item, _)| of_class(item)) {
            let Some(members) = groups.get(key.as_str()) else {
                lines.push(Line::One(*item));
                continue;
            };
            if told.insert(key) {
                lines.push(Line::Group(members.clone()));
                lines.extend(members.iter().copied().map(Line::Member));
            }
        }
    }
    lines
}

fn classes() -> impl Iterator<Item = (bool, Severity)> {
    [true, false]
        .into_iter()
        .flat_map(|stands| Severity::ALL.into_iter().map(move |of| (stands, of)))
}

/// All that makes findings one line; empty where one is never grouped.
fn key<T: Grouped>(item: &T) -> String {
    let key = item.key();
    if key.is_empty() || item.dwelling().is_empty() {
        return String::new();
    }
    format!(
        "{}\u{1f}{}\u{1f}{key}\u{1f}{}",
        item.stands(),
        item.severity(),
        Name::new(item.dwelling_type()).key()
    )
}

/// The dwellings of some findings, each once, in their order.
pub(super) fn dwellings<T: Grouped>(items: &[T]) -> Vec<&str> {
    let mut seen = BTreeSet::new();
    items
        .iter()
        .map(T::dwelling)
        .filter(|dwelling| !dwelling.is_empty() && seen.insert(*dwelling))
        .collect()
}

/// How many lines of each severity stand, groups counted once.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    pub fix: usize,
    pub verify: usize,
    pub note: usize,
}

impl Counts {
    pub(super) fn of<T: Grouped>(lines: &[Line<T>]) -> Self {
        let count = |severity| {
            let tops = lines.iter().filter(|line| line.is_top());
            tops.filter_map(|line| line.items().first())
                .filter(|item| item.stands() && item.severity() == severity)
                .count()
        };
        Self {
            fix: count(Severity::Fix),
            verify: count(Severity::Verify),
            note: count(Severity::Note),
        }
    }

    /// Every finding that stands in a list, counted by itself.
    pub fn of_list(findings: &[Reported]) -> Self {
        let count = |severity| {
            let of = findings.iter().filter(|f| f.stands());
            of.filter(|f| f.severity == severity).count()
        };
        Self {
            fix: count(Severity::Fix),
            verify: count(Severity::Verify),
            note: count(Severity::Note),
        }
    }

    /// Of the findings of one job.
    pub fn of_records(findings: &[Record]) -> Self {
        let findings: Vec<&Record> = findings.iter().collect();
        Self::of(&lines(&findings))
    }

    /// Those of a severity and worse.
    pub fn from(self, least: Severity) -> Self {
        let from = |severity, count| if severity >= least { count } else { 0 };
        Self {
            fix: from(Severity::Fix, self.fix),
            verify: from(Severity::Verify, self.verify),
            note: from(Severity::Note, self.note),
        }
    }

    pub fn total(self) -> usize {
        self.fix + self.verify + self.note
    }
}

impl std::ops::Add for Counts {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self {
            fix: self.fix + other.fix,
            verify: self.verify + other.verify,
            note: self.note + other.note,
        }
    }
}

/// `23 of 24 dwellings of type A, not 12C`; `4 dwellings: 101, 102, 103, 104`.
pub(super) fn naming(doors: &[&str], kind: &str, dwellings: &Dwellings) -> String {
    let all = dwellings.of_type(kind);
    let count = doors.len();
    if kind.is_empty() || all.len() < count {
        return format!("{count} dwellings: {}", list(doors));
    }
    let missing: Vec<&str> = all
        .iter()
        .map(String::as_str)
        .filter(|door| !doors.contains(door))
        .collect();
    match missing.len() {
        0 => format!("all {count} dwellings of type {kind}"),
        few if few < count => format!(
            "{count} of {} dwellings of type {kind}, not {}",
            all.len(),
            list(&missing)
        ),
        _ => format!(
            "{count} of {} dwellings of type {kind}: {}",
            all.len(),
            list(doors)
        ),
    }
}

/// `23 of 24 dwellings`.
pub(super) fn short(doors: &[&str], kind: &str, dwellings: &Dwellings) -> String {
    let all = dwellings.of_type(kind).len();
    match kind.is_empty() || all < doors.len() {
        true => format!("{} dwellings", doors.len()),
        false => format!("{} of {all} dwellings", doors.len()),
    }
}

fn list(doors: &[&str]) -> String {
    let named: Vec<&str> = doors.iter().take(NAMED).copied().collect();
    let rest = doors.len().saturating_sub(NAMED);
    match rest {
        0 => named.join(", "),
        rest => format!("{} and {rest} more", named.join(", ")),
    }
}

impl Grouped for Item<'_> {
    fn severity(&self) -> Severity {
        self.finding.severity
    }

    fn stands(&self) -> bool {
        self.finding.stands()
    }

    fn dwelling(&self) -> &str {
        &self.finding.dwelling
    }

    fn dwelling_type(&self) -> &str {
        &self.finding.dwelling_type
    }

    fn key(&self) -> String {
        let finding = self.finding;
        if finding.group.is_empty() {
            return String::new();
        }
        let accepted = finding.accepted.as_ref().map(|a| a.text());
        let parts = [
            self.job,
            &finding.group,
            accepted.as_deref().unwrap_or_default(),
            &finding.since,
        ];
        parts.join("\u{1f}")
    }
}

impl Grouped for &Record {
    fn severity(&self) -> Severity {
        self.severity
    }

    fn stands(&self) -> bool {
        Record::stands(self)
    }

    fn dwelling(&self) -> &str {
        &self.dwelling
    }

    fn dwelling_type(&self) -> &str {
        &self.dwelling_type
    }

    fn key(&self) -> String {
        let parts = [
            &self.job_key,
            &self.file,
            &self.rule,
            self.subject_in_dwelling(),
            &self.found,
            &self.limit,
            &self.accepted_text(),
            &self.since,
        ];
        parts.join("\u{1f}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_group_says_of_how_many_and_which_not() {
        let plan = |n: usize| (1..=n).map(|n| format!("{n}A")).collect::<Vec<_>>();
        let all = plan(24);
        let rows = all.iter().map(|door| (door.as_str(), "A"));
        let dwellings = Dwellings::from_names(rows);
        let doors: Vec<&str> = all.iter().map(String::as_str).collect();
        let but_one: Vec<&str> = doors.iter().filter(|d| **d != "12A").copied().collect();
        assert_eq!(
            naming(&but_one, "A", &dwellings),
            "23 of 24 dwellings of type A, not 12A"
        );
        assert_eq!(short(&but_one, "A", &dwellings), "23 of 24 dwellings");
        assert_eq!(
            naming(&doors, "a", &dwellings),
            "all 24 dwellings of type a"
        );
        assert_eq!(
            naming(&doors[..3], "A", &dwellings),
            "3 of 24 dwellings of type A: 1A, 2A, 3A"
        );
        assert_eq!(
            naming(&doors[..3], "", &dwellings),
            "3 dwellings: 1A, 2A, 3A"
        );
        let many = naming(&doors[..14], "", &dwellings);
        assert!(many.ends_with("12A and 2 more"), "{many}");
    }
}
