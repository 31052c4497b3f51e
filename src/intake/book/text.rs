//! Tables of text: encodings, delimiters, and what programs do to text.

use super::records::Records;
use super::refusal::{Bound, Foreign, Refusal, within};
use super::sheet::{Budget, Builder, Sheet};
use super::{Book, Format, sniff};
use chardetng::{EncodingDetector, Iso2022JpDetection, Utf8Detection};
use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};
use std::borrow::Cow;
use std::sync::Arc;

const DELIMITERS: [u8; 4] = *b",;\t|";
/// Records that are looked at to find the delimiter.
const SAMPLE: usize = 200;

/// Reads a file of text; `name` is the file's.
pub(super) fn read(name: &str, bytes: Vec<u8>, budget: &mut Budget) -> Result<Book, Refusal> {
    let Decoded {
        text,
        start,
        encoding,
        mut notes,
    } = decode(bytes)?;
    let text = text.get(start..).unwrap_or_default();
    let mended = mend_mojibake(text);
    if mended.is_some() {
        notes.push(
            "Signs that were UTF-8 read as Windows-1252 (\u{c3}\u{2dc} for \u{d8}) were put right."
                .to_owned(),
        );
    }
    let text = mended.as_deref().unwrap_or(text);
    if let Some(foreign) = sniff::markup(text) {
        return Err(Refusal::Foreign(foreign));
    }
    if text.trim().is_empty() {
        return Err(Refusal::Empty);
    }
    let declared = declared_delimiter(text);
    let tabs = name.to_ascii_lowercase().ends_with(".tsv");
    let usual = if tabs { b'\t' } else { b',' };
    let delimiter = declared.or_else(|| sniff_delimiter(text)).unwrap_or(usual);
    if declared.is_some() {
        notes.push(format!(
            "The first line names the delimiter {:?}; it is no row of the table.",
            char::from(delimiter)
        ));
    }
    let sheet = grid(text, delimiter, declared.is_some(), budget)?;
    Ok(Book {
        format: Format::Csv {
            delimiter: char::from(delimiter),
            encoding,
        },
        sheets: vec![sheet],
        recast: Vec::new(),
        epoch_1904: false,
        notes,
    })
}

struct Decoded {
    text: String,
    /// Bytes of the text's own byte order mark.
    start: usize,
    encoding: &'static str,
    notes: Vec<String>,
}

fn decode(bytes: Vec<u8>) -> Result<Decoded, Refusal> {
    let marked = Encoding::for_bom(&bytes).map(|(encoding, _)| encoding);
    let wide = marked
        .filter(|e| *e != UTF_8)
        .or_else(|| unmarked_utf16(&bytes));
    if let Some(wide) = wide {
        return Ok(decoded_as(wide, &bytes, Vec::new()));
    }
    if is_binary(&bytes) {
        return Err(Refusal::Foreign(Foreign::Unknown));
    }
    match String::from_utf8(bytes) {
        Ok(text) => Ok(Decoded {
            start: if text.starts_with('\u{FEFF}') { 3 } else { 0 },
            text,
            encoding: UTF_8.name(),
            notes: Vec::new(),
        }),
        Err(error) => {
            let bytes = error.into_bytes();
            if marked == Some(UTF_8) {
                let note = "The file says that it is UTF-8, but has bytes that are not; they \
                            were replaced.";
                return Ok(decoded_as(UTF_8, &bytes, vec![note.to_owned()]));
            }
            let mut detector = EncodingDetector::new(Iso2022JpDetection::Deny);
            detector.feed(&bytes, true);
            // The hint settles the signs of the trade (½ Ø ° ±) for Western text,
            // which the detector alone takes for Baltic.
            let encoding = detector.guess(Some(b"us"), Utf8Detection::Deny);
            let note = format!("The text is not UTF-8; it was read as {}.", encoding.name());
            Ok(decoded_as(encoding, &bytes, vec![note]))
        }
    }
}

fn decoded_as(encoding: &'static Encoding, bytes: &[u8], notes: Vec<String>) -> Decoded {
    let (text, _) = encoding.decode_with_bom_removal(bytes);
    Decoded {
        text: text.into_owned(),
        start: 0,
        encoding: encoding.name(),
        notes,
    }
}

/// The text with those lines put right that are UTF-8 taken for
/// Windows-1252; `None` where there is none. Lines whose signs are no UTF-8
/// when taken back stay as they are.
fn mend_mojibake(text: &str) -> Option<String> {
    // Lead bytes of UTF-8 as Windows-1252 shows them.
    const LEAD: [char; 3] = ['\u{c2}', '\u{c3}', '\u{e2}'];
    if !text.contains(LEAD) {
        return None;
    }
    let mut out = String::with_capacity(text.len());
    let mut any = false;
    for line in text.split_inclusive('\n') {
        let mended = line.contains(LEAD).then(|| {
            let (bytes, _, unmappable) = WINDOWS_1252.encode(line);
            let right = !unmappable;
            right
                .then(|| String::from_utf8(bytes.into_owned()).ok())
                .flatten()
        });
        match mended.flatten() {
            Some(line) => {
                any = true;
                out.push_str(&line);
            }
            None => out.push_str(line),
        }
    }
    any.then_some(out)
}

/// UTF-16 without a mark: Latin text has a NUL in every second byte.
fn unmarked_utf16(bytes: &[u8]) -> Option<&'static Encoding> {
    let head = bytes.get(..bytes.len().min(4_096) & !1)?;
    let nuls = |parity: usize| {
        let halves = head.iter().skip(parity).step_by(2);
        halves.filter(|b| **b == 0).count()
    };
    let (even, odd) = (nuls(0), nuls(1));
    let most = head.len() / 2;
    if most < 2 {
        None
    } else if odd * 10 > most * 7 && even * 10 < most {
        Some(UTF_16LE)
    } else if even * 10 > most * 7 && odd * 10 < most {
        Some(UTF_16BE)
    } else {
        None
    }
}

/// Control bytes that no table has.
fn is_binary(bytes: &[u8]) -> bool {
    let head = bytes.get(..bytes.len().min(65_536)).unwrap_or(bytes);
    let controls = head
        .iter()
        .filter(|b| matches!(b, 0..=8 | 14..=25 | 27..=31 | 127));
    let controls = controls.count();
    head.contains(&0) || controls * 50 > head.len()
}

/// `sep=;` on the first line, perhaps padded to the width of the table by a
/// program that does not know such lines.
fn declared_delimiter(text: &str) -> Option<u8> {
    let line = text
        .split(['\r', '\n'])
        .next()?
        .trim_matches('"')
        .as_bytes();
    let (name, rest) = line.split_at_checked(4)?;
    let delimiter = *rest.first().filter(|b| b.is_ascii())?;
    let padding = rest.iter().all(|b| *b == delimiter || *b == b',');
    (name.eq_ignore_ascii_case(b"sep=") && padding).then_some(delimiter)
}

/// The delimiter under which most records have one and the same number of
/// fields, more fields counting more: a title row may have any number.
/// `None` where no delimiter splits anything.
fn sniff_delimiter(text: &str) -> Option<u8> {
    let score = |delimiter: u8| {
        let mut counts: Vec<usize> = Vec::with_capacity(SAMPLE);
        let mut records = Records::new(text, delimiter);
        while counts.len() < SAMPLE {
            let mut fields = 0;
            let mut any = false;
            let more = records.next_record(|_, field| {
                fields += 1;
                any |= !field.is_empty();
                Ok(())
            });
            if !matches!(more, Ok(true)) {
                break;
            }
            if any {
                counts.push(fields);
            }
        }
        counts.sort_unstable();
        let modes = counts.chunk_by(|a, b| a == b).map(|same| {
            let fields = same.first().copied().unwrap_or(1).min(40);
            same.len() * (fields - 1)
        });
        modes.max().unwrap_or(0)
    };
    let scored = DELIMITERS.map(|delimiter| (score(delimiter), delimiter));
    let best = scored.iter().map(|(score, _)| *score).max()?;
    // The first of equals: the order of the list.
    let found = scored
        .iter()
        .find(|(score, _)| *score == best && best > 0)?;
    Some(found.1)
}

fn grid(
    text: &str,
    delimiter: u8,
    skip_first: bool,
    budget: &mut Budget,
) -> Result<Sheet, Refusal> {
    let mut builder = Builder::new(None, Arc::default(), Arc::default());
    let mut records = Records::new(text, delimiter);
    let mut row = 0u32;
    if skip_first {
        records.next_record(|_, _| Ok(()))?;
        row = 1;
    }
    while records.next_record(|column, field| {
        // Most fields begin with a letter or a digit and need no closer look.
        let plain = field
            .bytes()
            .next()
            .is_some_and(|b| b.is_ascii_alphanumeric());
        let field = if plain {
            field
        } else {
            unwrap_text_trick(field)
        };
        if !plain && field.trim().is_empty() {
            return Ok(());
        }
        let limit = budget.limits.columns;
        let Ok(column) = u16::try_from(column) else {
            return within(Bound::Columns, column as u64 + 1, limit.min(65_535));
        };
        builder.text(budget, row, column, &field)
    })? {
        row = row.saturating_add(1);
    }
    Ok(builder.finish())
}

/// `="10/2"`, written so that a spreadsheet program leaves it a text.
fn unwrap_text_trick(field: Cow<'_, str>) -> Cow<'_, str> {
    let inner = field
        .trim()
        .strip_prefix("=\"")
        .and_then(|rest| rest.strip_suffix('"'));
    match inner {
        Some(inner) => Cow::Owned(inner.replace("\"\"", "\"")),
        None => field,
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Book, Format, Limits, Refusal, Value};
    use super::*;
    use crate::schedule::{ColIndex, RowIndex};

    fn open(bytes: &[u8]) -> Result<Book, Refusal> {
        Book::from_bytes("table.csv", bytes.to_vec(), &Limits::default())
    }

    /// Each cell as `A1 text`, in order.
    fn cells(bytes: &[u8]) -> Vec<String> {
        let book = open(bytes).expect("a table");
        let sheet = &book.sheets[0];
        let mut cells = Vec::new();
        for row in sheet.rows() {
            for cell in row.cells() {
                let at = crate::schedule::a1(row.index(), cell.column());
                cells.push(format!("{at} {}", cell.text()));
            }
        }
        cells
    }

    fn delimiter(text: &str) -> char {
        match open(text.as_bytes()).expect("a table").format {
            Format::Csv { delimiter, .. } => delimiter,
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn a_row_keeps_the_number_that_a_spreadsheet_shows() {
        for text in [
            "Tag,MCA\n\n\nFC-1,0.4\n",
            "Tag,MCA\r\n\r\n\r\nFC-1,0.4\r\n",
            "Tag,MCA\r\r\rFC-1,0.4",
            "sep=,\nTag,MCA\n,\nFC-1,0.4",
        ] {
            let found = cells(text.as_bytes());
            let (tag, unit) = if text.starts_with("sep") {
                ("A2 Tag", "A4 FC-1")
            } else {
                ("A1 Tag", "A4 FC-1")
            };
            assert_eq!(found[0], tag, "{text:?}");
            assert_eq!(found[2], unit, "{text:?}");
        }
        let quoted = cells(b"\"Min\nCkt Amps\",MOP\n1,15\n");
        assert_eq!(quoted, ["A1 Min\nCkt Amps", "B1 MOP", "A2 1", "B2 15"]);
    }

    #[test]
    fn encodings_give_the_same_text() {
        let text = "Tag;Fuse \u{d8};Length\nFC-1;\u{bd};\u{b1}12 m\u{b2}\n";
        let utf16 = |big: bool, mark: bool| -> Vec<u8> {
            let units = mark
                .then_some(0xFEFF)
                .into_iter()
                .chain(text.encode_utf16());
            units
                .flat_map(|u| {
                    if big {
                        u.to_be_bytes()
                    } else {
                        u.to_le_bytes()
                    }
                })
                .collect()
        };
        let marked: Vec<u8> = b"\xEF\xBB\xBF"
            .iter()
            .copied()
            .chain(text.bytes())
            .collect();
        let (windows, _, _) = encoding_rs::WINDOWS_1252.encode(text);
        for (bytes, encoding) in [
            (text.as_bytes().to_vec(), "UTF-8"),
            (marked, "UTF-8"),
            (utf16(false, true), "UTF-16LE"),
            (utf16(true, true), "UTF-16BE"),
            (utf16(false, false), "UTF-16LE"),
            (utf16(true, false), "UTF-16BE"),
            (windows.into_owned(), "windows-1252"),
        ] {
            let format = open(&bytes).expect("a table").format;
            assert_eq!(
                format,
                Format::Csv {
                    delimiter: ';',
                    encoding
                }
            );
            let expected = [
                "A1 Tag",
                "B1 Fuse \u{d8}",
                "C1 Length",
                "A2 FC-1",
                "B2 \u{bd}",
                "C2 \u{b1}12 m\u{b2}",
            ];
            assert_eq!(cells(&bytes), expected, "{encoding}");
        }
    }

    #[test]
    fn the_delimiter_is_found() {
        let wide_title = format!("{}\n{}", ",".repeat(59), "a,b,c,d,e,f,g,h,i,j\n".repeat(12));
        for (text, expected) in [
            ("Tag,MCA,MOP\nFC-1,0.4,15\n", ','),
            ("Tag;MCA;MOP\nFC-1;0,4;15\nFC-2;0,5;15\n", ';'),
            ("Tag\tRoom, floor\tMOP\nFC-1\tBed, 2\t15\n", '\t'),
            ("Tag|MCA|MOP\nFC-1|0.4|15\n", '|'),
            ("sep=;\nTag;a,b,c,d\n", ';'),
            ("SEP=|\nTag|a,b,c,d\n", '|'),
            (
                "Oak Street, bid 4, rev; 2\nTag;MCA;MOP;Room\n1;2;3;4\n5;6;7;8\n",
                ';',
            ),
            (&wide_title, ','),
            ("Tag\nFC-1\n", ','),
        ] {
            assert_eq!(delimiter(text), expected, "{text:?}");
        }
    }

    #[test]
    fn damage_of_spreadsheets_and_ragged_rows_survive() {
        assert_eq!(
            cells(b"a,=\"10/2\",\"=\"\"05\"\"\",c\nb\n,,,,,,z,,\n"),
            ["A1 a", "B1 10/2", "C1 05", "D1 c", "A2 b", "G3 z"]
        );
    }

    #[test]
    fn values_of_a_text_file_are_text() {
        let book = open(b"30,FC-1").expect("a table");
        let cell = book.sheets[0].cell(RowIndex(0), ColIndex(0)).expect("A1");
        assert_eq!(cell.value(), Value::Text("30"));
        assert_eq!(book.sheets[0].name, None);
    }

    #[test]
    fn what_is_no_table_is_refused_with_a_sentence() {
        for (bytes, refusal) in [
            (&b""[..], Refusal::Empty),
            (b" \r\n\t \n", Refusal::Empty),
            (b"\xEF\xBB\xBF", Refusal::Empty),
            (b"%PDF-1.7 x", Refusal::Foreign(Foreign::Pdf)),
            (b"<html><table></table>", Refusal::Foreign(Foreign::WebPage)),
            (b"a\0\x01\x02bcd\x05", Refusal::Foreign(Foreign::Unknown)),
        ] {
            assert_eq!(open(bytes).expect_err("no table"), refusal);
            assert!(refusal.to_string().ends_with('.'));
        }
    }

    #[test]
    fn limits_hold_for_text() {
        let text = "a,b,c\n".repeat(20);
        let refuse = |limits: &Limits| {
            Book::from_bytes("t.csv", text.clone().into_bytes(), limits).map(|b| b.sheets.len())
        };
        let base = Limits::default();
        assert_eq!(refuse(&base), Ok(1));
        for (limits, bound) in [
            (
                Limits {
                    rows: 19,
                    ..base.clone()
                },
                Bound::Rows,
            ),
            (
                Limits {
                    columns: 2,
                    ..base.clone()
                },
                Bound::Columns,
            ),
            (
                Limits {
                    cells: 59,
                    ..base.clone()
                },
                Bound::Cells,
            ),
            (
                Limits {
                    text_bytes: 59,
                    ..base.clone()
                },
                Bound::TextBytes,
            ),
            (
                Limits {
                    file_bytes: 119,
                    ..base.clone()
                },
                Bound::FileBytes,
            ),
        ] {
            match refuse(&limits) {
                Err(Refusal::OverLimit { bound: found, .. }) => assert_eq!(found, bound),
                other => panic!("{bound:?}: {other:?}"),
            }
        }
    }
}
