//! One fault for each rule, planted in the house, and what is right of those
//! rules for which the house itself has nothing to look at.

use super::house::*;
use crate::schedule::wire::{CableType, Conductor, Routing, ShieldGround, Size, TerminalSide};
use crate::schedule::*;
use jiff::civil::Date;

pub struct Planted {
    pub rule: &'static str,
    pub wrong: fn() -> Draft,
    /// `None`: the house.
    pub right: Option<fn() -> Draft>,
}

impl Planted {
    /// What is right of the rule: the house, where nothing else is said.
    pub fn right(&self) -> Draft {
        self.right.map_or_else(|| house().draft, |right| right())
    }
}

const fn planted(rule: &'static str, wrong: fn() -> Draft) -> Planted {
    Planted {
        rule,
        wrong,
        right: None,
    }
}

const fn beside(rule: &'static str, wrong: fn() -> Draft, right: fn() -> Draft) -> Planted {
    Planted {
        rule,
        wrong,
        right: Some(right),
    }
}

pub fn one(amps: f64) -> NameplateAmps {
    NameplateAmps::One(Amps(amps))
}

pub fn mop(amps: f64, fuses_only: bool) -> Mop {
    Mop {
        amps: one(amps),
        fuses_only,
    }
}

pub fn supply(volts: &[u16], phases: u8) -> Supply {
    Supply {
        volts: volts.to_vec(),
        phases: Some(phases),
    }
}

pub fn slots(numbers: &[u16]) -> Vec<Slot> {
    numbers
        .iter()
        .map(|&number| Slot { number, half: None })
        .collect()
}

fn fault(draft: &mut Draft, text: &str, make: impl FnOnce(CellId) -> Fault) {
    let at = draft.units[FC1].mop.at().expect("a cell");
    draft.sources.keep_text(at, text);
    let fault = make(at);
    draft.faults.push(fault);
}

/// Every bus run of the house.
pub fn all_bus(draft: &mut Draft, change: impl Fn(&mut Run)) {
    for index in [BUS1, BUS2, BUS3] {
        change(&mut draft.runs[index]);
    }
}

/// The house with the load of every circuit given, on a main of `main`.
pub fn loaded(main: f64) -> Draft {
    changed(|d| {
        put(&mut d.panels[0].main, Amps(main));
        for (index, amps) in LOADS {
            put(&mut d.circuits[index].load_amps, Amps(amps));
        }
    })
}

const LOADS: [(usize, f64); 3] = [(C_OU, 25.4), (C_FC, 1.2), (C_AH, 23.8)];

/// The house on a three-phase panel with three more loads, each on one pole
/// of the slots given.
fn on_three_phases(lone: &[(u16, f64)]) -> Draft {
    let mut job = house();
    put(&mut job.draft.panels[0].supply, three_phase());
    for (index, amps) in LOADS {
        put(&mut job.draft.circuits[index].load_amps, Amps(amps));
    }
    for &(slot, amps) in lone {
        job.circuit("LP", &[slot], &["RANGE"], |c, cells| {
            c.breaker = cells.amps(30.0);
            c.poles = cells.given(1);
            c.load_amps = cells.amps(amps);
        });
    }
    job.draft
}

/// Two apartments of one type, each with the circuit of one unit.
fn apartments(breakers: [f64; 3]) -> Draft {
    let mut job = crate::schedule::fixture::Fixture::new();
    for (door, breaker) in ["101", "102", "103"].into_iter().zip(breakers) {
        job.unit("FC-1", UnitKind::Indoor, |u, cells| {
            u.dwelling = cells.name(door);
            u.dwelling_type = cells.name("A");
        });
        job.circuit("LP", &[1, 3], &["FC-1"], |c, cells| {
            c.dwelling = cells.name(door);
            c.breaker = cells.amps(breaker);
        });
    }
    job.draft
}

/// A further outdoor unit with a system of its own.
fn two_systems(crossing: bool) -> Draft {
    let mut job = house();
    for unit in &mut job.draft.units {
        unit.system = Field::given(Name::new("1"), unit.tag.at);
    }
    for (tag, kind) in [("OU-2", UnitKind::Outdoor), ("FC-5", UnitKind::Indoor)] {
        job.unit(tag, kind, |u, cells| u.system = cells.name("2"));
    }
    job.run("OU-2", "FC-5", |_, _| {});
    if crossing {
        job.run("FC-5", "FC-1", |_, _| {});
    }
    job.draft
}

fn first_bus_end(draft: &mut Draft, run: usize, to: &str) {
    put(&mut draft.runs[run].to, Name::new(to));
}

pub fn shielded(draft: &mut Draft, grounds: [ShieldGround; 3]) {
    for (index, ground) in [BUS1, BUS2, BUS3].into_iter().zip(grounds) {
        let run = &mut draft.runs[index];
        put(&mut run.shielded, true);
        put(&mut run.routing, Routing::Parallel);
        put(&mut run.shield_ground, ground);
    }
}

/// Each fan coil on a circuit of its own.
pub fn apart() -> Draft {
    let mut job = house();
    job.draft.circuits[C_FC].loads.pop();
    job.circuit("LP", &[10, 12], &["FC-2"], |c, cells| {
        c.breaker = cells.amps(15.0);
        c.poles = cells.given(2);
        c.conductor = cells.given(cable(14, CableType::NmB));
    });
    job.draft
}

pub const PLANTED: &[Planted] = &[
    // reading
    planted("unreadable-value", || {
        changed(|d| {
            fault(d, "l5", |at| Fault::Unreadable {
                at,
                field: FieldName::UnitMop,
                expected: "amperes, as in 30 or 15 A",
                guess: Some("15 A".into()),
            })
        })
    }),
    planted("date-for-wire", || {
        changed(|d| {
            fault(d, "2-Oct", |at| Fault::DateForWire {
                at,
                field: FieldName::CircuitConductor,
                shown: "2-Oct".into(),
                readings: vec!["10/2".into(), "2/10".into()],
                taken: None,
            })
        })
    }),
    planted("unit-of-measure-assumed", || {
        changed(|d| {
            let first = d.runs[BUS1].length.at().expect("a cell");
            let table = &mut d.sources.tables[first.table as usize];
            table.columns.push(ColumnMap {
                column: first.column,
                heading: "Length".into(),
                fields: vec![FieldName::RunLength],
                score: 1.0,
            });
            d.faults.push(Fault::UnitAssumed {
                first,
                field: FieldName::RunLength,
                assumed: "feet",
                cells: 6,
            });
        })
    }),
    planted("required-column-missing", || {
        changed(|d| {
            d.faults.push(Fault::ColumnMissing {
                table: d.runs[0].at.table,
                fields: vec![FieldName::RunFrom, FieldName::RunTo],
            })
        })
    }),
    planted("heading-not-recognised", || {
        changed(|d| {
            d.faults.push(Fault::HeadingNotRecognised {
                table: 0,
                headings: vec![(ColIndex(4), "MCAA".into(), Some("MCA".into()))],
            })
        })
    }),
    planted("duplicate-tag", || {
        let mut job = house();
        job.unit("FC-1", UnitKind::Indoor, |u, cells| {
            u.mca = cells.mca(1.2);
            u.mop = cells.mop(15.0);
        });
        job.draft
    }),
    planted("circuit-disagrees", || {
        let mut job = house();
        job.circuit("LP", &[1, 3], &["OU-1"], |c, cells| {
            c.breaker = cells.amps(40.0)
        });
        for (index, text) in [(C_OU, "50A/2P"), (job.draft.circuits.len() - 1, "40A/2P")] {
            let at = job.draft.circuits[index].breaker.at().expect("a cell");
            job.draft.sources.keep_text(at, text);
        }
        job.draft
    }),
    planted("unknown-tag", || {
        changed(|d| first_bus_end(d, BUS3, "AH-2"))
    }),
    planted("kind-unknown", || {
        changed(|d| d.units[FC2].kind = Field::Blank(None))
    }),
    planted("table-missing", || {
        changed(|d| {
            d.controllers.clear();
            d.runs.truncate(STAT1);
        })
    }),
    // supply
    planted("no-supply-circuit", || {
        changed(|d| {
            d.circuits[C_FC].loads.pop();
        })
    }),
    planted("outdoor-not-dedicated", || {
        changed(|d| {
            let load = d.circuits[C_FC].loads.remove(0);
            d.circuits[C_OU].loads.push(load);
        })
    }),
    planted("unit-on-two-circuits", || {
        changed(|d| {
            let load = d.circuits[C_FC].loads[0].clone();
            d.circuits[C_AH].loads.push(load);
        })
    }),
    planted("supply-voltage-mismatch", || {
        changed(|d| put(&mut d.units[FC1].supply, supply(&[460], 1)))
    }),
    planted("phase-mismatch", || {
        changed(|d| put(&mut d.units[OU].supply, supply(&[208, 230], 3)))
    }),
    planted("poles-mismatch", || {
        changed(|d| {
            put(&mut d.circuits[C_OU].poles, 1);
            put(&mut d.circuits[C_OU].slots, slots(&[1]));
        })
    }),
    planted("slot-taken-twice", || {
        changed(|d| put(&mut d.circuits[C_AH].slots, slots(&[4, 6])))
    }),
    beside("panel-overloaded", || loaded(40.0), || loaded(125.0)),
    beside(
        "supply-imbalance",
        || on_three_phases(&[(13, 20.0), (14, 20.0), (19, 20.0)]),
        // 1, 3 on A and B; 2, 4 on A and B; 6, 8 on C and A; 5 and 10 on C, B.
        || on_three_phases(&[(5, 25.0), (10, 23.0)]),
    ),
    planted("disconnect-missing", || {
        changed(|d| clear(&mut d.units[OU].disconnect))
    }),
    planted("disconnect-underrated", || {
        changed(|d| put(&mut d.units[OU].disconnect, switch(20.0)))
    }),
    beside(
        "ground-fault-protection",
        || changed(|_| {}),
        || changed(|d| put(&mut d.circuits[C_OU].breaker, Amps(70.0))),
    ),
    // overcurrent
    planted("protection-over-mop", || {
        changed(|d| put(&mut d.circuits[C_OU].breaker, Amps(60.0)))
    }),
    planted("protection-under-mca", || {
        changed(|d| put(&mut d.circuits[C_OU].breaker, Amps(30.0)))
    }),
    planted("protection-below-mop", || {
        changed(|d| put(&mut d.circuits[C_OU].breaker, Amps(40.0)))
    }),
    beside(
        "fuse-carries-limit",
        || {
            changed(|d| {
                put(&mut d.circuits[C_OU].breaker, Amps(60.0));
                put(&mut d.circuits[C_OU].fuse, Amps(50.0));
            })
        },
        || changed(|d| put(&mut d.circuits[C_OU].fuse, Amps(50.0))),
    ),
    beside(
        "fuse-required",
        || changed(|d| put(&mut d.units[OU].mop, mop(50.0, true))),
        || {
            changed(|d| {
                put(&mut d.units[OU].mop, mop(50.0, true));
                put(&mut d.circuits[C_OU].fuse, Amps(50.0));
            })
        },
    ),
    planted("rating-not-standard", || {
        changed(|d| put(&mut d.circuits[C_OU].breaker, Amps(55.0)))
    }),
    planted("mop-below-mca", || {
        changed(|d| put(&mut d.units[OU].mop, mop(25.0, false)))
    }),
    planted("nameplate-missing", || {
        changed(|d| clear(&mut d.units[FC2].mca))
    }),
    planted("nameplate-disagrees", || {
        changed(|d| put(&mut d.units[OU].mca, one(21.4)))
    }),
    planted("mop-not-standard", || {
        changed(|d| {
            put(&mut d.units[OU].mop, mop(47.0, false));
            put(&mut d.circuits[C_OU].breaker, Amps(45.0));
        })
    }),
    planted("nameplate-off-table", || {
        changed(|d| put(&mut d.units[OU].mca, one(29.4)))
    }),
    // sharing
    planted("shared-over-capacity", || {
        changed(|d| {
            for index in [FC1, FC2] {
                put(&mut d.units[index].fla, Amps(7.0));
            }
        })
    }),
    planted("shared-rating-too-large", || {
        changed(|d| put(&mut d.circuits[C_FC].breaker, Amps(20.0)))
    }),
    planted("shared-with-strip-heat", || {
        changed(|d| {
            let load = d.circuits[C_FC].loads.remove(0);
            d.circuits[C_AH].loads.push(load);
        })
    }),
    planted("shared-outside-dwelling", || {
        changed(|d| put(&mut d.facts.customer, CustomerType::Commercial))
    }),
    planted("shared-mixed-voltage", || {
        changed(|d| put(&mut d.units[FC2].supply, supply(&[115], 1)))
    }),
    planted("shared-motor-over-limit", || {
        changed(|d| put(&mut d.units[FC1].fla, Amps(6.5)))
    }),
    planted("sharing-possible", apart),
    // strip-heat
    planted("strip-heat-circuit-small", || {
        changed(|d| {
            put(&mut d.circuits[C_AH].breaker, Amps(25.0));
            clear(&mut d.units[AH].mca);
            clear(&mut d.units[AH].mop);
        })
    }),
    planted("strip-heat-not-subdivided", || {
        changed(|d| {
            put(&mut d.units[AH].heat_kw, Kilowatts(15.0));
            put(&mut d.units[AH].mca, one(81.9));
            put(&mut d.units[AH].mop, mop(90.0, false));
            put(&mut d.circuits[C_AH].breaker, Amps(90.0));
            put(&mut d.circuits[C_AH].conductor, thhn(3, 8));
        })
    }),
    planted("strip-heat-voltage", || {
        changed(|d| {
            put(
                &mut d.panels[0].supply,
                PanelSupply {
                    line_to_line: Volts(208.0),
                    line_to_neutral: Some(Volts(120.0)),
                    phases: Some(1),
                },
            )
        })
    }),
    // conductor
    planted("conductor-under-mca", || {
        changed(|d| put(&mut d.circuits[C_OU].conductor, thhn(12, 12)))
    }),
    planted("conductor-under-protection", || {
        changed(|d| {
            put(&mut d.circuits[C_AH].conductor, thhn(12, 12));
            put(&mut d.units[AH].mca, one(23.0));
            put(&mut d.units[AH].heat_kw, Kilowatts(3.6));
        })
    }),
    planted("conductor-too-small", || {
        changed(|d| put(&mut d.circuits[C_FC].conductor, cable(16, CableType::NmB)))
    }),
    planted("grounding-conductor-small", || {
        changed(|d| put(&mut d.circuits[C_OU].conductor, thhn(10, 14)))
    }),
    planted("grounding-conductor-missing", || {
        changed(|d| {
            let bare = Conductor {
                ground: None,
                ..thhn(10, 10)
            };
            put(&mut d.circuits[C_OU].conductor, bare);
        })
    }),
    planted("conductor-count", || {
        changed(|d| {
            let lone = Conductor {
                count: Some(1),
                ..thhn(10, 10)
            };
            put(&mut d.circuits[C_OU].conductor, lone);
        })
    }),
    planted("voltage-drop", || {
        changed(|d| put(&mut d.circuits[C_OU].length, Feet(300.0)))
    }),
    planted("conductor-heavier-than-needed", || {
        changed(|d| put(&mut d.circuits[C_OU].conductor, thhn(4, 8)))
    }),
    planted("cable-type-outdoors", || {
        changed(|d| put(&mut d.circuits[C_OU].conductor, cable(8, CableType::NmB)))
    }),
    // bus
    planted("bus-branches", || {
        changed(|d| put(&mut d.runs[BUS3].from, Name::new("FC-1")))
    }),
    planted("bus-closes-on-itself", || {
        let mut job = house();
        job.run("AH-1", "OU-1", |_, _| {});
        job.draft
    }),
    planted("bus-broken", || {
        changed(|d| {
            d.runs.remove(BUS3);
        })
    }),
    planted("bus-not-from-outdoor", || {
        changed(|d| put(&mut d.runs[BUS3].from, Name::new("OU-1")))
    }),
    planted("bus-run-repeated", || {
        let mut job = house();
        job.run("FC-2", "FC-1", |_, _| {});
        job.draft
    }),
    beside(
        "bus-crosses-systems",
        || two_systems(true),
        || two_systems(false),
    ),
    planted("bus-wrong-side", || {
        changed(|d| put(&mut d.runs[BUS1].side, TerminalSide::Central))
    }),
    planted("bus-splice", || {
        changed(|d| put(&mut d.runs[BUS2].splices, 1))
    }),
    planted("bus-over-length", || {
        changed(|d| all_bus(d, |run| put(&mut run.length, Feet(2100.0))))
    }),
    planted("bus-near-length", || {
        changed(|d| all_bus(d, |run| put(&mut run.length, Feet(1900.0))))
    }),
    planted("bus-farthest-over-length", || {
        changed(|d| all_bus(d, |run| put(&mut run.length, Feet(500.0))))
    }),
    planted("bus-gauge", || {
        changed(|d| put(&mut d.runs[BUS2].gauge, Size::Awg(22)))
    }),
    planted("bus-conductor-count", || {
        changed(|d| put(&mut d.runs[BUS2].conductors, 1))
    }),
    planted("bus-solid-wire", || {
        changed(|d| put(&mut d.runs[BUS2].stranded, false))
    }),
    planted("low-voltage-with-power", || {
        changed(|d| put(&mut d.runs[BUS2].routing, Routing::SameRaceway))
    }),
    planted("bus-near-power-unshielded", || {
        changed(|d| put(&mut d.runs[BUS2].routing, Routing::Tied))
    }),
    planted("bus-shield-needless", || {
        changed(|d| all_bus(d, |run| put(&mut run.shielded, true)))
    }),
    planted("bus-shield-broken", || {
        changed(|d| put(&mut d.runs[BUS2].shielded, true))
    }),
    beside(
        "bus-shield-grounds",
        || {
            changed(|d| {
                shielded(
                    d,
                    [
                        ShieldGround::BothEnds,
                        ShieldGround::Nowhere,
                        ShieldGround::Nowhere,
                    ],
                )
            })
        },
        || {
            changed(|d| {
                shielded(
                    d,
                    [
                        ShieldGround::OutdoorEnd,
                        ShieldGround::OutdoorEnd,
                        ShieldGround::OutdoorEnd,
                    ],
                )
            })
        },
    ),
    planted("bus-too-many-units", || {
        changed(|d| put(&mut d.units[OU].most_units, 2))
    }),
    planted("bus-length-missing", || {
        changed(|d| clear(&mut d.runs[BUS2].length))
    }),
    planted("capacity-ratio", || {
        changed(|d| put(&mut d.units[OU].capacity, Mbh(24.0)))
    }),
    // controller
    planted("controller-missing", || {
        changed(|d| {
            d.controllers.remove(1);
            d.runs.remove(STAT2);
        })
    }),
    planted("controller-not-home-run", || {
        let mut job = house();
        job.run("T-1", "FC-2", |_, _| {});
        job.draft
    }),
    planted("controller-idle", || {
        let mut job = house();
        job.controller("T-9", &[], |c, cells| {
            c.wireless = cells.given(false);
        });
        job.draft
    }),
    planted("controller-over-length", || {
        changed(|d| put(&mut d.runs[STAT1].length, Feet(1700.0)))
    }),
    planted("controller-wire", || {
        changed(|d| put(&mut d.runs[STAT1].gauge, Size::Awg(16)))
    }),
    planted("controller-elsewhere", || {
        changed(|d| put(&mut d.controllers[0].room, "Study".to_owned()))
    }),
    beside(
        "interlock-stops-all",
        || {
            changed(|d| {
                put(
                    &mut d.units[FC1].interlock,
                    "float switch on external stop".to_owned(),
                )
            })
        },
        || {
            changed(|d| {
                put(
                    &mut d.units[FC1].interlock,
                    "built-in pump alarm".to_owned(),
                )
            })
        },
    ),
    // sequence, twins
    planted("powered-before-charge", || {
        changed(|d| put(&mut d.facts.power_on, Date::constant(2026, 3, 3)))
    }),
    beside(
        "twin-units-differ",
        || apartments([15.0, 15.0, 20.0]),
        || apartments([15.0; 3]),
    ),
];

/// What a wrong schedule needs besides the defaults: limits that act only
/// where a profile sets them.
pub fn practice(rule: &str) -> crate::practice::Practice {
    let mut practice = crate::practice::Practice::default();
    if rule == "bus-farthest-over-length" {
        practice.bus.farthest = Some(Feet(1312.0));
    }
    if rule == "nameplate-off-table" {
        let listed = house().build();
        let origin = |_: &Unit| "nameplates.csv, row 2".to_owned();
        practice.nameplates =
            crate::practice::Nameplates::of(&listed, &origin).expect("models with values");
    }
    practice
}
