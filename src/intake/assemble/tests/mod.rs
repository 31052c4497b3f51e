//! Small grids, read to schedules.
