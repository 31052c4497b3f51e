//! Voltage drop, and conductors heavier than load and drop ask for.

use super::ampacity::{Fed, fed, unexcepted_device};
use crate::findings::{Finding, Outcome, Severity, Want};
use crate::practice::Practice;
use crate::rules::{Cite, Family, Rule, branch};
use crate::schedule::wire::{Conductor, Size};
use crate::schedule::{Amps, FieldName, Located, Part, Quantity, Schedule, Volts};
use crate::sizing::conductor::{self, Request};
use crate::sizing::drop::{self, Phases, Run, Wire};
use crate::tables::Topic;

pub(super) static VOLTAGE_DROP: Rule = Rule {
    name: "voltage-drop",
    family: Family::Conductor,
    severities: &[Severity::Verify, Severity::Note],
    summary: "the voltage drop of the branch circuit is above the share that is advised",
    why: "A long thin run starves the compressor at its start. It is advice and no requirement of \
          the code, but makers ask for it.",
    decides: "Running current (RLA and FLA, else MCA / 1.25) over the scheduled length, one way, \
              with the table's resistance at 75 °C, single or three phase. Noted above the first \
              share of the profile, asked about above the second.",
    leaves: "The feeder in front of the panel, starting currents, and runs without a length.",
    cites: &[
        Cite::Code(Topic::BranchVoltageDrop),
        Cite::Code(Topic::ConductorProperties),
    ],
    yields_to: &[],
    check: voltage_drop,
};

fn voltage_drop(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    fed(schedule)
        .iter()
        .map(|fed| fed.with_units(judge_drop(schedule, practice, fed)))
        .collect()
}

/// A running current, as far as it is known.
struct Running {
    amps: Amps,
    how: &'static str,
    /// What is not in it, so that more may run.
    open: Option<FieldName>,
}

/// The running current of all that is on the circuit, and how it came about.
fn running(schedule: &Schedule, fed: &Fed<'_>) -> Result<Running, Want> {
    if !branch::others(schedule, fed.circuit).is_empty() {
        return Err(Want::Fact("the current of what else is on the circuit"));
    }
    let supply = branch::volts(schedule, fed.circuit);
    let mut sum = Amps(0.0);
    let mut by_mca = false;
    let mut open = None;
    for &id in &fed.units {
        let unit = schedule.unit(id);
        let heater_here = unit
            .circuits
            .iter()
            .any(|(circuit, part)| *circuit == fed.id && matches!(part, Part::Heater(_)));
        if heater_here || unit.circuits.len() > 1 {
            return Err(Want::Fact("what of the unit is on which of its circuits"));
        }
        let mca = branch::mca(unit, supply).map(|mca| mca.least);
        let heater = branch::heater_on(unit, Some(fed.circuit), supply).map(|heat| heat.least);
        let amps = match (branch::full_load(unit), mca, heater) {
            (Some(amps), _, heater) => amps + heater.unwrap_or(Amps(0.0)),
            (None, Some(mca), None) => {
                by_mca = true;
                mca / 1.25
            }
            (None, Some(mca), Some(heater)) => {
                by_mca = true;
                let own = mca / 1.25;
                if mca.below(heater) { own + heater } else { own }
            }
            // The compressor alone: a lower bound.
            (None, None, heater) => {
                let rla = unit.rla.copied().ok_or(Want::Field(FieldName::UnitFla))?;
                open = Some(FieldName::UnitFla);
                rla + heater.unwrap_or(Amps(0.0))
            }
        };
        sum = sum + amps;
    }
    let how = if by_mca {
        "MCA / 1.25"
    } else {
        "running currents"
    };
    Ok(Running {
        amps: sum,
        how,
        open,
    })
}

/// The run of a circuit, as far as the schedule gives it.
fn run_of(schedule: &Schedule, fed: &Fed<'_>) -> Result<(Run, Running), Want> {
    let Some(length) = fed.circuit.length.copied() else {
        return Err(branch::want(&fed.circuit.length, FieldName::CircuitLength));
    };
    let volts: Volts = branch::volts(schedule, fed.circuit)
        .or_else(|| {
            let unit = schedule.unit(*fed.units.first()?);
            branch::unit_volts(schedule, unit)
        })
        .filter(|volts| volts.0 > 0.0)
        .ok_or(Want::Field(branch::volts_field(fed.circuit)))?;
    let three = fed
        .units
        .iter()
        .any(|&unit| branch::phases(schedule.unit(unit), Some(fed.circuit)) == Some(Phases::Three));
    let running = running(schedule, fed)?;
    let run = Run {
        load: running.amps,
        length,
        volts,
        phases: if three { Phases::Three } else { Phases::Single },
    };
    Ok((run, running))
}

fn wire_of(wire: &Conductor) -> Option<Wire> {
    Some(Wire {
        size: wire.size?,
        material: wire.material,
        stranding: None,
        sets: wire.sets.max(1),
    })
}

fn judge_drop(schedule: &Schedule, practice: &Practice, fed: &Fed<'_>) -> Outcome {
    let subject = fed.subject();
    let conductor = match fed.conductor() {
        Ok(wire) => wire,
        Err(want) => return fed.wants(want),
    };
    let at = fed.circuit.length.at().unwrap_or(conductor.at);
    let (run, by) = match run_of(schedule, fed) {
        Ok(run) => run,
        Err(want) => return Outcome::not_checked(subject, at, vec![want]),
    };
    let Some(wire) = wire_of(&conductor.value) else {
        return Outcome::wants(subject, at, FieldName::CircuitConductor);
    };
    let Some(found) = drop::over(&run, &wire, practice.edition) else {
        let want = Want::Fact("a resistance of this size in the table");
        return Outcome::not_checked(subject, at, vec![want]);
    };
    let share = found.value.percent;
    let (severity, limit, key) = if share.exceeds(practice.drop_verify) {
        (Severity::Verify, practice.drop_verify, "drop_verify")
    } else if share.exceeds(practice.drop_note) {
        (Severity::Note, practice.drop_note, "drop_note")
    } else if let Some(field) = by.open {
        return Outcome::wants(subject, at, field).steps(found.steps);
    } else {
        return Outcome::met(subject, at).steps(found.steps);
    };
    let how: Vec<&str> = found
        .steps
        .iter()
        .filter(|step| step.what.starts_with("voltage-drop"))
        .map(|step| step.how.as_str())
        .collect();
    let how = how.join("; ");
    let label = schedule.circuit_label(fed.id);
    let larger = drop::smallest_within(&run, &wire, practice.drop_note, practice.edition);
    let remedy = match larger {
        Some(size) => format!(
            "{} keeps it within {}; check the length first.",
            size.value, practice.drop_note
        ),
        None => "Shorten the run or feed it from a nearer panel.".to_owned(),
    };
    let finding = Finding::new(
        severity,
        format!(
            "Over {} of {} the voltage of {label} drops by {}, {share} ({how}, by {}).",
            run.length, conductor.value, found.value.volts, by.how
        ),
        share,
        remedy,
    )
    .field(FieldName::CircuitLength)
    .limit(limit, how)
    .profile(key);
    Outcome::broken(subject, at, finding)
        .related(conductor.at)
        .steps(found.steps)
}

pub(super) static CONDUCTOR_HEAVIER_THAN_NEEDED: Rule = Rule {
    name: "conductor-heavier-than-needed",
    family: Family::Conductor,
    severities: &[Severity::Note],
    summary: "the conductors are two sizes or more above what load, device and drop ask for",
    why: "Copper is the dearest part of the run. MCA already has its 125 % in it; a second one, or \
          a conductor sized to the device where the exception covers it, buys nothing.",
    decides: "The smallest size of the same kind that carries the load, suits the breaker where no \
              exception covers the circuit, and keeps the drop within the profile's first share; \
              cautious where terminals are not stated.",
    leaves: "Runs without a length, whose drop cannot be counted. Reasons that no schedule shows.",
    cites: &[
        Cite::Code(Topic::AcConductorMarked),
        Cite::Code(Topic::Ampacity),
        Cite::Practice,
    ],
    yields_to: &super::MIXED,
    check: heavier,
};

fn heavier(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    fed(schedule)
        .iter()
        .map(|fed| fed.with_units(judge_heavier(schedule, practice, fed)))
        .collect()
}

fn judge_heavier(schedule: &Schedule, practice: &Practice, fed: &Fed<'_>) -> Outcome {
    let subject = fed.subject();
    let wire = match fed.conductor() {
        Ok(wire) => wire,
        Err(want) => return fed.wants(want),
    };
    let not = |want| Outcome::not_checked(subject, wire.at, vec![want]);
    let run = match run_of(schedule, fed) {
        Ok((
            _,
            Running {
                open: Some(field), ..
            },
        )) => return not(Want::Field(field)),
        Ok((run, _)) => run,
        Err(want) => return not(want),
    };
    let supply = branch::volts(schedule, fed.circuit);
    let load: Option<Amps> = match fed.units[..] {
        [only] => branch::mca(schedule.unit(only), supply).map(|mca| mca.most),
        _ => {
            let found = branch::shared_load(schedule, fed.circuit, &fed.units, practice);
            found.silent.is_empty().then_some(found.load.most)
        }
    };
    let Some(load) = load else {
        return not(Want::Field(FieldName::UnitMca));
    };
    let heated = fed
        .units
        .iter()
        .any(|&unit| schedule.unit(unit).has_strip_heat());
    if heated {
        return not(Want::Fact("the load of heater and blower together"));
    }
    let (Some(chosen), Some((needed, carries))) = (
        wire.value.size,
        needed(schedule, practice, fed, wire, (&run, load)),
    ) else {
        return not(Want::Field(FieldName::CircuitConductor));
    };
    match conductor::steps_above(needed, chosen) {
        Some(steps) if steps >= 2 => {
            let label = schedule.circuit_label(fed.id);
            let finding = Finding::note(
                format!(
                    "{label} has {}, {steps} sizes above the {needed} that {load} over {} asks for \
                     with the drop counted. Ampacity of {needed} as this circuit is made: {}{}.",
                    wire.value, run.length, carries.value, carries.how
                ),
                chosen,
                format!("{needed} would do, over {}.", run.length),
            )
            .field(FieldName::CircuitConductor)
            .limit(
                needed,
                format!("for {load}, drop within {}", practice.drop_note),
            )
            .profile("drop_note");
            Outcome::broken(subject, wire.at, finding)
        }
        Some(_) => Outcome::met(subject, wire.at),
        None => not(Want::Fact("this size in the table")),
    }
}

fn needed(
    schedule: &Schedule,
    practice: &Practice,
    fed: &Fed<'_>,
    wire: &Located<Conductor>,
    (run, load): (&Run, Amps),
) -> Option<(Size, Carries)> {
    let request = Request {
        load,
        device: unexcepted_device(schedule, fed),
        like: wire.value.clone(),
        insulation: fed.circuit.insulation.copied(),
    };
    let mut at = branch::conditions(fed.circuit, practice);
    if let Some((ambient, _)) = branch::profile_ambient(schedule, fed.circuit, practice) {
        at.ambient = Some(ambient);
    }
    let size = conductor::smallest_for(&request, &at)?.value;
    let from = Wire {
        size,
        ..wire_of(&wire.value)?
    };
    let needed = drop::smallest_within(run, &from, practice.drop_note, practice.edition)?.value;
    let like = Conductor {
        size: Some(needed),
        ..wire.value.clone()
    };
    let found = conductor::ampacity(&like, fed.circuit.insulation.copied(), &at).ok()?;
    // The cautious reading is the one that was relied on, and comes first.
    let step = found.steps.iter().find(|step| step.what == "ampacity")?;
    let how = format!(" ({})", step.how);
    let value = found.value.least.amps;
    Some((needed, Carries { value, how }))
}

/// The ampacity that a size is proposed by, and how it came about.
struct Carries {
    value: Amps,
    how: String,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::testing::{finds, meets, outcomes, severities};
    use crate::schedule::fixture::{Cells, Fixture};
    use crate::schedule::wire::Insulation;
    use crate::schedule::{Circuit, Edition, Feet, PanelSupply, Unit, UnitKind};
    use Severity::{Note, Verify};

    fn job(
        size: i8,
        length: Option<f64>,
        unit: impl FnOnce(&mut Unit, &mut Cells),
        circuit: impl FnOnce(&mut Circuit, &mut Cells),
    ) -> Schedule {
        Fixture::new()
            .unit("OU-1", UnitKind::Outdoor, |u, cells| {
                u.mop = cells.mop(30.0);
                unit(u, cells);
            })
            .circuit("LP", &[1, 3], &["OU-1"], |c, cells| {
                c.breaker = cells.amps(30.0);
                c.poles = cells.given(2);
                c.conductor = cells.given(Conductor {
                    size: Some(Size::Awg(size)),
                    count: Some(2),
                    sets: 1,
                    insulation: Some(Insulation::Thhn),
                    ..Conductor::default()
                });
                if let Some(length) = length {
                    c.length = cells.given(Feet(length));
                }
                circuit(c, cells);
            })
            .panel("LP", |p, cells| {
                p.supply = cells.given(PanelSupply {
                    line_to_line: Volts(240.0),
                    line_to_neutral: Some(Volts(120.0)),
                    phases: Some(1),
                })
            })
            .build()
    }

    #[test]
    fn a_drop_at_its_limits_in_every_edition() {
        // By hand: 2 x 20 A x L x 1.98 / 1000 on 240 V: 3 % are 7.2 V at
        // 90.91 ft, 5 % are 12 V at 151.52 ft of 12 AWG stranded copper.
        for edition in Edition::ALL {
            let practice = Practice {
                edition,
                ..Practice::default()
            };
            for (length, expect) in [
                (90.9, vec![]),
                (91.0, vec![Note]),
                (151.5, vec![Note]),
                (151.6, vec![Verify]),
            ] {
                let s = job(
                    12,
                    Some(length),
                    |u, cells| u.rla = cells.amps(20.0),
                    |_, _| {},
                );
                assert_eq!(severities(&VOLTAGE_DROP, &s, &practice), expect, "{length}");
                let s = job(
                    12,
                    Some(length),
                    |u, cells| u.mca = cells.mca(25.0),
                    |_, _| {},
                );
                assert_eq!(severities(&VOLTAGE_DROP, &s, &practice), expect, "{length}");
            }
        }
    }

    #[test]
    fn without_a_length_nothing_is_said() {
        let s = job(12, None, |u, cells| u.rla = cells.amps(20.0), |_, _| {});
        finds(&VOLTAGE_DROP, &s, &[]);
        finds(&CONDUCTOR_HEAVIER_THAN_NEEDED, &s, &[]);
        let s = job(12, Some(500.0), |_, _| {}, |_, _| {});
        finds(&VOLTAGE_DROP, &s, &[]);
    }

    #[test]
    fn two_sizes_more_than_needed_are_noted() {
        // MCA 18: 14 AWG carries 20 A at 75 °C, as THHN is taken by default.
        let s = |size, length| {
            job(
                size,
                Some(length),
                |u, cells| u.mca = cells.mca(18.0),
                |_, _| {},
            )
        };
        meets(&CONDUCTOR_HEAVIER_THAN_NEEDED, &s(14, 20.0));
        meets(&CONDUCTOR_HEAVIER_THAN_NEEDED, &s(12, 20.0));
        finds(&CONDUCTOR_HEAVIER_THAN_NEEDED, &s(10, 20.0), &[Note]);
        // Over a long run the drop asks for it: 14.4 A over 200 ft.
        meets(&CONDUCTOR_HEAVIER_THAN_NEEDED, &s(10, 150.0));
        let says = outcomes(&CONDUCTOR_HEAVIER_THAN_NEEDED, &s(10, 20.0));
        assert!(says[0].finding().unwrap().says.contains("14 AWG"));
    }
}
