//! The low-voltage wire of a system: the bus in order, home runs, shield and
//! separation.

use super::{Line, hold, hold_with_remedy, is_fix};
use crate::findings::{Reported, Severity, Subject};
use crate::report::circuits::state;
use crate::report::counted;
use crate::report::job::JobView;
use crate::rules::{BusLayout, SystemBus};
use crate::schedule::wire::Routing;
use crate::schedule::{ControllerId, Run, RunEnd, RunId, Schedule, SystemId, UnitId};
use crate::sizing::bus::Hangs;

/// Findings by which the chain as scheduled is not the one to pull.
const SHAPE: [&str; 7] = [
    "bus-branches",
    "bus-closes-on-itself",
    "bus-broken",
    "bus-not-from-outdoor",
    "bus-run-repeated",
    "bus-crosses-systems",
    "bus-too-many-units",
];

fn is_bus(rule: &str) -> bool {
    rule.starts_with("bus-") || matches!(rule, "low-voltage-with-power" | "unknown-tag")
}

/// Findings to fix about a system's bus.
fn fixes<'a>(view: &JobView<'a>, id: SystemId) -> Vec<&'a Reported> {
    let system = view.schedule.system(id);
    let of = |finding: &&Reported| match finding.subject {
        Subject::System(of) => of == id,
        Subject::Run(run) => system.runs.contains(&run),
        Subject::Unit(unit) => system.units.contains(&unit) && finding.rule.starts_with("bus-"),
        _ => false,
    };
    let findings = view.audit.findings.iter();
    findings
        .filter(is_fix)
        .filter(|finding| is_bus(finding.rule))
        .filter(of)
        .collect()
}

pub(super) fn bus(view: &JobView, layout: &BusLayout, id: SystemId, lines: &mut Vec<Line>) {
    lines.push(Line::Heading("The bus, in order".to_owned()));
    let bus = layout.systems.get(id.index());
    if let (Order::Known(fixes), Some(bus)) = (order(view, layout, id, lines), bus) {
        chain(view.schedule, bus, &fixes, lines);
    }
}

/// Whether the chain can be pulled as it is scheduled.
pub(super) enum Order<'a> {
    /// With what is to be fixed about its runs.
    Known(Vec<&'a Reported>),
    /// Said why.
    Open,
}

/// Says how the bus is to be pulled, or why not yet.
pub(super) fn order<'a>(
    view: &JobView<'a>,
    layout: &BusLayout,
    id: SystemId,
    lines: &mut Vec<Line>,
) -> Order<'a> {
    let Some(bus) = layout.systems.get(id.index()) else {
        return Order::Open;
    };
    if bus.runs.is_empty() {
        lines.push(Line::Text(
            "The schedules list no bus run of this system: ask for the chain before pulling."
                .to_owned(),
        ));
        return Order::Open;
    }
    lines.push(Line::Text(
        "Two wires, one chain, each unit once. No star, no branch, no splice. At the outdoor unit \
         land the pair on the terminals for its own indoor units, never on the pair for other \
         outdoor units and central control."
            .to_owned(),
    ));
    let fixes = fixes(view, id);
    lines.extend(fixes.iter().map(|f| Line::Hold(hold_with_remedy(f))));
    let shape = fixes
        .iter()
        .any(|f| SHAPE.contains(&f.rule) || f.rule == "unknown-tag");
    if shape {
        lines.push(Line::Text(
            "Do not pull the bus as scheduled: its order is left out here until the schedule is \
             corrected. The drawing of this system shows what is wrong."
                .to_owned(),
        ));
        return Order::Open;
    }
    if let Some(wants) = bus.unclear() {
        let wants: Vec<String> = wants.iter().map(ToString::to_string).collect();
        lines.push(Line::Text(format!(
            "The order cannot be told from the schedules: {} is wanting. Ask before pulling.",
            wants.join(", ")
        )));
        return Order::Open;
    }
    Order::Known(fixes)
}

/// What is to be fixed about one run.
pub(super) fn of_run<'a>(fixes: &[&'a Reported], run: RunId) -> Option<&'a Reported> {
    let of_run = |finding: &&&Reported| finding.subject == Subject::Run(run);
    fixes.iter().find(of_run).copied()
}

fn chain(schedule: &Schedule, bus: &SystemBus, fixes: &[&Reported], lines: &mut Vec<Line>) {
    lines.push(Line::Columns([
        "No.",
        "Unit, room",
        "From",
        "Length",
        "Wire",
        "To",
        "Terminals",
    ]));
    let walk: Vec<_> = bus
        .graph
        .walk()
        .into_iter()
        .filter(|stop| stop.hangs != Hangs::Apart)
        .collect();
    let label = |node: usize| {
        let unit = bus.nodes.get(node);
        unit.map_or_else(String::new, |unit| schedule.unit_label(*unit))
    };
    for (at, stop) in walk.iter().enumerate() {
        let run = stop.by.and_then(|(_, link)| bus.links.get(link)).copied();
        let held = run.and_then(|run| of_run(fixes, run)).map(hold);
        let next = walk
            .iter()
            .find(|next| next.by.is_some_and(|(from, _)| from == stop.node));
        let next = next.map(|next| label(next.node));
        let terminals = match (at, &next) {
            (0, _) => "one pair, the side of its own indoor units",
            (_, Some(_)) => "wire in and wire out, same pair",
            (_, None) => "wire in only: the end of the chain",
        };
        let wire = run.map(|run| wire(schedule.run(run)));
        let length = run.map(|run| length(schedule, run));
        lines.push(Line::Row([
            (at + 1).to_string(),
            bus.nodes
                .get(stop.node)
                .map_or_else(String::new, |unit| with_room(schedule, *unit)),
            stop.by.map_or_else(String::new, |(from, _)| label(from)),
            length.unwrap_or_default(),
            held.or(wire).unwrap_or_default(),
            next.unwrap_or_default(),
            terminals.to_owned(),
        ]));
    }
}

pub(super) fn with_room(schedule: &Schedule, id: UnitId) -> String {
    let room = state(schedule, &schedule.unit(id).room);
    match room.is_empty() {
        true => schedule.unit_label(id),
        false => format!("{}, {room}", schedule.unit_label(id)),
    }
}

pub(super) fn length(schedule: &Schedule, id: RunId) -> String {
    match state(schedule, &schedule.run(id).length) {
        length if length.is_empty() => "not given".to_owned(),
        length => length,
    }
}

/// `18 AWG, 2 conductors, stranded, no shield`, as far as it is stated.
pub(super) fn wire(run: &Run) -> String {
    let mut parts: Vec<String> = Vec::new();
    parts.extend(run.gauge.get().map(ToString::to_string));
    let conductors = run.conductors.copied();
    parts.extend(conductors.map(|n| counted(usize::from(n), "conductor", "conductors")));
    let either = |field: Option<bool>, yes: &str, no: &str| {
        field.map(|holds| if holds { yes } else { no }.to_owned())
    };
    parts.extend(either(run.stranded.copied(), "stranded", "solid"));
    parts.extend(either(run.shielded.copied(), "shielded", "no shield"));
    match parts.is_empty() {
        true => "not stated".to_owned(),
        false => parts.join(", "),
    }
}

pub(super) fn home_runs(view: &JobView, id: SystemId, lines: &mut Vec<Line>) {
    let schedule = view.schedule;
    let indoor: Vec<UnitId> = schedule
        .system(id)
        .units
        .iter()
        .copied()
        .filter(|unit| schedule.unit(*unit).is_indoor())
        .collect();
    if indoor.is_empty() {
        return;
    }
    lines.push(Line::Heading("Controllers, each a home run".to_owned()));
    lines.push(Line::Columns([
        "Controller",
        "In room",
        "To unit",
        "Length",
        "Wire",
        "Kind",
        "Finding",
    ]));
    let mut holds: Vec<String> = Vec::new();
    let mut add_hold = |finding: Option<&Reported>| {
        let text = finding.map(hold_with_remedy);
        if let Some(text) = text.filter(|text| !holds.contains(text)) {
            holds.push(text);
        }
    };
    for unit in indoor {
        let controllers = &schedule.unit(unit).controllers;
        for controller in controllers {
            let finding = controller_fix(view, *controller, unit);
            lines.push(Line::Row(home_run(
                view.schedule,
                *controller,
                unit,
                finding,
            )));
            add_hold(finding);
        }
        if controllers.is_empty() {
            let finding = without_controller(view, unit);
            let mut row: [String; 7] = Default::default();
            row[0] = "none scheduled".to_owned();
            row[2] = with_room(schedule, unit);
            row[6] = finding.map_or_else(String::new, hold);
            lines.push(Line::Row(row));
            add_hold(finding);
        }
    }
    lines.extend(holds.into_iter().map(Line::Hold));
}

/// What is said of a unit that none controls.
pub(super) fn without_controller<'a>(view: &JobView<'a>, unit: UnitId) -> Option<&'a Reported> {
    let about =
        |f: &&Reported| f.subject == Subject::Unit(unit) && f.rule.starts_with("controller-");
    view.audit.standing().find(about)
}

/// What is to be fixed about a controller or its wire.
pub(super) fn controller_fix<'a>(
    view: &JobView<'a>,
    id: ControllerId,
    unit: UnitId,
) -> Option<&'a Reported> {
    let controller = view.schedule.controller(id);
    let about = |finding: &&Reported| match finding.subject {
        Subject::Controller(of) => of == id,
        Subject::Run(of) => controller.runs.contains(&of),
        Subject::Unit(of) => of == unit && finding.rule.starts_with("controller-"),
        _ => false,
    };
    view.audit.findings.iter().filter(is_fix).find(about)
}

fn home_run(
    schedule: &Schedule,
    id: ControllerId,
    unit: UnitId,
    finding: Option<&Reported>,
) -> [String; 7] {
    let controller = schedule.controller(id);
    let to_unit = |run: &&RunId| {
        let run = schedule.run(**run);
        [&run.from_end, &run.to_end].iter().any(|end| match end {
            RunEnd::Unit(of) => *of == unit,
            RunEnd::Mark(units) => units.contains(&unit),
            _ => false,
        })
    };
    let run = controller.runs.iter().find(to_unit).copied();
    let kind = if controller.wireless.copied() == Some(true) {
        "wireless".to_owned()
    } else if controller.unit_ids.len() > 1 {
        format!("{} units by one controller", controller.unit_ids.len())
    } else {
        "its own cable".to_owned()
    };
    let value = |text: String| match finding {
        Some(_) => "HOLD".to_owned(),
        None => text,
    };
    let length = run.map_or_else(|| "no run listed".to_owned(), |run| length(schedule, run));
    let wire = run.map_or_else(String::new, |run| wire(schedule.run(run)));
    [
        schedule.controller_label(id),
        state(schedule, &controller.room),
        with_room(schedule, unit),
        value(length),
        value(wire),
        value(kind),
        finding.map_or_else(String::new, hold),
    ]
}

pub(super) fn shield(view: &JobView, layout: &BusLayout, id: SystemId, lines: &mut Vec<Line>) {
    let Some(bus) = layout
        .systems
        .get(id.index())
        .filter(|bus| !bus.runs.is_empty())
    else {
        return;
    };
    lines.push(Line::Heading("Shield and separation".to_owned()));
    let shielded = bus.runs_with(|run| &run.shielded, &true);
    let says = match shielded.len() {
        0 => "No shield is scheduled: keep the bus away from line voltage.".to_owned(),
        n if n == bus.runs.len() => {
            let points = view.practice.bus.shield_grounds;
            format!(
                "All runs are shielded: join the shield through every unit and ground it at {} \
                 of the chain, as the manual says where.",
                counted(points as usize, "point", "points")
            )
        }
        n => format!(
            "{n} of {} runs are shielded: a shield holds only if the whole chain has it. Ask \
             before pulling.",
            bus.runs.len()
        ),
    };
    lines.push(Line::Text(says));
    lines.push(Line::Text(
        "Keep bus and controllers' wire out of every raceway, cable, box and enclosure with line \
         voltage unless a barrier separates them; a shield does not change that."
            .to_owned(),
    ));
    for routing in [
        Routing::Parallel,
        Routing::Tied,
        Routing::SameRacewayWithBarrier,
    ] {
        let runs = bus.runs_with(|run| &run.routing, &routing);
        if !runs.is_empty() {
            let names: Vec<String> = runs
                .iter()
                .map(|run| view.schedule.run_label(*run))
                .collect();
            lines.push(Line::Text(format!(
                "Scheduled {routing}: {}.",
                names.join(", ")
            )));
        }
    }
    let asked = view.audit.standing().filter(|finding| {
        finding.severity == Severity::Verify
            && is_bus(finding.rule)
            && match finding.subject {
                Subject::System(of) => of == id,
                Subject::Run(run) => bus.runs.contains(&run),
                _ => false,
            }
    });
    for finding in asked {
        lines.push(Line::Text(format!(
            "Ask ({}): {}",
            finding.rule, finding.message
        )));
    }
}
