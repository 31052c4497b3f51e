//! Limits of the families strip-heat and conductor.

use super::Says::{Fix, Met, Note, Verify};
use super::{Limit, limit};
use crate::rules::tests::house::*;
use crate::rules::tests::planted::{one, supply};
use crate::schedule::wire::Conductor;
use crate::schedule::*;

const HEAT: &str = "NEC 424.3(B) to 2017, 424.4(B) from 2020";
const AMPACITY: &str = "NEC Table 310.16, 110.14(C)(1)";

/// The air handler without a nameplate that includes its heater.
fn heated(kw: f64, breaker: f64, wire: Conductor) -> Draft {
    changed(|d| {
        clear(&mut d.units[AH].mca);
        clear(&mut d.units[AH].mop);
        put(&mut d.units[AH].heat_kw, Kilowatts(kw));
        put(&mut d.circuits[C_AH].breaker, Amps(breaker));
        put(&mut d.circuits[C_AH].conductor, wire);
    })
}

fn outdoor_wire(wire: Conductor) -> Draft {
    changed(|d| put(&mut d.circuits[C_OU].conductor, wire))
}

pub const LIMITS: &[Limit] = &[
    limit(
        "strip-heat-circuit-small",
        "breaker, 1.25 x (4.8 kW / 240 V + 3) = 28.75 A",
        HEAT,
        |x| heated(4.8, x, thhn(10, 10)),
        &[(28.7, Fix), (28.75, Met), (28.8, Met)],
    ),
    limit(
        "strip-heat-circuit-small",
        "kW on 10 AWG at 75 °C, 35 A: 1.25 x (6 kW / 240 V + 3) = 35 A",
        HEAT,
        |x| heated(x, 60.0, thhn(10, 10)),
        &[(5.9, Met), (6.0, Met), (6.1, Fix)],
    ),
    limit(
        "strip-heat-circuit-small",
        "50 kW and more at 1.00: 208.3 A and the blower on 250 A; 49.9 kW ask for 263.6 A",
        "from memory, NEC 424.22(D): it only spares a finding",
        |x| heated(x, 250.0, thhn(-3, 4)),
        &[(49.9, Fix), (50.0, Met), (50.1, Met)],
    ),
    limit(
        "strip-heat-not-subdivided",
        "48 A x 240 V = 11.52 kW of elements",
        "NEC 424.22(B)",
        |x| heated(x, 80.0, thhn(3, 8)),
        &[(11.5, Met), (11.52, Met), (11.6, Verify)],
    ),
    limit(
        "strip-heat-not-subdivided",
        "device of one part of a divided heater: 60 A",
        "NEC 424.22(B)",
        |x| {
            let mut job = house();
            put(&mut job.draft.units[AH].heat_kw, Kilowatts(19.2));
            job.draft.circuits[C_AH].loads[0].part = Part::Heater(1);
            job.circuit("LP", &[10, 12], &["AH-1"], |c, cells| {
                c.breaker = cells.amps(x);
                c.poles = cells.given(2);
                for load in &mut c.loads {
                    load.part = Part::Heater(2);
                }
            });
            job.draft
        },
        &[(50.0, Met), (60.0, Met), (60.1, Fix)],
    ),
    limit(
        "strip-heat-voltage",
        "volts of the kW on 240 V: 230 and 240 V name one system",
        "our judgement",
        |x| changed(|d| put(&mut d.units[AH].heat_volts, Volts(x))),
        &[
            (229.0, Note),
            (230.0, Met),
            (240.0, Met),
            (250.0, Met),
            (251.0, Note),
        ],
    ),
    limit(
        "conductor-under-mca",
        "MCA on 10 AWG at 75 °C: 35 A",
        AMPACITY,
        |x| changed(|d| put(&mut d.units[OU].mca, one(x))),
        &[(34.9, Met), (35.0, Met), (35.1, Fix)],
    ),
    limit(
        "conductor-under-mca",
        "MCA on 10 AWG without type or terminals: 30 A at 60 °C, 35 A at 75 °C",
        AMPACITY,
        |x| {
            changed(|d| {
                clear(&mut d.circuits[C_OU].terminals);
                let bare = Conductor {
                    insulation: None,
                    ..thhn(10, 10)
                };
                put(&mut d.circuits[C_OU].conductor, bare);
                put(&mut d.units[OU].mca, one(x));
            })
        },
        &[
            (29.9, Met),
            (30.0, Met),
            (30.1, Verify),
            (35.0, Verify),
            (35.1, Fix),
        ],
    ),
    limit(
        "conductor-under-mca",
        "ambient of 10 AWG at 90 °C for 31.4 A: 50 °C, 40 x 0.82 = 32.8 A",
        "NEC Table 310.15(B)(1)",
        |x| changed(|d| put(&mut d.circuits[C_OU].ambient, Celsius(x))),
        &[(49.0, Met), (50.0, Met), (51.0, Fix)],
    ),
    limit(
        "conductor-under-mca",
        "conductors in the raceway: 6, 40 x 0.8 = 32 A; 7, 40 x 0.7 = 28 A",
        "NEC Table 310.15(C)(1)",
        |x| changed(|d| put(&mut d.circuits[C_OU].in_raceway, x as u32)),
        &[(5.0, Met), (6.0, Met), (7.0, Fix)],
    ),
    limit(
        "conductor-under-protection",
        "breaker before 10 AWG and strip heat: 30 A",
        "NEC 240.4(D)",
        |x| changed(|d| put(&mut d.circuits[C_AH].breaker, Amps(x))),
        &[(29.9, Met), (30.0, Met), (30.1, Fix)],
    ),
    limit(
        "conductor-too-small",
        "copper 14 AWG (a larger number is a smaller wire)",
        "NEC 310.3(A) and its successors",
        |x| outdoor_wire(thhn(x as i8, 14)),
        &[(16.0, Fix), (14.0, Met), (12.0, Met)],
    ),
    limit(
        "grounding-conductor-small",
        "breaker for a ground of 10 AWG: the row of 60 A",
        "NEC Table 250.122",
        |x| {
            changed(|d| {
                put(&mut d.circuits[C_OU].conductor, thhn(6, 10));
                put(&mut d.circuits[C_OU].breaker, Amps(x));
            })
        },
        &[(59.9, Met), (60.0, Met), (60.1, Fix)],
    ),
    limit(
        "grounding-conductor-small",
        "ground of 4 AWG where 6 would do, at 60 A: 16,511 cmil, 8 AWG by the 0.1 % of rounding",
        "NEC 250.122(B), worked proportion",
        |x| {
            changed(|d| {
                put(&mut d.circuits[C_OU].conductor, thhn(4, x as i8));
                put(&mut d.circuits[C_OU].breaker, Amps(60.0));
            })
        },
        &[(10.0, Verify), (8.0, Met), (6.0, Met)],
    ),
    limit(
        "conductor-count",
        "conductors of a single-phase unit: 2",
        "common practice, no source",
        |x| {
            outdoor_wire(Conductor {
                count: Some(x as u8),
                ..thhn(10, 10)
            })
        },
        &[(1.0, Fix), (2.0, Met), (3.0, Met)],
    ),
    limit(
        "conductor-count",
        "conductors of a three-phase unit: 3",
        "common practice, no source",
        |x| {
            changed(|d| {
                put(&mut d.units[OU].supply, supply(&[208, 230], 3));
                let wire = Conductor {
                    count: Some(x as u8),
                    ..thhn(10, 10)
                };
                put(&mut d.circuits[C_OU].conductor, wire);
            })
        },
        &[(2.0, Fix), (3.0, Met), (4.0, Met)],
    ),
    limit(
        "voltage-drop",
        "percent: 3 and 5 of the profile, at 25.4 A, 240 V, 1.24 ohm per 1,000 ft",
        "NEC 210.19(A) informational note, Chapter 9 Table 8",
        |x| {
            let feet = x / 100.0 * 240.0 * 1000.0 / (2.0 * 25.4 * 1.24);
            changed(|d| put(&mut d.circuits[C_OU].length, Feet(feet)))
        },
        &[
            (2.99, Met),
            (3.0, Met),
            (3.01, Note),
            (5.0, Note),
            (5.01, Verify),
        ],
    ),
    limit(
        "conductor-heavier-than-needed",
        "10 AWG needed: two sizes above it, 6 AWG",
        "NEC 440.4(B), Table 310.16; common practice",
        |x| outdoor_wire(thhn(x as i8, 10)),
        &[(10.0, Met), (8.0, Met), (6.0, Note)],
    ),
];
