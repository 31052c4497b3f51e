//! A sheet: sparse rows that rise, and what lies around the cells.

use super::cell::{CellRef, Kind, Slot};
use super::limits::Limits;
use super::look::Look;
use super::merges::{Merge, Merges};
use super::recast::Recast;
use super::refusal::{Bound, Refusal, within};
use crate::schedule::{ColIndex, RowIndex};
use std::borrow::Cow;
use std::sync::Arc;

#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Visibility {
    #[default]
    Visible,
    Hidden,
    /// Hidden so that the program's menu does not show it again.
    VeryHidden,
}

/// The smallest range that holds all values; both corners inside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Extent {
    pub first: (RowIndex, ColIndex),
    pub last: (RowIndex, ColIndex),
}

/// A table object of the workbook.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DefinedTable {
    pub name: String,
    pub range: Merge,
}

/// A note at a cell.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SheetNote {
    pub at: (RowIndex, ColIndex),
    pub author: String,
    pub text: String,
}

/// The strings that the sheets of a book share, end to end in one buffer.
#[derive(Clone, Debug, Default)]
pub(super) struct Strings {
    pub buffer: String,
    pub ends: Vec<u32>,
}

impl Strings {
    pub fn get(&self, index: usize) -> Option<&str> {
        let end = *self.ends.get(index)? as usize;
        let start = match index.checked_sub(1) {
            Some(before) => *self.ends.get(before)? as usize,
            None => 0,
        };
        self.buffer.get(start..end)
    }
}

#[derive(Clone, Copy, Debug)]
struct Span {
    row: u32,
    /// Index of its first cell; the next span's start ends it.
    start: u32,
}

/// A sheet of a workbook, or the one of a text file.
#[derive(Clone, Debug, Default)]
pub struct Sheet {
    /// `None` for text files.
    pub name: Option<String>,
    pub visibility: Visibility,
    pub merges: Merges,
    /// Rows that are hidden, by hand or by a filter: first and last of each
    /// stretch, rising.
    pub hidden_rows: Vec<(RowIndex, RowIndex)>,
    pub hidden_columns: Vec<(ColIndex, ColIndex)>,
    /// First and last column, and the width in characters.
    pub column_widths: Vec<(ColIndex, ColIndex, f64)>,
    /// Heights that the author set, in points.
    pub row_heights: Vec<(RowIndex, f32)>,
    pub tables: Vec<DefinedTable>,
    pub notes: Vec<SheetNote>,
    /// Cells without a value but with a look, for a rebuilt copy. Not all of
    /// them where a sheet is dressed far beyond its values.
    pub dressed_blanks: Vec<(RowIndex, ColIndex, u16)>,
    /// What kept the sheet, or some of its cells, from being read: a whole
    /// sentence.
    pub damage: Option<String>,
    pub epoch_1904: bool,
    spans: Vec<Span>,
    slots: Vec<Slot>,
    texts: String,
    shared: Arc<Strings>,
    looks: Arc<[Look]>,
    extent: Option<Extent>,
    /// Where the cells of a recast sheet stand in the file.
    pub(super) recast: Option<Box<Recast>>,
}

/// A row with at least one value.
#[derive(Clone, Copy)]
pub struct RowRef<'a> {
    sheet: &'a Sheet,
    row: RowIndex,
    slots: &'a [Slot],
}

impl<'a> RowRef<'a> {
    pub fn index(&self) -> RowIndex {
        self.row
    }

    /// Its cells with a value, columns rising.
    pub fn cells(
        &self,
    ) -> impl ExactSizeIterator<Item = CellRef<'a>> + DoubleEndedIterator + use<'a> {
        let sheet = self.sheet;
        self.slots.iter().map(move |slot| CellRef { sheet, slot })
    }

    pub fn cell(&self, column: ColIndex) -> Option<CellRef<'a>> {
        let found = self.slots.binary_search_by_key(&column.0, |s| s.column);
        let slot = self.slots.get(found.ok()?)?;
        Some(CellRef {
            sheet: self.sheet,
            slot,
        })
    }
}

impl Sheet {
    /// Rows with a value, rising; blank rows are left out, their numbers
    /// kept. Text of nothing but blanks is no value.
    pub fn rows(&self) -> impl ExactSizeIterator<Item = RowRef<'_>> + DoubleEndedIterator {
        (0..self.spans.len()).map(|at| self.row_at(at))
    }

    fn row_at(&self, at: usize) -> RowRef<'_> {
        let (row, start) = self.spans.get(at).map_or((0, 0), |s| (s.row, s.start));
        let end = self.spans.get(at + 1).map(|s| s.start as usize);
        let range = start as usize..end.unwrap_or(self.slots.len());
        RowRef {
            sheet: self,
            row: RowIndex(row),
            slots: self.slots.get(range).unwrap_or(&[]),
        }
    }

    pub fn row(&self, row: RowIndex) -> Option<RowRef<'_>> {
        let found = self.spans.binary_search_by_key(&row.0, |s| s.row);
        Some(self.row_at(found.ok()?))
    }

    /// The rows from `row` on.
    pub fn rows_from(&self, row: RowIndex) -> impl ExactSizeIterator<Item = RowRef<'_>> {
        let first = self.spans.partition_point(|s| s.row < row.0);
        (first..self.spans.len()).map(|at| self.row_at(at))
    }

    /// The cell with a value at this place.
    pub fn cell(&self, row: RowIndex, column: ColIndex) -> Option<CellRef<'_>> {
        self.row(row)?.cell(column)
    }

    /// The cell that a person sees at this place: inside a merged range its
    /// first one.
    pub fn seen(&self, row: RowIndex, column: ColIndex) -> Option<CellRef<'_>> {
        let (row, column) = match self.covering_merge(row, column) {
            Some(merge) => merge.first,
            None => (row, column),
        };
        self.cell(row, column)
    }

    /// The text at this place, as [`CellRef::text`]; empty where no value is.
    pub fn text(&self, row: RowIndex, column: ColIndex) -> Cow<'_, str> {
        self.cell(row, column)
            .map_or(Cow::Borrowed(""), |cell| cell.text())
    }

    /// `None` for a sheet without a value.
    pub fn extent(&self) -> Option<Extent> {
        self.extent
    }

    /// Index of the cell in the order of the sheet.
    pub(super) fn slot_index(&self, row: RowIndex, column: ColIndex) -> Option<usize> {
        let at = self.spans.binary_search_by_key(&row.0, |s| s.row).ok()?;
        let start = self.spans.get(at)?.start as usize;
        let end = self.spans.get(at + 1).map(|s| s.start as usize);
        let slots = self.slots.get(start..end.unwrap_or(self.slots.len()))?;
        let found = slots.binary_search_by_key(&column.0, |s| s.column).ok()?;
        Some(start + found)
    }

    /// The part of the sheet that lies in these columns, each cell in its
    /// own place.
    pub fn band(&self, first: ColIndex, last: ColIndex) -> Self {
        let mut slots = Vec::new();
        let mut spans: Vec<Span> = Vec::new();
        for row in self.rows() {
            let inside = row
                .slots
                .iter()
                .filter(|s| (first.0..=last.0).contains(&s.column));
            let start = slots.len() as u32;
            slots.extend(inside.copied());
            if slots.len() > start as usize {
                let row = row.row.0;
                spans.push(Span { row, start });
            }
        }
        let rows = spans.first().zip(spans.last());
        let extent = rows.map(|(top, bottom)| Extent {
            first: (RowIndex(top.row), first),
            last: (RowIndex(bottom.row), last),
        });
        Self {
            spans,
            slots,
            extent,
            ..self.clone()
        }
    }

    /// The slot of a cell, and its text where the sheet keeps it itself.
    pub(super) fn slot_of(&self, row: RowIndex, column: ColIndex) -> Option<(Slot, Option<&str>)> {
        let slot = *self.slots.get(self.slot_index(row, column)?)?;
        let own = (slot.kind == Kind::Own).then(|| self.own_text(slot.bits));
        Some((slot, own))
    }

    /// A sheet with the strings and the looks of this one.
    pub(super) fn rebuilt(&self, rows: Vec<Vec<Slot>>, texts: String) -> Self {
        let mut spans = Vec::with_capacity(rows.len());
        let mut slots: Vec<Slot> = Vec::new();
        for (row, cells) in rows.into_iter().enumerate() {
            if !cells.is_empty() {
                let (row, start) = (row as u32, slots.len() as u32);
                spans.push(Span { row, start });
                slots.extend(cells);
            }
        }
        let last = slots.iter().map(|s| s.column).max().unwrap_or(0);
        let rows = spans.first().zip(spans.last());
        let extent = rows.map(|(top, bottom)| Extent {
            first: (RowIndex(top.row), ColIndex(0)),
            last: (RowIndex(bottom.row), ColIndex(last)),
        });
        Self {
            name: self.name.clone(),
            visibility: self.visibility,
            epoch_1904: self.epoch_1904,
            spans,
            slots,
            texts,
            shared: Arc::clone(&self.shared),
            looks: Arc::clone(&self.looks),
            extent,
            ..Self::default()
        }
    }

    pub fn covering_merge(&self, row: RowIndex, column: ColIndex) -> Option<&Merge> {
        self.merges.covering(row, column)
    }

    pub fn is_row_hidden(&self, row: RowIndex) -> bool {
        let after = self.hidden_rows.partition_point(|(first, _)| *first <= row);
        after
            .checked_sub(1)
            .and_then(|at| self.hidden_rows.get(at))
            .is_some_and(|(_, last)| row <= *last)
    }

    pub fn is_column_hidden(&self, column: ColIndex) -> bool {
        self.hidden_columns
            .iter()
            .any(|(first, last)| (*first..=*last).contains(&column))
    }

    pub fn is_hidden(&self) -> bool {
        self.visibility != Visibility::Visible
    }

    /// Cells with a value.
    pub fn cell_count(&self) -> usize {
        self.slots.len()
    }

    pub fn looks(&self) -> &[Look] {
        &self.looks
    }

    pub(super) fn own_text(&self, bits: u64) -> &str {
        let (start, len) = ((bits >> 32) as usize, (bits & 0xFFFF_FFFF) as usize);
        self.texts.get(start..start + len).unwrap_or_default()
    }

    pub(super) fn shared_text(&self, bits: u64) -> &str {
        self.shared.get(bits as usize).unwrap_or_default()
    }
}

/// What the sheets of a book may still hold.
#[derive(Clone, Debug)]
pub(super) struct Budget<'a> {
    pub limits: &'a Limits,
    cells: u64,
    text_bytes: u64,
}

impl<'a> Budget<'a> {
    pub fn new(limits: &'a Limits) -> Self {
        Self {
            limits,
            cells: 0,
            text_bytes: 0,
        }
    }

    pub fn cell(&mut self) -> Result<(), Refusal> {
        self.cells += 1;
        within(Bound::Cells, self.cells, self.limits.cells)
    }

    pub fn text(&mut self, bytes: usize) -> Result<(), Refusal> {
        self.text_bytes += bytes as u64;
        // Texts are found by 32-bit offsets.
        let limit = self.limits.text_bytes.min(u64::from(u32::MAX));
        within(Bound::TextBytes, self.text_bytes, limit)
    }
}

/// Fills a sheet cell by cell, in the order of the file.
#[derive(Debug)]
pub(super) struct Builder {
    sheet: Sheet,
    /// A row or a cell came that does not follow the one before.
    disorder: bool,
    merges: Vec<Merge>,
}

impl Builder {
    pub fn new(name: Option<String>, shared: Arc<Strings>, looks: Arc<[Look]>) -> Self {
        Self {
            sheet: Sheet {
                name,
                shared,
                looks,
                ..Sheet::default()
            },
            disorder: false,
            merges: Vec::new(),
        }
    }

    /// The parts of the sheet that lie around its cells.
    pub fn sheet(&mut self) -> &mut Sheet {
        &mut self.sheet
    }

    pub fn looks(&self) -> &[Look] {
        &self.sheet.looks
    }

    /// Appends to the sheet's texts; the result is the cell's `bits`.
    pub fn keep(&mut self, budget: &mut Budget, text: &str) -> Result<u64, Refusal> {
        budget.text(text.len())?;
        let start = self.sheet.texts.len() as u64;
        self.sheet.texts.push_str(text);
        Ok(start << 32 | text.len() as u64)
    }

    pub fn text(
        &mut self,
        budget: &mut Budget,
        row: u32,
        column: u16,
        text: &str,
    ) -> Result<(), Refusal> {
        let bits = self.keep(budget, text)?;
        self.push(budget, row, Slot::new(column, Kind::Own, bits))
    }

    /// Adds a cell.
    ///
    /// # Errors
    /// Over the limit of rows, columns or cells.
    pub fn push(&mut self, budget: &mut Budget, row: u32, slot: Slot) -> Result<(), Refusal> {
        budget.cell()?;
        let limits = budget.limits;
        within(Bound::Columns, u64::from(slot.column) + 1, limits.columns)?;
        match self.sheet.spans.last() {
            Some(span) if span.row == row => {
                let before = self.sheet.slots.last().map(|s| s.column);
                self.disorder |= before >= Some(slot.column);
            }
            last => {
                within(Bound::Rows, u64::from(row) + 1, limits.rows)?;
                self.disorder |= last.is_some_and(|span| span.row > row);
                let start = self.sheet.slots.len() as u32;
                self.sheet.spans.push(Span { row, start });
            }
        }
        self.sheet.slots.push(slot);
        Ok(())
    }

    /// # Errors
    /// Over the limit of merged ranges.
    pub fn merge(&mut self, budget: &Budget, merge: Merge) -> Result<(), Refusal> {
        self.merges.push(merge);
        let found = self.merges.len() as u64;
        within(Bound::Merges, found, budget.limits.merges)
    }

    pub fn finish(mut self) -> Sheet {
        if self.disorder {
            self.sort();
        }
        let sheet = &mut self.sheet;
        sheet.merges = Merges::new(self.merges);
        let rows = sheet.spans.first().zip(sheet.spans.last());
        let columns = sheet.slots.iter().fold(None, |found, slot| {
            let (left, right) = found.unwrap_or((slot.column, slot.column));
            Some((slot.column.min(left), slot.column.max(right)))
        });
        sheet.extent = rows
            .zip(columns)
            .map(|((top, bottom), (left, right))| Extent {
                first: (RowIndex(top.row), ColIndex(left)),
                last: (RowIndex(bottom.row), ColIndex(right)),
            });
        sheet.slots.shrink_to_fit();
        sheet.spans.shrink_to_fit();
        sheet.texts.shrink_to_fit();
        self.sheet
    }

    /// Brings rows and cells into order; of two values in one cell the later
    /// stands, as it does when a spreadsheet program opens the file.
    fn sort(&mut self) {
        let sheet = &mut self.sheet;
        let mut placed: Vec<(u32, u16, u32)> = Vec::with_capacity(sheet.slots.len());
        for (at, span) in sheet.spans.iter().enumerate() {
            let end = sheet.spans.get(at + 1).map(|s| s.start);
            let end = end.unwrap_or(sheet.slots.len() as u32);
            for index in span.start..end {
                if let Some(slot) = sheet.slots.get(index as usize) {
                    placed.push((span.row, slot.column, index));
                }
            }
        }
        placed.sort_unstable_by_key(|&(row, column, index)| (row, column, u32::MAX - index));
        placed.dedup_by_key(|&mut (row, column, _)| (row, column));
        let mut spans: Vec<Span> = Vec::new();
        let mut slots = Vec::with_capacity(placed.len());
        for (row, _, index) in placed {
            if spans.last().is_none_or(|s| s.row != row) {
                let start = slots.len() as u32;
                spans.push(Span { row, start });
            }
            slots.extend(sheet.slots.get(index as usize).copied());
        }
        (sheet.spans, sheet.slots) = (spans, slots);
    }
}

/// Adds `row` to stretches of rows that rise.
pub(super) fn extend_stretch(stretches: &mut Vec<(RowIndex, RowIndex)>, row: RowIndex) {
    match stretches.last_mut() {
        Some((_, last)) if last.0.checked_add(1) == Some(row.0) => *last = row,
        _ => stretches.push((row, row)),
    }
}
