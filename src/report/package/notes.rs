//! Notes: their texts stand in one part, their boxes in a drawing of the old
//! kind (VML), which controls of a form share.

use super::cells::{At, COLUMNS, a1, names_us, parse_a1};
use super::columns::Columns;
use super::fault::CannotEdit;
use super::relations::{OFFICE, Relations};
use super::sheet::Sheet;
use super::xml::{
    Document, Kind, Splices, Tokens, attribute, attributes, cell_text, local, name_of, number,
    string_of,
};
use super::{AUTHOR, Edited, HIGHEST_ID, Note, Package, SheetEdit};
use crate::report::ours::PREFIX;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::ops::Range;

const COMMENTS: &str = "application/vnd.openxmlformats-officedocument.spreadsheetml.comments+xml";
const DRAWING: &str = "application/vnd.openxmlformats-officedocument.vmlDrawing";
const NAMESPACES: [(&str, &str); 3] = [
    ("v", "urn:schemas-microsoft-com:vml"),
    ("o", "urn:schemas-microsoft-com:office:office"),
    ("x", "urn:schemas-microsoft-com:office:excel"),
];
/// What boxes of notes have in common, behind the declared prefixes.
const BOX_TYPE: &str = " id=\"_x0000_t202\" coordsize=\"21600,21600\" o:spt=\"202\" \
    path=\"m,l,21600r21600,l21600,xe\"><v:stroke joinstyle=\"miter\"/>\
    <v:path gradientshapeok=\"t\" o:connecttype=\"rect\"/></v:shapetype>";
/// Ids of boxes come in lots, of which each drawing has its own.
const LOT: u32 = 1024;
const ROW_PIXELS: u32 = 20;

/// Writes the notes of a sheet whose cells have none of the author's. Gives
/// the relationship that the sheet has to name, where it is new.
pub(super) fn write(
    package: &mut Package,
    relations: &mut Relations,
    sheet: &Sheet,
    edit: &SheetEdit,
    columns: &Columns,
    edited: &mut Edited,
) -> Result<Option<String>, CannotEdit> {
    let mut notes: BTreeMap<At, Note> = BTreeMap::new();
    let taken = match edit.notes.is_empty() {
        true => return Ok(None),
        false => taken(package, relations)?,
    };
    for note in &edit.notes {
        let at = sheet.shown_at(note.at);
        if taken.contains(&at) {
            edited.notes_left_out.push((edit.name.clone(), a1(at)));
            continue;
        }
        match notes.get_mut(&at) {
            Some(first) => {
                first.text.push_str("\n\n");
                first.text.push_str(&note.text);
            }
            None => drop(notes.insert(at, note.clone())),
        }
    }
    if notes.is_empty() {
        return Ok(None);
    }
    write_texts(package, relations, &sheet.document, &notes)?;
    write_boxes(package, relations, &sheet.document, &notes, columns)
}

/// Cells that have a note, or a thread of comments.
fn taken(package: &mut Package, relations: &Relations) -> Result<BTreeSet<At>, CannotEdit> {
    let mut taken = BTreeSet::new();
    let list = relations.list.iter().filter(|relation| !relation.external);
    for relation in list.filter(|r| r.is("comments") || r.is("threadedComment")) {
        let document = package.archive.document(&relation.target)?;
        let mut tokens = Tokens::new(&relation.target, &document.text, 0..document.text.len());
        while let Some(token) = tokens.next()? {
            let raw = document.text.get(token.at).unwrap_or_default();
            if matches!(local(name_of(raw)), "comment" | "threadedComment") {
                taken.extend(attribute(raw, "ref").as_deref().and_then(parse_a1));
            }
        }
    }
    Ok(taken)
}

/// A part beside the sheets' folder: `xl/comments1.xml`.
fn beside(package: &Package, folder: &str, file: &str) -> String {
    let base = super::archive::folder_of(package.workbook.part());
    let parts = [base, folder, file];
    let path: Vec<&str> = parts.into_iter().filter(|part| !part.is_empty()).collect();
    package.archive.free_name(&path.join("/"))
}

fn write_texts(
    package: &mut Package,
    relations: &mut Relations,
    sheet: &Document,
    notes: &BTreeMap<At, Note>,
) -> Result<(), CannotEdit> {
    let document = match relations.first("comments") {
        Some(relation) => package.archive.document(&relation.target)?,
        None => {
            let part = beside(package, "", "comments.xml");
            relations.add(&mut package.archive, &format!("{OFFICE}/comments"), &part)?;
            package.types.add(&part, COMMENTS);
            let namespace = attributes(sheet.root.tag(&sheet.text))
                .find(|a| {
                    a.name == "xmlns"
                        || a.name.strip_prefix("xmlns:") == sheet.prefix().strip_suffix(':')
                })
                .map_or("", |a| a.value);
            let text = format!(
                "<?xml version=\"1.0\" encoding=\"UTF-8\" standalone=\"yes\"?>\n\
                 <comments xmlns=\"{namespace}\"><authors></authors><commentList></commentList></comments>"
            );
            Document::new(&part, text)?
        }
    };
    let mut splices = Splices::default();
    let authors = authors(&document)?;
    let author = authors.iter().position(|author| author == AUTHOR);
    if author.is_none() {
        let xml = format!("<author>{AUTHOR}</author>");
        document.append_to("authors", &["authors", "commentList"], &xml, &mut splices);
    }
    let author = author.unwrap_or(authors.len());
    let mut xml = String::new();
    for (at, note) in notes {
        let ours = if note.text.starts_with(PREFIX) {
            ""
        } else {
            PREFIX
        };
        let _ = write!(
            xml,
            "<comment ref=\"{}\" authorId=\"{author}\"><text><r><rPr><sz val=\"9\"/>\
             <color indexed=\"81\"/><rFont val=\"Tahoma\"/><family val=\"2\"/></rPr>\
             <t xml:space=\"preserve\">{ours}{}</t></r></text></comment>",
            a1(*at),
            cell_text(&note.text)
        );
    }
    document.append_to(
        "commentList",
        &["authors", "commentList", "extLst"],
        &xml,
        &mut splices,
    );
    let text = splices.apply(&document.text);
    package.archive.set(&document.part, text.into_bytes());
    Ok(())
}

fn authors(document: &Document) -> Result<Vec<String>, CannotEdit> {
    let list = document.child("authors").cloned();
    let list = list.map(|list| document.elements_in(&list)).transpose()?;
    let names = list.unwrap_or_default();
    let names = names.iter().map(|author| {
        let name = author.inner(&document.text);
        super::xml::unescape(name).into_owned()
    });
    Ok(names.collect())
}

/// The relationship of the drawing that a sheet's notes are in, wherever its
/// element stands.
pub(super) fn drawing_of(sheet: &Document) -> Result<Option<(String, Range<usize>)>, CannotEdit> {
    let text = &sheet.text;
    let outside = sheet
        .children
        .iter()
        .filter(|child| child.name(text) != "sheetData");
    for child in outside {
        let mut tokens = Tokens::new(&sheet.part, text, child.at.clone());
        while let Some(token) = tokens.next()? {
            let raw = text.get(token.at.clone()).unwrap_or_default();
            if token.kind != Kind::End && local(name_of(raw)) == "legacyDrawing" {
                let relation = super::workbook::relation_of(raw);
                return Ok(relation.map(|relation| (relation, child.at.clone())));
            }
        }
    }
    Ok(None)
}

fn write_boxes(
    package: &mut Package,
    relations: &mut Relations,
    sheet: &Document,
    notes: &BTreeMap<At, Note>,
    columns: &Columns,
) -> Result<Option<String>, CannotEdit> {
    let there = drawing_of(sheet)?;
    let there = there.and_then(|(id, _)| relations.by_id(&id).cloned());
    let there = there.filter(|relation| package.archive.has(&relation.target));
    let (part, text, new) = match there {
        Some(relation) => {
            let text = package.archive.text(&relation.target)?;
            (relation.target, text.unwrap_or_default(), None)
        }
        None => {
            let lot = next_lot(package)?;
            let part = beside(package, "drawings", "vmlDrawing.vml");
            package.types.add(&part, DRAWING);
            let kind = format!("{OFFICE}/vmlDrawing");
            let id = relations.add(&mut package.archive, &kind, &part)?;
            (part, new_drawing(lot, notes.len()), Some(id))
        }
    };
    let text = with_boxes(&part, &text, notes, columns)?;
    package.archive.set(&part, text.into_bytes());
    Ok(new)
}

/// The first lot of ids that no drawing of the package has.
fn next_lot(package: &mut Package) -> Result<u32, CannotEdit> {
    let mut highest = 0;
    for name in package.archive.names() {
        if !name.to_ascii_lowercase().ends_with(".vml") {
            continue;
        }
        let text = package.archive.text(&name)?.unwrap_or_default();
        for tag in tags(&name, &text, "idmap")? {
            let data = attribute(&tag, "data").unwrap_or_default().into_owned();
            let lots = data
                .split(',')
                .filter_map(|lot| lot.trim().parse::<u32>().ok());
            let lots = lots.filter(|lot| *lot < HIGHEST_ID / LOT);
            highest = lots.fold(highest, u32::max);
        }
    }
    Ok(highest + 1)
}

fn new_drawing(lot: u32, boxes: usize) -> String {
    let lots = lot..=lot + boxes as u32 / LOT;
    let lots: Vec<String> = lots.map(|lot| lot.to_string()).collect();
    let mut xml = String::from("<xml");
    for (prefix, uri) in NAMESPACES {
        let _ = write!(xml, " xmlns:{prefix}=\"{uri}\"");
    }
    let _ = write!(
        xml,
        "><o:shapelayout v:ext=\"edit\"><o:idmap v:ext=\"edit\" data=\"{}\"/></o:shapelayout></xml>",
        lots.join(",")
    );
    xml
}

/// Start tags of a name in a drawing.
fn tags(part: &str, text: &str, name: &str) -> Result<Vec<String>, CannotEdit> {
    let mut tokens = Tokens::new(part, text, 0..text.len()).loose();
    let mut found = Vec::new();
    while let Some(token) = tokens.next()? {
        let raw = text.get(token.at).unwrap_or_default();
        if matches!(token.kind, Kind::Start | Kind::Empty) && local(name_of(raw)) == name {
            found.push(raw.to_owned());
        }
    }
    Ok(found)
}

/// The drawing with a box for each note.
fn with_boxes(
    part: &str,
    text: &str,
    notes: &BTreeMap<At, Note>,
    columns: &Columns,
) -> Result<String, CannotEdit> {
    let damaged = |why| CannotEdit::damaged(part, why);
    let mut tokens = Tokens::new(part, text, 0..text.len()).loose();
    let (mut root, mut end, mut lot, mut highest) = (None, None, 1, 0u32);
    let mut has_type = false;
    while let Some(token) = tokens.next()? {
        let raw = text.get(token.at.clone()).unwrap_or_default();
        match token.kind {
            Kind::Start | Kind::Empty => {
                root.get_or_insert(token.at.clone());
                let id = attribute(raw, "id").unwrap_or_default();
                match local(name_of(raw)) {
                    "idmap" => lot = first_lot(raw).unwrap_or(lot),
                    "shapetype" => has_type |= id == "_x0000_t202",
                    _ => {}
                }
                let shape = id.strip_prefix("_x0000_s").and_then(|id| id.parse().ok());
                let shape = shape.filter(|shape| *shape < HIGHEST_ID);
                highest = highest.max(shape.unwrap_or(0));
            }
            Kind::End => end = Some(token.at),
            Kind::Other => {}
        }
    }
    let root = root.ok_or_else(|| damaged("no drawing"))?;
    let end = end.ok_or_else(|| damaged("a drawing that does not end"))?;
    let root = text.get(root).unwrap_or_default();
    let declared = |prefix: &str, uri: &str| {
        attributes(root).any(|a| a.name.strip_prefix("xmlns:") == Some(prefix) && a.value == uri)
    };
    let mut declares = String::new();
    for (prefix, uri) in NAMESPACES {
        if !declared(prefix, uri) {
            let _ = write!(declares, " xmlns:{prefix}=\"{uri}\"");
        }
    }
    let mut xml = String::new();
    if !has_type {
        let _ = write!(xml, "<v:shapetype{declares}{BOX_TYPE}");
    }
    let first = highest.max(lot.min(HIGHEST_ID / LOT) * LOT) + 1;
    for (id, (at, note)) in (first..).zip(notes) {
        xml.push_str(&box_xml(id, *at, note, columns, &declares));
    }
    let mut splices = Splices::default();
    splices.insert(end.start, xml);
    Ok(splices.apply(text))
}

fn first_lot(tag: &str) -> Option<u32> {
    let data = attribute(tag, "data")?;
    data.split(',').next()?.trim().parse().ok()
}

fn box_xml(id: u32, (row, column): At, note: &Note, columns: &Columns, declares: &str) -> String {
    const WIDTH: f64 = 340.0;
    let lines: u32 = note
        .text
        .lines()
        .map(|line| 1 + line.chars().count() as u32 / 52)
        .sum();
    let height = (24 + 16 * lines).clamp(60, 460);
    let left = (column + 1).min(COLUMNS - 1);
    let (mut right, mut room) = (left, WIDTH + 12.0);
    while right < COLUMNS - 1 && room > columns.pixels(right) {
        room -= columns.pixels(right);
        right += 1;
    }
    let top = row.saturating_sub(1);
    let bottom = row.saturating_add(height / ROW_PIXELS);
    let fill = note.fill & 0xFF_FF_FF;
    format!(
        "<v:shape{declares} id=\"_x0000_s{id}\" type=\"#_x0000_t202\" \
         style=\"position:absolute;margin-left:60pt;margin-top:2pt;width:255pt;height:{}pt;\
         z-index:{id};visibility:hidden\" fillcolor=\"#{fill:06x}\" o:insetmode=\"auto\">\
         <v:fill color2=\"#{fill:06x}\"/><v:shadow color=\"black\" obscured=\"t\"/>\
         <v:path o:connecttype=\"none\"/><v:textbox style=\"mso-direction-alt:auto\">\
         <div style=\"text-align:left\"></div></v:textbox><x:ClientData ObjectType=\"Note\">\
         <x:MoveWithCells/><x:SizeWithCells/>\
         <x:Anchor>{left}, 12, {top}, 10, {right}, {}, {bottom}, 4</x:Anchor>\
         <x:AutoFill>False</x:AutoFill><x:Row>{row}</x:Row><x:Column>{column}</x:Column>\
         </x:ClientData></v:shape>",
        height * 3 / 4,
        room.max(0.0).round(),
    )
}

/// Takes our notes out of a sheet, with the parts that nothing is left in.
/// Gives the place of the sheet's element that leads nowhere then.
pub(super) fn strip(
    package: &mut Package,
    relations: &mut Relations,
    sheet: &Document,
) -> Result<Option<Range<usize>>, CannotEdit> {
    let Some(relation) = relations.first("comments").cloned() else {
        return Ok(None);
    };
    let text = package.archive.text(&relation.target)?.unwrap_or_default();
    if !names_us(&text) {
        return Ok(None);
    }
    let document = Document::new(&relation.target, text)?;
    let (gone, left) = strip_texts(&document)?;
    if gone.is_empty() {
        return Ok(None);
    }
    match left {
        Some(text) => package.archive.set(&relation.target, text.into_bytes()),
        None => {
            package.archive.remove(&relation.target);
            package.types.forget(&relation.target);
            relations.remove(&mut package.archive, &relation.id)?;
        }
    }
    let Some((id, at)) = drawing_of(sheet)? else {
        return Ok(None);
    };
    let Some(drawing) = relations.by_id(&id).cloned() else {
        return Ok(None);
    };
    let text = package.archive.text(&drawing.target)?.unwrap_or_default();
    match strip_boxes(&drawing.target, &text, &gone)? {
        Some(text) => {
            package.archive.set(&drawing.target, text.into_bytes());
            Ok(None)
        }
        None => {
            package.archive.remove(&drawing.target);
            package.types.forget(&drawing.target);
            relations.remove(&mut package.archive, &id)?;
            Ok(Some(at))
        }
    }
}

/// Cells whose notes are ours, and the part without them; `None` where no
/// note is left.
fn strip_texts(document: &Document) -> Result<(BTreeSet<At>, Option<String>), CannotEdit> {
    let text = &document.text;
    let authors = authors(document)?;
    let list = document.child("commentList").cloned();
    let comments = list.map(|list| document.elements_in(&list)).transpose()?;
    let (mut gone, mut splices) = (BTreeSet::new(), Splices::default());
    let (mut kept, mut users) = (0usize, BTreeSet::new());
    for comment in comments.unwrap_or_default() {
        let author: Option<usize> = number(comment.tag(text), "authorId");
        let by_us = author
            .and_then(|a| authors.get(a))
            .is_some_and(|name| name == AUTHOR);
        let says = string_of(&document.part, text, comment.inner.clone())?;
        let at = comment.attribute(text, "ref").as_deref().and_then(parse_a1);
        match at {
            Some(at) if by_us || says.trim_start().starts_with(PREFIX) => {
                gone.insert(at);
                splices.remove(comment.at.clone());
            }
            _ => {
                kept += 1;
                users.extend(author);
            }
        }
    }
    if kept == 0 {
        return Ok((gone, None));
    }
    // The last author only: the others are known by their place.
    let last = authors.len().saturating_sub(1);
    if authors.last().is_some_and(|name| name == AUTHOR)
        && !users.contains(&last)
        && let Some(list) = document.child("authors")
        && let Some(author) = document.elements_in(list)?.last()
    {
        splices.remove(author.at.clone());
    }
    Ok((gone, Some(splices.apply(text))))
}

/// The drawing without the boxes of these cells; `None` where no shape is
/// left in it.
fn strip_boxes(part: &str, text: &str, gone: &BTreeSet<At>) -> Result<Option<String>, CannotEdit> {
    let mut tokens = Tokens::new(part, text, 0..text.len()).loose();
    let (mut splices, mut kept) = (Splices::default(), false);
    let mut open: Option<usize> = None;
    while let Some(token) = tokens.next()? {
        let raw = text.get(token.at.clone()).unwrap_or_default();
        match (token.kind, local(name_of(raw))) {
            (Kind::Start, "shape") => open = Some(token.at.start),
            (Kind::End, "shape") => {
                let Some(start) = open.take() else { continue };
                let shape = text.get(start..token.at.end).unwrap_or_default();
                match cell_of(shape).is_some_and(|at| gone.contains(&at)) {
                    true => splices.remove(start..token.at.end),
                    false => kept = true,
                }
            }
            (
                Kind::Start | Kind::Empty,
                "shape" | "group" | "rect" | "oval" | "line" | "roundrect",
            ) => {
                kept = true;
            }
            _ => {}
        }
    }
    Ok(kept.then(|| without_box_type(splices.apply(text))))
}

/// Without the type of boxes that we wrote, where no box is left.
fn without_box_type(mut text: String) -> String {
    const BEGIN: &str = "<v:shapetype";
    if !text.contains("\"#_x0000_t202\"")
        && let Some(at) = text.find(BOX_TYPE)
        && let Some(begin) = text.get(..at).and_then(|before| before.rfind(BEGIN))
    {
        text.replace_range(begin..at + BOX_TYPE.len(), "");
    }
    text
}

/// The cell that the box of a note belongs to.
fn cell_of(shape: &str) -> Option<At> {
    if !shape.contains("\"Note\"") && !shape.contains("'Note'") {
        return None;
    }
    let value = |name: &str| {
        let mut places = shape.match_indices(name);
        let value = places.find_map(|(at, _)| {
            let before = shape.get(..at)?;
            let after = shape.get(at + name.len()..)?;
            before.ends_with([':', '<']).then_some(after)
        })?;
        value.split('<').next()?.trim().parse::<u32>().ok()
    };
    let row = value("Row>")?;
    let column = u16::try_from(value("Column>")?).ok()?;
    Some((row, column))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn boxes_go_into_a_drawing_whose_prefixes_differ() {
        let text = "<xml xmlns:ns1=\"urn:schemas-microsoft-com:vml\"><ns1:shape id=\"_x0000_s1026\">\
                    <br><ns1:ClientData ObjectType=\"Button\"/></ns1:shape></xml>";
        let note = Note {
            at: (4, 2),
            text: "x".into(),
            fill: 0xFF_00_00,
        };
        let columns = Columns::read(&Document::new("p", "<a/>".into()).expect("sound"), None);
        let notes = [(note.at, note)].into();
        let with = with_boxes("p", text, &notes, &columns).expect("loose");
        assert!(with.contains("id=\"_x0000_s1027\"") && with.contains("xmlns:v="));
        let without = strip_boxes("p", &with, &[(4, 2)].into()).expect("loose");
        let without = without.expect("the button stays");
        assert!(!without.contains("_x0000_s1027") && without.contains("_x0000_s1026"));
    }
}
