//! Right jobs, and jobs that only look wrong, through all rules of power: no
//! `fix` may come of them. All of it invented.

use crate::findings::Severity;
use crate::practice::Practice;
use crate::rules::{Family, audit, by_name};
use crate::schedule::fixture::{Cells, Fixture};
use crate::schedule::wire::{CableType, Conductor, Grounding, Insulation, Size};
use crate::schedule::{
    Amps, Circuit, CustomerType, Disconnect, Kilowatts, PanelSupply, Part, Schedule, Unit,
    UnitKind, Volts,
};

/// Findings of the families of power, worst first by name.
fn found(schedule: &Schedule) -> Vec<(&'static str, Severity)> {
    let practice = Practice {
        customer: Some(CustomerType::Dwelling),
        ..Practice::default()
    };
    let power = [
        Family::Supply,
        Family::Overcurrent,
        Family::Sharing,
        Family::StripHeat,
        Family::Conductor,
    ];
    audit(schedule, &practice)
        .findings
        .iter()
        .filter(|finding| by_name(finding.rule).is_some_and(|rule| power.contains(&rule.family)))
        .map(|finding| (finding.rule, finding.severity))
        .collect()
}

#[track_caller]
fn no_fix(schedule: &Schedule) -> Vec<(&'static str, Severity)> {
    let all = found(schedule);
    let fixes: Vec<_> = all
        .iter()
        .filter(|(_, severity)| *severity == Severity::Fix)
        .collect();
    assert!(fixes.is_empty(), "{fixes:?}");
    all
}

fn outdoor(mca: f64, mop: f64) -> impl Fn(&mut Unit, &mut Cells) {
    move |u, cells| {
        u.mca = cells.mca(mca);
        u.mop = cells.mop(mop);
        u.supply = cells.supply(&[208, 230], 1);
    }
}

fn indoor(u: &mut Unit, cells: &mut Cells) {
    u.mca = cells.mca(1.4);
    u.fla = cells.amps(1.12);
    u.mop = cells.mop(15.0);
    u.supply = cells.supply(&[208, 230], 1);
}

fn panel(fixture: &mut Fixture, line: f64, phases: u8) {
    fixture.panel("LP", |p, cells| {
        p.supply = cells.given(PanelSupply {
            line_to_line: Volts(line),
            line_to_neutral: Some(Volts(120.0)),
            phases: Some(phases),
        })
    });
}

fn circuit(breaker: f64, conductor: Conductor) -> impl Fn(&mut Circuit, &mut Cells) {
    move |c, cells| {
        c.breaker = cells.amps(breaker);
        c.poles = cells.given(2);
        c.conductor = cells.given(conductor.clone());
    }
}

fn thhn(size: i8) -> Conductor {
    Conductor {
        size: Some(Size::Awg(size)),
        count: Some(2),
        sets: 1,
        insulation: Some(Insulation::ThhnThwn2),
        ground: Some(Grounding::Sized {
            size: Size::Awg(size.max(10)),
            material: None,
        }),
        ..Conductor::default()
    }
}

fn nm(size: i8) -> Conductor {
    Conductor {
        cable: Some(CableType::NmB),
        is_cable: true,
        insulation: None,
        ground: Some(Grounding::Unsized),
        ..thhn(size)
    }
}

#[test]
fn a_dwelling_as_it_should_be() {
    let mut fixture = Fixture::new();
    panel(&mut fixture, 240.0, 1);
    fixture
        .unit("OU-1", UnitKind::Outdoor, outdoor(31.4, 50.0))
        .circuit("LP", &[1, 3], &["OU-1"], circuit(50.0, thhn(10)));
    let tags: Vec<String> = (1..=12).map(|n| format!("FC-{n}")).collect();
    for tag in &tags {
        fixture.unit(tag, UnitKind::Indoor, indoor);
    }
    let loads: Vec<&str> = tags.iter().map(String::as_str).collect();
    fixture
        .circuit("LP", &[5, 7], &loads, circuit(15.0, nm(14)))
        .circuit("LP", &[2, 4], &["RANGE"], circuit(50.0, nm(6)))
        .circuit("LP", &[6], &["KITCHEN LTG"], |c, cells| {
            c.breaker = cells.amps(15.0)
        })
        .circuit("LP", &[8], &["RECEPTACLES"], |c, cells| {
            c.breaker = cells.amps(20.0)
        })
        .circuit("LP", &[10], &["OU-1 SERVICE RECEPTACLE"], |c, cells| {
            c.breaker = cells.amps(20.0);
            c.poles = cells.given(1);
        });
    let all = no_fix(&fixture.build());
    assert!(
        all.contains(&("shared-over-capacity", Severity::Note)),
        "{all:?}"
    );
    assert!(
        !all.iter()
            .any(|(_, severity)| *severity == Severity::Verify),
        "{all:?}"
    );
}

#[test]
fn fuses_behind_a_larger_breaker_on_a_three_phase_panel() {
    let mut fixture = Fixture::new();
    panel(&mut fixture, 208.0, 3);
    fixture
        .unit("OU-1", UnitKind::Outdoor, |u, cells| {
            outdoor(26.0, 35.0)(u, cells);
            u.disconnect = cells.given(Disconnect {
                amps: Some(Amps(60.0)),
                fused: Some(true),
                fuse: Some(Amps(35.0)),
            });
        })
        .circuit("LP", &[1, 3], &["OU-1"], circuit(40.0, thhn(10)));
    let all = no_fix(&fixture.build());
    assert!(
        all.contains(&("fuse-carries-limit", Severity::Verify)),
        "{all:?}"
    );
}

#[test]
fn an_air_handler_with_a_circuit_for_its_heater() {
    let mut fixture = Fixture::new();
    panel(&mut fixture, 240.0, 1);
    fixture
        .unit("AH-1", UnitKind::AirHandler, |u, cells| {
            u.mca = cells.mca(3.8);
            u.fla = cells.amps(3.0);
            u.mop = cells.mop(15.0);
            u.supply = cells.supply(&[208, 230], 1);
            u.heat_kw = cells.given(Kilowatts(9.6));
            u.heat_volts = cells.given(Volts(240.0));
        })
        .circuit("LP", &[1, 3], &["AH-1"], circuit(15.0, nm(14)))
        .circuit("LP", &[5, 7], &["AH-1 HEATER"], |c, cells| {
            circuit(50.0, nm(6))(c, cells);
            for load in &mut c.loads {
                load.part = Part::Heater(1);
            }
        });
    let all = no_fix(&fixture.build());
    assert_eq!(all, [], "a heater of 40 A on 50 A, blower apart");
}

#[test]
fn one_circuit_for_heater_and_blower_with_a_nameplate_for_both() {
    let mut fixture = Fixture::new();
    panel(&mut fixture, 240.0, 1);
    fixture
        .unit("AH-1", UnitKind::AirHandler, |u, cells| {
            // 1.25 x (40 + 3) = 53.75 A.
            u.mca = cells.mca(53.8);
            u.fla = cells.amps(3.0);
            u.mop = cells.mop(60.0);
            u.supply = cells.supply(&[208, 230], 1);
            u.heat_kw = cells.given(Kilowatts(9.6));
            u.heat_volts = cells.given(Volts(240.0));
        })
        .circuit("LP", &[1, 3], &["AH-1"], circuit(60.0, nm(6)));
    assert_eq!(no_fix(&fixture.build()), []);
}

#[test]
fn corrections_of_an_oversized_breaker_leave_no_fix() {
    let build = |breaker: f64| {
        let mut fixture = Fixture::new();
        panel(&mut fixture, 240.0, 1);
        fixture
            .unit("OU-1", UnitKind::Outdoor, outdoor(18.2, 30.0))
            .circuit("LP", &[1, 3], &["OU-1"], circuit(breaker, thhn(10)));
        fixture.build()
    };
    let wrong = build(40.0);
    assert!(found(&wrong).contains(&("protection-over-mop", Severity::Fix)));
    let outcome = by_name("protection-over-mop")
        .map(|rule| (rule.check)(&wrong, &Practice::default()))
        .unwrap();
    let proposed = &outcome[0].finding().unwrap().changes[0].proposed;
    no_fix(&build(proposed.parse().unwrap()));
}

#[test]
fn every_cause_that_is_waited_for_is_a_rule() {
    for rule in crate::rules::ALL.iter() {
        for text in [rule.summary, rule.why, rule.decides, rule.leaves] {
            assert!(!text.is_empty(), "{}", rule.name);
        }
        assert!(!rule.cites.is_empty(), "{} has no source", rule.name);
    }
    for family in [Family::Sharing, Family::Overcurrent, Family::Conductor] {
        for rule in crate::rules::ALL
            .iter()
            .filter(|rule| rule.family == family)
        {
            for cause in rule.yields_to {
                assert!(by_name(cause).is_some(), "{} waits for {cause}", rule.name);
            }
        }
    }
}
