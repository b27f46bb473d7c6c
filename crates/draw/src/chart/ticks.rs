//! Round numbers along an axis.

/// A span of values with round ticks on it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Ticks {
    pub(super) low: f64,
    pub(super) high: f64,
    pub(super) at: Vec<f64>,
    decimals: usize,
}

impl Ticks {
    /// Ticks of 1, 2 or 5 times a power of ten over the values, at most `most` steps of them; the span ends on ticks.
    pub(super) fn over(values: impl Iterator<Item = f64>, most: usize) -> Self {
        let (low, high) = span(values);
        let step = step((high - low) / most.max(2) as f64);
        let (first, last) = ((low / step).floor(), (high / step).ceil());
        let count = (last - first).min(200.0) as usize;
        let at = (0..=count).map(|index| (first + index as f64) * step).collect();
        let decimals = (-step.log10().floor()).clamp(0.0, 6.0) as usize;
        Ticks { low: first * step, high: last * step, at, decimals }
    }

    /// The same, but the span ends with the values, so that it holds at most `most` steps.
    pub(super) fn within(values: &[f64], most: usize) -> Self {
        let (low, high) = span(values.iter().copied());
        let mut ticks = Ticks::over(values.iter().copied(), most);
        ticks.at.retain(|&tick| low <= tick && tick <= high);
        Ticks { low, high, ..ticks }
    }

    /// A tick in figures.
    pub(super) fn text(&self, tick: f64) -> String {
        Self::figures(tick, self.decimals)
    }

    /// A value in figures, once finer than the ticks.
    pub(super) fn finer_text(&self, value: f64) -> String {
        Self::figures(value, self.decimals + 1)
    }

    fn figures(value: f64, decimals: usize) -> String {
        let text = format!("{value:.decimals$}");
        if text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.') {
            text.trim_start_matches('-').into()
        } else {
            text
        }
    }

    /// Where a value lies, from 0 at the low end to 1 at the high one.
    pub(super) fn share(&self, value: f64) -> f64 {
        ((value - self.low) / (self.high - self.low)).clamp(0.0, 1.0)
    }
}

/// The smallest and the largest value; a flat line lies in the middle of a span that befits its size.
fn span(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let widen = |(low, high): (f64, f64), value: f64| (low.min(value), high.max(value));
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), widen);
    let (low, high) = if low <= high { (low, high) } else { (0.0, 1.0) };
    let least = (low.abs().max(high.abs()) * 0.02).max(1e-3);
    if high - low < least {
        let middle = (low + high) / 2.0;
        return (middle - least / 2.0, middle + least / 2.0);
    }
    (low, high)
}

/// The smallest of 1, 2 or 5 times a power of ten that is not below a step.
fn step(least: f64) -> f64 {
    let power = 10f64.powf(least.log10().floor());
    [1.0, 2.0, 5.0]
        .into_iter()
        .map(|round| round * power)
        .find(|&round| round >= least * (1.0 - 1e-9))
        .unwrap_or(10.0 * power)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn ticks_are_round() {
        let ticks = Ticks::over([0.0, 47.0].into_iter(), 5);
        assert_eq!(ticks.at, [0.0, 10.0, 20.0, 30.0, 40.0, 50.0]);
        assert_eq!(ticks.text(20.0), "20");
        let ticks = Ticks::over([0.71, 0.74].into_iter(), 4);
        assert_eq!(ticks.at.iter().map(|&tick| ticks.text(tick)).collect::<Vec<_>>(), ["0.71", "0.72", "0.73", "0.74"]);
    }

    proptest! {
        #[test]
        fn ticks_hold_all_values(values in proptest::collection::vec(-1e5f64..1e5, 0..9), most in 2usize..9) {
            let ticks = Ticks::over(values.iter().copied(), most);
            prop_assert!(ticks.at.len() >= 2 && ticks.at.len() <= most + 3);
            for value in values {
                prop_assert!(ticks.low - 1e-6 <= value && value <= ticks.high + 1e-6);
            }
        }
    }
}
