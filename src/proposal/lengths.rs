//! Lengths of the runs of a bus: upper bounds of new ones from the runs that
//! are known, and what a chain that is too long may have.

use super::bench::Bench;
use super::bus::{chain_runs, indoor_side, nodes, set_shield};
use super::data::UNKNOWN;
use crate::findings::Reported;
use crate::schedule::wire::Routing;
use crate::schedule::{
    Feet, Field, FieldName, Name, Quantity, RunEnd, RunId, Schedule, SystemId, UnitId, number,
};
use crate::sizing::bound;
use crate::sizing::bus::{BusGraph, Link};

/// The shortest known way between two units: bus and controllers' runs, and
/// branch circuits from a panel that both hang on.
fn bound_between(s: &Schedule, from: UnitId, to: UnitId) -> Option<Feet> {
    let units = s.units.len();
    let controllers = units + s.controllers.len();
    let mut panels: Vec<(Option<&str>, &str)> = Vec::new();
    let mut links = Vec::new();
    let place = |end: &RunEnd| match end {
        RunEnd::Unit(unit) => Some(unit.index()),
        RunEnd::Controller(controller) => Some(units + controller.index()),
        _ => None,
    };
    for run in &s.runs {
        if let (Some(a), Some(b)) = (place(&run.from_end), place(&run.to_end)) {
            let length = run.length.copied();
            links.push(Link { a, b, length });
        }
    }
    for circuit in &s.circuits {
        let Some(panel) = circuit.panel.get() else {
            continue;
        };
        let key = (circuit.dwelling.get().map(|d| d.key()), panel.key());
        let at = panels
            .iter()
            .position(|known| *known == key)
            .unwrap_or_else(|| {
                panels.push(key);
                panels.len() - 1
            });
        for unit in circuit.units() {
            links.push(Link {
                a: controllers + at,
                b: unit.index(),
                length: circuit.length.copied(),
            });
        }
    }
    let found = bound::at_most(controllers + panels.len(), &links, from.index());
    found.get(to.index()).copied().flatten()
}

fn label(s: &Schedule, run: RunId) -> String {
    let row = s.run(run);
    let end = |field: &Field<Name>| {
        field
            .get()
            .map_or_else(|| "?".to_owned(), |name| name.text().to_owned())
    };
    format!("{} to {}", end(&row.from), end(&row.to))
}

fn written(feet: Feet) -> String {
    number(feet.0).replace(',', "")
}

/// Gives a run of ours between two units the bound of its length, or leaves
/// it open where no known way bounds it. In a job that gives no length of any
/// bus run it stays open like the others.
pub(super) fn set_between(
    bench: &mut Bench,
    run: RunId,
    (from, to): (UnitId, UnitId),
    rule: &'static str,
) {
    let original = bench.original;
    let lengths_told = original
        .runs
        .iter()
        .any(|row| indoor_side(original, row) && row.length.is_given());
    let feet = bound_between(&bench.now, from, to).filter(|_| lengths_told);
    let label = label(&bench.next, run);
    let row = &mut bench.next.runs[run.index()];
    let at = row.length.at().unwrap_or(row.at);
    row.length = match feet {
        Some(feet) => Field::given(feet, at),
        None => Field::Unknown(at),
    };
    bench.measure.insert(at);
    let text = feet.map_or(UNKNOWN.to_owned(), written);
    bench.change(rule, at, FieldName::RunLength, text);
    let text = match feet {
        Some(feet) => format!("Measure the run {label}: not above {feet} by the known runs."),
        None => format!("Measure the run {label}: the known runs give no bound."),
    };
    bench.question(None, rule, FieldName::RunLength, &label, text);
}

/// What the chain of a system may have in all, by its outdoor unit's row or
/// the practice profile.
fn budget(bench: &Bench, id: SystemId) -> Feet {
    let s = &bench.now;
    let own = own_limit(s, id);
    let runs = chain_runs(s, id);
    let shielded = |run: &RunId| s.run(*run).shielded.copied() == Some(true);
    own.unwrap_or(match runs.iter().any(shielded) {
        true => bench.practice.bus.budget_shielded,
        false => bench.practice.bus.budget,
    })
}

fn own_limit(s: &Schedule, id: SystemId) -> Option<Feet> {
    let outdoor = s.system(id).outdoor?;
    s.unit(outdoor).bus_limit.copied()
}

/// Runs that no known way bounds get what the budget leaves them, so that
/// the budget can be shown to hold: the most that they may have, no estimate.
pub(super) fn within_budget(bench: &mut Bench, id: SystemId, rule: &'static str) -> bool {
    let s = bench.now.clone();
    let runs = chain_runs(&s, id);
    let (open, known): (Vec<RunId>, Vec<RunId>) =
        runs.iter().partition(|run| !s.run(**run).length.is_given());
    if open.is_empty() {
        return false;
    }
    let total: Feet = known.iter().filter_map(|r| s.run(*r).length.copied()).sum();
    let whole = budget(bench, id);
    let farthest = bench.practice.bus.farthest;
    let whole = farthest.filter(|far| far.below(whole)).unwrap_or(whole);
    // Below the share that is noted as near the budget, where there is room.
    let near = whole * (bench.practice.bus.near.0 / 100.0);
    let each = |most: Feet| Feet(((most - total).0 / open.len() as f64).floor());
    let each = [near, whole]
        .map(each)
        .into_iter()
        .find(|feet| feet.0 >= 1.0);
    let Some(each) = each else {
        // Runs that were shortened to the whole budget leave some of it.
        let ours = |run: &RunId| {
            let at = s.run(*run).length.at();
            at.is_some_and(|at| bench.measure.contains(&at))
        };
        let ours: Vec<RunId> = known.iter().copied().filter(ours).collect();
        let room = whole * known_share(&s, &runs);
        shorten(bench, &ours, total - room, rule);
        return !ours.is_empty();
    };
    for run in open {
        let label = label(&s, run);
        let row = &mut bench.next.runs[run.index()];
        let at = row.length.at().unwrap_or(row.at);
        row.length = Field::given(each, at);
        bench.measure.insert(at);
        bench.by_budget.insert(at);
        bench.change(rule, at, FieldName::RunLength, written(each));
        let text = format!(
            "Measure the run {label}: no known run bounds it. The budget of its bus leaves it at \
             most {each}."
        );
        let of_run = |q: &&mut super::Question| {
            q.field == FieldName::RunLength && q.subject == label && q.finding.is_none()
        };
        match bench.questions.iter_mut().find(of_run) {
            Some(asked) => asked.text = text,
            None => bench.question(None, rule, FieldName::RunLength, &label, text),
        }
    }
    true
}

/// A chain within its budget: without a shield where none is called for,
/// else the longest runs at the most that they may have.
pub(super) fn right_total(bench: &mut Bench, finding: &Reported, id: SystemId) -> bool {
    let rule = finding.rule;
    let s = bench.now.clone();
    let runs = chain_runs(&s, id);
    let shielded = |r: &RunId| s.run(*r).shielded.copied() == Some(true);
    let apart = |r: &RunId| s.run(*r).routing.copied() == Some(Routing::Apart);
    let total: Feet = runs.iter().filter_map(|r| s.run(*r).length.copied()).sum();
    let needless = own_limit(&s, id).is_none()
        && runs.iter().any(shielded)
        && runs.iter().all(apart)
        && !total.exceeds(bench.practice.bus.budget);
    if needless {
        for run in runs {
            set_shield(bench, run, false, rule);
        }
        return true;
    }
    let budget = budget(bench, id);
    let room = budget * known_share(&s, &runs);
    shorten(bench, &runs, total - room, rule);
    let text = format!(
        "Can the chain be led a shorter way, or the system be divided? It may have {budget} in all."
    );
    bench.ask(finding, FieldName::RunLength, text);
    true
}

/// The way to the farthest unit within its limit.
pub(super) fn right_farthest(bench: &mut Bench, finding: &Reported, id: SystemId) -> bool {
    let Some(limit) = bench.practice.bus.farthest else {
        return false;
    };
    let s = bench.now.clone();
    let nodes = nodes(&s, id);
    let graph = BusGraph::new(nodes.units.len(), nodes.start, nodes.links.clone());
    let Some((far, distance)) = graph.farthest() else {
        return false;
    };
    let walk = graph.walk();
    let by = |node: usize| walk.iter().find(|stop| stop.node == node)?.by;
    let way = std::iter::successors(by(far), |(before, _)| by(*before));
    let way: Vec<RunId> = way
        .take(walk.len())
        .filter_map(|(_, link)| nodes.runs.get(link).copied())
        .collect();
    let room = limit * known_share(&s, &chain_runs(&s, id));
    shorten(bench, &way, distance - room, finding.rule);
    let unit = nodes.units.get(far).map(|unit| s.unit_label(*unit));
    let text = format!(
        "Can the chain be led so that {} is not farther than {limit} along it, or the system be \
         divided?",
        unit.unwrap_or_default()
    );
    bench.ask(finding, FieldName::RunLength, text);
    true
}

/// The share of a limit for runs whose length is known: the others need some
/// of it, too.
fn known_share(s: &Schedule, runs: &[RunId]) -> f64 {
    let known = runs.iter().filter(|run| s.run(**run).length.is_given());
    known.count() as f64 / runs.len().max(1) as f64
}

/// Takes what is too much off the longest of `runs`.
fn shorten(bench: &mut Bench, runs: &[RunId], mut excess: Feet, rule: &'static str) {
    let s = bench.now.clone();
    let mut known: Vec<(RunId, Feet)> = runs
        .iter()
        .filter_map(|&run| Some((run, s.run(run).length.copied()?)))
        .collect();
    known.sort_by(|a, b| b.1.0.total_cmp(&a.1.0).then(a.0.cmp(&b.0)));
    let sum: Feet = known.iter().map(|(_, length)| *length).sum();
    // Half a run is the least that re-routing is taken to leave; where that
    // is not enough, all are less by the same share.
    let share = excess.0 / sum.0.max(1e-9);
    for (run, length) in known {
        if excess.0 <= 0.0 {
            break;
        }
        let off = if share > 0.5 {
            length * share.min(1.0)
        } else if excess.exceeds(length / 2.0) {
            length / 2.0
        } else {
            excess
        };
        if share <= 0.5 {
            excess = excess - off;
        }
        at_most(bench, run, length - off, rule);
    }
}

/// A run's length as the most that it may have, in whole feet.
pub(super) fn at_most(bench: &mut Bench, run: RunId, most: Feet, rule: &'static str) {
    let most = match most.0 >= 1.0 {
        true => Feet(most.0.floor()),
        false => most,
    };
    let row = &mut bench.next.runs[run.index()];
    let at = row.length.at().unwrap_or(row.at);
    row.length = Field::given(most, at);
    bench.measure.insert(at);
    bench.change(rule, at, FieldName::RunLength, written(most));
}
