//! What people typed into a workbook of ours: read before it is written
//! anew.

use super::list::{ACCEPT, GROUP_ID, ID, REMARK, REPLY};
use super::ours;
use crate::intake::book::{Book, RowRef, Sheet};
use crate::schedule::ColIndex;
use std::collections::BTreeMap;

/// What was typed at one finding. Empty where nothing was.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Remarks {
    /// *Reviewer's remark* of the sheet *Findings*.
    pub reviewer: String,
    /// *Dealer's reply*.
    pub reply: String,
    /// *Accept*.
    pub accept: String,
    /// *ampledger: Reviewer's remark* beside the row in the author's sheet;
    /// kept at the first finding of the row.
    pub row: String,
}

impl Remarks {
    pub fn is_empty(&self) -> bool {
        [&self.reviewer, &self.reply, &self.accept, &self.row]
            .iter()
            .all(|text| text.is_empty())
    }

    fn fill(&mut self, other: &Self) {
        for (mine, theirs) in [
            (&mut self.reviewer, &other.reviewer),
            (&mut self.reply, &other.reply),
            (&mut self.accept, &other.accept),
            (&mut self.row, &other.row),
        ] {
            if mine.is_empty() {
                mine.clone_from(theirs);
            }
        }
    }
}

/// Remarks by the id of their finding. A remark at a group's row holds for
/// each finding of the group that has none of its own. A workbook that is
/// not ours gives none.
pub fn read(book: &Book) -> BTreeMap<String, Remarks> {
    let mut typed = BTreeMap::new();
    let mut of_groups = Vec::new();
    for sheet in &book.sheets {
        if ours::is_our_sheet(sheet) {
            read_list(sheet, &mut typed, &mut of_groups);
        } else {
            read_rows(sheet, &mut typed);
        }
    }
    for (ids, remarks) in of_groups {
        for id in ids {
            typed.entry(id).or_default().fill(&remarks);
        }
    }
    typed.retain(|_, remarks| !remarks.is_empty());
    typed
}

type Typed = BTreeMap<String, Remarks>;

/// A sheet of ours with an id column; others have none and give nothing.
fn read_list(sheet: &Sheet, typed: &mut Typed, groups: &mut Vec<(Vec<String>, Remarks)>) {
    let headings = sheet.rows().find_map(|row| {
        let column = |heading| {
            let mut cells = row.cells();
            cells.find(|c| c.text() == heading).map(|c| c.column())
        };
        Some((
            row.index(),
            column(ID)?,
            column(REMARK)?,
            column(REPLY)?,
            column(ACCEPT)?,
        ))
    });
    let Some((head, id, reviewer, reply, accept)) = headings else {
        return;
    };
    for row in sheet.rows_from(head).skip(1) {
        let remarks = Remarks {
            reviewer: text(&row, reviewer),
            reply: text(&row, reply),
            accept: text(&row, accept),
            row: String::new(),
        };
        let id = text(&row, id);
        if id.is_empty() || remarks.is_empty() {
            continue;
        }
        match id.strip_prefix(GROUP_ID) {
            Some(ids) => groups.push((words(ids), remarks)),
            None => typed.entry(id).or_default().fill(&remarks),
        }
    }
}

/// An author's sheet with our columns beside it.
fn read_rows(sheet: &Sheet, typed: &mut Typed) {
    let column = |heading| ours::column_of(sheet, heading);
    let (Some(ids), Some(remark)) = (column(ours::ROW_IDS), column(ours::ROW_REMARK)) else {
        return;
    };
    for row in sheet.rows() {
        let (ids, remark) = (text(&row, ids), text(&row, remark));
        if remark.is_empty() || remark == ours::ROW_REMARK {
            continue;
        }
        if let Some(first) = words(&ids).into_iter().next() {
            typed.entry(first).or_default().row = remark;
        }
    }
}

fn text(row: &RowRef, column: ColIndex) -> String {
    let cell = row.cell(column);
    cell.map_or_else(String::new, |cell| cell.text().trim().to_owned())
}

fn words(text: &str) -> Vec<String> {
    text.split_whitespace().map(str::to_owned).collect()
}
