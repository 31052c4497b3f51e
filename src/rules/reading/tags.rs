//! Names that match nothing of the job.

use crate::findings::{Change, Finding, Outcome, Severity, Subject, Want};
use crate::practice::Practice;
use crate::rules::wording::means_all;
use crate::rules::{Cite, Family, Rule};
use crate::schedule::wire::RunPurpose;
use crate::schedule::{
    CellId, Field, FieldName, LoadTarget, Name, Place, Run, RunEnd, RunId, Schedule, SystemId,
    TableKind,
};
use std::collections::{BTreeMap, BTreeSet};

pub(super) static UNKNOWN_TAG: Rule = Rule {
    name: "unknown-tag",
    family: Family::Reading,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "a tag that no row of the equipment or of the controllers has",
    why: "A run or a circuit to a unit that does not exist is a unit that gets none.",
    decides: "The ends of a run, the units of a controller and the loads of a circuit are looked \
              up in their dwelling, then in the building. A name shaped like this job's tags (a \
              prefix that its equipment or controllers use, and a number) that matches none is \
              wrong in a run or a controller and asked about in a circuit; the nearest tag is \
              proposed. Any other name at the end of a run is asked about.",
    leaves: "Other loads of a circuit (lights, a range): they still take slots. The far end of \
             an interlock, which is commonly no scheduled equipment.",
    cites: &[Cite::Schedule],
    yields_to: &[],
    check: unknown_tag,
};

fn unknown_tag(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    if schedule.units.is_empty() {
        let wants = vec![Want::Table(TableKind::Equipment)];
        return vec![Outcome::not_checked(Subject::Job, Place::Job, wants)];
    }
    let prefixes = Prefixes::of(schedule);
    let mut outcomes = runs(schedule, &prefixes);
    outcomes.extend(controllers(schedule, &prefixes));
    outcomes.extend(circuits(schedule));
    outcomes
}

/// The letters with which this job's tags begin.
struct Prefixes(BTreeSet<String>);

impl Prefixes {
    fn of(schedule: &Schedule) -> Self {
        let units = schedule.units.iter().map(|unit| &unit.tag.value);
        let controllers = schedule.controllers.iter().map(|c| &c.tag.value);
        Self(
            units
                .chain(controllers)
                .map(|name| name.prefix().to_owned())
                .filter(|prefix| !prefix.is_empty())
                .collect(),
        )
    }

    fn shape(&self, name: &Name) -> bool {
        name.looks_like_tag() && self.0.contains(name.prefix())
    }
}

/// A name that matches nothing: where it stands and what may be meant.
struct Stranger<'a> {
    name: &'a Name,
    at: CellId,
    nearest: Option<&'a Name>,
    /// Shaped like this job's tags.
    shaped: bool,
    field: FieldName,
    /// `the run OU-1 to FC-9`.
    of: String,
}

impl Stranger<'_> {
    fn finding(&self, schedule: &Schedule, severity: Severity) -> Finding {
        let name = self.name;
        let says = if self.shaped {
            format!(
                "{} names {name}, which no row of the equipment or of the controllers has.",
                self.of
            )
        } else {
            format!(
                "{} names {name}, which is no tag of this job; the schedule does not tell what \
                 it is.",
                self.of
            )
        };
        let remedy = match (self.shaped, self.nearest) {
            (true, Some(nearest)) => {
                format!("Correct {name} (the nearest tag is {nearest}), or schedule {name}.")
            }
            (true, None) => format!("Correct {name}, or schedule {name}."),
            (false, _) => {
                format!("Say what {name} is, or write the tag of the unit that is meant.")
            }
        };
        let mut finding = Finding::new(severity, says, name.text(), remedy).field(self.field);
        if let (true, Some(nearest)) = (self.shaped, self.nearest) {
            finding = finding.limit(nearest.text(), "the nearest tag");
            // Only where the cell holds this name alone.
            let was = schedule.sources.text(self.at);
            let run_end = matches!(self.field, FieldName::RunFrom | FieldName::RunTo);
            if was.is_empty() && run_end || !was.is_empty() && Name::new(was) == *name {
                finding = finding.change(Change {
                    at: self.at,
                    field: self.field,
                    was: if was.is_empty() {
                        name.text().to_owned()
                    } else {
                        was.to_owned()
                    },
                    proposed: nearest.text().to_owned(),
                });
            }
        }
        finding
    }
}

/// Units on no run yet, by dwelling and prefix: likelier to be meant by an
/// unknown tag than a unit that the chain passes already.
struct Unwired<'a>(BTreeMap<(Option<&'a Name>, &'a str), Vec<&'a Name>>);

/// Unwired units compared with one unknown tag.
const COMPARED: usize = 50;

impl<'a> Unwired<'a> {
    fn of(schedule: &'a Schedule) -> Self {
        let mut wired = vec![false; schedule.units.len()];
        for run in schedule.runs.iter().filter(|r| r.serves == RunPurpose::Bus) {
            for end in [&run.from_end, &run.to_end] {
                if let RunEnd::Unit(unit) = end {
                    wired[unit.index()] = true;
                }
            }
        }
        let mut by_prefix: BTreeMap<_, Vec<_>> = BTreeMap::new();
        for (id, unit) in schedule.audited_units() {
            if !wired[id.index()] {
                let tag = &unit.tag.value;
                let key = (unit.dwelling.get(), tag.prefix());
                by_prefix.entry(key).or_default().push(tag);
            }
        }
        Self(by_prefix)
    }

    /// What a bus run's unknown end may mean: the unwired unit most like it,
    /// else the nearest tag, unless that stands at the run's other end.
    fn meant(
        &self,
        run: &'a Run,
        name: &Name,
        nearest: Option<&'a Name>,
        far: &Field<Name>,
    ) -> Option<&'a Name> {
        let nearest = nearest.filter(|near| far.get() != Some(near));
        if run.serves != RunPurpose::Bus {
            return nearest;
        }
        let unwired = self.0.get(&(run.dwelling.get(), name.prefix()));
        let likeness = |tag: &Name| {
            let likeness = strsim::normalized_damerau_levenshtein(tag.key(), name.key());
            (likeness * 1000.0) as u32
        };
        unwired
            .into_iter()
            .flatten()
            .take(COMPARED)
            .copied()
            // Of equals the first.
            .min_by_key(|tag| std::cmp::Reverse(likeness(tag)))
            .or(nearest)
    }
}

fn runs(schedule: &Schedule, prefixes: &Prefixes) -> Vec<Outcome> {
    let unwired = Unwired::of(schedule);
    let mut outcomes = Vec::with_capacity(schedule.runs.len());
    let mut without_system = false;
    for (id, run) in schedule.run_ids() {
        let ends = [
            (&run.from, &run.from_end, &run.to, FieldName::RunFrom),
            (&run.to, &run.to_end, &run.from, FieldName::RunTo),
        ];
        let mut known = true;
        for (name, end, far, field) in ends {
            let (Field::Given(name), RunEnd::UnknownTag { nearest }) = (name, end) else {
                continue;
            };
            let shaped = prefixes.shape(&name.value);
            if !shaped && run.serves == RunPurpose::Interlock {
                continue;
            }
            known = false;
            let stranger = Stranger {
                name: &name.value,
                at: name.at,
                nearest: unwired.meant(run, &name.value, nearest.as_ref(), far),
                shaped,
                field,
                of: format!("The run {}", schedule.run_label(id)),
            };
            let severity = if shaped {
                Severity::Fix
            } else {
                Severity::Verify
            };
            let finding = stranger.finding(schedule, severity);
            let mut outcome = Outcome::broken(Subject::Run(id), name.at, finding);
            if run.serves == RunPurpose::Bus {
                let systems = systems_of(schedule, run);
                without_system |= systems.is_empty();
                outcome.also = systems.into_iter().map(Subject::System).collect();
            }
            outcomes.push(outcome);
        }
        if known {
            outcomes.push(Outcome::met(Subject::Run(id), run.at));
        }
    }
    if without_system {
        about_every_system(schedule, &mut outcomes);
    }
    outcomes
}

/// The systems that a run with an unknown end may belong to; empty where
/// nothing tells.
fn systems_of(schedule: &Schedule, run: &Run) -> Vec<SystemId> {
    let mut systems: Vec<SystemId> = [&run.from_end, &run.to_end]
        .into_iter()
        .flat_map(|end| match end {
            RunEnd::Unit(unit) => std::slice::from_ref(unit),
            RunEnd::Mark(units) => units.as_slice(),
            _ => &[],
        })
        .filter_map(|unit| schedule.unit(*unit).system_id)
        .collect();
    systems.sort_unstable();
    systems.dedup();
    systems
}

/// A run of which neither end tells its system may belong to any: one such
/// finding stands for all of them, so that the number of links between
/// findings and systems stays linear.
fn about_every_system(schedule: &Schedule, outcomes: &mut [Outcome]) {
    let first = outcomes.iter_mut().find(|outcome| {
        let bus = |id: RunId| schedule.run(id).serves == RunPurpose::Bus;
        outcome.finding().is_some()
            && outcome.also.is_empty()
            && matches!(outcome.subject, Subject::Run(id) if bus(id))
    });
    if let Some(outcome) = first {
        outcome.also = schedule
            .system_ids()
            .map(|(id, _)| Subject::System(id))
            .collect();
    }
}

fn controllers(schedule: &Schedule, prefixes: &Prefixes) -> Vec<Outcome> {
    let mut outcomes = Vec::with_capacity(schedule.controllers.len());
    for (id, controller) in schedule.controller_ids() {
        let subject = Subject::Controller(id);
        let strangers: Vec<_> = controller
            .unknown
            .iter()
            .filter(|(name, _)| !means_all(&name.value))
            .collect();
        if strangers.is_empty() {
            outcomes.push(Outcome::met(subject, controller.tag.at));
        }
        for (name, nearest) in strangers {
            let shaped = prefixes.shape(&name.value);
            let stranger = Stranger {
                name: &name.value,
                at: name.at,
                nearest: nearest.as_ref(),
                shaped,
                field: FieldName::ControllerUnits,
                of: format!("The controller {}", schedule.controller_label(id)),
            };
            let severity = if shaped {
                Severity::Fix
            } else {
                Severity::Verify
            };
            let finding = stranger.finding(schedule, severity);
            outcomes.push(Outcome::broken(subject, name.at, finding));
        }
    }
    outcomes
}

fn circuits(schedule: &Schedule) -> Vec<Outcome> {
    let mut outcomes = Vec::with_capacity(schedule.circuits.len());
    for (id, circuit) in schedule.circuit_ids() {
        let subject = Subject::Circuit(id);
        let mut known = true;
        for load in &circuit.loads {
            let LoadTarget::UnknownTag { nearest } = &load.target else {
                continue;
            };
            known = false;
            let name = Name::new(&load.text.value);
            let stranger = Stranger {
                name: &name,
                at: load.text.at,
                nearest: nearest.as_ref(),
                shaped: true,
                field: FieldName::CircuitLoads,
                of: format!("The circuit {}", schedule.circuit_label(id)),
            };
            let finding = stranger.finding(schedule, Severity::Verify);
            outcomes.push(Outcome::broken(subject, load.text.at, finding));
        }
        if known {
            outcomes.push(Outcome::met(subject, circuit.at));
        }
    }
    outcomes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::testing::{finds, meets, outcomes, whole_audit};
    use crate::schedule::UnitKind;
    use crate::schedule::fixture::Fixture;
    use Severity::{Fix, Verify};

    fn job() -> Fixture {
        let mut fixture = Fixture::new();
        fixture
            .unit("OU-1", UnitKind::Outdoor, |_, _| {})
            .unit("FC-1", UnitKind::Indoor, |_, _| {})
            .unit("FC-2", UnitKind::Indoor, |_, _| {})
            .controller("T-1", &["FC-1", "FC-2"], |_, _| {});
        fixture
    }

    #[test]
    fn a_tag_of_this_jobs_shape_is_wrong_in_a_run_and_the_nearest_is_proposed() {
        let mut fixture = job();
        fixture.run("OU-1", "FC-1", |_, _| {});
        fixture.run("FC-1", "FC-9", |_, _| {});
        let schedule = fixture.build();
        finds(&UNKNOWN_TAG, &schedule, &[Fix]);
        let found = outcomes(&UNKNOWN_TAG, &schedule);
        let finding = found.iter().find_map(Outcome::finding).unwrap();
        assert_eq!(finding.changes[0].proposed, "FC-2", "FC-1 is wired already");
        let broken = whole_audit(&schedule);
        assert!(!broken.iter().any(|(rule, _)| *rule == "bus-broken"));
    }

    #[test]
    fn any_other_name_at_a_runs_end_is_asked_about() {
        let mut fixture = job();
        fixture.run("OU-1", "FC-1", |_, _| {});
        fixture.run("FC-1", "JB-1", |_, _| {});
        fixture.run("T-9", "FC-2", |_, _| {});
        finds(&UNKNOWN_TAG, &fixture.build(), &[Verify, Fix]);
    }

    #[test]
    fn the_far_end_of_an_interlock_is_no_equipment() {
        let mut fixture = job();
        fixture.run("FLOAT SW", "FC-1", |run, cells| {
            run.purpose = cells.given(RunPurpose::Interlock);
        });
        meets(&UNKNOWN_TAG, &fixture.build());
    }

    #[test]
    fn controllers_and_circuits_name_what_there_is() {
        let mut fixture = job();
        fixture
            .controller("T-2", &["FC-7"], |_, _| {})
            .controller("T-3", &["LIVING ROOM"], |_, _| {})
            .circuit("LP", &[1, 3], &["FC-8"], |_, _| {})
            .circuit("LP", &[5], &["EF-1", "RANGE", "SPARE", "FC-1"], |_, _| {});
        finds(&UNKNOWN_TAG, &fixture.build(), &[Fix, Verify, Verify]);
    }

    #[test]
    fn without_equipment_nothing_can_be_looked_up() {
        let mut fixture = Fixture::new();
        fixture
            .run("OU-1", "FC-1", |_, _| {})
            .controller("T-1", &["FC-1"], |_, _| {});
        finds(&UNKNOWN_TAG, &fixture.build(), &[]);
        let mut all = job();
        all.controller("CC-1", &["ALL UNITS"], |_, _| {});
        meets(&UNKNOWN_TAG, &all.build());
    }

    #[test]
    fn a_run_that_tells_no_system_makes_them_all_wait() {
        let mut fixture = job();
        fixture.run("OU-1", "FC-1", |_, _| {});
        fixture.run("FC-8", "FC-9", |_, _| {});
        let schedule = fixture.build();
        finds(&UNKNOWN_TAG, &schedule, &[Fix, Fix]);
        let broken = whole_audit(&schedule);
        assert!(!broken.iter().any(|(rule, _)| *rule == "bus-broken"));
    }
}
