//! Findings that somebody answers for, from a file, from a sheet of the
//! workbook and from what was typed into our copy of it. All data invented.

mod common;

use common::*;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// A house with a breaker above MOP, and a second fault beside it.
fn house(breaker: &str) -> String {
    format!(
        "Job,Tag,Type,MCA,MOCP,V/PH/HZ,Panel,Ckt,Breaker,Wire\n\
         Alder Gate,OU-1,Outdoor unit,31.4,50,208/230-1-60,LP,\"1,3\",{breaker},\"2#8 THHN, 1#10G\"\n\
         Alder Gate,FC-1,Fan coil,0.8,15,208/230-1-60,LP,\"2,4\",20A/2P,12/2 MC\n"
    )
}

type Rows = Vec<BTreeMap<String, String>>;

fn of<'a>(rows: &'a Rows, rule: &str, subject: &str) -> &'a BTreeMap<String, String> {
    rows.iter()
        .find(|row| row["rule"] == rule && row["subject"] == subject)
        .unwrap_or_else(|| panic!("no {rule} at {subject}"))
}

const MOP: &str = "protection-over-mop";

fn entry(row: &BTreeMap<String, String>, more: &str) -> String {
    format!(
        "[[accepted]]\njob = \"Alder Gate\"\nrule = \"{}\"\nsubject = \"{}\"\nfound = \"{}\"\n\
         limit = \"{}\"\nreason = \"the maker's letter of 3 May\"\nby = \"J. Ames\"\n{more}",
        row["rule"], row["subject"], row["found"], row["limit"]
    )
}

struct Job {
    folder: tempfile::TempDir,
    input: PathBuf,
    out: PathBuf,
}

impl Job {
    fn new(breaker: &str) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let input = write(folder.path(), "in/alder.csv", house(breaker));
        let out = folder.path().join("out");
        Self { folder, input, out }
    }

    fn revise(&self, breaker: &str) {
        std::fs::write(&self.input, house(breaker)).expect("a revision");
    }

    fn audit(&self, more: &[&str]) -> (Rows, String) {
        let run = audit(self.folder.path(), &[&self.input], &self.out, more);
        assert!(run.status.success(), "{}", stderr(&run));
        (
            rows(&self.out.join("findings.csv")),
            stdout(&run) + &stderr(&run),
        )
    }

    fn job(&self) -> BTreeMap<String, String> {
        rows(&self.out.join("jobs.csv")).remove(0)
    }

    fn file(&self, text: &str) -> String {
        let path = write(self.folder.path(), "accepted.toml", text);
        path.display().to_string()
    }
}

#[test]
fn an_accepted_finding_leaves_the_count_and_stays_listed_until_it_changes() {
    let job = Job::new("60A/2P");
    let (before, _) = job.audit(&[]);
    assert_eq!(job.job()["fix"], "2");
    let ou = of(&before, MOP, "LP-1,3").clone();
    let file = job.file(&entry(&ou, "until = 2026-06-30\n"));
    let (after, said) = job.audit(&["--accepted", &file]);
    assert_eq!(after.len(), before.len(), "it stays listed");
    let accepted = of(&after, MOP, "LP-1,3");
    assert_eq!(accepted["accepted_by"], "J. Ames");
    assert_eq!(accepted["accepted_reason"], "the maker's letter of 3 May");
    assert_eq!(accepted["accepted_until"], "2026-06-30");
    let row = job.job();
    assert_eq!((row["fix"].as_str(), row["accepted"].as_str()), ("1", "1"));
    assert_eq!(
        row["disposition"],
        "revise and resubmit, with accepted exceptions"
    );
    assert!(said.contains("1 finding is accepted"), "{said}");
    // The list names who answers for it, and it stands last.
    let list = sheet(&job.out.join(&row["workbook"]), "Findings");
    let (_, at) = column(&list, "Acceptance");
    let last = list.iter().rposition(|row| row[at].contains("J. Ames"));
    assert_eq!(last, Some(list.len() - 1), "{list:?}");
    assert!(
        list[2][0].ends_with("WITH ACCEPTED EXCEPTIONS"),
        "{:?}",
        list[2]
    );
    let letter = std::fs::read_to_string(job.out.join("letters/Alder Gate.md")).expect("a letter");
    assert!(letter.contains("## Accepted"), "{letter}");
    assert!(letter.contains("make 1 correction "), "{letter}");
    // The schedule that is proposed leaves it alone.
    let proposed = sheet(&job.out.join("proposed/Alder Gate.xlsx"), "Circuits");
    let breaker = proposed[0].iter().position(|heading| heading == "Breaker");
    let circuit = proposed.iter().find(|row| row.contains(&"1,3".to_owned()));
    let kept = circuit.expect("the circuit")[breaker.expect("a column")].as_str();
    assert_eq!(kept, "60");

    // Another number: it lapses, stands, and is said.
    job.revise("70A/2P");
    let (lapsed, said) = job.audit(&["--accepted", &file]);
    assert_eq!(of(&lapsed, MOP, "LP-1,3")["accepted_by"], "");
    assert_eq!(job.job()["accepted"], "0");
    assert!(said.contains("accepted.toml, line 1"), "{said}");
    assert!(said.contains("lapsed: what was found was"), "{said}");
    // Mended: it matches nothing any more.
    job.revise("50A/2P");
    let (_, said) = job.audit(&["--accepted", &file]);
    assert!(said.contains("matches no finding any more"), "{said}");
    // After its date.
    job.revise("60A/2P");
    let late = job.file(&entry(&ou, "until = 2025-12-31\n"));
    let (_, said) = job.audit(&["--accepted", &late]);
    assert!(said.contains("lapsed: it held until 2025-12-31"), "{said}");
    // A job that is not there.
    let other = entry(&ou, "").replace("Alder Gate", "Birch Gate");
    let (_, said) = job.audit(&["--accepted", &job.file(&other)]);
    assert!(said.contains("no job of that name"), "{said}");
}

#[test]
fn with_all_accepted_there_is_no_exception_left_but_it_is_said() {
    let job = Job::new("60A/2P");
    let (before, _) = job.audit(&[]);
    let all: Vec<String> = before
        .iter()
        .filter(|row| row["severity"] != "note")
        .map(|row| entry(row, ""))
        .collect();
    let file = job.file(&all.join("\n"));
    let run = audit(
        job.folder.path(),
        &[&job.input],
        &job.out,
        &["--accepted", &file, "--fail-on", "verify"],
    );
    assert_eq!(run.status.code(), Some(0), "{}", stderr(&run));
    let row = job.job();
    assert_eq!((row["fix"].as_str(), row["verify"].as_str()), ("0", "0"));
    assert!(
        row["disposition"].ends_with(", with accepted exceptions"),
        "{}",
        row["disposition"]
    );
    assert_ne!(
        row["disposition"],
        "revise and resubmit, with accepted exceptions"
    );
}

#[test]
fn a_bad_file_is_refused_before_anything_is_written() {
    let job = Job::new("60A/2P");
    for (text, says) in [
        (
            "[[accepted]]\njob = \"Alder Gate\"\n",
            "accepted.toml:1: this entry has no reason",
        ),
        ("[[accepted]\n", "accepted.toml:1: "),
        ("x = 1\n", "accepted.toml:1: unknown field"),
    ] {
        let file = job.file(text);
        let run = audit(
            job.folder.path(),
            &[&job.input],
            &job.out,
            &["--accepted", &file],
        );
        assert_eq!(run.status.code(), Some(2));
        assert!(stderr(&run).contains(says), "{}", stderr(&run));
        assert!(!job.out.exists());
    }
}

#[test]
fn all_formats_carry_an_acceptance() {
    let job = Job::new("60A/2P");
    let (before, _) = job.audit(&[]);
    let file = job.file(&entry(of(&before, MOP, "LP-1,3"), ""));
    let (csv, _) = job.audit(&["--accepted", &file]);
    let by_csv: Vec<bool> = csv
        .iter()
        .map(|row| !row["accepted_by"].is_empty())
        .collect();
    assert_eq!(by_csv.iter().filter(|accepted| **accepted).count(), 1);
    let read = |name: &str| std::fs::read(job.out.join(name)).expect("the file");
    let lines = ampledger::report::formats::read_json_lines(&read("findings.jsonl"));
    let by_lines: Vec<bool> = lines
        .expect("findings")
        .iter()
        .map(|f| !f.stands())
        .collect();
    assert_eq!(by_csv, by_lines);
    let frame = ampledger::report::formats::read_parquet(&read("findings.parquet"));
    let found = ampledger::report::formats::findings_of_frame(&frame.expect("Parquet"));
    let by_frame: Vec<bool> = found
        .expect("findings")
        .iter()
        .map(|f| !f.stands())
        .collect();
    assert_eq!(by_csv, by_frame);
    let log: serde_json::Value = serde_json::from_slice(&read("findings.sarif")).expect("JSON");
    let results = log["runs"][0]["results"].as_array().expect("results");
    // SARIF 2.1.0, 3.27.23 and 3.35: on all results of a run or on none; of
    // memory.
    let by_log: Vec<bool> = results
        .iter()
        .map(|result| {
            !result["suppressions"]
                .as_array()
                .expect("on all")
                .is_empty()
        })
        .collect();
    assert_eq!(by_csv, by_log);
    let suppression = results
        .iter()
        .find_map(|result| result["suppressions"].get(0))
        .expect("one");
    assert_eq!(suppression["status"], "accepted");
    assert_eq!(
        suppression["justification"],
        "J. Ames: the maker's letter of 3 May"
    );
}

#[test]
fn what_is_typed_into_our_copy_accepts_and_lapses_and_can_be_taken_as_a_file() {
    let job = Job::new("60A/2P");
    let (before, _) = job.audit(&[]);
    let id = of(&before, MOP, "LP-1,3")["id"].clone();
    let workbook = job.out.join(&job.job()["workbook"]);
    type_into(&workbook, &[(&id, "Accept", "x")]);
    // A mere mark names nobody and gives no reason.
    let (again, said) = job.audit(&[]);
    assert_eq!(of(&again, MOP, "LP-1,3")["accepted_by"], "");
    assert!(said.contains("write the name"), "{said}");
    assert!(said.contains("write the reason"), "{said}");
    let list = sheet(&workbook, "Findings");
    assert!(format!("{list:?}").contains("not accepted: write the name"));
    type_into(
        &workbook,
        &[
            (&id, "Accept", "J. Ames until 2026-06-30"),
            (&id, "Reviewer's remark", "letter of 3 May"),
        ],
    );
    let (accepted, said) = job.audit(&[]);
    assert!(!said.contains("ampledger: column Accept"), "{said}");
    let row = of(&accepted, MOP, "LP-1,3");
    assert_eq!(row["accepted_by"], "J. Ames");
    assert_eq!(row["accepted_reason"], "letter of 3 May");
    assert_eq!(job.job()["accepted"], "1");
    // It holds run after run, and without workbooks.
    let (once_more, _) = job.audit(&[]);
    assert_eq!(once_more, accepted);
    let (lists_alone, _) = job.audit(&["--findings-only"]);
    assert_eq!(lists_alone, accepted);
    // The file to keep says the same by itself.
    let ready = std::fs::read_to_string(job.out.join("accepted.toml")).expect("the file");
    let file = job.file(&ready);
    let fresh = job.folder.path().join("fresh");
    let run = audit(
        job.folder.path(),
        &[&job.input],
        &fresh,
        &["--accepted", &file],
    );
    assert!(run.status.success(), "{}", stderr(&run));
    assert_eq!(rows(&fresh.join("findings.csv")), accepted);
    // Another number: it lapses once and for all, however often it is run.
    job.revise("70A/2P");
    for _ in 0..2 {
        let (lapsed, said) = job.audit(&[]);
        assert_eq!(of(&lapsed, MOP, "LP-1,3")["accepted_by"], "");
        assert!(said.contains("lapsed: what was found was"), "{said}");
    }
    let ready = std::fs::read_to_string(job.out.join("accepted.toml")).expect("the file");
    assert!(ready.contains("\n# lapsed: "), "{ready}");
    assert!(ready.contains("\n# [[accepted]]"), "{ready}");
    // Back to the old number, it holds again.
    job.revise("60A/2P");
    assert_eq!(job.audit(&[]).0, accepted);
}

#[test]
fn a_sheet_of_the_jobs_own_workbook_accepts_by_type_of_dwelling() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("in/court.xlsx");
    std::fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
    let court = |accepted: &[[&str; 7]]| {
        let mut book = rust_xlsxwriter::Workbook::new();
        let out = book.add_worksheet().set_name("Units").expect("a name");
        let head = [
            "Apartment",
            "Apt Type",
            "Tag",
            "Type",
            "MCA",
            "MOCP",
            "V/PH/HZ",
            "Panel",
            "Ckt",
            "Breaker",
            "Wire",
        ];
        let mut table = vec![head.map(str::to_owned)];
        for (apartment, kind) in [
            ("1A", "A"),
            ("2A", "A"),
            ("3A", "A"),
            ("4A", "A"),
            ("1B", "B"),
        ] {
            let breaker = if apartment == "4A" {
                "15A/2P"
            } else {
                "20A/2P"
            };
            for (tag, unit, mca, mop, slots, breaker) in [
                ("OU-1", "Outdoor unit", "21.4", "35", "1,3", "35A/2P"),
                ("FC-1", "Fan coil", "0.8", "15", "2,4", breaker),
            ] {
                let row = [
                    apartment,
                    kind,
                    tag,
                    unit,
                    mca,
                    mop,
                    "208/230-1-60",
                    "LP",
                    slots,
                    breaker,
                    "8/2 MC",
                ];
                table.push(row.map(str::to_owned));
            }
        }
        let mut write = |rows: &[Vec<String>]| {
            for (row, cells) in rows.iter().enumerate() {
                for (column, text) in cells.iter().enumerate() {
                    out.write_string(row as u32, column as u16, text)
                        .expect("a cell");
                }
            }
        };
        write(&table.iter().map(|row| row.to_vec()).collect::<Vec<_>>());
        if !accepted.is_empty() {
            let out = book.add_worksheet().set_name("Accepted").expect("a name");
            let head = [
                "Rule",
                "Subject",
                "Dwelling",
                "Found",
                "Limit",
                "Reason",
                "Accepted by",
            ];
            for (row, cells) in std::iter::once(&head).chain(accepted).enumerate() {
                for (column, text) in cells.iter().enumerate() {
                    out.write_string(row as u32, column as u16, *text)
                        .expect("a cell");
                }
            }
        }
        book.save(&path).expect("the workbook");
    };
    let out = folder.path().join("out");
    let run = || {
        let run = audit(folder.path(), &[&path], &out, &[]);
        assert!(run.status.success(), "{}", stderr(&run));
        (
            rows(&out.join("findings.csv")),
            stdout(&run) + &stderr(&run),
        )
    };
    court(&[]);
    let (before, said) = run();
    let wide: Vec<_> = before.iter().filter(|row| row["rule"] == MOP).collect();
    assert_eq!(wide.len(), 4, "{before:?}");
    assert!(said.contains("counted once"), "{said}");
    let list = sheet(&out.join("jobs/court.xlsx"), "Findings");
    let text = format!("{list:?}");
    assert!(
        text.contains("3 of 4 dwellings of type A, not 4A. In 1A: "),
        "{text}"
    );
    let batch = format!("{:?}", sheet(&out.join("batch.xlsx"), "Findings"));
    assert!(
        batch.contains("3 of 4 dwellings of type A, not 4A. In 1A: "),
        "{batch}"
    );
    assert!(
        folded(&out.join("batch.xlsx")) >= 3,
        "each member has its plus sign"
    );
    let letter = std::fs::read_to_string(out.join("letters/court.md")).expect("a letter");
    assert!(letter.contains("LP-2,4 in 3 of 4 dwellings"), "{letter}");
    let (found, limit) = (wide[0]["found"].clone(), wide[0]["limit"].clone());
    let by_type = [
        MOP,
        "LP-2,4",
        "A",
        &found,
        &limit,
        "type-tested with 20 A",
        "J. Ames",
    ];
    court(&[by_type]);
    let (after, said) = run();
    let accepted: Vec<&str> = after
        .iter()
        .filter(|row| !row["accepted_by"].is_empty())
        .map(|row| row["dwelling"].as_str())
        .collect();
    assert_eq!(accepted, ["1A", "2A", "3A"], "not 1B: {said}");
    assert_eq!(after.len(), before.len());
    // One dwelling, and all of them.
    court(&[[MOP, "LP-2,4", "1B", &found, &limit, "seen", "J. Ames"]]);
    let count = |rows: &Rows| {
        rows.iter()
            .filter(|row| !row["accepted_by"].is_empty())
            .count()
    };
    assert_eq!(count(&run().0), 1);
    court(&[[MOP, "*", "*", &found, &limit, "seen", "J. Ames"]]);
    assert_eq!(count(&run().0), 4);
    // A row without a name or a reason covers nothing, and is said by its cell.
    court(&[[MOP, "LP-2,4", "A", &found, &limit, "", ""]]);
    let (none, said) = run();
    assert_eq!(count(&none), 0);
    assert!(said.contains("court.xlsx, sheet Accepted, row 2"), "{said}");
    assert!(
        said.contains("says nothing for \u{201c}reason\u{201d}"),
        "{said}"
    );
}

#[test]
fn the_least_severity_shortens_lists_and_changes_no_count() {
    let job = Job::new("60A/2P");
    let (all, _) = job.audit(&[]);
    let whole = job.job();
    let (fixes, said) = job.audit(&["--min-severity", "fix"]);
    assert!(fixes.len() < all.len());
    assert!(fixes.iter().all(|row| row["severity"] == "fix"));
    assert_eq!(job.job(), whole, "counts and disposition stay");
    assert!(said.contains("below fix and listed nowhere"), "{said}");
}

/// Rows of the third sheet that are hidden below an outline; none may be
/// hidden without one.
fn folded(path: &Path) -> usize {
    let file = std::fs::File::open(path).expect("the workbook");
    let mut zip = zip::ZipArchive::new(file).expect("a package");
    let mut xml = String::new();
    let mut part = zip.by_name("xl/worksheets/sheet3.xml").expect("Findings");
    std::io::Read::read_to_string(&mut part, &mut xml).expect("XML");
    let rows = xml.split("<row ").skip(1);
    let hidden = rows
        .filter_map(|row| row.split('>').next())
        .filter(|row| row.contains("hidden=\"1\""));
    hidden
        .inspect(|row| assert!(row.contains("outlineLevel=\"1\""), "{row}"))
        .count()
}

/// The engineer's building: two accepted deviations, one by a file and one
/// typed, and a twin that differs is still found.
#[test]
fn the_building_is_audited_with_two_accepted_deviations() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("out");
    let building = samples().join("building");
    let run = |more: &[&str]| {
        let run = audit(folder.path(), &[building.as_path()], &out, more);
        assert!(run.status.success(), "{}", stderr(&run));
        rows(&out.join("findings.csv"))
    };
    let before = run(&[]);
    let job = rows(&out.join("jobs.csv")).remove(0);
    let fixes: usize = job["fix"].parse().expect("a count");
    let find = |rule: &str| {
        let row = before.iter().find(|row| row["rule"] == rule);
        row.unwrap_or_else(|| panic!("no {rule}")).clone()
    };
    let (mop, shared) = (find(MOP), find("shared-rating-too-large"));
    let file = entry(&mop, "").replace("Alder Gate", "Oakfield Court");
    let file = write(folder.path(), "building.toml", file);
    type_into(
        &out.join(&job["workbook"]),
        &[
            (&shared["id"], "Accept", "J. Ames"),
            (
                &shared["id"],
                "Reviewer's remark",
                "the listing allows 20 A",
            ),
        ],
    );
    let after = run(&["--accepted", &file.display().to_string()]);
    assert_eq!(after.len(), before.len());
    let job = rows(&out.join("jobs.csv")).remove(0);
    assert_eq!(job["fix"], (fixes - 2).to_string());
    assert_eq!(job["accepted"], "2");
    let twins = after
        .iter()
        .filter(|row| row["rule"] == "twin-units-differ");
    assert!(twins.clone().count() >= 1);
    assert!(twins.clone().all(|row| row["accepted_by"].is_empty()));
    assert!(Path::new(&out).join("accepted.toml").is_file());
}
