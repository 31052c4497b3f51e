//! A look of the author's as a format of the copy.

use crate::intake::book::{Edges, Horizontal, Line, Look, Vertical};
use rust_xlsxwriter::{Color, Format, FormatAlign, FormatBorder, FormatUnderline};

/// A look as a format of the copy.
pub(super) fn format_of(look: &Look) -> Format {
    let mut format = Format::new();
    if look.bold {
        format = format.set_bold();
    }
    if look.italic {
        format = format.set_italic();
    }
    if look.underline {
        format = format.set_underline(FormatUnderline::Single);
    }
    if look.strike {
        format = format.set_font_strikethrough();
    }
    if let Some(size) = look.font_size.filter(|size| (1.0..=409.0).contains(size)) {
        format = format.set_font_size(size);
    }
    if let Some(name) = &look.font_name {
        format = format.set_font_name(name.as_str());
    }
    if let Some(colour) = look.font_colour {
        format = format.set_font_color(Color::RGB(colour & 0xFF_FF_FF));
    }
    if let Some(colour) = look.fill_colour {
        format = format.set_background_color(Color::RGB(colour & 0xFF_FF_FF));
    }
    if let Some(number) = &look.number_format {
        format = format.set_num_format(number.code());
    }
    if look.wrap {
        format = format.set_text_wrap();
    }
    edges(aligned(format, look), &look.edges)
}

fn aligned(format: Format, look: &Look) -> Format {
    let format = match look.horizontal {
        Horizontal::General => format,
        Horizontal::Left => format.set_align(FormatAlign::Left),
        Horizontal::Center => format.set_align(FormatAlign::Center),
        Horizontal::Right => format.set_align(FormatAlign::Right),
        Horizontal::Justify => format.set_align(FormatAlign::Justify),
        Horizontal::Fill => format.set_align(FormatAlign::Fill),
        Horizontal::Distributed => format.set_align(FormatAlign::Distributed),
        Horizontal::CenterAcross => format.set_align(FormatAlign::CenterAcross),
    };
    match look.vertical {
        Vertical::Bottom => format,
        Vertical::Top => format.set_align(FormatAlign::Top),
        Vertical::Center => format.set_align(FormatAlign::VerticalCenter),
        Vertical::Justify => format.set_align(FormatAlign::VerticalJustify),
        Vertical::Distributed => format.set_align(FormatAlign::VerticalDistributed),
    }
}

fn edges(format: Format, edges: &Edges) -> Format {
    format
        .set_border_left(border(edges.left))
        .set_border_right(border(edges.right))
        .set_border_top(border(edges.top))
        .set_border_bottom(border(edges.bottom))
}

fn border(line: Line) -> FormatBorder {
    match line {
        Line::None => FormatBorder::None,
        Line::Thin => FormatBorder::Thin,
        Line::Medium => FormatBorder::Medium,
        Line::Thick => FormatBorder::Thick,
        Line::Double => FormatBorder::Double,
        Line::Hair => FormatBorder::Hair,
        Line::Dashed => FormatBorder::Dashed,
        Line::Dotted => FormatBorder::Dotted,
    }
}
