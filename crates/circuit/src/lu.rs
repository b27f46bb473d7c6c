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
    /// Row exchanged with row `k` at step `k`.
    exchanges: SmallVec<[usize; 4]>,
}

impl Lu {
    /// Factorises `matrix` (row-major, `size * size`).
    ///
    /// # Errors
    /// The column for which no pivot above rounding level was left.
    pub(crate) fn factor(matrix: impl Into<SmallVec<[Complex64; 16]>>, size: usize) -> Result<Lu, usize> {
        let mut matrix: SmallVec<[Complex64; 16]> = matrix.into();
        debug_assert_eq!(matrix.len(), size * size);
        let mut exchanges = SmallVec::with_capacity(size);
        let mut column_scale: SmallVec<[f64; 4]> = SmallVec::from_elem(0.0, size);
        for line in matrix.chunks_exact(size.max(1)) {
            for (scale, value) in column_scale.iter_mut().zip(line) {
                *scale = scale.max(value.norm_sqr());
            }
        }
        let mut filled: SmallVec<[usize; 64]> = SmallVec::new();
        for k in 0..size {
            let (mut pivot_row, mut pivot_size) = (k, -1.0);
            for row in k..size {
                let candidate = matrix[row * size + k].norm_sqr();
                if candidate > pivot_size {
                    (pivot_row, pivot_size) = (row, candidate);
                }
            }
            // A pivot at rounding level of its own column is what is left of an exact zero.
            let rounding = f64::EPSILON * size as f64;
            if !pivot_size.is_finite() || pivot_size <= column_scale[k] * rounding * rounding {
                return Err(k);
            }
            exchanges.push(pivot_row);
            if pivot_row != k {
                for column in 0..size {
                    matrix.swap(k * size + column, pivot_row * size + column);
                }
            }
            let (upper, lower) = matrix.split_at_mut((k + 1) * size);
            let pivot_line = &upper[k * size..];
            let inverse_pivot = pivot_line[k].inv();
            filled.clear();
            filled.extend((k + 1..size).filter(|&column| pivot_line[column] != Complex64::ZERO));
            let is_sparse = 4 * filled.len() < size - k;
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
        Ok(Lu { size, factors: matrix, exchanges })
    }

    /// Solves `A x = b` in place.
    pub(crate) fn solve_in_place(&self, x: &mut [Complex64]) {
        let size = self.size;
        for k in 0..size {
            x.swap(k, self.exchanges[k]);
        }
        // Sources sit in few rows: nothing happens above the first.
        let first = x.iter().position(|value| *value != Complex64::ZERO).unwrap_or(size);
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
            x[row] = sum / line[0];
        }
    }

    /// Solves `A x = b`.
    pub(crate) fn solve(&self, right: &[Complex64]) -> Vec<Complex64> {
        let mut x = right.to_vec();
        self.solve_in_place(&mut x);
        x
    }
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
    }
}
