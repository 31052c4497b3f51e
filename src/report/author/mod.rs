//! An author's sheets, rebuilt as they were, with what was found beside
//! their rows.
//!
//! A text of the author's is written as a text, whatever it begins with:
//! nothing that stood in a schedule becomes a formula or a link.

mod beside;
pub(super) mod in_place;
mod look;
mod marks;

use self::look::format_of;
use self::marks::parse_a1;
use super::copy::Placed;
use super::correction::Correction;
use super::list::Item;
use super::names::{self, SheetNames};
use super::remarks::Remarks;
use super::row_remarks::{self, OfRows};
use super::style::Styles;
use super::{ReportError, ours, page};
use crate::intake::book::{Book, CellRef, Sheet, Value, Visibility};
use crate::schedule::{RowIndex, SourceTable, Sources};
use rust_xlsxwriter::{Format, Workbook, Worksheet, XlsxError};
use std::collections::{BTreeMap, BTreeSet};

/// Days between the two epochs of spreadsheets.
const EPOCH_1904: f64 = 1_462.0;
/// Sheets of more cells than this are written row by row.
const STREAM_FROM: usize = 400_000;
/// A merged range of more cells says nothing and would fill memory.
const WIDEST_MERGE: u64 = 100_000;
const COLUMNS: u16 = 16_384;
const ROWS: u32 = 1_048_576;

/// A table's heading, beside whose last row our headings stand.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Heading {
    /// Name of the sheet; `None` for text files.
    pub sheet: Option<String>,
    /// First and last row; equal for a one-row heading.
    pub rows: (RowIndex, RowIndex),
}

impl Heading {
    /// The headings of a file's tables.
    pub fn of_file(sources: &Sources, file: u32) -> Vec<Self> {
        let tables = sources.tables.iter().filter(|table| table.file == file);
        tables.map(Self::of).collect()
    }

    pub fn of(table: &SourceTable) -> Self {
        Self {
            sheet: table.sheet.clone(),
            rows: table.header,
        }
    }
}

/// What an annotated copy is made from.
pub(super) struct AuthorView<'a> {
    pub book: &'a Book,
    /// The file, as findings name it.
    pub path: &'a str,
    pub headings: &'a [Heading],
    pub items: &'a [Item<'a>],
    /// What the proposal changes, of all files.
    pub corrections: &'a [Correction],
    /// Rows of the findings, by id, in our list.
    pub rows: &'a BTreeMap<String, u32>,
    /// Name of the sheet with our list.
    pub list: &'a str,
    /// The author's names of the sheets and those that they have in the copy.
    pub names: &'a BTreeMap<String, String>,
    pub remarks: &'a BTreeMap<String, Remarks>,
}

/// The author's names of the sheets and those that they have in the copy.
pub(super) fn sheet_names(
    book: &Book,
    path: &str,
    names: &mut SheetNames,
) -> BTreeMap<String, String> {
    ours::authors_sheets(book)
        .map(|sheet| {
            let original = sheet.name.clone().unwrap_or_default();
            let wanted = match &sheet.name {
                Some(name) => name.clone(),
                None => names::of_text_file(path),
            };
            (original, names.give(&wanted))
        })
        .collect()
}

/// Adds the author's sheets to a workbook.
pub(super) fn add(
    workbook: &mut Workbook,
    view: &AuthorView,
    styles: &Styles,
) -> Result<Placed, ReportError> {
    let mut placed = Placed::default();
    let formats: Vec<Format> = view.book.looks().iter().map(format_of).collect();
    for sheet in ours::authors_sheets(view.book) {
        let original = sheet.name.clone().unwrap_or_default();
        let Some(name) = view.names.get(&original) else {
            continue;
        };
        // Merged ranges have to be written before the rows that they cover.
        let stream = sheet.cell_count() > STREAM_FROM && sheet.merges.is_empty();
        let out = if stream {
            workbook.add_worksheet_with_constant_memory()?
        } else {
            workbook.add_worksheet()
        };
        out.set_name(name)?;
        let copy = Copy::new(view, sheet, &formats, styles);
        copy.write(out)?;
        copy.tell(name, copy.ours.is_some(), &mut placed);
    }
    Ok(placed)
}

/// What is found at the cells of one row.
type Marks<'a> = BTreeMap<u32, Vec<(u16, Item<'a>)>>;

struct Copy<'a> {
    view: &'a AuthorView<'a>,
    sheet: &'a Sheet,
    formats: &'a [Format],
    styles: &'a Styles,
    plain: Format,
    date: Format,
    marks: Marks<'a>,
    /// What changes, by row.
    corrections: BTreeMap<u32, Vec<&'a str>>,
    /// Rows of headings, and whether they are the last of theirs.
    headings: BTreeMap<u32, bool>,
    /// Columns of an earlier copy of ours: left out.
    old: BTreeSet<u16>,
    /// What people typed beside rows that have no finding.
    typed: OfRows<'a>,
    /// The row of our heading where no table of the author's has one.
    heading: Option<u32>,
    /// First of our columns; `None` where the sheet has no room for them.
    ours: Option<u16>,
}

impl<'a> Copy<'a> {
    fn new(
        view: &'a AuthorView<'a>,
        sheet: &'a Sheet,
        formats: &'a [Format],
        styles: &'a Styles,
    ) -> Self {
        let name = sheet.name.as_deref().unwrap_or_default();
        let mut marks: Marks = BTreeMap::new();
        for item in view.items {
            let address = &item.finding.address;
            if address.file == view.path
                && address.sheet == name
                && let Some((row, column)) = parse_a1(&address.cell)
            {
                marks.entry(row).or_default().push((column, *item));
            }
        }
        let mut corrections: BTreeMap<u32, Vec<&str>> = BTreeMap::new();
        for told in view.corrections {
            let address = &told.address;
            if address.file == view.path
                && address.sheet == name
                && let Some((row, _)) = parse_a1(&address.cell)
            {
                corrections.entry(row).or_default().push(&told.text);
            }
        }
        for found in marks.values_mut() {
            // Stable: within a severity as the findings come.
            found.sort_by_key(|(_, item)| {
                let finding = item.finding;
                (!finding.stands(), std::cmp::Reverse(finding.severity))
            });
        }
        let headings: BTreeMap<u32, bool> = view
            .headings
            .iter()
            .filter(|heading| heading.sheet == sheet.name)
            .flat_map(|heading| {
                let (first, last) = (heading.rows.0.0, heading.rows.1.0);
                // Headings are a few rows; more is no heading.
                (first.max(last.saturating_sub(9))..=last).map(move |row| (row, row == last))
            })
            .collect();
        let old = ours::our_columns(sheet);
        let named = view.names.get(name).map_or(name, String::as_str);
        let top = headings
            .iter()
            .find(|(_, last)| **last)
            .map(|(row, _)| *row);
        let may_be = |row| !headings.contains_key(&row) && top.is_none_or(|top| row > top);
        let typed = row_remarks::find(view.remarks, sheet, named, &old, may_be);
        let rows = marks.keys().chain(corrections.keys()).chain(typed.keys());
        let first = rows
            .filter(|row| !headings.contains_key(row))
            .min()
            .copied();
        // Without a heading our columns would not be known again.
        let heading = first
            .filter(|_| top.is_none())
            .and_then(|row| row.checked_sub(1));
        let ours = beside::first_free(sheet, &old);
        let ours = ours.filter(|_| first.is_none() || top.or(heading).is_some());
        Self {
            view,
            sheet,
            formats,
            styles,
            plain: Format::new(),
            date: Format::new().set_num_format("m/d/yyyy"),
            marks,
            corrections,
            headings,
            old,
            typed,
            heading,
            ours,
        }
    }

    fn write(&self, out: &mut Worksheet) -> Result<(), XlsxError> {
        match self.sheet.visibility {
            Visibility::Visible => {}
            Visibility::Hidden => drop(out.set_hidden(true)),
            Visibility::VeryHidden => drop(out.set_very_hidden(true)),
        }
        self.columns(out)?;
        self.merges(out)?;
        self.rows(out)?;
        self.our_columns(out)?;
        self.conditional_formats(out)?;
        self.notes(out)?;
        out.set_landscape().set_print_fit_to_pages(1, 0);
        if let Some(extent) = self.sheet.extent() {
            // His columns alone, as in a copy that was marked in place: with
            // ours beside them a page is too wide to be read.
            let last = (
                extent.last.0.0.min(ROWS - 1),
                extent.last.1.0.min(COLUMNS - 1),
            );
            out.set_print_area(0, 0, last.0, last.1)?;
        }
        Ok(())
    }

    /// The last row that the copy has.
    fn last_row(&self) -> u32 {
        let values = self.sheet.extent().map(|extent| extent.last.0.0);
        let ours = self.marks.keys().chain(self.corrections.keys());
        let ours = ours.chain(self.typed.keys());
        values.max(ours.max().copied()).unwrap_or(0).min(ROWS - 1)
    }

    fn columns(&self, out: &mut Worksheet) -> Result<(), XlsxError> {
        let last = COLUMNS - 1;
        for &(first, end, width) in &self.sheet.column_widths {
            let end = end.0.min(last);
            if first.0 <= end && (0.0..=255.0).contains(&width) {
                out.set_column_range_width(first.0, end, width)?;
            }
        }
        if self.sheet.column_widths.is_empty() && self.formats.is_empty() {
            for (column, width) in fitting_widths(self.sheet) {
                out.set_column_width(column, width)?;
            }
        }
        for &(first, end) in &self.sheet.hidden_columns {
            let end = end.0.min(last);
            if first.0 <= end {
                out.set_column_range_hidden(first.0, end)?;
            }
        }
        Ok(())
    }

    fn merges(&self, out: &mut Worksheet) -> Result<(), XlsxError> {
        for merge in self.sheet.merges.iter() {
            let rows = u64::from(merge.last.0.0 - merge.first.0.0) + 1;
            let columns = u64::from(merge.last.1.0 - merge.first.1.0) + 1;
            if rows * columns > WIDEST_MERGE || merge.last.0.0 >= ROWS {
                continue;
            }
            let first = self.sheet.cell(merge.first.0, merge.first.1);
            let format = first.map_or(&self.plain, |cell| self.format(cell.look_index()));
            let (top, left) = (merge.first.0.0, merge.first.1.0);
            let (bottom, right) = (merge.last.0.0, merge.last.1.0);
            match out.merge_range(top, left, bottom, right, "", format) {
                // A damaged workbook has ranges that overlap: the first stands.
                Ok(_) | Err(XlsxError::MergeRangeOverlaps(..)) => {}
                Err(error) => return Err(error),
            }
        }
        Ok(())
    }

    fn format(&self, look: Option<u16>) -> &Format {
        look.and_then(|look| self.formats.get(usize::from(look)))
            .unwrap_or(&self.plain)
    }

    /// All rows, rising: values, dressed blanks, our texts, heights.
    fn rows(&self, out: &mut Worksheet) -> Result<(), XlsxError> {
        let mut dressed: BTreeMap<u32, Vec<(u16, u16)>> = BTreeMap::new();
        for &(row, column, look) in &self.sheet.dressed_blanks {
            dressed.entry(row.0).or_default().push((column.0, look));
        }
        let last = self.last_row();
        let heights: BTreeMap<u32, f32> = self
            .sheet
            .row_heights
            .iter()
            .map(|(row, height)| (row.0, *height))
            .collect();
        let mut rows: BTreeSet<u32> = self.sheet.rows().map(|row| row.index().0).collect();
        rows.extend(
            dressed
                .keys()
                .chain(self.marks.keys())
                .chain(self.corrections.keys())
                .chain(self.typed.keys())
                .chain(self.heading.iter())
                .chain(self.headings.keys()),
        );
        rows.extend(heights.keys());
        for &(first, end) in &self.sheet.hidden_rows {
            rows.extend(first.0..=end.0.min(last));
        }
        for row in rows.into_iter().filter(|row| *row < ROWS) {
            self.height(out, row, heights.get(&row).copied())?;
            if self.sheet.is_row_hidden(RowIndex(row)) {
                out.set_row_hidden(row)?;
            }
            for &(column, look) in dressed.get(&row).into_iter().flatten() {
                if !self.old.contains(&column) && column < COLUMNS {
                    out.write_blank(row, column, self.format(Some(look)))?;
                }
            }
            for cell in self
                .sheet
                .row(RowIndex(row))
                .iter()
                .flat_map(|row| row.cells())
            {
                if !self.old.contains(&cell.column().0) && cell.column().0 < COLUMNS {
                    self.value(out, row, cell)?;
                }
            }
            self.beside(out, row)?;
        }
        Ok(())
    }

    fn value(&self, out: &mut Worksheet, row: u32, cell: CellRef) -> Result<(), XlsxError> {
        let column = cell.column().0;
        let format = self.format(cell.look_index());
        match cell.value() {
            Value::Text(text) if text.starts_with(['=', '+', '-', '@']) => {
                // Stays a text when somebody edits the cell.
                let format = format.clone().set_quote_prefix();
                page::string(out, row, column, text, &format)
            }
            Value::Text(text) => page::string(out, row, column, text, format),
            Value::Number(number) => out
                .write_number_with_format(row, column, number, format)
                .map(drop),
            Value::DateTime { serial, .. } => {
                let shift = if self.view.book.epoch_1904 {
                    EPOCH_1904
                } else {
                    0.0
                };
                let format = match cell.number_format() {
                    Some(_) => format,
                    None => &self.date,
                };
                out.write_number_with_format(row, column, serial + shift, format)
                    .map(drop)
            }
            Value::Bool(value) => out
                .write_boolean_with_format(row, column, value, format)
                .map(drop),
            Value::Error(error) => page::string(out, row, column, error, format),
            Value::FormulaWithoutValue => out.write_blank(row, column, format).map(drop),
        }
    }
}

/// Widths for a text file, which has none.
fn fitting_widths(sheet: &Sheet) -> BTreeMap<u16, f64> {
    let mut widths: BTreeMap<u16, usize> = BTreeMap::new();
    for row in sheet.rows().take(1_000) {
        for cell in row.cells() {
            let width = widths.entry(cell.column().0).or_default();
            *width = (*width).max(cell.text().chars().count());
        }
    }
    widths
        .into_iter()
        .filter(|(column, _)| *column < COLUMNS)
        .map(|(column, width)| (column, (width + 2).clamp(6, 44) as f64))
        .collect()
}
