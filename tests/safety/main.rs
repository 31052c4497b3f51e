//! Nothing that a schedule holds acts, nothing that a file does stops a
//! batch, and nothing that cuts a run short costs more than running again.
//!
//! - `text.rs`: texts, names and links in the outputs
//! - `hostile.rs`: files that lie, under a limit of memory
//! - `interrupted.rs`: kills, full disks, folders without permission

#[path = "../common/mod.rs"]
mod common;
#[path = "../bench/generate.rs"]
mod generate;
#[cfg(unix)]
mod hostile;
#[cfg(unix)]
mod interrupted;
mod text;

use std::io::{Read, Seek, Write};
use std::path::Path;

/// Files of a package as name and content.
fn zip_of(parts: &[(&str, &[u8])]) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, content) in parts {
        let options = zip::write::SimpleFileOptions::default();
        zip.start_file(*name, options).expect("a part");
        zip.write_all(content).expect("a part");
    }
    zip.finish().expect("a package").into_inner()
}

/// All parts of a package as text.
fn parts<R: Read + Seek>(package: R) -> Vec<(String, String)> {
    let mut zip = zip::ZipArchive::new(package).expect("a whole package");
    let mut parts = Vec::new();
    for index in 0..zip.len() {
        let mut part = zip.by_index(index).expect("a part");
        let mut bytes = Vec::new();
        part.read_to_end(&mut bytes).expect("a whole part");
        let name = part.name().expect("a name").into_owned();
        parts.push((name, String::from_utf8_lossy(&bytes).into_owned()));
    }
    parts
}

/// Opens every workbook below a folder with another reader; their number.
fn open_all(folder: &Path) -> usize {
    use calamine::Reader;
    let mut opened = 0;
    for (name, bytes) in common::tree(folder) {
        if name.ends_with(".xlsx") {
            let book = calamine::Xlsx::new(std::io::Cursor::new(bytes));
            let mut book = book.unwrap_or_else(|error| panic!("{name}: {error}"));
            for sheet in book.sheet_names() {
                if let Err(error) = book.worksheet_range(&sheet) {
                    panic!("{name}, {sheet}: {error}");
                }
            }
            opened += 1;
        }
    }
    opened
}
