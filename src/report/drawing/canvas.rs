//! What a drawing is made of: lines told apart by their dashes, frames and
//! letters, black on white, never a colour. The file of vectors and the
//! picture are both written from this.

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
    /// An arm of the mark of a fault.
    Cross,
}

impl Stroke {
    pub fn width(self) -> f64 {
        match self {
            Self::Run => 2.2,
            Self::Faulty => 4.0,
            Self::Leaves => 2.6,
            Self::HomeRun => 1.3,
            Self::Frame => 1.4,
            Self::Apart => 1.8,
            Self::Hair => 0.7,
            Self::Cross => 3.4,
        }
    }

    /// Lengths drawn and left out in turn; empty for a line without gaps.
    pub fn dashes(self) -> &'static [f64] {
        match self {
            Self::Faulty => &[9.0, 5.0],
            Self::Leaves => &[12.0, 4.0, 2.0, 4.0],
            Self::HomeRun => &[2.0, 3.0],
            Self::Apart => &[6.0, 4.0],
            Self::Run | Self::Frame | Self::Hair | Self::Cross => &[],
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

/// The letters of a tag.
const TAG: Type = plain(11.5).bold();

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

pub(super) type Point = (f64, f64);

/// An upright rectangle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Block {
    pub corner: Point,
    pub size: (f64, f64),
    /// Radius of its corners.
    pub round: f64,
}

#[derive(Clone, Debug)]
pub(super) enum Shape {
    Line(Vec<Point>, Stroke),
    /// White inside, so that what passes behind it is hidden.
    Frame(Block, Stroke),
    /// Black, or white.
    Fill(Block, bool),
    /// The left, middle or right end of the line on which its letters stand.
    Text(Point, Type, String),
}

/// Shapes in the order in which they lie on each other.
#[derive(Clone, Debug, Default)]
pub(super) struct Canvas {
    pub shapes: Vec<Shape>,
}

impl Canvas {
    pub fn line(&mut self, points: &[Point], stroke: Stroke) {
        self.shapes.push(Shape::Line(points.to_vec(), stroke));
    }

    pub fn frame(&mut self, corner: Point, size: (f64, f64), round: f64, stroke: Stroke) {
        let block = Block {
            corner,
            size,
            round,
        };
        self.shapes.push(Shape::Frame(block, stroke));
    }

    fn fill(&mut self, corner: Point, size: (f64, f64), round: f64, black: bool) {
        let block = Block {
            corner,
            size,
            round,
        };
        self.shapes.push(Shape::Fill(block, black));
    }

    pub fn text(&mut self, x: f64, y: f64, look: Type, text: &str) {
        if !text.is_empty() {
            self.shapes.push(Shape::Text((x, y), look, text.to_owned()));
        }
    }

    /// A text on a white ground, over lines.
    pub fn label(&mut self, x: f64, y: f64, look: Type, text: &str) {
        let width = look.width(text);
        let left = match look.anchor {
            Anchor::Start => x,
            Anchor::Middle => x - width / 2.0,
            Anchor::End => x - width,
        };
        let size = (width + 4.0, look.size + 3.0);
        self.fill((left - 2.0, y - look.size), size, 0.0, false);
        self.text(x, y, look, text);
    }

    /// A black tag with white letters; `x` is its left edge. Gives its width.
    pub fn tag(&mut self, x: f64, y: f64, text: &str) -> f64 {
        let width = Self::tag_width(text);
        self.fill((x, y - 12.0), (width, 16.0), 3.0, true);
        self.text(x + width / 2.0, y, TAG.middle().inverse(), text);
        width
    }

    pub fn tag_width(text: &str) -> f64 {
        TAG.width(text) + 8.0
    }

    pub fn cross(&mut self, x: f64, y: f64) {
        const R: f64 = 7.0;
        for (dx, dy) in [(R, R), (R, -R)] {
            self.line(&[(x - dx, y - dy), (x + dx, y + dy)], Stroke::Cross);
        }
    }
}
