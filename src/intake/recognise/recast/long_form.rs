//! Long form: a thing, an attribute, its value, its unit of measure.

use super::{LOOK, Made, label};
use crate::intake::book::{Book, Origin, Recaster, Sheet, Turned};
use crate::intake::recognise::grid::{said, text_at};
use crate::intake::schema::Schemas;
use crate::schedule::{ColIndex, RowIndex};
use std::collections::HashMap;

/// Where the columns of a long form stand.
struct Columns {
    heading: RowIndex,
    /// Before the attribute: what the rows are about.
    of: Vec<ColIndex>,
    attribute: ColIndex,
    value: ColIndex,
    measure: Option<ColIndex>,
}

pub(super) fn made(book: &Book, index: usize, sheet: &Sheet, schemas: &Schemas) -> Option<Made> {
    let columns = columns(sheet, schemas)?;
    let mut recaster = Recaster::new(&book.sheets);
    let at = |row, column| Origin {
        sheet: index,
        row,
        column,
    };
    for (to, column) in columns.of.iter().enumerate() {
        recaster.copy(0, to as u16, at(columns.heading, *column));
    }
    let mut things: HashMap<Vec<String>, usize> = HashMap::new();
    let mut attributes: HashMap<String, u16> = HashMap::new();
    let mut last: Vec<String> = Vec::new();
    for row in sheet.rows_from(RowIndex(columns.heading.0 + 1)) {
        let row = row.index();
        let Some(name) = text_at(sheet, row, columns.attribute) else {
            continue;
        };
        let mut thing: Vec<String> = columns
            .of
            .iter()
            .map(|c| text_at(sheet, row, *c).map_or(String::new(), |t| t.trim().to_owned()))
            .collect();
        if thing.iter().all(String::is_empty) {
            // Left blank below the first attribute of a thing.
            thing.clone_from(&last);
        }
        if thing.iter().all(String::is_empty) {
            continue;
        }
        let next = things.len() + 1;
        let to = *things.entry(thing.clone()).or_insert(next);
        if to == next {
            for (at_column, column) in columns.of.iter().enumerate() {
                recaster.copy(to, at_column as u16, at(row, *column));
            }
        }
        last = thing;
        let next = (columns.of.len() + attributes.len()) as u16;
        let column = *attributes.entry(schemas.key(&name)).or_insert(next);
        if column == next {
            let measure = columns.measure.and_then(|c| text_at(sheet, row, c));
            let heading = match measure {
                Some(measure) => format!("{} ({})", name.trim(), measure.trim()),
                None => name.trim().to_owned(),
            };
            recaster.text(0, column, &heading, at(row, columns.attribute));
        }
        recaster.copy(to, column, at(row, columns.value));
    }
    if things.is_empty() || attributes.len() < 2 {
        return None;
    }
    Some(Made {
        sheet: recaster.finish(index, Turned::No)?,
        says: format!(
            "{} has a row for each attribute; it was read as {} things with {} attributes.",
            label(sheet),
            things.len(),
            attributes.len()
        ),
    })
}

fn columns(sheet: &Sheet, schemas: &Schemas) -> Option<Columns> {
    let words = schemas.layouts();
    for row in sheet.rows().take(LOOK) {
        let cells: Vec<(ColIndex, String)> = said(&row)
            .take(12)
            .map(|(column, text)| (column, schemas.key(&text)))
            .collect();
        let find = |keys: &[String]| cells.iter().position(|(_, key)| keys.contains(key));
        let (Some(attribute), Some(value)) = (find(&words.attribute), find(&words.value)) else {
            continue;
        };
        if attribute == 0 || value <= attribute || cells.len() > 8 {
            continue;
        }
        let measure = cells
            .iter()
            .skip(value + 1)
            .find(|(_, key)| words.measure.contains(key));
        return Some(Columns {
            heading: row.index(),
            of: cells.iter().take(attribute).map(|(c, _)| *c).collect(),
            attribute: cells.get(attribute)?.0,
            value: cells.get(value)?.0,
            measure: measure.map(|(column, _)| *column),
        });
    }
    None
}
