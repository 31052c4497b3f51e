//! The program as its users run it.
//!
//! - `program.rs`: commands, exit codes, outputs, what is kept
//! - `samples.rs`: every finding of `sample-schedules`, nothing missing or extra
//! - `layering.rs`: data moves one way
//! - `catalogue.rs`: the names of all rules
//! - `read_back.py`: workbooks read back by another library, run by `.ci/run`

mod common;

use common::*;
use std::path::Path;

const SMALL: &str = "\
Tag,Type,MCA,MOCP,V/PH/HZ,Panel,Ckt,Breaker,Wire
OU-1,Outdoor unit,31.4,50,208/230-1-60,LP,\"1,3\",60A/2P,\"2#8 THHN, 1#10G\"
FC-1,Fan coil,0.8,15,208/230-1-60,LP,\"2,4\",15A/2P,14/2 MC
";

#[test]
fn two_runs_give_the_same_bytes_whatever_threads_order_and_zone() {
    let folder = tempfile::tempdir().expect("a folder");
    let (season, building) = (samples().join("season-2026"), samples().join("building"));
    let one = folder.path().join("one");
    let two = folder.path().join("two");
    let first = audit(
        folder.path(),
        &[&season, &building],
        &one,
        &["--threads", "1"],
    );
    assert!(first.status.success(), "{}", stderr(&first));
    let mut command = assert_cmd::Command::cargo_bin("ampledger").expect("the program");
    let second = command
        .env("TZ", "Pacific/Kiritimati")
        .env("LC_ALL", "de_DE.UTF-8")
        .arg("audit")
        .args([&building, &season])
        .args(["--out".as_ref(), two.as_os_str()])
        .args(["--as-of", "2026-01-01", "--threads", "8"])
        .output()
        .expect("the program runs");
    assert!(second.status.success());
    let (one, two) = (tree(&one), tree(&two));
    assert_eq!(
        one.keys().collect::<Vec<_>>(),
        two.keys().collect::<Vec<_>>()
    );
    for (name, bytes) in &one {
        assert!(bytes == &two[name], "{name} differs");
    }
    assert!(one.keys().any(|name| name.starts_with("jobs/")));
}

#[test]
fn input_is_never_written_to() {
    let folder = tempfile::tempdir().expect("a folder");
    let before = tree(&samples());
    let run = audit(
        folder.path(),
        &[&samples()],
        &folder.path().join("out"),
        &[],
    );
    assert!(run.status.success(), "{}", stderr(&run));
    assert_eq!(before, tree(&samples()));
}

#[test]
fn exit_status_says_what_happened() {
    let folder = tempfile::tempdir().expect("a folder");
    let good = write(folder.path(), "in/small.csv", SMALL);
    let out = folder.path().join("out");
    let code =
        |paths: &[&Path], more: &[&str]| audit(folder.path(), paths, &out, more).status.code();
    assert_eq!(
        code(&[&good], &[]),
        Some(0),
        "findings alone are no failure"
    );
    assert_eq!(
        code(&[&good], &["--fail-on", "fix"]),
        Some(1),
        "60 A on MOP 50 A"
    );
    assert_eq!(code(&[&folder.path().join("nowhere")], &[]), Some(3));
    let bad = write(folder.path(), "bad.xlsx", "this is no workbook");
    assert_eq!(
        code(&[&good, &bad], &["--fail-on", "fix"]),
        Some(3),
        "3 wins over 1"
    );
    assert_eq!(
        rows(&out.join("jobs.csv")).len(),
        1,
        "all that could was audited"
    );
    assert_eq!(code(&[&good], &["--no-such-option"]), Some(2));
    assert_eq!(code(&[&good], &["--fail-on", "everything"]), Some(2));
    let mine = folder.path().join("mine");
    write(&mine, "thesis.txt", "mine");
    let refused = audit(folder.path(), &[&good], &mine, &[]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(stderr(&refused).contains("--force"), "{}", stderr(&refused));
}

#[test]
fn a_file_that_cannot_be_read_is_named_with_a_sentence_and_the_rest_goes_on() {
    let folder = tempfile::tempdir().expect("a folder");
    write(folder.path(), "in/small.csv", SMALL);
    write(folder.path(), "in/b/empty.xlsx", "");
    write(folder.path(), "in/c/picture.xlsx", b"\x89PNG\r\n\x1a\n0000");
    write(
        folder.path(),
        "in/d/notes.csv",
        "a note,of no use\nto anybody,at all\n",
    );
    write(folder.path(), "in/README.md", "# read me");
    let run = audit(
        folder.path(),
        &[&folder.path().join("in")],
        &folder.path().join("out"),
        &[],
    );
    assert_eq!(run.status.code(), Some(3));
    let said = stderr(&run);
    for name in ["b/empty.xlsx", "c/picture.xlsx", "d/notes.csv"] {
        let line = said.lines().find(|line| line.contains(name));
        assert!(
            line.is_some_and(|line| line.len() > name.len() + 20),
            "{name} in:\n{said}"
        );
    }
    assert!(
        !said.contains("README"),
        "a file beside the schedules is no failure"
    );
    assert!(stdout(&run).contains("1 job"), "{}", stdout(&run));
}

#[test]
fn what_a_reviewer_typed_survives_and_nothing_of_it_is_lost() {
    let folder = tempfile::tempdir().expect("a folder");
    let input = write(folder.path(), "in/small.csv", SMALL);
    let out = folder.path().join("out");
    assert!(audit(folder.path(), &[&input], &out, &[]).status.success());
    let before = rows(&out.join("findings.csv"));
    let workbook = out.join(&rows(&out.join("jobs.csv"))[0]["workbook"]);
    std::fs::write(&workbook, "a reviewer's own file").expect("the reviewer writes");
    let again = audit(folder.path(), &[&input], &out, &[]);
    assert!(again.status.success(), "{}", stderr(&again));
    assert_eq!(before, rows(&out.join("findings.csv")));
    let kept = out
        .join("kept/jobs")
        .join(workbook.file_name().expect("a name"));
    assert_eq!(
        std::fs::read_to_string(kept).expect("kept"),
        "a reviewer's own file"
    );
    assert!(stderr(&again).contains("kept"), "{}", stderr(&again));
}

#[test]
fn a_workbook_of_ours_audits_to_the_same_findings() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("out");
    let workbooks = samples().join("season-2026/garnet-terrace.xlsx");
    assert!(
        audit(folder.path(), &[&workbooks], &out, &[])
            .status
            .success()
    );
    let key = |out: &Path| -> Vec<(String, String, String)> {
        rows(&out.join("findings.csv"))
            .into_iter()
            .map(|row| {
                (
                    row["id"].clone(),
                    row["cell"].clone(),
                    row["message"].clone(),
                )
            })
            .collect()
    };
    let first = key(&out);
    assert!(!first.is_empty());
    let second = folder.path().join("second");
    let copy = folder.path().join("copy.xlsx");
    std::fs::copy(out.join("jobs/Garnet Terrace.xlsx"), &copy).expect("a copy");
    let run = audit(folder.path(), &[&copy], &second, &[]);
    assert!(run.status.success(), "{}", stderr(&run));
    assert_eq!(first, key(&second));
    // The output folder named itself gives its workbooks back.
    let third = folder.path().join("third");
    assert!(audit(folder.path(), &[&out], &third, &[]).status.success());
    assert_eq!(first, key(&third));
}

#[test]
fn read_shows_how_a_schedule_was_understood() {
    let folder = tempfile::tempdir().expect("a folder");
    let text =
        "Maple Court\n\nTag,Type,MCA,MOCP,Colour\nOU-1,Outdoor unit,31.4,50,grey\nTotal,,,,\n";
    let input = write(folder.path(), "in/maple.csv", text);
    let path = input.display().to_string();
    let run = ampledger(folder.path(), &["read", &path, "--json"]);
    assert!(run.status.success(), "{}", stderr(&run));
    let tables: serde_json::Value = serde_json::from_str(&stdout(&run)).expect("JSON");
    let table = &tables[0];
    assert_eq!(table["file"], "maple.csv");
    assert_eq!(table["kind"], "equipment");
    assert_eq!(table["header_rows"], serde_json::json!([3]));
    assert_eq!(table["rows_taken"], 1);
    let fields: Vec<_> = table["columns"]
        .as_array()
        .expect("columns")
        .iter()
        .map(|column| column["field"].as_str().unwrap_or("-").to_owned())
        .collect();
    assert_eq!(
        fields,
        ["unit.tag", "unit.kind", "unit.mca", "unit.mop", "-"]
    );
    let left = table["rows_left_out"].as_array().expect("rows");
    assert!(left.iter().any(|row| row["row"] == 5), "{left:?}");
    let text = stdout(&ampledger(folder.path(), &["read", &path]));
    assert!(
        text.contains("unit.mop") && text.contains("1 job"),
        "{text}"
    );
}

#[test]
fn a_pipe_gets_no_progress_and_help_reads_well() {
    let folder = tempfile::tempdir().expect("a folder");
    let input = write(folder.path(), "in/small.csv", SMALL);
    let run = audit(folder.path(), &[&input], &folder.path().join("out"), &[]);
    assert_eq!(stderr(&run), "");
    assert!(!stdout(&run).contains('\u{1b}'));
    for command in [&["--help"][..], &["audit", "--help"], &["read", "--help"]] {
        let help = stdout(&ampledger(folder.path(), command));
        assert!(help.contains("Usage"), "{help}");
        assert!(
            help.lines().all(|line| line.chars().count() <= 120),
            "{help}"
        );
    }
}

/// Ids of the findings, in the order of a format.
fn ids_in(format: &str, bytes: &[u8]) -> Vec<String> {
    let text = || std::str::from_utf8(bytes).expect("UTF-8");
    let id = |value: &serde_json::Value| value.as_str().expect("an id").to_owned();
    match format {
        "csv" => csv::Reader::from_reader(bytes)
            .deserialize::<std::collections::BTreeMap<String, String>>()
            .map(|row| row.expect("a row")["id"].clone())
            .collect(),
        "jsonl" => text()
            .lines()
            .map(|line| serde_json::from_str::<serde_json::Value>(line).expect("JSON"))
            .map(|line| id(&line["id"]))
            .collect(),
        "sarif" => {
            let log: serde_json::Value = serde_json::from_str(text()).expect("JSON");
            let results = log["runs"][0]["results"].as_array().expect("results");
            results
                .iter()
                .map(|result| id(&result["partialFingerprints"]["finding/v1"]))
                .collect()
        }
        _ => {
            let frame = ampledger::report::formats::read_parquet(bytes).expect("Parquet");
            let found = ampledger::report::formats::findings_of_frame(&frame).expect("findings");
            found.into_iter().map(|finding| finding.id).collect()
        }
    }
}

#[test]
fn all_formats_carry_the_same_findings_in_the_folder_and_in_a_pipe() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("out");
    let season = samples().join("season-2026");
    let mut lists = Vec::new();
    for format in ["csv", "jsonl", "sarif", "parquet"] {
        let run = audit(folder.path(), &[&season], &out, &["--format", format]);
        assert!(run.status.success(), "{}", stderr(&run));
        assert!(stderr(&run).contains("audited"), "the summary goes there");
        let file = std::fs::read(out.join(format!("findings.{format}"))).expect("the file");
        assert!(run.stdout == file, "{format}: the pipe is the file");
        lists.push(ids_in(format, &file));
    }
    assert!(!lists[0].is_empty());
    assert!(lists.iter().all(|list| *list == lists[0]), "{lists:?}");
}

/// A schedule of one job with a breaker for each of three units.
fn revision(rows: &[(&str, &str, &str)]) -> String {
    let mut text = String::from("Tag,Type,MCA,MOCP,V/PH/HZ,Panel,Ckt,Breaker,Wire\n");
    for (tag, slots, breaker) in rows {
        let (kind, mca, mop) = match *tag {
            "OU-1" => ("Outdoor unit", "31.4", "50"),
            _ => ("Fan coil", "0.8", "15"),
        };
        text.push_str(&format!(
            "{tag},{kind},{mca},{mop},208/230-1-60,LP,\"{slots}\",{breaker},10/2 MC\n"
        ));
    }
    text
}

#[test]
fn a_resubmission_shows_what_is_gone_still_open_and_new() {
    let folder = tempfile::tempdir().expect("a folder");
    // One fault is mended, one left with another number, one new; all rows moved.
    let old = revision(&[
        ("OU-1", "1,3", "60A/2P"),
        ("FC-1", "5,7", "20A/2P"),
        ("FC-2", "9,11", "15A/2P"),
    ]);
    let new = revision(&[
        ("FC-2", "9,11", "20A/2P"),
        ("FC-1", "5,7", "25A/2P"),
        ("OU-1", "1,3", "50A/2P"),
    ]);
    write(folder.path(), "first/Alder Gate rev 1.csv", old);
    write(folder.path(), "second/Alder Gate rev 2.csv", new);
    let audited = |name: &str| {
        let out = folder.path().join(format!("out {name}"));
        let run = audit(folder.path(), &[&folder.path().join(name)], &out, &[]);
        assert!(run.status.success(), "{}", stderr(&run));
    };
    audited("first");
    audited("second");
    let compare = |old: &str, new: &str, out: &str| {
        let args = ["compare", old, new, "--out", out, "--as-of", "2026-01-01"];
        let run = ampledger(folder.path(), &args);
        assert!(run.status.success(), "{}", stderr(&run));
        assert!(stdout(&run).contains("still open"), "{}", stdout(&run));
        rows(&folder.path().join(out).join("compared.csv"))
    };
    let compared = compare("out first", "out second", "compared");
    let fates: Vec<(&str, &str, &str, &str)> = compared
        .iter()
        .filter(|row| row["rule"] == "protection-over-mop")
        .map(|row| {
            let of = |name: &str| row[name].as_str();
            (of("fate"), of("subject"), of("was"), of("found"))
        })
        .collect();
    assert_eq!(
        fates,
        [
            ("still open", "LP-5,7", "20 A", "25 A"),
            ("new", "LP-9,11", "", "20 A"),
            ("gone", "LP-1,3", "60 A", "60 A"),
        ]
    );
    // Schedules that were not audited yet give the same.
    assert_eq!(compared, compare("first", "second", "again"));
    // In one folder, the older revision is superseded and counts nowhere.
    let out = folder.path().join("both");
    let inputs = [&folder.path().join("first"), &folder.path().join("second")];
    let run = audit(folder.path(), &inputs.map(|path| path.as_path()), &out, &[]);
    assert!(
        stdout(&run).starts_with("1 job audited"),
        "{}",
        stdout(&run)
    );
    let superseded: Vec<String> = rows(&out.join("jobs.csv"))
        .into_iter()
        .filter(|row| !row["superseded_by"].is_empty())
        .map(|row| row["file"].clone())
        .collect();
    assert_eq!(superseded, ["first/Alder Gate rev 1.csv"]);
}
