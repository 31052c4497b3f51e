//! One model, different nameplate values.

use super::MODEL_DISAGREES;
use crate::findings::{RuleTally, Severity, finding_id};
use crate::report::ReportError;
use crate::report::batch::JobRow;
use crate::report::facts::UnitFact;
use crate::report::jobs::{Job, Jobs};
use crate::report::record::{Record, Spot};
use crate::schedule::{Amps, Quantity, number, voltage_class};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::hash::{Hash, Hasher};

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

/// A model, as units are compared by, and what of it is stated.
type Question = (String, What);

/// What one job says in answer: the text, the first unit with it, and how
/// many units have it.
struct Said {
    text: String,
    unit: UnitFact,
    units: usize,
}

/// What a job says, in the order of its units.
fn said_by(job: Job, asked: impl Fn(&Question) -> bool) -> Result<Sayings, ReportError> {
    let mut sayings = Sayings::new();
    // The user's own table outranks the majority: a rule of the job says so.
    let open = |unit: &UnitFact| !unit.model_key.is_empty() && !unit.listed;
    for unit in job.facts()?.units.into_iter().filter(open) {
        let model = unit.nameplate_key();
        for what in What::ALL {
            let question = (model.clone(), what);
            let Some(text) = what.said(&unit).filter(|_| asked(&question)) else {
                continue;
            };
            let said = sayings.entry(question).or_default();
            match said.iter_mut().find(|said| said.text == text) {
                Some(known) => known.units += 1,
                None => said.push(Said {
                    text,
                    unit: unit.clone(),
                    units: 1,
                }),
            }
        }
    }
    Ok(sayings)
}

type Sayings = BTreeMap<Question, Vec<Said>>;

/// One answer, and who gives it.
struct Answer {
    text: String,
    /// The first unit with it.
    unit: UnitFact,
    /// The jobs that give it, rising.
    jobs: Vec<usize>,
    /// Where the first of them give it, and the how-many-th answer each is.
    spots: Vec<(usize, Spot)>,
}

/// All answers to one question.
struct Case {
    what: What,
    /// Those that most jobs give first.
    answers: Vec<Answer>,
    /// How many answers were given, and by how many jobs.
    given: usize,
    jobs: usize,
    last: Option<usize>,
}

impl Case {
    fn new(what: What) -> Self {
        Self {
            what,
            answers: Vec::new(),
            given: 0,
            jobs: 0,
            last: None,
        }
    }

    fn add(&mut self, job: usize, said: Said) {
        if self.last != Some(job) {
            self.last = Some(job);
            self.jobs += 1;
        }
        let spot = spot(&said.unit);
        let nth = self.given;
        self.given += 1;
        match self.answers.iter_mut().find(|a| a.text == said.text) {
            Some(answer) => {
                answer.jobs.push(job);
                if answer.spots.len() < NAMED {
                    answer.spots.push((nth, spot));
                }
            }
            None => self.answers.push(Answer {
                text: said.text,
                unit: said.unit,
                jobs: vec![job],
                spots: vec![(nth, spot)],
            }),
        }
    }

    /// Puts the answers in their order.
    fn rank(&mut self) {
        self.answers
            .sort_by(|a, b| (b.jobs.len().cmp(&a.jobs.len())).then_with(|| a.text.cmp(&b.text)));
    }
}

/// Models that more than one job names, by a number for each: a season names
/// many models once, and nothing can disagree there.
fn named_by_several(jobs: &Jobs) -> Result<BTreeSet<u64>, ReportError> {
    let mut first: HashMap<u64, usize> = HashMap::new();
    let mut several = BTreeSet::new();
    for (at, job) in jobs.iter().enumerate().filter(|(_, job)| job.counts()) {
        for unit in job.facts()?.units {
            let model = number_of(&unit.nameplate_key());
            if *first.entry(model).or_insert(at) != at {
                several.insert(model);
            }
        }
    }
    Ok(several)
}

fn number_of(model: &str) -> u64 {
    let mut hasher = std::hash::DefaultHasher::new();
    model.hash(&mut hasher);
    hasher.finish()
}

/// Judges all models; see [`super::RULES`].
///
/// # Errors
/// As [`Job::facts`].
pub(super) fn judge(jobs: &mut Jobs) -> Result<RuleTally, ReportError> {
    let several = named_by_several(jobs)?;
    let mut cases: BTreeMap<Question, Case> = BTreeMap::new();
    for (at, job) in jobs.iter().enumerate().filter(|(_, job)| job.counts()) {
        for (question, said) in said_by(job, |q| several.contains(&number_of(&q.0)))? {
            let what = question.1;
            let case = cases.entry(question).or_insert_with(|| Case::new(what));
            said.into_iter().for_each(|said| case.add(at, said));
        }
    }
    cases.retain(|_, case| case.jobs > 1);
    let (mut met, mut broken) = (0, 0);
    // Jobs that give an answer which is asked about.
    let mut asked: BTreeSet<usize> = BTreeSet::new();
    for case in cases.values_mut() {
        case.rank();
        for answer in &case.answers {
            if case.is_asked(answer) {
                broken += answer.jobs.len();
                asked.extend(&answer.jobs);
            } else {
                met += answer.jobs.len();
            }
        }
    }
    let mut found: Vec<(usize, Record)> = Vec::new();
    for at in asked {
        let Some(job) = jobs.get(at) else { continue };
        for (question, said) in said_by(job, |question| cases.contains_key(question))? {
            let Some(case) = cases.get(&question) else {
                continue;
            };
            let told = Told {
                jobs,
                subject: &question.0,
                case,
            };
            let answers = said
                .iter()
                .filter_map(|said| Some((said, case.answer(&said.text)?)));
            let broken = answers.filter(|(_, answer)| case.is_asked(answer));
            found.extend(broken.enumerate().map(|(nth, (said, answer))| {
                (at, told.record(job.row(), said, answer, nth as u32))
            }));
        }
    }
    for (job, record) in found {
        jobs.add(job, record);
    }
    Ok(RuleTally {
        met: met as u64,
        broken: broken as u64,
        ..RuleTally::new(MODEL_DISAGREES)
    })
}

impl Case {
    fn answer(&self, text: &str) -> Option<&Answer> {
        self.answers.iter().find(|answer| answer.text == text)
    }

    fn differ(&self, a: &Answer, b: &Answer) -> bool {
        !self.what.agree(&a.unit, &b.unit)
    }

    /// The answer that most jobs give, unless another that disagrees with it
    /// is given by as many.
    fn majority(&self) -> Option<&Answer> {
        let top = self.answers.first()?;
        let rivals = self.answers.iter().skip(1);
        let tied = rivals
            .take_while(|rival| rival.jobs.len() == top.jobs.len())
            .any(|rival| self.differ(top, rival));
        (!tied).then_some(top)
    }

    /// Whether a job that says this is asked: it disagrees with the majority,
    /// or with anybody where there is none.
    fn is_asked(&self, answer: &Answer) -> bool {
        match self.majority() {
            Some(most) => self.differ(most, answer),
            None => self.answers.iter().any(|other| self.differ(other, answer)),
        }
    }
}

/// A case, and what is said of it to a job.
struct Told<'a> {
    jobs: &'a Jobs<'a>,
    subject: &'a str,
    case: &'a Case,
}

impl Told<'_> {
    fn record(&self, row: &JobRow, said: &Said, answer: &Answer, ordinal: u32) -> Record {
        let case = self.case;
        let (unit, what, total) = (&said.unit, case.what.name(), case.jobs);
        let differing: Vec<&Answer> = case
            .answers
            .iter()
            .filter(|other| case.differ(other, answer))
            .collect();
        let others: Vec<String> = differing.iter().map(|other| self.named(other)).collect();
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
        let limit = match case.majority() {
            Some(most) => format!("{} (in {} of {total} jobs)", most.text, most.jobs.len()),
            None => format!("no value has the most of {total} jobs"),
        };
        // The first that were given, whichever answer they are.
        let mut spots: Vec<&(usize, Spot)> = differing.iter().flat_map(|a| &a.spots).collect();
        spots.sort_by_key(|(nth, _)| *nth);
        let related = spots.into_iter().take(NAMED).map(|(_, spot)| spot.clone());
        let at = spot(unit);
        Record {
            job: row.job.clone(),
            job_key: row.about.key.clone(),
            file: at.file,
            sheet: at.sheet,
            cell: at.cell,
            subject: format!("model {model}"),
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
                case.what.field(),
                ordinal,
            ),
            related: related.collect(),
            ..Record::of(MODEL_DISAGREES, Severity::Verify)
        }
    }

    /// `34 A in 5 jobs (Elm 1, Elm 2, …)`.
    fn named(&self, answer: &Answer) -> String {
        let rows = answer.jobs.iter().filter_map(|at| self.jobs.get(*at));
        let named: Vec<&str> = rows.take(NAMED).map(|job| job.row().job.as_str()).collect();
        let more = match answer.jobs.len() > NAMED {
            true => ", \u{2026}",
            false => "",
        };
        let counted = match answer.jobs.len() {
            1 => "1 job".to_owned(),
            jobs => format!("{jobs} jobs"),
        };
        format!("{} in {counted} ({}{more})", answer.text, named.join(", "))
    }
}

fn spot(unit: &UnitFact) -> Spot {
    Spot {
        file: unit.file.clone(),
        sheet: unit.sheet.clone(),
        cell: unit.cell.clone(),
    }
}
