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

/// A sheet of a workbook as texts.
pub fn sheet(path: &Path, name: &str) -> Vec<Vec<String>> {
    use calamine::Reader;
    let mut book = calamine::open_workbook_auto(path).expect("a workbook");
    let range = book.worksheet_range(name).expect("the sheet");
    let (height, width) = range.end().map_or((0, 0), |(r, c)| (r + 1, c + 1));
    (0..height)
        .map(|row| {
            let cell = |column| {
                let value = range.get_value((row, column));
                value.map_or_else(String::new, ToString::to_string)
            };
            (0..width).map(cell).collect()
        })
        .collect()
}

/// Row of the headings of our list, and the column of one.
pub fn column(sheet: &[Vec<String>], heading: &str) -> (usize, usize) {
    let head = sheet
        .iter()
        .position(|row| row.iter().any(|cell| cell == "Id"))
        .expect("headings");
    let column = sheet[head].iter().position(|cell| cell == heading);
    (
        head,
        column.unwrap_or_else(|| panic!("no column {heading}")),
    )
}

/// What a person does who types beside findings in the sheet Findings and
/// saves: the row of each id gets the text in the named column.
pub fn type_into(path: &Path, typed: &[(&str, &str, &str)]) {
    let mut cells = sheet(path, "Findings");
    for (id, heading, text) in typed {
        let (_, ids) = column(&cells, "Id");
        let (_, at) = column(&cells, heading);
        let row = cells
            .iter_mut()
            .find(|row| row[ids] == *id)
            .unwrap_or_else(|| panic!("no row {id}"));
        row[at] = (*text).to_owned();
    }
    let mut book = rust_xlsxwriter::Workbook::new();
    let out = book.add_worksheet().set_name("Findings").expect("a name");
    for (row, cells) in cells.iter().enumerate() {
        for (column, text) in cells
            .iter()
            .enumerate()
            .filter(|(_, text)| !text.is_empty())
        {
            out.write_string(row as u32, column as u16, text)
                .expect("a cell");
        }
    }
    book.save(path).expect("the workbook can be saved");
}
