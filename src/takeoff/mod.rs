//! What a job takes: breakers, fuses, disconnects, wire and cable, as
//! scheduled and as proposed, and what the difference costs.
//!
//! Counts and sums only: what each circuit should be is not decided here.

mod count;
mod prices;
#[cfg(test)]
mod tests;
mod total;

pub use prices::{PriceFault, Prices};
pub use total::{Total, Totals};

use crate::practice::Practice;
use crate::schedule::{RunId, Schedule};
use count::Count;
use serde::{Deserialize, Deserializer, Serialize};
use std::collections::BTreeSet;

/// The order of the kinds of items in a list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Kind {
    Breaker,
    Fuse,
    Disconnect,
    Conductor,
    Ground,
    Cable,
    BusWire,
    BusBox,
    ControllerWire,
    OtherWire,
}

impl Kind {
    pub const ALL: [Self; 10] = [
        Self::Breaker,
        Self::Fuse,
        Self::Disconnect,
        Self::Conductor,
        Self::Ground,
        Self::Cable,
        Self::BusWire,
        Self::BusBox,
        Self::ControllerWire,
        Self::OtherWire,
    ];

    /// As files of facts hold it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Breaker => "breaker",
            Self::Fuse => "fuse",
            Self::Disconnect => "disconnect",
            Self::Conductor => "conductor",
            Self::Ground => "grounding conductor",
            Self::Cable => "cable",
            Self::BusWire => "bus wire",
            Self::BusBox => "box of bus wire",
            Self::ControllerWire => "controller wire",
            Self::OtherWire => "other wire",
        }
    }
}

/// What items are counted in.
pub const UNITS: [&str; 3] = ["each", "ft", "box"];

/// One of [`UNITS`]. A name of its own, since a plain reference would be
/// borrowed from what is deserialised.
pub type UnitName = &'static str;

fn unit<'de, D: Deserializer<'de>>(from: D) -> Result<UnitName, D::Error> {
    let text = String::deserialize(from)?;
    let known = UNITS.into_iter().find(|unit| *unit == text);
    known.ok_or_else(|| serde::de::Error::custom(format!("nothing is counted in {text}")))
}

/// One kind of thing in one schedule.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Quantity {
    /// In the item's unit, the share for waste included.
    pub amount: f64,
    /// Runs whose length is not known: they count nothing.
    pub without_length: u32,
}

/// A line of the takeoff.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Item {
    pub kind: Kind,
    /// Its place among those of its kind: by rating and poles, or by size.
    pub order: (i64, i64),
    /// `breaker 30 A 2-pole`, `14/2 NM-B cable`.
    pub name: String,
    /// `each`, `ft` or `box`.
    #[serde(deserialize_with = "unit")]
    pub unit: UnitName,
    pub scheduled: Quantity,
    pub proposed: Quantity,
    /// Of one unit, where the price list has it.
    pub price: Option<f64>,
}

impl Item {
    /// Proposed less scheduled.
    pub fn difference(&self) -> f64 {
        self.proposed.amount - self.scheduled.amount
    }

    /// What the proposal adds; below zero what it saves.
    pub fn cost(&self) -> Option<f64> {
        Some(self.price? * self.difference())
    }
}

/// The takeoff of a job, in the order of kinds and sizes. Runs of the
/// proposed schedule that are `unbounded` count as ones without a length.
pub fn takeoff(
    scheduled: &Schedule,
    proposed: &Schedule,
    unbounded: &BTreeSet<RunId>,
    practice: &Practice,
    prices: &Prices,
) -> Vec<Item> {
    let was = Count::of(scheduled, &BTreeSet::new(), practice);
    let is = Count::of(proposed, unbounded, practice);
    let keys: BTreeSet<&count::Key> = was.items.keys().chain(is.items.keys()).collect();
    // Wire that is bought by the box is not paid for by the foot as well.
    let by_box = |key: &count::Key| {
        key.kind == Kind::BusWire && {
            let boxed = count::boxed(&key.name);
            prices.of(&boxed.name, boxed.unit).is_some()
        }
    };
    keys.into_iter()
        .map(|key| Item {
            kind: key.kind,
            order: key.order,
            name: key.name.clone(),
            unit: key.unit,
            scheduled: was.items.get(key).copied().unwrap_or_default(),
            proposed: is.items.get(key).copied().unwrap_or_default(),
            price: prices.of(&key.name, key.unit).filter(|_| !by_box(key)),
        })
        .collect()
}

/// How many items that change have no price; wire that is bought by the box
/// is paid with it.
pub fn unpriced(items: &[Item]) -> usize {
    let boxed = |wire: &Item| {
        let key = count::boxed(&wire.name);
        let is = |item: &&Item| item.kind == Kind::BusBox && item.name == key.name;
        items
            .iter()
            .find(is)
            .is_some_and(|item| item.price.is_some())
    };
    let open = items.iter().filter(|item| {
        item.price.is_none()
            && item.difference() != 0.0
            && !(item.kind == Kind::BusWire && boxed(item))
    });
    open.count()
}

/// What the proposal adds in all, over the items that are priced; `None`
/// where none is.
pub fn cost(items: &[Item]) -> Option<f64> {
    let costs: Vec<f64> = items.iter().filter_map(Item::cost).collect();
    (!costs.is_empty()).then(|| costs.iter().sum())
}
