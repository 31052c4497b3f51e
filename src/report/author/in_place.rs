//! What is written into an author's own workbook: the same texts, marks and
//! notes that a rebuilt copy has.

use super::super::package::{At, Block, Mark, Note, OurCell, OurRow, SheetEdit};
use super::super::style::{self, Styles};
use super::super::{ours, page};
use super::marks::{MOST_NOTES, note_text};
use super::{AuthorView, Copy, beside};
use crate::findings::Severity;
use std::collections::BTreeMap;

/// Bytes of a note that all programs take.
const LONGEST_NOTE: usize = 32_000;

/// The edits of all sheets at which something was found, or beside which
/// somebody typed.
pub(in super::super) fn edits(view: &AuthorView, styles: &Styles) -> Vec<SheetEdit> {
    let sheets = ours::authors_sheets(view.book);
    let edits = sheets.map(|sheet| Copy::new(view, sheet, &[], styles).edit());
    let something = |edit: &SheetEdit| edit.block.is_some() || !edit.marks.is_empty();
    edits.filter(something).collect()
}

impl Copy<'_> {
    fn edit(&self) -> SheetEdit {
        SheetEdit {
            name: self.sheet.name.clone().unwrap_or_default(),
            block: self.block(),
            marks: self.worst().into_iter().map(mark).collect(),
            notes: self.notes_of_ours(),
        }
    }

    /// Our columns, on sheets that have a table or a finding.
    fn block(&self) -> Option<Block> {
        let mut rows: BTreeMap<u32, OurRow> = BTreeMap::new();
        for (&row, _) in self.headings.iter().filter(|(_, last)| **last) {
            rows.insert(row, heading());
        }
        for &row in self
            .marks
            .keys()
            .filter(|row| !self.headings.contains_key(row))
        {
            rows.insert(row, self.found_row(row));
        }
        for &row in self.corrections.keys() {
            if !self.headings.contains_key(&row) {
                rows.entry(row).or_insert_with(|| self.changed_row(row));
            }
        }
        for row in self.sheet.rows().filter(|_| self.old_remark.is_some()) {
            let row = row.index().0;
            let typed = self.typed_before(row);
            if !typed.is_empty() && !self.headings.contains_key(&row) {
                let told = rows.entry(row).or_insert_with(typed_row);
                if !self.marks.contains_key(&row)
                    && let Some(remark) = told.cells.get_mut(beside::REMARK)
                {
                    *remark = cell(&typed, style::LOOK_FREE);
                }
            }
        }
        if !self.headings.values().any(|last| *last) {
            // Without a heading the columns would not be known again.
            let first = rows.keys().next()?.checked_sub(1)?;
            rows.insert(first, heading());
        }
        Some(Block {
            columns: beside::WIDTHS.iter().map(|width| (*width, false)).collect(),
            rows,
        })
    }

    fn found_row(&self, row: u32) -> OurRow {
        let (finding, to_do) = self.texts(row).unwrap_or_default();
        let items = self.marks.get(&row);
        let items = || items.into_iter().flatten().map(|(_, item)| item.finding);
        let worst = items()
            .next()
            .filter(|finding| finding.stands())
            .map_or(Severity::Note, |finding| finding.severity);
        let kept = items().find_map(|finding| {
            let remarks = self.view.remarks.get(&finding.id)?;
            (!remarks.row.is_empty()).then(|| remarks.row.clone())
        });
        let ids: Vec<&str> = items().map(|finding| finding.id.as_str()).collect();
        let listed = items().find_map(|finding| self.view.rows.get(&finding.id));
        let link = listed.map(|row| page::place(self.view.list, &format!("A{}", row + 1)));
        OurRow {
            height: self.needed_height(row),
            cells: vec![
                cell(&finding, style::look_beside(worst)),
                cell(&to_do, style::LOOK_WIDE),
                self.changes_cell(row),
                cell(
                    &kept.unwrap_or_else(|| self.typed_before(row)),
                    style::LOOK_FREE,
                ),
                Some(OurCell {
                    text: ids.join(" "),
                    look: if link.is_some() {
                        style::LOOK_LINK
                    } else {
                        style::LOOK_WIDE
                    },
                    link,
                }),
            ],
        }
    }

    fn changes_cell(&self, row: u32) -> Option<OurCell> {
        let changes = self.changes(row);
        (!changes.is_empty()).then(|| cell(&changes, style::LOOK_WIDE))?
    }

    /// A row at which nothing is found: what changes in it, if anything.
    fn changed_row(&self, row: u32) -> OurRow {
        OurRow {
            height: self.needed_height(row),
            cells: vec![
                None,
                None,
                self.changes_cell(row),
                None,
                cell(beside::NO_FINDING, style::LOOK_WIDE),
            ],
        }
    }

    fn needed_height(&self, row: u32) -> Option<f64> {
        let needed = self.texts_height(row);
        (needed > 0.0).then(|| needed.max(self.natural_height(row)).min(405.0))
    }

    fn notes_of_ours(&self) -> Vec<Note> {
        let mut notes: BTreeMap<At, (String, Severity)> = BTreeMap::new();
        for (&row, found) in &self.marks {
            for (column, item) in found {
                let severity = match item.finding.stands() {
                    true => item.finding.severity,
                    false => Severity::Note,
                };
                let (text, worst) = notes
                    .entry((row, *column))
                    .or_insert_with(|| (String::new(), severity));
                text.push_str(if text.is_empty() {
                    ours::PREFIX
                } else {
                    "\n\n"
                });
                text.push_str(&note_text(item));
                *worst = severity.max(*worst);
            }
        }
        let notes = notes.into_iter().take(MOST_NOTES);
        let note = |(at, (text, worst)): (At, (String, Severity))| Note {
            at,
            text: page::clip_to(&page::printable(&text), LONGEST_NOTE).into_owned(),
            fill: style::fill_rgb(worst),
        };
        notes.map(note).collect()
    }
}

fn mark((at, severity): (At, Severity)) -> Mark {
    Mark {
        at,
        look: style::look_marked(severity),
    }
}

fn heading() -> OurRow {
    OurRow {
        height: None,
        cells: ours::COLUMNS
            .iter()
            .map(|text| cell(text, style::LOOK_HEAD))
            .collect(),
    }
}

/// A row at which somebody typed.
fn typed_row() -> OurRow {
    OurRow {
        height: None,
        cells: vec![None; ours::COLUMNS.len()],
    }
}

fn cell(text: &str, look: usize) -> Option<OurCell> {
    Some(OurCell {
        text: page::clip(&page::printable(text)).into_owned(),
        look,
        link: None,
    })
}
