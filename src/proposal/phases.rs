//! The phases of a three-phase panel, as the circuits of a proposal load them.

use crate::rules::circuit_current;
use crate::schedule::{Amps, CircuitId, Schedule};
use crate::sizing::supply;

/// Loads on the three phases of one panel.
pub(super) struct Phases {
    loads: [Amps; 3],
}

impl Phases {
    /// Of the panel of `on`, by its other circuits as far as they tell their
    /// load; `None` where it is no three-phase panel.
    pub fn without(s: &Schedule, on: &[CircuitId]) -> Option<Self> {
        let panel = s.circuit(*on.first()?).panel_id?;
        let supply = s.panels.get(panel.index())?.supply.get()?;
        if supply.phases != Some(3) {
            return None;
        }
        let others = s
            .circuit_ids()
            .filter(|(id, circuit)| circuit.panel_id == Some(panel) && !on.contains(id));
        let drawn: Vec<(Vec<u16>, Amps)> = others
            .filter_map(|(id, circuit)| Some((slots(s, id), circuit_current(s, circuit)?)))
            .collect();
        Some(Self {
            loads: supply::phase_loads(&drawn),
        })
    }

    /// How far out of balance `amps` more on circuit `id` would leave the
    /// panel, in thousandths of a percent.
    pub fn after(&self, s: &Schedule, id: CircuitId, amps: Amps) -> u64 {
        self.after_on(&slots(s, id), amps)
    }

    pub fn put(&mut self, s: &Schedule, id: CircuitId, amps: Amps) {
        self.loads = self.with(s, id, amps);
    }

    /// As [`Self::after`], on slots that are not its own yet.
    pub fn after_on(&self, slots: &[u16], amps: Amps) -> u64 {
        let found = supply::imbalance(self.with_on(slots, amps)).value;
        (found.0 * 1000.0).round().max(0.0) as u64
    }

    pub fn put_on(&mut self, slots: &[u16], amps: Amps) {
        self.loads = self.with_on(slots, amps);
    }

    fn with(&self, s: &Schedule, id: CircuitId, amps: Amps) -> [Amps; 3] {
        self.with_on(&slots(s, id), amps)
    }

    fn with_on(&self, slots: &[u16], amps: Amps) -> [Amps; 3] {
        let more = supply::phase_loads(&[(slots.to_vec(), amps)]);
        let mut loads = self.loads;
        for (load, more) in loads.iter_mut().zip(more) {
            *load = *load + more;
        }
        loads
    }
}

fn slots(s: &Schedule, id: CircuitId) -> Vec<u16> {
    let taken = s.circuit(id).slots_taken();
    taken.iter().map(|slot| slot.number).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::schedule::fixture::Fixture;
    use crate::schedule::{PanelSupply, Volts};

    fn job(phases: u8) -> Schedule {
        let mut fixture = Fixture::new();
        fixture.panel("LP", |panel, cells| {
            panel.supply = cells.given(PanelSupply {
                line_to_line: Volts(208.0),
                line_to_neutral: Some(Volts(120.0)),
                phases: Some(phases),
            });
        });
        // Slots 1, 3 are phases A and B; 5, 7 are C and A; 9, 11 are B and C.
        for slots in [[1, 3], [5, 7], [9, 11]] {
            fixture.circuit("LP", &slots, &["RANGE"], |c, cells| {
                c.load_amps = cells.amps(10.0);
            });
        }
        fixture.build()
    }

    #[test]
    fn a_load_goes_where_the_phases_have_least() {
        // By hand: 10 A stays on A and B, so that 10 A more on C and A leaves
        // 20, 10, 10 A (50 % above the mean), on A and B 20, 20, 0.
        let s = job(3);
        let on = [CircuitId(1), CircuitId(2)];
        let mut phases = Phases::without(&s, &on).expect("three phases");
        assert_eq!(phases.loads, [Amps(10.0), Amps(10.0), Amps(0.0)]);
        let near = phases.after(&s, CircuitId(1), Amps(10.0));
        assert!(near < phases.after(&s, CircuitId(0), Amps(10.0)));
        phases.put(&s, CircuitId(1), Amps(10.0));
        assert_eq!(phases.loads, [Amps(20.0), Amps(10.0), Amps(10.0)]);
        // B and C take it best now: 20, 20, 20.
        assert_eq!(phases.after(&s, CircuitId(2), Amps(10.0)), 0);
        assert!(Phases::without(&job(1), &on).is_none());
    }
}
