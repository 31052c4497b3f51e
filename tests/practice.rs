//! A practice profile, the pages of the rules, and one circuit, as the
//! program's users ask for them.

mod common;

use common::*;
use std::path::Path;

const JOB: &str = "\
Tag,Type,MCA,MOCP,V/PH/HZ,Panel,Ckt,Breaker,Wire
OU-1,Outdoor unit,31.4,50,208/230-1-60,LP,\"1,3\",60A/2P,\"2#10 THHN, 1#10G\"
FC-1,Fan coil,0.8,15,208/230-1-60,LP,\"2,4\",15A/2P,14/2 MC
";

fn write(folder: &Path, name: &str, text: &str) {
    std::fs::write(folder.join(name), text).expect("a file can be written");
}

#[test]
fn a_bad_profile_is_refused_before_anything_is_written() {
    let folder = tempfile::tempdir().expect("a folder");
    write(folder.path(), "job.csv", JOB);
    write(
        folder.path(),
        "site.toml",
        "edition = 2020\n[bus]\nbudget = \"6000 yards\"\nfarthets = 100\n",
    );
    let out = folder.path().join("out");
    let job = folder.path().join("job.csv");
    let run = audit(folder.path(), &[&job], &out, &["--practice", "site.toml"]);
    assert_eq!(run.status.code(), Some(2));
    let says = stderr(&run);
    assert!(
        says.contains("site.toml:3:10: bus.budget: \"6000 yards\" is not a length"),
        "{says}"
    );
    assert!(
        says.contains("site.toml:4:1: bus.farthets: no key"),
        "{says}"
    );
    assert!(says.contains("nearest: bus.farthest"), "{says}");
    assert!(!out.exists());
}

#[test]
fn a_profile_bounds_what_is_read() {
    let folder = tempfile::tempdir().expect("a folder");
    let jobs = folder.path().join("jobs");
    std::fs::create_dir(&jobs).expect("a folder");
    write(&jobs, "short.csv", JOB);
    write(
        &jobs,
        "long.csv",
        &JOB.replace("Breaker", "Breaker,Remarks"),
    );
    write(folder.path(), "site.toml", "[files]\ncolumns = 9\n");
    let out = folder.path().join("out");
    let run = audit(folder.path(), &[&jobs], &out, &["--practice", "site.toml"]);
    assert_eq!(run.status.code(), Some(3), "one file was not read");
    let says = stderr(&run);
    let refused: Vec<&str> = says
        .lines()
        .filter(|line| line.contains("files."))
        .collect();
    assert_eq!(refused.len(), 1, "{says}");
    assert!(
        refused[0].contains("long.csv: ")
            && refused[0].contains("the limit is 9")
            && refused[0].contains("files.columns of the practice profile raises the limit"),
        "{says}"
    );
    assert_eq!(
        rows(&out.join("jobs.csv")).len(),
        1,
        "the other was audited"
    );
}

#[test]
fn a_profile_decides_the_edition_and_the_severity() {
    let folder = tempfile::tempdir().expect("a folder");
    write(folder.path(), "job.csv", JOB);
    write(
        folder.path(),
        "site.toml",
        "edition = 2017\n[severities]\nprotection-over-mop = { fix = \"verify\" }\n",
    );
    let job = folder.path().join("job.csv");
    let finding = |more: &[&str], out: &str| {
        let out = folder.path().join(out);
        let run = audit(folder.path(), &[&job], &out, more);
        assert!(run.status.success(), "{}", stderr(&run));
        let rows = rows(&out.join("findings.csv"));
        let found = rows
            .into_iter()
            .find(|row| row["rule"] == "protection-over-mop");
        found.expect("60 A is above the MOP of 50 A")
    };
    let plain = finding(&[], "plain");
    assert_eq!(plain["severity"], "fix");
    let text = format!("{plain:?}");
    assert!(
        text.contains("NFPA 70-2023") && !text.contains("severities"),
        "{text}"
    );
    let own = finding(&["--practice", "site.toml"], "own");
    assert_eq!(own["severity"], "verify");
    let text = format!("{own:?}");
    assert!(
        text.contains("NFPA 70-2017") && !text.contains("NFPA 70-2023"),
        "{text}"
    );
    assert!(
        text.contains("practice profile: severities.protection-over-mop (fix by the rule)"),
        "{text}"
    );
    assert_eq!(plain["id"], own["id"], "a finding keeps its id");
}

#[test]
fn rules_lists_all_and_explain_tells_one_in_both_forms() {
    let here = Path::new(".");
    let listed = ampledger(here, &["rules", "--json"]);
    assert!(listed.status.success());
    let all: serde_json::Value = serde_json::from_str(&stdout(&listed)).expect("JSON");
    let all = all.as_array().expect("an array");
    let across = &ampledger::batch::RULES_ACROSS_JOBS;
    assert_eq!(all.len(), ampledger::rules::ALL.len() + across.len());
    let text = stdout(&ampledger(here, &["rules"]));
    for rule in all {
        let name = rule["name"].as_str().expect("a name");
        assert!(text.contains(name), "{name}");
        let Some(sources) = rule["sources"].as_object() else {
            // A rule across jobs stands on the schedules alone.
            assert!(across.iter().any(|about| about.name == name), "{name}");
            continue;
        };
        let editions: Vec<&str> = sources.keys().map(String::as_str).collect();
        assert_eq!(editions, ["2017", "2020", "2023", "2026"], "{name}");
    }
    let told = stdout(&ampledger(here, &["explain", "protection-over-mop"]));
    for words in [
        "Why it matters",
        "How it is decided",
        "What it does not look at",
        "Worked example",
        "OU-1 is protected by a breaker of 60 A; its MOP is 50 A. 60 A is 10 A above it.",
        "NFPA 70-2017 110.3(B)",
        "licensed electrician",
    ] {
        let flat = told.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(words), "{words}\n{told}");
    }
    assert!(
        told.lines().all(|line| line.chars().count() <= 100),
        "{told}"
    );
    let unknown = ampledger(here, &["explain", "protection-over-mcp"]);
    assert_eq!(unknown.status.code(), Some(2));
    assert!(stderr(&unknown).contains("nearest: protection-over-mop"));
}

#[test]
fn size_prints_a_circuit_with_its_arithmetic() {
    let here = Path::new(".");
    let line = [
        "size", "--rla", "18", "--fla", "1.2", "--volts", "208", "--length", "90",
    ];
    let text = stdout(&ampledger(here, &line));
    for words in [
        "1.25 × 18 A + 1.2 A",
        "NFPA 70-2023 440.33",
        "10 AWG copper",
        "Cautions",
    ] {
        assert!(text.contains(words), "{words}\n{text}");
    }
    let mut json_line = line.to_vec();
    json_line.push("--json");
    let json = stdout(&ampledger(here, &json_line));
    let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    assert_eq!(json["parts"][0]["key"], "mca");
    assert_eq!(json["parts"][0]["number"], 23.7);
    let nothing = ampledger(here, &["size"]);
    assert_eq!(nothing.status.code(), Some(2));
}

/// Met, broken, not checked and for want of what: for each rule, in the
/// summary's own words, from the folder that it names.
#[test]
fn an_audit_is_told_rule_by_rule() {
    let folder = tempfile::tempdir().expect("a folder");
    let text = JOB.replace("0.8,15,208", "0.8,,208");
    write(folder.path(), "job.csv", &text);
    let (job, out) = (folder.path().join("job.csv"), folder.path().join("out"));
    let run = audit(folder.path(), &[&job], &out, &[]);
    assert!(run.status.success(), "{}", stderr(&run));
    let says = stdout(&run);
    let line = says
        .lines()
        .find(|line| line.starts_with("Checks: "))
        .expect("the checks are counted");
    assert!(line.contains("ampledger rules --of "), "{line}");
    let told = ampledger(folder.path(), &["rules", "--of", "out"]);
    assert!(told.status.success(), "{}", stderr(&told));
    let told = stdout(&told);
    for rule in ampledger::rules::ALL.iter() {
        let lead = format!("  {} ", rule.name);
        assert_eq!(told.matches(&lead).count(), 1, "{}", rule.name);
    }
    let flat = told.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "protection-over-mop 0 met, 1 broken, 1 not checked for want of unit.mop (1)",
        "protection-under-mca 2 met, 0 broken, 0 not checked",
    ] {
        assert!(flat.contains(words), "{words}\n{told}");
    }
    let wrong = ampledger(folder.path(), &["rules", "--of", "nowhere"]);
    assert_eq!(wrong.status.code(), Some(2));
    assert!(stderr(&wrong).contains("Name a folder that ampledger audit wrote"));
}

/// A heading that says fuse asks for no fuses: the cell does.
#[test]
fn a_heading_of_max_fuse_does_not_ask_for_fuses() {
    let folder = tempfile::tempdir().expect("a folder");
    let found = |heading: &str, cell: &str| {
        let text = JOB
            .replace("MOCP", heading)
            .replace("31.4,50", &format!("31.4,{cell}"))
            .replace("60A/2P", "50A/2P");
        write(folder.path(), "job.csv", &text);
        let (job, out) = (folder.path().join("job.csv"), folder.path().join("out"));
        let run = audit(folder.path(), &[&job], &out, &[]);
        assert!(run.status.success(), "{}", stderr(&run));
        let rows = rows(&out.join("findings.csv"));
        let of = |row: &&std::collections::BTreeMap<String, String>| row["rule"] == "fuse-required";
        rows.iter().filter(of).count()
    };
    assert_eq!(found("Max Fuse", "50"), 0);
    assert_eq!(found("Max. Fuse Size", "50"), 0);
    assert_eq!(found("MOCP", "50A FUSE ONLY"), 1);
}
