//! The family `sequence`: the order of work on site.

use super::{Cite, Family, Rule};
use crate::findings::{Finding, Outcome, Severity, Subject, Want};
use crate::practice::Practice;
use crate::schedule::{Field, FieldName, Place, Schedule};
use jiff::civil::Date;

pub(super) static RULES: &[&Rule] = &[&POWERED_BEFORE_CHARGE];

static POWERED_BEFORE_CHARGE: Rule = Rule {
    name: "powered-before-charge",
    family: Family::Sequence,
    severities: &[Severity::Fix],
    summary: "power comes on before the piping is tested and charged",
    why: "Expansion valves of indoor units are shipped open and close when power comes: then a \
          part of the piping is neither tested nor evacuated, and the system has to be opened \
          again.",
    decides: "The job's date of power-on against its dates of pressure test and of charge; the \
              same day is in order.",
    leaves: "Jobs without these dates; the hours of power that the crankcase heater wants \
             before the first start.",
    cites: &[Cite::Practice, Cite::Manual],
    yields_to: &[],
    check: powered_before_charge,
};

fn powered_before_charge(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let facts = &schedule.facts;
    let at = facts.power_on.at().map_or(Place::Job, Place::Cell);
    let Some(power) = facts.power_on.copied() else {
        return vec![Outcome::wants(Subject::Job, at, FieldName::JobPowerOn)];
    };
    let steps: [(&Field<Date>, FieldName, &str); 2] = [
        (
            &facts.pressure_test,
            FieldName::JobPressureTest,
            "the pressure test",
        ),
        (&facts.charge, FieldName::JobCharge, "the charge"),
    ];
    let late: Vec<_> = steps
        .iter()
        .filter_map(|(field, _, what)| match field {
            Field::Given(date) if power < date.value => Some((date.value, date.at, *what)),
            _ => None,
        })
        .collect();
    // The later of the two is the one that power has to wait for.
    if let Some((date, _, _)) = late.iter().max_by_key(|(date, ..)| *date) {
        let named: Vec<String> = late
            .iter()
            .map(|(date, _, what)| format!("{what} ({date})"))
            .collect();
        let says = format!(
            "Power comes on {power}, before {}: expansion valves that are shipped open close \
             when power comes.",
            named.join(" and ")
        );
        let remedy =
            format!("Keep power off until {date}, after the piping is tested and charged.");
        let finding = Finding::fix(says, power.to_string(), remedy)
            .field(FieldName::JobPowerOn)
            .limit(date.to_string(), "piping tested and charged first");
        let related = late.iter().map(|(_, at, _)| *at);
        return vec![Outcome::broken(Subject::Job, at, finding).related_all(related)];
    }
    let wants: Vec<Want> = steps
        .iter()
        .filter(|(field, ..)| !field.is_given())
        .map(|(_, name, _)| Want::Field(*name))
        .collect();
    vec![if wants.is_empty() {
        Outcome::met(Subject::Job, at)
    } else {
        Outcome::not_checked(Subject::Job, at, wants)
    }]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::Verdict;
    use crate::rules::testing::{finds, meets, outcomes};
    use crate::schedule::fixture::Fixture;
    use Severity::Fix;

    fn of(test: Option<i8>, charge: Option<i8>, power: Option<i8>) -> Schedule {
        let mut fixture = Fixture::new();
        fixture.facts(|facts, cells| {
            let mut day = |day: Option<i8>| match day {
                Some(day) => cells.given(Date::constant(2026, 3, day)),
                None => cells.blank(),
            };
            facts.pressure_test = day(test);
            facts.charge = day(charge);
            facts.power_on = day(power);
        });
        fixture.build()
    }

    #[test]
    fn power_waits_for_test_and_charge() {
        // Common practice, no source.
        meets(&POWERED_BEFORE_CHARGE, &of(Some(2), Some(4), Some(5)));
        meets(&POWERED_BEFORE_CHARGE, &of(Some(2), Some(4), Some(4)));
        finds(
            &POWERED_BEFORE_CHARGE,
            &of(Some(2), Some(4), Some(3)),
            &[Fix],
        );
        finds(
            &POWERED_BEFORE_CHARGE,
            &of(Some(5), Some(4), Some(4)),
            &[Fix],
        );
        // Each date alone.
        finds(&POWERED_BEFORE_CHARGE, &of(None, Some(4), Some(3)), &[Fix]);
        finds(&POWERED_BEFORE_CHARGE, &of(Some(4), None, Some(3)), &[Fix]);
    }

    #[test]
    fn a_date_that_is_missing_is_named() {
        for schedule in [
            of(Some(2), None, Some(3)),
            of(None, Some(2), Some(3)),
            of(Some(2), Some(4), None),
            of(None, None, None),
        ] {
            let found = outcomes(&POWERED_BEFORE_CHARGE, &schedule);
            assert!(matches!(found[0].verdict, Verdict::NotChecked { .. }));
        }
    }
}
