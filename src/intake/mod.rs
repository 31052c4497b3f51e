//! From files to a typed schedule: encodings, sheets, heading rows,
//! headings, notations.
//!
//! Intake knows no rule and no limit of the trade.

#[allow(dead_code)] // the readers of packages follow
pub mod book;
pub mod found;
#[allow(dead_code)] // further grammars follow
pub mod notation;
pub mod recognise;
pub mod schema;
