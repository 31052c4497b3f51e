//! Typical forms: a table that says which dwelling is of which type, tall or
//! as a matrix. The rows for a type are expanded in assembly, where the files
//! of a job come together.

use super::LOOK;
use crate::intake::book::{Book, Sheet};
use crate::intake::found::{FoundColumn, FoundTable, TypedDwelling, type_key};
use crate::intake::recognise::Recognition;
use crate::intake::recognise::grid::{said, text_at};
use crate::intake::recognise::values::is_door;
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
        let map = tall(sheet, schemas)
            .or_else(|| matrix(sheet, schemas))
            .or_else(|| grid(sheet));
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

/// Floors down and stacks across, each cell a dwelling with its type:
/// `201 (A)`, `201 - Type B1`.
fn grid(sheet: &Sheet) -> Option<Map> {
    let mut dwellings = Vec::new();
    let mut columns = BTreeSet::new();
    let mut heading = None;
    let mut others = 0;
    for row in sheet.rows() {
        let mut last = None;
        for (column, text) in said(&row) {
            let Some((name, of)) = door_with_type(&text) else {
                last = Some(row.index());
                others += 1;
                continue;
            };
            columns.insert(column);
            dwellings.push(TypedDwelling {
                of: type_key(of),
                name: name.to_owned(),
                at: (row.index(), column),
            });
        }
        if dwellings.is_empty() {
            heading = last.or(heading);
        }
    }
    // Titles and numbers of floors and stacks stand beside them, no more.
    if dwellings.len() < 4 || others > dwellings.len() + 4 {
        return None;
    }
    let first = dwellings.first().map(|dwelling| dwelling.at.0)?;
    Some(Map {
        heading: heading.unwrap_or(first),
        columns: columns.into_iter().collect(),
        dwellings,
    })
}

/// A type has a letter: a number in brackets is a count.
fn door_with_type(text: &str) -> Option<(&str, &str)> {
    let text = text.trim();
    let (name, of) = match text.strip_suffix(')') {
        Some(open) => open.split_once('(')?,
        None => text.split_once(" - ").filter(|(_, of)| {
            let word = of.split_whitespace().next().unwrap_or_default();
            word.eq_ignore_ascii_case("type")
        })?,
    };
    let (name, of) = (name.trim(), of.trim());
    let bare = type_key(of);
    let short = bare.len() <= 4 && bare.chars().any(char::is_alphabetic);
    (is_door(name) && short && bare.chars().all(char::is_alphanumeric)).then_some((name, of))
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
    let (mut said, mut others) = (0, 0);
    for row in sheet.rows_from(RowIndex(heading.0 + 1)) {
        let row = row.index();
        let Some(name) = text_at(sheet, row, dwelling) else {
            continue;
        };
        let mut marked: Vec<&String> = Vec::new();
        for (column, kind) in &kinds {
            let Some(text) = text_at(sheet, row, *column) else {
                continue;
            };
            said += 1;
            if marks.iter().any(|mark| *mark == text.trim()) {
                marked.push(kind);
            } else {
                others += 1;
            }
        }
        // A dwelling of two types, or of none, is not guessed at.
        if let [kind] = marked.as_slice() {
            dwellings.push(TypedDwelling {
                of: type_key(kind),
                name: name.trim().to_owned(),
                at: (row, dwelling),
            });
        }
    }
    // A list of other things has a count of 1 here and there.
    if dwellings.len() < 2 || others * 4 > said {
        return None;
    }
    let mut columns = vec![dwelling];
    columns.extend(kinds.iter().map(|(column, _)| *column));
    Some(Map {
        heading,
        columns,
        dwellings,
    })
}
