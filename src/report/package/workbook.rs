//! The workbook part: which sheets there are, names, and which is shown.

use super::HIGHEST_ID;
use super::archive::Archive;
use super::cells::{At, letters};
use super::fault::CannotEdit;
use super::relations::{ContentTypes, Relations};
use super::xml::{
    Document, Element, Kind, Splices, Tokens, attributes, escape, flag, local, name_of, number,
    with, without,
};
use std::collections::{BTreeMap, BTreeSet};

/// What our names of the whole workbook begin with.
const OUR_NAMES: &str = "_ampledger_";
/// What was said of the author's columns under ours, a name a sheet.
const UNDER_OURS: &str = "_ampledger_under_our_columns";
/// Of a text in a formula.
const LONGEST_TEXT: usize = 255;
/// By its comment a name is known that has to be called as the standard says.
const OUR_COMMENT: &str = "ampledger: what the author's pages show";
/// ECMA-376 part 1, 18.2.5: the area of a sheet that is printed.
const PRINT_AREA: &str = "_xlnm.Print_Area";
const STRICT: &str = "http://purl.oclc.org/ooxml/";

/// Order of a workbook's children in the schema.
pub(super) const ORDER: [&str; 17] = [
    "fileVersion",
    "fileSharing",
    "workbookPr",
    "workbookProtection",
    "bookViews",
    "sheets",
    "functionGroups",
    "externalReferences",
    "definedNames",
    "calcPr",
    "oleSize",
    "customWorkbookViews",
    "pivotCaches",
    "smartTagPr",
    "smartTagTypes",
    "webPublishing",
    "extLst",
];

/// A defined name: its attributes, and what it stands for.
pub(super) type DefinedName = (BTreeMap<String, String>, String);

#[derive(Clone, Debug)]
pub(super) struct SheetEntry {
    pub name: String,
    pub id: u32,
    pub relation: String,
    pub part: String,
    /// A sheet of cells, by its relationship.
    pub cells: bool,
}

pub(super) struct Workbook {
    document: Document,
    pub relations: Relations,
    pub sheets: Vec<SheetEntry>,
}

impl Workbook {
    /// Finds and reads the workbook of a package.
    ///
    /// # Errors
    /// Signed, strict, shared, binary; or no workbook can be found.
    pub fn read(archive: &mut Archive, types: &ContentTypes) -> Result<Self, CannotEdit> {
        let package = Relations::of(archive, "")?;
        let signed = |kind: &str| kind.contains("/digital-signature/");
        if package.list.iter().any(|relation| signed(&relation.kind)) {
            return Err(CannotEdit::Signed);
        }
        let main = package
            .first("officeDocument")
            .ok_or(CannotEdit::NotAPackage)?;
        if main.kind.starts_with(STRICT) {
            return Err(CannotEdit::Strict);
        }
        let part = main.target.clone();
        match types.of(&part) {
            Some(kind) if kind.contains(".binary.") => return Err(CannotEdit::Binary),
            Some(kind) if !kind.ends_with("main+xml") => return Err(CannotEdit::NotAPackage),
            _ => {}
        }
        let document = archive.document(&part)?;
        if document.root_name() != "workbook" {
            return Err(CannotEdit::NotAPackage);
        }
        if attributes(document.root.tag(&document.text)).any(|a| a.value.starts_with(STRICT)) {
            return Err(CannotEdit::Strict);
        }
        let relations = Relations::of(archive, &part)?;
        if relations.list.iter().any(|r| r.is("revisionHeaders")) {
            return Err(CannotEdit::Shared);
        }
        let mut workbook = Self {
            document,
            relations,
            sheets: Vec::new(),
        };
        workbook.sheets = workbook.entries()?;
        Ok(workbook)
    }

    fn entries(&self) -> Result<Vec<SheetEntry>, CannotEdit> {
        let text = &self.document.text;
        let mut sheets = Vec::new();
        for sheet in self.sheet_elements()? {
            let missing = || CannotEdit::damaged(&self.document.part, "a sheet leads nowhere");
            let relation = relation_of(sheet.tag(text)).ok_or_else(missing)?;
            let target = self.relations.by_id(&relation).ok_or_else(missing)?;
            let name = sheet.attribute(text, "name").unwrap_or_default();
            sheets.push(SheetEntry {
                name: name.into_owned(),
                id: number(sheet.tag(text), "sheetId").unwrap_or(0),
                part: target.target.clone(),
                cells: target.is("worksheet"),
                relation,
            });
        }
        Ok(sheets)
    }

    fn sheet_elements(&self) -> Result<Vec<Element>, CannotEdit> {
        let sheets = self.document.child("sheets").cloned();
        let sheets = sheets
            .map(|sheets| self.document.elements_in(&sheets))
            .transpose()?;
        let mut sheets = sheets.unwrap_or_default();
        sheets.retain(|sheet| sheet.name(&self.document.text) == "sheet");
        Ok(sheets)
    }

    pub fn part(&self) -> &str {
        &self.document.part
    }

    /// The part of a kind that the workbook has one of: `styles`.
    pub fn one(&self, kind: &str) -> Option<String> {
        self.relations.first(kind).map(|r| r.target.clone())
    }

    pub fn sheet(&self, name: &str) -> Option<&SheetEntry> {
        self.sheets.iter().find(|sheet| sheet.name == name)
    }

    pub fn write(&self, archive: &mut Archive) {
        archive.set(self.part(), self.document.text.clone().into_bytes());
    }

    fn edit(&mut self, splices: Splices) -> Result<(), CannotEdit> {
        if splices.is_empty() {
            return Ok(());
        }
        self.document = self.document.clone().edited(splices)?;
        self.sheets = self.entries()?;
        Ok(())
    }

    /// Forgets sheets of ours, by their place, and names of ours.
    pub fn forget(
        &mut self,
        archive: &mut Archive,
        gone: &BTreeSet<usize>,
    ) -> Result<(), CannotEdit> {
        let mut splices = Splices::default();
        for (index, sheet) in self.sheet_elements()?.iter().enumerate() {
            if gone.contains(&index) {
                splices.remove(sheet.at.clone());
            }
        }
        self.forget_names(gone, &mut splices)?;
        if !gone.is_empty() {
            self.shift_views(gone, &mut splices)?;
        }
        let relations: Vec<String> = self
            .sheets
            .iter()
            .enumerate()
            .filter(|(index, _)| gone.contains(index))
            .map(|(_, sheet)| sheet.relation.clone())
            .collect();
        self.edit(splices)?;
        for relation in relations {
            self.relations.remove(archive, &relation)?;
        }
        Ok(())
    }

    fn forget_names(
        &self,
        gone: &BTreeSet<usize>,
        splices: &mut Splices,
    ) -> Result<(), CannotEdit> {
        let Some(names) = self.document.child("definedNames") else {
            return Ok(());
        };
        let text = &self.document.text;
        let all = self.document.elements_in(names)?;
        let mut left = all.len();
        let mut inside = Splices::default();
        for name in &all {
            let tag = name.tag(text);
            let ours = name.attribute(text, "name");
            let comment = name.attribute(text, "comment");
            let ours = ours.is_some_and(|name| name.starts_with(OUR_NAMES))
                || comment.is_some_and(|comment| comment == OUR_COMMENT);
            let sheet: Option<usize> = number(tag, "localSheetId");
            if ours || sheet.is_some_and(|sheet| gone.contains(&sheet)) {
                inside.remove(name.at.clone());
                left -= 1;
            } else if let Some(sheet) = sheet {
                let before = gone.range(..sheet).count();
                if before > 0 {
                    let tag = with(tag, "localSheetId", &(sheet - before).to_string());
                    inside.replace(name.tag.clone(), tag);
                }
            }
        }
        if left == 0 && !all.is_empty() {
            splices.remove(names.at.clone());
        } else {
            splices.absorb(inside);
        }
        Ok(())
    }

    /// The sheet shown was one of ours, or has another place now.
    fn shift_views(&self, gone: &BTreeSet<usize>, splices: &mut Splices) -> Result<(), CannotEdit> {
        for view in self.views()? {
            let mut tag = view.tag(&self.document.text).to_owned();
            for name in ["activeTab", "firstSheet"] {
                let Some(shown) = number::<usize>(&tag, name) else {
                    continue;
                };
                let now = match gone.contains(&shown) {
                    true => 0,
                    false => shown - gone.range(..shown).count(),
                };
                tag = with(&tag, name, &now.to_string());
            }
            splices.replace(view.tag.clone(), tag);
        }
        Ok(())
    }

    fn views(&self) -> Result<Vec<Element>, CannotEdit> {
        let views = self.document.child("bookViews").cloned();
        let views = views
            .map(|views| self.document.elements_in(&views))
            .transpose()?;
        Ok(views.unwrap_or_default())
    }

    /// Adds sheets behind the others, each its name and part, with names that
    /// are about them; `shown` is the place of the one in front when the
    /// workbook is opened.
    pub fn append(
        &mut self,
        archive: &mut Archive,
        sheets: &[(&str, &str)],
        names: &[DefinedName],
        shown: Option<usize>,
    ) -> Result<(), CannotEdit> {
        let ids = self.sheets.iter().map(|sheet| sheet.id);
        let highest = ids.filter(|id| *id < HIGHEST_ID).max().unwrap_or(0);
        let attribute = self.relation_attribute()?;
        let kind = format!("{}/worksheet", super::relations::OFFICE);
        let parts: Vec<&str> = sheets.iter().map(|(_, part)| *part).collect();
        let relations = self.relations.add_all(archive, &kind, &parts)?;
        let mut xml = String::new();
        for (id, ((name, _), relation)) in (highest + 1..).zip(sheets.iter().zip(relations)) {
            xml.push_str(&format!(
                "<sheet name=\"{}\" sheetId=\"{id}\" {attribute}=\"{relation}\"/>",
                escape(name)
            ));
        }
        let mut splices = Splices::default();
        if let Some(shown) = shown {
            self.show(shown, &mut splices)?;
        }
        self.document
            .append_to("sheets", &ORDER, &xml, &mut splices);
        self.define(names, &mut splices);
        self.edit(splices)
    }

    /// `r:id`, as this workbook spells it.
    fn relation_attribute(&self) -> Result<String, CannotEdit> {
        let text = &self.document.text;
        for sheet in self.sheet_elements()? {
            let mut all = attributes(sheet.tag(text));
            if let Some(found) = all.find(|a| is_relation(a.name))
                && attributes(self.document.root.tag(text))
                    .any(|a| a.name.strip_prefix("xmlns:") == found.name.split(':').next())
            {
                return Ok(found.name.to_owned());
            }
        }
        Ok(format!("xmlns:r=\"{}\" r:id", super::relations::OFFICE))
    }

    /// Adds names, each its attributes and what it stands for.
    fn define(&self, names: &[DefinedName], splices: &mut Splices) {
        if names.is_empty() {
            return;
        }
        let mut xml = String::new();
        for (attributes, stands_for) in names {
            xml.push_str("<definedName");
            for (name, value) in attributes {
                xml.push_str(&format!(" {name}=\"{}\"", escape(value)));
            }
            xml.push_str(&format!(">{}</definedName>", escape(stands_for)));
        }
        self.document
            .append_to("definedNames", &ORDER, &xml, splices);
    }

    /// Prints the cells of sheets up to one cell alone, each by its name,
    /// where the author set no area: our columns would be pages of their own.
    pub fn print_up_to(&mut self, ends: &[(String, At)]) -> Result<(), CannotEdit> {
        if ends.is_empty() {
            return Ok(());
        }
        let names = self.names()?;
        let areas = ends.iter().filter_map(|(name, end)| {
            let mut sheets = self.sheets.iter();
            let place = sheets.position(|sheet| sheet.name == *name)?.to_string();
            let set = names.iter().any(|(attributes, _)| {
                attributes
                    .get("name")
                    .is_some_and(|name| name == PRINT_AREA)
                    && attributes.get("localSheetId") == Some(&place)
            });
            let attributes = [
                ("name", PRINT_AREA),
                ("comment", OUR_COMMENT),
                ("localSheetId", place.as_str()),
            ];
            let attributes = attributes.map(|(name, value)| (name.to_owned(), value.to_owned()));
            let quoted = name.replace('\'', "''");
            let (row, column) = (end.0 + 1, letters(end.1));
            let area = format!("'{quoted}'!$A$1:${column}${row}");
            (!set).then(|| (attributes.into(), area))
        });
        let areas: Vec<DefinedName> = areas.collect();
        let mut splices = Splices::default();
        self.define(&areas, &mut splices);
        self.edit(splices)
    }

    /// Keeps a text with each of these sheets. One that is too long is not kept.
    pub fn keep(&mut self, texts: &[(String, String)]) -> Result<(), CannotEdit> {
        let names = texts.iter().filter_map(|(sheet, text)| {
            let place = self.sheets.iter().position(|other| other.name == *sheet)?;
            let attributes = [
                ("name", UNDER_OURS.to_owned()),
                ("hidden", "1".to_owned()),
                ("localSheetId", place.to_string()),
            ];
            let attributes = attributes.map(|(name, value)| (name.to_owned(), value));
            let fits = !text.is_empty() && text.len() <= LONGEST_TEXT;
            fits.then(|| (attributes.into(), format!("\"{text}\"")))
        });
        let names: Vec<DefinedName> = names.collect();
        let mut splices = Splices::default();
        self.define(&names, &mut splices);
        self.edit(splices)
    }

    /// The texts that were kept, by the part of the sheet.
    pub fn kept(&self) -> Result<BTreeMap<String, String>, CannotEdit> {
        let names = self.names()?.into_iter().filter_map(|(attributes, text)| {
            let ours = attributes
                .get("name")
                .is_some_and(|name| name == UNDER_OURS);
            let place: usize = attributes.get("localSheetId")?.parse().ok()?;
            let part = self.sheets.get(place)?.part.clone();
            ours.then(|| (part, text.trim().trim_matches('"').to_owned()))
        });
        Ok(names.collect())
    }

    /// The names defined: attributes and what each stands for.
    pub fn names(&self) -> Result<Vec<DefinedName>, CannotEdit> {
        let Some(names) = self.document.child("definedNames") else {
            return Ok(Vec::new());
        };
        let text = &self.document.text;
        let names = self.document.elements_in(names)?;
        let name = |name: &Element| {
            let all = attributes(name.tag(text)).map(|a| {
                let value = super::xml::unescape(a.value);
                (a.name.to_owned(), value.into_owned())
            });
            let stands_for = super::xml::unescape(name.inner(text));
            (all.collect(), stands_for.into_owned())
        };
        Ok(names.iter().map(name).collect())
    }

    /// Which sheet is in front when the workbook is opened.
    fn show(&self, sheet: usize, splices: &mut Splices) -> Result<(), CannotEdit> {
        let text = &self.document.text;
        let views = self.views()?;
        for view in &views {
            let tag = with(view.tag(text), "activeTab", &sheet.to_string());
            splices.replace(view.tag.clone(), tag);
        }
        if views.is_empty() {
            let xml = format!("<workbookView activeTab=\"{sheet}\"/>");
            self.document.append_to("bookViews", &ORDER, &xml, splices);
        }
        Ok(())
    }
}

fn is_relation(name: &str) -> bool {
    name.contains(':') && local(name) == "id"
}

/// The relationship that a tag names.
pub(super) fn relation_of(tag: &str) -> Option<String> {
    let found = attributes(tag).find(|attribute| is_relation(attribute.name))?;
    Some(super::xml::unescape(found.value).into_owned())
}

/// Takes a sheet out of the selection: sheets selected together are edited
/// together. What stands behind its views is not looked at.
///
/// # Errors
/// The sheet is not well-formed up to there.
pub(super) fn deselect(archive: &mut Archive, part: &str) -> Result<(), CannotEdit> {
    const HEAD: u64 = 64 << 10;
    let head = archive.head(part, HEAD)?;
    if memchr::memmem::find(&head, b"tabSelected").is_none() {
        return Ok(());
    }
    let text = archive.text(part)?.unwrap_or_default();
    let mut splices = Splices::default();
    let mut tokens = Tokens::new(part, &text, 0..text.len());
    while let Some(token) = tokens.next()? {
        let tag = text.get(token.at.clone()).unwrap_or_default();
        match (token.kind, local(name_of(tag))) {
            (Kind::Start | Kind::Empty, "sheetView") if flag(tag, "tabSelected") => {
                splices.replace(token.at, without(tag, "tabSelected"));
            }
            (Kind::End, "sheetViews") | (Kind::Start | Kind::Empty, "sheetData") => break,
            _ => {}
        }
    }
    if !splices.is_empty() {
        archive.set(part, splices.apply(&text).into_bytes());
    }
    Ok(())
}
