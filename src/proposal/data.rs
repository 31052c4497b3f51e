//! A proposal as data.

use super::bench::Bench;
use crate::findings::{Audit, Change, Severity};
use crate::schedule::wire::{Conductor, Grounding, RunPurpose};
use crate::schedule::{
    Amps, CircuitId, ControllerId, Feet, FieldName, Name, Part, Place, RunEnd, RunId, Schedule,
    SystemId, UnitId,
};
use std::collections::BTreeSet;

/// A correction of one cell, and the rule that asks for it.
#[derive(Clone, Debug, PartialEq)]
pub struct Changed {
    pub rule: &'static str,
    pub change: Change,
    pub stands: Stands,
    /// A length that is an upper bound, or unknown.
    pub measure: bool,
    /// Where the finding stands that asks for it; `None` where none does,
    /// or where it follows from another change.
    pub asked_at: Option<Place>,
}

/// How the place of a change bears on its field.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stands {
    /// The cell holds the field.
    Alone,
    /// The cell holds other fields as well: `18/2 STR UNSH`.
    Among,
    /// The table has no column for the field: the row's own cell is named.
    WithoutColumn,
    /// A row of ours.
    NewRow,
}

/// What only the submitter can answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// The finding that stays, by its id; `None` where the proposal itself
    /// leaves something open.
    pub finding: Option<String>,
    pub rule: &'static str,
    /// The field that is missing.
    pub field: FieldName,
    pub subject: String,
    pub text: String,
}

/// A circuit of the proposal; ids are those of its schedule.
#[derive(Clone, Debug, PartialEq)]
pub struct ProposedCircuit {
    pub id: CircuitId,
    pub label: String,
    /// Not among those submitted.
    pub is_new: bool,
    pub loads: Vec<(UnitId, Part)>,
    pub other_loads: Vec<String>,
    pub breaker: Option<Amps>,
    pub poles: Option<u8>,
    pub fuse: Option<Amps>,
    pub conductor: Option<Conductor>,
    pub ground: Option<Grounding>,
    pub length: Option<Feet>,
}

/// A run of a proposed chain.
#[derive(Clone, Debug, PartialEq)]
pub struct ProposedRun {
    pub id: RunId,
    pub from: UnitId,
    pub to: UnitId,
    pub length: Option<Feet>,
    /// The length is an upper bound, or unknown: measure before wire is cut.
    pub measure: bool,
    /// The bound is what the budget of the bus leaves.
    pub by_budget: bool,
    /// Scheduled between these two units as submitted.
    pub kept: bool,
}

/// The bus of one system, in order from the outdoor unit.
#[derive(Clone, Debug, PartialEq)]
pub struct ProposedChain {
    pub system: SystemId,
    pub order: Vec<UnitId>,
    pub runs: Vec<ProposedRun>,
}

/// A controller's wire straight to its unit.
#[derive(Clone, Debug, PartialEq)]
pub struct HomeRun {
    pub controller: ControllerId,
    pub unit: UnitId,
    pub run: Option<RunId>,
    pub length: Option<Feet>,
}

/// The schedule that is proposed, and how it differs.
#[derive(Clone, Debug)]
pub struct Proposal {
    pub circuits: Vec<ProposedCircuit>,
    pub chains: Vec<ProposedChain>,
    pub home_runs: Vec<HomeRun>,
    /// Cell by cell, in the order of the cells.
    pub changes: Vec<Changed>,
    pub questions: Vec<Question>,
    /// Of the schedule that is proposed.
    pub audit: Audit,
    schedule: Schedule,
    unbounded: BTreeSet<RunId>,
}

impl Proposal {
    /// The schedule that is proposed, to be audited or written.
    pub fn schedule(&self) -> &Schedule {
        &self.schedule
    }

    /// Runs of the proposed schedule whose length is only what the budget of
    /// their bus leaves: nothing tells how much wire they take.
    pub fn unbounded(&self) -> &BTreeSet<RunId> {
        &self.unbounded
    }

    /// Findings of severity `fix` that are left.
    pub fn fixes_left(&self) -> usize {
        self.audit.count(Severity::Fix)
    }
}

/// What stands in a cell whose value only the submitter knows.
pub(super) const UNKNOWN: &str = "TBD";

pub(super) fn finish(bench: Bench) -> Proposal {
    let audit = (*bench.audited).clone();
    let mut questions = bench.questions.clone();
    for finding in audit
        .findings
        .iter()
        .filter(|f| f.severity == Severity::Fix && f.stands())
    {
        if let Some(asked) = questions.iter_mut().find(|q| {
            q.rule == finding.rule
                && q.subject == finding.subject_label
                && q.finding.as_ref().is_none_or(|id| *id == finding.id)
        }) {
            asked.finding = Some(finding.id.clone());
            continue;
        }
        let outcome = audit
            .outcomes
            .iter()
            .find(|o| o.rule == finding.rule && o.subject == finding.subject);
        let field = outcome
            .and_then(|o| o.finding()?.field)
            .unwrap_or(FieldName::UnitRemarks);
        questions.push(Question {
            finding: Some(finding.id.clone()),
            rule: finding.rule,
            field,
            subject: finding.subject_label.clone(),
            text: format!("{} {}", finding.message, finding.remedy),
        });
    }
    let changes = bench
        .changes
        .values()
        .filter(|changed| changed.change.was != changed.change.proposed)
        .map(|changed| Changed {
            measure: changed.change.field == FieldName::RunLength
                && (bench.measure.contains(&changed.change.at)
                    || changed.change.proposed == UNKNOWN),
            ..changed.clone()
        })
        .collect();
    let s = &bench.now;
    Proposal {
        circuits: circuits(&bench),
        chains: chains(&bench),
        home_runs: home_runs(s),
        changes,
        questions,
        audit,
        schedule: (*bench.now).clone(),
        unbounded: s
            .run_ids()
            .filter(|(_, run)| {
                let at = run.length.at();
                at.is_some_and(|at| bench.by_budget.contains(&at))
            })
            .map(|(id, _)| id)
            .collect(),
    }
}

fn circuits(bench: &Bench) -> Vec<ProposedCircuit> {
    let s = &bench.now;
    s.circuit_ids()
        .filter(|(_, circuit)| !circuit.units().is_empty())
        .map(|(id, circuit)| ProposedCircuit {
            id,
            label: s.circuit_label(id),
            is_new: bench.added.contains(&circuit.at),
            loads: circuit
                .loads
                .iter()
                .filter_map(|load| match load.target {
                    crate::schedule::LoadTarget::Unit(unit) => Some((unit, load.part)),
                    _ => None,
                })
                .collect(),
            other_loads: circuit
                .other_loads()
                .map(|load| load.text.value.clone())
                .collect(),
            breaker: circuit.breaker.copied(),
            poles: circuit.poles.copied(),
            fuse: circuit.fuse.copied(),
            conductor: circuit.conductor.get().cloned(),
            ground: circuit
                .ground
                .copied()
                .or_else(|| circuit.conductor.get().and_then(|wire| wire.ground)),
            length: circuit.length.copied(),
        })
        .collect()
}

fn chains(bench: &Bench) -> Vec<ProposedChain> {
    let s = &bench.now;
    let pair = |(a, b): (UnitId, UnitId)| (a.min(b), a.max(b));
    let scheduled: BTreeSet<(UnitId, UnitId)> = bench
        .original
        .runs
        .iter()
        .filter_map(|run| run.units().map(pair))
        .collect();
    s.system_ids()
        .filter_map(|(id, system)| {
            let mut order: Vec<UnitId> = Vec::new();
            let mut runs = Vec::new();
            for stop in super::bus::walk(s, id) {
                order.push(stop.unit);
                let Some((from, run)) = stop.by else {
                    continue;
                };
                let row = s.run(run);
                runs.push(ProposedRun {
                    id: run,
                    from,
                    to: stop.unit,
                    length: row.length.copied(),
                    measure: row
                        .length
                        .at()
                        .is_some_and(|at| bench.measure.contains(&at)),
                    by_budget: row
                        .length
                        .at()
                        .is_some_and(|at| bench.by_budget.contains(&at)),
                    kept: row
                        .units()
                        .is_some_and(|ends| scheduled.contains(&pair(ends))),
                });
            }
            (!system.runs.is_empty()).then_some(ProposedChain {
                system: id,
                order,
                runs,
            })
        })
        .collect()
}

fn home_runs(s: &Schedule) -> Vec<HomeRun> {
    let mut home = Vec::new();
    for (id, controller) in s.controller_ids() {
        for &unit in &controller.unit_ids {
            let run = controller.runs.iter().copied().find(|&run| {
                let row = s.run(run);
                let ends = [&row.from_end, &row.to_end];
                row.serves == RunPurpose::Controller
                    && ends
                        .iter()
                        .any(|end| matches!(end, RunEnd::Unit(u) if *u == unit))
            });
            home.push(HomeRun {
                controller: id,
                unit,
                run,
                length: run.and_then(|run| s.run(run).length.copied()),
            });
        }
    }
    home
}

/// A name of ours for a new thing.
pub(super) fn new_name(text: &str) -> Name {
    Name::new(text)
}
