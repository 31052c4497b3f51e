//! Layouts as people send them, small, with the meaning of every column.
//! All data invented.

use super::*;
use crate::intake::book::{Limits, Merge, Merges};
use crate::schedule::{ColIndex, FieldName, RowIndex, TableKind};

/// A book of one sheet from lines of cells with `|` between them.
pub(super) fn book(text: &str) -> Book {
    let mut csv = String::new();
    for line in text.trim_matches('\n').lines() {
        let cells = line.split('|').map(|cell| {
            let cell = cell.trim().replace("\\n", "\n").replace('"', "\"\"");
            format!("\"{cell}\"")
        });
        csv.push_str(&cells.collect::<Vec<_>>().join(","));
        csv.push('\n');
    }
    Book::from_bytes("grid.csv", csv.into_bytes(), &Limits::default()).expect("a grid")
}

pub(super) fn merge(book: &mut Book, ranges: &[(u32, u16, u32, u16)]) {
    let merges = ranges
        .iter()
        .map(|&(row, column, last_row, last_column)| Merge {
            first: (RowIndex(row), ColIndex(column)),
            last: (RowIndex(last_row), ColIndex(last_column)),
        });
    book.sheets[0].merges = Merges::new(merges.collect());
}

pub(super) fn found(text: &str) -> Vec<FoundTable> {
    tables(&book(text), Schemas::embedded())
}

pub(super) fn only(text: &str) -> FoundTable {
    let mut tables = found(text);
    assert_eq!(tables.len(), 1, "{text}\n{tables:#?}");
    tables.remove(0)
}

/// Each column as the names of its fields, `-` where it has none.
pub(super) fn mapping(table: &FoundTable) -> String {
    let columns = table.columns.iter().map(|column| {
        let names: Vec<&str> = column.fields.iter().map(|field| field.name()).collect();
        if names.is_empty() {
            "-".to_owned()
        } else {
            names.join("+")
        }
    });
    columns.collect::<Vec<_>>().join(" ")
}

/// Rows as a spreadsheet counts them.
pub(super) fn rows(table: &FoundTable) -> Vec<u32> {
    table.rows.iter().map(|row| row.0 + 1).collect()
}

pub(super) fn left_out(table: &FoundTable) -> Vec<String> {
    let rows = table.left_out.iter();
    rows.map(|out| format!("{} {}", out.row.0 + 1, out.reason))
        .collect()
}

#[test]
fn equipment_on_a_sheet_of_its_own() {
    let table = only(
        "
Tag|Type|Model|Qty|Volts/Phase|MCA|MOCP|Room|CFM|Remarks
HP-1|Outdoor|X-48|1|208/230-1-60|31.4|50|Roof||
FC-1|Ducted|X-09|1|208/230-1-60|0.5|15|Bedroom|300|
",
    );
    assert_eq!(table.kind, TableKind::Equipment);
    assert_eq!(table.kinds, [TableKind::Equipment]);
    assert_eq!(
        mapping(&table),
        "unit.tag unit.kind unit.model unit.quantity unit.supply unit.mca unit.mop unit.room - unit.remarks"
    );
    assert_eq!(rows(&table), [2, 3]);
    assert_eq!(table.header, (RowIndex(0), RowIndex(0)));
    assert!(
        table
            .columns
            .iter()
            .all(|c| c.fields.is_empty() || c.score >= 0.75)
    );
}

#[test]
fn a_titled_sheet_with_two_rows_of_headings() {
    let text = "
MAPLE COURT||||||||||||
INDOOR UNIT SCHEDULE||||||||||||
||||||||||||
MARK|LOCATION|ELECTRICAL||||CIRCUIT|||COMM||CONTROLLER|REMARKS
||V/PH/HZ|MCA|MOCP|FLA|PANEL|NO.|WIRE|FROM|LENGTH|TAG|
|||(A)|(A)|(A)|||||(FT)||
FC-1|Bedroom|208/230-1-60|0.6|15|0.5|LP|1,3|12/2 MC|HP-1|60|T-1|
FC-2|Den|208/230-1-60|0.6|15|0.5|LP|1,3|12/2 MC|FC-1|35|T-2|
||||||||||||
NOTES:||||||||||||
1. All wire copper.||||||||||||
";
    let mapped = "unit.tag unit.room unit.supply unit.mca unit.mop unit.fla circuit.panel \
                  circuit.slots circuit.conductor run.from run.length controller.tag unit.remarks";
    let mut merged = book(text);
    merge(
        &mut merged,
        &[
            (0, 0, 0, 12),
            (1, 0, 1, 12),
            (3, 0, 4, 0),
            (3, 2, 3, 5),
            (3, 6, 3, 8),
            (3, 9, 3, 10),
        ],
    );
    for book in [book(text), merged] {
        let tables = tables(&book, Schemas::embedded());
        let [table] = tables.as_slice() else {
            panic!("{tables:#?}");
        };
        assert_eq!(mapping(table), mapped);
        assert_eq!(
            table.kinds,
            [
                TableKind::Equipment,
                TableKind::Circuits,
                TableKind::WireRuns,
                TableKind::Controllers
            ]
        );
        assert_eq!(rows(table), [7, 8]);
        assert_eq!(table.header, (RowIndex(3), RowIndex(4)));
        assert_eq!(
            left_out(table),
            [
                "1 title",
                "2 title",
                "6 row of units",
                "9 blank",
                "10 note",
                "11 note"
            ]
        );
        let length = table.column_of(FieldName::RunLength).expect("a length");
        assert_eq!(length.unit, Some(crate::intake::notation::ColumnUnit::Feet));
        assert_eq!(length.heading, "COMM LENGTH");
    }
}

#[test]
fn a_season_in_one_wide_table() {
    let table = only(
        "
Job No.|Job|Rev|Tag|Kind|MCA|MOP|Panel|Ckt|Breaker|Wire|Length|Disc|Bus From|Bus Wire|Bus Length|Tstat|Tstat Wire|Tstat Length
S-101|Elm|A|HP-1|outdoor|31.4|50|MP|1,3|50A/2P|#10 THHN|70|60A/50F||||||
S-101|Elm|A|FC-1|wall|0.5|15|MP|5,7|15/2|12/2 NM-B|45|30A NF|HP-1|18/2 STR|60|T-1|18/2|40
",
    );
    assert_eq!(
        mapping(&table),
        "job.number job.name job.revision unit.tag unit.kind unit.mca unit.mop circuit.panel circuit.slots \
         circuit.breaker circuit.conductor circuit.length unit.disconnect run.from run.wire run.length \
         controller.tag controller.wire controller.length"
    );
    assert_eq!(
        table.kinds,
        [
            TableKind::Equipment,
            TableKind::Circuits,
            TableKind::WireRuns,
            TableKind::Controllers,
            TableKind::JobFacts
        ]
    );
    assert_eq!(rows(&table), [2, 3]);
}

#[test]
fn circuits_runs_controllers_and_panels_each_alone() {
    for (text, kind, mapped) in [
        (
            "
Circuit|Load|Breaker|Wire|Ground|Conduit|Length (ft)
LP-1,3|FC-1, FC-2|15A/2P|#12 THHN|#12|1/2 EMT|80
LP-5,7|HP-1|50A/2P|#10 THHN|#10|3/4 EMT|60
",
            TableKind::Circuits,
            "circuit.panel_slots circuit.loads circuit.breaker circuit.conductor circuit.ground circuit.raceway circuit.length",
        ),
        (
            "
Panel|Ckt|Unit|OCPD|Poles|Wire Size|Terminals
LP|1,3|FC-1|15|2|12|75C
LP|5,7|HP-1|50|2|10|75C
",
            TableKind::Circuits,
            "circuit.panel circuit.slots circuit.loads circuit.breaker circuit.poles circuit.conductor circuit.terminals",
        ),
        (
            "
From|To|Wire|Shield|Length
HP-1|FC-1|18/2 STR UNSH|No|60
FC-1|FC-2|18/2 STR UNSH|No|30
",
            TableKind::WireRuns,
            "run.from run.to run.wire run.shield run.length",
        ),
        (
            "
Thermostat|Room|Unit|Wire|Length
T-1|Bedroom|FC-1|18/2 STR|40
T-2|Den|FC-2|18/2 STR|30
",
            TableKind::Controllers,
            "controller.tag controller.room controller.units controller.wire controller.length",
        ),
        (
            "
Panel|Voltage|Main|Bus Rating|Fed From
LP|120/240V 1PH 3W|100A|125A|MDP
MDP|208Y/120V|400A|400A|UTILITY
",
            TableKind::Panels,
            "panel.name panel.supply panel.main panel.bus panel.fed_from",
        ),
    ] {
        let table = only(text);
        assert_eq!(mapping(&table), mapped);
        assert_eq!(table.kinds, [kind]);
        assert_eq!(rows(&table), [2, 3]);
    }
}

#[test]
fn a_two_sided_panel_schedule_is_two_tables() {
    let tables = found(
        "
PANEL LP|||||||
Volts:|120/240V 1PH 3W||Main:|100A|||
|||||||
CKT|LOAD|BKR|P|P|BKR|LOAD|CKT
1|FC-1|15|2|2|50|HP-1|2
3|||||||4
5|RANGE|40|2|1|20|LTG|6
7||||||SPARE|8
9|||||||10
",
    );
    let [left, right] = tables.as_slice() else {
        panic!("{tables:#?}");
    };
    assert_eq!(
        mapping(left),
        "circuit.slots circuit.loads circuit.breaker circuit.poles"
    );
    assert_eq!(
        mapping(right),
        "circuit.poles circuit.breaker circuit.loads circuit.slots"
    );
    assert_eq!(rows(left), [5, 7]);
    assert_eq!(rows(right), [5, 7, 8]);
    assert_eq!(left.kinds, [TableKind::Circuits]);
    assert_eq!(
        left.panel,
        Some(("LP".to_owned(), Some((RowIndex(0), ColIndex(0)))))
    );
    let form: Vec<FieldName> = left.form.iter().map(|entry| entry.field).collect();
    assert_eq!(form, [FieldName::PanelSupply, FieldName::PanelMain]);
    assert!(left_out(left).contains(&"9 only a running number".to_owned()));
}

#[test]
fn the_name_of_a_sheet_names_its_panel() {
    let text = "
CKT|DESCRIPTION|TRIP|POLES
1|FC-1|15|2
5|HP-1|50|2
";
    for (name, panel) in [
        ("LP-12C", Some("LP-12C")),
        ("Panel 4A", Some("4A")),
        ("Circuits", None),
    ] {
        let mut book = book(text);
        book.sheets[0].name = Some(name.to_owned());
        let tables = tables(&book, Schemas::embedded());
        assert_eq!(tables.len(), 1);
        assert_eq!(
            tables[0].panel,
            panel.map(|p| (p.to_owned(), None)),
            "{name}"
        );
    }
}

#[test]
fn unit_is_the_apartment_where_its_values_are_doors() {
    let table = only(
        "
Unit|Tag|Type|MCA|MOCP|Panel|Ckt
101|FC-1|Wall|0.5|15|LP|1,3
101|FC-2|Wall|0.5|15|LP|1,3
102|FC-1|Wall|0.5|15|LP|1,3
",
    );
    assert_eq!(
        mapping(&table),
        "unit.dwelling+circuit.dwelling unit.tag unit.kind unit.mca unit.mop circuit.panel circuit.slots"
    );
    let table = only(
        "
Unit|Type|MCA|MOCP
FC-1|Wall|0.5|15
FC-2|Wall|0.5|15
",
    );
    assert_eq!(mapping(&table), "unit.tag unit.kind unit.mca unit.mop");
    let table = only(
        "
Apt|Mark|Kind|MCA|Max Fuse
12C|HP-1|outdoor|18.2|30
12C|FC-1|wall|0.5|15
",
    );
    assert_eq!(
        mapping(&table),
        "unit.dwelling unit.tag unit.kind unit.mca unit.mop"
    );
}

#[test]
fn several_tables_on_one_sheet() {
    let stacked = found(
        "
Job No.|S-114||||
||||
OUTDOOR UNITS|||||
Tag|Kind|Volts|MCA|MOP|Location
HP-1|outdoor|208/230-1|31.4|50|Roof
|||||
INDOOR UNITS|||||
Tag|Kind|Volts|MCA|MOP|Location
FC-1|wall|208/230-1|0.5|15|Bedroom
FC-2|wall|208/230-1|0.5|15|Den
TOTAL|||1.0||
|||||
CIRCUITS|||||
Panel|Ckt|Load|Breaker|Wire|Length
LP|1,3|FC-1, FC-2|15/2|12/2 NM-B|40
",
    );
    let kinds: Vec<TableKind> = stacked.iter().map(|t| t.kind).collect();
    assert_eq!(
        kinds,
        [
            TableKind::Equipment,
            TableKind::Equipment,
            TableKind::Circuits
        ]
    );
    assert_eq!(rows(&stacked[0]), [5]);
    assert_eq!(rows(&stacked[1]), [9, 10]);
    assert_eq!(rows(&stacked[2]), [15]);
    assert_eq!(stacked[0].form.len(), 1);
    assert!(left_out(&stacked[1]).contains(&"11 total".to_owned()));

    let beside = found(
        "
Tag|Kind|MCA|MOP||From|To|Length
HP-1|outdoor|31.4|50||HP-1|FC-1|60
FC-1|wall|0.5|15||FC-1|FC-2|30
FC-2|wall|0.5|15|||
",
    );
    let [equipment, runs] = beside.as_slice() else {
        panic!("{beside:#?}");
    };
    assert_eq!(mapping(equipment), "unit.tag unit.kind unit.mca unit.mop");
    assert_eq!(mapping(runs), "run.from run.to run.length");
    assert_eq!(rows(equipment), [2, 3, 4]);
    assert_eq!(rows(runs), [2, 3]);
}

#[test]
fn labels_and_values_alone_are_facts_of_the_job() {
    let table = only(
        "
Job name|Elm Street
Job No.|S-101
Customer type|dwelling
Supply volts|120/240
Code edition|2020
Submitted by|Northside
Colour of door|green
",
    );
    assert_eq!(table.kind, TableKind::JobFacts);
    let fields: Vec<FieldName> = table.form.iter().map(|entry| entry.field).collect();
    use FieldName::*;
    assert_eq!(
        fields,
        [
            JobName,
            JobNumber,
            JobCustomer,
            JobSupply,
            JobEdition,
            JobSubmittedBy
        ]
    );
    assert_eq!(rows(&table), [1, 2, 3, 4, 5, 6]);
}

#[test]
fn rows_that_are_no_data_say_why() {
    let table = only(
        "
No.|Tag|Kind|MCA|MOP|Room
1|2|3|4|5|6
FIRST FLOOR|||||
1|FC-1|wall|0.5|15|Bedroom
2|FC-2|wall|0.5|15|Den
SUBTOTAL|||1.0||
|||||
SECOND FLOOR|||||
3|FC-3|wall|0.5|15|Attic
4|||||
5|||||
* Furnished with a drain pan by the contractor of the piping
",
    );
    assert_eq!(rows(&table), [4, 5, 9]);
    assert_eq!(
        left_out(&table),
        [
            "2 row of column numbers",
            "3 section: FIRST FLOOR",
            "6 total",
            "7 blank",
            "8 section: SECOND FLOOR",
            "10 only a running number",
            "11 only a running number",
            "12 note"
        ]
    );
}

#[test]
fn what_two_fields_could_mean_is_asked_and_not_chosen() {
    let table = only(
        "
Tag|Kind|MCA|MOP|Panel|Ckt|Breaker|Room|Length|CFM|Bus From|Bus Wire
HP-1|outdoor|31.4|50|LP|1,3|50/2|Roof|70|0||
FC-1|wall|0.5|15|LP|5,7|15/2|Den|45|300|HP-1|18/2 STR
",
    );
    let length = &table.columns[8];
    assert!(length.fields.is_empty());
    let nearest = length.nearest.as_deref().unwrap_or_default();
    assert!(
        nearest.contains("circuit.length") && nearest.contains("run.length"),
        "{nearest}"
    );
}

#[test]
fn what_is_no_schedule_is_not_taken() {
    for text in [
        "
Drawing No.|Title|Rev|Date|Status
M-101|Mechanical plan, first floor|2|3/4/2026|Issued
M-102|Mechanical plan, second floor|2|3/4/2026|Issued
E-201|Electrical panel schedules|1|3/4/2026|Issued
",
        "
Item|Description|Qty|Unit|Unit Price|Total
1|Wall unit 9 MBH|4|EA|812.00|3248.00
2|Thermostat wire 18/2|500|FT|0.21|105.00
3|Disconnect 60 A fused|1|EA|88.00|88.00
",
        "
Outdoor|Indoor A|Indoor B|Indoor C
X-24|Yes|Yes|No
X-36|Yes|Yes|Yes
X-48|No|Yes|Yes
",
        "
Model No.|Description|List Price|Discount
X-24|Outdoor unit two ton|4100|0.4
X-36|Outdoor unit three ton|5100|0.4
",
        "
Name|Phone|Type|Location
A. Dealer|555-0100|Contractor|East
B. Dealer|555-0101|Contractor|West
",
        "
From|To|Date|Subject
Engineer|Contractor|3/4/2026|Submittal 4
Contractor|Engineer|3/9/2026|Submittal 4, resubmitted
",
    ] {
        let recognition = recognise(&book(text), Schemas::embedded());
        assert!(
            recognition.tables.is_empty(),
            "{text}\n{:#?}",
            recognition.tables
        );
        assert_eq!(recognition.without.len(), 1);
        assert!(recognition.without[0].reason.ends_with('.'));
    }
}

#[test]
fn what_we_wrote_ourselves_is_left_out() {
    let table = only(
        "
Tag|Kind|MCA|MOP||ampledger: finding|ampledger: what to do|Length
HP-1|outdoor|31.4|50||MOP exceeded|Fit 50 A|7
",
    );
    assert_eq!(mapping(&table), "unit.tag unit.kind unit.mca unit.mop");
    let recognition = recognise(
        &book("ampledger: findings|||\nTag|Kind|MCA|MOP\nHP-1|outdoor|31.4|50"),
        Schemas::embedded(),
    );
    assert!(recognition.tables.is_empty());
    assert_eq!(
        recognition.without[0].reason,
        "The sheet was written by this program."
    );
}

#[test]
fn a_table_without_the_column_that_names_its_rows_is_found_all_the_same() {
    let table = only(
        "
Kind|Model|MCA|MOP|Volts/Phase
outdoor|X-48|31.4|50|208/230-1
wall|X-09|0.5|15|208/230-1
",
    );
    assert_eq!(table.kind, TableKind::Equipment);
    assert!(table.column_of(FieldName::UnitTag).is_none());
}
