//! What a proposal promises: audited, it has no `fix` left.

mod asked;
mod jobs;
mod rooms;

use super::{Proposal, propose};
use crate::findings::Severity;
use crate::practice::Practice;
use crate::rules;
use crate::schedule::{Feet, FieldName, Schedule};
use jobs::{Dice, FAULTS, MISSING, plant, right};
use std::collections::{BTreeMap, BTreeSet};

/// Rules whose finding may stay where a fact is wanting, once it is asked.
const MAY_STAY: [&str; 5] = [
    "unknown-tag",
    "duplicate-tag",
    "mop-below-mca",
    "circuit-disagrees",
    "no-supply-circuit",
];

fn job(seed: u64, faults: &[usize]) -> Schedule {
    let mut dice = Dice(seed);
    let mut draft = right(&mut dice);
    for &fault in faults {
        plant(fault, &mut draft, &mut dice);
    }
    draft.build()
}

/// The practice that a job is audited under: in every third with a limit to
/// the farthest unit.
fn practice(seed: u64) -> Practice {
    let mut practice = Practice::default();
    if seed.is_multiple_of(3) {
        practice.bus.farthest = Some(Feet(150.0));
    }
    practice
}

/// What came of the proposal of a job.
#[derive(Default)]
struct Told {
    /// Promises that are broken.
    wrong: Vec<String>,
    /// Findings to fix that stay and are asked about, by rule.
    asked: Vec<&'static str>,
    /// Findings to verify, of the schedule and of the proposal.
    verify: (usize, usize),
    /// Circuits of the proposal with slots and without that are new or moved.
    slots: (usize, usize),
}

fn told(seed: u64, faults: &[usize]) -> Told {
    let practice = practice(seed);
    let schedule = job(seed, faults);
    let proposal = propose(&schedule, &practice);
    let (old, new) = (
        rules::audit(&schedule, &practice),
        rules::audit(proposal.schedule(), &practice),
    );
    let complete = !faults.iter().any(|fault| MISSING.contains(fault));
    let mut told = Told {
        verify: (old.count(Severity::Verify), new.count(Severity::Verify)),
        slots: slots_told(&proposal),
        ..Told::default()
    };
    for finding in new.findings.iter().filter(|f| f.severity == Severity::Fix) {
        let asked = proposal
            .questions
            .iter()
            .any(|q| q.finding.as_ref() == Some(&finding.id));
        if complete || !asked || !MAY_STAY.contains(&finding.rule) {
            told.wrong
                .push(format!("{} {}", finding.rule, finding.message));
        }
        told.asked.push(finding.rule);
    }
    let (was, is) = told.verify;
    if is > was {
        let verify = new
            .findings
            .iter()
            .filter(|f| f.severity == Severity::Verify);
        let texts: Vec<String> = verify
            .map(|f| format!("{} {}", f.rule, f.message))
            .collect();
        told.wrong.push(format!("verify {was} -> {is}: {texts:#?}"));
    }
    told.wrong
        .extend(slots_taken_twice(&schedule, proposal.schedule()));
    told
}

/// What is wrong with the proposal of a job; empty where nothing is.
fn broken(seed: u64, faults: &[usize]) -> Vec<String> {
    told(seed, faults).wrong
}

fn slots_told(proposal: &Proposal) -> (usize, usize) {
    let s = proposal.schedule();
    let moved = |c: &&super::ProposedCircuit| {
        let named = s
            .circuit(c.id)
            .name
            .get()
            .map(|name| name.text().to_owned());
        c.is_new || named.is_some_and(|name| name.starts_with("moved"))
    };
    let (with, without): (Vec<_>, Vec<_>) = proposal
        .circuits
        .iter()
        .filter(moved)
        .partition(|c| s.circuit(c.id).slots.is_given());
    (with.len(), without.len())
}

/// The slots that breakers take, each with the circuits that claim it.
fn claims(s: &Schedule) -> BTreeMap<(String, u16), BTreeSet<String>> {
    let mut claims: BTreeMap<(String, u16), BTreeSet<String>> = BTreeMap::new();
    for (id, circuit) in s.circuit_ids() {
        let (Some(panel), true) = (circuit.panel.get(), circuit.breaker.is_given()) else {
            continue;
        };
        for slot in circuit.slots_taken() {
            let key = (panel.key().to_owned(), slot.number);
            claims.entry(key).or_default().insert(s.circuit_label(id));
        }
    }
    claims
}

/// Slots in which the proposal puts two breakers, where the schedule does
/// not have the same two there.
fn slots_taken_twice(was: &Schedule, is: &Schedule) -> Vec<String> {
    let before = claims(was);
    claims(is)
        .into_iter()
        .filter(|(slot, circuits)| circuits.len() > 1 && before.get(slot) != Some(circuits))
        .map(|(slot, circuits)| format!("two breakers in {slot:?}: {circuits:?}"))
        .collect()
}

#[test]
fn a_right_job_is_left_as_it_is() {
    for seed in 0..16 {
        let schedule = job(seed, &[]);
        let audit = rules::audit(&schedule, &Practice::default());
        let fixes: Vec<_> = audit
            .findings
            .iter()
            .filter(|f| f.severity == Severity::Fix)
            .collect();
        assert!(fixes.is_empty(), "{seed}: {fixes:#?}");
        let proposal = propose(&schedule, &Practice::default());
        let gathered = |rule| rule == "sharing-possible";
        let other: Vec<_> = proposal
            .changes
            .iter()
            .filter(|c| !gathered(c.rule))
            .collect();
        assert!(other.is_empty(), "{seed}: {other:#?}");
    }
}

#[test]
fn each_fault_alone_is_mended() {
    let mut wrong = Vec::new();
    for fault in 0..FAULTS {
        for seed in 0..4 {
            for text in broken(seed, &[fault]) {
                wrong.push(format!("fault {fault} seed {seed}: {text}"));
            }
        }
    }
    assert!(
        wrong.is_empty(),
        "{} left:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

/// Jobs that the mixture is tried on; more by `AMPLEDGER_JOBS`.
fn count() -> u64 {
    std::env::var("AMPLEDGER_JOBS")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(60)
}

#[test]
fn any_mixture_of_faults_leaves_no_fix() {
    let mut wrong = Vec::new();
    let mut asked: BTreeMap<&str, usize> = BTreeMap::new();
    let (mut verify, mut slots, mut more) = ((0, 0), (0, 0), 0);
    for seed in 0..count() {
        let mut dice = Dice(seed ^ 0xfeed);
        let faults: Vec<usize> = (0..1 + dice.below(6)).map(|_| dice.below(FAULTS)).collect();
        let told = told(seed + 1000, &faults);
        for text in told.wrong {
            wrong.push(format!("{faults:?} seed {}: {text}", seed + 1000));
        }
        for rule in told.asked {
            *asked.entry(rule).or_default() += 1;
        }
        verify = (verify.0 + told.verify.0, verify.1 + told.verify.1);
        more += usize::from(told.verify.1 > told.verify.0);
        slots = (slots.0 + told.slots.0, slots.1 + told.slots.1);
    }
    // For whoever runs it with more jobs and --nocapture.
    println!(
        "{} jobs generated, {} promises of their proposals broken; fix left: {asked:?}; verify {} \
         -> {}, more of it in {more} jobs; new and moved circuits with slots {}, without {}",
        count(),
        wrong.len(),
        verify.0,
        verify.1,
        slots.0,
        slots.1
    );
    assert!(
        wrong.is_empty(),
        "{} left:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

#[test]
fn a_change_names_its_cell_and_its_rule() {
    // Fault 0 puts a breaker above MOP somewhere.
    let schedule = job(3, &[0]);
    let proposal = propose(&schedule, &Practice::default());
    let breaker = proposal
        .changes
        .iter()
        .find(|changed| changed.change.field == FieldName::CircuitBreaker);
    let breaker = breaker.expect("the breaker changes");
    assert!(
        breaker.rule.starts_with("protection") || breaker.rule.starts_with("shared"),
        "{breaker:?}"
    );
    assert!(!breaker.change.proposed.is_empty());
}
