//! Where logged temperatures are going.

pub mod equilibrium;
pub mod finding;
pub mod forecast;
pub mod import;
pub mod least_squares;
pub mod limit;
pub mod quick;
pub mod resistance;
pub mod verdict;
pub mod words;
