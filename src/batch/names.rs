//! What the files that are written for jobs are called.

use super::discover::distinct_file_names;
use super::plan::Cluster;

/// File names of the jobs' workbooks, told before the first is written, so
/// that copies can link to them.
pub(super) struct JobNames {
    /// By cluster, then by job.
    names: Vec<Vec<String>>,
    pub total: usize,
}

impl JobNames {
    pub fn new(clusters: &[Cluster]) -> Self {
        // A job's title is known once its cells are read; its group knows
        // what it will be called for nearly all.
        let titles: Vec<String> = clusters
            .iter()
            .flat_map(|cluster| cluster.jobs.iter().map(|job| job.title.clone()))
            .collect();
        let mut distinct = distinct_file_names(&titles).into_iter();
        let names = clusters
            .iter()
            .map(|cluster| distinct.by_ref().take(cluster.jobs.len()).collect())
            .collect();
        Self {
            names,
            total: titles.len(),
        }
    }

    pub fn of(&self, cluster: usize, job: usize) -> &str {
        self.of_cluster(cluster)
            .get(job)
            .map_or("job", String::as_str)
    }

    pub fn of_cluster(&self, cluster: usize) -> &[String] {
        self.names.get(cluster).map_or(&[], Vec::as_slice)
    }
}

/// Endings that a copy keeps.
const KEPT_ENDINGS: [&str; 2] = [".xlsx", ".xlsm"];

/// `annotated/<relative path>`, as a workbook.
pub(super) fn annotated_name(path: &str) -> String {
    let lower = path.to_lowercase();
    match KEPT_ENDINGS.iter().any(|ending| lower.ends_with(ending)) {
        true => format!("annotated/{path}"),
        false => format!("annotated/{path}.xlsx"),
    }
}

/// `jobs/<job>.xlsx`; with macros where the job's one file, `of`, has them.
pub(super) fn job_name(name: &str, of: &str) -> String {
    match of.to_lowercase().ends_with(".xlsm") {
        true => format!("jobs/{name}.xlsm"),
        false => format!("jobs/{name}.xlsx"),
    }
}
