//! Profiles as they are written, and as they are refused.

mod schema;

use super::{Practice, ProfileFault, RuleSeverities, ShieldPolicy};
use crate::findings::Severity::{Fix, Note, Verify};
use crate::schedule::wire::Size;
use crate::schedule::{Amps, Celsius, CustomerType, Edition, Feet, Percent};

const RULES: &[RuleSeverities] = &[
    RuleSeverities {
        name: "bus-gauge",
        severities: &[Verify],
    },
    RuleSeverities {
        name: "protection-over-mop",
        severities: &[Fix, Verify],
    },
];

fn read(text: &str) -> Practice {
    Practice::from_toml(text, RULES).unwrap_or_else(|faults| panic!("{faults:?}"))
}

fn refused(text: &str) -> Vec<ProfileFault> {
    Practice::from_toml(text, RULES).expect_err("a bad profile is refused")
}

#[test]
fn nothing_written_is_the_default() {
    for text in ["", "# nothing\n", "[bus]\n", "\u{feff}[severities]\n"] {
        assert_eq!(read(text), Practice::default(), "{text:?}");
    }
    let plain = Practice::default().listing();
    assert!(plain.iter().all(|(_, value, _)| !value.contains("default")));
    assert!(plain.iter().all(|(key, ..)| !key.starts_with("files.")));
    let budget = plain.iter().find(|(key, ..)| *key == "bus.budget");
    assert_eq!(budget.map(|(_, value, _)| value.as_str()), Some("6,000 ft"));
}

#[test]
fn every_key_is_read_in_its_units() {
    let practice = read(
        r#"
        edition = "2020"
        customer = "commercial"
        imbalance = 15
        drop_note = "2 %"
        drop_verify = 4.5
        nameplate_tolerance = 5
        capacity_ratio = ["60 %", 120]
        terminals = { general = "140 F" }
        ambient = { roof = "55 C", attic = 50, outdoors = "104 °F", indoors = 35 }
        sharing = { rating = "20 A", near = 75, motor_amps = 5.5, motor_hp = "0.5 hp" }
        controller = { farthest = "250 m", most_in_group = 16 }
        [bus]
        budget = "1830 m"
        budget_shielded = "4,500 ft"
        near = "85 %"
        farthest = 1312
        gauge = ["20 AWG", 14]
        conductors = 3
        stranded = false
        shield = "anywhere"
        shield_grounds = 2
        most_units = 12
        box_may_branch = true

        [takeoff]
        waste = "15 %"

        [files]
        size = "1 GB"
        size_xls = 32
        unpacked = "2,048 MB"
        ratio = 150
        parts = 500
        sheets = 20
        rows = "50,000"
        columns = 100
        cells = 1000000
        cells_xls = 2000000
        text = "64 MB"
        merges = 1000
        "#,
    );
    assert_eq!(practice.takeoff.waste, Percent(15.0));
    assert_eq!(practice.files.size.bytes(), 1 << 30);
    assert_eq!(practice.files.rows, crate::practice::Count(50_000));
    assert_eq!(practice.edition, Edition::Nec2020);
    assert_eq!(practice.customer, Some(CustomerType::Commercial));
    assert_eq!(practice.capacity_ratio, (Percent(60.0), Percent(120.0)));
    assert!((practice.terminals.general.0 - 60.0).abs() < 1e-9);
    assert!((practice.ambient.outdoors.unwrap().0 - 40.0).abs() < 1e-9);
    assert_eq!(practice.ambient.attic, Some(Celsius(50.0)));
    assert_eq!(practice.sharing.rating, Amps(20.0));
    assert!((practice.bus.budget.0 - 6003.937).abs() < 1e-3);
    assert_eq!(practice.bus.budget_shielded, Feet(4500.0));
    assert_eq!(practice.bus.smallest_gauge, Size::Awg(20));
    assert_eq!(practice.bus.largest_gauge, Size::Awg(14));
    assert_eq!(practice.bus.shield, ShieldPolicy::Anywhere);
    assert_eq!(practice.bus.most_units, Some(12));
    let listing = practice.listing();
    let (severities, values) = listing.split_last().unwrap();
    for (key, value, meaning) in values {
        assert!(value.contains("(default: "), "{key} was not read: {value}");
        assert!(!meaning.is_empty());
    }
    assert_eq!(severities.1, "as the rules declare");
}

/// Profile; line, key, and words of what is said.
const REFUSED: &[(&str, usize, &str, &str)] = &[
    (
        "[bus]\nbudgte = 5000\n",
        2,
        "bus.budgte",
        "nearest: bus.budget",
    ),
    ("shared = 1", 1, "shared", "no key"),
    (
        "\n\n[bus]\nbudget = \"6000 yd\"",
        4,
        "bus.budget",
        "\"6000 yd\" is not a length",
    ),
    (
        "[bus]\nbudget = \"6,5 m\"",
        2,
        "bus.budget",
        "is not a length",
    ),
    ("[bus]\nbudget = 0", 2, "bus.budget", "above zero"),
    ("[bus]\nbudget = inf", 2, "bus.budget", "above zero"),
    ("bus = 6000", 1, "bus", "its keys are bus.budget"),
    ("edition = 2021", 1, "edition", "2017, 2020, 2023 or 2026"),
    ("customer = \"hotel\"", 1, "customer", "\"dwelling\""),
    (
        "[ambient]\nroof = \"55 K\"",
        2,
        "ambient.roof",
        "from -50 to 150 °C",
    ),
    (
        "[ambient]\nroof = 400",
        2,
        "ambient.roof",
        "from -50 to 150 °C",
    ),
    (
        "[terminals]\ngeneral = 70",
        2,
        "terminals.general",
        "60, 75 or 90 °C",
    ),
    (
        "drop_note = 6",
        1,
        "drop_verify",
        "not below drop_note, 6 %",
    ),
    (
        "capacity_ratio = [130, 50]",
        1,
        "capacity_ratio",
        "lowest and the highest",
    ),
    (
        "capacity_ratio = [50]",
        1,
        "capacity_ratio",
        "lowest and the highest",
    ),
    ("[bus]\ngauge = [16, 18]", 2, "bus.gauge", "thinner first"),
    (
        "[bus]\nconductors = 2.5",
        2,
        "bus.conductors",
        "whole number",
    ),
    (
        "[bus]\nbox_may_branch = \"yes\"",
        2,
        "bus.box_may_branch",
        "true or false",
    ),
    (
        "[severities]\nbus-guage = \"fix\"",
        2,
        "severities.bus-guage",
        "nearest: bus-gauge",
    ),
    (
        "[severities]\nbus-gauge = \"off\"",
        2,
        "severities.bus-gauge",
        "\"fix\", \"verify\" or \"note\"",
    ),
    (
        "[severities]\nprotection-over-mop = \"verify\"",
        2,
        "severities.protection-over-mop",
        "the rule gives fix, verify: say which one",
    ),
    (
        "[severities]\nbus-gauge = { fix = \"note\" }",
        2,
        "severities.bus-gauge.fix",
        "the rule gives verify",
    ),
    ("edition = \n", 1, "", "no TOML"),
    ("edition = 2020\nedition = 2023", 2, "", "no TOML"),
];

#[test]
fn a_bad_profile_is_refused_with_line_key_and_what_was_expected() {
    for (text, line, key, says) in REFUSED {
        let faults = refused(text);
        let fault = &faults[0];
        assert_eq!(
            (fault.line, fault.key.as_str()),
            (*line, *key),
            "{text:?}: {faults:?}"
        );
        assert!(fault.says.contains(says), "{text:?}: {}", fault.says);
        assert!(fault.column >= 1);
    }
}

#[test]
fn all_faults_are_told_at_once_in_the_order_of_the_lines() {
    let faults = refused("edition = 1999\n[bus]\nnear = \"much\"\nbudget = 5\nfar = 1\n");
    let lines: Vec<usize> = faults.iter().map(|fault| fault.line).collect();
    assert_eq!(lines, [1, 3, 5]);
    let error = super::ProfileError::Faults("site.toml".into(), faults);
    let text = error.to_string();
    assert!(
        text.starts_with("site.toml:1:11: edition: 1999 is not an edition"),
        "{text}"
    );
    assert_eq!(text.lines().count(), 3);
}

#[test]
fn a_file_that_is_not_there_says_so() {
    let error = Practice::load(std::path::Path::new("no/such/profile.toml"), RULES);
    let text = error.expect_err("there is no such file").to_string();
    assert!(text.starts_with("no/such/profile.toml: "), "{text}");
}

#[test]
fn severities_are_raised_and_lowered_and_listed() {
    let practice =
        read("[severities]\nbus-gauge = \"fix\"\nprotection-over-mop = { fix = \"verify\" }\n");
    assert_eq!(practice.severities.of("bus-gauge", Verify), Some(Fix));
    assert_eq!(practice.severities.of("bus-gauge", Note), None);
    assert_eq!(
        practice.severities.of("protection-over-mop", Fix),
        Some(Verify)
    );
    assert_eq!(practice.severities.of("protection-over-mop", Verify), None);
    let listing = practice.listing();
    let (_, text, _) = listing.last().unwrap();
    assert_eq!(
        text,
        "bus-gauge: verify raised to fix; protection-over-mop: fix lowered to verify"
    );
    // What a rule declares anyway is no change.
    assert!(
        read("[severities]\nbus-gauge = \"verify\"")
            .severities
            .is_empty()
    );
}

#[test]
fn a_severity_that_was_set_says_whose_it_is() {
    use crate::rules::{audit, severities};
    use crate::schedule::{UnitKind, fixture::Fixture};
    let schedule = Fixture::new()
        .unit("OU-1", UnitKind::Outdoor, |_, _| {})
        .unit("FC-1", UnitKind::Indoor, |_, _| {})
        .run("OU-1", "FC-1", |run, cells| {
            run.gauge = cells.given(Size::Awg(22))
        })
        .build();
    let found = |text: &str| {
        let practice = Practice::from_toml(text, &severities()).unwrap();
        let audit = audit(&schedule, &practice);
        let finding = audit.findings.into_iter().find(|f| f.rule == "bus-gauge");
        let finding = finding.expect("22 AWG is asked about");
        (finding.severity, finding.source)
    };
    let (severity, source) = found("");
    assert_eq!(severity, Verify);
    assert!(!source.contains("severities"), "{source}");
    let (severity, source) = found("[severities]\nbus-gauge = \"note\"");
    assert_eq!(severity, Note);
    assert!(
        source.ends_with("practice profile: severities.bus-gauge (verify by the rule)"),
        "{source}"
    );
}

/// A finding names its profile keys in words of the code: they have to be
/// keys that a profile can set.
#[test]
fn findings_name_keys_that_exist() {
    let mut names = Vec::new();
    let mut folders = vec![std::path::PathBuf::from(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/src/rules"
    ))];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap().flatten() {
            let path = entry.path();
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            let text = std::fs::read_to_string(path).unwrap();
            for lead in [".profile(\"", "Want::Profile(\"", "key: Some(\""] {
                for (at, _) in text.match_indices(lead) {
                    let rest = &text[at + lead.len()..];
                    names.push(rest[..rest.find('"').unwrap()].to_owned());
                }
            }
        }
    }
    assert!(names.len() > 15, "the rules were not found");
    for name in names {
        let known = super::KEYS.iter().any(|key| key.path == name);
        assert!(known, "{name} is no key of the profile");
    }
}
