use super::job::{part, read, texts};
use super::scene::*;
use crate::findings::{Audit, Disposition, NotCheckedTally, RuleTally, Severity};
use crate::practice::Practice;
use crate::report::batch::{BatchBook, BatchEnd, JobRow, UnreadFile};
use crate::report::facts::JobResult;
use crate::report::frame::{self, RuleCount};
use crate::report::groups::Counts;
use crate::report::jobs::Jobs;
use crate::report::record::Record;
use crate::report::shelf::Shelf;
use crate::report::summary::{SummaryView, summary};
use crate::report::text::FindingsCsv;
use crate::schedule::Schedule;
use calamine::Reader;

fn row(job: &str, audit: &Audit) -> JobRow {
    let worst = audit.findings.iter().max_by_key(|f| f.severity);
    JobRow {
        job: job.into(),
        disposition: audit.disposition,
        fix: audit.count(Severity::Fix),
        verify: audit.count(Severity::Verify),
        note: audit.count(Severity::Note),
        accepted: audit.accepted(),
        worst: worst.map(|f| (f.severity, f.rule)),
        files: vec![format!("{job}.xlsx")],
        reason: "One workbook is one job.".into(),
        copies: Vec::new(),
        workbook: Some(format!("jobs/{job}.xlsx")),
        about: Default::default(),
    }
}

/// The findings of a job, under another name.
fn records(schedule: &Schedule, job: &str, audit: &Audit) -> Vec<Record> {
    let rename = |finding| Record {
        job: job.into(),
        ..Record::new(schedule, finding)
    };
    audit.findings.iter().map(rename).collect()
}

fn result(schedule: &Schedule, row: JobRow, audit: &Audit) -> JobResult {
    JobResult {
        takeoff: Vec::new(),
        origin: Default::default(),
        findings: records(schedule, &row.job, audit),
        row,
        facts: Default::default(),
        tallies: audit.tallies.clone(),
        uses: Vec::new(),
    }
}

fn clean() -> Audit {
    Audit {
        outcomes: Vec::new(),
        findings: Vec::new(),
        unlisted: Vec::new(),
        tallies: Vec::new(),
        disposition: Disposition::NoExceptionsNoted,
    }
}

fn with_findings(mut batch: BatchBook, jobs: &Jobs) -> BatchBook {
    for job in jobs.iter() {
        batch.add(job).unwrap();
    }
    batch
}

/// How often each rule is broken, where each of these jobs has the findings.
fn counted(schedule: &Schedule, names: &[&str], audit: &Audit) -> Vec<RuleCount> {
    let shelf = Shelf::new(std::env::temp_dir());
    let jobs = names
        .iter()
        .map(|name| result(schedule, row(name, audit), audit));
    let jobs = Jobs::of(jobs.collect(), &shelf);
    frame::rules_by_severity(&frame::counted_findings(&jobs).unwrap()).unwrap()
}

#[test]
fn the_batch_lists_jobs_findings_rules_and_what_was_not_read() {
    let schedule = house();
    let audit = house_audit(&schedule);
    let shelf = Shelf::new(std::env::temp_dir());
    let jobs = vec![
        result(&schedule, row("Larch Hill", &audit), &audit),
        result(&schedule, row("Quarry Row", &clean()), &clean()),
    ];
    let jobs = Jobs::of(jobs, &shelf);
    let batch = BatchBook::new(AS_OF, 5).unwrap();
    let bytes = with_findings(batch, &jobs)
        .finish(&BatchEnd {
            counted: &frame::counted_findings(&jobs).unwrap(),
            distinct: jobs.distinct().unwrap(),
            jobs: &jobs,
            tallies: &audit.tallies,
            unread: &[UnreadFile {
                path: "bids/old.xls".into(),
                why: "The file asks for a password.".into(),
            }],
            other_files: 3,
            practice: &Practice::default(),
            compared: None,
            notes: &[],
        })
        .unwrap();
    let mut book = read(&bytes);
    assert_eq!(
        book.sheet_names(),
        [
            "Overview",
            "Jobs",
            "Findings",
            "Submitters",
            "Models",
            "Twins",
            "Takeoff",
            "Rules",
            "Unread",
            "Basis"
        ]
    );
    let jobs = texts(&book.worksheet_range("Jobs").unwrap());
    assert_eq!(jobs[1][0], "2 jobs");
    assert_eq!(
        jobs[2][0],
        "1 revise and resubmit, 1 no exceptions noted. 1 file could not be read: see Unread."
    );
    assert_eq!(
        jobs[5][..11],
        [
            "Larch Hill",
            "revise and resubmit",
            "",
            "",
            "",
            "3",
            "1",
            "1",
            "0",
            "FIX controller-missing",
            "jobs/Larch Hill.xlsx"
        ]
    );
    let links = part(&bytes, "xl/worksheets/_rels/sheet2.xml.rels");
    assert!(
        links.contains("Target=\"jobs/Larch%20Hill.xlsx\" TargetMode=\"External\""),
        "{links}"
    );
    let findings = texts(&book.worksheet_range("Findings").unwrap());
    assert_eq!(findings.len(), 3 + audit.findings.len());
    assert!(findings[3..].iter().all(|row| row[0] == "Larch Hill"));
    let overview = texts(&book.worksheet_range("Overview").unwrap());
    assert_eq!(
        overview[2][0],
        "3 to fix, 1 to verify, 1 note; 1 file not read."
    );
    let label = |label: &str| overview.iter().find(|row| row[0] == label);
    assert_eq!(label("revise and resubmit").unwrap()[1], "1");
    assert_eq!(label("not stated").unwrap()[1..5], ["3", "1", "1", "2"]);
    let submitters = texts(&book.worksheet_range("Submitters").unwrap());
    assert_eq!(submitters.len(), 3 + 5, "a row for each rule broken");
    let unread = texts(&book.worksheet_range("Unread").unwrap());
    assert_eq!(unread[3], ["bids/old.xls", "The file asks for a password."]);
}

#[test]
fn more_rows_than_a_sheet_holds_go_on_in_the_next_and_it_is_said() {
    let schedule = house();
    let audit = house_audit(&schedule);
    let shelf = Shelf::new(std::env::temp_dir());
    let results: Vec<JobResult> = (1..=3)
        .map(|n| result(&schedule, row(&format!("Larch {n}"), &audit), &audit))
        .collect();
    let jobs = Jobs::of(results.clone(), &shelf);
    // Two rows of findings a sheet, behind the three of the head.
    let batch = BatchBook::new(AS_OF, 15).unwrap().with_most_rows(4);
    let unread = ["a", "b", "c", "d", "e"].map(|path| UnreadFile {
        path: path.into(),
        why: "The file asks for a password.".into(),
    });
    let bytes = with_findings(batch, &jobs)
        .finish(&BatchEnd {
            counted: &frame::counted_findings(&jobs).unwrap(),
            distinct: jobs.distinct().unwrap(),
            jobs: &jobs,
            tallies: &audit.tallies,
            unread: &unread,
            other_files: 0,
            practice: &Practice::default(),
            compared: None,
            notes: &[],
        })
        .unwrap();
    let mut book = read(&bytes);
    let sheets: Vec<String> = book
        .sheet_names()
        .into_iter()
        .filter(|name| name.starts_with("Findings"))
        .collect();
    let all = 3 * audit.findings.len();
    assert_eq!(sheets.len(), all.div_ceil(2));
    let mut ids = Vec::new();
    for (at, name) in sheets.iter().enumerate() {
        let rows = texts(&book.worksheet_range(name).unwrap());
        let goes_on = rows
            .iter()
            .any(|row| row[0].starts_with("The findings go on in the sheet"));
        assert_eq!(goes_on, at + 1 < sheets.len(), "{name}");
        assert_eq!(
            rows[1][0].contains("from the sheet before"),
            at > 0,
            "{name}"
        );
        let id = rows[2].iter().position(|heading| heading == "Id").unwrap();
        let found = rows[3..].iter().map(|row| row[id].clone());
        ids.extend(found.filter(|id| !id.is_empty()));
    }
    let wanted: Vec<String> = results
        .iter()
        .flat_map(|job| {
            let mut findings: Vec<&Record> = job.findings.iter().collect();
            findings.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
            findings.into_iter().map(|finding| finding.id.clone())
        })
        .collect();
    assert_eq!(ids, wanted, "each once, job by job, the worst first");
    let overview = texts(&book.worksheet_range("Overview").unwrap());
    let says = format!("The findings take {} sheets", sheets.len());
    assert!(overview[3][0].contains(&says), "{}", overview[3][0]);
    assert!(book.worksheet_range("Unread (2)").is_ok());
}

#[test]
fn the_takeoff_of_a_batch_sums_its_current_jobs() {
    let schedule = house();
    let item = |name: &str, order, amount| crate::takeoff::Item {
        kind: crate::takeoff::Kind::Breaker,
        order: (order, 2),
        name: name.into(),
        unit: "each",
        scheduled: crate::takeoff::Quantity {
            amount,
            without_length: 0,
        },
        proposed: Default::default(),
        price: Some(10.0),
    };
    let mut jobs: Vec<JobResult> = ["a", "b", "old"]
        .map(|job| result(&schedule, row(job, &clean()), &clean()))
        .into();
    for job in &mut jobs {
        job.takeoff = vec![item("breaker 15 A 2-pole", 150, 2.0)];
    }
    jobs[1]
        .takeoff
        .push(item("breaker 100 A 2-pole", 1000, 1.0));
    jobs[2].row.about.superseded_by = Some("a".into());
    let shelf = Shelf::new(std::env::temp_dir());
    let jobs = Jobs::of(jobs, &shelf);
    let batch = BatchBook::new(AS_OF, 15).unwrap();
    let end = BatchEnd {
        counted: &frame::counted_findings(&jobs).unwrap(),
        distinct: jobs.distinct().unwrap(),
        jobs: &jobs,
        tallies: &[],
        unread: &[],
        other_files: 0,
        practice: &Practice::default(),
        compared: None,
        notes: &[],
    };
    let mut book = read(&batch.finish(&end).unwrap());
    let rows = texts(&book.worksheet_range("Takeoff").unwrap());
    assert!(rows[1][0].contains("2 current jobs take"), "{}", rows[1][0]);
    assert_eq!(
        rows[4][..6],
        ["breaker 15 A 2-pole", "each", "2", "4", "0", "-4"]
    );
    assert_eq!(rows[5][..3], ["breaker 100 A 2-pole", "each", "1"]);
    assert_eq!(rows[6][7], "-50");
}

#[test]
fn csv_has_the_columns_in_their_order() {
    let schedule = house();
    let audit = house_audit(&schedule);
    let mut out = Vec::new();
    let mut csv = FindingsCsv::new(&mut out).unwrap();
    for record in &records(&schedule, "Larch Hill", &audit) {
        csv.one(record).unwrap();
    }
    csv.finish().unwrap();
    let text = String::from_utf8(out).unwrap();
    let mut lines = text.lines();
    assert_eq!(
        lines.next().unwrap(),
        "job,file,sheet,cell,subject,rule,severity,message,found,limit,remedy,source,id,\
         dwelling,dwelling_type,accepted_by,accepted_reason,accepted_until,since"
    );
    assert_eq!(lines.count(), audit.findings.len());
    assert!(
        text.contains(
            "Larch Hill,larch/house 4.xlsx,circuits,E2,\"LP-1,3\",protection-over-mop,fix,"
        )
    );
}

#[test]
fn frames_count_rules_and_find_the_worst_jobs() {
    let schedule = house();
    let audit = house_audit(&schedule);
    let rules = counted(&schedule, &["a", "b"], &audit);
    assert_eq!(rules.len(), 5);
    assert!(
        rules
            .iter()
            .all(|rule| rule.findings == 2 && rule.jobs == 2)
    );
    assert!(rules.is_sorted_by(|a, b| a.rule < b.rule));
    let mut worse = row("worse", &audit);
    worse.fix = 9;
    let rows = [
        row("b", &audit),
        row("clean", &clean()),
        row("a", &audit),
        worse,
    ];
    let rows: Vec<&JobRow> = rows.iter().collect();
    assert_eq!(frame::worst_jobs(&rows, 20).unwrap(), [3, 2, 0]);
    assert_eq!(frame::worst_jobs(&rows, 1).unwrap(), [3]);
}

#[test]
fn the_summary_says_where_to_start() {
    let schedule = house();
    let audit = house_audit(&schedule);
    let rules = counted(&schedule, &["Larch Hill"], &audit);
    let jobs = [row("Larch Hill", &audit), row("Quarry Row", &clean())];
    let text = summary(&SummaryView {
        tallies: &[RuleTally {
            rule: "bus-broken",
            met: 7,
            broken: 1,
            not_checked: vec![
                NotCheckedTally {
                    wants: "run.length".to_owned(),
                    subjects: 2,
                },
                NotCheckedTally {
                    wants: "job.supply".to_owned(),
                    subjects: 3,
                },
            ],
        }],
        jobs: &jobs.iter().collect::<Vec<_>>(),
        rules: &rules,
        unread: 1,
        out: "audited/",
        workbooks: true,
        distinct: Counts {
            fix: 3,
            verify: 1,
            note: 1,
        },
        compared: None,
        copies: &[],
        least: Severity::Note,
        reused: 0,
    })
    .unwrap();
    assert_eq!(
        text,
        "2 jobs audited\n      \
         1  revise and resubmit\n      \
         1  no exceptions noted\n\
         \nFindings: 3 fix, 1 verify, 1 note\n\
         Checks: 7 met, 1 broken, 5 not made (by rule: ampledger rules --of audited, or sheet Rules of batch.xlsx)\n       \
         3  for want of job.supply\n       \
         2  for want of run.length\n\
         \nJobs with exceptions\n  \
         Larch Hill  revise and resubmit       3 fix    1 verify    1 note  FIX controller-missing\n\
         \nRules hit most\n       \
         1  FIX     bus-broken, in 1 job\n       \
         1  FIX     controller-missing, in 1 job\n       \
         1  FIX     protection-over-mop, in 1 job\n       \
         1  VERIFY  supply-voltage-mismatch, in 1 job\n\
         \n1 file could not be read: see Unread in batch.xlsx\n\
         \nStart with audited/batch.xlsx; the workbooks of the jobs are in audited/jobs\n\
         No disposition is an approval: the reviewer signs.\n"
    );
}
