//! A unit's heater, as far as its row tells.

use super::{Span, mca, phases};
use crate::schedule::{Circuit, Field, Kilowatts, Quantity, Unit, UnitKind, Volts};
use crate::sizing::drop::Phases;
use crate::sizing::heat;

/// Whether nothing tells if the unit has a heater: its cell is open, or an air
/// handler's table has no such column. An empty cell of the column says that
/// it has none.
pub fn heat_untold(unit: &Unit) -> bool {
    match unit.heat_kw {
        Field::Unknown(_) | Field::Unreadable(_) => true,
        Field::Blank(at) => needs_heat_kw(unit) && at.is_none(),
        Field::Given(_) | Field::Elsewhere(_) => false,
    }
}

/// Units that commonly have strip heat.
pub fn needs_heat_kw(unit: &Unit) -> bool {
    unit.kind() == Some(UnitKind::AirHandler)
}

/// The heater's current in bounds: at the volts that its kW belong to where
/// they are stated, else at either of the two that are usual.
pub fn heater_amps(unit: &Unit, supply: Option<Volts>) -> Option<Span> {
    heater_on(unit, None, supply)
}

/// The same on a circuit, whose poles tell the phases where the nameplate
/// does not; where neither does, both are in the bounds.
pub fn heater_on(unit: &Unit, circuit: Option<&Circuit>, supply: Option<Volts>) -> Option<Span> {
    let kw = unit.heat_kw.copied().filter(|kw| kw.0 > 0.0)?;
    match phases(unit, circuit) {
        Some(phases) => Some(at_phases(unit, kw, phases, supply)),
        None => {
            let single = at_phases(unit, kw, Phases::Single, supply);
            let three = at_phases(unit, kw, Phases::Three, supply);
            Some(Span {
                least: three.least,
                most: single.most,
            })
        }
    }
}

fn at_phases(unit: &Unit, kw: Kilowatts, phases: Phases, supply: Option<Volts>) -> Span {
    let at = |rated: f64, supply: f64| {
        heat::at_supply(kw, Volts(rated), Volts(supply), phases)
            .value
            .amps
    };
    let rated = unit.heat_volts.copied().map(|volts| volts.0);
    match (rated, supply) {
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
    }
}

/// Whether the unit's MCA can include its heater: it is not below the
/// heater's own current. `None` without a heater or without an MCA.
pub fn mca_includes_heat(unit: &Unit, supply: Option<Volts>) -> Option<bool> {
    let heater = heater_amps(unit, supply)?;
    let mca = mca(unit, supply)?;
    Some(!mca.most.below(heater.least))
}
