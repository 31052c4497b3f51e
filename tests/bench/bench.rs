//! How long the whole road takes, beside the bare libraries on the same
//! files in the same run; how much memory; how both grow.
//!
//!     cargo run --release --features bench --bin bench -- [speed|marking|memory|growth|drawing|all] [JOBS]
//!     cargo run --release --features bench --bin bench -- generate FOLDER JOBS
//!     cargo run --release --features bench --bin bench -- damage SECONDS SEED
//!
//! A plain program and no `cargo bench` target: that would build the data
//! frame library a second time, with the features of the tests.

mod by_hand;
mod cases;
#[path = "../fuzz/damage.rs"]
mod damage;
mod drawing;
mod floor;
mod generate;
mod marking;

use ampledger::batch::{self, Options};
use ampledger::practice::Practice;
use rayon::prelude::*;
use std::error::Error;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

// As the program has it; the floor has it too.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

type Outcome<T> = Result<T, Box<dyn Error + Send + Sync>>;

/// Jobs whose workbooks the floor writes again and again: faults of the
/// generated jobs repeat after so many.
const SAMPLES: usize = 15;
const ROUNDS: usize = 3;

fn main() -> Outcome<()> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let word = args.first().map_or("all", String::as_str);
    if let ("child", [_, input, out, threads, workbooks]) = (word, args.as_slice()) {
        return child(input, out, threads.parse()?, workbooks == "workbooks");
    }
    // The batches alone, for a profiler or another program to read.
    if let ("generate", [_, folder, jobs]) = (word, args.as_slice()) {
        generate::workbooks(&Path::new(folder).join("xlsx"), jobs.parse()?)?;
        return Ok(generate::text_files(
            &Path::new(folder).join("csv"),
            jobs.parse()?,
        )?);
    }
    // Damaged inputs at full speed; the tests have some seconds of it.
    if let ("damage", [_, seconds, seed]) = (word, args.as_slice()) {
        println!("{:?}", damage::look(seconds.parse()?, seed.parse()?));
        return Ok(());
    }
    let jobs = args.get(1).map_or(Ok(2_000), |jobs| jobs.parse())?;
    heading(jobs);
    match word {
        "speed" => speed(jobs),
        "marking" => marking::marking(jobs),
        "memory" => memory(jobs),
        "growth" => cases::growth(),
        "drawing" => drawing::rasterised(),
        "all" => speed(jobs)
            .and_then(|()| marking::marking(jobs))
            .and_then(|()| memory(jobs))
            .and_then(|()| cases::growth())
            .and_then(|()| drawing::rasterised()),
        other => Err(format!("{other}: speed, marking, memory, growth, drawing or all").into()),
    }
}

fn heading(jobs: usize) {
    let cpu = std::fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    let model = cpu
        .lines()
        .find_map(|line| line.strip_prefix("model name")?.split_once(": "))
        .map_or("unknown processor", |(_, model)| model);
    let cores = std::thread::available_parallelism().map_or(0, usize::from);
    let load = std::fs::read_to_string("/proc/loadavg").unwrap_or_default();
    let load = load.split(' ').next().unwrap_or("?");
    println!("machine: {model}, {cores} cores, load {load} before the run");
    println!(
        "date: {}, {jobs} jobs, best of {ROUNDS} rounds",
        jiff::Zoned::now().date()
    );
}

pub fn audit(input: &Path, out: &Path, threads: usize, workbooks: bool) -> Outcome<Duration> {
    let options = Options {
        drawings: ampledger::report::drawing::Drawings::Findings,
        prices: ampledger::takeoff::Prices::default(),
        paths: vec![input.to_owned()],
        out: out.to_owned(),
        force: false,
        job_per: None,
        schemas: ampledger::intake::schema::Schemas::shared(),
        as_of: jiff::civil::date(2026, 1, 1),
        practice: Practice::default(),
        profile: String::new(),
        shard: None,
        // A benchmark measures work that is done.
        afresh: true,
        reuse: None,
        workbooks,
        review: Default::default(),
    };
    let began = Instant::now();
    let batch =
        pool(threads)?.install(|| batch::audit(&options, &indicatif::ProgressBar::hidden()));
    let took = began.elapsed();
    let batch = batch.map_err(|error| error.to_string())?;
    match batch.warnings.first() {
        Some(warning) => Err(warning.clone().into()),
        None => Ok(took),
    }
}

fn pool(threads: usize) -> Outcome<rayon::ThreadPool> {
    Ok(rayon::ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()?)
}

fn files(folder: &Path, ending: &str) -> Vec<PathBuf> {
    walkdir::WalkDir::new(folder)
        .sort_by_file_name()
        .into_iter()
        .flatten()
        .map(walkdir::DirEntry::into_path)
        .filter(|path| path.extension().is_some_and(|found| found == ending))
        .collect()
}

/// The best of some rounds: what else runs on the machine only ever adds.
fn best(mut round: impl FnMut() -> Outcome<Duration>) -> Outcome<f64> {
    let mut best = f64::INFINITY;
    for _ in 0..ROUNDS {
        best = best.min(round()?.as_secs_f64());
    }
    Ok(best)
}

fn timed<T>(threads: usize, work: impl FnOnce() -> Outcome<T> + Send) -> Outcome<Duration>
where
    T: Send,
{
    let pool = pool(threads)?;
    let began = Instant::now();
    pool.install(work)?;
    Ok(began.elapsed())
}

type ReadOne = fn(&Path) -> Outcome<usize>;

fn speed(jobs: usize) -> Outcome<()> {
    println!("\n| what | threads | seconds | jobs/s | to the floor | two threads to one |");
    println!("| --- | --- | --- | --- | --- | --- |");
    let folder = tempfile::tempdir()?;
    let books = folder.path().join("xlsx");
    let texts = folder.path().join("csv");
    generate::workbooks(&books, jobs)?;
    generate::text_files(&texts, jobs)?;
    let ours = kind_of("XLSX", &books, floor::read_workbook, jobs, folder.path())?;
    kind_of("CSV", &texts, floor::read_text, jobs, folder.path())?;
    beside_python(&ours, folder.path())?;
    start_up(folder.path())
}

/// Jobs a second of one number of threads.
struct Audited {
    threads: usize,
    lists: f64,
    whole: f64,
}

/// What a script does of it that somebody might write instead. Its marks are
/// of four checks; ours are of all rules, with all outputs.
fn beside_python(ours: &[Audited], folder: &Path) -> Outcome<()> {
    let Some(by_hand) = by_hand::measure(folder)? else {
        println!("\nPython: not measured, openpyxl and pandas are not here");
        return Ok(());
    };
    println!(
        "\n| by hand in Python | processes | findings | jobs/s | the audit on one thread, times | on two |"
    );
    println!("| --- | --- | --- | --- | --- | --- |");
    for took in by_hand {
        let times = |threads| {
            let ours = ours.iter().find(|ours| ours.threads == threads);
            let ours = ours.map_or(
                f64::NAN,
                |ours| {
                    if took.marks { ours.whole } else { ours.lists }
                },
            );
            ours / took.jobs_a_second
        };
        println!(
            "| {} | {} | {} | {:.1} | {:.1} | {:.1} |",
            if took.marks {
                "read, check and mark"
            } else {
                "read and check"
            },
            took.processes,
            took.findings,
            took.jobs_a_second,
            times(1),
            times(2),
        );
    }
    Ok(())
}

fn kind_of(
    kind: &str,
    input: &Path,
    read: ReadOne,
    jobs: usize,
    folder: &Path,
) -> Outcome<Vec<Audited>> {
    let all = files(input, &kind.to_lowercase());
    let out = folder.join("out");
    let samples = samples(input, folder)?;
    let mut one = [0.0; 4];
    let mut audited = Vec::new();
    for threads in [1, 2] {
        let reading = best(|| {
            timed(threads, || {
                all.par_iter()
                    .map(|path| read(path))
                    .sum::<Outcome<usize>>()
            })
        })?;
        let written = folder.join("floor");
        std::fs::create_dir_all(&written)?;
        let writing = best(|| {
            timed(threads, || {
                (0..jobs).into_par_iter().try_for_each(|number| {
                    let books = &samples[number % samples.len()];
                    books.iter().enumerate().try_for_each(|(at, book)| {
                        let name = format!("{number}-{at}.xlsx");
                        Ok(std::fs::write(written.join(name), book.write()?)?)
                    })
                })
            })
        })?;
        std::fs::remove_dir_all(&written)?;
        let run = |workbooks| {
            best(|| {
                if out.exists() {
                    std::fs::remove_dir_all(&out)?;
                }
                audit(input, &out, threads, workbooks)
            })
        };
        let (lists, whole) = (run(false)?, run(true)?);
        audited.push(Audited {
            threads,
            lists: jobs as f64 / lists,
            whole: jobs as f64 / whole,
        });
        let rows = [
            ("read alone", reading, None),
            ("write alone", writing, None),
            ("audit, findings only", lists, Some(reading)),
            ("audit with workbooks", whole, Some(reading + writing)),
        ];
        for (at, (what, seconds, floor)) in rows.into_iter().enumerate() {
            let ratio = floor.map_or(String::new(), |floor| format!("{:.2}", seconds / floor));
            let scale = if threads == 1 {
                one[at] = seconds;
                String::new()
            } else {
                format!("{:.2}", one[at] / seconds)
            };
            println!(
                "| {kind}, {what} | {threads} | {seconds:.2} | {:.0} | {ratio} | {scale} |",
                jobs as f64 / seconds
            );
        }
    }
    Ok(audited)
}

/// All workbooks that an audit makes of each of the first jobs.
fn samples(input: &Path, folder: &Path) -> Outcome<Vec<Vec<floor::Sample>>> {
    let mut samples = Vec::new();
    for number in 0..SAMPLES {
        let (few, out) = (folder.join("few"), folder.join("few-out"));
        let job = format!("job-{number:05}");
        for path in files(input, "xlsx").into_iter().chain(files(input, "csv")) {
            if path.to_string_lossy().contains(&job) {
                let to = few.join(path.strip_prefix(input)?);
                std::fs::create_dir_all(to.parent().ok_or("a folder")?)?;
                std::fs::copy(&path, to)?;
            }
        }
        audit(&few, &out, 1, true)?;
        let made: Outcome<Vec<_>> = ["jobs", "annotated", "proposed"]
            .iter()
            .flat_map(|folder| files(&out.join(folder), "xlsx"))
            .map(|path| floor::Sample::of(&std::fs::read(path)?))
            .collect();
        samples.push(made?);
        std::fs::remove_dir_all(&few)?;
        std::fs::remove_dir_all(&out)?;
    }
    Ok(samples)
}

fn start_up(folder: &Path) -> Outcome<()> {
    let program = std::env::current_exe()?.with_file_name("ampledger");
    if !program.is_file() {
        println!("\nstart: not measured, build the program beside this one first");
        return Ok(());
    }
    let small = folder.join("small/equipment.csv");
    std::fs::create_dir_all(small.parent().ok_or("a folder")?)?;
    std::fs::write(&small, "Tag,Type,MCA,MOCP\nOU-1,Outdoor unit,31.4,50\n")?;
    let run = |args: &[&std::ffi::OsStr]| {
        best(|| {
            let began = Instant::now();
            Command::new(&program).args(args).output()?;
            Ok(began.elapsed())
        })
    };
    let help = run(&["--help".as_ref()])?;
    let out = folder.join("small-out");
    let one = run(&[
        "audit".as_ref(),
        small.as_os_str(),
        "--out".as_ref(),
        out.as_os_str(),
    ])?;
    println!(
        "\nstart: --help {:.1} ms, one small job {:.1} ms",
        help * 1e3,
        one * 1e3
    );
    Ok(())
}

/// One audit in a process of its own, which says its peak of memory.
fn child(input: &str, out: &str, threads: usize, workbooks: bool) -> Outcome<()> {
    let took = audit(Path::new(input), Path::new(out), threads, workbooks)?;
    let status = std::fs::read_to_string("/proc/self/status")?;
    let peak = status
        .lines()
        .find_map(|line| line.strip_prefix("VmHWM:"))
        .and_then(|line| line.trim().split(' ').next()?.parse::<f64>().ok())
        .ok_or("no VmHWM here")?;
    println!("{:.2} {:.0}", took.as_secs_f64(), peak / 1024.0);
    Ok(())
}

/// Seconds and megabytes.
pub fn measured(input: &Path, out: &Path, workbooks: bool) -> Outcome<(f64, f64)> {
    let run = Command::new(std::env::current_exe()?)
        .args([
            "child".as_ref(),
            input.as_os_str(),
            out.as_os_str(),
            "2".as_ref(),
        ])
        .arg(if workbooks { "workbooks" } else { "lists" })
        .output()?;
    let said = String::from_utf8_lossy(&run.stdout);
    let (seconds, peak) = said
        .trim()
        .split_once(' ')
        .ok_or_else(|| String::from_utf8_lossy(&run.stderr).into_owned())?;
    Ok((seconds.parse()?, peak.parse()?))
}

fn memory(jobs: usize) -> Outcome<()> {
    println!("\n| memory at two threads | seconds | peak MB |\n| --- | --- | --- |");
    for jobs in [jobs, jobs * 10] {
        let folder = tempfile::tempdir()?;
        let input = folder.path().join("in");
        generate::workbooks(&input, jobs)?;
        let (seconds, peak) = measured(&input, &folder.path().join("out"), true)?;
        println!("| {jobs} XLSX jobs, with workbooks | {seconds:.1} | {peak:.0} |");
    }
    for rows in [100_000, 1_000_000] {
        let folder = tempfile::tempdir()?;
        let input = folder.path().join("season.csv");
        generate::season(&input, rows)?;
        let (seconds, peak) = measured(&input, &folder.path().join("out"), false)?;
        println!(
            "| CSV of {rows} rows with a job column, findings only | {seconds:.1} | {peak:.0} |"
        );
    }
    Ok(())
}
