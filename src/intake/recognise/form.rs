//! Blocks of labels and values, and titles, above a table.

use super::grid::said;
use crate::intake::book::Sheet;
use crate::intake::found::FormEntry;
use crate::intake::notation::Context;
use crate::intake::schema::{Listed, Schemas};
use crate::schedule::{ColIndex, FieldName, RowIndex, TableKind};

/// What stands above a table.
#[derive(Clone, Debug, Default)]
pub(super) struct Above {
    pub form: Vec<FormEntry>,
    /// Texts that stand alone in their row.
    pub titles: Vec<(RowIndex, ColIndex, String)>,
    /// Each row with what it is.
    pub rows: Vec<(RowIndex, &'static str)>,
}

/// A form's row has at most so many cells that are looked at.
const WIDEST: usize = 40;

/// Reads the rows from `from` up to and without `end`.
///
/// `prefer` is whose label a text is that both a job and a panel know. With
/// `bare`, a bare label of those is taken where its value reads: the rows
/// hold nothing but labels.
pub(super) fn above(
    sheet: &Sheet,
    from: RowIndex,
    end: RowIndex,
    prefer: TableKind,
    bare: bool,
    schemas: &Schemas,
) -> Above {
    let mut above = Above::default();
    for row in sheet.rows_from(from) {
        if row.index() >= end {
            break;
        }
        let cells: Vec<(ColIndex, String)> = said(&row)
            .take(WIDEST)
            .map(|(column, text)| (column, text.trim().to_owned()))
            .collect();
        let entries = entries(row.index(), &cells, (prefer, bare), schemas);
        let what = if !entries.is_empty() {
            above.form.extend(entries);
            "label and value"
        } else if let [(column, text)] = cells.as_slice() {
            above.titles.push((row.index(), *column, text.clone()));
            "title"
        } else if cells.len() == 2 {
            let titles = cells.iter().map(|(c, t)| (row.index(), *c, t.clone()));
            above.titles.extend(titles);
            "title"
        } else {
            "above the heading"
        };
        if !cells.is_empty() {
            above.rows.push((row.index(), what));
        }
    }
    above.form = once_each(std::mem::take(&mut above.form));
    above
}

/// Labels of a row with their values: the next cell, or what follows the
/// colon in the same one.
fn entries(
    row: RowIndex,
    cells: &[(ColIndex, String)],
    (prefer, bare): (TableKind, bool),
    schemas: &Schemas,
) -> Vec<FormEntry> {
    let label_of = |text: &str, colon: bool| label_of(text, colon, prefer, schemas);
    let mut out = Vec::new();
    let mut at = 0;
    while let Some((column, text)) = cells.get(at) {
        at += 1;
        if let Some((label, value)) = text.split_once(':')
            && !value.trim().is_empty()
        {
            if let Some(field) = label_of(label, true) {
                let cell = (row, *column);
                out.push(FormEntry {
                    field,
                    label: cell,
                    value: cell,
                });
            }
            continue;
        }
        let value = cells.get(at).map(|(_, value)| value.as_str());
        let weak = value
            .filter(|_| bare)
            .and_then(|value| bare_label(text, value, prefer, schemas));
        let Some(field) = weak.or_else(|| label_of(text, text.ends_with(':'))) else {
            continue;
        };
        if let Some((value_at, value)) = cells.get(at)
            && label_of(value, value.ends_with(':')).is_none()
        {
            out.push(FormEntry {
                field,
                label: (row, *column),
                value: (row, *value_at),
            });
            at += 1;
        }
    }
    out
}

/// The field of the job or the panel that a label names.
pub(super) fn label_of(
    text: &str,
    colon: bool,
    prefer: TableKind,
    schemas: &Schemas,
) -> Option<FieldName> {
    let text = text.trim().trim_end_matches(':').trim();
    if text.is_empty() || text.len() > 40 {
        return None;
    }
    let key = schemas.key(text);
    let of_form = |field: FieldName| {
        matches!(field.table(), TableKind::JobFacts | TableKind::Panels)
            && !matches!(field, FieldName::PanelRemarks | FieldName::PanelDwelling)
    };
    let known = schemas
        .listed(&key)
        .iter()
        .filter(|(field, listed)| of_form(*field) && (*listed > Listed::Weak || colon));
    // Weak words are a panel's only above its own table.
    known
        .max_by_key(|(field, listed)| (field.table() == prefer, *listed > Listed::Weak))
        .map(|(field, _)| *field)
}

/// The field of `table` that a bare label means before such a value.
fn bare_label(text: &str, value: &str, table: TableKind, schemas: &Schemas) -> Option<FieldName> {
    let key = schemas.key(text.trim().trim_end_matches(':'));
    let mut known = schemas.listed(&key).iter().filter(|(field, listed)| {
        let asks = schemas.field(*field).is_some_and(|schema| {
            super::lists::asks_for_form(schema.notation)
                && super::values::reads(schema.notation, value, &Context::default()) == Some(1.0)
        });
        field.table() == table && *listed == Listed::Weak && asks
    });
    known.next().map(|(field, _)| *field)
}

/// The first of each field.
fn once_each(form: Vec<FormEntry>) -> Vec<FormEntry> {
    let mut out: Vec<FormEntry> = Vec::with_capacity(form.len());
    for entry in form {
        if !out.iter().any(|known| known.field == entry.field) {
            out.push(entry);
        }
    }
    out
}

/// What a title or a sheet's name says of the kind of its table.
#[derive(Clone, Debug, Default)]
pub(super) struct Titled {
    pub of: Vec<TableKind>,
    /// It is none of these, whatever its headings.
    pub not: Vec<TableKind>,
}

impl Titled {
    pub fn read(&mut self, text: &str, schemas: &Schemas) {
        let words = schemas.words(text);
        for first in 0..words.len() {
            for last in first..words.len().min(first + 4) {
                let key = words.get(first..=last).unwrap_or(&[]).concat();
                self.of.extend(schemas.titled(&key));
                self.not.extend(schemas.foreign_titles(&key));
            }
        }
        // A title of ours may have another's words in it: heat pumps.
        if !self.of.is_empty() {
            self.not.clear();
        }
    }

    pub fn is_silent(&self) -> bool {
        self.of.is_empty() && self.not.is_empty()
    }
}

/// The panel that a title names: `PANEL LP`, `PANELBOARD "LP-1" SCHEDULE`.
/// `bare` is for the name of a sheet, which may be the panel's alone.
/// What is said besides follows a comma or a dash: `Panel HP1 – 200A main`.
pub(super) fn panel_named(text: &str, bare: bool, schemas: &Schemas) -> Option<String> {
    let first = || {
        let end = [" – ", " — ", " - ", ",", ";", " ("];
        let end = end.iter().filter_map(|mark| text.find(mark)).min()?;
        named_panel(text.get(..end)?, bare, schemas)
    };
    named_panel(text, bare, schemas).or_else(first)
}

fn named_panel(text: &str, bare: bool, schemas: &Schemas) -> Option<String> {
    let mut about_panel = false;
    let mut rest: Vec<&str> = Vec::new();
    for word in text.split_whitespace() {
        let trimmed = word.trim_matches(|c: char| !c.is_alphanumeric());
        let key = schemas.key(trimmed);
        if key == schemas.key("Panel") {
            about_panel = true;
        } else if trimmed.is_empty() || is_word_of_titles(&key, schemas) {
            // A word that every such title has.
        } else {
            rest.push(trimmed);
        }
    }
    let short = matches!(rest.as_slice(), [one] if one.chars().count() <= 8)
        || matches!(rest.as_slice(), [a, b] if a.chars().count() + b.chars().count() <= 8);
    let generic = {
        let key = rest.concat().to_uppercase();
        key.trim_end_matches(|c: char| c.is_ascii_digit()) == "SHEET"
    };
    let marked = rest
        .iter()
        .any(|word| word.chars().any(|c| c.is_ascii_digit()) || word.chars().count() <= 4);
    let accepted = short && !generic && (about_panel || bare && marked);
    accepted.then(|| rest.join(" "))
}

fn is_word_of_titles(key: &str, schemas: &Schemas) -> bool {
    let words = |text: &str| schemas.words(text).iter().any(|word| word == key);
    let circuits = schemas.table(TableKind::Circuits);
    let titles = circuits.map_or(&[][..], |table| &table.titles);
    let names = schemas.field(FieldName::PanelName);
    titles.iter().any(|title| words(title))
        || names.is_some_and(|field| field.headings.iter().any(|heading| words(heading)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn titles_name_panels() {
        let schemas = Schemas::embedded();
        for (text, bare, name) in [
            ("PANEL LP", false, Some("LP")),
            ("PANELBOARD \"LP-1\" SCHEDULE", false, Some("LP-1")),
            ("Panel Schedule: 12C", false, Some("12C")),
            (
                "Panel HP1 – 120/240V 1ph 3w – 200A main",
                false,
                Some("HP1"),
            ),
            ("LP-12C", true, Some("LP-12C")),
            ("LP-12C", false, None),
            ("Circuits", true, None),
            ("Sheet1", true, None),
            ("Panel Schedule", true, None),
            ("Circuits of the east wing", true, None),
        ] {
            assert_eq!(panel_named(text, bare, schemas).as_deref(), name, "{text}");
        }
    }

    #[test]
    fn labels_name_facts_of_jobs_and_panels() {
        let schemas = Schemas::embedded();
        for (text, colon, field) in [
            ("Job No.", false, Some(FieldName::JobNumber)),
            ("Project", true, Some(FieldName::JobName)),
            ("Volts", true, Some(FieldName::PanelSupply)),
            ("Volts", false, None),
            ("MCA", true, None),
            ("Fed From", true, Some(FieldName::PanelFedFrom)),
        ] {
            let found = label_of(text, colon, TableKind::Panels, schemas);
            assert_eq!(found, field, "{text}");
        }
    }
}
