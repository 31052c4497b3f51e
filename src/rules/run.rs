//! Runs the rules over a schedule, lets rules wait for each other, and
//! renders what was found.

use super::{ALL, Rule, by_name, place, same_cell};
use crate::findings::{
    Audit, Disposition, Dwellings, NotCheckedTally, Outcome, Reported, RuleTally, Severity,
    Subject, Verdict, Want, finding_id,
};
use crate::practice::Practice;
use crate::schedule::{Place, Schedule, TableKind};
use std::collections::{BTreeMap, HashMap, HashSet};

/// Rules for which a subject that could not be checked means that the job
/// was audited in part only.
const ESSENTIAL: [&str; 4] = [
    "protection-over-mop",
    "protection-under-mca",
    "no-supply-circuit",
    "bus-broken",
];

/// Audits a job. `practice` is the batch's; what the job states of itself
/// goes before it.
pub fn audit(schedule: &Schedule, practice: &Practice) -> Audit {
    let practice = practice.for_job(schedule);
    let mut outcomes: Vec<Outcome> = Vec::new();
    for rule in ALL.iter() {
        for mut outcome in (rule.check)(schedule, &practice) {
            outcome.rule = rule.name;
            outcomes.push(outcome);
        }
    }
    let_wait(&mut outcomes);
    same_cell::let_wait(&mut outcomes);
    let declared = set_severities(&mut outcomes, &practice);
    let findings = render(schedule, &practice, &outcomes, &declared);
    let tallies = tally(&outcomes);
    let worst = findings.iter().map(|finding| finding.severity).max();
    let disposition = dispose(schedule, &outcomes, worst);
    Audit {
        outcomes,
        findings,
        unlisted: Vec::new(),
        tallies,
        disposition,
    }
}

/// Turns a finding into *waits for RULE* where a rule that it yields to is
/// broken on the same subject, so that one fault is one finding.
fn let_wait(outcomes: &mut [Outcome]) {
    // Per rule that others yield to: the subjects of its findings, and the
    // further subjects that these findings are about.
    let mut main: HashMap<&str, HashSet<Subject>> = HashMap::new();
    let mut about: HashMap<&str, HashSet<Subject>> = HashMap::new();
    let causes: HashSet<&str> = ALL
        .iter()
        .flat_map(|rule| rule.yields_to.iter().copied())
        .collect();
    for outcome in outcomes.iter().filter(|o| o.finding().is_some()) {
        if causes.contains(outcome.rule) {
            main.entry(outcome.rule)
                .or_default()
                .insert(outcome.subject);
            about
                .entry(outcome.rule)
                .or_default()
                .extend(outcome.also.iter().copied());
        }
    }
    for outcome in outcomes.iter_mut() {
        let Some(rule) = by_name(outcome.rule) else {
            continue;
        };
        let cause = rule.yields_to.iter().find(|cause| {
            let hit = |set: Option<&HashSet<Subject>>, subject: &Subject| {
                set.is_some_and(|set| set.contains(subject))
            };
            hit(main.get(*cause), &outcome.subject)
                || hit(about.get(*cause), &outcome.subject)
                || outcome
                    .also
                    .iter()
                    .any(|subject| hit(main.get(*cause), subject))
        });
        if let Some(cause) = cause {
            outcome.verdict = Verdict::NotChecked {
                wants: vec![Want::WaitsFor(cause)],
            };
        }
    }
}

/// Puts the profile's severities in place of the rules' own, which are
/// returned by the index of the outcome.
fn set_severities(outcomes: &mut [Outcome], practice: &Practice) -> HashMap<usize, Severity> {
    let mut declared = HashMap::new();
    for (index, outcome) in outcomes.iter_mut().enumerate() {
        if let Verdict::Broken(finding) = &mut outcome.verdict
            && let Some(set) = practice.severities.of(outcome.rule, finding.severity)
        {
            declared.insert(index, finding.severity);
            finding.severity = set;
        }
    }
    declared
}

fn render(
    schedule: &Schedule,
    practice: &Practice,
    outcomes: &[Outcome],
    declared_severity: &HashMap<usize, Severity>,
) -> Vec<Reported> {
    let mut sources: HashMap<&str, String> = HashMap::new();
    let mut ordinals: HashMap<(&str, String, &str), u32> = HashMap::new();
    let mut findings = Vec::new();
    let dwellings = Dwellings::of(schedule);
    for (index, outcome) in outcomes.iter().enumerate() {
        let (Some(finding), Some(rule)) = (outcome.finding(), by_name(outcome.rule)) else {
            continue;
        };
        let field = finding.field.map_or("", |field| field.name());
        let key = outcome.subject.key(schedule);
        let ordinal = ordinals.entry((rule.name, key.clone(), field)).or_default();
        let id = finding_id(&schedule.key, rule.name, &key, field, *ordinal);
        *ordinal += 1;
        let declared = sources
            .entry(rule.name)
            .or_insert_with(|| rule.source(practice.edition))
            .clone();
        let mut source = finding.source.clone().unwrap_or(declared);
        if !finding.profile.is_empty() {
            source.push_str(&format!(
                "; practice profile: {}",
                finding.profile.join(", ")
            ));
        }
        if let Some(own) = declared_severity.get(&index) {
            source.push_str(&format!(
                "; practice profile: severities.{} ({own} by the rule)",
                rule.name
            ));
        }
        let found = finding.found.to_string();
        let limit = finding
            .limit
            .as_ref()
            .map_or_else(String::new, |limit| limit.to_string());
        let dwelling = outcome.subject.dwelling(schedule);
        let group = format!(
            "{}\u{1f}{}\u{1f}{}\u{1f}{}\u{1f}{}",
            rule.name,
            finding.severity,
            outcome.subject.key_in_dwelling(schedule),
            found,
            limit
        );
        findings.push(Reported {
            id,
            rule: rule.name,
            severity: finding.severity,
            subject: outcome.subject,
            subject_label: outcome.subject.label(schedule),
            dwelling_type: dwelling
                .map_or("", |name| dwellings.type_of(name))
                .to_owned(),
            dwelling: dwelling.map_or_else(String::new, |name| name.text().to_owned()),
            address: schedule.sources.address(outcome.at),
            place: outcome.at,
            related: outcome.related.clone(),
            message: finding.says.clone(),
            found,
            limit,
            remedy: finding.remedy.clone(),
            source,
            changes: finding.changes.clone(),
            group,
            accepted: None,
            since: String::new(),
        });
    }
    findings.sort_by_cached_key(|finding| sort_key(schedule, finding));
    findings
}

/// File, sheet in the order of the tables, row, column, rule, id. A finding
/// of a file or of the job stands before those of its cells.
fn sort_key(schedule: &Schedule, finding: &Reported) -> (String, u32, u32, u16, usize, String) {
    let (table, row, column) = match finding.place {
        Place::Job | Place::File(_) => (0, 0, 0),
        Place::Table(table) => {
            let heading = schedule
                .sources
                .tables
                .get(table as usize)
                .map(|t| t.heading_cell());
            heading.map_or((table, 0, 0), |(row, column)| (table, row.0, column.0))
        }
        Place::Cell(cell) => (cell.table, cell.row.0, cell.column.0),
    };
    let order = place(finding.rule).unwrap_or(usize::MAX);
    (
        finding.address.file.clone(),
        table,
        row,
        column,
        order,
        finding.id.clone(),
    )
}

fn tally(outcomes: &[Outcome]) -> Vec<RuleTally> {
    let mut wants: HashMap<&str, BTreeMap<String, u64>> = HashMap::new();
    let mut met: HashMap<&str, u64> = HashMap::new();
    let mut broken: HashMap<&str, u64> = HashMap::new();
    for outcome in outcomes {
        match &outcome.verdict {
            Verdict::Met => *met.entry(outcome.rule).or_default() += 1,
            Verdict::Broken(_) => *broken.entry(outcome.rule).or_default() += 1,
            Verdict::NotChecked { wants: missing } => {
                let texts: Vec<String> = missing.iter().map(Want::to_string).collect();
                let of_rule = wants.entry(outcome.rule).or_default();
                *of_rule.entry(texts.join(", ")).or_default() += 1;
            }
        }
    }
    ALL.iter()
        .map(|rule: &&'static Rule| RuleTally {
            rule: rule.name,
            met: met.get(rule.name).copied().unwrap_or(0),
            broken: broken.get(rule.name).copied().unwrap_or(0),
            not_checked: wants
                .remove(rule.name)
                .unwrap_or_default()
                .into_iter()
                .map(|(wants, subjects)| NotCheckedTally { wants, subjects })
                .collect(),
        })
        .collect()
}

/// The disposition of a job whose worst finding that stands is that bad.
pub fn dispose(schedule: &Schedule, outcomes: &[Outcome], worst: Option<Severity>) -> Disposition {
    let nothing = schedule.units.is_empty()
        && schedule.circuits.is_empty()
        && schedule.runs.is_empty()
        && schedule.controllers.is_empty();
    let missing_table = [
        TableKind::Equipment,
        TableKind::Circuits,
        TableKind::WireRuns,
        TableKind::Controllers,
    ]
    .iter()
    .any(|kind| !schedule.has_table(*kind));
    // What only waits for another finding is no gap of the schedule.
    let gap = outcomes.iter().any(|outcome| {
        ESSENTIAL.contains(&outcome.rule)
            && matches!(&outcome.verdict, Verdict::NotChecked { wants }
                if !wants.iter().any(|want| matches!(want, Want::WaitsFor(_))))
    });
    if nothing {
        Disposition::NotAudited
    } else if worst == Some(Severity::Fix) {
        Disposition::ReviseAndResubmit
    } else if missing_table || gap {
        Disposition::AuditedInPart
    } else if worst >= Some(Severity::Verify) {
        Disposition::MakeCorrectionsNoted
    } else {
        Disposition::NoExceptionsNoted
    }
}
