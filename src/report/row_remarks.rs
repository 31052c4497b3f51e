//! Remarks that people typed beside an author's rows, and which row each of
//! them belongs to when the workbook is written again.
//!
//! A remark beside findings belongs to all of them. One beside a row at which
//! nothing was found belongs to the row: it is known by what its cells say,
//! so that it finds the row again in another file or place.

use super::ours;
use super::remarks::{self, Remarks, Stood, Typed};
use crate::findings::finding_id;
use crate::intake::book::{RowRef, Sheet};
use crate::schedule::RowIndex;
use std::collections::{BTreeMap, BTreeSet};

/// What the ids of remarks begin with that belong to a row.
const OF_ROW: &str = "row-";

/// A row beside which somebody typed.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct RowAt {
    pub sheet: String,
    /// From zero.
    pub row: u32,
    /// The first of its cells whose text no other row has in that column;
    /// empty where it has none.
    pub name: String,
    /// All its cells but ours.
    pub says: String,
}

/// The author's cells of a row that say something.
fn cells(row: Option<RowRef>, ours: &BTreeSet<u16>) -> Vec<(u16, String)> {
    let cells = row.iter().flat_map(|row| row.cells());
    cells
        .filter(|cell| !ours.contains(&cell.column().0))
        .map(|cell| (cell.column().0, cell.text().trim().to_owned()))
        .filter(|(_, text)| !text.is_empty())
        .collect()
}

fn says(cells: &[(u16, String)]) -> String {
    let texts: Vec<&str> = cells.iter().map(|(_, text)| text.as_str()).collect();
    texts.join("\t")
}

/// Reads what was typed beside the rows of an author's sheet.
pub(super) fn read(sheet: &Sheet, typed: &mut Typed) {
    let column = |heading| ours::column_of(sheet, heading);
    let Some(remark) = column(ours::ROW_REMARK) else {
        return;
    };
    let ids = column(ours::ROW_IDS);
    // Where nothing is found these hold nothing of ours, but for a change.
    let others = [ours::FINDING, ours::WHAT_TO_DO, ours::CHANGES].map(column);
    let our_columns = ours::our_columns(sheet);
    let name = sheet.name.clone().unwrap_or_default();
    let mut equal: BTreeMap<String, u32> = BTreeMap::new();
    let mut standing: BTreeMap<(u16, String), u32> = BTreeMap::new();
    for cell in sheet.rows().flat_map(|row| cells(Some(row), &our_columns)) {
        *standing.entry(cell).or_default() += 1;
    }
    let mut below = false;
    for row in sheet.rows() {
        let text = |column| remarks::text(&row, column);
        let cells = cells(Some(row), &our_columns);
        let says = says(&cells);
        let ordinal = equal.entry(says.clone()).or_default();
        *ordinal += 1;
        let written = text(remark);
        if written == ours::ROW_REMARK {
            below = true;
            continue;
        }
        let named = ids.map_or_else(String::new, text);
        let changes = named == ours::NO_FINDING;
        let named: Vec<&str> = match changes {
            true => Vec::new(),
            false => named.split_whitespace().collect(),
        };
        let mut said = vec![written];
        if named.is_empty() && ids.is_some() && below {
            let others = others.iter().take(if changes { 2 } else { 3 }).flatten();
            said.extend(others.map(|column| text(*column)));
        }
        said.retain(|text| !text.is_empty());
        // Above the first heading our columns are the author's.
        if said.is_empty() || (named.is_empty() && !below) {
            continue;
        }
        let own = cells.iter().find(|cell| standing.get(*cell) == Some(&1));
        let first = own.or(cells.first()).map_or("", |(_, text)| text.as_str());
        let remarks = Remarks {
            row: said.join("\n"),
            row_at: Some(RowAt {
                sheet: name.clone(),
                row: row.index().0,
                name: own.map_or_else(String::new, |(_, text)| text.clone()),
                says: says.clone(),
            }),
            stood: Stood {
                // A finding names its own.
                subject: match named.is_empty() {
                    true => first.to_owned(),
                    false => String::new(),
                },
                sheet: name.clone(),
                cell: format!("row {}", u64::from(row.index().0) + 1),
                ..Stood::default()
            },
            ..Remarks::default()
        };
        let of_row = format!("{OF_ROW}{}", finding_id("", &name, &says, "", *ordinal));
        let ids = match named.is_empty() {
            true => vec![of_row.as_str()],
            false => named,
        };
        for id in ids {
            let known = typed.entry(id.to_owned()).or_default();
            // An id beside two rows, of a row that somebody copied.
            if !known.row.is_empty() && known.row != remarks.row {
                known.row = format!("{}\n{}", known.row, remarks.row);
            }
            known.fill(&remarks);
        }
    }
}

/// Remarks that belong to rows of one sheet: id and text, by row.
pub(super) type OfRows<'a> = BTreeMap<u32, Vec<(&'a str, &'a str)>>;

/// Finds the rows of the remarks that belong to rows: where the row says the
/// same, else the one that has the text by which the row could be told. What
/// finds none, or several, is left out: beside the wrong row it would mislead.
/// `name` is the sheet's name in the copy.
pub(super) fn find<'a>(
    remarks: &'a Typed,
    sheet: &Sheet,
    name: &str,
    ours: &BTreeSet<u16>,
    may_be: impl Fn(u32) -> bool,
) -> OfRows<'a> {
    let mut found = OfRows::new();
    let of_rows = remarks.iter().filter_map(|(id, remarks)| {
        let at = remarks.row_at.as_ref()?;
        (id.starts_with(OF_ROW) && at.sheet == name).then_some((id, remarks, at))
    });
    let of_rows: Vec<_> = of_rows.collect();
    if of_rows.is_empty() {
        return found;
    }
    let mut saying: BTreeMap<String, Vec<u32>> = BTreeMap::new();
    let mut named: BTreeMap<String, Vec<u32>> = BTreeMap::new();
    for row in sheet.rows().filter(|row| may_be(row.index().0)) {
        let (index, cells) = (row.index().0, cells(Some(row), ours));
        saying.entry(says(&cells)).or_default().push(index);
        for (_, text) in cells {
            let rows = named.entry(text).or_default();
            if rows.last() != Some(&index) {
                rows.push(index);
            }
        }
    }
    for (id, remarks, at) in of_rows {
        let row = match at.says.is_empty() {
            // A row without cells stays where it is.
            true => {
                let now = cells(sheet.row(RowIndex(at.row)), ours);
                (now.is_empty() && may_be(at.row)).then_some(at.row)
            }
            false => match saying.get(&at.says).map(Vec::as_slice) {
                Some(rows) if rows.contains(&at.row) => Some(at.row),
                Some([one]) => Some(*one),
                Some(_) => None,
                None => match named.get(&at.name).map(Vec::as_slice) {
                    Some([one]) => Some(*one),
                    _ => None,
                },
            },
        };
        if let Some(row) = row {
            let here = found.entry(row).or_default();
            here.push((id.as_str(), remarks.row.as_str()));
        }
    }
    found
}

/// Several texts as one, each once.
pub(super) fn joined<'a>(texts: impl Iterator<Item = &'a str>) -> String {
    let mut lines: Vec<&str> = Vec::new();
    for text in texts.filter(|text| !text.is_empty()) {
        if !lines.contains(&text) {
            lines.push(text);
        }
    }
    lines.join("\n")
}
