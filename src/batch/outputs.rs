//! The output folder: every file written whole or not at all, nothing of the
//! user's overwritten, what we wrote before replaced.

use super::discover::MANIFEST;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};
use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use std::sync::Mutex;

/// `DIR/ampledger.json`.
#[derive(Debug, Default, Serialize, Deserialize)]
pub(super) struct Manifest {
    /// Says what the file is to whoever opens it.
    about: String,
    version: String,
    /// Relative path to the hash of what we wrote there.
    pub outputs: BTreeMap<String, String>,
    /// Outputs into which remarks of people were carried over: read again
    /// before they are replaced, as those are that were changed since.
    #[serde(default)]
    pub with_remarks: BTreeSet<String>,
}

/// Lines of what a run is about to write, so that the next one knows the
/// outputs of a run that was cut short. Gone once a manifest lists them.
const JOURNAL: &str = "ampledger.journal";

/// Begins the names of files that are not whole yet.
const UNFINISHED: &str = ".ampledger-";

/// A folder that we write into.
#[derive(Debug)]
pub struct OutputFolder {
    root: PathBuf,
    /// What earlier runs wrote. Several hashes of one output where a run was
    /// cut short: it may stand there as before or as written anew.
    before: BTreeMap<String, BTreeSet<String>>,
    journal: Mutex<Option<File>>,
    with_remarks_before: BTreeSet<String>,
    with_remarks: Mutex<BTreeSet<String>>,
    now: Mutex<BTreeMap<String, String>>,
    kept: Mutex<Vec<String>>,
}

/// What becomes of outputs of earlier runs that this one did not write.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stale {
    /// Removed where they are as we wrote them, moved to `kept/` where not.
    Goes,
    /// Left as they are, and listed on.
    Stays,
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
        Self::begin(root, earlier, !manifest.is_file())
    }

    /// Takes the folder for this run alone, and learns what a run that was
    /// cut short left in it.
    fn begin(root: &Path, earlier: Manifest, is_new: bool) -> Result<Self, NotOurs> {
        let refused = |error: io::Error| {
            NotOurs(format!(
                "{} cannot be written into: {error}.",
                root.display()
            ))
        };
        let journal = open_journal(root).map_err(refused)?;
        if let Err(std::fs::TryLockError::WouldBlock) = journal.try_lock() {
            return Err(NotOurs(format!(
                "Another run is writing into {}; wait for it, or give another folder with --out.",
                root.display()
            )));
        }
        let mut before: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
        for (relative, hash) in earlier.outputs.clone() {
            before.entry(relative).or_default().insert(hash);
        }
        let mut with_remarks_before = earlier.with_remarks.clone();
        for (hash, relative) in journalled(root).map_err(refused)? {
            // It is not known whether remarks were carried over, so all are
            // read again.
            with_remarks_before.insert(relative.clone());
            before.entry(relative).or_default().insert(hash);
        }
        remove_unfinished(root);
        let folder = Self {
            root: root.to_path_buf(),
            before,
            journal: Mutex::new(Some(journal)),
            with_remarks: Mutex::new(earlier.with_remarks),
            with_remarks_before,
            now: Mutex::new(BTreeMap::new()),
            kept: Mutex::new(Vec::new()),
        };
        // Marked as ours from the first moment: the folder is not taken for
        // schedules, and a run that is cut short can be repeated.
        if is_new {
            folder.write_manifest(&earlier.outputs).map_err(refused)?;
        }
        Ok(folder)
    }

    fn is_as_we_wrote_it(&self, relative: &str, hash: &str) -> bool {
        self.before
            .get(relative)
            .is_some_and(|hashes| hashes.contains(hash))
    }

    /// Before the output itself: one that stands there unannounced would be
    /// taken for a person's.
    fn announce(&self, relative: &str, hash: &str) -> io::Result<()> {
        match lock(&self.journal).as_mut() {
            Some(journal) => journal.write_all(format!("{hash} {relative}\n").as_bytes()),
            None => Ok(()),
        }
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
                .is_ok_and(|bytes| !self.is_as_we_wrote_it(relative, &hash(&bytes)))
    }

    /// Whether an output stands there exactly as the last run wrote it, which
    /// was not cut short since.
    pub fn stands_as_written(&self, relative: &str) -> bool {
        let known = self.before.get(relative);
        known.is_some_and(|hashes| hashes.len() == 1)
            && std::fs::read(self.root.join(relative))
                .is_ok_and(|bytes| self.is_as_we_wrote_it(relative, &hash(&bytes)))
    }

    /// Takes an output of the last run for one of this: it stays as it is.
    pub fn stays(&self, relative: &str) {
        let hash = self.before.get(relative).and_then(BTreeSet::first);
        if let Some(hash) = hash {
            lock(&self.now).insert(relative.to_owned(), hash.clone());
        }
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
        self.write_with(relative, |out| out.write_all(bytes))
    }

    /// The same, of an output that is too large to be held whole.
    ///
    /// # Errors
    /// What the file system says, or `fill`; nothing is left half-written.
    pub fn write_with<E: From<io::Error>>(
        &self,
        relative: &str,
        fill: impl FnOnce(&mut dyn Write) -> Result<(), E>,
    ) -> Result<(), E> {
        let path = self.root.join(relative);
        let folder = path.parent().unwrap_or(&self.root);
        self.stay_inside(folder)?;
        self.keep_if_changed(relative, &path)?;
        let mut file = tempfile::Builder::new()
            .prefix(UNFINISHED)
            .tempfile_in(folder)?;
        let hash = {
            let out = BufWriter::with_capacity(64 << 10, file.as_file_mut());
            let mut out = Hashing {
                out,
                hash: Sha256::new(),
            };
            fill(&mut out)?;
            out.flush()?;
            hex(&out.hash.finalize())
        };
        self.announce(relative, &hash)?;
        file.persist(&path).map_err(|error| error.error)?;
        widen_permissions(&path)?;
        lock(&self.now).insert(relative.to_owned(), hash);
        Ok(())
    }

    /// Makes the folder of an output, and refuses one that links lead out of
    /// the output folder.
    fn stay_inside(&self, folder: &Path) -> io::Result<()> {
        let root = std::fs::canonicalize(&self.root)?;
        let inside = |folder: &Path| -> io::Result<()> {
            if std::fs::canonicalize(folder)?.starts_with(&root) {
                return Ok(());
            }
            Err(io::Error::other(format!(
                "{} leads out of the output folder",
                folder.display()
            )))
        };
        // What stands there already is looked at first: a folder made
        // beyond a link would be outside too.
        if let Some(standing) = folder.ancestors().find(|folder| folder.exists()) {
            inside(standing)?;
        }
        std::fs::create_dir_all(folder)?;
        inside(folder)
    }

    fn keep_if_changed(&self, relative: &str, path: &Path) -> io::Result<()> {
        let there = match std::fs::read(path) {
            Ok(bytes) => bytes,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
            Err(error) => return Err(error),
        };
        if self.is_as_we_wrote_it(relative, &hash(&there)) {
            return Ok(());
        }
        self.keep(relative, path, "was changed since")
    }

    /// Moves what stands there to `kept/`.
    fn keep(&self, relative: &str, path: &Path, why: &str) -> io::Result<()> {
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
        lock(&self.kept).push(format!("{relative} {why}; moved to {}", shown.display()));
        Ok(())
    }

    /// Ends the run: deals with outputs of earlier runs that this one did not
    /// write, and writes the manifest. Returns a sentence for each file kept.
    ///
    /// # Errors
    /// What the file system says of the manifest.
    pub fn finish(&self, stale: Stale) -> io::Result<Vec<String>> {
        let mut now = lock(&self.now).clone();
        let stale_ones: Vec<_> = self
            .before
            .iter()
            .filter(|(relative, _)| !now.contains_key(*relative))
            .collect();
        for (relative, hashes) in stale_ones {
            if stale == Stale::Stays {
                let found = std::fs::read(self.root.join(relative)).map(|bytes| hash(&bytes));
                let ours = found.ok().filter(|hash| hashes.contains(hash));
                if let Some(hash) = ours.or_else(|| hashes.first().cloned()) {
                    now.insert(relative.clone(), hash);
                }
                continue;
            }
            // Never outside: a manifest that somebody edited is not trusted.
            let plain = Path::new(relative)
                .components()
                .all(|part| matches!(part, std::path::Component::Normal(_)));
            let path = self.root.join(relative);
            if plain && path.is_file() {
                self.keep_if_changed(relative, &path)?;
                if path.is_file() && lock(&self.with_remarks).contains(relative) {
                    self.keep(relative, &path, "carries remarks, and its job is gone")?;
                } else if path.is_file() {
                    std::fs::remove_file(&path)?;
                }
            }
        }
        self.write_manifest(&now)?;
        drop(lock(&self.journal).take());
        std::fs::remove_file(self.root.join(JOURNAL))?;
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
            .prefix(UNFINISHED)
            .tempfile_in(&self.root)?;
        serde_json::to_writer_pretty(&mut file, &manifest)?;
        file.write_all(b"\n")?;
        file.persist(self.root.join(MANIFEST))
            .map_err(|error| error.error)?;
        widen_permissions(&self.root.join(MANIFEST))
    }
}

/// Opens the journal to add to it. A link in its place is taken away: it
/// would lead what we write elsewhere.
fn open_journal(root: &Path) -> io::Result<File> {
    let path = root.join(JOURNAL);
    if path.is_symlink() {
        std::fs::remove_file(&path)?;
    }
    let mut file = File::options().create(true).append(true).open(path)?;
    // A line that was cut short must not swallow the next.
    if file.metadata()?.len() > 0 {
        file.write_all(b"\n")?;
    }
    Ok(file)
}

/// Hashes and relative paths that a run was about to write when it was cut
/// short.
fn journalled(root: &Path) -> io::Result<Vec<(String, String)>> {
    let bytes = std::fs::read(root.join(JOURNAL))?;
    Ok(String::from_utf8_lossy(&bytes)
        .lines()
        .filter_map(|line| line.split_once(' '))
        .filter(|(hash, relative)| hash.len() == 64 && !relative.is_empty())
        .map(|(hash, relative)| (hash.to_owned(), relative.to_owned()))
        .collect())
}

/// Files that a run which was cut short had not finished. Those that cannot
/// be removed are in nobody's way.
fn remove_unfinished(root: &Path) {
    let unfinished = walkdir::WalkDir::new(root)
        .into_iter()
        .flatten()
        .filter(|entry| entry.file_type().is_file())
        .filter(|entry| entry.file_name().to_string_lossy().starts_with(UNFINISHED));
    for entry in unfinished {
        let _ = std::fs::remove_file(entry.path());
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

pub(super) fn hash(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

pub(super) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Hashes what goes through it.
struct Hashing<W> {
    out: W,
    hash: Sha256,
}

impl<W: Write> Write for Hashing<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.out.write(bytes)?;
        self.hash.update(bytes.get(..written).unwrap_or_default());
        Ok(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.out.flush()
    }
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
        assert!(first.finish(Stale::Goes)?.is_empty());
        std::fs::write(dir.join("jobs/a.xlsx"), "a reviewer's words")?;
        let second = open()?;
        second.write("jobs/a.xlsx", b"new")?;
        second.write("jobs/b.xlsx", b"newer")?;
        let kept = second.finish(Stale::Goes)?;
        assert_eq!(kept.len(), 1, "{kept:?}");
        assert_eq!(
            std::fs::read(dir.join("kept/jobs/a.xlsx"))?,
            b"a reviewer's words"
        );
        assert_eq!(std::fs::read(dir.join("jobs/a.xlsx"))?, b"new");
        assert_eq!(std::fs::read(dir.join("jobs/b.xlsx"))?, b"newer");
        assert!(!dir.join("jobs/c.xlsx").exists(), "stale and unchanged");
        let third = open()?;
        third.write("findings.csv", b"list")?;
        assert!(third.finish(Stale::Stays)?.is_empty());
        assert_eq!(std::fs::read(dir.join("jobs/b.xlsx"))?, b"newer");
        open()?.write("jobs/b.xlsx", b"newest")?;
        assert!(!dir.join("kept/jobs/b.xlsx").exists(), "it was listed on");
        Ok(())
    }

    #[test]
    fn remarks_of_a_job_that_is_gone_are_kept() -> Result<(), Box<dyn std::error::Error>> {
        let root = tempfile::tempdir()?;
        let dir = root.path().join("audited");
        let open = || OutputFolder::open(&dir, false).map_err(|e| e.0);
        let first = open()?;
        first.write("jobs/a.xlsx", b"with a remark")?;
        first.carries_remarks("jobs/a.xlsx");
        first.finish(Stale::Goes)?;
        assert!(open()?.stands_as_written("jobs/a.xlsx"));
        let kept = open()?.finish(Stale::Goes)?;
        assert_eq!(
            kept,
            ["jobs/a.xlsx carries remarks, and its job is gone; moved to kept/jobs/a.xlsx"]
        );
        assert_eq!(
            std::fs::read(dir.join("kept/jobs/a.xlsx"))?,
            b"with a remark"
        );
        assert!(open()?.finish(Stale::Goes)?.is_empty(), "once");
        Ok(())
    }

    #[test]
    fn a_run_cut_short_leaves_nothing_that_the_next_takes_for_a_persons()
    -> Result<(), Box<dyn std::error::Error>> {
        let root = tempfile::tempdir()?;
        let dir = root.path().join("audited");
        let open = || OutputFolder::open(&dir, false).map_err(|e| e.0);
        let first = open()?;
        first.write("jobs/a.xlsx", b"one")?;
        first.write("jobs/b.xlsx", b"two")?;
        first.finish(Stale::Goes)?;
        // Cut short after one output, in the middle of another.
        let second = open()?;
        assert!(
            OutputFolder::open(&dir, false).is_err(),
            "one run at a time"
        );
        second.write("jobs/a.xlsx", b"newer")?;
        second.write("jobs/c.xlsx", b"only now")?;
        second.announce("jobs/b.xlsx", &hash(b"never written"))?;
        drop(second);
        std::fs::write(dir.join("jobs/.ampledger-x"), "half")?;
        let third = open()?;
        assert!(third.may_hold_remarks("jobs/a.xlsx"), "it cannot be known");
        third.write("jobs/a.xlsx", b"newest")?;
        third.write("jobs/b.xlsx", b"newest")?;
        assert_eq!(third.finish(Stale::Goes)?, Vec::<String>::new());
        assert!(!dir.join("kept").exists());
        assert!(!dir.join("jobs/c.xlsx").exists(), "stale and unchanged");
        assert!(!dir.join("jobs/.ampledger-x").exists());
        assert!(!dir.join(JOURNAL).exists());
        // What a person changed after the cut is still a person's.
        let fourth = open()?;
        fourth.write("jobs/a.xlsx", b"again")?;
        drop(fourth);
        std::fs::write(dir.join("jobs/a.xlsx"), "a reviewer's words")?;
        let fifth = open()?;
        fifth.write("jobs/a.xlsx", b"last")?;
        assert_eq!(fifth.finish(Stale::Goes)?.len(), 1);
        Ok(())
    }

    #[test]
    fn a_folder_that_is_not_ours_is_left_alone() -> Result<(), Box<dyn std::error::Error>> {
        let root = tempfile::tempdir()?;
        std::fs::write(root.path().join("thesis.txt"), "mine")?;
        assert!(OutputFolder::open(root.path(), false).is_err());
        let forced = OutputFolder::open(root.path(), true).map_err(|e| e.0)?;
        forced.write("thesis.txt", b"ours")?;
        forced.finish(Stale::Goes)?;
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
        assert!(folder.write("jobs/deep/er/a.xlsx", b"one").is_err());
        assert!(std::fs::read_dir(outside.path())?.next().is_none());
        Ok(())
    }
}
