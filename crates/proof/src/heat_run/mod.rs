//! Where logged temperatures are going.

pub mod cooling;
pub mod cycling;
pub mod equilibrium;
pub mod finding;
pub mod forecast;
pub mod import;
pub mod least_squares;
pub mod limit;
pub mod quick;
pub mod resistance;
pub mod stops;
pub mod verdict;
pub mod words;
