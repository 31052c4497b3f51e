//! The user's headings: `--headings` and `--propose-headings`.

use crate::batch::Understood;
use crate::intake::schema::Schemas;
use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::Path;
use std::sync::Arc;

/// What the program knows of headings, with those of a file.
///
/// # Errors
/// A sentence with file and line.
pub(super) fn schemas(path: Option<&Path>) -> Result<Arc<Schemas>, String> {
    let Some(path) = path else {
        return Ok(Schemas::shared());
    };
    let shown = path.display();
    let text = std::fs::read_to_string(path).map_err(|error| format!("{shown}: {error}"))?;
    Schemas::embedded()
        .with_headings(&text)
        .map(Arc::new)
        .map_err(|fault| format!("{shown}: {fault}"))
}

/// The headings that were not recognised, for a person to map.
pub(super) fn proposal(understood: &Understood) -> String {
    let mut headings: BTreeMap<&str, (Option<&str>, String)> = BTreeMap::new();
    for file in &understood.files {
        for unknown in &file.unknown {
            let place = match &unknown.sheet {
                Some(sheet) => format!("{}, sheet {sheet}", file.path),
                None => file.path.clone(),
            };
            headings
                .entry(&unknown.heading)
                .or_insert((unknown.nearest.as_deref(), place));
        }
    }
    let mut out = String::from(
        "# Headings that are not recognised. Write a field between the quotes of those that\n\
         # matter and pass the file with --headings; an empty field leaves a heading as it is.\n\
         [headings]\n",
    );
    for (heading, (nearest, place)) in headings {
        // Writing to a string cannot fail.
        let _ = write!(out, "{} = \"\"  # {}", quoted(heading), one_line(&place));
        if let Some(nearest) = nearest {
            let _ = write!(out, "; nearest: {}", one_line(nearest));
        }
        out.push('\n');
    }
    out
}

fn quoted(text: &str) -> String {
    toml::Value::String(one_line(text)).to_string()
}

fn one_line(text: &str) -> String {
    text.split(|c: char| c.is_control())
        .collect::<Vec<_>>()
        .join(" ")
}
