//! From rows as they were read to a schedule in which every name is resolved.
//!
//! What may not happen here: judging. A conflict or a name that matches
//! nothing is recorded, and the rules say what it means.

use super::names::Names;
use super::{
    Circuit, Controller, ControllerId, Fault, Field, JobFacts, LoadTarget, Located, Name, Panel,
    Run, RunEnd, RunId, Schedule, Sources, TableKind, Unit, UnitId, UnitKind, merge, systems,
    wire::RunPurpose,
};

/// The most units that one row's quantity is expanded to. A larger number is
/// left as one unit: nobody schedules so many under one mark, and a slip of
/// the keyboard must not fill the memory.
const MOST_UNDER_ONE_MARK: u32 = 200;

/// The rows of a job, before names are resolved.
#[derive(Clone, Debug, Default)]
pub struct Draft {
    pub key: String,
    pub title: String,
    pub facts: JobFacts,
    pub units: Vec<Unit>,
    pub circuits: Vec<Circuit>,
    pub panels: Vec<Panel>,
    pub runs: Vec<Run>,
    pub controllers: Vec<Controller>,
    pub faults: Vec<Fault>,
    pub sources: Sources,
}

impl Draft {
    /// Resolves names, merges rows of one identity, expands quantities and
    /// finds the systems.
    pub fn build(mut self) -> Schedule {
        self.sources.seal();
        let mut faults = self.faults;
        let units = merge::units(expand(self.units), &self.sources, &mut faults);
        let panels = merge::panels(self.panels, &self.sources, &mut faults);
        let circuits = merge::circuits(self.circuits, &self.sources, &mut faults);
        let controllers = merge::controllers(self.controllers, &self.sources);

        let mut schedule = Schedule {
            key: self.key,
            title: self.title,
            facts: self.facts,
            units,
            circuits,
            panels,
            runs: self.runs,
            controllers,
            systems: Vec::new(),
            faults,
            sources: self.sources,
        };
        schedule.resolve_panels();
        schedule.resolve_loads();
        schedule.imply_controllers();
        schedule.resolve_controllers();
        schedule.resolve_runs();
        schedule.systems = systems::find(&schedule);
        for (index, system) in schedule.systems.iter().enumerate() {
            for unit in &system.units {
                schedule.units[unit.index()].system_id = Some(super::SystemId(index as u32));
            }
        }
        schedule
    }
}

/// One unit for each of a quantity.
fn expand(rows: Vec<Unit>) -> Vec<Unit> {
    let mut units = Vec::with_capacity(rows.len());
    for row in rows {
        let count = row.quantity.copied().unwrap_or(1);
        if count <= 1 || count > MOST_UNDER_ONE_MARK {
            units.push(row);
            continue;
        }
        for n in 1..=count {
            let mut unit = row.clone();
            unit.instance = (n, count);
            units.push(unit);
        }
    }
    units
}

impl Schedule {
    fn resolve_panels(&mut self) {
        let names = Names::of_panels(&self.panels);
        for circuit in &mut self.circuits {
            if let Some(panel) = circuit.panel.get() {
                circuit.panel_id = names
                    .find(circuit.dwelling.get(), panel)
                    .first()
                    .map(|&index| super::PanelId(index));
            }
        }
    }

    /// Names of the loads to units, and the units' circuits.
    fn resolve_loads(&mut self) {
        let names = Names::of_units(&self.units);
        let prefixes = names.prefixes();
        // Under one mark, the n-th circuit that names it feeds the n-th unit
        // where there are as many circuits as units.
        let mut named: std::collections::HashMap<UnitId, u32> = std::collections::HashMap::new();
        let mut targets = Vec::new();
        for (circuit_index, circuit) in self.circuits.iter().enumerate() {
            for (load_index, load) in circuit.loads.iter().enumerate() {
                let target = match_load(&load.text.value, circuit, &names, &prefixes, &self.units);
                if let Target::Units(units) = &target
                    && let [first, _, ..] = units.as_slice()
                {
                    *named.entry(*first).or_default() += 1;
                }
                targets.push((circuit_index, load_index, target));
            }
        }
        let mut handed: std::collections::HashMap<UnitId, usize> = std::collections::HashMap::new();
        let mut extra = Vec::new();
        for (circuit_index, load_index, target) in targets {
            let load = &mut self.circuits[circuit_index].loads[load_index];
            match target {
                Target::Units(units) if units.len() == 1 => {
                    load.target = LoadTarget::Unit(units[0]);
                }
                Target::Units(units) => {
                    let circuits_of_mark = named.get(&units[0]).copied().unwrap_or(0) as usize;
                    if circuits_of_mark == units.len() {
                        let next = handed.entry(units[0]).or_default();
                        load.target = LoadTarget::Unit(units[*next % units.len()]);
                        *next += 1;
                    } else if circuits_of_mark == 1 {
                        // One circuit for the whole mark: all of them are on it.
                        load.target = LoadTarget::Unit(units[0]);
                        for &unit in &units[1..] {
                            let mut more = load.clone();
                            more.target = LoadTarget::Unit(unit);
                            extra.push((circuit_index, more));
                        }
                    } else {
                        load.target = LoadTarget::MaybeUnits(units);
                    }
                }
                Target::Maybe(units) => load.target = LoadTarget::MaybeUnits(units),
                Target::Unknown(nearest) => load.target = LoadTarget::UnknownTag { nearest },
                Target::Spare => load.target = LoadTarget::Spare,
                Target::Other => load.target = LoadTarget::Other,
            }
        }
        for (circuit, load) in extra {
            self.circuits[circuit].loads.push(load);
        }
        for (index, circuit) in self.circuits.iter().enumerate() {
            let id = super::CircuitId(index as u32);
            for load in &circuit.loads {
                if let LoadTarget::Unit(unit) = load.target {
                    let circuits = &mut self.units[unit.index()].circuits;
                    if !circuits.contains(&(id, load.part)) {
                        circuits.push((id, load.part));
                    }
                }
            }
        }
    }

    /// Where no table of controllers exists at all, the far end of a run of
    /// purpose *controller* is a controller.
    fn imply_controllers(&mut self) {
        if self.has_table(TableKind::Controllers) || !self.controllers.is_empty() {
            return;
        }
        let units = Names::of_units(&self.units);
        let mut implied: Vec<Controller> = Vec::new();
        let mut seen = std::collections::BTreeSet::new();
        for run in &self.runs {
            if run.purpose.copied() != Some(RunPurpose::Controller) {
                continue;
            }
            let dwelling = run.dwelling.get();
            let ends = [(&run.from, &run.to), (&run.to, &run.from)];
            for (near, far) in ends {
                let (Field::Given(name), Some(other)) = (near, far.get()) else {
                    continue;
                };
                let is_unit = !units.find(dwelling, &name.value).is_empty();
                let other_is_unit = !units.find(dwelling, other).is_empty();
                let identity = || (dwelling.cloned(), name.value.clone());
                if !is_unit && other_is_unit && seen.insert(identity()) {
                    let mut controller = Controller::new(Located::new(name.value.clone(), name.at));
                    controller.dwelling = run.dwelling.clone();
                    implied.push(controller);
                }
            }
        }
        self.controllers = implied;
    }

    fn resolve_controllers(&mut self) {
        let names = Names::of_units(&self.units);
        for controller in &mut self.controllers {
            for name in &controller.units {
                let found = names.find(controller.dwelling.get(), &name.value);
                if found.is_empty() {
                    let nearest = names.nearest(controller.dwelling.get(), &name.value);
                    controller.unknown.push((name.clone(), nearest));
                }
                for index in found {
                    if !controller.unit_ids.contains(&UnitId(index)) {
                        controller.unit_ids.push(UnitId(index));
                    }
                }
            }
        }
    }

    /// Ends and purposes of the runs; what controllers reach by them.
    fn resolve_runs(&mut self) {
        let units = Names::of_units(&self.units);
        let controllers = Names::of_controllers(&self.controllers);
        for index in 0..self.runs.len() {
            let (from_end, to_end) = {
                let run = &self.runs[index];
                let end = |field: &Field<Name>| resolve_end(field, run, &units, &controllers);
                (end(&run.from), end(&run.to))
            };
            let serves = match self.runs[index].purpose.copied() {
                Some(purpose) => purpose,
                None => purpose_of(&from_end, &to_end, &self.units),
            };
            let run = &mut self.runs[index];
            // Between outdoor units a bus run is of the central side.
            run.serves = match serves {
                RunPurpose::Bus if among_outdoor(&from_end, &to_end, &self.units) => {
                    RunPurpose::Central
                }
                other => other,
            };
            run.from_end = from_end;
            run.to_end = to_end;
        }
        self.link_controllers();
    }

    fn link_controllers(&mut self) {
        for (index, run) in self.runs.iter().enumerate() {
            let id = RunId(index as u32);
            let ends = [(&run.from_end, &run.to_end), (&run.to_end, &run.from_end)];
            for (near, far) in ends {
                let RunEnd::Controller(controller) = near else {
                    continue;
                };
                let controller = &mut self.controllers[controller.index()];
                if !controller.runs.contains(&id) {
                    controller.runs.push(id);
                }
                let reached: &[UnitId] = match far {
                    RunEnd::Unit(unit) => std::slice::from_ref(unit),
                    RunEnd::Mark(units) => units,
                    _ => &[],
                };
                for unit in reached {
                    if !controller.unit_ids.contains(unit) {
                        controller.unit_ids.push(*unit);
                    }
                }
            }
        }
        for (index, controller) in self.controllers.iter().enumerate() {
            for unit in &controller.unit_ids {
                self.units[unit.index()]
                    .controllers
                    .push(ControllerId(index as u32));
            }
        }
    }
}

enum Target {
    Units(Vec<UnitId>),
    Maybe(Vec<UnitId>),
    Unknown(Option<Name>),
    Spare,
    Other,
}

fn match_load(
    text: &str,
    circuit: &Circuit,
    names: &Names,
    prefixes: &[String],
    units: &[Unit],
) -> Target {
    let upper = text.to_uppercase();
    if ["SPARE", "SPACE", "BLANK", "UNUSED", "OPEN"]
        .iter()
        .any(|word| {
            upper.trim_matches(|c: char| !c.is_alphanumeric()) == *word
                || upper.split_whitespace().next() == Some(word)
                    && upper.split_whitespace().count() <= 2
        })
    {
        return Target::Spare;
    }
    let dwelling = circuit.dwelling.get();
    for name in with_dwelling(text) {
        let found = names.qualified(&name);
        if !found.is_empty() {
            return Target::Units(found.iter().map(|&index| UnitId(index)).collect());
        }
    }
    let whole = Name::new(text);
    let mut unknown = None;
    for candidate in candidates(text).into_iter().chain(std::iter::once(whole)) {
        let found = names.find(dwelling, &candidate);
        match found.as_slice() {
            [] => {
                if unknown.is_none()
                    && candidate.looks_like_tag()
                    && prefixes.iter().any(|prefix| prefix == candidate.prefix())
                {
                    unknown = Some(candidate);
                }
            }
            many => {
                let found: Vec<_> = many.iter().map(|&index| UnitId(index)).collect();
                let one_mark = found.iter().all(|unit| {
                    units[unit.index()].dwelling.get() == units[found[0].index()].dwelling.get()
                });
                return if one_mark && !is_accessory(&upper) {
                    Target::Units(found)
                } else {
                    Target::Maybe(found)
                };
            }
        }
    }
    if let Some(name) = unknown {
        return Target::Unknown(names.nearest(dwelling, &name));
    }
    let class = words_for_units(&upper);
    if let Some(outdoor) = class {
        let maybe: Vec<_> = units
            .iter()
            .enumerate()
            .filter(|(_, unit)| {
                let wanted = match outdoor {
                    Some(true) => unit.is_outdoor(),
                    Some(false) => unit.is_indoor(),
                    None => unit.is_outdoor() || unit.is_indoor(),
                };
                wanted && (dwelling.is_none() || unit.dwelling.get() == dwelling)
            })
            .map(|(index, _)| UnitId(index as u32))
            .collect();
        if !maybe.is_empty() {
            return Target::Maybe(maybe);
        }
    }
    Target::Other
}

/// A load beside a unit that is named by the unit's tag: `OU-1 SERVICE
/// RECEPTACLE`. Whether the unit itself is on that circuit is not told.
fn is_accessory(upper: &str) -> bool {
    const WORDS: [&str; 11] = [
        "RECEPTACLE",
        "RECEPTACLES",
        "RECEPT",
        "RCPT",
        "OUTLET",
        "OUTLETS",
        "LIGHT",
        "LIGHTS",
        "LTG",
        "CONDENSATE",
        "TRACE",
    ];
    upper
        .split(|c: char| !c.is_alphanumeric())
        .any(|word| WORDS.contains(&word))
}

/// The words of a load; none where there are too many for a load.
fn words_of(text: &str) -> Vec<&str> {
    let words: Vec<&str> = text
        .split(|c: char| c.is_whitespace() || matches!(c, '(' | ')' | ';' | ':'))
        .filter(|word| !word.is_empty())
        .collect();
    if words.len() > 24 { Vec::new() } else { words }
}

/// Words and pairs of words of a load that may be a tag: `COND UNIT OU-1`
/// gives `COND UNIT`, `UNIT OU-1`, `COND`, `UNIT`, `OU-1`, those with a
/// number first.
fn candidates(text: &str) -> Vec<Name> {
    let words = words_of(text);
    let numbered = |word: &&str| word.chars().any(|c| c.is_ascii_digit());
    let mut names: Vec<Name> = words
        .iter()
        .filter(|w| numbered(w))
        .map(|w| Name::new(w))
        .collect();
    names.extend(
        words
            .windows(2)
            .filter(|pair| numbered(&pair[1]) && !numbered(&pair[0]))
            .map(|pair| Name::new(&pair.join(" "))),
    );
    names
}

/// Words of a load, and neighbours either way round, that may be a dwelling
/// and a tag: `APT 12C FC-1`, `FC-1 (12C)`, `12C-FC-1`.
fn with_dwelling(text: &str) -> Vec<Name> {
    let words = words_of(text);
    let mut names: Vec<Name> = words.iter().map(|word| Name::new(word)).collect();
    for pair in words.windows(2) {
        names.push(Name::new(&pair.join(" ")));
        names.push(Name::new(&format!("{} {}", pair[1], pair[0])));
    }
    names
}

/// `Some(Some(true))` for words that mean an outdoor unit, `Some(Some(false))`
/// an indoor one, `Some(None)` either.
#[allow(clippy::option_option)]
fn words_for_units(upper: &str) -> Option<Option<bool>> {
    let padded: String = std::iter::once(' ')
        .chain(upper.chars().map(|c| {
            if c.is_alphanumeric() || c == '/' {
                c
            } else {
                ' '
            }
        }))
        .chain(std::iter::once(' '))
        .collect();
    let any = |words: &[&str]| {
        words
            .iter()
            .any(|word| padded.contains(&format!(" {word} ")))
    };
    if any(&[
        "CONDENSER",
        "CONDENSING",
        "OUTDOOR UNIT",
        "ODU",
        "COND UNIT",
    ]) {
        Some(Some(true))
    } else if any(&[
        "FAN COIL",
        "FAN COILS",
        "FANCOIL",
        "FANCOILS",
        "FCU",
        "FCUS",
        "INDOOR UNIT",
        "INDOOR UNITS",
        "IDU",
        "IDUS",
        "AIR HANDLER",
        "AIR HANDLERS",
        "CASSETTE",
        "CASSETTES",
    ]) {
        Some(Some(false))
    } else if any(&[
        "HEAT PUMP",
        "HEAT PUMPS",
        "A/C",
        "AC",
        "HVAC",
        "AIR CONDITIONING",
    ]) {
        Some(None)
    } else {
        None
    }
}

fn resolve_end(field: &Field<Name>, run: &Run, units: &Names, controllers: &Names) -> RunEnd {
    let Some(name) = field.get() else {
        return RunEnd::Nothing;
    };
    let dwelling = run.dwelling.get();
    let found = units.find(dwelling, name);
    match found.as_slice() {
        [only] => return RunEnd::Unit(UnitId(*only)),
        [] => {}
        many => return RunEnd::Mark(many.iter().map(|&index| UnitId(index)).collect()),
    }
    if let Some(&controller) = controllers.find(dwelling, name).first() {
        return RunEnd::Controller(ControllerId(controller));
    }
    let nearest = units
        .nearest(dwelling, name)
        .or_else(|| controllers.nearest(dwelling, name));
    RunEnd::UnknownTag { nearest }
}

fn kind_at(end: &RunEnd, units: &[Unit]) -> Option<UnitKind> {
    match end {
        RunEnd::Unit(unit) => units[unit.index()].kind(),
        RunEnd::Mark(many) => many.first().and_then(|unit| units[unit.index()].kind()),
        _ => None,
    }
}

fn among_outdoor(from: &RunEnd, to: &RunEnd, units: &[Unit]) -> bool {
    let outdoor = |end| kind_at(end, units).is_some_and(UnitKind::is_outdoor);
    outdoor(from) && outdoor(to)
}

fn purpose_of(from: &RunEnd, to: &RunEnd, units: &[Unit]) -> RunPurpose {
    let is_controller = |end: &RunEnd| matches!(end, RunEnd::Controller(_));
    if is_controller(from) || is_controller(to) {
        return RunPurpose::Controller;
    }
    let central = |end| {
        kind_at(end, units)
            .is_some_and(|kind| matches!(kind, UnitKind::CentralController | UnitKind::Gateway))
    };
    if central(from) || central(to) {
        RunPurpose::Central
    } else {
        RunPurpose::Bus
    }
}
