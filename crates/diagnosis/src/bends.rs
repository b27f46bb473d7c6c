//! What evidence gains where a prediction is no straight line in an unknown value.
//!
//! By Thévenin's theorem and superposition every reading of a circuit of resistances is a quotient of two straight lines in
//! the ohms of any one part. With `t` the part's standard-normal value from the top, `s` its spread and `u = e^(s t) - 1`,
//!
//! ```text
//! m(t) = m(0) + b u / (1 + c u),   0 <= c <= 1:   c = 0 for a part in series, c = 1 for one across all that is read
//! ```
//!
//! where the slope at the top gives `b` and one further prediction gives `c`. Such a curve ends at nothing for a joint too
//! good to be seen, while a straight line goes on below nothing; and it runs over a meter's range, where a top knows a single
//! height. Along the two values that bend predictions most the posterior is summed over the curve in place of the line, the
//! other values summed over as before. With reactances or a machine the curve is an approximation, as the line was: it is
//! followed only where a prediction on the other side of the top lies on it too.

use crate::evidence::{Evidence, Outlook};
use crate::fit::Fit;
use crate::log_weights::LogSum;
use crate::prior::Prior;
use crate::reading_model::Datum;
use nalgebra::{Cholesky, DMatrix, DVector};
use std::f64::consts::PI;

/// Values along which curves are followed. With the two that bend most 97 % of a thousand problems are within 0.03 nats of
/// their evidence (`tests/evidence.rs`), with three no more.
const MOST_FOLLOWED: usize = 2;
/// A bend is followed if one standard deviation of the value leaves the line by this share of the reading's own, or two move
/// the logarithm of a probability of 'over range' by as much.
const WORTH_FOLLOWING: f64 = 0.02;
/// Where the further prediction is made, in standard deviations of the value at the top.
const FURTHER: f64 = -2.0;
/// How far a turn may be from 0 and from 1: rounding, and the small part of reactances.
const NEARLY: f64 = 0.1;
/// How far a prediction on the other side may be off its curve: as a share of its move and of the reading's spread, and for
/// one over range in nats.
const OFF_THE_CURVE: f64 = 0.2;
/// More than this, nats, no bend of a hill explains: the curves then have their top elsewhere, and the lines are kept
/// (engineering judgement).
const MOST_GAINED: f64 = 2.0;
/// How far from the top is summed, in standard deviations of the prior.
const FARTHEST: f64 = 8.0;
/// Distance of the places that are summed, in standard deviations near the top and in logarithms of the distance far from
/// it.
const SPACING: f64 = 0.125;

/// A reading that has a say at a top.
struct Line<'e> {
    reading: usize,
    datum: &'e Datum,
    /// What is predicted at the top, and its slopes by the standard-normal values.
    at: f64,
    slopes: DVector<f64>,
}

/// A value along which curves are followed.
struct Way<'f> {
    fit: &'f Fit,
    lines: &'f [Line<'f>],
    unknown: usize,
    /// Spread of its logarithm.
    spread: f64,
    /// Its standard deviation at the top, of a standard-normal value.
    deviation: f64,
}

/// How a prediction moves along a value.
#[derive(Debug, Clone, Copy)]
struct Curve {
    /// Slope by the share that the value has grown by.
    slope: f64,
    /// How far it is one across what is read; `None` where it moves along no such curve and is left as a straight line.
    turn: Option<f64>,
}

impl Curve {
    /// From the prediction at the top, its slope and the prediction where the value has grown by a share.
    fn through(at: f64, slope: f64, grown: f64, there: f64) -> Self {
        let moved = there - at;
        let turn = (slope * grown / moved - 1.0) / grown;
        let is_one = |turn: &f64| (-NEARLY..=1.0 + NEARLY).contains(turn);
        Curve { slope, turn: Some(turn).filter(is_one).map(|turn| turn.clamp(0.0, 1.0)) }
    }

    /// By how much the prediction moves when the value's logarithm does.
    fn moved(&self, log: f64) -> f64 {
        match self.turn {
            Some(turn) => {
                let grown = log.exp_m1();
                self.slope * grown / (1.0 + turn * grown)
            }
            None => self.slope * log,
        }
    }
}

/// What the logarithm of the evidence gains if predictions follow their curves along the values that bend them most, for the
/// readings that are right at a top.
pub(crate) fn gained_by_bends(evidence: &Evidence<'_>, prior: &Prior, fit: &Fit, wrong: &[usize]) -> f64 {
    let mut lines = Vec::with_capacity(evidence.data.len());
    for (reading, (datum, prediction)) in evidence.data.iter().zip(&fit.outlook.predictions).enumerate() {
        if prediction.value.is_finite() && !prediction.gradient.is_empty() && !wrong.contains(&reading) {
            lines.push(Line { reading, datum, at: prediction.value, slopes: prior.whiten(&prediction.gradient) });
        }
    }
    let ways = prior.own_spreads().map(|(unknown, spread)| {
        let deviation = fit.narrowing.variance_of(unknown).sqrt();
        Way { fit, lines: &lines, unknown, spread, deviation }
    });
    let mut bent: Vec<(f64, Way<'_>)> =
        ways.map(|way| (way.largest_bend(), way)).filter(|(bend, _)| *bend > WORTH_FOLLOWING).collect();
    bent.sort_by(|a, b| b.0.total_cmp(&a.0));
    bent.iter().take(MOST_FOLLOWED).filter_map(|(_, way)| way.gained(evidence, prior)).sum()
}

impl Way<'_> {
    /// How far a curve leaves its line near the top at most, had it no turn.
    fn largest_bend(&self) -> f64 {
        let bend = |line: &Line<'_>| {
            let slope = line.slopes[self.unknown];
            match line.datum {
                Datum::Shown { sigma, .. } => 0.5 * (slope * self.spread * self.deviation.powi(2) / sigma).abs(),
                Datum::Open { .. } => {
                    let curve = Curve { slope: slope / self.spread, turn: Some(0.0) };
                    let moved = |deviations: f64| curve.moved(deviations * self.deviation * self.spread);
                    let change = |deviations: f64| line.log_likelihood_gained(moved(deviations)).abs();
                    change(-2.0).max(change(2.0))
                }
            }
        };
        self.lines.iter().map(bend).fold(0.0, f64::max)
    }

    /// What the evidence gains; `None` if there is no prediction further on, or if the curves do not hold on the other side.
    fn gained(&self, evidence: &Evidence<'_>, prior: &Prior) -> Option<f64> {
        let further = FURTHER * self.deviation;
        let profile = Profile::new(self, (self.spread * further).exp_m1(), &self.look(evidence, prior, further)?)?;
        if !profile.holds(-self.spread * further, &self.look(evidence, prior, -further)?) {
            return None;
        }
        let mut sum = LogSum::default();
        let steps = ((FARTHEST / self.deviation).asinh() / SPACING).ceil() as i32;
        for step in -steps..=steps {
            // Places stand farther apart the farther out they are.
            let along = SPACING * f64::from(step);
            sum.add(profile.height(self.deviation * along.sinh()) + along.cosh().ln());
        }
        let over_curves = sum.log() + (SPACING * self.deviation).ln();
        let gained = over_curves - profile.log_sum_over_lines();
        (gained.abs() < MOST_GAINED).then_some(gained)
    }

    /// What is predicted at a distance from the top.
    fn look(&self, evidence: &Evidence<'_>, prior: &Prior, from_the_top: f64) -> Option<Outlook> {
        let mut place = (*self.fit.z).clone();
        place[self.unknown] += from_the_top;
        evidence.outlook_values(&self.fit.faults, &prior.deviations(&place)).ok()
    }
}

impl Line<'_> {
    /// How the logarithm of the datum's probability moves with its prediction.
    fn log_likelihood_gained(&self, moved: f64) -> f64 {
        let at = |predicted: f64| self.datum.log_likelihood(predicted, 0.0).value;
        at(self.at + moved) - at(self.at)
    }
}

/// The logarithm of the posterior along one value, summed over all others by straight lines, up to a constant.
struct Profile<'w> {
    way: &'w Way<'w>,
    /// Of the numbers, and what was shown less what is predicted at the top and at the medians of the other values.
    curves: Vec<Curve>,
    residual: DVector<f64>,
    /// Inverse of the numbers' covariance by their own spread and that of the other values.
    precision: DMatrix<f64>,
    /// Readings over range.
    open: Vec<(&'w Line<'w>, Curve)>,
}

impl<'w> Profile<'w> {
    /// From what is predicted where the value has grown by a share.
    fn new(way: &'w Way<'w>, grown: f64, there: &Outlook) -> Option<Self> {
        let (mut curves, mut residual, mut open) = (Vec::new(), Vec::new(), Vec::new());
        let (mut others, mut own) = (Vec::new(), Vec::new());
        for line in way.lines {
            let mut slopes = line.slopes.clone();
            let slope = std::mem::take(&mut slopes[way.unknown]) / way.spread;
            let curve = Curve::through(line.at, slope, grown, there.predictions[line.reading].value);
            match *line.datum {
                Datum::Shown { value, sigma, .. } => {
                    residual.push(value - line.at + slopes.dot(&way.fit.z));
                    own.push(sigma * sigma);
                    others.push(slopes);
                    curves.push(curve);
                }
                Datum::Open { .. } => open.push((line, curve)),
            }
        }
        let covariance = DMatrix::from_fn(own.len(), own.len(), |row, column| {
            others[row].dot(&others[column]) + if row == column { own[row] } else { 0.0 }
        });
        let precision = Cholesky::new(covariance)?.inverse();
        Some(Profile { way, curves, residual: DVector::from_vec(residual), precision, open })
    }

    /// Whether predictions elsewhere are on the curves, as nearly as readings could tell.
    fn holds(&self, log: f64, there: &Outlook) -> bool {
        let is_on = |line: &Line<'_>, curve: &Curve| {
            let (moved, on_the_curve) = (there.predictions[line.reading].value - line.at, curve.moved(log));
            match *line.datum {
                Datum::Shown { sigma, .. } => (on_the_curve - moved).abs() <= OFF_THE_CURVE * sigma.hypot(moved),
                Datum::Open { .. } => {
                    let off = line.log_likelihood_gained(on_the_curve) - line.log_likelihood_gained(moved);
                    off.abs() <= OFF_THE_CURVE
                }
            }
        };
        let numbers = self.way.lines.iter().filter(|line| matches!(line.datum, Datum::Shown { .. }));
        let open = self.open.iter().map(|(line, curve)| (*line, curve));
        numbers.zip(&self.curves).chain(open).all(|(line, curve)| is_on(line, curve))
    }

    /// At a distance from the top, along the curves.
    fn height(&self, from_the_top: f64) -> f64 {
        let log = self.way.spread * from_the_top;
        let left = DVector::from_fn(self.curves.len(), |row, _| self.residual[row] - self.curves[row].moved(log));
        let open = self.open.iter().map(|(line, curve)| line.log_likelihood_gained(curve.moved(log)));
        let value = self.way.fit.z[self.way.unknown] + from_the_top;
        open.sum::<f64>() - 0.5 * (left.dot(&(&self.precision * &left)) + value * value)
    }

    /// Logarithm of its sum if all curves were straight lines and what is over range stayed as it is at the top.
    fn log_sum_over_lines(&self) -> f64 {
        let lines = DVector::from_fn(self.curves.len(), |row, _| self.curves[row].slope * self.way.spread);
        let pulled = &self.precision * &lines;
        let value = self.way.fit.z[self.way.unknown];
        let curvature = 1.0 + lines.dot(&pulled);
        let slope = self.residual.dot(&pulled) - value;
        let top = self.residual.dot(&(&self.precision * &self.residual)) + value * value;
        0.5 * (slope * slope / curvature - top + (2.0 * PI / curvature).ln())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ohms of a part beside another one with a third in series.
    fn ohms(part: f64) -> f64 {
        4.0 + part * 30.0 / (part + 30.0)
    }

    #[test]
    fn a_curve_through_two_predictions_is_that_of_the_circuit() {
        let (at, further) = (60.0, 9.0);
        // d/dR of R r / (R + r) is (r / (R + r))^2; by the share that R grows by, R times that.
        let slope = 60.0 * (30.0f64 / 90.0).powi(2);
        let curve = Curve::through(ohms(at), slope, further / at - 1.0, ohms(further));
        for part in [1e-6, 0.5, 20.0, 300.0, 1e9] {
            let moved = curve.moved((part / at).ln());
            assert!((ohms(at) + moved - ohms(part)).abs() < 1e-9, "{part}: {moved}");
        }
        let turn = curve.turn.map(|turn| (turn - 60.0 / 90.0).abs());
        assert!(turn.is_some_and(|off| off < 1e-12), "the turn is the part's share of both: {turn:?}");
    }

    #[test]
    fn what_moves_against_its_slope_stays_a_straight_line() {
        let curve = Curve::through(5.0, 2.0, -0.5, 7.0);
        assert_eq!(curve.turn, None);
        assert!((curve.moved(0.3) - 0.6).abs() < 1e-12);
        // Where nothing moves there is nothing to follow.
        assert_eq!(Curve::through(5.0, 0.0, -0.5, 5.0).moved(3.0), 0.0);
    }
}
