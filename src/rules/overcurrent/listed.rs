//! The schedule against the user's own table of nameplates.

use crate::findings::{Finding, Outcome, Severity, Subject, Want};
use crate::practice::{Nameplate, Practice, amps_agree};
use crate::rules::{Cite, Family, Rule};
use crate::schedule::{
    CellId, Field, FieldName, Place, Schedule, Supply, Unit, UnitId, voltage_class,
};

/// Capacities are rounded in more ways than nameplates are.
const CAPACITY_SLACK: f64 = 0.02;

pub(super) static NAMEPLATE_OFF_TABLE: Rule = Rule {
    name: "nameplate-off-table",
    family: Family::Overcurrent,
    severities: &[Severity::Verify],
    summary: "a row states another nameplate value than the user's own table does",
    why: "A table of nameplates that somebody read and keeps goes before what a submitter typed, \
          and before what most submitters typed.",
    decides: "MCA, MOP, supply and capacity of a unit are held against the row of its model (and \
              its heater) in the table given with --nameplates. Where the nameplate has two \
              values, one that agrees is enough; currents are compared only where the voltages \
              can be those of one nameplate; capacities within 2 percent.",
    leaves: "Units without a model, and models that the table does not have. Which of the two is \
             wrong: the nameplate tells.",
    cites: &[Cite::Nameplate],
    yields_to: &["mop-below-mca"],
    check: nameplate_off_table,
};

fn nameplate_off_table(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    if practice.nameplates.is_empty() {
        let wants = vec![Want::OfUser("a table of nameplates (--nameplates)")];
        return vec![Outcome::not_checked(Subject::Job, Place::Job, wants)];
    }
    schedule
        .audited_units()
        .flat_map(|(id, unit)| of_unit(id, unit, practice))
        .collect()
}

fn of_unit(id: UnitId, unit: &Unit, practice: &Practice) -> Vec<Outcome> {
    let subject = Subject::Unit(id);
    if !unit.model.is_given() {
        return vec![Outcome::wants(subject, unit.tag.at, FieldName::UnitModel)];
    }
    let Some(nameplate) = practice.nameplates.for_unit(unit) else {
        let want = Want::OfUser("a row of its model in the nameplate table");
        return vec![Outcome::not_checked(subject, unit.tag.at, vec![want])];
    };
    let differing = differing(unit, nameplate);
    let unsaid = unsaid(unit, nameplate);
    if differing.is_empty() && !unsaid.is_empty() {
        return vec![Outcome::not_checked(subject, unit.tag.at, unsaid)];
    }
    if differing.is_empty() {
        return vec![Outcome::met(subject, unit.tag.at)];
    }
    let broken = |(field, at, what, said, listed): Differs| {
        let tag = &unit.tag.value;
        let model = &nameplate.model;
        let finding = Finding::verify(
            format!("{tag}, model {model}, is scheduled with {what} {said}; the nameplate table has {listed}."),
            said,
            format!("Read {what} on the nameplate of {model}; correct the row, or the table."),
        )
        .field(field)
        .limit(listed, nameplate.origin.clone());
        Outcome::broken(subject, at, finding)
    };
    differing.into_iter().map(broken).collect()
}

/// What the table has and the row does not say.
fn unsaid(unit: &Unit, nameplate: &Nameplate) -> Vec<Want> {
    [
        (
            FieldName::UnitSupply,
            nameplate.supply.is_some() && !unit.supply.is_given(),
        ),
        (
            FieldName::UnitMca,
            nameplate.mca.is_some() && !unit.mca.is_given(),
        ),
        (
            FieldName::UnitMop,
            nameplate.mop.is_some() && !unit.mop.is_given(),
        ),
        (
            FieldName::UnitCapacity,
            nameplate.capacity.is_some() && !unit.capacity.is_given(),
        ),
    ]
    .into_iter()
    .filter(|(_, wanting)| *wanting)
    .map(|(field, _)| Want::Field(field))
    .collect()
}

/// Field, cell, name, what the row says, what the table says.
type Differs = (FieldName, CellId, &'static str, String, String);

fn differing(unit: &Unit, nameplate: &Nameplate) -> Vec<Differs> {
    let mut found = Vec::new();
    let mut same_volts = true;
    if let (Field::Given(own), Some(listed)) = (&unit.supply, &nameplate.supply)
        && !supplies_agree(&own.value, listed)
    {
        same_volts = false;
        let (said, listed) = (own.value.to_string(), listed.to_string());
        found.push((FieldName::UnitSupply, own.at, "supply", said, listed));
    }
    if let (Field::Given(own), Some(listed)) = (&unit.mca, nameplate.mca)
        && same_volts
        && !amps_agree(own.value, listed)
    {
        let (said, listed) = (own.value.to_string(), listed.to_string());
        found.push((FieldName::UnitMca, own.at, "MCA", said, listed));
    }
    if let (Field::Given(own), Some(listed)) = (&unit.mop, nameplate.mop)
        && same_volts
        && !amps_agree(own.value.amps, listed.amps)
    {
        let (said, listed) = (own.value.amps.to_string(), listed.amps.to_string());
        found.push((FieldName::UnitMop, own.at, "MOP", said, listed));
    }
    if let (Field::Given(own), Some(listed)) = (&unit.capacity, nameplate.capacity)
        && (own.value.0 - listed.0).abs() > CAPACITY_SLACK * own.value.0.abs().max(listed.0.abs())
    {
        let (said, listed) = (own.value.to_string(), listed.to_string());
        found.push((FieldName::UnitCapacity, own.at, "capacity", said, listed));
    }
    found
}

/// Whether both can be the supply of one nameplate.
fn supplies_agree(a: &Supply, b: &Supply) -> bool {
    let others: Vec<u16> = b.volts.iter().map(|volts| voltage_class(*volts)).collect();
    let volts = a.volts.is_empty()
        || others.is_empty()
        || a.volts
            .iter()
            .any(|volts| others.contains(&voltage_class(*volts)));
    let phases = match (a.phases, b.phases) {
        (Some(a), Some(b)) => a == b,
        _ => true,
    };
    volts && phases
}
