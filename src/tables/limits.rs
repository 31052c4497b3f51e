//! Single limits of sections: numbers that are not part of a table.

use super::{Cite, Cited, Known, Source, Topic};
use crate::schedule::{Amps, Celsius, Edition, Horsepower, Kilowatts, Percent, Volts};

/// Where ground-fault protection of outdoor outlets of a dwelling is asked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutdoorGfci {
    /// Up to this much between a conductor and ground.
    pub volts_to_ground: Volts,
    /// Circuits rated up to this.
    pub amps: Amps,
    /// Listed air-conditioning equipment was excepted until this date
    /// (year, month, day).
    pub excepted_until: Option<(i16, i8, i8)>,
    /// Listed devices of Class C are excepted.
    pub class_c_excepted: bool,
}

/// `None` where the edition asks for none.
pub fn outdoor_gfci(edition: Edition) -> Option<Cited<OutdoorGfci>> {
    let asked = |amps, excepted_until, class_c_excepted| {
        let value = OutdoorGfci {
            volts_to_ground: Volts(150.0),
            amps: Amps(amps),
            excepted_until,
            class_c_excepted,
        };
        Cited::new(value, Cite::published(Topic::OutdoorGfci), edition)
    };
    match edition {
        Edition::Nec2017 => None,
        Edition::Nec2020 | Edition::Nec2023 => Some(asked(50.0, Some((2026, 9, 1)), false)),
        Edition::Nec2026 => Some(asked(60.0, None, true)),
    }
}

/// Small motors on one general circuit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SmallGroup {
    /// The circuit's device, above 120 V.
    pub device: Amps,
    /// Full-load current of each motor.
    pub motor: Amps,
    /// Output of each motor.
    pub output: Horsepower,
}

pub fn small_group(edition: Edition) -> Cited<SmallGroup> {
    Cited::new(
        SmallGroup {
            device: Amps(15.0),
            motor: Amps(6.0),
            output: Horsepower(1.0),
        },
        Cite::published(Topic::SmallGroupMotors),
        edition,
    )
}

/// Limits of a subdivided heater.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeatLimits {
    /// Elements above this are subdivided, each part at most this.
    pub part: Amps,
    /// Device of each part, at most.
    pub device: Amps,
}

pub fn heat_limits(edition: Edition) -> Cited<HeatLimits> {
    Cited::new(
        HeatLimits {
            part: Amps(48.0),
            device: Amps(60.0),
        },
        Cite::published(Topic::HeatSubdivision),
        edition,
    )
}

/// From this rating on a heater counts at 100 % instead of 125 %.
pub fn large_heat(edition: Edition) -> Cited<Kilowatts> {
    Cited::new(
        Kilowatts(50.0),
        Cite::from_memory(Topic::LargeHeat),
        edition,
    )
}

/// Share of the rated load taken for heaters with their blowers.
pub fn heat_factor(edition: Edition) -> Cited<f64> {
    Cited::new(1.25, Cite::published(Topic::ElectricHeat), edition)
}

/// Share of the largest motor-compressor in a minimum circuit ampacity.
pub fn compressor_conductor_factor(edition: Edition) -> Cited<f64> {
    Cited::new(1.25, Cite::published(Topic::AcConductorSeveral), edition)
}

/// Shares of the largest motor-compressor in its protection: the first
/// choice, and the most where the first does not let it start.
pub fn compressor_protection_factors(edition: Edition) -> Cited<(f64, f64)> {
    Cited::new((1.75, 2.25), Cite::published(Topic::AcProtection), edition)
}

/// The smallest protection that a computed maximum comes down to.
pub fn protection_floor(edition: Edition) -> Cited<Amps> {
    Cited::new(Amps(15.0), Cite::from_memory(Topic::AcProtection), edition)
}

/// Share of the largest motor among several on one conductor.
pub fn several_motors_factor(edition: Edition) -> Cited<f64> {
    Cited::new(1.25, Cite::published(Topic::SeveralMotors), edition)
}

/// Share of the rated currents that a disconnect carries.
pub fn disconnect_factor(edition: Edition) -> Cited<f64> {
    Cited::new(1.15, Cite::published(Topic::AcDisconnect), edition)
}

/// Up to this ampacity the next larger standard device is allowed.
pub fn next_larger_up_to(edition: Edition) -> Cited<Amps> {
    Cited::new(
        Amps(800.0),
        Cite::published(Topic::NextLargerDevice),
        edition,
    )
}

/// Up to this current terminals count as 60 °C unless marked.
pub fn small_terminals_up_to(edition: Edition) -> Cited<Amps> {
    Cited::new(Amps(100.0), Cite::published(Topic::Terminals), edition)
}

/// What a raceway closer than 7/8 in above a roof adds to the ambient;
/// XHHW-2 is excepted.
pub fn roof_adder(edition: Edition) -> Cited<Celsius> {
    Cited::new(Celsius(33.0), Cite::published(Topic::RoofRaceway), edition)
}

/// Voltage drop of the branch, and of feeder and branch together, in the
/// informational notes: no requirement.
pub fn drop_notes(edition: Edition) -> [Cited<Percent>; 2] {
    [
        Cited::new(
            Percent(3.0),
            Cite::published(Topic::BranchVoltageDrop),
            edition,
        ),
        Cited::new(
            Percent(5.0),
            Cite::published(Topic::FeederVoltageDrop),
            edition,
        ),
    ]
}

/// A voltage as nameplates print it and the nominal system that it is for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NominalPair {
    pub nameplate: u16,
    pub system: u16,
    pub source: Source,
}

const C84: Source = Source::Publication {
    name: "ANSI C84.1 (second-hand)",
    known: Known::Published,
};

const fn pair(nameplate: u16, system: u16) -> NominalPair {
    NominalPair {
        nameplate,
        system,
        source: C84,
    }
}

pub const NOMINAL_PAIRS: [NominalPair; 5] = [
    pair(115, 120),
    pair(200, 208),
    pair(230, 240),
    pair(460, 480),
    pair(575, 600),
];

/// How far the supply may lie from a nameplate's volts, as a share.
pub const NAMEPLATE_BAND: Cited<f64> = Cited {
    value: 0.10,
    source: Source::Publication {
        name: "public nameplate tables, ± 10 %",
        known: Known::Published,
    },
};
