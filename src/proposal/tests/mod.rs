//! What a proposal promises: audited, it has no `fix` left.

mod jobs;

use super::{Proposal, propose};
use crate::findings::Severity;
use crate::practice::Practice;
use crate::rules;
use crate::schedule::{FieldName, Schedule};
use jobs::{Dice, FAULTS, MISSING, plant, right};

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

/// What is wrong with the proposal of a job; empty where nothing is.
fn broken(seed: u64, faults: &[usize]) -> Vec<String> {
    let practice = Practice::default();
    let schedule = job(seed, faults);
    let proposal = propose(&schedule, &practice);
    let (old, new) = (
        rules::audit(&schedule, &practice),
        rules::audit(proposal.schedule(), &practice),
    );
    let complete = faults.iter().all(|&fault| fault < MISSING);
    let mut wrong = Vec::new();
    for finding in new.findings.iter().filter(|f| f.severity == Severity::Fix) {
        let asked = proposal
            .questions
            .iter()
            .any(|q| q.finding.as_ref() == Some(&finding.id));
        if complete || !asked || !MAY_STAY.contains(&finding.rule) {
            wrong.push(format!("{} {}", finding.rule, finding.message));
        }
    }
    let (was, is) = (old.count(Severity::Verify), new.count(Severity::Verify));
    if is > was + open_lengths(&proposal) {
        let verify = new
            .findings
            .iter()
            .filter(|f| f.severity == Severity::Verify);
        let texts: Vec<String> = verify
            .map(|f| format!("{} {}", f.rule, f.message))
            .collect();
        wrong.push(format!("verify {was} -> {is}: {texts:#?}"));
    }
    wrong
}

/// Systems with a run that is new and that no known run bounds: a length
/// that was not asked before, because the run was not there.
fn open_lengths(proposal: &Proposal) -> usize {
    let open = |chain: &&super::ProposedChain| {
        chain
            .runs
            .iter()
            .any(|run| !run.kept && run.length.is_none())
    };
    proposal.chains.iter().filter(open).count()
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
    for seed in 0..count() {
        let mut dice = Dice(seed ^ 0xfeed);
        let faults: Vec<usize> = (0..1 + dice.below(6)).map(|_| dice.below(FAULTS)).collect();
        for text in broken(seed + 1000, &faults) {
            wrong.push(format!("{faults:?} seed {}: {text}", seed + 1000));
        }
    }
    // For whoever runs it with more jobs and --nocapture.
    println!(
        "{} jobs generated, {} promises of their proposals broken",
        count(),
        wrong.len()
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
