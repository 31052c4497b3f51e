//! A profile from its TOML: every key optional, an unknown one refused, each
//! fault with its line, its key and what was expected.

use super::keys::{KEYS, Key, SEVERITIES, contradictions};
use super::{Practice, RuleSeverities};
use crate::findings::Severity;
use std::fmt;
use std::ops::Range;
use std::path::Path;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// One thing wrong in a profile.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProfileFault {
    /// Counted from one.
    pub line: usize,
    /// In characters, counted from one.
    pub column: usize,
    /// Dotted; empty where the text is no TOML.
    pub key: String,
    /// What is wrong and what was expected.
    pub says: String,
}

/// Why a profile was refused.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ProfileError {
    /// The file cannot be read: path and the system's words.
    File(String, String),
    /// All that is wrong in it, in the order of the lines.
    Faults(String, Vec<ProfileFault>),
}

impl fmt::Display for ProfileError {
    /// `practice.toml:3:10: bus.budget: …`, one line a fault.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::File(path, why) => write!(f, "{path}: {why}"),
            Self::Faults(path, faults) => {
                for (index, fault) in faults.iter().enumerate() {
                    if index > 0 {
                        f.write_str("\n")?;
                    }
                    write!(f, "{path}:{}:{}: ", fault.line, fault.column)?;
                    if !fault.key.is_empty() {
                        write!(f, "{}: ", fault.key)?;
                    }
                    f.write_str(&fault.says)?;
                }
                Ok(())
            }
        }
    }
}

impl std::error::Error for ProfileError {}

impl Practice {
    /// Reads a profile. `rules` are those whose severities may be set.
    ///
    /// # Errors
    /// The file cannot be read, is no TOML, or holds an unknown key or a
    /// value that is not what its key expects.
    pub fn load(path: &Path, rules: &[RuleSeverities]) -> Result<Self, ProfileError> {
        let name = path.display().to_string();
        let text = std::fs::read_to_string(path)
            .map_err(|error| ProfileError::File(name.clone(), error.to_string()))?;
        Self::from_toml(&text, rules).map_err(|faults| ProfileError::Faults(name, faults))
    }

    /// The same from text.
    ///
    /// # Errors
    /// All faults, in the order of the lines.
    pub fn from_toml(text: &str, rules: &[RuleSeverities]) -> Result<Self, Vec<ProfileFault>> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let mut reader = Reader {
            text,
            rules,
            practice: Self::default(),
            places: Vec::new(),
            faults: Vec::new(),
        };
        let (document, errors) = DeTable::parse_recoverable(text);
        if errors.is_empty() {
            reader.table("", document.get_ref());
        }
        for error in errors {
            let message = error.message().replace('\n', ", ");
            let span = error.span().unwrap_or(0..0);
            reader.fault(&span, "", format!("no TOML: {message}"));
        }
        reader.finish()
    }
}

struct Reader<'a> {
    text: &'a str,
    rules: &'a [RuleSeverities],
    practice: Practice,
    /// Where each key stands that was read.
    places: Vec<(&'static str, Range<usize>)>,
    faults: Vec<ProfileFault>,
}

impl Reader<'_> {
    fn finish(mut self) -> Result<Practice, Vec<ProfileFault>> {
        if self.faults.is_empty() {
            for (key, expected) in contradictions(&self.practice) {
                // A default cannot contradict itself, but what was set may
                // contradict a default: then the other key is the one set.
                let span = self
                    .places
                    .iter()
                    .find(|(path, _)| *path == key)
                    .or(self.places.last())
                    .map_or(0..0, |(_, span)| span.clone());
                self.fault(&span, key, format!("expected {expected}"));
            }
        }
        if self.faults.is_empty() {
            return Ok(self.practice);
        }
        self.faults.sort_by_key(|fault| (fault.line, fault.column));
        Err(self.faults)
    }

    fn fault(&mut self, span: &Range<usize>, key: &str, says: String) {
        let before = self.text.get(..span.start).unwrap_or(self.text);
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        self.faults.push(ProfileFault {
            line: before.matches('\n').count() + 1,
            column: before.get(line_start..).unwrap_or("").chars().count() + 1,
            key: key.to_owned(),
            says,
        });
    }

    /// As written in the file, on one line.
    fn written(&self, item: &Spanned<DeValue<'_>>) -> String {
        let text = self.text.get(item.span()).unwrap_or_default();
        let one_line: String = text.split_whitespace().collect::<Vec<_>>().join(" ");
        if one_line.chars().count() > 60 {
            let cut: String = one_line.chars().take(59).collect();
            format!("{cut}…")
        } else {
            one_line
        }
    }

    fn table(&mut self, above: &str, table: &DeTable<'_>) {
        for (name, item) in table {
            let path = if above.is_empty() {
                name.get_ref().to_string()
            } else {
                format!("{above}.{}", name.get_ref())
            };
            if path == SEVERITIES {
                self.severities(item);
            } else if let Some(key) = KEYS.iter().find(|key| key.path == path) {
                self.value(key, name.span(), item);
            } else if let (true, Some(inner)) = (is_group(&path), item.get_ref().as_table()) {
                self.table(&path, inner);
            } else if is_group(&path) {
                let says = format!(
                    "{} is no table; its keys are {}",
                    self.written(item),
                    keys_of(&path)
                );
                self.fault(&item.span(), &path, says);
            } else {
                let says = unknown_key(&path);
                self.fault(&name.span(), &path, says);
            }
        }
    }

    fn value(&mut self, key: &'static Key, at: Range<usize>, item: &Spanned<DeValue<'_>>) {
        if (key.read)(&mut self.practice, item.get_ref()) {
            self.places.push((key.path, at));
        } else {
            let says = format!("{} is not {}", self.written(item), key.expected);
            self.fault(&item.span(), key.path, says);
        }
    }

    fn severities(&mut self, item: &Spanned<DeValue<'_>>) {
        let Some(table) = item.get_ref().as_table() else {
            let says = "expected a table of rules, as [severities] with bus-gauge = \"note\"";
            return self.fault(&item.span(), SEVERITIES, says.to_owned());
        };
        for (name, item) in table {
            let path = format!("{SEVERITIES}.{}", name.get_ref());
            match self.rules.iter().find(|rule| rule.name == name.get_ref()) {
                Some(rule) => self.severity(*rule, &path, item),
                None => {
                    let near = nearest(name.get_ref(), self.rules.iter().map(|rule| rule.name));
                    self.fault(&name.span(), &path, format!("no rule of that name{near}"));
                }
            }
        }
    }

    /// `"note"` for a rule of one severity; `{ verify = "note" }` says which
    /// one is meant of a rule of several.
    fn severity(&mut self, rule: RuleSeverities, path: &str, item: &Spanned<DeValue<'_>>) {
        if let Some(to) = severity(item.get_ref()) {
            match rule.severities {
                [from] => self.practice.severities.set(rule.name, *from, to),
                several => {
                    let says = format!(
                        "the rule gives {}: say which one is meant, as {} = {{ {} = \"{to}\" }}",
                        all_of(several),
                        rule.name,
                        several.first().copied().unwrap_or(to)
                    );
                    self.fault(&item.span(), path, says);
                }
            }
            return;
        }
        let Some(table) = item.get_ref().as_table() else {
            let says = format!(
                "{} is not \"fix\", \"verify\" or \"note\"",
                self.written(item)
            );
            return self.fault(&item.span(), path, says);
        };
        for (name, item) in table {
            let from = Severity::ALL
                .into_iter()
                .find(|from| from.name() == name.get_ref().as_ref())
                .filter(|from| rule.severities.contains(from));
            match (from, severity(item.get_ref())) {
                (Some(from), Some(to)) => self.practice.severities.set(rule.name, from, to),
                (None, _) => {
                    let says = format!("the rule gives {}", all_of(rule.severities));
                    self.fault(&name.span(), &format!("{path}.{}", name.get_ref()), says);
                }
                (Some(from), None) => {
                    let says = format!(
                        "{} is not \"fix\", \"verify\" or \"note\"",
                        self.written(item)
                    );
                    self.fault(&item.span(), &format!("{path}.{from}"), says);
                }
            }
        }
    }
}

fn severity(item: &DeValue<'_>) -> Option<Severity> {
    let text = item.as_str()?.trim();
    Severity::ALL
        .into_iter()
        .find(|severity| severity.name() == text)
}

fn all_of(severities: &[Severity]) -> String {
    let names: Vec<&str> = severities.iter().map(|severity| severity.name()).collect();
    names.join(", ")
}

fn is_group(path: &str) -> bool {
    KEYS.iter().any(|key| {
        key.path
            .strip_prefix(path)
            .is_some_and(|rest| rest.starts_with('.'))
    })
}

fn keys_of(group: &str) -> String {
    let keys: Vec<&str> = KEYS
        .iter()
        .map(|key| key.path)
        .filter(|path| {
            path.strip_prefix(group)
                .is_some_and(|rest| rest.starts_with('.'))
        })
        .collect();
    keys.join(", ")
}

fn unknown_key(path: &str) -> String {
    let near = nearest(path, KEYS.iter().map(|key| key.path).chain([SEVERITIES]));
    format!("no key of the practice profile{near}")
}

/// `; nearest: bus.budget`, or nothing where none is near.
fn nearest<'a>(name: &str, known: impl Iterator<Item = &'a str>) -> String {
    let best = known
        .map(|known| (strsim::jaro_winkler(name, known), known))
        .max_by(|a, b| a.0.total_cmp(&b.0));
    match best {
        Some((score, known)) if score > 0.75 => format!("; nearest: {known}"),
        _ => String::new(),
    }
}
