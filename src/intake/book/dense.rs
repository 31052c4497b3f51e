//! The formats that calamine alone reads for us: XLSB by its streaming
//! reader, XLS densely behind the guard of [`super::ole`].

use super::cell::{Kind, Slot, error_index};
use super::merges::Merge;
use super::refusal::{Bound, Foreign, Refusal, within};
use super::sheet::{Budget, Builder, Sheet, Visibility};
use super::{Book, Format};
use crate::schedule::{ColIndex, RowIndex};
use calamine::{
    CellErrorType, Data, DataRef, Reader, SheetType, SheetVisible, Xls, XlsError, Xlsb, XlsbError,
};
use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

/// A panic inside the library is this file's fault alone.
fn guarded<T>(read: impl FnOnce() -> Result<T, Refusal>) -> Result<T, Refusal> {
    catch_unwind(AssertUnwindSafe(read)).unwrap_or_else(|_| {
        let detail = "its records contradict each other".to_owned();
        Err(Refusal::ReaderFailed(detail))
    })
}

fn visibility(visible: &SheetVisible) -> Visibility {
    match visible {
        SheetVisible::Visible => Visibility::Visible,
        SheetVisible::Hidden => Visibility::Hidden,
        SheetVisible::VeryHidden => Visibility::VeryHidden,
    }
}

fn error_slot(column: u16, error: &CellErrorType) -> Slot {
    Slot::new(column, Kind::Error, error_index(&error.to_string()))
}

/// Adds what the library gives for a cell.
fn push(
    builder: &mut Builder,
    budget: &mut Budget,
    (row, column): (u32, u32),
    data: &DataRef<'_>,
) -> Result<(), Refusal> {
    let Ok(column) = u16::try_from(column) else {
        let found = u64::from(column) + 1;
        return within(Bound::Columns, found, budget.limits.columns.min(65_535));
    };
    let slot = match data {
        DataRef::Empty => return Ok(()),
        DataRef::Int(number) => Slot::number(column, *number as f64),
        DataRef::Float(number) => Slot::number(column, *number),
        DataRef::Bool(truth) => Slot::new(column, Kind::Bool, u64::from(*truth)),
        DataRef::DateTime(date) => Slot::new(column, Kind::DateTime, date.as_f64().to_bits()),
        DataRef::Error(error) => error_slot(column, error),
        DataRef::String(text) | DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => {
            return text_cell(builder, budget, row, column, text);
        }
        DataRef::SharedString(text) => return text_cell(builder, budget, row, column, text),
    };
    builder.push(budget, row, slot)
}

fn text_cell(
    builder: &mut Builder,
    budget: &mut Budget,
    row: u32,
    column: u16,
    text: &str,
) -> Result<(), Refusal> {
    if text.trim().is_empty() {
        return Ok(());
    }
    builder.text(budget, row, column, text)
}

fn book(
    format: Format,
    sheets: Vec<Sheet>,
    epoch_1904: bool,
    notes: Vec<String>,
) -> Result<Book, Refusal> {
    if sheets.is_empty() {
        return Err(Refusal::Foreign(Foreign::NoSheets));
    }
    Ok(Book {
        format,
        sheets,
        recast: Vec::new(),
        epoch_1904,
        notes,
    })
}

fn not_a_table(name: &str) -> String {
    format!("{name:?} is no worksheet and was not read.")
}

pub(super) fn read_xlsb(bytes: Vec<u8>, budget: &mut Budget) -> Result<Book, Refusal> {
    let failed = |error: XlsbError| match error {
        XlsbError::Password => Refusal::Encrypted,
        error => Refusal::Corrupt(error.to_string()),
    };
    guarded(|| {
        let mut workbook: Xlsb<_> = Xlsb::new(Cursor::new(bytes)).map_err(failed)?;
        let epoch_1904 = workbook.has_1904_epoch();
        let list = workbook.sheets_metadata().to_vec();
        within(Bound::Sheets, list.len() as u64, budget.limits.sheets)?;
        let (mut sheets, mut notes) = (Vec::new(), Vec::new());
        for entry in list {
            if entry.typ != SheetType::WorkSheet {
                notes.push(not_a_table(&entry.name));
                continue;
            }
            let mut builder =
                Builder::new(Some(entry.name.clone()), Arc::default(), Arc::default());
            let mut cells = workbook
                .worksheet_cells_reader(&entry.name)
                .map_err(failed)?;
            loop {
                match cells.next_cell() {
                    Ok(Some(cell)) => {
                        push(&mut builder, budget, cell.get_position(), cell.get_value())?
                    }
                    Ok(None) => break,
                    Err(error) => {
                        builder.sheet().damage = Some(format!(
                            "The sheet is damaged ({error}); what follows was not read."
                        ));
                        break;
                    }
                }
            }
            drop(cells);
            let mut sheet = builder.finish();
            sheet.visibility = visibility(&entry.visible);
            sheet.epoch_1904 = epoch_1904;
            sheets.push(sheet);
        }
        book(Format::Xlsb, sheets, epoch_1904, notes)
    })
}

/// Reads an XLS that has passed [`super::ole::check_xls`].
pub(super) fn read_xls(bytes: Vec<u8>, budget: &mut Budget) -> Result<Book, Refusal> {
    let failed = |error: XlsError| match error {
        XlsError::Password => Refusal::Encrypted,
        error => Refusal::Corrupt(error.to_string()),
    };
    guarded(|| {
        let mut workbook: Xls<_> = Xls::new(Cursor::new(bytes)).map_err(failed)?;
        let epoch_1904 = workbook.has_1904_epoch();
        let list = workbook.sheets_metadata().to_vec();
        let (mut sheets, mut notes) = (Vec::new(), Vec::new());
        for entry in list {
            if entry.typ != SheetType::WorkSheet {
                notes.push(not_a_table(&entry.name));
                continue;
            }
            let mut builder =
                Builder::new(Some(entry.name.clone()), Arc::default(), Arc::default());
            let range = workbook.worksheet_range(&entry.name).map_err(failed)?;
            let start = range.start().unwrap_or((0, 0));
            for (row, column, data) in range.used_cells() {
                let place = (start.0 + row as u32, start.1 + column as u32);
                push(&mut builder, budget, place, &borrowed(data))?;
            }
            let merges = workbook.merge_cells_by_sheet_name(&entry.name);
            for merged in merges.unwrap_or_default() {
                let corner = |(row, column): (u32, u32)| {
                    (RowIndex(row), ColIndex(column.min(65_535) as u16))
                };
                let merge = Merge {
                    first: corner(merged.start),
                    last: corner(merged.end),
                };
                builder.merge(budget, merge)?;
            }
            let mut sheet = builder.finish();
            sheet.visibility = visibility(&entry.visible);
            sheet.epoch_1904 = epoch_1904;
            sheets.push(sheet);
        }
        book(Format::Xls, sheets, epoch_1904, notes)
    })
}

fn borrowed(data: &Data) -> DataRef<'_> {
    match data {
        Data::Empty => DataRef::Empty,
        Data::Int(number) => DataRef::Int(*number),
        Data::Float(number) => DataRef::Float(*number),
        Data::Bool(truth) => DataRef::Bool(*truth),
        Data::DateTime(date) => DataRef::DateTime(*date),
        Data::Error(error) => DataRef::Error(error.clone()),
        Data::String(text) | Data::DateTimeIso(text) | Data::DurationIso(text) => {
            DataRef::SharedString(text)
        }
    }
}
