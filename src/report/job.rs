//! The workbook of a job: the author's sheets with what was found beside
//! their rows, and our sheets behind them.

use super::author::{AuthorView, Heading};
use super::basis::{self, Section};
use super::copy::{self, Original, Placed, Way, Written};
use super::correction::corrections;
use super::drawing::Drawing;
use super::groups::{self, Counts, Line};
use super::kept::{self, Kept};
use super::list::{self, GoneRow, Item, ListView};
use super::names::SheetNames;
use super::page::{self, Links, Page};
use super::remarks::Remarks;
use super::style::Styles;
use super::{
    ReportError, brief, bus, circuits, controllers, counted, letter, proposed, takeoff, tallies,
};
use crate::findings::{Audit, Dwellings, Reported, Severity, Use};
use crate::intake::book::Book;
use crate::practice::Practice;
use crate::proposal::Proposal;
use crate::schedule::{Address, Schedule};
use crate::takeoff::Item as TakeoffItem;
use jiff::civil::Date;
use rust_xlsxwriter::{Format, Workbook};
use std::collections::BTreeMap;

/// What a job's workbook is made from.
pub struct JobView<'a> {
    pub schedule: &'a Schedule,
    pub audit: &'a Audit,
    /// As it holds for this job.
    pub practice: &'a Practice,
    /// The one file of its author, to be rebuilt: the only file of the
    /// schedule's sources. `None` where the job is several files or rows of a
    /// table that holds many jobs.
    pub author: Option<&'a Book>,
    /// The schedule that is proposed; `None` leaves its sheet out.
    pub proposal: Option<&'a Proposal>,
    pub takeoff: &'a [TakeoffItem],
    /// Systems whose bus is shown as a picture.
    pub drawings: &'a [Drawing],
    /// The bytes of that file, where it is a workbook: edited in place where
    /// that is safe.
    pub original: Option<&'a [u8]>,
    pub as_of: Date,
    /// Why these files are one job: a sentence.
    pub grouping: &'a str,
    /// Files of the job, and where their annotated copy lies, relative to
    /// the folder of this workbook.
    pub links: &'a BTreeMap<String, String>,
    /// What was typed into an earlier copy of this workbook. What is at no
    /// finding of the job goes to the sheet *Remarks*.
    pub remarks: &'a BTreeMap<String, Remarks>,
    /// What became of the acceptances that are about the job.
    pub uses: &'a [Use],
    /// Findings of an earlier audit that stand no more.
    pub gone: &'a [GoneRow],
}

/// Names of our sheets in the workbook.
struct Ours {
    findings: String,
    circuits: String,
    bus: String,
    controllers: String,
    proposed: String,
    takeoff: String,
    brief: String,
    letter: String,
    rules: String,
    basis: String,
}

impl Ours {
    fn new(names: &mut SheetNames) -> Self {
        Self {
            findings: names.give_ours("Findings"),
            circuits: names.give_ours("Circuits"),
            bus: names.give_ours("Bus"),
            controllers: names.give_ours("Controllers"),
            proposed: names.give_ours("Proposed"),
            takeoff: names.give_ours("Takeoff"),
            brief: names.give_ours("Brief"),
            letter: names.give_ours("Letter"),
            rules: names.give_ours("Rules"),
            basis: names.give_ours("Basis"),
        }
    }
}

/// Builds the workbook; the same bytes for the same view.
///
/// # Errors
/// Where the workbook cannot be written: more rows than a sheet holds.
pub fn workbook(view: &JobView) -> Result<Written, ReportError> {
    let original = view.author.map(|book| Original {
        book,
        bytes: view.original,
    });
    copy::write(original, |way| build(view, way))
}

/// Our sheets, with the author's rebuilt before them or the edits for his
/// own.
fn build(view: &JobView, way: &mut Way) -> Result<(Vec<u8>, Placed), ReportError> {
    let schedule = view.schedule;
    let path = schedule
        .sources
        .files
        .first()
        .map_or("", |f| f.path.as_str());
    let styles = Styles::new();
    let mut names = SheetNames::default();
    let sheets = match view.author {
        Some(book) => way.sheet_names(book, path, &mut names),
        None => BTreeMap::new(),
    };
    let ours = Ours::new(&mut names);
    let dwellings = Dwellings::of(schedule);
    let items = Item::of_job(&schedule.title, &view.audit.findings, &dwellings);
    let lines = groups::lines(&items);
    let leads = leads(view, &styles, Counts::of(&lines));
    let head = 1 + leads.len() as u32;
    let rows = list::rows_by_id(&lines, head + 1);

    let mut workbook = super::new_workbook(&schedule.title, view.as_of)?;
    let mut placed = Placed::default();
    if let Some(book) = view.author {
        let author = AuthorView {
            book,
            path,
            headings: &Heading::of_file(&schedule.sources, 0),
            items: &items,
            corrections: &view
                .proposal
                .map_or_else(Vec::new, |proposal| corrections(schedule, proposal)),
            rows: &rows,
            list: &ours.findings,
            names: &sheets,
            remarks: view.remarks,
        };
        placed = way.authors_sheets(&mut workbook, &author, &styles)?;
    }
    let as_of = view.as_of.to_string();
    let sheet = JobSheets {
        view,
        links: Links::new(view.author.map(|_| path), sheets, view.links),
        page: Page {
            styles: &styles,
            of: &schedule.title,
            as_of: &as_of,
        },
        ours: &ours,
        copy: match view.author {
            Some(_) => way.rows(&placed),
            None => vec![(
                "Copy".to_owned(),
                String::new(),
                "The author's tables are not in this workbook, because the job is made of several \
                 files or of rows of a table that holds several jobs. Each file has an annotated \
                 copy of its own."
                    .to_owned(),
            )],
        },
    };
    sheet.findings(&mut workbook, &lines, &leads)?;
    sheet.lists(&mut workbook)?;
    sheet.basis(&mut workbook)?;
    kept::add(
        &mut workbook,
        &mut names,
        &sheet.page,
        &Kept {
            remarks: view.remarks,
            listed: &list::ids(&lines),
            beside: view.author.map(|_| &placed.beside),
        },
    )?;
    Ok((workbook.save_to_buffer()?, placed))
}

/// The lines above the list: which job, what a reviewer would write, how
/// much is wrong, and where to sign.
fn leads<'s>(view: &JobView, styles: &'s Styles, distinct: Counts) -> Vec<(String, &'s Format)> {
    let audit = view.audit;
    let mut title = view.schedule.title.clone();
    let number = view.schedule.facts.number.get();
    if let Some(number) = number.filter(|number| !title.contains(number.as_str())) {
        title.push_str(&format!(" ({number})"));
    }
    let count = |severity| audit.count(severity);
    let not_checked: u64 = audit.tallies.iter().map(|t| t.not_checked_total()).sum();
    let mut counts = format!(
        "{} to fix, {} to verify, {}.",
        count(Severity::Fix),
        count(Severity::Verify),
        counted(count(Severity::Note), "note", "notes"),
    );
    let listed = Counts::of_list(&audit.findings);
    if distinct != listed {
        counts.push_str(&format!(
            " Equal ones of many dwellings counted once: {}, {} and {}.",
            distinct.fix, distinct.verify, distinct.note
        ));
    }
    if audit.accepted() > 0 {
        counts.push_str(&format!(
            " {} accepted, listed last and counted nowhere.",
            counted(audit.accepted(), "finding is", "findings are")
        ));
    }
    if !audit.unlisted.is_empty() {
        let findings = counted(audit.unlisted.len(), "finding is", "findings are");
        counts.push_str(&format!(" {findings} below the least severity listed."));
    }
    if not_checked > 0 {
        let checks = counted(not_checked as usize, "check", "checks");
        counts.push_str(&format!(" {checks} could not be done: see Rules."));
    }
    vec![
        (title, &styles.title),
        (
            format!("Disposition: {}", audit.disposition_text().to_uppercase()),
            &styles.strong,
        ),
        (counts, &styles.lead),
        (
            "Not an approval: the reviewer signs.   Reviewer: ______________________   \
             Date: ______________"
                .to_owned(),
            &styles.lead,
        ),
        (
            format!("As of {}, {}.", view.as_of, view.practice.edition),
            &styles.quiet,
        ),
    ]
}

struct JobSheets<'a> {
    view: &'a JobView<'a>,
    links: Links<'a>,
    page: Page<'a>,
    ours: &'a Ours,
    /// What *Basis* says of the author's sheets.
    copy: Vec<(String, String, String)>,
}

impl JobSheets<'_> {
    fn findings(
        &self,
        workbook: &mut Workbook,
        lines: &[Line<Item>],
        leads: &[(String, &Format)],
    ) -> Result<(), ReportError> {
        let sheet = page::add(workbook, &self.ours.findings, "Findings")?;
        sheet.set_active(true);
        let head = self.page.open(sheet, "Findings", leads)?;
        let sources = &self.view.schedule.sources;
        let also = |finding: &Reported| -> Vec<Address> {
            finding
                .related
                .iter()
                .map(|place| sources.address(*place))
                .collect()
        };
        let acceptances = list::acceptances(self.view.uses.iter());
        let list = ListView {
            lines,
            acceptances: &acceptances,
            below: self.view.gone,
            links: &self.links,
            remarks: self.view.remarks,
            also: &also,
        };
        list.write(&self.page, sheet, head)
    }

    fn lists(&self, workbook: &mut Workbook) -> Result<(), ReportError> {
        let (schedule, audit) = (self.view.schedule, self.view.audit);
        self.links.next_sheet();
        let rows = circuits::rows(schedule, audit, &self.links);
        self.list(
            workbook,
            &self.ours.circuits,
            "Circuits",
            &circuits::COLUMNS,
            &rows,
            2,
        )?;
        self.links.next_sheet();
        let rows = bus::rows(schedule, audit, &self.links);
        self.list(workbook, &self.ours.bus, "Bus", &bus::COLUMNS, &rows, 1)?;
        let below = 3 + rows.len() as u32;
        bus::pictures(
            workbook,
            &self.ours.bus,
            below,
            self.view.drawings,
            self.page.styles,
        )?;
        self.links.next_sheet();
        let rows = controllers::rows(schedule, audit, &self.links);
        let columns = &controllers::COLUMNS;
        self.list(
            workbook,
            &self.ours.controllers,
            "Controllers",
            columns,
            &rows,
            2,
        )?;
        self.proposal(workbook)?;
        let sheet = page::add(workbook, &self.ours.brief, "Brief")?;
        brief::write(self.view, &self.page, sheet)?;
        let sheet = page::add(workbook, &self.ours.letter, "Letter")?;
        letter::write(self.view, &self.page, sheet)?;
        let rows = tallies::rows(&audit.tallies);
        self.list(
            workbook,
            &self.ours.rules,
            "Rules",
            &tallies::COLUMNS,
            &rows,
            1,
        )
    }

    fn proposal(&self, workbook: &mut Workbook) -> Result<(), ReportError> {
        if let Some(proposal) = self.view.proposal {
            self.links.next_sheet();
            let rows = proposed::rows(self.view.schedule, proposal, &self.links);
            let sheet = page::add(workbook, &self.ours.proposed, "Proposed")?;
            let leads = [
                (self.page.of.to_owned(), &self.page.styles.title),
                (proposed::lead(proposal), &self.page.styles.lead),
            ];
            let head = self.page.open(sheet, "Proposed", &leads)?;
            self.page.list(sheet, head, &proposed::COLUMNS, &rows, 1)?;
        }
        if self.view.takeoff.is_empty() {
            return Ok(());
        }
        let rows = takeoff::rows(self.view.takeoff);
        let columns = &takeoff::COLUMNS;
        self.list(workbook, &self.ours.takeoff, "Takeoff", columns, &rows, 1)
    }

    fn list(
        &self,
        workbook: &mut Workbook,
        name: &str,
        mark: &str,
        columns: &[page::Column],
        rows: &[Vec<page::Cell>],
        frozen: u16,
    ) -> Result<(), ReportError> {
        let sheet = page::add(workbook, name, mark)?;
        let mut leads = vec![(self.page.of.to_owned(), &self.page.styles.title)];
        if rows.is_empty() {
            // Nothing but headings would look like something lost.
            let says = format!(
                "The schedules that were read have no {}.",
                mark.to_lowercase()
            );
            leads.push((says, &self.page.styles.lead));
        }
        let head = self.page.open(sheet, mark, &leads)?;
        self.page.list(sheet, head, columns, rows, frozen)?;
        Ok(())
    }

    fn basis(&self, workbook: &mut Workbook) -> Result<(), ReportError> {
        let view = self.view;
        let sheet = page::add(workbook, &self.ours.basis, "Basis")?;
        let edition = match view.schedule.facts.edition.get() {
            Some(_) => "stated by the job",
            None => "of the practice profile; the job states none",
        };
        let audit = [
            (
                "As of",
                view.as_of.to_string(),
                "the only date that the audit knows",
            ),
            (
                "Adopted edition",
                view.practice.edition.to_string(),
                edition,
            ),
            ("Files", self.files(), view.grouping),
        ];
        let mut rows: Vec<_> = audit
            .into_iter()
            .map(|(name, value, says)| (name.to_owned(), value, says.to_owned()))
            .collect();
        rows.extend(self.copy.iter().cloned());
        if !view.practice.nameplates.is_empty() {
            rows.push((
                "Nameplates".to_owned(),
                counted(view.practice.nameplates.len(), "model", "models"),
                "the user's own table: goes before what most jobs state, and fills blanks at the \
                 strength of a question"
                    .to_owned(),
            ));
        }
        let audit = Section {
            title: "This audit",
            rows,
        };
        let findings = view.audit.findings.iter();
        let sections = [
            audit,
            basis::cautions(),
            basis::acceptances(self.view.uses),
            basis::read(&view.schedule.sources),
            basis::practice(view.practice),
            basis::sources(findings.map(|f| (f.rule, f.source.as_str()))),
        ];
        basis::write(&self.page, sheet, &sections)
    }

    fn files(&self) -> String {
        let files = self.view.schedule.sources.files.iter();
        files
            .map(|file| file.path.as_str())
            .collect::<Vec<_>>()
            .join(", ")
    }
}
