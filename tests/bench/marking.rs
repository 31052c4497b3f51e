//! An author's workbook marked up in place, beside the same workbook written
//! anew: the same findings, the same sheets of ours, in the same run.

use super::{best, files, generate, timed};
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

/// Prints the table.
pub fn marking(jobs: usize) -> Outcome<()> {
    println!("\n| what | threads | seconds | jobs/s | to reading and writing anew |");
    println!("| --- | --- | --- | --- | --- |");
    let folder = tempfile::tempdir()?;
    generate::workbooks(folder.path(), jobs)?;
    let paths = files(folder.path(), "xlsx");
    let all: Vec<Audited> = paths
        .iter()
        .map(|path| Audited::of(path))
        .collect::<Outcome<_>>()?;
    for threads in [1, 2] {
        let run = |work: fn(&Audited) -> Outcome<usize>| {
            best(|| timed(threads, || all.par_iter().map(work).sum::<Outcome<usize>>()))
        };
        let reading = run(|job| Ok(open(&job.bytes)?.sheets.len()))?;
        let anew = run(|job| job.copy(false))?;
        let marking = run(|job| job.copy(true))?;
        for (what, seconds) in [
            ("read", reading),
            ("written anew", anew),
            ("marked in place", marking),
        ] {
            println!(
                "| {what} | {threads} | {seconds:.2} | {:.0} | {:.2} |",
                all.len() as f64 / seconds,
                seconds / (reading + anew)
            );
        }
    }
    Ok(())
}
