//! When a temperature counts as at rest: the rules of standards, by name.
//!
//! None of them knows the final temperature. A slow unit satisfies 'not more than 1 K in half an hour' with up to 1.5 K
//! still to come (one exponential with a time constant of 60 minutes leaves 1 / (e^(30/60) - 1) = 1.54 K).

use super::forecast::Series;

/// A rule by which a temperature is at rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rule {
    /// Not more than 1 K in half an hour.
    HalfHour,
    /// Three successive readings, a tenth of the elapsed time apart but not less than five minutes, show no further rise.
    ThreeReadings,
    /// Not more than 1 K in an hour.
    Hour,
}

/// All rules, the quickest to satisfy first.
pub const RULES: [Rule; 3] = [Rule::HalfHour, Rule::ThreeReadings, Rule::Hour];

/// A reading of a rule is the mean of the log over so many minutes, so that noise is not taken for a rise.
const WINDOW_MINUTES: f64 = 2.0;
/// Least time between the readings of [`Rule::ThreeReadings`], minutes (UL 507, 46.1.12).
const LEAST_INTERVAL: f64 = 5.0;
/// A rise smaller than this is none, kelvins: what a thermometer of 0.1 K shows. Engineering judgement.
const NO_RISE_KELVIN: f64 = 0.1;

impl Rule {
    /// For programs.
    pub fn key(self) -> &'static str {
        match self {
            Rule::HalfHour => "half-hour",
            Rule::ThreeReadings => "three-readings",
            Rule::Hour => "hour",
        }
    }

    /// What it asks.
    pub fn words(self) -> &'static str {
        match self {
            Rule::HalfHour => "not more than 1 K in half an hour",
            Rule::ThreeReadings => {
                "no further rise in three readings, a tenth of the time run apart but at least 5 minutes"
            }
            Rule::Hour => "not more than 1 K in an hour",
        }
    }

    /// Where it comes from.
    pub fn source(self) -> &'static str {
        match self {
            Rule::HalfHour => "IEC 60034-1, definition of thermal equilibrium (from memory)",
            Rule::ThreeReadings => "UL 507, 46.1.12",
            Rule::Hour => {
                "usual in laboratories for the 'steady conditions' of IEC 60335-1; common practice, no source"
            }
        }
    }

    /// What it does not see.
    pub fn leaves_out(self) -> &'static str {
        match self {
            Rule::HalfHour => "a unit with a main time constant of an hour may still rise by 1.5 K",
            Rule::ThreeReadings => "early in a run 5 minutes show little: a slow cabinet may still be warming",
            Rule::Hour => "a drifting room keeps it from being met, or meets it for the unit",
        }
    }
}

/// First minute at which a rule is satisfied, `None` if never.
pub fn first_satisfied(rule: Rule, series: &Series) -> Option<f64> {
    let means = Means::new(series);
    series.minutes.iter().copied().find(|&now| is_satisfied(rule, &means, now, series.resolution_kelvin))
}

/// Whether a rule is satisfied at the end of what was logged.
pub fn satisfied_at_end(rule: Rule, series: &Series) -> bool {
    let Some(&now) = series.minutes.last() else { return false };
    is_satisfied(rule, &Means::new(series), now, series.resolution_kelvin)
}

fn is_satisfied(rule: Rule, means: &Means, now: f64, resolution_kelvin: f64) -> bool {
    let change = |minutes: f64| Some(means.before(now)? - means.before(now - minutes)?);
    match rule {
        Rule::HalfHour => change(30.0).is_some_and(|change| change.abs() <= 1.0),
        Rule::Hour => change(60.0).is_some_and(|change| change.abs() <= 1.0),
        Rule::ThreeReadings => {
            let interval = (0.1 * now).max(LEAST_INTERVAL);
            let allowed = NO_RISE_KELVIN.max(0.5 * resolution_kelvin);
            let readings = [means.before(now - 2.0 * interval), means.before(now - interval), means.before(now)];
            match readings {
                [Some(first), Some(second), Some(third)] => second - first <= allowed && third - second <= allowed,
                _ => false,
            }
        }
    }
}

/// Means of a log over windows, by running sums.
struct Means<'s> {
    minutes: &'s [f64],
    sums: Vec<f64>,
}

impl<'s> Means<'s> {
    fn new(series: &'s Series) -> Self {
        let mut sum = 0.0;
        let running = series.celsius.iter().map(|value| {
            sum += value;
            sum
        });
        Means { minutes: &series.minutes, sums: std::iter::once(0.0).chain(running).collect() }
    }

    /// Mean over the window that ends at a time; of the last reading ahead of it if the window holds none. `None` if
    /// that is more than three windows back, or nothing was logged yet.
    fn before(&self, end: f64) -> Option<f64> {
        let to = self.minutes.partition_point(|&t| t <= end + 1e-9);
        let from = self.minutes.partition_point(|&t| t < end - WINDOW_MINUTES).min(to.checked_sub(1)?);
        let is_recent = self.minutes[to - 1] >= end - 3.0 * WINDOW_MINUTES;
        is_recent.then(|| (self.sums[to] - self.sums[from]) / (to - from) as f64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one_exponential(rise: f64, constant: f64, minutes: u32) -> Series {
        let minutes: Vec<f64> = (0..=minutes * 2).map(|half| 0.5 * f64::from(half)).collect();
        let celsius = minutes.iter().map(|t| 20.0 + rise * (1.0 - (-t / constant).exp())).collect();
        Series { minutes, celsius, room: None, resolution_kelvin: 0.01 }
    }

    /// Closed form (check values 3.5): at a change of 1 K in 30 minutes 1 / (e^(30/T) - 1) K are still to come.
    #[test]
    fn the_half_hour_rule_leaves_what_the_closed_form_says() {
        for (constant, left) in [(20.0, 0.287), (30.0, 0.582), (45.0, 1.055), (60.0, 1.541)] {
            let series = one_exponential(60.0, constant, 600);
            let at = first_satisfied(Rule::HalfHour, &series).unwrap();
            // The reading is a mean over two minutes, so the rule is met a minute later than by single readings.
            let missing = 60.0 * (-(at - 1.0) / constant).exp();
            assert!((missing - left).abs() < 0.03, "time constant {constant}: {missing} K left");
        }
    }

    #[test]
    fn nothing_is_at_rest_before_the_rule_has_been_looked_at_for_long_enough() {
        let flat = Series {
            minutes: (0..25).map(f64::from).collect(),
            celsius: vec![20.0; 25],
            room: None,
            resolution_kelvin: 0.1,
        };
        assert!(!satisfied_at_end(Rule::HalfHour, &flat));
        assert!(!satisfied_at_end(Rule::Hour, &flat));
        assert!(satisfied_at_end(Rule::ThreeReadings, &flat));
        assert!(!satisfied_at_end(Rule::ThreeReadings, &Series::default()));
    }

    #[test]
    fn three_readings_are_a_tenth_of_the_time_apart() {
        // Rising 0.05 K a minute: 0.25 K in 5 minutes is a rise. Then flat from minute 100 on: the three readings are 11
        // to 12 minutes apart, so all of them are on the flat only after some 20 minutes more.
        let minutes: Vec<f64> = (0..=160).map(f64::from).collect();
        let celsius = minutes.iter().map(|&t: &f64| 60.0 + 0.05 * t.min(100.0)).collect();
        let series = Series { minutes, celsius, room: None, resolution_kelvin: 0.01 };
        let at = first_satisfied(Rule::ThreeReadings, &series).unwrap();
        assert!((118.0..128.0).contains(&at), "{at}");
    }
}
