//! Small grids, read to schedules. All jobs are invented.

mod cells;
mod circuits;
mod end_to_end;
pub(in crate::intake) mod grid;
mod layouts;
mod scale;
mod workbooks;
