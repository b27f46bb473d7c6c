//! Dense LU factorisation with partial pivoting, for complex systems of ten to sixty unknowns.
//!
//! Written here because at this size it is faster than the general libraries (network matrices are mostly zeros,
//! which the elimination skips) and because the failing pivot must be nameable.

use num_complex::Complex64;
use smallvec::SmallVec;

/// Factors of a square matrix, `P A = L U`, kept in one array. Four unknowns (two rotors) need no allocation.
#[derive(Debug, Clone)]
pub(crate) struct Lu {
    size: usize,
    factors: SmallVec<[Complex64; 16]>,
    /// One over each entry of the diagonal of `U`: division is slow.
    inverse_pivots: SmallVec<[Complex64; 4]>,
    /// Row exchanged with row `k` at step `k`.
    exchanges: SmallVec<[usize; 4]>,
    /// What is filled, of systems large enough to be mostly empty.
    filled: Option<Filled>,
}

/// Columns of the entries that are not zero, row by row.
#[derive(Debug, Clone)]
struct Filled {
    columns: Vec<usize>,
    /// By row, where its columns begin and where those right of the diagonal do; ends with a row of none.
    rows: Vec<(usize, usize)>,
}

/// Systems of fewer unknowns are worked on as if they were full.
pub(crate) const SPARSE_FROM: usize = 12;

impl Filled {
    fn of(factors: &[Complex64], size: usize) -> Self {
        let (mut columns, mut rows) = (Vec::with_capacity(8 * size), Vec::with_capacity(size + 1));
        for (row, line) in factors.chunks_exact(size).enumerate() {
            let begin = columns.len();
            let is_filled = |column: &usize| line[*column] != Complex64::ZERO;
            columns.extend((0..row).filter(is_filled));
            rows.push((begin, columns.len()));
            columns.extend((row + 1..size).filter(is_filled));
        }
        rows.push((columns.len(), columns.len()));
        Filled { columns, rows }
    }

    fn left(&self, row: usize) -> &[usize] {
        &self.columns[self.rows[row].0..self.rows[row].1]
    }

    fn right(&self, row: usize) -> &[usize] {
        &self.columns[self.rows[row].1..self.rows[row + 1].0]
    }
}

impl Lu {
    /// Factorises `matrix` (row-major, `size * size`).
    ///
    /// # Errors
    /// The column for which no pivot above rounding level was left.
    pub(crate) fn factor(matrix: impl Into<SmallVec<[Complex64; 16]>>, size: usize) -> Result<Lu, usize> {
        let mut matrix: SmallVec<[Complex64; 16]> = matrix.into();
        debug_assert_eq!(matrix.len(), size * size);
        let (mut exchanges, mut inverse_pivots) = (SmallVec::with_capacity(size), SmallVec::with_capacity(size));
        let column_scale = column_scales(&matrix, size, size);
        let mut filled: SmallVec<[usize; 64]> = SmallVec::new();
        for k in 0..size {
            let pivot_row = pivot(&matrix, (size, size), k, column_scale[k])?;
            exchanges.push(pivot_row);
            if pivot_row != k {
                for column in 0..size {
                    matrix.swap(k * size + column, pivot_row * size + column);
                }
            }
            let (upper, lower) = matrix.split_at_mut((k + 1) * size);
            let pivot_line = &upper[k * size..];
            let inverse_pivot = pivot_line[k].inv();
            inverse_pivots.push(inverse_pivot);
            filled.clear();
            if size >= SPARSE_FROM {
                filled.extend((k + 1..size).filter(|&column| pivot_line[column] != Complex64::ZERO));
            }
            let is_sparse = size >= SPARSE_FROM && 4 * filled.len() < size - k;
            for line in lower.chunks_exact_mut(size) {
                if line[k] == Complex64::ZERO {
                    continue;
                }
                let factor = line[k] * inverse_pivot;
                line[k] = factor;
                if is_sparse {
                    for &column in &filled {
                        line[column] -= factor * pivot_line[column];
                    }
                } else {
                    for (target, &source) in line[k + 1..].iter_mut().zip(&pivot_line[k + 1..]) {
                        *target -= factor * source;
                    }
                }
            }
        }
        let filled = (size >= SPARSE_FROM).then(|| Filled::of(&matrix, size));
        Ok(Lu { size, factors: matrix, inverse_pivots, exchanges, filled })
    }

    /// Solves `A x = b` in place.
    pub(crate) fn solve_in_place(&self, x: &mut [Complex64]) {
        let size = self.size;
        for k in 0..size {
            x.swap(k, self.exchanges[k]);
        }
        // Sources sit in few rows: nothing happens above the first.
        let first = x.iter().position(|value| *value != Complex64::ZERO).unwrap_or(size);
        if let Some(filled) = &self.filled {
            return self.solve_filled(filled, first, x);
        }
        for row in first + 1..size {
            let line = &self.factors[row * size + first..row * size + row];
            let mut sum = Complex64::ZERO;
            for (a, b) in line.iter().zip(&x[first..row]) {
                sum += a * b;
            }
            x[row] -= sum;
        }
        for row in (0..size).rev() {
            let line = &self.factors[row * size + row..(row + 1) * size];
            let mut sum = x[row];
            for (a, b) in line[1..].iter().zip(&x[row + 1..size]) {
                sum -= a * b;
            }
            x[row] = sum * self.inverse_pivots[row];
        }
    }

    fn solve_filled(&self, filled: &Filled, first: usize, x: &mut [Complex64]) {
        let size = self.size;
        for row in first + 1..size {
            let line = &self.factors[row * size..(row + 1) * size];
            let sum: Complex64 = filled.left(row).iter().map(|&column| line[column] * x[column]).sum();
            x[row] -= sum;
        }
        for row in (0..size).rev() {
            let line = &self.factors[row * size..(row + 1) * size];
            let left = filled.right(row).iter().fold(x[row], |sum, &column| sum - line[column] * x[column]);
            x[row] = left * self.inverse_pivots[row];
        }
    }

    /// Solves `A x = b`.
    pub(crate) fn solve(&self, right: &[Complex64]) -> Vec<Complex64> {
        let mut x = right.to_vec();
        self.solve_in_place(&mut x);
        x
    }
}

/// Largest square of each of the first `size` columns of rows that are `width` wide.
fn column_scales(rows: &[Complex64], size: usize, width: usize) -> SmallVec<[f64; 4]> {
    let mut scales: SmallVec<[f64; 4]> = SmallVec::from_elem(0.0, size);
    for line in rows.chunks_exact(width.max(1)) {
        for (scale, value) in scales.iter_mut().zip(line) {
            *scale = scale.max(value.norm_sqr());
        }
    }
    scales
}

/// The row whose entry in column `k` is largest, from the diagonal down, of `size` rows that are `width` wide.
///
/// # Errors
/// The column, if that entry is at rounding level of what the column was: what is left of an exact zero.
fn pivot(rows: &[Complex64], (size, width): (usize, usize), k: usize, column_scale: f64) -> Result<usize, usize> {
    let (mut pivot_row, mut pivot_size) = (k, -1.0);
    for row in k..size {
        let candidate = rows[row * width + k].norm_sqr();
        if candidate > pivot_size {
            (pivot_row, pivot_size) = (row, candidate);
        }
    }
    let rounding = f64::EPSILON * size as f64;
    let is_lost = !pivot_size.is_finite() || pivot_size <= column_scale * rounding * rounding;
    if is_lost { Err(k) } else { Ok(pivot_row) }
}

/// Solves `A X = B` for a few unknowns and all columns of `B` at once: `rows` holds `[A | B]`, row by row `width` wide, and
/// has `X` in the place of `B` afterwards.
///
/// # Errors
/// The column for which no pivot above rounding level was left.
pub(crate) fn solve_all(rows: &mut [Complex64], size: usize, width: usize) -> Result<(), usize> {
    debug_assert_eq!(rows.len(), size * width);
    let column_scale = column_scales(rows, size, width);
    for k in 0..size {
        let pivot_row = pivot(rows, (size, width), k, column_scale[k])?;
        if pivot_row != k {
            let (upper, lower) = rows.split_at_mut(pivot_row * width);
            upper[k * width..(k + 1) * width].swap_with_slice(&mut lower[..width]);
        }
        let inverse_pivot = rows[k * width + k].inv();
        rows[k * width + k..(k + 1) * width].iter_mut().for_each(|value| *value *= inverse_pivot);
        let (above, rest) = rows.split_at_mut(k * width);
        let (line, below) = rest.split_at_mut(width);
        for other in above.chunks_exact_mut(width).chain(below.chunks_exact_mut(width)) {
            let factor = other[k];
            if factor != Complex64::ZERO {
                for (target, source) in other[k..].iter_mut().zip(&line[k..]) {
                    *target -= factor * source;
                }
            }
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::{DMatrix, DVector};

    #[test]
    fn agrees_with_an_independent_library_on_a_badly_scaled_matrix() {
        let size = 12;
        let entry = |row: usize, column: usize| {
            let t = (row * 7 + column * 13 + row * column) as f64;
            Complex64::new(t.sin() * 10f64.powi((row % 4) as i32 - 2), (1.3 * t).cos())
        };
        let flat: Vec<Complex64> = (0..size * size).map(|i| entry(i / size, i % size)).collect();
        let right: Vec<Complex64> = (0..size).map(|i| Complex64::new(i as f64, 1.0)).collect();
        let ours = Lu::factor(flat, size).unwrap().solve(&right);
        let reference = DMatrix::from_fn(size, size, entry).lu().solve(&DVector::from_vec(right)).unwrap();
        for (a, b) in ours.iter().zip(reference.iter()) {
            assert!((a - b).norm() < 1e-11 * (1.0 + b.norm()));
        }
    }

    #[test]
    fn names_the_column_without_a_pivot() {
        let zero = Complex64::ZERO;
        let one = Complex64::ONE;
        assert_eq!(Lu::factor(vec![one, one, one, one], 2).unwrap_err(), 1);
        assert_eq!(Lu::factor(vec![zero, one, zero, one], 2).unwrap_err(), 0);
        assert_eq!(solve_all(&mut [one, one, one, one, one, zero], 2, 3).unwrap_err(), 1);
        assert_eq!(solve_all(&mut [zero, one, one, zero, one, one], 2, 3).unwrap_err(), 0);
    }

    #[test]
    fn a_zero_on_the_diagonal_is_stepped_round() {
        // x + y = 3 below y = 1: by hand x = 2.
        let [zero, one] = [Complex64::ZERO, Complex64::ONE];
        let (y, sum) = (one, Complex64::from(3.0));
        assert_eq!(Lu::factor(vec![zero, one, one, one], 2).unwrap().solve(&[y, sum]), [Complex64::from(2.0), one]);
        let mut rows = [zero, one, y, one, one, sum];
        solve_all(&mut rows, 2, 3).unwrap();
        assert_eq!([rows[2], rows[5]], [Complex64::from(2.0), one]);
    }

    #[test]
    fn many_right_sides_agree_with_an_independent_library() {
        for size in 1..7 {
            let width = 2 * size + 1;
            let entry = |row: usize, column: usize| {
                let t = (row * 5 + column * 11 + row * column) as f64;
                Complex64::new((1.7 * t).sin() * 10f64.powi((row % 3) as i32), t.cos())
            };
            let mut rows: Vec<Complex64> = (0..size * width).map(|i| entry(i / width, i % width)).collect();
            let matrix = DMatrix::from_fn(size, size, entry);
            let right = DMatrix::from_fn(size, width - size, |row, column| entry(row, size + column));
            let reference = matrix.lu().solve(&right).unwrap();
            solve_all(&mut rows, size, width).unwrap();
            for (row, solved) in rows.chunks_exact(width).enumerate() {
                for (a, b) in solved[size..].iter().zip(reference.row(row).iter()) {
                    assert!((a - b).norm() < 1e-11 * (1.0 + b.norm()));
                }
            }
        }
    }
}
