//! The temperature of a winding from its resistance, hot against cold, carried back to the moment of switching off.

use super::forecast::mixture::{Mixture, Normal};
use super::limit::Limit;
use super::verdict::{SURE, Verdict, Withheld};
use nalgebra::{Matrix3, Vector3};

/// What a winding is made of, with the constant that a standard gives it: `(hot + K) / (cold + K)` is the ratio of ohms.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Metal {
    /// Copper, 234.5: American standards and IEC 60335-1.
    Copper,
    /// Copper, 235: IEC 60034-1.
    CopperMachines,
    /// Aluminium, 225: all of them.
    Aluminium,
}

/// All metals.
pub const METALS: [Metal; 3] = [Metal::Copper, Metal::CopperMachines, Metal::Aluminium];

impl Metal {
    /// For programs and options.
    pub fn key(self) -> &'static str {
        match self {
            Metal::Copper => "copper",
            Metal::CopperMachines => "copper-machines",
            Metal::Aluminium => "aluminium",
        }
    }

    /// The constant, kelvins.
    pub fn constant(self) -> f64 {
        match self {
            Metal::Copper => 234.5,
            Metal::CopperMachines => 235.0,
            Metal::Aluminium => 225.0,
        }
    }

    /// Where it comes from.
    pub fn source(self) -> &'static str {
        match self {
            Metal::Copper => "K = 234.5 (UL standards; IEC 60335-1, from memory)",
            Metal::CopperMachines => "K = 235 (IEC 60034-1, 8.6, from memory)",
            Metal::Aluminium => "K = 225 (UL standards; IEC 60034-1 and 60335-1, from memory)",
        }
    }

    /// Temperature of a winding of `hot_ohms` that has `cold_ohms` at `cold_celsius`.
    pub fn celsius(self, cold_ohms: f64, cold_celsius: f64, hot_ohms: f64) -> f64 {
        hot_ohms / cold_ohms * (cold_celsius + self.constant()) - self.constant()
    }

    /// Ohms of a winding at a temperature, that has `cold.0` ohms at `cold.1` degrees Celsius.
    pub fn ohms(self, cold: (f64, f64), celsius: f64) -> f64 {
        cold.0 * (celsius + self.constant()) / (cold.1 + self.constant())
    }

    /// Rise over the room: of the winding since the cold reading, less what the room rose by (IEC 60335-1, 11, from memory).
    pub fn rise_kelvin(self, cold: (f64, f64), hot_ohms: f64, room_at_end: f64) -> f64 {
        let (ohms, celsius) = cold;
        (hot_ohms - ohms) / ohms * (celsius + self.constant()) - (room_at_end - celsius)
    }
}

/// The resistance at the moment of switching off.
#[derive(Debug, Clone, PartialEq)]
pub struct AtSwitchOff {
    mixture: Mixture,
    /// Readings it rests on.
    pub readings: usize,
    /// Seconds after switching off at which the first was taken.
    pub first_seconds: f64,
}

/// Why it cannot be carried back.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum NotCarriedBack {
    /// Fewer than [`FEWEST`] readings.
    #[error("{0} hot readings; at least {FEWEST} are needed to carry them back to switching off")]
    TooFew(usize),
    /// The first came too late.
    #[error(
        "the first hot reading came {0:.0} s after switching off; by then a small winding has lost what it was hotter by (at most {LATEST_SECONDS:.0} s)"
    )]
    TooLate(f64),
    /// The resistance does not fall.
    #[error("the resistance does not fall from reading to reading; is it the hot winding, and is it off?")]
    NotFalling,
}

/// Fewest readings.
pub const FEWEST: usize = 3;
/// Latest first reading, seconds. Engineering judgement.
pub const LATEST_SECONDS: f64 = 180.0;
/// Time constants of a winding against its core, seconds, of all of which the fit is a mixture: logarithmically even.
const CONSTANTS: [f64; 10] = [12.0, 18.0, 27.0, 40.0, 60.0, 90.0, 135.0, 200.0, 300.0, 450.0];
/// Standard deviation of what a winding is hotter than its core by, as a share of its resistance (13 K of copper 50 K).
const EXCESS_SHARE: f64 = 0.06;
/// Standard deviation of the slow fall of winding and core together, as a share of the resistance per second.
const SLOW_SHARE: f64 = 6e-5;
/// Errors of a reading beside the meter's last digit, as shares of the resistance, that are held possible.
const ERRORS: [f64; 4] = [1e-4, 3e-4, 1e-3, 3e-3];

/// Carries hot readings, seconds after switching off and ohms, back to zero: `level + slope t + excess exp(-t/T)` for every
/// time constant that is held possible, excess never below zero, weighed by how well it agrees. A straight line through the
/// logarithms, as is usual, ignores that a winding first falls towards its core, and says too little.
///
/// # Errors
/// [`NotCarriedBack`].
pub fn at_switch_off(readings: &[(f64, f64)]) -> Result<AtSwitchOff, NotCarriedBack> {
    if readings.len() < FEWEST {
        return Err(NotCarriedBack::TooFew(readings.len()));
    }
    let (first, last) = (readings[0], readings[readings.len() - 1]);
    if first.0 > LATEST_SECONDS {
        return Err(NotCarriedBack::TooLate(first.0));
    }
    if !(last.1 < first.1 && last.0 > first.0) {
        return Err(NotCarriedBack::NotFalling);
    }
    let size = last.1;
    let spreads = Vector3::new(size, SLOW_SHARE * size, EXCESS_SHARE * size);
    let precision = spreads.map(|spread| 1.0 / (spread * spread));
    let mut parts: Vec<(f64, Normal)> = Vec::new();
    for error in ERRORS.map(|share| share * size) {
        for constant in CONSTANTS {
            let mut information = Matrix3::from_diagonal(&precision);
            let mut right = Vector3::zeros();
            let mut square = 0.0;
            for &(seconds, ohms) in readings {
                let row = Vector3::new(1.0, -seconds, (-seconds / constant).exp()) / error;
                // Over the last reading, so that nothing large cancels.
                let target = (ohms - size) / error;
                information += row * row.transpose();
                right += row * target;
                square += target * target;
            }
            let Some(cholesky) = information.cholesky() else { continue };
            let mean = cholesky.solve(&right);
            let log_root: f64 = cholesky.l_dirty().diagonal().map(f64::ln).sum();
            let weight = -0.5 * (square - right.dot(&mean)) - log_root - readings.len() as f64 * error.ln();
            let read_off = Vector3::new(1.0, 0.0, 1.0);
            let deviation = read_off.dot(&cholesky.solve(&read_off)).sqrt();
            parts.push((weight, Normal { weight: 0.0, mean: size + mean[0] + mean[2], deviation }));
        }
    }
    let best = parts.iter().map(|part| part.0).fold(f64::MIN, f64::max);
    let total: f64 = parts.iter().map(|part| (part.0 - best).exp()).sum();
    let weighed = parts.iter().map(|(weight, normal)| Normal { weight: (weight - best).exp() / total, ..*normal });
    Ok(AtSwitchOff { mixture: Mixture::new(weighed.collect()), readings: readings.len(), first_seconds: first.0 })
}

impl AtSwitchOff {
    /// The resistance, median, ohms.
    pub fn ohms(&self) -> f64 {
        self.mixture.quantile(0.5)
    }

    /// Lower and upper end of the interval that holds it with this probability, ohms.
    pub fn interval(&self, probability: f64) -> (f64, f64) {
        (self.mixture.quantile(0.5 - 0.5 * probability), self.mixture.quantile(0.5 + 0.5 * probability))
    }
}

/// Ohms cold and hot, by the same meter and leads, put the temperature off by no more than this beside what carrying back leaves
/// open, kelvins (a third of a per cent of copper's resistance). Engineering judgement.
const METER_KELVIN: f64 = 1.0;
/// A winding so far below the room has not been running in it, kelvins. Engineering judgement.
const BELOW_ROOM_KELVIN: f64 = 2.0;

/// What is said of a winding at switching off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AtEnd {
    /// Pass or fail as it then was; how much further it would have risen, ohms do not tell.
    pub verdict: Verdict,
    /// Why it is neither.
    pub withheld: Option<Withheld>,
    /// Probability that it was below the limit, if there is one.
    pub probability_below: Option<f64>,
    /// What is added to the temperature before it is held to the limit.
    pub correction_kelvin: f64,
}

/// Holds a winding at switching off to a limit. `cold` are its ohms and degrees Celsius when cold; the room is that at the end
/// of the run.
pub fn judge(
    found: &AtSwitchOff,
    metal: Metal,
    cold: (f64, f64),
    room_celsius: Option<f64>,
    limit: Option<&Limit>,
) -> AtEnd {
    let correction_kelvin = match (limit.and_then(|limit| limit.room_celsius), room_celsius) {
        (Some(meant), Some(is)) => meant - is,
        _ => 0.0,
    };
    let below = |celsius: f64| found.mixture.below(metal.ohms(cold, celsius));
    let held_to = limit.map(|limit| limit.celsius - correction_kelvin);
    let probability_below = held_to.map(|celsius| below(celsius - METER_KELVIN));
    let needs_room = limit.is_some_and(|limit| limit.room_celsius.is_some());
    let hottest = metal.celsius(cold.0, cold.1, found.interval(0.95).1);
    let (verdict, withheld) = match (held_to, probability_below) {
        _ if room_celsius.is_some_and(|room| hottest < room - BELOW_ROOM_KELVIN) => {
            (Verdict::NotYet, Some(Withheld::BelowRoom))
        }
        (Some(_), Some(probability)) if probability >= SURE && needs_room && room_celsius.is_none() => {
            (Verdict::NotYet, Some(Withheld::RoomUnknown))
        }
        (Some(_), Some(probability)) if probability >= SURE => (Verdict::Pass, None),
        (Some(celsius), _) if below(celsius + METER_KELVIN) <= 1.0 - SURE => (Verdict::Fail, None),
        (Some(_), _) => (Verdict::NotYet, Some(Withheld::Uncertain)),
        (None, _) => (Verdict::NotYet, Some(Withheld::NoLimit)),
    };
    AtEnd { verdict, withheld, probability_below, correction_kelvin }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Check values 3.1: 20 ohms at 25 °C, 25 ohms at the end with the room at 27 °C.
    #[test]
    fn worked_values() {
        for (metal, rise, celsius) in
            [(Metal::Copper, 62.875, 89.875), (Metal::CopperMachines, 63.0, 90.0), (Metal::Aluminium, 60.5, 87.5)]
        {
            assert!((metal.rise_kelvin((20.0, 25.0), 25.0, 27.0) - rise).abs() < 1e-9);
            assert!((metal.celsius(20.0, 25.0, 25.0) - celsius).abs() < 1e-9);
        }
    }

    /// Check values 9, cooling: the two nodes at 75 and 45 K over a room of 20 °C, switched off. Their winding falls by the
    /// heating curve: 24.356 K of it with 36.15 s, the rest with 664 s.
    #[test]
    fn a_winding_of_two_nodes_is_carried_back_to_where_it_was() {
        let celsius = |seconds: f64| 20.0 + 24.356 * (-seconds / 36.1529).exp() + 50.644 * (-seconds / 663.847).exp();
        let ohms = |seconds: f64| 20.0 * (celsius(seconds) + 234.5) / (20.0 + 234.5);
        let readings: Vec<(f64, f64)> =
            [15.0, 25.0, 35.0, 50.0, 70.0, 100.0].map(|seconds| (seconds, (ohms(seconds) * 1e3).round() / 1e3)).into();
        let found = at_switch_off(&readings).unwrap();
        let back = |ohms: f64| Metal::Copper.celsius(20.0, 20.0, ohms);
        let (low, high) = found.interval(0.95);
        assert!((back(found.ohms()) - 95.0).abs() < 1.5, "{}", back(found.ohms()));
        assert!(back(low) < 95.0 && 95.0 < back(high) && back(high) - back(low) < 8.0, "{} {}", back(low), back(high));
        assert!(back(readings[0].1) < 87.0, "the first reading alone says eight kelvins too little");
    }

    /// The winding above, 95 degrees Celsius at switching off in a room of 20.
    #[test]
    fn a_winding_is_held_to_a_limit_at_switching_off() {
        let celsius = |seconds: f64| 20.0 + 24.356 * (-seconds / 36.1529).exp() + 50.644 * (-seconds / 663.847).exp();
        let readings = [15.0, 25.0, 35.0, 50.0, 70.0, 100.0];
        let readings =
            readings.map(|seconds| (seconds, (Metal::Copper.ohms((20.0, 20.0), celsius(seconds)) * 1e3).round() / 1e3));
        let found = at_switch_off(&readings).unwrap();
        let limit =
            |celsius, room_celsius| Limit { celsius, words: String::new(), source: String::new(), room_celsius };
        let at = |celsius, meant_for, room| {
            let end = judge(&found, Metal::Copper, (20.0, 20.0), room, Some(&limit(celsius, meant_for)));
            (end.verdict, end.withheld)
        };
        assert_eq!(at(120.0, None, Some(20.0)), (Verdict::Pass, None));
        assert_eq!(at(80.0, None, Some(20.0)), (Verdict::Fail, None));
        assert_eq!(at(95.0, None, Some(20.0)), (Verdict::NotYet, Some(Withheld::Uncertain)));
        // Meant for a room at 45 degrees, the same winding would come to 120.
        assert_eq!(at(120.0, Some(45.0), Some(20.0)), (Verdict::NotYet, Some(Withheld::Uncertain)));
        assert_eq!(at(140.0, Some(45.0), Some(20.0)), (Verdict::Pass, None));
        assert_eq!(at(140.0, Some(45.0), None), (Verdict::NotYet, Some(Withheld::RoomUnknown)));
        assert_eq!(at(140.0, None, Some(110.0)), (Verdict::NotYet, Some(Withheld::BelowRoom)));
        let free = judge(&found, Metal::Copper, (20.0, 20.0), None, None);
        assert_eq!((free.verdict, free.withheld), (Verdict::NotYet, Some(Withheld::NoLimit)));
    }

    #[test]
    fn what_cannot_be_carried_back() {
        assert_eq!(at_switch_off(&[(10.0, 25.0), (20.0, 24.9)]), Err(NotCarriedBack::TooFew(2)));
        let late = [(300.0, 25.0), (320.0, 24.9), (340.0, 24.8)];
        assert_eq!(at_switch_off(&late), Err(NotCarriedBack::TooLate(300.0)));
        let rising = [(10.0, 25.0), (20.0, 25.1), (30.0, 25.2)];
        assert_eq!(at_switch_off(&rising), Err(NotCarriedBack::NotFalling));
    }
}
