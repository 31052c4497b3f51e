//! Findings and facts as Parquet. What is a list in a JSON line is a column
//! of JSON text here, so that every reader of Parquet takes the file.

use crate::findings::Severity;
use crate::report::ReportError;
use crate::report::record::Record;
use polars::prelude::*;
use polars_io::prelude::{ParquetReader, ParquetWriter};
use std::io::{Cursor, Write};

/// The findings as a frame, one row a finding, in the order given.
///
/// # Errors
/// None but those of the libraries.
pub fn findings(findings: &[Record]) -> Result<DataFrame, ReportError> {
    let texts = |pick: Pick| -> Vec<&str> { findings.iter().map(pick).collect() };
    let json = |list: Result<Vec<String>, serde_json::Error>| list;
    let related = json(
        findings
            .iter()
            .map(|f| serde_json::to_string(&f.related))
            .collect(),
    )?;
    let changes = json(
        findings
            .iter()
            .map(|f| serde_json::to_string(&f.changes))
            .collect(),
    )?;
    let mut columns: Vec<Column> = TEXTS
        .iter()
        .map(|(name, pick)| Column::new((*name).into(), texts(*pick)))
        .collect();
    columns.push(Column::new("related".into(), related));
    columns.push(Column::new("changes".into(), changes));
    columns.extend(
        LATER
            .iter()
            .map(|(name, pick)| Column::new((*name).into(), texts(*pick))),
    );
    Ok(DataFrame::new(findings.len(), columns)?)
}

type Pick = fn(&Record) -> &str;

/// Columns that are plain texts, in their order.
const TEXTS: [(&str, Pick); 15] = [
    ("job", |f| &f.job),
    ("job_key", |f| &f.job_key),
    ("file", |f| &f.file),
    ("sheet", |f| &f.sheet),
    ("cell", |f| &f.cell),
    ("subject", |f| &f.subject),
    ("dwelling", |f| &f.dwelling),
    ("rule", |f| &f.rule),
    ("severity", |f| f.severity.name()),
    ("message", |f| &f.message),
    ("found", |f| &f.found),
    ("limit", |f| &f.limit),
    ("remedy", |f| &f.remedy),
    ("source", |f| &f.source),
    ("id", |f| &f.id),
];

/// Columns behind the lists; later ones are only ever appended.
const LATER: [(&str, Pick); 5] = [
    ("dwelling_type", |f| &f.dwelling_type),
    ("accepted_by", |f| &f.accepted_by),
    ("accepted_reason", |f| &f.accepted_reason),
    ("accepted_until", |f| &f.accepted_until),
    ("since", |f| &f.since),
];

/// The findings of such a frame.
///
/// # Errors
/// Where a column is wanting, or holds what no finding has.
pub fn findings_of(frame: &DataFrame) -> Result<Vec<Record>, ReportError> {
    let mut columns = Vec::with_capacity(TEXTS.len() + 2 + LATER.len());
    for name in TEXTS
        .map(|(name, _)| name)
        .into_iter()
        .chain(["related", "changes"])
        .chain(LATER.map(|(name, _)| name))
    {
        columns.push(frame.column(name)?.str()?.iter());
    }
    let mut records = Vec::with_capacity(frame.height());
    for _ in 0..frame.height() {
        let mut cells = columns
            .iter_mut()
            .map(|column| column.next().flatten().unwrap_or_default());
        let mut next = || cells.next().unwrap_or_default();
        let mut text = || next().to_owned();
        let (job, job_key) = (text(), text());
        let (file, sheet, cell) = (text(), text(), text());
        let (subject, dwelling, rule) = (text(), text(), text());
        let severity = text();
        let severity = Severity::ALL
            .into_iter()
            .find(|s| s.name() == severity)
            .ok_or_else(|| {
                ReportError::Unknown(format!("\u{201c}{severity}\u{201d} is no severity"))
            })?;
        records.push(Record {
            job,
            job_key,
            file,
            sheet,
            cell,
            subject,
            dwelling,
            rule,
            severity,
            message: text(),
            found: text(),
            limit: text(),
            remedy: text(),
            source: text(),
            id: text(),
            related: serde_json::from_str(&text())?,
            changes: serde_json::from_str(&text())?,
            dwelling_type: text(),
            accepted_by: text(),
            accepted_reason: text(),
            accepted_until: text(),
            since: text(),
        });
    }
    Ok(records)
}

/// Rows of a file that are held at once, and form a group of their own in it.
const ROWS_AT_ONCE: usize = 1 << 11;

/// What the jobs have, some thousands of rows at a time. The file carries no
/// date of writing.
///
/// # Errors
/// Where `out` cannot be written to, or a job's rows cannot be had.
pub fn write<J, T>(
    out: &mut dyn Write,
    jobs: impl Iterator<Item = J>,
    of: impl Fn(J) -> Result<Vec<T>, ReportError>,
    frame: impl Fn(&[T]) -> Result<DataFrame, ReportError>,
) -> Result<(), ReportError> {
    let schema = frame(&[])?.schema().clone();
    let writer = ParquetWriter::new(out).set_parallel(false);
    let mut file = writer.batched(&schema)?;
    let mut held: Vec<T> = Vec::new();
    let mut any = false;
    for job in jobs {
        held.extend(of(job)?);
        if held.len() >= ROWS_AT_ONCE {
            file.write_batch(&frame(&held)?)?;
            held.clear();
            any = true;
        }
    }
    if !held.is_empty() || !any {
        file.write_batch(&frame(&held)?)?;
    }
    file.finish()?;
    Ok(())
}

/// The frame of a Parquet file.
///
/// # Errors
/// Where the bytes are no Parquet file.
pub fn read(bytes: &[u8]) -> Result<DataFrame, ReportError> {
    use polars_io::SerReader;
    Ok(ParquetReader::new(Cursor::new(bytes)).finish()?)
}
