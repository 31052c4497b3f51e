//! A unit's heater, as far as its row tells.

use super::{Span, mca, phases};
use crate::schedule::{Quantity, Unit, Volts};
use crate::sizing::heat;

/// The heater's current in bounds: at the volts that its kW belong to where
/// they are stated, else at either of the two that are usual.
pub fn heater_amps(unit: &Unit, supply: Option<Volts>) -> Option<Span> {
    let kw = unit.heat_kw.copied().filter(|kw| kw.0 > 0.0)?;
    let phases = phases(unit);
    let at = |rated: f64, supply: f64| {
        heat::at_supply(kw, Volts(rated), Volts(supply), phases)
            .value
            .amps
    };
    let rated = unit.heat_volts.copied().map(|volts| volts.0);
    let span = match (rated, supply) {
        (Some(rated), Some(supply)) if rated > 0.0 => {
            let amps = at(rated, supply.0);
            Span {
                least: amps,
                most: amps,
            }
        }
        (Some(rated), None) if (220.0..=240.0).contains(&rated) => Span {
            least: at(rated, 208.0),
            most: at(rated, rated),
        },
        (Some(rated), _) if rated > 0.0 => {
            let amps = at(rated, rated);
            Span {
                least: amps,
                most: amps,
            }
        }
        (_, Some(supply)) if (200.0..=215.0).contains(&supply.0) => Span {
            least: at(240.0, supply.0),
            most: at(supply.0, supply.0),
        },
        (_, Some(supply)) if supply.0 > 0.0 => {
            let amps = at(supply.0, supply.0);
            Span {
                least: amps,
                most: amps,
            }
        }
        _ => Span {
            least: at(240.0, 208.0),
            most: at(208.0, 208.0),
        },
    };
    Some(span)
}

/// Whether the unit's MCA can include its heater: it is not below the
/// heater's own current. `None` without a heater or without an MCA.
pub fn mca_includes_heat(unit: &Unit, supply: Option<Volts>) -> Option<bool> {
    let heater = heater_amps(unit, supply)?;
    let mca = mca(unit, supply)?;
    Some(!mca.most.below(heater.least))
}
