//! `ampledger blank`.

use super::{AUDITED, USAGE};
use crate::intake::schema::Schemas;
use crate::report::blank;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Write an empty schedule for people to fill in.
///
/// A workbook with a sheet for each table, drop-down lists, and examples in
/// notes; or, where FILE does not end in .xlsx, a folder of CSV files with
/// the headings. Nothing that exists is written over.
#[derive(clap::Args, Debug)]
pub struct Args {
    /// The workbook, or a folder for CSV files.
    #[arg(long, value_name = "FILE", default_value = "schedule.xlsx")]
    out: PathBuf,

    /// The date that the workbook carries, as 2026-03-31; today unless given.
    #[arg(long, value_name = "DATE")]
    as_of: Option<jiff::civil::Date>,
}

pub(super) fn run(args: &Args) -> u8 {
    match write(args) {
        Ok(()) => AUDITED,
        Err(sentence) => {
            eprintln!("ampledger: {sentence}");
            USAGE
        }
    }
}

fn write(args: &Args) -> Result<(), String> {
    let schemas = Schemas::embedded();
    let as_of = args.as_of.unwrap_or_else(|| jiff::Zoned::now().date());
    let workbook = args
        .out
        .extension()
        .is_some_and(|ending| ending.eq_ignore_ascii_case("xlsx"));
    if workbook {
        let bytes = blank::workbook(schemas, as_of).map_err(|error| error.to_string())?;
        return create(&args.out, &bytes);
    }
    std::fs::create_dir_all(&args.out).map_err(|error| said(&args.out, &error))?;
    for (name, bytes) in blank::texts(schemas).map_err(|error| error.to_string())? {
        create(&args.out.join(name), &bytes)?;
    }
    Ok(())
}

fn create(path: &Path, bytes: &[u8]) -> Result<(), String> {
    std::fs::OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(path)
        .and_then(|mut file| file.write_all(bytes))
        .map_err(|error| said(path, &error))
}

fn said(path: &Path, error: &std::io::Error) -> String {
    format!("{}: {error}", path.display())
}
