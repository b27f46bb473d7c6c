//! How far readings narrow what is known of the unknown values.
//!
//! Standard-normal values of which readings with slopes `j_i` and weights `w_i` have told something have the covariance
//!
//! ```text
//! (I + sum w_i j_i j_i^T)^-1 = I - sum_k (1 - v_k) u_k u_k^T,   v_k = 1 / (1 + s_k^2)
//! ```
//!
//! with `s_k` the singular values and `u_k` the directions of the rows `sqrt(w_i) j_i`. There are no more of them than
//! readings, while values there are hundreds: every other direction keeps its prior.
//!
//! Found by turning pairs of rows until all are at right angles (one-sided Jacobi rotations), which keeps small values
//! exact beside large ones. The decomposition of `nalgebra` 0.35 gave wrong directions for two equal rows.
//!
//! Source: Golub and Van Loan, Matrix Computations (4th ed. 2013), 2.1.4 (Sherman-Morrison-Woodbury), 2.4 (singular
//! values) and 8.6.3 (one-sided Jacobi rotations; Hestenes, Journal of the SIAM 6, 1958).

use nalgebra::{DMatrix, DVector};

/// Rows whose cosine is below this are at right angles.
const RIGHT_ANGLE: f64 = 1e-14;
/// Rounding of a turn, as a share of the longer row.
const ROUNDING: f64 = 1e-15;
/// Rounds through all pairs of rows after which they are taken as they are; six to ten do.
const MOST_ROUNDS: usize = 40;

/// Of a direction in which a reading tells less than this it tells nothing: the variance stays within 1e-12 of the prior's.
const LEAST_TOLD: f64 = 1e-6;

/// Rows turned against each other until they are at right angles, and the pulls with them.
struct Turned {
    rows: Vec<DVector<f64>>,
    pulls: Vec<f64>,
    /// What rounding may have left in each row: what is no longer than that is nothing.
    rounding: Vec<f64>,
}

impl Turned {
    fn new(rows: &DMatrix<f64>, pulls: &[f64]) -> Self {
        // Longest first, so that rounding does not depend on the order in which readings were taken.
        let mut paired: Vec<(DVector<f64>, f64)> =
            rows.row_iter().map(|row| row.transpose()).zip(pulls.iter().copied()).collect();
        paired.sort_by(|a, b| b.0.norm_squared().total_cmp(&a.0.norm_squared()).then(b.1.total_cmp(&a.1)));
        let (rows, pulls): (Vec<DVector<f64>>, Vec<f64>) = paired.into_iter().unzip();
        let rounding = vec![0.0; rows.len()];
        let mut turned = Turned { rows, pulls, rounding };
        for _ in 0..MOST_ROUNDS {
            let mut is_done = true;
            for p in 0..turned.rows.len() {
                for q in p + 1..turned.rows.len() {
                    is_done &= !turned.turn(p, q);
                }
            }
            if is_done {
                break;
            }
        }
        turned
    }

    /// Brings two rows to right angles; false if they were.
    fn turn(&mut self, p: usize, q: usize) -> bool {
        let (left, right) = self.rows.split_at_mut(q);
        let (a, b) = (&mut left[p], &mut right[0]);
        let (square_a, square_b, product) = (a.norm_squared(), b.norm_squared(), a.dot(b));
        if product.abs() <= RIGHT_ANGLE * (square_a * square_b).sqrt() {
            return false;
        }
        let zeta = (square_b - square_a) / (2.0 * product);
        let tangent = zeta.signum() / (zeta.abs() + (1.0 + zeta * zeta).sqrt());
        let cosine = 1.0 / (1.0 + tangent * tangent).sqrt();
        let sine = cosine * tangent;
        for (a, b) in a.iter_mut().zip(b.iter_mut()) {
            (*a, *b) = (cosine * *a - sine * *b, sine * *a + cosine * *b);
        }
        let rounding = ROUNDING * square_a.max(square_b).sqrt() + self.rounding[p].max(self.rounding[q]);
        for (place, row) in [(p, a), (q, b)] {
            self.rounding[place] = rounding;
            if row.norm() <= rounding {
                row.fill(0.0);
            }
        }
        let (pull_a, pull_b) = (self.pulls[p], self.pulls[q]);
        self.pulls[p] = cosine * pull_a - sine * pull_b;
        self.pulls[q] = sine * pull_a + cosine * pull_b;
        true
    }
}

/// What readings have told of standard-normal values.
#[derive(Debug, Clone, PartialEq)]
pub struct Narrowing {
    /// Orthonormal directions, one a column, as long as there are values.
    directions: DMatrix<f64>,
    /// Variances left along them, where the prior's is one.
    variances: DVector<f64>,
}

impl Narrowing {
    /// Of `count` values of which nothing is known beyond the prior.
    pub fn none(count: usize) -> Self {
        Narrowing { directions: DMatrix::zeros(count, 0), variances: DVector::zeros(0) }
    }

    /// From the slopes of readings times the roots of their weights, a row a reading; `None` if one is not finite.
    pub(crate) fn new(slopes: DMatrix<f64>) -> Option<Self> {
        let count = slopes.ncols();
        if slopes.nrows() == 0 || count == 0 {
            return Some(Narrowing::none(count));
        }
        if !slopes.iter().all(|slope| slope.is_finite()) {
            return None;
        }
        let turned = Turned::new(&slopes, &vec![0.0; slopes.nrows()]);
        let telling: Vec<(f64, DVector<f64>)> = turned
            .rows
            .into_iter()
            .map(|row| (row.norm(), row))
            .filter(|(size, _)| *size > LEAST_TOLD)
            .map(|(size, row)| (size, row / size))
            .collect();
        if telling.is_empty() {
            return Some(Narrowing::none(count));
        }
        let variances =
            DVector::from_iterator(telling.len(), telling.iter().map(|(size, _)| 1.0 / (1.0 + size * size)));
        let directions: Vec<DVector<f64>> = telling.into_iter().map(|(_, direction)| direction).collect();
        Some(Narrowing { directions: DMatrix::from_columns(&directions), variances })
    }

    /// Number of values.
    pub fn count(&self) -> usize {
        self.directions.nrows()
    }

    /// Directions of which readings have told, one a column.
    pub fn directions(&self) -> &DMatrix<f64> {
        &self.directions
    }

    /// Variances left along them.
    pub fn variances(&self) -> &DVector<f64> {
        &self.variances
    }

    /// Logarithm of the determinant of the inverse of the covariance.
    pub(crate) fn log_determinant(&self) -> f64 {
        -self.variances.iter().map(|variance| variance.ln()).sum::<f64>()
    }

    /// The covariance times a vector.
    pub fn times(&self, vector: &DVector<f64>) -> DVector<f64> {
        let mut along = self.directions.tr_mul(vector);
        along.iter_mut().zip(&self.variances).for_each(|(along, variance)| *along *= 1.0 - variance);
        vector - &self.directions * along
    }

    /// Variance left along a vector.
    pub fn variance(&self, vector: &DVector<f64>) -> f64 {
        let along = self.directions.tr_mul(vector);
        let beyond = (vector.norm_squared() - along.norm_squared()).max(0.0);
        beyond + along.iter().zip(&self.variances).map(|(along, variance)| variance * along * along).sum::<f64>()
    }

    /// Variance left of one value.
    pub fn variance_of(&self, place: usize) -> f64 {
        let along = self.directions.row(place);
        let beyond = (1.0 - along.norm_squared()).max(0.0);
        beyond + along.iter().zip(&self.variances).map(|(along, variance)| variance * along * along).sum::<f64>()
    }

    /// The same of values that stand in another order, with others among them that keep their prior.
    pub(crate) fn rearranged(&self, sources: &[Option<usize>]) -> Self {
        let entry = |row: usize, column: usize| sources[row].map_or(0.0, |source| self.directions[(source, column)]);
        let directions = DMatrix::from_fn(sources.len(), self.directions.ncols(), entry);
        Narrowing { directions, variances: self.variances.clone() }
    }
}

/// The Gauss-Newton step of standard-normal values from `place`, `(I + B^T B)^-1 (B^T d - z)`, for rows `B` and pulls `d`.
///
/// A reading through insulation may weigh 1e18 times as much as a prior. With rows at right angles, `s_k u_k` with pulls
/// `d_k`, the step is `sum_k u_k (s_k d_k + s_k^2 u_k^T z) / (1 + s_k^2) - z`, in which nothing large is taken from
/// anything large. `None` if a slope is not finite.
pub(crate) fn step(rows: &DMatrix<f64>, pulls: &DVector<f64>, place: &DVector<f64>) -> Option<DVector<f64>> {
    if !rows.iter().chain(pulls.iter()).all(|entry| entry.is_finite()) {
        return None;
    }
    let turned = Turned::new(rows, pulls.as_slice());
    let mut step = -place;
    for (row, pull) in turned.rows.iter().zip(&turned.pulls) {
        let square = row.norm_squared();
        if square > 0.0 {
            // Along the row itself, whose length is s: (d + s u^T z) / (1 + s^2), and the row's product with z is s u^T z.
            step.axpy((pull + row.dot(place)) / (1.0 + square), row, 1.0);
        }
    }
    Some(step)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use nalgebra::Cholesky;
    use proptest::prelude::*;

    fn slopes() -> impl Strategy<Value = DMatrix<f64>> {
        (1..7usize, 1..7usize).prop_flat_map(|(rows, columns)| {
            prop::collection::vec(-30.0..30.0f64, rows * columns)
                .prop_map(move |entries| DMatrix::from_vec(rows, columns, entries))
        })
    }

    #[test]
    fn a_reading_that_outweighs_all_others_by_decades_still_lands_where_it_points() {
        // Two readings of one value that moves them by 1e9 standard deviations, pulled by 3 and 1 of them: least squares
        // puts the value at 2e-9, and leaves the other value where its prior has it.
        let rows = DMatrix::from_row_slice(2, 2, &[1e9, 0.0, 1e9, 0.0]);
        let place = DVector::from_row_slice(&[0.0, 0.7]);
        let step = step(&rows, &DVector::from_row_slice(&[3.0, 1.0]), &place).unwrap();
        assert!((step[0] / 2e-9 - 1.0).abs() < 1e-6, "{step}");
        assert!((step[1] + 0.7).abs() < 1e-12, "{step}");
    }

    #[test]
    fn two_equal_readings_tell_of_one_direction() {
        // As the slopes of two ohm readings of one element are.
        let rows = DMatrix::from_row_slice(2, 4, &[0.0, 2.72, 1.2e-5, 32.6, 0.0, 2.72, 1.2e-5, 32.6]);
        let narrowing = Narrowing::new(rows.clone()).unwrap();
        let row = rows.row(0).transpose();
        let size = row.norm();
        assert!((narrowing.variance(&(&row / size)) - 1.0 / (1.0 + 2.0 * size * size)).abs() < 1e-12);
        assert!((narrowing.variance_of(0) - 1.0).abs() < 1e-12);
    }

    proptest! {
        #[test]
        fn the_same_as_the_inverse_of_the_full_matrix(slopes in slopes(), seed in prop::collection::vec(-1.0..1.0f64, 6)) {
            let count = slopes.ncols();
            let full = DMatrix::identity(count, count) + slopes.tr_mul(&slopes);
            let factor = Cholesky::new(full).unwrap();
            let covariance = factor.inverse();
            let log_determinant = 2.0 * factor.l().diagonal().iter().map(|d| d.ln()).sum::<f64>();
            let vector = DVector::from_fn(count, |row, _| seed[row]);
            let narrowing = Narrowing::new(slopes.clone()).unwrap();
            prop_assert!((narrowing.log_determinant() - log_determinant).abs() < 1e-9);
            prop_assert!((narrowing.times(&vector) - &covariance * &vector).norm() < 1e-9);
            let pulls = DVector::from_fn(slopes.nrows(), |row, _| seed[5 - row]);
            let pull = slopes.tr_mul(&pulls) - &vector;
            prop_assert!((step(&slopes, &pulls, &vector).unwrap() - &covariance * pull).norm() < 1e-9);
            prop_assert!((narrowing.variance(&vector) - vector.dot(&(&covariance * &vector))).abs() < 1e-9);
            for place in 0..count {
                prop_assert!((narrowing.variance_of(place) - covariance[(place, place)]).abs() < 1e-9);
            }
        }
    }
}
