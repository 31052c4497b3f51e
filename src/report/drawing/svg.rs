//! A drawing as SVG text, shape by shape.

use super::canvas::{Anchor, Block, Canvas, Point, Shape, Stroke, Type};
use std::fmt::Write;

/// The face that the letters are meant for; the picture has it built in.
const FACE: &str = "DejaVu Sans";

/// A whole file; the same text for the same drawing.
pub(super) fn file(canvas: &Canvas, (width, height): (f64, f64), title: &str) -> String {
    let mut body = String::new();
    for shape in &canvas.shapes {
        match shape {
            Shape::Line(points, stroke) => line(&mut body, points, *stroke),
            Shape::Frame(block, stroke) => {
                let edge = format!(" stroke=\"#000\" {}", attributes(*stroke));
                rectangle(&mut body, block, "#fff", &edge);
            }
            Shape::Fill(block, black) => {
                rectangle(&mut body, block, if *black { "#000" } else { "#fff" }, "");
            }
            Shape::Text(place, look, words) => text(&mut body, *place, look, words),
        }
    }
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" \
         width=\"{w}\" height=\"{h}\" viewBox=\"0 0 {w} {h}\" font-family=\"{FACE}, \
         sans-serif\">\n<title>{}</title>\n<rect width=\"{w}\" height=\"{h}\" \
         fill=\"#fff\"/>\n{body}</svg>\n",
        escaped(title),
        w = at(width),
        h = at(height),
    )
}

/// A coordinate: one decimal, so that the same drawing has the same bytes.
fn at(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

fn attributes(stroke: Stroke) -> String {
    let mut text = format!("stroke-width=\"{}\"", at(stroke.width()));
    if !stroke.dashes().is_empty() {
        let dashes: Vec<String> = stroke.dashes().iter().map(|length| at(*length)).collect();
        let _ = write!(text, " stroke-dasharray=\"{}\"", dashes.join(" "));
    }
    text
}

fn line(body: &mut String, points: &[Point], stroke: Stroke) {
    let points: Vec<String> = points
        .iter()
        .map(|(x, y)| format!("{},{}", at(*x), at(*y)))
        .collect();
    let _ = writeln!(
        body,
        "<polyline points=\"{}\" fill=\"none\" stroke=\"#000\" {}/>",
        points.join(" "),
        attributes(stroke)
    );
}

fn rectangle(body: &mut String, block: &Block, fill: &str, edge: &str) {
    let _ = writeln!(
        body,
        "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"{}\" fill=\"{fill}\"{edge}/>",
        at(block.corner.0),
        at(block.corner.1),
        at(block.size.0),
        at(block.size.1),
        at(block.round)
    );
}

fn text(body: &mut String, (x, y): Point, look: &Type, words: &str) {
    let anchor = match look.anchor {
        Anchor::Start => "",
        Anchor::Middle => " text-anchor=\"middle\"",
        Anchor::End => " text-anchor=\"end\"",
    };
    let weight = if look.bold {
        " font-weight=\"bold\""
    } else {
        ""
    };
    let fill = if look.inverse { " fill=\"#fff\"" } else { "" };
    let _ = writeln!(
        body,
        "<text x=\"{}\" y=\"{}\" font-size=\"{}\"{anchor}{weight}{fill}>{}</text>",
        at(x),
        at(y),
        at(look.size),
        escaped(words)
    );
}

/// XML text; characters that XML has no place for become U+FFFD.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\n' | '\t' | '\r' => out.push(' '),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}
