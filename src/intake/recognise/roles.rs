//! What single fields stand for, where columns and rows are judged.

use super::values::Sample;
use crate::schedule::{FieldName, TableKind};

pub(super) fn doors_are_long(sample: &Sample) -> bool {
    let long = sample.texts.iter().filter(|text| {
        text.chars().filter(char::is_ascii_digit).count() >= 3 || ends_in_letter(text)
    });
    long.count() * 10 >= sample.texts.len() * 7
}

pub(super) fn ends_in_letter(text: &str) -> bool {
    let text = text.trim();
    text.starts_with(|c: char| c.is_ascii_digit()) && text.ends_with(|c: char| c.is_alphabetic())
}

pub(super) fn is_dwelling(field: FieldName) -> bool {
    use FieldName::{
        CircuitDwelling, ControllerDwelling, PanelDwelling, RunDwelling, UnitDwelling,
    };
    matches!(
        field,
        UnitDwelling | CircuitDwelling | PanelDwelling | RunDwelling | ControllerDwelling
    )
}

pub(super) fn names_the_row(field: FieldName) -> bool {
    use FieldName::{CircuitLoads, ControllerTag, PanelName, RunFrom, UnitTag};
    matches!(
        field,
        UnitTag | CircuitLoads | ControllerTag | RunFrom | PanelName
    )
}

/// Whether rows of `main` may carry a `beside` as well.
pub(super) fn may_stand_beside(main: TableKind, beside: TableKind) -> bool {
    use TableKind::{Circuits, Controllers, Equipment, JobFacts, Panels, WireRuns};
    match beside {
        JobFacts => true,
        Circuits | Controllers | WireRuns => main == Equipment,
        Equipment | Panels => false,
    }
}

/// Fields that only stand in a row which carries a thing of their table.
pub(super) fn makes_present(field: FieldName) -> bool {
    use FieldName::*;
    match field.table() {
        TableKind::Circuits => matches!(
            field,
            CircuitPanel
                | CircuitSlots
                | CircuitPanelSlots
                | CircuitName
                | CircuitBreaker
                | CircuitPoles
                | CircuitConductor
                | CircuitGround
                | CircuitRaceway
                | CircuitLength
        ),
        TableKind::WireRuns => matches!(field, RunFrom | RunTo | RunWire | RunLength | RunGauge),
        TableKind::Controllers => {
            matches!(field, ControllerTag | ControllerWire | ControllerLength)
        }
        TableKind::JobFacts => matches!(field, JobName | JobNumber),
        TableKind::Equipment | TableKind::Panels => true,
    }
}

/// Digits and the signs that stand among them: no heading.
pub(super) fn is_number(text: &str) -> bool {
    let mut digits = 0;
    let rest = text
        .trim()
        .chars()
        .filter(|c| {
            digits += usize::from(c.is_ascii_digit());
            !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '/' | '%' | '$'))
        })
        .count();
    digits > 0 && rest == 0
}
