//! What people typed into a workbook of ours: read before it is written
//! anew.

use super::kept::BESIDE;
use super::list::{
    ACCEPT, AS_FOUND, AS_LIMIT, CELL, FILE, FOUND, GROUP_ID, ID, LIMIT, REMARK, REPLY, RULE, SHEET,
    SUBJECT,
};
use super::ours;
use super::row_remarks::{self, RowAt};
use crate::intake::book::{Book, RowRef, Sheet};
use crate::schedule::ColIndex;
use std::collections::BTreeMap;

/// Where a finding stood, as far as the workbook told.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Stood {
    pub rule: String,
    pub subject: String,
    pub file: String,
    pub sheet: String,
    pub cell: String,
}

/// What was typed, by the id of the finding or of the row.
pub type Typed = BTreeMap<String, Remarks>;

/// What was typed at one finding. Empty where nothing was.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Remarks {
    /// *Reviewer's remark* of the sheet *Findings*.
    pub reviewer: String,
    /// *Dealer's reply*.
    pub reply: String,
    /// *Accept*: who answers for the finding.
    pub accept: String,
    /// What was found and the limit when *Accept* was typed: that of the
    /// row, until we note it beside *Accept* ourselves.
    pub as_found: String,
    pub as_limit: String,
    /// *ampledger: Reviewer's remark* beside the row in the author's sheet;
    /// kept at each finding of the row.
    pub row: String,
    /// The row beside which that stands; `None` once it stands on the sheet
    /// *Remarks*.
    pub row_at: Option<RowAt>,
    /// Where, for when the finding is gone.
    pub stood: Stood,
}

impl Remarks {
    pub fn is_empty(&self) -> bool {
        [&self.reviewer, &self.reply, &self.accept, &self.row]
            .iter()
            .all(|text| text.is_empty())
    }

    /// Takes over what this has not.
    pub fn fill(&mut self, other: &Self) {
        if self.row.is_empty() {
            self.row_at.clone_from(&other.row_at);
        }
        if self.accept.is_empty() {
            self.as_found.clone_from(&other.as_found);
            self.as_limit.clone_from(&other.as_limit);
        }
        for (mine, theirs) in [
            (&mut self.reviewer, &other.reviewer),
            (&mut self.reply, &other.reply),
            (&mut self.accept, &other.accept),
            (&mut self.row, &other.row),
            (&mut self.stood.rule, &other.stood.rule),
            (&mut self.stood.subject, &other.stood.subject),
            (&mut self.stood.file, &other.stood.file),
            (&mut self.stood.sheet, &other.stood.sheet),
            (&mut self.stood.cell, &other.stood.cell),
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
pub fn read(book: &Book) -> Typed {
    let mut typed = BTreeMap::new();
    let mut of_groups = Vec::new();
    for sheet in &book.sheets {
        if ours::is_our_sheet(sheet) {
            read_list(sheet, &mut typed, &mut of_groups);
        } else {
            row_remarks::read(sheet, &mut typed);
        }
    }
    for (ids, mut remarks) in of_groups {
        // A group stands in many places.
        remarks.stood = Stood::default();
        for id in ids {
            typed.entry(id).or_default().fill(&remarks);
        }
    }
    typed.retain(|_, remarks| !remarks.is_empty());
    typed
}

/// A sheet of ours with an id column; others have none and give nothing.
fn read_list(sheet: &Sheet, typed: &mut Typed, groups: &mut Vec<(Vec<String>, Remarks)>) {
    let Some((head, columns)) = sheet.rows().find_map(|row| {
        let columns = Columns::of(&row)?;
        Some((row.index(), columns))
    }) else {
        return;
    };
    for row in sheet.rows_from(head).skip(1) {
        let remarks = columns.remarks(&row);
        let id = text(&row, columns.id);
        if id.is_empty() {
            continue;
        }
        match id.strip_prefix(GROUP_ID) {
            Some(ids) => groups.push((words(ids), remarks)),
            // What was typed beside a row of several findings is kept once.
            None => {
                for id in words(&id) {
                    typed.entry(id).or_default().fill(&remarks);
                }
            }
        }
    }
}

struct Columns {
    id: ColIndex,
    reviewer: ColIndex,
    reply: ColIndex,
    accept: ColIndex,
    /// Found and limit as they stand in the row, and as they were accepted.
    found: [Option<ColIndex>; 2],
    accepted: [Option<ColIndex>; 2],
    beside: Option<ColIndex>,
    stood: [Option<ColIndex>; 5],
}

impl Columns {
    fn of(row: &RowRef) -> Option<Self> {
        let column = |heading| {
            let mut cells = row.cells();
            cells.find(|c| c.text() == heading).map(|c| c.column())
        };
        Some(Self {
            id: column(ID)?,
            reviewer: column(REMARK)?,
            reply: column(REPLY)?,
            accept: column(ACCEPT)?,
            found: [column(FOUND), column(LIMIT)],
            accepted: [column(AS_FOUND), column(AS_LIMIT)],
            beside: column(BESIDE),
            stood: [RULE, SUBJECT, FILE, SHEET, CELL].map(column),
        })
    }

    fn remarks(&self, row: &RowRef) -> Remarks {
        let accept = text(row, self.accept);
        let told = |at: Option<ColIndex>| at.map_or_else(String::new, |at| text(row, at));
        let both = |columns: [Option<ColIndex>; 2]| columns.map(told);
        let [rule, subject, file, sheet, cell] = self.stood.map(told);
        let noted = both(self.accepted);
        let [as_found, as_limit] = match accept.is_empty() {
            true => <[String; 2]>::default(),
            false if noted.iter().all(String::is_empty) => both(self.found),
            false => noted,
        };
        Remarks {
            reviewer: text(row, self.reviewer),
            reply: text(row, self.reply),
            accept,
            as_found,
            as_limit,
            row: told(self.beside),
            row_at: None,
            stood: Stood {
                rule,
                subject,
                file,
                sheet,
                cell,
            },
        }
    }
}

pub(super) fn text(row: &RowRef, column: ColIndex) -> String {
    let cell = row.cell(column);
    cell.map_or_else(String::new, |cell| cell.text().trim().to_owned())
}

fn words(text: &str) -> Vec<String> {
    text.split_whitespace().map(str::to_owned).collect()
}
