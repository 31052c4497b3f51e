//! Cells that only a workbook has: dates by format, errors, formulas that
//! were never calculated, numbers as numbers.

use super::grid::{a1, schedule_of, table};
use crate::intake::assemble::ReadFile;
use crate::intake::book::{Book, Limits};
use crate::schedule::*;
use TableKind::Circuits;
use rust_xlsxwriter::{Format, Formula, Workbook};

fn read(mut workbook: Workbook, fields: &str) -> ReadFile {
    let bytes = workbook.save_to_buffer().expect("a workbook");
    let book = Book::from_bytes("c.xlsx", bytes, &Limits::default()).expect("a workbook");
    let table = table(&book, &[Circuits], fields, 0);
    ReadFile::new("c.xlsx".to_owned(), 0, book, vec![table])
}

#[test]
fn dates_errors_and_formulas_without_value() {
    let mut workbook = Workbook::new();
    let sheet = workbook.add_worksheet();
    let fields = "circuit.panel,circuit.slots,circuit.breaker,circuit.poles,circuit.conductor,\
                  circuit.length ft,circuit.loads";
    for (column, heading) in ["Panel", "Ckt", "Bkr", "Poles", "Wire", "LF", "Load"]
        .into_iter()
        .enumerate()
    {
        sheet.write(0, column as u16, heading).expect("written");
    }
    let day_month = Format::new().set_num_format("d-mmm");
    let month_year = Format::new().set_num_format("mmm-yy");
    for (row, slots) in [(1, "1,3"), (2, "5,7"), (3, "9,11")] {
        sheet.write(row, 0, "LP").expect("written");
        sheet.write(row, 1, slots).expect("written");
        sheet.write(row, 3, 2).expect("written");
        sheet.write(row, 6, format!("FC-{row}")).expect("written");
    }
    // 2 October 2026 and 1 February 1930, as serials of the 1900 epoch.
    sheet
        .write_with_format(1, 4, 46_297, &day_month)
        .expect("written");
    sheet
        .write_with_format(1, 2, 10_990, &month_year)
        .expect("written");
    sheet
        .write_with_format(1, 5, 46_297, &day_month)
        .expect("written");
    sheet.write(2, 2, 15).expect("written");
    sheet.write(2, 4, "12/2 NM-B").expect("written");
    sheet
        .write_formula(2, 5, Formula::new("=NA()").set_result("#N/A"))
        .expect("written");
    sheet.write(3, 2, 15.0).expect("written");
    sheet.write(3, 5, 42.5).expect("written");
    let schedule = schedule_of(&[read(workbook, fields)]);

    let [first, second, third] = schedule.circuits.as_slice() else {
        panic!("three circuits");
    };
    assert_eq!(
        first.conductor.get().and_then(|wire| wire.size),
        Some(wire::Size::Awg(10))
    );
    assert_eq!(first.breaker.copied(), Some(Amps(30.0)));
    assert!(matches!(first.length, Field::Unreadable(_)));
    assert_eq!(second.breaker.copied(), Some(Amps(15.0)));
    assert!(
        matches!(second.length, Field::Unreadable(_)),
        "{:?}",
        second.length
    );
    assert_eq!(third.length.copied(), Some(Feet(42.5)));
    let told: Vec<_> = schedule
        .faults
        .iter()
        .map(|fault| match fault {
            Fault::DateForWire { at, taken, .. } => (
                a1(&schedule.sources, *at),
                format!("date: {}", taken.is_some()),
            ),
            Fault::Unreadable { at, expected, .. } => {
                (a1(&schedule.sources, *at), (*expected).to_owned())
            }
            other => panic!("{other:?}"),
        })
        .collect();
    assert_eq!(told.len(), 4, "{told:?}");
    assert_eq!(told[0], ("C2".to_owned(), "date: true".to_owned()));
    assert_eq!(told[1], ("E2".to_owned(), "date: true".to_owned()));
    assert_eq!(told[2].0, "F2");
    assert_eq!(told[3].0, "F3");
    assert!(told[3].1.contains("error"), "{told:?}");
}
