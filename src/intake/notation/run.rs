//! How a low-voltage run is laid: purpose, terminals, shield, routing.
//!
//! These cells are phrases. A phrase is read only where every word of it is
//! known: `not parallel` or `parallel to the duct` say something else.

use super::text::phrase;
use super::{Context, Reading, grammar, read, read_or_guess, words};
use crate::schedule::Name;
use crate::schedule::wire::{Routing, RunPurpose, ShieldGround, TerminalSide};

/// The words of a phrase; none where it is put as a question.
fn settled_phrase(text: &str) -> Vec<String> {
    if text.contains('?') {
        return Vec::new();
    }
    phrase(text)
}

/// The one meaning that the words of a phrase share; `None` where a word is
/// neither in `meanings` nor in `filler`, or where two meanings meet.
fn one_meaning<T: Copy + PartialEq>(
    words: &[String],
    meanings: &[(&[&str], T)],
    filler: &[&str],
) -> Option<T> {
    let mut found = None;
    for word in words {
        let meaning = meanings
            .iter()
            .find(|(list, _)| list.contains(&word.as_str()));
        match (meaning, found) {
            (Some((_, meaning)), None) => found = Some(*meaning),
            (Some((_, meaning)), Some(known)) if *meaning == known => {}
            (Some(_), Some(_)) => return None,
            (None, _) if filler.contains(&word.as_str()) => {}
            (None, _) => return None,
        }
    }
    found
}

const PURPOSES: &[(&[&str], RunPurpose)] = &[
    (
        &[
            "BUS",
            "COMM",
            "COMMS",
            "COMMUNICATION",
            "COMMUNICATIONS",
            "TRANSMISSION",
            "CHAIN",
        ],
        RunPurpose::Bus,
    ),
    (
        &[
            "CONTROLLER",
            "TSTAT",
            "STAT",
            "CTRL",
            "THERMOSTAT",
            "REMOTE",
            "THERMOSTATS",
            "SENSOR",
        ],
        RunPurpose::Controller,
    ),
    (
        &["INTERLOCK", "FLOAT", "CONDENSATE", "OVERFLOW", "CONTACT"],
        RunPurpose::Interlock,
    ),
    (&["CENTRAL", "CENTRALIZED"], RunPurpose::Central),
];

/// `bus`, `comm wiring`, `thermostat`, `T-stat`, `float switch`, `central`.
/// `DATA` may be another network: it is not read, the bus is the guess. `LV`
/// is true of every run and says nothing.
pub fn purpose(text: &str, _ctx: &Context) -> Reading<RunPurpose> {
    let expected = "what the run is for: bus, controller, interlock or central";
    let parse = |folded: &str| {
        let mut words = phrase(folded);
        if words
            .iter()
            .any(|word| word == "CENTRAL" || word == "CENTRALIZED")
        {
            words.retain(|word| word != "CONTROLLER" && word != "CTRL");
        }
        let filler = [
            "WIRE", "WIRING", "CABLE", "RUN", "CONTROL", "LINE", "T", "ZONE", "WIRED", "SWITCH",
            "TO", "DAISY", "EXTERNAL", "WALL", "LINK", "DATA", "DRY", "LV",
        ];
        one_meaning(&words, PURPOSES, &filler)
    };
    read_or_guess(text, expected, parse, |folded| {
        let data = phrase(folded).first().is_some_and(|word| word == "DATA");
        data.then(|| RunPurpose::Bus.to_string())
    })
}

/// The outdoor unit's pair of terminals: `indoor side`, `central`.
pub fn side(text: &str, _ctx: &Context) -> Reading<TerminalSide> {
    read(text, "the terminals' side: indoor or central", |folded| {
        one_meaning(
            &phrase(folded),
            &[
                (&["INDOOR", "IDU", "INDOORS"], TerminalSide::Indoor),
                (&["CENTRAL", "CENTRALIZED"], TerminalSide::Central),
            ],
            &[
                "SIDE",
                "TERMINALS",
                "TERMINAL",
                "PAIR",
                "UNIT",
                "UNITS",
                "CONTROL",
                "BUS",
            ],
        )
    })
}

/// `outdoor end`, `ODU only`, `indoor end`, `far end`, `last unit`,
/// `both ends`, `at OU-1`, `from end`, `none`. `one end` does not say which:
/// it is not read, the usual end is the guess.
pub fn shield_ground(text: &str, _ctx: &Context) -> Reading<ShieldGround> {
    let expected = "where the shield is grounded: outdoor end, both ends, OU-1 or none";
    match settled_phrase(text).join(" ").as_str() {
        "NONE" | "NO" | "NOWHERE" | "NOT GROUNDED" | "UNGROUNDED" | "FLOATING" | "FLOAT"
        | "NEITHER" | "NEITHER END" => Reading::Value(ShieldGround::Nowhere),
        "ONE END" | "ONE END ONLY" | "SINGLE POINT" => Reading::Unreadable {
            expected,
            guess: Some("outdoor end".to_owned()),
        },
        _ => read(text, expected, grounded_end),
    }
}

fn grounded_end(folded: &str) -> Option<ShieldGround> {
    const FILLER: &[&str] = &[
        "END", "ENDS", "ONLY", "AT", "UNIT", "GROUNDED", "GND", "THE", "SIDE", "GROUND",
    ];
    let mut words = phrase(folded);
    words.retain(|word| !FILLER.contains(&word.as_str()));
    Some(match words.join(" ").as_str() {
        "OUTDOOR" | "ODU" | "OU" | "OUTDOORS" | "CONDENSING" => ShieldGround::OutdoorEnd,
        "INDOOR" | "IDU" | "IU" | "INDOORS" => ShieldGround::IndoorEnd,
        "FAR" => ShieldGround::FarEnd,
        "LAST" | "LAST INDOOR" | "LAST IDU" | "LAST IU" | "LAST FCU" | "LAST FC" => {
            ShieldGround::LastUnit
        }
        "BOTH" => ShieldGround::BothEnds,
        "FROM" => ShieldGround::FromEnd,
        "TO" => ShieldGround::ToEnd,
        _ => {
            let own: Vec<&str> = folded
                .split_whitespace()
                .map(|word| word.trim_start_matches('@'))
                .filter(|word| !word.is_empty() && !FILLER.contains(word))
                .collect();
            let name = Name::new(&own.join(" "));
            let listed = folded.contains([',', ';', '/', '&', '+', '?']);
            let negated = own.iter().any(|word| ["NOT", "NO"].contains(word));
            if listed || negated || !name.looks_like_tag() {
                return None;
            }
            ShieldGround::At(name)
        }
    })
}

/// `0`, `none`, `no`, `1`, `2 splices`; `yes` is at least one.
pub fn splices(text: &str, _ctx: &Context) -> Reading<u32> {
    let mut words = settled_phrase(text);
    words.retain(|word| word != "SPLICE" && word != "SPLICES" && word != "SPLICED");
    let counted = match words.as_slice() {
        [one] => match one.as_str() {
            "NONE" | "NO" | "N" => Some(0),
            "YES" | "Y" => Some(1),
            _ => None,
        },
        _ => None,
    };
    match counted {
        Some(count) => Reading::Value(count),
        None => read(text, "a number of splices, as in 0", |folded| {
            let words: Vec<String> = phrase(folded);
            match words.as_slice() {
                [one] => one.parse().ok().filter(|_| folded.trim() == one),
                [one, word] if word.starts_with("SPLICE") => one.parse().ok(),
                _ => None,
            }
            .filter(|count| *count <= 1000)
        }),
    }
}

const LAID: &[(&[&str], Routing)] = &[
    (&["TIED", "STRAPPED", "BUNDLED", "TAPED"], Routing::Tied),
    (&["PARALLEL", "ALONGSIDE"], Routing::Parallel),
    (
        &["CROSSING", "CROSSES", "CROSS", "CROSSED"],
        Routing::Crossing,
    ),
    (
        &["SEPARATE", "SEPARATED", "APART", "OWN", "DEDICATED"],
        Routing::Apart,
    ),
    (&["SAME", "SHARED", "COMMON"], Routing::SameRaceway),
];
/// What line voltage is called. `LV` is left out: it is low voltage to some.
const POWER: &[&str] = &[
    "LINE",
    "VOLTAGE",
    "POWER",
    "HV",
    "BRANCH",
    "CIRCUIT",
    "WIRING",
    "WIRE",
    "WIRES",
    "CONDUCTORS",
    "HIGH",
    "FEEDER",
];
const ENCLOSURES: &[&str] = &[
    "RACEWAY",
    "CONDUIT",
    "PIPE",
    "BOX",
    "ENCLOSURE",
    "CABLE",
    "SLEEVE",
];
const SMALL: &[&str] = &[
    "WITH", "W", "TO", "AS", "IN", "THE", "AND", "FROM", "AT", "ONLY", "90", "DEG", "ITS", "A",
    "ZIP", "TIE", "OF",
];

/// How the run lies to line voltage: `same raceway`, `tied`, `parallel`,
/// `crossing`, `separate`, `with line set`, `none`, `barrier`. `in conduit`
/// does not say what else lies in it: not read, its own is the guess.
pub fn routing(text: &str, _ctx: &Context) -> Reading<Routing> {
    let expected =
        "how it lies to line voltage: same raceway, tied, parallel, crossing or separate";
    let plain = settled_phrase(text).join(" ");
    if matches!(
        plain.as_str(),
        "NONE" | "NO" | "NOT WITH POWER" | "NOT WITH LINE VOLTAGE"
    ) {
        return Reading::Value(Routing::Apart);
    }
    if matches!(
        plain.as_str(),
        "IN CONDUIT" | "IN RACEWAY" | "IN EMT" | "CONDUIT" | "RACEWAY" | "EMT"
    ) {
        return Reading::Unreadable {
            expected,
            guess: Some("separate conduit".to_owned()),
        };
    }
    match words::classify(text) {
        Some(nothing) => nothing.into(),
        None => grammar(text, expected, |folded| lies(&phrase(folded))),
    }
}

fn lies(words: &[String]) -> Option<Routing> {
    let has = |list: &[&str]| words.iter().any(|word| list.contains(&word.as_str()));
    let line_set = has(&["LINESET", "LINESETS", "REFRIGERANT", "REFRIG", "PIPING"])
        || words
            .windows(2)
            .any(|pair| pair[0] == "LINE" && pair[1].starts_with("SET"));
    let barrier = has(&["BARRIER", "DIVIDER", "PARTITION"]);
    let mut filler: Vec<&str> = [POWER, ENCLOSURES, SMALL].concat();
    if line_set {
        // Along the pipes, however tied to them, is away from line voltage.
        filler.extend([
            "SET",
            "SETS",
            "LINESET",
            "LINESETS",
            "REFRIGERANT",
            "REFRIG",
            "PIPING",
            "ALONG",
        ]);
        let known = words.iter().all(|word| {
            filler.contains(&word.as_str())
                || LAID
                    .iter()
                    .any(|(list, way)| list.contains(&word.as_str()) && *way == Routing::Tied)
        });
        let power = has(&["POWER", "VOLTAGE", "HV", "BRANCH", "CIRCUIT"]) || has(ENCLOSURES);
        return (known && !power && !barrier).then_some(Routing::Apart);
    }
    if barrier {
        filler.extend(["BARRIER", "DIVIDER", "PARTITION", "METAL", "SAME", "LISTED"]);
        let known = words.iter().all(|word| filler.contains(&word.as_str()));
        return known.then_some(Routing::SameRacewayWithBarrier);
    }
    // A distance (`separate, 12 in`) changes nothing in the way that is named.
    filler.extend(["INCH", "INCHES", "MIN", "FT"]);
    let words: Vec<String> = words
        .iter()
        .filter(|word| !word.bytes().all(|byte| byte.is_ascii_digit()))
        .cloned()
        .collect();
    let way = one_meaning(&words, LAID, &filler)?;
    // `same` needs to say same what; a box or tray of the same run is meant.
    (way != Routing::SameRaceway || has(ENCLOSURES)).then_some(way)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn purposes_and_sides() {
        let ctx = Context::default();
        for (text, expected) in [
            ("Bus", RunPurpose::Bus),
            ("COMM", RunPurpose::Bus),
            ("communication wiring", RunPurpose::Bus),
            ("T-stat", RunPurpose::Controller),
            ("Thermostat wire", RunPurpose::Controller),
            ("wired remote", RunPurpose::Controller),
            ("Zone Ctrl", RunPurpose::Controller),
            ("central ctrl", RunPurpose::Central),
            ("float switch", RunPurpose::Interlock),
            ("Interlock", RunPurpose::Interlock),
            ("central controller", RunPurpose::Central),
            ("central control", RunPurpose::Central),
            ("COMM BUS", RunPurpose::Bus),
            ("DATA BUS", RunPurpose::Bus),
            ("CTRL", RunPurpose::Controller),
            ("T-STAT WIRE", RunPurpose::Controller),
            ("LV T-STAT", RunPurpose::Controller),
        ] {
            assert_eq!(purpose(text, &ctx), Reading::Value(expected), "{text}");
        }
        for text in [
            "control",
            "bus / thermostat",
            "power",
            "not bus",
            "bus?",
            "LV",
            "S/W",
            "DATA",
        ] {
            assert!(purpose(text, &ctx).is_unreadable(), "{text}");
        }
        assert!(matches!(
            purpose("DATA", &ctx),
            Reading::Unreadable { guess: Some(guess), .. } if guess == "bus"
        ));
        assert_eq!(
            side("indoor side", &ctx),
            Reading::Value(TerminalSide::Indoor)
        );
        assert_eq!(side("Central", &ctx), Reading::Value(TerminalSide::Central));
        assert!(side("left", &ctx).is_unreadable());
    }

    #[test]
    fn shields_and_splices() {
        let ctx = Context::default();
        for (text, expected) in [
            ("outdoor end", ShieldGround::OutdoorEnd),
            ("ODU only", ShieldGround::OutdoorEnd),
            ("both ends", ShieldGround::BothEnds),
            ("at OU-1", ShieldGround::At(Name::new("OU-1"))),
            ("@ OU-1", ShieldGround::At(Name::new("OU-1"))),
            ("OU-1 end", ShieldGround::At(Name::new("OU-1"))),
            ("none", ShieldGround::Nowhere),
            ("not grounded", ShieldGround::Nowhere),
            ("from end", ShieldGround::FromEnd),
            ("To end", ShieldGround::ToEnd),
            ("indoor end", ShieldGround::IndoorEnd),
            ("IDU side only", ShieldGround::IndoorEnd),
            ("far end", ShieldGround::FarEnd),
            ("last unit", ShieldGround::LastUnit),
            ("at last indoor unit", ShieldGround::LastUnit),
        ] {
            assert_eq!(
                shield_ground(text, &ctx),
                Reading::Value(expected),
                "{text}"
            );
        }
        for text in [
            "one end",
            "OU-1, FC-1",
            "yes",
            "not at OU-1",
            "somewhere",
            "none?",
            "far end?",
            "not far end",
            "first or last unit",
            "indoor and outdoor",
        ] {
            assert!(shield_ground(text, &ctx).is_unreadable(), "{text}");
        }
        assert_eq!(shield_ground("-", &ctx), Reading::Blank);
        for (text, count) in [
            ("0", 0),
            ("none", 0),
            ("1", 1),
            ("yes", 1),
            ("2 splices", 2),
            ("No splices", 0),
        ] {
            assert_eq!(splices(text, &ctx), Reading::Value(count), "{text}");
        }
        for text in ["few", "1-2", "1.5", "-1", "none?", "yes?"] {
            assert!(splices(text, &ctx).is_unreadable(), "{text}");
        }
    }

    #[test]
    fn routings() {
        let ctx = Context::default();
        for (text, expected) in [
            ("same raceway", Routing::SameRaceway),
            ("Same conduit as power", Routing::SameRaceway),
            ("shared box with line voltage", Routing::SameRaceway),
            ("tied to power", Routing::Tied),
            ("zip-tied", Routing::Tied),
            ("parallel", Routing::Parallel),
            ("crossing only", Routing::Crossing),
            ("separate", Routing::Apart),
            ("own conduit", Routing::Apart),
            ("separate from power, 12 in", Routing::Apart),
            ("none", Routing::Apart),
            ("with line set", Routing::Apart),
            ("tied to lineset", Routing::Apart),
            ("W/ LINE SET", Routing::Apart),
            ("W/ REFRIG PIPING", Routing::Apart),
            ("W/ REFRIG. PIPING", Routing::Apart),
            ("SEPARATE CONDUIT", Routing::Apart),
            ("SAME CONDUIT AS POWER", Routing::SameRaceway),
            ("ZIP TIED TO POWER", Routing::Tied),
            ("ALONGSIDE FEEDER", Routing::Parallel),
            ("same enclosure, barrier", Routing::SameRacewayWithBarrier),
        ] {
            assert_eq!(routing(text, &ctx), Reading::Value(expected), "{text}");
        }
        for text in [
            "not parallel",
            "no barrier",
            "yes",
            "parallel to duct",
            "tied, separate",
            "tied to power and line set",
            "parallel to LV",
            "same conduit as LV",
            "separate?",
            "none?",
            "in conduit",
            "alongside line set and feeder",
        ] {
            assert!(routing(text, &ctx).is_unreadable(), "{text}");
        }
        assert!(matches!(
            routing("IN CONDUIT", &ctx),
            Reading::Unreadable { guess: Some(guess), .. } if guess == "separate conduit"
        ));
        assert_eq!(routing("SAME", &ctx), Reading::Same);
        assert_eq!(routing("-", &ctx), Reading::Blank);
    }
}
