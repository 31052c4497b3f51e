//! Rows and tables that mean the same circuit or panel and differ.

use crate::findings::{Finding, Outcome, Severity, Subject, Value};
use crate::practice::Practice;
use crate::rules::{Cite, Family, Rule};
use crate::schedule::{Conflict, Fault, FieldName, PanelId, Schedule};
use std::collections::BTreeSet;

pub(super) static CIRCUIT_DISAGREES: Rule = Rule {
    name: "circuit-disagrees",
    family: Family::Reading,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "rows or tables that mean the same circuit or panel say different things",
    why: "One of the two is built. An electrician works from the panel schedule, a purchaser \
          from the equipment's rows, and both are right by their own sheet.",
    decides: "Rows of one panel and slots, or of one circuit name, are one circuit; where both \
              state a breaker, poles, a conductor, or which unit is on it, and differ, one is \
              wrong. So is one of two rows of a panel that differ. A difference in anything \
              else is asked about.",
    leaves: "The lengths, fuses and ambient temperatures that several units on one circuit each \
             state for themselves.",
    cites: &[Cite::Schedule],
    yields_to: &[],
    check: circuit_disagrees,
};

fn circuit_disagrees(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let found: Vec<Outcome> = schedule
        .faults
        .iter()
        .filter_map(|fault| disagreement(schedule, fault))
        .collect();
    let at_fault: BTreeSet<Subject> = found.iter().map(|outcome| outcome.subject).collect();
    let circuits = schedule
        .circuit_ids()
        .map(|(id, circuit)| (Subject::Circuit(id), circuit.at));
    let panels = schedule
        .panels
        .iter()
        .enumerate()
        .map(|(index, panel)| (Subject::Panel(PanelId(index as u32)), panel.name.at));
    let mut outcomes: Vec<Outcome> = circuits
        .chain(panels)
        .filter(|(subject, _)| !at_fault.contains(subject))
        .map(|(subject, at)| Outcome::met(subject, at))
        .collect();
    outcomes.extend(found);
    outcomes
}

fn disagreement(schedule: &Schedule, fault: &Fault) -> Option<Outcome> {
    let Fault::Disagrees {
        what,
        field,
        at,
        says,
        other,
        other_says,
    } = fault
    else {
        return None;
    };
    let (subject, label, decided) = match *what {
        Conflict::Circuit(id) => {
            let each_its_own = matches!(
                field,
                FieldName::CircuitFuse | FieldName::CircuitAmbient | FieldName::CircuitLength
            );
            if each_its_own && schedule.circuit(id).units().len() > 1 {
                return None;
            }
            let decided = matches!(
                field,
                FieldName::CircuitBreaker
                    | FieldName::CircuitPoles
                    | FieldName::CircuitConductor
                    | FieldName::CircuitLoads
            );
            (Subject::Circuit(id), schedule.circuit_label(id), decided)
        }
        Conflict::Panel(id) => {
            let label = format!("panel {}", schedule.panel_label(id));
            let decided = *field != FieldName::PanelFedFrom;
            (Subject::Panel(id), label, decided)
        }
        Conflict::Unit(_) | Conflict::Controller(_) => return None,
    };
    let severity = if decided {
        Severity::Fix
    } else {
        Severity::Verify
    };
    let address = schedule.sources.address((*other).into());
    let place = [address.sheet, address.cell].join(" ");
    let text = format!(
        "{label} is told twice and differs in {field}: “{says}” here, “{other_says}” in {}.",
        place.trim()
    );
    let remedy = format!("Decide which {field} of {label} holds, and correct the other cell.");
    let finding = Finding::new(severity, text, says.as_str(), remedy)
        .field(*field)
        .limit(Value::Text(other_says.clone()), "the other row");
    Some(Outcome::broken(subject, *at, finding).related(*other))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::testing::{finds, meets};
    use crate::schedule::fixture::{Cells, Fixture};
    use crate::schedule::wire::{Conductor, Size};
    use crate::schedule::{Amps, Circuit, PanelSupply, UnitKind, Volts};
    use Severity::{Fix, Verify};

    fn told_twice(fill: impl Fn(usize, &mut Circuit, &mut Cells)) -> Schedule {
        let mut fixture = Fixture::new();
        fixture.unit("OU-1", UnitKind::Outdoor, |_, _| {});
        for n in 0..2 {
            fixture.circuit("LP", &[1, 3], &["OU-1"], |c, cells| fill(n, c, cells));
        }
        fixture.build()
    }

    #[test]
    fn each_field_that_decides_can_conflict_alone() {
        meets(
            &CIRCUIT_DISAGREES,
            &told_twice(|_, c, cells| c.breaker = cells.amps(30.0)),
        );
        let breaker = told_twice(|n, c, cells| c.breaker = cells.amps([30.0, 35.0][n]));
        finds(&CIRCUIT_DISAGREES, &breaker, &[Fix]);
        let poles = told_twice(|n, c, cells| c.poles = cells.given([2, 3][n]));
        finds(&CIRCUIT_DISAGREES, &poles, &[Fix]);
        let conductor = told_twice(|n, c, cells| {
            c.conductor = cells.given(Conductor {
                size: Some(Size::Awg([10, 12][n])),
                sets: 1,
                ..Conductor::default()
            });
        });
        finds(&CIRCUIT_DISAGREES, &conductor, &[Fix]);
        let ambient = told_twice(|n, c, cells| {
            c.ambient = cells.given(crate::schedule::Celsius([30.0, 40.0][n]));
        });
        finds(&CIRCUIT_DISAGREES, &ambient, &[Verify]);
    }

    #[test]
    fn fuses_of_several_units_on_one_circuit_are_each_units_own() {
        let mut fixture = Fixture::new();
        for (n, tag) in ["FC-1", "FC-2"].into_iter().enumerate() {
            fixture.unit(tag, UnitKind::Indoor, |_, _| {});
            fixture.circuit("LP", &[1, 3], &[tag], |c, cells| {
                c.fuse = cells.amps([6.0, 10.0][n]);
            });
        }
        meets(&CIRCUIT_DISAGREES, &fixture.build());
    }

    #[test]
    fn a_panel_told_twice_must_agree() {
        let of = |main: [f64; 2]| {
            let mut fixture = Fixture::new();
            for main in main {
                fixture.panel("LP", |panel, cells| {
                    panel.main = cells.given(Amps(main));
                    panel.supply = cells.given(PanelSupply {
                        line_to_line: Volts(208.0),
                        line_to_neutral: Some(Volts(120.0)),
                        phases: Some(3),
                    });
                });
            }
            fixture.build()
        };
        meets(&CIRCUIT_DISAGREES, &of([100.0, 100.0]));
        finds(&CIRCUIT_DISAGREES, &of([100.0, 125.0]), &[Fix]);
    }
}
