//! The chain of a system: as many of the scheduled runs as it can keep, the
//! rest replaced, and the wire of each run.

use super::bench::Bench;
use super::{lengths, text};
use crate::schedule::wire::{Routing, RunPurpose, ShieldGround, TerminalSide};
use crate::schedule::{
    Field, FieldName, Run, RunEnd, RunId, Schedule, SystemId, TableKind, UnitId, UnitKind,
};
use crate::sizing::bus::{BusGraph, Link};
use std::collections::BTreeMap;

/// A unit on the walk along a bus, and how it was come to.
pub(super) struct Stop {
    pub unit: UnitId,
    pub by: Option<(UnitId, RunId)>,
}

/// The units of a system as the nodes of its chain; modules count as their
/// outdoor unit.
pub(super) struct Nodes {
    pub units: Vec<UnitId>,
    of: BTreeMap<UnitId, usize>,
    pub start: Option<usize>,
    pub runs: Vec<RunId>,
    pub links: Vec<Link>,
}

pub(super) fn indoor_side(s: &Schedule, run: &Run) -> bool {
    let central = |end: &RunEnd| match end {
        RunEnd::Unit(unit) => matches!(
            s.unit(*unit).kind(),
            Some(UnitKind::CentralController | UnitKind::Gateway)
        ),
        _ => false,
    };
    run.serves == RunPurpose::Bus && !central(&run.from_end) && !central(&run.to_end)
}

pub(super) fn nodes(s: &Schedule, id: SystemId) -> Nodes {
    let system = s.system(id);
    let outdoor = |unit: &&UnitId| s.unit(**unit).is_outdoor();
    let main = system
        .outdoor
        .or_else(|| system.units.iter().find(outdoor).copied());
    let mut found = Nodes {
        units: main.into_iter().collect(),
        of: BTreeMap::new(),
        start: main.map(|_| 0),
        runs: Vec::new(),
        links: Vec::new(),
    };
    for &unit in &system.units {
        let node = match s.unit(unit).kind() {
            Some(UnitKind::CentralController | UnitKind::Gateway) => continue,
            Some(kind) if kind.is_outdoor() => 0,
            _ => {
                found.units.push(unit);
                found.units.len() - 1
            }
        };
        found.of.insert(unit, node);
    }
    for (run, row) in s.run_ids().filter(|(_, row)| indoor_side(s, row)) {
        let Some((from, to)) = row.units() else {
            continue;
        };
        if let (Some(&a), Some(&b)) = (found.of.get(&from), found.of.get(&to)) {
            found.runs.push(run);
            found.links.push(Link {
                a,
                b,
                length: row.length.copied(),
            });
        }
    }
    found
}

/// The bus of a system from its outdoor unit.
pub(super) fn walk(s: &Schedule, id: SystemId) -> Vec<Stop> {
    let nodes = nodes(s, id);
    let graph = BusGraph::new(nodes.units.len(), nodes.start, nodes.links.clone());
    let unit = |node: usize| nodes.units.get(node).copied();
    graph
        .walk()
        .iter()
        .filter_map(|stop| {
            let by = stop
                .by
                .and_then(|(node, link)| Some((unit(node)?, *nodes.runs.get(link)?)));
            Some(Stop {
                unit: unit(stop.node)?,
                by,
            })
        })
        .collect()
}

/// One chain of a system in place of what is scheduled.
pub(super) fn rebuild(bench: &mut Bench, id: SystemId, rule: &'static str) -> bool {
    let s = bench.now.clone();
    let nodes = nodes(&s, id);
    if nodes.start.is_none() || s.system(id).units.iter().any(|&u| s.unit(u).instance.1 > 1) {
        return false;
    }
    let graph = BusGraph::new(nodes.units.len(), nodes.start, nodes.links.clone());
    let on_bus = |node: usize| !graph.links_at(node).is_empty();
    let chained = |node: usize| {
        let kind = nodes.units.get(node).and_then(|&unit| s.unit(unit).kind());
        kind.is_some_and(UnitKind::on_chain) || node == 0
    };
    let order: Vec<usize> = graph
        .propose()
        .into_iter()
        .filter(|&node| chained(node) || on_bus(node))
        .collect();
    let mut kept: Vec<usize> = Vec::new();
    let mut wanted: Vec<(usize, usize)> = Vec::new();
    for pair in order.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let joins = |link: &Link| (link.a, link.b) == (a, b) || (link.b, link.a) == (a, b);
        match nodes.links.iter().position(joins) {
            Some(at) => kept.push(at),
            None => wanted.push((a, b)),
        }
    }
    let mut spare: Vec<usize> = (0..nodes.runs.len())
        .filter(|at| !kept.contains(at))
        .collect();
    if wanted.is_empty() && spare.is_empty() {
        return false;
    }
    let mut lost: Vec<RunId> = Vec::new();
    for (a, b) in wanted {
        let (Some(&from), Some(&to)) = (nodes.units.get(a), nodes.units.get(b)) else {
            continue;
        };
        // A run that ends on one of the two changes in one cell.
        let ends_on = |at: &usize| {
            nodes
                .links
                .get(*at)
                .is_some_and(|l| [l.a, l.b].iter().any(|n| *n == a || *n == b))
        };
        let at = spare
            .iter()
            .position(ends_on)
            .or(if spare.is_empty() { None } else { Some(0) });
        match at
            .map(|at| spare.remove(at))
            .and_then(|at| nodes.runs.get(at).copied())
        {
            Some(run) => redirect(bench, &s, run, (from, to), rule),
            None => add(bench, &s, id, (from, to), rule),
        }
    }
    lost.extend(
        spare
            .into_iter()
            .filter_map(|at| nodes.runs.get(at).copied()),
    );
    leave_out(bench, &lost, rule);
    true
}

/// Takes runs out; the cell that names their end is emptied.
pub(super) fn leave_out(bench: &mut Bench, runs: &[RunId], rule: &'static str) {
    for &run in runs {
        let row = bench.now.run(run);
        let at = row.to.at().unwrap_or(row.at);
        bench.change(rule, at, FieldName::RunTo, String::new());
    }
    bench.dropped.extend(runs.iter().copied());
}

fn redirect(
    bench: &mut Bench,
    s: &Schedule,
    run: RunId,
    (from, to): (UnitId, UnitId),
    rule: &'static str,
) {
    let row = s.run(run);
    let ends = row.units();
    // The end that stays keeps its cell.
    let turned = ends.is_some_and(|(a, b)| a == to || b == from);
    let (first, second) = if turned { (to, from) } else { (from, to) };
    for (unit, field) in [(first, FieldName::RunFrom), (second, FieldName::RunTo)] {
        let tag = s.unit(unit).tag.value.clone();
        let row = &mut bench.next.runs[run.index()];
        let cell = if field == FieldName::RunFrom {
            &mut row.from
        } else {
            &mut row.to
        };
        if cell.get() != Some(&tag) {
            let at = cell.at().unwrap_or(row.at);
            *cell = Field::given(tag.clone(), at);
            bench.change(rule, at, field, tag.text().to_owned());
        }
    }
    if let Field::Given(system) = &mut bench.next.runs[run.index()].system
        && let Some(own) = s.unit(to).system.get()
    {
        system.value = own.clone();
    }
    lengths::set_between(bench, run, (from, to), rule);
}

fn add(
    bench: &mut Bench,
    s: &Schedule,
    system: SystemId,
    (from, to): (UnitId, UnitId),
    rule: &'static str,
) {
    let like = |row: &&Run| indoor_side(s, row) && row.units().is_some();
    let own = s
        .system(system)
        .runs
        .iter()
        .map(|&run| s.run(run))
        .find(like);
    let like = own.or_else(|| s.runs.iter().find(like)).cloned();
    let mut cells = bench.fresh(TableKind::WireRuns);
    let mut row = match like {
        Some(like) => like,
        None => Run::new(cells.first()),
    };
    row.at = cells.first();
    row.name = Field::default();
    for field in [&mut row.system, &mut row.dwelling] {
        if let Field::Given(found) = field {
            found.at = cells.cell();
        }
    }
    if let (Field::Given(system), Some(own)) = (&mut row.system, s.unit(to).system.get()) {
        system.value = own.clone();
    }
    let tag = |unit: UnitId| s.unit(unit).tag.value.clone();
    row.from = Field::given(tag(from), cells.cell());
    row.to = Field::given(tag(to), cells.cell());
    row.length = Field::Blank(Some(cells.cell()));
    row.splices = moved(&row.splices, |_| 0, cells.cell());
    row.purpose = moved(&row.purpose, |_| RunPurpose::Bus, cells.cell());
    row.side = moved(&row.side, |_| TerminalSide::Indoor, cells.cell());
    row.gauge = moved(&row.gauge, |v| *v, cells.cell());
    row.conductors = moved(&row.conductors, |v| *v, cells.cell());
    row.stranded = moved(&row.stranded, |v| *v, cells.cell());
    row.shielded = moved(&row.shielded, |v| *v, cells.cell());
    row.routing = moved(&row.routing, |v| *v, cells.cell());
    // One point along the chain is there already, or is set with all others.
    row.shield_ground = moved(
        &row.shield_ground,
        |_| ShieldGround::OutdoorEnd,
        cells.cell(),
    );
    row.serves = RunPurpose::Bus;
    row.from_end = RunEnd::Unit(from);
    row.to_end = RunEnd::Unit(to);
    for (field, name) in [(&row.from, FieldName::RunFrom), (&row.to, FieldName::RunTo)] {
        if let Field::Given(found) = field {
            bench.change(rule, found.at, name, found.value.text().to_owned());
        }
    }
    let id = RunId(bench.next.runs.len() as u32);
    bench.next.runs.push(row);
    lengths::set_between(bench, id, (from, to), rule);
}

fn moved<T>(field: &Field<T>, value: impl Fn(&T) -> T, at: crate::schedule::CellId) -> Field<T> {
    match field {
        Field::Given(found) => Field::given(value(&found.value), at),
        Field::Blank(None) => Field::Blank(None),
        _ => Field::Blank(Some(at)),
    }
}

pub(super) fn chain_runs(s: &Schedule, id: SystemId) -> Vec<RunId> {
    // Also those that end on a mark of several units.
    let runs = s.system(id).runs.iter().copied();
    runs.filter(|&run| indoor_side(s, s.run(run))).collect()
}

pub(super) fn set_shield(bench: &mut Bench, run: RunId, shielded: bool, rule: &'static str) {
    let row = &mut bench.next.runs[run.index()];
    if let Field::Given(found) = &mut row.shielded
        && found.value != shielded
    {
        found.value = shielded;
        let at = found.at;
        let word = if shielded { "shielded" } else { "unshielded" };
        bench.change(rule, at, FieldName::RunShield, word.into());
    }
}

fn set_ground(bench: &mut Bench, run: RunId, ground: ShieldGround, rule: &'static str) {
    let row = &mut bench.next.runs[run.index()];
    let Some(at) = row.shield_ground.at() else {
        return;
    };
    if row.shield_ground.get() != Some(&ground) {
        let written = text::shield_ground(&ground);
        row.shield_ground = Field::given(ground, at);
        bench.change(rule, at, FieldName::RunShieldGround, written);
    }
}

/// One shield along the whole chain, or none.
pub(super) fn right_shield(bench: &mut Bench, id: SystemId, rule: &'static str) -> bool {
    let s = bench.now.clone();
    let runs = chain_runs(&s, id);
    let beside = |run: &RunId| {
        let routing = s.run(*run).routing.copied();
        routing.is_some_and(|r| r != Routing::Apart && r != Routing::Crossing)
    };
    let with = runs
        .iter()
        .filter(|r| s.run(**r).shielded.copied() == Some(true))
        .count();
    let shield = runs.iter().any(beside) || with * 2 > runs.len();
    for &run in &runs {
        set_shield(bench, run, shield, rule);
        if shield {
            set_ground(bench, run, ShieldGround::OutdoorEnd, rule);
        }
    }
    true
}

/// The shield grounded at the outdoor unit's end alone.
pub(super) fn right_grounds(bench: &mut Bench, id: SystemId, rule: &'static str) -> bool {
    if bench.practice.bus.shield_grounds != 1 {
        return false;
    }
    for run in chain_runs(&bench.now.clone(), id) {
        set_ground(bench, run, ShieldGround::OutdoorEnd, rule);
    }
    true
}

/// One run's wire and way.
pub(super) fn right_run(bench: &mut Bench, run: RunId, rule: &'static str) -> bool {
    let s = bench.now.clone();
    let row = s.run(run);
    let next = &mut bench.next.runs[run.index()];
    let (at, field, written) = match rule {
        "bus-wrong-side" => {
            let (side, word) = if indoor_side(&s, row) {
                (TerminalSide::Indoor, "indoor")
            } else {
                (TerminalSide::Central, "central")
            };
            let at = row.side.at().unwrap_or(row.at);
            next.side = Field::given(side, at);
            (at, FieldName::RunSide, word.to_owned())
        }
        "bus-conductor-count" => {
            let at = row.conductors.at().unwrap_or(row.at);
            let right = bench.practice.bus.conductors;
            next.conductors = Field::given(right, at);
            (at, FieldName::RunConductors, right.to_string())
        }
        "low-voltage-with-power" | "bus-near-power-unshielded" => {
            let at = row.routing.at().unwrap_or(row.at);
            next.routing = Field::given(Routing::Apart, at);
            (
                at,
                FieldName::RunRouting,
                text::routing(Routing::Apart).to_owned(),
            )
        }
        _ => return false,
    };
    bench.change(rule, at, field, written);
    true
}
