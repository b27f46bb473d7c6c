//! Exponentials fitted by least squares: rates by a damped Gauss-Newton method, amplitudes solved for at every step.
//!
//! Variable projection (Golub and Pereyra, SIAM Journal on Numerical Analysis 10, 1973) with Kaufman's Jacobian (BIT 15,
//! 1975) and Levenberg's damping. For curves that are known to the end: cooling after switch-off, checks. Of a run that
//! is going on one exponential says too little and two say anything; see [`super::forecast`].

use nalgebra::{DMatrix, DVector};

/// The form of a sum of exponentials in `x`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// `a (1 - exp(-r x))` for each rate: from zero.
    Rise,
    /// `a exp(-r x)` for each rate.
    Decay,
    /// A constant, then `a exp(-r x)` for each rate.
    DecayToConstant,
}

/// What was fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Amplitudes, the constant first if there is one.
    pub amplitudes: Vec<f64>,
    /// Rates, in units of 1/x.
    pub rates: Vec<f64>,
    /// Standard deviations of amplitudes, then of rates; infinite if there are no more readings than unknowns.
    pub deviations: Vec<f64>,
    /// Residual sum of squares.
    pub residual_squares: f64,
    /// Steps that were taken.
    pub steps: usize,
}

/// Why nothing can be fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum FitError {
    /// Fewer readings than unknowns, or lists of different lengths.
    #[error("{readings} readings for {unknowns} unknowns")]
    TooFew {
        /// Readings.
        readings: usize,
        /// Amplitudes and rates.
        unknowns: usize,
    },
    /// Two rates are one, a rate is not above zero, or the readings are no numbers.
    #[error("the readings do not determine so many exponentials")]
    Undetermined,
}

const MOST_STEPS: usize = 2000;
/// A relative step this small is the last.
const LAST_STEP: f64 = 1e-14;

/// Fits from given rates; a local optimum.
///
/// # Errors
/// [`FitError`].
pub fn fit(form: Form, x: &[f64], y: &[f64], start_rates: &[f64]) -> Result<Fit, FitError> {
    let constants = usize::from(form == Form::DecayToConstant);
    let unknowns = constants + 2 * start_rates.len();
    if x.len() != y.len() || x.len() < unknowns {
        return Err(FitError::TooFew { readings: x.len().min(y.len()), unknowns });
    }
    if !start_rates.iter().all(|rate| rate.is_finite() && *rate > 0.0) {
        return Err(FitError::Undetermined);
    }
    let problem = Problem { form, x, y: DVector::from_column_slice(y) };
    // Logarithms keep rates above zero, and make a step of ten times the rate no larger than one of a tenth.
    let mut logs = DVector::from_iterator(start_rates.len(), start_rates.iter().map(|rate| rate.ln()));
    let mut now = problem.project(&logs)?;
    let mut damping = 1e-3;
    let mut steps = 0;
    while steps < MOST_STEPS {
        steps += 1;
        let Some(step) = now.step(damping) else { return Err(FitError::Undetermined) };
        let trial_logs = &logs + &step;
        match problem.project(&trial_logs) {
            Ok(trial) if trial.squares <= now.squares => {
                (logs, now) = (trial_logs, trial);
                damping = (damping * 0.1).max(1e-14);
            }
            _ if step.amax() < LAST_STEP || damping > 1e12 => break,
            _ => damping = damping.max(1e-10) * 4.0,
        }
        if step.amax() < LAST_STEP {
            break;
        }
    }
    Ok(problem.finished(&logs, now, steps))
}

/// Fits from many rates spread over what the readings can show, and returns the best.
///
/// # Errors
/// [`FitError`].
pub fn fit_anywhere(form: Form, x: &[f64], y: &[f64], rates: usize) -> Result<Fit, FitError> {
    const TRIED: usize = 9;
    let longest = x.iter().copied().fold(0.0, f64::max).max(f64::MIN_POSITIVE);
    let tried: Vec<f64> = (0..TRIED).map(|place| 0.1 / longest * 3_f64.powi(place as i32)).collect();
    let mut best: Result<Fit, FitError> = Err(FitError::Undetermined);
    let mut chosen: Vec<usize> = (0..rates).collect();
    loop {
        let start: Vec<f64> = chosen.iter().filter_map(|&place| tried.get(place)).copied().collect();
        match (fit(form, x, y, &start), &best) {
            (Err(few @ FitError::TooFew { .. }), _) => return Err(few),
            (Ok(found), Ok(known)) if found.residual_squares < known.residual_squares => best = Ok(found),
            (Ok(found), Err(_)) => best = Ok(found),
            _ => {}
        }
        // The next choice of rates in order.
        let Some(place) = (0..rates).rev().find(|&place| chosen[place] < TRIED - rates + place) else { return best };
        chosen[place] += 1;
        (place + 1..rates).for_each(|later| chosen[later] = chosen[later - 1] + 1);
    }
}

struct Problem<'d> {
    form: Form,
    x: &'d [f64],
    y: DVector<f64>,
}

struct Projected {
    amplitudes: DVector<f64>,
    residuals: DVector<f64>,
    squares: f64,
    /// By the logarithms of the rates, amplitudes following.
    jacobian: DMatrix<f64>,
    /// By amplitudes, then rates themselves.
    full: DMatrix<f64>,
}

impl Problem<'_> {
    fn project(&self, logs: &DVector<f64>) -> Result<Projected, FitError> {
        let constants = usize::from(self.form == Form::DecayToConstant);
        let (rows, rates) = (self.x.len(), logs.len());
        let decay = |row: usize, rate: usize| (-logs[rate].exp() * self.x[row]).exp();
        let columns = DMatrix::from_fn(rows, constants + rates, |row, column| match (self.form, column) {
            (Form::DecayToConstant, 0) => 1.0,
            (Form::Rise, _) => -(-logs[column].exp() * self.x[row]).exp_m1(),
            _ => decay(row, column - constants),
        });
        let qr = columns.clone().qr();
        let (q, r) = (qr.q(), qr.r());
        let largest = r.diagonal().amax();
        if !(r.diagonal().iter().all(|value| value.abs() > 1e-15 * largest)) {
            return Err(FitError::Undetermined);
        }
        let amplitudes = r.solve_upper_triangular(&(q.transpose() * &self.y)).ok_or(FitError::Undetermined)?;
        let residuals = &self.y - &columns * &amplitudes;
        let squares = residuals.norm_squared();
        let sign = if self.form == Form::Rise { 1.0 } else { -1.0 };
        let by_rate = DMatrix::from_fn(rows, rates, |row, rate| {
            sign * amplitudes[constants + rate] * self.x[row] * decay(row, rate)
        });
        let scaled = DMatrix::from_fn(rows, rates, |row, rate| by_rate[(row, rate)] * logs[rate].exp());
        let jacobian = &scaled - &q * (q.transpose() * &scaled);
        let full =
            DMatrix::from_fn(rows, constants + 2 * rates, |row, column| match column.checked_sub(columns.ncols()) {
                None => columns[(row, column)],
                Some(rate) => by_rate[(row, rate)],
            });
        if !squares.is_finite() {
            return Err(FitError::Undetermined);
        }
        Ok(Projected { amplitudes, residuals, squares, jacobian, full })
    }

    fn finished(&self, logs: &DVector<f64>, last: Projected, steps: usize) -> Fit {
        let unknowns = last.full.ncols();
        let freedom = self.x.len() - unknowns;
        let variance = if freedom > 0 { last.squares / freedom as f64 } else { f64::INFINITY };
        let inverse = last.full.qr().r().try_inverse();
        let deviations = match inverse {
            Some(inverse) => (0..unknowns).map(|row| inverse.row(row).norm() * variance.sqrt()).collect(),
            None => vec![f64::INFINITY; unknowns],
        };
        Fit {
            amplitudes: last.amplitudes.iter().copied().collect(),
            rates: logs.iter().map(|log| log.exp()).collect(),
            deviations,
            residual_squares: last.squares,
            steps,
        }
    }
}

impl Projected {
    /// Of the damped normal equations, as a least-squares problem of their own so that nothing is squared.
    fn step(&self, damping: f64) -> Option<DVector<f64>> {
        let (rows, count) = self.jacobian.shape();
        let sizes: Vec<f64> = self.jacobian.column_iter().map(|column| column.norm().max(f64::MIN_POSITIVE)).collect();
        let mut tall = DMatrix::zeros(rows + count, count);
        tall.rows_mut(0, rows).copy_from(&self.jacobian);
        for (place, size) in sizes.iter().enumerate() {
            tall[(rows + place, place)] = damping.sqrt() * size;
        }
        let mut right = DVector::zeros(rows + count);
        right.rows_mut(0, rows).copy_from(&self.residuals);
        let qr = tall.qr();
        let step = qr.r().solve_upper_triangular(&(qr.q().transpose() * right))?;
        // A rate changes by at most e^2 in one step.
        let longest = step.amax();
        step.iter().all(|value| value.is_finite()).then(|| if longest > 2.0 { step * (2.0 / longest) } else { step })
    }
}

/// Final value and time constant of one exponential from three readings at equal spacing (the three-point rule: closed
/// form), all as rises from the start; `None` if they do not bend towards an end.
pub fn three_readings(readings: [f64; 3], spacing: f64) -> Option<(f64, f64)> {
    let [first, second, third] = readings;
    let (early, late) = (second - first, third - second);
    let ratio = early / late;
    (ratio.is_finite() && ratio > 1.0)
        .then(|| ((second * second - first * third) / (2.0 * second - first - third), spacing / ratio.ln()))
}
