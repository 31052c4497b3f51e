//! A sheet made of cells that stand otherwise in the file: turned about,
//! gathered from attributes, taken from several sheets. Each cell knows where
//! it stands, so that findings name the author's own cell.

use super::cell::{Kind, Slot};
use super::sheet::Sheet;
use crate::schedule::{ColIndex, RowIndex};

/// Where a cell stands in the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Origin {
    /// Index into [`super::Book::sheets`].
    pub sheet: usize,
    pub row: RowIndex,
    pub column: ColIndex,
}

/// How rows of a recast sheet lie in the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turned {
    /// Rows are rows.
    No,
    /// Rows are columns.
    Over,
}

/// What a recast sheet knows of the file.
#[derive(Clone, Debug)]
pub(super) struct Recast {
    /// In the order of the sheet's cells.
    origins: Vec<Origin>,
    turned: Turned,
    main: usize,
}

/// Builds a recast sheet cell by cell; rows in any order, cells of a row
/// with rising columns.
#[derive(Debug)]
pub struct Recaster<'a> {
    sheets: &'a [Sheet],
    rows: Vec<Vec<(Slot, Origin)>>,
    texts: String,
}

/// The most rows of a recast sheet: a typical form for each dwelling of the
/// largest building.
const MOST_ROWS: usize = 200_000;

impl<'a> Recaster<'a> {
    pub fn new(sheets: &'a [Sheet]) -> Self {
        Self {
            sheets,
            rows: Vec::new(),
            texts: String::new(),
        }
    }

    /// Copies a cell, with what stands in it. Nothing where the cell is empty.
    pub fn copy(&mut self, row: usize, column: u16, from: Origin) {
        let sheet = self.sheets.get(from.sheet);
        let Some((mut slot, own)) = sheet.and_then(|sheet| sheet.slot_of(from.row, from.column))
        else {
            return;
        };
        slot.column = column;
        if let Some(text) = own {
            slot.bits = self.keep(text);
        }
        self.push(row, slot, from);
    }

    /// Writes a text that stands otherwise, or in part, at `from`.
    pub fn text(&mut self, row: usize, column: u16, text: &str, from: Origin) {
        let bits = self.keep(text);
        self.push(row, Slot::new(column, Kind::Own, bits), from);
    }

    fn keep(&mut self, text: &str) -> u64 {
        let start = self.texts.len() as u64;
        self.texts.push_str(text);
        start << 32 | text.len() as u64
    }

    fn push(&mut self, row: usize, slot: Slot, from: Origin) {
        if row >= MOST_ROWS {
            return;
        }
        if self.rows.len() <= row {
            self.rows.resize_with(row + 1, Vec::new);
        }
        if let Some(cells) = self.rows.get_mut(row) {
            cells.push((slot, from));
        }
    }

    /// The sheet, named and hidden as the one at `main`.
    pub fn finish(mut self, main: usize, turned: Turned) -> Option<Sheet> {
        let like = self.sheets.get(main)?;
        let mut origins = Vec::new();
        let mut rows = Vec::with_capacity(self.rows.len());
        for cells in &mut self.rows {
            cells.sort_by_key(|(slot, _)| slot.column);
            cells.dedup_by_key(|(slot, _)| slot.column);
            origins.extend(cells.iter().map(|(_, from)| *from));
            rows.push(cells.iter().map(|(slot, _)| *slot).collect());
        }
        let mut sheet = like.rebuilt(rows, self.texts);
        sheet.recast = Some(Box::new(Recast {
            origins,
            turned,
            main,
        }));
        Some(sheet)
    }
}

impl Sheet {
    pub fn is_recast(&self) -> bool {
        self.recast.is_some()
    }

    /// The sheets of the file on which cells of a recast sheet stand, its main
    /// one first.
    pub fn stands_on(&self) -> Vec<usize> {
        let Some(recast) = self.recast.as_deref() else {
            return Vec::new();
        };
        let mut sheets = vec![recast.main];
        for origin in &recast.origins {
            if sheets.last() != Some(&origin.sheet) && !sheets.contains(&origin.sheet) {
                sheets.push(origin.sheet);
            }
        }
        sheets
    }

    /// Where a cell of a recast sheet stands in the file; `heading` is the
    /// row of its headings. An empty cell stands where its row and its column
    /// meet. `None` for a sheet of the file.
    pub fn origin(&self, row: RowIndex, column: ColIndex, heading: RowIndex) -> Option<Origin> {
        let recast = self.recast.as_deref()?;
        let at = |row, column| recast.origins.get(self.slot_index(row, column)?).copied();
        if let Some(own) = at(row, column) {
            return Some(own);
        }
        let first = self.row(row)?.cells().next()?.column();
        let of_row = at(row, first)?;
        let Some(of_column) = at(heading, column) else {
            return Some(of_row);
        };
        Some(match recast.turned {
            _ if of_row.sheet != of_column.sheet => of_row,
            Turned::No => Origin {
                column: of_column.column,
                ..of_row
            },
            Turned::Over => Origin {
                row: of_column.row,
                ..of_row
            },
        })
    }
}
