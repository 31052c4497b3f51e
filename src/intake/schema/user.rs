//! Headings that a user maps once: a TOML table of headings and fields.

use super::{Listed, Schemas};
use crate::schedule::FieldName;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::fmt;
use toml::Spanned;

/// Why a file of headings cannot be used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HeadingsFault {
    /// Counted from one; 0 where no line is to blame.
    pub line: usize,
    pub says: String,
}

impl fmt::Display for HeadingsFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            0 => f.write_str(&self.says),
            line => write!(f, "line {line}: {}", self.says),
        }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    headings: BTreeMap<Spanned<String>, Spanned<String>>,
}

impl Schemas {
    /// The user's own headings as their file says them; empty without any.
    pub fn user_headings(&self) -> &str {
        &self.user
    }

    /// These schemas with the headings of a TOML file, each of which means
    /// its field alone. An empty field leaves a heading as it is.
    ///
    /// # Errors
    /// With the line: text that is no such TOML, a field that is none, one
    /// heading twice.
    pub fn with_headings(&self, toml: &str) -> Result<Self, HeadingsFault> {
        let line_of = |at: usize| {
            let before = toml.get(..at);
            before.map_or(0, |before| before.matches('\n').count() + 1)
        };
        let file: File = toml::from_str(toml).map_err(|error| HeadingsFault {
            line: error.span().map_or(0, |span| line_of(span.start)),
            says: error.message().to_owned(),
        })?;
        let mut schemas = self.clone();
        schemas.number = super::next_number();
        toml.clone_into(&mut schemas.user);
        let mut seen: BTreeMap<String, String> = BTreeMap::new();
        for (heading, field) in &file.headings {
            let fault = |says: String| HeadingsFault {
                line: line_of(field.span().start),
                says,
            };
            let (heading, name) = (heading.get_ref(), field.get_ref().trim());
            if name.is_empty() {
                continue;
            }
            let Some(field) = FieldName::parse(name) else {
                return Err(fault(unknown(name)));
            };
            let key = schemas.learn(heading);
            if key.is_empty() {
                return Err(fault(format!("\"{heading}\" has no letter and no figure")));
            }
            if let Some(other) = seen.insert(key.clone(), heading.clone()) {
                return Err(fault(format!(
                    "\"{heading}\" and \"{other}\" are one heading"
                )));
            }
            schemas.never.remove(&key);
            schemas.headings.insert(key, vec![(field, Listed::Title)]);
        }
        Ok(schemas)
    }
}

fn unknown(name: &str) -> String {
    let near = FieldName::ALL
        .iter()
        .map(|field| (strsim::jaro_winkler(field.name(), name), field.name()))
        .max_by(|a, b| a.0.total_cmp(&b.0));
    match near {
        Some((score, field)) if score > 0.8 => {
            format!("{name} is no field; did you mean {field}?")
        }
        _ => format!("{name} is no field; fields are named as in unit.mca and circuit.breaker"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_users_heading_means_its_field_alone() {
        let schemas = Schemas::embedded()
            .with_headings("[headings]\n\"Stroom\" = \"unit.mca\"\n\"Voltage\" = \"\"\n")
            .expect("valid");
        let listed = schemas.listed(&schemas.key("STROOM"));
        assert_eq!(listed, [(FieldName::UnitMca, Listed::Title)]);
        assert!(schemas.listed(&schemas.key("Voltage")).len() > 1);
    }

    #[test]
    fn faults_name_their_line() {
        for (toml, line, says) in [
            (
                "[headings]\n\"A b\" = \"unit.mac\"\n",
                2,
                "did you mean unit.mca",
            ),
            ("[headings]\n\n\"A b\" = 3\n", 3, "expected"),
            ("[heading]\n", 1, "unknown field"),
            (
                "[headings]\n\"A b\" = \"unit.mca\"\n\"A-B\" = \"unit.mop\"\n",
                2,
                "one heading",
            ),
        ] {
            let fault = Schemas::embedded().with_headings(toml).expect_err(toml);
            assert!(fault.says.contains(says), "{fault}");
            assert!(fault.line == line || says == "one heading", "{fault}");
        }
    }
}
