//! Runs that are cut short, and folders that cannot be written into.

use super::common::*;
use super::{generate, open_all};
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

const HONEST: &str = "Tag,Type,MCA,MOCP\nOU-1,Outdoor unit,31.4,50\n";

fn start(folder: &Path, more: &[&str]) -> Child {
    Command::new(assert_cmd::cargo::cargo_bin("ampledger"))
        .args(["audit", "in", "--out", "out"])
        .args(more)
        .current_dir(folder)
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it runs")
}

/// Waits until a run has begun to write that many outputs.
fn wait_for(child: &mut Child, out: &Path, outputs: usize) {
    let began = Instant::now();
    loop {
        let journal = std::fs::read_to_string(out.join("ampledger.journal")).unwrap_or_default();
        if journal.lines().filter(|line| !line.is_empty()).count() >= outputs {
            return;
        }
        assert!(
            child.try_wait().expect("a child").is_none(),
            "it ended before it could be cut short"
        );
        assert!(
            began.elapsed() < Duration::from_secs(600),
            "it writes nothing"
        );
        std::thread::sleep(Duration::from_millis(2));
    }
}

fn unfinished(out: &Path) -> usize {
    tree(out)
        .keys()
        .filter(|name| name.contains(".ampledger-"))
        .count()
}

/// Ctrl-C; where that is ignored, as a shell has it for what it starts in the
/// background and a child inherits, the request to end.
fn interruption() -> &'static str {
    const INT: u64 = 1 << (2 - 1);
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let ignored = status
        .lines()
        .find_map(|line| line.strip_prefix("SigIgn:"))
        .and_then(|mask| u64::from_str_radix(mask.trim(), 16).ok())
        .is_some_and(|mask| mask & INT != 0);
    if ignored { "-TERM" } else { "-INT" }
}

#[test]
fn a_batch_that_is_killed_leaves_whole_workbooks_and_the_next_run_completes_it() {
    const JOBS: usize = 600;
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("out");
    generate::small(&folder.path().join("in"), JOBS).expect("jobs");
    // The date differs, so that each run writes other bytes than the last.
    let mut first = start(folder.path(), &["--as-of", "2026-01-01"]);
    wait_for(&mut first, &out, 40);
    first.kill().expect("kill -9");
    first.wait().expect("it ends");
    let after_kill = open_all(&out);
    // A job has a workbook, a proposed one and a letter.
    let all = 2 * JOBS + 1;
    assert!((20..all).contains(&after_kill), "{after_kill}");

    let mut second = start(folder.path(), &["--as-of", "2026-01-02"]);
    wait_for(&mut second, &out, after_kill + 20);
    let interrupt = Command::new("kill")
        .args([interruption(), &second.id().to_string()])
        .status();
    assert!(interrupt.expect("kill").success());
    assert!(!second.wait().expect("it ends").success());
    assert!((after_kill..all).contains(&open_all(&out)));

    let third = audit(folder.path(), &[Path::new("in")], &out, &[]);
    assert!(third.status.success(), "{}", stderr(&third));
    assert_eq!(
        stderr(&third),
        "",
        "nothing of its own is taken for a person's"
    );
    assert!(!out.join("kept").exists());
    assert_eq!(
        open_all(&out),
        all,
        "the jobs', the proposed and the batch's"
    );
    assert_eq!(unfinished(&out), 0);
    assert!(!out.join("ampledger.journal").exists());
    assert_eq!(rows(&out.join("jobs.csv")).len(), JOBS);
}

#[test]
fn a_second_run_into_the_same_folder_is_refused_while_the_first_writes() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("out");
    generate::small(&folder.path().join("in"), 60).expect("jobs");
    let mut first = start(folder.path(), &[]);
    wait_for(&mut first, &out, 1);
    let second = audit(folder.path(), &[Path::new("in")], &out, &[]);
    assert_eq!(second.status.code(), Some(2), "{}", stderr(&second));
    assert!(
        stderr(&second).contains("Another run"),
        "{}",
        stderr(&second)
    );
    assert!(first.wait().expect("it ends").success());
    assert_eq!(rows(&out.join("jobs.csv")).len(), 60);
}

#[test]
fn a_file_that_vanishes_is_named_and_the_rest_goes_on() {
    const JOBS: usize = 40;
    let folder = tempfile::tempdir().expect("a folder");
    let (input, out) = (folder.path().join("in"), folder.path().join("out"));
    generate::workbooks(&input, 1).expect("a job");
    generate::small(&input, JOBS).expect("jobs");
    std::fs::remove_file(input.join("part-000/job-00000.csv")).expect("one job of that number");
    // Ballast: grids of a folder so heavy are not kept, and read anew.
    let mut zip = zip::ZipWriter::new_append(
        std::fs::File::options()
            .read(true)
            .write(true)
            .open(input.join("part-000/job-00000.xlsx"))
            .expect("a job"),
    )
    .expect("a package");
    let stored =
        zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    zip.start_file("xl/media/ballast.bin", stored)
        .expect("a part");
    zip.write_all(&vec![7; 8 << 20]).expect("a part");
    zip.finish().expect("a package");
    let mut run = start(folder.path(), &["--threads", "1"]);
    wait_for(&mut run, &out, 1);
    std::fs::remove_file(input.join(format!("part-000/job-{:05}.csv", JOBS - 1))).expect("it goes");
    let ended = run.wait_with_output().expect("it ends");
    assert_eq!(ended.status.code(), Some(3), "{}", stderr(&ended));
    assert!(
        stderr(&ended).contains("job-00039.csv: "),
        "{}",
        stderr(&ended)
    );
    assert_eq!(rows(&out.join("jobs.csv")).len(), JOBS - 1);
}

/// A small file system, gone again when the test ends.
struct SmallDisk(PathBuf);

impl SmallDisk {
    fn mount(at: &Path, size: &str) -> Option<Self> {
        std::fs::create_dir_all(at).ok()?;
        let option = format!("size={size}");
        let mounted = Command::new("mount")
            .args(["-t", "tmpfs", "-o", &option, "tmpfs"])
            .arg(at)
            .stderr(Stdio::null())
            .status();
        mounted
            .is_ok_and(|status| status.success())
            .then(|| Self(at.to_owned()))
    }

    fn grow(&self, size: &str) {
        let option = format!("remount,size={size}");
        let grown = Command::new("mount")
            .args(["-o", &option])
            .arg(&self.0)
            .status();
        assert!(grown.expect("mount").success());
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(&self.0).status();
    }
}

#[test]
fn a_full_disk_is_said_and_leaves_nothing_half_written() {
    let folder = tempfile::tempdir().expect("a folder");
    let Some(disk) = SmallDisk::mount(&folder.path().join("disk"), "200k") else {
        eprintln!("SKIPPED: a small file system cannot be mounted here");
        return;
    };
    generate::small(&folder.path().join("in"), 20).expect("jobs");
    let out = disk.0.join("out");
    let full = audit(folder.path(), &[Path::new("in")], &out, &[]);
    assert!(!full.status.success());
    assert!(stderr(&full).contains("space"), "{}", stderr(&full));
    assert!(!stderr(&full).contains("panicked"), "{}", stderr(&full));
    assert!(open_all(&out) < 40);
    assert_eq!(unfinished(&out), 0);
    disk.grow("20m");
    let again = audit(folder.path(), &[Path::new("in")], &out, &[]);
    assert!(again.status.success(), "{}", stderr(&again));
    assert_eq!(open_all(&out), 41);
    assert!(!out.join("kept").exists());
}

/// Runs the program as a user to whom permissions apply; `None`, with the
/// reason said, where that cannot be done.
fn as_nobody(folder: &Path, args: &[&str]) -> Option<std::process::Output> {
    let program = assert_cmd::cargo::cargo_bin("ampledger");
    let is_root = Command::new("id")
        .arg("-u")
        .output()
        .is_ok_and(|id| id.stdout == b"0\n");
    if !is_root {
        return Some(ampledger(folder, args));
    }
    let drop = ["--reuid=65534", "--regid=65534", "--clear-groups"];
    let can = Command::new("setpriv")
        .args(drop)
        .arg(&program)
        .arg("--version")
        .output();
    if !can.is_ok_and(|can| can.status.success()) {
        eprintln!("SKIPPED: run by root, and no other user can run the program");
        return None;
    }
    let run = Command::new("setpriv")
        .args(drop)
        .arg(&program)
        .args(args)
        .current_dir(folder)
        .output();
    Some(run.expect("it runs"))
}

fn allow(path: &Path, mode: u32) {
    use std::os::unix::fs::PermissionsExt;
    std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).expect("permissions");
}

#[test]
fn what_may_not_be_read_or_written_is_said() {
    let folder = tempfile::tempdir().expect("a folder");
    allow(folder.path(), 0o777);
    write(folder.path(), "in/a/honest.csv", HONEST);
    let secret = write(folder.path(), "in/b/secret.csv", HONEST);
    allow(&secret, 0o000);
    std::fs::create_dir_all(folder.path().join("in/c")).expect("a folder");
    allow(&folder.path().join("in/c"), 0o000);
    let args = |out| ["audit", "in", "--out", out, "--as-of", "2026-01-01"];
    let Some(run) = as_nobody(folder.path(), &args("out")) else {
        return;
    };
    let said = stderr(&run);
    assert_eq!(run.status.code(), Some(3), "{said}");
    assert!(
        said.contains("b/secret.csv: ") && said.contains("c: "),
        "{said}"
    );
    assert!(said.to_lowercase().contains("permission"), "{said}");
    let sealed = folder.path().join("sealed");
    std::fs::create_dir_all(&sealed).expect("a folder");
    allow(&sealed, 0o555);
    for out in ["sealed", "sealed/out"] {
        let run = as_nobody(folder.path(), &args(out)).expect("as before");
        assert_eq!(run.status.code(), Some(2), "{}", stderr(&run));
        assert!(stderr(&run).contains("ermission"), "{}", stderr(&run));
    }
    assert!(tree(&sealed).is_empty());
    allow(&folder.path().join("in/c"), 0o755);
}
