//! What one cell becomes: values, dittos, merges, dates, faults.

use super::grid::{Grid, a1, schedule_of};
use crate::schedule::*;
use TableKind::{Circuits, Equipment, WireRuns};

#[test]
fn a_value_keeps_its_cell_and_its_text() {
    let file = Grid::new(
        "equipment.csv",
        &[Equipment],
        "unit.tag,unit.kind,unit.mca,unit.mop,unit.volts,unit.phase",
        "Tag,Type,MCA,MOP,Volts,PH\n\
         OU-1,Outdoor,31.4,50,208/230,1\n\
         FC-1,Cassette,1.4,15,208/230,1\n",
    );
    let schedule = schedule_of(&[file.read()]);
    assert_eq!(schedule.units.len(), 2);
    let outdoor = &schedule.units[0];
    assert_eq!(outdoor.kind(), Some(UnitKind::Outdoor));
    assert_eq!(outdoor.mca.copied(), Some(NameplateAmps::One(Amps(31.4))));
    let mca = outdoor.mca.at().expect("a cell");
    assert_eq!(a1(&schedule.sources, mca), "C2");
    assert_eq!(schedule.sources.text(mca), "31.4");
    assert_eq!(schedule.sources.heading(mca), "MCA");
    let supply = outdoor.supply.get().expect("a supply");
    assert_eq!(supply.volts, [208, 230]);
    assert_eq!(supply.phases, Some(1));
    assert_eq!(schedule.faults, []);
    assert_eq!(schedule.sources.tables[0].rows_taken, 2);
    assert_eq!(
        (schedule.key.as_str(), schedule.title.as_str()),
        ("ELM-COURT", "Elm Court")
    );
}

#[test]
fn words_for_nothing_are_told_apart() {
    let file = Grid::new(
        "equipment.csv",
        &[Equipment],
        "unit.tag,unit.mca,unit.mop",
        "Tag,MCA,MOP\nFC-1,-,TBD\nFC-2,NIC,15\nFC-3,lots,SAME\nFC-4,,\"\"\"\"\n",
    );
    let schedule = schedule_of(&[file.read()]);
    let [first, second, third, fourth] = schedule.units.as_slice() else {
        panic!("four units");
    };
    assert!(matches!(first.mca, Field::Blank(Some(_))));
    assert!(matches!(first.mop, Field::Unknown(_)));
    assert!(second.mca.is_elsewhere());
    assert!(matches!(third.mca, Field::Unreadable(_)));
    assert!(matches!(fourth.mca, Field::Blank(Some(_))));
    for (unit, cell) in [(third, "C4"), (fourth, "C5")] {
        let Field::Given(mop) = &unit.mop else {
            panic!("a ditto has the value above");
        };
        assert_eq!(mop.value.amps, NameplateAmps::One(Amps(15.0)));
        assert_eq!(a1(&schedule.sources, mop.at), cell);
    }
    let [
        Fault::Unreadable {
            at,
            field,
            expected,
            ..
        },
    ] = schedule.faults.as_slice()
    else {
        panic!("one fault: {:?}", schedule.faults);
    };
    assert_eq!(
        (a1(&schedule.sources, *at).as_str(), *field),
        ("B4", FieldName::UnitMca)
    );
    assert!(!expected.is_empty());
}

#[test]
fn a_merge_gives_each_row_its_value_and_a_blank_does_not() {
    let text = "Tag,System,MCA,Room\nFC-1,S1,1.4,Den\nFC-2,,1.4,\nFC-3,,1.4,\n";
    let fields = "unit.tag,unit.system,unit.mca,unit.room";
    let merged = Grid::new("e.csv", &[Equipment], fields, text).merged((1, 1), (3, 1));
    let schedule = schedule_of(&[merged.read()]);
    for (unit, cell) in schedule.units.iter().zip(["B2", "B3", "B4"]) {
        let system = unit.system.get().expect("a system");
        assert_eq!(system.text(), "S1");
        assert_eq!(
            a1(&schedule.sources, unit.system.at().expect("a cell")),
            cell
        );
    }
    assert!(matches!(schedule.units[1].room, Field::Blank(Some(_))));
    let plain = Grid::new("e.csv", &[Equipment], fields, text);
    let schedule = schedule_of(&[plain.read()]);
    assert!(schedule.units[1].system.is_blank());
}

#[test]
fn a_merged_tag_is_one_unit_on_two_rows() {
    let fields = "unit.tag,unit.mca,circuit.panel,circuit.slots,circuit.breaker";
    let rows = |second: &str| {
        let text =
            format!("Tag,MCA,Panel,Ckt,Bkr\nAH-1,8,LP,\"1,3\",15/2\n{second},,LP,\"5,7\",30/2\n");
        Grid::new("e.csv", &[Equipment, Circuits], fields, &text)
    };
    for file in [rows("").merged((1, 0), (2, 0)), rows("SAME")] {
        let schedule = schedule_of(&[file.read()]);
        assert_eq!(schedule.units.len(), 1);
        assert_eq!(schedule.circuits.len(), 2);
        assert_eq!(schedule.units[0].circuits.len(), 2);
        assert!(schedule.faults.is_empty(), "{:?}", schedule.faults);
    }
}

#[test]
fn a_date_is_a_wire_where_one_reading_is_left_and_never_silently() {
    let file = Grid::new(
        "c.csv",
        &[Circuits],
        "circuit.panel,circuit.slots,circuit.breaker,circuit.conductor,circuit.length ft,circuit.loads",
        "Panel,Ckt,Bkr,Wire,LF,Load\nLP,\"1,3\",30/2,2-Oct,2-Oct,FC-1\n",
    );
    let schedule = schedule_of(&[file.read()]);
    let circuit = &schedule.circuits[0];
    assert_eq!(
        circuit.conductor.get().and_then(|wire| wire.size),
        Some(wire::Size::Awg(10))
    );
    assert!(matches!(circuit.length, Field::Unreadable(_)));
    let [wire, length] = schedule.faults.as_slice() else {
        panic!("two faults: {:?}", schedule.faults);
    };
    assert!(matches!(
        length,
        Fault::Unreadable {
            field: FieldName::CircuitLength,
            ..
        }
    ));
    let Fault::DateForWire {
        at,
        shown,
        readings,
        taken,
        ..
    } = wire
    else {
        panic!("{wire:?}");
    };
    assert_eq!(a1(&schedule.sources, *at), "D2");
    assert_eq!(shown, "2-Oct");
    assert!(
        readings.iter().any(|reading| reading == "10/2"),
        "{readings:?}"
    );
    assert_eq!(taken.as_deref(), Some("10/2"));
}

#[test]
fn a_length_without_a_unit_is_counted_once_a_column() {
    let file = Grid::new(
        "r.csv",
        &[WireRuns],
        "run.from,run.to,run.length",
        "From,To,Length\nOU-1,FC-1,40\nFC-1,FC-2,55 ft\nFC-2,FC-3,60\n",
    );
    let schedule = schedule_of(&[file.read()]);
    let total: f64 = schedule
        .runs
        .iter()
        .filter_map(|run| run.length.copied())
        .map(|l| l.0)
        .sum();
    assert!((total - 155.0).abs() < 1e-9);
    let [
        Fault::UnitAssumed {
            first,
            field,
            assumed,
            cells,
        },
    ] = schedule.faults.as_slice()
    else {
        panic!("{:?}", schedule.faults);
    };
    assert_eq!(a1(&schedule.sources, *first), "C2");
    assert_eq!(
        (*field, *assumed, *cells),
        (FieldName::RunLength, "feet", 2)
    );
}

#[test]
fn a_decimal_comma_is_settled_for_the_whole_file() {
    let file = Grid::new(
        "e.csv",
        &[Equipment],
        "unit.tag,unit.mca,unit.fla",
        "Tag;MCA;FLA\nFC-1;1,4;1,12\nFC-2;2,25;1,8\n",
    );
    let schedule = schedule_of(&[file.read()]);
    assert_eq!(schedule.units[0].fla.copied(), Some(Amps(1.12)));
    assert_eq!(
        schedule.units[1].mca.copied(),
        Some(NameplateAmps::One(Amps(2.25)))
    );
}

#[test]
fn what_a_table_lacks_and_what_we_do_not_know_is_said_once() {
    let equipment = Grid::new(
        "e.csv",
        &[Equipment],
        "-,unit.mca,-",
        "Colour,MCA,Mood\nred,1.4,fair\nblue,1.4,foul\n",
    );
    let runs = Grid::new(
        "r.csv",
        &[WireRuns],
        "run.from,run.length ft",
        "From,LF\nOU-1,40\n",
    );
    let schedule = schedule_of(&[equipment.read(), runs.read()]);
    assert!(schedule.units.is_empty());
    assert!(schedule.faults.contains(&Fault::ColumnMissing {
        table: 0,
        fields: vec![FieldName::UnitTag]
    }));
    assert!(schedule.faults.contains(&Fault::ColumnMissing {
        table: 1,
        fields: vec![FieldName::RunTo]
    }));
    let headings: Vec<_> = schedule
        .faults
        .iter()
        .filter_map(|fault| match fault {
            Fault::HeadingNotRecognised { table, headings } => Some((*table, headings.len())),
            _ => None,
        })
        .collect();
    assert_eq!(headings, [(0, 2)]);
    let table = &schedule.sources.tables[0];
    assert_eq!((table.rows_taken, table.rows_left_out.len()), (0, 2));
}

#[test]
fn rows_without_a_tag_are_left_out_with_the_reason() {
    let file = Grid::new(
        "e.csv",
        &[Equipment],
        "unit.tag,unit.mca",
        "Tag,MCA\nFC-1,1.4\n,1.4\nTBD,1.4\n",
    );
    let schedule = schedule_of(&[file.read()]);
    let table = &schedule.sources.tables[0];
    assert_eq!(table.rows_taken, 1);
    let left: Vec<_> = table
        .rows_left_out
        .iter()
        .map(|left| (left.row.0, left.reason.as_str()))
        .collect();
    assert_eq!(
        left,
        [
            (2, "the row has no tag"),
            (3, "the tag is stated to be unknown")
        ]
    );
}
