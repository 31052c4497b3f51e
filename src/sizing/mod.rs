//! The arithmetic: pure functions from quantities to a value and the steps
//! that a person needs to check it by hand. No finding and no verdict of a
//! rule is made here.

pub mod bound;
pub mod bus;
pub mod conductor;
pub mod disconnect;
pub mod drop;
pub mod grounding;
pub mod grouping;
pub mod heat;
pub mod nameplate;
pub mod protection;
pub mod sharing;
mod step;
pub mod supply;
#[cfg(test)]
mod tests;

pub use step::{Step, Worked};
