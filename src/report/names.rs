//! Names of sheets: valid, short enough and each once.

use std::collections::BTreeSet;

/// Characters that a sheet's name can have.
const LONGEST: usize = 31;

/// Gives out names of sheets, none twice; case does not tell two apart.
#[derive(Debug, Default)]
pub(super) struct SheetNames {
    taken: BTreeSet<String>,
}

impl SheetNames {
    /// `wanted`, made valid, and told apart by `(2)`, `(3)`, … if need be.
    pub fn give(&mut self, wanted: &str) -> String {
        self.give_with(wanted, |n| format!(" ({n})"))
    }

    /// A sheet of ours beside an author's of the same name: `Findings
    /// (ampledger)`.
    pub fn give_ours(&mut self, wanted: &str) -> String {
        self.give_with(wanted, |n| match n {
            2 => " (ampledger)".to_owned(),
            n => format!(" (ampledger {})", n - 1),
        })
    }

    fn give_with(&mut self, wanted: &str, suffix: impl Fn(usize) -> String) -> String {
        let valid = valid(wanted);
        let mut name = shorten(&valid, LONGEST);
        let mut n = 2;
        while !self.taken.insert(name.to_lowercase()) {
            let suffix = suffix(n);
            let room = LONGEST.saturating_sub(suffix.encode_utf16().count());
            name = format!("{}{suffix}", shorten(&valid, room));
            n += 1;
        }
        name
    }
}

/// The name of the only sheet of a text file: its stem.
pub(super) fn of_text_file(path: &str) -> String {
    let file = path.rsplit('/').next().unwrap_or(path);
    let stem = file.rsplit_once('.').map_or(file, |(stem, _)| stem);
    shorten(&valid(stem), LONGEST)
}

/// Without the characters that a sheet's name cannot have.
fn valid(wanted: &str) -> String {
    let name: String = wanted
        .chars()
        .map(|c| match c {
            '[' | ']' | ':' | '*' | '?' | '/' | '\\' => '_',
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => ' ',
            c => c,
        })
        .collect();
    let name = name.trim().trim_matches('\'');
    match name {
        "" => "Sheet".to_owned(),
        // Spreadsheet programs keep this one for themselves.
        name if name.eq_ignore_ascii_case("history") => format!("{name}_"),
        name => name.to_owned(),
    }
}

/// Cut to a number of UTF-16 units, as spreadsheets count.
fn shorten(name: &str, most: usize) -> String {
    let mut units = 0;
    let kept: String = name
        .chars()
        .take_while(|c| {
            units += c.len_utf16();
            units <= most
        })
        .collect();
    kept.trim_end().trim_end_matches('\'').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_authors_sheet_of_our_name_keeps_it() {
        let mut names = SheetNames::default();
        assert_eq!(names.give("findings"), "findings");
        assert_eq!(names.give_ours("Findings"), "Findings (ampledger)");
        assert_eq!(names.give_ours("Findings"), "Findings (ampledger 2)");
        assert_eq!(names.give_ours("Basis"), "Basis");
    }

    #[test]
    fn names_are_valid_short_and_distinct() {
        let mut names = SheetNames::default();
        let long = "Equipment schedule of the north tower, level 3";
        let first = names.give(long);
        let second = names.give(long);
        assert_eq!(first.chars().count(), 31);
        assert!(second.ends_with(" (2)") && second.chars().count() <= 31);
        assert_eq!(names.give("a/b:c"), "a_b_c");
        assert_eq!(names.give(""), "Sheet");
        assert_eq!(of_text_file("bids/unit 4/circuits.v2.csv"), "circuits.v2");
    }
}
