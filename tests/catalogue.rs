//! The names of all rules, which are for good: findings, files and tests use
//! them. And the pages that are generated from what the rules declare.
//!
//! `AMPLEDGER_BLESS=1 cargo test` writes the pages anew.

use ampledger::findings::Severity::{self, Fix, Note, Verify};
use ampledger::rules::{ALL, Family, by_name, example};
use ampledger::schedule::Edition;
use std::fmt::Write;
use std::path::Path;

/// Name, worst severity that it may give, family.
const CATALOGUE: &[(&str, Severity, &str)] = &[
    ("unreadable-value", Verify, "reading"),
    ("date-for-wire", Verify, "reading"),
    ("unit-of-measure-assumed", Note, "reading"),
    ("required-column-missing", Verify, "reading"),
    ("heading-not-recognised", Note, "reading"),
    ("duplicate-tag", Fix, "reading"),
    ("circuit-disagrees", Fix, "reading"),
    ("unknown-tag", Fix, "reading"),
    ("kind-unknown", Verify, "reading"),
    ("table-missing", Verify, "reading"),
    ("no-supply-circuit", Fix, "supply"),
    ("outdoor-not-dedicated", Fix, "supply"),
    ("unit-on-two-circuits", Verify, "supply"),
    ("supply-voltage-mismatch", Fix, "supply"),
    ("phase-mismatch", Fix, "supply"),
    ("poles-mismatch", Fix, "supply"),
    ("slot-taken-twice", Fix, "supply"),
    ("panel-overloaded", Verify, "supply"),
    ("supply-imbalance", Note, "supply"),
    ("disconnect-missing", Verify, "supply"),
    ("disconnect-underrated", Fix, "supply"),
    ("ground-fault-protection", Note, "supply"),
    ("protection-over-mop", Fix, "overcurrent"),
    ("protection-under-mca", Fix, "overcurrent"),
    ("protection-below-mop", Note, "overcurrent"),
    ("fuse-carries-limit", Verify, "overcurrent"),
    ("fuse-required", Fix, "overcurrent"),
    ("rating-not-standard", Verify, "overcurrent"),
    ("mop-below-mca", Fix, "overcurrent"),
    ("nameplate-missing", Verify, "overcurrent"),
    ("nameplate-disagrees", Verify, "overcurrent"),
    ("mop-not-standard", Note, "overcurrent"),
    ("nameplate-off-table", Verify, "overcurrent"),
    ("shared-over-capacity", Fix, "sharing"),
    ("shared-rating-too-large", Fix, "sharing"),
    ("shared-with-strip-heat", Fix, "sharing"),
    ("shared-outside-dwelling", Verify, "sharing"),
    ("shared-mixed-voltage", Fix, "sharing"),
    ("shared-motor-over-limit", Verify, "sharing"),
    ("sharing-possible", Note, "sharing"),
    ("strip-heat-circuit-small", Fix, "strip-heat"),
    ("strip-heat-not-subdivided", Fix, "strip-heat"),
    ("strip-heat-voltage", Note, "strip-heat"),
    ("conductor-under-mca", Fix, "conductor"),
    ("conductor-under-protection", Fix, "conductor"),
    ("conductor-too-small", Fix, "conductor"),
    ("grounding-conductor-small", Fix, "conductor"),
    ("grounding-conductor-missing", Verify, "conductor"),
    ("conductor-count", Fix, "conductor"),
    ("voltage-drop", Verify, "conductor"),
    ("conductor-heavier-than-needed", Note, "conductor"),
    ("cable-type-outdoors", Verify, "conductor"),
    ("bus-branches", Fix, "bus"),
    ("bus-closes-on-itself", Fix, "bus"),
    ("bus-broken", Fix, "bus"),
    ("bus-not-from-outdoor", Fix, "bus"),
    ("bus-run-repeated", Fix, "bus"),
    ("bus-crosses-systems", Fix, "bus"),
    ("bus-wrong-side", Fix, "bus"),
    ("bus-splice", Verify, "bus"),
    ("bus-over-length", Fix, "bus"),
    ("bus-near-length", Note, "bus"),
    ("bus-farthest-over-length", Fix, "bus"),
    ("bus-gauge", Verify, "bus"),
    ("bus-conductor-count", Fix, "bus"),
    ("bus-solid-wire", Verify, "bus"),
    ("low-voltage-with-power", Fix, "bus"),
    ("bus-near-power-unshielded", Fix, "bus"),
    ("bus-shield-needless", Note, "bus"),
    ("bus-shield-broken", Fix, "bus"),
    ("bus-shield-grounds", Fix, "bus"),
    ("bus-too-many-units", Fix, "bus"),
    ("bus-length-missing", Verify, "bus"),
    ("capacity-ratio", Verify, "bus"),
    ("controller-missing", Fix, "controller"),
    ("controller-not-home-run", Fix, "controller"),
    ("controller-idle", Verify, "controller"),
    ("controller-over-length", Fix, "controller"),
    ("controller-wire", Note, "controller"),
    ("controller-elsewhere", Verify, "controller"),
    ("interlock-stops-all", Note, "controller"),
    ("powered-before-charge", Fix, "sequence"),
    ("twin-units-differ", Verify, "twins"),
];

/// Rules that compare jobs with each other: they see batches, never one
/// schedule, and stand in no list of a job's rules.
const ACROSS_JOBS: &[(&str, Severity)] =
    &[("model-disagrees", Verify), ("job-submitted-twice", Note)];

#[test]
fn the_rules_are_those_of_the_catalogue_by_name_family_and_severity() {
    let declared: Vec<(&str, &str)> = ALL.iter().map(|r| (r.name, r.family.name())).collect();
    let named: Vec<(&str, &str)> = CATALOGUE
        .iter()
        .map(|(name, _, family)| (*name, *family))
        .collect();
    for rule in &declared {
        assert!(named.contains(rule), "{rule:?} is not in the catalogue");
    }
    for rule in &named {
        assert!(
            declared.contains(rule),
            "{rule:?} is in the catalogue and nowhere else"
        );
    }
    assert_eq!(declared.len(), named.len(), "a name stands twice");
    for (name, worst, _) in CATALOGUE {
        let rule = by_name(name).expect("just found");
        assert_eq!(rule.severities.first(), Some(worst), "{name}");
        // A rule that can break a limit may ask where a deciding fact is
        // missing; a rule that can only advise or ask never breaks one.
        assert!(
            rule.severities.is_sorted_by(|a, b| a > b),
            "{name}: worst first, each once"
        );
    }
    for (name, _) in ACROSS_JOBS {
        assert!(
            by_name(name).is_none(),
            "{name} sees batches, not schedules"
        );
    }
}

#[test]
fn rules_wait_for_rules_that_exist_and_never_in_a_circle() {
    fn waits(name: &str, seen: &mut Vec<String>) {
        assert!(
            !seen.iter().any(|s| s == name),
            "{seen:?} wait for each other"
        );
        seen.push(name.to_owned());
        let rule = by_name(name).unwrap_or_else(|| panic!("{name} is waited for and no rule"));
        for cause in rule.yields_to {
            waits(cause, seen);
        }
        seen.pop();
    }
    for rule in ALL.iter() {
        waits(rule.name, &mut Vec::new());
    }
}

#[test]
fn every_rule_has_a_worked_example_with_its_numbers() {
    for rule in ALL.iter() {
        let example = example(rule.name).unwrap_or_else(|| panic!("{} has none", rule.name));
        assert!(
            !example.message.is_empty() && !example.remedy.is_empty(),
            "{}",
            rule.name
        );
        let severity = rule
            .severities
            .iter()
            .find(|s| s.name() == example.severity);
        assert!(
            severity.is_some(),
            "{} never gives {}",
            rule.name,
            example.severity
        );
    }
}

fn page() -> String {
    let mut out = String::from(
        "# The rules\n\n\
         One table a family, from what the rules declare of themselves: a test writes this page \
         and fails when it is stale. `ampledger explain RULE` says more of each, with a worked \
         example and the sections of every edition; the sections here are those of \
         NFPA 70-2023.\n\n\
         `fix`: breaks a limit, and the schedule proves it. `verify`: the schedule cannot show \
         that it holds. `note`: advice or a saving. A rule waits where one that it waits for has \
         a finding on the same subject.\n",
    );
    let mut family: Option<Family> = None;
    for rule in ALL.iter() {
        if family != Some(rule.family) {
            family = Some(rule.family);
            let _ = write!(
                out,
                "\n## {}\n\n| rule | gives | the fault | waits for | stands on |\n\
                 | --- | --- | --- | --- | --- |\n",
                rule.family
            );
        }
        let gives: Vec<&str> = rule.severities.iter().map(|s| s.name()).collect();
        let waits: Vec<String> = rule
            .yields_to
            .iter()
            .map(|name| format!("`{name}`"))
            .collect();
        let _ = writeln!(
            out,
            "| `{}` | {} | {} | {} | {} |",
            rule.name,
            gives.join(", "),
            rule.summary,
            waits.join(", "),
            rule.source(Edition::Nec2023)
        );
    }
    out
}

#[test]
fn the_page_of_the_rules_is_not_stale() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/rules/README.md");
    let page = page();
    if std::env::var_os("AMPLEDGER_BLESS").is_some() {
        std::fs::write(&path, &page).expect("the page can be written");
    }
    let stands = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        stands == page,
        "src/rules/README.md is stale: run AMPLEDGER_BLESS=1 cargo test"
    );
}
