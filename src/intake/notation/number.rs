//! Plain numbers, and the decimal style of a file.

use super::text::{Cursor, Digits, fold, tokens};
use super::{Context, Reading, read};

/// How a file writes its decimals.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub enum Style {
    /// `1,250.5`.
    #[default]
    Point,
    /// `1.250,5`.
    Comma,
}

impl Style {
    pub(super) fn digits(self) -> Digits {
        match self {
            Self::Point => Digits::Point,
            Self::Comma => Digits::Comma,
        }
    }
}

/// Settles a file's style from the texts of its cells.
///
/// Comma only where cells show decimal commas and hardly one shows a decimal
/// point. `1,3` and `13,15` are slots of a panel and count for neither.
pub fn decimal_style<'a>(texts: impl IntoIterator<Item = &'a str>) -> Style {
    let (mut points, mut commas) = (0_u32, 0_u32);
    for text in texts {
        match evidence(text) {
            Some(Style::Point) => points += 1,
            Some(Style::Comma) => commas += 1,
            None => {}
        }
    }
    if commas > points.saturating_mul(2) {
        Style::Comma
    } else {
        Style::Point
    }
}

fn evidence(text: &str) -> Option<Style> {
    let folded = fold(text);
    let end = folded
        .find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ','))
        .unwrap_or(folded.len());
    let (number, unit) = folded.split_at(end);
    if unit.chars().any(|c| c.is_ascii_digit() || c == ',') {
        return None;
    }
    match (number.split_once(','), number.split_once('.')) {
        (Some((whole, part)), None) => {
            if part.contains(',') || part.is_empty() || whole.is_empty() || part.len() > 2 {
                return None;
            }
            let (left, right): (u32, u32) = (whole.parse().ok()?, part.parse().ok()?);
            let slots = right.abs_diff(left) <= 2 && !part.starts_with('0');
            (!slots).then_some(Style::Comma)
        }
        (None, Some((whole, part))) => {
            let decimals = !part.contains('.') && !part.is_empty() && part.len() != 3;
            (decimals && !whole.is_empty()).then_some(Style::Point)
        }
        (Some(_), Some(_)) => {
            let (comma, point) = (number.rfind(',')?, number.rfind('.')?);
            Some(if comma > point {
                Style::Comma
            } else {
                Style::Point
            })
        }
        (None, None) => None,
    }
}

const EXPECTED: &str = "a number, as in 12.5 or 3/4";

/// A bare number: `1,250`, `1'250`, `3/4`, `1-1/2`, `½`, `~200`, `approx 200`.
pub fn number(text: &str, style: Style) -> Reading<f64> {
    let ctx = Context { style, unit: None };
    read(text, EXPECTED, |folded| parse(folded, &ctx))
}

fn parse(folded: &str, ctx: &Context) -> Option<f64> {
    let tokens = tokens(folded, ctx.style.digits());
    let mut cursor = Cursor::new(&tokens);
    about(&mut cursor);
    let negative = cursor.sign('-');
    let value = cursor.mixed()?;
    cursor
        .done()
        .then_some(if negative { -value } else { value })
}

/// Passes over words and signs for 'about'; says whether there was one.
pub(super) fn about(cursor: &mut Cursor<'_>) -> bool {
    let mut ahead = *cursor;
    let plus_minus = ahead.sign('+') && ahead.sign('/') && ahead.sign('-');
    if plus_minus {
        *cursor = ahead;
        return true;
    }
    cursor.any_sign("~±").is_some()
        || cursor.word(&["APPROX", "APPROXIMATELY", "ABOUT", "CA", "ABT"])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_in_both_styles() {
        for (text, value) in [
            ("12", 12.0),
            ("12.5", 12.5),
            (".5", 0.5),
            ("1,250", 1250.0),
            ("1'250", 1250.0),
            ("1\u{a0}250", 1250.0),
            ("1,234,567.5", 1_234_567.5),
            ("3/4", 0.75),
            ("1-1/2", 1.5),
            ("1 1/2", 1.5),
            ("½", 0.5),
            ("1½", 1.5),
            ("~200", 200.0),
            ("approx. 200", 200.0),
            ("-5", -5.0),
            ("−5", -5.0),
            ("0.125", 0.125),
            ("+/- 30", 30.0),
            (" 7 ", 7.0),
        ] {
            assert_eq!(number(text, Style::Point), Reading::Value(value), "{text}");
        }
        for (text, value) in [
            ("12,5", 12.5),
            ("1.250", 1250.0),
            ("1.250,5", 1250.5),
            ("0,75", 0.75),
            ("1,250", 1.25),
        ] {
            assert_eq!(number(text, Style::Comma), Reading::Value(value), "{text}");
        }
        for text in [
            "14,5", "short", "12?", "30/2", "1 2", "1.2.3", "12 ft", "#N/A", "2E5",
        ] {
            assert!(number(text, Style::Point).is_unreadable(), "{text}");
        }
        assert!(number("14.5", Style::Comma).is_unreadable());
        assert!(number(&"9".repeat(400), Style::Point).is_unreadable());
        assert!(matches!(
            number("12?", Style::Point),
            Reading::Unreadable { guess: Some(guess), .. } if guess == "12"
        ));
        assert!(matches!(
            number("short", Style::Point),
            Reading::Unreadable { guess: None, .. }
        ));
    }

    #[test]
    fn a_file_settles_its_style_once() {
        assert_eq!(decimal_style(["1,3", "2,4", "13,15", "30"]), Style::Point);
        assert_eq!(
            decimal_style(["14,5 A", "18,25", "1.250,5", "1,3"]),
            Style::Comma
        );
        assert_eq!(decimal_style(["14.5", "1,250", "3,75"]), Style::Point);
        assert_eq!(decimal_style(["1,250", "2,000"]), Style::Point);
        assert_eq!(decimal_style([]), Style::Point);
    }
}
