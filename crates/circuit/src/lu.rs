//! Dense LU factorisation with partial pivoting, for complex systems of ten to sixty unknowns.
//!
//! Written here because at this size it is faster than the general libraries (network matrices are mostly zeros,
//! which the elimination skips) and because the failing pivot must be nameable.

use num_complex::Complex64;

/// Factors of a square matrix, `P A = L U`, kept in one array.
#[derive(Debug, Clone)]
pub(crate) struct Lu {
    size: usize,
    factors: Vec<Complex64>,
    row_order: Vec<usize>,
}

impl Lu {
    /// Factorises `matrix` (row-major, `size * size`).
    ///
    /// # Errors
    /// The column for which no pivot above rounding level was left.
    pub(crate) fn factor(mut matrix: Vec<Complex64>, size: usize) -> Result<Lu, usize> {
        debug_assert_eq!(matrix.len(), size * size);
        let mut row_order: Vec<usize> = (0..size).collect();
        let column_scale: Vec<f64> = (0..size)
            .map(|column| (0..size).map(|row| matrix[row * size + column].norm_sqr()).fold(0.0, f64::max).sqrt())
            .collect();
        for k in 0..size {
            let (pivot_row, pivot_size) = (k..size)
                .map(|row| (row, matrix[row * size + k].norm_sqr()))
                .fold((k, -1.0), |best, candidate| if candidate.1 > best.1 { candidate } else { best });
            // A pivot at rounding level of its own column is what is left of an exact zero.
            let rounding = column_scale[k] * f64::EPSILON * size as f64;
            // The negative start value is left where a column holds nothing but NaN; its root is NaN and fails too.
            if !(pivot_size.is_finite() && pivot_size.sqrt() > rounding) {
                return Err(k);
            }
            if pivot_row != k {
                row_order.swap(k, pivot_row);
                for column in 0..size {
                    matrix.swap(k * size + column, pivot_row * size + column);
                }
            }
            let (upper, lower) = matrix.split_at_mut((k + 1) * size);
            let pivot_line = &upper[k * size..];
            let inverse_pivot = pivot_line[k].inv();
            for line in lower.chunks_exact_mut(size) {
                if line[k] == Complex64::ZERO {
                    continue;
                }
                let factor = line[k] * inverse_pivot;
                line[k] = factor;
                for (target, &source) in line[k + 1..].iter_mut().zip(&pivot_line[k + 1..]) {
                    *target -= factor * source;
                }
            }
        }
        Ok(Lu { size, factors: matrix, row_order })
    }

    /// Solves `A x = b`.
    pub(crate) fn solve(&self, right: &[Complex64]) -> Vec<Complex64> {
        let size = self.size;
        let mut x: Vec<Complex64> = self.row_order.iter().map(|&row| right[row]).collect();
        for row in 0..size {
            let line = &self.factors[row * size..row * size + row];
            let sum: Complex64 = line.iter().zip(&x).map(|(a, b)| a * b).sum();
            x[row] -= sum;
        }
        for row in (0..size).rev() {
            let line = &self.factors[row * size..(row + 1) * size];
            let sum: Complex64 = line[row + 1..].iter().zip(&x[row + 1..]).map(|(a, b)| a * b).sum();
            x[row] = (x[row] - sum) / line[row];
        }
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
