//! Circuits whose sizes are published, and what has to be refused.

use super::work::{Part, work};
use super::{Args, page};
use crate::practice::Practice;
use clap::Parser;

#[derive(Parser, Debug)]
struct One {
    #[command(flatten)]
    args: Args,
}

fn args(line: &str) -> Args {
    let words = ["size"]
        .into_iter()
        .chain(line.split(' ').filter(|w| !w.is_empty()));
    One::try_parse_from(words)
        .unwrap_or_else(|e| panic!("{e}"))
        .args
}

fn size(line: &str) -> Vec<Part> {
    let circuit = args(line).circuit(&Practice::default());
    work(&circuit).unwrap_or_else(|e| panic!("{line}: {e}"))
}

fn part<'a>(parts: &'a [Part], key: &str) -> &'a Part {
    let found = parts.iter().find(|part| part.key == key);
    found.unwrap_or_else(|| panic!("no {key}"))
}

const BY_HAND: &str = "by hand";

/// Arguments; parts and their values; source.
type Check = (
    &'static str,
    &'static [(&'static str, &'static str)],
    &'static str,
);

const WORKED: &[Check] = &[
    (
        "--rla 18",
        &[
            ("mca", "22.5 A"),
            ("mop", "30 A, at most 40 A"),
            ("protection", "30 A"),
        ],
        "EC&M, Stumped by the Code? (April 2022)",
    ),
    (
        "--rla 24 --volts 240",
        &[
            ("mca", "30 A"),
            ("mop", "40 A, at most 50 A"),
            ("protection", "40 A"),
        ],
        "EC&M, Code Q&A: Air-Conditioner Calculations",
    ),
    (
        "--rla 20 --fla 2.5",
        &[("mop", "35 A, at most 45 A")],
        "EC&M, Quizzes on the Code 1",
    ),
    (
        "--rla 38 --selection-current 40",
        &[("mop", "70 A, at most 90 A")],
        "EC&M, Code Quiz 33",
    ),
    (
        "--mca 31.4 --mop 50 --terminals 75 --cable THHN",
        &[
            ("protection", "50 A"),
            ("conductor", "10 AWG copper"),
            ("grounding-conductor", "10 AWG copper"),
        ],
        "EC&M, NEC Requirements for A/C and Refrigeration Equipment (January 2025)",
    ),
    (
        "--mca 44 --mop 60 --terminals 75 --cable THHN",
        &[("protection", "60 A"), ("conductor", "8 AWG copper")],
        "EC&M, Code Q&A 42",
    ),
    (
        "--rla 29 --fla 2.5",
        &[("disconnect", "60 A")],
        "EC&M, Quizzes on the Code 36",
    ),
    (
        "--heater-kw 9.6 --heater-volts 240 --volts 240 --fla 3 --terminals 60 --cable THHN",
        &[
            ("heater", "40 A"),
            ("protection", "60 A"),
            ("conductor", "6 AWG copper"),
        ],
        "Mike Holt newsletter 2089",
    ),
    (
        "--heater-kw 5 --volts 240 --fla 3",
        &[("mca", "29.8 A"), ("protection", "30 A")],
        "Mike Holt forum 63217",
    ),
    (
        "--heater-kw 10 --heater-volts 240 --volts 208",
        &[("heater", "36.11 A")],
        "ACHR News, Pop Quiz: Electric Heaters",
    ),
    // The small-conductor rule holds for heat: 30 A wants 10 AWG behind it.
    (
        "--heater-kw 5 --volts 240 --terminals 75 --cable THHN --fla 3",
        &[
            ("conductor", "10 AWG copper"),
            ("grounding-conductor", "10 AWG copper"),
        ],
        BY_HAND,
    ),
    // MC carries MCA 25 on 12 AWG behind 40 A, where NM-B does not.
    (
        "--mca 25 --mop 40 --cable MC",
        &[("conductor", "12 AWG copper"), ("protection", "40 A")],
        BY_HAND,
    ),
    (
        "--mca 25 --mop 40 --cable NM-B",
        &[
            ("conductor", "10 AWG copper"),
            ("grounding-conductor", "10 AWG copper"),
        ],
        BY_HAND,
    ),
    // An odd MOP: the next lower standard rating.
    ("--mca 20 --mop 34", &[("protection", "30 A")], BY_HAND),
    // 60 kW at 480 V, three phase: 72.17 A in two parts.
    (
        "--heater-kw 60 --volts 480 --phases 3",
        &[("heater", "72.17 A"), ("subdivision", "2 at least")],
        BY_HAND,
    ),
    // 15 kW at 240 V on 208 V: 62.5 × 208 / 240 = 54.17 A; 1.25 × (54.17 + 3)
    // = 71.46 A; 1.15 × 57.17 = 65.74 A; 2 × 57.17 × 40 × 0.308 / 1,000 =
    // 1.41 V.
    (
        "--heater-kw 15 --heater-volts 240 --fla 3 --volts 208 --length 40 --terminals 75 \
         --cable THHN",
        &[
            ("heater", "54.17 A"),
            ("mca", "71.5 A"),
            ("protection", "80 A"),
            ("conductor", "4 AWG copper"),
            ("grounding-conductor", "8 AWG copper"),
            ("disconnect", "100 A"),
            ("voltage-drop", "0.68 %"),
        ],
        BY_HAND,
    ),
    // √3 × 25.4 × 200 × 1.24 / 1,000 = 10.91 V of 480 V.
    (
        "--rla 24 --fla 1.4 --volts 480 --phases 3 --length 200 --terminals 75 --cable THHN",
        &[
            ("mca", "31.4 A"),
            ("mop", "40 A, at most 50 A"),
            ("conductor", "10 AWG copper"),
            ("disconnect", "30 A"),
            ("voltage-drop", "2.27 %"),
        ],
        BY_HAND,
    ),
    // Aluminium at 75 °C: 8 AWG 40 A, 6 AWG 50 A. 44 / 1.25 = 35.2 A; 2 × 35.2
    // × 100 × 0.808 / 1,000 = 5.69 V of 240 V.
    (
        "--mca 44 --mop 60 --volts 240 --length 100 --terminals 75 --material aluminium \
         --cable XHHW-2",
        &[
            ("protection", "60 A"),
            ("conductor", "6 AWG aluminium"),
            ("grounding-conductor", "8 AWG aluminium"),
            ("disconnect", "60 A"),
            ("voltage-drop", "2.37 %"),
        ],
        BY_HAND,
    ),
    // Two compressors: 1.25 × 12 + 10 + 1; 1.75 and 2.25 × 12 + 11. 40 × 0.82
    // × 0.8 = 26.24 A carries 26 A.
    (
        "--rla 10 --rla 12 --fla 1 --volts 208 --length 50 --ambient 50 \
         --conductors-in-raceway 6 --terminals 75 --cable THHN",
        &[
            ("mca", "26 A"),
            ("mop", "30 A, at most 35 A"),
            ("conductor", "10 AWG copper"),
            ("disconnect", "30 A"),
            ("voltage-drop", "1.37 %"),
        ],
        BY_HAND,
    ),
    // 1.25 × 18 + 1.2; 2 × 19.2 × 90 × 1.24 / 1,000 = 4.29 V of 208 V; cautious
    // where terminals are not stated: 12 AWG carries 20 A at 60 °C.
    (
        "--rla 18 --fla 1.2 --volts 208 --length 90",
        &[
            ("mca", "23.7 A"),
            ("mop", "30 A, at most 40 A"),
            ("conductor", "10 AWG copper"),
            ("voltage-drop", "2.06 %"),
        ],
        BY_HAND,
    ),
    // 50 kW at 208 V, three phase: 138.79 A, at 1.00 from 50 kW; 1.15 times it
    // 159.6 A.
    (
        "--heater-kw 50 --volts 208 --phases 3 --edition 2017 --length 60",
        &[
            ("heater", "138.79 A"),
            ("mca", "138.8 A"),
            ("protection", "150 A"),
            ("subdivision", "3 at least"),
            ("conductor", "1/0 AWG copper"),
            ("disconnect", "200 A"),
            ("voltage-drop", "0.85 %"),
        ],
        "by hand; 50 kW from memory",
    ),
    // 2 × 16 A × 50 ft × 1.98 ohm / 1,000 = 3.168 V of 208 V.
    (
        "--mca 20 --mop 30 --cable NM-B --volts 208 --length 50",
        &[("conductor", "12 AWG copper"), ("voltage-drop", "1.52 %")],
        BY_HAND,
    ),
];

#[test]
fn circuits_come_out_as_published() {
    let mut published = 0;
    for (line, expected, source) in WORKED {
        let parts = size(line);
        for (key, value) in *expected {
            let found = part(&parts, key).value.as_deref();
            assert_eq!(found, Some(*value), "{line}: {key} ({source})");
        }
        published += usize::from(!source.starts_with(BY_HAND)) * expected.len();
    }
    assert!(published >= 18);
}

#[test]
fn what_cannot_be_sized_says_why() {
    for (line, says) in [
        ("", "nothing to size"),
        ("--mca 30 --mop 20", "below MCA"),
        ("--heater-kw 5", "give --volts"),
    ] {
        let circuit = args(line).circuit(&Practice::default());
        let error = work(&circuit).expect_err(line);
        assert!(error.contains(says), "{error}");
    }
    for line in [
        "--rla 0",
        "--rla -3",
        "--rla inf",
        "--rla x",
        "--rla 3 --phases 2",
        "--rla 3 --length 10yd",
        "--rla 3 --terminals 70",
        "--rla 3 --ambient 400",
        "--rla 3 --edition 2018",
        "--rla 3 --cable 10/2",
        "--rla 3 --heater-volts 240",
    ] {
        let words = ["size"].into_iter().chain(line.split(' '));
        assert!(One::try_parse_from(words).is_err(), "{line}");
    }
}

#[test]
fn no_rating_between_mca_and_mop_is_said_and_not_invented() {
    let parts = size("--mca 31 --mop 34 --volts 208 --length 50");
    let device = part(&parts, "protection");
    assert_eq!(device.value, None);
    assert!(
        device
            .notes
            .concat()
            .contains("No standard rating lies between")
    );
    assert_eq!(part(&parts, "grounding-conductor").value, None);
    // The conductor hangs on MCA alone.
    assert!(part(&parts, "conductor").value.is_some());
}

#[test]
fn a_long_run_names_the_larger_conductor_and_its_ground() {
    let parts = size("--mca 31.4 --mop 50 --terminals 75 --cable THHN --volts 208 --length 400");
    let drop = part(&parts, "voltage-drop");
    assert!(drop.number.unwrap() > 3.0);
    let note = drop.notes.concat();
    assert!(
        note.contains("brings it within, the grounding conductor with it to"),
        "{note}"
    );
    let short = size("--mca 31.4 --mop 50 --terminals 75 --cable THHN --volts 208 --length 40");
    let notes = part(&short, "voltage-drop").notes.concat();
    assert!(!notes.contains("brings it within"), "{notes}");
}

#[test]
fn what_is_not_stated_is_read_cautiously_and_says_so() {
    let parts = size("--mca 31.4 --mop 50");
    let conductor = part(&parts, "conductor");
    assert_eq!(conductor.value.as_deref(), Some("8 AWG copper"));
    assert!(
        conductor
            .notes
            .concat()
            .contains("10 AWG copper does where terminals")
    );
}

#[test]
fn the_edition_the_ambient_and_the_bundle_count() {
    let by = |line: &str| {
        let parts = size(&format!(
            "--mca 31.4 --mop 50 --terminals 75 --cable THHN {line}"
        ));
        part(&parts, "conductor").value.clone().unwrap()
    };
    assert_eq!(by("--ambient 40"), "10 AWG copper");
    // 40 A × 0.76 = 30.4 A is below 31.4 A.
    assert_eq!(by("--ambient 55"), "8 AWG copper");
    // 40 A × 0.7 = 28 A.
    assert_eq!(by("--conductors-in-raceway 9"), "8 AWG copper");
    assert_eq!(by("--material aluminium"), "8 AWG aluminium");
    let circuit = args("--rla 18 --edition 2017").circuit(&Practice::default());
    let text = page::text(&circuit, &work(&circuit).unwrap());
    assert!(text.contains("NFPA 70-2017 Table 310.15(B)(16)"), "{text}");
    assert!(!text.contains("2023"));
}

#[test]
fn both_forms_carry_the_same_values_and_the_cautions() {
    let circuit = args("--rla 18 --fla 1.2 --volts 208 --length 90").circuit(&Practice::default());
    let parts = work(&circuit).unwrap();
    let text = page::text(&circuit, &parts);
    let json: serde_json::Value = serde_json::from_str(&page::json(&circuit, &parts)).unwrap();
    let listed = json["parts"].as_array().unwrap();
    assert_eq!(listed.len(), parts.len());
    for part in listed {
        assert!(text.contains(part["value"].as_str().unwrap()));
        for step in part["steps"].as_array().unwrap() {
            assert!(step["source"].is_null() || step["source"].is_string());
        }
    }
    for words in [
        "licensed electrician",
        "authority having jurisdiction",
        "nameplate",
    ] {
        assert!(text.contains(words), "{words}");
        assert!(json["cautions"].to_string().contains(words), "{words}");
    }
}
