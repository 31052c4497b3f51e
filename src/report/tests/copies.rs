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
    let dwellings = crate::findings::Dwellings::of(&schedule);
    let items: Vec<Item> = audit
        .findings
        .iter()
        .map(|finding| Item {
            job: "Larch Hill",
            finding,
            dwellings: &dwellings,
        })
        .collect();
    let bytes = workbook(&FileView {
        book: &book,
        original: None,
        path: "season/bids.csv",
        headings: &[Heading {
            sheet: None,
            rows: (crate::schedule::RowIndex(0), crate::schedule::RowIndex(0)),
        }],
        findings: &items,
        corrections: &[],
        as_of: AS_OF,
        links: &BTreeMap::new(),
        remarks: &BTreeMap::new(),
        uses: &[],
    })
    .unwrap()
    .bytes;
    let mut out = read(&bytes);
    assert_eq!(out.sheet_names(), ["bids", "Findings", "Basis"]);
    let rows = texts(&out.worksheet_range("bids").unwrap());
    assert_eq!(rows[0][5..9], ours::COLUMNS[..4]);
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
    assert_eq!(typed_in(&open("job.xlsx", bytes)), typed);
}

#[test]
fn an_authors_workbook_is_rebuilt_as_it_was() {
    let schedule = house();
    let audit = house_audit(&schedule);
    let author = open("house 4.xlsx", authors_workbook());
    let bytes = write(&schedule, &audit, Some(&author), &BTreeMap::new());
    let mut out = read(&bytes);
    assert_eq!(
        out.sheet_names()[..6],
        [
            "equipment",
            "circuits",
            "wire-runs",
            "Findings",
            "Findings (ampledger)",
            "Circuits (ampledger)"
        ],
        "names differ by more than case"
    );
    let rows = texts(&out.worksheet_range("equipment").unwrap());
    assert_eq!(rows[1][1..5], ["OU-1", "31.4", "50", ""]);
    assert_eq!(rows[4][4], "=CMD(\"x\")");
    assert_eq!(rows[7][1], "All units by others");
    assert!(out.worksheet_formula("equipment").unwrap().is_empty());
    let merges = out.merge_cells_by_sheet_name("equipment").unwrap();
    assert_eq!(merges.len(), 1);
    assert_eq!((merges[0].start, merges[0].end), ((7, 1), (7, 3)));
    let hidden: Vec<bool> = out
        .sheets_metadata()
        .iter()
        .map(|sheet| sheet.visible != calamine::SheetVisible::Visible)
        .collect();
    assert_eq!(hidden[..4], [false, false, true, false]);
    let again = open("out.xlsx", bytes.clone());
    let (before, after) = (&author.sheets[0], &again.sheets[0]);
    assert_eq!(after.hidden_rows, before.hidden_rows);
    let look = |book: &crate::intake::book::Book| {
        let cell = book.sheets[0].row(crate::schedule::RowIndex(0)).unwrap();
        cell.cells().next().unwrap().look().cloned().unwrap()
    };
    assert_eq!(look(&again), look(&author));
    // The breaker at fault: marked over its own look, with a note.
    let marked = part(&bytes, "xl/worksheets/sheet2.xml");
    assert!(marked.contains("<conditionalFormatting sqref=\"E2\">"));
    assert!(marked.contains("location=\"'Findings (ampledger)'!A8\""));
    let note = after_note(&again.sheets[1].notes, (1, 4));
    assert!(note.starts_with("ampledger: FIX protection-over-mop: The 60 A breaker"));
    assert!(note.contains("\nLimit: 50 A (MOP of OU-1)\nTo do: Change the breaker"));
}

fn after_note(notes: &[crate::intake::book::SheetNote], at: (u32, u16)) -> String {
    let found = notes.iter().find(|note| (note.at.0.0, note.at.1.0) == at);
    found.unwrap().text.clone()
}

#[test]
fn findings_link_to_their_cells_and_back() {
    let schedule = house();
    let audit = house_audit(&schedule);
    let author = open("house 4.xlsx", authors_workbook());
    let bytes = write(&schedule, &audit, Some(&author), &BTreeMap::new());
    let findings = part(&bytes, "xl/worksheets/sheet5.xml");
    assert!(findings.contains("location=\"'circuits'!E2\""));
    assert!(
        findings.contains("location=\"'equipment'!D2\""),
        "the limit's cell"
    );
    let circuits = part(&bytes, "xl/worksheets/sheet6.xml");
    assert!(circuits.contains("location=\"'circuits'!B2\""));
}

#[test]
fn a_copy_annotated_again_is_the_same_copy() {
    let schedule = house();
    let audit = house_audit(&schedule);
    let author = open("house 4.xlsx", authors_workbook());
    let first = write(&schedule, &audit, Some(&author), &BTreeMap::new());
    let again = open("house 4.xlsx", first.clone());
    let second = write(&schedule, &audit, Some(&again), &remarks::read(&again));
    let (mut one, mut two) = (read(&first), read(&second));
    assert_eq!(one.sheet_names(), two.sheet_names());
    for name in one.sheet_names() {
        let left = one.worksheet_range(&name).unwrap();
        assert_eq!(
            texts(&left),
            texts(&two.worksheet_range(&name).unwrap()),
            "{name}"
        );
    }
    for sheet in ["sheet2", "sheet5"] {
        let part_of = |bytes| part(bytes, &format!("xl/worksheets/{sheet}.xml"));
        assert_eq!(
            part_of(&first).matches("<conditionalFormatting").count(),
            part_of(&second).matches("<conditionalFormatting").count()
        );
    }
    assert_eq!(
        open("a.xlsx", first).sheets[1].notes,
        open("b.xlsx", second).sheets[1].notes
    );
}

#[test]
fn a_remark_beside_a_row_survives() {
    let schedule = house();
    let audit = house_audit(&schedule);
    let author = open("house 4.xlsx", authors_workbook());
    let over = audit
        .findings
        .iter()
        .find(|f| f.rule == "protection-over-mop");
    let typed = BTreeMap::from([(
        over.unwrap().id.clone(),
        remarks::Remarks {
            row: "dealer was told".into(),
            ..Default::default()
        },
    )]);
    let bytes = write(&schedule, &audit, Some(&author), &typed);
    let again = open("house 4.xlsx", bytes);
    assert_eq!(typed_in(&again), typed);
    // It stands in its row whether the original or the copy is audited next.
    for book in [&author, &again] {
        let bytes = write(&schedule, &audit, Some(book), &remarks::read(&again));
        let rows = texts(&read(&bytes).worksheet_range("circuits").unwrap());
        assert_eq!(rows[1][10], "dealer was told");
    }
}

#[test]
fn a_job_of_several_files_links_to_their_copies() {
    use crate::report::job::{JobView, workbook};
    let schedule = house();
    let audit = house_audit(&schedule);
    let copy = "../annotated/larch/house 4.xlsx".to_owned();
    let bytes = workbook(&JobView {
        schedule: &schedule,
        audit: &audit,
        practice: &crate::practice::Practice::default(),
        author: None,
        proposal: None,
        takeoff: &[],
        drawings: &[],
        original: None,
        as_of: AS_OF,
        grouping: "The files name the same job number.",
        links: &BTreeMap::from([("larch/house 4.xlsx".to_owned(), copy)]),
        remarks: &BTreeMap::new(),
        uses: &[],
        gone: &[],
    })
    .unwrap()
    .bytes;
    let links = part(&bytes, "xl/worksheets/_rels/sheet1.xml.rels");
    assert!(
        links.contains("Target=\"../annotated/larch/house%204.xlsx\""),
        "{links}"
    );
    let xml = part(&bytes, "xl/worksheets/sheet1.xml");
    assert!(xml.contains("location=\"'circuits'!E2\""), "{xml}");
}

#[test]
fn what_was_typed_at_a_mended_finding_is_kept() {
    let (schedule, outcomes) = block(2);
    let audit = audit(
        &schedule,
        outcomes,
        crate::findings::Disposition::ReviseAndResubmit,
    );
    let typed = BTreeMap::from([(
        "0123456789ab".to_owned(),
        remarks::Remarks {
            accept: "yes, M. L.".into(),
            ..Default::default()
        },
    )]);
    let bytes = write(&schedule, &audit, None, &typed);
    assert_eq!(typed_in(&open("job.xlsx", bytes)), typed);
}

#[test]
fn odd_characters_do_not_spoil_a_workbook() {
    use crate::report::annotated::{FileView, Item, workbook};
    let (schedule, outcomes) = block(2);
    let mut audit = audit(
        &schedule,
        outcomes,
        crate::findings::Disposition::ReviseAndResubmit,
    );
    for finding in &mut audit.findings {
        finding.address.file = "a&b/\u{1}x.csv".into();
        finding.address.sheet = String::new();
        finding.message = "a\u{2}b\u{fffe} <c> & _x0041_ \u{1f525}".into();
    }
    let book = open("x.csv", "x,Tag\nx,a _x0041_ <b>\n".into());
    let dwellings = crate::findings::Dwellings::of(&schedule);
    let items: Vec<Item> = audit
        .findings
        .iter()
        .map(|finding| Item {
            job: "\u{4}<job>",
            finding,
            dwellings: &dwellings,
        })
        .collect();
    let bytes = workbook(&FileView {
        book: &book,
        original: None,
        path: "a&b/\u{1}x.csv",
        headings: &[],
        findings: &items,
        corrections: &[],
        as_of: AS_OF,
        links: &BTreeMap::new(),
        remarks: &BTreeMap::new(),
        uses: &[],
    })
    .unwrap()
    .bytes;
    let mut archive = zip::ZipArchive::new(std::io::Cursor::new(&bytes)).unwrap();
    for index in 0..archive.len() {
        let mut file = archive.by_index(index).unwrap();
        let mut text = String::new();
        std::io::Read::read_to_string(&mut file, &mut text).unwrap();
        let bad = text.chars().find(|c| {
            matches!(c, '\u{fffe}' | '\u{ffff}') || (*c < ' ' && !matches!(c, '\n' | '\r' | '\t'))
        });
        assert_eq!(bad, None, "{:?}", file.name());
    }
    let again = open("out.xlsx", bytes);
    assert_eq!(again.sheets.len(), 3);
    let row = again.sheets[0].row(crate::schedule::RowIndex(1)).unwrap();
    let texts: Vec<_> = row.cells().map(|cell| cell.text().into_owned()).collect();
    assert_eq!(texts[1], "a _x0041_ <b>");
}

#[test]
fn our_columns_stand_clear_and_an_authors_note_stays() {
    use rust_xlsxwriter::{Format, Note, Table, Workbook};
    let mut workbook = Workbook::new();
    let sheet = workbook.add_worksheet();
    sheet.set_name("equipment").unwrap();
    let date = Format::new().set_num_format("d mmm yyyy");
    for (column, heading) in ["", "Tag", "Date"].iter().enumerate() {
        sheet.write_string(0, column as u16, *heading).unwrap();
    }
    sheet.write_string(1, 1, "FC-1").unwrap();
    sheet.write_string(2, 1, "FC-1").unwrap();
    sheet
        .write_number_with_format(1, 2, 46_083.0, &date)
        .unwrap();
    sheet
        .write_formula(2, 2, rust_xlsxwriter::Formula::new("=1+2").set_result("3"))
        .unwrap();
    sheet.add_table(4, 1, 6, 5, &Table::new()).unwrap();
    let note = Note::new("mine").add_author_prefix(false);
    sheet.insert_note(2, 1, &note).unwrap();
    let author = open("block.xlsx", workbook.save_to_buffer().unwrap());

    let (schedule, outcomes) = block(2);
    let audit = audit(
        &schedule,
        outcomes,
        crate::findings::Disposition::ReviseAndResubmit,
    );
    let bytes = write(&schedule, &audit, Some(&author), &BTreeMap::new());
    let out = open("out.xlsx", bytes.clone());
    // The table object ends in column F: G stays empty, ours begin in H.
    let heading = ours::column_of(&out.sheets[0], ours::FINDING);
    assert_eq!(heading, Some(crate::schedule::ColIndex(7)));
    let row = out.sheets[0].row(crate::schedule::RowIndex(1)).unwrap();
    let cell = row.cell(crate::schedule::ColIndex(2)).unwrap();
    assert_eq!(cell.text(), "2 Mar 2026");
    let text = after_note(&out.sheets[0].notes, (2, 1));
    assert!(
        text.starts_with("mine\n\nampledger: FIX no-supply-circuit"),
        "{text}"
    );
    assert!(!part(&bytes, "xl/worksheets/sheet1.xml").contains("<f>"));
    let formula = out.sheets[0].cell(crate::schedule::RowIndex(2), crate::schedule::ColIndex(2));
    assert_eq!(formula.unwrap().text(), "3");
    // Once more: the author's words are there once, and ours once.
    let second = write(&schedule, &audit, Some(&out), &BTreeMap::new());
    let again = open("again.xlsx", second);
    assert_eq!(after_note(&again.sheets[0].notes, (2, 1)), text);
    assert_eq!(ours::column_of(&again.sheets[0], ours::FINDING), heading);
}
