//! Disconnects, and ground-fault protection of outdoor units.

use crate::findings::{Finding, Outcome, Severity, Subject, Want};
use crate::practice::Practice;
use crate::rules::{Cite, Family, Rule, branch};
use crate::schedule::{
    Amps, CellId, Disconnect, Field, FieldName, Located, Place, Quantity, Schedule, Unit, UnitId,
};
use crate::sizing::disconnect;
use crate::tables::{Topic, limits};
use std::collections::BTreeSet;

fn units(schedule: &Schedule) -> impl Iterator<Item = (UnitId, &Unit)> {
    schedule.audited_units().filter(|(_, unit)| {
        branch::is_audited(unit) && unit.kind().is_some_and(|kind| kind.needs_supply())
    })
}

/// A disconnect is named for the unit: in its row, or with its circuit.
fn named(schedule: &Schedule, unit: &Unit) -> bool {
    let there = |field: &Field<Disconnect>| field.is_given() || field.is_elsewhere();
    let fused = |field: &Field<Amps>| field.is_given() || field.is_elsewhere();
    there(&unit.disconnect)
        || fused(&unit.fuse)
        || unit.circuits.iter().any(|(id, _)| {
            let circuit = schedule.circuit(*id);
            there(&circuit.disconnect) || fused(&circuit.fuse)
        })
}

pub(super) static DISCONNECT_MISSING: Rule = Rule {
    name: "disconnect-missing",
    family: Family::Supply,
    severities: &[Severity::Verify],
    summary: "a unit has no disconnect named, where others have one",
    why: "Each outdoor unit needs a disconnect in its sight; the one that is forgotten is found at \
          the inspection.",
    decides: "The same table names a disconnect for other units (for an indoor unit: for other \
              indoor units), and neither this unit's row nor its circuit names one.",
    leaves: "Schedules that name none at all. Whether an indoor unit needs one in its sight is read \
             differently: ask the AHJ.",
    cites: &[Cite::Code(Topic::AcDisconnectInSight), Cite::OurReading],
    yields_to: &[],
    check: missing,
};

fn missing(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let all: Vec<_> = units(schedule).collect();
    let Some((_, first)) = all.first() else {
        return Vec::new();
    };
    if !all.iter().any(|(_, unit)| named(schedule, unit)) {
        let table = first.tag.at.table;
        let subject = Subject::Table(table);
        let place = Place::Table(table);
        return vec![Outcome::wants(subject, place, FieldName::UnitDisconnect)];
    }
    let tables: BTreeSet<(u32, bool)> = all
        .iter()
        .filter(|(_, unit)| named(schedule, unit))
        .map(|(_, unit)| (unit.tag.at.table, unit.is_outdoor()))
        .collect();
    // Of one table: a schedule of outdoor units may name them where that of
    // indoor units has no such column.
    all.iter()
        .map(|(id, unit)| {
            let subject = Subject::Unit(*id);
            let circuit = unit.circuits.first().map(|(id, _)| schedule.circuit(*id));
            let empty = match (&unit.disconnect, circuit.map(|c| &c.disconnect)) {
                (Field::Blank(Some(at)) | Field::Unknown(at), _) => Some(*at),
                (_, Some(Field::Blank(Some(at)) | Field::Unknown(at))) => Some(*at),
                _ => None,
            };
            if named(schedule, unit) {
                return Outcome::met(subject, unit.tag.at);
            }
            // Only outdoor units are commonly given one: an indoor unit is held
            // against indoor units alone.
            let like = tables.contains(&(unit.tag.at.table, false))
                || unit.is_outdoor() && tables.contains(&(unit.tag.at.table, true));
            let at = match empty {
                Some(at) if like => at,
                _ => return Outcome::wants(subject, unit.tag.at, FieldName::UnitDisconnect),
            };
            let tag = &unit.tag.value;
            let finding = Finding::verify(
                format!("No disconnect is named for {tag}; other units of the schedule have one."),
                "none named",
                format!("Name the disconnect of {tag}, in its sight, or ask the AHJ whether it needs one."),
            )
            .field(FieldName::UnitDisconnect);
            Outcome::broken(subject, at, finding)
        })
        .collect()
}

pub(super) static DISCONNECT_UNDERRATED: Rule = Rule {
    name: "disconnect-underrated",
    family: Family::Supply,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "the disconnect is below 115 % of the unit's rated currents, or below its own fuse",
    why: "It has to interrupt and carry the running unit; a switch below its fuse is no listed \
          combination.",
    decides: "The switch's rating against 1.15 times RLA and FLA. With MCA alone a switch below \
              0.92 MCA is a fix and one below 1.15 MCA a question. A fuse above its switch is a \
              fix. Where a fused disconnect names one number, which may be the fuse's, it is a \
              question.",
    leaves: "Its horsepower rating and its enclosure. Units with strip heat whose MCA does not \
             include the heater.",
    cites: &[Cite::Code(Topic::AcDisconnect), Cite::Nameplate],
    yields_to: &[],
    check: underrated,
};

fn underrated(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    let mut outcomes = Vec::new();
    for (id, unit) in units(schedule) {
        let Some(found) = disconnect_of(schedule, unit) else {
            let at = schedule.anchor(&unit.disconnect, unit.tag.at);
            let want = branch::want(&unit.disconnect, FieldName::UnitDisconnect);
            outcomes.push(Outcome::not_checked(Subject::Unit(id), at, vec![want]));
            continue;
        };
        outcomes.push(judge_rating(schedule, practice, (id, unit), found));
    }
    outcomes
}

/// The disconnect of the unit's row, else of a circuit that it has alone.
fn disconnect_of(schedule: &Schedule, unit: &Unit) -> Option<Located<Disconnect>> {
    if let Field::Given(found) = &unit.disconnect {
        return Some(*found);
    }
    let [(circuit, _)] = unit.circuits[..] else {
        return None;
    };
    let circuit = schedule.circuit(circuit);
    match &circuit.disconnect {
        Field::Given(found) if circuit.units().len() == 1 => Some(*found),
        _ => None,
    }
}

fn judge_rating(
    schedule: &Schedule,
    practice: &Practice,
    (id, unit): (UnitId, &Unit),
    found: Located<Disconnect>,
) -> Outcome {
    let subject = Subject::Unit(id);
    let tag = &unit.tag.value;
    let Some(switch) = found.value.amps else {
        return Outcome::wants(subject, found.at, FieldName::UnitDisconnect);
    };
    let fuse = own_fuse(schedule, unit, found.value);
    if let Some((fuse, at)) = fuse
        && fuse.exceeds(switch)
    {
        let finding = Finding::fix(
            format!("The disconnect of {tag} is a switch of {switch} with fuses of {fuse}."),
            switch,
            format!("Choose a switch of at least {fuse}."),
        )
        .field(FieldName::UnitDisconnect)
        .limit(fuse, "its own fuses");
        return Outcome::broken(subject, found.at, finding).related_all(at);
    }
    let supply = branch::unit_volts(schedule, unit);
    if unit.has_strip_heat() && branch::mca_includes_heat(unit, supply) != Some(true) {
        let want = match &unit.mca {
            Field::Given(_) => Want::Fact("an MCA that includes the heater"),
            blank => branch::want(blank, FieldName::UnitMca),
        };
        return Outcome::not_checked(subject, found.at, vec![want]);
    }
    // A compressor's current alone is a lower bound.
    let bound = unit
        .rla
        .copied()
        .filter(|_| !unit.mca.is_given() && !unit.fla.is_given());
    let needed = match bound {
        Some(rla) => {
            let worked = disconnect::least_rating(&[rla], practice.edition);
            let how = worked.steps.last().map(|step| step.how.clone());
            Some((worked.value, worked.value, how.unwrap_or_default()))
        }
        None => needed(practice, unit, supply),
    };
    let Some((least, most, how)) = needed else {
        return Outcome::wants(subject, found.at, FieldName::UnitMca);
    };
    if bound.is_some() && !switch.below(most) {
        return Outcome::wants(subject, found.at, FieldName::UnitFla);
    }
    if !switch.below(most) {
        return if branch::heat_untold(unit) && !unit.mca.is_given() {
            Outcome::wants(subject, found.at, FieldName::UnitHeatKw)
        } else {
            Outcome::met(subject, found.at)
        };
    }
    // `30A fused` may name the fuses.
    let may_be_fuse = found.value.fused == Some(true) && fuse.is_none();
    let sure = switch.below(least) && !may_be_fuse;
    let size = disconnect::switch_size(most).map_or(most, |size| size.value);
    let says =
        format!("The disconnect of {tag} is rated {switch}; it needs {least} at least ({how}).");
    let says = if least == most || sure {
        says
    } else {
        format!(
            "The disconnect of {tag} is rated {switch}; by its MCA it needs between {least} and \
             {most} ({how}): the rated currents decide."
        )
    };
    let remedy = if sure {
        format!("Choose a switch of {size}.")
    } else {
        format!("Give RLA and FLA of {tag} and the switch's rating, or choose a switch of {size}.")
    };
    let severity = if sure {
        Severity::Fix
    } else {
        Severity::Verify
    };
    let finding = Finding::new(severity, says, switch, remedy)
        .field(FieldName::UnitDisconnect)
        .limit(least, how);
    Outcome::broken(subject, found.at, finding)
}

fn own_fuse(
    schedule: &Schedule,
    unit: &Unit,
    disconnect: Disconnect,
) -> Option<(Amps, Option<CellId>)> {
    if let Some(fuse) = disconnect.fuse {
        return Some((fuse, None));
    }
    if let Field::Given(fuse) = &unit.fuse {
        return Some((fuse.value, Some(fuse.at)));
    }
    let [(circuit, _)] = unit.circuits[..] else {
        return None;
    };
    let circuit = schedule.circuit(circuit);
    match &circuit.fuse {
        Field::Given(fuse) if circuit.units().len() == 1 => Some((fuse.value, Some(fuse.at))),
        _ => None,
    }
}

/// The rating that is needed, in bounds, and how it came about.
fn needed(
    practice: &Practice,
    unit: &Unit,
    supply: Option<crate::schedule::Volts>,
) -> Option<(Amps, Amps, String)> {
    let rated: Vec<Amps> = [unit.rla.copied(), unit.fla.copied()]
        .into_iter()
        .flatten()
        .collect();
    // An outdoor unit's FLA alone is its fan's, an RLA alone its compressor's.
    let whole = branch::full_load(unit).is_some();
    let rating = |heat: Option<Amps>| {
        let loads: Vec<Amps> = rated.iter().copied().chain(heat).collect();
        let worked = disconnect::least_rating(&loads, practice.edition);
        let how = worked.steps.last().map(|step| step.how.clone());
        (worked.value, how.unwrap_or_default())
    };
    if whole {
        match branch::heater_amps(unit, supply) {
            None if !unit.has_strip_heat() => {
                let (amps, how) = rating(None);
                return Some((amps, amps, how));
            }
            // Resistance loads count at their rated current, as the rest does.
            Some(heat) => {
                let (least, _) = rating(Some(heat.least));
                let (most, how) = rating(Some(heat.most));
                return Some((least, most, how));
            }
            None => {}
        }
    }
    let mca = branch::mca(unit, supply)?;
    let bounds = |mca| disconnect::bounds_by_mca(mca, practice.edition).value;
    let how = format!("115 % of MCA {} / 1.25, and of MCA", mca.described());
    Some((bounds(mca.least).0, bounds(mca.most).1, how))
}

pub(super) static GROUND_FAULT_PROTECTION: Rule = Rule {
    name: "ground-fault-protection",
    family: Family::Supply,
    severities: &[Severity::Note],
    summary: "the adopted edition speaks of ground-fault protection for a dwelling's outdoor unit",
    why: "Inspectors differ and states amend it; a breaker of another kind is dear to add after the \
          panel is bought.",
    decides: "An outdoor unit of a dwelling on a single-phase circuit of at most 150 V to ground, \
              with a breaker within the edition's limit.",
    leaves: "Local amendments and the device that is listed for the unit: ask the AHJ.",
    cites: &[Cite::Code(Topic::OutdoorGfci)],
    yields_to: &[],
    check: ground_fault,
};

fn ground_fault(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    if practice
        .customer
        .is_some_and(|customer| !customer.is_dwelling())
    {
        return Vec::new();
    }
    units(schedule)
        .filter(|(_, unit)| unit.is_outdoor())
        .map(|(id, unit)| judge_ground_fault(schedule, practice, id, unit))
        .collect()
}

fn judge_ground_fault(
    schedule: &Schedule,
    practice: &Practice,
    id: UnitId,
    unit: &Unit,
) -> Outcome {
    let subject = Subject::Unit(id);
    let met = || Outcome::met(subject, unit.tag.at);
    let Some(asked) = limits::outdoor_gfci(practice.edition) else {
        return met();
    };
    let wants = |field| Outcome::wants(subject, unit.tag.at, field);
    if practice.customer.is_none() {
        return wants(FieldName::JobCustomer);
    }
    let Some(&(circuit_id, _)) = unit.circuits.first() else {
        return wants(FieldName::CircuitLoads);
    };
    let circuit = schedule.circuit(circuit_id);
    let Some(phases) = unit.supply.get().and_then(|supply| supply.phases) else {
        return wants(FieldName::UnitPhase);
    };
    let to_ground = schedule
        .supply_of(circuit)
        .and_then(|panel| panel.value.line_to_neutral);
    let Some(to_ground) = to_ground else {
        return wants(branch::volts_field(circuit));
    };
    let Field::Given(breaker) = &circuit.breaker else {
        let want = branch::want(&circuit.breaker, FieldName::CircuitBreaker);
        return Outcome::not_checked(subject, unit.tag.at, vec![want]);
    };
    let limit = asked.value;
    if phases != 1 || to_ground.exceeds(limit.volts_to_ground) || breaker.value.exceeds(limit.amps)
    {
        return met();
    }
    let tag = &unit.tag.value;
    let mut says = format!(
        "{} asks for ground-fault protection of outdoor outlets of dwellings up to {} and {} to \
         ground; {tag} is on {} at {to_ground} to ground.",
        practice.edition, limit.amps, limit.volts_to_ground, breaker.value
    );
    if let Some((year, month, day)) = limit.excepted_until {
        says.push_str(&format!(
            " Listed air-conditioning equipment was excepted until {year}-{month:02}-{day:02}."
        ));
    }
    if limit.class_c_excepted {
        says.push_str(" Listed devices of Class C are excepted (from memory).");
    }
    let finding = Finding::note(
        says,
        breaker.value,
        "Ask the AHJ which protection is asked for, before the breaker is bought.",
    )
    .field(FieldName::CircuitBreaker)
    .limit(limit.amps, "circuits up to this rating")
    .profile("edition");
    Outcome::broken(subject, breaker.at, finding).related(unit.tag.at)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::testing::{Check, finds, meets, outcomes, severities};
    use crate::schedule::fixture::{Cells, Fixture};
    use crate::schedule::{CustomerType, Edition, PanelSupply, UnitKind, Volts};
    use Severity::{Fix, Note, Verify};

    fn switch(amps: f64, fuse: Option<f64>) -> Disconnect {
        Disconnect {
            amps: Some(Amps(amps)),
            fused: fuse.map(|_| true),
            fuse: fuse.map(Amps),
        }
    }

    fn job(fill: impl FnOnce(&mut Unit, &mut Cells)) -> Schedule {
        Fixture::new()
            .unit("OU-1", UnitKind::Outdoor, fill)
            .circuit("LP", &[1, 3], &["OU-1"], |_, _| {})
            .build()
    }

    #[test]
    fn published_disconnect() {
        let check = Check {
            given: (29.0, 2.5),
            expect: 36.225,
            source: "EC&M, Quizzes on the Code 36: 36.2 A, a 60 A switch",
        };
        for edition in Edition::ALL {
            let practice = Practice {
                edition,
                ..Practice::default()
            };
            for (amps, expect) in [
                (60.0, vec![]),
                (check.expect, vec![]),
                (check.expect - 0.01, vec![Fix]),
                (30.0, vec![Fix]),
            ] {
                let s = job(|u, cells| {
                    u.rla = cells.amps(check.given.0);
                    u.fla = cells.amps(check.given.1);
                    u.disconnect = cells.given(switch(amps, None));
                });
                assert_eq!(
                    severities(&DISCONNECT_UNDERRATED, &s, &practice),
                    expect,
                    "{}",
                    check.source
                );
            }
        }
    }

    #[test]
    fn by_mca_alone_there_is_a_band() {
        // By hand: 0.92 x 50 = 46, 1.15 x 50 = 57.5.
        let s = |amps| {
            job(|u, cells| {
                u.mca = cells.mca(50.0);
                u.disconnect = cells.given(switch(amps, None));
            })
        };
        finds(&DISCONNECT_UNDERRATED, &s(45.9), &[Fix]);
        finds(&DISCONNECT_UNDERRATED, &s(46.0), &[Verify]);
        finds(&DISCONNECT_UNDERRATED, &s(57.4), &[Verify]);
        meets(&DISCONNECT_UNDERRATED, &s(57.5));
        finds(
            &DISCONNECT_UNDERRATED,
            &job(|u, cells| u.disconnect = cells.given(switch(60.0, None))),
            &[],
        );
    }

    #[test]
    fn a_switch_is_not_below_its_fuse_and_one_number_may_be_the_fuse() {
        let fused = |amps, fuse| {
            job(|u, cells| {
                u.mca = cells.mca(20.0);
                u.disconnect = cells.given(switch(amps, Some(fuse)));
            })
        };
        finds(&DISCONNECT_UNDERRATED, &fused(30.0, 35.0), &[Fix]);
        meets(&DISCONNECT_UNDERRATED, &fused(30.0, 30.0));
        let one = job(|u, cells| {
            u.mca = cells.mca(40.0);
            u.disconnect = cells.given(Disconnect {
                amps: Some(Amps(35.0)),
                fused: Some(true),
                fuse: None,
            });
        });
        finds(&DISCONNECT_UNDERRATED, &one, &[Verify]);
    }

    #[test]
    fn one_without_among_others_is_asked_about() {
        let two = |second: fn(&mut Unit, &mut Cells)| {
            Fixture::new()
                .unit("OU-1", UnitKind::Outdoor, |u, cells| {
                    u.disconnect = cells.given(switch(60.0, None))
                })
                .unit("OU-2", UnitKind::Outdoor, second)
                .build()
        };
        finds(
            &DISCONNECT_MISSING,
            &two(|u, cells| u.disconnect = cells.blank()),
            &[Verify],
        );
        meets(
            &DISCONNECT_MISSING,
            &two(|u, cells| u.disconnect = Field::Elsewhere(cells.cell())),
        );
        finds(&DISCONNECT_MISSING, &two(|_, _| {}), &[]);
        let indoor = Fixture::new()
            .unit("OU-1", UnitKind::Outdoor, |u, cells| {
                u.disconnect = cells.given(switch(60.0, None))
            })
            .unit("FC-1", UnitKind::Indoor, |u, cells| {
                u.disconnect = cells.blank()
            })
            .build();
        finds(&DISCONNECT_MISSING, &indoor, &[]);
        let none = outcomes(
            &DISCONNECT_MISSING,
            &job(|u, cells| u.disconnect = cells.blank()),
        );
        assert_eq!(none.len(), 1);
        assert!(none[0].finding().is_none());
    }

    #[test]
    fn ground_fault_protection_by_edition() {
        let s = |breaker: f64, phases: u8| {
            Fixture::new()
                .unit("OU-1", UnitKind::Outdoor, |u, cells| {
                    u.supply = cells.supply(&[208, 230], phases)
                })
                .circuit("LP", &[1, 3], &["OU-1"], |c, cells| {
                    c.breaker = cells.amps(breaker)
                })
                .panel("LP", |p, cells| {
                    p.supply = cells.given(PanelSupply {
                        line_to_line: Volts(240.0),
                        line_to_neutral: Some(Volts(120.0)),
                        phases: Some(1),
                    })
                })
                .build()
        };
        for (edition, at_50, at_60, at_70) in [
            (Edition::Nec2017, vec![], vec![], vec![]),
            (Edition::Nec2020, vec![Note], vec![], vec![]),
            (Edition::Nec2023, vec![Note], vec![], vec![]),
            (Edition::Nec2026, vec![Note], vec![Note], vec![]),
        ] {
            let practice = Practice {
                edition,
                customer: Some(CustomerType::Dwelling),
                ..Practice::default()
            };
            for (breaker, expect) in [(50.0, at_50), (60.0, at_60), (70.0, at_70)] {
                let found = severities(&GROUND_FAULT_PROTECTION, &s(breaker, 1), &practice);
                assert_eq!(found, expect, "{edition} {breaker}");
            }
            assert_eq!(
                severities(&GROUND_FAULT_PROTECTION, &s(50.0, 3), &practice),
                []
            );
        }
        let commercial = Practice {
            customer: Some(CustomerType::Commercial),
            ..Practice::default()
        };
        assert_eq!(
            severities(&GROUND_FAULT_PROTECTION, &s(50.0, 1), &commercial),
            []
        );
        finds(&GROUND_FAULT_PROTECTION, &s(50.0, 1), &[]);
    }
}
