//! What the rules of power ask of a branch circuit: which units it feeds,
//! what protects them, its volts and poles, what their nameplates state, and
//! the arithmetic that every output shows of a circuit.

use crate::findings::{Change, Step, Want};
use crate::practice::Practice;
use crate::schedule::wire::{Conductor, Grounding, Size};
use crate::schedule::{
    Amps, CellId, Celsius, Circuit, CircuitId, Field, FieldName, Load, LoadTarget, Located, Name,
    NameplateAmps, Part, Quantity, Schedule, Unit, UnitId, UnitKind, UnitPlace, Volts, number,
};
use crate::sizing::conductor::{self, Ampacity, Conditions, NoAmpacity};
use crate::sizing::drop::Phases;
use crate::sizing::{Worked, heat, sharing, supply};

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

pub fn phases(unit: &Unit) -> Phases {
    match unit.supply.get().and_then(|supply| supply.phases) {
        Some(3) => Phases::Three,
        _ => Phases::Single,
    }
}

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

/// The full-load current of a unit: its compressor's and its fans'.
pub fn full_load(unit: &Unit) -> Option<Amps> {
    match (unit.rla.copied(), unit.fla.copied()) {
        (Some(rla), fla) => Some(rla + fla.unwrap_or(Amps(0.0))),
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

fn amps_step(what: &'static str, value: String, how: impl Into<String>) -> Step {
    Step {
        what,
        value: value.into(),
        how: how.into(),
        source: String::new(),
    }
}

/// The circuit's arithmetic for the reader: load, MCA, MOP, protection and
/// ampacity, as far as the schedule gives them.
pub fn arithmetic(schedule: &Schedule, id: CircuitId, practice: &Practice) -> Vec<Step> {
    let circuit = schedule.circuit(id);
    let units = circuit.units();
    let supply = volts(schedule, circuit);
    let mut steps = Vec::new();
    let together = units.len() + others(schedule, circuit).len() > 1;
    let states = |unit: &UnitId| {
        let unit = schedule.unit(*unit);
        full_load(unit).is_some() || unit.mca.is_given()
    };
    if together && units.iter().any(states) {
        let found = shared_load(schedule, circuit, &units, practice);
        let how: Vec<String> = found.steps.iter().map(|step| step.how.clone()).collect();
        let text = if found.load.exact {
            found.load.most.to_string()
        } else {
            format!("{} to {}", found.load.least, found.load.most)
        };
        steps.push(amps_step("load", text, how.join("; ")));
    } else if let [only] = units[..]
        && let Some(amps) = full_load(schedule.unit(only))
    {
        steps.push(amps_step("load", amps.to_string(), "full-load current"));
    }
    let mcas: Vec<Span> = units
        .iter()
        .filter_map(|&unit| mca(schedule.unit(unit), supply))
        .collect();
    match mcas[..] {
        [] => {}
        [one] => steps.push(amps_step("mca", one.described(), "nameplate")),
        _ => {
            let sum: Amps = mcas.iter().map(|mca| mca.most).sum();
            let how = format!("sum of {} nameplates", mcas.len());
            steps.push(amps_step("mca", sum.to_string(), how));
        }
    }
    let smallest = units
        .iter()
        .filter_map(|&unit| mop(schedule.unit(unit), supply))
        .reduce(|a, b| if b.least.below(a.least) { b } else { a });
    if let Some(mop) = smallest {
        let how = if together {
            "smallest nameplate on it"
        } else {
            "nameplate"
        };
        steps.push(amps_step("mop", mop.described(), how));
    }
    let unit = match units[..] {
        [only] => Some(schedule.unit(only)),
        _ => None,
    };
    let found = protection(circuit, unit);
    if let Some(rating) = found.rating() {
        steps.push(Step {
            what: "protection",
            value: rating.value.into(),
            how: found.described(),
            source: String::new(),
        });
    }
    if let Some(conductor) = circuit.conductor.get()
        && let Ok(worked) = ampacity(circuit, conductor, &conditions(circuit, practice))
    {
        let amps = worked.value;
        let text = if amps.is_settled() {
            amps.least.amps.to_string()
        } else {
            format!(
                "{} at {} °C, {} at {} °C terminals",
                amps.least.amps, amps.least.terminals, amps.most.amps, amps.most.terminals
            )
        };
        let last = worked.steps.last();
        steps.push(Step {
            what: "ampacity",
            value: text.into(),
            how: last.map_or_else(String::new, |step| step.how.clone()),
            source: last
                .and_then(|step| step.source)
                .map_or_else(String::new, |source| source.to_string()),
        });
    }
    steps
}

/// The corrections of one value: in its own cell, and in the same column of
/// the circuit's other rows that say the same.
pub fn changes(
    schedule: &Schedule,
    circuit: &Circuit,
    at: CellId,
    field: FieldName,
    proposed: &str,
) -> Vec<Change> {
    let was = schedule.sources.text(at).to_owned();
    let mut cells = vec![at];
    for row in &circuit.rows {
        let same = CellId {
            column: at.column,
            ..*row
        };
        if row.table == at.table
            && !cells.contains(&same)
            && !was.is_empty()
            && schedule.sources.text(same) == was
        {
            cells.push(same);
        }
    }
    cells
        .into_iter()
        .map(|at| Change {
            at,
            field,
            was: was.clone(),
            proposed: proposed.to_owned(),
        })
        .collect()
}

/// The correction of the rating that protects: the breaker, or the fuse that
/// stands for it, in the notation that its cell holds.
pub fn rating_changes(
    schedule: &Schedule,
    circuit: &Circuit,
    unit: Option<&Unit>,
    protection: &Protection,
    amps: Amps,
) -> Vec<Change> {
    let Some(rating) = protection.rating() else {
        return Vec::new();
    };
    let plain = number(amps.0);
    if !protection.by_fuse() {
        let text = match circuit.poles {
            Field::Given(poles) if poles.at == rating.at => format!("{plain}A/{}P", poles.value),
            _ => plain,
        };
        return changes(
            schedule,
            circuit,
            rating.at,
            FieldName::CircuitBreaker,
            &text,
        );
    }
    let switches = [
        Some((&circuit.disconnect, FieldName::CircuitDisconnect)),
        unit.map(|unit| (&unit.disconnect, FieldName::UnitDisconnect)),
    ];
    for (field, name) in switches.into_iter().flatten() {
        if let Field::Given(found) = field
            && found.at == rating.at
        {
            // Without the switch's size there is no notation to keep.
            return found.value.amps.map_or_else(Vec::new, |switch| {
                let text = format!("{}A/{plain}F", number(switch.0));
                changes(schedule, circuit, rating.at, name, &text)
            });
        }
    }
    let name = if circuit.fuse.at() == Some(rating.at) {
        FieldName::CircuitFuse
    } else {
        FieldName::UnitFuse
    };
    changes(schedule, circuit, rating.at, name, &plain)
}

/// `10`, `1/0`, `250 kcmil`, as notations write a size.
fn size_text(size: Size) -> String {
    match size {
        Size::Awg(gauge) if gauge <= 0 => format!("{}/0", 1 - gauge),
        Size::Awg(gauge) => gauge.to_string(),
        Size::Kcmil(kcmil) => format!("{kcmil} kcmil"),
    }
}

/// The notation of a conductor with another size; the rest as it was.
pub fn conductor_text(conductor: &Conductor, size: Size) -> Option<String> {
    if conductor.sets > 1 {
        return None;
    }
    let material = conductor
        .material
        .filter(|&material| material != crate::schedule::wire::Material::Copper)
        .map_or_else(String::new, |_| " AL".to_owned());
    let wire = size_text(size);
    if conductor.is_cable || conductor.cable.is_some() {
        let count = conductor.count?;
        let kind = conductor
            .cable
            .map_or_else(String::new, |kind| format!(" {kind}"));
        let ground = match conductor.ground {
            Some(Grounding::Absent) | None => "",
            Some(_) => " w/G",
        };
        return Some(format!("{wire}/{count}{material}{kind}{ground}"));
    }
    let insulation = conductor
        .insulation
        .map_or_else(String::new, |kind| format!(" {kind}"));
    let mut text = match conductor.count {
        Some(count) => format!("({count})#{wire}{material}{insulation}"),
        None => match size {
            Size::Awg(_) => format!("{wire} AWG{material}{insulation}"),
            Size::Kcmil(_) => format!("{wire}{material}{insulation}"),
        },
    };
    match conductor.ground {
        Some(Grounding::Sized { size, .. }) => text.push_str(&format!("+(1)#{}G", size_text(size))),
        Some(Grounding::Unsized) => text.push_str(" w/G"),
        Some(Grounding::Absent) | None => {}
    }
    if let Some(raceway) = &conductor.raceway {
        match &raceway.trade_size {
            Some(trade) => text.push_str(&format!(" in {trade} {}", raceway.kind)),
            None => text.push_str(&format!(" in {}", raceway.kind)),
        }
    }
    Some(text)
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
