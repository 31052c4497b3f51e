//! ampledger audits the schedules of multi-zone heat-pump systems.
//!
//! Data moves one way: intake → schedule → rules → findings → report.

#![forbid(unsafe_code)]

pub mod acceptance;
pub mod batch;
pub mod cli;
pub mod findings;
pub mod intake;
pub mod practice;
pub mod proposal;
pub mod report;
pub mod rules;
pub mod schedule;
pub mod sizing;
pub mod tables;
pub mod takeoff;
