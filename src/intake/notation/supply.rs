//! Volts and phases, of nameplates, circuits and panels.

use super::text::{Cursor, Digits, phrase, tokens};
use super::{Context, Reading, read};
use crate::schedule::{PanelSupply, Supply, Volts};

const VOLT: &[&str] = &["V", "VAC", "VOLT", "VOLTS"];
const PHASE: &[&str] = &["PH", "Ø", "PHASE", "PHASES", "PHS"];
const SEPARATORS: &str = "/-,|;~";

/// What a text on volts says, in the order of its parts.
#[derive(Default)]
pub(super) struct Parts {
    pub volts: Vec<u32>,
    /// The first of two volts bears a `Y`.
    pub wye: bool,
    /// A delta system, one leg of which may be high.
    delta: bool,
    pub phases: Option<u8>,
    hertz: bool,
    wires: Option<u32>,
}

impl Parts {
    /// Whether the two volts are line to line and line to neutral.
    fn of_one_system(&self) -> bool {
        let mut volts = self.volts.clone();
        volts.sort_unstable();
        let [neutral, line] = volts.as_slice() else {
            return false;
        };
        let ratio = f64::from(*line) / f64::from(*neutral);
        let near = |target: f64| (ratio / target - 1.0).abs() < 0.03;
        near(3_f64.sqrt()) || near(2.0) && !self.wye
    }
}

/// `208/230-1-60`, `208-230V/1Ph/60Hz`, `230V-1Ø-60`, `460/3/60`, `208V`,
/// `208-1`, `120/208-3-4`; phases alone where the cell says no volts (`3PH`).
pub fn supply(text: &str, _ctx: &Context) -> Reading<Supply> {
    read(text, "volts, phases, hertz, as in 208/230-1-60", |folded| {
        let parts = parse(folded)?;
        let mut volts = parts.volts;
        if parts.wye {
            volts.truncate(1);
        }
        volts.sort_unstable();
        volts.dedup();
        if volts.is_empty() && parts.phases.is_none() {
            return None;
        }
        let volts = volts
            .into_iter()
            .filter_map(|v| u16::try_from(v).ok())
            .collect();
        Some(Supply {
            volts,
            phases: parts.phases,
        })
    })
}

fn parse(folded: &str) -> Option<Parts> {
    let tokens = tokens(folded, Digits::Whole);
    rest(Cursor::new(&tokens))
}

/// What the rest of a text says of volts.
pub(super) fn rest(mut cursor: Cursor<'_>) -> Option<Parts> {
    let mut parts = Parts::default();
    while !cursor.done() {
        part(&mut cursor, &mut parts)?;
        cursor.any_sign(SEPARATORS);
    }
    let sound = !parts.delta || !parts.wye && parts.phases != Some(1);
    sound.then_some(parts)
}

fn part(cursor: &mut Cursor<'_>, parts: &mut Parts) -> Option<()> {
    if let Some(phases) = marked_phases(cursor) {
        return parts.phases.replace(phases).is_none().then_some(());
    }
    if cursor.word(&["WYE", "Y"]) && !parts.volts.is_empty() {
        parts.wye = true;
        return Some(());
    }
    if delta(cursor) {
        parts.delta = true;
        return Some(());
    }
    let value = cursor.whole(1, 1000)?;
    match value {
        100..=1000 if parts.volts.len() < 3 && !parts.hertz && parts.wires.is_none() => {
            parts.volts.push(value);
            parts.wye |= cursor.word(&["Y"]);
            cursor.word(VOLT);
        }
        50 | 60 if !parts.hertz => {
            parts.hertz = true;
            let mut ahead = *cursor;
            if value == 50 && ahead.sign('/') && ahead.whole(60, 60).is_some() {
                *cursor = ahead;
            }
            cursor.word(&["HZ", "HERTZ", "CY"]);
        }
        2..=4 if wire_word(cursor) => parts.wires = Some(value),
        1 | 3 if parts.phases.is_none() && !parts.volts.is_empty() => {
            parts.phases = Some(value as u8);
        }
        // `120/208-3-4`: the wires of a system with a neutral.
        2..=4 if parts.wires.is_none() && !parts.hertz && parts.of_one_system() => {
            let possible = match parts.phases? {
                1 => 2..=3,
                _ => 3..=4,
            };
            parts.wires = Some(value).filter(|wires| possible.contains(wires));
            parts.wires?;
        }
        _ => return None,
    }
    Some(())
}

/// `HIGH LEG`, `HIGH-LEG DELTA`, `DELTA`.
fn delta(cursor: &mut Cursor<'_>) -> bool {
    let mut ahead = *cursor;
    let mut hit = ahead.word(&["HIGH", "WILD"]) && {
        ahead.sign('-');
        ahead.word(&["LEG"])
    };
    if !hit {
        ahead = *cursor;
    }
    hit |= ahead.word(&["DELTA"]);
    if hit {
        *cursor = ahead;
    }
    hit
}

fn wire_word(cursor: &mut Cursor<'_>) -> bool {
    let mut ahead = *cursor;
    ahead.sign('-');
    let hit = ahead.word(&["W", "WIRE", "WIRES"]);
    if hit {
        *cursor = ahead;
    }
    hit
}

/// `1PH`, `3Ø`, `3-PHASE`, `SINGLE PHASE`.
fn marked_phases(cursor: &mut Cursor<'_>) -> Option<u8> {
    let mut ahead = *cursor;
    let phases = if ahead.word(&["SINGLE", "ONE"]) {
        1
    } else if ahead.word(&["THREE"]) {
        3
    } else {
        match ahead.whole(1, 3)? {
            1 => 1,
            3 => 3,
            _ => return None,
        }
    };
    ahead.sign('-');
    if !ahead.word(PHASE) {
        return None;
    }
    *cursor = ahead;
    Some(phases)
}

/// A column of volts alone: `240`, `240V`. Two voltages are not read: which
/// one holds has to be asked.
pub fn volts(text: &str, _ctx: &Context) -> Reading<Volts> {
    read(text, "volts, as in 240", |folded| {
        let tokens = tokens(folded, Digits::Whole);
        let mut cursor = Cursor::new(&tokens);
        let value = cursor.whole(12, 1000)?;
        cursor.word(VOLT);
        cursor.done().then_some(Volts(f64::from(value)))
    })
}

/// A column of phases alone: `1`, `3`, `3Ø`, `single`.
pub fn phases(text: &str, _ctx: &Context) -> Reading<u8> {
    read(text, "phases, as in 1 or 3", |folded| {
        let words = phrase(folded);
        let number = match words
            .iter()
            .map(String::as_str)
            .collect::<Vec<_>>()
            .as_slice()
        {
            [number] => *number,
            [number, word] if PHASE.contains(word) => *number,
            _ => return None,
        };
        match number {
            "1" | "SINGLE" | "ONE" => Some(1),
            "3" | "THREE" => Some(3),
            _ => None,
        }
    })
}

/// The system of a panel: `208Y/120V`, `120/240V 1PH 3W`, `480Y/277`, `240`.
///
/// Two voltages have to be line to line and line to neutral of one system:
/// in the ratio √3 or 2. `208/230` is a nameplate's range and is not read.
/// A delta of one voltage has no neutral here: to its high leg the volts
/// would be others.
pub fn panel_supply(text: &str, _ctx: &Context) -> Reading<PanelSupply> {
    let expected = "volts of the panel, as in 208Y/120 3PH 4W or 120/240V 1PH 3W";
    read(text, expected, |folded| {
        let mut parts = parse(folded)?;
        parts.volts.sort_unstable();
        match parts.volts.as_slice() {
            [one] if !parts.wye => Some(PanelSupply {
                line_to_line: Volts(f64::from(*one)),
                line_to_neutral: None,
                phases: parts.phases,
            }),
            [neutral, line] => {
                if !parts.of_one_system() {
                    return None;
                }
                Some(PanelSupply {
                    line_to_line: Volts(f64::from(*line)),
                    line_to_neutral: Some(Volts(f64::from(*neutral))),
                    phases: parts.phases.or(parts.wye.then_some(3)),
                })
            }
            _ => None,
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn supplies_of_nameplates() {
        for (text, volts, phases) in [
            ("208/230-1-60", &[208, 230][..], Some(1)),
            ("208-230V/1Ph/60Hz", &[208, 230], Some(1)),
            ("230V-1Ø-60", &[230], Some(1)),
            ("230V-1φ-60", &[230], Some(1)),
            ("460/3/60", &[460], Some(3)),
            ("208V", &[208], None),
            ("208V/3PH", &[208], Some(3)),
            ("208-1", &[208], Some(1)),
            ("208/230/60/1", &[208, 230], Some(1)),
            ("230/208-1-60", &[208, 230], Some(1)),
            ("208Y/120 3PH 4W", &[208], Some(3)),
            ("208 V, 3 phase", &[208], Some(3)),
            ("220-240V~50/60Hz", &[220, 240], None),
            ("single phase 240V", &[240], Some(1)),
            ("3PH", &[], Some(3)),
            ("208–230 V / 1 ph / 60 Hz", &[208, 230], Some(1)),
            ("120/208-3-4", &[120, 208], Some(3)),
            ("208/120", &[120, 208], None),
            ("208V/1/60", &[208], Some(1)),
            ("208-230/60/1", &[208, 230], Some(1)),
            ("1PH 208V", &[208], Some(1)),
            ("230V 1PH 60HZ", &[230], Some(1)),
            ("240-1ph", &[240], Some(1)),
            ("220V", &[220], None),
        ] {
            let expected = Supply {
                volts: volts.to_vec(),
                phases,
            };
            assert_eq!(
                supply(text, &Context::default()),
                Reading::Value(expected),
                "{text}"
            );
        }
        for text in [
            "2-Oct",
            "208-2",
            "1",
            "60",
            "24V",
            "208/230-1-60-5",
            "208?",
            "30A/2P",
            "208-1-3",
            "208/230-3-4",
            "120/208-1-4",
            "120/208-3-2",
            "HIGH LEG",
            "120/208-3-4-4",
        ] {
            assert!(supply(text, &Context::default()).is_unreadable(), "{text}");
        }
        assert_eq!(
            volts("240 V", &Context::default()),
            Reading::Value(Volts(240.0))
        );
        assert!(volts("208/240", &Context::default()).is_unreadable());
        assert_eq!(phases("3Ø", &Context::default()), Reading::Value(3));
        assert!(phases("2", &Context::default()).is_unreadable());
    }

    #[test]
    fn systems_of_panels() {
        let neutral = |volts: f64| Some(Volts(volts));
        for (text, line, to_neutral, phases) in [
            ("208Y/120V", 208.0, neutral(120.0), Some(3)),
            ("208Y/120 3PH 4W", 208.0, neutral(120.0), Some(3)),
            ("120/208V, 3Ø, 4W", 208.0, neutral(120.0), Some(3)),
            ("120/240V 1PH 3W", 240.0, neutral(120.0), Some(1)),
            ("240/120", 240.0, neutral(120.0), None),
            ("480Y/277", 480.0, neutral(277.0), Some(3)),
            ("208/120", 208.0, neutral(120.0), None),
            ("240", 240.0, None, None),
            ("240V-3PH-3W", 240.0, None, Some(3)),
            ("208Y/120V-3PH-4 WIRE", 208.0, neutral(120.0), Some(3)),
            ("240V 3PH 4W HIGH LEG", 240.0, None, Some(3)),
            ("240V 3PH 4W HIGH-LEG DELTA", 240.0, None, Some(3)),
            ("240V DELTA 3PH 3W", 240.0, None, Some(3)),
            ("120/208-3-4", 208.0, neutral(120.0), Some(3)),
            ("120/240-1-3", 240.0, neutral(120.0), Some(1)),
            ("220V", 220.0, None, None),
        ] {
            let expected = PanelSupply {
                line_to_line: Volts(line),
                line_to_neutral: to_neutral,
                phases,
            };
            assert_eq!(
                panel_supply(text, &Context::default()),
                Reading::Value(expected),
                "{text}"
            );
        }
        for text in [
            "208/230-1-60",
            "120Y",
            "LP",
            "3PH",
            "240V 1PH HIGH LEG",
            "DELTA 240V 1PH",
            "208Y/120 DELTA",
            "240V HIGH",
            "240V HIGH LEG?",
        ] {
            assert!(
                panel_supply(text, &Context::default()).is_unreadable(),
                "{text}"
            );
        }
    }
}
