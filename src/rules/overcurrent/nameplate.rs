//! The nameplate itself: MCA and MOP as the equipment's rows state them.

use crate::findings::{Finding, Outcome, Severity, Subject, Want};
use crate::practice::Practice;
use crate::rules::{Cite, Family, Rule, branch};
use crate::schedule::{Amps, Field, FieldName, NameplateAmps, Quantity, Schedule, Unit, UnitId};
use crate::sizing::nameplate::{self, Heater, NameplateLoads};
use crate::sizing::protection;
use crate::tables::Topic;
use crate::tables::ratings::Device;

/// Units whose nameplate the audit looks at.
fn units(schedule: &Schedule) -> impl Iterator<Item = (UnitId, &Unit)> {
    schedule
        .audited_units()
        .filter(|(_, unit)| branch::is_audited(unit))
}

fn not_given(id: UnitId, schedule: &Schedule, unit: &Unit) -> Outcome {
    let (field, want) = if unit.mop.is_given() {
        let want = branch::want(&unit.mca, FieldName::UnitMca);
        (schedule.anchor(&unit.mca, unit.tag.at), want)
    } else {
        let want = branch::want(&unit.mop, FieldName::UnitMop);
        (schedule.anchor(&unit.mop, unit.tag.at), want)
    };
    Outcome::not_checked(Subject::Unit(id), field, vec![want])
}

pub(super) static MOP_BELOW_MCA: Rule = Rule {
    name: "mop-below-mca",
    family: Family::Overcurrent,
    severities: &[Severity::Fix],
    summary: "MOP is below MCA: the two are swapped or mistyped",
    why: "No unit is marked so that its largest device is smaller than its least circuit. What is \
          bought by such a row is wrong whichever number is meant.",
    decides: "MOP and MCA of the unit's row are compared at the supply voltage. Two values each \
              are compared pair by pair; two against one, where the supply is unknown, leniently.",
    leaves: "Which of the two is wrong: the nameplate tells.",
    cites: &[Cite::Nameplate, Cite::Code(Topic::AcNameplate)],
    yields_to: &[],
    check: mop_below_mca,
};

fn mop_below_mca(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let mut outcomes = Vec::new();
    for (id, unit) in units(schedule) {
        let (Field::Given(mca), Field::Given(mop)) = (&unit.mca, &unit.mop) else {
            outcomes.push(not_given(id, schedule, unit));
            continue;
        };
        let below = match (mca.value, mop.value.amps) {
            (
                NameplateAmps::Two {
                    lower: mca_low,
                    higher: mca_high,
                },
                NameplateAmps::Two {
                    lower: mop_low,
                    higher: mop_high,
                },
            ) => mop_low.below(mca_low) || mop_high.below(mca_high),
            (mca, mop) => {
                let supply = branch::unit_volts(schedule, unit);
                let mca = branch::span(mca, supply);
                branch::span(mop, supply).most.below(mca.least)
            }
        };
        let outcome = if below {
            let tag = &unit.tag.value;
            let finding = Finding::fix(
                format!(
                    "MOP of {tag} is {}, below its MCA of {}: the two are swapped or one is \
                     mistyped.",
                    mop.value.amps, mca.value
                ),
                mop.value.amps.to_string(),
                format!("Read MCA and MOP of {tag} from its nameplate and correct the row."),
            )
            .field(FieldName::UnitMop)
            .limit(mca.value.to_string(), "MCA of the same row");
            Outcome::broken(Subject::Unit(id), mop.at, finding)
        } else {
            Outcome::met(Subject::Unit(id), mop.at)
        };
        outcomes.push(outcome.related(mca.at));
    }
    outcomes
}

pub(super) static MOP_NOT_STANDARD: Rule = Rule {
    name: "mop-not-standard",
    family: Family::Overcurrent,
    severities: &[Severity::Note],
    summary: "MOP is no standard rating: the next lower one binds",
    why: "The device may not be above MOP, so an MOP between two standard ratings allows the lower \
          one only; rounding up is the usual slip.",
    decides: "MOP is looked up among the standard ratings of breakers and of fuses.",
    leaves: "An odd MOP is no fault: nameplates bear what the listing gave.",
    cites: &[Cite::Nameplate, Cite::Code(Topic::StandardRatings)],
    yields_to: &["protection-over-mop"],
    check: mop_not_standard,
};

fn mop_not_standard(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    let edition = practice.edition;
    let mut outcomes = Vec::new();
    for (id, unit) in units(schedule) {
        let subject = Subject::Unit(id);
        let Field::Given(mop) = &unit.mop else {
            let want = branch::want(&unit.mop, FieldName::UnitMop);
            let at = schedule.anchor(&unit.mop, unit.tag.at);
            outcomes.push(Outcome::not_checked(subject, at, vec![want]));
            continue;
        };
        let values = match mop.value.amps {
            NameplateAmps::One(one) => vec![one],
            NameplateAmps::Two { lower, higher } => vec![lower, higher],
        };
        let odd = values.into_iter().find(|&amps| {
            !protection::is_standard(amps, Device::Breaker, edition)
                && !protection::is_standard(amps, Device::Fuse, edition)
        });
        let lower = odd.and_then(|odd| {
            protection::standard_at_or_below(odd, Device::Breaker, edition)
                .map(|lower| (odd, lower.value))
        });
        outcomes.push(match lower {
            None => Outcome::met(subject, mop.at),
            Some((odd, lower)) => {
                let tag = &unit.tag.value;
                let finding = Finding::note(
                    format!(
                        "MOP of {tag} is {odd}, which is no standard rating: the largest device \
                         that it allows is {lower}."
                    ),
                    odd,
                    format!("Protect {tag} at {lower} or less; do not round up."),
                )
                .field(FieldName::UnitMop)
                .limit(lower, "next lower standard rating");
                Outcome::broken(subject, mop.at, finding)
            }
        });
    }
    outcomes
}

pub(super) static NAMEPLATE_MISSING: Rule = Rule {
    name: "nameplate-missing",
    family: Family::Overcurrent,
    severities: &[Severity::Verify],
    summary: "MCA or MOP of some units is absent",
    why: "Without them neither conductor nor device can be shown to be right.",
    decides: "A table that states MCA and MOP for some units leaves them open for this one. Where \
              RLA and FLA are given the value is computed from them, said so, and never decides a \
              fix.",
    leaves: "A column that is wholly absent or empty is not checked, once a table.",
    cites: &[Cite::Nameplate, Cite::Code(Topic::AcNameplate)],
    yields_to: &[],
    check: missing,
};

fn missing(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    let all: Vec<_> = units(schedule).collect();
    let any_mca = all.iter().any(|(_, unit)| unit.mca.is_given());
    let any_mop = all.iter().any(|(_, unit)| unit.mop.is_given());
    let mut outcomes = Vec::new();
    if let Some((_, first)) = all.first() {
        let table = first.tag.at.table;
        for (any, field) in [(any_mca, FieldName::UnitMca), (any_mop, FieldName::UnitMop)] {
            if !any {
                let place = crate::schedule::Place::Table(table);
                outcomes.push(Outcome::wants(Subject::Table(table), place, field));
            }
        }
    }
    if !any_mca && !any_mop {
        return outcomes;
    }
    // A row of unknown kind may need no nameplate: what it is, is asked first.
    for (id, unit) in all.into_iter().filter(|(_, unit)| unit.kind().is_some()) {
        // A cell that cannot be read has a finding of its own.
        let unread = |field: FieldName, at| Outcome::wants(Subject::Unit(id), at, field);
        if let Field::Unreadable(at) = unit.mca {
            outcomes.push(unread(FieldName::UnitMca, at));
        }
        if let Field::Unreadable(at) = unit.mop {
            outcomes.push(unread(FieldName::UnitMop, at));
        }
        let mca = any_mca && matches!(unit.mca, Field::Blank(_) | Field::Unknown(_));
        let mop = any_mop && matches!(unit.mop, Field::Blank(_) | Field::Unknown(_));
        let subject = Subject::Unit(id);
        let at = if mca || !mop {
            schedule.anchor(&unit.mca, unit.tag.at)
        } else {
            schedule.anchor(&unit.mop, unit.tag.at)
        };
        if !mca && !mop {
            outcomes.push(Outcome::met(subject, at));
            continue;
        }
        let (what, are) = match (mca, mop) {
            (true, true) => ("MCA and MOP", "are"),
            (true, false) => ("MCA", "is"),
            _ => ("MOP", "is"),
        };
        let tag = &unit.tag.value;
        let mut says = format!("{what} of {tag} {are} not given.");
        let mut outcome_steps = Vec::new();
        let heat = branch::heater_amps(unit, branch::unit_volts(schedule, unit));
        let loads = loads(unit, heat.map(|heat| heat.most)).filter(|_| !others_untold(unit));
        if let Some(loads) = loads {
            if mca && let Some(worked) = nameplate::mca(&loads, practice.edition) {
                let amps = worked.value;
                let how = worked.steps.last().map_or("", |step| step.how.as_str());
                says.push_str(&format!(
                    " Its currents would make an MCA of {amps} ({how})."
                ));
                outcome_steps.extend(worked.steps);
            }
            if mop
                && unit.rla.is_given()
                && let Some(worked) = nameplate::mop_bounds(&loads, practice.edition)
            {
                says.push_str(&format!(
                    " They would make an MOP of {} to {}.",
                    worked.value.first_choice, worked.value.upper
                ));
                outcome_steps.extend(worked.steps);
            }
        }
        let field = if mca {
            FieldName::UnitMca
        } else {
            FieldName::UnitMop
        };
        let remedy = format!("Give {what} of {tag} from its nameplate.");
        let finding = Finding::verify(says, "not given", remedy).field(field);
        outcomes.push(Outcome::broken(subject, at, finding).steps(outcome_steps));
    }
    outcomes
}

/// The loads of a nameplate as the row states them; `heat`: its heater's
/// current, to be counted too.
fn loads(unit: &Unit, heat: Option<Amps>) -> Option<NameplateLoads> {
    let compressors: Vec<Amps> = unit.rla.copied().into_iter().collect();
    let others: Vec<Amps> = unit.fla.copied().into_iter().collect();
    if compressors.is_empty() && others.is_empty() {
        return None;
    }
    // Without the compressor's current, or with a heater that the row does
    // not tell of, the rest is no sum of the nameplate's loads.
    let heat_untold = branch::heat_untold(unit) || unit.heat_kw.is_elsewhere();
    if (unit.is_outdoor() && compressors.is_empty()) || heat_untold {
        return None;
    }
    Some(NameplateLoads {
        compressors,
        others,
        heater: heat.map(|amps| Heater {
            amps,
            rating: unit.heat_kw.copied(),
        }),
    })
}

pub(super) static NAMEPLATE_DISAGREES: Rule = Rule {
    name: "nameplate-disagrees",
    family: Family::Overcurrent,
    severities: &[Severity::Verify],
    summary: "MCA or MOP of the row cannot come from the currents of the same row",
    why: "A row whose numbers do not fit each other was often copied from another model; what is \
          bought by it does not fit the unit that comes.",
    decides: "MCA is compared with 1.25 times the compressor's current and the rest, within the \
              profile's tolerance and a tenth of an ampere; MOP with 2.25 times the compressor and \
              the rest, taken down to a standard rating. With a heater both are computed with it \
              and without, and one of them is enough.",
    leaves: "An MOP under the formula is normal. Units of several compressors, where the row gives \
             the current of one: answer with the nameplate. No table of nameplates is held.",
    cites: &[
        Cite::Code(Topic::AcConductorSeveral),
        Cite::Code(Topic::AcProtection),
        Cite::Nameplate,
    ],
    yields_to: &["mop-below-mca"],
    check: disagrees,
};

fn disagrees(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    let mut outcomes = Vec::new();
    for (id, unit) in units(schedule) {
        let subject = Subject::Unit(id);
        // The fan of an outdoor unit is not all that it draws.
        if unit.kind().is_none() && !unit.rla.is_given() && unit.fla.is_given() {
            let at = schedule.anchor(&unit.kind, unit.tag.at);
            let wants = vec![Want::Field(FieldName::UnitKind)];
            outcomes.push(Outcome::not_checked(subject, at, wants));
            continue;
        }
        let Some(without) = loads(unit, None) else {
            let at = schedule.anchor(&unit.rla, unit.tag.at);
            let wants = wanted_loads(unit);
            outcomes.push(Outcome::not_checked(subject, at, wants));
            continue;
        };
        if !unit.mca.is_given() && !unit.mop.is_given() {
            outcomes.push(not_given(id, schedule, unit));
            continue;
        }
        let supply = branch::unit_volts(schedule, unit);
        let mut cases = vec![without];
        if let Some(heat) = branch::heater_amps(unit, supply) {
            cases.extend(loads(unit, Some(heat.least)));
            cases.extend(loads(unit, Some(heat.most)));
        }
        let found = [
            mca_disagrees(schedule, practice, unit, &cases),
            mop_disagrees(schedule, practice, unit, &cases),
        ];
        let before = outcomes.len();
        for (place, finding) in found.into_iter().flatten() {
            outcomes.push(Outcome::broken(subject, place, finding).related(unit.tag.at));
        }
        if outcomes.len() == before {
            let at = schedule.anchor(&unit.mca, unit.tag.at);
            let wants = wanted_plate(unit);
            outcomes.push(if wants.is_empty() {
                Outcome::met(subject, at)
            } else {
                Outcome::not_checked(subject, at, wants)
            });
        }
    }
    outcomes
}

/// What is missing of the currents that a nameplate is computed from.
fn wanted_loads(unit: &Unit) -> Vec<Want> {
    let rated = unit.rla.is_given() || unit.fla.is_given() && !unit.is_outdoor();
    if rated {
        return vec![branch::want(&unit.heat_kw, FieldName::UnitHeatKw)];
    }
    vec![
        Want::Field(FieldName::UnitRla),
        Want::Field(FieldName::UnitFla),
    ]
}

/// Without its other loads a unit's compressor gives a lower bound alone.
fn others_untold(unit: &Unit) -> bool {
    unit.rla.is_given() && !unit.fla.is_given()
}

/// What is missing to call the nameplate right.
fn wanted_plate(unit: &Unit) -> Vec<Want> {
    let mut wants = Vec::new();
    if !unit.mca.is_given() {
        wants.push(branch::want(&unit.mca, FieldName::UnitMca));
    }
    // MOP is bounded by the compressor's current alone.
    if unit.rla.is_given() && !unit.mop.is_given() {
        wants.push(branch::want(&unit.mop, FieldName::UnitMop));
    }
    if others_untold(unit) {
        wants.push(Want::Field(FieldName::UnitFla));
    }
    wants
}

type Found = Option<(crate::schedule::Place, Finding)>;

fn mca_disagrees(
    schedule: &Schedule,
    practice: &Practice,
    unit: &Unit,
    cases: &[NameplateLoads],
) -> Found {
    let mca = branch::mca(unit, branch::unit_volts(schedule, unit))?;
    let tolerance = practice.nameplate_tolerance;
    let mut computed = Vec::new();
    for loads in cases {
        let worked = nameplate::mca(loads, practice.edition)?;
        // A tenth of an ampere: both MCA and currents are printed rounded.
        let slack = Amps((worked.value.0 * tolerance.0 / 100.0).max(0.1));
        let agrees = !mca.most.below(worked.value - slack)
            && (others_untold(unit) || !mca.least.exceeds(worked.value + slack));
        if agrees {
            return None;
        }
        computed.push(worked);
    }
    let worked = computed.into_iter().next()?;
    let how = worked
        .steps
        .last()
        .map_or("", |step| step.how.as_str())
        .to_owned();
    let tag = &unit.tag.value;
    let finding = Finding::verify(
        format!(
            "MCA of {tag} is {}; its currents make {} ({how}), more than {tolerance} off.",
            mca.described(),
            worked.value
        ),
        mca.least,
        format!("Read MCA, RLA and FLA of {tag} from its nameplate."),
    )
    .field(FieldName::UnitMca)
    .limit(worked.value, how)
    .profile("nameplate_tolerance");
    Some((schedule.anchor(&unit.mca, unit.tag.at), finding))
}

fn mop_disagrees(
    schedule: &Schedule,
    practice: &Practice,
    unit: &Unit,
    cases: &[NameplateLoads],
) -> Found {
    // No section gives a bound for units without a compressor.
    unit.rla.get()?;
    if others_untold(unit) {
        return None;
    }
    let mop = branch::mop(unit, branch::unit_volts(schedule, unit))?;
    let mut bounds = Vec::new();
    for loads in cases {
        bounds.push(nameplate::mop_bounds(loads, practice.edition)?);
    }
    let worked = bounds.into_iter().reduce(|a, b| {
        if b.value.upper.exceeds(a.value.upper) {
            b
        } else {
            a
        }
    })?;
    let upper = worked.value.upper;
    if !mop.least.exceeds(upper) {
        return None;
    }
    let how = worked
        .steps
        .last()
        .map_or("", |step| step.how.as_str())
        .to_owned();
    let tag = &unit.tag.value;
    let finding = Finding::verify(
        format!(
            "MOP of {tag} is {}, above the {upper} that its currents allow at most ({how}).",
            mop.described()
        ),
        mop.least,
        format!("Read MOP, RLA and FLA of {tag} from its nameplate."),
    )
    .field(FieldName::UnitMop)
    .limit(upper, how);
    Some((schedule.anchor(&unit.mop, unit.tag.at), finding))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::testing::{Check, finds, meets, outcomes};
    use crate::schedule::UnitKind;
    use crate::schedule::fixture::{Cells, Fixture};
    use Severity::{Fix, Note, Verify};

    fn unit(fill: impl FnOnce(&mut Unit, &mut Cells)) -> Schedule {
        Fixture::new().unit("OU-1", UnitKind::Outdoor, fill).build()
    }

    fn plate(mca: f64, mop: f64) -> Schedule {
        unit(|u, cells| {
            u.mca = cells.mca(mca);
            u.mop = cells.mop(mop);
        })
    }

    #[test]
    fn mop_and_mca_may_be_equal_and_not_swapped() {
        finds(&MOP_BELOW_MCA, &plate(35.1, 35.0), &[Fix]);
        meets(&MOP_BELOW_MCA, &plate(35.0, 35.0));
        meets(&MOP_BELOW_MCA, &plate(34.9, 35.0));
        let pair = |lower, higher| NameplateAmps::Two {
            lower: Amps(lower),
            higher: Amps(higher),
        };
        let two = |mca, mop| {
            unit(|u, cells| {
                u.mca = cells.given(mca);
                u.mop = cells.given(crate::schedule::Mop {
                    amps: mop,
                    fuses_only: false,
                });
            })
        };
        meets(
            &MOP_BELOW_MCA,
            &two(pair(42.7, 46.7), NameplateAmps::One(Amps(45.0))),
        );
        finds(
            &MOP_BELOW_MCA,
            &two(pair(42.7, 46.7), pair(60.0, 45.0)),
            &[Fix],
        );
    }

    #[test]
    fn an_odd_mop_binds_downward_and_is_only_noted() {
        finds(&MOP_NOT_STANDARD, &plate(20.0, 52.0), &[Note]);
        let outcome = &outcomes(&MOP_NOT_STANDARD, &plate(20.0, 52.0))[0];
        assert_eq!(
            outcome
                .finding()
                .and_then(|f| f.limit.clone())
                .map(|l| l.value),
            Some(Amps(50.0).into())
        );
        meets(&MOP_NOT_STANDARD, &plate(20.0, 50.0));
        meets(&MOP_NOT_STANDARD, &plate(2.0, 6.0));
    }

    #[test]
    fn an_mop_that_is_missing_for_some_is_asked_for() {
        let job = |second: fn(&mut Unit, &mut Cells)| {
            Fixture::new()
                .unit("OU-1", UnitKind::Outdoor, |u, cells| {
                    u.mca = cells.mca(20.0);
                    u.mop = cells.mop(30.0);
                })
                .unit("FC-1", UnitKind::Indoor, second)
                .build()
        };
        finds(
            &NAMEPLATE_MISSING,
            &job(|u, cells| {
                u.mca = cells.blank();
                u.mop = cells.mop(15.0);
                u.fla = cells.amps(0.5);
            }),
            &[Verify],
        );
        finds(
            &NAMEPLATE_MISSING,
            &job(|u, cells| {
                u.mca = cells.mca(1.0);
                u.mop = Field::Unknown(cells.cell());
            }),
            &[Verify],
        );
        finds(
            &NAMEPLATE_MISSING,
            &job(|u, cells| {
                u.mca = Field::Elsewhere(cells.cell());
                u.mop = Field::Elsewhere(cells.cell());
            }),
            &[],
        );
        let none = outcomes(&NAMEPLATE_MISSING, &unit(|_, _| {}));
        assert_eq!(none.len(), 2, "once a table and field: {none:?}");
    }

    #[test]
    fn published_nameplates_agree_with_their_currents() {
        let checks = [
            Check {
                given: (18.0, 0.0),
                expect: (22.5, 40.0),
                source: "EC&M, Stumped by the Code? (April 2022)",
            },
            Check {
                given: (24.0, 0.0),
                expect: (30.0, 50.0),
                source: "EC&M, Code Q&A: Air-Conditioner Calculations",
            },
            Check {
                // MCA by hand: 1.25 x 20 + 2.5.
                given: (20.0, 2.5),
                expect: (27.5, 45.0),
                source: "EC&M, Quizzes on the Code 1",
            },
        ];
        for Check {
            given: (rla, fla),
            expect: (mca, mop),
            source,
        } in checks
        {
            let job = |mca: f64, mop: f64| {
                unit(|u, cells| {
                    u.rla = cells.amps(rla);
                    u.fla = cells.amps(fla);
                    u.mca = cells.mca(mca);
                    u.mop = cells.mop(mop);
                })
            };
            assert!(!source.is_empty());
            meets(&NAMEPLATE_DISAGREES, &job(mca, mop));
            meets(&NAMEPLATE_DISAGREES, &job(mca * 1.1, mop));
            meets(&NAMEPLATE_DISAGREES, &job(mca, mop - 15.0));
            finds(&NAMEPLATE_DISAGREES, &job(mca * 1.12, mop), &[Verify]);
            finds(&NAMEPLATE_DISAGREES, &job(mca * 0.88, mop), &[Verify]);
            finds(&NAMEPLATE_DISAGREES, &job(mca, mop + 5.0), &[Verify]);
        }
    }

    #[test]
    fn a_heater_may_be_in_the_nameplate_or_not() {
        for mca in [3.8, 53.8] {
            let s = unit(|u, cells| {
                u.fla = cells.amps(3.0);
                u.mca = cells.mca(mca);
                u.heat_kw = cells.given(crate::schedule::Kilowatts(9.6));
                u.heat_volts = cells.given(crate::schedule::Volts(240.0));
            });
            finds(&NAMEPLATE_DISAGREES, &s, &[]);
        }
    }
}
