//! The job file: its types, its reading, and everything that can be wrong with it.

mod file;
mod load;
mod names;
mod parts;
mod problem;
mod readings;
mod setups;
mod values;
mod wording;

pub use file::{JobFile, schema};
pub use load::{Job, LARGEST_FILE_BYTES, read, read_bytes};
pub use problem::{Problem, Problems, Severity};
pub use values::{Pair, Positive, Shown, ShownValue, parse_number};
