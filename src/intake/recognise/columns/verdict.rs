//! What the columns make together: a table, or nothing.

use super::{Column, Resolver, Understood};
use crate::intake::found::FoundColumn;
use crate::intake::recognise::heading::{Candidate, nearest};
use crate::intake::recognise::roles::{makes_present, may_stand_beside};
use crate::intake::schema::Notation;
use crate::schedule::{FieldName, TableKind};

/// How a kind is weighed: columns of other tables, a title that names the
/// kind, and an identity that its own heading gives.
const OTHER_COLUMNS: f64 = 0.4;
const BARE_COLUMNS: f64 = 0.6;
const NAMED: f64 = 1.0;
/// Rows of units stay rows of units, whatever else they carry.
const UNITS: f64 = 5.0;

impl Resolver<'_> {
    pub(super) fn finish(self) -> Option<Understood> {
        let table = self.schemas.table(self.main)?;
        let fed = |field: &FieldName| self.taken.iter().flatten().any(|t| t.field == *field);
        let own: Vec<&Candidate> = self
            .taken
            .iter()
            .flatten()
            .filter(|t| t.field.table() == self.main)
            .collect();
        let signature = table.signature.iter().filter(|f| fed(f)).count();
        let identity = table.identity.iter().any(fed);
        let enough = if identity {
            own.len() >= table.minimum && signature >= 1
        } else {
            own.len() > table.minimum && signature >= 2
        };
        let named = table.identity.iter().any(|field| {
            let mut taken = self.taken.iter().flatten();
            taken.any(|t| t.field == *field && !t.weak)
        });
        // Bare headings alone make no schedule: a register has *No.*,
        // *Name*, *Type* and *Description* too.
        let full = own.iter().filter(|t| !t.weak).count();
        let borne_out = own
            .iter()
            .filter(|t| t.weak && self.is_borne_out(t))
            .count();
        let spoken =
            self.titled || full > 0 && (named || full * 6 + borne_out * 3 >= own.len() * 2);
        if !(enough && spoken && self.is_of_the_trade() || self.wide_rows())
            || self.is_foreign(&fed)
        {
            return None;
        }
        let weight = self
            .taken
            .iter()
            .flatten()
            .map(|t| {
                let own = t.field.table() == self.main;
                t.score
                    * match (own, t.weak) {
                        (true, false) => 1.0,
                        (true, true) => BARE_COLUMNS,
                        _ => OTHER_COLUMNS,
                    }
            })
            .sum::<f64>()
            + if named { NAMED } else { 0.0 }
            + if self.nameplate_rows() || self.wide_rows() {
                UNITS
            } else {
                0.0
            };
        let columns = (0..self.columns.len())
            .filter_map(|i| self.found(i))
            .collect();
        let mut kinds = vec![self.main];
        for kind in TableKind::ALL {
            let carries = self
                .taken
                .iter()
                .flatten()
                .any(|t| t.field.table() == kind && makes_present(t.field));
            if kind != self.main && carries && may_stand_beside(self.main, kind) {
                kinds.push(kind);
            }
        }
        Some(Understood {
            kind: self.main,
            kinds,
            columns,
            weight,
        })
    }

    /// A heading tells of another trade's table, and no column of ours
    /// contradicts it.
    fn is_foreign(&self, fed: &impl Fn(&FieldName) -> bool) -> bool {
        let table = self.schemas.table(self.main);
        let unless = table.map_or(&[][..], |table| &table.foreign.unless);
        let told = |column: &Column| {
            let keys = column.heading.keys(self.schemas);
            keys.iter().any(|key| self.schemas.foreign(key, self.main))
        };
        !unless.iter().any(fed) && self.columns.iter().any(told)
    }

    /// A column of marks with currents of the nameplate beside it: the rows
    /// are units, whatever else they carry.
    fn nameplate_rows(&self) -> bool {
        use FieldName::{UnitFla, UnitHeatKw, UnitMca, UnitMcaMop, UnitMop, UnitRla, UnitTag};
        let full = |field| {
            let mut taken = self.taken.iter().flatten();
            taken.any(|t| t.field == field && !t.weak)
        };
        let tag = self.taken.iter().flatten().any(|t| t.field == UnitTag);
        self.main == TableKind::Equipment
            && tag
            && [UnitMca, UnitMop, UnitMcaMop, UnitRla, UnitFla, UnitHeatKw]
                .into_iter()
                .any(full)
    }

    /// A column of marks with circuits, runs or controllers, two of them at
    /// least, in one row: a unit with all that hangs on it.
    fn wide_rows(&self) -> bool {
        let tag = self.columns.iter().zip(&self.taken).any(|(c, t)| {
            t.is_some_and(|t| t.field == FieldName::UnitTag) && c.sample.tags() >= 0.5
        });
        let carried = |kind: &TableKind| *kind != self.main && *kind != TableKind::JobFacts;
        self.main == TableKind::Equipment
            && tag
            && self.present.iter().filter(|kind| carried(kind)).count() >= 2
    }

    /// A bare heading under which all values read, in a notation that asks
    /// for form.
    fn is_borne_out(&self, taken: &Candidate) -> bool {
        let loose = self.schemas.field(taken.field).is_none_or(|schema| {
            matches!(
                schema.notation,
                Notation::Name
                    | Notation::FreeText
                    | Notation::Loads
                    | Notation::Dwelling
                    | Notation::Quantity
                    | Notation::WholeNumber
                    | Notation::Revision
            )
        });
        !loose && taken.score >= 0.78
    }

    fn found(&self, index: usize) -> Option<FoundColumn> {
        let column = self.columns.get(index)?;
        let options = self.options.get(index)?;
        let taken = *self.taken.get(index)?;
        let heading = column.heading.text();
        let Some(taken) = taken else {
            return Some(FoundColumn {
                column: column.at,
                nearest: self.ask(column, options),
                heading,
                fields: Vec::new(),
                unit: column.unit.or(column.heading.unit),
                score: 0.0,
            });
        };
        let mut fields = vec![taken.field];
        if self.schemas.field(taken.field).is_some_and(|s| s.shared) {
            fields.extend(self.shared_with(column, taken.field));
        }
        Some(FoundColumn {
            column: column.at,
            heading,
            unit: self.unit_for(column, taken.field),
            score: (taken.score * 100.0).round() / 100.0,
            nearest: None,
            fields,
        })
    }

    /// The dwelling of a wide row is that of its circuit and runs too.
    fn shared_with(&self, column: &Column, field: FieldName) -> Vec<FieldName> {
        let own_name = field.name().split('.').next_back();
        self.present
            .iter()
            .filter(|kind| **kind != field.table())
            .filter_map(|kind| {
                let shared = column.heading.candidates.iter().find(|c| {
                    c.field.table() == *kind && c.field.name().split('.').next_back() == own_name
                })?;
                let is_free = !self.taken.iter().flatten().any(|t| t.field == shared.field);
                is_free.then_some(shared.field)
            })
            .collect()
    }

    /// For people: the fields between which it was not chosen, or the
    /// nearest heading that is known.
    fn ask(&self, column: &Column, options: &[Candidate]) -> Option<String> {
        let listed = &column.heading.candidates;
        let open = if options.is_empty() { listed } else { options };
        let mut names: Vec<&str> = open.iter().map(|c| c.field.name()).collect();
        names.dedup();
        if names.is_empty() {
            return nearest(&column.heading.text(), self.schemas);
        }
        names.truncate(4);
        Some(names.join(" or "))
    }
}
