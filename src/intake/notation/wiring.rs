//! Words of line-voltage wiring: materials, insulation, cables, raceways.

use super::text::{Cursor, Digits, fold, tokens};
use super::{Context, Reading, read};
use crate::schedule::Celsius;
use crate::schedule::wire::{CableType, Insulation, Material, Raceway, RacewayType};

pub(super) fn material(cursor: &mut Cursor<'_>) -> Option<Material> {
    if cursor.word(&["CU", "COPPER"]) {
        Some(Material::Copper)
    } else if cursor.word(&["AL", "ALUM", "ALUMINUM", "ALUMINIUM"]) {
        Some(Material::Aluminium)
    } else {
        None
    }
}

pub(super) fn insulation_at(cursor: &mut Cursor<'_>) -> Option<Insulation> {
    let mut ahead = *cursor;
    let one = |ahead: &mut Cursor<'_>| {
        let name = ahead.peek()?.text.clone();
        ahead.advance();
        let mut past = *ahead;
        let two = past.sign('-') && past.whole(2, 2).is_some() || {
            past = *ahead;
            past.peek().is_some_and(|t| !t.spaced) && past.whole(2, 2).is_some()
        };
        let kind = match (name.as_str(), two) {
            ("THHN", false) => Insulation::Thhn,
            ("THWN", false) => Insulation::Thwn,
            ("THWN", true) => Insulation::Thwn2,
            ("XHHW", false) => Insulation::Xhhw,
            ("XHHW", true) => Insulation::Xhhw2,
            ("THW", false) => Insulation::Thw,
            ("TW", false) => Insulation::Tw,
            ("RHW", false) => Insulation::Rhw,
            ("RHW", true) => Insulation::Rhw2,
            ("USE", true) => Insulation::Use2,
            _ => return None,
        };
        if two {
            *ahead = past;
        }
        Some(kind)
    };
    let first = one(&mut ahead)?;
    *cursor = ahead;
    if ahead.any_sign("/-").is_some()
        && let Some(second) = one(&mut ahead)
    {
        let both = match (first, second) {
            (Insulation::Thhn, Insulation::Thwn2) | (Insulation::Thwn2, Insulation::Thhn) => {
                Insulation::ThhnThwn2
            }
            // Marked both without the -2: the wet rating stays at 75 °C.
            (Insulation::Thhn, Insulation::Thwn) | (Insulation::Thwn, Insulation::Thhn) => {
                Insulation::Thwn
            }
            _ => return Some(first),
        };
        *cursor = ahead;
        return Some(both);
    }
    Some(first)
}

pub(super) fn cable_type(cursor: &mut Cursor<'_>) -> Option<CableType> {
    let name = cursor.peek()?.text.clone();
    let kind = match name.as_str() {
        "NM" | "NMB" => CableType::NmB,
        "UF" | "UFB" => CableType::UfB,
        "MC" => CableType::Mc,
        "AC" => CableType::Ac,
        "SER" => CableType::SeR,
        "SEU" => CableType::SeU,
        "TC" | "TCER" | "TRAY" => CableType::TrayCable,
        "SO" | "SOO" | "SOOW" | "SJ" | "SJO" | "SJOOW" | "CORD" => CableType::Cord,
        "SE" => {
            let mut ahead = *cursor;
            ahead.advance();
            ahead.sign('-');
            let kind = if ahead.word(&["R"]) {
                CableType::SeR
            } else if ahead.word(&["U"]) {
                CableType::SeU
            } else {
                return None;
            };
            *cursor = ahead;
            return Some(kind);
        }
        _ => return None,
    };
    cursor.advance();
    let mut ahead = *cursor;
    if ahead.sign('-') && ahead.word(&["B", "ER"]) {
        *cursor = ahead;
    }
    cursor.word(&["CABLE"]);
    Some(kind)
}

pub(super) fn raceway_type(cursor: &mut Cursor<'_>) -> Option<RacewayType> {
    if cursor.word(&["SCH", "SCHEDULE"]) {
        cursor.whole(40, 80)?;
        cursor.word(&["PVC"]);
        return Some(RacewayType::Pvc);
    }
    let name = &cursor.peek()?.text;
    let kind = match name.as_str() {
        "EMT" => RacewayType::Emt,
        "RMC" | "RGS" | "GRC" | "RIGID" => RacewayType::Rmc,
        "IMC" => RacewayType::Imc,
        "PVC" => RacewayType::Pvc,
        "FMC" | "FLEX" => RacewayType::Fmc,
        "LFMC" => RacewayType::Lfmc,
        "LFNC" => RacewayType::Lfnc,
        "ENT" => RacewayType::Ent,
        "C" | "CONDUIT" | "CND" | "RACEWAY" => RacewayType::Unnamed,
        _ => return None,
    };
    cursor.advance();
    cursor.word(&["CONDUIT", "C"]);
    if kind == RacewayType::Pvc && cursor.word(&["SCH"]) {
        cursor.whole(40, 80)?;
    }
    Some(kind)
}

/// `3/4 EMT`, `3/4"C`, `EMT 3/4"`, `1-1/4" PVC`, `3/4"`, `EMT`.
pub(super) fn raceway_at(cursor: &mut Cursor<'_>) -> Option<Raceway> {
    if let Some(kind) = raceway_type(cursor) {
        let mut ahead = *cursor;
        ahead.any_sign("-,");
        let trade_size = trade_size(&mut ahead).filter(|(_, marked)| *marked || ahead.done());
        if trade_size.is_some() {
            *cursor = ahead;
        }
        return Some(Raceway {
            kind,
            trade_size: trade_size.map(|(text, _)| text),
        });
    }
    let (size, marked) = trade_size(cursor)?;
    let mut ahead = *cursor;
    ahead.sign('-');
    let kind = match raceway_type(&mut ahead) {
        Some(kind) => {
            *cursor = ahead;
            kind
        }
        None if marked => RacewayType::Unnamed,
        None => return None,
    };
    Some(Raceway {
        kind,
        trade_size: Some(size),
    })
}

/// A trade size as people print it, and whether an inch mark stands behind it.
fn trade_size(cursor: &mut Cursor<'_>) -> Option<(Box<str>, bool)> {
    let mut ahead = *cursor;
    let value = ahead.mixed()?;
    let text = match (value.trunc() as u32, value.fract()) {
        (whole @ 1..=6, 0.0) => whole.to_string(),
        (whole @ 0..=5, part) => {
            let part = [(0.25, "1/4"), (0.375, "3/8"), (0.5, "1/2"), (0.75, "3/4")]
                .iter()
                .find(|(value, _)| *value == part)?
                .1;
            if whole == 0 {
                part.to_owned()
            } else {
                format!("{whole}-{part}")
            }
        }
        _ => return None,
    };
    let marked = ahead.sign('"') || ahead.word(&["INCH"]) || {
        let mut past = ahead;
        let inches = past.word(&["IN"]) && !past.done();
        let inches = inches && raceway_type(&mut past.clone()).is_some();
        if inches {
            ahead = past;
        }
        inches
    };
    *cursor = ahead;
    Some((text.into(), marked))
}

/// `THHN`, `THWN-2`, `THHN/THWN-2`, `XHHW-2`.
pub fn insulation(text: &str, _ctx: &Context) -> Reading<Insulation> {
    read(text, "a type of insulation, as in THWN-2", |folded| {
        let tokens = tokens(folded, Digits::Whole);
        let mut cursor = Cursor::new(&tokens);
        material(&mut cursor);
        let kind = insulation_at(&mut cursor)?;
        material(&mut cursor);
        cursor.done().then_some(kind)
    })
}

/// `3/4" EMT`, `EMT`, `1" C`, `3/4`, `1-1/4" PVC`.
pub fn raceway(text: &str, _ctx: &Context) -> Reading<Raceway> {
    read(text, "a raceway, as in 3/4\" EMT", |folded| {
        let tokens = tokens(folded, Digits::Whole);
        let mut cursor = Cursor::new(&tokens);
        let begin = cursor;
        if let Some(raceway) = raceway_at(&mut cursor)
            && cursor.done()
        {
            return Some(raceway);
        }
        // In a column of raceways a bare number is a trade size.
        let mut cursor = begin;
        let (size, _) = trade_size(&mut cursor)?;
        cursor.done().then_some(Raceway {
            kind: RacewayType::Unnamed,
            trade_size: Some(size),
        })
    })
}

/// Temperature rating of terminals: `75°C`, `75C`, `60/75`. Terminals marked
/// for both may be used at the higher (common practice, no source).
pub fn terminals(text: &str, _ctx: &Context) -> Reading<Celsius> {
    read(text, "60, 75 or 90 °C", |folded| {
        let compact: String = fold(folded)
            .chars()
            .filter(|c| !"°C .".contains(*c))
            .map(|c| if c == '-' { '/' } else { c })
            .collect();
        match compact.replace("DEG", "").as_str() {
            "60" => Some(Celsius(60.0)),
            "75" | "60/75" | "75/60" => Some(Celsius(75.0)),
            "90" => Some(Celsius(90.0)),
            _ => None,
        }
    })
}
