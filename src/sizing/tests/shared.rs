//! Shared circuits.

use super::{BY_HAND, Check, Tally, near, published, tally};
use crate::schedule::{Amps, Edition};
use crate::sizing::grouping::{Count, fewest_circuits};
use crate::sizing::sharing::{
    Against, Member, by_full_load, by_mca_bound, by_mca_sum, continuous_device, load,
};

pub fn tallies() -> Vec<Tally> {
    vec![tally(FULL_LOAD), tally(AGAINST)]
}

const MOTORS: &str = "NEC 430.24 exercises, electriciantalk";

const FULL_LOAD: &[Check<&[f64], f64>] = &[
    published(&[14.0, 14.0], 31.5, MOTORS),
    published(&[14.0, 14.0, 16.0], 48.0, MOTORS),
    published(&[14.0, 14.0, 12.0], 43.5, MOTORS),
    published(&[1.12; 12], 13.72, BY_HAND),
    published(&[0.48; 8], 3.96, BY_HAND),
    published(&[], 0.0, BY_HAND),
    published(&[4.0], 5.0, BY_HAND),
];

#[test]
fn several_motors() {
    for check in FULL_LOAD {
        let amps: Vec<Amps> = check.given.iter().copied().map(Amps).collect();
        let got = by_full_load(&amps, Edition::Nec2020);
        near(got.value.0, check.expect, 1e-9, check.source);
    }
}

fn mca_only(n: usize, amps: f64) -> Vec<Member> {
    vec![Member::Mca(Amps(amps)); n]
}

/// How many units of which MCA on 15 A.
const AGAINST: &[Check<(usize, f64), Against>] = &[
    published((12, 1.4), Against::Between, BY_HAND),
    published((8, 0.6), Against::Within, BY_HAND),
    published((10, 1.5), Against::Within, BY_HAND),
    published((10, 1.51), Against::Between, BY_HAND),
    published((10, 1.875), Against::Between, BY_HAND),
    published((10, 1.876), Against::Over, BY_HAND),
    published((10, 1.499), Against::Within, BY_HAND),
];

#[test]
fn the_mca_alone_leave_a_question() {
    for check in AGAINST {
        let got = load(&mca_only(check.given.0, check.given.1), Edition::Nec2020);
        assert_eq!(
            got.value.against(Amps(15.0)),
            check.expect,
            "{:?}",
            check.given
        );
        assert!(!got.value.exact);
    }
    let mca = [Amps(1.4); 12];
    near(by_mca_sum(&mca).value.0, 16.8, 1e-9, BY_HAND);
    near(
        by_mca_bound(&mca, Edition::Nec2020).value.0,
        13.44,
        1e-9,
        BY_HAND,
    );
}

#[test]
fn full_load_currents_settle_it() {
    let exact = load(&[Member::FullLoad(Amps(1.12)); 12], Edition::Nec2020).value;
    assert!(exact.exact);
    assert_eq!(exact.against(Amps(15.0)), Against::Within);
    assert_eq!(exact.against(Amps(13.72)), Against::Within);
    assert_eq!(exact.against(Amps(13.71)), Against::Over);
    near(exact.share(Amps(15.0)).0, 91.466_666, 1e-3, BY_HAND);
}

#[test]
fn mixed_members_stay_in_bounds() {
    let mixed = load(
        &[
            Member::FullLoad(Amps(4.0)),
            Member::FullLoad(Amps(2.0)),
            Member::Mca(Amps(2.5)),
        ],
        Edition::Nec2020,
    )
    .value;
    // Were the third a single motor of 2.0 A: 1.25 × 4 + 2 + 2 = 9 A.
    near(mixed.most.0, 9.5, 1e-9, BY_HAND);
    near(mixed.least.0, 8.0, 1e-9, BY_HAND);
    assert!(mixed.least.0 <= 9.0 && 9.0 <= mixed.most.0);
}

#[test]
fn continuous_loads_take_125_percent() {
    near(
        continuous_device(Amps(12.0), Edition::Nec2023).value.0,
        15.0,
        1e-9,
        BY_HAND,
    );
}

#[test]
fn the_fewest_circuits_are_found_where_first_fit_fails() {
    // First fit falling takes three circuits of 10 A, two are enough:
    // 5 + 3 + 2 and 4 + 4 + 2.
    let loads: Vec<Amps> = [4.0, 4.0, 5.0, 2.0, 3.0, 2.0].map(Amps).to_vec();
    let got = fewest_circuits(&loads, Amps(10.0), Count::SumOfMca, Edition::Nec2020);
    assert!(got.proven && got.alone.is_empty());
    assert_eq!(got.circuits.len(), 2);
    let mut seen: Vec<usize> = got.circuits.concat();
    seen.sort_unstable();
    assert_eq!(seen, [0, 1, 2, 3, 4, 5]);
    for circuit in &got.circuits {
        let sum: f64 = circuit.iter().map(|&at| loads[at].0).sum();
        assert!(sum <= 10.0 + 1e-9);
    }
}

#[test]
fn the_largest_of_a_circuit_takes_the_extra() {
    // 1.25 × 4 + 4 + 4 + 2 = 15: just right; with 2.1 a second circuit.
    let fit = |loads: &[f64]| {
        let loads: Vec<Amps> = loads.iter().copied().map(Amps).collect();
        fewest_circuits(&loads, Amps(15.0), Count::FullLoad, Edition::Nec2020)
    };
    assert_eq!(fit(&[2.0, 4.0, 4.0, 4.0]).circuits, [[0, 1, 2, 3]]);
    assert_eq!(fit(&[2.1, 4.0, 4.0, 4.0]).circuits.len(), 2);
    // 12 A alone is 15 A; 12.1 A goes on no such circuit.
    assert_eq!(fit(&[12.0]).circuits, [[0]]);
    let large = fit(&[12.1, 1.0]);
    assert_eq!((large.alone, large.circuits), (vec![0], vec![vec![1]]));
    assert!(fit(&[]).circuits.is_empty());
}

#[test]
fn a_building_full_of_units_is_grouped_without_a_search() {
    let loads = vec![Amps(1.0); 5_000];
    let got = fewest_circuits(&loads, Amps(15.0), Count::SumOfMca, Edition::Nec2020);
    assert_eq!(got.circuits.len(), 334);
    assert!(got.proven);
}
