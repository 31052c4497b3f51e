//! The sheet *Brief*: what an electrician needs in hand before the first
//! pull, a page a system, as scheduled. Where something is to be fixed, the
//! line holds instead of repeating a wrong value.

mod circuits;
mod compact;
mod pages;
mod wiring;

use self::circuits::Fixes;
use super::page::{self, Page};
use super::style::Styles;
use super::{ReportError, job::JobView};
use crate::findings::{Reported, Severity};
use crate::rules::BusLayout;
use crate::schedule::SystemId;
use rust_xlsxwriter::{Format, Worksheet, XlsxError};

/// Widths of the columns, in characters; together one page of letter paper.
const WIDTHS: [f64; 7] = [12.0, 19.0, 12.0, 13.0, 20.0, 12.0, 15.0];

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
#[derive(Clone)]
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
    /// Headings of a table of two halves.
    HalfColumns,
    /// A row of it: in each half a unit with its room, the run that comes to
    /// it, its controllers.
    Halves([String; 3], Option<[String; 3]>),
    /// A box to tick, and a place to sign.
    Tick(String),
}

impl Line {
    /// Whether it stands over what comes next.
    fn leads(&self) -> bool {
        matches!(
            self,
            Self::Title(_) | Self::Heading(_) | Self::Columns(_) | Self::HalfColumns
        )
    }
}

const HALF: [&str; 3] = ["No., unit, room", "Run to it", "Controller, its run"];

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
    fn new(styles: &Styles, size: f64) -> Self {
        use rust_xlsxwriter::{FormatAlign, FormatBorder};
        let cell = styles
            .lead
            .clone()
            .set_font_size(size)
            .set_text_wrap()
            .set_align(FormatAlign::Top);
        let boxed = cell.clone().set_border(FormatBorder::Hair);
        Self {
            title: styles.title.clone(),
            heading: cell
                .clone()
                .set_bold()
                .set_font_size(size + 2.0)
                .set_border_bottom(FormatBorder::Medium),
            text: cell.clone(),
            hold: cell.clone().set_bold().set_border(FormatBorder::Thick),
            head: boxed.clone().set_bold(),
            held: boxed.clone().set_bold(),
            cell: boxed,
        }
    }

    fn of(&self, text: &str) -> &Format {
        if text.starts_with("HOLD") {
            &self.held
        } else {
            &self.cell
        }
    }
}

/// What goes on pages of its own.
pub(super) struct Section {
    pub lines: Vec<Line>,
    /// In small letters.
    pub small: bool,
}

/// Writes the sheet: letter paper, a page a system, numbered; a system that
/// no page holds goes on with its headings repeated.
pub(super) fn write(view: &JobView, page: &Page, sheet: &mut Worksheet) -> Result<(), ReportError> {
    let looks = [Looks::new(page.styles, 9.0), Looks::new(page.styles, 7.5)];
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
    let sections = sections(view);
    let scale = pages::scale(&sections);
    let mut row = 0;
    let mut breaks = Vec::new();
    for placed in pages::fill(sections, scale) {
        row += 1;
        if placed.begins && row > 1 {
            breaks.push(row);
        }
        let [usual, small] = &looks;
        let looks = if placed.small { small } else { usual };
        sheet.set_row_height(row, placed.height)?;
        put(sheet, row, &placed.line, looks)?;
    }
    sheet.set_page_breaks(&breaks)?;
    print(view, sheet, scale);
    Ok(())
}

/// A section a system: as usual, or in a table of two halves and small
/// letters where that would be more than a page.
fn sections(view: &JobView) -> Vec<Section> {
    let schedule = view.schedule;
    let layout = BusLayout::of(schedule);
    let fixes = Fixes::of(view.audit);
    let mut sections: Vec<Section> = schedule
        .system_ids()
        .map(|(id, _)| {
            let lines = system(view, &layout, &fixes, id, false);
            match pages::is_one_page(&lines) {
                true => Section {
                    lines,
                    small: false,
                },
                false => Section {
                    lines: system(view, &layout, &fixes, id, true),
                    small: true,
                },
            }
        })
        .collect();
    let mut others = Vec::new();
    circuits::of_no_system(view, &fixes, &mut others);
    if others.is_empty() && sections.is_empty() {
        others.push(Line::Title(schedule.title.clone()));
        others.push(Line::Text(
            "The schedules name no outdoor unit and no unit of a system: there is nothing to \
             bring."
                .to_owned(),
        ));
    }
    if !others.is_empty() {
        sections.push(Section {
            lines: others,
            small: false,
        });
    }
    sections
}

fn system(
    view: &JobView,
    layout: &BusLayout,
    fixes: &Fixes,
    id: SystemId,
    compact: bool,
) -> Vec<Line> {
    let schedule = view.schedule;
    let mut lines = vec![
        Line::Title(format!(
            "{}: system {}",
            schedule.title,
            schedule.system_label(id)
        )),
        Line::Hold(HOLD_POWER.to_owned()),
    ];
    circuits::add(view, fixes, id, compact, &mut lines);
    if compact {
        compact::bus_and_controllers(view, layout, id, &mut lines);
    } else {
        wiring::bus(view, layout, id, &mut lines);
        wiring::home_runs(view, id, &mut lines);
    }
    wiring::shield(view, layout, id, &mut lines);
    lines.push(Line::Heading("Before power".to_owned()));
    lines.extend(BEFORE_POWER.map(|text| Line::Tick(text.to_owned())));
    lines.push(Line::Heading("Cautions".to_owned()));
    match compact {
        true => lines.push(Line::Text(CAUTIONS.join(" "))),
        false => lines.extend(CAUTIONS.map(|text| Line::Text(text.to_owned()))),
    }
    lines
}

fn put(sheet: &mut Worksheet, row: u32, line: &Line, looks: &Looks) -> Result<(), XlsxError> {
    const LAST: u16 = WIDTHS.len() as u16 - 1;
    let merged = |sheet: &mut Worksheet, from: u16, to: u16, text: &str, format: &Format| {
        sheet
            .merge_range(row, from, row, to, &page::clip(text), format)
            .map(drop)
    };
    match line {
        Line::Title(text) => merged(sheet, 0, LAST, text, &looks.title)?,
        Line::Heading(text) => merged(sheet, 0, LAST, text, &looks.heading)?,
        Line::Text(text) => merged(sheet, 0, LAST, text, &looks.text)?,
        Line::Hold(text) => merged(sheet, 0, LAST, text, &looks.hold)?,
        Line::Columns(headings) => {
            for (column, heading) in headings.iter().enumerate() {
                page::string(sheet, row, column as u16, heading, &looks.head)?;
            }
        }
        Line::Row(cells) => {
            for (column, text) in cells.iter().enumerate() {
                page::string(sheet, row, column as u16, text, looks.of(text))?;
            }
        }
        Line::HalfColumns => {
            for columns in [(0, 1), (4, 4)] {
                halves(sheet, row, columns, HALF, |_| &looks.head)?;
            }
        }
        Line::Halves(left, right) => {
            let sides = [(Some(left), (0, 1)), (right.as_ref(), (4, 4))];
            for (half, columns) in sides {
                if let Some(half) = half {
                    let texts = half.each_ref().map(String::as_str);
                    halves(sheet, row, columns, texts, |text| looks.of(text))?;
                }
            }
        }
        Line::Tick(text) => {
            let text = format!("\u{2610}  {text}");
            merged(sheet, 0, LAST - 2, &text, &looks.cell)?;
            merged(sheet, LAST - 1, LAST, "by, date:", &looks.cell)?;
        }
    }
    Ok(())
}

/// Three cells of one half of a table, the first over columns `first` to
/// `last`.
fn halves<'a>(
    sheet: &mut Worksheet,
    row: u32,
    (first, last): (u16, u16),
    [unit, run, controller]: [&str; 3],
    format: impl Fn(&str) -> &'a Format,
) -> Result<(), XlsxError> {
    if first == last {
        page::string(sheet, row, first, unit, format(unit))?;
    } else {
        sheet.merge_range(row, first, row, last, &page::clip(unit), format(unit))?;
    }
    page::string(sheet, row, last + 1, run, format(run))?;
    page::string(sheet, row, last + 2, controller, format(controller))
}

fn print(view: &JobView, sheet: &mut Worksheet, scale: u16) {
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
        // Not fitted to pages: that sets breaks of ours aside.
        .set_print_scale(scale)
        .set_margins(0.4, 0.4, pages::TOP, pages::BOTTOM, 0.3, 0.3)
        .set_header(format!("&L&9{job}&C&9{revision}, {date}&R&9page &P of &N"))
        .set_footer(format!(
            "&L&8Electrician's brief, as scheduled&C&8ampledger, as of {}: not an approval",
            view.as_of
        ));
}
