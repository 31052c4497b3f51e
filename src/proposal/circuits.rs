//! What a circuit has to be for what is on it: poles, protection, conductors
//! and grounding conductor. What is right already stays.

use super::bench::Bench;
use super::data::UNKNOWN;
use super::slots::Opened;
use super::{text, wires};
use crate::rules::branch;
use crate::schedule::{
    Amps, Circuit, CircuitId, Disconnect, Field, FieldName, Part, Quantity, Schedule, Unit, UnitId,
};
use crate::sizing::{disconnect, heat, protection, supply};
use crate::tables::limits;
use crate::tables::ratings::Device;

/// The loads of a circuit as they bear on its size.
pub(super) enum Duty {
    /// One unit by its nameplate, a heater in its MCA included.
    Nameplate {
        unit: UnitId,
        mca: Option<Amps>,
        mop: Option<Amps>,
    },
    /// A heater, with or without its blower.
    Heat { load: Amps, parts: u32 },
    /// Several units without heat.
    Shared { load: Amps, mop: Amps },
}

/// What the circuit carries; the missing field where a fact is wanting.
pub(super) fn duty(s: &Schedule, id: CircuitId, bench: &Bench) -> Result<Duty, FieldName> {
    let circuit = s.circuit(id);
    let units = circuit.units();
    let first = *units.first().ok_or(FieldName::CircuitLoads)?;
    let volts = branch::volts(s, circuit).or_else(|| branch::unit_volts(s, s.unit(first)));
    if let [only] = units[..] {
        let unit = s.unit(only);
        if let Some(duty) = heat_duty(s, id, unit, bench) {
            return Ok(duty);
        }
        let mca = branch::mca(unit, volts).map(|mca| mca.most);
        let mop = branch::mop(unit, volts).map(|mop| mop.least);
        if mca.is_none() && mop.is_none() {
            return Err(FieldName::UnitMca);
        }
        return Ok(Duty::Nameplate {
            unit: only,
            mca,
            mop,
        });
    }
    let found = branch::shared_load(s, circuit, &units, bench.practice);
    if !found.silent.is_empty() {
        return Err(FieldName::UnitMca);
    }
    let mut smallest: Option<Amps> = None;
    for &unit in &units {
        let mop = branch::mop(s.unit(unit), volts).ok_or(FieldName::UnitMop)?;
        if smallest.is_none_or(|least| mop.least.below(least)) {
            smallest = Some(mop.least);
        }
    }
    Ok(Duty::Shared {
        load: found.load.most,
        mop: smallest.ok_or(FieldName::UnitMop)?,
    })
}

/// Where the nameplate does not speak for a heater on this circuit.
fn heat_duty(s: &Schedule, id: CircuitId, unit: &Unit, bench: &Bench) -> Option<Duty> {
    if !unit.has_strip_heat() {
        return None;
    }
    let circuits = branch::circuits_of(s, unit);
    let is_heater = |part: &Part| matches!(part, Part::Heater(_));
    let heaters = circuits.iter().filter(|(_, part)| is_heater(part)).count();
    let here = circuits.iter().any(|(c, part)| *c == id && is_heater(part));
    let volts = branch::volts(s, s.circuit(id));
    if heaters > 0 && !here {
        return None;
    }
    if circuits.len() == 1 && branch::mca_includes_heat(unit, volts) == Some(true) {
        return None;
    }
    let parts = heaters.max(1) as u32;
    let amps = branch::heater_amps(unit, volts)?.most / f64::from(parts);
    let blower = match branch::full_load(unit) {
        _ if here && circuits.len() > heaters => Amps(0.0),
        Some(amps) => amps,
        None => branch::mca(unit, volts).map_or(Amps(0.0), |mca| mca.least / 1.25),
    };
    let kw = unit.heat_kw.copied();
    let load = heat::circuit_load(amps, blower, kw, bench.practice.edition).value;
    Some(Duty::Heat { load, parts })
}

/// Makes circuit `id` of the next round right for its loads.
pub(super) fn right(bench: &mut Bench, id: CircuitId, rule: &'static str) -> Result<(), FieldName> {
    if set_poles(bench, id, rule) {
        // Volts follow from poles: the rest in the next round.
        bench.pending.push((id, rule));
        return Ok(());
    }
    let s = bench.now.clone();
    // Count, smallest size and grounding conductor need no nameplate.
    let bare = [
        "poles-mismatch",
        "phase-mismatch",
        "conductor-count",
        "conductor-too-small",
        "grounding-conductor-small",
    ];
    let done = match duty(&s, id, bench) {
        Ok(duty) => {
            let protected = set_protection(bench, &s, id, &duty, rule);
            wires::set_conductor(bench, &s, id, duty.load(), rule).and(protected)
        }
        Err(field) => wires::set_conductor(bench, &s, id, Amps(0.0), rule).and(Err(field)),
    };
    wires::set_ground(bench, id, rule);
    if bare.contains(&rule) { Ok(()) } else { done }
}

impl Duty {
    /// What the conductors have to carry; nothing where MCA is wanting.
    fn load(&self) -> Amps {
        match *self {
            Self::Nameplate { mca, .. } => mca.unwrap_or(Amps(0.0)),
            Self::Heat { load, .. } | Self::Shared { load, .. } => load,
        }
    }
}

pub(super) fn needed_poles(s: &Schedule, circuit: &Circuit) -> Option<u8> {
    circuit
        .units()
        .iter()
        .find_map(|&unit| supply::poles_needed(s.unit(unit).supply.get()?))
}

fn set_poles(bench: &mut Bench, id: CircuitId, rule: &'static str) -> bool {
    let circuit = bench.next.circuit(id).clone();
    let Some(needed) = needed_poles(&bench.now, &circuit) else {
        return false;
    };
    if circuit.poles.copied() == Some(needed) {
        return false;
    }
    if !circuit.poles.is_given() && branch::poles(&circuit).is_none_or(|p| p.count == needed) {
        return false;
    }
    let at = circuit.poles.at().unwrap_or(circuit.at);
    bench.next.circuits[id.index()].poles = Field::given(needed, at);
    let changed = bench.next.circuit(id).clone();
    let (field, written) = if changed.breaker.at() == Some(at) {
        (FieldName::CircuitBreaker, text::breaker(&changed))
    } else {
        (FieldName::CircuitPoles, needed.to_string())
    };
    bench.change(rule, at, field, written);
    let slots = circuit.slots.get().map_or(0, Vec::len);
    if slots > 0 && (slots > 1 || needed > 1) {
        open_slots(bench, id, rule, "slots for a breaker of these poles");
    }
    true
}

/// Leaves the slots open: which are free in the panel no schedule shows.
pub(super) fn open_slots(bench: &mut Bench, id: CircuitId, rule: &'static str, what: &str) {
    let label = bench.now.circuit_label(id);
    let slots = bench.now.circuit(id).slots_taken();
    let circuit = &mut bench.next.circuits[id.index()];
    let at = circuit.slots.at().unwrap_or(circuit.at);
    let opened = bench.opened.entry(circuit.at).or_insert(Opened {
        slots,
        name: circuit.name.clone(),
        called: String::new(),
    });
    opened.called.clone_from(&label);
    circuit.slots = Field::Unknown(at);
    if !circuit.name.is_given() {
        let name = crate::schedule::Name::new(&format!("moved {label}"));
        circuit.name = Field::given(name, circuit.at);
    }
    bench.change(rule, at, FieldName::CircuitSlots, UNKNOWN.to_owned());
    let text = format!("Which {what} are free in the panel for {label}?");
    bench.question(None, rule, FieldName::CircuitSlots, &label, text);
}

fn set_protection(
    bench: &mut Bench,
    s: &Schedule,
    id: CircuitId,
    duty: &Duty,
    rule: &'static str,
) -> Result<(), FieldName> {
    let edition = bench.practice.edition;
    let circuit = s.circuit(id);
    let breaker = circuit.breaker.copied();
    match *duty {
        Duty::Nameplate { unit, mca, mop } => match (mca, mop) {
            (mca, Some(mop)) => {
                by_nameplate(bench, s, id, (unit, mca.unwrap_or(Amps(0.0)), mop), rule)
            }
            (Some(mca), None) => {
                let least = protection::smallest_for_mca(mca, Device::Breaker, edition);
                let least = least.ok_or(FieldName::UnitMca)?.value;
                if breaker.is_some_and(|breaker| breaker.below(mca)) {
                    set_breaker(bench, id, least, rule);
                }
                raise_fuse(bench, s, id, least, rule);
                Ok(())
            }
            (None, None) => Err(FieldName::UnitMca),
        },
        Duty::Heat { load, parts } => {
            let unit = circuit.units().first().map(|&unit| s.unit(unit));
            let rated = branch::protection(circuit, unit).rating().map(|r| r.value);
            let least = protection::standard_at_or_above(load, Device::Breaker, edition);
            let least = least.ok_or(FieldName::CircuitBreaker)?.value;
            let part = limits::heat_limits(edition).value.device;
            let too_large = parts > 1 && rated.is_some_and(|rated| rated.exceeds(part));
            let mop = unit.and_then(|unit| branch::mop(unit, branch::volts(s, circuit)));
            let over = mop.is_some_and(|mop| {
                let over = rated.is_some_and(|rated| rated.exceeds(mop.least));
                over && !least.exceeds(mop.least)
            });
            let too_large = too_large || over;
            if rated.is_none_or(|rated| rated.below(load)) || too_large {
                set_breaker(bench, id, least, rule);
                raise_fuse(bench, s, id, least, rule);
            }
            Ok(())
        }
        Duty::Shared { load, mop } => {
            let most = bench.practice.sharing.rating;
            let most = if mop.below(most) { mop } else { most };
            let rating = protection::standard_at_or_below(most, Device::Breaker, edition);
            let rating = rating.ok_or(FieldName::UnitMop)?.value;
            if load.exceeds(rating) {
                if breaker.is_some_and(|breaker| breaker.exceeds(rating)) {
                    set_breaker(bench, id, rating, rule);
                }
                return Err(FieldName::CircuitLoads);
            }
            let right = |b: Amps| !b.exceeds(rating) && !b.below(load);
            if !breaker.is_some_and(right) {
                set_breaker(bench, id, rating, rule);
            }
            Ok(())
        }
    }
}

fn by_nameplate(
    bench: &mut Bench,
    s: &Schedule,
    id: CircuitId,
    (unit_id, mca, mop): (UnitId, Amps, Amps),
    rule: &'static str,
) -> Result<(), FieldName> {
    let edition = bench.practice.edition;
    let (circuit, unit) = (s.circuit(id), s.unit(unit_id));
    if mop.below(mca) {
        return Err(FieldName::UnitMop);
    }
    let window = |device| protection::window(mca, mop, device, edition).value;
    let held = |amps: Amps| !amps.below(mca) && !amps.exceeds(mop);
    let found = branch::protection(circuit, Some(unit));
    let fuses_only = unit.mop.get().is_some_and(|mop| mop.fuses_only);
    let breakers = window(Device::Breaker);
    let fuses = window(Device::Fuse);
    if breakers.is_none() && fuses.is_none() {
        return Err(FieldName::UnitMop);
    }
    let breaker = found.breaker.map(|b| b.value);
    let fuse = found.fuse.map(|f| f.value);
    match (breakers, fuse) {
        (Some(breakers), fuse) => {
            let fine = breaker.is_some_and(held)
                || fuse.is_some_and(held) && breaker.is_some_and(|b| !b.below(mca));
            if !fine {
                set_breaker(bench, id, breakers.largest, rule);
            }
            if let (Some(fuse), Some(fuses)) = (fuse, fuses)
                && !held(fuse)
            {
                set_fuse(bench, s, id, fuses.largest, rule);
                if breaker.is_some_and(|b| b.exceeds(mop)) {
                    set_breaker(bench, id, breakers.largest, rule);
                }
            } else if fuses_only
                && fuse.is_none()
                && let Some(fuses) = fuses
            {
                set_fuse(bench, s, id, fuses.largest, rule);
            }
        }
        (None, _) => {
            let least = protection::standard_at_or_above(mca, Device::Breaker, edition);
            let least = least.ok_or(FieldName::UnitMca)?.value;
            if breaker.is_none_or(|b| b.below(mca)) {
                set_breaker(bench, id, least, rule);
            }
            if let Some(fuses) = fuses
                && !fuse.is_some_and(held)
            {
                set_fuse(bench, s, id, fuses.largest, rule);
            }
        }
    }
    Ok(())
}

fn set_breaker(bench: &mut Bench, id: CircuitId, amps: Amps, rule: &'static str) {
    let circuit = &mut bench.next.circuits[id.index()];
    let at = circuit.breaker.at().unwrap_or(circuit.at);
    circuit.breaker = Field::given(amps, at);
    let written = text::breaker(circuit);
    bench.change(rule, at, FieldName::CircuitBreaker, written);
}

/// Fuses wherever they are stated, else at the circuit.
fn set_fuse(bench: &mut Bench, s: &Schedule, id: CircuitId, amps: Amps, rule: &'static str) {
    let plain = crate::schedule::number(amps.0);
    let circuit = &mut bench.next.circuits[id.index()];
    let mut changes = Vec::new();
    let mut stated = false;
    if let Field::Given(fuse) = &mut circuit.fuse {
        fuse.value = amps;
        changes.push((fuse.at, FieldName::CircuitFuse, plain.clone()));
        stated = true;
    }
    if let Field::Given(found) = &mut circuit.disconnect
        && found.value.fuse.is_some()
    {
        found.value.fuse = Some(amps);
        let written = text::disconnect(found.value);
        changes.push((found.at, FieldName::CircuitDisconnect, written));
        stated = true;
    }
    for unit in s.circuit(id).units() {
        let unit = &mut bench.next.units[unit.index()];
        if let Field::Given(fuse) = &mut unit.fuse {
            fuse.value = amps;
            changes.push((fuse.at, FieldName::UnitFuse, plain.clone()));
            stated = true;
        }
        if let Field::Given(found) = &mut unit.disconnect
            && found.value.fuse.is_some()
        {
            found.value.fuse = Some(amps);
            let written = text::disconnect(found.value);
            changes.push((found.at, FieldName::UnitDisconnect, written));
            stated = true;
        }
    }
    if !stated {
        let circuit = &mut bench.next.circuits[id.index()];
        let at = circuit.fuse.at().unwrap_or(circuit.at);
        circuit.fuse = Field::given(amps, at);
        changes.push((at, FieldName::CircuitFuse, plain));
    }
    for (at, field, written) in changes {
        bench.change(rule, at, field, written);
    }
}

fn raise_fuse(bench: &mut Bench, s: &Schedule, id: CircuitId, amps: Amps, rule: &'static str) {
    let circuit = s.circuit(id);
    let unit = circuit.units().first().map(|&unit| s.unit(unit));
    let fuse = branch::protection(circuit, unit).fuse;
    if fuse.is_some_and(|fuse| fuse.value.below(amps)) {
        set_fuse(bench, s, id, amps, rule);
    }
}

/// A disconnect of a unit that is not below its currents or its fuse.
pub(super) fn right_disconnect(bench: &mut Bench, id: UnitId, rule: &'static str) -> bool {
    let s = bench.now.clone();
    let unit = s.unit(id);
    let edition = bench.practice.edition;
    let volts = branch::unit_volts(&s, unit);
    let rated: Vec<Amps> = [unit.rla.copied(), unit.fla.copied()]
        .into_iter()
        .flatten()
        .collect();
    let by_rated = disconnect::least_rating(&rated, edition).value;
    let by_mca = branch::mca(unit, volts).map_or(Amps(0.0), |mca| {
        disconnect::bounds_by_mca(mca.most, edition).value.1
    });
    let by_fuse = branch::protection(
        unit.circuits
            .first()
            .map_or(&Circuit::new(unit.tag.at), |(c, _)| s.circuit(*c)),
        Some(unit),
    )
    .fuse
    .map_or(Amps(0.0), |fuse| fuse.value);
    let least = [by_rated, by_mca, by_fuse]
        .into_iter()
        .fold(
            Amps(0.0),
            |most, amps| if amps.exceeds(most) { amps } else { most },
        );
    let Some(size) = disconnect::switch_size(least).filter(|_| least.0 > 0.0) else {
        return false;
    };
    if rule == "disconnect-missing" {
        let named = Disconnect {
            amps: Some(size.value),
            fused: Some(false),
            fuse: None,
        };
        let unit = &mut bench.next.units[id.index()];
        let at = unit.disconnect.at().unwrap_or(unit.tag.at);
        unit.disconnect = Field::given(named, at);
        bench.change(rule, at, FieldName::UnitDisconnect, text::disconnect(named));
        return true;
    }
    if let Field::Given(found) = &mut bench.next.units[id.index()].disconnect {
        found.value.amps = Some(size.value);
        let (at, written) = (found.at, text::disconnect(found.value));
        bench.change(rule, at, FieldName::UnitDisconnect, written);
        return true;
    }
    let Some((circuit, _)) = unit.circuits.first().copied() else {
        return false;
    };
    if let Field::Given(found) = &mut bench.next.circuits[circuit.index()].disconnect {
        found.value.amps = Some(size.value);
        let (at, written) = (found.at, text::disconnect(found.value));
        bench.change(rule, at, FieldName::CircuitDisconnect, written);
        return true;
    }
    false
}
