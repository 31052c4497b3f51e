//! What a unit is, where it stands, its disconnect and how many there are.

use super::text::{Cursor, Digits, phrase, tokens};
use super::{ColumnUnit, Context, Reading, read};
use crate::schedule::{Amps, Disconnect, Name, UnitKind, UnitPlace};

/// Prefixes of tags, as the trade uses them (common practice, no source).
/// `AC` is left out: it may be either side of a system.
const PREFIXES: &[(UnitKind, &[&str])] = &[
    (
        UnitKind::Outdoor,
        &["OU", "ODU", "CU", "ACCU", "HP", "HPU", "OUTDOOR"],
    ),
    (
        UnitKind::Indoor,
        &["IU", "IDU", "FC", "FCU", "INDOOR", "HEAD"],
    ),
    (UnitKind::AirHandler, &["AH", "AHU"]),
    (UnitKind::BranchBox, &["BB"]),
    (UnitKind::Gateway, &["GW"]),
    (
        UnitKind::Other,
        &[
            "EF", "ERV", "HRV", "DOAS", "MAU", "RTU", "WH", "EWH", "UH", "EUH", "CUH",
        ],
    ),
];

/// Phrases that tell the kind, whatever else stands beside them.
const PHRASES: &[(UnitKind, &[&str])] = &[
    (
        UnitKind::BranchBox,
        &[
            "BRANCH BOX",
            "BRANCH SELECTOR",
            "SELECTOR",
            "SELECTOR BOX",
            "DISTRIBUTION BOX",
            "DISTRIBUTION UNIT",
            "BRANCH UNIT",
        ],
    ),
    (
        UnitKind::CentralController,
        &[
            "CENTRAL CONTROLLER",
            "CENTRALIZED CONTROLLER",
            "CENTRAL CONTROL",
        ],
    ),
    (UnitKind::Gateway, &["GATEWAY"]),
    (
        UnitKind::Other,
        &[
            "EXHAUST FAN",
            "WATER HEATER",
            "UNIT HEATER",
            "ENERGY RECOVERY",
            "HEAT RECOVERY VENTILATOR",
            "ROOFTOP UNIT",
            "MAKEUP AIR",
            "MAKE UP AIR",
            "ERV",
            "HRV",
            "DOAS",
            "RTU",
            "DEHUMIDIFIER",
            "SUPPLY FAN",
        ],
    ),
    (
        UnitKind::OutdoorModule,
        &["OUTDOOR MODULE", "OUTDOOR UNIT MODULE", "SUB MODULE"],
    ),
    (
        UnitKind::AirHandler,
        &["AIR HANDLER", "AIR HANDLERS", "AIR HANDLING", "AHU", "AH"],
    ),
    (
        UnitKind::Outdoor,
        &[
            "OUTDOOR",
            "OUTDOOR UNIT",
            "CONDENSING",
            "CONDENSER",
            "ODU",
            "OU",
            "CU",
            "ACCU",
        ],
    ),
    (
        UnitKind::Indoor,
        &[
            "INDOOR",
            "IDU",
            "IU",
            "FAN COIL",
            "FAN COILS",
            "FANCOIL",
            "FCU",
            "FC",
            "CASSETTE",
        ],
    ),
];

/// Words that tell the kind only where no phrase above does.
const WEAK: &[(UnitKind, &[&str])] = &[
    (UnitKind::Outdoor, &["HEAT PUMP", "HP"]),
    (
        UnitKind::Indoor,
        &[
            "WALL",
            "WALL MOUNTED",
            "DUCTED",
            "FLOOR",
            "CEILING",
            "CONCEALED",
        ],
    ),
];

/// The kind that a tag's prefix names: `FC-1`, `12C-FC-1`, `OU1`; `None` where
/// it names none, or two.
pub fn kind_from_tag(tag: &Name) -> Option<UnitKind> {
    let mut found = None;
    for segment in tag.key().split('-') {
        let kind = PREFIXES
            .iter()
            .find(|(_, prefixes)| prefixes.contains(&segment))
            .map(|(kind, _)| *kind);
        if let Some(kind) = kind
            && found.replace(kind).is_some_and(|known| known != kind)
        {
            return None;
        }
    }
    found
}

/// The kind that a kind or description text names: `Ducted air handler`,
/// `ODU`, `wall mounted`; `None` where it names none, or two.
pub fn kind_from_text(text: &str) -> Option<UnitKind> {
    let words = phrase(text);
    let padded = format!(" {} ", words.join(" "));
    let named = |table: &[(UnitKind, &[&str])]| -> Vec<UnitKind> {
        table
            .iter()
            .filter(|(_, phrases)| phrases.iter().any(|p| padded.contains(&format!(" {p} "))))
            .map(|(kind, _)| *kind)
            .collect()
    };
    if words
        .iter()
        .any(|word| ["THERMOSTAT", "TSTAT", "NOT", "NO"].contains(&word.as_str()))
    {
        return None;
    }
    match named(PHRASES).as_slice() {
        [] => match named(WEAK).as_slice() {
            [one] => Some(*one),
            _ => None,
        },
        [one] => Some(*one),
        // An indoor air handler; an outdoor unit's module.
        [UnitKind::AirHandler, UnitKind::Indoor] => Some(UnitKind::AirHandler),
        [UnitKind::OutdoorModule, UnitKind::Outdoor] => Some(UnitKind::OutdoorModule),
        // Boxes and the like may be said to stand outdoors or indoors.
        [
            first @ (UnitKind::BranchBox
            | UnitKind::CentralController
            | UnitKind::Gateway
            | UnitKind::Other),
            UnitKind::Outdoor | UnitKind::Indoor,
        ] => Some(*first),
        _ => None,
    }
}

const PLACES: &[(UnitPlace, &[&str])] = &[
    (UnitPlace::Roof, &["ROOF", "ROOFTOP"]),
    (UnitPlace::Attic, &["ATTIC"]),
    (
        UnitPlace::Outdoors,
        &[
            "OUTDOOR", "OUTDOORS", "GRADE", "EXTERIOR", "OUTSIDE", "YARD", "PAD",
        ],
    ),
    (
        UnitPlace::Indoors,
        &[
            "INDOOR", "INDOORS", "INSIDE", "CLOSET", "INTERIOR", "BASEMENT",
        ],
    ),
];

/// `roof`, `attic`, `outdoors`, `on grade`, `indoors`, `closet`.
pub fn place(text: &str, _ctx: &Context) -> Reading<UnitPlace> {
    read(
        text,
        "where the unit stands: roof, attic, outdoors or indoors",
        |folded| {
            let mut found = None;
            for word in phrase(folded) {
                let known = PLACES
                    .iter()
                    .find(|(_, words)| words.contains(&word.as_str()));
                match known {
                    Some((place, _)) if found.is_none_or(|other| other == *place) => {
                        found = Some(*place)
                    }
                    Some(_) => return None,
                    None => {
                        let filler = [
                            "ON",
                            "AT",
                            "IN",
                            "THE",
                            "MOUNTED",
                            "NORTH",
                            "SOUTH",
                            "EAST",
                            "WEST",
                            "SIDE",
                            "CONCRETE",
                            "MECH",
                            "MECHANICAL",
                        ];
                        if !filler.contains(&word.as_str()) {
                            return None;
                        }
                    }
                }
            }
            found
        },
    )
}

const AMPS: &[&str] = &["A", "AMP", "AMPS", "AS"];
const NON_FUSED: &[&str] = &["NF", "NONFUSED", "NONFUSIBLE", "NFDS", "UNFUSED", "NFSS"];
const FUSED: &[&str] = &["FUSED", "FUSIBLE", "FUSE", "FUSES", "FDS", "FSS", "F", "FU"];

/// `60A/30F`, `60A FUSED @ 35A`, `30A NF`, `non-fused`, `60/35`, `60/3/35`,
/// `60AS/35AF`, `PULL-OUT 60A`. A second number of 1 to 3 is the poles; `yes`,
/// `UNIT MTD` and `FACTORY` say that there is one.
pub fn disconnect(text: &str, ctx: &Context) -> Reading<Disconnect> {
    read(text, "a disconnect, as in 60A/35F or 30A NF", |folded| {
        if matches!(ctx.unit, Some(unit) if unit != ColumnUnit::Amps) {
            return None;
        }
        let tokens = tokens(folded, Digits::Whole);
        let mut cursor = Cursor::new(&tokens);
        if present(&phrase(folded)) {
            return Some(Disconnect::default());
        }
        one_of_them(&mut cursor)?;
        let mut found = Disconnect::default();
        let mut poles = false;
        while !cursor.done() {
            disconnect_part(&mut cursor, &mut found, &mut poles)?;
        }
        let told = found.amps.is_some() || found.fused.is_some();
        // A switch cannot be non-fused and hold fuses.
        let sound = !(found.fused == Some(false) && found.fuse.is_some());
        (told && sound).then_some(found)
    })
}

/// Phrases that say no more than that there is one.
fn present(words: &[String]) -> bool {
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    matches!(
        words.as_slice(),
        ["YES" | "Y" | "FACTORY"]
            | ["UNIT" | "FACTORY", "MTD" | "MOUNTED"]
            | ["FACTORY", "INSTALLED" | "FURNISHED" | "PROVIDED"]
            | ["ON" | "IN" | "AT" | "WITH" | "INTEGRAL", "UNIT"]
            | ["INTEGRAL", "TO" | "WITH", "UNIT"]
            | ["BUILT", "IN"]
            | ["INTEGRAL"]
    )
}

/// Passes over `(1)`; two disconnects of one cell are not read.
fn one_of_them(cursor: &mut Cursor<'_>) -> Option<()> {
    let mut ahead = *cursor;
    if ahead.sign('(') && ahead.whole(0, 1000).is_some() && ahead.sign(')') {
        let mut counted = *cursor;
        counted.sign('(');
        counted.whole(1, 1)?;
        *cursor = ahead;
    }
    Some(())
}

fn disconnect_part(
    cursor: &mut Cursor<'_>,
    found: &mut Disconnect,
    poles: &mut bool,
) -> Option<()> {
    if non_fused(cursor) {
        return found
            .fused
            .replace(false)
            .is_none_or(|known| !known)
            .then_some(());
    }
    if cursor.word(FUSED) {
        return found
            .fused
            .replace(true)
            .is_none_or(|known| known)
            .then_some(());
    }
    let mut ahead = *cursor;
    let pull_out = ahead.word(&["PULL"]) && {
        ahead.sign('-');
        ahead.word(&["OUT"])
    };
    if pull_out {
        *cursor = ahead;
        return Some(());
    }
    if cursor.any_sign("/,@-()").is_some()
        || cursor.word(&[
            "W",
            "WITH",
            "SW",
            "SWITCH",
            "DISC",
            "DISCONNECT",
            "SAFETY",
            "AT",
            "WP",
            "PULLOUT",
            "TOGGLE",
            "SNAP",
        ])
    {
        return Some(());
    }
    if cursor.word(&["NEMA"]) {
        cursor.whole(1, 12)?;
        cursor.word(&["R", "X"]);
        return Some(());
    }
    let value = cursor.whole(1, 6000)?;
    if cursor.word(&["V", "VAC", "VOLT", "VOLTS"]) {
        return (found.amps.is_some() && value >= 100).then_some(());
    }
    let mut ahead = *cursor;
    ahead.sign('-');
    if ahead.word(&["P", "POLE", "POLES"]) {
        *cursor = ahead;
        return (value <= 3 && !std::mem::replace(poles, true)).then_some(());
    }
    let fuse = cursor.word(&["F", "AF"]);
    if fuse {
        found.fused = Some(true);
    } else {
        cursor.word(AMPS);
    }
    let amps = Amps(f64::from(value));
    match (found.amps, found.fuse) {
        (Some(_), None) if !fuse && value <= 3 && !*poles => *poles = true,
        (None, _) if !fuse => found.amps = Some(amps),
        (_, None) => {
            if found.fused == Some(false) {
                return None;
            }
            found.fused = Some(true);
            found.fuse = Some(amps);
        }
        _ => return None,
    }
    Some(())
}

fn non_fused(cursor: &mut Cursor<'_>) -> bool {
    if cursor.word(NON_FUSED) {
        return true;
    }
    let mut ahead = *cursor;
    if ahead.word(&["NON", "NOT", "NO"]) {
        ahead.sign('-');
        if ahead.word(FUSED) {
            *cursor = ahead;
            return true;
        }
    }
    false
}

/// How many units a row stands for: `3`, `3 each`, `(3)`, `qty 3`.
pub fn quantity(text: &str, ctx: &Context) -> Reading<u32> {
    read(text, "a quantity, as in 3", |folded| {
        let tokens = tokens(folded, ctx.style.digits());
        let mut cursor = Cursor::new(&tokens);
        cursor.word(&["QTY"]);
        cursor.any_sign(":");
        let bracket = cursor.sign('(');
        let value = cursor.whole(0, 100_000)?;
        if bracket && !cursor.sign(')') {
            return None;
        }
        cursor.word(&["EACH", "EA", "PCS", "PC", "X", "UNITS", "UNIT", "TOTAL"]);
        cursor.done().then_some(value)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kinds_from_tags_and_texts() {
        for (tag, kind) in [
            ("OU-1", Some(UnitKind::Outdoor)),
            ("ODU1", Some(UnitKind::Outdoor)),
            ("HP-2", Some(UnitKind::Outdoor)),
            ("Outdoor 1", Some(UnitKind::Outdoor)),
            ("Head 3", Some(UnitKind::Indoor)),
            ("FC-1", Some(UnitKind::Indoor)),
            ("12C-FC-1", Some(UnitKind::Indoor)),
            ("AH-1", Some(UnitKind::AirHandler)),
            ("BB-8", Some(UnitKind::BranchBox)),
            ("EF-1", Some(UnitKind::Other)),
            ("AC-1", None),
            ("X-1", None),
            ("OU-1-FC-2", None),
            ("101", None),
        ] {
            assert_eq!(kind_from_tag(&Name::new(tag)), kind, "{tag}");
        }
        for (text, kind) in [
            ("Outdoor unit", Some(UnitKind::Outdoor)),
            ("Condensing unit, heat pump", Some(UnitKind::Outdoor)),
            ("heat pump", Some(UnitKind::Outdoor)),
            ("Ducted air handler", Some(UnitKind::AirHandler)),
            ("Indoor air handler", Some(UnitKind::AirHandler)),
            ("wall mounted", Some(UnitKind::Indoor)),
            ("Fan coil, heat pump", Some(UnitKind::Indoor)),
            ("4-way cassette", Some(UnitKind::Indoor)),
            ("branch selector box, indoor", Some(UnitKind::BranchBox)),
            ("Central controller", Some(UnitKind::CentralController)),
            ("Protocol gateway", Some(UnitKind::Gateway)),
            ("Outdoor module", Some(UnitKind::OutdoorModule)),
            ("Exhaust fan", Some(UnitKind::Other)),
            ("indoor/outdoor", None),
            ("thermostat, wall mounted", None),
            ("pump", None),
            ("", None),
        ] {
            assert_eq!(kind_from_text(text), kind, "{text}");
        }
    }

    #[test]
    fn places() {
        let ctx = Context::default();
        for (text, expected) in [
            ("Roof", UnitPlace::Roof),
            ("on roof", UnitPlace::Roof),
            ("ATTIC", UnitPlace::Attic),
            ("Outdoors", UnitPlace::Outdoors),
            ("on grade", UnitPlace::Outdoors),
            ("closet", UnitPlace::Indoors),
        ] {
            assert_eq!(place(text, &ctx), Reading::Value(expected), "{text}");
        }
        for text in ["bedroom 2", "roof or attic", "below roof"] {
            assert!(place(text, &ctx).is_unreadable(), "{text}");
        }
    }

    #[test]
    fn disconnects_and_quantities() {
        let ctx = Context::default();
        let of = |amps: Option<f64>, fused, fuse: Option<f64>| Disconnect {
            amps: amps.map(Amps),
            fused,
            fuse: fuse.map(Amps),
        };
        for (text, expected) in [
            ("60A/30F", of(Some(60.0), Some(true), Some(30.0))),
            ("60A FUSED @ 35A", of(Some(60.0), Some(true), Some(35.0))),
            ("30A NF", of(Some(30.0), Some(false), None)),
            ("NON-FUSED", of(None, Some(false), None)),
            ("60/35", of(Some(60.0), Some(true), Some(35.0))),
            ("60/3/35", of(Some(60.0), Some(true), Some(35.0))),
            ("60/2/NF", of(Some(60.0), Some(false), None)),
            ("60AS/35AF", of(Some(60.0), Some(true), Some(35.0))),
            ("60A/2P NF NEMA 3R", of(Some(60.0), Some(false), None)),
            ("60A fused", of(Some(60.0), Some(true), None)),
            ("60A W/ 35A FUSES", of(Some(60.0), Some(true), Some(35.0))),
            ("60", of(Some(60.0), None, None)),
            ("yes", of(None, None, None)),
            ("30A/3P NF", of(Some(30.0), Some(false), None)),
            ("60/2/35", of(Some(60.0), Some(true), Some(35.0))),
            ("30A UNFUSED", of(Some(30.0), Some(false), None)),
            ("(1) 30A NF", of(Some(30.0), Some(false), None)),
            ("PULL-OUT 60A", of(Some(60.0), None, None)),
            ("60A PULLOUT NF", of(Some(60.0), Some(false), None)),
            ("60A NON-FUSED NEMA 3R", of(Some(60.0), Some(false), None)),
            (
                "60A FUSIBLE W/ 35A FUSES",
                of(Some(60.0), Some(true), Some(35.0)),
            ),
            ("UNIT MTD", of(None, None, None)),
            ("UNIT MTD.", of(None, None, None)),
            ("FACTORY", of(None, None, None)),
        ] {
            assert_eq!(disconnect(text, &ctx), Reading::Value(expected), "{text}");
        }
        for text in [
            "30A NF 35A",
            "pull-out",
            "60/35/40",
            "60V",
            "(2) 30A NF",
            "(2) 30A",
            "(1)",
            "FACTORY?",
            "NOT FACTORY",
        ] {
            assert!(disconnect(text, &ctx).is_unreadable(), "{text}");
        }
        assert_eq!(disconnect("BY E.C.", &ctx), Reading::Elsewhere);
        for (text, count) in [
            ("3", 3),
            ("3 each", 3),
            ("3 EA.", 3),
            ("(3)", 3),
            ("Qty: 3", 3),
            ("3x", 3),
        ] {
            assert_eq!(quantity(text, &ctx), Reading::Value(count), "{text}");
        }
        for text in ["3.5", "3-4", "several", "-3"] {
            assert!(quantity(text, &ctx).is_unreadable(), "{text}");
        }
    }
}
