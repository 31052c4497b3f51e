//! Whole workbooks, made in memory and read back.

use super::*;
use crate::schedule::{ColIndex, RowIndex};
use calamine::Reader as _;
use rust_xlsxwriter as xw;
use std::io::{Cursor, Write};

pub(super) fn open(name: &str, bytes: &[u8]) -> Result<Book, Refusal> {
    Book::from_bytes(name, bytes.to_vec(), &Limits::default())
}

fn at<'a>(sheet: &'a Sheet, address: &str) -> Option<CellRef<'a>> {
    let (row, column) = grid_xml::address(address).expect("an address");
    sheet.cell(RowIndex(row), ColIndex(column))
}

pub(super) fn text(sheet: &Sheet, address: &str) -> String {
    at(sheet, address).map_or(String::new(), |cell| cell.text().into_owned())
}

/// A zip of these parts, deflated.
pub(super) fn zip_of(parts: &[(&str, &[u8])]) -> Vec<u8> {
    let mut writer = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let options = zip::write::SimpleFileOptions::default();
    for (name, content) in parts {
        writer.start_file(*name, options).expect("a part");
        writer.write_all(content).expect("its content");
    }
    writer.finish().expect("a zip").into_inner()
}

pub(super) const RELATIONS: &str = r#"<Relationships><Relationship Id="r1" Type="x/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="r2" Type="x/sharedStrings" Target="sharedStrings.xml"/></Relationships>"#;
const WORKBOOK: &str =
    r#"<workbook xmlns:r="r"><sheets><sheet name="S" sheetId="1" r:id="r1"/></sheets></workbook>"#;

/// A workbook of one sheet with this inside of `sheetData`.
pub(super) fn xlsx_of(cells: &str, strings: &str) -> Vec<u8> {
    let sheet = format!("<worksheet><sheetData>{cells}</sheetData></worksheet>");
    xlsx_parts(&sheet, strings)
}

pub(super) fn xlsx_parts(sheet: &str, strings: &str) -> Vec<u8> {
    zip_of(&[
        ("[Content_Types].xml", b"<Types/>"),
        ("xl/workbook.xml", WORKBOOK.as_bytes()),
        ("xl/_rels/workbook.xml.rels", RELATIONS.as_bytes()),
        ("xl/worksheets/sheet1.xml", sheet.as_bytes()),
        ("xl/sharedStrings.xml", strings.as_bytes()),
    ])
}

/// An invented schedule with what a spreadsheet program makes of one.
pub(super) fn schedule() -> Vec<u8> {
    let mut book = xw::Workbook::new();
    let heading = xw::Format::new()
        .set_bold()
        .set_background_color(xw::Color::RGB(0xDDEEFF))
        .set_text_wrap()
        .set_align(xw::FormatAlign::Center)
        .set_border(xw::FormatBorder::Thin);
    let date = xw::Format::new().set_num_format("d-mmm");
    let fraction = xw::Format::new().set_num_format("# ?/?");
    let amperes = xw::Format::new().set_num_format("0\" A\"");
    let sheet = book.add_worksheet();
    sheet.set_name("Equipment").expect("a name");
    sheet
        .merge_range(0, 0, 0, 3, "Invented job", &heading)
        .expect("a range");
    for (column, name) in ["Tag", "MCA", "Wire", "Conduit"].iter().enumerate() {
        sheet
            .write_with_format(2, column as u16, *name, &heading)
            .expect("a heading");
    }
    sheet.write(3, 0, "FC-1 <&> \u{d8}").expect("a tag");
    sheet
        .write_with_format(3, 1, 30.0, &amperes)
        .expect("a number");
    sheet
        .write_with_format(3, 2, 46297.0, &date)
        .expect("a date");
    sheet
        .write_with_format(3, 3, 0.75, &fraction)
        .expect("a fraction");
    sheet.write(4, 0, true).expect("a truth");
    sheet
        .write_formula(4, 1, xw::Formula::new("=B4*2").set_result("60"))
        .expect("a formula");
    sheet.write_blank(5, 1, &heading).expect("a blank");
    sheet.set_row_hidden(6).expect("a row");
    sheet.set_row_hidden(7).expect("a row");
    sheet.set_row_height(2, 40).expect("a row");
    sheet.set_column_width(0, 20).expect("a column");
    sheet.set_column_hidden(5).expect("a column");
    sheet
        .insert_note(3, 0, &xw::Note::new("Check the tag").set_author("Reviewer"))
        .expect("a note");
    let hidden = book.add_worksheet();
    hidden.set_name("Lists").expect("a name").set_hidden(true);
    for row in 0..3u32 {
        hidden.write(row, 0, "x").expect("a value");
    }
    hidden
        .add_table(0, 0, 2, 0, &xw::Table::new().set_name("Kinds"))
        .expect("a table");
    book.save_to_buffer().expect("a workbook")
}

#[test]
fn a_workbook_is_read_with_all_that_lies_around_its_cells() {
    let book = open("schedule.xlsx", &schedule()).expect("a workbook");
    assert_eq!(book.format, Format::Xlsx);
    assert_eq!(book.notes, Vec::<String>::new());
    let names: Vec<_> = book.sheets.iter().map(|s| s.name.as_deref()).collect();
    assert_eq!(names, [Some("Equipment"), Some("Lists")]);
    let sheet = &book.sheets[0];
    for (address, expected) in [
        ("A1", "Invented job"),
        ("B1", ""),
        ("A3", "Tag"),
        ("A4", "FC-1 <&> \u{d8}"),
        ("B4", "30 A"),
        ("C4", "2-Oct"),
        ("D4", "3/4"),
        ("A5", "TRUE"),
        ("B5", "60"),
        ("B6", ""),
    ] {
        assert_eq!(text(sheet, address), expected, "{address}");
    }
    assert_eq!(
        at(sheet, "B4").map(|c| c.value()),
        Some(Value::Number(30.0))
    );
    assert_eq!(
        at(sheet, "C4").map(|c| c.value()),
        Some(Value::DateTime {
            serial: 46297.0,
            code: Some("d-mmm")
        })
    );
    assert_eq!(at(sheet, "B5").map(|c| c.is_formula()), Some(true));
    assert_eq!(at(sheet, "B4").map(|c| c.is_formula()), Some(false));
    assert_eq!(
        sheet.extent(),
        Some(Extent {
            first: (RowIndex(0), ColIndex(0)),
            last: (RowIndex(4), ColIndex(3)),
        })
    );
    let merge = sheet.covering_merge(RowIndex(0), ColIndex(2));
    assert_eq!(merge.map(|m| m.last), Some((RowIndex(0), ColIndex(3))));
    let seen = |row, column| sheet.seen(RowIndex(row), ColIndex(column));
    assert_eq!(
        seen(0, 3).map(|c| c.text().into_owned()),
        Some("Invented job".to_owned())
    );
    assert!(seen(1, 3).is_none());
    assert_eq!(sheet.text(RowIndex(2), ColIndex(1)), "MCA");
    assert_eq!(sheet.text(RowIndex(1), ColIndex(1)), "");
    assert_eq!(sheet.hidden_rows, [(RowIndex(6), RowIndex(7))]);
    assert!(sheet.is_row_hidden(RowIndex(7)) && !sheet.is_row_hidden(RowIndex(8)));
    assert!(sheet.is_column_hidden(ColIndex(5)) && !sheet.is_column_hidden(ColIndex(4)));
    assert_eq!(sheet.row_heights, [(RowIndex(2), 39.75)]);
    let (first, _, width) = sheet.column_widths[0];
    assert_eq!((first, width.round()), (ColIndex(0), 21.0));
    assert_eq!(sheet.notes.len(), 1);
    assert_eq!(sheet.notes[0].author, "Reviewer");
    assert!(sheet.notes[0].text.ends_with("Check the tag"));
    let look = at(sheet, "A3").and_then(|c| c.look()).expect("a look");
    assert!(look.bold && look.wrap && !look.italic);
    assert_eq!(look.fill_colour, Some(0xDDEEFF));
    assert_eq!(look.horizontal, Horizontal::Center);
    assert_eq!(look.edges.left, Line::Thin);
    let blank = sheet.dressed_blanks.iter().find(|(row, ..)| row.0 == 5);
    assert_eq!(blank.map(|b| b.1), Some(ColIndex(1)));
    let lists = &book.sheets[1];
    assert_eq!(lists.visibility, Visibility::Hidden);
    assert_eq!(lists.tables[0].name, "Kinds");
    assert_eq!(lists.tables[0].range.last, (RowIndex(2), ColIndex(0)));
}

#[test]
fn every_value_agrees_with_an_independent_reader() {
    let bytes = schedule();
    let book = open("schedule.xlsx", &bytes).expect("a workbook");
    let mut other: calamine::Xlsx<_> = calamine::Xlsx::new(Cursor::new(bytes)).expect("a workbook");
    let mut compared = 0;
    for sheet in &book.sheets {
        let name = sheet.name.as_deref().expect("a name");
        let range = other.worksheet_range(name).expect("a sheet");
        let start = range.start().expect("a cell");
        for (row, column, value) in range.used_cells() {
            let (row, column) = (row as u32 + start.0, column as u16 + start.1 as u16);
            let cell = sheet.cell(RowIndex(row), ColIndex(column)).expect("a cell");
            match (cell.value(), value) {
                (Value::Text(a), calamine::Data::String(b)) => assert_eq!(a, b),
                (Value::Number(a), calamine::Data::Float(b)) => assert_eq!(a, *b),
                (Value::Bool(a), calamine::Data::Bool(b)) => assert_eq!(a, *b),
                (Value::DateTime { serial, .. }, calamine::Data::DateTime(b)) => {
                    assert_eq!(serial, b.as_f64());
                }
                (a, b) => panic!("{a:?} is {b:?}"),
            }
            compared += 1;
        }
        assert_eq!(range.used_cells().count(), sheet.cell_count());
    }
    assert_eq!(compared, 14);
}

#[test]
fn cells_as_other_programs_write_them() {
    let cells = r##"<row><c><v>1</v></c><c t="str"><v>a&amp;b</v></c></row>
        <row r="3"><c r="B3"><f>B1</f></c><c r="C3"><f>B1</f><v/></c>
        <c r="D3" t="str"><f>""</f><v></v></c><c r="E3" t="e"><v>#DIV/0!</v></c>
        <c r="F3" t="e"><v>#SPILL!</v></c><c r="G3" t="e"><v>#ODD</v></c>
        <c r="H3" t="inlineStr"><is><r><t>12'-</t></r><r><t>6"</t></r></is></c>
        <c r="I3" t="s"><v>1</v></c><c r="J3" t="s"><v>9</v></c><c r="??2"><v>1</v></c>
        <c r="K3" t="b"><v>1</v></c><c r="L3"><v>abc</v></c><c r="M3"><v>1.4E1</v></c></row>"##;
    let strings =
        r#"<sst><si><t>zero</t></si><si><t>one</t><rPh sb="0" eb="1"><t>no</t></rPh></si></sst>"#;
    let book = open("w.xlsx", &xlsx_of(cells, strings)).expect("a workbook");
    let sheet = &book.sheets[0];
    let value = |address| at(sheet, address).map(|c| c.value());
    for (address, expected) in [
        ("A1", Some(Value::Number(1.0))),
        ("B1", Some(Value::Text("a&b"))),
        ("B3", Some(Value::FormulaWithoutValue)),
        ("C3", Some(Value::FormulaWithoutValue)),
        ("D3", None),
        ("E3", Some(Value::Error("#DIV/0!"))),
        ("F3", Some(Value::Error("#SPILL!"))),
        ("G3", Some(Value::Error("#ERROR!"))),
        ("H3", Some(Value::Text("12'-6\""))),
        ("I3", Some(Value::Text("one"))),
        ("J3", None),
        ("K3", Some(Value::Bool(true))),
        ("L3", Some(Value::Text("abc"))),
        ("M3", Some(Value::Number(14.0))),
    ] {
        assert_eq!(value(address), expected, "{address}");
    }
    let damage = sheet.damage.as_deref().expect("two cells are lost");
    assert!(damage.starts_with("2 cells"), "{damage}");
}

#[test]
fn rows_and_cells_out_of_order_are_brought_into_order() {
    let cells = r#"<row r="5"><c r="C5"><v>5</v></c><c r="A5"><v>4</v></c></row>
        <row r="2"><c r="B2"><v>2</v></c></row><row r="5"><c r="C5"><v>6</v></c></row>"#;
    let book = open("w.xlsx", &xlsx_of(cells, "<sst/>")).expect("a workbook");
    let sheet = &book.sheets[0];
    let rows: Vec<u32> = sheet.rows().map(|r| r.index().0).collect();
    assert_eq!(rows, [1, 4]);
    assert_eq!(text(sheet, "A5"), "4");
    assert_eq!(text(sheet, "C5"), "6", "the later value stands");
    assert_eq!(sheet.cell_count(), 3);
    assert_eq!(sheet.rows_from(RowIndex(2)).count(), 1);
}

#[test]
fn dates_of_1904_show_as_they_were_typed() {
    let workbook = WORKBOOK.replace("<sheets>", "<workbookPr date1904=\"1\"/><sheets>");
    let relations = RELATIONS.replace(
        "</Relationships>",
        "<Relationship Id=\"r3\" Type=\"x/styles\" Target=\"styles.xml\"/></Relationships>",
    );
    let styles = r#"<styleSheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><fonts count="1"><font/></fonts><fills count="1"><fill/></fills><borders count="1"><border/></borders><cellXfs count="2"><xf numFmtId="0"/><xf numFmtId="16" applyNumberFormat="1"/></cellXfs></styleSheet>"#;
    let bytes = zip_of(&[
        ("[Content_Types].xml", b"<Types/>"),
        ("xl/workbook.xml", workbook.as_bytes()),
        ("xl/_rels/workbook.xml.rels", relations.as_bytes()),
        (
            "xl/worksheets/sheet1.xml",
            br#"<worksheet><sheetData><row r="1"><c r="A1" s="1"><v>44835</v></c></row></sheetData></worksheet>"#,
        ),
        ("xl/styles.xml", styles.as_bytes()),
    ]);
    let book = open("w.xlsx", &bytes).expect("a workbook");
    assert!(book.epoch_1904, "{:?}", book.notes);
    assert_eq!(text(&book.sheets[0], "A1"), "2-Oct");
}

#[test]
fn sheets_of_one_name_are_told_apart() {
    let twice = WORKBOOK.replace(
        "</sheets>",
        r#"<sheet name="S" sheetId="2" r:id="r1"/><sheet name="S (2)" sheetId="3" r:id="r1"/></sheets>"#,
    );
    let bytes = zip_of(&[
        ("[Content_Types].xml", b"<Types/>"),
        ("xl/workbook.xml", twice.as_bytes()),
        ("xl/_rels/workbook.xml.rels", RELATIONS.as_bytes()),
        (
            "xl/worksheets/sheet1.xml",
            br#"<worksheet><sheetData><row r="1"><c r="A1"><v>1</v></c></row></sheetData></worksheet>"#,
        ),
    ]);
    let book = open("w.xlsx", &bytes).expect("a workbook");
    let names: Vec<_> = book.sheets.iter().flat_map(|s| s.name.clone()).collect();
    assert_eq!(names, ["S", "S (2)", "S (2) (2)"]);
    let told = |note: &&String| note.contains("named “S”");
    assert_eq!(
        book.notes.iter().filter(told).count(),
        1,
        "{:?}",
        book.notes
    );
}

#[test]
fn content_decides_and_not_the_name() {
    for name in ["job.xls", "job.csv", "job.ods", "job"] {
        assert_eq!(open(name, &schedule()).map(|b| b.format), Ok(Format::Xlsx));
    }
    for name in ["job.xls", "job.xlsx"] {
        let book = open(name, b"Tag,MCA\nFC-1,0.4\n").expect("a table");
        assert!(matches!(book.format, Format::Csv { delimiter: ',', .. }));
    }
}

#[test]
fn what_cannot_be_read_is_refused_with_one_sentence() {
    let whole = schedule();
    let ole = |word: &str| {
        let mut bytes = b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1".to_vec();
        bytes.resize(1_024, 0);
        bytes.extend(word.encode_utf16().flat_map(u16::to_le_bytes));
        bytes.resize(2_048, 0);
        bytes
    };
    let word = zip_of(&[("[Content_Types].xml", b""), ("word/document.xml", b"")]);
    for (bytes, expected) in [
        (Vec::new(), "empty"),
        (whole[..whole.len() / 2].to_vec(), "damaged"),
        (b"PK\x03\x04".to_vec(), "damaged"),
        (ole("EncryptedPackage"), "password"),
        (ole("DRMEncryptedDataSpace"), "rights management"),
        (ole("__substg1.0_001A001E"), "mail"),
        (ole("WordDocument"), "document"),
        (zip_of(&[("a.txt", b"a")]), "archive"),
        (word, "document"),
        (zip_of(&[("[Content_Types].xml", b"")]), "without a sheet"),
        (b"%PDF-1.4".to_vec(), "PDF"),
    ] {
        let refusal = open("job.xlsx", &bytes).expect_err(expected);
        let says = refusal.to_string();
        assert!(says.contains(expected), "{says}");
        assert!(says.ends_with('.') && !says.contains('\n'), "{says}");
    }
}

#[test]
fn files_that_are_not_there_or_not_files_are_told() {
    let limits = Limits::default();
    let folder = tempfile::tempdir().expect("a folder");
    assert_eq!(
        Book::open(&folder.path().join("gone.xlsx"), &limits).expect_err("gone"),
        Refusal::Vanished
    );
    assert_eq!(
        Book::open(folder.path(), &limits).expect_err("a folder"),
        Refusal::NotAFile
    );
    let path = folder.path().join("job.xlsx");
    std::fs::write(&path, schedule()).expect("a file");
    assert_eq!(Book::open(&path, &limits).map(|b| b.sheets.len()), Ok(2));
}

/// A workbook in the binary form (MS-XLSB) of one sheet.
pub(super) fn xlsb() -> Vec<u8> {
    let record = |kind: u16, data: &[u8]| {
        let mut all = match kind {
            0..0x80 => vec![kind as u8],
            _ => vec![kind as u8 | 0x80, (kind >> 7) as u8],
        };
        all.push(data.len() as u8);
        all.extend(data);
        all
    };
    let wide = |text: &str| {
        let mut all = (text.encode_utf16().count() as u32).to_le_bytes().to_vec();
        all.extend(text.encode_utf16().flat_map(u16::to_le_bytes));
        all
    };
    let bundle = [vec![0; 8], wide("rId1"), wide("Units")].concat();
    let book = [
        record(0x0099, &[0; 12]),
        record(0x009C, &bundle),
        record(0x0090, &[]),
        record(0x0084, &[]),
    ];
    let head = |column: u32| [column.to_le_bytes(), [0; 4]].concat();
    let sheet = [
        record(0x0094, &[0; 16]),
        record(0x0091, &[]),
        record(0x0000, &3u32.to_le_bytes()),
        record(0x0006, &[head(0), wide("FC-1")].concat()),
        record(0x0005, &[head(1), 30.5f64.to_le_bytes().to_vec()].concat()),
        record(0x0003, &[head(2), vec![0x07]].concat()),
        record(0x0092, &[]),
    ];
    let main = RELATIONS.replace(
        "x/worksheet",
        "http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet",
    );
    let main = main
        .replace("r1", "rId1")
        .replace("sheet1.xml", "sheet1.bin");
    zip_of(&[
        ("[Content_Types].xml", b"<Types/>"),
        (
            "_rels/.rels",
            br#"<Relationships><Relationship Id="r" Type="x/officeDocument" Target="xl/workbook.bin"/></Relationships>"#,
        ),
        ("xl/workbook.bin", &book.concat()),
        ("xl/_rels/workbook.bin.rels", main.as_bytes()),
        ("xl/worksheets/sheet1.bin", &sheet.concat()),
    ])
}

#[test]
fn a_binary_workbook_is_read() {
    let book = open("job.xlsx", &xlsb()).expect("a workbook");
    assert_eq!(book.format, Format::Xlsb);
    let sheet = &book.sheets[0];
    assert_eq!(sheet.name.as_deref(), Some("Units"));
    assert_eq!(text(sheet, "A4"), "FC-1");
    assert_eq!(text(sheet, "B4"), "30.5");
    assert_eq!(text(sheet, "C4"), "#DIV/0!");
}
