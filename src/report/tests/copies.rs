use super::job::{part, read, texts};
use super::scene::*;
use crate::report::{ours, remarks};
use calamine::Reader;
use std::collections::BTreeMap;

/// A text file with two jobs in it; places as the fixture lays them.
const TEXT: &str = "x,Tag,MCA,MOP\nx,OU-1,31.4,50\nx,FC-1,1.4,15\nx,FC-2,1.4,15\n\
                    x,=2+5,1.4,-3\nx,@FC-4,1.4,15\n";

#[test]
fn a_text_file_is_annotated_beside_its_rows() {
    use crate::report::annotated::{FileView, Heading, Item, workbook};
    let schedule = house();
    let mut audit = house_audit(&schedule);
    for finding in &mut audit.findings {
        finding.address.file = "season/bids.csv".into();
        finding.address.sheet = String::new();
    }
    let book = open("bids.csv", TEXT.into());
    let items: Vec<Item> = audit
        .findings
        .iter()
        .map(|finding| Item {
            job: "Larch Hill",
            finding,
        })
        .collect();
    let bytes = workbook(&FileView {
        book: &book,
        path: "season/bids.csv",
        headings: &[Heading {
            sheet: None,
            row: crate::schedule::RowIndex(0),
        }],
        findings: &items,
        as_of: AS_OF,
        links: &BTreeMap::new(),
        remarks: &BTreeMap::new(),
    })
    .unwrap();
    let mut out = read(&bytes);
    assert_eq!(out.sheet_names(), ["bids", "Findings", "Basis"]);
    let rows = texts(&out.worksheet_range("bids").unwrap());
    assert_eq!(rows[0][5..8], ours::COLUMNS[..3]);
    assert_eq!(rows[0][4], "", "one empty column between theirs and ours");
    // Row 6 carries two findings, the worse first.
    assert!(rows[5][5].starts_with("FIX bus-broken: "));
    assert!(rows[5][5].contains("\nFIX controller-missing: "));
    assert_eq!(rows[4][1], "=2+5");
    assert!(out.worksheet_formula("bids").unwrap().is_empty());
    let xml = part(&bytes, "xl/worksheets/sheet1.xml");
    assert!(!xml.contains("<f>"), "no formula came from a text");
    assert!(xml.contains("<formula>N(\"ampledger\")=0</formula>"));
    assert!(xml.contains("location=\"'Findings'!A"));
    let notes = part(&bytes, "xl/comments1.xml");
    assert!(notes.contains("ampledger: FIX protection-over-mop"));
    assert!(!notes.contains("Author:"));
}

#[test]
fn what_people_typed_is_read_back() {
    let (schedule, outcomes) = block(4);
    let audit = audit(
        &schedule,
        outcomes,
        crate::findings::Disposition::ReviseAndResubmit,
    );
    let mut typed = BTreeMap::new();
    for finding in audit
        .findings
        .iter()
        .filter(|f| f.rule == "no-supply-circuit")
    {
        let reply = if finding.dwelling == "102" {
            "fed from 101"
        } else {
            ""
        };
        typed.insert(
            finding.id.clone(),
            remarks::Remarks {
                reviewer: "same for all".into(),
                reply: reply.into(),
                ..Default::default()
            },
        );
    }
    let bytes = write(&schedule, &audit, None, &typed);
    let rows = texts(&read(&bytes).worksheet_range("Findings").unwrap());
    let said = rows
        .iter()
        .flatten()
        .filter(|cell| *cell == "same for all")
        .count();
    assert_eq!(said, 1, "what holds for a group stands on its row alone");
    assert_eq!(remarks::read(&open("job.xlsx", bytes)), typed);
}
