//! Where a spreadsheet may have made a date of a notation, and what it was.

use super::reader::{Reader, Set};
use crate::intake::notation::{
    Context, DateDamage, Reading, breaker, date_damage, plausible_breakers, plausible_wires, poles,
};
use crate::schedule::{CellId, Fault, Field, FieldName};

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
            | FieldName::UnitHorsepower
    )
}

/// What may have been typed, likelier first, before a grammar has its say.
fn originals(field: FieldName, date: DateDamage, code: Option<&str>) -> Vec<String> {
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
fn expected(field: FieldName) -> &'static str {
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
enum Meaning {
    Date,
    /// Words: taken as shown.
    Text,
    /// A name, perhaps `MAR1` before: taken as shown, and said.
    Name,
    Damage,
}

fn meaning(field: FieldName) -> Meaning {
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
fn iso(date: DateDamage) -> String {
    format!(
        "{:04}-{:02}-{:02}",
        date.year.unwrap_or(0),
        date.month,
        date.day.unwrap_or(1)
    )
}

impl Reader<'_> {
    /// A cell that a spreadsheet holds as a date.
    pub(super) fn dated<T: PartialEq>(
        &mut self,
        field: FieldName,
        at: CellId,
        (shown, date, code): (&str, DateDamage, Option<&str>),
        ctx: &Context,
        grammar: impl Fn(&str, &Context) -> Reading<T>,
    ) -> Field<T> {
        if turned(field) {
            return self.damaged(field, at, (shown, date, code), ctx, grammar);
        }
        let said = match meaning(field) {
            Meaning::Date => grammar(&iso(date), ctx),
            Meaning::Text | Meaning::Name => grammar(shown, ctx),
            Meaning::Damage => Reading::Blank,
        };
        match said.value() {
            Some(value) => {
                if meaning(field) == Meaning::Name {
                    // The row is audited under the name that is shown.
                    let expected = expected(field);
                    self.unreadable::<T>(field, at, expected, Some(shown.to_owned()));
                }
                Field::given(value, at)
            }
            None => self.unreadable(field, at, expected(field), Some(shown.to_owned())),
        }
    }

    /// A date where a notation was typed: taken where one reading is left.
    pub(super) fn damaged<T: PartialEq>(
        &mut self,
        field: FieldName,
        at: CellId,
        (shown, date, code): (&str, DateDamage, Option<&str>),
        ctx: &Context,
        grammar: impl Fn(&str, &Context) -> Reading<T>,
    ) -> Field<T> {
        let mut readings = originals(field, date, code);
        if field == FieldName::CircuitSlots {
            // The slots of a breaker are written rising: `1/3`, never `3/1`.
            readings.retain(|text| {
                let numbers = text.split(['/', '-']).map(str::parse::<u16>);
                numbers
                    .collect::<Result<Vec<u16>, _>>()
                    .is_ok_and(|numbers| numbers.is_sorted())
            });
        }
        if field == FieldName::CircuitBreaker
            && let Some(stated) = self.quietly(Set::Whole, FieldName::CircuitPoles, poles)
        {
            readings.retain(|text| {
                let read = breaker(text, ctx).value().and_then(|breaker| breaker.poles);
                read.is_none_or(|poles| poles == stated)
            });
        }
        let mut values = Vec::new();
        readings.retain(|text| match grammar(text, ctx) {
            Reading::Value(value) => {
                values.push(value);
                true
            }
            _ => false,
        });
        // `2/30` and `30/2` are one breaker: two spellings, one reading.
        let agree = values.windows(2).all(|pair| pair[0] == pair[1]);
        let value = values.into_iter().next().filter(|_| agree);
        let text = readings.first().filter(|_| value.is_some()).cloned();
        self.faults.push(Fault::DateForWire {
            at,
            field,
            shown: shown.to_owned(),
            readings,
            taken: text,
        });
        match value {
            Some(value) => Field::given(value, at),
            None => Field::Unreadable(at),
        }
    }
}
