//! The output folder: every file written whole or not at all, nothing of the
//! user's overwritten, what we wrote before replaced.

use super::discover::MANIFEST;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::Mutex;

/// `DIR/ampledger.json`.
#[derive(Debug, Default, Serialize, Deserialize)]
struct Manifest {
    /// Says what the file is to whoever opens it.
    about: String,
    version: String,
    /// Relative path to the hash of what we wrote there.
    outputs: BTreeMap<String, String>,
    /// Outputs into which remarks of people were carried over: read again
    /// before they are replaced, as those are that were changed since.
    #[serde(default)]
    with_remarks: BTreeSet<String>,
}

/// A folder that we write into.
#[derive(Debug)]
pub struct OutputFolder {
    root: PathBuf,
    /// What an earlier run wrote.
    before: BTreeMap<String, String>,
    with_remarks_before: BTreeSet<String>,
    with_remarks: Mutex<BTreeSet<String>>,
    now: Mutex<BTreeMap<String, String>>,
    kept: Mutex<Vec<String>>,
}

/// Why an output folder cannot be used, in a sentence.
#[derive(Debug)]
pub struct NotOurs(pub String);

impl OutputFolder {
    /// Opens or makes the folder. A folder that exists, holds something and
    /// was not made by us is left alone unless `force`.
    ///
    /// # Errors
    /// [`NotOurs`] where it may not be written into, or cannot be made.
    pub fn open(root: &Path, force: bool) -> Result<Self, NotOurs> {
        let manifest = root.join(MANIFEST);
        let earlier = match std::fs::read(&manifest) {
            Ok(bytes) => match serde_json::from_slice::<Manifest>(&bytes) {
                Ok(manifest) => manifest,
                Err(_) if force => Manifest::default(),
                Err(_) => {
                    return Err(NotOurs(format!(
                        "{} cannot be understood, so what it lists is not known; give another folder with --out, or --force to write here (files in the way are moved to {}).",
                        manifest.display(),
                        root.join("kept").display()
                    )));
                }
            },
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                let occupied = match std::fs::read_dir(root) {
                    Ok(mut entries) => entries.next().is_some(),
                    Err(error) if error.kind() == io::ErrorKind::NotFound => false,
                    Err(error) => {
                        return Err(NotOurs(format!(
                            "{} cannot be used: {error}.",
                            root.display()
                        )));
                    }
                };
                if occupied && !force {
                    return Err(NotOurs(format!(
                        "{} exists and was not written by ampledger; give another folder with --out, or --force to write here (files in the way are moved to {}).",
                        root.display(),
                        root.join("kept").display()
                    )));
                }
                Manifest::default()
            }
            Err(error) => {
                return Err(NotOurs(format!(
                    "{} cannot be read: {error}.",
                    manifest.display()
                )));
            }
        };
        std::fs::create_dir_all(root)
            .map_err(|error| NotOurs(format!("{} cannot be made: {error}.", root.display())))?;
        let folder = Self {
            root: root.to_path_buf(),
            before: earlier.outputs,
            with_remarks: Mutex::new(earlier.with_remarks.clone()),
            with_remarks_before: earlier.with_remarks,
            now: Mutex::new(BTreeMap::new()),
            kept: Mutex::new(Vec::new()),
        };
        // Marked as ours from the first moment: a run that is cut short can
        // be repeated, and the folder is not taken for schedules.
        folder.write_manifest(&folder.before).map_err(|error| {
            NotOurs(format!(
                "{} cannot be written into: {error}.",
                root.display()
            ))
        })?;
        Ok(folder)
    }

    pub fn root(&self) -> &Path {
        &self.root
    }

    /// What stands at a relative path now, if anything.
    pub fn existing(&self, relative: &str) -> Option<PathBuf> {
        let path = self.root.join(relative);
        path.is_file().then_some(path)
    }

    /// Whether what stands at a relative path may hold what a person typed:
    /// it was changed since we wrote it, or we carried remarks over into it.
    pub fn may_hold_remarks(&self, relative: &str) -> bool {
        self.with_remarks_before.contains(relative)
            || std::fs::read(self.root.join(relative))
                .is_ok_and(|bytes| self.before.get(relative) != Some(&hash(&bytes)))
    }

    /// Notes that remarks were carried over into an output.
    pub fn carries_remarks(&self, relative: &str) {
        lock(&self.with_remarks).insert(relative.to_owned());
    }

    /// Writes one output. What stands there and is not what we wrote is
    /// moved to `kept/` first.
    ///
    /// # Errors
    /// What the file system says; nothing is left half-written.
    pub fn write(&self, relative: &str, bytes: &[u8]) -> io::Result<()> {
        let path = self.root.join(relative);
        let folder = path.parent().unwrap_or(&self.root);
        self.stay_inside(folder)?;
        self.keep_if_changed(relative, &path)?;
        let mut file = tempfile::Builder::new()
            .prefix(".ampledger-")
            .tempfile_in(folder)?;
        file.write_all(bytes)?;
        file.flush()?;
        file.persist(&path).map_err(|error| error.error)?;
        widen_permissions(&path)?;
        lock(&self.now).insert(relative.to_owned(), hash(bytes));
        Ok(())
    }

    /// Makes the folder of an output, and refuses one that links lead out of
    /// the output folder.
    fn stay_inside(&self, folder: &Path) -> io::Result<()> {
        std::fs::create_dir_all(folder)?;
        let root = std::fs::canonicalize(&self.root)?;
        let real = std::fs::canonicalize(folder)?;
        if real.starts_with(&root) {
            Ok(())
        } else {
            Err(io::Error::other(format!(
                "{} leads out of the output folder",
                folder.display()
            )))
        }
    }

    fn keep_if_changed(&self, relative: &str, path: &Path) -> io::Result<()> {
        let there = match std::fs::read(path) {
            Ok(bytes) => bytes,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
            Err(error) => return Err(error),
        };
        if self.before.get(relative) == Some(&hash(&there)) {
            return Ok(());
        }
        let mut kept = self.root.join("kept").join(relative);
        let mut count = 1;
        while kept.exists() {
            count += 1;
            let stem = path.file_stem().unwrap_or_default().to_string_lossy();
            let ending = path
                .extension()
                .map_or_else(String::new, |e| format!(".{}", e.to_string_lossy()));
            kept.set_file_name(format!("{stem} ({count}){ending}"));
        }
        if let Some(folder) = kept.parent() {
            self.stay_inside(folder)?;
        }
        std::fs::rename(path, &kept)?;
        let shown = kept.strip_prefix(&self.root).unwrap_or(&kept);
        lock(&self.kept).push(format!(
            "{relative} was changed since; moved to {}",
            shown.display()
        ));
        Ok(())
    }

    /// Ends the run: outputs of an earlier run that this one did not write
    /// are removed where they are as we wrote them, kept where not; the
    /// manifest is written. Returns a sentence for each file kept.
    ///
    /// # Errors
    /// What the file system says of the manifest.
    pub fn finish(&self) -> io::Result<Vec<String>> {
        let now = lock(&self.now).clone();
        for relative in self
            .before
            .keys()
            .filter(|relative| !now.contains_key(*relative))
        {
            // Never outside: a manifest that somebody edited is not trusted.
            let plain = Path::new(relative)
                .components()
                .all(|part| matches!(part, std::path::Component::Normal(_)));
            let path = self.root.join(relative);
            if plain && path.is_file() {
                self.keep_if_changed(relative, &path)?;
                if path.is_file() {
                    std::fs::remove_file(&path)?;
                }
            }
        }
        self.write_manifest(&now)?;
        let mut kept = lock(&self.kept).clone();
        kept.sort();
        Ok(kept)
    }

    fn write_manifest(&self, outputs: &BTreeMap<String, String>) -> io::Result<()> {
        let manifest = Manifest {
            about: "Written by ampledger: lists its outputs, so that a file changed by hand is kept and never overwritten.".to_owned(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            outputs: outputs.clone(),
            with_remarks: lock(&self.with_remarks)
                .iter()
                .filter(|relative| outputs.contains_key(*relative))
                .cloned()
                .collect(),
        };
        let mut file = tempfile::Builder::new()
            .prefix(".ampledger-")
            .tempfile_in(&self.root)?;
        serde_json::to_writer_pretty(&mut file, &manifest)?;
        file.write_all(b"\n")?;
        file.persist(self.root.join(MANIFEST))
            .map_err(|error| error.error)?;
        widen_permissions(&self.root.join(MANIFEST))
    }
}

/// A temporary file is readable by its owner alone; an output is for the
/// office.
#[cfg(unix)]
fn widen_permissions(path: &Path) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    std::fs::set_permissions(path, std::fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn widen_permissions(_: &Path) -> io::Result<()> {
    Ok(())
}

fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

/// A panic in another job must not take this one's output along.
fn lock<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex
        .lock()
        .unwrap_or_else(std::sync::PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_user_changed_is_kept_and_what_is_stale_goes() -> Result<(), Box<dyn std::error::Error>>
    {
        let root = tempfile::tempdir()?;
        let dir = root.path().join("audited");
        let open = || OutputFolder::open(&dir, false).map_err(|e| e.0);
        let first = open()?;
        first.write("jobs/a.xlsx", b"one")?;
        first.write("jobs/b.xlsx", b"two")?;
        first.write("jobs/c.xlsx", b"three")?;
        assert!(first.finish()?.is_empty());
        std::fs::write(dir.join("jobs/a.xlsx"), "a reviewer's words")?;
        let second = open()?;
        second.write("jobs/a.xlsx", b"new")?;
        second.write("jobs/b.xlsx", b"newer")?;
        let kept = second.finish()?;
        assert_eq!(kept.len(), 1, "{kept:?}");
        assert_eq!(
            std::fs::read(dir.join("kept/jobs/a.xlsx"))?,
            b"a reviewer's words"
        );
        assert_eq!(std::fs::read(dir.join("jobs/a.xlsx"))?, b"new");
        assert_eq!(std::fs::read(dir.join("jobs/b.xlsx"))?, b"newer");
        assert!(!dir.join("jobs/c.xlsx").exists(), "stale and unchanged");
        Ok(())
    }

    #[test]
    fn a_folder_that_is_not_ours_is_left_alone() -> Result<(), Box<dyn std::error::Error>> {
        let root = tempfile::tempdir()?;
        std::fs::write(root.path().join("thesis.txt"), "mine")?;
        assert!(OutputFolder::open(root.path(), false).is_err());
        let forced = OutputFolder::open(root.path(), true).map_err(|e| e.0)?;
        forced.write("thesis.txt", b"ours")?;
        forced.finish()?;
        assert_eq!(std::fs::read(root.path().join("kept/thesis.txt"))?, b"mine");
        Ok(())
    }

    #[cfg(unix)]
    #[test]
    fn a_link_does_not_lead_outside() -> Result<(), Box<dyn std::error::Error>> {
        let root = tempfile::tempdir()?;
        let outside = tempfile::tempdir()?;
        let dir = root.path().join("audited");
        let folder = OutputFolder::open(&dir, false).map_err(|e| e.0)?;
        std::os::unix::fs::symlink(outside.path(), dir.join("jobs"))?;
        assert!(folder.write("jobs/a.xlsx", b"one").is_err());
        assert!(std::fs::read_dir(outside.path())?.next().is_none());
        Ok(())
    }
}
