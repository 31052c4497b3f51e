//! Every field of a job, and how it can be missing.

use crate::schedule::{CellId, Draft, Field, FieldName};

/// How a value can be missing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gone {
    /// An empty cell of a column that is there.
    Blank,
    /// `TBD`, `?`.
    Unknown,
    /// A text that cannot be understood.
    Unreadable,
    /// The table has no such column: empty in every row.
    NoColumn,
}

impl Gone {
    pub const ALL: [Self; 4] = [Self::Blank, Self::Unknown, Self::Unreadable, Self::NoColumn];
}

fn take<T>(field: &mut Field<T>, gone: Gone) -> bool {
    let Field::Given(located) = &*field else {
        return false;
    };
    let at: CellId = located.at;
    *field = match gone {
        Gone::Blank => Field::Blank(Some(at)),
        Gone::Unknown => Field::Unknown(at),
        Gone::Unreadable => Field::Unreadable(at),
        Gone::NoColumn => Field::Blank(None),
    };
    true
}

/// A list that is read from one cell.
fn take_list<T>(list: &mut Vec<T>) -> bool {
    let any = !list.is_empty();
    list.clear();
    any
}

macro_rules! emptied {
    ($($rows:ident { $($name:ident = $field:ident,)* })*) => {
        /// The fields of the model that rules read, one row each.
        pub const FIELDS: &[FieldName] = &[$($(FieldName::$name,)*)*];

        /// How many rows of the job there are for that field.
        pub fn rows(draft: &Draft, field: FieldName) -> usize {
            match field {
                $($(FieldName::$name => draft.$rows.len(),)*)*
                FieldName::CircuitLoads => draft.circuits.len(),
                FieldName::ControllerUnits => draft.controllers.len(),
                _ => 1,
            }
        }

        /// Takes the value out of row `row`; whether there was one.
        pub fn empty(draft: &mut Draft, field: FieldName, row: usize, gone: Gone) -> bool {
            match field {
                $($(FieldName::$name => take(&mut draft.$rows[row].$field, gone),)*)*
                FieldName::CircuitLoads => take_list(&mut draft.circuits[row].loads),
                FieldName::ControllerUnits => {
                    let controller = &mut draft.controllers[row];
                    take(&mut controller.units_cell, gone);
                    take_list(&mut controller.units)
                }
                FieldName::JobCustomer => take(&mut draft.facts.customer, gone),
                FieldName::JobSupply => take(&mut draft.facts.supply, gone),
                FieldName::JobPressureTest => take(&mut draft.facts.pressure_test, gone),
                FieldName::JobCharge => take(&mut draft.facts.charge, gone),
                FieldName::JobPowerOn => take(&mut draft.facts.power_on, gone),
                _ => false,
            }
        }
    };
}

emptied! {
    units {
        UnitKind = kind,
        UnitSystem = system,
        UnitDwelling = dwelling,
        UnitDwellingType = dwelling_type,
        UnitModel = model,
        UnitCapacity = capacity,
        UnitMca = mca,
        UnitMop = mop,
        UnitRla = rla,
        UnitFla = fla,
        UnitSupply = supply,
        UnitHeatKw = heat_kw,
        UnitHeatVolts = heat_volts,
        UnitHeatProtection = heat_protection,
        UnitHorsepower = horsepower,
        UnitRoom = room,
        UnitPlace = place,
        UnitDisconnect = disconnect,
        UnitFuse = fuse,
        UnitBusLimit = bus_limit,
        UnitMostUnits = most_units,
        UnitInterlock = interlock,
    }
    circuits {
        CircuitDwelling = dwelling,
        CircuitPanel = panel,
        CircuitSlots = slots,
        CircuitBreaker = breaker,
        CircuitPoles = poles,
        CircuitFuse = fuse,
        CircuitConductor = conductor,
        CircuitGround = ground,
        CircuitInsulation = insulation,
        CircuitTerminals = terminals,
        CircuitRaceway = raceway,
        CircuitInRaceway = in_raceway,
        CircuitAmbient = ambient,
        CircuitLength = length,
        CircuitSupply = supply,
        CircuitLoadAmps = load_amps,
        CircuitLoadVa = load_va,
        CircuitDisconnect = disconnect,
    }
    panels {
        PanelDwelling = dwelling,
        PanelSupply = supply,
        PanelMain = main,
        PanelBus = bus,
    }
    runs {
        RunSystem = system,
        RunDwelling = dwelling,
        RunFrom = from,
        RunTo = to,
        RunPurpose = purpose,
        RunSide = side,
        RunGauge = gauge,
        RunConductors = conductors,
        RunStranding = stranded,
        RunShield = shielded,
        RunShieldGround = shield_ground,
        RunSplices = splices,
        RunRouting = routing,
        RunLength = length,
    }
    controllers {
        ControllerDwelling = dwelling,
        ControllerRoom = room,
        ControllerGroup = group,
        ControllerWireless = wireless,
    }
}

/// Fields without a row of the list above.
pub const OTHERS: &[FieldName] = &[
    FieldName::CircuitLoads,
    FieldName::ControllerUnits,
    FieldName::JobCustomer,
    FieldName::JobSupply,
    FieldName::JobPressureTest,
    FieldName::JobCharge,
    FieldName::JobPowerOn,
];

/// Fields that no rule can want of a draft: parts of another field's cell,
/// identities, words for people.
pub const NOT_EMPTIED: &[(FieldName, &str)] = &[
    (FieldName::UnitTag, "a row without a tag is no unit"),
    (FieldName::UnitDescription, "read into the kind"),
    (FieldName::UnitQuantity, "empty is one"),
    (FieldName::UnitMcaMop, "read into MCA and MOP"),
    (FieldName::UnitLra, "never a load"),
    (FieldName::UnitVolts, "read into the supply"),
    (FieldName::UnitPhase, "read into the supply"),
    (FieldName::UnitHertz, "read into the supply"),
    (FieldName::UnitRemarks, "words for people"),
    (FieldName::CircuitPanelSlots, "read into panel and slots"),
    (
        FieldName::CircuitName,
        "an identity besides panel and slots",
    ),
    (FieldName::CircuitRemarks, "words for people"),
    (FieldName::PanelName, "a row without a name is no panel"),
    (FieldName::PanelFedFrom, "no rule reads it"),
    (FieldName::PanelRemarks, "words for people"),
    (FieldName::RunName, "words for people"),
    (
        FieldName::RunWire,
        "read into gauge, conductors, strands and shield",
    ),
    (FieldName::RunRemarks, "words for people"),
    (
        FieldName::ControllerTag,
        "a row without a tag is no controller",
    ),
    (FieldName::ControllerWire, "read into a run"),
    (FieldName::ControllerLength, "read into a run"),
    (FieldName::ControllerRemarks, "words for people"),
    (FieldName::JobName, "no limit hangs on it"),
    (FieldName::JobNumber, "no limit hangs on it"),
    (FieldName::JobEdition, "the profile's edition holds"),
    (FieldName::JobSubmittedBy, "no limit hangs on it"),
    (FieldName::JobRevision, "no limit hangs on it"),
    (FieldName::JobDate, "no limit hangs on it"),
];

#[test]
fn every_field_can_be_emptied_or_is_excused() {
    for field in FieldName::ALL {
        let ways = [
            FIELDS.contains(field),
            OTHERS.contains(field),
            NOT_EMPTIED.iter().any(|(excused, _)| excused == field),
        ];
        let ways = ways.into_iter().filter(|way| *way).count();
        assert_eq!(ways, 1, "{field}");
    }
}
