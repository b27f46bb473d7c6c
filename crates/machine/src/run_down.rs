//! How long a rotor turns on once the supply has gone.
//!
//! With relative speed `x` (over the reference speed), inertia `J`, reference speed `W`, driven torque `T s(x)` and friction
//! `F`, `J W dx/dt = -(T s(x) + F)`, so it stands after `J W` times the integral of `dx / (T s(x) + F)` from 0 to where it
//! began. That integral has a closed form for every law of a load.
//!
//! # Assumes
//! Nothing brakes but the load and the friction: no current flows in its windings.

use crate::load::{LEVEL_PRESSURE_SHARE, Load, LoadLaw};

/// Time to standstill over `J W`, and its derivatives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunDown {
    /// The integral, per newton metre.
    pub value: f64,
    /// Its derivative by the speed ratio at which it begins.
    pub by_ratio: f64,
    /// By the driven torque.
    pub by_torque: f64,
    /// By the friction.
    pub by_friction: f64,
}

impl Load {
    /// From a speed ratio, of whatever sign, to standstill.
    pub fn run_down(&self, ratio: f64) -> RunDown {
        let x = (ratio / self.reference_ratio).abs();
        let (torque, friction) = (self.torque.value(), self.friction_torque.value());
        let (value, by_friction, share) = match self.law {
            LoadLaw::Square => {
                let root = (torque * friction).sqrt();
                let value = (x * (torque / friction).sqrt()).atan() / root;
                (value, -(value + x / (friction + torque * x * x)) / (2.0 * friction), x * x)
            }
            LoadLaw::Linear => {
                let value = (torque * x / friction).ln_1p() / torque;
                (value, -x / (friction * (friction + torque * x)), x)
            }
            LoadLaw::Constant => {
                let all = torque + friction;
                (x / all, -x / (all * all), 1.0)
            }
            LoadLaw::LevelPressure => {
                let rising = (1.0 - LEVEL_PRESSURE_SHARE) * torque;
                let at_rest = LEVEL_PRESSURE_SHARE * torque + friction;
                let value = (rising * x / at_rest).ln_1p() / rising;
                let share = LEVEL_PRESSURE_SHARE + (1.0 - LEVEL_PRESSURE_SHARE) * x;
                (value, -x / (at_rest * (at_rest + rising * x)), share)
            }
        };
        RunDown {
            value,
            by_ratio: 1.0 / ((torque * share + friction) * self.reference_ratio),
            // Twice the torques, half the time.
            by_torque: -(value + friction * by_friction) / torque,
            by_friction,
        }
    }
}
