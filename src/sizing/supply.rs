//! Volts, poles and slots of a panel against what a nameplate asks for.

use super::drop::Phases;
use super::{Step, Worked};
use crate::schedule::{Amps, PanelSupply, Percent, Quantity, Slot, Supply, VoltAmps, Volts};
use crate::tables::limits::NAMEPLATE_BAND;

/// How a supply stands to a nameplate's volts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum VoltsFit {
    Fits,
    /// Of 208 V and the 230 or 240 V class one alone is named, and the supply
    /// is the other: schedules often mean both.
    Doubtful,
    Outside,
}

/// Whether a nominal supply lies in the band of any of a nameplate's volts;
/// `None` where the nameplate names none.
pub fn volts_fit(nameplate: &Supply, supply: Volts) -> Option<Worked<VoltsFit>> {
    let bands: Vec<(Volts, Volts)> = nameplate.volts.iter().map(|&volts| band(volts)).collect();
    if bands.is_empty() {
        return None;
    }
    let inside = bands
        .iter()
        .any(|(low, high)| !supply.below(*low) && !supply.exceeds(*high));
    let is_208 = |volts: f64| (200.0..=208.0).contains(&volts);
    let is_240 = |volts: f64| (230.0..=240.0).contains(&volts);
    let of_class: Vec<u16> = nameplate
        .volts
        .iter()
        .copied()
        .filter(|volts| (200..=240).contains(volts))
        .collect();
    let doubtful = match of_class.as_slice() {
        [208] => is_240(supply.0),
        [only] => is_240(f64::from(*only)) && is_208(supply.0),
        _ => false,
    };
    let fit = match (doubtful, inside) {
        (true, _) => VoltsFit::Doubtful,
        (false, true) => VoltsFit::Fits,
        (false, false) => VoltsFit::Outside,
    };
    let how = bands
        .iter()
        .map(|(low, high)| format!("{} to {}", low, high))
        .collect::<Vec<_>>()
        .join(", ");
    let step = Step::new(
        "nameplate-band",
        supply,
        format!("nameplate {nameplate}: {how}"),
        NAMEPLATE_BAND.source,
    );
    Some(Worked::new(fit, vec![step]))
}

/// The band of one voltage of a nameplate.
fn band(volts: u16) -> (Volts, Volts) {
    let rated = Volts(f64::from(volts));
    (
        rated * (1.0 - NAMEPLATE_BAND.value),
        rated * (1.0 + NAMEPLATE_BAND.value),
    )
}

/// Whether two poles of the panel lie across the same neutral point: 208Y/120
/// and 480Y/277, but not a delta with a high leg.
pub fn is_wye(panel: &PanelSupply) -> bool {
    panel.line_to_neutral.is_some_and(|neutral| {
        let ratio = panel.line_to_line.0 / neutral.0;
        (ratio - 3f64.sqrt()).abs() < 0.05
    })
}

/// Nominal volts that a breaker of so many poles gives; `None` where the
/// panel does not tell: one pole without a neutral, or one pole of a delta
/// with a high leg (which leg it is decides).
pub fn volts_between(panel: &PanelSupply, poles: u8) -> Option<Volts> {
    match poles {
        1 if panel.phases == Some(3) && !is_wye(panel) => None,
        1 => panel.line_to_neutral,
        2 => Some(panel.line_to_line),
        3 if panel.phases != Some(1) => Some(panel.line_to_line),
        _ => None,
    }
}

/// Poles of the breaker that a nameplate needs; `None` where it does not
/// tell, or where its volts fit one pole and two.
pub fn poles_needed(supply: &Supply) -> Option<u8> {
    match supply.phases {
        Some(3) => return Some(3),
        Some(1) => {}
        _ => return None,
    }
    let one_pole = |volts: u16| volts <= 127 || (265..=277).contains(&volts);
    let mut poles = supply
        .volts
        .iter()
        .map(|&volts| if one_pole(volts) { 1 } else { 2 });
    let first = poles.next()?;
    poles.all(|other| other == first).then_some(first)
}

/// Phase of a slot from 0, odd slots left and even right; `None` for slot 0
/// or a panel of another number of phases than 1 or 3.
pub fn phase_of(slot: u16, panel_phases: u8) -> Option<u8> {
    let legs = match panel_phases {
        1 => 2,
        3 => 3,
        _ => return None,
    };
    let row = slot.checked_sub(1)? / 2;
    u8::try_from(row % legs).ok()
}

/// Whether two of the slots sit on one phase, as `1,2` do where odd slots are
/// left and even right. Halves of a tandem in one slot are on one phase.
pub fn repeats_a_phase(slots: &[Slot], panel_phases: u8) -> Option<bool> {
    let mut seen = Vec::new();
    for slot in slots {
        let phase = phase_of(slot.number, panel_phases)?;
        if seen.contains(&phase) {
            return Some(true);
        }
        seen.push(phase);
    }
    Some(false)
}

/// Current of an apparent power.
pub fn current(power: VoltAmps, volts: Volts, phases: Phases) -> Worked<Amps> {
    let (divisor, written) = phases.divisor(volts);
    let value = Amps(power.0 / divisor);
    let how = format!("{power} / {written}");
    Worked::new(value, vec![Step::new("load-current", value, how, None)])
}

/// Load on each phase of a three-phase panel: the current of every circuit
/// on every phase that it takes.
pub fn phase_loads(circuits: &[(Vec<u16>, Amps)]) -> [Amps; 3] {
    add_up(circuits, 3)
}

/// Load on each of the two legs of a single-phase panel.
pub fn leg_loads(circuits: &[(Vec<u16>, Amps)]) -> [Amps; 2] {
    add_up(circuits, 1)
}

fn add_up<const N: usize>(circuits: &[(Vec<u16>, Amps)], panel_phases: u8) -> [Amps; N] {
    let mut loads = [Amps(0.0); N];
    for (slots, amps) in circuits {
        for slot in slots {
            let phase = phase_of(*slot, panel_phases).map(usize::from);
            if let Some(load) = phase.and_then(|phase| loads.get_mut(phase)) {
                *load = *load + *amps;
            }
        }
    }
    loads
}

/// Phase loads that moving circuits to other slots can reach: the largest
/// first, each to the phases that are least loaded. Not proven the best, but
/// reached by a real arrangement; whether slots are free is not asked.
pub fn spread(circuits: &[(u8, Amps)]) -> [Amps; 3] {
    let mut order: Vec<(u8, Amps)> = circuits
        .iter()
        .copied()
        .filter(|(poles, _)| (1..=3).contains(poles))
        .collect();
    order.sort_by(|a, b| b.1.0.total_cmp(&a.1.0).then(b.0.cmp(&a.0)));
    let mut loads = [Amps(0.0); 3];
    for (poles, amps) in order {
        loads.sort_by(|a, b| a.0.total_cmp(&b.0));
        for load in loads.iter_mut().take(usize::from(poles)) {
            *load = *load + amps;
        }
    }
    loads
}

/// Greatest deviation from the mean, as a share of the mean; 0 where nothing
/// is loaded.
pub fn imbalance<T: Quantity>(phases: [T; 3]) -> Worked<Percent> {
    let values = phases.map(T::value);
    let mean = values.iter().sum::<f64>() / 3.0;
    let greatest = values
        .iter()
        .map(|value| (value - mean).abs())
        .fold(0.0, f64::max);
    let value = if mean > 0.0 {
        Percent(100.0 * greatest / mean)
    } else {
        Percent(0.0)
    };
    let [a, b, c] = phases;
    let how = format!(
        "greatest deviation {} of {a}, {b}, {c} from their mean {}",
        crate::schedule::number(greatest),
        crate::schedule::number(mean)
    );
    Worked::new(value, vec![Step::new("imbalance", value, how, None)])
}
