//! The rules: each a declaration beside one pure function from a schedule to
//! outcomes. A family is one module (or folder) with its rules in a slice;
//! [`ALL`] is the only list of families.

pub mod branch;
mod bus;
mod conductor;
mod controller;
mod declaration;
mod example;
mod filled;
mod overcurrent;
mod reading;
mod run;
mod runs;
mod same_cell;
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

pub use bus::{Layout as BusLayout, SystemBus};
pub use declaration::{Cite, Family, Rule};
pub use example::{Example, example};
pub use filled::audit_filled;
pub use run::{audit, dispose};
pub(crate) use supply::current as circuit_current;

use crate::practice::RuleSeverities;
use std::collections::HashMap;
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

/// Where each rule stands in [`ALL`]: asked for once an outcome.
static PLACES: LazyLock<HashMap<&'static str, usize>> = LazyLock::new(|| {
    let places = ALL.iter().enumerate();
    places.map(|(place, rule)| (rule.name, place)).collect()
});

/// Where the rule of that name stands in [`ALL`].
fn place(name: &str) -> Option<usize> {
    PLACES.get(name).copied()
}

/// The rule of that name.
pub fn by_name(name: &str) -> Option<&'static Rule> {
    place(name).map(|place| ALL[place])
}
