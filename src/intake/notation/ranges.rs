//! Numbers and letters that tags count on by: `FC-1 thru 4`, `FC-1A..C`.

use crate::schedule::Name;

/// The longest range of tags that is written out.
const LONGEST_RANGE: u32 = 200;

pub(super) fn is_number(text: &str) -> bool {
    !text.is_empty() && text.len() <= 5 && text.bytes().all(|byte| byte.is_ascii_digit())
}

/// The number of `2` and `-2` behind `FC-1`.
pub(super) fn counting_on(piece: &str) -> Option<&str> {
    let piece = piece.trim();
    let number = piece.strip_prefix(['-', '–', '—']).unwrap_or(piece);
    is_number(number).then_some(number)
}

pub(super) fn is_tag(text: &str) -> bool {
    Name::new(text).looks_like_tag()
}

/// The tag of `like` with another number: `FC-1` and `4` make `FC-4`.
pub(super) fn with_number(like: &Name, number: &str) -> Option<Name> {
    let (stem, _) = stem_and_number(like.text())?;
    is_number(number).then(|| Name::new(&format!("{stem}{number}")))
}

/// `FC-` and `01` of `FC-01`; `None` where the tag ends in a letter.
fn stem_and_number(tag: &str) -> Option<(&str, &str)> {
    let stem = tag.trim_end_matches(|c: char| c.is_ascii_digit());
    let number = tag.get(stem.len()..)?;
    let named = stem.contains(char::is_alphabetic);
    (named && is_number(number)).then_some((stem, number))
}

/// `None`: no range. `Some(None)`: a range that cannot be written out.
#[allow(clippy::option_option)]
pub(super) fn range(text: &str) -> Option<Option<Vec<Name>>> {
    let (from, to) = range_ends(text)?;
    Some(write_out(&from, &to))
}

/// `FC-1` and `A` of `FC-1A`.
fn stem_and_letter(tag: &str) -> Option<(&str, char)> {
    let letter = tag.chars().next_back().filter(char::is_ascii_alphabetic)?;
    let stem = tag.get(..tag.len() - 1)?;
    let numbered = stem.ends_with(|c: char| c.is_ascii_digit()) && is_tag(stem);
    numbered.then_some((stem, letter))
}

/// `FC-1B` of `FC-1A` and `B`.
pub(super) fn with_letter(like: &str, letter: &str) -> Option<Name> {
    let (stem, _) = stem_and_letter(like.split_whitespace().last()?)?;
    is_letter(letter).then(|| Name::new(&format!("{stem}{letter}")))
}

pub(super) fn is_letter(text: &str) -> bool {
    text.len() == 1 && text.bytes().all(|byte| byte.is_ascii_alphabetic())
}

/// The two ends of `FC-1 thru FC-4`, `FC-1 to 4`, `FC-1..4`, `FC-1 - FC-4`,
/// `FC-1A..C`.
fn range_ends(text: &str) -> Option<(String, String)> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let joins = |word: &str| {
        let upper = word.to_uppercase();
        [
            "THRU", "THROUGH", "TO", "-", "–", "—", "~", "..", "...", "…",
        ]
        .contains(&upper.as_str())
    };
    if let Some(at) = words.iter().position(|word| joins(word)) {
        let from = words.get(..at)?.join(" ");
        let to = words.get(at + 1..)?.join(" ");
        let to = counting_on(&to).map_or(to.clone(), str::to_owned);
        return are_ends(&from, &to).then_some((from, to));
    }
    let (from, to) = ["...", "..", "…"]
        .iter()
        .find_map(|dots| text.split_once(dots))?;
    let (from, to) = (from.trim(), to.trim());
    are_ends(from, to).then(|| (from.to_owned(), to.to_owned()))
}

fn are_ends(from: &str, to: &str) -> bool {
    let letters = || is_letter(to) && stem_and_letter(from).is_some();
    is_tag(from) && (is_tag(to) || is_number(to) || letters())
}

/// The two ends of a range with more words around it, `FAN COIL FC-1 THRU
/// FC-4`, or whose ends do not fit; not of `EF-1 THRU WALL`.
pub(super) fn remarked_range(piece: &str) -> Option<(&str, &str)> {
    let words: Vec<&str> = piece.split_whitespace().collect();
    let at = words.iter().position(|word| {
        word.eq_ignore_ascii_case("THRU") || word.eq_ignore_ascii_case("THROUGH")
    })?;
    let (from, to) = (words.get(at.checked_sub(1)?)?, words.get(at + 1)?);
    let numbered = to.starts_with(|c: char| c.is_ascii_digit()) || is_tag(to);
    let written = range(piece).flatten().is_some();
    (is_tag(from) && numbered && !written).then_some((from, to))
}

pub(super) fn write_out(from: &str, to: &str) -> Option<Vec<Name>> {
    if let Some((stem, first)) = stem_and_letter(from) {
        return write_out_letters(stem, first, to);
    }
    let (stem, first) = stem_and_number(from)?;
    let last = if is_number(to) {
        to
    } else {
        let (other, last) = stem_and_number(to)?;
        // `FC-1 thru fc 4`: one prefix, whatever its separators.
        if Name::new(&format!("{stem}1")) != Name::new(&format!("{other}1")) {
            return None;
        }
        last
    };
    let width = first.len();
    let (low, high): (u32, u32) = (first.parse().ok()?, last.parse().ok()?);
    if low >= high || high - low > LONGEST_RANGE {
        return None;
    }
    let written = (low..=high).map(|number| Name::new(&format!("{stem}{number:0width$}")));
    Some(written.collect())
}

/// `FC-1A thru FC-1C` and `FC-1A thru C`.
fn write_out_letters(stem: &str, first: char, to: &str) -> Option<Vec<Name>> {
    let last = if is_letter(to) {
        to.chars().next()?
    } else {
        let (other, last) = stem_and_letter(to)?;
        (Name::new(other) == Name::new(stem)).then_some(last)?
    };
    let one_case = first.is_ascii_uppercase() == last.is_ascii_uppercase();
    if !one_case || first >= last {
        return None;
    }
    let written = (first..=last).map(|letter| Name::new(&format!("{stem}{letter}")));
    Some(written.collect())
}
