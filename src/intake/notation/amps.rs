//! Currents: of nameplates, fuses, mains and loads.

use super::text::{Cursor, tokens};
use super::{ColumnUnit, Context, Reading, read, read_or_guess};
use crate::schedule::{Amps, Mop, NameplateAmps};

/// MCA and MOP of one cell: `18.2/30`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct McaMop {
    pub mca: NameplateAmps,
    pub mop: Mop,
}

const UNIT: &[&str] = &["A", "AMP", "AMPS", "AMPERE", "AMPERES"];
const RUNNING: &[&str] = &["FLA", "RLA", "FLC", "RLC", "MCA", "MAIN", "MCB", "BUS"];
const MCA: &[&str] = &["MCA", "MIN"];
const MOP: &[&str] = &["MOP", "MOCP", "MOPD", "MOCPD", "OCPD", "MAX", "MFS", "MFA"];
const FUSE: &[&str] = &["FUSE", "FUSES", "FUSED"];
const BREAKER: &[&str] = &["HACR", "BKR", "BREAKER", "CB", "BRKR"];

const POLES: &[&str] = &["P", "POLE", "POLES"];

/// The largest current that a schedule of this trade can mean.
const LARGEST: f64 = 100_000.0;

/// One current with its unit: `30`, `30A`, `30 AMPS`, `0.4 kA`.
pub(super) fn one(cursor: &mut Cursor<'_>, ctx: &Context) -> Option<Amps> {
    let value = cursor.number()?;
    let factor = if cursor.word(UNIT) {
        1.0
    } else if cursor.word(&["KA"]) {
        1000.0
    } else {
        match ctx.unit {
            None | Some(ColumnUnit::Amps) => 1.0,
            Some(ColumnUnit::Kiloamps) => 1000.0,
            Some(_) => return None,
        }
    };
    let amps = value * factor;
    (amps <= LARGEST).then_some(Amps(amps))
}

/// A single current: `14.0 FLA`, `30A`, `RLA 22.4`, `200A MCB`. `MLO`, a panel
/// without a main, is blank.
pub fn amps(text: &str, ctx: &Context) -> Reading<Amps> {
    if super::text::phrase(text) == ["MLO"] && !text.contains('?') {
        return Reading::Blank;
    }
    read(text, "amperes, as in 30 or 14.5 A", |folded| {
        let tokens = tokens(folded, ctx.style.digits());
        let mut cursor = Cursor::new(&tokens);
        label(&mut cursor, RUNNING);
        let amps = one(&mut cursor, ctx)?;
        cursor.word(RUNNING);
        cursor.done().then_some(amps)
    })
}

fn label(cursor: &mut Cursor<'_>, words: &[&str]) -> bool {
    let hit = cursor.word(words);
    if hit {
        cursor.any_sign(":=");
    }
    hit
}

/// The fuses at a disconnect: `35`, `35A`, `35A FUSE`. `NF` is blank.
pub fn fuse(text: &str, ctx: &Context) -> Reading<Amps> {
    let phrase = super::text::phrase(text).concat();
    let non_fused = ["NF", "NONFUSED", "NONFUSIBLE", "UNFUSED", "NOFUSE"];
    if non_fused.contains(&phrase.as_str()) && !text.contains('?') {
        return Reading::Blank;
    }
    read(text, "amperes of the fuse, as in 35 A", |folded| {
        let tokens = tokens(folded, ctx.style.digits());
        let mut cursor = Cursor::new(&tokens);
        cursor.word(FUSE);
        let amps = one(&mut cursor, ctx)?;
        while cursor.word(FUSE) || cursor.word(&["DUAL", "ELEMENT", "TD", "TIME", "DELAY"]) {}
        (cursor.done() && amps.0 > 0.0).then_some(amps)
    })
}

/// A nameplate's current, for one voltage or two: `18.2`, `42.7/46.7`,
/// `0.6 (ea.)`. MCA and MOP together are not one current: they are the guess.
pub fn nameplate_amps(text: &str, ctx: &Context) -> Reading<NameplateAmps> {
    read_or_guess(
        text,
        "amperes, as in 18.2, or 42.7/46.7 for 208/230 V",
        |folded| {
            let tokens = tokens(folded, ctx.style.digits());
            let mut cursor = Cursor::new(&tokens);
            label(&mut cursor, RUNNING);
            let amps = pair(&mut cursor, ctx, 1.34)?;
            cursor.word(RUNNING);
            each(&mut cursor);
            cursor.done().then_some(amps)
        },
        |folded| {
            let both = mca_mop(folded, ctx).value()?;
            Some(format!("MCA {}, MOP {}", both.mca, both.mop.amps))
        },
    )
}

/// Passes over `EACH`, `(ea.)`: a nameplate is one unit's in any case.
fn each(cursor: &mut Cursor<'_>) {
    let mut ahead = *cursor;
    let bracket = ahead.sign('(');
    if ahead.word(&["EA", "EACH"]) && (!bracket || ahead.sign(')')) {
        *cursor = ahead;
    }
}

/// One current, or two of which neither is above `ratio` times the other:
/// further apart they are MCA and MOP, or amperes and poles.
fn pair(cursor: &mut Cursor<'_>, ctx: &Context, ratio: f64) -> Option<NameplateAmps> {
    let first = one(cursor, ctx)?;
    let first_volts = at_volts(cursor);
    let mut ahead = *cursor;
    if !ahead.sign('/') {
        return first_volts.is_none().then_some(NameplateAmps::One(first));
    }
    let Some(second) = one(&mut ahead, ctx) else {
        return Some(NameplateAmps::One(first));
    };
    if ahead.peek().is_some_and(|token| token.is_word(POLES)) {
        return Some(NameplateAmps::One(first));
    }
    let second_volts = at_volts(&mut ahead);
    let mut order = match (first_volts, second_volts) {
        (Some(first), Some(second)) => Some((first, second)),
        (None, None) => None,
        _ => return None,
    };
    if order.is_none() {
        order = volts_in_brackets(&mut ahead);
    }
    if first.0.max(second.0) > first.0.min(second.0) * ratio {
        return None;
    }
    *cursor = ahead;
    Some(match order {
        Some((first_volts, second_volts)) if first_volts > second_volts => NameplateAmps::Two {
            lower: second,
            higher: first,
        },
        _ => NameplateAmps::Two {
            lower: first,
            higher: second,
        },
    })
}

/// `@ 208V`, `@208`.
fn at_volts(cursor: &mut Cursor<'_>) -> Option<u32> {
    let mut ahead = *cursor;
    if !ahead.sign('@') {
        return None;
    }
    let volts = ahead.whole(100, 1000)?;
    ahead.word(&["V", "VAC", "VOLTS"]);
    *cursor = ahead;
    Some(volts)
}

/// `(208/230V)`.
fn volts_in_brackets(cursor: &mut Cursor<'_>) -> Option<(u32, u32)> {
    let mut ahead = *cursor;
    if !ahead.sign('(') {
        return None;
    }
    let first = ahead.whole(100, 1000)?;
    ahead.word(&["V"]);
    ahead.any_sign("/-")?;
    let second = ahead.whole(100, 1000)?;
    ahead.word(&["V", "VAC", "VOLTS"]);
    if !ahead.sign(')') {
        return None;
    }
    *cursor = ahead;
    Some((first, second))
}

/// Maximum overcurrent protection: `30`, `45/50`, `35 FUSE`, `30A/2P`,
/// `MAX FUSE/HACR 35`.
pub fn mop(text: &str, ctx: &Context) -> Reading<Mop> {
    read(text, "amperes, as in 30, 45/50 or 35A FUSE", |folded| {
        let tokens = tokens(folded, ctx.style.digits());
        let mut cursor = Cursor::new(&tokens);
        let mop = mop_at(&mut cursor, ctx)?;
        cursor.done().then_some(mop)
    })
}

fn mop_at(cursor: &mut Cursor<'_>, ctx: &Context) -> Option<Mop> {
    let (fuse_before, breaker_before) = device_words(cursor);
    let amps = pair(cursor, ctx, 1.5)?;
    let mut ahead = *cursor;
    ahead.any_sign("/-,");
    let poles = ahead.whole(1, 3).is_some() && ahead.word(POLES);
    if poles {
        *cursor = ahead;
    }
    let (fuse_after, breaker_after) = device_words(cursor);
    Some(Mop {
        amps,
        fuses_only: (fuse_before || fuse_after) && !(breaker_before || breaker_after || poles),
    })
}

/// Passes over words that name the device; whether fuses and breakers were
/// among them.
fn device_words(cursor: &mut Cursor<'_>) -> (bool, bool) {
    let (mut fuse, mut breaker) = (false, false);
    loop {
        if cursor.word(FUSE) {
            fuse = true;
        } else if cursor.word(BREAKER) {
            breaker = true;
        } else if !(cursor.word(MOP)
            || cursor.word(&["ONLY", "TYPE", "OR", "SIZE", "TD", "CKT", "TIME", "DELAY"])
            || word_after_sign(cursor))
        {
            break;
        }
    }
    cursor.any_sign(":=");
    (fuse, breaker)
}

/// Passes over the sign of `FUSE/HACR` and `(FUSE)`.
fn word_after_sign(cursor: &mut Cursor<'_>) -> bool {
    let known = |token: &super::text::Token| {
        token.is_word(FUSE) || token.is_word(BREAKER) || token.is_word(&["OR", "ONLY"])
    };
    let opens = cursor
        .peek()
        .is_some_and(|token| token.is_sign('/') || token.is_sign('(') || token.is_sign(','))
        && cursor.peek_second().is_some_and(known);
    opens && cursor.advance().is_some() || cursor.sign(')')
}

/// MCA and MOP of one cell: `18.2/30`, `MCA 18.2 / MOP 30`, `18.2 MCA, 30 MOP`.
/// Without labels the smaller comes first.
pub fn mca_mop(text: &str, ctx: &Context) -> Reading<McaMop> {
    let expected = "MCA and MOP in amperes, as in 18.2/30";
    read(text, expected, |folded| {
        let tokens = tokens(folded, ctx.style.digits());
        let begin = Cursor::new(&tokens);
        labelled(begin, ctx).or_else(|| unlabelled(begin, ctx))
    })
}

fn unlabelled(mut cursor: Cursor<'_>, ctx: &Context) -> Option<McaMop> {
    let mca = one(&mut cursor, ctx)?;
    cursor.any_sign("/,-|;&")?;
    let mop = one(&mut cursor, ctx)?;
    (cursor.done() && mca <= mop).then_some(McaMop {
        mca: NameplateAmps::One(mca),
        mop: Mop {
            amps: NameplateAmps::One(mop),
            fuses_only: false,
        },
    })
}

fn labelled(mut cursor: Cursor<'_>, ctx: &Context) -> Option<McaMop> {
    let (mut mca, mut mop) = (None, None);
    while !cursor.done() {
        let (before_mca, before_mop) = (label(&mut cursor, MCA), label(&mut cursor, MOP));
        let amps = if before_mca || before_mop {
            pair(&mut cursor, ctx, 1.5)?
        } else {
            NameplateAmps::One(one(&mut cursor, ctx)?)
        };
        let is_mca = before_mca || (!before_mop && cursor.word(MCA));
        let slot = if is_mca {
            &mut mca
        } else if before_mop || cursor.word(MOP) {
            &mut mop
        } else {
            return None;
        };
        if slot.replace(amps).is_some() {
            return None;
        }
        cursor.any_sign("/,-|;&");
    }
    Some(McaMop {
        mca: mca?,
        mop: Mop {
            amps: mop?,
            fuses_only: false,
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ctx() -> Context {
        Context::default()
    }

    fn two(lower: f64, higher: f64) -> NameplateAmps {
        NameplateAmps::Two {
            lower: Amps(lower),
            higher: Amps(higher),
        }
    }

    #[test]
    fn single_currents() {
        for (text, value) in [
            ("30", 30.0),
            ("14.0 FLA", 14.0),
            ("30A", 30.0),
            ("30 AMPS", 30.0),
            ("RLA: 22.4", 22.4),
            ("200A MCB", 200.0),
            ("1,200 A", 1200.0),
            ("0.4 kA", 400.0),
            ("30\u{a0}A", 30.0),
        ] {
            assert_eq!(amps(text, &ctx()), Reading::Value(Amps(value)), "{text}");
        }
        for text in [
            "30A/2P", "LRA 98", "30V", "thirty", "30 A?", "-5", "14,5", "30/35", "#VALUE!",
        ] {
            assert!(amps(text, &ctx()).is_unreadable(), "{text}");
        }
        assert_eq!(amps("MLO", &ctx()), Reading::Blank);
        assert_eq!(amps("TBD", &ctx()), Reading::Unknown);
        assert!(amps("200A MLO", &ctx()).is_unreadable());
        assert_eq!(fuse("35A FUSES", &ctx()), Reading::Value(Amps(35.0)));
        assert_eq!(fuse("NON-FUSED", &ctx()), Reading::Blank);
        let kiloamps = Context {
            unit: Some(ColumnUnit::Kiloamps),
            ..ctx()
        };
        assert_eq!(amps("0.2", &kiloamps), Reading::Value(Amps(200.0)));
        let watts = Context {
            unit: Some(ColumnUnit::Watts),
            ..ctx()
        };
        assert!(amps("200", &watts).is_unreadable());
    }

    #[test]
    fn nameplates_for_two_voltages() {
        for (text, value) in [
            ("18.2", NameplateAmps::One(Amps(18.2))),
            ("42.7/46.7", two(42.7, 46.7)),
            ("42.7 / 46.7 A", two(42.7, 46.7)),
            ("46.7/42.7 (230/208V)", two(42.7, 46.7)),
            ("42.7@208V / 46.7@230V", two(42.7, 46.7)),
            ("MCA 18.2", NameplateAmps::One(Amps(18.2))),
            ("18.2 MCA", NameplateAmps::One(Amps(18.2))),
            ("MCA=18.2", NameplateAmps::One(Amps(18.2))),
            ("0.6 (ea.)", NameplateAmps::One(Amps(0.6))),
            ("1.4 A EACH", NameplateAmps::One(Amps(1.4))),
        ] {
            assert_eq!(
                nameplate_amps(text, &ctx()),
                Reading::Value(value),
                "{text}"
            );
        }
        for text in [
            "30/2",
            "18.2-20",
            "18.2 MOP",
            "1/2/3",
            "0.6 (ea",
            "(2) 0.6 EA",
            "EACH",
        ] {
            assert!(nameplate_amps(text, &ctx()).is_unreadable(), "{text}");
        }
        for (text, expected) in [
            ("18.2/30", "MCA 18.2 A, MOP 30 A"),
            ("18.2A/30A", "MCA 18.2 A, MOP 30 A"),
            ("<1", "1"),
        ] {
            assert!(
                matches!(
                    nameplate_amps(text, &ctx()),
                    Reading::Unreadable { guess: Some(ref guess), .. } if guess == expected
                ),
                "{text}"
            );
        }
    }

    #[test]
    fn fuses_only_where_the_cell_itself_asks_for_fuses() {
        for (text, amps, fuses_only) in [
            ("30", 30.0, false),
            ("35 FUSE", 35.0, true),
            ("30A FUSES ONLY", 30.0, true),
            ("MAX FUSE 35", 35.0, true),
            ("35A FUSE/HACR", 35.0, false),
            ("35 FUSE OR BREAKER", 35.0, false),
            ("30 HACR", 30.0, false),
            ("30A/2P", 30.0, false),
            ("MOP: 30", 30.0, false),
            ("30A (FUSE)", 30.0, true),
        ] {
            let expected = Mop {
                amps: NameplateAmps::One(Amps(amps)),
                fuses_only,
            };
            assert_eq!(mop(text, &ctx()), Reading::Value(expected), "{text}");
        }
        assert_eq!(
            mop("45/50", &ctx()).value().map(|mop| mop.amps),
            Some(two(45.0, 50.0))
        );
        for text in ["30/2", "30 REC", "30 ± 5"] {
            assert!(mop(text, &ctx()).is_unreadable(), "{text}");
        }
    }

    #[test]
    fn mca_and_mop_in_one_cell() {
        for text in [
            "18.2/30",
            "MCA 18.2 / MOP 30",
            "18.2 MCA, 30 MOP",
            "MCA: 18.2A MOCP: 30A",
            "18.2 - 30",
            "18.2A/30A",
            "MOP 30 / MCA 18.2",
        ] {
            let read = mca_mop(text, &ctx()).value();
            let amps = read.map(|both| (both.mca.smallest().0, both.mop.amps.smallest().0));
            assert_eq!(amps, Some((18.2, 30.0)), "{text}");
        }
        for text in [
            "30/18.2",
            "18.2",
            "18.2/30/35",
            "MCA 18.2",
            "MCA 18.2 MCA 30",
        ] {
            assert!(mca_mop(text, &ctx()).is_unreadable(), "{text}");
        }
        assert_eq!(
            mca_mop("MCA 42.7/46.7, MOP 60/60", &ctx())
                .value()
                .map(|both| both.mca),
            Some(two(42.7, 46.7))
        );
    }
}
