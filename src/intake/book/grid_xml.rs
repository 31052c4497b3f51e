//! The part of one worksheet, in one pass.
//!
//! calamine's own cell reader gives values alone; hidden rows, widths,
//! merged ranges and formulas without a value would cost a second pass over
//! the largest part, and one bad address or an error word that it does not
//! know would cost the whole sheet.

use super::cell::{Kind, Slot, error_index};
use super::merges::Merge;
use super::package::Part;
use super::refusal::Refusal;
use super::sheet::{Budget, Builder, Strings, extend_stretch};
use super::xml::{self, attributes, is_true};
use crate::schedule::{ColIndex, RowIndex};
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

/// The last row and column that a worksheet has.
const LAST: (u32, u16) = (1_048_575, 16_383);
/// Bytes of a shared text from which on each cell with it counts as text of
/// its own.
const LONG_TEXT: usize = 4_096;
/// Blank cells whose look is kept, of one sheet.
const DRESSED: usize = 100_000;

/// `B7` as (row, column) from zero; `$` signs are passed over.
pub(super) fn address(text: &str) -> Option<(u32, u16)> {
    let (mut row, mut column) = (0u32, 0u32);
    for byte in text.bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' if row == 0 => {
                let letter = u32::from(byte.to_ascii_uppercase() - b'A') + 1;
                column = column.checked_mul(26)?.checked_add(letter)?;
            }
            b'0'..=b'9' if column > 0 => {
                row = row.checked_mul(10)?.checked_add(u32::from(byte - b'0'))?;
            }
            b'$' => {}
            _ => return None,
        }
    }
    let (row, column) = (row.checked_sub(1)?, column.checked_sub(1)?);
    let column = u16::try_from(column).ok()?;
    (row <= LAST.0 && column <= LAST.1).then_some((row, column))
}

/// `B7:D9`, or one cell, as a range.
pub(super) fn range(text: &str) -> Option<Merge> {
    let (first, last) = text.split_once(':').unwrap_or((text, text));
    let (first, last) = (address(first)?, address(last)?);
    let corner = |(row, column)| (RowIndex(row), ColIndex(column));
    Some(Merge {
        first: corner(first),
        last: corner(last),
    })
}

/// The attributes of a cell.
#[derive(Default)]
struct Head {
    look: u16,
    kind: CellType,
    row: u32,
    column: u16,
    /// The address could not be read: the cell is left out.
    lost: bool,
}

#[derive(Clone, Copy, Default, PartialEq)]
enum CellType {
    #[default]
    Number,
    Shared,
    Text,
    Inline,
    Bool,
    Error,
    /// A date as text (ISO 8601).
    Date,
}

pub(super) struct GridReader<'p, 'b, 'l> {
    reader: Reader<Part<'p>>,
    builder: &'b mut Builder,
    budget: &'b mut Budget<'l>,
    /// Which looks show a number as a date.
    dates: &'b [bool],
    strings: &'b Strings,
    row: u32,
    column: u16,
    lost_cells: u32,
    buffer: Vec<u8>,
    value: String,
}

impl<'p, 'b, 'l> GridReader<'p, 'b, 'l> {
    pub fn new(
        part: Part<'p>,
        builder: &'b mut Builder,
        budget: &'b mut Budget<'l>,
        dates: &'b [bool],
        strings: &'b Strings,
    ) -> Self {
        Self {
            reader: xml::reader(part),
            builder,
            budget,
            dates,
            strings,
            row: 0,
            column: 0,
            lost_cells: 0,
            buffer: Vec::with_capacity(1 << 10),
            value: String::new(),
        }
    }

    /// Reads the sheet into the builder.
    ///
    /// # Errors
    /// Over a limit. A damaged part is no error: what came before the damage
    /// stays, and the sheet says so.
    pub fn read(mut self) -> Result<(), Refusal> {
        let damage = match self.events() {
            Ok(()) if self.lost_cells == 0 => return Ok(()),
            Ok(()) => format!(
                "{} cells have an address or a value that cannot be read; they were left out.",
                self.lost_cells
            ),
            Err(Refusal::Corrupt(detail)) => format!(
                "The sheet is damaged after row {} ({detail}); what follows was not read.",
                self.row + 1
            ),
            Err(refusal) => return Err(refusal),
        };
        self.builder.sheet().damage = Some(damage);
        Ok(())
    }

    fn events(&mut self) -> Result<(), Refusal> {
        let mut first_row = true;
        let mut whole = false;
        loop {
            let mut buffer = std::mem::take(&mut self.buffer);
            buffer.clear();
            let event = self.reader.read_event_into(&mut buffer);
            match event.map_err(xml::broken)? {
                Event::Start(e) => match e.local_name().as_ref() {
                    "c" => {
                        let head = self.head(&e);
                        self.cell(head, &mut buffer)?;
                    }
                    "row" => self.begin_row(&e, &mut first_row),
                    name => {
                        let name = name.to_owned();
                        self.around(&name, &e)?;
                    }
                },
                Event::Empty(e) => match e.local_name().as_ref() {
                    "c" => {
                        let head = self.head(&e);
                        self.blank(&head);
                    }
                    "row" => self.begin_row(&e, &mut first_row),
                    "sheetData" => whole = true,
                    name => {
                        let name = name.to_owned();
                        self.around(&name, &e)?;
                    }
                },
                Event::End(e) => match e.local_name().as_ref() {
                    "sheetData" => whole = true,
                    "worksheet" => return Ok(()),
                    _ => {}
                },
                Event::Eof if whole => return Ok(()),
                Event::Eof => return Err(xml::broken("the part ends early")),
                _ => {}
            }
            self.buffer = buffer;
        }
    }

    /// Elements before and after the cells.
    fn around(&mut self, name: &str, element: &BytesStart<'_>) -> Result<(), Refusal> {
        match name {
            "col" => self.column_set(element),
            "mergeCell" => {
                let found = xml::attribute(element, "ref").and_then(|r| range(&r));
                if let Some(merge) = found {
                    self.builder.merge(self.budget, merge)?;
                }
            }
            _ => {}
        }
        Ok(())
    }

    fn column_set(&mut self, element: &BytesStart<'_>) {
        let (mut first, mut last, mut width, mut hidden) = (None, None, None, false);
        for (name, value) in attributes(element) {
            match name {
                "min" => first = value.parse::<u32>().ok(),
                "max" => last = value.parse::<u32>().ok(),
                "width" => width = value.parse::<f64>().ok(),
                "hidden" => hidden = is_true(value),
                _ => {}
            }
        }
        let column = |n: Option<u32>| {
            let zero_based = n?.checked_sub(1)?.min(u32::from(LAST.1));
            Some(ColIndex(zero_based as u16))
        };
        let sheet = self.builder.sheet();
        let (Some(first), Some(last)) = (column(first), column(last)) else {
            return;
        };
        // A worksheet has at most as many stretches as columns.
        if first <= last && sheet.column_widths.len() <= usize::from(LAST.1) {
            if hidden {
                sheet.hidden_columns.push((first, last));
            }
            if let Some(width) = width.filter(|w| w.is_finite()) {
                sheet.column_widths.push((first, last, width));
            }
        }
    }

    fn begin_row(&mut self, element: &BytesStart<'_>, first: &mut bool) {
        let (mut number, mut hidden, mut height, mut custom) = (None, false, None, false);
        for (name, value) in attributes(element) {
            match name {
                "r" => number = value.parse::<u32>().ok(),
                "hidden" => hidden = is_true(value),
                "ht" => height = value.parse::<f32>().ok(),
                "customHeight" => custom = is_true(value),
                _ => {}
            }
        }
        let next = if *first { 0 } else { self.row + 1 };
        *first = false;
        self.row = number
            .and_then(|n| n.checked_sub(1))
            .unwrap_or(next)
            .min(LAST.0);
        self.column = 0;
        let row = RowIndex(self.row);
        let sheet = self.builder.sheet();
        if hidden && sheet.hidden_rows.last().is_none_or(|(_, last)| *last < row) {
            extend_stretch(&mut sheet.hidden_rows, row);
        }
        if let Some(height) = height.filter(|h| custom && h.is_finite())
            && sheet.row_heights.len() < DRESSED
        {
            sheet.row_heights.push((row, height));
        }
    }

    fn head(&mut self, element: &BytesStart<'_>) -> Head {
        let mut head = Head {
            row: self.row,
            column: self.column,
            ..Head::default()
        };
        for (name, value) in attributes(element) {
            match name {
                "r" => match address(value) {
                    Some((row, column)) => (head.row, head.column) = (row, column),
                    None => head.lost = true,
                },
                "s" => head.look = value.parse().unwrap_or(0),
                "t" => {
                    head.kind = match value {
                        "s" => CellType::Shared,
                        "str" => CellType::Text,
                        "inlineStr" => CellType::Inline,
                        "b" => CellType::Bool,
                        "e" => CellType::Error,
                        "d" => CellType::Date,
                        _ => CellType::Number,
                    }
                }
                _ => {}
            }
        }
        head.lost |= head.column > LAST.1;
        self.column = head.column.saturating_add(1);
        head
    }

    fn blank(&mut self, head: &Head) {
        let sheet = self.builder.sheet();
        if head.look > 0 && !head.lost && sheet.dressed_blanks.len() < DRESSED {
            let place = (RowIndex(head.row), ColIndex(head.column), head.look);
            sheet.dressed_blanks.push(place);
        }
    }

    /// The inside of a cell, up to its end.
    fn cell(&mut self, head: Head, buffer: &mut Vec<u8>) -> Result<(), Refusal> {
        let mut value = std::mem::take(&mut self.value);
        value.clear();
        let mut formula = false;
        loop {
            buffer.clear();
            match self.reader.read_event_into(buffer).map_err(xml::broken)? {
                Event::Start(e) => match e.local_name().as_ref() {
                    "v" if head.kind == CellType::Inline => {
                        let mut ignored = String::new();
                        xml::read_text(&mut self.reader, buffer, &mut ignored)?;
                    }
                    "v" => xml::read_text(&mut self.reader, buffer, &mut value)?,
                    "is" => xml::read_runs(&mut self.reader, buffer, "is", &mut value)?,
                    "f" => formula = true,
                    _ => {}
                },
                Event::Empty(e) => formula |= e.local_name().as_ref() == "f",
                Event::End(e) if e.local_name().as_ref() == "c" => break,
                Event::Eof => return Err(xml::broken("the part ends inside a cell")),
                _ => {}
            }
        }
        if head.kind == CellType::Text {
            xml::decode_escapes(&mut value, 0);
        }
        let result = self.emit(&head, &value, formula);
        self.value = value;
        result
    }

    fn emit(&mut self, head: &Head, value: &str, formula: bool) -> Result<(), Refusal> {
        if head.lost {
            self.lost_cells += 1;
            return Ok(());
        }
        let trimmed = value.trim();
        let slot = match head.kind {
            _ if value.is_empty() => {
                // A formula that gives an empty text says so by its type.
                if !formula || matches!(head.kind, CellType::Text | CellType::Inline) {
                    self.blank(head);
                    return Ok(());
                }
                Slot::new(head.column, Kind::FormulaWithoutValue, 0)
            }
            CellType::Shared => {
                let index = trimmed.parse::<usize>().ok();
                let found = index.and_then(|i| Some((i, self.strings.get(i)?)));
                match found {
                    Some((_, text)) if text.trim().is_empty() => {
                        self.blank(head);
                        return Ok(());
                    }
                    Some((index, text)) => {
                        // Kept once, but looked at in each cell that shows it.
                        if text.len() > LONG_TEXT {
                            self.budget.text(text.len())?;
                        }
                        Slot::new(head.column, Kind::Shared, index as u64)
                    }
                    None => {
                        self.lost_cells += 1;
                        return Ok(());
                    }
                }
            }
            CellType::Text | CellType::Inline if trimmed.is_empty() => {
                self.blank(head);
                return Ok(());
            }
            CellType::Bool => {
                let truth = is_true(&trimmed.to_ascii_lowercase());
                Slot::new(head.column, Kind::Bool, u64::from(truth))
            }
            CellType::Error => Slot::new(head.column, Kind::Error, error_index(trimmed)),
            CellType::Number => match trimmed.parse::<f64>() {
                Ok(number) if self.dates.get(usize::from(head.look)) == Some(&true) => {
                    Slot::new(head.column, Kind::DateTime, number.to_bits())
                }
                Ok(number) => Slot::number(head.column, number),
                Err(_) => self.own(head.column, value)?,
            },
            CellType::Text | CellType::Inline | CellType::Date => self.own(head.column, value)?,
        };
        let slot = Slot {
            look: head.look,
            formula,
            ..slot
        };
        self.builder.push(self.budget, head.row, slot)
    }

    fn own(&mut self, column: u16, text: &str) -> Result<Slot, Refusal> {
        let bits = self.builder.keep(self.budget, text)?;
        Ok(Slot::new(column, Kind::Own, bits))
    }
}
