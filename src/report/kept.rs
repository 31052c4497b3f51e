//! The sheet *Remarks*: what people typed at findings that are listed no
//! more. It is read again at the next audit, so that it stays, and is back in
//! its place when a finding comes back.

use super::ReportError;
use super::list::{
    ACCEPT, AS_FOUND, AS_LIMIT, CELL, FILE, ID, REMARK, REPLY, RULE, SHEET, SUBJECT,
};
use super::names::SheetNames;
use super::page::{self, Cell, Column, Page};
use super::remarks::Remarks;
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

const LEAD: &str = "Written at findings that are listed no more, and kept: rule and cell as they \
                    stood when it was read first. Clear a row here to be rid of it.";

/// Adds the sheet behind the others, where there is anything to keep.
pub(super) fn add(
    workbook: &mut Workbook,
    names: &mut SheetNames,
    page: &Page,
    remarks: &BTreeMap<String, Remarks>,
    listed: &BTreeSet<&str>,
) -> Result<(), ReportError> {
    let gone: Vec<_> = remarks
        .iter()
        .filter(|(id, typed)| !listed.contains(id.as_str()) && !typed.is_empty())
        .collect();
    if gone.is_empty() {
        return Ok(());
    }
    let name = names.give_ours("Remarks");
    write(page, page::add(workbook, &name, "Remarks")?, &gone)
}

fn write(
    page: &Page,
    sheet: &mut Worksheet,
    gone: &[(&String, &Remarks)],
) -> Result<(), ReportError> {
    let leads = [
        (page.of.to_owned(), &page.styles.title),
        (LEAD.to_owned(), &page.styles.lead),
    ];
    let head = page.open(sheet, "Remarks", &leads)?;
    let rows: Vec<Vec<Cell>> = gone.iter().map(|(id, typed)| cells(id, typed)).collect();
    page.list(sheet, head, &COLUMNS, &rows, 2)?;
    Ok(())
}

fn cells(id: &str, typed: &Remarks) -> Vec<Cell> {
    let stood = &typed.stood;
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
    stood.chain(said).chain([Cell::text(id)]).collect()
}
