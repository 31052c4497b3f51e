//! The family `reading`: what could not be read, or was not sure.
//!
//! Intake records typed faults and knows no rule; here they become findings.

mod cells;
mod circuits;
mod duplicates;
mod tables;
mod tags;

use super::Rule;
use crate::findings::{Outcome, Subject};
use crate::schedule::{
    CellId, CircuitId, ControllerId, FieldName, PanelId, Place, RunId, Schedule, TableKind, UnitId,
};
use std::collections::HashMap;

pub(super) static RULES: &[&Rule] = &[
    &cells::UNREADABLE_VALUE,
    &cells::DATE_FOR_WIRE,
    &cells::UNIT_OF_MEASURE_ASSUMED,
    &tables::REQUIRED_COLUMN_MISSING,
    &tables::HEADING_NOT_RECOGNISED,
    &duplicates::DUPLICATE_TAG,
    &circuits::CIRCUIT_DISAGREES,
    &tags::UNKNOWN_TAG,
    &tables::KIND_UNKNOWN,
    &tables::TABLE_MISSING,
];

/// Which thing of the job each row of a table became. A wide row becomes
/// several; the field's own table tells which is meant.
struct Rows {
    subjects: HashMap<(TableKind, u32, u32), Subject>,
}

impl Rows {
    fn of(schedule: &Schedule) -> Self {
        let mut subjects = HashMap::new();
        let mut put = |kind, at: CellId, subject| {
            subjects
                .entry((kind, at.table, at.row.0))
                .or_insert(subject);
        };
        for (index, unit) in schedule.units.iter().enumerate() {
            let subject = Subject::Unit(UnitId(index as u32));
            put(TableKind::Equipment, unit.tag.at, subject);
        }
        for (index, circuit) in schedule.circuits.iter().enumerate() {
            for &row in &circuit.rows {
                let subject = Subject::Circuit(CircuitId(index as u32));
                put(TableKind::Circuits, row, subject);
            }
        }
        for (index, panel) in schedule.panels.iter().enumerate() {
            let subject = Subject::Panel(PanelId(index as u32));
            put(TableKind::Panels, panel.name.at, subject);
        }
        for (index, run) in schedule.runs.iter().enumerate() {
            let subject = Subject::Run(RunId(index as u32));
            put(TableKind::WireRuns, run.at, subject);
        }
        for (index, controller) in schedule.controllers.iter().enumerate() {
            let subject = Subject::Controller(ControllerId(index as u32));
            put(TableKind::Controllers, controller.tag.at, subject);
        }
        Self { subjects }
    }

    /// The thing whose field stands in the cell, else the cell itself.
    fn subject(&self, at: CellId, field: FieldName) -> Subject {
        self.subjects
            .get(&(field.table(), at.table, at.row.0))
            .copied()
            .unwrap_or(Subject::Cell(at))
    }
}

/// The outcomes of faults, and met for each table in which there is none.
fn met_elsewhere(schedule: &Schedule, found: Vec<Outcome>) -> Vec<Outcome> {
    let mut clean = vec![true; schedule.sources.tables.len()];
    for outcome in &found {
        let table = match outcome.at {
            Place::Cell(cell) => cell.table,
            Place::Table(table) => table,
            _ => continue,
        };
        if let Some(clean) = clean.get_mut(table as usize) {
            *clean = false;
        }
    }
    let met = clean
        .iter()
        .enumerate()
        .filter(|(table, clean)| {
            let table = &schedule.sources.tables[*table];
            **clean && !table.kinds.is_empty() && table.part_of.is_none()
        })
        .map(|(table, _)| Outcome::met(Subject::Table(table as u32), Place::Table(table as u32)));
    let mut all: Vec<Outcome> = met.collect();
    all.extend(found);
    all
}
