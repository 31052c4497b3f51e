//! Two audits against each other, from what their folders hold.

use super::discover::MANIFEST;
use super::options::{BatchError, Options, Review};
use super::outputs::Stale;
use super::outputs::{NotOurs, OutputFolder};
use super::run::audit;
use crate::intake::schema::Schemas;
use crate::practice::Practice;
use crate::report::ReportError;
use crate::report::compare::{self, Comparison, JobState, Side};
use crate::report::formats::{Format, findings_of_frame, read_parquet};
use indicatif::ProgressBar;
use jiff::civil::Date;
use polars::prelude::{DataFrame, DataType};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// What to compare, and where to.
#[derive(Clone, Debug)]
pub struct CompareOptions {
    /// An audit folder, or schedules to audit first.
    pub old: PathBuf,
    pub new: PathBuf,
    pub out: PathBuf,
    pub force: bool,
    pub as_of: Date,
    /// For schedules that have to be audited first.
    pub practice: Practice,
}

/// What was compared: the comparison, its summary, and sentences for standard
/// error.
#[derive(Debug)]
pub struct Compared {
    pub comparison: Comparison,
    pub summary: String,
    pub warnings: Vec<String>,
    /// Some schedule could not be read.
    pub incomplete: bool,
}

/// Compares two audits and writes `compared.xlsx` and `compared.csv`.
///
/// # Errors
/// Where a folder cannot be read or written.
pub fn compare_audits(options: &CompareOptions) -> Result<Compared, BatchError> {
    let mut warnings = Vec::new();
    let mut incomplete = false;
    let mut side = |path: &Path| -> Result<Side, BatchError> {
        if is_audited(path) {
            return read(path);
        }
        let folder = tempfile::tempdir()?;
        let audited = audit(
            &Options {
                paths: vec![path.to_path_buf()],
                out: folder.path().join("audited"),
                force: false,
                job_per: None,
                schemas: Schemas::shared(),
                as_of: options.as_of,
                workbooks: true,
                drawings: crate::report::drawing::Drawings::Findings,
                prices: crate::takeoff::Prices::default(),
                practice: options.practice.clone(),
                review: Review::default(),
                profile: String::new(),
                shard: None,
                afresh: true,
                reuse: None,
            },
            &ProgressBar::hidden(),
        )?;
        incomplete |= audited.is_incomplete();
        warnings.extend(audited.warnings);
        read(&folder.path().join("audited"))
    };
    let (old, new) = (side(&options.old)?, side(&options.new)?);
    let comparison = compare::compare(&old, &new);
    let out = OutputFolder::open(&options.out, options.force).map_err(BatchError::Folder)?;
    out.write(
        "compared.xlsx",
        &compare::workbook(&comparison, options.as_of)?,
    )?;
    out.write("compared.csv", &compare::csv(&comparison)?)?;
    warnings.extend(out.finish(Stale::Goes)?);
    let summary = compare::summary(&comparison, &options.out.display().to_string());
    Ok(Compared {
        comparison,
        summary,
        warnings,
        incomplete,
    })
}

fn is_audited(path: &Path) -> bool {
    path.join(MANIFEST).is_file() && path.join(Format::Parquet.file()).is_file()
}

/// An audit folder as far as it is compared.
///
/// # Errors
/// Where the folder is none, or cannot be read.
pub(super) fn audited(folder: &Path) -> Result<Side, BatchError> {
    if !is_audited(folder) {
        return Err(BatchError::Folder(NotOurs(format!(
            "{} is no audit folder: give a folder that an earlier audit wrote.",
            folder.display()
        ))));
    }
    read(folder)
}

fn frame(folder: &Path, name: &str) -> Result<DataFrame, BatchError> {
    let path = folder.join(name);
    let bytes = std::fs::read(&path).map_err(|error| {
        BatchError::Folder(NotOurs(format!(
            "{} cannot be read: {error}.",
            path.display()
        )))
    })?;
    Ok(read_parquet(&bytes)?)
}

fn texts(frame: &DataFrame, name: &str) -> Result<Vec<Option<String>>, BatchError> {
    let column = frame.column(name).map_err(ReportError::from)?;
    let column = column.str().map_err(ReportError::from)?;
    Ok(column.iter().map(|text| text.map(str::to_owned)).collect())
}

/// An audit folder as far as it is compared.
fn read(folder: &Path) -> Result<Side, BatchError> {
    let jobs = frame(folder, "jobs.parquet")?;
    let column = |name: &str| -> Result<Vec<String>, BatchError> {
        let texts = texts(&jobs, name)?;
        Ok(texts.into_iter().map(Option::unwrap_or_default).collect())
    };
    let (keys, titles) = (column("job_key")?, column("job")?);
    let (revisions, dispositions) = (column("revision")?, column("disposition")?);
    let (files, dates) = (column("files")?, column("date")?);
    let superseded = texts(&jobs, "superseded_by")?;
    let mut side = Side::default();
    let mut old: BTreeSet<(String, String)> = BTreeSet::new();
    for at in 0..jobs.height() {
        let get = |list: &[String]| list.get(at).cloned().unwrap_or_default();
        if superseded.get(at).is_some_and(Option::is_some) {
            old.extend(
                get(&files)
                    .split('\n')
                    .map(|file| (get(&keys), file.to_owned())),
            );
            continue;
        }
        side.jobs.push(JobState {
            key: get(&keys),
            job: get(&titles),
            revision: get(&revisions),
            date: get(&dates),
            disposition: get(&dispositions),
        });
    }
    side.findings = findings_of_frame(&frame(folder, Format::Parquet.file())?)?;
    side.findings
        .retain(|finding| !old.contains(&(finding.job_key.clone(), finding.file.clone())));
    side.unchecked = unchecked(&frame(folder, "tallies.parquet")?)?;
    Ok(side)
}

fn unchecked(tallies: &DataFrame) -> Result<BTreeMap<(String, String), u64>, BatchError> {
    let (keys, rules) = (texts(tallies, "job_key")?, texts(tallies, "rule")?);
    let (outcomes, wants) = (texts(tallies, "outcome")?, texts(tallies, "wants")?);
    let subjects = tallies.column("subjects").map_err(ReportError::from)?;
    let subjects = subjects
        .cast(&DataType::UInt64)
        .map_err(ReportError::from)?;
    let subjects = subjects.u64().map_err(ReportError::from)?;
    let mut unchecked: BTreeMap<(String, String), u64> = BTreeMap::new();
    let rows = keys
        .into_iter()
        .zip(rules)
        .zip(outcomes)
        .zip(wants)
        .zip(subjects.iter());
    for ((((key, rule), outcome), _), count) in rows {
        if outcome.as_deref() == Some("not checked") {
            let key = (key.unwrap_or_default(), rule.unwrap_or_default());
            *unchecked.entry(key).or_default() += count.unwrap_or_default();
        }
    }
    Ok(unchecked)
}
