//! Small grids, read to schedules. All jobs are invented.

mod cells;
mod circuits;
pub(in crate::intake) mod grid;
mod layouts;
mod scale;
mod workbooks;
