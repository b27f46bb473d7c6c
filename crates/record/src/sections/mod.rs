//! The parts of the record, in the order in which they are read.

pub mod customer;
pub mod drawings;
pub mod evidence;
pub mod heat;
pub mod repairs;
pub mod safety;
