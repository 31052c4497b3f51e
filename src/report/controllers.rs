//! The sheet *Controllers*: what each reaches, then indoor units that none
//! reaches.

use super::circuits::state;
use super::list;
use super::page::{Cell, Column, Links};
use crate::findings::{Audit, Reported, Subject};
use crate::schedule::{Address, ControllerId, RunId, Schedule, Unit, UnitId};
use std::collections::BTreeMap;

pub(super) const COLUMNS: [Column; 9] = [
    ("Controller", 14.0),
    ("Dwelling", 10.0),
    ("Room", 22.0),
    ("Reaches", 24.0),
    ("Rooms of these units", 26.0),
    ("Runs", 30.0),
    ("Length", 12.0),
    ("Findings", 58.0),
    ("Row", 16.0),
];

/// One row a controller, then one an indoor unit without one.
pub(super) fn rows(schedule: &Schedule, audit: &Audit, links: &Links) -> Vec<Vec<Cell>> {
    let mut by_subject: BTreeMap<Subject, Vec<&Reported>> = BTreeMap::new();
    for finding in &audit.findings {
        by_subject.entry(finding.subject).or_default().push(finding);
    }
    let told = |subjects: &[Subject]| {
        let found = subjects.iter().filter_map(|s| by_subject.get(s)).flatten();
        let mut found: Vec<&Reported> = found
            .copied()
            .filter(|finding| is_of_controllers(finding))
            .collect();
        found.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
        let texts: Vec<String> = found.into_iter().map(list::brief).collect();
        texts.join("\n")
    };
    let mut rows: Vec<Vec<Cell>> = schedule
        .controller_ids()
        .map(|(id, _)| controller_row(schedule, id, links, &told))
        .collect();
    let without = schedule
        .audited_units()
        .filter(|(_, unit)| unit.is_indoor() && unit.controllers.is_empty());
    for (id, unit) in without {
        rows.push(unit_row(
            schedule,
            id,
            unit,
            links,
            told(&[Subject::Unit(id)]),
        ));
    }
    rows
}

/// A controller's own sheet does not repeat what is wrong with a unit's
/// power.
fn is_of_controllers(finding: &Reported) -> bool {
    match finding.subject {
        Subject::Unit(_) => {
            finding.rule.starts_with("controller-") || finding.rule.starts_with("interlock-")
        }
        _ => true,
    }
}

fn controller_row(
    schedule: &Schedule,
    id: ControllerId,
    links: &Links,
    told: &dyn Fn(&[Subject]) -> String,
) -> Vec<Cell> {
    let controller = schedule.controller(id);
    let units = &controller.unit_ids;
    let reaches: Vec<String> = units.iter().map(|id| schedule.unit_label(*id)).collect();
    let rooms: Vec<String> = units
        .iter()
        .map(|id| state(schedule, &schedule.unit(*id).room))
        .filter(|room| !room.is_empty())
        .collect();
    let runs: Vec<String> = controller
        .runs
        .iter()
        .map(|id| schedule.run_label(*id))
        .collect();
    let lengths: Vec<String> = controller
        .runs
        .iter()
        .map(|id| length(schedule, *id))
        .collect();
    let mut subjects = vec![Subject::Controller(id)];
    subjects.extend(controller.runs.iter().map(|id| Subject::Run(*id)));
    let wireless = controller.wireless.copied() == Some(true);
    let reaches = match (reaches.is_empty(), wireless) {
        (true, true) => "wireless".to_owned(),
        (true, false) => "none".to_owned(),
        (false, true) => format!("{} (wireless)", reaches.join(", ")),
        (false, false) => reaches.join(", "),
    };
    let address = schedule.sources.address(controller.tag.at.into());
    vec![
        Cell::text(controller.tag.value.text()),
        Cell::text(state(schedule, &controller.dwelling)),
        Cell::text(state(schedule, &controller.room)),
        Cell::text(reaches),
        Cell::text(rooms.join(", ")),
        Cell::text(runs.join("\n")),
        Cell::text(lengths.join("\n")),
        Cell::text(told(&subjects)),
        place(&address, links),
    ]
}

fn unit_row(
    schedule: &Schedule,
    id: UnitId,
    unit: &Unit,
    links: &Links,
    findings: String,
) -> Vec<Cell> {
    let address = schedule.sources.address(unit.tag.at.into());
    vec![
        Cell::Group("no controller".to_owned()),
        Cell::text(state(schedule, &unit.dwelling)),
        Cell::text(""),
        Cell::text(schedule.unit_label(id)),
        Cell::text(state(schedule, &unit.room)),
        Cell::text(""),
        Cell::text(""),
        Cell::text(findings),
        place(&address, links),
    ]
}

fn length(schedule: &Schedule, id: RunId) -> String {
    match state(schedule, &schedule.run(id).length) {
        length if length.is_empty() => "not given".to_owned(),
        length => length,
    }
}

fn place(address: &Address, links: &Links) -> Cell {
    let shown = match address.sheet.as_str() {
        "" => address.cell.clone(),
        sheet => format!("{sheet}!{}", address.cell),
    };
    Cell::link(links.to(address), shown)
}
