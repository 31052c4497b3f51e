//! Each value that a rule reads, missing alone: a missing value never makes
//! a `fix`, never lets a fault pass as met, and what is not checked names it.
//!
//! Nobody lists what a rule reads. Every value of the right job and of the
//! wrong one is taken out, row by row and column by column, and where a rule
//! then says something else the value is one of its inputs.

use super::emptied::{FIELDS, Gone, OTHERS, empty, rows};
use super::limits::limits;
use super::planted::{PLANTED, practice};
use crate::findings::{Outcome, Severity, Subject, Verdict, Want};
use crate::practice::Practice;
use crate::rules::{ALL, Rule, by_name};
use crate::schedule::{Draft, FieldName};
use std::collections::{BTreeMap, BTreeSet};

/// What a rule says of one subject: its worst finding, else what is wanting,
/// else met.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Said {
    Met,
    Wants(BTreeSet<String>),
    Found(Severity),
}

type Spoken = BTreeMap<Subject, Said>;

fn spoken(rule: &Rule, draft: Draft, practice: &Practice) -> Spoken {
    let schedule = draft.build();
    let practice = practice.for_job(&schedule);
    let mut all = Spoken::new();
    for Outcome {
        subject, verdict, ..
    } in (rule.check)(&schedule, &practice)
    {
        let said = match verdict {
            Verdict::Met => Said::Met,
            Verdict::Broken(finding) => Said::Found(finding.severity),
            Verdict::NotChecked { wants } => {
                Said::Wants(wants.iter().map(Want::to_string).collect())
            }
        };
        let worse = |old: &Said| match (old, &said) {
            (Said::Found(a), Said::Found(b)) => b > a,
            (Said::Found(_), _) => false,
            (_, Said::Found(_)) => true,
            (Said::Met, Said::Wants(_)) => true,
            _ => false,
        };
        if all.get(&subject).is_none_or(worse) {
            all.insert(subject, said);
        }
    }
    all
}

/// A draft with one value gone in all rows that have it.
fn without_any(draft: &Draft, field: FieldName, gone: Gone) -> Option<Draft> {
    let mut copy = draft.clone();
    let mut any = false;
    for row in 0..rows(draft, field) {
        any |= empty(&mut copy, field, row, gone);
    }
    any.then_some(copy)
}

/// A draft with one value gone, in one row or in all.
fn without(draft: &Draft, field: FieldName, gone: Gone) -> Vec<(String, Draft)> {
    let count = rows(draft, field);
    let mut all = Vec::new();
    if gone == Gone::NoColumn {
        let copy = without_any(draft, field, gone);
        all.extend(copy.map(|copy| ("no column".to_owned(), copy)));
        return all;
    }
    for row in 0..count {
        let mut copy = draft.clone();
        if empty(&mut copy, field, row, gone) {
            all.push((format!("{gone:?} in row {}", row + 1), copy));
        }
    }
    all
}

/// Fields that say what a row is and what it belongs to. Without one the row
/// is another subject or none, which the family reading asks about; but that
/// must not make a `fix` either.
const IDENTITY: &[FieldName] = &[
    FieldName::UnitKind,
    FieldName::UnitSystem,
    FieldName::UnitDwelling,
    FieldName::UnitDwellingType,
    FieldName::CircuitDwelling,
    FieldName::CircuitPanel,
    FieldName::CircuitSlots,
    FieldName::CircuitLoads,
    FieldName::PanelDwelling,
    FieldName::RunSystem,
    FieldName::RunDwelling,
    FieldName::RunFrom,
    FieldName::RunTo,
    FieldName::RunPurpose,
    FieldName::ControllerDwelling,
    FieldName::ControllerUnits,
];

/// Where a missing value is none: what its absence says instead.
const EXCUSED: &[(&str, FieldName, &str)] = &[
    (
        "nameplate-off-table",
        FieldName::UnitHeatKw,
        "the user's table has the model with its heater alone; the row that is wanted is named",
    ),
    (
        "fuse-required",
        FieldName::CircuitFuse,
        "its disconnect is stated as not fused: an empty cell adds nothing",
    ),
    (
        "fuse-carries-limit",
        FieldName::CircuitFuse,
        "an empty cell says that there are no fuses; protection-over-mop speaks then",
    ),
    (
        "bus-splice",
        FieldName::RunSplices,
        "an empty cell of that column says that there is none",
    ),
    (
        "circuit-disagrees",
        FieldName::CircuitBreaker,
        "a row that says nothing contradicts nothing",
    ),
    (
        "conductor-under-protection",
        FieldName::UnitHeatKw,
        "an empty cell of the heaters' column says that there is none",
    ),
    (
        "shared-with-strip-heat",
        FieldName::UnitHeatKw,
        "an empty cell of the heaters' column says that there is none",
    ),
    (
        "sharing-possible",
        FieldName::UnitHeatKw,
        "an empty cell of the heaters' column says that there is none",
    ),
    (
        "strip-heat-circuit-small",
        FieldName::UnitHeatKw,
        "an empty cell of the heaters' column says that there is none",
    ),
    (
        "strip-heat-not-subdivided",
        FieldName::UnitHeatKw,
        "an empty cell of the heaters' column says that there is none",
    ),
    (
        "strip-heat-voltage",
        FieldName::UnitHeatKw,
        "an empty cell of the heaters' column says that there is none",
    ),
    (
        "panel-overloaded",
        FieldName::PanelMain,
        "a panel without a main is held by its bus",
    ),
    (
        "shared-motor-over-limit",
        FieldName::UnitFla,
        "MCA / 1.25, at least its largest motor, is taken in its place",
    ),
    (
        "shared-motor-over-limit",
        FieldName::UnitHorsepower,
        "6 A at 240 V and one phase are below 1 hp (NEC Table 430.248)",
    ),
    (
        "shared-over-capacity",
        FieldName::UnitFla,
        "MCA is taken in its place, as the bounds that it gives",
    ),
    (
        "supply-voltage-mismatch",
        FieldName::CircuitSupply,
        "the volts of its panel are taken in its place",
    ),
    (
        "poles-mismatch",
        FieldName::CircuitPoles,
        "the slots written tell the poles in its place",
    ),
    (
        "conductor-heavier-than-needed",
        FieldName::UnitMop,
        "without it no exception is shown, and the breaker asks for the larger size",
    ),
    (
        "twin-units-differ",
        FieldName::CircuitBreaker,
        "a column that no twin states shows no difference",
    ),
    (
        "disconnect-underrated",
        FieldName::UnitFuse,
        "a switch takes no fuses above its own size",
    ),
];

/// What a rule reads, and what it says without it.
#[derive(Default)]
struct Sweep {
    inputs: BTreeMap<(usize, FieldName), BTreeSet<String>>,
    faults: BTreeSet<String>,
    used: BTreeSet<(&'static str, FieldName)>,
}

impl Sweep {
    fn run(
        &mut self,
        place: usize,
        (what, ways): (&str, &[Gone]),
        draft: &Draft,
        practice: &Practice,
    ) {
        let rule = ALL[place];
        let before = spoken(rule, draft.clone(), practice);
        for field in FIELDS.iter().chain(OTHERS).copied() {
            // What changes nothing where no row has it changes nothing row by
            // row: most fields are none of the rule's.
            let reads = [Gone::NoColumn, Gone::Unknown].into_iter().any(|gone| {
                let copy = without_any(draft, field, gone);
                copy.is_some_and(|copy| spoken(rule, copy, practice) != before)
            });
            if !reads {
                continue;
            }
            for &gone in ways {
                for (how, copy) in without(draft, field, gone) {
                    let after = spoken(rule, copy, practice);
                    if after == before {
                        continue;
                    }
                    let asked = newly_asked(field, &before, &after);
                    for (text, fault) in changed(field, &before, &after, asked) {
                        if fault {
                            let key = (rule.name, field);
                            if EXCUSED.iter().any(|(r, f, _)| (*r, *f) == key) {
                                self.used.insert(key);
                            } else {
                                let how = how.trim_end_matches(|c: char| c.is_ascii_digit());
                                self.faults.insert(format!(
                                    "{} without {field} ({what}, {how}): {text}",
                                    rule.name
                                ));
                            }
                        }
                        let said = self.inputs.entry((place, field)).or_default();
                        said.insert(text);
                    }
                }
            }
        }
    }
}

/// Some subject, or the table as a whole, is not checked for want of it.
fn newly_asked(field: FieldName, before: &Spoken, after: &Spoken) -> bool {
    let wants = |said: &Said| match said {
        Said::Wants(wants) => wants.iter().any(|want| names(want, field)),
        _ => false,
    };
    after
        .iter()
        .any(|(subject, said)| wants(said) && !before.get(subject).is_some_and(wants))
}

/// What is said now, and whether it may not be.
fn changed(field: FieldName, before: &Spoken, after: &Spoken, asked: bool) -> Vec<(String, bool)> {
    let identity = IDENTITY.contains(&field);
    let mut all = Vec::new();
    for (subject, was) in before {
        let is = after.get(subject);
        if is == Some(was) {
            continue;
        }
        let (text, fault) = match (was, is) {
            (_, Some(Said::Found(Severity::Fix))) => ("fix".to_owned(), true),
            (_, Some(Said::Found(severity))) => (severity.to_string(), false),
            (Said::Found(_), Some(Said::Met)) => ("met".to_owned(), !asked && !identity),
            (_, Some(Said::Met)) => ("met".to_owned(), false),
            (_, None) => ("silent".to_owned(), !asked && !identity),
            (_, Some(Said::Wants(wants))) => {
                let named = wants.iter().any(|want| names(want, field));
                let texts: Vec<&str> = wants.iter().map(String::as_str).collect();
                let text = format!("not checked for want of {}", texts.join(", "));
                (text, !named && !asked && !identity)
            }
        };
        all.push((text, fault));
    }
    for (subject, is) in after {
        if !before.contains_key(subject) && matches!(is, Said::Found(Severity::Fix)) {
            all.push(("fix of another subject".to_owned(), true));
        }
    }
    all
}

/// Whether a want names the column, or a part of it.
fn names(want: &str, field: FieldName) -> bool {
    let part = match field {
        FieldName::UnitSupply => matches!(want, "unit.volts" | "unit.phase"),
        FieldName::RunGauge | FieldName::RunStranding | FieldName::RunShield => want == "run.wire",
        _ => false,
    };
    part || want == field.name()
}

#[test]
fn a_missing_value_is_named_and_proves_nothing() {
    let mut sweep = Sweep::default();
    for (place, rule) in ALL.iter().enumerate() {
        let planted = PLANTED.iter().find(|planted| planted.rule == rule.name);
        let planted = planted.expect("held by another test");
        let practice = practice(rule.name);
        sweep.run(place, ("right", &Gone::ALL), &planted.right(), &practice);
        sweep.run(place, ("wrong", &Gone::ALL), &(planted.wrong)(), &practice);
        for limit in limits().filter(|limit| limit.rule == rule.name) {
            for (value, _) in [limit.steps[0], limit.steps[limit.steps.len() - 1]] {
                let ways = (limit.limit, &[Gone::Unknown][..]);
                sweep.run(place, ways, &(limit.job)(value), &practice);
            }
        }
    }
    let faults: Vec<&str> = sweep.faults.iter().map(String::as_str).collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    for (rule, field, reason) in EXCUSED {
        assert!(
            sweep.used.contains(&(*rule, *field)) && by_name(rule).is_some(),
            "{rule} needs no excuse for {field}: {reason}"
        );
    }
}
