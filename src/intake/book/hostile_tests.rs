//! Files that lie, that are damaged, and that are large.

use super::tests::*;
use super::*;
use crate::schedule::ColIndex;
use rust_xlsxwriter as xw;

#[test]
fn a_false_dimension_or_count_costs_nothing() {
    let far = xlsx_of(
        r#"<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>"#,
        "<sst/>",
    );
    let book = open("w.xlsx", &far).expect("a workbook");
    assert_eq!(text(&book.sheets[0], "XFD1048576"), "1");
    let strings = r#"<sst count="400000000" uniqueCount="400000000"><si><t>a</t></si></sst>"#;
    let cells = r#"<row r="1"><c r="A1" t="s"><v>0</v></c></row>"#;
    let book = open("w.xlsx", &xlsx_of(cells, strings)).expect("a workbook");
    assert_eq!(text(&book.sheets[0], "A1"), "a");
    let beyond = xlsx_of(r#"<row r="1"><c r="XFE1"><v>1</v></c></row>"#, "<sst/>");
    let book = open("w.xlsx", &beyond).expect("a workbook");
    assert!(book.sheets[0].damage.is_some());
}

#[test]
fn a_bomb_is_refused_by_what_it_declares() {
    let part = vec![b' '; 40 << 20];
    let bytes = xlsx_parts(&String::from_utf8_lossy(&part), "<sst/>");
    assert!(bytes.len() < 100_000);
    match open("w.xlsx", &bytes) {
        Err(Refusal::OverLimit { bound, .. }) => assert_eq!(bound, Bound::Ratio),
        other => panic!("{other:?}"),
    }
    let limits = Limits {
        unpacked_bytes: 1 << 20,
        ..Limits::default()
    };
    match Book::from_bytes("w.xlsx", bytes, &limits) {
        Err(Refusal::OverLimit { bound, .. }) => assert_eq!(bound, Bound::UnpackedBytes),
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_part_that_lies_about_its_size_is_read_no_further() {
    let cells = "<row><c><v>1</v></c></row>".repeat(100);
    let mut bytes = xlsx_of(&cells, "<sst/>");
    // The declared size of the sheet, in its entry of the central directory.
    let name = b"xl/worksheets/sheet1.xml";
    let entry = bytes
        .windows(name.len())
        .rposition(|w| w == name)
        .expect("an entry")
        - 46;
    bytes[entry + 24..entry + 28].copy_from_slice(&200u32.to_le_bytes());
    match open("w.xlsx", &bytes) {
        Ok(book) => assert!(book.sheets[0].damage.is_some()),
        Err(refusal) => assert!(matches!(refusal, Refusal::Corrupt(_)), "{refusal}"),
    }
}

#[test]
fn entities_that_a_part_declares_are_not_expanded() {
    let sheet = r#"<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;"><!ENTITY f SYSTEM "file:///etc/passwd">]>
        <worksheet><sheetData><row r="1"><c r="A1" t="str"><v>x&b;&f;y</v></c></row></sheetData></worksheet>"#;
    let book = open("w.xlsx", &xlsx_parts(sheet, "<sst/>")).expect("a workbook");
    assert_eq!(text(&book.sheets[0], "A1"), "xy");
}

#[test]
fn a_cut_sheet_keeps_what_came_before() {
    let sheet =
        r#"<worksheet><sheetData><row r="1"><c r="A1"><v>1</v></c></row><row r="2"><c r="A2"><v>2"#;
    let book = open("w.xlsx", &xlsx_parts(sheet, "<sst/>")).expect("a workbook");
    assert_eq!(text(&book.sheets[0], "A1"), "1");
    let damage = book.sheets[0].damage.as_deref().expect("damage");
    assert!(damage.contains("damaged after row 2"), "{damage}");
}

/// Bytes flipped, cut and doubled all over: any outcome will do but a panic.
#[test]
fn damaged_bytes_never_panic() {
    let csv = b"Tag,\"MCA\nA\",\"\",x\r\nFC-1,\",30A\n;;\t|\"\"".to_vec();
    let sheet = xlsx_of(
        r##"<row r="1" hidden="1" ht="3" customHeight="1"><c r="A1" s="1" t="str"><f>x</f><v>a&amp;_x000D_</v></c></row>"##,
        "<sst><si><t>a</t></si></sst>",
    );
    let limits = Limits {
        unpacked_bytes: 1 << 22,
        ..Limits::default()
    };
    let mut state = 0x2545_F491_4F6C_DD1D_u64;
    let mut next = |below: usize| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state % below.max(1) as u64) as usize
    };
    let mut outcomes = [0usize; 2];
    for original in [&schedule(), &xlsb(), &csv, &sheet] {
        for _ in 0..300 {
            let mut bytes = original.clone();
            for _ in 0..=next(3) {
                let at = next(bytes.len());
                match next(3) {
                    0 => bytes[at] ^= 1 << next(8),
                    1 => bytes.truncate(at.max(4)),
                    _ => bytes.insert(at, b"\"<>&=\0"[next(6)]),
                }
            }
            let outcome = Book::from_bytes("job.xlsx", bytes, &limits);
            outcomes[usize::from(outcome.is_ok())] += 1;
            for cell in outcome
                .iter()
                .flat_map(|b| &b.sheets)
                .flat_map(|s| s.rows())
            {
                cell.cells().for_each(|cell| drop(cell.text()));
            }
        }
    }
    assert!(outcomes.iter().all(|count| *count > 0), "{outcomes:?}");
}

#[test]
fn a_part_named_again_and_again_is_not_read_without_end() {
    let sheets: String = (0..500)
        .map(|i| format!("<sheet name=\"S{i}\" sheetId=\"{i}\" r:id=\"r1\"/>"))
        .collect();
    let workbook = format!("<workbook xmlns:r=\"r\"><sheets>{sheets}</sheets></workbook>");
    let blanks = "<c s=\"1\"/>".repeat(10_000);
    let sheet = format!("<worksheet><sheetData><row>{blanks}</row></sheetData></worksheet>");
    let bytes = zip_of(&[
        ("[Content_Types].xml", b"<Types/>"),
        ("xl/workbook.xml", workbook.as_bytes()),
        ("xl/_rels/workbook.xml.rels", RELATIONS.as_bytes()),
        ("xl/worksheets/sheet1.xml", sheet.as_bytes()),
    ]);
    let limits = Limits {
        unpacked_bytes: 1 << 20,
        ..Limits::default()
    };
    match Book::from_bytes("w.xlsx", bytes, &limits) {
        Err(Refusal::OverLimit { bound, .. }) => assert_eq!(bound, Bound::UnpackedBytes),
        other => panic!("{:?}", other.map(|b| b.sheets.len())),
    }
}

#[test]
fn a_long_table_is_held_small() {
    let mut csv = String::from("tag,mca,room\n");
    for row in 0..100_000 {
        csv.push_str(&format!("FC-{row},0.4,Bed {}\n", row % 9));
    }
    let book = open("season.csv", csv.as_bytes()).expect("a table");
    let sheet = &book.sheets[0];
    assert_eq!(sheet.cell_count(), 300_003);
    assert_eq!(sheet.rows().len(), 100_001);
    assert_eq!(text(sheet, "A100001"), "FC-99999");
}

#[test]
fn many_sheets_and_many_merged_ranges_are_no_quadratic_step() {
    let merges: String = (1..=50_000)
        .map(|r| format!("<mergeCell ref=\"B{r}:D{r}\"/>"))
        .collect();
    let cells: String = (1..=50_000)
        .map(|r| format!("<row r=\"{r}\"><c r=\"B{r}\"><v>1</v></c></row>"))
        .collect();
    let sheet = format!(
        "<worksheet><sheetData>{cells}</sheetData><mergeCells>{merges}</mergeCells></worksheet>"
    );
    let book = open("w.xlsx", &xlsx_parts(&sheet, "<sst/>")).expect("a workbook");
    let sheet = &book.sheets[0];
    assert_eq!(sheet.merges.len(), 50_000);
    let covered = sheet
        .rows()
        .filter(|row| sheet.covering_merge(row.index(), ColIndex(3)).is_some());
    assert_eq!(covered.count(), 50_000);

    let mut many = xw::Workbook::new();
    for index in 0..252 {
        let sheet = many.add_worksheet();
        sheet.write(0, 0, index).expect("a value");
    }
    let bytes = many.save_to_buffer().expect("a workbook");
    let book = open("w.xlsx", &bytes).expect("a workbook");
    assert_eq!(book.sheets.len(), 252);
    assert_eq!(text(&book.sheets[251], "A1"), "251");
    let limits = Limits {
        sheets: 251,
        ..Limits::default()
    };
    match Book::from_bytes("w.xlsx", bytes, &limits) {
        Err(Refusal::OverLimit { bound, .. }) => assert_eq!(bound, Bound::Sheets),
        other => panic!("{:?}", other.map(|b| b.sheets.len())),
    }
}
