//! Sheets of another workbook, put behind those of the author with all that
//! they lead to: drawings, charts, pictures. Their strings are written into
//! their cells, so that the author's shared strings stay as they are.

use super::Package;
use super::archive::{Archive, folder_of};
use super::fault::CannotEdit;
use super::relations::{ContentTypes, Relation, Relations, new_list, path_of};
use super::renumber::{Renumber, Strings};
use super::styles::{Grafted, Styles};
use super::workbook::{DefinedName, Workbook, deselect};
use std::collections::{BTreeMap, BTreeSet, VecDeque};

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
    let theirs = package.workbook.sheets.iter();
    let theirs: BTreeSet<String> = theirs.map(|sheet| sheet.name.to_lowercase()).collect();
    let mut sheets = workbook.sheets.iter();
    if let Some(sheet) = sheets.find(|sheet| theirs.contains(&sheet.name.to_lowercase())) {
        return Err(CannotEdit::NameTaken {
            sheet: sheet.name.clone(),
        });
    }
    let grafted = match workbook.one("styles") {
        Some(part) => styles.graft(&archive.document(&part)?)?,
        None => Grafted::default(),
    };
    let written = |places: &[usize]| places.iter().map(usize::to_string).collect();
    let renumber = Renumber {
        formats: written(&grafted.formats),
        conditions: written(&grafted.conditions),
        strings: Strings::read(&mut archive, workbook.one("sharedStrings").as_deref())?,
    };
    let mut graft = Graft {
        archive,
        types,
        renumber,
        parts: BTreeMap::new(),
    };
    let parts = || workbook.sheets.iter().map(|sheet| sheet.part.as_str());
    graft.name_parts(package, workbook.part(), parts())?;
    let sheets: BTreeMap<&str, bool> = parts()
        .enumerate()
        .map(|(place, part)| (part, place == active))
        .collect();
    graft.copy(package, &sheets)?;
    let named: Vec<(&str, &str)> = workbook
        .sheets
        .iter()
        .filter_map(|sheet| {
            Some((
                sheet.name.as_str(),
                graft.parts.get(&sheet.part)?.name.as_str(),
            ))
        })
        .collect();
    let theirs = package.workbook.sheets.iter();
    let theirs: Vec<String> = theirs.map(|sheet| sheet.part.clone()).collect();
    for part in &theirs {
        deselect(&mut package.archive, part)?;
    }
    let shown = (active < named.len()).then_some(theirs.len() + active);
    let names = names(&workbook, theirs.len())?;
    package
        .workbook
        .append(&mut package.archive, &named, &names, shown)
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

/// A part that is taken over.
struct Part {
    /// Its name here.
    name: String,
    /// What it leads to there.
    relations: Vec<Relation>,
}

struct Graft<'a> {
    archive: Archive<'a>,
    types: ContentTypes,
    renumber: Renumber,
    /// By their names there.
    parts: BTreeMap<String, Part>,
}

impl Graft<'_> {
    /// Gives each part that the sheets lead to a name that is free.
    fn name_parts<'s>(
        &mut self,
        package: &mut Package,
        workbook: &str,
        sheets: impl Iterator<Item = &'s str>,
    ) -> Result<(), CannotEdit> {
        let from = folder_of(workbook);
        let to = folder_of(package.workbook.part()).to_owned();
        let mut next: VecDeque<String> = sheets.map(str::to_owned).collect();
        while let Some(part) = next.pop_front() {
            if self.parts.contains_key(&part) {
                continue;
            }
            let inside = part.strip_prefix(from).unwrap_or(&part);
            let wanted = format!("{to}/{}", inside.trim_start_matches('/'));
            let name = package.archive.free_name(wanted.trim_start_matches('/'));
            // Holds the name until the content comes.
            package.archive.set(&name, Vec::new());
            let relations = Relations::of(&mut self.archive, &part)?.list;
            let inside = relations.iter().filter(|relation| !relation.external);
            next.extend(inside.map(|relation| relation.target.clone()));
            self.parts.insert(part, Part { name, relations });
        }
        Ok(())
    }

    /// `sheets` are the parts that are sheets, and whether it is the one in
    /// front.
    fn copy(
        &mut self,
        package: &mut Package,
        sheets: &BTreeMap<&str, bool>,
    ) -> Result<(), CannotEdit> {
        for (part, Part { name, relations }) in &self.parts {
            let content = match sheets.get(part.as_str()) {
                Some(in_front) => {
                    let text = self.archive.text(part)?;
                    text.map(|text| self.renumber.sheet(part, &text, *in_front))
                        .transpose()?
                        .map(String::into_bytes)
                }
                None => self.archive.bytes(part)?,
            };
            let missing = || CannotEdit::damaged(part, "the part is missing");
            package.archive.set(name, content.ok_or_else(missing)?);
            if let Some(kind) = self.types.of(part) {
                package.types.add(name, kind);
            }
            if !relations.is_empty() {
                let here = |relation: &Relation| Relation {
                    target: match self.parts.get(&relation.target) {
                        Some(part) if !relation.external => part.name.clone(),
                        _ => relation.target.clone(),
                    },
                    ..relation.clone()
                };
                let relations: Vec<Relation> = relations.iter().map(here).collect();
                let list = new_list(name, &relations);
                package.archive.set(&path_of(name), list.into_bytes());
            }
        }
        Ok(())
    }
}
