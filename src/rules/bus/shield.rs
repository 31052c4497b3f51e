//! The shield of a chain: all of it or none, and where it is grounded.

use super::layout::SystemBus;
use super::{each_chain, run_names, system_place};
use crate::findings::{Finding, Outcome, Severity, Subject};
use crate::practice::{Practice, ShieldPolicy};
use crate::rules::wording::{count, counted, list};
use crate::rules::{Cite, Family, Rule};
use crate::schedule::wire::{Routing, ShieldGround};
use crate::schedule::{CellId, Field, FieldName, Name, RunEnd, RunId, Schedule, UnitId};
use std::collections::BTreeMap;

/// Nothing is said of the shield of any run of the chain.
fn shield_not_told(schedule: &Schedule, bus: &SystemBus<'_>) -> Option<Outcome> {
    let told = bus.runs.iter().any(|id| bus.run(*id).shielded.is_given());
    let at = system_place(schedule, bus.id);
    (!told).then(|| Outcome::wants(Subject::System(bus.id), at, FieldName::RunShield))
}

/// Met, unless a run of the chain says nothing of its shield.
fn met_if_told(schedule: &Schedule, bus: &SystemBus<'_>) -> Outcome {
    let subject = Subject::System(bus.id);
    let untold = bus
        .runs
        .iter()
        .find(|id| !bus.run(**id).shielded.is_given());
    match untold {
        Some(&id) => Outcome::wants(subject, shield_cell(bus, id), FieldName::RunShield),
        None => Outcome::met(subject, system_place(schedule, bus.id)),
    }
}

fn shield_cell(bus: &SystemBus<'_>, id: RunId) -> CellId {
    let run = bus.run(id);
    run.shielded.at().unwrap_or(run.at)
}

pub(super) static BUS_SHIELD_NEEDLESS: Rule = Rule {
    name: "bus-shield-needless",
    family: Family::Bus,
    severities: &[Severity::Note],
    summary: "a shielded bus that is kept away from line voltage",
    why: "Shielded wire costs money and length: the budget of the bus is lower with it. Away \
          from line voltage it brings nothing.",
    decides: "A chain of which every run is stated as shielded and as kept apart from line \
              voltage. One run beside line voltage calls for a shield along the whole chain.",
    leaves: "Chains with a run whose routing is not stated; noise from other sources.",
    cites: &[Cite::Practice],
    yields_to: &["bus-shield-broken"],
    check: bus_shield_needless,
};

fn bus_shield_needless(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    each_chain(schedule, |bus| {
        if let Some(outcome) = shield_not_told(schedule, bus) {
            return vec![outcome];
        }
        let subject = Subject::System(bus.id);
        let at = system_place(schedule, bus.id);
        let shielded = bus.runs_with(|run| &run.shielded, &true);
        let routing = |id: &RunId| bus.run(*id).routing.copied();
        let beside = bus
            .runs
            .iter()
            .any(|id| routing(id).is_some_and(|routing| routing != Routing::Apart));
        let welcome = practice.bus.shield == ShieldPolicy::Anywhere;
        let bare = !bus.runs_with(|run| &run.shielded, &false).is_empty();
        if welcome || bare || beside {
            return vec![Outcome::met(subject, at)];
        }
        if shielded.len() < bus.runs.len() {
            return vec![met_if_told(schedule, bus)];
        }
        if bus.runs.iter().any(|id| routing(id).is_none()) {
            return vec![Outcome::wants(subject, at, FieldName::RunRouting)];
        }
        let says = format!(
            "All {} of the chain of system {} are shielded, and all are kept apart from line \
             voltage: no shield is called for. Without it the bus may have {} in all instead of \
             {} (practice profile).",
            count(bus.runs.len(), "run", "runs"),
            schedule.system_label(bus.id),
            practice.bus.budget,
            practice.bus.budget_shielded
        );
        let remedy = "Use wire without a shield for the whole chain, if the manual allows it.";
        let finding = Finding::note(says, "shielded", remedy)
            .field(FieldName::RunShield)
            .limit("not shielded", "kept apart from line voltage")
            .profile("bus.shield")
            .profile("bus.budget")
            .profile("bus.budget_shielded");
        let first = shield_cell(bus, shielded[0]);
        let others = shielded[1..].iter().map(|id| shield_cell(bus, *id));
        vec![Outcome::broken(subject, first, finding).related_all(others)]
    })
}

pub(super) static BUS_SHIELD_BROKEN: Rule = Rule {
    name: "bus-shield-broken",
    family: Family::Bus,
    severities: &[Severity::Fix],
    summary: "some runs of one chain are shielded and others are not",
    why: "A shield protects only where it is joined through every unit of the chain; in pieces \
          it is an antenna, and its lower budget is paid all the same.",
    decides: "The runs of one chain whose shield is stated: all shielded or none.",
    leaves: "Interlock and controller wire. While a run does not say, the chain is not called \
             right.",
    cites: &[Cite::Practice, Cite::Manual],
    yields_to: &[],
    check: bus_shield_broken,
};

fn bus_shield_broken(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    each_chain(schedule, |bus| {
        if let Some(outcome) = shield_not_told(schedule, bus) {
            return vec![outcome];
        }
        let subject = Subject::System(bus.id);
        let shielded = bus.runs_with(|run| &run.shielded, &true);
        let bare = bus.runs_with(|run| &run.shielded, &false);
        if shielded.is_empty() || bare.is_empty() {
            return vec![met_if_told(schedule, bus)];
        }
        let beside_power = bus.runs.iter().any(|id| {
            let routing = bus.run(*id).routing.copied();
            routing.is_some_and(|routing| routing != Routing::Apart && routing != Routing::Crossing)
        });
        let system = schedule.system_label(bus.id);
        // Where a shield is called for, the bare runs are at fault; else
        // whichever are fewer.
        let bare_at_fault = beside_power || bare.len() <= shielded.len();
        let (fault, what) = if bare_at_fault {
            (&bare, "not shielded")
        } else {
            (&shielded, "shielded")
        };
        let says = format!(
            "Of the chain of system {system} {} shielded and {} not; {what}: {}.",
            are(shielded.len()),
            are(bare.len()),
            run_names(schedule, fault.iter().copied())
        );
        let remedy = if beside_power {
            format!(
                "Use shielded wire along the whole chain of system {system}, the shield joined \
                 through every unit."
            )
        } else {
            format!(
                "Use one kind of wire along the whole chain of system {system}: without a shield \
                 where it is kept apart from line voltage, shielded throughout where it is not."
            )
        };
        let found = format!("{} of {} shielded", shielded.len(), bus.runs.len());
        let finding = Finding::fix(says, found, remedy)
            .field(FieldName::RunShield)
            .limit("all or none", "one shield along the chain");
        let others = fault[1..].iter().map(|id| shield_cell(bus, *id));
        let at = shield_cell(bus, fault[0]);
        vec![Outcome::broken(subject, at, finding).related_all(others)]
    })
}

fn are(runs: usize) -> String {
    let verb = if runs == 1 { "is" } else { "are" };
    format!("{} {verb}", count(runs, "run", "runs"))
}

pub(super) static BUS_SHIELD_GROUNDS: Rule = Rule {
    name: "bus-shield-grounds",
    family: Family::Bus,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "the shield of a chain is grounded at more or fewer points than it should be",
    why: "A shield grounded at two points carries current between them, and one grounded \
          nowhere shields nothing.",
    decides: "Counts the different points at which the rows of a shielded chain ground the \
              shield: the outdoor end on every row is one point, and two runs grounded at one \
              unit are one point. The practice profile says how many there should be. A row that \
              says nothing counts nothing; where points are missing and rows say nothing, the \
              question is asked once a chain.",
    leaves: "Chains without a shield; schedules without a column for it.",
    cites: &[Cite::Practice, Cite::Manual],
    yields_to: &["bus-shield-broken"],
    check: bus_shield_grounds,
};

/// A grounded point: a unit, or a name that is none.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Point {
    Unit(UnitId),
    Named(Name),
}

fn bus_shield_grounds(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    let column = schedule
        .runs
        .iter()
        .any(|run| !run.shield_ground.no_column());
    each_chain(schedule, |bus| {
        if let Some(outcome) = shield_not_told(schedule, bus) {
            return vec![outcome];
        }
        let subject = Subject::System(bus.id);
        let at = system_place(schedule, bus.id);
        let shielded = bus.runs_with(|run| &run.shielded, &true);
        if shielded.is_empty() {
            return vec![met_if_told(schedule, bus)];
        }
        if !column {
            return vec![Outcome::wants(subject, at, FieldName::RunShieldGround)];
        }
        vec![grounds(schedule, bus, &shielded, practice)]
    })
}

fn grounds(
    schedule: &Schedule,
    bus: &SystemBus<'_>,
    shielded: &[RunId],
    practice: &Practice,
) -> Outcome {
    let subject = Subject::System(bus.id);
    let (points, silent) = points(schedule, bus, shielded);
    let right = practice.bus.shield_grounds as usize;
    let cell = |id: RunId| bus.run(id).shield_ground.at().unwrap_or(bus.run(id).at);
    let system = schedule.system_label(bus.id);
    let names = list(
        points.keys().map(|point| match point {
            Point::Unit(unit) => schedule.unit_label(*unit),
            Point::Named(name) => name.text().to_owned(),
        }),
        super::SHOWN,
    );
    let found = counted(points.len(), "grounded point", "grounded points");
    let limit = counted(right, "grounded point", "grounded points");
    let finish = |finding: Finding| {
        finding
            .field(FieldName::RunShieldGround)
            .limit(limit.clone(), "practice profile")
            .profile("bus.shield_grounds")
    };
    if points.len() == right {
        return Outcome::met(subject, system_place(schedule, bus.id));
    }
    if points.len() < right
        && let Some(&first) = silent.first()
    {
        let says = format!(
            "The shield of the chain of system {system} is stated as grounded at {} of {}, and \
             {} nothing of it.",
            points.len(),
            count(right, "point", "points"),
            match silent.len() {
                1 => "1 run says".to_owned(),
                many => format!("{many} runs say"),
            }
        );
        let remedy = format!("Say where the shield of system {system} is grounded.");
        let finding = finish(Finding::verify(says, found, remedy));
        return Outcome::broken(subject, cell(first), finding);
    }
    let (says, remedy) = if points.is_empty() {
        let says = format!("The shield of the chain of system {system} is grounded nowhere.");
        let remedy = format!(
            "Ground the shield of system {system} at {}, commonly the outdoor unit's end.",
            count(right, "point", "points")
        );
        (says, remedy)
    } else {
        let says = format!(
            "The shield of the chain of system {system} is grounded at {}: {names}; it should be \
             at {right} (practice profile).",
            count(points.len(), "point", "points")
        );
        let remedy = format!(
            "Ground the shield of system {system} at {} alone, commonly the outdoor unit's end, \
             and join it through at every other unit.",
            count(right, "point", "points")
        );
        (says, remedy)
    };
    let mut runs: Vec<RunId> = points.values().copied().collect();
    runs.sort_unstable();
    let last = runs.pop().unwrap_or(shielded[0]);
    Outcome::broken(
        subject,
        cell(last),
        finish(Finding::fix(says, found, remedy)),
    )
    .related_all(runs.into_iter().map(cell))
}

/// The different grounded points with the first run that names each, and
/// the runs that say nothing.
fn points(
    schedule: &Schedule,
    bus: &SystemBus<'_>,
    shielded: &[RunId],
) -> (BTreeMap<Point, RunId>, Vec<RunId>) {
    let mut points: BTreeMap<Point, RunId> = BTreeMap::new();
    let mut silent = Vec::new();
    let by_tag: BTreeMap<&Name, UnitId> = bus
        .nodes
        .iter()
        .map(|unit| (&schedule.unit(*unit).tag.value, *unit))
        .collect();
    let outdoor = bus.graph.start().map(|node| bus.nodes[node]);
    for &id in shielded {
        let run = bus.run(id);
        let at_end = |end: &RunEnd, name: &Field<Name>| match end {
            RunEnd::Unit(unit) if schedule.unit(*unit).is_outdoor() => {
                Some(Point::Unit(outdoor.unwrap_or(*unit)))
            }
            RunEnd::Unit(unit) => Some(Point::Unit(*unit)),
            _ => name.get().cloned().map(Point::Named),
        };
        let from = || at_end(&run.from_end, &run.from);
        let to = || at_end(&run.to_end, &run.to);
        let named: Vec<Option<Point>> = match run.shield_ground.get() {
            None => {
                silent.push(id);
                continue;
            }
            // Which end that is can be told where the other is the outdoor
            // unit; between two indoor units it says nothing sure.
            Some(ShieldGround::IndoorEnd | ShieldGround::FarEnd) => {
                let is_outdoor = |end: &RunEnd| match end {
                    RunEnd::Unit(unit) => schedule.unit(*unit).is_outdoor(),
                    _ => false,
                };
                match (is_outdoor(&run.from_end), is_outdoor(&run.to_end)) {
                    (true, false) => vec![to()],
                    (false, true) => vec![from()],
                    _ => {
                        silent.push(id);
                        continue;
                    }
                }
            }
            Some(ShieldGround::LastUnit) => vec![Some(Point::Named(Name::new("last unit")))],
            Some(ShieldGround::Nowhere) => Vec::new(),
            Some(ShieldGround::OutdoorEnd) => vec![outdoor.map(Point::Unit)],
            Some(ShieldGround::FromEnd) => vec![from()],
            Some(ShieldGround::ToEnd) => vec![to()],
            Some(ShieldGround::BothEnds) => vec![from(), to()],
            Some(ShieldGround::At(name)) => vec![Some(
                by_tag
                    .get(name)
                    .map_or_else(|| Point::Named(name.clone()), |unit| Point::Unit(*unit)),
            )],
        };
        for point in named.into_iter().flatten() {
            points.entry(point).or_insert(id);
        }
    }
    (points, silent)
}

#[cfg(test)]
mod tests {
    use super::super::example::chain;
    use super::*;
    use crate::findings::{Verdict, Want};
    use crate::rules::testing::{finds, meets, outcomes, severities, whole_audit};
    use Severity::{Fix, Note, Verify};

    fn of(shielded: [bool; 2], routing: [Routing; 2]) -> Schedule {
        chain(move |n, run, cells| {
            run.shielded = cells.given(shielded[n]);
            run.routing = cells.given(routing[n]);
        })
    }

    #[test]
    fn a_shield_away_from_power_is_noted_once_a_chain() {
        use Routing::{Apart, Parallel};
        finds(
            &BUS_SHIELD_NEEDLESS,
            &of([true, true], [Apart, Apart]),
            &[Note],
        );
        // One run beside power calls for a shield along the whole chain.
        meets(&BUS_SHIELD_NEEDLESS, &of([true, true], [Apart, Parallel]));
        meets(&BUS_SHIELD_NEEDLESS, &of([false, false], [Apart, Apart]));
        let silent = chain(|_, run, cells| run.shielded = cells.given(true));
        finds(&BUS_SHIELD_NEEDLESS, &silent, &[]);
    }

    #[test]
    fn a_chain_is_shielded_throughout_or_not_at_all() {
        use Routing::Apart;
        meets(&BUS_SHIELD_BROKEN, &of([true, true], [Apart, Apart]));
        meets(&BUS_SHIELD_BROKEN, &of([false, false], [Apart, Apart]));
        let mixed = of([true, false], [Apart, Apart]);
        finds(&BUS_SHIELD_BROKEN, &mixed, &[Fix]);
        let found: Vec<_> = whole_audit(&mixed)
            .into_iter()
            .map(|(rule, _)| rule)
            .collect();
        assert!(found.contains(&"bus-shield-broken"));
        assert!(!found.contains(&"bus-shield-grounds"));
        let half_told = chain(|n, run, cells| {
            if n == 0 {
                run.shielded = cells.given(true);
            }
        });
        // What the other run is, nobody said.
        let open = &outcomes(&BUS_SHIELD_BROKEN, &half_told)[0];
        let wants = vec![Want::Field(FieldName::RunShield)];
        assert_eq!(open.verdict, Verdict::NotChecked { wants });
    }

    fn grounded(grounds: [Option<ShieldGround>; 2]) -> Schedule {
        chain(move |n, run, cells| {
            run.shielded = cells.given(true);
            run.shield_ground = match &grounds[n] {
                Some(ground) => cells.given(ground.clone()),
                None => cells.blank(),
            };
        })
    }

    #[test]
    fn grounded_points_are_counted_along_the_chain() {
        use ShieldGround::{At, BothEnds, FromEnd, Nowhere, OutdoorEnd, ToEnd};
        for right in [
            [Some(OutdoorEnd), Some(OutdoorEnd)],
            [Some(OutdoorEnd), None],
            [Some(FromEnd), Some(Nowhere)],
            // Both at FC-1.
            [Some(ToEnd), Some(FromEnd)],
            [Some(At(Name::new("OU 1"))), Some(OutdoorEnd)],
        ] {
            meets(&BUS_SHIELD_GROUNDS, &grounded(right));
        }
        for wrong in [
            [Some(FromEnd), Some(FromEnd)],
            [Some(BothEnds), Some(Nowhere)],
            [Some(Nowhere), Some(Nowhere)],
            [Some(OutdoorEnd), Some(ToEnd)],
        ] {
            finds(&BUS_SHIELD_GROUNDS, &grounded(wrong), &[Fix]);
        }
        finds(&BUS_SHIELD_GROUNDS, &grounded([None, None]), &[Verify]);
        finds(
            &BUS_SHIELD_GROUNDS,
            &grounded([Some(Nowhere), None]),
            &[Verify],
        );
        let no_column = chain(|_, run, cells| run.shielded = cells.given(true));
        finds(&BUS_SHIELD_GROUNDS, &no_column, &[]);
        let mut both_ends = Practice::default();
        both_ends.bus.shield_grounds = 2;
        let ends = grounded([Some(OutdoorEnd), Some(ToEnd)]);
        assert_eq!(severities(&BUS_SHIELD_GROUNDS, &ends, &both_ends), []);
    }
}
