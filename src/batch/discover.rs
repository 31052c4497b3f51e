//! Which files of the named paths are schedules' files.
//!
//! Walking down a folder, candidates are known by their names; what the
//! content really is, intake decides. A named path that is no candidate is
//! taken all the same: whoever names a file means it.

use crate::schedule::Name;
use std::collections::BTreeMap;
use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use walkdir::WalkDir;

/// Name of the manifest that marks a folder as written by us.
pub const MANIFEST: &str = "ampledger.json";

/// A file to read.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Candidate {
    /// Relative to the path that was named, `/` between its parts; outputs
    /// name the file so.
    pub relative: String,
    /// The folder part of `relative`; files of one folder may make one job.
    pub folder: String,
    pub path: PathBuf,
}

/// What was found under the named paths.
#[derive(Clone, Debug, Default)]
pub struct Discovery {
    /// By folder, then by relative path.
    pub candidates: Vec<Candidate>,
    /// Paths that cannot be read, with a sentence.
    pub unread: Vec<(String, String)>,
    /// By folder: how many files are no schedules by their names.
    pub others: BTreeMap<String, u64>,
    /// Folders skipped because we wrote them.
    pub own_outputs: Vec<String>,
}

/// Walks the named paths.
pub fn discover(paths: &[PathBuf]) -> Discovery {
    let mut found = Discovery::default();
    let mut roots: Vec<&PathBuf> = paths.iter().collect();
    roots.sort();
    roots.dedup();
    let prefixes = prefixes(&roots);
    for (root, prefix) in roots.into_iter().zip(prefixes) {
        match std::fs::metadata(root) {
            Ok(meta) if meta.is_dir() => walk(root, &prefix, &mut found),
            Ok(_) => {
                let name = root.file_name().unwrap_or(root.as_os_str());
                found.push(root.clone(), join(&prefix, &lossy(name)));
            }
            Err(error) => {
                let sentence = match error.kind() {
                    std::io::ErrorKind::NotFound => "There is no such file or folder.".to_owned(),
                    std::io::ErrorKind::PermissionDenied => {
                        "There is no permission to read it.".to_owned()
                    }
                    _ => format!("It cannot be read: {error}."),
                };
                found.unread.push((root.display().to_string(), sentence));
            }
        }
    }
    // A folder's files stand together, though names of its subfolders may
    // come between theirs.
    found
        .candidates
        .sort_by(|a, b| (&a.folder, &a.relative, &a.path).cmp(&(&b.folder, &b.relative, &b.path)));
    // The same file, named twice (a folder and a file in it), is read once.
    let mut seen = std::collections::HashSet::new();
    found.candidates.retain(|candidate| {
        let real = std::fs::canonicalize(&candidate.path);
        seen.insert(real.unwrap_or_else(|_| candidate.path.clone()))
    });
    found.unread.sort();
    found.own_outputs.sort();
    found
}

/// What goes before the relative paths of each root: nothing for a single
/// root; the folder's own name where several are named, with a number where
/// two bear the same name, so that outputs do not depend on where the
/// folders lie.
fn prefixes(roots: &[&PathBuf]) -> Vec<String> {
    let folders = roots.iter().filter(|root| root.is_dir()).count();
    let mut used: BTreeMap<String, u32> = BTreeMap::new();
    roots
        .iter()
        .map(|root| {
            if !root.is_dir() || folders < 2 {
                return String::new();
            }
            let real = std::fs::canonicalize(root).unwrap_or_else(|_| (*root).clone());
            let name = real.file_name().map_or_else(|| "folder".to_owned(), lossy);
            let count = used.entry(name.clone()).or_default();
            *count += 1;
            if *count == 1 {
                name
            } else {
                format!("{name} ({count})")
            }
        })
        .collect()
}

fn walk(root: &Path, prefix: &str, found: &mut Discovery) {
    // Named itself, an output folder of ours gives its workbooks back.
    let own = root.join(MANIFEST).is_file();
    let tops: Vec<PathBuf> = if own {
        ["annotated", "jobs"]
            .iter()
            .map(|part| root.join(part))
            .filter(|p| p.is_dir())
            .collect()
    } else {
        vec![root.to_path_buf()]
    };
    for top in tops {
        let mut walker = WalkDir::new(&top)
            .follow_links(true)
            .sort_by_file_name()
            .into_iter();
        while let Some(entry) = walker.next() {
            let entry = match entry {
                Ok(entry) => entry,
                Err(error) => {
                    let path = error.path().unwrap_or(&top).to_path_buf();
                    let sentence = if error.loop_ancestor().is_some() {
                        "It is a link that leads back to a folder above it.".to_owned()
                    } else {
                        format!("It cannot be read: {}.", plain(&error))
                    };
                    found.unread.push((relative(root, &path, prefix), sentence));
                    continue;
                }
            };
            let path = entry.path();
            let here = relative(root, path, prefix);
            if entry.file_type().is_dir() {
                if entry.depth() > 0 && path.join(MANIFEST).is_file() {
                    found.own_outputs.push(here);
                    walker.skip_current_dir();
                } else if entry.depth() > 0 && is_hidden(entry.file_name()) {
                    walker.skip_current_dir();
                }
            } else if is_lock_file(entry.file_name()) {
                // Left by a spreadsheet program that has the file open.
            } else if is_candidate(path) {
                found.push(path.to_path_buf(), here);
            } else {
                *found.others.entry(folder_of(&here).to_owned()).or_default() += 1;
            }
        }
    }
}

impl Discovery {
    fn push(&mut self, path: PathBuf, relative: String) {
        let folder = folder_of(&relative).to_owned();
        self.candidates.push(Candidate {
            relative,
            folder,
            path,
        });
    }
}

/// The folder part of a relative path; empty at the root.
pub fn folder_of(relative: &str) -> &str {
    relative.rsplit_once('/').map_or("", |(folder, _)| folder)
}

fn plain(error: &walkdir::Error) -> String {
    error
        .io_error()
        .map_or_else(|| error.to_string(), |io| io.to_string())
}

fn relative(root: &Path, path: &Path, prefix: &str) -> String {
    let rest = path.strip_prefix(root).unwrap_or(path);
    let parts: Vec<String> = rest
        .components()
        .map(|part| lossy(part.as_os_str()))
        .collect();
    join(prefix, &parts.join("/"))
}

fn join(prefix: &str, rest: &str) -> String {
    match (prefix.is_empty(), rest.is_empty()) {
        (true, _) => rest.to_owned(),
        (false, true) => prefix.to_owned(),
        (false, false) => format!("{prefix}/{rest}"),
    }
}

fn lossy(name: &OsStr) -> String {
    name.to_string_lossy().into_owned()
}

fn is_hidden(name: &OsStr) -> bool {
    name.to_string_lossy().starts_with('.')
}

/// `~$schedule.xlsx`, `.~lock.schedule.xlsx#`.
fn is_lock_file(name: &OsStr) -> bool {
    let name = name.to_string_lossy();
    name.starts_with("~$") || name.starts_with(".~lock")
}

/// Workbooks and text tables, by the ending of the name.
fn is_candidate(path: &Path) -> bool {
    let Some(ending) = path.extension() else {
        return false;
    };
    let ending = ending.to_string_lossy().to_lowercase();
    matches!(ending.as_str(), "csv" | "tsv" | "txt" | "ods") || ending.starts_with("xls")
}

/// A name for a file or folder made of a job's title: no separators, no
/// reserved names, no trailing dots, at most 80 characters.
pub fn file_name(title: &str) -> String {
    let mut name: String = title
        .chars()
        .map(|c| {
            if c.is_control() || "/\\:*?\"<>|".contains(c) {
                '-'
            } else {
                c
            }
        })
        .collect::<String>()
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    name = name.chars().take(80).collect();
    let name = name.trim_matches(|c: char| c == '.' || c == ' ');
    let reserved = {
        let stem = name
            .split('.')
            .next()
            .unwrap_or("")
            .trim_end()
            .to_ascii_uppercase();
        matches!(stem.as_str(), "CON" | "PRN" | "AUX" | "NUL")
            || (stem.len() == 4
                && (stem.starts_with("COM") || stem.starts_with("LPT"))
                && stem.ends_with(|c: char| c.is_ascii_digit()))
    };
    if name.is_empty() {
        "job".to_owned()
    } else if reserved {
        // What follows a dot does not make it another name.
        let (stem, ending) = name.split_at(name.find('.').unwrap_or(name.len()));
        format!("{stem}_{ending}")
    } else {
        name.to_owned()
    }
}

/// Distinct file names for titles in the given order, without regard to case:
/// the second of one name gets ` (2)`.
pub fn distinct_file_names(titles: &[String]) -> Vec<String> {
    let mut used: BTreeMap<String, u32> = BTreeMap::new();
    titles
        .iter()
        .map(|title| {
            let base = file_name(title);
            let mut name = base.clone();
            let mut count = 1;
            while used.contains_key(&name.to_lowercase()) {
                count += 1;
                name = format!("{base} ({count})");
            }
            used.insert(name.to_lowercase(), count);
            name
        })
        .collect()
}

/// Names of a job's drawings, `<job>-<system>`, distinct in the job and among
/// all jobs whose names are: a system's part holds no dash, so that the last
/// one tells where the job's name ends. `Elm` has `Elm-2_A` for its system
/// `2-A`, and `Elm-2` has `Elm-2-A` for its `A`.
pub fn drawing_names(job: &str, systems: &[String]) -> Vec<String> {
    let bare: Vec<String> = systems
        .iter()
        .map(|label| file_name(label).replace('-', "_"))
        .collect();
    distinct_file_names(&bare)
        .into_iter()
        .map(|system| format!("{job}-{system}"))
        .collect()
}

/// Orders file names as people do: `Job 2` before `Job 10`.
pub fn natural_key(text: &str) -> Vec<(u64, String)> {
    let mut parts = Vec::new();
    for token in Name::new(text).key().split('-') {
        match token.parse::<u64>() {
            Ok(number) => parts.push((number, String::new())),
            Err(_) => parts.push((u64::MAX, token.to_owned())),
        }
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn titles_become_safe_and_distinct_file_names() {
        for (title, name) in [
            ("Maple Court, 24 apartments", "Maple Court, 24 apartments"),
            ("../../etc/passwd", "-..-etc-passwd"),
            ("A/B: \"C\"", "A-B- -C-"),
            ("", "job"),
            ("...", "job"),
            ("CON", "CON_"),
            ("com1.xlsx", "com1_.xlsx"),
            ("tab\there", "tab-here"),
        ] {
            assert_eq!(file_name(title), name, "{title}");
        }
        let titles = ["Elm", "elm", "Oak", "ELM"].map(str::to_owned);
        assert_eq!(
            distinct_file_names(&titles),
            ["Elm", "elm (2)", "Oak", "ELM (3)"]
        );
        assert!(natural_key("Job 2") < natural_key("Job 10"));
    }

    #[test]
    fn drawings_of_two_jobs_never_have_one_name() {
        let jobs = ["Elm", "Elm-2", "Elm-2_A", "Elm-2-A", "elm (2)"].map(str::to_owned);
        let systems = [
            "A",
            "2-A",
            "2_A",
            "a",
            "2-A-A",
            "",
            "-",
            "A (2)",
            "\u{00c9}-1",
        ];
        let systems = systems.map(str::to_owned);
        let mut names: Vec<String> = distinct_file_names(&jobs)
            .iter()
            .flat_map(|job| drawing_names(job, &systems))
            .map(|name| name.to_lowercase())
            .collect();
        names.sort();
        let all = names.len();
        names.dedup();
        assert_eq!((names.len(), all), (all, jobs.len() * systems.len()));
        assert_eq!(drawing_names("Elm", &systems)[..2], ["Elm-A", "Elm-2_A"]);
        assert_eq!(drawing_names("Elm-2", &systems)[0], "Elm-2-A");
    }

    #[test]
    fn a_walk_takes_schedules_and_counts_the_rest() -> std::io::Result<()> {
        let root = tempfile::tempdir()?;
        let path = |name: &str| root.path().join(name);
        std::fs::create_dir_all(path("jobs/one"))?;
        std::fs::create_dir_all(path("audited/jobs"))?;
        for name in [
            "README.md",
            "jobs/one/equipment.csv",
            "jobs/~$open.xlsx",
            "jobs/two.XLSX",
            "audited/ampledger.json",
            "audited/jobs/two.xlsx",
        ] {
            std::fs::write(path(name), "x")?;
        }
        let found = discover(&[root.path().to_path_buf()]);
        let names: Vec<_> = found
            .candidates
            .iter()
            .map(|c| c.relative.as_str())
            .collect();
        assert_eq!(names, ["jobs/two.XLSX", "jobs/one/equipment.csv"]);
        assert_eq!(found.candidates[1].folder, "jobs/one");
        assert_eq!(found.others, BTreeMap::from([(String::new(), 1)]));
        assert_eq!(found.own_outputs, ["audited"]);
        // Files of one folder stand together, whatever stands below it.
        std::fs::write(path("jobs/z.csv"), "x")?;
        std::fs::write(path("jobs/a.csv"), "x")?;
        let found = discover(&[root.path().to_path_buf()]);
        let folders: Vec<_> = found.candidates.iter().map(|c| c.folder.as_str()).collect();
        assert_eq!(folders, ["jobs", "jobs", "jobs", "jobs/one"]);
        // Named itself, the output folder is read.
        let own = discover(&[path("audited")]);
        assert_eq!(own.candidates[0].relative, "jobs/two.xlsx");
        let none = discover(&[path("nowhere")]);
        assert_eq!(none.unread.len(), 1);
        Ok(())
    }
}
