//! Rows for a type of dwelling, read for every dwelling of the type.

use super::reader::Reader;
use super::table::Assembly;
use crate::intake::found::{FoundTable, type_key};
use crate::intake::schema::Schemas;
use crate::schedule::{CellId, ColIndex, Field, FieldName, Name, RowIndex};
use std::collections::BTreeMap;

/// The dwellings of each type, in the order of the tables that name them.
#[derive(Default)]
pub(super) struct Dwellings(BTreeMap<String, Vec<Field<Name>>>);

/// Rows of one type that stand together, and the dwellings that they are for.
pub(super) struct Block {
    pub rows: Vec<RowIndex>,
    /// Empty where the table is for no types of dwellings: the rows are taken
    /// once.
    pub dwellings: Vec<Field<Name>>,
    /// The type is one of which no dwelling is said to be.
    pub unknown: bool,
}

impl Dwellings {
    pub fn add(&mut self, found: &FoundTable, table: u32) {
        for dwelling in &found.types {
            let at = CellId {
                table,
                row: dwelling.at.0,
                column: dwelling.at.1,
            };
            let named = Field::given(Name::new(&dwelling.name), at);
            self.0.entry(dwelling.of.clone()).or_default().push(named);
        }
    }

    /// The column of types in a table that has none of dwellings.
    fn column(&self, reader: &Reader<'_>, rows: &[RowIndex]) -> Option<ColIndex> {
        if self.0.is_empty() || super::facts::has_dwellings(reader) {
            return None;
        }
        reader.found.columns.iter().find_map(|column| {
            let full = column.fields.contains(&FieldName::UnitDwellingType);
            let bare = || {
                let schemas = Schemas::embedded();
                let types = &schemas.layouts().types;
                types.contains(&schemas.key(&column.heading))
            };
            if !full && !bare() {
                return None;
            }
            let mut texts = rows
                .iter()
                .filter_map(|row| reader.shown(*row, column.column))
                .map(|text| self.0.contains_key(&type_key(&text)))
                .peekable();
            // A bare *Type* may be that of the unit.
            let known = match full {
                true => texts.any(|known| known),
                false => texts.peek().is_some() && texts.all(|known| known),
            };
            known.then_some(column.column)
        })
    }

    /// The rows of a table in blocks of one type each.
    pub fn blocks(&self, reader: &Reader<'_>, rows: &[RowIndex]) -> Option<Vec<Block>> {
        let column = self.column(reader, rows)?;
        let mut blocks: Vec<(String, Block)> = Vec::new();
        for &row in rows {
            let text = reader.shown(row, column);
            let key = text.map(|text| type_key(&text));
            match blocks.last_mut() {
                // A blank cell means the type above.
                Some((last, block)) if key.as_ref().is_none_or(|key| key == last) => {
                    block.rows.push(row);
                }
                _ => {
                    let key = key.unwrap_or_default();
                    let dwellings = self.0.get(&key).cloned().unwrap_or_default();
                    let block = Block {
                        rows: vec![row],
                        unknown: dwellings.is_empty(),
                        dwellings,
                    };
                    blocks.push((key, block));
                }
            }
        }
        Some(blocks.into_iter().map(|(_, block)| block).collect())
    }
}

impl<'a> Assembly<'a> {
    /// The blocks in which a table is read: one for all its rows, mostly.
    pub(super) fn blocks_of(&self, reader: &Reader<'a>, rows: &[RowIndex]) -> Vec<Block> {
        let typical = self.dwellings.blocks(reader, rows);
        typical.unwrap_or_else(|| {
            vec![Block {
                rows: rows.to_vec(),
                dwellings: Vec::new(),
                unknown: false,
            }]
        })
    }
}
