use super::*;
use crate::findings::Disposition;
use crate::report::batch::JobRow;
use crate::report::facts::{JobAbout, JobFacts, JobResult, UnitFact};
use crate::report::shelf::Shelf;

/// A job of its own file, without units.
fn job(name: &str, number: &str, revision: &str, date: &str) -> JobResult {
    JobResult {
        takeoff: Vec::new(),
        origin: Default::default(),
        row: JobRow {
            job: name.into(),
            disposition: Disposition::NoExceptionsNoted,
            fix: 0,
            verify: 0,
            note: 0,
            accepted: 0,
            worst: None,
            files: vec![format!("{name} {revision}.csv")],
            reason: String::new(),
            workbook: None,
            copies: Vec::new(),
            about: JobAbout {
                key: if number.is_empty() { name } else { number }.into(),
                number: number.into(),
                name: name.into(),
                revision: revision.into(),
                date: date.into(),
                content: format!("{name}{revision}{date}"),
                ..JobAbout::default()
            },
        },
        findings: Vec::new(),
        facts: JobFacts::default(),
        tallies: Vec::new(),
        uses: Vec::new(),
    }
}

fn unit(tag: &str, model: &str) -> UnitFact {
    UnitFact {
        tag: tag.into(),
        model: model.into(),
        model_key: model.into(),
        file: format!("{tag}.csv"),
        cell: "A2".into(),
        ..UnitFact::default()
    }
}

fn with_mca(mut job: JobResult, mca: [Option<f64>; 2], volts: &str) -> JobResult {
    job.facts.units.push(UnitFact {
        mca,
        volts: volts.into(),
        ..unit("OU-1", "AA-36")
    });
    job
}

fn found(jobs: &[JobResult]) -> Vec<(&str, &str, &str)> {
    jobs.iter()
        .flat_map(|job| &job.findings)
        .map(|f| (f.job.as_str(), f.found.as_str(), f.limit.as_str()))
        .collect()
}

fn judged(jobs: Vec<JobResult>) -> Vec<JobResult> {
    let shelf = Shelf::new(std::env::temp_dir());
    let mut jobs = Jobs::of(jobs, &shelf);
    judge(&mut jobs).expect("facts that were put away");
    jobs.results()
}

fn named(names: &[&str], mca: &[[Option<f64>; 2]], volts: &str) -> Vec<JobResult> {
    let jobs = names.iter().zip(mca);
    jobs.map(|(name, mca)| with_mca(job(name, name, "", ""), *mca, volts))
        .collect()
}

#[test]
fn the_one_that_differs_from_the_majority_is_asked() {
    let mca = |amps| [Some(amps), None];
    let jobs = judged(named(
        &["A", "B", "C"],
        &[mca(31.4), mca(34.0), mca(31.4)],
        "208/230",
    ));
    assert_eq!(found(&jobs), [("B", "34 A", "31.4 A (in 2 of 3 jobs)")]);
    let finding = &jobs[1].findings[0];
    assert_eq!(finding.rule, MODEL_DISAGREES);
    assert_eq!(finding.severity, Severity::Verify);
    assert_eq!(
        finding.message,
        "Model AA-36 has MCA 34 A in this job (OU-1); elsewhere 31.4 A in 2 jobs (A, C)."
    );
    assert_eq!(finding.related.len(), 2);
}

#[test]
fn where_none_has_the_most_all_are_asked() {
    let mca = |amps| [Some(amps), None];
    let jobs = judged(named(&["A", "B"], &[mca(31.4), mca(34.0)], "208/230"));
    assert_eq!(
        found(&jobs),
        [
            ("A", "31.4 A", "no value has the most of 2 jobs"),
            ("B", "34 A", "no value has the most of 2 jobs"),
        ]
    );
}

#[test]
fn what_may_both_be_right_is_left_alone() {
    // One of a nameplate for two voltages.
    let two = [Some(42.7), Some(46.7)];
    let jobs = judged(named(&["A", "B"], &[two, [Some(46.7), None]], "208/230"));
    assert!(found(&jobs).is_empty());
    // Quoted at 208 V in one job and at 230 V in the other.
    let jobs = judged(vec![
        with_mca(job("A", "A", "", ""), [Some(46.7), None], "208"),
        with_mca(job("B", "B", "", ""), [Some(42.7), None], "230"),
    ]);
    assert!(found(&jobs).is_empty(), "{:?}", found(&jobs));
    // Another heater is another nameplate.
    let mut jobs = named(&["A", "B"], &[two, [Some(60.0), None]], "230");
    jobs[1].facts.units[0].heat_kw = Some(10.0);
    assert!(found(&judged(jobs)).is_empty());
    // Capacities rounded: 36 and 36.4; not 36 and 40.
    for (other, findings) in [(36.4, 0), (40.0, 2)] {
        let mut jobs = named(&["A", "B"], &[[None, None], [None, None]], "230");
        jobs[0].facts.units[0].capacity = Some(36.0);
        jobs[1].facts.units[0].capacity = Some(other);
        assert_eq!(found(&judged(jobs)).len(), findings, "{other}");
    }
    // A phase more is another supply.
    let mut jobs = named(&["A", "B"], &[[None, None], [None, None]], "208");
    jobs[0].facts.units[0].phases = Some(1);
    jobs[1].facts.units[0].phases = Some(3);
    assert_eq!(found(&judged(jobs)).len(), 2);
}

#[test]
fn a_row_that_contradicts_itself_is_its_own_jobs_fault() {
    let mca = |amps| [Some(amps), None];
    let mut jobs = named(&["A", "B"], &[mca(15.0), mca(0.8)], "230");
    jobs[0].facts.units[0].mop = mca(0.8);
    jobs[1].facts.units[0].mop = mca(15.0);
    assert!(found(&judged(jobs)).is_empty());
}

fn superseded(jobs: &[JobResult]) -> Vec<bool> {
    jobs.iter().map(|job| !job.row.counts()).collect()
}

#[test]
fn the_highest_revision_is_current_then_the_latest_date() {
    for (submissions, wanted) in [
        ([("1", ""), ("2", "")], [true, false]),
        ([("Rev 10", ""), ("Rev 9", "")], [false, true]),
        ([("B", ""), ("A", "")], [false, true]),
        ([("", ""), ("1", "")], [true, false]),
        ([("", "2026-03-01"), ("", "2026-04-01")], [true, false]),
        // The revision goes before the date.
        ([("2", "2026-03-01"), ("1", "2026-04-01")], [false, true]),
        // A letter and a number: the date decides.
        ([("C", "2026-03-01"), ("1", "2026-04-01")], [true, false]),
        // Nothing tells them apart: none is dropped, both are asked.
        ([("C", ""), ("1", "")], [false, false]),
        ([("2", ""), ("2", "")], [false, false]),
    ] {
        let mut jobs: Vec<JobResult> = submissions
            .iter()
            .map(|(revision, date)| job("Elm 3", "26-101", revision, date))
            .collect();
        jobs[1].row.files = vec!["other.csv".into()];
        jobs[1].row.about.content = "other".into();
        let jobs = judged(jobs);
        assert_eq!(superseded(&jobs), wanted, "{submissions:?}");
        let findings = jobs.iter().map(|job| job.findings.len()).sum::<usize>();
        let asked = if wanted.contains(&true) { 1 } else { 2 };
        assert_eq!(findings, asked, "{submissions:?}");
    }
}

#[test]
fn a_superseded_value_is_held_against_nobody() {
    let old = with_mca(job("Elm", "1", "1", ""), [Some(34.0), None], "230");
    let mut new = with_mca(job("Elm", "1", "2", ""), [Some(31.4), None], "230");
    new.row.files = vec!["new.csv".into()];
    let other = with_mca(job("Oak", "2", "", ""), [Some(31.4), None], "230");
    let jobs = judged(vec![old, new, other]);
    let rules: Vec<&str> = jobs
        .iter()
        .flat_map(|job| &job.findings)
        .map(|f| f.rule.as_str())
        .collect();
    assert_eq!(rules, [JOB_SUBMITTED_TWICE]);
}

#[test]
fn jobs_that_only_share_a_name_or_a_plan_are_counted() {
    // One file name in two folders, and nothing else in common.
    let mut a = job("schedule", "", "", "");
    let mut b = job("schedule", "", "", "");
    a.row.files = vec!["elm/schedule.csv".into()];
    b.row.files = vec!["oak/schedule.csv".into()];
    b.row.about.content = "another".into();
    a.facts.units = vec![unit("OU-1", ""), unit("FC-1", "")];
    b.facts.units = vec![unit("HP-7", ""), unit("AH-7", "")];
    let jobs = judged(vec![a, b]);
    assert_eq!(superseded(&jobs), [false, false]);
    assert!(jobs.iter().all(|job| job.findings.is_empty()));
    // One plan built twice: said once, both count.
    let mut a = job("House 12", "", "", "");
    let mut b = job("House 13", "", "", "");
    a.row.about.content = "plan".into();
    b.row.about.content = "plan".into();
    let jobs = judged(vec![a.clone(), b.clone()]);
    assert_eq!(superseded(&jobs), [false, false]);
    assert_eq!(jobs[1].findings.len(), 1);
    assert!(jobs[1].findings[0].message.contains("one plan built twice"));
    // With job numbers they tell themselves apart.
    a.row.about.number = "12".into();
    b.row.about.number = "13".into();
    assert!(judged(vec![a, b]).iter().all(|job| job.findings.is_empty()));
}
