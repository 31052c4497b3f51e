//! A drawing as a picture: greys, letters of a font that is built in, so that
//! the same drawing is the same picture on every machine.

use super::canvas::{Anchor, Block, Canvas, Point, Shape, Stroke, Type};
use flate2::{Compression, write::ZlibEncoder};
use std::io::Write;
use ttf_parser::{Face, GlyphId, OutlineBuilder};
use zeno::{Command, Join, Mask, PathBuilder, Style, Vector};

/// Pixels for one of a screen: sharp on paper.
const SCALE: f64 = 2.0;
/// Above so many pixels a picture is made at the screen's own scale.
const LARGE: f64 = 40e6;
/// A screen's pixels to the metre, 96 to the inch.
const DENSITY: f64 = 96.0 / 0.0254;

/// A PNG file; `None` where the drawing has no size that one could have, or
/// the built-in font cannot be read.
pub(super) fn png(canvas: &Canvas, (width, height): (f64, f64)) -> Option<Vec<u8>> {
    let scale = match width * height * SCALE * SCALE > LARGE {
        true => 1.0,
        false => SCALE,
    };
    let pixels = |length: f64| (length * scale).ceil().clamp(0.0, 65_000.0) as usize;
    let mut picture = Picture {
        width: pixels(width),
        height: pixels(height),
        greys: vec![255; pixels(width) * pixels(height)],
        scale,
        faces: [face(dejavu::sans::regular())?, face(dejavu::sans::bold())?],
    };
    if picture.greys.is_empty() {
        return None;
    }
    for shape in &canvas.shapes {
        picture.draw(shape);
    }
    file(&picture)
}

fn face(bytes: &'static [u8]) -> Option<Face<'static>> {
    Face::parse(bytes, 0).ok()
}

struct Picture {
    width: usize,
    height: usize,
    /// 0 is black.
    greys: Vec<u8>,
    scale: f64,
    /// Regular and bold.
    faces: [Face<'static>; 2],
}

impl Picture {
    fn draw(&mut self, shape: &Shape) {
        match shape {
            Shape::Line(points, stroke) => {
                let path: Vec<Command> = points
                    .iter()
                    .enumerate()
                    .map(|(nth, point)| match nth {
                        0 => Command::MoveTo(self.at(*point)),
                        _ => Command::LineTo(self.at(*point)),
                    })
                    .collect();
                self.stroke(&path, *stroke);
            }
            Shape::Frame(block, stroke) => {
                let path = self.block(block);
                self.ink(&path, zeno::Fill::NonZero, 255);
                self.stroke(&path, *stroke);
            }
            Shape::Fill(block, black) => {
                let path = self.block(block);
                self.ink(&path, zeno::Fill::NonZero, if *black { 0 } else { 255 });
            }
            Shape::Text(place, look, words) => {
                let path = self.letters(*place, look, words);
                let grey = if look.inverse { 255 } else { 0 };
                self.ink(&path, zeno::Fill::NonZero, grey);
            }
        }
    }

    fn at(&self, (x, y): Point) -> Vector {
        Vector::new((x * self.scale) as f32, (y * self.scale) as f32)
    }

    fn block(&self, block: &Block) -> Vec<Command> {
        let size = self.at(block.size);
        let mut path: Vec<Command> = Vec::new();
        // No corner is rounder than half a side.
        let round = (block.round * self.scale) as f32;
        let round = round.min(size.x / 2.0).min(size.y / 2.0);
        if round > 0.0 {
            path.add_round_rect(self.at(block.corner), size.x, size.y, round, round);
        } else {
            path.add_rect(self.at(block.corner), size.x, size.y);
        }
        path
    }

    fn stroke(&mut self, path: &[Command], stroke: Stroke) {
        let scale = self.scale as f32;
        let dashes: Vec<f32> = stroke.dashes().iter().map(|d| *d as f32 * scale).collect();
        let mut style = zeno::Stroke::new(stroke.width() as f32 * scale);
        style.join(Join::Miter);
        if !dashes.is_empty() {
            style.dash(&dashes, 0.0);
        }
        self.ink(path, style, 0);
    }

    /// The letters of a text, side by side.
    fn letters(&self, place: Point, look: &Type, words: &str) -> Vec<Command> {
        let [regular, bold] = &self.faces;
        let face = if look.bold { bold } else { regular };
        let em = look.size * self.scale / f64::from(face.units_per_em().max(1));
        // What the font has no letter for shows as the box that it has for that.
        let glyphs: Vec<GlyphId> = words
            .chars()
            .map(|c| face.glyph_index(c).unwrap_or(GlyphId(0)))
            .collect();
        let advance = |glyph: &GlyphId| f64::from(face.glyph_hor_advance(*glyph).unwrap_or(0));
        let width = glyphs.iter().map(advance).sum::<f64>() * em;
        let start = place.0 * self.scale;
        let mut pen = Pen {
            path: Vec::new(),
            x: match look.anchor {
                Anchor::Start => start,
                Anchor::Middle => start - width / 2.0,
                Anchor::End => start - width,
            },
            y: place.1 * self.scale,
            em,
        };
        for glyph in glyphs {
            face.outline_glyph(glyph, &mut pen);
            pen.x += advance(&glyph) * em;
        }
        pen.path
    }

    fn ink<'s>(&mut self, path: &[Command], style: impl Into<Style<'s>>, grey: u8) {
        if path.is_empty() {
            return;
        }
        let (mask, place) = Mask::new(path).style(style).render();
        let (left, top) = (i64::from(place.left), i64::from(place.top));
        let rows = mask.chunks(place.width.max(1) as usize);
        for (row, cover) in (top..).zip(rows) {
            let Some(row) = usize::try_from(row).ok().filter(|row| *row < self.height) else {
                continue;
            };
            for (column, cover) in (left..).zip(cover) {
                let column = usize::try_from(column).ok().filter(|at| *at < self.width);
                let under = column.and_then(|at| self.greys.get_mut(row * self.width + at));
                if let Some(under) = under {
                    let (cover, was) = (u32::from(*cover), u32::from(*under));
                    let mixed = was * (255 - cover) + u32::from(grey) * cover;
                    *under = ((mixed + 127) / 255) as u8;
                }
            }
        }
    }
}

/// Draws a letter: the font counts upwards.
struct Pen {
    path: Vec<Command>,
    x: f64,
    y: f64,
    em: f64,
}

impl Pen {
    fn at(&self, x: f32, y: f32) -> Vector {
        let across = self.x + f64::from(x) * self.em;
        let down = self.y - f64::from(y) * self.em;
        Vector::new(across as f32, down as f32)
    }
}

impl OutlineBuilder for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        let to = self.at(x, y);
        self.path.push(Command::MoveTo(to));
    }

    fn line_to(&mut self, x: f32, y: f32) {
        let to = self.at(x, y);
        self.path.push(Command::LineTo(to));
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let (control, to) = (self.at(x1, y1), self.at(x, y));
        self.path.push(Command::QuadTo(control, to));
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let (one, two, to) = (self.at(x1, y1), self.at(x2, y2), self.at(x, y));
        self.path.push(Command::CurveTo(one, two, to));
    }

    fn close(&mut self) {
        self.path.push(Command::Close);
    }
}

/// The file (PNG, ISO/IEC 15948): eight bits of grey a pixel, no filter.
fn file(picture: &Picture) -> Option<Vec<u8>> {
    let mut header = Vec::new();
    for side in [picture.width, picture.height] {
        header.extend(u32::try_from(side).ok()?.to_be_bytes());
    }
    // Depth, kind (grey), and the only compression, filter set and order.
    header.extend([8, 0, 0, 0, 0]);
    let density = (DENSITY * picture.scale).round() as u32;
    let mut physical = Vec::new();
    physical.extend(density.to_be_bytes());
    physical.extend(density.to_be_bytes());
    physical.push(1);
    let mut rows = ZlibEncoder::new(Vec::new(), Compression::default());
    for row in picture.greys.chunks(picture.width) {
        rows.write_all(&[0]).ok()?;
        rows.write_all(row).ok()?;
    }
    let mut out = b"\x89PNG\r\n\x1a\n".to_vec();
    chunk(&mut out, b"IHDR", &header)?;
    chunk(&mut out, b"pHYs", &physical)?;
    chunk(&mut out, b"IDAT", &rows.finish().ok()?)?;
    chunk(&mut out, b"IEND", &[])?;
    Some(out)
}

fn chunk(out: &mut Vec<u8>, kind: &[u8; 4], data: &[u8]) -> Option<()> {
    out.extend(u32::try_from(data.len()).ok()?.to_be_bytes());
    let mut sum = crc32fast::Hasher::new();
    sum.update(kind);
    sum.update(data);
    out.extend(kind);
    out.extend(data);
    out.extend(sum.finalize().to_be_bytes());
    Some(())
}
