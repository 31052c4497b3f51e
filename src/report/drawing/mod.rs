//! The bus of a system drawn: the outdoor unit, the units in the order in
//! which the wire passes them, controllers on their home runs, and what is
//! wrong so that one sees it, in black and white.

mod canvas;
mod place;
mod raster;
mod scene;
mod svg;
#[cfg(test)]
mod tests;

use crate::findings::Audit;
use crate::rules::BusLayout;
use crate::schedule::{Schedule, SystemId};

/// Which systems are drawn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Drawings {
    /// Those whose bus has a finding.
    #[default]
    Findings,
    All,
    None,
}

/// Height in pixels of the rows of a sheet that a drawing is laid out for.
pub const ROW: f64 = place::STEP;

/// The drawing of one system.
#[derive(Clone, Debug)]
pub struct Drawing {
    pub system: SystemId,
    /// What people call the system.
    pub label: String,
    /// A whole SVG file.
    pub svg: String,
    /// Size in pixels of a screen.
    pub width: f64,
    pub height: f64,
    /// Heights between two lines of units, lowest first: multiples of
    /// [`ROW`], at which a page may end.
    pub cuts: Vec<f64>,
    canvas: canvas::Canvas,
}

impl Drawing {
    /// The same drawing as a PNG file, twice a screen's pixels; `None` for a
    /// drawing without a size.
    pub fn picture(&self) -> Option<Vec<u8>> {
        raster::png(&self.canvas, (self.width, self.height))
    }
}

/// Draws the systems asked for, in the order of the schedule. The same text
/// for the same schedule and findings.
pub fn drawings(schedule: &Schedule, audit: &Audit, which: Drawings) -> Vec<Drawing> {
    if which == Drawings::None {
        return Vec::new();
    }
    let layout = BusLayout::of(schedule);
    let asked = |id: SystemId| {
        which == Drawings::All
            || audit
                .standing()
                .any(|finding| scene::of_bus(schedule, id, finding))
    };
    schedule
        .system_ids()
        .filter(|(id, _)| asked(*id))
        .filter_map(|(id, _)| {
            let scene = scene::Builder::new(schedule, audit, &layout, id).scene()?;
            let placed = place::draw(&scene);
            let (canvas, height) = (placed.canvas, placed.height);
            let svg = svg::file(&canvas, (place::WIDTH, height), &scene.title);
            Some(Drawing {
                system: id,
                label: schedule.system_label(id),
                svg,
                width: place::WIDTH,
                height,
                cuts: placed.cuts,
                canvas,
            })
        })
        .collect()
}
