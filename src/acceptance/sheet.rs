//! A sheet *Accepted* in a job's workbook, known by its headings.

use super::no_such_rule;
use crate::findings::{Acceptance, Target};
use crate::intake::book::{Book, Clock, RowRef, Sheet, Value};
use crate::intake::notation::{self, Context, Reading};
use crate::intake::schema::Schemas;
use crate::schedule::{ColIndex, RowNumber};
use jiff::civil::Date;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::LazyLock;

const SCHEMA: &str = include_str!("../../schemas/accepted.json");
/// Rows in which the headings are looked for.
const HEADING_ROWS: usize = 40;

#[derive(Deserialize)]
struct TableSchema {
    fields: Vec<FieldSchema>,
}

#[derive(Deserialize)]
struct FieldSchema {
    name: String,
    #[serde(rename = "x-headings")]
    headings: Vec<String>,
}

/// By the heading's key, the field.
static HEADINGS: LazyLock<BTreeMap<String, String>> = LazyLock::new(|| {
    // A test parses the schema that is compiled in.
    let schema: TableSchema =
        serde_json::from_str(SCHEMA).unwrap_or(TableSchema { fields: Vec::new() });
    let keys = Schemas::embedded();
    let fields = schema.fields.into_iter();
    fields
        .flat_map(|field| {
            let name = field.name;
            let headings = field.headings.into_iter();
            headings.map(move |heading| (keys.key(&heading), name.clone()))
        })
        .collect()
});

/// Acceptances of a workbook's sheets. A row that lacks something says so and
/// covers nothing; an empty row is passed over.
pub fn from_book(book: &Book, path: &str) -> Vec<Acceptance> {
    let mut acceptances = Vec::new();
    for sheet in &book.sheets {
        let Some((head, columns)) = headings(sheet) else {
            continue;
        };
        let table = Table {
            columns,
            sheet: sheet.name.as_deref().unwrap_or_default(),
            path,
            epoch_1904: sheet.epoch_1904,
        };
        let rows = sheet.rows_from(head.index()).skip(1);
        acceptances.extend(rows.filter_map(|row| table.acceptance(&row)));
    }
    acceptances
}

type Columns = BTreeMap<&'static str, ColIndex>;

/// The row that has a heading for the rule, the reason and the name: no other
/// table has all three.
fn headings(sheet: &Sheet) -> Option<(RowRef<'_>, Columns)> {
    let keys = Schemas::embedded();
    sheet.rows().take(HEADING_ROWS).find_map(|row| {
        let mut columns = Columns::new();
        for cell in row.cells() {
            if let Some(field) = HEADINGS.get(&keys.key(&cell.text())) {
                columns.entry(field.as_str()).or_insert(cell.column());
            }
        }
        ["rule", "reason", "by"]
            .iter()
            .all(|field| columns.contains_key(field))
            .then_some((row, columns))
    })
}

struct Table<'a> {
    columns: Columns,
    sheet: &'a str,
    path: &'a str,
    epoch_1904: bool,
}

impl Table<'_> {
    fn acceptance(&self, row: &RowRef) -> Option<Acceptance> {
        let cell = |field: &str| self.columns.get(field).and_then(|at| row.cell(*at));
        let text = |field: &str| {
            cell(field).map_or_else(String::new, |cell| cell.text().trim().to_owned())
        };
        let rule = text("rule");
        let subject = text("subject");
        let (reason, by) = (text("reason"), text("by"));
        if [&rule, &subject, &reason, &by].iter().all(|t| t.is_empty()) {
            return None;
        }
        let found = text("found");
        let mut wanting: Vec<String> = [
            ("rule", &rule),
            ("subject", &subject),
            ("found", &found),
            ("reason", &reason),
            ("by", &by),
        ]
        .into_iter()
        .filter(|(_, value)| value.is_empty())
        .map(|(field, _)| format!("the row says nothing for \u{201c}{}\u{201d}", title(field)))
        .collect();
        if !rule.is_empty() {
            wanting.extend(no_such_rule(&rule));
        }
        let until = cell("until").filter(|cell| !cell.text().trim().is_empty());
        let until = until.and_then(|cell| {
            let read = match cell.value() {
                Value::DateTime { serial, .. } => Clock::at(serial, self.epoch_1904).and_then(day),
                _ => date(&cell.text()),
            };
            if read.is_none() {
                wanting.push(format!(
                    "\u{201c}{}\u{201d} is no date: write it as 2027-01-31",
                    cell.text()
                ));
            }
            read
        });
        let place = match self.sheet {
            "" => self.path.to_owned(),
            sheet => format!("{}, sheet {sheet}", self.path),
        };
        Some(Acceptance {
            job: text("job"),
            target: Target::Named {
                rule,
                subject,
                dwelling: text("dwelling"),
            },
            found,
            limit: text("limit"),
            reason,
            by,
            until,
            origin: format!("{place}, row {}", RowNumber::from(row.index()).0),
            wanting: (!wanting.is_empty()).then(|| wanting.join("; ")),
        })
    }
}

fn title(field: &str) -> &str {
    match field {
        "by" => "accepted by",
        field => field,
    }
}

/// A date as people write it; `None` where it may be read two ways.
pub(super) fn date(text: &str) -> Option<Date> {
    match notation::date(text, &Context::default()) {
        Reading::Value(written) if written.other.is_none() => Some(written.date),
        _ => None,
    }
}

fn day(clock: Clock) -> Option<Date> {
    let (year, month) = (i16::try_from(clock.year), i8::try_from(clock.month));
    Date::new(year.ok()?, month.ok()?, i8::try_from(clock.day).ok()?).ok()
}
