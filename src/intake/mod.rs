//! From files to a typed schedule: encodings, sheets, heading rows,
//! headings, notations.
//!
//! Intake knows no rule and no limit of the trade.

pub mod assemble;
pub mod book;
pub mod found;
pub mod job;
mod memo;
pub mod notation;
pub mod recognise;
pub mod schema;
