//! The schedule that is proposed, audited by the program that wrote it.

mod common;

use common::*;
use std::collections::BTreeSet;

/// Rules whose finding may stay where the schedule lacks a fact.
const MAY_STAY: [&str; 5] = [
    "unknown-tag",
    "duplicate-tag",
    "mop-below-mca",
    "circuit-disagrees",
    "no-supply-circuit",
];

#[test]
fn proposed_schedules_are_read_again_and_have_no_fix_left() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("out");
    let first = audit(folder.path(), &[&samples().join("season-2026")], &out, &[]);
    assert!(first.status.success(), "{}", stderr(&first));
    let before = rows(&out.join("findings.csv"));
    let fixes = |rows: &[std::collections::BTreeMap<String, String>]| -> Vec<String> {
        rows.iter()
            .filter(|row| row["severity"] == "fix" && !MAY_STAY.contains(&row["rule"].as_str()))
            .map(|row| format!("{} {} {}", row["job"], row["rule"], row["message"]))
            .collect()
    };
    assert!(
        !fixes(&before).is_empty(),
        "the samples have planted faults"
    );
    for (name, bytes) in tree(&out.join("proposed")) {
        write(folder.path(), &format!("again/{name}"), bytes);
    }
    let again = folder.path().join("out-again");
    let second = audit(
        folder.path(),
        &[&folder.path().join("again")],
        &again,
        &["--job-per", "file"],
    );
    assert!(second.status.success(), "{}", stderr(&second));
    let jobs = |folder: &std::path::Path| -> BTreeSet<String> {
        rows(&folder.join("jobs.csv"))
            .into_iter()
            .map(|row| row["job"].clone())
            .collect()
    };
    assert_eq!(jobs(&out), jobs(&again), "every job is read again");
    let left = fixes(&rows(&again.join("findings.csv")));
    assert!(left.is_empty(), "{} left:\n{}", left.len(), left.join("\n"));
    let unread: Vec<String> = rows(&again.join("findings.csv"))
        .iter()
        .filter(|row| row["rule"] == "unreadable-value")
        .map(|row| row["message"].clone())
        .collect();
    assert!(unread.is_empty(), "{unread:#?}");
}

#[test]
fn prices_give_a_correction_its_cost() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("out");
    let list = write(
        folder.path(),
        "prices.csv",
        "item,unit,price\nbreaker 50 A 2-pole,each,20\nbreaker 60 A 2-pole,each,25\n",
    );
    let prices = list.display().to_string();
    let season = samples().join("season-2026");
    let run = audit(folder.path(), &[&season], &out, &["--prices", &prices]);
    assert!(run.status.success(), "{}", stderr(&run));
    let priced: Vec<_> = rows(&out.join("takeoff.csv"))
        .into_iter()
        .filter(|row| !row["cost"].is_empty())
        .collect();
    assert!(!priced.is_empty());
    for row in priced {
        let number = |field: &str| {
            row[field]
                .trim_start_matches('\'')
                .parse::<f64>()
                .expect("a number")
        };
        let cost = number("price") * (number("proposed") - number("scheduled"));
        assert!((number("cost") - cost).abs() < 0.01, "{row:?}");
    }
    // A list whose lines have no price yet says so, though it prices nothing.
    let open = write(
        folder.path(),
        "open.csv",
        "item,unit,price\nFuse 35 A,each,\n",
    );
    let open = open.display().to_string();
    let told = audit(folder.path(), &[&season], &out, &["--prices", &open]);
    assert!(
        stderr(&told).contains("lines without a price: 2"),
        "{}",
        stderr(&told)
    );
    let bad = write(folder.path(), "bad.csv", "item,unit\nx,each\n");
    let refused = audit(
        folder.path(),
        &[&season],
        &out,
        &["--prices", &bad.display().to_string()],
    );
    assert_eq!(refused.status.code(), Some(2));
    assert!(stderr(&refused).contains("line 1"), "{}", stderr(&refused));
}

#[test]
fn what_changes_stands_beside_its_row_with_the_rule_that_asks() {
    use calamine::{Reader, Xlsx, open_workbook};
    const HEADING: &str = "ampledger: Was \u{2192} proposed";
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("out");
    let run = audit(folder.path(), &[&samples()], &out, &[]);
    assert!(run.status.success(), "{}", stderr(&run));
    let (mut seen, mut missing) = (0, Vec::new());
    for (name, _) in tree(&out.join("jobs")) {
        let path = out.join("jobs").join(&name);
        let mut book: Xlsx<_> = open_workbook(&path).expect("a workbook");
        let mut texts = |sheet: &str| -> Vec<Vec<String>> {
            let Ok(range) = book.worksheet_range(sheet) else {
                return Vec::new();
            };
            let (bottom, right) = range.end().unwrap_or_default();
            let row = |row| {
                let cell = |column| range.get_value((row, column));
                (0..=right)
                    .map(|column| cell(column).map_or(String::new(), ToString::to_string))
                    .collect()
            };
            (0..=bottom).map(row).collect()
        };
        let proposed = texts("Proposed");
        let changes = proposed
            .iter()
            .skip_while(|row| row[0] != "Changes, cell by cell")
            .skip(1)
            .take_while(|row| !row[8].is_empty());
        for change in changes.filter(|row| row[0].contains('!')) {
            let (sheet, cell) = change[0].rsplit_once('!').expect("a cell");
            let row: usize = cell
                .trim_start_matches(char::is_alphabetic)
                .parse()
                .expect("a row");
            let theirs = texts(sheet);
            if theirs.is_empty() {
                // A job of several files: its copies hold the sheets.
                continue;
            }
            let column = theirs
                .iter()
                .find_map(|row| row.iter().position(|cell| cell == HEADING))
                .unwrap_or_else(|| panic!("{name}: {sheet} has no column for changes"));
            let wanted = format!("{} \u{2192} {} [{}]", change[2], change[3], change[8]);
            let beside = &theirs[row - 1][column];
            seen += 1;
            if !beside.lines().any(|line| line.ends_with(&wanted)) {
                missing.push(format!(
                    "{name} {sheet}!{cell}: {wanted}\n  beside: {beside}"
                ));
            }
        }
    }
    assert!(missing.is_empty(), "{}", missing.join("\n"));
    assert!(seen > 15, "{seen} changes in workbooks of one job");
}
