//! Layouts that people send, each a file of invented data under `intake/`:
//! every table, every column's field, every row taken or left out, and a
//! report of how much was read right (`cargo test --test intake -- --nocapture`).

use ampledger::intake::assemble::{Hints, ReadFile, RowChoice, draft};
use ampledger::intake::book::{Book, Limits};
use ampledger::intake::recognise::recognise;
use ampledger::intake::schema::Schemas;
use ampledger::schedule::Schedule;
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/intake")
}

fn read_json() -> BTreeMap<String, Vec<Value>> {
    let output = assert_cmd::Command::cargo_bin("ampledger")
        .expect("the program is built")
        .current_dir(folder())
        .args(["read", ".", "--json", "--job-per", "file"])
        .output()
        .expect("the program runs");
    let tables: Vec<Value> = serde_json::from_slice(&output.stdout).expect("JSON");
    let mut by_file: BTreeMap<String, Vec<Value>> = BTreeMap::new();
    for table in tables {
        let file = table["file"].as_str().expect("a file").to_owned();
        by_file.entry(file).or_default().push(table);
    }
    by_file
}

fn fields(column: &Value) -> Vec<String> {
    let field = column["field"].as_str().map(str::to_owned);
    let also = column["also"].as_array().into_iter().flatten();
    let also = also.filter_map(|field| field.as_str().map(str::to_owned));
    field.into_iter().chain(also).collect()
}

fn texts(value: &Value) -> Vec<String> {
    let list = value.as_array().into_iter().flatten();
    list.map(|text| text.as_str().expect("a text").to_owned())
        .collect()
}

#[derive(Default)]
struct Count {
    tables: (usize, usize),
    right: usize,
    wrong: Vec<String>,
    missed: Vec<String>,
    taken: (u64, u64),
    left_out: (usize, usize),
}

impl Count {
    fn table(&mut self, place: &str, expected: &Value, found: &Value) {
        let columns = found["columns"].as_array().expect("columns");
        for (nth, expected) in expected["columns"]
            .as_array()
            .expect("columns")
            .iter()
            .enumerate()
        {
            let (heading, wanted) = (expected[0].as_str().expect("text"), texts(&expected[1]));
            let column = columns.get(nth).filter(|c| c["heading"] == *heading);
            let got = column.map(fields).unwrap_or_default();
            self.column(&format!("{place}: {heading}"), &wanted, &got);
        }
        for (nth, expected) in expected["form"]
            .as_array()
            .expect("a form")
            .iter()
            .enumerate()
        {
            let entry = &found["form"][nth];
            let got = entry["field"].as_str().unwrap_or("none").to_owned();
            let wanted = expected[1].as_str().expect("a field").to_owned();
            self.column(&format!("{place}: {}", expected[0]), &[wanted], &[got]);
        }
        let taken = |table: &Value, name: &str| table[name].as_u64().unwrap_or(0);
        self.taken.0 += taken(expected, "taken");
        self.taken.1 += taken(found, "rows_taken");
        let wanted = expected["left_out"].as_array().expect("rows");
        let got = found["rows_left_out"].as_array().expect("rows");
        self.left_out.0 += wanted.len();
        let same = |wanted: &&Value| {
            let mut rows = got.iter();
            rows.any(|row| row["row"] == wanted[0] && row["reason"] == wanted[1])
        };
        self.left_out.1 += wanted.iter().filter(same).count();
        assert_eq!(got.len(), wanted.len(), "{place}: {got:?}");
    }

    fn column(&mut self, place: &str, wanted: &[String], got: &[String]) {
        if wanted == got {
            self.right += 1;
        } else if got.is_empty() {
            self.missed.push(place.to_owned());
        } else {
            self.wrong.push(format!("{place}: {got:?}"));
        }
    }
}

#[test]
fn layouts_are_read_right() {
    let expected = std::fs::read_to_string(folder().join("expected.json")).expect("a file");
    let expected: BTreeMap<String, Vec<Value>> = serde_json::from_str(&expected).expect("JSON");
    let found = read_json();
    let mut count = Count::default();
    for (file, tables) in &expected {
        let read = found.get(file).map_or(&[][..], Vec::as_slice);
        count.tables.0 += tables.len();
        count.tables.1 += read.len();
        for (nth, wanted) in tables.iter().enumerate() {
            let place = format!("{file}, {}", wanted["sheet"]);
            let Some(table) = read.get(nth) else {
                panic!("{place}: not found");
            };
            assert_eq!(table["sheet"], wanted["sheet"], "{place}");
            assert_eq!(table["kinds"], wanted["kinds"], "{place}");
            count.table(&place, wanted, table);
        }
    }
    let files: Vec<&String> = found.keys().collect();
    assert_eq!(files, expected.keys().collect::<Vec<_>>());
    let all = count.right + count.wrong.len() + count.missed.len();
    println!(
        "tables found {} of {}; columns {all}: right {}, wrong {}, missed {}; rows taken {} of {}; \
         rows left out with the reason {} of {}",
        count.tables.1,
        count.tables.0,
        count.right,
        count.wrong.len(),
        count.missed.len(),
        count.taken.1,
        count.taken.0,
        count.left_out.1,
        count.left_out.0,
    );
    assert_eq!(count.tables.0, count.tables.1);
    assert!(count.wrong.is_empty(), "{:?}", count.wrong);
    assert!(count.right * 100 >= all * 95, "{:?}", count.missed);
    assert_eq!(count.taken.0, count.taken.1);
    assert_eq!(count.left_out.0, count.left_out.1);
}

fn schedule(name: &str) -> Schedule {
    let book = Book::open(&folder().join(name), &Limits::default()).expect("a book");
    let found = recognise(&book, Schemas::embedded());
    let file = ReadFile::recognised(name.to_owned(), 0, book, found);
    draft(&[(&file, RowChoice::All)], Hints { stem: "Elm" }).build()
}

/// Dwelling and tag of each unit.
fn units(schedule: &Schedule) -> Vec<String> {
    let units = schedule.units.iter();
    units
        .map(|unit| {
            let dwelling = unit.dwelling.get().map_or("-", |name| name.text());
            format!("{dwelling} {}", unit.tag.value)
        })
        .collect()
}

#[test]
fn sections_hold_for_the_rows_below_them() {
    let schedule = schedule("sections.xlsx");
    let mut found = units(&schedule);
    found.retain(|unit| unit.contains("FC-1") || unit.contains("FC-9"));
    assert_eq!(found, ["12C FC-1", "14D FC-1", "- FC-9"]);
    let panels = schedule.circuits.iter();
    let panels: Vec<&str> = panels.filter_map(|c| Some(c.panel.get()?.text())).collect();
    assert_eq!(panels, ["LP", "LP2"]);
    let runs: Vec<&str> = schedule
        .runs
        .iter()
        .filter_map(|run| Some(run.system.get()?.text()))
        .collect();
    assert_eq!(runs, ["1", "1", "2"]);
}

#[test]
fn a_typical_form_is_every_dwelling_of_its_type() {
    for name in ["typical_tall.xlsx", "typical_matrix.xlsx"] {
        let mut found = units(&schedule(name));
        found.sort();
        let all = ["101 FC-1", "101 FC-2", "102 FC-1", "103 FC-1", "103 FC-2"];
        assert_eq!(found, all, "{name}");
    }
}

#[test]
fn turned_and_gathered_values_keep_their_own_cells() {
    for (name, tag, mca, cell) in [
        ("column_a_unit.xlsx", "FC-1", 0.5, "C4"),
        ("long_form.csv", "FC-1", 0.5, "C5"),
        ("handover.xlsx", "FC-2", 0.5, "F4"),
    ] {
        let schedule = schedule(name);
        let unit = schedule
            .units
            .iter()
            .find(|unit| unit.tag.value.text() == tag)
            .expect("the unit");
        let given = unit.mca.get().expect("an MCA");
        let at = unit.mca.at().expect("a cell");
        let address = schedule.sources.address(at.into());
        assert_eq!(address.cell, cell, "{name}");
        assert!(format!("{given:?}").contains(&mca.to_string()), "{name}");
    }
    let handover = schedule("handover.xlsx");
    assert!(handover.units[0].mca.is_given());
    assert!(handover.runs.len() == 2, "piping is no wire");
}

#[test]
fn what_is_no_schedule_is_refused_in_a_sentence() {
    let output = assert_cmd::Command::cargo_bin("ampledger")
        .expect("the program is built")
        .current_dir(folder())
        .args(["read", ".", "--job-per", "file"])
        .output()
        .expect("the program runs");
    let said = String::from_utf8_lossy(&output.stdout);
    for (file, sentence) in [
        ("empty.csv", "The file is empty: export the schedule again."),
        ("mail_renamed.csv", "a mail message"),
        (
            "pdf_renamed.csv",
            "The file is a PDF: export the schedule as XLSX or CSV.",
        ),
        ("sheet Register", "no table."),
        ("sheet Compatibility", "no table."),
    ] {
        let at = said
            .find(file)
            .unwrap_or_else(|| panic!("{file} is not told of"));
        let rest: String = said[at..].lines().take(2).collect();
        assert!(rest.contains(sentence), "{file}: {rest}");
    }
    assert!(!said.contains("lock"), "lock files are skipped in silence");
    assert_eq!(
        output.status.code(),
        Some(3),
        "the rest is read all the same"
    );
}
