//! Which way an author's workbook is handed back: his own, edited in place,
//! or one written anew from what was read.

use super::author::sheet_names;
use super::names::SheetNames;
use super::package::{self, CannotEdit, Edits, SheetEdit};
use super::{ReportError, style};
use crate::intake::book::Book;
use std::collections::BTreeMap;

/// A workbook, and why it is not the author's own.
#[derive(Clone, Debug)]
pub struct Written {
    pub bytes: Vec<u8>,
    /// `None` where the author's workbook was edited, or there was none that
    /// could be.
    pub rebuilt: Option<CannotEdit>,
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
}

pub(super) enum Way {
    /// Names of the author's sheets.
    InPlace(Vec<String>),
    Rebuilt(Option<CannotEdit>),
}

impl Way {
    pub fn is_in_place(&self) -> bool {
        matches!(self, Self::InPlace(_))
    }

    /// The author's names of the sheets and those that they have in the copy.
    pub fn sheet_names(
        &self,
        book: &Book,
        path: &str,
        names: &mut SheetNames,
    ) -> BTreeMap<String, String> {
        let Self::InPlace(theirs) = self else {
            return sheet_names(book, path, names);
        };
        for name in theirs {
            names.give(name);
        }
        theirs
            .iter()
            .map(|name| (name.clone(), name.clone()))
            .collect()
    }

    /// For the sheet *Basis*.
    pub fn sentence(&self) -> String {
        match self {
            Self::InPlace(_) => {
                "This is the author's own workbook with our marks, notes, columns and sheets added \
                 to it; what is not ours is as it was. The original file was not touched."
                    .to_owned()
            }
            Self::Rebuilt(reason) => {
                let why = reason.as_ref().map_or(String::new(), |reason| {
                    format!(" The author's own workbook could not be marked, because {reason}.")
                });
                format!(
                    "The author's sheets in this workbook were written anew from the values, \
                     merged ranges and look that were read: formulas stand as their values, and \
                     pictures, charts and drawings are left out.{why} The original file was not \
                     touched."
                )
            }
        }
    }
}

/// Builds the copy: `build` gives our sheets with the edits for the author's,
/// or the whole workbook where it is rebuilt.
pub(super) fn write(
    original: Option<&[u8]>,
    build: impl Fn(&Way) -> Result<(Vec<u8>, Vec<SheetEdit>), ReportError>,
) -> Result<Written, ReportError> {
    let edited = original
        .map(|original| in_place(original, &build))
        .transpose()?;
    let rebuilt = match edited {
        Some(Ok(bytes)) => {
            return Ok(Written {
                bytes,
                rebuilt: None,
            });
        }
        Some(Err(reason)) => Some(reason),
        None => None,
    };
    let (bytes, _) = build(&Way::Rebuilt(rebuilt.clone()))?;
    Ok(Written { bytes, rebuilt })
}

fn in_place(
    original: &[u8],
    build: &impl Fn(&Way) -> Result<(Vec<u8>, Vec<SheetEdit>), ReportError>,
) -> Result<Result<Vec<u8>, CannotEdit>, ReportError> {
    let names = match package::sheet_names(original) {
        Ok(names) => names,
        Err(reason) => return Ok(Err(reason)),
    };
    let (ours, sheets) = build(&Way::InPlace(names))?;
    let edits = Edits {
        cell_looks: style::cell_looks(),
        mark_looks: style::mark_looks(),
        sheets,
        appended: Some(&ours),
        active: 0,
    };
    Ok(package::edit(original, &edits).map(|edited| edited.bytes))
}
