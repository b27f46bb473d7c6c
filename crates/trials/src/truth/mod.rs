//! What a unit really does, by other means than the engine's.
//!
//! The topology (parts, terminals, wires, setups) is that of the job text; everything else is made anew: every wire, joint
//! and contact is a small resistance in one dense nodal matrix, motors follow cross-field theory with saturating iron, and
//! speeds are found by walking up from rest. What is drawn at random here is not in the job text, or only as a plate says it.

pub mod dense;
mod glow;
pub mod layout;
pub mod machine;
pub mod network;
pub mod parts;
pub mod state;
pub mod world;
mod wound;

pub use machine::Saturation;
pub use state::{Shown, State};
pub use world::{Leak, Put, Surroundings, World};
