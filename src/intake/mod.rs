//! From files to typed schedules.

pub mod found;
pub mod notation;
