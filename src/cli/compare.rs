//! `ampledger compare`.

use super::{AUDITED, FOUND, UNREAD, USAGE, print};
use crate::batch::{CompareOptions, compare_audits};
use crate::practice::Practice;
use crate::report::compare::Fate;
use std::path::PathBuf;

/// Compare two audits: what is gone, still open and new.
///
/// Takes two audit folders, the older first; schedules that were not audited
/// yet are audited on the way. Findings are followed by what they are about,
/// not by their row: a schedule that was sorted anew compares as before. A
/// finding that is gone because less could be checked is told apart from one
/// that was mended.
#[derive(clap::Args, Debug)]
pub struct Args {
    /// The older audit folder, or older schedules.
    old: PathBuf,

    /// The newer audit folder, or newer schedules.
    new: PathBuf,

    /// Folder for the workbook and the list.
    #[arg(long, value_name = "DIR", default_value = "compared")]
    out: PathBuf,

    /// The date that the outputs carry, as 2026-03-31; today unless given.
    #[arg(long, value_name = "DATE")]
    as_of: Option<jiff::civil::Date>,

    /// Exit with 1 where a finding is still open or new.
    #[arg(long)]
    fail_on_open: bool,

    /// Write into a folder that was not made by ampledger; files in the way
    /// are moved to kept/ in it.
    #[arg(long)]
    force: bool,
}

pub(super) fn run(args: &Args) -> u8 {
    let compared = compare_audits(&CompareOptions {
        old: args.old.clone(),
        new: args.new.clone(),
        out: args.out.clone(),
        force: args.force,
        as_of: args.as_of.unwrap_or_else(|| jiff::Zoned::now().date()),
        practice: Practice::default(),
    });
    let compared = match compared {
        Ok(compared) => compared,
        Err(error) => {
            eprintln!("ampledger: {error}");
            return USAGE;
        }
    };
    print(&compared.summary);
    for warning in &compared.warnings {
        eprintln!("ampledger: {warning}");
    }
    let open = [Fate::StillOpen, Fate::New, Fate::NewJob];
    let open = open
        .into_iter()
        .any(|fate| compared.comparison.count(fate) > 0);
    if compared.incomplete {
        UNREAD
    } else if args.fail_on_open && open {
        FOUND
    } else {
        AUDITED
    }
}
