//! Wound parts: coils on a shared field, motors finding their speed, copper and nameplates; and how machines warm.
//!
//! Knows electrical machines and heat; knows neither files nor probability.
//!
//! - [`coil_group`]: any number of coils at any angle around one rotor, or on one core.
//! - [`load`]: what a rotor drives.
//! - [`assembly`]: a network with its machines, and where they settle when switched on.
//! - [`steady`]: the settled unit and its derivatives.
//! - [`commutator`]: series commutator motors: field coils on iron, an armature ring between brushes.
//! - [`commutator_plate`]: median values of a universal motor that reproduce its plate.
//! - [`conversion`]: fields and torque of any machine, as the run-up and the derivatives need them.
//! - [`heat`]: temperatures over time, and what switches at which of them.
//! - [`copper`]: resistance against temperature and wire size.
//! - [`run_down`]: how long a rotor turns on without supply.
//! - [`scheme`]: ways of starting, and the proportions of motors.
//! - [`nameplate`]: median machine values that reproduce what a nameplate says.
//! - [`three_phase`]: median values of a three-phase motor from its plate.
//! - [`transformer`]: median values of an iron-cored transformer from its rating and its windings.

pub mod assembly;
pub mod coil_group;
pub mod commutator;
pub mod commutator_plate;
pub mod conversion;
pub mod copper;
pub mod heat;
pub mod load;
pub mod nameplate;
mod nameplate_error;
pub mod run_down;
pub mod scheme;
pub mod steady;
pub mod three_phase;
pub mod transformer;

pub use assembly::{Assembly, Machine, Motion, Start};
pub use coil_group::{Coil, Core, Rotor, RotorField};
pub use commutator::{ArmaturePath, Commutator};
pub use conversion::Conversion;
pub use load::{Load, LoadLaw};
pub use run_down::RunDown;
pub use steady::Steady;
