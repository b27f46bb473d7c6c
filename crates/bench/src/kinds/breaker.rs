//! The breaker ahead of the unit: a strip that too much current bends in time; what opens it at once is in `observe`.
//!
//! # Assumes
//! One time of warming stands for all makes. A fuse in the breaker's place is taken for one.

use super::contact;
use crate::heat::body::celsius_at;
use crate::heat::{HeatContact, PartHeat};

/// Least current that opens it in the end, over its rating: between the 1.13 times that it must bear for an hour and the
/// 1.45 times at which it must have opened by then (IEC 60898-1, from memory).
const LEAST_TRIPPING: f64 = 1.28;
/// Time in which its strip warms, seconds: it opens in about half a minute at 2.55 times, where 1 to 60 s are asked for (IEC
/// 60898-1, up to 32 A, from memory), and in a few minutes at 1.45 times.
const WARMING_SECONDS: f64 = 120.0;

/// Its strips.
pub(super) fn heat(rated_amps: f64) -> PartHeat {
    PartHeat::breaker(rated_amps, WARMING_SECONDS)
}

/// When it opens; somebody has to close it again.
pub(super) fn heat_contact() -> Option<HeatContact> {
    contact::by_heat(Some(celsius_at(LEAST_TRIPPING)), None, None)
}
