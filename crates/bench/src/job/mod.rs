//! The job file: its types, its reading, and everything that can be wrong with it.

mod access;
mod bar_rounds;
pub mod edit;
mod entries;
mod file;
mod heat;
mod hot_ohms;
mod live_setups;
mod load;
mod logs;
mod names;
mod parts;
mod problem;
mod protectors;
mod readings;
mod repaired;
mod runs;
mod safety;
mod setups;
mod starters;
mod values;
mod wording;

pub use access::REFUSABLE;
pub use entries::{nothing_in, text_of};
pub use file::{AccuracyEntry, JobFile, schema};
pub use load::{Job, LARGEST_FILE_BYTES, read, read_bytes};
pub use names::mend as name_mend;
pub use names::near_words as nearest;
pub use problem::{Collector, Problem, Problems, Severity};
pub use safety::parse_safety_value;
pub use starters::{Starter, starters};
pub use values::{Pair, Positive, Shown, ShownValue, parse_number};
