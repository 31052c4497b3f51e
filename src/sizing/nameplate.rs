//! What a nameplate would state, computed from the currents of its loads.

use super::step::sum_of;
use super::{Step, Worked, protection};
use crate::schedule::{Amps, Edition, Kilowatts, Quantity};
use crate::tables::ratings::Device;
use crate::tables::{Source, Topic, limits};

/// Resistance heat on the same circuit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heater {
    pub amps: Amps,
    pub rating: Option<Kilowatts>,
}

/// The loads of one nameplate.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct NameplateLoads {
    /// Rated-load current of each motor-compressor, or its branch-circuit
    /// selection current where that is marked: see [`rated`].
    pub compressors: Vec<Amps>,
    /// Full-load currents of fans and of all else.
    pub others: Vec<Amps>,
    pub heater: Option<Heater>,
}

impl NameplateLoads {
    /// The largest compressor, else the largest other load; then the rest.
    fn split(&self) -> Option<(Amps, Vec<Amps>)> {
        let from_compressors = !self.compressors.is_empty();
        let ranked = if from_compressors {
            &self.compressors
        } else {
            &self.others
        };
        let (at, largest) = ranked
            .iter()
            .copied()
            .enumerate()
            .reduce(|best, next| if next.1.0 > best.1.0 { next } else { best })?;
        let mut rest: Vec<Amps> = ranked
            .iter()
            .enumerate()
            .filter(|(index, _)| *index != at)
            .map(|(_, amps)| *amps)
            .collect();
        if from_compressors {
            rest.extend(&self.others);
        }
        Some((largest, rest))
    }
}

/// The current that counts for a motor-compressor: the branch-circuit
/// selection current where it is marked and higher.
pub fn rated(rated_load: Amps, selection: Option<Amps>) -> Amps {
    match selection {
        Some(selection) if selection.exceeds(rated_load) => selection,
        _ => rated_load,
    }
}

/// To a tenth of an ampere, half up, as nameplates print it.
pub fn to_tenth(amps: Amps) -> Amps {
    // The nudge undoes binary error: 22.25 A may be stored a hair below.
    Amps((amps.0 * 10.0 + 0.5 + amps.0.abs() * 1e-8).floor() / 10.0)
}

/// Minimum circuit ampacity, to 0.1 A; `None` without any load.
pub fn mca(loads: &NameplateLoads, edition: Edition) -> Option<Worked<Amps>> {
    let exact = mca_exact(loads, edition)?;
    Some(Worked::new(to_tenth(exact.value), exact.steps))
}

fn mca_exact(loads: &NameplateLoads, edition: Edition) -> Option<Worked<Amps>> {
    let split = loads.split();
    let Some(heater) = loads.heater else {
        let (largest, rest) = split?;
        let factor = if loads.compressors.is_empty() {
            limits::several_motors_factor(edition)
        } else {
            limits::compressor_conductor_factor(edition)
        };
        let value = largest * factor.value + rest.iter().copied().sum();
        let how = with_rest(factor.value, largest, &rest);
        let step = Step::new("mca", to_tenth(value), how, factor.source);
        return Some(Worked::new(value, vec![step]));
    };
    let motors: Vec<Amps> = loads
        .compressors
        .iter()
        .chain(&loads.others)
        .copied()
        .collect();
    let motor_sum: Amps = motors.iter().copied().sum();
    let factor = limits::heat_factor(edition);
    let large = limits::large_heat(edition);
    let is_large = heater.rating.is_some_and(|kw| !kw.below(large.value));
    let (value, how, source) = if is_large {
        (
            motor_sum * factor.value + heater.amps,
            format!(
                "{} × ({}) + {}, heater of {} or more",
                factor.value,
                sum_of(&motors),
                heater.amps,
                large.value
            ),
            large.source,
        )
    } else {
        let mut all = motors.clone();
        all.push(heater.amps);
        (
            (motor_sum + heater.amps) * factor.value,
            format!("{} × ({})", factor.value, sum_of(&all)),
            factor.source,
        )
    };
    let step = Step::new("mca", to_tenth(value), how, source);
    Some(Worked::new(value, vec![step]))
}

fn with_rest(factor: f64, largest: Amps, rest: &[Amps]) -> String {
    if rest.is_empty() {
        format!("{factor} × {largest}")
    } else {
        format!("{factor} × {largest} + {}", sum_of(rest))
    }
}

/// The band in which a nameplate's maximum overcurrent protection is
/// plausible. A nameplate below it is normal.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct MopBounds {
    /// By the lower factor, a standard rating.
    pub first_choice: Amps,
    /// By the higher factor, a standard rating.
    pub upper: Amps,
}

/// The two bounds, each down to a standard rating, not below MCA and not
/// below 15 A; `None` without any load, or beyond the standard ratings. The
/// factors are those of motor-compressors; for a unit without one, makers
/// take them for its largest motor, which no section asks.
pub fn mop_bounds(loads: &NameplateLoads, edition: Edition) -> Option<Worked<MopBounds>> {
    let (largest, mut rest) = loads.split().unwrap_or((Amps(0.0), Vec::new()));
    rest.extend(loads.heater.map(|heater| heater.amps));
    let least = mca_exact(loads, edition)?.value;
    let factors = limits::compressor_protection_factors(edition);
    let source = if loads.compressors.is_empty() {
        Source::Practice
    } else {
        factors.source
    };
    let others: Amps = rest.iter().copied().sum();
    let mut steps = Vec::new();
    let mut bound = |what, factor: f64| -> Option<Amps> {
        let exact = largest * factor + others;
        let rating = mop_rating(exact, least, edition)?;
        let how = format!(
            "{} = {exact}, to a standard rating",
            with_rest(factor, largest, &rest)
        );
        steps.push(Step::new(what, rating, how, source));
        Some(rating)
    };
    let first_choice = bound("mop-first-choice", factors.value.0)?;
    let upper = bound("mop-upper", factors.value.1)?;
    Some(Worked::new(
        MopBounds {
            first_choice,
            upper,
        },
        steps,
    ))
}

/// Down to a standard rating; where that is below MCA, up from MCA; 15 A at
/// least.
fn mop_rating(exact: Amps, mca: Amps, edition: Edition) -> Option<Amps> {
    let down = protection::standard_at_or_below(exact, Device::Breaker, edition);
    let rating = match down {
        Some(rating) if !rating.value.below(mca) => rating.value,
        _ => protection::standard_at_or_above(mca, Device::Breaker, edition)?.value,
    };
    let floor = limits::protection_floor(edition).value;
    Some(if rating.below(floor) { floor } else { rating })
}

/// How the conductor of a marked unit is sized: its MCA, with no further
/// 125 %.
pub fn conductor_load(mca: Amps, edition: Edition) -> Worked<Amps> {
    let source = Source::code(Topic::AcConductorMarked, edition);
    let step = Step::new("conductor-load", mca, "marked MCA, its 125 % in it", source);
    Worked::new(mca, vec![step])
}
