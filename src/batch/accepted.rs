//! Acceptances of a batch: from the file of the run, from sheets of the
//! schedules and from what was typed into our workbooks, each held against
//! the jobs that it is about.

use crate::acceptance::{self, Entry, Typed};
use crate::findings::{Acceptance, Audit, Standing, Target, Use};
use crate::intake::assemble::ReadFile;
use crate::report::ReportError;
use crate::report::jobs::Jobs;
use crate::report::remarks::Remarks;
use crate::schedule::Schedule;
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What of one set of files is accepted.
#[derive(Debug, Default)]
pub(super) struct Accepted {
    /// From sheets of these files.
    sheets: Vec<Acceptance>,
    /// From what was typed, by the finding's id.
    typed: BTreeMap<String, Acceptance>,
}

impl Accepted {
    pub fn of(files: &[Option<Arc<ReadFile>>], typed: &BTreeMap<String, Remarks>) -> Self {
        let files = files.iter().flatten();
        Self {
            sheets: files
                .flat_map(|file| acceptance::from_book(&file.book, &file.path))
                .collect(),
            typed: typed
                .iter()
                .filter_map(|(id, remarks)| Some((id.clone(), of_remarks(id, remarks)?)))
                .collect(),
        }
    }

    /// Takes what is accepted out of a job's counts; what became of each
    /// acceptance that is about it.
    pub fn apply(
        &self,
        of_run: &[Acceptance],
        schedule: &Schedule,
        audit: &mut Audit,
        as_of: Date,
    ) -> Vec<Use> {
        let typed: Vec<&Acceptance> = audit
            .findings
            .iter()
            .filter_map(|finding| self.typed.get(&finding.id))
            .collect();
        let all = of_run.iter().chain(&self.sheets).chain(typed);
        acceptance::apply(schedule, audit, all, as_of)
    }

    /// What was typed at findings that no job of these files has any more.
    pub fn unmatched(&self, uses: impl Iterator<Item = Use>) -> Vec<Use> {
        let met: BTreeSet<String> = uses.flat_map(|of| of.ids).collect();
        let left = self.typed.iter().filter(|(id, _)| !met.contains(*id));
        left.map(|(_, acceptance)| Use {
            acceptance: acceptance.clone(),
            standing: Standing::MatchesNothing,
            ids: Vec::new(),
        })
        .collect()
    }
}

fn of_remarks(id: &str, remarks: &Remarks) -> Option<Acceptance> {
    let remark = match remarks.reviewer.as_str() {
        "" => &remarks.row,
        remark => remark,
    };
    acceptance::typed(Typed {
        id,
        accept: &remarks.accept,
        remark,
        found: &remarks.as_found,
        limit: &remarks.as_limit,
        origin: "column Accept of the annotated workbook",
    })
}

/// Acceptances that cover nothing, each with why: sentences for standard
/// error. `of_run` are those of the file, some of which no job may know.
pub(super) fn warnings(jobs: &Jobs, of_run: &[Acceptance]) -> Vec<String> {
    // A row of a workbook with many jobs is held against each of them.
    let mut best: BTreeMap<(&str, String), &Use> = BTreeMap::new();
    for of in jobs.counted().flat_map(|job| job.uses()) {
        let known = best
            .entry((of.acceptance.origin.as_str(), of.acceptance.about()))
            .or_insert(of);
        if rank(&of.standing) < rank(&known.standing) {
            *known = of;
        }
    }
    let mut sentences: Vec<String> = of_run
        .iter()
        .filter(|acceptance| !best.contains_key(&(acceptance.origin.as_str(), acceptance.about())))
        .map(|acceptance| {
            format!(
                "{}: accepts a finding of {}, and no job of that name or number was audited",
                acceptance.origin, acceptance.job
            )
        })
        .collect();
    sentences.extend(
        best.into_iter()
            .filter(|(_, of)| of.standing != Standing::Holds)
            .map(|((origin, about), of)| format!("{origin}: {about}: {}", of.standing.text())),
    );
    sentences
}

fn rank(standing: &Standing) -> u8 {
    match standing {
        Standing::Holds => 0,
        Standing::Lapsed(_) => 1,
        Standing::Incomplete(_) => 2,
        Standing::MatchesNothing => 3,
    }
}

/// `accepted.toml`: all that is accepted in the jobs that count; empty where
/// nothing is.
///
/// # Errors
/// As [`crate::report::jobs::Job::findings`].
pub(super) fn file(jobs: &Jobs) -> Result<String, ReportError> {
    let with = jobs.counted().filter(|job| !job.uses().is_empty());
    let mut of_jobs = Vec::new();
    for job in with {
        of_jobs.push((job, job.findings()?));
    }
    let mut entries = Vec::new();
    for (job, findings) in &of_jobs {
        for of in job.uses() {
            let acceptance = &of.acceptance;
            let entry = |rule, subject, dwelling, found, limit| Entry {
                job: &job.row().job,
                rule,
                subject,
                dwelling,
                found,
                limit,
                acceptance,
                standing: &of.standing,
            };
            let finding = of
                .ids
                .first()
                .and_then(|id| findings.iter().find(|finding| finding.id == *id));
            match (&acceptance.target, finding) {
                (
                    Target::Named {
                        rule,
                        subject,
                        dwelling,
                    },
                    finding,
                ) => {
                    let now = finding.map(|f| (f.found.as_str(), f.limit.as_str()));
                    let (found, limit) = now.unwrap_or((&acceptance.found, &acceptance.limit));
                    entries.push(entry(rule, subject, dwelling, found, limit));
                }
                (Target::Id(_), Some(finding)) => entries.push(entry(
                    &finding.rule,
                    finding.subject_in_dwelling(),
                    &finding.dwelling,
                    &finding.found,
                    &finding.limit,
                )),
                (Target::Id(_), None) => {}
            }
        }
    }
    Ok(acceptance::skeleton(&entries))
}
