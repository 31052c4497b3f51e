//! One circuit through the arithmetic, step by step. Every number comes from
//! the sizing functions; here stands only which of them is asked next.

use crate::schedule::wire::{Conductor, Insulation, Material, Size};
use crate::schedule::{Amps, Celsius, Edition, Feet, Kilowatts, Percent, Quantity, Volts};
use crate::sizing::conductor::{Conditions, Request, smallest_for};
use crate::sizing::drop::{self, Phases, Run, Wire};
use crate::sizing::nameplate::{self, Heater, NameplateLoads};
use crate::sizing::{Step, Worked, disconnect, grounding, heat, protection};
use crate::tables::ratings::Device;

/// What is known of the circuit.
#[derive(Clone, Debug)]
pub(super) struct Circuit {
    pub edition: Edition,
    pub compressors: Vec<Amps>,
    pub others: Vec<Amps>,
    pub strip: Option<Strip>,
    /// As marked.
    pub mca: Option<Amps>,
    pub mop: Option<Amps>,
    pub volts: Option<Volts>,
    pub phases: Phases,
    pub length: Option<Feet>,
    /// Without the device, which is found here.
    pub at: Conditions,
    /// Material and wiring method; its size is sought.
    pub like: Conductor,
    pub drop_noted: Percent,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Strip {
    pub rating: Kilowatts,
    /// The voltage that the kW belong to.
    pub volts: Option<Volts>,
}

/// One result.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub(super) struct Part {
    /// Stable, in kebab case.
    pub key: &'static str,
    pub title: &'static str,
    /// With its unit; `None` where there is no such value.
    pub value: Option<String>,
    /// The bare number, where the value is one.
    pub number: Option<f64>,
    pub steps: Vec<Step>,
    pub notes: Vec<String>,
}

impl Part {
    fn new(key: &'static str, title: &'static str) -> Self {
        Self {
            key,
            title,
            value: None,
            number: None,
            steps: Vec::new(),
            notes: Vec::new(),
        }
    }

    fn quantity(mut self, value: impl Quantity) -> Self {
        self.value = Some(value.to_string());
        self.number = Some(value.value());
        self
    }

    fn text(mut self, value: impl Into<String>) -> Self {
        self.value = Some(value.into());
        self
    }

    fn steps(mut self, steps: Vec<Step>) -> Self {
        self.steps.extend(steps);
        self
    }

    fn note(mut self, note: impl Into<String>) -> Self {
        self.notes.push(note.into());
        self
    }
}

/// What the loads and the nameplate come to.
struct Currents {
    loads: NameplateLoads,
    computed: Option<Worked<Amps>>,
    /// As marked, else computed.
    mca: Amps,
}

/// All results, in the order in which one needs the other.
///
/// # Errors
/// A sentence, where there is nothing to size or what is marked cannot be.
pub(super) fn work(circuit: &Circuit) -> Result<Vec<Part>, String> {
    let mut parts = Vec::new();
    let loads = loads(circuit, &mut parts)?;
    let computed = nameplate::mca(&loads, circuit.edition);
    let Some(mca) = circuit.mca.or(computed.as_ref().map(|found| found.value)) else {
        return Err(
            "nothing to size: give --rla, --fla, --other-amps, --heater-kw or --mca".into(),
        );
    };
    if let Some(mop) = circuit.mop.filter(|mop| mop.below(mca)) {
        return Err(format!(
            "MOP {mop} is below MCA {mca}: the two are swapped or mistyped; read the nameplate again"
        ));
    }
    let currents = Currents {
        loads,
        computed,
        mca,
    };
    parts.push(mca_part(circuit, &currents));
    let (mop, device) = protect(circuit, &currents);
    parts.extend(mop);
    let rating = device.number.map(Amps);
    parts.push(device);
    if let Some(heater) = currents.loads.heater {
        parts.extend(subdivision(heater.amps, circuit.edition));
    }
    let (conductor, size) = conductor(circuit, &currents, rating);
    parts.push(conductor);
    let ground = rating.zip(size).and_then(|(rating, size)| {
        grounding::required(rating, material(circuit), Some(size), circuit.edition)
    });
    parts.push(ground_part(circuit, ground.clone()));
    parts.push(disconnect_part(circuit, &currents, rating));
    parts.push(drop_part(
        circuit,
        &currents,
        size,
        ground.map(|ground| ground.value),
    ));
    Ok(parts)
}

fn material(circuit: &Circuit) -> Material {
    circuit.like.material.unwrap_or(Material::Copper)
}

fn loads(circuit: &Circuit, parts: &mut Vec<Part>) -> Result<NameplateLoads, String> {
    let mut loads = NameplateLoads {
        compressors: circuit.compressors.clone(),
        others: circuit.others.clone(),
        heater: None,
    };
    let Some(strip) = circuit.strip else {
        return Ok(loads);
    };
    let mut part = Part::new("heater", "Strip heat");
    let supply = circuit
        .volts
        .or(strip.volts)
        .ok_or("give --volts: a heater draws by its supply")?;
    let amps = match strip
        .volts
        .filter(|rated| rated.exceeds(supply) || rated.below(supply))
    {
        Some(rated) => {
            let found = heat::at_supply(strip.rating, rated, supply, circuit.phases);
            part = part.note(format!("It gives {} on {supply}.", found.value.power));
            found.into_value(&mut part.steps).amps
        }
        None => {
            if strip.volts.is_none() {
                part = part.note(format!(
                    "The {} are taken as those at {supply}; --heater-volts says otherwise.",
                    strip.rating
                ));
            }
            heat::current(strip.rating, supply, circuit.phases).into_value(&mut part.steps)
        }
    };
    loads.heater = Some(Heater {
        amps,
        rating: Some(strip.rating),
    });
    parts.push(part.quantity(amps));
    Ok(loads)
}

fn mca_part(circuit: &Circuit, currents: &Currents) -> Part {
    let part = Part::new("mca", "MCA").quantity(currents.mca);
    match (&circuit.mca, &currents.computed) {
        (Some(_), None) => part.note("As marked."),
        (Some(marked), Some(found)) => part.steps(found.steps.clone()).note(format!(
            "As marked; computed it is {}.{}",
            found.value,
            if found.value.exceeds(*marked) {
                " The marked value is below it: check that it belongs to these loads."
            } else {
                ""
            }
        )),
        (None, found) => part.steps(found.as_ref().map_or(Vec::new(), |f| f.steps.clone())),
    }
}

/// MOP, where there is one, and the device that protects.
fn protect(circuit: &Circuit, currents: &Currents) -> (Option<Part>, Part) {
    let part = Part::new("protection", "Protection");
    let bounds = nameplate::mop_bounds(&currents.loads, circuit.edition);
    if let Some(mop) = circuit.mop {
        let mut marked = Part::new("mop", "MOP").quantity(mop).note("As marked.");
        if let Some(bounds) = bounds {
            marked = marked.note(format!(
                "Computed it lies from {} to {}; a nameplate below that is normal.",
                bounds.value.first_choice, bounds.value.upper
            ));
            marked = marked.steps(bounds.steps);
        }
        let window = protection::window(currents.mca, mop, Device::Breaker, circuit.edition);
        let part = match window.value {
            Some(found) if found.smallest == found.largest => part.quantity(found.largest),
            Some(found) => part.quantity(found.largest).note(format!(
                "The largest that the MOP allows, as is common practice; {} at least.",
                found.smallest
            )),
            None => part.note(format!(
                "No standard rating lies between MCA {} and MOP {mop}: read the nameplate again.",
                currents.mca
            )),
        };
        return (Some(marked), part.steps(window.steps));
    }
    let only_heat = circuit.compressors.is_empty() && currents.loads.heater.is_some();
    if let Some(bounds) = bounds.filter(|_| !only_heat && circuit.mca.is_none()) {
        let (first, upper) = (bounds.value.first_choice, bounds.value.upper);
        let mop = Part::new("mop", "MOP")
            .text(format!("{first}, at most {upper}"))
            .steps(bounds.steps)
            .note("Computed bounds: what the nameplate marks goes before them.");
        let mut part = part.quantity(first);
        if upper.exceeds(first) {
            part = part.note(format!(
                "Up to {upper} where the unit does not start on {first}."
            ));
        }
        return (Some(mop), part);
    }
    match protection::smallest_for_mca(currents.mca, Device::Breaker, circuit.edition) {
        Some(found) => {
            let mut part = part.quantity(found.value).steps(found.steps);
            if !only_heat {
                part = part.note("The MOP of the nameplate is not given: it is the upper limit.");
            }
            (None, part)
        }
        None => (None, part.note("Beyond the standard ratings.")),
    }
}

fn subdivision(heater: Amps, edition: Edition) -> Option<Part> {
    let found = heat::subdivision(heater, edition);
    (found.value.parts > 1).then(|| {
        let note = format!(
            "Elements above {} are divided: each part behind a device of at most {}, inside the \
             enclosure by its maker or on circuits of their own. One circuit feeds them all only \
             where the maker has done it.",
            found.value.part_limit, found.value.device_limit
        );
        Part::new("subdivision", "Parts of the heater")
            .text(format!("{} at least", found.value.parts))
            .steps(found.steps)
            .note(note)
    })
}

/// Circuits of marked units and of motor-compressors, without heat, are
/// excepted from the small-conductor rule.
fn excepted(circuit: &Circuit) -> bool {
    let marked = circuit.mca.is_some() && circuit.mop.is_some();
    circuit.strip.is_none() && (marked || !circuit.compressors.is_empty())
}

fn conductor(circuit: &Circuit, currents: &Currents, rating: Option<Amps>) -> (Part, Option<Size>) {
    let mut part = Part::new("conductor", "Conductor");
    if circuit.mca.is_some() {
        let load = nameplate::conductor_load(currents.mca, circuit.edition);
        part.steps.extend(load.steps);
    }
    let mut request = Request {
        load: currents.mca,
        device: rating.filter(|_| !excepted(circuit)),
        like: circuit.like.clone(),
        insulation: None,
    };
    let mut at = Conditions {
        device: rating,
        ..circuit.at
    };
    let Some(found) = smallest_for(&request, &at) else {
        let note =
            "No single conductor of the table carries it there: parallel sets are not sized here.";
        return (part.note(note), None);
    };
    let size = found.into_value(&mut part.steps);
    part = part.text(format!("{size} {}", material(circuit)));
    if excepted(circuit) {
        part = part.note(
            "Air-conditioning equipment is excepted from the small-conductor rule, so the device \
             may stand above the conductor's ampacity.",
        );
    }
    let open = circuit.like.cable.is_none() && circuit.like.insulation.is_none();
    if open {
        // What the trade usually has: 75 °C terminals and a 90 °C type.
        at.terminals = at.terminals.or(Some(Celsius(75.0)));
        request.like.insulation = Some(Insulation::ThhnThwn2);
        if let Some(better) = smallest_for(&request, &at).filter(|better| better.value < size) {
            part = part.note(format!(
                "Read cautiously, because terminals or wiring method are not stated: {} {} does \
                 where terminals are marked 75 °C and the conductors are of a 90 °C type \
                 (--terminals 75 --cable THHN).",
                better.value,
                material(circuit)
            ));
        }
    }
    (part, Some(size))
}

fn ground_part(circuit: &Circuit, found: Option<Worked<Size>>) -> Part {
    let part = Part::new("grounding-conductor", "Grounding conductor");
    match found {
        Some(found) => part
            .text(format!("{} {}", found.value, material(circuit)))
            .steps(found.steps)
            .note(
                "A cable's own ground, or a metal raceway or armour listed for it, serves as well.",
            ),
        None => part.note("It hangs on the device, which is not found."),
    }
}

fn rated(currents: &Currents) -> Vec<Amps> {
    let loads = &currents.loads;
    let heater = loads.heater.map(|heater| heater.amps);
    let motors = loads.compressors.iter().chain(&loads.others).copied();
    motors.chain(heater).collect()
}

fn disconnect_part(circuit: &Circuit, currents: &Currents, rating: Option<Amps>) -> Part {
    let mut part = Part::new("disconnect", "Disconnect");
    let rated = rated(currents);
    let least = if rated.is_empty() {
        let found = disconnect::bounds_by_mca(currents.mca, circuit.edition);
        part = part.note("By the MCA alone; with the rated currents it may come out smaller.");
        found.into_value(&mut part.steps).1
    } else {
        disconnect::least_rating(&rated, circuit.edition).into_value(&mut part.steps)
    };
    let Some(switch) = disconnect::switch_size(least) else {
        return part.note(format!(
            "Above the largest common switch: {least} at least."
        ));
    };
    let switch = switch.into_value(&mut part.steps);
    if let Some(fuses) = rating.filter(|rating| rating.exceeds(switch))
        && let Some(fused) = disconnect::switch_size(fuses)
    {
        part = part.note(format!("With fuses of {fuses} in it: {}.", fused.value));
    }
    part.quantity(switch).note("In sight of the unit.")
}

fn drop_part(
    circuit: &Circuit,
    currents: &Currents,
    size: Option<Size>,
    ground: Option<Size>,
) -> Part {
    let mut part = Part::new("voltage-drop", "Voltage drop");
    let (Some(volts), Some(length), Some(size)) = (circuit.volts, circuit.length, size) else {
        return part.note("Not worked: give --volts and --length.");
    };
    let rated = rated(currents);
    let load = if rated.is_empty() {
        part = part.note("At MCA / 1.25, because the rated currents are not given.");
        currents.mca / 1.25
    } else {
        rated.into_iter().sum()
    };
    let run = Run {
        load,
        length,
        volts,
        phases: circuit.phases,
    };
    let wire = Wire {
        size,
        material: circuit.like.material,
        stranding: None,
        sets: 1,
    };
    let Some(found) = drop::over(&run, &wire, circuit.edition) else {
        return part.note("The table has no resistance for this conductor.");
    };
    let found = found.into_value(&mut part.steps);
    part = part.quantity(found.percent);
    if !found.percent.exceeds(circuit.drop_noted) {
        return part;
    }
    let above = format!(
        "Above the {} that notes to the code suggest",
        circuit.drop_noted
    );
    match drop::smallest_within(&run, &wire, circuit.drop_noted, circuit.edition) {
        Some(larger) => {
            let along = ground
                .and_then(|row| grounding::upsized(row, size, larger.value, circuit.edition))
                .map(|ground| {
                    let size = ground.into_value(&mut part.steps);
                    format!(", the grounding conductor with it to {size}")
                });
            part.note(format!(
                "{above}: {} brings it within{}.",
                larger.value,
                along.unwrap_or_default()
            ))
        }
        None => part.note(format!(
            "{above}, and no conductor of the table brings it within."
        )),
    }
}
