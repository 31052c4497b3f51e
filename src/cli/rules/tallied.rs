//! How an audit stands, rule by rule, from the folder that it wrote.

use crate::cli::words::row;
use crate::report::formats::read_parquet;
use crate::rules::ALL;
use crate::schedule::number;
use polars::prelude::{DataFrame, PolarsError};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::path::Path;

/// What was counted of one rule.
#[derive(Default)]
struct Count {
    met: u64,
    broken: u64,
    /// What was wanting, and of how many subjects.
    wants: BTreeMap<String, u64>,
}

impl Count {
    fn open(&self) -> u64 {
        self.wants.values().sum()
    }
}

/// One line a rule, in the order of the catalogue.
///
/// # Errors
/// Where the folder holds no audit, in words for the user.
pub(super) fn text(folder: &Path) -> Result<String, String> {
    let path = folder.join("tallies.parquet");
    let bytes = std::fs::read(&path).map_err(|error| {
        format!(
            "{} cannot be read: {error}. Name a folder that ampledger audit wrote.",
            path.display()
        )
    })?;
    let broken = |error: String| format!("{} is no list of tallies: {error}", path.display());
    let frame = read_parquet(&bytes).map_err(|error| broken(error.to_string()))?;
    let (jobs, counts) = counted(&frame).map_err(|error| broken(error.to_string()))?;
    Ok(written(jobs, &counts))
}

fn counted(frame: &DataFrame) -> Result<(usize, BTreeMap<String, Count>), PolarsError> {
    let text = |name: &str| frame.column(name)?.str();
    let (keys, names) = (text("job_key")?, text("rule")?);
    let (outcomes, wants) = (text("outcome")?, text("wants")?);
    let subjects = frame.column("subjects")?.u64()?;
    let mut jobs = BTreeSet::new();
    let mut counts: BTreeMap<String, Count> = BTreeMap::new();
    for at in 0..frame.height() {
        jobs.extend(keys.get(at));
        let (Some(name), Some(number)) = (names.get(at), subjects.get(at)) else {
            continue;
        };
        let count = counts.entry(name.to_owned()).or_default();
        match outcomes.get(at) {
            Some("met") => count.met += number,
            Some("broken") => count.broken += number,
            _ => {
                let want = wants.get(at).unwrap_or_default().to_owned();
                *count.wants.entry(want).or_default() += number;
            }
        }
    }
    Ok((jobs.len(), counts))
}

fn written(jobs: usize, counts: &BTreeMap<String, Count>) -> String {
    let mut out = format!("Checks by rule, over {jobs} jobs (each revision of a job counts)\n");
    let width = ALL.iter().map(|rule| rule.name.len()).max().unwrap_or(0) + 2;
    let mut family = None;
    for rule in ALL.iter() {
        if family != Some(rule.family) {
            let _ = writeln!(out, "\n{}", rule.family);
            family = Some(rule.family);
        }
        let text = counts.get(rule.name).map_or_else(
            || "nothing to check".to_owned(),
            |count| {
                format!(
                    "{} met, {} broken, {} not checked{}",
                    number(count.met as f64),
                    number(count.broken as f64),
                    number(count.open() as f64),
                    wanting(&count.wants)
                )
            },
        );
        row(&mut out, 2, width, rule.name, &text);
    }
    out
}

/// `: unit.mop (4), circuit.breaker (1)`, most often first.
fn wanting(wants: &BTreeMap<String, u64>) -> String {
    let mut wants: Vec<(&String, &u64)> = wants.iter().collect();
    wants.sort_by(|a, b| b.1.cmp(a.1).then(a.0.cmp(b.0)));
    let shown: Vec<String> = wants
        .into_iter()
        .map(|(want, number)| format!("{want} ({number})"))
        .collect();
    match shown.is_empty() {
        true => String::new(),
        false => format!(" for want of {}", shown.join("; ")),
    }
}
