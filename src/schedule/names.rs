//! Looking a name up: in its own dwelling first, then in the building, then
//! wherever it is the only one.

use super::{Controller, Field, Name, Panel, Unit};
use std::collections::BTreeMap;

/// The most names that are compared for the nearest one: a job of so many
/// names under one roof has other worries, and the time must not grow with
/// the square of its rows.
const MOST_COMPARED: usize = 4_096;

/// An index from (dwelling, name) to positions.
pub(super) struct Names {
    exact: BTreeMap<(Option<Name>, Name), Vec<u32>>,
    anywhere: BTreeMap<Name, Vec<u32>>,
    /// Under dwelling and name in one: `12C FC-1`.
    qualified: BTreeMap<Name, Vec<u32>>,
}

impl Names {
    pub(super) fn of_units(units: &[Unit]) -> Self {
        Self::new(
            units
                .iter()
                .enumerate()
                .filter(|(_, unit)| unit.repeats.is_none())
                .map(|(index, unit)| (index, &unit.dwelling, &unit.tag.value)),
        )
    }

    pub(super) fn of_panels(panels: &[Panel]) -> Self {
        Self::new(
            panels
                .iter()
                .enumerate()
                .map(|(i, p)| (i, &p.dwelling, &p.name.value)),
        )
    }

    pub(super) fn of_controllers(controllers: &[Controller]) -> Self {
        Self::new(
            controllers
                .iter()
                .enumerate()
                .map(|(i, c)| (i, &c.dwelling, &c.tag.value)),
        )
    }

    fn new<'a>(items: impl Iterator<Item = (usize, &'a Field<Name>, &'a Name)>) -> Self {
        let mut exact: BTreeMap<(Option<Name>, Name), Vec<u32>> = BTreeMap::new();
        let mut anywhere: BTreeMap<Name, Vec<u32>> = BTreeMap::new();
        let mut qualified: BTreeMap<Name, Vec<u32>> = BTreeMap::new();
        for (index, dwelling, name) in items {
            let index = index as u32;
            if let Some(dwelling) = dwelling.get() {
                let both = Name::new(&format!("{dwelling} {name}"));
                qualified.entry(both).or_default().push(index);
            }
            exact
                .entry((dwelling.get().cloned(), name.clone()))
                .or_default()
                .push(index);
            anywhere.entry(name.clone()).or_default().push(index);
        }
        Self {
            exact,
            anywhere,
            qualified,
        }
    }

    /// Positions of what the name means when said in `dwelling`: several for
    /// units of one mark; those of several dwellings where the name is said
    /// for the building and only dwellings have it.
    pub(super) fn find(&self, dwelling: Option<&Name>, name: &Name) -> Vec<u32> {
        let own = self.exact.get(&(dwelling.cloned(), name.clone()));
        let building = || self.exact.get(&(None, name.clone()));
        if let Some(found) = own.or_else(building) {
            return found.clone();
        }
        if let Some(found) = self.qualified.get(name) {
            return found.clone();
        }
        if dwelling.is_some() {
            // Another dwelling's unit is not this dwelling's.
            return Vec::new();
        }
        self.anywhere.get(name).cloned().unwrap_or_default()
    }

    /// Positions of what a name means that states its dwelling: `12C FC-1`.
    pub(super) fn qualified(&self, name: &Name) -> &[u32] {
        self.qualified.get(name).map_or(&[], Vec::as_slice)
    }

    /// The name most like `name` in that dwelling or the building; `None`
    /// where nothing is near.
    pub(super) fn nearest(&self, dwelling: Option<&Name>, name: &Name) -> Option<Name> {
        let own = dwelling.into_iter().flat_map(|dwelling| {
            let first = (Some(dwelling.clone()), Name::new(""));
            let all = self.exact.range(first..);
            all.take_while(move |((of, _), _)| of.as_ref() == Some(dwelling))
        });
        let building = self
            .exact
            .iter()
            .take_while(|((of, _), _)| dwelling.is_none() || of.is_none());
        let within = building
            .chain(own)
            .map(|((_, known), _)| known)
            .take(MOST_COMPARED);
        let mut best: Option<(f64, &Name)> = None;
        for known in within {
            let likeness = strsim::normalized_damerau_levenshtein(known.key(), name.key());
            if best.is_none_or(|(most, _)| likeness > most) {
                best = Some((likeness, known));
            }
        }
        best.filter(|(likeness, _)| *likeness >= 0.5)
            .map(|(_, known)| known.clone())
    }

    /// The letter prefixes in use, each once.
    pub(super) fn prefixes(&self) -> Vec<String> {
        let mut prefixes: Vec<String> = self
            .anywhere
            .keys()
            .map(|name| name.prefix().to_owned())
            .filter(|prefix| !prefix.is_empty())
            .collect();
        prefixes.sort();
        prefixes.dedup();
        prefixes
    }
}
