//! Gives everything in a scene its place, row by row, and draws it.

mod detours;

use super::canvas::{Canvas, Stroke, Type, plain};
use super::scene::{Arm, Hang, Scene, Stop};

const LEFT: f64 = 130.0;
const RIGHT: f64 = 96.0;
const BOX: (f64, f64) = (164.0, 66.0);
const GAP: f64 = 72.0;
const IN_ROW: usize = 5;
pub(super) const WIDTH: f64 = LEFT + RIGHT + BOX.0 * 5.0 + GAP * 4.0;
/// A controller of two lines, of one, and the room between two.
const HANG: f64 = 40.0;
const LOW_HANG: f64 = 24.0;
const HANG_GAP: f64 = 6.0;
const FLAG: f64 = 31.0;
const LANE: f64 = 18.0;
/// Lines of units begin at multiples of this, so that a page can end between
/// two of them: the height of a row of a sheet, in pixels.
pub(super) const STEP: f64 = 20.0;

/// Units side by side; `(arm, stop)` each. A row of a wrapped arm may run
/// from right to left.
struct Row {
    cells: Vec<(usize, usize)>,
    leftward: bool,
    /// Cells of the row that come before, of other arms and empty ones.
    shift: usize,
}

/// Where a unit stands.
#[derive(Clone, Copy)]
struct Spot {
    x: f64,
    y: f64,
    row: usize,
}

/// A drawing, its height, and where it may be cut into pages.
pub(super) struct Placed {
    pub canvas: Canvas,
    pub height: f64,
    pub cuts: Vec<f64>,
}

pub(super) fn draw(scene: &Scene) -> Placed {
    let rows = rows(&scene.arms);
    let mut drawing = Drawing {
        scene,
        rows: &rows,
        canvas: Canvas::default(),
        spots: Vec::new(),
        lanes: vec![Vec::new(); rows.len()],
        cuts: Vec::new(),
    };
    drawing.assign_lanes();
    let top = drawing.heading();
    let bottom = drawing.place(top);
    drawing.detours();
    drawing.wires();
    drawing.units();
    drawing.cuts.push((bottom / STEP).ceil() * STEP);
    let bottom = drawing.findings(bottom);
    let height = drawing.legend(bottom);
    Placed {
        canvas: drawing.canvas,
        height,
        cuts: drawing.cuts,
    }
}

/// Long arms wrap, every second row running back; short ones share a row,
/// an empty place between them.
fn rows(arms: &[Arm]) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    let mut used = IN_ROW;
    for (index, arm) in arms.iter().enumerate() {
        let stops: Vec<(usize, usize)> = (0..arm.stops.len()).map(|at| (index, at)).collect();
        // A mark of a broken end needs the room of a unit.
        let wanted = stops.len() + usize::from(arm.broken.is_some());
        if used + 1 + wanted <= IN_ROW {
            rows.push(Row {
                cells: stops,
                leftward: false,
                shift: used + 1,
            });
            used += 1 + wanted;
            continue;
        }
        for (turn, cells) in stops.chunks(IN_ROW).enumerate() {
            rows.push(Row {
                cells: cells.to_vec(),
                leftward: turn % 2 == 1,
                shift: 0,
            });
        }
        used = match stops.len() <= IN_ROW {
            true => wanted,
            false => IN_ROW,
        };
    }
    rows
}

/// How far right of its unit's edge a controller stands.
const HANG_LEFT: f64 = 30.0;

/// Letters no larger than lets a text stand in this width; a text that would
/// be too small to read goes beyond it.
fn within(look: Type, text: &str, width: f64) -> Type {
    const SMALLEST: f64 = 9.0;
    let fits = look.size * width / look.width(text).max(1.0);
    Type {
        size: look.size.min(fits).max(SMALLEST),
        ..look
    }
}

/// Whether name and length of a controller go on one line.
fn is_low(hang: &Hang) -> bool {
    let look = plain(12.0);
    let tags = hang.tags.iter().take(1);
    let tags: f64 = tags.map(|tag| Canvas::tag_width(tag) + 4.0).sum();
    let width = tags + look.bold().width(&hang.label) + 4.0 + look.width(&hang.words);
    hang.room.is_empty() && width <= BOX.0 - HANG_LEFT - 14.0
}

fn hang_height(hang: &Hang) -> f64 {
    match hang.is_none() {
        true => 14.0,
        false if is_low(hang) => LOW_HANG,
        false => HANG,
    }
}

struct Drawing<'a> {
    scene: &'a Scene,
    rows: &'a [Row],
    canvas: Canvas,
    /// By arm and stop, in the order of the rows.
    spots: Vec<((usize, usize), Spot)>,
    /// Detours that run above each row.
    lanes: Vec<Vec<usize>>,
    /// Heights between two lines of units.
    cuts: Vec<f64>,
}

impl Drawing<'_> {
    fn stop(&self, cell: (usize, usize)) -> Option<&Stop> {
        self.scene.arms.get(cell.0)?.stops.get(cell.1)
    }

    fn spot(&self, cell: (usize, usize)) -> Option<Spot> {
        let found = self.spots.iter().find(|(known, _)| *known == cell);
        found.map(|(_, spot)| *spot)
    }

    fn cell_of(&self, node: usize) -> Option<(usize, usize)> {
        let cells = self.rows.iter().flat_map(|row| &row.cells);
        cells
            .copied()
            .find(|cell| self.stop(*cell).is_some_and(|stop| stop.node == node))
    }

    fn row_of(&self, cell: (usize, usize)) -> Option<usize> {
        let at = self.rows.iter().position(|row| row.cells.contains(&cell))?;
        Some(self.line_of(at))
    }

    /// The first of the rows that stand on one line.
    fn line_of(&self, row: usize) -> usize {
        let shifted = |at: &usize| self.rows.get(*at).is_some_and(|row| row.shift == 0);
        (0..=row).rev().find(shifted).unwrap_or(0)
    }

    fn assign_lanes(&mut self) {
        for (index, detour) in self.scene.detours.iter().enumerate() {
            for node in [detour.from, detour.to] {
                let line = self.cell_of(node).and_then(|cell| self.row_of(cell));
                if let Some(lanes) = line.and_then(|line| self.lanes.get_mut(line))
                    && !lanes.contains(&index)
                {
                    lanes.push(index);
                }
            }
        }
    }

    fn heading(&mut self) -> f64 {
        self.canvas
            .text(24.0, 34.0, plain(20.0).bold(), &self.scene.title);
        let mut y = 54.0;
        for line in plain(13.0).wrap(&self.scene.facts.join("; "), WIDTH - 60.0) {
            self.canvas.text(24.0, y, plain(13.0), &line);
            y += 17.0;
        }
        y + 4.0
    }

    /// Gives every unit its spot; the lower edge of the last row.
    fn place(&mut self, top: f64) -> f64 {
        let mut y = top;
        let mut at = 0;
        while at < self.rows.len() {
            let line = at;
            let mut end = at + 1;
            while self.rows.get(end).is_some_and(|row| row.shift > 0) {
                end += 1;
            }
            let (above, below) = self.room(line, end);
            if line > 0 {
                y = (y / STEP).ceil() * STEP;
                self.cuts.push(y);
            }
            let box_y = y + above;
            for index in line..end {
                let Some(row) = self.rows.get(index) else {
                    continue;
                };
                for (nth, cell) in row.cells.iter().enumerate() {
                    let column = match row.leftward {
                        true => IN_ROW - 1 - nth,
                        false => row.shift + nth,
                    };
                    let x = LEFT + column as f64 * (BOX.0 + GAP);
                    let spot = Spot {
                        x,
                        y: box_y,
                        row: line,
                    };
                    self.spots.push((*cell, spot));
                }
            }
            y = box_y + BOX.1 + below;
            at = end;
        }
        y
    }

    /// Room above and below the units of one line.
    fn room(&self, line: usize, end: usize) -> (f64, f64) {
        let cells = self.rows.get(line..end).unwrap_or_default();
        let cells = cells.iter().flat_map(|row| &row.cells);
        let (mut flags, mut hangs, mut heading) = (0, 0.0_f64, false);
        for cell in cells {
            if let Some(stop) = self.stop(*cell) {
                flags = flags.max(stop.flags.len());
                let heights = stop.hangs.iter().map(|hang| hang_height(hang) + HANG_GAP);
                hangs = hangs.max(heights.sum());
            }
            let arm = self.scene.arms.get(cell.0);
            heading |= cell.1 == 0 && arm.is_some_and(|arm| !arm.heading.is_empty());
        }
        let lanes = self.lanes.get(line).map_or(0, Vec::len);
        let above =
            14.0 + flags as f64 * FLAG + lanes as f64 * LANE + if heading { 18.0 } else { 0.0 };
        (above, 10.0 + hangs)
    }

    fn wires(&mut self) {
        let cells: Vec<((usize, usize), Spot)> = self.spots.clone();
        for (cell, spot) in cells {
            let Some(before) = cell.1.checked_sub(1).and_then(|at| self.spot((cell.0, at))) else {
                continue;
            };
            let Some(wire) = self.stop(cell).and_then(|stop| stop.wire.clone()) else {
                continue;
            };
            let stroke = if wire.faulty {
                Stroke::Faulty
            } else {
                Stroke::Run
            };
            let middle = |spot: Spot| spot.y + BOX.1 / 2.0;
            let (x, y, look, under) = if before.row == spot.row {
                let (left, right) = (before.x.min(spot.x) + BOX.0, before.x.max(spot.x));
                let y = middle(spot);
                self.canvas.line(&[(left, y), (right, y)], stroke);
                let middle = (left + right) / 2.0;
                // The outdoor unit's frame is double, and stands out a little.
                let room = right - left - 12.0;
                let look = within(plain(13.0).middle(), &wire.length, room);
                (middle, y - 7.0, look, y + 16.0)
            } else {
                // Around the row's end, down to the next row.
                let right = before.x > LEFT + 1.0 || spot.x > LEFT + 1.0;
                let (edge, out) = match right {
                    true => (before.x.max(spot.x) + BOX.0, 20.0),
                    false => (before.x.min(spot.x), -20.0),
                };
                let x = edge + out;
                let (top, bottom) = (middle(before), middle(spot));
                self.canvas.line(
                    &[(edge, top), (x, top), (x, bottom), (edge, bottom)],
                    stroke,
                );
                let look = if right {
                    plain(13.0)
                } else {
                    plain(13.0).end()
                };
                let y = (top + bottom) / 2.0 + 4.0;
                (x + if right { 6.0 } else { -6.0 }, y, look, y + 16.0)
            };
            self.canvas.label(x, y, look, &wire.length);
            let mut under = under;
            for words in wire.words.iter().chain(&wire.tags) {
                let look = Type { size: 11.0, ..look };
                let look = if wire.words.contains(words) {
                    look
                } else {
                    look.bold()
                };
                self.canvas
                    .label(x, under, look, &look.fit(words, GAP - 4.0));
                under += 13.0;
            }
        }
    }

    fn units(&mut self) {
        for (cell, spot) in self.spots.clone() {
            let Some(stop) = self.stop(cell).cloned() else {
                continue;
            };
            self.unit(&stop, spot);
            self.flags(&stop, spot);
            let mut y = spot.y + BOX.1 + 10.0;
            for (nth, hang) in stop.hangs.iter().enumerate() {
                self.hang(hang, (spot, y), nth);
                y += hang_height(hang) + HANG_GAP;
            }
            let Some(arm) = self.scene.arms.get(cell.0) else {
                continue;
            };
            if cell.1 == 0 && !arm.heading.is_empty() {
                let lanes = self.lanes.get(spot.row).map_or(0, Vec::len);
                let above = 8.0 + stop.flags.len() as f64 * FLAG + lanes as f64 * LANE;
                self.canvas
                    .label(spot.x, spot.y - above, plain(13.0).bold(), &arm.heading);
            }
            if let Some(broken) = arm
                .broken
                .as_ref()
                .filter(|_| cell.1 + 1 == arm.stops.len())
            {
                let turns = self.rows.iter().find(|row| row.cells.contains(&cell));
                let leftward = turns.is_some_and(|row| row.leftward);
                let (x, out) = if leftward {
                    (spot.x, -30.0)
                } else {
                    (spot.x + BOX.0, 30.0)
                };
                let y = spot.y + BOX.1 / 2.0;
                self.canvas.line(&[(x, y), (x + out, y)], Stroke::Run);
                self.canvas.cross(x + out, y);
                let look = plain(12.0).bold().middle();
                let x = x + out * 1.35;
                for (nth, word) in look.wrap(&broken.words, GAP + 10.0).iter().enumerate() {
                    let y = y + 23.0 + 14.0 * nth as f64;
                    self.canvas.label(x, y, look, word);
                }
                if let Some(tag) = &broken.tag {
                    let y = y + 42.0;
                    self.canvas.tag(x - Canvas::tag_width(tag) / 2.0, y, tag);
                }
            }
        }
    }

    fn unit(&mut self, stop: &Stop, spot: Spot) {
        let frame = if stop.apart {
            Stroke::Apart
        } else {
            Stroke::Frame
        };
        if stop.outdoor {
            let corner = (spot.x - 4.0, spot.y - 4.0);
            self.canvas
                .frame(corner, (BOX.0 + 8.0, BOX.1 + 8.0), 0.0, Stroke::Frame);
        }
        self.canvas.frame((spot.x, spot.y), BOX, 3.0, frame);
        let small = plain(13.0);
        let number = format!("{}", stop.number);
        let width = plain(12.0).width(&number);
        self.canvas
            .text(spot.x + 7.0, spot.y + 20.0, plain(12.0), &number);
        let name = plain(16.5).bold();
        let label = name.fit(&stop.label, BOX.0 - width - 18.0);
        self.canvas
            .text(spot.x + 12.0 + width, spot.y + 20.0, name, &label);
        let room = BOX.0 - 12.0;
        let lines = small.wrap(&stop.room, room);
        let alone = stop.kind.is_empty() && stop.tags.is_empty();
        let lines = match (lines.as_slice(), alone) {
            ([first, second, ..], true) => vec![
                first.clone(),
                match lines.len() {
                    2 => second.clone(),
                    _ => small.fit(&format!("{second} {}", lines[2..].join(" ")), room),
                },
            ],
            _ => vec![small.fit(&stop.room, room)],
        };
        for (nth, line) in lines.iter().enumerate() {
            let y = spot.y + 38.0 + 17.0 * nth as f64;
            self.canvas.text(spot.x + 7.0, y, small, line);
        }
        let mut x = spot.x + 7.0;
        for tag in &stop.tags {
            if x < spot.x + BOX.0 - 50.0 {
                x += self.canvas.tag(x, spot.y + 57.0, tag) + 4.0;
            }
        }
        let kind = plain(12.0).fit(&stop.kind, (spot.x + BOX.0 - x - 6.0).max(20.0));
        self.canvas.text(x, spot.y + 56.0, plain(12.0), &kind);
    }

    fn flags(&mut self, stop: &Stop, spot: Spot) {
        let x = spot.x + 9.0;
        for (nth, flag) in stop.flags.iter().enumerate() {
            let y = spot.y - 6.0 - nth as f64 * FLAG;
            let look = plain(12.0);
            let text = x + 14.0;
            if nth == 0 {
                let top = spot.y - stop.flags.len() as f64 * FLAG + 6.0;
                self.canvas.line(&[(x, spot.y), (x, top)], Stroke::Leaves);
            }
            if flag.fault {
                self.canvas.cross(x, y - 10.0);
            }
            let words = look.bold().fit(&flag.words, BOX.0 + GAP - 30.0);
            self.canvas.label(
                text,
                y - 14.0,
                look,
                &look.fit(&flag.to, BOX.0 + GAP - 30.0),
            );
            self.canvas.label(text, y, look.bold(), &words);
        }
    }

    fn hang(&mut self, hang: &Hang, (spot, y): (Spot, f64), nth: usize) {
        let x = spot.x + 10.0 + 6.0 * nth.min(3) as f64;
        let left = spot.x + HANG_LEFT;
        let look = plain(12.0);
        if hang.is_none() {
            self.canvas.text(spot.x + 7.0, y + 10.0, look, &hang.label);
            return;
        }
        let height = hang_height(hang);
        let middle = y + height / 2.0;
        if hang.wired {
            let points = [(x, spot.y + BOX.1), (x, middle), (left, middle)];
            self.canvas.line(&points, Stroke::HomeRun);
        } else if hang.astray {
            let out = left - 20.0;
            self.canvas
                .line(&[(left, middle), (out, middle)], Stroke::Leaves);
            self.canvas.cross(out, middle);
        }
        let size = (BOX.0 - HANG_LEFT, height);
        self.canvas.frame((left, y), size, 11.0, Stroke::Hair);
        let mut inner = left + 8.0;
        for tag in hang.tags.iter().take(1) {
            inner += self.canvas.tag(inner, y + 16.5, tag) + 4.0;
        }
        let right = left + size.0 - 4.0;
        let bold = look.bold();
        if is_low(hang) {
            self.canvas.text(inner, y + 16.5, bold, &hang.label);
            let after = inner + bold.width(&hang.label) + 4.0;
            self.canvas.text(after, y + 16.5, look, &hang.words);
            return;
        }
        let name = bold.fit(&hang.label, right - inner);
        self.canvas.text(inner, y + 16.5, bold, &name);
        let parts = [&hang.words, &hang.room].into_iter();
        let parts: Vec<&str> = parts
            .filter(|part| !part.is_empty())
            .map(String::as_str)
            .collect();
        let second = look.fit(&parts.join(", "), size.0 - 12.0);
        self.canvas.text(left + 8.0, y + 32.0, look, &second);
    }

    fn findings(&mut self, top: f64) -> f64 {
        let mut y = top + 24.0;
        let look = plain(13.0);
        for (tag, text) in &self.scene.findings {
            self.canvas.tag(24.0, y, tag);
            for line in look.wrap(text, WIDTH - 170.0) {
                self.canvas.text(LEFT, y, look, &line);
                y += 17.0;
            }
            y += 5.0;
        }
        y
    }

    /// The lines in words.
    fn legend(&mut self, top: f64) -> f64 {
        let y = top + 14.0;
        self.canvas
            .line(&[(24.0, y - 14.0), (WIDTH - 24.0, y - 14.0)], Stroke::Hair);
        let mut x = 24.0;
        for (stroke, words) in [
            (Stroke::Run, "bus run"),
            (Stroke::Faulty, "bus run to fix"),
            (Stroke::Leaves, "leaves the chain"),
            (Stroke::HomeRun, "controller's home run"),
            (Stroke::Apart, "frame: unit not reached"),
        ] {
            self.canvas.line(&[(x, y), (x + 40.0, y)], stroke);
            let look = plain(12.0);
            self.canvas.text(x + 46.0, y + 4.0, look, words);
            x += 46.0 + look.width(words) + 22.0;
        }
        let words = "double frame: outdoor unit; black tag: finding below the drawing; cross: not to \
                     be pulled like this; not to scale";
        self.canvas.text(24.0, y + 24.0, plain(12.0), words);
        y + 42.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_length_is_written_smaller_between_two_units() {
        let full = plain(13.0);
        for (text, smaller) in [("20 ft", false), ("210 ft", false), ("1,346.78 ft", true)] {
            let look = within(full, text, GAP - 12.0);
            assert_eq!(look.size < full.size, smaller, "{text}");
            assert!(look.width(text) <= GAP - 12.0 + 1e-9, "{text}");
        }
        assert!(within(full, &"9".repeat(40), GAP).size >= 9.0);
    }
}
