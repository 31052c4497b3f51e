use super::*;
use crate::findings::Severity;
use crate::report::facts::JobResult;
use crate::report::record::{Edit, Record, Spot};
use crate::report::shelf::Shelf;
use serde_json::Value;
use std::collections::BTreeSet;

fn finding(id: &str, file: &str, cell: &str) -> Record {
    Record {
        job: "Larch Hill, \u{201c}house 4\u{201d}".into(),
        job_key: "LARCH-HILL-4".into(),
        file: file.into(),
        sheet: if file.ends_with(".xlsx") {
            "Circuits"
        } else {
            ""
        }
        .into(),
        cell: cell.into(),
        subject: "LP-1,3".into(),
        dwelling: "12C".into(),
        rule: "protection-over-mop".into(),
        severity: Severity::Fix,
        message: "The 60 A breaker is above MOP 50 A;\nsee the nameplate.".into(),
        found: "60 A".into(),
        limit: "50 A".into(),
        remedy: "=Change it.".into(),
        source: "nameplate of the unit".into(),
        id: id.into(),
        related: vec![Spot {
            file: "larch/house 4.xlsx".into(),
            sheet: "Equipment".into(),
            cell: "F5".into(),
        }],
        changes: vec![Edit {
            file: file.into(),
            sheet: String::new(),
            cell: cell.into(),
            field: "circuit.breaker".into(),
            was: "60A/2P".into(),
            proposed: "50A/2P".into(),
        }],
        dwelling_type: "A".into(),
        accepted_by: String::new(),
        accepted_reason: String::new(),
        accepted_until: String::new(),
        since: "open since revision 2".into(),
    }
}

fn some() -> Vec<Record> {
    vec![
        finding("0123456789ab", "larch/house 4.xlsx", "E12"),
        finding("ba9876543210", "larch/circuits.csv", "D7"),
        Record {
            severity: Severity::Note,
            related: Vec::new(),
            changes: Vec::new(),
            accepted_by: "J. Ames".into(),
            accepted_reason: "letter of 3 May".into(),
            accepted_until: "2027-01-31".into(),
            since: "new".into(),
            ..finding("aaaaaaaaaaaa", "larch/circuits.csv", "")
        },
    ]
}

const RULES: [About; 1] = [About {
    name: "protection-over-mop",
    family: "overcurrent",
    worst: Severity::Fix,
    summary: "above MOP",
    why: "It burns.",
    decides: "Compares.",
    leaves: "Nothing.",
}];

fn bytes(format: Format, findings: &[Record], unread: &[UnreadFile]) -> Vec<u8> {
    let mut out = Vec::new();
    let shelf = Shelf::new(std::env::temp_dir());
    let jobs = Jobs::of(vec![JobResult::with(findings.to_vec())], &shelf);
    format.write(&mut out, &jobs, &RULES, unread).unwrap();
    out
}

fn sarif_of(findings: &[Record]) -> Value {
    let unread = [UnreadFile {
        path: "larch/old.xls".into(),
        why: "The file asks for a password.".into(),
    }];
    serde_json::from_slice(&bytes(Format::Sarif, findings, &unread)).unwrap()
}

#[test]
fn parquet_and_json_lines_give_back_what_was_written() {
    let findings = some();
    let lines = bytes(Format::JsonLines, &findings, &[]);
    assert_eq!(read_json_lines(&lines).unwrap(), findings);
    let packed = bytes(Format::Parquet, &findings, &[]);
    let frame = read_parquet(&packed).unwrap();
    assert_eq!(findings_of_frame(&frame).unwrap(), findings);
    assert_eq!(
        packed,
        bytes(Format::Parquet, &findings, &[]),
        "no date of writing"
    );
    let none = bytes(Format::Parquet, &[], &[]);
    assert!(
        findings_of_frame(&read_parquet(&none).unwrap())
            .unwrap()
            .is_empty()
    );
    assert!(read_parquet(b"no parquet at all").is_err());
}

#[test]
fn sarif_places_a_cell_and_a_line() {
    let log = sarif_of(&some());
    assert_eq!(log["version"], "2.1.0");
    let run = &log["runs"][0];
    let first = &run["results"][0];
    assert_eq!(first["level"], "error");
    assert_eq!(first["ruleIndex"], 0);
    let place = &first["locations"][0];
    assert_eq!(
        place["physicalLocation"]["artifactLocation"]["uri"],
        "larch/house%204.xlsx"
    );
    assert!(
        place["physicalLocation"]["region"].is_null(),
        "a workbook has no lines"
    );
    assert_eq!(
        place["logicalLocations"][0]["fullyQualifiedName"],
        "Circuits!E12"
    );
    let second = &run["results"][1]["locations"][0];
    assert_eq!(second["physicalLocation"]["region"]["startLine"], 7);
    assert_eq!(run["results"][2]["level"], "note");
    assert_eq!(run["invocations"][0]["executionSuccessful"], false);
}

/// The members that SARIF 2.1.0 (OASIS, 2020) requires of each object that we
/// write, by its sections 3.13 to 3.51.
#[test]
fn sarif_has_what_the_standard_requires() {
    let log = sarif_of(&some());
    let has = |object: &Value, members: &[&str]| {
        for member in members {
            assert!(!object[member].is_null(), "{member} in {object}");
        }
    };
    has(&log, &["version", "runs"]);
    let run = &log["runs"][0];
    has(run, &["tool"]);
    has(&run["tool"], &["driver"]);
    has(&run["tool"]["driver"], &["name"]);
    for rule in run["tool"]["driver"]["rules"].as_array().unwrap() {
        has(rule, &["id"]);
        has(&rule["shortDescription"], &["text"]);
    }
    has(&run["invocations"][0], &["executionSuccessful"]);
    for note in run["invocations"][0]["toolExecutionNotifications"]
        .as_array()
        .unwrap()
    {
        has(note, &["message"]);
    }
    for result in run["results"].as_array().unwrap() {
        has(result, &["message"]);
        has(&result["message"], &["text"]);
        let level = result["level"].as_str().unwrap();
        assert!(["none", "note", "warning", "error"].contains(&level));
    }
}

fn names(object: &Value) -> BTreeSet<String> {
    object.as_object().unwrap().keys().cloned().collect()
}

fn required(schema: &Value) -> BTreeSet<String> {
    let list = schema["required"].as_array().unwrap();
    list.iter()
        .map(|name| name.as_str().unwrap().to_owned())
        .collect()
}

/// The schema says exactly what a line has, level by level.
#[test]
fn the_published_schema_is_that_of_a_line() {
    let schema: Value =
        serde_json::from_str(include_str!("../../../schemas/finding.schema.json")).unwrap();
    let line = serde_json::to_value(&some()[0]).unwrap();
    let parts = [
        (&schema, &line),
        (&schema["$defs"]["cell"], &line["related"][0]),
        (&schema["$defs"]["change"], &line["changes"][0]),
    ];
    for (schema, value) in parts {
        assert_eq!(schema["additionalProperties"], false);
        assert_eq!(names(&schema["properties"]), names(value));
        assert_eq!(required(schema), names(value), "all are always written");
        for (name, property) in schema["properties"].as_object().unwrap() {
            let written = &value[name];
            let fits = match (property["type"].as_str(), property["enum"].as_array()) {
                (Some("string"), None) => written.is_string(),
                (Some("array"), None) => written.is_array(),
                (None, Some(words)) => words.contains(written),
                other => panic!("{name}: {other:?}"),
            };
            assert!(fits, "{name}: {written}");
        }
    }
    let words = schema["properties"]["severity"]["enum"].as_array().unwrap();
    assert_eq!(words.len(), Severity::ALL.len());
}
