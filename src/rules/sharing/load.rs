//! Load and rating of a shared circuit.

use crate::findings::{Finding, Outcome, Severity, Subject, Want};
use crate::practice::Practice;
use crate::rules::branch::{self, Load430, Protection, Shared, Span};
use crate::rules::{Cite, Family, Rule};
use crate::schedule::{
    Amps, CellId, Circuit, Field, FieldName, Located, Percent, Quantity, Schedule, Unit, UnitId,
};
use crate::sizing::sharing::Against;
use crate::tables::Topic;

/// What one judge says of all shared circuits, with the outcomes' subjects and
/// arithmetic.
fn judged(
    schedule: &Schedule,
    practice: &Practice,
    judge: fn(&Schedule, &Practice, &Shared<'_>) -> Outcome,
) -> Vec<Outcome> {
    let judged = |shared: &Shared<'_>| {
        let outcome =
            of_two_rows(schedule, shared).unwrap_or_else(|| judge(schedule, practice, shared));
        let units = shared.units.iter();
        units
            .fold(outcome, |outcome, &unit| outcome.also(Subject::Unit(unit)))
            .steps(branch::arithmetic(schedule, shared.id, practice))
    };
    branch::shared(schedule).iter().map(judged).collect()
}

fn load_cell(shared: &Shared<'_>) -> CellId {
    shared
        .circuit
        .loads
        .first()
        .map_or(shared.circuit.at, |load| load.text.at)
}

/// One text on the circuit that two rows bear as their tag: it may feed
/// either, or both, and nothing follows from their nameplates together.
fn of_two_rows(schedule: &Schedule, shared: &Shared<'_>) -> Option<Outcome> {
    let units = || shared.units.iter().map(|&id| schedule.unit(id));
    let twice = units().enumerate().any(|(nth, a)| {
        units().skip(nth + 1).any(|b| {
            let (same, elsewhere) = (a.tag.value == b.tag.value, a.tag.at != b.tag.at);
            same && elsewhere && a.dwelling.get() == b.dwelling.get()
        })
    });
    twice.then(|| {
        let wants = vec![Want::Field(FieldName::UnitTag)];
        Outcome::not_checked(Subject::Circuit(shared.id), load_cell(shared), wants)
    })
}

pub(super) static SHARED_OVER_CAPACITY: Rule = Rule {
    name: "shared-over-capacity",
    family: Family::Sharing,
    severities: &[Severity::Fix, Severity::Verify, Severity::Note],
    summary: "the units of one circuit draw more than its rating",
    why: "A shared circuit whose load is above its rating opens when all rooms call at once.",
    decides: "With full-load currents the load is 1.25 times the largest and the rest; above the \
              rating is a fix. Where a unit gives its MCA alone the load lies between the sum of \
              MCA divided by 1.25 and the sum of MCA: a rating above both is right, below both a \
              fix, and between them the full-load currents are asked for. A load above the \
              profile's share of the rating is noted.",
    leaves: "What else is on the circuit counts only where it is a unit of the job: with other \
             loads the circuit is not called right. A tag that two rows bear: the circuit may \
             feed either (duplicate-tag).",
    cites: &[
        Cite::Code(Topic::SeveralMotors),
        Cite::Code(Topic::BranchDevice),
        Cite::Nameplate,
    ],
    yields_to: &super::MIXED,
    check: over_capacity,
};

fn over_capacity(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    judged(schedule, practice, judge_load)
}

fn judge_load(schedule: &Schedule, practice: &Practice, shared: &Shared<'_>) -> Outcome {
    let subject = Subject::Circuit(shared.id);
    let circuit = shared.circuit;
    let at = circuit.breaker.at().unwrap_or(circuit.at);
    let protection = branch::protection(circuit, None);
    let Some(rating) = protection.rating() else {
        let want = branch::want(&circuit.breaker, FieldName::CircuitBreaker);
        return Outcome::not_checked(subject, at, vec![want]);
    };
    let found = branch::shared_load(schedule, circuit, &shared.units, practice);
    let load = found.load;
    let how = how(&found);
    let tags = branch::tags(schedule, &shared.units);
    let share = load.share(rating.value);
    // Fuses behind a breaker that is not stated: it may be the smaller one.
    let unstated = protection.breaker.is_none() || protection.fuse_open;
    let open = unstated || !found.silent.is_empty() || !shared.others.is_empty();
    let text = match load.against(rating.value) {
        Against::Over => over(rating.value, &found, &tags, &how),
        Against::Between => between(rating.value, &found, &tags, &how, schedule),
        Against::Within if open => {
            let mut wants = unstated_device(circuit, &protection);
            if !found.silent.is_empty() {
                wants.extend([
                    Want::Field(FieldName::UnitFla),
                    Want::Field(FieldName::UnitMca),
                ]);
            }
            if !shared.others.is_empty() {
                wants.push(Want::Fact("the current of what else is on the circuit"));
            }
            return Outcome::not_checked(subject, rating.at, wants);
        }
        Against::Within if share.exceeds(practice.sharing.near) => {
            let limit = rating.value * (practice.sharing.near.0 / 100.0);
            Finding::note(
                format!(
                    "{tags} share {}; their load is {} ({how}), {} of the rating and above {limit}, \
                     {} of it.",
                    rating.value,
                    load.most,
                    Percent(share.0),
                    practice.sharing.near
                ),
                load.most,
                "It is within the rating; leave room for a further unit on another circuit.",
            )
            .limit(
                limit,
                format!("{} of {}", practice.sharing.near, rating.value),
            )
            .profile("sharing.near")
        }
        Against::Within => return Outcome::met(subject, rating.at),
    };
    Outcome::broken(
        subject,
        load_cell(shared),
        text.field(FieldName::CircuitLoads),
    )
    .related(rating.at)
}

/// What of a circuit's device the schedule leaves open.
fn unstated_device(circuit: &Circuit, protection: &Protection) -> Vec<Want> {
    let mut wants = Vec::new();
    if protection.breaker.is_none() {
        wants.push(branch::want(&circuit.breaker, FieldName::CircuitBreaker));
    }
    if protection.fuse_open {
        wants.push(Want::Field(FieldName::CircuitFuse));
    }
    wants
}

/// How the load came about, in one line.
fn how(found: &Load430) -> String {
    let steps: Vec<&str> = found.steps.iter().map(|step| step.how.as_str()).collect();
    steps.join("; ")
}

fn over(rating: Amps, found: &Load430, tags: &str, how: &str) -> Finding {
    let load = found.load;
    let by = if load.exact {
        format!("their load by full-load currents is {} ({how})", load.least)
    } else {
        format!(
            "even the lower bound of their load, full-load currents as MCA / 1.25, is {} ({how})",
            load.least
        )
    };
    Finding::fix(
        format!(
            "{tags} share {rating}; {by}, {} above the rating.",
            load.least - rating
        ),
        load.least,
        format!("Move units to another circuit until the load is at most {rating}."),
    )
    .limit(rating, "rating of the circuit")
}

fn between(rating: Amps, found: &Load430, tags: &str, how: &str, schedule: &Schedule) -> Finding {
    let load = found.load;
    Finding::verify(
        format!(
            "{tags} share {rating}. The sum of their MCA makes {}, above the rating; MCA / 1.25 \
             makes {}, within it ({how}). The full-load currents decide.",
            load.most, load.least
        ),
        load.most,
        format!(
            "Give the full-load currents of {}, or move a unit to another circuit.",
            branch::tags(schedule, &found.by_mca)
        ),
    )
    .limit(rating, "rating of the circuit")
}

pub(super) static SHARED_RATING_TOO_LARGE: Rule = Rule {
    name: "shared-rating-too-large",
    family: Family::Sharing,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "the device of a shared circuit is above the smallest MOP on it, or above what small \
              motors may share without further marking",
    why: "Each unit is protected by the one device of the circuit, so the smallest MOP binds it. \
          Above the rating for small motors the equipment has to be marked for group installation.",
    decides: "The circuit's rating is compared with the smallest MOP of its units, those with \
              fuses of their own within their MOP left out; above it is a fix. Where that unit's \
              disconnect is fused and does not say at what, where its MOP depends on a supply \
              that is not stated, or where fuses are known and the breaker in front of them is \
              not, it is a question; so is, where every MOP allows it, a rating above the \
              profile's.",
    leaves: "The marking of the equipment, which no schedule shows. Circuits of 120 V and less may \
             be rated 20 A (from memory).",
    cites: &[
        Cite::Nameplate,
        Cite::Code(Topic::AcProtectionMarked),
        Cite::Code(Topic::SmallGroupMotors),
    ],
    yields_to: &super::MIXED,
    check: rating_too_large,
};

fn rating_too_large(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    judged(schedule, practice, judge_rating)
}

/// The units that the circuit's device alone protects.
fn bound_by_circuit(schedule: &Schedule, shared: &Shared<'_>) -> Vec<UnitId> {
    let supply = branch::volts(schedule, shared.circuit);
    shared
        .units
        .iter()
        .copied()
        .filter(|&id| {
            let unit = schedule.unit(id);
            let in_disconnect = unit.disconnect.get().and_then(|found| found.fuse);
            let own = unit.fuse.copied().or(in_disconnect);
            match (own, branch::mop(unit, supply)) {
                (Some(fuse), Some(mop)) => fuse.exceeds(mop.most),
                _ => true,
            }
        })
        .collect()
}

fn judge_rating(schedule: &Schedule, practice: &Practice, shared: &Shared<'_>) -> Outcome {
    let subject = Subject::Circuit(shared.id);
    let circuit = shared.circuit;
    let protection = branch::protection(circuit, None);
    let Some(rating) = protection.rating() else {
        let want = branch::want(&circuit.breaker, FieldName::CircuitBreaker);
        let at = circuit.breaker.at().unwrap_or(circuit.at);
        return Outcome::not_checked(subject, at, vec![want]);
    };
    let supply = branch::volts(schedule, circuit);
    let bound = bound_by_circuit(schedule, shared);
    let smallest = bound
        .iter()
        .filter_map(|&id| Some((id, branch::mop(schedule.unit(id), supply)?)))
        .reduce(|a, b| if b.1.least.below(a.1.least) { b } else { a });
    let without_mop = bound
        .iter()
        .filter(|&&id| !schedule.unit(id).mop.is_given())
        .count();
    let surest = bound
        .iter()
        .filter(|&&id| !fuses_open(schedule.unit(id)))
        .filter_map(|&id| Some((id, branch::mop(schedule.unit(id), supply)?)))
        .reduce(|a, b| if b.1.most.below(a.1.most) { b } else { a });
    if let Some((id, mop)) = surest
        && protection.breaker.is_some()
        && !protection.fuse_open
        && rating.value.exceeds(mop.most)
    {
        return over_mop(schedule, practice, shared, rating, (id, mop.most));
    }
    if let Some((id, mop)) = smallest
        && rating.value.exceeds(mop.least)
    {
        return may_be_over_mop(schedule, shared, rating, (id, mop));
    }
    // From memory: up to 20 A on 120 V; it only spares a question.
    let small = if supply.is_some_and(|volts| volts.0 <= 127.0) {
        Amps(20.0)
    } else {
        practice.sharing.rating
    };
    if rating.value.exceeds(small) {
        let tags = branch::tags(schedule, &shared.units);
        let mops = if without_mop > 0 {
            "not every MOP is given".to_owned()
        } else {
            "every MOP allows it".to_owned()
        };
        let finding = Finding::verify(
            format!(
                "{tags} share a circuit of {}; {mops}, but small motors share at most {small} \
                 unless the equipment is marked for group installation.",
                rating.value
            ),
            rating.value,
            format!(
                "Confirm that the units are listed for group installation at {}, or protect the \
                 circuit at {small}.",
                rating.value
            ),
        )
        .field(FieldName::CircuitBreaker)
        .limit(small, "rating that small motors share")
        .profile("sharing.rating");
        return Outcome::broken(subject, rating.at, finding);
    }
    // A further device in front of it, or behind, can only lower the rating.
    if without_mop > 0 {
        return Outcome::wants(subject, rating.at, FieldName::UnitMop);
    }
    Outcome::met(subject, rating.at)
}

/// The unit's own disconnect is fused, and does not say at what.
fn fuses_open(unit: &Unit) -> bool {
    let fuse = matches!(unit.fuse, Field::Unknown(_) | Field::Unreadable(_));
    let disconnect = unit.disconnect.get();
    fuse || !unit.fuse.is_given()
        && disconnect.is_some_and(|found| found.fused == Some(true) && found.fuse.is_none())
}

fn may_be_over_mop(
    schedule: &Schedule,
    shared: &Shared<'_>,
    rating: Located<Amps>,
    (id, mop): (UnitId, Span),
) -> Outcome {
    let unit = schedule.unit(id);
    let tag = &unit.tag.value;
    let (why, remedy) = if fuses_open(unit) {
        (
            "Its disconnect is fused, and the rating of the fuses is not given.",
            format!("State the fuses of {tag}: at most {}.", mop.least),
        )
    } else if mop.is_one() {
        (
            "What else protects the circuit is not given.",
            "State the breaker and the fuses of the circuit.".to_owned(),
        )
    } else {
        (
            "Which of the two holds depends on a supply that the schedule does not state.",
            "State the supply voltage of the panel or of the job.".to_owned(),
        )
    };
    let finding = Finding::verify(
        format!(
            "{} share a circuit of {}; the smallest MOP on it is {}, of {tag}. {why}",
            branch::tags(schedule, &shared.units),
            rating.value,
            mop.described()
        ),
        rating.value,
        remedy,
    )
    .field(FieldName::CircuitBreaker)
    .limit(mop.least, format!("smallest MOP on the circuit, of {tag}"));
    Outcome::broken(Subject::Circuit(shared.id), rating.at, finding).related_all(unit.mop.at())
}

fn over_mop(
    schedule: &Schedule,
    practice: &Practice,
    shared: &Shared<'_>,
    rating: Located<Amps>,
    (id, mop): (UnitId, Amps),
) -> Outcome {
    let unit = schedule.unit(id);
    let tag = &unit.tag.value;
    let finding = Finding::fix(
        format!(
            "{} share a circuit of {}; the smallest MOP on it is {mop}, of {tag}, so {tag} is \
             protected {} above its limit.",
            branch::tags(schedule, &shared.units),
            rating.value,
            rating.value - mop
        ),
        rating.value,
        format!("Protect the circuit at {mop} or less, or give {tag} fuses of its own within it."),
    )
    .field(FieldName::CircuitBreaker)
    .limit(mop, format!("smallest MOP on the circuit, of {tag}"));
    let mut finding = finding;
    // Lowering the device is a correction only where the load still fits.
    let load = branch::shared_load(schedule, shared.circuit, &shared.units, practice);
    let lower = crate::sizing::protection::standard_at_or_below(
        mop,
        crate::tables::ratings::Device::Breaker,
        practice.edition,
    );
    let protection = branch::protection(shared.circuit, None);
    if let Some(lower) = lower
        && load.silent.is_empty()
        && shared.others.is_empty()
        && !load.load.most.exceeds(lower.value)
    {
        finding.changes =
            branch::rating_changes(schedule, shared.circuit, None, &protection, lower.value);
    }
    Outcome::broken(Subject::Circuit(shared.id), rating.at, finding).related_all(unit.mop.at())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::Verdict;
    use crate::rules::testing::{Check, finds, meets, outcomes, severities, whole_audit};
    use crate::schedule::fixture::{Cells, Fixture};
    use crate::schedule::{Circuit, Edition, Unit, UnitKind};
    use Severity::{Fix, Note, Verify};

    /// `count` indoor units on one circuit.
    fn job(
        count: usize,
        breaker: f64,
        unit: impl Fn(&mut Unit, &mut Cells),
        others: &[&str],
        circuit: impl FnOnce(&mut Circuit, &mut Cells),
    ) -> Schedule {
        let mut fixture = Fixture::new();
        let tags: Vec<String> = (1..=count).map(|n| format!("FC-{n}")).collect();
        for tag in &tags {
            fixture.unit(tag, UnitKind::Indoor, |u, cells| {
                u.mop = cells.mop(15.0);
                unit(u, cells);
            });
        }
        let mut loads: Vec<&str> = tags.iter().map(String::as_str).collect();
        loads.extend(others);
        fixture.circuit("LP", &[1, 3], &loads, |c, cells| {
            c.breaker = cells.amps(breaker);
            c.poles = cells.given(2);
            circuit(c, cells);
        });
        fixture.build()
    }

    #[test]
    fn a_tag_of_two_rows_is_no_shared_circuit() {
        let mut fixture = Fixture::new();
        for mca in [0.9, 77.0] {
            fixture.unit("FC-8", UnitKind::Indoor, |u, cells| {
                u.mca = cells.mca(mca);
                u.mop = cells.mop(15.0);
            });
        }
        fixture.circuit("LP", &[1, 3], &["FC-8"], |c, cells| {
            c.breaker = cells.amps(90.0);
            c.poles = cells.given(2);
        });
        let schedule = fixture.build();
        for rule in [&SHARED_OVER_CAPACITY, &SHARED_RATING_TOO_LARGE] {
            assert_eq!(severities(rule, &schedule, &Practice::default()), []);
            let all = outcomes(rule, &schedule);
            let open = |o: &Outcome| matches!(o.verdict, Verdict::NotChecked { .. });
            assert!(!all.is_empty() && all.iter().all(open), "{all:?}");
        }
    }

    fn by(count: usize, mca: Option<f64>, fla: Option<f64>) -> Schedule {
        job(
            count,
            15.0,
            move |u, cells| {
                if let Some(mca) = mca {
                    u.mca = cells.mca(mca);
                }
                if let Some(fla) = fla {
                    u.fla = cells.amps(fla);
                }
            },
            &[],
            |_, _| {},
        )
    }

    #[test]
    fn twelve_units_whose_full_load_currents_are_given_are_only_noted() {
        // By hand: 1.25 x 1.12 + 11 x 1.12 = 13.72 A, 91.47 % of 15 A; the
        // sum of MCA, 16.8 A, is above it and must not decide.
        let s = by(12, Some(1.4), Some(1.12));
        finds(&SHARED_OVER_CAPACITY, &s, &[Note]);
        let says = &outcomes(&SHARED_OVER_CAPACITY, &s)[0];
        assert!(says.finding().unwrap().says.contains("13.72 A"));
        let fixes = whole_audit(&s)
            .into_iter()
            .filter(|(rule, severity)| *severity == Fix && rule.starts_with("shared"));
        assert_eq!(fixes.count(), 0);
        // Without them it is a question.
        finds(&SHARED_OVER_CAPACITY, &by(12, Some(1.4), None), &[Verify]);
        meets(&SHARED_OVER_CAPACITY, &by(8, Some(0.6), Some(0.48)));
        meets(&SHARED_OVER_CAPACITY, &by(8, Some(0.6), None));
    }

    #[test]
    fn the_load_of_several_motors_at_its_limit() {
        let checks = [
            Check {
                given: vec![14.0, 14.0],
                expect: 31.5,
                source: "NEC 430.24 exercises, electriciantalk",
            },
            Check {
                given: vec![14.0, 14.0, 16.0],
                expect: 48.0,
                source: "NEC 430.24 exercises, electriciantalk",
            },
            Check {
                given: vec![14.0, 14.0, 12.0],
                expect: 43.5,
                source: "NEC 430.24 exercises, electriciantalk",
            },
        ];
        for Check {
            given,
            expect,
            source,
        } in checks
        {
            for (rating, expected) in [
                (expect - 0.1, vec![Fix]),
                (expect, vec![Note]),
                (expect / 0.8, vec![]),
                (expect / 0.8 - 0.1, vec![Note]),
            ] {
                let currents = std::cell::RefCell::new(given.clone().into_iter());
                let s = job(
                    given.len(),
                    rating,
                    |u, cells| u.fla = cells.amps(currents.borrow_mut().next().unwrap()),
                    &[],
                    |_, _| {},
                );
                for edition in Edition::ALL {
                    let practice = Practice {
                        edition,
                        ..Practice::default()
                    };
                    let found = severities(&SHARED_OVER_CAPACITY, &s, &practice);
                    assert_eq!(found, expected, "{source} {rating}");
                }
            }
        }
    }

    #[test]
    fn bounds_by_mca_alone() {
        // Sum of MCA 15.0 is within; 18.75 / 1.25 = 15.0 is not above.
        finds(&SHARED_OVER_CAPACITY, &by(10, Some(1.5), None), &[Note]);
        finds(&SHARED_OVER_CAPACITY, &by(10, Some(1.51), None), &[Verify]);
        finds(&SHARED_OVER_CAPACITY, &by(10, Some(1.875), None), &[Verify]);
        finds(&SHARED_OVER_CAPACITY, &by(10, Some(1.876), None), &[Fix]);
    }

    #[test]
    fn other_loads_leave_it_open_unless_the_units_alone_are_too_much() {
        let fill = |u: &mut Unit, cells: &mut Cells| u.fla = cells.amps(0.5);
        let s = job(2, 15.0, fill, &["RECEPTACLES"], |_, _| {});
        assert!(matches!(
            outcomes(&SHARED_OVER_CAPACITY, &s)[0].verdict,
            Verdict::NotChecked { .. }
        ));
        let s = job(
            2,
            15.0,
            |u, cells| u.fla = cells.amps(9.0),
            &["RECEPTACLES"],
            |_, _| {},
        );
        finds(&SHARED_OVER_CAPACITY, &s, &[Fix]);
        let s = job(2, 15.0, |_, _| {}, &[], |_, _| {});
        assert!(matches!(
            outcomes(&SHARED_OVER_CAPACITY, &s)[0].verdict,
            Verdict::NotChecked { .. }
        ));
        // A place behind the tags is no load.
        let s = job(2, 15.0, fill, &["LEVEL 2"], |_, _| {});
        meets(&SHARED_OVER_CAPACITY, &s);
    }

    #[test]
    fn the_smallest_mop_binds_a_shared_device() {
        let rated = |breaker: f64, mop: f64, fuse: Option<f64>| {
            job(
                3,
                breaker,
                move |u, cells| {
                    u.mop = cells.mop(mop);
                    u.fla = cells.amps(0.5);
                    if let Some(fuse) = fuse {
                        u.fuse = cells.amps(fuse);
                    }
                },
                &[],
                |_, _| {},
            )
        };
        meets(&SHARED_RATING_TOO_LARGE, &rated(15.0, 15.0, None));
        finds(&SHARED_RATING_TOO_LARGE, &rated(20.0, 15.0, None), &[Fix]);
        finds(
            &SHARED_RATING_TOO_LARGE,
            &rated(20.0, 20.0, None),
            &[Verify],
        );
        finds(
            &SHARED_RATING_TOO_LARGE,
            &rated(15.1, 20.0, None),
            &[Verify],
        );
        finds(
            &SHARED_RATING_TOO_LARGE,
            &rated(20.0, 15.0, Some(15.0)),
            &[Verify],
        );
        finds(
            &SHARED_RATING_TOO_LARGE,
            &rated(20.0, 15.0, Some(20.0)),
            &[Fix],
        );
        let fix = rated(20.0, 15.0, None);
        let outcome = &outcomes(&SHARED_RATING_TOO_LARGE, &fix)[0];
        assert_eq!(outcome.finding().unwrap().changes[0].proposed, "15");
    }

    #[test]
    fn protection_of_a_shared_circuit_is_not_judged_twice() {
        let s = job(2, 20.0, |u, cells| u.mca = cells.mca(0.6), &[], |_, _| {});
        let found = whole_audit(&s);
        assert!(
            found.contains(&("shared-rating-too-large", Fix)),
            "{found:?}"
        );
        assert!(
            !found
                .iter()
                .any(|(rule, _)| rule.starts_with("protection-"))
        );
    }
}
