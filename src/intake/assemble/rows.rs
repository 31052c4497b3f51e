//! Which rows of a table belong to which job, where a column tells.

use super::ReadFile;
use super::reader::{Reader, Set};
use crate::intake::notation::free_text;
use crate::schedule::{FieldName, Name, RowIndex};
use std::collections::BTreeMap;

/// A job as a column names it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JobName {
    pub number: Option<String>,
    pub name: Option<String>,
}

impl JobName {
    /// The key of the job: of its number, else of its name.
    pub fn key(&self) -> String {
        let text = self.number.as_deref().or(self.name.as_deref());
        text.map_or_else(String::new, |text| Name::new(text).key().to_owned())
    }
}

/// The jobs of one table with a job column.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JobKeyOfRows {
    /// Index into [`ReadFile::tables`].
    pub table: usize,
    /// In the order of their first rows.
    pub jobs: Vec<JobName>,
    /// For each row of the table, in its order, an index into `jobs`; `None`
    /// for rows above the first that names a job.
    pub of_row: Vec<Option<u32>>,
}

impl JobKeyOfRows {
    /// The rows of each job, in the order of [`Self::jobs`].
    pub fn rows_by_job(&self, rows: &[RowIndex]) -> Vec<Vec<RowIndex>> {
        let mut by_job = vec![Vec::new(); self.jobs.len()];
        for (row, job) in rows.iter().zip(&self.of_row) {
            if let Some(list) = job.and_then(|job| by_job.get_mut(job as usize)) {
                list.push(*row);
            }
        }
        by_job
    }
}

/// The job of each row, for the tables of a file that have a column for it.
///
/// A blank cell means the job above: authors leave repeats blank, or merge
/// the cells. A row that leaves the number blank and repeats the name of the
/// job above is of that job.
pub fn rows_by_job(file: &ReadFile) -> Vec<JobKeyOfRows> {
    let mut tables = Vec::new();
    for (index, found) in file.tables.iter().enumerate() {
        let Some(sheet) = file.book.sheet(found.sheet) else {
            continue;
        };
        let mut reader = Reader::new(found, sheet, file.book.epoch_1904, file.style, 0);
        let number = reader.has(FieldName::JobNumber);
        if !number && !reader.has(FieldName::JobName) {
            continue;
        }
        let mut seen: BTreeMap<String, u32> = BTreeMap::new();
        let mut jobs: Vec<JobName> = Vec::new();
        let mut of_row = Vec::with_capacity(found.rows.len());
        // Rows of one job mostly stand together: the texts of the row before
        // save building the key anew.
        let mut last: (String, String) = Default::default();
        let mut current = None;
        for &row in &found.rows {
            reader.go_to(row);
            let number = reader.text(FieldName::JobNumber).unwrap_or_default();
            let name = reader.text(FieldName::JobName).unwrap_or_default();
            if number == last.0 && name == last.1 {
                of_row.push(current);
                continue;
            }
            last = (number.into_owned(), name.into_owned());
            let stated = |field| {
                let text = reader.quietly(Set::Whole, field, free_text)?;
                Some(text.trim().to_owned()).filter(|text| !text.is_empty())
            };
            let job = JobName {
                number: stated(FieldName::JobNumber),
                name: stated(FieldName::JobName),
            };
            if let Some(known) = numbers_name(&job, current, &jobs) {
                current = Some(known);
            } else if job.number.is_some() || job.name.is_some() {
                current = Some(*seen.entry(job.key()).or_insert_with(|| {
                    jobs.push(job);
                    jobs.len() as u32 - 1
                }));
            }
            of_row.push(current);
        }
        tables.push(JobKeyOfRows {
            table: index,
            jobs,
            of_row,
        });
    }
    tables
}

/// The job above, where the row leaves its number blank and repeats its name.
fn numbers_name(job: &JobName, current: Option<u32>, jobs: &[JobName]) -> Option<u32> {
    let (None, Some(name), Some(above)) = (&job.number, &job.name, current) else {
        return None;
    };
    let known = jobs.get(above as usize)?.name.as_deref()?;
    (Name::new(known) == Name::new(name)).then_some(above)
}
