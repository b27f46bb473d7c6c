//! How likely a shown value is when the true one is known.
//!
//! A reading is right (a normal distribution about the prediction) or, with a small share, grossly wrong: the decimal point
//! has slipped, a probe was on a neighbouring terminal (`neighbours.rs`), the probes made no contact, or it is misread
//! and anything goes. 'Open' is censored: its probability is that of a resistance above the meter's limit.

use crate::neighbours::neighbours;
use bench::{BarPair, Measure, Meter, Prediction, Reading, Unit, Value};
use statrs::function::erf::erfc;
use std::f64::consts::{PI, SQRT_2};

/// Share of readings that are grossly wrong (common practice, no source: a few in a hundred).
pub const GROSS_SHARE: f64 = 0.03;

/// However often a reading is taken, a mistake in the whole arrangement remains possible (engineering judgement).
const LEAST_GROSS_SHARE: f64 = 3e-4;
/// Readings of one place are alike if they differ by no more than this many standard deviations.
const ALIKE: f64 = 2.0;

/// Share of grossly wrong readings of ohms and microfarads that are over range (engineering judgement: a probe that makes
/// no contact; a capacitor that was not discharged).
pub const GROSS_OPEN_SHARE: f64 = 0.3;

/// Share of grossly wrong readings of volts and amperes that show nothing (engineering judgement): no contact, both probes on
/// one conductor, a clamp around both.
const NOTHING_SHARE: f64 = 0.2;
/// Share of grossly wrong readings in which the decimal point or the prefix of the unit has slipped (engineering judgement),
/// and what the figure is then multiplied by.
const DECIMAL_SHARE: f64 = 0.3;
const DECIMALS: [f64; 6] = [10.0, 0.1, 100.0, 0.01, 1000.0, 0.001];

/// Share of grossly wrong readings that were taken at a neighbouring terminal or lead, where there are any (engineering
/// judgement).
const NEIGHBOUR_SHARE: f64 = 0.2;

/// Share of a meter's limit below which a reading is not near over range (engineering judgement).
const FAR_FROM_OVER_RANGE: f64 = 0.1;

/// Logarithm below which a density is as good as nothing: a number of 1e-300.
const LEAST_LOG: f64 = -690.0;

/// No meter shows more, in any unit; larger figures are slips of the keyboard and are judged as this.
pub(crate) const LARGEST_SHOWN: f64 = 1e12;

/// One reading as the inference sees it.
#[derive(Debug, Clone, PartialEq)]
pub enum Datum {
    /// A number.
    Shown {
        /// The value.
        value: f64,
        /// Standard deviation of a right reading, prediction model included.
        sigma: f64,
        /// Density of a grossly wrong reading at this value.
        gross: Gross,
        /// Probability, before anything is known, that the reading is grossly wrong.
        gross_share: f64,
    },
    /// Over range.
    Open {
        /// Value above which the meter shows over range, in the measure's unit.
        limit: f64,
        /// Probability, before anything is known, that the reading is grossly wrong.
        gross_share: f64,
    },
}

/// Density of a grossly wrong reading at the value that was shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gross {
    /// If it can be anything.
    anything: f64,
    /// Of all that are wrong, but for those in which the decimal point has slipped and, as long as nobody has said what
    /// neighbours show, those that were taken there.
    constant: f64,
    /// Share of those with a slipped decimal point, and of those taken at a neighbour.
    decimal_share: f64,
    neighbour_share: f64,
}

impl Gross {
    /// Of readings that can be anything when they are wrong.
    pub fn anything(density: f64) -> Self {
        Gross { anything: density, constant: density, decimal_share: 0.0, neighbour_share: 0.0 }
    }

    /// Of readings that a technician takes off a meter and writes down.
    fn written(unit: &Unit, measure: Measure, meter: &Meter, value: f64) -> Self {
        let shows_nothing = match measure {
            Measure::Volts(..) | Measure::AmpsAtTerminal(_) | Measure::AmpsInWire(_) => NOTHING_SHARE,
            _ => 0.0,
        };
        let nothing = 2.0 * normal_density(value, sigma(measure, meter, 0.0));
        let neighbour_share = if neighbours(unit, measure).is_empty() { 0.0 } else { NEIGHBOUR_SHARE };
        let rest = 1.0 - DECIMAL_SHARE - shows_nothing - open_share(measure) - neighbour_share;
        let constant = rest * any_density(unit, measure, value) + shows_nothing * nothing;
        let anything = gross_density(unit, measure, value);
        Gross { anything, constant, decimal_share: DECIMAL_SHARE, neighbour_share }
    }

    /// The same where those taken at a neighbour have a density that is known.
    pub(crate) fn with_neighbours(self, density: f64) -> Self {
        Gross { constant: self.constant + self.neighbour_share * density, ..self }
    }

    /// Logarithm of the most that the density can gain by [`Gross::with_neighbours`], for a reading with a standard deviation
    /// of its own.
    pub(crate) fn may_gain(&self, own: f64) -> f64 {
        (self.neighbour_share * normal_density(0.0, own) / self.constant).ln_1p()
    }

    /// Where a right one would show `right`, known with a standard deviation, for a reading with one of its own.
    pub(crate) fn density(&self, value: f64, own: f64, right: f64, known: f64) -> f64 {
        if self.decimal_share == 0.0 {
            return self.constant;
        }
        self.with_decimals(|factor| normal_density(value - factor * right, (SQRT_2 * own).hypot(factor * known)))
    }

    /// Where a right one would show `right`, for a reading with a standard deviation of its own: the density, its slope by what
    /// a right one would show, and its part of a Gauss-Newton matrix.
    fn density_and_slopes(&self, value: f64, own: f64, right: f64) -> (f64, f64, f64) {
        let (mut sum, mut slope, mut curvature) = (0.0, 0.0, 0.0);
        let share = self.decimal_share / DECIMALS.len() as f64;
        let (spread, variance) = (SQRT_2 * own, 2.0 * own * own);
        for factor in DECIMALS {
            let distance = value - factor * right;
            let density = share * normal_density(distance, spread);
            // Beyond any curve the distance may be beyond all numbers.
            if density > 0.0 {
                sum += density;
                slope += density * factor * distance / variance;
                curvature += density * factor * factor / variance;
            }
        }
        (self.constant + sum, slope, curvature)
    }

    /// No less than the highest density where a right one would show something between two values, whatever neighbours show.
    fn highest(&self, value: f64, own: f64, low: f64, high: f64) -> f64 {
        let slipped = self.with_decimals(|factor| {
            let right = (value / factor).clamp(low, high.max(low));
            normal_density(value - factor * right, SQRT_2 * own)
        });
        slipped + self.neighbour_share * normal_density(0.0, own)
    }

    fn with_decimals(&self, density: impl Fn(f64) -> f64) -> f64 {
        let share = self.decimal_share / DECIMALS.len() as f64;
        self.constant + share * DECIMALS.into_iter().map(density).sum::<f64>()
    }
}

/// Log-likelihood of a datum, and how it moves with the predicted value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LogLikelihood {
    /// Natural logarithm of the density (number) or probability (open).
    pub value: f64,
    /// The same with the widened standard deviation.
    pub lenient: f64,
    /// Derivative by the predicted value.
    pub slope: f64,
    /// Curvature to use in a Gauss-Newton matrix, never negative.
    pub curvature: f64,
    /// Probability that the reading is right, given the prediction.
    pub sound: f64,
}

impl LogLikelihood {
    /// One that does not depend on the prediction.
    fn flat(value: f64, sound: f64) -> Self {
        LogLikelihood { value, lenient: value, slope: 0.0, curvature: 0.0, sound }
    }
}

/// How far the model itself may be off for a kind of measure: a share of the value, and an absolute part.
///
/// Engineering judgement: the machine model leaves out saturation and space harmonics (amps, watts); contact and lead
/// resistance adds to ohms; a capacitance is another at the meter's volts and frequency than in the machine; pick-up adds to volts; what a rotor in its windings still brakes, and when a slow one counts as
/// standing, to the run-down; capacitances to the frame are known within a factor of two.
fn discrepancy(measure: Measure) -> (f64, f64) {
    match measure {
        Measure::Ohms(..) => (0.02, 0.15),
        Measure::Microfarads(..) => (0.02, 0.02),
        Measure::Volts(..) => (0.01, 0.5),
        Measure::AmpsAtTerminal(_) | Measure::AmpsInWire(_) => (0.05, 0.01),
        Measure::Watts(_) => (0.06, 1.0),
        Measure::Rpm(_) => (0.015, 5.0),
        Measure::TouchMilliamps(_) | Measure::LeakageMilliamps(_) => (0.1, 0.05),
        Measure::RunDown(_) => (0.1, 0.3),
        Measure::Bars(_, BarPair::Typical) => (0.02, 0.15),
        Measure::Bars(..) => (0.0, 0.0),
    }
}

/// Ohms above which a path is one through insulation: no part that conducts has so many (common practice, no source).
pub const INSULATION_OHMS: f64 = 1e5;

/// Share by which a path through insulation may be off: it charges while it is measured, lets more pass when it is warm or
/// damp, and nobody knows at which end of a part it does (engineering judgement).
const INSULATION_SHARE: f64 = 0.15;

/// Standard deviation of a right reading that shows `value`.
pub fn sigma(measure: Measure, meter: &Meter, value: f64) -> f64 {
    let (share, absolute) = match measure {
        Measure::Ohms(..) if value > INSULATION_OHMS => (INSULATION_SHARE, 0.0),
        _ => discrepancy(measure),
    };
    let floor = match measure {
        Measure::AmpsAtTerminal(_) | Measure::AmpsInWire(_) => meter.amps_floor / 3f64.sqrt(),
        _ => 0.0,
    };
    let meter_part = meter.accuracy(measure).standard_uncertainty(value);
    [meter_part, share * value, absolute, floor].iter().map(|part| part * part).sum::<f64>().sqrt()
}

/// Density of a grossly wrong reading of ohms that shows a number, whatever number: flat over the decades of a multimeter.
pub fn gross_ohms_density(value: f64) -> f64 {
    (1.0 - GROSS_OPEN_SHARE) * any_ohms_density(value)
}

/// Density of a grossly wrong reading that shows a number, whatever number.
pub(crate) fn gross_density(unit: &Unit, measure: Measure, value: f64) -> f64 {
    (1.0 - open_share(measure)) * any_density(unit, measure, value)
}

/// Share of grossly wrong readings that are over range.
fn open_share(measure: Measure) -> f64 {
    match measure {
        Measure::Ohms(..) | Measure::Microfarads(..) | Measure::Bars(..) => GROSS_OPEN_SHARE,
        _ => 0.0,
    }
}

/// Density of a number that can be any: flat over volts and speeds that can occur, flat over the decades of the rest.
fn any_density(unit: &Unit, measure: Measure, value: f64) -> f64 {
    let over_decades = |lowest: f64, highest: f64| over_decades(value, lowest, highest);
    match measure {
        Measure::Ohms(..) => any_ohms_density(value),
        Measure::Microfarads(..) => over_decades(0.01, 4e3),
        Measure::Volts(..) => {
            let rated = unit.parts()[unit.supply()].kind.supply().map_or(230.0, |supply| supply.volts);
            1.0 / (1.5 * rated)
        }
        Measure::AmpsAtTerminal(_) | Measure::AmpsInWire(_) => over_decades(0.01, 30.0),
        Measure::Watts(_) => over_decades(1.0, 5000.0),
        Measure::Rpm(_) => 1.0 / (60.0 * unit.hertz()),
        Measure::TouchMilliamps(_) | Measure::LeakageMilliamps(_) => over_decades(0.01, 100.0),
        Measure::RunDown(_) => over_decades(0.5, 600.0),
        Measure::Bars(_, BarPair::Typical) => over_decades(0.01, 1e3),
        Measure::Bars(..) => over_decades(0.01, 1e4),
    }
}

fn any_ohms_density(value: f64) -> f64 {
    over_decades(value, 0.1, 1e8)
}

/// Density that is flat from nothing to the lowest decade and over the decades from there to the highest value.
fn over_decades(value: f64, lowest: f64, highest: f64) -> f64 {
    1.0 / (value.max(lowest) * (1.0 + (highest / lowest).ln()))
}

impl Datum {
    /// The datum of a reading.
    pub fn new(unit: &Unit, reading: &Reading, meter: &Meter) -> Self {
        match reading.value {
            Value::Open => Datum::Open { limit: meter.limit(reading.measure), gross_share: GROSS_SHARE },
            Value::Number(shown) => {
                let value = shown.min(LARGEST_SHOWN);
                Datum::Shown {
                    value,
                    sigma: sigma(reading.measure, meter, value),
                    gross: Gross::written(unit, reading.measure, meter, value),
                    gross_share: GROSS_SHARE,
                }
            }
        }
    }

    /// The same reading, taken once more and found alike: it says nothing new, but both must be wrong if one is.
    pub(crate) fn taken_again(&mut self) {
        let (Datum::Shown { gross_share, .. } | Datum::Open { gross_share, .. }) = self;
        *gross_share = (*gross_share * GROSS_SHARE).max(LEAST_GROSS_SHARE);
    }

    /// The same where a figure taken at one of its neighbours has a density that is known.
    pub(crate) fn with_neighbours(&self, density: f64) -> Datum {
        match *self {
            Datum::Shown { value, sigma, gross, gross_share } => {
                Datum::Shown { value, sigma, gross: gross.with_neighbours(density), gross_share }
            }
            Datum::Open { .. } => self.clone(),
        }
    }

    /// Whether a reading of the same place shows the same, as far as its meter can tell.
    pub(crate) fn is_alike(&self, other: &Datum) -> bool {
        match (self, other) {
            (Datum::Shown { value: a, sigma, .. }, Datum::Shown { value: b, .. }) => (a - b).abs() <= ALIKE * sigma,
            (Datum::Open { .. }, Datum::Open { .. }) => true,
            _ => false,
        }
    }

    /// Log-likelihood for a predicted value, which may be infinite.
    ///
    /// `widened` adds to the standard deviation when judging whether the reading is right, so that a fit which starts
    /// far away does not write readings off before it has moved.
    pub fn log_likelihood(&self, predicted: f64, widened: f64) -> LogLikelihood {
        match *self {
            Datum::Shown { value, sigma, gross, gross_share } => {
                if !predicted.is_finite() {
                    return LogLikelihood::flat((gross_share * gross.constant).ln(), 0.0);
                }
                let (density, gross_slope, gross_curvature) = gross.density_and_slopes(value, sigma, predicted);
                let gross = gross_share * density;
                let right = (1.0 - gross_share) * normal_density(value - predicted, sigma);
                let wide = (1.0 - gross_share) * normal_density(value - predicted, sigma.hypot(widened));
                let sound = wide / (wide + gross);
                LogLikelihood {
                    value: (right + gross).ln(),
                    lenient: (wide + gross).ln(),
                    slope: sound * (value - predicted) / (sigma * sigma) + gross_share * gross_slope / (wide + gross),
                    curvature: sound / (sigma * sigma) + gross_share * gross_curvature / (wide + gross),
                    sound: right / (right + gross),
                }
            }
            Datum::Open { limit, gross_share } => {
                let gross = gross_share * GROSS_OPEN_SHARE;
                if !predicted.is_finite() {
                    let right = 1.0 - gross_share;
                    return LogLikelihood::flat((right + gross).ln(), right / (right + gross));
                }
                // Near its limit a meter flickers between a number and over range: a tenth of the value either way.
                let spread = 0.1 * limit;
                let deviation = (predicted - limit) / spread;
                let over = (1.0 - gross_share) * normal_tail(-deviation);
                let total = over + gross;
                // Only where it has yet to get over the limit.
                let lenient = if predicted < limit { spread.hypot(widened) } else { spread };
                let deviation = (predicted - limit) / lenient;
                let right = 1.0 - gross_share;
                let wide = right * normal_tail(-deviation) + gross;
                let slope = right * normal_density(deviation, 1.0) / lenient / wide;
                let (value, lenient) = (total.ln(), wide.ln());
                LogLikelihood { value, lenient, slope, curvature: slope * slope, sound: over / total }
            }
        }
    }

    /// Logarithm of the density or probability if no decimal point can have slipped.
    pub(crate) fn log_likelihood_unslipped(&self, predicted: f64) -> f64 {
        match *self {
            Datum::Shown { value, sigma, gross, gross_share } if predicted.is_finite() => {
                let right = (1.0 - gross_share) * normal_density(value - predicted, sigma);
                (right + gross_share * gross.constant).ln()
            }
            _ => self.log_likelihood(predicted, 0.0).value,
        }
    }

    /// Whether a number, if it is wrong, is so rather by a slip of the decimal point than in any other way.
    pub(crate) fn is_slip(&self, predicted: f64) -> bool {
        match *self {
            Datum::Shown { value, sigma, gross, .. } if predicted.is_finite() => {
                gross.density(value, sigma, predicted, 0.0) > 2.0 * gross.constant
            }
            _ => false,
        }
    }

    /// A resistance as this datum meets it: over range where the meter could not show it and what it showed is far from it.
    ///
    /// A path through insulation would else count as one that might just be as low as a winding.
    pub fn met_by(&self, mut prediction: Prediction, reading: &Reading, meter: &Meter) -> Prediction {
        if let (Measure::Ohms(..), Datum::Shown { value, .. }) = (reading.measure, self)
            && prediction.value > meter.ohms_limit
            && *value < FAR_FROM_OVER_RANGE * meter.ohms_limit
        {
            prediction.value = f64::INFINITY;
            prediction.gradient.iter_mut().for_each(|slope| *slope = 0.0);
        }
        prediction
    }

    /// Log-likelihood of a number that is taken to be right; of 'open', which may be a slip all the same, as it is.
    pub fn log_likelihood_right(&self, predicted: f64) -> LogLikelihood {
        match *self {
            Datum::Shown { value, sigma, gross_share, .. } if predicted.is_finite() => {
                let distance = (value - predicted) / sigma;
                let log = (1.0 - gross_share).ln() - 0.5 * distance * distance - (sigma * (2.0 * PI).sqrt()).ln();
                LogLikelihood {
                    value: log,
                    lenient: log,
                    slope: distance / sigma,
                    curvature: 1.0 / (sigma * sigma),
                    sound: 1.0,
                }
            }
            _ => self.log_likelihood(predicted, 0.0),
        }
    }

    /// Log-likelihood of a reading that is grossly wrong, whatever is predicted.
    pub fn log_likelihood_wrong(&self) -> LogLikelihood {
        LogLikelihood::flat(
            match *self {
                Datum::Shown { gross, gross_share, .. } => (gross_share * gross.constant).ln(),
                Datum::Open { gross_share, .. } => (gross_share * GROSS_OPEN_SHARE).ln(),
            },
            0.0,
        )
    }

    /// No less than the highest log-likelihood over predictions within `low..=high`; an end may be infinite.
    pub fn best_within(&self, low: f64, high: f64) -> f64 {
        match *self {
            Datum::Shown { value, sigma, gross, gross_share } if low.is_finite() => {
                let right = (1.0 - gross_share) * normal_density(value - value.clamp(low, high.max(low)), sigma);
                (right + gross_share * gross.highest(value, sigma, low, high)).ln()
            }
            Datum::Shown { .. } => self.log_likelihood(low, 0.0).value,
            Datum::Open { .. } => self.log_likelihood(high, 0.0).value,
        }
    }

    /// Highest log-likelihood over all predictions.
    pub fn best(&self) -> f64 {
        self.best_within(0.0, f64::INFINITY)
    }

    /// Log-likelihood when nothing is known of what the true value could be.
    pub fn log_unexplained(&self) -> f64 {
        match *self {
            Datum::Shown { gross, .. } => gross.anything.ln(),
            Datum::Open { .. } => GROSS_OPEN_SHARE.ln(),
        }
    }
}

/// Density of a normal distribution at a distance from its mean.
pub fn normal_density(distance: f64, sigma: f64) -> f64 {
    let z = distance / sigma;
    let log = -0.5 * z * z;
    // What is too small for any number takes the longest to compute.
    if log < LEAST_LOG { 0.0 } else { log.exp() / (sigma * (2.0 * PI).sqrt()) }
}

/// Probability that a standard normal variable exceeds `z`.
pub fn normal_tail(z: f64) -> f64 {
    0.5 * erfc(z / SQRT_2)
}
