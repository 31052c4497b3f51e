//! Breakers and poles: `30A/2P` in its many spellings.

use super::text::{Digits, Kind, Token, fold, tokens, whole};
use super::{ColumnUnit, Context, Reading, read};
use crate::schedule::Amps;

/// A breaker of one cell: `30A/2P`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Breaker {
    pub amps: Amps,
    /// `None` where the cell gives the amperes alone.
    pub poles: Option<u8>,
}

const AMPS: &[&str] = &["A", "AMP", "AMPS", "AT"];
const POLES: &[&str] = &["P", "POLE", "POLES", "PL"];
/// What a breaker cell says besides, and what no rule reads.
const REMARKS: &[&str] = &[
    "HACR", "CB", "BKR", "BRKR", "BREAKER", "TRIP", "TYPE", "GFCI", "GFI", "AFCI", "GFEP", "GFPE",
    "MCB", "W", "CKT",
];

/// A breaker: `30A/2P` `30/2` `30-2` `2P30` `2P-30A` `(2P) 30A` `30A 2-POLE`
/// `30AMP DP` `30 2P HACR` `2/30` `30A/2P/240V` `(1) 30A/2P` `30`.
/// `60AT/100AF` is its trip.
pub fn breaker(text: &str, ctx: &Context) -> Reading<Breaker> {
    read(text, "amperes and poles, as in 30A/2P or 30", |folded| {
        if matches!(ctx.unit, Some(unit) if unit != ColumnUnit::Amps) {
            return None;
        }
        let tokens = tokens(folded, Digits::Whole);
        // `(1)` counts the breaker where the poles are told besides.
        match tokens.as_slice() {
            [open, one, close, rest @ ..]
                if open.is_sign('(') && one.number() == Some(1.0) && close.is_sign(')') =>
            {
                parse(rest).filter(|breaker| breaker.poles.is_some())
            }
            all => parse(all),
        }
    })
}

/// One number of the cell and what the words behind it make of it.
#[derive(Clone, Copy)]
struct Part {
    value: u32,
    role: Role,
    /// The sign between it and the number before.
    joined: Option<char>,
}

#[derive(Clone, Copy, PartialEq)]
enum Role {
    Amps,
    Poles,
    Frame,
    /// What it is marked for; no rule reads it here.
    Volts,
    Bare,
}

fn parse(tokens: &[Token]) -> Option<Breaker> {
    let (parts, named_poles) = split(tokens)?;
    let of = |role| -> Vec<Part> { parts.iter().copied().filter(|p| p.role == role).collect() };
    let (amps, poles, bare) = (of(Role::Amps), of(Role::Poles), of(Role::Bare));
    let volts = of(Role::Volts);
    if of(Role::Frame).len() > 1
        || volts.len() > 1
        || volts.iter().any(|part| !(100..=600).contains(&part.value))
    {
        return None;
    }
    let mut poles = match (poles.as_slice(), named_poles) {
        ([], named) => named,
        ([one], None) => Some(one.value),
        _ => return None,
    };
    let amps = match (amps.as_slice(), bare.as_slice()) {
        ([amps], []) => amps.value,
        // `30A/2`, never `(2) 30A`: that may be two breakers.
        ([amps], [other]) if poles.is_none() && matches!(other.joined, Some('/' | '-')) => {
            poles = Some(other.value);
            amps.value
        }
        ([], [only]) if poles.is_some() || only.value >= 10 => only.value,
        ([], [first, second]) if poles.is_none() && matches!(second.joined, Some('/' | '-')) => {
            let (amps, count) = if first.value <= 3 {
                (second.value, first.value)
            } else {
                (first.value, second.value)
            };
            poles = Some(count);
            amps
        }
        _ => return None,
    };
    let poles = match poles {
        None => None,
        Some(count @ 1..=3) => u8::try_from(count).ok(),
        Some(_) => return None,
    };
    (5..=6000).contains(&amps).then(|| Breaker {
        amps: Amps(f64::from(amps)),
        poles,
    })
}

/// The numbers with their roles, and the poles that a word names (`DP`).
fn split(tokens: &[Token]) -> Option<(Vec<Part>, Option<u32>)> {
    let mut parts: Vec<Part> = Vec::new();
    let mut named = None;
    let mut joined = None;
    let mut at = 0;
    while let Some(token) = tokens.get(at) {
        at += 1;
        match token.kind {
            Kind::Number(value) => {
                // `30-A`, `2-POLE`: the dash binds the word to its number.
                let word_at = at + usize::from(tokens.get(at).is_some_and(|t| t.is_sign('-')));
                let role = tokens.get(word_at).map_or(Role::Bare, role_of);
                if role != Role::Bare {
                    at = word_at + 1;
                }
                parts.push(Part {
                    value: whole(value)?,
                    role,
                    joined: joined.take(),
                });
            }
            Kind::Word if REMARKS.contains(&token.text.as_str()) => {}
            Kind::Word => {
                if named.replace(poles_word(&token.text)?).is_some() {
                    return None;
                }
                if tokens.get(at).is_some_and(|t| t.is_word(POLES)) {
                    at += 1;
                }
            }
            Kind::Sign(c @ ('/' | '-')) => joined = Some(c),
            Kind::Sign('(' | ')' | ',' | '@') => joined = None,
            Kind::Sign(_) => return None,
        }
    }
    Some((parts, named))
}

fn role_of(token: &Token) -> Role {
    if token.is_word(AMPS) {
        Role::Amps
    } else if token.is_word(POLES) {
        Role::Poles
    } else if token.is_word(&["AF"]) {
        Role::Frame
    } else if token.is_word(&["V", "VAC"]) {
        Role::Volts
    } else {
        Role::Bare
    }
}

fn poles_word(word: &str) -> Option<u32> {
    match word {
        "SP" | "SINGLE" | "ONE" => Some(1),
        "DP" | "DOUBLE" | "TWO" => Some(2),
        "TP" | "TRIPLE" | "THREE" => Some(3),
        _ => None,
    }
}

/// Poles alone: `2`, `2P`, `DP`, `3-pole`, `double pole`.
pub fn poles(text: &str, _ctx: &Context) -> Reading<u8> {
    read(text, "poles, as in 2 or 2P", |folded| {
        let compact: String = fold(folded)
            .chars()
            .filter(|c| !" -".contains(*c))
            .collect();
        let stem = ["POLES", "POLE", "P"]
            .iter()
            .find_map(|ending| compact.strip_suffix(ending).filter(|stem| !stem.is_empty()))
            .unwrap_or(&compact);
        let count = match stem {
            "S" => 1,
            "D" => 2,
            "T" => 3,
            other => other.parse().ok().or_else(|| poles_word(other))?,
        };
        (1..=3).contains(&count).then_some(count as u8)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_spelling_of_a_breaker() {
        for text in [
            "30A/2P",
            "30/2",
            "30-2",
            "2P30",
            "2P-30A",
            "(2P) 30A",
            "30A 2-POLE",
            "30AMP DP",
            "30 2P HACR",
            "2/30",
            "30 A / 2 P",
            "30a/2p",
            "30A–2P",
            "30A,2P",
            "2P/30A",
            "30A-2P",
            "30 AMP 2 POLE",
            "30A/2",
            "30AT/2P",
            "30A DOUBLE POLE",
            "60AF/30AT/2P",
            "30\u{a0}A/2P",
            "30A/2P/240V",
            "2P 30A 240V",
            "2P 30A GFCI",
            "30A-2P-GFEP",
            "(1) 30A/2P",
            "30/2P",
            "2-30",
        ] {
            let expected = Breaker {
                amps: Amps(30.0),
                poles: Some(2),
            };
            assert_eq!(
                breaker(text, &Context::default()),
                Reading::Value(expected),
                "{text}"
            );
        }
        for text in ["30", "30A", "30 AMP", "30A HACR", "30 A", "30AF/30AT"] {
            let expected = Breaker {
                amps: Amps(30.0),
                poles: None,
            };
            assert_eq!(
                breaker(text, &Context::default()),
                Reading::Value(expected),
                "{text}"
            );
        }
    }

    #[test]
    fn near_misses_of_a_breaker_are_not_read() {
        for text in [
            "(2) 30A",
            "2-30A X2",
            "30A/25A",
            "30/35",
            "2",
            "30 2",
            "30.5.2",
            "30A/4P",
            "30kA",
            "10/2 NM-B",
            "30V",
            "SPARE",
            "30A/2P/3P",
            "4/30",
            "30A/2P?",
            "0/2",
            "(1) 30A",
            "(2) 30A/2P",
            "(1) (1) 30A",
            "240V",
            "30A/2P/240V/120V",
            "30A/24V",
            "2P 240V",
        ] {
            assert!(breaker(text, &Context::default()).is_unreadable(), "{text}");
        }
        assert!(matches!(
            breaker("30A/2P?", &Context::default()),
            Reading::Unreadable { guess: Some(guess), .. } if guess == "30A/2P"
        ));
        assert_eq!(
            breaker("(E) 30A/2P", &Context::default()),
            Reading::Elsewhere
        );
        assert_eq!(
            breaker("1P15", &Context::default()),
            Reading::Value(Breaker {
                amps: Amps(15.0),
                poles: Some(1)
            })
        );
    }

    #[test]
    fn poles_alone() {
        for (text, count) in [
            ("2", 2),
            ("2P", 2),
            ("DP", 2),
            ("3-pole", 3),
            ("SP", 1),
            ("Double Pole", 2),
            ("1 P", 1),
            ("3 POLES", 3),
        ] {
            assert_eq!(
                poles(text, &Context::default()),
                Reading::Value(count),
                "{text}"
            );
        }
        for text in ["4", "0", "30", "P", "2A", "2.0.1", "two hundred"] {
            assert!(poles(text, &Context::default()).is_unreadable(), "{text}");
        }
    }
}
