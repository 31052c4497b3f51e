//! The typed model of a job: what the schedules say, each value with the
//! cell that it came from. It knows no file format and no limit.

mod draft;
mod fault;
mod field;
#[cfg(test)]
pub mod fixture;
mod job;
mod kinds;
mod loads;
mod merge;
mod model;
mod name;
mod names;
mod place;
mod quantity;
mod systems;
pub mod wire;

pub use draft::Draft;
pub use fault::{Conflict, Fault};
pub use field::{FieldName, TableKind};
pub use job::Schedule;
pub use kinds::*;
pub use model::*;
pub use name::Name;
pub use place::{
    Address, CellId, ColIndex, ColumnMap, Field, Located, Place, RowIndex, RowLeftOut, RowNumber,
    SourceFile, SourceTable, Sources, a1,
};
pub use quantity::*;
