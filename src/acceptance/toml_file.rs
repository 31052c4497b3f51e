//! A file of accepted findings: one `[[accepted]]` a finding, or for many
//! findings that are alike.

use super::no_such_rule;
use crate::findings::{Acceptance, Target};
use jiff::civil::Date;
use serde::Deserialize;
use std::fmt;
use std::path::Path;
use toml::Spanned;

/// One thing wrong in the file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AcceptedFault {
    /// Counted from one.
    pub line: usize,
    /// What is wrong and what was expected.
    pub says: String,
}

/// Why a file was refused.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum AcceptedError {
    /// The file cannot be read: path and the system's words.
    File(String, String),
    /// All that is wrong in it, in the order of the lines.
    Faults(String, Vec<AcceptedFault>),
}

impl fmt::Display for AcceptedError {
    /// `accepted.toml:3: …`, one line a fault.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::File(path, why) => write!(f, "{path} cannot be read: {why}"),
            Self::Faults(path, faults) => {
                for (at, fault) in faults.iter().enumerate() {
                    if at > 0 {
                        f.write_str("\n")?;
                    }
                    write!(f, "{path}:{}: {}", fault.line, fault.says)?;
                }
                Ok(())
            }
        }
    }
}

impl std::error::Error for AcceptedError {}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(default)]
    accepted: Vec<Spanned<Entry>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    job: Option<Spanned<String>>,
    rule: Option<Spanned<String>>,
    subject: Option<Spanned<String>>,
    dwelling: Option<Spanned<String>>,
    found: Option<Spanned<String>>,
    limit: Option<Spanned<String>>,
    reason: Option<Spanned<String>>,
    by: Option<Spanned<String>>,
    until: Option<Spanned<toml::Value>>,
}

/// Reads a file of accepted findings.
///
/// # Errors
/// The file cannot be read, is no TOML, or an entry of it lacks what every
/// acceptance has: job, rule, subject, what was found, reason and name.
pub fn from_file(path: &Path) -> Result<Vec<Acceptance>, AcceptedError> {
    let name = path.display().to_string();
    let text = std::fs::read_to_string(path)
        .map_err(|error| AcceptedError::File(name.clone(), error.to_string()))?;
    let shown = path
        .file_name()
        .map_or_else(|| name.clone(), |file| file.to_string_lossy().into_owned());
    from_toml(&text, &shown).map_err(|faults| AcceptedError::Faults(name, faults))
}

/// The same from text; `name` is what messages call the file.
///
/// # Errors
/// All faults, in the order of the lines.
pub fn from_toml(text: &str, name: &str) -> Result<Vec<Acceptance>, Vec<AcceptedFault>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let line_of = |at: usize| {
        let before = text.get(..at).unwrap_or(text);
        before.matches('\n').count() + 1
    };
    let file: File = toml::from_str(text).map_err(|error| {
        vec![AcceptedFault {
            line: error.span().map_or(1, |span| line_of(span.start)),
            says: error.message().replace('\n', ", "),
        }]
    })?;
    let mut faults = Vec::new();
    let mut acceptances = Vec::new();
    for entry in &file.accepted {
        let line = line_of(entry.span().start);
        let mut reader = Reader {
            line,
            line_of: &line_of,
            faults: &mut faults,
        };
        acceptances.push(reader.entry(entry.get_ref(), name));
    }
    if faults.is_empty() {
        return Ok(acceptances);
    }
    faults.sort_by_key(|fault| fault.line);
    Err(faults)
}

struct Reader<'a> {
    /// Of the entry.
    line: usize,
    line_of: &'a dyn Fn(usize) -> usize,
    faults: &'a mut Vec<AcceptedFault>,
}

impl Reader<'_> {
    fn fault(&mut self, line: usize, says: String) {
        self.faults.push(AcceptedFault { line, says });
    }

    fn required(&mut self, key: &str, value: Option<&Spanned<String>>, why: &str) -> String {
        match value {
            Some(text) if !text.get_ref().trim().is_empty() => text.get_ref().clone(),
            Some(text) => {
                let line = (self.line_of)(text.span().start);
                self.fault(line, format!("{key} is empty: {why}"));
                String::new()
            }
            None => {
                self.fault(self.line, format!("this entry has no {key}: {why}"));
                String::new()
            }
        }
    }

    fn entry(&mut self, entry: &Entry, name: &str) -> Acceptance {
        let optional = |value: &Option<Spanned<String>>| -> String {
            value
                .as_ref()
                .map_or_else(String::new, |text| text.get_ref().clone())
        };
        let job = self.required("job", entry.job.as_ref(), "the job's name or number");
        let rule = self.required("rule", entry.rule.as_ref(), "the name of the rule");
        if let (Some(at), Some(says)) = (
            entry.rule.as_ref().filter(|_| !rule.is_empty()),
            no_such_rule(rule.trim()),
        ) {
            self.fault((self.line_of)(at.span().start), says);
        }
        let why = "as the list of findings names it, or \"*\"";
        let subject = self.required("subject", entry.subject.as_ref(), why);
        let why = "what was found, as the list of findings says it; an acceptance lapses when it \
                   changes";
        let found = self.required("found", entry.found.as_ref(), why);
        let why = "why the finding may stand";
        let reason = self.required("reason", entry.reason.as_ref(), why);
        let by = self.required("by", entry.by.as_ref(), "the name of who answers for it");
        let until = entry.until.as_ref().and_then(|until| {
            let date = date(until.get_ref());
            if date.is_none() {
                let line = (self.line_of)(until.span().start);
                self.fault(line, "until is no date: write it as 2027-01-31".to_owned());
            }
            date
        });
        Acceptance {
            job,
            target: Target::Named {
                rule: rule.trim().to_owned(),
                subject,
                dwelling: optional(&entry.dwelling),
            },
            found,
            limit: optional(&entry.limit),
            reason,
            by,
            until,
            origin: format!("{name}, line {}", self.line),
            wanting: None,
        }
    }
}

/// A date of TOML, or the same as a text.
fn date(value: &toml::Value) -> Option<Date> {
    match value {
        toml::Value::String(text) => text.trim().parse().ok(),
        toml::Value::Datetime(date) if date.time.is_none() => date.to_string().parse().ok(),
        _ => None,
    }
}
