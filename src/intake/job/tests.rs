use super::*;
use crate::intake::assemble::tests::grid::Grid;
use crate::schedule::FieldName;
use TableKind::{Circuits, Equipment, WireRuns};

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

fn equipment(path: &str) -> Grid {
    Grid::new(path, &[Equipment], "unit.tag", "Tag\nOU-1\nFC-1\n")
}

fn circuits(path: &str) -> Grid {
    Grid::new(path, &[Circuits], "circuit.loads", "Load\nOU-1\n")
}

fn runs(path: &str) -> Grid {
    Grid::new(path, &[WireRuns], "run.from,run.to", "From,To\nOU-1,FC-1\n")
}

/// The same table under a form of number and name.
fn stating(mut grid: Grid, number: &str, name: &str) -> Grid {
    grid.text = format!("Job No,{number}\nJob,{name}\n{}", grid.text);
    grid.header(2)
        .form(FieldName::JobNumber, 0)
        .form(FieldName::JobName, 1)
}

/// Files of each job, why, and files that join none.
fn grouped(grids: Vec<Grid>, per: JobPer) -> (Vec<(Vec<usize>, Together)>, Vec<usize>) {
    let files: Vec<ReadFile> = grids.into_iter().map(Grid::read).collect();
    let grouping = group(files.iter().map(Claims::of), per);
    let jobs = grouping
        .jobs
        .into_iter()
        .map(|job| {
            (
                job.files.iter().map(|(file, _)| *file).collect(),
                job.reason,
            )
        })
        .collect();
    (jobs, grouping.unjoined.iter().map(|u| u.file).collect())
}

#[test]
fn files_of_one_number_are_one_job_whatever_they_are_called() {
    let (jobs, unjoined) = grouped(
        vec![
            stating(equipment("a.csv"), "2214", "Elm Court"),
            stating(equipment("b.csv"), "2215", "Elm Court"),
            stating(circuits("c.csv"), "2214", "Elm Ct."),
            stating(circuits("d.csv"), "2215", ""),
        ],
        JobPer::Facts,
    );
    assert_eq!(
        jobs,
        [
            (vec![0, 2], Together::SameNumber("2214".to_owned())),
            (vec![1, 3], Together::SameNumber("2215".to_owned())),
        ]
    );
    assert!(unjoined.is_empty());
}

#[test]
fn files_of_one_name_are_one_job_where_no_number_tells_them_apart() {
    let (jobs, _) = grouped(
        vec![
            stating(equipment("a.csv"), "", "Elm Court"),
            stating(equipment("b.csv"), "", "Oak House"),
            stating(circuits("c.csv"), "", "ELM  COURT"),
        ],
        JobPer::Facts,
    );
    assert_eq!(
        jobs,
        [
            (vec![0, 2], Together::SameName("Elm Court".to_owned())),
            (vec![1], Together::OwnEquipment),
        ]
    );
}

#[test]
fn files_whose_stems_agree_are_one_job() {
    let (jobs, unjoined) = grouped(
        vec![
            equipment("bids/Maple Court rev 2 equipment.csv"),
            circuits("bids/Maple Court circuits.csv"),
            equipment("bids/Oak House equipment.csv"),
            runs("bids/Oak House - wire runs.csv"),
            runs("bids/Pine Row wire runs.csv"),
        ],
        JobPer::Facts,
    );
    assert_eq!(
        jobs,
        [
            (vec![0, 1], Together::SameStem("MAPLE-COURT".to_owned())),
            (vec![2, 3], Together::SameStem("OAK-HOUSE".to_owned())),
        ]
    );
    assert_eq!(unjoined, [4]);
}

#[test]
fn files_without_a_common_word_are_one_job_where_no_kind_repeats() {
    let (jobs, _) = grouped(
        vec![
            equipment("units of tower.csv"),
            circuits("feeds.csv"),
            runs("comm pulls.csv"),
        ],
        JobPer::Facts,
    );
    assert_eq!(jobs, [(vec![0, 1, 2], Together::KindsApart)]);
    let (jobs, unjoined) = grouped(
        vec![
            equipment("north.csv"),
            equipment("south.csv"),
            circuits("feeds.csv"),
        ],
        JobPer::Facts,
    );
    assert_eq!(
        jobs,
        [
            (vec![0], Together::OwnEquipment),
            (vec![1], Together::OwnEquipment)
        ]
    );
    assert_eq!(unjoined, [2]);
}

#[test]
fn table_words_alone_are_one_job_named_after_its_folder() {
    let files = [
        equipment("Elm Court/equipment.csv").read(),
        circuits("Elm Court/circuits.csv").read(),
    ];
    let grouping = group(files.iter().map(Claims::of), JobPer::Facts);
    assert_eq!(grouping.jobs.len(), 1);
    assert_eq!(grouping.jobs[0].stem, "Elm Court");
    assert_eq!(grouping.jobs[0].reason, Together::SameStem(String::new()));
}

#[test]
fn a_lone_file_is_a_job_even_without_equipment() {
    let (jobs, unjoined) = grouped(vec![circuits("feeds.csv")], JobPer::Facts);
    assert_eq!(jobs, [(vec![0], Together::OnlyFile)]);
    assert!(unjoined.is_empty());
}

#[test]
fn the_user_may_ask_for_each_file_or_for_the_folder() {
    let files = || vec![equipment("a.csv"), equipment("b.csv"), circuits("c.csv")];
    let (jobs, _) = grouped(files(), JobPer::File);
    let parts: Vec<_> = jobs.into_iter().map(|(files, _)| files).collect();
    assert_eq!(parts, [vec![0], vec![1], vec![2]]);
    let (jobs, _) = grouped(files(), JobPer::Folder);
    assert_eq!(jobs, [(vec![0, 1, 2], Together::Asked(JobPer::Folder))]);
}

#[test]
fn a_job_column_splits_and_other_files_join_by_its_number() {
    let season = Grid::new(
        "season.csv",
        &[Equipment],
        "job.number,unit.tag",
        "Job,Tag\n7,OU-1\n7,FC-1\n8,OU-1\n,FC-1\n7,FC-2\n",
    );
    let files = [
        season.read(),
        stating(circuits("feeds.csv"), "8", "Oak House").read(),
        equipment("Pine Row.csv").read(),
    ];
    let grouping = group(files.iter().map(Claims::of), JobPer::Facts);
    let rows =
        |rows: &[u32]| RowChoice::Rows(vec![(0, rows.iter().map(|r| RowIndex(*r)).collect())]);
    let jobs: Vec<_> = grouping
        .jobs
        .iter()
        .map(|job| (&job.files, &job.reason))
        .collect();
    assert_eq!(
        jobs,
        [
            (&vec![(0, rows(&[1, 2, 5]))], &Together::Column),
            (
                &vec![(0, rows(&[3, 4])), (1, RowChoice::All)],
                &Together::SameNumber("8".to_owned())
            ),
            (&vec![(2, RowChoice::All)], &Together::OwnEquipment),
        ]
    );
    assert!(grouping.unjoined.is_empty());
}

#[test]
fn a_name_that_two_numbers_share_joins_neither() {
    let (jobs, unjoined) = grouped(
        vec![
            stating(equipment("a.csv"), "1", "Elm Court"),
            stating(equipment("b.csv"), "2", "Elm Court"),
            stating(circuits("c.csv"), "", "Elm Court"),
        ],
        JobPer::Facts,
    );
    assert_eq!(jobs.len(), 2);
    assert_eq!(unjoined, [2]);
}
