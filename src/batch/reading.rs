//! How files of a batch are read.

use crate::intake::book::{Bound, Limits, Refusal};
use crate::intake::schema::Schemas;
use crate::practice::{FilesPractice, Practice};
use std::sync::Arc;

/// What reading depends on beside the file.
#[derive(Clone, Debug)]
pub(super) struct Reading {
    pub schemas: Arc<Schemas>,
    pub limits: Limits,
}

impl Reading {
    pub fn new(schemas: &Arc<Schemas>, practice: &Practice) -> Self {
        Self {
            schemas: Arc::clone(schemas),
            limits: limits(&practice.files),
        }
    }
}

/// The bounds that a profile sets.
fn limits(files: &FilesPractice) -> Limits {
    Limits {
        file_bytes: files.size.bytes(),
        dense_file_bytes: files.size_xls.bytes(),
        unpacked_bytes: files.unpacked.bytes(),
        ratio: files.ratio.0,
        entries: files.parts.0,
        sheets: files.sheets.0,
        rows: files.rows.0,
        columns: files.columns.0,
        cells: files.cells.0,
        dense_cells: files.cells_xls.0,
        text_bytes: files.text.bytes(),
        merges: files.merges.0,
    }
}

/// Why a file was not read, and which key of the profile would have it read.
pub(super) fn said(refusal: &Refusal) -> String {
    let Refusal::OverLimit { bound, .. } = refusal else {
        return refusal.to_string();
    };
    let key = match bound {
        Bound::FileBytes => "size",
        Bound::DenseFileBytes => "size_xls",
        Bound::UnpackedBytes => "unpacked",
        Bound::Ratio => "ratio",
        Bound::Entries => "parts",
        Bound::Sheets => "sheets",
        Bound::Rows => "rows",
        Bound::Columns => "columns",
        Bound::Cells => "cells",
        Bound::DenseCells => "cells_xls",
        Bound::TextBytes => "text",
        Bound::Merges => "merges",
    };
    format!(
        "{refusal} Where it is right as it is, files.{key} of the practice profile raises the limit."
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_profile_that_sets_none_has_the_bounds_of_the_reader() {
        assert_eq!(limits(&Practice::default().files), Limits::default());
    }
}
