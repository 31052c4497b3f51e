//! Files, sheets and typed words, each to the acceptance that was meant.

use super::*;
use crate::findings::{Standing, Target};
use crate::intake::book::{Book, Limits};

const GOOD: &str = "\
[[accepted]]
job = \"Oakfield Court\"
rule = \"protection-over-mop\"
subject = \"LP-1,3\"
dwelling = \"3B\"
found = \"40 A\"
limit = \"35 A\"
reason = \"the maker's letter of 3 May allows it\"
by = \"J. Ames\"
until = 2027-01-31
";

#[test]
fn the_schema_of_the_sheet_is_read() {
    let csv = "Rule,Reason,By\nbus-splice,seen on site,J. Ames\n";
    let book = Book::from_bytes("a.csv", csv.into(), &Limits::default()).expect("a book");
    assert_eq!(from_book(&book, "a.csv").len(), 1);
    let schema = include_str!("../../schemas/accepted.schema.json");
    let schema: serde_json::Value = serde_json::from_str(schema).expect("JSON");
    let keys = &schema["properties"]["accepted"]["items"]["properties"];
    let keys: Vec<&str> = keys
        .as_object()
        .expect("keys")
        .keys()
        .map(String::as_str)
        .collect();
    for key in &keys {
        assert!(GOOD.contains(&format!("\n{key} = ")), "{key}");
    }
    assert_eq!(keys.len(), GOOD.lines().count() - 1);
}

#[test]
fn a_file_is_read_with_its_lines() {
    let read = from_toml(GOOD, "a.toml").expect("valid");
    assert_eq!(read.len(), 1);
    assert_eq!(read[0].until, Some(jiff::civil::date(2027, 1, 31)));
    assert_eq!(read[0].origin, "a.toml, line 1");
    let text = GOOD.replace("2027-01-31", "\"2027-01-31\"");
    assert_eq!(
        from_toml(&text, "a.toml").expect("valid")[0].until,
        read[0].until
    );
    assert!(from_toml("", "a.toml").expect("an empty file").is_empty());
}

#[test]
fn a_file_that_lacks_something_is_refused_with_the_line() {
    for (from, to, line, says) in [
        ("by = \"J. Ames\"\n", "", 1, "no by"),
        ("by = \"J. Ames\"", "by = \" \"", 9, "by is empty"),
        (
            "reason = \"the maker's letter of 3 May allows it\"\n",
            "",
            1,
            "no reason",
        ),
        ("found = \"40 A\"\n", "", 1, "no found"),
        (
            "protection-over-mop",
            "protection-over-mopp",
            3,
            "nearest: protection-over-mop",
        ),
        ("2027-01-31", "\"31st\"", 10, "2027-01-31"),
        ("until", "untill", 10, "unknown field"),
        ("subject", "\nsubject =", 5, "expected"),
    ] {
        let text = GOOD.replace(from, to);
        let faults = from_toml(&text, "a.toml").expect_err(says);
        let fault = &faults[0];
        assert!(fault.says.contains(says), "{to}: {}", fault.says);
        // A parser may blame an unknown key at its table.
        assert!(
            fault.line == line || says == "unknown field",
            "{to}: {}",
            fault.line
        );
    }
}

#[test]
fn what_a_reviewer_types_names_who_and_why() {
    let at = |accept, remark| {
        typed(Typed {
            id: "a1",
            accept,
            remark,
            found: "40 A",
            limit: "35 A",
            origin: "here",
        })
    };
    let good = at("J. Ames until 2027-01-31", "letter of 3 May").expect("one");
    assert_eq!(good.by, "J. Ames");
    assert_eq!(good.until, Some(jiff::civil::date(2027, 1, 31)));
    assert_eq!(good.wanting, None);
    assert_eq!(good.target, Target::Id("a1".into()));
    for (accept, remark, says) in [
        ("x", "letter", "name"),
        ("Yes", "letter", "name"),
        ("J. Ames", "", "reason"),
        ("J. Ames until spring", "letter", "no date"),
        ("J. Ames until 3/4/2027", "letter", "no date"),
    ] {
        let wanting = at(accept, remark).expect("one").wanting.expect(accept);
        assert!(wanting.contains(says), "{accept}: {wanting}");
    }
    let by = |accept| at(accept, "letter").expect("one").by;
    assert_eq!(by("yes, J. Ames"), "J. Ames");
    assert_eq!(by("Accepted by J. Ames"), "J. Ames");
    assert_eq!(by("Oke Byron"), "Oke Byron");
    assert_eq!(at("", "letter"), None);
    assert_eq!(at("no", "letter"), None);
}

#[test]
fn a_row_of_a_sheet_says_what_it_lacks() {
    let csv = "Accepted findings\n\n\
               Rule,Subject,Apartment,Found,Limit,Reason,Accepted by,Until\n\
               bus-splice,FC-1 to FC-2,*,1 splice,,seen on site,J. Ames,31 Jan 2027\n\
               ,,,,,,,\n\
               bus-splicing,FC-1,,1 splice,,,J. Ames,1/2/2027\n";
    let book = Book::from_bytes("a.csv", csv.into(), &Limits::default()).expect("a book");
    let read = from_book(&book, "jobs/a.csv");
    assert_eq!(read.len(), 2);
    assert_eq!(read[0].wanting, None);
    assert_eq!(read[0].until, Some(jiff::civil::date(2027, 1, 31)));
    assert_eq!(read[0].origin, "jobs/a.csv, row 4");
    let wanting = read[1].wanting.as_deref().unwrap_or_default();
    for says in ["reason", "nearest: bus-splice", "1/2/2027"] {
        assert!(wanting.contains(says), "{wanting}");
    }
}

#[test]
fn the_skeleton_is_read_back() {
    let read = from_toml(GOOD, "a.toml").expect("valid");
    let entry = |standing| write::Entry {
        job: "Oakfield \"Court\"",
        rule: "protection-over-mop",
        subject: "LP-1,3",
        dwelling: "3B",
        found: "40 A",
        limit: "35 A",
        acceptance: &read[0],
        standing,
    };
    let lapsed = Standing::Lapsed("what was found changed".into());
    let text = skeleton(&[entry(&Standing::Holds), entry(&lapsed)]);
    let again = from_toml(&text, "a.toml").expect("valid");
    assert_eq!(again.len(), 1, "what lapsed is a comment: {text}");
    assert_eq!(again[0].job, "Oakfield \"Court\"");
    assert_eq!(again[0].until, read[0].until);
    assert!(text.contains("# lapsed: what was found changed\n# [[accepted]]"));
    let open = Standing::Incomplete("write the reason".into());
    let mut bare = read[0].clone();
    bare.reason.clear();
    let mut unfinished = entry(&open);
    unfinished.acceptance = &bare;
    let faults = from_toml(&skeleton(&[unfinished]), "a.toml").expect_err("no reason");
    assert!(faults[0].says.contains("reason"));
    assert_eq!(skeleton(&[]), "");
}
