//! The layouts that jobs come in.

use super::grid::{Grid, a1, draft_of, schedule_of};
use crate::intake::assemble::{Hints, RowChoice, draft, rows_by_job};
use crate::schedule::wire::RunPurpose;
use crate::schedule::*;
use TableKind::{Circuits, Controllers, Equipment, JobFacts as Facts, WireRuns};

fn season() -> Grid {
    Grid::new(
        "season.csv",
        &[Equipment, Circuits, WireRuns, Controllers],
        "job.number,job.name,unit.tag,unit.kind,unit.mca,circuit.panel_slots,circuit.breaker,\
         run.from,run.length ft,run.wire,controller.tag,controller.length ft",
        "Job No,Job,Tag,Type,MCA,Circuit,Bkr,Bus From,Bus LF,Bus Wire,T-stat,Stat LF\n\
         101,Elm Court,OU-1,outdoor,31.4,\"LP-1,3\",50/2,,,18/2 STR SH,,\n\
         101,Elm Court,FC-1,cassette,1.4,\"LP-5,7\",15/2,OU-1,60,18/2 STR SH,T-1,30\n\
         ,,FC-2,cassette,1.4,\"LP-5,7\",15/2,FC-1,25,18/2 STR SH,T-2,35\n\
         102,Oak House,OU-1,outdoor,28,\"MP-2,4\",40/2,-,-,18/2 STR SH,,\n\
         102,Oak House,FC-1,wall,0.9,\"MP-6,8\",15/2,OU-1,45,18/2 STR SH,T-1,20\n",
    )
}

#[test]
fn a_season_table_splits_into_its_jobs() {
    let file = season().read();
    let rows = rows_by_job(&file);
    assert_eq!(rows.len(), 1);
    let keys: Vec<_> = rows[0].jobs.iter().map(|job| job.key()).collect();
    assert_eq!(keys, ["101", "102"]);
    assert_eq!(
        rows[0].of_row,
        [Some(0), Some(0), Some(0), Some(1), Some(1)]
    );
    let mut by_job = rows[0].rows_by_job(&file.tables[0].rows);
    let second = by_job.pop().expect("two jobs");
    let first = by_job.pop().expect("two jobs");
    let choice = |rows| [(&file, RowChoice::Rows(vec![(0, rows)]))];

    let schedule = draft(&choice(first), Hints { stem: "season" }).build();
    assert_eq!(
        (schedule.key.as_str(), schedule.title.as_str()),
        ("101", "Elm Court")
    );
    assert_eq!(schedule.units.len(), 3);
    assert_eq!(schedule.circuits.len(), 2);
    assert_eq!(schedule.circuits[1].units(), [UnitId(1), UnitId(2)]);
    let runs: Vec<_> = schedule
        .run_ids()
        .map(|(id, run)| (schedule.run_label(id), run.serves, run.length.copied()))
        .collect();
    assert_eq!(
        runs,
        [
            ("OU-1 to FC-1".to_owned(), RunPurpose::Bus, Some(Feet(60.0))),
            (
                "T-1 to FC-1".to_owned(),
                RunPurpose::Controller,
                Some(Feet(30.0))
            ),
            ("FC-1 to FC-2".to_owned(), RunPurpose::Bus, Some(Feet(25.0))),
            (
                "T-2 to FC-2".to_owned(),
                RunPurpose::Controller,
                Some(Feet(35.0))
            ),
        ]
    );
    assert_eq!(schedule.runs[0].shielded.copied(), Some(true));
    assert_eq!(schedule.controllers.len(), 2);
    assert_eq!(schedule.controllers[1].unit_ids, [UnitId(2)]);
    assert_eq!(schedule.systems.len(), 1);
    assert!(schedule.faults.is_empty(), "{:?}", schedule.faults);

    let schedule = draft(&choice(second), Hints { stem: "season" }).build();
    assert_eq!(schedule.key, "102");
    assert_eq!(schedule.units.len(), 2);
    assert_eq!(a1(&schedule.sources, schedule.units[1].tag.at), "C6");
    assert_eq!(schedule.runs.len(), 2);
}

#[test]
fn a_folder_of_tables_is_one_schedule() {
    let facts = Grid::new(
        "job.csv",
        &[Facts],
        "-,-",
        "Item,Value\nJob No,B-17\nJob,Elm Court\nCustomer,multifamily\nPanel volts,208Y/120\nDate,2026-04-02\n",
    )
    .form(FieldName::JobNumber, 1)
    .form(FieldName::JobName, 2)
    .form(FieldName::JobCustomer, 3)
    .form(FieldName::JobSupply, 4)
    .form(FieldName::JobDate, 5);
    let equipment = Grid::new(
        "equipment.csv",
        &[Equipment],
        "unit.tag,unit.dwelling,unit.description,unit.room",
        "Tag,Unit,Description,Room\nOU-1,12C,Outdoor unit,Roof\nFC-1,12C,Ducted fan coil,Den\n\
         FC-1,12D,Ducted fan coil,Den\n",
    );
    let runs = Grid::new(
        "runs.csv",
        &[WireRuns],
        "run.from,run.to,run.dwelling,run.wire,run.length ft,run.splices",
        "From,To,Unit,Wire,LF,Splices\nOU-1,FC-1,12C,18/2 STR UNSH,40,0\n,,12C,18/2,9,\n",
    );
    let controllers = Grid::new(
        "controllers.csv",
        &[Controllers],
        "controller.tag,controller.dwelling,controller.room,controller.units,controller.wire,controller.length ft",
        "Tag,Unit,Room,Units,Wire,LF\nT-1,12C,Den,FC-1,18/2 STR UNSH,30\nT-1,12D,Den,FC-1,,\n",
    );
    let schedule = schedule_of(&[
        facts.read(),
        equipment.read(),
        runs.read(),
        controllers.read(),
    ]);
    assert_eq!(schedule.key, "B-17");
    assert_eq!(schedule.title, "Elm Court");
    assert_eq!(
        schedule.facts.customer.copied(),
        Some(CustomerType::Multifamily)
    );
    assert_eq!(
        schedule.facts.supply.copied().map(|s| s.line_to_line),
        Some(Volts(208.0))
    );
    assert_eq!(
        schedule.facts.date.copied().map(|date| date.to_string()),
        Some("2026-04-02".to_owned())
    );
    assert_eq!(
        a1(
            &schedule.sources,
            schedule.facts.number.at().expect("a cell")
        ),
        "B2"
    );
    assert_eq!(schedule.units.len(), 3);
    assert_eq!(schedule.units[0].kind(), Some(UnitKind::Outdoor));
    let told = schedule.units[0].kind.at().expect("a cell");
    assert_eq!(schedule.sources.heading(told), "Description");
    let runs: Vec<_> = schedule
        .run_ids()
        .map(|(id, _)| schedule.run_label(id))
        .collect();
    assert_eq!(runs, ["12C OU-1 to FC-1", "12C T-1 to FC-1"]);
    assert_eq!(schedule.controllers.len(), 2);
    assert_eq!(schedule.controllers[1].unit_ids, [UnitId(2)]);
    let runs_table = &schedule.sources.tables[2];
    assert_eq!(
        (runs_table.rows_taken, runs_table.rows_left_out.len()),
        (1, 1)
    );
}

#[test]
fn a_wide_table_of_one_job_says_nothing_of_the_first_units_bus() {
    let draft = draft_of(&[season().read()]);
    assert_eq!(draft.runs.len(), 6, "no run arrives at an outdoor unit");
    assert!(draft.circuits.iter().all(|circuit| !circuit.unnamed));
    assert_eq!(draft.sources.tables[0].rows_taken, 5);
}

#[test]
fn a_range_of_units_with_one_run_is_asked_about() {
    let file = Grid::new(
        "e.csv",
        &[Equipment, WireRuns],
        "unit.tag,run.from,run.length ft",
        "Tag,Bus From,LF\nFC-1 thru FC-3,OU-1,40\n",
    );
    let schedule = schedule_of(&[file.read()]);
    assert_eq!((schedule.units.len(), schedule.runs.len()), (3, 0));
    let [Fault::Other { at, .. }] = schedule.faults.as_slice() else {
        panic!("{:?}", schedule.faults);
    };
    assert_eq!(a1(&schedule.sources, *at), "B2");
}

#[test]
fn a_word_for_a_controller_groups_no_units() {
    let file = Grid::new(
        "e.csv",
        &[Equipment, Controllers],
        "unit.tag,controller.tag",
        "Tag,T-stat\nFC-1,wired\nFC-2,wireless remote\nFC-3,Y\nFC-4,N\nFC-5,T-5\nFC-6,T-5\n",
    );
    let schedule = schedule_of(&[file.read()]);
    let controllers: Vec<_> = schedule
        .controllers
        .iter()
        .map(|c| (c.tag.value.text(), c.unit_ids.len(), c.wireless.copied()))
        .collect();
    assert_eq!(
        controllers,
        [
            ("controller of FC-1", 1, Some(false)),
            ("controller of FC-2", 1, Some(true)),
            ("controller of FC-3", 1, None),
            ("T-5", 2, None),
        ]
    );
}

#[test]
fn side_by_side_tables_tell_the_faults_of_their_form_once() {
    let left = Grid::new(
        "LP.csv",
        &[Circuits],
        "circuit.slots,circuit.breaker,circuit.loads",
        "Panel:,LP,,\nVolts:,lots,,\nCKT,TRIP,LOAD\n1,20,LTG\n",
    )
    .header(2)
    .form(FieldName::PanelName, 0)
    .form(FieldName::PanelSupply, 1)
    .read();
    let mut both = left;
    both.tables.push(both.tables[0].clone());
    let schedule = schedule_of(&[both]);
    assert_eq!(schedule.panels.len(), 1);
    let faults: Vec<_> = schedule
        .faults
        .iter()
        .filter(|fault| {
            matches!(
                fault,
                Fault::Unreadable {
                    field: FieldName::PanelSupply,
                    ..
                }
            )
        })
        .collect();
    assert_eq!(faults.len(), 1);
}

#[test]
fn an_existing_unit_is_there_under_its_tag_and_not_audited() {
    let units = Grid::new(
        "e.csv",
        &[Equipment],
        "unit.tag,unit.kind",
        "Tag,Type\n(E) FC-1,cassette\n(N) FC-2,cassette\nFC-3 (E),cassette\n(2) FC-4,cassette\n",
    );
    let schedule = schedule_of(&[units.read()]);
    let told: Vec<_> = schedule
        .units
        .iter()
        .map(|unit| (unit.tag.value.text(), unit.kind()))
        .collect();
    assert_eq!(
        told,
        [
            ("FC-1", Some(UnitKind::Other)),
            ("FC-2", Some(UnitKind::Indoor)),
            ("FC-3", Some(UnitKind::Other)),
            ("FC-4", Some(UnitKind::Indoor)),
            ("FC-4", Some(UnitKind::Indoor)),
        ]
    );
    assert_eq!(schedule.unit_label(UnitId(4)), "FC-4 (2 of 2)");
}

#[test]
fn a_pull_with_a_row_of_its_own_is_told_once() {
    let units = Grid::new(
        "e.csv",
        &[Equipment, WireRuns, Controllers],
        "unit.tag,run.from,run.length ft,controller.tag,controller.length ft",
        "Tag,Bus From,LF,T-stat,Stat LF\nOU-1,,,,\nFC-1,OU-1,40,T-1,30\nFC-2,FC-1,25,T-2,35\n",
    );
    let runs = Grid::new(
        "r.csv",
        &[WireRuns],
        "run.from,run.to,run.length ft",
        "From,To,LF\nFC-1,OU-1,\nFC-1,T-1,31\n",
    );
    let schedule = schedule_of(&[units.read(), runs.read()]);
    let told: Vec<_> = schedule
        .run_ids()
        .map(|(id, run)| (schedule.run_label(id), run.length.copied(), run.serves))
        .collect();
    assert_eq!(
        told,
        [
            ("FC-1 to OU-1".to_owned(), Some(Feet(40.0)), RunPurpose::Bus),
            (
                "FC-1 to T-1".to_owned(),
                Some(Feet(31.0)),
                RunPurpose::Controller
            ),
            ("FC-1 to FC-2".to_owned(), Some(Feet(25.0)), RunPurpose::Bus),
            (
                "T-2 to FC-2".to_owned(),
                Some(Feet(35.0)),
                RunPurpose::Controller
            ),
        ]
    );
}

#[test]
fn a_mechanical_and_an_electrical_schedule_of_one_unit_agree() {
    let mechanical = Grid::new(
        "m.csv",
        &[Equipment],
        "unit.tag,unit.kind",
        "Tag,Type\nFC-1,ducted air handler\nOU-1,outdoor\n",
    );
    let electrical = Grid::new(
        "e.csv",
        &[Equipment],
        "unit.tag,unit.mca,unit.supply",
        "Tag,MCA,Volts\nFC-1,1.4,208/230-1-60\nOU-1,31.4,208/230-1-60\n",
    );
    for files in [
        [mechanical.clone().read(), electrical.clone().read()],
        [electrical.read(), mechanical.read()],
    ] {
        let schedule = schedule_of(&files);
        assert_eq!(schedule.units.len(), 2);
        let unit = &schedule.units[0];
        assert_eq!(unit.kind(), Some(UnitKind::AirHandler));
        assert!(unit.mca.is_given());
        assert!(schedule.faults.is_empty(), "{:?}", schedule.faults);
    }
}
