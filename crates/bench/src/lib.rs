//! The unit on the bench: parts, wires, setups, readings and faults, the network each setup makes of them, and the
//! job file that holds them.
//!
//! Knows parts and the trade's words; knows neither probability nor screens.
//!
//! - [`kinds`]: one file per kind of part, with terminals, physics, unknowns, faults and repairs.
//! - [`mod@unit`]: the validated unit; [`setup`], [`reading`], [`meter`]: how and with what it was measured.
//! - [`wiring`]: from a unit in a setup, with faults put in, to a network.
//! - [`switching`]: contacts that a unit moves by itself while it runs up.
//! - [`access`]: housings to be opened first, and what a technician refuses.
//! - [`mod@observe`]: what every reading would be there, with derivatives.
//! - [`heat`]: how parts warm, the air about them, runs and their logs.
//! - [`repaired`]: what was done to the unit, and what it showed afterwards.
//! - [`experience`]: what a shop has learnt from its closed jobs.
//! - [`recurrence`]: what may stand behind a part that fails again; [`newly_fitted`]: what a changed part brings with it.
//! - [`exclusion`]: which two faults of one part cannot be there together.
//! - [`danger`]: which faults must not be left in a unit.
//! - [`safety`]: tests after a repair as a job holds them.
//! - [`winding_class`]: the insulation class of a winding, and when it burns; [`wire_size`]: what a wire may carry.
//! - [`words`]: numbers, measures and places as people say them.
//! - [`job`]: the job file and everything that can be wrong with it.

pub mod access;
pub mod bars;
pub mod cautions;
pub mod danger;
pub mod exclusion;
pub mod experience;
pub mod fault;
mod glow;
pub mod half_wave;
pub mod heat;
pub mod job;
pub mod kinds;
pub mod meter;
pub mod newly_fitted;
pub mod observe;
mod protection;
pub mod reading;
pub mod recurrence;
pub mod repaired;
pub mod safety;
pub mod saturation;
mod search;
mod settle;
pub mod setup;
mod solution_dependent;
pub mod switching;
pub mod unit;
pub mod winding_class;
pub mod wire_size;
pub mod wiring;
pub mod words;

pub use access::{Housing, Manner, Reach, Refusal};
pub use bars::{BarPair, BarRing};
pub use experience::Experience;
pub use fault::{Fault, FaultMode, FaultSet, Place, Severity};
pub use heat::{Air, Channel, Log, Logged, Run, RunStep};
pub use job::{Job, Problem, Problems};
pub use meter::Meter;
pub use observe::{NoCapacitance, Observed, PredictError, Prediction, observe, observe_values, sees_capacitor};
pub use reading::{Measure, Reading, Symptom, Value, Word};
pub use repaired::{HotOhms, Repaired};
pub use setup::Setup;
pub use switching::{ContactId, ContactLaw, OwnContact, Thresholds};
pub use unit::{Part, Provenance, TerminalId, Unit, Unknown, Wire};
