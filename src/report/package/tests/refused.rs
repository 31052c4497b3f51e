//! Packages that are left to be rebuilt, and why.

use super::super::*;
use super::check::{parts, sound};
use super::scene::{appended, edits, fixture, sheet};
use std::io::{Cursor, Write};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

/// The fixture with one part made anew.
pub fn with_part(name: &str, part: &str, change: impl Fn(String) -> String) -> Vec<u8> {
    let mut out = ZipWriter::new(Cursor::new(Vec::new()));
    let mut parts = parts(&fixture(name));
    let text = String::from_utf8(parts.remove(part).unwrap_or_default()).expect("text");
    parts.insert(part.to_owned(), change(text).into_bytes());
    for (name, content) in parts {
        out.start_file(name, SimpleFileOptions::default())
            .expect("a part");
        out.write_all(&content).expect("a part");
    }
    out.finish().expect("a zip").into_inner()
}

fn refusal(bytes: &[u8]) -> CannotEdit {
    edit(bytes, &Edits::default()).expect_err("refused")
}

#[test]
fn what_is_no_workbook_or_locked_is_refused() {
    assert_eq!(refusal(b""), CannotEdit::NotAPackage);
    assert_eq!(refusal(b"Tag,MCA"), CannotEdit::NotAPackage);
    let old = b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1".to_vec();
    assert_eq!(refusal(&old), CannotEdit::NotAPackage);
    let name = "EncryptedPackage".bytes().flat_map(|b| [b, 0]);
    let locked: Vec<u8> = old.iter().copied().chain(name).collect();
    assert_eq!(refusal(&locked), CannotEdit::Encrypted);
    let whole = fixture("odd.xlsx");
    assert_eq!(refusal(&whole[..whole.len() / 2]), CannotEdit::NotAPackage);
}

#[test]
fn variants_that_an_edit_would_harm_are_refused() {
    let strict = with_part("openpyxl.xlsm", "xl/workbook.xml", |text| {
        text.replace(
            "http://schemas.openxmlformats.org/spreadsheetml/2006/main",
            "http://purl.oclc.org/ooxml/spreadsheetml/main",
        )
    });
    assert_eq!(refusal(&strict), CannotEdit::Strict);
    let signed = with_part("openpyxl.xlsm", "_rels/.rels", |text| {
        text.replace(
            "</Relationships>",
            "<Relationship Id=\"s\" Target=\"_xmlsignatures/origin.sigs\" Type=\"http://schemas.\
             openxmlformats.org/package/2006/relationships/digital-signature/origin\"/></Relationships>",
        )
    });
    assert_eq!(refusal(&signed), CannotEdit::Signed);
    let binary = with_part("openpyxl.xlsm", "[Content_Types].xml", |text| {
        text.replace(
            ".sheet.macroEnabled.main+xml",
            ".sheet.binary.macroEnabled.main",
        )
    });
    assert_eq!(refusal(&binary), CannotEdit::Binary);
    let shared = with_part("openpyxl.xlsm", "xl/_rels/workbook.xml.rels", |text| {
        text.replace(
            "</Relationships>",
            "<Relationship Id=\"s\" Target=\"revisions/revisionHeaders.xml\" Type=\"http://schemas.\
             openxmlformats.org/officeDocument/2006/relationships/revisionHeaders\"/></Relationships>",
        )
    });
    assert_eq!(refusal(&shared), CannotEdit::Shared);
}

#[test]
fn damaged_parts_are_refused_by_name() {
    for (part, from, to) in [
        ("xl/worksheets/sheet1.xml", "</sheetData>", ""),
        ("xl/worksheets/sheet1.xml", "<row r=\"4\"", "<row r=\"2\""),
        ("xl/styles.xml", "</styleSheet>", ""),
        (
            "xl/workbook.xml",
            "<sheets>",
            "<sheets><sheet name=\"lost\"/>",
        ),
    ] {
        let bytes = with_part("openpyxl.xlsm", part, |text| text.replacen(from, to, 1));
        let edit = edit(
            &bytes,
            &edits(&appended(), vec![sheet("Equipment", &[2], &[])]),
        );
        match edit.expect_err("refused") {
            CannotEdit::Damaged { part: named, .. } => assert_eq!(named, part),
            other => panic!("{other}"),
        }
    }
    let latin = with_part("openpyxl.xlsm", "xl/workbook.xml", |text| {
        format!("<?xml version=\"1.0\" encoding=\"ISO-8859-1\"?>{text}")
    });
    assert!(matches!(refusal(&latin), CannotEdit::Encoding { .. }));
}

#[test]
fn sheets_that_cannot_take_marks_are_named() {
    let original = fixture("openpyxl.xlsm");
    let ours = appended();
    let edit_of = |name: &str| edit(&original, &edits(&ours, vec![sheet(name, &[0], &[])]));
    assert_eq!(
        edit_of("Graph").expect_err("no cells"),
        CannotEdit::NotAWorksheet {
            sheet: "Graph".into()
        }
    );
    assert_eq!(
        edit_of("equipment").expect_err("no such sheet"),
        CannotEdit::NoSuchSheet {
            sheet: "equipment".into()
        }
    );
    let taken = with_part("openpyxl.xlsm", "xl/workbook.xml", |text| {
        text.replace("\"Empty\"", "\"FINDINGS\"")
    });
    assert_eq!(
        edit(&taken, &edits(&ours, Vec::new())).expect_err("taken"),
        CannotEdit::NameTaken {
            sheet: "Findings".into()
        }
    );
}

/// A reason reads as the end of a sentence.
/// What counts its own numbers up from those that a file has comes to an end
/// with the highest that there is.
#[test]
fn numbers_at_their_end_are_not_counted_up_from() {
    const END: &str = "4294967295";
    let ours = appended();
    for (part, number, end) in [
        ("xl/workbook.xml", "sheetId=\"6\"", "sheetId=\"4294967295\""),
        (
            "xl/styles.xml",
            "numFmtId=\"164\"",
            "numFmtId=\"4294967295\"",
        ),
        (
            "xl/drawings/commentsDrawing1.vml",
            "data=\"1\"",
            "data=\"4294967295\"",
        ),
        (
            "xl/drawings/commentsDrawing1.vml",
            "_x0000_s1026",
            "_x0000_s4294967295",
        ),
        (
            "xl/_rels/workbook.xml.rels",
            "</Relationships>",
            "<Relationship Id=\"rId4294967295\" Type=\"x\" Target=\"y\" TargetMode=\"External\"/>\
             </Relationships>",
        ),
    ] {
        let odd = with_part("openpyxl.xlsm", part, |text| {
            assert!(text.contains(number), "{part}: {number}");
            text.replace(number, end)
        });
        let sheets = vec![sheet("Equipment", &[2], &[(3, 2), (4, 2), (6, 3)])];
        let edited = edit(&odd, &edits(&ours, sheets)).expect("edited");
        sound(&edited.bytes);
        let kept = String::from_utf8_lossy(&parts(&edited.bytes)[part]).into_owned();
        assert!(kept.contains(END), "{part}");
    }
}

#[test]
fn reasons_are_sentences() {
    for reason in [
        CannotEdit::Encrypted,
        CannotEdit::Signed,
        CannotEdit::Strict,
    ] {
        let text = reason.to_string();
        assert!(
            text.starts_with("the workbook is ") && !text.ends_with('.'),
            "{text}"
        );
    }
}
