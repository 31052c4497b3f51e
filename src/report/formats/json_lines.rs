//! One finding a line, as `schemas/finding.schema.json` describes it.

use crate::report::ReportError;
use crate::report::record::Record;

/// UTF-8, each line ended by `\n`.
///
/// # Errors
/// None but those of the library.
pub fn write(findings: &[Record]) -> Result<Vec<u8>, ReportError> {
    let mut bytes = Vec::new();
    for finding in findings {
        serde_json::to_writer(&mut bytes, finding)?;
        bytes.push(b'\n');
    }
    Ok(bytes)
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
