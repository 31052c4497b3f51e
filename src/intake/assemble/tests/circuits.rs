//! Circuits: panel schedules, ranges, composites, wide rows.

use super::grid::{Grid, a1, schedule_of};
use crate::schedule::*;
use TableKind::{Circuits, Equipment};

#[test]
fn a_panel_schedule_takes_its_panel_from_the_form_and_spans_its_poles() {
    let file = Grid::new(
        "LP.csv",
        &[Circuits],
        "circuit.slots,circuit.breaker,circuit.poles,circuit.loads",
        "Panel:,LP,,\nVolts:,208Y/120,,\nApt:,12C,,\n\
         CKT,TRIP,POLES,DESCRIPTION\n\
         1,20,2,OU-1\n3,,,\n5,20,1,LTG\n7,,,SPARE\n9,,,\n11,15,2,FC-1\n13,-,-,\"\"\"\"\n",
    )
    .header(3)
    .form(FieldName::PanelName, 0)
    .form(FieldName::PanelSupply, 1)
    .form(FieldName::PanelDwelling, 2);
    let units = Grid::new(
        "e.csv",
        &[Equipment],
        "unit.tag,unit.dwelling",
        "Tag,Apt\nOU-1,12C\nFC-1,12C\n",
    );
    let schedule = schedule_of(&[file.read(), units.read()]);
    assert_eq!(schedule.panels.len(), 1);
    let panel = &schedule.panels[0];
    assert_eq!(panel.name.value.text(), "LP");
    assert_eq!(a1(&schedule.sources, panel.name.at), "B1");
    assert_eq!(
        panel.supply.get().map(|s| s.line_to_line),
        Some(Volts(208.0))
    );
    let labels: Vec<_> = schedule
        .circuit_ids()
        .map(|(id, _)| schedule.circuit_label(id))
        .collect();
    assert_eq!(labels, ["12C LP-1", "12C LP-5", "12C LP-7", "12C LP-11"]);
    let slots: Vec<u16> = schedule.circuits[0]
        .slots_taken()
        .iter()
        .map(|s| s.number)
        .collect();
    assert_eq!(slots, [1, 3]);
    assert_eq!(schedule.circuits[2].loads[0].target, LoadTarget::Spare);
    assert_eq!(schedule.circuits[3].units(), [UnitId(1)]);
    assert_eq!(schedule.circuits[0].panel_id, Some(PanelId(0)));
    let left = &schedule.sources.tables[0].rows_left_out;
    assert_eq!(left.len(), 1, "{left:?}");
    assert_eq!(left[0].row, RowIndex(8));
    assert!(schedule.faults.is_empty(), "{:?}", schedule.faults);
}

#[test]
fn slots_under_a_merged_breaker_are_one_circuit() {
    let file = Grid::new(
        "LP.csv",
        &[Circuits],
        "circuit.slots,circuit.breaker,circuit.loads",
        "CKT,TRIP,DESCRIPTION\n1,20,OU-1\n3,,\n5,20,LTG\n",
    )
    .merged((1, 1), (2, 1))
    .merged((1, 2), (2, 2))
    .panel("LP");
    let schedule = schedule_of(&[file.read()]);
    assert_eq!(schedule.circuits.len(), 2);
    let slots: Vec<u16> = schedule.circuits[0]
        .slots_taken()
        .iter()
        .map(|s| s.number)
        .collect();
    assert_eq!(slots, [1, 3]);
    assert_eq!(schedule.panels[0].name.value.text(), "LP");
}

#[test]
fn ranges_and_lists_are_all_their_tags() {
    let units = Grid::new(
        "e.csv",
        &[Equipment],
        "unit.tag,unit.quantity,unit.mca",
        "Tag,Qty,MCA\nFC-1 thru FC-4,4,1.4\n\"FC-5, FC-6\",,1.4\nFC-7,3 each,1.4\n",
    );
    let circuits = Grid::new(
        "c.csv",
        &[Circuits],
        "circuit.panel_slots,circuit.breaker,circuit.loads",
        "Circuit,Bkr,Load\n\"LP-1,3\",15/2,FC-1 thru FC-4\n\"LP-5,7\",15/2,\"FC-5, FC-6\"\n",
    );
    let schedule = schedule_of(&[units.read(), circuits.read()]);
    let labels: Vec<_> = schedule
        .audited_units()
        .map(|(id, _)| schedule.unit_label(id))
        .collect();
    assert_eq!(
        labels,
        [
            "FC-1",
            "FC-2",
            "FC-3",
            "FC-4",
            "FC-5",
            "FC-6",
            "FC-7 (1 of 3)",
            "FC-7 (2 of 3)",
            "FC-7 (3 of 3)"
        ]
    );
    assert_eq!(schedule.circuits.len(), 2);
    assert_eq!(schedule.circuits[0].units().len(), 4);
    assert_eq!(schedule.circuits[1].units().len(), 2);
    assert_eq!(schedule.circuits[0].poles.copied(), Some(2));
    assert_eq!(schedule.circuits[0].panel.get().map(Name::text), Some("LP"));
    assert!(schedule.faults.is_empty(), "{:?}", schedule.faults);
}

#[test]
fn composites_fill_the_fields_that_have_no_column() {
    let file = Grid::new(
        "e.csv",
        &[Equipment, Circuits],
        "unit.tag,unit.mca_mop,unit.supply,unit.disconnect,circuit.panel,circuit.slots,circuit.breaker,circuit.conductor",
        "Tag,MCA/MOP,V-PH-HZ,Disc,Panel,Ckt,Bkr,Wire & Conduit\n\
         OU-1,31.4/50,208/230-1-60,60A/40F,MDP,\"2,4\",50A/2P,\"(2)#8+(1)#10G THHN in 3/4 EMT\"\n",
    );
    let schedule = schedule_of(&[file.read()]);
    let unit = &schedule.units[0];
    assert_eq!(unit.mca.copied(), Some(NameplateAmps::One(Amps(31.4))));
    assert_eq!(
        unit.mop.copied().map(|m| m.amps),
        Some(NameplateAmps::One(Amps(50.0)))
    );
    assert_eq!(unit.mca.at(), unit.mop.at());
    assert_eq!(unit.fuse.copied(), Some(Amps(40.0)));
    assert_eq!(unit.supply.get().and_then(|s| s.phases), Some(1));
    let circuit = &schedule.circuits[0];
    assert_eq!(
        (circuit.breaker.copied(), circuit.poles.copied()),
        (Some(Amps(50.0)), Some(2))
    );
    assert!(matches!(
        circuit.ground.copied(),
        Some(wire::Grounding::Sized {
            size: wire::Size::Awg(10),
            ..
        })
    ));
    assert_eq!(circuit.insulation.copied(), Some(wire::Insulation::Thhn));
    assert_eq!(
        circuit.raceway.get().map(|r| r.kind),
        Some(wire::RacewayType::Emt)
    );
    assert_eq!(circuit.units(), [UnitId(0)]);
    assert!(schedule.faults.is_empty(), "{:?}", schedule.faults);
}

#[test]
fn an_unnamed_circuit_is_the_units_own_even_under_one_mark() {
    let file = Grid::new(
        "e.csv",
        &[Equipment, Circuits],
        "unit.tag,unit.quantity,circuit.breaker",
        "Tag,Qty,Breaker\nFC-1,3,15/2\nFC-2,,15/2\n\"FC-3, FC-4\",,15/2\nOU-1,,\n",
    );
    let schedule = schedule_of(&[file.read()]);
    assert_eq!(schedule.circuits.len(), 6);
    assert!(schedule.circuits.iter().all(|circuit| circuit.unnamed));
    for (_, unit) in schedule.audited_units() {
        let expected = usize::from(unit.tag.value.text() != "OU-1");
        assert_eq!(unit.circuits.len(), expected, "{}", unit.tag.value);
    }
    for circuit in &schedule.circuits {
        assert_eq!(circuit.units().len(), 1);
    }
}

#[test]
fn a_heaters_columns_are_a_circuit_of_the_heater() {
    let file = Grid::new(
        "e.csv",
        &[Equipment, Circuits],
        "unit.tag,circuit.panel_slots,circuit.breaker,circuit.panel_slots,circuit.breaker",
        "Tag,Circuit,Breaker,Heater Circuit,Heater Breaker\n\
         AH-1,\"LP-1,3\",15/2,\"LP-5,7\",60/2\nAH-2,\"LP-9,11\",15/2,,\n",
    );
    let schedule = schedule_of(&[file.read()]);
    assert_eq!(schedule.circuits.len(), 3);
    assert_eq!(
        schedule.units[0].circuits,
        [(CircuitId(0), Part::Whole), (CircuitId(1), Part::Heater(1))]
    );
    assert_eq!(schedule.circuits[1].breaker.copied(), Some(Amps(60.0)));
    assert_eq!(a1(&schedule.sources, schedule.circuits[1].at), "D2");
}

#[test]
fn a_house_panel_names_units_by_dwelling_and_tag() {
    let units = Grid::new(
        "e.csv",
        &[Equipment],
        "unit.tag,unit.dwelling",
        "Tag,Apt\nFC-1,12C\nFC-1,12D\nFC-1,14A\nFC-1,14B\nOU-1,\n",
    );
    let panel = Grid::new(
        "HP.csv",
        &[Circuits],
        "circuit.slots,circuit.breaker,circuit.loads",
        "CKT,TRIP,LOAD\n1,15,12C FC-1\n2,15,APT 12D FC-1\n3,15,FC-1 (14A)\n4,15,14B-FC-1\n\
         5,15,FC-1\n6,15,FC-1 15A\n",
    )
    .panel("HP");
    let schedule = schedule_of(&[units.read(), panel.read()]);
    let on: Vec<_> = schedule.circuits.iter().map(Circuit::units).collect();
    assert_eq!(on[0], [UnitId(0)]);
    assert_eq!(on[1], [UnitId(1)]);
    assert_eq!(on[2], [UnitId(2)]);
    assert_eq!(on[3], [UnitId(3)]);
    for circuit in &schedule.circuits[4..] {
        assert!(matches!(circuit.loads[0].target, LoadTarget::MaybeUnits(_)));
    }
}
