//! An author's workbook marked up in place, beside the same workbook written
//! anew: the same findings, the same sheets of ours, in the same run.

use super::{files, generate, pool};
use ampledger::findings::Audit;
use ampledger::intake::assemble::{Hints, ReadFile, RowChoice, draft};
use ampledger::intake::book::{Book, Limits};
use ampledger::intake::recognise::recognise;
use ampledger::intake::schema::Schemas;
use ampledger::practice::Practice;
use ampledger::proposal::{self, Proposal};
use ampledger::report::job::{JobView, workbook};
use ampledger::rules;
use ampledger::schedule::Schedule;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::error::Error;
use std::path::Path;
use std::time::Instant;

type Outcome<T> = Result<T, Box<dyn Error + Send + Sync>>;

/// A workbook that was audited.
struct Audited {
    bytes: Vec<u8>,
    file: ReadFile,
    schedule: Schedule,
    practice: Practice,
    audit: Audit,
    proposal: Proposal,
}

fn open(bytes: &[u8]) -> Outcome<Book> {
    Book::from_bytes("job.xlsx", bytes.to_vec(), &Limits::default())
        .map_err(|refusal| refusal.to_string().into())
}

impl Audited {
    fn of(path: &Path) -> Outcome<Self> {
        let bytes = std::fs::read(path)?;
        let size = bytes.len() as u64;
        let book = open(&bytes)?;
        let found = recognise(&book, Schemas::embedded());
        let file = ReadFile::recognised("job.xlsx".to_owned(), size, book, found);
        let schedule = draft(&[(&file, RowChoice::All)], Hints { stem: "job" }).build();
        let audit = rules::audit_filled(&schedule, &Practice::default());
        let practice = Practice::default().for_job(&schedule);
        let proposal = proposal::propose_after(&schedule, &practice, &audit);
        Ok(Self {
            bytes,
            file,
            schedule,
            practice,
            audit,
            proposal,
        })
    }

    /// Bytes of the copy: his own workbook, or one written anew.
    fn copy(&self, in_place: bool) -> Outcome<usize> {
        let written = workbook(&JobView {
            schedule: &self.schedule,
            audit: &self.audit,
            practice: &self.practice,
            author: Some(&self.file.book),
            proposal: Some(&self.proposal),
            takeoff: &[],
            drawings: &[],
            original: in_place.then_some(self.bytes.as_slice()),
            as_of: jiff::civil::date(2026, 1, 1),
            grouping: "",
            links: &BTreeMap::new(),
            remarks: &BTreeMap::new(),
            uses: &[],
            gone: &[],
        })
        .map_err(|error| error.to_string())?;
        match written.rebuilt.is_none() == in_place {
            true => Ok(written.bytes.len()),
            false => Err("a workbook went the other way".into()),
        }
    }
}

/// Rounds over all jobs.
const ROUNDS: usize = 9;

type Way = (&'static str, fn(&Audited) -> Outcome<usize>);

const WAYS: [Way; 3] = [
    ("read", |job| Ok(open(&job.bytes)?.sheets.len())),
    ("written anew", |job| job.copy(false)),
    ("marked in place", |job| job.copy(true)),
];

/// Seconds of each way over all jobs, as so many threads have them. A job goes
/// all ways in turn, by whichever it begins: what else runs on the machine
/// comes and goes, and hits them alike.
fn round(all: &[Audited], threads: usize, round: usize) -> Outcome<[f64; 3]> {
    let of_job = |(at, job): (usize, &Audited)| -> Outcome<[f64; 3]> {
        let mut took = [0.0; 3];
        for turn in 0..WAYS.len() {
            let way = (at + round + turn) % WAYS.len();
            let began = Instant::now();
            WAYS[way].1(job)?;
            took[way] = began.elapsed().as_secs_f64();
        }
        Ok(took)
    };
    let sum = |a: [f64; 3], b: [f64; 3]| Ok([0, 1, 2].map(|way| a[way] + b[way]));
    let took = pool(threads)?.install(|| {
        let jobs = all.par_iter().enumerate().map(of_job);
        jobs.try_reduce(|| [0.0; 3], sum)
    })?;
    Ok(took.map(|seconds| seconds / threads as f64))
}

/// Prints the table. Seconds are the best of the rounds; the ratio is that of
/// each round, the middle one of them, and the two between which half lie.
pub fn marking(jobs: usize) -> Outcome<()> {
    println!("\n| of {ROUNDS} rounds | threads | seconds | jobs/s | to reading and writing anew |");
    println!("| --- | --- | --- | --- | --- |");
    let folder = tempfile::tempdir()?;
    generate::workbooks(folder.path(), jobs)?;
    let paths = files(folder.path(), "xlsx");
    let all: Vec<Audited> = paths
        .iter()
        .map(|path| Audited::of(path))
        .collect::<Outcome<_>>()?;
    for threads in [1, 2] {
        let rounds = (0..ROUNDS).map(|number| round(&all, threads, number));
        let rounds: Vec<[f64; 3]> = rounds.collect::<Outcome<_>>()?;
        for (way, (what, _)) in WAYS.iter().enumerate() {
            let seconds = rounds.iter().map(|took| took[way]);
            let best = seconds.fold(f64::INFINITY, f64::min);
            let ratios = rounds.iter().map(|took| took[way] / (took[0] + took[1]));
            let mut ratios: Vec<f64> = ratios.collect();
            ratios.sort_by(f64::total_cmp);
            println!(
                "| {what} | {threads} | {best:.2} | {:.0} | {:.2} ({:.2} to {:.2}) |",
                all.len() as f64 / best,
                ratios[ROUNDS / 2],
                ratios[ROUNDS / 4],
                ratios[ROUNDS - 1 - ROUNDS / 4],
            );
        }
    }
    Ok(())
}
