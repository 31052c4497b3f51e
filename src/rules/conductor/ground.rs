//! Grounding conductors.

use super::ampacity::{Fed, fed, unexcepted_device};
use crate::findings::{Finding, Outcome, Severity, Want};
use crate::practice::Practice;
use crate::rules::{Cite, Family, Rule, branch};
use crate::schedule::wire::{CableType, Grounding, Material, RacewayType, Size};
use crate::schedule::{Amps, CellId, Celsius, Field, FieldName, Quantity, Schedule};
use crate::sizing::conductor::{self, Conditions, Request};
use crate::sizing::grounding;
use crate::tables::{Topic, limits};

/// The grounding conductor that a circuit states, in its own column or in
/// the conductor's notation.
fn stated(fed: &Fed<'_>) -> Option<(Grounding, CellId, FieldName)> {
    if let Field::Given(found) = &fed.circuit.ground {
        return Some((found.value, found.at, FieldName::CircuitGround));
    }
    let Field::Given(wire) = &fed.circuit.conductor else {
        return None;
    };
    let ground = wire.value.ground?;
    Some((ground, wire.at, FieldName::CircuitConductor))
}

pub(super) static GROUNDING_CONDUCTOR_SMALL: Rule = Rule {
    name: "grounding-conductor-small",
    family: Family::Conductor,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "the grounding conductor is below the table row of the breaker, or not enlarged with \
              conductors that were",
    why: "It has to carry the fault current that opens the device: too small, it burns first.",
    decides: "Its size against the table row of the breaker, never larger than the circuit's own \
              conductors, so that without their size a small one is not judged. Where these are larger than load and breaker ask for, the proportion of \
              circular mils is asked about; a rounding of 0.1 % is allowed.",
    leaves: "From what size 'larger' counts is read differently, so the proportion is never a fix, \
             and the ground of a factory cable is not asked about for it. A ground without a size.",
    cites: &[
        Cite::Code(Topic::GroundingConductor),
        Cite::Code(Topic::GroundingUpsized),
    ],
    yields_to: &[],
    check: small,
};

fn small(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    fed(schedule)
        .iter()
        .map(|fed| fed.with_units(judge_small(schedule, practice, fed)))
        .collect()
}

fn judge_small(schedule: &Schedule, practice: &Practice, fed: &Fed<'_>) -> Outcome {
    let subject = fed.subject();
    let at = schedule.anchor(&fed.circuit.ground, fed.at());
    let Some((Grounding::Sized { size, material }, cell, field)) = stated(fed) else {
        // Without a column of its own it stands in the conductor's notation.
        let own = !fed.circuit.ground.no_column() || fed.circuit.conductor.is_given();
        let want = if own {
            Want::Field(FieldName::CircuitGround)
        } else {
            branch::want(&fed.circuit.conductor, FieldName::CircuitConductor)
        };
        return Outcome::not_checked(subject, at, vec![want]);
    };
    let Field::Given(breaker) = &fed.circuit.breaker else {
        let want = branch::want(&fed.circuit.breaker, FieldName::CircuitBreaker);
        return Outcome::not_checked(subject, cell, vec![want]);
    };
    let wire = fed.circuit.conductor.get();
    let circuit_material = wire.and_then(|wire| wire.material);
    let material = material.or(circuit_material).unwrap_or(Material::Copper);
    let same = circuit_material.unwrap_or(Material::Copper) == material;
    let circuit_size = wire.and_then(|wire| wire.size).filter(|_| same);
    let required = grounding::required(breaker.value, material, circuit_size, practice.edition);
    let Some(required) = required else {
        let want = Want::Fact("a row of the table for so large a breaker");
        return Outcome::not_checked(subject, cell, vec![want]);
    };
    let label = schedule.circuit_label(fed.id);
    // It need not be larger than the circuit's own conductors.
    if size < required.value && wire.and_then(|wire| wire.size).is_none() {
        return Outcome::wants(subject, cell, FieldName::CircuitConductor);
    }
    if size < required.value {
        let least = required.value;
        let finding = Finding::fix(
            format!(
                "The grounding conductor of {label} is {size} {material}; a breaker of {} asks for \
                 {least} at least.",
                breaker.value
            ),
            size,
            format!("Use a grounding conductor of {least} at least."),
        )
        .field(field)
        .limit(least, format!("table row of {}, {material}", breaker.value));
        return Outcome::broken(subject, cell, finding)
            .related(breaker.at)
            .steps(required.steps);
    }
    let enlarged = enlarged(schedule, practice, fed, (breaker.value, material));
    match enlarged {
        Some((least, needed, chosen)) if size < least => {
            let finding = Finding::verify(
                format!(
                    "The conductors of {label} are {chosen}, where {needed} would do for the load \
                     and the breaker of {}; in proportion the grounding conductor would be {least}, \
                     and it is {size}.",
                    breaker.value
                ),
                size,
                format!("Use {least} for the grounding conductor, or confirm with the AHJ that it is not asked."),
            )
            .field(field)
            .limit(least, format!("in proportion, {needed} to {chosen}"));
            Outcome::broken(subject, cell, finding).related(breaker.at)
        }
        _ => Outcome::met(subject, cell).steps(required.steps),
    }
}

/// The proportional size, where the circuit's conductors are larger than
/// load and breaker ask for: that size, the one needed, the one chosen.
fn enlarged(
    schedule: &Schedule,
    practice: &Practice,
    fed: &Fed<'_>,
    (breaker, material): (Amps, Material),
) -> Option<(Size, Size, Size)> {
    let wire = fed.circuit.conductor.get()?;
    if wire.is_cable || wire.cable.is_some() || wire.sets > 1 {
        return None;
    }
    let chosen = wire.size?;
    // Counted from the size that the breaker asks for, exception or not:
    // practice sizes conductors to it, and that is no enlargement.
    let load = fed
        .units
        .iter()
        .filter_map(|&unit| branch::mca(schedule.unit(unit), None))
        .fold(Amps(0.0), |sum, mca| sum + mca.most);
    let request = Request {
        load,
        device: Some(unexcepted_device(schedule, fed).unwrap_or(breaker)),
        like: wire.clone(),
        insulation: fed.circuit.insulation.copied(),
    };
    let at = branch::conditions(fed.circuit, practice);
    // Sizing by the 60 °C column where terminals count as such unless marked
    // is right too, and no enlargement.
    let cautious = Conditions {
        terminals: (!breaker.exceeds(limits::small_terminals_up_to(practice.edition).value))
            .then_some(Celsius(60.0))
            .or(at.terminals),
        ..at
    };
    let needed = conductor::smallest_for(&request, &cautious)?.value;
    if chosen <= needed {
        return None;
    }
    let row = grounding::required(breaker, material, None, practice.edition)?.value;
    let least = grounding::upsized(row, needed, chosen, practice.edition)?.value;
    Some((least, needed, chosen))
}

pub(super) static GROUNDING_CONDUCTOR_MISSING: Rule = Rule {
    name: "grounding-conductor-missing",
    family: Family::Conductor,
    severities: &[Severity::Verify],
    summary: "no grounding conductor in the notation, and nothing that serves as one",
    why: "A bid without it is short of a wire in every run; a unit without it is a hazard.",
    decides: "The circuit's conductors are stated without a ground, in a schedule that states one \
              for others, and neither a cable nor a metal raceway (EMT, RMC, IMC) is named.",
    leaves: "Schedules that state no ground anywhere. Flexible metal raceways, which serve only in \
             part.",
    cites: &[
        Cite::Code(Topic::GroundingByRaceway),
        Cite::Code(Topic::GroundingConductor),
    ],
    yields_to: &[],
    check: missing,
};

fn missing(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let circuits = fed(schedule);
    let covered = circuits.iter().any(|fed| {
        matches!(
            stated(fed),
            Some((
                Grounding::Sized { .. } | Grounding::Unsized | Grounding::ByRaceway,
                ..
            ))
        )
    });
    circuits
        .iter()
        .map(|fed| fed.with_units(judge_missing(schedule, fed, covered)))
        .collect()
}

fn judge_missing(schedule: &Schedule, fed: &Fed<'_>, covered: bool) -> Outcome {
    let subject = fed.subject();
    let wire = match fed.conductor() {
        Ok(wire) => wire,
        Err(want) => return fed.wants(want),
    };
    let ground = stated(fed);
    let raceway = match &fed.circuit.raceway {
        Field::Given(found) => Some(&found.value),
        _ => wire.value.raceway.as_ref(),
    };
    let by_raceway = match ground {
        // A raceway without a type is taken at its word; PVC is no ground.
        Some((Grounding::ByRaceway, ..)) => raceway.is_none_or(|raceway| {
            raceway.kind.may_ground() || raceway.kind == RacewayType::Unnamed
        }),
        _ => raceway.is_some_and(|raceway| raceway.kind.may_ground()),
    };
    let metal_cable = matches!(wire.value.cable, Some(CableType::Mc | CableType::Ac));
    let absent = matches!(ground, Some((Grounding::Absent, ..)));
    let cable = (wire.value.is_cable || wire.value.cable.is_some()) && (!absent || metal_cable);
    let there = matches!(
        ground,
        Some((
            Grounding::Sized { .. } | Grounding::Unsized | Grounding::ByRaceway,
            ..
        ))
    );
    if there || by_raceway || cable || fed.circuit.ground.is_elsewhere() {
        return Outcome::met(subject, wire.at);
    }
    if !absent && (!covered || matches!(fed.circuit.ground, Field::Unreadable(_))) {
        return Outcome::wants(subject, wire.at, FieldName::CircuitGround);
    }
    let label = schedule.circuit_label(fed.id);
    let finding = Finding::verify(
        format!(
            "The conductors of {label}, {}, are stated without a grounding conductor, and no cable \
             or metal raceway that serves as one.",
            wire.value
        ),
        "none stated",
        "State the grounding conductor, or the raceway that serves as one.",
    )
    .field(FieldName::CircuitGround);
    let at = schedule.anchor(&fed.circuit.ground, wire.at);
    Outcome::broken(subject, at, finding)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::testing::{finds, meets, severities};
    use crate::schedule::Edition;
    use crate::schedule::UnitKind;
    use crate::schedule::fixture::Fixture;
    use crate::schedule::wire::{Conductor, Insulation, Raceway};
    use Severity::{Fix, Verify};

    fn ground(size: i8) -> Option<Grounding> {
        Some(Grounding::Sized {
            size: Size::Awg(size),
            material: None,
        })
    }

    fn wire(size: i8, ground: Option<Grounding>) -> Conductor {
        Conductor {
            size: Some(Size::Awg(size)),
            count: Some(2),
            sets: 1,
            insulation: Some(Insulation::Thhn),
            ground,
            ..Conductor::default()
        }
    }

    fn job(breaker: f64, wires: &[Conductor]) -> Schedule {
        let mut fixture = Fixture::new();
        for (n, wire) in wires.iter().enumerate() {
            let tag = format!("OU-{}", n + 1);
            fixture.unit(&tag, UnitKind::Outdoor, |u, cells| {
                u.mca = cells.mca(breaker * 0.7);
                u.mop = cells.mop(breaker);
            });
            let slot = 4 * n as u16 + 1;
            fixture.circuit("LP", &[slot, slot + 2], &[&tag], |c, cells| {
                c.breaker = cells.amps(breaker);
                c.conductor = cells.given(wire.clone());
            });
        }
        fixture.build()
    }

    #[test]
    fn table_rows_of_the_breaker_in_every_edition() {
        // NFPA 70 Table 250.122: 15 A 14, 20 A 12, 60 A 10, 100 A 8 copper.
        for edition in Edition::ALL {
            let practice = Practice {
                edition,
                ..Practice::default()
            };
            for (breaker, size, own, expect) in [
                (15.0, 14, 14, vec![]),
                (20.0, 12, 14, vec![Fix]),
                (20.0, 12, 12, vec![]),
                (60.0, 6, 10, vec![]),
                (60.0, 6, 12, vec![Fix]),
                (70.0, 4, 10, vec![Fix]),
                (70.0, 4, 8, vec![]),
            ] {
                let s = job(breaker, &[wire(size, ground(own))]);
                let found = severities(&GROUNDING_CONDUCTOR_SMALL, &s, &practice);
                assert_eq!(found, expect, "{breaker} {own}");
            }
        }
    }

    #[test]
    fn never_larger_than_the_circuit_and_eight_with_ten_is_right() {
        // 8 AWG with a 10 AWG ground behind 50 A.
        meets(
            &GROUNDING_CONDUCTOR_SMALL,
            &job(50.0, &[wire(8, ground(10))]),
        );
        meets(
            &GROUNDING_CONDUCTOR_SMALL,
            &job(50.0, &[wire(10, ground(10))]),
        );
        meets(
            &GROUNDING_CONDUCTOR_SMALL,
            &job(40.0, &[wire(12, ground(12))]),
        );
    }

    #[test]
    fn enlarged_conductors_ask_for_a_proportional_ground() {
        // 60 A: 6 AWG to 4 AWG asks 16,511 cmil, which 8 AWG (16,510) serves.
        finds(
            &GROUNDING_CONDUCTOR_SMALL,
            &job(60.0, &[wire(4, ground(10))]),
            &[Verify],
        );
        meets(
            &GROUNDING_CONDUCTOR_SMALL,
            &job(60.0, &[wire(4, ground(8))]),
        );
        let cable = Conductor {
            cable: Some(CableType::Mc),
            is_cable: true,
            ..wire(4, ground(10))
        };
        meets(&GROUNDING_CONDUCTOR_SMALL, &job(60.0, &[cable]));
    }

    #[test]
    fn a_ground_that_others_have_is_missed() {
        let bare = wire(10, None);
        finds(
            &GROUNDING_CONDUCTOR_MISSING,
            &job(30.0, &[bare.clone(), wire(10, ground(10))]),
            &[Verify],
        );
        finds(
            &GROUNDING_CONDUCTOR_MISSING,
            &job(30.0, std::slice::from_ref(&bare)),
            &[],
        );
        let emt = Conductor {
            raceway: Some(Raceway {
                kind: RacewayType::Emt,
                trade_size: None,
            }),
            ..bare.clone()
        };
        meets(
            &GROUNDING_CONDUCTOR_MISSING,
            &job(30.0, &[emt, wire(10, ground(10))]),
        );
        let cable = Conductor {
            is_cable: true,
            ..bare.clone()
        };
        meets(
            &GROUNDING_CONDUCTOR_MISSING,
            &job(30.0, &[cable, wire(10, ground(10))]),
        );
        let absent = Conductor {
            ground: Some(Grounding::Absent),
            ..bare
        };
        finds(
            &GROUNDING_CONDUCTOR_MISSING,
            &job(30.0, &[absent]),
            &[Verify],
        );
    }
}
