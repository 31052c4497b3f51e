//! The files that were read, and the jobs that they make.
//!
//! Jobs never reach across folders, so a folder is planned at a time. Of a
//! file stays what it says of its jobs; the grids of the first megabytes stay
//! as well, and the others are read again when their turn comes. Their tables
//! are put away meanwhile: recognising them takes longer than reading.

use super::discover::{Candidate, Discovery, natural_key};
use super::outputs::hash;
use super::reading::{Reading, said};
use crate::intake::assemble::ReadFile;
use crate::intake::book::Book;
use crate::intake::found::FoundTable;
use crate::intake::job::{Claims, Grouping, JobGroup, JobPer, group};
use crate::intake::recognise;
use crate::report::shelf::{Place, Shelf};
use rayon::prelude::*;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// Bytes of files whose grids are kept between planning and auditing. A
/// grid takes some ten times the bytes of a workbook.
const KEPT_BYTES: u64 = 6 << 20;

/// Of a file without a table, so many sheets are spoken of.
const SHEETS_SAID: usize = 4;

/// A file of the batch.
#[derive(Debug)]
pub(super) struct PlannedFile {
    pub candidate: Candidate,
    /// Of its bytes, taken before they were read.
    pub hash: String,
    known: Known,
    reading: Arc<Reading>,
}

/// What is kept of a file between planning and auditing.
#[derive(Debug)]
enum Known {
    Whole(Arc<ReadFile>),
    /// Where its tables lie, and its size by which a file is known that
    /// somebody changed meanwhile.
    Tables(u64, Place),
}

impl PlannedFile {
    /// The file with its grids, read again where they were not kept.
    ///
    /// # Errors
    /// As [`read_file`].
    pub fn read(&self, shelf: &Shelf) -> Result<Arc<ReadFile>, String> {
        match &self.known {
            Known::Whole(read) => Ok(Arc::clone(read)),
            Known::Tables(bytes, tables) => {
                // What cannot be had any more is found anew.
                let tables = shelf.get(tables).ok();
                let known = tables.map(|tables| (*bytes, tables));
                read_with(&self.candidate, known, &self.reading).map(Arc::new)
            }
        }
    }
}

/// Files that share jobs, with these jobs: what is audited together, so that
/// a file of a thousand jobs is read once.
#[derive(Debug)]
pub(super) struct Cluster {
    pub files: Vec<PlannedFile>,
    /// Files by their index into `files`.
    pub jobs: Vec<JobGroup>,
}

/// All that is known before the first job is audited.
#[derive(Debug, Default)]
pub(super) struct Plan {
    pub clusters: Vec<Cluster>,
    /// Files that could not be read, and files or tables that no job takes.
    pub unread: Vec<(String, String)>,
    pub others: u64,
    pub own_outputs: Vec<String>,
}

/// Reads a file: grids, then tables.
///
/// # Errors
/// A sentence, also where a reader of ours or of a library panics: that is
/// this file's fault alone.
fn read_file(candidate: &Candidate, reading: &Reading) -> Result<ReadFile, String> {
    read_with(candidate, None, reading)
}

fn read_with(
    candidate: &Candidate,
    known: Option<(u64, Vec<FoundTable>)>,
    reading: &Reading,
) -> Result<ReadFile, String> {
    catch_unwind(AssertUnwindSafe(|| {
        let bytes = std::fs::metadata(&candidate.path).map_or(0, |meta| meta.len());
        let book = Book::open(&candidate.path, &reading.limits).map_err(|refusal| said(&refusal))?;
        if let Some((as_it_was, tables)) = known
            && as_it_was == bytes
        {
            return Ok(ReadFile::new(candidate.relative.clone(), bytes, book, tables));
        }
        let found = recognise::recognise(&book, &reading.schemas);
        Ok(ReadFile::recognised(candidate.relative.clone(), bytes, book, found))
    }))
    .unwrap_or_else(|_| {
        Err("Reading it failed inside the program; save it anew as XLSX or CSV, and please report it.".to_owned())
    })
}

/// Reads all candidates and groups them into jobs.
pub(super) fn plan(
    found: Discovery,
    per: JobPer,
    reading: &Arc<Reading>,
    shelf: &Shelf,
    each: &(dyn Fn() + Sync),
) -> Plan {
    let mut plan = Plan {
        clusters: Vec::new(),
        unread: found.unread,
        others: found.others.values().sum(),
        own_outputs: found.own_outputs,
    };
    let folders: Vec<Vec<Candidate>> = found
        .candidates
        .chunk_by(|a, b| a.folder == b.folder)
        .map(<[_]>::to_vec)
        .collect();
    let kept = AtomicU64::new(0);
    let planned: Vec<_> = folders
        .into_par_iter()
        .map(|folder| plan_folder(folder, per, (reading, shelf), &kept, each))
        .collect();
    for (clusters, unread) in planned {
        plan.clusters.extend(clusters);
        plan.unread.extend(unread);
    }
    plan.unread
        .sort_by_cached_key(|(path, _)| natural_key(path));
    plan
}

type Planned = (Vec<Cluster>, Vec<(String, String)>);

fn plan_folder(
    folder: Vec<Candidate>,
    per: JobPer,
    (reading, shelf): (&Arc<Reading>, &Shelf),
    kept: &AtomicU64,
    each: &(dyn Fn() + Sync),
) -> Planned {
    let results: Vec<Result<(PlannedFile, Claims), (String, String)>> = folder
        .into_par_iter()
        .map(|candidate| {
            // First the hash: a file that changes meanwhile then has another
            // one the next time.
            let hash = hash_of(&candidate.path, reading.limits.file_bytes);
            let read = read_file(&candidate, reading);
            each();
            let file = match read {
                Ok(file) if file.tables.is_empty() => Err(no_table(&file)),
                read => read,
            };
            let file = file.map_err(|sentence| (candidate.relative.clone(), sentence))?;
            let claims = Claims::of(&file);
            let small = kept.fetch_add(file.bytes, Ordering::Relaxed) + file.bytes <= KEPT_BYTES;
            let tables = match small {
                true => None,
                false => shelf.put(&file.tables).ok(),
            };
            let planned = PlannedFile {
                candidate,
                hash,
                known: match tables {
                    Some(tables) => Known::Tables(file.bytes, tables),
                    None => Known::Whole(Arc::new(file)),
                },
                reading: Arc::clone(reading),
            };
            Ok((planned, claims))
        })
        .collect();
    let mut unread = Vec::new();
    let (mut files, mut claims) = (Vec::new(), Vec::new());
    for result in results {
        match result {
            Ok((file, claimed)) => {
                files.push(file);
                claims.push(claimed);
            }
            Err(why) => unread.push(why),
        }
    }
    let Grouping { jobs, unjoined } = group(claims, per);
    for loose in unjoined {
        let path = files
            .get(loose.file)
            .map_or(String::new(), |file| file.candidate.relative.clone());
        unread.push((path, loose.says));
    }
    (clusters(files, jobs), unread)
}

/// Empty where the file cannot be read, or is none that is read: its reader
/// says why. A pipe would be waited for.
fn hash_of(path: &Path, most: u64) -> String {
    let is_read = |meta: std::fs::Metadata| meta.is_file() && meta.len() <= most;
    if !std::fs::metadata(path).is_ok_and(is_read) {
        return String::new();
    }
    std::fs::read(path).map_or_else(|_| String::new(), |bytes| hash(&bytes))
}

fn no_table(file: &ReadFile) -> String {
    let mut why = "No table of a schedule was found in it.".to_owned();
    for (sheet, reason) in file.without.iter().take(SHEETS_SAID) {
        why.push(' ');
        if let Some(sheet) = sheet {
            why.push_str(&format!("Sheet {sheet}: "));
        }
        why.push_str(reason);
    }
    if let Some(more) = file.without.len().checked_sub(SHEETS_SAID + 1) {
        why.push_str(&format!(" And {} more sheets.", more + 1));
    }
    if let Some(note) = file.notes.first() {
        why.push(' ');
        why.push_str(note);
    }
    why
}

/// Splits a folder's jobs into sets that share no file.
fn clusters(files: Vec<PlannedFile>, jobs: Vec<JobGroup>) -> Vec<Cluster> {
    // Each file belongs to the set of the first job that takes it.
    let mut set_of: Vec<usize> = (0..files.len()).collect();
    fn root(set_of: &mut [usize], mut file: usize) -> usize {
        while set_of[file] != file {
            set_of[file] = set_of[set_of[file]];
            file = set_of[file];
        }
        file
    }
    for job in &jobs {
        let Some(&(first, _)) = job.files.first() else {
            continue;
        };
        let first = root(&mut set_of, first);
        for &(file, _) in &job.files {
            let other = root(&mut set_of, file);
            let low = first.min(other);
            set_of[first.max(other)] = low;
        }
    }
    let mut place = vec![(0, 0); files.len()];
    let mut made: Vec<Cluster> = Vec::new();
    let mut cluster_of = std::collections::HashMap::new();
    for (index, file) in files.into_iter().enumerate() {
        let set = root(&mut set_of, index);
        let cluster = *cluster_of.entry(set).or_insert_with(|| {
            made.push(Cluster {
                files: Vec::new(),
                jobs: Vec::new(),
            });
            made.len() - 1
        });
        place[index] = (cluster, made[cluster].files.len());
        made[cluster].files.push(file);
    }
    for mut job in jobs {
        let Some(&(first, _)) = job.files.first() else {
            continue;
        };
        let cluster = place[first].0;
        for (file, _) in &mut job.files {
            *file = place[*file].1;
        }
        made[cluster].jobs.push(job);
    }
    made.retain(|cluster| !cluster.jobs.is_empty());
    made
}
