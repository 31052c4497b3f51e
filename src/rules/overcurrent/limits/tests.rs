use super::*;
use crate::rules::testing::{Check, finds, meets, outcomes, whole_audit};
use crate::schedule::fixture::{Cells, Fixture};
use crate::schedule::{
    Circuit, Disconnect, Edition, Field, Mop, NameplateAmps, PanelSupply, Unit, UnitKind, Volts,
};
use Severity::{Fix, Note, Verify};

/// One outdoor unit on a breaker of its own, 2 poles.
fn job(
    mca: f64,
    mop: f64,
    breaker: f64,
    unit: impl FnOnce(&mut Unit, &mut Cells),
    circuit: impl FnOnce(&mut Circuit, &mut Cells),
) -> Schedule {
    Fixture::new()
        .unit("OU-1", UnitKind::Outdoor, |u, cells| {
            u.mca = cells.mca(mca);
            u.mop = cells.mop(mop);
            unit(u, cells);
        })
        .circuit("LP", &[1, 3], &["OU-1"], |c, cells| {
            c.breaker = cells.amps(breaker);
            c.poles = cells.given(2);
            circuit(c, cells);
        })
        .build()
}

fn plain(mca: f64, mop: f64, breaker: f64) -> Schedule {
    job(mca, mop, breaker, |_, _| {}, |_, _| {})
}

#[test]
fn published_nameplates_and_their_devices() {
    let checks = [
        Check {
            given: (31.4, 50.0),
            expect: 50.0,
            source: "EC&M, NEC Requirements for A/C and Refrigeration Equipment (January 2025)",
        },
        Check {
            given: (44.0, 60.0),
            expect: 60.0,
            source: "EC&M, Code Q&A 42",
        },
    ];
    for Check {
        given: (mca, mop),
        expect,
        source,
    } in checks
    {
        let right = plain(mca, mop, expect);
        meets(&PROTECTION_OVER_MOP, &right);
        meets(&PROTECTION_UNDER_MCA, &right);
        meets(&PROTECTION_BELOW_MOP, &right);
        let over = plain(mca, mop, expect + 10.0);
        let outcome = &outcomes(&PROTECTION_OVER_MOP, &over)[0];
        let finding = outcome.finding().expect(source);
        assert_eq!(finding.severity, Fix, "{source}");
        assert_eq!(finding.changes[0].proposed, crate::schedule::number(expect));
    }
}

#[test]
fn at_the_limits_and_on_either_side_in_every_edition() {
    for edition in Edition::ALL {
        let practice = Practice {
            edition,
            ..Practice::default()
        };
        let severities = |rule, s: &Schedule| crate::rules::testing::severities(rule, s, &practice);
        for (breaker, over, under, below) in [
            (35.0, vec![], vec![Fix], vec![]),
            (36.0, vec![], vec![], vec![Note]),
            (36.1, vec![], vec![], vec![Note]),
            (44.9, vec![], vec![], vec![Note]),
            (45.0, vec![], vec![], vec![]),
            (45.1, vec![Fix], vec![], vec![]),
        ] {
            let s = plain(36.0, 45.0, breaker);
            assert_eq!(severities(&PROTECTION_OVER_MOP, &s), over, "{breaker}");
            assert_eq!(severities(&PROTECTION_UNDER_MCA, &s), under, "{breaker}");
            assert_eq!(severities(&PROTECTION_BELOW_MOP, &s), below, "{breaker}");
        }
    }
}

#[test]
fn the_breaker_is_the_place_and_the_nameplate_is_related() {
    let s = plain(18.2, 30.0, 40.0);
    let outcome = &outcomes(&PROTECTION_OVER_MOP, &s)[0];
    assert_eq!(Some(outcome.at), s.circuits[0].breaker.at().map(Into::into));
    assert!(
        outcome
            .related
            .contains(&s.units[0].mop.at().map(Into::into).unwrap())
    );
    let keys: Vec<_> = outcome.working.iter().map(|step| step.what).collect();
    assert_eq!(keys, ["mca", "mop", "protection"]);
}

#[test]
fn fuses_hold_the_limit() {
    for fill in [
        (|c: &mut Circuit, cells: &mut Cells| c.fuse = cells.amps(35.0))
            as fn(&mut Circuit, &mut Cells),
        |c, cells| {
            c.disconnect = cells.given(Disconnect {
                amps: Some(Amps(60.0)),
                fused: Some(true),
                fuse: Some(Amps(35.0)),
            })
        },
    ] {
        // Common practice, no source: 40 A in the panel, 35 A fuses.
        let s = job(26.0, 35.0, 40.0, |_, _| {}, fill);
        meets(&PROTECTION_OVER_MOP, &s);
        meets(&PROTECTION_UNDER_MCA, &s);
        finds(&FUSE_CARRIES_LIMIT, &s, &[Verify]);
        assert!(
            !whole_audit(&s)
                .iter()
                .any(|(rule, severity)| { *severity == Fix && rule.starts_with("protection") })
        );
    }
    let over = job(
        26.0,
        35.0,
        50.0,
        |_, _| {},
        |c, cells| c.fuse = cells.amps(40.0),
    );
    finds(&PROTECTION_OVER_MOP, &over, &[Fix]);
    finds(&FUSE_CARRIES_LIMIT, &over, &[]);
    assert_eq!(
        outcomes(&PROTECTION_OVER_MOP, &over)[0]
            .finding()
            .unwrap()
            .changes[0]
            .field,
        FieldName::CircuitFuse
    );
    let unit_fuse = job(
        26.0,
        35.0,
        40.0,
        |u, cells| u.fuse = cells.amps(35.0),
        |_, _| {},
    );
    meets(&PROTECTION_OVER_MOP, &unit_fuse);
}

#[test]
fn fuses_of_unstated_size_are_a_question() {
    let fused = Disconnect {
        amps: Some(Amps(60.0)),
        fused: Some(true),
        fuse: None,
    };
    let s = job(
        26.0,
        35.0,
        40.0,
        |u, cells| u.disconnect = cells.given(fused),
        |_, _| {},
    );
    finds(&PROTECTION_OVER_MOP, &s, &[Verify]);
    let unknown = job(
        26.0,
        35.0,
        40.0,
        |_, _| {},
        |c, cells| c.fuse = Field::Unknown(cells.cell()),
    );
    finds(&PROTECTION_OVER_MOP, &unknown, &[Verify]);
    let unfused = Disconnect {
        fused: Some(false),
        ..fused
    };
    let s = job(
        26.0,
        35.0,
        40.0,
        |u, cells| u.disconnect = cells.given(unfused),
        |_, _| {},
    );
    finds(&PROTECTION_OVER_MOP, &s, &[Fix]);
}

#[test]
fn two_values_are_taken_at_the_supply_and_asked_about_without_it() {
    let two = |lower, higher| NameplateAmps::Two {
        lower: Amps(lower),
        higher: Amps(higher),
    };
    let build = |breaker: f64, volts: Option<f64>| {
        let mut fixture = Fixture::new();
        fixture
            .unit("OU-1", UnitKind::Outdoor, |u, cells| {
                u.mca = cells.given(two(42.7, 46.7));
                u.mop = cells.given(Mop {
                    amps: two(60.0, 70.0),
                    fuses_only: false,
                });
            })
            .circuit("LP", &[1, 3], &["OU-1"], |c, cells| {
                c.breaker = cells.amps(breaker);
                c.poles = cells.given(2);
            });
        if let Some(volts) = volts {
            fixture.panel("LP", |p, cells| {
                p.supply = cells.given(PanelSupply {
                    line_to_line: Volts(volts),
                    line_to_neutral: Some(Volts(120.0)),
                    phases: None,
                })
            });
        }
        fixture.build()
    };
    finds(&PROTECTION_OVER_MOP, &build(70.0, Some(208.0)), &[Fix]);
    finds(&PROTECTION_OVER_MOP, &build(70.0, Some(240.0)), &[]);
    finds(&PROTECTION_OVER_MOP, &build(70.0, None), &[Verify]);
    finds(&PROTECTION_OVER_MOP, &build(80.0, None), &[Fix]);
    finds(&PROTECTION_OVER_MOP, &build(60.0, None), &[]);
    finds(&PROTECTION_UNDER_MCA, &build(45.0, Some(208.0)), &[]);
    finds(&PROTECTION_UNDER_MCA, &build(45.0, Some(240.0)), &[Fix]);
    finds(&PROTECTION_UNDER_MCA, &build(45.0, None), &[Verify]);
    finds(&PROTECTION_UNDER_MCA, &build(40.0, None), &[Fix]);
}

#[test]
fn what_is_wanting_is_named() {
    let missing = |s: &Schedule| match &outcomes(&PROTECTION_OVER_MOP, s)[0].verdict {
        crate::findings::Verdict::NotChecked { wants } => wants.clone(),
        other => panic!("{other:?}"),
    };
    let no_mop = job(
        26.0,
        35.0,
        40.0,
        |u, cells| u.mop = cells.blank(),
        |_, _| {},
    );
    assert_eq!(missing(&no_mop), [Want::Field(FieldName::UnitMop)]);
    let no_breaker = job(
        26.0,
        35.0,
        40.0,
        |_, _| {},
        |c, cells| c.breaker = cells.blank(),
    );
    assert_eq!(
        missing(&no_breaker),
        [Want::Field(FieldName::CircuitBreaker)]
    );
    let others = job(
        26.0,
        35.0,
        40.0,
        |_, _| {},
        |c, cells| c.breaker = Field::Elsewhere(cells.cell()),
    );
    assert!(matches!(missing(&others)[..], [Want::Fact(_)]));
}

#[test]
fn a_heater_with_a_circuit_of_its_own_is_not_held_against_the_unit() {
    // Fan 15 A and a 10 kW heater on 60 A: two circuits, both right.
    let mut fixture = Fixture::new();
    fixture
        .unit("AH-1", UnitKind::AirHandler, |u, cells| {
            u.mca = cells.mca(3.0);
            u.mop = cells.mop(15.0);
            u.heat_kw = cells.given(crate::schedule::Kilowatts(10.0));
        })
        .circuit("LP", &[1, 3], &["AH-1"], |c, cells| {
            c.breaker = cells.amps(15.0)
        })
        .circuit("LP", &[5, 7], &["AH-1 HEATER"], |c, cells| {
            c.breaker = cells.amps(60.0);
            for load in &mut c.loads {
                load.part = crate::schedule::Part::Heater(1);
            }
        });
    let s = fixture.build();
    meets(&PROTECTION_OVER_MOP, &s);
    meets(&PROTECTION_UNDER_MCA, &s);
    // On one circuit the nameplate without the heater is a question.
    let s = Fixture::new()
        .unit("AH-1", UnitKind::AirHandler, |u, cells| {
            u.mca = cells.mca(3.0);
            u.mop = cells.mop(15.0);
            u.heat_kw = cells.given(crate::schedule::Kilowatts(10.0));
        })
        .circuit("LP", &[1, 3], &["AH-1"], |c, cells| {
            c.breaker = cells.amps(60.0)
        })
        .build();
    finds(&PROTECTION_OVER_MOP, &s, &[Verify]);
}

#[test]
fn a_nameplate_that_is_swapped_comes_first() {
    let s = plain(50.0, 31.4, 50.0);
    let found = whole_audit(&s);
    assert!(found.contains(&("mop-below-mca", Fix)), "{found:?}");
    assert!(
        !found
            .iter()
            .any(|(rule, _)| rule.starts_with("protection-"))
    );
}
