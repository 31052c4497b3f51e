//! What all our sheets share: the mark, headings, cells, links, filters and
//! the set-up for print.

use super::ReportError;
use super::names;
use super::ours::PREFIX;
use super::style::{self, Styles};
use crate::findings::Severity;
use crate::schedule::Address;
use rust_xlsxwriter::{Format, Url, Workbook, Worksheet, XlsxError};
use std::borrow::Cow;
use std::cell::Cell as Counter;
use std::collections::BTreeMap;

/// UTF-16 units that a cell holds.
const LONGEST_TEXT: usize = 32_767;
/// Links that a sheet can hold are 65,530; a few are left to people.
const MOST_LINKS: usize = 65_000;

/// A text that fits a cell.
pub(super) fn clip(text: &str) -> Cow<'_, str> {
    clip_to(text, LONGEST_TEXT)
}

pub(super) fn clip_to(text: &str, most: usize) -> Cow<'_, str> {
    const CUT: &str = " … (cut)";
    // A UTF-8 text never has more UTF-16 units than bytes.
    if text.len() <= most || text.encode_utf16().count() <= most {
        return Cow::Borrowed(text);
    }
    let mut units = CUT.encode_utf16().count();
    let kept: String = text
        .chars()
        .take_while(|c| {
            units += c.len_utf16();
            units <= most
        })
        .collect();
    Cow::Owned(kept + CUT)
}

/// Without the characters that have no place outside of cells: notes,
/// footers, properties and names of sheets know no escape for them.
pub(super) fn printable(text: &str) -> Cow<'_, str> {
    let odd = |c: char| {
        (c.is_control() && !matches!(c, '\n' | '\t')) || matches!(c, '\u{fffe}' | '\u{ffff}')
    };
    if text.contains(odd) {
        Cow::Owned(text.replace(odd, "\u{fffd}"))
    } else {
        Cow::Borrowed(text)
    }
}

/// One cell of a list.
#[derive(Clone, Debug)]
pub(super) enum Cell {
    Text(String),
    Count(u64),
    /// A number, and how many decimals are shown.
    Number(f64, usize),
    Severity(Severity),
    /// A text that says how bad it is.
    Tint(Severity, String),
    /// Address of the link, and what is shown.
    Link(String, String),
    /// Written by people.
    Free(String),
    Group(String),
    Section(String),
}

impl Cell {
    pub fn text(text: impl Into<String>) -> Self {
        Self::Text(text.into())
    }

    fn lines(&self, width: f64) -> u32 {
        match self {
            Self::Text(text) | Self::Link(_, text) | Self::Free(text) => lines(text, width),
            // Bold letters are wider.
            Self::Group(text) | Self::Tint(_, text) => lines(text, width * 0.9),
            Self::Count(_) | Self::Number(..) | Self::Severity(_) | Self::Section(_) => 1,
        }
    }

    fn is_empty(&self) -> bool {
        match self {
            Self::Text(text) | Self::Link(_, text) => text.is_empty(),
            _ => false,
        }
    }

    /// A link where there is an address, else the text alone.
    pub fn link(url: Option<String>, text: impl Into<String>) -> Self {
        match url {
            Some(url) => Self::Link(url, text.into()),
            None => Self::Text(text.into()),
        }
    }
}

/// Lines that a text takes in a column of a width in characters. Words are
/// not broken, as spreadsheet programs break none that fit. A little too many
/// rather than a hidden line: fonts differ from machine to machine.
pub(super) fn lines(text: &str, width: f64) -> u32 {
    let fits = (width * 1.08).max(4.0) as usize;
    text.split('\n').map(|line| lines_of(line, fits)).sum()
}

fn lines_of(line: &str, fits: usize) -> u32 {
    let mut lines = 1;
    let mut used = 0;
    for word in line.split_inclusive([' ', '-', '/']) {
        let length = word.chars().count();
        if used > 0 && used + word.trim_end().chars().count() > fits {
            lines += 1;
            used = 0;
        }
        used += length;
        while used > fits + 1 {
            lines += 1;
            used -= fits;
        }
    }
    lines
}

/// Height in points of so many lines; a row has no more than 409.
pub(super) fn height_of(lines: u32) -> f64 {
    (f64::from(lines) * 13.2 + 3.0).min(405.0)
}

/// Makes room for the longest text of a row. Programs that lay rows out
/// themselves would do so as well; others would hide all but its first line.
pub(super) fn make_room<'c>(
    sheet: &mut Worksheet,
    row: u32,
    cells: impl Iterator<Item = (&'c Cell, f64)>,
) -> Result<(), XlsxError> {
    let most = cells.map(|(cell, width)| cell.lines(width)).max();
    if let Some(lines) = most.filter(|lines| *lines > 1) {
        sheet.set_row_height(row, height_of(lines))?;
    }
    Ok(())
}

pub(super) fn put(
    sheet: &mut Worksheet,
    row: u32,
    column: u16,
    cell: &Cell,
    styles: &Styles,
) -> Result<(), XlsxError> {
    match cell {
        Cell::Text(text) => string(sheet, row, column, text, &styles.wide),
        Cell::Group(text) => string(sheet, row, column, text, &styles.group),
        Cell::Free(text) => string(sheet, row, column, text, &styles.free),
        Cell::Section(text) => string(sheet, row, column, text, &styles.section),
        Cell::Severity(severity) => string(
            sheet,
            row,
            column,
            style::word(*severity),
            styles.severity(*severity),
        ),
        Cell::Tint(severity, text) => string(sheet, row, column, text, styles.tint(*severity)),
        Cell::Count(count) => sheet
            .write_number_with_format(row, column, *count as f64, &styles.number)
            .map(drop),
        Cell::Number(number, decimals) => {
            let format = match decimals {
                0 => "#,##0".to_owned(),
                decimals => format!("#,##0.{}", "0".repeat(*decimals)),
            };
            let format = styles.number.clone().set_num_format(format);
            sheet
                .write_number_with_format(row, column, *number, &format)
                .map(drop)
        }
        Cell::Link(url, text) => link(sheet, row, column, url, text, &styles.link),
    }
}

/// A text as a text: never a formula, a number or a link.
pub(super) fn string(
    sheet: &mut Worksheet,
    row: u32,
    column: u16,
    text: &str,
    format: &Format,
) -> Result<(), XlsxError> {
    if text.is_empty() {
        sheet.write_blank(row, column, format)?;
    } else {
        sheet.write_string_with_format(row, column, clip(text), format)?;
    }
    Ok(())
}

/// A link; the text alone where the address is none that a spreadsheet takes.
pub(super) fn link(
    sheet: &mut Worksheet,
    row: u32,
    column: u16,
    url: &str,
    text: &str,
    format: &Format,
) -> Result<(), XlsxError> {
    if text.is_empty() {
        return string(sheet, row, column, text, format);
    }
    let target = Url::new(url).set_text(clip(text));
    match sheet.write_url_with_format(row, column, target, format) {
        Ok(_) => Ok(()),
        Err(XlsxError::MaxUrlLengthExceeded | XlsxError::UnknownUrlType(_)) => {
            string(sheet, row, column, text, format)
        }
        Err(error) => Err(error),
    }
}

/// Where the cells of the sources can be opened from a workbook.
pub(super) struct Links<'a> {
    /// The file whose sheets stand in this workbook.
    own: Option<&'a str>,
    /// The author's name of a sheet, and the one that it has here.
    sheets: BTreeMap<String, String>,
    /// Other files: their path, and where their annotated copy lies.
    copies: &'a BTreeMap<String, String>,
    given: Counter<usize>,
}

impl<'a> Links<'a> {
    pub fn new(
        own: Option<&'a str>,
        sheets: BTreeMap<String, String>,
        copies: &'a BTreeMap<String, String>,
    ) -> Self {
        Self {
            own,
            sheets,
            copies,
            given: Counter::new(0),
        }
    }

    /// The link to a cell; `None` where it stands in no workbook of ours or
    /// the sheet has all the links that it can hold.
    pub fn to(&self, address: &Address) -> Option<String> {
        if address.cell.is_empty() || self.given.get() >= MOST_LINKS {
            return None;
        }
        let url = if self.own == Some(address.file.as_str()) {
            let sheet = self.sheets.get(&address.sheet)?;
            inside(sheet, &address.cell)
        } else {
            let copy = self.copies.get(&address.file)?;
            let sheet = match address.sheet.as_str() {
                "" => names::of_text_file(&address.file),
                sheet => sheet.to_owned(),
            };
            outside(copy, Some(&anchor(&sheet, &address.cell)))?
        };
        self.given.set(self.given.get() + 1);
        Some(url)
    }

    /// Counts anew for the next sheet.
    pub fn next_sheet(&self) {
        self.given.set(0);
    }
}

/// A link to a cell of the same workbook.
pub(super) fn inside(sheet: &str, cell: &str) -> String {
    format!("internal:{}", place(sheet, cell))
}

/// A cell of the same workbook: `'Findings'!A12`.
pub(super) fn place(sheet: &str, cell: &str) -> String {
    anchor(sheet, cell)
}

/// A link to another file, relative to this one's folder; `None` for a path
/// that a link cannot name.
pub(super) fn outside(path: &str, anchor: Option<&str>) -> Option<String> {
    if path.contains('#') {
        return None;
    }
    Some(match anchor {
        Some(anchor) => format!("file:///{path}#{anchor}"),
        None => format!("file:///{path}"),
    })
}

fn anchor(sheet: &str, cell: &str) -> String {
    format!("{}!{cell}", quoted(sheet))
}

pub(super) fn quoted(sheet: &str) -> String {
    format!("'{}'", sheet.replace('\'', "''"))
}

/// Columns that many jobs have nothing for. None is the first of its sheet,
/// where the mark and the title stand.
const MAY_BE_EMPTY: [&str; 7] = [
    "Dwelling",
    "Fuse",
    "Working",
    "Submitted by",
    "Revision",
    "Date",
    "Heater",
];

/// A column of a list: heading, width in characters.
pub(super) type Column = (&'static str, f64);

/// Where a sheet of ours gets its name, its mark and its footer from.
pub(super) struct Page<'a> {
    pub styles: &'a Styles,
    /// The job, or the batch.
    pub of: &'a str,
    pub as_of: &'a str,
}

impl Page<'_> {
    /// Writes mark and lead lines; gives the row for the headings.
    pub fn open(
        &self,
        sheet: &mut Worksheet,
        title: &str,
        leads: &[(String, &Format)],
    ) -> Result<u32, XlsxError> {
        string(sheet, 0, 0, &format!("{PREFIX}{title}"), &self.styles.mark)?;
        let mut row = 1;
        for (lead, format) in leads {
            string(sheet, row, 0, lead, format)?;
            let height = if row == 1 { 24.0 } else { 17.0 };
            sheet.set_row_height(row, height)?;
            row += 1;
        }
        Ok(row)
    }

    /// Writes headings and widths.
    pub fn head(
        &self,
        sheet: &mut Worksheet,
        row: u32,
        columns: &[Column],
    ) -> Result<(), XlsxError> {
        for (index, (heading, width)) in columns.iter().enumerate() {
            let column = index as u16;
            string(sheet, row, column, heading, &self.styles.head)?;
            sheet.set_column_width(column, *width)?;
        }
        sheet.set_row_height(row, 20)?;
        Ok(())
    }

    /// Frozen headings, a filter over the list, and the print set-up.
    pub fn close(
        &self,
        sheet: &mut Worksheet,
        head: u32,
        last: u32,
        columns: usize,
        frozen_columns: u16,
    ) -> Result<(), XlsxError> {
        let last_column = columns.saturating_sub(1) as u16;
        sheet.set_freeze_panes(head + 1, frozen_columns)?;
        sheet.autofilter(head, 0, last.max(head), last_column)?;
        sheet.set_repeat_rows(head, head)?;
        self.print(sheet);
        Ok(())
    }

    /// A list in one go: headings, rows, filter, print. A column that may be
    /// empty and is so in all rows is hidden.
    pub fn list(
        &self,
        sheet: &mut Worksheet,
        head: u32,
        columns: &[Column],
        rows: &[Vec<Cell>],
        frozen_columns: u16,
    ) -> Result<(), XlsxError> {
        self.head(sheet, head, columns)?;
        let mut row = head;
        let mut links = 0;
        for cells in rows {
            row += 1;
            make_room(
                sheet,
                row,
                cells.iter().zip(columns.iter().map(|(_, width)| *width)),
            )?;
            for (column, cell) in cells.iter().enumerate() {
                links += usize::from(matches!(cell, Cell::Link(..)));
                match cell {
                    Cell::Link(_, text) if links > MOST_LINKS => {
                        string(sheet, row, column as u16, text, &self.styles.wide)?;
                    }
                    cell => put(sheet, row, column as u16, cell, self.styles)?,
                }
            }
        }
        for (column, (heading, _)) in columns.iter().enumerate() {
            let mut cells = rows.iter().filter_map(|row| row.get(column));
            if MAY_BE_EMPTY.contains(heading) && cells.all(Cell::is_empty) {
                sheet.set_column_hidden(column as u16)?;
            }
        }
        self.close(sheet, head, row, columns.len(), frozen_columns)
    }

    /// Landscape, one page wide, numbered.
    pub fn print(&self, sheet: &mut Worksheet) {
        const LETTER: u8 = 1;
        // An ampersand begins a code; a footer holds 255 characters.
        let of: String = printable(self.of).chars().take(80).collect();
        sheet
            .set_landscape()
            .set_paper_size(LETTER)
            .set_print_fit_to_pages(1, 0)
            .set_margins(0.4, 0.4, 0.5, 0.6, 0.3, 0.3)
            .set_footer(format!(
                "&L&8{}&C&8ampledger, as of {}: not an approval&R&8&A, page &P of &N",
                of.replace('&', "&&"),
                self.as_of
            ));
    }
}

/// Adds a sheet of ours with its mark.
pub(super) fn add<'w>(
    workbook: &'w mut Workbook,
    name: &str,
    mark: &str,
) -> Result<&'w mut Worksheet, ReportError> {
    workbook.define_name(
        format!("_ampledger_{mark}"),
        &format!("={}!$A$1", quoted(name)),
    )?;
    let sheet = workbook.add_worksheet();
    sheet.set_name(name)?.set_tab_color(style::tab());
    Ok(sheet)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_text_is_cut_where_a_cell_ends() {
        assert_eq!(clip("short"), "short");
        let long = "ä".repeat(40_000);
        let cut = clip(&long);
        assert_eq!(cut.encode_utf16().count(), LONGEST_TEXT);
        assert!(cut.ends_with("(cut)"));
    }

    #[test]
    fn a_quote_in_a_sheets_name_is_doubled() {
        assert_eq!(inside("Dan's units", "C7"), "internal:'Dan''s units'!C7");
    }
}
