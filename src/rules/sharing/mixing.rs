//! What may share a circuit at all.

use crate::findings::{Finding, Outcome, Severity, Subject, Want};
use crate::practice::Practice;
use crate::rules::branch::{self, Shared};
use crate::rules::{Cite, Family, Rule};
use crate::schedule::{CellId, FieldName, Part, Place, Quantity, Schedule, Supply, UnitId};
use crate::tables::Topic;

fn with_units(shared: &Shared<'_>, outcome: Outcome) -> Outcome {
    shared
        .units
        .iter()
        .fold(outcome, |outcome, &unit| outcome.also(Subject::Unit(unit)))
}

fn load_cell(shared: &Shared<'_>) -> CellId {
    shared
        .circuit
        .loads
        .first()
        .map_or(shared.circuit.at, |load| load.text.at)
}

pub(super) static SHARED_WITH_STRIP_HEAT: Rule = Rule {
    name: "shared-with-strip-heat",
    family: Family::Sharing,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "a unit with strip heat is on a circuit with another unit",
    why: "An air handler with a strip heater has a circuit of its own, sized for the heater: the \
          heater alone fills it.",
    decides: "A unit whose heater is above 0 kW shares its circuit with another unit. Where the \
              heater is fed by other circuits and only the blower shares, it is a question.",
    leaves: "Units whose schedule says nothing of a heater are taken as without one, air handlers \
             excepted: for these the heater is asked for.",
    cites: &[Cite::Code(Topic::ElectricHeat), Cite::Practice],
    yields_to: &[],
    check: strip_heat,
};

fn strip_heat(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    branch::shared(schedule)
        .iter()
        .filter(|shared| shared.units.len() > 1)
        .map(|shared| with_units(shared, judge_heat(schedule, shared)))
        .collect()
}

fn judge_heat(schedule: &Schedule, shared: &Shared<'_>) -> Outcome {
    let subject = Subject::Circuit(shared.id);
    let heated: Vec<UnitId> = shared
        .units
        .iter()
        .copied()
        .filter(|&unit| schedule.unit(unit).has_strip_heat())
        .collect();
    let at = load_cell(shared);
    let Some(&first) = heated.first() else {
        let open = shared
            .units
            .iter()
            .find(|&&id| branch::heat_untold(schedule.unit(id)));
        return match open {
            Some(_) => Outcome::wants(subject, at, FieldName::UnitHeatKw),
            None => Outcome::met(subject, at),
        };
    };
    let unit = schedule.unit(first);
    let tags = branch::tags(schedule, &heated);
    let rest: Vec<UnitId> = shared
        .units
        .iter()
        .copied()
        .filter(|&unit| unit != first)
        .collect();
    let with = branch::tags(schedule, &rest);
    let kw = unit
        .heat_kw
        .copied()
        .unwrap_or(crate::schedule::Kilowatts(0.0));
    // The heaters of all heated units have circuits of their own elsewhere.
    let heat_apart = heated.iter().all(|&id| {
        let circuits = &schedule.unit(id).circuits;
        let elsewhere = circuits
            .iter()
            .any(|(circuit, part)| *circuit != shared.id && matches!(part, Part::Heater(_)));
        let here = circuits
            .iter()
            .any(|(circuit, part)| *circuit == shared.id && matches!(part, Part::Heater(_)));
        elsewhere && !here
    });
    let finding = if heat_apart {
        Finding::verify(
            format!(
                "{tags} has strip heat of {kw} on another circuit and shares this one with {with}."
            ),
            tags.clone(),
            format!("Confirm that this circuit feeds the blower of {tags} alone, not its heater."),
        )
    } else {
        Finding::fix(
            format!("{tags} has strip heat of {kw} and shares its circuit with {with}."),
            format!("{kw} with {with}"),
            format!("Give {tags} a circuit of its own, sized for its heater."),
        )
    };
    Outcome::broken(subject, at, finding.field(FieldName::CircuitLoads))
        .related_all(unit.heat_kw.at())
}

pub(super) static SHARED_OUTSIDE_DWELLING: Rule = Rule {
    name: "shared-outside-dwelling",
    family: Family::Sharing,
    severities: &[Severity::Verify],
    summary: "units share circuits on a commercial job",
    why: "Sharing is a dwelling's practice. On commercial work each unit is usually asked to have \
          a circuit of its own.",
    decides: "The job states, or the profile says, that it is commercial, and at least two units \
              share a circuit. Once a job.",
    leaves: "Jobs whose customer type is not known.",
    cites: &[Cite::Practice],
    yields_to: &super::MIXED,
    check: outside_dwelling,
};

/// An outdoor or a heated unit is on it: another finding comes first.
fn has_own_fault(schedule: &Schedule, shared: &Shared<'_>) -> bool {
    shared.units.iter().any(|&unit| {
        let unit = schedule.unit(unit);
        unit.is_outdoor() || unit.has_strip_heat()
    })
}

fn outside_dwelling(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    let shared: Vec<_> = branch::shared(schedule)
        .into_iter()
        .filter(|shared| shared.units.len() > 1 && !has_own_fault(schedule, shared))
        .collect();
    let Some(first) = shared.first() else {
        return Vec::new();
    };
    let subject = Subject::Job;
    let at = load_cell(first);
    let outcome = match practice.customer {
        None => Outcome::wants(subject, at, FieldName::JobCustomer),
        Some(customer) if customer.is_dwelling() => Outcome::met(subject, at),
        Some(customer) => {
            let labels: Vec<String> = shared
                .iter()
                .take(6)
                .map(|shared| schedule.circuit_label(shared.id))
                .collect();
            let more = match shared.len().saturating_sub(labels.len()) {
                0 => String::new(),
                more => format!(" and {more} more"),
            };
            let finding = Finding::verify(
                format!(
                    "The job is {customer}, and units share {} {}: {}{more}.",
                    shared.len(),
                    if shared.len() == 1 {
                        "circuit"
                    } else {
                        "circuits"
                    },
                    labels.join(", ")
                ),
                crate::rules::wording::counted(shared.len(), "shared circuit", "shared circuits"),
                "Confirm with the engineer and the AHJ that units may share circuits here.",
            )
            .profile("customer");
            Outcome::broken(subject, at, finding).related_all(shared.iter().skip(1).map(load_cell))
        }
    };
    vec![outcome.related_all(schedule.facts.customer.at())]
}

pub(super) static SHARED_MIXED_VOLTAGE: Rule = Rule {
    name: "shared-mixed-voltage",
    family: Family::Sharing,
    severities: &[Severity::Fix],
    summary: "units of different voltage or phase are on one circuit",
    why: "One circuit has one voltage: one of the units cannot run on it.",
    decides: "The nameplates' voltages belong to different classes (115 to 127, 200 to 240, 265 to \
              277, 380 to 415, 440 to 480, 575 to 600 V), or some are of one phase and others of \
              three.",
    leaves: "208 against 230 V within one class: whether each unit fits its supply is another \
             rule's.",
    cites: &[Cite::Nameplate, Cite::Code(Topic::EquipmentMarking)],
    yields_to: &[],
    check: mixed_voltage,
};

/// The class of nominal voltage; `None` for one that is in none.
pub(super) fn class(volts: u16) -> Option<u8> {
    match volts {
        100..=127 => Some(1),
        200..=240 => Some(2),
        265..=277 => Some(3),
        380..=415 => Some(4),
        440..=480 => Some(5),
        575..=600 => Some(6),
        _ => None,
    }
}

/// The classes that a nameplate names, each once.
pub(super) fn classes(supply: &Supply) -> Vec<u8> {
    let mut classes: Vec<u8> = supply.volts.iter().filter_map(|&v| class(v)).collect();
    classes.dedup();
    classes
}

fn differ(a: &Supply, b: &Supply) -> bool {
    let phases = matches!((a.phases, b.phases), (Some(a), Some(b)) if a != b);
    let (mine, other) = (classes(a), classes(b));
    let volts =
        !mine.is_empty() && !other.is_empty() && !mine.iter().any(|class| other.contains(class));
    phases || volts
}

fn mixed_voltage(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    branch::shared(schedule)
        .iter()
        .filter(|shared| shared.units.len() > 1)
        .map(|shared| with_units(shared, judge_voltage(schedule, shared)))
        .collect()
}

fn judge_voltage(schedule: &Schedule, shared: &Shared<'_>) -> Outcome {
    let subject = Subject::Circuit(shared.id);
    let at = load_cell(shared);
    let given: Vec<_> = shared
        .units
        .iter()
        .filter_map(|&id| Some((id, schedule.unit(id).supply.get()?)))
        .collect();
    let pair = given.iter().enumerate().find_map(|(index, (a, one))| {
        given
            .iter()
            .skip(index + 1)
            .find(|(_, other)| differ(one, other))
            .map(|(b, other)| (*a, *one, *b, *other))
    });
    if let Some((a, one, b, other)) = pair {
        let (first, second) = (schedule.unit(a), schedule.unit(b));
        let finding = Finding::fix(
            format!(
                "{} is a unit of {one} and {} one of {other}, on the same circuit.",
                first.tag.value, second.tag.value
            ),
            other.to_string(),
            format!(
                "Give {} and {} circuits of their own voltage, or correct the nameplate data.",
                first.tag.value, second.tag.value
            ),
        )
        .field(FieldName::CircuitLoads)
        .limit(one.to_string(), format!("nameplate of {}", first.tag.value));
        let cells = [first.supply.at(), second.supply.at()];
        return Outcome::broken(subject, at, finding).related_all(cells.into_iter().flatten());
    }
    if given.len() < shared.units.len() {
        return Outcome::wants(subject, at, FieldName::UnitSupply);
    }
    Outcome::met(subject, at)
}

pub(super) static SHARED_MOTOR_OVER_LIMIT: Rule = Rule {
    name: "shared-motor-over-limit",
    family: Family::Sharing,
    severities: &[Severity::Verify],
    summary: "a motor above 1 hp or 6 A is on a shared circuit",
    why: "Small motors may share one circuit without devices of their own; a larger one needs \
          equipment marked for it.",
    decides: "A unit's full-load current, or its MCA / 1.25 where that is not given, is above the \
              profile's limit, or its horsepower is.",
    leaves: "Which motors are inside a unit: its full-load current is taken as one motor.",
    cites: &[Cite::Code(Topic::SmallGroupMotors)],
    yields_to: &super::MIXED,
    check: motor_over_limit,
};

fn motor_over_limit(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    branch::shared(schedule)
        .iter()
        .map(|shared| with_units(shared, judge_motor(schedule, practice, shared)))
        .collect()
}

fn judge_motor(schedule: &Schedule, practice: &Practice, shared: &Shared<'_>) -> Outcome {
    let subject = Subject::Circuit(shared.id);
    let limit = practice.sharing.motor_amps;
    let supply = branch::volts(schedule, shared.circuit);
    let mut large: Vec<(UnitId, String, Option<CellId>)> = Vec::new();
    let mut open = false;
    for &id in &shared.units {
        let unit = schedule.unit(id);
        if let Some(power) = unit.horsepower.copied()
            && power.0 > practice.sharing.motor_hp * (1.0 + 1e-9)
        {
            large.push((id, power.to_string(), unit.horsepower.at()));
            continue;
        }
        match (branch::full_load(unit), branch::mca(unit, supply)) {
            (Some(amps), _) if amps.exceeds(limit) => {
                large.push((id, amps.to_string(), unit.fla.at()));
            }
            (Some(_), _) => {}
            // MCA is at least 1.25 times the largest motor.
            (None, Some(mca)) if (mca.least / 1.25).exceeds(limit) => {
                let text = format!("{} (MCA {} / 1.25)", mca.least / 1.25, mca.least);
                large.push((id, text, unit.mca.at()));
            }
            (None, Some(_)) => {}
            // At 230 V a motor of 1 hp draws more than 6 A: its horsepower
            // alone shows nothing.
            (None, None) => open = true,
        }
    }
    let Some((first, amount, at)) = large.first() else {
        let at = load_cell(shared);
        return if open {
            let wants = [FieldName::UnitFla, FieldName::UnitMca].map(Want::Field);
            Outcome::not_checked(subject, at, wants.to_vec())
        } else {
            Outcome::met(subject, at)
        };
    };
    let units: Vec<UnitId> = large.iter().map(|(id, ..)| *id).collect();
    let tag = &schedule.unit(*first).tag.value;
    let hp = crate::schedule::number(practice.sharing.motor_hp);
    let finding = Finding::verify(
        format!(
            "{tag} has {amount} on a shared circuit, where small motors are at most {limit} and \
             {hp} hp each. Units above it: {}.",
            branch::tags(schedule, &units)
        ),
        amount.clone(),
        format!(
            "Give {tag} a circuit of its own, or confirm that it is listed for group installation."
        ),
    )
    .field(FieldName::UnitFla)
    .limit(limit, "largest motor on a shared circuit")
    .profile("sharing.motor_amps")
    .profile("sharing.motor_hp");
    let place: Place = at.map_or_else(|| load_cell(shared).into(), Place::from);
    Outcome::broken(subject, place, finding).related(load_cell(shared))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::Verdict;
    use crate::rules::testing::{finds, meets, outcomes, severities, whole_audit};
    use crate::schedule::fixture::{Cells, Fixture};
    use crate::schedule::{CustomerType, Horsepower, Kilowatts, Unit, UnitKind};
    use Severity::{Fix, Verify};

    fn two(
        kind: UnitKind,
        first: impl FnOnce(&mut Unit, &mut Cells),
        second: impl FnOnce(&mut Unit, &mut Cells),
    ) -> Fixture {
        let mut fixture = Fixture::new();
        fixture
            .unit("FC-1", kind, first)
            .unit("FC-2", kind, second)
            .circuit("LP", &[1, 3], &["FC-1", "FC-2"], |c, cells| {
                c.breaker = cells.amps(15.0);
            });
        fixture
    }

    #[test]
    fn a_heater_shares_with_no_unit() {
        let kw =
            |kw: f64| move |u: &mut Unit, cells: &mut Cells| u.heat_kw = cells.given(Kilowatts(kw));
        let handler = UnitKind::AirHandler;
        finds(
            &SHARED_WITH_STRIP_HEAT,
            &two(handler, kw(5.0), kw(0.0)).build(),
            &[Fix],
        );
        meets(
            &SHARED_WITH_STRIP_HEAT,
            &two(handler, kw(0.0), kw(0.0)).build(),
        );
        let s = two(handler, |_, _| {}, |_, _| {}).build();
        assert!(matches!(
            outcomes(&SHARED_WITH_STRIP_HEAT, &s)[0].verdict,
            Verdict::NotChecked { .. }
        ));
        meets(
            &SHARED_WITH_STRIP_HEAT,
            &two(UnitKind::Indoor, |_, _| {}, |_, _| {}).build(),
        );
        let mut apart = two(handler, kw(5.0), kw(0.0));
        apart.circuit("LP", &[5, 7], &["FC-1 HEATER"], |c, _| {
            for load in &mut c.loads {
                load.part = Part::Heater(1);
            }
        });
        finds(&SHARED_WITH_STRIP_HEAT, &apart.build(), &[Verify]);
    }

    #[test]
    fn strip_heat_silences_the_load_of_the_circuit() {
        let heat = |u: &mut Unit, cells: &mut Cells| {
            u.heat_kw = cells.given(Kilowatts(5.0));
            u.fla = cells.amps(30.0);
        };
        let found = whole_audit(&two(UnitKind::AirHandler, heat, heat).build());
        assert!(found.contains(&("shared-with-strip-heat", Fix)));
        assert!(
            !found
                .iter()
                .any(|(rule, _)| *rule == "shared-over-capacity")
        );
    }

    #[test]
    fn sharing_is_asked_about_on_commercial_work_alone() {
        let s = two(UnitKind::Indoor, |_, _| {}, |_, _| {}).build();
        for (customer, expect) in [
            (CustomerType::Commercial, vec![Verify]),
            (CustomerType::Dwelling, vec![]),
            (CustomerType::Multifamily, vec![]),
        ] {
            let practice = Practice {
                customer: Some(customer),
                ..Practice::default()
            };
            assert_eq!(severities(&SHARED_OUTSIDE_DWELLING, &s, &practice), expect);
        }
        assert!(matches!(
            outcomes(&SHARED_OUTSIDE_DWELLING, &s)[0].verdict,
            Verdict::NotChecked { .. }
        ));
    }

    #[test]
    fn volts_of_one_class_may_share_and_others_not() {
        let job = |a: (&'static [u16], u8), b: (&'static [u16], u8)| {
            two(
                UnitKind::Indoor,
                move |u, cells| u.supply = cells.supply(a.0, a.1),
                move |u, cells| u.supply = cells.supply(b.0, b.1),
            )
            .build()
        };
        meets(&SHARED_MIXED_VOLTAGE, &job((&[208, 230], 1), (&[230], 1)));
        meets(&SHARED_MIXED_VOLTAGE, &job((&[208], 1), (&[240], 1)));
        finds(
            &SHARED_MIXED_VOLTAGE,
            &job((&[208, 230], 1), (&[115], 1)),
            &[Fix],
        );
        finds(
            &SHARED_MIXED_VOLTAGE,
            &job((&[208, 230], 1), (&[208, 230], 3)),
            &[Fix],
        );
        finds(
            &SHARED_MIXED_VOLTAGE,
            &job((&[208, 230], 1), (&[277], 1)),
            &[Fix],
        );
    }

    #[test]
    fn motors_at_six_amperes_and_one_horsepower() {
        let job = |fill: fn(&mut Unit, &mut Cells)| two(UnitKind::Indoor, fill, fill).build();
        meets(&SHARED_MOTOR_OVER_LIMIT, &job(|u, c| u.fla = c.amps(6.0)));
        finds(
            &SHARED_MOTOR_OVER_LIMIT,
            &job(|u, c| u.fla = c.amps(6.1)),
            &[Verify],
        );
        meets(&SHARED_MOTOR_OVER_LIMIT, &job(|u, c| u.mca = c.mca(7.5)));
        finds(
            &SHARED_MOTOR_OVER_LIMIT,
            &job(|u, c| u.mca = c.mca(7.6)),
            &[Verify],
        );
        meets(
            &SHARED_MOTOR_OVER_LIMIT,
            &job(|u, c| {
                u.horsepower = c.given(Horsepower(1.0));
                u.fla = c.amps(6.0);
            }),
        );
        // One horsepower at 230 V is 8 A (NEC Table 430.248): not shown by it.
        let s = job(|u, c| u.horsepower = c.given(Horsepower(1.0)));
        assert!(matches!(
            outcomes(&SHARED_MOTOR_OVER_LIMIT, &s)[0].verdict,
            Verdict::NotChecked { .. }
        ));
        finds(
            &SHARED_MOTOR_OVER_LIMIT,
            &job(|u, c| u.horsepower = c.given(Horsepower(1.5))),
            &[Verify],
        );
        let s = job(|_, _| {});
        assert!(matches!(
            outcomes(&SHARED_MOTOR_OVER_LIMIT, &s)[0].verdict,
            Verdict::NotChecked { .. }
        ));
    }
}
