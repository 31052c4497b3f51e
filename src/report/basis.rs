//! The sheet *Basis*: what the audit stands on, what was read, and how far
//! its result may be trusted.

use super::page::{Cell, Column, Page};
use super::{ReportError, page};
use crate::findings::{Standing, Use};
use crate::practice::Practice;
use crate::schedule::{ColumnMap, Sources};
use rust_xlsxwriter::Worksheet;

const COLUMNS: [Column; 3] = [("Subject", 30.0), ("Stands at", 44.0), ("Meaning", 96.0)];

/// What stands on every basis sheet, whatever was found.
pub const CAUTIONS: [(&str, &str); 6] = [
    (
        "Danger",
        "The circuits of this equipment carry lethal voltages. Only a licensed electrician may \
         install, connect or change them, with the supply locked out and proved dead.",
    ),
    (
        "Nameplate first",
        "What is marked on the unit and what its installation manual says goes before anything \
         written here. Compare each nameplate with the schedule before wire is bought.",
    ),
    (
        "Local code",
        "Local amendments and the authority having jurisdiction decide what is permitted. The \
         adopted edition named here is an assumption unless the job itself states it.",
    ),
    (
        "No certificate",
        "A clean report is no certificate and no approval. It says that the rules listed on the \
         sheet Rules found nothing against the schedules as they were read, and no more.",
    ),
    (
        "What is not seen",
        "Only what stands in the schedules is checked. Site conditions, workmanship, refrigerant \
         piping, controls beyond the wiring listed, and whatever Rules shows as not checked, are \
         not.",
    ),
    (
        "Sources",
        "Sections of codes are cited, not quoted, by the adopted edition. Values marked as \
         practice come from the practice profile and differ between families of equipment: where \
         a unit's own manual gives another, put it in the schedule or the profile.",
    ),
];

/// Rows under a heading of their own.
pub(super) struct Section {
    pub title: &'static str,
    pub rows: Vec<(String, String, String)>,
}

pub(super) fn write(
    page: &Page,
    sheet: &mut Worksheet,
    sections: &[Section],
) -> Result<(), ReportError> {
    let leads = [(page.of.to_owned(), &page.styles.title)];
    let head = page.open(sheet, "Basis", &leads)?;
    page.head(sheet, head, &COLUMNS)?;
    let mut row = head;
    for section in sections.iter().filter(|section| !section.rows.is_empty()) {
        row += 1;
        for column in 0..COLUMNS.len() as u16 {
            let title = if column == 0 { section.title } else { "" };
            page::put(
                sheet,
                row,
                column,
                &Cell::Section(title.to_owned()),
                page.styles,
            )?;
        }
        for (subject, stands, meaning) in &section.rows {
            row += 1;
            let cells = [subject, stands, meaning].map(Cell::text);
            let widths = COLUMNS.iter().map(|(_, width)| *width);
            page::make_room(sheet, row, cells.iter().zip(widths))?;
            for (column, cell) in cells.iter().enumerate() {
                page::put(sheet, row, column as u16, cell, page.styles)?;
            }
        }
    }
    sheet.set_freeze_panes(head + 1, 1)?;
    sheet.set_repeat_rows(head, head)?;
    page.print(sheet);
    Ok(())
}

pub(super) fn cautions() -> Section {
    Section {
        title: "Cautions",
        rows: CAUTIONS
            .iter()
            .map(|(name, text)| ((*name).to_owned(), String::new(), (*text).to_owned()))
            .collect(),
    }
}

pub(super) fn practice(practice: &Practice) -> Section {
    let rows = practice.listing().into_iter();
    Section {
        title: "Practice profile",
        rows: rows
            .map(|(key, value, meaning)| (key.to_owned(), value, meaning.to_owned()))
            .collect(),
    }
}

/// Who answers for what, and whether it holds.
pub(super) fn acceptances(uses: &[Use]) -> Section {
    let rows = uses.iter().map(|of| {
        let acceptance = &of.acceptance;
        let stands = match of.standing {
            Standing::Holds => {
                super::counted(of.ids.len(), "finding accepted", "findings accepted")
            }
            _ => of.standing.text(),
        };
        (
            acceptance.about(),
            stands,
            format!("{} ({})", acceptance.accepted().text(), acceptance.origin),
        )
    });
    Section {
        title: "Accepted findings",
        rows: rows.collect(),
    }
}

/// Each source that a finding names, once.
pub(super) fn sources<'a>(findings: impl Iterator<Item = (&'a str, &'a str)>) -> Section {
    let mut by_rule: std::collections::BTreeMap<&str, std::collections::BTreeSet<&str>> =
        std::collections::BTreeMap::new();
    for (rule, source) in findings.filter(|(_, source)| !source.is_empty()) {
        by_rule.entry(rule).or_default().insert(source);
    }
    let rows = by_rule.into_iter().map(|(rule, sources)| {
        let sources: Vec<&str> = sources.into_iter().collect();
        (rule.to_owned(), String::new(), sources.join("; "))
    });
    Section {
        title: "Sources of the findings",
        rows: rows.collect(),
    }
}

/// Files, tables and columns as they were understood.
pub(super) fn read(sources: &Sources) -> Section {
    let mut rows = Vec::new();
    for (index, file) in sources.files.iter().enumerate() {
        let tables = sources.tables.iter().filter(|t| t.file as usize == index);
        let mut any = false;
        for table in tables {
            any = true;
            let mut stands = match &table.sheet {
                Some(sheet) => format!("{}: {sheet}", table.kind),
                None => table.kind.to_string(),
            };
            if table.hidden {
                stands.push_str(" (hidden sheet)");
            }
            let gathered = table.part_of.map(|main| sources.tables.get(main as usize));
            stands.push_str(&match gathered.flatten().map(|main| &main.sheet) {
                Some(Some(main)) => format!(", told of in the table of {main}"),
                Some(None) => ", told of in the table before".to_owned(),
                None => format!(
                    ", {} taken, {} left out",
                    super::counted(table.rows_taken as usize, "row", "rows"),
                    table.rows_left_out.len()
                ),
            });
            rows.push((file.path.clone(), stands, columns(&table.columns)));
        }
        if !any {
            rows.push((
                file.path.clone(),
                "no table found".to_owned(),
                String::new(),
            ));
        }
    }
    Section {
        title: "Read and understood",
        rows,
    }
}

fn columns(columns: &[ColumnMap]) -> String {
    let (known, unknown): (Vec<_>, Vec<_>) = columns.iter().partition(|c| !c.fields.is_empty());
    let known: Vec<String> = known
        .into_iter()
        .map(|column| {
            let fields: Vec<&str> = column.fields.iter().map(|field| field.name()).collect();
            format!("{} \u{2192} {}", column.heading, fields.join(" + "))
        })
        .collect();
    let mut text = known.join("; ");
    let unknown: Vec<&str> = unknown
        .into_iter()
        .map(|column| column.heading.as_str())
        .filter(|heading| !heading.is_empty())
        .collect();
    if !unknown.is_empty() {
        text.push_str(&format!(". Not recognised: {}", unknown.join(", ")));
    }
    text.trim_start_matches(". ").to_owned()
}
