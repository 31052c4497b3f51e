//! The workbook of a batch. Findings are written as the jobs come, row by
//! row, so that a finished job can leave memory.

use super::basis::{self, Section};
use super::compare::{self, Comparison};
use super::copy::CopyTold;
use super::facts::JobAbout;
use super::groups::{self, Counts, Line};
use super::jobs::{Job, Jobs};
use super::names::SheetNames;
use super::page::{self, Cell, Column, Page};
use super::record::Record;
use super::style::Styles;
use super::{ReportError, counted, tallies};
use crate::findings::{Disposition, Dwellings, RuleTally, Severity};
use crate::practice::Practice;
use jiff::civil::Date;
use polars::prelude::DataFrame;
use rust_xlsxwriter::Workbook;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

mod accepted;
mod findings;
mod models;
mod overview;
mod submitters;
mod takeoff;
mod twins;

/// A job, as the outputs of a batch list it.
#[derive(Clone, Debug, PartialEq)]
pub struct JobRow {
    /// What people call it.
    pub job: String,
    pub disposition: Disposition,
    pub fix: usize,
    pub verify: usize,
    pub note: usize,
    /// Findings that somebody answers for; in none of the counts above.
    pub accepted: usize,
    /// The rule of its worst finding, and how bad that is.
    pub worst: Option<(Severity, &'static str)>,
    /// Relative to the folder that was named.
    pub files: Vec<String>,
    /// Why these files are one job: a sentence.
    pub reason: String,
    /// Its workbook, relative to the folder of the batch's; `None` where it
    /// could not be written.
    pub workbook: Option<String>,
    /// What is to be told of the annotated copies of its files, in their
    /// order; those that are as they would be by choice are not among them.
    pub copies: Vec<CopyTold>,
    /// What it says of itself.
    pub about: JobAbout,
}

impl JobRow {
    /// Whether totals count it: it is no superseded submission.
    pub fn counts(&self) -> bool {
        self.about.superseded_by.is_none()
    }

    /// The disposition as it is printed.
    pub fn disposition_text(&self) -> String {
        self.disposition.with_accepted(self.accepted)
    }
}

/// A file that could not be read, or became part of no job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct UnreadFile {
    pub path: String,
    /// A sentence.
    pub why: String,
}

/// What is known of a batch once all jobs are done.
pub struct BatchEnd<'a> {
    /// All jobs, in the order in which they were added.
    pub jobs: &'a Jobs<'a>,
    /// As [`super::frame::counted_findings`] gives them.
    pub counted: &'a DataFrame,
    /// What stands, equal findings of many dwellings counted once.
    pub distinct: Counts,
    /// Summed over the jobs, in the order of the registry.
    pub tallies: &'a [RuleTally],
    pub unread: &'a [UnreadFile],
    /// Files that are no schedules: only counted.
    pub other_files: u64,
    pub practice: &'a Practice,
    /// Against an earlier audit.
    pub compared: Option<&'a Comparison>,
    /// What *Basis* says of this batch beside its date and edition: each a
    /// name and a sentence.
    pub notes: &'a [(String, String)],
}

const JOBS: [Column; 14] = [
    ("Job", 30.0),
    ("Disposition", 22.0),
    ("Submitted by", 20.0),
    ("Revision", 13.0),
    ("Date", 11.0),
    ("Fix", 8.0),
    ("Verify", 9.0),
    ("Note", 8.0),
    ("Accepted", 10.0),
    ("Worst finding", 28.0),
    ("Workbook", 26.0),
    ("Copy of the author's file", 40.0),
    ("Files", 30.0),
    ("Why these files are one job", 36.0),
];

const UNREAD: [Column; 2] = [("File", 60.0), ("Why it was not read", 100.0)];

/// Row of the headings of the sheets of findings.
const HEAD: u32 = 2;
/// Rows that a sheet of findings takes before the next one begins.
const MOST_ROWS: u32 = 1_048_000;
const MOST_LINKS: u32 = 65_000;
/// More findings are written row by row, so that they never are in memory as
/// cells; such a sheet has no outline.
const STREAM_FROM: usize = 20_000;
const MOST_SAID: &str = "a sheet of a spreadsheet program holds no more.";

/// Collects a batch's workbook, job by job.
pub struct BatchBook {
    workbook: Workbook,
    styles: Styles,
    names: SheetNames,
    as_of: String,
    /// Sheets of the workbook: overview, jobs, then the first of the findings; where
    /// these need more, they come behind all others.
    sheet: usize,
    row: u32,
    /// Rows that a sheet takes, and sheets that the findings take.
    most_rows: u32,
    finding_sheets: usize,
    sources: BTreeMap<String, BTreeSet<String>>,
    any_since: bool,
    any_accepted: bool,
    /// The findings are written row by row.
    streams: bool,
}

impl BatchBook {
    /// An empty batch that will have so many findings.
    ///
    /// # Errors
    /// Where the temporary file of the findings cannot be made.
    pub fn new(as_of: Date, findings: usize) -> Result<Self, ReportError> {
        let mut workbook = super::new_workbook("Batch", as_of)?;
        let mut names = SheetNames::default();
        page::add(&mut workbook, &names.give("Overview"), "Overview")?;
        page::add(&mut workbook, &names.give("Jobs"), "Jobs")?;
        let mut batch = Self {
            workbook,
            styles: Styles::new(),
            names,
            as_of: as_of.to_string(),
            sheet: 0,
            row: 0,
            most_rows: MOST_ROWS,
            finding_sheets: 0,
            sources: BTreeMap::new(),
            streams: findings > STREAM_FROM,
            any_since: false,
            any_accepted: false,
        };
        batch.names.give("Findings");
        batch.begin_findings("Findings")?;
        Ok(batch)
    }

    /// Lets a sheet take fewer rows than a spreadsheet program does.
    #[cfg(test)]
    pub(super) fn with_most_rows(mut self, rows: u32) -> Self {
        self.most_rows = rows;
        self
    }

    fn begin_findings(&mut self, name: &str) -> Result<(), ReportError> {
        self.workbook.define_name(
            format!("_ampledger_{}", mark(name)),
            &format!("={}!$A$1", page::quoted(name)),
        )?;
        self.sheet = self.workbook.worksheets().len();
        let sheet = match self.streams {
            true => self.workbook.add_worksheet_with_constant_memory()?,
            false => self.workbook.add_worksheet(),
        };
        sheet.set_name(name)?;
        sheet.group_symbols_above(true);
        let page = Page {
            styles: &self.styles,
            of: "Batch",
            as_of: &self.as_of,
        };
        let lead = match self.finding_sheets {
            0 if self.streams => {
                "All findings of all jobs, job by job, the worst first; equal ones of many \
                 dwellings stand below one row that says so."
                    .to_owned()
            }
            0 => "All findings of all jobs, job by job, the worst first; equal ones of many \
                  dwellings are one row, opened at its plus sign."
                .to_owned(),
            _ => format!(
                "The findings go on here from the sheet before: {MOST_SAID} findings.parquet holds them in one."
            ),
        };
        self.finding_sheets += 1;
        page.open(sheet, "Findings", &[(lead, &self.styles.quiet)])?;
        page.head(sheet, HEAD, &findings::COLUMNS)?;
        self.row = HEAD;
        Ok(())
    }

    fn say_where_it_goes_on(&mut self, next: &str) -> Result<(), ReportError> {
        let says = format!("The findings go on in the sheet {next}.");
        let sheet = self.workbook.worksheet_from_index(self.sheet)?;
        page::string(sheet, self.row + 1, 0, &says, &self.styles.lead)?;
        Ok(())
    }

    fn end_findings(&mut self) -> Result<(), ReportError> {
        let page = Page {
            styles: &self.styles,
            of: "Batch",
            as_of: &self.as_of,
        };
        let sheet = self.workbook.worksheet_from_index(self.sheet)?;
        for (column, filled) in [
            (findings::SINCE, self.any_since),
            (findings::ACCEPTED, self.any_accepted),
        ] {
            if !filled {
                sheet.set_column_hidden(column)?;
            }
        }
        page.close(sheet, HEAD, self.row, findings::COLUMNS.len(), 3)?;
        Ok(())
    }

    /// Adds a job and its findings; jobs come in their final order.
    ///
    /// # Errors
    /// Where a row cannot be written.
    pub fn add(&mut self, job: Job) -> Result<(), ReportError> {
        let own = job.findings()?;
        let findings: Vec<&Record> = own.iter().collect();
        let dwellings = match findings.is_empty() {
            true => Dwellings::default(),
            false => job.facts()?.dwellings(),
        };
        let mut folds = Vec::new();
        for line in &groups::lines(&findings) {
            let rows = match line {
                Line::Group(members) => 1 + members.len() as u32,
                Line::One(_) | Line::Member(_) => 1,
            };
            if self.row + rows > self.most_rows && self.row > HEAD && line.is_top() {
                let name = self.names.give("Findings");
                self.say_where_it_goes_on(&name)?;
                self.end_findings()?;
                self.begin_findings(&name)?;
            }
            self.row += 1;
            if rows > 1 {
                folds.push((self.sheet, self.row + 1, self.row + rows - 1));
            }
            let cells = findings::row(job.row(), line, &dwellings, self.row < MOST_LINKS);
            self.write_row(&cells)?;
        }
        // A sheet that is written row by row knows no outline: its rows stay
        // in sight.
        for (sheet, first, last) in folds.into_iter().filter(|_| !self.streams) {
            let sheet = self.workbook.worksheet_from_index(sheet)?;
            sheet.group_rows_collapsed(first, last)?;
        }
        self.any_since |= job.any_since();
        self.any_accepted |= job.any_accepted();
        for finding in findings {
            if !finding.source.is_empty() {
                let sources = self.sources.entry(finding.rule.clone()).or_default();
                if !sources.contains(&finding.source) {
                    sources.insert(finding.source.clone());
                }
            }
        }
        Ok(())
    }

    fn write_row(&mut self, cells: &[Cell]) -> Result<(), ReportError> {
        let row = self.row;
        let sheet = self.workbook.worksheet_from_index(self.sheet)?;
        let widths = findings::COLUMNS.iter().map(|(_, width)| *width);
        page::make_room(sheet, row, cells.iter().zip(widths))?;
        for (column, cell) in cells.iter().enumerate() {
            page::put(sheet, row, column as u16, cell, &self.styles)?;
        }
        Ok(())
    }

    /// Writes what stands around the findings, and gives the workbook.
    ///
    /// # Errors
    /// Where the workbook cannot be written.
    pub fn finish(mut self, end: &BatchEnd) -> Result<Vec<u8>, ReportError> {
        self.end_findings()?;
        self.write_overview(end)?;
        self.write_jobs(end)?;
        let submitters = submitters::rows(end.jobs, end.counted)?;
        self.add_list(
            "Submitters",
            &submitters::COLUMNS,
            &submitters,
            submitters::leads(),
        )?;
        let models = models::rows(end.jobs)?;
        self.add_list("Models", &models::COLUMNS, &models, models::leads())?;
        let twins = twins::rows(end.jobs)?;
        self.add_list("Twins", &twins::COLUMNS, &twins, twins::leads(&twins))?;
        self.add_reviews(end)?;
        let taken = takeoff::rows(end.jobs)?;
        self.add_list(
            "Takeoff",
            &takeoff::COLUMNS,
            &taken,
            takeoff::leads(end.jobs),
        )?;
        let rows = tallies::rows(end.tallies);
        self.add_list("Rules", &tallies::COLUMNS, &rows, Vec::new())?;
        let unread: Vec<Vec<Cell>> = end
            .unread
            .iter()
            .map(|file| vec![Cell::text(&file.path), Cell::text(&file.why)])
            .collect();
        let others = format!(
            "{} could not be read. {} that are no schedules were passed over.",
            counted(end.unread.len(), "file", "files"),
            counted(end.other_files as usize, "other file", "other files"),
        );
        self.add_list("Unread", &UNREAD, &unread, vec![others])?;
        self.write_basis(end)?;
        Ok(self.workbook.save_to_buffer()?)
    }

    /// What was accepted, and what became of an earlier audit's findings.
    fn add_reviews(&mut self, end: &BatchEnd) -> Result<(), ReportError> {
        let accepted = accepted::rows(end.jobs)?;
        if !accepted.is_empty() {
            let leads = vec![
                "Acceptances by file, sheet and the column Accept, and whether each still holds."
                    .to_owned(),
            ];
            self.add_list("Accepted", &accepted::COLUMNS, &accepted, leads)?;
        }
        let Some(compared) = end.compared else {
            return Ok(());
        };
        let rows = compared.findings.iter().map(compare::finding_row);
        let rows: Vec<Vec<Cell>> = rows.collect();
        let leads = vec![compare::counts(compared)];
        self.add_list("Since", &compare::FINDINGS, &rows, leads)
    }

    fn write_overview(&mut self, end: &BatchEnd) -> Result<(), ReportError> {
        let page = Page {
            styles: &self.styles,
            of: "Batch",
            as_of: &self.as_of,
        };
        let sheet = self.workbook.worksheet_from_index(0)?;
        sheet.set_active(true);
        overview::write(&page, sheet, end, self.finding_sheets)
    }

    fn write_jobs(&mut self, end: &BatchEnd) -> Result<(), ReportError> {
        let styles = &self.styles;
        let page = Page {
            styles,
            of: "Batch",
            as_of: &self.as_of,
        };
        let rows: Vec<Vec<Cell>> = end.jobs.rows().map(job_row).collect();
        let by_disposition: Vec<String> = Disposition::ALL
            .into_iter()
            .filter_map(|disposition| {
                let count = end
                    .jobs
                    .rows()
                    .filter(|j| j.counts() && j.disposition == disposition)
                    .count();
                (count > 0).then(|| format!("{count} {disposition}"))
            })
            .collect();
        let unread = match end.unread.len() {
            0 => String::new(),
            count => format!(
                " {} could not be read: see Unread.",
                counted(count, "file", "files")
            ),
        };
        let leads = [
            (jobs_counted(end.jobs), &styles.title),
            (
                format!("{}.{unread}", by_disposition.join(", ")),
                &styles.lead,
            ),
            (
                format!(
                    "No disposition is an approval: the reviewer signs each job. As of {}.",
                    self.as_of
                ),
                &styles.quiet,
            ),
        ];
        let sheet = self.workbook.worksheet_from_index(1)?;
        let head = page.open(sheet, "Jobs", &leads)?;
        let (here, more) = rows.split_at(rows.len().min(self.most_rows as usize));
        page.list(sheet, head, &JOBS, here, 1)?;
        match more {
            [] => Ok(()),
            more => self.add_list("Jobs", &JOBS, more, vec!["The jobs go on here.".to_owned()]),
        }
    }

    fn add_list(
        &mut self,
        title: &str,
        columns: &[Column],
        rows: &[Vec<Cell>],
        leads: Vec<String>,
    ) -> Result<(), ReportError> {
        let (here, more) = rows.split_at(rows.len().min(self.most_rows as usize));
        let name = self.names.give(title);
        let sheet = page::add(&mut self.workbook, &name, &mark(&name))?;
        let page = Page {
            styles: &self.styles,
            of: "Batch",
            as_of: &self.as_of,
        };
        let leads: Vec<_> = leads
            .into_iter()
            .map(|lead| (lead, &self.styles.lead))
            .collect();
        let head = page.open(sheet, title, &leads)?;
        page.list(sheet, head, columns, here, 1)?;
        match more {
            [] => Ok(()),
            more => {
                let lead = format!("The list goes on here from the sheet before: {MOST_SAID}");
                self.add_list(title, columns, more, vec![lead])
            }
        }
    }

    fn write_basis(&mut self, end: &BatchEnd) -> Result<(), ReportError> {
        let name = self.names.give("Basis");
        let sheet = page::add(&mut self.workbook, &name, "Basis")?;
        let page = Page {
            styles: &self.styles,
            of: "Batch",
            as_of: &self.as_of,
        };
        let edition = (
            "Adopted edition".to_owned(),
            end.practice.edition.to_string(),
            "where a job does not state its own".to_owned(),
        );
        let as_of = (
            "As of".to_owned(),
            self.as_of.clone(),
            "the only date that the audit knows".to_owned(),
        );
        let mut about = vec![as_of, edition];
        let notes = end.notes.iter().cloned();
        about.extend(notes.map(|(name, note)| (name, note, String::new())));
        let sources = self.sources.iter().flat_map(|(rule, sources)| {
            sources
                .iter()
                .map(|source| (rule.as_str(), source.as_str()))
        });
        let sections = [
            Section {
                title: "This batch",
                rows: about,
            },
            basis::cautions(),
            basis::practice(end.practice),
            basis::sources(sources),
        ];
        basis::write(&page, sheet, &sections)
    }
}

/// A sheet's name as part of a defined name.
fn mark(name: &str) -> String {
    name.replace(['(', ')', ' '], "")
}

/// `17 jobs, and 2 superseded submissions outside all totals`.
fn jobs_counted(jobs: &Jobs) -> String {
    let current = jobs.counted().count();
    let text = counted(current, "job", "jobs");
    match jobs.len() - current {
        0 => text,
        more => format!(
            "{text}, and {} outside all totals",
            counted(more, "superseded submission", "superseded submissions")
        ),
    }
}

fn job_row(job: &JobRow) -> Vec<Cell> {
    let worst = job.worst.map_or_else(String::new, |(severity, rule)| {
        format!("{} {rule}", super::style::word(severity))
    });
    let workbook = job.workbook.as_deref();
    let disposition = job.disposition_text();
    vec![
        Cell::link(
            workbook.and_then(|path| page::outside(path, None)),
            &job.job,
        ),
        match job.disposition {
            _ if !job.counts() => Cell::Section(format!("superseded; was: {disposition}")),
            Disposition::NotAudited | Disposition::ReviseAndResubmit => {
                Cell::Tint(Severity::Fix, disposition)
            }
            Disposition::AuditedInPart | Disposition::MakeCorrectionsNoted => {
                Cell::Tint(Severity::Verify, disposition)
            }
            Disposition::NoExceptionsNoted => Cell::Text(disposition),
        },
        Cell::text(&job.about.submitted_by),
        Cell::text(&job.about.revision),
        Cell::text(&job.about.date),
        Cell::Count(job.fix as u64),
        Cell::Count(job.verify as u64),
        Cell::Count(job.note as u64),
        Cell::Count(job.accepted as u64),
        match job.worst {
            Some((Severity::Fix, _)) => Cell::Group(worst),
            _ => Cell::Text(worst),
        },
        Cell::link(
            workbook.and_then(|path| page::outside(path, None)),
            workbook.unwrap_or("not written"),
        ),
        Cell::text(CopyTold::of_job(&job.copies)),
        Cell::text(job.files.join("\n")),
        Cell::text(&job.reason),
    ]
}
