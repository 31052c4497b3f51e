//! The sheet *Proposed*: what changes cell by cell, the circuits, chains and
//! home runs that are proposed, and the questions that stay.

use super::page::{Cell, Column, Links};
use super::words;
use super::{correction, counted};
use crate::proposal::{Changed, Proposal, ProposedCircuit, ProposedRun};
use crate::schedule::wire::{Conductor, Grounding};
use crate::schedule::{Amps, Feet, Schedule};

pub(super) const COLUMNS: [Column; 9] = [
    ("What", 26.0),
    ("Carries or joins", 34.0),
    ("Was", 24.0),
    ("Proposed", 24.0),
    ("Poles", 8.0),
    ("Conductor", 26.0),
    ("Grounding conductor", 20.0),
    ("Length", 16.0),
    ("Because of", 30.0),
];

fn row(cells: [String; 9]) -> Vec<Cell> {
    cells.into_iter().map(Cell::Text).collect()
}

fn section(title: &str) -> Vec<Cell> {
    let mut cells = vec![Cell::Section(title.to_owned())];
    cells.extend((1..COLUMNS.len()).map(|_| Cell::text("")));
    cells
}

/// Sections of the sheet, empty ones left out.
pub(super) fn rows(schedule: &Schedule, proposal: &Proposal, links: &Links) -> Vec<Vec<Cell>> {
    let mut rows = Vec::new();
    let mut add = |title: &str, of: Vec<Vec<Cell>>| {
        if !of.is_empty() {
            rows.push(section(title));
            rows.extend(of);
        }
    };
    add(
        "Changes, cell by cell",
        proposal
            .changes
            .iter()
            .map(|changed| change(schedule, proposal, changed, links))
            .collect(),
    );
    add(
        "Circuits",
        proposal
            .circuits
            .iter()
            .map(|c| circuit(proposal, c))
            .collect(),
    );
    add("Bus, in order", chains(proposal));
    add("Home runs", home_runs(proposal));
    add("Questions (RFI)", questions(schedule, proposal));
    rows
}

fn change(schedule: &Schedule, proposal: &Proposal, changed: &Changed, links: &Links) -> Vec<Cell> {
    let change = &changed.change;
    let address = schedule.sources.address(change.at.into());
    let (shown, url) = if address.cell.is_empty() {
        let new = proposal.schedule().sources.address(change.at.into());
        (format!("new row {}", new.cell), None)
    } else {
        let shown = match address.sheet.as_str() {
            "" => address.cell.clone(),
            sheet => format!("{sheet}!{}", address.cell),
        };
        (shown, links.to(&address))
    };
    vec![
        Cell::link(url, shown),
        Cell::text(correction::what(schedule, changed)),
        Cell::text(correction::was(changed)),
        Cell::text(correction::proposed(changed)),
        Cell::text(""),
        Cell::text(""),
        Cell::text(""),
        Cell::text(""),
        Cell::text(changed.rule),
    ]
}

fn amps(amps: Option<Amps>) -> String {
    amps.map_or("open".to_owned(), |amps| amps.to_string())
}

fn of_run(run: &ProposedRun) -> String {
    match run.length {
        Some(feet) if run.by_budget => format!("at most {feet} by the budget, measure"),
        length => feet(length, run.measure),
    }
}

fn feet(length: Option<Feet>, measure: bool) -> String {
    match (length, measure) {
        (Some(feet), false) => feet.to_string(),
        (Some(feet), true) => format!("at most {feet}, measure"),
        (None, _) => "measure".to_owned(),
    }
}

fn wire(conductor: Option<&Conductor>) -> String {
    conductor.map_or("open".to_owned(), |wire| match wire.count {
        Some(count) => format!("{count} × {wire}"),
        None => wire.to_string(),
    })
}

fn ground(ground: Option<Grounding>) -> String {
    match ground {
        Some(Grounding::Sized { size, .. }) => size.to_string(),
        Some(Grounding::Unsized) => "with the cable".into(),
        Some(Grounding::ByRaceway) => "by raceway".into(),
        Some(Grounding::Absent) => "none".into(),
        None => String::new(),
    }
}

fn circuit(proposal: &Proposal, circuit: &ProposedCircuit) -> Vec<Cell> {
    let s = proposal.schedule();
    let mut loads: Vec<String> = circuit
        .loads
        .iter()
        .map(|(unit, _)| s.unit_label(*unit))
        .collect();
    loads.dedup();
    loads.extend(circuit.other_loads.iter().cloned());
    let mut protection = amps(circuit.breaker);
    if let Some(fuse) = circuit.fuse {
        protection.push_str(&format!(", fuses of {fuse} at the disconnect"));
    }
    let new = if circuit.is_new { "new circuit" } else { "" };
    row([
        circuit.label.clone(),
        loads.join(", "),
        String::new(),
        protection,
        circuit
            .poles
            .map_or(String::new(), |poles| poles.to_string()),
        wire(circuit.conductor.as_ref()),
        ground(circuit.ground),
        feet(circuit.length, false),
        new.to_owned(),
    ])
}

fn chains(proposal: &Proposal) -> Vec<Vec<Cell>> {
    let s = proposal.schedule();
    let mut rows = Vec::new();
    for chain in &proposal.chains {
        for run in &chain.runs {
            rows.push(row([
                format!("system {}", s.system_label(chain.system)),
                format!("{} to {}", s.unit_label(run.from), s.unit_label(run.to)),
                String::new(),
                if run.kept { "as scheduled" } else { "new run" }.to_owned(),
                String::new(),
                String::new(),
                String::new(),
                of_run(run),
                String::new(),
            ]));
        }
    }
    rows
}

fn home_runs(proposal: &Proposal) -> Vec<Vec<Cell>> {
    let s = proposal.schedule();
    let of = |home: &crate::proposal::HomeRun| {
        row([
            s.controller_label(home.controller),
            s.unit_label(home.unit),
            String::new(),
            "home run".to_owned(),
            String::new(),
            String::new(),
            String::new(),
            feet(home.length, false),
            String::new(),
        ])
    };
    proposal.home_runs.iter().map(of).collect()
}

fn questions(schedule: &Schedule, proposal: &Proposal) -> Vec<Vec<Cell>> {
    let of = |question: &crate::proposal::Question| {
        let id = question.finding.clone().unwrap_or_default();
        row([
            question.subject.clone(),
            question.text.clone(),
            format!("wanting: {}", words::in_schedule(schedule, question.field)),
            "open".to_owned(),
            String::new(),
            id,
            String::new(),
            String::new(),
            question.rule.to_owned(),
        ])
    };
    proposal.questions.iter().map(of).collect()
}

/// `1 cell changes, 2 questions, …`.
pub(super) fn lead(proposal: &Proposal) -> String {
    let fixes = counted(proposal.fixes_left(), "finding", "findings");
    format!(
        "{}, {}, {fixes} to fix left once these cells are changed.",
        counted(proposal.changes.len(), "cell changes", "cells change"),
        counted(proposal.questions.len(), "question", "questions"),
    )
}
