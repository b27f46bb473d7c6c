//! Where logged temperatures are going.

pub mod equilibrium;
pub mod forecast;
pub mod limit;
pub mod verdict;
