//! Nameplates, protection, disconnects.

use super::{BY_HAND, Check, PRACTICE, Tally, near, published, recalled, tally};
use crate::schedule::{Amps, Edition, Kilowatts};
use crate::sizing::nameplate::{Heater, NameplateLoads, mca, mop_bounds, rated, to_tenth};
use crate::sizing::{disconnect, protection};
use crate::tables::ratings::Device;

const BY_CODE: &str = "EC&M, Stumped by the Code? (April 2022)";
const QA_AC: &str = "EC&M, Code Q&A: Air-Conditioner Calculations";
const QUIZ_33: &str = "EC&M, Code Quiz 33";
const QUIZ_1: &str = "EC&M, Quizzes on the Code 1";
const JANUARY: &str = "EC&M, NEC Requirements for A/C and Refrigeration Equipment (January 2025)";
const QA_42: &str = "EC&M, Code Q&A 42";
const QUIZ_36: &str = "EC&M, Quizzes on the Code 36";
const RATINGS: &str = "NFPA 70 240.6(A)";

pub fn tallies() -> Vec<Tally> {
    vec![
        tally(MCA),
        tally(MOP),
        tally(SELECTION),
        tally(HEATED),
        tally(LARGEST),
        tally(SMALLEST),
        tally(STANDARD),
        tally(DISCONNECT),
    ]
}

fn loads(compressors: &[f64], others: &[f64]) -> NameplateLoads {
    NameplateLoads {
        compressors: compressors.iter().copied().map(Amps).collect(),
        others: others.iter().copied().map(Amps).collect(),
        heater: None,
    }
}

type Given = (&'static [f64], &'static [f64]);

const MCA: &[Check<Given, f64>] = &[
    published((&[18.0], &[]), 22.5, BY_CODE),
    published((&[24.0], &[]), 30.0, QA_AC),
    published((&[], &[14.0, 14.0]), 31.5, MOTORS),
    published((&[], &[14.0, 14.0, 16.0]), 48.0, MOTORS),
    published((&[], &[14.0, 14.0, 12.0]), 43.5, MOTORS),
    published((&[20.0], &[2.5]), 27.5, BY_HAND),
    // The larger of two compressors takes the 125 %, wherever it stands.
    published((&[10.0, 12.0], &[1.0]), 26.0, BY_HAND),
    published((&[12.0, 10.0], &[1.0]), 26.0, BY_HAND),
    // A fan larger than the compressor does not.
    published((&[4.0], &[6.0]), 11.0, BY_HAND),
    // 22.25 A is printed half up.
    published((&[17.8], &[]), 22.3, BY_HAND),
];
const MOTORS: &str = "NEC 430.24 exercises, electriciantalk";

#[test]
fn minimum_circuit_ampacity() {
    for check in MCA {
        let got = mca(&loads(check.given.0, check.given.1), Edition::Nec2020).unwrap();
        near(got.value.0, check.expect, 1e-9, check.source);
        assert!(!got.steps.is_empty());
    }
    assert!(mca(&NameplateLoads::default(), Edition::Nec2020).is_none());
}

/// First choice and upper bound.
const MOP: &[Check<Given, (f64, f64)>] = &[
    published((&[18.0], &[]), (30.0, 40.0), BY_CODE),
    published((&[24.0], &[]), (40.0, 50.0), QA_AC),
    published((&[20.0], &[2.5]), (35.0, 45.0), QUIZ_1),
    // 7.0 A is below MCA's standard rating and below the floor.
    recalled((&[4.0], &[]), (15.0, 15.0), "floor of 15 A, from memory"),
    // 1.75 × 10 + 12 = 29.5 comes down to 25; MCA 24.5 lets it.
    published((&[10.0], &[12.0]), (25.0, 30.0), BY_HAND),
    // 1.75 × 10 + 18.9 = 36.4 → 35, MCA 31.4.
    published((&[10.0], &[18.9]), (35.0, 40.0), BY_HAND),
    // 1.75 × 4 + 42 = 49 → 45 is below MCA 47: up to 50.
    published((&[4.0], &[42.0]), (50.0, 50.0), BY_HAND),
];

#[test]
fn maximum_protection_bounds() {
    for check in MOP {
        let got = mop_bounds(&loads(check.given.0, check.given.1), Edition::Nec2020).unwrap();
        near(got.value.first_choice.0, check.expect.0, 1e-9, check.source);
        near(got.value.upper.0, check.expect.1, 1e-9, check.source);
    }
    assert!(mop_bounds(&NameplateLoads::default(), Edition::Nec2020).is_none());
}

/// Rated load, selection current; 1.75 times what counts.
const SELECTION: &[Check<(f64, Option<f64>), f64>] = &[
    published((38.0, Some(40.0)), 70.0, QUIZ_33),
    published((40.0, Some(38.0)), 70.0, BY_HAND),
    published((40.0, None), 70.0, BY_HAND),
];

#[test]
fn the_selection_current_counts_where_it_is_higher() {
    for check in SELECTION {
        let amps = rated(Amps(check.given.0), check.given.1.map(Amps));
        let bounds = mop_bounds(&loads(&[amps.0], &[]), Edition::Nec2020).unwrap();
        near(
            bounds.value.first_choice.0,
            check.expect,
            1e-9,
            check.source,
        );
    }
}

type Heated = (&'static [f64], f64, Option<f64>);

/// Motors, heater amperes, heater kW; MCA.
const HEATED: &[Check<Heated, f64>] = &[
    published(
        (&[3.0], 40.0, Some(9.6)),
        53.8,
        "Mike Holt newsletter 2089 (53.75 A, printed to a tenth)",
    ),
    published((&[], 40.0, None), 50.0, BY_HAND),
    published((&[3.0], 200.0, Some(49.9)), 253.8, BY_HAND),
    recalled((&[3.0], 200.0, Some(50.0)), 203.8, "424.22(D), 50 kW"),
    recalled((&[3.0], 200.0, Some(50.1)), 203.8, "424.22(D), 50 kW"),
];

#[test]
fn a_heater_takes_the_motors_along() {
    for check in HEATED {
        let (motors, amps, rating) = check.given;
        let mut given = loads(&[], motors);
        given.heater = Some(Heater {
            amps: Amps(amps),
            rating: rating.map(Kilowatts),
        });
        let got = mca(&given, Edition::Nec2020).unwrap();
        near(got.value.0, check.expect, 1e-9, check.source);
        let bounds = mop_bounds(&given, Edition::Nec2020).unwrap();
        assert!(bounds.value.upper.0 + 0.05 >= check.expect);
    }
}

#[test]
fn tenths_round_half_up() {
    for (exact, printed) in [
        (22.24, 22.2),
        (22.25, 22.3),
        (22.35, 22.4),
        (0.0, 0.0),
        (0.05, 0.1),
    ] {
        near(to_tenth(Amps(exact)).0, printed, 1e-9, BY_HAND);
    }
}

/// MOP; largest breaker.
const LARGEST: &[Check<f64, Option<f64>>] = &[
    published(31.5, Some(30.0), BY_CODE),
    published(40.5, Some(40.0), BY_CODE),
    published(42.0, Some(40.0), QA_AC),
    published(54.0, Some(50.0), QA_AC),
    published(37.5, Some(35.0), QUIZ_1),
    published(47.5, Some(45.0), QUIZ_1),
    published(70.0, Some(70.0), QUIZ_33),
    published(50.0, Some(50.0), JANUARY),
    published(60.0, Some(60.0), QA_42),
    published(49.9, Some(45.0), BY_HAND),
    published(50.1, Some(50.0), BY_HAND),
    published(14.9, None, BY_HAND),
    published(15.0, Some(15.0), BY_HAND),
];

#[test]
fn the_largest_protection_for_an_mop() {
    for check in LARGEST {
        let got = protection::largest_for_mop(Amps(check.given), Device::Breaker, Edition::Nec2020);
        assert_eq!(got.map(|w| w.value.0), check.expect, "{}", check.source);
    }
    let fuse = protection::largest_for_mop(Amps(14.9), Device::Fuse, Edition::Nec2020);
    assert_eq!(fuse.map(|w| w.value.0), Some(10.0));
    let small = protection::largest_for_mop(Amps(14.9), Device::Breaker, Edition::Nec2023);
    assert_eq!(small.map(|w| w.value.0), Some(10.0));
}

/// MCA; smallest breaker.
const SMALLEST: &[Check<f64, f64>] = &[
    published(53.75, 60.0, "Mike Holt newsletter 2089"),
    published(29.8, 30.0, "Mike Holt forum 63217"),
    published(44.9, 45.0, BY_HAND),
    published(45.0, 45.0, BY_HAND),
    published(45.1, 50.0, BY_HAND),
    recalled(3.0, 15.0, "floor of 15 A, from memory"),
];

#[test]
fn the_smallest_protection_for_an_mca() {
    for check in SMALLEST {
        let got =
            protection::smallest_for_mca(Amps(check.given), Device::Breaker, Edition::Nec2020);
        assert_eq!(got.unwrap().value.0, check.expect, "{}", check.source);
    }
    let beyond = protection::smallest_for_mca(Amps(6000.1), Device::Breaker, Edition::Nec2020);
    assert!(beyond.is_none());
}

/// Rating, and whether it stands in the list of a breaker's.
const STANDARD: &[Check<f64, bool>] = &[
    published(15.0, true, RATINGS),
    published(35.0, true, RATINGS),
    published(45.0, true, RATINGS),
    published(60.0, true, RATINGS),
    published(110.0, true, RATINGS),
    published(125.0, true, RATINGS),
    published(6000.0, true, RATINGS),
    published(55.0, false, RATINGS),
    published(65.0, false, RATINGS),
    published(75.0, false, RATINGS),
    published(85.0, false, RATINGS),
    published(95.0, false, RATINGS),
    published(105.0, false, RATINGS),
    published(120.0, false, RATINGS),
    published(130.0, false, RATINGS),
    published(140.0, false, RATINGS),
    published(160.0, false, RATINGS),
    published(180.0, false, RATINGS),
    published(601.0, false, RATINGS),
    published(15.01, false, BY_HAND),
    published(0.0, false, BY_HAND),
];

#[test]
fn standard_ratings_and_those_often_written() {
    for check in STANDARD {
        for edition in Edition::ALL {
            let got = protection::is_standard(Amps(check.given), Device::Breaker, edition);
            assert_eq!(got, check.expect, "{} A, {}", check.given, check.source);
        }
    }
    let standard = |device, edition| protection::is_standard(Amps(10.0), device, edition);
    assert!(!standard(Device::Breaker, Edition::Nec2020));
    assert!(standard(Device::Breaker, Edition::Nec2023));
    assert!(standard(Device::Fuse, Edition::Nec2017));
    let (below, above) = protection::neighbours(Amps(55.0), Device::Breaker, Edition::Nec2020);
    assert_eq!(
        (below.unwrap().value, above.unwrap().value),
        (Amps(50.0), Amps(60.0))
    );
}

#[test]
fn the_window_between_mca_and_mop() {
    let window = |mca, mop| {
        protection::window(Amps(mca), Amps(mop), Device::Breaker, Edition::Nec2020)
            .value
            .map(|w| (w.smallest.0, w.largest.0))
    };
    assert_eq!(window(31.4, 50.0), Some((35.0, 50.0)));
    assert_eq!(window(25.0, 40.0), Some((25.0, 40.0)));
    assert_eq!(window(0.9, 15.0), Some((15.0, 15.0)));
    assert_eq!(window(31.0, 34.0), None);
    assert_eq!(window(30.0, 34.0), Some((30.0, 30.0)));
    assert_eq!(window(40.0, 25.0), None);
    let fuses = protection::window(Amps(0.9), Amps(10.0), Device::Fuse, Edition::Nec2020).value;
    let fuses = fuses.unwrap();
    assert_eq!((fuses.smallest.0, fuses.largest.0), (1.0, 10.0));
    assert!(fuses.holds(Amps(10.0)) && !fuses.holds(Amps(15.0)));
}

#[test]
fn the_smaller_of_breaker_and_fuse_protects() {
    let amps = |value| Some(Amps(value));
    assert_eq!(protection::protecting(amps(40.0), amps(35.0)), amps(35.0));
    assert_eq!(protection::protecting(amps(30.0), amps(35.0)), amps(30.0));
    assert_eq!(protection::protecting(amps(30.0), None), amps(30.0));
    assert_eq!(protection::protecting(None, amps(35.0)), amps(35.0));
    assert_eq!(protection::protecting(None, None), None);
}

/// Rated currents; least rating and switch.
const DISCONNECT: &[Check<&[f64], (f64, f64)>] = &[
    published(&[29.0, 2.5], (36.225, 60.0), QUIZ_36),
    published(&[26.0], (29.9, 30.0), BY_HAND),
    published(&[30.0 / 1.15], (30.0, 30.0), BY_HAND),
    published(&[26.1], (30.015, 60.0), BY_HAND),
    published(&[52.0], (59.8, 60.0), PRACTICE),
];

#[test]
fn disconnects_carry_115_percent() {
    for check in DISCONNECT {
        let rated: Vec<Amps> = check.given.iter().copied().map(Amps).collect();
        let got = disconnect::least_rating(&rated, Edition::Nec2020);
        near(got.value.0, check.expect.0, 1e-9, check.source);
        let switch = disconnect::switch_size(got.value).unwrap();
        assert_eq!(switch.value.0, check.expect.1);
    }
    let (least, most) = disconnect::bounds_by_mca(Amps(20.0), Edition::Nec2020).value;
    near(least.0, 18.4, 1e-9, BY_HAND);
    near(most.0, 23.0, 1e-9, BY_HAND);
}
