//! Controllers: one for each indoor unit, each on a wire straight to it.

use super::bench::Bench;
use super::bus;
use super::data::{UNKNOWN, new_name};
use crate::findings::Reported;
use crate::schedule::wire::RunPurpose;
use crate::schedule::{
    Controller, ControllerId, Field, FieldName, Located, Name, Run, RunEnd, RunId, Schedule,
    TableKind, Unit, UnitId,
};

/// A controller for a unit that none reaches, with a home run where the job
/// schedules them.
pub(super) fn add(bench: &mut Bench, unit: UnitId, rule: &'static str) -> bool {
    let s = bench.now.clone();
    let row = s.unit(unit);
    let (first, of) = row.instance;
    if first > 1 {
        return false;
    }
    let tag = new_name(&format!("T {}", row.tag.value));
    schedule_row(bench, &tag, row, rule);
    if of > 1 {
        // One row stands for as many controllers as the mark for units.
        let text = format!(
            "Has each of the {of} units {} a controller of its own? Give each unit a row, and \
             each controller.",
            row.tag.value
        );
        let label = s.unit_label(unit);
        bench.question(None, rule, FieldName::UnitQuantity, &label, text);
        return true;
    }
    let like = s
        .runs
        .iter()
        .find(|run| run.serves == RunPurpose::Controller)
        .cloned();
    if let Some(like) = like {
        home_run(bench, &s, &tag, unit, &like, rule);
    }
    true
}

/// A run that names a controller of no row, to a unit that none reaches:
/// the row is what is missing.
pub(super) fn at_its_run(bench: &mut Bench, finding: &Reported, run: RunId) -> bool {
    let s = bench.now.clone();
    let row = s.run(run);
    let (name, unit) = match (&row.from_end, &row.to_end) {
        (RunEnd::UnknownTag { .. }, RunEnd::Unit(unit)) => (&row.from, *unit),
        (RunEnd::Unit(unit), RunEnd::UnknownTag { .. }) => (&row.to, *unit),
        _ => return false,
    };
    let (Some(tag), true) = (
        name.get(),
        row.purpose.copied() == Some(RunPurpose::Controller),
    ) else {
        return false;
    };
    let served = s.unit(unit);
    let ends_on = |end: &RunEnd| matches!(end, RunEnd::Unit(of) if *of == unit);
    let reaches = |run: &RunId| {
        let row = s.run(*run);
        ends_on(&row.from_end) || ends_on(&row.to_end)
    };
    // One that only names the unit has no wire to it.
    let wired = served.controllers.iter();
    let wired = wired.filter(|id| s.controller(**id).runs.iter().any(reaches));
    if !served.is_indoor() || wired.count() > 0 {
        return false;
    }
    let rule = finding.rule;
    schedule_row(bench, tag, served, rule);
    let text = format!(
        "Is {tag} the controller of {}? Only its run names it.",
        served.tag.value
    );
    bench.question(
        None,
        rule,
        FieldName::ControllerTag,
        &finding.subject_label,
        text,
    );
    true
}

/// Adds the row of a controller of one unit, in that unit's room.
fn schedule_row(bench: &mut Bench, tag: &Name, row: &Unit, rule: &'static str) {
    let mut cells = bench.fresh(TableKind::Controllers);
    let mut controller = Controller::new(Located::new(tag.clone(), cells.first()));
    if let Some(dwelling) = row.dwelling.get() {
        controller.dwelling = Field::given(dwelling.clone(), cells.cell());
    }
    if let Some(room) = row.room.get() {
        controller.room = Field::given(room.clone(), cells.cell());
    }
    let at = cells.cell();
    controller.units = vec![Located::new(row.tag.value.clone(), at)];
    controller.units_cell = Field::given((), at);
    bench.change(
        rule,
        cells.first(),
        FieldName::ControllerTag,
        tag.text().to_owned(),
    );
    bench.change(
        rule,
        at,
        FieldName::ControllerUnits,
        row.tag.value.text().to_owned(),
    );
    bench.next.controllers.push(controller);
}

fn home_run(
    bench: &mut Bench,
    s: &Schedule,
    tag: &Name,
    unit: UnitId,
    like: &Run,
    rule: &'static str,
) {
    let mut cells = bench.fresh(TableKind::WireRuns);
    let mut run = Run::new(cells.first());
    let row = s.unit(unit);
    if let Some(dwelling) = row.dwelling.get() {
        run.dwelling = Field::given(dwelling.clone(), cells.cell());
    }
    run.from = Field::given(tag.clone(), cells.cell());
    run.to = Field::given(row.tag.value.clone(), cells.cell());
    for (field, name) in [(&run.from, FieldName::RunFrom), (&run.to, FieldName::RunTo)] {
        if let Field::Given(found) = field {
            bench.change(rule, found.at, name, found.value.text().to_owned());
        }
    }
    run.purpose = Field::given(RunPurpose::Controller, cells.cell());
    if let Some(gauge) = like.gauge.copied() {
        run.gauge = Field::given(gauge, cells.cell());
    }
    if let Some(conductors) = like.conductors.copied() {
        run.conductors = Field::given(conductors, cells.cell());
    }
    run.length = Field::Unknown(cells.cell());
    let label = format!("{tag} to {}", row.tag.value);
    bench.question(
        None,
        rule,
        FieldName::RunLength,
        &label,
        format!("Measure the run {label}: no known run gives it."),
    );
    if let Some(at) = run.length.at() {
        bench.change(rule, at, FieldName::RunLength, UNKNOWN.to_owned());
    }
    bench.next.runs.push(run);
}

/// The indoor unit that a controller is for: the one in its own room, else
/// the first that its row names, else the one that no other controls.
fn meant(s: &Schedule, id: ControllerId) -> Option<UnitId> {
    let controller = s.controller(id);
    let same = |a: Option<&String>, b: Option<&String>| match (a, b) {
        (Some(a), Some(b)) => Name::new(a) == Name::new(b),
        _ => false,
    };
    let near = |unit: UnitId| {
        let row = s.unit(unit);
        row.is_indoor() && row.dwelling.get() == controller.dwelling.get()
    };
    let in_room = |unit: &UnitId| same(s.unit(*unit).room.get(), controller.room.get());
    let own = || {
        controller
            .unit_ids
            .iter()
            .copied()
            .filter(|&u| s.unit(u).is_indoor())
    };
    let all = || {
        s.audited_units()
            .map(|(id, _)| id)
            .filter(|&unit| near(unit))
    };
    let free = || {
        let mut free = all().filter(|&unit| s.unit(unit).controllers.is_empty());
        let first = free.next();
        first.filter(|_| free.next().is_none())
    };
    own()
        .find(in_room)
        .or_else(|| own().next())
        .or_else(|| all().find(in_room))
        .or_else(free)
}

fn is_end(end: &RunEnd, id: ControllerId) -> bool {
    matches!(end, RunEnd::Controller(other) if *other == id)
}

/// One wire to one unit; units that lose the controller get one in the next
/// round.
pub(super) fn straighten(bench: &mut Bench, finding: &Reported, id: ControllerId) -> bool {
    let rule = finding.rule;
    let s = bench.now.clone();
    let Some(unit) = meant(&s, id) else {
        let text = "Which indoor unit does the controller serve?";
        bench.ask(finding, FieldName::ControllerUnits, text);
        return false;
    };
    let tag = s.unit(unit).tag.value.clone();
    let controller = s.controller(id);
    let runs: Vec<RunId> = controller
        .runs
        .iter()
        .copied()
        .filter(|run| s.run(*run).serves == RunPurpose::Controller)
        .collect();
    let far = |run: RunId| {
        let row = s.run(run);
        if is_end(&row.from_end, id) {
            &row.to_end
        } else {
            &row.from_end
        }
    };
    let right = |run: &RunId| matches!(far(*run), RunEnd::Unit(u) if *u == unit);
    // A run on which another controller ends, too, is that one's home run.
    let of_other = |run: &RunId| match far(*run) {
        RunEnd::Controller(other) => {
            let other = s.controller(*other);
            other.runs.len() == 1
        }
        _ => false,
    };
    let keep = runs.iter().copied().find(|run| right(run));
    let mut dropped: Vec<RunId> = Vec::new();
    let mut turned = keep.is_some();
    for &run in runs.iter().filter(|run| Some(**run) != keep) {
        if turned {
            if !of_other(&run) {
                dropped.push(run);
            }
            continue;
        }
        turned = true;
        let row = s.run(run);
        let field = if is_end(&row.from_end, id) {
            FieldName::RunTo
        } else {
            FieldName::RunFrom
        };
        let next = &mut bench.next.runs[run.index()];
        let cell = if field == FieldName::RunTo {
            &mut next.to
        } else {
            &mut next.from
        };
        let at = cell.at().unwrap_or(row.at);
        *cell = Field::given(tag.clone(), at);
        if let Some(at) = next.length.at() {
            next.length = Field::Unknown(at);
        }
        let length = next.length.at();
        bench.change(rule, at, field, tag.text().to_owned());
        let label = format!("{} to {tag}", controller.tag.value);
        if let Some(at) = length {
            bench.change(rule, at, FieldName::RunLength, UNKNOWN.to_owned());
        }
        let text = format!("Measure the run {label}: no known run gives it.");
        bench.question(None, rule, FieldName::RunLength, &label, text);
    }
    bus::leave_out(bench, &dropped, rule);
    one_unit(bench, &s, id, &tag, rule);
    true
}

fn one_unit(bench: &mut Bench, s: &Schedule, id: ControllerId, tag: &Name, rule: &'static str) {
    let controller = s.controller(id);
    let named = &controller.units;
    if named.is_empty() || matches!(named.as_slice(), [only] if only.value == *tag) {
        return;
    }
    let at = named.first().map_or(controller.tag.at, |name| name.at);
    let next = &mut bench.next.controllers[id.index()];
    next.units = vec![Located::new(tag.clone(), at)];
    if next.group.is_given() {
        next.group = Field::Blank(next.group.at());
    }
    bench.change(rule, at, FieldName::ControllerUnits, tag.text().to_owned());
}

/// A name in a controller's row that matches no unit: the one unit of its
/// dwelling that none controls, where there is one.
pub(super) fn rename(bench: &mut Bench, finding: &Reported, id: ControllerId) -> bool {
    let s = bench.now.clone();
    let controller = s.controller(id);
    let free: Vec<UnitId> = s
        .audited_units()
        .filter(|(_, unit)| unit.is_indoor() && unit.controllers.is_empty())
        .filter(|(_, unit)| unit.dwelling.get() == controller.dwelling.get())
        .map(|(id, _)| id)
        .collect();
    let ([only], [(stranger, _)]) = (free.as_slice(), controller.unknown.as_slice()) else {
        bench.ask(finding, FieldName::ControllerUnits, finding.message.clone());
        return false;
    };
    let tag = s.unit(*only).tag.value.clone();
    let at = stranger.at;
    for unit in &mut bench.next.controllers[id.index()].units {
        if unit.value == stranger.value {
            unit.value = tag.clone();
        }
    }
    bench.change(
        finding.rule,
        at,
        FieldName::ControllerUnits,
        tag.text().to_owned(),
    );
    true
}
