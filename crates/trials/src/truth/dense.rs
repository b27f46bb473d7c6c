//! Dense complex equations, by Gaussian elimination with partial pivoting.

use num_complex::Complex64;

/// A square matrix.
#[derive(Debug, Clone)]
pub struct Dense {
    size: usize,
    entries: Vec<Complex64>,
}

impl Dense {
    /// All zero.
    pub fn zeros(size: usize) -> Self {
        Dense { size, entries: vec![Complex64::ZERO; size * size] }
    }

    /// Number of rows.
    pub fn size(&self) -> usize {
        self.size
    }

    /// Adds to an entry.
    pub fn add(&mut self, row: usize, column: usize, value: impl Into<Complex64>) {
        self.entries[row * self.size + column] += value.into();
    }

    /// An entry.
    pub fn at(&self, row: usize, column: usize) -> Complex64 {
        self.entries[row * self.size + column]
    }

    /// Solves for several right-hand sides, in place; `None` if the matrix is singular.
    pub fn solve(mut self, right: &mut [Vec<Complex64>]) -> Option<()> {
        let n = self.size;
        for column in 0..n {
            let best =
                (column..n).max_by(|&a, &b| self.at(a, column).norm_sqr().total_cmp(&self.at(b, column).norm_sqr()))?;
            let pivot = self.at(best, column);
            if pivot.norm_sqr() == 0.0 || !pivot.is_finite() {
                return None;
            }
            if best != column {
                for k in column..n {
                    self.entries.swap(best * n + k, column * n + k);
                }
                right.iter_mut().for_each(|side| side.swap(best, column));
            }
            let inverse = pivot.inv();
            let (above, below) = self.entries.split_at_mut((column + 1) * n);
            let pivot_row = &above[column * n..];
            for (offset, row) in below.chunks_exact_mut(n).enumerate() {
                let factor = row[column] * inverse;
                if factor.norm_sqr() == 0.0 {
                    continue;
                }
                for k in column + 1..n {
                    row[k] -= factor * pivot_row[k];
                }
                for side in right.iter_mut() {
                    let above = side[column];
                    side[column + 1 + offset] -= factor * above;
                }
            }
        }
        for side in right.iter_mut() {
            for row in (0..n).rev() {
                let known = side[row + 1..].iter().zip(row + 1..).map(|(value, k)| self.at(row, k) * value);
                let value = side[row] - known.sum::<Complex64>();
                side[row] = value / self.at(row, row);
            }
        }
        Some(())
    }
}
