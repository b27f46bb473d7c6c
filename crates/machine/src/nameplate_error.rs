//! Plates that no motor can have.

/// A nameplate that no motor can have.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NameplateError {
    /// Speed at or above synchronous speed for the given frequency and poles.
    #[error("{rpm} rpm is not below the synchronous speed of {synchronous_rpm} rpm for {poles} poles at {hertz} Hz")]
    AboveSynchronous {
        /// Speed on the plate.
        rpm: f64,
        /// Synchronous speed.
        synchronous_rpm: f64,
        /// Poles.
        poles: u32,
        /// Frequency.
        hertz: f64,
    },
    /// More watts than volts times amps.
    #[error("{watts} W is more than {volts} V times {amps} A")]
    MoreWattsThanVoltAmperes {
        /// Watts on the plate.
        watts: f64,
        /// Volts on the plate.
        volts: f64,
        /// Amperes on the plate.
        amps: f64,
    },
    /// Fewer watts than the windings alone turn into heat.
    #[error("{watts} W is less than its windings alone turn into heat at {amps} A, about {copper_watts:.1} W")]
    LessWattsThanCopperLoss {
        /// Watts on the plate.
        watts: f64,
        /// Amperes on the plate.
        amps: f64,
        /// Heat in the main winding at those amperes.
        copper_watts: f64,
    },
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
    /// An odd or zero number of poles.
    #[error("{poles} poles: a machine has an even number of poles, at least 2")]
    Poles {
        /// Poles on the plate.
        poles: u32,
    },
    /// No machine of ordinary proportions meets the plate.
    #[error("no motor of ordinary proportions has this combination of volts, amps, speed and capacitor")]
    NoFit,
}
