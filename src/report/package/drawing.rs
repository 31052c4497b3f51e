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
) -> Result<Option<Vec<(At, At)>>, CannotEdit> {
    let mut reaches = Vec::new();
    for drawing in sheet.children_of("drawing") {
        let relation = super::workbook::relation_of(drawing.tag(&sheet.text));
        let relation = relation.and_then(|id| relations.by_id(&id));
        let Some(relation) = relation.filter(|r| package.archive.has(&r.target)) else {
            return Ok(None);
        };
        let drawing = package.archive.document(&relation.target)?;
        for anchor in anchors(&drawing)? {
            match reach(&drawing, &anchor, columns, &height)? {
                Some(reach) => reaches.push(reach),
                None => return Ok(None),
            }
        }
    }
    Ok(Some(reaches))
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

fn reach(
    drawing: &Document,
    anchor: &Element,
    columns: &Columns,
    height: &impl Fn(u32) -> f64,
) -> Result<Option<(At, At)>, CannotEdit> {
    let text = &drawing.text;
    let inside = drawing.elements_in(anchor)?;
    let child = |name: &str| inside.iter().find(|child| child.name(text) == name);
    let size = |name: &str, attribute: &str| -> Option<f64> {
        let size: f64 = number(child(name)?.tag(text), attribute)?;
        size.is_finite().then_some(size.max(0.0))
    };
    let place = |name: &str| child(name).map(|child| place(drawing, child)).transpose();
    let from = match anchor.name(text) {
        "absoluteAnchor" => size("pos", "x")
            .zip(size("pos", "y"))
            .map(|(x, y)| Place::default().moved(x, y, columns, height)),
        _ => place("from")?.flatten(),
    };
    let to = match anchor.name(text) {
        "twoCellAnchor" => place("to")?.flatten(),
        "oneCellAnchor" | "absoluteAnchor" => {
            let size = size("ext", "cx").zip(size("ext", "cy")).zip(from.as_ref());
            size.map(|((x, y), from)| from.moved(x * SLACK, y * SLACK, columns, height))
        }
        _ => None,
    };
    Ok(from.zip(to).map(|(from, to)| {
        let last = to.last();
        let first = (from.row.min(last.0), from.column.min(last.1));
        (first, last)
    }))
}

/// A point on a sheet: a cell, and how far inside it.
#[derive(Default)]
struct Place {
    row: u32,
    column: u16,
    down: f64,
    right: f64,
}

fn place(drawing: &Document, element: &Element) -> Result<Option<Place>, CannotEdit> {
    let inside = drawing.elements_in(element)?;
    let value = |name: &str| -> Option<f64> {
        let mut inside = inside.iter();
        let found = inside.find(|child| child.name(&drawing.text) == name)?;
        let value: f64 = found.inner(&drawing.text).trim().parse().ok()?;
        (0.0..1e12).contains(&value).then_some(value)
    };
    let at = || {
        let (row, column) = (value("row")?, value("col")?);
        let inside =
            row < f64::from(super::cells::ROWS) && column < f64::from(super::cells::COLUMNS);
        inside.then(|| Place {
            row: row as u32,
            column: column as u16,
            down: value("rowOff").unwrap_or(0.0),
            right: value("colOff").unwrap_or(0.0),
        })
    };
    Ok(at())
}

impl Place {
    fn moved(
        &self,
        right: f64,
        down: f64,
        columns: &Columns,
        height: &impl Fn(u32) -> f64,
    ) -> Self {
        let (mut row, mut column) = (self.row, self.column);
        let (mut right, mut down) = (self.right + right, self.down + down);
        while column < super::cells::COLUMNS - 1 && right >= columns.pixels(column) * EMU_PER_PIXEL
        {
            right -= columns.pixels(column) * EMU_PER_PIXEL;
            column += 1;
        }
        while row < super::cells::ROWS - 1 && down >= height(row) * EMU_PER_POINT {
            down -= height(row) * EMU_PER_POINT;
            row += 1;
        }
        Self {
            row,
            column,
            down,
            right,
        }
    }

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
        let height = |row| if row == 0 { 30.0 } else { 15.0 };
        reach(&drawing, &anchors[0], &columns, &height).expect("sound")
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
    }
}
