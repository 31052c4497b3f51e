//! `ampledger audit`.

use super::{AUDITED, FOUND, UNREAD, USAGE, headings, print, print_bytes};
use crate::acceptance;
use crate::batch::{self, JobPer, Options, Review, Since};
use crate::findings::Severity;
use crate::practice::{Practice, ProfileError};
use crate::report::drawing::Drawings;
use crate::report::formats::Format;
use crate::takeoff::Prices;
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

    /// Write findings.csv and jobs.csv alone, no workbooks; those of earlier
    /// runs stay as they are.
    #[arg(long)]
    findings_only: bool,

    /// Your own price list, a CSV file with the columns item, unit and price:
    /// gives each correction its cost or saving in the takeoff.
    #[arg(long, value_name = "FILE")]
    prices: Option<PathBuf>,

    /// Systems whose bus is drawn: those with a finding of the bus unless
    /// given.
    #[arg(long, value_name = "WHICH", default_value = "findings")]
    drawings: DrawingsArg,

    /// Your own table of nameplates, a CSV file or a workbook with columns as
    /// Model, MCA, MOP, Volts: goes before what most jobs state of a model,
    /// and fills what rows leave blank at the strength of a question.
    #[arg(long, value_name = "FILE")]
    nameplates: Option<PathBuf>,

    /// Findings that somebody answers for: a TOML file as the audit writes
    /// accepted.toml. They leave the counts and stay listed; each lapses when
    /// what was found or the limit changes. A sheet 'Accepted' of a job's
    /// workbook and the column 'Accept' of an annotated one do the same.
    #[arg(long, value_name = "FILE")]
    accepted: Option<PathBuf>,

    /// An earlier audit folder: findings say since when they are open, or
    /// that they are new, and what is gone is listed.
    #[arg(long, value_name = "DIR")]
    since: Option<PathBuf>,

    /// List findings of this severity and worse alone; all are counted, and
    /// the disposition stays.
    #[arg(long, value_name = "SEVERITY")]
    min_severity: Option<FailOn>,

    /// Write into a folder that was not made by ampledger; files in the way
    /// are moved to kept/ in it.
    #[arg(long)]
    force: bool,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum DrawingsArg {
    /// Every system.
    All,
    /// Systems whose bus has a finding.
    Findings,
    None,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum FailOn {
    Fix,
    Verify,
    Note,
}

impl From<FailOn> for Severity {
    fn from(arg: FailOn) -> Self {
        match arg {
            FailOn::Fix => Self::Fix,
            FailOn::Verify => Self::Verify,
            FailOn::Note => Self::Note,
        }
    }
}

/// What is known of the findings beside the schedules.
fn review(args: &Args) -> Result<Review, String> {
    let accepted = match &args.accepted {
        Some(path) => acceptance::from_file(path).map_err(|error| error.to_string())?,
        None => Vec::new(),
    };
    let since = match &args.since {
        Some(folder) => Some(Since::read(folder).map_err(|error| error.to_string())?),
        None => None,
    };
    Ok(Review {
        accepted,
        since,
        least: args.min_severity.map(Severity::from),
    })
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

fn prices(path: Option<&std::path::Path>) -> Result<Prices, String> {
    let Some(path) = path else {
        return Ok(Prices::default());
    };
    let shown = path.display();
    let text = std::fs::read_to_string(path)
        .map_err(|error| format!("{shown} cannot be read: {error}"))?;
    Prices::read(&text).map_err(|fault| format!("{shown}, {fault}"))
}

pub(super) fn run(args: &Args) -> u8 {
    let mut practice = match practice(args.practice.as_deref()) {
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
    let prices = match prices(args.prices.as_deref()) {
        Ok(prices) => prices,
        Err(sentence) => {
            eprintln!("ampledger: {sentence}");
            return USAGE;
        }
    };
    if let Some(path) = &args.nameplates {
        match batch::read_nameplates(path) {
            Ok((nameplates, notes)) => {
                practice.nameplates = nameplates;
                for note in notes {
                    eprintln!("ampledger: {note}");
                }
            }
            Err(sentence) => {
                eprintln!("ampledger: {sentence}");
                return USAGE;
            }
        }
    }
    let review = match review(args) {
        Ok(review) => review,
        Err(sentence) => {
            eprintln!("ampledger: {sentence}");
            return USAGE;
        }
    };
    let options = Options {
        review,
        paths: args.paths.clone(),
        out: args.out.clone(),
        force: args.force,
        job_per: args.job_per.map(JobPer::from),
        as_of: args.as_of.unwrap_or_else(|| jiff::Zoned::now().date()),
        practice,
        workbooks: !args.findings_only,
        prices,
        drawings: match args.drawings {
            DrawingsArg::All => Drawings::All,
            DrawingsArg::Findings => Drawings::Findings,
            DrawingsArg::None => Drawings::None,
        },
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
    let limit = args.fail_on.map(Severity::from);
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
