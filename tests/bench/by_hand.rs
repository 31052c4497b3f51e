//! The same files through what a user would write by hand in Python, where
//! Python with openpyxl and pandas is here.

use std::error::Error;
use std::path::Path;
use std::process::Command;

type Outcome<T> = Result<T, Box<dyn Error + Send + Sync>>;

/// Jobs that the script is timed on; it reads and marks some twenty a second.
const JOBS: usize = 100;

/// What the script took of one way of running it.
pub struct Took {
    /// Whether it marked cells and wrote the workbooks again.
    pub marks: bool,
    pub processes: usize,
    pub jobs_a_second: f64,
    pub findings: usize,
}

/// Times the script on generated workbooks.
///
/// # Errors
/// `Ok(None)` where there is no Python with its packages.
pub fn measure(folder: &Path) -> Outcome<Option<Vec<Took>>> {
    let ready = Command::new("python3")
        .args(["-c", "import openpyxl, pandas"])
        .output();
    if !ready.is_ok_and(|ready| ready.status.success()) {
        return Ok(None);
    }
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bench/by_hand.py");
    let (input, out) = (folder.join("by-hand"), folder.join("by-hand-out"));
    super::generate::workbooks(&input, JOBS)?;
    let mut all = Vec::new();
    for marks in [false, true] {
        for processes in [1, 2] {
            let run = Command::new("python3")
                .arg(&script)
                .args([&input, &out])
                .arg(processes.to_string())
                .args((!marks).then_some("--no-marks"))
                .output()?;
            let said = String::from_utf8_lossy(&run.stdout);
            let words: Vec<&str> = said.split_whitespace().collect();
            let [seconds, files, findings] = words.as_slice() else {
                return Err(String::from_utf8_lossy(&run.stderr).into_owned().into());
            };
            all.push(Took {
                marks,
                processes,
                jobs_a_second: files.parse::<f64>()? / seconds.parse::<f64>()?,
                findings: findings.parse()?,
            });
        }
    }
    Ok(Some(all))
}
