//! The panel of a circuit: its volts and phases by the nameplates.

use super::bench::Bench;
use super::circuits::open_slots;
use super::data::UNKNOWN;
use super::text;
use crate::findings::Reported;
use crate::schedule::{CircuitId, Field, FieldName, Panel, Supply};
use crate::sizing::supply::{self, VoltsFit};

/// A three-phase unit on a single-phase panel: the one three-phase panel of
/// its dwelling that has the volts, else a panel to be named. Whether that is
/// what is wrong.
pub(super) fn three_phase_panel(bench: &mut Bench, id: CircuitId, finding: &Reported) -> bool {
    let s = bench.now.clone();
    let circuit = s.circuit(id);
    let plates = circuit.units().into_iter();
    let mut plates = plates.filter_map(|unit| s.unit(unit).supply.get());
    let Some(plate) = plates.find(|plate| plate.phases == Some(3)) else {
        return false;
    };
    let of_panel = s.supply_of(circuit).and_then(|panel| panel.value.phases);
    if of_panel != Some(1) || !bench.reopened.insert(circuit.at) {
        return false;
    }
    let fits = |panel: &&Panel| {
        panel.dwelling.get() == circuit.dwelling.get()
            && panel.supply.get().is_some_and(|supply| {
                let fit = supply::volts_fit(plate, supply.line_to_line);
                supply.phases == Some(3) && fit.is_some_and(|fit| fit.value == VoltsFit::Fits)
            })
    };
    let mut fitting = s.panels.iter().filter(fits);
    let only = fitting.next().filter(|_| fitting.next().is_none());
    let label = s.circuit_label(id);
    open_slots(bench, id, finding.rule, "slots of a three-phase panel");
    let at = circuit.panel.at().unwrap_or(circuit.at);
    let next = &mut bench.next.circuits[id.index()];
    let (written, text) = match only {
        Some(panel) => {
            let name = panel.name.value.clone();
            let text = format!("Is {name} the three-phase panel that feeds {label}? Only it fits.");
            let written = name.text().to_owned();
            next.panel = Field::given(name, at);
            (written, text)
        }
        None => {
            next.panel = Field::Unknown(at);
            let text = format!("Which three-phase panel feeds {label}? {}", finding.message);
            (UNKNOWN.to_owned(), text)
        }
    };
    bench.change(finding.rule, at, FieldName::CircuitPanel, written);
    if only.is_none() {
        let at = circuit.supply.at().unwrap_or(circuit.at);
        let own = plate.clone();
        bench.change(
            finding.rule,
            at,
            FieldName::CircuitSupply,
            text::supply(&own),
        );
        bench.next.circuits[id.index()].supply = Field::given(own, at);
    }
    bench.ask(finding, FieldName::CircuitPanel, text);
    // Poles and what follows from them come with the next round.
    bench.pending.push((id, finding.rule));
    true
}

/// The volts of a circuit by its nameplate, where panel and nameplate differ.
pub(super) fn right_volts(bench: &mut Bench, id: CircuitId, rule: &'static str) -> bool {
    let s = bench.now.clone();
    let circuit = s.circuit(id);
    let plate = circuit
        .units()
        .iter()
        .find_map(|&unit| bench.now.unit(unit).supply.get().cloned());
    let Some((volts, plate)) = plate.and_then(|plate| Some((*plate.volts.first()?, plate))) else {
        return false;
    };
    let label = bench.now.circuit_label(id);
    let at = circuit.supply.at().unwrap_or(circuit.at);
    let own = Supply {
        volts: vec![volts],
        phases: plate.phases,
    };
    bench.change(rule, at, FieldName::CircuitSupply, text::supply(&own));
    bench.next.circuits[id.index()].supply = Field::given(own, at);
    let text = format!("Which panel or transformer gives {label} the {plate} of its nameplate?");
    bench.question(None, rule, FieldName::CircuitPanel, &label, text);
    true
}
