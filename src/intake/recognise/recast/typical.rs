//! Typical forms: rows for a type of dwelling, and a table that says which
//! dwelling is of which type. Each row is taken for every dwelling of its
//! type.

use super::LOOK;
use crate::intake::book::{Book, Origin, Recaster, Sheet, Turned};
use crate::intake::found::{FoundColumn, FoundTable};
use crate::intake::recognise::Recognition;
use crate::intake::recognise::grid::{said, text_at};
use crate::intake::schema::{Listed, Schemas};
use crate::schedule::{ColIndex, FieldName, RowIndex, TableKind};
use std::collections::HashMap;

/// The dwellings of each type, in the order of the map's rows.
struct Types {
    sheet: usize,
    dwellings: HashMap<String, Vec<(String, Origin)>>,
    count: usize,
}

pub(super) fn expand(book: &Book, schemas: &Schemas, found: &mut Recognition) {
    let bare: Vec<usize> = found.without.iter().map(|w| w.sheet).collect();
    let types = bare.iter().find_map(|index| {
        let sheet = book.sheets.get(*index)?;
        tall(*index, sheet, schemas).or_else(|| matrix(*index, sheet, schemas))
    });
    let Some(types) = types else {
        return;
    };
    let mut expanded = 0;
    for table in &mut found.tables {
        let Some(sheet) = book.sheets.get(table.sheet) else {
            continue;
        };
        let Some(column) = type_column(table, sheet, &types, schemas) else {
            continue;
        };
        let made = expanded_table(book, table, sheet, column, &types);
        if let Some((made, mut of_made)) = made {
            of_made.sheet = book.sheets.len() + found.recast.len();
            expanded += table.rows.len();
            *table = of_made;
            found.recast.push(made);
        }
    }
    if expanded > 0 {
        found.notes.push(format!(
            "{expanded} rows of typical dwellings were taken for each of the {} dwellings of their types.",
            types.count
        ));
        for without in found.without.iter_mut().filter(|w| w.sheet == types.sheet) {
            without.reason = "It says which dwelling is of which type.".to_owned();
        }
    }
}

/// `TYPE B` and `b` are one type.
fn key(text: &str) -> String {
    let upper = text.trim().to_uppercase();
    upper
        .strip_prefix("TYPE ")
        .unwrap_or(&upper)
        .trim()
        .to_owned()
}

fn is_dwelling(text: &str, schemas: &Schemas) -> bool {
    let listed = schemas.listed(&schemas.key(text));
    listed
        .iter()
        .any(|(field, _)| *field == FieldName::UnitDwelling)
}

fn is_type(text: &str, schemas: &Schemas) -> bool {
    let key = schemas.key(text);
    let full = |(field, listed): &(FieldName, Listed)| {
        *field == FieldName::UnitDwellingType && *listed > Listed::Weak
    };
    schemas.layouts().types.contains(&key) || schemas.listed(&key).iter().any(full)
}

/// A column of dwellings and a column of types.
fn tall(index: usize, sheet: &Sheet, schemas: &Schemas) -> Option<Types> {
    let (heading, dwelling, kind) = sheet.rows().take(LOOK).find_map(|row| {
        let cells: Vec<_> = said(&row).take(12).collect();
        let kind = cells.iter().find(|(_, text)| is_type(text, schemas))?.0;
        let dwelling = cells
            .iter()
            .find(|(column, text)| *column != kind && is_dwelling(text, schemas))?
            .0;
        Some((row.index(), dwelling, kind))
    })?;
    let mut types = Types {
        sheet: index,
        dwellings: HashMap::new(),
        count: 0,
    };
    for row in sheet.rows_from(RowIndex(heading.0 + 1)) {
        let row = row.index();
        let (Some(names), Some(kind)) = (text_at(sheet, row, dwelling), text_at(sheet, row, kind))
        else {
            continue;
        };
        let from = Origin {
            sheet: index,
            row,
            column: dwelling,
        };
        for name in names.split([',', ';', '\n']).map(str::trim) {
            types.add(&kind, name, from);
        }
    }
    (types.count > 0).then_some(types)
}

impl Types {
    fn add(&mut self, kind: &str, dwelling: &str, from: Origin) {
        if !dwelling.is_empty() {
            let list = self.dwellings.entry(key(kind)).or_default();
            list.push((dwelling.to_owned(), from));
            self.count += 1;
        }
    }
}

/// Dwellings down and types across, a mark where they meet.
fn matrix(index: usize, sheet: &Sheet, schemas: &Schemas) -> Option<Types> {
    let (heading, dwelling, kinds) = sheet.rows().take(LOOK).find_map(|row| {
        let cells: Vec<(ColIndex, String)> = said(&row)
            .map(|(column, text)| (column, text.into_owned()))
            .collect();
        let (first, rest) = cells.split_first()?;
        (is_dwelling(&first.1, schemas) && rest.len() >= 2)
            .then(|| (row.index(), first.0, rest.to_vec()))
    })?;
    let marks = &schemas.layouts().marks;
    let mut types = Types {
        sheet: index,
        dwellings: HashMap::new(),
        count: 0,
    };
    for row in sheet.rows_from(RowIndex(heading.0 + 1)) {
        let row = row.index();
        let Some(name) = text_at(sheet, row, dwelling) else {
            continue;
        };
        let marked: Vec<&String> = kinds
            .iter()
            .filter(|(column, _)| {
                text_at(sheet, row, *column)
                    .is_some_and(|text| marks.iter().any(|m| *m == text.trim()))
            })
            .map(|(_, kind)| kind)
            .collect();
        // A dwelling of two types, or of none, is not guessed at.
        if let [kind] = marked.as_slice() {
            let from = Origin {
                sheet: index,
                row,
                column: dwelling,
            };
            types.add(kind, name.trim(), from);
        }
    }
    (types.count > 0).then_some(types)
}

/// The column of types in a table that has none of dwellings.
fn type_column(
    table: &FoundTable,
    sheet: &Sheet,
    types: &Types,
    schemas: &Schemas,
) -> Option<ColIndex> {
    let dwelling = |column: &FoundColumn| {
        column
            .fields
            .iter()
            .any(|f| dwelling_field(f.table()) == Some(*f))
    };
    if table.columns.iter().any(dwelling) {
        return None;
    }
    table.columns.iter().find_map(|column| {
        let typed = column.fields.contains(&FieldName::UnitDwellingType)
            || is_type(&column.heading, schemas);
        let mut texts = table
            .rows
            .iter()
            .filter_map(|row| text_at(sheet, *row, column.column))
            .take(200)
            .peekable();
        let known =
            texts.peek().is_some() && texts.all(|text| types.dwellings.contains_key(&key(&text)));
        (typed && known).then_some(column.column)
    })
}

fn dwelling_field(kind: TableKind) -> Option<FieldName> {
    match kind {
        TableKind::Equipment => Some(FieldName::UnitDwelling),
        TableKind::Circuits => Some(FieldName::CircuitDwelling),
        TableKind::Panels => Some(FieldName::PanelDwelling),
        TableKind::WireRuns => Some(FieldName::RunDwelling),
        TableKind::Controllers => Some(FieldName::ControllerDwelling),
        TableKind::JobFacts => None,
    }
}

/// The table with each row for every dwelling of its type, on a sheet made
/// for it.
fn expanded_table(
    book: &Book,
    table: &FoundTable,
    sheet: &Sheet,
    type_column: ColIndex,
    types: &Types,
) -> Option<(Sheet, FoundTable)> {
    let added = sheet.extent()?.last.1.0.checked_add(1)?;
    let mut recaster = Recaster::new(&book.sheets);
    let at = |row, column| Origin {
        sheet: table.sheet,
        row,
        column,
    };
    let mut copy_row = |to: usize, row: RowIndex, dwelling: Option<&(String, Origin)>| {
        for column in &table.columns {
            recaster.copy(to, column.column.0, at(row, column.column));
        }
        if let Some((name, from)) = dwelling {
            recaster.text(to, added, name, *from);
        }
    };
    copy_row(0, table.header.1, None);
    let mut rows = Vec::new();
    let mut last = String::new();
    for &row in &table.rows {
        if let Some(text) = text_at(sheet, row, type_column) {
            last = key(&text);
        }
        for dwelling in types.dwellings.get(&last).map_or(&[][..], Vec::as_slice) {
            rows.push(RowIndex(rows.len() as u32 + 1));
            copy_row(rows.len(), row, Some(dwelling));
        }
    }
    let below = rows.len() + 1;
    let mut expanded = FoundTable {
        header: (RowIndex(0), RowIndex(0)),
        rows,
        ..table.clone()
    };
    // The form goes along, below the rows.
    for (nth, entry) in expanded.form.iter_mut().enumerate() {
        let to = below + nth;
        recaster.copy(to, entry.label.1.0, at(entry.label.0, entry.label.1));
        if entry.value != entry.label {
            recaster.copy(to, entry.value.1.0, at(entry.value.0, entry.value.1));
        }
        let row = RowIndex(to as u32);
        entry.label.0 = row;
        entry.value.0 = row;
    }
    if let Some((_, place)) = &mut expanded.panel {
        *place = None;
    }
    expanded.sections.clear();
    expanded.columns.push(FoundColumn {
        column: ColIndex(added),
        heading: "dwelling of the type".to_owned(),
        fields: table
            .kinds
            .iter()
            .filter_map(|kind| dwelling_field(*kind))
            .collect(),
        unit: None,
        score: 1.0,
        nearest: None,
    });
    Some((recaster.finish(table.sheet, Turned::No)?, expanded))
}
