//! Workbooks of rust_xlsxwriter, made at random, with random edits.

use super::super::*;
use super::check::{differing, parts, sound};
use super::scene::{appended, edits, sheet};
use proptest::prelude::*;
use rust_xlsxwriter::{
    Chart, ChartType, ConditionalFormat2ColorScale, DataValidation, Format, Note as BookNote,
    Table, Workbook as Book,
};

#[derive(Clone, Debug)]
struct Made {
    cells: Vec<(u32, u16, u8)>,
    notes: Vec<(u32, u16)>,
    widths: Vec<(u16, u16, u8)>,
    table: bool,
    chart: bool,
    protected: bool,
    sheets: u8,
    /// First cell, and how many rows and columns more.
    merges: Vec<(u32, u16, u32, u16)>,
    links: Vec<(u32, u16)>,
    look: Look,
}

/// What stands on a sheet beside its cells.
#[derive(Clone, Debug)]
struct Look {
    filter: bool,
    panes: bool,
    printed: bool,
    bars: bool,
    tall: bool,
    hidden: bool,
}

fn made() -> impl Strategy<Value = Made> {
    let cell = (0u32..30, 0u16..12, any::<u8>());
    (
        prop::collection::vec(cell, 0..40),
        prop::collection::btree_set((0u32..30, 0u16..12), 0..5),
        prop::collection::vec((0u16..20, 0u16..5, 1u8..60), 0..3),
        any::<[bool; 9]>(),
        1u8..4,
        prop::collection::vec((0u32..34, 0u16..14, 0u32..3, 0u16..3), 0..4),
        prop::collection::btree_set((0u32..30, 0u16..12), 0..3),
    )
        .prop_map(|(cells, notes, widths, flags, sheets, merges, links)| {
            let [
                table,
                chart,
                protected,
                filter,
                panes,
                printed,
                bars,
                tall,
                hidden,
            ] = flags;
            Made {
                merges,
                links: links.into_iter().collect(),
                look: Look {
                    filter,
                    panes,
                    printed,
                    bars,
                    tall,
                    hidden,
                },
                cells,
                notes: notes.into_iter().collect(),
                widths,
                table,
                chart,
                protected,
                sheets,
            }
        })
}

fn workbook(made: &Made) -> Vec<u8> {
    let mut book = Book::new();
    let date = rust_xlsxwriter::ExcelDateTime::from_ymd(2026, 3, 2).expect("a date");
    book.set_properties(&rust_xlsxwriter::DocProperties::new().set_creation_datetime(&date));
    for index in 0..made.sheets {
        let sheet = book.add_worksheet();
        sheet.set_name(format!("Level {index}")).expect("a name");
        for (row, column, kind) in &made.cells {
            let format = Format::new().set_font_size(f64::from(kind % 5) + 9.0);
            let _ = match kind % 4 {
                0 => sheet.write_number_with_format(*row, *column, f64::from(*kind), &format),
                1 => sheet.write_string(*row, *column, format!("FC-{kind} & <x>")),
                2 => sheet.write_formula(*row, *column, "=1+1"),
                _ => sheet.write_blank(*row, *column, &format),
            }
            .expect("a cell");
        }
        for (first, more, width) in &made.widths {
            sheet
                .set_column_range_width(*first, first + more, *width)
                .expect("a width");
        }
        for (row, column) in &made.notes {
            sheet
                .insert_note(*row, *column, &BookNote::new("the author's"))
                .expect("a note");
        }
        if made.table {
            sheet
                .add_table(40, 13, 44, 15, &Table::new())
                .expect("a table");
        }
        if made.chart {
            let mut chart = Chart::new(ChartType::Line);
            chart.add_series().set_values(("Level 0", 0, 0, 9, 0));
            sheet.insert_chart(3, 3, &chart).expect("a chart");
        }
        if made.protected {
            sheet.protect();
        }
        let scale = ConditionalFormat2ColorScale::new();
        sheet
            .add_conditional_format(0, 0, 9, 0, &scale)
            .expect("a condition");
        let list = DataValidation::new()
            .allow_list_strings(&["a", "b"])
            .expect("a list");
        sheet
            .add_data_validation(0, 1, 9, 1, &list)
            .expect("a validation");
        beside_cells(sheet, made, index);
    }
    book.save_to_buffer().expect("a workbook")
}

/// Ranges that overlap are refused by the library, and left out.
fn beside_cells(sheet: &mut rust_xlsxwriter::Worksheet, made: &Made, index: u8) {
    let plain = Format::new();
    for (row, column, down, right) in made.merges.iter().filter(|m| m.2 + u32::from(m.3) > 0) {
        let _ = sheet.merge_range(*row, *column, row + down, column + right, "merged", &plain);
    }
    for (row, column) in &made.links {
        sheet
            .write_url(*row, *column, "internal:'Level 0'!A1")
            .expect("a link");
    }
    let look = &made.look;
    if look.filter {
        sheet.autofilter(0, 0, 9, 3).expect("a filter");
    }
    if look.panes {
        sheet.set_freeze_panes(1, 1).expect("panes");
    }
    if look.printed {
        sheet.set_print_area(0, 0, 29, 5).expect("an area");
        sheet.set_repeat_rows(0, 0).expect("rows");
        sheet.set_page_breaks(&[12]).expect("a break");
    }
    if look.bars {
        // Written in the way of later years as well, in an extension.
        let bars = rust_xlsxwriter::ConditionalFormatDataBar::new();
        sheet
            .add_conditional_format(0, 2, 9, 2, &bars)
            .expect("bars");
        let line = rust_xlsxwriter::Sparkline::new().set_range(("Level 0", 0, 0, 0, 5));
        sheet.add_sparkline(31, 0, &line).expect("a line");
    }
    if look.tall {
        sheet.set_row_height(3, 40).expect("a height");
        sheet.set_row_hidden(5).expect("a row");
    }
    if look.hidden && index > 0 {
        sheet.set_hidden(true);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn any_workbook_is_marked_soundly_and_once(
        made in made(),
        headings in prop::collection::btree_set(0u32..30, 0..3),
        at in prop::collection::btree_set((0u32..34, 0u16..14), 0..12),
    ) {
        let original = workbook(&made);
        let ours = appended();
        let headings: Vec<u32> = headings.into_iter().collect();
        let at: Vec<At> = at.into_iter().collect();
        let mut sheets = vec![sheet("Level 0", &headings, &at)];
        if made.sheets > 1 {
            // Other rows of another sheet, which may be hidden.
            let down: Vec<At> = at.iter().map(|(row, column)| (row + 1, column / 2)).collect();
            sheets.push(sheet("Level 1", &headings, &down));
        }
        let edits = edits(&ours, sheets);
        let edited = edit(&original, &edits).expect("edited");
        sound(&edited.bytes);
        let after = parts(&edited.bytes);
        for (name, content) in parts(&original) {
            let touched = [
                "sheet1.xml", "sheet2.xml", "workbook.xml", "styles", "Content_Types",
                "comments1", "comments2", "vmlDrawing1", "vmlDrawing2",
            ];
            if !touched.iter().any(|part| name.contains(part)) {
                prop_assert_eq!(after.get(&name), Some(&content), "{}", name);
            }
        }
        let again = edit(&edited.bytes, &edits).expect("edited again");
        for (name, content) in parts(&again.bytes) {
            if name.starts_with("xl/worksheets/sheet") {
                prop_assert_eq!(
                    String::from_utf8_lossy(&after[&name]),
                    String::from_utf8_lossy(&content)
                );
            }
        }
        prop_assert_eq!(differing(&edited.bytes, &again.bytes), Default::default());
        prop_assert_eq!(&edited.bytes, &again.bytes);
        if made.merges.is_empty() && made.sheets == 1 {
            let noted: Vec<&At> = at.iter().filter(|at| made.notes.contains(at)).collect();
            prop_assert_eq!(edited.notes_left_out.len(), noted.len());
        }
        same_cells(&original, &edited.bytes);
        let stripped = strip(&edited.bytes).expect("stripped");
        sound(&stripped);
        prop_assert_eq!(sheet_names(&stripped), sheet_names(&original));
        let (before, stripped) = (parts(&original), parts(&stripped));
        for (name, content) in before.iter().filter(|(name, _)| name.contains("worksheets/sheet")) {
            prop_assert_eq!(of_author(name, content), of_author(name, &stripped[name]), "{}", name);
            let (widths, now) = (widths(name, content), widths(name, &stripped[name]));
            for (column, (width, now)) in widths.iter().zip(&now).enumerate() {
                prop_assert!(width == now || *width == 0.0, "{name}: {column}: {width} to {now}");
            }
        }
    }
}

/// About how wide columns show; nothing for a hidden one.
fn widths(part: &str, content: &[u8]) -> Vec<f64> {
    let text = String::from_utf8(content.to_vec()).expect("text");
    let sheet = super::super::xml::Document::new(part, text).expect("a sheet");
    let columns = columns::Columns::read(&sheet, sheet.child("cols"));
    (0..40).map(|column| columns.pixels(column)).collect()
}

/// Cells with a value, and the elements beside the rows, as they are spelled.
/// Left out: columns, which are compared by their widths, and what is only ever
/// widened.
fn of_author(part: &str, content: &[u8]) -> Vec<String> {
    let text = String::from_utf8(content.to_vec()).expect("text");
    let sheet = super::super::xml::Document::new(part, text).expect("a sheet");
    let (text, mut found) = (&sheet.text, Vec::new());
    let beside = ["sheetData", "cols", "dimension", "sheetViews"];
    for child in &sheet.children {
        if !beside.contains(&child.name(text)) {
            found.push(child.raw(text).to_owned());
        }
    }
    let data = sheet.child("sheetData").expect("rows");
    let see = |row, cell: cells::Cell| {
        if cell.has_value {
            found.push(format!("{row} {}", cell.element.raw(text)));
        }
        Ok(())
    };
    cells::walk(part, text, data.inner.clone(), None, see, |_| {}).expect("rows");
    found
}

/// All that is read of the author's cells is as it was.
fn same_cells(original: &[u8], marked: &[u8]) {
    let open = |bytes: &[u8]| {
        let limits = crate::intake::book::Limits::default();
        crate::intake::book::Book::from_bytes("a.xlsx", bytes.to_vec(), &limits).expect("a book")
    };
    let (before, after) = (open(original), open(marked));
    for (sheet, now) in before.sheets.iter().zip(&after.sheets) {
        assert_eq!((&sheet.name, sheet.visibility), (&now.name, now.visibility));
        let merges = |sheet: &crate::intake::book::Sheet| -> Vec<_> {
            sheet.merges.iter().map(|m| (m.first, m.last)).collect()
        };
        assert_eq!(merges(sheet), merges(now));
        assert_eq!(sheet.hidden_rows, now.hidden_rows);
        let hidden = |range| now.hidden_columns.contains(range);
        assert!(sheet.hidden_columns.iter().all(hidden));
        for row in sheet.rows() {
            for cell in row.cells() {
                let same = now.cell(row.index(), cell.column()).expect("the cell");
                assert_eq!(same.value(), cell.value());
                if cell.look().is_some() {
                    assert_eq!(same.look(), cell.look());
                }
            }
        }
        let kept = |note| now.notes.contains(note);
        assert!(sheet.notes.iter().all(kept), "{:?}", sheet.notes);
    }
}
