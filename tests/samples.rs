//! The audit of `sample-schedules` against the table in its README: nothing
//! missing, nothing extra.

mod common;

use common::*;
use std::collections::BTreeMap;

type Key = (String, String, String, String);

/// The rows of the README's table of findings, a starred subject once for
/// each of `dwellings`.
fn promised(dwellings: &[String]) -> BTreeMap<Key, usize> {
    let text = std::fs::read_to_string(samples().join("README.md")).expect("the README");
    let table = text
        .split("| job | subject | rule |")
        .nth(1)
        .expect("the table");
    let mut rows = BTreeMap::new();
    for line in table.lines().skip(2).filter(|line| line.starts_with('|')) {
        let cells: Vec<&str> = line.trim_matches('|').split(" | ").map(str::trim).collect();
        let [job, subject, rule, severity, _] = cells[..] else {
            panic!("a row of five cells: {line}");
        };
        if rule == "–" {
            continue;
        }
        let subjects: Vec<String> = match subject.strip_prefix("* ") {
            Some(own) => dwellings
                .iter()
                .map(|dwelling| format!("{dwelling} {own}"))
                .collect(),
            None => vec![subject.to_owned()],
        };
        for subject in subjects {
            let key = (
                job.to_owned(),
                subject,
                rule.to_owned(),
                severity.to_owned(),
            );
            *rows.entry(key).or_default() += 1;
        }
    }
    rows
}

#[test]
fn every_sample_gives_what_its_readme_promises() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("out");
    let run = audit(folder.path(), &[&samples()], &out, &[]);
    assert!(run.status.success(), "{}", stderr(&run));
    let mut found: BTreeMap<Key, usize> = BTreeMap::new();
    for row in rows(&out.join("findings.csv")) {
        let key = (
            row["job"].clone(),
            row["subject"].clone(),
            row["rule"].clone(),
            row["severity"].clone(),
        );
        *found.entry(key).or_default() += 1;
    }
    let dwellings: Vec<String> = (1..=6)
        .flat_map(|floor| "ABCD".chars().map(move |letter| format!("{floor}{letter}")))
        .collect();
    let promised = promised(&dwellings);
    let missing: Vec<_> = promised
        .iter()
        .filter(|(key, n)| found.get(*key) != Some(n))
        .collect();
    let extra: Vec<_> = found
        .iter()
        .filter(|(key, n)| promised.get(*key) != Some(n))
        .collect();
    assert!(
        missing.is_empty() && extra.is_empty(),
        "promised and not found:\n{missing:#?}\nfound and not promised:\n{extra:#?}"
    );
    assert!(
        rows(&out.join("jobs.csv")).len() >= 14,
        "jobs of the samples"
    );
}

#[test]
fn the_summary_reads_as_before() {
    let folder = tempfile::tempdir().expect("a folder");
    let run = audit(
        folder.path(),
        &[&samples()],
        std::path::Path::new("out"),
        &[],
    );
    insta::assert_snapshot!("summary_of_the_samples", stdout(&run));
}

#[test]
fn traps_give_no_fix() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("out");
    assert!(
        audit(folder.path(), &[&samples()], &out, &[])
            .status
            .success()
    );
    let clean = ["Alder Lane 14", "Dogwood Rise 22", "Ivy Cottage"];
    for job in rows(&out.join("jobs.csv")) {
        if clean.contains(&job["job"].as_str()) {
            assert_eq!(
                (job["fix"].as_str(), job["verify"].as_str()),
                ("0", "0"),
                "{job:?}"
            );
            assert_eq!(job["disposition"], "no exceptions noted");
        }
    }
}
