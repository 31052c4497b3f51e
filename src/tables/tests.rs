//! Every edition for gaps, every table for monotony, and what an independent
//! formula says of each.

use super::conductors::{self, Column, Stranding};
use super::ratings::{Device, SWITCH_SIZES, standard_ratings};
use super::{Known, Source, Topic, limits, section, sections};
use crate::schedule::wire::{Material, Size};
use crate::schedule::{Amps, Celsius, Edition};

const MATERIALS: [Material; 2] = [Material::Copper, Material::Aluminium];

#[test]
fn every_topic_has_its_section_in_every_edition_or_is_excused() {
    let excused = [
        (Topic::OutdoorGfci, Edition::Nec2017),
        (Topic::Class2Separation, Edition::Nec2026),
    ];
    for topic in Topic::ALL {
        assert_eq!(sections::row(topic).topic, topic);
        for edition in Edition::ALL {
            let known = section(topic, edition).is_some();
            assert_eq!(
                known,
                !excused.contains(&(topic, edition)),
                "{topic:?} in {edition}"
            );
        }
    }
}

#[test]
fn all_of_2026_and_nothing_published_before_is_from_memory() {
    for topic in Topic::ALL {
        assert!(Source::code(topic, Edition::Nec2026).from_memory());
        for edition in [Edition::Nec2017, Edition::Nec2020, Edition::Nec2023] {
            assert_eq!(
                Source::code(topic, edition).from_memory(),
                sections::row(topic).known == Known::FromMemory
            );
        }
    }
}

#[test]
fn sources_print_as_people_cite_them() {
    for (topic, edition, text) in [
        (
            Topic::AcProtection,
            Edition::Nec2020,
            "NFPA 70-2020 440.22(A)",
        ),
        (
            Topic::Ampacity,
            Edition::Nec2017,
            "NFPA 70-2017 Table 310.15(B)(16)",
        ),
        (
            Topic::AcProtection,
            Edition::Nec2026,
            "NFPA 70-2026 440.22(A) (from memory)",
        ),
        (
            Topic::Class2Separation,
            Edition::Nec2026,
            "NFPA 70-2026, section number not known (from memory)",
        ),
    ] {
        assert_eq!(Source::code(topic, edition).to_string(), text);
    }
    assert_eq!(Source::Practice.to_string(), "common practice, no source");
    let json = serde_json::to_string(&Source::code(Topic::Ampacity, Edition::Nec2023)).unwrap();
    assert_eq!(json, "\"NFPA 70-2023 Table 310.16\"");
}

#[test]
fn standard_ratings_rise_and_lose_none_from_edition_to_edition() {
    for device in [Device::Breaker, Device::Fuse] {
        let mut before: Vec<u16> = Vec::new();
        for edition in Edition::ALL {
            let now: Vec<u16> = standard_ratings(device, edition)
                .map(|rating| rating.value)
                .collect();
            assert!(now.is_sorted_by(|a, b| a < b), "{now:?}");
            assert!(before.iter().all(|rating| now.contains(rating)));
            before = now;
        }
    }
    let count = |device, edition| standard_ratings(device, edition).count();
    assert_eq!(count(Device::Breaker, Edition::Nec2020), 37);
    assert_eq!(count(Device::Breaker, Edition::Nec2023), 38);
    assert_eq!(count(Device::Fuse, Edition::Nec2020), 42);
    assert_eq!(count(Device::Fuse, Edition::Nec2023), 42);
    assert!(SWITCH_SIZES.value.is_sorted());
}

#[test]
fn ampacity_rises_with_size_and_with_temperature() {
    for edition in Edition::ALL {
        for material in MATERIALS {
            for column in Column::ALL {
                let amps: Vec<Amps> = conductors::sizes()
                    .filter_map(|size| conductors::ampacity(size, material, column, edition))
                    .map(|cited| cited.value)
                    .collect();
                // Copper from 14 AWG, aluminium from 12 AWG, to 500 kcmil.
                assert!(amps.len() >= 17);
                assert!(amps.is_sorted_by(|a, b| a < b), "{material} {column:?}");
            }
            for size in conductors::sizes() {
                let row = Column::ALL.map(|column| {
                    conductors::ampacity(size, material, column, edition).map(|c| c.value)
                });
                if let [Some(c60), Some(c75), Some(c90)] = row {
                    assert!(c60 < c75 && c75 < c90, "{size} {material}");
                }
            }
        }
        for size in conductors::sizes() {
            for column in Column::ALL {
                let of = |material| conductors::ampacity(size, material, column, edition);
                if let (Some(cu), Some(al)) = (of(Material::Copper), of(Material::Aluminium)) {
                    assert!(al.value < cu.value, "{size}");
                }
            }
        }
    }
}

#[test]
fn ampacities_that_old_charts_print_otherwise() {
    for (size, material, column, now, before_2011) in [
        (Size::Awg(3), Material::Copper, Column::C90, 115.0, 110.0),
        (Size::Awg(1), Material::Copper, Column::C90, 145.0, 150.0),
        (Size::Awg(6), Material::Aluminium, Column::C90, 55.0, 60.0),
    ] {
        let got = conductors::ampacity(size, material, column, Edition::Nec2017).unwrap();
        assert_eq!(got.value, Amps(now));
        assert_ne!(got.value, Amps(before_2011));
    }
}

#[test]
fn values_from_memory_say_so() {
    let small = |size| {
        conductors::ampacity(size, Material::Copper, Column::C90, Edition::Nec2020)
            .unwrap()
            .source
            .from_memory()
    };
    assert!(small(Size::Awg(18)) && small(Size::Awg(16)));
    assert!(!small(Size::Awg(14)));
    assert!(limits::large_heat(Edition::Nec2020).source.from_memory());
    assert!(
        limits::protection_floor(Edition::Nec2020)
            .source
            .from_memory()
    );
}

/// I′ = I √((Tc − Ta′) / (Tc − Ta)), from memory; the table is printed to
/// two decimals.
#[test]
fn ambient_factors_follow_the_heat_formula() {
    for edition in Edition::ALL {
        for column in Column::ALL {
            let limit = f64::from(column.celsius());
            let mut before = f64::INFINITY;
            for ambient in conductors::ambient_steps() {
                let Some(found) = conductors::ambient_factor(ambient, column, edition) else {
                    assert!(ambient.0 >= limit, "gap at {ambient} in {column:?}");
                    continue;
                };
                assert!(ambient.0 < limit);
                assert!(found.value < before);
                before = found.value;
                let formula = ((limit - ambient.0) / (limit - 30.0)).sqrt();
                assert!(
                    (found.value - formula).abs() <= 0.0051,
                    "{ambient} {column:?}: {} against {formula}",
                    found.value
                );
            }
        }
    }
}

#[test]
fn ambient_rows_end_where_they_say() {
    let factor = |at| {
        conductors::ambient_factor(Celsius(at), Column::C90, Edition::Nec2020).map(|c| c.value)
    };
    for (at, expect) in [
        (-20.0, Some(1.15)),
        (10.0, Some(1.15)),
        (10.1, Some(1.12)),
        (30.0, Some(1.00)),
        (30.1, Some(0.96)),
        (40.0, Some(0.91)),
        (40.1, Some(0.87)),
        (85.0, Some(0.29)),
        (85.1, None),
    ] {
        assert_eq!(factor(at), expect, "{at} °C");
    }
}

#[test]
fn bundling_steps() {
    for (count, expect) in [
        (0, 1.0),
        (3, 1.0),
        (4, 0.8),
        (6, 0.8),
        (7, 0.7),
        (9, 0.7),
        (10, 0.5),
        (20, 0.5),
        (21, 0.45),
        (30, 0.45),
        (31, 0.4),
        (40, 0.4),
        (41, 0.35),
        (1000, 0.35),
    ] {
        for edition in Edition::ALL {
            let got = conductors::bundling_factor(count, edition).value;
            assert_eq!(got, expect, "{count} conductors");
        }
    }
}

#[test]
fn grounding_conductors_grow_with_the_device() {
    for edition in Edition::ALL {
        for material in MATERIALS {
            let sizes: Vec<Size> = conductors::grounding_steps()
                .map(|device| {
                    conductors::grounding_conductor(device, material, edition)
                        .unwrap()
                        .value
                })
                .collect();
            assert!(sizes.is_sorted_by(|a, b| a < b), "{material}: {sizes:?}");
        }
        for device in conductors::grounding_steps() {
            let of = |material| {
                conductors::grounding_conductor(device, material, edition)
                    .unwrap()
                    .value
            };
            assert!(of(Material::Aluminium) > of(Material::Copper));
        }
    }
}

/// ASTM B258: d = 0.005 in × 92^((36 − n) / 39); circular mils are the square
/// of the diameter in thousandths of an inch.
#[test]
fn circular_mils_follow_the_gauge() {
    for size in conductors::sizes() {
        let table = conductors::circular_mils(size, Edition::Nec2020)
            .unwrap()
            .value
            .0;
        let formula = match size {
            Size::Awg(gauge) => (5.0 * 92f64.powf((36.0 - f64::from(gauge)) / 39.0)).powi(2),
            Size::Kcmil(kcmil) => f64::from(kcmil) * 1000.0,
        };
        assert!(
            (table / formula - 1.0).abs() <= 0.003,
            "{size}: {table} against {formula}"
        );
    }
}

/// Resistance times cross-section is one number for a material and a making:
/// copper of 100 % conductivity has 10.371 ohm·cmil/ft at 20 °C (IACS), which
/// the temperature coefficient brings to 75 °C.
#[test]
fn resistance_follows_resistivity() {
    for (material, stranding, conductivity, lay) in [
        (Material::Copper, Stranding::Solid, 1.00, 1.0),
        (Material::Copper, Stranding::Stranded, 1.00, 1.02),
        (Material::Aluminium, Stranding::Stranded, 0.61, 1.02),
    ] {
        let mut before = f64::INFINITY;
        for size in conductors::sizes() {
            let Some(found) = conductors::resistance(size, material, stranding, Edition::Nec2020)
            else {
                continue;
            };
            assert!(found.value < before, "{size}");
            before = found.value;
            let mils = conductors::circular_mils(size, Edition::Nec2020)
                .unwrap()
                .value
                .0;
            // Copper gains 0.393 % and aluminium 0.403 % of its value at 20 °C
            // for each degree.
            let warm = match material {
                Material::Copper => 1.0 + 0.00393 * 55.0,
                Material::Aluminium => 1.0 + 0.00403 * 55.0,
            };
            let formula = 10.371 / conductivity * warm * lay * 1000.0 / mils;
            assert!(
                (found.value / formula - 1.0).abs() <= 0.02,
                "{size} {material} {stranding:?}: {} against {formula}",
                found.value
            );
        }
    }
}

#[test]
fn stranded_has_the_higher_resistance_and_aluminium_the_highest() {
    for size in conductors::sizes() {
        let of = |material, stranding| {
            conductors::resistance(size, material, stranding, Edition::Nec2020).map(|c| c.value)
        };
        let stranded = of(Material::Copper, Stranding::Stranded).unwrap();
        if let Some(solid) = of(Material::Copper, Stranding::Solid) {
            assert!(solid < stranded, "{size}");
        }
        if let Some(aluminium) = of(Material::Aluminium, Stranding::Stranded) {
            assert!(aluminium > stranded, "{size}");
        }
        assert!(of(Material::Aluminium, Stranding::Solid).is_none());
    }
}

#[test]
fn small_conductors_are_capped_below_their_ampacity() {
    for edition in Edition::ALL {
        for size in conductors::sizes() {
            for material in MATERIALS {
                let Some(cap) = conductors::small_conductor(size, material, edition) else {
                    continue;
                };
                let ninety = conductors::ampacity(size, material, Column::C90, edition).unwrap();
                assert!(cap.value < ninety.value, "{size} {material}");
            }
        }
        assert!(conductors::small_conductor(Size::Awg(8), Material::Copper, edition).is_none());
    }
}

#[test]
fn ground_fault_protection_by_edition() {
    assert!(limits::outdoor_gfci(Edition::Nec2017).is_none());
    for (edition, amps, excepted, class_c) in [
        (Edition::Nec2020, 50.0, true, false),
        (Edition::Nec2023, 50.0, true, false),
        (Edition::Nec2026, 60.0, false, true),
    ] {
        let found = limits::outdoor_gfci(edition).unwrap();
        assert_eq!(found.value.amps, Amps(amps));
        assert_eq!(found.value.excepted_until.is_some(), excepted);
        assert_eq!(found.value.class_c_excepted, class_c);
    }
}

#[test]
fn nominal_pairs_lie_within_the_nameplate_band() {
    for pair in limits::NOMINAL_PAIRS {
        let ratio = f64::from(pair.system) / f64::from(pair.nameplate);
        assert!((ratio - 1.0).abs() <= limits::NAMEPLATE_BAND.value);
    }
}

#[test]
fn limits_cite_the_adopted_edition() {
    for edition in Edition::ALL {
        let of = |source: Source| match source {
            Source::Code { edition, .. } => edition,
            other => panic!("{other}"),
        };
        assert_eq!(of(limits::small_group(edition).source), edition);
        assert_eq!(of(limits::heat_limits(edition).source), edition);
        assert_eq!(of(limits::disconnect_factor(edition).source), edition);
        assert_eq!(of(limits::next_larger_up_to(edition).source), edition);
        for note in limits::drop_notes(edition) {
            assert_eq!(of(note.source), edition);
        }
    }
}
