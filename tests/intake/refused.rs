//! What is no schedule is refused in a sentence, and the rest is read.

use super::ampledger;

#[test]
fn what_is_no_schedule_is_refused_in_a_sentence() {
    let (said, status) = ampledger(&["read", ".", "--job-per", "file"]);
    let export = "export the schedule as XLSX or CSV";
    let register = "it looks like a register or a list, and is not audited.";
    for (file, sentence) in [
        (
            "refused/empty.csv",
            "The file is empty: export the schedule again.",
        ),
        ("refused/mail_renamed.csv", "a mail message"),
        ("refused/mail_renamed.csv", export),
        ("refused/pdf_renamed.csv", "The file is a PDF"),
        ("refused/pdf_renamed.csv", export),
        ("refused/picture_renamed.xlsx", "a picture"),
        ("refused/picture_renamed.xlsx", export),
        ("refused/archive_renamed.xlsx", "an archive"),
        ("refused/archive_renamed.xlsx", export),
        ("refused/corrupt.xlsx", "damaged"),
        ("refused/encrypted.xlsx", "password"),
        ("refused/register.xlsx", register),
        (
            "refused/compatibility.xlsx",
            "It looks like a matrix of what goes with what, and is not audited.",
        ),
        ("refused/other_trades.xlsx", register),
        ("refused/lists.xlsx", register),
        (
            "refused/early_workbook.xls",
            "a workbook in a form of the early 1990s",
        ),
        ("refused/early_workbook.xls", export),
    ] {
        let at = said
            .find(file)
            .unwrap_or_else(|| panic!("{file} is not told of"));
        let rest: String = said[at..].lines().take(2).collect();
        assert!(rest.contains(sentence), "{file}: {rest}");
    }
    let lists = ampledger(&["read", "refused/lists.xlsx", "--json"]).0;
    assert_eq!(lists.trim(), "[]", "no sheet of lists is a schedule");
    assert!(!said.contains("lock"), "lock files are skipped in silence");
    assert_eq!(status, Some(3), "the rest is read all the same");
}

#[test]
#[cfg_attr(debug_assertions, ignore = "two minutes without optimisation")]
fn a_long_table_is_read_whole() {
    use std::io::Write;
    let rows = 300_000;
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("season.csv");
    let file = std::fs::File::create(&path).expect("a file");
    let mut out = std::io::BufWriter::new(file);
    writeln!(out, "Job,Tag,Kind,MCA,MOP").expect("written");
    for row in 0..rows {
        let (job, unit) = (row / 1_000, row % 1_000);
        writeln!(out, "B-{job},FC-{unit},wall,0.6,15").expect("written");
    }
    drop(out);
    let path = path.to_string_lossy();
    let (said, status) = ampledger(&["read", &path]);
    assert_eq!(status, Some(0));
    assert!(said.starts_with("300 jobs"), "{:.60}", said);
    assert!(said.contains("300000 rows taken"));
}
