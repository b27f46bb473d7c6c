//! Where logged temperatures are going.

pub mod equilibrium;
pub mod finding;
pub mod forecast;
pub mod import;
pub mod limit;
pub mod verdict;
