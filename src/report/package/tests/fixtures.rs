//! Workbooks of other programs: what differs after an edit, and what comes
//! back when it is taken out.

use super::super::*;
use super::check::{compressed, differing, parts, sound};
use super::scene::{appended, edits, fixture, sheet};
use crate::intake::book::{Book, Limits};

/// Name, sheets to edit, parts of the author's that may differ.
type Case = (&'static str, Vec<SheetEdit>, &'static [&'static str]);

fn cases() -> Vec<Case> {
    let equipment = || {
        sheet(
            "Equipment",
            &[2],
            &[(3, 2), (4, 2), (6, 3), (5, 0), (14, 1), (0, 2)],
        )
    };
    let circuits = || sheet("Circuits", &[0, 8], &[(1, 1), (3, 1), (9, 5)]);
    vec![
        (
            "openpyxl.xlsm",
            vec![
                equipment(),
                circuits(),
                sheet("Empty", &[1], &[(2, 2)]),
                sheet("Lists", &[0], &[]),
            ],
            &[
                "[Content_Types].xml",
                "xl/_rels/workbook.xml.rels",
                "xl/comments/comment1.xml",
                "xl/drawings/commentsDrawing1.vml",
                "xl/styles.xml",
                "xl/workbook.xml",
                "xl/worksheets/_rels/sheet2.xml.rels",
                "xl/worksheets/sheet1.xml",
                "xl/worksheets/sheet2.xml",
                "xl/worksheets/sheet3.xml",
                "xl/worksheets/sheet5.xml",
            ],
        ),
        (
            "libreoffice.xlsx",
            vec![equipment(), circuits()],
            &[
                "[Content_Types].xml",
                "xl/_rels/workbook.xml.rels",
                "xl/comments1.xml",
                "xl/drawings/vmlDrawing1.vml",
                "xl/styles.xml",
                "xl/workbook.xml",
                "xl/worksheets/_rels/sheet2.xml.rels",
                "xl/worksheets/sheet1.xml",
                "xl/worksheets/sheet2.xml",
            ],
        ),
        (
            "xlsxwriter.xlsx",
            vec![
                sheet(
                    "Equipment",
                    &[2],
                    &[(3, 2), (5, 2), (6, 3), (4, 5), (14, 1), (0, 2)],
                ),
                sheet("Summary", &[2], &[(3, 1)]),
                sheet("Edge", &[0], &[(1, 16_381)]),
                sheet("Form", &[0], &[(1, 1), (2, 0)]),
            ],
            &[
                "[Content_Types].xml",
                "xl/_rels/workbook.xml.rels",
                "xl/comments1.xml",
                "xl/drawings/vmlDrawing1.vml",
                "xl/drawings/vmlDrawing3.vml",
                "xl/styles.xml",
                "xl/workbook.xml",
                "xl/worksheets/_rels/sheet2.xml.rels",
                "xl/worksheets/_rels/sheet3.xml.rels",
                "xl/worksheets/_rels/sheet4.xml.rels",
                "xl/worksheets/sheet1.xml",
                "xl/worksheets/sheet2.xml",
                "xl/worksheets/sheet3.xml",
                "xl/worksheets/sheet4.xml",
            ],
        ),
        (
            "odd.xlsx",
            vec![
                sheet(
                    "Units & more",
                    &[0],
                    &[(1, 1), (2, 0), (4, 1), (8, 0), (12, 0)],
                ),
                sheet("None", &[0], &[(1, 0)]),
            ],
            &[
                "[Content_Types].xml",
                "book/_rels/main.xml.rels",
                "book/main.xml",
                "data/a.xml",
                "data/b.xml",
            ],
        ),
    ]
}

#[test]
fn what_is_not_touched_is_the_same_bytes() {
    let ours = appended();
    for (name, sheets, may_differ) in cases() {
        let original = fixture(name);
        let edited = edit(&original, &edits(&ours, sheets)).expect(name);
        sound(&edited.bytes);
        let (before, after) = (compressed(&original), compressed(&edited.bytes));
        for (part, raw) in &before {
            if !may_differ.contains(&part.as_str()) {
                assert_eq!(after.get(part), Some(raw), "{name}: {part}");
            }
        }
        let (before, after) = (parts(&original), parts(&edited.bytes));
        for part in may_differ {
            assert_ne!(
                before.get(*part),
                after.get(*part),
                "{name}: {part} may not be listed"
            );
        }
    }
}

/// What an edit touches it only adds to: with our additions taken out again,
/// the part is the one of the author's.
#[test]
fn taken_out_again_the_workbook_is_the_authors() {
    let ours = appended();
    for (name, sheets, _) in cases() {
        let original = fixture(name);
        let edited = edit(&original, &edits(&ours, sheets)).expect(name).bytes;
        let stripped = strip(&edited).expect(name);
        sound(&stripped);
        let differ = differing(&original, &stripped);
        let mut left: Vec<&str> = differ.iter().map(String::as_str).collect();
        // Styles and endings stay listed; the view says which sheet was in
        // front; extents and heights of rows are not taken back.
        left.retain(|part| {
            !part.contains("styles")
                && !part.contains("[Content_Types]")
                && !part.ends_with("workbook.xml")
                && !part.ends_with("main.xml")
                && !part.ends_with("main.xml.rels")
        });
        for part in left {
            let (before, after) = (parts(&original), parts(&stripped));
            let text = |parts: &std::collections::BTreeMap<String, Vec<u8>>| {
                let bytes = parts.get(part).unwrap_or_else(|| panic!("{name}: {part}"));
                quiet(&String::from_utf8_lossy(bytes))
            };
            similar(&text(&before), &text(&after), &format!("{name}: {part}"));
        }
    }
}

/// Without the attributes that are only ever widened.
fn quiet(text: &str) -> String {
    let mut out = String::new();
    for piece in text.split_inclusive('>') {
        let (before, tag) = piece.split_at(piece.rfind('<').unwrap_or(0));
        out.push_str(before);
        let tag = match xml::local(xml::name_of(tag)) {
            "row" => xml::without(&xml::without(tag, "spans"), "ht"),
            // A dressed blank may stand where our columns come.
            "c" if tag.ends_with("/>") => String::new(),
            "dimension" => xml::without(tag, "ref"),
            "sheetView" => xml::without(tag, "tabSelected"),
            _ => tag.to_owned(),
        };
        out.push_str(&tag);
    }
    // What was self-closing may be open and empty.
    for name in ["sheetData", "x:row"] {
        out = out.replace(&format!("<{name}></{name}>"), &format!("<{name}/>"));
    }
    out
}

fn similar(before: &str, after: &str, what: &str) {
    if before != after {
        let at = before
            .bytes()
            .zip(after.bytes())
            .take_while(|(a, b)| a == b)
            .count();
        let near = |text: &str| {
            let bytes = text.as_bytes();
            let stretch = bytes.get(at.saturating_sub(80)..(at + 200).min(bytes.len()));
            String::from_utf8_lossy(stretch.unwrap_or_default()).into_owned()
        };
        panic!("{what}\nbefore {}\nafter  {}", near(before), near(after));
    }
}

#[test]
fn marking_again_does_not_pile_up() {
    let ours = appended();
    for (name, sheets, _) in cases() {
        let original = fixture(name);
        let edits = edits(&ours, sheets);
        let once = edit(&original, &edits).expect(name);
        let twice = edit(&once.bytes, &edits).expect(name);
        for part in differing(&once.bytes, &twice.bytes) {
            let text = |bytes: &[u8]| {
                let parts = parts(bytes);
                let bytes = parts.get(&part).cloned().unwrap_or_default();
                String::from_utf8_lossy(&bytes).into_owned()
            };
            similar(
                &text(&once.bytes),
                &text(&twice.bytes),
                &format!("{name}: {part}"),
            );
        }
        assert_eq!(
            differing(&once.bytes, &twice.bytes),
            Default::default(),
            "{name}"
        );
        assert_eq!(once.bytes, twice.bytes, "{name}");
        assert_eq!(once.notes_left_out, twice.notes_left_out);
        assert_eq!(sheet_names(&once.bytes), sheet_names(&original));
    }
}

#[test]
fn the_authors_values_are_read_back_and_ours_beside_them() {
    let ours = appended();
    for (name, sheets, _) in cases() {
        let original = fixture(name);
        let edited = edit(&original, &edits(&ours, sheets.clone())).expect(name);
        let (edited, without_columns) = (edited.bytes, edited.without_columns);
        let before = Book::from_bytes(name, original.clone(), &Limits::default()).expect(name);
        let after = Book::from_bytes(name, edited.clone(), &Limits::default()).expect(name);
        for sheet in &before.sheets {
            let same = after.sheets.iter().find(|other| other.name == sheet.name);
            let same = same.expect("the sheet");
            assert_eq!(sheet.visibility, same.visibility);
            for row in sheet.rows() {
                for cell in row.cells() {
                    let now = same.cell(row.index(), cell.column()).expect("the cell");
                    assert_eq!(now.value(), cell.value(), "{name}");
                    if cell.look().is_some() {
                        assert_eq!(now.look(), cell.look(), "{name}");
                    }
                }
            }
            assert!(
                sheet.notes.iter().all(|note| same.notes.contains(note)),
                "{name}"
            );
        }
        let findings = after
            .sheets
            .iter()
            .find(|s| s.name.as_deref() == Some("Findings"));
        let findings = findings.expect("our sheet");
        let texts: Vec<String> = findings
            .rows()
            .flat_map(|row| {
                row.cells()
                    .map(|c| c.text().into_owned())
                    .collect::<Vec<_>>()
            })
            .collect();
        for text in [
            "ampledger: Findings",
            "Larch & Hill <4>",
            "FIX rich text",
            " spaces ",
        ] {
            assert!(
                texts.iter().any(|t| t == text),
                "{name}: {text} in {texts:?}"
            );
        }
        for edit in &sheets {
            let sheet = after
                .sheets
                .iter()
                .find(|s| s.name.as_deref() == Some(&edit.name));
            let sheet = sheet.expect("the sheet");
            let ours: Vec<String> = sheet
                .rows()
                .flat_map(|row| {
                    row.cells()
                        .map(|c| c.text().into_owned())
                        .collect::<Vec<_>>()
                })
                .filter(|text| text == "=1+1 & <less>")
                .collect();
            let rows = edit.block.as_ref().expect("a block").rows.values();
            let findings = match without_columns.contains(&edit.name) {
                true => 0,
                false => rows.filter(|row| row.height.is_some()).count(),
            };
            assert_eq!(ours.len(), findings, "{name}");
        }
    }
}

/// A table at the last column leaves no room; its cells are marked and noted
/// all the same.
#[test]
fn a_sheet_without_room_is_told() {
    let ours = appended();
    let original = fixture("xlsxwriter.xlsx");
    let edits = edits(&ours, vec![sheet("Edge", &[0], &[(1, 16_381)])]);
    let edited = edit(&original, &edits).expect("edited");
    assert_eq!(edited.without_columns, ["Edge"]);
    let parts = parts(&edited.bytes);
    let sheet = String::from_utf8_lossy(&parts["xl/worksheets/sheet3.xml"]).into_owned();
    assert!(sheet.contains("sqref=\"XFB2\"") && !sheet.contains("ampledger: Finding"));
    let notes = parts.iter().filter(|(name, _)| name.contains("comments"));
    let mut notes = notes.map(|(_, text)| String::from_utf8_lossy(text).into_owned());
    assert!(notes.any(|text| text.contains("ref=\"XFB2\"")));
}

#[test]
fn our_cells_come_before_the_extension_of_a_row() {
    let original = super::refused::with_part("odd.xlsx", "data/a.xml", |text| {
        let extension = "</x:c><x:extLst><x:ext uri=\"x\"/></x:extLst></x:row>";
        text.replace(
            "<x:v>2</x:v></x:c></x:row>",
            &format!("<x:v>2</x:v>{extension}"),
        )
    });
    let ours = appended();
    let edits = edits(&ours, vec![sheet("Units & more", &[0], &[(8, 0)])]);
    let edited = edit(&original, &edits).expect("edited");
    sound(&edited.bytes);
    let text = String::from_utf8_lossy(&parts(&edited.bytes)["data/a.xml"]).into_owned();
    let row = text.split("r=\"9\"").nth(1).expect("the row");
    let row = row.split("</x:row>").next().expect("its end");
    assert!(row.ends_with("</x:extLst>"), "{row}");
    assert_eq!(
        strip(&edited.bytes).map(|bytes| sheet_names(&bytes)),
        Ok(sheet_names(&original))
    );
}

/// What later programs put on a sheet comes behind what we put there.
#[test]
fn wrapped_controls_keep_their_place() {
    let ours = appended();
    let original = fixture("xlsxwriter.xlsx");
    let edits = edits(&ours, vec![sheet("Form", &[0], &[(1, 1)])]);
    let edited = edit(&original, &edits).expect("edited");
    let parts = parts(&edited.bytes);
    let sheet = String::from_utf8_lossy(&parts["xl/worksheets/sheet4.xml"]).into_owned();
    let at = |text: &str| sheet.find(text).expect(text);
    assert!(at("<conditionalFormatting") < at("<hyperlinks"));
    assert!(at("<hyperlinks") < at("<legacyDrawing"));
    assert!(at("<legacyDrawing") < at("<mc:AlternateContent"));
    let drawing = String::from_utf8_lossy(&parts["xl/drawings/vmlDrawing3.vml"]).into_owned();
    assert!(drawing.contains("ObjectType=\"Button\"") && drawing.contains("ObjectType=\"Note\""));
}

#[test]
fn an_authors_note_and_thread_are_left_alone() {
    let ours = appended();
    let original = fixture("openpyxl.xlsm");
    let edits = edits(
        &ours,
        vec![sheet("Equipment", &[2], &[(4, 2), (6, 3), (5, 2)])],
    );
    let edited = edit(&original, &edits).expect("edited");
    let left_out: Vec<&str> = edited
        .notes_left_out
        .iter()
        .map(|(_, cell)| cell.as_str())
        .collect();
    assert_eq!(left_out, ["C5", "D7"]);
    let parts = parts(&edited.bytes);
    let comments = String::from_utf8_lossy(&parts["xl/comments/comment1.xml"]).into_owned();
    assert!(comments.contains("from the submittal, page 3") && comments.contains("ref=\"C6\""));
    assert!(!comments.contains("ref=\"D7\""));
}

#[test]
fn our_block_keeps_clear_of_tables_side_by_side() {
    let ours = appended();
    let original = fixture("openpyxl.xlsm");
    let edits = edits(&ours, vec![sheet("Circuits", &[0, 8], &[(1, 1), (9, 5)])]);
    let edited = edit(&original, &edits).expect("edited");
    let parts = parts(&edited.bytes);
    let sheet = String::from_utf8_lossy(&parts["xl/worksheets/sheet2.xml"]).into_owned();
    // The last table ends at G: H is free, I is ours.
    assert!(sheet.contains("r=\"I1\"") && sheet.contains("r=\"I9\"") && !sheet.contains("r=\"H"));
    assert!(sheet.contains("sheetProtection"));
}

/// A marked workbook that LibreOffice opened and saved.
#[test]
fn marks_are_found_again_after_another_program_saved_them() {
    let ours = appended();
    let saved = fixture("marked_by_libreoffice.xlsx");
    let stripped = strip(&saved).expect("stripped");
    sound(&stripped);
    for (name, content) in parts(&stripped) {
        if name.starts_with("xl/worksheets/")
            || name.contains("comments")
            || name == "xl/workbook.xml"
        {
            let text = String::from_utf8_lossy(&content).into_owned();
            assert!(!text.contains("ampledger"), "{name}: {text}");
        }
    }
    assert_eq!(
        sheet_names(&saved).expect("names"),
        ["Equipment", "Circuits", "Lists", "Deep", "Empty", "Graph"]
    );
    let again = sheet("Equipment", &[2], &[(3, 2), (4, 2), (6, 3)]);
    let edited = edit(&saved, &edits(&ours, vec![again])).expect("edited");
    sound(&edited.bytes);
    let sheet =
        String::from_utf8_lossy(&parts(&edited.bytes)["xl/worksheets/sheet1.xml"]).into_owned();
    assert_eq!(sheet.matches("ampledger: Finding<").count(), 1);
    assert_eq!(sheet.matches("N(\"ampledger\")=0").count(), 2);
    // The chart below the table has been stretched with our column H: ours
    // stand behind it now, and what stood in H is gone.
    assert!(sheet.contains("r=\"J3\"") && !sheet.contains("r=\"H3\""));
}

/// Writes marked fixtures to a folder, for other programs to open:
/// `MARKED=folder cargo test --lib writes_marked -- --ignored`.
#[test]
#[ignore = "writes files for other programs to open"]
fn writes_marked_fixtures() {
    let folder = std::path::PathBuf::from(std::env::var("MARKED").expect("MARKED=folder"));
    let ours = appended();
    for (name, sheets, _) in cases() {
        let edited = edit(&fixture(name), &edits(&ours, sheets)).expect(name);
        std::fs::write(folder.join(format!("marked_{name}")), edited.bytes).expect("written");
    }
}
