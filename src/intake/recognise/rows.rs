//! Which rows under a heading are data.

use super::grid::{is_own, said};
use super::heading::unit_alone;
use super::roles::is_number;
use super::sections::section_of;
use crate::intake::book::{RowRef, Sheet};
use crate::intake::found::{Section, SectionOf};
use crate::intake::notation::ColumnUnit;
use crate::intake::schema::Schemas;
use crate::schedule::{ColIndex, RowIndex, RowLeftOut};

/// The columns of a table, as its rows are judged by them.
#[derive(Clone, Debug)]
pub(super) struct Reach {
    pub first: ColIndex,
    pub last: ColIndex,
    /// Columns that feed a field, rising.
    pub known: Vec<ColIndex>,
    /// Of them, those that name the row.
    pub naming: Vec<ColIndex>,
    /// Of them, those whose bare number is only a running one: slots, item
    /// numbers.
    pub counting: Vec<ColIndex>,
}

/// Blank stretches longer than this are said once.
const BLANKS_SAID: u32 = 12;
const ONLY_A_NUMBER: &str = "only a running number";
const LONG_TEXT: usize = 48;
const MANY_WORDS: usize = 7;

/// Rows just under a heading that belong to it: units, numbers of columns.
#[derive(Clone, Debug, Default)]
pub(super) struct Lead {
    pub left_out: Vec<RowLeftOut>,
    pub units: Vec<(ColIndex, ColumnUnit)>,
}

pub(super) fn lead(sheet: &Sheet, from: RowIndex, first: ColIndex, last: ColIndex) -> Lead {
    let mut lead = Lead::default();
    for row in sheet.rows_from(from).take(2) {
        let cells: Vec<(ColIndex, String)> = said(&row)
            .filter(|(column, _)| (first..=last).contains(column))
            .map(|(column, text)| (column, text.into_owned()))
            .collect();
        let units: Vec<(ColIndex, ColumnUnit)> = cells
            .iter()
            .filter_map(|(column, text)| Some((*column, unit_alone(text)?)))
            .collect();
        let reason =
            if !units.is_empty() && units.len() * 5 >= cells.len() * 3 && no_figures(&cells) {
                lead.units.extend(units);
                "row of units"
            } else if counts_columns(&cells) {
                "row of column numbers"
            } else {
                break;
            };
        lead.left_out.push(left_out(row.index(), reason));
    }
    lead
}

fn no_figures(cells: &[(ColIndex, String)]) -> bool {
    cells.iter().all(|(_, text)| !is_number(text))
}

/// `1 2 3 4`, `(1) (2) (3)`, `A B C`: one in each column.
fn counts_columns(cells: &[(ColIndex, String)]) -> bool {
    if cells.len() < 3 {
        return false;
    }
    let ordinal = |text: &str| -> Option<u32> {
        let bare = text
            .trim()
            .trim_matches(|c| matches!(c, '(' | ')' | '[' | ']' | '.'));
        let mut chars = bare.chars();
        match (chars.next(), chars.next()) {
            (Some(c), None) if c.is_ascii_alphabetic() => {
                Some(u32::from(c.to_ascii_uppercase()) - u32::from('A') + 1)
            }
            _ => bare.parse().ok(),
        }
    };
    let ordinals: Option<Vec<u32>> = cells.iter().map(|(_, text)| ordinal(text)).collect();
    let steps = |numbers: &[u32]| {
        let by_one = |pair: &[u32]| matches!(pair, [a, b] if a.checked_add(1) == Some(*b));
        numbers.windows(2).all(by_one)
    };
    ordinals.is_some_and(|numbers| numbers.first() == Some(&1) && steps(&numbers))
}

fn left_out(row: RowIndex, reason: &str) -> RowLeftOut {
    RowLeftOut {
        row,
        reason: reason.to_owned(),
    }
}

/// The rows below a heading.
#[derive(Clone, Debug, Default)]
pub(super) struct Sorted {
    pub taken: Vec<RowIndex>,
    pub left_out: Vec<RowLeftOut>,
    pub sections: Vec<Section>,
}

/// Rows taken and rows left out, from `from` up to and without `end`.
pub(super) fn sort(
    sheet: &Sheet,
    from: RowIndex,
    end: Option<RowIndex>,
    reach: &Reach,
    schemas: &Schemas,
) -> Sorted {
    let mut sorter = Sorter {
        reach,
        schemas,
        rows: Vec::new(),
        left_out: Vec::new(),
        sections: Vec::new(),
        notes: false,
    };
    let mut expected = from.0;
    for row in sheet.rows_from(from) {
        if end.is_some_and(|end| row.index() >= end) {
            break;
        }
        sorter.blanks(expected, row.index().0);
        expected = row.index().0.saturating_add(1);
        sorter.judge(sheet, &row);
    }
    sorter.finish()
}

struct Sorter<'a> {
    reach: &'a Reach,
    schemas: &'a Schemas,
    sections: Vec<Section>,
    rows: Vec<RowIndex>,
    left_out: Vec<RowLeftOut>,
    /// A heading *Notes* stands above.
    notes: bool,
}

impl Sorter<'_> {
    fn blanks(&mut self, from: u32, to: u32) {
        let count = to.saturating_sub(from);
        if count > BLANKS_SAID {
            let reason = format!("blank, as are the rows to {to}");
            self.left_out.push(left_out(RowIndex(from), &reason));
        } else {
            let blanks = (from..to).map(|row| left_out(RowIndex(row), "blank"));
            self.left_out.extend(blanks);
        }
    }

    fn judge(&mut self, sheet: &Sheet, row: &RowRef<'_>) {
        let reach = self.reach;
        let cells: Vec<_> = row
            .cells()
            .filter(|cell| (reach.first..=reach.last).contains(&cell.column()))
            .filter_map(|cell| {
                let text = super::grid::says(cell)?;
                // A template's formula that found nothing to add up.
                let nothing = cell.is_formula() && matches!(text.as_ref(), "0" | "0.0");
                (!nothing).then_some((cell.column(), text))
            })
            .collect();
        let texts: Vec<(ColIndex, &str)> = cells.iter().map(|(c, t)| (*c, t.trim())).collect();
        let reason = self.reason(sheet, row.index(), &texts).map(|reason| {
            // A total's word may stand in the table to the left.
            let total = said(row).next().is_some_and(|(_, text)| is_total(&text));
            let figures = reason == ONLY_A_NUMBER && total;
            if figures { "total".to_owned() } else { reason }
        });
        match reason {
            None => {
                self.notes = false;
                self.rows.push(row.index());
            }
            Some(reason) => self.left_out.push(left_out(row.index(), &reason)),
        }
    }

    /// Why a row is no data; `None` where it is.
    fn reason(
        &mut self,
        sheet: &Sheet,
        row: RowIndex,
        cells: &[(ColIndex, &str)],
    ) -> Option<String> {
        let reach = self.reach;
        let Some(&(first_column, first)) = cells.first() else {
            return Some("blank".to_owned());
        };
        if is_own(first) {
            return Some("written by this program".to_owned());
        }
        if cells.iter().take(3).any(|(_, text)| is_total(text)) {
            return Some("total".to_owned());
        }
        if cells.len() <= 2 && begins_notes(first) {
            self.notes = true;
            return Some("note".to_owned());
        }
        let known = cells
            .iter()
            .filter(|(column, _)| reach.known.binary_search(column).is_ok());
        let mut naming = false;
        let mut telling = 0;
        let mut count = 0;
        for (column, text) in known {
            count += 1;
            let counts = reach.counting.contains(column) && is_number(text);
            telling += usize::from(!counts);
            naming |= reach.naming.contains(column) && !counts;
        }
        if cells.len() <= 2
            && let Some((of, name)) = section_of(cells.iter().map(|(_, text)| *text), self.schemas)
        {
            self.notes = false;
            let texts: Vec<&str> = cells.iter().map(|(_, text)| *text).collect();
            let reason = format!("section: {}", texts.join(" "));
            let at = (
                row,
                cells.last().map_or(first_column, |(column, _)| *column),
            );
            self.sections.push(Section { at, of, name });
            return Some(reason);
        }
        if self.notes && cells.len() <= 2 && !(naming && cells.len() == 2) {
            return Some("note".to_owned());
        }
        if cells.len() == 1 {
            let spans = sheet
                .covering_merge(row, first_column)
                .is_some_and(|merge| merge.last.1.0 >= merge.first.1.0 + 2);
            let words = first.split_whitespace().count();
            if first.len() > LONG_TEXT || words >= MANY_WORDS {
                return Some("note".to_owned());
            }
            if is_number(first) || telling == 0 && count == 1 {
                return Some(ONLY_A_NUMBER.to_owned());
            }
            if spans || !naming || !is_mark(first) {
                if super::sections::ends_a_dwelling(first, self.schemas) {
                    self.sections.push(Section {
                        at: (row, first_column),
                        of: SectionOf::Unknown,
                        name: first.to_owned(),
                    });
                }
                return Some(format!("section: {first}"));
            }
        }
        if count == 0 {
            return Some("nothing under a heading that is known".to_owned());
        }
        if telling == 0 {
            return Some(ONLY_A_NUMBER.to_owned());
        }
        None
    }

    fn finish(self) -> Sorted {
        Sorted {
            taken: self.rows,
            left_out: self.left_out,
            sections: self.sections,
        }
    }
}

/// Holds a figure and is short: a mark that stands alone in its row.
fn is_mark(text: &str) -> bool {
    text.len() <= 12
        && text.split_whitespace().count() <= 2
        && text.chars().any(|c| c.is_ascii_digit())
}

fn is_total(text: &str) -> bool {
    // Asked of every row: most are told by their first letter.
    const FIRST: [char; 14] = [
        'T', 't', 'S', 's', 'G', 'g', 'V', 'v', 'F', 'f', 'C', 'c', 'H', 'h',
    ];
    if !text.trim_start().starts_with(FIRST) {
        return false;
    }
    let upper = text.trim().to_uppercase();
    let word = upper.trim_end_matches([':', '=']).trim();
    let begins = [
        "TOTAL ",
        "SUBTOTAL ",
        "SUB-TOTAL ",
        "SUB TOTAL ",
        "GRAND TOTAL ",
        "TOTALS ",
        "SALES TAX ",
        "TAX ",
        "VAT ",
        "GST ",
        "HST ",
    ];
    let whole = [
        "TOTAL",
        "TOTALS",
        "SUBTOTAL",
        "SUB-TOTAL",
        "SUB TOTAL",
        "GRAND TOTAL",
        "SUM",
        "TAX",
        "SALES TAX",
        "TAXES",
        "VAT",
        "GST",
        "HST",
        "FREIGHT",
        "SHIPPING",
        "CARRIED FORWARD",
        "SHEET TOTAL",
        "TOTAL CARRIED FORWARD",
    ];
    whole.contains(&word) || begins.iter().any(|b| word.starts_with(b))
}

fn begins_notes(text: &str) -> bool {
    let upper = text.trim().to_uppercase();
    if upper.starts_with(['*', '†', '‡']) && upper.contains(' ') {
        return true;
    }
    let rest = upper
        .strip_prefix("GENERAL ")
        .unwrap_or(&upper)
        .strip_prefix("NOTE");
    rest.is_some_and(|rest| {
        let rest = rest.strip_prefix('S').unwrap_or(rest);
        !rest.starts_with(char::is_alphabetic)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn totals_and_notes_are_known_by_their_first_words() {
        for text in ["TOTAL", "Subtotal:", "Total connected load", "GRAND TOTAL"] {
            assert!(is_total(text), "{text}");
        }
        for text in ["FC-1", "Totally enclosed motor", "TOTALIZER"] {
            assert!(!is_total(text), "{text}");
        }
        for text in ["NOTES:", "Note 1: copper", "GENERAL NOTES", "notes"] {
            assert!(begins_notes(text), "{text}");
        }
        assert!(!begins_notes("NOTEBOOK ROOM"));
    }
}
