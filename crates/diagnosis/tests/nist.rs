//! Holds the climb that every fit is made by to the 27 nonlinear regressions of the NIST Statistical Reference Datasets,
//! from both starts of each: heating curves (BoxBOD, Misra1a), sums of exponentials (Lanczos, MGH17), peaks, rational
//! functions, a sum of waves. They have no priors to hold an unknown back, and starts that are decades off.
//!
//! Source: National Institute of Standards and Technology, Statistical Reference Datasets,
//! <https://www.itl.nist.gov/div898/strd/>; certified to 11 digits.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use diagnosis::ascent::{Climb, Curvature, Hill, Manner, Standing, climb};
use nalgebra::{DMatrix, DVector};
use std::f64::consts::PI;
use std::fmt::Write;
use std::ops::{Add, Div, Mul, Neg, Sub};

/// Most parameters of any set.
const MOST: usize = 9;
/// Certified values are rounded to 11 digits: a difference of half the last one can leave ten.
const MOST_DIGITS: f64 = 10.0;
/// Digits that every set must reach from both starts.
const LEAST_DIGITS: f64 = 8.0;

const MANNER: Manner = Manner { step_limit: 1000, small_gain: 0.0, damping: Some(1.0) };

/// A number with its derivatives by all parameters, by the rules of sum, product and chain.
#[derive(Debug, Clone, Copy)]
struct Dual {
    value: f64,
    slopes: [f64; MOST],
}

impl Dual {
    fn constant(value: f64) -> Dual {
        Dual { value, slopes: [0.0; MOST] }
    }

    fn parameter(index: usize, value: f64) -> Dual {
        let mut slopes = [0.0; MOST];
        slopes[index] = 1.0;
        Dual { value, slopes }
    }

    /// A function's value here, and its derivative.
    fn map(self, value: f64, derivative: f64) -> Dual {
        Dual { value, slopes: self.slopes.map(|slope| derivative * slope) }
    }

    /// A function's value of two numbers here, and its derivatives by them.
    fn map_two(self, other: Dual, value: f64, by_self: f64, by_other: f64) -> Dual {
        Dual { value, slopes: std::array::from_fn(|k| by_self * self.slopes[k] + by_other * other.slopes[k]) }
    }

    fn exp(self) -> Dual {
        self.map(self.value.exp(), self.value.exp())
    }

    fn ln(self) -> Dual {
        self.map(self.value.ln(), 1.0 / self.value)
    }

    fn powi(self, power: i32) -> Dual {
        self.map(self.value.powi(power), f64::from(power) * self.value.powi(power - 1))
    }

    fn pow(self, power: Dual) -> Dual {
        (power * self.ln()).exp()
    }

    fn cos(self) -> Dual {
        self.map(self.value.cos(), -self.value.sin())
    }

    fn sin(self) -> Dual {
        self.map(self.value.sin(), self.value.cos())
    }

    fn atan(self) -> Dual {
        self.map(self.value.atan(), 1.0 / (1.0 + self.value * self.value))
    }
}

impl From<f64> for Dual {
    fn from(value: f64) -> Dual {
        Dual::constant(value)
    }
}

impl<T: Into<Dual>> Add<T> for Dual {
    type Output = Dual;
    fn add(self, other: T) -> Dual {
        let other = other.into();
        self.map_two(other, self.value + other.value, 1.0, 1.0)
    }
}

impl<T: Into<Dual>> Sub<T> for Dual {
    type Output = Dual;
    fn sub(self, other: T) -> Dual {
        self + -other.into()
    }
}

impl Neg for Dual {
    type Output = Dual;
    fn neg(self) -> Dual {
        self.map(-self.value, -1.0)
    }
}

impl<T: Into<Dual>> Mul<T> for Dual {
    type Output = Dual;
    fn mul(self, other: T) -> Dual {
        let other = other.into();
        self.map_two(other, self.value * other.value, other.value, self.value)
    }
}

impl<T: Into<Dual>> Div<T> for Dual {
    type Output = Dual;
    fn div(self, other: T) -> Dual {
        let other = other.into();
        let value = self.value / other.value;
        self.map_two(other, value, 1.0 / other.value, -value / other.value)
    }
}

fn polynomial(coefficients: &[Dual], x: f64) -> Dual {
    coefficients.iter().rev().fold(Dual::constant(0.0), |sum, &coefficient| sum * x + coefficient)
}

/// A sum of decays, each with an amount and a rate.
fn decays(b: &[Dual], x: f64) -> Dual {
    b.chunks(2).fold(Dual::constant(0.0), |sum, term| sum + term[0] * (-term[1] * x).exp())
}

/// A bell of height, place and width.
fn bell(b: &[Dual], x: f64) -> Dual {
    b[0] * (-((-b[1] + x) / b[2]).powi(2)).exp()
}

fn wave(cosine: Dual, sine: Dual, period: Dual, x: f64) -> Dual {
    let angle = Dual::constant(2.0 * PI * x) / period;
    cosine * angle.cos() + sine * angle.sin()
}

fn one() -> Dual {
    Dual::constant(1.0)
}

/// The model of a set, as NIST gives it.
fn model(name: &str, b: &[Dual], x: &[f64]) -> Dual {
    let first = x[0];
    match name {
        "Bennett5" => b[0] * (b[1] + first).pow(-one() / b[2]),
        "BoxBOD" | "Misra1a" => b[0] * (one() - (-b[1] * first).exp()),
        "Chwirut1" | "Chwirut2" => (-b[0] * first).exp() / (b[1] + b[2] * first),
        "DanWood" => b[0] * Dual::constant(first).pow(b[1]),
        "ENSO" => {
            b[0] + wave(b[1], b[2], Dual::constant(12.0), first)
                + wave(b[4], b[5], b[3], first)
                + wave(b[7], b[8], b[6], first)
        }
        "Eckerle4" => b[0] / b[1] * (((-b[2] + first) / b[1]).powi(2) * -0.5).exp(),
        "Gauss1" | "Gauss2" | "Gauss3" => decays(&b[..2], first) + bell(&b[2..5], first) + bell(&b[5..], first),
        "Hahn1" | "Thurber" => polynomial(&b[..4], first) / (polynomial(&b[4..], first) * first + 1.0),
        "Kirby2" => polynomial(&b[..3], first) / (polynomial(&b[3..], first) * first + 1.0),
        "Lanczos1" | "Lanczos2" | "Lanczos3" => decays(b, first),
        "MGH09" => b[0] * (b[1] * first + first * first) / (b[2] * first + first * first + b[3]),
        "MGH10" => b[0] * (b[1] / (b[2] + first)).exp(),
        "MGH17" => b[0] + b[1] * (-b[3] * first).exp() + b[2] * (-b[4] * first).exp(),
        "Misra1b" => b[0] * (one() - (b[1] * first / 2.0 + 1.0).powi(-2)),
        "Misra1c" => b[0] * (one() - (b[1] * 2.0 * first + 1.0).pow(Dual::constant(-0.5))),
        "Misra1d" => b[0] * b[1] * first / (b[1] * first + 1.0),
        "Nelson" => b[0] - b[1] * first * (-b[2] * x[1]).exp(),
        "Rat42" => b[0] / ((b[1] - b[2] * first).exp() + 1.0),
        "Rat43" => b[0] / ((b[1] - b[2] * first).exp() + 1.0).pow(one() / b[3]),
        "Roszman1" => b[0] - b[1] * first - (b[2] / (-b[3] + first)).atan() / PI,
        other => panic!("no model for {other}"),
    }
}

/// A set of the file.
#[derive(Default)]
struct Regression {
    name: String,
    residual_sum_of_squares: f64,
    /// Per parameter: both starts, the certified value and its standard deviation.
    parameters: Vec<[f64; 4]>,
    /// Response and predictors of every observation.
    observations: Vec<(f64, Vec<f64>)>,
}

fn numbers<'t>(words: impl Iterator<Item = &'t str>) -> Vec<f64> {
    words.map(|word| word.parse().unwrap()).collect()
}

fn sets() -> Vec<Regression> {
    let mut sets: Vec<Regression> = Vec::new();
    for line in include_str!("data/nist.txt").lines().filter(|line| !line.is_empty() && !line.starts_with('#')) {
        let mut words = line.split_whitespace();
        if let Some(heading) = line.strip_prefix("set ") {
            let (name, sum) = heading.split_once(' ').unwrap();
            sets.push(Regression {
                name: name.into(),
                residual_sum_of_squares: sum.parse().unwrap(),
                ..Regression::default()
            });
            continue;
        }
        let set = sets.last_mut().unwrap();
        if line.starts_with('b') {
            set.parameters.push(numbers(words.skip(1)).try_into().unwrap());
        } else {
            let response: f64 = words.next().unwrap().parse().unwrap();
            let response = if set.name == "Nelson" { response.ln() } else { response };
            set.observations.push((response, numbers(words)));
        }
    }
    sets
}

/// Residuals as normal ones of unit spread, without any prior.
impl Hill for &Regression {
    type View = Vec<Dual>;

    fn view(&self, place: &DVector<f64>) -> Option<Vec<Dual>> {
        let b: Vec<Dual> = place.iter().enumerate().map(|(index, &value)| Dual::parameter(index, value)).collect();
        let residual = |(y, x): &(f64, Vec<f64>)| model(&self.name, &b, x) - *y;
        let residuals: Vec<Dual> = self.observations.iter().map(residual).collect();
        residuals.iter().all(|residual| residual.value.is_finite()).then_some(residuals)
    }

    fn height(&self, _place: &DVector<f64>, residuals: &Vec<Dual>) -> f64 {
        -0.5 * residuals.iter().map(|residual| residual.value * residual.value).sum::<f64>()
    }

    fn slopes(&self, from: &Standing<Vec<Dual>>) -> (DVector<f64>, Curvature) {
        let count = from.place.len();
        let (mut gradient, mut matrix) = (DVector::zeros(count), DMatrix::zeros(count, count));
        for residual in &from.view {
            let slopes = DVector::from_column_slice(&residual.slopes[..count]);
            gradient.axpy(-residual.value, &slopes, 1.0);
            matrix.ger(1.0, &slopes, &slopes, 1.0);
        }
        (gradient, Curvature::Full(matrix))
    }

    /// An unknown may go about by as much as itself; with all residuals alike, one nat is the mean of their squares.
    fn scales(&self, from: &Standing<Vec<Dual>>) -> DVector<f64> {
        from.place.map(|value| value.abs() / (-2.0 * from.height).sqrt())
    }
}

impl Regression {
    fn climb(&self, start: usize, manner: Manner) -> Climb<Vec<Dual>> {
        let place = DVector::from_iterator(self.parameters.len(), self.parameters.iter().map(|row| row[start]));
        let mut hill = self;
        let begin = Standing::new(&hill, place).unwrap();
        climb(&mut hill, begin, manner)
    }

    /// Digits that all parameters share with the certified values.
    fn digits(&self, found: &DVector<f64>) -> f64 {
        assert!(found.iter().all(|value| value.is_finite()), "{}: {found}", self.name);
        let digits = |(found, row): (&f64, &[f64; 4])| -((found - row[2]) / row[2]).abs().max(1e-16).log10();
        found
            .iter()
            .zip(&self.parameters)
            .map(digits)
            .fold(MOST_DIGITS, |least, own| if own < least { own } else { least })
    }
}

/// Largest differences of residual sums and of standard deviations from certified ones, as shares. The matrix has the
/// squares of the slopes, and with them twice the digits to lose: on Bennett5 seven are left.
const SUM_OFF: f64 = 1e-9;
const DEVIATION_OFF: f64 = 1e-6;
/// The same of Lanczos1, whose residuals are hardly above what rounding leaves of them.
const ROUNDED_OFF: f64 = 2e-3;

#[test]
fn certified_values_are_reached_from_both_starts_of_all_sets() {
    let sets = sets();
    assert_eq!(sets.len(), 27);
    let mut table = String::from("digits of all parameters, from start 1 and start 2; 10 is 10 or more\n");
    for set in &sets {
        write!(table, "{:<9}", set.name).unwrap();
        for start in 0..2 {
            let climb = set.climb(start, MANNER);
            let digits = set.digits(&climb.top.place);
            assert!(climb.arrived && digits >= LEAST_DIGITS, "{} from start {}: {digits}", set.name, start + 1);
            write!(table, "{:>4}", digits.floor()).unwrap();
        }
        table.push('\n');
    }
    insta::assert_snapshot!(table);
}

#[test]
fn residuals_and_standard_deviations_at_the_tops_are_the_certified_ones() {
    for set in &sets() {
        let (sum_off, deviation_off) =
            if set.name == "Lanczos1" { (ROUNDED_OFF, ROUNDED_OFF) } else { (SUM_OFF, DEVIATION_OFF) };
        let top = set.climb(1, MANNER).top;
        let sum = -2.0 * top.height;
        let off = (sum / set.residual_sum_of_squares - 1.0).abs();
        assert!(off < sum_off, "{}: residual sum off by {off}", set.name);
        let Curvature::Full(matrix) = (&set).slopes(&top).1 else { panic!("no prior here") };
        let variance = sum / (set.observations.len() - set.parameters.len()) as f64;
        let covariance = matrix.cholesky().unwrap().inverse() * variance;
        for (index, row) in set.parameters.iter().enumerate() {
            let off = (covariance[(index, index)].sqrt() / row[3] - 1.0).abs();
            assert!(off < deviation_off, "{}, parameter {}: deviation off by {off}", set.name, index + 1);
        }
    }
}

#[test]
fn without_damping_some_sets_are_never_reached() {
    // An undamped first step from (1, 1) throws the rate of BoxBOD to where nothing depends on it any more.
    let sets = sets();
    let set = sets.iter().find(|set| set.name == "BoxBOD").unwrap();
    assert!(set.digits(&set.climb(0, Manner { damping: None, ..MANNER }).top.place) < 1.0);
}
