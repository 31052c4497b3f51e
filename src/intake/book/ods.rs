//! OpenDocument spreadsheets, streamed.
//!
//! calamine builds their sheets densely and lets a false repetition claim
//! gigabytes; here repeated cells count like any other and repeated blanks
//! cost nothing.

use super::cell::{ERRORS, Kind, Slot, error_index};
use super::look::Look;
use super::merges::Merge;
use super::number_format::NumberFormat;
use super::package::{Package, Part};
use super::refusal::{Bound, Foreign, Refusal, within};
use super::sheet::{Budget, Builder, Sheet, Visibility, extend_stretch};
use super::xml::{self, attribute, attributes};
use super::{Book, Format, calendar};
use crate::schedule::{ColIndex, RowIndex};
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};
use std::sync::Arc;

const KIND: &str = "application/vnd.oasis.opendocument.spreadsheet";

/// Whether the package says that it is a spreadsheet of this family.
pub(super) fn is_ods(package: &mut Package) -> Result<bool, Refusal> {
    let kind = package.text("mimetype", 200)?.unwrap_or_default();
    if kind.trim().starts_with(KIND) {
        let manifest = package.text("META-INF/manifest.xml", 1 << 20)?;
        return match manifest {
            Some(text) if text.contains("encryption-data") => Err(Refusal::Encrypted),
            _ => Ok(true),
        };
    }
    if kind.starts_with("application/vnd.oasis.opendocument") {
        return Err(Refusal::Foreign(Foreign::Document));
    }
    Ok(false)
}

/// The looks that stand for the types of cells; their own formats are not
/// read.
fn looks() -> Arc<[Look]> {
    let of = |code: &str| Look {
        number_format: NumberFormat::parse(code),
        ..Look::default()
    };
    [of("General"), of("0.##%"), of("m/d/yyyy"), of("h:mm:ss")].into()
}
const PERCENT: u16 = 1;
const DATE: u16 = 2;
const TIME: u16 = 3;

pub(super) fn read(package: &mut Package, budget: &mut Budget) -> Result<Book, Refusal> {
    let Some(part) = package.part("content.xml")? else {
        return Err(Refusal::Foreign(Foreign::NoSheets));
    };
    let mut content = Content {
        reader: xml::reader(part),
        looks: looks(),
        hidden_styles: Vec::new(),
    };
    let sheets = content.sheets(budget)?;
    if sheets.is_empty() {
        return Err(Refusal::Foreign(Foreign::NoSheets));
    }
    Ok(Book {
        format: Format::Ods,
        sheets,
        recast: Vec::new(),
        epoch_1904: false,
        notes: Vec::new(),
    })
}

struct Content<'p> {
    reader: Reader<Part<'p>>,
    looks: Arc<[Look]>,
    /// Styles of tables that are not displayed.
    hidden_styles: Vec<String>,
}

/// A cell as its element and its paragraphs say.
#[derive(Default)]
struct Cell {
    kind: String,
    number: Option<String>,
    error: bool,
    formula: bool,
    repeated: u32,
    columns: u32,
    rows: u32,
    text: String,
}

impl Content<'_> {
    fn sheets(&mut self, budget: &mut Budget) -> Result<Vec<Sheet>, Refusal> {
        let mut sheets = Vec::new();
        let mut style = String::new();
        let mut buffer = Vec::with_capacity(1 << 10);
        loop {
            buffer.clear();
            let event = self.reader.read_event_into(&mut buffer);
            match event.map_err(xml::broken)? {
                Event::Start(e) | Event::Empty(e) => match e.local_name().as_ref() {
                    "style" => style = attribute(&e, "name").unwrap_or_default().into_owned(),
                    "table-properties" if attribute(&e, "display").as_deref() == Some("false") => {
                        self.hidden_styles.push(style.clone());
                    }
                    "table" => {
                        let name = attribute(&e, "name").unwrap_or_default().into_owned();
                        let styled = attribute(&e, "style-name").unwrap_or_default();
                        let hidden = self.hidden_styles.iter().any(|s| *s == styled);
                        let found = sheets.len() as u64 + 1;
                        within(Bound::Sheets, found, budget.limits.sheets)?;
                        let mut sheet = self.table(name, &mut buffer, budget)?;
                        if hidden {
                            sheet.visibility = Visibility::Hidden;
                        }
                        sheets.push(sheet);
                    }
                    _ => {}
                },
                Event::Eof => return Ok(sheets),
                _ => {}
            }
        }
    }

    fn table(
        &mut self,
        name: String,
        buffer: &mut Vec<u8>,
        budget: &mut Budget,
    ) -> Result<Sheet, Refusal> {
        let mut builder = Builder::new(Some(name), Arc::default(), self.looks.clone());
        let (mut row, mut column) = (0u32, 0u32);
        loop {
            buffer.clear();
            let event = self.reader.read_event_into(buffer);
            match event.map_err(xml::broken)? {
                Event::Start(e) => match e.local_name().as_ref() {
                    "table-row" => {
                        let (repeated, hidden) = repetition(&e);
                        hide_rows(&mut builder, row, repeated, hidden);
                        self.row(row, repeated, &mut builder, buffer, budget)?;
                        row = row.saturating_add(repeated);
                    }
                    "table-column" => hide_columns(&mut builder, &mut column, &e),
                    _ => {}
                },
                Event::Empty(e) => match e.local_name().as_ref() {
                    "table-row" => {
                        let (repeated, hidden) = repetition(&e);
                        hide_rows(&mut builder, row, repeated, hidden);
                        row = row.saturating_add(repeated);
                    }
                    "table-column" => hide_columns(&mut builder, &mut column, &e),
                    _ => {}
                },
                Event::End(e) if e.local_name().as_ref() == "table" => {
                    return Ok(builder.finish());
                }
                Event::Eof => return Err(xml::broken("the part ends inside a table")),
                _ => {}
            }
        }
    }

    fn row(
        &mut self,
        row: u32,
        repeated: u32,
        builder: &mut Builder,
        buffer: &mut Vec<u8>,
        budget: &mut Budget,
    ) -> Result<(), Refusal> {
        let mut column = 0u32;
        let mut slots: Vec<Slot> = Vec::new();
        loop {
            buffer.clear();
            let event = self.reader.read_event_into(buffer);
            let cell = match event.map_err(xml::broken)? {
                Event::Start(e) if is_cell(&e) => {
                    let mut cell = cell_of(&e);
                    self.paragraphs(&mut cell.text, buffer)?;
                    cell
                }
                Event::Empty(e) if is_cell(&e) => cell_of(&e),
                Event::End(e) if e.local_name().as_ref() == "table-row" => break,
                Event::Eof => return Err(xml::broken("the part ends inside a row")),
                _ => continue,
            };
            add_merge(&cell, row, column, builder, budget)?;
            let filled = slot_of(&cell, builder, budget)?;
            if let Some(slot) = filled {
                for at in column..column.saturating_add(cell.repeated) {
                    let found = u64::from(at) + 1;
                    within(Bound::Columns, found, budget.limits.columns.min(65_535))?;
                    slots.push(Slot {
                        column: at as u16,
                        ..slot
                    });
                }
            }
            column = column.saturating_add(cell.repeated);
        }
        if slots.is_empty() {
            return Ok(());
        }
        for copy in 0..repeated {
            for slot in &slots {
                builder.push(budget, row.saturating_add(copy), *slot)?;
            }
        }
        Ok(())
    }

    /// The text of a cell's paragraphs, to the end of the cell; a note in it
    /// is no text of the cell.
    fn paragraphs(&mut self, text: &mut String, buffer: &mut Vec<u8>) -> Result<(), Refusal> {
        let (mut depth, mut note, mut paragraphs) = (0u32, None, 0u32);
        loop {
            buffer.clear();
            let event = self.reader.read_event_into(buffer);
            match event.map_err(xml::broken)? {
                Event::Start(e) => {
                    depth += 1;
                    match e.local_name().as_ref() {
                        "annotation" if note.is_none() => note = Some(depth),
                        "p" if note.is_none() => {
                            if paragraphs > 0 {
                                text.push('\n');
                            }
                            paragraphs += 1;
                        }
                        _ => {}
                    }
                }
                Event::Empty(e) if note.is_none() => match e.local_name().as_ref() {
                    "s" => {
                        let count = attribute(&e, "c").and_then(|c| c.parse::<usize>().ok());
                        let blanks = count.unwrap_or(1).min(1_000);
                        text.extend(std::iter::repeat_n(' ', blanks));
                    }
                    "tab" => text.push('\t'),
                    "line-break" => text.push('\n'),
                    "p" => paragraphs += 1,
                    _ => {}
                },
                Event::Text(t) if note.is_none() && paragraphs > 0 => {
                    text.push_str(&t.xml10_content());
                }
                Event::GeneralRef(r) if note.is_none() && paragraphs > 0 => {
                    xml::push_reference(&r, text);
                }
                Event::End(_) if depth == 0 => return Ok(()),
                Event::End(_) => {
                    if note == Some(depth) {
                        note = None;
                    }
                    depth -= 1;
                }
                Event::Eof => return Err(xml::broken("the part ends inside a cell")),
                _ => {}
            }
        }
    }
}

fn is_cell(element: &BytesStart<'_>) -> bool {
    matches!(
        element.local_name().as_ref(),
        "table-cell" | "covered-table-cell"
    )
}

/// How often a row or column stands, and whether it is hidden.
fn repetition(element: &BytesStart<'_>) -> (u32, bool) {
    let (mut repeated, mut hidden) = (1, false);
    for (name, value) in attributes(element) {
        match name {
            "number-rows-repeated" | "number-columns-repeated" => {
                repeated = value.parse().unwrap_or(1);
            }
            "visibility" => hidden = matches!(value, "collapse" | "filter"),
            _ => {}
        }
    }
    (repeated, hidden)
}

fn hide_rows(builder: &mut Builder, row: u32, repeated: u32, hidden: bool) {
    if hidden && repeated > 0 {
        let rows = &mut builder.sheet().hidden_rows;
        extend_stretch(rows, RowIndex(row));
        if let Some((_, last)) = rows.last_mut() {
            *last = RowIndex(row.saturating_add(repeated - 1));
        }
    }
}

fn hide_columns(builder: &mut Builder, column: &mut u32, element: &BytesStart<'_>) {
    let (repeated, hidden) = repetition(element);
    let next = column.saturating_add(repeated);
    if hidden && repeated > 0 && *column < 65_536 {
        let index = |n: u32| ColIndex(n.min(65_535) as u16);
        let columns = &mut builder.sheet().hidden_columns;
        columns.push((index(*column), index(next - 1)));
    }
    *column = next;
}

fn cell_of(element: &BytesStart<'_>) -> Cell {
    let mut cell = Cell {
        repeated: 1,
        columns: 1,
        rows: 1,
        ..Cell::default()
    };
    for (name, value) in attributes(element) {
        match name {
            // Two prefixes have it; the extension's says `error`.
            "value-type" if value == "error" => cell.error = true,
            "value-type" if cell.kind.is_empty() => cell.kind = value.to_owned(),
            "value" | "boolean-value" | "date-value" | "time-value" => {
                cell.number = Some(value.to_owned());
            }
            "string-value" => cell.number = Some(xml::unescape(value).into_owned()),
            "formula" => cell.formula = true,
            "number-columns-repeated" => cell.repeated = value.parse().unwrap_or(1),
            "number-columns-spanned" => cell.columns = value.parse().unwrap_or(1),
            "number-rows-spanned" => cell.rows = value.parse().unwrap_or(1),
            _ => {}
        }
    }
    cell
}

fn add_merge(
    cell: &Cell,
    row: u32,
    column: u32,
    builder: &mut Builder,
    budget: &Budget,
) -> Result<(), Refusal> {
    if (cell.columns <= 1 && cell.rows <= 1) || column > 65_535 {
        return Ok(());
    }
    let last = column.saturating_add(cell.columns.max(1) - 1).min(65_535);
    let merge = Merge {
        first: (RowIndex(row), ColIndex(column as u16)),
        last: (
            RowIndex(row.saturating_add(cell.rows.max(1) - 1)),
            ColIndex(last as u16),
        ),
    };
    builder.merge(budget, merge)
}

/// What stands in a cell, its column still open.
fn slot_of(
    cell: &Cell,
    builder: &mut Builder,
    budget: &mut Budget,
) -> Result<Option<Slot>, Refusal> {
    let written = cell.number.as_deref().unwrap_or_default();
    let number = written.parse::<f64>().ok();
    let dressed = |kind, value: f64, look| {
        Some(Slot {
            look,
            ..Slot::new(0, kind, value.to_bits())
        })
    };
    let known = match cell.kind.as_str() {
        _ if cell.error => Some(Slot::new(0, Kind::Error, error_index(&cell.text))),
        "float" | "currency" => number.map(|n| Slot::number(0, n)),
        "percentage" => number.and_then(|n| dressed(Kind::Number, n, PERCENT)),
        "date" => calendar::serial(written).and_then(|n| dressed(Kind::DateTime, n, DATE)),
        "time" => calendar::duration(written).and_then(|n| dressed(Kind::DateTime, n, TIME)),
        "boolean" => Some(Slot::new(0, Kind::Bool, u64::from(written == "true"))),
        "string" if cell.formula && ERRORS.contains(&cell.text.as_str()) => {
            Some(Slot::new(0, Kind::Error, error_index(&cell.text)))
        }
        "" if cell.formula && cell.text.is_empty() => {
            Some(Slot::new(0, Kind::FormulaWithoutValue, 0))
        }
        _ => None,
    };
    let slot = match known {
        Some(slot) => slot,
        None => {
            let text = if cell.text.is_empty() {
                written
            } else {
                &cell.text
            };
            if text.trim().is_empty() {
                return Ok(None);
            }
            Slot::new(0, Kind::Own, builder.keep(budget, text)?)
        }
    };
    Ok(Some(Slot {
        formula: cell.formula,
        ..slot
    }))
}

#[cfg(test)]
mod tests {
    use super::super::{Limits, Value};
    use super::*;
    use std::io::Write;

    fn open(body: &str, limits: &Limits) -> Result<Book, Refusal> {
        let content = format!(
            r#"<office:document-content><office:automatic-styles><style:style style:name="ta2" style:family="table"><style:table-properties table:display="false"/></style:style></office:automatic-styles><office:body><office:spreadsheet>{body}</office:spreadsheet></office:body></office:document-content>"#
        );
        let mut writer = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
        let options = zip::write::SimpleFileOptions::default();
        for (name, text) in [("mimetype", KIND), ("content.xml", content.as_str())] {
            writer.start_file(name, options).expect("a part");
            writer.write_all(text.as_bytes()).expect("its content");
        }
        let bytes = writer.finish().expect("a zip").into_inner();
        Book::from_bytes("job.ods", bytes, limits)
    }

    #[test]
    fn a_sheet_is_read_with_its_types_repeats_and_spans() {
        let body = r#"<table:table table:name="Units"><table:table-column table:number-columns-repeated="2"/><table:table-column table:visibility="collapse"/>
            <table:table-row table:number-rows-repeated="2"><table:table-cell table:number-columns-repeated="1024"/></table:table-row>
            <table:table-row><table:table-cell office:value-type="string" table:number-columns-spanned="2"><text:p>Tag <text:span>&amp;</text:span></text:p><text:p>Room</text:p></table:table-cell><table:covered-table-cell/><table:table-cell office:value-type="float" office:value="30"><text:p>30 A</text:p></table:table-cell></table:table-row>
            <table:table-row table:visibility="filter"><table:table-cell office:value-type="date" office:date-value="2026-10-02"><text:p>2-Oct</text:p></table:table-cell><table:table-cell office:value-type="percentage" office:value="0.03"/><table:table-cell table:formula="of:=1/0" office:value-type="string" calcext:value-type="error"><text:p>#DIV/0!</text:p></table:table-cell><table:table-cell office:value-type="boolean" office:boolean-value="true"/></table:table-row>
            <table:table-row table:number-rows-repeated="2"><table:table-cell table:number-columns-repeated="2" office:value-type="string"><office:annotation><text:p>no</text:p></office:annotation><text:p>x</text:p></table:table-cell></table:table-row>
            <table:table-row table:number-rows-repeated="1048571"><table:table-cell table:number-columns-repeated="1024"/></table:table-row></table:table>
            <table:table table:name="Lists" table:style-name="ta2"></table:table>"#;
        let book = open(body, &Limits::default()).expect("a workbook");
        assert_eq!(book.format, Format::Ods);
        assert_eq!(book.sheets[1].visibility, Visibility::Hidden);
        let sheet = &book.sheets[0];
        let mut found = Vec::new();
        for row in sheet.rows() {
            for cell in row.cells() {
                let at = crate::schedule::a1(row.index(), cell.column());
                found.push(format!("{at} {}", cell.text()));
            }
        }
        assert_eq!(
            found,
            [
                "A3 Tag &\nRoom",
                "C3 30",
                "A4 10/2/2026",
                "B4 3%",
                "C4 #DIV/0!",
                "D4 TRUE",
                "A5 x",
                "B5 x",
                "A6 x",
                "B6 x"
            ]
        );
        let date = sheet.cell(RowIndex(3), ColIndex(0)).expect("A4").value();
        assert!(matches!(date, Value::DateTime { serial, .. } if serial == 46297.0));
        assert!(sheet.covering_merge(RowIndex(2), ColIndex(1)).is_some());
        assert!(sheet.is_row_hidden(RowIndex(3)) && !sheet.is_row_hidden(RowIndex(4)));
        assert!(sheet.is_column_hidden(ColIndex(2)));
    }

    #[test]
    fn a_false_repetition_is_refused_before_it_fills_memory() {
        let body = r#"<table:table table:name="S"><table:table-row table:number-rows-repeated="4000000000"><table:table-cell table:number-columns-repeated="1000" office:value-type="float" office:value="1"/></table:table-row></table:table>"#;
        let limits = Limits {
            cells: 100_000,
            ..Limits::default()
        };
        match open(body, &limits) {
            Err(Refusal::OverLimit { bound, .. }) => assert_eq!(bound, Bound::Cells),
            other => panic!("{other:?}"),
        }
        let wide = body.replace("\"1000\"", "\"4000000000\"");
        match open(&wide, &limits) {
            Err(Refusal::OverLimit { bound, .. }) => assert_eq!(bound, Bound::Columns),
            other => panic!("{other:?}"),
        }
    }
}
