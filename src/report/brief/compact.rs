//! A system of many units on one page: units and controllers side by side in
//! one table, what is alike said once.

use super::wiring::{self, Order};
use super::{Line, hold_with_remedy};
use crate::report::job::JobView;
use crate::rules::{BusLayout, SystemBus};
use crate::schedule::{RunEnd, RunId, Schedule, SystemId, UnitId};
use crate::sizing::bus::Hangs;
use std::collections::BTreeMap;

/// Unit and room, the run that comes to it, its controllers.
type Half = [String; 3];

pub(super) fn bus_and_controllers(
    view: &JobView,
    layout: &BusLayout,
    id: SystemId,
    lines: &mut Vec<Line>,
) {
    let schedule = view.schedule;
    let heading = "The bus, in order, and controllers, each a home run";
    lines.push(Line::Heading(heading.to_owned()));
    let order = wiring::order(view, layout, id, lines);
    let bus = layout.systems.get(id.index());
    let mut wires = Wires::default();
    let mut holds: Vec<String> = Vec::new();
    let mut halves: Vec<Half> = Vec::new();
    match (order, bus) {
        (Order::Known(fixes), Some(bus)) => {
            for (at, (unit, run)) in chain(bus).into_iter().enumerate() {
                let held = run.is_some_and(|run| wiring::of_run(&fixes, run).is_some());
                let length = run.map_or(String::new(), |run| wiring::length(schedule, run));
                if let Some(run) = run {
                    let to = schedule.unit_label(unit);
                    wires.add("bus", wiring::wire(schedule.run(run)), to);
                }
                halves.push([
                    format!("{} {}", at + 1, wiring::with_room(schedule, unit)),
                    if held { "HOLD".to_owned() } else { length },
                    controllers(view, unit, &mut wires, &mut holds),
                ]);
            }
        }
        _ => {
            for &unit in &schedule.system(id).units {
                if schedule.unit(unit).is_indoor() {
                    halves.push([
                        wiring::with_room(schedule, unit),
                        String::new(),
                        controllers(view, unit, &mut wires, &mut holds),
                    ]);
                }
            }
        }
    }
    if halves.is_empty() {
        return;
    }
    lines.push(Line::HalfColumns);
    let right = halves.split_off(halves.len().div_ceil(2));
    let mut right = right.into_iter();
    lines.extend(
        halves
            .into_iter()
            .map(|left| Line::Halves(left, right.next())),
    );
    lines.extend(wires.lines());
    lines.extend(holds.into_iter().map(Line::Hold));
}

/// Units along the chain, each with the run that comes to it.
fn chain(bus: &SystemBus) -> Vec<(UnitId, Option<RunId>)> {
    let walk = bus.graph.walk();
    let reached = walk.iter().filter(|stop| stop.hangs != Hangs::Apart);
    reached
        .filter_map(|stop| {
            let run = stop.by.and_then(|(_, link)| bus.links.get(link)).copied();
            Some((*bus.nodes.get(stop.node)?, run))
        })
        .collect()
}

/// `T-9, 34 ft`; a controller in another room than its unit's says so.
fn controllers(view: &JobView, unit: UnitId, wires: &mut Wires, holds: &mut Vec<String>) -> String {
    let schedule = view.schedule;
    if !schedule.unit(unit).is_indoor() {
        return String::new();
    }
    let mut texts = Vec::new();
    let mut hold = |text: String| {
        if !holds.contains(&text) {
            holds.push(text);
        }
    };
    for &id in &schedule.unit(unit).controllers {
        let label = schedule.controller_label(id);
        if let Some(finding) = wiring::controller_fix(view, id, unit) {
            hold(hold_with_remedy(finding));
            texts.push(format!("HOLD {label}"));
            continue;
        }
        let row = schedule.controller(id);
        let run = row
            .runs
            .iter()
            .copied()
            .find(|&run| ends_on(schedule, run, unit));
        if let Some(run) = run {
            wires.add(
                "controllers",
                wiring::wire(schedule.run(run)),
                label.clone(),
            );
        }
        let way = match run {
            Some(run) => wiring::length(schedule, run),
            None if row.wireless.copied() == Some(true) => "wireless".to_owned(),
            None => "no run listed".to_owned(),
        };
        let name = |room: Option<&String>| room.map(|room| crate::schedule::Name::new(room));
        let (room, of_unit) = (row.room.get(), schedule.unit(unit).room.get());
        match room.filter(|_| name(room) != name(of_unit)) {
            Some(room) => texts.push(format!("{label} ({room}), {way}")),
            None => texts.push(format!("{label}, {way}")),
        }
    }
    if texts.is_empty() {
        if let Some(finding) = wiring::without_controller(view, unit) {
            hold(hold_with_remedy(finding));
        }
        texts.push("none scheduled".to_owned());
    }
    texts.join("; ")
}

fn ends_on(schedule: &Schedule, run: RunId, unit: UnitId) -> bool {
    let run = schedule.run(run);
    [&run.from_end, &run.to_end].iter().any(|end| match end {
        RunEnd::Unit(of) => *of == unit,
        RunEnd::Mark(units) => units.contains(&unit),
        _ => false,
    })
}

/// What wire the runs are, by what they are for: the kind of most of them
/// once, the others with where they go.
#[derive(Default)]
struct Wires {
    of: BTreeMap<&'static str, BTreeMap<String, Vec<String>>>,
}

impl Wires {
    fn add(&mut self, what: &'static str, wire: String, to: String) {
        let kinds = self.of.entry(what).or_default();
        kinds.entry(wire).or_default().push(to);
    }

    fn lines(self) -> Vec<Line> {
        let mut parts = Vec::new();
        for (what, kinds) in self.of {
            let mut kinds: Vec<(String, Vec<String>)> = kinds.into_iter().collect();
            kinds.sort_by(|a, b| b.1.len().cmp(&a.1.len()).then(a.0.cmp(&b.0)));
            for (at, (wire, to)) in kinds.into_iter().enumerate() {
                parts.push(match at {
                    0 => format!("Wire of the {what}: {wire}."),
                    _ => format!("But to {}: {wire}.", to.join(", ")),
                });
            }
        }
        match parts.is_empty() {
            true => Vec::new(),
            false => vec![Line::Text(parts.join(" "))],
        }
    }
}
