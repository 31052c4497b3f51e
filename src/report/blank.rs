//! An empty schedule for people to fill in, in the layout that is read best:
//! a sheet for each table, headings from the schemas.

use super::ReportError;
use crate::intake::schema::{FieldSchema, Notation, Schemas, TableSchema};
use crate::schedule::{FieldName, TableKind};
use jiff::civil::Date;
use rust_xlsxwriter::{
    DataValidation, DataValidationErrorStyle, DocProperties, ExcelDateTime, Format, Note, Workbook,
    Worksheet,
};

/// Rows that have drop-down lists.
const ROWS: u32 = 1_000;
/// Fields that another column of the form already asks for.
const LEFT_OUT: [FieldName; 14] = [
    FieldName::UnitMcaMop,
    FieldName::UnitVolts,
    FieldName::UnitPhase,
    FieldName::UnitHertz,
    FieldName::UnitLra,
    FieldName::UnitDescription,
    FieldName::UnitPlace,
    FieldName::CircuitPanelSlots,
    FieldName::CircuitName,
    FieldName::CircuitFuse,
    FieldName::CircuitSupply,
    FieldName::CircuitLoadAmps,
    FieldName::CircuitLoadVa,
    FieldName::RunWire,
];

/// A field with an example, and the values to choose from where they are few.
struct Entry {
    field: FieldName,
    example: &'static str,
    choices: &'static [&'static str],
}

const fn entry(field: FieldName, example: &'static str, choices: &'static [&'static str]) -> Entry {
    Entry {
        field,
        example,
        choices,
    }
}

const YES_NO: &[&str] = &["yes", "no"];

/// Invented values of one outdoor unit, its circuit and its first run.
const ENTRIES: &[Entry] = &[
    entry(FieldName::JobName, "Birch Row", &[]),
    entry(FieldName::JobNumber, "2231", &[]),
    entry(
        FieldName::JobCustomer,
        "multifamily",
        &["dwelling", "multifamily", "commercial"],
    ),
    entry(FieldName::JobSupply, "120/240V 1PH 3W", &[]),
    entry(FieldName::JobEdition, "2023 NEC", &[]),
    entry(FieldName::JobRevision, "A", &[]),
    entry(FieldName::UnitTag, "HP-1", &[]),
    entry(
        FieldName::UnitKind,
        "outdoor unit",
        &["outdoor unit", "indoor unit", "air handler", "branch box"],
    ),
    entry(FieldName::UnitSystem, "1", &[]),
    entry(FieldName::UnitMca, "31.4", &[]),
    entry(FieldName::UnitMop, "50", &[]),
    entry(FieldName::UnitSupply, "208/230-1-60", &[]),
    entry(FieldName::CircuitPanel, "LP", &[]),
    entry(FieldName::CircuitSlots, "1,3", &[]),
    entry(FieldName::CircuitBreaker, "50A/2P", &[]),
    entry(FieldName::CircuitPoles, "2", &["1", "2", "3"]),
    entry(FieldName::CircuitConductor, "#8 THHN", &[]),
    entry(FieldName::CircuitGround, "#10", &[]),
    entry(FieldName::CircuitLength, "60", &[]),
    entry(FieldName::CircuitLoads, "HP-1", &[]),
    entry(FieldName::PanelName, "LP", &[]),
    entry(FieldName::PanelSupply, "120/240V 1PH 3W", &[]),
    entry(FieldName::PanelMain, "100", &[]),
    entry(FieldName::PanelBus, "125", &[]),
    entry(FieldName::RunFrom, "HP-1", &[]),
    entry(FieldName::RunTo, "FC-1", &[]),
    entry(FieldName::RunPurpose, "bus", &["bus", "controller"]),
    entry(FieldName::RunGauge, "18", &[]),
    entry(FieldName::RunConductors, "2", &[]),
    entry(FieldName::RunStranding, "stranded", &["stranded", "solid"]),
    entry(FieldName::RunShield, "yes", YES_NO),
    entry(FieldName::RunSplices, "0", &[]),
    entry(FieldName::RunLength, "60", &[]),
    entry(FieldName::ControllerTag, "T-1", &[]),
    entry(FieldName::ControllerRoom, "Bedroom", &[]),
    entry(FieldName::ControllerUnits, "FC-1", &[]),
    entry(FieldName::ControllerWireless, "no", YES_NO),
];

fn of(field: FieldName) -> Option<&'static Entry> {
    ENTRIES.iter().find(|entry| entry.field == field)
}

fn fields(table: &TableSchema) -> impl Iterator<Item = &FieldSchema> {
    let fields = table.fields.iter();
    fields.filter(|schema| !LEFT_OUT.contains(&schema.field))
}

/// The heading of a field: its title, and the unit that its values have.
fn heading(schema: &FieldSchema) -> String {
    let unit = match schema.notation {
        Notation::Amps | Notation::NameplateAmps | Notation::Mop | Notation::Fuse => " (A)",
        Notation::Kilowatts => " (kW)",
        Notation::Volts => " (V)",
        Notation::Length => " (ft)",
        Notation::Horsepower => " (hp)",
        _ => "",
    };
    // A bare title needs neighbours; an empty form has no values to bear it
    // out.
    let full = schema.headings.contains(&schema.title);
    let title = match schema.headings.first() {
        Some(first) if !full => first,
        _ => &schema.title,
    };
    format!("{title}{unit}")
}

fn sheets(schemas: &Schemas) -> Vec<(&'static str, &TableSchema)> {
    let named = [
        ("Job", TableKind::JobFacts),
        ("Equipment", TableKind::Equipment),
        ("Circuits", TableKind::Circuits),
        ("Panels", TableKind::Panels),
        ("Wire runs", TableKind::WireRuns),
        ("Controllers", TableKind::Controllers),
    ];
    let found = named
        .into_iter()
        .filter_map(|(name, kind)| Some((name, schemas.table(kind)?)));
    found.collect()
}

/// The blank workbook.
///
/// # Errors
/// As the writer's.
pub fn workbook(schemas: &Schemas, as_of: Date) -> Result<Vec<u8>, ReportError> {
    let mut book = Workbook::new();
    let (year, month, day) = (as_of.year(), as_of.month(), as_of.day());
    let created = ExcelDateTime::from_ymd(
        year.unsigned_abs(),
        month.unsigned_abs(),
        day.unsigned_abs(),
    )
    .map_err(ReportError::Workbook)?;
    book.set_properties(&DocProperties::new().set_creation_datetime(&created));
    for (name, table) in sheets(schemas) {
        let sheet = book.add_worksheet();
        write(sheet, name, table).map_err(ReportError::Workbook)?;
    }
    let sheet = book.add_worksheet();
    write_example(sheet, schemas).map_err(ReportError::Workbook)?;
    book.save_to_buffer().map_err(ReportError::Workbook)
}

type Written = Result<(), rust_xlsxwriter::XlsxError>;

fn write(sheet: &mut Worksheet, name: &str, table: &TableSchema) -> Written {
    let bold = Format::new().set_bold().set_text_wrap();
    sheet.set_name(name)?;
    let down = name == "Job";
    if !down {
        sheet.set_freeze_panes(1, 1)?;
    }
    for (nth, schema) in fields(table).enumerate() {
        let (row, column) = if down {
            (nth as u32, 0)
        } else {
            (0, nth as u16)
        };
        sheet.write_with_format(row, column, heading(schema), &bold)?;
        sheet.set_column_width(column, 16)?;
        let mut says = schema.description.clone();
        let known = of(schema.field);
        if let Some(entry) = known {
            says.push_str(&format!(" Example: {}", entry.example));
        }
        let note = Note::new(says).add_author_prefix(false);
        sheet.insert_note(row, column, &note)?;
        if let Some(entry) = known.filter(|entry| !entry.choices.is_empty()) {
            let list = DataValidation::new()
                .allow_list_strings(entry.choices)?
                .set_error_style(DataValidationErrorStyle::Warning);
            let (first, last, column) = match down {
                true => (row, row, 1),
                false => (1, ROWS, column),
            };
            sheet.add_data_validation(first, column, last, column, &list)?;
        }
    }
    if down {
        sheet.set_column_width(1, 28)?;
    }
    Ok(())
}

/// The sheets filled in, one below the other; the mark in its corner leaves
/// the sheet out of what is read.
fn write_example(sheet: &mut Worksheet, schemas: &Schemas) -> Written {
    let bold = Format::new().set_bold();
    sheet.set_name("Example")?;
    sheet.write(
        0,
        0,
        "ampledger: a filled example, invented; this sheet is not read",
    )?;
    let mut row = 2;
    for (name, table) in sheets(schemas) {
        sheet.write_with_format(row, 0, name, &bold)?;
        let shown = fields(table).filter_map(|schema| Some((schema, of(schema.field)?)));
        for (nth, (schema, entry)) in shown.enumerate() {
            sheet.write_with_format(row + 1, nth as u16, heading(schema), &bold)?;
            sheet.write(row + 2, nth as u16, entry.example)?;
        }
        row += 4;
    }
    Ok(())
}

/// A file's name and its text for each table: headings alone, or labels.
///
/// # Errors
/// As the writer's.
pub fn texts(schemas: &Schemas) -> Result<Vec<(String, Vec<u8>)>, ReportError> {
    let mut files = Vec::new();
    for (name, table) in sheets(schemas) {
        let headings: Vec<String> = fields(table).map(heading).collect();
        let mut writer = csv::Writer::from_writer(Vec::new());
        if name == "Job" {
            for label in &headings {
                writer
                    .write_record([label.as_str(), ""])
                    .map_err(ReportError::Csv)?;
            }
        } else {
            writer.write_record(&headings).map_err(ReportError::Csv)?;
        }
        let bytes = writer
            .into_inner()
            .map_err(|error| ReportError::Io(error.into_error()))?;
        files.push((
            format!("{}.csv", name.to_lowercase().replace(' ', "-")),
            bytes,
        ));
    }
    Ok(files)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::intake::book::{Book, Limits};
    use crate::intake::recognise::recognise;

    #[test]
    fn every_column_of_the_blank_reads_back_as_its_own_field() {
        let schemas = Schemas::embedded();
        let bytes = workbook(schemas, jiff::civil::date(2026, 1, 1)).expect("a workbook");
        let book = Book::from_bytes("blank.xlsx", bytes, &Limits::default()).expect("a book");
        let found = recognise(&book, schemas);
        let mut wrong = Vec::new();
        for (name, table) in sheets(schemas).into_iter().skip(1) {
            let read = found.tables.iter().find(|read| {
                book.sheets.get(read.sheet).and_then(|s| s.name.as_deref()) == Some(name)
            });
            for (nth, schema) in fields(table).enumerate() {
                let column = read.and_then(|read| read.columns.get(nth));
                let field = column.and_then(|c| c.fields.first()).copied();
                if field != Some(schema.field) {
                    wrong.push(format!("{name}: {} is {field:?}", heading(schema)));
                }
            }
        }
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
        assert!(found.tables.iter().all(|table| table.rows.is_empty()));
    }
}
