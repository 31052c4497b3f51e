//! Takes from a job what stays once its schedule has left memory.

use crate::findings::{Audit, Outcome, Severity, Subject, Use, Value, Verdict};
use crate::practice::Nameplates;
use crate::report::batch::JobRow;
use crate::report::facts::{JobAbout, JobFacts, JobResult, Origin, SystemFact, UnitFact};
use crate::report::record::Record;
use crate::schedule::{Field, Name, NameplateAmps, Schedule, SystemId, Unit, UnitId};
use sha2::{Digest, Sha256};

/// What the job says of itself.
pub(super) fn about(schedule: &Schedule) -> JobAbout {
    let facts = &schedule.facts;
    let text = |field: &Field<String>| field.get().cloned().unwrap_or_default();
    JobAbout {
        key: schedule.key.clone(),
        number: text(&facts.number),
        name: text(&facts.name),
        submitted_by: text(&facts.submitted_by),
        revision: text(&facts.revision),
        date: facts
            .date
            .get()
            .map_or_else(String::new, ToString::to_string),
        units: schedule.audited_units().count() as u64,
        content: content(schedule),
        superseded_by: None,
    }
}

/// Its units and systems, in the order of the schedule.
pub(super) fn facts(schedule: &Schedule, audit: &Audit, listed: &Nameplates) -> JobFacts {
    JobFacts {
        units: schedule
            .audited_units()
            .map(|(id, unit)| UnitFact {
                listed: listed.for_unit(unit).is_some(),
                ..unit_fact(schedule, id, unit)
            })
            .collect(),
        systems: schedule
            .system_ids()
            .map(|(id, _)| system_fact(schedule, audit, id))
            .collect(),
    }
}

fn unit_fact(schedule: &Schedule, id: UnitId, unit: &Unit) -> UnitFact {
    let address = schedule.sources.address(unit.tag.at.into());
    let supply = unit.supply.get();
    let model = unit.model.get().cloned().unwrap_or_default();
    UnitFact {
        job: schedule.title.clone(),
        job_key: schedule.key.clone(),
        file: address.file,
        sheet: address.sheet,
        cell: address.cell,
        tag: schedule.unit_label(id),
        dwelling: unit.dwelling.get().map_or("", Name::text).to_owned(),
        dwelling_type: unit.dwelling_type.get().map_or("", Name::text).to_owned(),
        listed: false,
        kind: unit.kind().map_or_else(String::new, |k| k.to_string()),
        model_key: Name::new(&model).key().to_owned(),
        model,
        mca: both(unit.mca.copied()),
        mop: both(unit.mop.copied().map(|mop| mop.amps)),
        volts: supply.map_or_else(String::new, |supply| {
            let volts: Vec<String> = supply.volts.iter().map(u16::to_string).collect();
            volts.join("/")
        }),
        phases: supply.and_then(|supply| supply.phases).map(u32::from),
        capacity: unit.capacity.copied().map(|mbh| mbh.0),
        heat_kw: unit.heat_kw.copied().map(|kw| kw.0),
        submitted_by: schedule
            .facts
            .submitted_by
            .get()
            .cloned()
            .unwrap_or_default(),
    }
}

fn both(amps: Option<NameplateAmps>) -> [Option<f64>; 2] {
    match amps {
        None => [None, None],
        Some(NameplateAmps::One(amps)) => [Some(amps.0), None],
        Some(NameplateAmps::Two { lower, higher }) => [Some(lower.0), Some(higher.0)],
    }
}

/// Length and budget are those that the rule of the length worked out.
fn system_fact(schedule: &Schedule, audit: &Audit, id: SystemId) -> SystemFact {
    let outcome = audit
        .of(Subject::System(id))
        .find(|outcome| outcome.rule == "bus-over-length");
    SystemFact {
        job: schedule.title.clone(),
        job_key: schedule.key.clone(),
        system: schedule.system_label(id),
        units: schedule.system(id).units.len() as u64,
        length: outcome.and_then(|outcome| feet(outcome, "total")),
        complete: outcome
            .is_some_and(|outcome| !matches!(outcome.verdict, Verdict::NotChecked { .. })),
        budget: outcome.and_then(|outcome| feet(outcome, "budget")),
    }
}

fn feet(outcome: &Outcome, what: &str) -> Option<f64> {
    outcome.working.iter().find_map(|step| match step.value {
        Value::Feet(feet) if step.what == what => Some(feet.0),
        _ => None,
    })
}

/// A hash over what units, circuits, runs and controllers say, in no order
/// and whatever the layout; empty for a job without units.
fn content(schedule: &Schedule) -> String {
    if schedule.units.is_empty() {
        return String::new();
    }
    let said = |text: String| {
        if text.is_empty() {
            "-".to_owned()
        } else {
            text
        }
    };
    let mut lines: Vec<String> = schedule
        .audited_units()
        .map(|(id, unit)| {
            let fact = unit_fact(schedule, id, unit);
            format!(
                "unit {} {} {} {:?} {:?} {} {:?} {:?} {:?}",
                Name::new(&fact.tag).key(),
                fact.kind,
                said(fact.model_key),
                fact.mca,
                fact.mop,
                said(fact.volts),
                fact.phases,
                fact.capacity,
                fact.heat_kw
            )
        })
        .collect();
    lines.extend(schedule.circuit_ids().map(|(id, circuit)| {
        let loads: Vec<&str> = circuit
            .loads
            .iter()
            .map(|load| load.text.value.as_str())
            .collect();
        format!(
            "circuit {} {:?} {:?} {:?} {:?} {:?}",
            schedule.circuit_label(id),
            circuit.breaker.get(),
            circuit.poles.get(),
            circuit.fuse.get(),
            circuit.conductor.get(),
            loads
        )
    }));
    lines.extend(schedule.run_ids().map(|(id, run)| {
        format!(
            "run {} {:?} {:?}",
            schedule.run_label(id),
            run.length.get(),
            run.serves
        )
    }));
    lines.extend(
        schedule
            .controller_ids()
            .map(|(id, _)| format!("controller {}", schedule.controller_label(id))),
    );
    lines.sort();
    let mut hash = Sha256::new();
    for line in &lines {
        hash.update(line.as_bytes());
        hash.update(b"\n");
    }
    hash.finalize()
        .iter()
        .take(12)
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

/// How the job is listed, with no workbook yet.
pub(super) fn row(schedule: &Schedule, audit: &Audit, files: Vec<String>, reason: &str) -> JobRow {
    let worst = audit
        .standing()
        .enumerate()
        .max_by_key(|(at, finding)| (finding.severity, std::cmp::Reverse(*at)))
        .map(|(_, finding)| (finding.severity, finding.rule));
    JobRow {
        job: schedule.title.clone(),
        disposition: audit.disposition,
        fix: audit.count(Severity::Fix),
        verify: audit.count(Severity::Verify),
        note: audit.count(Severity::Note),
        accepted: audit.accepted(),
        worst,
        files,
        reason: reason.to_owned(),
        workbook: None,
        copies: Vec::new(),
        about: about(schedule),
    }
}

/// What stays of the job, without a takeoff.
pub(super) fn result(
    schedule: &Schedule,
    listed: &Nameplates,
    audit: &Audit,
    uses: Vec<Use>,
    row: JobRow,
) -> JobResult {
    let records = audit.findings.iter();
    JobResult {
        row,
        origin: Origin::default(),
        findings: records
            .map(|finding| Record::new(schedule, finding))
            .collect(),
        facts: facts(schedule, audit, listed),
        tallies: audit.tallies.clone(),
        uses,
        takeoff: Vec::new(),
    }
}
