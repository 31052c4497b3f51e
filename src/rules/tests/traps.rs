//! Right jobs that look wrong: what each of them must not be told, through a
//! whole audit.

use super::house::*;
use super::planted::{mop, one};
use crate::findings::Severity::{self, Fix, Verify};
use crate::practice::Practice;
use crate::rules::{Family, audit, by_name};
use crate::schedule::wire::{CableType, Conductor};
use crate::schedule::*;

/// What is found of the families of power: rule, severity, message.
fn found(draft: Draft) -> Vec<(&'static str, Severity, String)> {
    let power = [
        Family::Supply,
        Family::Overcurrent,
        Family::Sharing,
        Family::StripHeat,
        Family::Conductor,
    ];
    audit(&draft.build(), &Practice::default())
        .findings
        .into_iter()
        .filter(|finding| by_name(finding.rule).is_some_and(|rule| power.contains(&rule.family)))
        .filter(|finding| finding.rule != "ground-fault-protection")
        .map(|finding| (finding.rule, finding.severity, finding.message))
        .collect()
}

fn names(found: &[(&'static str, Severity, String)]) -> Vec<(&'static str, Severity)> {
    found
        .iter()
        .map(|(rule, severity, _)| (*rule, *severity))
        .collect()
}

/// The outdoor unit with a nameplate, a breaker and conductors, and no
/// currents that its nameplate could disagree with.
fn outdoor(mca: f64, most: f64, breaker: f64, wire: Conductor) -> Draft {
    changed(|d| {
        let unit = &mut d.units[OU];
        put(&mut unit.mca, one(mca));
        put(&mut unit.mop, mop(most, false));
        clear(&mut unit.rla);
        clear(&mut unit.fla);
        put(&mut d.circuits[C_OU].breaker, Amps(breaker));
        put(&mut d.circuits[C_OU].conductor, wire);
    })
}

/// EC&M, NEC Requirements for A/C and Refrigeration Equipment (January 2025).
#[test]
fn ten_awg_behind_50_a_is_right_for_an_mca_of_31_4() {
    assert_eq!(names(&found(outdoor(31.4, 50.0, 50.0, thhn(10, 10)))), []);
}

/// NEC Table 310.16, 240.4(G), 334.80.
#[test]
fn twelve_awg_mc_behind_40_a_is_right_for_an_mca_of_25_and_nm_b_is_not() {
    let with = |kind| outdoor(25.0, 40.0, 40.0, cable(12, kind));
    assert_eq!(names(&found(with(CableType::Mc))), []);
    let nm = names(&found(with(CableType::NmB)));
    assert!(nm.contains(&("conductor-under-mca", Fix)), "{nm:?}");
}

/// Common practice, no source.
#[test]
fn fuses_of_35_a_behind_a_breaker_of_40_a_hold_an_mop_of_35() {
    let mut draft = outdoor(26.0, 35.0, 40.0, thhn(10, 10));
    put(&mut draft.circuits[C_OU].fuse, Amps(35.0));
    let found = found(draft);
    assert_eq!(names(&found), [("fuse-carries-limit", Verify)]);
    let message = &found[0].2;
    assert!(
        message.contains("The conductors up to the fuses, 10 AWG, suit a device of 30 A"),
        "{message}"
    );
}

#[test]
fn an_odd_mop_is_no_fault() {
    for most in [52.0, 47.0, 33.0] {
        let breaker = if most > 50.0 {
            50.0
        } else if most > 45.0 {
            45.0
        } else {
            30.0
        };
        let found = names(&found(outdoor(26.0, most, breaker, thhn(10, 10))));
        assert_eq!(found, [("mop-not-standard", Severity::Note)], "{most}");
    }
}

/// Mike Holt forum 149468: 20 kW in two parts, a blower of 7.6 A with the
/// first, 1.25 x (41.67 + 7.6) = 61.6 A against the 60 A that a part may have.
#[test]
fn a_heater_and_blower_of_61_6_a_are_reported_and_not_resolved() {
    let mut job = house();
    let d = &mut job.draft;
    clear(&mut d.units[AH].mca);
    clear(&mut d.units[AH].mop);
    put(&mut d.units[AH].heat_kw, Kilowatts(20.0));
    put(&mut d.units[AH].fla, Amps(7.6));
    put(&mut d.circuits[C_AH].breaker, Amps(60.0));
    put(&mut d.circuits[C_AH].conductor, thhn(4, 8));
    job.circuit("LP", &[10, 12], &["AH-1"], |c, cells| {
        c.breaker = cells.amps(60.0);
        c.poles = cells.given(2);
        c.conductor = cells.given(thhn(4, 8));
        c.terminals = cells.given(Celsius(75.0));
        for load in &mut c.loads {
            load.part = Part::Heater(2);
        }
    });
    let found = found(job.draft);
    let heat: Vec<_> = found
        .iter()
        .filter(|(rule, ..)| rule.starts_with("strip-heat"))
        .collect();
    let [(rule, severity, message)] = heat[..] else {
        panic!("{found:#?}");
    };
    assert_eq!((*rule, *severity), ("strip-heat-circuit-small", Verify));
    assert!(
        message.contains("61.58 A") && message.contains("readings differ"),
        "{message}"
    );
    assert!(
        found.iter().all(|(_, severity, _)| *severity != Fix),
        "{found:#?}"
    );
}

/// By hand: (12 + 0.25) x 15 / 12.25 = 15 A, in numbers that no binary
/// fraction holds.
#[test]
fn a_load_exactly_at_its_limit_passes() {
    let mut job = house();
    let mut tags = vec!["FC-1".to_owned(), "FC-2".to_owned()];
    for n in 3..=12 {
        let tag = format!("FC-{n}");
        job.unit(&tag, UnitKind::Indoor, |u, cells| {
            u.mca = cells.mca(1.5);
            u.mop = cells.mop(15.0);
            u.supply = cells.supply(&[208, 230], 1);
            u.fla = cells.amps(15.0 / 12.25);
        });
        tags.push(tag);
    }
    for index in [FC1, FC2] {
        put(&mut job.draft.units[index].fla, Amps(15.0 / 12.25));
        put(&mut job.draft.units[index].mca, one(1.5));
    }
    let at = job.draft.circuits[C_FC].loads[0].text.at;
    job.draft.circuits[C_FC].loads = tags
        .iter()
        .map(|tag| Load::new(tag, Part::Whole, at))
        .collect();
    let found = names(&found(job.draft));
    assert_eq!(found, [("shared-over-capacity", Severity::Note)]);
}

/// NEC 424.22(C): the maker's own devices may stand inside the enclosure.
#[test]
fn fifteen_kilowatts_on_one_80_a_circuit_are_a_question() {
    let heat = |told: Option<bool>| {
        changed(|d| {
            let unit = &mut d.units[AH];
            put(&mut unit.heat_kw, Kilowatts(15.0));
            // 1.25 x (62.5 + 1.5).
            put(&mut unit.mca, one(80.0));
            put(&mut unit.mop, mop(80.0, false));
            put(&mut unit.fla, Amps(1.5));
            put(&mut unit.disconnect, switch(100.0));
            if let (Some(told), Some(at)) = (told, unit.heat_protection.at()) {
                unit.heat_protection = Field::given(told, at);
            }
            put(&mut d.circuits[C_AH].breaker, Amps(80.0));
            put(&mut d.circuits[C_AH].conductor, thhn(4, 8));
        })
    };
    assert_eq!(
        names(&found(heat(None))),
        [("strip-heat-not-subdivided", Verify)]
    );
    assert_eq!(names(&found(heat(Some(true)))), []);
}

/// NEC 110.14(C)(1): 30 A at 60 °C terminals, 35 A at 75 °C.
#[test]
fn a_cable_of_no_stated_type_is_a_question_of_terminals() {
    let wire = Conductor {
        cable: None,
        ..cable(10, CableType::Mc)
    };
    let mut draft = outdoor(31.4, 50.0, 50.0, wire);
    clear(&mut draft.circuits[C_OU].terminals);
    let found = found(draft);
    assert_eq!(names(&found), [("conductor-under-mca", Verify)]);
    assert!(found[0].2.contains("terminals"), "{}", found[0].2);
}

/// NEC Table 250.122: a device up to 60 A.
#[test]
fn eight_awg_with_a_ground_of_ten_behind_50_a_is_right() {
    assert_eq!(names(&found(outdoor(38.0, 50.0, 50.0, thhn(8, 10)))), []);
}
