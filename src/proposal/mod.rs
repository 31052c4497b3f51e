//! From a schedule and its audit to the schedule that is proposed in its
//! place: circuits, chains and home runs, the cells that change, and the
//! questions that only the submitter can answer.
//!
//! What may not happen here: inventing. A value that neither the nameplates
//! nor the known runs give is left open and asked for.

mod bench;
mod bus;
mod circuits;
mod controllers;
mod data;
mod lengths;
mod moves;
mod panels;
mod phases;
mod repair;
mod slots;
#[cfg(test)]
mod tests;
pub mod text;
mod wires;

pub use data::{
    Changed, HomeRun, Proposal, ProposedChain, ProposedCircuit, ProposedRun, Question, Stands,
};

use crate::findings::Audit;
use crate::practice::Practice;
use crate::rules;
use crate::schedule::Schedule;

/// The schedule that is proposed in place of `schedule`.
pub fn propose(schedule: &Schedule, practice: &Practice) -> Proposal {
    propose_after(schedule, practice, &rules::audit(schedule, practice))
}

/// As [`propose`], where the schedule's audit under this practice is known;
/// what was accepted in it is left alone.
pub fn propose_after(schedule: &Schedule, practice: &Practice, audit: &Audit) -> Proposal {
    let practice = practice.for_job(schedule);
    let mut bench = bench::Bench::new(schedule, &practice, audit);
    repair::run(&mut bench);
    data::finish(bench)
}
