//! Severities that a profile raises or lowers.

use crate::findings::Severity;
use std::collections::BTreeMap;

/// What a rule can give, as the profile's reader has to know it.
#[derive(Clone, Copy, Debug)]
pub struct RuleSeverities {
    pub name: &'static str,
    pub severities: &'static [Severity],
}

/// Severities in place of those that the rules declare.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Severities(BTreeMap<(String, Severity), Severity>);

impl Severities {
    pub fn set(&mut self, rule: &str, from: Severity, to: Severity) {
        if from == to {
            self.0.remove(&(rule.to_owned(), from));
        } else {
            self.0.insert((rule.to_owned(), from), to);
        }
    }

    /// What stands in place of `from`; `None` where the rule's own stands.
    pub fn of(&self, rule: &str, from: Severity) -> Option<Severity> {
        if self.0.is_empty() {
            return None;
        }
        self.0.get(&(rule.to_owned(), from)).copied()
    }

    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// `bus-gauge: verify lowered to note; …`, so that no fix is lowered
    /// unseen.
    pub fn text(&self) -> String {
        if self.is_empty() {
            return "as the rules declare".to_owned();
        }
        let changes: Vec<String> = self
            .0
            .iter()
            .map(|((rule, from), to)| {
                let way = if to < from { "lowered" } else { "raised" };
                format!("{rule}: {from} {way} to {to}")
            })
            .collect();
        changes.join("; ")
    }
}
