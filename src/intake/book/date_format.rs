//! Formats of dates and times, taken apart and shown.

use super::calendar::{self, Clock};
use super::number_format::Token;
use std::fmt::Write;

/// A part of a date format; the number is how often its letter stands.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Piece {
    Literal(char),
    Year(usize),
    Month(usize),
    Day(usize),
    Hour(usize),
    Minute(usize),
    Second(usize),
    /// Hours, minutes or seconds in all: `[h]`.
    Elapsed(char),
    HalfDay,
}

/// Gathers runs of one letter; `m` is minutes after hours or before seconds.
pub(super) fn date_pieces(section: &[Token]) -> Vec<Piece> {
    let mut pieces: Vec<Piece> = Vec::new();
    let mut at = 0;
    while let Some(token) = section.get(at) {
        at += 1;
        let sign = match token {
            Token::Literal(c) => {
                pieces.push(Piece::Literal(*c));
                continue;
            }
            Token::Elapsed(c) => {
                pieces.push(Piece::Elapsed(*c));
                continue;
            }
            Token::Sign(c) => c.to_ascii_lowercase(),
        };
        let mut run = 1;
        while matches!(section.get(at), Some(Token::Sign(c)) if c.to_ascii_lowercase() == sign) {
            run += 1;
            at += 1;
        }
        let after_hours = || {
            let last = pieces
                .iter()
                .rev()
                .find(|p| !matches!(p, Piece::Literal(_)));
            matches!(last, Some(Piece::Hour(_) | Piece::Elapsed('h')))
        };
        let piece = match sign {
            'y' => Piece::Year(run),
            'm' if after_hours() => Piece::Minute(run),
            'm' => Piece::Month(run),
            'd' => Piece::Day(run),
            'h' => Piece::Hour(run),
            's' => {
                let last = pieces.iter_mut().rev();
                if let Some(month @ Piece::Month(_)) =
                    last.into_iter().find(|p| !matches!(p, Piece::Literal(_)))
                {
                    let Piece::Month(width) = *month else {
                        continue;
                    };
                    *month = Piece::Minute(width);
                }
                Piece::Second(run)
            }
            'a' => {
                // AM/PM or A/P.
                while matches!(
                    section.get(at),
                    Some(Token::Sign('/' | 'm' | 'M' | 'p' | 'P'))
                ) {
                    at += 1;
                }
                Piece::HalfDay
            }
            // Fractions of a second, text placeholders.
            '0' | '@' | '#' | '?' => continue,
            _ => {
                for _ in 0..run {
                    pieces.push(Piece::Literal(sign));
                }
                continue;
            }
        };
        pieces.push(piece);
    }
    pieces
}

pub(super) fn show_date(pieces: &[Piece], clock: &Clock) -> String {
    let twelve = pieces.contains(&Piece::HalfDay);
    let hour = match (twelve, clock.hour % 12) {
        (false, _) => clock.hour,
        (true, 0) => 12,
        (true, hour) => hour,
    };
    let mut out = String::new();
    for piece in pieces {
        let (width, n) = match *piece {
            Piece::Year(1 | 2) => (2, i64::from(clock.year).rem_euclid(100)),
            Piece::Year(_) => (1, i64::from(clock.year)),
            Piece::Month(width @ (1 | 2)) => (width, i64::from(clock.month)),
            Piece::Day(width @ (1 | 2)) => (width, i64::from(clock.day)),
            Piece::Hour(width) => (width, i64::from(hour)),
            Piece::Minute(width) => (width, i64::from(clock.minute)),
            Piece::Second(width) => (width, i64::from(clock.second)),
            Piece::Elapsed(unit) => (1, clock.elapsed(unit)),
            Piece::Literal(c) => {
                out.push(c);
                continue;
            }
            Piece::Month(width) => {
                out.push_str(shortened(calendar::month_name(clock.month), width));
                continue;
            }
            Piece::Day(width) => {
                out.push_str(shortened(calendar::day_name(clock.weekday), width));
                continue;
            }
            Piece::HalfDay => {
                out.push_str(if clock.hour < 12 { "AM" } else { "PM" });
                continue;
            }
        };
        let _ = if width >= 2 {
            write!(out, "{n:02}")
        } else {
            write!(out, "{n}")
        };
    }
    out.trim().to_owned()
}

/// `mmm` is three letters, `mmmmm` the first, all else the whole name.
fn shortened(name: &str, width: usize) -> &str {
    let letters = match width {
        3 => 3,
        5 => 1,
        _ => name.len(),
    };
    name.get(..letters).unwrap_or(name)
}
