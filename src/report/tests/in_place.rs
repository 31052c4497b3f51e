//! The author's own workbook, marked by a job's findings.

use super::job::{part, read, texts};
use super::scene::*;
use crate::findings::Audit;
use crate::intake::book::Book;
use crate::report::copy::Written;
use crate::report::job::{JobView, workbook};
use crate::report::remarks::{self, Remarks};
use calamine::Reader;
use std::collections::BTreeMap;

fn marked(original: &[u8], book: &Book, remarks: &BTreeMap<String, Remarks>) -> Written {
    let schedule = house();
    marked_by(&house_audit(&schedule), original, book, remarks)
}

fn marked_by(
    audit: &Audit,
    original: &[u8],
    book: &Book,
    remarks: &BTreeMap<String, Remarks>,
) -> Written {
    let schedule = house();
    workbook(&JobView {
        proposal: None,
        takeoff: &[],
        drawings: &[],
        schedule: &schedule,
        audit,
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
    assert_eq!(typed_in(&again), typed);
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

/// What has no place on the author's sheets is told on *Basis*, and to the
/// batch.
#[test]
fn what_is_left_out_is_told() {
    let mut book = authors_book();
    let table = rust_xlsxwriter::Table::new();
    let equipment = book.worksheet_from_name("equipment").unwrap();
    equipment.add_table(0, 16_381, 3, 16_383, &table).unwrap();
    let circuits = book.worksheet_from_name("circuits").unwrap();
    let note = rust_xlsxwriter::Note::new("as agreed by telephone");
    circuits.insert_note(1, 4, &note).unwrap();
    let original = book.save_to_buffer().unwrap();
    let book = open("house 4.xlsx", original.clone());
    let remark = Remarks {
        row: "dealer was told".into(),
        ..Remarks::default()
    };
    let audit = house_audit(&house());
    let of_equipment = audit.findings.iter();
    let mut of_equipment = of_equipment.filter(|f| f.address.sheet == "equipment");
    let id = of_equipment.next().unwrap().id.clone();
    let written = marked(&original, &book, &BTreeMap::from([(id.clone(), remark)]));
    assert_eq!(written.rebuilt, None);
    assert_eq!(written.left_out.without_columns, ["equipment"]);
    let cell = ("circuits".to_owned(), "E2".to_owned());
    assert_eq!(written.left_out.noted_by_author, [cell]);
    let told = written.told("larch/house 4.xlsx").unwrap();
    assert_eq!(
        told.texts(),
        [
            "no room for our columns on equipment",
            "1 note of ours left out (see its Basis)"
        ]
    );
    let mut out = read(&written.bytes);
    let basis = texts(&out.worksheet_range("Basis").unwrap());
    let row = |subject: &str| {
        let row = basis.iter().find(|row| row[0] == subject);
        row.unwrap_or_else(|| panic!("{subject}: {basis:?}"))[1].clone()
    };
    assert_eq!(row("Copy"), "the author's own workbook");
    assert_eq!(row("Our columns"), "left out on equipment");
    assert_eq!(row("Our notes"), "left out at circuits!E2");
    // What was typed beside a row that has our columns no more is kept.
    let kept = texts(&out.worksheet_range("Remarks").unwrap()).concat();
    assert!(kept.contains(&"dealer was told".to_owned()) && kept.contains(&id));
    // The same of a workbook that is written anew, where notes are joined.
    let rebuilt = marked(&original[..100], &book, &BTreeMap::new());
    assert_eq!(rebuilt.left_out.without_columns, ["equipment"]);
    assert_eq!(rebuilt.left_out.noted_by_author, []);
    let original = authors_workbook();
    let book = open("house 4.xlsx", original.clone());
    let whole = marked(&original, &book, &BTreeMap::new());
    assert_eq!(whole.told("a.xlsx"), None);
}

#[test]
fn a_text_file_says_that_it_is_one() {
    let book = open("a.csv", b"Tag,MCA\nOU-1,31.4\n".to_vec());
    let written = marked(b"", &book, &BTreeMap::new());
    let told = written.told("a.csv").unwrap();
    assert_eq!(
        told.texts(),
        ["written anew, because the file is text, which has no sheets to be marked"]
    );
    let basis = texts(&read(&written.bytes).worksheet_range("Basis").unwrap()).concat();
    assert!(
        basis
            .iter()
            .any(|text| text.starts_with("The author's file is text"))
    );
}

#[test]
fn a_remark_at_a_mended_finding_moves_to_a_sheet_and_stays_there() {
    let original = authors_workbook();
    let book = open("house 4.xlsx", original.clone());
    let schedule = house();
    let first = house_audit(&schedule);
    let (id, rule) = (first.findings[0].id.clone(), first.findings[0].rule);
    let remark = Remarks {
        row: "dealer was told".into(),
        reply: "will be changed".into(),
        ..Remarks::default()
    };
    let typed = BTreeMap::from([(id.clone(), remark)]);
    let mut mended = first.clone();
    mended.findings.retain(|finding| finding.id != id);
    for in_place in [true, false] {
        let build =
            |audit: &Audit, bytes: &[u8], book: &Book, typed: &BTreeMap<_, _>| match in_place {
                true => marked_by(audit, bytes, book, typed).bytes,
                false => write(&schedule, audit, Some(book), typed),
            };
        let mut bytes = build(&first, &original, &book, &typed);
        let has_sheet = |bytes: &[u8]| read(bytes).sheet_names().contains(&"Remarks".to_owned());
        assert!(!has_sheet(&bytes), "nothing to keep yet");
        for _ in 0..3 {
            let again = open("house 4.xlsx", bytes.clone());
            bytes = build(&mended, &bytes, &again, &remarks::read(&again));
            let rows = texts(&read(&bytes).worksheet_range("Remarks").unwrap());
            let kept: Vec<_> = rows.iter().filter(|row| row.contains(&id)).collect();
            let [kept] = kept.as_slice() else {
                panic!("once: {rows:?}");
            };
            for text in ["dealer was told", "will be changed", rule] {
                assert!(kept.iter().any(|cell| cell == text), "{text}: {kept:?}");
            }
            assert_eq!(typed_in(&open("house 4.xlsx", bytes.clone())), typed);
        }
        // The finding comes back, and with it what was said to it.
        let again = open("house 4.xlsx", bytes.clone());
        bytes = build(&first, &bytes, &again, &remarks::read(&again));
        assert!(!has_sheet(&bytes));
        assert_eq!(typed_in(&open("house 4.xlsx", bytes)), typed);
    }
}
