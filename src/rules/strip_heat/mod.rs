//! The family `strip-heat`: circuits of resistance heaters.

use super::branch::{self, Protection, Span};
use super::{Cite, Family, Rule};
use crate::findings::{Finding, Outcome, Severity, Subject, Want};
use crate::practice::Practice;
use crate::schedule::wire::Conductor;
use crate::schedule::{
    Amps, Circuit, CircuitId, Field, FieldName, Part, Quantity, Schedule, Unit, UnitId, Volts,
};
use crate::sizing::conductor::Carries;
use crate::sizing::drop::Phases;
use crate::sizing::heat;
use crate::tables::{Topic, limits};

pub(super) static RULES: &[&Rule] = &[
    &STRIP_HEAT_CIRCUIT_SMALL,
    &STRIP_HEAT_NOT_SUBDIVIDED,
    &STRIP_HEAT_VOLTAGE,
];

/// A circuit that feeds a heater, and the share of the heater on it.
struct Heated<'a> {
    id: CircuitId,
    circuit: &'a Circuit,
    unit_id: UnitId,
    unit: &'a Unit,
    /// Circuits that the heater is divided over.
    parts: u32,
    /// The blower is on it too.
    with_blower: bool,
    /// Current of this share at the supply.
    heater: Span,
}

impl Heated<'_> {
    fn outcome(&self, outcome: Outcome) -> Outcome {
        outcome
            .also(Subject::Unit(self.unit_id))
            .related_all(self.unit.heat_kw.at())
    }
}

fn heated_units(schedule: &Schedule) -> impl Iterator<Item = (UnitId, &Unit)> {
    schedule
        .audited_units()
        .filter(|(_, unit)| branch::is_audited(unit) && unit.has_strip_heat())
}

/// Units of which nothing tells whether they have a heater.
fn untold(schedule: &Schedule) -> impl Iterator<Item = Outcome> {
    schedule
        .audited_units()
        .filter(|(_, unit)| branch::is_audited(unit) && branch::heat_untold(unit))
        .map(|(id, unit)| {
            let at = schedule.anchor(&unit.heat_kw, unit.tag.at);
            Outcome::wants(Subject::Unit(id), at, FieldName::UnitHeatKw)
        })
}

/// The circuits of a unit's heater; `Err` where the schedule does not tell
/// which they are.
fn heater_circuits<'a>(
    schedule: &'a Schedule,
    unit_id: UnitId,
    unit: &'a Unit,
) -> Result<Vec<Heated<'a>>, Want> {
    let circuits = branch::circuits_of(schedule, unit);
    let of_heater: Vec<CircuitId> = circuits
        .iter()
        .filter(|(_, part)| matches!(part, Part::Heater(_)))
        .map(|(circuit, _)| *circuit)
        .collect();
    let of_unit: Vec<CircuitId> = circuits
        .iter()
        .filter(|(_, part)| !matches!(part, Part::Heater(_)))
        .map(|(circuit, _)| *circuit)
        .collect();
    let numbers: Vec<u8> = circuits
        .iter()
        .filter_map(|(_, part)| match part {
            Part::Heater(n) => Some(*n),
            _ => None,
        })
        .collect();
    let mut ids: Vec<CircuitId> = match (of_heater.len(), of_unit.len()) {
        (0, 0) => return Err(Want::Field(FieldName::CircuitLoads)),
        (0, 1) => of_unit.clone(),
        (0, _) => {
            return Err(Want::Fact("which of the unit's circuits feeds its heater"));
        }
        _ => of_heater.clone(),
    };
    // A second heater circuit and none that is called the first: the unit's
    // own circuit carries the first part.
    if !numbers.is_empty() && !numbers.contains(&1) && of_unit.len() == 1 {
        ids.extend(&of_unit);
    }
    ids.sort_unstable();
    ids.dedup();
    let parts = ids.len() as u32;
    Ok(ids
        .into_iter()
        .filter_map(|id| {
            let circuit = schedule.circuit(id);
            let volts = branch::volts(schedule, circuit);
            let all = branch::heater_on(unit, Some(circuit), volts)?;
            Some(Heated {
                id,
                circuit,
                unit_id,
                unit,
                parts,
                with_blower: of_unit.contains(&id) || of_unit.is_empty() && parts == 1,
                heater: Span {
                    least: all.least / f64::from(parts),
                    most: all.most / f64::from(parts),
                },
            })
        })
        .collect())
}

/// The blower's current: its full-load current, else what an MCA without the
/// heater makes of it; `None` where neither is given.
fn blower(unit: &Unit, supply: Option<Volts>) -> Option<Amps> {
    branch::full_load(unit).or_else(|| {
        let mca = branch::mca(unit, supply)?;
        let apart = branch::mca_includes_heat(unit, supply) == Some(false);
        apart.then_some(mca.least / 1.25)
    })
}

static STRIP_HEAT_CIRCUIT_SMALL: Rule = Rule {
    name: "strip-heat-circuit-small",
    family: Family::StripHeat,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "conductor or protection of a heater's circuit is below 125 % of heater and blower",
    why: "A heater runs for hours. A circuit without the 125 % runs hot, and its breaker opens on \
          the coldest day.",
    decides: "Heater current at the supply, and the blower where it is on the same circuit, times \
              1.25 (a heater of 50 kW and more at 1.00), against the rating that protects the \
              circuit and the ampacity of its conductors. Where the voltage of the kW is not \
              stated both usual ones are tried: if only the higher current fails it is a question. \
              Several heater circuits are taken to carry equal parts. A nameplate MCA that \
              includes the heater governs instead.",
    leaves: "Units whose two circuits do not say which feeds the heater. Where heater and blower \
             together pass 60 A on a part that is itself within 48 A nobody agrees: it is \
             reported as a question.",
    cites: &[
        Cite::Code(Topic::ElectricHeat),
        Cite::Code(Topic::BranchConductors),
        Cite::Code(Topic::BranchDevice),
    ],
    yields_to: &[],
    check: circuit_small,
};

/// Judges each circuit of each heater; a unit whose heater's circuits cannot
/// be told is not checked.
fn each_heater_circuit(
    schedule: &Schedule,
    judge: impl Fn(&Heated<'_>) -> Outcome,
) -> Vec<Outcome> {
    let mut outcomes: Vec<Outcome> = untold(schedule).collect();
    for (unit_id, unit) in heated_units(schedule) {
        match heater_circuits(schedule, unit_id, unit) {
            Err(want) => {
                let at = schedule.anchor(&unit.heat_kw, unit.tag.at);
                outcomes.push(Outcome::not_checked(Subject::Unit(unit_id), at, vec![want]));
            }
            Ok(circuits) => {
                outcomes.extend(circuits.iter().map(|heated| heated.outcome(judge(heated))))
            }
        }
    }
    outcomes
}

fn circuit_small(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    each_heater_circuit(schedule, |heated| judge_small(schedule, practice, heated))
}

fn judge_small(schedule: &Schedule, practice: &Practice, heated: &Heated<'_>) -> Outcome {
    let Heated { circuit, unit, .. } = *heated;
    let subject = Subject::Circuit(heated.id);
    let at = circuit.breaker.at().unwrap_or(circuit.at);
    let supply = branch::volts(schedule, circuit);
    let alone = heated.parts == 1 && unit.circuits.len() == 1;
    if alone && branch::mca_includes_heat(unit, supply) == Some(true) {
        // MCA governs: protection and conductor are held against it elsewhere.
        return Outcome::met(subject, at).related_all(unit.mca.at());
    }
    let protection = branch::protection(circuit, Some(unit));
    let blower = if heated.with_blower {
        blower(unit, supply)
    } else {
        Some(Amps(0.0))
    };
    let fan = blower.unwrap_or(Amps(0.0));
    let kw = unit.heat_kw.copied();
    let load = |heater| heat::circuit_load(heater, fan, kw, practice.edition);
    let (least, most) = (load(heated.heater.least), load(heated.heater.most));
    let steps = most.steps.clone();
    let needed = Needed {
        least: least.value,
        most: most.value,
    };
    let device = device_small(&protection, &needed);
    let wire = wire_small(practice, heated, &needed);
    let by_device = device.is_some();
    let (severity, what) = match (device, wire) {
        (None, None) => {
            let wants = wanting(practice, heated, &protection, blower);
            let outcome = if wants.is_empty() {
                Outcome::met(subject, at)
            } else {
                Outcome::not_checked(subject, at, wants)
            };
            return outcome.steps(steps);
        }
        // What is surely below is named alone beside what only may be.
        (Some(a), Some(b)) if a.0 > b.0 => a,
        (Some(a), Some(b)) if a.0 < b.0 => b,
        (Some(a), Some(b)) => (a.0, format!("{}, and {}", a.1, b.1)),
        (Some(one), None) | (None, Some(one)) => one,
    };
    let disputed = disputed(practice, heated, &protection, &needed);
    let severity = if disputed { Severity::Verify } else { severity };
    let how = least
        .steps
        .last()
        .map_or("", |step| step.how.as_str())
        .to_owned();
    let finding = small_finding(
        schedule,
        heated,
        (severity, disputed),
        (&what, how),
        &needed,
    );
    let place = if by_device {
        at
    } else {
        circuit.conductor.at().unwrap_or(at)
    };
    Outcome::broken(subject, place, finding).steps(steps)
}

/// What is missing to call a heater's circuit large enough.
fn wanting(
    practice: &Practice,
    heated: &Heated<'_>,
    protection: &Protection,
    blower: Option<Amps>,
) -> Vec<Want> {
    let circuit = heated.circuit;
    let mut wants = Vec::new();
    if protection.breaker.is_none() {
        wants.push(branch::want(&circuit.breaker, FieldName::CircuitBreaker));
    }
    if protection.fuse_open {
        wants.push(Want::Field(FieldName::CircuitFuse));
    }
    match &circuit.conductor {
        Field::Given(wire) => {
            let at = branch::conditions(circuit, practice);
            if let Err(fault) = branch::ampacity(circuit, &wire.value, &at) {
                wants.push(super::conductor::no_ampacity(fault));
            }
        }
        blank => wants.push(branch::want(blank, FieldName::CircuitConductor)),
    }
    if blower.is_none() {
        wants.push(Want::Field(FieldName::UnitFla));
    }
    wants
}

/// What a heater's circuit has to carry, in bounds.
struct Needed {
    least: Amps,
    most: Amps,
}

type Small = Option<(Severity, String)>;

fn device_small(protection: &Protection, needed: &Needed) -> Small {
    let rating = protection.rating()?.value;
    if rating.below(needed.least) {
        Some((Severity::Fix, format!("its protection of {rating}")))
    } else if rating.below(needed.most) {
        Some((Severity::Verify, format!("its protection of {rating}")))
    } else {
        None
    }
}

fn wire_small(practice: &Practice, heated: &Heated<'_>, needed: &Needed) -> Small {
    let wire: &Conductor = heated.circuit.conductor.get()?;
    let at = branch::conditions(heated.circuit, practice);
    let amps = branch::ampacity(heated.circuit, wire, &at).ok()?.value;
    let text = if amps.is_settled() {
        format!("its conductors, {wire}, of {}", amps.most.amps)
    } else {
        format!(
            "its conductors, {wire}, of {} to {} by their terminals",
            amps.least.amps, amps.most.amps
        )
    };
    match (amps.carries(needed.least), amps.carries(needed.most)) {
        (Carries::No, _) => Some((Severity::Fix, text)),
        (Carries::Yes, Carries::Yes) => None,
        _ => Some((Severity::Verify, text)),
    }
}

/// A part within 48 A behind a device of 60 A, passed only by its blower.
fn disputed(
    practice: &Practice,
    heated: &Heated<'_>,
    protection: &Protection,
    needed: &Needed,
) -> bool {
    let limits = limits::heat_limits(practice.edition).value;
    let rating = protection.rating().map(|rating| rating.value);
    heated.with_blower
        && !heated.heater.least.exceeds(limits.part)
        && needed.least.exceeds(limits.device)
        && rating.is_some_and(|rating| !rating.below(limits.device))
}

fn small_finding(
    schedule: &Schedule,
    heated: &Heated<'_>,
    (severity, disputed): (Severity, bool),
    (what, how): (&str, String),
    needed: &Needed,
) -> Finding {
    let tag = &heated.unit.tag.value;
    let kw = heated
        .unit
        .heat_kw
        .copied()
        .map_or(String::new(), |kw| kw.to_string());
    let label = schedule.circuit_label(heated.id);
    let part = match heated.parts {
        1 => String::new(),
        parts => format!(", one of {parts} equal parts,"),
    };
    let volts = if needed.least == needed.most {
        String::new()
    } else {
        format!(
            " If the kW belong to the lower of the two usual voltages it is {}.",
            needed.most
        )
    };
    let mut says = format!(
        "The {kw} heater of {tag}{part} on {label} asks for {} ({how}); too small for it: {what}.{volts}",
        needed.least
    );
    if severity == Severity::Verify && needed.least != needed.most && !disputed {
        says = format!(
            "The {kw} heater of {tag}{part} on {label} asks for {} or {}, by the voltage that its \
             kW belong to or its terminals ({how}); too small for the higher: {what}.",
            needed.least, needed.most
        );
    }
    if disputed {
        says.push_str(
            " Heater part and blower together pass the 60 A that a part may have; readings differ \
             on whether the blower counts.",
        );
    }
    let remedy = if disputed {
        "Ask the AHJ whether the blower counts, or feed it from another circuit.".to_owned()
    } else if severity == Severity::Verify {
        format!(
            "State the voltage of the heater's kW and the terminals' rating, or size for {}.",
            needed.most
        )
    } else {
        format!(
            "Size conductors and protection of {label} for at least {}.",
            needed.least
        )
    };
    Finding::new(severity, says, what.to_owned(), remedy)
        .field(FieldName::CircuitBreaker)
        .limit(
            if severity == Severity::Fix || disputed {
                needed.least
            } else {
                needed.most
            },
            how,
        )
}

static STRIP_HEAT_NOT_SUBDIVIDED: Rule = Rule {
    name: "strip-heat-not-subdivided",
    family: Family::StripHeat,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "more than 48 A of heating elements are on one circuit",
    why: "Elements above 48 A are divided, each part at most 48 A behind at most 60 A. The maker \
          may do so inside the enclosure; then one larger circuit is right.",
    decides: "The heater's current on one circuit is above 48 A and the schedule does not say that \
              the enclosure holds its own devices: a question. Where the heater is divided over \
              several circuits and one of them has a device above 60 A it is a fix.",
    leaves: "Heaters whose row says single-point kit or internal breakers. The blower counts for \
             nothing here.",
    cites: &[
        Cite::Code(Topic::HeatSubdivision),
        Cite::Code(Topic::HeatSubdividedInside),
    ],
    yields_to: &[],
    check: not_subdivided,
};

fn not_subdivided(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    each_heater_circuit(schedule, |heated| judge_parts(schedule, practice, heated))
}

fn judge_parts(schedule: &Schedule, practice: &Practice, heated: &Heated<'_>) -> Outcome {
    let Heated { circuit, unit, .. } = *heated;
    let subject = Subject::Circuit(heated.id);
    let at = circuit.breaker.at().unwrap_or(circuit.at);
    let limits = limits::heat_limits(practice.edition).value;
    if unit.heat_protection.copied() == Some(true) {
        return Outcome::met(subject, at).related_all(unit.heat_protection.at());
    }
    let tag = &unit.tag.value;
    let label = schedule.circuit_label(heated.id);
    let rating = branch::protection(circuit, Some(unit)).rating();
    if heated.parts > 1
        && let Some(rating) = rating
        && rating.value.exceeds(limits.device)
    {
        let finding = Finding::fix(
            format!(
                "The heater of {tag} is divided over {} circuits; {label} protects its part at {}, \
                 above the {} that a part may have.",
                heated.parts, rating.value, limits.device
            ),
            rating.value,
            format!(
                "Protect each part of the heater at {} at most.",
                limits.device
            ),
        )
        .field(FieldName::CircuitBreaker)
        .limit(limits.device, "largest device of one part");
        return Outcome::broken(subject, rating.at, finding);
    }
    if !heated.heater.most.exceeds(limits.part) {
        // One part of a divided heater is held to a device too.
        return if heated.parts > 1 && rating.is_none() {
            let want = branch::want(&circuit.breaker, FieldName::CircuitBreaker);
            Outcome::not_checked(subject, at, vec![want])
        } else {
            Outcome::met(subject, at)
        };
    }
    let elements = if heated.heater.is_one() {
        heated.heater.most.to_string()
    } else {
        format!(
            "{} or {}, by the voltage that the kW belong to,",
            heated.heater.least, heated.heater.most
        )
    };
    let parts = heat::subdivision(heated.heater.most, practice.edition)
        .value
        .parts;
    let finding = Finding::verify(
        format!(
            "{} of heating elements of {tag} are on {label}; above {} they are divided, here into \
             {parts} parts of at most {} each behind at most {}.",
            elements,
            limits.part,
            limits.part,
            limits.device
        ),
        heated.heater.most,
        format!(
            "Confirm that the enclosure of {tag} holds the factory's own overcurrent devices for its \
             elements (and write so in its row), or divide the heater over {parts} circuits."
        ),
    )
    .field(FieldName::UnitHeatProtection)
    .limit(limits.part, "largest part of elements");
    Outcome::broken(subject, at, finding)
}

static STRIP_HEAT_VOLTAGE: Rule = Rule {
    name: "strip-heat-voltage",
    family: Family::StripHeat,
    severities: &[Severity::Note],
    summary: "the heater's kW belong to another voltage than its supply",
    why: "An element rated at 240 V gives three quarters of its kW at 208 V: rooms that were sized \
          by the nameplate stay cold.",
    decides: "The stated voltage of the kW is above that of the supply. Resistance is fixed, so \
              the current follows the voltage and the power its square.",
    leaves: "Whether the building's heating load is met.",
    cites: &[Cite::Nameplate],
    yields_to: &[],
    check: heat_voltage,
};

fn heat_voltage(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let mut outcomes: Vec<Outcome> = untold(schedule).collect();
    for (unit_id, unit) in heated_units(schedule) {
        let subject = Subject::Unit(unit_id);
        let at = schedule.anchor(&unit.heat_volts, unit.tag.at);
        let (Some(kw), Some(rated)) = (unit.heat_kw.copied(), unit.heat_volts.copied()) else {
            outcomes.push(Outcome::wants(subject, at, FieldName::UnitHeatVolts));
            continue;
        };
        let first = branch::circuits_of(schedule, unit).first().copied();
        let circuit = first.map(|(id, _)| schedule.circuit(id));
        let Some(supply) = branch::unit_volts(schedule, unit) else {
            outcomes.push(Outcome::wants(
                subject,
                at,
                circuit.map_or(FieldName::JobSupply, branch::volts_field),
            ));
            continue;
        };
        // 230 V and 240 V name one system.
        let same = (supply.0 - rated.0).abs() <= 10.0;
        let circuits = unit.circuits.iter().map(|(circuit, _)| *circuit);
        let phases = branch::phases(unit, circuit).unwrap_or(Phases::Single);
        let outcome = if same || rated.0 <= 0.0 {
            Outcome::met(subject, at)
        } else {
            let worked = heat::at_supply(kw, rated, supply, phases);
            let there = worked.value;
            let tag = &unit.tag.value;
            let finding = Finding::note(
                format!(
                    "The heater of {tag} is {kw} at {rated}; on {supply} it gives {} ({kw} × \
                     ({supply} / {rated})²) and draws {}.",
                    there.power, there.amps
                ),
                there.power,
                format!(
                    "Check that {} of heat is enough, and size the circuit by {}.",
                    there.power, there.amps
                ),
            )
            .field(FieldName::UnitHeatVolts)
            .limit(kw, format!("rating at {rated}"));
            Outcome::broken(subject, at, finding).steps(worked.steps)
        };
        outcomes.push(circuits.fold(outcome, |outcome, id| outcome.also(Subject::Circuit(id))));
    }
    outcomes
}

#[cfg(test)]
mod tests;
