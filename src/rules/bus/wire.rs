//! The wire of each bus run: side, splices, gauge, conductors, strands.

use super::{each_chain, each_run, indoor_side, run_names};
use crate::findings::{Change, Finding, Outcome, Severity, Subject, Value, Want};
use crate::practice::Practice;
use crate::rules::wording::{count, counted};
use crate::rules::{Cite, Family, Rule};
use crate::schedule::wire::{RunPurpose, Size, TerminalSide};
use crate::schedule::{CellId, Field, FieldName, Run, RunEnd, RunId, Schedule, UnitKind};

fn of_bus(schedule: &Schedule) -> impl Fn(&Run) -> bool + use<'_> {
    |run| indoor_side(schedule, run)
}

pub(super) static BUS_WRONG_SIDE: Rule = Rule {
    name: "bus-wrong-side",
    family: Family::Bus,
    severities: &[Severity::Fix],
    summary: "a run lands on the wrong pair of communication terminals",
    why: "An outdoor unit has one pair of terminals for its own indoor units and another for \
          other outdoor units and central control. They are not interchangeable.",
    decides: "The stated side of a run against what it joins: a run of the indoor chain stated \
              on the central side, or a run among outdoor units or to central control stated on \
              the indoor side.",
    leaves: "Runs whose side is not stated.",
    cites: &[Cite::Practice, Cite::Manual],
    yields_to: &["bus-crosses-systems", "unknown-tag"],
    check: bus_wrong_side,
};

fn bus_wrong_side(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let relevant = |run: &Run| matches!(run.serves, RunPurpose::Bus | RunPurpose::Central);
    each_run(
        schedule,
        FieldName::RunSide,
        relevant,
        |run| &run.side,
        |id, run, &side, at| {
            if !joins_known_units(schedule, run) {
                let wants = vec![Want::Fact("what the run joins")];
                return Outcome::not_checked(Subject::Run(id), at, wants);
            }
            let right = if indoor_side(schedule, run) {
                TerminalSide::Indoor
            } else {
                TerminalSide::Central
            };
            if side == right {
                return Outcome::met(Subject::Run(id), at);
            }
            let label = schedule.run_label(id);
            let joins = match right {
                TerminalSide::Indoor => "is part of the indoor chain",
                TerminalSide::Central => "goes to another outdoor unit or to central control",
            };
            let says = format!("The run {label} {joins}, and is stated on the {side}.");
            let remedy = format!("Land the run {label} on the terminals of the {right}.");
            let finding = Finding::fix(says, side.to_string(), remedy)
                .field(FieldName::RunSide)
                .limit(right.to_string(), joins)
                .change(Change {
                    at,
                    field: FieldName::RunSide,
                    was: schedule.sources.text(at).to_owned(),
                    proposed: match right {
                        TerminalSide::Indoor => "indoor".into(),
                        TerminalSide::Central => "central".into(),
                    },
                });
            Outcome::broken(Subject::Run(id), at, finding)
        },
    )
}

/// A run of the chain's side is only known to be one where both its ends are
/// units of the chain; central control is taken from the purpose.
fn joins_known_units(schedule: &Schedule, run: &Run) -> bool {
    let known = |end: &RunEnd| {
        let unit = match end {
            RunEnd::Unit(unit) => Some(unit),
            RunEnd::Mark(units) => units.first(),
            _ => None,
        };
        unit.and_then(|unit| schedule.unit(*unit).kind())
            .is_some_and(|kind| kind != UnitKind::Other)
    };
    run.serves == RunPurpose::Central || known(&run.from_end) && known(&run.to_end)
}

pub(super) static BUS_SPLICE: Rule = Rule {
    name: "bus-splice",
    family: Family::Bus,
    severities: &[Severity::Verify],
    summary: "a splice in a bus run",
    why: "A splice is where a bus fails first, and a place for a branch that nobody draws.",
    decides: "A run whose row counts one splice or more. An empty cell of that column says that \
              there is none.",
    leaves: "Schedules without a column of splices.",
    cites: &[Cite::Practice],
    yields_to: &[],
    check: bus_splice,
};

fn bus_splice(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let outcomes = each_run(
        schedule,
        FieldName::RunSplices,
        of_bus(schedule),
        |run| &run.splices,
        |id, _, &splices, at| {
            if splices == 0 {
                return Outcome::met(Subject::Run(id), at);
            }
            let label = schedule.run_label(id);
            let says = format!(
                "The run {label} has {} in it; a bus run has none.",
                count(splices as usize, "splice", "splices")
            );
            let remedy = format!("Pull {label} in one piece, or say why it is spliced and how.");
            let found = counted(splices as usize, "splice", "splices");
            let finding = Finding::verify(says, found, remedy)
                .field(FieldName::RunSplices)
                .limit(Value::Count(0, "splices"), "one piece from unit to unit");
            Outcome::broken(Subject::Run(id), at, finding)
        },
    );
    outcomes
        .into_iter()
        .map(|outcome| match outcome.subject {
            Subject::Run(id) if matches!(schedule.run(id).splices, Field::Blank(Some(_))) => {
                Outcome::met(outcome.subject, outcome.at)
            }
            _ => outcome,
        })
        .collect()
}

pub(super) static BUS_GAUGE: Rule = Rule {
    name: "bus-gauge",
    family: Family::Bus,
    severities: &[Severity::Verify],
    summary: "bus wire of an unusual gauge, or of several gauges along one chain",
    why: "Thinner wire drops the bus's voltage, thicker wire does not fit small terminals, and \
          a change of gauge along the chain is usually a slip.",
    decides: "Each run's gauge against the practice profile's range; and, of runs within it, \
              whether one chain has more than one gauge: the less frequent is named.",
    leaves: "Metric sizes are read as the gauge that the trade takes for them.",
    cites: &[Cite::Practice, Cite::Manual],
    yields_to: &[],
    check: bus_gauge,
};

fn bus_gauge(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    let (least, most) = (practice.bus.smallest_gauge, practice.bus.largest_gauge);
    let within = |size: &Size| *size >= least && *size <= most;
    let mut outcomes = each_run(
        schedule,
        FieldName::RunGauge,
        of_bus(schedule),
        |run| &run.gauge,
        |id, _, &gauge, at| {
            if within(&gauge) {
                return Outcome::met(Subject::Run(id), at);
            }
            let label = schedule.run_label(id);
            let side = if gauge < least { "thinner" } else { "thicker" };
            let says = format!(
                "The run {label} is of {gauge}, {side} than the {least} to {most} of bus wire \
                 (practice profile)."
            );
            let remedy =
                format!("Use {least} wire for {label}, or show that its manual allows {gauge}.");
            let finding = Finding::verify(says, gauge, remedy)
                .field(FieldName::RunGauge)
                .limit(format!("{least} to {most}"), "practice profile")
                .profile("bus.gauge");
            Outcome::broken(Subject::Run(id), at, finding)
        },
    );
    if schedule.runs.iter().any(|run| run.gauge.is_given()) {
        outcomes.extend(each_chain(schedule, |bus| {
            let mut runs_of: Vec<(Size, Vec<RunId>)> = Vec::new();
            for &id in &bus.runs {
                let Some(gauge) = bus.run(id).gauge.copied().filter(&within) else {
                    continue;
                };
                match runs_of.iter_mut().find(|(size, _)| *size == gauge) {
                    Some((_, runs)) => runs.push(id),
                    None => runs_of.push((gauge, vec![id])),
                }
            }
            // Most frequent first; among equals the one met first.
            runs_of.sort_by_key(|(_, runs)| std::cmp::Reverse(runs.len()));
            mixed(schedule, bus.id, &runs_of)
        }));
    }
    outcomes
}

fn mixed(
    schedule: &Schedule,
    system: crate::schedule::SystemId,
    runs_of: &[(Size, Vec<RunId>)],
) -> Vec<Outcome> {
    let subject = Subject::System(system);
    let ([(usual, many), rest @ ..], Some(first)) = (
        runs_of,
        runs_of.get(1).and_then(|(_, runs)| runs.first()).copied(),
    ) else {
        return Vec::new();
    };
    let others: Vec<RunId> = rest.iter().flat_map(|(_, runs)| runs).copied().collect();
    let cell = |id: &RunId| -> CellId {
        let run = schedule.run(*id);
        run.gauge.at().unwrap_or(run.at)
    };
    let sizes: Vec<String> = rest.iter().map(|(size, _)| size.to_string()).collect();
    let says = format!(
        "The chain of system {} is of {usual} in {} runs and of {} in {}: {}.",
        schedule.system_label(system),
        many.len(),
        sizes.join(", "),
        others.len(),
        run_names(schedule, others.iter().copied())
    );
    let finding = Finding::verify(
        says,
        sizes.join(", "),
        format!("Use {usual} along the whole chain, or say why the gauge changes."),
    )
    .field(FieldName::RunGauge)
    .limit(*usual, "the gauge of most of its runs");
    vec![Outcome::broken(subject, cell(&first), finding).related_all(others[1..].iter().map(cell))]
}

pub(super) static BUS_CONDUCTOR_COUNT: Rule = Rule {
    name: "bus-conductor-count",
    family: Family::Bus,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "bus wire with fewer or more than two conductors",
    why: "The bus is one pair. A single conductor does not carry it; spare conductors beside it \
          invite a second circuit into the cable.",
    decides: "The number of conductors of each run: below two is wrong, above two is asked \
              about.",
    leaves: "Runs whose number of conductors is not stated.",
    cites: &[Cite::Practice],
    yields_to: &[],
    check: bus_conductor_count,
};

fn bus_conductor_count(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    let right = practice.bus.conductors;
    each_run(
        schedule,
        FieldName::RunConductors,
        of_bus(schedule),
        |run| &run.conductors,
        |id, _, &conductors, at| {
            if conductors == right {
                return Outcome::met(Subject::Run(id), at);
            }
            let label = schedule.run_label(id);
            let (severity, remedy) = if conductors < right {
                let remedy = format!("Use a cable of {right} conductors for {label}.");
                (Severity::Fix, remedy)
            } else {
                let remedy = format!(
                    "Use a cable of {right} conductors for {label}, or say what the others are \
                     for and how their ends are left."
                );
                (Severity::Verify, remedy)
            };
            let says = format!(
                "The run {label} has {}; the bus is one pair of {right}.",
                count(usize::from(conductors), "conductor", "conductors")
            );
            let found = counted(usize::from(conductors), "conductor", "conductors");
            let finding = Finding::new(severity, says, found, remedy)
                .field(FieldName::RunConductors)
                .limit(
                    counted(usize::from(right), "conductor", "conductors"),
                    "one pair",
                )
                .profile("bus.conductors");
            Outcome::broken(Subject::Run(id), at, finding)
        },
    )
}

pub(super) static BUS_SOLID_WIRE: Rule = Rule {
    name: "bus-solid-wire",
    family: Family::Bus,
    severities: &[Severity::Verify],
    summary: "solid bus wire where stranded is the reliable choice",
    why: "Solid wire works loose and breaks in small terminals; one loose end takes the whole \
          system down.",
    decides: "A run stated as solid.",
    leaves: "Runs that do not say.",
    cites: &[Cite::Practice],
    yields_to: &[],
    check: bus_solid_wire,
};

fn bus_solid_wire(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    each_run(
        schedule,
        FieldName::RunStranding,
        of_bus(schedule),
        |run| &run.stranded,
        |id, _, &stranded, at| {
            if stranded || !practice.bus.stranded {
                return Outcome::met(Subject::Run(id), at);
            }
            let label = schedule.run_label(id);
            let finding = Finding::verify(
                format!("The run {label} is of solid wire; bus wire is commonly stranded."),
                "solid",
                format!("Use stranded wire for {label}, or show that its manual allows solid."),
            )
            .field(FieldName::RunStranding)
            .limit("stranded", "common practice")
            .profile("bus.stranded");
            Outcome::broken(Subject::Run(id), at, finding)
        },
    )
}

#[cfg(test)]
mod tests {
    use super::super::example::{chain, units};
    use super::*;
    use crate::rules::testing::{finds, meets};
    use Severity::{Fix, Verify};

    #[test]
    fn a_side_has_to_fit_what_the_run_joins() {
        let side = |side| chain(move |_, run, cells| run.side = cells.given(side));
        meets(&BUS_WRONG_SIDE, &side(TerminalSide::Indoor));
        finds(&BUS_WRONG_SIDE, &side(TerminalSide::Central), &[Fix, Fix]);
        let modules = |side| {
            let mut fixture = units(0);
            fixture
                .unit("OU-2", crate::schedule::UnitKind::Outdoor, |_, _| {})
                .run("OU-1", "OU-2", |run, cells| run.side = cells.given(side));
            fixture.build()
        };
        meets(&BUS_WRONG_SIDE, &modules(TerminalSide::Central));
        finds(&BUS_WRONG_SIDE, &modules(TerminalSide::Indoor), &[Fix]);
        finds(&BUS_WRONG_SIDE, &chain(|_, _, _| {}), &[]);
    }

    #[test]
    fn splices_are_asked_about_and_an_empty_cell_has_none() {
        let of = |second: Option<u32>| {
            chain(move |n, run, cells| {
                run.splices = match (n, second) {
                    (0, _) => cells.given(0),
                    (_, Some(splices)) => cells.given(splices),
                    _ => cells.blank(),
                }
            })
        };
        meets(&BUS_SPLICE, &of(None));
        meets(&BUS_SPLICE, &of(Some(0)));
        finds(&BUS_SPLICE, &of(Some(1)), &[Verify]);
    }

    #[test]
    fn gauges_from_18_to_16_pass_and_a_mixture_is_asked_about() {
        // 18 and 16 AWG: common practice, no source.
        let of = |gauges: [i8; 2]| {
            chain(move |n, run, cells| run.gauge = cells.given(Size::Awg(gauges[n])))
        };
        meets(&BUS_GAUGE, &of([18, 18]));
        meets(&BUS_GAUGE, &of([16, 16]));
        finds(&BUS_GAUGE, &of([20, 18]), &[Verify]);
        finds(&BUS_GAUGE, &of([14, 16]), &[Verify]);
        finds(&BUS_GAUGE, &of([16, 18]), &[Verify]);
    }

    #[test]
    fn a_bus_is_one_pair_of_stranded_wire() {
        let of = |count| chain(move |_, run, cells| run.conductors = cells.given(count));
        meets(&BUS_CONDUCTOR_COUNT, &of(2));
        finds(&BUS_CONDUCTOR_COUNT, &of(1), &[Fix, Fix]);
        finds(&BUS_CONDUCTOR_COUNT, &of(3), &[Verify, Verify]);
        let strands =
            |stranded| chain(move |n, run, cells| run.stranded = cells.given(n == 0 || stranded));
        meets(&BUS_SOLID_WIRE, &strands(true));
        finds(&BUS_SOLID_WIRE, &strands(false), &[Verify]);
        finds(&BUS_SOLID_WIRE, &chain(|_, _, _| {}), &[]);
    }
}
