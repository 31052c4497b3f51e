//! One job, submitted more than once.

use super::JOB_SUBMITTED_TWICE;
use crate::findings::{RuleTally, Severity, finding_id};
use crate::report::ReportError;
use crate::report::batch::JobRow;
use crate::report::jobs::{Job, Jobs};
use crate::report::record::Record;
use crate::schedule::Name;
use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};

/// A revision, as far as revisions can be put in order.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Revision {
    /// None is stated: the first submission.
    None,
    Number(u64),
    Letter(String),
    Other(String),
}

impl Revision {
    /// From `Rev. 2`, `R2`, `2`, `B`; of a job that states none, from the
    /// name of its first file.
    fn of(row: &JobRow) -> Self {
        let stated = Name::new(&row.about.revision);
        let mut words: Vec<&str> = stated.key().split('-').filter(|w| !w.is_empty()).collect();
        if matches!(words.first(), Some(&("REV" | "REVISION" | "R"))) && words.len() > 1 {
            words.remove(0);
        }
        match words.as_slice() {
            [] => row
                .files
                .first()
                .map_or(Self::None, |file| Self::of_file(file)),
            [word] => Self::of_word(word),
            _ => Self::Other(stated.key().to_owned()),
        }
    }

    fn of_file(file: &str) -> Self {
        let name = file.rsplit('/').next().unwrap_or(file);
        let stem = name.rsplit_once('.').map_or(name, |(stem, _)| stem);
        let key = Name::new(stem);
        let words: Vec<&str> = key.key().split('-').collect();
        words
            .windows(2)
            .find(|pair| matches!(pair, [word, _] if matches!(*word, "REV" | "REVISION")))
            .and_then(|pair| pair.get(1))
            .map_or(Self::None, |word| Self::of_word(word))
    }

    fn of_word(word: &str) -> Self {
        match word.parse() {
            Ok(number) => Self::Number(number),
            Err(_) if word.chars().count() == 1 => Self::Letter(word.to_owned()),
            Err(_) => Self::Other(word.to_owned()),
        }
    }

    /// `None` where nobody can say which comes later.
    fn order(&self, other: &Self) -> Option<Ordering> {
        match (self, other) {
            (a, b) if a == b => Some(Ordering::Equal),
            (Self::Other(_), _) | (_, Self::Other(_)) => None,
            (Self::None, Self::Number(0)) | (Self::Number(0), Self::None) => Some(Ordering::Equal),
            (Self::None, _) => Some(Ordering::Less),
            (_, Self::None) => Some(Ordering::Greater),
            (Self::Number(a), Self::Number(b)) => Some(a.cmp(b)),
            (Self::Letter(a), Self::Letter(b)) => Some(a.cmp(b)),
            // Letters before numbers, or numbers before letters: offices differ.
            _ => None,
        }
    }
}

/// Which of two submissions of one job came later; `None` where nothing says.
fn later(a: &JobRow, b: &JobRow) -> Option<Ordering> {
    let revisions = Revision::of(a).order(&Revision::of(b));
    let (x, y) = (&a.about.date, &b.about.date);
    let dates = (!x.is_empty() && !y.is_empty()).then(|| x.cmp(y));
    match (revisions, dates) {
        (Some(Ordering::Equal), Some(dates)) => Some(dates),
        (Some(order), _) => Some(order),
        // Revisions that cannot be compared, of one day.
        (None, Some(Ordering::Equal)) => None,
        (None, dates) => dates,
    }
}

fn tags(job: Job) -> Result<BTreeSet<String>, ReportError> {
    let units = job.facts()?.units.into_iter();
    Ok(units
        .map(|unit| Name::new(&unit.tag).key().to_owned())
        .collect())
}

/// A job, and the tags of its units.
struct Tagged<'a> {
    at: usize,
    row: &'a JobRow,
    tags: BTreeSet<String>,
}

/// At least half of all tags of both are in both.
fn alike(a: &BTreeSet<String>, b: &BTreeSet<String>) -> bool {
    let shared = a.intersection(b).count();
    let all = a.union(b).count();
    all > 0 && shared * 2 >= all
}

/// Whether two jobs of one key are submissions of one job.
fn one_job(a: &Tagged, b: &Tagged) -> bool {
    if share_a_file(a.row, b.row) {
        return false;
    }
    let (left, right) = (&a.row.about, &b.row.about);
    let numbered = !left.number.is_empty() && !right.number.is_empty();
    let names_agree = left.name.is_empty()
        || right.name.is_empty()
        || Name::new(&left.name).key() == Name::new(&right.name).key();
    (numbered && names_agree) || alike(&a.tags, &b.tags)
}

fn share_a_file(a: &JobRow, b: &JobRow) -> bool {
    a.files.iter().any(|file| b.files.contains(file))
}

pub(super) fn judge(jobs: &mut Jobs) -> Result<RuleTally, ReportError> {
    let rows: Vec<&JobRow> = jobs.rows().collect();
    let mut by_key: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (at, row) in rows.iter().enumerate() {
        by_key.entry(&row.about.key).or_default().push(at);
    }
    let mut verdicts: BTreeMap<usize, Verdict> = BTreeMap::new();
    for members in by_key.into_values().filter(|members| members.len() > 1) {
        for group in groups(jobs, &members)? {
            order(&rows, &group, &mut verdicts);
        }
    }
    repeats(&rows, &mut verdicts);
    let broken = verdicts.len() as u64;
    let met = rows.len() as u64 - broken;
    let mut ordinals: BTreeMap<(String, String), u32> = BTreeMap::new();
    let mut found: Vec<(usize, Option<Record>)> = Vec::new();
    for (&at, verdict) in &verdicts {
        let record = rows.get(at).and_then(|row| {
            let revision = format!("{:?}", Revision::of(row));
            let key = (row.about.key.clone(), revision);
            let ordinal = ordinals.entry(key).or_default();
            *ordinal += 1;
            verdict.record(&rows, row, *ordinal - 1)
        });
        found.push((at, record));
    }
    for (at, record) in found {
        if let Some(Verdict::Superseded { file, .. }) = verdicts.get(&at) {
            jobs.supersede(at, file);
        }
        if let Some(record) = record {
            jobs.add(at, record);
        }
    }
    Ok(RuleTally {
        met,
        broken,
        ..RuleTally::new(JOB_SUBMITTED_TWICE)
    })
}

/// Splits jobs of one key into sets of submissions of one job.
fn groups(jobs: &Jobs, members: &[usize]) -> Result<Vec<Vec<usize>>, ReportError> {
    let mut groups: Vec<Vec<Tagged>> = Vec::new();
    for &at in members {
        let Some(job) = jobs.get(at) else { continue };
        let (row, tags) = (job.row(), tags(job)?);
        let member = Tagged { at, row, tags };
        let home = groups
            .iter_mut()
            .find(|group| group.iter().all(|other| one_job(&member, other)));
        match home {
            Some(group) => group.push(member),
            None => groups.push(vec![member]),
        }
    }
    groups.retain(|group| group.len() > 1);
    let places = |group: Vec<Tagged>| group.into_iter().map(|member| member.at).collect();
    Ok(groups.into_iter().map(places).collect())
}

#[derive(Debug)]
enum Verdict {
    Superseded {
        file: String,
        /// `revision 2 of 2026-03-31`.
        by: String,
        same: bool,
    },
    /// Nothing says which of these is current.
    Undecided { with: Vec<usize> },
    /// The same schedule as another job's.
    Repeats { of: usize },
}

fn order(rows: &[&JobRow], group: &[usize], verdicts: &mut BTreeMap<usize, Verdict>) {
    let row = |at: usize| rows.get(at).copied();
    let order = |a: usize, b: usize| later(row(a)?, row(b)?);
    let content = |at: usize| rows.get(at).map(|row| row.about.content.as_str());
    // Those that no other member is known to come after.
    let mut latest: Vec<usize> = group
        .iter()
        .copied()
        .filter(|&a| group.iter().all(|&b| order(a, b) != Some(Ordering::Less)))
        .collect();
    // One schedule sent twice is one submission: the first of them stands.
    let mut seen: BTreeSet<&str> = BTreeSet::new();
    latest.retain(|&at| content(at).is_none_or(|said| said.is_empty() || seen.insert(said)));
    let (Some(&current), 1) = (latest.first(), latest.len()) else {
        for &at in &latest {
            let with = latest.iter().copied().filter(|&o| o != at).collect();
            verdicts.insert(at, Verdict::Undecided { with });
        }
        return;
    };
    for &at in group.iter().filter(|&&at| at != current) {
        let by = row(current).map_or_else(String::new, submission);
        let file = row(current).and_then(|row| row.files.first().cloned());
        verdicts.insert(
            at,
            Verdict::Superseded {
                file: file.unwrap_or_default(),
                by,
                same: content(at) == content(current),
            },
        );
    }
}

/// The same schedule under another key: named at the later of the two.
fn repeats(rows: &[&JobRow], verdicts: &mut BTreeMap<usize, Verdict>) {
    let mut first: BTreeMap<&str, usize> = BTreeMap::new();
    for (at, row) in rows.iter().enumerate() {
        let content = row.about.content.as_str();
        if content.is_empty() || verdicts.contains_key(&at) {
            continue;
        }
        let Some(&of) = first.get(content) else {
            first.insert(content, at);
            continue;
        };
        let Some(other) = rows.get(of) else { continue };
        let (a, b) = (&row.about, &other.about);
        let told_apart = !a.number.is_empty() && !b.number.is_empty() && a.number != b.number;
        if !told_apart && !share_a_file(row, other) {
            verdicts.insert(at, Verdict::Repeats { of });
        }
    }
}

/// `revision 2 of 2026-03-31 in FILE`.
fn submission(row: &JobRow) -> String {
    let about = &row.about;
    let mut text = match Revision::of(row) {
        Revision::None => "the submission without a revision".to_owned(),
        Revision::Number(number) => format!("revision {number}"),
        Revision::Letter(letter) => format!("revision {letter}"),
        Revision::Other(_) => format!("revision {}", about.revision),
    };
    if !about.date.is_empty() {
        text.push_str(&format!(" of {}", about.date));
    }
    text.push_str(&format!(" in {}", row.files.join(", ")));
    text
}

impl Verdict {
    fn record(&self, rows: &[&JobRow], row: &JobRow, ordinal: u32) -> Option<Record> {
        let own = submission(row);
        let (message, found, limit, remedy) = match self {
            Self::Superseded { by, same, .. } => {
                let how = match same {
                    true => "It says the same.",
                    false => "What it says differs.",
                };
                (
                    format!(
                        "This submission ({own}) is superseded by {by}. {how} It is outside all totals."
                    ),
                    own,
                    by.clone(),
                    "Work from the current submission; take the older one out of the folder."
                        .to_owned(),
                )
            }
            Self::Undecided { with } => {
                let others: Vec<String> = with
                    .iter()
                    .filter_map(|&at| Some(submission(rows.get(at)?)))
                    .collect();
                let others = others.join("; ");
                (
                    format!(
                        "The same job was submitted as {own} and as {others}; they differ, and neither a revision nor a date says which is current. All are counted."
                    ),
                    own,
                    others,
                    "State the revision or the date in each submission, or take the older one out."
                        .to_owned(),
                )
            }
            Self::Repeats { of } => {
                let other = rows.get(*of)?;
                (
                    format!(
                        "The schedule is the same as that of {} ({}): one job under two names, or one plan built twice. Both are counted.",
                        other.job,
                        other.files.join(", ")
                    ),
                    "the same schedule".to_owned(),
                    String::new(),
                    "If it is one job, take one of them out; if not, give each its job number."
                        .to_owned(),
                )
            }
        };
        let about = &row.about;
        let file = row.files.first().cloned().unwrap_or_default();
        Some(Record {
            job: row.job.clone(),
            job_key: about.key.clone(),
            // Two submissions of one job are two subjects.
            id: finding_id(
                &about.key,
                JOB_SUBMITTED_TWICE,
                &format!("job:{:?}", Revision::of(row)),
                "",
                ordinal,
            ),
            file,
            subject: row.job.clone(),
            message,
            found,
            limit,
            remedy,
            source: "the schedules themselves".to_owned(),
            ..Record::of(JOB_SUBMITTED_TWICE, Severity::Note)
        })
    }
}
