//! The letter that goes back with a job: its disposition, what to correct at
//! which cell, what to answer, in plain words to the submitter.

use super::counted;
use super::groups::{self, Counts, Line};
use super::list::Item;
use super::page::{self, Cell, Column, Page};
use super::{ReportError, job::JobView, words};
use crate::findings::{Dwellings, Reported, Severity, Verdict, Want};
use crate::schedule::{Address, Place};
use rust_xlsxwriter::Worksheet;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

const COLUMNS: [Column; 5] = [
    ("No.", 6.0),
    ("Where", 30.0),
    ("What is wrong", 54.0),
    ("What to do", 54.0),
    ("Finding", 24.0),
];

/// Cells that an entry names before it says how many more.
const CELLS: usize = 12;

/// One correction, question or note.
#[derive(Debug, PartialEq, Eq)]
struct Entry {
    place: String,
    subject: String,
    wrong: String,
    todo: String,
    finding: String,
}

/// Entries of one severity.
struct Part {
    title: &'static str,
    says: &'static str,
    none: &'static str,
    entries: Vec<Entry>,
}

struct Letter {
    /// Label and text.
    heading: Vec<(&'static str, String)>,
    disposition: String,
    opening: String,
    parts: Vec<Part>,
    /// What was accepted, by whom and why.
    accepted: Vec<String>,
    not_checked: Vec<String>,
    closing: &'static str,
}

const CLOSING: &str = "This is not an approval, and it takes no duty from anyone: the reviewer \
                       signs, and the nameplates, the installation manuals and the authority \
                       having jurisdiction go before anything written here.";

impl Letter {
    fn of(view: &JobView) -> Self {
        let (schedule, audit) = (view.schedule, view.audit);
        let facts = &schedule.facts;
        let mut heading = vec![("Job", schedule.title.clone())];
        let mut add = |label, value: Option<String>| {
            if let Some(value) = value {
                heading.push((label, value));
            }
        };
        add("Job number", facts.number.get().cloned());
        add("Submitted by", facts.submitted_by.get().cloned());
        add("Revision", facts.revision.get().cloned());
        add(
            "Date of the schedules",
            facts.date.get().map(|d| d.to_string()),
        );
        let files: Vec<&str> = schedule
            .sources
            .files
            .iter()
            .map(|f| f.path.as_str())
            .collect();
        add("Schedules", Some(files.join(", ")));
        add("Audited as of", Some(view.as_of.to_string()));
        add("Code edition", Some(view.practice.edition.to_string()));
        let dwellings = Dwellings::of(schedule);
        let items = Item::of_job(&schedule.title, &audit.findings, &dwellings);
        let lines = groups::lines(&items);
        // What is equal in many dwellings is one thing to do.
        let count = Counts::of(&lines);
        let opening = match (count.fix, count.verify) {
            (0, 0) => "The schedules were audited as they were sent. Nothing in them asks for a \
                       correction or an answer."
                .to_owned(),
            (fix, verify) => format!(
                "The schedules were audited as they were sent. Please make {} in the cells named \
                 below, answer {}, and send the schedules again.",
                counted(fix, "correction", "corrections"),
                counted(verify, "question", "questions"),
            ),
        };
        let one_file = schedule.sources.files.len() <= 1;
        let part = |severity, title, says, none| Part {
            title,
            says,
            none,
            entries: entries(view, &lines, severity, one_file),
        };
        let parts = vec![
            part(
                Severity::Fix,
                "Corrections",
                "Each of these breaks a limit, and the schedules show it.",
                "None.",
            ),
            part(
                Severity::Verify,
                "Questions",
                "The schedules do not show whether these hold. Please confirm, or complete the \
                 cell.",
                "None.",
            ),
            part(
                Severity::Note,
                "Notes",
                "Advice only; nothing has to be answered.",
                "None.",
            ),
        ];
        Self {
            heading,
            disposition: audit.disposition_text().to_uppercase(),
            accepted: accepted(&lines),
            opening,
            parts,
            not_checked: not_checked(view),
            closing: CLOSING,
        }
    }
}

/// What could not be checked, by what was wanting, the most frequent first.
fn not_checked(view: &JobView) -> Vec<String> {
    let mut by_want: BTreeMap<String, BTreeSet<&str>> = BTreeMap::new();
    for outcome in &view.audit.outcomes {
        let Verdict::NotChecked { wants } = &outcome.verdict else {
            continue;
        };
        // What waits is checked next time, and the profile and the table of
        // nameplates are not the submitter's.
        let theirs = |want: &Want| match want {
            Want::WaitsFor(_) | Want::Profile(_) | Want::OfUser(_) => false,
            Want::Field(_) | Want::Table(_) | Want::Fact(_) => true,
        };
        if !wants.is_empty() && wants.iter().all(theirs) {
            let words: Vec<String> = wants.iter().map(|want| wanted(view, want)).collect();
            let rules = by_want.entry(words.join(", ")).or_default();
            rules.insert(outcome.rule);
        }
    }
    let mut lines: Vec<(String, BTreeSet<&str>)> = by_want.into_iter().collect();
    lines.sort_by_key(|(wants, rules)| (std::cmp::Reverse(rules.len()), wants.clone()));
    lines
        .into_iter()
        .map(|(wants, rules)| {
            let rules: Vec<&str> = rules.into_iter().collect();
            format!("for want of {wants}: {}", rules.join(", "))
        })
        .collect()
}

/// What was wanting, a field by the heading that the submitter knows it by.
fn wanted(view: &JobView, want: &Want) -> String {
    match want {
        Want::Field(field) => words::in_schedule(view.schedule, *field),
        other => other.to_string(),
    }
}

/// One line each, groups as one.
fn accepted(lines: &[Line<Item>]) -> Vec<String> {
    let tops = lines.iter().filter(|line| line.is_top());
    tops.filter_map(|line| {
        let item = line.items().first()?;
        let accepted = item.finding.accepted.as_ref()?;
        let more = match line.items().len() {
            1 => String::new(),
            many => format!(" and {} more like it", many - 1),
        };
        Some(format!(
            "{} {}{more}: {}; {}",
            item.finding.rule,
            item.finding.subject_label,
            item.finding.found,
            accepted.text()
        ))
    })
    .collect()
}

fn entries(view: &JobView, lines: &[Line<Item>], severity: Severity, one_file: bool) -> Vec<Entry> {
    let of_line = |line: &Line<Item>| -> Option<Entry> {
        let items = line.items();
        let first = items.first().filter(|_| line.is_top())?;
        if first.finding.severity != severity || !first.finding.stands() {
            return None;
        }
        let findings: Vec<&Reported> = items.iter().map(|item| item.finding).collect();
        Some(entry(view, first, &findings, one_file))
    };
    lines.iter().filter_map(of_line).collect()
}

fn entry(view: &JobView, item: &Item, all: &[&Reported], one_file: bool) -> Entry {
    let first = item.finding;
    let (subject, wrong) = match all {
        [_] => (first.subject_label.clone(), first.message.clone()),
        many => {
            let mut seen = BTreeSet::new();
            let doors: Vec<&str> = many
                .iter()
                .map(|f| f.dwelling.as_str())
                .filter(|door| seen.insert(*door))
                .collect();
            let kind = first.dwelling_type.as_str();
            (
                format!(
                    "{} in {}",
                    first.subject_in_dwelling(),
                    groups::short(&doors, kind, item.dwellings)
                ),
                format!(
                    "The same in {}. In {}: {}",
                    groups::naming(&doors, kind, item.dwellings),
                    first.dwelling,
                    first.message
                ),
            )
        }
    };
    Entry {
        place: places(all, one_file),
        subject,
        wrong,
        todo: todo(view, first, all),
        finding: match all {
            [only] => format!("{} {}", only.rule, only.id),
            many => format!("{} {} and {} more", first.rule, first.id, many.len() - 1),
        },
    }
}

/// `sheet Circuits, cells E4, E9 and 3 more`, files and sheets named where
/// they change.
fn places(all: &[&Reported], one_file: bool) -> String {
    let mut text = String::new();
    let mut last: Option<&Address> = None;
    for finding in all.iter().take(CELLS) {
        let address = &finding.address;
        let same_file = last.is_some_and(|last| last.file == address.file);
        let same_sheet = same_file && last.is_some_and(|last| last.sheet == address.sheet);
        if same_sheet {
            let _ = write!(text, ", {}", address.cell);
        } else {
            if !text.is_empty() {
                text.push_str("; ");
            }
            text.push_str(&place(address, one_file || same_file));
        }
        last = Some(address);
    }
    if all.len() > CELLS {
        let _ = write!(text, " and {} more", all.len() - CELLS);
    }
    text
}

fn place(address: &Address, file_is_known: bool) -> String {
    let mut parts = Vec::new();
    if !file_is_known && !address.file.is_empty() {
        parts.push(format!("file {}", address.file));
    }
    if !address.sheet.is_empty() {
        parts.push(format!("sheet {}", address.sheet));
    }
    if !address.cell.is_empty() {
        parts.push(format!("cell {}", address.cell));
    }
    match parts.is_empty() {
        true => "the job as a whole".to_owned(),
        false => parts.join(", "),
    }
}

/// What to type, cell by cell, and what to do.
fn todo(view: &JobView, first: &Reported, all: &[&Reported]) -> String {
    let mut text = first.remedy.clone();
    if all.len() > 1 {
        text = format!("In {}: {text} The others likewise.", first.dwelling);
    }
    for change in all.iter().flat_map(|finding| &finding.changes).take(CELLS) {
        let address = view.schedule.sources.address(Place::Cell(change.at));
        let sheet = match address.sheet.as_str() {
            "" => String::new(),
            sheet => format!("{sheet}!"),
        };
        let was = match change.was.as_str() {
            "" => "which is empty".to_owned(),
            was => format!("now \u{201c}{was}\u{201d}"),
        };
        let _ = write!(
            text,
            "\nIn {sheet}{}, {was}, type \u{201c}{}\u{201d}.",
            address.cell, change.proposed
        );
    }
    text
}

/// `DIR/letters/<job>.md`: the same bytes for the same view.
pub fn markdown(view: &JobView) -> String {
    let letter = Letter::of(view);
    let mut out = String::from("# Return of schedules\n\n");
    for (label, text) in &letter.heading {
        let _ = writeln!(out, "- {label}: {}", escaped(text));
    }
    let _ = write!(
        out,
        "\n**Disposition: {}**\n\n{}\n",
        letter.disposition, letter.opening
    );
    let mut number = 0;
    for part in &letter.parts {
        let _ = write!(out, "\n## {}\n\n", part.title);
        if part.entries.is_empty() {
            let _ = writeln!(out, "{}", part.none);
            continue;
        }
        let _ = writeln!(out, "{}\n", part.says);
        for entry in &part.entries {
            number += 1;
            let _ = writeln!(
                out,
                "{number}. **{}** ({}): {}",
                escaped(&entry.subject),
                escaped(&entry.place),
                escaped(&entry.wrong)
            );
            for (at, line) in entry.todo.lines().enumerate() {
                let lead = if at == 0 { "To do: " } else { "" };
                let _ = writeln!(out, "   - {lead}{}", escaped(line));
            }
            let _ = writeln!(out, "   - Finding: {}", escaped(&entry.finding));
        }
    }
    if !letter.accepted.is_empty() {
        out.push_str("\n## Accepted\n\n");
        for line in &letter.accepted {
            let _ = writeln!(out, "- {}", escaped(line));
        }
    }
    if !letter.not_checked.is_empty() {
        out.push_str("\n## Not checked\n\n");
        for line in &letter.not_checked {
            let _ = writeln!(out, "- {}", escaped(line));
        }
    }
    let _ = write!(
        out,
        "\n{}\n\nReviewer: ______________________ Date: ______________\n",
        letter.closing
    );
    out
}

/// Text of strangers, so that it is no markup.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in page::printable(text).chars() {
        match c {
            '\n' | '\t' => out.push(' '),
            '\\' | '*' | '_' | '`' | '<' | '>' | '[' | ']' | '#' | '|' | '&' => {
                out.push('\\');
                out.push(c);
            }
            c => out.push(c),
        }
    }
    out
}

/// The sheet *Letter*.
pub(super) fn write(view: &JobView, page: &Page, sheet: &mut Worksheet) -> Result<(), ReportError> {
    let letter = Letter::of(view);
    let mut leads = vec![
        ("Return of schedules".to_owned(), &page.styles.title),
        (
            format!("Disposition: {}", letter.disposition),
            &page.styles.strong,
        ),
    ];
    for (label, text) in &letter.heading {
        leads.push((format!("{label}: {text}"), &page.styles.lead));
    }
    leads.push((letter.opening.clone(), &page.styles.lead));
    let head = page.open(sheet, "Letter", &leads)?;
    page.head(sheet, head, &COLUMNS)?;
    let mut row = head;
    let mut put = |cells: [Cell; 5]| -> Result<(), ReportError> {
        row += 1;
        let widths = COLUMNS.iter().map(|(_, width)| *width);
        page::make_room(sheet, row, cells.iter().zip(widths))?;
        for (column, cell) in cells.iter().enumerate() {
            page::put(sheet, row, column as u16, cell, page.styles)?;
        }
        Ok(())
    };
    let section = |title: &str, says: &str| {
        [title, says, "", "", ""].map(|text| Cell::Section(text.to_owned()))
    };
    let mut number = 0;
    for part in &letter.parts {
        let says = match part.entries.is_empty() {
            true => part.none,
            false => part.says,
        };
        put(section("", &format!("{}: {says}", part.title)))?;
        for entry in &part.entries {
            number += 1;
            put([
                Cell::Count(number),
                Cell::text(format!("{}\n{}", entry.subject, entry.place)),
                Cell::text(&entry.wrong),
                Cell::text(&entry.todo),
                Cell::text(&entry.finding),
            ])?;
        }
    }
    if !letter.accepted.is_empty() {
        put(section("", "Accepted: nothing to do"))?;
        for line in &letter.accepted {
            put(["", "", line.as_str(), "", ""].map(Cell::text))?;
        }
    }
    if !letter.not_checked.is_empty() {
        put(section("", "Not checked"))?;
        for line in &letter.not_checked {
            put(["", "", line.as_str(), "", ""].map(Cell::text))?;
        }
    }
    put(section("", "Not an approval"))?;
    put([
        Cell::text(""),
        Cell::text("Reviewer, date:"),
        Cell::text(letter.closing),
        Cell::text(""),
        Cell::text(""),
    ])?;
    sheet.set_freeze_panes(head + 1, 0)?;
    sheet.set_repeat_rows(head, head)?;
    page.print(sheet);
    Ok(())
}
