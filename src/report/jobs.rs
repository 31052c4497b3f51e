//! The jobs of a batch, in their order. A job's row stays in memory; its
//! findings and facts lie on a shelf, and are read job by job by whoever
//! needs them.

use super::ReportError;
use super::batch::JobRow;
use super::facts::{JobFacts, JobResult, Origin};
use super::groups::Counts;
use super::record::Record;
use super::shelf::{Place, Shelf};
use crate::findings::{NotCheckedTally, RuleTally, Severity, Use};
use crate::rules;
use crate::takeoff::Item;
use serde::{Deserialize, Serialize};

/// How many there are of a job's facts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Sizes {
    pub units: usize,
    pub systems: usize,
    /// Of rules that met anything; each outcome is one.
    pub tallies: usize,
    pub takeoff: usize,
}

/// A job whose details were put away.
#[derive(Debug)]
pub struct Kept {
    pub row: JobRow,
    pub origin: Origin,
    /// What became of the acceptances that are about it.
    pub uses: Vec<Use>,
    /// Findings that the batch adds to its own.
    added: Vec<Record>,
    told: Told,
    sizes: Sizes,
    findings: Place,
    facts: Place,
    tallies: Place,
    takeoff: Place,
}

/// What is known of a job's findings without reading them.
#[derive(Clone, Copy, Debug, Default)]
struct Told {
    findings: usize,
    any_accepted: bool,
    any_since: bool,
}

impl Told {
    fn add(&mut self, finding: &Record) {
        self.findings += 1;
        self.any_accepted |= !finding.stands();
        self.any_since |= !finding.since.is_empty();
    }
}

/// A tally of a rule that was met with; others are nought.
#[derive(Serialize, Deserialize)]
struct PlacedTally {
    /// The rule's place in the registry.
    rule: u16,
    met: u64,
    broken: u64,
    not_checked: Vec<NotCheckedTally>,
}

impl Kept {
    /// Puts a job's details away.
    ///
    /// # Errors
    /// As [`Shelf::put`].
    pub fn new(job: JobResult, shelf: &Shelf) -> Result<Self, ReportError> {
        let tallies: Vec<PlacedTally> = job
            .tallies
            .iter()
            .filter(|tally| tally.outcomes() > 0)
            .filter_map(|tally| {
                let rule = rules::ALL.iter().position(|rule| rule.name == tally.rule)?;
                Some(PlacedTally {
                    rule: rule as u16,
                    met: tally.met,
                    broken: tally.broken,
                    not_checked: tally.not_checked.clone(),
                })
            })
            .collect();
        let outcomes = job.tallies.iter().map(RuleTally::outcomes).sum();
        let mut told = Told::default();
        job.findings.iter().for_each(|finding| told.add(finding));
        Ok(Self {
            added: Vec::new(),
            told,
            sizes: Sizes {
                units: job.facts.units.len(),
                systems: job.facts.systems.len(),
                tallies: outcomes,
                takeoff: job.takeoff.len(),
            },
            findings: shelf.put(&job.findings)?,
            facts: shelf.put(&job.facts)?,
            tallies: shelf.put(&tallies)?,
            takeoff: shelf.put(&job.takeoff)?,
            row: job.row,
            origin: job.origin,
            uses: job.uses,
        })
    }
}

/// All jobs of a batch.
#[derive(Debug)]
pub struct Jobs<'s> {
    kept: Vec<Kept>,
    shelf: &'s Shelf,
}

/// One of them.
#[derive(Clone, Copy, Debug)]
pub struct Job<'a> {
    kept: &'a Kept,
    shelf: &'a Shelf,
}

impl<'s> Jobs<'s> {
    /// Jobs of this shelf, in their final order.
    pub fn new(kept: Vec<Kept>, shelf: &'s Shelf) -> Self {
        Self { kept, shelf }
    }

    pub fn len(&self) -> usize {
        self.kept.len()
    }

    pub fn is_empty(&self) -> bool {
        self.kept.is_empty()
    }

    pub fn get(&self, at: usize) -> Option<Job<'_>> {
        let shelf = self.shelf;
        self.kept.get(at).map(|kept| Job { kept, shelf })
    }

    pub fn iter(&self) -> impl Iterator<Item = Job<'_>> + Clone {
        let shelf = self.shelf;
        self.kept.iter().map(move |kept| Job { kept, shelf })
    }

    /// Those that totals count, no superseded submission.
    pub fn counted(&self) -> impl Iterator<Item = Job<'_>> + Clone {
        self.iter().filter(|job| job.counts())
    }

    pub fn rows(&self) -> impl Iterator<Item = &JobRow> + Clone {
        self.kept.iter().map(|kept| &kept.row)
    }

    /// Adds a finding of the batch to a job.
    pub fn add(&mut self, at: usize, finding: Record) {
        if let Some(kept) = self.kept.get_mut(at) {
            kept.told.add(&finding);
            kept.added.push(finding);
        }
    }

    /// Takes a job out of totals, for the submission in this file.
    pub fn supersede(&mut self, at: usize, file: &str) {
        if let Some(kept) = self.kept.get_mut(at) {
            kept.row.about.superseded_by = Some(file.to_owned());
        }
    }

    /// Leaves out findings that are less severe.
    ///
    /// # Errors
    /// As [`Job::findings`].
    pub fn list_from(&mut self, least: Severity) -> Result<(), ReportError> {
        self.change_findings(|findings| {
            let before = findings.len();
            findings.retain(|finding| finding.severity >= least);
            findings.len() < before
        })
    }

    /// Changes findings that say nothing of an earlier audit yet.
    ///
    /// # Errors
    /// As [`Job::findings`].
    pub fn mark_since(&mut self, since: impl Fn(&str) -> String) -> Result<(), ReportError> {
        self.change_findings(|findings| {
            let silent = findings.iter_mut().filter(|f| f.since.is_empty());
            silent
                .map(|finding| finding.since = since(&finding.id))
                .count()
                > 0
        })
    }

    /// `change` says whether it changed any.
    fn change_findings(
        &mut self,
        change: impl Fn(&mut Vec<Record>) -> bool,
    ) -> Result<(), ReportError> {
        for kept in &mut self.kept {
            let mut own = kept.own_findings(self.shelf)?;
            if change(&mut own) {
                kept.findings = self.shelf.put(&own)?;
            }
            change(&mut kept.added);
            kept.told = Told::default();
            own.iter().chain(&kept.added).for_each(|f| kept.told.add(f));
        }
        Ok(())
    }

    /// How many findings there are in all.
    pub fn findings(&self) -> usize {
        self.kept.iter().map(|kept| kept.told.findings).sum()
    }

    /// What stands in the jobs that count, equal findings of many dwellings as
    /// one.
    ///
    /// # Errors
    /// As [`Job::findings`].
    pub fn distinct(&self) -> Result<Counts, ReportError> {
        let mut sum = Counts::default();
        for job in self.counted() {
            sum = sum + Counts::of_records(&job.findings()?);
        }
        Ok(sum)
    }

    /// Whether somebody answers for any finding.
    pub fn any_accepted(&self) -> bool {
        self.kept.iter().any(|kept| kept.told.any_accepted)
    }
}

impl Kept {
    fn own_findings(&self, shelf: &Shelf) -> Result<Vec<Record>, ReportError> {
        shelf.get(&self.findings)
    }
}

impl<'a> Job<'a> {
    pub fn row(&self) -> &'a JobRow {
        &self.kept.row
    }

    pub fn origin(&self) -> &'a Origin {
        &self.kept.origin
    }

    pub fn uses(&self) -> &'a [Use] {
        &self.kept.uses
    }

    pub fn sizes(&self) -> Sizes {
        self.kept.sizes
    }

    /// How many findings it has, those that the batch added included.
    pub fn finding_count(&self) -> usize {
        self.kept.told.findings
    }

    /// Whether totals count it: it is no superseded submission.
    pub fn counts(&self) -> bool {
        self.kept.row.counts()
    }

    /// Whether any of its findings is held against an earlier audit.
    pub fn any_since(&self) -> bool {
        self.kept.told.any_since
    }

    /// Whether somebody answers for any of its findings.
    pub fn any_accepted(&self) -> bool {
        self.kept.told.any_accepted
    }

    /// Its own findings, and what the batch added.
    ///
    /// # Errors
    /// As [`Shelf::get`]; so for all of these.
    pub fn findings(&self) -> Result<Vec<Record>, ReportError> {
        let mut findings = self.kept.own_findings(self.shelf)?;
        findings.extend(self.kept.added.iter().cloned());
        Ok(findings)
    }

    pub fn facts(&self) -> Result<JobFacts, ReportError> {
        self.shelf.get(&self.kept.facts)
    }

    /// In the order of the registry.
    pub fn tallies(&self) -> Result<Vec<RuleTally>, ReportError> {
        let mut tallies: Vec<RuleTally> = rules::ALL
            .iter()
            .map(|rule| RuleTally::new(rule.name))
            .collect();
        for placed in self.shelf.get::<Vec<PlacedTally>>(&self.kept.tallies)? {
            if let Some(tally) = tallies.get_mut(usize::from(placed.rule)) {
                tally.met = placed.met;
                tally.broken = placed.broken;
                tally.not_checked = placed.not_checked;
            }
        }
        Ok(tallies)
    }

    pub fn takeoff(&self) -> Result<Vec<Item>, ReportError> {
        self.shelf.get(&self.kept.takeoff)
    }
}

#[cfg(test)]
impl<'s> Jobs<'s> {
    /// Puts these jobs away.
    pub fn of(results: Vec<JobResult>, shelf: &'s Shelf) -> Self {
        let kept = results.into_iter().map(|job| Kept::new(job, shelf));
        Self::new(kept.collect::<Result<_, _>>().expect("kept"), shelf)
    }

    /// All that stays of them.
    pub fn results(&self) -> Vec<JobResult> {
        let whole = |job: Job| JobResult {
            row: job.row().clone(),
            origin: job.origin().clone(),
            findings: job.findings().expect("findings"),
            facts: job.facts().expect("facts"),
            tallies: job.tallies().expect("tallies"),
            uses: job.uses().to_vec(),
            takeoff: job.takeoff().expect("a takeoff"),
        };
        self.iter().map(whole).collect()
    }
}

#[cfg(test)]
impl JobResult {
    /// A job of no file that has these findings.
    pub fn with(findings: Vec<Record>) -> Self {
        Self {
            row: JobRow {
                job: String::new(),
                disposition: crate::findings::Disposition::ReviseAndResubmit,
                fix: 0,
                verify: 0,
                note: 0,
                accepted: 0,
                worst: None,
                files: Vec::new(),
                reason: String::new(),
                workbook: None,
                copies: Vec::new(),
                about: Default::default(),
            },
            origin: Origin::default(),
            findings,
            facts: JobFacts::default(),
            tallies: Vec::new(),
            uses: Vec::new(),
            takeoff: Vec::new(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::facts::{SystemFact, UnitFact};
    use crate::takeoff::{Kind, Quantity};

    fn finding(id: &str, severity: Severity, since: &str) -> Record {
        Record {
            id: id.into(),
            message: "The MOP is below the MCA.".into(),
            since: since.into(),
            ..Record::of("mop-below-mca", severity)
        }
    }

    /// A job with something in each of its details.
    fn job() -> JobResult {
        let mut tallies: Vec<RuleTally> = rules::ALL
            .iter()
            .map(|rule| RuleTally::new(rule.name))
            .collect();
        tallies[3].met = 7;
        tallies[5].not_checked = vec![NotCheckedTally {
            wants: "unit.mca".into(),
            subjects: 2,
        }];
        JobResult {
            facts: JobFacts {
                units: vec![UnitFact {
                    tag: "OU-1".into(),
                    mca: [Some(31.4), None],
                    heat_kw: Some(0.1 + 0.2),
                    ..UnitFact::default()
                }],
                systems: vec![SystemFact {
                    system: "OU-1".into(),
                    length: Some(120.5),
                    ..SystemFact::default()
                }],
            },
            tallies,
            takeoff: vec![Item {
                kind: Kind::Fuse,
                order: (350, 2),
                name: "fuse 35 A".into(),
                unit: "each",
                scheduled: Quantity::default(),
                proposed: Quantity {
                    amount: 2.0,
                    without_length: 1,
                },
                price: Some(4.25),
            }],
            ..JobResult::with(vec![
                finding("a", Severity::Fix, "open since revision 1"),
                finding("b", Severity::Note, ""),
            ])
        }
    }

    #[test]
    fn a_job_comes_back_as_it_was_put_away() {
        let shelf = Shelf::new(std::env::temp_dir());
        let jobs = Jobs::of(vec![job(), job()], &shelf);
        assert_eq!(jobs.results(), [job(), job()]);
        let first = jobs.get(0).expect("a job");
        let sizes = first.sizes();
        assert_eq!(
            (first.finding_count(), sizes.units, sizes.systems),
            (2, 1, 1)
        );
        assert_eq!((sizes.tallies, sizes.takeoff), (2, 1));
        assert_eq!(jobs.findings(), 4);
    }

    #[test]
    fn what_the_batch_adds_marks_and_leaves_out_is_what_is_read() {
        let shelf = Shelf::new(std::env::temp_dir());
        let mut jobs = Jobs::of(vec![job()], &shelf);
        jobs.add(0, finding("c", Severity::Verify, ""));
        jobs.add(0, finding("d", Severity::Note, ""));
        assert_eq!(jobs.findings(), 4);
        jobs.list_from(Severity::Verify).expect("a shelf");
        jobs.mark_since(|id| format!("new {id}")).expect("a shelf");
        let read = jobs.get(0).expect("a job").findings().expect("a shelf");
        let told: Vec<(&str, &str)> = read
            .iter()
            .map(|f| (f.id.as_str(), f.since.as_str()))
            .collect();
        assert_eq!(told, [("a", "open since revision 1"), ("c", "new c")]);
        assert_eq!(jobs.findings(), read.len());
        jobs.supersede(0, "elm 2.csv");
        assert_eq!(jobs.counted().count(), 0);
    }
}
