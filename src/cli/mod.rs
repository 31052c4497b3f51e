//! The commands, one file each. Only words for the terminal and exit codes
//! stand here.

mod audit;
mod blank;
mod compare;
mod end;
mod explain;
mod headings;
mod read;
mod roll_up;
mod rules;
mod size;
mod words;

use clap::{Parser, Subcommand};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::process::ExitCode;
use std::sync::{Mutex, PoisonError};

/// Every input was read and audited, whatever was found.
pub const AUDITED: u8 = 0;
/// A finding of the severity given with `--fail-on`, or worse, stands.
pub const FOUND: u8 = 1;
/// Wrong use, or an output folder that cannot be used. clap ends with it too.
pub const USAGE: u8 = 2;
/// Some input could not be read; all that could was audited.
pub const UNREAD: u8 = 3;

/// Audits the schedules of multi-zone heat-pump systems: equipment, circuits
/// and wire runs, as CSV or workbooks, many jobs at once.
///
/// The work it checks can kill. Findings are no design and a clean report is
/// no certificate: verify against the nameplate and the manual; local code
/// and the authority having jurisdiction decide; a licensed electrician does
/// the work.
#[derive(Parser, Debug)]
#[command(name = "ampledger", version, max_term_width = 100)]
#[command(
    after_help = "Exit status: 0 audited, whatever was found; 1 a finding stands that --fail-on names; 2 wrong use; 3 some input could not be read (all that could was audited); 70 the program itself failed."
)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand, Debug)]
enum Command {
    Audit(audit::Args),
    RollUp(roll_up::Args),
    Compare(compare::Args),
    Blank(blank::Args),
    Read(read::Args),
    Rules(rules::Args),
    Explain(explain::Args),
    Size(Box<size::Args>),
}

/// The program itself failed.
pub const FAILED: u8 = 70;

/// Runs the program.
pub fn main() -> ExitCode {
    let cli = Cli::parse();
    quiet_panics();
    let command = || match cli.command {
        Command::Audit(args) => audit::run(&args),
        Command::RollUp(args) => roll_up::run(&args),
        Command::Compare(args) => compare::run(&args),
        Command::Blank(args) => blank::run(&args),
        Command::Read(args) => read::run(&args),
        Command::Rules(args) => rules::run(&args),
        Command::Explain(args) => explain::run(&args),
        Command::Size(args) => size::run(&args),
    };
    ExitCode::from(catch_unwind(AssertUnwindSafe(command)).unwrap_or_else(|_| {
        let place = LAST_PANIC
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clone();
        eprintln!(
            "ampledger: the program failed at {place}. Please report it. What it had written is whole; run it again to complete it."
        );
        FAILED
    }))
}

/// Where the last panic came from.
static LAST_PANIC: Mutex<String> = Mutex::new(String::new());

/// Lets a panic say nothing of its own. One inside a file or job is caught
/// and said as that file's or job's fault, in a sentence; one outside them
/// ends the program with a sentence.
pub fn quiet_panics() {
    std::panic::set_hook(Box::new(|panic| {
        let place = panic
            .location()
            .map_or_else(|| "an unknown place".to_owned(), ToString::to_string);
        *LAST_PANIC.lock().unwrap_or_else(PoisonError::into_inner) = place;
    }));
}

/// Prints to standard output; a closed pipe (`| head`) is no fault.
fn print(text: &str) {
    print_bytes(text.as_bytes());
}

fn print_bytes(bytes: &[u8]) {
    use std::io::Write;
    let mut out = std::io::stdout().lock();
    if out.write_all(bytes).and_then(|()| out.flush()).is_err() {
        // Whoever reads has gone.
    }
}
