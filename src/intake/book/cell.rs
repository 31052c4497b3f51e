//! One cell, stored in sixteen bytes and seen through a reference that knows
//! its sheet.

use super::calendar::Clock;
use super::look::Look;
use super::number_format::{NumberFormat, general};
use super::sheet::Sheet;
use crate::schedule::ColIndex;
use std::borrow::Cow;

/// What stands in a cell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Value<'a> {
    Text(&'a str),
    Number(f64),
    Bool(bool),
    /// A number that a date format shows as a date: perhaps one, perhaps
    /// `10/2` turned into one. `code` is its format, where it is known.
    DateTime {
        /// As stored: days since the workbook's epoch.
        serial: f64,
        code: Option<&'a str>,
    },
    /// An error value as a spreadsheet writes it: `#DIV/0!`.
    Error(&'static str),
    /// A formula that no program has calculated yet; told apart in XLSX and
    /// ODS.
    FormulaWithoutValue,
}

/// The kinds of value, as stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// `bits` are start and length in the sheet's own texts.
    Own,
    /// `bits` index the book's shared strings.
    Shared,
    Number,
    DateTime,
    Bool,
    /// `bits` index [`ERRORS`].
    Error,
    FormulaWithoutValue,
}

/// A stored cell.
#[derive(Clone, Copy, Debug)]
pub(super) struct Slot {
    pub bits: u64,
    pub column: u16,
    pub look: u16,
    pub kind: Kind,
    pub formula: bool,
}

impl Slot {
    pub fn number(column: u16, value: f64) -> Self {
        Self::new(column, Kind::Number, value.to_bits())
    }

    pub fn new(column: u16, kind: Kind, bits: u64) -> Self {
        Self {
            bits,
            column,
            look: 0,
            kind,
            formula: false,
        }
    }
}

/// The error values that spreadsheets know; anything else is the last.
pub(super) const ERRORS: [&str; 15] = [
    "#DIV/0!",
    "#N/A",
    "#NAME?",
    "#NULL!",
    "#NUM!",
    "#REF!",
    "#VALUE!",
    "#GETTING_DATA",
    "#SPILL!",
    "#CALC!",
    "#FIELD!",
    "#BLOCKED!",
    "#CONNECT!",
    "#UNKNOWN!",
    "#ERROR!",
];

/// Index of an error value's text in [`ERRORS`].
pub(super) fn error_index(text: &str) -> u64 {
    let found = ERRORS.iter().position(|e| e.eq_ignore_ascii_case(text));
    found.unwrap_or(ERRORS.len() - 1) as u64
}

/// A cell with a value, in its sheet.
#[derive(Clone, Copy)]
pub struct CellRef<'a> {
    pub(super) sheet: &'a Sheet,
    pub(super) slot: &'a Slot,
}

impl<'a> CellRef<'a> {
    pub fn column(&self) -> ColIndex {
        ColIndex(self.slot.column)
    }

    pub fn value(&self) -> Value<'a> {
        let bits = self.slot.bits;
        match self.slot.kind {
            Kind::Own => Value::Text(self.sheet.own_text(bits)),
            Kind::Shared => Value::Text(self.sheet.shared_text(bits)),
            Kind::Number => Value::Number(f64::from_bits(bits)),
            Kind::DateTime => Value::DateTime {
                serial: f64::from_bits(bits),
                code: self.number_format().map(NumberFormat::code),
            },
            Kind::Bool => Value::Bool(bits != 0),
            Kind::Error => Value::Error(ERRORS.get(bits as usize).unwrap_or(&"#ERROR!")),
            Kind::FormulaWithoutValue => Value::FormulaWithoutValue,
        }
    }

    /// The text as a person sees it: numbers without thousands and without
    /// needless zeros, dates and fractions by their format. Empty for a
    /// formula without a value.
    pub fn text(&self) -> Cow<'a, str> {
        let epoch_1904 = self.sheet.epoch_1904;
        match self.value() {
            Value::Text(text) => Cow::Borrowed(text),
            Value::Number(value) => Cow::Owned(match self.number_format() {
                Some(format) => format.show(value, epoch_1904),
                None => general(value),
            }),
            Value::Bool(true) => Cow::Borrowed("TRUE"),
            Value::Bool(false) => Cow::Borrowed("FALSE"),
            Value::DateTime { serial, .. } => Cow::Owned(match self.number_format() {
                Some(format) => format.show(serial, epoch_1904),
                None => plain_date(serial, epoch_1904),
            }),
            Value::Error(error) => Cow::Borrowed(error),
            Value::FormulaWithoutValue => Cow::Borrowed(""),
        }
    }

    /// The value was calculated, not typed; known for XLSX and ODS.
    pub fn is_formula(&self) -> bool {
        self.slot.formula
    }

    /// `None` where the reader gives no looks.
    pub fn look(&self) -> Option<&'a Look> {
        self.sheet.looks().get(usize::from(self.slot.look))
    }

    /// Index into the book's looks.
    pub fn look_index(&self) -> Option<u16> {
        self.look().map(|_| self.slot.look)
    }

    /// `None` for General and where the format is unknown.
    pub fn number_format(&self) -> Option<&'a NumberFormat> {
        self.look()?.number_format.as_ref()
    }
}

/// A date whose format the reader does not give, as the US writes it.
fn plain_date(serial: f64, epoch_1904: bool) -> String {
    match Clock::at(serial, epoch_1904) {
        Some(clock) if serial < 1.0 => {
            format!("{}:{:02}:{:02}", clock.hour, clock.minute, clock.second)
        }
        Some(clock) => format!("{}/{}/{}", clock.month, clock.day, clock.year),
        None => general(serial),
    }
}

impl std::fmt::Debug for CellRef<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {:?}", self.column(), self.value())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cell_stays_small() {
        // Ten million of them are held for a table of a million rows.
        assert_eq!(size_of::<Slot>(), 16);
    }
}
