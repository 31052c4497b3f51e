//! The work bench of a proposal: the schedule as it stands after the
//! corrections so far, and what was changed and asked on the way.

use super::data::{Changed, Question, Stands};
use super::slots::Opened;
use crate::findings::{Audit, Change, Reported, Severity};
use crate::practice::Practice;
use crate::rules;
use crate::schedule::wire::RunPurpose;
use crate::schedule::{
    CellId, Circuit, CircuitId, ColIndex, Draft, FieldName, Load, LoadTarget, Place, RowIndex, Run,
    RunEnd, RunId, Schedule, SourceTable, TableKind,
};
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

/// Fields by which a row is known: a change of another field that is said to
/// be at one of these has no column of its own.
const NAMES_ROW: [FieldName; 10] = [
    FieldName::UnitTag,
    FieldName::CircuitPanel,
    FieldName::CircuitSlots,
    FieldName::CircuitPanelSlots,
    FieldName::CircuitName,
    FieldName::CircuitLoads,
    FieldName::RunName,
    FieldName::RunFrom,
    FieldName::RunTo,
    FieldName::ControllerTag,
];

#[derive(Clone)]
pub(super) struct Bench<'a> {
    pub original: &'a Schedule,
    pub practice: &'a Practice,
    /// Findings that were accepted.
    accepted: Vec<Reported>,
    pub before: Rc<Audit>,
    /// Of `now`.
    pub audited: Rc<Audit>,
    /// Resolved, as of the end of the last round.
    pub now: Rc<Schedule>,
    /// What the next round starts from; resolved fields are those of `now`.
    pub next: Schedule,
    pub changes: BTreeMap<(CellId, FieldName), Changed>,
    pub questions: Vec<Question>,
    /// Lengths that are upper bounds.
    pub measure: BTreeSet<CellId>,
    /// Of these, what the budget leaves: no known way bounds them.
    pub by_budget: BTreeSet<CellId>,
    /// First cells of rows that are new.
    pub added: BTreeSet<CellId>,
    /// Circuits whose loads changed, to be made right in the next round.
    pub pending: Vec<(CircuitId, &'static str)>,
    /// Runs of `next` that are left out.
    pub dropped: BTreeSet<RunId>,
    /// Circuits whose slots were opened, by the cell of their row.
    pub opened: BTreeMap<CellId, Opened>,
    /// Circuits that were given another panel, by the cell of their row.
    pub reopened: BTreeSet<CellId>,
    /// Where the finding stands that is being mended.
    pub asking: Option<Place>,
    new_table: Option<u32>,
    new_rows: u32,
}

/// Audits a schedule; what was accepted and is still the same does not stand.
fn audit(schedule: &Schedule, practice: &Practice, accepted: &[Reported]) -> Audit {
    let mut audit = rules::audit(schedule, practice);
    for finding in &mut audit.findings {
        let known = accepted.iter().find(|known| {
            known.id == finding.id && known.found == finding.found && known.limit == finding.limit
        });
        finding.accepted = known.and_then(|known| known.accepted.clone());
    }
    audit
}

impl<'a> Bench<'a> {
    pub fn new(original: &'a Schedule, practice: &'a Practice, before: &Audit) -> Self {
        let now = Rc::new(unbuild(original).build());
        let accepted: Vec<Reported> = before
            .findings
            .iter()
            .filter(|finding| !finding.stands())
            .cloned()
            .collect();
        // A nameplate table fills blanks that a proposal leaves open.
        let before = Rc::new(match practice.nameplates.is_empty() {
            true => before.clone(),
            false => audit(original, practice, &accepted),
        });
        let audited = match *now == *original {
            true => Rc::clone(&before),
            false => Rc::new(audit(&now, practice, &accepted)),
        };
        Self {
            original,
            practice,
            accepted,
            before,
            audited,
            next: (*now).clone(),
            now,
            changes: BTreeMap::new(),
            questions: Vec::new(),
            measure: BTreeSet::new(),
            by_budget: BTreeSet::new(),
            added: BTreeSet::new(),
            pending: Vec::new(),
            dropped: BTreeSet::new(),
            opened: BTreeMap::new(),
            reopened: BTreeSet::new(),
            asking: None,
            new_table: None,
            new_rows: 0,
        }
    }

    /// Takes what the round changed as the schedule of the next one. An audit
    /// is dear: a round that changed nothing has that of the round before.
    pub fn turn(&mut self) -> Rc<Audit> {
        if self.dropped.is_empty() && self.next == *self.now {
            return Rc::clone(&self.audited);
        }
        let mut index = 0;
        let dropped = std::mem::take(&mut self.dropped);
        self.next.runs.retain(|_| {
            index += 1;
            !dropped.contains(&RunId(index - 1))
        });
        self.now = Rc::new(unbuild(&self.next).build());
        self.next = (*self.now).clone();
        self.audited = Rc::new(audit(&self.now, self.practice, &self.accepted));
        Rc::clone(&self.audited)
    }

    /// Findings that stand, worst first in the order of the list, and that
    /// the schedule as submitted did not have, or that are a fix.
    pub fn to_mend<'r>(&self, audit: &'r Audit) -> Vec<&'r Reported> {
        let old: BTreeSet<(&str, String)> = self
            .before
            .findings
            .iter()
            .filter(|f| f.severity == Severity::Verify)
            .map(|f| (f.rule, f.subject_label.clone()))
            .collect();
        let stands = |severity| {
            audit
                .findings
                .iter()
                .filter(move |f| f.severity == severity && f.stands())
        };
        stands(Severity::Fix)
            .chain(
                stands(Severity::Verify)
                    .filter(|f| !old.contains(&(f.rule, f.subject_label.clone()))),
            )
            .collect()
    }

    /// Notes that a cell changes; the text as submitted stays the *was*.
    pub fn change(&mut self, rule: &'static str, at: CellId, field: FieldName, proposed: String) {
        let stands = self.stands(at, field);
        let was = match stands {
            Stands::Alone | Stands::Among => self.original.sources.text(at).to_owned(),
            Stands::WithoutColumn | Stands::NewRow => String::new(),
        };
        self.changes
            .entry((at, field))
            .and_modify(|changed| changed.change.proposed.clone_from(&proposed))
            .or_insert(Changed {
                rule,
                change: Change {
                    at,
                    field,
                    was,
                    proposed,
                },
                stands,
                measure: false,
                asked_at: self.asking,
            });
    }

    fn stands(&self, at: CellId, field: FieldName) -> Stands {
        let Some(table) = self.original.sources.tables.get(at.table as usize) else {
            return Stands::NewRow;
        };
        let column = table.columns.iter().find(|c| c.column == at.column);
        let fields = column.map_or(&[][..], |column| column.fields.as_slice());
        let both = matches!(field, FieldName::CircuitPanel | FieldName::CircuitSlots)
            && fields.contains(&FieldName::CircuitPanelSlots);
        // A form of labels and values has a cell for each fact.
        if fields.is_empty() || fields.contains(&field) || field.table() == TableKind::JobFacts {
            Stands::Alone
        } else if !both && fields.iter().any(|field| NAMES_ROW.contains(field)) {
            Stands::WithoutColumn
        } else {
            Stands::Among
        }
    }

    pub fn ask(&mut self, finding: &Reported, field: FieldName, text: impl Into<String>) {
        self.question(
            Some(finding.id.clone()),
            finding.rule,
            field,
            &finding.subject_label,
            text,
        );
    }

    pub fn question(
        &mut self,
        finding: Option<String>,
        rule: &'static str,
        field: FieldName,
        subject: &str,
        text: impl Into<String>,
    ) {
        let question = Question {
            finding,
            rule,
            field,
            subject: subject.to_owned(),
            text: text.into(),
        };
        let same = |other: &Question| {
            other.rule == question.rule
                && other.field == question.field
                && other.subject == question.subject
        };
        if !self.questions.iter().any(same) {
            self.questions.push(question);
        }
    }

    /// The cells of a new row of ours; the first names it.
    pub fn fresh(&mut self, kind: TableKind) -> Fresh {
        let table = match self.new_table {
            Some(table) => table,
            None => {
                let table = self.next.sources.tables.len() as u32;
                self.next.sources.tables.push(SourceTable {
                    file: 0,
                    sheet: Some("Proposed".into()),
                    // No kind of its own: new circuits stay behind those that
                    // were read, so that numbers of circuits stay true.
                    kind: TableKind::JobFacts,
                    kinds: Vec::new(),
                    header: (RowIndex(0), RowIndex(0)),
                    part_of: None,
                    columns: Vec::new(),
                    rows_taken: 0,
                    rows_left_out: Vec::new(),
                    hidden: false,
                });
                self.new_table = Some(table);
                table
            }
        };
        if let Some(source) = self.next.sources.tables.get_mut(table as usize)
            && !source.kinds.contains(&kind)
        {
            source.kinds.push(kind);
        }
        self.new_rows += 1;
        let fresh = Fresh {
            table,
            row: self.new_rows,
            column: 0,
        };
        self.added.insert(fresh.first());
        fresh
    }

    /// How many circuits of ours there are.
    pub fn next_number(&self) -> u32 {
        self.new_rows + 1
    }
}

/// Cells of a new row.
pub(super) struct Fresh {
    table: u32,
    row: u32,
    column: u16,
}

impl Fresh {
    pub fn first(&self) -> CellId {
        self.at(0)
    }

    pub fn cell(&mut self) -> CellId {
        self.column += 1;
        self.at(self.column)
    }

    fn at(&self, column: u16) -> CellId {
        CellId {
            table: self.table,
            row: RowIndex(self.row),
            column: ColIndex(column),
        }
    }
}

/// The rows of a schedule, unresolved again.
pub(super) fn unbuild(schedule: &Schedule) -> Draft {
    let units = schedule
        .units
        .iter()
        .filter(|unit| unit.instance.0 == 1)
        .map(|unit| {
            let mut unit = unit.clone();
            unit.instance = (1, 1);
            unit.system_id = None;
            unit.circuits.clear();
            unit.controllers.clear();
            unit.repeats = None;
            unit
        })
        .collect();
    let controllers = schedule
        .controllers
        .iter()
        .map(|controller| {
            let mut controller = controller.clone();
            controller.unit_ids.clear();
            controller.unknown.clear();
            controller.runs.clear();
            controller
        })
        .collect();
    Draft {
        key: schedule.key.clone(),
        title: schedule.title.clone(),
        facts: schedule.facts.clone(),
        units,
        circuits: schedule.circuits.iter().map(circuit).collect(),
        panels: schedule.panels.clone(),
        runs: schedule.runs.iter().map(run).collect(),
        controllers,
        faults: schedule.faults.clone(),
        sources: schedule.sources.clone(),
    }
}

fn circuit(circuit: &Circuit) -> Circuit {
    let mut circuit = circuit.clone();
    let mut loads: Vec<Load> = Vec::with_capacity(circuit.loads.len());
    for mut load in std::mem::take(&mut circuit.loads) {
        load.target = LoadTarget::Other;
        // The units of one mark were given a load each.
        if !loads.contains(&load) {
            loads.push(load);
        }
    }
    circuit.loads = loads;
    circuit.panel_id = None;
    circuit
}

fn run(run: &Run) -> Run {
    let mut run = run.clone();
    run.serves = RunPurpose::Bus;
    run.from_end = RunEnd::Nothing;
    run.to_end = RunEnd::Nothing;
    run
}
