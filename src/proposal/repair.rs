//! Round by round: what the audit of the schedule so far asks for is made
//! right, and the result audited again.

use super::bench::Bench;
use super::{bus, circuits, controllers, lengths, moves, panels, slots};
use crate::findings::{Reported, Severity, Subject};
use crate::rules::branch;
use crate::schedule::{
    CircuitId, Conflict, Fault, Field, FieldName, Name, RunId, Schedule, SystemId, UnitId,
};
use std::collections::{BTreeMap, BTreeSet};

/// Rounds after which what is left is asked.
const ROUNDS: usize = 16;
/// Attempts at one finding.
const ATTEMPTS: u32 = 4;

pub(super) fn run(bench: &mut Bench) {
    mend_all(bench);
    let before = bench.clone();
    let verify = |bench: &Bench| {
        let audit = &bench.audited;
        (audit.count(Severity::Fix), audit.count(Severity::Verify))
    };
    if moves::gather(bench) {
        mend_all(bench);
        let (old, new) = (verify(&before), verify(bench));
        if new.0 > old.0 || new.1 > old.1 {
            *bench = before;
        }
    }
    let before = bench.clone();
    if slots::settle(bench) {
        bench.turn();
        let (old, new) = (verify(&before), verify(bench));
        // With slots a panel's load can be told, and may be a question.
        if new.0 > old.0 || new.1 > old.1 {
            *bench = before;
        }
    }
}

fn mend_all(bench: &mut Bench) {
    let mut tried: BTreeMap<(&'static str, String), u32> = BTreeMap::new();
    for _ in 0..ROUNDS {
        let audit = bench.turn();
        let pending = std::mem::take(&mut bench.pending);
        let mut any = !pending.is_empty();
        let mut touched: BTreeSet<Subject> = BTreeSet::new();
        for (id, rule) in pending {
            touched.insert(Subject::Circuit(id));
            // What is wanting for it is told by the findings that stay.
            let _ = circuits::right(bench, id, rule);
        }
        for finding in bench.to_mend(&audit) {
            let key = (finding.rule, finding.subject_label.clone());
            let attempts = tried.entry(key).or_default();
            let owner = owner(&bench.now, finding.subject);
            if *attempts >= ATTEMPTS || touched.contains(&owner) {
                continue;
            }
            *attempts += 1;
            bench.asking = Some(finding.place);
            let mended = mend(bench, finding);
            bench.asking = None;
            if mended {
                touched.insert(owner);
                any = true;
            }
        }
        if !any {
            break;
        }
    }
    bench.turn();
}

/// The thing that one round changes once: a run's chain, a unit's circuit.
fn owner(s: &Schedule, subject: Subject) -> Subject {
    match subject {
        Subject::Run(run) => run_system(s, run).map_or(subject, Subject::System),
        Subject::Unit(unit) => match s.unit(unit).circuits.first() {
            Some((circuit, _)) => Subject::Circuit(*circuit),
            None => subject,
        },
        other => other,
    }
}

fn run_system(s: &Schedule, run: RunId) -> Option<SystemId> {
    let row = s.run(run);
    let (from, to) = row.units()?;
    if !bus::indoor_side(s, row) {
        return None;
    }
    s.unit(from).system_id.or(s.unit(to).system_id)
}

fn mend(bench: &mut Bench, finding: &Reported) -> bool {
    let rule = finding.rule;
    match (rule, finding.subject) {
        ("powered-before-charge", _) => power_later(bench, rule),
        ("unknown-tag", Subject::Run(run)) => name_end(bench, finding, run),
        ("unknown-tag", Subject::Controller(id)) => controllers::rename(bench, finding, id),
        ("circuit-disagrees", Subject::Circuit(id)) => decide(bench, finding, id),
        ("slot-taken-twice", Subject::Circuit(id)) => {
            circuits::open_slots(bench, id, rule, "slots");
            true
        }
        ("supply-voltage-mismatch", Subject::Circuit(id)) => panels::right_volts(bench, id, rule),
        ("disconnect-underrated" | "disconnect-missing", Subject::Unit(id)) => {
            circuits::right_disconnect(bench, id, rule)
        }
        ("no-supply-circuit", Subject::Unit(id)) => feed(bench, finding, id),
        (
            "outdoor-not-dedicated"
            | "shared-with-strip-heat"
            | "shared-mixed-voltage"
            | "shared-over-capacity",
            Subject::Circuit(id),
        ) => moves::part(bench, finding, id),
        ("controller-missing", Subject::Unit(id)) => controllers::add(bench, id, rule),
        ("controller-not-home-run", Subject::Controller(id)) => {
            controllers::straighten(bench, finding, id)
        }
        ("controller-over-length", Subject::Run(run)) => {
            let most = bench.practice.controller.farthest;
            lengths::at_most(bench, run, most, rule);
            let text = format!("Can the controller stand within {most} of its unit?");
            bench.ask(finding, FieldName::RunLength, text);
            true
        }
        ("bus-run-repeated" | "bus-crosses-systems", Subject::Run(run)) => {
            bus::leave_out(bench, &[run], rule);
            true
        }
        (
            "bus-wrong-side"
            | "bus-conductor-count"
            | "low-voltage-with-power"
            | "bus-near-power-unshielded",
            Subject::Run(run),
        ) => bus::right_run(bench, run, rule),
        (_, subject) => by_kind(bench, finding, subject),
    }
}

fn by_kind(bench: &mut Bench, finding: &Reported, subject: Subject) -> bool {
    let rule = finding.rule;
    match (rule, subject) {
        ("bus-shield-broken", Subject::System(id)) => bus::right_shield(bench, id, rule),
        ("bus-shield-grounds", Subject::System(id)) => bus::right_grounds(bench, id, rule),
        ("bus-length-missing", Subject::System(id)) => lengths::within_budget(bench, id, rule),
        ("bus-over-length", Subject::System(id)) => lengths::right_total(bench, finding, id),
        ("bus-farthest-over-length", Subject::System(id)) => {
            lengths::right_farthest(bench, finding, id)
        }
        ("bus-too-many-units", Subject::System(_)) => {
            let text = format!(
                "Which other system takes the units above the number? {} {}",
                finding.message, finding.remedy
            );
            bench.ask(finding, FieldName::UnitSystem, text);
            false
        }
        ("phase-mismatch", Subject::Circuit(id))
            if panels::three_phase_panel(bench, id, finding) =>
        {
            true
        }
        (
            "bus-broken" | "bus-closes-on-itself" | "bus-not-from-outdoor" | "bus-branches",
            Subject::System(id),
        ) => shape(bench, finding, id),
        ("bus-branches", Subject::Unit(id)) => match bench.now.unit(id).system_id {
            Some(system) => shape(bench, finding, system),
            None => false,
        },
        (
            "phase-mismatch"
            | "poles-mismatch"
            | "protection-over-mop"
            | "protection-under-mca"
            | "fuse-required"
            | "rating-not-standard"
            | "fuse-carries-limit"
            | "shared-rating-too-large"
            | "strip-heat-circuit-small"
            | "strip-heat-not-subdivided"
            | "conductor-under-mca"
            | "conductor-under-protection"
            | "conductor-too-small"
            | "conductor-count"
            | "grounding-conductor-small",
            Subject::Circuit(id),
        ) if rule != "shared-rating-too-large" || !moves::unprotected(bench, id, rule) => {
            match circuits::right(bench, id, rule) {
                Ok(()) => true,
                Err(field) => {
                    bench.ask(finding, field, finding.message.clone());
                    false
                }
            }
        }
        _ => false,
    }
}

fn power_later(bench: &mut Bench, rule: &'static str) -> bool {
    let facts = &mut bench.next.facts;
    let last = [facts.pressure_test.copied(), facts.charge.copied()]
        .into_iter()
        .flatten()
        .max();
    let (Some(last), Field::Given(power)) = (last, &mut facts.power_on) else {
        return false;
    };
    power.value = last;
    let at = power.at;
    bench.change(rule, at, FieldName::JobPowerOn, last.to_string());
    true
}

/// One chain; where a mark stands for several units, no run tells which of
/// them it joins.
fn shape(bench: &mut Bench, finding: &Reported, id: SystemId) -> bool {
    let marked = |unit: &&UnitId| bench.now.unit(**unit).instance.1 > 1;
    let mark = bench.now.system(id).units.iter().find(marked).copied();
    let Some(mark) = mark else {
        return bus::rebuild(bench, id, finding.rule);
    };
    let text = format!(
        "In which order does the bus pass the units {}? Give each a row of its own, and its \
         runs. {}",
        bench.now.unit(mark).tag.value,
        finding.message
    );
    bench.ask(finding, FieldName::UnitQuantity, text);
    false
}

/// A run's end by the name that was likely meant.
fn name_end(bench: &mut Bench, finding: &Reported, run: RunId) -> bool {
    if controllers::at_its_run(bench, finding, run) {
        return true;
    }
    let Some(change) = finding.changes.first() else {
        bench.ask(finding, FieldName::RunTo, finding.message.clone());
        return false;
    };
    let name = Name::new(&change.proposed);
    let row = &mut bench.next.runs[run.index()];
    let cell = if change.field == FieldName::RunFrom {
        &mut row.from
    } else {
        &mut row.to
    };
    *cell = Field::given(name, change.at);
    bench.change(
        finding.rule,
        change.at,
        change.field,
        change.proposed.clone(),
    );
    bench.question(
        None,
        finding.rule,
        change.field,
        &finding.subject_label,
        format!("Is {} meant? {}", change.proposed, finding.message),
    );
    true
}

/// Rows that disagree about a circuit: the nameplate decides where it can.
fn decide(bench: &mut Bench, finding: &Reported, id: CircuitId) -> bool {
    let complete = bench.now.circuit(id).units().iter().all(|&unit| {
        let unit = bench.now.unit(unit);
        unit.mca.is_given() && unit.mop.is_given()
    });
    if !complete || circuits::right(bench, id, finding.rule).is_err() {
        bench.ask(finding, FieldName::UnitMca, finding.message.clone());
        return false;
    }
    let of_it = |fault: &Fault| matches!(fault, Fault::Disagrees { what: Conflict::Circuit(c), .. } if *c == id);
    let faults: Vec<Fault> = bench
        .next
        .faults
        .iter()
        .filter(|f| of_it(f))
        .cloned()
        .collect();
    bench.next.faults.retain(|fault| !of_it(fault));
    let circuit = bench.next.circuit(id).clone();
    for fault in faults {
        let Fault::Disagrees { field, at, .. } = fault else {
            continue;
        };
        let written = match field {
            FieldName::CircuitBreaker => super::text::breaker(&circuit),
            FieldName::CircuitPoles => circuit
                .poles
                .copied()
                .map_or(String::new(), |p| p.to_string()),
            FieldName::CircuitConductor => circuit
                .conductor
                .get()
                .map_or(String::new(), super::text::conductor),
            _ => continue,
        };
        bench.change(finding.rule, at, field, written);
    }
    true
}

/// A circuit for a unit that has none; without a nameplate it is asked.
fn feed(bench: &mut Bench, finding: &Reported, id: UnitId) -> bool {
    let unit = bench.now.unit(id);
    // The first of a mark speaks for all.
    if finding.severity != Severity::Fix || unit.instance.0 > 1 {
        return false;
    }
    for (missing, field) in [
        (!unit.mca.is_given(), FieldName::UnitMca),
        (!unit.mop.is_given(), FieldName::UnitMop),
    ] {
        if missing {
            bench.ask(finding, field, finding.message.clone());
            return false;
        }
    }
    if unit.instance.1 > 1 {
        moves::place_mark(bench, id, finding.rule);
        return true;
    }
    let dwelling = unit.dwelling.get().cloned();
    let without: Vec<UnitId> = bench
        .now
        .audited_units()
        .filter(|(_, other)| {
            other.circuits.is_empty()
                && branch::is_audited(other)
                && other.instance.1 == 1
                && other.dwelling.get() == dwelling.as_ref()
                && other.mca.is_given()
                && other.mop.is_given()
        })
        .map(|(id, _)| id)
        .collect();
    // All of a dwelling at once, by its first: together they share better.
    if without.first() != Some(&id) {
        return false;
    }
    moves::place(bench, &without, None, finding.rule);
    true
}
