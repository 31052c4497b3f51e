//! Rows and cells of a sheet, and where they stand in its text.

use super::fault::CannotEdit;
use super::xml::{Element, Kind, Tokens, attribute, end_of_tag, local, name_of, string_of};
use std::collections::BTreeMap;
use std::ops::Range;

pub(super) const ROWS: u32 = 1_048_576;
pub(super) const COLUMNS: u16 = 16_384;

/// A cell by row and column, from zero.
pub type At = (u32, u16);

/// `C7`.
pub(super) fn a1((row, column): At) -> String {
    format!("{}{}", letters(column), u64::from(row) + 1)
}

pub(super) fn letters(column: u16) -> String {
    let mut rest = u32::from(column) + 1;
    let mut letters = Vec::new();
    while rest > 0 {
        letters.push(char::from(b'A' + ((rest - 1) % 26) as u8));
        rest = (rest - 1) / 26;
    }
    letters.iter().rev().collect()
}

/// Row and column of `C7` or `$C$7`.
pub(super) fn parse_a1(cell: &str) -> Option<At> {
    let cell = cell.strip_prefix('$').unwrap_or(cell);
    let digits = cell.find(|c: char| !c.is_ascii_alphabetic())?;
    let (column, row) = cell.split_at_checked(digits)?;
    let row = row.strip_prefix('$').unwrap_or(row);
    let mut index: u32 = 0;
    for letter in column.bytes() {
        let digit = letter.to_ascii_uppercase().checked_sub(b'A')?;
        index = index.checked_mul(26)?.checked_add(u32::from(digit) + 1)?;
    }
    let column = u16::try_from(index.checked_sub(1)?).ok()?;
    let row: u32 = row.parse().ok()?;
    let at = (row.checked_sub(1)?, column);
    (at.0 < ROWS && at.1 < COLUMNS).then_some(at)
}

/// First and last cell of `B2:D9` or `B2`.
pub(super) fn parse_range(range: &str) -> Option<(At, At)> {
    let (first, last) = range.split_once(':').unwrap_or((range, range));
    Some((parse_a1(first.trim())?, parse_a1(last.trim())?))
}

/// A row and its place in the text.
#[derive(Clone, Debug)]
pub(super) struct Row {
    pub number: u32,
    pub element: Element,
}

#[derive(Clone, Debug)]
pub(super) struct Cell {
    pub column: u16,
    /// Whether its tag says where it stands; else it follows the one before.
    pub placed: bool,
    pub element: Element,
    pub has_value: bool,
}

/// Walks over the rows of a stretch in one pass: each cell, then its row.
pub(super) fn walk(
    part: &str,
    text: &str,
    stretch: Range<usize>,
    before: Option<u32>,
    mut cell: impl FnMut(u32, Cell) -> Result<(), CannotEdit>,
    mut row: impl FnMut(Row),
) -> Result<(), CannotEdit> {
    let damaged = |why: &str| CannotEdit::damaged(part, why);
    let mut tokens = Tokens::new(part, text, stretch);
    let mut depth = 0u32;
    let mut next_row = before.map_or(0, |row| row + 1);
    let mut next_column = 0u16;
    let mut open_row: Option<Range<usize>> = None;
    let mut open_cell: Option<(u16, bool, Range<usize>)> = None;
    let mut value = false;
    loop {
        // Most of a sheet is plain cells: its reader knows them at a glance.
        while depth == 1
            && let Some((rest, at)) = tokens.rest()
            && let Some(plain) = Plain::of(rest)
        {
            let tag = rest.get(..plain.tag).unwrap_or_default();
            let (column, placed) = column_of(part, tag, next_column)?;
            next_column = column + 1;
            let element = Element {
                at: at..at + plain.whole,
                tag: at..at + plain.tag,
                inner: at + plain.tag..at + plain.inner,
            };
            let found = Cell {
                column,
                placed,
                element,
                has_value: plain.has_value,
            };
            cell(next_row, found)?;
            tokens.pass(plain.whole);
        }
        let Some(token) = tokens.next()? else { break };
        let raw = text.get(token.at.clone()).unwrap_or_default();
        match (token.kind, depth) {
            (Kind::Start | Kind::Empty, 0) => {
                if local(name_of(raw)) != "row" {
                    return Err(damaged("something that is no row stands among rows"));
                }
                if let Some(number) = attribute(raw, "r") {
                    let number: u32 = number
                        .parse()
                        .map_err(|_| damaged("a row without number"))?;
                    let number = number.checked_sub(1).filter(|row| *row >= next_row);
                    next_row = number.ok_or_else(|| damaged("the rows are not in order"))?;
                }
                if next_row >= ROWS {
                    return Err(damaged("more rows than a sheet has"));
                }
                next_column = 0;
                if token.kind == Kind::Start {
                    open_row = Some(token.at.clone());
                } else {
                    row(Row {
                        number: next_row,
                        element: empty(token.at.clone()),
                    });
                    next_row += 1;
                }
            }
            (Kind::Start | Kind::Empty, 1) if local(name_of(raw)) == "c" => {
                let (column, placed) = column_of(part, raw, next_column)?;
                next_column = column + 1;
                if token.kind == Kind::Start {
                    open_cell = Some((column, placed, token.at.clone()));
                    value = false;
                } else {
                    let found = Cell {
                        column,
                        placed,
                        element: empty(token.at.clone()),
                        has_value: false,
                    };
                    cell(next_row, found)?;
                }
            }
            (Kind::Start, 2) => value |= matches!(local(name_of(raw)), "f" | "is"),
            (Kind::Empty, 2) => value |= local(name_of(raw)) == "f",
            (Kind::Other, 3) => value |= !raw.is_empty(),
            _ => {}
        }
        match token.kind {
            Kind::Start => depth += 1,
            Kind::End => {
                depth = depth.saturating_sub(1);
                if depth == 1
                    && let Some((column, placed, tag)) = open_cell.take()
                {
                    let found = Cell {
                        column,
                        placed,
                        element: closed(tag, &token.at),
                        has_value: value,
                    };
                    cell(next_row, found)?;
                } else if depth == 0
                    && let Some(tag) = open_row.take()
                {
                    row(Row {
                        number: next_row,
                        element: closed(tag, &token.at),
                    });
                    next_row += 1;
                }
            }
            _ => {}
        }
    }
    match depth {
        0 => Ok(()),
        _ => Err(damaged("an element is not closed")),
    }
}

/// The column of a cell, and whether its tag says it.
fn column_of(part: &str, tag: &str, next: u16) -> Result<(u16, bool), CannotEdit> {
    let placed = attribute(tag, "r");
    let column = match &placed {
        Some(at) => {
            let at = parse_a1(at);
            at.ok_or_else(|| CannotEdit::damaged(part, "a cell in no place"))?
                .1
        }
        None => next,
    };
    if column < next || column >= COLUMNS {
        let why = "the cells of a row are not in order";
        return Err(CannotEdit::damaged(part, why));
    }
    Ok((column, placed.is_some()))
}

/// A cell that is empty or has a value and nothing else, by how long it is:
/// its tag, to the end of its content, and the whole.
struct Plain {
    tag: usize,
    inner: usize,
    whole: usize,
    has_value: bool,
}

impl Plain {
    /// The one that a text begins with. What is written in any other way is
    /// left to the reader of XML.
    fn of(text: &str) -> Option<Self> {
        const BEGIN: &str = "<v>";
        const END: &str = "</v>";
        const CLOSE: &str = "</c>";
        if !text.starts_with("<c ") {
            return None;
        }
        let tag = end_of_tag(text)?;
        let (before, after) = text.split_at_checked(tag)?;
        if before.ends_with("/>") {
            return Some(Self {
                tag,
                inner: tag,
                whole: tag,
                has_value: false,
            });
        }
        let value = after.strip_prefix(BEGIN)?;
        let length = memchr::memchr(b'<', value.as_bytes())?;
        let rest = value.get(length..)?.strip_prefix(END)?;
        let inner = tag + BEGIN.len() + length + END.len();
        rest.starts_with(CLOSE).then_some(Self {
            tag,
            inner,
            whole: inner + CLOSE.len(),
            has_value: length > 0,
        })
    }
}

fn empty(at: Range<usize>) -> Element {
    Element {
        tag: at.clone(),
        inner: at.end..at.end,
        at,
    }
}

fn closed(tag: Range<usize>, end: &Range<usize>) -> Element {
    Element {
        at: tag.start..end.end,
        inner: tag.end..end.start,
        tag,
    }
}

/// The cells of one row.
pub(super) fn cells_of(part: &str, text: &str, row: &Row) -> Result<Vec<Cell>, CannotEdit> {
    let mut cells = Vec::new();
    let before = row.number.checked_sub(1);
    let keep = |_: u32, cell| {
        cells.push(cell);
        Ok(())
    };
    walk(part, text, row.element.at.clone(), before, keep, |_| {})?;
    Ok(cells)
}

/// Whether our name is in a text.
pub(super) fn names_us(text: &str) -> bool {
    memchr::memmem::find(text.as_bytes(), b"ampledger").is_some()
}

/// Shared strings with our name in them, by their number.
#[derive(Debug, Default)]
pub(super) struct OurStrings(BTreeMap<usize, String>);

impl OurStrings {
    /// `text` is the part of shared strings.
    pub fn read(part: &str, text: &str) -> Result<Self, CannotEdit> {
        let mut found = BTreeMap::new();
        if !names_us(text) {
            return Ok(Self(found));
        }
        let document = super::xml::Document::new(part, text.to_owned())?;
        for (index, item) in document.children_of("si").enumerate() {
            if names_us(item.inner(text)) {
                let string = string_of(part, text, item.at.clone())?;
                found.insert(index, string);
            }
        }
        Ok(Self(found))
    }

    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// What a cell says, where our name is in it.
    pub fn of_cell(
        &self,
        part: &str,
        text: &str,
        cell: &Element,
    ) -> Result<Option<String>, CannotEdit> {
        let inner = cell.inner(text);
        if cell.attribute(text, "t").as_deref() == Some("s") {
            let mut digits: String = inner.split('>').nth(1).unwrap_or_default().to_owned();
            digits.truncate(digits.find('<').unwrap_or(digits.len()));
            let index: Option<usize> = digits.trim().parse().ok();
            return Ok(index.and_then(|index| self.0.get(&index)).cloned());
        }
        if !names_us(inner) {
            return Ok(None);
        }
        if cell.attribute(text, "t").as_deref() == Some("inlineStr") {
            return string_of(part, text, cell.inner.clone()).map(Some);
        }
        let value = inner.split("v>").nth(1).unwrap_or_default();
        let value = value.split('<').next().unwrap_or_default();
        Ok(Some(super::xml::unescape(value).into_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_named_and_found() {
        for (name, at) in [
            ("A1", (0, 0)),
            ("Z9", (8, 25)),
            ("AA10", (9, 26)),
            ("XFD1048576", (1_048_575, 16_383)),
        ] {
            assert_eq!(a1(at), name);
            assert_eq!(parse_a1(name), Some(at));
        }
        assert_eq!(parse_range("$B$2:D9"), Some(((1, 1), (8, 3))));
        for none in ["", "A", "1", "A0", "XFE1", "A1048577", "é1"] {
            assert_eq!(parse_a1(none), None, "{none}");
        }
    }

    /// Cells, by row and column and whether they have a value, and rows.
    type Walked = (Vec<(u32, u16, bool)>, Vec<u32>);

    fn walked(text: &str) -> Result<Walked, CannotEdit> {
        let (mut cells, mut rows) = (Vec::new(), Vec::new());
        let see = |row, cell: Cell| {
            let raw = cell.element.raw(text);
            assert!(raw.starts_with("<c") && raw.ends_with('>'), "{raw}");
            cells.push((row, cell.column, cell.has_value));
            Ok(())
        };
        let row = |row: Row| rows.push(row.number);
        walk("p", text, 0..text.len(), None, see, row)?;
        Ok((cells, rows))
    }

    #[test]
    fn rows_and_cells_without_places_follow_the_one_before() {
        let text = "<row><c><v>1</v></c><c/></row><row r=\"4\"><c r=\"C4\" s=\"1\"><v/></c>\
                    <c><f>A1</f></c><c r=\"E4\" t=\">\"><v>1</v></c><c t='s'/>\
                    <c r=\"G4\"><v></v></c><c r=\"H4\"><v>1</v></c ></row><row/>";
        let cells = vec![
            (0, 0, true),
            (0, 1, false),
            (3, 2, false),
            (3, 3, true),
            (3, 4, true),
            (3, 5, false),
            (3, 6, false),
            (3, 7, true),
        ];
        // With spaces between some of them, the reader of XML sees more.
        for (tag, spaced) in [
            ("", ""),
            ("<c ", "\n<c "),
            ("</c>", "</c> "),
            ("/>", "/>\n "),
        ] {
            let text = text.replace(tag, spaced);
            let found = walked(&text).expect("sound");
            assert_eq!(found, (cells.clone(), vec![0, 3, 4]), "{text}");
        }
        for text in [
            "<row r=\"4\"/><row r=\"3\"/>",
            "<row r=\"4\"><c>",
            "<row><c></row>",
            "<row><c r=\"B1\"/><c r=\"A1\"/></row>",
        ] {
            assert!(walked(text).is_err(), "{text}");
        }
    }
}
