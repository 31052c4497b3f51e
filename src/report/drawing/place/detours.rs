//! Runs that are no step of an arm, led around the units.

use super::super::canvas::{Stroke, plain};
use super::{BOX, Drawing, FLAG, LANE, LEFT, Spot, WIDTH};
use std::collections::BTreeMap;

/// One end of a detour: where it leaves its lane for a unit.
struct End {
    x: f64,
    /// Height of its lane.
    lane: f64,
    /// Top of the unit.
    top: f64,
    row: usize,
}

struct Course {
    from: End,
    to: End,
}

impl Drawing<'_> {
    /// Each further detour drops a little farther left on a unit's top.
    fn courses(&self) -> Vec<(usize, Course)> {
        let mut drops: BTreeMap<usize, usize> = BTreeMap::new();
        let mut courses = Vec::new();
        for (index, detour) in self.scene.detours.iter().enumerate() {
            let ends = [detour.from, detour.to].map(|node| {
                let spot = self.cell_of(node).and_then(|cell| self.spot(cell))?;
                let nth = drops.entry(node).or_default();
                *nth += 1;
                Some(End {
                    x: spot.x + BOX.0 - 10.0 - 9.0 * (*nth - 1).min(14) as f64,
                    lane: self.lane(spot.row, index, spot),
                    top: spot.y,
                    row: spot.row,
                })
            });
            if let [Some(from), Some(to)] = ends {
                courses.push((index, Course { from, to }));
            }
        }
        courses
    }

    pub(super) fn detours(&mut self) {
        let courses = self.courses();
        for (index, Course { from, to }) in &courses {
            let margin = LEFT - 86.0 - 7.0 * (index % 6) as f64;
            let mut points = vec![(from.x, from.top), (from.x, from.lane)];
            if from.row != to.row {
                points.extend([(margin, from.lane), (margin, to.lane)]);
            }
            points.extend([(to.x, to.lane), (to.x, to.top)]);
            self.canvas.line(&points, Stroke::Leaves);
        }
        for (index, Course { from, to }) in &courses {
            let Some(detour) = self.scene.detours.get(*index) else {
                continue;
            };
            self.canvas.cross(to.x, to.lane);
            // Beside the end of the line, up to the next line that passes.
            let passes = |end: &&End| end.row == to.row && end.lane < to.lane - 1.0;
            let ends = courses
                .iter()
                .flat_map(|(_, course)| [&course.from, &course.to]);
            let others: Vec<f64> = ends.filter(passes).map(|end| end.x).collect();
            let right = others.iter().filter(|x| **x > to.x).copied();
            let right = right.fold(WIDTH - 12.0, f64::min) - to.x - 24.0;
            let begins = match from.row == to.row {
                true => from.x.min(to.x),
                false => LEFT - 60.0,
            };
            let left = others.iter().filter(|x| **x < to.x).copied();
            let left = to.x - left.fold(begins, f64::max) - 24.0;
            let look = plain(12.0).bold();
            if look.width(&detour.words) <= right || right >= left {
                let words = look.fit(&detour.words, right);
                self.canvas.label(to.x + 14.0, to.lane + 4.5, look, &words);
            } else {
                let words = look.fit(&detour.words, left);
                let look = look.end();
                self.canvas.label(to.x - 14.0, to.lane + 4.5, look, &words);
            }
        }
    }

    /// Height of a detour's lane above a line of units.
    fn lane(&self, line: usize, detour: usize, spot: Spot) -> f64 {
        let lanes = self.lanes.get(line).map_or(&[][..], Vec::as_slice);
        let nth = lanes.iter().position(|known| *known == detour);
        let flags = self.spots.iter().filter(|(_, other)| other.row == line);
        let most = flags
            .filter_map(|(cell, _)| self.stop(*cell).map(|stop| stop.flags.len()))
            .max();
        spot.y - 16.0 - most.unwrap_or(0) as f64 * FLAG - nth.unwrap_or(0) as f64 * LANE
    }
}
