//! Slots for circuits that move: where the schedule shows room, and where it
//! does not.

use super::*;
use crate::schedule::fixture::Fixture;
use crate::schedule::{Amps, FieldName, PanelSupply, UnitKind, Volts};

fn panel(job: &mut Fixture, name: &str, volts: f64, phases: u8) {
    job.panel(name, |panel, cells| {
        panel.supply = cells.given(PanelSupply {
            line_to_line: Volts(volts),
            line_to_neutral: Some(Volts(120.0)),
            phases: Some(phases),
        });
    });
}

fn unit(job: &mut Fixture, tag: &str, kind: UnitKind, (mca, mop): (f64, f64), phases: u8) {
    job.unit(tag, kind, |u, cells| {
        u.mca = cells.mca(mca);
        u.mop = cells.mop(mop);
        u.supply = cells.supply(&[208, 230], phases);
    });
}

/// A fan coil for two poles on a one-pole breaker in slot 5, and rows that
/// are called as given in other slots.
fn small_breaker(phases: u8, rows: &[(&[u16], &str)]) -> Schedule {
    let mut job = Fixture::new();
    panel(&mut job, "LP", 208.0, phases);
    unit(&mut job, "FC-1", UnitKind::Indoor, (0.8, 15.0), 1);
    job.circuit("LP", &[5], &["FC-1"], |c, cells| {
        c.breaker = cells.amps(15.0);
        c.poles = cells.given(1);
    });
    for (slots, load) in rows {
        job.circuit("LP", slots, &[load], |c, cells| {
            if load.starts_with("LTG") {
                c.breaker = cells.amps(20.0);
                c.poles = cells.given(slots.len() as u8);
                c.load_amps = cells.amps(12.0);
            }
        });
    }
    job.build()
}

/// The slots of the circuit that feeds the unit, as they are written.
fn slots_of(proposal: &Proposal, tag: &str) -> Option<String> {
    let s = proposal.schedule();
    let (_, unit) = s.audited_units().find(|(_, u)| u.tag.value.text() == tag)?;
    let (circuit, _) = unit.circuits.first()?;
    Some(super::super::text::slots(s.circuit(*circuit).slots.get()?))
}

fn asks_for_slots(proposal: &Proposal) -> bool {
    let of_slots = |q: &crate::proposal::Question| q.field == FieldName::CircuitSlots;
    proposal.questions.iter().any(of_slots)
}

fn proposed(rows: &[(&[u16], &str)]) -> Proposal {
    propose(&small_breaker(1, rows), &Practice::default())
}

#[test]
fn a_breaker_that_grows_takes_the_space_below_it() {
    let found = proposed(&[(&[7], "SPACE"), (&[9], "SPACE")]);
    assert_eq!(slots_of(&found, "FC-1").as_deref(), Some("5,7"));
    assert!(!asks_for_slots(&found), "{:#?}", found.questions);
    let spaces: Vec<String> = found
        .schedule()
        .circuits
        .iter()
        .filter(|circuit| circuit.units().is_empty())
        .map(|circuit| super::super::text::slots(circuit.slots.get().expect("slots")))
        .collect();
    assert_eq!(spaces, ["9"], "the space that was taken is no row any more");
}

#[test]
fn a_space_for_two_poles_keeps_what_is_left_of_it() {
    let found = proposed(&[(&[7, 9], "SPACE")]);
    assert_eq!(slots_of(&found, "FC-1").as_deref(), Some("5,7"));
    let left = &found.schedule().circuits[1];
    assert_eq!(
        super::super::text::slots(left.slots.get().expect("slots")),
        "9"
    );
}

#[test]
fn where_no_room_is_shown_it_is_asked_for() {
    for rows in [
        &[][..],
        // The other side, a space that is none, and a lone space.
        &[(&[6][..], "SPACE"), (&[8], "SPARE 20A"), (&[11], "SPACE")],
        // Taken by another breaker.
        &[(&[7], "LTG"), (&[13], "SPACE")],
        // A panel that is numbered down its columns.
        &[(&[7], "SPACE"), (&[1, 2], "LTG")],
    ] {
        let found = proposed(rows);
        assert_eq!(slots_of(&found, "FC-1"), None, "{rows:?}");
        assert!(asks_for_slots(&found), "{rows:?}");
        assert_eq!(found.fixes_left(), 0, "{rows:?}");
    }
}

#[test]
fn on_three_phases_the_room_that_balances_best_is_taken() {
    // By hand: 12 A of light on phase A (slots 1, 2). Slots 8 and 10 are
    // phases A and B, 15 and 17 are B and C: the second leaves A alone.
    let rows: [(&[u16], &str); 5] = [
        (&[1], "LTG 1"),
        (&[2], "LTG 2"),
        (&[7], "LTG 3"),
        (&[8, 10], "SPACE"),
        (&[15, 17], "SPACE"),
    ];
    let found = propose(&small_breaker(3, &rows), &Practice::default());
    assert_eq!(slots_of(&found, "FC-1").as_deref(), Some("15,17"));
}

#[test]
fn slots_that_a_merged_circuit_leaves_are_room() {
    let mut job = Fixture::new();
    panel(&mut job, "LP", 240.0, 1);
    job.facts(|facts, cells| {
        facts.customer = cells.given(crate::schedule::CustomerType::Dwelling);
    });
    for (n, slots) in [(1, [1, 3]), (2, [5, 7])] {
        unit(
            &mut job,
            &format!("FC-{n}"),
            UnitKind::Indoor,
            (0.8, 15.0),
            1,
        );
        job.circuit("LP", &slots, &[&format!("FC-{n}")], |c, cells| {
            c.breaker = cells.amps(15.0);
            c.poles = cells.given(2);
        });
    }
    // A unit without a circuit, of other volts: it comes to one of its own.
    unit(&mut job, "OU-1", UnitKind::Outdoor, (18.2, 30.0), 1);
    let found = propose(&job.build(), &Practice::default());
    assert_eq!(slots_of(&found, "FC-1"), slots_of(&found, "FC-2"));
    assert_eq!(slots_of(&found, "OU-1").as_deref(), Some("5,7"));
    assert!(!asks_for_slots(&found), "{:#?}", found.questions);
    let claims = claims(found.schedule());
    assert!(claims.values().all(|circuits| circuits.len() == 1));
}

#[test]
fn a_three_phase_unit_leaves_a_single_phase_panel() {
    let job = |with_panel: bool| {
        let mut job = Fixture::new();
        panel(&mut job, "LP", 240.0, 1);
        if with_panel {
            panel(&mut job, "HP", 208.0, 3);
            job.circuit("HP", &[2, 4, 6, 8], &["SPACE"], |_, _| {});
        }
        unit(&mut job, "OU-1", UnitKind::Outdoor, (24.0, 35.0), 3);
        job.circuit("LP", &[1, 3], &["OU-1"], |c, cells| {
            c.breaker = cells.amps(35.0);
            c.poles = cells.given(2);
        });
        job.build()
    };
    let schedule = job(true);
    let before = rules::audit(&schedule, &Practice::default());
    let mismatch = before.findings.iter().find(|f| f.rule == "phase-mismatch");
    let id = &mismatch.expect("found").id;
    let found = propose(&schedule, &Practice::default());
    let circuit = &found.circuits[0];
    assert_eq!(
        (circuit.label.as_str(), circuit.poles),
        ("HP-2,4,6", Some(3))
    );
    assert_eq!(circuit.breaker, Some(Amps(35.0)));
    assert_eq!(found.fixes_left(), 0);
    let asked = |found: &Proposal| {
        let of_panel = |q: &&crate::proposal::Question| q.field == FieldName::CircuitPanel;
        let question = found
            .questions
            .iter()
            .find(of_panel)
            .expect("asked")
            .clone();
        (question.finding, question.text)
    };
    let (by, text) = asked(&found);
    assert_eq!(by.as_ref(), Some(id));
    assert!(text.starts_with("Is HP the three-phase panel"), "{text}");
    let open = propose(&job(false), &Practice::default());
    assert_eq!(open.fixes_left(), 0, "{:#?}", open.audit.findings);
    let (_, text) = asked(&open);
    assert!(text.starts_with("Which three-phase panel feeds"), "{text}");
    assert_eq!(slots_of(&open, "OU-1"), None);
}
