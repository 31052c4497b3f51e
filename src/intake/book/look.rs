//! How a cell is dressed, as far as a rebuilt copy carries it.

use super::number_format::NumberFormat;

/// A colour as `0xRRGGBB`.
pub type Rgb = u32;

#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Horizontal {
    #[default]
    General,
    Left,
    Center,
    Right,
    Justify,
    Fill,
    Distributed,
    CenterAcross,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Vertical {
    Top,
    Center,
    #[default]
    Bottom,
    Justify,
    Distributed,
}

/// The weight of a border line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Line {
    #[default]
    None,
    Thin,
    Medium,
    Thick,
    Double,
    Hair,
    Dashed,
    Dotted,
}

/// The lines around a cell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Edges {
    pub left: Line,
    pub right: Line,
    pub top: Line,
    pub bottom: Line,
}

/// One entry of the workbook's palette of cell formats.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Look {
    pub bold: bool,
    pub italic: bool,
    pub underline: bool,
    pub strike: bool,
    /// Points; `None` for the workbook's default.
    pub font_size: Option<f64>,
    pub font_name: Option<String>,
    pub font_colour: Option<Rgb>,
    pub fill_colour: Option<Rgb>,
    /// `None` for General.
    pub number_format: Option<NumberFormat>,
    pub wrap: bool,
    pub horizontal: Horizontal,
    pub vertical: Vertical,
    pub edges: Edges,
}
