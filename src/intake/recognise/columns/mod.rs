//! Which column feeds which field, and what kind of table the columns make.

mod trade;
mod verdict;

use super::form::Titled;
use super::heading::{Candidate, Heading, measures_alike};
use super::roles::{doors_are_long, is_dwelling, makes_present, may_stand_beside, names_the_row};
use super::values::Sample;
use crate::intake::found::FoundColumn;
use crate::intake::notation::{ColumnUnit, Context, Style};
use crate::intake::schema::Schemas;
use crate::schedule::{ColIndex, FieldName, TableKind};

/// A column that may belong to a table.
#[derive(Clone, Debug)]
pub(super) struct Column {
    pub at: ColIndex,
    pub heading: Heading,
    pub sample: Sample,
    /// From a row of units under the heading.
    pub unit: Option<ColumnUnit>,
}

/// The fields of all columns, under the best kind of table.
#[derive(Clone, Debug)]
pub(super) struct Understood {
    pub kind: TableKind,
    pub kinds: Vec<TableKind>,
    pub columns: Vec<FoundColumn>,
    /// Sum of the scores, own columns counting more.
    pub weight: f64,
}

/// A column is taken from this score on.
const ENOUGH: f64 = 0.6;
/// Two fields this near to each other are not chosen between.
const MARGIN: f64 = 0.05;
/// Of a table that the row carries beside its main kind.
const BESIDE: f64 = 0.9;
/// Of a table that nothing else in the row speaks of.
const STRANGER: f64 = 0.8;
/// Kinds of which a row can be, the likelier first among equals.
const ROW_KINDS: [TableKind; 5] = [
    TableKind::Equipment,
    TableKind::Circuits,
    TableKind::WireRuns,
    TableKind::Controllers,
    TableKind::Panels,
];

/// What a title is worth that names the kind.
const TITLED: f64 = 1.0;

/// What the columns are as one table; `None` where they are no schedule.
pub(super) fn understand(
    columns: &[Column],
    titled: &Titled,
    style: Style,
    schemas: &Schemas,
) -> Option<Understood> {
    let mut best: Option<Understood> = None;
    for kind in ROW_KINDS
        .into_iter()
        .filter(|kind| !titled.not.contains(kind))
    {
        let mut resolver = Resolver::new(columns, kind, style, schemas);
        resolver.titled = titled.of.contains(&kind);
        let Some(mut found) = resolver.resolve() else {
            continue;
        };
        if titled.of.contains(&kind) {
            found.weight += TITLED;
        }
        if best.as_ref().is_none_or(|b| found.weight > b.weight + 1e-9) {
            best = Some(found);
        }
    }
    best
}

struct Resolver<'a> {
    columns: &'a [Column],
    main: TableKind,
    style: Style,
    schemas: &'a Schemas,
    /// A title says that the rows are of the main kind.
    titled: bool,
    /// Tables that the row carries, the main one first.
    present: Vec<TableKind>,
    /// By column: what it may mean here, the best first.
    options: Vec<Vec<Candidate>>,
    /// By column: what it was taken for.
    taken: Vec<Option<Candidate>>,
}

impl<'a> Resolver<'a> {
    fn new(columns: &'a [Column], main: TableKind, style: Style, schemas: &'a Schemas) -> Self {
        let mut resolver = Self {
            columns,
            main,
            style,
            schemas,
            titled: false,
            present: vec![main],
            options: Vec::new(),
            taken: vec![None; columns.len()],
        };
        resolver.find_present();
        resolver.options = columns.iter().map(|c| resolver.weigh(c)).collect();
        resolver
    }

    /// Other tables in the row: those that a column speaks of which means
    /// nothing in the main one.
    fn find_present(&mut self) {
        for kind in TableKind::ALL {
            if kind == self.main || !may_stand_beside(self.main, kind) {
                continue;
            }
            let speaks = self.columns.iter().any(|column| {
                let candidates = &column.heading.candidates;
                let own = candidates
                    .iter()
                    .any(|c| c.field.table() == self.main && (!c.weak || c.band));
                let banded = candidates
                    .iter()
                    .any(|c| c.field.table() == kind && c.band && makes_present(c.field));
                banded
                    || !own
                        && candidates
                            .iter()
                            .any(|c| c.field.table() == kind && !c.weak && makes_present(c.field))
            });
            if speaks {
                self.present.push(kind);
            }
        }
    }

    /// Scores of the fields that one column may mean here.
    fn weigh(&self, column: &Column) -> Vec<Candidate> {
        let candidates = &column.heading.candidates;
        let own = candidates.iter().any(|c| c.field.table() == self.main);
        let own_band = candidates
            .iter()
            .any(|c| c.field.table() == self.main && c.band);
        let mut options: Vec<Candidate> = Vec::new();
        for candidate in candidates {
            let table = candidate.field.table();
            let present = self.present.contains(&table);
            let stranger = table != self.main && !present;
            if stranger && (own || candidate.weak) || candidate.weak && table != self.main && own {
                continue;
            }
            if table == TableKind::JobFacts && !present {
                continue;
            }
            let mut option = *candidate;
            // Of bands that both tables know, the rows' own table has it.
            if candidate.band && table != self.main && own_band {
                option.score *= BESIDE;
            }
            if !candidate.band {
                option.score *= match (table == self.main || !own, present) {
                    (true, true) => 1.0,
                    (_, true) => BESIDE,
                    _ => STRANGER,
                };
            }
            option.score *= self.borne_out(column, candidate, stranger);
            // *Outdoor Unit* over the same few marks says whose they are.
            let repeats = candidate.field == FieldName::UnitTag
                && candidate.weak
                && column.sample.texts.len() >= 2
                && column.sample.repeats() > 0.5
                && candidates.iter().any(|c| c.field == FieldName::UnitSystem);
            if repeats {
                continue;
            }
            // `No.` over 1, 2, 3 is a running number.
            let counts = candidate.field == FieldName::UnitQuantity && candidate.weak;
            if counts && column.sample.runs() {
                continue;
            }
            options.push(option);
        }
        self.prefer_what_reads(column, &mut options);
        options.sort_by(|a, b| b.score.total_cmp(&a.score).then(a.field.cmp(&b.field)));
        options
    }

    /// What the values say: much for a bare heading, little for a full one,
    /// because a slip in the cells must not hide the column. A field of a table
    /// that the rows are not of needs its values too.
    fn borne_out(&self, column: &Column, candidate: &Candidate, stranger: bool) -> f64 {
        let bare = candidate.weak || stranger;
        match (self.reads(column, candidate.field), bare) {
            (Some(reads), true) => 0.6 + 0.4 * reads,
            (Some(reads), false) => 0.95 + 0.05 * reads,
            (None, true) => 0.9,
            (None, false) => 1.0,
        }
    }

    fn reads(&self, column: &Column, field: FieldName) -> Option<f64> {
        let schema = self.schemas.field(field)?;
        if column.sample.texts.is_empty() {
            return None;
        }
        match field {
            FieldName::CircuitPanelSlots => {
                return Some(column.sample.panels_and_slots(&schema.prefixes));
            }
            // A name before several slots is more than a name.
            FieldName::CircuitPanel | FieldName::CircuitName => {
                let prefixes = self
                    .schemas
                    .field(FieldName::CircuitPanelSlots)
                    .map_or(&[][..], |s| &s.prefixes);
                return Some(0.8 * (1.0 - column.sample.panels_and_slots(prefixes)));
            }
            _ => {}
        }
        let context = Context {
            style: self.style,
            unit: self.unit_for(column, field),
        };
        let mut reads = column.sample.reads(schema.notation, &context);
        // Which mark the file's decimals have is settled after its tables.
        if self.style == Style::Point && column.sample.has_comma_in_figures() {
            let style = Style::Comma;
            let context = Context { style, ..context };
            let comma = column.sample.reads(schema.notation, &context);
            reads = if comma > reads { comma } else { reads };
        }
        match field {
            // Some rooms are places too (a closet, an attic): only a column
            // of nothing else is the place.
            FieldName::UnitPlace => reads.map(|r| if r > 0.9 { r } else { r * 0.5 }),
            _ => reads,
        }
    }

    fn unit_for(&self, column: &Column, field: FieldName) -> Option<ColumnUnit> {
        let kept = self.schemas.field(field)?.unit?;
        let written = column.unit.or(column.heading.unit)?;
        measures_alike(kept, written).then_some(written)
    }

    /// A full heading whose values do not read gives way to another field of
    /// the same table under which they do.
    fn prefer_what_reads(&self, column: &Column, options: &mut [Candidate]) {
        if column.sample.texts.len() < 2 {
            return;
        }
        let reads: Vec<f64> = options
            .iter()
            .map(|o| self.reads(column, o.field).unwrap_or(0.5))
            .collect();
        let better = |table: TableKind, than: f64| {
            options
                .iter()
                .zip(&reads)
                .any(|(o, r)| o.field.table() == table && *r > than + 0.4 && *r >= 0.6)
        };
        let demote: Vec<bool> = options
            .iter()
            .zip(&reads)
            .map(|(o, r)| *r < 0.3 && better(o.field.table(), *r))
            .collect();
        for (option, demote) in options.iter_mut().zip(demote) {
            if demote {
                option.score = option.score.min(ENOUGH - 0.05);
            }
        }
    }

    fn resolve(mut self) -> Option<Understood> {
        self.tell_marks();
        self.tell_dwellings();
        self.tell_volts();
        self.take_all(false);
        self.prefer_by_place();
        self.take_all(false);
        self.ask_neighbours();
        self.take_all(true);
        self.finish()
    }

    /// *Equipment* over marks, where no other column has them, is the tag and
    /// no description.
    fn tell_marks(&mut self) {
        let tag = |o: &Candidate| o.field == FieldName::UnitTag;
        let named = |options: &Vec<Candidate>| options.iter().any(|o| tag(o) && !o.weak);
        if self.main != TableKind::Equipment || self.options.iter().any(named) {
            return;
        }
        for (column, options) in self.columns.iter().zip(&mut self.options) {
            if options.iter().any(tag) && column.sample.tags() >= 0.6 {
                options.retain(|o| o.field != FieldName::UnitDescription);
            }
        }
    }

    /// *Unit* as the number on a door: beside another column of marks, or
    /// where the values look like doors and not like marks.
    fn tell_dwellings(&mut self) {
        for (index, column) in self.columns.iter().enumerate() {
            let bare =
                |options: &[Candidate]| options.iter().any(|o| is_dwelling(o.field) && o.weak);
            if !self.options.get(index).is_some_and(|o| bare(o)) {
                continue;
            }
            let sample = &column.sample;
            let others = self.options.iter().enumerate().any(|(other, options)| {
                other != index
                    && options
                        .first()
                        .is_some_and(|o| names_the_row(o.field) && o.score >= ENOUGH)
                    && self
                        .columns
                        .get(other)
                        .is_some_and(|c| c.sample.tags() >= 0.5)
            });
            let doors = sample.doors();
            let is_door = sample.tags() < 0.5
                && (doors >= 0.7 && (others || sample.repeats() > 0.3 || doors_are_long(sample))
                    || others && sample.repeats() >= 0.5 && sample.figures() >= 0.5);
            if let Some(options) = self.options.get_mut(index) {
                options.retain(|o| !o.weak || is_dwelling(o.field) == is_door);
                for option in options.iter_mut().filter(|o| is_dwelling(o.field)) {
                    option.score = option.score.max(0.85);
                }
            }
        }
    }

    /// Volts in a column of their own where phases have one too; else the
    /// column is the supply.
    fn tell_volts(&mut self) {
        let phases = self.options.iter().any(|options| {
            options
                .first()
                .is_some_and(|o| o.field == FieldName::UnitPhase && !o.weak)
        });
        for index in 0..self.options.len() {
            let Some((column, options)) = self.columns.get(index).zip(self.options.get(index))
            else {
                continue;
            };
            let both = [FieldName::UnitSupply, FieldName::UnitVolts]
                .iter()
                .all(|field| options.iter().any(|o| o.field == *field));
            // A pair such as 208/230 is a supply all the same.
            let plain = self.reads(column, FieldName::UnitVolts).unwrap_or(1.0) >= 0.5;
            let drop = if phases && plain {
                FieldName::UnitSupply
            } else {
                FieldName::UnitVolts
            };
            if both && let Some(options) = self.options.get_mut(index) {
                options.retain(|o| o.field != drop);
            }
        }
    }

    /// Takes the surest column and field again and again, until what is left
    /// is below the threshold or cannot be told apart.
    fn take_all(&mut self, last: bool) {
        loop {
            let mut best: Option<(f64, usize, (usize, Candidate))> = None;
            for (index, options) in self.options.iter().enumerate() {
                if self.taken.get(index).is_none_or(Option::is_some) {
                    continue;
                }
                let free: Vec<&Candidate> =
                    options.iter().filter(|o| !self.is_fed(o.field)).collect();
                let Some(&&first) = free.first() else {
                    continue;
                };
                let undecided = free
                    .get(1)
                    .is_some_and(|second| first.score - second.score < MARGIN);
                // A bare word of another table waits for its neighbours.
                let waits = first.weak && first.field.table() != self.main && !last;
                if first.score < ENOUGH || undecided || waits {
                    continue;
                }
                // Of equals, the column that could mean nothing else.
                let better = |(score, options, _): &(f64, usize, _)| {
                    let ahead = first.score - score;
                    ahead > 1e-9 || ahead > -1e-9 && free.len() < *options
                };
                if best.as_ref().is_none_or(better) {
                    best = Some((first.score, free.len(), (index, first)));
                }
            }
            let Some((_, _, (index, candidate))) = best else {
                return;
            };
            if let Some(taken) = self.taken.get_mut(index) {
                *taken = Some(candidate);
            }
        }
    }

    /// Between two fields that a bare heading may mean: the one whose usual
    /// neighbour stands beside it, or the one that names the row, where
    /// nothing names it yet.
    fn prefer_by_place(&mut self) {
        let identity = self
            .schemas
            .table(self.main)
            .map_or(&[][..], |t| &t.identity);
        let nameless = !identity.iter().any(|field| self.is_fed(*field));
        let fields: Vec<Option<FieldName>> =
            self.taken.iter().map(|t| t.map(|t| t.field)).collect();
        let at = |index: Option<usize>| index.and_then(|i| fields.get(i).copied().flatten());
        for (index, options) in self.options.iter_mut().enumerate() {
            let beside = [at(index.checked_sub(1)), at(index.checked_add(1))];
            for option in options.iter_mut().filter(|o| o.weak) {
                let usual = self
                    .schemas
                    .field(option.field)
                    .map_or(&[][..], |s| &s.beside);
                let near = beside.iter().flatten().any(|field| usual.contains(field));
                if near || nameless && identity.first() == Some(&option.field) {
                    option.score += MARGIN;
                }
            }
            options.sort_by(|a, b| b.score.total_cmp(&a.score).then(a.field.cmp(&b.field)));
        }
    }

    fn is_fed(&self, field: FieldName) -> bool {
        let many = self.schemas.field(field).is_some_and(|s| s.many);
        !many && self.taken.iter().flatten().any(|t| t.field == field)
    }

    /// A bare *Length* or *Wire* beside a column of one of the tables that it
    /// may belong to is that table's, unless the other side says otherwise.
    fn ask_neighbours(&mut self) {
        for index in 0..self.columns.len() {
            if self.taken.get(index).is_none_or(Option::is_some) {
                continue;
            }
            let tables: Vec<TableKind> = self
                .options
                .get(index)
                .map_or(&[][..], Vec::as_slice)
                .iter()
                .filter(|o| o.weak && o.field.table() != self.main && !self.is_fed(o.field))
                .map(|o| o.field.table())
                .collect();
            if tables.is_empty() {
                continue;
            }
            let table_at = |at: Option<usize>| {
                let taken = (*self.taken.get(at?)?)?;
                tables
                    .contains(&taken.field.table())
                    .then(|| taken.field.table())
            };
            let left = table_at(index.checked_sub(1));
            let right = table_at(index.checked_add(1));
            let chosen = match (left, right) {
                (Some(left), Some(right)) if left != right => None,
                (Some(table), _) | (_, Some(table)) => Some(table),
                (None, None) => None,
            };
            if let Some(options) = self.options.get_mut(index) {
                match chosen {
                    Some(table) => options.retain(|o| !o.weak || o.field.table() == table),
                    // Nobody speaks for it: only notation may.
                    None => options
                        .iter_mut()
                        .filter(|o| o.weak)
                        .for_each(|o| o.score -= 0.15),
                }
            }
            // What was settled here is the neighbour of the next.
            if chosen.is_some()
                && let Some(&option) = self.options.get(index).and_then(|o| o.first())
                && option.score >= ENOUGH
                && !self.is_fed(option.field)
                && let Some(taken) = self.taken.get_mut(index)
            {
                *taken = Some(option);
            }
        }
    }
}
