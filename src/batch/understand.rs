//! The first half of the road alone, for `read`.

use super::discover::discover;
use super::plan::plan;
use super::reading::Reading;
use crate::intake::assemble::{Hints, ReadFile, RowChoice, draft};
use crate::intake::found::{FormEntry, FoundTable};
use crate::intake::job::JobPer;
use crate::intake::schema::Schemas;
use crate::practice::Practice;
use crate::report::shelf::Shelf;
use crate::schedule::{RowNumber, SourceTable};
use std::path::PathBuf;
use std::sync::Arc;

/// How the named paths were understood.
#[derive(Debug, Default)]
pub struct Understood {
    pub jobs: Vec<JobReading>,
    /// By path.
    pub files: Vec<FileReading>,
    /// Path and a sentence.
    pub unread: Vec<(String, String)>,
    /// Files that are no schedules by their names.
    pub others: u64,
    pub own_outputs: Vec<String>,
}

/// A job, and why its files are one.
#[derive(Debug)]
pub struct JobReading {
    pub title: String,
    pub key: String,
    pub reason: String,
    pub files: Vec<String>,
}

/// A file and its tables.
#[derive(Debug)]
pub struct FileReading {
    pub path: String,
    pub format: String,
    pub notes: Vec<String>,
    pub tables: Vec<SourceTable>,
    /// For each table the labels and values on its sheet.
    pub forms: Vec<Vec<FormReading>>,
    /// Headings that are not recognised, each with its sheet and what is
    /// nearest to it.
    pub unknown: Vec<UnknownHeading>,
    /// Sheets without a table: name and reason.
    pub without: Vec<(Option<String>, String)>,
}

/// A heading that is not recognised.
#[derive(Debug)]
pub struct UnknownHeading {
    pub heading: String,
    pub sheet: Option<String>,
    pub nearest: Option<String>,
}

/// A label and its value in a block on a sheet.
#[derive(Debug)]
pub struct FormReading {
    /// As a spreadsheet names it: `B4`.
    pub cell: String,
    pub label: String,
    pub value: String,
    pub field: &'static str,
}

/// Reads and recognises, and audits nothing.
pub fn understand(paths: &[PathBuf], per: Option<JobPer>, schemas: &Arc<Schemas>) -> Understood {
    let how = Arc::new(Reading::new(schemas, &Practice::default()));
    let shelf = Shelf::new(std::env::temp_dir());
    let per = per.unwrap_or_default();
    let plan = plan(discover(paths), per, &how, &shelf, &|| {});
    let mut understood = Understood {
        unread: plan.unread,
        others: plan.others,
        own_outputs: plan.own_outputs,
        ..Understood::default()
    };
    for cluster in plan.clusters {
        let mut files: Vec<Option<Arc<ReadFile>>> = Vec::with_capacity(cluster.files.len());
        for planned in cluster.files {
            match planned.read(&shelf) {
                Ok(read) => {
                    understood.files.push(reading(&read));
                    files.push(Some(read));
                }
                Err(sentence) => {
                    understood
                        .unread
                        .push((planned.candidate.relative, sentence));
                    files.push(None);
                }
            }
        }
        for job in cluster.jobs {
            let parts: Vec<(&ReadFile, RowChoice)> = job
                .files
                .into_iter()
                .filter_map(|(file, rows)| files.get(file)?.as_deref().map(|read| (read, rows)))
                .collect();
            let draft = draft(&parts, Hints { stem: &job.stem });
            understood.jobs.push(JobReading {
                title: draft.title,
                key: draft.key,
                reason: job.reason.to_string(),
                files: parts.iter().map(|(file, _)| file.path.clone()).collect(),
            });
        }
    }
    understood.files.sort_by(|a, b| a.path.cmp(&b.path));
    understood
}

/// All rows of the file, whatever jobs they belong to.
fn reading(file: &ReadFile) -> FileReading {
    let whole = draft(&[(file, RowChoice::All)], Hints::default());
    let mut tables = whole.sources.tables;
    tables.retain(|table| table.part_of.is_none());
    FileReading {
        path: file.path.clone(),
        format: file.book.format.name().to_owned(),
        notes: file.notes.clone(),
        unknown: unknown(file),
        forms: file.tables.iter().map(|found| form(file, found)).collect(),
        without: file.without.clone(),
        tables,
    }
}

fn unknown(file: &ReadFile) -> Vec<UnknownHeading> {
    let mut unknown = Vec::new();
    for found in &file.tables {
        let sheet = file.book.sheet(found.sheet);
        let columns = found.columns.iter();
        let open = columns.filter(|c| c.fields.is_empty() && !c.heading.trim().is_empty());
        unknown.extend(open.map(|column| UnknownHeading {
            heading: column.heading.clone(),
            sheet: sheet.and_then(|sheet| sheet.name.clone()),
            nearest: column.nearest.clone(),
        }));
    }
    unknown
}

fn form(file: &ReadFile, found: &FoundTable) -> Vec<FormReading> {
    let Some(sheet) = file.book.sheet(found.sheet) else {
        return Vec::new();
    };
    let read = |entry: &FormEntry| {
        let label = sheet.text(entry.label.0, entry.label.1);
        let value = sheet.text(entry.value.0, entry.value.1);
        let label = match label.split_once(':') {
            Some((label, _)) => label,
            None => &label,
        };
        FormReading {
            cell: format!("{}{}", entry.value.1, RowNumber::from(entry.value.0)),
            label: label.trim().to_owned(),
            value: entry.value_in(&value).to_owned(),
            field: entry.field.name(),
        }
    };
    found.form.iter().map(read).collect()
}
