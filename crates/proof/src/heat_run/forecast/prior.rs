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

/// Shortest main time constant on the grid, minutes.
const SHORTEST_MAIN: f64 = 5.0;
/// Ratio between neighbours on the grid of time constants.
const STEP: f64 = 1.1;
/// Main time constants on the grid: 5 to 140 minutes.
const MAINS: usize = 36;
/// A slow body lags so many steps behind the main one: about 2.4, 4.2 and 8 times as long.
const SLOWER: [usize; 3] = [9, 15, 22];
/// Fast time constants (a winding against its core, a sensor against what it is on), minutes.
pub const FASTS: [f64; 9] = [0.5, 0.8, 1.2, 1.7, 2.4, 3.4, 4.8, 6.8, 9.6];
/// The main time constant is so many times the fast one at least; else the two are one.
const APART: f64 = 2.5;

/// Share of the rise that a fast body has, mean and standard deviation. Below zero: what is logged lags behind what is
/// heated (a core, a shell). Engineering judgement, as all shares here.
pub const FAST_SHARE: (f64, f64) = (0.12, 0.18);
/// Share of the rise that a slow body (a cabinet, a mounting plate) has, mean and standard deviation; never below zero.
pub const SLOW_SHARE: (f64, f64) = (0.06, 0.1);
/// Share of units in which no slow body shows.
const WITHOUT_SLOW: f64 = 0.5;
/// Standard deviation of the rise about each size that is tried, as a share of it.
pub const SIZE_SHARE: f64 = 0.25;

/// All time constants of the main and the slow bodies, minutes, shortest first.
pub fn slow_grid() -> Vec<f64> {
    let longest = SLOWER.iter().max().copied().unwrap_or_default();
    (0..MAINS + longest).map(|step| SHORTEST_MAIN * STEP.powi(step as i32)).collect()
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
    /// Natural logarithm of its weight.
    pub log_weight: f64,
}

/// Every shape that is held possible.
pub fn shapes(prior: &ThermalPrior) -> Vec<Shape> {
    let mut shapes = Vec::new();
    for (main, &main_minutes) in slow_grid().iter().take(MAINS).enumerate() {
        let score = (main_minutes / prior.main_minutes).ln() / prior.main_spread;
        let fasts = FASTS.iter().take_while(|&&fast| fast * APART <= main_minutes).count();
        for fast in 0..fasts {
            let log_weight = -0.5 * score * score - (fasts as f64).ln();
            let alone = Shape { fast, main, slow: None, log_weight: log_weight + WITHOUT_SLOW.ln() };
            let with_slow = log_weight + ((1.0 - WITHOUT_SLOW) / SLOWER.len() as f64).ln();
            let slower = SLOWER.map(|lag| Shape { fast, main, slow: Some(main + lag), log_weight: with_slow });
            shapes.extend(std::iter::once(alone).chain(slower));
        }
    }
    shapes
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
