//! Lengths that nothing bounds, and what is asked where nothing can be
//! derived.

use super::*;
use crate::schedule::fixture::Fixture;
use crate::schedule::wire::{RunPurpose, TerminalSide};
use crate::schedule::{FieldName, UnitKind};
use crate::takeoff::{self, Prices};

/// A chain of `reached` units out of `units`; runs of the length given.
fn chain(units: usize, reached: usize, feet: Option<f64>) -> Fixture {
    let mut job = Fixture::new();
    job.unit("OU-1", UnitKind::Outdoor, |u, cells| {
        u.system = cells.name("S-1");
    });
    for n in 1..=units {
        let tag = format!("FC-{n}");
        job.unit(&tag, UnitKind::Indoor, |u, cells| {
            u.system = cells.name("S-1")
        });
        job.controller(&format!("T-{n}"), &[&tag], |_, _| {});
    }
    let mut before = "OU-1".to_owned();
    for n in 1..=reached {
        let tag = format!("FC-{n}");
        job.run(&before, &tag, |run, cells| {
            run.purpose = cells.given(RunPurpose::Bus);
            run.side = cells.given(TerminalSide::Indoor);
            run.shielded = cells.given(false);
            run.length = match feet {
                Some(feet) => cells.given(Feet(feet)),
                None => cells.blank(),
            };
        });
        before = tag;
    }
    job
}

fn verify(audit: &crate::findings::Audit) -> usize {
    audit.count(Severity::Verify)
}

#[test]
fn a_run_that_nothing_bounds_has_what_the_budget_leaves() {
    let practice = Practice::default();
    let schedule = chain(3, 2, Some(100.0)).build();
    let found = propose(&schedule, &practice);
    assert_eq!(found.fixes_left(), 0, "{:#?}", found.audit.findings);
    assert!(verify(&found.audit) <= verify(&rules::audit(&schedule, &practice)));
    let run = found.chains[0].runs.last().expect("a new run");
    // By hand: 90 % of 6,000 ft, less 200 ft.
    assert_eq!(run.length, Some(Feet(5200.0)));
    assert!(run.by_budget && run.measure && !run.kept);
    assert!(found.questions.iter().any(|q| {
        q.field == FieldName::RunLength && q.text.contains("leaves it at most 5,200 ft")
    }));
    // It is no quantity: the takeoff counts it as a run without a length.
    let items = takeoff::takeoff(
        &schedule,
        found.schedule(),
        found.unbounded(),
        &practice,
        &Prices::default(),
    );
    let bus = items.iter().find(|item| item.unit == "ft").expect("wire");
    assert!((bus.proposed.amount - 220.0).abs() < 1e-9, "{bus:?}");
    assert_eq!(bus.proposed.without_length, 1);
}

#[test]
fn a_job_without_lengths_is_not_asked_for_them_by_its_new_runs() {
    let practice = Practice::default();
    let schedule = chain(3, 2, None).build();
    let found = propose(&schedule, &practice);
    assert_eq!(found.fixes_left(), 0);
    assert!(verify(&found.audit) <= verify(&rules::audit(&schedule, &practice)));
    let run = found.chains[0].runs.last().expect("a new run");
    assert_eq!((run.length, run.by_budget), (None, false));
}

#[test]
fn the_farthest_unit_comes_within_its_limit() {
    for (limit, feet) in [(250.0, 100.0), (100.0, 3000.0)] {
        let mut practice = Practice::default();
        practice.bus.farthest = Some(Feet(limit));
        let schedule = chain(3, 3, Some(feet)).build();
        let found = propose(&schedule, &practice);
        assert_eq!(found.fixes_left(), 0, "{:#?}", found.audit.findings);
        let total: Feet = found.chains[0].runs.iter().filter_map(|r| r.length).sum();
        assert!(!crate::schedule::Quantity::exceeds(total, Feet(limit)));
        assert!(
            found
                .questions
                .iter()
                .any(|q| q.rule == "bus-farthest-over-length" && q.finding.is_some())
        );
    }
}

#[test]
fn too_many_units_are_asked_about_by_the_finding() {
    let mut practice = Practice::default();
    practice.bus.most_units = Some(2);
    let found = propose(&chain(3, 3, Some(40.0)).build(), &practice);
    let left: Vec<_> = found
        .audit
        .findings
        .iter()
        .filter(|f| f.severity == Severity::Fix)
        .collect();
    assert_eq!(left.len(), 1, "{left:#?}");
    let asked = found
        .questions
        .iter()
        .find(|q| q.rule == "bus-too-many-units")
        .expect("asked");
    assert_eq!(asked.finding.as_ref(), Some(&left[0].id));
    assert_eq!(asked.field, FieldName::UnitSystem);
    assert!(
        asked.text.starts_with("Which other system"),
        "{}",
        asked.text
    );
}

#[test]
fn units_of_one_mark_get_a_circuit_and_a_controller_row() {
    for (customer, circuits) in [
        (crate::schedule::CustomerType::Dwelling, 1),
        (crate::schedule::CustomerType::Commercial, 3),
    ] {
        let mut job = Fixture::new();
        job.facts(|facts, cells| facts.customer = cells.given(customer));
        job.unit("OU-1", UnitKind::Outdoor, |u, cells| {
            u.mca = cells.mca(24.0);
            u.mop = cells.mop(35.0);
            u.supply = cells.supply(&[208, 230], 1);
        });
        job.unit("FC-1", UnitKind::Indoor, |u, cells| {
            u.quantity = cells.given(3);
            u.mca = cells.mca(0.8);
            u.mop = cells.mop(15.0);
            u.supply = cells.supply(&[208, 230], 1);
        });
        job.unit("FC-2", UnitKind::Indoor, |_, _| {});
        job.circuit("LP", &[1, 3], &["OU-1", "FC-2"], |_, _| {});
        job.circuit("LP", &[2, 4], &["FC-2"], |_, _| {});
        job.controller("T-2", &["FC-2"], |_, _| {});
        let schedule = job.build();
        let before = rules::audit(&schedule, &Practice::default());
        let of_mark = |audit: &crate::findings::Audit| {
            let rules = ["no-supply-circuit", "controller-missing"];
            let found = audit
                .findings
                .iter()
                .filter(|f| rules.contains(&f.rule) && f.subject_label.starts_with("FC-1"));
            found.count()
        };
        assert!(of_mark(&before) > 0);
        let found = propose(&schedule, &Practice::default());
        assert_eq!(of_mark(&found.audit), 0, "{:#?}", found.audit.findings);
        let s = found.schedule();
        let feeding: BTreeSet<_> = s
            .audited_units()
            .filter(|(_, unit)| unit.tag.value.text() == "FC-1")
            .flat_map(|(_, unit)| unit.circuits.iter().map(|(circuit, _)| *circuit))
            .collect();
        assert_eq!(feeding.len(), circuits);
        let of_quantity = |q: &&crate::proposal::Question| q.field == FieldName::UnitQuantity;
        assert!(found.questions.iter().filter(of_quantity).count() > 0);
    }
}
