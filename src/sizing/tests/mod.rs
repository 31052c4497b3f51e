//! Check values: published worked examples, each with the publication that
//! printed it, and the properties that hold for every input.

mod conductors;
mod currents;
mod lengths;
mod properties;
mod shared;
mod supplies;

use std::io::Write;
use std::path::Path;

/// A check value.
pub struct Check<G, E> {
    pub given: G,
    pub expect: E,
    /// The publication, or how the value was come by.
    pub source: &'static str,
    pub from_memory: bool,
}

pub const fn published<G, E>(given: G, expect: E, source: &'static str) -> Check<G, E> {
    Check {
        given,
        expect,
        source,
        from_memory: false,
    }
}

pub const fn recalled<G, E>(given: G, expect: E, source: &'static str) -> Check<G, E> {
    Check {
        given,
        expect,
        source,
        from_memory: true,
    }
}

/// By hand, or by the practice of the trade: no publication behind it.
pub const BY_HAND: &str = "by hand";
pub const PRACTICE: &str = "common practice, no source";

/// How the check values of a table are known.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Tally {
    /// Worked examples that a publication prints.
    pub examples: usize,
    /// Rows and limits of a published table or section, and what lies just
    /// beside them.
    pub tables: usize,
    pub from_memory: usize,
    pub by_hand: usize,
}

pub fn tally<G, E>(checks: &[Check<G, E>]) -> Tally {
    let mut tally = Tally::default();
    for check in checks {
        if check.from_memory {
            tally.from_memory += 1;
        } else if [BY_HAND, PRACTICE].contains(&check.source) {
            tally.by_hand += 1;
        } else if check.source.starts_with("NFPA") || check.source.starts_with("ANSI") {
            tally.tables += 1;
        } else {
            tally.examples += 1;
        }
    }
    tally
}

#[track_caller]
pub fn near(got: f64, expect: f64, within: f64, source: &str) {
    assert!(
        (got - expect).abs() <= within,
        "{got} is not {expect} within {within} ({source})"
    );
}

#[test]
fn the_check_values_are_counted() {
    let mut all = Tally::default();
    for tables in [
        currents::tallies(),
        shared::tallies(),
        conductors::tallies(),
        lengths::tallies(),
        supplies::tallies(),
    ] {
        for table in tables {
            all.examples += table.examples;
            all.tables += table.tables;
            all.from_memory += table.from_memory;
            all.by_hand += table.by_hand;
        }
    }
    assert!(all.examples >= 35 && all.tables >= 70, "{all:?}");
    let rules = of_the_rules();
    assert!(
        rules.examples >= 8,
        "the checks of the rules were not found"
    );
    let published = all.examples + all.tables + rules.examples + rules.tables;
    // Not by println, which tests keep to themselves: the count is to be seen.
    let _ = writeln!(
        std::io::stdout(),
        "check values: {published} published ({} of worked examples, {} of tables and sections), \
         {} from memory, {} by hand or practice",
        all.examples + rules.examples,
        all.tables + rules.tables,
        all.from_memory + rules.from_memory,
        all.by_hand + rules.by_hand
    );
    assert!(published >= 80);
}

/// The check values in the tests of the rules, by the source beside each.
fn of_the_rules() -> Tally {
    let mut checks = Vec::new();
    let mut folders = vec![Path::new(env!("CARGO_MANIFEST_DIR")).join("src/rules")];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).expect("the rules").flatten() {
            let path = entry.path();
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            let text = std::fs::read_to_string(path).expect("a source");
            let sources = text
                .lines()
                .filter_map(|line| line.trim().strip_prefix("source: \""));
            for source in sources {
                checks.push(if source.starts_with("from memory") {
                    recalled((), (), "")
                } else if source.starts_with("NFPA") {
                    published((), (), "NFPA")
                } else if source.starts_with(PRACTICE) || source.starts_with(BY_HAND) {
                    published((), (), BY_HAND)
                } else {
                    published((), (), "a publication")
                });
            }
        }
    }
    tally(&checks)
}
