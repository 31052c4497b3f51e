//! Generated jobs of an invented scenario: right as they stand, and faults
//! of every family to be planted in them.

use crate::schedule::fixture::Fixture;
use crate::schedule::wire::{
    CableType, Conductor, Grounding, Routing, RunPurpose, ShieldGround, Size, TerminalSide,
};
use crate::schedule::{
    Amps, CustomerType, Disconnect, Draft, Feet, Field, Kilowatts, Load, Mop, Name, NameplateAmps,
    PanelSupply, Part, Slot, Supply, UnitKind, Volts,
};
use jiff::civil::Date;

/// A sequence of numbers from a seed (SplitMix64, from memory).
pub struct Dice(pub u64);

impl Dice {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    pub fn below(&mut self, most: usize) -> usize {
        (self.next() % most.max(1) as u64) as usize
    }

    pub fn one_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }

    fn of<T: Copy>(&mut self, values: &[T]) -> T {
        values[self.below(values.len())]
    }
}

/// Nameplates that a standard rating satisfies: MCA, MOP, and the copper
/// conductor at 75 °C.
const OUTDOOR: [(f64, f64, i8); 5] = [
    (18.2, 30.0, 12),
    (24.0, 35.0, 12),
    (31.4, 50.0, 10),
    (26.5, 40.0, 10),
    (44.0, 60.0, 8),
];

fn wire(size: i8, ground: i8, cable: Option<CableType>) -> Conductor {
    Conductor {
        size: Some(Size::Awg(size)),
        count: Some(2),
        sets: 1,
        ground: Some(Grounding::Sized {
            size: Size::Awg(ground),
            material: None,
        }),
        cable,
        is_cable: cable.is_some(),
        ..Conductor::default()
    }
}

/// A job without a fault.
pub fn right(dice: &mut Dice) -> Draft {
    let mut job = Fixture::new();
    let three_phase = dice.one_in(2);
    let customer = dice.of(&[
        CustomerType::Dwelling,
        CustomerType::Dwelling,
        CustomerType::Commercial,
    ]);
    job.facts(|facts, cells| {
        facts.customer = cells.given(customer);
        let day = |day| Date::constant(2026, 3, day);
        facts.pressure_test = cells.given(day(2));
        facts.charge = cells.given(day(4));
        facts.power_on = cells.given(day(5));
    });
    job.panel("LP", |panel, cells| {
        let volts = if three_phase { 208.0 } else { 240.0 };
        panel.supply = cells.given(PanelSupply {
            line_to_line: Volts(volts),
            line_to_neutral: Some(Volts(120.0)),
            phases: Some(if three_phase { 3 } else { 1 }),
        });
    });
    let shielded = dice.one_in(4);
    let mut slot = 1_u16;
    let mut indoor = 0;
    for system in 1..=1 + dice.below(3) {
        add_system(
            &mut job,
            dice,
            system,
            (shielded, customer.is_dwelling()),
            (&mut slot, &mut indoor),
        );
    }
    // Spaces, by the slot or for a breaker of two poles, on either side.
    for _ in 0..dice.below(5) {
        let [first, second] = take(&mut slot);
        match dice.below(4) {
            0 => {
                job.circuit("LP", &[first, second], &["SPACE"], |_, _| {});
            }
            1 => {
                job.circuit("LP", &[first], &["SPACE"], |_, _| {});
            }
            side => {
                let even = u16::from(side == 2);
                for slot in [first + even, second + even] {
                    job.circuit("LP", &[slot], &["SPACE"], |_, _| {});
                }
            }
        }
    }
    std::mem::take(&mut job.draft)
}

fn take(slot: &mut u16) -> [u16; 2] {
    let first = *slot;
    // Odd slots first, two at a time; then the even side follows.
    *slot += 4;
    [first, first + 2]
}

fn add_system(
    job: &mut Fixture,
    dice: &mut Dice,
    system: usize,
    (shielded, dwelling): (bool, bool),
    (slot, indoor): (&mut u16, &mut usize),
) {
    let outdoor = format!("OU-{system}");
    let (mca, mop, size) = dice.of(&OUTDOOR);
    let with_disconnect = dice.one_in(2);
    job.unit(&outdoor, UnitKind::Outdoor, |u, cells| {
        u.system = cells.name(&format!("S-{system}"));
        u.mca = cells.mca(mca);
        u.mop = cells.mop(mop);
        u.supply = cells.supply(&[208, 230], 1);
        u.disconnect = if with_disconnect {
            cells.given(Disconnect {
                amps: Some(Amps(60.0)),
                fused: Some(false),
                fuse: None,
            })
        } else {
            cells.blank()
        };
    });
    let slots = take(slot);
    job.circuit("LP", &slots, &[&outdoor], |c, cells| {
        c.breaker = cells.amps(mop);
        c.poles = cells.given(2);
        c.conductor = cells.given(wire(size, 10, None));
        c.length = cells.given(Feet(60.0));
    });
    let mut before = outdoor.clone();
    let mut shared: Vec<String> = Vec::new();
    for _ in 0..1 + dice.below(6) {
        *indoor += 1;
        let tag = format!("FC-{indoor}");
        let heat = dice.one_in(5);
        add_indoor(job, dice, system, &tag, heat);
        if heat {
            let slots = take(slot);
            job.circuit("LP", &slots, &[&tag], |c, cells| {
                c.breaker = cells.amps(40.0);
                c.poles = cells.given(2);
                c.conductor = cells.given(wire(8, 10, None));
                c.length = cells.given(Feet(45.0));
            });
        } else if dwelling && dice.one_in(2) {
            shared.push(tag.clone());
        } else {
            indoor_circuit(job, &take(slot), &[&tag]);
        }
        let feet = 20.0 + dice.below(80) as f64;
        job.run(&before, &tag, |run, cells| {
            run.system = cells.name(&format!("S-{system}"));
            run.purpose = cells.given(RunPurpose::Bus);
            run.side = cells.given(TerminalSide::Indoor);
            run.gauge = cells.given(Size::Awg(18));
            run.conductors = cells.given(2);
            run.stranded = cells.given(true);
            run.shielded = cells.given(shielded);
            run.shield_ground = if shielded {
                cells.given(ShieldGround::OutdoorEnd)
            } else {
                cells.blank()
            };
            run.routing = cells.given(Routing::Apart);
            run.length = cells.given(Feet(feet));
        });
        let stat = format!("T-{indoor}");
        let room = format!("Room {indoor}");
        job.controller(&stat, &[&tag], |c, cells| c.room = cells.given(room));
        job.run(&stat, &tag, |run, cells| {
            run.purpose = cells.given(RunPurpose::Controller);
            run.gauge = cells.given(Size::Awg(18));
            run.conductors = cells.given(2);
            run.routing = cells.given(Routing::Apart);
            run.length = cells.given(Feet(25.0));
        });
        before = tag;
    }
    if !shared.is_empty() {
        let tags: Vec<&str> = shared.iter().map(String::as_str).collect();
        indoor_circuit(job, &take(slot), &tags);
    }
}

fn add_indoor(job: &mut Fixture, dice: &mut Dice, system: usize, tag: &str, heat: bool) {
    let kind = if heat {
        UnitKind::AirHandler
    } else {
        UnitKind::Indoor
    };
    let mca = dice.of(&[0.6, 0.9, 1.4, 2.0]);
    let room = format!("Room {}", tag.trim_start_matches("FC-"));
    let with_disconnect = dice.one_in(3);
    job.unit(tag, kind, |u, cells| {
        u.system = cells.name(&format!("S-{system}"));
        u.mca = cells.mca(if heat { 35.0 } else { mca });
        u.mop = cells.mop(if heat { 40.0 } else { 15.0 });
        u.supply = cells.supply(&[208, 230], 1);
        u.room = cells.given(room);
        u.heat_kw = if heat {
            cells.given(Kilowatts(5.0))
        } else {
            cells.blank()
        };
        if with_disconnect {
            u.disconnect = cells.given(Disconnect {
                amps: Some(Amps(60.0)),
                fused: Some(false),
                fuse: None,
            });
        }
    });
}

fn indoor_circuit(job: &mut Fixture, slots: &[u16], tags: &[&str]) {
    job.circuit("LP", slots, tags, |c, cells| {
        c.breaker = cells.amps(15.0);
        c.poles = cells.given(2);
        c.conductor = cells.given(wire(14, 14, Some(CableType::NmB)));
        c.length = cells.given(Feet(70.0));
    });
}

/// The faults that [`plant`] knows.
pub const FAULTS: usize = 46;
/// The faults after which a fact is wanting.
pub const MISSING: std::ops::Range<usize> = 38..44;

fn set<T>(field: &mut Field<T>, value: T, at: crate::schedule::CellId) {
    *field = Field::given(value, field.at().unwrap_or(at));
}

/// Plants fault `n` somewhere; nothing where the job has no place for it.
pub fn plant(n: usize, job: &mut Draft, dice: &mut Dice) {
    if !(20..MISSING.end).contains(&n) {
        plant_power(n, job, dice);
    } else {
        plant_low_voltage(n, job, dice);
    }
}

fn plant_power(n: usize, job: &mut Draft, dice: &mut Dice) {
    if job.circuits.is_empty() {
        return;
    }
    // What is no load has no nameplate that could decide.
    let is_space = |c: &crate::schedule::Circuit| c.loads.iter().all(|l| l.text.value == "SPACE");
    let fed: Vec<usize> = (0..job.circuits.len())
        .filter(|&at| !is_space(&job.circuits[at]))
        .collect();
    if fed.is_empty() {
        return;
    }
    let (at, other) = (dice.of(&fed), dice.of(&fed));
    let unit = dice.below(job.units.len());
    let tag = job.units[unit].tag.value.text().to_owned();
    let moved = job.circuits[other].loads.clone();
    let slots = job.circuits[other].slots.clone();
    let circuit = &mut job.circuits[at];
    let cell = circuit.at;
    match n {
        0 => set(
            &mut circuit.breaker,
            Amps(dice.of(&[50.0, 70.0, 90.0])),
            cell,
        ),
        1 => set(&mut circuit.breaker, Amps(15.0), cell),
        2 | 3 => {
            if let Field::Given(wire) = &mut circuit.conductor {
                wire.value.size = Some(Size::Awg(if n == 2 { 16 } else { 14 }));
            }
        }
        4 => {
            if let Field::Given(wire) = &mut circuit.conductor {
                wire.value.ground = Some(Grounding::Sized {
                    size: Size::Awg(18),
                    material: None,
                });
            }
        }
        5 => {
            if let Field::Given(wire) = &mut circuit.conductor {
                wire.value.count = Some(1);
            }
        }
        6 => set(&mut circuit.poles, dice.of(&[1, 3]), cell),
        7 => {
            job.circuits.remove(at);
        }
        8 | 9 => {
            // Units of one circuit also, or only, on another.
            let load_cell = circuit.loads.first().map_or(cell, |load| load.text.at);
            for mut load in moved {
                load.text.at = load_cell;
                if !circuit.loads.contains(&load) {
                    circuit.loads.push(load);
                }
            }
            if n == 9 && at != other {
                job.circuits.remove(other);
            }
        }
        10 => circuit.loads.push(Load::new("RANGE", Part::Whole, cell)),
        11 => {
            if let Some(slots) = slots.get() {
                circuit.slots = Field::given(slots.clone(), circuit.slots.at().unwrap_or(cell));
                circuit.slots = circuit.slots.clone().map(|mut slots: Vec<Slot>| {
                    slots.truncate(1);
                    slots
                });
            }
        }
        12 => {
            let unit = &mut job.units[unit];
            let small = Disconnect {
                amps: Some(Amps(10.0)),
                fused: None,
                fuse: None,
            };
            set(&mut unit.disconnect, small, unit.tag.at);
        }
        13 => {
            let plate = Supply {
                volts: vec![dice.of(&[115, 460])],
                phases: Some(1),
            };
            let unit = &mut job.units[unit];
            if !unit.has_strip_heat() {
                set(&mut unit.supply, plate, unit.tag.at);
            }
        }
        14 => set(&mut circuit.fuse, Amps(dice.of(&[10.0, 60.0])), cell),
        15 => {
            let unit = &mut job.units[unit];
            if let Field::Given(mop) = &mut unit.mop {
                mop.value.fuses_only = true;
            }
        }
        16 => {
            let unit = &mut job.units[unit];
            if unit.kind() == Some(UnitKind::Indoor) {
                let at = unit.tag.at;
                set(&mut unit.mca, NameplateAmps::One(Amps(9.0)), at);
            }
        }
        17 => {
            let mut again = circuit.clone();
            again.at.row.0 += 1000;
            let at = again.at;
            set(&mut again.breaker, Amps(25.0), at);
            again.breaker = Field::given(Amps(25.0), at);
            job.circuits.push(again);
        }
        18 => circuit.loads.push(Load::new(&tag, Part::Whole, cell)),
        44 => {
            // On a panel of one phase, in every second job.
            let plate = Supply {
                volts: vec![208, 230],
                phases: Some(3),
            };
            let unit = &mut job.units[unit];
            if !unit.has_strip_heat() {
                set(&mut unit.supply, plate, unit.tag.at);
            }
        }
        45 => {
            // Circuits bound no run of the bus any more.
            job.circuits
                .iter_mut()
                .for_each(|circuit| circuit.length = Field::Blank(circuit.length.at()));
        }
        _ => {
            let unit = &mut job.units[unit];
            if unit.kind() == Some(UnitKind::Indoor) {
                let at = unit.tag.at;
                set(&mut unit.heat_kw, Kilowatts(5.0), at);
                set(&mut unit.mca, NameplateAmps::One(Amps(33.0)), at);
                set(&mut unit.mop, fused(45.0), at);
            }
        }
    }
}

fn fused(amps: f64) -> Mop {
    Mop {
        amps: NameplateAmps::One(Amps(amps)),
        fuses_only: false,
    }
}

fn plant_low_voltage(n: usize, job: &mut Draft, dice: &mut Dice) {
    let is_bus = |run: &crate::schedule::Run| run.purpose.copied() == Some(RunPurpose::Bus);
    let bus: Vec<usize> = (0..job.runs.len())
        .filter(|&r| is_bus(&job.runs[r]))
        .collect();
    let home: Vec<usize> = (0..job.runs.len())
        .filter(|&r| !is_bus(&job.runs[r]))
        .collect();
    if bus.is_empty() || home.is_empty() || job.controllers.is_empty() {
        return;
    }
    let (run, second, stat) = (dice.of(&bus), dice.of(&bus), dice.of(&home));
    let unit = dice.below(job.units.len());
    let tag = job.units[unit].tag.value.clone();
    let (from, to) = (job.runs[second].from.clone(), job.runs[second].to.clone());
    let controller = dice.below(job.controllers.len());
    let cell = job.runs[run].at;
    let name = |field: &mut Field<Name>, name: &Name| {
        set(field, name.clone(), cell);
    };
    match n {
        20 => name(&mut job.runs[run].from, &Name::new("OU-1")),
        21 | 22 => {
            let mut again = job.runs[run].clone();
            again.at.row.0 += 1000;
            if n == 21 {
                name(&mut again.from, to.get().unwrap_or(&tag));
            }
            job.runs.push(again);
        }
        23 => {
            job.runs.remove(run);
        }
        24 => name(&mut job.runs[run].to, from.get().unwrap_or(&tag)),
        25 => set(&mut job.runs[run].conductors, 1, cell),
        26 => set(&mut job.runs[run].routing, Routing::SameRaceway, cell),
        27 => set(&mut job.runs[run].routing, Routing::Tied, cell),
        28 => set(&mut job.runs[run].shielded, true, cell),
        29 => set(
            &mut job.runs[run].shield_ground,
            ShieldGround::BothEnds,
            cell,
        ),
        30 => set(&mut job.runs[run].side, TerminalSide::Central, cell),
        31 => set(&mut job.runs[run].length, Feet(9000.0), cell),
        32 => {
            job.controllers.remove(controller);
        }
        33 => {
            let row = &mut job.controllers[controller];
            let at = row.units.first().map_or(row.tag.at, |name| name.at);
            row.units.push(crate::schedule::Located::new(tag, at));
        }
        34 => name(&mut job.runs[stat].to, &Name::new("OU-1")),
        35 => name(&mut job.runs[stat].to, &Name::new("T-1")),
        36 => set(&mut job.runs[stat].length, Feet(2000.0), cell),
        37 => {
            let at = job.facts.power_on.at().unwrap_or(cell);
            job.facts.power_on = Field::given(Date::constant(2026, 3, 1), at);
        }
        38 => name(&mut job.runs[run].to, &Name::new("FC-99")),
        39 => {
            if let Some(name) = job.controllers[controller].units.first_mut() {
                name.value = Name::new("FC-77");
            }
        }
        40 => {
            // MCA and MOP swapped.
            let unit = &mut job.units[unit];
            let at = unit.tag.at;
            if let (Some(mca), Some(mop)) = (unit.mca.copied(), unit.mop.copied()) {
                set(&mut unit.mca, mop.amps, at);
                set(&mut unit.mop, fused(mca.smallest().0), at);
            }
        }
        41 => job.units[unit].mca = Field::Blank(job.units[unit].mca.at()),
        42 => {
            let mut again = job.units[unit].clone();
            again.tag.at.row.0 += 1000;
            set(&mut again.mca, NameplateAmps::One(Amps(77.0)), again.tag.at);
            job.units.push(again);
        }
        _ => job.runs[run].length = Field::Unknown(job.runs[run].length.at().unwrap_or(cell)),
    }
}
