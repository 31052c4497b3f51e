//! The length of a system's bus against its budget.

use super::layout::SystemBus;
use super::{each_chain, run_names, system_place, tables_of};
use crate::findings::{Finding, Outcome, Severity, Step, Subject, Value, Want};
use crate::practice::Practice;
use crate::rules::wording::{count, counted};
use crate::rules::{Cite, Family, Rule};
use crate::schedule::wire::Routing;
use crate::schedule::{CellId, Feet, Field, FieldName, Place, Quantity, RunId, Schedule};

/// What is known of the length of one system's bus.
struct Lengths {
    total: Feet,
    missing: Vec<RunId>,
    /// `3 runs of 120 ft in all`.
    how: String,
}

/// The limit that holds for one system, and whose it is.
#[derive(Clone)]
struct Budget {
    feet: Feet,
    whose: String,
    key: Option<&'static str>,
    at: Option<CellId>,
    /// The cells that leave it open whether this limit holds, and the lower
    /// one that would.
    open: Option<(FieldName, Feet)>,
}

impl Budget {
    /// What has to be known before so long a bus may be called right.
    fn wanted(&self, total: Feet) -> Option<FieldName> {
        let (field, least) = self.open?;
        total.exceeds(least).then_some(field)
    }

    /// The outdoor unit's row has a limit of its own that cannot be read: ours
    /// proves nothing.
    fn unproven(&self) -> bool {
        matches!(self.open, Some((FieldName::UnitBusLimit, _)))
    }
}

fn lengths(bus: &SystemBus<'_>) -> Lengths {
    let (mut total, mut known, mut missing) = (Feet(0.0), 0, Vec::new());
    for &id in &bus.runs {
        match bus.run(id).length.copied() {
            Some(length) => {
                total = total + length;
                known += 1;
            }
            None => missing.push(id),
        }
    }
    let mut how = format!("sum of {}", count(known, "run", "runs"));
    if !missing.is_empty() {
        how.push_str(&format!(
            "; {} without a length not counted",
            count(missing.len(), "run", "runs")
        ));
    }
    Lengths {
        total,
        missing,
        how,
    }
}

fn shielded(bus: &SystemBus<'_>) -> Vec<RunId> {
    bus.runs_with(|run| &run.shielded, &true)
}

fn budget(schedule: &Schedule, bus: &SystemBus<'_>, practice: &Practice) -> Budget {
    let outdoor = schedule.system(bus.id).outdoor;
    if let Some(unit) = outdoor
        && let Field::Given(own) = &schedule.unit(unit).bus_limit
    {
        return Budget {
            feet: own.value,
            whose: format!("the row of {} says so", schedule.unit_label(unit)),
            key: None,
            at: Some(own.at),
            open: None,
        };
    }
    let own = outdoor.map(|unit| &schedule.unit(unit).bus_limit);
    let own_open = matches!(own, Some(Field::Unknown(_) | Field::Unreadable(_)));
    let untold = bus.runs.iter().any(|&id| !bus.run(id).shielded.is_given());
    let (feet, whose, key) = if shielded(bus).is_empty() {
        let whose = "practice profile, wire without a shield";
        (practice.bus.budget, whose, "bus.budget")
    } else {
        let whose = "practice profile, shielded wire";
        (practice.bus.budget_shielded, whose, "bus.budget_shielded")
    };
    let open = if own_open {
        Some((FieldName::UnitBusLimit, Feet(0.0)))
    } else if untold && practice.bus.budget_shielded.below(feet) {
        Some((FieldName::RunShield, practice.bus.budget_shielded))
    } else {
        None
    };
    Budget {
        feet,
        whose: whose.into(),
        key: Some(key),
        at: None,
        open,
    }
}

fn steps(lengths: &Lengths, budget: &Budget) -> [Step; 2] {
    let step = |what, value, how: &str| Step {
        what,
        value: Value::Feet(value),
        how: how.to_owned(),
        source: String::new(),
    };
    [
        step("total", lengths.total, &lengths.how),
        step("budget", budget.feet, &budget.whose),
    ]
}

pub(super) static BUS_OVER_LENGTH: Rule = Rule {
    name: "bus-over-length",
    family: Family::Bus,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "the runs of one system are longer in all than its bus allows",
    why: "Beyond its budget of wire the bus loses messages: errors that come and go and that \
          nobody finds.",
    decides: "Adds the known lengths of the system's indoor-side runs and compares them with the \
              limit in the outdoor unit's row, else with the practice profile's, which is lower \
              where any run is shielded. Missing lengths count nothing: what is known already \
              breaks the limit. It is said where the wire would do without its shield. A limit of \
              the row that cannot be read leaves it a question; so does, between the two limits \
              of the profile, a run that does not say whether it is shielded.",
    leaves: "Runs among outdoor units and to central control, crossing and repeated runs and \
             runs to unknown tags.",
    cites: &[Cite::Manual, Cite::Practice],
    yields_to: &[],
    check: bus_over_length,
};

fn bus_over_length(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    each_chain(schedule, |bus| {
        let subject = Subject::System(bus.id);
        let (lengths, budget) = (lengths(bus), budget(schedule, bus, practice));
        let at = system_place(schedule, bus.id);
        let outcome = if lengths.total.exceeds(budget.feet) {
            let at = passing_cell(bus, budget.feet).map_or(at, Into::into);
            let finding = over(schedule, bus, practice, &lengths, &budget);
            Outcome::broken(subject, at, finding).related_all(budget.at)
        } else if !lengths.missing.is_empty() {
            Outcome::wants(subject, at, FieldName::RunLength)
        } else if let Some(field) = budget.wanted(lengths.total) {
            Outcome::wants(subject, at, field)
        } else {
            Outcome::met(subject, at)
        };
        vec![outcome.steps(steps(&lengths, &budget))]
    })
}

/// The length cell of the run with which the budget is passed.
fn passing_cell(bus: &SystemBus<'_>, budget: Feet) -> Option<CellId> {
    let mut total = Feet(0.0);
    bus.runs.iter().find_map(|&id| {
        let run = bus.run(id);
        total = total + run.length.copied().unwrap_or(Feet(0.0));
        total.exceeds(budget).then(|| run.length.at()).flatten()
    })
}

fn over(
    schedule: &Schedule,
    bus: &SystemBus<'_>,
    practice: &Practice,
    lengths: &Lengths,
    budget: &Budget,
) -> Finding {
    let system = schedule.system_label(bus.id);
    let mut says = format!(
        "The bus of system {system} is {} long ({}), {} above the {} that it may have ({}).",
        lengths.total,
        lengths.how,
        lengths.total - budget.feet,
        budget.feet,
        budget.whose
    );
    let mut remedy = format!(
        "Shorten the chain of system {system} by {}, or divide the system.",
        lengths.total - budget.feet
    );
    let by_shield_alone =
        budget.key == Some("bus.budget_shielded") && !lengths.total.exceeds(practice.bus.budget);
    if by_shield_alone {
        says.push_str(&format!(
            " Without a shield it may have {}.",
            practice.bus.budget
        ));
        let apart = bus
            .runs
            .iter()
            .all(|id| bus.run(*id).routing.copied() == Some(Routing::Apart));
        if apart {
            says.push_str(" All its runs are kept apart from line voltage: no shield is needed.");
            remedy = format!("Use wire without a shield for the whole chain of system {system}.");
        }
    }
    let severity = if budget.unproven() {
        says.push_str(" The outdoor unit's own limit cannot be read.");
        remedy = "Give the bus limit of the outdoor unit in its row.".to_owned();
        Severity::Verify
    } else {
        Severity::Fix
    };
    let mut finding = Finding::new(severity, says, lengths.total, remedy)
        .field(FieldName::RunLength)
        .limit(budget.feet, budget.whose.clone());
    finding.profile.extend(budget.key);
    finding
}

pub(super) static BUS_NEAR_LENGTH: Rule = Rule {
    name: "bus-near-length",
    family: Family::Bus,
    severities: &[Severity::Note],
    summary: "the bus of a system is close to its budget of wire",
    why: "Scheduled lengths grow on site: a chain that is planned close to its limit is over it \
          once it is pulled.",
    decides: "The sum of bus-over-length above the practice profile's share of the limit, and \
              not above the limit.",
    leaves: "What bus-over-length leaves.",
    cites: &[Cite::Practice],
    yields_to: &["bus-over-length"],
    check: bus_near_length,
};

fn bus_near_length(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    each_chain(schedule, |bus| {
        let subject = Subject::System(bus.id);
        let at = system_place(schedule, bus.id);
        let (lengths, budget) = (lengths(bus), budget(schedule, bus, practice));
        let near = budget.feet * (practice.bus.near.0 / 100.0);
        if lengths.total.exceeds(budget.feet) {
            let wants = vec![Want::WaitsFor("bus-over-length")];
            return vec![Outcome::not_checked(subject, at, wants)];
        }
        if !lengths.total.exceeds(near) {
            let share = practice.bus.near.0 / 100.0;
            let wanted = budget.wanted(lengths.total * (1.0 / share.max(1e-9)));
            return vec![match wanted {
                _ if !lengths.missing.is_empty() => {
                    Outcome::wants(subject, at, FieldName::RunLength)
                }
                Some(field) => Outcome::wants(subject, at, field),
                None => Outcome::met(subject, at),
            }];
        }
        let how = format!("{} of {}, {}", practice.bus.near, budget.feet, budget.whose);
        let says = format!(
            "The bus of system {} is {} long ({}), more than {} of the {} that it may have ({}).",
            schedule.system_label(bus.id),
            lengths.total,
            lengths.how,
            practice.bus.near,
            budget.feet,
            budget.whose
        );
        let remedy = "Measure the longest runs before wire is pulled, and keep the chain short.";
        let mut finding = Finding::note(says, lengths.total, remedy)
            .field(FieldName::RunLength)
            .limit(near, how)
            .profile("bus.near");
        finding.profile.extend(budget.key);
        let at = passing_cell(bus, near).map_or(at, Into::into);
        vec![Outcome::broken(subject, at, finding).related_all(budget.at)]
    })
}

pub(super) static BUS_FARTHEST_OVER_LENGTH: Rule = Rule {
    name: "bus-farthest-over-length",
    family: Family::Bus,
    severities: &[Severity::Fix],
    summary: "a unit is farther from the outdoor unit than the bus allows",
    why: "Some families of equipment limit the way from the outdoor unit to the last unit, \
          whatever the sum of all runs.",
    decides: "Adds the known lengths along the bus from the outdoor unit to each unit; the \
              farthest is held against the practice profile's limit. There is no default.",
    leaves: "Jobs whose profile sets no such limit; runs without a length count nothing.",
    cites: &[Cite::Manual],
    yields_to: &["bus-branches"],
    check: bus_farthest_over_length,
};

fn bus_farthest_over_length(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    let Some(limit) = practice.bus.farthest else {
        let wants = vec![Want::Profile("bus.farthest")];
        return vec![Outcome::not_checked(Subject::Job, Place::Job, wants)];
    };
    each_chain(schedule, |bus| {
        let subject = Subject::System(bus.id);
        let at = system_place(schedule, bus.id);
        if let Some(wants) = bus.unclear() {
            return vec![Outcome::not_checked(subject, at, wants)];
        }
        let Some((node, distance)) = bus.graph.farthest() else {
            return vec![Outcome::met(subject, at)];
        };
        let unit = bus.nodes[node];
        if !distance.exceeds(limit) {
            let known = lengths(bus).missing.is_empty();
            return vec![if known {
                Outcome::met(subject, at)
            } else {
                Outcome::wants(subject, at, FieldName::RunLength)
            }];
        }
        let label = schedule.unit_label(unit);
        let outdoor = schedule.unit_label(bus.nodes[0]);
        let says = format!(
            "Along the bus {label} is {distance} from {outdoor}, {} above the {limit} allowed to \
             the farthest unit (practice profile).",
            distance - limit
        );
        let remedy = format!("Lead the chain so that no unit is farther than {limit} along it.");
        let finding = Finding::fix(says, distance, remedy)
            .field(FieldName::RunLength)
            .limit(limit, "practice profile")
            .profile("bus.farthest");
        vec![Outcome::broken(
            subject,
            schedule.unit(unit).tag.at,
            finding,
        )]
    })
}

pub(super) static BUS_LENGTH_MISSING: Rule = Rule {
    name: "bus-length-missing",
    family: Family::Bus,
    severities: &[Severity::Verify],
    summary: "bus runs without a length: the budget cannot be shown",
    why: "A budget of wire is only kept where every run has a length.",
    decides: "Runs of the chain whose length is empty, not known yet or not readable, once a \
              system. Where no bus run of the job has a length, the rule is not checked.",
    leaves: "Crossing and repeated runs, and runs to unknown tags.",
    cites: &[Cite::Schedule],
    yields_to: &[],
    check: bus_length_missing,
};

fn bus_length_missing(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let runs: Vec<_> = schedule
        .run_ids()
        .filter(|(_, run)| super::indoor_side(schedule, run))
        .collect();
    if !runs.is_empty() && !runs.iter().any(|(_, run)| run.length.is_given()) {
        return tables_of(&runs)
            .map(|table| {
                let at = Place::Table(table);
                Outcome::wants(Subject::Table(table), at, FieldName::RunLength)
            })
            .collect();
    }
    each_chain(schedule, |bus| {
        let subject = Subject::System(bus.id);
        let missing = lengths(bus).missing;
        let Some(&first) = missing.first() else {
            return vec![Outcome::met(subject, system_place(schedule, bus.id))];
        };
        let place = |id: &RunId| schedule.anchor(&bus.run(*id).length, bus.run(*id).at);
        let says = format!(
            "{} of the {} of the bus of system {} without a length: {}.",
            missing.len(),
            count(bus.runs.len(), "run", "runs"),
            schedule.system_label(bus.id),
            run_names(schedule, missing.iter().copied())
        );
        let finding = Finding::verify(
            says,
            counted(
                missing.len(),
                "run without a length",
                "runs without a length",
            ),
            "Give the length of each of these runs.",
        )
        .field(FieldName::RunLength);
        let mut outcome = Outcome::broken(subject, place(&first), finding);
        outcome.related.extend(missing[1..].iter().map(place));
        vec![outcome]
    })
}

#[cfg(test)]
mod tests {
    use super::super::example::{chain, units};
    use super::*;
    use crate::findings::Verdict;
    use crate::rules::testing::{finds, meets, outcomes, severities};
    use Severity::{Fix, Note, Verify};

    fn of(lengths: [Option<f64>; 2], shielded: [bool; 2], own: Option<f64>) -> Schedule {
        let mut fixture = units(2);
        if let Some(own) = own {
            let cell = fixture.draft.units[0].tag.at;
            fixture.draft.units[0].bus_limit = crate::schedule::Field::given(Feet(own), cell);
        }
        for (n, (from, to)) in [("OU-1", "FC-1"), ("FC-1", "FC-2")].into_iter().enumerate() {
            fixture.run(from, to, |run, cells| {
                run.length = match lengths[n] {
                    Some(feet) => cells.given(Feet(feet)),
                    None => cells.blank(),
                };
                run.shielded = cells.given(shielded[n]);
                run.routing = cells.given(Routing::Apart);
            });
        }
        fixture.build()
    }

    #[test]
    fn the_budget_holds_to_the_foot() {
        // 6,000 ft, and 5,000 ft with a shield: common practice, no source.
        let bare = |feet| of([Some(3000.0), Some(feet)], [false, false], None);
        meets(&BUS_OVER_LENGTH, &bare(2999.9));
        meets(&BUS_OVER_LENGTH, &bare(3000.0));
        finds(&BUS_OVER_LENGTH, &bare(3000.1), &[Fix]);
        let shielded = |feet| of([Some(3000.0), Some(feet)], [false, true], None);
        meets(&BUS_OVER_LENGTH, &shielded(2000.0));
        finds(&BUS_OVER_LENGTH, &shielded(2000.1), &[Fix]);
        // The system's own row goes before the profile, either way.
        let own = |feet, limit| of([Some(1000.0), Some(feet)], [true, true], Some(limit));
        finds(&BUS_OVER_LENGTH, &own(1000.1, 2000.0), &[Fix]);
        meets(&BUS_OVER_LENGTH, &own(6000.0, 7000.0));
    }

    #[test]
    fn what_is_known_breaks_the_budget_and_what_is_missing_does_not_meet_it() {
        let over = of([Some(6000.1), None], [false, false], None);
        finds(&BUS_OVER_LENGTH, &over, &[Fix]);
        let under = of([Some(5999.0), None], [false, false], None);
        let found = outcomes(&BUS_OVER_LENGTH, &under);
        assert!(matches!(found[0].verdict, Verdict::NotChecked { .. }));
        assert_eq!(found[0].working[0].value, Value::Feet(Feet(5999.0)));
    }

    #[test]
    fn a_shield_that_is_not_needed_is_said_to_break_the_budget() {
        let schedule = of([Some(3000.0), Some(2500.0)], [true, true], None);
        let found = outcomes(&BUS_OVER_LENGTH, &schedule);
        let finding = found[0].finding().unwrap();
        assert!(
            finding.says.contains("500 ft above the 5,000 ft"),
            "{}",
            finding.says
        );
        assert!(finding.says.contains("no shield is needed"));
        assert_eq!(finding.profile, ["bus.budget_shielded"]);
    }

    #[test]
    fn close_to_the_budget_is_noted() {
        let bare = |feet| of([Some(3000.0), Some(feet)], [false, false], None);
        meets(&BUS_NEAR_LENGTH, &bare(2400.0));
        finds(&BUS_NEAR_LENGTH, &bare(2400.1), &[Note]);
        finds(&BUS_NEAR_LENGTH, &bare(3000.0), &[Note]);
        finds(&BUS_NEAR_LENGTH, &bare(3000.1), &[]);
    }

    #[test]
    fn the_farthest_unit_has_a_limit_only_where_one_is_set() {
        let schedule = |feet| of([Some(1000.0), Some(feet)], [false, false], None);
        finds(&BUS_FARTHEST_OVER_LENGTH, &schedule(9000.0), &[]);
        let mut practice = Practice::default();
        practice.bus.farthest = Some(Feet(1312.0));
        let at = |feet| severities(&BUS_FARTHEST_OVER_LENGTH, &schedule(feet), &practice);
        assert_eq!(at(311.9), []);
        assert_eq!(at(312.0), []);
        assert_eq!(at(312.1), [Fix]);
    }

    #[test]
    fn missing_lengths_are_asked_for_once_a_system() {
        let one = of([Some(40.0), None], [false, false], None);
        finds(&BUS_LENGTH_MISSING, &one, &[Verify]);
        let none = chain(|_, _, _| {});
        finds(&BUS_LENGTH_MISSING, &none, &[]);
        let all = of([Some(40.0), Some(30.0)], [false, false], None);
        meets(&BUS_LENGTH_MISSING, &all);
    }
}
