//! One sheet of the author's: our columns, marks, links and notes.

use super::cells::{At, COLUMNS, ROWS, Row, a1, cells_of, parse_range, walk};
use super::columns::Columns;
use super::fault::CannotEdit;
use super::relations::Relations;
use super::rows::{cells_xml, with_height, with_span};
use super::styles::Styles;
use super::xml::{Document, Splices, attribute, cell_text, escape, flag, number, prefixed, with};
use super::{
    Block, CellLook, Edited, Mark, MarkLook, OUR_CONDITION, OurCell, OurRow, Package, SheetEdit,
    drawing, notes,
};
use crate::report::ours;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::ops::Range;

/// Links that a sheet holds.
const MOST_LINKS: usize = 65_000;
/// Points of a row that says nothing of its height.
const PLAIN_ROW: f64 = 15.0;
/// Ranges that one condition names: a list without end is not taken by all
/// programs.
const MOST_RANGES: usize = 250;

/// Order of a sheet's children in the schema.
pub(super) const ORDER: [&str; 39] = [
    "sheetPr",
    "dimension",
    "sheetViews",
    "sheetFormatPr",
    "cols",
    "sheetData",
    "sheetCalcPr",
    "sheetProtection",
    "protectedRanges",
    "scenarios",
    "autoFilter",
    "sortState",
    "dataConsolidate",
    "customSheetViews",
    "mergeCells",
    "phoneticPr",
    "conditionalFormatting",
    "dataValidations",
    "hyperlinks",
    "printOptions",
    "pageMargins",
    "pageSetup",
    "headerFooter",
    "rowBreaks",
    "colBreaks",
    "customProperties",
    "cellWatches",
    "ignoredErrors",
    "smartTags",
    "drawing",
    "legacyDrawing",
    "legacyDrawingHF",
    "drawingHF",
    "picture",
    "oleObjects",
    "controls",
    "webPublishItems",
    "tableParts",
    "extLst",
];

/// Numbers of our looks in the author's styles.
pub(super) struct Looks {
    cells: Vec<usize>,
    marks: Vec<usize>,
}

impl Looks {
    pub fn give(
        styles: &mut Styles,
        cells: &[CellLook],
        marks: &[MarkLook],
    ) -> Result<Self, CannotEdit> {
        let cells = cells.iter().map(|look| styles.cell(look));
        Ok(Self {
            cells: cells.collect::<Result<_, _>>()?,
            marks: marks.iter().map(|look| styles.mark(look)).collect(),
        })
    }
}

/// What the workbook has to say of a sheet that was written into.
#[derive(Default)]
pub(super) struct Said {
    /// The last cell that is printed where the author set no area.
    pub end: Option<At>,
    /// What was said of the columns that ours are put over.
    pub under_ours: String,
}

/// Writes into one sheet.
pub(super) fn edit(
    package: &mut Package,
    edit: &SheetEdit,
    looks: &Looks,
    edited: &mut Edited,
) -> Result<Said, CannotEdit> {
    let sheet = package.workbook.sheet(&edit.name);
    let sheet = sheet.ok_or_else(|| CannotEdit::NoSuchSheet {
        sheet: edit.name.clone(),
    })?;
    let part = sheet.part.clone();
    let cells = sheet.cells;
    let text = package.archive.text(&part)?;
    let text = text.ok_or_else(|| CannotEdit::damaged(&part, "the part is missing"))?;
    let document = Document::around(&part, text, "sheetData")?;
    if !cells || document.root_name() != "worksheet" {
        return Err(CannotEdit::NotAWorksheet {
            sheet: edit.name.clone(),
        });
    }
    let mut relations = Relations::of(&mut package.archive, &part)?;
    let open = Sheet::read(document)?;
    let mut splices = Splices::default();
    let mut columns = Columns::read(&open.document, open.document.child("cols"));
    let mut said = Said::default();
    // In the order of the schema: new elements may have one place.
    open.write_marks(&edit.marks, looks, &mut splices)?;
    if let Some(block) = &edit.block {
        let tables = tables(package, &relations)?;
        let height = |row| open.height(row);
        let drawn = drawing::reaches(package, &relations, &open.document, &columns, height);
        let over = drawn.as_deref().unwrap_or_default();
        let beyond = open.first_free(edit, block, &tables, over);
        // A drawing over all of a sheet is no reason to leave them out.
        let first = beyond.or_else(|| open.first_free(edit, block, &tables, &[]));
        match first {
            Some(first) => {
                said.under_ours = columns.taken(first, block.columns.len());
                columns.carve(first, &block.columns, open.document.prefix());
                open.write_columns(&columns, &mut splices);
                open.write_block(first, block, looks, &mut splices)?;
                said.end = drawn.and_then(|drawn| open.end(first, &drawn));
            }
            None => edited.without_columns.push(edit.name.clone()),
        }
    }
    let notes = notes::write(package, &mut relations, &open, edit, &columns, edited)?;
    if let Some(relation) = notes {
        open.write_legacy_drawing(&relation, &mut splices);
    }
    if !splices.is_empty() {
        let text = splices.apply(&open.document.text);
        package.archive.set(&part, text.into_bytes());
    }
    Ok(said)
}

/// Ranges of the table objects of a sheet.
fn tables(package: &mut Package, relations: &Relations) -> Result<Vec<(At, At)>, CannotEdit> {
    let mut ranges = Vec::new();
    for relation in relations
        .list
        .iter()
        .filter(|r| r.is("table") && !r.external)
    {
        let table = package.archive.document(&relation.target)?;
        let range = table.root.attribute(&table.text, "ref");
        ranges.extend(range.as_deref().and_then(parse_range));
    }
    Ok(ranges)
}

/// A sheet that is being written into.
pub(super) struct Sheet {
    pub document: Document,
    rows: Vec<Row>,
    last_value: Option<u16>,
    merges: Vec<(At, At)>,
}

impl Sheet {
    fn read(document: Document) -> Result<Self, CannotEdit> {
        let (part, text) = (&document.part, &document.text);
        let data = document.child("sheetData");
        let data = data.ok_or_else(|| CannotEdit::damaged(part, "a sheet without rows"))?;
        let mut rows = Vec::new();
        let mut last: Option<u16> = None;
        let see = |_: u32, cell: super::cells::Cell| {
            if cell.has_value {
                last = last.max(Some(cell.column));
            }
            Ok(())
        };
        walk(part, text, data.inner.clone(), None, see, |row| {
            rows.push(row)
        })?;
        let merges = document.child("mergeCells").cloned();
        let merges = merges
            .map(|merges| document.elements_in(&merges))
            .transpose()?;
        let merges = merges.unwrap_or_default();
        let merges = merges
            .iter()
            .filter_map(|merge| parse_range(&merge.attribute(&document.text, "ref")?));
        Ok(Self {
            merges: merges.collect(),
            rows,
            last_value: last,
            document,
        })
    }

    /// The first of our columns; `None` where they do not fit, or would not
    /// be known again.
    /// They stand behind a picture that they would be under, and behind one
    /// that is drawn below the table and reaches beyond it: what is printed of
    /// the author's is one area.
    fn first_free(
        &self,
        edit: &SheetEdit,
        block: &Block,
        tables: &[(At, At)],
        drawn: &[(At, At)],
    ) -> Option<u16> {
        let heading = |cell: &Option<OurCell>| {
            cell.as_ref()
                .is_some_and(|cell| ours::COLUMNS.contains(&cell.text.as_str()))
        };
        if !block.rows.values().any(|row| row.cells.iter().any(heading)) {
            return None;
        }
        let ours = |range: &&(At, At)| {
            let (first, last) = (range.0.0, range.1.0);
            block.rows.range(first..=last.max(first)).next().is_some()
        };
        let merges = self.merges.iter().filter(ours);
        let ends = merges.chain(tables).map(|(_, last)| last.1);
        // An empty cell at fault may stand beyond the last value.
        let marks = edit.marks.iter().map(|mark| mark.at.1);
        let ends = ends.chain(marks).chain(self.last_value);
        let last = ends.max().unwrap_or(0);
        let over = drawn
            .iter()
            .filter(|range| ours(range) || range.0.1 <= last);
        let last = over.map(|(_, end)| end.1).fold(last, u16::max);
        let first = last.checked_add(2)?;
        let after = first.checked_add(u16::try_from(block.columns.len()).ok()?)?;
        (after <= COLUMNS).then_some(first)
    }

    /// The last cell of the author's, what is drawn included; `None` where that
    /// is among our columns.
    fn end(&self, first: u16, drawn: &[(At, At)]) -> Option<At> {
        let drawn = || drawn.iter().map(|(_, last)| *last);
        let rows = self.rows.iter().map(|row| row.number);
        let row = rows.chain(drawn().map(|(row, _)| row)).max();
        let columns = drawn().map(|(_, column)| column);
        let column = columns.chain([first.saturating_sub(2)]).max()?;
        (column < first).then_some((row.unwrap_or(0), column))
    }

    /// How high a row is, in points.
    fn height(&self, row: u32) -> f64 {
        let text = &self.document.text;
        let found = self.rows.binary_search_by_key(&row, |row| row.number);
        let tag = found.ok().and_then(|at| self.rows.get(at));
        let tag = tag.map_or("", |row| row.element.tag(text));
        if flag(tag, "hidden") {
            return 0.0;
        }
        let plain = || {
            let format = self.document.child("sheetFormatPr")?;
            number(format.tag(text), "defaultRowHeight")
        };
        number(tag, "ht").or_else(plain).unwrap_or(PLAIN_ROW)
    }

    fn put(&self, name: &str, xml: String, splices: &mut Splices) {
        let place = self.document.place_for(name, &ORDER);
        let xml = prefixed(&xml, self.document.prefix()).into_owned();
        self.document.insert(place, &xml, splices);
    }

    fn write_columns(&self, columns: &Columns, splices: &mut Splices) {
        if columns.is_empty() {
            return;
        }
        match self.document.child("cols") {
            Some(list) if !list.is_self_closing() => {
                splices.replace(list.inner.clone(), columns.xml());
            }
            list => {
                let name = format!("{}cols", self.document.prefix());
                let xml = format!("<{name}>{}</{name}>", columns.xml());
                match list {
                    Some(list) => splices.replace(list.at.clone(), xml),
                    None => {
                        splices.insert(self.document.place_for("cols", &ORDER), xml);
                    }
                }
            }
        }
    }

    fn write_block(
        &self,
        first: u16,
        block: &Block,
        looks: &Looks,
        splices: &mut Splices,
    ) -> Result<(), CannotEdit> {
        let Some(data) = self.document.child("sheetData") else {
            return Ok(());
        };
        let mut links = String::new();
        let mut left = MOST_LINKS.saturating_sub(self.links());
        // New rows that stand at one place, before the next of the author's.
        let mut fresh: BTreeMap<usize, String> = BTreeMap::new();
        for (&number, ours) in block.rows.iter().filter(|(row, _)| **row < ROWS) {
            let width = block.columns.len();
            let xml = cells_xml(number, first, &ours.cells, width, &looks.cells);
            let xml = prefixed(&xml, self.document.prefix());
            for (column, cell) in (first..).zip(ours.cells.iter().take(width)) {
                if let Some(link) = cell.as_ref().and_then(|cell| cell.link.as_ref())
                    && left > 0
                {
                    left -= 1;
                    let at = a1((number, column));
                    let link = escape(link);
                    let _ = write!(links, "<hyperlink ref=\"{at}\" location=\"{link}\"/>");
                }
            }
            let last = first + width.saturating_sub(1) as u16;
            match self.rows.binary_search_by_key(&number, |row| row.number) {
                Ok(at) => {
                    if let Some(row) = self.rows.get(at) {
                        self.write_row(row, ours, first..=last, &xml, splices)?;
                    }
                }
                Err(next) => {
                    let place = self
                        .rows
                        .get(next)
                        .map_or(data.inner.end, |row| row.element.at.start);
                    let name = format!("{}row", self.document.prefix());
                    let row = format!("<{name} r=\"{}\">", number + 1);
                    let row = with_height(&row, ours.height);
                    let row = format!("{row}{xml}</{name}>");
                    fresh.entry(place).or_default().push_str(&row);
                }
            }
        }
        for (place, rows) in fresh {
            if data.is_self_closing() {
                self.document.append(data, &rows, splices);
            } else {
                splices.insert(place, rows);
            }
        }
        self.write_links(&links, splices);
        self.write_dimension(first, block, splices);
        Ok(())
    }

    /// Our cells in a row that is there: in place of those that stood there,
    /// which are blank.
    fn write_row(
        &self,
        row: &Row,
        ours: &OurRow,
        columns: std::ops::RangeInclusive<u16>,
        xml: &str,
        splices: &mut Splices,
    ) -> Result<(), CannotEdit> {
        let text = &self.document.text;
        let tag = with_height(row.element.tag(text), ours.height);
        let tag = with_span(&tag, *columns.end());
        if row.element.is_self_closing() {
            let open = tag.trim_end_matches('>').trim_end_matches('/').trim_end();
            let name = super::xml::name_of(&tag);
            splices.replace(row.element.at.clone(), format!("{open}>{xml}</{name}>"));
            return Ok(());
        }
        if tag != row.element.tag(text) {
            splices.replace(row.element.tag.clone(), tag);
        }
        let cells = cells_of(&self.document.part, text, row)?;
        let next = cells.iter().find(|cell| cell.column >= *columns.start());
        // Behind the cells a row may have an extension.
        let end = cells
            .last()
            .map_or(row.element.inner.start, |cell| cell.element.at.end);
        let place = next.map_or(end, |cell| cell.element.at.start);
        splices.insert(place, xml);
        for cell in cells.iter().filter(|cell| cell.column >= *columns.start()) {
            if columns.contains(&cell.column) {
                splices.remove(cell.element.at.clone());
            } else if !cell.placed {
                let tag = with(cell.element.tag(text), "r", &a1((row.number, cell.column)));
                splices.replace(cell.element.tag.clone(), tag);
            }
        }
        Ok(())
    }

    fn links(&self) -> usize {
        let list = self.document.child("hyperlinks");
        let links = list.and_then(|list| self.document.elements_in(list).ok());
        links.map_or(0, |links| links.len())
    }

    fn write_links(&self, links: &str, splices: &mut Splices) {
        if !links.is_empty() {
            self.document
                .append_to("hyperlinks", &ORDER, links, splices);
        }
    }

    /// The range that the sheet says it fills, where it says so.
    fn write_dimension(&self, first: u16, block: &Block, splices: &mut Splices) {
        let Some(dimension) = self.document.child("dimension") else {
            return;
        };
        let tag = dimension.tag(&self.document.text);
        let (Some(top), Some(bottom)) = (block.rows.keys().next(), block.rows.keys().last()) else {
            return;
        };
        let last = first + block.columns.len().saturating_sub(1) as u16;
        let ours = ((*top, first), (*bottom, last));
        let range = attribute(tag, "ref");
        let (from, to) = match range.as_deref().and_then(parse_range) {
            Some((from, to)) => (
                (from.0.min(ours.0.0), from.1.min(ours.0.1)),
                (to.0.max(ours.1.0), to.1.max(ours.1.1)),
            ),
            None => ours,
        };
        let range = format!("{}:{}", a1(from), a1(to));
        splices.replace(dimension.tag.clone(), with(tag, "ref", &range));
    }

    /// Marks: a condition that always holds, before those of the author's,
    /// whose scales of colours would cover it. Theirs keep their order.
    fn write_marks(
        &self,
        marks: &[Mark],
        looks: &Looks,
        splices: &mut Splices,
    ) -> Result<(), CannotEdit> {
        let mut cells: BTreeMap<usize, BTreeSet<At>> = BTreeMap::new();
        let inside = |mark: &&Mark| mark.at.0 < ROWS && mark.at.1 < COLUMNS;
        for mark in marks.iter().filter(inside) {
            if let Some(look) = looks.marks.get(mark.look) {
                cells.entry(*look).or_default().insert(mark.at);
            }
        }
        let (mut priority, mut xml) = (0i64, String::new());
        for (look, cells) in cells {
            let ranges: BTreeSet<String> = cells.iter().map(|at| self.merged(*at)).collect();
            let ranges: Vec<String> = ranges.into_iter().collect();
            for ranges in ranges.chunks(MOST_RANGES) {
                priority += 1;
                let _ = write!(
                    xml,
                    "<conditionalFormatting sqref=\"{}\"><cfRule type=\"expression\" \
                     dxfId=\"{look}\" priority=\"{priority}\"><formula>{}</formula></cfRule>\
                     </conditionalFormatting>",
                    ranges.join(" "),
                    cell_text(OUR_CONDITION),
                );
            }
        }
        if xml.is_empty() {
            return Ok(());
        }
        for (at, theirs) in priorities(&self.document)? {
            let tag = self.document.text.get(at.clone()).unwrap_or_default();
            let now = theirs.saturating_add(priority).to_string();
            splices.replace(at, with(tag, "priority", &now));
        }
        match self.document.child("conditionalFormatting") {
            Some(first) => {
                let xml = prefixed(&xml, self.document.prefix());
                splices.insert(first.at.start, xml);
            }
            None => self.put("conditionalFormatting", xml, splices),
        }
        Ok(())
    }

    /// The cell that shows what is at a cell: the first of a merged range.
    pub fn shown_at(&self, at: At) -> At {
        self.merge_at(at).map_or(at, |(first, _)| *first)
    }

    /// A cell, with all that it is merged with.
    fn merged(&self, at: At) -> String {
        match self.merge_at(at) {
            Some((first, last)) => format!("{}:{}", a1(*first), a1(*last)),
            None => a1(at),
        }
    }

    fn merge_at(&self, at: At) -> Option<&(At, At)> {
        self.merges.iter().find(|(first, last)| {
            (first.0..=last.0).contains(&at.0) && (first.1..=last.1).contains(&at.1)
        })
    }

    fn write_legacy_drawing(&self, relation: &str, splices: &mut Splices) {
        let xml = format!(
            "<{}legacyDrawing xmlns:r=\"{}\" r:id=\"{}\"/>",
            self.document.prefix(),
            super::relations::OFFICE,
            escape(relation)
        );
        let place = self.document.place_for("legacyDrawing", &ORDER);
        self.document.insert(place, &xml, splices);
    }
}

/// The conditions of a sheet, those of extensions included: where each tag
/// stands, and its number, of which the lowest wins.
pub(super) fn priorities(document: &Document) -> Result<Vec<(Range<usize>, i64)>, CannotEdit> {
    let (part, text) = (&document.part, &document.text);
    let mut found = Vec::new();
    let lists = ["conditionalFormatting", "extLst"];
    for list in lists.iter().flat_map(|name| document.children_of(name)) {
        let mut tokens = super::xml::Tokens::new(part, text, list.at.clone());
        while let Some(token) = tokens.next()? {
            let raw = text.get(token.at.clone()).unwrap_or_default();
            if token.kind != super::xml::Kind::End
                && super::xml::local(super::xml::name_of(raw)) == "cfRule"
                && let Some(priority) = number(raw, "priority")
            {
                found.push((token.at, priority));
            }
        }
    }
    Ok(found)
}
