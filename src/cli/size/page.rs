//! The results for people and for programs.

use super::super::words::{cautions, hanging, row};
use super::work::{Circuit, Part};
use serde_json::json;
use std::fmt::Write;

/// Width of the titles.
const TITLE: usize = 22;

pub(super) fn text(circuit: &Circuit, parts: &[Part]) -> String {
    let mut out = format!("One circuit, by {}\n\n", circuit.edition);
    for part in parts {
        let value = part.value.as_deref().unwrap_or("none");
        row(&mut out, 0, TITLE, part.title, value);
        for step in &part.steps {
            let mut line = step.value.clone();
            if !step.how.is_empty() {
                let _ = write!(line, " = {}", step.how);
            }
            if let Some(source) = &step.source {
                let _ = write!(line, " [{source}]");
            }
            hanging(
                &mut out,
                TITLE + 2,
                TITLE + 4,
                &format!("{}: {line}", step.what),
            );
        }
        for note in &part.notes {
            hanging(&mut out, TITLE + 2, TITLE + 2, note);
        }
    }
    out.push_str("\nCautions\n");
    for (name, caution) in cautions() {
        row(&mut out, 2, TITLE, name, caution);
    }
    row(&mut out, 2, TITLE, "No design", NO_DESIGN);
    out
}

const NO_DESIGN: &str = "These are the sums for what was given and no more: the route, the \
                         fittings, other circuits in the raceway and the site are not known here.";

pub(super) fn json(circuit: &Circuit, parts: &[Part]) -> String {
    let mut all: Vec<String> = cautions()
        .map(|(name, text)| format!("{name}: {text}"))
        .collect();
    all.push(format!("No design: {NO_DESIGN}"));
    let value = json!({
        "edition": circuit.edition.year(),
        "parts": parts,
        "cautions": all,
    });
    // Texts and finite numbers always serialize.
    serde_json::to_string_pretty(&value).unwrap_or_default() + "\n"
}
