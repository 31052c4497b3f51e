//! Voltage drop of a run, and the loop resistance of low-voltage wire.

use super::{Step, Worked};
use crate::schedule::wire::{Material, Size};
use crate::schedule::{Amps, Celsius, Edition, Feet, Percent, Quantity, Volts, number};
use crate::tables::conductors::{self, Stranding};
use crate::tables::{Source, Topic};

/// Current goes out and back on two conductors, or on three that share it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phases {
    Single,
    Three,
}

impl Phases {
    /// What the one-way length counts.
    pub fn factor(self) -> f64 {
        match self {
            Self::Single => 2.0,
            Self::Three => 3f64.sqrt(),
        }
    }

    /// What power is divided by for its current, and how it is written.
    pub fn divisor(self, volts: Volts) -> (f64, String) {
        match self {
            Self::Single => (volts.0, volts.to_string()),
            Self::Three => (volts.0 * 3f64.sqrt(), format!("({volts} × √3)")),
        }
    }

    fn written(self) -> &'static str {
        match self {
            Self::Single => "2",
            Self::Three => "√3",
        }
    }
}

/// A run and its load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Run {
    pub load: Amps,
    /// One way.
    pub length: Feet,
    pub volts: Volts,
    pub phases: Phases,
}

#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Drop {
    pub volts: Volts,
    pub percent: Percent,
}

/// Resistances run to three significant figures far below 1: two decimals
/// would lose them.
fn written(ohms: f64) -> f64 {
    (ohms * 1e5).round() / 1e5
}

/// Drop over conductors of `ohms` per 1000 ft.
pub fn by_resistance(run: &Run, ohms: f64, source: impl Into<Option<Source>>) -> Worked<Drop> {
    let volts = Volts(run.phases.factor() * run.load.0 * run.length.0 * ohms / 1000.0);
    let percent = Percent(100.0 * volts.0 / run.volts.0);
    let steps = vec![
        Step::new(
            "voltage-drop",
            volts,
            format!(
                "{} × {} × {} × {} ohm per 1,000 ft / 1,000",
                run.phases.written(),
                run.load,
                run.length,
                written(ohms)
            ),
            source,
        ),
        Step::new(
            "voltage-drop-share",
            percent,
            format!("{volts} of {}", run.volts),
            None,
        ),
    ];
    Worked::new(Drop { volts, percent }, steps)
}

/// Conductors of a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wire {
    pub size: Size,
    /// Not stated: copper.
    pub material: Option<Material>,
    /// Not stated: stranded, whose resistance is the higher.
    pub stranding: Option<Stranding>,
    /// Sets in parallel, 1 at least.
    pub sets: u8,
}

/// Ohms per 1000 ft at 75 °C, the sets in parallel counted; `None` where the
/// table has no value.
pub fn resistance(wire: &Wire, edition: Edition) -> Option<Worked<f64>> {
    let material = wire.material.unwrap_or(Material::Copper);
    let stranding = wire.stranding.unwrap_or(Stranding::Stranded);
    let found = conductors::resistance(wire.size, material, stranding, edition)?;
    let sets = f64::from(wire.sets.max(1));
    let ohms = found.value / sets;
    let mut how = format!("{} {material}", wire.size);
    if wire.material.is_none() {
        how.push_str(" (not stated)");
    }
    how.push_str(match stranding {
        Stranding::Solid => ", solid",
        Stranding::Stranded => ", stranded",
    });
    how.push_str(", 75 °C, direct current");
    if wire.sets > 1 {
        how.push_str(&format!(", {} / {} sets", found.value, wire.sets));
    }
    let value = format!("{} ohm per 1,000 ft", written(ohms));
    let step = Step::new("resistance", value, how, found.source);
    Some(Worked::new(ohms, vec![step]))
}

/// A resistance at 75 °C brought to another temperature of the conductor.
pub fn at_temperature(ohms: f64, material: Material, at: Celsius, edition: Edition) -> f64 {
    let alpha = conductors::temperature_coefficient(material, edition).value;
    ohms * (1.0 + alpha * (at.0 - 75.0))
}

/// Drop over a wire of the table.
pub fn over(run: &Run, wire: &Wire, edition: Edition) -> Option<Worked<Drop>> {
    let mut steps = Vec::new();
    let ohms = resistance(wire, edition)?.into_value(&mut steps);
    let source = Source::code(Topic::BranchVoltageDrop, edition);
    let drop = by_resistance(run, ohms, source).into_value(&mut steps);
    Some(Worked::new(drop, steps))
}

/// The smallest size, from `wire.size` up, whose drop is not above `limit`;
/// `None` where none in the table is.
pub fn smallest_within(
    run: &Run,
    wire: &Wire,
    limit: Percent,
    edition: Edition,
) -> Option<Worked<Size>> {
    conductors::sizes()
        .filter(|&size| size >= wire.size)
        .find_map(|size| {
            // Solid conductors end at 8 AWG.
            let stranding = wire.stranding.filter(|_| size <= Size::Awg(8));
            let drop = over(
                run,
                &Wire {
                    size,
                    stranding,
                    ..*wire
                },
                edition,
            )?;
            (!drop.value.percent.exceeds(limit)).then(|| Worked::new(size, drop.steps))
        })
}

/// The one-way length at which the drop comes to `limit`; `None` without a
/// load or a resistance.
pub fn longest_within(run: &Run, ohms: f64, limit: Percent) -> Option<Feet> {
    let per_foot = run.phases.factor() * run.load.0 * ohms / 1000.0;
    (per_foot > 0.0).then(|| Feet(run.volts.0 * limit.0 / 100.0 / per_foot))
}

/// Resistance out and back of a two-conductor low-voltage run, ohms at 75 °C.
pub fn loop_resistance(
    length: Feet,
    size: Size,
    stranding: Option<Stranding>,
    edition: Edition,
) -> Option<Worked<f64>> {
    let wire = Wire {
        size,
        material: Some(Material::Copper),
        stranding,
        sets: 1,
    };
    let mut steps = Vec::new();
    let ohms = resistance(&wire, edition)?.into_value(&mut steps);
    let value = 2.0 * length.0 * ohms / 1000.0;
    let how = format!("2 × {length} × {} ohm per 1,000 ft / 1,000", written(ohms));
    steps.push(Step::new(
        "loop-resistance",
        format!("{} ohm", number(value)),
        how,
        None,
    ));
    Some(Worked::new(value, steps))
}
