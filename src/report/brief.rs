//! The sheet *Brief*: what an electrician needs in hand before the first
//! pull, a page a system, as scheduled. Where something is to be fixed, the
//! line holds instead of repeating a wrong value.

mod circuits;
mod wiring;

use super::page::{self, Page};
use super::style::Styles;
use super::{ReportError, job::JobView};
use crate::findings::{Reported, Severity};
use crate::rules::BusLayout;
use crate::schedule::SystemId;
use rust_xlsxwriter::{Format, Worksheet, XlsxError};

/// Widths of the columns, in characters; together one page of letter paper.
const WIDTHS: [f64; 7] = [13.0, 19.0, 12.0, 13.0, 19.0, 12.0, 15.0];

const HOLD_POWER: &str = "HOLD THE POWER OFF until the refrigerant piping of this system is \
     finished, pressure-tested and charged. Expansion valves of the indoor units come open from \
     the factory and close at the first power. Then power stays on for the hours that the manual \
     asks before the first start.";

const CAUTIONS: [&str; 4] = [
    "DANGER: these circuits carry lethal voltages. Only a licensed electrician may install, \
     connect or change them, with the supply locked out and proved dead.",
    "The nameplate on the unit and its installation manual go before this sheet. Compare each \
     nameplate before wire is bought.",
    "Local amendments and the authority having jurisdiction decide what is permitted.",
    "This sheet repeats the schedules; it is not an approval, and what the schedules do not say \
     is not on it.",
];

const BEFORE_POWER: [&str; 9] = [
    "Refrigerant piping pressure-tested and charged; the mechanical contractor has said so",
    "Breakers, fuses and conductors compared with every nameplate",
    "Volts measured at each disconnect, all poles, within the nameplate's range",
    "A disconnect within sight of each unit, labelled with the unit's tag",
    "Grounding conductor joined at each unit",
    "Bus: both wires continuous from the outdoor unit through every unit to the last",
    "Bus: no short between the two wires, none to ground, and no line voltage on them",
    "Shield, where there is one: joined through every unit, grounded where the manual says",
    "Each controller: its own cable, straight to its own unit",
];

/// One row of the sheet.
pub(super) enum Line {
    /// Begins a system's page.
    Title(String),
    Heading(String),
    /// Over the whole width.
    Text(String),
    /// Over the whole width, framed and bold.
    Hold(String),
    Columns([&'static str; 7]),
    Row([String; 7]),
    /// A box to tick, and a place to sign.
    Tick(String),
}

/// `HOLD: see finding …`, as it stands in a line.
pub(super) fn hold(finding: &Reported) -> String {
    format!("HOLD: see finding {}", finding.rule)
}

pub(super) fn hold_with_remedy(finding: &Reported) -> String {
    format!(
        "{} ({}), {}. {}",
        hold(finding),
        finding.id,
        finding.subject_label,
        finding.remedy
    )
}

pub(super) fn is_fix(finding: &&Reported) -> bool {
    finding.severity == Severity::Fix && finding.stands()
}

struct Looks {
    title: Format,
    heading: Format,
    text: Format,
    hold: Format,
    head: Format,
    cell: Format,
    held: Format,
}

impl Looks {
    fn new(styles: &Styles) -> Self {
        use rust_xlsxwriter::{FormatAlign, FormatBorder};
        let cell = styles
            .lead
            .clone()
            .set_font_size(9)
            .set_text_wrap()
            .set_align(FormatAlign::Top);
        let boxed = cell.clone().set_border(FormatBorder::Hair);
        Self {
            title: styles.title.clone(),
            heading: cell
                .clone()
                .set_bold()
                .set_font_size(11)
                .set_border_bottom(FormatBorder::Medium),
            text: cell.clone(),
            hold: cell.clone().set_bold().set_border(FormatBorder::Thick),
            head: boxed.clone().set_bold(),
            held: boxed.clone().set_bold(),
            cell: boxed,
        }
    }
}

/// Writes the sheet: letter paper, a page a system or more, numbered.
pub(super) fn write(view: &JobView, page: &Page, sheet: &mut Worksheet) -> Result<(), ReportError> {
    let looks = Looks::new(page.styles);
    page::string(
        sheet,
        0,
        0,
        &format!("{}Brief", super::ours::PREFIX),
        &page.styles.mark,
    )?;
    for (column, width) in WIDTHS.iter().enumerate() {
        sheet.set_column_width(column as u16, *width)?;
    }
    let mut row = 0;
    let mut breaks = Vec::new();
    for line in lines(view) {
        row += 1;
        if matches!(line, Line::Title(_)) && row > 1 {
            breaks.push(row);
        }
        put(sheet, row, &line, &looks)?;
    }
    sheet.set_page_breaks(&breaks)?;
    print(view, sheet);
    Ok(())
}

/// The whole brief, line by line.
pub(super) fn lines(view: &JobView) -> Vec<Line> {
    let schedule = view.schedule;
    let layout = BusLayout::of(schedule);
    let mut lines = Vec::new();
    for (id, _) in schedule.system_ids() {
        system(view, &layout, id, &mut lines);
    }
    circuits::of_no_system(view, &mut lines);
    if lines.is_empty() {
        lines.push(Line::Title(schedule.title.clone()));
        lines.push(Line::Text(
            "The schedules name no outdoor unit and no unit of a system: there is nothing to \
             bring."
                .to_owned(),
        ));
    }
    lines
}

fn system(view: &JobView, layout: &BusLayout, id: SystemId, lines: &mut Vec<Line>) {
    let schedule = view.schedule;
    lines.push(Line::Title(format!(
        "{}: system {}",
        schedule.title,
        schedule.system_label(id)
    )));
    lines.push(Line::Hold(HOLD_POWER.to_owned()));
    circuits::add(view, id, lines);
    wiring::bus(view, layout, id, lines);
    wiring::home_runs(view, id, lines);
    wiring::shield(view, layout, id, lines);
    lines.push(Line::Heading("Before power".to_owned()));
    lines.extend(BEFORE_POWER.map(|text| Line::Tick(text.to_owned())));
    lines.push(Line::Heading("Cautions".to_owned()));
    lines.extend(CAUTIONS.map(|text| Line::Text(text.to_owned())));
}

fn put(sheet: &mut Worksheet, row: u32, line: &Line, looks: &Looks) -> Result<(), XlsxError> {
    const LAST: u16 = WIDTHS.len() as u16 - 1;
    let whole: f64 = WIDTHS.iter().sum();
    let merged = |sheet: &mut Worksheet, from: u16, to: u16, text: &str, format: &Format| {
        sheet
            .merge_range(row, from, row, to, &page::clip(text), format)
            .map(drop)
    };
    let height = |lines: u32| f64::from(lines) * 12.4 + 3.0;
    match line {
        Line::Title(text) => {
            merged(sheet, 0, LAST, text, &looks.title)?;
            sheet.set_row_height(row, 24)?;
        }
        Line::Heading(text) => {
            merged(sheet, 0, LAST, text, &looks.heading)?;
            sheet.set_row_height(row, 20)?;
        }
        Line::Text(text) => {
            merged(sheet, 0, LAST, text, &looks.text)?;
            sheet.set_row_height(row, height(page::lines(text, whole * 1.1)))?;
        }
        Line::Hold(text) => {
            merged(sheet, 0, LAST, text, &looks.hold)?;
            sheet.set_row_height(row, height(page::lines(text, whole)) + 3.0)?;
        }
        Line::Columns(headings) => {
            for (column, heading) in headings.iter().enumerate() {
                page::string(sheet, row, column as u16, heading, &looks.head)?;
            }
        }
        Line::Row(cells) => {
            let mut most = 1;
            for (column, (text, width)) in cells.iter().zip(WIDTHS).enumerate() {
                let held = text.starts_with("HOLD");
                let format = if held { &looks.held } else { &looks.cell };
                page::string(sheet, row, column as u16, text, format)?;
                let width = if held { width * 0.95 } else { width };
                most = most.max(page::lines(text, width));
            }
            sheet.set_row_height(row, height(most))?;
        }
        Line::Tick(text) => {
            merged(
                sheet,
                0,
                LAST - 2,
                &format!("\u{2610}  {text}"),
                &looks.cell,
            )?;
            merged(sheet, LAST - 1, LAST, "by, date:", &looks.cell)?;
            sheet.set_row_height(row, 16)?;
        }
    }
    Ok(())
}

fn print(view: &JobView, sheet: &mut Worksheet) {
    const LETTER: u8 = 1;
    let facts = &view.schedule.facts;
    // An ampersand begins a code; a header holds 255 characters.
    let short = |text: &str, most: usize| -> String {
        let text: String = page::printable(text).chars().take(most).collect();
        text.replace('&', "&&")
    };
    let mut job = short(&view.schedule.title, 60);
    if let Some(number) = facts.number.get() {
        job.push_str(&format!(", {}", short(number, 24)));
    }
    let revision = match facts.revision.get() {
        Some(revision) => format!("Revision {}", short(revision, 20)),
        None => "Revision not stated".to_owned(),
    };
    let date = facts.date.get().copied().unwrap_or(view.as_of);
    sheet
        .set_portrait()
        .set_paper_size(LETTER)
        .set_print_fit_to_pages(1, 0)
        .set_margins(0.4, 0.4, 0.7, 0.6, 0.3, 0.3)
        .set_header(format!("&L&9{job}&C&9{revision}, {date}&R&9page &P of &N"))
        .set_footer(format!(
            "&L&8Electrician's brief, as scheduled&C&8ampledger, as of {}: not an approval",
            view.as_of
        ));
}
