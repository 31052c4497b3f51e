//! The four meanings of words that stand instead of a value.
//!
//! Every grammar asks here first, so that all agree. The exceptions are the
//! fields in which `NONE` is itself a value: splices, the shield's ground,
//! routing, shielding. Those look for it before they ask.

use super::text::{Digits, Kind, fold, tokens};

/// What such a word means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Nothing {
    /// Nothing there: `-`, `N/A`, `NONE`, an empty text.
    Absent,
    /// Not known yet: `TBD`, `?`, `V.I.F.`, `SEE NOTE 3`.
    Unknown,
    /// Provided or kept by somebody else: `NIC`, `BY OTHERS`, `(E)`.
    Elsewhere,
    /// As in the cell above: `SAME`, `DITTO`, `"`.
    Same,
}

const ABSENT: &[&str] = &["NA", "NONE", "NIL", "NOTAPPLICABLE", "NOTAPPL"];
const UNKNOWN: &[&str] = &[
    "TBD",
    "TBC",
    "TBA",
    "VIF",
    "VERIFY",
    "VERIFYINFIELD",
    "FIELDVERIFY",
    "UNKNOWN",
    "UNK",
    "PENDING",
    "TOBEDETERMINED",
    "TOBECONFIRMED",
];
const ELSEWHERE: &[&str] = &[
    "NIC",
    "NOTINCONTRACT",
    "BYOTHERS",
    "BYOTHER",
    "BYOWNER",
    "BYTENANT",
    "BYLANDLORD",
    "BYEC",
    "BYELECTRICIAN",
    "BYELECTRICAL",
    "BYELECTRICALCONTRACTOR",
    "BYGC",
    "BYGENERALCONTRACTOR",
    "OTHERS",
    "EXIST",
    "EXISTG",
    "EXISTING",
    "EXG",
    "EXISTINGTOREMAIN",
    "ETR",
];
const SAME: &[&str] = &["SAME", "SAMEASABOVE", "ASABOVE", "DITTO", "DO"];

/// The meaning of the text, where all of it is such a word, or where it bears
/// a mark of being somebody else's (`(E) 30A/2P`, `30A BY OTHERS`).
pub fn classify(text: &str) -> Option<Nothing> {
    let folded = fold(text);
    whole_of(&folded).or_else(|| marked(&folded).then_some(Nothing::Elsewhere))
}

/// The meaning of the text, where all of it is such a word.
pub fn whole(text: &str) -> Option<Nothing> {
    whole_of(&fold(text))
}

/// Every cell is asked this several times: most say no before they are taken
/// apart.
fn whole_of(folded: &str) -> Option<Nothing> {
    let bare = folded.trim().trim_matches(|c: char| "()[]".contains(c));
    let bare = bare.trim();
    if bare.chars().all(|c| c == '-' || c == '_') {
        return Some(Nothing::Absent);
    }
    if bare.chars().all(|c| c == '?') {
        return Some(Nothing::Unknown);
    }
    if bare.contains('"') && bare.chars().all(|c| "\"- ".contains(c)) || bare == ",," {
        return Some(Nothing::Same);
    }
    if (folded.starts_with('(') || folded.starts_with('['))
        && (bare == "E" || bare == "EX" || bare == "EX.")
    {
        return Some(Nothing::Elsewhere);
    }
    // An error value (`#N/A`) is no word for nothing.
    if bare.starts_with('#') {
        return None;
    }
    let figures = bare.contains(|c: char| c.is_ascii_digit());
    if figures && !bare.contains("NOTE") {
        return None;
    }
    let parts = tokens(bare, Digits::Whole);
    let letters: String = parts
        .iter()
        .filter(|token| token.kind == Kind::Word)
        .map(|token| token.text.as_str())
        .collect();
    if letters == "SEENOTE" || letters == "SEENOTES" || letters == "NOTE" || letters == "NOTES" {
        return Some(Nothing::Unknown);
    }
    let others = parts.iter().any(|token| match token.kind {
        Kind::Word => false,
        Kind::Number(_) => true,
        Kind::Sign(c) => !"/.-".contains(c),
    });
    if others {
        return None;
    }
    let among = |list: &[&str]| list.contains(&letters.as_str());
    if among(ABSENT) {
        Some(Nothing::Absent)
    } else if among(UNKNOWN) {
        Some(Nothing::Unknown)
    } else if among(ELSEWHERE) {
        Some(Nothing::Elsewhere)
    } else if among(SAME) {
        Some(Nothing::Same)
    } else {
        None
    }
}

/// Whether a text that says more bears a mark of being somebody else's.
pub fn marked_elsewhere(text: &str) -> bool {
    marked(&fold(text))
}

fn marked(folded: &str) -> bool {
    let marks = ["(E)", "(EX)", "(EX.)", "(EXIST)", "(EXIST.)", "(EXISTING)"];
    let ends = |mark: &str| {
        let before = folded.strip_suffix(mark);
        before.is_some_and(|before| before.ends_with(' '))
    };
    if folded.contains("(E")
        && marks
            .iter()
            .any(|mark| folded.starts_with(mark) || ends(mark))
    {
        return true;
    }
    // `N.I.C.` has the letters, not the word.
    let may = |letters: &str| letters.chars().all(|c| folded.contains(c));
    if !(may("NIC") || may("EXIST") || may("BY")) {
        return false;
    }
    let parts = tokens(folded, Digits::Whole);
    parts
        .iter()
        .any(|token| token.is_word(&["NIC", "EXIST", "EXISTING", "EXISTG"]))
        || parts.windows(2).any(|pair| {
            pair[0].is_word(&["BY"]) && pair[1].is_word(&["OTHERS", "OTHER", "OWNER", "TENANT"])
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_for_nothing_have_four_meanings() {
        for text in [
            "", "  ", "-", "—", "--", "N/A", "n/a", "NA", "N.A.", "None", "(none)",
        ] {
            assert_eq!(classify(text), Some(Nothing::Absent), "{text:?}");
        }
        for text in [
            "TBD",
            "t.b.d.",
            "?",
            "???",
            "V.I.F.",
            "VIF",
            "SEE NOTE 3",
            "See Notes 1, 2",
            "(TBD)",
        ] {
            assert_eq!(classify(text), Some(Nothing::Unknown), "{text:?}");
        }
        for text in [
            "NIC",
            "N.I.C.",
            "BY OTHERS",
            "by others",
            "EXIST",
            "Exist.",
            "(E)",
            "existing",
            "(E) 30A/2P",
            "30A (E)",
            "30A/2P BY OTHERS",
            "BY E.C.",
            "by electrical contractor",
            "EXIST 40A",
        ] {
            assert_eq!(classify(text), Some(Nothing::Elsewhere), "{text:?}");
        }
        for text in [
            "SAME",
            "ditto",
            "\"",
            "”",
            "''",
            "do",
            "do.",
            "″",
            "-\"-",
            "same as above",
        ] {
            assert_eq!(classify(text), Some(Nothing::Same), "{text:?}");
        }
    }

    #[test]
    fn values_that_hold_such_letters_are_no_words_for_nothing() {
        for text in [
            "E",
            "30",
            "30?",
            "#N/A",
            "#REF!",
            "NO",
            "3/4\"",
            "12'-6\"",
            "SAME RACEWAY",
            "BY RACEWAY",
            "30A SEE NOTE 3",
            "NICHE",
            "DO-1",
            "NA-1",
            "0",
            "EXIT LTG",
            "10/2",
        ] {
            assert_eq!(classify(text), None, "{text:?}");
        }
    }
}
