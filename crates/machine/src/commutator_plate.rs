//! Median values of a universal motor that reproduce what its plate says.
//!
//! The windings are in series, so at its plate speed the motor is one impedance: plate volts, amps and watts fix its
//! resistance (windings, brushes and speed voltage together) and its reactance exactly. How they divide comes from the
//! shares below, held against three worked examples of Guru and Hiziroglu, "Electric Machinery and Transformers",
//! chapter on single-phase motors: winding loss 31 to 35 % of the input, field 9 to 43 % of the ohms and 15 to 43 % of the
//! reactance, power factor 0.74 to 0.94.

use std::f64::consts::PI;

/// Power factor where the plate gives amps or watts alone (engineering judgement, within the examples).
const POWER_FACTOR: f64 = 0.92;
/// Input watts where the plate gives neither amps nor watts (engineering judgement: between a mixer and a vacuum cleaner).
const USUAL_WATTS: f64 = 500.0;
/// Loss in windings as a share of the input watts (the examples say somewhat more; they count the brushes).
const WINDING_LOSS: f64 = 0.28;
/// Share of the field in the ohms of the windings (engineering judgement, within the examples).
const FIELD_OHMS: f64 = 0.4;
/// Share of the field in the reactance (engineering judgement, within the examples).
const FIELD_REACTANCE: f64 = 0.35;
/// Share of the field's reactance that is leakage (engineering judgement).
const FIELD_LEAKAGE: f64 = 0.1;
/// Drop of one carbon brush at rated amps, volts; about 1 V for carbon on copper (handbook figure, from memory).
const BRUSH_VOLTS: f64 = 1.0;
/// Share of the torque at plate speed that does not fall with speed: brushes and bearings (engineering judgement).
const FRICTION: f64 = 0.1;
/// Speed where the plate gives none, revolutions per minute (engineering judgement).
const USUAL_RPM: f64 = 12_000.0;
/// Power factor above which next to no reactance would be left, and below which no motor would.
const POWER_FACTORS: std::ops::RangeInclusive<f64> = 0.4..=0.995;
/// Speed above which no commutator holds together (engineering judgement).
const FASTEST_RPM: f64 = 100_000.0;
/// Speed below which a plate means something behind gears (engineering judgement).
const SLOWEST_RPM: f64 = 1000.0;

/// What can be read on the plate of a universal motor, or is published for it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CommutatorPlate {
    /// Rated volts.
    pub volts: f64,
    /// Full-load amperes.
    pub amps: Option<f64>,
    /// Input watts at full load.
    pub watts: Option<f64>,
    /// Full-load speed, revolutions per minute.
    pub rpm: Option<f64>,
    /// Ohms of the whole field winding at 20 degrees Celsius, if published.
    pub field_ohms: Option<f64>,
    /// Ohms between the brushes at 20 degrees Celsius, if published.
    pub armature_ohms: Option<f64>,
}

/// Median values of a universal motor; field values refer to the whole field winding (turns 1).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CommutatorMedians {
    /// Full-load speed, revolutions per minute: the reference of speed ratios.
    pub rpm: f64,
    /// Full-load amperes.
    pub amps: f64,
    /// Field resistance, ohms at 20 degrees Celsius.
    pub field_ohms: f64,
    /// Field leakage reactance, ohms.
    pub field_leakage_ohms: f64,
    /// Reactance of the flux that the armature turns in, ohms.
    pub magnetising_ohms: f64,
    /// Armature resistance between the brushes, without them, ohms at 20 degrees Celsius.
    pub armature_ohms: f64,
    /// Armature reactance between the brushes, ohms.
    pub armature_reactance_ohms: f64,
    /// One brush at rated amps, ohms.
    pub brush_ohms: f64,
    /// Speed voltage for each field ampere at full-load speed, ohms.
    pub speed_ohms: f64,
    /// Torque at full-load speed that goes with its square, newton metres.
    pub fan_torque: f64,
    /// Torque that does not depend on speed, newton metres.
    pub friction_torque: f64,
}

/// A plate that no universal motor can have.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CommutatorPlateError {
    /// More watts than volt-amperes.
    #[error("{watts} W is more than {volts} V times {amps} A")]
    MoreWattsThanVoltAmperes {
        /// Watts on the plate.
        watts: f64,
        /// Volts on the plate.
        volts: f64,
        /// Amperes on the plate.
        amps: f64,
    },
    /// Far fewer watts than volt-amperes.
    #[error("{watts} W is far less than {volts} V times {amps} A")]
    PowerFactor {
        /// Watts on the plate.
        watts: f64,
        /// Volts on the plate.
        volts: f64,
        /// Amperes on the plate.
        amps: f64,
    },
    /// A speed that no commutator holds.
    #[error("{rpm} rpm is faster than any commutator turns")]
    Speed {
        /// Speed on the plate.
        rpm: f64,
    },
    /// A speed at which no universal motor is rated.
    #[error("{rpm} rpm is slower than any universal motor is rated for")]
    SlowSpeed {
        /// Speed on the plate.
        rpm: f64,
    },
    /// Windings that would leave no volts to turn with.
    #[error("windings of {ohms:.1} ohm drop all of {volts} V at {amps} A")]
    Ohms {
        /// Ohms of field, armature and brushes together.
        ohms: f64,
        /// Volts on the plate.
        volts: f64,
        /// Full-load amperes.
        amps: f64,
    },
}

impl CommutatorPlate {
    /// Median values for this plate.
    ///
    /// # Errors
    /// [`CommutatorPlateError`] says which figures contradict each other.
    pub fn medians(&self) -> Result<CommutatorMedians, CommutatorPlateError> {
        let (amps, watts) = self.amps_and_watts()?;
        let rpm = self.rpm.unwrap_or(USUAL_RPM);
        if rpm > FASTEST_RPM {
            return Err(CommutatorPlateError::Speed { rpm });
        }
        if rpm < SLOWEST_RPM {
            return Err(CommutatorPlateError::SlowSpeed { rpm });
        }
        let power_factor = (watts / (self.volts * amps)).min(*POWER_FACTORS.end());
        let impedance = self.volts / amps;
        let resistance = impedance * power_factor;
        let reactance = impedance * (1.0 - power_factor * power_factor).sqrt();
        let winding_ohms = WINDING_LOSS * resistance;
        let brush_ohms = BRUSH_VOLTS / amps;
        let field_ohms = self.field_ohms.unwrap_or(FIELD_OHMS * winding_ohms);
        // What is read between the brushes counts both of them.
        let between_brushes = self.armature_ohms.map(|ohms| (ohms - 2.0 * brush_ohms).max(0.5 * ohms));
        let armature_ohms = between_brushes.unwrap_or((1.0 - FIELD_OHMS) * winding_ohms);
        let ohms = field_ohms + armature_ohms + 2.0 * brush_ohms;
        let speed_ohms = resistance - ohms;
        if speed_ohms <= 0.1 * resistance {
            return Err(CommutatorPlateError::Ohms { ohms, volts: self.volts, amps });
        }
        let field_reactance = FIELD_REACTANCE * reactance;
        let torque = speed_ohms * amps * amps / (PI * rpm / 30.0);
        Ok(CommutatorMedians {
            rpm,
            amps,
            field_ohms,
            field_leakage_ohms: FIELD_LEAKAGE * field_reactance,
            magnetising_ohms: (1.0 - FIELD_LEAKAGE) * field_reactance,
            armature_ohms,
            armature_reactance_ohms: reactance - field_reactance,
            brush_ohms,
            speed_ohms,
            fan_torque: (1.0 - FRICTION) * torque,
            friction_torque: FRICTION * torque,
        })
    }

    fn amps_and_watts(&self) -> Result<(f64, f64), CommutatorPlateError> {
        let volts = self.volts;
        let (amps, watts) = match (self.amps, self.watts) {
            (Some(amps), Some(watts)) => (amps, watts),
            (Some(amps), None) => (amps, POWER_FACTOR * volts * amps),
            (None, Some(watts)) => (watts / (POWER_FACTOR * volts), watts),
            (None, None) => (USUAL_WATTS / (POWER_FACTOR * volts), USUAL_WATTS),
        };
        if watts > volts * amps {
            return Err(CommutatorPlateError::MoreWattsThanVoltAmperes { watts, volts, amps });
        }
        if watts < POWER_FACTORS.start() * volts * amps {
            return Err(CommutatorPlateError::PowerFactor { watts, volts, amps });
        }
        Ok((amps, watts))
    }
}
