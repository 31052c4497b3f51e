//! From rows as they were read to a schedule in which every name is resolved.
//!
//! What may not happen here: judging. A conflict or a name that matches
//! nothing is recorded, and the rules say what it means.

use super::names::Names;
use super::{
    Circuit, Controller, ControllerId, Fault, Field, JobFacts, Located, Name, Panel, Run, RunEnd,
    RunId, Schedule, Sources, TableKind, Unit, UnitId, UnitKind, merge, systems, wire::RunPurpose,
};

/// The most units that one row's quantity is expanded to. A larger number is
/// left as one unit: nobody schedules so many under one mark, and a slip of
/// the keyboard must not fill the memory.
pub(super) const MOST_UNDER_ONE_MARK: u32 = 200;

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
        let (circuits, claims) = merge::circuits(self.circuits, &self.sources, &mut faults);
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
        schedule.settle_claims(&claims);
        schedule.link_circuits();
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
