//! What holds for every input.

use crate::schedule::wire::{CableType, Conductor, Insulation, Material, Size};
use crate::schedule::{Amps, Celsius, Edition, Feet, Kilowatts, Quantity, Volts};
use crate::sizing::conductor::{self, Carries, Conditions, Request};
use crate::sizing::drop::{self, Phases, Run, Wire};
use crate::sizing::grouping::{Count, fewest_circuits};
use crate::sizing::nameplate::{NameplateLoads, mca, mop_bounds};
use crate::sizing::sharing::{Member, load};
use crate::sizing::{disconnect, heat, protection, supply};
use crate::tables::conductors::sizes;
use crate::tables::ratings::Device;
use proptest::prelude::*;

fn edition() -> impl Strategy<Value = Edition> {
    prop::sample::select(Edition::ALL.to_vec())
}

fn size() -> impl Strategy<Value = Size> {
    let usable: Vec<Size> = sizes().filter(|&size| size >= Size::Awg(12)).collect();
    prop::sample::select(usable)
}

fn material() -> impl Strategy<Value = Option<Material>> {
    prop::sample::select(vec![
        None,
        Some(Material::Copper),
        Some(Material::Aluminium),
    ])
}

/// Cable type, insulation, whether the notation is that of a cable.
fn method() -> impl Strategy<Value = (Option<CableType>, Option<Insulation>, bool)> {
    prop::sample::select(vec![
        (None, None, false),
        (None, None, true),
        (Some(CableType::NmB), None, true),
        (Some(CableType::UfB), None, true),
        (Some(CableType::Mc), None, true),
        (None, Some(Insulation::Thhn), false),
        (None, Some(Insulation::Thw), false),
        (None, Some(Insulation::Tw), false),
    ])
}

prop_compose! {
    fn wire()(
        size in size(),
        material in material(),
        (cable, insulation, is_cable) in method(),
        sets in 1u8..3,
    ) -> Conductor {
        Conductor { size: Some(size), material, cable, insulation, is_cable, sets, ..Conductor::default() }
    }
}

prop_compose! {
    fn conditions()(
        edition in edition(),
        terminals in prop::option::of(prop::sample::select(vec![60.0, 75.0, 90.0])),
        assumed in prop::option::of(Just(75.0)),
        ambient in prop::option::of(-10.0..55.0f64),
        together in prop::option::of(1u32..50),
    ) -> Conditions {
        Conditions {
            terminals: terminals.map(Celsius),
            assumed_terminals: assumed.map(Celsius),
            ambient: ambient.map(Celsius),
            together,
            ..Conditions::unstated(edition)
        }
    }
}

fn amps(values: &[f64]) -> Vec<Amps> {
    values.iter().copied().map(Amps).collect()
}

proptest! {
    #[test]
    fn never_a_protection_above_mop(mca in 0.1..400.0f64, mop in 0.1..7000.0f64, edition in edition()) {
        for device in [Device::Breaker, Device::Fuse] {
            if let Some(rating) = protection::largest_for_mop(Amps(mop), device, edition) {
                prop_assert!(!rating.value.exceeds(Amps(mop)));
                prop_assert!(protection::is_standard(rating.value, device, edition));
            }
            if let Some(window) = protection::window(Amps(mca), Amps(mop), device, edition).value {
                prop_assert!(!window.largest.exceeds(Amps(mop)));
                prop_assert!(!window.smallest.below(Amps(mca)));
                prop_assert!(!window.smallest.exceeds(window.largest));
            }
        }
    }

    #[test]
    fn nameplates_grow_with_their_loads(
        compressor in 0.5..200.0f64,
        fan in 0.1..20.0f64,
        more in 0.0..50.0f64,
        edition in edition(),
    ) {
        let given = |compressor: f64, fan: f64| NameplateLoads {
            compressors: vec![Amps(compressor)],
            others: vec![Amps(fan)],
            heater: None,
        };
        let base = mca(&given(compressor, fan), edition).unwrap().value;
        prop_assert!(!mca(&given(compressor + more, fan), edition).unwrap().value.below(base));
        prop_assert!(!mca(&given(compressor, fan + more), edition).unwrap().value.below(base));
        let bounds = mop_bounds(&given(compressor, fan), edition).unwrap().value;
        prop_assert!(!bounds.first_choice.exceeds(bounds.upper));
        prop_assert!(bounds.first_choice.0 + 0.05 >= base.0);
        let larger = mop_bounds(&given(compressor + more, fan), edition).unwrap().value;
        prop_assert!(!larger.upper.below(bounds.upper));
    }

    #[test]
    fn ampacity_falls_with_ambient_and_with_company(
        wire in wire(),
        at in conditions(),
        hotter in 0.0..30.0f64,
        more in 0u32..40,
    ) {
        let base = conductor::ampacity(&wire, None, &at);
        prop_assume!(base.is_ok());
        let base = base.unwrap().value;
        prop_assert!(!base.least.amps.exceeds(base.most.amps));
        let hot = Conditions { ambient: Some(Celsius(at.ambient.map_or(30.0, |a| a.0) + hotter)), ..at };
        let full = Conditions { together: Some(at.together.unwrap_or(1) + more), ..at };
        for worse in [hot, full] {
            if let Ok(found) = conductor::ampacity(&wire, None, &worse) {
                prop_assert!(!found.value.least.amps.exceeds(base.least.amps));
                prop_assert!(!found.value.most.amps.exceeds(base.most.amps));
            }
        }
    }

    #[test]
    fn what_carries_a_load_carries_a_smaller_one(
        wire in wire(),
        at in conditions(),
        load in 0.1..300.0f64,
        less in 0.0..1.0f64,
    ) {
        let found = conductor::ampacity(&wire, None, &at);
        prop_assume!(found.is_ok());
        let found = found.unwrap().value;
        let rank = |carries| match carries {
            Carries::Yes => 0,
            Carries::IfFavourable => 1,
            Carries::No => 2,
        };
        prop_assert!(rank(found.carries(Amps(load * less))) <= rank(found.carries(Amps(load))));
    }

    #[test]
    fn a_proposed_conductor_passes_its_own_check(
        wire in wire(),
        at in conditions(),
        load in 0.1..200.0f64,
        exempt in any::<bool>(),
    ) {
        let device = protection::standard_at_or_above(Amps(load), Device::Breaker, at.edition)
            .map(|rating| rating.value)
            .filter(|_| !exempt);
        let request = Request { load: Amps(load), device, like: wire.clone(), insulation: None };
        if let Some(proposed) = conductor::smallest_for(&request, &at) {
            let mut new = wire.clone();
            new.size = Some(proposed.value);
            let found = conductor::ampacity(&new, None, &at).unwrap().value;
            prop_assert_eq!(found.carries(Amps(load)), Carries::Yes);
            let material = new.material.unwrap_or(Material::Copper);
            prop_assert!(!conductor::below_smallest(proposed.value, material, at.edition));
            if let Some(device) = device {
                let most = conductor::largest_device(found.least.amps, proposed.value, material, at.edition);
                prop_assert!(!device.exceeds(most.unwrap().value));
            }
            // A larger load never asks for a smaller conductor.
            let more = Request { load: Amps(load * 1.1), ..request };
            if let Some(larger) = conductor::smallest_for(&more, &at) {
                prop_assert!(larger.value >= proposed.value);
            }
        }
    }

    #[test]
    fn drop_grows_with_load_and_length_and_falls_with_size(
        size in size(),
        load in 0.1..100.0f64,
        feet in 1.0..1000.0f64,
        more in 1.0..3.0f64,
        three in any::<bool>(),
        edition in edition(),
    ) {
        let phases = if three { Phases::Three } else { Phases::Single };
        let run = Run { load: Amps(load), length: Feet(feet), volts: Volts(208.0), phases };
        let wire = Wire { size, material: None, stranding: None, sets: 1 };
        let base = drop::over(&run, &wire, edition).unwrap().value;
        let longer = Run { length: run.length * more, ..run };
        let heavier = Run { load: run.load * more, ..run };
        for worse in [longer, heavier] {
            prop_assert!(!drop::over(&worse, &wire, edition).unwrap().value.volts.below(base.volts));
        }
        if let Some(next) = sizes().find(|&next| next > size) {
            let wire = Wire { size: next, ..wire };
            prop_assert!(drop::over(&run, &wire, edition).unwrap().value.volts.below(base.volts));
        }
    }

    #[test]
    fn the_bounds_of_a_shared_load_hold_the_load(
        full_load in prop::collection::vec(0.1..6.0f64, 1..12),
        known in prop::collection::vec(any::<bool>(), 12),
        edition in edition(),
    ) {
        let members: Vec<Member> = full_load
            .iter()
            .zip(&known)
            .map(|(&amps, &known)| {
                if known { Member::FullLoad(Amps(amps)) } else { Member::Mca(Amps(amps * 1.25)) }
            })
            .collect();
        let exact: Vec<Member> = full_load.iter().map(|&a| Member::FullLoad(Amps(a))).collect();
        let exact = load(&exact, edition).value;
        let found = load(&members, edition).value;
        prop_assert!(!found.least.exceeds(exact.least));
        prop_assert!(!found.most.below(exact.most));
        prop_assert_eq!(found.exact, known.iter().take(full_load.len()).all(|&k| k));
    }

    #[test]
    fn a_grouping_holds_every_load_once_and_overloads_nothing(
        loads in prop::collection::vec(0.1..16.0f64, 0..14),
        by_sum in any::<bool>(),
        edition in edition(),
    ) {
        let count = if by_sum { Count::SumOfMca } else { Count::FullLoad };
        let loads = amps(&loads);
        let found = fewest_circuits(&loads, Amps(15.0), count, edition);
        let mut seen: Vec<usize> = found.circuits.concat();
        seen.extend(&found.alone);
        seen.sort_unstable();
        prop_assert_eq!(seen, (0..loads.len()).collect::<Vec<_>>());
        let extra = if by_sum { 0.0 } else { 0.25 };
        for circuit in &found.circuits {
            let total: f64 = circuit.iter().map(|&at| loads[at].0).sum();
            let largest = circuit.iter().map(|&at| loads[at].0).fold(0.0, f64::max);
            prop_assert!(!Amps(total + extra * largest).exceeds(Amps(15.0)));
        }
    }

    #[test]
    fn a_proven_grouping_is_no_worse_than_trying_them_all(
        loads in prop::collection::vec(1.0..9.0f64, 1..7),
        edition in edition(),
    ) {
        let found = fewest_circuits(&amps(&loads), Amps(15.0), Count::FullLoad, edition);
        prop_assert!(found.proven);
        prop_assert_eq!(found.circuits.len(), fewest_by_trying(&loads));
    }

    #[test]
    fn a_switch_is_never_below_its_rating(rated in prop::collection::vec(0.1..100.0f64, 1..5), edition in edition()) {
        let rating = disconnect::least_rating(&amps(&rated), edition).value;
        if let Some(switch) = disconnect::switch_size(rating) {
            prop_assert!(!switch.value.below(rating));
        }
    }

    /// Cells hold anything: what is no sensible number must still end.
    #[test]
    fn no_number_makes_it_panic(
        a in prop::num::f64::ANY,
        b in prop::num::f64::ANY,
        wire in wire(),
        at in conditions(),
    ) {
        let edition = at.edition;
        let loads = NameplateLoads {
            compressors: vec![Amps(a)],
            others: vec![Amps(b)],
            heater: None,
        };
        mca(&loads, edition);
        mop_bounds(&loads, edition);
        for device in [Device::Breaker, Device::Fuse] {
            protection::window(Amps(a), Amps(b), device, edition);
            protection::neighbours(Amps(a), device, edition);
        }
        load(&[Member::FullLoad(Amps(a)), Member::Mca(Amps(b))], edition);
        fewest_circuits(&[Amps(a), Amps(b), Amps(1.0)], Amps(15.0), Count::FullLoad, edition);
        fewest_circuits(&[Amps(a), Amps(1.0)], Amps(b), Count::SumOfMca, edition);
        let odd = Conditions { ambient: Some(Celsius(a)), terminals: Some(Celsius(b)), ..at };
        let _ = conductor::ampacity(&wire, None, &odd);
        let request = Request { load: Amps(a), device: Some(Amps(b)), like: wire, insulation: None };
        conductor::smallest_for(&request, &odd);
        let run = Run { load: Amps(a), length: Feet(b), volts: Volts(a), phases: Phases::Three };
        drop::by_resistance(&run, b, None);
        heat::at_supply(Kilowatts(a), Volts(b), Volts(a), Phases::Single);
        heat::subdivision(Amps(a), edition);
        disconnect::switch_size(Amps(a));
        supply::imbalance([Amps(a), Amps(b), Amps(a)]);
        supply::spread(&[(1, Amps(a)), (2, Amps(b))]);
    }

    #[test]
    fn balance_does_not_depend_on_the_order(a in 0.0..500.0f64, b in 0.0..500.0f64, c in 0.0..500.0f64) {
        let one = supply::imbalance([a, b, c].map(Amps)).value.0;
        let other = supply::imbalance([c, a, b].map(Amps)).value.0;
        prop_assert!((one - other).abs() < 1e-6);
        prop_assert!((0.0..=200.0 + 1e-6).contains(&one));
    }
}

/// Every way to put the loads on circuits: an oracle that shares no code
/// with the search.
fn fewest_by_trying(loads: &[f64]) -> usize {
    let n = loads.len();
    let mut best = n;
    let mut assignment = vec![0usize; n];
    loop {
        let fits = (0..n).all(|circuit| {
            let on: Vec<f64> = (0..n)
                .filter(|&at| assignment[at] == circuit)
                .map(|at| loads[at])
                .collect();
            let largest = on.iter().copied().fold(0.0, f64::max);
            on.iter().sum::<f64>() + 0.25 * largest <= 15.0 * (1.0 + 1e-9)
        });
        if fits {
            let mut used = assignment.clone();
            used.sort_unstable();
            used.dedup();
            best = best.min(used.len());
        }
        let Some(at) = assignment.iter().rposition(|&circuit| circuit + 1 < n) else {
            return best;
        };
        assignment[at] += 1;
        for later in assignment.iter_mut().skip(at + 1) {
            *later = 0;
        }
    }
}
