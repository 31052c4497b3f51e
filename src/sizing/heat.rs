//! Resistance heat: what it draws, and the circuit that it asks for.

use super::drop::Phases;
use super::{Step, Worked};
use crate::schedule::{Amps, Edition, Kilowatts, Quantity, Volts, number};
use crate::tables::limits;

/// Current of a heater at the voltage that its kW belong to.
pub fn current(rating: Kilowatts, volts: Volts, phases: Phases) -> Worked<Amps> {
    let (divisor, written) = phases.divisor(volts);
    let value = Amps(rating.0 * 1000.0 / divisor);
    let how = format!("{} W / {written}", number(rating.0 * 1000.0));
    Worked::new(value, vec![Step::new("heater-current", value, how, None)])
}

/// What a heater gives and draws.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct HeatAt {
    pub power: Kilowatts,
    pub amps: Amps,
}

/// A heater rated at one voltage on a supply of another: its resistance
/// stays, so the current follows the voltage and the power its square.
pub fn at_supply(rating: Kilowatts, rated: Volts, supply: Volts, phases: Phases) -> Worked<HeatAt> {
    let mut steps = Vec::new();
    let rated_amps = current(rating, rated, phases).into_value(&mut steps);
    let share = supply.0 / rated.0;
    let power = rating * (share * share);
    let amps = rated_amps * share;
    steps.push(Step::new(
        "heater-power-at-supply",
        power,
        format!("{rating} × ({supply} / {rated})²"),
        None,
    ));
    steps.push(Step::new(
        "heater-current-at-supply",
        amps,
        format!("{rated_amps} × {supply} / {rated}"),
        None,
    ));
    Worked::new(HeatAt { power, amps }, steps)
}

/// The load that conductor and device of a heater's circuit are sized for:
/// 125 % of heater and blower; from 50 kW the heater at 100 %.
pub fn circuit_load(
    heater: Amps,
    blower: Amps,
    rating: Option<Kilowatts>,
    edition: Edition,
) -> Worked<Amps> {
    let factor = limits::heat_factor(edition);
    let large = limits::large_heat(edition);
    let is_large = rating.is_some_and(|kw| !kw.below(large.value));
    let (value, how, source) = if is_large {
        (
            heater + blower * factor.value,
            format!(
                "{heater} + {} × {blower}, heater of {} or more",
                factor.value, large.value
            ),
            large.source,
        )
    } else {
        (
            (heater + blower) * factor.value,
            format!("{} × ({heater} + {blower})", factor.value),
            factor.source,
        )
    };
    Worked::new(value, vec![Step::new("heat-load", value, how, source)])
}

/// How the elements of a heater are to be divided.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Subdivision {
    /// 1: not divided.
    pub parts: u32,
    /// Each part carries at most this.
    pub part_limit: Amps,
    /// Behind a device of at most this.
    pub device_limit: Amps,
}

/// The fewest parts of at most 48 A. Only the elements count, not the blower.
pub fn subdivision(heater: Amps, edition: Edition) -> Worked<Subdivision> {
    let limits = limits::heat_limits(edition);
    let parts = (1..10_000)
        .find(|&n| !heater.exceeds(limits.value.part * f64::from(n)))
        .unwrap_or(10_000);
    let value = Subdivision {
        parts,
        part_limit: limits.value.part,
        device_limit: limits.value.device,
    };
    let how = format!("{heater} in parts of at most {}", limits.value.part);
    let step = Step::new("heat-parts", parts, how, limits.source);
    Worked::new(value, vec![step])
}
