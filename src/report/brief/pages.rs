//! How the brief's lines fill pages of letter paper: their heights, the scale
//! at which a system's page is one, and where a longer one goes on.

use super::{Line, Section, WIDTHS};
use crate::report::page;

/// Points of paper between header and footer.
const ROOM: f64 = 11.0 * 72.0 - 72.0 * (TOP + BOTTOM);
pub(super) const TOP: f64 = 0.6;
pub(super) const BOTTOM: f64 = 0.55;

/// Percent of its size at which a sheet is as wide as the paper, and the
/// least at which its small letters can be read.
const WIDEST: u16 = 90;
const SMALLEST: u16 = 82;

/// Bold letters are wider.
const BOLD: f64 = 0.95;

/// The row that says whose sheet it is.
const MARK: f64 = 15.0;

/// A line where it comes to stand.
pub(super) struct Placed {
    pub line: Line,
    pub small: bool,
    pub height: f64,
    /// It begins a page.
    pub begins: bool,
}

/// Height in points that a line takes.
pub(super) fn height(line: &Line, small: bool) -> f64 {
    let whole: f64 = WIDTHS.iter().sum();
    let (one, more, letters) = match small {
        true => (10.2, 1.6, 1.34),
        false => (12.4, 3.0, 1.12),
    };
    let of = |lines: u32| f64::from(lines) * one + more;
    let cells = |cells: &[String], widths: &[f64]| {
        let lines = cells.iter().zip(widths).map(|(text, width)| {
            let bold = if text.starts_with("HOLD") { BOLD } else { 1.0 };
            page::lines(text, width * letters * bold)
        });
        lines.max().unwrap_or(1)
    };
    match (line, small) {
        (Line::Title(_), false) => 24.0,
        (Line::Title(_), true) => 21.0,
        (Line::Heading(_), false) => 20.0,
        (Line::Heading(_), true) => 15.0,
        (Line::Text(text), _) => of(page::lines(text, whole * 1.1 * letters)),
        (Line::Hold(text), _) => of(page::lines(text, whole * letters * BOLD)) + 3.0,
        (Line::Columns(_) | Line::HalfColumns, _) => of(1),
        (Line::Row(row), _) => of(cells(row, &WIDTHS)),
        (Line::Halves(left, right), _) => {
            let [a, b, c, d, e, f, g] = WIDTHS;
            let left = cells(left, &[a + b, c, d]);
            of(right
                .as_ref()
                .map_or(0, |right| cells(right, &[e, f, g]))
                .max(left))
        }
        (Line::Tick(_), false) => 16.0,
        (Line::Tick(_), true) => 12.2,
    }
}

fn total(lines: &[Line], small: bool) -> f64 {
    lines.iter().map(|line| height(line, small)).sum()
}

/// Whether lines in their usual size fill one page at most, at a scale at
/// which their letters are not smaller than the small ones.
pub(super) fn is_one_page(lines: &[Line]) -> bool {
    MARK + total(lines, false) <= ROOM * 100.0 / f64::from(SMALLEST)
}

/// The sheet's scale in percent: the largest at which every section is one
/// page, where letters stay readable.
pub(super) fn scale(sections: &[Section]) -> u16 {
    let heights = sections.iter().map(|s| MARK + total(&s.lines, s.small));
    let most = heights.fold(0.0, f64::max);
    let wanted = (ROOM * 100.0 / most.max(1.0)).floor();
    if wanted >= f64::from(SMALLEST) {
        (wanted as u16).min(WIDEST)
    } else {
        WIDEST
    }
}

/// The lines of all sections, a page each or more. What goes on says of which
/// system it is, and a table repeats its headings; a heading never ends a
/// page.
pub(super) fn fill(sections: Vec<Section>, scale: u16) -> Vec<Placed> {
    let room = ROOM * 100.0 / f64::from(scale);
    let mut placed: Vec<Placed> = Vec::new();
    for section in sections {
        let small = section.small;
        let mut put = |line: Line, begins: bool| {
            let height = height(&line, small);
            placed.push(Placed {
                line,
                small,
                height,
                begins,
            });
            height
        };
        let mut used = MARK;
        let mut title = String::new();
        let mut columns: Option<Line> = None;
        let mut lines = section.lines.into_iter().peekable();
        while let Some(line) = lines.next() {
            // A heading, and what stands over a table, goes with its next.
            let mut block = vec![line];
            while lines.peek().is_some() && block.last().is_some_and(Line::leads) {
                block.extend(lines.next());
            }
            let tall = total(&block, small);
            let first = matches!(block.first(), Some(Line::Title(_)));
            if !first && used + tall > room {
                let goes_on = format!("{title}, continued");
                used = put(Line::Title(goes_on), true);
                let in_table = matches!(block.first(), Some(Line::Row(_) | Line::Halves(..)));
                if let (true, Some(columns)) = (in_table, &columns) {
                    used += put(columns.clone(), false);
                }
            }
            for line in block {
                if let Line::Title(text) = &line {
                    title.clone_from(text);
                }
                if matches!(line, Line::Columns(_) | Line::HalfColumns) {
                    columns = Some(line.clone());
                }
                let begins = matches!(line, Line::Title(_));
                used += put(line, begins);
            }
        }
    }
    placed
}

#[cfg(test)]
mod tests {
    use super::*;

    fn section(rows: usize) -> Section {
        let mut lines = vec![
            Line::Title("Elm: system 1".to_owned()),
            Line::Heading("Circuits to bring".to_owned()),
            Line::Columns(["a"; 7]),
        ];
        let row = || Line::Row(std::array::from_fn(|_| "FC-1".to_owned()));
        lines.extend((0..rows).map(|_| row()));
        lines.push(Line::Heading("Before power".to_owned()));
        lines.push(Line::Tick("Piping tested".to_owned()));
        Section {
            lines,
            small: false,
        }
    }

    #[test]
    fn pages_are_filled_and_go_on_with_their_headings() {
        for rows in [1, 40, 46, 47, 48, 49, 50, 51, 100, 200] {
            let sections = [section(rows), section(3)];
            let scale = scale(&sections);
            assert!((SMALLEST..=WIDEST).contains(&scale));
            let room = ROOM * 100.0 / f64::from(scale);
            let placed = fill(sections.into(), scale);
            let mut used = MARK;
            for (at, line) in placed.iter().enumerate() {
                used = if line.begins { MARK } else { used } + line.height;
                assert!(used <= room + MARK, "{rows} rows: page of {used} points");
                let Some(next) = placed.get(at + 1).filter(|next| next.begins) else {
                    continue;
                };
                assert!(!line.line.leads(), "{rows} rows: a heading ends a page");
                if let (Line::Title(text), Line::Row(_)) = (&next.line, &line.line) {
                    let after = placed.get(at + 2).map(|line| &line.line);
                    let goes_on = text.ends_with(", continued");
                    let repeats = matches!(after, Some(Line::Columns(_) | Line::Heading(_)));
                    assert!(goes_on && repeats, "{rows} rows: {text}");
                }
            }
            let ticks = placed.iter().filter(|p| matches!(p.line, Line::Tick(_)));
            assert_eq!(ticks.count(), 2, "nothing is lost");
        }
    }
}
