//! Workbooks in the OOXML form: the parts around the sheets.

use super::grid_xml::{GridReader, range};
use super::look::Look;
use super::package::{Package, relations_of, resolve};
use super::refusal::{Bound, Foreign, Refusal, within};
use super::sheet::{Budget, Builder, DefinedTable, Sheet, SheetNote, Strings, Visibility};
use super::xml::{self, attribute};
use super::{Book, Format, styles};
use crate::schedule::{ColIndex, RowIndex};
use quick_xml::events::Event;
use std::sync::Arc;

/// Relationships inside the package that one part may have.
const MOST_RELATIONS: usize = 20_000;

/// A relationship of a part: what kind, and to which part.
struct Relation {
    id: String,
    /// The last word of the type: `worksheet`, `sharedStrings`.
    kind: String,
    target: String,
}

struct Entry {
    name: String,
    visibility: Visibility,
    relation: String,
}

#[derive(Default)]
struct Workbook {
    entries: Vec<Entry>,
    epoch_1904: bool,
}

/// The main part of an OOXML package: `xl/workbook.xml` as a rule.
pub(super) fn main_part(package: &mut Package) -> Result<Option<String>, Refusal> {
    let root = relations(package, "")?;
    let main = root.into_iter().find(|r| r.kind == "officeDocument");
    let main = main.map_or_else(|| "xl/workbook.xml".to_owned(), |r| r.target);
    Ok(package.has(&main).then_some(main))
}

/// Reads a workbook whose main part is `main`.
pub(super) fn read(
    package: &mut Package,
    main: &str,
    budget: &mut Budget,
) -> Result<Book, Refusal> {
    let workbook = workbook(package, main, budget.limits.sheets)?;
    let relations = relations(package, main)?;
    let target = |kind: &str| {
        let found = relations.iter().find(|r| r.kind == kind);
        found.map(|r| r.target.as_str())
    };
    let mut notes = Vec::new();
    let looks = match target("styles") {
        Some(part) => styles::read(package, part, target("theme")).unwrap_or_else(|note| {
            notes.push(note);
            Vec::new()
        }),
        None => Vec::new(),
    };
    let looks: Arc<[Look]> = looks.into();
    let strings = match target("sharedStrings") {
        Some(part) => Arc::new(shared_strings(package, part, budget)?),
        None => Arc::default(),
    };
    let mut sheets = Vec::with_capacity(workbook.entries.len().min(1_000));
    for entry in workbook.entries {
        let relation = relations.iter().find(|r| r.id == entry.relation);
        let Some(relation) = relation.filter(|r| r.kind == "worksheet") else {
            notes.push(format!(
                "{:?} is no worksheet and was not read.",
                entry.name
            ));
            continue;
        };
        let builder = Builder::new(Some(entry.name), strings.clone(), looks.clone());
        let mut sheet = worksheet(package, &relation.target, builder, &strings, budget)?;
        sheet.visibility = entry.visibility;
        sheet.epoch_1904 = workbook.epoch_1904;
        sheets.push(sheet);
    }
    if sheets.is_empty() {
        return Err(Refusal::Foreign(Foreign::NoSheets));
    }
    let types = package.text("[Content_Types].xml", 1 << 20)?;
    let macros = types.is_some_and(|t| t.contains("macroEnabled.main+xml"));
    Ok(Book {
        format: if macros { Format::Xlsm } else { Format::Xlsx },
        sheets,
        recast: Vec::new(),
        epoch_1904: workbook.epoch_1904,
        notes,
    })
}

fn relations(package: &mut Package, part: &str) -> Result<Vec<Relation>, Refusal> {
    let (folder, list) = relations_of(part);
    let list = if part.is_empty() {
        "_rels/.rels"
    } else {
        &list
    };
    let Some(part) = package.part(list)? else {
        return Ok(Vec::new());
    };
    let mut reader = xml::reader(part);
    let mut buffer = Vec::new();
    let mut found = Vec::new();
    loop {
        buffer.clear();
        match reader.read_event_into(&mut buffer).map_err(xml::broken)? {
            Event::Start(e) | Event::Empty(e) if e.local_name().as_ref() == "Relationship" => {
                let text = |name| attribute(&e, name).unwrap_or_default().into_owned();
                let (kind, target) = (text("Type"), text("Target"));
                let outside = text("TargetMode").eq_ignore_ascii_case("external");
                if found.len() >= MOST_RELATIONS {
                    return Err(xml::broken("a part has relationships without end"));
                }
                if !outside {
                    found.push(Relation {
                        id: text("Id"),
                        kind: kind.rsplit('/').next().unwrap_or_default().to_owned(),
                        target: resolve(folder, &target),
                    });
                }
            }
            Event::Eof => return Ok(found),
            _ => {}
        }
    }
}

fn workbook(package: &mut Package, main: &str, most: u64) -> Result<Workbook, Refusal> {
    let Some(part) = package.part(main)? else {
        return Err(Refusal::Foreign(Foreign::NoSheets));
    };
    let mut reader = xml::reader(part);
    let mut buffer = Vec::new();
    let mut workbook = Workbook::default();
    loop {
        buffer.clear();
        match reader.read_event_into(&mut buffer).map_err(xml::broken)? {
            Event::Start(e) | Event::Empty(e) => match e.local_name().as_ref() {
                "workbookPr" => {
                    let value = attribute(&e, "date1904");
                    workbook.epoch_1904 = value.is_some_and(|v| xml::is_true(&v));
                }
                "sheet" => {
                    within(Bound::Sheets, workbook.entries.len() as u64 + 1, most)?;
                    workbook.entries.push(Entry {
                        name: attribute(&e, "name").unwrap_or_default().into_owned(),
                        visibility: match attribute(&e, "state").as_deref() {
                            Some("hidden") => Visibility::Hidden,
                            Some("veryHidden") => Visibility::VeryHidden,
                            _ => Visibility::Visible,
                        },
                        relation: attribute(&e, "id").unwrap_or_default().into_owned(),
                    });
                }
                _ => {}
            },
            Event::Eof => return Ok(workbook),
            _ => {}
        }
    }
}

/// The counts that the part declares are not looked at: nothing is reserved
/// for them, so a false one costs nothing.
fn shared_strings(
    package: &mut Package,
    part: &str,
    budget: &mut Budget,
) -> Result<Strings, Refusal> {
    let mut strings = Strings::default();
    let Some(part) = package.part(part)? else {
        return Ok(strings);
    };
    let mut reader = xml::reader(part);
    let mut buffer = Vec::with_capacity(1 << 10);
    loop {
        buffer.clear();
        match reader.read_event_into(&mut buffer).map_err(xml::broken)? {
            Event::Start(e) if e.local_name().as_ref() == "si" => {
                let before = strings.buffer.len();
                xml::read_runs(&mut reader, &mut buffer, "si", &mut strings.buffer)?;
                budget.text(strings.buffer.len() - before)?;
                strings.ends.push(strings.buffer.len() as u32);
            }
            Event::Empty(e) if e.local_name().as_ref() == "si" => {
                strings.ends.push(strings.buffer.len() as u32);
            }
            Event::Eof => return Ok(strings),
            _ => {}
        }
    }
}

fn worksheet(
    package: &mut Package,
    target: &str,
    mut builder: Builder,
    strings: &Strings,
    budget: &mut Budget,
) -> Result<Sheet, Refusal> {
    let dates: Vec<bool> = builder
        .looks()
        .iter()
        .map(|look| look.number_format.as_ref().is_some_and(|f| f.is_date()))
        .collect();
    match package.part(target) {
        Ok(Some(part)) => {
            GridReader::new(part, &mut builder, budget, &dates, strings).read()?;
        }
        Ok(None) => {
            builder.sheet().damage = Some("The workbook lacks the part of this sheet.".to_owned());
        }
        Err(refusal @ Refusal::OverLimit { .. }) => return Err(refusal),
        Err(refusal) => builder.sheet().damage = Some(refusal.to_string()),
    }
    // What hangs on a sheet is a help, not a need: damage there is let be.
    for relation in relations(package, target).unwrap_or_default() {
        match relation.kind.as_str() {
            "table" => {
                if let Ok(Some(table)) = defined_table(package, &relation.target) {
                    builder.sheet().tables.push(table);
                }
            }
            "comments" => {
                let notes = sheet_notes(package, &relation.target, budget)?;
                builder.sheet().notes.extend(notes);
            }
            _ => {}
        }
    }
    let sheet = builder.sheet();
    sheet.tables.sort_by_key(|table| table.range.first);
    sheet.notes.sort_by_key(|note| note.at);
    Ok(builder.finish())
}

fn defined_table(package: &mut Package, part: &str) -> Result<Option<DefinedTable>, Refusal> {
    let Some(part) = package.part(part)? else {
        return Ok(None);
    };
    let mut reader = xml::reader(part);
    let mut buffer = Vec::new();
    loop {
        buffer.clear();
        match reader.read_event_into(&mut buffer).map_err(xml::broken)? {
            Event::Start(e) | Event::Empty(e) if e.local_name().as_ref() == "table" => {
                let name = attribute(&e, "displayName").or_else(|| attribute(&e, "name"));
                let name = name.unwrap_or_default().into_owned();
                let range = attribute(&e, "ref").and_then(|r| range(&r));
                return Ok(range.map(|range| DefinedTable { name, range }));
            }
            Event::Eof => return Ok(None),
            _ => {}
        }
    }
}

fn sheet_notes(
    package: &mut Package,
    part: &str,
    budget: &mut Budget,
) -> Result<Vec<SheetNote>, Refusal> {
    let mut notes = Vec::new();
    let Ok(Some(part)) = package.part(part) else {
        return Ok(notes);
    };
    let mut reader = xml::reader(part);
    let mut buffer = Vec::new();
    let mut authors: Vec<String> = Vec::new();
    let mut at = None;
    let mut author = String::new();
    loop {
        buffer.clear();
        let Ok(event) = reader.read_event_into(&mut buffer) else {
            return Ok(notes);
        };
        match event {
            Event::Start(e) => match e.local_name().as_ref() {
                "author" => {
                    let mut name = String::new();
                    if xml::read_text(&mut reader, &mut buffer, &mut name).is_err() {
                        return Ok(notes);
                    }
                    budget.text(name.len())?;
                    authors.push(name);
                }
                "comment" => {
                    at = attribute(&e, "ref").and_then(|r| super::grid_xml::address(&r));
                    let index = attribute(&e, "authorId").and_then(|i| i.parse::<usize>().ok());
                    author = index
                        .and_then(|i| authors.get(i))
                        .cloned()
                        .unwrap_or_default();
                }
                "text" => {
                    let mut text = String::new();
                    if xml::read_runs(&mut reader, &mut buffer, "text", &mut text).is_err() {
                        return Ok(notes);
                    }
                    budget.text(text.len() + author.len())?;
                    if let Some((row, column)) = at.take() {
                        notes.push(SheetNote {
                            at: (RowIndex(row), ColIndex(column)),
                            author: author.clone(),
                            text,
                        });
                    }
                }
                _ => {}
            },
            Event::Eof => return Ok(notes),
            _ => {}
        }
    }
}
