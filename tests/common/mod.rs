//! What the whole-program tests share.

#![allow(dead_code)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Output;

pub fn samples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-schedules")
}

/// Runs the program in `folder`.
pub fn ampledger(folder: &Path, args: &[&str]) -> Output {
    assert_cmd::Command::cargo_bin("ampledger")
        .expect("the program is built")
        .current_dir(folder)
        .args(args)
        .output()
        .expect("the program runs")
}

pub fn stdout(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

pub fn stderr(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// Audits `paths` into `out` with a fixed date; the exit status.
pub fn audit(folder: &Path, paths: &[&Path], out: &Path, more: &[&str]) -> Output {
    let mut args: Vec<String> = vec!["audit".into()];
    args.extend(paths.iter().map(|path| path.display().to_string()));
    args.extend(["--out".into(), out.display().to_string()]);
    args.extend(["--as-of".into(), "2026-01-01".into()]);
    args.extend(more.iter().map(|arg| (*arg).to_owned()));
    let args: Vec<&str> = args.iter().map(String::as_str).collect();
    ampledger(folder, &args)
}

/// Rows of a CSV file by heading.
pub fn rows(path: &Path) -> Vec<BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_path(path).expect("the list is there");
    reader
        .deserialize()
        .map(|row| row.expect("a row of the list"))
        .collect()
}

/// All files below a folder, with their bytes.
pub fn tree(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut files = BTreeMap::new();
    for entry in walkdir::WalkDir::new(folder).sort_by_file_name() {
        let entry = entry.expect("the folder can be walked");
        if entry.file_type().is_file() {
            let name = entry.path().strip_prefix(folder).expect("below the folder");
            let bytes = std::fs::read(entry.path()).expect("a file can be read");
            files.insert(name.display().to_string(), bytes);
        }
    }
    files
}

/// Writes a file, with its folders.
pub fn write(folder: &Path, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
    let path = folder.join(name);
    std::fs::create_dir_all(path.parent().expect("a folder")).expect("folders");
    std::fs::write(&path, bytes).expect("a file can be written");
    path
}
