//! Which runs make the chain of which system, and what has to be set aside.

use super::indoor_side;
use crate::findings::Want;
use crate::schedule::{Field, Run, RunEnd, RunId, Schedule, SystemId, UnitId, UnitKind};
use crate::sizing::bus::{BusGraph, Link};

/// The bus of every system of a job.
pub(super) struct Layout<'a> {
    pub systems: Vec<SystemBus<'a>>,
    /// Runs between two systems that the schedule itself tells apart.
    pub crossing: Vec<(RunId, SystemId, SystemId)>,
    /// A pair joined again in the same table, with the first run.
    pub repeated: Vec<(RunId, RunId)>,
}

/// The bus of one system.
pub(super) struct SystemBus<'a> {
    schedule: &'a Schedule,
    pub id: SystemId,
    /// The unit of each node of the graph. All outdoor units of the system
    /// are one node: which of its modules the chain leaves is the manual's
    /// question.
    pub nodes: Vec<UnitId>,
    pub graph: BusGraph,
    /// The run of each link of the graph.
    pub links: Vec<RunId>,
    /// Runs of the chain in the order of the rows: those of the graph and
    /// those to units under one mark, repeated ones left out.
    pub runs: Vec<RunId>,
    /// Runs that end on a mark that stands for several units.
    marks: Vec<RunId>,
    /// Runs to a unit whose system the schedule does not tell.
    doubtful: Vec<RunId>,
    /// Runs from the outdoor unit to something that may be central control.
    strangers: Vec<RunId>,
    /// Runs with an empty end.
    open_ended: Vec<RunId>,
}

struct Sorting {
    nodes: Vec<UnitId>,
    start: Option<usize>,
    links: Vec<(Link, RunId)>,
    marks: Vec<RunId>,
    doubtful: Vec<RunId>,
    strangers: Vec<RunId>,
    open_ended: Vec<RunId>,
}

impl<'a> Layout<'a> {
    pub fn of(schedule: &'a Schedule) -> Self {
        // Node of each unit in its system's graph.
        let mut node_of: Vec<Option<usize>> = vec![None; schedule.units.len()];
        let mut sorting: Vec<Sorting> = schedule
            .systems
            .iter()
            .map(|system| number(schedule, &system.units, system.outdoor, &mut node_of))
            .collect();
        let mut crossing = Vec::new();
        for (id, run) in schedule.run_ids() {
            if indoor_side(schedule, run) {
                sort_run(schedule, id, run, &node_of, &mut sorting, &mut crossing);
            }
        }
        let mut repeated = Vec::new();
        let systems = sorting
            .into_iter()
            .enumerate()
            .map(|(index, sorted)| sorted.finish(schedule, SystemId(index as u32), &mut repeated))
            .collect();
        repeated.sort_unstable();
        Self {
            systems,
            crossing,
            repeated,
        }
    }
}

fn number(
    schedule: &Schedule,
    units: &[UnitId],
    main: Option<UnitId>,
    node_of: &mut [Option<usize>],
) -> Sorting {
    let module = || {
        units
            .iter()
            .copied()
            .find(|u| schedule.unit(*u).is_outdoor())
    };
    let outdoor = main.or_else(module);
    let mut nodes: Vec<UnitId> = outdoor.into_iter().collect();
    for &unit in units {
        let kind = schedule.unit(unit).kind();
        let node = match kind {
            Some(UnitKind::CentralController | UnitKind::Gateway) => continue,
            Some(kind) if kind.is_outdoor() => 0,
            _ => {
                nodes.push(unit);
                nodes.len() - 1
            }
        };
        node_of[unit.index()] = Some(node);
    }
    Sorting {
        nodes,
        start: outdoor.map(|_| 0),
        links: Vec::new(),
        marks: Vec::new(),
        doubtful: Vec::new(),
        strangers: Vec::new(),
        open_ended: Vec::new(),
    }
}

fn sort_run(
    schedule: &Schedule,
    id: RunId,
    run: &Run,
    node_of: &[Option<usize>],
    sorting: &mut [Sorting],
    crossing: &mut Vec<(RunId, SystemId, SystemId)>,
) {
    let system = |unit: &UnitId| schedule.unit(*unit).system_id;
    let (from, to) = match (&run.from_end, &run.to_end) {
        (RunEnd::Unit(a), RunEnd::Unit(b)) => (*a, *b),
        (RunEnd::Mark(many), other) | (other, RunEnd::Mark(many)) => {
            let ends = many.iter().chain(match other {
                RunEnd::Unit(unit) => std::slice::from_ref(unit),
                RunEnd::Mark(units) => units.as_slice(),
                _ => &[],
            });
            let mut systems: Vec<SystemId> = ends.filter_map(system).collect();
            systems.sort_unstable();
            systems.dedup();
            for system in systems {
                sorting[system.index()].marks.push(id);
            }
            return;
        }
        (RunEnd::Nothing, RunEnd::Unit(unit)) | (RunEnd::Unit(unit), RunEnd::Nothing) => {
            if let Some(system) = system(unit) {
                sorting[system.index()].open_ended.push(id);
            }
            return;
        }
        // To an unknown tag, or to a thermostat: set aside.
        _ => return,
    };
    match (system(&from), system(&to)) {
        (Some(a), Some(b)) if a == b && may_be_central(schedule, run, from, to) => {
            sorting[a.index()].strangers.push(id);
        }
        (Some(a), Some(b)) if a == b => {
            let nodes = (node_of[from.index()], node_of[to.index()]);
            if let (Some(a_node), Some(b_node)) = nodes {
                let link = Link {
                    a: a_node,
                    b: b_node,
                    length: run.length.copied(),
                };
                sorting[a.index()].links.push((link, id));
            }
        }
        (Some(a), Some(b)) if schedule.system(a).stated && schedule.system(b).stated => {
            crossing.push((id, a, b));
        }
        (a, b) => {
            for system in a.into_iter().chain(b) {
                sorting[system.index()].doubtful.push(id);
            }
        }
    }
}

/// From an outdoor unit to something whose kind is not told or not audited,
/// its purpose not stated: a unit of the chain, or central control.
fn may_be_central(schedule: &Schedule, run: &Run, from: UnitId, to: UnitId) -> bool {
    let kind = |unit: UnitId| schedule.unit(unit).kind();
    let other = match (kind(from), kind(to)) {
        (Some(kind), other) | (other, Some(kind)) if kind.is_outdoor() => other,
        _ => return false,
    };
    !run.purpose.is_given() && matches!(other, None | Some(UnitKind::Other))
}

impl Sorting {
    fn finish<'a>(
        self,
        schedule: &'a Schedule,
        id: SystemId,
        repeated: &mut Vec<(RunId, RunId)>,
    ) -> SystemBus<'a> {
        let (links, of_run): (Vec<Link>, Vec<RunId>) = self.links.into_iter().unzip();
        let graph = BusGraph::new(self.nodes.len(), self.start, links);
        let mut again = vec![false; of_run.len()];
        for &(later, first) in graph.repeated() {
            again[later] = true;
            let (later, first) = (of_run[later], of_run[first]);
            // Two tables that tell of one run (a schedule of wire, and rows
            // of the equipment) do not join the pair twice.
            let (a, b) = (schedule.run(later), schedule.run(first));
            if a.at.table == b.at.table && same_pair(a, b) {
                repeated.push((later, first));
            }
        }
        let mut runs: Vec<RunId> = of_run
            .iter()
            .zip(&again)
            .filter(|(_, again)| !**again)
            .map(|(run, _)| *run)
            .chain(self.marks.iter().copied())
            .collect();
        runs.sort_unstable();
        SystemBus {
            schedule,
            id,
            nodes: self.nodes,
            graph,
            links: of_run,
            runs,
            marks: self.marks,
            doubtful: self.doubtful,
            strangers: self.strangers,
            open_ended: self.open_ended,
        }
    }
}

/// Both join the same two units, whichever way round they are written.
fn same_pair(a: &Run, b: &Run) -> bool {
    match (a.units(), b.units()) {
        (Some(a), Some((from, to))) => a == (from, to) || a == (to, from),
        _ => false,
    }
}

impl SystemBus<'_> {
    /// Units that the chain has to reach.
    pub fn to_reach(&self) -> impl Iterator<Item = (usize, UnitId)> {
        self.nodes.iter().copied().enumerate().filter(|(_, unit)| {
            let kind = self.schedule.unit(*unit).kind();
            kind.is_some_and(|kind| kind.on_chain() && !kind.is_outdoor())
        })
    }

    /// Any run at all that tells of this system's bus.
    pub fn is_scheduled(&self) -> bool {
        !self.runs.is_empty()
            || !self.doubtful.is_empty()
            || !self.strangers.is_empty()
            || !self.open_ended.is_empty()
    }

    /// The outdoor unit's row stands for several outdoor units, so that it
    /// is not told which indoor units hang on which.
    pub fn under_one_mark(&self) -> bool {
        let main = self.schedule.system(self.id).outdoor;
        main.is_some_and(|unit| self.schedule.unit(unit).instance.1 > 1)
    }

    /// What keeps the shape of the chain from being told.
    pub fn unclear(&self) -> Option<Vec<Want>> {
        let want = if !self.marks.is_empty() || self.under_one_mark() {
            Want::Fact("which unit of a mark each run reaches")
        } else if !self.doubtful.is_empty() {
            Want::Fact("the system of each unit on the bus")
        } else if !self.strangers.is_empty() {
            Want::Fact("what each unit on the bus is")
        } else if self.graph.start().is_none() {
            Want::Fact("the system's outdoor unit")
        } else {
            return None;
        };
        Some(vec![want])
    }

    /// The fields of run ends that stand empty.
    pub fn empty_ends(&self) -> Option<Vec<Want>> {
        use crate::schedule::FieldName::{RunFrom, RunTo};
        let run = self.schedule.run(*self.open_ended.first()?);
        let field = if matches!(run.from_end, RunEnd::Nothing) {
            RunFrom
        } else {
            RunTo
        };
        Some(vec![Want::Field(field)])
    }

    pub fn run(&self, id: RunId) -> &Run {
        self.schedule.run(id)
    }

    /// Runs of the chain whose field says `value`.
    pub fn runs_with<T: PartialEq>(
        &self,
        field: impl Fn(&Run) -> &Field<T>,
        value: &T,
    ) -> Vec<RunId> {
        let says = |id: &RunId| field(self.run(*id)).get() == Some(value);
        self.runs.iter().copied().filter(says).collect()
    }
}
