//! A list below a table, behind a blank gap or with a heading of its own: a
//! register of drawings, a legend. Its rows do not read under the table's
//! headings.

use super::columns::Understood;
use super::grid::text_at;
use super::values::{is_tag, reads};
use crate::intake::book::Sheet;
use crate::intake::notation::{Context, words};
use crate::intake::schema::{Notation, Schemas};
use crate::schedule::{ColIndex, FieldName, RowIndex, RowLeftOut};

/// Rows of a stretch that are looked at.
const LOOK: usize = 12;
/// Of the cells that ask for form, so many must read.
const FITS: f64 = 0.35;
/// Below this, no mark at the head of the rows saves them: a register of
/// drawings has `M-101` there.
const STRANGE: f64 = 0.1;

/// Moves stretches behind a gap or a strange heading that do not fit to the
/// rows left out.
pub(super) fn cut(
    sheet: &Sheet,
    understood: &Understood,
    taken: &mut Vec<RowIndex>,
    left_out: &mut Vec<RowLeftOut>,
    schemas: &Schemas,
) {
    // A section of which nothing is known may be the title of a list.
    let parts =
        |out: &&RowLeftOut| out.reason.starts_with("blank") || out.reason.starts_with("section: ");
    let blank: Vec<RowIndex> = left_out.iter().filter(parts).map(|out| out.row).collect();
    let mut stretches: Vec<Vec<RowIndex>> = Vec::new();
    for row in taken.drain(..) {
        let gap = stretches
            .last()
            .and_then(|stretch| stretch.last())
            .is_none_or(|last| {
                let next = blank.partition_point(|b| b <= last);
                blank.get(next).is_some_and(|b| *b < row)
            });
        match stretches.last_mut() {
            Some(stretch) if !gap => stretch.push(row),
            _ => stretches.push(vec![row]),
        }
    }
    let columns = formed(understood, schemas);
    let mut parted: Vec<Vec<RowIndex>> = Vec::with_capacity(stretches.len());
    for mut stretch in stretches {
        let close = close_below(sheet, &stretch, &columns);
        let list = close.map(|at| stretch.split_off(at));
        parted.push(stretch);
        parted.extend(list);
    }
    // Nothing behind a gap.
    if let [only] = parted.as_mut_slice() {
        taken.append(only);
        return;
    }
    let (first_fit, first_marks) = match parted.first() {
        Some(first) => fit(sheet, first, &columns),
        None => return,
    };
    let judges = first_fit.is_some_and(|fit| fit >= 0.5);
    let narrowest = parted
        .first()
        .map_or(0, |first| filled(sheet, first, &columns).0);
    for (at, stretch) in parted.into_iter().enumerate() {
        let (fits, marks) = fit(sheet, &stretch, &columns);
        let unlike = fits.map_or(marks < 0.5 && first_marks >= 0.8, |fits| fits < FITS)
            && (marks < 0.5 || fits.is_some_and(|fits| fits < STRANGE) && first_fit >= Some(0.8));
        // A count reads as amperes; but its rows bear no mark and say little.
        let narrow = marks < 0.5
            && first_marks >= 0.8
            && filled(sheet, &stretch, &columns).1 * 2 <= narrowest;
        let strange = at > 0 && judges && (unlike || narrow);
        if strange {
            left_out.extend(stretch.into_iter().map(|row| RowLeftOut {
                row,
                reason:
                    "a list below the table: its cells do not read under the headings".to_owned(),
            }));
        } else {
            taken.extend(stretch);
        }
    }
    left_out.sort_by_key(|out| out.row);
}

/// Where a list begins that follows the table without a gap: from its own
/// heading, which bears no mark, to the end no cell reads.
fn close_below(sheet: &Sheet, stretch: &[RowIndex], columns: &[Formed]) -> Option<usize> {
    let mut begins = None;
    if let Some(at) = headed_below(sheet, stretch, columns) {
        return Some(at);
    }
    for (at, row) in stretch.iter().enumerate().skip(1).rev() {
        let (fits, marks) = fit(sheet, std::slice::from_ref(row), columns);
        if fits.is_some_and(|fits| fits > 0.0) || fits.is_none() && marks > 0.0 {
            break;
        }
        if marks == 0.0 && fits.is_some() && at + 2 <= stretch.len() {
            begins = Some(at);
        }
    }
    begins.filter(|at| stretch.len() - at >= 2)
}

/// Where a row of words alone, none of which reads, stands between rows that
/// marks name and rows that none does: the heading of a list whose counts
/// read as something.
fn headed_below(sheet: &Sheet, stretch: &[RowIndex], columns: &[Formed]) -> Option<usize> {
    (1..stretch.len().saturating_sub(1)).find(|&at| {
        let (above, below) = (stretch.get(..at), stretch.get(at + 1..));
        let (Some(above), Some(row), Some(below)) = (above, stretch.get(at), below) else {
            return false;
        };
        let words = columns.iter().filter_map(|c| text_at(sheet, *row, c.at));
        let words: Vec<_> = words.collect();
        let bare = words.len() >= 2
            && !words
                .iter()
                .any(|t| t.contains(|c: char| c.is_ascii_digit()));
        bare && fit(sheet, std::slice::from_ref(row), columns).0 == Some(0.0)
            && fit(sheet, above, columns).1 >= 0.8
            && fit(sheet, below, columns).1 < 0.5
    })
}

/// The fewest and the most cells that a row fills.
fn filled(sheet: &Sheet, rows: &[RowIndex], columns: &[Formed]) -> (usize, usize) {
    let counts = rows.iter().take(LOOK).map(|row| {
        let cells = columns
            .iter()
            .filter(|c| text_at(sheet, *row, c.at).is_some());
        cells.count()
    });
    let counts: Vec<usize> = counts.collect();
    let least = counts.iter().min().copied().unwrap_or(0);
    (least, counts.iter().max().copied().unwrap_or(0))
}

/// A column, its notation where it asks for form, and whether it names the
/// row.
struct Formed {
    at: ColIndex,
    notation: Option<Notation>,
    context: Context,
    names: bool,
}

fn formed(understood: &Understood, schemas: &Schemas) -> Vec<Formed> {
    let mut out = Vec::new();
    for column in &understood.columns {
        let Some(&field) = column.fields.first() else {
            continue;
        };
        let notation = schemas.field(field).map(|schema| schema.notation);
        out.push(Formed {
            at: column.column,
            notation: notation.filter(|notation| asks_for_form(*notation)),
            context: Context {
                unit: column.unit,
                ..Context::default()
            },
            names: matches!(
                field,
                FieldName::UnitTag | FieldName::ControllerTag | FieldName::RunFrom
            ),
        });
    }
    out
}

pub(super) fn asks_for_form(notation: Notation) -> bool {
    !matches!(
        notation,
        Notation::Name
            | Notation::FreeText
            | Notation::Loads
            | Notation::Dwelling
            | Notation::Kind
            | Notation::Revision
            | Notation::TagList
            | Notation::Place
    )
}

/// The part of the cells that read, `None` where none asks for form, and the
/// part of the rows that a mark names.
fn fit(sheet: &Sheet, rows: &[RowIndex], columns: &[Formed]) -> (Option<f64>, f64) {
    let (mut told, mut read) = (0.0, 0.0);
    let (mut marks, mut looked) = (0.0, 0.0);
    for &row in rows.iter().take(LOOK) {
        looked += 1.0;
        let mut marked = false;
        for column in columns {
            let Some(text) = text_at(sheet, row, column.at) else {
                continue;
            };
            if words::classify(&text).is_some() {
                continue;
            }
            marked |= column.names && is_tag(&text);
            if let Some(says) = column
                .notation
                .and_then(|notation| reads(notation, &text, &column.context))
            {
                told += 1.0;
                read += says;
            }
        }
        marks += f64::from(u8::from(marked));
    }
    (
        (told > 0.0).then(|| read / told),
        marks / f64::max(looked, 1.0),
    )
}
