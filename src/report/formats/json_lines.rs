//! One finding a line, as `schemas/finding.schema.json` describes it.

use crate::report::ReportError;
use crate::report::jobs::Jobs;
use crate::report::record::Record;
use std::io::Write;

/// UTF-8, each line ended by `\n`.
///
/// # Errors
/// Where `out` cannot be written to, or as
/// [`crate::report::jobs::Job::findings`].
pub fn write(out: &mut dyn Write, jobs: &Jobs) -> Result<(), ReportError> {
    for job in jobs.iter() {
        for finding in job.findings()? {
            serde_json::to_writer(&mut *out, &finding)?;
            out.write_all(b"\n")?;
        }
    }
    Ok(())
}

/// The findings of such a file; empty lines are passed over.
///
/// # Errors
/// Where a line is no finding.
pub fn read(bytes: &[u8]) -> Result<Vec<Record>, ReportError> {
    bytes
        .split(|byte| *byte == b'\n')
        .filter(|line| !line.iter().all(u8::is_ascii_whitespace))
        .map(|line| Ok(serde_json::from_slice(line)?))
        .collect()
}
