//! Where a spreadsheet may have made a date of a notation, and what it was.

use crate::intake::notation::{DateDamage, date_damage, plausible_breakers, plausible_wires};
use crate::schedule::FieldName;

/// Fields whose notation may turn into a date: `10/2`, `2/30`, `1,3`, `3/4`.
pub(super) fn turned(field: FieldName) -> bool {
    is_wire(field) || is_breaker(field) || is_other(field)
}

fn is_wire(field: FieldName) -> bool {
    matches!(
        field,
        FieldName::CircuitConductor
            | FieldName::RunWire
            | FieldName::RunGauge
            | FieldName::ControllerWire
    )
}

fn is_breaker(field: FieldName) -> bool {
    matches!(field, FieldName::CircuitBreaker)
}

fn is_other(field: FieldName) -> bool {
    matches!(
        field,
        FieldName::CircuitSlots
            | FieldName::CircuitPanelSlots
            | FieldName::CircuitGround
            | FieldName::CircuitRaceway
            | FieldName::CircuitSupply
            | FieldName::UnitSupply
            | FieldName::UnitVolts
    )
}

/// What may have been typed, likelier first, before a grammar has its say.
pub(super) fn readings(field: FieldName, date: DateDamage, code: Option<&str>) -> Vec<String> {
    let originals = date_damage(date, code);
    if is_wire(field) {
        plausible_wires(originals)
    } else if is_breaker(field) {
        plausible_breakers(originals)
    } else {
        originals
    }
}

/// What a column expects that holds a date instead.
pub(super) fn expected(field: FieldName) -> &'static str {
    match field {
        FieldName::UnitTag | FieldName::ControllerTag => "a tag; the cell holds a date",
        FieldName::RunFrom | FieldName::RunTo => "a tag of the equipment; the cell holds a date",
        FieldName::CircuitLength
        | FieldName::RunLength
        | FieldName::ControllerLength
        | FieldName::UnitBusLimit => "a length, as in 85 ft or 12'-6\"; the cell holds a date",
        FieldName::UnitMca
        | FieldName::UnitMop
        | FieldName::UnitMcaMop
        | FieldName::UnitRla
        | FieldName::UnitFla
        | FieldName::UnitFuse
        | FieldName::CircuitFuse
        | FieldName::CircuitLoadAmps
        | FieldName::PanelMain
        | FieldName::PanelBus => "amperes, as in 18.2; the cell holds a date",
        _ => "a value of this column; the cell holds a date",
    }
}

/// What a date means in a column whose notation does not turn into one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Meaning {
    Date,
    /// Words: taken as shown.
    Text,
    /// A name, perhaps `MAR1` before: taken as shown, and said.
    Name,
    Damage,
}

pub(super) fn meaning(field: FieldName) -> Meaning {
    match field {
        FieldName::JobDate
        | FieldName::JobPressureTest
        | FieldName::JobCharge
        | FieldName::JobPowerOn => Meaning::Date,
        FieldName::UnitModel
        | FieldName::UnitRoom
        | FieldName::UnitInterlock
        | FieldName::ControllerRoom
        | FieldName::PanelFedFrom
        | FieldName::JobName
        | FieldName::JobSubmittedBy
        | FieldName::JobRevision
        | FieldName::CircuitLoads => Meaning::Text,
        FieldName::UnitTag
        | FieldName::UnitSystem
        | FieldName::UnitDwelling
        | FieldName::UnitDwellingType
        | FieldName::CircuitDwelling
        | FieldName::CircuitPanel
        | FieldName::CircuitName
        | FieldName::PanelName
        | FieldName::PanelDwelling
        | FieldName::RunName
        | FieldName::RunSystem
        | FieldName::RunDwelling
        | FieldName::RunFrom
        | FieldName::RunTo
        | FieldName::ControllerTag
        | FieldName::ControllerDwelling
        | FieldName::ControllerUnits
        | FieldName::ControllerGroup
        | FieldName::JobNumber => Meaning::Name,
        _ => Meaning::Damage,
    }
}

/// `2026-10-02`; the first of the month where no day is known.
pub(super) fn iso(date: DateDamage) -> String {
    format!(
        "{:04}-{:02}-{:02}",
        date.year.unwrap_or(0),
        date.month,
        date.day.unwrap_or(1)
    )
}
