//! What stands beside an author's rows: finding, what to do, remark, link.

use super::super::copy::Placed;
use super::super::list::{self, Item};
use super::super::{ours, page, row_remarks};
use super::marks::MOST_NOTES;
use super::{COLUMNS, Copy};
use crate::findings::Severity;
use crate::intake::book::Sheet;
use crate::schedule::RowIndex;
use rust_xlsxwriter::{Worksheet, XlsxError};
use std::collections::BTreeSet;

/// Rows that have a link; a sheet holds no more than 65,530.
const MOST_LINKED: u32 = 65_000;
const FINDING_WIDTH: f64 = 62.0;
const TO_DO_WIDTH: f64 = 48.0;
const CHANGES_WIDTH: f64 = 46.0;
/// Of our columns, in characters.
pub(super) const WIDTHS: [f64; 5] = [FINDING_WIDTH, TO_DO_WIDTH, CHANGES_WIDTH, 28.0, 22.0];

impl Copy<'_> {
    /// *Finding* and *What to do* of a row: several findings one under the
    /// other, the worst first.
    pub(super) fn texts(&self, row: u32) -> Option<(String, String)> {
        let found = self.marks.get(&row)?;
        let items = found.iter().map(|(_, item)| item.finding);
        let finding: Vec<String> = items.clone().map(list::brief).collect();
        let to_do: Vec<String> = items
            .map(|finding| match found.len() {
                1 => finding.remedy.clone(),
                _ => format!("{}: {}", finding.rule, finding.remedy),
            })
            .collect();
        Some((finding.join("\n"), to_do.join("\n")))
    }

    /// *Was → proposed* of a row: a line for each cell that changes.
    pub(super) fn changes(&self, row: u32) -> String {
        let lines = self.corrections.get(&row);
        lines.map_or_else(String::new, |lines| lines.join("\n"))
    }

    /// Our columns in one row.
    pub(super) fn beside(&self, out: &mut Worksheet, row: u32) -> Result<(), XlsxError> {
        let Some(first) = self.ours else {
            return Ok(());
        };
        let styles = self.styles;
        // What is found at a heading stands in its note and in our list: a
        // text here would be read as part of our heading.
        if let Some(is_last) = self.heading_at(row) {
            for (column, heading) in (first..).zip(ours::COLUMNS).filter(|_| is_last) {
                page::string(out, row, column, heading, &styles.head)?;
            }
            return Ok(());
        }
        let remark = self.remark(row);
        let changes = self.changes(row);
        if !changes.is_empty() {
            page::string(out, row, first + 2, &changes, &styles.wide)?;
            if !self.marks.contains_key(&row) {
                page::string(out, row, first + 4, ours::NO_FINDING, &styles.wide)?;
            }
        }
        let Some(found) = self.marks.get(&row) else {
            if !remark.is_empty() {
                page::string(out, row, first + 3, &remark, &styles.free)?;
            }
            return Ok(());
        };
        let items: Vec<Item> = found.iter().map(|(_, item)| *item).collect();
        let (finding, to_do) = self.texts(row).unwrap_or_default();
        // The first is the worst.
        let worst = items
            .first()
            .filter(|item| item.finding.stands())
            .map_or(Severity::Note, |item| item.finding.severity);
        page::string(out, row, first, &finding, styles.beside(worst))?;
        page::string(out, row, first + 1, &to_do, &styles.wide)?;
        page::string(out, row, first + 3, &remark, &styles.free)?;
        let ids: Vec<&str> = items.iter().map(|i| i.finding.id.as_str()).collect();
        let ids = ids.join(" ");
        // The link stands here and not at the text: programs show a linked
        // cell as one line, however it is wrapped.
        let listed = items.iter().find_map(|i| self.view.rows.get(&i.finding.id));
        match listed {
            Some(listed) if row < MOST_LINKED => {
                let url = page::inside(self.view.list, &format!("A{}", listed + 1));
                page::link(out, row, first + 4, &url, &ids, &styles.link)
            }
            _ => page::string(out, row, first + 4, &ids, &styles.wide),
        }
    }

    /// Whether the row is one of a heading, and the one beside which ours
    /// stands.
    pub(super) fn heading_at(&self, row: u32) -> Option<bool> {
        let own = self.headings.get(&row).copied();
        own.or_else(|| (self.heading == Some(row)).then_some(true))
    }

    /// Remarks that stand beside a row: of the row, and of its findings.
    fn remarks_at(&self, row: u32) -> impl Iterator<Item = (&str, &str)> {
        let of_row = self.typed.get(&row).into_iter().flatten().copied();
        let found = self.marks.get(&row).into_iter().flatten();
        let of_findings = found.filter_map(|(_, item)| {
            let remarks = self.view.remarks.get(&item.finding.id)?;
            (!remarks.row.is_empty()).then_some((item.finding.id.as_str(), remarks.row.as_str()))
        });
        of_row.chain(of_findings)
    }

    pub(super) fn remark(&self, row: u32) -> String {
        row_remarks::joined(self.remarks_at(row).map(|(_, text)| text))
    }

    /// What was left out, and whose remarks stand beside a row: of a sheet
    /// that has our columns, or has none.
    pub(super) fn tell(&self, name: &str, has_columns: bool, placed: &mut Placed) {
        let nothing = self.marks.is_empty() && self.corrections.is_empty() && self.typed.is_empty();
        if has_columns {
            let rows = self.marks.keys().chain(self.typed.keys());
            let rows = rows.filter(|row| self.heading_at(**row).is_none());
            let ids = rows.flat_map(|row| self.remarks_at(*row));
            placed.beside.extend(ids.map(|(id, _)| id.to_owned()));
        } else if !nothing {
            placed.left_out.without_columns.push(name.to_owned());
        }
        let more = self.cells_noted().saturating_sub(MOST_NOTES) as u64;
        if more > 0 {
            placed.left_out.too_many_notes.push((name.to_owned(), more));
        }
    }

    pub(super) fn our_columns(&self, out: &mut Worksheet) -> Result<(), XlsxError> {
        let Some(first) = self.ours else {
            return Ok(());
        };
        if self.headings.is_empty() && self.heading.is_none() {
            return Ok(());
        }
        out.set_column_width(first - 1, 2)?;
        for (column, width) in (first..).zip(WIDTHS) {
            out.set_column_width(column, width)?;
        }
        Ok(())
    }

    /// What our texts in a row need; nothing where they are of one line.
    pub(super) fn texts_height(&self, row: u32) -> f64 {
        let texts = match self.heading_at(row) {
            Some(_) => None,
            None => self.texts(row),
        };
        let lines = texts.map_or(0, |(finding, to_do)| {
            page::lines(&finding, FINDING_WIDTH).max(page::lines(&to_do, TO_DO_WIDTH))
        });
        let lines = lines.max(page::lines(&self.changes(row), CHANGES_WIDTH));
        if lines > 1 {
            page::height_of(lines)
        } else {
            0.0
        }
    }

    /// The author's height, or more where our texts need it.
    pub(super) fn height(
        &self,
        out: &mut Worksheet,
        row: u32,
        own: Option<f32>,
    ) -> Result<(), XlsxError> {
        let own = own.map(f64::from);
        let needed = match self.ours {
            Some(_) => self.texts_height(row),
            None => 0.0,
        };
        let height = match own {
            Some(own) => own.max(needed),
            None => needed.max(self.natural_height(row)),
        };
        if own.is_none() && height < 16.0 {
            return Ok(());
        }
        out.set_row_height(row, height.min(405.0)).map(drop)
    }

    /// What large letters and wrapped texts of the author's need in a row
    /// whose height the program chose.
    pub(super) fn natural_height(&self, row: u32) -> f64 {
        let cells = self.sheet.row(RowIndex(row));
        let cells = cells.iter().flat_map(|row| row.cells());
        let heights = cells.filter_map(|cell| {
            let look = cell.look()?;
            let size = look.font_size.unwrap_or(11.0);
            let column = cell.column();
            if !look.wrap || self.sheet.covering_merge(RowIndex(row), column).is_some() {
                return Some(size * 1.3);
            }
            let mut widths = self.sheet.column_widths.iter();
            let width = widths.find(|(first, last, _)| (*first..=*last).contains(&column));
            let lines = page::lines(&cell.text(), width.map_or(8.4, |(.., width)| *width));
            Some(f64::from(lines) * size * 1.3 + 1.0)
        });
        heights.fold(0.0, f64::max)
    }
}

/// The first of our columns: one empty column after the last with a value, a
/// merged range or a table object.
pub(super) fn first_free(sheet: &Sheet, old: &BTreeSet<u16>) -> Option<u16> {
    let values = sheet.rows().filter_map(|row| {
        let mut cells = row.cells().rev().map(|cell| cell.column().0);
        cells.find(|column| !old.contains(column))
    });
    let merges = sheet.merges.iter().map(|merge| merge.last.1.0);
    let tables = sheet.tables.iter().map(|table| table.range.last.1.0);
    let last = values.chain(merges).chain(tables).max().unwrap_or(0);
    let first = last.checked_add(2)?;
    (first.checked_add(WIDTHS.len() as u16)? <= COLUMNS).then_some(first)
}
