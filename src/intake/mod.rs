//! From files to typed schedules.

pub mod book;
pub mod found;
pub mod notation;
