//! COBie, the open standard for handing over the assets of a building:
//! components with their types, attributes of both, and connections.

use super::Made;
use crate::intake::book::{Book, Origin, Recaster, Sheet, Turned};
use crate::intake::recognise::grid::{said, text_at};
use crate::intake::schema::Schemas;
use crate::schedule::{ColIndex, RowIndex};
use std::collections::HashMap;

/// Rows in which the headings of a sheet are looked for.
const FIRST_ROWS: usize = 5;

/// A sheet with the headings that the standard gives it.
struct Part<'a> {
    index: usize,
    sheet: &'a Sheet,
    heading: RowIndex,
    columns: HashMap<String, ColIndex>,
}

impl<'a> Part<'a> {
    /// The first sheet with all these headings.
    fn find(book: &'a Book, needed: &[&str]) -> Option<Self> {
        book.sheets.iter().enumerate().find_map(|(index, sheet)| {
            sheet.rows().take(FIRST_ROWS).find_map(|row| {
                let columns: HashMap<String, ColIndex> = said(&row)
                    .map(|(column, text)| (plain(&text), column))
                    .collect();
                let all = needed.iter().all(|name| columns.contains_key(*name));
                all.then(|| Self {
                    index,
                    sheet,
                    heading: row.index(),
                    columns,
                })
            })
        })
    }

    fn rows(&self) -> impl Iterator<Item = RowIndex> + use<'_, 'a> {
        let rows = self.sheet.rows_from(RowIndex(self.heading.0 + 1));
        rows.map(|row| row.index())
    }

    /// A cell that says something: not `n/a`, not the name of its heading.
    fn text(&self, row: RowIndex, name: &str, schemas: &Schemas) -> Option<String> {
        let column = *self.columns.get(name)?;
        let text = text_at(self.sheet, row, column)?.trim().to_owned();
        let said = plain(&text);
        let nothing = said == name || schemas.layouts().nothing.contains(&text.to_lowercase());
        (!nothing).then_some(text)
    }

    fn origin(&self, row: RowIndex, name: &str) -> Option<Origin> {
        Some(Origin {
            sheet: self.index,
            row,
            column: *self.columns.get(name)?,
        })
    }
}

fn plain(text: &str) -> String {
    let letters = text.chars().filter(|c| c.is_alphanumeric());
    letters.flat_map(char::to_lowercase).collect()
}

const COMPONENT: [&str; 2] = ["name", "typename"];
const TYPE: [&str; 2] = ["name", "modelnumber"];
const ATTRIBUTE: [&str; 4] = ["name", "sheetname", "rowname", "value"];
const CONNECTION: [&str; 4] = ["name", "sheetname", "rowname1", "rowname2"];

/// The sheets that the made ones are made of.
pub(super) fn used(book: &Book) -> Vec<usize> {
    let needed: [&[&str]; 4] = [&COMPONENT, &TYPE, &ATTRIBUTE, &CONNECTION];
    let parts = needed.iter().filter_map(|needed| Part::find(book, needed));
    parts.map(|part| part.index).collect()
}

pub(super) fn gathered(book: &Book, schemas: &Schemas) -> Vec<Made> {
    let Some(components) = Part::find(book, &COMPONENT) else {
        return Vec::new();
    };
    let mut made = Vec::new();
    made.extend(equipment(book, &components, schemas));
    if let Some(connections) = Part::find(book, &CONNECTION) {
        made.extend(runs(book, &connections, schemas));
    }
    made
}

/// Headings of the made sheet, each with the column of the component and of
/// its type that may tell it.
const OWN: [(&str, &str, &str); 4] = [
    ("Tag", "name", ""),
    ("Description", "description", "description"),
    ("Room", "space", ""),
    ("Model", "", "modelnumber"),
];

fn equipment(book: &Book, components: &Part<'_>, schemas: &Schemas) -> Option<Made> {
    let types = Part::find(book, &TYPE);
    let mut type_rows: HashMap<String, RowIndex> = HashMap::new();
    if let Some(types) = &types {
        for row in types.rows() {
            if let Some(name) = types.text(row, "name", schemas) {
                type_rows.entry(name).or_insert(row);
            }
        }
    }
    let attributes = Attributes::read(book, schemas);
    let mut recaster = Recaster::new(&book.sheets);
    for (to, (heading, own, of_type)) in OWN.iter().enumerate() {
        let typed = || types.as_ref()?.origin(types.as_ref()?.heading, of_type);
        let own = components.origin(components.heading, own);
        let from = own.or_else(typed);
        let from = from.or_else(|| components.origin(components.heading, "name"))?;
        recaster.text(0, to as u16, heading, from);
    }
    for (at, (heading, from)) in attributes.headings.iter().enumerate() {
        recaster.text(0, (OWN.len() + at) as u16, heading, *from);
    }
    let mut to = 0;
    for row in components.rows() {
        let Some(name) = components.text(row, "name", schemas) else {
            continue;
        };
        to += 1;
        let kind = components.text(row, "typename", schemas);
        let type_row = kind.as_ref().and_then(|kind| type_rows.get(kind));
        for (column, (_, own, of_type)) in OWN.iter().enumerate() {
            let stated = components
                .text(row, own, schemas)
                .and_then(|_| components.origin(row, own));
            let typed = || {
                let (types, row) = (types.as_ref()?, *type_row?);
                types.text(row, of_type, schemas)?;
                types.origin(row, of_type)
            };
            if let Some(from) = stated.or_else(typed) {
                recaster.copy(to, column as u16, from);
            }
        }
        let own = attributes.of("component", &name);
        let typed = kind.as_deref().map(|kind| attributes.of("type", kind));
        // What a component says itself goes before what its type says.
        let mut told: Vec<(u16, Origin)> = own.to_vec();
        for (column, from) in typed.unwrap_or(&[]) {
            if !told.iter().any(|(known, _)| known == column) {
                told.push((*column, *from));
            }
        }
        for (column, from) in told {
            recaster.copy(to, OWN.len() as u16 + column, from);
        }
    }
    Some(Made {
        sheet: recaster.finish(components.index, Turned::No)?,
        says: format!("{to} components were read with their types and attributes (COBie)."),
    })
}

/// Attributes by the sheet and the row that they belong to.
#[derive(Default)]
struct Attributes {
    headings: Vec<(String, Origin)>,
    of_rows: HashMap<(String, String), Vec<(u16, Origin)>>,
}

impl Attributes {
    fn read(book: &Book, schemas: &Schemas) -> Self {
        let mut read = Self::default();
        let Some(part) = Part::find(book, &ATTRIBUTE) else {
            return read;
        };
        let mut known: HashMap<String, u16> = HashMap::new();
        for row in part.rows() {
            let text = |name| part.text(row, name, schemas);
            let (Some(name), Some(sheet), Some(of)) =
                (text("name"), text("sheetname"), text("rowname"))
            else {
                continue;
            };
            let (Some(_), Some(from)) = (text("value"), part.origin(row, "value")) else {
                continue;
            };
            let next = read.headings.len() as u16;
            let column = *known.entry(schemas.key(&name)).or_insert(next);
            if column == next
                && let Some(at) = part.origin(row, "name")
            {
                let heading = match text("unit") {
                    Some(unit) => format!("{name} ({unit})"),
                    None => name,
                };
                read.headings.push((heading, at));
            }
            let told = read.of_rows.entry((sheet.to_lowercase(), of)).or_default();
            told.push((column, from));
        }
        read
    }

    fn of(&self, sheet: &str, row: &str) -> &[(u16, Origin)] {
        let told = self.of_rows.get(&(sheet.to_owned(), row.to_owned()));
        told.map_or(&[], Vec::as_slice)
    }
}

/// Connections of low voltage as wire runs.
fn runs(book: &Book, connections: &Part<'_>, schemas: &Schemas) -> Option<Made> {
    let columns = [
        ("Run No.", "name"),
        ("From", "rowname1"),
        ("To", "rowname2"),
        ("Purpose", "connectiontype"),
    ];
    let mut recaster = Recaster::new(&book.sheets);
    for (to, (heading, name)) in columns.iter().enumerate() {
        if let Some(from) = connections.origin(connections.heading, name) {
            recaster.text(0, to as u16, heading, from);
        }
    }
    let mut to = 0;
    for row in connections.rows() {
        let kind = connections.text(row, "connectiontype", schemas);
        let kind = kind.unwrap_or_default().to_lowercase();
        if !schemas
            .layouts()
            .wire
            .iter()
            .any(|word| kind.contains(word))
        {
            continue;
        }
        to += 1;
        for (column, (_, name)) in columns.iter().enumerate() {
            if connections.text(row, name, schemas).is_some()
                && let Some(from) = connections.origin(row, name)
            {
                recaster.copy(to, column as u16, from);
            }
        }
    }
    (to > 0).then_some(())?;
    Some(Made {
        sheet: recaster.finish(connections.index, Turned::No)?,
        says: format!("{to} connections of low voltage were read as wire runs (COBie)."),
    })
}
