//! Conductors of circuits, their ground and their raceway.

use super::low_voltage::square_millimetres;
use super::text::{Cursor, Digits, Token, phrase, tokens};
use super::wiring::{cable_type, insulation_at, material, raceway_at};
use super::{ColumnUnit, Context, Reading, read_or_guess};
use crate::schedule::wire::{Conductor, Grounding, Size};

const GROUND: &[&str] = &[
    "G",
    "GND",
    "GRD",
    "GRND",
    "GROUND",
    "EGC",
    "EG",
    "GR",
    "GROUNDING",
];
const NEUTRAL: &[&str] = &["N", "NEUT", "NEUTRAL"];
/// Sizes in which cables are noted as size/conductors: `3/4` is none.
const CABLE_SIZES: [u32; 9] = [18, 16, 14, 12, 10, 8, 6, 4, 2];

/// `10/2 w/G`, `10/2 NM-B`, `12/2 MC`, `#10 THHN`, `(2)#10+(1)#10G in 3/4 EMT`,
/// `2#10, 1#10G, 3/4"C`, `500 kcmil`, `AL #4`, `2 sets (3) #3/0`, `3/C #10`,
/// `4/0-4/0-2/0 AL SER`. A metric cross-section is not read: the nearest
/// gauge is the guess.
pub fn conductor(text: &str, ctx: &Context) -> Reading<Conductor> {
    let expected = "a cable or conductors, as in 10/2 NM-B or 2#10, 1#10G, 3/4\"C";
    let parse = |folded: &str| {
        if metric(folded, ctx) {
            return None;
        }
        let tokens = tokens(folded, Digits::Whole);
        let mut cursor = Cursor::new(&tokens);
        let mut found = Conductor {
            sets: 1,
            ..Conductor::default()
        };
        let mut any = false;
        while !cursor.done() {
            if !filler(&mut cursor) {
                item(&mut cursor, &mut found)?;
                any = true;
            }
        }
        any.then_some(found)
    };
    read_or_guess(text, expected, parse, |folded| nearest_gauge(folded, ctx))
}

/// Whether numbers without a mark are square millimetres in this column.
fn metric(folded: &str, ctx: &Context) -> bool {
    ctx.unit == Some(ColumnUnit::SquareMillimetres)
        && !["#", "AWG", "KCMIL", "MCM"]
            .iter()
            .any(|mark| folded.contains(mark))
}

/// `12 AWG, the nearest to 4 mm²`, for a text with one metric cross-section.
/// The diameters of gauges are a geometric row, 36 AWG being 0.127 mm
/// (ASTM B258; from memory).
fn nearest_gauge(folded: &str, ctx: &Context) -> Option<String> {
    // No cross-section has thousands: a comma is a decimal one in any file.
    let digits = match folded.contains(',') {
        true => Digits::Comma,
        false => Digits::Point,
    };
    let tokens = tokens(folded, digits);
    let mut cursor = Cursor::new(&tokens);
    let alone = metric(folded, ctx) && tokens.len() == 1;
    let mut found = None;
    while !cursor.done() {
        if let Some(area) = cursor.number() {
            let stated = alone || square_millimetres(&mut cursor);
            if stated && found.replace(area).is_some() {
                return None;
            }
        } else {
            cursor.advance();
        }
    }
    let area = found.filter(|area| (0.5..=120.0).contains(area))?;
    let off = |gauge: i8| {
        let diameter = 0.127 * 92_f64.powf((36.0 - f64::from(gauge)) / 39.0);
        (std::f64::consts::FRAC_PI_4 * diameter * diameter - area).abs()
    };
    let nearest = [18, 16, 14, 12, 10, 8, 6, 4, 3, 2, 1, 0, -1, -2, -3]
        .into_iter()
        .min_by(|a, b| off(*a).total_cmp(&off(*b)))?;
    let size = Size::Awg(nearest);
    Some(format!("{size}, the nearest to {area} mm²"))
}

fn filler(cursor: &mut Cursor<'_>) -> bool {
    let mut ahead = *cursor;
    // `#12G-3/4"C`: the dash joins the raceway.
    if ahead.sign('-') && raceway_at(&mut ahead.clone()).is_some() {
        *cursor = ahead;
        return true;
    }
    let mut ahead = *cursor;
    if ahead.any_sign(",;+&").is_some()
        || ahead.word(&[
            "IN",
            "AND",
            "WIRE",
            "WIRES",
            "CABLE",
            "COND",
            "CONDUCTOR",
            "CONDUCTORS",
            "STRANDED",
            "STR",
            "EACH",
            "PER",
            "PHASE",
            "PLUS",
        ])
    {
        // `+ GND` and `PLUS GROUND` belong to the ground.
        if !ahead.peek().is_some_and(|token| token.is_word(GROUND)) {
            *cursor = ahead;
            return true;
        }
    }
    false
}

fn item(cursor: &mut Cursor<'_>, found: &mut Conductor) -> Option<()> {
    if let Some(sets) = sets(cursor) {
        found.sets = sets;
        return Some(());
    }
    if let Some(ground) = unsized_ground(cursor) {
        return found.ground.replace(ground).is_none().then_some(());
    }
    if found.size.is_none() {
        if listed_sizes(cursor, found) {
            return Some(());
        }
        if let Some((size, count, cable)) = cores(cursor) {
            found.size = Some(size);
            found.count = Some(count);
            found.is_cable |= cable;
            return Some(());
        }
    }
    let mut ahead = *cursor;
    // `2C` may be two conductors, or a 2 in conduit.
    let doubtful = cursor.peek().is_some_and(|token| token.number().is_some())
        && cursor
            .peek_second()
            .is_some_and(|token| token.is_word(&["C"]));
    if !doubtful && let Some(raceway) = raceway_at(&mut ahead) {
        *cursor = ahead;
        return found.raceway.replace(raceway).is_none().then_some(());
    }
    if let Some(material) = material(cursor) {
        return found.material.replace(material).is_none().then_some(());
    }
    if let Some(kind) = insulation_at(cursor) {
        return found.insulation.replace(kind).is_none().then_some(());
    }
    if let Some(cable) = cable_type(cursor) {
        found.is_cable = true;
        return found.cable.replace(cable).is_none().then_some(());
    }
    let mut ahead = *cursor;
    if let Some((size, count)) = cable_size(&mut ahead)
        && found.size.is_none()
    {
        *cursor = ahead;
        found.size = Some(size);
        found.count = Some(count);
        found.is_cable = true;
        // `12/2G`, `12/2-G`, `10/2 AWG`.
        cursor.word(&["AWG"]);
        let mut ahead = *cursor;
        ahead.sign('-');
        if ahead.word(GROUND) {
            *cursor = ahead;
            return found
                .ground
                .replace(Grounding::Unsized)
                .is_none()
                .then_some(());
        }
        return Some(());
    }
    counted(cursor, found)
}

/// `2 sets (3) #3/0`, `(2) sets of`.
fn sets(cursor: &mut Cursor<'_>) -> Option<u8> {
    let mut ahead = *cursor;
    let bracket = ahead.sign('(');
    let count = ahead.whole(1, 12)?;
    if bracket && !ahead.sign(')') {
        return None;
    }
    ahead.word(&["PARALLEL"]);
    if !ahead.word(&["SETS", "SET", "RUNS"]) {
        return None;
    }
    ahead.word(&["OF"]);
    ahead.any_sign(":-");
    *cursor = ahead;
    u8::try_from(count).ok()
}

/// `w/G`, `w/ground`, `WG`, `+G`, `with ground`, `no ground`.
fn unsized_ground(cursor: &mut Cursor<'_>) -> Option<Grounding> {
    let mut ahead = *cursor;
    let mut ground = Grounding::Unsized;
    if ahead.word(&["NO", "WITHOUT"]) {
        ground = Grounding::Absent;
    } else if ahead.word(&["W", "WITH"]) {
        if ahead.sign('/') && ahead.word(&["O", "OUT"]) {
            ground = Grounding::Absent;
        }
    } else if ahead.word(&["WG", "WGND"]) {
        *cursor = ahead;
        return Some(ground);
    } else if ahead.any_sign("+&/,").is_none() && !ahead.word(&["PLUS", "AND"]) {
        return None;
    }
    ahead.word(&["BARE", "INSULATED"]);
    if !ahead.word(GROUND) {
        return None;
    }
    ahead.word(&["WIRE", "CONDUCTOR"]);
    *cursor = ahead;
    Some(ground)
}

/// `3/C #10`, `2C #10`, `3W #10`: conductors before their marked size, and
/// whether the notation is a cable's.
fn cores(cursor: &mut Cursor<'_>) -> Option<(Size, u8, bool)> {
    let mut ahead = *cursor;
    let count = ahead.whole(2, 5)?;
    let cable = if ahead.sign('/') {
        ahead.word(&["C"]).then_some(true)?
    } else if ahead.word(&["C"]) {
        true
    } else {
        ahead.word(&["W"]).then_some(false)?
    };
    ahead.sign('-');
    let (size, marked) = size_at(&mut ahead)?;
    if !marked {
        return None;
    }
    *cursor = ahead;
    Some((size, u8::try_from(count).ok()?, cable))
}

/// `4/0-4/0-2/0`, `2-2-2-4 AL`: each conductor of a feeder cable by its size.
///
/// Of four the last is the ground (common practice, no source). Of three the
/// last may be neutral or ground: neither is taken.
fn listed_sizes(cursor: &mut Cursor<'_>, found: &mut Conductor) -> bool {
    let mut ahead = *cursor;
    let Some((first, mut marked)) = size_at(&mut ahead) else {
        return false;
    };
    let mut sizes = vec![first];
    while ahead.sign('-') {
        let Some((size, _)) = size_at(&mut ahead) else {
            return false;
        };
        sizes.push(size);
    }
    // `2-2-4` is a list of sizes where words of feeders stand behind it.
    let mut behind = ahead;
    while !marked && let Some(token) = behind.advance() {
        marked = token.is_word(&["AL", "ALUM", "ALUMINUM", "ALUMINIUM", "SER", "SEU", "SE"]);
    }
    let ground = match sizes.as_slice() {
        [one, two, three] if one == two && three <= one => None,
        [one, two, three, four] if one == two && three <= one && four <= three => Some(*four),
        _ => return false,
    };
    if !marked || ground.is_some() && found.ground.is_some() {
        return false;
    }
    *cursor = ahead;
    found.size = Some(first);
    found.is_cable = true;
    if let Some(size) = ground {
        found.count = Some(3);
        found.ground = Some(Grounding::Sized {
            size,
            material: None,
        });
    }
    true
}

/// `10/2`, `#10-2`: a cable's size and conductors.
fn cable_size(cursor: &mut Cursor<'_>) -> Option<(Size, u8)> {
    cursor.sign('#');
    let size = cursor.whole(2, 18)?;
    cursor.word(&["AWG"]);
    cursor.any_sign("/-")?;
    let next = cursor.peek()?;
    if next.spaced {
        return None;
    }
    let count = cursor.whole(2, 5)?;
    cursor.word(&["C"]);
    let aught = cursor
        .peek()
        .is_some_and(|t| t.is_sign('/') || t.is_sign('#'));
    let with_ground = aught && cursor.peek_second().is_some_and(|t| t.is_word(GROUND));
    if (aught && !with_ground) || !CABLE_SIZES.contains(&size) {
        return None;
    }
    Some((Size::Awg(i8::try_from(size).ok()?), count as u8))
}

/// `(2)#10`, `3 #6 THWN-2`, `1#10G`, `#10 GND`, `(1) #10N`, `w/ (1) #10 G`.
fn counted(cursor: &mut Cursor<'_>, found: &mut Conductor) -> Option<()> {
    let mut ahead = *cursor;
    if ahead.word(&["W", "WITH"]) {
        ahead.sign('/');
    }
    let count = count_before_size(&mut ahead);
    let (size, marked) = size_at(&mut ahead)?;
    // A bare number is a size only where nothing else could be meant.
    if !marked && count.is_none() && found.size.is_some() {
        return None;
    }
    let mut own_material = None;
    loop {
        if let Some(kind) = insulation_at(&mut ahead) {
            if found.insulation.is_some_and(|known| known != kind) {
                return None;
            }
            found.insulation = Some(kind);
        } else if let Some(of) = material(&mut ahead) {
            own_material = Some(of);
        } else if !ahead.word(&["BARE", "STRANDED", "STR"]) {
            break;
        }
    }
    let mut past_dash = ahead;
    past_dash.any_sign("-(");
    if past_dash.word(GROUND) {
        past_dash.sign(')');
        *cursor = past_dash;
        let ground = Grounding::Sized {
            size,
            material: own_material,
        };
        return found.ground.replace(ground).is_none().then_some(());
    }
    let neutral = ahead.word(NEUTRAL);
    *cursor = ahead;
    if own_material.is_some() {
        found.material = own_material;
    }
    match found.size {
        None if !neutral => {
            found.size = Some(size);
            found.count = count;
        }
        Some(known) if neutral || known == size => {
            found.count = Some(found.count?.checked_add(count.unwrap_or(1))?);
        }
        _ => return None,
    }
    Some(())
}

/// `(2)`, `2`, `2-`, `2x`, where a size follows.
fn count_before_size(cursor: &mut Cursor<'_>) -> Option<u8> {
    let mut ahead = *cursor;
    let bracket = ahead.sign('(');
    let count = ahead.whole(1, 60)?;
    if bracket && !ahead.sign(')') {
        return None;
    }
    ahead.word(&["EA", "EACH"]);
    let joined = bracket || ahead.any_sign("-").is_some() || ahead.word(&["X"]);
    let (_, marked) = size_at(&mut ahead.clone())?;
    if !joined && !marked {
        return None;
    }
    *cursor = ahead;
    u8::try_from(count).ok()
}

/// A size, and whether a number sign or a unit marks it as one.
fn size_at(cursor: &mut Cursor<'_>) -> Option<(Size, bool)> {
    let mut ahead = *cursor;
    let number_word = ahead.word(&["NO"]);
    let number_sign = ahead.sign('#') || number_word;
    let number = ahead.whole(1, 2000)?;
    let mut past = ahead;
    if past.sign('/')
        && past
            .peek()
            .is_some_and(|token: &Token| token.text == "0" || token.text == "O")
        && number <= 4
    {
        past.advance();
        past.word(&["AWG"]);
        *cursor = past;
        return Some((Size::Awg(1 - i8::try_from(number).ok()?), true));
    }
    let kcmil = ahead.word(&["KCMIL", "MCM", "KCM"]);
    let awg = !kcmil && ahead.word(&["AWG", "GA"]);
    let size = match number {
        250 | 300 | 350 | 400 | 500 | 600 | 700 | 750 | 800 | 900 | 1000 | 1250 | 1500 | 1750
        | 2000
            if !awg =>
        {
            Size::Kcmil(u16::try_from(number).ok()?)
        }
        1 | 2 | 3 | 4 | 6 | 8 | 10 | 12 | 14 | 16 | 18 if !kcmil => {
            Size::Awg(i8::try_from(number).ok()?)
        }
        _ => return None,
    };
    *cursor = ahead;
    Some((size, number_sign || kcmil || awg))
}

/// The grounding conductor of its own column: `#10`, `10`, `1#10 CU`, `yes`;
/// `EMT` and `BY RACEWAY`, a raceway that grounds; `MC`, the cable's own.
pub fn grounding(text: &str, ctx: &Context) -> Reading<Grounding> {
    read_or_guess(
        text,
        "the grounding conductor, as in #10 or 10 AWG CU",
        |folded| {
            if metric(folded, ctx) && folded.contains(|c: char| c.is_ascii_digit()) {
                return None;
            }
            match phrase(folded).join(" ").as_str() {
                "YES" | "Y" | "INCL" | "INCLUDED" | "W G" | "W GND" | "W GROUND" | "GND"
                | "GROUND" | "MC" | "MC CABLE" | "IN CABLE" => {
                    return Some(Grounding::Unsized);
                }
                "EMT" | "RMC" | "IMC" | "RGS" | "GRC" | "RIGID" | "RACEWAY" | "CONDUIT"
                | "METAL RACEWAY" | "METALLIC RACEWAY" | "METAL CONDUIT" | "METALLIC CONDUIT"
                | "BY RACEWAY" | "BY CONDUIT" | "BY EMT" | "VIA RACEWAY" | "VIA CONDUIT"
                | "VIA EMT" | "BY METAL RACEWAY" | "EMT CONDUIT" => {
                    return Some(Grounding::ByRaceway);
                }
                "NO" | "N" | "NO GROUND" | "W O GROUND" => return Some(Grounding::Absent),
                _ => {}
            }
            let tokens = tokens(folded, Digits::Whole);
            let mut cursor = Cursor::new(&tokens);
            let before = material(&mut cursor);
            if count_before_size(&mut cursor).is_some_and(|count| count != 1) {
                return None;
            }
            let (size, _) = size_at(&mut cursor)?;
            let mut after = None;
            while !cursor.done() {
                if let Some(of) = material(&mut cursor) {
                    after = Some(of);
                } else if insulation_at(&mut cursor).is_none()
                    && !cursor.word(GROUND)
                    && !cursor.word(&["BARE"])
                {
                    return None;
                }
            }
            Some(Grounding::Sized {
                size,
                material: before.or(after),
            })
        },
        |folded| nearest_gauge(folded, ctx),
    )
}

/// A size alone: `#10`, `10 AWG`, `1/0`, `500 kcmil`, `10`.
pub fn size(text: &str, ctx: &Context) -> Reading<Size> {
    let parse = |folded: &str| {
        if metric(folded, ctx) {
            return None;
        }
        let tokens = tokens(folded, Digits::Whole);
        let mut cursor = Cursor::new(&tokens);
        let (size, _) = size_at(&mut cursor)?;
        cursor.done().then_some(size)
    };
    let expected = "a conductor size, as in 10 AWG";
    read_or_guess(text, expected, parse, |folded| nearest_gauge(folded, ctx))
}

#[cfg(test)]
#[path = "conductor_tests.rs"]
mod conductor_tests;
