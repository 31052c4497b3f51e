//! The rules: each a declaration beside one pure function from a schedule to
//! outcomes. [`ALL`] is the only list.

mod declaration;
mod run;

pub use declaration::{Cite, Family, Rule};
pub use run::audit;

/// Every rule, in the order of the catalogue.
pub static ALL: &[&Rule] = &[];

/// The rule of that name.
pub fn by_name(name: &str) -> Option<&'static Rule> {
    ALL.iter().copied().find(|rule| rule.name == name)
}
