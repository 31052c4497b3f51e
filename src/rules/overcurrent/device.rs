//! The device itself: fuse or breaker, and whether its rating is standard.

use crate::findings::{Finding, Outcome, Severity, Subject};
use crate::practice::Practice;
use crate::rules::{Cite, Family, Rule, branch};
use crate::schedule::{Amps, CellId, CircuitId, Field, FieldName, Schedule};
use crate::sizing::protection;
use crate::tables::Topic;
use crate::tables::ratings::Device;

pub(super) static FUSE_REQUIRED: Rule = Rule {
    name: "fuse-required",
    family: Family::Overcurrent,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "the unit's own cell asks for fuses only and a breaker is scheduled",
    why: "A nameplate that names fuses and no circuit breaker was tested with fuses: a breaker of \
          the same rating does not satisfy it.",
    decides: "The MOP cell of the unit itself asks for fuses only, the circuit has a breaker, and \
              no fuse stands at the circuit's or the unit's disconnect. In a schedule that says \
              nothing of fuses or disconnects it is a question. A heading such as Max Fuse never \
              asks for fuses.",
    leaves: "The class of the fuses. Whether the fuses' rating is right is another rule's.",
    cites: &[
        Cite::Nameplate,
        Cite::Code(Topic::EquipmentMarking),
        Cite::Code(Topic::AcProtectionMarked),
    ],
    yields_to: &[],
    check: fuse_required,
};

fn fuse_required(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let mut outcomes = Vec::new();
    for feed in branch::feeds(schedule) {
        let subject = Subject::Circuit(feed.id);
        let Field::Given(mop) = &feed.unit.mop else {
            let want = branch::want(&feed.unit.mop, FieldName::UnitMop);
            let at = schedule.anchor(&feed.unit.mop, feed.unit.tag.at);
            outcomes.push(
                Outcome::not_checked(subject, at, vec![want]).also(Subject::Unit(feed.unit_id)),
            );
            continue;
        };
        let found = branch::protection(feed.circuit, Some(feed.unit));
        let at = feed.circuit.breaker.at().unwrap_or(feed.circuit.at);
        let fused = found.fuse.is_some()
            || found.fuse_open
            || feed.unit.fuse.is_elsewhere()
            || feed.circuit.fuse.is_elsewhere();
        let outcome = match found.breaker {
            Some(breaker) if mop.value.fuses_only && !fused => {
                let tag = &feed.unit.tag.value;
                let (severity, without) = if silent_of_fuses(&feed) {
                    (Severity::Verify, "and the schedule says nothing of fuses")
                } else {
                    (Severity::Fix, "and no fuses at a disconnect")
                };
                let finding = Finding::new(
                    severity,
                    format!(
                        "The nameplate of {tag} asks for fuses of at most {} and names no breaker; \
                         the circuit has a breaker of {} {without}.",
                        mop.value.amps, breaker.value
                    ),
                    breaker.value,
                    format!(
                        "Schedule a fused disconnect at {tag} with fuses of at most {}.",
                        mop.value.amps
                    ),
                )
                .field(FieldName::CircuitFuse)
                .limit(format!("fuses of at most {}", mop.value.amps), "nameplate");
                Outcome::broken(subject, at, finding)
            }
            None if mop.value.fuses_only && !fused => {
                let want = branch::want(&feed.circuit.breaker, FieldName::CircuitBreaker);
                Outcome::not_checked(subject, at, vec![want])
            }
            _ => Outcome::met(subject, at),
        };
        outcomes.push(outcome.also(Subject::Unit(feed.unit_id)).related(mop.at));
    }
    outcomes
}

/// Neither a column of fuses nor a disconnect is given: fuses may be there
/// and not be told.
fn silent_of_fuses(feed: &branch::Feed<'_>) -> bool {
    let fuses = [&feed.circuit.fuse, &feed.unit.fuse];
    let disconnects = [&feed.circuit.disconnect, &feed.unit.disconnect];
    fuses.iter().all(|field| field.no_column())
        && disconnects
            .iter()
            .all(|field| field.get().is_none_or(|found| found.fused.is_none()))
}

pub(super) static RATING_NOT_STANDARD: Rule = Rule {
    name: "rating-not-standard",
    family: Family::Overcurrent,
    severities: &[Severity::Verify],
    summary: "a breaker or fuse of no standard ampere rating",
    why: "A rating that is not in the list of standard ones is mostly a slip of the keyboard, and \
          cannot be bought.",
    decides: "Breakers and fuses of circuits that feed units are looked up among the standard \
              ratings of the adopted edition; the neighbours are shown.",
    leaves: "Switch sizes of disconnects, which are no overcurrent ratings, and circuits that feed \
             no unit of the job.",
    cites: &[Cite::Code(Topic::StandardRatings)],
    yields_to: &[],
    check: not_standard,
};

fn not_standard(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    let mut outcomes = Vec::new();
    for (id, circuit) in schedule.circuit_ids() {
        let units = circuit.units();
        let audited: Vec<_> = units
            .iter()
            .filter(|&&unit| branch::is_audited(schedule.unit(unit)))
            .collect();
        if audited.is_empty() {
            continue;
        }
        let mut rated: Vec<(Amps, CellId, FieldName, Device)> = Vec::new();
        match &circuit.breaker {
            Field::Given(found) => rated.push((
                found.value,
                found.at,
                FieldName::CircuitBreaker,
                Device::Breaker,
            )),
            blank => {
                let want = branch::want(blank, FieldName::CircuitBreaker);
                let at = schedule.anchor(blank, circuit.at);
                outcomes.push(Outcome::not_checked(Subject::Circuit(id), at, vec![want]));
            }
        }
        if let Field::Given(found) = &circuit.fuse {
            rated.push((found.value, found.at, FieldName::CircuitFuse, Device::Fuse));
        }
        for &&unit in &audited {
            if let Field::Given(found) = &schedule.unit(unit).fuse {
                rated.push((found.value, found.at, FieldName::UnitFuse, Device::Fuse));
            }
        }
        for (amps, at, field, device) in rated {
            outcomes.push(standard(schedule, practice, id, (amps, at, field, device)));
        }
    }
    outcomes
}

fn standard(
    schedule: &Schedule,
    practice: &Practice,
    id: CircuitId,
    (amps, at, field, device): (Amps, CellId, FieldName, Device),
) -> Outcome {
    let subject = Subject::Circuit(id);
    if protection::is_standard(amps, device, practice.edition) {
        return Outcome::met(subject, at);
    }
    let (below, above) = protection::neighbours(amps, device, practice.edition);
    let around = match (below, above) {
        (Some(below), Some(above)) => format!("{} and {}", below.value, above.value),
        (Some(one), None) | (None, Some(one)) => one.value.to_string(),
        (None, None) => "none".to_owned(),
    };
    let kind = match device {
        Device::Breaker => "breaker",
        Device::Fuse => "fuse",
    };
    let label = schedule.circuit_label(id);
    let finding = Finding::verify(
        format!("The {kind} of {label} is rated {amps}, which is no standard rating; the nearest are {around}."),
        amps,
        format!("Check the rating of the {kind}: {around} are standard."),
    )
    .field(field)
    .limit(around, "standard ratings next to it");
    Outcome::broken(subject, at, finding)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::testing::{finds, meets, severities};
    use crate::schedule::fixture::{Cells, Fixture};
    use crate::schedule::{Circuit, Disconnect, Edition, Mop, NameplateAmps, Unit, UnitKind};
    use Severity::{Fix, Verify};

    fn job(
        fuses_only: bool,
        unit: impl FnOnce(&mut Unit, &mut Cells),
        circuit: impl FnOnce(&mut Circuit, &mut Cells),
    ) -> Schedule {
        Fixture::new()
            .unit("OU-1", UnitKind::Outdoor, |u, cells| {
                u.mop = cells.given(Mop {
                    amps: NameplateAmps::One(Amps(35.0)),
                    fuses_only,
                });
                unit(u, cells);
            })
            .circuit("LP", &[1, 3], &["OU-1"], |c, cells| {
                c.breaker = cells.amps(35.0);
                circuit(c, cells);
            })
            .build()
    }

    #[test]
    fn fuses_are_asked_for_by_the_cell_alone() {
        // A schedule that says nothing of fuses leaves it a question.
        finds(&FUSE_REQUIRED, &job(true, |_, _| {}, |_, _| {}), &[Verify]);
        finds(
            &FUSE_REQUIRED,
            &job(true, |_, _| {}, |c, cells| c.fuse = cells.blank()),
            &[Fix],
        );
        let unfused = Disconnect {
            amps: Some(Amps(60.0)),
            fused: Some(false),
            fuse: None,
        };
        finds(
            &FUSE_REQUIRED,
            &job(
                true,
                |u, cells| u.disconnect = cells.given(unfused),
                |_, _| {},
            ),
            &[Fix],
        );
        meets(&FUSE_REQUIRED, &job(false, |_, _| {}, |_, _| {}));
        meets(
            &FUSE_REQUIRED,
            &job(true, |_, _| {}, |c, cells| c.fuse = cells.amps(35.0)),
        );
        let fused = Disconnect {
            amps: Some(Amps(60.0)),
            fused: Some(true),
            fuse: None,
        };
        meets(
            &FUSE_REQUIRED,
            &job(
                true,
                |u, cells| u.disconnect = cells.given(fused),
                |_, _| {},
            ),
        );
    }

    #[test]
    fn ratings_of_the_list_pass_and_those_often_written_besides_do_not() {
        for amps in [15.0, 45.0, 60.0, 110.0, 125.0] {
            let s = job(false, |_, _| {}, |c, cells| c.breaker = cells.amps(amps));
            meets(&RATING_NOT_STANDARD, &s);
        }
        // Often written and not in NFPA 70 240.6(A).
        for amps in [55.0, 65.0, 75.0, 85.0, 95.0, 105.0, 120.0, 130.0] {
            let s = job(false, |_, _| {}, |c, cells| c.breaker = cells.amps(amps));
            finds(&RATING_NOT_STANDARD, &s, &[Verify]);
        }
    }

    #[test]
    fn ten_amperes_join_the_breakers_in_2023() {
        let s = job(false, |_, _| {}, |c, cells| c.breaker = cells.amps(10.0));
        for (edition, expect) in [
            (Edition::Nec2017, vec![Verify]),
            (Edition::Nec2020, vec![Verify]),
            (Edition::Nec2023, vec![]),
            (Edition::Nec2026, vec![]),
        ] {
            let practice = Practice {
                edition,
                ..Practice::default()
            };
            assert_eq!(severities(&RATING_NOT_STANDARD, &s, &practice), expect);
        }
        let fuse = job(false, |_, _| {}, |c, cells| c.fuse = cells.amps(6.0));
        meets(&RATING_NOT_STANDARD, &fuse);
    }
}
