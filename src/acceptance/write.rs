//! `accepted.toml`: what was accepted in workbooks, sheets and files, ready
//! to be kept as a file.

use crate::findings::{Acceptance, Standing};
use std::fmt::Write;

const HEAD: &str = "\
# Findings that somebody answers for, as this audit found them accepted.
# Keep a copy beside your schedules and give it with --accepted FILE: what is
# accepted leaves the counts and stays listed. An acceptance lapses when what
# was found or the limit changes, and after its date (until = 2027-01-31).
# subject and dwelling may be \"*\", and dwelling a type of dwelling.
";

/// An acceptance, spelled out, and what became of it.
#[derive(Clone, Debug)]
pub struct Entry<'a> {
    pub job: &'a str,
    pub rule: &'a str,
    pub subject: &'a str,
    pub dwelling: &'a str,
    /// As they are now.
    pub found: &'a str,
    pub limit: &'a str,
    pub acceptance: &'a Acceptance,
    pub standing: &'a Standing,
}

/// The file; empty where nothing was accepted anywhere. What lapsed stands
/// there as a comment with today's values, so that nothing is accepted again
/// unseen.
pub fn skeleton(entries: &[Entry]) -> String {
    if entries.is_empty() {
        return String::new();
    }
    let mut text = HEAD.to_owned();
    for entry in entries {
        let mut lines = Vec::new();
        if *entry.standing != Standing::Holds {
            lines.push(format!("# {}", one_line(&entry.standing.text())));
        }
        let by = &entry.acceptance.by;
        lines.push("[[accepted]]".to_owned());
        for (key, value, always) in [
            ("job", entry.job, true),
            ("rule", entry.rule, true),
            ("subject", entry.subject, true),
            ("dwelling", entry.dwelling, false),
            ("found", entry.found, true),
            ("limit", entry.limit, false),
            ("reason", entry.acceptance.reason.as_str(), true),
            ("by", by.as_str(), true),
        ] {
            if always || !value.is_empty() {
                lines.push(format!("{key} = {}", quoted(value)));
            }
        }
        if let Some(until) = entry.acceptance.until {
            lines.push(format!("until = {until}"));
        }
        text.push('\n');
        for line in lines {
            let live = matches!(entry.standing, Standing::Holds | Standing::Incomplete(_));
            let lead = if live || line.starts_with('#') {
                ""
            } else {
                "# "
            };
            // Writing to a String cannot fail.
            let _ = writeln!(text, "{lead}{line}");
        }
    }
    text
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A basic string of TOML on one line.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
