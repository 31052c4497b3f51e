use super::*;
use crate::rules::testing::{finds, meets, outcomes, severities};
use crate::schedule::fixture::{Cells, Fixture};
use crate::schedule::wire::{CableType, Size};
use crate::schedule::{Edition, Kilowatts, PanelSupply, UnitKind};
use Severity::{Fix, Note, Verify};

/// One air handler on one circuit.
fn job(
    volts: Option<f64>,
    unit: impl FnOnce(&mut Unit, &mut Cells),
    circuit: impl FnOnce(&mut Circuit, &mut Cells),
) -> Schedule {
    let mut fixture = Fixture::new();
    fixture.unit("AH-1", UnitKind::AirHandler, unit).circuit(
        "LP",
        &[1, 3],
        &["AH-1"],
        |c, cells| {
            c.poles = cells.given(2);
            circuit(c, cells);
        },
    );
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
}

fn heat(kw: f64, rated: f64, fla: f64) -> impl Fn(&mut Unit, &mut Cells) {
    move |u, cells| {
        u.heat_kw = cells.given(Kilowatts(kw));
        if rated > 0.0 {
            u.heat_volts = cells.given(Volts(rated));
        }
        if fla > 0.0 {
            u.fla = cells.amps(fla);
        }
    }
}

fn nm(size: i8) -> Conductor {
    Conductor {
        size: Some(Size::Awg(size)),
        count: Some(2),
        sets: 1,
        cable: Some(CableType::NmB),
        is_cable: true,
        ..Conductor::default()
    }
}

#[test]
fn published_heater_with_its_blower() {
    // Mike Holt newsletter 2089: 9.6 kW at 240 V and a 3 A blower, 60 °C
    // terminals: 43 A x 1.25 = 53.75 A, 6 AWG, 60 A.
    for edition in Edition::ALL {
        let practice = Practice {
            edition,
            ..Practice::default()
        };
        for (breaker, size, expect) in [
            (60.0, 6, vec![]),
            (50.0, 6, vec![Fix]),
            (60.0, 8, vec![Fix]),
            (53.75, 6, vec![]),
            (53.7, 6, vec![Fix]),
        ] {
            let s = job(Some(240.0), heat(9.6, 240.0, 3.0), |c, cells| {
                c.breaker = cells.amps(breaker);
                c.conductor = cells.given(nm(size));
            });
            let found = severities(&STRIP_HEAT_CIRCUIT_SMALL, &s, &practice);
            assert_eq!(found, expect, "{breaker} {size}");
        }
    }
    // Mike Holt forum 63217: 5 kW and 3 A: 29.8 -> 30 A.
    let s = |breaker| {
        job(Some(240.0), heat(5.0, 240.0, 3.0), move |c, cells| {
            c.breaker = cells.amps(breaker);
            c.conductor = cells.given(nm(10));
        })
    };
    meets(&STRIP_HEAT_CIRCUIT_SMALL, &s(30.0));
    finds(&STRIP_HEAT_CIRCUIT_SMALL, &s(25.0), &[Fix]);
}

#[test]
fn a_voltage_that_is_not_stated_is_taken_both_ways() {
    // By hand, 10 kW on 208 V: 36.11 A x 1.25 = 45.1 A if rated at 240 V,
    // 48.08 A x 1.25 = 60.1 A if rated at 208 V.
    let s = |breaker| {
        job(Some(208.0), heat(10.0, 0.0, 0.0), move |c, cells| {
            c.breaker = cells.amps(breaker)
        })
    };
    finds(&STRIP_HEAT_CIRCUIT_SMALL, &s(45.0), &[Fix]);
    finds(&STRIP_HEAT_CIRCUIT_SMALL, &s(50.0), &[Verify]);
    finds(&STRIP_HEAT_CIRCUIT_SMALL, &s(70.0), &[]);
}

#[test]
fn a_nameplate_with_the_heater_governs() {
    let s = job(
        Some(240.0),
        |u, cells| {
            heat(10.0, 240.0, 4.0)(u, cells);
            u.mca = cells.mca(52.0);
            u.mop = cells.mop(60.0);
        },
        |c, cells| c.breaker = cells.amps(50.0),
    );
    meets(&STRIP_HEAT_CIRCUIT_SMALL, &s);
}

#[test]
fn a_part_that_its_blower_takes_past_sixty_is_reported_and_not_resolved() {
    // Mike Holt forum 149468: a 20 kW furnace with a 7.6 A blower on the
    // first of two 60 A circuits: (41.67 + 7.6) x 1.25 = 61.6 A.
    let mut fixture = Fixture::new();
    fixture
        .unit("AH-1", UnitKind::AirHandler, heat(20.0, 240.0, 7.6))
        .circuit("LP", &[1, 3], &["AH-1"], |c, cells| {
            c.breaker = cells.amps(60.0)
        })
        .circuit("LP", &[5, 7], &["AH-1 HEATER 2"], |c, cells| {
            c.breaker = cells.amps(60.0);
            c.loads[0].part = Part::Heater(2);
        })
        .panel("LP", |p, cells| {
            p.supply = cells.given(PanelSupply {
                line_to_line: Volts(240.0),
                line_to_neutral: Some(Volts(120.0)),
                phases: Some(1),
            })
        });
    for circuit in &mut fixture.draft.circuits {
        circuit.poles = crate::schedule::Field::given(2, circuit.at);
    }
    let s = fixture.build();
    finds(&STRIP_HEAT_CIRCUIT_SMALL, &s, &[Verify]);
    let says = &outcomes(&STRIP_HEAT_CIRCUIT_SMALL, &s)[0];
    assert!(says.finding().unwrap().says.contains("61.58 A"), "{says:?}");
    finds(&STRIP_HEAT_NOT_SUBDIVIDED, &s, &[]);
}

#[test]
fn fifteen_kilowatts_on_one_circuit_are_a_question() {
    let s = |kit: bool, kw: f64| {
        job(
            Some(240.0),
            move |u, cells| {
                heat(kw, 240.0, 1.0)(u, cells);
                if kit {
                    u.heat_protection = cells.given(true);
                }
            },
            |c, cells| {
                c.breaker = cells.amps(80.0);
                c.conductor = cells.given(nm(3));
            },
        )
    };
    finds(&STRIP_HEAT_NOT_SUBDIVIDED, &s(false, 15.0), &[Verify]);
    meets(&STRIP_HEAT_CIRCUIT_SMALL, &s(false, 15.0));
    meets(&STRIP_HEAT_NOT_SUBDIVIDED, &s(true, 15.0));
    // 48 A at 240 V are 11.52 kW.
    meets(&STRIP_HEAT_NOT_SUBDIVIDED, &s(false, 11.52));
    finds(&STRIP_HEAT_NOT_SUBDIVIDED, &s(false, 11.6), &[Verify]);
}

#[test]
fn a_part_behind_more_than_sixty_amperes_is_wrong() {
    let s = |breaker: f64| {
        let mut fixture = Fixture::new();
        fixture.unit("AH-1", UnitKind::AirHandler, heat(20.0, 240.0, 0.0));
        for n in 1..=2u8 {
            let slot = 4 * u16::from(n);
            fixture.circuit("LP", &[slot, slot + 2], &["AH-1 HEATER"], |c, cells| {
                c.breaker = cells.amps(breaker);
                c.loads[0].part = Part::Heater(n);
            });
        }
        fixture.build()
    };
    meets(&STRIP_HEAT_NOT_SUBDIVIDED, &s(60.0));
    finds(&STRIP_HEAT_NOT_SUBDIVIDED, &s(70.0), &[Fix, Fix]);
}

#[test]
fn a_heater_at_another_voltage_is_noted() {
    // ACHR News, Pop Quiz: Electric Heaters: 10 kW at 240 V is 7.5 kW and
    // 36.11 A at 208 V.
    let s = |rated| job(Some(208.0), heat(10.0, rated, 0.0), |_, _| {});
    finds(&STRIP_HEAT_VOLTAGE, &s(240.0), &[Note]);
    let says = outcomes(&STRIP_HEAT_VOLTAGE, &s(240.0))[0]
        .finding()
        .unwrap()
        .says
        .clone();
    assert!(
        says.contains("7.51 kW") && says.contains("36.11 A"),
        "{says}"
    );
    meets(&STRIP_HEAT_VOLTAGE, &s(208.0));
    let at_240 = job(Some(240.0), heat(10.0, 230.0, 0.0), |_, _| {});
    meets(&STRIP_HEAT_VOLTAGE, &at_240);
}

#[test]
fn a_heater_of_nothing_is_none_and_two_circuits_may_not_tell() {
    let s = job(Some(240.0), heat(0.0, 240.0, 1.0), |c, cells| {
        c.breaker = cells.amps(15.0)
    });
    for rule in RULES {
        assert_eq!(outcomes(rule, &s), [], "{}", rule.name);
    }
    let s = Fixture::new()
        .unit("AH-1", UnitKind::AirHandler, heat(10.0, 240.0, 3.0))
        .circuit("LP", &[1, 3], &["AH-1"], |c, cells| {
            c.breaker = cells.amps(15.0)
        })
        .circuit("LP", &[5, 7], &["AH-1"], |c, cells| {
            c.breaker = cells.amps(60.0)
        })
        .build();
    finds(&STRIP_HEAT_CIRCUIT_SMALL, &s, &[]);
}
