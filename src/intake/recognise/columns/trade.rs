//! Whether anything under the headings speaks of this trade.
//!
//! A bill of materials, a stock list and a register of things have *Item*,
//! *Qty*, *Model*, *Location* and *Category* too. Their headings are ours,
//! their rows are not: something in the headings or the values has to be
//! what only a wiring schedule has.

use super::{Column, Resolver};
use crate::intake::notation::{kind_from_tag, kind_from_text};
use crate::intake::recognise::heading::Candidate;
use crate::intake::recognise::roles::makes_present;
use crate::intake::schema::Notation;
use crate::schedule::{FieldName, Name, TableKind};

/// From this part of the values on, a column speaks.
const HALF: f64 = 0.5;
/// Of ends of runs: others are rooms and names of panels.
const SOME: f64 = 0.3;

impl Resolver<'_> {
    /// Something is there that no table of another trade has.
    pub(super) fn is_of_the_trade(&self) -> bool {
        if self.titled {
            return true;
        }
        match self.main {
            TableKind::Equipment => self.tells_units(),
            TableKind::Circuits => self.tells_circuits(),
            TableKind::WireRuns => self.tells_runs(),
            TableKind::Controllers => self.tells_controllers(),
            TableKind::Panels => self.full(|field| {
                matches!(
                    field,
                    FieldName::PanelName | FieldName::PanelMain | FieldName::PanelFedFrom
                )
            }),
            TableKind::JobFacts => true,
        }
    }

    fn fed(&self) -> impl Iterator<Item = (&Column, &Candidate)> {
        let taken = self.columns.iter().zip(&self.taken);
        taken.filter_map(|(column, taken)| Some((column, taken.as_ref()?)))
    }

    /// A field under a heading that is more than a bare word.
    fn full(&self, is: impl Fn(FieldName) -> bool) -> bool {
        self.fed().any(|(_, t)| !t.weak && is(t.field))
    }

    fn column_of(&self, field: FieldName) -> Option<&Column> {
        self.fed().find(|(_, t)| t.field == field).map(|(c, _)| c)
    }

    fn says(&self, field: FieldName, from: f64, is: impl Fn(&str) -> bool) -> bool {
        self.column_of(field).is_some_and(|column| {
            let texts = &column.sample.texts;
            let hits = texts.iter().filter(|text| is(text)).count();
            hits > 0 && hits as f64 >= from * texts.len() as f64
        })
    }

    /// What nameplates of this trade alone state; or names, kinds and headings
    /// that say what the units are; or a supply beside a capacity; or what else
    /// hangs on the unit.
    fn tells_units(&self) -> bool {
        use FieldName::*;
        let nameplate = self.full(|field| {
            matches!(
                field,
                UnitMca
                    | UnitMop
                    | UnitMcaMop
                    | UnitRla
                    | UnitLra
                    | UnitHeatKw
                    | UnitBusLimit
                    | UnitMostUnits
                    | UnitDisconnect
                    | UnitInterlock
            )
        });
        let kinds = |text: &str| kind_from_text(text).is_some();
        let named = self.says(UnitTag, HALF, |text| {
            kind_from_tag(&Name::new(text)).is_some() || kinds(text)
        });
        let told = [UnitKind, UnitDescription, UnitSystem]
            .into_iter()
            .any(|field| self.says(field, HALF, kinds));
        let headed = self.fed().any(|(column, taken)| {
            let names = matches!(taken.field, UnitTag | UnitSystem | UnitKind);
            names && kinds(&column.heading.text())
        });
        let powered = self
            .fed()
            .any(|(_, t)| matches!(t.field, UnitSupply | UnitVolts | UnitFla | UnitHorsepower));
        let measured = self.fed().any(|(column, taken)| {
            let unit = column.unit.or(column.heading.unit).is_some();
            let written = self.says(UnitCapacity, HALF, |text| {
                text.contains(char::is_alphabetic)
            });
            taken.field == UnitCapacity && (unit || written)
        });
        let carries = self.fed().any(|(_, taken)| {
            let kind = taken.field.table();
            let carried = !matches!(kind, TableKind::Equipment | TableKind::JobFacts);
            carried && !taken.weak && makes_present(taken.field)
        });
        nameplate || named || told || headed || powered && measured || carries
    }

    /// More than what a price list of breakers has: something that says
    /// which circuit it is, or what it is run in.
    fn tells_circuits(&self) -> bool {
        use FieldName::*;
        let placed = self.fed().any(|(_, t)| {
            matches!(
                t.field,
                CircuitPanel | CircuitSlots | CircuitPanelSlots | CircuitName
            )
        });
        placed
            || self.full(|field| {
                matches!(
                    field,
                    CircuitLoads | CircuitConductor | CircuitGround | CircuitRaceway
                )
            })
    }

    /// What the wire is, or what it is for; or ends that are marks.
    fn tells_runs(&self) -> bool {
        use FieldName::*;
        let wire = self.fed().any(|(column, taken)| {
            let asks = matches!(
                taken.field,
                RunWire
                    | RunGauge
                    | RunConductors
                    | RunPurpose
                    | RunShield
                    | RunStranding
                    | RunSide
            );
            let reads = self.reads(column, taken.field);
            asks && reads.map_or(!taken.weak, |reads| reads >= HALF)
        });
        let mark = |text: &str| {
            crate::intake::recognise::values::is_tag(text) || kind_from_text(text).is_some()
        };
        let ends = [RunFrom, RunTo].map(|field| self.column_of(field));
        let both = ends.iter().all(Option::is_some);
        let blank = ends.iter().flatten().all(|c| c.sample.texts.is_empty());
        let marked = [RunFrom, RunTo]
            .into_iter()
            .any(|field| self.says(field, SOME, mark));
        wire || both && (blank || marked)
    }

    /// A name under a heading that is a controller's, and marks or the units;
    /// marks of any name beside the units that they control; or a wire that is
    /// a controller's.
    fn tells_controllers(&self) -> bool {
        use FieldName::*;
        let named = self.full(|field| field == ControllerTag);
        let bound = self.fed().any(|(column, taken)| match taken.field {
            ControllerUnits => {
                self.schemas
                    .field(taken.field)
                    .is_some_and(|s| s.notation == Notation::TagList)
                    && self.reads(column, taken.field).is_none_or(|r| r >= HALF)
            }
            ControllerLength | ControllerGroup | ControllerWireless => !taken.weak,
            _ => false,
        });
        let marks = self.says(ControllerTag, HALF, |text| {
            crate::intake::recognise::values::is_tag(text)
        });
        let blank = self
            .column_of(ControllerTag)
            .is_some_and(|column| column.sample.texts.is_empty());
        let controls = self.full(|field| field == ControllerUnits) && bound && marks;
        let wired = self.full(|field| field == ControllerWire);
        named && (bound || marks || blank) || controls || wired
    }
}
