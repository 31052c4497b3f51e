use super::*;

#[test]
fn stems_lose_table_and_revision_words() {
    for (name, stem) in [
        ("Maple Court rev 2 equipment.csv", "Maple Court"),
        ("Maple Court equipment (2).csv", "Maple Court"),
        ("maple-court_circuits_R3.xlsx", "maple court"),
        ("MapleCourtWireRuns.csv", "Maple Court"),
        ("Maple Court - wire runs - resubmittal B.csv", "Maple Court"),
        ("Maple Court 2026-05-01 panels FINAL.xlsx", "Maple Court"),
        ("Maple Court 20260501.xlsx", "Maple Court"),
        ("Maple Court 5.1.26 v2.xlsx", "Maple Court"),
        ("14 Elm St thermostats.csv", "14 Elm St"),
        ("Lot 7 Job 2214 circuits.csv", "Lot 7 2214"),
        ("Building B equipment.csv", "Building B"),
        ("equipment.csv", ""),
        ("circuits rev 2.csv", ""),
    ] {
        assert_eq!(stem_of(name).text, stem, "{name}");
    }
    assert_eq!(
        stem_of("Maple Court rev 2 equipment.csv").key,
        stem_of("maple_court-circuits.csv").key
    );
    assert_ne!(
        stem_of("Building A equipment.csv").key,
        stem_of("Building B equipment.csv").key
    );
    assert_ne!(
        stem_of("Lot 7 equipment.csv").key,
        stem_of("Lot 8 equipment.csv").key
    );
}

#[test]
fn a_name_of_table_words_alone_gives_way_to_its_folder() {
    assert_eq!(
        stem_of_path("bids/Maple Court/equipment.csv"),
        "Maple Court"
    );
    assert_eq!(stem_of_path("equipment.csv"), "equipment");
    assert_eq!(stem_of_path("bids/Elm 4 circuits.csv"), "Elm 4");
}
