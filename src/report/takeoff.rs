//! The takeoff as a sheet and as CSV.

use super::ReportError;
use super::page::{Cell, Column};
use super::text::guarded;
use crate::takeoff::{Item, Quantity};
use std::io::Write;

pub(super) const COLUMNS: [Column; 8] = [
    ("Item", 44.0),
    ("Unit", 8.0),
    ("Scheduled", 14.0),
    ("Proposed", 14.0),
    ("Difference", 14.0),
    ("Price", 12.0),
    ("Cost", 14.0),
    ("Without a length", 22.0),
];

/// Columns of `takeoff.csv`; later ones are only ever appended.
pub const CSV: [&str; 10] = [
    "job",
    "item",
    "unit",
    "scheduled",
    "proposed",
    "difference",
    "price",
    "cost",
    "scheduled_without_length",
    "proposed_without_length",
];

/// At most two decimals, no separator of thousands, as programs read it.
fn plain(value: f64) -> String {
    crate::schedule::number(value).replace(',', "")
}

fn open(item: &Item) -> String {
    let told = |quantity: Quantity, what: &str| {
        (quantity.without_length > 0).then(|| format!("{} {what}", quantity.without_length))
    };
    let parts = [
        told(item.scheduled, "scheduled"),
        told(item.proposed, "proposed"),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// One row an item, and the sum of what is priced.
pub(super) fn rows(items: &[Item]) -> Vec<Vec<Cell>> {
    let money =
        |value: Option<f64>| Cell::text(value.map_or(String::new(), crate::schedule::number));
    let mut rows: Vec<Vec<Cell>> = items
        .iter()
        .map(|item| {
            vec![
                Cell::text(item.name.clone()),
                Cell::text(item.unit),
                Cell::text(crate::schedule::number(item.scheduled.amount)),
                Cell::text(crate::schedule::number(item.proposed.amount)),
                Cell::text(crate::schedule::number(item.difference())),
                money(item.price),
                money(item.cost()),
                Cell::text(open(item)),
            ]
        })
        .collect();
    if let Some(cost) = crate::takeoff::cost(items) {
        let open = match crate::takeoff::unpriced(items) {
            0 => String::new(),
            1 => "; 1 item that changes has no price".to_owned(),
            more => format!("; {more} items that change have no price"),
        };
        let what = format!("Cost of the correction, priced items{open}");
        let mut last = vec![Cell::Group(what)];
        last.extend((1..6).map(|_| Cell::text("")));
        last.push(Cell::Group(crate::schedule::number(cost)));
        last.push(Cell::text(""));
        rows.push(last);
    }
    rows
}

/// `takeoff.csv`, fed job by job.
pub struct TakeoffCsv<W: Write> {
    writer: csv::Writer<W>,
}

impl<W: Write> TakeoffCsv<W> {
    /// Writes the heading row.
    ///
    /// # Errors
    /// Where `out` cannot be written to; so for all of these.
    pub fn new(out: W) -> Result<Self, ReportError> {
        let mut writer = csv::WriterBuilder::new()
            .terminator(csv::Terminator::Any(b'\n'))
            .from_writer(out);
        writer.write_record(CSV)?;
        Ok(Self { writer })
    }

    pub fn add(&mut self, job: &str, items: &[Item]) -> Result<(), ReportError> {
        for item in items {
            let money = |value: Option<f64>| value.map_or(String::new(), plain);
            self.writer.write_record([
                guarded(job).as_ref(),
                &item.name,
                item.unit,
                &plain(item.scheduled.amount),
                &plain(item.proposed.amount),
                &plain(item.difference()),
                &money(item.price),
                &money(item.cost()),
                &item.scheduled.without_length.to_string(),
                &item.proposed.without_length.to_string(),
            ])?;
        }
        Ok(())
    }

    pub fn finish(mut self) -> Result<(), ReportError> {
        Ok(self.writer.flush()?)
    }
}
