//! What is held possible about a rise of temperature before the first reading: shapes, sizes and their weights.

/// What somebody expects of the rise, from plates or from the unit's own thermal model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThermalPrior {
    /// Rise over the room that is expected, kelvins.
    pub rise_kelvin: f64,
    /// Its standard deviation, kelvins.
    pub rise_spread_kelvin: f64,
    /// Median of the main time constant, minutes.
    pub main_minutes: f64,
    /// Standard deviation of the natural logarithm of the main time constant.
    pub main_spread: f64,
}

impl Default for ThermalPrior {
    /// Small motors, heaters and transformers of all kinds. Engineering judgement, then widened until the intervals of
    /// `docs/heat-run-trials.md` held what they promise.
    fn default() -> Self {
        ThermalPrior { rise_kelvin: 55.0, rise_spread_kelvin: 32.0, main_minutes: 28.0, main_spread: 0.65 }
    }
}

/// A large unit warms for hours: so many times as long as a usual one, with this standard deviation of the natural logarithm;
/// this share of units is large. Engineering judgement.
const LARGE: f64 = 6.4;
const LARGE_SPREAD: f64 = 0.6;
const LARGE_SHARE: f64 = 0.1;

/// Shortest time constant on the grid, minutes, and the longest main one.
const SHORTEST: f64 = 5.0;
const LONGEST_MAIN: f64 = 600.0;
/// Longest time constant of a slow body, minutes: a day.
const LONGEST: f64 = 1500.0;
/// Ratio between neighbours on the grid, where there are main ones and beyond.
const STEP: f64 = 1.1;
const COARSE_STEP: f64 = 1.2;
/// Of units slower than this only every other fast time constant is tried, minutes.
const FINE_UP_TO: f64 = 140.0;
/// A slow body lags so many times behind the main one.
const SLOWER: [f64; 4] = [2.4, 4.2, 8.0, 16.0];
/// One that lags so much may be a housing that holds the heat: it then has a large share of the rise, mean and standard
/// deviation, in this share of such units. Engineering judgement.
const HOUSING_LAGS: f64 = 8.0;
const HOUSING_SHARE: (f64, f64) = (0.25, 0.12);
const HOUSED: f64 = 0.1;
/// Fast time constants (a winding against its core, a sensor against what it is on), minutes.
pub const FASTS: [f64; 13] = [0.5, 0.8, 1.2, 1.7, 2.4, 3.4, 4.8, 6.8, 9.6, 13.6, 19.2, 27.2, 38.4];
/// Only the winding of a large unit takes longer than so many minutes, and then no more than this share of the main time
/// constant. Engineering judgement.
const USUAL_FAST: f64 = 10.0;
const LARGE_FAST_SHARE: f64 = 0.2;
/// The main time constant is so many times the fast one at least; else the two are one.
const APART: f64 = 2.5;

/// Share of the rise that a fast body has, mean and standard deviation. Below zero: what is logged lags behind what is
/// heated (a core, a shell). Engineering judgement, as all shares here.
pub const FAST_SHARE: (f64, f64) = (0.12, 0.18);
/// Share of the rise that a slow body (a cabinet, a mounting plate) has, mean and standard deviation; never below zero.
const SLOW_SHARE: (f64, f64) = (0.06, 0.1);
/// A body that there is not has no share.
const NO_SHARE: (f64, f64) = (0.0, 1e-6);
/// Share of units in which no slow body shows.
const WITHOUT_SLOW: f64 = 0.5;
/// Standard deviation of the rise about each size that is tried, as a share of it.
pub const SIZE_SHARE: f64 = 0.25;

/// All time constants of the main and the slow bodies, minutes, shortest first.
pub fn slow_grid() -> Vec<f64> {
    let next = |&constant: &f64| Some(constant * if constant < LONGEST_MAIN { STEP } else { COARSE_STEP });
    std::iter::successors(Some(SHORTEST), next).take_while(|&constant| constant < LONGEST).collect()
}

/// Three time constants of a rise: `rise - fast exp(-t/T1) - main exp(-t/T2) - slow exp(-t/T3)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shape {
    /// Index in [`FASTS`].
    pub fast: usize,
    /// Index in [`slow_grid`].
    pub main: usize,
    /// Index in [`slow_grid`]; `None` without a slow body.
    pub slow: Option<usize>,
    /// Share of the rise that the slow body has, mean and standard deviation.
    pub slow_share: (f64, f64),
    /// Natural logarithm of its weight.
    pub log_weight: f64,
}

/// Every shape that is held possible.
pub fn shapes(prior: &ThermalPrior) -> Vec<Shape> {
    let mut shapes: Vec<Shape> = Vec::new();
    let grid = slow_grid();
    let nearest = |minutes: f64| {
        let off = |constant: f64| (constant / minutes).ln().abs();
        (0..grid.len()).min_by(|&a, &b| off(grid[a]).total_cmp(&off(grid[b])))
    };
    for (main, &main_minutes) in grid.iter().enumerate().take_while(|&(_, &minutes)| minutes <= LONGEST_MAIN) {
        let log_main = log_weight_of_main(main_minutes, prior);
        let every = if main_minutes > FINE_UP_TO { 2 } else { 1 };
        let longest_fast = (main_minutes / APART).min(USUAL_FAST.max(LARGE_FAST_SHARE * main_minutes));
        let fasts: Vec<usize> = (0..FASTS.len()).step_by(every).filter(|&fast| FASTS[fast] <= longest_fast).collect();
        let slower = SLOWER.iter().filter(|&times| times * main_minutes <= LONGEST);
        let slower: Vec<(f64, usize)> =
            slower.filter_map(|&times| Some((times, nearest(times * main_minutes)?))).collect();
        for &fast in &fasts {
            let log_weight = log_main - (fasts.len() as f64).ln();
            let shape = |slow, slow_share, share: f64| {
                shapes.push(Shape { fast, main, slow, slow_share, log_weight: log_weight + share.ln() });
            };
            each_slow(&slower, shape);
        }
    }
    shapes
}

/// No slow body, and each of those that lag: its place on the grid, its share of the rise and the share of units that have it.
fn each_slow(slower: &[(f64, usize)], mut shape: impl FnMut(Option<usize>, (f64, f64), f64)) {
    shape(None, NO_SHARE, WITHOUT_SLOW);
    let with = (1.0 - WITHOUT_SLOW) / slower.len() as f64;
    for &(lags, slow) in slower {
        let housed = if lags >= HOUSING_LAGS { HOUSED } else { 0.0 };
        shape(Some(slow), SLOW_SHARE, with * (1.0 - housed));
        if housed > 0.0 {
            shape(Some(slow), HOUSING_SHARE, with * housed);
        }
    }
}

/// Natural logarithm of the weight of a main time constant: usual units and large ones.
fn log_weight_of_main(minutes: f64, prior: &ThermalPrior) -> f64 {
    let density = |median: f64, spread: f64| (-0.5 * ((minutes / median).ln() / spread).powi(2)).exp() / spread;
    let usual = density(prior.main_minutes, prior.main_spread);
    let large = density(LARGE * prior.main_minutes, LARGE_SPREAD);
    ((1.0 - LARGE_SHARE) * usual + LARGE_SHARE * large).max(f64::MIN_POSITIVE).ln()
}

/// Sizes of the rise that are tried, kelvins, with the natural logarithms of their weights: normal on a logarithmic
/// scale.
pub fn sizes(prior: &ThermalPrior) -> Vec<(f64, f64)> {
    let spread = (1.0 + (prior.rise_spread_kelvin / prior.rise_kelvin).powi(2)).ln().sqrt();
    [-1.6_f64, -0.8, 0.0, 0.8, 1.6]
        .iter()
        .map(|&score| (prior.rise_kelvin * (spread * score).exp(), -0.5 * score * score))
        .collect()
}
