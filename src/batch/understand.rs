//! The first half of the road alone, for `read`.

use super::discover::discover;
use super::plan::{plan, read_file};
use crate::intake::assemble::{Hints, ReadFile, RowChoice, draft};
use crate::intake::job::JobPer;
use crate::schedule::SourceTable;
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
}

/// Reads and recognises, and audits nothing.
pub fn understand(paths: &[PathBuf], per: Option<JobPer>) -> Understood {
    let plan = plan(discover(paths), per.unwrap_or_default(), &|| {});
    let mut understood = Understood {
        unread: plan.unread,
        others: plan.others,
        own_outputs: plan.own_outputs,
        ..Understood::default()
    };
    for cluster in plan.clusters {
        let mut files: Vec<Option<Arc<ReadFile>>> = Vec::with_capacity(cluster.files.len());
        for planned in cluster.files {
            let read = match planned.read {
                Some(read) => Ok(read),
                None => read_file(&planned.candidate).map(Arc::new),
            };
            match read {
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
    FileReading {
        path: file.path.clone(),
        format: file.book.format.name().to_owned(),
        notes: file.notes.clone(),
        tables: whole.sources.tables,
    }
}
