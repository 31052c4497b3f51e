//! Several units on one circuit: the load that they make together.

use super::step::sum_of;
use super::{Step, Worked};
use crate::schedule::{Amps, Edition, Percent, Quantity};
use crate::tables::{Source, Topic, limits};

/// What is known of one unit's current on a shared circuit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Member {
    FullLoad(Amps),
    /// Minimum circuit ampacity alone.
    Mca(Amps),
}

/// 1.25 × the largest and the rest at full load.
pub fn by_full_load(full_load: &[Amps], edition: Edition) -> Worked<Amps> {
    let factor = limits::several_motors_factor(edition);
    let largest = full_load.iter().copied().fold(Amps(0.0), larger);
    let total: Amps = full_load.iter().copied().sum();
    let value = total + largest * (factor.value - 1.0);
    let rest = total - largest;
    let how = format!(
        "{} × largest {largest} + the other {} together {rest}",
        factor.value,
        full_load.len().saturating_sub(1)
    );
    Worked::new(
        value,
        vec![Step::new("shared-load", value, how, factor.source)],
    )
}

fn larger(a: Amps, b: Amps) -> Amps {
    if b.0 > a.0 { b } else { a }
}

/// The sum of the MCA: never below the load by full-load currents.
pub fn by_mca_sum(mca: &[Amps]) -> Worked<Amps> {
    let value: Amps = mca.iter().copied().sum();
    let step = Step::new("sum-of-mca", value, sum_of(mca), None);
    Worked::new(value, vec![step])
}

/// The sum of the MCA / 1.25: never above the load by full-load currents.
pub fn by_mca_bound(mca: &[Amps], edition: Edition) -> Worked<Amps> {
    let factor = limits::several_motors_factor(edition);
    let total: Amps = mca.iter().copied().sum();
    let value = total / factor.value;
    let how = format!("sum of MCA {total} / {}", factor.value);
    let step = Step::new("sum-of-mca-bound", value, how, factor.source);
    Worked::new(value, vec![step])
}

/// Between which bounds the load of a shared circuit lies.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct SharedLoad {
    /// The load lies at or above this.
    pub least: Amps,
    /// The load lies at or below this.
    pub most: Amps,
    /// Every unit's full-load current was given: both bounds are the load.
    pub exact: bool,
}

/// How a load with bounds stands to a rating.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Against {
    Within,
    /// The bounds lie on either side: the full-load currents decide.
    Between,
    Over,
}

impl SharedLoad {
    pub fn against(&self, rating: Amps) -> Against {
        if !self.most.exceeds(rating) {
            Against::Within
        } else if self.least.exceeds(rating) {
            Against::Over
        } else {
            Against::Between
        }
    }

    /// The cautious load as a share of the rating.
    pub fn share(&self, rating: Amps) -> Percent {
        Percent(100.0 * self.most.0 / rating.0)
    }
}

/// The load of a shared circuit, exact where all full-load currents are
/// given, else in bounds; the MCA stand in for those that are missing.
pub fn load(members: &[Member], edition: Edition) -> Worked<SharedLoad> {
    let mut full_load = Vec::new();
    let mut mca = Vec::new();
    for member in members {
        match member {
            Member::FullLoad(amps) => full_load.push(*amps),
            Member::Mca(amps) => mca.push(*amps),
        }
    }
    let mut steps = Vec::new();
    if mca.is_empty() {
        let exact = by_full_load(&full_load, edition).into_value(&mut steps);
        return Worked::new(
            SharedLoad {
                least: exact,
                most: exact,
                exact: true,
            },
            steps,
        );
    }
    let mut most = by_mca_sum(&mca).into_value(&mut steps);
    let mut least = by_mca_bound(&mca, edition).into_value(&mut steps);
    if !full_load.is_empty() {
        let known = by_full_load(&full_load, edition).into_value(&mut steps);
        let total: Amps = full_load.iter().copied().sum();
        most = most + known;
        least = least + total;
        steps.push(Step::new(
            "shared-load-most",
            most,
            "sum of MCA + load by the given full-load currents",
            None,
        ));
        steps.push(Step::new(
            "shared-load-least",
            least,
            format!("bound of the MCA + given full-load currents {total}"),
            None,
        ));
    }
    Worked::new(
        SharedLoad {
            least,
            most,
            exact: false,
        },
        steps,
    )
}

/// The smallest device for a continuous load: 125 % of it.
pub fn continuous_device(load: Amps, edition: Edition) -> Worked<Amps> {
    let source = Source::code(Topic::BranchDevice, edition);
    let value = load * 1.25;
    let step = Step::new("continuous-load", value, format!("1.25 × {load}"), source);
    Worked::new(value, vec![step])
}
