//! The sheet *Overview*: the batch in a minute, in numbers and charts.

use super::submitters;
use super::{BatchEnd, JobRow, jobs_counted};
use crate::findings::{Disposition, Severity};
use crate::report::compare;
use crate::report::facts::SystemFact;
use crate::report::frame;
use crate::report::jobs::Jobs;
use crate::report::page::{self, Cell, Page};
use crate::report::style;
use crate::report::{ReportError, counted};
use jiff::ToSpan;
use jiff::civil::Date;
use polars::prelude::DataFrame;
use rust_xlsxwriter::{Chart, ChartLegendPosition, Color, Worksheet};
use std::collections::BTreeMap;

/// Rows of a table of the sheet.
const MOST_ROWS: usize = 10;
/// Column and rows of the charts, two abreast beside the tables.
const CHART_COLUMNS: [u16; 2] = [6, 14];
const CHART_ROWS: u32 = 15;
const CHART_SIZE: (u32, u32) = (500, 290);
const LABEL_WIDTH: f64 = 34.0;
/// Counts of a table: at most so many columns behind its label.
const MOST_COUNTS: usize = 4;

struct Table {
    title: &'static str,
    headings: Vec<&'static str>,
    rows: Vec<(String, Vec<u64>)>,
    /// Columns of counts that the chart shows.
    charted: usize,
    stacked: bool,
}

pub(super) fn write(
    page: &Page,
    sheet: &mut Worksheet,
    end: &BatchEnd,
    finding_sheets: usize,
) -> Result<(), ReportError> {
    let counts = || end.jobs.rows().filter(|job| job.counts());
    let sum = |pick: fn(&JobRow) -> usize| -> usize { counts().map(pick).sum() };
    let leads = [
        (jobs_counted(end.jobs), &page.styles.title),
        (
            format!(
                "{} to fix, {} to verify, {}; {} not read.",
                sum(|job| job.fix),
                sum(|job| job.verify),
                counted(sum(|job| job.note), "note", "notes"),
                counted(end.unread.len(), "file", "files"),
            ),
            &page.styles.lead,
        ),
        (
            format!(
                "No disposition is an approval: the reviewer signs each job. As of {}.{}",
                page.as_of,
                match finding_sheets {
                    0 | 1 => String::new(),
                    sheets => format!(
                        " The findings take {sheets} sheets; findings.parquet holds them in one."
                    ),
                }
            ),
            &page.styles.quiet,
        ),
    ];
    let distinct = end.distinct;
    let mut leads = leads.to_vec();
    let accepted = sum(|job| job.accepted);
    let mut more = Vec::new();
    if distinct.total() < sum(|job| job.fix + job.verify + job.note) {
        more.push(format!(
            "Equal ones of many dwellings counted once: {} to fix, {} to verify, {}.",
            distinct.fix,
            distinct.verify,
            counted(distinct.note, "note", "notes")
        ));
    }
    if accepted > 0 {
        let findings = counted(accepted, "finding is", "findings are");
        more.push(format!(
            "{findings} accepted and not counted: see Accepted."
        ));
    }
    if let Some(compared) = end.compared {
        more.push(format!(
            "Since the earlier audit: {} See Since.",
            compare::counts(compared)
        ));
    }
    if !more.is_empty() {
        leads.insert(2, (more.join(" "), &page.styles.lead));
    }
    let mut row = page.open(sheet, "Overview", &leads)? + 1;
    let name = "Overview";
    sheet.set_column_width(0, LABEL_WIDTH)?;
    for column in 1..=MOST_COUNTS as u16 {
        sheet.set_column_width(column, 9.5)?;
    }
    let tables = [
        dispositions(end.jobs),
        rules(end.counted)?,
        by_submitter(end.jobs),
        by_count(end.jobs),
        budgets(end.jobs)?,
        trend(end.jobs),
    ];
    let top = row;
    let filled = tables.iter().filter(|table| !table.rows.is_empty());
    for (shown, table) in filled.enumerate() {
        let head = row;
        row = table_rows(page, sheet, row, table)?;
        let chart = chart(name, table, head);
        let column = CHART_COLUMNS[shown % CHART_COLUMNS.len()];
        let chart_row = top + CHART_ROWS * (shown / CHART_COLUMNS.len()) as u32;
        sheet.insert_chart(chart_row, column, &chart)?;
        row += 1;
    }
    page.print(sheet);
    Ok(())
}

/// Heading and rows; gives the row below them.
fn table_rows(
    page: &Page,
    sheet: &mut Worksheet,
    head: u32,
    table: &Table,
) -> Result<u32, ReportError> {
    page::string(sheet, head, 0, table.title, &page.styles.head)?;
    for (at, heading) in table.headings.iter().enumerate() {
        page::string(sheet, head, at as u16 + 1, heading, &page.styles.head)?;
    }
    let mut row = head;
    for (label, counts) in &table.rows {
        row += 1;
        page::put(sheet, row, 0, &Cell::text(label), page.styles)?;
        for (at, count) in counts.iter().enumerate() {
            page::put(sheet, row, at as u16 + 1, &Cell::Count(*count), page.styles)?;
        }
    }
    Ok(row + 1)
}

fn chart(sheet: &str, table: &Table, head: u32) -> Chart {
    let (first, last) = (head + 1, head + table.rows.len() as u32);
    let mut chart = if table.stacked {
        Chart::new(rust_xlsxwriter::ChartType::BarStacked)
    } else {
        Chart::new_bar()
    };
    let colours = [Severity::Fix, Severity::Verify, Severity::Note];
    for at in 0..table.charted {
        let column = at as u16 + 1;
        let colour = match (table.stacked, colours.get(at)) {
            (true, Some(severity)) => style::fill(*severity),
            _ => Color::RGB(0x5B_7A_99),
        };
        chart
            .add_series()
            .set_name((sheet, head, column))
            .set_categories((sheet, first, 0, last, 0))
            .set_values((sheet, first, column, last, column))
            .set_gap(60)
            .set_format(
                rust_xlsxwriter::ChartFormat::new()
                    .set_solid_fill(rust_xlsxwriter::ChartSolidFill::new().set_color(colour)),
            );
    }
    chart.title().set_name(table.title);
    chart
        .title()
        .set_font(rust_xlsxwriter::ChartFont::new().set_size(11));
    // The first row on top, as in the table; a bar chart's categories stand
    // along its vertical axis.
    chart.y_axis().set_reverse();
    chart
        .x_axis()
        .set_num_format("0")
        .set_min(0)
        .set_major_unit(major_unit(table));
    if table.stacked {
        chart.legend().set_position(ChartLegendPosition::Bottom);
    } else {
        chart.legend().set_hidden();
    }
    chart.set_width(CHART_SIZE.0).set_height(CHART_SIZE.1);
    chart.set_alt_text(format!(
        "{}: the numbers stand in the table beside it",
        table.title
    ));
    chart
}

/// Counts are whole: steps of a whole number, some six of them.
fn major_unit(table: &Table) -> f64 {
    let length = |counts: &[u64]| counts.iter().take(table.charted).sum::<u64>();
    let longest = table.rows.iter().map(|(_, counts)| length(counts)).max();
    longest.unwrap_or(0).div_ceil(6).max(1) as f64
}

fn current<'a>(jobs: &'a Jobs) -> impl Iterator<Item = &'a JobRow> {
    jobs.rows().filter(|job| job.counts())
}

fn dispositions(jobs: &Jobs) -> Table {
    let rows = Disposition::ALL.into_iter().map(|disposition| {
        let count = current(jobs).filter(|job| job.disposition == disposition);
        (disposition.name().to_owned(), vec![count.count() as u64])
    });
    Table {
        title: "Jobs by disposition",
        headings: vec!["Jobs"],
        rows: rows.collect(),
        charted: 1,
        stacked: false,
    }
}

/// Counts by severity: fix, verify, note.
fn index(severity: Severity) -> usize {
    match severity {
        Severity::Fix => 0,
        Severity::Verify => 1,
        Severity::Note => 2,
    }
}

fn rules(findings: &DataFrame) -> Result<Table, ReportError> {
    let mut rows: Vec<(String, Vec<u64>)> = Vec::new();
    for rule in frame::rules_by_severity(findings)? {
        let at = match rows.iter().position(|(name, _)| *name == rule.rule) {
            Some(at) => at,
            None => {
                rows.push((rule.rule.clone(), vec![0; 3]));
                rows.len() - 1
            }
        };
        if let Some(count) = rows
            .get_mut(at)
            .and_then(|r| r.1.get_mut(index(rule.severity)))
        {
            *count += rule.findings;
        }
    }
    Ok(Table {
        title: "Findings by rule, most to fix first",
        headings: vec!["Fix", "Verify", "Note"],
        rows: most(rows),
        charted: 3,
        stacked: true,
    })
}

fn by_submitter(jobs: &Jobs) -> Table {
    let mut counts: BTreeMap<&str, Vec<u64>> = BTreeMap::new();
    for job in current(jobs) {
        let row = counts
            .entry(submitters::shown(&job.about.submitted_by))
            .or_insert_with(|| vec![0; 4]);
        let own = [job.fix, job.verify, job.note, 1];
        for (sum, count) in row.iter_mut().zip(own) {
            *sum += count as u64;
        }
    }
    let rows = counts
        .into_iter()
        .map(|(name, counts)| (name.to_owned(), counts));
    Table {
        title: "Findings by submitter",
        headings: vec!["Fix", "Verify", "Note", "Jobs"],
        rows: most(rows.collect()),
        charted: 3,
        stacked: true,
    }
}

/// Jobs by how many findings they have that ask for something.
fn by_count(jobs: &Jobs) -> Table {
    const BANDS: [(&str, usize); 5] = [
        ("none", 0),
        ("1 or 2", 2),
        ("3 to 5", 5),
        ("6 to 10", 10),
        ("more than 10", usize::MAX),
    ];
    let mut counts = [0_u64; BANDS.len()];
    for job in current(jobs) {
        let findings = job.fix + job.verify;
        if let Some(band) = BANDS.iter().position(|(_, most)| findings <= *most) {
            counts[band] += 1;
        }
    }
    let rows = BANDS.iter().zip(counts);
    Table {
        title: "Jobs by findings to fix or verify",
        headings: vec!["Jobs"],
        rows: rows
            .map(|((name, _), count)| ((*name).to_owned(), vec![count]))
            .collect(),
        charted: 1,
        stacked: false,
    }
}

/// The rows with most to fix, then to verify, then by name.
fn most(mut rows: Vec<(String, Vec<u64>)>) -> Vec<(String, Vec<u64>)> {
    rows.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    rows.truncate(MOST_ROWS);
    rows
}

fn budgets(jobs: &Jobs) -> Result<Table, ReportError> {
    const BANDS: [(&str, f64); 4] = [
        ("up to half of the budget", 0.5),
        ("to 80 %", 0.8),
        ("to 100 %", 1.0 + 1e-9),
        ("over the budget", f64::INFINITY),
    ];
    let mut counts = [0_u64; BANDS.len()];
    let mut unknown = 0;
    for system in all_systems(jobs) {
        let system = system?;
        let used = match (system.length, system.budget) {
            (Some(length), Some(budget)) if budget > 0.0 => Some(length / budget),
            _ => None,
        };
        // Lengths that are missing can only add to a bus.
        let known = used.filter(|used| system.complete || *used > BANDS[2].1);
        let band = known.and_then(|used| BANDS.iter().position(|(_, most)| used <= *most));
        match band {
            Some(band) => counts[band] += 1,
            None => unknown += 1,
        }
    }
    let mut rows: Vec<(String, Vec<u64>)> = BANDS
        .iter()
        .zip(counts)
        .map(|((name, _), count)| ((*name).to_owned(), vec![count]))
        .collect();
    rows.push(("lengths not all known".to_owned(), vec![unknown]));
    if counts.iter().all(|count| *count == 0) && unknown == 0 {
        rows.clear();
    }
    Ok(Table {
        title: "Systems by bus budget used",
        headings: vec!["Systems"],
        rows,
        charted: 1,
        stacked: false,
    })
}

fn all_systems(jobs: &Jobs) -> impl Iterator<Item = Result<SystemFact, ReportError>> {
    let with = jobs.counted().filter(|job| job.sizes().systems > 0);
    with.flat_map(|job| match job.facts() {
        Ok(facts) => facts.systems.into_iter().map(Ok).collect(),
        Err(error) => vec![Err(error)],
    })
}

/// Months of the trend: the last of the season.
const MONTHS: usize = 12;

/// By month of submission, months without one between them too; jobs without
/// a date are left out.
fn trend(jobs: &Jobs) -> Table {
    let dated =
        || current(jobs).filter_map(|job| Some((job, job.about.date.parse::<Date>().ok()?)));
    let mut months: BTreeMap<String, Vec<u64>> = BTreeMap::new();
    let last = dated().map(|(_, date)| date.first_of_month()).max();
    let first = dated().map(|(_, date)| date.first_of_month()).min();
    let back = last.into_iter().flat_map(|last| last.series(-1.month()));
    let all = back.take_while(|month| first.is_some_and(|first| *month >= first));
    months.extend(all.take(MONTHS).map(|month| (named(month), vec![0; 4])));
    for (job, date) in dated() {
        let Some(row) = months.get_mut(&named(date)) else {
            continue;
        };
        let own = [job.fix, job.verify, job.note, 1];
        for (sum, count) in row.iter_mut().zip(own) {
            *sum += count as u64;
        }
    }
    Table {
        title: "Findings by month of submission",
        headings: vec!["Fix", "Verify", "Note", "Jobs"],
        rows: months.into_iter().collect(),
        charted: 3,
        stacked: true,
    }
}

/// `2026-03`.
fn named(month: Date) -> String {
    format!("{:04}-{:02}", month.year(), month.month())
}
