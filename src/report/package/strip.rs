//! Takes out what an earlier marking left: sheets, names, columns, marks,
//! links and notes of ours, also after another program saved the file.

use super::cells::{At, OurStrings, Row, cells_of, names_us, parse_range, walk};
use super::columns::Columns;
use super::fault::CannotEdit;
use super::relations::Relations;
use super::sheet::priorities;
use super::xml::{Document, Element, Splices, attributes, local, with};
use super::{OUR_CONDITION, Package, notes};
use crate::report::ours;
use std::collections::{BTreeMap, BTreeSet};

pub(super) fn strip(package: &mut Package) -> Result<(), CannotEdit> {
    let strings = strings(package)?;
    let (gone, marked) = looked_through(package, &strings)?;
    let under_ours = package.workbook.kept()?;
    remove_sheets(package, &gone)?;
    package.workbook.forget(&mut package.archive, &gone)?;
    for part in marked {
        let under_ours = under_ours.get(&part).map_or("", String::as_str);
        strip_sheet(package, &part, &strings, under_ours)?;
    }
    Ok(())
}

fn strings(package: &mut Package) -> Result<OurStrings, CannotEdit> {
    let Some(part) = package.workbook.one("sharedStrings") else {
        return Ok(OurStrings::default());
    };
    let text = package.archive.text(&part)?.unwrap_or_default();
    OurStrings::read(&part, &text)
}

/// Sheets of ours, by their place: their first cell says so.
pub(super) fn our_sheets(package: &mut Package) -> Result<BTreeSet<usize>, CannotEdit> {
    let strings = strings(package)?;
    Ok(looked_through(package, &strings)?.0)
}

/// Sheets of ours, by their place, and parts of others that may have marks of
/// ours.
fn looked_through(
    package: &mut Package,
    strings: &OurStrings,
) -> Result<(BTreeSet<usize>, Vec<String>), CannotEdit> {
    let (mut ours, mut marked) = (BTreeSet::new(), Vec::new());
    let sheets = package.workbook.sheets.iter().enumerate();
    let parts: Vec<(usize, String)> = sheets
        .filter(|(_, sheet)| sheet.cells)
        .map(|(index, sheet)| (index, sheet.part.clone()))
        .collect();
    for (index, part) in parts {
        let text = package.archive.text(&part)?.unwrap_or_default();
        let named = !strings.is_empty() || names_us(&text);
        if named {
            let first = first_cell(&Document::new(&part, text)?, strings)?;
            if first.is_some_and(|text| text.starts_with(ours::PREFIX)) {
                ours.insert(index);
                continue;
            }
        }
        let relations = Relations::of(&mut package.archive, &part)?;
        if named || relations.first("comments").is_some() {
            marked.push(part);
        }
    }
    Ok((ours, marked))
}

/// What A1 says, where our name is in it.
fn first_cell(document: &Document, strings: &OurStrings) -> Result<Option<String>, CannotEdit> {
    let (part, text) = (&document.part, &document.text);
    let Some(data) = document.child("sheetData") else {
        return Ok(None);
    };
    let Some(row) = document.elements_in(data)?.into_iter().next() else {
        return Ok(None);
    };
    let row = Row {
        number: 0,
        element: row,
    };
    if row.element.attribute(text, "r").is_some_and(|r| r != "1") {
        return Ok(None);
    }
    let cells = cells_of(part, text, &row)?;
    match cells.first().filter(|cell| cell.column == 0) {
        Some(cell) => strings.of_cell(part, text, &cell.element),
        None => Ok(None),
    }
}

/// Removes sheets with all the parts that nothing else leads to.
fn remove_sheets(package: &mut Package, gone: &BTreeSet<usize>) -> Result<(), CannotEdit> {
    if gone.is_empty() {
        return Ok(());
    }
    let sheets: Vec<(String, u32)> = gone
        .iter()
        .filter_map(|index| package.workbook.sheets.get(*index))
        .map(|sheet| (sheet.part.clone(), sheet.id))
        .collect();
    let mut doomed: BTreeSet<String> = sheets.iter().map(|(part, _)| part.clone()).collect();
    let mut next: Vec<String> = doomed.iter().cloned().collect();
    while let Some(part) = next.pop() {
        for relation in Relations::of(&mut package.archive, &part)?.list {
            if !relation.external && doomed.insert(relation.target.clone()) {
                next.push(relation.target);
            }
        }
    }
    // What the author's parts lead to stays, and all that it leads to.
    let mut kept = BTreeSet::new();
    let names = package.archive.names();
    let mut next: Vec<String> = names
        .into_iter()
        .filter(|name| !name.ends_with(".rels") && !doomed.contains(name))
        .collect();
    while let Some(part) = next.pop() {
        let of_workbook = part == package.workbook.part();
        for relation in Relations::of(&mut package.archive, &part)?.list {
            let sheet = of_workbook && sheets.iter().any(|(part, _)| *part == relation.target);
            if !relation.external
                && !sheet
                && doomed.contains(&relation.target)
                && kept.insert(relation.target.clone())
            {
                next.push(relation.target);
            }
        }
    }
    for part in doomed.difference(&kept) {
        package.archive.remove(part);
        package.archive.remove(&super::relations::path_of(part));
        package.types.forget(part);
    }
    forget_calculations(package, &sheets)
}

/// The order of calculation names sheets by their number: where it names one
/// that is gone it goes as well, and is made anew by the program.
fn forget_calculations(package: &mut Package, gone: &[(String, u32)]) -> Result<(), CannotEdit> {
    let Some(relation) = package.workbook.relations.first("calcChain").cloned() else {
        return Ok(());
    };
    let chain = package.archive.document(&relation.target)?;
    let named = chain.children.iter().any(|cell| {
        let sheet = cell.attribute(&chain.text, "i");
        gone.iter()
            .any(|(_, id)| sheet.as_deref() == Some(id.to_string().as_str()))
    });
    if named {
        package.archive.remove(&relation.target);
        package.types.forget(&relation.target);
        package
            .workbook
            .relations
            .remove(&mut package.archive, &relation.id)?;
    }
    Ok(())
}

fn strip_sheet(
    package: &mut Package,
    part: &str,
    strings: &OurStrings,
    under_ours: &str,
) -> Result<(), CannotEdit> {
    let mut relations = Relations::of(&mut package.archive, part)?;
    let text = package.archive.text(part)?.unwrap_or_default();
    let ours = names_us(&text) || !strings.is_empty();
    let document = Document::new(part, text)?;
    let mut splices = Splices::default();
    if ours {
        strip_conditions(&document, &mut splices)?;
        let columns = OurColumns::find(&document, strings)?;
        if !columns.from.is_empty() {
            strip_columns(&document, &columns, under_ours, &mut splices)?;
        }
    }
    if let Some(at) = notes::strip(package, &mut relations, &document)? {
        splices.remove(at);
    }
    if !splices.is_empty() {
        let text = splices.apply(&document.text);
        package.archive.set(part, text.into_bytes());
    }
    Ok(())
}

fn strip_conditions(document: &Document, splices: &mut Splices) -> Result<(), CannotEdit> {
    let text = &document.text;
    let is_ours = |rule: &Element| -> Result<bool, CannotEdit> {
        if rule.name(text) != "cfRule" || !rule.inner(text).contains("ampledger") {
            return Ok(false);
        }
        let formulas = document.elements_in(rule)?;
        Ok(formulas.iter().any(|formula| {
            let formula = super::xml::unescape(formula.inner(text));
            let formula: String = formula.chars().filter(|c| !c.is_whitespace()).collect();
            formula.trim_start_matches('=') == OUR_CONDITION
        }))
    };
    let mut gone = Vec::new();
    for list in document.children_of("conditionalFormatting") {
        let rules = document.elements_in(list)?;
        let mut ours = Vec::new();
        for rule in &rules {
            if is_ours(rule)? {
                ours.push(rule.at.clone());
                gone.push(rule.tag.clone());
            }
        }
        if ours.len() == rules.len() && !ours.is_empty() {
            splices.remove(list.at.clone());
        } else {
            ours.into_iter().for_each(|at| splices.remove(at));
        }
    }
    if gone.is_empty() {
        return Ok(());
    }
    // The author's conditions were numbered behind ours.
    let (ours, theirs): (Vec<_>, Vec<_>) = priorities(document)?
        .into_iter()
        .partition(|(at, _)| gone.contains(at));
    for (at, priority) in theirs {
        let before = ours.iter().filter(|(_, ours)| *ours < priority).count();
        if before > 0 {
            let tag = text.get(at.clone()).unwrap_or_default();
            let now = priority.saturating_sub(before as i64).to_string();
            splices.replace(at, with(tag, "priority", &now));
        }
    }
    Ok(())
}

/// Columns with a heading of ours, the first row of it, and the column that
/// has the ids.
#[derive(Default)]
struct OurColumns {
    from: BTreeMap<u16, u32>,
    ids: Option<u16>,
    /// Rows above a heading that have an id all the same: findings at what
    /// stands above a table.
    above: BTreeSet<u32>,
}

impl OurColumns {
    fn find(document: &Document, strings: &OurStrings) -> Result<Self, CannotEdit> {
        let (part, text) = (&document.part, &document.text);
        let mut columns = Self::default();
        let Some(data) = document.child("sheetData") else {
            return Ok(columns);
        };
        let see = |row, cell: super::cells::Cell| {
            if !cell.has_value || cell.column == 0 || columns.from.contains_key(&cell.column) {
                return Ok(());
            }
            let says = strings.of_cell(part, text, &cell.element)?;
            if let Some(says) = says.filter(|says| ours::COLUMNS.contains(&says.as_str())) {
                columns.from.insert(cell.column, row);
                if says == ours::ROW_IDS {
                    columns.ids = Some(cell.column);
                }
            }
            Ok(())
        };
        walk(part, text, data.inner.clone(), None, see, |_| {})?;
        let ids = columns.ids;
        let see = |row, cell: super::cells::Cell| {
            if cell.has_value && Some(cell.column) == ids {
                columns.above.insert(row);
            }
            Ok(())
        };
        if ids.is_some() {
            walk(part, text, data.inner.clone(), None, see, |_| {})?;
        }
        Ok(columns)
    }

    fn has(&self, (row, column): At) -> bool {
        let from = self.from.get(&column);
        from.is_some_and(|from| row >= *from || self.above.contains(&row))
    }
}

fn strip_columns(
    document: &Document,
    ours: &OurColumns,
    under_ours: &str,
    splices: &mut Splices,
) -> Result<(), CannotEdit> {
    let (part, text) = (&document.part, &document.text);
    let mut cells: BTreeMap<u32, Vec<std::ops::Range<usize>>> = BTreeMap::new();
    let (mut theirs, mut written) = (BTreeSet::new(), BTreeSet::new());
    let mut rows = Vec::new();
    let Some(data) = document.child("sheetData") else {
        return Ok(());
    };
    let see = |row, cell: super::cells::Cell| {
        if cell.has_value && ours.has((row, cell.column)) {
            written.insert(row);
        }
        match ours.has((row, cell.column)) {
            true => cells.entry(row).or_default().push(cell.element.at),
            false => drop(theirs.insert(row)),
        }
        Ok(())
    };
    walk(part, text, data.inner.clone(), None, see, |row| {
        rows.push(row);
    })?;
    for row in rows {
        // Where nothing is written, a dressed blank is the author's.
        let cells = cells
            .get(&row.number)
            .filter(|_| written.contains(&row.number));
        let Some(cells) = cells else { continue };
        // A row that we made says its number, at most its height.
        let tag = row.element.tag(text);
        let names = || attributes(tag).map(|attribute| local(attribute.name));
        let bare =
            names().any(|name| name == "r") && names().all(|name| matches!(name, "r" | "ht"));
        match bare && !theirs.contains(&row.number) {
            true => splices.remove(row.element.at.clone()),
            false => cells.iter().for_each(|at| splices.remove(at.clone())),
        }
    }
    strip_links(document, ours, splices)?;
    if let Some(list) = document.child("cols") {
        let mut columns = Columns::read(document, Some(list));
        columns.heal(&ours.from.keys().copied().collect());
        columns.restore(under_ours, document.prefix());
        match columns.is_empty() {
            true => splices.remove(list.at.clone()),
            false => splices.replace(list.inner.clone(), columns.xml()),
        }
    }
    Ok(())
}

fn strip_links(
    document: &Document,
    ours: &OurColumns,
    splices: &mut Splices,
) -> Result<(), CannotEdit> {
    let Some(list) = document.child("hyperlinks") else {
        return Ok(());
    };
    let links = document.elements_in(list)?;
    let gone: Vec<&Element> = links
        .iter()
        .filter(|link| {
            let range = link.attribute(&document.text, "ref");
            let range = range.as_deref().and_then(parse_range);
            range.is_some_and(|(first, _)| ours.has(first))
        })
        .collect();
    if gone.len() == links.len() {
        splices.remove(list.at.clone());
    } else {
        gone.iter().for_each(|link| splices.remove(link.at.clone()));
    }
    Ok(())
}
