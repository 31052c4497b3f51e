//! What intake could not read or was not sure of.
//!
//! Intake knows no rule: it records a typed fault here, and the rules of the
//! family `reading` turn it into a finding.

use super::{CellId, ColIndex, FieldName, Place};

/// A fault of reading.
#[derive(Clone, Debug, PartialEq)]
pub enum Fault {
    /// A cell of a known column holds text that cannot be understood.
    Unreadable {
        at: CellId,
        field: FieldName,
        /// What was expected, with an example: `amperes, as in 30 or 30A/2P`.
        expected: &'static str,
        /// The nearest reading, if one comes to mind.
        guess: Option<String>,
    },
    /// A spreadsheet turned a wire or breaker notation into a date.
    DateForWire {
        at: CellId,
        field: FieldName,
        /// The date as the sheet shows it.
        shown: String,
        /// What may have been typed, likelier first.
        readings: Vec<String>,
        /// The reading that was taken, where the row leaves only one.
        taken: Option<String>,
    },
    /// A length without a unit, where heading and neighbours do not tell.
    /// Once a column: `cells` counts its values.
    UnitAssumed {
        first: CellId,
        field: FieldName,
        assumed: &'static str,
        cells: u32,
    },
    /// A table is recognised but lacks its identity.
    ColumnMissing {
        table: u32,
        /// The columns that would identify its rows.
        fields: Vec<FieldName>,
    },
    /// Columns with a heading that we do not know.
    HeadingNotRecognised {
        table: u32,
        /// Column, heading as written, nearest known heading if any.
        headings: Vec<(ColIndex, String, Option<String>)>,
    },
    /// Rows that mean the same circuit, panel, unit or controller say
    /// different things in one field.
    Disagrees {
        what: Conflict,
        field: FieldName,
        /// The later cell, and what it says.
        at: CellId,
        says: String,
        /// The earlier cell, and what it says.
        other: CellId,
        other_says: String,
    },
    /// Something could not be read for a reason of the file's own: the text
    /// is a whole sentence.
    Other { at: Place, says: String },
}

/// What the rows that disagree are rows of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Conflict {
    Unit(super::UnitId),
    Circuit(super::CircuitId),
    Panel(super::PanelId),
    Controller(super::ControllerId),
}
