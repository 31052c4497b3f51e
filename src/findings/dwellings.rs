//! The dwellings of a job and their declared types.

use crate::schedule::{Name, Schedule};
use std::collections::BTreeMap;

/// The dwellings of a job, each with its declared type.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Dwellings {
    /// Key of the dwelling: key and name of its type; empty where it has none.
    types: BTreeMap<String, (String, String)>,
    /// By key of the type: its dwellings, as written, in the order of the rows.
    of_type: BTreeMap<String, Vec<String>>,
}

impl Dwellings {
    pub fn of(schedule: &Schedule) -> Self {
        let mut dwellings = Self::default();
        for (_, unit) in schedule.audited_units() {
            if let Some(dwelling) = unit.dwelling.get() {
                dwellings.add(dwelling, unit.dwelling_type.get());
            }
        }
        dwellings
    }

    /// From dwellings and types as written; an empty type is none.
    pub fn from_names<'a>(rows: impl Iterator<Item = (&'a str, &'a str)>) -> Self {
        let mut dwellings = Self::default();
        for (dwelling, kind) in rows.filter(|(dwelling, _)| !dwelling.is_empty()) {
            let kind = Some(Name::new(kind)).filter(|kind| !kind.key().is_empty());
            dwellings.add(&Name::new(dwelling), kind.as_ref());
        }
        dwellings
    }

    /// The first type that a dwelling's rows name is its type.
    fn add(&mut self, dwelling: &Name, kind: Option<&Name>) {
        if !self.types.contains_key(dwelling.key()) {
            self.types
                .insert(dwelling.key().to_owned(), <(String, String)>::default());
        }
        let known = self.types.get_mut(dwelling.key());
        if let (Some(kind), Some(known)) = (kind, known)
            && known.0.is_empty()
        {
            *known = (kind.key().to_owned(), kind.text().to_owned());
            let of_type = self.of_type.entry(kind.key().to_owned()).or_default();
            of_type.push(dwelling.text().to_owned());
        }
    }

    /// The declared type of a dwelling, as written; empty where it has none.
    pub fn type_of(&self, dwelling: &Name) -> &str {
        let known = self.types.get(dwelling.key());
        known.map_or("", |(_, kind)| kind.as_str())
    }

    /// All dwellings of a type, in the order of the rows.
    pub fn of_type(&self, kind: &str) -> &[String] {
        let known = self.of_type.get(Name::new(kind).key());
        known.map_or(&[], Vec::as_slice)
    }

    /// Whether a dwelling is the one that is named, or of the type that is
    /// named: a dwelling's name goes before a type's.
    pub fn is_in(&self, dwelling: &str, named: &Name) -> bool {
        let own = Name::new(dwelling);
        if own.key() == named.key() || self.types.contains_key(named.key()) {
            return own.key() == named.key();
        }
        let kind = self.types.get(own.key());
        kind.is_some_and(|(kind, _)| !kind.is_empty() && kind == named.key())
    }
}
