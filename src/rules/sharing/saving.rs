//! Circuits that could be saved by sharing.

use super::mixing::classes;
use crate::findings::{Finding, Outcome, Severity, Subject};
use crate::practice::Practice;
use crate::rules::branch::{self, Feed};
use crate::rules::{Cite, Family, Rule};
use crate::schedule::{Amps, CustomerType, FieldName, Name, Quantity, Schedule, Unit, UnitId};
use crate::sizing::grouping::{self, Count};
use crate::tables::Topic;
use std::collections::BTreeMap;

pub(super) static SHARING_POSSIBLE: Rule = Rule {
    name: "sharing-possible",
    family: Family::Sharing,
    severities: &[Severity::Note],
    summary: "indoor units of a dwelling are on circuits of their own that fewer circuits could \
              carry",
    why: "Indoor units without strip heat draw less than an ampere each; sharing saves breakers, \
          slots and wire.",
    decides: "In each dwelling and panel, indoor units of one voltage and phase without strip \
              heat, with an MOP that allows the profile's rating and no motor above its limit, are \
              put together on as few circuits as carry them, each filled to the profile's share of \
              the rating: by 1.25 times the largest and the rest where all full-load currents are \
              given, else by the sum of MCA.",
    leaves: "Commercial work, units whose voltage, MOP, currents or heater the schedule leaves \
             open, and circuits that are shared already. Whether a saving is wanted.",
    cites: &[
        Cite::Practice,
        Cite::Code(Topic::SeveralMotors),
        Cite::Code(Topic::SmallGroupMotors),
    ],
    yields_to: &super::MIXED,
    check: possible,
};

/// What has to be alike for units to share.
type Key = (Option<Name>, Option<Name>, u8, u8);

fn possible(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    let feeds: Vec<Feed<'_>> = branch::feeds(schedule)
        .into_iter()
        .filter(|feed| feed.unit.is_indoor() && feed.unit.circuits.len() == 1)
        .collect();
    let Some(first) = feeds.first() else {
        return Vec::new();
    };
    match practice.customer {
        None => {
            let subject = Subject::Circuit(first.id);
            return vec![Outcome::wants(
                subject,
                first.circuit.at,
                FieldName::JobCustomer,
            )];
        }
        Some(customer) if !customer.is_dwelling() => return Vec::new(),
        Some(_) => {}
    }
    let mut outcomes = Vec::new();
    let mut groups: BTreeMap<Key, Vec<Feed<'_>>> = BTreeMap::new();
    for feed in feeds {
        match key(schedule, practice, &feed) {
            Ok(Some(key)) => groups.entry(key).or_default().push(feed),
            Ok(None) => {
                let subject = Subject::Circuit(feed.id);
                outcomes
                    .push(Outcome::met(subject, feed.circuit.at).also(Subject::Unit(feed.unit_id)));
            }
            Err(field) => {
                let subject = Subject::Circuit(feed.id);
                outcomes.push(
                    Outcome::wants(subject, feed.circuit.at, field)
                        .also(Subject::Unit(feed.unit_id)),
                );
            }
        }
    }
    outcomes.extend(
        groups
            .values()
            .map(|group| judge(schedule, practice, group)),
    );
    outcomes
}

/// Where the unit may share; `None`: it may not, `Err`: what is wanting.
fn key(
    schedule: &Schedule,
    practice: &Practice,
    feed: &Feed<'_>,
) -> Result<Option<Key>, FieldName> {
    let unit = feed.unit;
    if branch::heat_untold(unit) {
        return Err(FieldName::UnitHeatKw);
    }
    if unit.has_strip_heat() {
        return Ok(None);
    }
    let supply = unit.supply.get().ok_or(FieldName::UnitSupply)?;
    let phases = supply.phases.ok_or(FieldName::UnitSupply)?;
    let class = match classes(supply)[..] {
        [only] => only,
        _ => return Err(FieldName::UnitSupply),
    };
    let volts = branch::volts(schedule, feed.circuit);
    let mop = branch::mop(unit, volts).ok_or(FieldName::UnitMop)?;
    let amps = current(unit, practice).ok_or(FieldName::UnitFla)?;
    let small = !amps.exceeds(practice.sharing.motor_amps)
        && !mop.least.below(practice.sharing.rating)
        && unit
            .horsepower
            .copied()
            .is_none_or(|power| power.0 <= practice.sharing.motor_hp);
    if !small {
        return Ok(None);
    }
    let dwelling = unit.dwelling.get().or(feed.circuit.dwelling.get()).cloned();
    if practice.customer == Some(CustomerType::Multifamily) && dwelling.is_none() {
        return Err(FieldName::UnitDwelling);
    }
    Ok(Some((
        dwelling,
        feed.circuit.panel.get().cloned(),
        class,
        phases,
    )))
}

/// The full-load current, else what MCA makes of it.
fn current(unit: &Unit, _: &Practice) -> Option<Amps> {
    branch::full_load(unit).or_else(|| unit.mca.copied().map(|mca| mca.largest() / 1.25))
}

fn judge(schedule: &Schedule, practice: &Practice, group: &[Feed<'_>]) -> Outcome {
    let by_full_load = group
        .iter()
        .all(|feed| branch::full_load(feed.unit).is_some());
    let mut loads = Vec::new();
    for feed in group {
        let amps = if by_full_load {
            branch::full_load(feed.unit)
        } else {
            // One with a full-load current alone: its share of an MCA.
            let of_mca = feed.unit.mca.copied().map(|mca| mca.largest());
            of_mca.or_else(|| branch::full_load(feed.unit).map(|amps| amps * 1.25))
        };
        loads.push(amps.unwrap_or(practice.sharing.rating));
    }
    let count = if by_full_load {
        Count::FullLoad
    } else {
        Count::SumOfMca
    };
    let capacity = practice.sharing.rating * (practice.sharing.near.0 / 100.0);
    let found = grouping::fewest_circuits(&loads, capacity, count, practice.edition);
    let needed = found.circuits.len() + found.alone.len();
    let saved = group.len().saturating_sub(needed);
    let mut subject = Subject::Job;
    let mut at = crate::schedule::Place::Job;
    if let Some(first) = group.first() {
        subject = Subject::Circuit(first.id);
        at = first.circuit.at.into();
    }
    let cells = group.iter().skip(1).map(|feed| feed.circuit.at);
    let outcome = if saved == 0 {
        Outcome::met(subject, at)
    } else {
        let finding = saving(
            schedule,
            practice,
            group,
            &found,
            (saved, capacity, by_full_load),
        );
        Outcome::broken(subject, at, finding).related_all(cells)
    };
    group.iter().fold(outcome, |outcome, feed| {
        outcome.also(Subject::Unit(feed.unit_id))
    })
}

fn saving(
    schedule: &Schedule,
    practice: &Practice,
    group: &[Feed<'_>],
    found: &grouping::Grouping,
    (saved, capacity, by_full_load): (usize, Amps, bool),
) -> Finding {
    let needed = group.len() - saved;
    let together: Vec<String> = found
        .circuits
        .iter()
        .filter(|members| members.len() > 1)
        .map(|members| {
            let units: Vec<UnitId> = members
                .iter()
                .filter_map(|&index| Some(group.get(index)?.unit_id))
                .collect();
            branch::tags(schedule, &units)
        })
        .collect();
    let by = if by_full_load {
        "1.25 x the largest and the rest at full load"
    } else {
        "sum of MCA"
    };
    Finding::note(
        format!(
            "{} indoor units are on {} circuits of their own; {needed} of {}, each filled to at \
             most {capacity} ({} of the rating, by {by}), carry them: {saved} saved.",
            group.len(),
            group.len(),
            practice.sharing.rating,
            practice.sharing.near
        ),
        crate::findings::Value::Count(group.len() as u64, "circuits"),
        format!(
            "If sharing is wanted, put together on one circuit each: {}.",
            together.join("; ")
        ),
    )
    .field(FieldName::CircuitLoads)
    .limit(
        crate::rules::wording::counted(needed, "circuit", "circuits"),
        format!("{by}, at most {capacity} each"),
    )
    .profile("sharing.rating")
    .profile("sharing.near")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::testing::severities;
    use crate::schedule::fixture::{Cells, Fixture};
    use crate::schedule::{Kilowatts, UnitKind};
    use Severity::Note;

    fn dwelling() -> Practice {
        Practice {
            customer: Some(CustomerType::Dwelling),
            ..Practice::default()
        }
    }

    fn fill(u: &mut Unit, cells: &mut Cells, fla: f64) {
        u.fla = cells.amps(fla);
        u.mop = cells.mop(15.0);
        u.supply = cells.supply(&[208, 230], 1);
    }

    /// Units on circuits of their own, each with its dwelling and panel.
    fn job(units: &[(&str, &str, f64)], more: impl Fn(&mut Unit, &mut Cells)) -> Schedule {
        let mut fixture = Fixture::new();
        for (n, (door, panel, fla)) in units.iter().enumerate() {
            let tag = format!("FC-{}", n + 1);
            fixture.unit(&tag, UnitKind::Indoor, |u, cells| {
                fill(u, cells, *fla);
                if !door.is_empty() {
                    u.dwelling = cells.name(door);
                }
                more(u, cells);
            });
            let slot = 4 * n as u16 + 1;
            fixture.circuit(panel, &[slot, slot + 2], &[&tag], |c, cells| {
                c.breaker = cells.amps(15.0);
                if !door.is_empty() {
                    c.dwelling = cells.name(door);
                }
            });
        }
        fixture.build()
    }

    fn found(s: &Schedule, practice: &Practice) -> Vec<Finding> {
        possible(s, practice)
            .iter()
            .filter_map(|outcome| outcome.finding().cloned())
            .collect()
    }

    #[test]
    fn small_units_of_one_panel_could_share() {
        let s = job(&[("", "LP", 0.5); 4], |_, _| {});
        let notes = found(&s, &dwelling());
        assert_eq!(notes.len(), 1);
        assert!(notes[0].says.contains("3 saved"), "{}", notes[0].says);
        assert!(notes[0].remedy.contains("FC-1, FC-2, FC-3, FC-4"));
        assert_eq!(
            severities(
                &SHARING_POSSIBLE,
                &job(&[("", "LP", 0.5)], |_, _| {}),
                &dwelling()
            ),
            []
        );
    }

    #[test]
    fn the_share_of_the_rating_is_the_limit() {
        // By hand: 1.25 x 5 + 5 = 11.25 A fits 12 A; 1.25 x 5.4 + 5.4 = 12.15 A not.
        let s = job(&[("", "LP", 5.0); 2], |_, _| {});
        assert_eq!(severities(&SHARING_POSSIBLE, &s, &dwelling()), [Note]);
        let s = job(&[("", "LP", 5.4); 2], |_, _| {});
        assert_eq!(severities(&SHARING_POSSIBLE, &s, &dwelling()), []);
    }

    #[test]
    fn dwellings_and_panels_are_kept_apart() {
        let practice = Practice {
            customer: Some(CustomerType::Multifamily),
            ..Practice::default()
        };
        let s = job(&[("1A", "LP", 0.5), ("1B", "LP", 0.5)], |_, _| {});
        assert_eq!(severities(&SHARING_POSSIBLE, &s, &practice), []);
        let s = job(&[("", "LP", 0.5), ("", "RP", 0.5)], |_, _| {});
        assert_eq!(severities(&SHARING_POSSIBLE, &s, &dwelling()), []);
        let s = job(
            &[("1A", "LP", 0.5), ("1A", "LP", 0.5), ("1B", "LP", 0.5)],
            |_, _| {},
        );
        assert_eq!(severities(&SHARING_POSSIBLE, &s, &practice), [Note]);
    }

    #[test]
    fn heaters_large_motors_and_small_mop_never_share() {
        for more in [
            (|u, cells| u.heat_kw = cells.given(Kilowatts(5.0))) as fn(&mut Unit, &mut Cells),
            |u, cells| u.fla = cells.amps(6.5),
            |u, cells| u.mop = cells.mop(10.0),
            |u, cells| u.supply = cells.blank(),
            |u, cells| u.mop = cells.blank(),
        ] {
            let s = job(&[("", "LP", 0.5); 3], more);
            assert_eq!(severities(&SHARING_POSSIBLE, &s, &dwelling()), []);
        }
        let zero = job(&[("", "LP", 0.5); 3], |u, cells| {
            u.heat_kw = cells.given(Kilowatts(0.0))
        });
        assert_eq!(severities(&SHARING_POSSIBLE, &zero, &dwelling()), [Note]);
    }

    #[test]
    fn commercial_work_is_left_alone() {
        let practice = Practice {
            customer: Some(CustomerType::Commercial),
            ..Practice::default()
        };
        let s = job(&[("", "LP", 0.5); 3], |_, _| {});
        assert_eq!(possible(&s, &practice), []);
    }
}
