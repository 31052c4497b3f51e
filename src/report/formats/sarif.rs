//! SARIF 2.1.0 (OASIS, 2020), the part of it that findings need.
//!
//! A cell is a logical location: the format knows lines of text files, and a
//! workbook has none. In a text table the row is given as a line as well;
//! where a quoted field holds a line break, the cell's name is the one that
//! holds.

use crate::findings::Severity;
use crate::report::ReportError;
use crate::report::batch::UnreadFile;
use crate::report::jobs::Jobs;
use crate::report::record::{Edit, NEW, Record, Spot};
use serde::ser::{Error, SerializeSeq};
use serde::{Serialize, Serializer};
use std::collections::HashMap;
use std::io::Write;

const SCHEMA: &str =
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/os/schemas/sarif-schema-2.1.0.json";

/// What a rule says of itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct About {
    pub name: &'static str,
    pub family: &'static str,
    pub worst: Severity,
    pub summary: &'static str,
    pub why: &'static str,
    pub decides: &'static str,
    pub leaves: &'static str,
}

/// What the file is made from.
pub struct SarifView<'a> {
    pub jobs: &'a Jobs<'a>,
    pub rules: &'a [About],
    pub unread: &'a [UnreadFile],
}

#[derive(Serialize)]
struct Log<'a> {
    #[serde(rename = "$schema")]
    schema: &'static str,
    version: &'static str,
    runs: [RunOf<'a>; 1],
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct RunOf<'a> {
    tool: Tool,
    invocations: [Invocation<'a>; 1],
    results: Results<'a>,
}

/// Made one by one while they are written: a season's findings, spelled out
/// for this format, would be many times what they are.
struct Results<'a> {
    view: &'a SarifView<'a>,
    index: HashMap<&'a str, usize>,
    any_accepted: bool,
}

impl Serialize for Results<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut results = serializer.serialize_seq(None)?;
        for job in self.view.jobs.iter() {
            for finding in job.findings().map_err(S::Error::custom)? {
                let rule = self.index.get(finding.rule.as_str()).copied();
                results.serialize_element(&result(&finding, rule, self.any_accepted))?;
            }
        }
        results.end()
    }
}

#[derive(Serialize)]
struct Tool {
    driver: Driver,
}

#[derive(Serialize)]
struct Driver {
    name: &'static str,
    version: &'static str,
    rules: Vec<Descriptor>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Descriptor {
    id: &'static str,
    short_description: Message<'static>,
    full_description: Message<'static>,
    help: HelpText,
    default_configuration: Level,
    properties: Tags,
}

#[derive(Serialize)]
struct Message<'a> {
    text: &'a str,
}

#[derive(Serialize)]
struct HelpText {
    text: String,
}

#[derive(Serialize)]
struct Level {
    level: &'static str,
}

#[derive(Serialize)]
struct Tags {
    tags: [&'static str; 1],
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Invocation<'a> {
    execution_successful: bool,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    tool_execution_notifications: Vec<Notification<'a>>,
}

#[derive(Serialize)]
struct Notification<'a> {
    level: &'static str,
    message: Message<'a>,
    locations: [Location; 1],
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct ResultOf<'a> {
    rule_id: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    rule_index: Option<usize>,
    level: &'static str,
    message: Message<'a>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    locations: Vec<Location>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    related_locations: Vec<Location>,
    partial_fingerprints: Fingerprint<'a>,
    #[serde(skip_serializing_if = "Option::is_none")]
    baseline_state: Option<&'static str>,
    /// On every result of a run or on none.
    #[serde(skip_serializing_if = "Option::is_none")]
    suppressions: Option<Vec<Suppression>>,
    properties: Properties<'a>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Location {
    #[serde(skip_serializing_if = "Option::is_none")]
    id: Option<usize>,
    physical_location: Physical,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    logical_locations: Vec<Logical>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Physical {
    artifact_location: Artifact,
    #[serde(skip_serializing_if = "Option::is_none")]
    region: Option<Region>,
}

#[derive(Serialize)]
struct Artifact {
    uri: String,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Region {
    start_line: u32,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Logical {
    name: String,
    fully_qualified_name: String,
    kind: &'static str,
}

#[derive(Serialize)]
struct Fingerprint<'a> {
    #[serde(rename = "finding/v1")]
    finding: &'a str,
}

/// An accepted finding.
#[derive(Serialize)]
struct Suppression {
    kind: &'static str,
    status: &'static str,
    justification: String,
}

/// What the format has no place for; names as in a JSON line.
#[derive(Serialize)]
struct Properties<'a> {
    job: &'a str,
    job_key: &'a str,
    sheet: &'a str,
    cell: &'a str,
    subject: &'a str,
    dwelling: &'a str,
    found: &'a str,
    limit: &'a str,
    remedy: &'a str,
    source: &'a str,
    changes: &'a [Edit],
    dwelling_type: &'a str,
    accepted_by: &'a str,
    accepted_reason: &'a str,
    accepted_until: &'a str,
    since: &'a str,
}

/// The findings as one SARIF log.
///
/// # Errors
/// Where `out` cannot be written to.
pub fn write(out: &mut dyn Write, view: &SarifView) -> Result<(), ReportError> {
    let index: HashMap<&str, usize> = view
        .rules
        .iter()
        .enumerate()
        .map(|(at, rule)| (rule.name, at))
        .collect();
    let any_accepted = view.jobs.any_accepted();
    let log = Log {
        schema: SCHEMA,
        version: "2.1.0",
        runs: [RunOf {
            tool: Tool {
                driver: Driver {
                    name: "ampledger",
                    version: env!("CARGO_PKG_VERSION"),
                    rules: view.rules.iter().map(descriptor).collect(),
                },
            },
            invocations: [invocation(view.unread)],
            results: Results {
                view,
                index,
                any_accepted,
            },
        }],
    };
    serde_json::to_writer_pretty(&mut *out, &log)?;
    Ok(out.write_all(b"\n")?)
}

fn level(severity: Severity) -> &'static str {
    match severity {
        Severity::Fix => "error",
        Severity::Verify => "warning",
        Severity::Note => "note",
    }
}

fn descriptor(rule: &About) -> Descriptor {
    Descriptor {
        id: rule.name,
        short_description: Message { text: rule.summary },
        full_description: Message { text: rule.why },
        help: HelpText {
            text: format!(
                "How it is decided: {}\nWhat it leaves: {}",
                rule.decides, rule.leaves
            ),
        },
        default_configuration: Level {
            level: level(rule.worst),
        },
        properties: Tags {
            tags: [rule.family],
        },
    }
}

fn invocation(unread: &[UnreadFile]) -> Invocation<'_> {
    Invocation {
        execution_successful: unread.is_empty(),
        tool_execution_notifications: unread
            .iter()
            .map(|file| Notification {
                level: "error",
                message: Message { text: &file.why },
                locations: [location(&file.path, "", "", None)],
            })
            .collect(),
    }
}

fn suppressions(finding: &Record) -> Vec<Suppression> {
    let accepted = (!finding.stands()).then(|| Suppression {
        kind: "external",
        status: "accepted",
        justification: finding.accepted_text(),
    });
    accepted.into_iter().collect()
}

fn result(finding: &Record, rule_index: Option<usize>, any_accepted: bool) -> ResultOf<'_> {
    let here = (!finding.file.is_empty())
        .then(|| location(&finding.file, &finding.sheet, &finding.cell, None));
    let related = finding.related.iter().filter(|spot| !spot.file.is_empty());
    ResultOf {
        rule_id: &finding.rule,
        rule_index,
        level: level(finding.severity),
        message: Message {
            text: &finding.message,
        },
        locations: here.into_iter().collect(),
        related_locations: related
            .enumerate()
            .map(|(at, Spot { file, sheet, cell })| location(file, sheet, cell, Some(at)))
            .collect(),
        partial_fingerprints: Fingerprint {
            finding: &finding.id,
        },
        baseline_state: match finding.since.as_str() {
            "" => None,
            NEW => Some("new"),
            // Whether its number changed stands in the comparison.
            _ => Some("unchanged"),
        },
        suppressions: any_accepted.then(|| suppressions(finding)),
        properties: Properties {
            job: &finding.job,
            job_key: &finding.job_key,
            sheet: &finding.sheet,
            cell: &finding.cell,
            subject: &finding.subject,
            dwelling: &finding.dwelling,
            found: &finding.found,
            limit: &finding.limit,
            remedy: &finding.remedy,
            source: &finding.source,
            changes: &finding.changes,
            dwelling_type: &finding.dwelling_type,
            accepted_by: &finding.accepted_by,
            accepted_reason: &finding.accepted_reason,
            accepted_until: &finding.accepted_until,
            since: &finding.since,
        },
    }
}

fn location(file: &str, sheet: &str, cell: &str, id: Option<usize>) -> Location {
    let full = match (sheet.is_empty(), cell.is_empty()) {
        (true, _) => cell.to_owned(),
        (false, true) => sheet.to_owned(),
        (false, false) => format!("{sheet}!{cell}"),
    };
    let logical = Logical {
        name: if cell.is_empty() { sheet } else { cell }.to_owned(),
        fully_qualified_name: full.clone(),
        kind: if cell.is_empty() { "sheet" } else { "cell" },
    };
    let digits: String = cell.chars().filter(char::is_ascii_digit).collect();
    let line = digits.parse().ok().filter(|_| is_text(file));
    Location {
        id,
        physical_location: Physical {
            artifact_location: Artifact { uri: uri(file) },
            region: line.map(|start_line| Region { start_line }),
        },
        logical_locations: match full.is_empty() {
            true => Vec::new(),
            false => vec![logical],
        },
    }
}

fn is_text(file: &str) -> bool {
    let ending = file.rsplit_once('.').map(|(_, e)| e.to_ascii_lowercase());
    matches!(ending.as_deref(), Some("csv" | "tsv" | "txt"))
}

/// A relative path as a reference of RFC 3986.
fn uri(path: &str) -> String {
    let mut uri = String::with_capacity(path.len());
    for byte in path.bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => {
                uri.push(char::from(byte));
            }
            byte => uri.push_str(&format!("%{byte:02X}")),
        }
    }
    uri
}
