//! An author's sheets, rebuilt as they were, with what was found beside
//! their rows.
//!
//! A text of the author's is written as a text, whatever it begins with:
//! nothing that stood in a schedule becomes a formula or a link.

use super::list::{self, Item};
use super::names::{self, SheetNames};
use super::remarks::Remarks;
use super::style::{self, Styles};
use super::{ReportError, ours, page};
use crate::findings::Severity;
use crate::intake::book::{
    Book, CellRef, Edges, Horizontal, Line, Look, Sheet, Value, Vertical, Visibility,
};
use crate::schedule::{ColIndex, RowIndex, SourceTable, Sources, a1};
use rust_xlsxwriter::{
    Color, ConditionalFormatFormula, Format, FormatAlign, FormatBorder, FormatUnderline, Note,
    Workbook, Worksheet, XlsxError,
};
use std::collections::{BTreeMap, BTreeSet};

/// Days between the two epochs of spreadsheets.
const EPOCH_1904: f64 = 1_462.0;
/// Sheets of more cells than this are written row by row.
const STREAM_FROM: usize = 400_000;
/// A merged range of more cells says nothing and would fill memory.
const WIDEST_MERGE: u64 = 100_000;
const COLUMNS: u16 = 16_384;
const ROWS: u32 = 1_048_576;
/// Rows that have a link; a sheet holds no more than 65,530.
const MOST_LINKED: u32 = 65_000;
/// Cells that one conditional format names.
const RANGES: usize = 500;
/// Notes on one sheet; more of them would make a program crawl.
const MOST_NOTES: usize = 20_000;
const FINDING_WIDTH: f64 = 62.0;
const TO_DO_WIDTH: f64 = 48.0;
/// Always true, and known again as ours.
const OURS: &str = "=N(\"ampledger\")=0";

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
    /// Rows of the findings, by id, in our list.
    pub rows: &'a BTreeMap<String, u32>,
    /// Name of the sheet with our list.
    pub list: &'a str,
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
    names: &BTreeMap<String, String>,
    styles: &Styles,
) -> Result<(), ReportError> {
    let formats: Vec<Format> = view.book.looks().iter().map(format_of).collect();
    for sheet in ours::authors_sheets(view.book) {
        let original = sheet.name.clone().unwrap_or_default();
        let Some(name) = names.get(&original) else {
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
    }
    Ok(())
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
    /// Rows of headings, and whether they are the last of theirs.
    headings: BTreeMap<u32, bool>,
    /// Columns of an earlier copy of ours: left out.
    old: BTreeSet<u16>,
    old_remark: Option<ColIndex>,
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
        for found in marks.values_mut() {
            // Stable: within a severity as the findings come.
            found.sort_by_key(|(_, item)| std::cmp::Reverse(item.finding.severity));
        }
        let headings = view
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
        let ours = first_free(sheet, &old);
        Self {
            view,
            sheet,
            formats,
            styles,
            plain: Format::new(),
            date: Format::new().set_num_format("m/d/yyyy"),
            marks,
            headings,
            old,
            old_remark: ours::column_of(sheet, ours::ROW_REMARK),
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
        Ok(())
    }

    /// The last row that the copy has.
    fn last_row(&self) -> u32 {
        let values = self.sheet.extent().map(|extent| extent.last.0.0);
        let marks = self.marks.keys().last().copied();
        values.max(marks).unwrap_or(0).min(ROWS - 1)
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

    /// The author's height, or more where our texts need it.
    fn height(&self, out: &mut Worksheet, row: u32, own: Option<f32>) -> Result<(), XlsxError> {
        let own = own.map(f64::from);
        let texts = match self.ours {
            Some(_) if !self.headings.contains_key(&row) => self.texts(row),
            _ => None,
        };
        let needed = texts.map_or(0.0, |(finding, to_do)| {
            let lines = page::lines(&finding, FINDING_WIDTH).max(page::lines(&to_do, TO_DO_WIDTH));
            if lines > 1 {
                page::height_of(lines)
            } else {
                0.0
            }
        });
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
    fn natural_height(&self, row: u32) -> f64 {
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

    /// *Finding* and *What to do* of a row: several findings one under the
    /// other, the worst first.
    fn texts(&self, row: u32) -> Option<(String, String)> {
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

    /// Our columns in one row.
    fn beside(&self, out: &mut Worksheet, row: u32) -> Result<(), XlsxError> {
        let Some(first) = self.ours else {
            return Ok(());
        };
        let styles = self.styles;
        if let Some(last) = self.headings.get(&row) {
            // What is found at a heading stands in its note and in our list: a
            // text here would be read as part of our heading.
            for (column, heading) in (first..).zip(ours::COLUMNS).filter(|_| *last) {
                page::string(out, row, column, heading, &styles.head)?;
            }
            return Ok(());
        }
        let typed = self.typed_before(row);
        let Some(found) = self.marks.get(&row) else {
            if !typed.is_empty() {
                page::string(out, row, first + 2, &typed, &styles.free)?;
            }
            return Ok(());
        };
        let items: Vec<Item> = found.iter().map(|(_, item)| *item).collect();
        let (finding, to_do) = self.texts(row).unwrap_or_default();
        // The first is the worst.
        let worst = items.first().map_or(Severity::Note, |i| i.finding.severity);
        page::string(out, row, first, &finding, styles.beside(worst))?;
        page::string(out, row, first + 1, &to_do, &styles.wide)?;
        let kept = items.iter().find_map(|item| {
            let remarks = self.view.remarks.get(&item.finding.id)?;
            (!remarks.row.is_empty()).then_some(remarks.row.as_str())
        });
        let remark = kept.unwrap_or(&typed);
        page::string(out, row, first + 2, remark, &styles.free)?;
        let ids: Vec<&str> = items.iter().map(|i| i.finding.id.as_str()).collect();
        let ids = ids.join(" ");
        // The link stands here and not at the text: programs show a linked
        // cell as one line, however it is wrapped.
        let listed = items.iter().find_map(|i| self.view.rows.get(&i.finding.id));
        match listed {
            Some(listed) if row < MOST_LINKED => {
                let url = page::inside(self.view.list, &format!("A{}", listed + 1));
                page::link(out, row, first + 3, &url, &ids, &styles.link)
            }
            _ => page::string(out, row, first + 3, &ids, &styles.wide),
        }
    }

    /// What stands in our remark column of an annotated copy that is
    /// annotated again.
    fn typed_before(&self, row: u32) -> String {
        let cell = self
            .old_remark
            .and_then(|column| self.sheet.cell(RowIndex(row), column));
        let text = cell.map_or_else(String::new, |cell| cell.text().into_owned());
        if text == ours::ROW_REMARK {
            String::new()
        } else {
            text
        }
    }

    fn our_columns(&self, out: &mut Worksheet) -> Result<(), XlsxError> {
        let Some(first) = self.ours else {
            return Ok(());
        };
        if self.headings.is_empty() && self.marks.is_empty() {
            return Ok(());
        }
        out.set_column_width(first - 1, 2)?;
        out.set_column_width(first, FINDING_WIDTH)?;
        out.set_column_width(first + 1, TO_DO_WIDTH)?;
        out.set_column_width(first + 2, 28)?;
        out.set_column_width(first + 3, 22)?;
        Ok(())
    }

    /// The cells at fault, each by its worst finding.
    fn conditional_formats(&self, out: &mut Worksheet) -> Result<(), XlsxError> {
        let mut worst: BTreeMap<(u32, u16), Severity> = BTreeMap::new();
        for (&row, found) in &self.marks {
            for &(column, item) in found {
                let severity = worst.entry((row, column)).or_insert(item.finding.severity);
                *severity = (*severity).max(item.finding.severity);
            }
        }
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
    fn range(&self, (row, column): (u32, u16)) -> ((u32, u16), (u32, u16), String) {
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

    /// Notes at the cells at fault, below what the author's note says there.
    fn notes(&self, out: &mut Worksheet) -> Result<(), XlsxError> {
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
                *worst = (*worst).max(Some(item.finding.severity));
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

fn note_text(item: &Item) -> String {
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

/// The first of our columns: one empty column after the last with a value, a
/// merged range or a table object.
fn first_free(sheet: &Sheet, old: &BTreeSet<u16>) -> Option<u16> {
    let values = sheet.rows().filter_map(|row| {
        let mut cells = row.cells().rev().map(|cell| cell.column().0);
        cells.find(|column| !old.contains(column))
    });
    let merges = sheet.merges.iter().map(|merge| merge.last.1.0);
    let tables = sheet.tables.iter().map(|table| table.range.last.1.0);
    let last = values.chain(merges).chain(tables).max().unwrap_or(0);
    let first = last.checked_add(2)?;
    (first.checked_add(4)? <= COLUMNS).then_some(first)
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

/// Row and column, from zero, of `C7`.
fn parse_a1(cell: &str) -> Option<(u32, u16)> {
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

/// A look as a format of the copy.
fn format_of(look: &Look) -> Format {
    let mut format = Format::new();
    if look.bold {
        format = format.set_bold();
    }
    if look.italic {
        format = format.set_italic();
    }
    if look.underline {
        format = format.set_underline(FormatUnderline::Single);
    }
    if look.strike {
        format = format.set_font_strikethrough();
    }
    if let Some(size) = look.font_size.filter(|size| (1.0..=409.0).contains(size)) {
        format = format.set_font_size(size);
    }
    if let Some(name) = &look.font_name {
        format = format.set_font_name(name.as_str());
    }
    if let Some(colour) = look.font_colour {
        format = format.set_font_color(Color::RGB(colour & 0xFF_FF_FF));
    }
    if let Some(colour) = look.fill_colour {
        format = format.set_background_color(Color::RGB(colour & 0xFF_FF_FF));
    }
    if let Some(number) = &look.number_format {
        format = format.set_num_format(number.code());
    }
    if look.wrap {
        format = format.set_text_wrap();
    }
    edges(aligned(format, look), &look.edges)
}

fn aligned(format: Format, look: &Look) -> Format {
    let format = match look.horizontal {
        Horizontal::General => format,
        Horizontal::Left => format.set_align(FormatAlign::Left),
        Horizontal::Center => format.set_align(FormatAlign::Center),
        Horizontal::Right => format.set_align(FormatAlign::Right),
        Horizontal::Justify => format.set_align(FormatAlign::Justify),
        Horizontal::Fill => format.set_align(FormatAlign::Fill),
        Horizontal::Distributed => format.set_align(FormatAlign::Distributed),
        Horizontal::CenterAcross => format.set_align(FormatAlign::CenterAcross),
    };
    match look.vertical {
        Vertical::Bottom => format,
        Vertical::Top => format.set_align(FormatAlign::Top),
        Vertical::Center => format.set_align(FormatAlign::VerticalCenter),
        Vertical::Justify => format.set_align(FormatAlign::VerticalJustify),
        Vertical::Distributed => format.set_align(FormatAlign::VerticalDistributed),
    }
}

fn edges(format: Format, edges: &Edges) -> Format {
    format
        .set_border_left(border(edges.left))
        .set_border_right(border(edges.right))
        .set_border_top(border(edges.top))
        .set_border_bottom(border(edges.bottom))
}

fn border(line: Line) -> FormatBorder {
    match line {
        Line::None => FormatBorder::None,
        Line::Thin => FormatBorder::Thin,
        Line::Medium => FormatBorder::Medium,
        Line::Thick => FormatBorder::Thick,
        Line::Double => FormatBorder::Double,
        Line::Hair => FormatBorder::Hair,
        Line::Dashed => FormatBorder::Dashed,
        Line::Dotted => FormatBorder::Dotted,
    }
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
