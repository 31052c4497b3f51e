//! The sheet *Takeoff*: what the current jobs take together.

use crate::report::ReportError;
use crate::report::jobs::Jobs;
use crate::report::page::{Cell, Column};
use crate::takeoff::{Quantity, Total, Totals};

pub(super) const COLUMNS: [Column; 9] = [
    ("Item", 56.0),
    ("Unit", 8.0),
    ("Jobs", 8.0),
    ("Scheduled", 14.0),
    ("Proposed", 14.0),
    ("Difference", 14.0),
    ("Price", 12.0),
    ("Cost", 14.0),
    ("Without a length", 28.0),
];

pub(super) fn leads(jobs: &Jobs) -> Vec<String> {
    let counted = jobs.counted().count();
    let counted = crate::report::counted(counted, "current job takes", "current jobs take");
    vec![
        format!(
            "What the {counted} as scheduled, and as proposed. Wire and cable are in feet, with the share for waste; boxes are whole ones in each job."
        ),
        "Runs and circuits without a length count nothing: their number stands in the last column. Job by job: takeoff.csv."
            .to_owned(),
    ]
}

pub(super) fn rows(jobs: &Jobs) -> Result<Vec<Vec<Cell>>, ReportError> {
    let mut totals = Totals::default();
    for job in jobs.counted() {
        totals.add(job.takeoff()?);
    }
    let totals = totals.sums();
    let costs: Vec<f64> = totals.iter().filter_map(|total| total.cost).collect();
    let mut rows: Vec<Vec<Cell>> = totals.iter().map(row).collect();
    if !costs.is_empty() {
        let mut last = vec![Cell::Group(
            "Cost of all corrections, priced items".to_owned(),
        )];
        last.extend((1..7).map(|_| Cell::text("")));
        last.push(Cell::Number(costs.iter().sum(), 2));
        last.push(Cell::text(""));
        rows.push(last);
    }
    Ok(rows)
}

fn row(total: &Total) -> Vec<Cell> {
    let item = &total.item;
    let decimals = if item.unit == "ft" { 1 } else { 0 };
    let money = |value: Option<f64>| match value {
        Some(value) => Cell::Number(value, 2),
        None => Cell::text(""),
    };
    vec![
        Cell::text(&item.name),
        Cell::text(item.unit),
        Cell::Count(total.jobs),
        Cell::Number(item.scheduled.amount, decimals),
        Cell::Number(item.proposed.amount, decimals),
        Cell::Number(item.difference(), decimals),
        match total.prices_differ {
            true => Cell::text("differs by job"),
            false => money(item.price),
        },
        money(total.cost),
        Cell::text(without_length(item.scheduled, item.proposed)),
    ]
}

fn without_length(scheduled: Quantity, proposed: Quantity) -> String {
    let told = [(scheduled, "scheduled"), (proposed, "proposed")]
        .into_iter()
        .filter(|(quantity, _)| quantity.without_length > 0)
        .map(|(quantity, what)| format!("{} {what}", quantity.without_length));
    told.collect::<Vec<_>>().join(", ")
}
