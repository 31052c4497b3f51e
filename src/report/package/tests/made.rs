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
}

fn made() -> impl Strategy<Value = Made> {
    let cell = (0u32..30, 0u16..12, any::<u8>());
    (
        prop::collection::vec(cell, 0..40),
        prop::collection::btree_set((0u32..30, 0u16..12), 0..5),
        prop::collection::vec((0u16..20, 0u16..5, 1u8..60), 0..3),
        any::<[bool; 3]>(),
        1u8..4,
    )
        .prop_map(
            |(cells, notes, widths, [table, chart, protected], sheets)| Made {
                cells,
                notes: notes.into_iter().collect(),
                widths,
                table,
                chart,
                protected,
                sheets,
            },
        )
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
    }
    book.save_to_buffer().expect("a workbook")
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
        let edits = edits(&ours, vec![sheet("Level 0", &headings, &at)]);
        let edited = edit(&original, &edits).expect("edited");
        sound(&edited.bytes);
        let after = parts(&edited.bytes);
        for (name, content) in parts(&original) {
            let touched = ["sheet1.xml", "workbook.xml", "styles", "Content_Types", "comments1", "vmlDrawing1"];
            if !touched.iter().any(|part| name.contains(part)) {
                prop_assert_eq!(after.get(&name), Some(&content), "{}", name);
            }
        }
        let again = edit(&edited.bytes, &edits).expect("edited again");
        for (name, content) in parts(&again.bytes) {
            if name == "xl/worksheets/sheet1.xml" {
                prop_assert_eq!(
                    String::from_utf8_lossy(&after[&name]),
                    String::from_utf8_lossy(&content)
                );
            }
        }
        prop_assert_eq!(differing(&edited.bytes, &again.bytes), Default::default());
        prop_assert_eq!(&edited.bytes, &again.bytes);
        let left_out: Vec<At> = at.iter().filter(|at| made.notes.contains(at)).copied().collect();
        prop_assert_eq!(edited.notes_left_out.len(), left_out.len());
        let stripped = strip(&edited.bytes).expect("stripped");
        sound(&stripped);
        prop_assert_eq!(sheet_names(&stripped), sheet_names(&original));
    }
}
