use super::job::{part, read, texts};
use super::scene::*;
use crate::findings::Disposition;
use crate::practice::Practice;
use crate::report::letter;
use crate::schedule::fixture::Fixture;
use crate::schedule::{Feet, UnitKind};
use calamine::Reader;
use std::collections::BTreeMap;

fn sheet(bytes: &[u8], name: &str) -> Vec<Vec<String>> {
    texts(&read(bytes).worksheet_range(name).unwrap())
}

fn row_of<'r>(rows: &'r [Vec<String>], first: &str) -> &'r [String] {
    rows.iter().find(|row| row[0] == first).unwrap()
}

#[test]
fn a_brief_holds_where_something_is_to_be_fixed() {
    let schedule = house();
    let audit = house_audit(&schedule);
    let bytes = write(&schedule, &audit, None, &BTreeMap::new());
    let rows = sheet(&bytes, "Brief");
    let outdoor = row_of(&rows, "LP-1,3");
    assert_eq!(outdoor[3], "HOLD: see finding protection-over-mop");
    let wrong = rows.iter().skip(2).filter(|row| row[3].contains("60 A"));
    assert_eq!(wrong.count(), 0, "the breaker at fault is not repeated");
    let indoor = row_of(&rows, "LP-5,7");
    assert_eq!(indoor[3], "15 A 2-pole");
    assert_eq!(indoor[6], "shared by 4, no more");
    let texts: Vec<&str> = rows.iter().map(|row| row[0].as_str()).collect();
    assert!(
        texts
            .iter()
            .any(|t| t.starts_with("HOLD: see finding bus-broken"))
    );
    assert!(
        texts
            .iter()
            .any(|t| t.starts_with("Do not pull the bus as scheduled"))
    );
    assert!(texts.iter().any(|t| t.starts_with("HOLD THE POWER OFF")));
    let missing = row_of(&rows, "none scheduled");
    assert_eq!(missing[2], "FC-4, Bedroom west");
    assert_eq!(missing[6], "HOLD: see finding controller-missing");
}

#[test]
fn a_sound_system_is_one_page_with_its_bus_in_order() {
    let mut fixture = Fixture::new();
    for n in 1..=2 {
        let (ou, fc, last) = (format!("OU-{n}"), format!("FC-{n}A"), format!("FC-{n}B"));
        for (tag, kind) in [
            (&ou, UnitKind::Outdoor),
            (&fc, UnitKind::Indoor),
            (&last, UnitKind::Indoor),
        ] {
            fixture.unit(tag, kind, |u, c| u.system = c.name(&format!("S{n}")));
        }
        fixture.run(&ou, &fc, |run, c| run.length = c.given(Feet(40.0)));
        fixture.run(&fc, &last, |run, c| run.length = c.given(Feet(25.0)));
    }
    let schedule = fixture.build();
    let audit = audit(&schedule, Vec::new(), Disposition::NoExceptionsNoted);
    let bytes = write(&schedule, &audit, None, &BTreeMap::new());
    let rows = sheet(&bytes, "Brief");
    let at = rows.iter().position(|row| row[1] == "FC-1B").unwrap();
    assert_eq!(rows[at][..4], ["3", "FC-1B", "FC-1A", "25 ft"]);
    assert_eq!(rows[at][6], "wire in only: the end of the chain");
    assert_eq!(
        rows[at - 1][5..7],
        ["FC-1B", "wire in and wire out, same pair"]
    );
    let second = rows
        .iter()
        .position(|row| row[0] == "test: system S2")
        .unwrap();
    let xml = part(&bytes, "xl/worksheets/sheet5.xml");
    assert!(xml.contains(&format!("<brk id=\"{second}\"")), "{second}");
    // Fitting to pages would set the breaks aside; at this scale the columns
    // are as wide as the paper.
    assert!(!xml.contains("fitToHeight") && xml.contains(" scale=\"90\""));
    assert!(xml.contains("Revision not stated"));
}

#[test]
fn a_letter_names_the_cell_and_what_to_do() {
    let schedule = house();
    let audit = house_audit(&schedule);
    let (practice, typed) = (Practice::default(), BTreeMap::new());
    let text = letter::markdown(&view(&schedule, &audit, &practice, &typed));
    assert!(text.contains("**Disposition: REVISE AND RESUBMIT**"));
    let place = &audit.findings[2].address;
    assert!(text.contains(&format!("sheet {}, cell {}", place.sheet, place.cell)));
    assert!(text.contains("Change the breaker at LP-1,3 to 50 A"));
    assert!(text.contains("This is not an approval"));
    let bytes = write(&schedule, &audit, None, &typed);
    let rows = sheet(&bytes, "Letter");
    let numbered = rows.iter().filter(|row| row[0].parse::<f64>().is_ok());
    assert_eq!(numbered.count(), audit.findings.len());
}

#[test]
fn equal_findings_of_many_dwellings_are_one_correction() {
    let (schedule, outcomes) = block(24);
    let audit = audit(&schedule, outcomes, Disposition::ReviseAndResubmit);
    let (practice, typed) = (Practice::default(), BTreeMap::new());
    let text = letter::markdown(&view(&schedule, &audit, &practice, &typed));
    assert!(text.contains("1. **FC-1 in 24 dwellings**"), "{text}");
    assert!(text.contains("\n2. ") && !text.contains("\n3. "));
}

#[test]
fn forty_units_are_one_page_with_each_of_them_once() {
    let mut fixture = Fixture::new();
    fixture.unit("OU-1", UnitKind::Outdoor, |_, _| {});
    let mut before = "OU-1".to_owned();
    for n in 1..=40 {
        let (tag, stat) = (format!("FC-{n}"), format!("T-{n}"));
        fixture.unit(&tag, UnitKind::Indoor, |u, c| {
            u.room = c.given(format!("Room {n}"));
        });
        fixture.run(&before, &tag, |run, c| run.length = c.given(Feet(40.0)));
        fixture.controller(&stat, &[&tag], |_, _| {});
        fixture.run(&stat, &tag, |run, c| run.length = c.given(Feet(25.0)));
        before = tag;
    }
    for first in (1..=40).step_by(8) {
        let tags: Vec<String> = (first..first + 8).map(|n| format!("FC-{n}")).collect();
        let loads: Vec<&str> = tags.iter().map(String::as_str).collect();
        fixture.circuit("LP", &[first, first + 2], &loads, |c, cells| {
            c.breaker = cells.amps(15.0);
        });
    }
    let schedule = fixture.build();
    let audit = audit(&schedule, Vec::new(), Disposition::NoExceptionsNoted);
    let bytes = write(&schedule, &audit, None, &BTreeMap::new());
    let rows = sheet(&bytes, "Brief");
    // Units 1 to 21 stand on the left, 22 to 41 on the right.
    let head = rows
        .iter()
        .position(|row| row[0] == "No., unit, room" && row[4] == row[0])
        .expect("a table of two halves");
    let row = |at: usize| {
        rows[head + at]
            .iter()
            .map(String::as_str)
            .collect::<Vec<_>>()
    };
    let first = [
        "1 OU-1",
        "",
        "",
        "",
        "22 FC-21, Room 21",
        "40 ft",
        "T-21, 25 ft",
    ];
    assert_eq!(row(1), first);
    assert_eq!(
        row(21)[..4],
        ["21 FC-20, Room 20", "", "40 ft", "T-20, 25 ft"]
    );
    let all: Vec<&String> = rows[head..].iter().flatten().collect();
    for n in 1..=40 {
        let of = format!("FC-{n}, Room {n}");
        let named = all.iter().filter(|text| text.ends_with(&of));
        assert_eq!(named.count(), 1, "{of}");
    }
    let xml = part(&bytes, "xl/worksheets/sheet5.xml");
    assert!(!xml.contains("<brk "), "one page");
    assert!(
        !rows
            .iter()
            .flatten()
            .any(|text| text.ends_with("continued"))
    );
}
