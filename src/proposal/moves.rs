//! Units that change their circuit: away from loads that they may not share
//! with, and together where fewer circuits carry them.

use super::bench::Bench;
use super::phases::Phases;
use super::{data, text};
use crate::findings::Reported;
use crate::rules::branch;
use crate::schedule::{
    Amps, CellId, Circuit, CircuitId, Field, FieldName, Load, LoadTarget, Name, Part, Quantity,
    Schedule, TableKind, UnitId,
};
use crate::sizing::{grouping, supply};
use std::cmp::Reverse;
use std::collections::BTreeMap;

/// A circuit of its own for `units`, like the one that they come from.
pub(super) fn new_circuit(
    bench: &mut Bench,
    units: &[UnitId],
    from: Option<CircuitId>,
    rule: &'static str,
) -> Option<CircuitId> {
    let first = *units.first()?;
    let number = bench.next_number();
    let mut cells = bench.fresh(TableKind::Circuits);
    let s = &bench.now;
    let unit = s.unit(first);
    let near = from.or_else(|| neighbour(s, first)).map(|id| s.circuit(id));
    let mut circuit = Circuit::new(cells.first());
    let name = data::new_name(&format!("new {number}"));
    circuit.name = Field::given(name, circuit.at);
    circuit.slots = Field::Blank(Some(cells.cell()));
    let dwelling = unit.dwelling.get().or(near.and_then(|c| c.dwelling.get()));
    if let Some(dwelling) = dwelling {
        circuit.dwelling = Field::given(dwelling.clone(), cells.cell());
    }
    if let Some(near) = near {
        let at = cells.cell();
        circuit.panel = moved(&near.panel, at);
        circuit.insulation = moved(&near.insulation, cells.cell());
        circuit.terminals = moved(&near.terminals, cells.cell());
        circuit.raceway = moved(&near.raceway, cells.cell());
    }
    if let Some(from) = from.map(|id| s.circuit(id)) {
        circuit.disconnect = moved(&from.disconnect, cells.cell());
    }
    if let Some(poles) = unit.supply.get().and_then(supply::poles_needed) {
        circuit.poles = Field::given(poles, cells.cell());
    }
    let at = cells.cell();
    for &unit in units {
        circuit.loads.push(load_of(s, unit, at));
    }
    let tags = branch::tags(s, units);
    let added = CircuitId(bench.next.circuits.len() as u32);
    bench.change(
        rule,
        circuit.at,
        FieldName::CircuitName,
        format!("new {number}"),
    );
    bench.change(rule, at, FieldName::CircuitLoads, load_text(&circuit, at));
    bench.next.circuits.push(circuit);
    bench.pending.push((added, rule));
    for (field, what) in [
        (FieldName::CircuitSlots, "slots of the panel"),
        (FieldName::CircuitLength, "length"),
    ] {
        let text = format!("Which {what} has the new circuit for {tags}?");
        bench.question(None, rule, field, &format!("circuit new {number}"), text);
    }
    Some(added)
}

fn moved<T: Clone>(field: &Field<T>, at: CellId) -> Field<T> {
    match field {
        Field::Given(found) => Field::given(found.value.clone(), at),
        _ => Field::default(),
    }
}

fn load_of(s: &Schedule, unit: UnitId, at: CellId) -> Load {
    let mut load = Load::new(s.unit(unit).tag.value.text(), Part::Whole, at);
    load.target = LoadTarget::Unit(unit);
    load
}

/// A circuit of the same dwelling, from whose panel a new one would come:
/// that of a unit of the same kind before others.
fn neighbour(s: &Schedule, unit: UnitId) -> Option<CircuitId> {
    let own = s.unit(unit);
    let near = |id: &UnitId| s.unit(*id).dwelling.get() == own.dwelling.get();
    let of = |like: bool| {
        s.audited_units()
            .filter(|(id, other)| near(id) && (!like || other.is_indoor() == own.is_indoor()))
            .find_map(|(_, other)| other.circuits.first().map(|(circuit, _)| *circuit))
    };
    of(true).or_else(|| of(false))
}

fn load_text(circuit: &Circuit, at: CellId) -> String {
    let texts: Vec<&str> = circuit
        .loads
        .iter()
        .filter(|load| load.text.at == at)
        .map(|load| load.text.value.as_str())
        .collect();
    if texts.is_empty() {
        "SPARE".to_owned()
    } else {
        texts.join(", ")
    }
}

/// Takes a unit off a circuit; the cell that named it there changes.
fn take_off(bench: &mut Bench, id: CircuitId, unit: UnitId, to: &str, rule: &'static str) {
    let circuit = &mut bench.next.circuits[id.index()];
    let is = |load: &Load| load.target == LoadTarget::Unit(unit);
    let cells: Vec<CellId> = circuit
        .loads
        .iter()
        .filter(|l| is(l))
        .map(|l| l.text.at)
        .collect();
    circuit.loads.retain(|load| !is(load));
    let emptied = circuit.loads.is_empty();
    if emptied {
        let at = cells.first().copied().unwrap_or(circuit.at);
        let mut spare = Load::new("SPARE", Part::Whole, at);
        spare.target = LoadTarget::Spare;
        circuit.loads.push(spare);
        circuit.breaker = Field::Blank(circuit.breaker.at());
    }
    let circuit = circuit.clone();
    let rows = bench
        .original
        .circuits
        .get(id.index())
        .map(|c| c.rows.clone());
    for at in cells {
        let tag = bench.now.unit(unit).tag.at;
        if at.table == tag.table && at.row == tag.row {
            // The unit's own row names its circuit: that is the cell to change.
            let same = |row: &&CellId| row.table == at.table && row.row == at.row;
            if let Some(&cell) = rows.iter().flatten().find(same) {
                bench.change(rule, cell, FieldName::CircuitName, to.to_owned());
            }
        } else {
            bench.change(rule, at, FieldName::CircuitLoads, load_text(&circuit, at));
        }
    }
}

/// Puts a unit on a circuit that is there.
fn put_on(bench: &mut Bench, id: CircuitId, unit: UnitId, rule: &'static str) {
    let at = {
        let circuit = bench.next.circuit(id);
        circuit
            .loads
            .first()
            .map_or(circuit.at, |load| load.text.at)
    };
    let load = load_of(&bench.now, unit, at);
    let circuit = &mut bench.next.circuits[id.index()];
    circuit
        .loads
        .retain(|load| load.target != LoadTarget::Spare);
    circuit.loads.push(load);
    let written = load_text(circuit, at);
    bench.change(rule, at, FieldName::CircuitLoads, written);
    if !bench.pending.iter().any(|(other, _)| *other == id) {
        bench.pending.push((id, rule));
    }
}

/// Units that may share with others, as far as their own rows tell.
fn may_share(s: &Schedule, bench: &Bench, unit: UnitId) -> bool {
    s.unit(unit).instance.1 == 1 && alone_may_share(s, bench, unit)
}

/// As [`may_share`], of the units of a mark as well.
fn alone_may_share(s: &Schedule, bench: &Bench, unit: UnitId) -> bool {
    let row = s.unit(unit);
    let sharing = &bench.practice.sharing;
    let motor = branch::full_load(row).or(row.mca.copied().map(|mca| mca.largest()));
    row.is_indoor()
        && !row.has_strip_heat()
        && matches!(row.heat_kw, Field::Blank(_) | Field::Given(_))
        && row.mca.is_given()
        && row.supply.is_given()
        && row
            .mop
            .copied()
            .is_some_and(|mop| !mop.amps.smallest().below(sharing.rating))
        && motor.is_some_and(|amps| !amps.exceeds(sharing.motor_amps))
}

/// New circuits for units that have none, or may not stay on theirs: those
/// that may share together where the job is a dwelling, each other alone.
pub(super) fn place(
    bench: &mut Bench,
    units: &[UnitId],
    from: Option<CircuitId>,
    rule: &'static str,
) {
    let s = bench.now.clone();
    let dwelling = bench.practice.customer.is_some_and(|c| c.is_dwelling());
    let (together, alone): (Vec<UnitId>, Vec<UnitId>) = units
        .iter()
        .partition(|unit| dwelling && may_share(&s, bench, **unit));
    let mut sets: BTreeMap<(Option<Name>, String), Vec<UnitId>> = BTreeMap::new();
    for unit in together {
        let row = s.unit(unit);
        let volts = row.supply.get().map_or(String::new(), text::supply);
        sets.entry((row.dwelling.get().cloned(), volts))
            .or_default()
            .push(unit);
    }
    for set in sets.values() {
        let (groups, _) = groups(&s, set, bench);
        for group in groups {
            let members: Vec<UnitId> = group.iter().filter_map(|&n| set.get(n).copied()).collect();
            move_to_new(bench, &members, from, rule);
        }
    }
    for unit in alone {
        move_to_new(bench, &[unit], from, rule);
    }
}

/// Circuits for the units of one mark, the first of which is `unit`: one that
/// they share where they may and fit on it, else one each.
pub(super) fn place_mark(bench: &mut Bench, unit: UnitId, rule: &'static str) {
    let s = bench.now.clone();
    let row = s.unit(unit);
    let dwelling = bench.practice.customer.is_some_and(|c| c.is_dwelling());
    let many = row.instance.1 as usize;
    let together = dwelling
        && alone_may_share(&s, bench, unit)
        && groups(&s, &vec![unit; many], bench).0.len() == 1;
    // As many circuits as units, each naming the mark, feed one each.
    for _ in 0..if together { 1 } else { many } {
        new_circuit(bench, &[unit], None, rule);
    }
    let text = format!(
        "Are the {many} units {} on {}? Give each unit a row of its own.",
        row.tag.value,
        match together {
            true => "one circuit",
            false => "a circuit each",
        }
    );
    let label = s.unit_label(unit);
    bench.question(None, rule, FieldName::UnitQuantity, &label, text);
}

fn move_to_new(bench: &mut Bench, units: &[UnitId], from: Option<CircuitId>, rule: &'static str) {
    let number = bench.next_number();
    if let Some(from) = from {
        for &unit in units {
            take_off(bench, from, unit, &format!("new {number}"), rule);
        }
    }
    new_circuit(bench, units, from, rule);
}

/// What a finding about units that may not be together asks for.
pub(super) fn part(bench: &mut Bench, finding: &Reported, id: CircuitId) -> bool {
    let s = bench.now.clone();
    let circuit = s.circuit(id);
    let units = circuit.units();
    if units.iter().any(|&unit| s.unit(unit).instance.1 > 1) {
        let text = "Which unit of the mark is on which circuit?";
        bench.ask(finding, FieldName::UnitQuantity, text);
        return false;
    }
    let others = !branch::others(&s, circuit).is_empty();
    let leave: Vec<UnitId> = match finding.rule {
        "outdoor-not-dedicated" => {
            let outdoor = units
                .iter()
                .copied()
                .find(|&unit| s.unit(unit).is_outdoor());
            match outdoor {
                Some(outdoor) if others => vec![outdoor],
                Some(outdoor) => units.iter().copied().filter(|&u| u != outdoor).collect(),
                None => return false,
            }
        }
        "shared-with-strip-heat" => {
            let heated: Vec<UnitId> = units
                .iter()
                .copied()
                .filter(|&u| s.unit(u).has_strip_heat())
                .collect();
            if heated.len() == units.len() && !others {
                heated.into_iter().skip(1).collect()
            } else {
                heated
            }
        }
        "shared-mixed-voltage" => {
            let class = |unit: UnitId| s.unit(unit).supply.get().and_then(supply::poles_needed);
            let volts = |unit: UnitId| s.unit(unit).supply.get().map(|plate| plate.volts.clone());
            let first = units.first().copied();
            let like = |unit: UnitId| {
                first.is_some_and(|f| class(f) == class(unit) && alike(volts(f), volts(unit)))
            };
            units.iter().copied().filter(|&unit| !like(unit)).collect()
        }
        _ => {
            let (groups, _) = groups(&s, &units, bench);
            let stays = groups.first().cloned().unwrap_or_default();
            units
                .iter()
                .enumerate()
                .filter(|(n, _)| !stays.contains(n))
                .map(|(_, unit)| *unit)
                .collect()
        }
    };
    if leave.is_empty() {
        return false;
    }
    place(bench, &leave, Some(id), finding.rule);
    if !bench.pending.iter().any(|(other, _)| *other == id) {
        bench.pending.push((id, finding.rule));
    }
    true
}

/// Takes units that a shared circuit's device cannot protect to circuits of
/// their own: their MOP is below every rating that is shared, or below their
/// own MCA. Whether any was moved.
pub(super) fn unprotected(bench: &mut Bench, id: CircuitId, rule: &'static str) -> bool {
    let s = bench.now.clone();
    let units = s.circuit(id).units();
    // A unit alone with loads that are none of the job goes, these stay.
    if let ([only], false) = (
        units.as_slice(),
        branch::others(&s, s.circuit(id)).is_empty(),
    ) && s.unit(*only).instance.1 == 1
    {
        move_to_new(bench, &[*only], Some(id), rule);
        return true;
    }
    let leave: Vec<UnitId> = units
        .iter()
        .copied()
        .filter(|&unit| {
            let row = s.unit(unit);
            let mop = row.mop.copied().map(|mop| mop.amps.largest());
            let mca = row.mca.copied().map(|mca| mca.smallest());
            let small = mop.is_some_and(|mop| mop.below(bench.practice.sharing.rating));
            row.instance.1 == 1 && small && (mca.is_some() || units.len() > 1)
        })
        .collect();
    if leave.is_empty() || units.len() < 2 {
        return false;
    }
    for &unit in leave.iter().skip(usize::from(leave.len() == units.len())) {
        move_to_new(bench, &[unit], Some(id), rule);
    }
    if !bench.pending.iter().any(|(other, _)| *other == id) {
        bench.pending.push((id, rule));
    }
    true
}

fn alike(a: Option<Vec<u16>>, b: Option<Vec<u16>>) -> bool {
    match (a, b) {
        (Some(a), Some(b)) => a.iter().any(|volts| {
            b.iter()
                .any(|other| (f64::from(*volts) / f64::from(*other) - 1.0).abs() < 0.2)
        }),
        _ => true,
    }
}

/// What has to be alike for units to come together.
type Key = (Option<Name>, Option<Name>, String);

/// Puts indoor units of a dwelling on fewer circuits, where fewer carry them;
/// where none is saved, every unit stays where it is. A group stays on the
/// circuit that most of its units are on; among equals, on a three-phase
/// panel, on the one that leaves the phases best in balance, else on the
/// first. Whether anything moved.
pub(super) fn gather(bench: &mut Bench) -> bool {
    const RULE: &str = "sharing-possible";
    if !bench
        .practice
        .customer
        .is_some_and(|customer| customer.is_dwelling())
    {
        return false;
    }
    let s = bench.now.clone();
    let mut sets: BTreeMap<Key, Vec<(UnitId, CircuitId)>> = BTreeMap::new();
    for (id, unit) in s.audited_units() {
        let [(on, Part::Whole)] = unit.circuits[..] else {
            continue;
        };
        let circuit = s.circuit(on);
        let all = circuit
            .units()
            .iter()
            .all(|&other| may_share(&s, bench, other));
        if !all || !branch::others(&s, circuit).is_empty() || circuit.unnamed {
            continue;
        }
        let volts = unit.supply.get().map_or(String::new(), text::supply);
        let dwelling = unit.dwelling.get().or(circuit.dwelling.get()).cloned();
        let key = (dwelling, circuit.panel.get().cloned(), volts);
        sets.entry(key).or_default().push((id, on));
    }
    let mut any = false;
    for set in sets.values() {
        let units: Vec<UnitId> = set.iter().map(|(unit, _)| *unit).collect();
        let mut on: Vec<CircuitId> = set.iter().map(|(_, circuit)| *circuit).collect();
        on.sort_unstable();
        on.dedup();
        let (groups, proven) = groups(&s, &units, bench);
        if groups.len() >= on.len() {
            continue;
        }
        if !proven {
            let text = format!(
                "{} units come to {} circuits; the search was cut short, and fewer may do.",
                units.len(),
                groups.len()
            );
            let subject = branch::tags(&s, &units);
            bench.question(None, RULE, FieldName::CircuitLoads, &subject, text);
        }
        any = true;
        let mut used: Vec<CircuitId> = Vec::new();
        let mut phases = Phases::without(&s, &on);
        for group in &groups {
            let members: Vec<(UnitId, CircuitId)> =
                group.iter().filter_map(|&n| set.get(n).copied()).collect();
            let free = |c: &CircuitId| !used.contains(c);
            let stays = |c: &CircuitId| members.iter().filter(|(_, on)| on == c).count();
            let amps: Amps = members.iter().map(|(unit, _)| draws(&s, *unit)).sum();
            let balance = |c: &CircuitId| {
                let phases = phases.as_ref();
                phases.map_or(0, |phases| phases.after(&s, *c, amps))
            };
            let target = on
                .iter()
                .copied()
                .filter(free)
                .max_by_key(|c| (stays(c), Reverse(balance(c)), Reverse(*c)));
            let Some(target) = target else {
                continue;
            };
            used.push(target);
            if let Some(phases) = &mut phases {
                phases.put(&s, target, amps);
            }
            let label = s.circuit_label(target);
            for (unit, from) in members {
                if from != target {
                    take_off(bench, from, unit, &label, RULE);
                    put_on(bench, target, unit, RULE);
                }
            }
        }
    }
    any
}

/// The running current of a unit, by its full load or what MCA makes of it.
fn draws(s: &Schedule, unit: UnitId) -> Amps {
    let unit = s.unit(unit);
    let by_mca = || unit.mca.copied().map(|mca| mca.largest() / 1.25);
    let amps = branch::full_load(unit).or_else(by_mca);
    amps.unwrap_or(Amps(0.0))
}

/// Which of `units` fit together on circuits of the rating for sharing:
/// groups of positions, and whether no fewer would do.
fn groups(s: &Schedule, units: &[UnitId], bench: &Bench) -> (Vec<Vec<usize>>, bool) {
    let full = units
        .iter()
        .all(|&unit| branch::full_load(s.unit(unit)).is_some());
    let rating = bench.practice.sharing.rating;
    let loads: Vec<Amps> = units
        .iter()
        .map(|&unit| {
            let unit = s.unit(unit);
            let mca = unit.mca.copied().map(|mca| mca.largest());
            let amps = if full { branch::full_load(unit) } else { mca };
            amps.unwrap_or(rating)
        })
        .collect();
    let count = if full {
        grouping::Count::FullLoad
    } else {
        grouping::Count::SumOfMca
    };
    let capacity = rating * (bench.practice.sharing.near.0 / 100.0);
    let found = grouping::fewest_circuits(&loads, capacity, count, bench.practice.edition);
    let proven = found.proven;
    let mut groups = found.circuits;
    groups.extend(found.alone.into_iter().map(|one| vec![one]));
    groups.sort();
    (groups, proven)
}
