//! Median values of a three-phase motor from its plate.
//!
//! The circuit of one phase of the star that stands for the motor: core loss across the line, stator resistance and
//! leakage, then magnetising reactance beside the rotor (source: any text on machines; IEEE 112 draws the same with the
//! core loss behind the stator). Plate volts, amps and watts fix the impedance that the line sees, and the speed its
//! slip; with stator resistance, core loss and leakage in usual proportions that leaves two values, `R2/s` and `Xm`, in
//! one complex equation, so the motor at its plate speed draws exactly its plate amps and watts.
//!
//! # Assumes
//! A balanced supply of plate volts; all losses of the plate point in the copper, the core and the bearings.

use crate::nameplate::{Nameplate, NameplateError};
use num_complex::Complex64;

/// What can be read on the plate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThreePhasePlate {
    /// Rated volts between lines.
    pub volts: f64,
    /// Rated hertz.
    pub hertz: f64,
    /// Full-load amperes in each line.
    pub amps: Option<f64>,
    /// Full-load speed in revolutions per minute.
    pub rpm: Option<f64>,
    /// Number of poles.
    pub poles: Option<u32>,
    /// Input watts.
    pub watts: Option<f64>,
    /// Watts at the shaft.
    pub shaft_watts: Option<f64>,
    /// Full-load power factor.
    pub power_factor: Option<f64>,
}

/// Median values, impedances those of one phase of the equivalent star.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThreePhaseMedians {
    /// Number of poles.
    pub poles: u32,
    /// Stator resistance, ohms.
    pub winding_ohms: f64,
    /// Leakage reactance of the stator, and of the rotor: each this much, ohms.
    pub leakage_ohms: f64,
    /// Magnetising reactance, ohms.
    pub magnetising_ohms: f64,
    /// Rotor resistance, ohms.
    pub rotor_ohms: f64,
    /// Resistance from line to star point that stands for the core loss, ohms.
    pub core_loss_ohms: f64,
    /// Torque of a fan that takes plate power at plate speed, newton metres.
    pub fan_torque: f64,
    /// Bearing friction, newton metres.
    pub friction_torque: f64,
    /// Plate speed as a share of synchronous speed.
    pub rated_ratio: f64,
    /// What it loses at plate load, bearings left out, watts.
    pub rated_loss_watts: f64,
}

/// A plate that no three-phase motor can have.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ThreePhaseError {
    /// Poles or speed.
    #[error(transparent)]
    Speed(#[from] NameplateError),
    /// A speed that belongs to more poles.
    #[error("{rpm} rpm is far below the synchronous speed of {synchronous_rpm} rpm for {poles} poles at {hertz} Hz")]
    FarBelowSynchronous {
        /// Speed on the plate.
        rpm: f64,
        /// Synchronous speed.
        synchronous_rpm: f64,
        /// Poles.
        poles: u32,
        /// Frequency.
        hertz: f64,
    },
    /// A power factor above one.
    #[error("a power factor of {power_factor} is above one")]
    PowerFactor {
        /// On the plate.
        power_factor: f64,
    },
    /// More watts than volt-amperes.
    #[error("{watts} W is more than {volts} V times {amps} A times 1.73")]
    MoreWattsThanVoltAmperes {
        /// Input watts.
        watts: f64,
        /// Volts between lines.
        volts: f64,
        /// Amperes.
        amps: f64,
    },
    /// Watts that are not volts times amps times power factor.
    #[error("{watts} W in, but volts, amps and power factor make {expected:.0} W")]
    WattsAgainstPowerFactor {
        /// Input watts.
        watts: f64,
        /// What the other three make.
        expected: f64,
    },
    /// An efficiency above what the slip leaves.
    #[error("{shaft_watts} W at the shaft of {watts:.0} W in leaves nothing for the losses")]
    NoLosses {
        /// Watts at the shaft.
        shaft_watts: f64,
        /// Input watts.
        watts: f64,
    },
    /// No machine of ordinary proportions meets the plate.
    #[error("no three-phase motor of ordinary proportions has this combination of volts, amps, watts and speed")]
    NoFit,
}

// Proportions of small three-phase motors, up to some kilowatts (engineering judgement; the spreads are kept beside the
// unknowns of the part).
/// Power factor where the plate does not say.
const USUAL_POWER_FACTOR: f64 = 0.75;
/// Efficiency where the plate gives the watts at the shaft and not those taken in.
const USUAL_EFFICIENCY: f64 = 0.72;
/// Watts at the shaft where the plate gives neither amps nor watts: one of the commonest small motors.
const USUAL_SHAFT_WATTS: f64 = 370.0;
/// Slip where the plate gives no speed.
const USUAL_SLIP: f64 = 0.06;
/// Slip above which the speed belongs to a motor of more poles.
const LARGEST_SLIP: f64 = 0.25;
/// Each leakage reactance in units of phase volts over amps; less where the plate leaves no room for so much.
const LEAKAGE: [f64; 4] = [0.11, 0.08, 0.05, 0.02];
/// Stator resistance in units of phase volts over amps, over the slip: in such motors both copper losses are of a size.
const WINDING_OVER_SLIP: f64 = 1.5;
/// Core loss as a share of the volt-amperes.
const CORE_LOSS: f64 = 0.04;
/// Core loss as a share of what is lost in the stator, where the plate tells that.
const CORE_SHARE: f64 = 0.33;
/// Friction as a share of rated torque.
const FRICTION_SHARE: f64 = 0.03;
/// Difference between watts and volts times amps times power factor above which one of them is wrong.
const POWER_FACTOR_TOLERANCE: f64 = 0.15;

impl ThreePhasePlate {
    /// Median values for this plate.
    ///
    /// # Errors
    /// [`ThreePhaseError`] says which figures contradict each other.
    pub fn medians(&self) -> Result<ThreePhaseMedians, ThreePhaseError> {
        let poles = self.poles()?;
        let synchronous_rpm = 120.0 * self.hertz / f64::from(poles);
        let ratio = self.rpm.map_or(1.0 - USUAL_SLIP, |rpm| rpm / synchronous_rpm);
        let (amps, watts) = self.input()?;
        let (volts, amps_per_phase) = (self.volts / 3f64.sqrt(), amps);
        let volt_amperes = 3.0 * volts * amps;
        let (core_loss, stator_copper) = match self.shaft_watts {
            Some(shaft_watts) => {
                let gap = shaft_watts / (1.0 - FRICTION_SHARE) / ratio;
                if gap >= watts {
                    return Err(ThreePhaseError::NoLosses { shaft_watts, watts });
                }
                (CORE_SHARE * (watts - gap), Some((1.0 - CORE_SHARE) * (watts - gap)))
            }
            None => (CORE_LOSS * volt_amperes, None),
        };
        let core_loss_ohms = 3.0 * volts * volts / core_loss;
        let line = Complex64::new(watts, -(volt_amperes.powi(2) - watts.powi(2)).sqrt()) / (3.0 * volts);
        let stator = line - volts / core_loss_ohms;
        let base = volts / amps_per_phase;
        let winding_ohms = stator_copper
            .map_or((WINDING_OVER_SLIP * (1.0 - ratio)).clamp(0.01, 0.15) * base, |copper| {
                copper / (3.0 * stator.norm_sqr())
            });
        let gap = LEAKAGE.into_iter().find_map(|share| {
            let leakage = share * base;
            gap_values(volts / stator - Complex64::new(winding_ohms, leakage), leakage)
                .map(|(over_slip, magnetising)| (leakage, over_slip, magnetising))
        });
        let (leakage_ohms, over_slip, magnetising_ohms) = gap.ok_or(ThreePhaseError::NoFit)?;
        let gap_watts = watts - core_loss - 3.0 * stator.norm_sqr() * winding_ohms;
        let torque = gap_watts / (4.0 * std::f64::consts::PI * self.hertz / f64::from(poles));
        Ok(ThreePhaseMedians {
            poles,
            winding_ohms,
            leakage_ohms,
            magnetising_ohms,
            rotor_ohms: over_slip * (1.0 - ratio),
            core_loss_ohms,
            fan_torque: torque * (1.0 - FRICTION_SHARE),
            friction_torque: torque * FRICTION_SHARE,
            rated_ratio: ratio,
            rated_loss_watts: watts - gap_watts * ratio,
        })
    }

    /// Poles that go with the speed.
    fn poles(&self) -> Result<u32, ThreePhaseError> {
        let plate = Nameplate {
            volts: self.volts,
            hertz: self.hertz,
            amps: self.amps,
            rpm: self.rpm,
            poles: self.poles,
            microfarads: None,
            watts: None,
            main_ohms: None,
            second_ohms: None,
        };
        let poles = plate.poles()?;
        let synchronous_rpm = 120.0 * self.hertz / f64::from(poles);
        match self.rpm {
            Some(rpm) if rpm < (1.0 - LARGEST_SLIP) * synchronous_rpm => {
                Err(ThreePhaseError::FarBelowSynchronous { rpm, synchronous_rpm, poles, hertz: self.hertz })
            }
            _ => Ok(poles),
        }
    }

    /// Amperes in each line and watts taken in, from what the plate says of them.
    fn input(&self) -> Result<(f64, f64), ThreePhaseError> {
        if let Some(power_factor) = self.power_factor.filter(|&power_factor| power_factor > 1.0) {
            return Err(ThreePhaseError::PowerFactor { power_factor });
        }
        let per_amp = 3f64.sqrt() * self.volts;
        let usual = self.power_factor.unwrap_or(USUAL_POWER_FACTOR);
        let taken = self.watts.or(self.shaft_watts.map(|watts| watts / USUAL_EFFICIENCY));
        let (amps, watts) = match (self.amps, self.watts, taken) {
            (Some(amps), Some(watts), _) => (amps, watts),
            (Some(amps), None, Some(taken)) if self.power_factor.is_none() => {
                (amps, taken.clamp(0.55 * per_amp * amps, 0.92 * per_amp * amps))
            }
            (Some(amps), None, _) => (amps, usual * per_amp * amps),
            (None, _, taken) => {
                let taken = taken.unwrap_or(USUAL_SHAFT_WATTS / USUAL_EFFICIENCY);
                (taken / (usual * per_amp), taken)
            }
        };
        if watts >= per_amp * amps {
            return Err(ThreePhaseError::MoreWattsThanVoltAmperes { watts, volts: self.volts, amps });
        }
        let expected = self.power_factor.map_or(watts, |power_factor| power_factor * per_amp * amps);
        if (watts / expected - 1.0).abs() > POWER_FACTOR_TOLERANCE {
            return Err(ThreePhaseError::WattsAgainstPowerFactor { watts, expected });
        }
        Ok((amps, watts))
    }
}

/// `R2/s` and `Xm` that together with the rotor leakage have an impedance, if there are any.
///
/// With `g - jb` its admittance and `r = R2/s`: `g = r / (r^2 + X2^2)`, of whose two roots the larger belongs to a
/// running motor, and `b = 1/Xm + X2 / (r^2 + X2^2)`.
fn gap_values(impedance: Complex64, leakage: f64) -> Option<(f64, f64)> {
    let admittance = impedance.inv();
    let conductance = admittance.re;
    let root = 1.0 - (2.0 * conductance * leakage).powi(2);
    if conductance <= 0.0 || root < 0.0 {
        return None;
    }
    let over_slip = (1.0 + root.sqrt()) / (2.0 * conductance);
    let susceptance = -admittance.im - leakage / (over_slip * over_slip + leakage * leakage);
    (susceptance > 0.0).then(|| (over_slip, 1.0 / susceptance))
}
