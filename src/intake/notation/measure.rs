//! Quantities with a unit of measure: lengths, capacities, powers,
//! temperatures.

use super::number::about;
use super::text::{Cursor, tokens};
use super::{ColumnUnit, Context, Reading, read, read_or_guess};
use crate::schedule::{Celsius, Feet, Horsepower, Kilowatts, Mbh, VoltAmps};

/// A quantity, and whether cell or column named its unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured<T> {
    pub value: T,
    /// Where it is not, the unit was assumed: feet, MBH, kilowatts, VA.
    pub unit_stated: bool,
}

const FEET: &[&str] = &["FT", "FEET", "FOOT", "LF"];
const INCHES: &[&str] = &["IN", "INCH", "INCHES"];
const METRES: &[&str] = &["M", "METER", "METERS", "METRE", "METRES", "MTR", "MTRS"];

/// One way: `12'-6"`, `12ft 6in`, `150'`, `1,250 LF`, `~200 ft`, `65m`,
/// `20 m / 65'`, `100 ft +/-`, `150`. Two lengths of one cell have to agree
/// within 3 %. A range or a sum is not read: its larger end, or the sum, is
/// the guess.
pub fn length(text: &str, ctx: &Context) -> Reading<Measured<Feet>> {
    let parse = |folded: &str| {
        let tokens = tokens(folded, ctx.style.digits());
        let mut cursor = Cursor::new(&tokens);
        about(&mut cursor);
        let first = one_length(&mut cursor, ctx)?;
        let mut ahead = cursor;
        let mut value = first;
        if ahead.any_sign("/(=").is_some() {
            let second = one_length(&mut ahead, ctx)?;
            ahead.sign(')');
            let near =
                (first.value.0 - second.value.0).abs() <= first.value.0.max(second.value.0) * 0.03;
            if !(first.unit_stated && second.unit_stated && near) {
                return None;
            }
            // The longer of the two is the cautious one.
            if second.value > first.value {
                value = second;
            }
            cursor = ahead;
        }
        let mut ahead = cursor;
        if ahead.word(&["ONE"]) {
            ahead.sign('-');
            if ahead.word(&["WAY"]) {
                cursor = ahead;
            }
        }
        let mut ahead = cursor;
        if ahead.sign('±') || ahead.sign('+') && ahead.sign('/') && ahead.sign('-') {
            cursor = ahead;
        }
        cursor.done().then_some(value)
    };
    let expected = "a length, as in 150 ft or 45 m";
    read_or_guess(text, expected, parse, |folded| range_or_sum(folded, ctx))
}

/// `120 ft` of `100-120 ft` and of `100 + 20`.
fn range_or_sum(folded: &str, ctx: &Context) -> Option<String> {
    let tokens = tokens(folded, ctx.style.digits());
    let mut cursor = Cursor::new(&tokens);
    let first = cursor.number()?;
    let _unit = cursor.sign('\'') || cursor.word(FEET) || cursor.word(METRES);
    let sum = match cursor.any_sign("-+") {
        Some(sign) => sign == '+',
        None => !cursor.word(&["TO"]).then_some(true)?,
    };
    let second = cursor.clone().number()?;
    let last = one_length(&mut cursor, ctx)?.value;
    let plain = [1.0, 1.0 / 12.0, Feet::from_metres(1.0).0]
        .iter()
        .any(|factor| (last.0 - second * factor).abs() < 1e-9);
    if !cursor.done() || !plain || second <= 0.0 {
        return None;
    }
    let first = Feet(first * last.0 / second);
    if sum {
        return Some((first + last).to_string());
    }
    (last > first).then(|| last.to_string())
}

fn one_length(cursor: &mut Cursor<'_>, ctx: &Context) -> Option<Measured<Feet>> {
    let stated = |feet: f64| {
        Some(Measured {
            value: Feet(feet),
            unit_stated: true,
        })
    };
    let value = cursor.mixed()?;
    if cursor.sign('\'') || cursor.word(FEET) {
        return stated(value + inches_after(cursor, value)?);
    }
    if cursor.sign('"') || cursor.word(INCHES) {
        return stated(value / 12.0);
    }
    if cursor.word(METRES) {
        return stated(Feet::from_metres(value).0);
    }
    if cursor.word(&["LIN", "LINEAR", "LINEAL"]) {
        return cursor.word(FEET).then(|| stated(value))?;
    }
    match ctx.unit {
        Some(ColumnUnit::Feet) => stated(value),
        Some(ColumnUnit::Inches) => stated(value / 12.0),
        Some(ColumnUnit::Metres) => stated(Feet::from_metres(value).0),
        Some(_) => None,
        None => Some(Measured {
            value: Feet(value),
            unit_stated: false,
        }),
    }
}

/// The inches behind feet, in feet; 0 where none stand there.
fn inches_after(cursor: &mut Cursor<'_>, feet: f64) -> Option<f64> {
    let mut ahead = *cursor;
    ahead.any_sign("-,");
    if ahead.peek().is_none_or(|token| token.number().is_none()) {
        return Some(0.0);
    }
    let inches = ahead.mixed()?;
    let _mark = ahead.sign('"') || ahead.word(INCHES);
    *cursor = ahead;
    (inches < 12.0 && feet.fract() == 0.0).then_some(inches / 12.0)
}

/// `36 MBH`, `36,000 BTU/h`, `36K`, `3 tons`, `10.5 kW`. A bare number in a
/// column without a unit is taken as MBH below 1,000 and as Btu/h from 5,000
/// up, and said to be assumed; between them it is not read.
///
/// Two values (`9/12 MBH`) may be cooling and heating, or the ends of a range:
/// they are not read. The first is the guess, as cooling is mostly written
/// first (common practice, no source).
pub fn capacity(text: &str, ctx: &Context) -> Reading<Measured<Mbh>> {
    let parse = |folded: &str| {
        let tokens = tokens(folded, ctx.style.digits());
        let mut cursor = Cursor::new(&tokens);
        let mut value = cursor.mixed()?;
        let thousands = cursor.word(&["K"]);
        let mut unit = capacity_unit(&mut cursor);
        if thousands {
            // `12K` are thousands of Btu/h, in a column of MBH as well.
            let column = match ctx.unit {
                Some(ColumnUnit::Mbh) => Some(ColumnUnit::BtuPerHour),
                other => other,
            };
            unit = unit.or(column);
            if !matches!(unit, None | Some(ColumnUnit::BtuPerHour)) {
                return None;
            }
            value *= 1000.0;
        }
        if !cursor.done() {
            return None;
        }
        // `12/16 MBH` are two values; tons alone come in fractions.
        let fraction = tokens.iter().any(|token| token.is_sign('/'))
            && tokens.iter().filter(|t| t.number().is_some()).count() > 1;
        if fraction && unit.or(ctx.unit) != Some(ColumnUnit::Tons) {
            return None;
        }
        let factor = match unit.or(ctx.unit) {
            Some(ColumnUnit::Mbh) => 1.0,
            Some(ColumnUnit::BtuPerHour) => 0.001,
            Some(ColumnUnit::Tons) => 12.0,
            // 12,000 Btu/h are 3.517 kW.
            Some(ColumnUnit::Kilowatts) => 12.0 / 3.517,
            Some(ColumnUnit::Watts) => 12.0 / 3517.0,
            Some(_) => return None,
            None if value < 1000.0 => 1.0,
            None if (5_000.0..=1_000_000.0).contains(&value) => 0.001,
            None => return None,
        };
        Some(Measured {
            value: Mbh(value * factor),
            unit_stated: unit.or(ctx.unit).is_some(),
        })
    };
    let expected = "a capacity, as in 36 MBH or 36,000 BTU/h";
    read_or_guess(text, expected, parse, |folded| {
        let (first, rest) = folded.split_once('/')?;
        let unit = rest.trim_start_matches(|c: char| c.is_ascii_digit() || ". ,".contains(c));
        let second = rest.get(..rest.len() - unit.len())?;
        second.parse::<f64>().or(second.trim().parse()).ok()?;
        let guess = format!("{} {unit}", first.trim());
        parse(&guess).map(|_| guess.trim().to_owned())
    })
}

fn capacity_unit(cursor: &mut Cursor<'_>) -> Option<ColumnUnit> {
    let unit = if cursor.word(&["MBH", "KBTUH", "MBTUH"]) {
        ColumnUnit::Mbh
    } else if cursor.word(&["KBTU"]) {
        per_hour(cursor);
        ColumnUnit::Mbh
    } else if cursor.word(&["BTUH"]) {
        ColumnUnit::BtuPerHour
    } else if cursor.word(&["BTU", "BTUS"]) {
        per_hour(cursor);
        ColumnUnit::BtuPerHour
    } else if cursor.word(&["TON", "TONS", "TR"]) {
        ColumnUnit::Tons
    } else if cursor.word(&["KW"]) {
        ColumnUnit::Kilowatts
    } else {
        return None;
    };
    Some(unit)
}

fn per_hour(cursor: &mut Cursor<'_>) {
    let mut ahead = *cursor;
    if ahead.sign('/') && ahead.word(&["H", "HR", "HOUR"]) {
        *cursor = ahead;
    }
}

/// Power of a heater: `5 kW`, `5000 W`, `9.6`. A bare number without a
/// column's unit is taken as kW, up to 200.
pub fn kilowatts(text: &str, ctx: &Context) -> Reading<Measured<Kilowatts>> {
    read(text, "kilowatts, as in 9.6 kW", |folded| {
        let tokens = tokens(folded, ctx.style.digits());
        let mut cursor = Cursor::new(&tokens);
        let value = cursor.number()?;
        let unit = power_unit(&mut cursor);
        if !cursor.done() {
            return None;
        }
        in_kilowatts(value, unit.or(ctx.unit))
    })
}

pub(super) fn power_unit(cursor: &mut Cursor<'_>) -> Option<ColumnUnit> {
    if cursor.word(&["KW", "KILOWATT", "KILOWATTS"]) {
        Some(ColumnUnit::Kilowatts)
    } else if cursor.word(&["W", "WATT", "WATTS"]) {
        Some(ColumnUnit::Watts)
    } else {
        None
    }
}

pub(super) fn in_kilowatts(value: f64, unit: Option<ColumnUnit>) -> Option<Measured<Kilowatts>> {
    let kilowatts = match unit {
        Some(ColumnUnit::Kilowatts) => value,
        Some(ColumnUnit::Watts) => value / 1000.0,
        None if value <= 200.0 => value,
        _ => return None,
    };
    Some(Measured {
        value: Kilowatts(kilowatts),
        unit_stated: unit.is_some(),
    })
}

/// Load of a circuit: `2,880 VA`, `2.88 kVA`, `2880`.
pub fn volt_amps(text: &str, ctx: &Context) -> Reading<Measured<VoltAmps>> {
    read(text, "volt-amperes, as in 2,880 VA", |folded| {
        let tokens = tokens(folded, ctx.style.digits());
        let mut cursor = Cursor::new(&tokens);
        let value = cursor.number()?;
        let unit = if cursor.word(&["VA"]) {
            Some(ColumnUnit::VoltAmps)
        } else if cursor.word(&["KVA"]) {
            Some(ColumnUnit::KilovoltAmps)
        } else {
            ctx.unit
        };
        if !cursor.done() {
            return None;
        }
        let volt_amps = match unit {
            Some(ColumnUnit::VoltAmps) | None => value,
            Some(ColumnUnit::KilovoltAmps) => value * 1000.0,
            Some(_) => return None,
        };
        Some(Measured {
            value: VoltAmps(volt_amps),
            unit_stated: unit.is_some(),
        })
    })
}

/// `1/2 HP`, `30HP`, `1-1/2`, `0.75`.
pub fn horsepower(text: &str, ctx: &Context) -> Reading<Horsepower> {
    read(text, "horsepower, as in 1/2 HP", |folded| {
        let tokens = tokens(folded, ctx.style.digits());
        let mut cursor = Cursor::new(&tokens);
        let value = small_motor(&mut cursor).or_else(|| cursor.mixed())?;
        let stated = cursor.word(&["HP", "BHP"]);
        let column = matches!(ctx.unit, None | Some(ColumnUnit::Horsepower));
        (cursor.done() && (stated || column)).then_some(Horsepower(value))
    })
}

/// `1/6`, `1/20`: motors of fans come in fractions that no rule has.
fn small_motor(cursor: &mut Cursor<'_>) -> Option<f64> {
    let mut ahead = *cursor;
    ahead.whole(1, 1)?;
    if !ahead.sign('/') {
        return None;
    }
    let under = ahead.whole(2, 60)?;
    *cursor = ahead;
    Some(1.0 / f64::from(under))
}

/// `40°C`, `104 F`; a bare number only where the column names its unit: 40
/// may be either.
pub fn temperature(text: &str, ctx: &Context) -> Reading<Celsius> {
    read(text, "a temperature with its unit, as in 40 °C", |folded| {
        let tokens = tokens(folded, ctx.style.digits());
        let mut cursor = Cursor::new(&tokens);
        let negative = cursor.sign('-');
        let value = cursor.number()?;
        let value = if negative { -value } else { value };
        let mut unit = ctx.unit;
        cursor.word(&["DEG", "°", "DEGREES"]);
        if cursor.word(&["C", "°C", "CELSIUS"]) {
            unit = Some(ColumnUnit::Celsius);
        } else if cursor.word(&["F", "°F", "FAHRENHEIT"]) {
            unit = Some(ColumnUnit::Fahrenheit);
        }
        if !cursor.done() {
            return None;
        }
        let degrees = match unit? {
            ColumnUnit::Celsius => value,
            ColumnUnit::Fahrenheit => (value - 32.0) / 1.8,
            _ => return None,
        };
        (-90.0..=200.0)
            .contains(&degrees)
            .then_some(Celsius(degrees))
    })
}

/// A count in a column of its own: `12`, `12 units`, `max 12`.
pub fn whole_number(text: &str, ctx: &Context) -> Reading<u32> {
    read(text, "a whole number, as in 12", |folded| {
        let tokens = tokens(folded, ctx.style.digits());
        let mut cursor = Cursor::new(&tokens);
        cursor.word(&["MAX"]);
        let value = cursor.whole(0, 1_000_000)?;
        cursor.word(&["UNITS", "UNIT", "CONDUCTORS", "MAX"]);
        cursor.done().then_some(value)
    })
}

#[cfg(test)]
mod tests {
    use super::super::Style;
    use super::*;

    #[test]
    fn lengths_in_every_spelling() {
        let ctx = Context::default();
        for (text, feet) in [
            ("12'-6\"", 12.5),
            ("12’-6”", 12.5),
            ("12′ 6″", 12.5),
            ("12'6''", 12.5),
            ("12ft 6in", 12.5),
            ("12'-6 1/2\"", 12.0 + 6.5 / 12.0),
            ("150'", 150.0),
            ("1,250 LF", 1250.0),
            ("~200 ft", 200.0),
            ("approx. 200 ft", 200.0),
            ("150 L.F.", 150.0),
            ("150 ft.", 150.0),
            ("36\"", 3.0),
            ("65' / 20 m", 20.0 / 0.3048),
            ("150' one-way", 150.0),
            ("150 linear feet", 150.0),
            ("100 FT.", 100.0),
            ("100ft +/-", 100.0),
            ("100 ft ±", 100.0),
            ("~30m", 30.0 / 0.3048),
            ("100' (30 m)", 100.0),
        ] {
            let read = length(text, &ctx).value();
            assert!(
                read.is_some_and(|of| of.unit_stated && (of.value.0 - feet).abs() < 1e-9),
                "{text}: {read:?}"
            );
        }
        // 500 m = 1,640.4 ft, as printed in data of the trade.
        let read = length("500 m", &ctx).value();
        assert!(read.is_some_and(|of| (of.value.0 - 1640.4).abs() < 0.05));
        assert_eq!(
            length("150", &ctx).value(),
            Some(Measured {
                value: Feet(150.0),
                unit_stated: false
            })
        );
        let metres = Context {
            unit: Some(ColumnUnit::Metres),
            ..ctx
        };
        assert_eq!(
            length("1", &metres).value(),
            Some(Measured {
                value: Feet::from_metres(1.0),
                unit_stated: true
            })
        );
        let comma = Context {
            style: Style::Comma,
            unit: None,
        };
        assert_eq!(
            length("12,5 m", &comma).value().map(|of| of.value),
            Some(Feet::from_metres(12.5))
        );
        for text in [
            "short",
            "100-150",
            "150+",
            "200' R/T",
            "20 m / 100'",
            "12'-14\"",
            "-5",
            "150 yd",
            "10/2",
            "100 ft +/- 10 ft",
            "100+",
        ] {
            assert!(length(text, &ctx).is_unreadable(), "{text}");
        }
        for (text, expected) in [
            ("100-120 ft", Some("120 ft")),
            ("100' - 120'", Some("120 ft")),
            ("100 to 120 ft", Some("120 ft")),
            ("100+20", Some("120 ft")),
            ("100 ft + 20 ft", Some("120 ft")),
            ("10-20 m", Some("65.62 ft")),
            ("120-100 ft", None),
        ] {
            let guess = match length(text, &ctx) {
                Reading::Unreadable { guess, .. } => guess,
                other => panic!("{text}: {other:?}"),
            };
            assert_eq!(guess.as_deref(), expected, "{text}");
        }
        assert_eq!(length("N/A", &ctx), Reading::Blank);
        assert_eq!(length("EXISTING", &ctx), Reading::Elsewhere);
    }

    #[test]
    fn capacities_and_powers() {
        let ctx = Context::default();
        for (text, mbh) in [
            ("36 MBH", 36.0),
            ("36,000 BTU/h", 36.0),
            ("36000 BTUH", 36.0),
            ("3 tons", 36.0),
            ("3.517 kW", 12.0),
            ("1-1/2 ton", 18.0),
            ("36 kBtu/hr", 36.0),
            ("12.0 MBH", 12.0),
            ("1 TON", 12.0),
            ("3/4 ton", 9.0),
            ("12000 BTU/H", 12.0),
            ("12K BTU/H", 12.0),
        ] {
            let read = capacity(text, &ctx).value();
            assert!(
                read.is_some_and(|of| of.unit_stated && (of.value.0 - mbh).abs() < 1e-9),
                "{text}"
            );
        }
        assert_eq!(
            capacity("36", &ctx).value(),
            Some(Measured {
                value: Mbh(36.0),
                unit_stated: false
            })
        );
        for (text, mbh) in [("12K", 12.0), ("12,000", 12.0), ("36000", 36.0)] {
            let read = capacity(text, &ctx).value();
            assert!(
                read.is_some_and(|of| !of.unit_stated && (of.value.0 - mbh).abs() < 1e-9),
                "{text}"
            );
        }
        let column = |unit| Context {
            unit: Some(unit),
            ..ctx
        };
        for unit in [ColumnUnit::Mbh, ColumnUnit::BtuPerHour] {
            let read = capacity("12K", &column(unit)).value();
            assert!(read.is_some_and(|of| of.unit_stated && (of.value.0 - 12.0).abs() < 1e-9));
        }
        assert!(capacity("12K", &column(ColumnUnit::Tons)).is_unreadable());
        for text in [
            "36/40",
            "36 HP",
            "12/16 MBH",
            "3/4",
            "12K MBH",
            "12K tons",
            "2000000",
            "12 K W",
            "1500",
        ] {
            assert!(capacity(text, &ctx).is_unreadable(), "{text}");
        }
        for text in ["9/12 MBH", "9 / 12.5 MBH"] {
            assert!(
                matches!(
                    capacity(text, &ctx),
                    Reading::Unreadable { guess: Some(ref guess), .. } if guess == "9 MBH"
                ),
                "{text}"
            );
        }
        for (text, kw) in [("9.6 kW", 9.6), ("5000W", 5.0), ("2.5", 2.5), ("0", 0.0)] {
            assert_eq!(
                kilowatts(text, &ctx).value().map(|of| of.value),
                Some(Kilowatts(kw)),
                "{text}"
            );
        }
        for text in ["5000", "10/7.5", "5 kW @ 240V", "5 kVA"] {
            assert!(kilowatts(text, &ctx).is_unreadable(), "{text}");
        }
        assert_eq!(
            volt_amps("2.5 kVA", &ctx).value().map(|of| of.value),
            Some(VoltAmps(2500.0))
        );
        for (text, hp) in [
            ("1/2 HP", 0.5),
            ("30HP", 30.0),
            ("1/4", 0.25),
            ("1/5", 0.2),
            ("1/20 HP", 0.05),
            ("1-1/2", 1.5),
            ("½ H.P.", 0.5),
            ("1½ hp", 1.5),
        ] {
            assert_eq!(
                horsepower(text, &ctx),
                Reading::Value(Horsepower(hp)),
                "{text}"
            );
        }
        for text in ["30/2 HP", "1/208", "6/1"] {
            assert!(horsepower(text, &ctx).is_unreadable(), "{text}");
        }
    }

    #[test]
    fn temperatures_need_their_unit() {
        let ctx = Context::default();
        for (text, degrees) in [
            ("40°C", 40.0),
            ("104 °F", 40.0),
            ("104F", 40.0),
            ("40 deg C", 40.0),
            ("-5 C", -5.0),
        ] {
            let read = temperature(text, &ctx).value();
            assert!(
                read.is_some_and(|of| (of.0 - degrees).abs() < 1e-9),
                "{text}"
            );
        }
        assert!(temperature("40", &ctx).is_unreadable());
        let fahrenheit = Context {
            unit: Some(ColumnUnit::Fahrenheit),
            ..ctx
        };
        assert!(
            temperature("95", &fahrenheit)
                .value()
                .is_some_and(|of| (of.0 - 35.0).abs() < 1e-9)
        );
        assert_eq!(whole_number("12 units", &ctx), Reading::Value(12));
        assert!(whole_number("12.5", &ctx).is_unreadable());
    }
}
