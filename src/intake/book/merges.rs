//! Merged ranges, found by a cell without walking all of them.

use crate::schedule::{ColIndex, RowIndex};

/// A merged range, both corners inside it. Its value stands in the first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Merge {
    pub first: (RowIndex, ColIndex),
    pub last: (RowIndex, ColIndex),
}

impl Merge {
    pub fn covers(&self, row: RowIndex, column: ColIndex) -> bool {
        self.first.0 <= row && row <= self.last.0 && self.first.1 <= column && column <= self.last.1
    }
}

/// Leaves of the tree: the most rows that a sheet can have.
const LEAVES: u32 = 1 << 20;

/// The merged ranges of a sheet, in order of their first cells.
///
/// A range is hung on the few nodes of a binary tree over the rows that cover
/// its rows exactly; a cell asks the 21 nodes above its row. So neither many
/// ranges nor tall ones cost more than a logarithm.
#[derive(Clone, Debug, Default)]
pub struct Merges {
    ranges: Vec<Merge>,
    /// (node, first column, index of the range), sorted.
    hung: Vec<(u32, u16, u32)>,
}

impl Merges {
    pub fn new(mut ranges: Vec<Merge>) -> Self {
        ranges.retain(|m| m.first.0 <= m.last.0 && m.first.1 <= m.last.1);
        ranges.retain(|m| m.last.0.0 < LEAVES && m.first != m.last);
        ranges.sort_by_key(|m| (m.first, m.last));
        ranges.dedup();
        let mut hung = Vec::with_capacity(ranges.len() * 2);
        for (index, merge) in ranges.iter().enumerate() {
            let mut hang = |node| hung.push((node, merge.first.1.0, index as u32));
            let (mut low, mut high) = (merge.first.0.0 + LEAVES, merge.last.0.0 + LEAVES + 1);
            while low < high {
                if low & 1 == 1 {
                    hang(low);
                    low += 1;
                }
                if high & 1 == 1 {
                    high -= 1;
                    hang(high);
                }
                low >>= 1;
                high >>= 1;
            }
        }
        hung.sort_unstable();
        Self { ranges, hung }
    }

    pub fn iter(&self) -> std::slice::Iter<'_, Merge> {
        self.ranges.iter()
    }

    pub fn len(&self) -> usize {
        self.ranges.len()
    }

    pub fn is_empty(&self) -> bool {
        self.ranges.is_empty()
    }

    /// The range that a cell lies in. Ranges of a sound workbook do not
    /// overlap; where they do, one of those that cover the cell is given, or
    /// none.
    pub fn covering(&self, row: RowIndex, column: ColIndex) -> Option<&Merge> {
        if self.hung.is_empty() || row.0 >= LEAVES {
            return None;
        }
        let mut node = row.0 + LEAVES;
        while node >= 1 {
            let after = self
                .hung
                .partition_point(|&(n, first, _)| (n, first) <= (node, column.0));
            let merge = after
                .checked_sub(1)
                .and_then(|at| self.hung.get(at))
                .filter(|&&(n, ..)| n == node)
                .and_then(|&(.., index)| self.ranges.get(index as usize))
                .filter(|merge| merge.covers(row, column));
            if merge.is_some() {
                return merge;
            }
            node >>= 1;
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn merge(first: (u32, u16), last: (u32, u16)) -> Merge {
        Merge {
            first: (RowIndex(first.0), ColIndex(first.1)),
            last: (RowIndex(last.0), ColIndex(last.1)),
        }
    }

    #[test]
    fn a_cell_finds_the_range_that_covers_it() {
        let merges = Merges::new(vec![
            merge((4, 2), (4, 5)),
            merge((0, 0), (1_048_575, 0)),
            merge((5, 2), (7, 3)),
            merge((9, 9), (9, 9)),
            merge((8, 3), (6, 3)),
        ]);
        assert_eq!(
            merges.len(),
            3,
            "single cells and turned ranges are dropped"
        );
        let covering = |row, column| merges.covering(RowIndex(row), ColIndex(column)).copied();
        assert_eq!(covering(4, 2), Some(merge((4, 2), (4, 5))));
        assert_eq!(covering(4, 5), Some(merge((4, 2), (4, 5))));
        assert_eq!(covering(4, 6), None);
        assert_eq!(covering(4, 1), None);
        assert_eq!(covering(7, 3), Some(merge((5, 2), (7, 3))));
        assert_eq!(covering(8, 3), None);
        for row in [0, 77, 1_048_575] {
            assert_eq!(covering(row, 0), Some(merge((0, 0), (1_048_575, 0))));
        }
        assert_eq!(covering(u32::MAX, 0), None);
    }

    #[test]
    fn every_cell_agrees_with_a_walk_over_all_ranges() {
        let ranges: Vec<Merge> = (0..400u32)
            .map(|i| {
                let (row, column) = ((i / 8) * 7, (i % 8) as u16 * 4);
                merge((row, column), (row + i % 7, column + (i % 3) as u16))
            })
            .collect();
        let merges = Merges::new(ranges.clone());
        for row in 0..360 {
            for column in 0..34 {
                let (row, column) = (RowIndex(row), ColIndex(column));
                let walked = ranges
                    .iter()
                    .find(|m| m.first != m.last && m.covers(row, column));
                assert_eq!(merges.covering(row, column), walked);
            }
        }
    }

    #[test]
    fn fifty_thousand_ranges_are_no_quadratic_step() {
        let ranges = (0..50_000).map(|row| merge((row, 1), (row, 3))).collect();
        let merges = Merges::new(ranges);
        let found = (0..50_000)
            .filter(|&row| merges.covering(RowIndex(row), ColIndex(2)).is_some())
            .count();
        assert_eq!(found, 50_000);
    }
}
