//! The names of all tables and fields that we know.
//!
//! A field is written `table.name` (`circuit.length`, `run.length`), in the
//! schemas, in `read`, in messages and in findings. The schemas under
//! `schemas/` say how a field is headed and noted; a test binds each field
//! of the schemas to exactly one name here.

use std::fmt;

/// What one row of a table is.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum TableKind {
    /// A unit of the equipment.
    Equipment,
    /// A branch circuit.
    Circuits,
    /// A panel.
    Panels,
    /// One pull of low-voltage wire.
    WireRuns,
    /// A thermostat.
    Controllers,
    /// A label and a value.
    JobFacts,
}

impl TableKind {
    pub const ALL: [Self; 6] = [
        Self::Equipment,
        Self::Circuits,
        Self::Panels,
        Self::WireRuns,
        Self::Controllers,
        Self::JobFacts,
    ];

    /// The word in `read --json`, in the schemas and in file names.
    pub fn name(self) -> &'static str {
        match self {
            Self::Equipment => "equipment",
            Self::Circuits => "circuits",
            Self::Panels => "panels",
            Self::WireRuns => "wire-runs",
            Self::Controllers => "controllers",
            Self::JobFacts => "job-facts",
        }
    }

    /// The prefix of its fields: `unit`, `circuit`, `run`.
    pub fn prefix(self) -> &'static str {
        match self {
            Self::Equipment => "unit",
            Self::Circuits => "circuit",
            Self::Panels => "panel",
            Self::WireRuns => "run",
            Self::Controllers => "controller",
            Self::JobFacts => "job",
        }
    }
}

impl fmt::Display for TableKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Equipment => "equipment",
            Self::Circuits => "circuits",
            Self::Panels => "panels",
            Self::WireRuns => "wire runs",
            Self::Controllers => "controllers",
            Self::JobFacts => "job facts",
        })
    }
}

macro_rules! fields {
    ($($kind:ident { $($variant:ident = $name:literal,)* })*) => {
        /// A field of the schedule.
        #[derive(
            Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
        )]
        pub enum FieldName { $($($variant,)*)* }

        impl FieldName {
            /// Every field, in the order of the tables.
            pub const ALL: &'static [Self] = &[$($(Self::$variant,)*)*];

            /// `circuit.length`.
            pub fn name(self) -> &'static str {
                match self { $($(Self::$variant => $name,)*)* }
            }

            /// The table that the field belongs to.
            pub fn table(self) -> TableKind {
                match self { $($(Self::$variant => TableKind::$kind,)*)* }
            }

            /// The field of that name.
            pub fn parse(name: &str) -> Option<Self> {
                match name { $($($name => Some(Self::$variant),)*)* _ => None }
            }
        }
    };
}

fields! {
    Equipment {
        UnitTag = "unit.tag",
        UnitKind = "unit.kind",
        UnitDescription = "unit.description",
        UnitSystem = "unit.system",
        UnitDwelling = "unit.dwelling",
        UnitDwellingType = "unit.dwelling_type",
        UnitQuantity = "unit.quantity",
        UnitModel = "unit.model",
        UnitCapacity = "unit.capacity",
        UnitMca = "unit.mca",
        UnitMop = "unit.mop",
        UnitMcaMop = "unit.mca_mop",
        UnitRla = "unit.rla",
        UnitFla = "unit.fla",
        UnitLra = "unit.lra",
        UnitSupply = "unit.supply",
        UnitVolts = "unit.volts",
        UnitPhase = "unit.phase",
        UnitHertz = "unit.hertz",
        UnitHeatKw = "unit.heat_kw",
        UnitHeatVolts = "unit.heat_volts",
        UnitHeatProtection = "unit.heat_protection",
        UnitHorsepower = "unit.horsepower",
        UnitRoom = "unit.room",
        UnitPlace = "unit.place",
        UnitDisconnect = "unit.disconnect",
        UnitFuse = "unit.fuse",
        UnitBusLimit = "unit.bus_limit",
        UnitMostUnits = "unit.most_units",
        UnitInterlock = "unit.interlock",
        UnitRemarks = "unit.remarks",
    }
    Circuits {
        CircuitDwelling = "circuit.dwelling",
        CircuitPanel = "circuit.panel",
        CircuitSlots = "circuit.slots",
        CircuitPanelSlots = "circuit.panel_slots",
        CircuitName = "circuit.name",
        CircuitBreaker = "circuit.breaker",
        CircuitPoles = "circuit.poles",
        CircuitFuse = "circuit.fuse",
        CircuitConductor = "circuit.conductor",
        CircuitGround = "circuit.ground",
        CircuitInsulation = "circuit.insulation",
        CircuitTerminals = "circuit.terminals",
        CircuitRaceway = "circuit.raceway",
        CircuitInRaceway = "circuit.in_raceway",
        CircuitAmbient = "circuit.ambient",
        CircuitLength = "circuit.length",
        CircuitSupply = "circuit.supply",
        CircuitLoadAmps = "circuit.load_amps",
        CircuitLoadVa = "circuit.load_va",
        CircuitLoads = "circuit.loads",
        CircuitDisconnect = "circuit.disconnect",
        CircuitRemarks = "circuit.remarks",
    }
    Panels {
        PanelName = "panel.name",
        PanelDwelling = "panel.dwelling",
        PanelSupply = "panel.supply",
        PanelMain = "panel.main",
        PanelBus = "panel.bus",
        PanelFedFrom = "panel.fed_from",
        PanelRemarks = "panel.remarks",
    }
    WireRuns {
        RunName = "run.name",
        RunSystem = "run.system",
        RunDwelling = "run.dwelling",
        RunFrom = "run.from",
        RunTo = "run.to",
        RunPurpose = "run.purpose",
        RunSide = "run.side",
        RunWire = "run.wire",
        RunGauge = "run.gauge",
        RunConductors = "run.conductors",
        RunStranding = "run.stranding",
        RunShield = "run.shield",
        RunShieldGround = "run.shield_ground",
        RunSplices = "run.splices",
        RunRouting = "run.routing",
        RunLength = "run.length",
        RunRemarks = "run.remarks",
    }
    Controllers {
        ControllerTag = "controller.tag",
        ControllerDwelling = "controller.dwelling",
        ControllerRoom = "controller.room",
        ControllerUnits = "controller.units",
        ControllerGroup = "controller.group",
        ControllerWireless = "controller.wireless",
        ControllerWire = "controller.wire",
        ControllerLength = "controller.length",
        ControllerRemarks = "controller.remarks",
    }
    JobFacts {
        JobName = "job.name",
        JobNumber = "job.number",
        JobCustomer = "job.customer",
        JobSupply = "job.supply",
        JobEdition = "job.edition",
        JobSubmittedBy = "job.submitted_by",
        JobRevision = "job.revision",
        JobDate = "job.date",
        JobPressureTest = "job.pressure_test",
        JobCharge = "job.charge",
        JobPowerOn = "job.power_on",
    }
}

impl fmt::Display for FieldName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_field_is_named_after_its_table_and_found_by_its_name() {
        for field in FieldName::ALL {
            let prefix = field.table().prefix();
            assert_eq!(field.name().split('.').next(), Some(prefix));
            assert_eq!(FieldName::parse(field.name()), Some(*field));
        }
        assert_eq!(FieldName::parse("unit.colour"), None);
    }
}
