//! Overcurrent protection: standard ratings around a current, and the window
//! between MCA and MOP.

use super::{Step, Worked};
use crate::schedule::{Amps, Edition, Quantity};
use crate::tables::ratings::{Device, standard_ratings};
use crate::tables::{Cited, limits};

fn cited_amps(rating: Cited<u16>) -> Cited<Amps> {
    Cited {
        value: Amps(f64::from(rating.value)),
        source: rating.source,
    }
}

/// The largest standard rating not above `limit`; `None` below the smallest.
pub fn standard_at_or_below(limit: Amps, device: Device, edition: Edition) -> Option<Cited<Amps>> {
    standard_ratings(device, edition)
        .map(cited_amps)
        .rfind(|rating| !rating.value.exceeds(limit))
}

/// The smallest standard rating not below `load`; `None` above the largest.
pub fn standard_at_or_above(load: Amps, device: Device, edition: Edition) -> Option<Cited<Amps>> {
    standard_ratings(device, edition)
        .map(cited_amps)
        .find(|rating| !rating.value.below(load))
}

pub fn is_standard(rating: Amps, device: Device, edition: Edition) -> bool {
    standard_at_or_below(rating, device, edition)
        .is_some_and(|standard| !standard.value.below(rating))
}

/// The standard ratings next below and next above one that is none; the
/// rating itself twice where it is standard.
pub fn neighbours(
    rating: Amps,
    device: Device,
    edition: Edition,
) -> (Option<Cited<Amps>>, Option<Cited<Amps>>) {
    (
        standard_at_or_below(rating, device, edition),
        standard_at_or_above(rating, device, edition),
    )
}

/// The largest rating that a nameplate's MOP lets through: never above it.
/// `None` where the MOP is below every standard rating of that device.
pub fn largest_for_mop(mop: Amps, device: Device, edition: Edition) -> Option<Worked<Amps>> {
    let rating = standard_at_or_below(mop, device, edition)?;
    let step = Step::new(
        "largest-protection",
        rating.value,
        format!("largest standard rating not above MOP {mop}"),
        rating.source,
    );
    Some(Worked::new(rating.value, vec![step]))
}

/// The smallest rating for a minimum circuit ampacity, not below 15 A.
pub fn smallest_for_mca(mca: Amps, device: Device, edition: Edition) -> Option<Worked<Amps>> {
    let floor = limits::protection_floor(edition);
    let load = if mca.below(floor.value) {
        floor.value
    } else {
        mca
    };
    let rating = standard_at_or_above(load, device, edition)?;
    let step = Step::new(
        "smallest-protection",
        rating.value,
        format!(
            "smallest standard rating not below MCA {mca}, {} at least",
            floor.value
        ),
        rating.source,
    );
    Some(Worked::new(rating.value, vec![step]))
}

/// The standard ratings that satisfy a nameplate.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Window {
    pub smallest: Amps,
    /// What practice chooses.
    pub largest: Amps,
}

impl Window {
    pub fn holds(&self, rating: Amps) -> bool {
        !rating.below(self.smallest) && !rating.exceeds(self.largest)
    }
}

/// The standard ratings from MCA to MOP; `None` where there is none between
/// them, so that nothing standard protects the unit by its nameplate.
pub fn window(mca: Amps, mop: Amps, device: Device, edition: Edition) -> Worked<Option<Window>> {
    let mut steps = Vec::new();
    let Some(largest) = largest_for_mop(mop, device, edition) else {
        return Worked::new(None, steps);
    };
    let largest = largest.into_value(&mut steps);
    // Without the floor of 15 A: a marked MOP below it binds.
    let Some(smallest) = standard_at_or_above(mca, device, edition) else {
        return Worked::new(None, steps);
    };
    // Where the floor lies within the window, it is the smallest that is used.
    let floor = limits::protection_floor(edition).value;
    let least = if smallest.value.below(floor) && !floor.exceeds(largest) {
        floor
    } else {
        smallest.value
    };
    steps.push(Step::new(
        "smallest-protection",
        least,
        format!("smallest standard rating not below MCA {mca}"),
        smallest.source,
    ));
    let window = (!least.exceeds(largest)).then_some(Window {
        smallest: least,
        largest,
    });
    Worked::new(window, steps)
}

/// The rating that protects a unit: the smaller of the breaker and of the
/// fuses at its disconnect. `None` where neither is given.
pub fn protecting(breaker: Option<Amps>, fuse: Option<Amps>) -> Option<Amps> {
    match (breaker, fuse) {
        (Some(breaker), Some(fuse)) => Some(if fuse.below(breaker) { fuse } else { breaker }),
        (one, other) => one.or(other),
    }
}
