//! Standard ampere ratings of overcurrent devices, and sizes of switches.

use super::{Cite, Cited, Source, Topic};
use crate::schedule::Edition;

/// What kind of overcurrent device.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Device {
    Breaker,
    Fuse,
}

/// One rating, amperes, standard for fuses in every edition.
struct Rating {
    amps: u16,
    /// Standard for breakers too from this edition on; `None`: never.
    breaker_from: Option<Edition>,
    cite: Cite,
}

const fn fuse(amps: u16) -> Rating {
    Rating {
        amps,
        breaker_from: None,
        cite: Cite::published(Topic::StandardRatings),
    }
}

const fn breaker_from(amps: u16, edition: Edition) -> Rating {
    Rating {
        breaker_from: Some(edition),
        ..fuse(amps)
    }
}

const fn both(amps: u16) -> Rating {
    breaker_from(amps, Edition::Nec2017)
}

const RATINGS: [Rating; 42] = [
    fuse(1),
    fuse(3),
    fuse(6),
    breaker_from(10, Edition::Nec2023),
    both(15),
    both(20),
    both(25),
    both(30),
    both(35),
    both(40),
    both(45),
    both(50),
    both(60),
    both(70),
    both(80),
    both(90),
    both(100),
    both(110),
    both(125),
    both(150),
    both(175),
    both(200),
    both(225),
    both(250),
    both(300),
    both(350),
    both(400),
    both(450),
    both(500),
    both(600),
    fuse(601),
    both(700),
    both(800),
    both(1000),
    both(1200),
    both(1600),
    both(2000),
    both(2500),
    both(3000),
    both(4000),
    both(5000),
    both(6000),
];

/// The standard ratings of an edition, rising, amperes.
pub fn standard_ratings(
    device: Device,
    edition: Edition,
) -> impl DoubleEndedIterator<Item = Cited<u16>> {
    RATINGS
        .iter()
        .filter(move |rating| {
            device == Device::Fuse || rating.breaker_from.is_some_and(|from| edition >= from)
        })
        .map(move |rating| Cited::new(rating.amps, rating.cite, edition))
}

/// Sizes that safety switches are sold in, rising, amperes: a switch size is
/// no overcurrent rating.
pub const SWITCH_SIZES: Cited<[u16; 8]> = Cited {
    value: [30, 60, 100, 200, 400, 600, 800, 1200],
    source: Source::Practice,
};
