//! Rating of a disconnect.

use super::step::sum_of;
use super::{Step, Worked};
use crate::schedule::{Amps, Edition, Quantity};
use crate::tables::limits;
use crate::tables::ratings::SWITCH_SIZES;

/// 115 % of the sum of the rated currents.
pub fn least_rating(rated: &[Amps], edition: Edition) -> Worked<Amps> {
    let factor = limits::disconnect_factor(edition);
    let value = rated.iter().copied().sum::<Amps>() * factor.value;
    let how = format!("{} × ({})", factor.value, sum_of(rated));
    Worked::new(
        value,
        vec![Step::new("disconnect-rating", value, how, factor.source)],
    )
}

/// Where the MCA alone is known: below the first a switch is too small, at
/// or above the second it is right, between them the rated currents decide.
pub fn bounds_by_mca(mca: Amps, edition: Edition) -> Worked<(Amps, Amps)> {
    let factor = limits::disconnect_factor(edition);
    let largest = limits::compressor_conductor_factor(edition).value;
    let least = mca * (factor.value / largest);
    let most = mca * factor.value;
    let steps = vec![
        Step::new(
            "disconnect-least",
            least,
            format!("{} × {mca} / {largest}", factor.value),
            factor.source,
        ),
        Step::new(
            "disconnect-most",
            most,
            format!("{} × {mca}", factor.value),
            factor.source,
        ),
    ];
    Worked::new((least, most), steps)
}

/// The smallest switch that is sold for a rating; `None` above the largest.
pub fn switch_size(rating: Amps) -> Option<Worked<Amps>> {
    let size = SWITCH_SIZES
        .value
        .iter()
        .map(|&size| Amps(f64::from(size)))
        .find(|size| !size.below(rating))?;
    let how = format!("smallest switch not below {rating}");
    let step = Step::new("switch-size", size, how, SWITCH_SIZES.source);
    Some(Worked::new(size, vec![step]))
}
