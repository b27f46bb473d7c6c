//! Cells without a number: a logger that has lost its sensor may write nothing, dashes, `NaN` or any word.

use std::collections::BTreeMap;

/// Fewer cells in a row without a number are no loss; as many as a jump must last to be none of a spike.
const LASTING: u64 = 4;
/// A silence is long if it is more than so many times the usual one: a column may be written every tenth row only.
const LONGER: u64 = 2;
/// This share of the silences between two numbers is no longer than the usual one. Engineering judgement.
const USUAL_SHARE: f64 = 0.9;

/// Watches the cells of one column.
#[derive(Debug, Clone, Default)]
pub struct Silence {
    since: Option<u64>,
    cells: u64,
    has_begun: bool,
    /// How often so many cells without a number lay between two numbers.
    lengths: BTreeMap<u64, u64>,
}

/// A silence that is no way of writing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Silent {
    /// Row of its first cell.
    pub row: u64,
    /// Cells without a number.
    pub cells: u64,
}

impl Silence {
    /// A cell without a number.
    pub fn nothing(&mut self, row: u64) {
        // Ahead of the first number no sensor can be lost.
        if self.has_begun {
            self.since.get_or_insert(row);
            self.cells += 1;
        }
    }

    /// A cell with a number; the silence ahead of it if that was a long one.
    pub fn heard(&mut self) -> Option<Silent> {
        let silent = self.long();
        if self.has_begun {
            *self.lengths.entry(self.cells).or_default() += 1;
        }
        self.has_begun = true;
        (self.since, self.cells) = (None, 0);
        silent
    }

    /// The silence that has not ended, if it is a long one.
    pub fn long(&self) -> Option<Silent> {
        let row = self.since?;
        let is_long = self.cells >= LASTING && self.cells > LONGER * self.usual()?;
        is_long.then_some(Silent { row, cells: self.cells })
    }

    /// Cells without a number between two numbers, as is usual in this column; `None` before the second number.
    fn usual(&self) -> Option<u64> {
        let all: u64 = self.lengths.values().sum();
        let mut counted = 0;
        self.lengths.iter().find_map(|(&cells, &count)| {
            counted += count;
            (counted as f64 >= USUAL_SHARE * all as f64).then_some(cells)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn watched(cells: &str) -> (Vec<Silent>, Option<Silent>) {
        let mut silence = Silence::default();
        let mut ended = Vec::new();
        for (row, cell) in (1..).zip(cells.chars()) {
            match cell {
                '.' => silence.nothing(row),
                _ => ended.extend(silence.heard()),
            }
        }
        (ended, silence.long())
    }

    #[test]
    fn a_column_that_stops_is_told_from_one_that_is_sparse() {
        assert_eq!(watched("xxxxx....").1, Some(Silent { row: 6, cells: 4 }));
        assert_eq!(watched("xxxxx...").1, None);
        assert_eq!(watched("x....x....x....x........").1, None, "every fifth row");
        assert_eq!(watched("x....x....x.........").1, Some(Silent { row: 12, cells: 9 }));
        assert_eq!(watched("......").1, None, "nothing was ever read");
        assert_eq!(watched("......x").0, []);
    }

    #[test]
    fn one_long_gap_does_not_hide_the_next() {
        let (ended, last) = watched(&format!("{}......{}.....", "x".repeat(20), "x".repeat(20)));
        assert_eq!(ended, [Silent { row: 21, cells: 6 }]);
        assert_eq!(last, Some(Silent { row: 47, cells: 5 }));
    }
}
