//! Branch circuits: rows of their own table, and the circuit that a unit's
//! row carries.

use super::reader::{Reader, Set};
use super::table::{Assembly, Reason, Shared, dwelling, panel_name};
use crate::intake::notation::{
    Breaker, Context, PanelSlots, Reading, amps, breaker, conductor, disconnect, grounding,
    insulation, length, loads, name, panel_slots, poles, raceway, slots, supply, temperature,
    terminals, volt_amps, whole_number,
};
use crate::schedule::wire::Conductor;
use crate::schedule::{
    Amps, CellId, Circuit, Disconnect, Fault, Field, FieldName, Load, Located, Name, Part, Unit,
};

/// The most circuits that one row is expanded to, one for each of its units.
const MOST_CIRCUITS: u32 = 200;

impl<'a> Assembly<'a> {
    /// A row of a table of circuits.
    pub(super) fn read_circuit_row(
        &mut self,
        reader: &mut Reader<'a>,
        shared: &mut Shared,
    ) -> Result<(), Reason> {
        if self.continues_above(reader, shared) {
            return Ok(());
        }
        let at = first_cell(reader);
        let mut circuit = self.read_circuit(reader, shared, Set::Whole, at);
        circuit.panel = std::mem::take(&mut circuit.panel).or(shared.panel.clone());
        read_loads(reader, &mut circuit);
        let named = circuit.slots.is_given() || circuit.name.is_given();
        let says = |field: &Field<Amps>| !field.is_blank();
        let empty = circuit.loads.is_empty()
            && !says(&circuit.breaker)
            && !says(&circuit.load_amps)
            && circuit.conductor.is_blank()
            && circuit.load_va.is_blank();
        if empty && named && !circuit.name.is_given() {
            return Err("the slot is empty: no load and no breaker");
        }
        if !named && circuit.loads.is_empty() {
            return Err("the row names no slots, no circuit and no load");
        }
        let slots = circuit.slots.get().cloned().unwrap_or_default();
        let span = circuit.poles.copied().unwrap_or(1);
        let panel = circuit.panel.get().cloned();
        let index = self.push_circuit(circuit);
        shared.last_circuit = Some(index);
        if let [first] = slots.as_slice() {
            for pole in 1..u16::from(span) {
                let slot = first.number.saturating_add(2 * pole);
                shared.spanned.insert((panel.clone(), slot), index);
            }
        }
        Ok(())
    }

    /// The row of a further slot of a circuit above: a multi-pole breaker
    /// whose lower slots are blank, or cells merged down over them.
    fn continues_above(&mut self, reader: &mut Reader<'a>, shared: &mut Shared) -> bool {
        let Some(own) = reader.quietly(Set::Whole, FieldName::CircuitSlots, slots) else {
            return false;
        };
        let [slot] = own.as_slice() else {
            return false;
        };
        let silent = |field| {
            reader.is_merged_down(field)
                || !reader.has(field)
                || match reader.text(field) {
                    None => true,
                    Some(text) => matches!(
                        crate::intake::notation::free_text(&text, &Context::default()),
                        Reading::Blank | Reading::Same
                    ),
                }
        };
        if !silent(FieldName::CircuitLoads) || !silent(FieldName::CircuitBreaker) {
            return false;
        }
        let panel = reader
            .quietly(Set::Whole, FieldName::CircuitPanel, panel_name)
            .or_else(|| shared.panel.get().cloned());
        if let Some(above) = shared.spanned.remove(&(panel, slot.number)) {
            self.add_pole(reader, above);
            return true;
        }
        let merged = reader.is_merged_down(FieldName::CircuitLoads)
            && reader.is_merged_down(FieldName::CircuitBreaker);
        if !merged {
            return false;
        }
        let above = shared
            .last_circuit
            .and_then(|i| self.draft.circuits.get_mut(i));
        match above.map(|circuit| &mut circuit.slots) {
            Some(Field::Given(slots)) => {
                if !slots.value.contains(slot) {
                    slots.value.push(*slot);
                }
                true
            }
            _ => false,
        }
    }

    /// The volt-amperes of a further pole: a panel states them pole by pole.
    fn add_pole(&mut self, reader: &Reader<'a>, circuit: usize) {
        let pole = reader.quietly(Set::Whole, FieldName::CircuitLoadVa, volt_amps);
        let circuit = self.draft.circuits.get_mut(circuit);
        if let (Some(pole), Some(Field::Given(power))) = (pole, circuit.map(|c| &mut c.load_va)) {
            power.value.0 += pole.value.0;
        }
    }

    /// The circuits that a unit's row carries: the unit's own, and one of its
    /// heater where the columns tell them apart.
    pub(super) fn read_unit_circuits(
        &mut self,
        reader: &mut Reader<'a>,
        shared: &mut Shared,
        unit: &Unit,
        tags: &[Located<Name>],
    ) {
        for (set, part) in [(Set::Whole, Part::Whole), (Set::Heater, Part::Heater(1))] {
            if !IDENTIFYING.iter().any(|&field| reader.has_in(set, field)) {
                continue;
            }
            let mut circuit = self.read_circuit(reader, shared, set, unit.tag.at);
            let states = !circuit.panel.is_blank()
                || !circuit.slots.is_blank()
                || !circuit.name.is_blank()
                || !circuit.breaker.is_blank()
                || !circuit.fuse.is_blank()
                || !circuit.conductor.is_blank();
            if !states {
                continue;
            }
            circuit.dwelling = unit.dwelling.clone();
            circuit.at = circuit
                .slots
                .at()
                .filter(|_| circuit.slots.is_given())
                .or(circuit.name.at().filter(|_| circuit.name.is_given()))
                .unwrap_or(unit.tag.at);
            circuit.unnamed = !circuit.slots.is_given() && !circuit.name.is_given();
            let load = |tag: &Located<Name>| Load::new(tag.value.text(), part, tag.at);
            if set == Set::Whole && reader.has(FieldName::CircuitLoads) && !circuit.unnamed {
                read_loads(reader, &mut circuit);
            }
            if !circuit.unnamed {
                let known = std::mem::take(&mut circuit.loads);
                circuit.loads = tags.iter().map(load).collect();
                let more = known.into_iter().filter(|other| {
                    let name = Name::new(&other.text.value);
                    tags.iter().all(|tag| tag.value != name)
                });
                circuit.loads.extend(more);
                self.push_circuit(circuit);
                continue;
            }
            // No circuit is named, and each unit has its own.
            let copies = unit.quantity.copied().unwrap_or(1).clamp(1, MOST_CIRCUITS);
            for tag in tags {
                for _ in 0..copies {
                    let mut one = circuit.clone();
                    one.loads = vec![load(tag)];
                    self.push_circuit(one);
                }
            }
        }
    }

    /// The columns of a circuit, its loads left out.
    fn read_circuit(
        &self,
        reader: &mut Reader<'a>,
        shared: &Shared,
        set: Set,
        at: CellId,
    ) -> Circuit {
        let mut circuit = Circuit::new(at);
        circuit.dwelling = dwelling(reader, shared);
        self.read_identity(reader, set, &mut circuit);
        let protection = reader.read_in(set, FieldName::CircuitBreaker, breaker);
        circuit.poles = reader.read_in(set, FieldName::CircuitPoles, poles);
        let told = poles_of(&protection);
        if let (Field::Given(column), Field::Given(cell)) = (&circuit.poles, &told)
            && column.value != cell.value
        {
            reader.faults.push(Fault::Other {
                at: cell.at.into(),
                says: format!(
                    "The breaker says {} pole(s) and the column of poles says {}; {} was taken.",
                    cell.value, column.value, column.value
                ),
            });
        }
        circuit.poles = std::mem::take(&mut circuit.poles).or(told);
        circuit.breaker = protection.map(|breaker| breaker.amps);
        circuit.disconnect = reader.read_in(set, FieldName::CircuitDisconnect, disconnect);
        circuit.fuse = reader
            .read_in(set, FieldName::CircuitFuse, amps)
            .or(fuse_in(&circuit.disconnect));
        circuit.conductor = reader.read_in(set, FieldName::CircuitConductor, conductor);
        let wire = &circuit.conductor;
        circuit.ground = reader
            .read_in(set, FieldName::CircuitGround, grounding)
            .or(part_of(wire, |w| w.ground));
        circuit.insulation = reader
            .read_in(set, FieldName::CircuitInsulation, insulation)
            .or(part_of(wire, |w| w.insulation));
        circuit.raceway = reader
            .read_in(set, FieldName::CircuitRaceway, raceway)
            .or(part_of(wire, |w| w.raceway.clone()));
        circuit.terminals = reader.read_in(set, FieldName::CircuitTerminals, terminals);
        circuit.in_raceway = reader.read_in(set, FieldName::CircuitInRaceway, whole_number);
        circuit.ambient = reader.read_in(set, FieldName::CircuitAmbient, temperature);
        circuit.length = reader.measure_in(set, FieldName::CircuitLength, "feet", length);
        circuit.supply = reader.read_in(set, FieldName::CircuitSupply, supply);
        circuit.load_amps = reader.read_in(set, FieldName::CircuitLoadAmps, amps);
        circuit.load_va = reader
            .read_in(set, FieldName::CircuitLoadVa, volt_amps)
            .map(|measured| measured.value);
        circuit
    }

    /// Panel, slots and name, from whichever columns there are. A column of
    /// slots may hold `LP-1,3`, and one of panel and slots `1,3` alone.
    fn read_identity(&self, reader: &mut Reader<'a>, set: Set, circuit: &mut Circuit) {
        let panels = &self.panels;
        let both = |text: &str, ctx: &Context| panel_slots(text, panels, ctx);
        circuit.panel = reader.read_in(set, FieldName::CircuitPanel, panel_name);
        circuit.name = reader.read_in(set, FieldName::CircuitName, name);
        let mut composite = Field::Blank(None);
        if reader
            .quietly(set, FieldName::CircuitPanelSlots, slots)
            .is_some()
        {
            circuit.slots = reader.read_in(set, FieldName::CircuitPanelSlots, slots);
        } else {
            composite = reader.read_in(set, FieldName::CircuitPanelSlots, both);
        }
        if reader.has_in(set, FieldName::CircuitSlots) {
            let bare = reader
                .quietly(set, FieldName::CircuitSlots, slots)
                .is_some();
            if !bare && reader.quietly(set, FieldName::CircuitSlots, both).is_some() {
                composite = composite.or(reader.read_in(set, FieldName::CircuitSlots, both));
            } else {
                let own = reader.read_in(set, FieldName::CircuitSlots, slots);
                circuit.slots = std::mem::take(&mut circuit.slots).or(own);
            }
        }
        // `LP-1,3` under a bare *Circuit*: slots where the job has that panel.
        if let Some(told) = reader.quietly(set, FieldName::CircuitName, both)
            && panels.contains(&told.panel)
            && !circuit.slots.is_given()
            && !composite.is_given()
        {
            composite = reader.read_in(set, FieldName::CircuitName, both);
            circuit.name = Field::Blank(circuit.name.at());
        }
        let panel_of = |both: PanelSlots| both.panel;
        circuit.panel = std::mem::take(&mut circuit.panel).or(composite.clone().map(panel_of));
        circuit.slots = std::mem::take(&mut circuit.slots).or(composite.map(|both| both.slots));
    }
}

/// Columns any of which lets a unit's row carry a circuit.
const IDENTIFYING: [FieldName; 7] = [
    FieldName::CircuitPanel,
    FieldName::CircuitSlots,
    FieldName::CircuitPanelSlots,
    FieldName::CircuitName,
    FieldName::CircuitBreaker,
    FieldName::CircuitConductor,
    FieldName::CircuitFuse,
];

/// The cell that names the row's circuit, in the order of what names it.
fn first_cell(reader: &Reader<'_>) -> CellId {
    [
        FieldName::CircuitSlots,
        FieldName::CircuitPanelSlots,
        FieldName::CircuitName,
        FieldName::CircuitLoads,
        FieldName::UnitTag,
        FieldName::CircuitPanel,
    ]
    .iter()
    .find_map(|&field| reader.cell(field))
    .unwrap_or_else(|| reader.row_cell())
}

/// The loads of a row, each of a list or a range for itself.
fn read_loads(reader: &mut Reader<'_>, circuit: &mut Circuit) {
    let field = if reader.has(FieldName::CircuitLoads) {
        FieldName::CircuitLoads
    } else {
        FieldName::UnitTag
    };
    let Field::Given(entries) = reader.read(field, loads) else {
        return;
    };
    for entry in entries.value {
        // `AH-1 HTR 1 & 2`: the number alone does not say whose heater.
        let bare = entry.text.chars().all(|c| c.is_ascii_digit());
        let text = match entry.tags.first() {
            Some(tag) if bare => tag.text(),
            _ => entry.text.as_str(),
        };
        circuit.loads.push(Load::new(text, entry.part, entries.at));
    }
}

fn poles_of(breaker: &Field<Breaker>) -> Field<u8> {
    match breaker {
        Field::Given(given) => match given.value.poles {
            Some(poles) => Field::given(poles, given.at),
            None => Field::Blank(None),
        },
        _ => Field::Blank(None),
    }
}

fn part_of<T>(wire: &Field<Conductor>, pick: impl Fn(&Conductor) -> Option<T>) -> Field<T> {
    match wire {
        Field::Given(given) => match pick(&given.value) {
            Some(value) => Field::given(value, given.at),
            None => Field::Blank(None),
        },
        _ => Field::Blank(None),
    }
}

/// The fuses that a disconnect's own cell names.
pub(super) fn fuse_in(disconnect: &Field<Disconnect>) -> Field<Amps> {
    match disconnect {
        Field::Given(given) => match given.value.fuse {
            Some(fuse) => Field::given(fuse, given.at),
            None => Field::Blank(None),
        },
        _ => Field::Blank(None),
    }
}
