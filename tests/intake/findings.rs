//! What the audit calls wrong in the files of these folders: a `fix` has to be
//! provable from the cells. `fixes.json` says, by hand, which there are.

use super::{ampledger, folder};
use std::collections::BTreeMap;

/// File, then rule and cell of each.
type Fixes = BTreeMap<String, Vec<(String, String)>>;

#[test]
fn each_fix_is_one_that_the_cells_prove() {
    let out = tempfile::tempdir().expect("a folder");
    let out = out.path().join("audited");
    let out = out.to_string_lossy();
    let (said, _) = ampledger(&[
        "audit",
        ".",
        "--job-per",
        "file",
        "--findings-only",
        "--format",
        "jsonl",
        "--out",
        &out,
    ]);
    let mut found = Fixes::new();
    for line in said.lines() {
        let finding: serde_json::Value = serde_json::from_str(line).expect("JSON");
        let text = |name: &str| finding[name].as_str().unwrap_or_default().to_owned();
        if text("severity") == "fix" {
            let sheet = text("sheet");
            let cell = match sheet.as_str() {
                "" => text("cell"),
                sheet => format!("{sheet}!{}", text("cell")),
            };
            found
                .entry(text("file"))
                .or_default()
                .push((text("rule"), cell));
        }
    }
    found.values_mut().for_each(|fixes| fixes.sort());
    let json = std::fs::read_to_string(folder().join("fixes.json")).expect("fixes.json");
    let expected: Fixes = serde_json::from_str(&json).expect("JSON");
    assert_eq!(found, expected);
}

#[test]
fn a_form_that_nobody_filled_in_is_one_question() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = |name: &str| folder.path().join(name).to_string_lossy().into_owned();
    let form = path("form.xlsx");
    assert_eq!(ampledger(&["blank", "--out", &form]).1, Some(0));
    let (said, _) = ampledger(&[
        "audit",
        &form,
        "--findings-only",
        "--format",
        "csv",
        "--out",
        &path("audited"),
    ]);
    let findings: Vec<&str> = said.lines().skip(1).collect();
    assert_eq!(findings.len(), 1, "{said}");
    assert!(findings[0].contains("Nothing is filled in yet"), "{said}");
}
