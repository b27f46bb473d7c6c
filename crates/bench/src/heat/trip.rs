//! How soon a fuse, an overload or the breaker opens at a current that stays as it is.

use super::body::{RATED_RISE_KELVIN, SCALE_ZERO_CELSIUS};
use super::contact::contact_of;
use super::plant::times_rated;
use crate::fault::FaultSet;
use crate::meter::Meter;
use crate::observe::Observed;
use crate::unit::Unit;

/// A protector that opens in the end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trip {
    /// The part; the supply stands for the breaker ahead.
    pub part: usize,
    /// Its current over its rating.
    pub times_rated: f64,
    /// From switching on cold to its opening, seconds.
    pub seconds: f64,
}

/// What the currents of a solved setup open in the end, soonest first.
///
/// A body of one time constant `t` that would end `r` above where it begins passes `l` after `t ln(r / (r - l))`. The
/// currents of starting are left out.
pub fn trips(unit: &Unit, observed: &Observed<'_>, faults: &FaultSet, deviations: &[f64]) -> Vec<Trip> {
    let meter = Meter::handheld();
    let of_part = |part: usize| {
        let contact = contact_of(unit, faults, deviations, part).filter(|contact| !contact.warmth_closes)?;
        let body = &unit.heat_of(part).bodies[contact.body];
        let times_rated = times_rated(unit, observed, part, body.source, &meter);
        let rise = RATED_RISE_KELVIN * times_rated.powi(2);
        let limit = contact.opens_celsius - SCALE_ZERO_CELSIUS;
        let time_constant = body.joules_per_kelvin / body.still_watts_per_kelvin;
        (rise > limit && limit > 0.0).then(|| Trip {
            part,
            times_rated,
            seconds: time_constant * (rise / (rise - limit)).ln(),
        })
    };
    let mut list: Vec<Trip> = (0..unit.parts().len()).filter_map(of_part).collect();
    list.sort_by(|a, b| a.seconds.total_cmp(&b.seconds));
    list
}
