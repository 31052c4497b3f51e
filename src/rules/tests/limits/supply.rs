//! Limits of the families supply, overcurrent and sharing.

use super::Says::{Fix, Met, Note, Verify};
use super::{Limit, in_editions, limit};
use crate::rules::tests::house::*;
use crate::rules::tests::planted::{apart, loaded, mop, one, slots, supply};
use crate::schedule::fixture::Fixture;
use crate::schedule::*;

const MOTORS: &str = "NEC 430.24, 210.20(A)";
const PLATE: &str = "NEC 110.3(B), 440.4(B): the nameplate";
const SMALL: &str = "NEC 430.53(A)";

/// A cell of the same row, for a field that the house has no cell for.
fn beside<T>(value: T, at: CellId) -> Field<T> {
    Field::given(value, at)
}

/// The two fan coils of the shared circuit, without full-load currents where
/// `fla` is none.
fn sharing(mcas: [f64; 2], fla: Option<[f64; 2]>, breaker: f64) -> Draft {
    changed(|d| {
        for (place, index) in [FC1, FC2].into_iter().enumerate() {
            put(&mut d.units[index].mca, one(mcas[place]));
            put(&mut d.units[index].mop, mop(25.0, false));
            match fla {
                Some(amps) => put(&mut d.units[index].fla, Amps(amps[place])),
                None => clear(&mut d.units[index].fla),
            }
        }
        put(&mut d.circuits[C_FC].breaker, Amps(breaker));
    })
}

/// A three-phase panel with 30 A on B, 30 A on C and 35 A + `more` on A.
fn three_phases(more: f64) -> Draft {
    let mut job = Fixture::new();
    job.panel("LP", |panel, cells| {
        panel.supply = cells.given(three_phase());
        panel.main = cells.amps(100.0);
    });
    let loads = [
        (1, 10.0),
        (2, 10.0),
        (7, 10.0),
        (8, 5.0),
        (13, more),
        (3, 10.0),
        (4, 10.0),
        (9, 10.0),
        (5, 10.0),
        (6, 10.0),
        (11, 10.0),
    ];
    for (slot, amps) in loads {
        job.circuit("LP", &[slot], &["RANGE"], |c, cells| {
            c.breaker = cells.amps(20.0);
            c.poles = cells.given(1);
            c.load_amps = cells.amps(amps);
        });
    }
    job.draft
}

pub const LIMITS: &[Limit] = &[
    limit(
        "unit-on-two-circuits",
        "circuits that name one unit: 1",
        "common practice, no source",
        |x| {
            changed(|d| {
                let load = d.circuits[C_FC].loads[0].clone();
                for index in [C_AH, C_OU].into_iter().take(x as usize - 1) {
                    d.circuits[index].loads.push(load.clone());
                }
            })
        },
        &[(1.0, Met), (2.0, Verify), (3.0, Verify)],
    ),
    limit(
        "supply-voltage-mismatch",
        "volts of a 460 V nameplate: 0.9 x 460 = 414 to 1.1 x 460 = 506",
        "nameplate ranges, ANSI C84.1 nominal pairs (second-hand)",
        |x| {
            changed(|d| {
                put(&mut d.units[OU].supply, supply(&[460], 1));
                let at = d.circuits[C_OU].at;
                d.circuits[C_OU].supply = beside(supply(&[x as u16], 1), at);
            })
        },
        &[
            (413.0, Fix),
            (414.0, Met),
            (480.0, Met),
            (506.0, Met),
            (507.0, Fix),
        ],
    ),
    limit(
        "supply-voltage-mismatch",
        "volts of a 208/230 V nameplate: 0.9 x 208 = 187.2 to 1.1 x 230 = 253",
        "nameplate ranges: 187 to 253 V",
        |x| {
            changed(|d| {
                let at = d.circuits[C_OU].at;
                d.circuits[C_OU].supply = beside(supply(&[x as u16], 1), at);
            })
        },
        &[(187.0, Fix), (188.0, Met), (253.0, Met), (254.0, Fix)],
    ),
    limit(
        "phase-mismatch",
        "poles of a three-phase unit: 3",
        "common practice, no source",
        |x| {
            changed(|d| {
                put(&mut d.panels[0].supply, three_phase());
                put(&mut d.units[OU].supply, supply(&[208, 230], 3));
                put(&mut d.circuits[C_OU].poles, x as u8);
            })
        },
        &[(1.0, Fix), (2.0, Fix), (3.0, Met)],
    ),
    limit(
        "poles-mismatch",
        "poles of a 208/230 V single-phase unit: 2",
        "common practice, no source",
        |x| changed(|d| put(&mut d.circuits[C_OU].poles, x as u8)),
        &[(1.0, Fix), (2.0, Met), (3.0, Fix)],
    ),
    limit(
        "slot-taken-twice",
        "first slot of two poles beside breakers on 1,3 and 2,4: 5",
        "common practice, no source: a breaker at n takes n and n + 2",
        |x| changed(|d| put(&mut d.circuits[C_AH].slots, slots(&[x as u16]))),
        &[(3.0, Fix), (4.0, Fix), (5.0, Met), (6.0, Met)],
    ),
    limit(
        "panel-overloaded",
        "main against 25.4 + 1.2 + 23.8 = 50.4 A on each leg",
        "by hand",
        loaded,
        &[(50.3, Verify), (50.4, Met), (50.5, Met)],
    ),
    limit(
        "supply-imbalance",
        "phase A of 40 A beside 30 and 30: 100 x (40 - 33.3) / 33.3 = 20 % of the profile",
        "common practice, no source; the profile's 20 %",
        three_phases,
        &[(4.9, Met), (5.0, Met), (5.1, Note)],
    ),
    limit(
        "disconnect-underrated",
        "1.15 x (24 + 1.4) = 29.21 A",
        "NEC 440.12(A)(1)",
        |x| changed(|d| put(&mut d.units[OU].disconnect, switch(x))),
        &[(29.2, Fix), (29.21, Met), (29.22, Met)],
    ),
    limit(
        "disconnect-underrated",
        "with MCA alone: 1.15 x 31.4 / 1.25 = 28.888 A, 1.15 x 31.4 = 36.11 A",
        "NEC 440.12(A)(1), bounds by hand",
        |x| {
            changed(|d| {
                clear(&mut d.units[OU].rla);
                clear(&mut d.units[OU].fla);
                put(&mut d.units[OU].disconnect, switch(x));
            })
        },
        &[
            (28.88, Fix),
            (28.888, Verify),
            (36.1, Verify),
            (36.11, Met),
            (36.2, Met),
        ],
    ),
    limit(
        "disconnect-underrated",
        "fuses in a switch of 60 A",
        "common practice, no source",
        |x| changed(|d| put(&mut d.units[OU].fuse, Amps(x))),
        &[(50.0, Met), (60.0, Met), (70.0, Fix)],
    ),
    in_editions(
        &[Edition::Nec2020, Edition::Nec2023],
        limit(
            "ground-fault-protection",
            "breaker up to 50 A",
            "NEC 210.8(F)",
            |x| changed(|d| put(&mut d.circuits[C_OU].breaker, Amps(x))),
            &[(45.0, Note), (50.0, Note), (60.0, Met)],
        ),
    ),
    in_editions(
        &[Edition::Nec2026],
        limit(
            "ground-fault-protection",
            "breaker up to 60 A",
            "NEC 210.8(F), secondary source",
            |x| changed(|d| put(&mut d.circuits[C_OU].breaker, Amps(x))),
            &[(50.0, Note), (60.0, Note), (70.0, Met)],
        ),
    ),
    in_editions(
        &[Edition::Nec2020, Edition::Nec2023, Edition::Nec2026],
        limit(
            "ground-fault-protection",
            "150 V to ground",
            "NEC 210.8(F)",
            |x| {
                changed(|d| {
                    let mut panel = split_phase();
                    panel.line_to_neutral = Some(Volts(x));
                    put(&mut d.panels[0].supply, panel);
                })
            },
            &[(149.9, Note), (150.0, Note), (150.1, Met)],
        ),
    ),
    // overcurrent
    limit(
        "protection-over-mop",
        "breaker, MOP 50 A",
        PLATE,
        |x| changed(|d| put(&mut d.circuits[C_OU].breaker, Amps(x))),
        &[(49.9, Met), (50.0, Met), (50.1, Fix)],
    ),
    limit(
        "protection-over-mop",
        "fuses behind a breaker of 60 A, MOP 50 A",
        PLATE,
        |x| {
            changed(|d| {
                put(&mut d.circuits[C_OU].breaker, Amps(60.0));
                put(&mut d.circuits[C_OU].fuse, Amps(x));
            })
        },
        &[(49.9, Met), (50.0, Met), (50.1, Fix)],
    ),
    limit(
        "protection-under-mca",
        "breaker, MCA 31.4 A",
        PLATE,
        |x| changed(|d| put(&mut d.circuits[C_OU].breaker, Amps(x))),
        &[(31.3, Fix), (31.4, Met), (31.5, Met)],
    ),
    limit(
        "protection-below-mop",
        "breaker from MCA 31.4 A to below 50 A",
        "NEC 440.22(C), 240.6(A); common practice",
        |x| changed(|d| put(&mut d.circuits[C_OU].breaker, Amps(x))),
        &[
            (31.3, Met),
            (31.4, Note),
            (49.9, Note),
            (50.0, Met),
            (50.1, Met),
        ],
    ),
    limit(
        "fuse-carries-limit",
        "breaker before fuses of 50 A, MOP 50 A",
        "NEC 440.22(C); our reading",
        |x| {
            changed(|d| {
                put(&mut d.circuits[C_OU].breaker, Amps(x));
                put(&mut d.circuits[C_OU].fuse, Amps(50.0));
            })
        },
        &[(49.9, Met), (50.0, Met), (50.1, Verify)],
    ),
    limit(
        "fuse-carries-limit",
        "fuses behind a breaker of 60 A, MOP 50 A: above it they hold nothing",
        "NEC 440.22(C); our reading",
        |x| {
            changed(|d| {
                put(&mut d.circuits[C_OU].breaker, Amps(60.0));
                put(&mut d.circuits[C_OU].fuse, Amps(x));
            })
        },
        &[(49.9, Verify), (50.0, Verify), (50.1, Met)],
    ),
    limit(
        "rating-not-standard",
        "breaker of 45 A",
        "NEC 240.6(A)",
        |x| changed(|d| put(&mut d.circuits[C_OU].breaker, Amps(x))),
        &[(44.9, Verify), (45.0, Met), (45.1, Verify)],
    ),
    in_editions(
        &[Edition::Nec2023, Edition::Nec2026],
        limit(
            "rating-not-standard",
            "breaker of 10 A, in the list from 2023 on",
            "NEC 240.6(A)",
            |x| changed(|d| put(&mut d.circuits[C_FC].breaker, Amps(x))),
            &[(9.9, Verify), (10.0, Met), (10.1, Verify)],
        ),
    ),
    limit(
        "mop-below-mca",
        "MOP, MCA 31.4 A",
        "NEC 440.4(B)",
        |x| changed(|d| put(&mut d.units[OU].mop, mop(x, false))),
        &[(31.3, Fix), (31.4, Met), (31.5, Met)],
    ),
    limit(
        "nameplate-disagrees",
        "MCA within 10 % of 1.25 x 24 + 1.4 = 31.4 A: 28.26 to 34.54 A",
        "NEC 440.33; the profile's 10 %",
        |x| changed(|d| put(&mut d.units[OU].mca, one(x))),
        &[(28.25, Verify), (28.26, Met), (34.54, Met), (34.55, Verify)],
    ),
    limit(
        "nameplate-disagrees",
        "MOP at most 2.25 x 24 + 1.4 = 55.4, down to 50 A",
        "NEC 440.22(A), 240.6(A)",
        |x| changed(|d| put(&mut d.units[OU].mop, mop(x, false))),
        &[(49.9, Met), (50.0, Met), (50.1, Verify)],
    ),
    limit(
        "mop-not-standard",
        "MOP of 50 A",
        "NEC 240.6(A)",
        |x| changed(|d| put(&mut d.units[OU].mop, mop(x, false))),
        &[(49.9, Note), (50.0, Met), (50.1, Note)],
    ),
    // sharing
    limit(
        "shared-over-capacity",
        "1.25 x + 1 against 15 A and 80 % of it, 12 A",
        MOTORS,
        |x| sharing([x, 1.0], Some([x, 1.0]), 15.0),
        &[
            (8.7, Met),
            (8.8, Met),
            (8.9, Note),
            (11.2, Note),
            (11.3, Fix),
        ],
    ),
    limit(
        "shared-over-capacity",
        "MCA alone, x + 1: 12 A noted, 15 A asked, 1.25 x 15 = 18.75 A wrong",
        MOTORS,
        |x| sharing([x, 1.0], None, 15.0),
        &[
            (10.9, Met),
            (11.0, Met),
            (11.1, Note),
            (14.0, Note),
            (14.1, Verify),
            (17.75, Verify),
            (17.8, Fix),
        ],
    ),
    limit(
        "shared-rating-too-large",
        "15 A without a question, MOP 25 A",
        SMALL,
        |x| sharing([0.8, 0.8], Some([0.6, 0.6]), x),
        &[
            (14.9, Met),
            (15.0, Met),
            (15.1, Verify),
            (25.0, Verify),
            (25.1, Fix),
        ],
    ),
    limit(
        "shared-rating-too-large",
        "20 A without a question at 120 V",
        "from memory, NEC 430.53(A); it only spares a question",
        |x| {
            let mut draft = sharing([0.8, 0.8], Some([0.6, 0.6]), x);
            let at = draft.circuits[C_FC].at;
            draft.circuits[C_FC].supply = beside(supply(&[120], 1), at);
            draft
        },
        &[(19.9, Met), (20.0, Met), (20.1, Verify)],
    ),
    limit(
        "shared-with-strip-heat",
        "a heater above 0 kW",
        "common practice, no source",
        |x| {
            changed(|d| {
                let at = d.units[FC1].tag.at;
                d.units[FC1].heat_kw = beside(Kilowatts(x), at);
            })
        },
        &[(0.0, Met), (0.1, Fix), (5.0, Fix)],
    ),
    limit(
        "shared-motor-over-limit",
        "full-load current up to 6 A",
        SMALL,
        |x| sharing([0.8, 0.8], Some([x, 0.6]), 15.0),
        &[(5.9, Met), (6.0, Met), (6.1, Verify)],
    ),
    limit(
        "shared-motor-over-limit",
        "MCA alone: 6 x 1.25 = 7.5 A",
        SMALL,
        |x| sharing([x, 0.8], None, 15.0),
        &[(7.4, Met), (7.5, Met), (7.6, Verify)],
    ),
    limit(
        "shared-motor-over-limit",
        "horsepower up to 1",
        SMALL,
        |x| changed(|d| put(&mut d.units[FC1].horsepower, Horsepower(x))),
        &[(0.9, Met), (1.0, Met), (1.1, Verify)],
    ),
    limit(
        "sharing-possible",
        "two units of x and 5 A within 80 % of 15 A: 1.25 x + 5 = 12",
        "NEC 430.24; the profile's 80 %",
        |x| {
            let mut draft = apart();
            put(&mut draft.units[FC1].fla, Amps(x));
            put(&mut draft.units[FC2].fla, Amps(5.0));
            draft
        },
        &[(5.5, Note), (5.6, Note), (5.7, Met)],
    ),
    limit(
        "sharing-possible",
        "MOP of one unit: the shared rating of 15 A",
        PLATE,
        |x| {
            let mut draft = apart();
            put(&mut draft.units[FC1].mop, mop(x, false));
            draft
        },
        &[(14.9, Met), (15.0, Note), (15.1, Note)],
    ),
];
