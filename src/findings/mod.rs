//! What the rules found: outcomes, findings with their ids, groups, counts
//! and the disposition of a job.
//!
//! A rule returns [`Outcome`]s, which carry data and places; [`Audit`] turns
//! them into [`Reported`] rows, the one form that every output prints.

pub mod acceptance;
mod audit;
mod disposition;
mod dwellings;
mod id;
mod outcome;
mod subject;

pub use acceptance::{Acceptance, Accepted, Standing, Target, Use};
pub use audit::{Audit, NotCheckedTally, Reported, RuleTally, subject_in_dwelling};
pub use disposition::Disposition;
pub use dwellings::Dwellings;
pub use id::finding_id;
pub use outcome::{Change, Finding, Limit, Outcome, Severity, Step, Value, Verdict, Want};
pub use subject::Subject;
