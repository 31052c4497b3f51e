//! What several families ask of each low-voltage run.

use crate::findings::{Outcome, Subject, Want};
use crate::schedule::{CellId, Field, FieldName, Place, Run, RunId, Schedule, TableKind};

/// Judges one field of each run that `relevant` picks. A run whose cell says
/// nothing is not checked; where no run of the job says anything, that is
/// one outcome for each table.
pub(super) fn each_run<T>(
    schedule: &Schedule,
    name: FieldName,
    relevant: impl Fn(&Run) -> bool,
    field: impl Fn(&Run) -> &Field<T>,
    mut judge: impl FnMut(RunId, &Run, &T, CellId) -> Outcome,
) -> Vec<Outcome> {
    let runs: Vec<(RunId, &Run)> = schedule.run_ids().filter(|(_, r)| relevant(r)).collect();
    if runs.is_empty() {
        let want = if schedule.runs.is_empty() {
            Want::Table(TableKind::WireRuns)
        } else {
            Want::Fact("runs of that purpose")
        };
        return vec![Outcome::not_checked(Subject::Job, Place::Job, vec![want])];
    }
    if !runs.iter().any(|(_, run)| field(run).is_given()) {
        return tables_of(&runs)
            .map(|table| Outcome::wants(Subject::Table(table), Place::Table(table), name))
            .collect();
    }
    runs.into_iter()
        .map(|(id, run)| match field(run) {
            Field::Given(located) => judge(id, run, &located.value, located.at),
            other => Outcome::wants(Subject::Run(id), schedule.anchor(other, run.at), name),
        })
        .collect()
}

/// The tables of these runs, each once, in their order.
pub(super) fn tables_of(runs: &[(RunId, &Run)]) -> impl Iterator<Item = u32> + use<> {
    let mut tables: Vec<u32> = runs.iter().map(|(_, run)| run.at.table).collect();
    tables.sort_unstable();
    tables.dedup();
    tables.into_iter()
}
