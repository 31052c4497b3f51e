//! Names the sources that the program is built from, so that a program of
//! another state never takes an earlier one's results for its own.

use std::hash::{DefaultHasher, Hasher};
use std::path::{Path, PathBuf};

fn main() {
    let root = PathBuf::from(std::env::var_os("CARGO_MANIFEST_DIR").unwrap_or_default());
    let mut files = Vec::new();
    for part in ["src", "schemas", "Cargo.lock"] {
        println!("cargo::rerun-if-changed={part}");
        collect(&root.join(part), &mut files);
    }
    files.sort();
    // The algorithm of this hasher is that of the toolchain; another
    // toolchain gives another name, and everything is audited anew.
    let mut hash = DefaultHasher::new();
    for file in files {
        let name = file.strip_prefix(&root).unwrap_or(&file);
        hash.write(name.to_string_lossy().replace('\\', "/").as_bytes());
        let text = std::fs::read(&file).unwrap_or_default();
        let plain: Vec<u8> = text.into_iter().filter(|byte| *byte != b'\r').collect();
        hash.write_usize(plain.len());
        hash.write(&plain);
    }
    println!("cargo::rustc-env=AMPLEDGER_SOURCES={:016x}", hash.finish());
}

fn collect(path: &Path, into: &mut Vec<PathBuf>) {
    match std::fs::read_dir(path) {
        Ok(entries) => entries
            .flatten()
            .for_each(|entry| collect(&entry.path(), into)),
        Err(_) if path.is_file() => into.push(path.to_path_buf()),
        Err(_) => {}
    }
}
