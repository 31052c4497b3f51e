//! Jobs that are unchanged since an earlier audit: their facts and outputs
//! are taken from its folder, and are the bytes that an audit would write.
//!
//! What is audited together (the jobs that share files) is reused together.
//! A hash stands for everything that its outputs depend on.

use super::held::Held;
use super::options::Options;
use super::outputs::{OutputFolder, hex};
use super::plan::Cluster;
use crate::report::jobs::Kept;
use crate::report::shelf::Shelf;
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::path::Path;
use std::sync::Mutex;

/// The program: its version, and the sources that it was built from.
const PROGRAM: &str = concat!(env!("CARGO_PKG_VERSION"), " ", env!("AMPLEDGER_SOURCES"));

/// Jobs of earlier audits, by the hash of what they depend on.
pub(super) struct Earlier {
    /// What all jobs of this run depend on.
    settings: String,
    folders: Vec<EarlierFolder>,
}

struct EarlierFolder {
    held: Held,
    /// It is the folder that is written into.
    is_output: bool,
    /// Those of one set, until they are taken.
    jobs: HashMap<String, Mutex<Vec<Kept>>>,
}

impl Earlier {
    /// Reads what may be reused. What stands in the output folder and cannot
    /// be used is audited anew; a folder that the user named has to be an
    /// audit's.
    ///
    /// # Errors
    /// A sentence about the named folder.
    pub fn read(options: &Options, shelf: &Shelf) -> Result<Self, String> {
        let mut folders = Vec::new();
        if !options.afresh {
            folders.extend(Held::read(&options.out, shelf).ok());
        }
        let out = real(&options.out);
        if let Some(named) = options.reuse.as_deref().filter(|named| real(named) != out) {
            folders.push(Held::read(named, shelf)?);
        }
        Ok(Self {
            settings: settings(options),
            folders: folders
                .into_iter()
                .map(|mut held| EarlierFolder {
                    is_output: real(&held.root) == out,
                    jobs: by_inputs(std::mem::take(&mut held.jobs)),
                    held,
                })
                .collect(),
        })
    }

    /// The hash of what a set of jobs depends on, but for the names of their
    /// outputs: these depend on the other jobs of the run. Empty, and never
    /// reused, where a file could not be hashed.
    pub fn inputs(&self, cluster: &Cluster) -> String {
        if cluster.files.iter().any(|file| file.hash.is_empty()) {
            return String::new();
        }
        let mut hash = Sha256::new();
        let mut line = |text: &str| {
            hash.update(text.len().to_le_bytes());
            hash.update(text.as_bytes());
        };
        line(&self.settings);
        for file in &cluster.files {
            line(&file.candidate.relative);
            line(&file.hash);
        }
        for job in &cluster.jobs {
            // Which rows of which files, and why.
            line(&format!("{job:?}"));
        }
        hex(&hash.finalize())
    }

    /// The jobs of a set as an earlier audit left them, with their outputs
    /// standing in the output folder; `None` where they have to be audited.
    pub fn take(&self, inputs: &str, names: &[String], out: &OutputFolder) -> Option<Vec<Kept>> {
        let folder = self
            .folders
            .iter()
            .find(|folder| folder.jobs.contains_key(inputs))?;
        let results = std::mem::take(
            &mut *folder
                .jobs
                .get(inputs)?
                .lock()
                .unwrap_or_else(std::sync::PoisonError::into_inner),
        );
        let outputs = || results.iter().flat_map(|job| &job.origin.outputs);
        let named = results.iter().map(|job| &job.origin.name).eq(names);
        if !named || !outputs().all(|output| folder.may_stand(output, out)) {
            return None;
        }
        for output in outputs() {
            if folder.is_output {
                out.stays(output);
                continue;
            }
            // A fault here is met again, and said, by the audit.
            let (bytes, _) = folder.held.output(output)?;
            out.write(output, &bytes).ok()?;
        }
        Some(results)
    }
}

impl EarlierFolder {
    /// Whether an output is as an audit would write it now: nobody typed into
    /// it, here or there.
    fn may_stand(&self, output: &str, out: &OutputFolder) -> bool {
        if self.is_output {
            return out.stands_as_written(output);
        }
        let same = self.held.output(output).is_some_and(|(_, same)| same);
        let typed_here = out.existing(output).is_some() && out.may_hold_remarks(output);
        same && !self.held.carries_remarks(output) && !typed_here
    }
}

fn by_inputs(jobs: Vec<Kept>) -> HashMap<String, Mutex<Vec<Kept>>> {
    let mut by_inputs: HashMap<String, Vec<Kept>> = HashMap::new();
    let known = |job: &Kept| !job.origin.inputs.is_empty();
    for job in jobs.into_iter().filter(known) {
        let set = by_inputs.entry(job.origin.inputs.clone()).or_default();
        set.push(job);
    }
    by_inputs
        .into_iter()
        .map(|(inputs, mut set)| {
            set.sort_by_key(|job| job.origin.place);
            (inputs, Mutex::new(set))
        })
        .collect()
}

/// Everything that outputs of every job depend on. Whoever adds an option
/// says here whether they do.
fn settings(options: &Options) -> String {
    let Options {
        paths: _,
        out: _,
        force: _,
        shard: _,
        afresh: _,
        reuse: _,
        // Its practice stands below.
        profile: _,
        job_per,
        schemas,
        as_of,
        practice,
        workbooks,
        prices,
        drawings,
        review,
    } = options;
    let headings = schemas.user_headings();
    let all = format!(
        "{PROGRAM}\n{job_per:?}\n{as_of}\n{practice:?}\n{workbooks}\n{prices:?}\n{drawings:?}\n{review:?}\n{headings}"
    );
    hex(&Sha256::digest(all.as_bytes()))
}

fn real(path: &Path) -> std::path::PathBuf {
    std::fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf())
}
