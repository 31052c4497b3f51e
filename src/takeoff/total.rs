//! What many jobs take together.

use super::{Item, Kind, Quantity, UnitName};
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

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
#[derive(Clone, Debug, Default)]
pub struct Totals {
    sums: BTreeMap<Key, Total>,
}

/// Kind, order, name and unit.
type Key = (Kind, (i64, i64), String, UnitName);

impl Totals {
    /// Adds the takeoff of a job.
    pub fn add(&mut self, items: Vec<Item>) {
        for item in items {
            let key = (item.kind, item.order, item.name.clone(), item.unit);
            match self.sums.entry(key) {
                Entry::Occupied(mut total) => total.get_mut().add(&item),
                Entry::Vacant(free) => {
                    free.insert(Total {
                        jobs: 1,
                        cost: item.cost(),
                        prices_differ: false,
                        item,
                    });
                }
            }
        }
    }

    pub fn sums(self) -> Vec<Total> {
        self.sums.into_values().collect()
    }
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
        let mut totals = Totals::default();
        for job in [one.to_vec(), two.to_vec(), three.to_vec()] {
            totals.add(job);
        }
        let totals = totals.sums();
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
