//! What the rules of power ask of a branch circuit: which units it feeds,
//! what protects them, its volts and poles, what their nameplates state, and
//! the arithmetic that every output shows of a circuit.

mod arithmetic;
mod changes;
mod heater;

pub use arithmetic::arithmetic;
pub use changes::{changes, conductor_text, rating_changes};
pub use heater::{heat_untold, heater_amps, heater_on, mca_includes_heat, needs_heat_kw};

use crate::findings::Want;
use crate::practice::Practice;
use crate::schedule::wire::Conductor;
use crate::schedule::{
    Amps, CellId, Celsius, Circuit, CircuitId, Field, FieldName, Load, LoadTarget, Located, Name,
    NameplateAmps, Part, Quantity, Schedule, Unit, UnitId, UnitKind, UnitPlace, Volts,
};
use crate::sizing::conductor::{self, Ampacity, Conditions, NoAmpacity};
use crate::sizing::drop::Phases;
use crate::sizing::{Worked, sharing, supply};

/// A unit that we do not audit: its circuit is not held against it.
pub fn is_audited(unit: &Unit) -> bool {
    unit.repeats.is_none() && unit.kind().is_none_or(UnitKind::needs_supply)
}

/// Words that say where a unit stands, not what else a circuit feeds.
const PLACES: [&str; 28] = [
    "ROOF",
    "LEVEL",
    "FLOOR",
    "FLR",
    "FL",
    "LVL",
    "BLDG",
    "BUILDING",
    "ROOM",
    "RM",
    "UNIT",
    "APT",
    "SUITE",
    "YARD",
    "GRADE",
    "PAD",
    "MECH",
    "ATTIC",
    "NORTH",
    "SOUTH",
    "EAST",
    "WEST",
    "UPPER",
    "LOWER",
    "DISC",
    "DISCONNECT",
    "EXTERIOR",
    "OUTSIDE",
];

/// Whether a load's text only says where: every word is a place or a number,
/// or it is the room of a unit on the same circuit.
fn says_where(schedule: &Schedule, circuit: &Circuit, load: &Load) -> bool {
    if load.target != LoadTarget::Other {
        return false;
    }
    let name = Name::new(&load.text.value);
    let room = circuit.units().iter().any(|&unit| {
        let unit = schedule.unit(unit);
        let is = |text: &str| Name::new(text) == name;
        unit.room.get().is_some_and(|room| is(room))
            || unit.dwelling.get().is_some_and(|door| *door == name)
    });
    let upper = load.text.value.to_uppercase();
    let words: Vec<&str> = upper
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .collect();
    let place = words.iter().any(|word| PLACES.contains(word))
        && words
            .iter()
            .all(|word| PLACES.contains(word) || word.chars().any(|c| c.is_ascii_digit()));
    room || place || words.is_empty()
}

/// What is on a circuit besides units of the job and spares; a text that
/// only says where a unit stands is no load.
pub fn others<'a>(schedule: &'a Schedule, circuit: &'a Circuit) -> Vec<&'a Load> {
    circuit
        .other_loads()
        .filter(|load| !says_where(schedule, circuit, load))
        .collect()
}

/// A circuit and the one unit that it feeds, nothing else.
#[derive(Clone, Copy)]
pub struct Feed<'a> {
    pub id: CircuitId,
    pub circuit: &'a Circuit,
    pub unit_id: UnitId,
    pub unit: &'a Unit,
}

/// The circuits that feed one audited unit or its fan, and nothing else.
pub fn feeds(schedule: &Schedule) -> Vec<Feed<'_>> {
    let mut feeds = Vec::new();
    for (id, circuit) in schedule.circuit_ids() {
        let [unit_id] = circuit.units()[..] else {
            continue;
        };
        let unit = schedule.unit(unit_id);
        let heater_only = circuit
            .loads
            .iter()
            .filter(|load| load.target == LoadTarget::Unit(unit_id))
            .all(|load| matches!(load.part, Part::Heater(_)));
        if is_audited(unit) && others(schedule, circuit).is_empty() && !heater_only {
            feeds.push(Feed {
                id,
                circuit,
                unit_id,
                unit,
            });
        }
    }
    feeds
}

/// A circuit on which a unit is with something else.
pub struct Shared<'a> {
    pub id: CircuitId,
    pub circuit: &'a Circuit,
    pub units: Vec<UnitId>,
    pub others: Vec<&'a Load>,
}

/// The circuits that two loads or more share, one of them an audited unit.
pub fn shared(schedule: &Schedule) -> Vec<Shared<'_>> {
    let mut all = Vec::new();
    for (id, circuit) in schedule.circuit_ids() {
        let units = circuit.units();
        let others = others(schedule, circuit);
        let audited = units.iter().any(|&unit| is_audited(schedule.unit(unit)));
        if audited && units.len() + others.len() > 1 {
            all.push(Shared {
                id,
                circuit,
                units,
                others,
            });
        }
    }
    all
}

/// The circuits that a unit is on. One that only stands in the unit's own row
/// without a name is taken for the named one, where there is one.
pub fn circuits_of(schedule: &Schedule, unit: &Unit) -> Vec<(CircuitId, Part)> {
    let named = unit
        .circuits
        .iter()
        .any(|(circuit, _)| !schedule.circuit(*circuit).unnamed);
    unit.circuits
        .iter()
        .copied()
        .filter(|(circuit, _)| !named || !schedule.circuit(*circuit).unnamed)
        .collect()
}

/// What protects a unit on a circuit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Protection {
    pub breaker: Option<Located<Amps>>,
    /// The smallest fuse named at the circuit's or the unit's disconnect.
    pub fuse: Option<Located<Amps>>,
    /// Fuses are named without their rating, or their rating is open.
    pub fuse_open: bool,
}

impl Protection {
    /// The smaller of breaker and fuse.
    pub fn rating(&self) -> Option<Located<Amps>> {
        match (self.breaker, self.fuse) {
            (Some(breaker), Some(fuse)) if fuse.value.below(breaker.value) => Some(fuse),
            (Some(breaker), _) => Some(breaker),
            (None, fuse) => fuse,
        }
    }

    pub fn by_fuse(&self) -> bool {
        self.fuse.is_some() && self.rating() == self.fuse
    }

    /// `breaker 40 A`, `fuses of 35 A behind a breaker of 40 A`.
    pub fn described(&self) -> String {
        match (self.breaker, self.fuse) {
            (Some(breaker), Some(fuse)) => {
                format!("fuses of {} and a breaker of {}", fuse.value, breaker.value)
            }
            (Some(breaker), None) => format!("a breaker of {}", breaker.value),
            (None, Some(fuse)) => format!("fuses of {}", fuse.value),
            (None, None) => "nothing stated".to_owned(),
        }
    }
}

fn located(field: &Field<Amps>) -> Option<Located<Amps>> {
    match field {
        Field::Given(located) => Some(*located),
        _ => None,
    }
}

/// What protects `unit` on `circuit`; without a unit, what protects the
/// circuit as a whole.
pub fn protection(circuit: &Circuit, unit: Option<&Unit>) -> Protection {
    let fields = [Some(&circuit.fuse), unit.map(|unit| &unit.fuse)];
    let disconnects = [Some(&circuit.disconnect), unit.map(|unit| &unit.disconnect)];
    let mut fuse: Option<Located<Amps>> = None;
    let mut take = |found: Located<Amps>| {
        if fuse.is_none_or(|least| found.value.below(least.value)) {
            fuse = Some(found);
        }
    };
    let mut open = false;
    for field in fields.into_iter().flatten() {
        match field {
            Field::Given(found) => take(*found),
            Field::Blank(_) => {}
            _ => open = true,
        }
    }
    for field in disconnects.into_iter().flatten() {
        if let Field::Given(found) = field {
            match found.value.fuse {
                Some(amps) => take(Located::new(amps, found.at)),
                None => open |= found.value.fused == Some(true),
            }
        }
    }
    Protection {
        breaker: located(&circuit.breaker),
        fuse,
        fuse_open: open && fuse.is_none(),
    }
}

/// What is wanting where a field is not given.
pub fn want<T>(field: &Field<T>, name: FieldName) -> Want {
    match field {
        Field::Elsewhere(_) => Want::Fact("provided by others, not audited"),
        _ => Want::Field(name),
    }
}

/// The cell to pin a finding on a rating to: its own, else the breaker's.
pub fn rating_place(circuit: &Circuit, protection: &Protection) -> CellId {
    protection
        .rating()
        .map(|rating| rating.at)
        .or(circuit.breaker.at())
        .unwrap_or(circuit.at)
}

/// The number of poles, and whether the schedule states it or only the slots
/// tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Poles {
    pub count: u8,
    pub stated: bool,
}

pub fn poles(circuit: &Circuit) -> Option<Poles> {
    if let Some(count) = circuit.poles.copied() {
        return Some(Poles {
            count,
            stated: true,
        });
    }
    let slots = circuit.slots.get()?;
    let mut numbers: Vec<u16> = slots.iter().map(|slot| slot.number).collect();
    numbers.sort_unstable();
    numbers.dedup();
    match numbers.len() {
        count @ 2..=3 => Some(Poles {
            count: count as u8,
            stated: false,
        }),
        _ => None,
    }
}

/// The nominal volts of a circuit of `poles`, and the cell that told.
pub fn volts_at(
    schedule: &Schedule,
    circuit: &Circuit,
    poles: Option<u8>,
) -> Option<Located<Volts>> {
    if let Field::Given(found) = &circuit.supply
        && let [only] = found.value.volts[..]
    {
        return Some(Located::new(Volts(f64::from(only)), found.at));
    }
    let panel = schedule.supply_of(circuit)?;
    let volts = supply::volts_between(&panel.value, poles?)?;
    Some(Located::new(volts, panel.at))
}

/// The volts at the circuit's own poles.
pub fn volts(schedule: &Schedule, circuit: &Circuit) -> Option<Volts> {
    volts_at(schedule, circuit, poles(circuit).map(|poles| poles.count)).map(|found| found.value)
}

/// The volts that a unit is supplied with, by its circuits, else by the job
/// and the poles that its nameplate needs.
pub fn unit_volts(schedule: &Schedule, unit: &Unit) -> Option<Volts> {
    let by_circuit = circuits_of(schedule, unit)
        .iter()
        .find_map(|(circuit, _)| volts(schedule, schedule.circuit(*circuit)));
    by_circuit.or_else(|| {
        let needed = unit.supply.get().and_then(supply::poles_needed)?;
        match &schedule.facts.supply {
            Field::Given(job) => supply::volts_between(&job.value, needed),
            _ => None,
        }
    })
}

/// A current known within bounds: a nameplate of two voltages where the
/// supply is not known has two.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    pub least: Amps,
    pub most: Amps,
}

pub fn span(amps: NameplateAmps, supply: Option<Volts>) -> Span {
    match amps.at(supply) {
        Some(one) => Span {
            least: one,
            most: one,
        },
        None => Span {
            least: amps.smallest(),
            most: amps.largest(),
        },
    }
}

impl Span {
    pub fn is_one(&self) -> bool {
        self.least == self.most
    }

    /// `35 A`, `35 A or 40 A, by the supply`.
    pub fn described(&self) -> String {
        if self.is_one() {
            self.least.to_string()
        } else {
            format!("{} or {}, by the supply", self.least, self.most)
        }
    }
}

pub fn mca(unit: &Unit, supply: Option<Volts>) -> Option<Span> {
    unit.mca.copied().map(|mca| span(mca, supply))
}

pub fn mop(unit: &Unit, supply: Option<Volts>) -> Option<Span> {
    unit.mop.copied().map(|mop| span(mop.amps, supply))
}

/// The phases of a unit by its nameplate, else by the poles of a circuit that
/// feeds it; `None` where neither tells.
pub fn phases(unit: &Unit, circuit: Option<&Circuit>) -> Option<Phases> {
    let by_poles = || circuit.and_then(poles).map(|poles| poles.count);
    match unit
        .supply
        .get()
        .and_then(|supply| supply.phases)
        .or_else(by_poles)?
    {
        3 => Some(Phases::Three),
        _ => Some(Phases::Single),
    }
}

/// The column that would tell a circuit's volts: the panel's own row where it
/// has one, else the job's supply.
pub fn volts_field(circuit: &Circuit) -> FieldName {
    match circuit.panel_id {
        Some(_) => FieldName::PanelSupply,
        None => FieldName::JobSupply,
    }
}

/// Whether MCA and MOP of the unit's row are those of this circuit: `Err`
/// says what is wanting to tell.
pub fn nameplate_binds(schedule: &Schedule, feed: &Feed<'_>) -> Result<(), Want> {
    let circuits = circuits_of(schedule, feed.unit);
    if circuits.iter().all(|(circuit, _)| *circuit == feed.id) {
        return Ok(());
    }
    let heater_apart = circuits
        .iter()
        .filter(|(circuit, _)| *circuit != feed.id)
        .all(|(_, part)| matches!(part, Part::Heater(_)));
    let supply = volts(schedule, feed.circuit);
    if heater_apart && mca_includes_heat(feed.unit, supply) != Some(true) {
        return Ok(());
    }
    Err(Want::Fact(
        "which of the unit's circuits its MCA and MOP belong to",
    ))
}

/// The full-load current of a unit: its compressor's and its fans'. A unit
/// that states one of the two alone does not state it, an indoor unit
/// excepted, which has no compressor.
pub fn full_load(unit: &Unit) -> Option<Amps> {
    match (unit.rla.copied(), unit.fla.copied()) {
        (Some(rla), Some(fla)) => Some(rla + fla),
        (Some(_), None) => None,
        (None, _) if unit.is_outdoor() => None,
        (None, fla) => fla,
    }
}

/// The load of a shared circuit as far as its units state it.
pub struct Load430 {
    pub load: sharing::SharedLoad,
    pub steps: Vec<crate::sizing::Step>,
    /// Units that state neither full-load current nor MCA.
    pub silent: Vec<UnitId>,
    /// Units that state an MCA and no full-load current.
    pub by_mca: Vec<UnitId>,
}

pub fn shared_load(
    schedule: &Schedule,
    circuit: &Circuit,
    units: &[UnitId],
    practice: &Practice,
) -> Load430 {
    let supply = volts(schedule, circuit);
    let mut least = Vec::new();
    let mut most = Vec::new();
    let mut silent = Vec::new();
    let mut by_mca = Vec::new();
    for &id in units {
        let unit = schedule.unit(id);
        match (full_load(unit), mca(unit, supply)) {
            (Some(amps), _) => {
                least.push(sharing::Member::FullLoad(amps));
                most.push(sharing::Member::FullLoad(amps));
            }
            (None, Some(mca)) => {
                least.push(sharing::Member::Mca(mca.least));
                most.push(sharing::Member::Mca(mca.most));
                by_mca.push(id);
            }
            (None, None) => silent.push(id),
        }
    }
    let Worked { value: high, steps } = sharing::load(&most, practice.edition);
    let low = sharing::load(&least, practice.edition).value;
    Load430 {
        load: sharing::SharedLoad {
            least: low.least,
            ..high
        },
        steps,
        silent,
        by_mca,
    }
}

/// What is known around a circuit's conductors: what the schedule states and
/// what the profile assumes for terminals; no ambient of the profile.
pub fn conditions(circuit: &Circuit, practice: &Practice) -> Conditions {
    Conditions {
        terminals: circuit.terminals.copied(),
        device: protection(circuit, None)
            .rating()
            .map(|rating| rating.value),
        assumed_terminals: Some(practice.terminals.general),
        ambient: circuit.ambient.copied(),
        together: circuit.in_raceway.copied(),
        ..Conditions::unstated(practice.edition)
    }
}

/// The ambient that the profile assumes where a unit of the circuit stands,
/// the highest of them, with its key; `None` where the schedule states one or
/// the profile sets none.
pub fn profile_ambient(
    schedule: &Schedule,
    circuit: &Circuit,
    practice: &Practice,
) -> Option<(Celsius, &'static str)> {
    if circuit.ambient.is_given() {
        return None;
    }
    circuit
        .units()
        .iter()
        .filter_map(|&unit| match schedule.unit(unit).place.copied()? {
            UnitPlace::Roof => practice.ambient.roof.map(|at| (at, "ambient.roof")),
            UnitPlace::Attic => practice.ambient.attic.map(|at| (at, "ambient.attic")),
            UnitPlace::Outdoors => practice.ambient.outdoors.map(|at| (at, "ambient.outdoors")),
            // 30 °C is what the table of ampacities stands at.
            UnitPlace::Indoors => Some((practice.ambient.indoors, "ambient.indoors"))
                .filter(|(at, _)| at.exceeds(Celsius(30.0))),
        })
        .reduce(|a, b| if b.0.0 > a.0.0 { b } else { a })
}

pub fn ampacity(
    circuit: &Circuit,
    conductor: &Conductor,
    at: &Conditions,
) -> Result<Worked<Ampacity>, NoAmpacity> {
    conductor::ampacity(conductor, circuit.insulation.copied(), at)
}

/// Tags of units, joined: `FC-1, FC-2 and 4 more`.
pub fn tags(schedule: &Schedule, units: &[UnitId]) -> String {
    let shown: Vec<String> = units
        .iter()
        .take(6)
        .map(|&unit| {
            let unit = schedule.unit(unit);
            if unit.instance.1 > 1 {
                format!(
                    "{} ({} of {})",
                    unit.tag.value, unit.instance.0, unit.instance.1
                )
            } else {
                unit.tag.value.to_string()
            }
        })
        .collect();
    match units.len().saturating_sub(shown.len()) {
        0 => shown.join(", "),
        more => format!("{} and {more} more", shown.join(", ")),
    }
}

#[cfg(test)]
mod tests;
