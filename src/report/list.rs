//! The sheet *Findings*: worst first, equal findings of many dwellings as one
//! group, each with a link to its cell and room for what people write.

use super::groups::{self, Line, dwellings};
use super::page::{self, Cell, Column, Links, Page};
use super::remarks::Remarks;
use super::{ReportError, style};
use crate::findings::{Dwellings, Reported, Standing, Use};
use crate::schedule::Address;
use rust_xlsxwriter::Worksheet;
use std::collections::{BTreeMap, BTreeSet};

pub(super) const REMARK: &str = "Reviewer's remark";
pub(super) const REPLY: &str = "Dealer's reply";
pub(super) const ACCEPT: &str = "Accept";
pub(super) const ID: &str = "Id";
/// What the id of a group's row begins with; the ids of its findings follow.
pub(super) const GROUP_ID: &str = "group:";

/// What was found and the limit when a finding was accepted.
pub(super) const AS_FOUND: &str = "Accepted: found";
pub(super) const AS_LIMIT: &str = "Accepted: limit";
pub(super) const RULE: &str = "Rule";
pub(super) const SUBJECT: &str = "Subject";
pub(super) const FILE: &str = "File";
pub(super) const SHEET: &str = "Sheet";
pub(super) const CELL: &str = "Cell";
pub(super) const FOUND: &str = "Found";
pub(super) const LIMIT: &str = "Limit";

/// A finding and the job that it belongs to.
#[derive(Clone, Copy, Debug)]
pub struct Item<'a> {
    pub job: &'a str,
    pub finding: &'a Reported,
    /// The dwellings of the job.
    pub dwellings: &'a Dwellings,
}

impl<'a> Item<'a> {
    /// All findings of one job.
    pub fn of_job(job: &'a str, findings: &'a [Reported], dwellings: &'a Dwellings) -> Vec<Self> {
        findings
            .iter()
            .map(|finding| Self {
                job,
                finding,
                dwellings,
            })
            .collect()
    }
}

/// Ids of all that the lines list.
pub(super) fn ids<'a>(lines: &'a [Line<Item>]) -> BTreeSet<&'a str> {
    let items = lines.iter().flat_map(Line::items);
    items.map(|item| item.finding.id.as_str()).collect()
}

/// The row of each finding, by its id; a grouped one's is its group's, which
/// is never folded away. `first` is the row of the first line.
pub(super) fn rows_by_id(lines: &[Line<Item>], first: u32) -> BTreeMap<String, u32> {
    let mut rows = BTreeMap::new();
    for (index, line) in lines.iter().enumerate() {
        for item in line.items() {
            rows.entry(item.finding.id.clone())
                .or_insert(first + index as u32);
        }
    }
    rows
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Field {
    Severity,
    Rule,
    Subject,
    Wrong,
    Found,
    Limit,
    ToDo,
    Job,
    File,
    Sheet,
    Cell,
    Also,
    Dwelling,
    Source,
    Since,
    Acceptance,
    Id,
    Remark,
    Reply,
    Accept,
    AsFound,
    AsLimit,
}

impl Field {
    const ALL: [Self; 22] = [
        Self::Severity,
        Self::Rule,
        Self::Subject,
        Self::Wrong,
        Self::Found,
        Self::Limit,
        Self::ToDo,
        Self::Job,
        Self::File,
        Self::Sheet,
        Self::Cell,
        Self::Also,
        Self::Dwelling,
        Self::Source,
        Self::Since,
        Self::Acceptance,
        Self::Id,
        Self::Remark,
        Self::Reply,
        Self::Accept,
        Self::AsFound,
        Self::AsLimit,
    ];

    /// What people write in.
    const TYPED: [Self; 5] = [
        Self::Remark,
        Self::Reply,
        Self::Accept,
        Self::AsFound,
        Self::AsLimit,
    ];

    fn column(self) -> Column {
        match self {
            Self::Severity => ("Severity", 9.0),
            Self::Rule => (RULE, 15.0),
            Self::Subject => (SUBJECT, 13.0),
            Self::Wrong => ("What is wrong", 44.0),
            Self::Found => (FOUND, 11.0),
            Self::Limit => (LIMIT, 18.0),
            Self::ToDo => ("What to do", 38.0),
            Self::Job => ("Job", 18.0),
            Self::File => (FILE, 18.0),
            Self::Sheet => (SHEET, 12.0),
            Self::Cell => (CELL, 7.0),
            Self::Also => ("See also", 11.0),
            Self::Dwelling => ("Dwelling", 12.0),
            Self::Source => ("Source", 20.0),
            Self::Since => ("Since", 16.0),
            Self::Acceptance => ("Acceptance", 30.0),
            Self::Id => (ID, 14.0),
            Self::Remark => (REMARK, 26.0),
            Self::Reply => (REPLY, 26.0),
            Self::Accept => (ACCEPT, 16.0),
            Self::AsFound => (AS_FOUND, 16.0),
            Self::AsLimit => (AS_LIMIT, 16.0),
        }
    }
}

/// A finding that stands no more, against an earlier audit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GoneRow {
    /// `gone since revision 2`.
    pub fate: String,
    pub rule: String,
    pub subject: String,
    /// As it stood.
    pub message: String,
    pub found: String,
    pub id: String,
}

/// What became of acceptances that cover nothing, by the finding's id.
pub(super) fn acceptances<'a>(uses: impl Iterator<Item = &'a Use>) -> BTreeMap<String, String> {
    let mut texts = BTreeMap::new();
    for of in uses.filter(|of| of.standing != Standing::Holds) {
        for id in &of.ids {
            texts
                .entry(id.clone())
                .or_insert_with(|| of.standing.text());
        }
    }
    texts
}

/// What the list needs to know beside its lines.
pub(super) struct ListView<'a> {
    pub lines: &'a [Line<Item<'a>>],
    /// What became of acceptances that cover nothing, by the finding's id.
    pub acceptances: &'a BTreeMap<String, String>,
    /// Rows below the findings: what is gone since an earlier audit.
    pub below: &'a [GoneRow],
    pub links: &'a Links<'a>,
    pub remarks: &'a BTreeMap<String, Remarks>,
    /// Spells a related place out, for the column *See also*.
    pub also: &'a dyn Fn(&Reported) -> Vec<Address>,
}

impl ListView<'_> {
    /// Whether a column tells nothing here: one file, one job, no dwellings.
    fn says_nothing(&self, field: Field) -> bool {
        let all = || self.lines.iter().flat_map(Line::items);
        fn one<T: Ord>(values: impl Iterator<Item = T>) -> bool {
            values.collect::<BTreeSet<_>>().len() <= 1
        }
        match field {
            Field::Job => one(all().map(|i| i.job)),
            Field::File => one(all().map(|i| &i.finding.address.file)),
            Field::Sheet => all().all(|i| i.finding.address.sheet.is_empty()),
            Field::Also => all().all(|i| (self.also)(i.finding).is_empty()),
            Field::Dwelling => all().all(|i| i.finding.dwelling.is_empty()),
            Field::Since => self.below.is_empty() && all().all(|i| i.finding.since.is_empty()),
            Field::Acceptance => all().all(|i| i.finding.stands()) && self.acceptances.is_empty(),
            Field::AsFound | Field::AsLimit => {
                self.remarks.values().all(|typed| typed.as_found.is_empty())
            }
            _ => false,
        }
    }

    /// Writes headings from row `head` on, and the list below.
    pub fn write(&self, page: &Page, sheet: &mut Worksheet, head: u32) -> Result<(), ReportError> {
        let columns: Vec<Column> = Field::ALL.map(Field::column).to_vec();
        page.head(sheet, head, &columns)?;
        self.links.next_sheet();
        let mut row = head;
        // Which of the columns to write in hold for a whole group: their text
        // stands on its row alone, so that it is changed in one place.
        let mut shared: Vec<Field> = Vec::new();
        for line in self.lines {
            row += 1;
            if let Line::Group(items) = line {
                shared = self.shared(items);
            }
            let cells = Field::ALL.map(|field| self.cell(line, field, &shared));
            let widths = columns.iter().map(|(_, width)| *width);
            page::make_room(sheet, row, cells.iter().zip(widths))?;
            for (column, cell) in cells.iter().enumerate() {
                page::put(sheet, row, column as u16, cell, page.styles)?;
            }
        }
        row = self.gone_since(page, sheet, row)?;
        self.fold(sheet, head)?;
        for (column, field) in Field::ALL.into_iter().enumerate() {
            if self.says_nothing(field) {
                sheet.set_column_hidden(column as u16)?;
            }
        }
        if self.lines.is_empty() {
            let none =
                "Nothing was found. That is no certificate: see Basis for what was not checked.";
            row += 1;
            page::string(sheet, row, 0, none, &page.styles.lead)?;
        }
        page.close(sheet, head, row, columns.len(), 3)?;
        // What people write in, and the ids, would make the print too small.
        let printed = Field::ALL.iter().position(|f| *f == Field::Source);
        sheet.set_print_area(0, 0, row, printed.unwrap_or(0) as u16)?;
        Ok(())
    }

    /// What an earlier audit has and this one has not.
    fn gone_since(
        &self,
        page: &Page,
        sheet: &mut Worksheet,
        last: u32,
    ) -> Result<u32, ReportError> {
        let mut row = last;
        for gone in self.below {
            row += 1;
            let cells = Field::ALL.map(|field| match field {
                Field::Severity => Cell::Section("gone".to_owned()),
                Field::Rule => Cell::text(&gone.rule),
                Field::Subject => Cell::text(&gone.subject),
                Field::Wrong => Cell::text(&gone.message),
                Field::Found => Cell::text(&gone.found),
                Field::Since => Cell::text(&gone.fate),
                _ => Cell::text(""),
            });
            let widths = Field::ALL.map(|field| field.column().1);
            page::make_room(sheet, row, cells.iter().zip(widths))?;
            for (column, cell) in cells.iter().enumerate() {
                page::put(sheet, row, column as u16, cell, page.styles)?;
            }
        }
        Ok(row)
    }

    /// The members of a group are outlined below it and folded away.
    fn fold(&self, sheet: &mut Worksheet, head: u32) -> Result<(), ReportError> {
        sheet.group_symbols_above(true);
        let mut row = head;
        for line in self.lines {
            row += 1;
            if let Line::Group(members) = line {
                let last = row + members.len() as u32;
                sheet.group_rows_collapsed(row + 1, last)?;
            }
        }
        Ok(())
    }

    fn cell(&self, line: &Line<Item>, field: Field, shared: &[Field]) -> Cell {
        match line {
            Line::One(item) => self.own(item, field),
            Line::Group(items) => self.of_group(items, field, shared),
            Line::Member(_) if shared.contains(&field) => Cell::Free(String::new()),
            Line::Member(item) => self.own(item, field),
        }
    }

    fn own(&self, item: &Item, field: Field) -> Cell {
        let finding = item.finding;
        let address = &finding.address;
        match field {
            Field::Severity if !finding.stands() => {
                Cell::Section(format!("{}, accepted", finding.severity))
            }
            Field::Severity => Cell::Severity(finding.severity),
            Field::Rule => Cell::text(finding.rule),
            Field::Subject => Cell::text(&finding.subject_label),
            Field::Wrong => Cell::text(&finding.message),
            Field::Found => Cell::text(&finding.found),
            Field::Limit => Cell::text(&finding.limit),
            Field::ToDo => Cell::text(&finding.remedy),
            Field::Job => Cell::text(item.job),
            Field::File => Cell::text(&address.file),
            Field::Sheet => Cell::text(&address.sheet),
            Field::Cell => Cell::link(self.links.to(address), &address.cell),
            Field::Also => {
                let places = (self.also)(finding);
                // One link a cell: to the first, the others are counted.
                let mut shown = places
                    .first()
                    .map_or_else(String::new, |place| beside(place, address));
                if places.len() > 1 {
                    shown.push_str(&format!(" +{}", places.len() - 1));
                }
                let url = places.first().and_then(|place| self.links.to(place));
                Cell::link(url, shown)
            }
            Field::Dwelling => Cell::text(&finding.dwelling),
            Field::Source => Cell::text(&finding.source),
            Field::Since => Cell::text(&finding.since),
            Field::Acceptance => match (&finding.accepted, self.acceptances.get(&finding.id)) {
                (Some(accepted), _) => Cell::text(accepted.text()),
                (None, Some(text)) => Cell::Tint(finding.severity, text.clone()),
                (None, None) => Cell::text(""),
            },
            Field::Id => Cell::text(&finding.id),
            Field::Remark | Field::Reply | Field::Accept | Field::AsFound | Field::AsLimit => {
                Cell::Free(self.typed(&finding.id, field).to_owned())
            }
        }
    }

    fn of_group(&self, items: &[Item], field: Field, shared: &[Field]) -> Cell {
        let Some(first) = items.first() else {
            return Cell::text("");
        };
        let finding = first.finding;
        let doors = dwellings(items);
        let kind = finding.dwelling_type.as_str();
        match field {
            Field::Subject => Cell::Group(format!(
                "{}, {}",
                finding.subject_in_dwelling(),
                groups::short(&doors, kind, first.dwellings)
            )),
            Field::Wrong => Cell::Group(format!(
                "{}. In {}: {}",
                groups::naming(&doors, kind, first.dwellings),
                finding.dwelling,
                finding.message
            )),
            Field::Dwelling => Cell::Group(groups::short(&doors, kind, first.dwellings)),
            Field::Id => {
                let ids: Vec<&str> = items.iter().map(|i| i.finding.id.as_str()).collect();
                Cell::Section(format!("{GROUP_ID} {}", ids.join(" ")))
            }
            Field::Remark | Field::Reply | Field::Accept | Field::AsFound | Field::AsLimit => {
                let typed = match shared.contains(&field) {
                    true => self.typed(&finding.id, field),
                    false => "",
                };
                Cell::Free(typed.to_owned())
            }
            _ => match self.own(first, field) {
                Cell::Text(text) => Cell::Group(text),
                cell => cell,
            },
        }
    }

    fn typed(&self, id: &str, field: Field) -> &str {
        self.remarks.get(id).map_or("", |remarks| match field {
            Field::Remark => &remarks.reviewer,
            Field::Reply => &remarks.reply,
            Field::AsFound => &remarks.as_found,
            Field::AsLimit => &remarks.as_limit,
            _ => &remarks.accept,
        })
    }

    /// An acceptance goes together with what it was given for.
    fn shared(&self, items: &[Item]) -> Vec<Field> {
        const ACCEPTANCE: [Field; 3] = [Field::Accept, Field::AsFound, Field::AsLimit];
        let together = ACCEPTANCE.iter().all(|field| self.same(items, *field));
        Field::TYPED
            .into_iter()
            .filter(|field| match ACCEPTANCE.contains(field) {
                true => together,
                false => self.same(items, *field),
            })
            .collect()
    }

    fn same(&self, items: &[Item], field: Field) -> bool {
        let mut typed = items.iter().map(|i| self.typed(&i.finding.id, field));
        let first = typed.next();
        typed.all(|text| Some(text) == first)
    }
}

/// A place, with its sheet and file named where they differ.
fn beside(place: &Address, from: &Address) -> String {
    let mut text = String::new();
    if place.file != from.file {
        text.push_str(place.file.rsplit('/').next().unwrap_or(&place.file));
        text.push(' ');
    }
    if !place.sheet.is_empty() && (place.sheet != from.sheet || place.file != from.file) {
        text.push_str(&format!("{}!", place.sheet));
    }
    text + &place.cell
}

/// `FIX protection-over-mop: …`, as it stands beside a row and in sheets
/// about circuits and controllers; with when it first stood, and who answers
/// for it.
pub(super) fn brief(finding: &Reported) -> String {
    let since = match finding.since.as_str() {
        "" => String::new(),
        since => format!(" ({since})"),
    };
    let (word, accepted) = match &finding.accepted {
        None => (style::word(finding.severity).to_owned(), String::new()),
        Some(accepted) => (
            format!("ACCEPTED ({})", finding.severity),
            format!(" [{}]", accepted.text()),
        ),
    };
    format!(
        "{word} {}{since}: {}{accepted}",
        finding.rule, finding.message
    )
}
