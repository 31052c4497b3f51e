//! The shape of the bus: one chain from the outdoor unit through every unit.

use super::layout::SystemBus;
use super::{each_chain, outdoor_label, run_names, system_place};
use crate::findings::{Finding, Outcome, Severity, Subject, Value, Want};
use crate::practice::Practice;
use crate::rules::wording::{count, list};
use crate::rules::{Cite, Family, Rule};
use crate::schedule::{CellId, Field, FieldName, Located, RunId, Schedule, UnitId, UnitKind};

/// Units of a proposed chain in one message before it says how many more.
const CHAIN_SHOWN: usize = 40;

pub(super) static BUS_BRANCHES: Rule = Rule {
    name: "bus-branches",
    family: Family::Bus,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "more than two bus runs at one unit: a star instead of a chain",
    why: "The bus is one pair of wires that passes through every unit in a chain. A star or a \
          branch reflects the signal, and shows as a communication error on the whole system, \
          after the walls are closed.",
    decides: "Counts the indoor-side bus runs at each unit; more than two is a branch. Crossing \
              and repeated runs and runs to unknown tags are set aside first; the modules of an \
              outdoor unit count as one. At a branch box the practice profile decides, and where \
              it says nothing the question is asked. A chain is proposed that keeps as many of \
              the scheduled runs as can be kept.",
    leaves: "Runs among outdoor units and to central control; the units of a row that stands for \
             several; where in a building the wire is best led.",
    cites: &[Cite::Practice, Cite::Manual],
    yields_to: &[],
    check: bus_branches,
};

fn bus_branches(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    each_chain(schedule, |bus| {
        if let Some(wants) = bus.unclear() {
            return vec![not_checked(schedule, bus, wants)];
        }
        let mut proposal = Some(proposed_chain(schedule, bus));
        let mut outcomes = Vec::with_capacity(bus.nodes.len());
        for (node, &unit) in bus.nodes.iter().enumerate() {
            let links = bus.graph.links_at(node);
            let at = schedule.unit(unit).tag.at;
            let subject = Subject::Unit(unit);
            let is_box = schedule.unit(unit).kind() == Some(UnitKind::BranchBox);
            if links.is_empty() {
                continue;
            }
            if links.len() <= 2 || is_box && practice.bus.box_may_branch == Some(true) {
                outcomes.push(Outcome::met(subject, at).also(Subject::System(bus.id)));
                continue;
            }
            let runs: Vec<RunId> = links.iter().map(|&link| bus.links[link]).collect();
            let asked = is_box && practice.bus.box_may_branch.is_none();
            let chain = proposal.take();
            let finding = branch(schedule, unit, &runs, chain, asked);
            let finding = if is_box {
                finding.profile("bus.box_may_branch")
            } else {
                finding
            };
            let third = end_cell(schedule, runs[2], unit);
            outcomes.push(
                Outcome::broken(subject, third, finding)
                    .also(Subject::System(bus.id))
                    .related_all(runs.iter().map(|run| schedule.run(*run).at)),
            );
        }
        outcomes
    })
}

fn branch(
    schedule: &Schedule,
    unit: UnitId,
    runs: &[RunId],
    chain: Option<String>,
    asked: bool,
) -> Finding {
    let label = schedule.unit_label(unit);
    let names = run_names(schedule, runs.iter().copied());
    let says = format!(
        "{label} has {} bus runs: {names}. A chain has at most two at any unit.",
        runs.len()
    );
    let remedy = match (asked, chain) {
        (true, _) => format!(
            "Confirm from the manual of branch box {label} that its bus may branch there, or \
             run the units in one chain."
        ),
        (false, Some(chain)) => format!("Run one chain instead: {chain}."),
        (false, None) => format!(
            "Take {label} into the one chain proposed for its system; leave out all but two of \
             its runs."
        ),
    };
    let severity = if asked {
        Severity::Verify
    } else {
        Severity::Fix
    };
    Finding::new(
        severity,
        says,
        Value::Count(runs.len() as u64, "bus runs"),
        remedy,
    )
    .limit(Value::Count(2, "bus runs"), "one in and one out")
}

fn proposed_chain(schedule: &Schedule, bus: &SystemBus<'_>) -> String {
    let order = bus.graph.propose();
    list(
        order
            .into_iter()
            .map(|node| schedule.unit_label(bus.nodes[node])),
        CHAIN_SHOWN,
    )
}

/// The cell of the run's row that names the unit.
fn end_cell(schedule: &Schedule, run: RunId, unit: UnitId) -> CellId {
    let row = schedule.run(run);
    let tag = &schedule.unit(unit).tag.value;
    for end in [&row.to, &row.from] {
        if let Field::Given(Located { value, at }) = end
            && value == tag
        {
            return *at;
        }
    }
    row.at
}

fn not_checked(schedule: &Schedule, bus: &SystemBus<'_>, wants: Vec<Want>) -> Outcome {
    Outcome::not_checked(
        Subject::System(bus.id),
        system_place(schedule, bus.id),
        wants,
    )
}

pub(super) static BUS_CLOSES_ON_ITSELF: Rule = Rule {
    name: "bus-closes-on-itself",
    family: Family::Bus,
    severities: &[Severity::Fix],
    summary: "the bus runs close a loop",
    why: "A bus that comes back to a unit that it has passed is no chain: every message arrives \
          twice, and the system does not find its units.",
    decides: "Follows the runs in the order of their rows; a run between two units that the \
              earlier runs already join closes a loop, and is named as the one to leave out.",
    leaves: "Pairs joined twice (bus-run-repeated); which run of a loop is the longest to pull.",
    cites: &[Cite::Practice],
    yields_to: &["bus-branches"],
    check: bus_closes_on_itself,
};

fn bus_closes_on_itself(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    each_chain(schedule, |bus| {
        let subject = Subject::System(bus.id);
        if let Some(wants) = bus.unclear() {
            return vec![not_checked(schedule, bus, wants)];
        }
        if bus.graph.closing().is_empty() {
            return vec![Outcome::met(subject, system_place(schedule, bus.id))];
        }
        let close = |&link: &usize| {
            let run = bus.links[link];
            let row = schedule.run(run);
            let label = schedule.run_label(run);
            let says = format!(
                "The bus of system {} closes on itself: the run {label} joins units that its \
                 other runs join already.",
                schedule.system_label(bus.id)
            );
            let finding = Finding::fix(says, label.as_str(), format!("Leave out the run {label}."))
                .field(FieldName::RunTo);
            Outcome::broken(subject, row.to.at().unwrap_or(row.at), finding)
        };
        bus.graph.closing().iter().map(close).collect()
    })
}

pub(super) static BUS_NOT_FROM_OUTDOOR: Rule = Rule {
    name: "bus-not-from-outdoor",
    family: Family::Bus,
    severities: &[Severity::Fix],
    summary: "the chain does not begin at its outdoor unit",
    why: "The outdoor unit is one end of the chain. A chain that begins elsewhere is not \
          connected to it, and one that passes through it has two arms where it expects one.",
    decides: "Counts the indoor-side runs at the outdoor unit, its modules taken as one: none \
              where there is a chain, or two, is wrong. A run that only closes a loop does not \
              count.",
    leaves: "Three and more runs (bus-branches); which module of an outdoor unit the chain \
             leaves.",
    cites: &[Cite::Practice, Cite::Manual],
    yields_to: &["bus-branches", "unknown-tag"],
    check: bus_not_from_outdoor,
};

fn bus_not_from_outdoor(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    each_chain(schedule, |bus| {
        let subject = Subject::System(bus.id);
        let at = system_place(schedule, bus.id);
        let (None, Some(start)) = (bus.unclear(), bus.graph.start()) else {
            let wants = bus
                .unclear()
                .unwrap_or_else(|| vec![Want::Fact("the system's outdoor unit")]);
            return vec![not_checked(schedule, bus, wants)];
        };
        let arms = bus.graph.arms(start);
        if arms == 0
            && let Some(wants) = bus.empty_ends()
        {
            return vec![not_checked(schedule, bus, wants)];
        }
        if arms == 1 || bus.runs.is_empty() {
            return vec![Outcome::met(subject, at)];
        }
        let outdoor = outdoor_label(schedule, bus);
        let system = schedule.system_label(bus.id);
        let first = bus.runs.first().map(|run| schedule.run(*run).at);
        let runs: Vec<RunId> = bus
            .graph
            .links_at(start)
            .into_iter()
            .map(|link| bus.links[link])
            .collect();
        let (says, at) = if arms == 0 {
            let says = format!(
                "The bus of system {system} has {}, and none of them comes from {outdoor}.",
                count(bus.runs.len(), "run", "runs")
            );
            (says, first.map_or(at, Into::into))
        } else {
            let says = format!(
                "{outdoor} stands in the middle of the bus of system {system}: {}.",
                run_names(schedule, runs.iter().copied())
            );
            let last = runs.last().map(|run| schedule.run(*run).at);
            (says, last.map_or(at, Into::into))
        };
        let finding = Finding::fix(
            says,
            Value::Count(arms as u64, "bus runs at the outdoor unit"),
            format!("Run one chain instead: {}.", proposed_chain(schedule, bus)),
        )
        .limit(Value::Count(1, "bus run"), "the outdoor unit is one end");
        let related = runs.iter().map(|run| schedule.run(*run).at);
        vec![Outcome::broken(subject, at, finding).related_all(related)]
    })
}
