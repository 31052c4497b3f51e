//! An author's workbook marked up in place, beside the same workbook written
//! anew: the same findings, the same sheets of ours, in the same run.

use super::{files, generate, timed};
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

/// Rounds, in each of which all that is compared runs once, in turn: what
/// else runs on the machine hits all of it.
const ROUNDS: usize = 9;

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
    let ways: [(&str, fn(&Audited) -> Outcome<usize>); 3] = [
        ("read", |job| Ok(open(&job.bytes)?.sheets.len())),
        ("written anew", |job| job.copy(false)),
        ("marked in place", |job| job.copy(true)),
    ];
    for threads in [1, 2] {
        let mut rounds = Vec::new();
        for _ in 0..ROUNDS {
            let mut took = [0.0; 3];
            for (took, (_, work)) in took.iter_mut().zip(ways) {
                let run = timed(threads, || all.par_iter().map(work).sum::<Outcome<usize>>());
                *took = run?.as_secs_f64();
            }
            rounds.push(took);
        }
        for (at, (what, _)) in ways.into_iter().enumerate() {
            let best = rounds
                .iter()
                .map(|took| took[at])
                .fold(f64::INFINITY, f64::min);
            let ratios = rounds.iter().map(|took| took[at] / (took[0] + took[1]));
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
