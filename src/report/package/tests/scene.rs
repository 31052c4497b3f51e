//! Edits as a report makes them, of invented findings.

use super::super::*;
use crate::report::ours;
use rust_xlsxwriter::{
    Chart, ChartType, Color, ConditionalFormatFormula, Format, Image, Note as BookNote,
    Workbook as Book,
};
use std::collections::BTreeMap;

pub fn fixture(name: &str) -> Vec<u8> {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/package");
    std::fs::read(folder.join(name)).expect("a fixture")
}

/// A picture of one dot, as the format's own description builds it.
const DOT: [u8; 67] = [
    0x89, b'P', b'N', b'G', 13, 10, 26, 10, 0, 0, 0, 13, b'I', b'H', b'D', b'R', 0, 0, 0, 1, 0, 0,
    0, 1, 8, 0, 0, 0, 0, 0x3A, 0x7E, 0x9B, 0x55, 0, 0, 0, 10, b'I', b'D', b'A', b'T', 0x78, 0x9C,
    0x63, 0x60, 0, 0, 0, 2, 0, 1, 0x48, 0xAF, 0xA4, 0x71, 0, 0, 0, 0, b'I', b'E', b'N', b'D', 0xAE,
    0x42, 0x60, 0x82,
];

/// Our own sheets, with all that a report puts in them.
pub fn appended() -> Vec<u8> {
    let mut book = Book::new();
    let bold = Format::new()
        .set_bold()
        .set_font_color(Color::RGB(0x1E_2A_35));
    let number = Format::new().set_num_format("#,##0.00 \"ft\"");
    book.define_name("_ampledger_Findings", "='Findings'!$A$1")
        .expect("a name");
    let sheet = book.add_worksheet();
    sheet.set_name("Findings").expect("a name");
    sheet
        .write_string(0, 0, "ampledger: Findings")
        .expect("a cell");
    sheet
        .write_string_with_format(1, 0, "Larch & Hill <4>", &bold)
        .expect("a cell");
    sheet
        .write_number_with_format(1, 1, 31.5, &number)
        .expect("a cell");
    let parts = [(&bold, "FIX "), (&Format::default(), "rich text")];
    sheet.write_rich_string(2, 0, &parts).expect("a cell");
    sheet.write_string(3, 0, " spaces ").expect("a cell");
    sheet.write_url(4, 0, "internal:'Bus'!A1").expect("a link");
    let condition = ConditionalFormatFormula::new()
        .set_rule("=$A2<>\"\"")
        .set_format(&bold);
    sheet
        .add_conditional_format(1, 0, 3, 0, &condition)
        .expect("a condition");
    sheet.autofilter(1, 0, 4, 1).expect("a filter");
    sheet.set_repeat_rows(1, 1).expect("rows");
    sheet.set_column_width(0, 40).expect("a width");
    sheet.set_active(true);
    let sheet = book.add_worksheet();
    sheet.set_name("Bus").expect("a name");
    sheet.write_string(0, 0, "ampledger: Bus").expect("a cell");
    for (row, value) in [40, 25, 32].into_iter().enumerate() {
        sheet
            .write_number(row as u32 + 1, 0, value)
            .expect("a cell");
    }
    let mut chart = Chart::new(ChartType::Bar);
    chart.add_series().set_values(("Bus", 1, 0, 3, 0));
    sheet.insert_chart(5, 1, &chart).expect("a chart");
    let dot = Image::new_from_buffer(&DOT).expect("a picture");
    sheet.insert_image(5, 10, &dot).expect("a picture");
    sheet
        .insert_note(1, 0, &BookNote::new("ampledger: of ours"))
        .expect("a note");
    book.save_to_buffer().expect("a workbook")
}

pub fn looks() -> (Vec<CellLook>, Vec<MarkLook>) {
    let text = CellLook {
        font: "Calibri",
        size: 10.0,
        ink: 0x1E_2A_35,
        bold: false,
        underline: false,
        fill: None,
        bottom: Some((Line::Thin, 0xC3_CB_D3)),
        wrap: true,
        middle: Middle::Top,
        unlocked: false,
    };
    let head = CellLook {
        bold: true,
        fill: Some(0xD5_DD_E5),
        middle: Middle::Centre,
        ..text.clone()
    };
    let free = CellLook {
        fill: Some(0xFB_FA_F3),
        unlocked: true,
        ..text.clone()
    };
    let mark = |fill, border| MarkLook {
        fill,
        ink: 0x1E_2A_35,
        bold: border == Line::Thin,
        border: (border, 0x1E_2A_35),
    };
    let marks = vec![mark(0xF2_A9_93, Line::Thin), mark(0xFA_DF_9B, Line::Dashed)];
    (vec![head, text, free], marks)
}

pub fn cell(text: &str, look: usize) -> Option<OurCell> {
    Some(OurCell {
        text: text.to_owned(),
        look,
        link: None,
    })
}

/// Headings beside these rows, and a finding at each of these cells.
pub fn sheet(name: &str, headings: &[u32], at: &[At]) -> SheetEdit {
    let mut rows: BTreeMap<u32, OurRow> = BTreeMap::new();
    for heading in headings {
        let cells = ours::COLUMNS.iter().map(|text| cell(text, 0));
        rows.entry(*heading).or_default().cells = cells.collect();
    }
    for at in at {
        if headings.contains(&at.0) {
            continue;
        }
        let link = OurCell {
            text: format!("FIX breaker-too-large at {}\nand more", cells::a1(*at)),
            look: 1,
            link: Some("'Findings'!A2".to_owned()),
        };
        rows.insert(
            at.0,
            OurRow {
                height: Some(29.4),
                cells: vec![
                    Some(link),
                    cell("=1+1 & <less>", 1),
                    cell("Breaker (D4): 60 \u{2192} 50", 1),
                    cell("", 2),
                    cell("a1b2c3", 1),
                ],
            },
        );
    }
    SheetEdit {
        name: name.to_owned(),
        block: Some(Block {
            columns: vec![
                (62.0, false),
                (48.0, false),
                (46.0, false),
                (28.0, false),
                (14.0, true),
            ],
            rows,
        }),
        marks: at
            .iter()
            .enumerate()
            .map(|(n, at)| Mark {
                at: *at,
                look: n % 2,
            })
            .collect(),
        notes: at
            .iter()
            .map(|at| Note {
                at: *at,
                text: format!("ampledger: FIX at {}\nLimit: 15 A < 20 A", cells::a1(*at)),
                fill: 0xF2_A9_93,
            })
            .collect(),
    }
}

pub fn edits(appended: &[u8], sheets: Vec<SheetEdit>) -> Edits<'_> {
    let (cell_looks, mark_looks) = looks();
    Edits {
        cell_looks,
        mark_looks,
        sheets,
        appended: Some(appended),
        active: 0,
    }
}
