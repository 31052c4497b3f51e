//! Standard ampere ratings of overcurrent devices, and sizes of switches.

use super::{Cite, Cited, Source, Topic};
use crate::schedule::Edition;

/// What kind of overcurrent device.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Device {
    Breaker,
    Fuse,
}

/// Ratings that stand in the list of every edition, amperes.
const EVERY_EDITION: [u16; 37] = [
    15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250, 300,
    350, 400, 450, 500, 600, 700, 800, 1000, 1200, 1600, 2000, 2500, 3000, 4000, 5000, 6000,
];

/// Ratings that are standard for some devices or editions only.
const SOME: [SomeRating; 5] = [
    SomeRating::fuse(1),
    SomeRating::fuse(3),
    SomeRating::fuse(6),
    SomeRating {
        amps: 10,
        breaker_from: Some(Edition::Nec2023),
        cite: CITE,
    },
    SomeRating::fuse(601),
];

const CITE: Cite = Cite::published(Topic::StandardRatings);

struct SomeRating {
    amps: u16,
    /// `None`: for fuses alone.
    breaker_from: Option<Edition>,
    cite: Cite,
}

impl SomeRating {
    const fn fuse(amps: u16) -> Self {
        Self {
            amps,
            breaker_from: None,
            cite: CITE,
        }
    }
}

/// The standard ratings of an edition, rising, amperes.
pub fn standard_ratings(device: Device, edition: Edition) -> Vec<Cited<u16>> {
    let mut ratings: Vec<_> = EVERY_EDITION
        .iter()
        .map(|&amps| Cited::new(amps, CITE, edition))
        .collect();
    ratings.extend(
        SOME.iter()
            .filter(|rating| {
                device == Device::Fuse || rating.breaker_from.is_some_and(|from| edition >= from)
            })
            .map(|rating| Cited::new(rating.amps, rating.cite, edition)),
    );
    ratings.sort_by_key(|rating| rating.value);
    ratings
}

/// Sizes that safety switches are sold in, rising, amperes: a switch size is
/// no overcurrent rating.
pub const SWITCH_SIZES: Cited<[u16; 8]> = Cited {
    value: [30, 60, 100, 200, 400, 600, 800, 1200],
    source: Source::Practice,
};
