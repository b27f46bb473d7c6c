//! Where a temperature is going, from what was logged of it so far, and how sure that is.
//!
//! One exponential is known to say too little (research: always less than the true rise, often much less), and two fitted
//! freely say anything at all while the run is short. So nothing is fitted here: every shape that is held possible
//! ([`prior`]) is weighed by how well it agrees with the readings; for each, start, rise and drift of the room follow in
//! closed form (Gaussian, linear), and what is reported are quantiles of the whole mixture. There is no optimum to get stuck in.

pub mod mixture;
pub mod noise;
pub mod prior;

use mixture::{Mixture, Normal};
use nalgebra::{SMatrix, SVector};
use noise::{Noise, Whitener, white_kelvin};
use prior::{FAST_SHARE, FASTS, SIZE_SHARE, Shape, ThermalPrior, shapes, sizes, slow_grid};
use statrs::function::erf::erfc;

/// What is unknown of a shape: temperature at the start, rise, the fast body's part of it, the slow body's part of it,
/// drift of the room per minute.
const UNKNOWNS: usize = 5;
const FAST_RISE: usize = 2;
const SLOW_RISE: usize = 3;
type Vector = SVector<f64, UNKNOWNS>;
type Matrix = SMatrix<f64, UNKNOWNS, UNKNOWNS>;

/// One temperature over time, from switching on.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Series {
    /// Times in order, minutes from switching on.
    pub minutes: Vec<f64>,
    /// Temperatures at these times.
    pub celsius: Vec<f64>,
    /// Temperature of the room at these times, if it was logged.
    pub room: Option<Vec<f64>>,
    /// Smallest step that the reading shows, kelvins.
    pub resolution_kelvin: f64,
}

/// Too little was logged to say anything.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("{readings} readings over {minutes:.1} minutes; at least {FEWEST} over {SHORTEST_MINUTES} minutes are needed")]
pub struct TooShort {
    /// Readings there are.
    pub readings: usize,
    /// Minutes from the first to the last.
    pub minutes: f64,
}

/// Fewest readings that are weighed.
pub const FEWEST: usize = 6;
/// Shortest run that is weighed, minutes.
pub const SHORTEST_MINUTES: f64 = 3.0;

/// Readings that are weighed at most; more are averaged, those of the beginning least.
const MOST_POINTS: usize = 90;
/// Standard deviation of the temperature at the start about the first reading, kelvins. Engineering judgement.
const START_KELVIN: f64 = 5.0;
/// Standard deviation of the drift of a room that was not logged, kelvins per minute: 0.8 K an hour. Engineering judgement.
const DRIFT_KELVIN_PER_MINUTE: f64 = 0.8 / 60.0;
/// Shapes with less than this share of the leading one's weight are left out.
const NEGLIGIBLE: f64 = 1e-6;
/// Shapes so far below the leading one (natural logarithm) are not tried under stricter noise.
const HOPELESS: f64 = 14.0;
/// White noise is never taken to be smaller, kelvins.
const QUIETEST_KELVIN: f64 = 0.03;
/// In the first minutes sensors lag and small bodies warm that no shape knows: kelvins, and minutes until that is down to
/// 1/e. Engineering judgement.
const EARLY_KELVIN: f64 = 0.5;
const EARLY_MINUTES: f64 = 3.0;
/// Disturbances that are held possible, the largest first: kelvins, minutes, weight. Engineering judgement, checked by
/// trials.
const WANDERS: [(f64, f64, f64); 5] =
    [(1.2, 25.0, 0.1), (0.6, 28.0, 0.28), (0.4, 12.0, 0.2), (0.28, 38.0, 0.25), (0.1, 20.0, 0.17)];

/// One shape with what the readings say about it.
#[derive(Debug, Clone, Copy)]
struct Weighed {
    shape: Shape,
    weight: f64,
    final_celsius: f64,
    deviation: f64,
    /// The unknowns; the start over the first reading.
    mean: Vector,
}

impl Weighed {
    /// Readings that are no numbers, or so large that their squares are none.
    fn hopeless(shape: Shape) -> Self {
        Weighed { shape, weight: f64::MIN, final_celsius: 0.0, deviation: 1.0, mean: Vector::zeros() }
    }
}

/// What the readings so far say about where a temperature is going.
#[derive(Debug, Clone)]
pub struct Forecast {
    grid: Vec<f64>,
    weighed: Vec<Weighed>,
    mixture: Mixture,
    first_celsius: f64,
    now_minutes: f64,
    room_change: f64,
}

/// Weighs all shapes against what was logged. 'Final' is where the temperature comes to rest with load and room as they
/// are at the end of the log.
///
/// # Errors
/// [`TooShort`] below [`FEWEST`] readings or [`SHORTEST_MINUTES`].
pub fn forecast(series: &Series, prior: &ThermalPrior) -> Result<Forecast, TooShort> {
    let span = match (series.minutes.first(), series.minutes.last()) {
        (Some(first), Some(last)) => last - first,
        _ => 0.0,
    };
    if series.minutes.len() < FEWEST || span < SHORTEST_MINUTES {
        return Err(TooShort { readings: series.minutes.len(), minutes: span });
    }
    let white = white_kelvin(&series.minutes, &series.celsius).unwrap_or_default();
    let quantum = series.resolution_kelvin / 12_f64.sqrt();
    let white = white.max(quantum).max(QUIETEST_KELVIN);
    let points = thinned(series);
    // Rounding is no noise that averages out: a slow temperature is rounded the same way for minutes.
    let variance = |(count, minutes): (&f64, &f64)| {
        let early = EARLY_KELVIN * (-(minutes - points.minutes[0]) / EARLY_MINUTES).exp();
        white * white / count + QUIETEST_KELVIN * QUIETEST_KELVIN + early * early
    };
    let variances: Vec<f64> = points.counts.iter().zip(&points.minutes).map(variance).collect();
    let basis = Basis::new(&points, prior);
    let now_minutes = points.minutes.last().copied().unwrap_or_default();
    let room_change = points.room.as_ref().map_or(0.0, |room| room.last().copied().unwrap_or_default() - room[0]);
    let mut weighed = Vec::new();
    let mut alive: Vec<usize> = (0..basis.shapes.len()).collect();
    for (wander, minutes, weight) in WANDERS {
        let noise = Noise { wander_kelvin: wander.hypot(quantum), wander_minutes: minutes };
        let whitener = Whitener::new(noise, &points.minutes, &variances);
        let from = weighed.len();
        basis.weigh(&alive, &whitener, f64::ln(weight), (now_minutes, room_change), &mut weighed);
        // What the most tolerant noise finds hopeless, stricter ones would find more so.
        let best = weighed[from..].iter().map(|entry: &Weighed| entry.weight).fold(f64::MIN, f64::max);
        let by_shape = weighed[from..].chunks(basis.sizes.len());
        let hopes =
            alive.iter().zip(by_shape).filter(|(_, sizes)| sizes.iter().any(|size| size.weight > best - HOPELESS));
        alive = hopes.map(|(&shape, _)| shape).collect();
    }
    let best = weighed.iter().map(|entry: &Weighed| entry.weight).fold(f64::MIN, f64::max);
    weighed.retain_mut(|entry| {
        entry.weight = (entry.weight - best).exp();
        entry.weight > NEGLIGIBLE
    });
    let total: f64 = weighed.iter().map(|entry| entry.weight).sum();
    weighed.iter_mut().for_each(|entry| entry.weight /= total);
    let normal =
        |entry: &Weighed| Normal { weight: entry.weight, mean: entry.final_celsius, deviation: entry.deviation };
    let mixture = Mixture::new(weighed.iter().map(normal).collect());
    let first_celsius = basis.first_celsius;
    Ok(Forecast { grid: basis.grid, weighed, mixture, first_celsius, now_minutes, room_change })
}

/// Readings, averaged where they are many.
struct Points {
    minutes: Vec<f64>,
    celsius: Vec<f64>,
    room: Option<Vec<f64>>,
    counts: Vec<f64>,
}

fn thinned(series: &Series) -> Points {
    let room = series.room.as_deref();
    let mut points = Points { minutes: vec![], celsius: vec![], room: room.map(|_| vec![]), counts: vec![] };
    let (first, last) = (series.minutes[0], series.minutes[series.minutes.len() - 1]);
    let crowded = series.minutes.len() > MOST_POINTS;
    let mut at = 0;
    let mut step = 0;
    while at < series.minutes.len() {
        step += 1;
        let edge = first + (last - first) * (step as f64 / MOST_POINTS as f64).powf(1.5);
        let from = at;
        at += 1;
        if crowded {
            if series.minutes[from] > edge {
                at = from;
                continue;
            }
            while at < series.minutes.len() && (series.minutes[at] <= edge || step >= MOST_POINTS) {
                at += 1;
            }
        }
        let mean = |values: &[f64]| values[from..at].iter().sum::<f64>() / (at - from) as f64;
        points.minutes.push(mean(&series.minutes));
        points.celsius.push(mean(&series.celsius));
        if let (Some(to), Some(from)) = (points.room.as_mut(), room) {
            to.push(mean(from));
        }
        points.counts.push((at - from) as f64);
    }
    points
}

/// All functions of time of which any shape is a sum, at the times of the readings.
struct Basis {
    sizes: Vec<(f64, f64)>,
    shapes: Vec<Shape>,
    grid: Vec<f64>,
    /// One, time, the fast exponentials, those of the grid, the readings, and what a drifting room does through each
    /// main time constant.
    columns: Vec<Vec<f64>>,
    first_celsius: f64,
    has_room: bool,
}

const TIME: usize = 1;
const FAST: usize = 2;
const SLOW: usize = FAST + FASTS.len();

impl Basis {
    fn new(points: &Points, prior: &ThermalPrior) -> Self {
        let grid = slow_grid();
        let first_celsius = points.celsius[0];
        let decay = |&constant: &f64| points.minutes.iter().map(|t| (-t / constant).exp()).collect();
        let mut columns: Vec<Vec<f64>> = vec![vec![1.0; points.minutes.len()], points.minutes.clone()];
        columns.extend(FASTS.iter().map(decay));
        columns.extend(grid.iter().map(decay));
        columns.push(points.celsius.iter().map(|value| value - first_celsius).collect());
        if let Some(room) = &points.room {
            columns.extend(grid.iter().map(|&constant| lagged(&points.minutes, room, constant)));
        }
        let has_room = points.room.is_some();
        Basis { sizes: sizes(prior), shapes: shapes(prior), grid, columns, first_celsius, has_room }
    }

    /// Adds every shape with its final temperature and the logarithm of its weight, under one kind of noise.
    fn weigh(
        &self,
        alive: &[usize],
        whitener: &Whitener,
        log_weight: f64,
        now: (f64, f64),
        weighed: &mut Vec<Weighed>,
    ) {
        let white: Vec<Vec<f64>> = self.columns.iter().map(|column| whitener.apply(column)).collect();
        let count = white.len();
        let mut gram = vec![0.0; count * count];
        for (i, left) in white.iter().enumerate() {
            for (j, right) in white.iter().enumerate().take(i + 1) {
                let product: f64 = left.iter().zip(right).map(|(a, b)| a * b).sum();
                gram[i * count + j] = product;
                gram[j * count + i] = product;
            }
        }
        let dot = |left: &[(usize, f64)], right: &[(usize, f64)]| -> f64 {
            left.iter().map(|&(i, a)| right.iter().map(|&(j, b)| a * b * gram[i * count + j]).sum::<f64>()).sum()
        };
        let data = SLOW + self.grid.len();
        let (now_minutes, room_change) = now;
        let read_off = Vector::from([1.0, 1.0, 0.0, 0.0, now_minutes]);
        for shape in alive.iter().map(|&index| &self.shapes[index]) {
            let (fast, main) = (FAST + shape.fast, SLOW + shape.main);
            let slow = shape.slow.map_or(main, |slow| SLOW + slow);
            let columns: [&[(usize, f64)]; UNKNOWNS] = [
                &[(0, 1.0)],
                &[(0, 1.0), (main, -1.0)],
                &[(main, 1.0), (fast, -1.0)],
                &[(main, 1.0), (slow, -1.0)],
                // A drift that reaches the unit through its main time constant.
                &[(0, -self.grid[shape.main]), (TIME, 1.0), (main, self.grid[shape.main])],
            ];
            let with_room = [(data, 1.0), (data + 1 + shape.main, -1.0)];
            let target = if self.has_room { &with_room[..] } else { &with_room[..1] };
            let mut seen = Matrix::zeros();
            let mut agreeing = Vector::zeros();
            for (i, left) in columns.iter().enumerate() {
                for (j, right) in columns.iter().enumerate().take(i + 1) {
                    seen[(i, j)] = dot(left, right);
                    seen[(j, i)] = seen[(i, j)];
                }
                agreeing[i] = dot(left, target);
            }
            let square = dot(target, target);
            for &(size, size_weight) in &self.sizes {
                let (expected, spreads) = self.before(size, shape);
                let precision = spreads.map(|spread| 1.0 / (spread * spread));
                let information = seen + Matrix::from_diagonal(&precision);
                let right = agreeing + precision.component_mul(&expected);
                let Some(cholesky) = information.cholesky() else {
                    weighed.push(Weighed::hopeless(*shape));
                    continue;
                };
                let mut mean = cholesky.solve(&right);
                let misfit = square + precision.dot(&expected.component_mul(&expected)) - right.dot(&mean);
                let log_root: f64 = cholesky.l_dirty().diagonal().map(f64::ln).sum();
                let evidence = -0.5 * (misfit + whitener.log_determinant) - log_root - spreads.map(f64::ln).sum();
                let toward_final = cholesky.solve(&read_off);
                let mut variance = read_off.dot(&toward_final);
                let toward_slow = cholesky.solve(&Vector::ith(SLOW_RISE, 1.0));
                let kept = kept_above_zero(mean[SLOW_RISE], toward_slow[SLOW_RISE].sqrt());
                let linked = toward_final[SLOW_RISE];
                mean += toward_slow * (kept.moved / toward_slow[SLOW_RISE].sqrt());
                variance -= linked * linked / toward_slow[SLOW_RISE] * kept.narrowed;
                weighed.push(Weighed {
                    shape: *shape,
                    weight: evidence + shape.log_weight + size_weight + log_weight + kept.log_share,
                    final_celsius: self.first_celsius + read_off.dot(&mean) + room_change,
                    deviation: variance.max(1e-8).sqrt(),
                    mean,
                });
            }
        }
    }

    /// Means and standard deviations of the unknowns before the first reading, for a size of the rise.
    fn before(&self, size: f64, shape: &Shape) -> (Vector, Vector) {
        // A room that was logged drifts as it was logged to.
        let drift = if self.has_room { 1e-9 } else { DRIFT_KELVIN_PER_MINUTE };
        let slow = shape.slow_share;
        (
            Vector::from([0.0, size, FAST_SHARE.0 * size, slow.0 * size, 0.0]),
            Vector::from([START_KELVIN, SIZE_SHARE * size, FAST_SHARE.1 * size, slow.1 * size, drift]),
        )
    }
}

/// What is left of a normal distribution above zero.
struct Kept {
    /// Natural logarithm of how much of it.
    log_share: f64,
    /// By how many standard deviations its mean moves up.
    moved: f64,
    /// Share of the variance that is lost.
    narrowed: f64,
}

/// Moments of a truncated normal distribution (Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions 1, 10.1).
fn kept_above_zero(mean: f64, deviation: f64) -> Kept {
    let score = mean / deviation;
    if score < -6.0 {
        return Kept { log_share: -0.5 * score * score - (-score).ln() - 0.919, moved: -score, narrowed: 1.0 };
    }
    let share = 0.5 * erfc(-score / std::f64::consts::SQRT_2);
    let moved = (-0.5 * score * score).exp() / (2.0 * std::f64::consts::PI).sqrt() / share;
    Kept { log_share: share.ln(), moved, narrowed: (moved * (moved + score)).min(1.0) }
}

/// What changes of the room do to a body with one time constant: each change arrives with that lag.
fn lagged(minutes: &[f64], room: &[f64], constant: f64) -> Vec<f64> {
    let mut felt = 0.0;
    let mut last = (minutes[0], 0.0);
    let each = |(&t, &value): (&f64, &f64)| {
        let change = value - room[0];
        let fade = (-(t - last.0) / constant).exp();
        // The room is taken to change evenly between readings: the mean of both ends.
        felt = felt * fade + (1.0 - fade) * 0.5 * (change + last.1);
        last = (t, change);
        felt
    };
    minutes.iter().zip(room).map(each).collect()
}

impl Forecast {
    /// The final temperature, median.
    pub fn final_celsius(&self) -> f64 {
        self.mixture.quantile(0.5)
    }

    /// Lower and upper end of the interval that holds the final temperature with this probability.
    pub fn interval(&self, probability: f64) -> (f64, f64) {
        (self.mixture.quantile(0.5 - 0.5 * probability), self.mixture.quantile(0.5 + 0.5 * probability))
    }

    /// Probability that the final temperature is below `celsius`.
    pub fn probability_below(&self, celsius: f64) -> f64 {
        self.mixture.below(celsius).clamp(0.0, 1.0)
    }

    /// Temperature at the start, mean.
    pub fn start_celsius(&self) -> f64 {
        self.first_celsius + self.weighed.iter().map(|entry| entry.weight * entry.mean[0]).sum::<f64>()
    }

    /// Quantile of the main time constant, minutes: each step of the grid stands for all constants up to half-way to its
    /// neighbours, so that the grid does not show.
    pub fn main_minutes(&self, probability: f64) -> f64 {
        let mut weights = vec![0.0; self.grid.len()];
        self.weighed.iter().for_each(|entry| weights[entry.shape.main] += entry.weight);
        let edge = |step: usize| (self.grid[step - 1] * self.grid[step]).sqrt();
        let mut sum = 0.0;
        for (step, &weight) in weights.iter().enumerate().filter(|&(_, &weight)| weight > 0.0) {
            if sum + weight >= probability {
                let low = if step == 0 { self.grid[0] } else { edge(step) };
                let high = if step + 1 == self.grid.len() { self.grid[step] } else { edge(step + 1) };
                return low * (high / low).powf(((probability - sum) / weight).clamp(0.0, 1.0));
            }
            sum += weight;
        }
        self.grid.last().copied().unwrap_or_default()
    }

    /// Quantile of the fast time constant, minutes, and the mean share of the rise that it has.
    pub fn fast_minutes(&self, probability: f64) -> (f64, f64) {
        let share = self.weighed.iter().map(|entry| entry.weight * entry.mean[FAST_RISE] / entry.mean[1]).sum();
        (self.quantile_of(probability, |entry| FASTS[entry.shape.fast]), share)
    }

    /// Quantile of the minutes from the end of the log until the temperature is within `kelvin` of its end.
    pub fn minutes_until_within(&self, kelvin: f64, probability: f64) -> f64 {
        self.quantile_of(probability, |entry| {
            let left = |minutes: f64| self.missing(entry, self.now_minutes + minutes).abs();
            if left(0.0) <= kelvin {
                return 0.0;
            }
            let (mut low, mut high) = (0.0, 1.0);
            while left(high) > kelvin && high < 1e5 {
                (low, high) = (high, 2.0 * high);
            }
            while high - low > 0.1 {
                let middle = 0.5 * (low + high);
                if left(middle) > kelvin { low = middle } else { high = middle }
            }
            high
        })
    }

    /// Expected temperature at a time after the start, if load and room stay as they are at the end of the log.
    pub fn expected_celsius(&self, minutes: f64) -> f64 {
        let value = |entry: &Weighed| {
            let drifted = entry.mean[4] * self.now_minutes + self.room_change;
            self.first_celsius + entry.mean[0] + entry.mean[1] - self.missing(entry, minutes) + drifted
        };
        self.weighed.iter().map(|entry| entry.weight * value(entry)).sum()
    }

    /// What is still missing of the rise at a time, kelvins.
    fn missing(&self, entry: &Weighed, minutes: f64) -> f64 {
        let decay = |constant: f64| (-minutes / constant).exp();
        let (rise, fast, slow) = (entry.mean[1], entry.mean[FAST_RISE], entry.mean[SLOW_RISE]);
        fast * decay(FASTS[entry.shape.fast])
            + (rise - fast - slow) * decay(self.grid[entry.shape.main])
            + slow * decay(self.grid[entry.shape.slow.unwrap_or(entry.shape.main)])
    }

    fn quantile_of(&self, probability: f64, value: impl Fn(&Weighed) -> f64) -> f64 {
        let mut values: Vec<(f64, f64)> = self.weighed.iter().map(|entry| (value(entry), entry.weight)).collect();
        values.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut sum = 0.0;
        for &(value, weight) in &values {
            sum += weight;
            if sum >= probability {
                return value;
            }
        }
        values.last().map_or(0.0, |last| last.0)
    }
}
