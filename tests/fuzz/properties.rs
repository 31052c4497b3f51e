//! What holds of any bytes: no panic, bounded time, and every finding stands
//! at a place that exists.

#![allow(dead_code)]

use ampledger::findings::Audit;
use ampledger::intake::assemble::{Hints, ReadFile, RowChoice, draft};
use ampledger::intake::book::{Book, Limits, Sheet};
use ampledger::intake::notation::*;
use ampledger::intake::recognise;
use ampledger::intake::schema::Schemas;
use ampledger::practice::Practice;
use ampledger::proposal;
use ampledger::report::drawing::{Drawings, drawings};
use ampledger::report::job::{JobView, workbook as annotated};
use ampledger::rules;
use ampledger::schedule::{Address, Name, Schedule};
use std::collections::BTreeMap;
use std::time::{Duration, Instant};

/// More than any input of a megabyte takes on a busy machine.
const LONGEST: Duration = Duration::from_secs(60);
const PATH: &str = "submittal/schedule.csv";

/// Small enough that no input fills the memory of the machine that looks for
/// faults.
fn limits() -> Limits {
    Limits {
        file_bytes: 4 << 20,
        unpacked_bytes: 16 << 20,
        dense_cells: 200_000,
        cells: 300_000,
        ..Limits::default()
    }
}

/// By the clock, or by what this process had of the processors where others
/// took most of them.
fn within_time<T>(work: impl FnOnce() -> T) -> T {
    let (began, before) = (Instant::now(), processor_time());
    let made = work();
    let own = processor_time()
        .zip(before)
        .map(|(now, then)| now.saturating_sub(then));
    let took = own.map_or(began.elapsed(), |own| own.min(began.elapsed()));
    assert!(took < LONGEST, "it took {took:?}");
    made
}

/// What the process had of the processors, where the system says it: fields
/// 14 and 15 of proc(5), in hundredths of a second.
fn processor_time() -> Option<Duration> {
    let stat = std::fs::read_to_string("/proc/self/stat").ok()?;
    // The second field, a name, may hold spaces.
    let (_, fields) = stat.rsplit_once(')')?;
    let mut ticks = fields.split_whitespace().skip(11);
    let ticks: u64 = ticks.next()?.parse::<u64>().ok()? + ticks.next()?.parse::<u64>().ok()?;
    Some(Duration::from_millis(ticks * 10))
}

/// Bytes to grids: every cell has a text, and is where its row says.
pub fn intake(name: &str, bytes: &[u8]) {
    within_time(|| {
        let Ok(book) = Book::from_bytes(name, bytes.to_vec(), &limits()) else {
            return;
        };
        for sheet in &book.sheets {
            for row in sheet.rows() {
                row.cells().for_each(|cell| drop(cell.text()));
            }
        }
    });
}

/// One text through every grammar of a cell.
pub fn notations(text: &str) {
    let contexts = [
        Context::default(),
        Context {
            style: Style::Comma,
            unit: None,
        },
        Context {
            style: Style::Point,
            unit: Some(ColumnUnit::Metres),
        },
    ];
    macro_rules! through {
        ($ctx:ident: $($grammar:ident)*) => { $(let _ = $grammar(text, $ctx);)* };
    }
    within_time(|| {
        for ctx in &contexts {
            through!(ctx: amps fuse nameplate_amps mop mca_mop breaker poles slots supply volts
                phases panel_supply conductor grounding insulation raceway size terminals
                low_voltage_wire gauge conductor_count stranded shielded purpose side
                shield_ground splices routing length capacity kilowatts volt_amps horsepower
                temperature whole_number place disconnect quantity name free_text tag_list loads
                yes_no customer edition date revision heater);
            let _ = number(text, ctx.style);
            let _ = panel_slots(text, &[Name::new("LP")], ctx);
        }
        let _ = kind_from_text(text);
        let _ = kind_from_tag(&Name::new(text));
        let _ = decimal_style([text]);
    });
}

/// Bytes to findings, and to the workbook where `write` says so.
pub fn road(bytes: &[u8], write: bool) {
    within_time(|| {
        let Ok(book) = Book::from_bytes(PATH, bytes.to_vec(), &limits()) else {
            return;
        };
        let tables = recognise::tables(&book, Schemas::embedded());
        let file = ReadFile::new(PATH.to_owned(), bytes.len() as u64, book, tables);
        let schedule = draft(&[(&file, RowChoice::All)], Hints { stem: "schedule" }).build();
        let practice = Practice::default();
        let audit = rules::audit(&schedule, &practice);
        for finding in &audit.findings {
            exists(&finding.address, &file.book, finding.rule);
            assert!(!finding.message.is_empty(), "{}", finding.rule);
        }
        if write {
            written(&file.book, bytes, &schedule, &audit, &practice);
        }
    });
}

/// The workbook with what was found, the author's own where it is one: it
/// opens again, and the author's cells say what they said.
fn written(book: &Book, bytes: &[u8], schedule: &Schedule, audit: &Audit, practice: &Practice) {
    let none = BTreeMap::new();
    let proposal = proposal::propose_after(schedule, practice, audit);
    let view = JobView {
        proposal: Some(&proposal),
        original: bytes.starts_with(b"PK").then_some(bytes),
        takeoff: &[],
        drawings: &drawings(schedule, audit, Drawings::All),
        schedule,
        audit,
        practice: &practice.for_job(schedule),
        author: Some(book),
        as_of: jiff::civil::date(2026, 1, 1),
        grouping: "one file",
        links: &BTreeMap::new(),
        remarks: &none,
        uses: &[],
        gone: &[],
    };
    let made = annotated(&view).expect("a schedule that was read can be written");
    let in_place = view.original.is_some() && made.rebuilt.is_none();
    // As a user reads it: with every system drawn it may be long.
    let again = Book::from_bytes("again.xlsx", made.bytes, &Limits::default());
    let again = again.expect("what we write can be read");
    for sheet in book.sheets.iter().filter(|_| in_place) {
        let same = again.sheets.iter().find(|other| other.name == sheet.name);
        let Some(same) = same else {
            // Sheets of ours in a copy that was marked before go.
            continue;
        };
        for row in sheet.rows() {
            for cell in row.cells().filter(|cell| !cell.text().is_empty()) {
                let now = same.cell(row.index(), cell.column());
                let now = now.map(|cell| cell.text().into_owned());
                assert_eq!(now.as_deref(), Some(&*cell.text()), "{:?}", sheet.name);
            }
        }
    }
}

/// A profile is read, or every fault of it has a sentence.
pub fn profile(text: &str) {
    within_time(|| {
        if let Err(faults) = Practice::from_toml(text, &rules::severities()) {
            assert!(!faults.is_empty());
            faults
                .iter()
                .for_each(|fault| assert!(fault.line > 0 && !fault.says.is_empty(), "{fault:?}"));
        }
    });
}

fn exists(address: &Address, book: &Book, rule: &str) {
    if address.file.is_empty() {
        // About the job as a whole.
        assert!(
            address.cell.is_empty() && address.sheet.is_empty(),
            "{rule}"
        );
        return;
    }
    assert_eq!(address.file, PATH, "{rule}");
    if address.cell.is_empty() {
        return;
    }
    let named = |sheet: &&Sheet| sheet.name.as_deref().unwrap_or_default() == address.sheet;
    let extent = book.sheets.iter().filter(named).find_map(Sheet::extent);
    let last = extent
        .unwrap_or_else(|| panic!("{rule}: {address:?} is on no sheet"))
        .last;
    let letters = address.cell.chars().take_while(char::is_ascii_uppercase);
    let column = letters.fold(0u32, |all, c| all * 26 + (c as u32 - 'A' as u32 + 1));
    let digits = address
        .cell
        .trim_start_matches(|c: char| c.is_ascii_uppercase());
    let row: u32 = digits
        .parse()
        .unwrap_or_else(|_| panic!("{rule}: {address:?}"));
    assert!(
        (1..=last.0.0 + 1).contains(&row) && (1..=u32::from(last.1.0) + 1).contains(&column),
        "{rule}: {address:?} is beyond {last:?}"
    );
}
