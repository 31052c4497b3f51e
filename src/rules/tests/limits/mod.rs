//! Every limit of every rule: just below, at, and just above, in every
//! edition; or the reason why a rule has none.

mod low_voltage;
mod power;
mod supply;

use super::planted::{PLANTED, practice};
use crate::findings::{Outcome, Severity, Verdict};
use crate::practice::Practice;
use crate::rules::{ALL, Cite, by_name};
use crate::schedule::{Draft, Edition};
use crate::tables::{Topic, section};

/// What a rule alone says of a schedule: its worst finding; met; or that it
/// cannot be checked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Says {
    Fix,
    Verify,
    Note,
    Met,
    Open,
}

/// One limit of one rule.
pub struct Limit {
    pub rule: &'static str,
    /// What is varied, and the limit with its arithmetic.
    pub limit: &'static str,
    /// Where the limit is published; 'common practice, no source'; 'from
    /// memory'; or that it is a value of the profile.
    pub source: &'static str,
    pub editions: &'static [Edition],
    /// The right job with the value that is varied.
    pub job: fn(f64) -> Draft,
    pub steps: &'static [(f64, Says)],
}

pub const fn limit(
    rule: &'static str,
    limit: &'static str,
    source: &'static str,
    job: fn(f64) -> Draft,
    steps: &'static [(f64, Says)],
) -> Limit {
    Limit {
        rule,
        limit,
        source,
        editions: &Edition::ALL,
        job,
        steps,
    }
}

/// A limit that only these editions have.
pub const fn in_editions(editions: &'static [Edition], limit: Limit) -> Limit {
    Limit { editions, ..limit }
}

pub fn limits() -> impl Iterator<Item = &'static Limit> {
    [supply::LIMITS, power::LIMITS, low_voltage::LIMITS]
        .into_iter()
        .flatten()
}

/// Rules without a limit in numbers, and what they decide by instead.
const NO_LIMIT: &[(&str, &str)] = &[
    ("unreadable-value", "a fault of reading, one a cell"),
    ("date-for-wire", "a fault of reading, one a cell"),
    (
        "unit-of-measure-assumed",
        "a fault of reading, one a column",
    ),
    ("required-column-missing", "a column is there or not"),
    ("heading-not-recognised", "a heading is known or not"),
    ("duplicate-tag", "two rows conflict or not"),
    ("circuit-disagrees", "two rows say the same or not"),
    ("unknown-tag", "a name matches or not"),
    ("kind-unknown", "a kind is told or not"),
    ("table-missing", "a table is there or not"),
    ("no-supply-circuit", "a circuit names the unit or none does"),
    ("outdoor-not-dedicated", "anything else on the circuit"),
    ("disconnect-missing", "a disconnect is named or not"),
    ("fuse-required", "the cell asks for fuses only or not"),
    ("nameplate-missing", "a value is given or not"),
    ("shared-outside-dwelling", "the customer type decides"),
    (
        "shared-mixed-voltage",
        "classes of nominal voltages, each a name",
    ),
    ("grounding-conductor-missing", "one is stated or not"),
    ("cable-type-outdoors", "types of cable"),
    ("bus-closes-on-itself", "the shape of the chain"),
    ("bus-broken", "the shape of the chain"),
    ("bus-not-from-outdoor", "the shape of the chain"),
    ("bus-crosses-systems", "the systems of the two ends"),
    ("bus-wrong-side", "one of two sides"),
    ("bus-solid-wire", "stranded or solid"),
    ("low-voltage-with-power", "how a run is routed"),
    (
        "bus-near-power-unshielded",
        "how a run is routed, and its shield",
    ),
    (
        "bus-shield-needless",
        "how runs are routed, and their shields",
    ),
    ("bus-shield-broken", "all runs or none"),
    ("bus-length-missing", "a length is given or not"),
    (
        "controller-missing",
        "a controller reaches the unit or none does",
    ),
    ("controller-idle", "a unit is named or none is"),
    ("controller-elsewhere", "names of rooms"),
    ("interlock-stops-all", "words of the interlock's cell"),
    ("twin-units-differ", "what most of the twins have"),
];

/// Editions in which a rule cannot fire, or whose section is not known.
const EDITIONS: &[(&str, Edition, &str)] = &[
    (
        "ground-fault-protection",
        Edition::Nec2017,
        "210.8(F) came with the edition of 2020: nothing is asked",
    ),
    (
        "low-voltage-with-power",
        Edition::Nec2026,
        "725.136 was moved in 2026 and its new number is not known to us: the finding says so",
    ),
];

fn says(rule: &str, draft: Draft, edition: Edition) -> Says {
    let rule = by_name(rule).unwrap_or_else(|| panic!("{rule} is no rule"));
    let schedule = draft.build();
    let practice = Practice {
        edition,
        ..practice(rule.name)
    };
    let outcomes = (rule.check)(&schedule, &practice.for_job(&schedule));
    let worst = outcomes
        .iter()
        .filter_map(Outcome::finding)
        .map(|f| f.severity)
        .max();
    match worst {
        Some(Severity::Fix) => Says::Fix,
        Some(Severity::Verify) => Says::Verify,
        Some(Severity::Note) => Says::Note,
        None if outcomes.iter().any(|o| o.verdict == Verdict::Met) => Says::Met,
        None => Says::Open,
    }
}

#[test]
fn every_rule_has_its_limits_or_a_reason_for_none() {
    for rule in ALL.iter() {
        let has = limits().any(|limit| limit.rule == rule.name);
        let excused = NO_LIMIT.iter().any(|(name, _)| *name == rule.name);
        assert!(
            has || excused,
            "{} has neither limits nor a reason",
            rule.name
        );
        assert!(
            !(has && excused),
            "{} has limits, and a reason for none",
            rule.name
        );
    }
    for (name, reason) in NO_LIMIT {
        assert!(by_name(name).is_some() && !reason.is_empty(), "{name}");
    }
    assert_eq!(PLANTED.len(), ALL.len());
}

#[test]
fn below_at_and_above_every_limit_in_every_edition() {
    let mut wrong = Vec::new();
    for limit in limits() {
        assert!(
            !limit.source.is_empty() && limit.steps.len() >= 3,
            "{}",
            limit.limit
        );
        let first = limit.steps[0].1;
        assert!(
            limit.steps.iter().any(|(_, says)| *says != first),
            "{}: {}: no step passes the limit",
            limit.rule,
            limit.limit
        );
        for &edition in limit.editions {
            for &(value, expect) in limit.steps {
                let found = says(limit.rule, (limit.job)(value), edition);
                if found != expect {
                    wrong.push(format!(
                        "{} ({edition}): {} at {value}: {found:?}, not {expect:?}",
                        limit.rule, limit.limit
                    ));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Each rule fires in every edition on its planted fault, and each section
/// that it cites is known in each.
#[test]
fn every_edition_is_covered_or_excused() {
    let excused = |name: &str, edition| {
        EDITIONS
            .iter()
            .any(|(rule, of, reason)| *rule == name && *of == edition && !reason.is_empty())
    };
    for planted in PLANTED {
        let rule = by_name(planted.rule).expect("a rule");
        for edition in Edition::ALL {
            let found = says(rule.name, (planted.wrong)(), edition);
            let fires = matches!(found, Says::Fix | Says::Verify | Says::Note);
            let unknown: Vec<Topic> = rule
                .cites
                .iter()
                .filter_map(|cite| match cite {
                    Cite::Code(topic) => Some(*topic),
                    _ => None,
                })
                .filter(|topic| section(*topic, edition).is_none())
                .collect();
            if !excused(rule.name, edition) {
                assert!(fires, "{} says {found:?} in {edition}", rule.name);
                assert!(
                    unknown.is_empty(),
                    "{} in {edition}: {unknown:?}",
                    rule.name
                );
            } else {
                assert!(
                    !fires || !unknown.is_empty(),
                    "{} needs no excuse in {edition}",
                    rule.name
                );
            }
        }
    }
}
