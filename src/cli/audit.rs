//! `ampledger audit`.

use super::{AUDITED, FOUND, UNREAD, USAGE, headings, print, print_bytes};
use crate::batch::{self, JobPer, Options};
use crate::findings::Severity;
use crate::practice::{Practice, ProfileError};
use crate::report::formats::Format;
use clap::ValueEnum;
use indicatif::{ProgressBar, ProgressStyle};
use std::path::{Path, PathBuf};

/// Audit schedules and write annotated workbooks.
///
/// Takes files and folders. A folder is walked down; workbooks and text
/// tables in it are read, whatever their layout, and grouped into jobs: a job
/// column always splits, files of one folder that belong together are one
/// job. Nothing that you have is written to.
#[derive(clap::Args, Debug)]
pub struct Args {
    /// Files and folders with schedules.
    #[arg(required = true, value_name = "PATH")]
    paths: Vec<PathBuf>,

    /// Folder for the workbooks and lists.
    #[arg(long, value_name = "DIR", default_value = "audited")]
    out: PathBuf,

    /// Write the findings to standard output in this format, for a pipe; the
    /// summary goes to standard error then. The folder gets all formats.
    #[arg(long, value_name = "FORMAT")]
    format: Option<FormatArg>,

    /// Exit with 1 where a finding of this severity or worse stands.
    #[arg(long, value_name = "SEVERITY")]
    fail_on: Option<FailOn>,

    /// Headings of your own, each with its field: a TOML file as
    /// 'ampledger read --propose-headings' writes it.
    #[arg(long, value_name = "FILE")]
    headings: Option<PathBuf>,

    /// What makes a job of several files, instead of what they say of
    /// themselves.
    #[arg(long, value_name = "WHAT")]
    job_per: Option<JobPerArg>,

    /// Practice profile (TOML): adopted edition, bus budgets, limits of
    /// sharing, severities; the defaults unless given.
    #[arg(long, value_name = "FILE")]
    practice: Option<PathBuf>,

    /// The date that the outputs carry, as 2026-03-31; today unless given.
    #[arg(long, value_name = "DATE")]
    as_of: Option<jiff::civil::Date>,

    /// Number of threads; as many as the machine has unless given.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    threads: Option<u16>,

    /// Write into a folder that was not made by ampledger; files in the way
    /// are moved to kept/ in it.
    #[arg(long)]
    force: bool,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum FailOn {
    Fix,
    Verify,
    Note,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum FormatArg {
    Csv,
    /// JSON Lines.
    Jsonl,
    /// SARIF 2.1.0.
    Sarif,
    Parquet,
}

impl From<FormatArg> for Format {
    fn from(arg: FormatArg) -> Self {
        match arg {
            FormatArg::Csv => Self::Csv,
            FormatArg::Jsonl => Self::JsonLines,
            FormatArg::Sarif => Self::Sarif,
            FormatArg::Parquet => Self::Parquet,
        }
    }
}

#[derive(Clone, Copy, Debug, ValueEnum)]
pub(super) enum JobPerArg {
    /// Each file is a job.
    File,
    /// Each folder is a job.
    Folder,
}

impl From<JobPerArg> for JobPer {
    fn from(arg: JobPerArg) -> Self {
        match arg {
            JobPerArg::File => Self::File,
            JobPerArg::Folder => Self::Folder,
        }
    }
}

pub(super) fn run(args: &Args) -> u8 {
    let practice = match practice(args.practice.as_deref()) {
        Ok(practice) => practice,
        Err(error) => {
            eprintln!("ampledger: {error}");
            return USAGE;
        }
    };
    if let Err(sentence) = headings::apply(args.headings.as_deref()) {
        eprintln!("ampledger: {sentence}");
        return USAGE;
    }
    let options = Options {
        paths: args.paths.clone(),
        out: args.out.clone(),
        force: args.force,
        job_per: args.job_per.map(JobPer::from),
        as_of: args.as_of.unwrap_or_else(|| jiff::Zoned::now().date()),
        practice,
    };
    let bar = progress();
    let audited = with_threads(args.threads, || batch::audit(&options, &bar));
    bar.finish_and_clear();
    let batch = match audited {
        Ok(batch) => batch,
        Err(error) => {
            eprintln!("ampledger: {error}");
            return USAGE;
        }
    };
    match args.format.map(Format::from) {
        None => print(&batch.summary),
        Some(format) => {
            eprint!("{}", batch.summary);
            match std::fs::read(args.out.join(format.file())) {
                Ok(bytes) => print_bytes(&bytes),
                Err(error) => {
                    eprintln!("ampledger: {} cannot be read: {error}", format.file());
                    return UNREAD;
                }
            }
        }
    }
    for warning in &batch.warnings {
        eprintln!("ampledger: {warning}");
    }
    let limit = args.fail_on.map(|severity| match severity {
        FailOn::Fix => Severity::Fix,
        FailOn::Verify => Severity::Verify,
        FailOn::Note => Severity::Note,
    });
    if batch.is_incomplete() {
        UNREAD
    } else if limit.is_some_and(|limit| batch.worst >= Some(limit)) {
        FOUND
    } else {
        AUDITED
    }
}

/// The profile of that file, or the defaults.
pub(super) fn practice(file: Option<&Path>) -> Result<Practice, ProfileError> {
    match file {
        Some(path) => Practice::load(path, &crate::rules::severities()),
        None => Ok(Practice::default()),
    }
}

/// A bar on a terminal, nothing in a pipe.
fn progress() -> ProgressBar {
    let bar = ProgressBar::new(0);
    if let Ok(style) = ProgressStyle::with_template("{bar:30} {pos}/{len} {msg}") {
        bar.set_style(style);
    }
    bar
}

/// Runs `work` in a pool of that many threads.
pub(super) fn with_threads<T: Send>(threads: Option<u16>, work: impl FnOnce() -> T + Send) -> T {
    let pool = threads.and_then(|threads| {
        rayon::ThreadPoolBuilder::new()
            .num_threads(usize::from(threads))
            .build()
            .ok()
    });
    match pool {
        Some(pool) => pool.install(work),
        None => work(),
    }
}
