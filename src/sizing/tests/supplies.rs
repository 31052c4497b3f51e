//! Volts, poles, slots.

use super::{BY_HAND, Check, PRACTICE, Tally, near, published, tally};
use crate::schedule::{Amps, PanelSupply, Slot, Supply, VoltAmps, Volts};
use crate::sizing::drop::Phases;
use crate::sizing::supply::{
    VoltsFit, current, imbalance, leg_loads, phase_loads, phase_of, poles_needed, repeats_a_phase,
    spread, volts_between, volts_fit,
};

pub fn tallies() -> Vec<Tally> {
    vec![tally(FITS), tally(POLES), tally(BALANCE)]
}

fn supply(volts: &[u16], phases: Option<u8>) -> Supply {
    Supply {
        volts: volts.to_vec(),
        phases,
    }
}

use VoltsFit::{Doubtful, Fits, Outside};

const C84: &str = "ANSI C84.1 nominal pairs, second-hand";

const FITS: &[Check<(&[u16], f64), VoltsFit>] = &[
    published((&[208, 230], 208.0), Fits, C84),
    published((&[208, 230], 240.0), Fits, C84),
    published((&[460], 480.0), Fits, C84),
    published((&[115], 120.0), Fits, C84),
    published((&[200], 208.0), Fits, C84),
    published((&[575], 600.0), Fits, C84),
    published((&[230], 240.0), Fits, C84),
    published((&[208, 230], 277.0), Outside, PRACTICE),
    published((&[208, 230], 480.0), Outside, PRACTICE),
    published((&[208, 230], 120.0), Outside, PRACTICE),
    published((&[460], 240.0), Outside, PRACTICE),
    published((&[460], 208.0), Outside, PRACTICE),
    published((&[115], 208.0), Outside, PRACTICE),
    published((&[230], 208.0), Doubtful, PRACTICE),
    published((&[240], 208.0), Doubtful, PRACTICE),
    published((&[208], 240.0), Doubtful, PRACTICE),
    published((&[230, 460], 208.0), Doubtful, PRACTICE),
    published((&[208], 208.0), Fits, PRACTICE),
    published((&[240], 240.0), Fits, PRACTICE),
    published((&[230, 460], 277.0), Outside, PRACTICE),
    // The ends of the band of 208/230.
    published((&[208, 230], 187.1), Outside, BY_HAND),
    published((&[208, 230], 187.2), Fits, BY_HAND),
    published((&[208, 230], 253.0), Fits, BY_HAND),
    published((&[208, 230], 253.1), Outside, BY_HAND),
    published((&[460], 413.9), Outside, BY_HAND),
    published((&[460], 414.0), Fits, BY_HAND),
    published((&[460], 506.0), Fits, BY_HAND),
    published((&[460], 506.1), Outside, BY_HAND),
];

#[test]
fn a_supply_against_a_nameplate() {
    for check in FITS {
        let got = volts_fit(&supply(check.given.0, Some(1)), Volts(check.given.1)).unwrap();
        assert_eq!(got.value, check.expect, "{:?}", check.given);
    }
    assert!(volts_fit(&supply(&[], Some(3)), Volts(208.0)).is_none());
}

const fn panel(line: f64, neutral: Option<f64>, phases: Option<u8>) -> PanelSupply {
    PanelSupply {
        line_to_line: Volts(line),
        line_to_neutral: match neutral {
            Some(volts) => Some(Volts(volts)),
            None => None,
        },
        phases,
    }
}

#[test]
fn volts_between_the_poles_of_a_panel() {
    let wye = panel(208.0, Some(120.0), Some(3));
    let split = panel(240.0, Some(120.0), Some(1));
    let high_leg = panel(240.0, Some(120.0), Some(3));
    let large_wye = panel(480.0, Some(277.0), Some(3));
    let delta = panel(240.0, None, Some(3));
    let volts = |panel: &PanelSupply, poles| volts_between(panel, poles).map(|v| v.0);
    for (panel, one, two, three) in [
        (&wye, Some(120.0), Some(208.0), Some(208.0)),
        (&split, Some(120.0), Some(240.0), None),
        (&high_leg, None, Some(240.0), Some(240.0)),
        (&large_wye, Some(277.0), Some(480.0), Some(480.0)),
        (&delta, None, Some(240.0), Some(240.0)),
    ] {
        assert_eq!(volts(panel, 1), one, "{panel}");
        assert_eq!(volts(panel, 2), two, "{panel}");
        assert_eq!(volts(panel, 3), three, "{panel}");
        assert_eq!(volts(panel, 0), None);
        assert_eq!(volts(panel, 4), None);
    }
}

type Asked = (&'static [u16], Option<u8>);

const POLES: &[Check<Asked, Option<u8>>] = &[
    published((&[208, 230], Some(1)), Some(2), PRACTICE),
    published((&[115], Some(1)), Some(1), PRACTICE),
    published((&[277], Some(1)), Some(1), PRACTICE),
    published((&[208, 230], Some(3)), Some(3), PRACTICE),
    published((&[460], Some(3)), Some(3), PRACTICE),
    published((&[], Some(3)), Some(3), PRACTICE),
    published((&[115, 230], Some(1)), None, BY_HAND),
    published((&[208, 230], None), None, BY_HAND),
    published((&[], Some(1)), None, BY_HAND),
];

#[test]
fn poles_that_a_nameplate_needs() {
    for check in POLES {
        let got = poles_needed(&supply(check.given.0, check.given.1));
        assert_eq!(got, check.expect, "{:?}", check.given);
    }
}

#[test]
fn slots_alternate_by_rows() {
    let phases: Vec<_> = (1..=12).filter_map(|slot| phase_of(slot, 3)).collect();
    assert_eq!(phases, [0, 0, 1, 1, 2, 2, 0, 0, 1, 1, 2, 2]);
    let legs: Vec<_> = (1..=8).filter_map(|slot| phase_of(slot, 1)).collect();
    assert_eq!(legs, [0, 0, 1, 1, 0, 0, 1, 1]);
    assert_eq!(phase_of(0, 3), None);
    assert_eq!(phase_of(1, 2), None);
}

#[test]
fn two_slots_of_one_row_are_one_phase_twice() {
    let slots = |numbers: &[u16]| -> Vec<Slot> {
        numbers
            .iter()
            .map(|&number| Slot { number, half: None })
            .collect()
    };
    for (numbers, phases, expect) in [
        (&[1, 2][..], 3, true),
        (&[1, 3], 3, false),
        (&[2, 4, 6], 3, false),
        (&[1, 3, 5, 7], 3, true),
        (&[1, 3], 1, false),
        (&[1, 5], 1, true),
        (&[], 3, false),
    ] {
        assert_eq!(
            repeats_a_phase(&slots(numbers), phases),
            Some(expect),
            "{numbers:?}"
        );
    }
    assert_eq!(repeats_a_phase(&slots(&[0, 1]), 3), None);
}

const BALANCE: &[Check<[f64; 3], f64>] = &[
    published([224.0, 231.0, 226.0], 1.76, PRACTICE),
    published([452.0, 464.0, 455.0], 1.53, PRACTICE),
    published([100.0, 100.0, 100.0], 0.0, BY_HAND),
    published([0.0, 0.0, 0.0], 0.0, BY_HAND),
    published([30.0, 0.0, 0.0], 200.0, BY_HAND),
];

#[test]
fn phases_out_of_balance() {
    for check in BALANCE {
        let got = imbalance(check.given.map(Volts));
        near(got.value.0, check.expect, 0.01, check.source);
    }
}

#[test]
fn a_two_pole_load_lies_on_two_phases() {
    let loads = phase_loads(&[
        (vec![1, 3], Amps(10.0)),
        (vec![5], Amps(4.0)),
        (vec![2, 4, 6], Amps(1.0)),
    ]);
    assert_eq!(loads, [Amps(11.0), Amps(11.0), Amps(5.0)]);
}

#[test]
fn a_two_pole_load_lies_on_both_legs() {
    let loads = leg_loads(&[(vec![1, 3], Amps(10.0)), (vec![5], Amps(4.0))]);
    assert_eq!(loads, [Amps(14.0), Amps(10.0)]);
}

#[test]
fn spreading_circuits_evens_the_phases() {
    let loads = spread(&[(1, Amps(10.0)); 3]);
    near(imbalance(loads).value.0, 0.0, 1e-9, BY_HAND);
    // Three two-pole circuits go round the three pairs of phases.
    let loads = spread(&[(2, Amps(20.0)); 3]);
    assert_eq!(loads, [Amps(40.0); 3]);
    // Three-pole circuits are even wherever they are.
    assert_eq!(spread(&[(3, Amps(7.0))]), [Amps(7.0); 3]);
    assert_eq!(spread(&[]), [Amps(0.0); 3]);
}

#[test]
fn apparent_power_to_current() {
    let amps = |phases| current(VoltAmps(7_200.0), Volts(208.0), phases).value.0;
    near(amps(Phases::Single), 34.615, 1e-3, BY_HAND);
    near(amps(Phases::Three), 19.985, 1e-3, BY_HAND);
}
