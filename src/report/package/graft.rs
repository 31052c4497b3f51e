//! Sheets of another workbook, put behind those of the author with all that
//! they lead to: drawings, charts, pictures. Their strings are written into
//! their cells, so that the author's shared strings stay as they are.

use super::Package;
use super::archive::{Archive, folder_of};
use super::fault::CannotEdit;
use super::relations::{ContentTypes, Relation, Relations, new_list, path_of};
use super::styles::{Grafted, Styles};
use super::workbook::{DefinedName, Workbook, deselect};
use super::xml::{Document, Splices, attributes, name_of, number, with, without};
use std::collections::BTreeMap;
use std::fmt::Write;

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

/// What each shared string is, as XML. As rust_xlsxwriter writes it: no item
/// has attributes, none holds another.
fn strings(archive: &mut Archive, workbook: &Workbook) -> Result<Vec<String>, CannotEdit> {
    let Some(part) = workbook.one("sharedStrings") else {
        return Ok(Vec::new());
    };
    let text = archive.text(&part)?.unwrap_or_default();
    let items = text.split("<si>").skip(1).map(|item| {
        let inner = item.split_once("</si>");
        inner.map(|(inner, _)| inner.to_owned())
    });
    let strings: Option<Vec<String>> = items.collect();
    strings.ok_or_else(|| CannotEdit::damaged(&part, "a string is not closed"))
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
    ///
    /// One pass over the text, since this is most of what grafting does: a
    /// sheet of ours is what rust_xlsxwriter wrote a moment ago, and has no
    /// comments, no data sections and no prefixes.
    fn sheet(&mut self, part: &str) -> Result<String, CannotEdit> {
        let text = self.archive.text(part)?;
        let text = text.ok_or_else(|| CannotEdit::damaged(part, "the part is missing"))?;
        let mut out = String::with_capacity(text.len() * 2);
        let mut rest = text.as_str();
        while let Some(at) = memchr::memchr(b'<', rest.as_bytes()) {
            let (before, tagged) = rest.split_at(at);
            out.push_str(before);
            let end = end_of_tag(tagged);
            let end = end.ok_or_else(|| CannotEdit::damaged(part, "a tag is not closed"))?;
            let (tag, after) = tagged.split_at(end);
            rest = after;
            match name_of(tag) {
                "c" if !tag.starts_with("</") => rest = self.cell(part, tag, after, &mut out)?,
                "row" => out.push_str(&self.styled(tag, "s")),
                "col" => out.push_str(&self.styled(tag, "style")),
                "cfRule" => {
                    let old: Option<usize> = number(tag, "dxfId");
                    match old.and_then(|old| self.grafted.conditions.get(old)) {
                        Some(new) => out.push_str(&with(tag, "dxfId", &new.to_string())),
                        None => out.push_str(tag),
                    }
                }
                "sheetView" => out.push_str(&without(tag, "tabSelected")),
                _ => out.push_str(tag),
            }
        }
        out.push_str(rest);
        Ok(out)
    }

    /// Writes a cell's tag, and its string where it shares one; what comes
    /// after.
    fn cell<'t>(
        &self,
        part: &str,
        tag: &str,
        after: &'t str,
        out: &mut String,
    ) -> Result<&'t str, CannotEdit> {
        let mut shared = false;
        let end = if tag.ends_with("/>") { "/>" } else { ">" };
        out.push_str("<c");
        for attribute in attributes(tag) {
            let value = match attribute.name {
                "s" => {
                    let new = attribute.value.parse().ok();
                    let new = new.and_then(|old: usize| self.grafted.formats.get(old));
                    if let Some(new) = new {
                        let _ = write!(out, " s=\"{new}\"");
                        continue;
                    }
                    attribute.value
                }
                "t" if attribute.value == "s" => {
                    shared = true;
                    "inlineStr"
                }
                _ => attribute.value,
            };
            let _ = write!(out, " {}=\"{value}\"", attribute.name);
        }
        out.push_str(end);
        if !shared || end == "/>" {
            return Ok(after);
        }
        let index = after
            .strip_prefix("<v>")
            .and_then(|rest| rest.split_once("</v>"));
        let string = index.and_then(|(index, after)| {
            let string = self.strings.get(index.parse::<usize>().ok()?)?;
            Some((string, after))
        });
        let (string, after) =
            string.ok_or_else(|| CannotEdit::damaged(part, "a cell without its string"))?;
        out.push_str("<is>");
        out.push_str(string);
        out.push_str("</is>");
        Ok(after)
    }

    fn styled(&self, tag: &str, name: &str) -> String {
        let old: Option<usize> = number(tag, name);
        match old.and_then(|old| self.grafted.formats.get(old)) {
            Some(new) => with(tag, name, &new.to_string()),
            None => tag.to_owned(),
        }
    }
}

/// How long the tag is that a text begins with; an attribute may hold the
/// sign that ends one.
fn end_of_tag(text: &str) -> Option<usize> {
    let mut quote = None;
    for at in memchr::memchr3_iter(b'>', b'"', b'\'', text.as_bytes()) {
        let found = text.as_bytes().get(at);
        match quote {
            None if found == Some(&b'>') => return Some(at + 1),
            None => quote = found,
            Some(_) if quote == found => quote = None,
            Some(_) => {}
        }
    }
    None
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
