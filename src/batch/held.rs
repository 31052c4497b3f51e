//! An audit folder, read back: what stays of its jobs, and what the run knew
//! beside them.

use super::across::{JOB_SUBMITTED_TWICE, MODEL_DISAGREES};
use super::discover::MANIFEST;
use super::outputs::{Manifest, hash};
use crate::findings::Severity;
use crate::report::ReportError;
use crate::report::batch::UnreadFile;
use crate::report::copy::CopyTold;
use crate::report::facts::{FactFrames, jobs_of};
use crate::report::formats::{Format, read_parquet};
use crate::report::jobs::Kept;
use crate::report::shelf::Shelf;
use jiff::civil::Date;
use polars::prelude::DataFrame;
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};

/// Holds what a run knew beside its jobs.
pub(super) const RUN: &str = "run.json";

/// `DIR/run.json`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RunFacts {
    /// Of the program that wrote it.
    pub version: String,
    pub as_of: Date,
    /// The part that was audited, `2/8`; `None` for the whole.
    pub part: Option<String>,
    /// Whether workbooks were written, or the lists alone.
    pub workbooks: bool,
    /// The practice profile as its file says it; empty for the defaults.
    pub profile: String,
    /// Files that are no schedules.
    pub others: u64,
    pub unread: Vec<UnreadFile>,
    /// The least severity that is listed.
    pub least: Severity,
    /// Models in the user's own table of nameplates.
    pub nameplates: usize,
    /// What is to be told of the annotated copies of source files, each once:
    /// taken from the jobs when they are done.
    pub copies: Vec<CopyTold>,
}

impl RunFacts {
    /// What *Basis* says of the user's table.
    pub fn nameplates_note(&self) -> Option<(String, String)> {
        let says = format!(
            "the user's own table of {} models goes before what most jobs state, and fills blanks at the strength of a question",
            self.nameplates
        );
        (self.nameplates > 0).then(|| ("Nameplates".to_owned(), says))
    }

    /// # Errors
    /// None but those of the library.
    pub fn bytes(&self) -> Result<Vec<u8>, ReportError> {
        let mut bytes = serde_json::to_vec_pretty(self)?;
        bytes.push(b'\n');
        Ok(bytes)
    }

    /// What stands in a folder, whole or not; `None` where nothing is.
    pub fn of(root: &Path) -> Option<Self> {
        serde_json::from_slice(&std::fs::read(root.join(RUN)).ok()?).ok()
    }
}

/// An audit folder.
#[derive(Debug)]
pub(super) struct Held {
    pub root: PathBuf,
    pub run: RunFacts,
    /// As they were before they were judged against each other.
    pub jobs: Vec<Kept>,
    manifest: Manifest,
}

impl Held {
    /// Reads the facts of a folder onto a shelf.
    ///
    /// # Errors
    /// A sentence, where it is no audit folder of this version, or its files
    /// of facts are not as the audit wrote them.
    pub fn read(root: &Path, shelf: &Shelf) -> Result<Self, String> {
        let shown = root.display();
        let none = |_| format!("{shown} is no folder of an audit: it holds no {MANIFEST}.");
        let manifest = std::fs::read(root.join(MANIFEST)).map_err(none)?;
        let manifest: Manifest = serde_json::from_slice(&manifest)
            .map_err(|error| format!("{shown}/{MANIFEST} cannot be understood: {error}."))?;
        let bytes = |name: &str| -> Result<Vec<u8>, String> {
            let bytes = std::fs::read(root.join(name))
                .map_err(|error| format!("{shown}/{name} cannot be read: {error}."))?;
            match manifest.outputs.get(name) {
                Some(wanted) if *wanted == hash(&bytes) => Ok(bytes),
                _ => Err(format!(
                    "{shown}/{name} is not as the audit wrote it (it was changed, or a run was cut short); audit again."
                )),
            }
        };
        if !manifest.outputs.contains_key(RUN) {
            return Err(format!(
                "{shown} holds no {RUN}: it was written by another version; audit again."
            ));
        }
        let run: RunFacts = serde_json::from_slice(&bytes(RUN)?).map_err(|error| {
            format!("{shown}/{RUN} cannot be understood: {error}; audit again.")
        })?;
        if run.version != env!("CARGO_PKG_VERSION") {
            return Err(format!(
                "{shown} was written by version {}, this is {}; audit again.",
                run.version,
                env!("CARGO_PKG_VERSION")
            ));
        }
        let frame = |name: &str| -> Result<DataFrame, String> {
            read_parquet(&bytes(name)?)
                .map_err(|error| format!("{shown}/{name} cannot be read: {error}."))
        };
        let frames = FactFrames {
            jobs: frame("jobs.parquet")?,
            findings: frame(Format::Parquet.file())?,
            units: frame("units.parquet")?,
            systems: frame("systems.parquet")?,
            tallies: frame("tallies.parquet")?,
            takeoff: match run.workbooks {
                true => Some(frame("takeoff.parquet")?),
                false => None,
            },
        };
        let jobs = jobs_of(&frames, &[MODEL_DISAGREES, JOB_SUBMITTED_TWICE], shelf)
            .map_err(|error| format!("{shown}: {error}."))?;
        Ok(Self {
            root: root.to_path_buf(),
            run,
            jobs,
            manifest,
        })
    }

    /// The bytes of an output, and whether they are as the audit wrote them;
    /// `None` where it is not there.
    pub fn output(&self, relative: &str) -> Option<(Vec<u8>, bool)> {
        let bytes = std::fs::read(self.root.join(relative)).ok()?;
        let wanted = self.manifest.outputs.get(relative)?;
        let same = *wanted == hash(&bytes);
        Some((bytes, same))
    }

    /// Whether remarks of people were carried over into an output.
    pub fn carries_remarks(&self, relative: &str) -> bool {
        self.manifest.with_remarks.contains(relative)
    }
}

/// Audit folders among the named paths: each itself, or those below it.
///
/// # Errors
/// A sentence, where there is none.
pub(super) fn folders(paths: &[PathBuf]) -> Result<Vec<PathBuf>, String> {
    let mut found = Vec::new();
    for path in paths {
        let before = found.len();
        let mut walker = walkdir::WalkDir::new(path).sort_by_file_name().into_iter();
        while let Some(entry) = walker.next() {
            let entry = entry.map_err(|error| format!("{}: {error}.", path.display()))?;
            if entry.file_type().is_dir() && entry.path().join(MANIFEST).is_file() {
                found.push(entry.into_path());
                walker.skip_current_dir();
            }
        }
        if found.len() == before {
            return Err(format!(
                "{} is no folder of an audit, and holds none.",
                path.display()
            ));
        }
    }
    let mut seen = std::collections::HashSet::new();
    found.retain(|path| seen.insert(std::fs::canonicalize(path).unwrap_or_else(|_| path.clone())));
    Ok(found)
}
