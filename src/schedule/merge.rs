//! Rows of one identity become one thing; where they differ, a fault says
//! which two cells do.

use super::wire::{Grounding, Insulation};
use super::{
    CellId, Circuit, CircuitId, Conflict, Controller, Fault, Field, FieldName, Name, Panel,
    PanelId, Slot, Sources, TableKind, Unit, UnitId,
};
use std::collections::BTreeMap;

/// Takes `other` into `mine`; a fault where both say something and differ.
struct Merger<'a> {
    what: Conflict,
    sources: &'a Sources,
    faults: &'a mut Vec<Fault>,
}

impl Merger<'_> {
    fn take<T: Clone + PartialEq>(
        &mut self,
        field: FieldName,
        mine: &mut Field<T>,
        other: &Field<T>,
    ) {
        self.take_if(field, mine, other, |a, b| a == b);
    }

    fn take_if<T: Clone>(
        &mut self,
        field: FieldName,
        mine: &mut Field<T>,
        other: &Field<T>,
        agree: impl Fn(&T, &T) -> bool,
    ) {
        if let (Field::Given(a), Field::Given(b)) = (&*mine, other)
            && !agree(&a.value, &b.value)
        {
            self.faults.push(Fault::Disagrees {
                what: self.what,
                field,
                at: b.at,
                says: self.sources.text(b.at).to_owned(),
                other: a.at,
                other_says: self.sources.text(a.at).to_owned(),
            });
        }
        *mine = std::mem::take(mine).or(other.clone());
    }
}

/// Units: rows of one tag in different tables (an electrical and a
/// mechanical schedule, say) are one unit. Rows of one tag in one table are
/// a duplicate: where nothing conflicts the later one is marked as a
/// repetition, else both stand.
pub(super) fn units(rows: Vec<Unit>, sources: &Sources, faults: &mut Vec<Fault>) -> Vec<Unit> {
    let mut units: Vec<Unit> = Vec::with_capacity(rows.len());
    let mut seen: BTreeMap<(Option<Name>, Name, u32), Vec<usize>> = BTreeMap::new();
    for row in rows {
        let identity = (
            row.dwelling.get().cloned(),
            row.tag.value.clone(),
            row.instance.0,
        );
        let earlier = seen.entry(identity).or_default();
        let in_other_table = earlier
            .iter()
            .copied()
            .find(|&index| units[index].tag.at.table != row.tag.at.table);
        let in_this_table = earlier
            .iter()
            .copied()
            .find(|&index| units[index].tag.at.table == row.tag.at.table);
        match (in_this_table, in_other_table) {
            (None, Some(index)) => {
                let what = Conflict::Unit(UnitId(index as u32));
                merge_unit(
                    &mut units[index],
                    &row,
                    &mut Merger {
                        what,
                        sources,
                        faults,
                    },
                );
            }
            (Some(index), _) => {
                let mut row = row;
                if !nameplates_conflict(&units[index], &row)
                    && !units[index].is_of_another_type(&row)
                {
                    row.repeats = Some(UnitId(index as u32));
                }
                // Not kept in `earlier`: the first of a table stands for all
                // of it, and a table that repeats one tag stays linear.
                units.push(row);
            }
            (None, None) => {
                earlier.push(units.len());
                units.push(row);
            }
        }
    }
    units
}

/// Whether two rows of one tag cannot be one unit.
fn nameplates_conflict(a: &Unit, b: &Unit) -> bool {
    fn differ<T: PartialEq>(a: &Field<T>, b: &Field<T>) -> bool {
        matches!((a.get(), b.get()), (Some(a), Some(b)) if a != b)
    }
    kinds_conflict(a, b)
        || differ(&a.mca, &b.mca)
        || differ(&a.mop, &b.mop)
        || differ(&a.supply, &b.supply)
        || differ(&a.heat_kw, &b.heat_kw)
        || differ(&a.model, &b.model)
}

/// Whether two rows call a unit two things. What only the tag told is no
/// statement, an air handler is an indoor unit, and a module an outdoor one.
fn kinds_conflict(a: &Unit, b: &Unit) -> bool {
    let (Some(left), Some(right)) = (a.kind(), b.kind()) else {
        return false;
    };
    let one = left == right
        || left.is_indoor() && right.is_indoor()
        || left.is_outdoor() && right.is_outdoor();
    !one && !kind_from_tag(a) && !kind_from_tag(b)
}

fn kind_from_tag(unit: &Unit) -> bool {
    unit.kind.at() == Some(unit.tag.at)
}

fn merge_unit(unit: &mut Unit, row: &Unit, merger: &mut Merger<'_>) {
    if row.kind.is_given() && kind_from_tag(unit) && !kind_from_tag(row) {
        unit.kind = row.kind.clone();
    }
    let conflict = kinds_conflict(unit, row);
    merger.take_if(FieldName::UnitKind, &mut unit.kind, &row.kind, |_, _| {
        !conflict
    });
    merger.take(FieldName::UnitSystem, &mut unit.system, &row.system);
    merger.take(FieldName::UnitMca, &mut unit.mca, &row.mca);
    merger.take(FieldName::UnitMop, &mut unit.mop, &row.mop);
    merger.take(FieldName::UnitRla, &mut unit.rla, &row.rla);
    merger.take(FieldName::UnitFla, &mut unit.fla, &row.fla);
    merger.take(FieldName::UnitHeatKw, &mut unit.heat_kw, &row.heat_kw);
    merger.take(
        FieldName::UnitHeatVolts,
        &mut unit.heat_volts,
        &row.heat_volts,
    );
    merger.take(
        FieldName::UnitHeatProtection,
        &mut unit.heat_protection,
        &row.heat_protection,
    );
    merger.take(
        FieldName::UnitHorsepower,
        &mut unit.horsepower,
        &row.horsepower,
    );
    merger.take(FieldName::UnitPlace, &mut unit.place, &row.place);
    merger.take(FieldName::UnitFuse, &mut unit.fuse, &row.fuse);
    merger.take(FieldName::UnitBusLimit, &mut unit.bus_limit, &row.bus_limit);
    merger.take(
        FieldName::UnitMostUnits,
        &mut unit.most_units,
        &row.most_units,
    );
    merger.take(FieldName::UnitCapacity, &mut unit.capacity, &row.capacity);
    merger.take_if(FieldName::UnitModel, &mut unit.model, &row.model, |a, b| {
        a.trim().eq_ignore_ascii_case(b.trim())
    });
    // One schedule may write 208/230 and another 208: they agree where they
    // share a voltage.
    merger.take_if(
        FieldName::UnitSupply,
        &mut unit.supply,
        &row.supply,
        |a, b| {
            let volts = a.volts.is_empty()
                || b.volts.is_empty()
                || a.volts.iter().any(|volts| b.volts.contains(volts));
            let phases = a.phases.is_none() || b.phases.is_none() || a.phases == b.phases;
            volts && phases
        },
    );
    // Words for a place or a room differ from schedule to schedule without
    // being in conflict.
    merger.take_if(FieldName::UnitRoom, &mut unit.room, &row.room, |_, _| true);
    merger.take_if(
        FieldName::UnitDwellingType,
        &mut unit.dwelling_type,
        &row.dwelling_type,
        |_, _| true,
    );
    merger.take_if(
        FieldName::UnitDisconnect,
        &mut unit.disconnect,
        &row.disconnect,
        |a, b| a.amps == b.amps || a.amps.is_none() || b.amps.is_none(),
    );
    merger.take_if(
        FieldName::UnitInterlock,
        &mut unit.interlock,
        &row.interlock,
        |_, _| true,
    );
}

/// Panels: all rows of one name in one dwelling are one panel.
pub(super) fn panels(rows: Vec<Panel>, sources: &Sources, faults: &mut Vec<Fault>) -> Vec<Panel> {
    let mut panels: Vec<Panel> = Vec::new();
    let mut seen: BTreeMap<(Option<Name>, Name), usize> = BTreeMap::new();
    for row in rows {
        let identity = (row.dwelling.get().cloned(), row.name.value.clone());
        let Some(&index) = seen.get(&identity) else {
            seen.insert(identity, panels.len());
            panels.push(row);
            continue;
        };
        let mut merger = Merger {
            what: Conflict::Panel(PanelId(index as u32)),
            sources,
            faults,
        };
        let panel = &mut panels[index];
        merger.take_if(
            FieldName::PanelSupply,
            &mut panel.supply,
            &row.supply,
            |a, b| {
                let agree = |a: Option<f64>, b: Option<f64>| a.is_none() || b.is_none() || a == b;
                let neutral = |s: &super::PanelSupply| s.line_to_neutral.map(|volts| volts.0);
                a.line_to_line == b.line_to_line
                    && agree(neutral(a), neutral(b))
                    && agree(a.phases.map(f64::from), b.phases.map(f64::from))
            },
        );
        merger.take(FieldName::PanelMain, &mut panel.main, &row.main);
        merger.take(FieldName::PanelBus, &mut panel.bus, &row.bus);
        merger.take_if(
            FieldName::PanelFedFrom,
            &mut panel.fed_from,
            &row.fed_from,
            |a, b| Name::new(a) == Name::new(b),
        );
    }
    panels
}

/// Circuits: rows of one panel and one set of slots, or of one circuit name,
/// are one circuit. Rows of the circuits' own table come first, so that the
/// equipment's rows are read against them.
pub(super) fn circuits(
    rows: Vec<Circuit>,
    sources: &Sources,
    faults: &mut Vec<Fault>,
) -> (Vec<Circuit>, Vec<Claim>) {
    let mut claims = Vec::new();
    let from_circuits = |row: &Circuit| {
        sources
            .tables
            .get(row.at.table as usize)
            .is_some_and(|table| table.kind == TableKind::Circuits)
    };
    let (own, wide): (Vec<_>, Vec<_>) = rows.into_iter().partition(from_circuits);
    let mut merged = Merged::default();
    for row in own.into_iter().chain(wide) {
        match merged.find(&row) {
            Some(index) => {
                let scheduled = from_circuits(&merged.circuits[index]);
                let from_equipment = !from_circuits(&row);
                merged.merge(index, &row, sources, faults);
                if scheduled
                    && from_equipment
                    && let Some(load) = row.loads.first()
                {
                    claims.push(Claim {
                        circuit: index,
                        load: load.text.value.clone(),
                        at: circuit_cell(&row),
                    });
                }
                merged.add_loads(index, row);
            }
            None => merged.push(row),
        }
    }
    (merged.circuits, claims)
}

/// An equipment row says that its unit is on a circuit that the circuits'
/// own table schedules. Whether the table agrees is told once the names of
/// its loads are resolved.
pub(super) struct Claim {
    pub circuit: usize,
    /// The unit's tag, as the load of its row.
    pub load: String,
    /// The cell of the unit's row that names the circuit.
    pub at: CellId,
}

/// The cell of a row that names the circuit.
fn circuit_cell(row: &Circuit) -> CellId {
    row.slots
        .at()
        .or(row.name.at())
        .or(row.panel.at())
        .unwrap_or(row.at)
}

type SlotKey = (Option<Name>, Option<Name>, Slot);
type NameKey = (Option<Name>, Option<Name>, Name);

#[derive(Default)]
struct Merged {
    circuits: Vec<Circuit>,
    by_slot: BTreeMap<SlotKey, Vec<usize>>,
    by_name: BTreeMap<NameKey, Vec<usize>>,
    loads: std::collections::BTreeSet<(usize, Name, super::Part)>,
    /// The loads' texts and the words in them, so that a circuit with very
    /// many loads is not walked for each.
    mentioned: std::collections::BTreeSet<(usize, Name)>,
}

impl Merged {
    fn note_load(&mut self, index: usize, load: &super::Load) {
        let text = &load.text.value;
        let name = Name::new(text);
        if text.contains(char::is_whitespace) {
            let words = text.split_whitespace();
            self.mentioned
                .extend(words.map(|word| (index, Name::new(word))));
        }
        self.mentioned.insert((index, name.clone()));
        self.loads.insert((index, name, load.part));
    }

    fn push(&mut self, mut row: Circuit) {
        let index = self.circuits.len();
        self.index(index, &row);
        row.rows = vec![row.at];
        for load in &row.loads {
            self.note_load(index, load);
        }
        self.circuits.push(row);
    }

    fn index(&mut self, index: usize, row: &Circuit) {
        let dwelling = row.dwelling.get().cloned();
        let panel = row.panel.get().cloned();
        if let Some(first) = row.slots.get().and_then(|slots| slots.first()) {
            for key in [
                (dwelling.clone(), panel.clone(), *first),
                // Also under no panel, for rows that name the slots alone.
                (dwelling.clone(), None, *first),
            ] {
                let entries = self.by_slot.entry(key).or_default();
                if entries.last() != Some(&index) {
                    entries.push(index);
                }
            }
        }
        if let Some(name) = row.name.get() {
            for key in [
                (dwelling.clone(), panel, name.clone()),
                (dwelling.clone(), None, name.clone()),
            ] {
                let entries = self.by_name.entry(key).or_default();
                if entries.last() != Some(&index) {
                    entries.push(index);
                }
            }
        }
    }

    /// The circuit that the row means, if one is there already.
    fn find(&self, row: &Circuit) -> Option<usize> {
        let dwelling = row.dwelling.get().cloned();
        let scopes = if dwelling.is_some() {
            vec![dwelling, None]
        } else {
            vec![None]
        };
        for scope in scopes {
            if let Some(first) = row.slots.get().and_then(|slots| slots.first()) {
                let key = (scope.clone(), row.panel.get().cloned(), *first);
                let same: Vec<usize> = self
                    .by_slot
                    .get(&key)
                    .into_iter()
                    .flatten()
                    .copied()
                    .filter(|&index| same_slots(&self.circuits[index], row))
                    .collect();
                if let [only] = same.as_slice() {
                    return Some(*only);
                }
                if let Some(&exact) = same
                    .iter()
                    .find(|&&i| self.circuits[i].panel.get() == row.panel.get())
                {
                    return Some(exact);
                }
            } else if let Some(name) = row.name.get() {
                let key = (scope.clone(), row.panel.get().cloned(), name.clone());
                if let Some([only]) = self.by_name.get(&key).map(Vec::as_slice) {
                    return Some(*only);
                }
            }
        }
        None
    }

    fn merge(&mut self, index: usize, row: &Circuit, sources: &Sources, faults: &mut Vec<Fault>) {
        let what = Conflict::Circuit(CircuitId(index as u32));
        let mut merger = Merger {
            what,
            sources,
            faults,
        };
        let circuit = &mut self.circuits[index];
        merger.take(
            FieldName::CircuitBreaker,
            &mut circuit.breaker,
            &row.breaker,
        );
        merger.take(FieldName::CircuitPoles, &mut circuit.poles, &row.poles);
        merger.take(FieldName::CircuitFuse, &mut circuit.fuse, &row.fuse);
        merger.take_if(
            FieldName::CircuitConductor,
            &mut circuit.conductor,
            &row.conductor,
            |a, b| {
                let sizes = a.size.is_none() || b.size.is_none() || a.size == b.size;
                let cables = a.cable.is_none() || b.cable.is_none() || a.cable == b.cable;
                sizes && cables
            },
        );
        // `10/2 w/G` in one schedule and `#10 G` in another are one ground.
        merger.take_if(
            FieldName::CircuitGround,
            &mut circuit.ground,
            &row.ground,
            |a, b| match (a, b) {
                (Grounding::Sized { size: a, .. }, Grounding::Sized { size: b, .. }) => a == b,
                (Grounding::Absent, other) | (other, Grounding::Absent) => {
                    *other == Grounding::Absent
                }
                _ => true,
            },
        );
        merger.take_if(
            FieldName::CircuitInsulation,
            &mut circuit.insulation,
            &row.insulation,
            |a, b| a == b || marked_both(*a, *b) || marked_both(*b, *a),
        );
        merger.take(
            FieldName::CircuitTerminals,
            &mut circuit.terminals,
            &row.terminals,
        );
        merger.take_if(
            FieldName::CircuitRaceway,
            &mut circuit.raceway,
            &row.raceway,
            |a, b| a.kind == b.kind,
        );
        merger.take(
            FieldName::CircuitInRaceway,
            &mut circuit.in_raceway,
            &row.in_raceway,
        );
        merger.take(
            FieldName::CircuitAmbient,
            &mut circuit.ambient,
            &row.ambient,
        );
        // Each unit on a shared circuit may state the length to itself: the
        // longest counts, and it is no conflict.
        if let (Field::Given(mine), Field::Given(other)) = (&circuit.length, &row.length)
            && other.value.0 > mine.value.0
        {
            circuit.length = row.length.clone();
        }
        merger.take_if(
            FieldName::CircuitLength,
            &mut circuit.length,
            &row.length,
            |_, _| true,
        );
        merger.take_if(
            FieldName::CircuitSupply,
            &mut circuit.supply,
            &row.supply,
            |_, _| true,
        );
        merger.take_if(
            FieldName::CircuitLoadAmps,
            &mut circuit.load_amps,
            &row.load_amps,
            |_, _| true,
        );
        merger.take_if(
            FieldName::CircuitLoadVa,
            &mut circuit.load_va,
            &row.load_va,
            |_, _| true,
        );
        merger.take_if(
            FieldName::CircuitDisconnect,
            &mut circuit.disconnect,
            &row.disconnect,
            |_, _| true,
        );
        merger.take(FieldName::CircuitPanel, &mut circuit.panel, &row.panel);
        merger.take_if(
            FieldName::CircuitName,
            &mut circuit.name,
            &row.name,
            |_, _| true,
        );
        circuit.rows.push(row.at);
    }

    fn add_loads(&mut self, index: usize, row: Circuit) {
        for load in row.loads {
            let name = Name::new(&load.text.value);
            let whole = (index, name.clone(), super::Part::Whole);
            let this = (index, name, load.part);
            // An equipment row names its unit; the circuits' table may name
            // the same unit or a part of it: not a second load.
            let listed = self.loads.contains(&this)
                || load.part == super::Part::Whole
                    && self.mentioned.contains(&(index, this.1.clone()));
            if !(listed || self.loads.contains(&whole) && load.part != super::Part::Whole) {
                self.note_load(index, &load);
                self.circuits[index].loads.push(load);
            }
        }
    }
}

/// Building wire marked THHN/THWN-2, and the same wire by one of its marks.
fn marked_both(a: Insulation, b: Insulation) -> bool {
    a == Insulation::ThhnThwn2 && matches!(b, Insulation::Thhn | Insulation::Thwn2)
}

/// Same slots, as written or as the poles span them; a row that names only
/// the first slot and no poles means the same circuit.
fn same_slots(a: &Circuit, b: &Circuit) -> bool {
    let (Some(left), Some(right)) = (a.slots.get(), b.slots.get()) else {
        return false;
    };
    let bare = |circuit: &Circuit, slots: &[Slot]| slots.len() == 1 && !circuit.poles.is_given();
    left == right || a.slots_taken() == b.slots_taken() || bare(a, left) || bare(b, right)
}

/// Controllers: a thermostat named in several wide equipment rows is one
/// thermostat on several units; two rows of a controllers' table stand as
/// two, and the rules ask about them.
pub(super) fn controllers(rows: Vec<Controller>, sources: &Sources) -> Vec<Controller> {
    let own_table = |row: &Controller| {
        sources
            .tables
            .get(row.tag.at.table as usize)
            .is_some_and(|table| table.kind == TableKind::Controllers)
    };
    let mut controllers: Vec<Controller> = Vec::new();
    let mut seen: BTreeMap<(Option<Name>, Name), usize> = BTreeMap::new();
    let (own, wide): (Vec<_>, Vec<_>) = rows.into_iter().partition(own_table);
    for row in own.into_iter().chain(wide) {
        let identity = (row.dwelling.get().cloned(), row.tag.value.clone());
        match seen.get(&identity) {
            Some(&index)
                if !own_table(&row) || controllers[index].tag.at.table != row.tag.at.table =>
            {
                let controller = &mut controllers[index];
                for unit in row.units {
                    if !controller
                        .units
                        .iter()
                        .any(|known| known.value == unit.value)
                    {
                        controller.units.push(unit);
                    }
                }
                controller.units_cell =
                    std::mem::take(&mut controller.units_cell).or(row.units_cell);
                controller.room = std::mem::take(&mut controller.room).or(row.room);
                controller.group = std::mem::take(&mut controller.group).or(row.group);
                controller.wireless = std::mem::take(&mut controller.wireless).or(row.wireless);
            }
            _ => {
                seen.entry(identity).or_insert(controllers.len());
                controllers.push(row);
            }
        }
    }
    controllers
}
