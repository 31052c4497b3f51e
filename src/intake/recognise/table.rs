//! The tables of one sheet.

use super::columns::{Column, Understood, understand};
use super::form::{self, Above, Titled};
use super::grid::{is_own, said, says, text_at};
use super::header::{Block, blocks};
use super::lists;
use super::rows::{Lead, Reach, Sorted, lead, sort};
use super::split;
use super::values::Sample;
use crate::intake::book::{CellRef, Sheet, Value};
use crate::intake::found::{FormEntry, FoundColumn, FoundTable};
use crate::intake::notation::{Style, words};
use crate::intake::schema::Schemas;
use crate::schedule::{ColIndex, FieldName, RowIndex, RowLeftOut, TableKind};

/// Values of a column that are looked at.
const SAMPLE: usize = 50;
/// Rows that are walked to find them.
const SAMPLE_ROWS: usize = 300;
/// Rows above a later heading that may be its title and its form.
const MOST_ABOVE: usize = 12;
/// Rows of a sheet that holds labels and values alone.
const LONGEST_FORM: usize = 200;

/// A heading with the tables that stand under it.
struct Under {
    block: Block,
    lead: Lead,
    tables: Vec<Understood>,
    /// The first row that belongs to it: its title, its form, its heading.
    begins: RowIndex,
    /// Rows of the same heading typed again within the table.
    again: Vec<RowIndex>,
}

/// The tables of a sheet, or why there is none, in a sentence.
pub(in crate::intake::recognise) fn of_sheet(
    index: usize,
    sheet: &Sheet,
    schemas: &Schemas,
) -> Result<Vec<FoundTable>, String> {
    let Some(extent) = sheet.extent() else {
        return Err(sheet
            .damage
            .clone()
            .unwrap_or_else(|| "The sheet is empty.".to_owned()));
    };
    let corner = text_at(sheet, RowIndex(0), ColIndex(0));
    if corner.is_some_and(|text| is_own(&text)) {
        return Err("The sheet was written by this program.".to_owned());
    }
    let name = sheet.name.as_deref().unwrap_or_default();
    let all = blocks(sheet, schemas);
    let heads = all.len();
    let mut under = headings_with_tables(sheet, name, all, schemas);
    find_beginnings(sheet, &mut under, schemas);
    join_repeated(&mut under);
    let mut tables = Vec::new();
    for at in 0..under.len() {
        let end = under.get(at + 1).map(|next| next.begins);
        if let Some(this) = under.get(at) {
            tables.extend(build(index, sheet, this, end, schemas));
        }
    }
    if !tables.is_empty() {
        return Ok(tables);
    }
    let rows = sheet.rows().len();
    if let Some(facts) = job_facts(index, sheet, schemas) {
        return Ok(vec![facts]);
    }
    Err(if is_matrix(sheet, schemas) {
        "It looks like a matrix of what goes with what, and is not audited.".to_owned()
    } else if heads > 0 {
        "Some headings are known, but too few of one schedule: it looks like a register or a list, \
         and is not audited."
            .to_owned()
    } else if is_list(sheet) {
        "No row of headings that a schedule has was found: it looks like a register or a list, \
         and is not audited."
            .to_owned()
    } else if rows <= 1 && extent.first == extent.last {
        "The sheet holds a single cell.".to_owned()
    } else {
        "No row of headings that a schedule has was found.".to_owned()
    })
}

/// Rows that are looked at to say what a sheet is that is no schedule.
const LOOKED_AT: usize = 40;

/// Marks where rows and columns meet, and little else.
fn is_matrix(sheet: &Sheet, schemas: &Schemas) -> bool {
    let marks = &schemas.layouts().marks_of_matrix;
    let (mut all, mut marked) = (0, 0);
    for row in sheet.rows().take(LOOKED_AT).skip(1) {
        for (_, text) in said(&row).skip(1) {
            all += 1;
            marked += usize::from(marks.contains(&text.trim().to_lowercase()));
        }
    }
    all >= 4 && marked * 10 >= all * 7
}

/// Several rows of as many cells as the first of them.
fn is_list(sheet: &Sheet) -> bool {
    let widths = sheet.rows().take(LOOKED_AT).map(|row| said(&row).count());
    let widths: Vec<usize> = widths.filter(|width| *width >= 2).collect();
    let same = |first: &usize| widths.iter().filter(|width| *width == first).count();
    widths.first().is_some_and(|first| same(first) >= 2)
}

/// Keeps the headings under which a table stands.
fn headings_with_tables(
    sheet: &Sheet,
    name: &str,
    blocks: Vec<Block>,
    schemas: &Schemas,
) -> Vec<Under> {
    let starts: Vec<RowIndex> = blocks.iter().map(|b| b.first).collect();
    let mut out: Vec<Under> = Vec::new();
    for (at, block) in blocks.into_iter().enumerate() {
        let end = starts.get(at + 1).copied();
        let (Some(first), Some(last)) = (block.headings.first(), block.headings.last()) else {
            continue;
        };
        let lead = lead(sheet, RowIndex(block.last.0 + 1), first.0, last.0);
        let columns = columns(sheet, &block, &lead, end);
        let titled = title_kinds(sheet, name, block.first, schemas);
        let tables = tables_of(&columns, &titled, schemas);
        if !tables.is_empty() {
            out.push(Under {
                begins: block.first,
                again: Vec::new(),
                block,
                lead,
                tables,
            });
        }
    }
    out
}

/// What the sheet's name, or a title just above the heading, says.
fn title_kinds(sheet: &Sheet, name: &str, heading: RowIndex, schemas: &Schemas) -> Titled {
    let mut titled = Titled::default();
    let first = heading.0.saturating_sub(4);
    for row in sheet.rows_from(RowIndex(first)) {
        if row.index() >= heading {
            break;
        }
        let cells: Vec<_> = said(&row).take(3).collect();
        if cells.len() <= 2 {
            for (_, text) in cells {
                titled.read(&text, schemas);
            }
        }
    }
    if titled.is_silent() {
        titled.read(name, schemas);
    }
    titled
}

/// The columns under a heading, with a sample of their values.
fn columns(sheet: &Sheet, block: &Block, lead: &Lead, end: Option<RowIndex>) -> Vec<Column> {
    let mut columns: Vec<Column> = block
        .headings
        .iter()
        .map(|(at, heading)| Column {
            at: *at,
            heading: heading.clone(),
            sample: Sample::default(),
            unit: lead
                .units
                .iter()
                .find(|(c, _)| c == at)
                .map(|(_, unit)| *unit),
        })
        .collect();
    let from = block.last.0 + 1 + lead.left_out.len() as u32;
    for row in sheet.rows_from(RowIndex(from)).take(SAMPLE_ROWS) {
        if end.is_some_and(|end| row.index() >= end) {
            break;
        }
        // A title or a section tells nothing of a column.
        if said(&row).take(2).count() < 2 && columns.len() > 2 {
            continue;
        }
        for (at, text) in row.cells().filter_map(|cell| told(cell)) {
            if let Ok(found) = columns.binary_search_by_key(&at, |c| c.at)
                && let Some(column) = columns.get_mut(found)
                && column.sample.texts.len() < SAMPLE
                && words::classify(&text).is_none()
            {
                column.sample.texts.push(text.into_owned());
            }
        }
    }
    clear_phases(&mut columns);
    columns
}

/// What a cell tells of its column. A date tells nothing: it may be a wire.
fn told(cell: CellRef<'_>) -> Option<(ColIndex, std::borrow::Cow<'_, str>)> {
    match cell.value() {
        Value::DateTime { .. } => None,
        _ => says(cell).map(|text| (cell.column(), text)),
    }
}

/// `A B C` side by side over a panel schedule are phases, not amperes.
fn clear_phases(columns: &mut [Column]) {
    let letter = |column: &Column| {
        let text = column.heading.levels.last().map_or("", String::as_str);
        let last = text.split_whitespace().next_back().unwrap_or_default();
        let mut chars = last.chars();
        chars.next().filter(|_| chars.next().is_none())
    };
    let letters: Vec<Option<char>> = columns.iter().map(letter).collect();
    let begins: Vec<usize> = letters
        .windows(2)
        .enumerate()
        .filter(|(_, pair)| matches!(pair, [Some('A'), Some('B')]))
        .map(|(at, _)| at)
        .collect();
    for begin in begins {
        let expected = [Some('A'), Some('B'), Some('C')];
        for (column, _) in columns
            .iter_mut()
            .skip(begin)
            .zip(letters.iter().skip(begin).zip(expected))
            .take_while(|(_, (letter, expected))| *letter == expected)
        {
            column.heading.candidates.clear();
        }
    }
}

/// The tables that the columns make: one, or several beside each other.
fn tables_of(columns: &[Column], titled: &Titled, schemas: &Schemas) -> Vec<Understood> {
    let understand = |columns: &[Column]| understand(columns, titled, Style::default(), schemas);
    let mut out = Vec::new();
    for stretch in stretches(columns) {
        let part = columns.get(stretch).unwrap_or(&[]);
        for range in split::repeats(part, schemas) {
            out.extend(understand(&split::with_shared(part, range)));
        }
    }
    let alone = |table: &Understood| {
        let fields: Vec<FieldName> = table
            .columns
            .iter()
            .flat_map(|c| c.fields.clone())
            .collect();
        split::stands_alone(table.kind, &fields)
    };
    if out.len() > 1 && out.iter().all(alone) {
        return out;
    }
    let ranges = split::repeats(columns, schemas);
    let parts = ranges
        .into_iter()
        .filter_map(|range| understand(&split::with_shared(columns, range)));
    parts.collect()
}

/// Columns without a gap between them.
fn stretches(columns: &[Column]) -> Vec<std::ops::Range<usize>> {
    let mut out = Vec::new();
    let mut first = 0;
    for (at, pair) in columns.windows(2).enumerate() {
        if let [a, b] = pair
            && b.at.0 > a.at.0 + 1
        {
            out.push(first..at + 1);
            first = at + 1;
        }
    }
    out.push(first..columns.len());
    out
}

/// Gives each heading the rows above it that are its title or its form.
fn find_beginnings(sheet: &Sheet, under: &mut [Under], schemas: &Schemas) {
    let mut previous: Option<(RowIndex, Vec<ColIndex>)> = None;
    for this in under {
        this.begins = match &previous {
            None => RowIndex(0),
            Some((after, known)) => beginning(sheet, *after, this.block.first, known, schemas),
        };
        let known = this.tables.iter().flat_map(|t| &t.columns);
        let known = known.filter(|c| !c.fields.is_empty()).map(|c| c.column);
        previous = Some((this.block.last, known.collect()));
    }
}

/// A heading typed again with nothing above it goes on with the table.
fn join_repeated(under: &mut Vec<Under>) {
    let mut joined: Vec<Under> = Vec::with_capacity(under.len());
    for this in under.drain(..) {
        match joined.last_mut() {
            Some(before)
                if this.begins == this.block.first && this.block.repeats(&before.block) =>
            {
                let rows = this.block.first.0..=this.block.last.0;
                before.again.extend(rows.map(RowIndex));
                before
                    .again
                    .extend(this.lead.left_out.iter().map(|out| out.row));
            }
            _ => joined.push(this),
        }
    }
    *under = joined;
}

/// Walks up from a heading over titles, labels and values, to where the
/// table above has its last row.
fn beginning(
    sheet: &Sheet,
    after: RowIndex,
    heading: RowIndex,
    known: &[ColIndex],
    schemas: &Schemas,
) -> RowIndex {
    let mut begins = heading;
    let above = sheet.rows_from(RowIndex(after.0 + 1));
    let above: Vec<_> = above.take_while(|row| row.index() < heading).collect();
    for row in above.iter().rev().take(MOST_ABOVE) {
        if begins.0 - row.index().0 > 2 {
            break;
        }
        let cells: Vec<_> = said(row).collect();
        let fed = cells.iter().filter(|(c, _)| known.contains(c)).count();
        let labelled = cells.iter().any(|(_, text)| {
            let label = text
                .split_once(':')
                .map_or(text.as_ref(), |(label, _)| label);
            form::label_of(label, text.contains(':'), TableKind::Panels, schemas).is_some()
        });
        let title =
            cells.len() <= 2 && !cells.iter().any(|(_, text)| super::roles::is_number(text));
        let heads = title && cells.len() <= 1 + usize::from(fed == 0);
        if !labelled && !heads {
            break;
        }
        begins = row.index();
    }
    begins
}

/// The found tables under one heading.
fn build(
    index: usize,
    sheet: &Sheet,
    under: &Under,
    end: Option<RowIndex>,
    schemas: &Schemas,
) -> Vec<FoundTable> {
    let main = under
        .tables
        .first()
        .map_or(TableKind::Equipment, |t| t.kind);
    let prefer = match main {
        TableKind::Circuits => TableKind::Panels,
        _ => TableKind::JobFacts,
    };
    let above = form::above(
        sheet,
        under.begins,
        under.block.first,
        prefer,
        prefer == TableKind::Panels,
        schemas,
    );
    let from = RowIndex(under.block.last.0 + 1 + under.lead.left_out.len() as u32);
    let mut out = Vec::with_capacity(under.tables.len());
    for understood in &under.tables {
        let reach = reach(understood);
        let Sorted {
            taken: mut rows,
            left_out: mut sorted,
            sections,
        } = sort(sheet, from, end, &reach, schemas);
        lists::cut(sheet, understood, &mut rows, &mut sorted, schemas);
        rows.retain(|row| !under.again.contains(row));
        sorted.retain(|out| !under.again.contains(&out.row));
        sorted.extend(under.again.iter().map(|row| RowLeftOut {
            row: *row,
            reason: "heading typed again".to_owned(),
        }));
        sorted.sort_by_key(|out| out.row);
        if let Some(column) = under.block.own_from {
            let reason = format!("columns from {column} on were written by this program");
            sorted.insert(
                0,
                RowLeftOut {
                    row: under.block.first,
                    reason,
                },
            );
        }
        let mut left_out: Vec<RowLeftOut> = above
            .rows
            .iter()
            .map(|(row, what)| RowLeftOut {
                row: *row,
                reason: (*what).to_owned(),
            })
            .collect();
        left_out.extend(under.lead.left_out.iter().cloned());
        left_out.extend(sorted);
        out.push(FoundTable {
            sheet: index,
            kind: understood.kind,
            kinds: understood.kinds.clone(),
            header: (under.block.first, under.block.last),
            columns: understood.columns.clone(),
            rows,
            left_out,
            form: form_of(understood, &above),
            panel: panel_of(sheet, understood, &above, schemas),
            sections,
            types: Vec::new(),
        });
    }
    out
}

/// A panel above a table is that of its circuits, in wide rows too where they
/// give slots and no panel.
fn form_of(understood: &Understood, above: &Above) -> Vec<FormEntry> {
    let feeds = |field| understood.columns.iter().any(|c| c.fields.contains(&field));
    let of_circuits = understood.kind == TableKind::Circuits
        || feeds(FieldName::CircuitSlots)
            && !feeds(FieldName::CircuitPanel)
            && !feeds(FieldName::CircuitPanelSlots);
    let of_panel = |entry: &&FormEntry| {
        of_circuits && entry.field.table() == TableKind::Panels
            || understood.kind == TableKind::Circuits
            || entry.field.table() == TableKind::JobFacts
    };
    above.form.iter().filter(of_panel).cloned().collect()
}

fn reach(understood: &Understood) -> Reach {
    use FieldName::*;
    let columns = &understood.columns;
    let of = |is: fn(FieldName) -> bool| -> Vec<ColIndex> {
        columns
            .iter()
            .filter(|c| c.fields.iter().any(|f| is(*f)))
            .map(|c| c.column)
            .collect()
    };
    let mut known = of(|_| true);
    known.sort_unstable();
    let own = own_columns(columns);
    known.retain(|column| own.is_some_and(|own| *column >= own));
    Reach {
        first: own.unwrap_or(ColIndex(0)),
        last: columns.last().map_or(ColIndex(0), |c| c.column),
        known,
        naming: of(|f| {
            matches!(
                f,
                UnitTag
                    | CircuitSlots
                    | CircuitPanelSlots
                    | CircuitName
                    | CircuitLoads
                    | RunFrom
                    | RunTo
                    | RunName
                    | ControllerTag
                    | PanelName
            )
        }),
        counting: of(|f| {
            matches!(
                f,
                CircuitSlots | RunName | UnitTag | CircuitName | CircuitPoles
            )
        }),
    }
}

/// Where the columns begin that a table has for itself: what it shares with
/// the table on its left stands apart from them.
fn own_columns(columns: &[FoundColumn]) -> Option<ColIndex> {
    let apart = columns.windows(2).rev().find_map(|pair| match pair {
        [shared, own] => {
            let shares = shared.fields.iter().all(|f| split::is_shared(*f));
            (shares && !shared.fields.is_empty() && own.column.0 > shared.column.0 + 1)
                .then_some(own.column)
        }
        _ => None,
    });
    apart.or_else(|| columns.first().map(|c| c.column))
}

/// The panel that a panel schedule without a column for it is about.
fn panel_of(
    sheet: &Sheet,
    understood: &Understood,
    above: &Above,
    schemas: &Schemas,
) -> Option<(String, Option<(RowIndex, ColIndex)>)> {
    let feeds = |field| understood.columns.iter().any(|c| c.fields.contains(&field));
    let slots = feeds(FieldName::CircuitSlots);
    let named = feeds(FieldName::CircuitPanel) || feeds(FieldName::CircuitPanelSlots);
    let in_form = above.form.iter().any(|e| e.field == FieldName::PanelName);
    if understood.kind != TableKind::Circuits || !slots || named || in_form {
        return None;
    }
    let title = above.titles.iter().rev().find_map(|(row, column, text)| {
        Some((
            form::panel_named(text, false, schemas)?,
            Some((*row, *column)),
        ))
    });
    title.or_else(|| {
        let name = sheet.name.as_deref()?;
        Some((form::panel_named(name, true, schemas)?, None))
    })
}

fn said_in(sheet: &Sheet, row: RowIndex) -> usize {
    sheet.row(row).map_or(0, |row| said(&row).count())
}

/// A sheet of labels and values alone.
fn job_facts(index: usize, sheet: &Sheet, schemas: &Schemas) -> Option<FoundTable> {
    let first = sheet.rows().next()?.index();
    let last = sheet.rows().next_back()?.index();
    if sheet.rows().len() > LONGEST_FORM {
        return None;
    }
    let end = RowIndex(last.0.saturating_add(1));
    let above = form::above(sheet, first, end, TableKind::JobFacts, true, schemas);
    let rows: Vec<RowIndex> = above.form.iter().map(|e| e.value.0).collect();
    let mut rows_once = rows.clone();
    rows_once.dedup();
    let named = above
        .form
        .iter()
        .any(|e| matches!(e.field, FieldName::JobName | FieldName::JobNumber));
    let enough = above.form.len() >= if named { 2 } else { 4 };
    if !enough || rows_once.len() * 2 < above.rows.len() {
        return None;
    }
    let left_out = above
        .rows
        .iter()
        .filter(|(row, _)| !rows_once.contains(row))
        .map(|(row, what)| RowLeftOut {
            row: *row,
            reason: match *what {
                "label and value" => "label said before".to_owned(),
                "title" if said_in(sheet, *row) == 2 => "label that is not known".to_owned(),
                other => other.to_owned(),
            },
        })
        .collect();
    let mut columns: Vec<ColIndex> = Vec::new();
    for entry in &above.form {
        columns.extend([entry.label.1, entry.value.1]);
    }
    columns.sort_unstable();
    columns.dedup();
    let heading = rows_once.first().copied()?;
    Some(FoundTable {
        sheet: index,
        kind: TableKind::JobFacts,
        kinds: vec![TableKind::JobFacts],
        header: (heading, heading),
        columns: columns
            .into_iter()
            .map(|column| FoundColumn {
                column,
                heading: String::new(),
                fields: Vec::new(),
                unit: None,
                score: 1.0,
                nearest: None,
            })
            .collect(),
        rows: rows_once,
        left_out,
        form: above.form,
        panel: None,
        sections: Vec::new(),
        types: Vec::new(),
    })
}
