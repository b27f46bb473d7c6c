//! A channel of any length in little memory: readings averaged over equal times, which double when there are too many.

/// Means are kept for so many times at most.
pub const MOST_BINS: usize = 512;

/// One mean.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Bin {
    seconds: f64,
    value: f64,
    count: u32,
}

/// Readings of one channel, averaged.
#[derive(Debug, Clone, Default)]
pub struct Bins {
    width: f64,
    bins: Vec<Bin>,
    /// Smallest difference between two values in a row that differ.
    smallest_step: Option<f64>,
    last: Option<f64>,
    /// Readings in all.
    pub readings: u64,
}

/// Narrowest bin, seconds.
const NARROWEST: f64 = 0.125;

impl Bins {
    /// Adds a reading; times must not go backwards.
    pub fn add(&mut self, seconds: f64, value: f64) {
        if let Some(last) = self.last {
            let step = (value - last).abs();
            // Differences of decimal fractions are off by rounding.
            if step > 1e-9 && self.smallest_step.is_none_or(|smallest| step < smallest) {
                self.smallest_step = Some(step);
            }
        }
        self.last = Some(value);
        self.readings += 1;
        if self.bins.is_empty() {
            self.width = NARROWEST;
        }
        loop {
            let place = (seconds / self.width) as usize;
            if place < MOST_BINS {
                if self.bins.len() <= place {
                    self.bins.resize(place + 1, Bin::default());
                }
                let bin = &mut self.bins[place];
                bin.seconds += seconds;
                bin.value += value;
                bin.count += 1;
                return;
            }
            self.double();
        }
    }

    fn double(&mut self) {
        self.width *= 2.0;
        let pair = |pair: &[Bin]| {
            pair.iter().fold(Bin::default(), |sum, bin| Bin {
                seconds: sum.seconds + bin.seconds,
                value: sum.value + bin.value,
                count: sum.count + bin.count,
            })
        };
        self.bins = self.bins.chunks(2).map(pair).collect();
    }

    /// Times in seconds and means, in order.
    pub fn means(&self) -> impl Iterator<Item = (f64, f64)> {
        let filled = self.bins.iter().filter(|bin| bin.count > 0);
        filled.map(|bin| (bin.seconds / f64::from(bin.count), bin.value / f64::from(bin.count)))
    }

    /// The smallest step that the values show; zero if they never change.
    pub fn resolution(&self) -> f64 {
        self.smallest_step.unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_million_readings_of_a_line_stay_on_it_in_few_bins() {
        let mut bins = Bins::default();
        (0..1_000_000).for_each(|second| bins.add(f64::from(second), 20.0 + 1e-4 * f64::from(second)));
        let means: Vec<(f64, f64)> = bins.means().collect();
        assert!((MOST_BINS / 2 - 50..=MOST_BINS).contains(&means.len()), "{}", means.len());
        assert!(means.iter().all(|(seconds, value)| (value - 20.0 - 1e-4 * seconds).abs() < 1e-6));
        assert_eq!(bins.readings, 1_000_000);
    }

    #[test]
    fn few_readings_are_kept_as_they_are() {
        let mut bins = Bins::default();
        (0..60).for_each(|minute| bins.add(60.0 * f64::from(minute), f64::from(minute / 2)));
        assert_eq!(bins.means().count(), 60);
        assert!((bins.resolution() - 1.0).abs() < 1e-12);
    }
}
