//! One column a unit: headings run down, units to the right.

use super::{Made, label};
use crate::intake::book::{Book, Origin, Recaster, Sheet, Turned};
use crate::intake::recognise::grid::{said, text_at};
use crate::intake::recognise::table::of_sheet;
use crate::intake::recognise::values::is_tag;
use crate::intake::schema::{Listed, Schemas};
use crate::schedule::{ColIndex, FieldName, RowIndex, TableKind};

/// Columns in which the headings are looked for.
const FIRST_COLUMNS: u16 = 4;
const MOST_ROWS: usize = 400;
const MOST_COLUMNS: u16 = 600;
/// Headings that must be known.
const KNOWN: usize = 3;

pub(super) fn made(book: &Book, index: usize, sheet: &Sheet, schemas: &Schemas) -> Option<Made> {
    let extent = sheet.extent()?;
    if sheet.rows().len() > MOST_ROWS || extent.last.1.0 > MOST_COLUMNS {
        return None;
    }
    let first = extent.first.1.0;
    (first..first.saturating_add(FIRST_COLUMNS)).find(|at| {
        let texts = sheet
            .rows()
            .filter_map(|row| text_at(sheet, row.index(), ColIndex(*at)));
        texts.filter(|text| is_heading(text, schemas)).count() >= KNOWN
    })?;
    let mut recaster = Recaster::new(&book.sheets);
    for row in sheet.rows() {
        for (column, _) in said(&row) {
            // A title over the units is no unit.
            let alone = said(&row).take(2).count() == 1 && !is_headed(sheet, row.index(), schemas);
            if alone {
                continue;
            }
            let from = Origin {
                sheet: index,
                row: row.index(),
                column,
            };
            let (to_row, to_column) = (column.0 - first, row.index().0);
            recaster.copy(usize::from(to_row), u16::try_from(to_column).ok()?, from);
        }
    }
    let turned = recaster.finish(index, Turned::Over)?;
    let tables = of_sheet(index, &turned, schemas).ok()?;
    let whole = tables.iter().any(|table| {
        let named = table.column_of(FieldName::UnitTag).is_some_and(|column| {
            let texts = table
                .rows
                .iter()
                .filter_map(|row| text_at(&turned, *row, column.column));
            texts.filter(|text| is_tag(text)).count() >= 1
        });
        table.kind == TableKind::Equipment && named
            || table.kind != TableKind::JobFacts && table.rows.len() >= 2
    });
    whole.then(|| Made {
        says: format!(
            "{} has a column for each thing; it was read so.",
            label(sheet)
        ),
        sheet: turned,
    })
}

fn is_heading(text: &str, schemas: &Schemas) -> bool {
    let bare = text.split(['(', '[']).next().unwrap_or(text);
    let listed = schemas.listed(&schemas.key(bare));
    listed
        .iter()
        .any(|(field, listed)| *listed > Listed::Weak && field.table() != TableKind::JobFacts)
}

fn is_headed(sheet: &Sheet, row: RowIndex, schemas: &Schemas) -> bool {
    sheet
        .row(row)
        .is_some_and(|row| said(&row).any(|(_, text)| is_heading(&text, schemas)))
}
