//! The floor: the same files read, and the same cells, formats, notes, links
//! and widths written, by the libraries and nothing else.

use calamine::{DataRef, Reader, Xlsx};
use rust_xlsxwriter::{Color, ConditionalFormatFormula, Format, Note, Workbook};
use std::collections::{BTreeMap, BTreeSet};
use std::error::Error;
use std::fs::File;
use std::hint::black_box;
use std::io::{BufReader, Cursor, Read};
use std::path::Path;

type Outcome<T> = Result<T, Box<dyn Error + Send + Sync>>;

/// Reads all cells of a workbook; their number.
pub fn read_workbook(path: &Path) -> Outcome<usize> {
    let mut book = Xlsx::new(BufReader::new(File::open(path)?))?;
    let mut cells = 0;
    for sheet in book.sheet_names() {
        let mut reader = book.worksheet_cells_reader(&sheet)?;
        while let Some(cell) = reader.next_cell()? {
            black_box(cell.get_value());
            cells += 1;
        }
    }
    Ok(cells)
}

/// Reads all fields of a text file; their number.
pub fn read_text(path: &Path) -> Outcome<usize> {
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .has_headers(false)
        .from_path(path)?;
    let (mut record, mut fields) = (csv::ByteRecord::new(), 0);
    while reader.read_byte_record(&mut record)? {
        fields += black_box(&record).len();
    }
    Ok(fields)
}

enum Value {
    Number(f64),
    Text(String),
}

struct SheetOf {
    name: String,
    cells: Vec<(u32, u16, Value)>,
    links: BTreeSet<String>,
    notes: usize,
    conditions: usize,
    widths: usize,
    heights: usize,
    filtered: bool,
}

/// What one workbook of ours holds, ready to be written again.
pub struct Sample {
    sheets: Vec<SheetOf>,
    /// Ready pictures, which all go into the last sheet.
    pictures: Vec<Vec<u8>>,
}

impl Sample {
    /// Takes a workbook of ours apart.
    pub fn of(bytes: &[u8]) -> Outcome<Self> {
        let raw = raw_parts(bytes)?;
        let mut book = Xlsx::new(Cursor::new(bytes))?;
        let mut sheets = Vec::new();
        let mut comments = 0;
        for (at, name) in book.sheet_names().into_iter().enumerate() {
            let part = |name: String| {
                let bytes = raw.get(&name).map_or(&[][..], Vec::as_slice);
                std::str::from_utf8(bytes).unwrap_or_default()
            };
            let xml = part(format!("xl/worksheets/sheet{}.xml", at + 1));
            let notes = if xml.contains("<legacyDrawing") {
                comments += 1;
                part(format!("xl/comments{comments}.xml"))
                    .matches("<comment ")
                    .count()
            } else {
                0
            };
            let links = xml
                .split("<hyperlink ref=\"")
                .skip(1)
                .filter_map(|rest| Some(rest.split_once('"')?.0.to_owned()))
                .collect();
            let mut cells = Vec::new();
            let mut reader = book.worksheet_cells_reader(&name)?;
            while let Some(cell) = reader.next_cell()? {
                let (row, column) = cell.get_position();
                let value = match cell.get_value() {
                    DataRef::Empty => continue,
                    DataRef::Float(number) => Value::Number(*number),
                    DataRef::Int(number) => Value::Number(*number as f64),
                    DataRef::String(text) => Value::Text(text.clone()),
                    DataRef::SharedString(text) => Value::Text((*text).to_owned()),
                    other => Value::Text(format!("{other:?}")),
                };
                cells.push((row, column as u16, value));
            }
            sheets.push(SheetOf {
                name,
                cells,
                links,
                notes,
                conditions: xml.matches("<cfRule").count(),
                widths: xml.matches("<col ").count(),
                heights: xml.matches("customHeight=").count(),
                filtered: xml.contains("<autoFilter"),
            });
        }
        let pictures = raw.into_iter().filter(|(name, _)| name.ends_with(".png"));
        Ok(Self {
            sheets,
            pictures: pictures.map(|(_, bytes)| bytes).collect(),
        })
    }

    /// Writes it again; the bytes.
    pub fn write(&self) -> Outcome<Vec<u8>> {
        let colours = [
            0xFF_F2CC, 0xF8_CBAD, 0xDD_EBF7, 0xE2_EFDA, 0xED_EDED, 0xFF_FFFF,
        ];
        let formats: Vec<Format> = colours
            .into_iter()
            .flat_map(|colour| {
                let plain = Format::new().set_background_color(Color::RGB(colour));
                [plain.clone().set_text_wrap(), plain.set_bold()]
            })
            .collect();
        let mut workbook = Workbook::new();
        for (at, of) in self.sheets.iter().enumerate() {
            let sheet = workbook.add_worksheet().set_name(&of.name)?;
            for column in 0..of.widths {
                sheet.set_column_width(column as u16, 14)?;
            }
            for row in 0..of.heights {
                sheet.set_row_height(row as u32, 29.4)?;
            }
            for (row, column, value) in &of.cells {
                let format = &formats[(*row as usize + usize::from(*column)) % formats.len()];
                match value {
                    Value::Number(number) => {
                        sheet.write_number_with_format(*row, *column, *number, format)?;
                    }
                    Value::Text(text) if of.links.contains(&address(*row, *column)) => {
                        let url = rust_xlsxwriter::Url::new("internal:A1").set_text(text);
                        sheet.write_url_with_format(*row, *column, url, format)?;
                    }
                    Value::Text(text) => {
                        sheet.write_string_with_format(*row, *column, text, format)?;
                    }
                }
            }
            for at in 0..of.notes {
                let note = Note::new("As long as what a note of the audit says of a cell.");
                sheet.insert_note(1 + at as u32, 1, &note)?;
            }
            for at in 0..of.conditions {
                let rule = ConditionalFormatFormula::new()
                    .set_rule("=TRUE")
                    .set_format(&formats[at % 4]);
                let row = at as u32;
                sheet.add_conditional_format(row, 0, row, 3, &rule)?;
            }
            if at + 1 == self.sheets.len() {
                for picture in &self.pictures {
                    let picture = rust_xlsxwriter::Image::new_from_buffer(picture)?;
                    sheet.insert_image(of.heights as u32 + 1, 0, &picture)?;
                }
            }
            sheet.set_freeze_panes(1, 0)?;
            if of.filtered {
                sheet.autofilter(0, 0, 40, 8)?;
            }
        }
        Ok(workbook.save_to_buffer()?)
    }
}

fn address(row: u32, column: u16) -> String {
    let mut letters = String::new();
    let mut left = u32::from(column) + 1;
    while left > 0 {
        left -= 1;
        letters.insert(0, char::from(b'A' + (left % 26) as u8));
        left /= 26;
    }
    format!("{letters}{}", row + 1)
}

fn raw_parts(bytes: &[u8]) -> Outcome<BTreeMap<String, Vec<u8>>> {
    let mut zip = zip::ZipArchive::new(Cursor::new(bytes))?;
    let mut parts = BTreeMap::new();
    for index in 0..zip.len() {
        let mut part = zip.by_index(index)?;
        let mut content = Vec::new();
        part.read_to_end(&mut content)?;
        parts.insert(part.name()?.into_owned(), content);
    }
    Ok(parts)
}
