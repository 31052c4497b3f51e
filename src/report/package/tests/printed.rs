//! What of an author's sheet is printed after a marking.

use super::super::*;
use super::check::sound;
use super::scene::{appended, edits, sheet};
use super::schema::valid;
use rust_xlsxwriter::{Chart, ChartType, Workbook as Book};

/// A table of 4 columns and 6 rows, with a chart at this cell, 480 by 288
/// pixels.
fn book(chart_at: Option<(u32, u16)>, area: bool) -> Vec<u8> {
    let mut book = Book::new();
    let sheet = book.add_worksheet().set_name("Equipment").expect("a name");
    for row in 0..6 {
        for column in 0..4 {
            sheet.write_number(row, column, 1).expect("a cell");
        }
    }
    if let Some((row, column)) = chart_at {
        let mut chart = Chart::new(ChartType::Bar);
        chart.add_series().set_values(("Equipment", 1, 0, 3, 0));
        sheet.insert_chart(row, column, &chart).expect("a chart");
    }
    if area {
        sheet.set_print_area(0, 0, 2, 2).expect("an area");
    }
    book.save_to_buffer().expect("a workbook")
}

/// The area that is printed, and the first of our columns.
fn marked(original: &[u8]) -> (Option<String>, u16) {
    let ours = appended();
    let edit_sheet = sheet("Equipment", &[0], &[(3, 1)]);
    let edited = edit(original, &edits(&ours, vec![edit_sheet])).expect("edited");
    sound(&edited.bytes);
    valid(&edited.bytes);
    let again = edit(
        &edited.bytes,
        &edits(&ours, vec![sheet("Equipment", &[0], &[(3, 1)])]),
    );
    assert!(
        again.expect("edited").bytes == edited.bytes,
        "marks pile up"
    );
    let package = Package::open(&edited.bytes).expect("a package");
    let names = package.workbook.names().expect("names");
    let area = names.into_iter().find(|(attributes, _)| {
        attributes
            .get("name")
            .is_some_and(|name| name == "_xlnm.Print_Area")
            && attributes
                .get("localSheetId")
                .is_some_and(|sheet| sheet == "0")
    });
    let limits = crate::intake::book::Limits::default();
    let book = crate::intake::book::Book::from_bytes("a.xlsx", edited.bytes.clone(), &limits);
    let book = book.expect("a book");
    let first = crate::report::ours::our_columns(&book.sheets[0]);
    (
        area.map(|(_, area)| area),
        *first.first().expect("our columns"),
    )
}

#[test]
fn our_columns_are_no_pages_of_the_authors() {
    let plain = marked(&book(None, false));
    assert_eq!(plain, (Some("'Equipment'!$A$1:$D$6".into()), 5));
    let set = marked(&book(None, true));
    assert_eq!(set, (Some("Equipment!$A$1:$C$3".into()), 5));
}

// Columns are 64 pixels wide and rows 20 high: a chart fills 7.5 columns and
// 14.4 rows.
#[test]
fn what_is_drawn_is_printed_and_not_written_under() {
    let below = marked(&book(Some((8, 0)), false));
    assert_eq!(below, (Some("'Equipment'!$A$1:$H$23".into()), 9));
    let far = marked(&book(Some((8, 20)), false));
    assert_eq!(far, (None, 5), "ours are between the table and the chart");
    let beside = marked(&book(Some((1, 5)), false));
    assert_eq!(beside, (Some("'Equipment'!$A$1:$M$16".into()), 14));
    let inside = marked(&book(Some((8, 0)), true));
    assert_eq!(inside, (Some("Equipment!$A$1:$C$3".into()), 9));
}
