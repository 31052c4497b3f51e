//! `ampledger read`.

use super::audit::{JobPerArg, with_threads};
use super::{AUDITED, UNREAD, USAGE, headings, print};
use crate::batch::{self, JobPer, Understood};
use crate::schedule::{RowNumber, SourceTable, TableKind};
use serde::Serialize;
use std::fmt::Write;
use std::path::PathBuf;

/// Show how schedules were understood.
///
/// Which files make which job and why; each table found, and where; each
/// heading and the field that it feeds, with how sure; rows taken and rows
/// left out with the reason; columns not recognised. Run it when a result
/// surprises.
#[derive(clap::Args, Debug)]
pub struct Args {
    /// Files and folders with schedules.
    #[arg(required = true, value_name = "PATH")]
    paths: Vec<PathBuf>,

    /// The tables as JSON: an array, one entry a table.
    #[arg(long)]
    json: bool,

    /// Headings of your own, each with its field: a TOML file as
    /// 'ampledger read --propose-headings' writes it.
    #[arg(long, value_name = "FILE")]
    headings: Option<PathBuf>,

    /// Write the headings that are not recognised to a TOML file, for you to
    /// map.
    #[arg(long, value_name = "FILE")]
    propose_headings: Option<PathBuf>,

    /// What makes a job of several files, instead of what they say of
    /// themselves.
    #[arg(long, value_name = "WHAT")]
    job_per: Option<JobPerArg>,

    /// Number of threads; as many as the machine has unless given.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    threads: Option<u16>,
}

pub(super) fn run(args: &Args) -> u8 {
    let schemas = match headings::schemas(args.headings.as_deref()) {
        Ok(schemas) => schemas,
        Err(sentence) => {
            eprintln!("ampledger: {sentence}");
            return USAGE;
        }
    };
    let job_per = args.job_per.map(JobPer::from);
    let understood = with_threads(args.threads, || {
        batch::understand(&args.paths, job_per, &schemas)
    });
    if args.json {
        match serde_json::to_string_pretty(&tables(&understood)) {
            Ok(text) => print(&format!("{text}\n")),
            Err(error) => eprintln!("ampledger: {error}"),
        }
        for (file, sentence) in &understood.unread {
            eprintln!("ampledger: {file}: {sentence}");
        }
    } else {
        print(&text(&understood));
    }
    if let Some(path) = &args.propose_headings {
        let proposal = headings::proposal(&understood);
        // A file that somebody has filled in is not written over.
        let written = std::fs::OpenOptions::new()
            .write(true)
            .create_new(true)
            .open(path)
            .and_then(|mut file| std::io::Write::write_all(&mut file, proposal.as_bytes()));
        if let Err(error) = written {
            eprintln!("ampledger: {}: {error}", path.display());
            return USAGE;
        }
    }
    if understood.unread.is_empty() {
        AUDITED
    } else {
        UNREAD
    }
}

#[derive(Serialize)]
struct TableJson<'a> {
    file: &'a str,
    sheet: Option<&'a str>,
    kind: &'static str,
    kinds: Vec<&'static str>,
    /// Counted from one, as a spreadsheet shows them.
    header_rows: Vec<u32>,
    columns: Vec<ColumnJson<'a>>,
    /// Labels and values on the sheet.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    form: Vec<LabelJson<'a>>,
    rows_taken: u32,
    rows_left_out: Vec<RowJson<'a>>,
}

#[derive(Serialize)]
struct ColumnJson<'a> {
    column: String,
    heading: &'a str,
    field: Option<&'static str>,
    score: f64,
    /// Of a column that is not recognised: the fields between which it was
    /// not chosen, or the nearest known heading.
    #[serde(skip_serializing_if = "Option::is_none")]
    nearest: Option<&'a str>,
    /// Fields that the column feeds besides the first.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    also: Vec<&'static str>,
}

#[derive(Serialize)]
struct LabelJson<'a> {
    cell: &'a str,
    label: &'a str,
    value: &'a str,
    field: &'static str,
}

#[derive(Serialize)]
struct RowJson<'a> {
    row: u32,
    reason: &'a str,
}

fn tables(understood: &Understood) -> Vec<TableJson<'_>> {
    let mut all = Vec::new();
    for file in &understood.files {
        for (at, table) in file.tables.iter().enumerate() {
            let form = file.forms.get(at).map_or(&[][..], Vec::as_slice);
            all.push(TableJson {
                form: form
                    .iter()
                    .map(|entry| LabelJson {
                        cell: &entry.cell,
                        label: &entry.label,
                        value: &entry.value,
                        field: entry.field,
                    })
                    .collect(),
                file: &file.path,
                sheet: table.sheet.as_deref(),
                kind: table.kind.name(),
                kinds: table.kinds.iter().map(|kind| kind.name()).collect(),
                header_rows: header_rows(table),
                columns: table
                    .columns
                    .iter()
                    .filter(|_| table.kind != TableKind::JobFacts)
                    .map(|column| ColumnJson {
                        column: column.column.to_string(),
                        heading: &column.heading,
                        nearest: match column.fields.is_empty() {
                            true => nearest(file, table, &column.heading),
                            false => None,
                        },
                        field: column.fields.first().map(|field| field.name()),
                        score: (column.score * 100.0).round() / 100.0,
                        also: column
                            .fields
                            .iter()
                            .skip(1)
                            .map(|field| field.name())
                            .collect(),
                    })
                    .collect(),
                rows_taken: table.rows_taken,
                rows_left_out: table
                    .rows_left_out
                    .iter()
                    .map(|out| RowJson {
                        row: RowNumber::from(out.row).0,
                        reason: &out.reason,
                    })
                    .collect(),
            });
        }
    }
    all
}

fn nearest<'a>(
    file: &'a batch::FileReading,
    table: &SourceTable,
    heading: &str,
) -> Option<&'a str> {
    let mut unknown = file.unknown.iter();
    let same = unknown.find(|u| u.heading == heading && u.sheet == table.sheet)?;
    same.nearest.as_deref()
}

fn header_rows(table: &SourceTable) -> Vec<u32> {
    let (first, last) = (
        RowNumber::from(table.header.0).0,
        RowNumber::from(table.header.1).0,
    );
    (first..=last).collect()
}

fn text(understood: &Understood) -> String {
    let mut out = String::new();
    // Writing to a string cannot fail.
    let _ = write_jobs(&mut out, understood);
    for file in &understood.files {
        let _ = write_file(&mut out, file);
    }
    for (file, sentence) in &understood.unread {
        let _ = writeln!(out, "\n{file}\n  not read: {sentence}");
    }
    if understood.others > 0 {
        let _ = writeln!(out, "\n{} other files, not looked at", understood.others);
    }
    for folder in &understood.own_outputs {
        let _ = writeln!(out, "\n{folder}: written by ampledger, skipped");
    }
    out
}

fn write_jobs(out: &mut String, understood: &Understood) -> std::fmt::Result {
    let count = understood.jobs.len();
    writeln!(out, "{count} {}", if count == 1 { "job" } else { "jobs" })?;
    for job in &understood.jobs {
        writeln!(out, "  {} [{}]: {}", job.title, job.key, job.reason)?;
        for file in &job.files {
            writeln!(out, "      {file}")?;
        }
    }
    Ok(())
}

fn write_file(out: &mut String, file: &batch::FileReading) -> std::fmt::Result {
    writeln!(out, "\n{} ({})", file.path, file.format)?;
    for note in &file.notes {
        writeln!(out, "  {note}")?;
    }
    if file.tables.is_empty() {
        writeln!(out, "  no table of a schedule found")?;
    }
    for (at, table) in file.tables.iter().enumerate() {
        let form = file.forms.get(at).map_or(&[][..], Vec::as_slice);
        write_table(out, file, table, form)?;
    }
    for (sheet, reason) in &file.without {
        match sheet {
            Some(sheet) => writeln!(out, "  sheet {sheet}: no table. {reason}")?,
            None => writeln!(out, "  no table. {reason}")?,
        }
    }
    Ok(())
}

fn write_table(
    out: &mut String,
    file: &batch::FileReading,
    table: &SourceTable,
    form: &[batch::FormReading],
) -> std::fmt::Result {
    let mut kinds: Vec<String> = table.kinds.iter().map(|kind| kind.to_string()).collect();
    if kinds.is_empty() {
        kinds.push("dwellings by their type".to_owned());
    }
    let rows = header_rows(table);
    let heading = match rows.as_slice() {
        [only] => format!("heading in row {only}"),
        many => format!(
            "heading in rows {} to {}",
            many.first().copied().unwrap_or(0),
            many.last().copied().unwrap_or(0)
        ),
    };
    let sheet = table
        .sheet
        .as_ref()
        .map_or_else(String::new, |sheet| format!("sheet {sheet}, "));
    let hidden = if table.hidden { ", hidden" } else { "" };
    writeln!(
        out,
        "  {sheet}{heading}: {}, {} rows taken{hidden}",
        kinds.join(" + "),
        table.rows_taken
    )?;
    for entry in form {
        let value: String = entry.value.chars().take(34).collect();
        writeln!(
            out,
            "    {:>3}  {}: {value}  {}",
            entry.cell, entry.label, entry.field
        )?;
    }
    let known = table.kind != TableKind::JobFacts;
    for column in table.columns.iter().filter(|_| known) {
        let fields: Vec<&str> = column.fields.iter().map(|field| field.name()).collect();
        let heading: String = column.heading.chars().take(34).collect();
        if fields.is_empty() {
            // Two fields within the margin are asked about, not chosen.
            let asks = match nearest(file, table, &column.heading) {
                Some(fields) if fields.contains(" or ") => format!(": is it {fields}?"),
                Some(near) => format!("; nearest: {near}"),
                None => String::new(),
            };
            writeln!(
                out,
                "    {:>3}  {heading:<34}  not recognised{asks}",
                column.column.to_string()
            )?;
        } else {
            writeln!(
                out,
                "    {:>3}  {heading:<34}  {} ({:.0} %)",
                column.column.to_string(),
                fields.join(", "),
                column.score * 100.0
            )?;
        }
    }
    for left in table.rows_left_out.iter().take(40) {
        writeln!(
            out,
            "    row {}: left out, {}",
            RowNumber::from(left.row),
            left.reason
        )?;
    }
    if table.rows_left_out.len() > 40 {
        writeln!(
            out,
            "    … and {} more rows left out; --json lists all",
            table.rows_left_out.len() - 40
        )?;
    }
    Ok(())
}
