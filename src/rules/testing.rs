//! What tests of rules share.

use super::{Rule, audit};
use crate::findings::{Outcome, Severity, Verdict};
use crate::practice::Practice;
use crate::schedule::Schedule;

/// Severities of what the rule alone finds, without waiting for others.
pub fn severities(rule: &Rule, schedule: &Schedule, practice: &Practice) -> Vec<Severity> {
    (rule.check)(schedule, practice)
        .iter()
        .filter_map(|outcome| outcome.finding().map(|finding| finding.severity))
        .collect()
}

/// Outcomes of the rule alone.
pub fn outcomes(rule: &Rule, schedule: &Schedule) -> Vec<Outcome> {
    (rule.check)(schedule, &Practice::default())
}

/// Asserts that the rule alone finds exactly these severities with the
/// default practice.
#[track_caller]
pub fn finds(rule: &Rule, schedule: &Schedule, expected: &[Severity]) {
    let found = severities(rule, schedule, &Practice::default());
    assert_eq!(
        found,
        expected,
        "{}: {:#?}",
        rule.name,
        (rule.check)(schedule, &Practice::default())
    );
}

/// Asserts that the rule looked at something and met it everywhere.
#[track_caller]
pub fn meets(rule: &Rule, schedule: &Schedule) {
    let outcomes = outcomes(rule, schedule);
    assert!(!outcomes.is_empty(), "{} looked at nothing", rule.name);
    for outcome in &outcomes {
        assert_eq!(outcome.verdict, Verdict::Met, "{}", rule.name);
    }
}

/// Names of all rules that find something in a whole audit, in order.
pub fn whole_audit(schedule: &Schedule) -> Vec<(&'static str, Severity)> {
    audit(schedule, &Practice::default())
        .findings
        .iter()
        .map(|finding| (finding.rule, finding.severity))
        .collect()
}

/// One check value: what is given, what is expected, and where it is
/// published. `source` says 'common practice, no source' for a fact of the
/// trade and starts with 'from memory' for a value not seen confirmed.
#[derive(Debug)]
pub struct Check<G, E> {
    pub given: G,
    pub expect: E,
    pub source: &'static str,
}
