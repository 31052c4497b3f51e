//! Formats and colours. Every colour also differs in lightness, and none
//! carries a meaning that is not there in words.

use super::package::{CellLook, Line, MarkLook, Middle};
use crate::findings::Severity;
use rust_xlsxwriter::{Color, Format, FormatAlign, FormatBorder, FormatUnderline};

const INK: u32 = 0x1E_2A_35;
const QUIET: u32 = 0x5B_67_73;
const RULE: u32 = 0xC3_CB_D3;
const HEAD: u32 = 0xD5_DD_E5;
const FREE: u32 = 0xFB_FA_F3;
const LINK: u32 = 0x1F_4E_8C;

/// Fill of a severity, the worse the darker.
pub(super) fn fill(severity: Severity) -> Color {
    Color::RGB(fill_rgb(severity))
}

pub(super) fn fill_rgb(severity: Severity) -> u32 {
    match severity {
        Severity::Fix => 0xF2_A9_93,
        Severity::Verify => 0xFA_DF_9B,
        Severity::Note => 0xDC_EA_F4,
    }
}

/// The severity as it stands in our columns and notes.
pub(super) fn word(severity: Severity) -> &'static str {
    match severity {
        Severity::Fix => "FIX",
        Severity::Verify => "VERIFY",
        Severity::Note => "NOTE",
    }
}

/// The formats of our sheets.
pub(super) struct Styles {
    pub mark: Format,
    pub title: Format,
    pub strong: Format,
    pub lead: Format,
    pub quiet: Format,
    pub head: Format,
    pub section: Format,
    pub wide: Format,
    pub number: Format,
    pub link: Format,
    /// Cells that people write in.
    pub free: Format,
    /// First row of a group of equal findings.
    pub group: Format,
    severities: [Format; 3],
    tints: [Format; 3],
    besides: [Format; 3],
}

impl Styles {
    pub fn new() -> Self {
        let base = Format::new()
            .set_font_name("Calibri")
            .set_font_size(10)
            .set_font_color(Color::RGB(INK));
        let cell = base
            .clone()
            .set_align(FormatAlign::Top)
            .set_border_bottom(FormatBorder::Thin)
            .set_border_bottom_color(Color::RGB(RULE));
        let severity = |severity| {
            cell.clone()
                .set_background_color(fill(severity))
                .set_bold()
                .set_align(FormatAlign::Left)
        };
        let beside = |severity| {
            cell.clone()
                .set_text_wrap()
                .set_background_color(fill(severity))
        };
        Self {
            mark: base.clone().set_font_color(Color::RGB(QUIET)),
            title: base.clone().set_font_size(16).set_bold(),
            strong: base.clone().set_font_size(12).set_bold(),
            lead: base.clone().set_font_size(11),
            quiet: base.clone().set_font_color(Color::RGB(QUIET)),
            head: base
                .clone()
                .set_bold()
                .set_text_wrap()
                .set_align(FormatAlign::VerticalCenter)
                .set_background_color(Color::RGB(HEAD))
                .set_border_bottom(FormatBorder::Medium)
                .set_border_bottom_color(Color::RGB(INK)),
            section: cell
                .clone()
                .set_bold()
                .set_background_color(Color::RGB(0xEE_F1_F4)),
            wide: cell.clone().set_text_wrap(),
            number: cell
                .clone()
                .set_num_format("#,##0")
                .set_align(FormatAlign::Center),
            link: cell
                .clone()
                .set_text_wrap()
                .set_font_color(Color::RGB(LINK))
                .set_underline(FormatUnderline::Single),
            free: cell
                .clone()
                .set_text_wrap()
                .set_background_color(Color::RGB(FREE)),
            group: cell.clone().set_text_wrap().set_bold(),
            besides: [
                beside(Severity::Note),
                beside(Severity::Verify),
                beside(Severity::Fix),
            ],
            tints: [
                severity(Severity::Note).set_text_wrap(),
                severity(Severity::Verify).set_text_wrap(),
                severity(Severity::Fix).set_text_wrap(),
            ],
            severities: [
                severity(Severity::Note),
                severity(Severity::Verify),
                severity(Severity::Fix),
            ],
        }
    }

    pub fn severity(&self, severity: Severity) -> &Format {
        of_three(&self.severities, severity)
    }

    /// What was found, beside a row.
    pub fn beside(&self, severity: Severity) -> &Format {
        of_three(&self.besides, severity)
    }

    /// A text under the colour of a severity.
    pub fn tint(&self, severity: Severity) -> &Format {
        of_three(&self.tints, severity)
    }
}

fn of_three(formats: &[Format; 3], severity: Severity) -> &Format {
    match severity {
        Severity::Note => &formats[0],
        Severity::Verify => &formats[1],
        Severity::Fix => &formats[2],
    }
}

/// The tab of our sheets.
pub(super) fn tab() -> Color {
    Color::RGB(0x5B_7A_99)
}

/// How a marked cell of an author's sheet shows, over its own look. A
/// conditional format draws it, so that the look itself is never touched.
pub(super) fn marked(severity: Severity) -> Format {
    let border = match severity {
        Severity::Fix => FormatBorder::Thin,
        Severity::Verify => FormatBorder::Dashed,
        Severity::Note => FormatBorder::Dotted,
    };
    let format = Format::new()
        .set_background_color(fill(severity))
        .set_font_color(Color::RGB(INK))
        .set_border(border)
        .set_border_color(Color::RGB(INK));
    match severity {
        Severity::Fix => format.set_bold(),
        _ => format,
    }
}

/// Places of the looks in [`cell_looks`].
pub(super) const LOOK_HEAD: usize = 0;
pub(super) const LOOK_WIDE: usize = 1;
pub(super) const LOOK_FREE: usize = 2;
pub(super) const LOOK_LINK: usize = 3;

/// Place of what was found in [`cell_looks`].
pub(super) fn look_beside(severity: Severity) -> usize {
    4 + look_marked(severity)
}

/// Place of a severity in [`mark_looks`].
pub(super) fn look_marked(severity: Severity) -> usize {
    match severity {
        Severity::Note => 0,
        Severity::Verify => 1,
        Severity::Fix => 2,
    }
}

const BY_PLACE: [Severity; 3] = [Severity::Note, Severity::Verify, Severity::Fix];

/// The formats of our columns in a workbook that is edited in place.
pub(super) fn cell_looks() -> Vec<CellLook> {
    let wide = CellLook {
        font: "Calibri",
        size: 10.0,
        ink: INK,
        bold: false,
        underline: false,
        fill: None,
        bottom: Some((Line::Thin, RULE)),
        wrap: true,
        middle: Middle::Top,
        unlocked: false,
    };
    let head = CellLook {
        bold: true,
        fill: Some(HEAD),
        bottom: Some((Line::Medium, INK)),
        middle: Middle::Centre,
        ..wide.clone()
    };
    let free = CellLook {
        fill: Some(FREE),
        unlocked: true,
        ..wide.clone()
    };
    let link = CellLook {
        ink: LINK,
        underline: true,
        ..wide.clone()
    };
    let beside = BY_PLACE.map(|severity| CellLook {
        fill: Some(fill_rgb(severity)),
        ..wide.clone()
    });
    [head, wide, free, link].into_iter().chain(beside).collect()
}

/// As [`marked`], in a workbook that is edited in place.
pub(super) fn mark_looks() -> Vec<MarkLook> {
    let look = |severity| MarkLook {
        fill: fill_rgb(severity),
        ink: INK,
        bold: severity == Severity::Fix,
        border: match severity {
            Severity::Fix => (Line::Thin, INK),
            Severity::Verify => (Line::Dashed, INK),
            Severity::Note => (Line::Dotted, INK),
        },
    };
    BY_PLACE.map(look).to_vec()
}
