//! Typical forms: a table that says which dwelling is of which type, tall or
//! as a matrix. The rows for a type are expanded in assembly, where the files
//! of a job come together.

use super::LOOK;
use crate::intake::book::{Book, Sheet};
use crate::intake::found::{FoundColumn, FoundTable, TypedDwelling, type_key};
use crate::intake::recognise::Recognition;
use crate::intake::recognise::grid::{said, text_at};
use crate::intake::schema::{Listed, Schemas};
use crate::schedule::{ColIndex, FieldName, RowIndex, TableKind};
use std::collections::BTreeSet;

/// A table of dwellings has few columns; a schedule of doors has many.
const MOST_COLUMNS: usize = 6;

/// Takes sheets without another table that say of which type dwellings are.
pub(super) fn find(book: &Book, schemas: &Schemas, found: &mut Recognition) {
    let bare: Vec<usize> = found.without.iter().map(|w| w.sheet).collect();
    for index in bare {
        let Some(sheet) = book.sheets.get(index) else {
            continue;
        };
        let map = tall(sheet, schemas).or_else(|| matrix(sheet, schemas));
        let Some(map) = map.filter(Map::is_plausible) else {
            continue;
        };
        let name = super::label(sheet);
        found
            .notes
            .push(format!("{name} says which dwelling is of which type."));
        found.without.retain(|without| without.sheet != index);
        found.tables.push(map.into_table(index));
    }
}

struct Map {
    heading: RowIndex,
    columns: Vec<ColIndex>,
    dwellings: Vec<TypedDwelling>,
}

impl Map {
    /// Fewer types than dwellings, or each dwelling once at least: a list of
    /// other things has neither.
    fn is_plausible(&self) -> bool {
        let types: BTreeSet<&str> = self.dwellings.iter().map(|d| d.of.as_str()).collect();
        let names: BTreeSet<&str> = self.dwellings.iter().map(|d| d.name.as_str()).collect();
        let short = types.iter().all(|kind| kind.chars().count() <= 12);
        !names.is_empty()
            && names.len() == self.dwellings.len()
            && types.len() <= names.len()
            && short
    }

    fn into_table(self, sheet: usize) -> FoundTable {
        let mut rows: Vec<RowIndex> = self.dwellings.iter().map(|d| d.at.0).collect();
        rows.dedup();
        let column = |column| FoundColumn {
            column,
            heading: String::new(),
            fields: Vec::new(),
            unit: None,
            score: 1.0,
            nearest: None,
        };
        FoundTable {
            sheet,
            kind: TableKind::JobFacts,
            kinds: Vec::new(),
            header: (self.heading, self.heading),
            columns: self.columns.into_iter().map(column).collect(),
            rows,
            left_out: Vec::new(),
            form: Vec::new(),
            panel: None,
            sections: Vec::new(),
            types: self.dwellings,
        }
    }
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

/// Headings of a row, where they may be those of dwellings and not of doors.
fn headings(sheet: &Sheet, row: RowIndex, schemas: &Schemas) -> Option<Vec<(ColIndex, String)>> {
    let row = sheet.row(row)?;
    let cells = said(&row).map(|(column, text)| (column, text.into_owned()));
    let cells: Vec<(ColIndex, String)> = cells.collect();
    let layouts = schemas.layouts();
    let door = |(_, text): &(ColIndex, String)| layouts.doors.contains(&schemas.key(text));
    (!cells.iter().any(door)).then_some(cells)
}

/// A column of dwellings and a column of types.
fn tall(sheet: &Sheet, schemas: &Schemas) -> Option<Map> {
    let (heading, dwelling, kind) = sheet.rows().take(LOOK).find_map(|row| {
        let cells = headings(sheet, row.index(), schemas)?;
        let few = cells.len() <= MOST_COLUMNS;
        let kind = cells.iter().find(|(_, text)| is_type(text, schemas))?.0;
        let dwelling = cells
            .iter()
            .find(|(column, text)| *column != kind && is_dwelling(text, schemas))?
            .0;
        few.then_some((row.index(), dwelling, kind))
    })?;
    let mut dwellings = Vec::new();
    for row in sheet.rows_from(RowIndex(heading.0 + 1)) {
        let row = row.index();
        let (Some(names), Some(of)) = (text_at(sheet, row, dwelling), text_at(sheet, row, kind))
        else {
            continue;
        };
        let names = names.split([',', ';', '\n']).map(str::trim);
        dwellings.extend(
            names
                .filter(|name| !name.is_empty())
                .map(|name| TypedDwelling {
                    of: type_key(&of),
                    name: name.to_owned(),
                    at: (row, dwelling),
                }),
        );
    }
    Some(Map {
        heading,
        columns: vec![dwelling.min(kind), dwelling.max(kind)],
        dwellings,
    })
}

/// Dwellings down and types across, a mark where they meet.
fn matrix(sheet: &Sheet, schemas: &Schemas) -> Option<Map> {
    let (heading, dwelling, kinds) = sheet.rows().take(LOOK).find_map(|row| {
        let cells = headings(sheet, row.index(), schemas)?;
        let (first, rest) = cells.split_first()?;
        (is_dwelling(&first.1, schemas) && rest.len() >= 2)
            .then(|| (row.index(), first.0, rest.to_vec()))
    })?;
    let marks = &schemas.layouts().marks;
    let mut dwellings = Vec::new();
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
            dwellings.push(TypedDwelling {
                of: type_key(kind),
                name: name.trim().to_owned(),
                at: (row, dwelling),
            });
        }
    }
    let mut columns = vec![dwelling];
    columns.extend(kinds.iter().map(|(column, _)| *column));
    Some(Map {
        heading,
        columns,
        dwellings,
    })
}
