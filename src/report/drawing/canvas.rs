//! SVG text, element by element: black and greys, lines told apart by their
//! dashes, never by a colour.

use std::fmt::Write;

/// The face that the letters are drawn with; one of it is built in.
pub(super) const FACE: &str = "DejaVu Sans";

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Stroke {
    /// A run of the chain.
    Run,
    /// A run with something to fix.
    Faulty,
    /// A run that leaves the chain: a branch, a loop, a second system.
    Leaves,
    /// A controller's home run.
    HomeRun,
    /// A frame.
    Frame,
    /// The frame of a unit that is not reached.
    Apart,
    Hair,
}

impl Stroke {
    fn attributes(self) -> &'static str {
        match self {
            Self::Run => "stroke-width=\"2.2\"",
            Self::Faulty => "stroke-width=\"4\" stroke-dasharray=\"9 5\"",
            Self::Leaves => "stroke-width=\"2.6\" stroke-dasharray=\"12 4 2 4\"",
            Self::HomeRun => "stroke-width=\"1.3\" stroke-dasharray=\"2 3\"",
            Self::Frame => "stroke-width=\"1.4\"",
            Self::Apart => "stroke-width=\"1.8\" stroke-dasharray=\"6 4\"",
            Self::Hair => "stroke-width=\"0.7\"",
        }
    }
}

#[derive(Clone, Copy, Debug)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// Where a text stands and how it looks.
#[derive(Clone, Copy, Debug)]
pub(super) struct Type {
    pub size: f64,
    pub bold: bool,
    pub anchor: Anchor,
    /// White on black.
    pub inverse: bool,
}

pub(super) const fn plain(size: f64) -> Type {
    Type {
        size,
        bold: false,
        anchor: Anchor::Start,
        inverse: false,
    }
}

impl Type {
    pub const fn bold(mut self) -> Self {
        self.bold = true;
        self
    }

    pub const fn middle(mut self) -> Self {
        self.anchor = Anchor::Middle;
        self
    }

    pub const fn end(mut self) -> Self {
        self.anchor = Anchor::End;
        self
    }

    const fn inverse(mut self) -> Self {
        self.inverse = true;
        self
    }

    /// Width of a text; a little too much rather than too little.
    pub fn width(&self, text: &str) -> f64 {
        let em: f64 = text.chars().map(width_of).sum();
        em * self.size * if self.bold { 1.12 } else { 1.0 }
    }

    /// The text, cut with an ellipsis where it is wider than `width`.
    pub fn fit(&self, text: &str, width: f64) -> String {
        if self.width(text) <= width {
            return text.to_owned();
        }
        let mut kept = String::new();
        for c in text.chars() {
            kept.push(c);
            if self.width(&kept) + self.size * 0.9 > width {
                kept.pop();
                break;
            }
        }
        format!("{}\u{2026}", kept.trim_end())
    }

    /// The text in lines no wider than `width`, words kept whole where they
    /// fit.
    pub fn wrap(&self, text: &str, width: f64) -> Vec<String> {
        let mut lines = Vec::new();
        let mut line = String::new();
        for word in text.split_whitespace() {
            let with = match line.is_empty() {
                true => word.to_owned(),
                false => format!("{line} {word}"),
            };
            if self.width(&with) <= width {
                line = with;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            line = self.fit(word, width);
        }
        if !line.is_empty() {
            lines.push(line);
        }
        lines
    }
}

/// Advance of a letter in ems, by kind of letter.
fn width_of(c: char) -> f64 {
    match c {
        'i' | 'l' | 'j' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | 'I' => 0.32,
        ' ' | 'f' | 't' | 'r' | '(' | ')' | '-' | '/' | '"' => 0.41,
        'm' | 'w' | 'M' | 'W' | '@' | '%' => 0.99,
        c if c.is_ascii_uppercase() => 0.74,
        c if c.is_ascii() => 0.64,
        // Letters of other scripts may be as wide as they are high.
        c if (c as u32) < 0x0250 => 0.72,
        _ => 1.0,
    }
}

#[derive(Debug, Default)]
pub(super) struct Canvas {
    body: String,
}

/// A coordinate: one decimal, so that the same drawing has the same bytes.
fn at(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

impl Canvas {
    pub fn line(&mut self, points: &[(f64, f64)], stroke: Stroke) {
        let points: Vec<String> = points
            .iter()
            .map(|(x, y)| format!("{},{}", at(*x), at(*y)))
            .collect();
        let _ = writeln!(
            self.body,
            "<polyline points=\"{}\" fill=\"none\" stroke=\"#000\" {}/>",
            points.join(" "),
            stroke.attributes()
        );
    }

    /// A frame, white inside so that what passes behind it is hidden.
    pub fn frame(&mut self, corner: (f64, f64), size: (f64, f64), round: f64, stroke: Stroke) {
        let _ = writeln!(
            self.body,
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"{}\" fill=\"#fff\" \
             stroke=\"#000\" {}/>",
            at(corner.0),
            at(corner.1),
            at(size.0),
            at(size.1),
            at(round),
            stroke.attributes()
        );
    }

    fn fill(&mut self, corner: (f64, f64), size: (f64, f64), round: f64, fill: &str) {
        let _ = writeln!(
            self.body,
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"{}\" fill=\"{fill}\"/>",
            at(corner.0),
            at(corner.1),
            at(size.0),
            at(size.1),
            at(round)
        );
    }

    pub fn text(&mut self, x: f64, y: f64, look: Type, text: &str) {
        if text.is_empty() {
            return;
        }
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
            self.body,
            "<text x=\"{}\" y=\"{}\" font-size=\"{}\"{anchor}{weight}{fill}>{}</text>",
            at(x),
            at(y),
            at(look.size),
            escaped(text)
        );
    }

    /// A text on a white ground, over lines.
    pub fn label(&mut self, x: f64, y: f64, look: Type, text: &str) {
        let width = look.width(text);
        let left = match look.anchor {
            Anchor::Start => x,
            Anchor::Middle => x - width / 2.0,
            Anchor::End => x - width,
        };
        self.fill(
            (left - 2.0, y - look.size),
            (width + 4.0, look.size + 3.0),
            0.0,
            "#fff",
        );
        self.text(x, y, look, text);
    }

    /// A black tag with white letters; `x` is its left edge. Gives its width.
    pub fn tag(&mut self, x: f64, y: f64, text: &str) -> f64 {
        let look = plain(9.5).bold();
        let width = look.width(text) + 8.0;
        self.fill((x, y - 10.0), (width, 13.5), 3.0, "#000");
        self.text(x + width / 2.0, y, look.middle().inverse(), text);
        width
    }

    pub fn cross(&mut self, x: f64, y: f64) {
        const R: f64 = 7.0;
        for (dx, dy) in [(R, R), (R, -R)] {
            let _ = writeln!(
                self.body,
                "<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\" stroke=\"#000\" \
                 stroke-width=\"3.4\"/>",
                at(x - dx),
                at(y - dy),
                at(x + dx),
                at(y + dy)
            );
        }
    }

    pub fn finish(self, width: f64, height: f64, title: &str) -> String {
        format!(
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" \
             width=\"{w}\" height=\"{h}\" viewBox=\"0 0 {w} {h}\" font-family=\"{FACE}, \
             sans-serif\">\n<title>{}</title>\n<rect width=\"{w}\" height=\"{h}\" \
             fill=\"#fff\"/>\n{}</svg>\n",
            escaped(title),
            self.body,
            w = at(width),
            h = at(height),
        )
    }
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
