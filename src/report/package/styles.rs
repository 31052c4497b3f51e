//! The styles part: fonts, fills, borders, cell formats and the formats of
//! conditions. New ones are put at the end, so that no number that is used
//! changes its meaning; one that is there already is used again.

use super::archive::Archive;
use super::fault::CannotEdit;
use super::relations::{ContentTypes, OFFICE};
use super::workbook::Workbook;
use super::xml::{Document, Element, Splices, attributes, escape, number, prefixed, with};
use super::{CellLook, HIGHEST_ID, Line, MarkLook, Middle};
use std::collections::BTreeMap;
use std::fmt::Write;

/// Cell formats that spreadsheet programs take.
const MOST_FORMATS: usize = 64_000;
/// Number formats below are built in.
const FIRST_OWN_NUMBER: u32 = 164;
const CONTENT: &str = "application/vnd.openxmlformats-officedocument.spreadsheetml.styles+xml";

/// What a format that is taken over is given anew.
const GIVEN: [&str; 9] = [
    "numFmtId",
    "fontId",
    "fillId",
    "borderId",
    "xfId",
    "applyNumberFormat",
    "applyFont",
    "applyFill",
    "applyBorder",
];

/// Order of the children in the schema.
pub(super) const ORDER: [&str; 11] = [
    "numFmts",
    "fonts",
    "fills",
    "borders",
    "cellStyleXfs",
    "cellXfs",
    "cellStyles",
    "dxfs",
    "tableStyles",
    "colors",
    "extLst",
];

/// A list of styles of one sort, in which each is known by its place.
struct Pool {
    name: &'static str,
    count: usize,
    places: BTreeMap<String, usize>,
    added: String,
}

impl Pool {
    /// `first` is what a list has to begin with.
    fn read(document: &Document, name: &'static str, first: &[&str]) -> Result<Self, CannotEdit> {
        let mut pool = Self {
            name,
            count: 0,
            places: BTreeMap::new(),
            added: String::new(),
        };
        let list = document.child(name).cloned();
        let items = list.map(|list| document.elements_in(&list)).transpose()?;
        for item in items.unwrap_or_default() {
            let raw = item.raw(&document.text).to_owned();
            pool.places.entry(raw).or_insert(pool.count);
            pool.count += 1;
        }
        if pool.count == 0 {
            for xml in first {
                let xml = prefixed(xml, document.prefix());
                pool.push(&xml);
            }
        }
        Ok(pool)
    }

    fn push(&mut self, xml: &str) -> usize {
        self.added.push_str(xml);
        self.places.entry(xml.to_owned()).or_insert(self.count);
        self.count += 1;
        self.count - 1
    }

    fn give(&mut self, xml: &str) -> usize {
        match self.places.get(xml) {
            Some(place) => *place,
            None => self.push(xml),
        }
    }
}

pub(super) struct Styles {
    document: Document,
    prefix: String,
    numbers: Pool,
    /// Codes of the author's own number formats, and the highest number.
    codes: BTreeMap<String, u32>,
    highest: u32,
    fonts: Pool,
    fills: Pool,
    borders: Pool,
    has_named_styles: bool,
    formats: Pool,
    conditions: Pool,
}

impl Styles {
    /// Reads the styles of a workbook; makes the part where it has none.
    pub fn read(
        archive: &mut Archive,
        workbook: &mut Workbook,
        types: &mut ContentTypes,
    ) -> Result<Self, CannotEdit> {
        let document = match workbook.one("styles") {
            Some(part) => archive.document(&part)?,
            None => {
                let folder = super::archive::folder_of(workbook.part());
                let stroke = if folder.is_empty() { "" } else { "/" };
                let part = archive.free_name(&format!("{folder}{stroke}styles.xml"));
                types.add(&part, CONTENT);
                let kind = format!("{OFFICE}/styles");
                workbook.relations.add(archive, &kind, &part)?;
                Document::new(
                    &part,
                    "<?xml version=\"1.0\" encoding=\"UTF-8\" standalone=\"yes\"?>\n<styleSheet \
                     xmlns=\"http://schemas.openxmlformats.org/spreadsheetml/2006/main\">\
                     </styleSheet>"
                        .to_owned(),
                )?
            }
        };
        Self::of(document)
    }

    fn of(document: Document) -> Result<Self, CannotEdit> {
        let pool = |name, first: &[&str]| Pool::read(&document, name, first);
        let mut codes = BTreeMap::new();
        let mut highest = FIRST_OWN_NUMBER - 1;
        for item in items(&document, "numFmts")? {
            let tag = item.tag(&document.text);
            let id = number(tag, "numFmtId").unwrap_or(0);
            let code = item.attribute(&document.text, "formatCode");
            codes
                .entry(code.unwrap_or_default().into_owned())
                .or_insert(id);
            highest = highest.max(if id < HIGHEST_ID { id } else { 0 });
        }
        Ok(Self {
            numbers: pool("numFmts", &[])?,
            codes,
            highest,
            fonts: pool(
                "fonts",
                &["<font><sz val=\"11\"/><name val=\"Calibri\"/></font>"],
            )?,
            fills: pool(
                "fills",
                &[
                    "<fill><patternFill patternType=\"none\"/></fill>",
                    "<fill><patternFill patternType=\"gray125\"/></fill>",
                ],
            )?,
            borders: pool(
                "borders",
                &["<border><left/><right/><top/><bottom/><diagonal/></border>"],
            )?,
            has_named_styles: !items(&document, "cellStyleXfs")?.is_empty(),
            formats: pool(
                "cellXfs",
                &["<xf numFmtId=\"0\" fontId=\"0\" fillId=\"0\" borderId=\"0\"/>"],
            )?,
            conditions: pool("dxfs", &[])?,
            prefix: document.prefix().to_owned(),
            document,
        })
    }

    fn give(pool: &mut Pool, xml: &str, prefix: &str) -> usize {
        pool.give(&prefixed(xml, prefix))
    }

    /// The number of a cell format.
    pub fn cell(&mut self, look: &CellLook) -> Result<usize, CannotEdit> {
        let bold = if look.bold { "<b/>" } else { "" };
        let line = if look.underline { "<u/>" } else { "" };
        let font = format!(
            "<font>{bold}{line}<sz val=\"{}\"/><color rgb=\"{}\"/><name val=\"{}\"/><family val=\"2\"/></font>",
            look.size,
            argb(look.ink),
            escape(look.font),
        );
        let font = Self::give(&mut self.fonts, &font, &self.prefix);
        let fill = look.fill.map_or(0, |colour| {
            let xml = format!(
                "<fill><patternFill patternType=\"solid\"><fgColor rgb=\"{}\"/>\
                 <bgColor indexed=\"64\"/></patternFill></fill>",
                argb(colour)
            );
            Self::give(&mut self.fills, &xml, &self.prefix)
        });
        let bottom = look
            .bottom
            .map_or("<bottom/>".to_owned(), |(line, colour)| {
                edge("bottom", line, colour)
            });
        let border = format!("<border><left/><right/><top/>{bottom}<diagonal/></border>");
        let border = Self::give(&mut self.borders, &border, &self.prefix);
        let middle = match look.middle {
            Middle::Top => "top",
            Middle::Centre => "center",
        };
        let wrap = if look.wrap { " wrapText=\"1\"" } else { "" };
        let (protects, protection) = match look.unlocked {
            true => (" applyProtection=\"1\"", "<protection locked=\"0\"/>"),
            false => ("", ""),
        };
        // 49: text, so that what people type stays as they type it.
        let number = if look.unlocked { 49 } else { 0 };
        let named = if self.has_named_styles {
            " xfId=\"0\""
        } else {
            ""
        };
        let xml = format!(
            "<xf numFmtId=\"{number}\" fontId=\"{font}\" fillId=\"{fill}\" borderId=\"{border}\"{named} \
             applyNumberFormat=\"1\" applyFont=\"1\" applyFill=\"1\" applyBorder=\"1\" \
             applyAlignment=\"1\"{protects}><alignment vertical=\"{middle}\"{wrap}/>{protection}</xf>",
        );
        self.format(&xml)
    }

    fn format(&mut self, xml: &str) -> Result<usize, CannotEdit> {
        let place = Self::give(&mut self.formats, xml, &self.prefix);
        if self.formats.count > MOST_FORMATS {
            return Err(CannotEdit::StylesFull);
        }
        Ok(place)
    }

    /// The number of a condition's format.
    pub fn mark(&mut self, look: &MarkLook) -> usize {
        let bold = if look.bold { "<b/>" } else { "" };
        let edges: String = ["left", "right", "top", "bottom"]
            .iter()
            .map(|side| edge(side, look.border.0, look.border.1))
            .collect();
        let xml = format!(
            "<dxf><font>{bold}<color rgb=\"{}\"/></font><fill><patternFill patternType=\"solid\">\
             <fgColor rgb=\"{fill}\"/><bgColor rgb=\"{fill}\"/></patternFill></fill>\
             <border>{edges}</border></dxf>",
            argb(look.ink),
            fill = argb(look.fill),
        );
        Self::give(&mut self.conditions, &xml, &self.prefix)
    }

    /// Takes over the styles of a workbook that is appended.
    pub fn graft(&mut self, document: &Document) -> Result<Grafted, CannotEdit> {
        let raw = |name: &str| -> Result<Vec<String>, CannotEdit> {
            let items = items(document, name)?;
            let raw = items.iter().map(|item| item.raw(&document.text).to_owned());
            Ok(raw.collect())
        };
        let numbers = self.graft_numbers(document)?;
        let (fonts, fills, borders) = (raw("fonts")?, raw("fills")?, raw("borders")?);
        let mut formats = Vec::new();
        for item in items(document, "cellXfs")? {
            let place = self.graft_format(&item, document, &numbers, [&fonts, &fills, &borders])?;
            formats.push(place);
        }
        let conditions = raw("dxfs")?;
        let conditions = conditions
            .iter()
            .map(|xml| Self::give(&mut self.conditions, xml, &self.prefix));
        let conditions = conditions.collect();
        Ok(Grafted {
            formats,
            conditions,
        })
    }

    fn graft_numbers(&mut self, document: &Document) -> Result<BTreeMap<u32, u32>, CannotEdit> {
        let mut numbers = BTreeMap::new();
        for item in items(document, "numFmts")? {
            let Some(id) = number::<u32>(item.tag(&document.text), "numFmtId") else {
                continue;
            };
            let code = item
                .attribute(&document.text, "formatCode")
                .unwrap_or_default();
            let own = match self.codes.get(code.as_ref()) {
                Some(own) => *own,
                None => {
                    self.highest += 1;
                    let xml = format!(
                        "<numFmt numFmtId=\"{}\" formatCode=\"{}\"/>",
                        self.highest,
                        escape(&code)
                    );
                    let xml = prefixed(&xml, &self.prefix).into_owned();
                    self.numbers.push(&xml);
                    self.codes.insert(code.into_owned(), self.highest);
                    self.highest
                }
            };
            numbers.insert(id, own);
        }
        Ok(numbers)
    }

    fn graft_format(
        &mut self,
        item: &Element,
        document: &Document,
        numbers: &BTreeMap<u32, u32>,
        [fonts, fills, borders]: [&Vec<String>; 3],
    ) -> Result<usize, CannotEdit> {
        let tag = item.tag(&document.text);
        let of = |name| number::<usize>(tag, name).unwrap_or(0);
        let give = |pool: &mut Pool, list: &Vec<String>, name| {
            let xml = list.get(of(name));
            xml.map_or(0, |xml| Self::give(pool, xml, &self.prefix))
        };
        let font = give(&mut self.fonts, fonts, "fontId");
        let fill = give(&mut self.fills, fills, "fillId");
        let border = give(&mut self.borders, borders, "borderId");
        let id = of("numFmtId") as u32;
        let id = numbers.get(&id).copied().unwrap_or(id);
        let named = match self.has_named_styles {
            true => " xfId=\"0\"",
            false => "",
        };
        // What a named style of the author's says must not show through.
        let mut new = format!(
            "<xf numFmtId=\"{id}\" fontId=\"{font}\" fillId=\"{fill}\" borderId=\"{border}\"{named} \
             applyNumberFormat=\"1\" applyFont=\"1\" applyFill=\"1\" applyBorder=\"1\""
        );
        for attribute in attributes(tag).filter(|found| !GIVEN.contains(&found.name)) {
            let _ = write!(new, " {}=\"{}\"", attribute.name, attribute.value);
        }
        new.push_str(if item.is_self_closing() { "/>" } else { ">" });
        let rest = document.text.get(item.tag.end..item.at.end);
        new.push_str(rest.unwrap_or_default());
        self.format(&new)
    }

    /// Writes the part where something is new.
    pub fn write(self, archive: &mut Archive) -> Result<(), CannotEdit> {
        let mut splices = Splices::default();
        let document = &self.document;
        for pool in [
            &self.numbers,
            &self.fonts,
            &self.fills,
            &self.borders,
            &self.formats,
            &self.conditions,
        ] {
            if pool.added.is_empty() {
                continue;
            }
            let count = pool.count.to_string();
            match document.child(pool.name) {
                Some(list) => {
                    let tag = list.tag(&document.text);
                    let tag = match attributes(tag).any(|a| a.name == "count") {
                        true => with(tag, "count", &count),
                        false => tag.to_owned(),
                    };
                    let inner = list.inner(&document.text);
                    let open = tag.trim_end_matches('>').trim_end_matches('/').trim_end();
                    let name = super::xml::name_of(&tag);
                    let xml = format!("{open}>{inner}{}</{name}>", pool.added);
                    splices.replace(list.at.clone(), xml);
                }
                None => {
                    let name = format!("{}{}", self.prefix, pool.name);
                    let xml = format!("<{name} count=\"{count}\">{}</{name}>", pool.added);
                    document.insert(document.place_for(pool.name, &ORDER), &xml, &mut splices);
                }
            }
        }
        if !splices.is_empty() || !archive.has(&document.part) {
            let text = splices.apply(&document.text);
            archive.set(&document.part, text.into_bytes());
        }
        Ok(())
    }
}

/// Numbers of the appended workbook's styles in the author's, by place.
#[derive(Default)]
pub(super) struct Grafted {
    pub formats: Vec<usize>,
    pub conditions: Vec<usize>,
}

fn items(document: &Document, name: &str) -> Result<Vec<Element>, CannotEdit> {
    let list = document.child(name).cloned();
    let items = list.map(|list| document.elements_in(&list)).transpose()?;
    Ok(items.unwrap_or_default())
}

fn argb(colour: u32) -> String {
    format!("FF{:06X}", colour & 0xFF_FF_FF)
}

fn edge(side: &str, line: Line, colour: u32) -> String {
    let style = match line {
        Line::Thin => "thin",
        Line::Medium => "medium",
        Line::Dashed => "dashed",
        Line::Dotted => "dotted",
    };
    format!(
        "<{side} style=\"{style}\"><color rgb=\"{}\"/></{side}>",
        argb(colour)
    )
}
