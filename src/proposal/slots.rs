//! Slots for circuits that are new or have to move: spaces that the schedule
//! shows in their panel, and slots that other circuits leave free.
//!
//! A slot that no row names may hold anything, and is never proposed.

use super::bench::Bench;
use super::phases::Phases;
use super::text;
use crate::rules::circuit_current;
use crate::schedule::{
    Amps, Circuit, CircuitId, Conflict, Fault, Field, FieldName, LoadTarget, Name, Schedule, Slot,
};
use crate::sizing::supply;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

/// What a circuit had before its slots were opened.
#[derive(Clone)]
pub(super) struct Opened {
    pub slots: Vec<Slot>,
    pub name: Field<Name>,
    /// How it was called when its slots were asked for last.
    pub called: String,
}

/// A circuit without slots, and what it needs.
struct Wanting {
    id: CircuitId,
    poles: u16,
    /// Slots that it had, lowest first.
    own: Vec<u16>,
    amps: Amps,
}

/// Nothing is there, and the row says so; a spare breaker with a rating is
/// something.
fn is_space(circuit: &Circuit) -> bool {
    let bare = |text: &str| !text.contains(|c: char| c.is_ascii_digit());
    !circuit.breaker.is_given()
        && !circuit.loads.is_empty()
        && circuit
            .loads
            .iter()
            .all(|load| load.target == LoadTarget::Spare && bare(&load.text.value))
}

/// Gives slots to the circuits that want some. Whether any got some.
pub(super) fn settle(bench: &mut Bench) -> bool {
    let s = bench.now.clone();
    let mut panels: BTreeMap<(Option<Name>, Name), Vec<Wanting>> = BTreeMap::new();
    for (id, circuit) in s.circuit_ids() {
        let (Some(panel), Some(wanting)) = (circuit.panel.get(), wanting(bench, &s, id)) else {
            continue;
        };
        let key = (circuit.dwelling.get().cloned(), panel.clone());
        panels.entry(key).or_default().push(wanting);
    }
    let mut used: BTreeMap<CircuitId, Used> = BTreeMap::new();
    let mut any = false;
    for ((dwelling, panel), mut wanting) in panels {
        let Some(mut room) = Room::of(bench, &s, dwelling.as_ref(), &panel) else {
            continue;
        };
        let ids: Vec<CircuitId> = wanting.iter().map(|one| one.id).collect();
        let mut phases = Phases::without(&s, &ids);
        wanting.sort_by_key(|one| (room.first(one, true).is_none(), Reverse(one.poles), one.id));
        for one in wanting {
            let Some(slots) = room.give(&one, phases.as_ref()) else {
                continue;
            };
            if let Some(phases) = &mut phases {
                phases.put_on(&slots, one.amps);
            }
            let rule = assign(bench, &s, one.id, &slots);
            for slot in &slots {
                if let Some(space) = room.spaces.get(slot) {
                    let (slots, _) = used.entry(*space).or_insert((BTreeSet::new(), rule));
                    slots.insert(*slot);
                }
            }
            any = true;
        }
    }
    take_spaces(bench, &s, &used);
    any
}

fn wanting(bench: &Bench, s: &Schedule, id: CircuitId) -> Option<Wanting> {
    let circuit = s.circuit(id);
    let opened = bench.opened.get(&circuit.at);
    let is_new = bench.added.contains(&circuit.at);
    if circuit.slots.is_given() || circuit.units().is_empty() || !(is_new || opened.is_some()) {
        return None;
    }
    let own = opened.filter(|_| !bench.reopened.contains(&circuit.at));
    let own = own.map_or(&[][..], |opened| opened.slots.as_slice());
    let whole = own.iter().filter(|slot| slot.half.is_none());
    let mut own: Vec<u16> = whole.map(|slot| slot.number).collect();
    own.sort_unstable();
    let of_unit = circuit
        .units()
        .iter()
        .find_map(|&unit| supply::poles_needed(s.unit(unit).supply.get()?));
    let poles = circuit.poles.copied().or(of_unit)?;
    let amps = circuit_current(s, circuit).unwrap_or(Amps(0.0));
    (1..=3).contains(&poles).then_some(Wanting {
        id,
        poles: u16::from(poles),
        own,
        amps,
    })
}

/// The free slots of one panel.
struct Room {
    free: BTreeSet<u16>,
    /// The space that a slot belongs to.
    spaces: BTreeMap<u16, CircuitId>,
}

impl Room {
    /// `None` where the panel is numbered down its columns: which slots are
    /// neighbours there the schedule does not tell.
    fn of(bench: &Bench, s: &Schedule, dwelling: Option<&Name>, panel: &Name) -> Option<Self> {
        let mut room = Self {
            free: BTreeSet::new(),
            spaces: BTreeMap::new(),
        };
        let mut taken: BTreeSet<u16> = BTreeSet::new();
        for (id, circuit) in s.circuit_ids() {
            let same = |a: Option<&Name>, b: Option<&Name>| a.is_none() || b.is_none() || a == b;
            // A row that names no panel, or no dwelling, may mean this one.
            let certain = circuit.panel.get() == Some(panel) && circuit.dwelling.get() == dwelling;
            if !same(circuit.panel.get(), Some(panel)) || !same(circuit.dwelling.get(), dwelling) {
                continue;
            }
            let moved = bench.reopened.contains(&circuit.at);
            if certain
                && !moved
                && let Some(opened) = bench.opened.get(&circuit.at)
            {
                let whole = opened.slots.iter().filter(|slot| slot.half.is_none());
                room.free.extend(whole.map(|slot| slot.number));
            }
            if certain && is_space(circuit) && !has_fault(s, id) {
                for slot in circuit.slots_taken() {
                    if slot.half.is_none() {
                        room.free.insert(slot.number);
                        room.spaces.insert(slot.number, id);
                    }
                }
                continue;
            }
            let slots = circuit.slots.get().map_or(&[][..], Vec::as_slice);
            if slots.windows(2).any(|pair| {
                pair[0].half.is_none()
                    && pair[1].half.is_none()
                    && pair[1].number == pair[0].number.saturating_add(1)
            }) {
                return None;
            }
            taken.extend(circuit.slots_taken().iter().map(|slot| slot.number));
            if let ([only], false) = (slots, circuit.poles.is_given()) {
                // How many it spans is not told.
                taken.extend([2, 4].map(|more| only.number.saturating_add(more)));
            }
        }
        room.free.retain(|slot| *slot > 0 && !taken.contains(slot));
        Some(room)
    }

    /// The lowest free slots that a breaker of these poles fits in, one below
    /// the other on one side; of its own ones alone where `own`.
    fn first(&self, one: &Wanting, own: bool) -> Option<Vec<u16>> {
        let mut fits = self.fits(one);
        fits.find(|slots| !own || slots.iter().all(|slot| one.own.contains(slot)))
    }

    fn fits<'r>(&'r self, one: &Wanting) -> impl Iterator<Item = Vec<u16>> + 'r {
        let poles = one.poles;
        self.free.iter().filter_map(move |first| {
            let slots: Vec<u16> = (0..poles).map(|n| first.saturating_add(2 * n)).collect();
            slots
                .iter()
                .all(|slot| self.free.contains(slot))
                .then_some(slots)
        })
    }

    /// Takes slots for a circuit: those that it had, else those that leave
    /// the phases best in balance, else the first.
    fn give(&mut self, one: &Wanting, phases: Option<&Phases>) -> Option<Vec<u16>> {
        let slots = self.first(one, true).or_else(|| match phases {
            Some(phases) => self
                .fits(one)
                .min_by_key(|slots| (phases.after_on(slots, one.amps), slots.clone())),
            None => self.first(one, false),
        })?;
        self.free.retain(|slot| !slots.contains(slot));
        Some(slots)
    }
}

/// Rows that disagree about a circuit are not room.
fn has_fault(s: &Schedule, id: CircuitId) -> bool {
    s.faults.iter().any(
        |fault| matches!(fault, Fault::Disagrees { what: Conflict::Circuit(of), .. } if *of == id),
    )
}

/// Gives a circuit its slots, and the rule that asks for it.
fn assign(bench: &mut Bench, s: &Schedule, id: CircuitId, slots: &[u16]) -> &'static str {
    let was = s.circuit_label(id);
    let circuit = &mut bench.next.circuits[id.index()];
    let (at, row) = (circuit.slots.at().unwrap_or(circuit.at), circuit.at);
    let slots: Vec<Slot> = slots
        .iter()
        .map(|&number| Slot { number, half: None })
        .collect();
    let written = text::slots(&slots);
    circuit.slots = Field::given(slots, at);
    if let Some(opened) = bench.opened.get(&row) {
        circuit.name = opened.name.clone();
    }
    let asked_by = [(at, FieldName::CircuitSlots), (row, FieldName::CircuitName)]
        .iter()
        .find_map(|key| Some(bench.changes.get(key)?.rule));
    let rule = asked_by.unwrap_or("slot-taken-twice");
    bench.change(rule, at, FieldName::CircuitSlots, written);
    let circuit = bench.next.circuit(id).clone();
    let named = circuit.name.get().map(|name| format!("circuit {name}"));
    let known = |subject: &String| *subject == was || Some(subject) == named.as_ref();
    let of_slots = |q: &super::Question| q.field == FieldName::CircuitSlots;
    let open = bench.opened.get(&row).map(|opened| &opened.called);
    bench
        .questions
        .retain(|q| !(of_slots(q) && (known(&q.subject) || Some(&q.subject) == open)));
    let label = bench.next.circuit_label(id);
    for question in &mut bench.questions {
        if question.subject == was {
            question.subject.clone_from(&label);
            // Its finding is told by the audit of the new label.
            question.finding = None;
        }
    }
    rule
}

/// Slots of a space that were taken, and the rule that asked for the first.
type Used = (BTreeSet<u16>, &'static str);

/// Spaces that were taken go, or keep the slots that are left of them.
fn take_spaces(bench: &mut Bench, s: &Schedule, used: &BTreeMap<CircuitId, Used>) {
    let mut gone: BTreeSet<CircuitId> = BTreeSet::new();
    for (&id, (slots, rule)) in used {
        let circuit = s.circuit(id);
        let left: Vec<Slot> = circuit
            .slots_taken()
            .into_iter()
            .filter(|slot| !slots.contains(&slot.number))
            .collect();
        if left.is_empty() {
            gone.insert(id);
            let at = circuit.loads.first().map_or(circuit.at, |l| l.text.at);
            let of_unit = |unit: &crate::schedule::Unit| {
                (unit.tag.at.table, unit.tag.at.row) == (at.table, at.row)
            };
            // The row of a unit that was moved says so already.
            if !s.units.iter().any(of_unit) {
                bench.change(rule, at, FieldName::CircuitLoads, String::new());
            }
            continue;
        }
        let next = &mut bench.next.circuits[id.index()];
        let at = next.slots.at().unwrap_or(next.at);
        next.poles = Field::Blank(next.poles.at());
        let written = text::slots(&left);
        next.slots = Field::given(left, at);
        bench.change(rule, at, FieldName::CircuitSlots, written);
    }
    drop_circuits(&mut bench.next, &gone);
}

/// Takes circuits out of the rows; what names others by number follows.
fn drop_circuits(next: &mut Schedule, gone: &BTreeSet<CircuitId>) {
    if gone.is_empty() {
        return;
    }
    let mut index = 0;
    next.circuits.retain(|_| {
        index += 1;
        !gone.contains(&CircuitId(index - 1))
    });
    for fault in &mut next.faults {
        if let Fault::Disagrees {
            what: Conflict::Circuit(id),
            ..
        } = fault
        {
            let before = gone.range(..*id).count() as u32;
            *id = CircuitId(id.0 - before);
        }
    }
}
