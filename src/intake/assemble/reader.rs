//! From one cell of a known column to a [`Field`]: the grammar, the merge,
//! the ditto and the fault.
//!
//! A reader walks one table, row after row. It keeps no text of its own.

pub(super) use super::columns::Set;
use super::columns::plan;
use super::dates;
use crate::intake::book::{Clock, Sheet, Value};
use crate::intake::found::{FormEntry, FoundColumn, FoundTable};
use crate::intake::notation::{Context, DateDamage, Measured, Reading, Style};
use crate::schedule::{CellId, ColIndex, Fault, Field, FieldName, RowIndex, Sources};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// How far a ditto is followed upwards over rows that this job does not take.
const FARTHEST_DITTO: usize = 1_000;

/// A value without a unit of measure, counted once a column.
struct Assumed {
    first: CellId,
    unit: &'static str,
    cells: u32,
}

pub(super) struct Reader<'a> {
    pub found: &'a FoundTable,
    /// Index into [`Sources::tables`].
    pub table: u32,
    pub faults: Vec<Fault>,
    /// Index into [`Sources::files`].
    pub file: u32,
    /// For a recast sheet: the sheets that its cells stand on, each with its
    /// table.
    pub tables: Vec<(usize, u32)>,
    sheet: &'a Sheet,
    epoch_1904: bool,
    style: Style,
    row: RowIndex,
    /// Index of `row` in the table's rows.
    position: usize,
    /// For each set and field the column that feeds it.
    plan: [Vec<Option<u16>>; 2],
    /// For each column the row of the last ditto, and the row that it meant.
    dittos: Vec<Option<(RowIndex, RowIndex)>>,
    assumed: BTreeMap<(FieldName, ColIndex), Assumed>,
}

/// What stands in a cell, before a grammar reads it.
enum Raw<'a> {
    Empty,
    Text(Cow<'a, str>),
    /// The text of a number: always with a decimal point, whatever the
    /// file's own style.
    Number(Cow<'a, str>),
    Date {
        shown: Cow<'a, str>,
        date: DateDamage,
        code: Option<&'a str>,
    },
    /// Nothing that a grammar could read, and what was expected.
    Broken(&'static str),
}

impl<'a> Reader<'a> {
    pub fn new(
        found: &'a FoundTable,
        sheet: &'a Sheet,
        epoch_1904: bool,
        style: Style,
        table: u32,
    ) -> Self {
        Self {
            found,
            table,
            faults: Vec::new(),
            file: 0,
            tables: Vec::new(),
            sheet,
            epoch_1904,
            style,
            row: RowIndex(0),
            position: 0,
            plan: plan(found),
            dittos: vec![None; found.columns.len()],
            assumed: BTreeMap::new(),
        }
    }

    /// Steps to a row. `false` where the table has no such row.
    pub fn go_to(&mut self, row: RowIndex) -> bool {
        self.row = row;
        // Rows come in order: the next one is nearly always the one asked.
        let next = self.position + 1;
        if self.found.rows.get(next) == Some(&row) {
            self.position = next;
            return true;
        }
        match self.found.rows.binary_search(&row) {
            Ok(position) => {
                self.position = position;
                true
            }
            Err(_) => false,
        }
    }

    /// File and sheet.
    pub fn place(&self) -> (u32, usize) {
        (self.file, self.found.sheet)
    }

    pub fn row(&self) -> RowIndex {
        self.row
    }

    pub fn has(&self, field: FieldName) -> bool {
        self.has_in(Set::Whole, field)
    }

    pub fn has_in(&self, set: Set, field: FieldName) -> bool {
        self.column(set, field).is_some()
    }

    /// The first of the fields that has a column.
    pub fn first_of(&self, fields: &[FieldName]) -> Option<FieldName> {
        fields.iter().copied().find(|&field| self.has(field))
    }

    /// The cell of a field in this row, empty or not.
    pub fn cell(&self, field: FieldName) -> Option<CellId> {
        let (_, column) = self.column(Set::Whole, field)?;
        Some(self.id(column.column))
    }

    fn id(&self, column: ColIndex) -> CellId {
        self.id_at(self.row, column)
    }

    /// The cell at which this row begins.
    pub fn row_cell(&self) -> CellId {
        self.id_at(self.row, self.first_column())
    }

    /// The cell at which the heading begins, for what only a title or a
    /// sheet's name tells.
    pub fn heading_cell(&self) -> CellId {
        self.id_at(self.found.header.0, self.first_column())
    }

    fn first_column(&self) -> ColIndex {
        self.found.columns.first().map_or(ColIndex(0), |c| c.column)
    }

    /// A cell of the table's sheet, as places name it.
    pub fn id_at(&self, row: RowIndex, column: ColIndex) -> CellId {
        if let Some(origin) = self.sheet.origin(row, column, self.found.header.1) {
            let table = self.tables.iter().find(|(sheet, _)| *sheet == origin.sheet);
            return CellId {
                table: table.map_or(self.table, |(_, table)| *table),
                row: origin.row,
                column: origin.column,
            };
        }
        CellId {
            table: self.table,
            row,
            column,
        }
    }

    fn column(&self, set: Set, field: FieldName) -> Option<(usize, &'a FoundColumn)> {
        let index = usize::from(self.plan[set as usize].get(field as usize).copied()??);
        Some((index, self.found.columns.get(index)?))
    }

    fn context(&self, column: &FoundColumn, raw: &Raw<'_>) -> Context {
        Context {
            style: match raw {
                Raw::Number(_) => Style::Point,
                _ => self.style,
            },
            unit: column.unit,
        }
    }

    /// Reads the field's cell in this row. What cannot be understood becomes
    /// a fault.
    pub fn read<T: PartialEq>(
        &mut self,
        field: FieldName,
        grammar: impl Fn(&str, &Context) -> Reading<T>,
    ) -> Field<T> {
        self.read_in(Set::Whole, field, grammar)
    }

    pub fn read_in<T: PartialEq>(
        &mut self,
        set: Set,
        field: FieldName,
        grammar: impl Fn(&str, &Context) -> Reading<T>,
    ) -> Field<T> {
        let Some((index, column)) = self.column(set, field) else {
            return Field::Blank(None);
        };
        let at = self.id(column.column);
        let raw = self.raw(self.row, column.column);
        let ctx = self.context(column, &raw);
        match raw {
            Raw::Empty => Field::Blank(Some(at)),
            Raw::Text(text) | Raw::Number(text) => match grammar(&text, &ctx) {
                Reading::Same => self.ditto(index, column, field, at, grammar),
                Reading::Unreadable { expected, guess } => {
                    match DateDamage::from_text(&text) {
                        Some(date) if dates::turned(field) => {
                            return self.damaged(field, at, (&text, date, None), &ctx, grammar);
                        }
                        _ => {}
                    }
                    self.unreadable(field, at, expected, guess)
                }
                said => settle(said, at),
            },
            Raw::Date { shown, date, code } => {
                self.dated(field, at, (&shown, date, code), &ctx, grammar)
            }
            Raw::Broken(expected) => self.unreadable(field, at, expected, None),
        }
    }

    /// As [`Self::read`] for grammars that say whether a unit of measure was
    /// stated; where none was, the column is counted.
    pub fn measure<T: PartialEq>(
        &mut self,
        field: FieldName,
        unit: &'static str,
        grammar: impl Fn(&str, &Context) -> Reading<Measured<T>>,
    ) -> Field<T> {
        self.measure_in(Set::Whole, field, unit, grammar)
    }

    pub fn measure_in<T: PartialEq>(
        &mut self,
        set: Set,
        field: FieldName,
        unit: &'static str,
        grammar: impl Fn(&str, &Context) -> Reading<Measured<T>>,
    ) -> Field<T> {
        let read = self.read_in(set, field, grammar);
        if let Field::Given(given) = &read
            && !given.value.unit_stated
        {
            let entry = self
                .assumed
                .entry((field, given.at.column))
                .or_insert(Assumed {
                    first: given.at,
                    unit,
                    cells: 0,
                });
            entry.cells += 1;
        }
        read.map(|measured| measured.value)
    }

    /// The value of the field's cell if the grammar takes it as it is; no
    /// fault where it does not. For a cell that may be in one of two
    /// notations.
    pub fn quietly<T>(
        &self,
        set: Set,
        field: FieldName,
        grammar: impl Fn(&str, &Context) -> Reading<T>,
    ) -> Option<T> {
        let (_, column) = self.column(set, field)?;
        let raw = self.raw(self.row, column.column);
        let ctx = self.context(column, &raw);
        match &raw {
            Raw::Text(text) | Raw::Number(text) => grammar(text, &ctx).value(),
            _ => None,
        }
    }

    /// Records that a cell could not be understood.
    pub fn unreadable<T>(
        &mut self,
        field: FieldName,
        at: CellId,
        expected: &'static str,
        guess: Option<String>,
    ) -> Field<T> {
        self.faults.push(Fault::Unreadable {
            at,
            field,
            expected,
            guess,
        });
        Field::Unreadable(at)
    }

    /// The field's text in this row as a person sees it; of a merged range,
    /// the range's. `None` where nothing stands there.
    pub fn text(&self, field: FieldName) -> Option<Cow<'a, str>> {
        let (_, column) = self.column(Set::Whole, field)?;
        match self.raw(self.row, column.column) {
            Raw::Empty | Raw::Broken(_) => None,
            Raw::Text(text) | Raw::Number(text) => Some(text),
            Raw::Date { shown, .. } => Some(shown),
        }
    }

    /// Whether the field's value in this row comes from a merged range that
    /// begins in a row above.
    pub fn is_merged_down(&self, field: FieldName) -> bool {
        self.column(Set::Whole, field)
            .and_then(|(_, column)| self.covering(self.row, column.column))
            .is_some_and(|anchor| anchor < self.row)
    }

    /// A value of a form on the sheet of this table. Label and value may
    /// share a cell (`PANEL: LP`): the value is what follows the colon.
    pub fn form<T: PartialEq>(
        &mut self,
        entry: &FormEntry,
        grammar: impl Fn(&str, &Context) -> Reading<T>,
    ) -> Field<T> {
        let (field, cell) = (entry.field, entry.value);
        let at = self.id_at(cell.0, cell.1);
        let raw = match self.value(cell.0, cell.1) {
            Raw::Text(text) => match entry.value_in(&text) {
                "" => Raw::Empty,
                value => Raw::Text(Cow::Owned(value.to_owned())),
            },
            raw => raw,
        };
        let ctx = Context {
            style: match raw {
                Raw::Number(_) => Style::Point,
                _ => self.style,
            },
            unit: None,
        };
        match raw {
            Raw::Empty => Field::Blank(Some(at)),
            Raw::Text(text) | Raw::Number(text) => match grammar(&text, &ctx) {
                Reading::Unreadable { expected, guess } => {
                    self.unreadable(field, at, expected, guess)
                }
                Reading::Same => Field::Blank(Some(at)),
                said => settle(said, at),
            },
            Raw::Date { shown, date, code } => {
                self.dated(field, at, (&shown, date, code), &ctx, grammar)
            }
            Raw::Broken(expected) => self.unreadable(field, at, expected, None),
        }
    }

    /// Keeps the texts of this row's known columns.
    pub fn keep_texts(&self, sources: &mut Sources) {
        for column in &self.found.columns {
            if column.fields.is_empty() {
                continue;
            }
            if let Some(text) = self.shown(self.row, column.column) {
                sources.keep_text(self.id(column.column), &text);
            }
        }
    }

    /// The text of a cell as a person sees it, merged ranges followed.
    pub fn shown(&self, row: RowIndex, column: ColIndex) -> Option<Cow<'a, str>> {
        let row = self.covering(row, column).unwrap_or(row);
        let cell = self.sheet.cell(row, column)?;
        let text = cell.text();
        (!text.trim().is_empty()).then_some(text)
    }

    /// The first row of the merged range that the cell lies in, where the
    /// range begins in the same column and below the heading.
    fn covering(&self, row: RowIndex, column: ColIndex) -> Option<RowIndex> {
        let merge = self.sheet.covering_merge(row, column)?;
        let (first, left) = merge.first;
        (left == column && first > self.found.header.1 && first < row).then_some(first)
    }

    fn raw(&self, row: RowIndex, column: ColIndex) -> Raw<'a> {
        self.value(self.covering(row, column).unwrap_or(row), column)
    }

    fn value(&self, row: RowIndex, column: ColIndex) -> Raw<'a> {
        let Some(cell) = self.sheet.cell(row, column) else {
            return Raw::Empty;
        };
        match cell.value() {
            Value::Text(text) if text.trim().is_empty() => Raw::Empty,
            Value::Text(text) => Raw::Text(Cow::Borrowed(text)),
            Value::Number(_) => Raw::Number(cell.text()),
            Value::Bool(_) => Raw::Text(cell.text()),
            Value::DateTime { serial, code } => match Clock::at(serial, self.epoch_1904) {
                Some(clock) => Raw::Date {
                    shown: cell.text(),
                    date: DateDamage {
                        year: i16::try_from(clock.year).ok(),
                        month: u8::try_from(clock.month).unwrap_or(0),
                        day: u8::try_from(clock.day).ok(),
                    },
                    code,
                },
                None => Raw::Broken("a value; the cell holds a date that no calendar has"),
            },
            Value::Error(_) => Raw::Broken("a value; the formula in the cell ends in an error"),
            Value::FormulaWithoutValue => Raw::Broken(
                "a value; the cell holds a formula that was never calculated: \
                 open the workbook in a spreadsheet program and save it",
            ),
        }
    }

    /// The value that a ditto means: the nearest one above in the column.
    fn ditto<T>(
        &mut self,
        index: usize,
        column: &FoundColumn,
        field: FieldName,
        at: CellId,
        grammar: impl Fn(&str, &Context) -> Reading<T>,
    ) -> Field<T> {
        let known = self.dittos.get(index).copied().flatten();
        let mut position = self.position;
        for _ in 0..FARTHEST_DITTO {
            let Some(&row) = position
                .checked_sub(1)
                .and_then(|before| self.found.rows.get(before))
            else {
                break;
            };
            position -= 1;
            let row = match known {
                Some((ditto, meant)) if ditto == row => meant,
                _ => row,
            };
            let raw = self.raw(row, column.column);
            let ctx = self.context(column, &raw);
            let said = match &raw {
                Raw::Empty => Reading::Blank,
                Raw::Text(text) | Raw::Number(text) => grammar(text, &ctx),
                // Reported at its own cell.
                Raw::Date { .. } | Raw::Broken(_) => return Field::Unreadable(at),
            };
            match said {
                Reading::Same => continue,
                Reading::Unreadable { .. } => return Field::Unreadable(at),
                said => {
                    if let Some(memo) = self.dittos.get_mut(index) {
                        *memo = Some((self.row, row));
                    }
                    return settle(said, at);
                }
            }
        }
        self.unreadable(
            field,
            at,
            "a value; the cell says the same as above, and nothing stands above",
            None,
        )
    }

    /// The faults of the table, those that are counted by columns included.
    pub fn finish(mut self) -> Vec<Fault> {
        let assumed = std::mem::take(&mut self.assumed);
        self.faults.extend(
            assumed
                .into_iter()
                .map(|((field, _), a)| Fault::UnitAssumed {
                    first: a.first,
                    field,
                    assumed: a.unit,
                    cells: a.cells,
                }),
        );
        self.faults
    }
}

/// The state of a field, for what was said and understood.
fn settle<T>(said: Reading<T>, at: CellId) -> Field<T> {
    match said {
        Reading::Value(value) => Field::given(value, at),
        Reading::Blank | Reading::Same => Field::Blank(Some(at)),
        Reading::Unknown => Field::Unknown(at),
        Reading::Elsewhere => Field::Elsewhere(at),
        Reading::Unreadable { .. } => Field::Unreadable(at),
    }
}
