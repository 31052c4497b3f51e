//! Marks on an author's cells: a conditional format over the cell's own look,
//! and a note.

use super::super::list::{self, Item};
use super::super::{ours, page, style};
use super::{COLUMNS, Copy, ROWS};
use crate::findings::Severity;
use crate::schedule::{ColIndex, RowIndex, a1};
use rust_xlsxwriter::{ConditionalFormatFormula, Note, Worksheet, XlsxError};
use std::collections::{BTreeMap, BTreeSet};

/// Cells that one conditional format names.
const RANGES: usize = 500;
/// Notes on one sheet; more of them would make a program crawl.
pub(super) const MOST_NOTES: usize = 20_000;
/// Always true, and known again as ours.
const OURS: &str = "=N(\"ampledger\")=0";

impl Copy<'_> {
    /// The cells at fault, each with its worst severity.
    pub(super) fn worst(&self) -> BTreeMap<(u32, u16), Severity> {
        let mut worst: BTreeMap<(u32, u16), Severity> = BTreeMap::new();
        for (&row, found) in &self.marks {
            for &(column, item) in found.iter().filter(|(_, item)| item.finding.stands()) {
                let severity = worst.entry((row, column)).or_insert(item.finding.severity);
                *severity = (*severity).max(item.finding.severity);
            }
        }
        worst
    }

    /// The cells at fault, each by its worst finding.
    pub(super) fn conditional_formats(&self, out: &mut Worksheet) -> Result<(), XlsxError> {
        let worst = self.worst();
        // One rule for many cells: a rule a cell would choke the list of rules
        // in a spreadsheet program.
        for severity in Severity::ALL {
            let cells = worst.iter().filter(|(_, of)| **of == severity);
            let ranges: Vec<_> = cells.map(|(cell, _)| self.range(*cell)).collect();
            for part in ranges.chunks(RANGES) {
                let named: Vec<&str> = part.iter().map(|(.., name)| name.as_str()).collect();
                let mut rule = ConditionalFormatFormula::new()
                    .set_rule(OURS)
                    .set_format(style::marked(severity));
                if part.len() > 1 {
                    rule = rule.set_multi_range(named.join(" "));
                }
                if let Some(((row, column), (bottom, right), _)) = part.first() {
                    out.add_conditional_format(*row, *column, *bottom, *right, &rule)?;
                }
            }
        }
        Ok(())
    }

    /// A cell, or the merged range that it shows: both corners, and its name.
    pub(super) fn range(&self, (row, column): (u32, u16)) -> ((u32, u16), (u32, u16), String) {
        let merge = self
            .sheet
            .covering_merge(RowIndex(row), ColIndex(column))
            .filter(|merge| merge.last.0.0 < ROWS && merge.last.1.0 < COLUMNS);
        let first = a1(RowIndex(row), ColIndex(column));
        match merge {
            Some(merge) => {
                let (bottom, right) = (merge.last.0, merge.last.1);
                let name = format!("{first}:{}", a1(bottom, right));
                ((row, column), (bottom.0, right.0), name)
            }
            None => ((row, column), (row, column), first),
        }
    }

    /// Cells that bear a note of ours.
    pub(super) fn cells_noted(&self) -> usize {
        let cells = self.marks.iter();
        let cells =
            cells.flat_map(|(row, found)| found.iter().map(move |(column, _)| (*row, *column)));
        cells.collect::<BTreeSet<_>>().len()
    }

    /// Notes at the cells at fault, below what the author's note says there.
    pub(super) fn notes(&self, out: &mut Worksheet) -> Result<(), XlsxError> {
        let mut notes: BTreeMap<(u32, u16), (String, Option<Severity>)> = BTreeMap::new();
        for note in &self.sheet.notes {
            let text = ours::without_our_note(&note.text);
            if !text.is_empty() && !self.old.contains(&note.at.1.0) {
                notes.insert((note.at.0.0, note.at.1.0), (text.to_owned(), None));
            }
        }
        for (&row, found) in &self.marks {
            for (column, item) in found {
                let (text, worst) = notes.entry((row, *column)).or_default();
                if !text.is_empty() {
                    text.push_str("\n\n");
                }
                if worst.is_none() {
                    text.push_str(ours::PREFIX);
                }
                let severity = match item.finding.stands() {
                    true => item.finding.severity,
                    false => Severity::Note,
                };
                *worst = (*worst).max(Some(severity));
                text.push_str(&note_text(item));
            }
        }
        for ((row, column), (text, worst)) in notes.into_iter().take(MOST_NOTES) {
            let text = page::printable(&text);
            let text = page::clip_to(&text, 32_000);
            let lines: u32 = text
                .lines()
                .map(|l| 1 + l.chars().count() as u32 / 52)
                .sum();
            let mut note = Note::new(text.as_ref())
                .add_author_prefix(false)
                .set_width(340)
                .set_height((24 + 16 * lines).clamp(60, 460));
            if let Some(worst) = worst {
                note = note.set_background_color(style::fill(worst));
            }
            out.insert_note(row, column, &note)?;
        }
        Ok(())
    }
}

pub(super) fn note_text(item: &Item) -> String {
    let finding = item.finding;
    let mut text = list::brief(finding);
    for (label, part) in [
        ("Found", &finding.found),
        ("Limit", &finding.limit),
        ("To do", &finding.remedy),
        ("Source", &finding.source),
    ] {
        if !part.is_empty() {
            text.push_str(&format!("\n{label}: {part}"));
        }
    }
    text
}

/// Row and column, from zero, of `C7`.
pub(super) fn parse_a1(cell: &str) -> Option<(u32, u16)> {
    let letters = cell.find(|c: char| c.is_ascii_digit())?;
    let (column, row) = cell.split_at_checked(letters)?;
    let mut index: u32 = 0;
    for letter in column.bytes() {
        let digit = letter.checked_sub(b'A').filter(|d| *d < 26)?;
        index = index.checked_mul(26)?.checked_add(u32::from(digit) + 1)?;
    }
    let column = u16::try_from(index.checked_sub(1)?).ok()?;
    let row: u32 = row.parse().ok()?;
    Some((row.checked_sub(1)?, column)).filter(|(row, column)| *row < ROWS && *column < COLUMNS)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_found_by_their_names() {
        assert_eq!(parse_a1("A1"), Some((0, 0)));
        assert_eq!(parse_a1("C7"), Some((6, 2)));
        assert_eq!(parse_a1("XFD1048576"), Some((1_048_575, 16_383)));
        for none in ["", "7", "C", "C0", "c7", "XFE1", "A1048577", "?1"] {
            assert_eq!(parse_a1(none), None, "{none}");
        }
    }
}
