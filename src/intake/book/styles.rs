//! The palette of cell formats of an OOXML workbook.

use super::look::{Edges, Horizontal, Line, Look, Rgb, Vertical};
use super::number_format::{NumberFormat, built_in};
use super::package::Package;
use calamine::{
    BorderStyle, Color, FillPattern, FontStyle, FontWeight, HorizontalAlignment, Reader, Style,
    UnderlineStyle, VerticalAlignment, Xlsx,
};
use std::io::{Cursor, Write};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

/// Bytes of styles or theme beyond which they are let be.
const MOST: u64 = 16 << 20;

const ROOT: &str = r#"<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>"#;
const WORKBOOK: &str = r#"<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="s" sheetId="1" r:id="rId1"/></sheets></workbook>"#;
const RELATIONS: &str = r#"<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>"#;
const SHEET: &str = r#"<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData></sheetData></worksheet>"#;

/// Reads the palette. calamine resolves fonts, fills, themes and tints; it is
/// given the styles and the theme alone, in a package of ours, so that it
/// never meets the sheets and strings of an unchecked file.
///
/// # Errors
/// A sentence where the styles cannot be read: dates then show as numbers.
pub(super) fn read(
    package: &mut Package,
    styles: &str,
    theme: Option<&str>,
) -> Result<Vec<Look>, String> {
    let failed = |detail: String| {
        format!("The cell formats could not be read ({detail}): dates show as numbers.")
    };
    let bytes = small_package(package, styles, theme).map_err(failed)?;
    let Some(bytes) = bytes else {
        return Ok(Vec::new());
    };
    let palette = std::panic::catch_unwind(|| -> Result<Vec<Look>, calamine::XlsxError> {
        let mut workbook: Xlsx<_> = Xlsx::new(Cursor::new(bytes))?;
        let reader = workbook.worksheet_cells_reader("s")?;
        Ok(reader.styles().iter().map(look).collect())
    });
    match palette {
        Ok(Ok(looks)) => Ok(looks),
        Ok(Err(error)) => Err(failed(error.to_string())),
        Err(_) => Err(failed("the reader failed".to_owned())),
    }
}

fn small_package(
    package: &mut Package,
    styles: &str,
    theme: Option<&str>,
) -> Result<Option<Vec<u8>>, String> {
    let mut writer = ZipWriter::new(Cursor::new(Vec::with_capacity(8 << 10)));
    let Some(styles) = package.bytes(styles, MOST).map_err(|e| e.to_string())? else {
        return Ok(None);
    };
    let theme = match theme {
        Some(part) => package.bytes(part, MOST).map_err(|e| e.to_string())?,
        None => None,
    };
    let stored = SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    for (name, content) in [
        ("_rels/.rels", Some(ROOT.as_bytes())),
        ("xl/workbook.xml", Some(WORKBOOK.as_bytes())),
        ("xl/_rels/workbook.xml.rels", Some(RELATIONS.as_bytes())),
        ("xl/worksheets/sheet1.xml", Some(SHEET.as_bytes())),
        ("xl/styles.xml", Some(styles.as_slice())),
        ("xl/theme/theme1.xml", theme.as_deref()),
    ] {
        let Some(content) = content else { continue };
        writer.start_file(name, stored).map_err(|e| e.to_string())?;
        writer.write_all(content).map_err(|e| e.to_string())?;
    }
    let done = writer.finish().map_err(|e| e.to_string())?;
    Ok(Some(done.into_inner()))
}

fn look(style: &Style) -> Look {
    let mut look = Look::default();
    if let Some(font) = &style.font {
        look.bold = font.weight == FontWeight::Bold;
        look.italic = font.style == FontStyle::Italic;
        look.underline = font.underline != UnderlineStyle::None;
        look.strike = font.strikethrough;
        look.font_size = font.size;
        look.font_name = font.name.as_deref().map(str::to_owned);
        look.font_colour = font.color.as_ref().map(rgb);
    }
    if let Some(fill) = &style.fill
        && fill.pattern != FillPattern::None
    {
        look.fill_colour = fill.get_color().as_ref().map(rgb);
    }
    if let Some(format) = &style.number_format {
        let named = format.format_id.and_then(built_in);
        look.number_format = NumberFormat::parse(named.unwrap_or(&format.format_code));
    }
    if let Some(alignment) = &style.alignment {
        look.wrap = alignment.wrap_text;
        look.horizontal = horizontal(&alignment.horizontal);
        look.vertical = vertical(&alignment.vertical);
    }
    if let Some(borders) = &style.borders {
        look.edges = Edges {
            left: line(&borders.left.style),
            right: line(&borders.right.style),
            top: line(&borders.top.style),
            bottom: line(&borders.bottom.style),
        };
    }
    look
}

fn rgb(colour: &Color) -> Rgb {
    u32::from(colour.red) << 16 | u32::from(colour.green) << 8 | u32::from(colour.blue)
}

fn horizontal(alignment: &HorizontalAlignment) -> Horizontal {
    match alignment {
        HorizontalAlignment::Left => Horizontal::Left,
        HorizontalAlignment::Center => Horizontal::Center,
        HorizontalAlignment::CenterContinuous => Horizontal::CenterAcross,
        HorizontalAlignment::Right => Horizontal::Right,
        HorizontalAlignment::Justify => Horizontal::Justify,
        HorizontalAlignment::Distributed => Horizontal::Distributed,
        HorizontalAlignment::Fill => Horizontal::Fill,
        _ => Horizontal::General,
    }
}

fn vertical(alignment: &VerticalAlignment) -> Vertical {
    match alignment {
        VerticalAlignment::Top => Vertical::Top,
        VerticalAlignment::Center => Vertical::Center,
        VerticalAlignment::Justify => Vertical::Justify,
        VerticalAlignment::Distributed => Vertical::Distributed,
        _ => Vertical::Bottom,
    }
}

fn line(style: &BorderStyle) -> Line {
    match style {
        BorderStyle::None => Line::None,
        BorderStyle::Thin => Line::Thin,
        BorderStyle::Thick => Line::Thick,
        BorderStyle::Double => Line::Double,
        BorderStyle::Hair => Line::Hair,
        BorderStyle::Dashed | BorderStyle::DashDot | BorderStyle::DashDotDot => Line::Dashed,
        BorderStyle::Dotted => Line::Dotted,
        _ => Line::Medium,
    }
}
