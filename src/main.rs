use std::process::ExitCode;

fn main() -> ExitCode {
    ampledger::cli::main()
}
