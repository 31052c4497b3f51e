//! Jobs over several files.

use super::{ampledger, schedule_of, units};
use ampledger::schedule::{Fault, FieldName};

#[test]
fn circuits_in_one_file_find_their_panels_in_another() {
    let (said, _) = ampledger(&["read", "jobs/parts"]);
    assert!(said.starts_with("1 job\n"), "{said}");
    let schedule = schedule_of(&[
        "jobs/parts/Heron bus runs.csv",
        "jobs/parts/Heron equipment.csv",
        "jobs/parts/Heron panels.xlsx",
    ]);
    let panels = schedule.panels.iter().map(|panel| panel.name.value.text());
    let mut panels: Vec<&str> = panels.collect();
    panels.dedup();
    assert_eq!(panels, ["12C"]);
    // `Panel 12C` is the sheet of that name: its breakers are the units'.
    let breakers: Vec<f64> = schedule
        .units
        .iter()
        .map(|unit| {
            let (circuit, _) = unit.circuits.first().expect("a circuit");
            let breaker = schedule.circuit(*circuit).breaker.copied();
            breaker.expect("a breaker").0
        })
        .collect();
    assert_eq!(breakers, [45.0, 15.0, 15.0]);
    assert_eq!(disagreements(&schedule), []);
}

/// Field, and the files of the two cells.
fn disagreements(schedule: &ampledger::schedule::Schedule) -> Vec<(FieldName, String, String)> {
    let file = |at| schedule.sources.address(at).file;
    let faults = schedule.faults.iter().filter_map(|fault| match fault {
        Fault::Disagrees {
            field, at, other, ..
        } => Some((*field, file((*at).into()), file((*other).into()))),
        _ => None,
    });
    faults.collect()
}

#[test]
fn one_panel_in_two_files_that_disagree_is_a_finding() {
    let (said, _) = ampledger(&["read", "jobs/conflict"]);
    assert!(said.starts_with("1 job\n"), "{said}");
    let (first, second) = (
        "jobs/conflict/Plover equipment.xlsx",
        "jobs/conflict/Plover panels.csv",
    );
    let schedule = schedule_of(&[first, second]);
    let mut found = disagreements(&schedule);
    found.sort();
    let both = |field| (field, second.to_owned(), first.to_owned());
    let expected = [FieldName::PanelMain, FieldName::CircuitBreaker].map(both);
    let mut expected = expected.to_vec();
    expected.sort();
    assert_eq!(found, expected);
}

#[test]
fn a_typical_form_reaches_over_the_files_of_a_job() {
    let (said, status) = ampledger(&["read", "jobs/typical"]);
    assert!(said.starts_with("1 job\n"), "{said}");
    assert_eq!(status, Some(0));
    let schedule = schedule_of(&[
        "jobs/typical/Dunlin apartments.csv",
        "jobs/typical/Dunlin units.csv",
    ]);
    let mut found = units(&schedule);
    found.sort();
    let all = ["101 FC-1", "101 FC-2", "102 FC-1", "103 FC-1", "103 FC-2"];
    assert_eq!(found, all);
    let unit = &schedule.units[0];
    let at = unit.dwelling.at().expect("a cell");
    let address = schedule.sources.address(at.into());
    assert_eq!(address.file, "jobs/typical/Dunlin apartments.csv");
}
