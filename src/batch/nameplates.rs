//! The user's own table of nameplates, read as a schedule is: headings by the
//! schemas, cells by their grammars, whatever the layout.

use crate::intake::assemble::{Hints, ReadFile, RowChoice, draft};
use crate::intake::book::{Book, Limits, Sheet};
use crate::intake::recognise;
use crate::intake::schema::Schemas;
use crate::practice::Nameplates;
use crate::schedule::{Fault, FieldName, RowNumber, Unit};
use std::path::Path;

/// Rows in which the headings are looked for.
const HEADING_ROWS: usize = 40;

/// Reads a table: models, and what their nameplates say. Gives sentences
/// about cells that could not be read and are left out.
///
/// # Errors
/// A sentence: the file cannot be read, has no such table, or names one model
/// twice with different values.
pub fn read_nameplates(
    path: &Path,
    schemas: &Schemas,
) -> Result<(Nameplates, Vec<String>), String> {
    let shown = path.file_name().map_or_else(
        || path.display().to_string(),
        |name| name.to_string_lossy().into_owned(),
    );
    let fault = |says: String| format!("{}: {says}", path.display());
    let book = Book::open(path, &Limits::default()).map_err(|error| fault(error.to_string()))?;
    let found = book.sheets.iter().find_map(|sheet| {
        let (head, tagged) = headings(sheet, schemas)?;
        Some((sheet, head, tagged))
    });
    let Some((sheet, head, tagged)) = found else {
        return Err(fault(
            "no row of headings with a model and MCA, MOP, volts or capacity; expected columns \
             as Model, MCA, MOP, Volts"
                .to_owned(),
        ));
    };
    let csv = as_equipment(sheet, head, tagged);
    let book = Book::from_bytes("nameplates.csv", csv, &Limits::default())
        .map_err(|error| fault(error.to_string()))?;
    let recognised = recognise::recognise(&book, schemas);
    let file = ReadFile::recognised(shown.clone(), 0, book, recognised);
    let schedule = draft(&[(&file, RowChoice::All)], Hints { stem: "nameplates" }).build();
    let place = match sheet.name.as_deref() {
        Some(name) => format!("{shown}, sheet {name}"),
        None => shown,
    };
    let name = |unit: &Unit| format!("{place}, row {}", RowNumber::from(unit.tag.at.row).0);
    let nameplates = Nameplates::of(&schedule, &name).map_err(fault)?;
    let notes = schedule.faults.iter().filter_map(|of| match of {
        Fault::Unreadable { at, expected, .. } => Some(format!(
            "{place}, row {}: \u{201c}{}\u{201d} is not {expected}, and is left out",
            RowNumber::from(at.row).0,
            schedule.sources.text(*at)
        )),
        _ => None,
    });
    Ok((nameplates, notes.collect()))
}

/// Index of the row of headings, and whether it has one for tags.
fn headings(sheet: &Sheet, schemas: &Schemas) -> Option<(u32, bool)> {
    const VALUES: [FieldName; 6] = [
        FieldName::UnitMca,
        FieldName::UnitMop,
        FieldName::UnitMcaMop,
        FieldName::UnitSupply,
        FieldName::UnitVolts,
        FieldName::UnitCapacity,
    ];
    sheet.rows().take(HEADING_ROWS).find_map(|row| {
        let fields: Vec<FieldName> = row
            .cells()
            .flat_map(|cell| schemas.listed(&schemas.key(&cell.text())).to_vec())
            .map(|(field, _)| field)
            .collect();
        let model = fields.contains(&FieldName::UnitModel);
        let value = VALUES.iter().any(|field| fields.contains(field));
        let tagged = fields.contains(&FieldName::UnitTag);
        (model && value).then_some((row.index().0, tagged))
    })
}

/// The sheet as comma-separated text, row by row; where it has no tags, each
/// row gets one, since a row of equipment is known by its tag.
fn as_equipment(sheet: &Sheet, head: u32, tagged: bool) -> Vec<u8> {
    let width = sheet.extent().map_or(0, |extent| extent.last.1.0) + 1;
    let mut writer = csv::WriterBuilder::new()
        .flexible(true)
        .from_writer(Vec::new());
    let mut next = 0;
    for row in sheet.rows() {
        let index = row.index().0;
        while next < index {
            // Row numbers stay those of the user's file.
            let _ = writer.write_record(vec![""; usize::from(width) + 1]);
            next += 1;
        }
        next = index + 1;
        let mut cells = vec![String::new(); usize::from(width) + 1];
        for cell in row.cells() {
            if let Some(place) = cells.get_mut(usize::from(cell.column().0) + 1) {
                *place = cell.text().into_owned();
            }
        }
        if let Some(first) = cells.first_mut().filter(|_| !tagged && index >= head) {
            *first = match index == head {
                true => "Tag".to_owned(),
                false => format!("N-{}", index + 1),
            };
        }
        // Writing to memory cannot fail.
        let _ = writer.write_record(&cells);
    }
    writer.into_inner().unwrap_or_default()
}
