//! Dates that stand where a wire or a breaker was typed.
//!
//! A spreadsheet turns `10/2` into 2 October, where the month is written
//! first, and `14/2` into 14 February, where the day is; `2/30`, poles and
//! amperes, becomes February 1930. Here are the texts that may have been
//! typed; which of them holds is for the row to say, never for this module.

use super::facts::month_of;
use super::text::{Cursor, Digits, Kind, fold, tokens};
use super::{Context, Reading, breaker};

/// A date that stands where a wire or a breaker is expected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DateDamage {
    /// `None` where only the shown text is known and shows none.
    pub year: Option<i16>,
    pub month: u8,
    /// `None` where the text shows month and year alone: `Feb-30`.
    pub day: Option<u8>,
}

impl DateDamage {
    /// From the text that a cell shows: `2-Oct`, `Oct-2`, `10/2/2026`,
    /// `2026-10-02`, `Feb-30`. A slash between two numbers alone (`10/2`) is
    /// no date.
    pub fn from_text(text: &str) -> Option<Self> {
        let folded = fold(text);
        let without_time = folded.split(" 00:00").next().unwrap_or(&folded);
        let tokens = tokens(without_time, Digits::Whole);
        let mut numbers: Vec<(i16, usize)> = Vec::new();
        let mut month = None;
        for token in &tokens {
            match token.kind {
                Kind::Number(_) => numbers.push((token.text.parse().ok()?, token.text.len())),
                Kind::Word if month.is_none() => month = Some(month_of(&token.text)?),
                Kind::Sign(c) if "/-., ".contains(c) => {}
                _ => return None,
            }
        }
        let month = month.and_then(|month| u8::try_from(month).ok());
        let (year, month, day) = match (numbers.as_slice(), month) {
            // `Feb-30`: no February has a day 30, so 30 is the year; `Oct-2`
            // and `2-Oct` are days.
            (&[(number, 1 | 2)], Some(month)) if number > days_in(month) => {
                (Some(two_digit_year(number)), month, None)
            }
            (&[(day, 1 | 2)], Some(month)) => (None, month, Some(day)),
            (&[(year, 4)], Some(month)) => (Some(year), month, None),
            (&[(day, 1 | 2), (year, 4)], Some(month)) => (Some(year), month, Some(day)),
            (&[(day, 1 | 2), (year, 2)], Some(month)) => {
                (Some(two_digit_year(year)), month, Some(day))
            }
            (&[(year, 4), (month, _), (day, _)], None) => {
                (Some(year), u8::try_from(month).ok()?, Some(day))
            }
            (&[(month, 1 | 2), (day, 1 | 2), (year, 4)], None) => {
                (Some(year), u8::try_from(month).ok()?, Some(day))
            }
            _ => return None,
        };
        let day = match day {
            Some(day) => Some(u8::try_from(day).ok()?),
            None => None,
        };
        let sound = (1..=12).contains(&month) && day.is_none_or(|day| (1..=31).contains(&day));
        sound.then_some(Self { year, month, day })
    }
}

fn days_in(month: u8) -> i16 {
    match month {
        2 => 29,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

/// Spreadsheets read 00 to 29 as 20xx and 30 to 99 as 19xx (common practice,
/// no source).
fn two_digit_year(year: i16) -> i16 {
    if year < 30 { 2000 + year } else { 1900 + year }
}

/// What may have been typed, likelier first, without judging it.
///
/// `format` is the cell's number format, if known: a day before the month
/// with no month's name puts the day-first reading first; a month and a year
/// alone puts the year's.
pub fn date_damage(date: DateDamage, format: Option<&str>) -> Vec<String> {
    let format = format.unwrap_or_default().to_lowercase();
    let month = date.month;
    let mut readings: Vec<String> = Vec::new();
    let with_year = date
        .year
        .map(|year| format!("{month}/{:02}", year.rem_euclid(100)));
    let shows_year_alone = format.contains('y') && format.contains('m') && !format.contains('d');
    match date.day {
        None => {
            readings.extend(with_year);
            // A text that shows no day hides the first of the month.
            readings.push(format!("{month}/1"));
        }
        Some(day) => {
            let month_first = format!("{month}/{day}");
            let day_first = format!("{day}/{month}");
            let numeric = !format.contains("mmm");
            let day_leads =
                matches!((format.find('d'), format.find('m')), (Some(d), Some(m)) if d < m);
            let (first, second) = if numeric && day_leads {
                (day_first, month_first)
            } else {
                (month_first, day_first)
            };
            let year_first =
                shows_year_alone || day == 1 && date.year.is_some_and(|year| year < 2000);
            if year_first {
                readings.extend(with_year.clone());
            }
            readings.extend([first, second]);
            if day == 1 && !year_first {
                readings.extend(with_year);
            }
            // `1-3-5`, the slots of a breaker, is 3 January 2005.
            if let Some(year) = date.year {
                readings.push(format!("{month}-{day}-{}", year.rem_euclid(100)));
            }
        }
    }
    let mut seen: Vec<String> = Vec::new();
    for reading in readings {
        if !seen.contains(&reading) {
            seen.push(reading);
        }
    }
    seen
}

/// Keeps the originals that a field's grammar reads.
pub fn readable<T>(
    originals: Vec<String>,
    grammar: fn(&str, &Context) -> Reading<T>,
    ctx: &Context,
) -> Vec<String> {
    let reads = |text: &String| matches!(grammar(text, ctx), Reading::Value(_));
    originals.into_iter().filter(reads).collect()
}

/// Keeps those that name a cable or a low-voltage wire of the trade.
pub fn plausible_wires(originals: Vec<String>) -> Vec<String> {
    let plausible = |text: &String| {
        let tokens = tokens(text, Digits::Whole);
        let mut cursor = Cursor::new(&tokens);
        let (Some(gauge), Some(_)) = (cursor.whole(1, 99), cursor.any_sign("/")) else {
            return false;
        };
        let most = match gauge {
            2 | 4 | 6 | 8 | 10 | 12 => 4,
            14 | 16 | 18 | 20 | 22 => 12,
            _ => return false,
        };
        cursor.whole(2, most).is_some() && cursor.done()
    };
    originals.into_iter().filter(plausible).collect()
}

/// Keeps those that name a breaker: a standard rating from 15 A (NFPA 70
/// 240.6(A)) and 1 to 3 poles, in either order.
pub fn plausible_breakers(originals: Vec<String>) -> Vec<String> {
    const RATINGS: [f64; 14] = [
        15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0, 110.0,
    ];
    let plausible = |text: &String| match breaker(text, &Context::default()) {
        Reading::Value(of) => of.poles.is_some() && RATINGS.contains(&of.amps.0),
        _ => false,
    };
    originals.into_iter().filter(plausible).collect()
}

#[cfg(test)]
mod tests {
    use super::super::{conductor, low_voltage_wire};
    use super::*;

    fn originals(shown: &str) -> Vec<String> {
        DateDamage::from_text(shown)
            .map(|date| date_damage(date, None))
            .unwrap_or_default()
    }

    #[test]
    fn what_was_typed_before_it_became_a_date() {
        for (shown, wire) in [
            ("2-Oct", "10/2"),
            ("2-Dec", "12/2"),
            ("3-Aug", "8/3"),
            ("10/2/2026", "10/2"),
            ("2026-10-02", "10/2"),
            ("2026-10-02 00:00:00", "10/2"),
            ("14-Feb", "14/2"),
            ("18-Feb", "18/2"),
            ("3-Jun", "6/3"),
            ("Oct-2", "10/2"),
        ] {
            let wires = plausible_wires(originals(shown));
            assert_eq!(wires.first().map(String::as_str), Some(wire), "{shown}");
        }
        // 10/2 alone is a wire: 2/10 has ten conductors of 2 AWG.
        assert_eq!(plausible_wires(originals("2-Oct")), ["10/2"]);
        // Both readings stay where both are wires.
        assert_eq!(plausible_wires(originals("4-Feb")), ["2/4", "4/2"]);
        for (shown, breaker) in [
            ("Feb-30", "2/30"),
            ("Feb-40", "2/40"),
            ("20-Feb", "2/20"),
            ("1930-02-01", "2/30"),
        ] {
            let breakers = plausible_breakers(originals(shown));
            assert_eq!(
                breakers.first().map(String::as_str),
                Some(breaker),
                "{shown}"
            );
        }
        assert!(plausible_breakers(originals("2-Oct")).is_empty());
        for text in [
            "10/2",
            "30A/2P",
            "10/2 NM-B",
            "Oct",
            "13/13/2026/1",
            "TBD",
            "",
        ] {
            assert_eq!(DateDamage::from_text(text), None, "{text}");
        }
    }

    #[test]
    fn the_number_format_orders_the_readings() {
        let date = DateDamage {
            year: Some(2026),
            month: 4,
            day: Some(2),
        };
        assert_eq!(date_damage(date, Some("d-mmm"))[..2], ["4/2", "2/4"]);
        assert_eq!(date_damage(date, Some("dd/mm/yyyy"))[..2], ["2/4", "4/2"]);
        let first = DateDamage {
            year: Some(1930),
            month: 2,
            day: Some(1),
        };
        assert_eq!(
            date_damage(first, Some("mmm-yy"))
                .first()
                .map(String::as_str),
            Some("2/30")
        );
        let slots = DateDamage {
            year: Some(2005),
            month: 1,
            day: Some(3),
        };
        let ctx = Context::default();
        assert!(
            readable(date_damage(slots, None), super::super::slots, &ctx)
                .contains(&"1-3-5".to_owned())
        );
    }

    #[test]
    fn a_field_keeps_what_its_grammar_reads() {
        let ctx = Context::default();
        assert_eq!(readable(originals("2-Oct"), conductor, &ctx), ["10/2"]);
        assert_eq!(
            readable(originals("18-Feb"), low_voltage_wire, &ctx),
            ["18/2"]
        );
    }
}
