//! The rules: each a declaration beside one pure function from a schedule to
//! outcomes. A family is one module (or folder) with its rules in a slice;
//! [`ALL`] is the only list of families.

mod branch;
mod bus;
mod conductor;
mod controller;
mod declaration;
mod example;
mod overcurrent;
mod reading;
mod run;
mod runs;
mod sequence;
mod sharing;
mod strip_heat;
mod supply;
#[cfg(test)]
pub mod testing;
#[cfg(test)]
mod tests;
mod twins;
mod wording;

pub use declaration::{Cite, Family, Rule};
pub use example::{Example, example};
pub use run::audit;

use crate::practice::RuleSeverities;
use std::sync::LazyLock;

/// Every rule, in the order of the catalogue.
pub static ALL: LazyLock<Vec<&'static Rule>> = LazyLock::new(|| {
    [
        reading::RULES,
        supply::RULES,
        overcurrent::RULES,
        sharing::RULES,
        strip_heat::RULES,
        conductor::RULES,
        bus::RULES,
        controller::RULES,
        sequence::RULES,
        twins::RULES,
    ]
    .concat()
});

/// Every rule with what it can give, for the reader of a practice profile.
pub fn severities() -> Vec<RuleSeverities> {
    ALL.iter()
        .map(|rule| RuleSeverities {
            name: rule.name,
            severities: rule.severities,
        })
        .collect()
}

/// The rule of that name.
pub fn by_name(name: &str) -> Option<&'static Rule> {
    ALL.iter().copied().find(|rule| rule.name == name)
}
