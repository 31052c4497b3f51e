//! What the conductors are: smallest size, their number, the cable's type.

use super::ampacity::{Fed, fed};
use crate::findings::{Finding, Outcome, Severity};
use crate::practice::Practice;
use crate::rules::wording::{self, counted};
use crate::rules::{Cite, Family, Rule, branch};
use crate::schedule::wire::{CableType, Material};
use crate::schedule::{FieldName, Schedule, UnitPlace};
use crate::sizing::{conductor, supply};
use crate::tables::{Topic, conductors};

pub(super) static CONDUCTOR_TOO_SMALL: Rule = Rule {
    name: "conductor-too-small",
    family: Family::Conductor,
    severities: &[Severity::Fix],
    summary: "the conductors are below the smallest size permitted on a branch circuit",
    why: "Copper below 14 AWG and aluminium below 12 AWG are no branch-circuit conductors, however \
          little the unit draws.",
    decides: "The size against the smallest of its material; not stated, copper. The ampacity \
              table begins at the same sizes.",
    leaves: "Control wire, and circuits that feed no unit of the job.",
    cites: &[
        Cite::Code(Topic::SmallestConductor),
        Cite::Code(Topic::Ampacity),
    ],
    yields_to: &super::MIXED,
    check: too_small,
};

fn too_small(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    fed(schedule)
        .iter()
        .map(|fed| {
            let wire = match fed.conductor() {
                Ok(wire) => wire,
                Err(want) => return fed.with_units(fed.wants(want)),
            };
            let Some(size) = wire.value.size else {
                let outcome = Outcome::wants(fed.subject(), wire.at, FieldName::CircuitConductor);
                return fed.with_units(outcome);
            };
            let material = wire.value.material.unwrap_or(Material::Copper);
            if !conductor::below_smallest(size, material, practice.edition) {
                return fed.with_units(Outcome::met(fed.subject(), wire.at));
            }
            let least = conductors::smallest_conductor(material, practice.edition).value;
            let label = schedule.circuit_label(fed.id);
            let finding = Finding::fix(
                format!(
                    "The conductors of {label} are {size} {material}; the smallest of a branch \
                     circuit is {least}."
                ),
                size,
                format!("Use {least} at least."),
            )
            .field(FieldName::CircuitConductor)
            .limit(least, format!("smallest {material} conductor"));
            fed.with_units(Outcome::broken(fed.subject(), wire.at, finding))
        })
        .collect()
}

pub(super) static CONDUCTOR_COUNT: Rule = Rule {
    name: "conductor-count",
    family: Family::Conductor,
    severities: &[Severity::Fix],
    summary: "too few conductors for the phases",
    why: "A three-phase unit on a two-conductor cable is one conductor short, and the run has to be \
          pulled again.",
    decides: "The insulated conductors of the notation, the grounding conductor not counted: two \
              for single phase (one pole with its neutral, or two poles), three for three phase.",
    leaves: "Whether a unit needs a neutral besides: its manual says. More conductors than needed.",
    cites: &[Cite::Nameplate, Cite::Schedule],
    yields_to: &[
        super::MIXED[0],
        super::MIXED[1],
        super::MIXED[2],
        "phase-mismatch",
    ],
    check: count,
};

fn count(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    fed(schedule)
        .iter()
        .map(|fed| fed.with_units(judge_count(schedule, fed)))
        .collect()
}

fn judge_count(schedule: &Schedule, fed: &Fed<'_>) -> Outcome {
    let wire = match fed.conductor() {
        Ok(wire) => wire,
        Err(want) => return fed.wants(want),
    };
    let subject = fed.subject();
    let Some(count) = wire.value.count else {
        return Outcome::wants(subject, wire.at, FieldName::CircuitConductor);
    };
    let needed = fed
        .units
        .iter()
        .filter_map(|&unit| {
            let plate = schedule.unit(unit).supply.get()?;
            let poles = supply::poles_needed(plate)
                .or(plate.phases.map(|phases| if phases == 3 { 3 } else { 2 }))?;
            Some((unit, poles.max(2)))
        })
        .max_by_key(|(_, needed)| *needed);
    let Some((unit, needed)) = needed else {
        return Outcome::wants(subject, wire.at, FieldName::UnitSupply);
    };
    if count >= needed {
        return Outcome::met(subject, wire.at);
    }
    let unit = schedule.unit(unit);
    let plate = unit
        .supply
        .get()
        .map_or(String::new(), |plate| plate.to_string());
    let label = schedule.circuit_label(fed.id);
    let tag = &unit.tag.value;
    let finding = Finding::fix(
        format!(
            "{label} has {}; {tag}, {plate}, needs {needed}.",
            wording::count(usize::from(count), "conductor", "conductors")
        ),
        counted(usize::from(count), "conductor", "conductors"),
        format!("Schedule {needed} conductors and a grounding conductor."),
    )
    .field(FieldName::CircuitConductor)
    .limit(
        counted(usize::from(needed), "conductor", "conductors"),
        format!("nameplate {plate}"),
    );
    Outcome::broken(subject, wire.at, finding).related_all(unit.supply.at())
}

pub(super) static CABLE_TYPE_OUTDOORS: Rule = Rule {
    name: "cable-type-outdoors",
    family: Family::Conductor,
    severities: &[Severity::Verify],
    summary: "an indoor-only cable type runs to an outdoor unit",
    why: "NM-B and AC cable are for dry places. The last part of the run to a unit outdoors is not \
          one, a raceway outdoors included.",
    decides: "The conductor is NM-B or AC cable and a unit on it is an outdoor unit, or stands on \
              a roof or outdoors.",
    leaves: "Runs that change to another wiring method at a box or disconnect, which no schedule \
             shows: hence a question.",
    cites: &[Cite::Code(Topic::NmBAmpacity), Cite::Practice],
    yields_to: &[],
    check: outdoors,
};

fn outdoors(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let mut outcomes = Vec::new();
    for fed in fed(schedule) {
        let outside = fed.units.iter().copied().find(|&unit| {
            let unit = schedule.unit(unit);
            match unit.place.copied() {
                Some(UnitPlace::Roof | UnitPlace::Outdoors) => true,
                Some(_) => false,
                None => unit.is_outdoor(),
            }
        });
        let Some(unit) = outside else {
            continue;
        };
        let wire = match fed.conductor() {
            Ok(wire) => wire,
            Err(want) => {
                outcomes.push(fed.with_units(fed.wants(want)));
                continue;
            }
        };
        let subject = fed.subject();
        let outcome = match wire.value.cable {
            Some(cable @ (CableType::NmB | CableType::Ac)) => {
                let tag = branch::tags(schedule, &[unit]);
                let label = schedule.circuit_label(fed.id);
                let finding = Finding::verify(
                    format!("{label} is {cable} cable, for dry places, and feeds {tag} outdoors."),
                    cable.to_string(),
                    format!("Confirm the wiring method of the part outdoors, up to {tag}."),
                )
                .field(FieldName::CircuitConductor)
                .limit("a wiring method for wet places outdoors", "");
                Outcome::broken(subject, wire.at, finding)
            }
            Some(_) => Outcome::met(subject, wire.at),
            None if wire.value.is_cable => {
                Outcome::wants(subject, wire.at, FieldName::CircuitConductor)
            }
            None => Outcome::met(subject, wire.at),
        };
        outcomes.push(fed.with_units(outcome));
    }
    outcomes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::testing::{finds, meets, severities, whole_audit};
    use crate::schedule::fixture::{Cells, Fixture};
    use crate::schedule::wire::{Conductor, Size};
    use crate::schedule::{Edition, Unit, UnitKind};
    use Severity::{Fix, Verify};

    fn job(conductor: Conductor, unit: impl FnOnce(&mut Unit, &mut Cells)) -> Schedule {
        Fixture::new()
            .unit("OU-1", UnitKind::Outdoor, unit)
            .circuit("LP", &[1, 3], &["OU-1"], |c, cells| {
                c.conductor = cells.given(Conductor {
                    sets: 1,
                    ..conductor
                });
                c.poles = cells.given(2);
            })
            .build()
    }

    fn sized(size: i8, material: Option<Material>) -> Conductor {
        Conductor {
            size: Some(Size::Awg(size)),
            material,
            ..Conductor::default()
        }
    }

    #[test]
    fn the_smallest_sizes_of_both_materials() {
        for edition in Edition::ALL {
            let practice = Practice {
                edition,
                ..Practice::default()
            };
            let aluminium = Some(Material::Aluminium);
            for (size, material, expect) in [
                (16, None, vec![Fix]),
                (14, None, vec![]),
                (14, aluminium, vec![Fix]),
                (12, aluminium, vec![]),
            ] {
                let s = job(sized(size, material), |_, _| {});
                assert_eq!(
                    severities(&CONDUCTOR_TOO_SMALL, &s, &practice),
                    expect,
                    "{size}"
                );
            }
        }
    }

    #[test]
    fn conductors_for_the_phases() {
        let counted = |count| Conductor {
            count: Some(count),
            ..sized(10, None)
        };
        let three = |u: &mut Unit, cells: &mut Cells| u.supply = cells.supply(&[208, 230], 3);
        let single = |u: &mut Unit, cells: &mut Cells| u.supply = cells.supply(&[208, 230], 1);
        let small = |u: &mut Unit, cells: &mut Cells| u.supply = cells.supply(&[115], 1);
        finds(&CONDUCTOR_COUNT, &job(counted(2), three), &[Fix]);
        meets(&CONDUCTOR_COUNT, &job(counted(3), three));
        meets(&CONDUCTOR_COUNT, &job(counted(2), single));
        meets(&CONDUCTOR_COUNT, &job(counted(3), single));
        finds(&CONDUCTOR_COUNT, &job(counted(1), small), &[Fix]);
        meets(&CONDUCTOR_COUNT, &job(counted(2), small));
        finds(&CONDUCTOR_COUNT, &job(sized(10, None), three), &[]);
        // Two poles for a three-phase unit come first.
        let found = whole_audit(&job(counted(2), three));
        assert!(
            !found.iter().any(|(rule, _)| *rule == "conductor-count"),
            "{found:?}"
        );
    }

    #[test]
    fn indoor_cable_to_an_outdoor_unit_is_asked_about() {
        let cable = |cable| Conductor {
            cable,
            count: Some(2),
            is_cable: true,
            ..sized(10, None)
        };
        finds(
            &CABLE_TYPE_OUTDOORS,
            &job(cable(Some(CableType::NmB)), |_, _| {}),
            &[Verify],
        );
        finds(
            &CABLE_TYPE_OUTDOORS,
            &job(cable(Some(CableType::Ac)), |_, _| {}),
            &[Verify],
        );
        meets(
            &CABLE_TYPE_OUTDOORS,
            &job(cable(Some(CableType::UfB)), |_, _| {}),
        );
        finds(&CABLE_TYPE_OUTDOORS, &job(cable(None), |_, _| {}), &[]);
        let indoors = job(cable(Some(CableType::NmB)), |u, cells| {
            u.place = cells.given(UnitPlace::Indoors)
        });
        finds(&CABLE_TYPE_OUTDOORS, &indoors, &[]);
    }
}
