//! An invented job: a house with one outdoor unit and four indoor units, and
//! a block of many equal dwellings. The findings are laid by hand: what is
//! tested here is how they are printed, not whether they are right.

use crate::findings::{
    Audit, Disposition, Finding, NotCheckedTally, Outcome, Reported, RuleTally, Severity, Step,
    Subject, Value, Want, finding_id,
};
use crate::intake::book::{Book, Limits};
use crate::practice::Practice;
use crate::report::job::{JobView, workbook};
use crate::report::remarks::{self, Remarks};
use crate::schedule::fixture::Fixture;
use crate::schedule::*;
use jiff::civil::{Date, date};
use rust_xlsxwriter::{Format, Workbook};
use std::collections::BTreeMap;

pub const AS_OF: Date = date(2026, 3, 2);

/// Sets the rule, as the registry does.
pub fn of(rule: &'static str, mut outcome: Outcome) -> Outcome {
    outcome.rule = rule;
    outcome
}

pub fn step(what: &'static str, value: impl Into<Value>, how: &str) -> Step {
    Step {
        what,
        value: value.into(),
        how: how.into(),
        source: String::new(),
    }
}

/// Renders outcomes without the rules.
pub fn audit(schedule: &Schedule, outcomes: Vec<Outcome>, disposition: Disposition) -> Audit {
    let mut findings = Vec::new();
    let mut tallies: Vec<RuleTally> = Vec::new();
    for outcome in &outcomes {
        let tally = match tallies.iter_mut().find(|t| t.rule == outcome.rule) {
            Some(tally) => tally,
            None => {
                tallies.push(RuleTally {
                    rule: outcome.rule,
                    met: 0,
                    broken: 0,
                    not_checked: Vec::new(),
                });
                tallies.last_mut().unwrap()
            }
        };
        match &outcome.verdict {
            crate::findings::Verdict::Met => tally.met += 1,
            crate::findings::Verdict::Broken(_) => tally.broken += 1,
            crate::findings::Verdict::NotChecked { wants } => {
                let wants = wants.iter().map(Want::to_string).collect::<Vec<_>>();
                tally.not_checked.push(NotCheckedTally {
                    wants: wants.join(", "),
                    subjects: 1,
                });
            }
        }
        let Some(finding) = outcome.finding() else {
            continue;
        };
        let key = outcome.subject.key(schedule);
        let dwelling = outcome.subject.dwelling(schedule);
        findings.push(Reported {
            id: finding_id(&schedule.key, outcome.rule, &key, "", 0),
            rule: outcome.rule,
            severity: finding.severity,
            subject: outcome.subject,
            subject_label: outcome.subject.label(schedule),
            dwelling: dwelling.map_or(String::new(), |d| d.text().to_owned()),
            dwelling_type: String::new(),
            address: schedule.sources.address(outcome.at),
            place: outcome.at,
            related: outcome.related.clone(),
            message: finding.says.clone(),
            found: finding.found.to_string(),
            limit: finding
                .limit
                .as_ref()
                .map_or(String::new(), |l| l.to_string()),
            remedy: finding.remedy.clone(),
            source: "NFPA 70-2023 440.4(B), 440.22(C)".into(),
            changes: Vec::new(),
            group: format!(
                "{}|{}|{}",
                outcome.rule,
                outcome.subject.key_in_dwelling(schedule),
                finding.found
            ),
            accepted: None,
            since: String::new(),
        });
    }
    Audit {
        outcomes,
        findings,
        unlisted: Vec::new(),
        tallies,
        disposition,
    }
}

/// The house.
pub fn house() -> Schedule {
    let mut fixture = Fixture::new();
    fixture.draft.title = "Larch Hill, house 4".into();
    fixture.draft.key = "larch-hill-4".into();
    fixture.draft.sources.files[0].path = "larch/house 4.xlsx".into();
    fixture.unit("OU-1", UnitKind::Outdoor, |u, c| {
        u.mca = c.mca(31.4);
        u.mop = c.mop(50.0);
    });
    let rooms = ["Living room", "Kitchen", "Bedroom east", "Bedroom west"];
    for (index, room) in rooms.iter().enumerate() {
        fixture.unit(&format!("FC-{}", index + 1), UnitKind::Indoor, |u, c| {
            u.mca = c.mca(1.4);
            u.mop = c.mop(15.0);
            u.room = c.given((*room).to_owned());
        });
    }
    fixture.circuit("LP", &[1, 3], &["OU-1"], |c, cells| {
        c.breaker = cells.amps(60.0);
        c.poles = cells.given(2);
    });
    fixture.circuit(
        "LP",
        &[5, 7],
        &["FC-1", "FC-2", "FC-3", "FC-4"],
        |c, cells| {
            c.breaker = cells.amps(15.0);
            c.poles = cells.given(2);
        },
    );
    for (from, to, feet) in [
        ("OU-1", "FC-1", 40.0),
        ("FC-1", "FC-2", 25.0),
        ("FC-1", "FC-3", 32.0),
    ] {
        fixture.run(from, to, |run, cells| run.length = cells.given(Feet(feet)));
    }
    for index in 1..=3 {
        let tag = format!("T-{index}");
        fixture.controller(&tag, &[&format!("FC-{index}")], |c, cells| {
            c.room = cells.given(rooms[index - 1].to_owned());
        });
    }
    fixture.build()
}

/// What is wrong with the house.
pub fn house_outcomes(schedule: &Schedule) -> Vec<Outcome> {
    let circuit = |index: u32| Subject::Circuit(CircuitId(index));
    let breaker = schedule.circuits[0].breaker.at().unwrap();
    let mop = schedule.units[0].mop.at().unwrap();
    let shared = schedule.circuits[1].breaker.at().unwrap();
    let mut over = Outcome::broken(
        circuit(0),
        breaker,
        Finding::fix(
            "The 60 A breaker that protects OU-1 is above its maximum overcurrent protection of \
             50 A.",
            Amps(60.0),
            "Change the breaker at LP-1,3 to 50 A, or put 50 A fuses in the disconnect.",
        )
        .limit(Amps(50.0), "MOP of OU-1"),
    )
    .related(mop);
    over.working = vec![
        step("load", Amps(25.12), "31.4 A / 1.25"),
        step("mca", Amps(31.4), ""),
        step("mop", Amps(50.0), ""),
        step("protection", Amps(60.0), "the breaker; no fuses"),
        step("drop", Percent(1.2), "2 x 40 ft x 25.12 A"),
    ];
    let mut met = Outcome::met(circuit(1), shared);
    met.working = vec![step("load", Amps(4.76), "1.25 x 1.12 + 3 x 1.12")];
    let mut chain = Outcome::broken(
        Subject::System(SystemId(0)),
        schedule.units[4].tag.at,
        Finding::fix(
            "The bus of system OU-1 does not reach FC-4.",
            Value::Count(1, "unit not reached"),
            "Run the bus on from FC-3 to FC-4.",
        ),
    );
    chain.working = vec![
        step("chain", "OU-1", ""),
        step("chain", "FC-1, Living room", "OU-1 to FC-1, 40 ft"),
        step("cumulative", Feet(40.0), ""),
        step("chain", "FC-2", "FC-1 to FC-2, 25 ft"),
        step("cumulative", Feet(65.0), ""),
        step("chain", "FC-3", "branch: FC-1 to FC-3, 32 ft"),
        step("cumulative", Feet(72.0), ""),
    ];
    let mut length = Outcome::met(Subject::System(SystemId(0)), Place::Job);
    length.working = vec![
        step("total", Feet(97.0), "40 + 25 + 32 ft"),
        step("budget", Feet(6000.0), "practice profile"),
    ];
    vec![
        of(
            "protection-below-mop",
            Outcome::broken(
                circuit(1),
                shared,
                Finding::note("15 A is the smallest rating.", Amps(15.0), "Nothing."),
            ),
        ),
        of(
            "supply-voltage-mismatch",
            Outcome::broken(
                Subject::Unit(UnitId(2)),
                schedule.units[2].tag.at,
                Finding::verify(
                    "The schedule does not say whether FC-2 takes 208 V.",
                    Volts(208.0),
                    "Compare the nameplate of FC-2 with the panel.",
                ),
            ),
        ),
        of("protection-over-mop", over),
        of("shared-over-capacity", met),
        of(
            "conductor-under-mca",
            Outcome::wants(circuit(1), shared, FieldName::CircuitConductor),
        ),
        of("bus-broken", chain),
        of("bus-over-length", length),
        of(
            "controller-missing",
            Outcome::broken(
                Subject::Unit(UnitId(4)),
                schedule.units[4].tag.at,
                Finding::fix(
                    "No controller reaches FC-4.",
                    "none",
                    "Add one in Bedroom west.",
                ),
            ),
        ),
    ]
}

/// Many dwellings with one equal mistake each.
pub fn block(dwellings: u32) -> (Schedule, Vec<Outcome>) {
    let mut fixture = Fixture::new();
    fixture.draft.title = "Quarry Row".into();
    for index in 0..dwellings {
        let door = (101 + index).to_string();
        fixture.unit("FC-1", UnitKind::Indoor, |u, c| {
            u.dwelling = c.name(&door);
            u.mca = c.mca(1.4);
        });
    }
    let schedule = fixture.build();
    let mut outcomes: Vec<Outcome> = (0..dwellings)
        .map(|index| {
            let at = schedule.units[index as usize].tag.at;
            let door = 101 + index;
            of(
                "no-supply-circuit",
                Outcome::broken(
                    Subject::Unit(UnitId(index)),
                    at,
                    Finding::fix(
                        format!("{door} FC-1 stands on no circuit."),
                        "none",
                        "Give it a circuit.",
                    ),
                ),
            )
        })
        .collect();
    let at = schedule.units[1].tag.at;
    outcomes.push(of(
        "kind-unknown",
        Outcome::broken(
            Subject::Unit(UnitId(1)),
            at,
            Finding::verify("What is 102 FC-1?", "FC-1", "Say what it is."),
        ),
    ));
    (schedule, outcomes)
}

/// The author's workbook of the house, as a person may have made it.
pub fn authors_workbook() -> Vec<u8> {
    authors_book().save_to_buffer().unwrap()
}

pub fn authors_book() -> Workbook {
    let mut workbook = Workbook::new();
    let head = Format::new().set_bold().set_background_color("#CCDDEE");
    type Table = (
        &'static str,
        &'static [&'static str],
        &'static [&'static [&'static str]],
    );
    let tables: [Table; 4] = [
        (
            "equipment",
            &["", "Tag", "MCA", "MOP", "Room"],
            &[
                &["", "OU-1", "31.4", "50", ""],
                &["", "FC-1", "1.4", "15", "Living room"],
                &["", "FC-2", "1.4", "15", "Kitchen"],
                &["", "FC-3", "1.4", "15", "=CMD(\"x\")"],
                &["", "FC-4", "1.4", "15", "@Bedroom west"],
            ],
        ),
        (
            "circuits",
            &["", "Panel", "Slots", "Loads", "Breaker", "Poles"],
            &[
                &["", "LP", "1,3", "OU-1", "60", "2"],
                &["", "LP", "5,7", "FC-1, FC-2, FC-3, FC-4", "15", "2"],
            ],
        ),
        (
            "wire-runs",
            &["", "From", "To", "Length"],
            &[
                &["", "OU-1", "FC-1", "40"],
                &["", "FC-1", "FC-2", "25"],
                &["", "FC-1", "FC-3", "32"],
            ],
        ),
        ("Findings", &["", "A sheet of the author's own"], &[]),
    ];
    for (name, headings, rows) in tables {
        let sheet = workbook.add_worksheet();
        sheet.set_name(name).unwrap();
        for (column, heading) in headings.iter().enumerate() {
            sheet
                .write_string_with_format(0, column as u16, *heading, &head)
                .unwrap();
        }
        for (row, cells) in rows.iter().enumerate() {
            for (column, text) in cells.iter().enumerate().filter(|(_, t)| !t.is_empty()) {
                let (row, column) = (row as u32 + 1, column as u16);
                match text.parse::<f64>() {
                    Ok(number) => sheet.write_number(row, column, number).unwrap(),
                    Err(_) => sheet.write_string(row, column, *text).unwrap(),
                };
            }
        }
        sheet.set_column_width(1, 20).unwrap();
    }
    let equipment = workbook.worksheet_from_name("equipment").unwrap();
    equipment
        .merge_range(7, 1, 7, 3, "All units by others", &head)
        .unwrap();
    equipment.set_row_hidden(3).unwrap();
    workbook
        .worksheet_from_name("wire-runs")
        .unwrap()
        .set_hidden(true);
    workbook
}

pub fn open(name: &str, bytes: Vec<u8>) -> Book {
    Book::from_bytes(name, bytes, &Limits::default()).unwrap()
}

/// What was typed into a workbook, without the places where it stood.
pub fn typed_in(book: &Book) -> BTreeMap<String, Remarks> {
    let mut typed = remarks::read(book);
    for remarks in typed.values_mut() {
        remarks.stood = remarks::Stood::default();
        remarks.row_at = None;
    }
    typed
}

/// The workbook of a job.
pub fn write(
    schedule: &Schedule,
    audit: &Audit,
    author: Option<&Book>,
    remarks: &BTreeMap<String, Remarks>,
) -> Vec<u8> {
    workbook(&JobView {
        author,
        remarks,
        uses: &[],
        gone: &[],
        ..view(schedule, audit, &Practice::default(), &BTreeMap::new())
    })
    .unwrap()
    .bytes
}

/// A job of several files, with nothing typed into it.
pub fn view<'a>(
    schedule: &'a Schedule,
    audit: &'a Audit,
    practice: &'a Practice,
    typed: &'a BTreeMap<String, Remarks>,
) -> JobView<'a> {
    const NO_LINKS: &BTreeMap<String, String> = &BTreeMap::new();
    JobView {
        proposal: None,
        takeoff: &[],
        drawings: &[],
        schedule,
        audit,
        practice,
        author: None,
        original: None,
        as_of: AS_OF,
        grouping: "One workbook is one job.",
        links: NO_LINKS,
        remarks: typed,
        uses: &[],
        gone: &[],
    }
}

pub fn house_audit(schedule: &Schedule) -> Audit {
    audit(
        schedule,
        house_outcomes(schedule),
        Disposition::ReviseAndResubmit,
    )
}

pub fn severities(audit: &Audit) -> [usize; 3] {
    Severity::ALL.map(|severity| audit.count(severity))
}
