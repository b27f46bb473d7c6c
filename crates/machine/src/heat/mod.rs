//! Heat: how temperatures move between switchings, and when something switches.
//!
//! Knows nothing of parts: nodes with a heat capacity, conductances between them, watts, and temperatures at which a
//! [`Plant`] will switch. Degrees Celsius, watts, joules per kelvin and seconds throughout.
//!
//! ```text
//! C_i dT_i/dt = P_i + sum of G_ij (T_j - T_i)
//! ```
//!
//! Within a step the equation is affine and solved exactly, so a body of 5 J/K beside one of 2 kJ/K does not limit the
//! step; what makes it more than affine (copper that warms, fans that slow down) is corrected for at the step's end and
//! sets its length.
//!
//! # Assumes
//! Each node has one temperature. Heat and conductances follow temperatures at once (electrical and mechanical
//! transients are over within a second). A switching takes no time.

mod air;
mod crossing;
mod error;
mod network;
mod outcome;
mod path;
mod run;
mod stepper;

pub use air::{
    AIR_JOULES_PER_CUBIC_METRE_KELVIN, ALUMINIUM_JOULES_PER_KILOGRAM_KELVIN, COPPER_JOULES_PER_KILOGRAM_KELVIN,
    LAMINAR_EXPONENT, STEEL_JOULES_PER_KILOGRAM_KELVIN, STILL_AIR_WATTS_PER_SQUARE_METRE_KELVIN, SurfaceToAir,
    TURBULENT_EXPONENT, air_stream_watts_per_kelvin,
};
pub use crossing::Threshold;
pub use error::{NetworkError, RegimeError, RunError};
pub use network::{HeatLink, HeatNetwork, Regime, Side};
pub use outcome::{Crossing, Cycle, RunOutcome, Trend};
pub use run::{Plant, run};
