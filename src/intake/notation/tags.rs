//! Names, lists of tags, and the loads of a circuit.

use super::ranges::{
    counting_on, is_letter, is_number, is_tag, range, remarked_range, with_letter, with_number,
    write_out,
};
use super::text::{Digits, Kind, fold, phrase, tokens};
use super::words::{self, Nothing};
use super::{Context, Reading};
use crate::schedule::{Name, Part};

/// One entry of a circuit's list of loads.
#[derive(Clone, Debug, PartialEq)]
pub struct LoadEntry {
    /// The entry as written.
    pub text: String,
    pub part: Part,
    /// Words of it that are shaped like a tag, in their order: which of them
    /// names a unit only the equipment can tell.
    pub tags: Vec<Name>,
    /// A spare breaker or an empty space.
    pub spare: bool,
    /// Marked as existing or by others.
    pub elsewhere: bool,
}

const EXPECTED_TAGS: &str = "a tag, a list or a range of tags, as in FC-1, FC-2 or FC-1 thru FC-4";

const EXPECTED_NO_SLASH: &str = "one tag, or each of several written out, as in FC-1, FC-2; a \
                                 slash may mean either";

const EXPECTED_LOADS: &str = "the loads, as in FC-1, FC-2 or AH-1 HEATER";

/// A name of anything: the text, unless it is a word for nothing.
pub fn name(text: &str, ctx: &Context) -> Reading<Name> {
    free_text(text, ctx).map(|text| Name::new(&text))
}

/// A text of any kind, unless all of it is a word for nothing.
pub fn free_text(text: &str, _ctx: &Context) -> Reading<String> {
    match words::whole(text) {
        Some(nothing) => nothing.into(),
        None => Reading::Value(text.split_whitespace().collect::<Vec<_>>().join(" ")),
    }
}

/// Tags: `FC-1`, `FC-1, 2 & 3`, `FC-1, -2`, `FC-1 & FC-2`, `FC-1 thru FC-4`,
/// `FC-1..4`, `FC-1A thru C`, `FC 1 - 4`.
///
/// A text without any tag is one name (`Living & Dining`). `FC-1/2` and
/// `FC 1-4` may be one tag or several and are not read, nor is `(4) FC-1`,
/// whose count is not that of its tags.
pub fn tag_list(text: &str, _ctx: &Context) -> Reading<Vec<Name>> {
    if let Some(nothing) = words::whole(text) {
        return nothing.into();
    }
    let whole = Name::new(text);
    let pieces = split_list(text);
    let tagged = |piece: &String| is_tag(piece) || counted(piece).is_some();
    if !pieces.iter().any(tagged) && range(text).is_none() {
        return Reading::Value(vec![whole]);
    }
    let unreadable = || Reading::Unreadable {
        expected: match text.contains('/') {
            true => EXPECTED_NO_SLASH,
            false => EXPECTED_TAGS,
        },
        guess: guess(text),
    };
    let mut tags: Vec<Name> = Vec::new();
    let mut count = Count::default();
    for piece in &pieces {
        let more = count
            .strip(piece, tags.is_empty())
            .and_then(|piece| expand(piece, tags.last()));
        match more {
            Some(more) => tags.extend(more),
            None => return unreadable(),
        }
    }
    if count.differs(tags.len()) {
        return unreadable();
    }
    Reading::Value(tags)
}

/// How many units a list says that it names: `(2) FC-1 & FC-2`.
#[derive(Default)]
struct Count(Option<usize>);

impl Count {
    /// The piece without its count; `None` where it counts some of a list.
    fn strip<'a>(&mut self, piece: &'a str, first: bool) -> Option<&'a str> {
        match counted(piece) {
            None => Some(piece),
            Some((1, rest)) => Some(rest),
            Some((count, rest)) => {
                self.0 = Some(count);
                first.then_some(rest)
            }
        }
    }

    fn differs(&self, tags: usize) -> bool {
        self.0.is_some_and(|count| count != tags)
    }
}

/// `(4) FC-1`: a count in brackets in front of a tag, and the rest.
fn counted(piece: &str) -> Option<(usize, &str)> {
    let (count, rest) = piece.trim().strip_prefix('(')?.split_once(')')?;
    let rest = rest.trim();
    let first = rest.split_whitespace().next()?;
    let own = is_tag(first) && !NOT_A_PREFIX.contains(&Name::new(first).prefix());
    (own && is_number(count)).then_some((count.parse().ok()?, rest))
}

/// `FC 1-4`: a tag with a floor and a number, or four tags.
fn numbers_of_prefix(piece: &str) -> Option<(&str, &str, &str)> {
    let mut words = piece.split_whitespace();
    let (prefix, numbers) = (words.next()?, words.next()?);
    let (low, high) = numbers.split_once(['-', '–', '—'])?;
    let rising =
        is_number(low) && is_number(high) && low.parse::<u32>().ok() < high.parse::<u32>().ok();
    let letters = prefix.chars().all(char::is_alphabetic);
    let named = letters && !NOT_A_PREFIX.contains(&Name::new(&format!("{prefix} 1")).prefix());
    (words.next().is_none() && rising && named).then_some((prefix, low, high))
}

fn guess(text: &str) -> Option<String> {
    if let Some((_, rest)) = counted(text) {
        return Some(rest.to_owned());
    }
    if let Some((prefix, low, high)) = numbers_of_prefix(text) {
        return Some(format!("{prefix} {low} thru {prefix} {high}"));
    }
    if let Some((from, to)) = remarked_range(text) {
        return write_out(from, to).map(|_| format!("{from} thru {to}"));
    }
    let (first, number) = text.trim().split_once('/')?;
    let tag = first.split_whitespace().last()?;
    let last = with_number(&Name::new(tag), number.trim())?;
    Some(format!("{}, {}", first.trim(), last.text()))
}

/// The tags that one piece of a list stands for; `before` lends its letters
/// to a bare number.
fn expand(piece: &str, before: Option<&Name>) -> Option<Vec<Name>> {
    if let Some(range) = range(piece) {
        return range;
    }
    if let Some(number) = counting_on(piece) {
        return Some(vec![with_number(before?, number)?]);
    }
    if is_letter(piece)
        && let Some(tag) = before.and_then(|before| with_letter(before.text(), piece))
    {
        return Some(vec![tag]);
    }
    let clear = !half_written(piece) && !piece.contains('?') && numbers_of_prefix(piece).is_none();
    clear.then(|| vec![Name::new(piece)])
}

/// `FC-1/2`: a list written with a slash, or a name.
fn half_written(piece: &str) -> bool {
    piece.split_once('/').is_some_and(|(left, right)| {
        let number = right.split_whitespace().next().unwrap_or("");
        ends_in_tag(left.trim()) && is_number(number.split('/').next().unwrap_or(number))
    })
}

/// Cuts a list at commas, semicolons and line breaks outside brackets; and at
/// `&`, `+`, `/`, `and` where a tag stands on both sides, or where a number
/// follows that the left side lends its letters to.
fn split_list(text: &str) -> Vec<String> {
    let mut pieces: Vec<String> = Vec::new();
    for piece in split_strong(text) {
        let mut rest = piece.as_str();
        let mut begin = 0;
        while let Some((at, len)) = next_weak(rest, begin) {
            let (left, right) = (
                rest.get(..at).unwrap_or(""),
                rest.get(at + len..).unwrap_or(""),
            );
            let slash = rest.get(at..at + 1) == Some("/");
            let right_end = right.split(['&', '+', '/']).next().unwrap_or(right);
            let tag_right = !tags_in(right_end).is_empty();
            let number_right = !slash && counting_on(right_end).is_some() && lends(left);
            let left_named = !tags_in(left).is_empty() || counting_on(left).is_some();
            // `FC-1A, B & C`: the tag that lends may stand further left.
            let lender = match is_letter(left.trim()) {
                true => pieces.iter().rfind(|piece| !is_letter(piece)),
                false => None,
            };
            let lender = lender.map_or(left, String::as_str);
            let letter_right = !slash && with_letter(lender, right_end.trim()).is_some();
            if left_named && (tag_right || number_right) || letter_right {
                pieces.push(left.trim().to_owned());
                rest = right;
                begin = 0;
            } else {
                begin = at + len;
            }
        }
        pieces.push(rest.trim().to_owned());
    }
    pieces.retain(|piece| !piece.is_empty());
    pieces
}

/// Whether a bare number that follows counts on: after `FC-1` it is a unit,
/// after `AH-1 HTR 1` a heater; after `FC-1 BATH 1` it is neither.
fn lends(text: &str) -> bool {
    ends_in_tag(text) || counting_on(text).is_some() || matches!(part(&fold(text)), Part::Heater(_))
}

fn ends_in_tag(text: &str) -> bool {
    let last = text.split_whitespace().last().unwrap_or("");
    let own = |text: &str| {
        let name = Name::new(text);
        name.looks_like_tag() && !NOT_A_PREFIX.contains(&name.prefix())
    };
    // `FC 1` in two words; `FC-1 208` ends in something else.
    let first_is_letters = text
        .split_whitespace()
        .next()
        .is_some_and(|first| first.chars().all(char::is_alphabetic));
    own(last) || first_is_letters && own(text)
}

fn split_strong(text: &str) -> Vec<String> {
    let mut pieces = vec![String::new()];
    let mut depth = 0_u32;
    for c in text.chars() {
        match c {
            '(' => depth += 1,
            ')' => depth = depth.saturating_sub(1),
            _ => {}
        }
        let cuts = depth == 0 && matches!(c, ',' | ';' | '\n' | '\r');
        if cuts {
            pieces.push(String::new());
        } else if let Some(last) = pieces.last_mut() {
            last.push(c);
        }
    }
    pieces
}

/// The next sign or word that may join two entries, from `begin` on.
fn next_weak(text: &str, begin: usize) -> Option<(usize, usize)> {
    let tail = text.get(begin..)?;
    let sign = tail.find(['&', '+', '/']).map(|at| (begin + at, 1));
    let word = tail
        .char_indices()
        .find(|(at, _)| {
            tail.get(*at..*at + 5)
                .is_some_and(|window| window.eq_ignore_ascii_case(" and "))
        })
        .map(|(at, _)| (begin + at, 5));
    match (sign, word) {
        (Some(sign), Some(word)) => Some(sign.min(word)),
        (sign, word) => sign.or(word),
    }
}

/// Words that number something else than a unit.
const NOT_A_PREFIX: &[&str] = &[
    "HTR", "HEATER", "HEAT", "STRIP", "CKT", "CIRCUIT", "UNIT", "APT", "RM", "ROOM", "BATH", "BED",
    "BR", "FLOOR", "FL", "LVL", "LEVEL", "NO", "PH", "KW", "SPACE", "SPARE", "COIL", "STAGE",
    "STG", "BLDG", "NOTE", "TYPE", "SUITE", "HR", "AND", "OF", "TO", "THRU", "W", "GFI", "STE",
    "PANEL",
];

/// Words shaped like a tag: `FC-1`, and `FC 1` in two words.
fn tags_in(text: &str) -> Vec<Name> {
    let trimmed = |word: &str| {
        word.trim_matches(|c: char| "()[]{}:,;.#*\"'".contains(c))
            .to_owned()
    };
    let words: Vec<String> = text
        .split(|c: char| c.is_whitespace() || "&+/".contains(c))
        .map(trimmed)
        .collect();
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(word) = words.get(at) {
        at += 1;
        let own = Name::new(word);
        if NOT_A_PREFIX.contains(&own.prefix()) {
            // `HEATER 2`: its number is no tag either.
            continue;
        }
        // `12C-FC-1` begins with a dwelling's number.
        let apartment = word.contains('-')
            && word
                .split('-')
                .skip(1)
                .any(|p| p.starts_with(char::is_alphabetic))
            && word.ends_with(|c: char| c.is_ascii_digit());
        if own.looks_like_tag() || apartment {
            found.push(own);
            continue;
        }
        let letters = !word.is_empty() && word.len() <= 4 && word.chars().all(char::is_alphabetic);
        if letters
            && let Some(number) = words.get(at)
            && number.starts_with(|c: char| c.is_ascii_digit())
            && number.len() <= 6
            && number.bytes().filter(u8::is_ascii_alphabetic).count() <= 1
            && number
                .bytes()
                .all(|byte| byte.is_ascii_alphanumeric() || byte == b'-')
        {
            found.push(Name::new(&format!("{word} {number}")));
            at += 1;
        }
    }
    found
}

/// The loads of a circuit: `AH-1 HEATER`, `AH-1 HTR 2`, `FC-1, FC-2`,
/// `FC-1 thru FC-4`, `COND UNIT OU-1`, `(E) RANGE`, `SPARE`. `(4) FC-1` counts
/// more loads than it names and is not read.
pub fn loads(text: &str, _ctx: &Context) -> Reading<Vec<LoadEntry>> {
    if let Some(nothing) = words::whole(text) {
        return nothing.into();
    }
    let mut entries: Vec<LoadEntry> = Vec::new();
    let mut count = Count::default();
    for piece in split_list(text) {
        // Nothing between two commas names no load.
        if words::whole(&piece) == Some(Nothing::Absent) {
            continue;
        }
        let stripped = count.strip(&piece, entries.is_empty());
        let clear = |piece: &&str| !half_written(piece) && remarked_range(piece).is_none();
        let Some(piece) = stripped.filter(clear) else {
            return Reading::Unreadable {
                expected: EXPECTED_LOADS,
                guess: guess(&piece),
            };
        };
        if let Some(tags) = range(piece).flatten() {
            entries.extend(tags.iter().map(|tag| entry(tag.text())));
            continue;
        }
        let counted_on = entries.last().and_then(|before| counted_on(before, piece));
        entries.push(counted_on.unwrap_or_else(|| entry(piece)));
    }
    if count.differs(entries.len()) {
        return Reading::Unreadable {
            expected: EXPECTED_LOADS,
            guess: guess(text),
        };
    }
    if entries.is_empty() {
        return Reading::Blank;
    }
    Reading::Value(entries)
}

/// The entry that a bare number stands for behind another entry.
fn counted_on(before: &LoadEntry, number: &str) -> Option<LoadEntry> {
    if let Some(tag) = with_letter(&before.text, number) {
        return Some(entry(tag.text()));
    }
    let number = counting_on(number)?;
    if let Part::Heater(_) = before.part {
        return Some(LoadEntry {
            text: number.to_owned(),
            part: Part::Heater(number.parse().ok().filter(|n| (1..=12).contains(n))?),
            ..before.clone()
        });
    }
    if !ends_in_tag(&before.text) {
        return None;
    }
    Some(entry(with_number(before.tags.last()?, number)?.text()))
}

fn entry(text: &str) -> LoadEntry {
    let words = phrase(text);
    LoadEntry {
        text: text.split_whitespace().collect::<Vec<_>>().join(" "),
        part: part(&fold(text)),
        tags: tags_in(text),
        spare: is_spare(&words),
        elsewhere: words::classify(text) == Some(Nothing::Elsewhere),
    }
}

/// `SPARE`, `SPACE`, `SPARE 20A`, `SPACE ONLY`; not `SPACE HEATER`.
fn is_spare(words: &[String]) -> bool {
    let spare = |word: &String| ["SPARE", "SPACE", "SPARES", "SPACES"].contains(&word.as_str());
    words.first().is_some_and(spare)
        && words.iter().all(|word| {
            spare(word)
                || ["ONLY", "A", "P", "BKR", "BREAKER", "AMP"].contains(&word.as_str())
                || word.bytes().all(|byte| byte.is_ascii_digit())
        })
}

/// The part that the words of a load name. `W/ HEATER` is the whole unit.
fn part(folded: &str) -> Part {
    let tokens = tokens(folded, Digits::Whole);
    let word = |at: usize, list: &[&str]| tokens.get(at).is_some_and(|token| token.is_word(list));
    let mut heater = None;
    let mut fan = false;
    for at in 0..tokens.len() {
        let after_with = at >= 1 && word(at - 1, &["WITH"]) || at >= 2 && word(at - 2, &["W"]);
        let named = word(at, &["HEATER", "HTR", "HEATERS", "EH", "ELEMENT"])
            || word(at, &["HEAT"])
                && at >= 1
                && word(
                    at - 1,
                    &[
                        "STRIP",
                        "ELEC",
                        "ELECTRIC",
                        "AUX",
                        "AUXILIARY",
                        "BACKUP",
                        "EMERG",
                    ],
                )
            || word(at, &["HEAT"]) && word(at + 1, &["KIT"])
            || word(at, &["STRIP", "STRIPS"])
                && !word(at + 1, &["HEAT", "HEATER", "HTR", "LIGHT", "LTG"]);
        if named {
            if after_with || at >= 1 && word(at - 1, &["WATER", "SPACE", "UNIT"]) {
                return Part::Whole;
            }
            heater = Some(ordinal(tokens.get(at + 1..).unwrap_or_default()));
        }
        fan |= word(at, &["FAN", "BLOWER"])
            && !word(at + 1, &["COIL", "COILS", "POWERED"])
            && !(at >= 1 && word(at - 1, &["EXHAUST", "SUPPLY", "CEILING", "RETURN", "BATH"]));
    }
    match (heater, fan) {
        (Some(n), false) => Part::Heater(n),
        (None, true) => Part::Fan,
        _ => Part::Whole,
    }
}

/// The number behind *heater*: `HTR 2`, `HEATER #2`, `HTR-2`, `HEAT CKT 2`;
/// 1 where none stands there. `HTR 10KW` and `HTR 9.6 KW` tell its power.
fn ordinal(rest: &[super::text::Token]) -> u8 {
    let passed = |token: &super::text::Token| match token.kind {
        Kind::Sign(c) => "#-(".contains(c),
        Kind::Word => token.is_word(&["CKT", "CIRCUIT", "NO", "STAGE", "STG"]),
        Kind::Number(_) => false,
    };
    let at = rest.iter().take_while(|token| passed(token)).count();
    let measured = rest.get(at + 1).is_some_and(|next| {
        next.is_sign('.') || next.is_word(&["KW", "W", "A", "V", "AMP", "P", "POLE", "KVA"])
    });
    rest.get(at)
        .and_then(|token| token.number())
        .filter(|value| !measured && (1.0..=12.0).contains(value) && value.fract() == 0.0)
        .map_or(1, |value| value as u8)
}

#[cfg(test)]
#[path = "tags_tests.rs"]
mod tags_tests;
