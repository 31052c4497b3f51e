//! What is written into an author's own workbook: the same texts, marks and
//! notes that a rebuilt copy has.

use super::super::copy::Placed;
use super::super::package::{
    At, Block, CannotEdit, Editing, Mark, Note, OurCell, OurRow, SheetEdit,
};
use super::super::style::{self, Styles};
use super::super::{ours, page};
use super::marks::{MOST_NOTES, note_text};
use super::{AuthorView, Copy, beside};
use crate::findings::Severity;
use std::collections::BTreeMap;

/// Bytes of a note that all programs take.
const LONGEST_NOTE: usize = 32_000;

/// What is to be written into each of the author's sheets, and what is told
/// of it.
pub(in super::super) struct Planned {
    sheets: Vec<(SheetEdit, Placed)>,
}

/// The edits of all sheets at which something was found, or beside which
/// somebody typed.
pub(in super::super) fn edits(view: &AuthorView, styles: &Styles) -> Planned {
    let sheets = ours::authors_sheets(view.book).map(|sheet| {
        let copy = Copy::new(view, sheet, &[], styles);
        let (edit, mut placed) = (copy.edit(), Placed::default());
        // Whether there is room, the workbook itself tells.
        copy.tell(&edit.name, edit.block.is_some(), &mut placed);
        (edit, placed)
    });
    Planned {
        sheets: sheets.collect(),
    }
}

impl Planned {
    /// Writes them. What the workbook has no room for is told.
    pub fn write(self, editing: &mut Editing) -> Result<Placed, CannotEdit> {
        let something = |edit: &SheetEdit| edit.block.is_some() || !edit.marks.is_empty();
        let (mut edits, told): (Vec<SheetEdit>, Vec<Placed>) = self.sheets.into_iter().unzip();
        let names: Vec<String> = edits.iter().map(|edit| edit.name.clone()).collect();
        edits.retain(something);
        let edited = editing.sheets(&edits)?;
        let mut placed = Placed::default();
        let out = &mut placed.left_out;
        out.noted_by_author.clone_from(&edited.notes_left_out);
        for (name, told) in names.into_iter().zip(told) {
            if edited.without_columns.contains(&name) {
                out.without_columns.push(name);
            } else {
                placed.beside.extend(told.beside);
                out.without_columns.extend(told.left_out.without_columns);
            }
            out.too_many_notes.extend(told.left_out.too_many_notes);
        }
        Ok(placed)
    }
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

    /// Our columns, on sheets that have a table, a finding or a remark.
    fn block(&self) -> Option<Block> {
        let mut rows: BTreeMap<u32, OurRow> = BTreeMap::new();
        let own = self.headings.iter().filter(|(_, last)| **last);
        for row in own.map(|(row, _)| *row).chain(self.heading) {
            rows.insert(row, heading());
        }
        if rows.is_empty() {
            return None;
        }
        let free = |row: &&u32| self.heading_at(**row).is_none();
        for &row in self.marks.keys().filter(free) {
            rows.insert(row, self.found_row(row));
        }
        for &row in self.corrections.keys().filter(free) {
            rows.entry(row).or_insert_with(|| self.changed_row(row));
        }
        for &row in self.typed.keys().filter(free) {
            rows.entry(row).or_insert_with(|| self.typed_row(row));
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
        let ids: Vec<&str> = items().map(|finding| finding.id.as_str()).collect();
        let listed = items().find_map(|finding| self.view.rows.get(&finding.id));
        let link = listed.map(|row| page::place(self.view.list, &format!("A{}", row + 1)));
        OurRow {
            height: self.needed_height(row),
            cells: vec![
                cell(&finding, style::look_beside(worst)),
                cell(&to_do, style::LOOK_WIDE),
                self.changes_cell(row),
                cell(&self.remark(row), style::LOOK_FREE),
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
                self.remark_cell(row),
                cell(ours::NO_FINDING, style::LOOK_WIDE),
            ],
        }
    }

    /// A row at which somebody typed, and nothing else is.
    fn typed_row(&self, row: u32) -> OurRow {
        OurRow {
            height: None,
            cells: vec![None, None, None, self.remark_cell(row), None],
        }
    }

    fn remark_cell(&self, row: u32) -> Option<OurCell> {
        let remark = self.remark(row);
        (!remark.is_empty()).then(|| cell(&remark, style::LOOK_FREE))?
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

fn cell(text: &str, look: usize) -> Option<OurCell> {
    Some(OurCell {
        text: page::clip(&page::printable(text)).into_owned(),
        look,
        link: None,
    })
}
