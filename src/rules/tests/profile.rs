//! A finding that stands on a value of the practice profile says which.
//!
//! Each value is loosened alone. A finding that is then gone, or milder, hung
//! on it, and has to name it.

use super::limits::limits;
use super::planted::{PLANTED, practice};
use crate::findings::{Outcome, Severity, Subject};
use crate::practice::{Practice, ShieldPolicy};
use crate::rules::by_name;
use crate::schedule::wire::Size;
use crate::schedule::{Amps, CustomerType, Draft, Feet, Percent};
use std::collections::{BTreeMap, BTreeSet};

type Loosened = (&'static str, fn(&mut Practice));

const LOOSENED: &[Loosened] = &[
    ("bus.budget", |p| p.bus.budget = Feet(1e6)),
    ("bus.budget_shielded", |p| p.bus.budget_shielded = Feet(1e6)),
    ("bus.near", |p| p.bus.near = Percent(100.0)),
    ("bus.farthest", |p| p.bus.farthest = Some(Feet(1e6))),
    ("bus.gauge", |p| p.bus.smallest_gauge = Size::Awg(30)),
    ("bus.gauge", |p| p.bus.largest_gauge = Size::Awg(4)),
    ("bus.conductors", |p| p.bus.conductors = 1),
    ("bus.conductors", |p| p.bus.conductors = 3),
    ("bus.stranded", |p| p.bus.stranded = false),
    ("bus.shield", |p| p.bus.shield = ShieldPolicy::Anywhere),
    ("bus.shield_grounds", |p| p.bus.shield_grounds = 0),
    ("bus.shield_grounds", |p| p.bus.shield_grounds = 2),
    ("bus.most_units", |p| p.bus.most_units = Some(100)),
    ("bus.box_may_branch", |p| p.bus.box_may_branch = Some(true)),
    ("capacity_ratio", |p| {
        p.capacity_ratio = (Percent(0.0), Percent(1e6))
    }),
    ("controller.farthest", |p| p.controller.farthest = Feet(1e6)),
    ("controller.most_in_group", |p| {
        p.controller.most_in_group = 100
    }),
    ("sharing.near", |p| p.sharing.near = Percent(1e6)),
    ("sharing.rating", |p| p.sharing.rating = Amps(100.0)),
    ("sharing.motor_amps", |p| p.sharing.motor_amps = Amps(100.0)),
    ("sharing.motor_hp", |p| p.sharing.motor_hp = 100.0),
    ("drop_note", |p| p.drop_note = Percent(99.0)),
    ("drop_verify", |p| p.drop_verify = Percent(99.0)),
    ("imbalance", |p| p.imbalance = Percent(1e6)),
    ("nameplate_tolerance", |p| {
        p.nameplate_tolerance = Percent(1e6)
    }),
];

/// What is found of each subject, the worst, with the keys that it names.
fn found(
    rule: &str,
    draft: &Draft,
    practice: &Practice,
) -> BTreeMap<Subject, (Severity, Vec<&'static str>)> {
    let rule = by_name(rule).expect("a rule");
    let schedule = draft.clone().build();
    let outcomes = (rule.check)(&schedule, &practice.for_job(&schedule));
    let mut all: BTreeMap<Subject, (Severity, Vec<&'static str>)> = BTreeMap::new();
    for outcome in &outcomes {
        let Some(finding) = Outcome::finding(outcome) else {
            continue;
        };
        let new = (finding.severity, finding.profile.clone());
        let old = all.get(&outcome.subject);
        if old.is_none_or(|(severity, _)| finding.severity > *severity) {
            all.insert(outcome.subject, new);
        }
    }
    all
}

#[test]
fn a_finding_names_every_value_of_the_profile_that_it_hangs_on() {
    let mut jobs: Vec<(&str, Draft)> = PLANTED
        .iter()
        .map(|planted| (planted.rule, (planted.wrong)()))
        .collect();
    for limit in limits() {
        let steps = limit.steps.iter();
        jobs.extend(steps.map(|(value, _)| (limit.rule, (limit.job)(*value))));
    }
    let mut silent = BTreeSet::new();
    let mut named = BTreeSet::new();
    for (rule, draft) in &jobs {
        let practice = practice(rule);
        let before = found(rule, draft, &practice);
        for (key, loosen) in LOOSENED {
            let mut loose = practice.clone();
            loosen(&mut loose);
            let after = found(rule, draft, &loose);
            for (subject, (severity, keys)) in &before {
                let hangs = after.get(subject).is_none_or(|(now, _)| now < severity);
                if hangs && !keys.contains(key) {
                    silent.insert(format!("{rule}: {severity} without {key}"));
                } else if hangs {
                    named.insert(*key);
                }
            }
        }
    }
    assert!(silent.is_empty(), "{silent:#?}");
    assert!(named.len() >= 18, "only {named:?}");
}

/// The customer type of the profile, where the job does not state its own.
#[test]
fn the_customer_type_is_named_where_it_decides() {
    let planted = PLANTED.iter().find(|p| p.rule == "shared-outside-dwelling");
    let mut draft = (planted.expect("planted").wrong)();
    super::house::clear(&mut draft.facts.customer);
    let commercial = Practice {
        customer: Some(CustomerType::Commercial),
        ..Practice::default()
    };
    let found = found("shared-outside-dwelling", &draft, &commercial);
    assert!(found.values().all(|(_, keys)| keys.contains(&"customer")));
    assert_eq!(found.len(), 1);
}
