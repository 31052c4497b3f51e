//! The sheet *Models*: what the jobs say of each model's nameplate.

use crate::findings::Severity;
use crate::report::ReportError;
use crate::report::facts::UnitFact;
use crate::report::jobs::Jobs;
use crate::report::page::{Cell, Column};
use crate::schedule::number;
use std::collections::{BTreeMap, BTreeSet};

pub(super) const COLUMNS: [Column; 10] = [
    ("Model", 22.0),
    ("Heater", 10.0),
    ("Kind", 16.0),
    ("Units", 8.0),
    ("Jobs", 8.0),
    ("MCA", 24.0),
    ("MOP", 24.0),
    ("Voltage", 30.0),
    ("Capacity", 24.0),
    ("Disagreement", 44.0),
];

/// The rule whose findings stand in the last column.
const RULE: &str = "model-disagrees";

pub(super) fn leads() -> Vec<String> {
    vec![
        "What the current jobs say of each model. Where values differ, the number of jobs that state each stands behind it; the nameplate decides, not the majority."
            .to_owned(),
    ]
}

#[derive(Default)]
struct Model {
    first: Option<UnitFact>,
    units: u64,
    jobs: BTreeSet<usize>,
    /// MCA, MOP, voltage, capacity: each value with the jobs that state it.
    values: [BTreeMap<String, BTreeSet<usize>>; 4],
    disagrees: BTreeSet<usize>,
}

pub(super) fn rows(jobs: &Jobs) -> Result<Vec<Vec<Cell>>, ReportError> {
    let mut models: BTreeMap<String, Model> = BTreeMap::new();
    for (at, job) in jobs.iter().enumerate().filter(|(_, job)| job.counts()) {
        let asked: BTreeSet<String> = job
            .findings()?
            .into_iter()
            .filter(|finding| finding.rule == RULE)
            .map(|finding| finding.subject)
            .collect();
        let units = job.facts()?.units.into_iter();
        for unit in units.filter(|unit| !unit.model_key.is_empty()) {
            let model = models.entry(unit.nameplate_key()).or_default();
            model.units += 1;
            model.jobs.insert(at);
            let said = [
                unit.mca_text(),
                unit.mop_text(),
                unit.supply_text(),
                unit.capacity_text(),
            ];
            for (values, text) in model.values.iter_mut().zip(said) {
                if let Some(text) = text {
                    values.entry(text).or_default().insert(at);
                }
            }
            if asked.contains(&format!("model {}", unit.model)) {
                model.disagrees.insert(at);
            }
            model.first.get_or_insert(unit);
        }
    }
    let mut rows: Vec<(bool, Vec<Cell>)> = models
        .values()
        .map(|model| (model.disagrees.is_empty(), row(jobs, model)))
        .collect();
    // Those to be asked about first; stable, so else by model.
    rows.sort_by_key(|(agrees, _)| *agrees);
    Ok(rows.into_iter().map(|(_, row)| row).collect())
}

fn row(jobs: &Jobs, model: &Model) -> Vec<Cell> {
    let unit = model.first.as_ref();
    let heater = unit.and_then(|unit| unit.heat_kw).filter(|kw| *kw > 0.0);
    let mut row = vec![
        Cell::text(unit.map_or("", |unit| &unit.model)),
        Cell::text(heater.map_or_else(String::new, |kw| format!("{} kW", number(kw)))),
        Cell::text(unit.map_or("", |unit| &unit.kind)),
        Cell::Count(model.units),
        Cell::Count(model.jobs.len() as u64),
    ];
    row.extend(model.values.iter().map(|values| Cell::text(said(values))));
    let named: Vec<&str> = model
        .disagrees
        .iter()
        .filter_map(|at| jobs.get(*at))
        .map(|job| job.row().job.as_str())
        .collect();
    row.push(match named.is_empty() {
        true => Cell::text(""),
        false => Cell::Tint(Severity::Verify, format!("verify in {}", named.join(", "))),
    });
    row
}

/// `31.4 A`, or `31.4 A (5 jobs)` and `34 A (1 job)`, the most first.
fn said(values: &BTreeMap<String, BTreeSet<usize>>) -> String {
    if let (1, Some((text, _))) = (values.len(), values.first_key_value()) {
        return text.clone();
    }
    let mut ranked: Vec<(&String, usize)> = values
        .iter()
        .map(|(text, jobs)| (text, jobs.len()))
        .collect();
    ranked.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(b.0)));
    let texts: Vec<String> = ranked
        .into_iter()
        .map(|(text, jobs)| format!("{text} ({})", crate::report::counted(jobs, "job", "jobs")))
        .collect();
    texts.join("\n")
}
