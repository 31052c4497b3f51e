//! Which rows of a sheet are headings.

use super::grid::{Stack, is_own, said, stacks};
use super::heading::{Heading, unit_alone};
use crate::intake::book::{RowRef, Sheet};
use crate::intake::memo::OfSchemas;
use crate::intake::schema::Schemas;
use crate::schedule::{ColIndex, RowIndex, TableKind};

/// Rows that are one heading.
#[derive(Clone, Debug)]
pub(super) struct Block {
    pub first: RowIndex,
    pub last: RowIndex,
    pub headings: Vec<(ColIndex, Heading)>,
    /// Where columns begin that this program wrote.
    pub own_from: Option<ColIndex>,
    score: f64,
}

impl Block {
    /// Typed again, as at the top of a page: the same columns, the same
    /// words.
    pub fn repeats(&self, other: &Self) -> bool {
        let texts = |block: &Self| -> Vec<(ColIndex, String)> {
            let headings = block.headings.iter();
            headings
                .map(|(column, heading)| (*column, heading.text().to_uppercase()))
                .collect()
        };
        texts(self) == texts(other)
    }
}

/// The most rows that a heading has.
const TALLEST: u32 = 4;
/// Of the cells of a heading's row, at most one in so many holds a figure.
const FIGURES: usize = 3;
/// Cells of a row that are looked at before it is given up.
const FIRST_LOOK: usize = 5;
const LOOK: usize = 16;
/// What one more row costs: a title is no level of the heading.
const COST_OF_ROW: f64 = 0.2;
/// What a line more of a wrapped heading is worth: `MIN` over `CKT` over
/// `AMPS` is more than its first two lines.
const WRAPPED: f64 = 0.15;
/// What a column costs that the heading does not explain.
const COST_OF_UNKNOWN: f64 = 0.1;

/// All headings of a sheet, rising, none overlapping. Whether a table stands
/// under one is not decided here.
pub(super) fn blocks(sheet: &Sheet, schemas: &Schemas) -> Vec<Block> {
    let mut blocks: Vec<Block> = Vec::new();
    let mut free = 0u32;
    for row in sheet.rows() {
        if row.index().0 < free || !is_hot(&row, schemas) {
            continue;
        }
        if let Some(block) = best_around(sheet, row.index(), free, schemas) {
            free = block.last.0 + 1;
            let mut block = block;
            for (_, heading) in &mut block.headings {
                heading.match_near(schemas);
            }
            blocks.push(block);
        }
    }
    blocks
}

/// Two cells or more of the row are known headings or bands. This runs over
/// every row of a sheet, so it gives up early.
fn is_hot(row: &RowRef<'_>, schemas: &Schemas) -> bool {
    let mut known = 0;
    for (seen, (_, text)) in said(row).take(LOOK).enumerate() {
        if seen == FIRST_LOOK && known == 0 {
            return false;
        }
        // A row of units is none of headings.
        if text.len() > 60 || has_figure(&text) || unit_alone(&text).is_some() {
            continue;
        }
        known += usize::from(is_known(&text, schemas));
        if known >= 2 {
            return true;
        }
    }
    false
}

/// A heading, a band, or a bare heading behind its band, spelled as listed.
fn is_known(text: &str, schemas: &Schemas) -> bool {
    thread_local!(static KNOWN: OfSchemas<bool> = OfSchemas::default());
    KNOWN.with(|known| known.say(schemas, text, || find_known(text, schemas)))
}

fn find_known(text: &str, schemas: &Schemas) -> bool {
    let words = schemas.words(text.split(['(', '[']).next().unwrap_or(text));
    let known = |words: &[String]| {
        let key = words.concat();
        (
            !schemas.listed(&key).is_empty(),
            !schemas.under_band(&key).is_empty(),
        )
    };
    let (heading, band) = known(&words);
    heading
        || band
        || (1..words.len()).any(|at| {
            let (front, back) = words.split_at(at);
            known(front).1 && known(back).0
        })
}

/// Figures outside brackets: a value, or a heading such as `MCA 208V`.
fn has_figure(text: &str) -> bool {
    let mut depth = 0u32;
    text.chars().any(|c| {
        match c {
            '(' | '[' => depth += 1,
            ')' | ']' => depth = depth.saturating_sub(1),
            _ => {}
        }
        depth == 0 && c.is_ascii_digit()
    })
}

/// The best heading that has this row in it.
fn best_around(sheet: &Sheet, row: RowIndex, free: u32, schemas: &Schemas) -> Option<Block> {
    let mut best: Option<Block> = None;
    let lowest = row.0.saturating_sub(TALLEST - 1).max(free);
    for first in (lowest..=row.0).rev() {
        if !may_be_heading(sheet, RowIndex(first), first == row.0) {
            break;
        }
        for last in row.0..first.saturating_add(TALLEST) {
            if last > row.0 && !may_be_heading(sheet, RowIndex(last), false) {
                break;
            }
            let block = block(sheet, RowIndex(first), RowIndex(last), schemas);
            if block.score > best.as_ref().map_or(1.0, |b| b.score + 1e-9) {
                best = Some(block);
            }
        }
    }
    best
}

/// A row of texts, none of them a label of a form.
fn may_be_heading(sheet: &Sheet, row: RowIndex, itself: bool) -> bool {
    let Some(cells) = sheet.row(row) else {
        return false;
    };
    let mut texts = 0;
    let mut figures = 0;
    let mut labels = 0;
    for (_, text) in said(&cells) {
        if is_own(&text) {
            break;
        }
        texts += 1;
        figures += usize::from(has_figure(&text));
        labels += usize::from(text.trim_end().ends_with(':'));
    }
    let long = said(&cells).any(|(_, text)| text.len() > 120);
    texts > 0 && figures * FIGURES <= texts && labels * 2 < texts && (itself || !long)
}

fn block(sheet: &Sheet, first: RowIndex, last: RowIndex, schemas: &Schemas) -> Block {
    let (stacks, own_from) = stacks(sheet, first, last);
    let headings: Vec<(ColIndex, Heading)> = stacks
        .into_iter()
        .map(|Stack { column, texts }| (column, Heading::new(&texts, schemas)))
        .collect();
    let score = headings
        .iter()
        .map(|(_, heading)| worth(heading))
        .sum::<f64>()
        - COST_OF_ROW * f64::from(last.0 - first.0);
    Block {
        first,
        last,
        headings,
        own_from,
        score,
    }
}

fn worth(heading: &Heading) -> f64 {
    let worths = heading.candidates.iter().map(|candidate| {
        let of_job = candidate.field.table() == TableKind::JobFacts;
        match (of_job, candidate.weak) {
            (true, _) => 0.3,
            (_, true) => 0.5,
            (_, false) => candidate.score + WRAPPED * (candidate.lines as f64 - 1.0),
        }
    });
    worths
        .fold(None, |best: Option<f64>, w| {
            Some(best.map_or(w, |b| b.max(w)))
        })
        .unwrap_or(-COST_OF_UNKNOWN)
}
