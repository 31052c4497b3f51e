//! The shape of the bus: the rules together, as a whole audit runs them.

use super::example::{units, wired};
use super::pairs::{BUS_CROSSES_SYSTEMS, BUS_RUN_REPEATED};
use super::reached::BUS_BROKEN;
use super::shape::{BUS_BRANCHES, BUS_CLOSES_ON_ITSELF};
use crate::findings::{Outcome, Severity, Verdict};
use crate::practice::Practice;
use crate::rules::testing::{finds, meets, outcomes, whole_audit};
use crate::schedule::fixture::Fixture;
use crate::schedule::{Schedule, UnitKind};
use Severity::{Fix, Verify};

fn names(schedule: &Schedule) -> Vec<&'static str> {
    let ours = [
        "bus-branches",
        "bus-closes-on-itself",
        "bus-broken",
        "bus-not-from-outdoor",
        "bus-run-repeated",
        "bus-crosses-systems",
    ];
    let found = whole_audit(schedule).into_iter().map(|(rule, _)| rule);
    found.filter(|rule| ours.contains(rule)).collect()
}

#[test]
fn a_chain_in_any_order_is_met() {
    let runs = [("FC-2", "FC-3"), ("FC-1", "FC-3"), ("OU-1", "FC-1")];
    let schedule = wired(3, &runs);
    for rule in super::RULES.iter().take(6) {
        meets(rule, &schedule);
    }
}

#[test]
fn a_star_is_one_finding_with_a_chain_proposed() {
    let schedule = wired(3, &[("OU-1", "FC-1"), ("OU-1", "FC-2"), ("OU-1", "FC-3")]);
    assert_eq!(names(&schedule), ["bus-branches"]);
    let found = outcomes(&BUS_BRANCHES, &schedule);
    let finding = found.iter().find_map(Outcome::finding).unwrap();
    assert!(finding.remedy.contains("OU-1, FC-1, FC-2, FC-3"));
    assert!(finding.says.contains("OU-1 to FC-3"), "{}", finding.says);
}

#[test]
fn two_runs_at_the_outdoor_unit_are_its_middle_and_three_a_star() {
    let two = wired(2, &[("OU-1", "FC-1"), ("OU-1", "FC-2")]);
    assert_eq!(names(&two), ["bus-not-from-outdoor"]);
    let one = wired(2, &[("OU-1", "FC-1"), ("FC-1", "FC-2")]);
    assert_eq!(names(&one), [""; 0]);
}

#[test]
fn a_ring_names_the_run_to_leave_out() {
    let ring = wired(2, &[("OU-1", "FC-1"), ("FC-1", "FC-2"), ("FC-2", "OU-1")]);
    assert_eq!(names(&ring), ["bus-closes-on-itself"]);
    let found = outcomes(&BUS_CLOSES_ON_ITSELF, &ring);
    let remedy = &found[0].finding().unwrap().remedy;
    assert!(remedy.contains("FC-2 to OU-1"), "{remedy}");
    // A run from a unit to itself is a loop, too.
    let own = wired(1, &[("OU-1", "FC-1"), ("FC-1", "FC-1")]);
    assert_eq!(names(&own), ["bus-closes-on-itself"]);
}

#[test]
fn units_that_the_chain_misses_are_listed() {
    let broken = wired(4, &[("OU-1", "FC-1"), ("FC-1", "FC-2"), ("FC-3", "FC-4")]);
    assert_eq!(names(&broken), ["bus-broken"]);
    let found = outcomes(&BUS_BROKEN, &broken);
    assert!(found[0].finding().unwrap().says.contains("FC-3, FC-4"));
    let lone = wired(2, &[("OU-1", "FC-1")]);
    assert_eq!(names(&lone), ["bus-broken"]);
}

#[test]
fn a_chain_without_its_first_run_is_one_finding() {
    let schedule = wired(3, &[("FC-1", "FC-2"), ("FC-2", "FC-3")]);
    assert_eq!(names(&schedule), ["bus-not-from-outdoor"]);
}

#[test]
fn the_chain_is_told_in_order_whatever_the_verdict() {
    let schedule = wired(3, &[("FC-1", "FC-2"), ("OU-1", "FC-1")]);
    let found = outcomes(&BUS_BROKEN, &schedule);
    let steps: Vec<String> = found[0]
        .working
        .iter()
        .map(|step| format!("{} {} [{}]", step.what, step.value, step.how))
        .collect();
    assert_eq!(
        steps,
        [
            "chain OU-1 [start]",
            "cumulative 0 ft []",
            "chain FC-1 [OU-1 to FC-1, 40 ft]",
            "cumulative 40 ft [0 ft + 40 ft]",
            "chain FC-2 [FC-1 to FC-2, 40 ft]",
            "cumulative 80 ft [40 ft + 40 ft]",
            "chain FC-3 [not reached]",
            "cumulative 80 ft []",
        ]
    );
}

#[test]
fn a_pair_joined_twice_is_repeated_and_nothing_else() {
    let schedule = wired(2, &[("OU-1", "FC-1"), ("FC-1", "FC-2"), ("FC-2", "FC-1")]);
    assert_eq!(names(&schedule), ["bus-run-repeated"]);
    finds(&BUS_RUN_REPEATED, &schedule, &[Fix]);
    // Rows of two tables tell of one run.
    let mut fixture = units(1);
    fixture.run("OU-1", "FC-1", |_, _| {});
    fixture.run("OU-1", "FC-1", |run, _| run.at.table = 0);
    assert_eq!(names(&fixture.build()), [""; 0]);
}

fn two_systems(stated: bool) -> Fixture {
    let mut fixture = Fixture::new();
    for n in ["1", "2"] {
        fixture.unit(&format!("OU-{n}"), UnitKind::Outdoor, |u, cells| {
            if stated {
                u.system = cells.name(n);
            }
        });
        for unit in ["1", "2"] {
            fixture.unit(&format!("FC-{n}{unit}"), UnitKind::Indoor, |u, cells| {
                if stated {
                    u.system = cells.name(n);
                }
            });
        }
    }
    fixture
}

#[test]
fn only_systems_that_are_stated_can_be_crossed() {
    let mut fixture = two_systems(true);
    for (from, to) in [("OU-1", "FC-11"), ("FC-11", "FC-12"), ("OU-2", "FC-21")] {
        fixture.run(from, to, |_, _| {});
    }
    fixture.run("FC-21", "FC-22", |_, _| {});
    fixture.run("FC-12", "FC-21", |_, _| {});
    let schedule = fixture.build();
    assert_eq!(names(&schedule), ["bus-crosses-systems"]);
    finds(&BUS_CROSSES_SYSTEMS, &schedule, &[Fix]);

    let mut fixture = two_systems(false);
    for (from, to) in [("OU-1", "FC-11"), ("FC-11", "FC-21"), ("FC-21", "OU-2")] {
        fixture.run(from, to, |_, _| {});
    }
    let schedule = fixture.build();
    assert_eq!(names(&schedule), [""; 0]);
    assert!(
        outcomes(&BUS_BROKEN, &schedule)
            .iter()
            .all(|o| matches!(o.verdict, Verdict::NotChecked { .. }))
    );
}

#[test]
fn a_system_of_which_no_run_is_scheduled_is_asked_about() {
    let mut fixture = two_systems(true);
    for (from, to) in [("OU-1", "FC-11"), ("FC-11", "FC-12")] {
        fixture.run(from, to, |_, _| {});
    }
    finds(&BUS_BROKEN, &fixture.build(), &[Verify]);
}

#[test]
fn modules_and_central_control_are_no_part_of_the_chain() {
    let mut fixture = units(2);
    fixture
        .unit("OU-1B", UnitKind::OutdoorModule, |_, _| {})
        .unit("CC-1", UnitKind::CentralController, |_, _| {})
        .unit("GW-1", UnitKind::Gateway, |_, _| {});
    for (from, to) in [
        ("OU-1", "FC-1"),
        ("FC-1", "FC-2"),
        ("OU-1", "OU-1B"),
        ("OU-1", "CC-1"),
    ] {
        fixture.run(from, to, |_, _| {});
    }
    // Called a bus by its row all the same.
    fixture.run("GW-1", "OU-1", |run, cells| {
        run.purpose = cells.given(crate::schedule::wire::RunPurpose::Bus);
    });
    assert_eq!(names(&fixture.build()), [""; 0]);
}

#[test]
fn a_branch_box_is_the_profiles_question() {
    let mut fixture = units(3);
    fixture.unit("BB-1", UnitKind::BranchBox, |_, _| {});
    for (from, to) in [
        ("OU-1", "BB-1"),
        ("BB-1", "FC-1"),
        ("BB-1", "FC-2"),
        ("BB-1", "FC-3"),
    ] {
        fixture.run(from, to, |_, _| {});
    }
    let schedule = fixture.build();
    let mut practice = Practice::default();
    for (says, expected) in [
        (None, vec![Verify]),
        (Some(false), vec![Fix]),
        (Some(true), vec![]),
    ] {
        practice.bus.box_may_branch = says;
        let found = crate::rules::testing::severities(&BUS_BRANCHES, &schedule, &practice);
        assert_eq!(found, expected);
    }
}

#[test]
fn what_is_not_told_is_not_judged() {
    // One row for three units.
    let mut fixture = Fixture::new();
    fixture
        .unit("OU-1", UnitKind::Outdoor, |_, _| {})
        .unit("FC-1", UnitKind::Indoor, |u, cells| {
            u.quantity = cells.given(3)
        })
        .run("OU-1", "FC-1", |_, _| {});
    assert_eq!(names(&fixture.build()), [""; 0]);
    // A tag that matches nothing may be the unit that is missed.
    let unknown = wired(2, &[("OU-1", "FC-1"), ("FC-1", "FC-7")]);
    assert_eq!(names(&unknown), [""; 0]);
    // Thermostats' wire alone says nothing of the bus; nor does no table.
    let mut fixture = units(1);
    fixture
        .controller("T-1", &["FC-1"], |_, _| {})
        .run("T-1", "FC-1", |_, _| {});
    assert_eq!(names(&fixture.build()), [""; 0]);
    assert_eq!(names(&units(1).build()), [""; 0]);
    // An empty end.
    let mut fixture = units(2);
    fixture.run("OU-1", "FC-1", |_, _| {});
    fixture.run("FC-1", "", |run, cells| run.to = cells.blank());
    assert_eq!(names(&fixture.build()), [""; 0]);
}

#[test]
fn what_may_be_central_control_does_not_make_a_star() {
    let mut fixture = units(2);
    fixture.unit("BMS-1", UnitKind::Other, |_, _| {});
    for (from, to) in [("OU-1", "FC-1"), ("FC-1", "FC-2"), ("OU-1", "BMS-1")] {
        fixture.run(from, to, |run, cells| {
            if to == "BMS-1" {
                run.side = cells.given(crate::schedule::wire::TerminalSide::Central);
            }
        });
    }
    let schedule = fixture.build();
    assert_eq!(names(&schedule), [""; 0]);
    finds(&super::wire::BUS_WRONG_SIDE, &schedule, &[]);
}

/// Systems side by side: one pass over the runs for all of them.
#[test]
fn ten_thousand_runs_of_many_systems_take_no_quadratic_step() {
    let mut fixture = Fixture::new();
    for n in 0..2_000 {
        let door = n.to_string();
        for (tag, kind) in [("OU-1", UnitKind::Outdoor), ("FC-1", UnitKind::Indoor)] {
            fixture.unit(tag, kind, |u, cells| {
                u.dwelling = cells.name(&door);
                u.dwelling_type = cells.name("A");
            });
        }
        fixture.run("OU-1", "FC-1", |run, cells| {
            run.dwelling = cells.name(&door)
        });
        fixture.controller("T-1", &["FC-1"], |c, cells| c.dwelling = cells.name(&door));
    }
    let schedule = fixture.build();
    let started = std::time::Instant::now();
    assert_eq!(names(&schedule), [""; 0]);
    assert!(started.elapsed().as_secs() < 20, "{:?}", started.elapsed());
}

#[test]
fn ten_thousand_units_take_no_quadratic_step() {
    let runs: Vec<(String, String)> = (1..=10_000)
        .map(|n| ("OU-1".to_owned(), format!("FC-{n}")))
        .collect();
    let pairs: Vec<(&str, &str)> = runs.iter().map(|(a, b)| (&**a, &**b)).collect();
    let schedule = wired(10_000, &pairs);
    let started = std::time::Instant::now();
    finds(&BUS_BRANCHES, &schedule, &[Fix]);
    meets(&BUS_BROKEN, &schedule);
    assert!(started.elapsed().as_secs() < 20, "{:?}", started.elapsed());
}

proptest::proptest! {
    /// Whatever the runs, the chain proposed for them is a chain.
    #[test]
    fn a_proposed_chain_audits_clean(
        pairs in proptest::collection::vec((0_usize..7, 0_usize..7), 1..12)
    ) {
        let tag = |node: usize| match node {
            0 => "OU-1".to_owned(),
            n => format!("FC-{n}"),
        };
        let named: Vec<(String, String)> =
            pairs.iter().map(|(a, b)| (tag(*a), tag(*b))).collect();
        let runs: Vec<(&str, &str)> = named.iter().map(|(a, b)| (&**a, &**b)).collect();
        let schedule = wired(6, &runs);
        let layout = super::layout::Layout::of(&schedule);
        let bus = &layout.systems[0];
        let chain: Vec<String> = bus
            .graph
            .propose()
            .into_iter()
            .map(|node| schedule.unit_label(bus.nodes[node]))
            .collect();
        let runs: Vec<(&str, &str)> =
            chain.windows(2).map(|pair| (&*pair[0], &*pair[1])).collect();
        proptest::prop_assert_eq!(names(&wired(6, &runs)), [""; 0]);
        proptest::prop_assert_eq!(chain.len(), 7);
    }
}
