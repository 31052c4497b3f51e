//! From text to a schedule through recognition, in the layouts that jobs
//! come in. All jobs are invented.

use super::grid::{a1, schedule_of};
use crate::intake::assemble::{Hints, ReadFile, draft};
use crate::intake::book::{Book, Limits};
use crate::intake::job::{Claims, JobPer, group};
use crate::intake::recognise::tables;
use crate::intake::schema::Schemas;
use crate::schedule::wire::RunPurpose;
use crate::schedule::*;

fn read(path: &str, text: &str) -> ReadFile {
    let bytes = text.as_bytes().to_vec();
    let book = Book::from_bytes(path, bytes, &Limits::default()).expect("a text");
    let tables = tables(&book, Schemas::embedded());
    ReadFile::new(path.to_owned(), text.len() as u64, book, tables)
}

#[test]
fn a_folder_of_text_files() {
    let files = [
        read(
            "Elm Court/equipment.csv",
            "Tag,Type,MCA,MOCP,V/PH/HZ,Room\n\
             OU-1,Outdoor unit,31.4,50,208/230-1-60,Roof\n\
             FC-1,Ceiling cassette,1.4,15,208/230-1-60,Den\n\
             FC-2,Wall mounted,0.9,15,208/230-1-60,Bedroom\n",
        ),
        read(
            "Elm Court/circuits.csv",
            "Panel,Ckt,Breaker,Wire Size,Length (ft),Load Served\n\
             LP,\"1,3\",50A/2P,8/2 w/G NM-B,60,OU-1\n\
             LP,\"5,7\",15A/2P,14/2 w/G NM-B,40,\"FC-1, FC-2\"\n\
             LP,9,20A/1P,12/2 w/G NM-B,30,RANGE HOOD\n",
        ),
        read(
            "Elm Court/wire runs.csv",
            "From,To,Wire,Length (ft)\nOU-1,FC-1,18/2 STR SHLD,40\nFC-1,FC-2,18/2 STR SHLD,25\n",
        ),
        read(
            "Elm Court/thermostats.csv",
            "Thermostat,Room,Units\nT-1,Den,FC-1\nT-2,Bedroom,FC-2\n",
        ),
    ];
    let grouping = group(files.iter().map(Claims::of), JobPer::Facts);
    assert_eq!(grouping.jobs.len(), 1, "{grouping:?}");
    let job = &grouping.jobs[0];
    let parts: Vec<_> = job
        .files
        .iter()
        .map(|(f, c)| (&files[*f], c.clone()))
        .collect();
    let schedule = draft(&parts, Hints { stem: &job.stem }).build();
    assert_eq!(schedule.title, "Elm Court");
    assert_eq!(
        (
            schedule.units.len(),
            schedule.circuits.len(),
            schedule.runs.len(),
            schedule.controllers.len()
        ),
        (3, 3, 2, 2)
    );
    assert!(schedule.units.iter().all(|unit| unit.circuits.len() == 1));
    assert!(
        schedule
            .units
            .iter()
            .all(|unit| unit.mca.is_given() && unit.mop.is_given())
    );
    assert!(
        schedule
            .runs
            .iter()
            .all(|run| run.serves == RunPurpose::Bus)
    );
    assert_eq!(schedule.controllers[1].unit_ids, [UnitId(2)]);
    assert!(schedule.faults.is_empty(), "{:?}", schedule.faults);
}

#[test]
fn a_wide_table_with_a_job_column() {
    let file = read(
        "season.csv",
        "Job No.,Job Name,Tag,Type,MCA,MOP,Panel,Ckt,Breaker,Bus From,Bus Wire,Bus Length (ft),Thermostat\n\
         B-101,Elm Court,OU-1,outdoor,31.4,50,LP,\"1,3\",50A/2P,,,,\n\
         B-101,Elm Court,FC-1,cassette,1.4,15,LP,\"5,7\",15A/2P,OU-1,18/2 STR SHLD,40,T-1\n\
         B-101,Elm Court,FC-2,cassette,1.4,15,LP,\"5,7\",15A/2P,FC-1,18/2 STR SHLD,25,T-2\n\
         B-102,Oak House,OU-1,outdoor,28.0,40,MP,\"2,4\",40A/2P,,,,\n\
         B-102,Oak House,FC-1,wall mounted,0.9,15,MP,\"6,8\",15A/2P,OU-1,18/2 STR SHLD,45,T-1\n",
    );
    let files = [file];
    let grouping = group(files.iter().map(Claims::of), JobPer::Facts);
    let keys: Vec<_> = grouping
        .jobs
        .iter()
        .map(|job| {
            let parts: Vec<_> = job
                .files
                .iter()
                .map(|(f, c)| (&files[*f], c.clone()))
                .collect();
            let schedule = draft(&parts, Hints { stem: &job.stem }).build();
            assert!(schedule.faults.is_empty(), "{:?}", schedule.faults);
            let runs = schedule
                .runs
                .iter()
                .filter(|run| run.serves == RunPurpose::Bus)
                .count();
            (
                schedule.key,
                schedule.units.len(),
                schedule.circuits.len(),
                runs,
                schedule.controllers.len(),
            )
        })
        .collect();
    assert_eq!(
        keys,
        [
            ("B-101".to_owned(), 3, 2, 2, 2),
            ("B-102".to_owned(), 2, 2, 1, 1)
        ]
    );
}

#[test]
fn a_panel_schedule_under_its_form() {
    let file = read(
        "panel.csv",
        "PANEL SCHEDULE,,,,\nPanel Name:,LP,,,\nVoltage:,120/240V 1PH 3W,,,\n\n\
         CKT,Breaker,Poles,Wire,Description\n1,50,2,8/2 NM-B,OU-1\n3,,,,\n5,15,2,14/2 NM-B,FC-1\n7,,,,\n\
         9,20,1,12/2 NM-B,LIGHTING\n11,,,,SPARE\n",
    );
    let schedule = schedule_of(&[file]);
    let labels: Vec<_> = schedule
        .circuit_ids()
        .map(|(id, _)| schedule.circuit_label(id))
        .collect();
    assert_eq!(labels, ["LP-1", "LP-5", "LP-9", "LP-11"]);
    assert_eq!(schedule.panels.len(), 1);
    assert_eq!(
        schedule.panels[0]
            .supply
            .get()
            .map(|supply| supply.line_to_line),
        Some(Volts(240.0))
    );
}

#[test]
fn a_titled_workbook_with_bands_and_merged_cells() {
    let mut workbook = rust_xlsxwriter::Workbook::new();
    let centred = rust_xlsxwriter::Format::new();
    let sheet = workbook.add_worksheet();
    sheet
        .merge_range(0, 0, 0, 7, "EQUIPMENT SCHEDULE", &centred)
        .expect("written");
    sheet.write(1, 0, "Job No.").expect("written");
    sheet.write(1, 1, "C-7").expect("written");
    sheet.write(3, 0, "MARK").expect("written");
    sheet.write(3, 1, "TYPE").expect("written");
    sheet.write(3, 2, "SYSTEM").expect("written");
    sheet
        .merge_range(3, 3, 3, 5, "ELECTRICAL", &centred)
        .expect("written");
    sheet
        .merge_range(3, 6, 3, 7, "CIRCUIT", &centred)
        .expect("written");
    for (column, heading) in [
        (3, "V/PH/HZ"),
        (4, "MCA"),
        (5, "MOCP"),
        (6, "PANEL"),
        (7, "CKT"),
    ] {
        sheet.write(4, column, heading).expect("written");
    }
    let rows = [
        ("OU-1", "Outdoor", 31.4, 50, "2,4"),
        ("FC-1", "Cassette", 1.4, 15, "6,8"),
        ("FC-2", "Wall", 0.9, 15, "6,8"),
    ];
    for (row, (tag, kind, mca, mop, slots)) in (5..).zip(rows) {
        sheet.write(row, 0, tag).expect("written");
        sheet.write(row, 1, kind).expect("written");
        sheet.write(row, 3, "208/230-1-60").expect("written");
        sheet.write(row, 4, mca).expect("written");
        sheet.write(row, 5, mop).expect("written");
        sheet.write(row, 6, "MDP").expect("written");
        sheet.write(row, 7, slots).expect("written");
    }
    sheet
        .merge_range(5, 2, 7, 2, "S-1", &centred)
        .expect("written");
    let bytes = workbook.save_to_buffer().expect("a workbook");
    let book = Book::from_bytes("c.xlsx", bytes, &Limits::default()).expect("a workbook");
    let tables = tables(&book, Schemas::embedded());
    let file = ReadFile::new("Pine Row rev 2.xlsx".to_owned(), 0, book, tables);
    let schedule = schedule_of(&[file]);
    assert_eq!(schedule.key, "C-7");
    let units: Vec<_> = schedule
        .units
        .iter()
        .map(|unit| {
            let mca = unit.mca.at().expect("a cell");
            let system = unit.system.get().map(Name::text);
            (
                unit.tag.value.text(),
                system,
                a1(&schedule.sources, mca),
                unit.circuits.len(),
            )
        })
        .collect();
    assert_eq!(
        units,
        [
            ("OU-1", Some("S-1"), "E6".to_owned(), 1),
            ("FC-1", Some("S-1"), "E7".to_owned(), 1),
            ("FC-2", Some("S-1"), "E8".to_owned(), 1),
        ]
    );
    assert_eq!(schedule.circuits.len(), 2);
    assert_eq!(schedule.circuits[1].units(), [UnitId(1), UnitId(2)]);
    assert!(schedule.faults.is_empty(), "{:?}", schedule.faults);
}

#[test]
fn a_two_sided_panel_schedule_with_label_and_value_in_one_cell() {
    let file = read(
        "panel.csv",
        "PANEL: LP,,,,,,,\nVolts:,208Y/120V 3PH 4W,,,,,,\n\n\
         Description,Trip,Poles,CKT,CKT,Poles,Trip,Description\n\
         OU-1,50,2,1,2,2,15,FC-1\n,,,3,4,,,\nLTG,20,1,5,6,1,20,REC\nSPARE,20,1,7,8,,,\n",
    );
    let schedule = schedule_of(&[file]);
    let labels: Vec<_> = schedule
        .circuit_ids()
        .map(|(id, _)| schedule.circuit_label(id))
        .collect();
    assert_eq!(labels, ["LP-1", "LP-5", "LP-7", "LP-2", "LP-6"]);
    assert_eq!(schedule.panels.len(), 1);
    assert_eq!(
        schedule.panels[0]
            .supply
            .get()
            .and_then(|supply| supply.phases),
        Some(3)
    );
    assert!(
        schedule
            .circuits
            .iter()
            .all(|c| c.panel_id == Some(PanelId(0)))
    );
}
