//! Ampacity, proposed conductors, grounding conductors.

use super::{BY_HAND, Check, PRACTICE, Tally, near, published, tally};
use crate::schedule::wire::{CableType, Conductor, Insulation, Material, Size};
use crate::schedule::{Amps, Celsius, Edition};
use crate::sizing::conductor::{
    Carries, Conditions, NoAmpacity, Request, ampacity, below_smallest, largest_device,
    may_parallel, smallest_for, steps_above,
};
use crate::sizing::grounding;

pub fn tallies() -> Vec<Tally> {
    vec![
        tally(SIZES),
        tally(CARRIES),
        tally(CAPS),
        tally(GROUND),
        tally(UPSIZED),
    ]
}

const EDITION: Edition = Edition::Nec2020;

fn conductor(gauge: i8) -> Conductor {
    Conductor {
        size: Some(Size::Awg(gauge)),
        sets: 1,
        ..Conductor::default()
    }
}

fn of(gauge: i8, cable: Option<CableType>, insulation: Option<Insulation>) -> Conductor {
    Conductor {
        cable,
        insulation,
        is_cable: cable.is_some(),
        ..conductor(gauge)
    }
}

fn at(terminals: Option<f64>) -> Conditions {
    Conditions {
        terminals: terminals.map(Celsius),
        ..Conditions::unstated(EDITION)
    }
}

type Sized = (f64, f64, Option<f64>);

/// Load, terminals, device that is not lifted; copper size.
const SIZES: &[Check<Sized, i8>] = &[
    published(
        (31.4, 75.0, None),
        10,
        "EC&M, NEC Requirements for A/C and Refrigeration Equipment (January 2025)",
    ),
    published((44.0, 75.0, None), 8, "EC&M, Code Q&A 42"),
    published((53.75, 60.0, Some(60.0)), 6, "Mike Holt newsletter 2089"),
    published((29.8, 60.0, Some(30.0)), 10, "Mike Holt forum 63217"),
    published((35.0, 75.0, None), 10, BY_HAND),
    published((35.1, 75.0, None), 8, BY_HAND),
    published((34.9, 75.0, None), 10, BY_HAND),
    // The same load behind a device to which the cap applies.
    published((31.4, 75.0, Some(35.0)), 8, BY_HAND),
    published((1.0, 75.0, None), 14, BY_HAND),
];

#[test]
fn the_smallest_conductor_for_a_load() {
    for check in SIZES {
        let (load, terminals, device) = check.given;
        let request = Request {
            load: Amps(load),
            device: device.map(Amps),
            like: of(14, None, Some(Insulation::ThhnThwn2)),
            insulation: None,
        };
        let got = smallest_for(&request, &at(Some(terminals))).unwrap();
        assert_eq!(
            got.value,
            Size::Awg(check.expect),
            "{load} A, {}",
            check.source
        );
    }
    let beyond = Request {
        load: Amps(381.0),
        device: None,
        like: of(14, None, Some(Insulation::Thhn)),
        insulation: None,
    };
    assert!(smallest_for(&beyond, &at(Some(75.0))).is_none());
}

struct Case {
    gauge: i8,
    cable: Option<CableType>,
    insulation: Option<Insulation>,
    is_cable: bool,
    terminals: Option<f64>,
    load: f64,
}

const fn case(
    gauge: i8,
    cable: Option<CableType>,
    insulation: Option<Insulation>,
    terminals: Option<f64>,
    load: f64,
) -> Case {
    Case {
        gauge,
        cable,
        insulation,
        is_cable: cable.is_some(),
        terminals,
        load,
    }
}

const fn untyped(gauge: i8, terminals: Option<f64>, load: f64) -> Case {
    Case {
        gauge,
        cable: None,
        insulation: None,
        is_cable: true,
        terminals,
        load,
    }
}

const JANUARY: &str = "EC&M, NEC Requirements for A/C and Refrigeration Equipment (January 2025)";
const TABLE: &str = "NFPA 70 Table 310.16 and 110.14(C)(1)";
const NM: &str = "NFPA 70 334.80";
const UF: &str = "NFPA 70 340.80";

use Carries::{IfFavourable, No, Yes};

const CARRIES: &[Check<Case, Carries>] = &[
    published(
        case(10, None, Some(Insulation::Thhn), Some(75.0), 31.4),
        Yes,
        JANUARY,
    ),
    published(
        case(12, Some(CableType::Mc), None, Some(75.0), 25.0),
        Yes,
        TABLE,
    ),
    published(
        case(12, Some(CableType::Mc), None, Some(75.0), 25.1),
        No,
        TABLE,
    ),
    published(
        case(12, Some(CableType::Mc), None, Some(60.0), 20.0),
        Yes,
        TABLE,
    ),
    published(
        case(12, Some(CableType::Mc), None, Some(60.0), 20.1),
        No,
        TABLE,
    ),
    published(
        case(12, Some(CableType::NmB), None, Some(75.0), 25.0),
        No,
        NM,
    ),
    published(case(12, Some(CableType::NmB), None, None, 20.0), Yes, NM),
    published(
        case(10, Some(CableType::NmB), None, Some(75.0), 31.4),
        No,
        NM,
    ),
    published(
        case(10, Some(CableType::UfB), None, Some(75.0), 30.0),
        Yes,
        UF,
    ),
    published(
        case(10, Some(CableType::UfB), None, Some(75.0), 30.1),
        No,
        UF,
    ),
    published(untyped(10, None, 31.4), IfFavourable, PRACTICE),
    published(untyped(10, None, 30.0), Yes, PRACTICE),
    published(untyped(10, None, 35.0), IfFavourable, PRACTICE),
    published(untyped(10, None, 35.1), No, PRACTICE),
    // Terminals of 75 °C do not tell that the cable is not a 60 °C one.
    published(untyped(10, Some(75.0), 31.4), IfFavourable, PRACTICE),
    published(case(10, None, None, None, 31.4), IfFavourable, PRACTICE),
    published(case(10, None, None, Some(75.0), 31.4), Yes, TABLE),
    published(case(10, None, None, Some(60.0), 31.4), No, TABLE),
    // Terminals marked 90 °C count as 75 °C.
    published(
        case(10, None, Some(Insulation::Thhn), Some(90.0), 35.1),
        No,
        TABLE,
    ),
    published(
        case(10, None, Some(Insulation::Tw), Some(75.0), 30.1),
        No,
        TABLE,
    ),
    // Above 1 AWG unmarked terminals are 75 °C.
    published(
        case(0, None, Some(Insulation::Thhn), None, 150.0),
        Yes,
        TABLE,
    ),
    published(
        case(1, None, Some(Insulation::Thhn), None, 130.0),
        IfFavourable,
        TABLE,
    ),
];

#[test]
fn what_a_conductor_carries() {
    for check in CARRIES {
        let case = &check.given;
        let mut wire = of(case.gauge, case.cable, case.insulation);
        wire.is_cable = case.is_cable;
        let got = ampacity(&wire, None, &at(case.terminals)).unwrap();
        assert_eq!(
            got.value.carries(Amps(case.load)),
            check.expect,
            "{wire} at {} A ({})",
            case.load,
            check.source
        );
        assert!(got.value.copper_assumed);
    }
}

#[test]
fn the_profile_settles_terminals_of_a_stated_method_only() {
    let profile = Conditions {
        assumed_terminals: Some(Celsius(75.0)),
        ..Conditions::unstated(EDITION)
    };
    let carries = |wire: &Conductor| {
        ampacity(wire, None, &profile)
            .unwrap()
            .value
            .carries(Amps(25.0))
    };
    assert_eq!(carries(&of(12, Some(CableType::Mc), None)), Yes);
    assert_eq!(carries(&of(12, Some(CableType::NmB), None)), No);
    assert_eq!(carries(&conductor(12)), IfFavourable);
    let mut untyped = conductor(12);
    untyped.is_cable = true;
    assert_eq!(carries(&untyped), IfFavourable);
}

#[test]
fn terminals_above_100_amperes() {
    let behind = |amps| Conditions {
        device: Some(Amps(amps)),
        ..Conditions::unstated(EDITION)
    };
    let wire = of(1, None, Some(Insulation::Thhn));
    for (device, least) in [(99.0, 110.0), (100.0, 110.0), (110.0, 130.0)] {
        let got = ampacity(&wire, None, &behind(device)).unwrap().value;
        assert_eq!(got.least.amps.0, least, "{device} A");
    }
    // A profile of 60 °C is for small circuits.
    let cautious = Conditions {
        assumed_terminals: Some(Celsius(60.0)),
        ..behind(110.0)
    };
    let got = ampacity(&wire, None, &cautious).unwrap().value;
    assert_eq!(got.least.amps.0, 130.0);
}

#[test]
fn corrections_start_from_the_insulation() {
    let wire = of(12, None, Some(Insulation::Thhn));
    // 30 A × 0.76 (12 AWG, 90 °C, 55 °C ambient; engineerboards).
    let hot = Conditions {
        ambient: Some(Celsius(55.0)),
        ..at(Some(75.0))
    };
    near(
        ampacity(&wire, None, &hot).unwrap().value.most.amps.0,
        22.8,
        1e-9,
        "engineerboards",
    );
    let bundled = Conditions {
        together: Some(9),
        ..hot
    };
    near(
        ampacity(&wire, None, &bundled).unwrap().value.most.amps.0,
        30.0 * 0.76 * 0.7,
        1e-9,
        BY_HAND,
    );
    // Never above the terminals' column: 30 × 1.15 is 25 A at 75 °C.
    let cold = Conditions {
        ambient: Some(Celsius(0.0)),
        ..at(Some(75.0))
    };
    assert_eq!(
        ampacity(&wire, None, &cold).unwrap().value.most.amps,
        Amps(25.0)
    );
}

#[test]
fn the_insulation_of_its_own_column_goes_first() {
    let wire = of(12, None, Some(Insulation::Thhn));
    let hot = Conditions {
        ambient: Some(Celsius(55.0)),
        ..at(Some(75.0))
    };
    let got = ampacity(&wire, Some(Insulation::Thw), &hot).unwrap().value;
    near(got.most.amps.0, 25.0 * 0.67, 1e-9, BY_HAND);
}

#[test]
fn a_raceway_close_to_the_roof_is_hotter() {
    let roof = Conditions {
        ambient: Some(Celsius(35.0)),
        close_to_roof: true,
        ..at(Some(75.0))
    };
    let thhn = of(10, None, Some(Insulation::Thhn));
    // 68 °C: 40 × 0.58.
    near(
        ampacity(&thhn, None, &roof).unwrap().value.most.amps.0,
        23.2,
        1e-9,
        BY_HAND,
    );
    let xhhw = of(10, None, Some(Insulation::Xhhw2));
    assert_eq!(
        ampacity(&xhhw, None, &roof).unwrap().value.most.amps,
        Amps(35.0)
    );
}

#[test]
fn where_there_is_no_ampacity_it_says_why() {
    let none = Conductor::default();
    let error = |wire: &Conductor, at: &Conditions| ampacity(wire, None, at).unwrap_err();
    assert_eq!(error(&none, &at(None)), NoAmpacity::SizeNotStated);
    assert_eq!(error(&conductor(7), &at(None)), NoAmpacity::NotInTable);
    assert_eq!(error(&conductor(18), &at(None)), NoAmpacity::NotInTable);
    let cord = of(10, Some(CableType::Cord), None);
    assert_eq!(error(&cord, &at(None)), NoAmpacity::OtherTable);
    let mut aluminium = conductor(14);
    aluminium.material = Some(Material::Aluminium);
    assert_eq!(error(&aluminium, &at(None)), NoAmpacity::NotInTable);
    let hot = Conditions {
        ambient: Some(Celsius(60.0)),
        ..at(Some(60.0))
    };
    let tw = of(10, None, Some(Insulation::Tw));
    assert_eq!(error(&tw, &hot), NoAmpacity::TooHot);
    // Insulation not stated: nothing is proven, so nothing fails outright.
    let open = Conditions {
        ambient: Some(Celsius(60.0)),
        ..at(None)
    };
    let got = ampacity(&conductor(10), None, &open).unwrap().value;
    assert_eq!(got.carries(Amps(5.0)), IfFavourable);
}

#[test]
fn parallel_sets_add_up_and_aluminium_has_its_own_column() {
    let mut wire = of(-3, None, Some(Insulation::Thhn));
    wire.sets = 2;
    let got = ampacity(&wire, None, &at(Some(75.0))).unwrap().value;
    assert_eq!(got.most.amps, Amps(460.0));
    wire.sets = 1;
    wire.material = Some(Material::Aluminium);
    let got = ampacity(&wire, None, &at(Some(75.0))).unwrap().value;
    assert_eq!(got.most.amps, Amps(180.0));
    assert!(!got.copper_assumed);
    assert!(may_parallel(Size::Awg(0), EDITION) && !may_parallel(Size::Awg(1), EDITION));
    assert!(below_smallest(Size::Awg(16), Material::Copper, EDITION));
    assert!(!below_smallest(Size::Awg(14), Material::Copper, EDITION));
    assert!(below_smallest(Size::Awg(14), Material::Aluminium, EDITION));
    assert!(!below_smallest(Size::Awg(12), Material::Aluminium, EDITION));
}

const SMALL: &str = "NFPA 70 240.4(D)";
const NEXT: &str = "NFPA 70 240.4(B)";

/// Ampacity, gauge, material; largest device.
const CAPS: &[Check<(f64, i8, Material), f64>] = &[
    published((20.0, 14, Material::Copper), 15.0, SMALL),
    published((25.0, 12, Material::Copper), 20.0, SMALL),
    published((35.0, 10, Material::Copper), 30.0, SMALL),
    published((20.0, 12, Material::Aluminium), 15.0, SMALL),
    published((30.0, 10, Material::Aluminium), 25.0, SMALL),
    published((40.0, 8, Material::Copper), 40.0, NEXT),
    published((40.1, 8, Material::Copper), 45.0, NEXT),
    published((55.0, 6, Material::Copper), 60.0, NEXT),
    published((799.0, -3, Material::Copper), 800.0, NEXT),
    published((800.0, -3, Material::Copper), 800.0, NEXT),
    published((801.0, -3, Material::Copper), 800.0, NEXT),
    published((999.0, -3, Material::Copper), 800.0, NEXT),
    published((1000.0, -3, Material::Copper), 1000.0, NEXT),
];

#[test]
fn the_largest_device_before_a_conductor() {
    for check in CAPS {
        let (amps, gauge, material) = check.given;
        let got = largest_device(Amps(amps), Size::Awg(gauge), material, EDITION).unwrap();
        assert_eq!(got.value.0, check.expect, "{amps} A, {}", check.source);
    }
}

const T122: &str = "NFPA 70 Table 250.122";

/// Device, material, circuit gauge; gauge of the grounding conductor.
type Ground = (f64, Material, Option<i8>);
const GROUND: &[Check<Ground, i8>] = &[
    published((15.0, Material::Copper, None), 14, T122),
    published((15.1, Material::Copper, None), 12, T122),
    published((20.0, Material::Copper, None), 12, T122),
    published((20.1, Material::Copper, None), 10, T122),
    published((30.0, Material::Copper, None), 10, T122),
    published((50.0, Material::Copper, Some(8)), 10, T122),
    published((60.0, Material::Copper, None), 10, T122),
    published((60.1, Material::Copper, None), 8, T122),
    published((70.0, Material::Copper, None), 8, T122),
    published((100.0, Material::Copper, None), 8, T122),
    published((200.0, Material::Copper, None), 6, T122),
    published((300.0, Material::Copper, None), 4, T122),
    published((400.0, Material::Copper, None), 3, T122),
    published((1000.0, Material::Copper, None), -1, T122),
    published((20.0, Material::Aluminium, None), 10, T122),
    published((60.0, Material::Aluminium, None), 8, T122),
    published((200.0, Material::Aluminium, None), 4, T122),
    // 14 AWG behind 25 A of a motor: its ground need not be larger.
    published((25.0, Material::Copper, Some(14)), 14, T122),
];

#[test]
fn grounding_conductors_by_the_device() {
    for check in GROUND {
        let (device, material, circuit) = check.given;
        for edition in Edition::ALL {
            let got = grounding::required(Amps(device), material, circuit.map(Size::Awg), edition)
                .unwrap();
            assert_eq!(got.value, Size::Awg(check.expect), "{device} A");
        }
    }
    assert!(grounding::required(Amps(1001.0), Material::Copper, None, EDITION).is_none());
}

/// Table row, needed, chosen; upsized.
const UPSIZED: &[Check<(i8, i8, i8), i8>] = &[
    published(
        (10, 6, 4),
        8,
        "worked example of 250.122(B): 60 A, 6 to 4 AWG, 16,511 cmil",
    ),
    published((10, 6, 6), 10, BY_HAND),
    published((10, 6, 8), 10, BY_HAND),
    published((10, 10, 8), 8, BY_HAND),
    published((12, 12, 10), 10, BY_HAND),
    published((10, 6, 3), 6, BY_HAND),
];

#[test]
fn grounding_conductors_grow_in_proportion() {
    for check in UPSIZED {
        let (row, needed, chosen) = check.given;
        let got = grounding::upsized(
            Size::Awg(row),
            Size::Awg(needed),
            Size::Awg(chosen),
            EDITION,
        )
        .unwrap();
        assert_eq!(got.value, Size::Awg(check.expect), "{}", check.source);
    }
}

#[test]
fn how_much_heavier_a_conductor_is() {
    for (needed, size, steps) in [
        (12, 12, 0),
        (12, 10, 1),
        (12, 8, 2),
        (10, 12, 0),
        (1, -3, 4),
    ] {
        assert_eq!(
            steps_above(Size::Awg(needed), Size::Awg(size)),
            Some(steps),
            "{needed} to {size}"
        );
    }
    assert_eq!(steps_above(Size::Awg(12), Size::Awg(9)), None);
}
