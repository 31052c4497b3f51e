//! The fewest circuits that carry a set of loads.

use crate::schedule::{Amps, Edition, Quantity};
use crate::tables::limits;

/// How the load of a group counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Count {
    /// Full-load currents: 1.25 × the largest and the rest.
    FullLoad,
    /// MCA: their sum.
    SumOfMca,
}

/// Loads put together on circuits.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Grouping {
    /// Indices of the loads on each circuit, rising; circuits in the order
    /// of their first load.
    pub circuits: Vec<Vec<usize>>,
    /// Loads that are too large for any circuit.
    pub alone: Vec<usize>,
    /// No grouping needs fewer; else the search was cut short.
    pub proven: bool,
}

/// Steps of the search after which the best grouping so far is kept.
const EFFORT: u32 = 200_000;

/// Loads above which no search is made: it goes one call deep for each.
const SEARCHED: usize = 64;

/// The fewest circuits of `capacity` for `loads`. The order of equal loads
/// is that of their indices, so that the answer is always the same.
pub fn fewest_circuits(loads: &[Amps], capacity: Amps, count: Count, edition: Edition) -> Grouping {
    let extra = match count {
        Count::FullLoad => limits::several_motors_factor(edition).value,
        Count::SumOfMca => 1.0,
    };
    let mut order: Vec<usize> = (0..loads.len()).collect();
    let amps = |index: usize| loads.get(index).copied().unwrap_or(Amps(0.0));
    order.sort_by(|&a, &b| amps(b).0.total_cmp(&amps(a).0).then(a.cmp(&b)));
    let (mut alone, order): (Vec<_>, Vec<_>) = order
        .into_iter()
        .partition(|&index| (amps(index) * extra).exceeds(capacity));
    alone.sort_unstable();

    let sorted: Vec<Amps> = order.iter().map(|&index| amps(index)).collect();
    let total: Amps = sorted.iter().copied().sum();
    let bound = fewest_by_sum(total, capacity, sorted.len());
    let mut search = Search {
        loads: &sorted,
        capacity,
        extra,
        bound,
        best: first_fit(&sorted, capacity, extra),
        effort: EFFORT,
    };
    let proven = search.best.len() <= bound || (sorted.len() <= SEARCHED && search.run());
    let mut circuits: Vec<Vec<usize>> = search
        .best
        .iter()
        .map(|bin| {
            let mut members: Vec<_> = bin
                .iter()
                .filter_map(|&at| order.get(at).copied())
                .collect();
            members.sort_unstable();
            members
        })
        .collect();
    circuits.sort();
    Grouping {
        circuits,
        alone,
        proven,
    }
}

/// No fewer circuits than this can carry the sum.
fn fewest_by_sum(total: Amps, capacity: Amps, loads: usize) -> usize {
    (1..=loads)
        .find(|&n| !total.exceeds(capacity * n as f64))
        .unwrap_or(loads)
}

/// Loads falling: the first of a circuit is its largest, so that its share
/// alone carries the extra and the rest simply adds.
fn first_fit(loads: &[Amps], capacity: Amps, extra: f64) -> Vec<Vec<usize>> {
    let mut bins: Vec<(Amps, Vec<usize>)> = Vec::new();
    for (at, &load) in loads.iter().enumerate() {
        match bins
            .iter_mut()
            .find(|(used, _)| !(*used + load).exceeds(capacity))
        {
            Some((used, members)) => {
                *used = *used + load;
                members.push(at);
            }
            None => bins.push((load * extra, vec![at])),
        }
    }
    bins.into_iter().map(|(_, members)| members).collect()
}

struct Search<'a> {
    loads: &'a [Amps],
    capacity: Amps,
    extra: f64,
    bound: usize,
    best: Vec<Vec<usize>>,
    effort: u32,
}

impl Search<'_> {
    /// Whether the search came to its end.
    fn run(&mut self) -> bool {
        let mut bins = Vec::new();
        self.place(0, &mut bins);
        self.effort > 0 || self.best.len() <= self.bound
    }

    fn place(&mut self, at: usize, bins: &mut Vec<(Amps, Vec<usize>)>) {
        if self.effort == 0 || self.best.len() <= self.bound || bins.len() >= self.best.len() {
            return;
        }
        self.effort -= 1;
        let Some(&load) = self.loads.get(at) else {
            self.best = bins.iter().map(|(_, members)| members.clone()).collect();
            return;
        };
        let mut tried: Vec<f64> = Vec::new();
        for bin in 0..bins.len() {
            let Some((used, members)) = bins.get_mut(bin) else {
                continue;
            };
            let before = *used;
            // Circuits filled alike are alike: one of them is enough.
            if (before + load).exceeds(self.capacity) || tried.contains(&before.0) {
                continue;
            }
            tried.push(before.0);
            *used = before + load;
            members.push(at);
            self.place(at + 1, bins);
            if let Some((used, members)) = bins.get_mut(bin) {
                *used = before;
                members.pop();
            }
        }
        bins.push((load * self.extra, vec![at]));
        self.place(at + 1, bins);
        bins.pop();
    }
}
