//! Which units hang on which outdoor unit.

use super::wire::RunPurpose;
use super::{Name, RunEnd, RunId, Schedule, System, UnitId, UnitKind};
use std::collections::{BTreeMap, VecDeque};

/// The systems of a job. A unit's system is, first that applies: what its
/// system column says (a name, or an outdoor unit's tag); the only main
/// outdoor unit of its dwelling; the only one of the job; the only one that
/// the bus reaches it from. A unit of none of these belongs to no system.
pub(super) fn find(schedule: &Schedule) -> Vec<System> {
    let mut finder = Finder {
        schedule,
        systems: Vec::new(),
        by_name: BTreeMap::new(),
        of: vec![None; schedule.units.len()],
    };
    finder.by_column();
    finder.main_outdoor_units();
    finder.by_being_the_only_one();
    finder.by_the_bus();
    finder.finish()
}

struct Finder<'a> {
    schedule: &'a Schedule,
    systems: Vec<System>,
    by_name: BTreeMap<(Option<Name>, Name), usize>,
    of: Vec<Option<usize>>,
}

impl Finder<'_> {
    fn system(&mut self, dwelling: Option<Name>, name: &Name, stated: bool) -> usize {
        let key = (dwelling.clone(), name.clone());
        if let Some(&index) = self.by_name.get(&key) {
            return index;
        }
        self.by_name.insert(key, self.systems.len());
        self.systems.push(System {
            name: name.clone(),
            dwelling,
            outdoor: None,
            units: Vec::new(),
            runs: Vec::new(),
            stated,
        });
        self.systems.len() - 1
    }

    /// Units whose row names a system. A name that is an outdoor unit's tag
    /// means that unit's system, whatever the outdoor unit's own row says.
    fn by_column(&mut self) {
        let outdoor: BTreeMap<(Option<Name>, Name), (UnitId, Option<Name>)> = self
            .schedule
            .audited_units()
            .filter(|(_, unit)| unit.kind() == Some(UnitKind::Outdoor))
            .map(|(id, unit)| {
                let key = (unit.dwelling.get().cloned(), unit.tag.value.clone());
                (key, (id, unit.system.get().cloned()))
            })
            .collect();
        for (id, unit) in self.schedule.audited_units() {
            let Some(name) = unit.system.get() else {
                continue;
            };
            let own = unit.dwelling.get().cloned();
            let meant = outdoor
                .get(&(own.clone(), name.clone()))
                .map(|(_, system)| (own.clone(), system))
                .or_else(|| {
                    outdoor
                        .get(&(None, name.clone()))
                        .map(|(_, system)| (None, system))
                });
            let (dwelling, name) = match meant {
                Some((dwelling, Some(system))) => (dwelling, system.clone()),
                Some((dwelling, None)) => (dwelling, name.clone()),
                // A building's system may serve units in several dwellings.
                None if self.building_has_system(name) => (None, name.clone()),
                None => (own, name.clone()),
            };
            let system = self.system(dwelling, &name, true);
            self.of[id.index()] = Some(system);
        }
    }

    fn building_has_system(&self, name: &Name) -> bool {
        self.schedule.audited_units().any(|(_, unit)| {
            unit.is_outdoor() && unit.dwelling.get().is_none() && unit.system.get() == Some(name)
        })
    }

    /// Each main outdoor unit has a system, named by it where nothing else
    /// names it.
    fn main_outdoor_units(&mut self) {
        let schedule = self.schedule;
        for (id, unit) in schedule.audited_units() {
            if unit.kind() != Some(UnitKind::Outdoor) {
                continue;
            }
            let system = match self.of[id.index()] {
                Some(system) => system,
                None => {
                    let dwelling = unit.dwelling.get().cloned();
                    self.system(dwelling, &unit.tag.value, unit.system.is_given())
                }
            };
            self.of[id.index()] = Some(system);
            self.systems[system].outdoor.get_or_insert(id);
        }
    }

    fn by_being_the_only_one(&mut self) {
        let mut per_dwelling: BTreeMap<Option<&Name>, Vec<usize>> = BTreeMap::new();
        for (index, system) in self.systems.iter().enumerate() {
            if system.outdoor.is_some() {
                per_dwelling
                    .entry(system.dwelling.as_ref())
                    .or_default()
                    .push(index);
            }
        }
        let with_outdoor: Vec<usize> = (0..self.systems.len())
            .filter(|&index| self.systems[index].outdoor.is_some())
            .collect();
        let mut told = Vec::new();
        for (id, unit) in self.schedule.audited_units() {
            if self.of[id.index()].is_some() || unit.kind() == Some(UnitKind::Other) {
                continue;
            }
            let of_dwelling = per_dwelling.get(&unit.dwelling.get()).map(Vec::as_slice);
            match (of_dwelling, with_outdoor.as_slice()) {
                (Some([only]), _) | (_, [only]) => told.push((id, *only)),
                _ => {}
            }
        }
        for (id, system) in told {
            self.of[id.index()] = Some(system);
        }
    }

    /// What is left: a unit that the bus joins, over whatever runs, to units
    /// of one system only.
    fn by_the_bus(&mut self) {
        let mut neighbours: Vec<Vec<usize>> = vec![Vec::new(); self.schedule.units.len()];
        for run in &self.schedule.runs {
            if run.serves == RunPurpose::Bus
                && let Some((a, b)) = run.units()
            {
                neighbours[a.index()].push(b.index());
                neighbours[b.index()].push(a.index());
            }
        }
        let mut done = vec![false; self.schedule.units.len()];
        for start in 0..self.schedule.units.len() {
            if done[start] || self.of[start].is_some() {
                continue;
            }
            // Walk over units without a system; systems met at the rim.
            let mut island = Vec::new();
            let mut rim = Vec::new();
            let mut queue = VecDeque::from([start]);
            done[start] = true;
            while let Some(unit) = queue.pop_front() {
                island.push(unit);
                for &next in &neighbours[unit] {
                    match self.of[next] {
                        Some(system) if !rim.contains(&system) => rim.push(system),
                        Some(_) => {}
                        None if !done[next] => {
                            done[next] = true;
                            queue.push_back(next);
                        }
                        None => {}
                    }
                }
            }
            if let [only] = rim.as_slice() {
                for unit in island {
                    self.of[unit] = Some(*only);
                }
            }
        }
    }

    fn finish(mut self) -> Vec<System> {
        for (id, _) in self.schedule.audited_units() {
            if let Some(system) = self.of[id.index()] {
                self.systems[system].units.push(id);
            }
        }
        for (index, run) in self.schedule.runs.iter().enumerate() {
            if run.serves != RunPurpose::Bus {
                continue;
            }
            let mut systems = Vec::new();
            for end in [&run.from_end, &run.to_end] {
                let units: &[UnitId] = match end {
                    RunEnd::Unit(unit) => std::slice::from_ref(unit),
                    RunEnd::Mark(units) => units,
                    _ => &[],
                };
                for unit in units {
                    if let Some(system) = self.of[unit.index()]
                        && !systems.contains(&system)
                    {
                        systems.push(system);
                    }
                }
            }
            for system in systems {
                self.systems[system].runs.push(RunId(index as u32));
            }
        }
        self.systems
    }
}
