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
//! Source: Golub and Van Loan, Matrix Computations (4th ed. 2013), 2.1.4 (Sherman-Morrison-Woodbury) and 2.4 (singular
//! values).

use nalgebra::{Cholesky, DMatrix, DVector, SVD};

/// Rounds after which a decomposition that does not come to an end is given up.
const MOST_ROUNDS: usize = 1000;

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
        let found = SVD::try_new(slopes.transpose(), true, false, f64::EPSILON, MOST_ROUNDS)?;
        let variances = found.singular_values.map(|s| 1.0 / (1.0 + s * s));
        Some(Narrowing { directions: found.u?, variances })
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
/// By singular values, since a reading through insulation may weigh 1e18 times as much as a prior: with `B^T = U S W^T` the
/// step is `U S (I + S^2)^-1 W^T d + U S^2 (I + S^2)^-1 U^T z - z`, in which nothing large is taken from anything large.
pub(crate) fn step(rows: &DMatrix<f64>, pulls: &DVector<f64>, place: &DVector<f64>) -> Option<DVector<f64>> {
    if rows.nrows() == 0 {
        return Some(-place);
    }
    if !rows.iter().chain(pulls.iter()).all(|entry| entry.is_finite()) {
        return None;
    }
    let found = SVD::try_new(rows.transpose(), true, true, f64::EPSILON, MOST_ROUNDS)?;
    let (directions, readings) = (found.u?, found.v_t?);
    let (pulled, stood) = (readings * pulls, directions.tr_mul(place));
    let along = DVector::from_fn(found.singular_values.len(), |k, _| {
        let s = found.singular_values[k];
        // Divided by the square first: that of a large value is not finite.
        let (gain, kept) = if s > 1.0 {
            (1.0 / (s + 1.0 / s), 1.0 / (1.0 + s.powi(-2)))
        } else {
            (s / (1.0 + s * s), s * s / (1.0 + s * s))
        };
        gain * pulled[k] + kept * stood[k]
    });
    Some(directions * along - place)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
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
