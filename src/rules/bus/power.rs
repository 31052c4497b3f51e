//! Low-voltage wire beside line voltage.

use super::{each_run, indoor_side};
use crate::findings::{Finding, Outcome, Severity, Subject};
use crate::practice::Practice;
use crate::rules::{Cite, Family, Rule};
use crate::schedule::wire::Routing;
use crate::schedule::{FieldName, Schedule};
use crate::tables::Topic;

pub(super) static LOW_VOLTAGE_WITH_POWER: Rule = Rule {
    name: "low-voltage-with-power",
    family: Family::Bus,
    severities: &[Severity::Fix],
    summary: "low-voltage wire in one raceway, cable or box with line voltage",
    why: "Class 2 wiring and power in one raceway, cable, box or enclosure without a barrier is \
          against the code: a fault puts line voltage on the bus and on every thermostat.",
    decides: "Any low-voltage run (bus, controller, interlock, central) routed in the same \
              raceway, cable or enclosure as line voltage with no barrier, shielded or not: a \
              shield does not make it right.",
    leaves: "Runs whose routing is not stated; the entry of both into a unit's own enclosure.",
    cites: &[Cite::Code(Topic::Class2Separation)],
    yields_to: &[],
    check: low_voltage_with_power,
};

fn low_voltage_with_power(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    each_run(
        schedule,
        FieldName::RunRouting,
        |_| true,
        |run| &run.routing,
        |id, run, &routing, at| {
            if routing != Routing::SameRaceway {
                return Outcome::met(Subject::Run(id), at);
            }
            let label = schedule.run_label(id);
            let shield = if run.shielded.copied() == Some(true) {
                " Its shield does not make it right."
            } else {
                ""
            };
            let says = format!(
                "The {} run {label} lies {routing}, without a barrier.{shield}",
                run.serves
            );
            let remedy = format!("Lead {label} in a raceway of its own, or behind a barrier.");
            let finding = Finding::fix(says, routing.to_string(), remedy)
                .field(FieldName::RunRouting)
                .limit("apart, or behind a barrier", "Class 2 wiring and power");
            Outcome::broken(Subject::Run(id), at, finding)
        },
    )
}

pub(super) static BUS_NEAR_POWER_UNSHIELDED: Rule = Rule {
    name: "bus-near-power-unshielded",
    family: Family::Bus,
    severities: &[Severity::Fix],
    summary: "bus wire without a shield tied to or parallel with line voltage",
    why: "Line voltage beside the bus induces noise on it: communication errors that come with \
          the load and that nobody finds. Where the two must run together a shield is called \
          for.",
    decides: "A bus run stated as tied to or parallel with line voltage, and stated as not \
              shielded.",
    leaves: "Crossings; runs whose shield or routing is not stated; whether it may be tied at \
             all is the local code's question.",
    cites: &[Cite::Practice, Cite::Manual],
    yields_to: &[],
    check: bus_near_power_unshielded,
};

fn bus_near_power_unshielded(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    each_run(
        schedule,
        FieldName::RunRouting,
        |run| indoor_side(schedule, run),
        |run| &run.routing,
        |id, run, &routing, at| {
            let subject = Subject::Run(id);
            if !matches!(routing, Routing::Tied | Routing::Parallel) {
                return Outcome::met(subject, at);
            }
            match run.shielded.copied() {
                Some(true) => Outcome::met(subject, at),
                None => Outcome::wants(
                    subject,
                    schedule.anchor(&run.shielded, run.at),
                    FieldName::RunShield,
                ),
                Some(false) => {
                    let label = schedule.run_label(id);
                    let finding = Finding::fix(
                        format!("The bus run {label} lies {routing} and has no shield."),
                        "not shielded",
                        format!(
                            "Keep {label} apart from line voltage, or use shielded wire for the \
                             whole chain."
                        ),
                    )
                    .field(FieldName::RunShield)
                    .limit("shielded, or apart", routing.to_string());
                    let at = run.shielded.at().unwrap_or(at);
                    Outcome::broken(subject, at, finding).related_all(run.routing.at())
                }
            }
        },
    )
}

#[cfg(test)]
mod tests {
    use super::super::example::{chain, units};
    use super::*;
    use crate::rules::testing::{finds, meets};
    use Severity::Fix;

    fn of(routing: Routing, shielded: Option<bool>) -> Schedule {
        chain(move |_, run, cells| {
            run.routing = cells.given(routing);
            run.shielded = match shielded {
                Some(shielded) => cells.given(shielded),
                None => cells.blank(),
            };
        })
    }

    #[test]
    fn a_shield_does_not_excuse_one_raceway() {
        for shielded in [Some(true), Some(false), None] {
            let schedule = of(Routing::SameRaceway, shielded);
            finds(&LOW_VOLTAGE_WITH_POWER, &schedule, &[Fix, Fix]);
        }
        for routing in [
            Routing::SameRacewayWithBarrier,
            Routing::Tied,
            Routing::Parallel,
            Routing::Crossing,
            Routing::Apart,
        ] {
            meets(&LOW_VOLTAGE_WITH_POWER, &of(routing, Some(false)));
        }
        let mut fixture = units(1);
        fixture
            .controller("T-1", &["FC-1"], |_, _| {})
            .run("T-1", "FC-1", |run, cells| {
                run.routing = cells.given(Routing::SameRaceway);
            });
        finds(&LOW_VOLTAGE_WITH_POWER, &fixture.build(), &[Fix]);
    }

    #[test]
    fn beside_power_a_stated_lack_of_shield_is_wrong() {
        for routing in [Routing::Tied, Routing::Parallel] {
            let bare = of(routing, Some(false));
            finds(&BUS_NEAR_POWER_UNSHIELDED, &bare, &[Fix, Fix]);
            meets(&BUS_NEAR_POWER_UNSHIELDED, &of(routing, Some(true)));
            finds(&BUS_NEAR_POWER_UNSHIELDED, &of(routing, None), &[]);
        }
        for routing in [Routing::Crossing, Routing::Apart] {
            meets(&BUS_NEAR_POWER_UNSHIELDED, &of(routing, Some(false)));
        }
    }
}
