//! The facts of an audit, read back from its files: what was written, job by
//! job, but for what rules across jobs had added.

use super::{
    BROKEN, JobAbout, JobFacts, JobResult, MET, NOT_CHECKED, Origin, SystemFact, UnitFact,
};
use crate::findings::{Disposition, NotCheckedTally, RuleTally, Severity, Use};
use crate::report::ReportError;
use crate::report::batch::JobRow;
use crate::report::formats::findings_of_frame;
use crate::report::jobs::Kept;
use crate::report::record::Record;
use crate::report::shelf::Shelf;
use crate::rules;
use crate::takeoff::{Item, Kind, Quantity, UNITS};
use polars::prelude::*;

/// The files of facts, as frames.
pub struct FactFrames {
    pub jobs: DataFrame,
    pub findings: DataFrame,
    pub units: DataFrame,
    pub systems: DataFrame,
    pub tallies: DataFrame,
    /// Empty where only lists were written.
    pub takeoff: Option<DataFrame>,
}

/// A frame of which cells are asked for.
struct Rows<'a> {
    frame: &'a DataFrame,
    file: &'static str,
}

impl<'a> Rows<'a> {
    fn new(frame: &'a DataFrame, file: &'static str) -> Self {
        Self { frame, file }
    }

    fn column(&self, name: &str) -> Result<&'a Column, ReportError> {
        self.frame
            .column(name)
            .map_err(|_| self.fault(format!("it has no column {name}")))
    }

    fn fault(&self, why: impl std::fmt::Display) -> ReportError {
        ReportError::Unknown(format!("{} cannot be used: {why}", self.file))
    }

    fn optional_texts(&self, name: &str) -> Result<Vec<Option<String>>, ReportError> {
        let column = self.column(name)?.str()?;
        Ok(column.iter().map(|text| text.map(str::to_owned)).collect())
    }

    fn texts(&self, name: &str) -> Result<std::vec::IntoIter<String>, ReportError> {
        let texts = self.optional_texts(name)?;
        Ok(texts
            .into_iter()
            .map(Option::unwrap_or_default)
            .collect::<Vec<_>>()
            .into_iter())
    }

    fn counts(&self, name: &str) -> Result<std::vec::IntoIter<u64>, ReportError> {
        let column = self.column(name)?.cast(&DataType::UInt64)?;
        let counts: Vec<u64> = column
            .u64()?
            .iter()
            .map(Option::unwrap_or_default)
            .collect();
        Ok(counts.into_iter())
    }

    fn numbers(&self, name: &str) -> Result<std::vec::IntoIter<Option<f64>>, ReportError> {
        let column = self.column(name)?.cast(&DataType::Float64)?;
        Ok(column.f64()?.iter().collect::<Vec<_>>().into_iter())
    }
}

/// Takes from each list what belongs to one job.
struct Shares<T> {
    file: &'static str,
    rest: std::vec::IntoIter<T>,
}

impl<T> Shares<T> {
    fn new(file: &'static str, all: Vec<T>) -> Self {
        let rest = all.into_iter();
        Self { file, rest }
    }

    fn take(&mut self, count: u64) -> Vec<T> {
        self.rest.by_ref().take(count as usize).collect()
    }

    fn end(self, whole: bool) -> Result<(), ReportError> {
        match self.rest.len() {
            0 if whole => Ok(()),
            _ => Err(ReportError::Unknown(format!(
                "{} does not belong to the jobs.parquet beside it",
                self.file
            ))),
        }
    }
}

/// The jobs of an audit as they were before they were judged against each
/// other. `across` names the rules whose findings are left out.
///
/// # Errors
/// Where a file lacks a column, holds what we do not write, or is of another
/// audit than the others.
pub fn jobs_of(
    frames: &FactFrames,
    across: &[&str],
    shelf: &Shelf,
) -> Result<Vec<Kept>, ReportError> {
    let rows = Rows::new(&frames.jobs, "jobs.parquet");
    let count = |name: &str| rows.counts(name);
    let (mut findings_rows, mut units_rows) = (count("findings_rows")?, count("units_rows")?);
    let (mut systems_rows, mut tallies_rows) = (count("systems_rows")?, count("tallies_rows")?);
    let mut takeoff_rows = count("takeoff_rows")?;
    let mut findings = Shares::new("findings.parquet", findings_of_frame(&frames.findings)?);
    let mut units = Shares::new("units.parquet", units(&frames.units)?);
    let mut systems = Shares::new("systems.parquet", systems(&frames.systems)?);
    let mut tallies = Shares::new("tallies.parquet", tallies(&frames.tallies)?);
    let taken = frames.takeoff.as_ref().map(takeoff).transpose()?;
    let mut takeoff = Shares::new("takeoff.parquet", taken.unwrap_or_default());
    let mut whole = true;
    let jobs: Result<Vec<Kept>, ReportError> = job_rows(&rows)?
        .into_iter()
        .map(|(row, origin, uses)| {
            let share = |rows: &mut std::vec::IntoIter<u64>| rows.next().unwrap_or_default();
            let sizes = [
                share(&mut findings_rows),
                share(&mut units_rows),
                share(&mut systems_rows),
                share(&mut tallies_rows),
                share(&mut takeoff_rows),
            ];
            let all: Vec<Record> = findings.take(sizes[0]);
            let facts = JobFacts {
                units: units.take(sizes[1]),
                systems: systems.take(sizes[2]),
            };
            let counted = tallies.take(sizes[3]);
            let items = takeoff.take(sizes[4]);
            let found = [
                all.len(),
                facts.units.len(),
                facts.systems.len(),
                counted.len(),
                items.len(),
            ];
            whole &= sizes
                .iter()
                .zip(found)
                .all(|(size, found)| *size == found as u64);
            let job = JobResult {
                findings: all
                    .into_iter()
                    .filter(|finding| !across.contains(&finding.rule.as_str()))
                    .collect(),
                row,
                origin,
                facts,
                tallies: by_rule(&counted),
                uses,
                takeoff: items,
            };
            Kept::new(job, shelf)
        })
        .collect();
    findings.end(whole)?;
    units.end(whole)?;
    systems.end(whole)?;
    tallies.end(whole)?;
    takeoff.end(whole)?;
    jobs
}

fn lines(text: &str) -> Vec<String> {
    match text {
        "" => Vec::new(),
        text => text.split('\n').map(str::to_owned).collect(),
    }
}

fn job_rows(rows: &Rows) -> Result<Vec<(JobRow, Origin, Vec<Use>)>, ReportError> {
    let mut text = Vec::new();
    for name in [
        "job",
        "job_key",
        "number",
        "name",
        "submitted_by",
        "revision",
        "date",
        "disposition",
        "worst_severity",
        "worst_rule",
        "files",
        "reason",
        "content",
        "set",
        "file_title",
        "file_name",
        "inputs",
        "outputs",
        "acceptances",
        "copies",
    ] {
        text.push(rows.texts(name)?);
    }
    let mut count = Vec::new();
    for name in ["fix", "verify", "note", "units", "place", "accepted"] {
        count.push(rows.counts(name)?);
    }
    let mut workbooks = rows.optional_texts("workbook")?.into_iter();
    let mut jobs = Vec::with_capacity(rows.frame.height());
    for _ in 0..rows.frame.height() {
        let mut texts = text
            .iter_mut()
            .map(|column| column.next().unwrap_or_default());
        let mut text = || texts.next().unwrap_or_default();
        let mut counts = count
            .iter_mut()
            .map(|column| column.next().unwrap_or_default());
        let mut count = || counts.next().unwrap_or_default();
        let (job, key, number, name) = (text(), text(), text(), text());
        let (submitted_by, revision, date) = (text(), text(), text());
        let disposition = text();
        let disposition = Disposition::ALL
            .into_iter()
            .find(|d| d.name() == disposition)
            .ok_or_else(|| {
                rows.fault(format!("\u{201c}{disposition}\u{201d} is no disposition"))
            })?;
        let (severity, rule) = (text(), text());
        let severity = Severity::ALL.into_iter().find(|s| s.name() == severity);
        let worst = match severity {
            Some(severity) => Some((severity, rule_name(&rule)?)),
            None => None,
        };
        let (files, reason, content) = (lines(&text()), text(), text());
        let (set, title, name_given) = (text(), text(), text());
        let (inputs, outputs) = (text(), lines(&text()));
        let (fix, verify, note) = (count() as usize, count() as usize, count() as usize);
        let units = count();
        let place = count();
        let accepted = count() as usize;
        let uses: Vec<Use> = serde_json::from_str(&text())?;
        let copies = serde_json::from_str(&text())?;
        jobs.push((
            JobRow {
                job,
                disposition,
                fix,
                verify,
                note,
                accepted,
                worst,
                files,
                reason,
                workbook: workbooks.next().flatten(),
                copies,
                about: JobAbout {
                    key,
                    number,
                    name,
                    submitted_by,
                    revision,
                    date,
                    units,
                    content,
                    superseded_by: None,
                },
            },
            Origin {
                set,
                place,
                title,
                name: name_given,
                inputs,
                outputs,
            },
            uses,
        ));
    }
    Ok(jobs)
}

fn rule_name(name: &str) -> Result<&'static str, ReportError> {
    rules::by_name(name).map(|rule| rule.name).ok_or_else(|| {
        ReportError::Unknown(format!(
            "\u{201c}{name}\u{201d} is no rule of this version; audit again"
        ))
    })
}

fn units(frame: &DataFrame) -> Result<Vec<UnitFact>, ReportError> {
    let rows = Rows::new(frame, "units.parquet");
    let mut text = Vec::new();
    for name in [
        "job",
        "job_key",
        "submitted_by",
        "file",
        "sheet",
        "cell",
        "tag",
        "dwelling",
        "kind",
        "model",
        "model_key",
        "volts",
        "dwelling_type",
    ] {
        text.push(rows.texts(name)?);
    }
    let mut number = Vec::new();
    for name in [
        "mca_a",
        "mca_second_a",
        "mop_a",
        "mop_second_a",
        "phases",
        "capacity_mbh",
        "heat_kw",
    ] {
        number.push(rows.numbers(name)?);
    }
    let mut listed = rows.column("listed")?.bool()?.iter();
    let units = (0..frame.height()).map(|_| {
        let mut texts = text
            .iter_mut()
            .map(|column| column.next().unwrap_or_default());
        let mut text = || texts.next().unwrap_or_default();
        let mut numbers = number.iter_mut().map(|column| column.next().flatten());
        let mut number = || numbers.next().flatten();
        UnitFact {
            job: text(),
            job_key: text(),
            submitted_by: text(),
            file: text(),
            sheet: text(),
            cell: text(),
            tag: text(),
            dwelling: text(),
            kind: text(),
            model: text(),
            model_key: text(),
            volts: text(),
            dwelling_type: text(),
            listed: listed.next().flatten().unwrap_or_default(),
            mca: [number(), number()],
            mop: [number(), number()],
            phases: number().map(|phases| phases as u32),
            capacity: number(),
            heat_kw: number(),
        }
    });
    Ok(units.collect())
}

fn systems(frame: &DataFrame) -> Result<Vec<SystemFact>, ReportError> {
    let rows = Rows::new(frame, "systems.parquet");
    let (mut job, mut key) = (rows.texts("job")?, rows.texts("job_key")?);
    let (mut system, mut units) = (rows.texts("system")?, rows.counts("units")?);
    let mut length = rows.numbers("bus_length_ft")?;
    let complete = rows.column("bus_length_complete")?.bool()?;
    let mut budget = rows.numbers("bus_budget_ft")?;
    let systems = complete.iter().map(|complete| SystemFact {
        job: job.next().unwrap_or_default(),
        job_key: key.next().unwrap_or_default(),
        system: system.next().unwrap_or_default(),
        units: units.next().unwrap_or_default(),
        length: length.next().flatten(),
        complete: complete.unwrap_or_default(),
        budget: budget.next().flatten(),
    });
    Ok(systems.collect())
}

/// A row of the tallies: place of the rule, outcome, what was wanting, count.
struct Counted {
    rule: &'static str,
    outcome: String,
    wants: String,
    subjects: u64,
}

fn tallies(frame: &DataFrame) -> Result<Vec<Counted>, ReportError> {
    let rows = Rows::new(frame, "tallies.parquet");
    let (mut outcomes, mut wants) = (rows.texts("outcome")?, rows.texts("wants")?);
    let mut subjects = rows.counts("subjects")?;
    rows.texts("rule")?
        .map(|rule| {
            Ok(Counted {
                rule: rule_name(&rule)?,
                outcome: outcomes.next().unwrap_or_default(),
                wants: wants.next().unwrap_or_default(),
                subjects: subjects.next().unwrap_or_default(),
            })
        })
        .collect()
}

/// One tally a rule, in the order of the registry, also of rules that had
/// nothing to look at.
fn by_rule(counted: &[Counted]) -> Vec<RuleTally> {
    let mut rest = counted.iter().peekable();
    rules::ALL
        .iter()
        .map(|rule| {
            let mut tally = RuleTally {
                rule: rule.name,
                met: 0,
                broken: 0,
                not_checked: Vec::new(),
            };
            while let Some(row) = rest.next_if(|row| row.rule == rule.name) {
                match row.outcome.as_str() {
                    MET => tally.met = row.subjects,
                    BROKEN => tally.broken = row.subjects,
                    NOT_CHECKED => tally.not_checked.push(NotCheckedTally {
                        wants: row.wants.clone(),
                        subjects: row.subjects,
                    }),
                    _ => {}
                }
            }
            tally
        })
        .collect()
}

fn takeoff(frame: &DataFrame) -> Result<Vec<Item>, ReportError> {
    let rows = Rows::new(frame, "takeoff.parquet");
    let (mut names, mut units) = (rows.texts("item")?, rows.texts("unit")?);
    let (mut scheduled, mut proposed) = (rows.numbers("scheduled")?, rows.numbers("proposed")?);
    let mut scheduled_open = rows.counts("scheduled_without_length")?;
    let mut proposed_open = rows.counts("proposed_without_length")?;
    let mut prices = rows.numbers("price")?;
    let (mut sizes, mut poles) = (rows.numbers("size_order")?, rows.numbers("pole_order")?);
    let quantity = |amount: Option<Option<f64>>, open: Option<u64>| Quantity {
        amount: amount.flatten().unwrap_or_default(),
        without_length: open.unwrap_or_default() as u32,
    };
    let place = |place: Option<Option<f64>>| place.flatten().unwrap_or_default() as i64;
    rows.texts("kind")?
        .map(|kind| {
            let unit = units.next().unwrap_or_default();
            Ok(Item {
                kind: Kind::ALL
                    .into_iter()
                    .find(|k| k.name() == kind)
                    .ok_or_else(|| {
                        rows.fault(format!("\u{201c}{kind}\u{201d} is no kind of item"))
                    })?,
                order: (place(sizes.next()), place(poles.next())),
                name: names.next().unwrap_or_default(),
                unit: UNITS.into_iter().find(|u| *u == unit).ok_or_else(|| {
                    rows.fault(format!("\u{201c}{unit}\u{201d} is no unit of an item"))
                })?,
                scheduled: quantity(scheduled.next(), scheduled_open.next()),
                proposed: quantity(proposed.next(), proposed_open.next()),
                price: prices.next().flatten(),
            })
        })
        .collect()
}
