//! Sheets of another workbook, put behind those of the author with all that
//! they lead to: drawings, charts, pictures. Their strings are written into
//! their cells, so that the author's shared strings stay as they are.

use super::Package;
use super::archive::{Archive, folder_of};
use super::fault::CannotEdit;
use super::relations::{ContentTypes, Relation, Relations, new_list, path_of};
use super::styles::{Grafted, Styles};
use super::workbook::{DefinedName, Workbook, deselect};
use super::xml::{
    Document, Kind, Splices, Tokens, attribute, local, name_of, number, with, without,
};
use std::collections::BTreeMap;

/// Appends the sheets and shows one of them.
pub(super) fn graft(
    package: &mut Package,
    styles: &mut Styles,
    appended: &[u8],
    active: usize,
) -> Result<(), CannotEdit> {
    let mut archive = Archive::open(appended)?;
    let types = ContentTypes::read(&mut archive)?;
    let workbook = Workbook::read(&mut archive, &types)?;
    for sheet in &workbook.sheets {
        let same = |other: &super::workbook::SheetEntry| {
            other.name.to_lowercase() == sheet.name.to_lowercase()
        };
        if package.workbook.sheets.iter().any(same) {
            return Err(CannotEdit::NameTaken {
                sheet: sheet.name.clone(),
            });
        }
    }
    let grafted = match workbook.one("styles") {
        Some(part) => styles.graft(&archive.document(&part)?)?,
        None => Grafted {
            formats: Vec::new(),
            conditions: Vec::new(),
        },
    };
    let mut graft = Graft {
        strings: strings(&mut archive, &workbook)?,
        archive,
        types,
        grafted,
        names: BTreeMap::new(),
    };
    let sheets: Vec<String> = workbook.sheets.iter().map(|s| s.part.clone()).collect();
    graft.name_parts(package, workbook.part(), &sheets)?;
    graft.copy(package, &sheets)?;
    let named: Vec<(String, String)> = workbook
        .sheets
        .iter()
        .filter_map(|sheet| Some((sheet.name.clone(), graft.names.get(&sheet.part)?.clone())))
        .collect();
    for sheet in package.workbook.sheets.clone() {
        deselect(&mut package.archive, &sheet.part)?;
    }
    let first = package.workbook.append(&mut package.archive, &named)?;
    package.workbook.define(&names(&workbook, first)?)?;
    if let Some((_, part)) = named.get(active) {
        package.workbook.show(first + active)?;
        select(&mut package.archive, part)?;
    }
    Ok(())
}

/// What each shared string is, as XML.
fn strings(archive: &mut Archive, workbook: &Workbook) -> Result<Vec<String>, CannotEdit> {
    let Some(part) = workbook.one("sharedStrings") else {
        return Ok(Vec::new());
    };
    let document = archive.document(&part)?;
    let items = document.children_of("si");
    Ok(items
        .map(|item| item.inner(&document.text).to_owned())
        .collect())
}

/// Names of the workbook, as they are spelled behind so many other sheets.
fn names(workbook: &Workbook, first: usize) -> Result<Vec<DefinedName>, CannotEdit> {
    let mut names = workbook.names()?;
    for (attributes, _) in &mut names {
        if let Some(sheet) = attributes.get_mut("localSheetId")
            && let Ok(place) = sheet.parse::<usize>()
        {
            *sheet = (place + first).to_string();
        }
    }
    Ok(names)
}

struct Graft<'a> {
    archive: Archive<'a>,
    types: ContentTypes,
    strings: Vec<String>,
    grafted: Grafted,
    /// Names of the parts there and here.
    names: BTreeMap<String, String>,
}

impl Graft<'_> {
    /// Gives each part that the sheets lead to a name that is free.
    fn name_parts(
        &mut self,
        package: &mut Package,
        workbook: &str,
        sheets: &[String],
    ) -> Result<(), CannotEdit> {
        let from = folder_of(workbook);
        let to = folder_of(package.workbook.part()).to_owned();
        let mut next: std::collections::VecDeque<String> = sheets.iter().cloned().collect();
        while let Some(part) = next.pop_front() {
            if self.names.contains_key(&part) {
                continue;
            }
            let inside = part.strip_prefix(from).unwrap_or(&part);
            let wanted = format!("{to}/{}", inside.trim_start_matches('/'));
            let name = package.archive.free_name(wanted.trim_start_matches('/'));
            // Holds the name until the content comes.
            package.archive.set(&name, Vec::new());
            self.names.insert(part.clone(), name);
            for relation in Relations::of(&mut self.archive, &part)?.list {
                if !relation.external {
                    next.push_back(relation.target);
                }
            }
        }
        Ok(())
    }

    fn copy(&mut self, package: &mut Package, sheets: &[String]) -> Result<(), CannotEdit> {
        for (part, name) in self.names.clone() {
            let content = match sheets.contains(&part) {
                true => self.sheet(&part)?.into_bytes(),
                false => {
                    let content = self.archive.bytes(&part)?;
                    content.ok_or_else(|| CannotEdit::damaged(&part, "the part is missing"))?
                }
            };
            package.archive.set(&name, content);
            if let Some(kind) = self.types.of(&part) {
                package.types.add(&name, &kind)?;
            }
            let relations = Relations::of(&mut self.archive, &part)?.list;
            if !relations.is_empty() {
                let here = |relation: Relation| Relation {
                    target: match self.names.get(&relation.target) {
                        Some(name) if !relation.external => name.clone(),
                        _ => relation.target.clone(),
                    },
                    ..relation
                };
                let relations: Vec<Relation> = relations.into_iter().map(here).collect();
                let list = new_list(&name, &relations);
                package.archive.set(&path_of(&name), list.into_bytes());
            }
        }
        Ok(())
    }

    /// A sheet with the numbers of the styles that it has here, and its
    /// strings in its cells.
    fn sheet(&mut self, part: &str) -> Result<String, CannotEdit> {
        let document = self.archive.document(part)?;
        let text = &document.text;
        let mut splices = Splices::default();
        let mut tokens = Tokens::new(part, text, document.root.inner.clone());
        // A cell of a shared string that is open.
        let mut shared = false;
        let mut index: Option<usize> = None;
        while let Some(token) = tokens.next()? {
            let raw = text.get(token.at.clone()).unwrap_or_default();
            match (token.kind, local(name_of(raw))) {
                (Kind::Start | Kind::Empty, "c") => {
                    shared = attribute(raw, "t").as_deref() == Some("s");
                    let mut tag = self.styled(raw, "s");
                    if shared {
                        tag = with(&tag, "t", "inlineStr");
                    }
                    replace(&mut splices, raw, token.at, tag);
                }
                (Kind::Start, "v") if shared => splices.remove(token.at),
                (Kind::Other, _) if shared => {
                    index = raw.trim().parse().ok();
                    splices.remove(token.at);
                }
                (Kind::End, "v") if shared => {
                    let string = index.take().and_then(|index| self.strings.get(index));
                    let string = string.map_or("", String::as_str);
                    splices.replace(token.at, format!("<is>{string}</is>"));
                    shared = false;
                }
                (Kind::Start | Kind::Empty, "row") => {
                    replace(&mut splices, raw, token.at, self.styled(raw, "s"));
                }
                (Kind::Start | Kind::Empty, "col") => {
                    replace(&mut splices, raw, token.at, self.styled(raw, "style"));
                }
                (Kind::Start | Kind::Empty, "cfRule") => {
                    let old: Option<usize> = number(raw, "dxfId");
                    let new = old.and_then(|old| self.grafted.conditions.get(old));
                    let tag = new.map_or_else(
                        || raw.to_owned(),
                        |new| with(raw, "dxfId", &new.to_string()),
                    );
                    replace(&mut splices, raw, token.at, tag);
                }
                (Kind::Start | Kind::Empty, "sheetView") => {
                    replace(&mut splices, raw, token.at, without(raw, "tabSelected"));
                }
                _ => {}
            }
        }
        Ok(splices.apply(text))
    }

    fn styled(&self, tag: &str, name: &str) -> String {
        let old: Option<usize> = number(tag, name);
        match old.and_then(|old| self.grafted.formats.get(old)) {
            Some(new) => with(tag, name, &new.to_string()),
            None => tag.to_owned(),
        }
    }
}

fn replace(splices: &mut Splices, raw: &str, at: std::ops::Range<usize>, tag: String) {
    if tag != raw {
        splices.replace(at, tag);
    }
}

/// Marks a sheet as the one selected.
fn select(archive: &mut Archive, part: &str) -> Result<(), CannotEdit> {
    let document: Document = archive.document(part)?;
    let mut splices = Splices::default();
    if let Some(views) = document.child("sheetViews") {
        for view in document.elements_in(views)? {
            let tag = with(view.tag(&document.text), "tabSelected", "1");
            splices.replace(view.tag.clone(), tag);
        }
    }
    let text = splices.apply(&document.text);
    archive.set(part, text.into_bytes());
    Ok(())
}
