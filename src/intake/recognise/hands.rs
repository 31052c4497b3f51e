//! Headings by many hands: each layout with the meaning of every column.
//! All data invented.

use super::tests::{found, left_out, mapping, only, rows};
use super::*;
use crate::intake::book::Limits;

#[test]
fn every_column_of_many_hands_is_understood_or_left() {
    let mut wrong = Vec::new();
    for (text, expected) in LAYOUTS {
        let tables = found(text);
        // Dwellings by their type are no schedule of units.
        let units = tables.iter().filter(|table| table.types.is_empty());
        let mapped: Vec<String> = units.map(mapping).collect();
        if mapped != *expected {
            wrong.push(format!(
                "{text}\n  found    {mapped:?}\n  expected {expected:?}"
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A sheet, and for each of its tables the fields of its columns.
const LAYOUTS: &[(&str, &[&str])] = &[
    (
        "
EQUIP TAG|SERVICE|LOCATION|MANUFACTURER|MODEL|NOM. TONS|CFM|ESP|VOLT|PH|HZ|MCA|MOCP|WEIGHT|NOTES
ODU-1|Fan coils|Roof|Acme|X48|4|||208/230|1|60|31.4|50|300|1,2
IDU-1|Bedroom|Attic|Acme|X09|0.75|300|0.2|208/230|1|60|0.6|15|40|3
",
        &["unit.tag unit.description unit.place - unit.model unit.capacity - - unit.supply unit.phase unit.hertz unit.mca unit.mop - unit.remarks"],
    ),
    (
        "
Symbol|Area Served|Unit Type|Cooling MBH|Heating MBH|Voltage|MCA|Max. Fuse|Rec. Fuse|LRA|RLA
FCU-1|Living|Ducted|9|10|208/230V/1Ph/60Hz|0.7|15|15|12|9
FCU-2|Den|Wall|9|10|208/230V/1Ph/60Hz|0.7|15|15|12|9
",
        &["unit.tag unit.room unit.kind unit.capacity - unit.supply unit.mca unit.mop - unit.lra unit.rla"],
    ),
    (
        "
Ckt No.|Panel|Equipment|Volts|Ph|Amps|Poles|Wire Size|Gnd|Conduit|Dist.
1,3|LP|FC-1|208|1|15|2|#12|#12|1/2 EMT|40
5,7|LP|FC-2|208|1|15|2|#12|#12|1/2 EMT|50
",
        &["circuit.slots circuit.panel circuit.loads circuit.supply unit.phase circuit.breaker circuit.poles circuit.conductor circuit.ground circuit.raceway circuit.length"],
    ),
    (
        "
Unit|Breaker|Wire|Length|Panel/Ckt
HP-1|50A/2P|10/2 NM-B|60|LP-1,3
FC-1|15A/2P|14/2 NM-B|40|LP-5,7
",
        &["circuit.loads circuit.breaker circuit.conductor circuit.length circuit.panel_slots"],
    ),
    (
        "
Tag|Breaker|Wire|Disconnect|Circuit
HP-1|50A/2P|10/2 NM-B|60A/50F|LP-1,3
FC-1|15A/2P|14/2 NM-B|30A NF|LP-5,7
",
        &["circuit.loads circuit.breaker circuit.conductor circuit.disconnect circuit.panel_slots"],
    ),
    (
        "
System|From|To|Wire Type|Gauge|Conductors|Stranded|Shielded|Length (ft)|Routed With
1|HP-1|FC-1|comm|18|2|Yes|No|60|none
1|FC-1|FC-2|comm|18|2|Yes|No|30|none
",
        &["run.system run.from run.to - run.gauge run.conductors run.stranding run.shield run.length run.routing"],
    ),
    (
        "
Tag|Type|Room|Controls|Wire|Length
T-1|Wired|Bedroom|FC-1|18/2|40
T-2|Wired|Den|FC-2|18/2|45
",
        &["controller.tag - controller.room controller.units controller.wire controller.length"],
    ),
    (
        "
Tag|Location|Serves|Cable|LF
T-1|Bedroom|FC-1|18/2 STR|40
T-2|Den|FC-2|18/2 STR|45
",
        &[],
    ),
    (
        "
Run|From|To|Cable|LF|Shield|Shield Grounded|Splices|Purpose
1|HP-1|FC-1|18/2 STR|60|No||0|Bus
2|T-1|FC-1|18/2|30|No||0|Controller
",
        &["run.name run.from run.to run.wire run.length run.shield run.shield_ground run.splices run.purpose"],
    ),
    (
        "
Unit No.|Unit Type|Bedrooms|Floor
101|A1|2|1
102|B2|3|1
",
        &[],
    ),
    (
        "
Apt|Panel|Ckt|Breaker|Poles|Wire|Load
101|LP|1,3|15|2|12/2 MC|FC-1, FC-2
102|LP|1,3|15|2|12/2 MC|FC-1, FC-2
",
        &["circuit.dwelling circuit.panel circuit.slots circuit.breaker circuit.poles circuit.conductor circuit.loads"],
    ),
    (
        "
Panel|Ckt|Description|Type|Breaker|Size|Rating
LP|1|FC-1|HVAC|15A/2P|12|20
LP|3|FC-2|HVAC|15A/2P|12|20
",
        &["circuit.panel circuit.slots circuit.loads - circuit.breaker circuit.conductor -"],
    ),
    (
        "
Tag|MCA/MOCP|V-Ph-Hz|Heater kW|Heater V|Comp RLA|Fan FLA|HP|Disc|Fuse
AH-1|41.2/45|208-1-60|7.5|240||2.5|1/3|60A|45
AH-2|41.2/45|208-1-60|7.5|240||2.5|1/3|60A|45
",
        &["unit.tag unit.mca_mop unit.supply unit.heat_kw unit.heat_volts unit.rla unit.fla unit.horsepower unit.disconnect unit.fuse"],
    ),
    (
        "
TAG|MIN|MAX|VOLTAGE|QTY
|CKT|FUSE||
|AMPS|SIZE||
HP-1|31.4|50|208/230-1-60|1
FC-1|0.5|15|208/230-1-60|2
",
        &["unit.tag unit.mca unit.mop unit.supply unit.quantity"],
    ),
    (
        "
Circuit #|Serves|CB|Conductors|EGC|Raceway|Terminal Temp|Ambient F|CCC|Length, ft
AC-1|HP-1|50A/2P|(2)#10|#10|3/4 EMT|75|105|2|60
AC-2|FC-1|15A/2P|(2)#12|#12|1/2 EMT|75|105|2|60
",
        &["circuit.name circuit.loads circuit.breaker circuit.conductor circuit.ground circuit.raceway circuit.terminals circuit.ambient circuit.in_raceway circuit.length"],
    ),
    (
        "
Indoor Unit|Room|Thermostat|Tstat Location|Tstat Wire|Tstat LF|Fed From|Ckt
FC-1|Bedroom|T-1|Hall|18/2|40|LP|1,3
FC-2|Den|T-2|Hall|18/2|40|LP|1,3
",
        &["controller.units - controller.tag controller.room controller.wire controller.length - circuit.slots"],
    ),
    (
        "
OUTDOOR UNIT|||INDOOR UNIT|||
Tag|MCA|MOP|Tag|MCA|MOP|Room
HP-1|31.4|50|FC-1|0.5|15|Den
|||FC-2|0.5|15|Bed
",
        &["unit.tag unit.mca unit.mop", "unit.tag unit.mca unit.mop unit.room"],
    ),
    (
        "
CKT|DESCRIPTION|BKR|P|A|B|C|P|BKR|DESCRIPTION|CKT
1|FC-1|15|2|100|||2|50|HP-1|2
3||||||||||4
5|RANGE|40|2||800|900|1|20|LTG|6
",
        &["circuit.slots circuit.loads circuit.breaker circuit.poles", "- - - circuit.poles circuit.breaker circuit.loads circuit.slots"],
    ),
    (
        "
Load Served|Load Description|Trip Amps|Frame|Ckt|Wire|Remarks
FC-1|Fan coil|15|100|1|12/2|
FC-2|Fan coil|15|100|3|12/2|
",
        &["circuit.loads - circuit.breaker - circuit.slots circuit.conductor circuit.remarks"],
    ),
    (
        "
Unit|Model|Qty|Min. Circuit Amps|Max. Overcurrent Protection|Fed From|Circuit|Wire Size|Control Wire|Control Wire Length
HP-1|X48|1|31.4|50|LP|1,3|#10|18/2|60
FC-1|X09|1|0.5|15|LP|5,7|#12|18/2|60
",
        &["unit.tag unit.model unit.quantity unit.mca unit.mop circuit.panel circuit.slots circuit.conductor run.wire run.length"],
    ),
    (
        "
Item|Tag|Description|Voltage|FLA|MCA|MOP|Panel|Breaker|Feeder|Starter
1|EF-1|Exhaust fan|120-1|3|3.75|15|LP|20/1|2#12|
2|HP-1|Heat pump outdoor|208-1|24|31.4|50|LP|50/2|2#10,1#10G,3/4C|
",
        &["- unit.tag unit.description unit.supply unit.fla unit.mca unit.mop circuit.panel circuit.breaker circuit.conductor -"],
    ),
    (
        "
Name|Volts|Phase|Main Bkr|Bus Amps|Fed By|Location
LP|120/240|1|100|125|MDP|Closet
LP2|120/240|1|100|125|MDP|Closet
",
        &["panel.name panel.supply - panel.main panel.bus panel.fed_from -"],
    ),
    (
        "
Job|Submitted By|Tag|MCA|MOP|Breaker|Poles|Wire
Elm|North|HP-1|31.4|50|50|2|10
Elm|North|FC-1|0.5|15|15|2|12
",
        &["job.name job.submitted_by unit.tag unit.mca unit.mop circuit.breaker circuit.poles circuit.conductor"],
    ),
    (
        "
Unit Tag|Panel|Circuit|OCP|Conductor|Length|Bus To|Bus LF|Bus Wire|Zone Ctrl|Length
HP-1|LP|1,3|50/2|#10|60|FC-1|60|18/2||
FC-1|LP|5,7|15/2|#12|40|FC-2|30|18/2|T-1|40
",
        &["unit.tag circuit.panel circuit.slots circuit.breaker circuit.conductor circuit.length run.to run.length run.wire controller.tag controller.length"],
    ),
    (
        "
Fan Coil|Condensing Unit|Voltage|Ckt Amps|Thermostat|Panel|Breaker|LF
FC-1|CU-1|208/1|0.5|T-1|A|15/2|60
FC-2|CU-1|208/1|0.5|T-2|A|15/2|70
",
        &["unit.tag unit.system unit.supply circuit.load_amps controller.tag circuit.panel circuit.breaker circuit.length"],
    ),
];

#[test]
fn a_heading_typed_again_goes_on_with_its_table() {
    let table = only(
        "
Tag|Kind|MCA|MOP
FC-1|wall|0.5|15
Tag|Kind|MCA|MOP
FC-2|wall|0.5|15
",
    );
    assert_eq!(rows(&table), [2, 4]);
    assert_eq!(left_out(&table), ["3 heading typed again"]);
}

#[test]
fn a_slip_of_the_keyboard_is_seen_through_and_scored_lower() {
    let table = only(
        "
Equipment Tga|Kind|Min. Circuit Ampasity|MOCP
FC-1|wall|0.5|15
FC-2|wall|0.5|15
",
    );
    assert_eq!(mapping(&table), "unit.tag unit.kind unit.mca unit.mop");
    assert!(table.columns[2].score < 0.85);
}

#[test]
fn a_long_table_is_one_table() {
    let mut csv = String::from("Tag,Kind,MCA,MOP,Room,Panel,Ckt,Breaker\n");
    for n in 0..20_000 {
        csv.push_str(&format!("FC-{n},wall,0.5,15,Bedroom {n},LP,\"1,3\",15/2\n"));
    }
    let book = Book::from_bytes("long.csv", csv.into_bytes(), &Limits::default()).expect("a book");
    let tables = tables(&book, Schemas::embedded());
    assert_eq!(tables.len(), 1);
    assert_eq!(tables[0].rows.len(), 20_000);
}

#[test]
fn a_circuit_named_after_a_panel_of_the_book_is_its_slot() {
    let text = "
Panel|Voltage|Main
A|120/240|100
|||
|||
Circuit|Load|Breaker|Wire
A-5|FC-1|15/2|12/2 MC
A-9|FC-2|15/2|12/2 MC
";
    let tables = found(text);
    assert_eq!(mapping(&tables[0]), "panel.name panel.supply panel.main");
    assert_eq!(
        mapping(&tables[1]),
        "circuit.panel_slots circuit.loads circuit.breaker circuit.conductor"
    );
    let alone = text.lines().skip(5).collect::<Vec<_>>().join("\n");
    assert_eq!(
        mapping(&only(&alone)),
        "circuit.name circuit.loads circuit.breaker circuit.conductor"
    );
}
