//! What many jobs take together.

use super::{Item, Quantity};
use std::collections::BTreeMap;

/// A line of the takeoff, summed over jobs.
#[derive(Clone, Debug, PartialEq)]
pub struct Total {
    /// Its price is that of all jobs which price it; `None` where these
    /// differ, or none does.
    pub item: Item,
    pub jobs: u64,
    /// Over the jobs that price it.
    pub cost: Option<f64>,
    pub prices_differ: bool,
}

/// Sums the takeoffs of jobs, in the order of kinds and sizes.
pub fn totals<'a>(jobs: impl Iterator<Item = &'a [Item]>) -> Vec<Total> {
    let mut sums: BTreeMap<_, Total> = BTreeMap::new();
    for item in jobs.flatten() {
        let key = (item.kind, item.order, item.name.as_str(), item.unit);
        match sums.get_mut(&key) {
            Some(total) => total.add(item),
            None => {
                sums.insert(
                    key,
                    Total {
                        item: item.clone(),
                        jobs: 1,
                        cost: item.cost(),
                        prices_differ: false,
                    },
                );
            }
        }
    }
    sums.into_values().collect()
}

impl Total {
    fn add(&mut self, item: &Item) {
        fn sum(into: &mut Quantity, more: Quantity) {
            into.amount += more.amount;
            into.without_length += more.without_length;
        }
        self.jobs += 1;
        sum(&mut self.item.scheduled, item.scheduled);
        sum(&mut self.item.proposed, item.proposed);
        self.cost = match (self.cost, item.cost()) {
            (Some(a), Some(b)) => Some(a + b),
            (a, b) => a.or(b),
        };
        self.prices_differ |= self.item.price != item.price;
        if self.prices_differ {
            self.item.price = None;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::takeoff::Kind;

    fn item(name: &str, order: i64, scheduled: f64, proposed: f64, price: Option<f64>) -> Item {
        let of = |amount| Quantity {
            amount,
            without_length: 1,
        };
        Item {
            kind: Kind::Breaker,
            order: (order, 2),
            name: name.into(),
            unit: "each",
            scheduled: of(scheduled),
            proposed: of(proposed),
            price,
        }
    }

    #[test]
    fn jobs_are_summed_item_by_item_in_the_order_of_sizes() {
        let one = [
            item("breaker 15 A", 150, 1.0, 2.0, Some(10.0)),
            item("breaker 100 A", 1000, 1.0, 1.0, None),
        ];
        let two = [
            item("breaker 15 A", 150, 3.0, 1.0, Some(10.0)),
            item("breaker 60 A", 600, 1.0, 0.0, Some(20.0)),
        ];
        let three = [item("breaker 60 A", 600, 0.0, 2.0, Some(25.0))];
        let jobs: [&[Item]; 3] = [&one, &two, &three];
        let totals = totals(jobs.into_iter());
        let names: Vec<&str> = totals.iter().map(|t| t.item.name.as_str()).collect();
        assert_eq!(names, ["breaker 15 A", "breaker 60 A", "breaker 100 A"]);
        let (small, middle, large) = (&totals[0], &totals[1], &totals[2]);
        assert_eq!((small.jobs, small.item.scheduled.amount), (2, 4.0));
        assert_eq!(small.item.proposed.amount, 3.0);
        assert_eq!(small.item.scheduled.without_length, 2);
        // 10 for the one more, 20 less for the two fewer.
        assert_eq!((small.item.price, small.cost), (Some(10.0), Some(-10.0)));
        assert!(middle.prices_differ && middle.item.price.is_none());
        assert_eq!(middle.cost, Some(2.0 * 25.0 - 20.0));
        assert_eq!((large.item.price, large.cost), (None, None));
    }
}
