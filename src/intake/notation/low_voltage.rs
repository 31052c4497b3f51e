//! Low-voltage wire: `18/2 STR UNSH`, whole or in parts.

use super::number::Style;
use super::text::{Cursor, Digits, phrase, tokens};
use super::{ColumnUnit, Context, Reading, grammar, read, words};
use crate::schedule::wire::{LowVoltageWire, Size};

const GAUGES: [u32; 7] = [24, 22, 20, 18, 16, 14, 12];
const CORES: &[&str] = &[
    "C",
    "COND",
    "CONDUCTOR",
    "CONDUCTORS",
    "CORE",
    "CORES",
    "WIRE",
    "WIRES",
];
const PAIRS: &[&str] = &["PR", "PAIR", "PAIRS"];

/// What is said of a wire's use or jacket, and what no rule reads.
const REMARKS: &[&str] = &[
    "CU",
    "COPPER",
    "CABLE",
    "WIRE",
    "TWISTED",
    "TP",
    "PAIR",
    "PLENUM",
    "CMP",
    "CMR",
    "RISER",
    "PVC",
    "JACKETED",
    "COMM",
    "COMMUNICATION",
    "TSTAT",
    "THERMOSTAT",
    "BUS",
    "CONTROL",
    "LV",
    "W",
    "WITH",
    "AND",
];

/// `18/2 STR UNSH`, `18-2 STP`, `16/2 stranded shielded w/drain`, `18AWG 2C`,
/// `1PR #18 TSP`, `0.75mm2 x 2C`, `1.25SQ x 2C`.
///
/// Square millimetres become the gauge as which the trade sells them.
pub fn low_voltage_wire(text: &str, ctx: &Context) -> Reading<LowVoltageWire> {
    let expected = "gauge and conductors, as in 18/2 stranded shielded";
    read(text, expected, |folded| {
        // `0.75` is a decimal in any file: thousands do not begin with 0.
        wire(folded, ctx.style.digits()).or_else(|| {
            let other = match ctx.style {
                Style::Point => return None,
                Style::Comma => Digits::Point,
            };
            folded.contains("MM").then(|| wire(folded, other))?
        })
    })
}

fn wire(folded: &str, digits: Digits) -> Option<LowVoltageWire> {
    let tokens = tokens(folded, digits);
    let mut cursor = Cursor::new(&tokens);
    let mut found = LowVoltageWire::default();
    let mut pair = false;
    while !cursor.done() {
        if cursor.any_sign(",;/()+&-").is_some() {
            continue;
        }
        pair |= cursor
            .peek()
            .is_some_and(|token| token.is_word(&["TSP", "STP", "UTP", "TP"]));
        part(&mut cursor, &mut found)?;
    }
    // A twisted pair has two conductors unless a count says otherwise.
    if pair && found.conductors.is_none() {
        found.conductors = Some(2);
    }
    let any = found != LowVoltageWire::default();
    any.then_some(found)
}

fn part(cursor: &mut Cursor<'_>, found: &mut LowVoltageWire) -> Option<()> {
    if let Some(shielded) = shield_words(cursor) {
        return set(&mut found.shielded, shielded);
    }
    if let Some(stranded) = strand_words(cursor) {
        return set(&mut found.stranded, stranded);
    }
    if class_words(cursor) {
        return Some(());
    }
    if let Some((gauge, conductors)) = pair_of_numbers(cursor) {
        set(&mut found.gauge, gauge)?;
        return set(&mut found.conductors, conductors);
    }
    if let Some(conductors) = count(cursor) {
        return set(&mut found.conductors, conductors);
    }
    if let Some(gauge) = gauge_at(cursor) {
        set(&mut found.gauge, gauge)?;
        let mut ahead = *cursor;
        if ahead.word(&["X"])
            && let Some(conductors) = ahead.whole(1, 50)
        {
            ahead.word(CORES);
            *cursor = ahead;
            return set(&mut found.conductors, conductors as u8);
        }
        return Some(());
    }
    // `T-STAT`, `2C x 0.75`, and words on use.
    let mut ahead = *cursor;
    if ahead.word(&["T"]) && ahead.sign('-') && ahead.word(&["STAT"]) {
        *cursor = ahead;
        return Some(());
    }
    (cursor.word(REMARKS) || cursor.word(&["X"]) && !cursor.done()).then_some(())
}

/// A part said twice has to say the same.
fn set<T: PartialEq + Copy>(slot: &mut Option<T>, value: T) -> Option<()> {
    match *slot {
        Some(known) => (known == value).then_some(()),
        None => {
            *slot = Some(value);
            Some(())
        }
    }
}

/// `CL2`, `CL3P`: the cable's class.
fn class_words(cursor: &mut Cursor<'_>) -> bool {
    let mut ahead = *cursor;
    let class = ahead.word(&["CL", "CLASS"]) && ahead.whole(2, 3).is_some();
    if class {
        ahead.word(&["P", "R", "X"]);
        *cursor = ahead;
    }
    class
}

/// `18/2`, `18-2`, `18AWG/2C`, `18/1PR`, `18x2`.
fn pair_of_numbers(cursor: &mut Cursor<'_>) -> Option<(Size, u8)> {
    let mut ahead = *cursor;
    ahead.sign('#');
    let gauge = ahead.whole(12, 24).filter(|gauge| GAUGES.contains(gauge))?;
    ahead.word(&["AWG", "GA"]);
    let sign = ahead
        .any_sign("/-")
        .or_else(|| ahead.word(&["X"]).then_some('x'))?;
    let count = ahead.whole(1, 50)?;
    // `18-16` is a range of gauges.
    if sign == '-' && count >= 10 {
        return None;
    }
    let factor = if ahead.word(PAIRS) { 2 } else { 1 };
    ahead.word(CORES);
    *cursor = ahead;
    let size = Size::Awg(i8::try_from(gauge).ok()?);
    Some((size, u8::try_from(count * factor).ok()?))
}

/// `2C`, `2 COND`, `2-wire`, `1PR`, `(2)`, `2#18`, `2 x 0.75 mm²`.
fn count(cursor: &mut Cursor<'_>) -> Option<u8> {
    let mut ahead = *cursor;
    let count = ahead.whole(1, 50)?;
    let mut past = ahead;
    past.sign('-');
    let conductors = if past.word(PAIRS) {
        count * 2
    } else if past.word(CORES) {
        count
    } else if ahead.peek()?.is_sign('#') {
        past = ahead;
        count
    } else {
        past = ahead;
        let next = past.word(&["X"]) && gauge_marked(&mut past.clone());
        if !next {
            return None;
        }
        count
    };
    *cursor = past;
    u8::try_from(conductors).ok()
}

/// Whether a gauge with its unit stands here.
fn gauge_marked(cursor: &mut Cursor<'_>) -> bool {
    cursor.sign('#') || cursor.number().is_some() && cursor.word(&["AWG", "GA", "MM", "SQ", "SQMM"])
}

/// `18`, `#18`, `18AWG`, `18 GA`, `0.75mm2`, `1.25SQ`.
fn gauge_at(cursor: &mut Cursor<'_>) -> Option<Size> {
    let mut ahead = *cursor;
    let number_sign = ahead.sign('#');
    let value = ahead.number()?;
    if !number_sign && square_millimetres(&mut ahead) {
        *cursor = ahead;
        return from_square_millimetres(value);
    }
    ahead.word(&["AWG", "GA", "GAUGE"]);
    let gauge = GAUGES.iter().find(|gauge| f64::from(**gauge) == value)?;
    *cursor = ahead;
    Some(Size::Awg(i8::try_from(*gauge).ok()?))
}

pub(super) fn square_millimetres(cursor: &mut Cursor<'_>) -> bool {
    if cursor.word(&["SQMM", "SQ"]) {
        cursor.word(&["MM"]);
        return true;
    }
    let mut ahead = *cursor;
    if !ahead.word(&["MM"]) {
        return false;
    }
    ahead.sign('^');
    if ahead.whole(2, 2).is_none() {
        ahead.word(&["SQ"]);
    }
    *cursor = ahead;
    true
}

/// The gauge that a metric cross-section passes for: the largest whose own is
/// at most a tenth more. So 0.75 mm² is 18 AWG (0.823 mm²) and 1.25 mm² is
/// 16 AWG (1.31 mm²), as the trade reads them. Areas of ASTM B258 (18 and 16
/// AWG as printed in data of the trade; the others from memory).
fn from_square_millimetres(area: f64) -> Option<Size> {
    [
        (12, 3.31),
        (14, 2.08),
        (16, 1.31),
        (18, 0.823),
        (20, 0.518),
        (22, 0.326),
        (24, 0.205),
    ]
    .into_iter()
    .find(|(_, of_gauge)| area >= of_gauge * 0.9)
    .filter(|_| area <= 4.0)
    .map(|(gauge, _)| Size::Awg(gauge))
}

fn shield_words(cursor: &mut Cursor<'_>) -> Option<bool> {
    let mut ahead = *cursor;
    let no = ahead.word(&["NO", "NON", "NOT", "UN", "WITHOUT"]);
    if no {
        ahead.sign('-');
    } else if ahead.word(&["W", "WITH"]) {
        ahead.sign('/');
    }
    let words = &["SH", "SHLD", "SHIELDED", "SHIELD", "SHD", "FOIL", "DRAIN"];
    if ahead.word(words) {
        while ahead.word(words) || ahead.word(&["WIRE"]) {}
        *cursor = ahead;
        return Some(!no);
    }
    if cursor.word(&[
        "UNSH",
        "UNSHLD",
        "UNSHIELDED",
        "NONSHIELDED",
        "UTP",
        "UNSHD",
    ]) {
        return Some(false);
    }
    cursor.word(&["STP", "TSP"]).then_some(true)
}

fn strand_words(cursor: &mut Cursor<'_>) -> Option<bool> {
    if cursor.word(&["STR", "STRANDED", "STRD", "STRAND"]) {
        return Some(true);
    }
    cursor.word(&["SOL", "SOLID"]).then_some(false)
}

/// A gauge alone: `18`, `#18`, `18 AWG`, `0.75 mm2`; a bare number in a column
/// of square millimetres is one.
pub fn gauge(text: &str, ctx: &Context) -> Reading<Size> {
    read(text, "a gauge, as in 18 or 18 AWG", |folded| {
        let tokens = tokens(folded, ctx.style.digits());
        let mut cursor = Cursor::new(&tokens);
        if ctx.unit == Some(ColumnUnit::SquareMillimetres) && tokens.len() == 1 {
            return from_square_millimetres(cursor.number()?);
        }
        let gauge = gauge_at(&mut cursor)?;
        cursor.done().then_some(gauge)
    })
}

/// Conductors alone: `2`, `2C`, `2-wire`, `1 pair`.
pub fn conductor_count(text: &str, _ctx: &Context) -> Reading<u8> {
    read(text, "a number of conductors, as in 2", |folded| {
        let tokens = tokens(folded, Digits::Whole);
        let mut cursor = Cursor::new(&tokens);
        let conductors = match count(&mut cursor) {
            Some(conductors) => conductors,
            None => u8::try_from(cursor.whole(1, 50)?).ok()?,
        };
        cursor.done().then_some(conductors)
    })
}

/// Stranded (or yes), or solid (or no).
pub fn stranded(text: &str, _ctx: &Context) -> Reading<bool> {
    read(text, "stranded or solid", |folded| {
        yes_or(folded, strand_words)
    })
}

/// Shielded (or yes), or unshielded (or no, or none).
pub fn shielded(text: &str, _ctx: &Context) -> Reading<bool> {
    let parse = |folded: &str| yes_or(folded, shield_words);
    if phrase(text) == ["NONE"] && !text.contains('?') {
        return Reading::Value(false);
    }
    match words::classify(text) {
        Some(nothing) => nothing.into(),
        None => grammar(text, "shielded or unshielded", parse),
    }
}

fn yes_or(folded: &str, own: fn(&mut Cursor<'_>) -> Option<bool>) -> Option<bool> {
    let tokens = tokens(folded, Digits::Whole);
    let mut cursor = Cursor::new(&tokens);
    let value = match own(&mut cursor) {
        Some(value) => value,
        None if cursor.word(&["YES", "Y", "TRUE"]) => true,
        None if cursor.word(&["NO", "N", "FALSE"]) => false,
        None => return None,
    };
    cursor.done().then_some(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wire_of(
        gauge: i8,
        conductors: u8,
        stranded: Option<bool>,
        shielded: Option<bool>,
    ) -> LowVoltageWire {
        LowVoltageWire {
            gauge: Some(Size::Awg(gauge)),
            conductors: Some(conductors),
            stranded,
            shielded,
        }
    }

    #[test]
    fn wires_in_every_spelling() {
        for (text, expected) in [
            ("18/2 STR UNSH", wire_of(18, 2, Some(true), Some(false))),
            ("18-2 STP", wire_of(18, 2, None, Some(true))),
            (
                "16/2 stranded shielded w/drain",
                wire_of(16, 2, Some(true), Some(true)),
            ),
            ("18AWG 2C", wire_of(18, 2, None, None)),
            ("1PR #18 TSP", wire_of(18, 2, None, Some(true))),
            ("0.75mm2 x 2C", wire_of(18, 2, None, None)),
            ("1.25SQ x 2C", wire_of(16, 2, None, None)),
            ("0.75mm² × 2C", wire_of(18, 2, None, None)),
            ("2 x 0.75 mm²", wire_of(18, 2, None, None)),
            ("2C x 1.25 sq mm", wire_of(16, 2, None, None)),
            ("18/4 solid", wire_of(18, 4, Some(false), None)),
            ("#18 TSP", wire_of(18, 2, None, Some(true))),
            (
                "18 GA, 2 COND, STRANDED, NON-SHIELDED",
                wire_of(18, 2, Some(true), Some(false)),
            ),
            ("2C-18AWG", wire_of(18, 2, None, None)),
            ("2#18", wire_of(18, 2, None, None)),
            (
                "18/2 stranded w/ shield, plenum",
                wire_of(18, 2, Some(true), Some(true)),
            ),
            ("18/2 CL2P", wire_of(18, 2, None, None)),
        ] {
            assert_eq!(
                low_voltage_wire(text, &Context::default()),
                Reading::Value(expected),
                "{text}"
            );
        }
        let comma = Context {
            style: Style::Comma,
            unit: None,
        };
        for text in ["0,75mm2 x 2C", "0.75mm2 x 2C"] {
            assert_eq!(
                low_voltage_wire(text, &comma),
                Reading::Value(wire_of(18, 2, None, None)),
                "{text}"
            );
        }
        for text in [
            "18-16",
            "2-Oct",
            "18/2 XYZ",
            "17/2",
            "18/2 16/2",
            "18/2 shielded unshielded",
            "cat",
            "10/2 NM-B",
            "18/2?",
        ] {
            assert!(
                low_voltage_wire(text, &Context::default()).is_unreadable(),
                "{text}"
            );
        }
    }

    #[test]
    fn parts_of_a_wire() {
        let ctx = Context::default();
        for (text, awg) in [
            ("18", 18),
            ("#16", 16),
            ("18 AWG", 18),
            ("20ga", 20),
            ("0.75 mm2", 18),
            ("1.5mm²", 16),
        ] {
            assert_eq!(gauge(text, &ctx), Reading::Value(Size::Awg(awg)), "{text}");
        }
        let metric = Context {
            unit: Some(ColumnUnit::SquareMillimetres),
            ..ctx
        };
        assert_eq!(gauge("0.75", &metric), Reading::Value(Size::Awg(18)));
        assert_eq!(gauge("1.25", &metric), Reading::Value(Size::Awg(16)));
        for text in ["0.75", "17", "18/2", "18-16 AWG"] {
            assert!(gauge(text, &ctx).is_unreadable(), "{text}");
        }
        for (text, count) in [
            ("2", 2),
            ("2C", 2),
            ("2-wire", 2),
            ("1 pair", 2),
            ("4 cond.", 4),
        ] {
            assert_eq!(conductor_count(text, &ctx), Reading::Value(count), "{text}");
        }
        for (text, value) in [
            ("Stranded", true),
            ("STR", true),
            ("solid", false),
            ("yes", true),
        ] {
            assert_eq!(stranded(text, &ctx), Reading::Value(value), "{text}");
        }
        for (text, value) in [
            ("shielded", true),
            ("UNSH", false),
            ("non-shielded", false),
            ("None", false),
            ("Y", true),
            ("no", false),
            ("w/ drain", true),
            ("STP", true),
        ] {
            assert_eq!(shielded(text, &ctx), Reading::Value(value), "{text}");
        }
        assert_eq!(shielded("-", &ctx), Reading::Blank);
        assert!(shielded("maybe", &ctx).is_unreadable());
    }
}
