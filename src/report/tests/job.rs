use super::scene::*;
use crate::findings::Disposition;
use calamine::{Data, Range, Reader, Xlsx, open_workbook_from_rs};
use std::collections::BTreeMap;
use std::io::{Cursor, Read};

pub fn read(bytes: &[u8]) -> Xlsx<Cursor<Vec<u8>>> {
    open_workbook_from_rs(Cursor::new(bytes.to_vec())).unwrap()
}

pub fn texts(range: &Range<Data>) -> Vec<Vec<String>> {
    let end = range.end().unwrap();
    (0..=end.0)
        .map(|row| {
            (0..=end.1)
                .map(|column| {
                    range
                        .get_value((row, column))
                        .map_or(String::new(), Data::to_string)
                })
                .collect()
        })
        .collect()
}

pub fn part(bytes: &[u8], name: &str) -> String {
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    let mut text = String::new();
    archive
        .by_name(name)
        .unwrap()
        .read_to_string(&mut text)
        .unwrap();
    text
}

/// Row of the headings, by one of them.
fn heading_row(rows: &[Vec<String>], heading: &str) -> usize {
    rows.iter()
        .position(|row| row.iter().any(|c| c == heading))
        .unwrap()
}

fn column(rows: &[Vec<String>], heading: &str) -> Vec<String> {
    let head = heading_row(rows, heading);
    let at = rows[head].iter().position(|cell| cell == heading).unwrap();
    rows[head + 1..].iter().map(|row| row[at].clone()).collect()
}

#[test]
fn findings_come_first_and_worst_first() {
    let schedule = house();
    let audit = house_audit(&schedule);
    assert_eq!(severities(&audit), [3, 1, 1]);
    let bytes = write(&schedule, &audit, None, &BTreeMap::new());
    let mut book = read(&bytes);
    assert_eq!(
        book.sheet_names(),
        [
            "Findings",
            "Circuits",
            "Bus",
            "Controllers",
            "Rules",
            "Basis"
        ]
    );
    for name in book.sheet_names() {
        let first = book.worksheet_range(&name).unwrap();
        let first = first.get_value((0, 0)).unwrap().to_string();
        assert_eq!(first, format!("ampledger: {name}"));
    }
    let names: Vec<String> = book
        .defined_names()
        .iter()
        .map(|(n, _)| n.clone())
        .collect();
    for name in [
        "Findings",
        "Circuits",
        "Bus",
        "Controllers",
        "Rules",
        "Basis",
    ] {
        assert!(names.contains(&format!("_ampledger_{name}")), "{names:?}");
    }
    let rows = texts(&book.worksheet_range("Findings").unwrap());
    assert_eq!(rows[1][0], "Larch Hill, house 4");
    assert_eq!(rows[2][0], "Disposition: REVISE AND RESUBMIT");
    assert!(rows[3][0].starts_with("3 to fix, 1 to verify, 1 note."));
    assert!(rows[4][0].starts_with("Not an approval: the reviewer signs."));
    assert_eq!(
        column(&rows, "Severity"),
        ["FIX", "FIX", "FIX", "VERIFY", "NOTE"]
    );
    assert_eq!(column(&rows, "Rule")[0], "protection-over-mop");
    assert_eq!(column(&rows, "Found")[0], "60 A");
    assert_eq!(column(&rows, "Limit")[0], "50 A (MOP of OU-1)");
    let ids: Vec<&str> = audit.findings.iter().map(|f| f.id.as_str()).collect();
    assert!(
        column(&rows, "Id")
            .iter()
            .all(|id| ids.contains(&id.as_str()))
    );
}

#[test]
fn circuits_show_their_arithmetic() {
    let schedule = house();
    let bytes = write(&schedule, &house_audit(&schedule), None, &BTreeMap::new());
    let rows = texts(&read(&bytes).worksheet_range("Circuits").unwrap());
    assert_eq!(column(&rows, "Circuit"), ["LP-1,3", "LP-5,7"]);
    assert_eq!(
        column(&rows, "Load"),
        [
            "25.12 A\n= 31.4 A / 1.25",
            "4.76 A\n= 1.25 x 1.12 + 3 x 1.12"
        ]
    );
    assert_eq!(column(&rows, "MCA"), ["31.4 A", "4 \u{d7} 1.4 A"]);
    assert_eq!(column(&rows, "Breaker"), ["60 A 2-pole", "15 A 2-pole"]);
    assert_eq!(
        column(&rows, "Verdict"),
        [
            "FIX protection-over-mop",
            "NOTE protection-below-mop\nnot checked for want of circuit.conductor"
        ]
    );
    assert_eq!(
        column(&rows, "Working")[0],
        "drop: 1.2 % = 2 x 40 ft x 25.12 A"
    );
}

#[test]
fn the_bus_shows_the_chain_against_its_budget() {
    let schedule = house();
    let bytes = write(&schedule, &house_audit(&schedule), None, &BTreeMap::new());
    let rows = texts(&read(&bytes).worksheet_range("Bus").unwrap());
    let units = column(&rows, "Unit");
    assert_eq!(
        units,
        [
            "", "OU-1", "FC-1", "FC-2", "FC-3", "FC-4", "total", "budget"
        ]
    );
    assert_eq!(
        column(&rows, "Length so far"),
        ["", "", "40 ft", "65 ft", "72 ft", "", "97 ft", "6,000 ft"]
    );
    assert_eq!(column(&rows, "Room")[2], "Living room");
    let runs = column(&rows, "Run that arrives");
    assert_eq!(
        runs[0], "OU-1 \u{2014} FC-1 \u{2014} FC-2",
        "a branch is not drawn"
    );
    assert_eq!(runs[5], "not on this chain");
    assert!(column(&rows, "Findings")[0].starts_with("FIX bus-broken: "));
}

#[test]
fn controllers_and_units_without_one() {
    let schedule = house();
    let bytes = write(&schedule, &house_audit(&schedule), None, &BTreeMap::new());
    let rows = texts(&read(&bytes).worksheet_range("Controllers").unwrap());
    assert_eq!(
        column(&rows, "Controller"),
        ["T-1", "T-2", "T-3", "no controller"]
    );
    assert_eq!(column(&rows, "Reaches"), ["FC-1", "FC-2", "FC-3", "FC-4"]);
    let last = column(&rows, "Findings").pop().unwrap();
    assert_eq!(last, "FIX controller-missing: No controller reaches FC-4.");
}

#[test]
fn rules_count_met_broken_and_not_checked() {
    let schedule = house();
    let bytes = write(&schedule, &house_audit(&schedule), None, &BTreeMap::new());
    let rows = texts(&read(&bytes).worksheet_range("Rules").unwrap());
    let head = heading_row(&rows, "Rule");
    let of = |rule: &str| {
        rows[head..]
            .iter()
            .find(|row| row[0] == rule)
            .unwrap()
            .clone()
    };
    assert_eq!(of("protection-over-mop")[1..4], ["0", "1", "0"]);
    assert_eq!(
        of("conductor-under-mca")[1..],
        ["0", "0", "1", "circuit.conductor (1)"]
    );
}

#[test]
fn equal_findings_of_many_dwellings_are_one_group() {
    let (schedule, outcomes) = block(40);
    let audit = audit(&schedule, outcomes, Disposition::ReviseAndResubmit);
    let bytes = write(&schedule, &audit, None, &BTreeMap::new());
    let rows = texts(&read(&bytes).worksheet_range("Findings").unwrap());
    let severities = column(&rows, "Severity");
    assert_eq!(severities.len(), 1 + 40 + 1);
    assert_eq!(severities[41], "VERIFY", "two of one kind are no group");
    assert_eq!(column(&rows, "Subject")[0], "FC-1, 40 dwellings");
    let wrong = &column(&rows, "What is wrong")[0];
    assert!(wrong.starts_with("40 dwellings: 101, 102, 103,"), "{wrong}");
    assert!(wrong.contains(" and 28 more. In 101: "), "{wrong}");
    let id = &column(&rows, "Id")[0];
    assert!(id.starts_with("group: ") && id.split(' ').count() == 41);
    // Members are outlined and folded away; the group's own row is not.
    let xml = part(&bytes, "xl/worksheets/sheet1.xml");
    assert_eq!(xml.matches("outlineLevel=\"1\"").count(), 40);
    let folded = xml.split("<row ").filter(|row| {
        let row = row.split('>').next().unwrap();
        row.contains("hidden=\"1\"") && row.contains("outlineLevel=\"1\"")
    });
    assert_eq!(folded.count(), 40);
    assert!(xml.contains("summaryBelow=\"0\""));
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let schedule = house();
    let audit = house_audit(&schedule);
    let first = write(&schedule, &audit, None, &BTreeMap::new());
    std::thread::sleep(std::time::Duration::from_millis(1_100));
    assert!(first == write(&schedule, &audit, None, &BTreeMap::new()));
}

#[test]
fn sheets_are_ready_for_print() {
    let schedule = house();
    let bytes = write(&schedule, &house_audit(&schedule), None, &BTreeMap::new());
    for index in 1..=5 {
        let xml = part(&bytes, &format!("xl/worksheets/sheet{index}.xml"));
        assert!(xml.contains("orientation=\"landscape\""));
        assert!(xml.contains("fitToHeight=\"0\""));
        assert!(xml.contains("<autoFilter"));
        assert!(xml.contains("state=\"frozen\""));
        assert!(xml.contains("page &amp;P of &amp;N"));
    }
    let names = part(&bytes, "xl/workbook.xml");
    assert_eq!(names.matches("_xlnm.Print_Titles").count(), 6);
}
