use super::job::{part, read, texts};
use super::scene::*;
use crate::findings::{Audit, Disposition, Severity};
use crate::practice::Practice;
use crate::report::batch::{BatchBook, BatchEnd, JobRow, UnreadFile};
use crate::report::frame::{self, FindingColumns};
use crate::report::summary::{SummaryView, summary};
use crate::report::text::FindingsCsv;
use calamine::Reader;

fn row(job: &str, audit: &Audit) -> JobRow {
    let worst = audit.findings.iter().max_by_key(|f| f.severity);
    JobRow {
        job: job.into(),
        disposition: audit.disposition,
        fix: audit.count(Severity::Fix),
        verify: audit.count(Severity::Verify),
        note: audit.count(Severity::Note),
        worst: worst.map(|f| (f.severity, f.rule)),
        files: vec![format!("{job}.xlsx")],
        reason: "One workbook is one job.".into(),
        workbook: Some(format!("jobs/{job}.xlsx")),
    }
}

fn clean() -> Audit {
    Audit {
        outcomes: Vec::new(),
        findings: Vec::new(),
        tallies: Vec::new(),
        disposition: Disposition::NoExceptionsNoted,
    }
}

#[test]
fn the_batch_lists_jobs_findings_rules_and_what_was_not_read() {
    let schedule = house();
    let audit = house_audit(&schedule);
    let mut batch = BatchBook::new(AS_OF).unwrap();
    batch
        .add(row("Larch Hill", &audit), &audit.findings)
        .unwrap();
    batch.add(row("Quarry Row", &clean()), &[]).unwrap();
    let bytes = batch
        .finish(&BatchEnd {
            tallies: &audit.tallies,
            unread: &[UnreadFile {
                path: "bids/old.xls".into(),
                why: "The file asks for a password.".into(),
            }],
            other_files: 3,
            practice: &Practice::default(),
        })
        .unwrap();
    let mut book = read(&bytes);
    assert_eq!(
        book.sheet_names(),
        ["Jobs", "Findings", "Rules", "Unread", "Basis"]
    );
    let jobs = texts(&book.worksheet_range("Jobs").unwrap());
    assert_eq!(jobs[1][0], "2 jobs");
    assert_eq!(
        jobs[2][0],
        "1 revise and resubmit, 1 no exceptions noted. 1 file could not be read: see Unread."
    );
    assert_eq!(
        jobs[5][..7],
        [
            "Larch Hill",
            "revise and resubmit",
            "3",
            "1",
            "1",
            "FIX controller-missing",
            "jobs/Larch Hill.xlsx"
        ]
    );
    let links = part(&bytes, "xl/worksheets/_rels/sheet1.xml.rels");
    assert!(
        links.contains("Target=\"jobs/Larch%20Hill.xlsx\" TargetMode=\"External\""),
        "{links}"
    );
    let findings = texts(&book.worksheet_range("Findings").unwrap());
    assert_eq!(findings.len(), 3 + audit.findings.len());
    assert!(findings[3..].iter().all(|row| row[0] == "Larch Hill"));
    let unread = texts(&book.worksheet_range("Unread").unwrap());
    assert_eq!(unread[3], ["bids/old.xls", "The file asks for a password."]);
}

#[test]
fn csv_has_the_columns_in_their_order() {
    let schedule = house();
    let audit = house_audit(&schedule);
    let mut out = Vec::new();
    let mut csv = FindingsCsv::new(&mut out).unwrap();
    csv.add("Larch Hill", &audit.findings).unwrap();
    csv.finish().unwrap();
    let text = String::from_utf8(out).unwrap();
    let mut lines = text.lines();
    assert_eq!(
        lines.next().unwrap(),
        "job,file,sheet,cell,subject,rule,severity,message,found,limit,remedy,source,id"
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
    let mut columns = FindingColumns::default();
    columns.add("a", &audit.findings);
    columns.add("b", &audit.findings);
    let frame = columns.into_frame().unwrap();
    let rules = frame::rules_by_severity(&frame).unwrap();
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
    assert_eq!(frame::worst_jobs(&rows, 20).unwrap(), [3, 2, 0]);
    assert_eq!(frame::worst_jobs(&rows, 1).unwrap(), [3]);
}

#[test]
fn the_summary_says_where_to_start() {
    let schedule = house();
    let audit = house_audit(&schedule);
    let mut columns = FindingColumns::default();
    columns.add("Larch Hill", &audit.findings);
    let rules = frame::rules_by_severity(&columns.into_frame().unwrap()).unwrap();
    let jobs = [row("Larch Hill", &audit), row("Quarry Row", &clean())];
    let text = summary(&SummaryView {
        jobs: &jobs,
        rules: &rules,
        unread: 1,
        out: "audited/",
    })
    .unwrap();
    assert_eq!(
        text,
        "2 jobs audited\n      \
         1  revise and resubmit\n      \
         1  no exceptions noted\n\
         \nFindings: 3 fix, 1 verify, 1 note\n\
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
