//! What people type beside rows: with one finding, several, or none.

use super::job::{read, texts};
use super::scene::*;
use crate::findings::Audit;
use crate::intake::book::Book;
use crate::report::job::{JobView, workbook};
use crate::report::remarks::{self, Remarks, Typed};
use crate::report::row_remarks::RowAt;
use calamine::Reader;
use std::collections::BTreeMap;

/// Rows of the sheet *equipment*, from zero.
const FC_1: u32 = 2;
const FC_4: u32 = 5;

fn marked(in_place: bool, audit: &Audit, bytes: &[u8], typed: &Typed) -> Vec<u8> {
    let book = open("house 4.xlsx", bytes.to_vec());
    if !in_place {
        return write(&house(), audit, Some(&book), typed);
    }
    let written = workbook(&JobView {
        proposal: None,
        takeoff: &[],
        drawings: &[],
        schedule: &house(),
        audit,
        practice: &crate::practice::Practice::default(),
        author: Some(&book),
        original: Some(bytes),
        as_of: AS_OF,
        grouping: "One workbook is one job.",
        links: &BTreeMap::new(),
        remarks: typed,
        uses: &[],
        gone: &[],
    })
    .unwrap();
    assert_eq!(written.rebuilt, None);
    written.bytes
}

fn typed_into(bytes: &[u8]) -> Typed {
    remarks::read(&open("house 4.xlsx", bytes.to_vec()))
}

fn remark_at(bytes: &[u8], row: u32) -> String {
    let book: Book = open("house 4.xlsx", bytes.to_vec());
    let sheet = &book.sheets[0];
    let column = crate::report::ours::column_of(sheet, crate::report::ours::ROW_REMARK);
    let cell = column.and_then(|column| sheet.cell(crate::schedule::RowIndex(row), column));
    cell.map_or_else(String::new, |cell| cell.text().into_owned())
}

/// Rows of the sheet *Remarks* with a text in them.
fn kept(bytes: &[u8], text: &str) -> Vec<Vec<String>> {
    let mut book = read(bytes);
    if !book.sheet_names().contains(&"Remarks".to_owned()) {
        return Vec::new();
    }
    let rows = texts(&book.worksheet_range("Remarks").unwrap());
    let has = |row: &Vec<String>| row.iter().any(|cell| cell == text);
    rows.into_iter().filter(has).collect()
}

fn beside(row: u32, name: &str, says: &str, text: &str) -> Remarks {
    Remarks {
        row: text.into(),
        row_at: Some(RowAt {
            sheet: "equipment".into(),
            row,
            name: name.into(),
            says: says.into(),
        }),
        ..Remarks::default()
    }
}

/// Ids of the two findings at FC-4.
fn of_fc_4(audit: &Audit) -> [String; 2] {
    let found = audit.findings.iter();
    let found = found.filter(|f| f.address.sheet == "equipment" && f.address.cell.ends_with('6'));
    let ids: Vec<String> = found.map(|finding| finding.id.clone()).collect();
    ids.try_into().expect("two findings")
}

fn without(audit: &Audit, ids: &[&String]) -> Audit {
    let mut mended = audit.clone();
    mended
        .findings
        .retain(|finding| !ids.contains(&&finding.id));
    mended
}

#[test]
fn a_remark_beside_a_row_without_a_finding_stays_beside_it() {
    let (original, audit) = (authors_workbook(), house_audit(&house()));
    let says = "FC-1\t1.4\t15\tLiving room";
    let typed = Typed::from([(
        "row-typed".into(),
        beside(FC_1, "FC-1", says, "ask the owner"),
    )]);
    for in_place in [true, false] {
        let mut copy = marked(in_place, &audit, &original, &typed);
        for round in 0..3 {
            assert_eq!(remark_at(&copy, FC_1), "ask the owner", "round {round}");
            assert!(kept(&copy, "ask the owner").is_empty());
            let read = typed_into(&copy);
            assert_eq!(read.len(), 1, "{read:?}");
            // The author's file or the copy of it is audited next.
            let next = match round {
                1 => original.clone(),
                _ => copy.clone(),
            };
            copy = marked(in_place, &audit, &next, &read);
        }
    }
}

#[test]
fn a_remark_finds_its_row_again_or_moves_to_a_sheet() {
    let (original, audit) = (authors_workbook(), house_audit(&house()));
    let at = |row, name: &str, says: &str| {
        let typed = Typed::from([("row-typed".into(), beside(row, name, says, "ask"))]);
        let copy = marked(true, &audit, &original, &typed);
        (remark_at(&copy, FC_1), kept(&copy, "ask"), copy)
    };
    // The row stood elsewhere; a cell of it was another.
    let (text, gone, _) = at(40, "FC-1", "FC-1\t1.4\t15\tLiving room");
    assert_eq!((text.as_str(), gone.len()), ("ask", 0));
    let (text, gone, _) = at(FC_1, "FC-1", "FC-1\t1.9\t20\tLiving room");
    assert_eq!((text.as_str(), gone.len()), ("ask", 0));
    // Another unit stands in that row now.
    let (text, gone, copy) = at(FC_1, "FC-9", "FC-9\t1.4\t15\tLiving room");
    assert_eq!((text.as_str(), gone.len()), ("", 1));
    assert!(gone[0].contains(&"row-typed".to_owned()), "{gone:?}");
    // And stays there.
    let again = marked(true, &audit, &copy, &typed_into(&copy));
    assert_eq!(kept(&again, "ask"), gone);
}

#[test]
fn a_remark_beside_several_findings_stays_until_all_are_mended() {
    let (original, audit) = (authors_workbook(), house_audit(&house()));
    let [one, two] = of_fc_4(&audit);
    for in_place in [true, false] {
        let typed = Typed::from([(one.clone(), beside(FC_4, "FC-4", "", "will be moved"))]);
        let copy = marked(in_place, &audit, &original, &typed);
        assert_eq!(remark_at(&copy, FC_4), "will be moved");
        let read = typed_into(&copy);
        assert_eq!(read.keys().collect::<Vec<_>>().len(), 2, "{read:?}");
        for (mended, left) in [(&one, &two), (&two, &one)] {
            let copy = marked(in_place, &without(&audit, &[mended]), &original, &read);
            assert_eq!(remark_at(&copy, FC_4), "will be moved", "without {mended}");
            assert!(kept(&copy, "will be moved").is_empty(), "it stands once");
            assert!(typed_into(&copy).contains_key(left));
        }
        let mut copy = copy;
        let clean = without(&audit, &[&one, &two]);
        for _ in 0..3 {
            copy = marked(in_place, &clean, &copy, &typed_into(&copy));
            assert_eq!(remark_at(&copy, FC_4), "", "it has moved");
            let kept = kept(&copy, "will be moved");
            assert_eq!(kept.len(), 1, "{kept:?}");
            for id in [&one, &two] {
                assert!(
                    kept[0].iter().any(|cell| cell.contains(id.as_str())),
                    "{kept:?}"
                );
            }
        }
        let back = marked(
            in_place,
            &without(&audit, &[&one]),
            &copy,
            &typed_into(&copy),
        );
        assert_eq!(remark_at(&back, FC_4), "will be moved");
    }
}

#[test]
fn remarks_that_meet_beside_one_row_stand_there_together() {
    let (original, audit) = (authors_workbook(), house_audit(&house()));
    let [one, two] = of_fc_4(&audit);
    let says = "FC-4\t1.4\t15\t@Bedroom west";
    let typed = Typed::from([
        (one, beside(FC_4, "FC-4", says, "first")),
        (two, beside(FC_4, "FC-4", says, "second")),
        // Typed before anything was found there.
        ("row-typed".into(), beside(FC_4, "FC-4", says, "third")),
    ]);
    let mut copy = marked(true, &audit, &original, &typed);
    for _ in 0..3 {
        let text = remark_at(&copy, FC_4);
        let mut lines: Vec<&str> = text.lines().collect();
        lines.sort_unstable();
        assert_eq!(lines, ["first", "second", "third"]);
        copy = marked(true, &audit, &copy, &typed_into(&copy));
    }
}

/// Beside a row that changes though nothing is found at it stands a mark in
/// place of ids.
#[test]
fn remarks_beside_rows_that_only_change_are_told_apart() {
    use crate::intake::book::{Book, Limits};
    use crate::report::ours;
    let mut text = format!("Tag,,{}\n", ours::COLUMNS.join(","));
    for (tag, remark) in [("FC-1", "one"), ("FC-2", "two"), ("FC-3", "")] {
        let row = format!("{tag},,,,changed,{remark},{}\n", ours::NO_FINDING);
        text.push_str(&row);
    }
    // What is typed in another column of ours is no less a remark.
    text.push_str("FC-5,,typed in the wrong place,,,,\n");
    let book = Book::from_bytes("a.csv", text.into_bytes(), &Limits::default()).unwrap();
    let read = remarks::read(&book);
    let mut said: Vec<&str> = read.values().map(|typed| typed.row.as_str()).collect();
    said.sort_unstable();
    assert_eq!(said, ["one", "two", "typed in the wrong place"]);
}
