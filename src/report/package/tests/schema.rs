//! What a program that holds to the standard (ECMA-376) could refuse a
//! workbook for, beyond what [`super::check::sound`] tries: the order of
//! elements, and numbers that name something in another part.

use super::super::archive::Archive;
use super::super::cells::{parse_a1, parse_range};
use super::super::relations::{ContentTypes, Relations};
use super::super::sheet::{ORDER, priorities};
use super::super::styles::ORDER as STYLES;
use super::super::workbook::{ORDER as WORKBOOK, Workbook};
use super::super::xml::{Document, Kind, Tokens, attribute, local, name_of, number};
use std::collections::BTreeSet;

/// How many styles of each sort there are.
struct Sizes {
    formats: usize,
    conditions: usize,
    strings: usize,
}

pub fn valid(bytes: &[u8]) {
    let mut archive = Archive::open(bytes).expect("a package");
    let types = ContentTypes::read(&mut archive).expect("content types");
    let workbook = Workbook::read(&mut archive, &types).expect("a workbook");
    let sizes = Sizes {
        formats: workbook
            .one("styles")
            .map_or(1, |part| styles(&archive.document(&part).expect("styles"))),
        conditions: workbook.one("styles").map_or(0, |part| {
            let styles = archive.document(&part).expect("styles");
            children(&styles, "dxfs")
        }),
        strings: workbook.one("sharedStrings").map_or(0, |part| {
            let strings = archive.document(&part).expect("strings");
            strings.children_of("si").count()
        }),
    };
    // The order of calculation names sheets by their number.
    if let Some(chain) = workbook.one("calcChain") {
        let chain = archive.document(&chain).expect("a chain");
        for cell in &chain.children {
            let sheet: Option<u32> = number(cell.tag(&chain.text), "i");
            let is = |entry: &super::super::workbook::SheetEntry| Some(entry.id) == sheet;
            assert!(
                sheet.is_none() || workbook.sheets.iter().any(is),
                "sheet {sheet:?}"
            );
        }
    }
    let document = archive.document(workbook.part()).expect("a workbook");
    of_workbook(&document, workbook.sheets.len());
    let (mut names, mut ids) = (BTreeSet::new(), BTreeSet::new());
    for entry in &workbook.sheets {
        assert!(
            names.insert(entry.name.to_lowercase()),
            "{} twice",
            entry.name
        );
        assert!(entry.name.encode_utf16().count() <= 31, "{}", entry.name);
        assert!(ids.insert(entry.id), "number {} twice", entry.id);
        if entry.cells {
            let sheet = archive.document(&entry.part).expect("a sheet");
            of_sheet(&sheet, &sizes);
            notes(&mut archive, &sheet);
        }
    }
}

fn children(document: &Document, name: &str) -> usize {
    let Some(list) = document.child(name) else {
        return 0;
    };
    let found = document.elements_in(list).expect("elements").len();
    let said: Option<usize> = number(list.tag(&document.text), "count");
    let part = &document.part;
    assert!(
        said.is_none_or(|said| said == found),
        "{part}: {name} {said:?} {found}"
    );
    found
}

/// Children come in the order of the schema. What is wrapped for later
/// programs counts as what is in it.
fn in_order(document: &Document, order: &[&str]) {
    let mut last = 0;
    for child in &document.children {
        let name = child.name(&document.text);
        let rank = order.iter().position(|other| *other == name);
        let rank = rank.or_else(|| {
            let inner = child.inner(&document.text);
            order
                .iter()
                .position(|name| inner.contains(&format!("<{name}")))
        });
        let Some(rank) = rank else { continue };
        assert!(last <= rank, "{}: {name} comes too late", document.part);
        last = rank;
    }
}

fn styles(document: &Document) -> usize {
    in_order(document, &STYLES);
    let fonts = children(document, "fonts");
    let fills = children(document, "fills");
    let borders = children(document, "borders");
    let formats = children(document, "cellXfs");
    children(document, "numFmts");
    children(document, "cellStyleXfs");
    let mut numbers = BTreeSet::new();
    let list = document.child("numFmts");
    for format in list.map_or_else(Vec::new, |list| {
        document.elements_in(list).expect("formats")
    }) {
        let id: u32 = number(format.tag(&document.text), "numFmtId").expect("a number");
        assert!(numbers.insert(id), "number format {id} twice");
    }
    let list = document.child("cellXfs").expect("formats");
    for format in document.elements_in(list).expect("formats") {
        let tag = format.tag(&document.text);
        for (name, most) in [("fontId", fonts), ("fillId", fills), ("borderId", borders)] {
            let id: usize = number(tag, name).unwrap_or(0);
            assert!(id < most.max(1), "{tag}: no such {name}");
        }
        let id: u32 = number(tag, "numFmtId").unwrap_or(0);
        assert!(
            id < 164 || numbers.contains(&id),
            "{tag}: no such number format"
        );
    }
    formats
}

fn of_workbook(document: &Document, sheets: usize) {
    in_order(document, &WORKBOOK);
    let text = &document.text;
    let names = document.child("definedNames");
    let mut seen = BTreeSet::new();
    for name in names.map_or_else(Vec::new, |list| document.elements_in(list).expect("names")) {
        let tag = name.tag(text);
        let scope: Option<usize> = number(tag, "localSheetId");
        assert!(
            scope.is_none_or(|sheet| sheet < sheets),
            "{tag}: no such sheet"
        );
        let is = attribute(tag, "name").expect("a name").to_lowercase();
        assert!(seen.insert((is, scope)), "{tag} twice");
    }
    for views in document.children_of("bookViews") {
        for view in document.elements_in(views).expect("views") {
            for name in ["activeTab", "firstSheet"] {
                let tab: usize = number(view.tag(text), name).unwrap_or(0);
                assert!(tab < sheets, "{name} {tab} of {sheets}");
            }
        }
    }
}

fn of_sheet(document: &Document, sizes: &Sizes) {
    let (part, text) = (&document.part, &document.text);
    if document.root_name() != "worksheet" {
        return;
    }
    in_order(document, &ORDER);
    for once in ORDER
        .iter()
        .filter(|name| **name != "conditionalFormatting")
    {
        let count = document.children_of(once).count();
        assert!(count <= 1, "{part}: {once} {count} times");
    }
    let mut ranks: Vec<i64> = Vec::new();
    let own = document.children_of("conditionalFormatting");
    let own: Vec<_> = own.map(|list| list.at.clone()).collect();
    for (at, priority) in priorities(document).expect("conditions") {
        if own.iter().any(|list| list.contains(&at.start)) {
            ranks.push(priority);
        }
    }
    let count = ranks.len();
    ranks.sort_unstable();
    ranks.dedup();
    assert_eq!(ranks.len(), count, "{part}: a rank of two conditions");
    assert!(
        ranks.first().is_none_or(|first| *first >= 1),
        "{part}: {ranks:?}"
    );
    columns(document);
    let mut shared: BTreeSet<String> = BTreeSet::new();
    let mut tokens = Tokens::new(part, text, 0..text.len());
    let (mut string, mut open) = (false, false);
    while let Some(token) = tokens.next().expect("well-formed") {
        let raw = text.get(token.at.clone()).unwrap_or_default();
        let name = local(name_of(raw));
        match (token.kind, name) {
            (Kind::Start | Kind::Empty, "c") => {
                let format: usize = number(raw, "s").unwrap_or(0);
                assert!(format < sizes.formats, "{part}: {raw}: no such format");
                string = attribute(raw, "t").as_deref() == Some("s");
            }
            (Kind::Start | Kind::Empty, "row" | "col") => {
                let name = if name == "row" { "s" } else { "style" };
                let format: usize = number(raw, name).unwrap_or(0);
                assert!(format < sizes.formats, "{part}: {raw}: no such format");
            }
            (Kind::Start | Kind::Empty, "cfRule") => {
                let look: Option<usize> = number(raw, "dxfId");
                assert!(
                    look.is_none_or(|look| look < sizes.conditions),
                    "{part}: {raw}"
                );
            }
            (Kind::Start | Kind::Empty, "f") => {
                if let Some(index) = attribute(raw, "si") {
                    match attribute(raw, "ref") {
                        Some(_) => assert!(shared.insert(index.into_owned()), "{part}: {raw}"),
                        None => assert!(shared.contains(index.as_ref()), "{part}: {raw}"),
                    }
                }
            }
            (Kind::Start, "v") => open = true,
            (Kind::End, "v") => open = false,
            (Kind::Other, _) if open && string => {
                let index: usize = raw.trim().parse().expect("a number");
                assert!(index < sizes.strings, "{part}: no string {index}");
            }
            _ => {}
        }
    }
    let links = document.child("hyperlinks");
    let mut seen = BTreeSet::new();
    for link in links.map_or_else(Vec::new, |list| document.elements_in(list).expect("links")) {
        let range = link.attribute(text, "ref").expect("a range");
        assert!(parse_range(&range).is_some(), "{part}: {range}");
        assert!(
            seen.insert(range.into_owned()),
            "{part}: two links at one cell"
        );
    }
}

/// Ranges of columns rise and do not meet.
fn columns(document: &Document) {
    let list = document.child("cols");
    let mut last = 0;
    for column in list.map_or_else(Vec::new, |list| {
        document.elements_in(list).expect("columns")
    }) {
        let tag = column.tag(&document.text);
        let end = |name| -> u32 { number(tag, name).expect("a number") };
        assert!(
            end("min") > last && end("max") >= end("min"),
            "{}: {tag}",
            document.part
        );
        last = end("max");
        assert!(last <= 16_384, "{}: {tag}", document.part);
    }
    let text = list.map(|list| list.inner(&document.text));
    assert!(
        text != Some(""),
        "{}: no columns in their list",
        document.part
    );
}

/// Each note has its box, each box its note, and no cell has two.
fn notes(archive: &mut Archive, sheet: &Document) {
    let relations = Relations::of(archive, &sheet.part).expect("relations");
    let Some(comments) = relations.first("comments").cloned() else {
        return;
    };
    let comments = archive.document(&comments.target).expect("notes");
    let authors = children(&comments, "authors");
    let list = comments.child("commentList").expect("a list");
    let mut cells = BTreeSet::new();
    for comment in comments.elements_in(list).expect("notes") {
        let tag = comment.tag(&comments.text);
        let author: usize = number(tag, "authorId").expect("an author");
        assert!(author < authors, "{tag}: no such author");
        let at = attribute(tag, "ref").as_deref().and_then(parse_a1);
        assert!(cells.insert(at.expect("a cell")), "{tag} twice");
    }
    let drawing = super::super::notes::drawing_of(sheet).expect("a drawing");
    let (id, _) = drawing.expect("a drawing of the notes");
    let drawing = relations.by_id(&id).expect("a drawing").target.clone();
    let text = archive.text(&drawing).expect("text").expect("there");
    let mut boxes = BTreeSet::new();
    let shapes = text.split("ObjectType=").skip(1);
    for shape in shapes.filter(|shape| shape[1..].starts_with("Note")) {
        let value = |name: &str| -> u32 {
            let after = shape.split(name).nth(1).expect("a place");
            let value = after.split('<').next().unwrap_or_default();
            value.trim().parse().expect("a number")
        };
        let at = (value("Row>"), value("Column>") as u16);
        assert!(boxes.insert(at), "{drawing}: two boxes at {at:?}");
    }
    assert_eq!(cells, boxes, "{}", sheet.part);
}
