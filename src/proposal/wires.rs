//! The conductors of a circuit, and its grounding conductor.

use super::bench::Bench;
use super::circuits::needed_poles;
use super::text;
use crate::rules::branch;
use crate::schedule::wire::{Conductor, Grounding, Material, Size};
use crate::schedule::{Amps, CircuitId, Field, FieldName, LoadTarget, Schedule};
use crate::sizing::conductor::{self, Request};
use crate::sizing::grounding;

/// The wiring method that circuits of such units are scheduled with. Where
/// only indoor units have one, that of an outdoor unit is single conductors:
/// which cables are for wet places a schedule does not tell.
fn usual_conductor(s: &Schedule, outdoors: bool) -> Option<Conductor> {
    let of = |outdoors: bool| {
        s.circuits
            .iter()
            .filter(|c| {
                c.units()
                    .iter()
                    .any(|&unit| s.unit(unit).is_outdoor() == outdoors)
            })
            .find_map(|circuit| circuit.conductor.get())
    };
    if let Some(like) = of(outdoors) {
        return Some(like.clone());
    }
    let mut other = of(!outdoors)?.clone();
    if outdoors {
        other.cable = None;
        other.is_cable = false;
    }
    Some(other)
}

pub(super) fn set_conductor(
    bench: &mut Bench,
    s: &Schedule,
    id: CircuitId,
    load: Amps,
    rule: &'static str,
) -> Result<(), FieldName> {
    let circuit = bench.next.circuit(id).clone();
    let is_new = bench.added.contains(&circuit.at);
    let outdoors = circuit
        .units()
        .iter()
        .any(|&unit| s.unit(unit).is_outdoor());
    let mut wire = match (&circuit.conductor, is_new) {
        (Field::Given(found), _) => found.value.clone(),
        (_, true) => match usual_conductor(s, outdoors) {
            Some(usual) => Conductor {
                size: None,
                sets: 1,
                ..usual
            },
            None => return Ok(()),
        },
        // Not stated before: nothing to hold it against.
        _ => return Ok(()),
    };
    let before = wire.clone();
    let heated = circuit
        .units()
        .iter()
        .any(|&unit| s.unit(unit).has_strip_heat());
    let others = circuit
        .loads
        .iter()
        .any(|load| load.target == LoadTarget::Other);
    let breaker = circuit.breaker.copied();
    let request = Request {
        load,
        device: breaker.filter(|_| heated || others),
        like: Conductor {
            sets: 1,
            ..wire.clone()
        },
        insulation: circuit.insulation.copied(),
    };
    let at = branch::conditions(&circuit, bench.practice);
    let needed = conductor::smallest_for(&request, &at)
        .ok_or(FieldName::CircuitConductor)?
        .value;
    if wire.sets <= 1 && wire.size.is_none_or(|size| size < needed) {
        wire.size = Some(needed);
    }
    let poles = needed_poles(s, &circuit).unwrap_or(2).max(2);
    if wire.count.is_some_and(|count| count < poles) {
        wire.count = Some(poles);
    }
    if wire == before && circuit.conductor.is_given() {
        return Ok(());
    }
    let at = circuit.conductor.at().unwrap_or(circuit.at);
    bench.next.circuits[id.index()].conductor = Field::given(wire.clone(), at);
    bench.change(
        rule,
        at,
        FieldName::CircuitConductor,
        text::conductor(&wire),
    );
    Ok(())
}

/// A grounding conductor of a stated size by the row of the breaker; never
/// smaller than it was.
pub(super) fn set_ground(bench: &mut Bench, id: CircuitId, rule: &'static str) {
    let edition = bench.practice.edition;
    let circuit = bench.next.circuit(id).clone();
    let Some(breaker) = circuit.breaker.copied() else {
        return;
    };
    let wire = circuit.conductor.get();
    let of_wire = wire.and_then(|wire| wire.ground);
    let Some(Grounding::Sized { size, material }) = circuit.ground.copied().or(of_wire) else {
        return;
    };
    let of_circuit = wire.and_then(|wire| wire.material);
    let kind = material.or(of_circuit).unwrap_or(Material::Copper);
    let same = of_circuit.unwrap_or(Material::Copper) == kind;
    let own = wire.and_then(|wire| wire.size).filter(|_| same);
    let Some(least) = grounding::required(breaker, kind, own, edition) else {
        return;
    };
    // Where the proportion is asked about, as large as the circuit's own.
    let asked = rule == "grounding-conductor-small" && size >= least.value;
    let wanted: Size = if asked {
        own.unwrap_or(size).max(size)
    } else {
        least.value
    };
    if size >= wanted {
        return;
    }
    let ground = Grounding::Sized {
        size: wanted,
        material,
    };
    let circuit = &mut bench.next.circuits[id.index()];
    let one_cell = circuit.ground.at() == circuit.conductor.at();
    if let Field::Given(found) = &mut circuit.ground {
        found.value = ground;
        let at = found.at;
        if let (true, Field::Given(wire)) = (one_cell, &mut circuit.conductor) {
            wire.value.ground = Some(ground);
            let written = text::conductor(&wire.value);
            bench.change(rule, at, FieldName::CircuitConductor, written);
            return;
        }
        bench.change(rule, at, FieldName::CircuitGround, text::ground(ground));
    } else if let Field::Given(found) = &mut circuit.conductor {
        found.value.ground = Some(ground);
        let (at, written) = (found.at, text::conductor(&found.value));
        bench.change(rule, at, FieldName::CircuitConductor, written);
    }
}
