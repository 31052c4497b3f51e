//! What of a job stays once its schedule has left memory: for rules across
//! jobs, for the sheets of a batch, and for a roll-up of many batches.

use super::ReportError;
use super::batch::JobRow;
use super::jobs::{Job, Sizes};
use super::record::Record;
use crate::findings::{Dwellings, RuleTally, Use};
use crate::schedule::number;
use crate::takeoff::Item;
use polars::prelude::*;
use serde::{Deserialize, Serialize};

mod read;

pub use read::{FactFrames, jobs_of};

/// What a job says of itself.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct JobAbout {
    /// The job's key; see [`crate::schedule::Schedule::key`].
    pub key: String,
    pub number: String,
    pub name: String,
    pub submitted_by: String,
    pub revision: String,
    /// As 2026-03-31; empty where it is not stated.
    pub date: String,
    pub units: u64,
    /// Hash over what the schedule says, whatever its layout.
    pub content: String,
    /// The file that holds the current submission of the same job; this one
    /// is out of totals.
    pub superseded_by: Option<String>,
}

/// A unit's nameplate as one job states it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct UnitFact {
    pub job: String,
    pub job_key: String,
    pub file: String,
    pub sheet: String,
    /// The tag's cell.
    pub cell: String,
    pub tag: String,
    pub dwelling: String,
    /// Its declared type; empty where it has none.
    pub dwelling_type: String,
    /// Its model stands in the user's own table of nameplates.
    pub listed: bool,
    pub kind: String,
    /// As written; empty where none is.
    pub model: String,
    /// What spellings of one model share.
    pub model_key: String,
    /// Amperes; the second where the nameplate gives two.
    pub mca: [Option<f64>; 2],
    pub mop: [Option<f64>; 2],
    /// `208/230`.
    pub volts: String,
    pub phases: Option<u32>,
    /// Thousands of BTU an hour.
    pub capacity: Option<f64>,
    pub heat_kw: Option<f64>,
    pub submitted_by: String,
}

/// A system's bus.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct SystemFact {
    pub job: String,
    pub job_key: String,
    pub system: String,
    pub units: u64,
    /// Feet of all runs with a known length.
    pub length: Option<f64>,
    /// Every run of it has a length.
    pub complete: bool,
    /// Feet.
    pub budget: Option<f64>,
}

/// All facts of one job.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct JobFacts {
    pub units: Vec<UnitFact>,
    pub systems: Vec<SystemFact>,
}

/// Where a job came from, and what was written for it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Origin {
    /// The first of the files that were audited together with it, and its
    /// place among their jobs: in this order names of files are given out.
    pub set: String,
    pub place: u64,
    /// What its files are named after, and the distinct name that was made
    /// of it among all jobs of the run.
    pub title: String,
    pub name: String,
    /// Hash over all that its outputs depend on; empty where a fault kept
    /// some of them from being written.
    pub inputs: String,
    /// Relative to the folder of the batch's, `/` between their parts. What
    /// is written for the whole set stands with the first of its jobs.
    pub outputs: Vec<String>,
}

/// All that stays of one job, before it is put away.
#[derive(Clone, Debug, PartialEq)]
pub struct JobResult {
    pub row: JobRow,
    pub origin: Origin,
    pub findings: Vec<Record>,
    pub facts: JobFacts,
    /// In the order of the registry.
    pub tallies: Vec<RuleTally>,
    /// What became of the acceptances that are about it.
    pub uses: Vec<Use>,
    /// What the job takes, as scheduled and as proposed.
    pub takeoff: Vec<Item>,
}

impl JobFacts {
    /// The dwellings of the job and their types.
    pub fn dwellings(&self) -> Dwellings {
        let units = self.units.iter();
        Dwellings::from_names(units.map(|u| (u.dwelling.as_str(), u.dwelling_type.as_str())))
    }
}

impl UnitFact {
    /// `31.4 A`, `42.7/46.7 A`; `None` where the unit states none. So for all
    /// of these.
    pub fn mca_text(&self) -> Option<String> {
        amps_text(self.mca)
    }

    pub fn mop_text(&self) -> Option<String> {
        amps_text(self.mop)
    }

    /// `208/230 V 1-phase`.
    pub fn supply_text(&self) -> Option<String> {
        if self.volts.is_empty() {
            return None;
        }
        Some(match self.phases {
            Some(phases) => format!("{} V {phases}-phase", self.volts),
            None => format!("{} V", self.volts),
        })
    }

    pub fn capacity_text(&self) -> Option<String> {
        self.capacity.map(|mbh| format!("{} MBH", number(mbh)))
    }

    /// One model with one heater: only such nameplates can be compared.
    pub fn nameplate_key(&self) -> String {
        match self.heat_kw {
            Some(kw) if kw > 0.0 => format!("{}|{}", self.model_key, number(kw)),
            _ => self.model_key.clone(),
        }
    }
}

fn amps_text(amps: [Option<f64>; 2]) -> Option<String> {
    match amps {
        [Some(one), None] => Some(format!("{} A", number(one))),
        [Some(one), Some(two)] => Some(format!("{}/{} A", number(one), number(two))),
        _ => None,
    }
}

fn texts<T>(rows: &[T], pick: impl Fn(&T) -> &str) -> Vec<&str> {
    rows.iter().map(pick).collect()
}

fn numbers<T>(rows: &[T], pick: impl Fn(&T) -> Option<f64>) -> Vec<Option<f64>> {
    rows.iter().map(pick).collect()
}

/// `jobs.parquet`: one row a job, in the order of the jobs. The last columns
/// say how many rows of the other files are the job's: all files hold the
/// jobs in this order.
///
/// # Errors
/// None but those of the library; so for all of these.
pub fn jobs(jobs: &[Job]) -> Result<DataFrame, ReportError> {
    let rows: Vec<&JobRow> = jobs.iter().map(Job::row).collect();
    let rows = rows.as_slice();
    let origin = |pick: fn(&Origin) -> &str| -> Vec<&str> {
        jobs.iter().map(|j| pick(j.origin())).collect()
    };
    let size = |pick: fn(Sizes) -> usize| -> Vec<u64> {
        jobs.iter().map(|j| pick(j.sizes()) as u64).collect()
    };
    let findings: Vec<u64> = jobs.iter().map(|j| j.finding_count() as u64).collect();
    let outputs: Vec<String> = jobs.iter().map(|j| j.origin().outputs.join("\n")).collect();
    let about = |pick: fn(&JobAbout) -> &str| -> Vec<&str> {
        rows.iter().map(|j| pick(&j.about)).collect()
    };
    let count =
        |pick: fn(&JobRow) -> usize| -> Vec<u64> { rows.iter().map(|j| pick(j) as u64).collect() };
    let files: Vec<String> = rows.iter().map(|j| j.files.join("\n")).collect();
    let worst =
        |pick: fn(&JobRow) -> &'static str| -> Vec<&str> { rows.iter().map(|j| pick(j)).collect() };
    let acceptances = jobs
        .iter()
        .map(|job| serde_json::to_string(job.uses()))
        .collect::<Result<Vec<String>, _>>()?;
    let copies = rows
        .iter()
        .map(|row| serde_json::to_string(&row.copies))
        .collect::<Result<Vec<String>, _>>()?;
    let superseded: Vec<Option<&str>> = rows
        .iter()
        .map(|j| j.about.superseded_by.as_deref())
        .collect();
    let columns = vec![
        Column::new("job".into(), texts(rows, |j| &j.job)),
        Column::new("job_key".into(), about(|a| &a.key)),
        Column::new("number".into(), about(|a| &a.number)),
        Column::new("name".into(), about(|a| &a.name)),
        Column::new("submitted_by".into(), about(|a| &a.submitted_by)),
        Column::new("revision".into(), about(|a| &a.revision)),
        Column::new("date".into(), about(|a| &a.date)),
        Column::new("disposition".into(), texts(rows, |j| j.disposition.name())),
        Column::new("fix".into(), count(|j| j.fix)),
        Column::new("verify".into(), count(|j| j.verify)),
        Column::new("note".into(), count(|j| j.note)),
        Column::new(
            "worst_severity".into(),
            worst(|j| j.worst.map_or("", |(severity, _)| severity.name())),
        ),
        Column::new(
            "worst_rule".into(),
            worst(|j| j.worst.map_or("", |(_, rule)| rule)),
        ),
        Column::new("files".into(), files),
        Column::new("reason".into(), texts(rows, |j| &j.reason)),
        Column::new(
            "workbook".into(),
            rows.iter()
                .map(|j| j.workbook.as_deref())
                .collect::<Vec<_>>(),
        ),
        Column::new(
            "units".into(),
            rows.iter().map(|j| j.about.units).collect::<Vec<_>>(),
        ),
        Column::new("content".into(), about(|a| &a.content)),
        Column::new("superseded_by".into(), superseded),
        Column::new("set".into(), origin(|o| &o.set)),
        Column::new(
            "place".into(),
            jobs.iter().map(|j| j.origin().place).collect::<Vec<_>>(),
        ),
        Column::new("file_title".into(), origin(|o| &o.title)),
        Column::new("file_name".into(), origin(|o| &o.name)),
        Column::new("inputs".into(), origin(|o| &o.inputs)),
        Column::new("outputs".into(), outputs),
        Column::new("findings_rows".into(), findings),
        Column::new("units_rows".into(), size(|s| s.units)),
        Column::new("systems_rows".into(), size(|s| s.systems)),
        Column::new("tallies_rows".into(), size(|s| s.tallies)),
        Column::new("takeoff_rows".into(), size(|s| s.takeoff)),
        Column::new("accepted".into(), count(|j| j.accepted)),
        Column::new("acceptances".into(), acceptances),
        Column::new("copies".into(), copies),
    ];
    Ok(DataFrame::new(rows.len(), columns)?)
}

/// `units.parquet`: one row a unit, in the order of the jobs and rows.
pub fn units(rows: &[UnitFact]) -> Result<DataFrame, ReportError> {
    let columns = vec![
        Column::new("job".into(), texts(rows, |u| &u.job)),
        Column::new("job_key".into(), texts(rows, |u| &u.job_key)),
        Column::new("submitted_by".into(), texts(rows, |u| &u.submitted_by)),
        Column::new("file".into(), texts(rows, |u| &u.file)),
        Column::new("sheet".into(), texts(rows, |u| &u.sheet)),
        Column::new("cell".into(), texts(rows, |u| &u.cell)),
        Column::new("tag".into(), texts(rows, |u| &u.tag)),
        Column::new("dwelling".into(), texts(rows, |u| &u.dwelling)),
        Column::new("kind".into(), texts(rows, |u| &u.kind)),
        Column::new("model".into(), texts(rows, |u| &u.model)),
        Column::new("model_key".into(), texts(rows, |u| &u.model_key)),
        Column::new("mca_a".into(), numbers(rows, |u| u.mca[0])),
        Column::new("mca_second_a".into(), numbers(rows, |u| u.mca[1])),
        Column::new("mop_a".into(), numbers(rows, |u| u.mop[0])),
        Column::new("mop_second_a".into(), numbers(rows, |u| u.mop[1])),
        Column::new("volts".into(), texts(rows, |u| &u.volts)),
        Column::new(
            "phases".into(),
            rows.iter().map(|u| u.phases).collect::<Vec<_>>(),
        ),
        Column::new("capacity_mbh".into(), numbers(rows, |u| u.capacity)),
        Column::new("heat_kw".into(), numbers(rows, |u| u.heat_kw)),
        Column::new("dwelling_type".into(), texts(rows, |u| &u.dwelling_type)),
        Column::new(
            "listed".into(),
            rows.iter().map(|u| u.listed).collect::<Vec<_>>(),
        ),
    ];
    Ok(DataFrame::new(rows.len(), columns)?)
}

/// `systems.parquet`: one row a system.
pub fn systems(rows: &[SystemFact]) -> Result<DataFrame, ReportError> {
    let columns = vec![
        Column::new("job".into(), texts(rows, |s| &s.job)),
        Column::new("job_key".into(), texts(rows, |s| &s.job_key)),
        Column::new("system".into(), texts(rows, |s| &s.system)),
        Column::new(
            "units".into(),
            rows.iter().map(|s| s.units).collect::<Vec<_>>(),
        ),
        Column::new("bus_length_ft".into(), numbers(rows, |s| s.length)),
        Column::new(
            "bus_length_complete".into(),
            rows.iter().map(|s| s.complete).collect::<Vec<_>>(),
        ),
        Column::new("bus_budget_ft".into(), numbers(rows, |s| s.budget)),
    ];
    Ok(DataFrame::new(rows.len(), columns)?)
}

/// How often a rule came to one outcome in a job.
pub struct TallyRow {
    job: String,
    job_key: String,
    rule: &'static str,
    outcome: &'static str,
    /// What was wanting; empty but for what could not be checked.
    wants: String,
    subjects: u64,
}

/// What was counted at all in a job.
pub fn tally_rows(job: Job) -> Result<Vec<TallyRow>, ReportError> {
    let about = job.row();
    let mut rows = Vec::new();
    for tally in job.tallies()? {
        let sums = [(MET, tally.met), (BROKEN, tally.broken)];
        let sums = sums.map(|(outcome, count)| (outcome, String::new(), count));
        let missing = tally.not_checked.into_iter();
        let missing = missing.map(|missing| (NOT_CHECKED, missing.wants, missing.subjects));
        let all = sums.into_iter().chain(missing);
        rows.extend(
            all.filter(|(.., count)| *count > 0)
                .map(|(outcome, wants, subjects)| TallyRow {
                    job: about.job.clone(),
                    job_key: about.about.key.clone(),
                    rule: tally.rule,
                    outcome,
                    wants,
                    subjects,
                }),
        );
    }
    Ok(rows)
}

const MET: &str = "met";
const BROKEN: &str = "broken";
const NOT_CHECKED: &str = "not checked";

/// `tallies.parquet`: one row for each job, rule and outcome; `wants` is
/// empty but for what could not be checked.
pub fn tallies(rows: &[TallyRow]) -> Result<DataFrame, ReportError> {
    let subjects: Vec<u64> = rows.iter().map(|t| t.subjects).collect();
    let columns = vec![
        Column::new("job".into(), texts(rows, |t| &t.job)),
        Column::new("job_key".into(), texts(rows, |t| &t.job_key)),
        Column::new("rule".into(), texts(rows, |t| t.rule)),
        Column::new("outcome".into(), texts(rows, |t| t.outcome)),
        Column::new("wants".into(), texts(rows, |t| &t.wants)),
        Column::new("subjects".into(), subjects),
    ];
    Ok(DataFrame::new(rows.len(), columns)?)
}

/// What a job takes.
pub fn takeoff_rows(job: Job<'_>) -> Result<Vec<(&JobRow, Item)>, ReportError> {
    let items = job.takeoff()?.into_iter();
    Ok(items.map(|item| (job.row(), item)).collect())
}

/// `takeoff.parquet`: one row for each job and item.
pub fn takeoff(rows: &[(&JobRow, Item)]) -> Result<DataFrame, ReportError> {
    fn column<'a, R, T>(rows: &'a [R], pick: impl Fn(&'a R) -> T) -> Vec<T> {
        rows.iter().map(pick).collect()
    }
    let columns = vec![
        Column::new("job".into(), column(rows, |(job, _)| job.job.as_str())),
        Column::new(
            "job_key".into(),
            column(rows, |(job, _)| job.about.key.as_str()),
        ),
        Column::new("kind".into(), column(rows, |(_, i)| i.kind.name())),
        Column::new("item".into(), column(rows, |(_, i)| i.name.as_str())),
        Column::new("unit".into(), column(rows, |(_, i)| i.unit)),
        Column::new(
            "scheduled".into(),
            column(rows, |(_, i)| i.scheduled.amount),
        ),
        Column::new("proposed".into(), column(rows, |(_, i)| i.proposed.amount)),
        Column::new(
            "scheduled_without_length".into(),
            column(rows, |(_, i)| i.scheduled.without_length),
        ),
        Column::new(
            "proposed_without_length".into(),
            column(rows, |(_, i)| i.proposed.without_length),
        ),
        Column::new("price".into(), column(rows, |(_, i)| i.price)),
        Column::new("size_order".into(), column(rows, |(_, i)| i.order.0)),
        Column::new("pole_order".into(), column(rows, |(_, i)| i.order.1)),
    ];
    Ok(DataFrame::new(rows.len(), columns)?)
}
