//! The outputs of a batch from the folders of many audits, without reading a
//! schedule again.

use super::discover::{distinct_file_names, folder_of};
use super::finish::{Whole, finish};
use super::held::{Held, RunFacts, folders};
use super::options::{Batch, BatchError, Review};
use super::outputs::{NotOurs, OutputFolder, Stale};
use super::run::{in_order, order};
use crate::findings::Severity;
use crate::practice::{Practice, ProfileError};
use crate::report::facts::Origin;
use crate::report::jobs::{Jobs, Kept};
use crate::report::shelf::Shelf;
use crate::rules;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::path::PathBuf;

/// What to roll up, and where to.
#[derive(Clone, Debug)]
pub struct RollUpOptions {
    /// Folders of audits, or folders that hold such folders.
    pub folders: Vec<PathBuf>,
    pub out: PathBuf,
    pub force: bool,
    /// Leave the jobs' own workbooks, letters and drawings where they are.
    pub batch_only: bool,
}

/// A job, and which of the folders holds its files.
struct OfFolder {
    job: Kept,
    folder: usize,
}

/// Builds the outputs of the whole batch.
///
/// # Errors
/// Where a folder is no audit of this version, where two hold different
/// audits of one file, or where the output folder cannot be used.
pub fn roll_up(options: &RollUpOptions) -> Result<Batch, BatchError> {
    let refused = |sentence| BatchError::Folder(NotOurs(sentence));
    let roots = folders(&options.folders).map_err(refused)?;
    if let Ok(out) = std::fs::canonicalize(&options.out)
        && roots
            .iter()
            .any(|root| std::fs::canonicalize(root).is_ok_and(|root| root == out))
    {
        return Err(refused(format!(
            "{} is one of the folders that are rolled up; give another folder with --out.",
            options.out.display()
        )));
    }
    let shelf = Shelf::new(&options.out);
    let mut held = roots
        .par_iter()
        .map(|root| Held::read(root, &shelf))
        .collect::<Result<Vec<_>, _>>()
        .map_err(refused)?;
    let mut jobs = gather(&mut held).map_err(refused)?;
    let mut warnings = missing_parts(&held);
    let out = OutputFolder::open(&options.out, options.force).map_err(BatchError::Folder)?;
    let renamed = name_anew(&mut jobs);
    if !options.batch_only {
        warnings.extend(bring(&held, &jobs, &renamed, &out)?);
    }
    jobs.sort_by_cached_key(|kept| order(&kept.job.row));
    let jobs: Vec<Kept> = jobs.into_iter().map(|kept| kept.job).collect();
    let (practice, notes) = practice(&held).map_err(refused)?;
    warnings.extend(notes.iter().map(|(name, note)| format!("{name}: {note}")));
    let whole = Whole {
        run: run(&held, practice.0),
        practice: &practice.1,
        shown: &options.out.display().to_string(),
        review: &Review::default(),
        reused: 0,
        notes,
    };
    let unread = whole.run.unread.len();
    let end = finish(&whole, &out, Jobs::new(jobs, &shelf))?;
    warnings.extend(
        whole
            .run
            .unread
            .iter()
            .map(|file| format!("{}: {}", file.path, file.why)),
    );
    warnings.extend(end.warnings.iter().cloned());
    warnings.extend(out.finish(match options.batch_only {
        true => Stale::Stays,
        false => Stale::Goes,
    })?);
    Ok(Batch {
        unread,
        warnings,
        ..end
    })
}

/// The jobs of all folders, in the order in which one run plans them. One
/// audit of one file that stands in two folders counts once.
fn gather(held: &mut [Held]) -> Result<Vec<OfFolder>, String> {
    let mut jobs: Vec<OfFolder> = Vec::new();
    for (folder, held) in held.iter_mut().enumerate() {
        let own = std::mem::take(&mut held.jobs);
        jobs.extend(own.into_iter().map(|job| OfFolder { job, folder }));
    }
    jobs.sort_by(|a, b| planned(a).cmp(&planned(b)));
    jobs.dedup_by(|later, first| {
        let (a, b) = (&first.job.origin, &later.job.origin);
        a.set == b.set && a.place == b.place && a.inputs == b.inputs && !a.inputs.is_empty()
    });
    let mut home: BTreeMap<&str, usize> = BTreeMap::new();
    for kept in &jobs {
        for file in &kept.job.row.files {
            let first = *home.entry(file).or_insert(kept.folder);
            if first != kept.folder {
                let shown = |at: usize| held.get(at).map(|held| held.root.display().to_string());
                return Err(format!(
                    "{file} was audited in {} and in {}, and not alike; leave one of the two out. Different schedules of one name can be told apart by auditing their folders in one run: then each file is named with its folder.",
                    shown(first).unwrap_or_default(),
                    shown(kept.folder).unwrap_or_default()
                ));
            }
        }
    }
    Ok(jobs)
}

/// As a job comes in a plan; see `plan`.
fn planned(kept: &OfFolder) -> (&str, &str, u64, usize) {
    let origin = &kept.job.origin;
    (
        folder_of(&origin.set),
        &origin.set,
        origin.place,
        kept.folder,
    )
}

/// Gives the jobs' files distinct names among all jobs, and tells the path of
/// each output in its own folder, by job.
fn name_anew(jobs: &mut [OfFolder]) -> Vec<Vec<String>> {
    let titles: Vec<String> = jobs
        .iter()
        .map(|kept| kept.job.origin.title.clone())
        .collect();
    jobs.iter_mut()
        .zip(distinct_file_names(&titles))
        .map(|(kept, name)| {
            let (row, origin) = (&mut kept.job.row, &mut kept.job.origin);
            let before = origin.outputs.clone();
            if origin.name != name {
                let anew = |path: &String| under_name(path, origin, &name);
                row.workbook = row.workbook.as_ref().map(anew);
                origin.outputs = before.iter().map(anew).collect();
                origin.name = name;
            }
            before
        })
        .collect()
}

/// `jobs/Elm.xlsx` as `jobs/Elm (2).xlsx`. Copies of source files bear the
/// names of these.
fn under_name(path: &str, origin: &Origin, name: &str) -> String {
    let rest = path
        .split_once('/')
        .filter(|(kind, _)| *kind != "annotated")
        .and_then(|(kind, rest)| Some((kind, rest.strip_prefix(origin.name.as_str())?)));
    match rest {
        Some((kind, rest)) => format!("{kind}/{name}{rest}"),
        None => path.to_owned(),
    }
}

/// Copies the outputs of all jobs, as they stand: also what people typed
/// into them.
fn bring(
    held: &[Held],
    jobs: &[OfFolder],
    before: &[Vec<String>],
    out: &OutputFolder,
) -> std::io::Result<Vec<String>> {
    let said: Vec<Option<String>> = jobs
        .par_iter()
        .zip(before)
        .flat_map_iter(|(kept, before)| {
            let outputs = before.iter().zip(&kept.job.origin.outputs);
            outputs.map(|(before, now)| (held.get(kept.folder), before, now))
        })
        .map(|(held, before, now)| {
            let Some(held) = held else { return Ok(None) };
            let Some((bytes, same)) = held.output(before) else {
                return Ok(Some(format!(
                    "{}/{before} is not there any more.",
                    held.root.display()
                )));
            };
            out.write(now, &bytes)?;
            if !same || held.carries_remarks(before) {
                out.carries_remarks(now);
            }
            Ok(None)
        })
        .collect::<std::io::Result<_>>()?;
    Ok(said.into_iter().flatten().collect())
}

/// A sentence for each part of a batch that is not among the folders.
fn missing_parts(held: &[Held]) -> Vec<String> {
    let mut parts: BTreeMap<u32, Vec<u32>> = BTreeMap::new();
    for part in held.iter().filter_map(|held| held.run.part.as_deref()) {
        if let Some((part, of)) = part.split_once('/')
            && let (Ok(part), Ok(of)) = (part.parse(), of.parse())
        {
            parts.entry(of).or_default().push(part);
        }
    }
    let missing = parts.iter().flat_map(|(of, there)| {
        (1..=*of)
            .filter(|part| !there.contains(part))
            .map(move |part| format!("part {part}/{of} is not among the folders"))
    });
    missing.collect()
}

type Notes = Vec<(String, String)>;

/// The practice of most folders, with its text, and what *Basis* says where
/// folders differ.
fn practice(held: &[Held]) -> Result<((&str, Practice), Notes), String> {
    let mut profiles: BTreeMap<&str, usize> = BTreeMap::new();
    for held in held {
        *profiles.entry(&held.run.profile).or_default() += 1;
    }
    let most = profiles
        .iter()
        .max_by_key(|(text, folders)| (**folders, std::cmp::Reverse(**text)));
    let profile = most.map_or("", |(text, _)| *text);
    let practice = match profile {
        "" => Practice::default(),
        text => Practice::from_toml(text, &rules::severities()).map_err(|faults| {
            ProfileError::Faults("the profile that the folders hold".to_owned(), faults).to_string()
        })?,
    };
    let mut notes = Vec::new();
    if profiles.len() > 1 {
        let others = held.iter().filter(|held| held.run.profile != profile);
        let note = format!(
            "{} of {} folders were audited with another profile than the one that Basis prints",
            others.count(),
            held.len()
        );
        notes.push(("Practice".to_owned(), note));
    }
    let as_of = || held.iter().map(|held| held.run.as_of);
    if let (Some(first), Some(last)) = (as_of().min(), as_of().max())
        && first != last
    {
        notes.push((
            "Audited".to_owned(),
            format!("folders are of {first} to {last}"),
        ));
    }
    Ok(((profile, practice), notes))
}

/// What all runs knew beside their jobs.
fn run(held: &[Held], profile: &str) -> RunFacts {
    RunFacts {
        version: env!("CARGO_PKG_VERSION").to_owned(),
        as_of: held
            .iter()
            .map(|held| held.run.as_of)
            .max()
            .unwrap_or_default(),
        part: None,
        workbooks: held.iter().all(|held| held.run.workbooks),
        profile: profile.to_owned(),
        others: held.iter().map(|held| held.run.others).sum(),
        unread: in_order(
            held.iter()
                .flat_map(|held| held.run.unread.clone())
                .collect(),
        ),
        least: held
            .iter()
            .map(|held| held.run.least)
            .max()
            .unwrap_or(Severity::Note),
        nameplates: held
            .iter()
            .map(|held| held.run.nameplates)
            .max()
            .unwrap_or_default(),
        copies: Vec::new(),
    }
}
