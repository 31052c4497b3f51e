//! An audit against an earlier one, and a user's own table of nameplates.
//! All data invented.

mod common;

use common::*;
use std::collections::BTreeMap;
use std::path::PathBuf;

type Rows = Vec<BTreeMap<String, String>>;

/// A schedule of one job with a breaker for each of three units.
fn revision(number: u32, rows: &[(&str, &str, &str)]) -> String {
    let mut text = String::from("Job,Revision,Tag,Type,MCA,MOCP,V/PH/HZ,Panel,Ckt,Breaker,Wire\n");
    for (tag, slots, breaker) in rows {
        let (kind, mca, mop) = match *tag {
            "OU-1" => ("Outdoor unit", "31.4", "50"),
            _ => ("Fan coil", "0.8", "15"),
        };
        text.push_str(&format!(
            "Alder Gate,{number},{tag},{kind},{mca},{mop},208/230-1-60,LP,\"{slots}\",{breaker},10/2 MC\n"
        ));
    }
    text
}

struct Job {
    folder: tempfile::TempDir,
    input: PathBuf,
}

impl Job {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let input = folder.path().join("in/alder.csv");
        Self { folder, input }
    }

    fn audit(&self, text: &str, out: &str, more: &[&str]) -> (Rows, String) {
        write(self.folder.path(), "in/alder.csv", text);
        let out = self.folder.path().join(out);
        let run = audit(self.folder.path(), &[&self.input], &out, more);
        assert!(run.status.success(), "{}", stderr(&run));
        let rows = rows(&out.join("findings.csv"));
        (rows, stdout(&run) + &stderr(&run))
    }

    fn path(&self, name: &str) -> String {
        self.folder.path().join(name).display().to_string()
    }
}

fn since<'a>(rows: &'a Rows, subject: &str) -> &'a str {
    let row = rows
        .iter()
        .find(|row| row["rule"] == "protection-over-mop" && row["subject"] == subject);
    &row.unwrap_or_else(|| panic!("nothing at {subject}"))["since"]
}

#[test]
fn findings_say_since_when_they_are_open() {
    let job = Job::new();
    let first = [
        ("OU-1", "1,3", "60A/2P"),
        ("FC-1", "5,7", "20A/2P"),
        ("FC-2", "9,11", "15A/2P"),
    ];
    let second = [
        ("FC-2", "9,11", "20A/2P"),
        ("FC-1", "5,7", "25A/2P"),
        ("OU-1", "1,3", "50A/2P"),
    ];
    let (alone, _) = job.audit(&revision(1, &first), "one", &[]);
    assert!(alone.iter().all(|row| row["since"].is_empty()));
    let one = job.path("one");
    let (rows, said) = job.audit(&revision(2, &second), "two", &["--since", &one]);
    assert_eq!(since(&rows, "LP-5,7"), "open since revision 1");
    assert_eq!(since(&rows, "LP-9,11"), "new");
    assert!(said.contains("Since the earlier audit: "), "{said}");
    let out = PathBuf::from(job.path("two"));
    let fates: Vec<String> = common::rows(&out.join("compared.csv"))
        .into_iter()
        .filter(|row| row["rule"] == "protection-over-mop")
        .map(|row| format!("{} {}", row["subject"], row["fate"]))
        .collect();
    assert_eq!(fates, ["LP-5,7 still open", "LP-9,11 new", "LP-1,3 gone"]);
    // In the job's own workbook: beside the rows, in the list, and what is gone.
    let workbook = out.join("jobs/Alder Gate.xlsx");
    let list = sheet(&workbook, "Findings");
    let (_, at) = column(&list, "Since");
    let texts: Vec<&str> = list.iter().map(|row| row[at].as_str()).collect();
    assert!(texts.contains(&"open since revision 1"), "{texts:?}");
    assert!(texts.contains(&"new"), "{texts:?}");
    assert!(texts.contains(&"gone; stood in revision 1"), "{texts:?}");
    let rows_beside = format!("{:?}", sheet(&workbook, "alder"));
    assert!(
        rows_beside.contains("FIX protection-over-mop (open since revision 1): "),
        "{rows_beside}"
    );
    let batch = out.join("batch.xlsx");
    assert!(format!("{:?}", sheet(&batch, "Since")).contains("LP-1,3"));
    assert!(format!("{:?}", sheet(&batch, "Findings")).contains("open since revision 1"));
    // The third round still knows the first.
    let two = job.path("two");
    let (rows, _) = job.audit(&revision(3, &second), "three", &["--since", &two]);
    assert_eq!(since(&rows, "LP-5,7"), "open since revision 1");
    assert_eq!(since(&rows, "LP-9,11"), "open since revision 2");
    // All formats carry it.
    let out = PathBuf::from(job.path("three"));
    let read = |name: &str| std::fs::read(out.join(name)).expect("the file");
    let by_csv: Vec<&str> = rows.iter().map(|row| row["since"].as_str()).collect();
    let lines = ampledger::report::formats::read_json_lines(&read("findings.jsonl"));
    let lines = lines.expect("findings");
    assert_eq!(
        by_csv,
        lines.iter().map(|f| f.since.as_str()).collect::<Vec<_>>()
    );
    let frame = ampledger::report::formats::read_parquet(&read("findings.parquet"));
    let found = ampledger::report::formats::findings_of_frame(&frame.expect("Parquet"));
    assert_eq!(found.expect("findings"), lines);
    let log: serde_json::Value = serde_json::from_slice(&read("findings.sarif")).expect("JSON");
    for result in log["runs"][0]["results"].as_array().expect("results") {
        let expected = match result["properties"]["since"].as_str() {
            Some("new") => "new",
            _ => "unchanged",
        };
        assert_eq!(result["baselineState"], expected);
    }
}

#[test]
fn only_an_audit_folder_can_be_compared_with() {
    let job = Job::new();
    write(
        job.folder.path(),
        "in/alder.csv",
        revision(1, &[("OU-1", "1,3", "60A/2P")]),
    );
    let out = job.folder.path().join("out");
    let nowhere = job.path("in");
    let run = audit(
        job.folder.path(),
        &[&job.input],
        &out,
        &["--since", &nowhere],
    );
    assert_eq!(run.status.code(), Some(2));
    assert!(
        stderr(&run).contains("is no audit folder"),
        "{}",
        stderr(&run)
    );
    assert!(!out.exists());
}

/// A job that leaves its MOP blank, and one that states another MCA.
const BLANK: &str = "\
Job,Tag,Type,Model,MCA,MOCP,V/PH/HZ,Panel,Ckt,Breaker,Wire
Alder Gate,OU-1,Outdoor unit,DEMO-48,31.4,,208/230-1-60,LP,\"1,3\",60A/2P,6/2 MC
Alder Gate,FC-1,Fan coil,DEMO-09,0.9,15,208/230-1-60,LP,\"2,4\",15A/2P,12/2 MC
";

/// As somebody keeps it: a title, other headings, a model nobody uses.
const TABLE: &str = "\
Nameplates read on site;;;
;;;
Model No.;Min. Circuit Amps;MOCP;Voltage
DEMO 48;31,4;50;208/230-1-60
DEMO-09;0,8;15;208/230-1-60
DEMO-12;about one;15;208/230-1-60
";

#[test]
fn a_users_nameplate_table_outranks_and_fills_at_the_strength_of_a_question() {
    let job = Job::new();
    let (before, _) = job.audit(BLANK, "before", &[]);
    assert!(before.iter().any(|row| row["rule"] == "nameplate-missing"));
    assert!(
        before
            .iter()
            .all(|row| row["rule"] != "protection-over-mop")
    );
    let table = write(job.folder.path(), "nameplates.csv", TABLE);
    let (after, said) = job.audit(
        BLANK,
        "after",
        &["--nameplates", &table.display().to_string()],
    );
    assert!(
        said.contains("nameplates.csv, row 6: \u{201c}about one\u{201d}"),
        "{said}"
    );
    let over = after
        .iter()
        .find(|row| row["rule"] == "protection-over-mop")
        .expect("60 A on MOP 50 A of the table");
    assert_eq!(
        over["severity"], "verify",
        "no fix stands on a filled value"
    );
    assert!(
        over["message"].contains("MOP of OU-1, 50 A (nameplates.csv, row 4)"),
        "{}",
        over["message"]
    );
    assert!(after.iter().all(|row| row["rule"] != "nameplate-missing"));
    assert!(
        after.iter().all(|row| row["severity"] != "fix"),
        "{after:?}"
    );
    let off: Vec<_> = after
        .iter()
        .filter(|row| row["rule"] == "nameplate-off-table")
        .collect();
    assert_eq!(off.len(), 1, "{off:?}");
    assert_eq!(off[0]["subject"], "FC-1");
    assert_eq!(off[0]["found"], "0.9 A");
    assert_eq!(off[0]["limit"], "0.8 A (nameplates.csv, row 5)");
}

#[test]
fn a_users_nameplate_table_ends_the_vote_between_jobs() {
    let folder = tempfile::tempdir().expect("a folder");
    let job = |name: &str, mca: &str| {
        let text = BLANK
            .replace("Alder Gate", name)
            .replace(",0.9,15", &format!(",{mca},15"));
        write(folder.path(), &format!("in/{name}.csv"), text);
    };
    // The majority is wrong.
    job("Alder", "0.9");
    job("Birch", "0.9");
    job("Cedar", "0.8");
    let out = folder.path().join("out");
    let input = folder.path().join("in");
    let of = |rule: &str, more: &[&str]| -> Vec<String> {
        let run = audit(folder.path(), &[&input], &out, more);
        assert!(run.status.success(), "{}", stderr(&run));
        let rows = rows(&out.join("findings.csv")).into_iter();
        rows.filter(|row| row["rule"] == rule)
            .map(|row| row["job"].clone())
            .collect()
    };
    assert_eq!(of("model-disagrees", &[]), ["Cedar"]);
    let table = write(folder.path(), "table.csv", TABLE);
    let table = table.display().to_string();
    let more = ["--nameplates", table.as_str()];
    assert!(of("model-disagrees", &more).is_empty());
    assert_eq!(of("nameplate-off-table", &more), ["Alder", "Birch"]);
}

#[test]
fn a_table_that_is_none_is_refused() {
    let job = Job::new();
    write(job.folder.path(), "in/alder.csv", BLANK);
    let out = job.folder.path().join("out");
    for (text, says) in [
        ("Colour,Size\nred,3\n", "Model, MCA, MOP"),
        (
            "Model,MCA\nDEMO-48,31.4\nDEMO-48,30\n",
            "row 3: model DEMO-48 stands at",
        ),
    ] {
        let table = write(job.folder.path(), "table.csv", text)
            .display()
            .to_string();
        let run = audit(
            job.folder.path(),
            &[&job.input],
            &out,
            &["--nameplates", &table],
        );
        assert_eq!(run.status.code(), Some(2), "{}", stderr(&run));
        assert!(stderr(&run).contains(says), "{}", stderr(&run));
        assert!(!out.exists());
    }
}
