//! How much hangs on one outdoor unit: number of units, and capacity.

use super::system_place;
use crate::findings::{Finding, Outcome, Severity, Step, Subject, Value, Want};
use crate::practice::Practice;
use crate::rules::wording::{count, counted};
use crate::rules::{Cite, Family, Rule};
use crate::schedule::{
    Field, FieldName, Mbh, Percent, Place, Quantity, Schedule, System, SystemId, Unit, UnitId,
    UnitKind,
};

pub(super) static BUS_TOO_MANY_UNITS: Rule = Rule {
    name: "bus-too-many-units",
    family: Family::Bus,
    severities: &[Severity::Fix],
    summary: "more indoor units on one system than it can address",
    why: "An outdoor unit addresses a limited number of indoor units; the next one does not \
          answer, whatever its wire.",
    decides: "Counts the indoor units and air handlers of a system against the number in its \
              outdoor unit's row, else in the practice profile. There is no default.",
    leaves: "Systems for which neither says a number; an outdoor row that stands for several.",
    cites: &[Cite::Manual],
    yields_to: &[],
    check: bus_too_many_units,
};

fn bus_too_many_units(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    let judge = |(id, system): (SystemId, &System)| {
        let subject = Subject::System(id);
        let at = system_place(schedule, id);
        let own = system.outdoor.and_then(|unit| {
            let field = &schedule.unit(unit).most_units;
            field.copied().map(|most| (most, field.at(), unit))
        });
        // A number of its own that cannot be read: the profile's is not it.
        let own_open = system.outdoor.is_some_and(|unit| {
            let field = &schedule.unit(unit).most_units;
            matches!(field, Field::Unknown(_) | Field::Unreadable(_))
        });
        if own_open {
            return Outcome::wants(subject, at, FieldName::UnitMostUnits);
        }
        let (most, cell, whose) = match (own, practice.bus.most_units) {
            (Some((most, cell, unit)), _) => {
                let whose = format!("the row of {} says so", schedule.unit_label(unit));
                (most, cell, whose)
            }
            (None, Some(most)) => (most, None, "practice profile".to_owned()),
            (None, None) => {
                let wants = vec![
                    Want::Field(FieldName::UnitMostUnits),
                    Want::Profile("bus.most_units"),
                ];
                return Outcome::not_checked(subject, at, wants);
            }
        };
        if several_mains(schedule, system) {
            let wants = vec![Want::Fact("which units hang on which outdoor unit")];
            return Outcome::not_checked(subject, at, wants);
        }
        let indoor: Vec<UnitId> = system
            .units
            .iter()
            .copied()
            .filter(|unit| schedule.unit(*unit).is_indoor())
            .collect();
        if indoor.len() <= most as usize {
            return Outcome::met(subject, at);
        }
        let label = schedule.system_label(id);
        let says = format!(
            "System {label} has {}; at most {most} may hang on it ({whose}).",
            count(indoor.len(), "indoor unit", "indoor units")
        );
        let remedy = format!(
            "Move {} of system {label} to another system.",
            count(indoor.len() - most as usize, "indoor unit", "indoor units")
        );
        let found = counted(indoor.len(), "indoor unit", "indoor units");
        let mut finding = Finding::fix(says, found, remedy)
            .limit(counted(most as usize, "indoor unit", "indoor units"), whose);
        if own.is_none() {
            finding = finding.profile("bus.most_units");
        }
        Outcome::broken(subject, at, finding).related_all(cell)
    };
    systems(schedule, judge)
}

/// One outcome a system; one that says so where the job has none.
fn systems(schedule: &Schedule, judge: impl Fn((SystemId, &System)) -> Outcome) -> Vec<Outcome> {
    if schedule.systems.is_empty() {
        let wants = vec![Want::Fact("the job's systems")];
        return vec![Outcome::not_checked(Subject::Job, Place::Job, wants)];
    }
    schedule.system_ids().map(judge).collect()
}

/// More than one unit that is no module: a mark that stands for several, or
/// modules that nobody called so.
fn several_mains(schedule: &Schedule, system: &System) -> bool {
    let main = |unit: &&UnitId| schedule.unit(**unit).kind() == Some(UnitKind::Outdoor);
    system.units.iter().filter(main).count() > 1
}

pub(super) static CAPACITY_RATIO: Rule = Rule {
    name: "capacity-ratio",
    family: Family::Bus,
    severities: &[Severity::Verify],
    summary: "the indoor units' capacity does not fit the outdoor unit's",
    why: "Far below or above the outdoor unit's capacity a system short-cycles or starves, and \
          such a ratio is often a unit scheduled on the wrong system.",
    decides: "The sum of the indoor units' capacity in percent of the outdoor unit's, its \
              modules summed, against the practice profile's range. A sum that is above the \
              range with capacities missing is above it all the same.",
    leaves: "Diversity, altitude, temperatures and piping: what the selection of equipment \
             takes care of.",
    cites: &[Cite::Practice, Cite::Manual],
    yields_to: &[],
    check: capacity_ratio,
};

fn capacity_ratio(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    if !schedule.units.iter().any(|unit| unit.capacity.is_given()) {
        let mut tables: Vec<u32> = schedule.units.iter().map(|u| u.tag.at.table).collect();
        tables.sort_unstable();
        tables.dedup();
        return tables
            .into_iter()
            .map(|table| {
                let at = Place::Table(table);
                Outcome::wants(Subject::Table(table), at, FieldName::UnitCapacity)
            })
            .collect();
    }
    systems(schedule, |(id, system)| {
        ratio(schedule, id, system, practice)
    })
}

/// Sum of the given capacities, how it came about, and the first unit
/// without one.
fn sum(
    schedule: &Schedule,
    system: &System,
    which: impl Fn(&Unit) -> bool,
) -> (Mbh, usize, Option<UnitId>) {
    let (mut total, mut known, mut missing) = (Mbh(0.0), 0, None);
    for &id in &system.units {
        let unit = schedule.unit(id);
        match (which(unit), unit.capacity.copied()) {
            (true, Some(capacity)) => {
                total = total + capacity;
                known += 1;
            }
            (true, None) => missing = missing.or(Some(id)),
            (false, _) => {}
        }
    }
    (total, known, missing)
}

fn ratio(schedule: &Schedule, id: SystemId, system: &System, practice: &Practice) -> Outcome {
    let subject = Subject::System(id);
    let at = system_place(schedule, id);
    let (outdoor, outdoor_units, no_outdoor) = sum(schedule, system, Unit::is_outdoor);
    let (indoor, indoor_units, no_indoor) = sum(schedule, system, Unit::is_indoor);
    let wants = |unit: UnitId| {
        let unit = schedule.unit(unit);
        let place = schedule.anchor(&unit.capacity, unit.tag.at);
        Outcome::wants(subject, place, FieldName::UnitCapacity)
    };
    if let Some(unit) = no_outdoor {
        return wants(unit);
    }
    if outdoor_units == 0 || outdoor.0 <= 0.0 {
        let wants = vec![Want::Fact("the system's outdoor unit")];
        return Outcome::not_checked(subject, at, wants);
    }
    let (least, most) = practice.capacity_ratio;
    let share = Percent(100.0 * indoor.0 / outdoor.0);
    let how = format!(
        "100 × {indoor} of {} / {outdoor} of {}",
        count(indoor_units, "indoor unit", "indoor units"),
        count(outdoor_units, "outdoor unit", "outdoor units")
    );
    let step = Step {
        what: "capacity-ratio",
        value: Value::Percent(share),
        how: how.clone(),
        source: String::new(),
    };
    let above = share.exceeds(most);
    if !above {
        if let Some(unit) = no_indoor {
            return wants(unit);
        }
        if indoor_units == 0 {
            let wants = vec![Want::Fact("the system's indoor units")];
            return Outcome::not_checked(subject, at, wants);
        }
        if !share.below(least) {
            return Outcome::met(subject, at).step(step);
        }
    }
    let label = schedule.system_label(id);
    let side = if above { "above" } else { "below" };
    let says = format!(
        "The indoor units of system {label} have {share} of the outdoor unit's capacity ({how}), \
         {side} the {least} to {most} of the practice profile."
    );
    let remedy = format!(
        "Confirm from the selection of system {label} that this ratio is meant, or correct the \
         units' system or capacity."
    );
    let finding = Finding::verify(says, share, remedy)
        .field(FieldName::UnitCapacity)
        .limit(format!("{least} to {most}"), "practice profile")
        .profile("capacity_ratio");
    let cell = system
        .outdoor
        .and_then(|unit| match &schedule.unit(unit).capacity {
            Field::Given(capacity) => Some(capacity.at),
            _ => None,
        });
    Outcome::broken(subject, cell.map_or(at, Into::into), finding).step(step)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::testing::{finds, meets, severities};
    use crate::schedule::fixture::Fixture;
    use Severity::{Fix, Verify};

    fn of(outdoor: &[Option<f64>], indoor: &[Option<f64>], most: Option<u32>) -> Schedule {
        let mut fixture = Fixture::new();
        let kinds = [UnitKind::Outdoor, UnitKind::OutdoorModule];
        for (n, capacity) in outdoor.iter().enumerate() {
            fixture.unit(&format!("OU-{}", n + 1), kinds[n.min(1)], |u, cells| {
                u.capacity = match capacity {
                    Some(capacity) => cells.given(Mbh(*capacity)),
                    None => cells.blank(),
                };
                if let Some(most) = most {
                    u.most_units = cells.given(most);
                }
            });
        }
        for (n, capacity) in indoor.iter().enumerate() {
            fixture.unit(&format!("FC-{}", n + 1), UnitKind::Indoor, |u, cells| {
                u.capacity = match capacity {
                    Some(capacity) => cells.given(Mbh(*capacity)),
                    None => cells.blank(),
                };
            });
        }
        fixture.build()
    }

    #[test]
    fn too_many_units_has_no_limit_of_its_own() {
        let units = |n, most| of(&[None], &vec![None; n], most);
        finds(&BUS_TOO_MANY_UNITS, &units(99, None), &[]);
        meets(&BUS_TOO_MANY_UNITS, &units(7, Some(8)));
        meets(&BUS_TOO_MANY_UNITS, &units(8, Some(8)));
        finds(&BUS_TOO_MANY_UNITS, &units(9, Some(8)), &[Fix]);
        let mut practice = Practice::default();
        practice.bus.most_units = Some(8);
        let found = |n, own| severities(&BUS_TOO_MANY_UNITS, &units(n, own), &practice);
        assert_eq!(found(9, None), [Fix]);
        assert_eq!(found(9, Some(9)), [], "the system's own row goes first");
        // One row for four outdoor units and sixteen indoor units.
        let mut fixture = Fixture::new();
        fixture
            .unit("OU-1", UnitKind::Outdoor, |u, cells| {
                u.quantity = cells.given(4)
            })
            .unit("FC-1", UnitKind::Indoor, |u, cells| {
                u.quantity = cells.given(16)
            });
        let found = severities(&BUS_TOO_MANY_UNITS, &fixture.build(), &practice);
        assert_eq!(found, []);
    }

    #[test]
    fn the_capacity_ratio_has_two_limits() {
        // 50 to 130 %: common practice, no source.
        let ratio = |indoor| of(&[Some(48.0)], &[Some(12.0), Some(indoor)], None);
        for (indoor, expected) in [
            (11.9, vec![Verify]),
            (12.0, vec![]),
            (50.4, vec![]),
            (50.5, vec![Verify]),
        ] {
            finds(&CAPACITY_RATIO, &ratio(indoor), &expected);
        }
        // Modules are summed.
        meets(
            &CAPACITY_RATIO,
            &of(&[Some(48.0), Some(48.0)], &[Some(100.0)], None),
        );
        // A missing capacity cannot bring a sum down again.
        let missing = |indoor| of(&[Some(48.0)], &[Some(indoor), None], None);
        finds(&CAPACITY_RATIO, &missing(63.0), &[Verify]);
        finds(&CAPACITY_RATIO, &missing(12.0), &[]);
        finds(&CAPACITY_RATIO, &of(&[None], &[Some(12.0)], None), &[]);
        finds(&CAPACITY_RATIO, &of(&[None], &[None], None), &[]);
    }
}
