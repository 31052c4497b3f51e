//! What a drawing of one system's bus shows, before anything has a place.

mod hangs;

use crate::findings::{Audit, Reported, Severity, Step, Subject};
use crate::report::circuits::state;
use crate::report::style;
use crate::rules::{BusLayout, SystemBus};
use crate::schedule::wire::{Routing, RunPurpose};
use crate::schedule::{Run, RunEnd, RunId, Schedule, SystemId, UnitId, UnitKind};
use crate::sizing::bus::Hangs;

/// A run as it is labelled.
#[derive(Clone, Debug)]
pub(super) struct Wire {
    pub length: String,
    /// What is out of the ordinary, and the tags of its findings.
    pub words: Vec<String>,
    pub tags: Vec<String>,
    pub faulty: bool,
}

/// A run that ends outside of this drawing, at the unit where it begins.
#[derive(Clone, Debug)]
pub(super) struct Flag {
    pub to: String,
    pub words: String,
    pub fault: bool,
}

/// A controller below its unit.
#[derive(Clone, Debug)]
pub(super) struct Hang {
    pub label: String,
    pub room: String,
    pub words: String,
    pub wired: bool,
    /// Wired, but not to this unit.
    pub astray: bool,
    pub tags: Vec<String>,
}

impl Hang {
    /// No controller: words alone.
    pub fn is_none(&self) -> bool {
        !self.wired && self.words.is_empty()
    }
}

/// What stands at an open end.
#[derive(Clone, Debug)]
pub(super) struct Broken {
    pub words: String,
    pub tag: Option<String>,
}

#[derive(Clone, Debug)]
pub(super) struct Stop {
    pub node: usize,
    pub number: usize,
    pub label: String,
    pub room: String,
    pub kind: String,
    pub outdoor: bool,
    pub apart: bool,
    /// From the stop before it on this arm.
    pub wire: Option<Wire>,
    pub flags: Vec<Flag>,
    pub hangs: Vec<Hang>,
    pub tags: Vec<String>,
}

/// Units one after the other.
#[derive(Clone, Debug)]
pub(super) struct Arm {
    pub heading: String,
    pub stops: Vec<Stop>,
    /// What stands at its open end.
    pub broken: Option<Broken>,
}

/// A run that is no step of an arm: a branch, a loop, a repetition.
#[derive(Clone, Debug)]
pub(super) struct Detour {
    pub from: usize,
    pub to: usize,
    pub words: String,
}

#[derive(Clone, Debug)]
pub(super) struct Scene {
    pub title: String,
    pub facts: Vec<String>,
    pub arms: Vec<Arm>,
    pub detours: Vec<Detour>,
    /// Tag, and the text of the finding with what to do.
    pub findings: Vec<(String, String)>,
}

/// Findings that a system's drawing is about.
pub(super) fn of_bus(schedule: &Schedule, id: SystemId, finding: &Reported) -> bool {
    let system = schedule.system(id);
    let bus = finding.rule.starts_with("bus-") || finding.rule == "low-voltage-with-power";
    let wired = bus || finding.rule == "unknown-tag";
    match finding.subject {
        Subject::System(of) => of == id && bus,
        Subject::Run(run) => wired && system.runs.contains(&run),
        Subject::Unit(unit) => bus && system.units.contains(&unit),
        _ => false,
    }
}

fn of_controllers(schedule: &Schedule, id: SystemId, finding: &Reported) -> bool {
    let system = schedule.system(id);
    if !finding.rule.starts_with("controller-") && finding.rule != "low-voltage-with-power" {
        return false;
    }
    match finding.subject {
        Subject::Unit(unit) => system.units.contains(&unit),
        Subject::Controller(id) => {
            let units = &schedule.controller(id).unit_ids;
            units.iter().any(|unit| system.units.contains(unit))
        }
        Subject::Run(run) => {
            let ends = ends(schedule.run(run));
            ends.iter().any(|unit| system.units.contains(unit))
        }
        _ => false,
    }
}

fn ends(run: &Run) -> Vec<UnitId> {
    let one = |end: &RunEnd| match end {
        RunEnd::Unit(unit) => vec![*unit],
        RunEnd::Mark(units) => units.clone(),
        _ => Vec::new(),
    };
    let mut ends = one(&run.from_end);
    ends.extend(one(&run.to_end));
    ends
}

pub(super) struct Builder<'a> {
    pub schedule: &'a Schedule,
    pub audit: &'a Audit,
    pub layout: &'a BusLayout<'a>,
    pub id: SystemId,
    tagged: Vec<(String, &'a Reported)>,
}

impl<'a> Builder<'a> {
    pub fn new(
        schedule: &'a Schedule,
        audit: &'a Audit,
        layout: &'a BusLayout<'a>,
        id: SystemId,
    ) -> Self {
        let mut about: Vec<&Reported> = audit
            .standing()
            .filter(|f| of_bus(schedule, id, f) || of_controllers(schedule, id, f))
            .collect();
        about.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
        let tagged = about
            .into_iter()
            .enumerate()
            .map(|(at, finding)| {
                (
                    format!("{} {}", style::word(finding.severity), at + 1),
                    finding,
                )
            })
            .collect();
        Self {
            schedule,
            audit,
            layout,
            id,
            tagged,
        }
    }

    fn tags(&self, wanted: impl Fn(&Reported) -> bool) -> Vec<String> {
        let found = self.tagged.iter().filter(|(_, finding)| wanted(finding));
        found.map(|(tag, _)| tag.clone()).collect()
    }

    /// `None` where there is neither a unit nor a run to draw.
    pub fn scene(&self) -> Option<Scene> {
        let bus = self.layout.systems.get(self.id.index())?;
        if bus.nodes.is_empty() {
            return None;
        }
        let (arms, mut detours) = self.arms(bus);
        self.extra_runs(bus, &mut detours);
        let findings = self.tagged.iter().map(|(tag, finding)| {
            let text = format!(
                "{}: {} To do: {}",
                finding.rule, finding.message, finding.remedy
            );
            (tag.clone(), text)
        });
        Some(Scene {
            title: format!("Bus of system {}", self.schedule.system_label(self.id)),
            facts: self.facts(bus),
            arms,
            detours,
            findings: findings.collect(),
        })
    }

    fn facts(&self, bus: &SystemBus) -> Vec<String> {
        let mut facts = Vec::new();
        let steps: Vec<&Step> = self
            .audit
            .of(Subject::System(self.id))
            .flat_map(|outcome| &outcome.working)
            .collect();
        for what in ["total", "budget"] {
            if let Some(step) = steps.iter().find(|step| step.what == what) {
                let name = match what {
                    "total" => "length of the bus",
                    _ => "budget",
                };
                facts.push(format!("{name} {}", step.value));
            }
        }
        let runs = super::super::counted(bus.runs.len(), "run", "runs");
        let units = super::super::counted(bus.to_reach().count(), "unit", "units");
        facts.insert(
            0,
            format!("{units} behind the outdoor unit, {runs} of bus wire"),
        );
        if bus.graph.start().is_none() {
            facts.push("no outdoor unit in the equipment".to_owned());
        }
        if bus.under_one_mark() {
            facts.push("the outdoor unit stands for several of one mark".to_owned());
        }
        facts
    }

    fn arms(&self, bus: &SystemBus) -> (Vec<Arm>, Vec<Detour>) {
        let mut arms: Vec<Arm> = Vec::new();
        let mut detours = Vec::new();
        let walk = bus.graph.walk();
        for (at, stop) in walk.iter().enumerate() {
            let run = stop.by.and_then(|(_, link)| bus.links.get(link)).copied();
            let previous = at.checked_sub(1).and_then(|at| walk.get(at));
            // A walk that turns back begins a further arm, whatever it is
            // that it walks.
            let goes_on = stop.hangs != Hangs::Start
                && stop.by.map(|(node, _)| node) == previous.map(|stop| stop.node)
                && stop.hangs != Hangs::Branch;
            let mut drawn = self.stop(bus, stop.node, at + 1, stop.hangs == Hangs::Apart);
            if goes_on {
                drawn.wire = run.map(|run| self.wire(run));
            } else {
                if let (Some((from, _)), Some(run)) = (stop.by, run) {
                    detours.push(Detour {
                        from,
                        to: stop.node,
                        words: self.detour("BRANCH", run),
                    });
                }
                arms.push(Arm {
                    heading: match (stop.hangs, stop.by) {
                        (Hangs::Apart, None) => "NOT REACHED from the outdoor unit".to_owned(),
                        _ => String::new(),
                    },
                    stops: Vec::new(),
                    broken: None,
                });
            }
            if let Some(arm) = arms.last_mut() {
                arm.stops.push(drawn);
            }
        }
        self.ends(bus, &mut arms);
        (arms, detours)
    }

    /// Says at the first arm's end whether it ends there as it should.
    fn ends(&self, bus: &SystemBus, arms: &mut [Arm]) {
        let reached = bus.graph.reached();
        let lost = bus
            .to_reach()
            .any(|(node, _)| reached.get(node) == Some(&false));
        // Of several arms none ends the chain.
        let only = arms.len() == 1;
        let Some(first) = arms.first_mut() else {
            return;
        };
        if lost && bus.graph.start().is_some() {
            let tags = self.tags(|finding| finding.rule == "bus-broken");
            first.broken = Some(match tags.first() {
                Some(tag) => Broken {
                    words: "BROKEN".to_owned(),
                    tag: Some(tag.clone()),
                },
                None => Broken {
                    words: "ENDS HERE".to_owned(),
                    tag: None,
                },
            });
        } else if only
            && first.stops.len() > 1
            && let Some(last) = first.stops.last_mut()
            && last.kind.is_empty()
        {
            last.kind = "last unit".to_owned();
        }
    }

    fn stop(&self, bus: &SystemBus, node: usize, number: usize, apart: bool) -> Stop {
        let id = bus.nodes[node];
        let unit = self.schedule.unit(id);
        let outdoor = unit.is_outdoor();
        let also: Vec<UnitId> = match outdoor {
            true => self.modules(id),
            false => Vec::new(),
        };
        let mut label = self.schedule.unit_label(id);
        for module in &also {
            label.push_str(&format!(" + {}", self.schedule.unit_label(*module)));
        }
        let kind = match unit.kind() {
            Some(UnitKind::Indoor) => String::new(),
            Some(kind) => kind.to_string(),
            None => "kind not told".to_owned(),
        };
        let hangs = match unit.is_indoor() {
            true => self.hangs(id),
            false => Vec::new(),
        };
        Stop {
            node,
            number,
            label,
            room: state(self.schedule, &unit.room),
            kind,
            outdoor,
            apart,
            wire: None,
            flags: self.flags(id, &also),
            hangs,
            tags: self.tags(|finding| finding.subject == Subject::Unit(id)),
        }
    }

    fn modules(&self, main: UnitId) -> Vec<UnitId> {
        let system = self.schedule.system(self.id);
        let is_module = |id: &UnitId| *id != main && self.schedule.unit(*id).is_outdoor();
        system.units.iter().copied().filter(is_module).collect()
    }

    fn run_tags(&self, run: RunId) -> Vec<String> {
        self.tags(|finding| finding.subject == Subject::Run(run))
    }

    fn wire(&self, id: RunId) -> Wire {
        let run = self.schedule.run(id);
        let mut words = Vec::new();
        if run.shielded.copied() == Some(true) {
            words.push("shielded".to_owned());
        }
        if run.splices.copied().is_some_and(|count| count > 0) {
            words.push("spliced".to_owned());
        }
        let beside = match run.routing.copied() {
            Some(Routing::SameRaceway) => "with power",
            Some(Routing::Tied) => "tied: power",
            Some(Routing::Parallel) => "along power",
            _ => "",
        };
        if !beside.is_empty() {
            words.push(beside.to_owned());
        }
        let faulty = self
            .tagged
            .iter()
            .any(|(_, f)| f.subject == Subject::Run(id) && f.severity == Severity::Fix);
        Wire {
            length: self.length(id),
            words,
            tags: self.run_tags(id),
            faulty,
        }
    }

    fn length(&self, id: RunId) -> String {
        match state(self.schedule, &self.schedule.run(id).length) {
            length if length.is_empty() => "length?".to_owned(),
            length => length,
        }
    }

    fn detour(&self, what: &str, run: RunId) -> String {
        let mut words = format!(
            "{what}: {}, {}",
            self.schedule.run_label(run),
            self.length(run)
        );
        for tag in self.run_tags(run) {
            words.push_str(&format!(" [{tag}]"));
        }
        words
    }

    /// Runs that close a loop, and pairs joined again.
    fn extra_runs(&self, bus: &SystemBus, detours: &mut Vec<Detour>) {
        let closing = bus.graph.closing().iter().map(|&link| (link, "LOOP"));
        let repeated = bus
            .graph
            .repeated()
            .iter()
            .map(|&(link, _)| (link, "AGAIN"))
            .filter(|(link, _)| {
                let run = bus.links.get(*link);
                let told = |(later, _): &(RunId, RunId)| Some(later) == run;
                self.layout.repeated.iter().any(told)
            });
        for (link, what) in closing.chain(repeated) {
            let Some(&run) = bus.links.get(link) else {
                continue;
            };
            let Some((a, b)) = self.schedule.run(run).units() else {
                continue;
            };
            let node = |unit: UnitId| {
                let same = |node: &UnitId| {
                    *node == unit
                        || (self.schedule.unit(*node).is_outdoor()
                            && self.schedule.unit(unit).is_outdoor())
                };
                bus.nodes.iter().position(same)
            };
            if let (Some(from), Some(to)) = (node(a), node(b)) {
                detours.push(Detour {
                    from,
                    to,
                    words: self.detour(what, run),
                });
            }
        }
    }

    /// Runs that leave this drawing from a unit.
    fn flags(&self, id: UnitId, also: &[UnitId]) -> Vec<Flag> {
        let bus = self.layout.systems.get(self.id.index());
        let mut flags = Vec::new();
        for (run_id, run) in self.schedule.run_ids() {
            let own = |unit: &UnitId| *unit == id || also.contains(unit);
            let touches = ends(run).iter().any(own);
            if !touches || !matches!(run.serves, RunPurpose::Bus | RunPurpose::Central) {
                continue;
            }
            let crossing = self.layout.crossing.iter().any(|(run, ..)| *run == run_id);
            let unknown = |end: &RunEnd| matches!(end, RunEnd::UnknownTag { .. });
            let of = |runs: fn(&'a SystemBus<'a>) -> &'a Vec<RunId>| {
                bus.is_some_and(|bus| runs(bus).contains(&run_id))
            };
            let (words, fault) = if crossing {
                ("SECOND SYSTEM", true)
            } else if unknown(&run.from_end) || unknown(&run.to_end) {
                ("NO SUCH UNIT", true)
            } else if of(|bus| &bus.open_ended) {
                ("OTHER END NOT NAMED", true)
            } else if of(|bus| &bus.doubtful) {
                ("SYSTEM NOT TOLD", true)
            } else if of(|bus| &bus.marks) {
                ("WHICH OF SEVERAL?", true)
            } else if of(|bus| &bus.strangers) || run.serves == RunPurpose::Central {
                ("central control", false)
            } else {
                continue;
            };
            let mut words = words.to_owned();
            for tag in self.run_tags(run_id) {
                words.push_str(&format!(" [{tag}]"));
            }
            flags.push(Flag {
                to: self.other_end(id, run_id),
                words,
                fault,
            });
        }
        flags
    }

    fn other_end(&self, id: UnitId, run_id: RunId) -> String {
        let run = self.schedule.run(run_id);
        let here = |end: &RunEnd| matches!(end, RunEnd::Unit(unit) if *unit == id);
        let (end, name) = match here(&run.from_end) {
            true => (&run.to_end, &run.to),
            false => (&run.from_end, &run.from),
        };
        let name = match end {
            RunEnd::Unit(unit) => {
                let label = self.schedule.unit_label(*unit);
                match self.schedule.unit(*unit).system_id {
                    Some(system) if system != self.id => {
                        format!("{label} of system {}", self.schedule.system_label(system))
                    }
                    _ => label,
                }
            }
            _ => match state(self.schedule, name) {
                name if name.is_empty() => "?".to_owned(),
                name => name,
            },
        };
        format!("to {name}, {}", self.length(run_id))
    }
}
