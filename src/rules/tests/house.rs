//! An invented house of one system, right in everything: what each rule is
//! shown, with one thing changed.

use crate::schedule::fixture::{Cells, Fixture};
use crate::schedule::wire::{
    CableType, Conductor, Grounding, Insulation, Routing, Size, TerminalSide,
};
use crate::schedule::{
    Amps, Celsius, Circuit, CustomerType, Disconnect, Draft, Feet, Field, Kilowatts, Mbh,
    PanelSupply, Run, Unit, UnitKind, UnitPlace, Volts,
};
use jiff::civil::Date;

/// Units in the order of the equipment.
pub const OU: usize = 0;
pub const FC1: usize = 1;
pub const FC2: usize = 2;
pub const AH: usize = 3;
/// Circuits: the outdoor unit's, that of the two fan coils, the air
/// handler's.
pub const C_OU: usize = 0;
pub const C_FC: usize = 1;
pub const C_AH: usize = 2;
/// Runs: the bus, then the controllers.
pub const BUS1: usize = 0;
pub const BUS2: usize = 1;
pub const BUS3: usize = 2;
pub const STAT1: usize = 3;
pub const STAT2: usize = 4;

pub fn split_phase() -> PanelSupply {
    PanelSupply {
        line_to_line: Volts(240.0),
        line_to_neutral: Some(Volts(120.0)),
        phases: Some(1),
    }
}

pub fn three_phase() -> PanelSupply {
    PanelSupply {
        line_to_line: Volts(208.0),
        line_to_neutral: Some(Volts(120.0)),
        phases: Some(3),
    }
}

pub fn thhn(size: i8, ground: i8) -> Conductor {
    Conductor {
        size: Some(Size::Awg(size)),
        count: Some(2),
        sets: 1,
        ground: Some(Grounding::Sized {
            size: Size::Awg(ground),
            material: None,
        }),
        insulation: Some(Insulation::ThhnThwn2),
        ..Conductor::default()
    }
}

pub fn cable(size: i8, kind: CableType) -> Conductor {
    Conductor {
        size: Some(Size::Awg(size)),
        count: Some(2),
        sets: 1,
        ground: Some(Grounding::Unsized),
        cable: Some(kind),
        is_cable: true,
        ..Conductor::default()
    }
}

pub fn switch(amps: f64) -> Disconnect {
    Disconnect {
        amps: Some(Amps(amps)),
        fused: Some(false),
        fuse: None,
    }
}

/// Writes a value into a cell that stays where it is.
pub fn put<T>(field: &mut Field<T>, value: T) {
    let at = field.at().expect("the house has that cell");
    *field = Field::given(value, at);
}

/// Empties a cell.
pub fn clear<T>(field: &mut Field<T>) {
    *field = Field::Blank(field.at());
}

fn fan_coil(u: &mut Unit, cells: &mut Cells, room: &str) {
    u.mca = cells.mca(0.8);
    u.mop = cells.mop(15.0);
    u.fla = cells.amps(0.6);
    u.supply = cells.supply(&[208, 230], 1);
    u.capacity = cells.given(Mbh(12.0));
    u.place = cells.given(UnitPlace::Indoors);
    u.room = cells.given(room.to_owned());
    u.horsepower = cells.blank();
    u.interlock = cells.blank();
    u.model = cells.given("INVENTED 12".to_owned());
    u.disconnect = cells.given(switch(30.0));
    u.fuse = cells.blank();
}

fn circuit(c: &mut Circuit, cells: &mut Cells, amps: f64, conductor: Conductor, feet: f64) {
    c.breaker = cells.amps(amps);
    c.poles = cells.given(2);
    c.conductor = cells.given(conductor);
    c.terminals = cells.given(Celsius(75.0));
    c.length = cells.given(Feet(feet));
    c.ambient = cells.blank();
    c.in_raceway = cells.blank();
    c.load_amps = cells.blank();
    c.fuse = cells.blank();
    c.name = cells.blank();
}

fn low_voltage(run: &mut Run, cells: &mut Cells, feet: f64) {
    run.gauge = cells.given(Size::Awg(18));
    run.conductors = cells.given(2);
    run.stranded = cells.given(true);
    run.shielded = cells.given(false);
    run.shield_ground = cells.blank();
    run.splices = cells.given(0);
    run.routing = cells.given(Routing::Apart);
    run.length = cells.given(Feet(feet));
    run.purpose = cells.blank();
    run.side = cells.blank();
}

pub fn house() -> Fixture {
    let mut job = Fixture::new();
    job.facts(|facts, cells| {
        facts.customer = cells.given(CustomerType::Dwelling);
        facts.pressure_test = cells.given(Date::constant(2026, 3, 2));
        facts.charge = cells.given(Date::constant(2026, 3, 4));
        facts.power_on = cells.given(Date::constant(2026, 3, 5));
    });
    equipment(&mut job);
    job.panel("LP", |panel, cells| {
        panel.supply = cells.given(split_phase());
        panel.main = cells.amps(125.0);
        panel.bus = cells.amps(125.0);
    });
    job.circuit("LP", &[1, 3], &["OU-1"], |c, cells| {
        circuit(c, cells, 50.0, thhn(10, 10), 60.0);
    });
    job.circuit("LP", &[2, 4], &["FC-1", "FC-2"], |c, cells| {
        circuit(c, cells, 15.0, cable(14, CableType::NmB), 70.0);
    });
    job.circuit("LP", &[6, 8], &["AH-1"], |c, cells| {
        circuit(c, cells, 30.0, thhn(10, 10), 40.0);
    });
    for (from, to) in [("OU-1", "FC-1"), ("FC-1", "FC-2"), ("FC-2", "AH-1")] {
        job.run(from, to, |run, cells| {
            low_voltage(run, cells, 60.0);
            if from == "OU-1" {
                put(&mut run.side, TerminalSide::Indoor);
            }
        });
    }
    for (tag, unit, room) in [
        ("T-1", "FC-1", "Bedroom"),
        ("T-2", "FC-2", "Study"),
        ("T-3", "AH-1", "Living room"),
    ] {
        job.run(tag, unit, |run, cells| low_voltage(run, cells, 45.0));
        job.controller(tag, &[unit], |c, cells| {
            c.room = cells.given(room.to_owned());
            c.group = cells.blank();
            c.wireless = cells.given(false);
        });
    }
    job
}

fn equipment(job: &mut Fixture) {
    job.unit("OU-1", UnitKind::Outdoor, |u, cells| {
        u.mca = cells.mca(31.4);
        u.mop = cells.mop(50.0);
        u.rla = cells.amps(24.0);
        u.fla = cells.amps(1.4);
        u.supply = cells.supply(&[208, 230], 1);
        u.capacity = cells.given(Mbh(48.0));
        u.place = cells.given(UnitPlace::Outdoors);
        u.model = cells.given("INVENTED 48".to_owned());
        u.disconnect = cells.given(switch(60.0));
        u.bus_limit = cells.blank();
        u.most_units = cells.given(8);
        u.fuse = cells.blank();
    });
    job.unit("FC-1", UnitKind::Indoor, |u, c| fan_coil(u, c, "Bedroom"));
    job.unit("FC-2", UnitKind::Indoor, |u, c| fan_coil(u, c, "Study"));
    job.unit("AH-1", UnitKind::AirHandler, |u, cells| {
        fan_coil(u, cells, "Living room");
        put(&mut u.mca, crate::schedule::NameplateAmps::One(Amps(29.8)));
        put(
            &mut u.mop,
            crate::schedule::Mop {
                amps: crate::schedule::NameplateAmps::One(Amps(30.0)),
                fuses_only: false,
            },
        );
        put(&mut u.fla, Amps(3.0));
        put(&mut u.disconnect, switch(60.0));
        put(&mut u.capacity, Mbh(24.0));
        put(&mut u.model, "INVENTED 24".to_owned());
        u.heat_kw = cells.given(Kilowatts(5.0));
        u.heat_volts = cells.given(Volts(240.0));
        u.heat_protection = cells.blank();
    });
}

/// The house with something changed.
pub fn changed(change: impl FnOnce(&mut Draft)) -> Draft {
    let mut draft = house().draft;
    change(&mut draft);
    draft
}
