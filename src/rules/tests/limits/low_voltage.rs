//! Limits of the families bus, controller and sequence.

use super::Says::{Fix, Met, Note, Open, Verify};
use super::{Limit, limit};
use crate::rules::tests::house::*;
use crate::rules::tests::planted::{all_bus, shielded};
use crate::schedule::wire::{ShieldGround, Size};
use crate::schedule::*;
use jiff::civil::Date;

const PROFILE: &str = "common practice, no source: a value of the profile";
const MANUAL: &str = "one public manual: a value of the profile";

/// The house's bus of `feet` in all, three runs.
fn bus_of(d: &mut Draft, feet: f64) {
    put(&mut d.runs[BUS2].length, Feet(feet - 120.0));
}

/// One controller for `units` units of a declared group.
fn group(units: usize) -> Draft {
    let mut job = house();
    let tags: Vec<String> = (0..units).map(|n| format!("FC-{}", 20 + n)).collect();
    for tag in &tags {
        job.unit(tag, UnitKind::Indoor, |_, _| {});
    }
    let tags: Vec<&str> = tags.iter().map(String::as_str).collect();
    job.controller("T-9", &tags, |c, cells| c.group = cells.name("Hall"));
    job.draft
}

pub const LIMITS: &[Limit] = &[
    limit(
        "bus-branches",
        "bus runs on one unit: 2",
        "common practice, no source",
        |x| {
            let mut job = house();
            for extra in 2..x as usize {
                let tag = format!("FC-{}", 20 + extra);
                job.unit(&tag, UnitKind::Indoor, |_, _| {});
                job.run("FC-1", &tag, |_, _| {});
            }
            if x < 2.0 {
                job.draft.runs.remove(BUS2);
            }
            job.draft
        },
        &[(1.0, Met), (2.0, Met), (3.0, Fix), (4.0, Fix)],
    ),
    limit(
        "bus-run-repeated",
        "runs between one pair of units: 1",
        "common practice, no source",
        |x| {
            let mut job = house();
            for _ in 1..x as usize {
                job.run("FC-2", "FC-1", |_, _| {});
            }
            job.draft
        },
        &[(1.0, Met), (2.0, Fix), (3.0, Fix)],
    ),
    limit(
        "bus-splice",
        "splices: 0",
        "common practice, no source",
        |x| changed(|d| put(&mut d.runs[BUS2].splices, x as u32)),
        &[(0.0, Met), (1.0, Verify), (2.0, Verify)],
    ),
    limit(
        "bus-over-length",
        "6,000 ft without a shield",
        PROFILE,
        |x| changed(|d| bus_of(d, x)),
        &[(5999.9, Met), (6000.0, Met), (6000.1, Fix)],
    ),
    limit(
        "bus-over-length",
        "5,000 ft with a shield",
        PROFILE,
        |x| {
            changed(|d| {
                all_bus(d, |run| put(&mut run.shielded, true));
                bus_of(d, x);
            })
        },
        &[(4999.9, Met), (5000.0, Met), (5000.1, Fix)],
    ),
    limit(
        "bus-over-length",
        "1,000 ft by the outdoor unit's own row",
        "the schedule itself",
        |x| {
            changed(|d| {
                put(&mut d.units[OU].bus_limit, Feet(1000.0));
                bus_of(d, x);
            })
        },
        &[(999.9, Met), (1000.0, Met), (1000.1, Fix)],
    ),
    limit(
        "bus-over-length",
        "one run that does not say whether it is shielded: open above 5,000 ft",
        PROFILE,
        |x| {
            changed(|d| {
                clear(&mut d.runs[BUS1].shielded);
                bus_of(d, x);
            })
        },
        &[
            (4999.9, Met),
            (5000.0, Met),
            (5000.1, Open),
            (6000.0, Open),
            (6000.1, Fix),
        ],
    ),
    limit(
        "bus-near-length",
        "90 % of 6,000 ft = 5,400 ft; above 6,000 ft another rule speaks",
        PROFILE,
        |x| changed(|d| bus_of(d, x)),
        &[
            (5399.9, Met),
            (5400.0, Met),
            (5400.1, Note),
            (6000.0, Note),
            (6000.1, Open),
        ],
    ),
    limit(
        "bus-farthest-over-length",
        "1,312 ft along the chain, set in the profile",
        "public manuals, 400 to 1,000 m: a value of the profile",
        |x| changed(|d| bus_of(d, x)),
        &[(1311.9, Met), (1312.0, Met), (1312.1, Fix)],
    ),
    limit(
        "bus-gauge",
        "18 to 16 AWG",
        PROFILE,
        |x| changed(|d| all_bus(d, |run| put(&mut run.gauge, Size::Awg(x as i8)))),
        &[(19.0, Verify), (18.0, Met), (16.0, Met), (15.0, Verify)],
    ),
    limit(
        "bus-conductor-count",
        "conductors: 2",
        PROFILE,
        |x| changed(|d| put(&mut d.runs[BUS2].conductors, x as u8)),
        &[(1.0, Fix), (2.0, Met), (3.0, Verify)],
    ),
    limit(
        "bus-shield-grounds",
        "grounded points: 1",
        PROFILE,
        |x| {
            let first = match x as usize {
                0 => ShieldGround::Nowhere,
                1 => ShieldGround::OutdoorEnd,
                _ => ShieldGround::BothEnds,
            };
            let rest = ShieldGround::Nowhere;
            changed(|d| shielded(d, [first, rest.clone(), rest]))
        },
        &[(0.0, Fix), (1.0, Met), (2.0, Fix)],
    ),
    limit(
        "bus-too-many-units",
        "most units by the outdoor unit's row, with 3 on the system",
        "the schedule itself",
        |x| changed(|d| put(&mut d.units[OU].most_units, x as u32)),
        &[(2.0, Fix), (3.0, Met), (4.0, Met)],
    ),
    limit(
        "nameplate-off-table",
        "capacity of 48 MBH in the table, within 2 % of the larger: 47.04 to 48.98",
        "common practice, no source: what rounding between units of measure makes",
        |x| changed(|d| put(&mut d.units[OU].capacity, Mbh(x))),
        &[(47.0, Verify), (47.1, Met), (48.9, Met), (49.0, Verify)],
    ),
    limit(
        "capacity-ratio",
        "indoor MBH on 48 MBH: 50 % = 24, 130 % = 62.4",
        PROFILE,
        |x| changed(|d| put(&mut d.units[AH].capacity, Mbh(x - 24.0))),
        &[(24.1, Met), (62.3, Met), (62.4, Met), (62.5, Verify)],
    ),
    limit(
        "capacity-ratio",
        "outdoor MBH over 48 MBH indoors: 50 % = 96",
        PROFILE,
        |x| changed(|d| put(&mut d.units[OU].capacity, Mbh(x))),
        &[(95.9, Met), (96.0, Met), (96.1, Verify)],
    ),
    limit(
        "controller-not-home-run",
        "units of a declared group: 8",
        "public manuals, 8 in one: a value of the profile",
        |x| group(x as usize),
        &[(7.0, Verify), (8.0, Verify), (9.0, Fix)],
    ),
    limit(
        "controller-not-home-run",
        "units that one controller is wired to, no group declared: 1",
        "common practice, no source",
        |x| {
            let mut job = house();
            for tag in ["FC-2", "AH-1"].into_iter().take(x as usize - 1) {
                job.run("T-1", tag, |_, _| {});
            }
            job.draft
        },
        &[(1.0, Met), (2.0, Fix), (3.0, Fix)],
    ),
    limit(
        "controller-over-length",
        "1,640 ft (500 m)",
        MANUAL,
        |x| changed(|d| put(&mut d.runs[STAT1].length, Feet(x))),
        &[(1639.9, Met), (1640.0, Met), (1640.1, Fix)],
    ),
    limit(
        "controller-wire",
        "18 AWG (a smaller number is a thicker wire)",
        "common practice, no source",
        |x| changed(|d| put(&mut d.runs[STAT1].gauge, Size::Awg(x as i8))),
        &[(20.0, Met), (18.0, Met), (16.0, Note)],
    ),
    limit(
        "powered-before-charge",
        "day of power-on, charged on the 4th",
        "common practice, no source",
        |x| changed(|d| put(&mut d.facts.power_on, Date::constant(2026, 3, x as i8))),
        &[(3.0, Fix), (4.0, Met), (5.0, Met)],
    ),
];
