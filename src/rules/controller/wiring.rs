//! How controllers and interlocks are wired.

use super::{is_controller_run, is_wireless, may_be_central};
use crate::findings::{Finding, Outcome, Severity, Subject, Value, Want};
use crate::practice::Practice;
use crate::rules::runs::each_run;
use crate::rules::wording::{count, counted, list};
use crate::rules::{Cite, Family, Rule};
use crate::schedule::wire::Size;
use crate::schedule::{
    CellId, Controller, ControllerId, Field, FieldName, Name, Place, Quantity, Run, RunEnd, RunId,
    Schedule, TableKind, UnitId,
};
use std::collections::BTreeMap;

/// Units in one message before it says how many more.
const SHOWN: usize = 12;

pub(super) static CONTROLLER_NOT_HOME_RUN: Rule = Rule {
    name: "controller-not-home-run",
    family: Family::Controller,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "a controller that is not wired straight back to its one unit",
    why: "A thermostat is a home run: one two-wire cable to the indoor unit that serves its \
          room. Looped to a second unit, through another thermostat or to the outdoor unit, it \
          controls the wrong one or none.",
    decides: "A controller whose runs end on two units, on another controller or on the outdoor \
              unit is wrong. A declared group of up to the practice profile's number of units is \
              asked about, and so are several units in a controller's row where the schedule \
              has no column to declare a group, or a controller on the outdoor unit whose \
              purpose is not stated and that may be central control.",
    leaves: "Wireless controllers; units of one mark or of one tag in several dwellings, which \
             count as one; central control that stands among the thermostats; how a group is \
             wired among its units.",
    cites: &[Cite::Practice, Cite::Manual],
    yields_to: &[],
    check: controller_not_home_run,
};

fn controller_not_home_run(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    if schedule.controllers.is_empty() {
        let wants = vec![Want::Table(TableKind::Controllers)];
        return vec![Outcome::not_checked(Subject::Job, Place::Job, wants)];
    }
    let group_column = schedule.controllers.iter().any(|c| !c.group.no_column());
    schedule
        .controller_ids()
        .map(|(id, controller)| {
            let fault = (!is_wireless(controller)).then(|| {
                to_outdoor(schedule, id, controller)
                    .or_else(|| through_another(schedule, id, controller))
                    .or_else(|| several_units(schedule, practice, id, controller, group_column))
            });
            fault
                .flatten()
                .unwrap_or_else(|| Outcome::met(Subject::Controller(id), controller.tag.at))
        })
        .collect()
}

/// The runs of a controller with the end that is not itself.
fn far_ends<'a>(
    schedule: &'a Schedule,
    id: ControllerId,
    controller: &'a Controller,
) -> impl Iterator<Item = (RunId, &'a Run, &'a RunEnd)> {
    let runs = controller.runs.iter().map(|run| (*run, schedule.run(*run)));
    runs.filter(|(_, run)| is_controller_run(run))
        .map(move |(run_id, run)| {
            let here = matches!(&run.from_end, RunEnd::Controller(c) if *c == id);
            let far = if here { &run.to_end } else { &run.from_end };
            (run_id, run, far)
        })
}

fn to_outdoor(schedule: &Schedule, id: ControllerId, controller: &Controller) -> Option<Outcome> {
    let (run_id, run, unit) =
        far_ends(schedule, id, controller).find_map(|(run_id, run, far)| match far {
            RunEnd::Unit(unit) if schedule.unit(*unit).is_outdoor() => Some((run_id, run, *unit)),
            _ => None,
        })?;
    let label = schedule.controller_label(id);
    let outdoor = schedule.unit_label(unit);
    let only_outdoor = controller
        .unit_ids
        .iter()
        .all(|unit| !schedule.unit(*unit).is_indoor());
    // Nothing says that it is a thermostat: it may be central control.
    let asked = only_outdoor && (!run.purpose.is_given() || may_be_central(schedule, controller));
    let says = format!(
        "The controller {label} is wired to the outdoor unit {outdoor} (run {}).",
        schedule.run_label(run_id)
    );
    let (severity, remedy) = if asked {
        let remedy = format!(
            "Say whether {label} is a central controller; a thermostat is wired to the indoor \
             unit that it controls."
        );
        (Severity::Verify, remedy)
    } else {
        let remedy = format!("Wire {label} straight to the indoor unit that it controls.");
        (Severity::Fix, remedy)
    };
    let finding = Finding::new(severity, says, outdoor, remedy)
        .field(FieldName::RunTo)
        .limit("its indoor unit", "a home run");
    Some(Outcome::broken(
        Subject::Controller(id),
        far_cell(run, id),
        finding,
    ))
}

/// The cell of the run's end that is not the controller.
fn far_cell(run: &Run, id: ControllerId) -> CellId {
    let here = matches!(&run.from_end, RunEnd::Controller(c) if *c == id);
    let far = if here { &run.to } else { &run.from };
    far.at().unwrap_or(run.at)
}

fn has_unit_run(schedule: &Schedule, id: ControllerId) -> bool {
    far_ends(schedule, id, schedule.controller(id))
        .any(|(_, _, far)| matches!(far, RunEnd::Unit(_) | RunEnd::Mark(_)))
}

fn through_another(
    schedule: &Schedule,
    id: ControllerId,
    controller: &Controller,
) -> Option<Outcome> {
    let (run_id, run, other) =
        far_ends(schedule, id, controller).find_map(|(run_id, run, far)| {
            let RunEnd::Controller(other) = far else {
                return None;
            };
            if *other == id {
                return None;
            }
            // Of the two, the one without a run of its own to a unit is at
            // fault; else the one that is scheduled later.
            let (mine, theirs) = (has_unit_run(schedule, id), has_unit_run(schedule, *other));
            let at_fault = match (mine, theirs) {
                (false, true) => true,
                (true, false) => false,
                _ => id > *other,
            };
            at_fault.then_some((run_id, run, *other))
        })?;
    let label = schedule.controller_label(id);
    let other_label = schedule.controller_label(other);
    let says = format!(
        "The controller {label} is wired through the controller {other_label} (run {}).",
        schedule.run_label(run_id)
    );
    let grouped = controller.group.is_given() || open(&controller.group);
    let (severity, remedy) = if grouped {
        let remedy = format!(
            "Confirm from the manual that {label} and {other_label} may be wired together in \
             one group."
        );
        (Severity::Verify, remedy)
    } else {
        let remedy = format!("Wire {label} straight to the indoor unit that it controls.");
        (Severity::Fix, remedy)
    };
    let finding = Finding::new(severity, says, other_label, remedy)
        .field(FieldName::RunTo)
        .limit("its indoor unit", "a home run");
    let outcome = Outcome::broken(Subject::Controller(id), far_cell(run, id), finding);
    Some(outcome.related(schedule.controller(other).tag.at))
}

/// A group is named in a cell that cannot be read, or is to be determined.
fn open(group: &Field<Name>) -> bool {
    matches!(group, Field::Unknown(_) | Field::Unreadable(_))
}

/// Units under one tag count as one, whatever mark or dwelling they are of.
fn by_tag(schedule: &Schedule, units: impl IntoIterator<Item = UnitId>) -> BTreeMap<&Name, UnitId> {
    let mut tags = BTreeMap::new();
    for unit in units {
        if !schedule.unit(unit).is_outdoor() {
            tags.entry(&schedule.unit(unit).tag.value).or_insert(unit);
        }
    }
    tags
}

fn several_units(
    schedule: &Schedule,
    practice: &Practice,
    id: ControllerId,
    controller: &Controller,
    group_column: bool,
) -> Option<Outcome> {
    let ends = far_ends(schedule, id, controller).flat_map(|(_, _, far)| match far {
        RunEnd::Unit(unit) => vec![*unit],
        RunEnd::Mark(units) => units.clone(),
        _ => Vec::new(),
    });
    let wired = by_tag(schedule, ends);
    let all = by_tag(schedule, controller.unit_ids.iter().copied());
    if all.len() < 2 || wired.len() < 2 && may_be_central(schedule, controller) {
        return None;
    }
    let most = practice.controller.most_in_group;
    let declared = controller.group.is_given();
    let group_open = open(&controller.group);
    let severity = match (declared, wired.len() > 1) {
        (true, _) if all.len() <= most as usize => Severity::Verify,
        (false, _) if group_open => Severity::Verify,
        (true, _) | (false, true) => Severity::Fix,
        (false, false) if group_column => Severity::Fix,
        (false, false) => Severity::Verify,
    };
    let label = schedule.controller_label(id);
    let names = list(all.values().map(|unit| schedule.unit_label(*unit)), SHOWN);
    let how = if wired.len() > 1 {
        "is wired to"
    } else {
        "controls"
    };
    let units = count(all.len(), "unit", "units");
    let (says, remedy) = match (declared, severity) {
        (true, Severity::Fix) => (
            format!(
                "The controller {label} {how} a group of {units}, above the {most} of one group \
                 (practice profile): {names}."
            ),
            format!("Divide the group of {label}, or show that its manual allows {units}."),
        ),
        (true, _) => (
            format!("The controller {label} {how} a declared group of {units}: {names}."),
            format!("Confirm from the manual that one controller may control these {units}."),
        ),
        (false, Severity::Fix) => (
            format!("The controller {label} {how} {units} and no group is declared: {names}."),
            format!("Give each unit a controller of its own, or declare the group of {label}."),
        ),
        (false, _) => (
            format!("The controller {label} {how} {units}: {names}. No group is declared."),
            format!("Say whether {label} controls a group, or give each unit a controller."),
        ),
    };
    let mut finding = Finding::new(severity, says, counted(all.len(), "unit", "units"), remedy)
        .field(FieldName::ControllerUnits);
    finding = if declared {
        finding
            .limit(counted(most as usize, "unit", "units"), "practice profile")
            .profile("controller.most_in_group")
    } else {
        finding.limit(Value::Count(1, "unit"), "a home run")
    };
    let at = match &controller.units_cell {
        Field::Given(cell) => cell.at,
        _ => controller.tag.at,
    };
    let runs = controller.runs.iter().map(|run| schedule.run(*run).at);
    Some(Outcome::broken(Subject::Controller(id), at, finding).related_all(runs))
}

pub(super) static CONTROLLER_OVER_LENGTH: Rule = Rule {
    name: "controller-over-length",
    family: Family::Controller,
    severities: &[Severity::Fix],
    summary: "a controller's run is longer than allowed",
    why: "Beyond its limit the controller's supply and signal fade.",
    decides: "The length of each controller's run against the practice profile (500 m in one \
              family of equipment, 250 m in others).",
    leaves: "Runs without a length; several runs in a row.",
    cites: &[Cite::Manual, Cite::Practice],
    yields_to: &[],
    check: controller_over_length,
};

fn controller_over_length(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    let limit = practice.controller.farthest;
    each_run(
        schedule,
        FieldName::RunLength,
        is_controller_run,
        |run| &run.length,
        |id, _, &length, at| {
            if !length.exceeds(limit) {
                return Outcome::met(Subject::Run(id), at);
            }
            let label = schedule.run_label(id);
            let over = length - limit;
            let finding = Finding::fix(
                format!(
                    "The controller's run {label} is {length} long, {over} above the {limit} \
                     allowed (practice profile)."
                ),
                length,
                format!("Place the controller of {label} nearer to its unit, by {over} or more."),
            )
            .field(FieldName::RunLength)
            .limit(limit, "practice profile")
            .profile("controller.farthest");
            Outcome::broken(Subject::Run(id), at, finding)
        },
    )
}

pub(super) static CONTROLLER_WIRE: Rule = Rule {
    name: "controller-wire",
    family: Family::Controller,
    severities: &[Severity::Note],
    summary: "controller's wire that is thick, solid or shielded",
    why: "18 AWG stranded fits the small terminals of most controllers; thicker or solid wire \
          pushes the controller off its plate, and a shield has nowhere to end.",
    decides: "Controllers' runs stated as thicker than 18 AWG, as solid, or as shielded.",
    leaves: "A run whose gauge or strands are not told is not called right. Wire is taken to be \
             without a shield unless the schedule says otherwise.",
    cites: &[Cite::Practice],
    yields_to: &[],
    check: controller_wire,
};

fn controller_wire(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let runs: Vec<_> = schedule
        .run_ids()
        .filter(|(_, run)| is_controller_run(run))
        .collect();
    if runs.is_empty() {
        let wants = vec![Want::Fact("runs of that purpose")];
        return vec![Outcome::not_checked(Subject::Job, Place::Job, wants)];
    }
    runs.into_iter()
        .map(|(id, run)| wire(schedule, id, run))
        .collect()
}

fn wire(schedule: &Schedule, id: RunId, run: &Run) -> Outcome {
    let subject = Subject::Run(id);
    let mut faults: Vec<(String, FieldName, CellId)> = Vec::new();
    if let Field::Given(gauge) = &run.gauge
        && gauge.value > Size::Awg(18)
    {
        faults.push((gauge.value.to_string(), FieldName::RunGauge, gauge.at));
    }
    if let Field::Given(stranded) = &run.stranded
        && !stranded.value
    {
        faults.push(("solid".into(), FieldName::RunStranding, stranded.at));
    }
    if let Field::Given(shielded) = &run.shielded
        && shielded.value
    {
        faults.push(("shielded".into(), FieldName::RunShield, shielded.at));
    }
    let Some((_, field, at)) = faults.first().cloned() else {
        let told = [
            (run.gauge.is_given(), FieldName::RunGauge),
            (run.stranded.is_given(), FieldName::RunStranding),
        ];
        let wants: Vec<Want> = told
            .into_iter()
            .filter(|(told, _)| !told)
            .map(|(_, field)| Want::Field(field))
            .collect();
        return match wants.len() {
            0 => Outcome::met(subject, run.at),
            1 => Outcome::not_checked(subject, run.at, wants),
            _ => {
                let place = schedule.anchor(&run.gauge, run.at);
                Outcome::wants(subject, place, FieldName::RunWire)
            }
        };
    };
    let label = schedule.run_label(id);
    let found = list(faults.iter().map(|(text, ..)| text.clone()), SHOWN);
    let finding = Finding::note(
        format!(
            "The controller's run {label} is of wire that is {found}; 18 AWG, stranded and \
             without a shield, fits the small terminals of most controllers."
        ),
        found,
        format!(
            "Use 18 AWG stranded wire without a shield for {label}, if its terminals ask for it."
        ),
    )
    .field(field)
    .limit("18 AWG, stranded, no shield", "common practice");
    Outcome::broken(subject, at, finding).related_all(faults[1..].iter().map(|(_, _, at)| *at))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::testing::{finds, meets, severities};
    use crate::schedule::fixture::{Cells, Fixture};
    use crate::schedule::wire::RunPurpose;
    use crate::schedule::{Feet, UnitKind};
    use Severity::{Fix, Note, Verify};

    fn units(n: usize) -> Fixture {
        let mut fixture = Fixture::new();
        fixture.unit("OU-1", UnitKind::Outdoor, |_, _| {});
        for n in 1..=n {
            fixture.unit(&format!("FC-{n}"), UnitKind::Indoor, |_, _| {});
        }
        fixture
    }

    fn wired(runs: &[(&str, &str)], fill: impl Fn(&mut Run, &mut Cells)) -> Schedule {
        let mut fixture = units(2);
        fixture
            .controller("T-1", &[], |_, _| {})
            .controller("T-2", &[], |_, _| {});
        for (from, to) in runs {
            fixture.run(from, to, |run, cells| fill(run, cells));
        }
        fixture.build()
    }

    #[test]
    fn a_home_run_ends_on_one_indoor_unit() {
        let plain = |runs: &[(&str, &str)]| wired(runs, |_, _| {});
        let rule = &CONTROLLER_NOT_HOME_RUN;
        meets(rule, &plain(&[("T-1", "FC-1"), ("FC-2", "T-2")]));
        finds(rule, &plain(&[("T-1", "FC-1"), ("T-1", "FC-2")]), &[Fix]);
        finds(rule, &plain(&[("T-1", "FC-1"), ("T-2", "T-1")]), &[Fix]);
        // A run of no stated purpose to the outdoor unit may be central.
        finds(rule, &plain(&[("T-1", "OU-1")]), &[Verify]);
        let stated = wired(&[("T-1", "OU-1")], |run, cells| {
            run.purpose = cells.given(RunPurpose::Controller);
        });
        finds(rule, &stated, &[Fix]);
        let central = wired(&[("T-1", "OU-1")], |run, cells| {
            run.purpose = cells.given(RunPurpose::Central);
        });
        meets(rule, &central);
    }

    #[test]
    fn a_group_is_a_question_up_to_the_profiles_size() {
        // 8 units in one group: a public manual; the profile's default.
        let of = |n: usize, fill: &dyn Fn(&mut Controller, &mut Cells)| {
            let mut fixture = units(n);
            let tags: Vec<String> = (1..=n).map(|n| format!("FC-{n}")).collect();
            let tags: Vec<&str> = tags.iter().map(String::as_str).collect();
            fixture.controller("T-1", &tags, |c, cells| fill(c, cells));
            fixture.build()
        };
        let rule = &CONTROLLER_NOT_HOME_RUN;
        let declared = |c: &mut Controller, cells: &mut Cells| c.group = cells.name("G1");
        finds(rule, &of(7, &declared), &[Verify]);
        finds(rule, &of(8, &declared), &[Verify]);
        finds(rule, &of(9, &declared), &[Fix]);
        let mut practice = Practice::default();
        practice.controller.most_in_group = 16;
        assert_eq!(severities(rule, &of(9, &declared), &practice), [Verify]);
        // No column to declare one, and a column left empty.
        finds(rule, &of(2, &|_, _| {}), &[Verify]);
        finds(rule, &of(2, &|c, cells| c.group = cells.blank()), &[Fix]);
        meets(rule, &of(2, &|c, cells| c.wireless = cells.given(true)));
        meets(rule, &of(1, &declared));
    }

    #[test]
    fn central_control_among_the_thermostats_serves_many() {
        let mut fixture = units(3);
        fixture
            .controller("CC-1", &["FC-1", "FC-2", "FC-3"], |c, cells| {
                c.group = cells.blank();
            })
            .controller("T-1", &["FC-1"], |_, _| {});
        meets(&CONTROLLER_NOT_HOME_RUN, &fixture.build());
    }

    #[test]
    fn one_tag_in_many_dwellings_is_one_unit_to_a_controller() {
        let mut fixture = Fixture::new();
        for door in ["101", "102"] {
            fixture.unit("FC-1", UnitKind::Indoor, |u, c| u.dwelling = c.name(door));
        }
        fixture.controller("T-1", &["FC-1"], |_, _| {});
        meets(&CONTROLLER_NOT_HOME_RUN, &fixture.build());
    }

    #[test]
    fn a_controllers_run_has_a_longest_length() {
        // 1,640 ft: common practice, no source.
        let of = |feet| {
            wired(&[("T-1", "FC-1")], move |run, cells| {
                run.length = cells.given(Feet(feet));
            })
        };
        meets(&CONTROLLER_OVER_LENGTH, &of(1639.9));
        meets(&CONTROLLER_OVER_LENGTH, &of(1640.0));
        finds(&CONTROLLER_OVER_LENGTH, &of(1640.1), &[Fix]);
        finds(
            &CONTROLLER_OVER_LENGTH,
            &wired(&[("T-1", "FC-1")], |_, _| {}),
            &[],
        );
        finds(&CONTROLLER_OVER_LENGTH, &units(1).build(), &[]);
    }

    #[test]
    fn each_oddity_of_a_controllers_wire_is_noted() {
        let of = |gauge, stranded, shielded| {
            wired(&[("T-1", "FC-1")], move |run, cells| {
                run.gauge = cells.given(Size::Awg(gauge));
                run.stranded = cells.given(stranded);
                run.shielded = cells.given(shielded);
            })
        };
        meets(&CONTROLLER_WIRE, &of(18, true, false));
        meets(&CONTROLLER_WIRE, &of(20, true, false));
        finds(&CONTROLLER_WIRE, &of(16, true, false), &[Note]);
        finds(&CONTROLLER_WIRE, &of(18, false, false), &[Note]);
        finds(&CONTROLLER_WIRE, &of(18, true, true), &[Note]);
        finds(&CONTROLLER_WIRE, &wired(&[("T-1", "FC-1")], |_, _| {}), &[]);
    }
}
