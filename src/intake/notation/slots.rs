//! Slots of a panel, alone or behind the panel's name.

use super::text::{Cursor, Digits, Token, fold, tokens};
use super::{Context, Reading, read};
use crate::schedule::{Name, Slot};

/// Panel and slots of one cell: `LP-1,3`.
#[derive(Clone, Debug, PartialEq)]
pub struct PanelSlots {
    pub panel: Name,
    /// Empty where the cell names the panel alone.
    pub slots: Vec<Slot>,
}

/// The highest number that a slot may have: six sections of 42.
const HIGHEST: u32 = 252;
const LABELS: &[&str] = &[
    "CKT", "CKTS", "CIRCUIT", "CIRCUITS", "CIR", "SLOT", "SLOTS", "POS", "POSITION", "NO", "NOS",
];

/// Slots: `5`, `1,3`, `1-3`, `1-3-5`, `2/4`, `4A/4B`, `1 & 3`, `CKT 1,3`.
///
/// A dash joins the slots of one breaker, each the second after the one
/// before (`1-3`), or two neighbours (`1-2`); any other range is not read.
pub fn slots(text: &str, _ctx: &Context) -> Reading<Vec<Slot>> {
    read(text, "slots, as in 5 or 1,3", parse)
}

fn parse(folded: &str) -> Option<Vec<Slot>> {
    let tokens = tokens(folded, Digits::Whole);
    let mut cursor = Cursor::new(&tokens);
    while cursor.word(LABELS) || cursor.any_sign("#:").is_some() {}
    let mut slots = vec![slot(&mut cursor)?];
    let mut dashes = Vec::new();
    let mut others = false;
    while !cursor.done() {
        let spaced = cursor.peek().is_some_and(|token| token.spaced);
        let dash = cursor.sign('-');
        let listed = !dash && (cursor.any_sign(",/&+;").is_some() || cursor.word(&["AND"]));
        cursor.sign('#');
        let last = *slots.last()?;
        let next = half_alone(&mut cursor, last).or_else(|| slot(&mut cursor))?;
        if !dash && !listed && !spaced || slots.contains(&next) {
            return None;
        }
        others |= !dash;
        if dash {
            dashes.push((last, next));
        }
        slots.push(next);
    }
    dashes_join(&dashes, others).then_some(slots)
}

fn dashes_join(dashes: &[(Slot, Slot)], others: bool) -> bool {
    let step = |(from, to): &(Slot, Slot)| i32::from(to.number) - i32::from(from.number);
    match dashes {
        // `1-2`, and `4A-4B`, stand for two neighbours only when alone.
        [only] if !others => (0..=2).contains(&step(only)),
        many => many.iter().all(|pair| step(pair) == 2),
    }
}

fn slot(cursor: &mut Cursor<'_>) -> Option<Slot> {
    let number = u16::try_from(cursor.whole(1, HIGHEST)?).ok()?;
    let mut half = None;
    if let Some(token) = cursor.peek()
        && !token.spaced
        && token.is_word(&["A", "B"])
    {
        half = token.text.chars().next();
        cursor.advance();
    }
    Some(Slot { number, half })
}

/// The `B` of `4A/B`.
fn half_alone(cursor: &mut Cursor<'_>, last: Slot) -> Option<Slot> {
    last.half?;
    let token = cursor.peek()?;
    if !token.is_word(&["A", "B"]) {
        return None;
    }
    cursor.advance();
    Some(Slot {
        number: last.number,
        half: token.text.chars().next(),
    })
}

/// Panel and slots: `LP-1,3`, `LP/1,3`, `PANEL LP CKT 1-3`, `12C: 5/7`.
///
/// `panels` are the names of the panels that the job is known to have. Where
/// they do not settle it, `LP-1-3` (slots 1 and 3 of LP, or slot 3 of LP-1)
/// is not read.
pub fn panel_slots(text: &str, panels: &[Name], _ctx: &Context) -> Reading<PanelSlots> {
    let known = |name: &Name| panels.contains(name);
    let expected = "panel and slots, as in LP-1,3 or LP CKT 1-3";
    let reading = read(text, expected, |folded| {
        let own = without_label(folded);
        let whole = Name::new(own);
        let mut splits = splits(own);
        if known(&whole) && !splits.iter().any(|split| known(&split.panel)) {
            return Some(PanelSlots {
                panel: whole,
                slots: Vec::new(),
            });
        }
        if splits.iter().any(|split| known(&split.panel)) {
            splits.retain(|split| known(&split.panel));
        } else if splits.iter().any(|split| split.explicit) {
            splits.retain(|split| split.explicit);
        }
        match splits.as_slice() {
            [only] => Some(PanelSlots {
                panel: only.panel.clone(),
                slots: only.slots.clone(),
            }),
            _ => None,
        }
    });
    match reading {
        Reading::Unreadable { expected, .. } => Reading::Unreadable {
            expected,
            guess: splits(without_label(&fold(text))).first().map(|split| {
                let slots: Vec<_> = split.slots.iter().map(Slot::to_string).collect();
                format!("panel {}, slots {}", split.panel, slots.join(", "))
            }),
        },
        other => other,
    }
}

fn without_label(folded: &str) -> &str {
    let label = ["PANELBOARD", "PANEL", "PNLBD", "PNL.", "PNL"];
    label
        .iter()
        .find_map(|label| folded.strip_prefix(label))
        .filter(|rest| rest.starts_with([' ', ':', '-']))
        .map_or(folded, |rest| rest.trim_start_matches([' ', ':', '-']))
}

struct Split {
    panel: Name,
    slots: Vec<Slot>,
    /// A colon, a number sign or the word *circuit* stands between.
    explicit: bool,
}

/// Bytes of the longest name of a panel: a text of thousands of cuts is a
/// remark, and each cut reads what is behind it.
const LONGEST_NAME: usize = 120;

/// All ways to cut a text into a panel's name and slots.
fn splits(own: &str) -> Vec<Split> {
    let mut found: Vec<Split> = Vec::new();
    let mut before: Option<char> = None;
    let cuts = own.char_indices().take_while(|(at, _)| *at <= LONGEST_NAME);
    for (at, c) in cuts {
        let last = before.replace(c);
        let separates = "-/:,&#.; ".contains(c);
        let letter_to_digit = c.is_ascii_digit() && last.is_some_and(char::is_alphabetic);
        if !separates && !letter_to_digit {
            continue;
        }
        let (left, right) = own.split_at(at);
        let left = left.trim_end_matches([' ', '-', '/', ':', ',', '#']);
        let right = right.trim_start_matches([' ', '-', '/', ':', ',', '.', ';']);
        let left = without_trailing_label(left);
        if !left.contains(char::is_alphabetic) || within_list(left, c) {
            continue;
        }
        let Some(slots) = parse(right) else { continue };
        let gap = own
            .get(left.len()..own.len() - right.len())
            .unwrap_or_default();
        let labelled = tokens(right, Digits::Whole)
            .first()
            .is_some_and(|token: &Token| token.is_word(LABELS) || token.is_sign('#'));
        let split = Split {
            panel: Name::new(left),
            slots,
            explicit: labelled
                || gap
                    .chars()
                    .any(|c| c == ':' || c == '#' || c.is_alphabetic()),
        };
        if !found
            .iter()
            .any(|f| f.panel.text() == split.panel.text() && f.slots == split.slots)
        {
            found.push(split);
        }
    }
    found
}

fn without_trailing_label(left: &str) -> &str {
    LABELS
        .iter()
        .find_map(|label| left.strip_suffix(label))
        .filter(|rest| rest.ends_with([' ', ',', '-', '/']))
        .map_or(left, |rest| rest.trim_end_matches([' ', ',', '-', '/']))
}

/// Whether a cut at a sign of lists would cut a list of slots in two.
fn within_list(left: &str, sign: char) -> bool {
    if !",/&;".contains(sign) || !left.ends_with(|c: char| c.is_ascii_digit()) {
        return false;
    }
    sign != '/'
        || left
            .rfind(['-', ':', '/', ' ', ','])
            .and_then(|at| left.get(at + 1..))
            .is_some_and(|tail| parse(tail).is_some())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(slots: &[Slot]) -> String {
        slots
            .iter()
            .map(Slot::to_string)
            .collect::<Vec<_>>()
            .join(",")
    }

    #[test]
    fn slots_in_every_spelling() {
        for (text, list) in [
            ("5", "5"),
            ("05", "5"),
            ("1,3", "1,3"),
            ("1-3", "1,3"),
            ("1–3", "1,3"),
            ("1-3-5", "1,3,5"),
            ("2/4", "2,4"),
            ("4A/4B", "4A,4B"),
            ("4A/B", "4A,4B"),
            ("1 & 3", "1,3"),
            ("1,3,5", "1,3,5"),
            ("CKT 1,3", "1,3"),
            ("#5", "5"),
            ("1, 3", "1,3"),
            ("1 and 3", "1,3"),
            ("1 3", "1,3"),
            ("1,2", "1,2"),
            ("1-2", "1,2"),
            ("Ckt. No. 7", "7"),
            ("13-15", "13,15"),
        ] {
            let read = slots(text, &Context::default()).value();
            assert_eq!(read.as_deref().map(shown).as_deref(), Some(list), "{text}");
        }
        for text in [
            "1-5", "1-41", "1.3", "1,1", "0", "300", "LP-1", "3C", "1-3,6-9", "5-3", "1,",
        ] {
            assert!(slots(text, &Context::default()).is_unreadable(), "{text}");
        }
    }

    #[test]
    fn panels_with_slots() {
        for (text, panel, list) in [
            ("LP-1,3", "LP", "1,3"),
            ("LP/1,3", "LP", "1,3"),
            ("PANEL LP CKT 1-3", "LP", "1,3"),
            ("12C: 5/7", "12C", "5,7"),
            ("LP-5", "LP", "5"),
            ("LP 5", "LP", "5"),
            ("A5", "A", "5"),
            ("LP #5", "LP", "5"),
            ("LP-1/3", "LP", "1,3"),
            ("LP-1: 3", "LP-1", "3"),
            ("MDP-2A CKT 4", "MDP-2A", "4"),
            ("LP, 1,3", "LP", "1,3"),
        ] {
            let read = panel_slots(text, &[], &Context::default()).value();
            let read = read.map(|both| (both.panel.text().to_owned(), shown(&both.slots)));
            assert_eq!(read, Some((panel.to_owned(), list.to_owned())), "{text}");
        }
        for text in ["LP-1-3", "LP1-3", "208-1", "12", "LP"] {
            assert!(
                panel_slots(text, &[], &Context::default()).is_unreadable(),
                "{text}"
            );
        }
    }

    #[test]
    fn known_panels_settle_where_the_name_ends() {
        let read = |text: &str, panel: &str| {
            panel_slots(text, &[Name::new(panel)], &Context::default())
                .value()
                .map(|both| (both.panel.text().to_owned(), shown(&both.slots)))
        };
        assert_eq!(read("LP-1-3", "LP"), Some(("LP".into(), "1,3".into())));
        assert_eq!(read("LP-1-3", "LP-1"), Some(("LP-1".into(), "3".into())));
        assert_eq!(read("LP-1", "LP-1"), Some(("LP-1".into(), String::new())));
    }
}
