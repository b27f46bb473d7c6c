//! Line width by current: in proportion, so that the inked area of a piece of wire is in proportion too.

use super::flows::IDLE_AMPS;

/// Width of the largest current.
const WIDEST: f64 = 8.0;
/// Width of idle conductors, and the least of those that carry something.
const THINNEST: f64 = 1.2;

/// The scale of one drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scale {
    largest_amps: f64,
}

impl Scale {
    pub(super) fn new(largest_amps: f64) -> Self {
        Scale { largest_amps: if largest_amps.is_finite() { largest_amps } else { 0.0 } }
    }

    /// Whether a current is as good as none: what strays and meters carry.
    pub(super) fn is_idle(&self, amps: f64) -> bool {
        !amps.is_finite() || amps < f64::max(IDLE_AMPS, 1e-4 * self.largest_amps)
    }

    /// Width of a line for a current.
    pub(super) fn width(&self, amps: f64) -> f64 {
        if self.is_idle(amps) {
            return THINNEST;
        }
        (WIDEST * amps / self.largest_amps).clamp(THINNEST, WIDEST)
    }

    /// A round current for the legend, 1, 2 or 5 in some decade, the largest that is not above the largest shown.
    pub(super) fn round_amps(&self) -> f64 {
        if self.largest_amps < IDLE_AMPS {
            return 1.0;
        }
        let decade = 10f64.powf(self.largest_amps.log10().floor());
        let steps = [5.0, 2.0, 1.0].map(|step| step * decade);
        steps.into_iter().find(|&amps| amps <= self.largest_amps * (1.0 + 1e-9)).unwrap_or(decade)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn width_is_in_proportion() {
        let scale = Scale::new(4.0);
        assert_eq!(scale.width(4.0), 8.0);
        assert_eq!(scale.width(2.0), 4.0);
        assert_eq!(scale.round_amps(), 2.0);
        assert_eq!(Scale::new(1.0).round_amps(), 1.0);
        assert_eq!(Scale::new(0.062).round_amps(), 0.05);
    }

    #[test]
    fn nothing_is_thin_and_never_absurd() {
        for largest in [0.0, f64::NAN, f64::INFINITY, 1e9] {
            for amps in [0.0, f64::NAN, f64::INFINITY, 1e-9, 1.0] {
                let width = Scale::new(largest).width(amps);
                assert!((THINNEST..=WIDEST).contains(&width), "{largest} {amps} {width}");
            }
        }
    }
}
