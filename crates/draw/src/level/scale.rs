//! Measures shared by the panels of one drawing: what is wide, what is pale, what is a mere conductor.

use super::panel::{Panel, Standing};

/// Width of the widest arrow.
const WIDEST: f64 = 34.0;
/// Width of the narrowest arrow that is not pale.
const NARROWEST: f64 = 1.6;
/// Share of the largest current, and of the largest power, below both of which an element is pale.
const PALE_AMPS: f64 = 0.03;
const PALE_WATTS: f64 = 0.005;
/// Power over volt-amperes below which current only swings to and fro (a run capacitor's is below 0.005).
const SWINGS: f64 = 0.01;
/// Share of the highest level below which two levels count as one, and a cord's conductor as no obstacle.
pub(super) const SAME_LEVEL: f64 = 0.01;

/// Largest figure that is drawn; nothing on mains comes near it, and nothing that is not a number is below it.
const LARGEST: f64 = 1e6;

/// What an element does with real power.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Flow {
    /// Takes it.
    Takes,
    /// Delivers it.
    Gives,
    /// Carries current without.
    Swings,
    /// Carries next to nothing.
    Pale,
}

/// The largest figures in any panel; at least the smallest positive numbers, so that one can divide by them.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scale {
    pub(super) amps: f64,
    pub(super) watts: f64,
    pub(super) volts: f64,
}

impl Scale {
    pub(super) fn of(panels: &[Panel]) -> Self {
        let elements = || panels.iter().flat_map(usable);
        let most = |figures: &mut dyn Iterator<Item = f64>| figures.fold(f64::MIN_POSITIVE, f64::max);
        let levels = panels.iter().flat_map(|panel| &panel.levels).filter(|level| is_defined(level));
        Scale {
            amps: most(&mut elements().map(|standing| standing.amps)),
            watts: most(&mut elements().map(|standing| standing.watts.abs())),
            volts: most(&mut levels.map(|level| level.volts)),
        }
    }

    pub(super) fn flow(&self, standing: &Standing) -> Flow {
        let watts = standing.watts.abs();
        if standing.amps < PALE_AMPS * self.amps && watts < PALE_WATTS * self.watts {
            Flow::Pale
        } else if watts < SWINGS * standing.amps * standing.volts {
            Flow::Swings
        } else if standing.watts < 0.0 {
            Flow::Gives
        } else {
            Flow::Takes
        }
    }

    /// Width of an arrow: in proportion to its current, but never too thin to be seen.
    pub(super) fn width(&self, amps: f64) -> f64 {
        (WIDEST * amps / self.amps).clamp(NARROWEST, WIDEST)
    }

    /// Whether an element is a sound conductor of the cord or supply, which needs no arrow of its own.
    pub(super) fn conducts(&self, standing: &Standing) -> bool {
        standing.feeds && standing.volts < SAME_LEVEL * self.volts
    }

    /// Whether an element has next to no voltage across it and carries next to nothing.
    pub(super) fn dead(&self, standing: &Standing) -> bool {
        standing.volts < SAME_LEVEL * self.volts && self.flow(standing) == Flow::Pale
    }
}

/// Elements whose figures can be drawn and whose nets have defined potentials.
pub(super) fn usable(panel: &Panel) -> impl Iterator<Item = &Standing> {
    panel.elements.iter().filter(|standing| {
        let defined = |index: usize| panel.levels.get(index).is_some_and(is_defined);
        let numbers = [standing.amps, standing.volts, standing.watts].iter().all(|figure| figure.abs() <= LARGEST);
        numbers && standing.amps >= 0.0 && defined(standing.from_level) && defined(standing.to_level)
    })
}

/// Whether a level has a place on the scale.
pub(super) fn is_defined(level: &super::Level) -> bool {
    !level.floating && (0.0..=LARGEST).contains(&level.volts)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn widths_grow_with_amps_and_double_with_them(a in 0.0f64..20.0, b in 0.0f64..20.0) {
            let scale = Scale { amps: 20.0, watts: 1.0, volts: 1.0 };
            let (less, more) = (a.min(b), a.max(b));
            prop_assert!(scale.width(less) <= scale.width(more));
            if a > 2.0 && a < 10.0 {
                prop_assert!((scale.width(2.0 * a) / scale.width(a) - 2.0).abs() < 1e-9);
            }
        }
    }
}
