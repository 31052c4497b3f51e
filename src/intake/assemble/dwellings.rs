//! Columns of dwellings whose cells are filled in the first row of each alone.

use super::reader::{Reader, Set};
use crate::intake::notation::name;
use crate::schedule::{Field, FieldName, Name, RowIndex};
use std::collections::BTreeSet;

/// The column, where the author writes each dwelling once and leaves the rows
/// below it blank.
///
/// A blank cell may mean the building as well. It does where a dwelling is
/// written in each of its rows, and where no mark of the blank rows stands
/// twice and none of them is between two dwellings.
pub(super) fn written_once(reader: &mut Reader<'_>, rows: &[RowIndex]) -> Option<FieldName> {
    let field = reader.first_of(&[
        FieldName::UnitDwelling,
        FieldName::CircuitDwelling,
        FieldName::PanelDwelling,
        FieldName::RunDwelling,
        FieldName::ControllerDwelling,
    ])?;
    let tag = reader.first_of(&[
        FieldName::UnitTag,
        FieldName::ControllerTag,
        FieldName::RunFrom,
        FieldName::CircuitSlots,
        FieldName::PanelName,
    ]);
    let mut last: Option<String> = None;
    let mut marks = BTreeSet::new();
    let (mut blanks, mut between, mut twice) = (0_u32, false, false);
    for &row in rows {
        if !reader.go_to(row) {
            continue;
        }
        match reader.text(field).map(|text| text.trim().to_owned()) {
            Some(text) if Some(&text) == last.as_ref() => return None,
            Some(text) => {
                between |= blanks > 0;
                last = Some(text);
            }
            None if last.is_some() => {
                blanks += 1;
                let mark = tag.and_then(|tag| reader.text(tag));
                twice |= mark.is_some_and(|mark| !marks.insert(mark.into_owned()));
            }
            None => {}
        }
    }
    (blanks > 0 && (between || twice)).then_some(field)
}

impl Reader<'_> {
    /// What a field names in this row; nothing where its cell is blank.
    pub(super) fn named(&self, field: FieldName) -> Option<Field<Name>> {
        let named = self.quietly(Set::Whole, field, name)?;
        Some(Field::given(named, self.cell(field)?))
    }
}
