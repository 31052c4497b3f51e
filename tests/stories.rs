//! What the program is for, told as its users go about it: an estimator with
//! a season of bids, a distributor with a dealer's second submission, an
//! engineer with one building. People, firms and models are invented.

mod common;

use calamine::{Reader, Xlsx, open_workbook};
use common::*;
use rust_xlsxwriter::{Workbook, Worksheet, XlsxError};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// A sheet of a workbook of ours, as texts.
fn sheet(book: &Path, name: &str) -> Vec<Vec<String>> {
    let mut book: Xlsx<_> = open_workbook(book).expect("a workbook");
    let range = book.worksheet_range(name).expect("the sheet");
    range
        .rows()
        .map(|row| row.iter().map(ToString::to_string).collect())
        .collect()
}

/// Rows of a list below the headings that begin with `first`, by heading.
fn list(book: &Path, name: &str, first: &str) -> Vec<BTreeMap<String, String>> {
    let rows = sheet(book, name);
    let head = rows
        .iter()
        .position(|row| row.first().is_some_and(|cell| cell == first))
        .unwrap_or_else(|| panic!("{name} has a column {first}"));
    rows[head + 1..]
        .iter()
        .map(|row| {
            let headings = rows[head].iter().cloned();
            headings.zip(row.iter().cloned()).collect()
        })
        .collect()
}

fn copied(from: &str, to: &Path) -> PathBuf {
    let from = samples().join(from);
    for (name, bytes) in tree(&from) {
        write(to, &name, bytes);
    }
    to.to_path_buf()
}

fn run_on(folder: &Path, paths: &Path, out: &Path, as_of: &str, more: &[&str]) -> String {
    let mut args = vec!["audit", paths.to_str().expect("a name")];
    args.extend(["--out", out.to_str().expect("a name"), "--as-of", as_of]);
    args.extend(more);
    let run = ampledger(folder, &args);
    assert!(run.status.success(), "{}", stderr(&run));
    stdout(&run)
}

/// Findings as job, subject and rule.
fn found(out: &Path) -> Vec<(String, String, String)> {
    let rows = rows(&out.join("findings.csv")).into_iter();
    rows.map(|row| {
        (
            row["job"].clone(),
            row["subject"].clone(),
            row["rule"].clone(),
        )
    })
    .collect()
}

fn has(found: &[(String, String, String)], job: &str, subject: &str, rule: &str) -> bool {
    let wanted = (job.to_owned(), subject.to_owned(), rule.to_owned());
    found.contains(&wanted)
}

/// Before wire is bought for a season of bids, an estimator wants to know
/// which bids are wrong, what it costs to put them right and what the season
/// takes; then mends one and looks again.
#[test]
fn an_estimator_looks_over_a_season_of_bids() {
    let folder = tempfile::tempdir().expect("a folder");
    let root = folder.path();
    let season = copied("season-2026", &root.join("season"));
    let prices = "item,unit,price\nbreaker 50 A 2-pole,each,42.50\nbreaker 60 A 2-pole,each,48.00\n\
                  14/2 NM-B cable,ft,0.55\n";
    let prices = write(root, "prices.csv", prices);
    let prices = ["--prices", prices.to_str().expect("a name")];
    let out = root.join("audited");
    let summary = run_on(root, &season, &out, "2026-03-02", &prices);
    let jobs = rows(&out.join("jobs.csv"));
    assert!(summary.starts_with(&format!("{} jobs audited", jobs.len())));

    // The overview in a minute: every job stands once in each count.
    let book = out.join("batch.xlsx");
    let overview = sheet(&book, "Overview");
    assert_eq!(overview[1][0], format!("{} jobs", jobs.len()));
    let table = |title: &str| -> Vec<&Vec<String>> {
        let at = overview.iter().position(|row| row[0] == title);
        let at = at.unwrap_or_else(|| panic!("{title} in {overview:?}"));
        let rows = overview[at + 1..].iter();
        rows.take_while(|row| !row[0].is_empty()).collect()
    };
    let sum = |title: &str, column: usize| -> usize {
        let cells = table(title)
            .into_iter()
            .map(|row| row[column].parse().unwrap_or(0));
        cells.sum::<usize>()
    };
    assert_eq!(sum("Jobs by disposition", 1), jobs.len());
    assert_eq!(sum("Jobs by findings to fix or verify", 1), jobs.len());
    assert_eq!(sum("Findings by submitter", 4), jobs.len());
    let fixes: usize = jobs.iter().map(|job| job["fix"].parse().unwrap_or(0)).sum();
    assert_eq!(sum("Findings by submitter", 1), fixes);
    assert!(sum("Systems by bus budget used", 1) >= jobs.len());

    // The wire of the season, item by item as job by job.
    let mut by_item: BTreeMap<String, f64> = BTreeMap::new();
    let mut cost = 0.0;
    for row in rows(&out.join("takeoff.csv")) {
        *by_item.entry(row["item"].clone()).or_default() +=
            row["proposed"].parse::<f64>().expect("a number");
        cost += row["cost"].parse::<f64>().unwrap_or(0.0);
    }
    let totals = list(&book, "Takeoff", "Item");
    for total in &totals[..totals.len() - 1] {
        let wanted = by_item.remove(&total["Item"]).expect("an item of the jobs");
        let shown: f64 = total["Proposed"].parse().expect("a number");
        assert!((shown - wanted).abs() < 0.05, "{total:?}: {wanted}");
    }
    assert!(by_item.is_empty(), "not in the sheet: {by_item:?}");
    let last = totals.last().expect("a sum");
    let shown: f64 = last["Cost"].parse().expect("a sum of costs");
    assert!((shown - cost).abs() < 0.05, "{shown} and {cost}");
    assert!(cost != 0.0);

    // One bid is mended; the jobs of other files are left as they are.
    let before = found(&out);
    assert!(has(&before, "Birch Row 3", "LP-1,3", "protection-over-mop"));
    let bids = season.join("season-bids.csv");
    let text = std::fs::read_to_string(&bids).expect("the bids");
    let wrong = "26-102,Birch Row 3,Dwelling,OU-1,Outdoor heat pump,DEMO-OU-48,48,208/230-1-60,31.4,50,1.4,,Side yard,LP,\"1,3\",60";
    assert!(text.contains(wrong));
    let right = format!("{}50", wrong.trim_end_matches("60"));
    std::fs::write(&bids, text.replace(wrong, &right)).expect("an edit");
    let last_week = root.join("last-week");
    copied_tree(&out, &last_week);
    let summary = run_on(root, &season, &out, "2026-03-02", &prices);
    assert!(
        summary.contains(&format!("2 of {} jobs unchanged", jobs.len())),
        "{summary}"
    );
    let after = found(&out);
    assert_eq!(after.len() + 1, before.len());
    assert!(!has(&after, "Birch Row 3", "LP-1,3", "protection-over-mop"));
    assert!(has(&after, "Birch Row 3", "FC-3", "controller-missing"));

    // The office's machines share the work, and the season is one all the same.
    for part in ["1/2", "2/2"] {
        let parts = root.join("parts").join(part.replace('/', "-of-"));
        let more: Vec<&str> = prices.into_iter().chain(["--shard", part]).collect();
        run_on(root, &season, &parts, "2026-03-02", &more);
    }
    let rolled = ampledger(root, &["roll-up", "parts", "--out", "rolled"]);
    assert!(rolled.status.success(), "{}", stderr(&rolled));
    assert!(tree(&root.join("rolled")) == tree(&out), "the same bytes");
}

fn copied_tree(from: &Path, to: &Path) {
    for (name, bytes) in tree(from) {
        write(to, &name, bytes);
    }
}

/// A distributor sent a dealer's submission back; the second one mends one
/// thing, leaves others and brings a new mistake.
#[test]
fn a_distributor_gets_a_submission_again() {
    let folder = tempfile::tempdir().expect("a folder");
    let root = folder.path();
    let first = copied(
        "submittals/bell-and-rowe/juniper-lodge",
        &root.join("first/juniper-lodge"),
    );
    let second = copied(
        "submittals/bell-and-rowe/juniper-lodge",
        &root.join("second/juniper-lodge"),
    );
    let edit = |name: &str, was: &str, is: &str| {
        let path = second.join(name);
        let text = std::fs::read(&path).expect("a file of the dealer's");
        let (text, ..) = encoding_rs::UTF_16LE.decode(&text);
        assert!(text.contains(was), "{name}: {text}");
        std::fs::write(&path, text.replace(was, is)).expect("an edit");
    };
    edit("wire runs.txt", "FC-33", "FC-3");
    edit("circuits.txt", "50A 2-POLE", "60A 2-POLE");
    let (old, new) = (root.join("march"), root.join("april"));
    run_on(root, &first, &old, "2026-03-02", &[]);
    run_on(root, &second, &new, "2026-04-06", &[]);
    let args = [
        "compare",
        "march",
        "april",
        "--as-of",
        "2026-04-06",
        "--fail-on-open",
    ];
    let run = ampledger(root, &args);
    assert_eq!(run.status.code(), Some(1), "something is open");
    let fate = |wanted: &str| -> Vec<(String, String)> {
        rows(&root.join("compared/compared.csv"))
            .into_iter()
            .filter(|row| row["fate"] == wanted)
            .map(|row| (row["subject"].clone(), row["rule"].clone()))
            .collect()
    };
    let pair = |subject: &str, rule: &str| (subject.to_owned(), rule.to_owned());
    assert_eq!(fate("gone"), [pair("FC-2 to FC-33", "unknown-tag")]);
    assert_eq!(fate("new"), [pair("LP-1,3", "protection-over-mop")]);
    assert_eq!(
        fate("still open"),
        [
            pair("T-1", "controller-not-home-run"),
            pair("T-4", "controller-idle"),
            pair("FC-1 to FC-2", "bus-splice"),
        ]
    );
    // What goes back to the dealer names the new mistake by its cell, and no
    // more the one that was mended.
    let letter = |out: &Path| {
        let letter = out.join("letters/Juniper Lodge.md");
        std::fs::read_to_string(letter).expect("the letter")
    };
    let (before, after) = (letter(&old), letter(&new));
    assert!(
        before.contains("FC-33") && !after.contains("FC-33"),
        "{after}"
    );
    assert!(
        after.contains("circuits.txt") && after.contains("C2"),
        "{after}"
    );
    assert!(
        after.contains("60 A") && !before.contains("60 A is"),
        "{after}"
    );
    // The findings that stay keep their ids, so that remarks follow them.
    let ids = |out: &Path| -> BTreeMap<(String, String), String> {
        let rows = rows(&out.join("findings.csv")).into_iter();
        rows.map(|row| {
            (
                (row["subject"].clone(), row["rule"].clone()),
                row["id"].clone(),
            )
        })
        .collect()
    };
    let (before, after) = (ids(&old), ids(&new));
    for still in fate("still open") {
        assert_eq!(before[&still], after[&still], "{still:?}");
    }
}

/// The building of the engineer's story: equipment, wire runs and thermostats
/// once, as the typical form of a two-bedroom apartment; a map of the 24
/// apartments; and the circuits of each, with the outdoor unit's breaker of
/// 4C as given.
fn building(path: &Path, breaker_of_4c: &str) {
    const OUTDOOR: &str = "2#10 THHN, 1#10G, 3/4\" EMT";
    let doors: Vec<String> = (1..=6)
        .flat_map(|floor| "ABCD".chars().map(move |letter| format!("{floor}{letter}")))
        .collect();
    let row = |cells: &[&str]| cells.iter().map(|c| (*c).to_owned()).collect::<Vec<_>>();
    let cover = vec![
        row(&["Job", "Harrier Wharf"]),
        row(&["Job number", "HW-24"]),
        row(&["Customer type", "Multifamily"]),
        row(&["Supply", "120/240V 1PH 3W"]),
        row(&["Submitted by", "Sorrel Yard Engineers"]),
        row(&["Revision", "A"]),
        row(&["Date", "2026-05-04"]),
    ];
    let of = "Two-bed";
    let volts = "208/230-1-60";
    let equipment = vec![
        row(&[
            "Apt Type", "Mark", "Type", "Model", "V/PH/HZ", "MCA", "MOCP", "FLA", "Room", "Disc.",
        ]),
        row(&[
            of,
            "OU-1",
            "Outdoor unit",
            "DEMO-OU-36",
            volts,
            "22.8",
            "35",
            "1.5",
            "Balcony",
            "60A NF",
        ]),
        row(&[
            of,
            "FC-1",
            "Fan coil",
            "DEMO-FC-18",
            volts,
            "1.4",
            "15",
            "1.12",
            "Living",
            "30A NF",
        ]),
        row(&[
            of,
            "FC-2",
            "Fan coil",
            "DEMO-FC-12",
            volts,
            "0.8",
            "15",
            "0.64",
            "Bedroom",
            "30A NF",
        ]),
    ];
    let runs = vec![
        row(&["Apt Type", "From", "To", "Purpose", "Wire", "Length (ft)"]),
        row(&[of, "OU-1", "FC-1", "Bus", "18/2 STR UNSH", "30"]),
        row(&[of, "FC-1", "FC-2", "Bus", "18/2 STR UNSH", "25"]),
        row(&[of, "T-1", "FC-1", "Thermostat", "18/2 STR", "15"]),
        row(&[of, "T-2", "FC-2", "Thermostat", "18/2 STR", "20"]),
    ];
    let stats = vec![
        row(&["Apt Type", "Thermostat", "Room", "Unit Controlled"]),
        row(&[of, "T-1", "Living", "FC-1"]),
        row(&[of, "T-2", "Bedroom", "FC-2"]),
    ];
    let mut map = vec![row(&["Apartment", "Type"])];
    let mut circuits = vec![row(&[
        "Apt",
        "Panel",
        "Ckt",
        "Load",
        "Breaker",
        "Wire",
        "Length (ft)",
    ])];
    let mut panels = vec![row(&[
        "Apt",
        "Panel",
        "System Voltage",
        "Main",
        "Bus Rating",
        "Fed From",
    ])];
    for door in &doors {
        let breaker = if door == "4C" {
            breaker_of_4c
        } else {
            "35A/2P"
        };
        map.push(row(&[door, of]));
        circuits.push(row(&[door, "LP", "1,3", "OU-1", breaker, OUTDOOR, "40"]));
        circuits.push(row(&[
            door,
            "LP",
            "2,4",
            "FC-1, FC-2",
            "15A/2P",
            "14/2 NM-B w/G",
            "35",
        ]));
        panels.push(row(&[door, "LP", "120/240V 1PH 3W", "100A", "125A", "MDP"]));
    }
    let mut book = Workbook::new();
    let sheets = [
        ("Cover", cover),
        ("Typical equipment", equipment),
        ("Apartments", map),
        ("Circuits", circuits),
        ("Panels", panels),
        ("Wire runs", runs),
        ("Thermostats", stats),
    ];
    for (name, rows) in sheets {
        fill(book.add_worksheet(), name, &rows).expect("a sheet");
    }
    std::fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
    book.save(path).expect("the workbook");
}

fn fill(sheet: &mut Worksheet, name: &str, rows: &[Vec<String>]) -> Result<(), XlsxError> {
    sheet.set_name(name)?;
    for (at, cells) in rows.iter().enumerate() {
        sheet.write_row(at as u32, 0, cells)?;
    }
    Ok(())
}

/// An engineer has one plan 24 times, and wants to know which apartment is
/// not built to it.
#[test]
fn an_engineer_checks_24_apartments_of_one_plan() {
    let folder = tempfile::tempdir().expect("a folder");
    let root = folder.path();
    let schedule = root.join("building/harrier-wharf.xlsx");
    building(&schedule, "40A/2P");
    let out = root.join("audited");
    run_on(root, &root.join("building"), &out, "2026-05-04", &[]);
    assert_eq!(
        rows(&out.join("jobs.csv"))[0]["disposition"],
        "revise and resubmit"
    );
    let all = found(&out);
    let job = "Harrier Wharf";
    // Of the circuit that differs, and of no other apartment's.
    let over = all.iter().filter(|f| f.2 == "protection-over-mop");
    assert_eq!(over.count(), 1, "{all:?}");
    assert!(has(&all, job, "4C LP-1,3", "protection-over-mop"));
    // The cell has its fix: it is not told again as a twin that differs. One
    // that breaks no limit is.
    assert!(all.iter().all(|f| f.2 != "twin-units-differ"), "{all:?}");
    building(&schedule, "30A/2P");
    let smaller = root.join("smaller");
    run_on(root, &root.join("building"), &smaller, "2026-05-04", &[]);
    let twins = list(&smaller.join("batch.xlsx"), "Twins", "Job");
    let twin = |heading: &str| {
        twins
            .iter()
            .map(|row| row[heading].as_str())
            .collect::<Vec<_>>()
    };
    assert_eq!(twin("Dwelling"), ["4C"], "{twins:?}");
    assert_eq!(twin("Subject"), ["4C OU-1"]);
    // What all 24 share is said of each, once.
    for door in ["1A", "4C", "6D"] {
        let subject = format!("{door} OU-1");
        assert!(
            has(&all, job, &subject, "ground-fault-protection"),
            "{all:?}"
        );
    }
    assert_eq!(all.len(), 24 + 1, "{all:?}");
    // The rows of the typical form are marked where the author wrote them.
    let file = "harrier-wharf.xlsx";
    let places = rows(&out.join("findings.csv"));
    assert!(places.iter().all(|row| row["file"] == file), "{places:?}");
    let book: Xlsx<_> = open_workbook(out.join("jobs/Harrier Wharf.xlsx")).expect("its workbook");
    let sheets = book.sheet_names();
    for name in [
        "Typical equipment",
        "Apartments",
        "Findings",
        "Circuits",
        "Bus",
    ] {
        assert!(
            sheets.iter().any(|sheet| sheet.starts_with(name)),
            "{sheets:?}"
        );
    }
    // Put right, the building is one plan.
    building(&schedule, "35A/2P");
    run_on(root, &root.join("building"), &out, "2026-05-18", &[]);
    let left = found(&out);
    assert_eq!(left.len(), 24, "{left:?}");
    assert!(
        left.iter().all(|f| f.2 == "ground-fault-protection"),
        "{left:?}"
    );
    assert!(list(&out.join("batch.xlsx"), "Twins", "Job").is_empty());
}
