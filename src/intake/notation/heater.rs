//! The rating of an electric heater, with its volts where the cell tells them.

use super::measure::{Measured, in_kilowatts, power_unit};
use super::supply::{self, Parts};
use super::text::{Cursor, Token, tokens};
use super::{Context, Reading, read_or_guess};
use crate::schedule::{Kilowatts, Volts};

/// A heater of one cell: `5 kW @ 240V`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heater {
    pub rating: Measured<Kilowatts>,
    /// The volts of that rating; `None` where the cell does not tell.
    pub volts: Option<Volts>,
}

/// What a cell says, before its ratings are matched with its volts.
struct Written {
    ratings: Vec<Measured<Kilowatts>>,
    parts: Parts,
}

/// `5 kW`, `5 kW @ 240V`, `5.0kW/240V`, `5 kW (240 V)`, `10KW-240-1`.
///
/// Of two ratings (`5.0/3.8 kW @ 240/208V`) the one at the higher voltage. A
/// rating with two voltages, or two ratings without any, is not read.
pub fn heater(text: &str, ctx: &Context) -> Reading<Heater> {
    read_or_guess(
        text,
        "a heater's rating, as in 5 kW or 5 kW @ 240 V",
        |folded| matched(&written(folded, ctx)?),
        |folded| guess(&written(folded, ctx)?),
    )
}

fn matched(of: &Written) -> Option<Heater> {
    match (of.ratings.as_slice(), of.parts.volts.as_slice()) {
        ([rating], []) => Some(Heater {
            rating: *rating,
            volts: None,
        }),
        ([rating], [volts]) => Some(heater_at(*rating, *volts)),
        // More power at more volts, or the pairs are crossed.
        ([first, second], [at_first, at_second]) => {
            let falling = first.value > second.value && at_first > at_second;
            let rising = first.value < second.value && at_first < at_second;
            if falling {
                Some(heater_at(*first, *at_first))
            } else if rising {
                Some(heater_at(*second, *at_second))
            } else {
                None
            }
        }
        _ => None,
    }
}

fn heater_at(rating: Measured<Kilowatts>, volts: u32) -> Heater {
    Heater {
        rating,
        volts: Some(Volts(f64::from(volts))),
    }
}

/// The highest rating at the highest volts.
fn guess(of: &Written) -> Option<String> {
    let highest = of
        .ratings
        .iter()
        .map(|rating| rating.value)
        .reduce(|a, b| if b > a { b } else { a })?;
    Some(match of.parts.volts.iter().max() {
        Some(volts) => format!("{highest} @ {volts} V"),
        None => highest.to_string(),
    })
}

fn written(folded: &str, ctx: &Context) -> Option<Written> {
    let mut tokens = tokens(folded, ctx.style.digits());
    let bracket = open_brackets(&mut tokens)?;
    let mut cursor = Cursor::new(&tokens);
    let first = cursor.number()?;
    let mut unit = power_unit(&mut cursor);
    let mut values = vec![first];
    let mut ahead = cursor;
    // A second rating bears the unit, else `/240` would be one; or it ends
    // the cell.
    if ahead.sign('/')
        && let Some(second) = ahead.number()
    {
        let own = power_unit(&mut ahead);
        if own.is_some() && (unit.is_none() || unit == own) {
            unit = own;
            values.push(second);
            cursor = ahead;
        } else if unit.is_none() && second < 100.0 && ends_ratings(&ahead, bracket) {
            values.push(second);
            cursor = ahead;
        }
    }
    let alone = cursor.done();
    let at = cursor.any_sign("@/-,") == Some('@') || cursor.word(&["AT"]);
    let volt_word = |token: &Token| token.is_word(&["V", "VAC", "VOLT", "VOLTS"]);
    let marked = unit.is_some() || at || bracket || tokens.iter().any(volt_word);
    let parts = supply::rest(cursor)?;
    let told = !parts.volts.is_empty() || parts.phases.is_some();
    if parts.wye || !(alone || told && marked) {
        return None;
    }
    let in_kilowatts = |value| in_kilowatts(value, unit.or(ctx.unit));
    let ratings = values
        .into_iter()
        .map(in_kilowatts)
        .collect::<Option<Vec<_>>>()?;
    Some(Written { ratings, parts })
}

/// Whether the volts, or nothing, stand behind two ratings without a unit.
fn ends_ratings(rest: &Cursor<'_>, bracket: bool) -> bool {
    rest.peek().is_none_or(|next| bracket || next.is_sign('@'))
}

/// Takes away the brackets around the end, `(240 V)`, and tells whether there
/// were any; `None` where brackets stand otherwise.
fn open_brackets(tokens: &mut Vec<Token>) -> Option<bool> {
    let open = tokens.iter().position(|token| token.is_sign('('));
    let close = tokens.iter().position(|token| token.is_sign(')'));
    match (open, close) {
        (None, None) => Some(false),
        (Some(open), Some(close)) if open > 0 && open + 1 < close && close + 1 == tokens.len() => {
            tokens.pop();
            tokens.remove(open);
            Some(true)
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::super::ColumnUnit;
    use super::*;

    fn column(unit: ColumnUnit) -> Context {
        Context {
            unit: Some(unit),
            ..Context::default()
        }
    }

    #[test]
    fn ratings_with_and_without_volts() {
        for (text, kilowatts, volts) in [
            ("5 kW @ 240V", 5.0, Some(240.0)),
            ("5.0kW/240V", 5.0, Some(240.0)),
            ("5 kW (240 V)", 5.0, Some(240.0)),
            ("10KW-240-1", 10.0, Some(240.0)),
            ("10 kW 208V 3PH", 10.0, Some(208.0)),
            ("9.6kW, 240V/1PH/60HZ", 9.6, Some(240.0)),
            ("5000W @ 240V", 5.0, Some(240.0)),
            ("5 @ 240", 5.0, Some(240.0)),
            ("5.0/3.8 kW @ 240/208V", 5.0, Some(240.0)),
            ("3.8/5.0 kW @ 208/240V", 5.0, Some(240.0)),
            ("5.0kW/3.8kW (240/208V)", 5.0, Some(240.0)),
            ("10.0/7.5 @ 240/208", 10.0, Some(240.0)),
            ("4.8/3.6 (240/208)", 4.8, Some(240.0)),
            ("9.6 kW", 9.6, None),
            ("5000W", 5.0, None),
            ("2.5", 2.5, None),
            ("0", 0.0, None),
            ("5 kW 1PH", 5.0, None),
        ] {
            let read = heater(text, &Context::default()).value();
            let shown = read.map(|of| (of.rating.value.0, of.volts.map(|volts| volts.0)));
            assert_eq!(shown, Some((kilowatts, volts)), "{text}");
        }
        let assumed = heater("5 @ 240V", &Context::default()).value();
        assert!(assumed.is_some_and(|of| !of.rating.unit_stated));
        let told = heater("5 @ 240V", &column(ColumnUnit::Kilowatts)).value();
        assert!(told.is_some_and(|of| of.rating.unit_stated));
        let watts = heater("5000/240V", &column(ColumnUnit::Watts)).value();
        assert!(watts.is_some_and(|of| of.rating.value == Kilowatts(5.0)));
    }

    #[test]
    fn what_may_be_meant_otherwise_is_asked() {
        for (text, expected) in [
            ("5 kW @ 208/240V", Some("5 kW @ 240 V")),
            ("3.8/5.0 kW @ 240/208V", Some("5 kW @ 240 V")),
            ("5.0/3.8 kW @ 240V", Some("5 kW @ 240 V")),
            ("10/7.5", Some("10 kW")),
            ("10/7.5 kW", Some("10 kW")),
            ("5/240", None),
            ("5-240-1", None),
            ("5000", None),
            ("5 kVA", None),
            ("(2) 5 kW", None),
            ("5 kW @", None),
            ("5 kW/", None),
            ("5 kW @ 24V", None),
            ("5 kW @ 208Y/120V", None),
        ] {
            let guess = match heater(text, &Context::default()) {
                Reading::Unreadable { guess, .. } => guess,
                other => panic!("{text}: {other:?}"),
            };
            assert!(
                expected.is_none() || guess.as_deref() == expected,
                "{text}: {guess:?}"
            );
        }
    }
}
