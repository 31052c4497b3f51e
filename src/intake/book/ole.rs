//! Compound files: which of the older office formats one is, and whether an
//! XLS in it may be handed to a reader that builds whole sheets.
//!
//! calamine reserves and fills a dense range for each sheet of an XLS, by
//! what its records say. A false record aborts the process, which no
//! catching can mend, so the records are walked here first (MS-CFB, MS-XLS).

use super::refusal::{Bound, Foreign, Refusal, within};
use super::sheet::Budget;

/// A compound file, read just far enough to list and gather its streams.
struct Compound<'a> {
    bytes: &'a [u8],
    sector: usize,
    fat: Vec<u32>,
    entries: Vec<Entry>,
}

struct Entry {
    name: String,
    start: u32,
    size: u32,
    is_root: bool,
}

fn u16_at(bytes: &[u8], at: usize) -> Option<u16> {
    let two = bytes.get(at..at.checked_add(2)?)?;
    Some(u16::from_le_bytes([*two.first()?, *two.get(1)?]))
}

fn u32_at(bytes: &[u8], at: usize) -> Option<u32> {
    let (low, high) = (u16_at(bytes, at)?, u16_at(bytes, at.checked_add(2)?)?);
    Some(u32::from(high) << 16 | u32::from(low))
}

impl<'a> Compound<'a> {
    fn open(bytes: &'a [u8]) -> Option<Self> {
        let shift = u16_at(bytes, 30)?;
        if shift != 9 && shift != 12 {
            return None;
        }
        let mut file = Self {
            bytes,
            sector: 1 << shift,
            fat: Vec::new(),
            entries: Vec::new(),
        };
        let ids = file.sector / 4;
        let most = bytes.len() / file.sector + 1;
        // The first 109 sectors of the table stand in the header, the rest
        // in a chain of their own.
        let mut tables: Vec<u32> = (0..109).filter_map(|i| u32_at(bytes, 76 + i * 4)).collect();
        let mut next = u32_at(bytes, 68)?;
        while (next as usize) < most && tables.len() <= most + 109 {
            let sector = file.sector_at(next)?;
            tables.extend((0..ids - 1).filter_map(|i| u32_at(sector, i * 4)));
            next = u32_at(sector, (ids - 1) * 4)?;
        }
        for table in tables.into_iter().filter(|id| (*id as usize) < most) {
            if file.fat.len() > most + ids {
                break;
            }
            let sector = file.sector_at(table)?;
            let new: Vec<u32> = (0..ids).filter_map(|i| u32_at(sector, i * 4)).collect();
            file.fat.extend(new);
        }
        let directory = file.chain(u32_at(bytes, 48)?);
        file.entries = directory.chunks_exact(128).filter_map(entry).collect();
        Some(file)
    }

    fn sector_at(&self, id: u32) -> Option<&'a [u8]> {
        let start = (id as usize).checked_add(1)?.checked_mul(self.sector)?;
        let end = start.checked_add(self.sector)?.min(self.bytes.len());
        self.bytes.get(start..end)
    }

    /// The sectors from `start` on, end to end; a loop ends at the size of
    /// the file.
    fn chain(&self, start: u32) -> Vec<u8> {
        let mut all = Vec::new();
        let mut id = start;
        while let Some(sector) = self.sector_at(id) {
            if all.len() > self.bytes.len() {
                break;
            }
            all.extend_from_slice(sector);
            match self.fat.get(id as usize) {
                Some(next) => id = *next,
                None => break,
            }
        }
        all
    }

    /// The content of a stream; small ones live in the root's own stream.
    fn stream(&self, entry: &Entry) -> Option<Vec<u8>> {
        let cutoff = u32_at(self.bytes, 56)?;
        if entry.size >= cutoff {
            return Some(self.chain(entry.start));
        }
        let root = self.entries.iter().find(|e| e.is_root)?;
        let (container, table) = (self.chain(root.start), self.chain(u32_at(self.bytes, 60)?));
        let mut all = Vec::new();
        let mut id = entry.start;
        while let Some(piece) = container.get(id as usize * 64..(id as usize + 1) * 64) {
            if all.len() > container.len() {
                break;
            }
            all.extend_from_slice(piece);
            match u32_at(&table, id as usize * 4) {
                Some(next) if next < 0xFFFF_FFF0 => id = next,
                _ => break,
            }
        }
        Some(all)
    }
}

fn entry(bytes: &[u8]) -> Option<Entry> {
    let length = usize::from(u16_at(bytes, 64)?).min(64);
    let units: Vec<u16> = (0..(length / 2).saturating_sub(1))
        .filter_map(|i| u16_at(bytes, i * 2))
        .collect();
    let kind = *bytes.get(66)?;
    (kind != 0).then(|| Entry {
        name: String::from_utf16_lossy(&units),
        start: u32_at(bytes, 116).unwrap_or(u32::MAX),
        size: u32_at(bytes, 120).unwrap_or(0),
        is_root: kind == 5,
    })
}

/// Whether a UTF-16 word stands in the file: the last resort where the
/// directory cannot be read.
fn mentions(bytes: &[u8], word: &str) -> bool {
    let wide: Vec<u8> = word.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let head = bytes.get(..bytes.len().min(1 << 20)).unwrap_or(bytes);
    head.windows(wide.len()).any(|w| w == wide)
}

/// Lets an XLS through that may be read densely.
///
/// # Errors
/// Encrypted or rights-managed workbooks, other office files, and an XLS
/// that is too large or promises more cells than the limits allow.
pub(super) fn check_xls(bytes: &[u8], budget: &Budget) -> Result<(), Refusal> {
    let compound = Compound::open(bytes);
    let has = |word: &str| match &compound {
        Some(file) if !file.entries.is_empty() => {
            file.entries.iter().any(|e| e.name.contains(word))
        }
        _ => mentions(bytes, word),
    };
    for (word, refusal) in [
        ("DRMEncrypted", Refusal::RightsManaged),
        ("DRMContent", Refusal::RightsManaged),
        ("EncryptedPackage", Refusal::Encrypted),
        ("__substg1.0_", Refusal::Foreign(Foreign::Mail)),
        ("WordDocument", Refusal::Foreign(Foreign::Document)),
        ("PowerPoint Document", Refusal::Foreign(Foreign::Document)),
    ] {
        if has(word) {
            return Err(refusal);
        }
    }
    let Some(compound) = compound else {
        return Err(Refusal::Foreign(Foreign::Unknown));
    };
    let limits = budget.limits;
    within(
        Bound::FileBytes,
        bytes.len() as u64,
        limits.dense_file_bytes,
    )?;
    let mut found = false;
    for entry in &compound.entries {
        let name = entry.name.as_str();
        if !name.eq_ignore_ascii_case("Workbook") && !name.eq_ignore_ascii_case("Book") {
            continue;
        }
        found = true;
        let stream = compound.stream(entry).unwrap_or_default();
        check_stream(&stream, limits.dense_cells, limits.sheets)?;
    }
    if found {
        Ok(())
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
                    within(Bound::Cells, declared, most)?;
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
        within(Bound::Cells, dense, most)?;
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
    use super::*;

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
        let limits = super::super::Limits::default();
        let budget = Budget::new(&limits);
        let mut bytes = b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1".to_vec();
        for fill in [0u8, 1, 9, 0x7F, 0xFF] {
            bytes.resize(8, 0);
            bytes.resize(3_000, fill);
            for shift in [9, 12] {
                bytes[30..32].copy_from_slice(&[shift, 0]);
                assert!(check_xls(&bytes, &budget).is_err());
            }
        }
    }
}
