//! `ampledger roll-up`.

use super::end::{EndArgs, end};
use crate::batch::{RollUpOptions, roll_up};
use std::path::PathBuf;

/// Put many audits together, without reading a schedule again.
///
/// Takes folders that 'ampledger audit' wrote, or folders that hold such
/// folders, and writes the batch workbook, the lists and the summary over all
/// their jobs, judged against each other as in one run. The jobs' own
/// workbooks, letters and drawings are copied along, so that links lead to
/// them. The parts of 'audit --shard' give the same bytes as one audit of the
/// whole.
#[derive(clap::Args, Debug)]
pub struct Args {
    /// Folders of audits.
    #[arg(required = true, value_name = "FOLDER")]
    folders: Vec<PathBuf>,

    /// Folder for the outputs.
    #[arg(long, value_name = "DIR", default_value = "rolled-up")]
    out: PathBuf,

    /// Write the outputs of the batch alone; links to the jobs' own workbooks
    /// lead to nothing then.
    #[arg(long)]
    batch_only: bool,

    #[command(flatten)]
    end: EndArgs,

    /// Write into a folder that was not made by ampledger; files in the way
    /// are moved to kept/ in it.
    #[arg(long)]
    force: bool,
}

pub(super) fn run(args: &Args) -> u8 {
    let made = roll_up(&RollUpOptions {
        folders: args.folders.clone(),
        out: args.out.clone(),
        force: args.force,
        batch_only: args.batch_only,
    });
    end(&args.end, made, &args.out)
}
