//! Volts, phases and poles of a circuit against the nameplates on it.

use crate::findings::{Finding, Outcome, Severity, Subject, Want};
use crate::practice::Practice;
use crate::rules::branch::{self, Poles};
use crate::rules::wording::{count, counted};
use crate::rules::{Cite, Family, Rule};
use crate::schedule::{
    Circuit, CircuitId, Field, FieldName, LoadTarget, Part, Place, Schedule, Supply, UnitId,
};
use crate::sizing::supply::{self, VoltsFit};
use crate::tables::Topic;

/// What one unit's nameplate says of its circuit.
enum Says {
    Right,
    Wrong(Severity, Finding),
    Wants(Want),
}

/// Judges each unit of a circuit and speaks once a circuit: the worst, with
/// the tags of all units that it holds for.
fn each(
    schedule: &Schedule,
    place: impl Fn(&Circuit) -> Place,
    judge: impl Fn(CircuitId, &Circuit, UnitId, &Supply) -> Says,
) -> Vec<Outcome> {
    let mut outcomes = Vec::new();
    for (id, circuit) in schedule.circuit_ids() {
        let units: Vec<UnitId> = circuit
            .units()
            .into_iter()
            .filter(|&unit| branch::is_audited(schedule.unit(unit)))
            .filter(|&unit| !heater_only(circuit, unit))
            .collect();
        if units.is_empty() {
            continue;
        }
        let mut wants: Option<Want> = None;
        let mut worst: Option<(Severity, UnitId, Finding)> = None;
        let mut wrong: Vec<UnitId> = Vec::new();
        for &unit_id in &units {
            let unit = schedule.unit(unit_id);
            let said = match &unit.supply {
                Field::Given(found) => judge(id, circuit, unit_id, &found.value),
                blank => Says::Wants(branch::want(blank, FieldName::UnitSupply)),
            };
            match said {
                Says::Right => {}
                Says::Wants(want) => wants = wants.or(Some(want)),
                Says::Wrong(severity, finding) => {
                    wrong.push(unit_id);
                    if worst.as_ref().is_none_or(|(most, ..)| severity > *most) {
                        worst = Some((severity, unit_id, finding));
                    }
                }
            }
        }
        let subject = Subject::Circuit(id);
        let at = place(circuit);
        let outcome = match (worst, wants) {
            (Some((_, first, mut finding)), _) => {
                if wrong.len() > 1 {
                    let tags = branch::tags(schedule, &wrong);
                    finding.says.push_str(&format!(" It holds for {tags}."));
                }
                Outcome::broken(subject, at, finding).related_all(schedule.unit(first).supply.at())
            }
            (None, Some(want)) => Outcome::not_checked(subject, at, vec![want]),
            (None, None) => Outcome::met(subject, at),
        };
        outcomes.push(
            units
                .iter()
                .fold(outcome, |outcome, &unit| outcome.also(Subject::Unit(unit))),
        );
    }
    outcomes
}

/// The circuit feeds nothing of the unit but its heater.
fn heater_only(circuit: &Circuit, unit: UnitId) -> bool {
    circuit
        .loads
        .iter()
        .filter(|load| load.target == LoadTarget::Unit(unit))
        .all(|load| matches!(load.part, Part::Heater(_)))
}

fn poles_place(circuit: &Circuit) -> Place {
    let cell = circuit.poles.at().or(circuit.slots.at());
    Place::Cell(cell.unwrap_or(circuit.at))
}

pub(super) static SUPPLY_VOLTAGE_MISMATCH: Rule = Rule {
    name: "supply-voltage-mismatch",
    family: Family::Supply,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "the supply's volts are outside the nameplate's list",
    why: "A unit on another voltage does not run, or runs hot; it is found when the truck has left.",
    decides: "The nominal volts that the panel gives between the poles that the nameplate needs, \
              or the circuit's own volts, lie in no band of 10 % around a voltage of the \
              nameplate. A lone 230 V on 208 V, or a lone 208 V on 240 V, is a question: schedules \
              often mean both.",
    leaves: "How many poles the circuit has is another rule's. Voltage drop.",
    cites: &[Cite::Nameplate, Cite::Code(Topic::EquipmentMarking)],
    yields_to: &["phase-mismatch"],
    check: voltage,
};

fn voltage(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let place = |circuit: &Circuit| Place::Cell(circuit.supply.at().unwrap_or(circuit.at));
    each(schedule, place, |id, circuit, unit_id, nameplate| {
        let needed = supply::poles_needed(nameplate);
        let poles = needed.or_else(|| branch::poles(circuit).map(|poles| poles.count));
        let given = branch::volts_at(schedule, circuit, poles).or_else(|| {
            let own = branch::poles(circuit).map(|poles| poles.count);
            branch::volts_at(schedule, circuit, own)
        });
        let Some(volts) = given else {
            let want = match poles {
                None => FieldName::CircuitPoles,
                Some(_) if circuit.panel_id.is_some() => FieldName::PanelSupply,
                Some(_) => FieldName::JobSupply,
            };
            return Says::Wants(Want::Field(want));
        };
        let Some(fit) = supply::volts_fit(nameplate, volts.value) else {
            return Says::Wants(Want::Field(FieldName::UnitSupply));
        };
        let tag = &schedule.unit(unit_id).tag.value;
        let label = schedule.circuit_label(id);
        let how = fit
            .steps
            .last()
            .map_or("", |step| step.how.as_str())
            .to_owned();
        let (severity, remedy) = match fit.value {
            VoltsFit::Fits => return Says::Right,
            VoltsFit::Doubtful => (
                Severity::Verify,
                format!(
                    "Confirm on the nameplate of {tag} that it is for {} too.",
                    volts.value
                ),
            ),
            VoltsFit::Outside => (
                Severity::Fix,
                format!(
                    "Feed {tag} from a supply of its nameplate's volts, or choose a unit for {}.",
                    volts.value
                ),
            ),
        };
        let says = format!(
            "{label} gives {} to {tag}, whose nameplate is {nameplate} ({how}, 10 % either way).",
            volts.value
        );
        let finding = Finding::new(severity, says, volts.value, remedy)
            .field(FieldName::UnitSupply)
            .limit(nameplate.to_string(), how);
        Says::Wrong(severity, finding)
    })
}

pub(super) static PHASE_MISMATCH: Rule = Rule {
    name: "phase-mismatch",
    family: Family::Supply,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "a three-phase unit on fewer than three poles or on a single-phase panel, or a \
              single-phase unit on three poles",
    why: "A three-phase unit cannot run on one phase; a three-pole breaker on a single-phase unit \
          shows that unit or circuit is another than meant.",
    decides: "The nameplate's phases against the circuit's poles and the panel's phases. Poles \
              that only the slots tell make it a question. A single-phase unit on two poles of a \
              three-phase panel is right.",
    leaves: "Circuits whose poles nothing tells.",
    cites: &[Cite::Nameplate, Cite::Code(Topic::EquipmentMarking)],
    yields_to: &[],
    check: phase,
};

fn phase(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    each(schedule, poles_place, |id, circuit, unit_id, nameplate| {
        let Some(phases) = nameplate.phases else {
            return Says::Wants(Want::Field(FieldName::UnitPhase));
        };
        let unit = schedule.unit(unit_id);
        let tag = &unit.tag.value;
        let label = schedule.circuit_label(id);
        let of_panel = |id| schedule.panel(id).supply.get()?.phases;
        // A row that names no panel of the schedule may say what supply it
        // has: it goes before that of the job.
        let own = || circuit.supply.get().and_then(|supply| supply.phases);
        let of_job = || schedule.supply_of(circuit)?.value.phases;
        let panel = circuit.panel_id.and_then(of_panel).or_else(own);
        let panel = panel.or_else(of_job);
        let poles = branch::poles(circuit);
        let says = match (phases, panel, poles) {
            (3, Some(1), _) => {
                let text =
                    format!("{tag} is a three-phase unit; {label} is on a single-phase panel.");
                (Severity::Fix, text, "single-phase panel".to_owned())
            }
            (3, _, Some(Poles { count: few, stated })) if few < 3 => {
                let few = count(usize::from(few), "pole", "poles");
                let text = format!("{tag} is a three-phase unit; {label} has {few}.");
                (of(stated), text, few)
            }
            (1, _, Some(Poles { count: 3, stated })) => {
                let text = format!("{tag} is a single-phase unit; {label} has 3 poles.");
                (of(stated), text, "3 poles".to_owned())
            }
            (_, _, None) => return Says::Wants(Want::Field(FieldName::CircuitPoles)),
            _ => return Says::Right,
        };
        let (severity, says, found) = says;
        let remedy =
            format!("Correct the circuit's poles, or the supply of {tag}, by its nameplate.");
        let finding = Finding::new(severity, says, found, remedy)
            .field(FieldName::CircuitPoles)
            .limit(nameplate.to_string(), format!("nameplate of {tag}"));
        Says::Wrong(severity, finding)
    })
}

fn of(stated: bool) -> Severity {
    if stated {
        Severity::Fix
    } else {
        Severity::Verify
    }
}

pub(super) static POLES_MISMATCH: Rule = Rule {
    name: "poles-mismatch",
    family: Family::Supply,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "the breaker has other poles than the nameplate needs",
    why: "On one pole a unit for 208/230 V gets 120 V; on two a unit for 115 V gets 208 or 240 V.",
    decides: "208/230 V single phase needs 2 poles, three phase 3, 115/120 V and 277 V 1. Poles \
              that only the slots tell make it a question.",
    leaves: "Nameplates whose voltages fit one pole and two.",
    cites: &[Cite::Nameplate, Cite::Code(Topic::EquipmentMarking)],
    yields_to: &["phase-mismatch"],
    check: poles,
};

fn poles(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    each(schedule, poles_place, |id, circuit, unit_id, nameplate| {
        let Some(needed) = supply::poles_needed(nameplate) else {
            return Says::Wants(Want::Field(FieldName::UnitSupply));
        };
        let Some(poles) = branch::poles(circuit) else {
            return Says::Wants(Want::Field(FieldName::CircuitPoles));
        };
        if poles.count == needed {
            return Says::Right;
        }
        let tag = &schedule.unit(unit_id).tag.value;
        let label = schedule.circuit_label(id);
        let from = if poles.stated { "" } else { " by its slots" };
        let says = format!(
            "{label} has {}{from}; {tag}, {nameplate}, needs {needed}.",
            count(usize::from(poles.count), "pole", "poles")
        );
        let severity = of(poles.stated);
        let mut finding = Finding::new(
            severity,
            says,
            counted(usize::from(poles.count), "pole", "poles"),
            format!(
                "Schedule a breaker of {} for {tag}.",
                count(usize::from(needed), "pole", "poles")
            ),
        )
        .field(FieldName::CircuitPoles)
        .limit(
            counted(usize::from(needed), "pole", "poles"),
            format!("nameplate {nameplate}"),
        );
        if let (true, Some(at)) = (poles.stated, circuit.poles.at()) {
            finding.changes = correction(schedule, circuit, at, needed);
        }
        Says::Wrong(severity, finding)
    })
}

/// The poles' cell with the poles needed; where it holds the breaker too,
/// both. None where the slots written are as many as the wrong poles.
fn correction(
    schedule: &Schedule,
    circuit: &Circuit,
    at: crate::schedule::CellId,
    needed: u8,
) -> Vec<crate::findings::Change> {
    let slots = circuit.slots.get().map_or(0, Vec::len);
    if slots > 1 && slots != usize::from(needed) {
        return Vec::new();
    }
    match &circuit.breaker {
        Field::Given(breaker) if breaker.at == at => {
            let text = format!("{}A/{needed}P", crate::schedule::number(breaker.value.0));
            branch::changes(schedule, circuit, at, FieldName::CircuitBreaker, &text)
        }
        _ => branch::changes(
            schedule,
            circuit,
            at,
            FieldName::CircuitPoles,
            &needed.to_string(),
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::testing::{finds, meets, outcomes, whole_audit};
    use crate::schedule::fixture::Fixture;
    use crate::schedule::{PanelSupply, UnitKind, Volts};
    use Severity::{Fix, Verify};

    const WYE: (f64, f64, u8) = (208.0, 120.0, 3);
    const SPLIT: (f64, f64, u8) = (240.0, 120.0, 1);

    fn job(
        (volts, phases): (&[u16], u8),
        (line, neutral, panel): (f64, f64, u8),
        slots: &[u16],
        poles: Option<u8>,
    ) -> Schedule {
        Fixture::new()
            .unit("FC-1", UnitKind::Indoor, |u, cells| {
                u.supply = cells.supply(volts, phases)
            })
            .circuit("LP", slots, &["FC-1"], |c, cells| {
                if let Some(poles) = poles {
                    c.poles = cells.given(poles);
                }
            })
            .panel("LP", |p, cells| {
                p.supply = cells.given(PanelSupply {
                    line_to_line: Volts(line),
                    line_to_neutral: Some(Volts(neutral)),
                    phases: Some(panel),
                })
            })
            .build()
    }

    #[test]
    fn a_single_phase_unit_on_two_poles_of_a_three_phase_panel_is_right() {
        for panel in [WYE, SPLIT] {
            let s = job((&[208, 230], 1), panel, &[1, 3], Some(2));
            meets(&SUPPLY_VOLTAGE_MISMATCH, &s);
            meets(&PHASE_MISMATCH, &s);
            meets(&POLES_MISMATCH, &s);
        }
    }

    #[test]
    fn volts_outside_and_volts_that_are_asked_about() {
        // Bands by hand: 230 V is 207 to 253 V, 460 V is 414 to 506 V.
        let two = |volts: &[u16], panel| job((volts, 1), panel, &[1, 3], Some(2));
        finds(&SUPPLY_VOLTAGE_MISMATCH, &two(&[230], WYE), &[Verify]);
        finds(&SUPPLY_VOLTAGE_MISMATCH, &two(&[208], SPLIT), &[Verify]);
        meets(&SUPPLY_VOLTAGE_MISMATCH, &two(&[230], SPLIT));
        meets(&SUPPLY_VOLTAGE_MISMATCH, &two(&[208], WYE));
        finds(&SUPPLY_VOLTAGE_MISMATCH, &two(&[460], WYE), &[Fix]);
        let s = job((&[460], 3), (480.0, 277.0, 3), &[1, 3, 5], Some(3));
        meets(&SUPPLY_VOLTAGE_MISMATCH, &s);
        let s = job((&[208, 230], 3), (480.0, 277.0, 3), &[1, 3, 5], Some(3));
        finds(&SUPPLY_VOLTAGE_MISMATCH, &s, &[Fix]);
    }

    #[test]
    fn wrong_poles_are_one_finding() {
        let s = job((&[208, 230], 1), WYE, &[1], Some(1));
        finds(&POLES_MISMATCH, &s, &[Fix]);
        let found: Vec<_> = whole_audit(&s)
            .into_iter()
            .filter(|(rule, _)| rule.ends_with("-mismatch"))
            .collect();
        assert_eq!(found, [("poles-mismatch", Fix)]);
        assert_eq!(
            outcomes(&POLES_MISMATCH, &s)[0].finding().unwrap().changes[0].proposed,
            "2"
        );
        finds(
            &POLES_MISMATCH,
            &job((&[115], 1), SPLIT, &[1, 3], Some(2)),
            &[Fix],
        );
        meets(&POLES_MISMATCH, &job((&[115], 1), SPLIT, &[1], Some(1)));
        meets(
            &POLES_MISMATCH,
            &job((&[277], 1), (480.0, 277.0, 3), &[1], Some(1)),
        );
        finds(
            &POLES_MISMATCH,
            &job((&[115], 1), SPLIT, &[1, 3], None),
            &[Verify],
        );
        finds(
            &POLES_MISMATCH,
            &job((&[208, 230], 1), SPLIT, &[1], None),
            &[],
        );
    }

    #[test]
    fn phases_come_before_poles_and_volts() {
        let three_on_two = job((&[208, 230], 3), WYE, &[1, 3], Some(2));
        finds(&PHASE_MISMATCH, &three_on_two, &[Fix]);
        let three_on_split = job((&[208, 230], 3), SPLIT, &[1, 3], Some(2));
        finds(&PHASE_MISMATCH, &three_on_split, &[Fix]);
        let one_on_three = job((&[208, 230], 1), WYE, &[1, 3, 5], Some(3));
        finds(&PHASE_MISMATCH, &one_on_three, &[Fix]);
        for s in [three_on_two, three_on_split, one_on_three] {
            let found: Vec<_> = whole_audit(&s)
                .into_iter()
                .filter(|(rule, _)| rule.ends_with("-mismatch"))
                .collect();
            assert_eq!(found, [("phase-mismatch", Fix)]);
        }
        meets(
            &PHASE_MISMATCH,
            &job((&[208, 230], 3), WYE, &[1, 3, 5], Some(3)),
        );
        finds(
            &PHASE_MISMATCH,
            &job((&[208, 230], 1), WYE, &[1, 3, 5], None),
            &[Verify],
        );
    }

    #[test]
    fn units_of_one_circuit_give_one_finding() {
        let s = Fixture::new()
            .unit("FC-1", UnitKind::Indoor, |u, cells| {
                u.supply = cells.supply(&[208, 230], 1)
            })
            .unit("FC-2", UnitKind::Indoor, |u, cells| {
                u.supply = cells.supply(&[208, 230], 1)
            })
            .circuit("LP", &[1], &["FC-1", "FC-2"], |c, cells| {
                c.poles = cells.given(1)
            })
            .build();
        finds(&POLES_MISMATCH, &s, &[Fix]);
        assert!(
            outcomes(&POLES_MISMATCH, &s)[0]
                .finding()
                .unwrap()
                .says
                .contains("FC-1, FC-2")
        );
    }
}
