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
