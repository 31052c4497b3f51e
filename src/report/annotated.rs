//! A source file that holds many jobs, or is one of several of a job: the
//! author's sheets with what was found, and a list of it. The sheets about a
//! job stand in the job's own workbook.

use super::author::AuthorView;
use super::basis::{self, Section};
use super::copy::{self, Original, Placed, Way, Written};
use super::correction::Correction;
use super::groups;
use super::kept::{self, Kept};
use super::list::{self, ListView};
use super::names::SheetNames;
use super::page::{self, Links, Page};
use super::remarks::Remarks;
use super::style::Styles;
use super::{ReportError, counted};
use crate::findings::{Severity, Use};
use crate::intake::book::Book;
use crate::schedule::Address;
use jiff::civil::Date;
use std::collections::BTreeMap;

pub use super::author::Heading;
pub use super::list::Item;

/// What an annotated file is made from.
pub struct FileView<'a> {
    pub book: &'a Book,
    /// Its bytes, where it is a workbook: edited in place where that is safe.
    pub original: Option<&'a [u8]>,
    /// The file, as findings name it.
    pub path: &'a str,
    /// Headings of its tables, of all jobs.
    pub headings: &'a [Heading],
    /// Findings at this file, of all jobs, in the order of the jobs; findings
    /// at other files are left out.
    pub findings: &'a [Item<'a>],
    /// What the proposals of its jobs change; that of other files is left out.
    pub corrections: &'a [Correction],
    pub as_of: Date,
    /// Other files, and where their annotated copy lies, relative to the
    /// folder of this workbook.
    pub links: &'a BTreeMap<String, String>,
    /// What was typed into an earlier copy of this workbook. What is at no
    /// finding of the file goes to the sheet *Remarks*.
    pub remarks: &'a BTreeMap<String, Remarks>,
    /// What became of the acceptances that are about its jobs.
    pub uses: &'a [&'a Use],
}

/// Builds the workbook; the same bytes for the same view.
///
/// # Errors
/// Where the workbook cannot be written: more rows than a sheet holds.
pub fn workbook(view: &FileView) -> Result<Written, ReportError> {
    let original = Original {
        book: view.book,
        bytes: view.original,
    };
    copy::write(Some(original), |way| build(view, way))
}

/// Our sheets, with the author's rebuilt before them or the edits for his
/// own.
fn build(view: &FileView, way: &mut Way) -> Result<(Vec<u8>, Placed), ReportError> {
    let styles = Styles::new();
    let mut names = SheetNames::default();
    let sheets = way.sheet_names(view.book, view.path, &mut names);
    let findings_name = names.give_ours("Findings");
    let basis_name = names.give_ours("Basis");
    let items: Vec<Item> = view
        .findings
        .iter()
        .filter(|item| item.finding.address.file == view.path)
        .copied()
        .collect();
    let lines = groups::lines(&items);
    let count = |severity| {
        items
            .iter()
            .filter(|i| i.finding.severity == severity && i.finding.stands())
            .count()
    };
    let leads = [
        (view.path.to_owned(), &styles.title),
        (
            format!(
                "{} to fix, {} to verify, {} at this file.",
                count(Severity::Fix),
                count(Severity::Verify),
                counted(count(Severity::Note), "note", "notes"),
            ),
            &styles.lead,
        ),
        (
            "Not an approval. Dispositions stand in the workbooks of the jobs.".to_owned(),
            &styles.lead,
        ),
    ];
    let head = 1 + leads.len() as u32;
    let rows = list::rows_by_id(&lines, head + 1);
    let mut workbook = super::new_workbook(view.path, view.as_of)?;
    let author = AuthorView {
        book: view.book,
        path: view.path,
        headings: view.headings,
        items: &items,
        corrections: view.corrections,
        rows: &rows,
        list: &findings_name,
        names: &sheets,
        remarks: view.remarks,
    };
    let placed = way.authors_sheets(&mut workbook, &author, &styles)?;

    let as_of = view.as_of.to_string();
    let page = Page {
        styles: &styles,
        of: view.path,
        as_of: &as_of,
    };
    let links = Links::new(Some(view.path), sheets, view.links);
    let sheet = page::add(&mut workbook, &findings_name, "Findings")?;
    sheet.set_active(true);
    let head = page.open(sheet, "Findings", &leads)?;
    // Places beside the finding's own are spelled by the job's workbook.
    let also = |_: &crate::findings::Reported| -> Vec<Address> { Vec::new() };
    let acceptances = list::acceptances(view.uses.iter().copied());
    let list = ListView {
        lines: &lines,
        acceptances: &acceptances,
        below: &[],
        links: &links,
        remarks: view.remarks,
        also: &also,
    };
    list.write(&page, sheet, head)?;
    let basis = page::add(&mut workbook, &basis_name, "Basis")?;
    write_basis(view, way.rows(&placed), &page, basis)?;
    kept::add(
        &mut workbook,
        &mut names,
        &page,
        &Kept {
            remarks: view.remarks,
            listed: &list::ids(&lines),
            beside: Some(&placed.beside),
        },
    )?;
    Ok((workbook.save_to_buffer()?, placed))
}

fn write_basis(
    view: &FileView,
    copy: Vec<(String, String, String)>,
    page: &Page,
    sheet: &mut rust_xlsxwriter::Worksheet,
) -> Result<(), ReportError> {
    let rows = [
        ("As of", page.as_of, "the only date that the audit knows"),
        ("File", view.path, "the file that this is a copy of"),
    ];
    let rows = rows
        .into_iter()
        .map(|(name, value, says)| (name.to_owned(), value.to_owned(), says.to_owned()));
    let findings = view.findings.iter().map(|item| item.finding);
    let sections = [
        Section {
            title: "This copy",
            rows: rows.chain(copy).collect(),
        },
        basis::cautions(),
        basis::sources(findings.map(|f| (f.rule, f.source.as_str()))),
    ];
    basis::write(page, sheet, &sections)
}
