//! One table after the other: which rows are taken, which left out, and what
//! the table lacks.

use super::reader::Reader;
use super::typical::Dwellings;
use super::{ReadFile, RowChoice};
use crate::intake::book::Sheet;
use crate::intake::found::{FoundTable, SectionOf};
use crate::intake::notation::{Context, Reading, name, panel_supply};
use crate::intake::schema::Schemas;
use crate::schedule::{
    CellId, Circuit, ColIndex, ColumnMap, Draft, Fault, Field, FieldName, Name, Panel, RowIndex,
    RowLeftOut, SourceTable, TableKind, Unit,
};
use std::collections::{BTreeMap, BTreeSet};

/// A table of the job that waits to be read.
struct Waiting<'a> {
    /// Index into [`crate::schedule::Sources::tables`].
    index: usize,
    /// Of a recast sheet: the sheets that its cells stand on, with tables.
    sheets: Vec<(usize, u32)>,
    file: &'a ReadFile,
    found: &'a FoundTable,
    rows: Option<&'a [RowIndex]>,
}

/// File and sheet, cell, and field of an entry of a form.
type FormCell = ((u32, usize), (RowIndex, ColIndex), FieldName);

#[derive(Default)]
pub(super) struct Assembly<'a> {
    pub draft: Draft,
    /// In the order of [`crate::schedule::Sources::tables`].
    waiting: Vec<Waiting<'a>>,
    /// Names of the panels that the job schedules, each once.
    pub panels: Vec<Name>,
    /// Runs that rows of units and controllers tell of, rising.
    pub derived: Vec<usize>,
    /// Entries of forms that were read.
    pub forms_read: BTreeSet<FormCell>,
    /// Of which type the job's dwellings are.
    pub dwellings: Dwellings,
}

/// What rows of one table share.
#[derive(Default)]
pub(super) struct Shared {
    /// The panel that a panel schedule's sheet is about.
    pub panel: Field<Name>,
    /// The dwelling that the sheet's form names.
    pub dwelling: Field<Name>,
    /// The system that a section row names.
    pub system: Field<Name>,
    /// Sections of the table that were passed.
    pub passed: usize,
    /// For each slot that a multi-pole circuit above spans, that circuit.
    pub spanned: BTreeMap<(Option<Name>, u16), usize>,
    /// The unit, circuit and controller of the row before, for rows that a
    /// merged tag continues.
    pub last_unit: Option<usize>,
    /// The row that told of it last.
    pub last_row: Option<RowIndex>,
    pub last_circuit: Option<usize>,
}

impl Shared {
    /// Begins the rows of a dwelling anew: nothing of the one before holds.
    fn of_dwelling(&mut self, dwelling: &Field<Name>) {
        self.dwelling = dwelling.clone();
        self.spanned.clear();
        self.last_unit = None;
        self.last_row = None;
        self.last_circuit = None;
    }
}

/// Why a row was not taken.
pub(super) type Reason = &'static str;

impl<'a> Assembly<'a> {
    /// Lists the tables of a file, so that each has its number before any is
    /// read.
    pub fn add_file(&mut self, file: &'a ReadFile, choice: &'a RowChoice, index: u32) {
        let mut add = |found: &'a FoundTable, rows: Option<&'a [RowIndex]>| {
            let sheet = file.book.sheet(found.sheet);
            let number = self.draft.sources.tables.len();
            let place = |row: RowIndex, column: ColIndex| {
                let origin = sheet.and_then(|sheet| sheet.origin(row, column, found.header.1));
                origin.map_or((row, column), |origin| (origin.row, origin.column))
            };
            let first = found.columns.first().map_or(ColIndex(0), |c| c.column);
            let header = match sheet.is_some_and(Sheet::is_recast) {
                true => (
                    place(found.header.1, first).0,
                    place(found.header.1, first).0,
                ),
                false => found.header,
            };
            self.draft.sources.tables.push(SourceTable {
                file: index,
                sheet: sheet.and_then(|sheet| sheet.name.clone()),
                kind: found.kind,
                kinds: found.kinds.clone(),
                header,
                part_of: None,
                columns: found
                    .columns
                    .iter()
                    .map(|c| ColumnMap {
                        column: place(found.header.1, c.column).1,
                        heading: c.heading.clone(),
                        fields: c.fields.clone(),
                        score: c.score,
                    })
                    .collect(),
                rows_taken: 0,
                rows_left_out: Vec::new(),
                hidden: sheet.is_some_and(|sheet| sheet.is_hidden()),
            });
            self.dwellings.add(found, number as u32);
            let mut sheets = Vec::new();
            for (at, origin) in sheet
                .map_or(Vec::new(), Sheet::stands_on)
                .into_iter()
                .enumerate()
            {
                let mut table = number;
                if at > 0 {
                    table = self.draft.sources.tables.len();
                    self.draft
                        .sources
                        .tables
                        .push(beside(file, origin, index, number, found));
                }
                sheets.push((origin, table as u32));
            }
            self.waiting.push(Waiting {
                index: number,
                sheets,
                file,
                found,
                rows,
            });
        };
        match choice {
            RowChoice::All => file.tables.iter().for_each(|found| add(found, None)),
            RowChoice::Rows(tables) => {
                for (table, rows) in tables {
                    if let Some(found) = file.tables.get(*table) {
                        add(found, Some(rows));
                    }
                }
            }
        }
    }

    /// Reads all tables, those of panels first: a cell like `LP-1,3` is told
    /// apart by the panels that there are.
    pub fn read_tables(&mut self) {
        let waiting = std::mem::take(&mut self.waiting);
        for table in &waiting {
            self.note_panels(table);
        }
        self.panels.sort();
        self.panels.dedup();
        for table in &waiting {
            self.read_table(table.index, table);
        }
        self.drop_repeated_runs();
    }

    fn reader_of(table: &Waiting<'a>, index: usize) -> Option<Reader<'a>> {
        let sheet = table.file.book.sheet(table.found.sheet)?;
        let (epoch, style) = (table.file.book.epoch_1904, table.file.style);
        let mut reader = Reader::new(table.found, sheet, epoch, style, index as u32);
        reader.tables.clone_from(&table.sheets);
        Some(reader)
    }

    /// The names of panels in a table, quietly: faults come when it is read.
    fn note_panels(&mut self, table: &Waiting<'a>) {
        if let Some((panel, _)) = &table.found.panel {
            self.panels.push(Name::new(panel));
        }
        let Some(mut reader) = Self::reader_of(table, 0) else {
            return;
        };
        let sections = table.found.sections.iter();
        let panels = sections.filter(|section| section.of == SectionOf::Panel);
        self.panels
            .extend(panels.map(|section| Name::new(&section.name)));
        for entry in &table.found.form {
            if entry.field == FieldName::PanelName
                && let Field::Given(panel) = reader.form(entry, panel_name)
            {
                self.panels.push(panel.value);
            }
        }
        let Some(field) = reader.first_of(&[FieldName::PanelName, FieldName::CircuitPanel]) else {
            return;
        };
        let mut last = String::new();
        for &row in table.rows.unwrap_or(&table.found.rows) {
            if reader.go_to(row)
                && let Some(text) = reader.text(field)
                && text != last
            {
                last = text.into_owned();
                if let Some(panel) = reader.quietly(super::reader::Set::Whole, field, panel_name) {
                    self.panels.push(panel);
                }
            }
            if self.panels.len() > 4_096 {
                self.panels.sort();
                self.panels.dedup();
            }
        }
    }

    fn read_table(&mut self, index: usize, table: &Waiting<'a>) {
        let Some(mut reader) = Self::reader_of(table, index) else {
            return;
        };
        reader.file = self.draft.sources.tables.get(index).map_or(0, |t| t.file);
        let found = table.found;
        let mut shared = self.read_form(&mut reader);
        let whole = table.rows.is_none();
        let mut left_out = if whole {
            found.left_out.clone()
        } else {
            Vec::new()
        };
        let mut taken = 0_u32;
        let lacks = lacking(&reader, &shared, found);
        if !lacks.is_empty() {
            self.draft.faults.push(Fault::ColumnMissing {
                table: index as u32,
                fields: lacks.clone(),
            });
        }
        if !found.types.is_empty() {
            for dwelling in &found.types {
                let at = reader.id_at(dwelling.at.0, dwelling.at.1);
                self.draft.sources.keep_text(at, &dwelling.name);
            }
            if let Some(source) = self.draft.sources.tables.get_mut(index) {
                source.rows_taken = found.rows.len() as u32;
            }
            return;
        }
        self.note_headings(index, &reader);
        let carried = super::dwellings::written_once(&mut reader, rows_of(table));
        for block in self.blocks_of(&reader, rows_of(table)) {
            let again = block.dwellings.len().max(1);
            for time in 0..again {
                let faults = reader.faults.len();
                if let Some(dwelling) = block.dwellings.get(time) {
                    shared.of_dwelling(dwelling);
                }
                for &row in &block.rows {
                    if !reader.go_to(row) {
                        continue;
                    }
                    if time == 0 {
                        self.pass_sections(&mut reader, &mut shared, row);
                    }
                    if let Some(field) = carried
                        && let Some(above) = reader.named(field)
                    {
                        shared.dwelling = above;
                    }
                    let before = reader.faults.len();
                    let read = match block.unknown {
                        true => Err("no dwelling is said to be of this type"),
                        false => self.read_row(&mut reader, &mut shared, !lacks.is_empty()),
                    };
                    match read {
                        _ if time > 0 => {}
                        Ok(()) => {
                            taken += 1;
                            reader.keep_texts(&mut self.draft.sources);
                        }
                        Err(reason) => {
                            // What is said of its cells quotes them.
                            if reader.faults.len() > before {
                                reader.keep_texts(&mut self.draft.sources);
                            }
                            left_out.push(RowLeftOut {
                                row: reader.row_cell().row,
                                reason: reason.to_owned(),
                            });
                        }
                    }
                }
                // A cell that cannot be read is said once.
                if time > 0 {
                    reader.faults.truncate(faults);
                }
            }
        }
        left_out.sort_by_key(|left| left.row);
        if let Some(source) = self.draft.sources.tables.get_mut(index) {
            source.rows_taken = taken;
            source.rows_left_out = left_out;
        }
        self.draft.faults.append(&mut reader.finish());
    }

    fn note_headings(&mut self, index: usize, reader: &Reader<'a>) {
        let found = reader.found;
        let headings: Vec<_> = found
            .columns
            .iter()
            .filter(|c| c.fields.is_empty() && !c.heading.trim().is_empty())
            .map(|c| {
                let at = reader.id_at(found.header.1, c.column);
                (at.column, c.heading.clone(), c.nearest.clone())
            })
            .collect();
        if !headings.is_empty() {
            self.draft.faults.push(Fault::HeadingNotRecognised {
                table: index as u32,
                headings,
            });
        }
    }

    /// Reads one row as all the kinds that its table carries. An error is the
    /// reason why nothing of it was taken.
    fn read_row(
        &mut self,
        reader: &mut Reader<'a>,
        shared: &mut Shared,
        lacks_identity: bool,
    ) -> Result<(), Reason> {
        self.read_job_columns(reader);
        let kinds = &reader.found.kinds;
        let carries = |kind| kinds.contains(&kind) || reader.found.kind == kind;
        let main = reader.found.kind;
        if carries(TableKind::Equipment) && reader.has(FieldName::UnitTag) {
            return self.read_unit_row(reader, shared);
        }
        if lacks_identity {
            return Err("the table has no column that would identify its rows");
        }
        match main {
            TableKind::Circuits => self.read_circuit_row(reader, shared),
            TableKind::Panels => self.read_panel_row(reader, shared),
            TableKind::WireRuns => self.read_run_row(reader, shared),
            TableKind::Controllers => self.read_controller_row(reader, shared),
            TableKind::JobFacts => Ok(()),
            TableKind::Equipment => Err("the table has no column of tags"),
        }
    }

    fn read_panel_row(
        &mut self,
        reader: &mut Reader<'a>,
        shared: &mut Shared,
    ) -> Result<(), Reason> {
        use crate::intake::notation::{amps, free_text};
        let Field::Given(panel) = reader.read(FieldName::PanelName, panel_name) else {
            return Err("the panel has no name");
        };
        let dwelling = dwelling(reader, shared);
        let panel = Panel {
            name: panel,
            dwelling,
            supply: reader.read(FieldName::PanelSupply, panel_supply),
            main: reader.read(FieldName::PanelMain, amps),
            bus: reader.read(FieldName::PanelBus, amps),
            fed_from: reader.read(FieldName::PanelFedFrom, free_text),
        };
        self.draft.panels.push(panel);
        Ok(())
    }

    pub(super) fn push_circuit(&mut self, circuit: Circuit) -> usize {
        self.draft.circuits.push(circuit);
        self.draft.circuits.len() - 1
    }

    pub(super) fn push_unit(&mut self, unit: Unit) -> usize {
        self.draft.units.push(unit);
        self.draft.units.len() - 1
    }

    pub(super) fn note(&mut self, at: CellId, says: String) {
        self.draft.faults.push(Fault::Other {
            at: at.into(),
            says,
        });
    }
}

fn rows_of<'a>(table: &Waiting<'a>) -> &'a [RowIndex] {
    table.rows.unwrap_or(&table.found.rows)
}

/// The entry of a further sheet on which cells of a recast table stand.
fn beside(
    file: &ReadFile,
    sheet: usize,
    index: u32,
    main: usize,
    found: &FoundTable,
) -> SourceTable {
    let sheet = file.book.sheets.get(sheet);
    SourceTable {
        file: index,
        sheet: sheet.and_then(|sheet| sheet.name.clone()),
        kind: found.kind,
        kinds: vec![found.kind],
        header: (RowIndex(0), RowIndex(0)),
        part_of: Some(main as u32),
        columns: Vec::new(),
        rows_taken: 0,
        rows_left_out: Vec::new(),
        hidden: sheet.is_some_and(|sheet| sheet.is_hidden()),
    }
}

/// The name of a panel without the word before it: `Panel 12C` is `12C`.
pub(super) fn panel_name(text: &str, context: &Context) -> Reading<Name> {
    match name(text, context) {
        Reading::Value(panel) => Reading::Value(without_word(panel)),
        other => other,
    }
}

fn without_word(panel: Name) -> Name {
    let text = panel.text();
    let Some((word, rest)) = text.split_once([' ', ':']) else {
        return panel;
    };
    let schemas = Schemas::embedded();
    let rest = rest.trim_matches(|c: char| c.is_whitespace() || matches!(c, ':' | '"' | '#'));
    let is_word = schemas.key(word) == schemas.key("Panel");
    if is_word && !rest.is_empty() && !rest.eq_ignore_ascii_case("schedule") {
        Name::new(rest)
    } else {
        panel
    }
}

/// The dwelling of a row: its own column, whichever table's it is, else the
/// sheet's form.
pub(super) fn dwelling(reader: &mut Reader<'_>, shared: &Shared) -> Field<Name> {
    let own = match reader.found.kind {
        TableKind::Equipment | TableKind::JobFacts => FieldName::UnitDwelling,
        TableKind::Circuits => FieldName::CircuitDwelling,
        TableKind::Panels => FieldName::PanelDwelling,
        TableKind::WireRuns => FieldName::RunDwelling,
        TableKind::Controllers => FieldName::ControllerDwelling,
    };
    let field = reader.first_of(&[
        own,
        FieldName::UnitDwelling,
        FieldName::CircuitDwelling,
        FieldName::PanelDwelling,
        FieldName::RunDwelling,
        FieldName::ControllerDwelling,
    ]);
    match field {
        Some(field) => reader.read(field, name).or(shared.dwelling.clone()),
        None => shared.dwelling.clone(),
    }
}

/// The columns that would identify the rows of the table's main kind, where
/// they are not there.
fn lacking(reader: &Reader<'_>, shared: &Shared, found: &FoundTable) -> Vec<FieldName> {
    let panel_above = found.sections.iter().any(|s| s.of == SectionOf::Panel);
    let missing = |fields: &[FieldName]| -> Vec<FieldName> {
        fields.iter().copied().filter(|&f| !reader.has(f)).collect()
    };
    match reader.found.kind {
        TableKind::Equipment => missing(&[FieldName::UnitTag]),
        TableKind::Panels => missing(&[FieldName::PanelName]),
        TableKind::WireRuns => missing(&[FieldName::RunFrom, FieldName::RunTo]),
        TableKind::Controllers if reader.has(FieldName::ControllerRoom) => Vec::new(),
        TableKind::Controllers => missing(&[FieldName::ControllerTag]),
        TableKind::Circuits => {
            let slots = reader.has(FieldName::CircuitPanelSlots)
                || reader.has(FieldName::CircuitSlots)
                    && (reader.has(FieldName::CircuitPanel)
                        || shared.panel.is_given()
                        || panel_above);
            let named = [
                FieldName::CircuitName,
                FieldName::CircuitLoads,
                FieldName::UnitTag,
            ]
            .iter()
            .any(|&field| reader.has(field));
            if slots || named {
                Vec::new()
            } else {
                missing(&[
                    FieldName::CircuitPanel,
                    FieldName::CircuitSlots,
                    FieldName::CircuitName,
                    FieldName::CircuitLoads,
                ])
            }
        }
        TableKind::JobFacts => Vec::new(),
    }
}
