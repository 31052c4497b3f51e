//! Many jobs at once: which files make which job, rayon over the jobs, one
//! job's fault kept to that job, and the output folder.

mod accepted;
mod across;
mod compare;
mod discover;
mod facts;
mod finish;
mod held;
mod machine;
mod nameplates;
mod names;
mod options;
mod outputs;
mod plan;
mod prices;
mod reading;
mod reuse;
mod roll_up;
mod run;
mod shard;
mod since;
mod typed;
mod understand;

pub use crate::intake::job::JobPer;
pub use across::RULES as RULES_ACROSS_JOBS;
pub use compare::{CompareOptions, Compared, compare_audits};
pub use nameplates::read_nameplates;
pub use options::{Batch, BatchError, Options, Review};
pub use outputs::{NotOurs, OutputFolder};
pub use prices::read_prices;
pub use roll_up::{RollUpOptions, roll_up};
pub use run::audit;
pub use shard::Shard;
pub use since::Since;
pub use understand::{
    FileReading, FormReading, JobReading, Understood, UnknownHeading, understand,
};
