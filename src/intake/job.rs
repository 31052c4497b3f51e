//! Which files, and which rows of them, make a job, and why.
//!
//! Jobs never reach across folders: the caller hands over the files of one.

mod stem;

pub use stem::{Stem, stem_of};

use super::assemble::{JobName, ReadFile, RowChoice, facts_of, rows_by_job};
use crate::schedule::{Name, RowIndex, TableKind};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// What `--job-per` asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum JobPer {
    /// By what the files say.
    #[default]
    Facts,
    /// Each file is a job.
    File,
    /// All files of the folder are one job.
    Folder,
}

/// Why files or rows are one job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Together {
    /// The only file with tables in its folder.
    OnlyFile,
    /// Rows that a job column gives to it.
    Column,
    SameNumber(String),
    SameName(String),
    /// Their stems agree once table words and revision words are dropped.
    SameStem(String),
    /// No two of the folder's files hold the same kind of table.
    KindsApart,
    /// A file with equipment, beside others that are not of its job.
    OwnEquipment,
    /// As asked for.
    Asked(JobPer),
}

impl fmt::Display for Together {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OnlyFile => f.write_str("the only file with schedules in its folder"),
            Self::Column => f.write_str("rows of one job, by the job column"),
            Self::SameNumber(number) => write!(f, "the same job number, {number}"),
            Self::SameName(name) => write!(f, "the same job name, {name}"),
            Self::SameStem(stem) if stem.is_empty() => {
                f.write_str("file names that differ in table and revision words alone")
            }
            Self::SameStem(stem) => write!(f, "file names that agree in {stem}"),
            Self::KindsApart => f.write_str("files of one folder, no two with the same table"),
            Self::OwnEquipment => f.write_str("a file with equipment of its own"),
            Self::Asked(JobPer::File) => f.write_str("each file a job, as asked"),
            Self::Asked(_) => f.write_str("all files of the folder one job, as asked"),
        }
    }
}

/// The files of one job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JobGroup {
    /// Index into the files that were given, rising, and the rows taken.
    pub files: Vec<(usize, RowChoice)>,
    pub reason: Together,
    /// What the job is called where its schedules do not say.
    pub stem: String,
    /// What it is called: its name, else its number, else the stem.
    pub title: String,
}

/// A file, or tables of one, that no job takes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unjoined {
    pub file: usize,
    /// Index into the file's tables; empty for the whole file.
    pub tables: Vec<usize>,
    /// A whole sentence.
    pub says: String,
}

/// The jobs of a folder.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Grouping {
    pub jobs: Vec<JobGroup>,
    pub unjoined: Vec<Unjoined>,
}

/// Files or rows that belong together.
struct Cluster {
    parts: Vec<(usize, RowChoice)>,
    number: Option<String>,
    name: Option<String>,
    /// Keys of the files' stems; empty for the rows of a file with many jobs.
    stems: BTreeSet<String>,
    kinds: Vec<TableKind>,
    reason: Option<Together>,
    /// Rows of a file that holds other jobs too.
    of_column: bool,
}

impl Cluster {
    /// Neither number nor name says that they are two jobs.
    fn may_join(&self, other: &Self) -> bool {
        let differ = |a: &Option<String>, b: &Option<String>| match (a, b) {
            (Some(a), Some(b)) => key(a) != key(b),
            _ => false,
        };
        match (&self.number, &other.number) {
            (Some(_), Some(_)) => !differ(&self.number, &other.number),
            _ => !differ(&self.name, &other.name),
        }
    }

    fn take(&mut self, other: Self, reason: Together) {
        self.parts.extend(other.parts);
        self.number = self.number.take().or(other.number);
        self.name = self.name.take().or(other.name);
        self.stems.extend(other.stems);
        self.kinds.extend(other.kinds);
        self.of_column |= other.of_column;
        if !matches!(self.reason, Some(Together::SameNumber(_))) {
            self.reason = Some(reason);
        }
    }

    fn first(&self) -> usize {
        self.parts.iter().map(|(file, _)| *file).min().unwrap_or(0)
    }
}

fn key(text: &str) -> String {
    Name::new(text).key().to_owned()
}

/// What a file says of its jobs, whatever lies beside it: all that grouping
/// needs, so that its grids can leave memory.
pub struct Claims {
    path: String,
    /// One for the file, or one for each job that its job column names.
    clusters: Vec<Cluster>,
    unjoined: Vec<Unjoined>,
}

impl Claims {
    /// Those of a file without a table are none.
    pub fn of(file: &ReadFile) -> Self {
        let mut claims = Self {
            path: file.path.clone(),
            clusters: Vec::new(),
            unjoined: Vec::new(),
        };
        if !file.tables.is_empty() {
            split(file, &mut claims.clusters, &mut claims.unjoined);
        }
        claims
    }
}

/// Groups the files of one folder into jobs.
pub fn group(files: impl IntoIterator<Item = Claims>, per: JobPer) -> Grouping {
    let mut grouping = Grouping::default();
    let mut clusters = Vec::new();
    let mut paths = Vec::new();
    for (index, claims) in files.into_iter().enumerate() {
        for mut cluster in claims.clusters {
            cluster.parts.iter_mut().for_each(|(file, _)| *file = index);
            clusters.push(cluster);
        }
        let loose = claims.unjoined.into_iter();
        grouping.unjoined.extend(loose.map(|loose| Unjoined {
            file: index,
            ..loose
        }));
        paths.push(claims.path);
    }
    match per {
        JobPer::Facts => {
            let alone = clusters.len() == 1;
            clusters = join_by(
                clusters,
                |c| c.number.as_deref().map(key),
                |c| Together::SameNumber(c.number.clone().unwrap_or_default()),
            );
            clusters = join_by(
                clusters,
                |c| c.name.as_deref().map(key),
                |c| Together::SameName(c.name.clone().unwrap_or_default()),
            );
            clusters = join_by(clusters, only_stem, |c| {
                Together::SameStem(c.stems.first().cloned().unwrap_or_default())
            });
            clusters = join_apart(clusters);
            settle(clusters, alone, &paths, &mut grouping);
        }
        JobPer::File => settle_as_asked(clusters, per, &paths, &mut grouping),
        JobPer::Folder => {
            let (rows, whole): (Vec<_>, Vec<_>) = clusters.into_iter().partition(|c| c.of_column);
            let mut joined: Vec<Cluster> = Vec::new();
            for cluster in whole {
                match joined.first_mut() {
                    Some(first) => first.take(cluster, Together::Asked(per)),
                    None => joined.push(cluster),
                }
            }
            joined.extend(rows);
            settle_as_asked(joined, per, &paths, &mut grouping);
        }
    }
    grouping
}

/// A table of a file, and rows of it.
type RowsOfTable = (usize, Vec<RowIndex>);

/// A file as one cluster, or one for each job that its job column names.
fn split(file: &ReadFile, clusters: &mut Vec<Cluster>, unjoined: &mut Vec<Unjoined>) {
    // Its place among the others is not known yet.
    let index = 0;
    let columns = rows_by_job(file);
    let mut jobs: BTreeMap<String, (usize, JobName, Vec<RowsOfTable>)> = BTreeMap::new();
    let mut ownerless = Vec::new();
    for column in &columns {
        let Some(table) = file.tables.get(column.table) else {
            continue;
        };
        if column.of_row.iter().any(Option::is_none) {
            ownerless.push(column.table);
        }
        let rows = column.rows_by_job(&table.rows);
        for (job, rows) in column.jobs.iter().zip(rows) {
            let order = jobs.len();
            let entry = jobs
                .entry(job.key())
                .or_insert_with(|| (order, job.clone(), Vec::new()));
            entry.2.push((column.table, rows));
        }
    }
    let kinds: Vec<TableKind> = file.tables.iter().map(|table| table.kind).collect();
    if jobs.len() < 2 {
        let (mut number, mut name) = facts_of(file);
        if let Some((_, job, _)) = jobs.into_values().next() {
            number = job.number.or(number);
            name = job.name.or(name);
        }
        clusters.push(Cluster {
            parts: vec![(index, RowChoice::All)],
            number,
            name,
            stems: BTreeSet::from([stem_of(file.file_name()).key]),
            kinds,
            reason: None,
            of_column: false,
        });
        return;
    }
    let mut by_order: Vec<_> = jobs.into_values().collect();
    by_order.sort_by_key(|(order, ..)| *order);
    clusters.extend(by_order.into_iter().map(|(_, job, tables)| {
        Cluster {
            kinds: tables
                .iter()
                .filter_map(|(table, _)| file.tables.get(*table))
                .map(|table| table.kind)
                .collect(),
            parts: vec![(index, RowChoice::Rows(tables))],
            number: job.number,
            name: job.name,
            stems: BTreeSet::new(),
            reason: Some(Together::Column),
            of_column: true,
        }
    }));
    let without: Vec<usize> = (0..file.tables.len())
        .filter(|table| columns.iter().all(|column| column.table != *table))
        .collect();
    for (tables, what) in [
        (
            without,
            "have no job column, and the file holds several jobs",
        ),
        (
            ownerless,
            "begin with rows above the first that names a job",
        ),
    ] {
        if !tables.is_empty() {
            unjoined.push(Unjoined {
                file: index,
                says: format!("{} table(s) of the file {what}.", tables.len()),
                tables,
            });
        }
    }
}

fn only_stem(cluster: &Cluster) -> Option<String> {
    match cluster.stems.len() {
        1 => cluster.stems.first().cloned(),
        _ => None,
    }
}

/// Joins clusters that share a key, unless another fact tells them apart. A
/// key shared by clusters that cannot all be one job joins none of them.
fn join_by(
    clusters: Vec<Cluster>,
    key_of: impl Fn(&Cluster) -> Option<String>,
    reason: impl Fn(&Cluster) -> Together,
) -> Vec<Cluster> {
    let mut members: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (index, cluster) in clusters.iter().enumerate() {
        if let Some(key) = key_of(cluster) {
            members.entry(key).or_default().push(index);
        }
    }
    let mut home: Vec<usize> = (0..clusters.len()).collect();
    for group in members.values() {
        let (Some(&first), true) = (group.first(), group.len() > 1) else {
            continue;
        };
        let facts = |pick: fn(&Cluster) -> &Option<String>| {
            let stated: BTreeSet<String> = group
                .iter()
                .filter_map(|&i| clusters.get(i))
                .filter_map(|c| pick(c).as_deref().map(key))
                .collect();
            stated.len()
        };
        let numbers = facts(|c| &c.number);
        if numbers > 1 || numbers == 0 && facts(|c| &c.name) > 1 {
            continue;
        }
        for &other in &group[1..] {
            if let Some(home) = home.get_mut(other) {
                *home = first;
            }
        }
    }
    let mut joined: BTreeMap<usize, Cluster> = BTreeMap::new();
    for (cluster, home) in clusters.into_iter().zip(home) {
        match joined.get_mut(&home) {
            Some(first) => {
                let why = reason(first);
                first.take(cluster, why);
            }
            None => {
                joined.insert(home, cluster);
            }
        }
    }
    joined.into_values().collect()
}

/// All clusters as one job, where no two hold the same kind of table.
fn join_apart(clusters: Vec<Cluster>) -> Vec<Cluster> {
    let mut seen = BTreeSet::new();
    let apart = clusters.iter().all(|cluster| {
        let own: BTreeSet<TableKind> = cluster
            .kinds
            .iter()
            .copied()
            .filter(|kind| *kind != TableKind::JobFacts)
            .collect();
        let fresh = own.iter().all(|kind| !seen.contains(kind));
        seen.extend(own);
        fresh
    });
    let one = clusters
        .iter()
        .enumerate()
        .all(|(at, a)| !a.of_column && clusters.iter().take(at).all(|b| a.may_join(b)));
    if !apart || !one {
        return clusters;
    }
    let mut clusters = clusters.into_iter();
    let Some(mut first) = clusters.next() else {
        return Vec::new();
    };
    for other in clusters {
        first.take(other, Together::KindsApart);
    }
    vec![first]
}

fn settle(clusters: Vec<Cluster>, alone: bool, paths: &[String], grouping: &mut Grouping) {
    let only = clusters.len() == 1;
    for cluster in clusters {
        let several = cluster.parts.len() > 1 || cluster.of_column;
        let equipment = cluster.kinds.contains(&TableKind::Equipment);
        if !only && !several && !equipment {
            grouping.unjoined.push(Unjoined {
                file: cluster.first(),
                tables: Vec::new(),
                says: "The file holds no equipment, and nothing tells which job of \
                       its folder it belongs to."
                    .to_owned(),
            });
            continue;
        }
        let fallback = if alone {
            Together::OnlyFile
        } else {
            Together::OwnEquipment
        };
        push(cluster, fallback, paths, grouping);
    }
    grouping
        .jobs
        .sort_by_key(|job| job.files.first().map(|(file, _)| *file));
}

fn settle_as_asked(clusters: Vec<Cluster>, per: JobPer, paths: &[String], grouping: &mut Grouping) {
    for cluster in clusters {
        push(cluster, Together::Asked(per), paths, grouping);
    }
}

fn push(mut cluster: Cluster, fallback: Together, paths: &[String], grouping: &mut Grouping) {
    cluster.parts.sort_by_key(|(file, _)| *file);
    let stem = paths
        .get(cluster.first())
        .map(|path| stem_of_path(path))
        .unwrap_or_default();
    let stated = |text: Option<String>| text.filter(|text| !text.trim().is_empty());
    let title = stated(cluster.name).or(stated(cluster.number));
    grouping.jobs.push(JobGroup {
        title: title.unwrap_or_else(|| stem.clone()),
        files: cluster.parts,
        reason: cluster.reason.unwrap_or(fallback),
        stem,
    });
}

/// The stem of a file's name; its folder's where the name is all table and
/// revision words; else the name as it is.
fn stem_of_path(path: &str) -> String {
    let mut parts = path.rsplit('/');
    let file = parts.next().unwrap_or(path);
    let stem = stem_of(file).text;
    if !stem.is_empty() {
        return stem;
    }
    match parts.next() {
        Some(folder) if !folder.is_empty() => folder.to_owned(),
        _ => stem::without_extension(file).to_owned(),
    }
}

#[cfg(test)]
mod tests;
