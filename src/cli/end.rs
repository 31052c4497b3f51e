//! How a command ends that made the outputs of a batch: what is printed, and
//! the exit status.

use super::{AUDITED, FOUND, UNREAD, USAGE, print, print_bytes};
use crate::batch::{Batch, BatchError};
use crate::findings::Severity;
use crate::report::formats::Format;
use clap::ValueEnum;
use std::path::Path;

#[derive(clap::Args, Debug)]
pub(super) struct EndArgs {
    /// Write the findings to standard output in this format, for a pipe; the
    /// summary goes to standard error then. The folder gets all formats.
    #[arg(long, value_name = "FORMAT")]
    format: Option<FormatArg>,

    /// Exit with 1 where a finding of this severity or worse stands.
    #[arg(long, value_name = "SEVERITY")]
    fail_on: Option<SeverityArg>,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
pub(super) enum SeverityArg {
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

impl From<SeverityArg> for Severity {
    fn from(arg: SeverityArg) -> Self {
        match arg {
            SeverityArg::Fix => Self::Fix,
            SeverityArg::Verify => Self::Verify,
            SeverityArg::Note => Self::Note,
        }
    }
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

pub(super) fn end(args: &EndArgs, made: Result<Batch, BatchError>, out: &Path) -> u8 {
    let batch = match made {
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
            match std::fs::read(out.join(format.file())) {
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
