//! How far the pictures, charts and shapes on a sheet reach.

use super::Package;
use super::cells::At;
use super::columns::Columns;
use super::fault::CannotEdit;
use super::relations::Relations;
use super::xml::{Document, Element, number};

/// English metric units, in which drawings are measured: of a pixel of a
/// column's width, and of a point of a row's height.
const EMU_PER_PIXEL: f64 = 9_525.0;
const EMU_PER_POINT: f64 = 12_700.0;
/// Columns and rows that are measured on one sheet: a drawing that says more is
/// none that anybody prints.
const MOST_STEPS: u32 = 20_000;
/// What a picture of a size of its own may reach beyond where it is reckoned
/// to: widths of columns are in characters of a font that is not looked at.
const SLACK: f64 = 1.1;

/// The first and the last cell under each of the drawings of a sheet; `None`
/// where that is not to be told. `height` is that of a row, in points.
pub(super) fn reaches(
    package: &mut Package,
    relations: &Relations,
    sheet: &Document,
    columns: &Columns,
    height: impl Fn(u32) -> f64,
) -> Option<Vec<(At, At)>> {
    let mut reaches = Vec::new();
    let mut ruler = Ruler {
        columns,
        height: &height,
        left: MOST_STEPS,
    };
    for drawing in sheet.children_of("drawing") {
        let relation = super::workbook::relation_of(drawing.tag(&sheet.text));
        let relation = relation.and_then(|id| relations.by_id(&id))?;
        let drawing = package.archive.document(&relation.target).ok()?;
        for anchor in anchors(&drawing).ok()? {
            reaches.push(reach(&drawing, &anchor, &mut ruler)?);
        }
    }
    Some(reaches)
}

/// Anchors, also those that are written twice, for programs of another age.
fn anchors(drawing: &Document) -> Result<Vec<Element>, CannotEdit> {
    let mut anchors = Vec::new();
    for child in &drawing.children {
        if child.name(&drawing.text) != "AlternateContent" {
            anchors.push(child.clone());
            continue;
        }
        for choice in drawing.elements_in(child)? {
            anchors.extend(drawing.elements_in(&choice)?);
        }
    }
    Ok(anchors)
}

fn reach(drawing: &Document, anchor: &Element, ruler: &mut Ruler) -> Option<(At, At)> {
    let text = &drawing.text;
    let inside = drawing.elements_in(anchor).ok()?;
    let child = |name: &str| inside.iter().find(|child| child.name(text) == name);
    let size = |name: &str, attribute: &str| -> Option<f64> {
        let size: f64 = number(child(name)?.tag(text), attribute)?;
        size.is_finite().then_some(size.max(0.0))
    };
    let place = |name: &str| place(drawing, child(name)?);
    let from = match anchor.name(text) {
        "absoluteAnchor" => size("pos", "x")
            .zip(size("pos", "y"))
            .and_then(|(x, y)| ruler.moved(&Place::default(), x, y)),
        _ => place("from"),
    };
    let to = match anchor.name(text) {
        "twoCellAnchor" => place("to"),
        "oneCellAnchor" | "absoluteAnchor" => {
            let size = size("ext", "cx").zip(size("ext", "cy")).zip(from.as_ref());
            size.and_then(|((x, y), from)| ruler.moved(from, x * SLACK, y * SLACK))
        }
        _ => None,
    };
    let (from, last) = (from?, to?.last());
    let first = (from.row.min(last.0), from.column.min(last.1));
    Some((first, last))
}

/// A point on a sheet: a cell, and how far inside it.
#[derive(Default)]
struct Place {
    row: u32,
    column: u16,
    down: f64,
    right: f64,
}

fn place(drawing: &Document, element: &Element) -> Option<Place> {
    let inside = drawing.elements_in(element).ok()?;
    let value = |name: &str| -> Option<f64> {
        let mut inside = inside.iter();
        let found = inside.find(|child| child.name(&drawing.text) == name)?;
        let value: f64 = found.inner(&drawing.text).trim().parse().ok()?;
        (0.0..1e12).contains(&value).then_some(value)
    };
    let (row, column) = (value("row")?, value("col")?);
    let inside = row < f64::from(super::cells::ROWS) && column < f64::from(super::cells::COLUMNS);
    inside.then(|| Place {
        row: row as u32,
        column: column as u16,
        down: value("rowOff").unwrap_or(0.0),
        right: value("colOff").unwrap_or(0.0),
    })
}

/// Lays lengths over columns and rows.
struct Ruler<'a> {
    columns: &'a Columns,
    height: &'a dyn Fn(u32) -> f64,
    left: u32,
}

impl Ruler<'_> {
    /// The place that is so far from another; `None` where that is too far.
    fn moved(&mut self, from: &Place, right: f64, down: f64) -> Option<Place> {
        let mut to = Place {
            right: from.right + right,
            down: from.down + down,
            ..*from
        };
        loop {
            self.left = self.left.checked_sub(1)?;
            let width = self.columns.pixels(to.column) * EMU_PER_PIXEL;
            if to.right < width || to.column == super::cells::COLUMNS - 1 {
                break;
            }
            to.right -= width;
            to.column += 1;
        }
        loop {
            self.left = self.left.checked_sub(1)?;
            let height = (self.height)(to.row) * EMU_PER_POINT;
            if to.down < height || to.row == super::cells::ROWS - 1 {
                break;
            }
            to.down -= height;
            to.row += 1;
        }
        Some(to)
    }
}

impl Place {
    /// The last cell of what ends here: at a cell's edge, the one before.
    fn last(&self) -> At {
        let row = self.row.saturating_sub(u32::from(self.down <= 0.0));
        let column = self.column.saturating_sub(u16::from(self.right <= 0.0));
        (row, column)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reached(anchor: &str) -> Option<(At, At)> {
        let columns = "<cols><col min=\"1\" max=\"1\" width=\"13.57\"/></cols>";
        let columns = Document::new("p", columns.to_owned()).expect("sound");
        let columns = Columns::read(&columns, Some(&columns.root));
        let text = format!("<xdr:wsDr>{anchor}</xdr:wsDr>");
        let drawing = Document::new("d", text).expect("sound");
        let anchors = anchors(&drawing).expect("sound");
        let mut ruler = Ruler {
            columns: &columns,
            height: &|row| if row == 0 { 30.0 } else { 15.0 },
            left: MOST_STEPS,
        };
        reach(&drawing, &anchors[0], &mut ruler)
    }

    fn from(row: u32, column: u16, name: &str) -> String {
        format!(
            "<xdr:{name}><xdr:col>{column}</xdr:col><xdr:colOff>9525</xdr:colOff>\
             <xdr:row>{row}</xdr:row><xdr:rowOff>12700</xdr:rowOff></xdr:{name}>"
        )
    }

    #[test]
    fn a_drawing_reaches_to_its_last_cell() {
        let two = |name: &str| {
            format!(
                "<xdr:twoCellAnchor>{}{name}</xdr:twoCellAnchor>",
                from(1, 2, "from")
            )
        };
        assert_eq!(reached(&two(&from(6, 9, "to"))), Some(((1, 2), (6, 9))));
        let edge = from(6, 9, "to").replace("9525", "0").replace("12700", "0");
        assert_eq!(reached(&two(&edge)), Some(((1, 2), (5, 8))));
        let wrapped = format!(
            "<mc:AlternateContent><mc:Choice>{}</mc:Choice></mc:AlternateContent>",
            two(&from(6, 9, "to"))
        );
        assert_eq!(reached(&wrapped), Some(((1, 2), (6, 9))));
        assert_eq!(reached(&two("")), None);
        assert_eq!(reached("<xdr:otherAnchor/>"), None);
    }

    // A column of 13.57 characters is 100 pixels wide, others are 64.
    #[test]
    fn a_size_is_laid_over_columns_and_rows() {
        let size = |pixels: f64, points: f64| {
            let (x, y) = (
                pixels * EMU_PER_PIXEL / SLACK,
                points * EMU_PER_POINT / SLACK,
            );
            format!("<xdr:ext cx=\"{x:.0}\" cy=\"{y:.0}\"/>")
        };
        let absolute = |size: String| {
            let pos = "<xdr:pos x=\"0\" y=\"0\"/>";
            reached(&format!(
                "<xdr:absoluteAnchor>{pos}{size}</xdr:absoluteAnchor>"
            ))
        };
        assert_eq!(absolute(size(99.0, 29.0)), Some(((0, 0), (0, 0))));
        assert_eq!(absolute(size(101.0, 31.0)), Some(((0, 0), (1, 1))));
        assert_eq!(absolute(size(300.0, 59.0)), Some(((0, 0), (2, 4))));
        let one = format!(
            "<xdr:oneCellAnchor>{}{}</xdr:oneCellAnchor>",
            from(0, 0, "from"),
            size(100.0, 30.0)
        );
        assert_eq!(reached(&one), Some(((0, 0), (1, 1))));
        assert_eq!(absolute(size(100.0, 1e9)), None);
    }
}
