//! Two audits of the same jobs: what is gone, still open and new.
//!
//! Findings are followed by their ids, so a row that moved and a number that
//! changed are followed too.

use super::page::{self, Cell, Column, Page};
use super::record::Record;
use super::style::Styles;
use super::text::guarded;
use super::{ReportError, counted, new_workbook};
use crate::findings::Severity;
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::fmt::Write;

/// One audit, as far as it is compared.
#[derive(Clone, Debug, Default)]
pub struct Side {
    /// In the order of the audit; those of superseded submissions left out.
    pub findings: Vec<Record>,
    pub jobs: Vec<JobState>,
    /// Subjects that a rule could not check, by job key and rule.
    pub unchecked: BTreeMap<(String, String), u64>,
}

/// A job of one audit.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct JobState {
    pub key: String,
    pub job: String,
    pub revision: String,
    /// As 2026-03-31; empty where it is not stated.
    pub date: String,
    pub disposition: String,
}

/// What became of a finding.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fate {
    StillOpen,
    New,
    /// In a job that the old audit does not have.
    NewJob,
    /// Somebody answers for it now.
    Accepted,
    Gone,
    /// No longer found, but the rule could check less than before.
    GoneUnchecked,
    /// In a job that the new audit does not have.
    NotResubmitted,
}

impl Fate {
    pub const ALL: [Self; 7] = [
        Self::StillOpen,
        Self::New,
        Self::NewJob,
        Self::Accepted,
        Self::Gone,
        Self::GoneUnchecked,
        Self::NotResubmitted,
    ];

    pub fn name(self) -> &'static str {
        match self {
            Self::StillOpen => "still open",
            Self::New => "new",
            Self::NewJob => "new job",
            Self::Accepted => "accepted",
            Self::Gone => "gone",
            Self::GoneUnchecked => "not found, checked less",
            Self::NotResubmitted => "not resubmitted",
        }
    }

    fn says(self) -> &'static str {
        match self {
            Self::StillOpen => "stood before and stands now",
            Self::New => "stands now and did not before",
            Self::NewJob => "stands in a job that the old audit does not have",
            Self::Accepted => "is found now, and somebody answers for it",
            Self::Gone => "stood before and stands no more",
            Self::GoneUnchecked => {
                "stood before and is not found, but its rule could check fewer things than before: no proof that it was mended"
            }
            Self::NotResubmitted => "stood in a job that the new audit does not have",
        }
    }
}

/// One finding of either audit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Compared {
    pub fate: Fate,
    /// As it stands now; as it stood where it is gone.
    pub finding: Record,
    /// What was found before, of one still open.
    pub was: String,
}

/// Both audits together.
#[derive(Clone, Debug, Default)]
pub struct Comparison {
    /// By job, then fate, then the worst first.
    pub findings: Vec<Compared>,
    pub jobs: Vec<ComparedJob>,
}

/// A job of either audit.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ComparedJob {
    pub old: Option<JobState>,
    pub new: Option<JobState>,
    /// In the order of [`Fate::ALL`].
    pub counts: [usize; 7],
}

impl ComparedJob {
    fn shown(&self) -> &str {
        let job = self.new.as_ref().or(self.old.as_ref());
        job.map_or("", |job| &job.job)
    }
}

/// Compares two audits.
pub fn compare(old: &Side, new: &Side) -> Comparison {
    let mut jobs = jobs_of(old, new);
    let place: HashMap<String, usize> = jobs
        .iter()
        .enumerate()
        .flat_map(|(at, job)| {
            let states = job.old.iter().chain(&job.new);
            states
                .map(move |state| (state.key.clone(), at))
                .collect::<Vec<_>>()
        })
        .collect();
    let has =
        |side: &Side| -> BTreeSet<String> { side.jobs.iter().map(|job| job.key.clone()).collect() };
    let (in_old, in_new) = (has(old), has(new));
    let mut before: HashMap<&str, Vec<&Record>> = HashMap::new();
    // Popped from the end below: the first of equal ids is matched first.
    for finding in old.findings.iter().rev() {
        before.entry(&finding.id).or_default().push(finding);
    }
    let mut findings: Vec<Compared> = Vec::new();
    for finding in &new.findings {
        let was = before.get_mut(finding.id.as_str()).and_then(Vec::pop);
        let fate = match was {
            _ if !finding.stands() => Fate::Accepted,
            Some(_) => Fate::StillOpen,
            None if in_old.contains(&finding.job_key) => Fate::New,
            None => Fate::NewJob,
        };
        findings.push(Compared {
            fate,
            finding: finding.clone(),
            was: was.map_or_else(String::new, |was| was.found.clone()),
        });
    }
    let left: BTreeSet<*const Record> = before
        .into_values()
        .flatten()
        .map(std::ptr::from_ref)
        .collect();
    for finding in old
        .findings
        .iter()
        .filter(|f| left.contains(&std::ptr::from_ref(*f)))
    {
        let key = (finding.job_key.clone(), finding.rule.clone());
        let unchecked = |side: &Side| side.unchecked.get(&key).copied().unwrap_or(0);
        let fate = if !in_new.contains(&finding.job_key) {
            Fate::NotResubmitted
        } else if unchecked(new) > unchecked(old) {
            Fate::GoneUnchecked
        } else {
            Fate::Gone
        };
        findings.push(Compared {
            fate,
            finding: finding.clone(),
            was: finding.found.clone(),
        });
    }
    let at = |compared: &Compared| {
        let found = place.get(&compared.finding.job_key);
        found.copied().unwrap_or(usize::MAX)
    };
    findings.sort_by_key(|c| (at(c), c.fate, std::cmp::Reverse(c.finding.severity)));
    for compared in &findings {
        let index = Fate::ALL.iter().position(|fate| *fate == compared.fate);
        if let (Some(job), Some(index)) = (jobs.get_mut(at(compared)), index)
            && let Some(count) = job.counts.get_mut(index)
        {
            *count += 1;
        }
    }
    Comparison { findings, jobs }
}

/// The new audit's jobs in their order, then those that only the old one has.
fn jobs_of(old: &Side, new: &Side) -> Vec<ComparedJob> {
    let of = |side: &Side, key: &str| side.jobs.iter().find(|job| job.key == key).cloned();
    let mut seen = BTreeSet::new();
    let all = new.jobs.iter().chain(&old.jobs);
    all.filter(|job| seen.insert(job.key.clone()))
        .map(|job| ComparedJob {
            old: of(old, &job.key),
            new: of(new, &job.key),
            counts: [0; 7],
        })
        .collect()
}

impl Comparison {
    pub fn count(&self, fate: Fate) -> usize {
        self.findings.iter().filter(|c| c.fate == fate).count()
    }
}

/// `3 still open, 1 new, 4 gone.`
pub(super) fn counts(comparison: &Comparison) -> String {
    let said: Vec<String> = Fate::ALL
        .into_iter()
        .filter(|fate| comparison.count(*fate) > 0)
        .map(|fate| format!("{} {}", comparison.count(fate), fate.name()))
        .collect();
    format!("{}.", said.join(", "))
}

/// What the terminal says.
pub fn summary(comparison: &Comparison, out: &str) -> String {
    let mut text = format!(
        "{} compared\n",
        counted(comparison.jobs.len(), "job", "jobs")
    );
    for fate in Fate::ALL {
        let of = comparison.findings.iter().filter(|c| c.fate == fate);
        let count = |severity| {
            of.clone()
                .filter(|c| c.finding.severity == severity)
                .count()
        };
        let [fix, verify, note] = Severity::ALL.map(count);
        if fix + verify + note > 0 {
            // Writing to a String cannot fail.
            let _ = writeln!(
                text,
                "  {:>5}  {:<23}  {fix} fix, {verify} verify, {note} note",
                fix + verify + note,
                fate.name()
            );
        }
    }
    let out = out.trim_end_matches('/');
    let _ = writeln!(text, "\nStart with {out}/compared.xlsx");
    text
}

const CSV: [&str; 14] = [
    "fate", "job", "rule", "severity", "subject", "dwelling", "message", "was", "found", "limit",
    "file", "sheet", "cell", "id",
];

/// `compared.csv`: one row a finding of either audit, guarded as
/// `findings.csv` is.
///
/// # Errors
/// None but those of the library.
pub fn csv(comparison: &Comparison) -> Result<Vec<u8>, ReportError> {
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::Any(b'\n'))
        .from_writer(Vec::new());
    writer.write_record(CSV)?;
    for compared in &comparison.findings {
        let f = &compared.finding;
        let fields: [&str; 14] = [
            compared.fate.name(),
            &f.job,
            &f.rule,
            f.severity.name(),
            &f.subject,
            &f.dwelling,
            &f.message,
            &compared.was,
            &f.found,
            &f.limit,
            &f.file,
            &f.sheet,
            &f.cell,
            &f.id,
        ];
        writer.write_record(fields.map(|field| guarded(field).into_owned()))?;
    }
    writer
        .into_inner()
        .map_err(|error| ReportError::Io(error.into_error()))
}

const JOBS: [Column; 12] = [
    ("Job", 30.0),
    ("Revision before", 13.0),
    ("Revision now", 13.0),
    ("Disposition before", 22.0),
    ("Disposition now", 22.0),
    ("Still open", 10.0),
    ("New", 9.0),
    ("New job", 9.0),
    ("Accepted", 10.0),
    ("Gone", 9.0),
    ("Checked less", 10.0),
    ("Not resubmitted", 13.0),
];

pub(super) const FINDINGS: [Column; 13] = [
    ("What became of it", 16.0),
    ("Severity", 10.0),
    ("Job", 22.0),
    ("Rule", 20.0),
    ("Subject", 16.0),
    ("What is wrong", 50.0),
    ("Before", 14.0),
    ("Now", 14.0),
    ("Limit", 20.0),
    ("What to do", 40.0),
    ("File", 22.0),
    ("Cell", 14.0),
    ("Id", 14.0),
];

/// `compared.xlsx`: jobs, then findings.
///
/// # Errors
/// Where the workbook cannot be written.
pub fn workbook(comparison: &Comparison, as_of: Date) -> Result<Vec<u8>, ReportError> {
    let mut workbook = new_workbook("Comparison", as_of)?;
    let styles = Styles::new();
    let as_of = as_of.to_string();
    let page = Page {
        styles: &styles,
        of: "Comparison",
        as_of: &as_of,
    };
    let sheet = page::add(&mut workbook, "Jobs", "Jobs")?;
    let mut leads = vec![
        (
            format!("{} compared", counted(comparison.jobs.len(), "job", "jobs")),
            &styles.title,
        ),
        (counts(comparison), &styles.lead),
    ];
    for fate in Fate::ALL.into_iter().filter(|f| comparison.count(*f) > 0) {
        leads.push((format!("{}: {}.", fate.name(), fate.says()), &styles.quiet));
    }
    let head = page.open(sheet, "Jobs", &leads)?;
    let jobs: Vec<Vec<Cell>> = comparison.jobs.iter().map(job_row).collect();
    page.list(sheet, head, &JOBS, &jobs, 1)?;
    let sheet = page::add(&mut workbook, "Findings", "Findings")?;
    let lead = "Job by job: what still stands and what is new, then what is gone.".to_owned();
    let head = page.open(sheet, "Findings", &[(lead, &styles.quiet)])?;
    let findings: Vec<Vec<Cell>> = comparison.findings.iter().map(finding_row).collect();
    page.list(sheet, head, &FINDINGS, &findings, 2)?;
    Ok(workbook.save_to_buffer()?)
}

fn job_row(job: &ComparedJob) -> Vec<Cell> {
    let text = |state: &Option<JobState>, pick: fn(&JobState) -> &str| {
        Cell::text(state.as_ref().map_or("", pick))
    };
    let mut row = vec![
        Cell::text(job.shown()),
        text(&job.old, |job| &job.revision),
        text(&job.new, |job| &job.revision),
        text(&job.old, |job| &job.disposition),
        text(&job.new, |job| &job.disposition),
    ];
    row.extend(job.counts.map(|count| Cell::Count(count as u64)));
    row
}

pub(super) fn finding_row(compared: &Compared) -> Vec<Cell> {
    let f = &compared.finding;
    let stands = matches!(compared.fate, Fate::StillOpen | Fate::New | Fate::NewJob);
    let place = match f.sheet.as_str() {
        "" => f.cell.clone(),
        sheet => format!("{sheet}!{}", f.cell),
    };
    vec![
        match compared.fate {
            Fate::Gone | Fate::Accepted => Cell::text(compared.fate.name()),
            Fate::GoneUnchecked | Fate::NotResubmitted => {
                Cell::Section(compared.fate.name().to_owned())
            }
            _ => Cell::Group(compared.fate.name().to_owned()),
        },
        match stands {
            true => Cell::Severity(f.severity),
            false => Cell::text(f.severity.name()),
        },
        Cell::text(&f.job),
        Cell::text(&f.rule),
        Cell::text(&f.subject),
        Cell::text(&f.message),
        Cell::text(&compared.was),
        Cell::text(if stands { f.found.as_str() } else { "" }),
        Cell::text(&f.limit),
        Cell::text(if stands { f.remedy.as_str() } else { "" }),
        Cell::text(&f.file),
        Cell::text(place),
        Cell::text(&f.id),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn finding(key: &str, id: &str, found: &str) -> Record {
        Record {
            job: key.to_lowercase(),
            job_key: key.into(),
            file: "a.csv".into(),
            cell: "B2".into(),
            subject: "FC-1".into(),
            message: "=wrong".into(),
            found: found.into(),
            id: id.into(),
            ..Record::of("protection-over-mop", Severity::Fix)
        }
    }

    fn side(keys: &[&str], findings: Vec<Record>) -> Side {
        let job = |key: &&str| JobState {
            key: (*key).into(),
            job: key.to_lowercase(),
            ..JobState::default()
        };
        Side {
            findings,
            jobs: keys.iter().map(job).collect(),
            unchecked: BTreeMap::new(),
        }
    }

    fn fates(comparison: &Comparison) -> Vec<(&str, Fate)> {
        let all = comparison.findings.iter();
        all.map(|c| (c.finding.id.as_str(), c.fate)).collect()
    }

    #[test]
    fn findings_are_followed_by_their_ids() {
        let old = side(
            &["A", "B"],
            vec![
                finding("A", "mended", "60 A"),
                finding("A", "left", "70 A"),
                finding("B", "away", "80 A"),
            ],
        );
        let mut new = side(
            &["A", "C"],
            vec![
                finding("A", "fresh", "20 A"),
                finding("A", "left", "75 A"),
                finding("C", "first", "30 A"),
            ],
        );
        let comparison = compare(&old, &new);
        assert_eq!(
            fates(&comparison),
            [
                ("left", Fate::StillOpen),
                ("fresh", Fate::New),
                ("mended", Fate::Gone),
                ("first", Fate::NewJob),
                ("away", Fate::NotResubmitted),
            ]
        );
        let left = &comparison.findings[0];
        assert_eq!(
            (left.was.as_str(), left.finding.found.as_str()),
            ("70 A", "75 A")
        );
        assert_eq!(comparison.jobs[0].counts, [1, 1, 0, 0, 1, 0, 0]);
        // The rule checked less than before: no proof of a mend.
        new.unchecked
            .insert(("A".into(), "protection-over-mop".into()), 1);
        let comparison = compare(&old, &new);
        assert_eq!(comparison.findings[2].fate, Fate::GoneUnchecked);
        let csv = String::from_utf8(csv(&comparison).unwrap()).unwrap();
        assert_eq!(csv.lines().count(), 6);
        assert!(csv.contains("\nstill open,a,protection-over-mop,fix,FC-1,,'=wrong,70 A,75 A,"));
    }

    #[test]
    fn two_findings_of_one_id_are_two() {
        let two = vec![finding("A", "same", "1 A"), finding("A", "same", "2 A")];
        let one = vec![finding("A", "same", "1 A")];
        let less = compare(&side(&["A"], two.clone()), &side(&["A"], one.clone()));
        assert_eq!(less.count(Fate::StillOpen), 1);
        assert_eq!(less.count(Fate::Gone), 1);
        let more = compare(&side(&["A"], one), &side(&["A"], two));
        assert_eq!(more.count(Fate::New), 1);
    }
}
