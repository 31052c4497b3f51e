//! The quantities of one schedule.

use super::{Kind, Quantity};
use crate::practice::Practice;
use crate::schedule::wire::{Conductor, Grounding, RunPurpose, Size};
use crate::schedule::{
    Amps, Circuit, Disconnect, Feet, Field, Run, RunId, Schedule, UnitId, number,
};
use std::collections::{BTreeMap, BTreeSet};

/// What makes two things one line of the takeoff.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Key {
    pub kind: Kind,
    /// Ratings and sizes in their own order: tenths of an ampere, poles.
    pub order: (i64, i64),
    pub name: String,
    pub unit: &'static str,
}

#[derive(Default)]
pub(super) struct Count {
    pub items: BTreeMap<Key, Quantity>,
    waste: f64,
}

/// Feet of bus wire in one box, as it is sold.
const BOX: f64 = 1000.0;

impl Count {
    pub fn of(s: &Schedule, unbounded: &BTreeSet<RunId>, practice: &Practice) -> Self {
        let mut count = Self {
            waste: 1.0 + practice.takeoff.waste.0 / 100.0,
            ..Self::default()
        };
        let mut switched: BTreeSet<UnitId> = BTreeSet::new();
        for circuit in &s.circuits {
            if !circuit.units().is_empty() {
                count.circuit(s, circuit, &mut switched);
            }
        }
        for (id, unit) in s.audited_units() {
            if let Field::Given(found) = &unit.disconnect
                && switched.insert(id)
            {
                count.disconnect(found.value);
            }
        }
        for (id, run) in s.run_ids() {
            let length = run.length.copied();
            count.run(run, length.filter(|_| !unbounded.contains(&id)));
        }
        count.boxes();
        count
    }

    fn add(&mut self, key: Key, amount: f64) {
        self.items.entry(key).or_default().amount += amount;
    }

    /// Feet of wire, `times` side by side, with the share for waste.
    fn feet(&mut self, key: Key, length: Option<Feet>, times: f64) {
        let entry = self.items.entry(key).or_default();
        match length {
            Some(length) => entry.amount += length.0 * times * self.waste,
            None => entry.without_length += 1,
        }
    }

    fn circuit(&mut self, s: &Schedule, circuit: &Circuit, switched: &mut BTreeSet<UnitId>) {
        let poles = circuit.poles.copied();
        if let Some(amps) = circuit.breaker.copied() {
            self.add(rated(Kind::Breaker, "breaker", amps, poles), 1.0);
        }
        let mut fuses: Vec<Amps> = circuit.fuse.copied().into_iter().collect();
        let own = match &circuit.disconnect {
            Field::Given(found) => Some(found.value),
            _ => None,
        };
        for unit in circuit.units() {
            let row = s.unit(unit);
            let switch = row.disconnect.copied();
            if fuses.is_empty() {
                let in_switch = switch.or(own).and_then(|switch| switch.fuse);
                fuses.extend(row.fuse.copied().or(in_switch));
            }
            if switch.is_none() && own.is_some() {
                switched.insert(unit);
            }
        }
        if let Some(own) = own
            && circuit
                .units()
                .iter()
                .any(|unit| !s.unit(*unit).disconnect.is_given())
        {
            self.disconnect(own);
        }
        // One fuse a pole; one circuit has one set.
        if let Some(&amps) = fuses.first() {
            let sets = f64::from(poles.unwrap_or(2));
            self.add(rated(Kind::Fuse, "fuse", amps, None), sets);
        }
        if let Some(wire) = circuit.conductor.get() {
            self.wire(circuit, wire);
        }
    }

    fn disconnect(&mut self, disconnect: Disconnect) {
        let size = disconnect
            .amps
            .map_or("size not stated".to_owned(), |amps| amps.to_string());
        let kind = match disconnect.fused.or(disconnect.fuse.map(|_| true)) {
            Some(true) => "fused disconnect",
            Some(false) => "non-fused disconnect",
            None => "disconnect",
        };
        let key = Key {
            kind: Kind::Disconnect,
            order: (tenths(disconnect.amps), 0),
            name: format!("{kind} {size}"),
            unit: "each",
        };
        self.add(key, 1.0);
    }

    fn wire(&mut self, circuit: &Circuit, wire: &Conductor) {
        let Some(size) = wire.size else {
            return;
        };
        let length = circuit.length.copied();
        let sets = f64::from(wire.sets.max(1));
        let material = wire.material.map_or(String::new(), |m| format!(" {m}"));
        if wire.is_cable || wire.cable.is_some() {
            let kind = wire.cable.map_or(String::new(), |kind| format!(" {kind}"));
            let cores = wire
                .count
                .map_or(String::new(), |count| format!("/{count}"));
            let plain = size.to_string();
            let plain = plain.trim_end_matches(" AWG");
            let key = sized(
                Kind::Cable,
                size,
                format!("{plain}{cores}{material}{kind} cable"),
            );
            return self.feet(key, length, sets);
        }
        let insulation = circuit.insulation.copied().or(wire.insulation);
        let insulation = insulation.map_or(String::new(), |kind| format!(" {kind}"));
        let name = format!("conductor {size}{material}{insulation}");
        let count = wire
            .count
            .or(circuit.poles.copied().map(|poles| poles.max(2)));
        let key = sized(Kind::Conductor, size, name);
        match count {
            Some(count) => self.feet(key, length, f64::from(count) * sets),
            None => self.feet(key, None, sets),
        }
        let ground = circuit.ground.copied().or(wire.ground);
        if let Some(Grounding::Sized { size, material }) = ground {
            let material = material.map_or(String::new(), |m| format!(" {m}"));
            let key = sized(
                Kind::Ground,
                size,
                format!("grounding conductor {size}{material}"),
            );
            self.feet(key, length, sets);
        }
    }

    fn run(&mut self, run: &Run, length: Option<Feet>) {
        let (kind, what) = match run.serves {
            RunPurpose::Bus => (Kind::BusWire, "bus wire"),
            RunPurpose::Controller => (Kind::ControllerWire, "controller wire"),
            RunPurpose::Interlock => (Kind::OtherWire, "interlock wire"),
            RunPurpose::Central => (Kind::OtherWire, "central control wire"),
        };
        let mut name = what.to_owned();
        if let Some(gauge) = run.gauge.copied() {
            name.push_str(&format!(" {gauge}"));
        }
        if let Some(conductors) = run.conductors.copied() {
            let many = if conductors == 1 { "" } else { "s" };
            name.push_str(&format!(", {conductors} conductor{many}"));
        }
        match run.stranded.copied() {
            Some(true) => name.push_str(", stranded"),
            Some(false) => name.push_str(", solid"),
            None => {}
        }
        if run.shielded.copied() == Some(true) {
            name.push_str(", shielded");
        }
        let key = Key {
            kind,
            order: (0, 0),
            name,
            unit: "ft",
        };
        self.feet(key, length, 1.0);
    }

    /// Whole boxes of each kind of bus wire.
    fn boxes(&mut self) {
        let wires: Vec<(String, Quantity)> = self
            .items
            .iter()
            .filter(|(key, _)| key.kind == Kind::BusWire)
            .map(|(key, quantity)| (key.name.clone(), *quantity))
            .collect();
        for (name, feet) in wires {
            let key = boxed(&name);
            // A hair above a full box is rounding, no further box.
            let boxes = (feet.amount / BOX - 1e-9).ceil().max(0.0);
            let quantity = Quantity {
                amount: boxes,
                without_length: feet.without_length,
            };
            self.items.insert(key, quantity);
        }
    }
}

/// The box in which a bus wire is bought.
pub(super) fn boxed(wire: &str) -> Key {
    Key {
        kind: Kind::BusBox,
        order: (0, 0),
        name: format!("{wire}, box of {} ft", number(BOX)),
        unit: "box",
    }
}

fn tenths(amps: Option<Amps>) -> i64 {
    amps.map_or(0, |amps| (amps.0 * 10.0).round() as i64)
}

fn rated(kind: Kind, what: &str, amps: Amps, poles: Option<u8>) -> Key {
    let poled = match (kind, poles) {
        (Kind::Breaker, Some(poles)) => format!(" {poles}-pole"),
        (Kind::Breaker, None) => ", poles not stated".to_owned(),
        _ => String::new(),
    };
    Key {
        kind,
        order: (tenths(Some(amps)), i64::from(poles.unwrap_or(0))),
        name: format!("{what} {amps}{poled}"),
        unit: "each",
    }
}

fn sized(kind: Kind, size: Size, name: String) -> Key {
    let order = match size {
        Size::Awg(gauge) => -i64::from(gauge),
        Size::Kcmil(kcmil) => 1000 + i64::from(kcmil),
    };
    Key {
        kind,
        order: (order, 0),
        name,
        unit: "ft",
    }
}
