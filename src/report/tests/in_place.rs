//! The author's own workbook, marked by a job's findings.

use super::job::{part, read, texts};
use super::scene::*;
use crate::intake::book::Book;
use crate::report::copy::Written;
use crate::report::job::{JobView, workbook};
use crate::report::remarks::{self, Remarks};
use calamine::Reader;
use std::collections::BTreeMap;

fn marked(original: &[u8], book: &Book, remarks: &BTreeMap<String, Remarks>) -> Written {
    let schedule = house();
    let audit = house_audit(&schedule);
    workbook(&JobView {
        proposal: None,
        takeoff: &[],
        drawings: &[],
        schedule: &schedule,
        audit: &audit,
        practice: &crate::practice::Practice::default(),
        author: Some(book),
        original: Some(original),
        as_of: AS_OF,
        grouping: "One workbook is one job.",
        links: &BTreeMap::new(),
        remarks,
        uses: &[],
        gone: &[],
    })
    .unwrap()
}

#[test]
fn both_ways_say_the_same_beside_the_same_rows() {
    let original = authors_workbook();
    let book = open("house 4.xlsx", original.clone());
    let written = marked(&original, &book, &BTreeMap::new());
    assert_eq!(written.rebuilt, None);
    let schedule = house();
    let audit = house_audit(&schedule);
    let rebuilt = write(&schedule, &audit, Some(&book), &BTreeMap::new());
    let (mut one, mut two) = (read(&written.bytes), read(&rebuilt));
    assert_eq!(one.sheet_names(), two.sheet_names());
    for name in one.sheet_names() {
        if name.starts_with("Basis") {
            continue;
        }
        let left = texts(&one.worksheet_range(&name).unwrap());
        let right = texts(&two.worksheet_range(&name).unwrap());
        assert_eq!(left, right, "{name}");
    }
    let notes = |bytes: &[u8]| -> Vec<_> {
        let book = open("a.xlsx", bytes.to_vec());
        let notes = book.sheets[1].notes.iter();
        notes.map(|note| (note.at, note.text.clone())).collect()
    };
    assert_eq!(notes(&written.bytes), notes(&rebuilt));
}

#[test]
fn remarks_survive_and_marks_do_not_pile_up() {
    let original = authors_workbook();
    let book = open("house 4.xlsx", original.clone());
    let id = house_audit(&house()).findings[0].id.clone();
    let remark = Remarks {
        row: "dealer was told".into(),
        ..Remarks::default()
    };
    let typed = BTreeMap::from([(id, remark)]);
    let once = marked(&original, &book, &typed).bytes;
    let again = open("house 4.xlsx", once.clone());
    assert_eq!(remarks::read(&again), typed);
    let twice = marked(&once, &again, &remarks::read(&again)).bytes;
    assert!(once == twice, "the same bytes");
}

#[test]
fn what_cannot_be_edited_is_rebuilt_and_says_why() {
    let original = authors_workbook();
    let book = open("house 4.xlsx", original.clone());
    let written = marked(&original[..original.len() / 2], &book, &BTreeMap::new());
    let reason = written.rebuilt.clone().expect("a reason").to_string();
    assert_eq!(reason, "the file is no XLSX or XLSM package");
    let mut out = read(&written.bytes);
    let names = out.sheet_names();
    let basis = names
        .iter()
        .find(|name| name.starts_with("Basis"))
        .expect("Basis");
    let rows = texts(&out.worksheet_range(basis).unwrap()).concat();
    assert!(rows.iter().any(|text| text.contains(&reason)), "{rows:?}");
    let types = |bytes: &[u8]| part(bytes, "[Content_Types].xml");
    assert!(!types(&written.bytes).contains("macroEnabled"));
    let macros = written.for_file("jobs/House 4.xlsm").expect("a workbook");
    assert!(types(&macros).contains("macroEnabled.main+xml"));
}
