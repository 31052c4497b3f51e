//! The shape of the bus: one chain from the outdoor unit through every unit.

use super::layout::{Layout, SystemBus};
use super::{each_chain, no_bus, run_names, system_place, unit_names};
use crate::findings::{Finding, Outcome, Severity, Step, Subject, Value, Want};
use crate::practice::Practice;
use crate::rules::wording::{count, list};
use crate::rules::{Cite, Family, Rule};
use crate::schedule::{CellId, FieldName, Located, Name, RunId, Schedule, UnitId, UnitKind};
use crate::sizing::bus::{Hangs, Stop};

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
        if let crate::schedule::Field::Given(Located { value, at }) = end
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

pub(super) static BUS_BROKEN: Rule = Rule {
    name: "bus-broken",
    family: Family::Bus,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "the bus does not reach every unit of the system",
    why: "A unit that the chain does not reach does not answer the outdoor unit, and the system \
          does not start until somebody opens a wall to pull the missing run.",
    decides: "Follows the indoor-side runs from the outdoor unit; indoor units, air handlers and \
              branch boxes of the system that it does not come to are listed. A run with an \
              unknown tag or an empty end may be the missing one, so the rule waits for it. A \
              system of whose bus the schedule says nothing at all is asked about.",
    leaves: "Wireless links; units whose system is not told.",
    cites: &[Cite::Practice],
    yields_to: &["unknown-tag"],
    check: bus_broken,
};

fn bus_broken(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    if let Some(outcomes) = no_bus(schedule) {
        return outcomes;
    }
    let layout = Layout::of(schedule);
    let mut outcomes: Vec<Outcome> = layout
        .systems
        .iter()
        .map(|bus| reach(schedule, bus).steps(chain_steps(schedule, bus)))
        .collect();
    for (id, unit) in schedule.audited_units() {
        if unit.is_indoor() && unit.system_id.is_none() {
            let wants = vec![Want::Fact("the system of each unit on the bus")];
            outcomes.push(Outcome::not_checked(Subject::Unit(id), unit.tag.at, wants));
        }
    }
    outcomes
}

fn reach(schedule: &Schedule, bus: &SystemBus<'_>) -> Outcome {
    let subject = Subject::System(bus.id);
    let at = system_place(schedule, bus.id);
    let wanted: Vec<(usize, UnitId)> = bus.to_reach().collect();
    if bus.is_scheduled()
        && let Some(wants) = bus.unclear()
    {
        return Outcome::not_checked(subject, at, wants);
    }
    if wanted.is_empty() {
        return Outcome::met(subject, at);
    }
    let reached = bus.graph.reached();
    let missed: Vec<UnitId> = wanted
        .iter()
        .filter(|(node, _)| !reached[*node])
        .map(|(_, unit)| *unit)
        .collect();
    let Some(&first) = missed.first() else {
        return Outcome::met(subject, at);
    };
    if let Some(wants) = bus.empty_ends() {
        return Outcome::not_checked(subject, at, wants);
    }
    if only_the_first_run_is_missing(bus, missed.len()) {
        return Outcome::not_checked(subject, at, vec![Want::WaitsFor("bus-not-from-outdoor")]);
    }
    let finding = if bus.is_scheduled() {
        broken(schedule, bus, &missed)
    } else {
        unscheduled(schedule, bus, &missed)
    };
    Outcome::broken(subject, schedule.unit(first).tag.at, finding)
        .related_all(missed[1..].iter().map(|unit| schedule.unit(*unit).tag.at))
}

/// All units make one chain that only the outdoor unit is not on: that is
/// told by `bus-not-from-outdoor`.
fn only_the_first_run_is_missing(bus: &SystemBus<'_>, missed: usize) -> bool {
    let Some(start) = bus.graph.start() else {
        return false;
    };
    let branches = (0..bus.nodes.len()).any(|node| bus.graph.links_at(node).len() > 2);
    let lone = |(node, _): (usize, UnitId)| bus.graph.arms(node) == 0;
    bus.graph.arms(start) == 0
        && !branches
        && bus.graph.parts_apart() == 1
        && missed == bus.to_reach().count()
        && !bus.to_reach().any(lone)
}

fn broken(schedule: &Schedule, bus: &SystemBus<'_>, missed: &[UnitId]) -> Finding {
    let outdoor = outdoor_label(schedule, bus);
    let names = unit_names(schedule, missed.iter().copied());
    let total = bus.to_reach().count();
    let says = format!(
        "From {outdoor} the bus comes to {} of the {total} units of system {}; not reached: \
         {names}.",
        total - missed.len(),
        schedule.system_label(bus.id)
    );
    let remedy = format!("Add the runs that take {names} into the chain.");
    Finding::fix(
        says,
        Value::Count(missed.len() as u64, "units not reached"),
        remedy,
    )
    .limit(Value::Count(0, "units not reached"), "every unit once")
}

fn unscheduled(schedule: &Schedule, bus: &SystemBus<'_>, missed: &[UnitId]) -> Finding {
    let system = schedule.system_label(bus.id);
    let says = format!(
        "The schedule of runs says nothing of the bus of system {system}, whose units are {}.",
        unit_names(schedule, missed.iter().copied())
    );
    Finding::verify(
        says,
        Value::Count(0, "bus runs"),
        format!("Schedule the bus runs of system {system}, or say where they are scheduled."),
    )
    .limit(
        Value::Count(missed.len() as u64, "bus runs"),
        "one run to each unit",
    )
}

fn outdoor_label(schedule: &Schedule, bus: &SystemBus<'_>) -> String {
    let start = bus.graph.start().and_then(|node| bus.nodes.get(node));
    start.map_or_else(
        || "the outdoor unit".to_owned(),
        |unit| schedule.unit_label(*unit),
    )
}

/// The chain in order, two steps a stop: the unit, and the length so far.
fn chain_steps(schedule: &Schedule, bus: &SystemBus<'_>) -> Vec<Step> {
    let mut steps = Vec::with_capacity(2 * bus.nodes.len());
    let mut before = crate::schedule::Feet(0.0);
    for stop in bus.graph.walk() {
        let unit = schedule.unit(bus.nodes[stop.node]);
        let mut label = schedule.unit_label(bus.nodes[stop.node]);
        if let Some(room) = unit.room.get() {
            label.push_str(&format!(", {room}"));
        }
        steps.push(Step {
            what: "chain",
            value: Value::Text(label),
            how: stop_text(schedule, bus, &stop),
            source: String::new(),
        });
        let length = stop
            .by
            .map(|(_, link)| schedule.run(bus.links[link]).length.copied());
        let how = match length {
            None => String::new(),
            Some(Some(length)) => format!("{before} + {length}"),
            Some(None) => format!("{before} + a run without a length"),
        };
        steps.push(Step {
            what: "cumulative",
            value: Value::Feet(stop.total),
            how,
            source: String::new(),
        });
        before = stop.total;
    }
    steps
}

/// `OU-1 to FC-1, 40 ft`; what is off the chain says so.
fn stop_text(schedule: &Schedule, bus: &SystemBus<'_>, stop: &Stop) -> String {
    let label = |node: usize| schedule.unit_label(bus.nodes[node]);
    let run = stop.by.map(|(from, link)| {
        let length = schedule.run(bus.links[link]).length.copied();
        let length = length.map_or("length missing".to_owned(), |feet| feet.to_string());
        format!("{} to {}, {length}", label(from), label(stop.node))
    });
    match (stop.hangs, run) {
        (Hangs::Start, _) => "start".to_owned(),
        (Hangs::Chain, Some(run)) => run,
        (Hangs::Branch, Some(run)) => format!("branch: {run}"),
        (Hangs::Apart, Some(run)) => format!("not reached: {run}"),
        (_, None) => "not reached".to_owned(),
    }
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

pub(super) static BUS_RUN_REPEATED: Rule = Rule {
    name: "bus-run-repeated",
    family: Family::Bus,
    severities: &[Severity::Fix],
    summary: "the same two units are joined by two bus runs",
    why: "A second run between the same units is a loop of two, or a row copied and not \
          changed: then the run that was meant is missing.",
    decides: "Two rows of one table that name the same two units, in either order.",
    leaves: "Rows of different tables: they tell of one run twice.",
    cites: &[Cite::Practice],
    yields_to: &[],
    check: bus_run_repeated,
};

fn bus_run_repeated(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    if let Some(outcomes) = no_bus(schedule) {
        return outcomes;
    }
    let layout = Layout::of(schedule);
    let first_of: std::collections::BTreeMap<RunId, RunId> =
        layout.repeated.iter().copied().collect();
    judged_runs(schedule, |id| {
        let first = *first_of.get(&id)?;
        let row = schedule.run(id);
        let label = schedule.run_label(id);
        let earlier = crate::schedule::RowNumber::from(schedule.run(first).at.row);
        let says = format!(
            "The run {label} joins two units that the run {} (row {earlier}) joins already.",
            schedule.run_label(first)
        );
        let finding = Finding::fix(
            says,
            Value::Count(2, "runs of one pair"),
            format!("Leave out the run {label}, or name the unit that was meant."),
        )
        .field(FieldName::RunTo)
        .limit(Value::Count(1, "run"), "each pair once");
        let at = row.to.at().unwrap_or(row.at);
        Some(
            Outcome::broken(Subject::Run(id), at, finding).related(
                schedule
                    .run(first)
                    .to
                    .at()
                    .unwrap_or(schedule.run(first).at),
            ),
        )
    })
}

pub(super) static BUS_CROSSES_SYSTEMS: Rule = Rule {
    name: "bus-crosses-systems",
    family: Family::Bus,
    severities: &[Severity::Fix],
    summary: "a bus run joins units of two systems on the indoor side",
    why: "Each system has a bus of its own. A run into the next system joins two masters, and \
          neither system starts.",
    decides: "An indoor-side run whose ends belong to two systems that the schedule itself \
              tells apart, by a system column or an outdoor unit's tag.",
    leaves: "Runs among outdoor units; systems that are only told from the bus itself.",
    cites: &[Cite::Practice],
    yields_to: &[],
    check: bus_crosses_systems,
};

fn bus_crosses_systems(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    if let Some(outcomes) = no_bus(schedule) {
        return outcomes;
    }
    let layout = Layout::of(schedule);
    let crossing: std::collections::BTreeMap<RunId, _> = layout
        .crossing
        .iter()
        .map(|&(run, a, b)| (run, (a, b)))
        .collect();
    judged_runs(schedule, |id| {
        let (a, b) = *crossing.get(&id)?;
        let run = schedule.run(id);
        let label = schedule.run_label(id);
        let name =
            |end: &crate::schedule::Field<Name>| end.get().map_or("?", Name::text).to_owned();
        let (from, to) = (name(&run.from), name(&run.to));
        let (one, other) = (schedule.system_label(a), schedule.system_label(b));
        let says = format!(
            "The run {label} joins {from} of system {one} with {to} of system {other} on the \
             indoor side."
        );
        let remedy = format!(
            "Leave out the run {label}; take {from} into the chain of system {one} and {to} into \
             that of system {other}, or correct the tag."
        );
        let found = Value::Text(format!("systems {one} and {other}"));
        let finding = Finding::fix(says, found, remedy)
            .field(FieldName::RunTo)
            .limit("one system", "a bus of its own for each");
        let systems = [a, b].map(|system| system_place(schedule, system));
        let mut outcome = Outcome::broken(Subject::Run(id), run.to.at().unwrap_or(run.at), finding);
        outcome.related.extend(systems);
        Some(outcome)
    })
}

/// One outcome for each bus run between units: what `judge` finds, or met.
fn judged_runs(schedule: &Schedule, judge: impl Fn(RunId) -> Option<Outcome>) -> Vec<Outcome> {
    schedule
        .run_ids()
        .filter(|(_, run)| super::indoor_side(schedule, run) && run.units().is_some())
        .map(|(id, run)| judge(id).unwrap_or_else(|| Outcome::met(Subject::Run(id), run.at)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::example::{units, wired};
    use super::*;
    use crate::findings::Verdict;
    use crate::rules::testing::{finds, meets, outcomes, whole_audit};
    use crate::schedule::fixture::Fixture;
    use Severity::{Fix, Verify};

    fn names(schedule: &Schedule) -> Vec<&'static str> {
        let ours = [
            "bus-branches",
            "bus-closes-on-itself",
            "bus-broken",
            "bus-not-from-outdoor",
            "bus-run-repeated",
            "bus-crosses-systems",
        ];
        let found = whole_audit(schedule).into_iter().map(|(rule, _)| rule);
        found.filter(|rule| ours.contains(rule)).collect()
    }

    #[test]
    fn a_chain_in_any_order_is_met() {
        let runs = [("FC-2", "FC-3"), ("FC-1", "FC-3"), ("OU-1", "FC-1")];
        let schedule = wired(3, &runs);
        for rule in super::super::RULES.iter().take(6) {
            meets(rule, &schedule);
        }
    }

    #[test]
    fn a_star_is_one_finding_with_a_chain_proposed() {
        let schedule = wired(3, &[("OU-1", "FC-1"), ("OU-1", "FC-2"), ("OU-1", "FC-3")]);
        assert_eq!(names(&schedule), ["bus-branches"]);
        let found = outcomes(&BUS_BRANCHES, &schedule);
        let finding = found.iter().find_map(Outcome::finding).unwrap();
        assert!(finding.remedy.contains("OU-1, FC-1, FC-2, FC-3"));
        assert!(finding.says.contains("OU-1 to FC-3"), "{}", finding.says);
    }

    #[test]
    fn two_runs_at_the_outdoor_unit_are_its_middle_and_three_a_star() {
        let two = wired(2, &[("OU-1", "FC-1"), ("OU-1", "FC-2")]);
        assert_eq!(names(&two), ["bus-not-from-outdoor"]);
        let one = wired(2, &[("OU-1", "FC-1"), ("FC-1", "FC-2")]);
        assert_eq!(names(&one), [""; 0]);
    }

    #[test]
    fn a_ring_names_the_run_to_leave_out() {
        let ring = wired(2, &[("OU-1", "FC-1"), ("FC-1", "FC-2"), ("FC-2", "OU-1")]);
        assert_eq!(names(&ring), ["bus-closes-on-itself"]);
        let found = outcomes(&BUS_CLOSES_ON_ITSELF, &ring);
        let remedy = &found[0].finding().unwrap().remedy;
        assert!(remedy.contains("FC-2 to OU-1"), "{remedy}");
        // A run from a unit to itself is a loop, too.
        let own = wired(1, &[("OU-1", "FC-1"), ("FC-1", "FC-1")]);
        assert_eq!(names(&own), ["bus-closes-on-itself"]);
    }

    #[test]
    fn units_that_the_chain_misses_are_listed() {
        let broken = wired(4, &[("OU-1", "FC-1"), ("FC-1", "FC-2"), ("FC-3", "FC-4")]);
        assert_eq!(names(&broken), ["bus-broken"]);
        let found = outcomes(&BUS_BROKEN, &broken);
        assert!(found[0].finding().unwrap().says.contains("FC-3, FC-4"));
        let lone = wired(2, &[("OU-1", "FC-1")]);
        assert_eq!(names(&lone), ["bus-broken"]);
    }

    #[test]
    fn a_chain_without_its_first_run_is_one_finding() {
        let schedule = wired(3, &[("FC-1", "FC-2"), ("FC-2", "FC-3")]);
        assert_eq!(names(&schedule), ["bus-not-from-outdoor"]);
    }

    #[test]
    fn the_chain_is_told_in_order_whatever_the_verdict() {
        let schedule = wired(3, &[("FC-1", "FC-2"), ("OU-1", "FC-1")]);
        let found = outcomes(&BUS_BROKEN, &schedule);
        let steps: Vec<String> = found[0]
            .working
            .iter()
            .map(|step| format!("{} {} [{}]", step.what, step.value, step.how))
            .collect();
        assert_eq!(
            steps,
            [
                "chain OU-1 [start]",
                "cumulative 0 ft []",
                "chain FC-1 [OU-1 to FC-1, 40 ft]",
                "cumulative 40 ft [0 ft + 40 ft]",
                "chain FC-2 [FC-1 to FC-2, 40 ft]",
                "cumulative 80 ft [40 ft + 40 ft]",
                "chain FC-3 [not reached]",
                "cumulative 80 ft []",
            ]
        );
    }

    #[test]
    fn a_pair_joined_twice_is_repeated_and_nothing_else() {
        let schedule = wired(2, &[("OU-1", "FC-1"), ("FC-1", "FC-2"), ("FC-2", "FC-1")]);
        assert_eq!(names(&schedule), ["bus-run-repeated"]);
        // Rows of two tables tell of one run.
        let mut fixture = units(1);
        fixture.run("OU-1", "FC-1", |_, _| {});
        fixture.run("OU-1", "FC-1", |run, _| run.at.table = 0);
        assert_eq!(names(&fixture.build()), [""; 0]);
    }

    fn two_systems(stated: bool) -> Fixture {
        let mut fixture = Fixture::new();
        for n in ["1", "2"] {
            fixture.unit(&format!("OU-{n}"), UnitKind::Outdoor, |u, cells| {
                if stated {
                    u.system = cells.name(n);
                }
            });
            for unit in ["1", "2"] {
                fixture.unit(&format!("FC-{n}{unit}"), UnitKind::Indoor, |u, cells| {
                    if stated {
                        u.system = cells.name(n);
                    }
                });
            }
        }
        fixture
    }

    #[test]
    fn only_systems_that_are_stated_can_be_crossed() {
        let mut fixture = two_systems(true);
        for (from, to) in [("OU-1", "FC-11"), ("FC-11", "FC-12"), ("OU-2", "FC-21")] {
            fixture.run(from, to, |_, _| {});
        }
        fixture.run("FC-21", "FC-22", |_, _| {});
        fixture.run("FC-12", "FC-21", |_, _| {});
        let schedule = fixture.build();
        assert_eq!(names(&schedule), ["bus-crosses-systems"]);
        finds(&BUS_CROSSES_SYSTEMS, &schedule, &[Fix]);

        let mut fixture = two_systems(false);
        for (from, to) in [("OU-1", "FC-11"), ("FC-11", "FC-21"), ("FC-21", "OU-2")] {
            fixture.run(from, to, |_, _| {});
        }
        let schedule = fixture.build();
        assert_eq!(names(&schedule), [""; 0]);
        assert!(
            outcomes(&BUS_BROKEN, &schedule)
                .iter()
                .all(|o| matches!(o.verdict, Verdict::NotChecked { .. }))
        );
    }

    #[test]
    fn a_system_of_which_no_run_is_scheduled_is_asked_about() {
        let mut fixture = two_systems(true);
        for (from, to) in [("OU-1", "FC-11"), ("FC-11", "FC-12")] {
            fixture.run(from, to, |_, _| {});
        }
        finds(&BUS_BROKEN, &fixture.build(), &[Verify]);
    }

    #[test]
    fn modules_and_central_control_are_no_part_of_the_chain() {
        let mut fixture = units(2);
        fixture
            .unit("OU-1B", UnitKind::OutdoorModule, |_, _| {})
            .unit("CC-1", UnitKind::CentralController, |_, _| {})
            .unit("GW-1", UnitKind::Gateway, |_, _| {});
        for (from, to) in [
            ("OU-1", "FC-1"),
            ("FC-1", "FC-2"),
            ("OU-1", "OU-1B"),
            ("OU-1", "CC-1"),
        ] {
            fixture.run(from, to, |_, _| {});
        }
        // Called a bus by its row all the same.
        fixture.run("GW-1", "OU-1", |run, cells| {
            run.purpose = cells.given(crate::schedule::wire::RunPurpose::Bus);
        });
        assert_eq!(names(&fixture.build()), [""; 0]);
    }

    #[test]
    fn a_branch_box_is_the_profiles_question() {
        let mut fixture = units(3);
        fixture.unit("BB-1", UnitKind::BranchBox, |_, _| {});
        for (from, to) in [
            ("OU-1", "BB-1"),
            ("BB-1", "FC-1"),
            ("BB-1", "FC-2"),
            ("BB-1", "FC-3"),
        ] {
            fixture.run(from, to, |_, _| {});
        }
        let schedule = fixture.build();
        let mut practice = Practice::default();
        for (says, expected) in [
            (None, vec![Verify]),
            (Some(false), vec![Fix]),
            (Some(true), vec![]),
        ] {
            practice.bus.box_may_branch = says;
            let found = crate::rules::testing::severities(&BUS_BRANCHES, &schedule, &practice);
            assert_eq!(found, expected);
        }
    }

    #[test]
    fn what_is_not_told_is_not_judged() {
        // One row for three units.
        let mut fixture = Fixture::new();
        fixture
            .unit("OU-1", UnitKind::Outdoor, |_, _| {})
            .unit("FC-1", UnitKind::Indoor, |u, cells| {
                u.quantity = cells.given(3)
            })
            .run("OU-1", "FC-1", |_, _| {});
        assert_eq!(names(&fixture.build()), [""; 0]);
        // A tag that matches nothing may be the unit that is missed.
        let unknown = wired(2, &[("OU-1", "FC-1"), ("FC-1", "FC-7")]);
        assert_eq!(names(&unknown), [""; 0]);
        // Thermostats' wire alone says nothing of the bus; nor does no table.
        let mut fixture = units(1);
        fixture
            .controller("T-1", &["FC-1"], |_, _| {})
            .run("T-1", "FC-1", |_, _| {});
        assert_eq!(names(&fixture.build()), [""; 0]);
        assert_eq!(names(&units(1).build()), [""; 0]);
        // An empty end.
        let mut fixture = units(2);
        fixture.run("OU-1", "FC-1", |_, _| {});
        fixture.run("FC-1", "", |run, cells| run.to = cells.blank());
        assert_eq!(names(&fixture.build()), [""; 0]);
    }

    #[test]
    fn ten_thousand_units_take_no_quadratic_step() {
        let runs: Vec<(String, String)> = (1..=10_000)
            .map(|n| ("OU-1".to_owned(), format!("FC-{n}")))
            .collect();
        let pairs: Vec<(&str, &str)> = runs.iter().map(|(a, b)| (&**a, &**b)).collect();
        let schedule = wired(10_000, &pairs);
        let started = std::time::Instant::now();
        finds(&BUS_BRANCHES, &schedule, &[Fix]);
        meets(&BUS_BROKEN, &schedule);
        assert!(started.elapsed().as_secs() < 20, "{:?}", started.elapsed());
    }
}
