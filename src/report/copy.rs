//! Which way an author's workbook is handed back: his own, edited in place,
//! or one written anew from what was read.

use super::author::{self, AuthorView, sheet_names};
use super::names::SheetNames;
use super::package::{self, CannotEdit, Editing};
use super::style::{self, Styles};
use super::{ReportError, counted};
use crate::intake::book::{Book, Format};
use rust_xlsxwriter::Workbook;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// Cells that *Basis* names one by one.
const MOST_CELLS: usize = 20;

/// A workbook, and what about it is not as it would be by choice.
#[derive(Clone, Debug)]
pub struct Written {
    pub bytes: Vec<u8>,
    /// Why the author's sheets were written anew; `None` where his workbook
    /// was edited, or the workbook has no sheets of his.
    pub rebuilt: Option<CannotEdit>,
    pub left_out: LeftOut,
}

impl Written {
    /// The bytes for a file of this name: one that ends in `.xlsm` has to say
    /// so inside.
    ///
    /// # Errors
    /// Never for a workbook of ours.
    pub fn for_file(self, name: &str) -> Result<Vec<u8>, CannotEdit> {
        match self.rebuilt.is_some() && name.to_lowercase().ends_with(".xlsm") {
            true => package::as_macro_enabled(&self.bytes),
            false => Ok(self.bytes),
        }
    }

    /// What the batch says of the copy; `None` where all is as it would be by
    /// choice. `file` is the source.
    pub fn told(&self, file: &str) -> Option<CopyTold> {
        let told = CopyTold {
            file: file.to_owned(),
            rebuilt: self.rebuilt.as_ref().map(CannotEdit::to_string),
            without_columns: self.left_out.without_columns.clone(),
            notes_left_out: self.left_out.notes(),
        };
        (!told.texts().is_empty()).then_some(told)
    }
}

/// What of ours has no place on the author's sheets. It stands on *Findings*
/// all the same.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LeftOut {
    /// Sheets beside which our columns have no room.
    pub without_columns: Vec<String>,
    /// Cells that have a note of the author's: sheet and cell.
    pub noted_by_author: Vec<(String, String)>,
    /// Notes beyond those that a sheet bears: sheet and how many.
    pub too_many_notes: Vec<(String, u64)>,
}

impl LeftOut {
    fn notes(&self) -> u64 {
        let more: u64 = self.too_many_notes.iter().map(|(_, count)| count).sum();
        self.noted_by_author.len() as u64 + more
    }

    /// For the sheet *Basis*: subject, what, and what it means.
    fn rows(&self) -> Vec<(String, String, String)> {
        let mut rows = Vec::new();
        let mut row = |name: &str, what: String, says: &str| {
            rows.push((name.to_owned(), what, says.to_owned()));
        };
        if !self.without_columns.is_empty() {
            row(
                "Our columns",
                format!("left out on {}", self.without_columns.join(", ")),
                "there is no room for them to the right of the author's cells; what is found \
                 there stands on the sheet Findings",
            );
        }
        if !self.noted_by_author.is_empty() {
            let cells = self.noted_by_author.iter().take(MOST_CELLS);
            let cells: Vec<String> = cells
                .map(|(sheet, cell)| format!("{sheet}!{cell}"))
                .collect();
            let more = match self.noted_by_author.len().saturating_sub(MOST_CELLS) {
                0 => String::new(),
                more => format!(" and {}", counted(more, "other cell", "other cells")),
            };
            row(
                "Our notes",
                format!("left out at {}{more}", cells.join(", ")),
                "the cell has a note of the author's, which stays as it is; what is found there \
                 stands beside its row and on the sheet Findings",
            );
        }
        for (sheet, count) in &self.too_many_notes {
            let notes = counted(*count as usize, "note", "notes");
            row(
                "Our notes",
                format!("{notes} left out on {sheet}"),
                "a sheet with more notes is slow to open; what is found there stands beside the \
                 rows and on the sheet Findings",
            );
        }
        rows
    }
}

/// What is to be told of the copy of a source file.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CopyTold {
    /// The source, relative to the folder that was named.
    pub file: String,
    /// Why its sheets were written anew: the end of a sentence.
    pub rebuilt: Option<String>,
    pub without_columns: Vec<String>,
    pub notes_left_out: u64,
}

impl CopyTold {
    /// Clauses, one for each thing.
    pub fn texts(&self) -> Vec<String> {
        let mut texts = Vec::new();
        if let Some(reason) = &self.rebuilt {
            texts.push(format!("written anew, because {reason}"));
        }
        if !self.without_columns.is_empty() {
            let sheets = self.without_columns.join(", ");
            texts.push(format!("no room for our columns on {sheets}"));
        }
        if self.notes_left_out > 0 {
            let notes = counted(self.notes_left_out as usize, "note", "notes");
            texts.push(format!("{notes} of ours left out (see its Basis)"));
        }
        texts
    }

    /// What is told of a job's files, a line for each of them; a job of one
    /// file does not repeat its name.
    pub fn of_job(told: &[Self]) -> String {
        let lines = told.iter().map(|copy| match told {
            [_] => copy.texts().join("; "),
            _ => format!("{}: {}", copy.file, copy.texts().join("; ")),
        });
        lines.collect::<Vec<_>>().join("\n")
    }
}

/// What is written beside the author's cells.
#[derive(Default)]
pub(super) struct Placed {
    pub left_out: LeftOut,
    /// Ids of the remarks that stand beside a row.
    pub beside: BTreeSet<String>,
}

pub(super) enum Way<'a> {
    InPlace(Box<Editing<'a>>),
    Rebuilt(Option<CannotEdit>),
}

impl Way<'_> {
    /// The author's names of the sheets and those that they have in the copy.
    pub fn sheet_names(
        &self,
        book: &Book,
        path: &str,
        names: &mut SheetNames,
    ) -> BTreeMap<String, String> {
        let Self::InPlace(editing) = self else {
            return sheet_names(book, path, names);
        };
        let theirs = editing.sheet_names().into_iter();
        theirs
            .map(|name| {
                names.give(&name);
                (name.clone(), name)
            })
            .collect()
    }

    /// Writes the author's sheets with what was found: into his own workbook,
    /// or anew into ours.
    pub fn authors_sheets(
        &mut self,
        workbook: &mut Workbook,
        author: &AuthorView,
        styles: &Styles,
    ) -> Result<Placed, ReportError> {
        match self {
            Self::InPlace(editing) => {
                workbook.set_zip_compression_level(super::PACKED_QUICKLY);
                let told = author::in_place::edits(author, styles);
                Ok(told.write(editing)?)
            }
            Self::Rebuilt(_) => author::add(workbook, author, styles),
        }
    }

    /// For the sheet *Basis*: subject, what, and what it means.
    pub fn rows(&self, placed: &Placed) -> Vec<(String, String, String)> {
        let (what, says) = match self {
            Self::InPlace(_) => (
                "the author's own workbook",
                "This is the author's own workbook with our marks, notes, columns and sheets added \
                 to it; what is not ours is as it was. The original file was not touched."
                    .to_owned(),
            ),
            Self::Rebuilt(Some(CannotEdit::Text)) => (
                "written anew",
                "The author's file is text, which has no sheets to be marked: its rows were \
                 written into this workbook, each value as it was read. The original file was not \
                 touched."
                    .to_owned(),
            ),
            Self::Rebuilt(reason) => {
                let why = reason.as_ref().map_or(String::new(), |reason| {
                    format!(" The author's own file could not be marked, because {reason}.")
                });
                let says = format!(
                    "The author's sheets in this workbook were written anew from the values, \
                     merged ranges and look that were read: formulas stand as their values, and \
                     pictures, charts and drawings are left out.{why} The original file was not \
                     touched."
                );
                ("written anew", says)
            }
        };
        let mut rows = vec![("Copy".to_owned(), what.to_owned(), says)];
        rows.extend(placed.left_out.rows());
        rows
    }
}

/// An author's file.
#[derive(Clone, Copy)]
pub(super) struct Original<'a> {
    pub book: &'a Book,
    /// Its bytes, where they are those of a workbook.
    pub bytes: Option<&'a [u8]>,
}

impl<'a> Original<'a> {
    fn editing(self) -> Result<Editing<'a>, CannotEdit> {
        let bytes = match self.book.format {
            Format::Csv { .. } => Err(CannotEdit::Text),
            Format::Xls => Err(CannotEdit::OldBinary),
            Format::Xlsb => Err(CannotEdit::Binary),
            Format::Ods => Err(CannotEdit::OpenDocument),
            Format::Xlsx | Format::Xlsm => self.bytes.ok_or(CannotEdit::Unreadable),
        }?;
        Editing::begin(bytes, &style::cell_looks(), &style::mark_looks())
    }
}

/// Builds the copy: `build` gives our sheets, with the author's among them
/// where they are written anew. A job of several files has no author's
/// sheets.
pub(super) fn write(
    original: Option<Original>,
    build: impl Fn(&mut Way) -> Result<(Vec<u8>, Placed), ReportError>,
) -> Result<Written, ReportError> {
    let rebuilt = match original
        .map(|original| in_place(original, &build))
        .transpose()?
    {
        Some(Ok(written)) => return Ok(written),
        Some(Err(reason)) => Some(reason),
        None => None,
    };
    let (bytes, placed) = build(&mut Way::Rebuilt(rebuilt.clone()))?;
    Ok(Written {
        bytes,
        rebuilt,
        left_out: placed.left_out,
    })
}

fn in_place(
    original: Original,
    build: &impl Fn(&mut Way) -> Result<(Vec<u8>, Placed), ReportError>,
) -> Result<Result<Written, CannotEdit>, ReportError> {
    let editing = match original.editing() {
        Ok(editing) => editing,
        Err(reason) => return Ok(Err(reason)),
    };
    let mut way = Way::InPlace(Box::new(editing));
    let (ours, placed) = match build(&mut way) {
        Ok(built) => built,
        Err(ReportError::CannotEdit(reason)) => return Ok(Err(reason)),
        Err(error) => return Err(error),
    };
    let Way::InPlace(editing) = way else {
        return Ok(Err(CannotEdit::NotAPackage));
    };
    Ok(editing.finish(Some(&ours), 0).map(|edited| Written {
        bytes: edited.bytes,
        rebuilt: None,
        left_out: placed.left_out,
    }))
}
