//! Files that lie about themselves, each in a batch with an honest one, in a
//! process that may not take more than two gigabytes of addresses.

use super::common::*;
use super::zip_of;
use std::path::Path;
use std::process::Output;
use std::time::{Duration, Instant};

const HONEST: &str = "Tag,Type,MCA,MOCP\nOU-1,Outdoor unit,31.4,50\n";
const MAIN: &str = "<workbook xmlns:r=\"r\"><sheets><sheet name=\"S\" sheetId=\"1\" r:id=\"r1\"/></sheets></workbook>";
const RELATIONS: &str = r#"<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>"#;

fn xlsx(sheet: &str, strings: &str) -> Vec<u8> {
    zip_of(&[
        ("[Content_Types].xml", b"<Types/>"),
        ("xl/workbook.xml", MAIN.as_bytes()),
        ("xl/_rels/workbook.xml.rels", RELATIONS.as_bytes()),
        ("xl/sharedStrings.xml", strings.as_bytes()),
        ("xl/worksheets/sheet1.xml", sheet.as_bytes()),
    ])
}

fn sheet(rows: &str) -> String {
    format!("<worksheet><sheetData>{rows}</sheetData></worksheet>")
}

fn ods(table: &str) -> Vec<u8> {
    let content = format!(
        r#"<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"><office:body><office:spreadsheet><table:table table:name="S">{table}</table:table></office:spreadsheet></office:body></office:document-content>"#
    );
    zip_of(&[
        (
            "mimetype",
            b"application/vnd.oasis.opendocument.spreadsheet",
        ),
        ("content.xml", content.as_bytes()),
    ])
}

/// A compound file with one stream, `Workbook`: a sheet that says it has all
/// rows and columns that can be counted, and one cell.
fn xls(last_row: u32, last_column: u16) -> Vec<u8> {
    let record = |kind: u16, body: &[u8]| {
        let mut bytes = kind.to_le_bytes().to_vec();
        bytes.extend((body.len() as u16).to_le_bytes());
        bytes.extend(body);
        bytes
    };
    let begin = |kind: u16| {
        let mut body = vec![0u8, 6];
        body.extend(kind.to_le_bytes());
        body.extend([0; 12]);
        record(0x0809, &body)
    };
    let mut stream = begin(5);
    let at = stream.len() + 4 + 10 + 4;
    let mut bound = (at as u32).to_le_bytes().to_vec();
    bound.extend([0, 0, 2, 0, b'S', b'1']);
    stream.extend(record(0x0085, &bound));
    stream.extend(record(0x000A, &[]));
    stream.extend(begin(0x10));
    let mut size = 0u32.to_le_bytes().to_vec();
    size.extend(last_row.to_le_bytes());
    size.extend(0u16.to_le_bytes());
    size.extend(last_column.to_le_bytes());
    size.extend([0, 0]);
    stream.extend(record(0x0200, &size));
    let mut cell = vec![0, 0, 0, 0, 0, 0];
    cell.extend(1.0f64.to_le_bytes());
    stream.extend(record(0x0203, &cell));
    stream.extend(record(0x000A, &[]));
    stream.resize(4096, 0);
    compound(&stream)
}

fn compound(stream: &[u8]) -> Vec<u8> {
    const END: u32 = 0xFFFF_FFFE;
    const FREE: u32 = 0xFFFF_FFFF;
    let mut header = vec![0xD0, 0xCF, 0x11, 0xE0, 0xA1, 0xB1, 0x1A, 0xE1];
    header.extend([0; 16]);
    for half in [0x3Eu16, 3, 0xFFFE, 9, 6, 0, 0, 0] {
        header.extend(half.to_le_bytes());
    }
    for word in [0u32, 1, 1, 0, 4096, END, 0, END, 0] {
        header.extend(word.to_le_bytes());
    }
    header.extend(0u32.to_le_bytes());
    header.resize(512, 0xFF);
    let mut table = vec![0xFFFF_FFFDu32, END];
    let sectors = stream.len().div_ceil(512) as u32;
    table.extend((0..sectors).map(|at| if at + 1 == sectors { END } else { at + 3 }));
    table.resize(128, FREE);
    let entry = |name: &str, kind: u8, child: u32, start: u32, size: u32| {
        let mut bytes: Vec<u8> = name.encode_utf16().flat_map(u16::to_le_bytes).collect();
        let length = (bytes.len() + 2) as u16;
        bytes.resize(64, 0);
        bytes.extend(length.to_le_bytes());
        bytes.extend([kind, 1]);
        for word in [FREE, FREE, child] {
            bytes.extend(word.to_le_bytes());
        }
        bytes.extend([0; 36]);
        bytes.extend(start.to_le_bytes());
        bytes.extend(size.to_le_bytes());
        bytes.extend([0; 4]);
        bytes
    };
    let mut file = header;
    file.extend(table.into_iter().flat_map(u32::to_le_bytes));
    file.extend(entry("Root Entry", 5, 1, END, 0));
    file.extend(entry("Workbook", 2, FREE, 2, stream.len() as u32));
    file.resize(512 * 3, 0);
    file.extend(stream);
    file
}

fn honest_workbook() -> Vec<u8> {
    let mut workbook = rust_xlsxwriter::Workbook::new();
    let out = workbook.add_worksheet();
    for (row, line) in HONEST.lines().enumerate() {
        for (column, text) in line.split(',').enumerate() {
            out.write(row as u32, column as u16, text).expect("a cell");
        }
    }
    workbook.save_to_buffer().expect("a workbook")
}

/// Name, content, and whether it must be refused; `None` where it may also
/// be read as far as it goes.
fn cases() -> Vec<(&'static str, Vec<u8>, Option<bool>)> {
    let honest = honest_workbook();
    let mut flipped = honest.clone();
    let middle = flipped.len() / 2;
    for byte in &mut flipped[middle..middle + 40] {
        *byte ^= 0x55;
    }
    let cell = |reference: &str, value: &str| {
        sheet(&format!(
            "<row r=\"1\"><c r=\"{reference}\" {value}</c></row>"
        ))
    };
    let bomb = format!(
        "<row><c t=\"inlineStr\"><is><t>{}</t></is></c></row>",
        "a".repeat(30_000)
    );
    let laughs: String = (1..12)
        .map(|n| format!("<!ENTITY l{n} \"{}\">", format!("&l{};", n - 1).repeat(10)))
        .collect();
    let laughs = format!(
        "<!DOCTYPE x [<!ENTITY l0 \"ha\">{laughs}<!ENTITY f SYSTEM \"file:///etc/passwd\">]>{}",
        cell("A1", "t=\"str\"><v>&l11;&f;</v>")
    );
    let nested = "<a>".repeat(2_000_000);
    let far = "<table:table-row table:number-rows-repeated=\"1000000000\"><table:table-cell office:value-type=\"float\" office:value=\"1\" table:number-columns-repeated=\"1000000000\"/></table:table-row>";
    let many: Vec<(String, &[u8])> = (0..20_000)
        .map(|n| (format!("xl/p{n}.xml"), b"x".as_slice()))
        .collect();
    let many: Vec<(&str, &[u8])> = many
        .iter()
        .map(|(name, bytes)| (name.as_str(), *bytes))
        .collect();
    vec![
        ("empty.xlsx", Vec::new(), Some(true)),
        (
            "truncated.xlsx",
            honest[..honest.len() / 2].to_vec(),
            Some(true),
        ),
        ("text.xlsx", b"this is no workbook".to_vec(), Some(true)),
        ("flipped.xlsx", flipped, None),
        (
            "no-such-string.xlsx",
            xlsx(&cell("A1", "t=\"s\"><v>999</v>"), "<sst/>"),
            Some(true),
        ),
        (
            "bad-reference.xlsx",
            xlsx(&cell("??2", "><v>1</v>"), "<sst/>"),
            Some(true),
        ),
        (
            "far-cell.xlsx",
            xlsx(&cell("XFD1048576", "><v>1</v>"), "<sst/>"),
            Some(true),
        ),
        (
            "far-column.xlsx",
            xlsx(&cell("XFD20000", "><v>1</v>"), "<sst/>"),
            Some(true),
        ),
        (
            "false-count.xlsx",
            xlsx(
                &cell("A1", "t=\"s\"><v>0</v>"),
                "<sst uniqueCount=\"400000000\"><si><t>a</t></si></sst>",
            ),
            Some(true),
        ),
        (
            "bomb.xlsx",
            xlsx(&sheet(&bomb.repeat(20_000)), "<sst/>"),
            Some(true),
        ),
        ("laughs.xlsx", xlsx(&laughs, "<sst/>"), Some(true)),
        ("nested.xlsx", xlsx(&nested, "<sst/>"), Some(true)),
        ("many-parts.xlsx", zip_of(&many), Some(true)),
        ("repeated.ods", ods(far), Some(true)),
        (
            "repeated-text.ods",
            ods(
                "<table:table-row table:number-rows-repeated=\"1000000\"><table:table-cell office:value-type=\"string\" table:number-columns-repeated=\"16000\"><text:p>FC-1</text:p></table:table-cell></table:table-row>",
            ),
            Some(true),
        ),
        ("false-size.xls", xls(u32::MAX, u16::MAX), Some(true)),
        ("far-size.xls", xls(65_536, 256), Some(true)),
        ("cut.xls", xls(1, 1)[..1_600].to_vec(), Some(true)),
        ("no-workbook.xls", compound(&[0; 4096]), Some(true)),
        ("zeros.csv", vec![0; 3_000_000], Some(true)),
        ("one-line.csv", vec![b','; 3_000_000], Some(true)),
        (
            "open-quote.csv",
            [b"Tag,Type\n\"".to_vec(), vec![b'x'; 3_000_000]].concat(),
            None,
        ),
        ("a workbook.xls", honest_workbook(), Some(false)),
        ("a workbook.csv", honest_workbook(), Some(false)),
    ]
}

/// Runs the program where no more than `kilobytes` of addresses are to be
/// had.
fn limited(folder: &Path, kilobytes: u64, args: &[&str]) -> Output {
    let program = assert_cmd::cargo::cargo_bin("ampledger");
    assert_cmd::Command::new("sh")
        .args([
            "-c",
            &format!("ulimit -v {kilobytes} && exec \"$0\" \"$@\""),
        ])
        .arg(program)
        .args(args)
        .current_dir(folder)
        .timeout(Duration::from_secs(300))
        .output()
        .expect("it runs")
}

#[test]
fn a_file_that_lies_is_refused_with_a_sentence_and_the_rest_goes_on() {
    let folder = tempfile::tempdir().expect("a folder");
    if !cfg!(target_os = "linux") {
        eprintln!("SKIPPED: no limit of addresses outside of Linux");
        return;
    }
    let cases = cases();
    let mut jobs = 1;
    write(folder.path(), "in/honest/equipment.csv", HONEST);
    for (at, (name, bytes, _)) in cases.iter().enumerate() {
        write(folder.path(), &format!("in/{at:02}/{name}"), bytes);
    }
    let began = Instant::now();
    let args = [
        "audit",
        "in",
        "--out",
        "out",
        "--as-of",
        "2026-01-01",
        "--threads",
        "2",
    ];
    let run = limited(folder.path(), 2_000_000, &args);
    let said = stderr(&run);
    assert_eq!(run.status.code(), Some(3), "{said}");
    for (name, _, refused) in &cases {
        let line = said
            .lines()
            .find(|line| line.contains(&format!("/{name}: ")));
        let refused = refused.unwrap_or(line.is_some());
        assert_eq!(line.is_some(), refused, "{name} in:\n{said}");
        jobs += usize::from(!refused);
        if let Some(line) = line {
            let sentence = line.split_once(": ").map_or("", |(_, rest)| rest);
            assert!(sentence.len() > 20 && sentence.ends_with('.'), "{line}");
        }
    }
    for word in [
        "panicked",
        "overflow",
        "memory allocation",
        "RUST_BACKTRACE",
    ] {
        assert!(!said.contains(word), "{said}");
    }
    assert_eq!(
        rows(&folder.path().join("out/jobs.csv")).len(),
        jobs,
        "{said}"
    );
    assert!(
        began.elapsed() < Duration::from_secs(200),
        "{:?}",
        began.elapsed()
    );
}

/// What is no file must neither be read nor waited for.
#[test]
fn pipes_devices_folders_and_dangling_links_stop_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    write(folder.path(), "in/honest.csv", HONEST);
    std::fs::create_dir_all(folder.path().join("in/folder.xlsx")).expect("a folder");
    let link = |to: &str, name: &str| {
        std::os::unix::fs::symlink(to, folder.path().join("in").join(name)).expect("a link");
    };
    link("nowhere.csv", "gone.csv");
    link("/dev/zero", "zero.csv");
    link("..", "round");
    let pipe = folder.path().join("in/pipe.csv");
    let made = std::process::Command::new("mkfifo").arg(&pipe).status();
    let args = ["audit", "in", "--out", "out", "--as-of", "2026-01-01"];
    let run = limited(folder.path(), 2_000_000, &args);
    let said = stderr(&run);
    assert_eq!(run.status.code(), Some(3), "{said}");
    let mut names = vec!["gone.csv", "zero.csv", "round"];
    if made.is_ok_and(|status| status.success()) {
        names.push("pipe.csv");
    }
    for name in names {
        assert!(said.contains(name), "{name} in {said}");
    }
    assert_eq!(rows(&folder.path().join("out/jobs.csv")).len(), 1, "{said}");
}
