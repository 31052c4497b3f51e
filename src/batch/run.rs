//! Audits a batch: plan, jobs in parallel, the outputs of all jobs together.

use super::accepted::Accepted;
use super::discover::{Candidate, discover, drawing_names, natural_key};
use super::facts;
use super::finish::{Whole, finish};
use super::held::RunFacts;
use super::names::{JobNames, annotated_name, job_name};
use super::options::{Batch, BatchError, Options};
use super::outputs::{NotOurs, OutputFolder, Stale};
use super::plan::{Cluster, plan};
use super::reading::Reading;
use super::reuse::Earlier;
use super::typed::{Typed, TypedIn};
use crate::findings::{Audit, Dwellings, Reported, Use};
use crate::intake::assemble::{Hints, ReadFile, RowChoice, draft};
use crate::intake::book::Book;
use crate::intake::job::JobGroup;
use crate::practice::Practice;
use crate::proposal::{self, Proposal};
use crate::report::batch::{JobRow, UnreadFile};
use crate::report::copy::{CopyTold, Written};
use crate::report::correction::{Correction, corrections};
use crate::report::drawing;
use crate::report::facts::{JobResult, Origin};
use crate::report::jobs::{Jobs, Kept};
use crate::report::shelf::Shelf;
use crate::report::{ReportError, annotated, job, letter, proposed_book, remarks};
use crate::rules;
use crate::schedule::Schedule;
use crate::takeoff::{self, Prices};
use indicatif::ProgressBar;
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};

/// A job once it is done; its schedule and outcomes have left memory.
struct Done {
    kept: Kept,
    /// For the copies of its files.
    of_copies: ForCopies,
}

/// What the copies of a set's files are annotated with; empty where none is
/// written.
#[derive(Default)]
struct ForCopies {
    findings: Vec<Reported>,
    dwellings: Dwellings,
    corrections: Vec<Correction>,
}

/// As a job counts in the order of the outputs.
type Order = (Vec<(u64, String)>, String, String);

pub(super) fn order(row: &JobRow) -> Order {
    (
        natural_key(&row.job),
        row.files.first().cloned().unwrap_or_default(),
        row.about.key.clone(),
    )
}

/// Audits everything under the named paths and writes the outputs.
///
/// # Errors
/// Where the output folder cannot be used, or an output of the whole batch
/// cannot be written. One file's or one job's fault is reported in the
/// [`Batch`] and stops nothing.
pub fn audit(options: &Options, bar: &ProgressBar) -> Result<Batch, BatchError> {
    let refused = |sentence| BatchError::Folder(NotOurs(sentence));
    is_of_this_part(options).map_err(refused)?;
    let shelf = Shelf::new(&options.out);
    let earlier = Earlier::read(options, &shelf).map_err(refused)?;
    let out = OutputFolder::open(&options.out, options.force).map_err(BatchError::Folder)?;
    let mut found = discover(&options.paths);
    if let Some(shard) = options.shard {
        shard.keep(&mut found, options.job_per.unwrap_or_default());
    }
    bar.set_message("files read");
    bar.set_length(found.candidates.len() as u64);
    let per = options.job_per.unwrap_or_default();
    let reading = Arc::new(Reading::new(&options.schemas, &options.practice));
    let plan = plan(found, per, &reading, &shelf, &|| bar.inc(1));

    let names = JobNames::new(&plan.clusters);
    bar.set_message("jobs audited");
    bar.set_position(0);
    bar.set_length(names.total as u64);
    let faults = Mutex::new(Vec::new());
    let reused = AtomicUsize::new(0);
    let run = Run {
        options,
        out: &out,
        names: &names,
        bar,
        faults: &faults,
        earlier: &earlier,
        shelf: &shelf,
        reading: &reading,
        reused: &reused,
        log: None,
    };
    // Taken, so that the grids of a set leave memory with its last job.
    let clusters = plan.clusters.into_par_iter().enumerate();
    let mut jobs: Vec<Kept> = clusters
        .flat_map_iter(|(at, cluster)| run.reused_or_audited(at, &cluster))
        .collect();
    jobs.sort_by_cached_key(|kept| order(&kept.row));
    let jobs = Jobs::new(jobs, &shelf);

    let failed = faults
        .into_inner()
        .unwrap_or_else(std::sync::PoisonError::into_inner);
    let unread = plan.unread.into_iter().chain(failed);
    let unread = in_order(unread.map(|(path, why)| UnreadFile { path, why }).collect());
    let whole = Whole {
        run: RunFacts {
            version: env!("CARGO_PKG_VERSION").to_owned(),
            as_of: options.as_of,
            part: options.shard.map(|shard| shard.to_string()),
            workbooks: options.workbooks,
            profile: options.profile.clone(),
            others: plan.others,
            unread: unread.clone(),
            least: options.review.least(),
            nameplates: options.practice.nameplates.len(),
            copies: Vec::new(),
        },
        practice: &options.practice,
        review: &options.review,
        shown: &options.out.display().to_string(),
        reused: reused.into_inner(),
        notes: Vec::new(),
    };
    let unpriced = match options.workbooks && options.prices.is_given() {
        true => unpriced(&jobs, &options.prices)?,
        false => Vec::new(),
    };
    let end = finish(&whole, &out, jobs)?;
    let mut warnings: Vec<String> = unread
        .iter()
        .map(|file| format!("{}: {}", file.path, file.why))
        .collect();
    warnings.extend(end.warnings.iter().cloned());
    warnings.extend(unpriced);
    warnings.extend(plan.own_outputs.iter().map(|folder| {
        format!("{folder}: written by ampledger, skipped; name it itself to audit what is in it")
    }));
    warnings.extend(out.finish(if options.workbooks {
        Stale::Goes
    } else {
        Stale::Stays
    })?);
    Ok(Batch {
        unread: unread.len(),
        warnings,
        ..end
    })
}

/// What the price list leaves open in the takeoffs of all jobs.
fn unpriced(jobs: &Jobs, prices: &Prices) -> Result<Vec<String>, ReportError> {
    let mut items = BTreeSet::new();
    for job in jobs.iter() {
        items.extend(
            job.takeoff()?
                .into_iter()
                .map(|item| (item.name, item.unit)),
        );
    }
    Ok(prices.gaps(items.iter().map(|(name, unit)| (name.as_str(), *unit))))
}

/// Files that could not be read, as outputs list them.
pub(super) fn in_order(mut unread: Vec<UnreadFile>) -> Vec<UnreadFile> {
    unread
        .sort_by_cached_key(|file| (natural_key(&file.path), file.path.clone(), file.why.clone()));
    unread.dedup();
    unread
}

/// Parts of one batch that share a folder would take each other's outputs
/// for stale.
fn is_of_this_part(options: &Options) -> Result<(), String> {
    let (Some(shard), Some(held)) = (options.shard, RunFacts::of(&options.out)) else {
        return Ok(());
    };
    let shown = options.out.display();
    match held.part {
        Some(part) if part == shard.to_string() => Ok(()),
        Some(part) => Err(format!(
            "{shown} holds part {part}, and this is part {shard}; give each part a folder of its own with --out."
        )),
        None => Err(format!(
            "{shown} holds a whole audit, and this is part {shard}; give the part a folder of its own with --out."
        )),
    }
}

/// What is written for a job or a set of jobs, and whether all of it could
/// be.
#[derive(Default)]
struct Log {
    written: Mutex<Vec<String>>,
    faulty: AtomicBool,
}

#[derive(Clone, Copy)]
struct Run<'a> {
    options: &'a Options,
    out: &'a OutputFolder,
    names: &'a JobNames,
    bar: &'a ProgressBar,
    /// Faults of single files and jobs: path or job, and a sentence.
    faults: &'a Mutex<Vec<(String, String)>>,
    earlier: &'a Earlier,
    shelf: &'a Shelf,
    reading: &'a Reading,
    /// Counts jobs that were taken from an earlier audit.
    reused: &'a AtomicUsize,
    log: Option<&'a Log>,
}

impl Run<'_> {
    /// Takes unchanged jobs from an earlier audit, and audits the others.
    fn reused_or_audited(&self, at: usize, cluster: &Cluster) -> Vec<Kept> {
        let inputs = self.earlier.inputs(cluster);
        let (names, jobs) = (self.names.of_cluster(at), cluster.jobs.len());
        if let Some(results) = self.earlier.take(&inputs, names, self.out) {
            self.reused.fetch_add(jobs, Ordering::Relaxed);
            self.bar.inc(jobs as u64);
            return results;
        }
        let log = Log::default();
        let mut done = Run {
            log: Some(&log),
            ..*self
        }
        .cluster(at, cluster);
        let whole = done.len() == jobs && !log.faulty.into_inner();
        for job in done.iter_mut().filter(|_| whole) {
            job.origin.inputs.clone_from(&inputs);
        }
        if let Some(first) = done.first_mut() {
            first.origin.outputs.extend(sorted(log.written));
        }
        done
    }

    fn fault(&self, path: &str, why: impl Into<String>) {
        if let Some(log) = self.log {
            log.faulty.store(true, Ordering::Relaxed);
        }
        let mut faults = self
            .faults
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner);
        faults.push((path.to_owned(), why.into()));
    }

    /// Audits the jobs of one set of files, and annotates the files that are
    /// no job of their own.
    fn cluster(&self, at: usize, cluster: &Cluster) -> Vec<Kept> {
        let mut files: Vec<Option<Arc<ReadFile>>> = Vec::with_capacity(cluster.files.len());
        for planned in &cluster.files {
            files.push(match planned.read(self.shelf) {
                Ok(read) => Some(read),
                Err(sentence) => {
                    self.fault(&planned.candidate.relative, sentence);
                    None
                }
            });
        }
        let typed = self.typed(at, cluster, &files);
        let accepted = Accepted::of(&files, &typed.all);
        let links = self.links(cluster, &files);
        let mut done: Vec<Done> = cluster
            .jobs
            .par_iter()
            .enumerate()
            .filter_map(|(index, group)| {
                let (name, log) = (self.names.of(at, index), Log::default());
                let own = Run { log: Some(&log), ..*self };
                let work = || own.job(name, group, cluster, &files, &links, (&typed, &accepted));
                let done = catch_unwind(AssertUnwindSafe(work));
                self.bar.inc(1);
                let mut done = done.unwrap_or_else(|_| {
                    own.fault(&group.title, "Auditing this job failed inside the program; the other jobs are complete. Please report it.");
                    None
                })?;
                if let Some(log_of_set) = self.log.filter(|_| log.faulty.into_inner()) {
                    log_of_set.faulty.store(true, Ordering::Relaxed);
                }
                done.kept.origin = Origin {
                    set: cluster.files.first().map_or_else(String::new, |file| file.candidate.relative.clone()),
                    place: index as u64,
                    title: group.title.clone(),
                    name: name.to_owned(),
                    inputs: String::new(),
                    outputs: sorted(log.written),
                };
                Some(done)
            })
            .collect();
        let copies = cluster.files.iter().zip(&files);
        for (planned, file) in copies.filter(|_| self.options.workbooks) {
            if let Some(file) = file.as_ref().filter(|file| links.contains_key(&file.path)) {
                let told = self.annotate(file, original(&planned.candidate), &done, &links, &typed);
                for job in done
                    .iter_mut()
                    .filter(|job| job.kept.row.files.contains(&file.path))
                {
                    job.kept.row.copies.extend(told.clone());
                }
            }
        }
        let unmatched = accepted.unmatched(done.iter().flat_map(|job| job.kept.uses.clone()));
        if let Some(first) = done.first_mut() {
            first.kept.uses.extend(unmatched);
        }
        done.into_iter().map(|job| job.kept).collect()
    }

    /// Files that get a copy of their own under `annotated/`, and that
    /// copy's name. A file that is a job by itself is annotated in the job's
    /// workbook.
    fn links(
        &self,
        cluster: &Cluster,
        files: &[Option<Arc<ReadFile>>],
    ) -> BTreeMap<String, String> {
        let single = cluster.jobs.len() == 1 && cluster.files.len() == 1;
        let mut links = BTreeMap::new();
        for file in files.iter().flatten() {
            if !single {
                links.insert(file.path.clone(), annotated_name(&file.path));
            }
        }
        links
    }

    /// What people typed into workbooks of ours: into the inputs themselves,
    /// else into what stands in the output folder.
    fn typed(&self, at: usize, cluster: &Cluster, files: &[Option<Arc<ReadFile>>]) -> TypedIn {
        let single = cluster.jobs.len() == 1 && cluster.files.len() == 1;
        let mut typed = TypedIn {
            all: Typed::new(),
            by_copy: (!single).then(BTreeMap::new),
        };
        for file in files.iter().flatten() {
            typed.add(&annotated_name(&file.path), remarks::read(&file.book));
        }
        let jobs = (0..cluster.jobs.len()).flat_map(|job| {
            let name = self.names.of(at, job);
            [job_name(name, ""), job_name(name, ".xlsm")]
        });
        let copies = files
            .iter()
            .flatten()
            .map(|file| annotated_name(&file.path));
        for relative in jobs.chain(copies) {
            if let Some(path) = self.out.existing(&relative)
                && self.out.may_hold_remarks(&relative)
                && let Ok(book) = Book::open(&path, &self.reading.limits)
            {
                typed.add(&relative, remarks::read(&book));
            }
        }
        typed
    }

    fn job(
        &self,
        name: &str,
        group: &JobGroup,
        cluster: &Cluster,
        files: &[Option<Arc<ReadFile>>],
        links: &BTreeMap<String, String>,
        (typed, accepted): (&TypedIn, &Accepted),
    ) -> Option<Done> {
        let parts: Vec<(&ReadFile, RowChoice)> = group
            .files
            .iter()
            .filter_map(|(file, rows)| Some((files.get(*file)?.as_deref()?, rows.clone())))
            .collect();
        if parts.is_empty() {
            return None;
        }
        let schedule = draft(&parts, Hints { stem: &group.stem }).build();
        let practice = self.options.practice.for_job(&schedule);
        let mut audit = rules::audit_filled(&schedule, &self.options.practice);
        let review = &self.options.review;
        let as_of = self.options.as_of;
        let uses = accepted.apply(&review.accepted, &schedule, &mut audit, as_of);
        let gone = review.since.as_ref();
        let gone = gone.map_or_else(Vec::new, |since| since.mark(&schedule, &mut audit));
        let proposed = self
            .options
            .workbooks
            .then(|| self.proposed(name, &schedule, &practice, &audit));
        audit.list_from(review.least());
        let reason = group.reason.to_string();
        let Some((proposal, taken)) = proposed else {
            let row = facts::row(&schedule, &audit, paths(&parts), &reason);
            let result = facts::result(&schedule, &practice.nameplates, &audit, uses, row);
            return self.done(group, result, ForCopies::default());
        };
        let author = match parts.as_slice() {
            [(file, RowChoice::All)] if !links.contains_key(&file.path) => Some(&file.book),
            _ => None,
        };
        let own = group.files.first().filter(|_| author.is_some());
        let own = own.and_then(|(file, _)| cluster.files.get(*file));
        let original = own.and_then(|planned| original(&planned.candidate));
        let relative = job_name(name, own.map_or("", |own| &own.candidate.relative));
        let typed = typed.of_copy(&relative, audit.findings.iter().chain(&audit.unlisted));
        // Seen from jobs/.
        let copies: BTreeMap<String, String> = parts
            .iter()
            .filter_map(|(file, _)| {
                Some((file.path.clone(), format!("../{}", links.get(&file.path)?)))
            })
            .collect();
        let drawn = drawing::drawings(&schedule, &audit, self.options.drawings);
        let view = job::JobView {
            schedule: &schedule,
            audit: &audit,
            practice: &practice,
            author,
            proposal: Some(&proposal),
            takeoff: &taken,
            drawings: &drawn,
            original: original.as_deref(),
            as_of: self.options.as_of,
            grouping: &reason,
            links: &copies,
            remarks: &typed,
            uses: &uses,
            gone: &gone,
        };
        let written = job::workbook(&view)
            .map_err(|error| error.to_string())
            .and_then(|written| {
                let source = parts.first().map_or("", |(file, _)| file.path.as_str());
                self.write_copy(&relative, source, written)
            });
        if !typed.is_empty() {
            self.out.carries_remarks(&relative);
        }
        self.papers(name, &view);
        let (workbook, told) = match written {
            Ok(told) => (Some(relative), told),
            Err(sentence) => {
                self.fault(&relative, sentence);
                (None, None)
            }
        };
        let row = JobRow {
            workbook,
            copies: told.into_iter().collect(),
            ..facts::row(&schedule, &audit, paths(&parts), &reason)
        };
        let result = JobResult {
            takeoff: taken,
            ..facts::result(&schedule, &practice.nameplates, &audit, uses, row)
        };
        let of_copies = match author {
            Some(_) => ForCopies::default(),
            None => ForCopies {
                corrections: corrections(&schedule, &proposal),
                dwellings: Dwellings::of(&schedule),
                findings: audit.findings,
            },
        };
        self.done(group, result, of_copies)
    }

    /// Puts a job's findings and facts away.
    fn done(&self, group: &JobGroup, result: JobResult, of_copies: ForCopies) -> Option<Done> {
        match Kept::new(result, self.shelf) {
            Ok(kept) => Some(Done { kept, of_copies }),
            Err(error) => {
                self.fault(&group.title, format!("{error}."));
                None
            }
        }
    }

    /// The schedule that is proposed, written as a workbook of its own, and
    /// the takeoff of both.
    fn proposed(
        &self,
        name: &str,
        schedule: &Schedule,
        practice: &Practice,
        audit: &Audit,
    ) -> (Proposal, Vec<takeoff::Item>) {
        let proposal = proposal::propose_after(schedule, practice, audit);
        let proposed = proposal.schedule();
        let open = proposal.unbounded();
        let taken = takeoff::takeoff(schedule, proposed, open, practice, &self.options.prices);
        let relative = format!("proposed/{name}.xlsx");
        let written = proposed_book::workbook(proposed, self.options.as_of)
            .map_err(|error| error.to_string())
            .and_then(|bytes| self.write(&relative, &bytes));
        if let Err(sentence) = written {
            self.fault(&relative, sentence);
        }
        (proposal, taken)
    }

    /// What a job gets beside its workbook: the letter, and the drawings of
    /// its systems.
    fn papers(&self, name: &str, view: &job::JobView) {
        let letter = (format!("letters/{name}.md"), letter::markdown(view));
        let labels: Vec<String> = view
            .drawings
            .iter()
            .map(|drawing| drawing.label.clone())
            .collect();
        let drawn = drawing_names(name, &labels)
            .into_iter()
            .zip(view.drawings)
            .map(|(name, drawing)| (format!("drawings/{name}.svg"), drawing.svg.clone()));
        for (relative, text) in std::iter::once(letter).chain(drawn) {
            if let Err(sentence) = self.write(&relative, text.as_bytes()) {
                self.fault(&relative, sentence);
            }
        }
    }

    fn annotate(
        &self,
        file: &ReadFile,
        original: Option<Vec<u8>>,
        jobs: &[Done],
        links: &BTreeMap<String, String>,
        typed: &TypedIn,
    ) -> Option<CopyTold> {
        let items: Vec<annotated::Item> = jobs
            .iter()
            .flat_map(|job| {
                let (told, row) = (&job.of_copies, &job.kept.row);
                told.findings.iter().map(|finding| annotated::Item {
                    job: &row.job,
                    finding,
                    dwellings: &told.dwellings,
                })
            })
            .filter(|item| item.finding.address.file == file.path)
            .collect();
        let corrections: Vec<Correction> = jobs
            .iter()
            .flat_map(|job| &job.of_copies.corrections)
            .filter(|told| told.address.file == file.path)
            .cloned()
            .collect();
        let whole = draft(&[(file, RowChoice::All)], Hints::default());
        let headings = annotated::Heading::of_file(&whole.sources, 0);
        let relative = links.get(&file.path)?;
        let typed = typed.of_copy(relative, items.iter().map(|item| item.finding));
        let up = "../".repeat(relative.matches('/').count());
        // Seen from the copy's own folder.
        let seen: BTreeMap<String, String> = links
            .iter()
            .filter(|(path, _)| **path != file.path)
            .map(|(path, copy)| (path.clone(), format!("{up}{copy}")))
            .collect();
        let uses: Vec<&Use> = jobs.iter().flat_map(|job| &job.kept.uses).collect();
        let view = annotated::FileView {
            book: &file.book,
            original: original.as_deref(),
            path: &file.path,
            headings: &headings,
            findings: &items,
            corrections: &corrections,
            as_of: self.options.as_of,
            links: &seen,
            remarks: &typed,
            uses: &uses,
        };
        let written = annotated::workbook(&view)
            .map_err(|error| error.to_string())
            .and_then(|written| self.write_copy(relative, &file.path, written));
        if !typed.is_empty() {
            self.out.carries_remarks(relative);
        }
        written.unwrap_or_else(|sentence| {
            self.fault(relative, sentence);
            None
        })
    }

    /// Gives what is to be told of the copy of a source file.
    fn write_copy(
        &self,
        relative: &str,
        source: &str,
        written: Written,
    ) -> Result<Option<CopyTold>, String> {
        let told = written.told(source);
        let bytes = written
            .for_file(relative)
            .map_err(|error| error.to_string())?;
        self.write(relative, &bytes)?;
        Ok(told)
    }

    fn write(&self, relative: &str, bytes: &[u8]) -> Result<(), String> {
        if let Some(log) = self.log {
            let mut written = log
                .written
                .lock()
                .unwrap_or_else(std::sync::PoisonError::into_inner);
            written.push(relative.to_owned());
        }
        self.out.write(relative, bytes).map_err(|error| match error.kind() {
            std::io::ErrorKind::PermissionDenied => format!(
                "{relative} cannot be written: {error}. Close it if it is open in a spreadsheet program, and run again."
            ),
            _ => format!("{relative} cannot be written: {error}."),
        })
    }
}

/// The bytes of a file that is a workbook, whatever its name says.
fn original(candidate: &Candidate) -> Option<Vec<u8>> {
    const BEGIN: [[u8; 4]; 2] = [*b"PK\x03\x04", [0xD0, 0xCF, 0x11, 0xE0]];
    let bytes = std::fs::read(&candidate.path).ok()?;
    BEGIN
        .iter()
        .any(|begin| bytes.starts_with(begin))
        .then_some(bytes)
}

fn sorted(written: Mutex<Vec<String>>) -> Vec<String> {
    let mut written = written
        .into_inner()
        .unwrap_or_else(std::sync::PoisonError::into_inner);
    written.sort();
    written
}

fn paths(parts: &[(&ReadFile, RowChoice)]) -> Vec<String> {
    parts.iter().map(|(file, _)| file.path.clone()).collect()
}
