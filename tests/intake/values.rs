//! What single cells of the files become.

use super::{ampledger, schedule, units};
use ampledger::batch;
use ampledger::intake::schema::Schemas;
use ampledger::schedule::{Circuit, Fault, Field, NameplateAmps, Schedule, Unit};
use std::sync::Arc;

fn unit<'a>(schedule: &'a Schedule, tag: &str) -> &'a Unit {
    let mut units = schedule.units.iter();
    let found = units.find(|unit| unit.tag.value.text() == tag);
    found.unwrap_or_else(|| panic!("no unit {tag}: {:?}", units_of(schedule)))
}

fn units_of(schedule: &Schedule) -> Vec<&str> {
    let units = schedule.units.iter();
    units.map(|unit| unit.tag.value.text()).collect()
}

fn mca(unit: &Unit) -> Option<f64> {
    match unit.mca.get()? {
        NameplateAmps::One(amps) => Some(amps.0),
        NameplateAmps::Two { .. } => None,
    }
}

fn mop(unit: &Unit) -> Option<f64> {
    match unit.mop.get()?.amps {
        NameplateAmps::One(amps) => Some(amps.0),
        NameplateAmps::Two { .. } => None,
    }
}

fn wire(circuit: &Circuit) -> Option<String> {
    let wire = circuit.conductor.get()?;
    Some(wire.size?.to_string())
}

fn slots(circuit: &Circuit) -> Vec<u16> {
    let slots = circuit.slots.get().map_or(&[][..], Vec::as_slice);
    slots.iter().map(|slot| slot.number).collect()
}

fn loads(circuit: &Circuit) -> Vec<&str> {
    let loads = circuit.loads.iter();
    loads.map(|load| load.text.value.as_str()).collect()
}

/// Cells of faults that are no mere assumption of a unit.
fn faults(schedule: &Schedule) -> Vec<String> {
    let cell = |at| schedule.sources.address(at).cell;
    let faults = schedule.faults.iter().filter_map(|fault| match fault {
        Fault::Unreadable { at, .. } | Fault::DateForWire { at, .. } => Some(cell((*at).into())),
        Fault::Other { at, .. } => Some(cell(*at)),
        _ => None,
    });
    faults.collect()
}

#[test]
fn sections_hold_for_the_rows_below_them() {
    let schedule = schedule("rows/sections.xlsx");
    let mut found = units(&schedule);
    found.retain(|unit| unit.contains("FC-1") || unit.contains("FC-9"));
    assert_eq!(found, ["12C FC-1", "14D FC-1", "- FC-9"]);
    let panels = schedule.circuits.iter();
    let panels: Vec<&str> = panels.filter_map(|c| Some(c.panel.get()?.text())).collect();
    assert_eq!(panels, ["LP", "LP2"]);
    let runs: Vec<&str> = schedule
        .runs
        .iter()
        .filter_map(|run| Some(run.system.get()?.text()))
        .collect();
    assert_eq!(runs, ["1", "1", "2"]);
}

#[test]
fn a_section_that_is_a_dwelling_ends_the_system_above() {
    let schedule = schedule("sent/systems.xlsx");
    assert_eq!(units(&schedule)[6], "PENTHOUSE IDU-2-3");
    assert_eq!(unit(&schedule, "IDU-2-3").system.get(), None);
}

#[test]
fn a_typical_form_is_every_dwelling_of_its_type() {
    for name in ["typical_tall.xlsx", "typical_matrix.xlsx"] {
        let mut found = units(&schedule(&format!("apartments/{name}")));
        found.sort();
        let all = ["101 FC-1", "101 FC-2", "102 FC-1", "103 FC-1", "103 FC-2"];
        assert_eq!(found, all, "{name}");
    }
}

#[test]
fn dwellings_hold_for_the_rows_and_the_tables_beside() {
    assert_eq!(
        units(&schedule("apartments/doors.xlsx")),
        ["101 OU-1", "101 FC-1", "102 OU-1", "102 FC-1", "12C OU-1"]
    );
    let mut found = units(&schedule("apartments/row_a_dwelling.xlsx"));
    found.sort();
    let all = ["101 FC-1", "101 FC-2", "101 OU-1", "102 FC-1", "102 OU-1"];
    assert_eq!(found, all);
}

#[test]
fn turned_and_gathered_values_keep_their_own_cells() {
    for (name, tag, mca, cell) in [
        ("column_a_unit.xlsx", "FC-1", 0.5, "C4"),
        ("long_form.csv", "FC-1", 0.5, "C5"),
        ("handover.xlsx", "FC-2", 0.5, "F4"),
    ] {
        let schedule = schedule(&format!("tables/{name}"));
        let unit = unit(&schedule, tag);
        assert_eq!(self::mca(unit), Some(mca), "{name}");
        let at = unit.mca.at().expect("a cell");
        assert_eq!(schedule.sources.address(at.into()).cell, cell, "{name}");
    }
    let handover = schedule("tables/handover.xlsx");
    assert!(handover.units[0].mca.is_given());
    assert_eq!(handover.runs.len(), 2, "piping is no wire");
}

#[test]
fn units_of_measure_hold_from_their_own_row() {
    let schedule = schedule("headings/units_row.csv");
    // 1 MBH is 1,000 Btu/h, 12,000 Btu/h are 3.517 kW; 900 m are 2,952.8 ft
    // (NIST SP 811, appendix B: 1 ft = 0.3048 m).
    let capacity = unit(&schedule, "AH-1").capacity.copied();
    assert!((capacity.expect("a capacity").0 - 12.0).abs() < 0.01);
    let limit = unit(&schedule, "OU-1").bus_limit.copied();
    assert!((limit.expect("a limit").0 - 2952.76).abs() < 0.01);
    assert!(faults(&schedule).is_empty());
}

#[test]
fn the_sheets_name_is_the_panels_where_its_cell_is_blank() {
    let schedule = schedule("headings/anywhere.xlsx");
    let panels = schedule.circuits.iter();
    let panels: Vec<&str> = panels.filter_map(|c| Some(c.panel.get()?.text())).collect();
    assert_eq!(panels, ["LP-3", "LP-3"]);
    assert_eq!(schedule.key, "G-77");
}

#[test]
fn slots_below_a_breaker_are_its_own() {
    let schedule = schedule("panels/order_by_side.xlsx");
    let find = |slot: u16| {
        let mut circuits = schedule.circuits.iter();
        let found = circuits.find(|c| slots(c).first() == Some(&slot));
        found.unwrap_or_else(|| panic!("no circuit at {slot}"))
    };
    for (slot, taken, load, breaker) in [
        (1, vec![1, 3, 5], vec!["OU-1"], 40.0),
        (2, vec![2, 4], vec!["FC-1", "FC-2"], 15.0),
        (6, vec![6, 8], vec!["AH-1"], 60.0),
        (10, vec![10], vec!["LIGHTS"], 20.0),
    ] {
        let circuit = find(slot);
        let spanned: Vec<u16> = circuit.slots_taken().iter().map(|s| s.number).collect();
        assert_eq!(spanned, taken);
        assert_eq!(loads(circuit), load);
        assert_eq!(circuit.breaker.copied().expect("a breaker").0, breaker);
    }
    let phase = |slot| find(slot).load_va.copied().map(|va| va.0);
    assert_eq!(phase(1), Some(10_200.0), "the three poles together");
}

#[test]
fn the_panel_of_a_directory_is_named_in_its_title() {
    let schedule = schedule("panels/directory.xlsx");
    let panels = schedule.circuits.iter();
    let panels: Vec<&str> = panels.filter_map(|c| Some(c.panel.get()?.text())).collect();
    assert!(!panels.is_empty() && panels.iter().all(|panel| *panel == "K2"));
    assert_eq!(loads(&schedule.circuits[1]), ["FC-1", "FC-2", "FC-3"]);
}

#[test]
fn dittos_mean_the_row_above() {
    let schedule = schedule("rows/ditto.csv");
    let mops: Vec<Option<f64>> = schedule.units.iter().map(mop).collect();
    assert_eq!(mops, [Some(15.0); 4]);
    let mcas: Vec<Option<f64>> = schedule.units.iter().map(mca).collect();
    assert_eq!(mcas, [Some(0.6), Some(0.6), Some(0.8), Some(0.8)]);
    assert!(
        schedule
            .circuits
            .iter()
            .all(|c| wire(c).as_deref() == Some("14 AWG"))
    );
    assert!(faults(&schedule).is_empty(), "{:?}", schedule.faults);
}

#[test]
fn ranges_lists_and_quantities_are_that_many_units() {
    let schedule = schedule("rows/tag_lists.csv");
    let mut expected: Vec<String> = (1..=10).map(|n| format!("FC-{n}")).collect();
    expected.extend(["BB-8", "BBH-8", "fc-013"].map(str::to_owned));
    assert_eq!(units_of(&schedule), expected);
    let schedule = super::schedule("rows/quantities.csv");
    assert_eq!(
        units_of(&schedule),
        [
            "OU-1", "FC-A", "FC-A", "FC-A", "FC-B", "FC-B", "FC-C", "FC-C"
        ]
    );
    let last = schedule.units.last().expect("a unit");
    assert_eq!(last.instance, (2, 2));
}

#[test]
fn what_is_hidden_is_read_and_said() {
    let (said, _) = ampledger(&["read", "rows/hidden.xlsx"]);
    for sentence in [
        "1 hidden or filtered rows of sheet Units were read (rows 3 to 3).",
        "Hidden columns of sheet Units were read: D.",
        "2 hidden or filtered rows of sheet Runs were read (rows 3 to 4).",
        "Sheet Controls is hidden; it was read.",
        "Sheet Panels is hidden; it was read.",
    ] {
        assert!(said.contains(sentence), "{sentence}\n{said}");
    }
    let schedule = schedule("rows/hidden.xlsx");
    // The home run of the thermostat is a run too.
    assert_eq!((schedule.units.len(), schedule.runs.len()), (3, 4));
}

/// Cell, what it may have been, what was taken.
fn dates(schedule: &Schedule) -> Vec<(String, Vec<String>, Option<String>)> {
    let faults = schedule.faults.iter().filter_map(|fault| match fault {
        Fault::DateForWire {
            at,
            readings,
            taken,
            ..
        } => Some((
            schedule.sources.address((*at).into()).cell,
            readings.clone(),
            taken.clone(),
        )),
        _ => None,
    });
    faults.collect()
}

#[test]
fn dates_are_notations_again_where_one_reading_is_left() {
    for name in ["damage/dates.xlsx", "damage/dates_1904.xlsx"] {
        let schedule = schedule(name);
        let mut found = dates(&schedule);
        found.sort();
        let taken: Vec<(&str, Option<&str>)> = found
            .iter()
            .map(|(cell, _, taken)| (cell.as_str(), taken.as_deref()))
            .collect();
        assert_eq!(
            taken,
            [
                ("A5", Some("1/3")),
                ("C3", Some("2/30")),
                ("D2", Some("10/2")),
                ("D3", Some("12/2")),
                ("D4", Some("14/2")),
                // Cables of 3 AWG are not made for this: `3/4` was not typed.
                ("D5", Some("4/3")),
            ],
            "{name}"
        );
        let wires: Vec<Option<String>> = schedule.circuits.iter().map(wire).collect();
        let sized = |size: &str| Some(size.to_owned());
        assert_eq!(
            wires,
            [
                sized("10 AWG"),
                sized("12 AWG"),
                sized("14 AWG"),
                sized("4 AWG")
            ],
            "{name}"
        );
        let second = &schedule.circuits[1];
        assert_eq!(second.breaker.copied().expect("a breaker").0, 30.0);
        assert_eq!(second.poles.copied(), Some(2));
        assert_eq!(slots(&schedule.circuits[3]), [1, 3]);
    }
}

#[test]
fn errors_are_questions_and_never_nought() {
    let schedule = schedule("damage/error_cells.xlsx");
    assert!(matches!(unit(&schedule, "OU-1").mca, Field::Unreadable(_)));
    assert!(matches!(unit(&schedule, "FC-1").mop, Field::Unreadable(_)));
    assert!(matches!(unit(&schedule, "FC-2").mca, Field::Unreadable(_)));
    assert_eq!(faults(&schedule), ["C2", "D3", "C4"]);
}

#[test]
fn numbers_kept_as_text_are_numbers() {
    let schedule = schedule("damage/numbers_as_text.xlsx");
    let read: Vec<_> = schedule.units.iter().map(|u| (mca(u), mop(u))).collect();
    assert_eq!(
        read,
        [
            (Some(28.4), Some(45.0)),
            (Some(0.6), Some(15.0)),
            (Some(0.8), Some(15.0))
        ]
    );
    assert!(faults(&schedule).is_empty(), "{:?}", schedule.faults);
}

#[test]
fn zeros_that_stand_are_kept_and_tell_marks_apart() {
    let schedule = schedule("damage/lost_zeros.csv");
    assert_eq!(units_of(&schedule), ["5", "6", "05"]);
    let read: Vec<Vec<u16>> = schedule.circuits.iter().map(slots).collect();
    assert_eq!(read, [[2, 4], [6, 8], [10, 12]]);
}

#[test]
fn texts_kept_by_a_formula_are_the_texts() {
    let schedule = schedule("damage/text_trick.csv");
    assert_eq!(units_of(&schedule), ["OU-1", "005"]);
    assert_eq!(mca(unit(&schedule, "005")), Some(0.6));
    let wires: Vec<Option<String>> = schedule.circuits.iter().map(wire).collect();
    assert_eq!(wires, [Some("8 AWG".to_owned()), Some("14 AWG".to_owned())]);
}

#[test]
fn delimiters_and_decimal_commas_are_settled_by_the_file() {
    let schedule = schedule("damage/sep_line.csv");
    assert_eq!(mca(unit(&schedule, "OU-1")), Some(28.4));
    let metric = super::schedule("sent/metric.csv");
    assert_eq!(mca(unit(&metric, "AC-O-1")), Some(18.2));
    assert_eq!(mca(unit(&metric, "AC-I-2")), Some(0.4));
}

#[test]
fn stray_quotes_and_inch_marks_stay_in_their_cells() {
    let schedule = schedule("damage/stray_quotes.csv");
    let read: Vec<(Vec<u16>, Option<String>)> = schedule
        .circuits
        .iter()
        .map(|circuit| (slots(circuit), wire(circuit)))
        .collect();
    let sized = |size: &str| Some(size.to_owned());
    assert_eq!(
        read,
        [
            (vec![1, 3], sized("8 AWG")),
            (vec![5, 7], sized("14 AWG")),
            (vec![9, 11], sized("6 AWG")),
            (vec![13, 15], sized("14 AWG")),
        ]
    );
    assert!(schedule.circuits[..3].iter().all(|c| c.raceway.is_given()));
}

#[test]
fn short_and_long_rows_keep_what_they_have() {
    let schedule = schedule("damage/ragged.csv");
    assert_eq!(units_of(&schedule), ["OU-1", "FC-1", "FC-2", "FC-3"]);
    assert_eq!(mop(unit(&schedule, "OU-1")), Some(45.0));
    assert!(unit(&schedule, "FC-2").mca.is_blank());
    let room = unit(&schedule, "FC-3").room.get();
    assert_eq!(room.map(String::as_str), Some("Den"));
}

#[test]
fn encodings_are_one_text() {
    for name in ["bom_utf8", "bom_utf16", "western", "mojibake"] {
        let schedule = schedule(&format!("damage/{name}.csv"));
        let supply = unit(&schedule, "OU-1").supply.get();
        let supply = supply.unwrap_or_else(|| panic!("{name}: no supply"));
        assert_eq!(supply.to_string(), "208 V 1-phase", "{name}");
        assert_eq!(mca(unit(&schedule, "FC-1")), Some(0.6), "{name}");
    }
    for name in ["cr_only", "wide_title"] {
        let schedule = schedule(&format!("damage/{name}.csv"));
        assert_eq!(mca(unit(&schedule, "FC-1")), Some(0.6), "{name}");
    }
}

#[test]
fn the_length_of_a_home_run_is_its_circuits() {
    let schedule = schedule("sent/estimator.xlsx");
    let lengths: Vec<f64> = schedule
        .circuits
        .iter()
        .filter_map(|c| c.length.copied())
        .map(|feet| feet.0)
        .collect();
    assert_eq!(
        lengths,
        [85.0, 90.0, 40.0, 55.0],
        "of dittoed circuits the first"
    );
}

#[test]
fn a_date_that_may_be_two_cables_stays_undecided() {
    let schedule = schedule("damage/dates_undecided.xlsx");
    let doubts: Vec<(&[String], Option<&str>)> = schedule
        .faults
        .iter()
        .filter_map(|fault| match fault {
            Fault::DateForWire {
                readings, taken, ..
            } => Some((readings.as_slice(), taken.as_deref())),
            _ => None,
        })
        .collect();
    assert_eq!(doubts.len(), 2);
    assert!(
        doubts
            .iter()
            .any(|(readings, taken)| *readings == ["4/2", "2/4"] && taken.is_none())
    );
    assert!(
        doubts
            .iter()
            .any(|(readings, taken)| *readings == ["1/6"] && *taken == Some("1/6"))
    );
    let first = &schedule.circuits[0];
    assert!(matches!(first.conductor, Field::Unreadable(_)));
    let said = audited("damage/dates_undecided.xlsx");
    assert!(
        said.contains("\u{201c}4/2\u{201d} or \u{201c}2/4\u{201d} may have been typed"),
        "{said}"
    );
}

#[test]
fn a_list_without_a_gap_is_none_of_the_table() {
    let schedule = schedule("rows/list_no_gap.xlsx");
    assert_eq!(
        units_of(&schedule),
        ["OU-1", "FC-1", "FC-2", "OU-2", "FC-3"]
    );
}

#[test]
fn a_word_where_a_door_would_stand_names_the_dwelling() {
    let schedule = schedule("rows/sections_words.xlsx");
    assert_eq!(
        units(&schedule),
        [
            "12C OU-1",
            "12C FC-1",
            "PENTHOUSE OU-1",
            "PENTHOUSE FC-1",
            "LOBBY OU-2",
            "LOBBY FC-9",
        ]
    );
}

#[test]
fn a_slash_in_a_tag_is_asked_about() {
    let (said, _) = ampledger(&["read", "rows/slash_tags.csv"]);
    assert!(
        said.contains("row 3: left out, its tag may be one unit or several"),
        "{said}"
    );
    let said = audited("rows/slash_tags.csv");
    for text in ["FC-11/12", "FC-1/2", "a slash may mean either"] {
        assert!(said.contains(text), "{text}: {said}");
    }
}

#[test]
fn two_fields_that_are_as_likely_are_shown_and_not_chosen() {
    let (said, _) = ampledger(&["read", "blind/two_candidates.csv"]);
    assert!(
        said.contains("not recognised: is it circuit.length or controller.length?"),
        "{said}"
    );
    let (json, _) = ampledger(&["read", "blind/two_candidates.csv", "--json"]);
    assert!(
        json.contains("\"nearest\": \"circuit.length or controller.length\""),
        "{json}"
    );
}

#[test]
fn headings_of_one_reading_do_not_reach_another() {
    let path = super::folder().join("blind/two_candidates.csv");
    let known = |schemas: &Arc<Schemas>| {
        let understood = batch::understand(std::slice::from_ref(&path), None, schemas);
        let columns = understood.files[0].tables[0].columns.iter();
        columns.filter(|column| !column.fields.is_empty()).count()
    };
    let own = "[headings]\n\"One-way length\" = \"circuit.length\"\n";
    let own = Schemas::embedded().with_headings(own).expect("headings");
    let (carried, own) = (Schemas::shared(), Arc::new(own));
    assert_eq!([known(&carried), known(&own), known(&carried)], [7, 8, 7]);
}

#[test]
fn a_grid_of_doors_and_types_reaches_every_dwelling() {
    let schedule = schedule("apartments/typical_grid.xlsx");
    let all = units(&schedule);
    assert_eq!(all.len(), 4 * 2 + 2 * 3, "{all:?}");
    for unit in ["201 OU-1", "202 IU-2", "303 IU-1"] {
        assert!(all.iter().any(|known| known == unit), "{unit}: {all:?}");
    }
    let of = |tag: &str| {
        schedule
            .units
            .iter()
            .find(|u| u.dwelling.get().map(|n| n.text()) == Some(tag))
    };
    assert_eq!(of("202").map(mca), Some(Some(22.8)));
}

/// The findings of a file, as CSV.
fn audited(file: &str) -> String {
    let out = tempfile::tempdir().expect("a folder");
    let out = out.path().join("audited");
    let out = out.to_string_lossy();
    let options = ["--findings-only", "--format", "csv", "--out", &out];
    let (said, _) = ampledger(&[&["audit", file][..], &options].concat());
    said
}
