//! Layouts in which a row is no thing: columns for units, attributes one
//! below the other, assets over several sheets, typical forms. Each is made
//! into a sheet of one row a thing, whose cells know where they stand.

mod handover;
mod long_form;
mod transposed;
mod typical;

use super::grid::{is_own, text_at};
use super::{Recognition, WithoutTable};
use crate::intake::book::{Book, Sheet};
use crate::intake::found::FoundTable;
use crate::intake::schema::Schemas;
use crate::schedule::{ColIndex, RowIndex, RowLeftOut, TableKind};

/// Rows of a sheet in which headings of such a layout are looked for.
const LOOK: usize = 40;

pub(super) fn recast(book: &Book, schemas: &Schemas, found: &mut Recognition) {
    let mut told: Vec<usize> = Vec::new();
    let gathered = handover::gathered(book, schemas);
    if gathered.is_empty() {
        for (index, sheet) in book.sheets.iter().enumerate() {
            if !ours(sheet)
                && let Some(made) = long_form::made(book, index, sheet, schemas)
            {
                told.push(index);
                take(book, made, &[index], schemas, found);
            }
        }
    } else {
        let used = handover::used(book);
        told.clone_from(&used);
        for made in gathered {
            take(book, made, &used, schemas, found);
        }
    }
    let bare: Vec<usize> = found.without.iter().map(|w| w.sheet).collect();
    for index in bare.into_iter().filter(|index| !told.contains(index)) {
        let Some(sheet) = book.sheets.get(index).filter(|sheet| !ours(sheet)) else {
            continue;
        };
        if let Some(made) = transposed::made(book, index, sheet, schemas) {
            take(book, made, &[index], schemas, found);
        }
    }
    typical::find(book, schemas, found);
    found.tables.sort_by_key(|table| {
        (
            of_file(book, found_sheet(book, &found.recast, table)),
            table.header,
        )
    });
}

/// A made sheet, and what to say of it.
struct Made {
    sheet: Sheet,
    says: String,
}

fn found_sheet(book: &Book, recast: &[Sheet], table: &FoundTable) -> usize {
    let made = table
        .sheet
        .checked_sub(book.sheets.len())
        .and_then(|at| recast.get(at));
    made.and_then(|sheet| sheet.stands_on().first().copied())
        .unwrap_or(table.sheet)
}

fn of_file(book: &Book, sheet: usize) -> usize {
    sheet.min(book.sheets.len())
}

/// Takes the tables of a made sheet in place of those of the sheets that it
/// was made of; nothing where it has none.
fn take(book: &Book, made: Made, used: &[usize], schemas: &Schemas, found: &mut Recognition) {
    let index = book.sheets.len() + found.recast.len();
    let Ok(mut tables) = super::table::of_sheet(index, &made.sheet, schemas) else {
        return;
    };
    tables.retain(|table| table.kind != TableKind::JobFacts && !table.rows.is_empty());
    if tables.is_empty() {
        return;
    }
    let main = made.sheet.stands_on().first().copied();
    for table in &mut tables {
        place_left_out(table, &made.sheet);
    }
    found
        .tables
        .retain(|table| !used.contains(&table.sheet) || table.kind == TableKind::JobFacts);
    found.without.retain(|without| Some(without.sheet) != main);
    for sheet in used.iter().filter(|sheet| Some(**sheet) != main) {
        let shown = |made: &Sheet| made.stands_on().first() == Some(sheet);
        let told = found.without.iter().any(|without| without.sheet == *sheet);
        if !told && !found.recast.iter().any(shown) {
            found.without.push(WithoutTable {
                sheet: *sheet,
                reason: "Its rows are told of in the table of another sheet.".to_owned(),
            });
        }
    }
    found.without.sort_by_key(|without| without.sheet);
    found.tables.extend(tables);
    found.notes.push(made.says);
    found.recast.push(made.sheet);
}

/// Rows left out, by their numbers in the file; blanks of a made sheet are
/// none of the author's.
fn place_left_out(table: &mut FoundTable, sheet: &Sheet) {
    let heading = table.header.1;
    let mut placed: Vec<RowLeftOut> = Vec::new();
    for out in &table.left_out {
        let Some(first) = sheet.row(out.row).and_then(|row| row.cells().next()) else {
            continue;
        };
        if let Some(origin) = sheet.origin(out.row, first.column(), heading) {
            placed.push(RowLeftOut {
                row: origin.row,
                reason: out.reason.clone(),
            });
        }
    }
    table.left_out = placed;
}

/// Written by this program.
fn ours(sheet: &Sheet) -> bool {
    text_at(sheet, RowIndex(0), ColIndex(0)).is_some_and(|text| is_own(&text))
}

fn label(sheet: &Sheet) -> String {
    match &sheet.name {
        Some(name) => format!("Sheet {name}"),
        None => "The sheet".to_owned(),
    }
}
