//! How a unit warms: the bodies of its parts, the air about them, and runs in which heat moves contacts.
//!
//! - [`body`]: what warms in a part, and the contacts that heat moves.
//! - [`air`]: the room, streams of air and what sits on what.
//! - [`layout`]: the bodies of a unit in its air as a network.
//! - [`mod@record`]: what would be logged in a run.
//! - [`run`]: runs as a job describes them, and logs taken in them.
//! - [`cooling`]: how long windings take to cool.
//! - [`mod@words`]: what happens in a run, as people say it.
//! - [`trip`]: how soon a current opens what protects against it.
//! - [`mod@simulate`]: a unit taken through a run; [`timeline`]: what that came to.

pub mod air;
pub mod body;
mod contact;
pub mod cooling;
pub mod layout;
mod plant;
pub mod record;
pub mod run;
pub mod simulate;
pub mod timeline;
pub mod trip;
pub mod words;

pub use air::{Air, Stream, Touch};
pub use body::{Body, HeatContact, HeatSource, PartHeat};
pub use contact::contact_of;
pub use layout::{HeatLayout, HeatScales};
pub(crate) use plant::{AIR_BLOCKED, HOT_SURROUNDINGS};
pub use record::{all_quantities, quantity_words, record};
pub use run::{AIR, Channel, Log, Logged, Run, RunStep};
pub use simulate::{Case, simulate};
pub use timeline::{End, Event, Sample, Timeline, What};
pub use trip::{Trip, trips};
