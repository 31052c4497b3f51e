//! Totals against sums by hand, and the price list.

use super::*;
use crate::schedule::fixture::Fixture;
use crate::schedule::wire::{CableType, Conductor, Grounding, RunPurpose, Size};
use crate::schedule::{Amps, Disconnect, Feet, UnitKind};

/// An invented house: one outdoor unit, two indoor units on one circuit.
fn house(breaker: f64, gap: bool) -> Schedule {
    let mut job = Fixture::new();
    job.unit("OU-1", UnitKind::Outdoor, |u, cells| {
        u.disconnect = cells.given(Disconnect {
            amps: Some(Amps(60.0)),
            fused: Some(true),
            fuse: Some(Amps(35.0)),
        });
    })
    .unit("FC-1", UnitKind::Indoor, |_, _| {})
    .unit("FC-2", UnitKind::Indoor, |_, _| {})
    .circuit("LP", &[1, 3], &["OU-1"], |c, cells| {
        c.breaker = cells.amps(breaker);
        c.poles = cells.given(2);
        c.length = cells.given(Feet(40.0));
        c.conductor = cells.given(Conductor {
            size: Some(Size::Awg(10)),
            count: Some(2),
            sets: 1,
            ground: Some(Grounding::Sized {
                size: Size::Awg(10),
                material: None,
            }),
            ..Conductor::default()
        });
    })
    .circuit("LP", &[2, 4], &["FC-1", "FC-2"], |c, cells| {
        c.breaker = cells.amps(15.0);
        c.poles = cells.given(2);
        c.length = cells.given(Feet(60.0));
        c.conductor = cells.given(Conductor {
            size: Some(Size::Awg(14)),
            count: Some(2),
            sets: 1,
            cable: Some(CableType::NmB),
            is_cable: true,
            ..Conductor::default()
        });
    })
    .circuit("LP", &[6], &["RANGE"], |c, cells| {
        c.breaker = cells.amps(50.0)
    });
    for (from, to, feet) in [("OU-1", "FC-1", 500.0), ("FC-1", "FC-2", 450.0)] {
        job.run(from, to, |run, cells| {
            run.purpose = cells.given(RunPurpose::Bus);
            run.gauge = cells.given(Size::Awg(18));
            run.length = if gap {
                cells.blank()
            } else {
                cells.given(Feet(feet))
            };
        });
    }
    job.build()
}

fn of(items: &[Item], name: &str) -> Item {
    let found = items.iter().find(|item| item.name == name);
    found
        .cloned()
        .unwrap_or_else(|| panic!("no {name} in {items:#?}"))
}

#[test]
fn totals_agree_with_a_sum_by_hand() {
    let prices = Prices::read("item,unit,price\nBreaker 40 A 2-pole,each,21.50\n").expect("prices");
    let (was, is) = (house(40.0, false), house(50.0, false));
    let items = takeoff(&was, &is, &BTreeSet::new(), &Practice::default(), &prices);
    let amount = |name: &str| of(&items, name).proposed.amount;
    let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} is not {b}");
    // By hand, 10 % waste: two conductors of 40 ft are 80 ft, 88 ft with
    // waste; one ground of 40 ft is 44 ft; one cable of 60 ft is 66 ft; the
    // bus is 950 ft, 1,045 ft with waste, which is two boxes.
    close(amount("conductor 10 AWG"), 88.0);
    close(amount("grounding conductor 10 AWG"), 44.0);
    close(amount("14/2 NM-B cable"), 66.0);
    close(amount("bus wire 18 AWG"), 1045.0);
    close(amount("bus wire 18 AWG, box of 1,000 ft"), 2.0);
    close(amount("fuse 35 A"), 2.0);
    close(amount("fused disconnect 60 A"), 1.0);
    close(amount("breaker 15 A 2-pole"), 1.0);
    // The range is no part of the job.
    assert!(
        !items
            .iter()
            .any(|item| item.name == "breaker 50 A, poles not stated")
    );
    let less = of(&items, "breaker 40 A 2-pole");
    close(less.difference(), -1.0);
    close(less.cost().expect("priced"), -21.5);
    assert_eq!(of(&items, "breaker 50 A 2-pole").cost(), None);
    assert!(items.windows(2).all(|pair| pair[0].kind <= pair[1].kind));
}

#[test]
fn the_sum_of_all_wire_is_that_of_an_independent_count() {
    let schedule = house(40.0, false);
    let items = takeoff(
        &schedule,
        &schedule,
        &BTreeSet::new(),
        &Practice::default(),
        &Prices::default(),
    );
    let feet: f64 = items
        .iter()
        .filter(|i| i.unit == "ft")
        .map(|i| i.scheduled.amount)
        .sum();
    let power: f64 = schedule
        .circuits
        .iter()
        .filter(|circuit| !circuit.units().is_empty())
        .map(|circuit| {
            let wire = circuit.conductor.get().expect("a conductor");
            let single = wire.cable.is_none();
            let times = if single { 3.0 } else { 1.0 };
            circuit.length.copied().expect("a length").0 * times
        })
        .sum();
    let bus: f64 = schedule
        .runs
        .iter()
        .map(|run| run.length.copied().expect("known").0)
        .sum();
    assert!((feet - (power + bus) * 1.1).abs() < 1e-6, "{feet}");
}

#[test]
fn wire_by_the_box_is_not_paid_by_the_foot_as_well() {
    let (was, is) = (house(40.0, false), house(40.0, true));
    let items = |list: &str| {
        let prices = Prices::read(list).expect("prices");
        takeoff(&was, &is, &BTreeSet::new(), &Practice::default(), &prices)
    };
    let cost = |list: &str| super::cost(&items(list)).expect("priced");
    // By hand: 1,045 ft with waste and two boxes less, as the run of the
    // second job has no length.
    let feet = cost("item,unit,price\nbus wire 18 AWG,per 100 ft,10\n");
    assert!((feet + 104.5).abs() < 1e-9, "{feet}");
    let both = "item,unit,price\nbus wire 18 AWG,ft,0.1\n\
                \"bus wire 18 AWG, box of 1,000 ft\",box,90\n";
    assert!((cost(both) + 180.0).abs() < 1e-9);
    assert_eq!(super::unpriced(&items(both)), 0);
    assert_eq!(
        super::unpriced(&items("item,unit,price\nfuse 35 A,each,2\n")),
        2
    );
}

#[test]
fn a_run_without_a_length_is_told() {
    let schedule = house(40.0, true);
    let items = takeoff(
        &schedule,
        &schedule,
        &BTreeSet::new(),
        &Practice::default(),
        &Prices::default(),
    );
    let bus = of(&items, "bus wire 18 AWG");
    assert_eq!(
        (bus.scheduled.amount, bus.scheduled.without_length),
        (0.0, 2)
    );
}

#[test]
fn a_price_list_is_read_and_its_faults_are_told_by_line() {
    let prices = Prices::read("\u{feff}Unit,Item,Price\nft,14/2 NM-B cable,\"$1,200.50\"\n\n");
    assert_eq!(
        prices.expect("prices").of("14/2 nm-b  CABLE", "FT"),
        Some(1200.5)
    );
    let fault = |text: &str| Prices::read(text).expect_err("a fault").line;
    assert_eq!(fault("item,unit\nx,ft\n"), 1);
    assert_eq!(fault("item,unit,price\nx,ft,1\ny,ft,dear\n"), 3);
    assert_eq!(fault("item,unit,price\nx,ft,1\nX,ft,2\n"), 3);
}
