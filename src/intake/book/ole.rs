//! Compound files: which of the older office formats one is, and whether an
//! XLS in it may be handed to a reader that builds whole sheets.
//!
//! calamine reserves and fills a dense range for each sheet of an XLS, by
//! what its records say. A false record aborts the process, which no
//! catching can mend, so the records are walked here first (MS-CFB, MS-XLS).

use super::compound::{Compound, u16_at, u32_at};
use super::refusal::{Bound, Foreign, Refusal, within};
use super::sheet::Budget;

/// Whether a UTF-16 word stands in the file: the last resort where the
/// directory cannot be read.
fn mentions(bytes: &[u8], word: &str) -> bool {
    let wide: Vec<u8> = word.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let head = bytes.get(..bytes.len().min(1 << 20)).unwrap_or(bytes);
    head.windows(wide.len()).any(|w| w == wide)
}

/// Lets an XLS through that may be read densely, and hides the workbooks that
/// are embedded in it: calamine takes the first stream of that name, wherever
/// it lies.
///
/// # Errors
/// Encrypted or rights-managed workbooks, other office files, and an XLS
/// that is too large or promises more cells than the limits allow.
pub(super) fn check_xls(bytes: &mut [u8], budget: &Budget) -> Result<(), Refusal> {
    for at in checked(bytes, budget)? {
        // The first letter of the name.
        if let Some(letter) = bytes.get_mut(at) {
            *letter = b'~';
        }
    }
    Ok(())
}

fn is_workbook(name: &str) -> bool {
    name.eq_ignore_ascii_case("Workbook") || name.eq_ignore_ascii_case("Book")
}

/// Where the entries stand that are to be hidden.
fn checked(bytes: &[u8], budget: &Budget) -> Result<Vec<usize>, Refusal> {
    let compound = Compound::open(bytes);
    let top = compound
        .as_ref()
        .map(Compound::at_the_top)
        .unwrap_or_default();
    let has = |word: &str| match &compound {
        Some(file) if file.entries.iter().any(|e| !e.name.is_empty()) => {
            file.entries.iter().any(|e| e.name.contains(word))
        }
        _ => mentions(bytes, word),
    };
    // A workbook may have a letter, a mail or another workbook embedded.
    let is_one = compound.as_ref().is_some_and(|file| {
        let mut entries = file.entries.iter().zip(&top);
        entries.any(|(entry, top)| *top && is_workbook(&entry.name))
    });
    for (word, refusal, embedded) in [
        ("DRMEncrypted", Refusal::RightsManaged, false),
        ("DRMContent", Refusal::RightsManaged, false),
        ("EncryptedPackage", Refusal::Encrypted, true),
        ("__substg1.0_", Refusal::Foreign(Foreign::Mail), true),
        ("WordDocument", Refusal::Foreign(Foreign::Document), true),
        (
            "PowerPoint Document",
            Refusal::Foreign(Foreign::Document),
            true,
        ),
    ] {
        if has(word) && !(embedded && is_one) {
            return Err(refusal);
        }
    }
    let Some(compound) = compound else {
        return Err(Refusal::Corrupt("its directory cannot be read".to_owned()));
    };
    // The reader follows these chains as well, needed or not.
    let hung = [u32_at(bytes, 60), compound.entries.first().map(|e| e.start)];
    if hung
        .into_iter()
        .flatten()
        .any(|start| compound.chain(start).is_none())
    {
        return Err(Refusal::Corrupt("a stream has no end".to_owned()));
    }
    let limits = budget.limits;
    within(
        Bound::DenseFileBytes,
        bytes.len() as u64,
        limits.dense_file_bytes,
    )?;
    let mut found = false;
    let mut hidden = Vec::new();
    for (entry, top) in compound.entries.iter().zip(&top) {
        if !is_workbook(&entry.name) {
            continue;
        }
        if is_one && !top {
            hidden.push(entry.at);
            continue;
        }
        found = true;
        let stream = compound.stream(entry);
        let stream = stream.ok_or_else(|| Refusal::Corrupt("a stream has no end".to_owned()))?;
        check_stream(&stream, limits.dense_cells, limits.sheets)?;
    }
    if found {
        Ok(hidden)
    } else {
        Err(Refusal::Foreign(Foreign::Unknown))
    }
}

/// Rows and columns that a dense range would span.
#[derive(Default)]
struct Span(Option<(u64, u64, u64, u64)>);

impl Span {
    fn add(&mut self, row: u16, first: u16, last: u16) {
        let (row, first, last) = (u64::from(row), u64::from(first), u64::from(last));
        self.0 = Some(match self.0 {
            Some((top, bottom, left, right)) => (
                top.min(row),
                bottom.max(row),
                left.min(first),
                right.max(last),
            ),
            None => (row, row, first, last),
        });
    }

    fn cells(&self) -> u64 {
        self.0.map_or(0, |(top, bottom, left, right)| {
            (bottom - top + 1) * (right.saturating_sub(left) + 1)
        })
    }
}

fn records(stream: &[u8], from: usize) -> impl Iterator<Item = (u16, &[u8])> {
    let mut at = from;
    std::iter::from_fn(move || {
        let kind = u16_at(stream, at)?;
        let length = usize::from(u16_at(stream, at + 2)?);
        let data = stream.get(at + 4..at + 4 + length)?;
        at += 4 + length;
        Some((kind, data))
    })
}

const BOUND_SHEET: u16 = 0x0085;
const FILE_PASS: u16 = 0x002F;
const BEGIN: u16 = 0x0809;
const END: u16 = 0x000A;
const DIMENSIONS: u16 = 0x0200;
const MULTIPLE_NUMBERS: u16 = 0x00BD;
const CELLS: [u16; 7] = [0x0203, 0x0204, 0x00D6, 0x0205, 0x027E, 0x00FD, 0x0006];

fn check_stream(stream: &[u8], most: u64, most_sheets: u64) -> Result<(), Refusal> {
    let mut sheets: Vec<usize> = Vec::new();
    for (kind, data) in records(stream, 0) {
        match kind {
            FILE_PASS => return Err(Refusal::Encrypted),
            BOUND_SHEET => {
                sheets.extend(u32_at(data, 0).map(|at| at as usize));
                within(Bound::Sheets, sheets.len() as u64, most_sheets)?;
            }
            END => break,
            _ => {}
        }
    }
    // Sheets that start in each other would be walked again and again.
    let mut walked = 0usize;
    let mut dense = 0;
    for start in sheets {
        let mut span = Span::default();
        let mut depth = 0u32;
        for (kind, data) in records(stream, start) {
            walked += data.len() + 4;
            if walked > stream.len().saturating_mul(4) {
                return Err(Refusal::Corrupt("sheets lie within each other".to_owned()));
            }
            match kind {
                BEGIN => depth += 1,
                END if depth <= 1 => break,
                END => depth -= 1,
                DIMENSIONS => {
                    let declared = declared_cells(data).ok_or_else(turned)?;
                    within(Bound::DenseCells, declared, most)?;
                }
                MULTIPLE_NUMBERS => {
                    if let (Some(row), Some(first), Some(last)) = (
                        u16_at(data, 0),
                        u16_at(data, 2),
                        u16_at(data, data.len().saturating_sub(2)),
                    ) {
                        span.add(row, first, last.max(first));
                    }
                }
                _ if CELLS.contains(&kind) => {
                    if let (Some(row), Some(column)) = (u16_at(data, 0), u16_at(data, 2)) {
                        span.add(row, column, column);
                    }
                }
                _ => {}
            }
        }
        dense += span.cells();
        within(Bound::DenseCells, dense, most)?;
    }
    Ok(())
}

fn turned() -> Refusal {
    Refusal::Corrupt("a sheet ends before it begins".to_owned())
}

/// Cells that a DIMENSIONS record makes the reader reserve, in its 10-byte
/// and its 14-byte form. `None` for turned bounds, with which the reader
/// would subtract below zero.
fn declared_cells(data: &[u8]) -> Option<u64> {
    let narrow = |at| u16_at(data, at).map_or(0, u64::from);
    let wide = |at| u32_at(data, at).map_or(0, u64::from);
    let (top, bottom, left, right) = if data.len() == 10 {
        (narrow(0), narrow(2), narrow(4), narrow(6))
    } else {
        (wide(0), wide(4), narrow(8), narrow(10))
    };
    if bottom == 0 || right == 0 {
        return Some(1);
    }
    let left = if left > 0xFF || right < left { 0 } else { left };
    if bottom <= top || right <= left {
        return None;
    }
    Some((bottom - top).saturating_mul(right - left))
}

#[cfg(test)]
mod tests {
    use super::super::compound::SMALL;
    use super::super::{Book, Format, Limits, Value};
    use super::*;
    use crate::schedule::{ColIndex, RowIndex};

    fn record(kind: u16, data: &[u8]) -> Vec<u8> {
        let mut all = kind.to_le_bytes().to_vec();
        all.extend((data.len() as u16).to_le_bytes());
        all.extend(data);
        all
    }

    /// A stream of one sheet with these records.
    fn stream(sheet: &[Vec<u8>]) -> Vec<u8> {
        let begin = record(BEGIN, &[0; 16]);
        let end = record(END, &[]);
        let at = begin.len() + 4 + 8 + end.len();
        let mut bound = (at as u32).to_le_bytes().to_vec();
        bound.extend([0; 4]);
        let mut all = begin.clone();
        all.extend(record(BOUND_SHEET, &bound));
        all.extend(&end);
        all.extend(begin);
        all.extend(sheet.concat());
        all.extend(end);
        all
    }

    fn dimensions(bottom: u32, right: u16) -> Vec<u8> {
        let mut data = 0u32.to_le_bytes().to_vec();
        data.extend(bottom.to_le_bytes());
        data.extend(0u16.to_le_bytes());
        data.extend(right.to_le_bytes());
        data.extend([0; 2]);
        record(DIMENSIONS, &data)
    }

    fn cell(row: u16, column: u16) -> Vec<u8> {
        let mut data = row.to_le_bytes().to_vec();
        data.extend(column.to_le_bytes());
        data.extend([0; 10]);
        record(0x0203, &data)
    }

    /// A compound file around a stream `Workbook`, padded to be no small one.
    /// Sector 0 is the allocation table, 1 the directory, then the stream.
    fn compound(stream: Vec<u8>) -> Vec<u8> {
        compound_with(stream, &[])
    }

    /// With two more entries at most: a storage that hangs beside the
    /// workbook, and what lies in it.
    fn compound_with(mut stream: Vec<u8>, more: &[(&str, u8)]) -> Vec<u8> {
        stream.resize(stream.len().max(SMALL as usize).next_multiple_of(512), 0);
        let sectors = stream.len() / 512;
        let mut bytes = b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1".to_vec();
        bytes.resize(512, 0xFF);
        for (at, value) in [(24, 0x3E), (26, 3), (28, 0xFFFE), (30, 9), (32, 6)] {
            bytes[at..at + 2].copy_from_slice(&u16::to_le_bytes(value));
        }
        let none = 0xFFFF_FFFE;
        for (at, value) in [(44, 1), (48, 1), (56, SMALL), (60, none), (64, 0)] {
            bytes[at..at + 4].copy_from_slice(&u32::to_le_bytes(value));
        }
        for (at, value) in [(68, none), (72, 0), (76, 0)] {
            bytes[at..at + 4].copy_from_slice(&u32::to_le_bytes(value));
        }
        let mut fat = vec![0xFFFF_FFFDu32, none];
        fat.extend((3..2 + sectors as u32).chain([none]));
        fat.resize(128, u32::MAX);
        bytes.extend(fat.into_iter().flat_map(u32::to_le_bytes));
        let mut directory = Vec::new();
        let mut entries = vec![
            ("Root Entry", 5, none, 0),
            ("Workbook", 2, 2, stream.len() as u32),
        ];
        entries.extend(more.iter().map(|(name, kind)| (*name, *kind, none, 0)));
        for (index, (name, kind, start, size)) in entries.into_iter().enumerate() {
            let mut entry: Vec<u8> = name.encode_utf16().flat_map(u16::to_le_bytes).collect();
            let length = entry.len() as u8 + 2;
            entry.resize(128, 0);
            (entry[64], entry[66]) = (length, kind);
            let right = if index == 1 && !more.is_empty() {
                2
            } else {
                u32::MAX
            };
            let child = match index {
                0 => 1,
                2 if more.len() > 1 => 3,
                _ => u32::MAX,
            };
            for (at, id) in [(68, u32::MAX), (72, right), (76, child)] {
                entry[at..at + 4].copy_from_slice(&u32::to_le_bytes(id));
            }
            entry[116..120].copy_from_slice(&u32::to_le_bytes(start));
            entry[120..124].copy_from_slice(&u32::to_le_bytes(size));
            directory.extend(entry);
        }
        directory.resize(512, 0);
        bytes.extend(directory);
        bytes.extend(stream);
        bytes
    }

    fn opened(bytes: Vec<u8>) -> Result<Book, Refusal> {
        Book::from_bytes("job.xls", bytes, &Limits::default())
    }

    #[test]
    fn an_old_workbook_is_read() {
        let begin = |kind: u8| record(BEGIN, &[0, 6, kind, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0]);
        let number = [3, 0, 1, 0, 0, 0].into_iter().chain(30.5f64.to_le_bytes());
        let error = [3, 0, 2, 0, 0, 0, 0x07, 1];
        let bound = |at: u32| {
            let name = [
                at.to_le_bytes().to_vec(),
                vec![0, 0, 5, 0],
                b"Units".to_vec(),
            ];
            record(BOUND_SHEET, &name.concat())
        };
        let end = record(END, &[]);
        let globals = [begin(5), bound(0), end.clone()].concat().len();
        let stream = [
            begin(5),
            bound(globals as u32),
            end.clone(),
            begin(0x10),
            dimensions(4, 3),
            record(0x0203, &number.collect::<Vec<u8>>()),
            record(0x0205, &error),
            record(0x00E5, &[1, 0, 0, 0, 1, 0, 0, 0, 2, 0]),
            end,
        ];
        let book = opened(compound(stream.concat())).expect("a workbook");
        assert_eq!(book.format, Format::Xls);
        let sheet = &book.sheets[0];
        assert_eq!(sheet.name.as_deref(), Some("Units"));
        let cell = |column| sheet.cell(RowIndex(3), ColIndex(column)).map(|c| c.value());
        assert_eq!(cell(1), Some(Value::Number(30.5)));
        assert_eq!(cell(2), Some(Value::Error("#DIV/0!")));
        assert!(sheet.covering_merge(RowIndex(1), ColIndex(2)).is_some());
    }

    #[test]
    fn a_letter_in_a_workbook_does_not_make_it_one() {
        let limits = Limits::default();
        let budget = Budget::new(&limits);
        let sheet = || stream(&[dimensions(1, 1), cell(0, 0)]);
        let storage = ("MBD0001", 1);
        for inside in ["WordDocument", "__substg1.0_0037001F", "Workbook"] {
            let mut bytes = compound_with(sheet(), &[storage, (inside, 2)]);
            let before = bytes.clone();
            assert_eq!(check_xls(&mut bytes, &budget), Ok(()), "{inside}");
            assert_eq!(bytes != before, inside == "Workbook", "{inside}");
        }
        let mut letter = compound_with(sheet(), &[("WordDocument", 2)]);
        letter[1024 + 128] = b'X';
        assert!(check_xls(&mut letter, &budget).is_err());
    }

    #[test]
    fn a_chain_that_bites_its_tail_is_refused() {
        for (entry, says) in [(1, "directory"), (2, "no end")] {
            let mut bytes = compound(stream(&[cell(0, 0)]));
            let at = 512 + entry * 4;
            bytes[at..at + 4].copy_from_slice(&u32::to_le_bytes(entry as u32));
            let refusal = opened(bytes).expect_err("a loop").to_string();
            assert!(refusal.contains(says), "{refusal}");
        }
    }

    #[test]
    fn a_false_dimension_in_a_file_is_refused_before_the_reader_sees_it() {
        let bytes = compound(stream(&[dimensions(u32::MAX, 256), cell(0, 0)]));
        assert!(matches!(opened(bytes), Err(Refusal::OverLimit { .. })));
    }

    #[test]
    fn records_that_promise_too_much_are_refused() {
        let check = |sheet: &[Vec<u8>]| check_stream(&stream(sheet), 1_000, 10);
        assert_eq!(
            check(&[dimensions(100, 10), cell(0, 0), cell(9, 9)]),
            Ok(())
        );
        for sheet in [
            [dimensions(u32::MAX, 256), cell(0, 0)],
            [dimensions(101, 10), cell(0, 0)],
            [cell(0, 0), cell(65_535, 65_535)],
            [cell(0, 0), cell(10, 99)],
        ] {
            assert!(
                matches!(check(&sheet), Err(Refusal::OverLimit { .. })),
                "{sheet:?}"
            );
        }
        let mut turned = 9u32.to_le_bytes().to_vec();
        turned.extend(3u32.to_le_bytes());
        turned.extend([0, 0, 4, 0, 0, 0]);
        assert!(check(&[record(DIMENSIONS, &turned)]).is_err());
    }

    #[test]
    fn a_password_is_told() {
        let mut all = record(BEGIN, &[0; 16]);
        all.extend(record(FILE_PASS, &[0; 6]));
        assert_eq!(check_stream(&all, 10, 10), Err(Refusal::Encrypted));
    }

    #[test]
    fn no_bytes_make_it_panic() {
        let limits = Limits::default();
        let budget = Budget::new(&limits);
        let mut bytes = b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1".to_vec();
        for fill in [0u8, 1, 9, 0x7F, 0xFF] {
            bytes.resize(8, 0);
            bytes.resize(3_000, fill);
            for shift in [9, 12] {
                bytes[30..32].copy_from_slice(&[shift, 0]);
                assert!(check_xls(&mut bytes, &budget).is_err());
            }
        }
    }
}
