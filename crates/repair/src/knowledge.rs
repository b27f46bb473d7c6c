//! How far what is worked out for a unit may be off, by what the readings have left of its values.

use bench::Unit;
use diagnosis::narrowing::Narrowing;
use diagnosis::prior::Prior;
use statrs::function::erf::erfc;
use std::f64::consts::SQRT_2;

/// What is known of the values of a unit: some as the readings have left them, those of new parts by their plates.
pub struct Knowledge<'k> {
    /// Of the unit that was read, and what the readings have told of it.
    read: Prior,
    narrowing: &'k Narrowing,
    /// Of the unit at hand, which may have another part in it.
    plates: Prior,
    /// For each value of the unit at hand which one of the unit that was read it is; none of new parts.
    origin: Vec<Option<usize>>,
}

impl<'k> Knowledge<'k> {
    /// Of the unit that was read, all but the values `new` as they were read.
    pub fn of_unit(read: Prior, narrowing: &'k Narrowing, new: &[usize]) -> Self {
        let origin = (0..read.count()).map(|value| (!new.contains(&value)).then_some(value)).collect();
        Knowledge { plates: read.clone(), read, narrowing, origin }
    }

    /// Of another unit, whose values are those of the one that was read where `origin` says so.
    pub fn of_another(read: Prior, narrowing: &'k Narrowing, unit: &Unit, origin: Vec<Option<usize>>) -> Self {
        Knowledge { plates: Prior::new(unit), read, narrowing, origin }
    }

    /// Standard deviation of something with these derivatives by the values of the unit at hand.
    pub fn spread(&self, gradient: &[f64]) -> f64 {
        let (mut known, mut new) = (vec![0.0; self.read.count()], vec![0.0; self.plates.count()]);
        for (value, &slope) in gradient.iter().enumerate() {
            match self.origin.get(value).copied().flatten() {
                Some(origin) => known[origin] += slope,
                None => new[value] += slope,
            }
        }
        let known = self.read.whiten(&known);
        // Sizes of faults may be on one side only: what the readings were not asked about keeps its prior.
        let count = self.narrowing.count();
        let beyond: f64 = known.iter().skip(count).map(|slope| slope * slope).sum();
        let told = self.narrowing.variance(&known.resize_vertically(count, 0.0));
        (told + beyond + self.plates.whiten(&new).norm_squared()).sqrt()
    }
}

/// Probability that something normally distributed is past a limit: half where it is expected at it.
pub fn chance_past(expected: f64, spread: f64, limit: f64) -> f64 {
    if spread > 0.0 {
        0.5 * erfc((limit - expected) / (spread * SQRT_2))
    } else if expected > limit {
        1.0
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::chance_past;

    /// Tables of the normal distribution (NIST/SEMATECH e-Handbook, 1.3.6.7.1): 0.8413 below one, 0.9750 below 1.96.
    #[test]
    fn as_in_the_tables_of_the_normal_distribution() {
        for (deviations, below) in [(0.0, 0.5), (1.0, 0.8413), (1.96, 0.9750), (-1.0, 0.1587)] {
            let above = chance_past(100.0, 8.0, 100.0 + 8.0 * deviations);
            assert!((above - (1.0 - below)).abs() < 1e-4, "{deviations}: {above}");
        }
        assert_eq!((chance_past(2.0, 0.0, 1.0), chance_past(1.0, 0.0, 2.0)), (1.0, 0.0));
    }
}
