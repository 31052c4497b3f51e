//! What holds for every rule: each can fire and can stay silent, and the
//! worked examples are what the rules say today.
//!
//! `AMPLEDGER_BLESS=1 cargo test` writes the examples anew.

mod emptied;
mod house;
mod inputs;
mod limits;
mod messages;
mod planted;
mod profile;
mod traps;

use super::{ALL, Example, by_name};
use crate::findings::{Outcome, Severity, Verdict};
use crate::practice::Practice;
use crate::schedule::Schedule;
use planted::{PLANTED, Planted, practice};
use std::path::Path;

fn right(planted: &Planted) -> Schedule {
    planted.right().build()
}

#[test]
fn every_rule_has_a_planted_fault_and_no_other_has() {
    let planted: Vec<&str> = PLANTED.iter().map(|planted| planted.rule).collect();
    let rules: Vec<&str> = ALL.iter().map(|rule| rule.name).collect();
    for rule in &rules {
        assert!(planted.contains(rule), "{rule} has no planted fault");
    }
    for name in &planted {
        assert!(rules.contains(name), "{name} is no rule");
    }
    assert_eq!(planted.len(), rules.len(), "a rule is planted twice");
}

#[test]
fn every_rule_fires_on_its_fault() {
    let mut silent = Vec::new();
    for planted in PLANTED {
        let schedule = (planted.wrong)().build();
        let audit = super::audit(&schedule, &practice(planted.rule));
        if !audit.findings.iter().any(|f| f.rule == planted.rule) {
            let own: Vec<&Verdict> = audit
                .outcomes
                .iter()
                .filter(|o| o.rule == planted.rule)
                .map(|o| &o.verdict)
                .collect();
            silent.push(format!("{}: {own:?}", planted.rule));
        }
    }
    assert!(silent.is_empty(), "silent:\n{}", silent.join("\n"));
}

/// Silent because it looked and was met, not for want of something.
#[test]
fn every_rule_is_met_where_nothing_is_wrong() {
    let mut wrong = Vec::new();
    for planted in PLANTED {
        let rule = by_name(planted.rule).expect("held by the test above");
        let schedule = right(planted);
        let practice = practice(planted.rule).for_job(&schedule);
        let outcomes = (rule.check)(&schedule, &practice);
        let met = outcomes.iter().any(|o| o.verdict == Verdict::Met);
        let broken = outcomes.iter().find_map(Outcome::finding);
        if !met || broken.is_some() {
            let verdicts: Vec<&Verdict> = outcomes.iter().map(|o| &o.verdict).collect();
            wrong.push(format!("{}: {verdicts:?}", planted.rule));
        }
    }
    assert!(wrong.is_empty(), "not met:\n{}", wrong.join("\n"));
}

/// A right job: a wrong finding here is a false alarm.
#[test]
fn the_house_as_it_stands_gives_no_more_than_one_note() {
    let audit = super::audit(&house::house().build(), &Practice::default());
    let found: Vec<_> = audit
        .findings
        .iter()
        .map(|f| (f.rule, f.severity, f.message.as_str()))
        .collect();
    assert!(
        matches!(
            found.as_slice(),
            [("ground-fault-protection", Severity::Note, _)]
        ),
        "{found:#?}"
    );
}

fn example(planted: &Planted) -> Example {
    let schedule = (planted.wrong)().build();
    let audit = super::audit(&schedule, &practice(planted.rule));
    let found = audit.findings.iter().find(|f| f.rule == planted.rule);
    let found = found.expect("held by the test above");
    let outcome = audit
        .outcomes
        .iter()
        .find(|o| o.rule == planted.rule && o.finding().is_some());
    let steps = outcome.into_iter().flat_map(|outcome| &outcome.working);
    let working = steps
        .filter(|step| !step.how.is_empty())
        .map(|step| {
            let source = if step.source.is_empty() {
                String::new()
            } else {
                format!(" [{}]", step.source)
            };
            format!("{}: {} = {}{source}", step.what, step.value, step.how)
        })
        .collect();
    Example {
        rule: planted.rule.to_owned(),
        severity: found.severity.name().to_owned(),
        subject: found.subject_label.clone(),
        message: found.message.clone(),
        found: found.found.clone(),
        limit: found.limit.clone(),
        working,
        remedy: found.remedy.clone(),
    }
}

#[test]
fn the_worked_examples_are_what_the_rules_say() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/rules/examples.json");
    let examples: Vec<Example> = ALL
        .iter()
        .filter_map(|rule| PLANTED.iter().find(|planted| planted.rule == rule.name))
        .map(example)
        .collect();
    let text = serde_json::to_string_pretty(&examples).expect("JSON") + "\n";
    if std::env::var_os("AMPLEDGER_BLESS").is_some() {
        std::fs::write(&path, &text).expect("the examples can be written");
    }
    let stands = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        stands == text,
        "src/rules/examples.json is stale: run AMPLEDGER_BLESS=1 cargo test"
    );
}
