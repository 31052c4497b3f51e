//! Voltage drop, loop resistance, strip heat.

use super::{BY_HAND, Check, Tally, near, published, tally};
use crate::schedule::wire::{Material, Size};
use crate::schedule::{Amps, Celsius, Edition, Feet, Kilowatts, Percent, Volts};
use crate::sizing::drop::{self, Phases, Run, Wire};
use crate::sizing::heat;
use crate::tables::conductors::{Stranding, circular_mils};

pub fn tallies() -> Vec<Tally> {
    vec![
        tally(BY_RESISTANCE),
        tally(BY_K),
        tally(HEATERS),
        tally(HEAT_CIRCUITS),
        tally(PARTS),
    ]
}

const BASICS: &str = "EC&M, Basics of Calculating Voltage Drop";
const LICENCE: &str = "trade licence prep page, K 12.9";

struct Given {
    volts: f64,
    amps: f64,
    feet: f64,
    phases: Phases,
    ohms: f64,
}

const fn given(volts: f64, amps: f64, feet: f64, phases: Phases, ohms: f64) -> Given {
    Given {
        volts,
        amps,
        feet,
        phases,
        ohms,
    }
}

const BY_RESISTANCE: &[Check<Given, (f64, f64)>] = &[
    published(
        given(115.0, 16.0, 50.0, Phases::Single, 1.2),
        (1.92, 1.67),
        "electricianpracticetests",
    ),
    published(
        given(480.0, 20.0, 200.0, Phases::Three, 1.1),
        (7.62, 1.59),
        BASICS,
    ),
    published(
        given(480.0, 20.0, 200.0, Phases::Three, 1.7),
        (11.8, 2.45),
        BASICS,
    ),
    // That page prints 18 V; its own formula gives this.
    published(
        given(480.0, 20.0, 500.0, Phases::Three, 1.1),
        (19.05, 3.97),
        BY_HAND,
    ),
];

fn run(given: &Given) -> Run {
    Run {
        load: Amps(given.amps),
        length: Feet(given.feet),
        volts: Volts(given.volts),
        phases: given.phases,
    }
}

#[test]
fn drop_by_a_given_resistance() {
    for check in BY_RESISTANCE {
        let got = drop::by_resistance(&run(&check.given), check.given.ohms, None).value;
        near(got.volts.0, check.expect.0, 0.03, check.source);
        near(got.percent.0, check.expect.1, 0.01, check.source);
    }
}

/// Size; volts and percent, at 120 V, 20 A, 100 ft. The page takes K 12.9
/// ohm·cmil/ft, which by the circular mils is this resistance.
const BY_K: &[Check<Size, (f64, f64)>] = &[
    published(Size::Awg(12), (7.9, 6.6), LICENCE),
    published(Size::Awg(8), (3.1, 2.6), LICENCE),
];

#[test]
fn drop_by_circular_mils_agrees_with_the_table() {
    for check in BY_K {
        let run = run(&given(120.0, 20.0, 100.0, Phases::Single, 0.0));
        let mils = circular_mils(check.given, Edition::Nec2020).unwrap().value;
        let got = drop::by_resistance(&run, 12.9 * 1000.0 / mils.0, None).value;
        near(got.volts.0, check.expect.0, 0.05, check.source);
        near(got.percent.0, check.expect.1, 0.05, check.source);
        let wire = wire(check.given);
        let table = drop::over(&run, &wire, Edition::Nec2020).unwrap().value;
        near(
            table.volts.0 / got.volts.0,
            1.0,
            0.01,
            "K against the table",
        );
    }
}

fn wire(size: Size) -> Wire {
    Wire {
        size,
        material: None,
        stranding: None,
        sets: 1,
    }
}

#[test]
fn unstated_wire_is_taken_as_stranded_copper_and_says_so() {
    let got = drop::resistance(&wire(Size::Awg(10)), Edition::Nec2020).unwrap();
    assert_eq!(got.value, 1.24);
    assert!(got.steps[0].how.contains("copper (not stated)"));
    let solid = Wire {
        stranding: Some(Stranding::Solid),
        ..wire(Size::Awg(10))
    };
    assert_eq!(
        drop::resistance(&solid, Edition::Nec2020).unwrap().value,
        1.21
    );
    let two = Wire {
        sets: 2,
        ..wire(Size::Awg(0))
    };
    assert_eq!(
        drop::resistance(&two, Edition::Nec2020).unwrap().value,
        0.061
    );
}

#[test]
fn a_larger_size_brings_the_drop_within_a_limit() {
    let run = run(&given(208.0, 20.0, 200.0, Phases::Single, 0.0));
    // 12 AWG drops 7.6 %, 10 AWG 4.8 %, 8 AWG 2.99 %.
    let got =
        drop::smallest_within(&run, &wire(Size::Awg(12)), Percent(3.0), Edition::Nec2020).unwrap();
    assert_eq!(got.value, Size::Awg(8));
    let ohms = 0.778;
    let longest = drop::longest_within(&run, ohms, Percent(3.0)).unwrap();
    let at = drop::by_resistance(
        &Run {
            length: longest,
            ..run
        },
        ohms,
        None,
    );
    near(at.value.percent.0, 3.0, 1e-9, BY_HAND);
    let none = Run {
        load: Amps(0.0),
        ..run
    };
    assert!(drop::longest_within(&none, ohms, Percent(3.0)).is_none());
}

#[test]
fn resistance_follows_temperature() {
    let at = |t| drop::at_temperature(1.0, Material::Copper, Celsius(t), Edition::Nec2020);
    near(at(75.0), 1.0, 1e-12, BY_HAND);
    near(at(60.0), 0.95155, 1e-9, BY_HAND);
    assert!(at(20.0) < at(75.0) && at(75.0) < at(90.0));
}

#[test]
fn the_loop_of_a_bus_goes_out_and_back() {
    let got = drop::loop_resistance(Feet(6_000.0), Size::Awg(18), None, Edition::Nec2020).unwrap();
    near(got.value, 95.4, 1e-9, BY_HAND);
}

const POP_QUIZ: &str = "ACHR News, Pop Quiz: Electric Heaters";

type Rated = (f64, f64, f64);

/// kW, rated volts, supply volts; amperes and kW there.
const HEATERS: &[Check<Rated, (f64, f64)>] = &[
    published((10.0, 240.0, 240.0), (41.67, 10.0), POP_QUIZ),
    published((10.0, 240.0, 208.0), (36.11, 7.51), POP_QUIZ),
    published(
        (9.6, 240.0, 240.0),
        (40.0, 9.6),
        "Mike Holt newsletter 2089",
    ),
    published((5.0, 240.0, 240.0), (20.83, 5.0), "Mike Holt forum 63217"),
    published((5.0, 208.0, 208.0), (24.04, 5.0), BY_HAND),
];

#[test]
fn heaters_at_their_rated_and_at_the_supply_voltage() {
    for check in HEATERS {
        let (kw, rated, supply) = check.given;
        let got = heat::at_supply(Kilowatts(kw), Volts(rated), Volts(supply), Phases::Single).value;
        near(got.amps.0, check.expect.0, 0.01, check.source);
        near(got.power.0, check.expect.1, 0.015, check.source);
    }
    let three = heat::current(Kilowatts(15.0), Volts(208.0), Phases::Three).value;
    near(three.0, 41.64, 0.01, BY_HAND);
}

type HeatCircuit = (f64, f64, Option<f64>);

/// Heater and blower amperes, kW; circuit load.
const HEAT_CIRCUITS: &[Check<HeatCircuit, f64>] = &[
    published((40.0, 3.0, Some(9.6)), 53.75, "Mike Holt newsletter 2089"),
    published(
        (5000.0 / 240.0, 3.0, Some(5.0)),
        29.79,
        "Mike Holt forum 63217",
    ),
    // 20 kW in two parts of 41.67 A, the blower on the first: above the
    // 60 A cap with the blower, and nobody agrees on it.
    published(
        (10_000.0 / 240.0, 7.6, Some(20.0)),
        61.6,
        "Mike Holt forum 149468",
    ),
    published((40.0, 0.0, None), 50.0, BY_HAND),
    published((208.0, 4.0, Some(50.0)), 213.0, BY_HAND),
    published((208.0, 4.0, Some(49.99)), 265.0, BY_HAND),
];

#[test]
fn heater_circuits_are_sized_at_125_percent() {
    for check in HEAT_CIRCUITS {
        let (heater, blower, kw) = check.given;
        let got = heat::circuit_load(
            Amps(heater),
            Amps(blower),
            kw.map(Kilowatts),
            Edition::Nec2020,
        );
        near(got.value.0, check.expect, 0.02, check.source);
    }
}

const PARTS: &[Check<f64, u32>] = &[
    published(47.9, 1, "NFPA 70 424.22(B)"),
    published(48.0, 1, "NFPA 70 424.22(B)"),
    published(48.1, 2, "NFPA 70 424.22(B)"),
    published(96.0, 2, "NFPA 70 424.22(B)"),
    published(96.1, 3, "NFPA 70 424.22(B)"),
    published(0.0, 1, BY_HAND),
];

#[test]
fn elements_above_48_amperes_are_divided() {
    for check in PARTS {
        let got = heat::subdivision(Amps(check.given), Edition::Nec2020).value;
        assert_eq!(got.parts, check.expect, "{} A", check.given);
        assert_eq!((got.part_limit, got.device_limit), (Amps(48.0), Amps(60.0)));
    }
}
