//! The sheet *Remarks*: what people typed at findings that are listed no
//! more. It is read again at the next audit, so that it stays, and is back in
//! its place when a finding comes back.

use super::ReportError;
use super::list::{
    ACCEPT, AS_FOUND, AS_LIMIT, CELL, FILE, ID, REMARK, REPLY, RULE, SHEET, SUBJECT,
};
use super::names::SheetNames;
use super::page::{self, Cell, Column, Page};
use super::remarks::{Remarks, Typed};
use super::row_remarks::RowAt;
use rust_xlsxwriter::{Workbook, Worksheet};
use std::collections::{BTreeMap, BTreeSet};

/// What was typed beside the author's row, and not in our list.
pub(super) const BESIDE: &str = "Remark beside the row";

const COLUMNS: [Column; 12] = [
    (RULE, 22.0),
    (SUBJECT, 16.0),
    (FILE, 20.0),
    (SHEET, 14.0),
    (CELL, 9.0),
    (REMARK, 30.0),
    (BESIDE, 30.0),
    (REPLY, 26.0),
    (ACCEPT, 16.0),
    (AS_FOUND, 16.0),
    (AS_LIMIT, 16.0),
    (ID, 16.0),
];

const LEAD: &str = "Written at findings that are listed no more, or beside rows that are there no \
                    more, and kept: rule and cell as they stood when it was read first. Clear a \
                    row here to be rid of it.";

/// What was typed, and what of it stands in its place.
pub(super) struct Kept<'a> {
    pub remarks: &'a Typed,
    /// Ids of the findings in the list.
    pub listed: &'a BTreeSet<&'a str>,
    /// Ids of the remarks that stand beside a row; `None` where the workbook
    /// has none of the author's rows.
    pub beside: Option<&'a BTreeSet<String>>,
}

/// A row of the sheet: the ids, and what was typed at them.
struct Line {
    ids: String,
    typed: Remarks,
}

impl Kept<'_> {
    /// What stands nowhere else, by id.
    fn gone(&self) -> Vec<(&str, Remarks)> {
        // Beside the row of a mended finding it may stand for another.
        let shown: BTreeSet<(&RowAt, &str)> = self
            .beside
            .into_iter()
            .flatten()
            .filter_map(|id| {
                let remarks = self.remarks.get(id)?;
                Some((remarks.row_at.as_ref()?, remarks.row.as_str()))
            })
            .collect();
        let gone = self.remarks.iter().filter_map(|(id, typed)| {
            let listed = self.listed.contains(id.as_str());
            let beside = match self.beside {
                Some(beside) => {
                    let at = typed.row_at.as_ref();
                    beside.contains(id)
                        || at.is_some_and(|at| shown.contains(&(at, typed.row.as_str())))
                }
                None => listed,
            };
            let mut left = match listed {
                true => Remarks {
                    row: typed.row.clone(),
                    row_at: typed.row_at.clone(),
                    stood: typed.stood.clone(),
                    ..Remarks::default()
                },
                false => typed.clone(),
            };
            if beside {
                left.row.clear();
            }
            (!left.is_empty()).then_some((id.as_str(), left))
        });
        gone.collect()
    }

    /// Several findings beside one row are one line, where nothing else was
    /// typed at them.
    fn lines(&self) -> Vec<Line> {
        let mut lines: Vec<Line> = Vec::new();
        let mut places: BTreeMap<(Option<RowAt>, Option<String>, String), usize> = BTreeMap::new();
        for (id, typed) in self.gone() {
            let alone = Remarks {
                row: String::new(),
                ..typed.clone()
            }
            .is_empty();
            // On this sheet already: known by the place that it gives.
            let stood = typed.row_at.is_none().then(|| format!("{:?}", typed.stood));
            let place = (typed.row_at.clone(), stood, typed.row.clone());
            let there = places.get(&place).filter(|_| alone);
            if let Some(line) = there.and_then(|at| lines.get_mut(*at)) {
                line.ids = format!("{} {id}", line.ids);
                let (mine, theirs) = (&mut line.typed.stood, &typed.stood);
                for (mine, theirs) in [
                    (&mut mine.rule, &theirs.rule),
                    (&mut mine.subject, &theirs.subject),
                ] {
                    if !mine.split(", ").any(|text| text == theirs) && !theirs.is_empty() {
                        mine.push_str(if mine.is_empty() { "" } else { ", " });
                        mine.push_str(theirs);
                    }
                }
                continue;
            }
            if alone {
                places.insert(place, lines.len());
            }
            let ids = id.to_owned();
            lines.push(Line { ids, typed });
        }
        lines
    }
}

/// Adds the sheet behind the others, where there is anything to keep.
pub(super) fn add(
    workbook: &mut Workbook,
    names: &mut SheetNames,
    page: &Page,
    kept: &Kept,
) -> Result<(), ReportError> {
    let lines = kept.lines();
    if lines.is_empty() {
        return Ok(());
    }
    let name = names.give_ours("Remarks");
    write(page, page::add(workbook, &name, "Remarks")?, &lines)
}

fn write(page: &Page, sheet: &mut Worksheet, lines: &[Line]) -> Result<(), ReportError> {
    let leads = [
        (page.of.to_owned(), &page.styles.title),
        (LEAD.to_owned(), &page.styles.lead),
    ];
    let head = page.open(sheet, "Remarks", &leads)?;
    let rows: Vec<Vec<Cell>> = lines.iter().map(cells).collect();
    page.list(sheet, head, &COLUMNS, &rows, 2)?;
    Ok(())
}

fn cells(line: &Line) -> Vec<Cell> {
    let (typed, stood) = (&line.typed, &line.typed.stood);
    let stood = [
        &stood.rule,
        &stood.subject,
        &stood.file,
        &stood.sheet,
        &stood.cell,
    ];
    let said = [
        &typed.reviewer,
        &typed.row,
        &typed.reply,
        &typed.accept,
        &typed.as_found,
        &typed.as_limit,
    ];
    let stood = stood.into_iter().map(Cell::text);
    let said = said.into_iter().map(|text| Cell::Free(text.clone()));
    stood.chain(said).chain([Cell::text(&line.ids)]).collect()
}
