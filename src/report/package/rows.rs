//! Rows of the author's with our cells in them, as XML.

use super::OurCell;
use super::cells::letters;
use super::xml::{attribute, cell_text, flag, number, with};
use std::fmt::Write;

/// Our cells of a row.
pub(super) fn cells_xml(
    row: u32,
    first: u16,
    cells: &[Option<OurCell>],
    width: usize,
    looks: &[usize],
) -> String {
    let mut xml = String::new();
    for (column, cell) in (first..).zip(cells.iter().take(width)) {
        let Some(cell) = cell else { continue };
        let at = format!("{}{}", letters(column), row + 1);
        let look = looks.get(cell.look).copied().unwrap_or(0);
        let _ = match cell.text.is_empty() {
            true => write!(xml, "<c r=\"{at}\" s=\"{look}\"/>"),
            false => write!(
                xml,
                "<c r=\"{at}\" s=\"{look}\" t=\"inlineStr\"><is><t xml:space=\"preserve\">{}</t></is></c>",
                cell_text(&cell.text)
            ),
        };
    }
    xml
}

/// A row's tag with room for our texts, where its height is not the
/// author's own.
pub(super) fn with_height(tag: &str, needed: Option<f64>) -> String {
    let Some(needed) = needed.filter(|_| !flag(tag, "customHeight")) else {
        return tag.to_owned();
    };
    let own: f64 = number(tag, "ht").unwrap_or(0.0);
    match needed > own {
        true => with(tag, "ht", &format!("{needed}")),
        false => tag.to_owned(),
    }
}

/// A row's tag that counts our columns among those it has.
pub(super) fn with_span(tag: &str, last: u16) -> String {
    let spans = attribute(tag, "spans");
    let Some((first, end)) = spans.as_deref().and_then(|spans| spans.split_once(':')) else {
        return tag.to_owned();
    };
    match end.parse::<u32>() {
        Ok(end) if end < u32::from(last) + 1 => {
            with(tag, "spans", &format!("{first}:{}", u32::from(last) + 1))
        }
        _ => tag.to_owned(),
    }
}
