//! Text for a terminal: paragraphs and rows, broken at a width that reads
//! well.

use crate::report::CAUTIONS;
use std::fmt::Write;

/// Columns of a printed line.
const WIDTH: usize = 88;

/// A heading and a paragraph below it, indented.
pub(super) fn section(out: &mut String, heading: &str, text: &str) {
    let _ = writeln!(out, "\n{heading}");
    paragraph(out, 2, text);
}

/// Words of `text`, every line indented by `indent`.
pub(super) fn paragraph(out: &mut String, indent: usize, text: &str) {
    hanging(out, indent, indent, text);
}

/// The same with another indent for the lines after the first.
pub(super) fn hanging(out: &mut String, first: usize, rest: usize, text: &str) {
    let mut line = " ".repeat(first);
    let mut empty = true;
    for word in text.split_whitespace() {
        if !empty && line.chars().count() + 1 + word.chars().count() > WIDTH {
            let _ = writeln!(out, "{line}");
            line = " ".repeat(rest);
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    if !empty {
        let _ = writeln!(out, "{line}");
    }
}

/// A label of a fixed width and the text beside it.
pub(super) fn row(out: &mut String, indent: usize, width: usize, label: &str, text: &str) {
    let mut body = String::new();
    hanging(&mut body, indent + width, indent + width, text);
    let body = body.trim();
    if label.chars().count() >= width {
        let _ = writeln!(out, "{:indent$}{label}", "");
        let _ = writeln!(out, "{:1$}{body}", "", indent + width);
    } else {
        let _ = writeln!(out, "{:indent$}{label:<width$}{body}", "");
    }
}

/// The cautions that belong beside any number, whatever was asked: those of
/// the basis sheet that speak of no sheet.
pub(super) fn cautions() -> impl Iterator<Item = (&'static str, &'static str)> {
    CAUTIONS
        .into_iter()
        .filter(|(name, _)| ["Danger", "Nameplate first", "Local code"].contains(name))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_text_is_broken_between_words_and_nothing_is_lost() {
        let text = "a conductor ".repeat(30);
        let mut out = String::new();
        paragraph(&mut out, 4, &text);
        assert!(out.lines().count() > 3);
        for line in out.lines() {
            assert!(line.starts_with("    ") && line.len() <= WIDTH);
        }
        let words: Vec<&str> = out.split_whitespace().collect();
        assert_eq!(words.join(" "), text.trim());
    }

    #[test]
    fn a_row_hangs_below_its_own_text() {
        let mut out = String::new();
        row(&mut out, 2, 6, "MCA", &"word ".repeat(30));
        assert!(out.starts_with("  MCA   word"));
        assert!(out.lines().nth(1).unwrap().starts_with("        word"));
        assert!(out.lines().all(|line| line.len() <= WIDTH));
    }
}
