//! The things of a job.
//!
//! Fields that hold a [`Field`] are read from cells. Fields documented as
//! *resolved* are filled by [`super::Draft::build`] and are empty before.

use super::wire::{
    Conductor, Grounding, Insulation, LowVoltageWire, Raceway, Routing, RunPurpose, ShieldGround,
    Size, TerminalSide,
};
use super::*;
use std::fmt;

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident;)*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub u32);
        impl $name {
            pub fn index(self) -> usize { self.0 as usize }
        }
    )*};
}

ids! {
    /// Index into [`Schedule::units`].
    UnitId;
    /// Index into [`Schedule::circuits`].
    CircuitId;
    /// Index into [`Schedule::panels`].
    PanelId;
    /// Index into [`Schedule::runs`].
    RunId;
    /// Index into [`Schedule::controllers`].
    ControllerId;
    /// Index into [`Schedule::systems`].
    SystemId;
}

/// A unit of the equipment.
#[derive(Clone, Debug, PartialEq)]
pub struct Unit {
    pub tag: Located<Name>,
    pub dwelling: Field<Name>,
    pub dwelling_type: Field<Name>,
    /// From the kind column, else the description, else the tag; the cell
    /// is the one that told.
    pub kind: Field<UnitKind>,
    pub system: Field<Name>,
    pub quantity: Field<u32>,
    pub model: Field<String>,
    pub capacity: Field<Mbh>,
    pub mca: Field<NameplateAmps>,
    pub mop: Field<Mop>,
    pub rla: Field<Amps>,
    pub fla: Field<Amps>,
    pub supply: Field<Supply>,
    pub heat_kw: Field<Kilowatts>,
    pub heat_volts: Field<Volts>,
    /// The heater's elements have overcurrent devices of their own inside
    /// the enclosure (single-point kit, internal breakers).
    pub heat_protection: Field<bool>,
    pub horsepower: Field<Horsepower>,
    pub room: Field<String>,
    pub place: Field<UnitPlace>,
    pub disconnect: Field<Disconnect>,
    pub fuse: Field<Amps>,
    pub bus_limit: Field<Feet>,
    pub most_units: Field<u32>,
    pub interlock: Field<String>,

    /// Resolved: which of how many under one mark, from 1; (1, 1) for most.
    pub instance: (u32, u32),
    /// Resolved: the system that it belongs to.
    pub system_id: Option<SystemId>,
    /// Resolved: the circuits that name it, with the part that each feeds.
    pub circuits: Vec<(CircuitId, Part)>,
    /// Resolved: the controllers that reach it, by their own row or by a run.
    pub controllers: Vec<ControllerId>,
    /// Resolved: another row bears the same name with nothing that conflicts;
    /// this row is a repetition and is left out of the audit.
    pub repeats: Option<UnitId>,
}

impl Unit {
    /// Rows for two types of dwelling, of which no dwelling is named: the same
    /// tag is another unit in each.
    pub fn is_of_another_type(&self, other: &Self) -> bool {
        let types = (self.dwelling_type.get(), other.dwelling_type.get());
        let nameless = !self.dwelling.is_given() && !other.dwelling.is_given();
        nameless && matches!(types, (Some(a), Some(b)) if a != b)
    }

    pub fn new(tag: Located<Name>) -> Self {
        Self {
            tag,
            dwelling: Field::default(),
            dwelling_type: Field::default(),
            kind: Field::default(),
            system: Field::default(),
            quantity: Field::default(),
            model: Field::default(),
            capacity: Field::default(),
            mca: Field::default(),
            mop: Field::default(),
            rla: Field::default(),
            fla: Field::default(),
            supply: Field::default(),
            heat_kw: Field::default(),
            heat_volts: Field::default(),
            heat_protection: Field::default(),
            horsepower: Field::default(),
            room: Field::default(),
            place: Field::default(),
            disconnect: Field::default(),
            fuse: Field::default(),
            bus_limit: Field::default(),
            most_units: Field::default(),
            interlock: Field::default(),
            instance: (1, 1),
            system_id: None,
            circuits: Vec::new(),
            controllers: Vec::new(),
            repeats: None,
        }
    }

    pub fn kind(&self) -> Option<UnitKind> {
        self.kind.copied()
    }

    pub fn is_outdoor(&self) -> bool {
        self.kind().is_some_and(UnitKind::is_outdoor)
    }

    pub fn is_indoor(&self) -> bool {
        self.kind().is_some_and(UnitKind::is_indoor)
    }

    /// Has resistance heat: a stated heater above zero.
    pub fn has_strip_heat(&self) -> bool {
        self.heat_kw.copied().is_some_and(|kw| kw.0 > 0.0)
    }
}

/// Which part of a unit a circuit feeds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Part {
    /// The unit, or the load text names no part.
    Whole,
    /// Its heater, or the n-th circuit of its heater.
    Heater(u8),
    /// Its fan or blower alone.
    Fan,
}

impl fmt::Display for Part {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Whole => f.write_str("unit"),
            Self::Heater(n) => write!(f, "heater {n}"),
            Self::Fan => f.write_str("fan"),
        }
    }
}

/// What a load of a circuit is.
#[derive(Clone, Debug, PartialEq)]
pub enum LoadTarget {
    Unit(UnitId),
    /// RANGE, LTG, EF-1: takes slots and load, is not audited itself.
    Other,
    /// Spare or space.
    Spare,
    /// Shaped like a tag of this job (a prefix that its equipment uses) and
    /// matching none.
    UnknownTag {
        nearest: Option<Name>,
    },
    /// Might mean one of these units (`FAN COILS`, `AC`): not decided.
    MaybeUnits(Vec<UnitId>),
}

/// One load of a circuit.
#[derive(Clone, Debug, PartialEq)]
pub struct Load {
    /// The load as named, one entry of a list; its cell is the whole list's.
    pub text: Located<String>,
    pub part: Part,
    /// Resolved.
    pub target: LoadTarget,
}

impl Load {
    /// A load not resolved yet.
    pub fn new(text: &str, part: Part, at: CellId) -> Self {
        Self {
            text: Located::new(text.to_owned(), at),
            part,
            target: LoadTarget::Other,
        }
    }
}

/// One half of a breaker position, or the whole: `5`, `4A`, `4B`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Slot {
    pub number: u16,
    /// `A` or `B` of a tandem.
    pub half: Option<char>,
}

impl fmt::Display for Slot {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.number)?;
        self.half.map_or(Ok(()), |half| write!(f, "{half}"))
    }
}

/// A branch circuit. Rows of one identity are merged into one.
#[derive(Clone, Debug, PartialEq)]
pub struct Circuit {
    /// The cell that names the circuit first; the row's tag cell where the
    /// row names none.
    pub at: CellId,
    pub dwelling: Field<Name>,
    pub panel: Field<Name>,
    /// As written: `1,3`, `5`, `4A/4B`. See [`Circuit::slots_taken`].
    pub slots: Field<Vec<Slot>>,
    /// A circuit's own name where it has no slots: `AC-1`.
    pub name: Field<Name>,
    pub breaker: Field<Amps>,
    pub poles: Field<u8>,
    /// At the disconnect of this circuit.
    pub fuse: Field<Amps>,
    pub conductor: Field<Conductor>,
    pub ground: Field<Grounding>,
    pub insulation: Field<Insulation>,
    /// Temperature rating of the terminals.
    pub terminals: Field<Celsius>,
    pub raceway: Field<Raceway>,
    /// Current-carrying conductors in the raceway, this circuit's included.
    pub in_raceway: Field<u32>,
    pub ambient: Field<Celsius>,
    /// One way.
    pub length: Field<Feet>,
    pub supply: Field<Supply>,
    pub load_amps: Field<Amps>,
    pub load_va: Field<VoltAmps>,
    pub disconnect: Field<Disconnect>,
    pub loads: Vec<Load>,

    /// Resolved: first cells of all rows that were merged into this one.
    pub rows: Vec<CellId>,
    /// Resolved: the panel's own row, where one is scheduled.
    pub panel_id: Option<PanelId>,
    /// Resolved: the row stands in a unit's row and names no circuit: it is
    /// taken as that unit's own.
    pub unnamed: bool,
}

impl Circuit {
    pub fn new(at: CellId) -> Self {
        Self {
            at,
            dwelling: Field::default(),
            panel: Field::default(),
            slots: Field::default(),
            name: Field::default(),
            breaker: Field::default(),
            poles: Field::default(),
            fuse: Field::default(),
            conductor: Field::default(),
            ground: Field::default(),
            insulation: Field::default(),
            terminals: Field::default(),
            raceway: Field::default(),
            in_raceway: Field::default(),
            ambient: Field::default(),
            length: Field::default(),
            supply: Field::default(),
            load_amps: Field::default(),
            load_va: Field::default(),
            disconnect: Field::default(),
            loads: Vec::new(),
            rows: Vec::new(),
            panel_id: None,
            unnamed: false,
        }
    }

    /// The slots of the panel that the circuit takes: those written where
    /// several are, else the first and, for 2 and 3 poles, every second one
    /// after it.
    pub fn slots_taken(&self) -> Vec<Slot> {
        let Some(slots) = self.slots.get() else {
            return Vec::new();
        };
        let poles = self.poles.copied().unwrap_or(1);
        match slots.as_slice() {
            [only] if only.half.is_none() && poles > 1 => (0..u16::from(poles))
                .map(|n| Slot {
                    number: only.number + 2 * n,
                    half: None,
                })
                .collect(),
            many => many.to_vec(),
        }
    }

    /// The units on it, each once, in the order of its loads.
    pub fn units(&self) -> Vec<UnitId> {
        let mut units = Vec::new();
        for load in &self.loads {
            if let LoadTarget::Unit(unit) = load.target
                && !units.contains(&unit)
            {
                units.push(unit);
            }
        }
        units
    }

    /// Loads that are neither units of the job nor spares.
    pub fn other_loads(&self) -> impl Iterator<Item = &Load> {
        self.loads
            .iter()
            .filter(|load| !matches!(load.target, LoadTarget::Unit(_) | LoadTarget::Spare))
    }
}

/// A panel's own row.
#[derive(Clone, Debug, PartialEq)]
pub struct Panel {
    pub name: Located<Name>,
    pub dwelling: Field<Name>,
    pub supply: Field<PanelSupply>,
    pub main: Field<Amps>,
    pub bus: Field<Amps>,
    pub fed_from: Field<String>,
}

/// One end of a low-voltage run.
#[derive(Clone, Debug, PartialEq, Default)]
pub enum RunEnd {
    Unit(UnitId),
    Controller(ControllerId),
    /// A tag of the equipment that stands for several units of one mark.
    Mark(Vec<UnitId>),
    /// A name that matches no tag.
    UnknownTag {
        nearest: Option<Name>,
    },
    /// The cell is empty, or there is no such column.
    #[default]
    Nothing,
}

/// One pull of low-voltage wire.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// The row's first cell of its own.
    pub at: CellId,
    pub name: Field<Name>,
    pub system: Field<Name>,
    pub dwelling: Field<Name>,
    pub from: Field<Name>,
    pub to: Field<Name>,
    pub purpose: Field<RunPurpose>,
    pub side: Field<TerminalSide>,
    pub gauge: Field<Size>,
    pub conductors: Field<u8>,
    pub stranded: Field<bool>,
    pub shielded: Field<bool>,
    pub shield_ground: Field<ShieldGround>,
    pub splices: Field<u32>,
    pub routing: Field<Routing>,
    pub length: Field<Feet>,

    /// Resolved: the purpose, from its column or from what it joins.
    pub serves: RunPurpose,
    /// Resolved.
    pub from_end: RunEnd,
    /// Resolved.
    pub to_end: RunEnd,
}

impl Run {
    pub fn new(at: CellId) -> Self {
        Self {
            at,
            name: Field::default(),
            system: Field::default(),
            dwelling: Field::default(),
            from: Field::default(),
            to: Field::default(),
            purpose: Field::default(),
            side: Field::default(),
            gauge: Field::default(),
            conductors: Field::default(),
            stranded: Field::default(),
            shielded: Field::default(),
            shield_ground: Field::default(),
            splices: Field::default(),
            routing: Field::default(),
            length: Field::default(),
            serves: RunPurpose::Bus,
            from_end: RunEnd::Nothing,
            to_end: RunEnd::Nothing,
        }
    }

    /// Fills the wire's parts from one cell that describes them all; a part
    /// with a column of its own keeps what that column says.
    pub fn fill_wire(&mut self, wire: &Field<LowVoltageWire>) {
        fn part<T>(
            wire: &Field<LowVoltageWire>,
            pick: impl Fn(&LowVoltageWire) -> Option<T>,
        ) -> Field<T> {
            match wire {
                Field::Given(located) => match pick(&located.value) {
                    Some(value) => Field::given(value, located.at),
                    None => Field::Blank(Some(located.at)),
                },
                Field::Blank(at) => Field::Blank(*at),
                Field::Unknown(at) => Field::Unknown(*at),
                Field::Elsewhere(at) => Field::Elsewhere(*at),
                Field::Unreadable(at) => Field::Unreadable(*at),
            }
        }
        self.gauge = std::mem::take(&mut self.gauge).or(part(wire, |w| w.gauge));
        self.conductors = std::mem::take(&mut self.conductors).or(part(wire, |w| w.conductors));
        self.stranded = std::mem::take(&mut self.stranded).or(part(wire, |w| w.stranded));
        self.shielded = std::mem::take(&mut self.shielded).or(part(wire, |w| w.shielded));
    }

    /// The two units that it joins, where both ends are single units.
    pub fn units(&self) -> Option<(UnitId, UnitId)> {
        match (&self.from_end, &self.to_end) {
            (RunEnd::Unit(a), RunEnd::Unit(b)) => Some((*a, *b)),
            _ => None,
        }
    }
}

/// A thermostat, or another controller on the wall.
#[derive(Clone, Debug, PartialEq)]
pub struct Controller {
    pub tag: Located<Name>,
    pub dwelling: Field<Name>,
    pub room: Field<String>,
    /// The unit or units that its row says it controls.
    pub units: Vec<Located<Name>>,
    /// State of the cell that `units` were read from.
    pub units_cell: Field<()>,
    pub group: Field<Name>,
    pub wireless: Field<bool>,

    /// Resolved: the units that it reaches, by its row or by its runs.
    pub unit_ids: Vec<UnitId>,
    /// Resolved: names in its row that match no unit, with the nearest.
    pub unknown: Vec<(Located<Name>, Option<Name>)>,
    /// Resolved: the low-voltage runs that end on it.
    pub runs: Vec<RunId>,
}

impl Controller {
    pub fn new(tag: Located<Name>) -> Self {
        Self {
            tag,
            dwelling: Field::default(),
            room: Field::default(),
            units: Vec::new(),
            units_cell: Field::default(),
            group: Field::default(),
            wireless: Field::default(),
            unit_ids: Vec::new(),
            unknown: Vec::new(),
            runs: Vec::new(),
        }
    }
}

/// An outdoor unit with all that hangs on it.
#[derive(Clone, Debug, PartialEq)]
pub struct System {
    /// The name in the system column, else the main outdoor unit's tag.
    pub name: Name,
    pub dwelling: Option<Name>,
    /// The main outdoor unit; `None` where the equipment names none.
    pub outdoor: Option<UnitId>,
    /// All units of it, the outdoor ones included, in the order of the rows.
    pub units: Vec<UnitId>,
    /// Runs of purpose bus that touch it, in the order of the rows.
    pub runs: Vec<RunId>,
    /// A system column or a tag said so; else it was told from there being
    /// only one outdoor unit, or from the bus itself.
    pub stated: bool,
}

/// What a job says of itself.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct JobFacts {
    pub name: Field<String>,
    pub number: Field<String>,
    pub customer: Field<CustomerType>,
    pub supply: Field<PanelSupply>,
    pub edition: Field<Edition>,
    pub submitted_by: Field<String>,
    pub revision: Field<String>,
    pub date: Field<jiff::civil::Date>,
    pub pressure_test: Field<jiff::civil::Date>,
    pub charge: Field<jiff::civil::Date>,
    pub power_on: Field<jiff::civil::Date>,
}
