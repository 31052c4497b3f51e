//! `ampledger audit`.

use super::end::{EndArgs, SeverityArg, end};
use super::{USAGE, headings};
use crate::acceptance;
use crate::batch::{self, JobPer, Options, Review, Shard, Since};
use crate::findings::Severity;
use crate::practice::{Practice, ProfileError};
use crate::report::drawing::Drawings;
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

    /// Folder for the workbooks and lists; audited unless given.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,

    #[command(flatten)]
    end: EndArgs,

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

    /// Your own price list, a CSV file or workbook with the columns item, unit
    /// and price: gives each correction its cost or saving in the takeoff.
    /// Items as takeoff.csv names them; units each, ft, per 100 ft, per 1000
    /// ft, C (by the hundred), M (by the thousand) or box.
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
    min_severity: Option<SeverityArg>,
    /// Audit the K-th of N parts of the source folders, as 2/8, into a folder
    /// of its own (default audited-2-of-8). Every machine splits alike, by the
    /// folders' relative paths; 'ampledger roll-up' puts the parts together.
    #[arg(long, value_name = "K/N")]
    shard: Option<Shard>,

    /// Take jobs that are unchanged since this audit from its folder, besides
    /// those that are unchanged in the output folder itself.
    #[arg(long, value_name = "FOLDER")]
    reuse: Option<PathBuf>,

    /// Audit every job; else those whose files and settings are the same as
    /// when the output folder was written are left as they are.
    #[arg(long, conflicts_with = "reuse")]
    afresh: bool,

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
    let mut practice = match practice(args.practice.as_deref()) {
        Ok(practice) => practice,
        Err(error) => {
            eprintln!("ampledger: {error}");
            return USAGE;
        }
    };
    let schemas = match headings::schemas(args.headings.as_deref()) {
        Ok(schemas) => schemas,
        Err(sentence) => {
            eprintln!("ampledger: {sentence}");
            return USAGE;
        }
    };
    let prices = match args.prices.as_deref().map(batch::read_prices) {
        None => Prices::default(),
        Some(Ok(prices)) => prices,
        Some(Err(sentence)) => {
            eprintln!("ampledger: {sentence}");
            return USAGE;
        }
    };
    if let Some(path) = &args.nameplates {
        match batch::read_nameplates(path, &schemas) {
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
    let out = args.out.clone().unwrap_or_else(|| match args.shard {
        Some(shard) => shard.folder().into(),
        None => "audited".into(),
    });
    let profile = args.practice.as_deref().map(std::fs::read_to_string);
    let options = Options {
        review,
        paths: args.paths.clone(),
        out: out.clone(),
        force: args.force,
        job_per: args.job_per.map(JobPer::from),
        schemas,
        as_of: args.as_of.unwrap_or_else(|| jiff::Zoned::now().date()),
        practice,
        profile: profile.and_then(Result::ok).unwrap_or_default(),
        shard: args.shard,
        afresh: args.afresh,
        reuse: args.reuse.clone(),
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
    end(&args.end, audited, &out)
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
