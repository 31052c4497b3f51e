//! One model, different nameplate values.

use super::MODEL_DISAGREES;
use crate::findings::{RuleTally, Severity, finding_id};
use crate::report::ReportError;
use crate::report::facts::{JobResult, UnitFact};
use crate::report::record::{Record, Spot};
use crate::schedule::{Amps, Quantity, number, voltage_class};
use polars::prelude::*;
use std::collections::BTreeMap;

/// Jobs that a finding names.
const NAMED: usize = 6;
const SLACK: f64 = 1e-9;
/// Capacities are rounded in more ways than nameplates are.
const CAPACITY_SLACK: f64 = 0.02;

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum What {
    Mca,
    Mop,
    Voltage,
    Capacity,
}

impl What {
    const ALL: [Self; 4] = [Self::Mca, Self::Mop, Self::Voltage, Self::Capacity];

    fn name(self) -> &'static str {
        match self {
            Self::Mca => "MCA",
            Self::Mop => "MOP",
            Self::Voltage => "voltage",
            Self::Capacity => "capacity",
        }
    }

    fn field(self) -> &'static str {
        match self {
            Self::Mca => "unit.mca",
            Self::Mop => "unit.mop",
            Self::Voltage => "unit.supply",
            Self::Capacity => "unit.capacity",
        }
    }

    /// The value as printed; `None` where the unit states none.
    fn said(self, unit: &UnitFact) -> Option<String> {
        match self {
            // A row that contradicts itself is a finding of its own job.
            Self::Mca | Self::Mop if contradicts_itself(unit) => None,
            Self::Mca => unit.mca_text(),
            Self::Mop => unit.mop_text(),
            Self::Voltage => unit.supply_text(),
            Self::Capacity => unit.capacity_text(),
        }
    }

    /// Whether two units of one model may both be right.
    fn agree(self, a: &UnitFact, b: &UnitFact) -> bool {
        match self {
            Self::Mca => amps_agree(a.mca, b.mca, a, b),
            Self::Mop => amps_agree(a.mop, b.mop, a, b),
            Self::Voltage => {
                let (left, right) = (classes(a), classes(b));
                let volts = left.iter().any(|class| right.contains(class));
                let phases = match (a.phases, b.phases) {
                    (Some(a), Some(b)) => a == b,
                    _ => true,
                };
                volts && phases
            }
            Self::Capacity => match (a.capacity, b.capacity) {
                (Some(a), Some(b)) => (a - b).abs() <= CAPACITY_SLACK * a.abs().max(b.abs()),
                _ => true,
            },
        }
    }
}

/// Its MCA is above its MOP: swapped or wrong, the job's own rule says so.
fn contradicts_itself(unit: &UnitFact) -> bool {
    let least = unit.mca.into_iter().flatten().fold(f64::INFINITY, f64::min);
    let most = unit
        .mop
        .into_iter()
        .flatten()
        .fold(f64::NEG_INFINITY, f64::max);
    most.is_finite() && least.is_finite() && Amps(least).exceeds(Amps(most))
}

fn volts(unit: &UnitFact) -> Vec<u16> {
    unit.volts
        .split('/')
        .filter_map(|volts| volts.parse().ok())
        .collect()
}

fn classes(unit: &UnitFact) -> Vec<u16> {
    volts(unit).into_iter().map(voltage_class).collect()
}

fn amps_agree(left: [Option<f64>; 2], right: [Option<f64>; 2], a: &UnitFact, b: &UnitFact) -> bool {
    let same = |x: f64, y: f64| (x - y).abs() <= SLACK * x.abs().max(y.abs());
    let shared = left
        .iter()
        .flatten()
        .any(|x| right.iter().flatten().any(|y| same(*x, *y)));
    // A nameplate for 208/230 V may be quoted at 208 V here, at 230 V there.
    let (here, there) = (volts(a), volts(b));
    let apart = !here.is_empty() && !there.is_empty() && !here.iter().any(|v| there.contains(v));
    shared || apart
}

/// What one job says of one field of a model: the text, and a unit with it.
struct Said<'a> {
    job: usize,
    text: String,
    unit: &'a UnitFact,
    /// Units of the job with this value.
    units: usize,
}

type Sayings<'a> = BTreeMap<(String, What), Vec<Said<'a>>>;

fn sayings(jobs: &[JobResult]) -> Sayings<'_> {
    let mut sayings = Sayings::new();
    for (at, job) in jobs.iter().enumerate() {
        if !job.counts() {
            continue;
        }
        // The user's own table outranks the majority: a rule of the job says so.
        let open = |unit: &&UnitFact| !unit.model_key.is_empty() && !unit.listed;
        for unit in job.facts.units.iter().filter(open) {
            for what in What::ALL {
                let Some(text) = what.said(unit) else {
                    continue;
                };
                let said = sayings.entry((unit.nameplate_key(), what)).or_default();
                match said.iter_mut().find(|s| s.job == at && s.text == text) {
                    Some(known) => known.units += 1,
                    None => said.push(Said {
                        job: at,
                        text,
                        unit,
                        units: 1,
                    }),
                }
            }
        }
    }
    sayings
}

/// By model and field: values, and how many jobs state each.
type Votes = BTreeMap<(String, What), Vec<(String, u64)>>;

/// How many jobs state each value: model, field, value, jobs; the most first.
fn votes(sayings: &Sayings) -> Result<Votes, ReportError> {
    let (mut model, mut field, mut text, mut job) = (vec![], vec![], vec![], vec![]);
    for ((subject, what), said) in sayings {
        for one in said {
            model.push(subject.as_str());
            field.push(what.name());
            text.push(one.text.as_str());
            job.push(one.job as u32);
        }
    }
    let columns = vec![
        Column::new("model".into(), &model),
        Column::new("field".into(), &field),
        Column::new("value".into(), &text),
        Column::new("job".into(), &job),
    ];
    let counted = DataFrame::new(model.len(), columns)?
        .lazy()
        .group_by([col("model"), col("field"), col("value")])
        .agg([col("job").n_unique().alias("jobs")])
        .sort(
            ["model", "field", "jobs", "value"],
            SortMultipleOptions::default().with_order_descending_multi([false, false, true, false]),
        )
        .collect()?;
    let jobs = counted.column("jobs")?.cast(&DataType::UInt64)?;
    let rows = counted
        .column("model")?
        .str()?
        .iter()
        .zip(counted.column("field")?.str()?.iter())
        .zip(
            counted
                .column("value")?
                .str()?
                .iter()
                .zip(jobs.u64()?.iter()),
        );
    let mut votes = Votes::new();
    for ((model, field), (value, jobs)) in rows {
        let what = What::ALL.into_iter().find(|w| Some(w.name()) == field);
        if let (Some(model), Some(what), Some(value), Some(jobs)) = (model, what, value, jobs) {
            let key = (model.to_owned(), what);
            votes.entry(key).or_default().push((value.to_owned(), jobs));
        }
    }
    Ok(votes)
}

pub(super) fn judge(jobs: &mut [JobResult]) -> Result<RuleTally, ReportError> {
    let mut met = 0;
    let mut found: Vec<(usize, Record)> = Vec::new();
    {
        let sayings = sayings(jobs);
        let votes = votes(&sayings)?;
        for ((subject, what), said) in &sayings {
            let first = said.first().map(|s| s.job);
            if said.iter().all(|s| Some(s.job) == first) {
                continue;
            }
            let ranked = votes.get(&(subject.clone(), *what));
            let case = Case {
                jobs,
                subject,
                what: *what,
                said,
                ranked: ranked.map_or(&[][..], Vec::as_slice),
            };
            let broken = case.broken();
            met += (said.len() - broken.len()) as u64;
            found.extend(broken);
        }
    }
    let broken = found.len() as u64;
    for (job, record) in found {
        if let Some(job) = jobs.get_mut(job) {
            job.findings.push(record);
        }
    }
    Ok(RuleTally {
        rule: MODEL_DISAGREES,
        met,
        broken,
        not_checked: Vec::new(),
    })
}

/// One field of one model, named by several jobs.
struct Case<'a> {
    jobs: &'a [JobResult],
    subject: &'a str,
    what: What,
    said: &'a [Said<'a>],
    /// Values and how many jobs state them, the most first.
    ranked: &'a [(String, u64)],
}

impl Case<'_> {
    fn unit(&self, text: &str) -> Option<&UnitFact> {
        let said = self.said.iter().find(|said| said.text == text);
        said.map(|said| said.unit)
    }

    fn differ(&self, a: &str, b: &str) -> bool {
        match (self.unit(a), self.unit(b)) {
            (Some(a), Some(b)) => !self.what.agree(a, b),
            _ => false,
        }
    }

    /// The value that most jobs state, unless another that disagrees with it
    /// is stated by as many.
    fn majority(&self) -> Option<&(String, u64)> {
        let top = self.ranked.first()?;
        let rival = self.ranked.iter().skip(1);
        let tied = rival
            .take_while(|(_, jobs)| *jobs == top.1)
            .any(|(text, _)| self.differ(&top.0, text));
        (!tied).then_some(top)
    }

    fn broken(&self) -> Vec<(usize, Record)> {
        let majority = self.majority();
        let mut ordinals: BTreeMap<usize, u32> = BTreeMap::new();
        self.said
            .iter()
            .filter(|said| match majority {
                Some((text, _)) => self.differ(text, &said.text),
                None => self
                    .ranked
                    .iter()
                    .any(|(text, _)| self.differ(text, &said.text)),
            })
            .filter_map(|said| {
                let ordinal = ordinals.entry(said.job).or_default();
                let record = self.record(said, majority, *ordinal)?;
                *ordinal += 1;
                Some((said.job, record))
            })
            .collect()
    }

    fn record(
        &self,
        said: &Said,
        majority: Option<&(String, u64)>,
        ordinal: u32,
    ) -> Option<Record> {
        let row = &self.jobs.get(said.job)?.row;
        let (unit, what) = (said.unit, self.what.name());
        let total = {
            let jobs: std::collections::BTreeSet<usize> =
                self.said.iter().map(|said| said.job).collect();
            jobs.len()
        };
        let others = self.others(&said.text);
        let more = match said.units {
            1 => String::new(),
            units => format!(" and {} more", units - 1),
        };
        let heater = match unit.heat_kw {
            Some(kw) if kw > 0.0 => format!(" with {} kW of heat", number(kw)),
            _ => String::new(),
        };
        let model = &unit.model;
        let message = format!(
            "Model {model}{heater} has {what} {} in this job ({}{more}); elsewhere {}.",
            said.text,
            unit.tag,
            others.join("; ")
        );
        let limit = match majority {
            Some((text, jobs)) => format!("{text} (in {jobs} of {total} jobs)"),
            None => format!("no value has the most of {total} jobs"),
        };
        let related = self
            .said
            .iter()
            .filter(|other| self.differ(&other.text, &said.text))
            .map(|other| spot(other.unit))
            .take(NAMED)
            .collect();
        let at = spot(unit);
        Some(Record {
            job: row.job.clone(),
            job_key: row.about.key.clone(),
            file: at.file,
            sheet: at.sheet,
            cell: at.cell,
            subject: format!("model {model}"),
            dwelling: String::new(),
            rule: MODEL_DISAGREES.to_owned(),
            severity: Severity::Verify,
            message,
            found: said.text.clone(),
            limit,
            remedy: format!(
                "Read {what} on the nameplate or in the maker's data of {model}, and correct the schedule that is wrong."
            ),
            source: "nameplate of the unit; the other jobs of this batch".to_owned(),
            id: finding_id(
                &row.about.key,
                MODEL_DISAGREES,
                &format!("model:{}", self.subject),
                self.what.field(),
                ordinal,
            ),
            related,
            changes: Vec::new(),
            dwelling_type: String::new(),
            accepted_by: String::new(),
            accepted_reason: String::new(),
            accepted_until: String::new(),
            since: String::new(),
        })
    }

    /// `34 A in 5 jobs (Elm 1, Elm 2, …)`, for each value that differs.
    fn others(&self, own: &str) -> Vec<String> {
        self.ranked
            .iter()
            .filter(|(text, _)| self.differ(text, own))
            .map(|(text, jobs)| {
                let mut named: Vec<&str> = Vec::new();
                for said in self.said.iter().filter(|said| said.text == *text) {
                    if let Some(job) = self.jobs.get(said.job) {
                        named.push(&job.row.job);
                    }
                }
                let more = match named.len() > NAMED {
                    true => ", \u{2026}",
                    false => "",
                };
                named.truncate(NAMED);
                let counted = match jobs {
                    1 => "1 job".to_owned(),
                    jobs => format!("{jobs} jobs"),
                };
                format!("{text} in {counted} ({}{more})", named.join(", "))
            })
            .collect()
    }
}

fn spot(unit: &UnitFact) -> Spot {
    Spot {
        file: unit.file.clone(),
        sheet: unit.sheet.clone(),
        cell: unit.cell.clone(),
    }
}
