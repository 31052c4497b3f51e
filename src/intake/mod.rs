//! From files to typed schedules.

pub mod notation;
