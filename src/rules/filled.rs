//! The audit with blanks filled from the user's own nameplate table. What
//! stands on a filled value is a question at most, and says so.

use super::run::{audit, dispose};
use crate::findings::{Audit, Reported, Severity, Subject, Verdict};
use crate::practice::{Nameplates, Practice};
use crate::schedule::{CellId, Field, Located, Schedule, UnitId};
use std::collections::{BTreeMap, BTreeSet};

/// Audits a job as [`audit`] does; values that its rows leave blank and that
/// the nameplate table knows are taken from there.
pub fn audit_filled(schedule: &Schedule, practice: &Practice) -> Audit {
    let own = audit(schedule, practice);
    let Some((filled, values)) = fill(schedule, &practice.nameplates) else {
        return own;
    };
    let mut with = audit(&filled, practice);
    let by_schedule: BTreeSet<(&str, &str, &str)> = own.findings.iter().map(identity).collect();
    for finding in &mut with.findings {
        if by_schedule.contains(&identity(finding)) {
            continue;
        }
        let says = stands_on(schedule, finding.subject, &values);
        if finding.severity == Severity::Fix {
            cap(&mut with.outcomes, finding);
            finding.severity = Severity::Verify;
        }
        finding.message.push(' ');
        finding.message.push_str(&says);
        finding.source.push_str("; the user's nameplate table");
        finding.group.push_str("\u{1f}filled");
    }
    let worst = with.worst();
    with.disposition = dispose(schedule, &with.outcomes, worst);
    with
}

fn identity(finding: &Reported) -> (&str, &str, &str) {
    (&finding.id, &finding.found, &finding.limit)
}

/// The outcome behind a finding says the same as the finding.
fn cap(outcomes: &mut [crate::findings::Outcome], of: &Reported) {
    for outcome in outcomes {
        if outcome.rule == of.rule
            && outcome.subject == of.subject
            && outcome.at == of.place
            && let Verdict::Broken(finding) = &mut outcome.verdict
            && finding.says == of.message
        {
            finding.severity = Severity::Verify;
        }
    }
}

/// Filled values of each unit, as people read them.
type Values = BTreeMap<UnitId, Vec<String>>;

fn fill(schedule: &Schedule, nameplates: &Nameplates) -> Option<(Schedule, Values)> {
    if nameplates.is_empty() {
        return None;
    }
    let mut filled = schedule.clone();
    let mut values = Values::new();
    let ids: Vec<UnitId> = schedule.audited_units().map(|(id, _)| id).collect();
    for id in ids {
        let Some(unit) = filled.units.get_mut(id.index()) else {
            continue;
        };
        let Some(nameplate) = nameplates.for_unit(unit) else {
            continue;
        };
        let tag = unit.tag.at;
        let label = schedule.unit_label(id);
        let mut said = Vec::new();
        let mut note = |what: &str, value: String| {
            said.push(format!("{what} of {label}, {value} ({})", nameplate.origin));
        };
        // The supply first: which of two currents holds depends on it.
        if let Some(supply) = put(&mut unit.supply, nameplate.supply.clone(), tag) {
            note("supply", supply.to_string());
        }
        if let Some(mca) = put(&mut unit.mca, nameplate.mca, tag) {
            note("MCA", mca.to_string());
        }
        if let Some(mop) = put(&mut unit.mop, nameplate.mop, tag) {
            note("MOP", mop.amps.to_string());
        }
        if let Some(capacity) = put(&mut unit.capacity, nameplate.capacity, tag) {
            note("capacity", capacity.to_string());
        }
        if !said.is_empty() {
            values.insert(id, said);
        }
    }
    (!values.is_empty()).then_some((filled, values))
}

/// Fills a blank; what is unknown, elsewhere or unreadable is left to be
/// asked.
fn put<T: Clone>(field: &mut Field<T>, value: Option<T>, tag: CellId) -> Option<T> {
    let value = value.filter(|_| field.is_blank())?;
    let at = field.at().unwrap_or(tag);
    *field = Field::Given(Located {
        value: value.clone(),
        at,
    });
    Some(value)
}

fn stands_on(schedule: &Schedule, subject: Subject, values: &Values) -> String {
    let units: Vec<UnitId> = match subject {
        Subject::Unit(id) => vec![id],
        Subject::Circuit(id) => schedule.circuit(id).units(),
        Subject::System(id) => schedule.system(id).units.clone(),
        _ => Vec::new(),
    };
    let said: Vec<&str> = units
        .iter()
        .filter_map(|id| values.get(id))
        .flatten()
        .map(String::as_str)
        .collect();
    match said.is_empty() {
        true => "It stands on values of the nameplate table, not of the schedule.".to_owned(),
        false => format!(
            "It stands on the nameplate table, not on the schedule: {}.",
            said.join("; ")
        ),
    }
}
