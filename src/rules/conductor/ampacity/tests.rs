use super::*;
use crate::findings::Verdict;
use crate::rules::testing::{finds, meets, outcomes, severities, whole_audit};
use crate::schedule::fixture::{Cells, Fixture};
use crate::schedule::wire::Insulation;
use crate::schedule::{Celsius, Edition, Kilowatts, Unit, UnitKind, UnitPlace};
use Severity::{Fix, Verify};

pub(in crate::rules::conductor) fn wire(
    size: i8,
    insulation: Option<Insulation>,
    cable: Option<CableType>,
    is_cable: bool,
) -> Conductor {
    Conductor {
        size: Some(Size::Awg(size)),
        count: Some(2),
        sets: 1,
        insulation,
        cable,
        is_cable: is_cable || cable.is_some(),
        ..Conductor::default()
    }
}

fn job(
    (mca, mop, breaker): (f64, f64, f64),
    conductor: Conductor,
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
            c.conductor = cells.given(conductor);
            circuit(c, cells);
        })
        .build()
}

fn plain(ratings: (f64, f64, f64), conductor: Conductor) -> Schedule {
    job(ratings, conductor, |_, _| {}, |_, _| {})
}

const THHN: Option<Insulation> = Some(Insulation::Thhn);

#[test]
fn published_nameplates_and_their_conductors() {
    // EC&M, NEC Requirements for A/C and Refrigeration Equipment (January
    // 2025): MCA 31.4, MOP 50, 75 °C terminals: 10 AWG copper behind 50 A.
    let ten = plain((31.4, 50.0, 50.0), wire(10, THHN, None, false));
    // EC&M, Code Q&A 42: MCA 44, MOP 60: 8 AWG copper, 60 A.
    let eight = plain((44.0, 60.0, 60.0), wire(8, THHN, None, false));
    for s in [ten, eight] {
        meets(&CONDUCTOR_UNDER_MCA, &s);
        meets(&CONDUCTOR_UNDER_PROTECTION, &s);
        let fixes: Vec<_> = whole_audit(&s)
            .into_iter()
            .filter(|(rule, severity)| {
                *severity == Fix
                    && (rule.starts_with("conductor") || rule.starts_with("protection"))
            })
            .collect();
        assert_eq!(fixes, []);
    }
    let s = plain((31.4, 50.0, 50.0), wire(12, THHN, None, false));
    finds(&CONDUCTOR_UNDER_MCA, &s, &[Fix]);
    let found = outcomes(&CONDUCTOR_UNDER_MCA, &s);
    let proposed = &found[0].finding().unwrap().changes[0];
    assert_eq!(proposed.proposed, "(2)#10 THHN");
    assert_eq!(found[0].finding().unwrap().profile, ["terminals.general"]);
}

#[test]
fn at_the_ampacity_in_every_edition() {
    for edition in Edition::ALL {
        let practice = Practice {
            edition,
            ..Practice::default()
        };
        for (mca, expect) in [(34.9, vec![]), (35.0, vec![]), (35.1, vec![Fix])] {
            let s = plain((mca, 50.0, 50.0), wire(10, THHN, None, false));
            assert_eq!(
                severities(&CONDUCTOR_UNDER_MCA, &s, &practice),
                expect,
                "{mca}"
            );
        }
    }
}

#[test]
fn a_cable_without_a_type_is_a_question_of_terminals() {
    let open = |mca| plain((mca, 50.0, 50.0), wire(10, None, None, true));
    meets(&CONDUCTOR_UNDER_MCA, &open(30.0));
    finds(&CONDUCTOR_UNDER_MCA, &open(31.4), &[Verify]);
    finds(&CONDUCTOR_UNDER_MCA, &open(35.1), &[Fix]);
    let stated = job(
        (31.4, 50.0, 50.0),
        wire(10, THHN, None, false),
        |_, _| {},
        |c, cells| c.terminals = cells.given(Celsius(60.0)),
    );
    finds(&CONDUCTOR_UNDER_MCA, &stated, &[Fix]);
}

#[test]
fn mc_carries_what_nm_does_not() {
    meets(
        &CONDUCTOR_UNDER_MCA,
        &plain(
            (25.0, 40.0, 40.0),
            wire(12, None, Some(CableType::Mc), true),
        ),
    );
    finds(
        &CONDUCTOR_UNDER_MCA,
        &plain(
            (25.0, 40.0, 40.0),
            wire(12, None, Some(CableType::NmB), true),
        ),
        &[Fix],
    );
}

#[test]
fn ambient_and_bundling_count_and_the_profile_only_asks() {
    // By hand: 30 A x 0.76 = 22.8 A for 12 AWG of 90 °C at 55 °C.
    let at = |mca: f64| {
        job(
            (mca, 30.0, 30.0),
            wire(12, THHN, None, false),
            |_, _| {},
            |c, cells| c.ambient = cells.given(Celsius(55.0)),
        )
    };
    meets(&CONDUCTOR_UNDER_MCA, &at(22.8));
    finds(&CONDUCTOR_UNDER_MCA, &at(22.9), &[Fix]);
    let many = |mca: f64| {
        job(
            (mca, 30.0, 30.0),
            wire(12, THHN, None, false),
            |_, _| {},
            |c, cells| c.in_raceway = cells.given(7),
        )
    };
    // By hand: 30 A x 0.70 = 21 A.
    meets(&CONDUCTOR_UNDER_MCA, &many(21.0));
    finds(&CONDUCTOR_UNDER_MCA, &many(21.1), &[Fix]);
    let roof = job(
        (24.0, 30.0, 30.0),
        wire(12, THHN, None, false),
        |u, cells| u.place = cells.given(UnitPlace::Roof),
        |_, _| {},
    );
    meets(&CONDUCTOR_UNDER_MCA, &roof);
    let mut practice = Practice::default();
    practice.ambient.roof = Some(Celsius(55.0));
    assert_eq!(severities(&CONDUCTOR_UNDER_MCA, &roof, &practice), [Verify]);
}

#[test]
fn a_shared_circuit_is_held_against_its_load() {
    let s = |fla: f64, other: Option<&str>| {
        let mut fixture = Fixture::new();
        for tag in ["FC-1", "FC-2"] {
            fixture.unit(tag, UnitKind::Indoor, |u, cells| u.fla = cells.amps(fla));
        }
        let mut loads = vec!["FC-1", "FC-2"];
        loads.extend(other);
        fixture.circuit("LP", &[1, 3], &loads, |c, cells| {
            c.breaker = cells.amps(15.0);
            c.conductor = cells.given(wire(14, None, Some(CableType::NmB), true));
        });
        fixture.build()
    };
    meets(&CONDUCTOR_UNDER_MCA, &s(6.6, None));
    finds(&CONDUCTOR_UNDER_MCA, &s(6.7, None), &[Fix]);
    assert!(matches!(
        outcomes(&CONDUCTOR_UNDER_MCA, &s(1.0, Some("RECEPTACLES")))[0].verdict,
        Verdict::NotChecked { .. }
    ));
}

#[test]
fn heat_or_another_load_takes_the_exception_away() {
    let heated = |size: i8, breaker: f64| {
        job(
            (28.0, 60.0, breaker),
            wire(size, THHN, None, false),
            |u, cells| u.heat_kw = cells.given(Kilowatts(5.0)),
            |_, _| {},
        )
    };
    meets(&CONDUCTOR_UNDER_PROTECTION, &heated(10, 30.0));
    finds(&CONDUCTOR_UNDER_PROTECTION, &heated(10, 35.0), &[Fix]);
    meets(&CONDUCTOR_UNDER_PROTECTION, &heated(8, 50.0));
    finds(&CONDUCTOR_UNDER_PROTECTION, &heated(8, 60.0), &[Fix]);
    let s = heated(8, 60.0);
    let found = outcomes(&CONDUCTOR_UNDER_PROTECTION, &s);
    assert_eq!(
        found[0].finding().unwrap().changes[0].proposed,
        "(2)#6 THHN"
    );
    let unknown = job(
        (28.0, 50.0, 50.0),
        wire(10, THHN, None, false),
        |u, cells| u.heat_kw = Field::Unknown(cells.cell()),
        |_, _| {},
    );
    finds(&CONDUCTOR_UNDER_PROTECTION, &unknown, &[]);
    let zero = job(
        (28.0, 50.0, 50.0),
        wire(10, THHN, None, false),
        |u, cells| u.heat_kw = cells.given(Kilowatts(0.0)),
        |_, _| {},
    );
    meets(&CONDUCTOR_UNDER_PROTECTION, &zero);
    let open = job(
        (28.0, 60.0, 50.0),
        wire(8, None, None, true),
        |u, cells| u.heat_kw = cells.given(Kilowatts(5.0)),
        |_, _| {},
    );
    finds(&CONDUCTOR_UNDER_PROTECTION, &open, &[Verify]);
}
