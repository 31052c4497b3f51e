//! Whether each indoor unit has a controller, and each controller a unit.

use super::{is_controller_run, is_wireless, may_be_central, rooms};
use crate::findings::{Finding, Outcome, Severity, Subject, Want};
use crate::practice::Practice;
use crate::rules::wording::means_all;
use crate::rules::{Cite, Family, Rule};
use crate::schedule::wire::RunPurpose;
use crate::schedule::{
    Controller, ControllerId, Field, FieldName, Name, Place, RunEnd, Schedule, TableKind, UnitId,
    UnitKind,
};
use std::collections::{BTreeMap, BTreeSet};

pub(super) static CONTROLLER_MISSING: Rule = Rule {
    name: "controller-missing",
    family: Family::Controller,
    severities: &[Severity::Fix],
    summary: "an indoor unit that no controller reaches",
    why: "A unit without a thermostat does not run, and its wire is hard to pull once the walls \
          are closed.",
    decides: "An indoor unit or air handler that no controller's row names and no controller's \
              run ends on. A controller that names several units reaches them all, and so does \
              a declared group. Silent where a central controller is scheduled for the \
              dwelling or the building, and while a controller that names an unknown tag, or \
              one without a unit in the unit's own room, may be the missing one.",
    leaves: "Jobs without any controllers; wireless and handheld controllers that name no unit \
             leave their dwelling open.",
    cites: &[Cite::Practice],
    yields_to: &[],
    check: controller_missing,
};

/// What is known of the controllers of one dwelling.
#[derive(Default)]
struct Known {
    central: bool,
    /// A wireless controller that names no unit may serve any.
    wireless: bool,
    /// Names that match no unit.
    unknown: usize,
    /// Rooms that a controller stands in or names in place of a unit, with
    /// the rule that asks about it.
    asked_rooms: BTreeMap<Name, &'static str>,
}

fn controller_missing(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let job = |want| vec![Outcome::not_checked(Subject::Job, Place::Job, vec![want])];
    if schedule.controllers.is_empty() {
        return job(Want::Table(TableKind::Controllers));
    }
    let says_units = |c: &Controller| !c.unit_ids.is_empty() || !c.unknown.is_empty();
    if !schedule.controllers.iter().any(says_units) {
        return job(Want::Field(FieldName::ControllerUnits));
    }
    let known = known(schedule);
    let grouped = grouped(schedule);
    let reached = |id: UnitId| {
        !schedule.unit(id).controllers.is_empty()
            || grouped.contains(&(
                schedule.unit(id).dwelling.get(),
                &schedule.unit(id).tag.value,
            ))
    };
    let mut unreached: BTreeMap<Option<&Name>, usize> = BTreeMap::new();
    for (id, unit) in schedule.audited_units() {
        if unit.is_indoor() && !reached(id) {
            *unreached.entry(unit.dwelling.get()).or_default() += 1;
        }
    }
    let judge = |id: UnitId| {
        let unit = schedule.unit(id);
        let subject = Subject::Unit(id);
        let dwelling = unit.dwelling.get();
        // What holds for the building holds for each dwelling.
        let mut scopes: Vec<&Known> = known.get(&dwelling).into_iter().collect();
        if dwelling.is_some() {
            scopes.extend(known.get(&None));
        }
        let missed = unreached.get(&dwelling).copied().unwrap_or(0);
        if reached(id) || scopes.iter().any(|known| known.central) {
            return Outcome::met(subject, unit.tag.at);
        }
        let want = if scopes.iter().any(|known| known.wireless) {
            Some(Want::Fact("which units the wireless controllers serve"))
        } else if scopes.iter().map(|known| known.unknown).sum::<usize>() >= missed {
            Some(Want::WaitsFor("unknown-tag"))
        } else {
            let own = rooms(&unit.room);
            let asked = |room| scopes.iter().find_map(|known| known.asked_rooms.get(room));
            own.iter().find_map(asked).map(|rule| Want::WaitsFor(rule))
        };
        match want {
            Some(want) => Outcome::not_checked(subject, unit.tag.at, vec![want]),
            None => Outcome::broken(subject, unit.tag.at, missing(schedule, id)),
        }
    };
    schedule
        .audited_units()
        .filter(|(_, unit)| unit.is_indoor())
        .map(|(id, _)| judge(id))
        .collect()
}

fn missing(schedule: &Schedule, id: UnitId) -> Finding {
    let label = schedule.unit_label(id);
    let room = schedule.unit(id).room.get();
    let serves = room.map_or(String::new(), |room| format!(" (serves {room})"));
    Finding::fix(
        format!("No controller reaches {label}{serves}, by its row or by a run."),
        "no controller",
        format!("Schedule a controller for {label}, with a run straight back to it."),
    )
    .limit(
        "one controller",
        "each indoor unit has one, or is in a group",
    )
}

fn known(schedule: &Schedule) -> BTreeMap<Option<&Name>, Known> {
    let mut by_dwelling: BTreeMap<Option<&Name>, Known> = BTreeMap::new();
    for (_, unit) in schedule.audited_units() {
        if unit.kind() == Some(UnitKind::CentralController) {
            by_dwelling.entry(unit.dwelling.get()).or_default().central = true;
        }
    }
    for controller in &schedule.controllers {
        let known = by_dwelling.entry(controller.dwelling.get()).or_default();
        known.unknown += controller.unknown.len();
        known.central |= controller
            .unknown
            .iter()
            .any(|(name, _)| means_all(&name.value))
            || may_be_central(schedule, controller);
        for (name, _) in &controller.unknown {
            known.asked_rooms.insert(name.value.clone(), "unknown-tag");
        }
        if controller.unit_ids.is_empty() && controller.unknown.is_empty() {
            known.wireless |= is_wireless(controller);
            for room in rooms(&controller.room) {
                known.asked_rooms.entry(room).or_insert("controller-idle");
            }
        }
    }
    for run in &schedule.runs {
        let known = by_dwelling.entry(run.dwelling.get()).or_default();
        let ends = [&run.from_end, &run.to_end];
        if run.serves == RunPurpose::Central {
            // To something that is no outdoor unit: central control.
            known.central |= ends.iter().any(|end| match end {
                RunEnd::Unit(unit) => !schedule.unit(*unit).is_outdoor(),
                RunEnd::Controller(_) | RunEnd::UnknownTag { .. } => true,
                RunEnd::Mark(_) | RunEnd::Nothing => false,
            });
        } else if is_controller_run(run) {
            let strangers = ends
                .iter()
                .filter(|end| matches!(end, RunEnd::UnknownTag { .. }));
            known.unknown += strangers.count();
        }
    }
    by_dwelling
}

/// Units that the name of a group itself lists: `FC-1, FC-2`.
fn grouped(schedule: &Schedule) -> BTreeSet<(Option<&Name>, &Name)> {
    let mut named: BTreeSet<(Option<&Name>, Name)> = BTreeSet::new();
    for controller in &schedule.controllers {
        if let Some(group) = controller.group.get() {
            for part in group.text().split([',', '/', '&', '+', ';']) {
                named.insert((controller.dwelling.get(), Name::new(part)));
            }
        }
    }
    schedule
        .audited_units()
        .map(|(_, unit)| (unit.dwelling.get(), &unit.tag.value))
        .filter(|(dwelling, tag)| named.contains(&(*dwelling, (*tag).clone())))
        .collect()
}

pub(super) static CONTROLLER_IDLE: Rule = Rule {
    name: "controller-idle",
    family: Family::Controller,
    severities: &[Severity::Verify],
    summary: "a controller wired to nothing",
    why: "A thermostat that controls no unit is a row that was never finished, or a unit that \
          was taken out.",
    decides: "A controller whose row names no unit and on which no run ends. Wireless ones are \
              left alone.",
    leaves: "Jobs that say nowhere what their controllers control.",
    cites: &[Cite::Schedule],
    yields_to: &[],
    check: controller_idle,
};

fn controller_idle(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    if schedule.controllers.is_empty() {
        let wants = vec![Want::Table(TableKind::Controllers)];
        return vec![Outcome::not_checked(Subject::Job, Place::Job, wants)];
    }
    let wired_at_all = schedule.runs.iter().any(is_controller_run);
    schedule
        .controller_ids()
        .map(|(id, controller)| idle(schedule, id, controller, wired_at_all))
        .collect()
}

fn idle(
    schedule: &Schedule,
    id: ControllerId,
    controller: &Controller,
    wired_at_all: bool,
) -> Outcome {
    let subject = Subject::Controller(id);
    let at = schedule.anchor(&controller.units_cell, controller.tag.at);
    let busy = !controller.unit_ids.is_empty()
        || !controller.unknown.is_empty()
        || is_wireless(controller)
        || controller.group.is_given()
        || controller.units_cell.is_elsewhere()
        || !controller.runs.is_empty();
    let wants = |want| Outcome::not_checked(subject, at, vec![want]);
    match controller.units_cell {
        _ if busy => Outcome::met(subject, at),
        Field::Unknown(_) => wants(Want::Field(FieldName::ControllerUnits)),
        Field::Unreadable(_) => wants(Want::WaitsFor("unreadable-value")),
        Field::Blank(None) if !wired_at_all => wants(Want::Field(FieldName::ControllerUnits)),
        _ => {
            let label = schedule.controller_label(id);
            let finding = Finding::verify(
                format!("The controller {label} names no unit, and no run ends on it."),
                "no unit",
                format!("Say which unit {label} controls, or take it out of the schedule."),
            )
            .field(FieldName::ControllerUnits);
            Outcome::broken(subject, at, finding)
        }
    }
}

pub(super) static CONTROLLER_ELSEWHERE: Rule = Rule {
    name: "controller-elsewhere",
    family: Family::Controller,
    severities: &[Severity::Verify],
    summary: "a controller in a room that another unit serves",
    why: "A thermostat that feels the air of another unit's room never comes to its set point: \
          two crossed thermostats make two rooms wrong.",
    decides: "The controller's room against the rooms that its units serve; where it is none of \
              them and is a room that another indoor unit of the dwelling serves, the question \
              is asked.",
    leaves: "Controllers and units without a room; rooms that no unit serves, a hall above all.",
    cites: &[Cite::Practice],
    yields_to: &[],
    check: controller_elsewhere,
};

fn controller_elsewhere(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let mut served: BTreeMap<(Option<&Name>, Name), UnitId> = BTreeMap::new();
    for (id, unit) in schedule.audited_units().filter(|(_, u)| u.is_indoor()) {
        for room in rooms(&unit.room) {
            served.entry((unit.dwelling.get(), room)).or_insert(id);
        }
    }
    if schedule.controllers.is_empty() {
        let wants = vec![Want::Table(TableKind::Controllers)];
        return vec![Outcome::not_checked(Subject::Job, Place::Job, wants)];
    }
    schedule
        .controller_ids()
        .map(|(id, controller)| elsewhere(schedule, id, controller, &served))
        .collect()
}

fn elsewhere(
    schedule: &Schedule,
    id: ControllerId,
    controller: &Controller,
    served: &BTreeMap<(Option<&Name>, Name), UnitId>,
) -> Outcome {
    let subject = Subject::Controller(id);
    let at = schedule.anchor(&controller.room, controller.tag.at);
    let own_rooms = rooms(&controller.room);
    if own_rooms.is_empty() {
        return Outcome::wants(subject, at, FieldName::ControllerRoom);
    }
    let units: Vec<UnitId> = controller
        .unit_ids
        .iter()
        .copied()
        .filter(|unit| schedule.unit(*unit).is_indoor())
        .collect();
    let (Some(&first), false) = (
        units.first(),
        units.iter().any(|u| !schedule.unit(*u).room.is_given()),
    ) else {
        let field = if units.is_empty() {
            FieldName::ControllerUnits
        } else {
            FieldName::UnitRoom
        };
        return Outcome::wants(subject, at, field);
    };
    let of_units: BTreeSet<Name> = units
        .iter()
        .flat_map(|unit| rooms(&schedule.unit(*unit).room))
        .collect();
    if own_rooms.iter().any(|room| of_units.contains(room)) {
        return Outcome::met(subject, at);
    }
    let dwelling = schedule.unit(first).dwelling.get();
    let other = own_rooms
        .iter()
        .find_map(|room| served.get(&(dwelling, room.clone())));
    let Some(&other) = other else {
        // It may be the room of a unit that does not say which it serves.
        let silent = schedule.audited_units().any(|(_, unit)| {
            unit.is_indoor() && unit.dwelling.get() == dwelling && !unit.room.is_given()
        });
        return if silent {
            Outcome::wants(subject, at, FieldName::UnitRoom)
        } else {
            Outcome::met(subject, at)
        };
    };
    let label = schedule.controller_label(id);
    let text = |field: &Field<String>| field.get().map_or("", String::as_str).to_owned();
    let (room, unit, other_unit) = (
        text(&controller.room),
        schedule.unit_label(first),
        schedule.unit_label(other),
    );
    let own = text(&schedule.unit(first).room);
    let finding = Finding::verify(
        format!(
            "The controller {label} stands in {room}, which {other_unit} serves; its own unit \
             {unit} serves {own}."
        ),
        room.as_str(),
        format!("Confirm that {label} controls {unit} from {room}, or correct its room or unit."),
    )
    .field(FieldName::ControllerRoom)
    .limit(own, format!("the room of {unit}"));
    Outcome::broken(subject, at, finding)
        .related_all(schedule.unit(first).room.at())
        .related_all(schedule.unit(other).room.at())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::Verdict;
    use crate::rules::testing::{finds, meets, outcomes};
    use crate::schedule::fixture::Fixture;
    use Severity::{Fix, Verify};

    fn units(n: usize) -> Fixture {
        let mut fixture = Fixture::new();
        fixture.unit("OU-1", UnitKind::Outdoor, |_, _| {});
        for n in 1..=n {
            fixture.unit(&format!("FC-{n}"), UnitKind::Indoor, |u, cells| {
                u.room = cells.given(format!("Room {n}"));
            });
        }
        fixture
    }

    #[test]
    fn a_unit_is_reached_by_a_row_or_by_a_run() {
        let mut fixture = units(2);
        fixture
            .controller("T-1", &["FC-1"], |_, _| {})
            .controller("T-2", &[], |_, _| {})
            .run("FC-2", "T-2", |_, _| {});
        meets(&CONTROLLER_MISSING, &fixture.build());
        let mut fixture = units(2);
        fixture.controller("T-1", &["FC-1"], |_, _| {});
        finds(&CONTROLLER_MISSING, &fixture.build(), &[Fix]);
    }

    #[test]
    fn a_right_job_gives_no_false_alarm() {
        // A group: one row names all, or the group's name does.
        let mut group = units(3);
        group.controller("T-1", &["FC-1", "FC-2", "FC-3"], |_, _| {});
        meets(&CONTROLLER_MISSING, &group.build());
        let mut named = units(3);
        named.controller("T-1", &["FC-1"], |c, cells| {
            c.group = cells.name("FC-1, FC-2, FC-3");
        });
        meets(&CONTROLLER_MISSING, &named.build());
        // Central control, scheduled as a unit or only by its run.
        let mut central = units(2);
        central
            .unit("CC-1", UnitKind::CentralController, |_, _| {})
            .controller("T-1", &["FC-1"], |_, _| {});
        meets(&CONTROLLER_MISSING, &central.build());
        let mut run = units(2);
        run.controller("T-1", &["FC-1"], |_, _| {})
            .run("OU-1", "BMS", |run, cells| {
                run.purpose = cells.given(RunPurpose::Central);
            });
        meets(&CONTROLLER_MISSING, &run.build());
        // A mark of three units; the same tag in several dwellings.
        let mut mark = Fixture::new();
        mark.unit("FC-1", UnitKind::Indoor, |u, c| u.quantity = c.given(3))
            .controller("T-1", &["FC-1"], |_, _| {});
        meets(&CONTROLLER_MISSING, &mark.build());
        let mut dwellings = Fixture::new();
        for door in ["101", "102"] {
            dwellings.unit("FC-1", UnitKind::Indoor, |u, c| u.dwelling = c.name(door));
        }
        dwellings.controller("T-1", &["FC-1"], |_, _| {});
        meets(&CONTROLLER_MISSING, &dwellings.build());
        // No controllers, no column of units, a handheld one without a unit,
        // a tag that matches none, a controller of the same room.
        finds(&CONTROLLER_MISSING, &units(2).build(), &[]);
        let mut rooms_only = units(2);
        rooms_only.controller("T-1", &[], |c, _| c.units_cell = Field::default());
        finds(&CONTROLLER_MISSING, &rooms_only.build(), &[]);
        let mut handheld = units(2);
        handheld
            .controller("T-1", &["FC-1"], |_, _| {})
            .controller("RC-1", &[], |c, cells| c.wireless = cells.given(true));
        finds(&CONTROLLER_MISSING, &handheld.build(), &[]);
        let mut unknown = units(2);
        unknown
            .controller("T-1", &["FC-1"], |_, _| {})
            .controller("T-2", &["FC-22"], |_, _| {});
        finds(&CONTROLLER_MISSING, &unknown.build(), &[]);
        // Central control among the thermostats; rooms in place of tags.
        let mut among = units(3);
        among
            .controller("T-1", &["FC-1"], |_, _| {})
            .controller("CC-1", &["ALL"], |_, _| {});
        meets(&CONTROLLER_MISSING, &among.build());
        let mut by_room = units(3);
        by_room
            .controller("T-1", &["FC-1"], |_, _| {})
            .controller("T-2", &["ROOM 2"], |_, _| {});
        finds(&CONTROLLER_MISSING, &by_room.build(), &[Fix]);
        let mut room = units(2);
        room.controller("T-1", &["FC-1"], |_, _| {})
            .controller("T-2", &[], |c, cells| {
                c.room = cells.given("ROOM 2".to_owned());
            });
        let schedule = room.build();
        finds(&CONTROLLER_MISSING, &schedule, &[]);
        finds(&CONTROLLER_IDLE, &schedule, &[Verify]);
    }

    #[test]
    fn an_idle_controller_is_asked_about() {
        let of = |fill: &dyn Fn(&mut Controller, &mut crate::schedule::fixture::Cells)| {
            let mut fixture = units(1);
            fixture
                .controller("T-1", &["FC-1"], |_, _| {})
                .controller("T-2", &[], |c, cells| fill(c, cells));
            fixture.build()
        };
        finds(&CONTROLLER_IDLE, &of(&|_, _| {}), &[Verify]);
        meets(
            &CONTROLLER_IDLE,
            &of(&|c, cells| c.wireless = cells.given(true)),
        );
        meets(
            &CONTROLLER_IDLE,
            &of(&|c, cells| c.units_cell = Field::Elsewhere(cells.cell())),
        );
        let asked = of(&|c, cells| c.units_cell = Field::Unknown(cells.cell()));
        let found = outcomes(&CONTROLLER_IDLE, &asked);
        assert!(matches!(found[1].verdict, Verdict::NotChecked { .. }));
        finds(
            &CONTROLLER_IDLE,
            &of(&|c, _| c.units_cell = Field::default()),
            &[],
        );
    }

    #[test]
    fn a_controller_in_another_units_room_is_asked_about() {
        let of = |room: &str| {
            let mut fixture = units(2);
            fixture.controller("T-1", &["FC-1"], |c, cells| {
                c.room = cells.given(room.to_owned());
            });
            fixture.build()
        };
        meets(&CONTROLLER_ELSEWHERE, &of("ROOM 1"));
        meets(&CONTROLLER_ELSEWHERE, &of("Hall / Room 1"));
        meets(&CONTROLLER_ELSEWHERE, &of("Hall"));
        finds(&CONTROLLER_ELSEWHERE, &of("Room 2"), &[Verify]);
        let mut no_room = Fixture::new();
        no_room
            .unit("FC-1", UnitKind::Indoor, |_, _| {})
            .controller("T-1", &["FC-1"], |c, cells| {
                c.room = cells.given("Hall".to_owned());
            });
        finds(&CONTROLLER_ELSEWHERE, &no_room.build(), &[]);
    }
}
