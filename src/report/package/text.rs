//! Texts as XML has them.

use std::borrow::Cow;

pub(super) fn unescape(value: &str) -> Cow<'_, str> {
    quick_xml::escape::unescape(value).unwrap_or(Cow::Borrowed(value))
}

/// For attributes and texts alike. A tab or a line end in an attribute would
/// be read as a space.
pub(super) fn escape(value: &str) -> String {
    let mut out = String::with_capacity(value.len());
    for c in value.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\t' => out.push_str("&#9;"),
            '\n' => out.push_str("&#10;"),
            c => out.push(c),
        }
    }
    out
}

/// A text of a cell or a note: characters that XML has not are written as
/// spreadsheets write them, `_x000B_`, and a text that looks so is kept.
pub(super) fn cell_text(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    for (at, c) in text.char_indices() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '\n' | '\t' => out.push(c),
            '_' if looks_escaped(text.get(at..).unwrap_or_default()) => out.push_str("_x005F_"),
            c if c < ' ' || matches!(c, '\u{fffe}' | '\u{ffff}') => {
                out.push_str(&format!("_x{:04X}_", c as u32));
            }
            c => out.push(c),
        }
    }
    out
}

fn looks_escaped(text: &str) -> bool {
    let digits = text.strip_prefix("_x").and_then(|rest| rest.get(..4));
    digits.is_some_and(|d| d.bytes().all(|b| b.is_ascii_hexdigit())) && text.get(6..7) == Some("_")
}
