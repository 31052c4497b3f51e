//! Tables beside each other whose headings stand in different rows: where
//! wholly empty columns cut a sheet into bands, each band without a table is
//! looked at alone.

use super::table;
use crate::intake::book::Sheet;
use crate::intake::found::FoundTable;
use crate::intake::schema::Schemas;
use crate::schedule::{ColIndex, TableKind};

/// More bands than this are no tables beside each other.
const MOST_BANDS: usize = 12;

pub(super) fn of_sheet(
    index: usize,
    sheet: &Sheet,
    schemas: &Schemas,
) -> Result<Vec<FoundTable>, String> {
    let whole = table::of_sheet(index, sheet, schemas);
    let bands = bands(sheet);
    if !(2..=MOST_BANDS).contains(&bands.len()) {
        return whole;
    }
    let mut tables = match &whole {
        Ok(tables) => tables.clone(),
        Err(_) => Vec::new(),
    };
    let known = tables.len();
    for (first, last) in bands {
        let taken = tables.iter().take(known).any(|table| {
            let mut columns = table.columns.iter();
            columns.any(|c| (first..=last).contains(&c.column))
        });
        if taken {
            continue;
        }
        if let Ok(more) = table::of_sheet(index, &sheet.band(first, last), schemas) {
            let rows = |table: &FoundTable| table.kind != TableKind::JobFacts;
            tables.extend(more.into_iter().filter(rows));
        }
    }
    if tables.is_empty() {
        return whole;
    }
    tables.sort_by_key(|table| (table.header, table.columns.first().map(|c| c.column)));
    Ok(tables)
}

/// Columns with a value, cut where a column has none.
fn bands(sheet: &Sheet) -> Vec<(ColIndex, ColIndex)> {
    let Some(extent) = sheet.extent() else {
        return Vec::new();
    };
    let mut used = vec![false; usize::from(extent.last.1.0) + 1];
    for row in sheet.rows() {
        for cell in row.cells() {
            if let Some(used) = used.get_mut(usize::from(cell.column().0)) {
                *used = true;
            }
        }
    }
    let mut bands: Vec<(ColIndex, ColIndex)> = Vec::new();
    for (at, _) in used.iter().enumerate().filter(|(_, used)| **used) {
        let at = ColIndex(at as u16);
        match bands.last_mut() {
            Some((_, last)) if last.0 + 1 == at.0 => *last = at,
            _ => bands.push((at, at)),
        }
    }
    bands
}
