use super::super::{insulation, raceway, terminals};
use super::*;
use crate::schedule::Celsius;
use crate::schedule::wire::{Insulation, Material, RacewayType};

fn read(text: &str) -> Option<Conductor> {
    conductor(text, &Context::default()).value()
}

/// What a table line says of a conductor: size, count, ground, rest.
fn shown(of: &Conductor) -> String {
    let mut out = of.to_string();
    if let Some(count) = of.count {
        out = format!("{count} x {out}");
    }
    match of.ground {
        Some(Grounding::Unsized) => out.push_str(" + G"),
        Some(Grounding::ByRaceway) => out.push_str(" + raceway as G"),
        Some(Grounding::Absent) => out.push_str(", no G"),
        Some(Grounding::Sized { size, .. }) => out.push_str(&format!(" + {size} G")),
        None => {}
    }
    if let Some(raceway) = &of.raceway {
        let size = raceway.trade_size.as_deref().unwrap_or("?");
        out.push_str(&format!(" in {size} {}", raceway.kind));
    }
    out
}

#[test]
fn conductors_in_every_spelling() {
    for (text, expected) in [
        ("10/2 w/G", "2 x 10 AWG cable + G"),
        ("10-2 w/ground", "2 x 10 AWG cable + G"),
        ("10/2", "2 x 10 AWG cable"),
        ("10/2 NM-B", "2 x 10 AWG NM-B"),
        ("10/2 NM", "2 x 10 AWG NM-B"),
        ("10/3 NM-B w/G", "3 x 10 AWG NM-B + G"),
        ("10/2 WG", "2 x 10 AWG cable + G"),
        ("12/2G", "2 x 12 AWG cable + G"),
        ("12/2-G", "2 x 12 AWG cable + G"),
        ("10/2 AWG", "2 x 10 AWG cable"),
        ("2-#12, #12G-3/4\"C", "2 x 12 AWG + 12 AWG G in 3/4 conduit"),
        ("2#12+#12G.-1/2\"C.", "2 x 12 AWG + 12 AWG G in 1/2 conduit"),
        ("10/2+G", "2 x 10 AWG cable + G"),
        ("10/2 + GND MC", "2 x 10 AWG MC + G"),
        ("12/2 MC", "2 x 12 AWG MC"),
        ("6/2 SE-R AL", "2 x 6 AWG aluminium SER"),
        ("#10 THHN", "10 AWG THHN"),
        (
            "(2)#10+(1)#10G in 3/4 EMT",
            "2 x 10 AWG + 10 AWG G in 3/4 EMT",
        ),
        (
            "2#10, 1#10G, 3/4\"C",
            "2 x 10 AWG + 10 AWG G in 3/4 conduit",
        ),
        ("2#10, 1#10G, ¾”C", "2 x 10 AWG + 10 AWG G in 3/4 conduit"),
        ("2-#10, 1-#10 GND", "2 x 10 AWG + 10 AWG G"),
        (
            "(3) #6 THWN-2, (1) #10 GND, 1\" EMT",
            "3 x 6 AWG THWN-2 + 10 AWG G in 1 EMT",
        ),
        (
            "3#8 THHN/THWN-2 & 1#10 G",
            "3 x 8 AWG THHN/THWN-2 + 10 AWG G",
        ),
        ("2#10, 1#10N, 1#10G", "3 x 10 AWG + 10 AWG G"),
        ("500 kcmil", "500 kcmil"),
        ("#1/0", "1/0 AWG"),
        ("3/0 AWG", "3/0 AWG"),
        ("AL #4", "4 AWG aluminium"),
        ("#4 AL", "4 AWG aluminium"),
        ("10 AWG", "10 AWG"),
        ("10 AWG CU THHN", "10 AWG copper THHN"),
        ("10", "10 AWG"),
        ("(2) 10 AWG", "2 x 10 AWG"),
        ("2x10 AWG", "2 x 10 AWG"),
        ("2 sets (3) #3/0", "3 x 3/0 AWG, 2 sets in parallel"),
        (
            "(2) sets of (3) 500 kcmil",
            "3 x 500 kcmil, 2 sets in parallel",
        ),
        ("10/2 no ground", "2 x 10 AWG cable, no G"),
        ("2#12 w/ #12 G", "2 x 12 AWG + 12 AWG G"),
        (
            "3 #8 & #10 EGC in 1-1/4\" PVC",
            "3 x 8 AWG + 10 AWG G in 1-1/4 PVC",
        ),
        ("12/2 UF-B w/ G", "2 x 12 AWG UF-B + G"),
        ("4/0-4/0-2/0 AL SER", "4/0 AWG aluminium SER"),
        (
            "4/0-4/0-4/0-2/0 AL SER",
            "3 x 4/0 AWG aluminium SER + 2/0 AWG G",
        ),
        ("2-2-2-4 AL SER", "3 x 2 AWG aluminium SER + 4 AWG G"),
        ("#2-#2-#4 AL", "2 AWG aluminium cable"),
        ("2C #10", "2 x 10 AWG cable"),
        ("3/C #10", "3 x 10 AWG cable"),
        ("2/C 10 AWG", "2 x 10 AWG cable"),
        ("3/C #10 W/G", "3 x 10 AWG cable + G"),
        ("3W #10", "3 x 10 AWG"),
        ("10/2 w/ grd", "2 x 10 AWG cable + G"),
        ("10-2G", "2 x 10 AWG cable + G"),
        ("10 GA", "10 AWG"),
        ("#10 CU", "10 AWG copper"),
        (
            "2-#10 & 1-#10G IN 1/2\"C",
            "2 x 10 AWG + 10 AWG G in 1/2 conduit",
        ),
        (
            "2 #8 + #10 GND, 3/4\"",
            "2 x 8 AWG + 10 AWG G in 3/4 conduit",
        ),
        ("6/3 SER", "3 x 6 AWG SER"),
        ("10 AWG THHN/THWN", "10 AWG THWN"),
        ("2 x 10 AWG + G", "2 x 10 AWG + G"),
        ("14-2", "2 x 14 AWG cable"),
    ] {
        assert_eq!(
            read(text).as_ref().map(shown).as_deref(),
            Some(expected),
            "{text}"
        );
    }
}

#[test]
fn near_misses_of_conductors_are_not_read() {
    for text in [
        "11/2",
        "#5",
        "10/7",
        "2-Oct",
        "30A/2P",
        "3/4",
        "2#10, 1#8",
        "10/2/2",
        "#10 or #8",
        "10?",
        "2.5 mm2",
        "10 12",
        "555 kcmil",
        "#500 AWG",
        "10/2 XYZ",
        "4/0-2/0-4/0",
        "4/0-4/0",
        "2/0-2/0-4/0 AL",
        "10-10-10",
        "2-2-4",
        "(2)",
        "G",
        "#10 2C",
        "2C 10",
        "6C #10",
        "4 mm2",
        "1#10G",
    ] {
        let reading = conductor(text, &Context::default());
        let ground_alone =
            matches!(&reading, Reading::Value(of) if of.size.is_none() && of.ground.is_some());
        assert!(
            reading.is_unreadable() || ground_alone,
            "{text}: {reading:?}"
        );
    }
    assert_eq!(
        conductor("(E) 10/2", &Context::default()),
        Reading::Elsewhere
    );
}

#[test]
fn metric_sizes_are_asked_with_the_nearest_gauge() {
    let guess = |text: &str, unit| {
        let ctx = Context {
            unit,
            ..Context::default()
        };
        match conductor(text, &ctx) {
            Reading::Unreadable { guess, .. } => guess,
            other => panic!("{text}: {other:?}"),
        }
    };
    let column = Some(ColumnUnit::SquareMillimetres);
    for (text, unit, expected) in [
        ("4 mm²", None, Some("12 AWG, the nearest to 4 mm²")),
        ("2.5 mm2", None, Some("14 AWG, the nearest to 2.5 mm²")),
        ("3 x 6mm2", None, Some("10 AWG, the nearest to 6 mm²")),
        ("4", column, Some("12 AWG, the nearest to 4 mm²")),
        ("2,5 mm2", None, Some("14 AWG, the nearest to 2.5 mm²")),
        ("4 mm2 / 6 mm2", None, None),
        ("400 mm2", None, None),
    ] {
        assert_eq!(guess(text, unit).as_deref(), expected, "{text}");
    }
    let ctx = Context {
        unit: column,
        ..Context::default()
    };
    assert!(size("4", &ctx).is_unreadable());
    assert!(grounding("4", &ctx).is_unreadable());
    assert_eq!(size("12 AWG", &ctx), Reading::Value(Size::Awg(12)));
}

#[test]
fn grounds_insulation_raceways_and_terminals() {
    let ctx = Context::default();
    let sized = |gauge, material| Grounding::Sized {
        size: Size::Awg(gauge),
        material,
    };
    for (text, expected) in [
        ("#10", sized(10, None)),
        ("10", sized(10, None)),
        ("1#10 CU", sized(10, Some(Material::Copper))),
        ("(1) #10 G", sized(10, None)),
        ("#2/0", sized(-1, None)),
        ("yes", Grounding::Unsized),
        ("w/G", Grounding::Unsized),
        ("no", Grounding::Absent),
        ("EMT", Grounding::ByRaceway),
        ("By raceway", Grounding::ByRaceway),
        ("RACEWAY", Grounding::ByRaceway),
        ("CONDUIT", Grounding::ByRaceway),
        ("metal conduit", Grounding::ByRaceway),
        ("MC", Grounding::Unsized),
    ] {
        assert_eq!(grounding(text, &ctx), Reading::Value(expected), "{text}");
    }
    for text in [
        "2#10",
        "#5",
        "10/2",
        "PVC",
        "BY PVC",
        "NOT BY RACEWAY",
        "EMT?",
        "FLEX",
    ] {
        assert!(grounding(text, &ctx).is_unreadable(), "{text}");
    }
    for kind in [
        Insulation::Tw,
        Insulation::Thw,
        Insulation::Thwn,
        Insulation::Thwn2,
        Insulation::Thhn,
        Insulation::ThhnThwn2,
        Insulation::Xhhw,
        Insulation::Xhhw2,
        Insulation::Rhw,
        Insulation::Rhw2,
        Insulation::Use2,
    ] {
        assert_eq!(
            insulation(&kind.to_string(), &ctx),
            Reading::Value(kind),
            "{kind}"
        );
    }
    for text in ["PVC", "THHN?", "THWN-3"] {
        assert!(insulation(text, &ctx).is_unreadable(), "{text}");
    }
    for (text, kind, trade_size) in [
        ("3/4\" EMT", RacewayType::Emt, Some("3/4")),
        ("EMT", RacewayType::Emt, None),
        ("1\" C", RacewayType::Unnamed, Some("1")),
        ("3/4", RacewayType::Unnamed, Some("3/4")),
        ("1-1/4” PVC", RacewayType::Pvc, Some("1-1/4")),
        ("½″ LFMC", RacewayType::Lfmc, Some("1/2")),
        ("EMT 3/4\"", RacewayType::Emt, Some("3/4")),
        ("1 in EMT", RacewayType::Emt, Some("1")),
    ] {
        let read = raceway(text, &ctx).value();
        let read = read.map(|raceway| (raceway.kind, raceway.trade_size));
        assert_eq!(read, Some((kind, trade_size.map(Into::into))), "{text}");
    }
    for text in ["3/5", "9", "10/2", "pipe"] {
        assert!(raceway(text, &ctx).is_unreadable(), "{text}");
    }
    for (text, degrees) in [
        ("75°C", 75.0),
        ("75C", 75.0),
        ("60", 60.0),
        ("60/75", 75.0),
        ("90 ºC", 90.0),
    ] {
        assert_eq!(
            terminals(text, &ctx),
            Reading::Value(Celsius(degrees)),
            "{text}"
        );
    }
    for text in ["70", "167F", "7 5/6"] {
        assert!(terminals(text, &ctx).is_unreadable(), "{text}");
    }
}

#[test]
fn sizes_print_and_read_back() {
    for size_ in [18, 14, 10, 4, 3, 2, 1, 0, -1, -2, -3].map(Size::Awg) {
        assert_eq!(
            size(&size_.to_string(), &Context::default()),
            Reading::Value(size_)
        );
    }
    let kcmil = Size::Kcmil(350);
    assert_eq!(
        size(&kcmil.to_string(), &Context::default()),
        Reading::Value(kcmil)
    );
}
