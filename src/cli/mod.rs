//! The commands, one file each. Only words for the terminal and exit codes
//! stand here.

mod audit;
mod explain;
mod compare;
mod headings;
mod read;
mod rules;
mod size;
mod words;

use clap::{Parser, Subcommand};
use std::process::ExitCode;

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
    after_help = "Exit status: 0 audited, whatever was found; 1 a finding stands that --fail-on names; 2 wrong use; 3 some input could not be read (all that could was audited)."
)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand, Debug)]
enum Command {
    Audit(audit::Args),
    Compare(compare::Args),
    Read(read::Args),
    Rules(rules::Args),
    Explain(explain::Args),
    Size(Box<size::Args>),
}

/// Runs the program.
pub fn main() -> ExitCode {
    let cli = Cli::parse();
    ExitCode::from(match cli.command {
        Command::Audit(args) => audit::run(&args),
        Command::Compare(args) => compare::run(&args),
        Command::Read(args) => read::run(&args),
        Command::Rules(args) => rules::run(&args),
        Command::Explain(args) => explain::run(&args),
        Command::Size(args) => size::run(&args),
    })
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
