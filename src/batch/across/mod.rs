//! Rules that look across jobs. Their findings stand in the outputs of the
//! batch alone: a job's workbook never depends on other jobs.

mod models;
mod twice;

use crate::findings::{RuleTally, Severity};
use crate::report::ReportError;
use crate::report::formats::About;
use crate::report::jobs::Jobs;

/// Name of the rule that [`models`] carries out.
pub const MODEL_DISAGREES: &str = "model-disagrees";
/// Name of the rule that [`twice`] carries out.
pub const JOB_SUBMITTED_TWICE: &str = "job-submitted-twice";

const FAMILY: &str = "across jobs";

/// What the rules say of themselves, in their order.
pub const RULES: [About; 2] = [
    About {
        name: MODEL_DISAGREES,
        family: FAMILY,
        worst: Severity::Verify,
        summary: "one model has different nameplate values in different jobs",
        why: "A model has one nameplate: where two jobs disagree, one of them was typed from \
              memory, from another size or from an older edition of the maker's data.",
        decides: "Compares MCA, MOP, voltage and capacity of the units of one model (and one \
                  heater) in all current jobs. The value that most jobs state stands; a job that \
                  states another one is asked, and all are where no value has the most jobs. Two \
                  values agree where one of a nameplate for two voltages is the other's, where \
                  they are stated for different voltages of one nameplate, or where capacities \
                  lie within 2 percent.",
        leaves: "Units without a model or with an MCA above their MOP (mop-below-mca), superseded submissions, models that one job alone \
                 names, and models of the user's own table (nameplate-off-table). Nobody's nameplate was read: the majority may be wrong.",
    },
    About {
        name: JOB_SUBMITTED_TWICE,
        family: FAMILY,
        worst: Severity::Note,
        summary: "one job was submitted more than once, or one schedule under two names",
        why: "A job that is counted twice falsifies every total, and a superseded revision that \
              is built from is a wrong house.",
        decides: "Submissions with one job number (or one name, and mostly the same tags) are one \
                  job. The highest revision is current, then the latest date; the others are \
                  superseded and outside totals. Where neither tells them apart and they differ, \
                  none is dropped and it is asked which is current. The same schedule under two \
                  jobs' names is only named: a builder repeats a plan.",
        leaves: "Jobs of one file, which its own job column tells apart.",
    },
];

/// Judges all jobs, in their order: adds findings, marks what is superseded.
/// Models of the user's own table are no question between jobs.
/// Gives the tallies of these rules.
///
/// # Errors
/// As [`crate::report::jobs::Job::facts`].
pub fn judge(jobs: &mut Jobs) -> Result<Vec<RuleTally>, ReportError> {
    // First, so that a superseded value is held against nobody.
    let twice = twice::judge(jobs)?;
    let models = models::judge(jobs)?;
    Ok(vec![models, twice])
}

#[cfg(test)]
mod tests;
