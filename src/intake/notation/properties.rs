//! What holds of all grammars: no text makes one panic, words for nothing
//! mean the same to each, and a printed quantity reads back.

use super::*;
use crate::schedule::wire::{CableType, Conductor, Insulation, Size};
use crate::schedule::{
    Amps, Celsius, Feet, Horsepower, Kilowatts, Mbh, Name, NameplateAmps, Supply, VoltAmps, Volts,
};
use proptest::prelude::*;

fn state<T>(reading: Reading<T>) -> Reading<()> {
    reading.map(|_| ())
}

type Grammar = fn(&str, &Context) -> Reading<()>;

macro_rules! grammars {
    ($($name:ident)*) => {
        &[$((stringify!($name), |text, ctx| state($name(text, ctx))),)*]
    };
}

/// Every grammar of a cell.
const GRAMMARS: &[(&str, Grammar)] = grammars! {
    amps fuse nameplate_amps mop mca_mop breaker poles slots supply volts phases panel_supply
    conductor grounding insulation raceway size terminals low_voltage_wire gauge conductor_count
    stranded shielded purpose side shield_ground splices routing length capacity kilowatts
    volt_amps horsepower temperature whole_number place disconnect quantity name free_text
    tag_list loads yes_no customer edition date revision heater
};

fn contexts() -> [Context; 3] {
    [
        Context::default(),
        Context {
            style: Style::Comma,
            unit: None,
        },
        Context {
            style: Style::Point,
            unit: Some(ColumnUnit::Metres),
        },
    ]
}

fn read_all(text: &str) {
    for ctx in contexts() {
        for (_, grammar) in GRAMMARS {
            grammar(text, &ctx);
        }
        let _ = number(text, ctx.style);
        let _ = panel_slots(text, &[Name::new("LP")], &ctx);
    }
    let _ = decimal_style([text]);
    let _ = ColumnUnit::parse(text);
    let _ = kind_from_text(text);
    let _ = kind_from_tag(&Name::new(text));
    if let Some(damage) = DateDamage::from_text(text) {
        let originals = date_damage(damage, Some(text));
        let _ = plausible_wires(originals.clone());
        let _ = plausible_breakers(originals);
    }
}

/// Texts made of the pieces that cells are made of: more of them come near a
/// grammar than random characters do.
fn pieces() -> impl Strategy<Value = String> {
    let piece = prop::sample::select(vec![
        "1", "2", "3", "10", "30", "60", "208", "230", "18", "0.75", "1,250", "/", "-", "–", ",",
        " ", "#", "(", ")", "\"", "'", "”", "′", "½", "×", "Ø", "\u{a0}", "A", "P", "V", "ft", "m",
        "AWG", "G", "w/", "EMT", "FC-1", "thru", "&", "and ", "NM-B", "HTR", "Oct", "kcmil",
        "sets", "?", "~", ".", "..", "é", "ß", "٣", "NF", "@", "mm2", "x", "C", "THWN", "+", "MCA",
        "Y", "PH", ":", "\n", "kW", "240", "EA", "K", "MBH", "HIGH", "LEG", "(1)", "(4)", "FC",
        "1A", "±", "PULL-OUT", "TO", "END", "BY",
    ]);
    prop::collection::vec(piece, 0..12).prop_map(|pieces| pieces.concat())
}

proptest! {
    #[test]
    fn no_text_makes_a_grammar_panic(text in ".{0,40}") {
        read_all(&text);
    }

    #[test]
    fn no_likely_text_makes_a_grammar_panic(text in pieces()) {
        read_all(&text);
    }

    #[test]
    fn printed_quantities_read_back(hundredths in 1_u32..10_000_000) {
        let ctx = Context::default();
        let value = f64::from(hundredths) / 100.0;
        let near = |read: Option<f64>| read.is_some_and(|read| (read - value).abs() < 1e-6);
        prop_assert!(near(amps(&Amps(value).to_string(), &ctx).value().map(|of| of.0)));
        prop_assert!(near(length(&Feet(value).to_string(), &ctx).value().map(|of| of.value.0)));
        prop_assert!(near(capacity(&Mbh(value).to_string(), &ctx).value().map(|of| of.value.0)));
        prop_assert!(near(kilowatts(&Kilowatts(value).to_string(), &ctx).value().map(|of| of.value.0)));
        prop_assert!(near(volt_amps(&VoltAmps(value).to_string(), &ctx).value().map(|of| of.value.0)));
        prop_assert!(near(horsepower(&Horsepower(value).to_string(), &ctx).value().map(|of| of.0)));
        let degrees = value.min(200.0);
        let read = temperature(&Celsius(degrees).to_string(), &ctx).value();
        prop_assert!(read.is_some_and(|read| (read.0 - degrees).abs() < 1e-6));
        let one = NameplateAmps::One(Amps(value));
        let read = nameplate_amps(&one.to_string(), &ctx).value();
        prop_assert!(near(read.map(|of| of.smallest().0)));
    }

    #[test]
    fn printed_pairs_supplies_and_slots_read_back(
        tenths in 10_u32..5000, volts_ in 100_u16..=999, phases_ in prop::sample::select(vec![1_u8, 3]),
        first in 1_u16..=80, half in prop::option::of(prop::sample::select(vec!['A', 'B'])),
    ) {
        let ctx = Context::default();
        let two = NameplateAmps::Two {
            lower: Amps(f64::from(tenths) / 10.0),
            higher: Amps(f64::from(tenths) * 1.1 / 10.0),
        };
        let read = nameplate_amps(&two.to_string(), &ctx).value();
        let is_pair = matches!(read, Some(NameplateAmps::Two { .. }));
        prop_assert!(is_pair, "{two}: {read:?}");
        let of = Supply { volts: vec![volts_], phases: Some(phases_) };
        prop_assert_eq!(supply(&of.to_string(), &ctx), Reading::Value(of));
        let single = Volts(f64::from(volts_));
        prop_assert_eq!(volts(&single.to_string(), &ctx), Reading::Value(single));
        let slot = crate::schedule::Slot { number: first, half };
        prop_assert_eq!(slots(&slot.to_string(), &ctx), Reading::Value(vec![slot]));
    }
}

#[test]
fn words_for_nothing_mean_the_same_to_every_grammar() {
    // Where NONE, or a dash, is itself a value or a name, the grammar says so.
    for (name, grammar) in GRAMMARS {
        for (word, meaning) in [
            ("-", Reading::Blank),
            ("N/A", Reading::Blank),
            ("", Reading::Blank),
            ("TBD", Reading::Unknown),
            ("V.I.F.", Reading::Unknown),
            ("SEE NOTE 3", Reading::Unknown),
            ("NIC", Reading::Elsewhere),
            ("BY OTHERS", Reading::Elsewhere),
            ("(E)", Reading::Elsewhere),
            ("SAME", Reading::Same),
            ("”", Reading::Same),
        ] {
            assert_eq!(
                grammar(word, &Context::default()),
                meaning,
                "{name}: {word}"
            );
        }
    }
}

#[test]
fn what_is_expected_carries_words_for_people() {
    for (name, grammar) in GRAMMARS {
        if let Reading::Unreadable { expected, .. } =
            grammar("§§ not any value §§", &Context::default())
        {
            assert!(expected.len() > 8, "{name}");
        }
    }
}

#[test]
fn printed_conductors_read_back() {
    let plain = |size: Size| Conductor {
        size: Some(size),
        sets: 1,
        ..Conductor::default()
    };
    for of in [
        plain(Size::Awg(10)),
        plain(Size::Awg(-2)),
        plain(Size::Kcmil(500)),
        Conductor {
            insulation: Some(Insulation::ThhnThwn2),
            ..plain(Size::Awg(8))
        },
        Conductor {
            cable: Some(CableType::Mc),
            is_cable: true,
            ..plain(Size::Awg(12))
        },
    ] {
        assert_eq!(
            conductor(&of.to_string(), &Context::default()),
            Reading::Value(of.clone()),
            "{of}"
        );
    }
}

#[test]
fn units_of_columns() {
    for (text, unit) in [
        ("ft", ColumnUnit::Feet),
        ("(FT)", ColumnUnit::Feet),
        ("LF", ColumnUnit::Feet),
        ("Lin. Ft.", ColumnUnit::Feet),
        ("m", ColumnUnit::Metres),
        ("[A]", ColumnUnit::Amps),
        ("kW", ColumnUnit::Kilowatts),
        ("BTU/h", ColumnUnit::BtuPerHour),
        ("MBH", ColumnUnit::Mbh),
        ("tons", ColumnUnit::Tons),
        ("°C", ColumnUnit::Celsius),
        ("mm²", ColumnUnit::SquareMillimetres),
        ("AWG", ColumnUnit::Awg),
        ("\"", ColumnUnit::Inches),
    ] {
        assert_eq!(ColumnUnit::parse(text), Some(unit), "{text}");
    }
    assert_eq!(ColumnUnit::parse("tag"), None);
}
