//! Ampacity against the load, and against the device.

use crate::findings::{Finding, Outcome, Severity, Subject, Want};
use crate::practice::Practice;
use crate::rules::branch::{self, Feed};
use crate::rules::{Cite, Family, Rule};
use crate::schedule::wire::{CableType, Conductor, Material, Size};
use crate::schedule::{
    Amps, Circuit, CircuitId, Field, FieldName, LoadTarget, Located, Part, Quantity, Schedule,
    UnitId,
};
use crate::sizing::conductor::{self, Ampacity, Carries, Conditions, NoAmpacity, Request};
use crate::tables::Topic;

/// A circuit with audited units on it.
pub(super) struct Fed<'a> {
    pub id: CircuitId,
    pub circuit: &'a Circuit,
    pub units: Vec<UnitId>,
}

impl Fed<'_> {
    pub fn subject(&self) -> Subject {
        Subject::Circuit(self.id)
    }

    pub fn with_units(&self, outcome: Outcome) -> Outcome {
        self.units
            .iter()
            .fold(outcome, |outcome, &unit| outcome.also(Subject::Unit(unit)))
    }

    pub fn at(&self) -> crate::schedule::CellId {
        self.circuit.conductor.at().unwrap_or(self.circuit.at)
    }

    pub fn wants(&self, want: Want) -> Outcome {
        Outcome::not_checked(self.subject(), self.at(), vec![want])
    }

    /// The conductor, or what is wanting.
    pub fn conductor(&self) -> Result<&Located<Conductor>, Want> {
        match &self.circuit.conductor {
            Field::Given(found) => Ok(found),
            blank => Err(branch::want(blank, FieldName::CircuitConductor)),
        }
    }
}

/// Circuits that feed at least one audited unit.
pub(super) fn fed(schedule: &Schedule) -> Vec<Fed<'_>> {
    let mut all = Vec::new();
    for (id, circuit) in schedule.circuit_ids() {
        let units = circuit.units();
        if units
            .iter()
            .any(|&unit| branch::is_audited(schedule.unit(unit)))
        {
            all.push(Fed { id, circuit, units });
        }
    }
    all
}

pub(in crate::rules) fn no_ampacity(fault: NoAmpacity) -> Want {
    match fault {
        NoAmpacity::SizeNotStated => Want::Field(FieldName::CircuitConductor),
        NoAmpacity::NotInTable => Want::Fact("an ampacity of this size in the table"),
        NoAmpacity::OtherTable => Want::Fact("the ampacity of flexible cord, another table's"),
        NoAmpacity::TooHot => Want::Fact("an ambient at which the insulation may be used"),
    }
}

pub(super) static CONDUCTOR_UNDER_MCA: Rule = Rule {
    name: "conductor-under-mca",
    family: Family::Conductor,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "the conductors' ampacity is below the unit's MCA, or below the load of a shared \
              circuit",
    why: "MCA is the least ampacity that the nameplate allows; its 125 % is in it already.",
    decides: "Ampacity after terminal temperature, ambient and bundling against MCA; on a shared \
              circuit against its load. Where neither cable type nor terminals are stated, a \
              conductor that passes at 60 °C is right, one that fails at 75 °C wrong, and between \
              them the question is asked. Material that is not stated is taken as copper. An \
              ambient of the profile, for roof or attic, gives at most a question.",
    leaves: "Heater circuits apart from their unit, and units on several circuits whose nameplate \
             does not say which. Flexible cord.",
    cites: &[
        Cite::Code(Topic::AcConductorMarked),
        Cite::Code(Topic::Ampacity),
        Cite::Code(Topic::Terminals),
        Cite::Nameplate,
    ],
    yields_to: &super::MIXED,
    check: under_mca,
};

/// What the conductors have to carry, in bounds, and what it is.
struct Load {
    least: Amps,
    most: Amps,
    what: String,
    field: FieldName,
    cells: Vec<crate::schedule::CellId>,
}

fn load_of(schedule: &Schedule, practice: &Practice, fed: &Fed<'_>) -> Result<Load, Vec<Want>> {
    let others = branch::others(schedule, fed.circuit);
    if let [unit_id] = fed.units[..]
        && others.is_empty()
    {
        let unit = schedule.unit(unit_id);
        let feed = Feed {
            id: fed.id,
            circuit: fed.circuit,
            unit_id,
            unit,
        };
        branch::nameplate_binds(schedule, &feed).map_err(|want| vec![want])?;
        let supply =
            branch::volts(schedule, fed.circuit).or_else(|| branch::unit_volts(schedule, unit));
        let mca = branch::mca(unit, supply)
            .ok_or_else(|| vec![branch::want(&unit.mca, FieldName::UnitMca)])?;
        return Ok(Load {
            least: mca.least,
            most: mca.most,
            what: format!("MCA of {}", unit.tag.value),
            field: FieldName::UnitMca,
            cells: unit.mca.at().into_iter().collect(),
        });
    }
    let found = branch::shared_load(schedule, fed.circuit, &fed.units, practice);
    let how: Vec<&str> = found.steps.iter().map(|step| step.how.as_str()).collect();
    let open = !found.silent.is_empty() || !others.is_empty();
    Ok(Load {
        least: found.load.least,
        // Without all loads no upper bound is known.
        most: if open {
            Amps(f64::INFINITY)
        } else {
            found.load.most
        },
        what: format!(
            "load of {} ({})",
            branch::tags(schedule, &fed.units),
            how.join("; ")
        ),
        field: FieldName::CircuitLoads,
        cells: Vec::new(),
    })
}

fn under_mca(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    fed(schedule)
        .iter()
        .filter(|fed| !heater_only(fed))
        .map(|fed| {
            let outcome = judge_mca(schedule, practice, fed);
            fed.with_units(outcome)
                .steps(branch::arithmetic(schedule, fed.id, practice))
        })
        .collect()
}

fn heater_only(fed: &Fed<'_>) -> bool {
    fed.circuit
        .loads
        .iter()
        .filter(|load| matches!(load.target, LoadTarget::Unit(_)))
        .all(|load| matches!(load.part, Part::Heater(_)))
}

fn judge_mca(schedule: &Schedule, practice: &Practice, fed: &Fed<'_>) -> Outcome {
    let wire = match fed.conductor() {
        Ok(wire) => wire,
        Err(want) => return fed.wants(want),
    };
    let wants = |wants| Outcome::not_checked(fed.subject(), wire.at, wants);
    let load = match load_of(schedule, practice, fed) {
        Ok(load) => load,
        Err(missing) => return wants(missing),
    };
    let stated = branch::conditions(fed.circuit, practice);
    let amps = match branch::ampacity(fed.circuit, &wire.value, &stated) {
        Ok(worked) => worked,
        Err(fault) => return wants(vec![no_ampacity(fault)]),
    };
    let how = amps
        .steps
        .last()
        .map_or("", |step| step.how.as_str())
        .to_owned();
    let finding = match (
        amps.value.carries(load.least),
        amps.value.carries(load.most),
    ) {
        (Carries::No, _) => too_small(schedule, practice, fed, wire, &load, &amps.value, &how),
        (Carries::Yes, Carries::Yes) => {
            return match hot(schedule, practice, fed, wire, &load, &stated) {
                Some(finding) => {
                    Outcome::broken(fed.subject(), wire.at, finding).related_all(load.cells)
                }
                None => match open_condition(fed.circuit) {
                    Some(field) => wants(vec![Want::Field(field)]),
                    None => Outcome::met(fed.subject(), wire.at).related_all(load.cells),
                },
            };
        }
        (Carries::Yes, _) if load.most.0.is_infinite() => {
            return wants(vec![Want::Fact("the load of all that is on the circuit")]);
        }
        _ => asked(wire, &load, &amps.value),
    };
    Outcome::broken(fed.subject(), wire.at, finding).related_all(load.cells)
}

/// An ambient, or a number of conductors in the raceway, that the schedule
/// leaves open; an empty cell is 30 °C and no other conductors.
fn open_condition(circuit: &Circuit) -> Option<FieldName> {
    if matches!(circuit.ambient, Field::Unknown(_) | Field::Unreadable(_)) {
        return Some(FieldName::CircuitAmbient);
    }
    let together = &circuit.in_raceway;
    matches!(together, Field::Unknown(_) | Field::Unreadable(_))
        .then_some(FieldName::CircuitInRaceway)
}

fn range(load: &Load) -> String {
    if load.most.0.is_infinite() || load.least == load.most {
        load.least.to_string()
    } else {
        format!("{} to {}", load.least, load.most)
    }
}

fn too_small(
    schedule: &Schedule,
    practice: &Practice,
    fed: &Fed<'_>,
    wire: &Located<Conductor>,
    load: &Load,
    amps: &Ampacity,
    how: &str,
) -> Finding {
    let label = schedule.circuit_label(fed.id);
    let copper = if amps.copper_assumed {
        ", taken as copper"
    } else {
        ""
    };
    let says = format!(
        "The conductors of {label}, {}{copper}, carry {} at {} °C terminals ({how}); the {} is {}.",
        wire.value,
        amps.most.amps,
        amps.most.terminals,
        load.what,
        range(load)
    );
    let (size, changes) = larger(schedule, practice, fed, wire, load);
    let remedy = match size {
        Some(size) => format!("Use {size} at least, of the same kind."),
        None => format!("Use conductors of at least {}.", range(load)),
    };
    let mut finding = Finding::fix(says, amps.most.amps, remedy)
        .field(FieldName::CircuitConductor)
        .limit(load.least, load.what.clone());
    if by_profile(fed, &wire.value, amps) {
        finding = finding.profile("terminals.general");
    }
    finding.changes = changes;
    finding
}

/// Whether the terminals' temperature is the profile's: the wiring method is
/// known, not limited by itself, and the schedule states none.
fn by_profile(fed: &Fed<'_>, wire: &Conductor, amps: &Ampacity) -> bool {
    let limited = matches!(wire.cable, Some(CableType::NmB | CableType::UfB));
    amps.is_settled() && !limited && !fed.circuit.terminals.is_given()
}

/// The size that carries the load with the same wiring method, and the cell
/// that would say so.
fn larger(
    schedule: &Schedule,
    practice: &Practice,
    fed: &Fed<'_>,
    wire: &Located<Conductor>,
    load: &Load,
) -> (Option<Size>, Vec<crate::findings::Change>) {
    let target = if load.most.0.is_infinite() {
        load.least
    } else {
        load.most
    };
    let request = Request {
        load: target,
        device: unexcepted_device(schedule, fed),
        like: wire.value.clone(),
        insulation: fed.circuit.insulation.copied(),
    };
    let at = branch::conditions(fed.circuit, practice);
    let Some(size) = conductor::smallest_for(&request, &at).map(|worked| worked.value) else {
        return (None, Vec::new());
    };
    let changes = branch::conductor_text(&wire.value, size).map_or_else(Vec::new, |text| {
        branch::changes(
            schedule,
            fed.circuit,
            wire.at,
            FieldName::CircuitConductor,
            &text,
        )
    });
    (Some(size), changes)
}

/// The breaker, where the exception for air-conditioning equipment does not
/// cover the circuit.
pub(super) fn unexcepted_device(schedule: &Schedule, fed: &Fed<'_>) -> Option<Amps> {
    match exception(schedule, fed) {
        Exception::Covered => None,
        _ => fed.circuit.breaker.copied(),
    }
}

fn asked(wire: &Located<Conductor>, load: &Load, amps: &Ampacity) -> Finding {
    let says = if amps.is_settled() {
        format!(
            "The conductors, {}, carry {}; the {} lies between {} and {}, by what the schedule \
             does not state.",
            wire.value, amps.most.amps, load.what, load.least, load.most
        )
    } else {
        format!(
            "The conductors, {}, carry {} at {} °C and {} at {} °C terminals; the {} is {}. Neither \
             cable type nor terminals are stated.",
            wire.value,
            amps.least.amps,
            amps.least.terminals,
            amps.most.amps,
            amps.most.terminals,
            load.what,
            range(load)
        )
    };
    let remedy = if amps.is_settled() {
        match load.field {
            FieldName::UnitMca => "State the supply voltage of the panel or of the job.".to_owned(),
            _ => "Give the full-load currents of the units.".to_owned(),
        }
    } else {
        "State the cable type or insulation, and confirm that the terminals at both ends are rated \
         75 °C; else use the next larger size."
            .to_owned()
    };
    Finding::verify(says, amps.least.amps, remedy)
        .field(FieldName::CircuitConductor)
        .limit(load.least, load.what.clone())
}

/// Whether it fails at the ambient that the profile assumes.
fn hot(
    schedule: &Schedule,
    practice: &Practice,
    fed: &Fed<'_>,
    wire: &Located<Conductor>,
    load: &Load,
    stated: &Conditions,
) -> Option<Finding> {
    let (ambient, key) = branch::profile_ambient(schedule, fed.circuit, practice)?;
    let at = Conditions {
        ambient: Some(ambient),
        ..*stated
    };
    let (found, how) = match branch::ampacity(fed.circuit, &wire.value, &at) {
        Ok(worked) if worked.value.carries(load.most) == Carries::Yes => return None,
        Ok(worked) => {
            let how = worked
                .steps
                .last()
                .map_or("", |step| step.how.as_str())
                .to_owned();
            (worked.value.least.amps, how)
        }
        Err(NoAmpacity::TooHot) => (Amps(0.0), "beyond the table".to_owned()),
        Err(_) => return None,
    };
    let label = schedule.circuit_label(fed.id);
    let finding = Finding::verify(
        format!(
            "At {ambient}, which the profile assumes where the unit stands, the conductors of \
             {label}, {}, carry {found} ({how}); the {} is {}.",
            wire.value,
            load.what,
            range(load)
        ),
        found,
        "State the ambient of the run, or use conductors that carry the load at this one.",
    )
    .field(FieldName::CircuitAmbient)
    .limit(load.least, load.what.clone())
    .profile(key);
    Some(finding)
}

pub(super) static CONDUCTOR_UNDER_PROTECTION: Rule = Rule {
    name: "conductor-under-protection",
    family: Family::Conductor,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "on a circuit without the exception for air-conditioning equipment the conductors \
              are too small for the breaker",
    why: "A larger device on a small conductor is right for marked air-conditioning equipment \
          alone. A heater or another load on the circuit takes that exception away.",
    decides: "The exception covers circuits whose loads are all units with marked MCA and MOP and \
              no resistance heat. On others the breaker may be the next standard rating above the \
              ampacity, and not above the limit for small conductors (copper 14, 12, 10 AWG: 15, \
              20, 30 A).",
    leaves: "Circuits without any unit of the job. Units whose heater, MCA or MOP is not stated \
             leave it open.",
    cites: &[
        Cite::Code(Topic::SmallConductors),
        Cite::Code(Topic::SmallConductorsLifted),
        Cite::Code(Topic::NextLargerDevice),
        Cite::Code(Topic::Ampacity),
    ],
    yields_to: &super::MIXED,
    check: under_protection,
};

/// Whether the exception for air-conditioning equipment covers a circuit.
enum Exception {
    Covered,
    /// What takes it away.
    Lost(String),
    /// What is wanting to tell.
    Open(FieldName),
}

fn exception(schedule: &Schedule, fed: &Fed<'_>) -> Exception {
    if let Some(&heated) = fed
        .units
        .iter()
        .find(|&&unit| schedule.unit(unit).has_strip_heat() && heat_here(schedule, fed, unit))
    {
        let tag = &schedule.unit(heated).tag.value;
        return Exception::Lost(format!("the strip heat of {tag}"));
    }
    if let Some(load) = branch::others(schedule, fed.circuit).first() {
        return match load.target {
            LoadTarget::Other => Exception::Lost(format!("\u{201c}{}\u{201d}", load.text.value)),
            _ => Exception::Open(FieldName::CircuitLoads),
        };
    }
    for &unit in &fed.units {
        let unit = schedule.unit(unit);
        if !unit.mca.is_given() {
            return Exception::Open(FieldName::UnitMca);
        }
        if !unit.mop.is_given() {
            return Exception::Open(FieldName::UnitMop);
        }
        if branch::heat_untold(unit) {
            return Exception::Open(FieldName::UnitHeatKw);
        }
    }
    Exception::Covered
}

/// Whether a heated unit's heater is, or may be, on this circuit.
fn heat_here(schedule: &Schedule, fed: &Fed<'_>, unit: UnitId) -> bool {
    let circuits = branch::circuits_of(schedule, schedule.unit(unit));
    let here = |part: &Part| matches!(part, Part::Heater(_));
    let elsewhere = circuits
        .iter()
        .any(|(circuit, part)| *circuit != fed.id && here(part));
    let on_it = circuits
        .iter()
        .any(|(circuit, part)| *circuit == fed.id && here(part));
    on_it || !elsewhere
}

fn under_protection(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    fed(schedule)
        .iter()
        .map(|fed| fed.with_units(judge_protection(schedule, practice, fed)))
        .collect()
}

fn judge_protection(schedule: &Schedule, practice: &Practice, fed: &Fed<'_>) -> Outcome {
    let subject = fed.subject();
    let why = match exception(schedule, fed) {
        Exception::Covered => return Outcome::met(subject, fed.at()),
        Exception::Open(field) => return Outcome::wants(subject, fed.at(), field),
        Exception::Lost(why) => why,
    };
    let wire = match fed.conductor() {
        Ok(wire) => wire,
        Err(want) => return fed.wants(want),
    };
    let Field::Given(breaker) = &fed.circuit.breaker else {
        let want = branch::want(&fed.circuit.breaker, FieldName::CircuitBreaker);
        return Outcome::not_checked(subject, wire.at, vec![want]);
    };
    let at = branch::conditions(fed.circuit, practice);
    let (size, amps) = match (
        wire.value.size,
        branch::ampacity(fed.circuit, &wire.value, &at),
    ) {
        (Some(size), Ok(worked)) => (size, worked.value),
        (_, Err(fault)) => return Outcome::not_checked(subject, wire.at, vec![no_ampacity(fault)]),
        (None, Ok(_)) => return Outcome::wants(subject, wire.at, FieldName::CircuitConductor),
    };
    let material = wire.value.material.unwrap_or(Material::Copper);
    let most = |amps| conductor::largest_device(amps, size, material, practice.edition);
    let (Some(least), Some(most)) = (most(amps.least.amps), most(amps.most.amps)) else {
        return Outcome::met(subject, wire.at);
    };
    let rating = breaker.value;
    if !rating.exceeds(least.value) {
        return Outcome::met(subject, wire.at).related(breaker.at);
    }
    // Fuses at the disconnect leave only the conductors up to them behind
    // the breaker: read differently, so a question.
    let behind = match fed.units[..] {
        [only] => branch::protection(fed.circuit, Some(schedule.unit(only))),
        _ => branch::protection(fed.circuit, None),
    };
    let fused = behind.fuse.is_some() || behind.fuse_open;
    let sure = rating.exceeds(most.value) && !fused;
    let how: Vec<&str> = most.steps.iter().map(|step| step.how.as_str()).collect();
    let how = how.join("; ");
    let label = schedule.circuit_label(fed.id);
    let says = format!(
        "{label} has {why} on it, so nothing is lifted for air-conditioning equipment: {} suits a \
         device of {} at most ({how}), and the breaker is {rating}.",
        wire.value, most.value
    );
    let says = if sure || rating.exceeds(most.value) {
        says
    } else {
        format!(
            "{label} has {why} on it, so nothing is lifted for air-conditioning equipment: {} suits \
             a device of {} or {}, by the terminals, and the breaker is {rating}.",
            wire.value, least.value, most.value
        )
    };
    let (size, changes) = for_device(schedule, practice, fed, wire);
    let remedy = match size {
        Some(size) if sure => {
            format!("Use {size} at least, or a smaller breaker if the load allows.")
        }
        Some(size) => format!("State cable type and terminals, or use {size}."),
        None => "Use larger conductors, or a smaller breaker if the load allows.".to_owned(),
    };
    let severity = if sure {
        Severity::Fix
    } else {
        Severity::Verify
    };
    let mut finding = Finding::new(severity, says, wire.value.to_string(), remedy)
        .field(FieldName::CircuitConductor)
        .limit(most.value, how);
    if sure {
        finding.changes = changes;
    }
    if by_profile(fed, &wire.value, &amps) {
        finding = finding.profile("terminals.general");
    }
    Outcome::broken(subject, wire.at, finding).related(breaker.at)
}

fn for_device(
    schedule: &Schedule,
    practice: &Practice,
    fed: &Fed<'_>,
    wire: &Located<Conductor>,
) -> (Option<Size>, Vec<crate::findings::Change>) {
    let load = Load {
        least: Amps(0.0),
        most: Amps(0.0),
        what: String::new(),
        field: FieldName::CircuitLoads,
        cells: Vec::new(),
    };
    larger(schedule, practice, fed, wire, &load)
}

#[cfg(test)]
mod tests;
