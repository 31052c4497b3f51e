//! Widths of columns: ours are carved out of the author's ranges.

use super::cells::COLUMNS;
use super::xml::{Document, Element, attributes, escape, flag, number, with, without};
use std::collections::BTreeSet;

/// Pixels of a column without a width of its own, and of a row.
const PLAIN_COLUMN: f64 = 64.0;

/// What is said again of a column. Where columns were moved since, a width
/// does no harm.
const KEPT: [&str; 3] = ["width", "customWidth", "bestFit"];

/// The columns that are described: first, last (from zero) and the tag.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Columns(Vec<(u16, u16, String)>);

impl Columns {
    pub fn read(document: &Document, list: Option<&Element>) -> Self {
        let elements = list.and_then(|list| document.elements_in(list).ok());
        let column = |element: &Element| {
            let tag = element.tag(&document.text);
            let first: u32 = number(tag, "min")?;
            let last: u32 = number(tag, "max")?;
            let last = last.min(u32::from(COLUMNS));
            let (first, last) = (first.checked_sub(1)?, last.checked_sub(1)?);
            let first = u16::try_from(first).ok()?;
            let last = u16::try_from(last).ok().filter(|last| *last >= first)?;
            Some((first, last, element.raw(&document.text).to_owned()))
        };
        Self(
            elements
                .unwrap_or_default()
                .iter()
                .filter_map(column)
                .collect(),
        )
    }

    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Puts columns of ours in, each its width and whether it is hidden,
    /// parting the ranges of the author's that they lie in.
    pub fn carve(&mut self, first: u16, ours: &[(f64, bool)], prefix: &str) {
        let after = first + ours.len() as u16;
        let mut carved = Vec::new();
        for (from, to, tag) in self.0.drain(..) {
            if from < first {
                carved.push((from, to.min(first - 1), tag.clone()));
            }
            if to >= after {
                carved.push((from.max(after), to, tag.clone()));
            }
        }
        for (column, (width, hidden)) in (first..).zip(ours) {
            let hidden = if *hidden { " hidden=\"1\"" } else { "" };
            let tag = format!(
                "<{prefix}col min=\"0\" max=\"0\" width=\"{width}\" customWidth=\"1\"{hidden}/>"
            );
            carved.push((column, column, tag));
        }
        carved.sort_by_key(|(first, ..)| *first);
        self.0 = carved;
    }

    /// Takes columns of ours out; a range of the author's that was parted by
    /// them is one again.
    pub fn heal(&mut self, ours: &BTreeSet<u16>) {
        self.0
            .retain(|(first, last, _)| !(*first..=*last).all(|column| ours.contains(&column)));
        let mut healed: Vec<(u16, u16, String)> = Vec::new();
        for (first, last, tag) in self.0.drain(..) {
            match healed.last_mut() {
                Some((_, end, before))
                    if first > *end + 1
                        && (*end + 1..first).all(|column| ours.contains(&column))
                        && look(before) == look(&tag) =>
                {
                    *end = last;
                }
                _ => healed.push((first, last, tag)),
            }
        }
        self.0 = healed;
    }

    /// What is said of columns that ours are put over, so that it can be said
    /// again: their widths, and nothing of their styles, whose numbers other
    /// programs change.
    pub fn taken(&self, first: u16, count: usize) -> String {
        let last = first + count.saturating_sub(1) as u16;
        let under = self
            .0
            .iter()
            .filter(|range| range.0 <= last && range.1 >= first);
        let said = under.filter_map(|(from, to, tag)| {
            let said = attributes(tag).filter(|found| KEPT.contains(&found.name));
            let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '+' | '-');
            let said = said.filter(|found| found.value.chars().all(plain));
            let said: String = said.map(|s| format!(" {}={}", s.name, s.value)).collect();
            let place = format!("{}-{}", (*from).max(first), (*to).min(last));
            (!said.is_empty()).then(|| place + &said)
        });
        said.collect::<Vec<_>>().join(";")
    }

    /// Says again what was said of columns of which nothing is said now.
    pub fn restore(&mut self, taken: &str, prefix: &str) {
        let mut restored = Vec::new();
        for said in taken.split(';') {
            let mut words = said.split(' ');
            let place = words.next().and_then(|place| place.split_once('-'));
            let place = place.and_then(|(from, to)| Some((from.parse().ok()?, to.parse().ok()?)));
            let Some((from, to)) = place.filter(|(from, to): &(u16, u16)| from <= to) else {
                continue;
            };
            let free = !self.0.iter().any(|range| range.0 <= to && range.1 >= from);
            let said = words.filter_map(|word| word.split_once('='));
            let said: String = said
                .filter(|(name, _)| KEPT.contains(name))
                .map(|(name, value)| format!(" {name}=\"{}\"", escape(value)))
                .collect();
            if free && to < COLUMNS && !said.is_empty() {
                let tag = format!("<{prefix}col min=\"0\" max=\"0\"{said}/>");
                restored.push((from, to, tag));
            }
        }
        self.0.extend(restored);
        self.0.sort_by_key(|(first, ..)| *first);
    }

    /// The list's content.
    pub fn xml(&self) -> String {
        let columns = self.0.iter().map(|(first, last, tag)| {
            let tag = with(tag, "min", &(u32::from(*first) + 1).to_string());
            with(&tag, "max", &(u32::from(*last) + 1).to_string())
        });
        columns.collect()
    }

    /// About how wide a column shows, in pixels.
    pub fn pixels(&self, column: u16) -> f64 {
        let mut ranges = self.0.iter();
        let range = ranges.find(|(first, last, _)| (*first..=*last).contains(&column));
        let Some((.., tag)) = range else {
            return PLAIN_COLUMN;
        };
        if flag(tag, "hidden") {
            return 0.0;
        }
        number::<f64>(tag, "width").map_or(PLAIN_COLUMN, |width| width * 7.0 + 5.0)
    }
}

/// A column's tag but for its place.
fn look(tag: &str) -> String {
    without(&without(tag, "min"), "max")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn columns(xml: &str) -> Columns {
        let text = format!("<cols>{xml}</cols>");
        let document = Document::new("p", text).expect("sound");
        Columns::read(&document, Some(&document.root))
    }

    #[test]
    fn a_range_is_parted_and_healed() {
        let whole = "<col min=\"1\" max=\"1\" width=\"9\"/><col min=\"2\" max=\"16384\" width=\"12\" style=\"3\"/>";
        let mut list = columns(whole);
        list.carve(5, &[(62.0, false), (14.0, true)], "");
        assert_eq!(
            list.xml(),
            "<col min=\"1\" max=\"1\" width=\"9\"/><col min=\"2\" max=\"5\" width=\"12\" style=\"3\"/>\
             <col min=\"6\" max=\"6\" width=\"62\" customWidth=\"1\"/>\
             <col min=\"7\" max=\"7\" width=\"14\" customWidth=\"1\" hidden=\"1\"/>\
             <col min=\"8\" max=\"16384\" width=\"12\" style=\"3\"/>"
        );
        list.heal(&[5, 6].into());
        assert_eq!(list.xml(), whole);
    }

    #[test]
    fn what_ours_stood_over_is_said_again() {
        let apart = "<col min=\"2\" max=\"2\" width=\"9\"/>\
             <col min=\"7\" max=\"7\" width=\"20.5\" customWidth=\"1\"/>\
             <col min=\"8\" max=\"8\" width=\"7\" bestFit=\"1\"/>";
        let ours = [(62.0, false), (48.0, false), (14.0, true)];
        let mut list = columns(apart);
        let taken = list.taken(5, ours.len());
        assert_eq!(taken, "6-6 width=20.5 customWidth=1;7-7 width=7 bestFit=1");
        list.carve(5, &ours, "");
        list.heal(&[5, 6, 7].into());
        list.restore(&taken, "");
        assert_eq!(list.xml(), apart);
        // What another program wrote into our name is not believed.
        for odd in [
            "",
            ";",
            "6",
            "9-6 width=1",
            "6-70000 width=1",
            "20-21",
            "20-21 x=1",
        ] {
            list.restore(odd, "");
            assert_eq!(list.xml(), apart, "{odd}");
        }
        list.restore("6-9 width=1", "");
        assert_eq!(list.xml(), apart, "the author has said something since");
    }

    #[test]
    fn a_hidden_column_takes_no_room() {
        let list = columns("<col min=\"2\" max=\"3\" width=\"10\" hidden=\"1\"/>");
        assert_eq!((list.pixels(0), list.pixels(1)), (64.0, 0.0));
    }
}
