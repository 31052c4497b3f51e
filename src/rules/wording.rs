//! Words that several families put together in the same way.

use crate::findings::Value;
use crate::schedule::Name;

/// `FC-1, FC-2, FC-3`; of more than `most` the first ones, `and 12 more`, so
/// that a message stays readable whatever the job.
pub(super) fn list(items: impl IntoIterator<Item = String>, most: usize) -> String {
    let mut shown = Vec::new();
    let mut more = 0_usize;
    for item in items {
        if shown.len() < most {
            shown.push(item);
        } else {
            more += 1;
        }
    }
    let mut text = shown.join(", ");
    if more > 0 {
        text.push_str(&format!(" and {more} more"));
    }
    text
}

/// `1 run`, `3 runs`.
pub(super) fn count(number: usize, one: &str, many: &str) -> String {
    if number == 1 {
        format!("1 {one}")
    } else {
        format!("{number} {many}")
    }
}

/// The same as a value of a finding.
pub(super) fn counted(number: usize, one: &'static str, many: &'static str) -> Value {
    Value::Count(number as u64, if number == 1 { one } else { many })
}

/// `ALL`, `ALL UNITS`: every unit, and no tag.
pub(super) fn means_all(name: &Name) -> bool {
    let first = name.text().split_whitespace().next().unwrap_or("");
    ["ALL", "EVERY", "ENTIRE", "WHOLE"]
        .iter()
        .any(|word| first.eq_ignore_ascii_case(word))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_lists_are_cut_and_say_so() {
        let items = |n: usize| (0..n).map(|i| format!("FC-{i}"));
        assert_eq!(list(items(2), 2), "FC-0, FC-1");
        assert_eq!(list(items(4), 2), "FC-0, FC-1 and 2 more");
        assert_eq!(count(1, "run", "runs"), "1 run");
        assert_eq!(count(0, "run", "runs"), "0 runs");
    }

    /// Names stay for good; each declaration explains itself in sentences.
    #[test]
    fn the_rules_of_reading_and_of_low_voltage_explain_themselves() {
        use crate::rules::{ALL, Family};
        let families = [
            Family::Reading,
            Family::Bus,
            Family::Controller,
            Family::Sequence,
            Family::Twins,
        ];
        let ours: Vec<_> = ALL
            .iter()
            .filter(|r| families.contains(&r.family))
            .collect();
        let names: Vec<_> = ours.iter().map(|rule| rule.name).collect();
        assert_eq!(names.join(" "), NAMES.join(" "));
        for rule in ours {
            assert!(!rule.severities.is_empty() && !rule.cites.is_empty());
            assert!(rule.severities.is_sorted_by(|a, b| a > b), "{}", rule.name);
            assert!(!rule.summary.ends_with('.'), "{}", rule.name);
            for text in [rule.why, rule.decides, rule.leaves] {
                assert!(text.ends_with('.') && text.len() > 20, "{}", rule.name);
                assert!(!text.contains("  "), "{}", rule.name);
            }
            for cause in rule.yields_to {
                assert!(crate::rules::by_name(cause).is_some(), "{cause}");
            }
        }
    }

    const NAMES: [&str; 41] = [
        "unreadable-value",
        "date-for-wire",
        "unit-of-measure-assumed",
        "required-column-missing",
        "heading-not-recognised",
        "duplicate-tag",
        "circuit-disagrees",
        "unknown-tag",
        "kind-unknown",
        "table-missing",
        "bus-branches",
        "bus-closes-on-itself",
        "bus-broken",
        "bus-not-from-outdoor",
        "bus-run-repeated",
        "bus-crosses-systems",
        "bus-wrong-side",
        "bus-splice",
        "bus-over-length",
        "bus-near-length",
        "bus-farthest-over-length",
        "bus-gauge",
        "bus-conductor-count",
        "bus-solid-wire",
        "low-voltage-with-power",
        "bus-near-power-unshielded",
        "bus-shield-needless",
        "bus-shield-broken",
        "bus-shield-grounds",
        "bus-too-many-units",
        "bus-length-missing",
        "capacity-ratio",
        "controller-missing",
        "controller-not-home-run",
        "controller-idle",
        "controller-over-length",
        "controller-wire",
        "controller-elsewhere",
        "interlock-stops-all",
        "powered-before-charge",
        "twin-units-differ",
    ];
}
