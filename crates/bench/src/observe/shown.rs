//! What a meter makes of a phasor: the load that it is itself, and half-waves.

use super::Prediction;
use crate::half_wave::BetweenHalves;
use circuit::{Complex64, NetId, Probe, SolveError};
use machine::Steady;

/// Volts between two nets with `ohms` across them.
pub(super) fn volts_across(
    solution: &circuit::Solution<'_>,
    (plus, minus): (NetId, NetId),
    ohms: f64,
) -> Result<Complex64, SolveError> {
    let thevenin = solution.impedance_between(plus, minus)?;
    let open_volts = solution.potential(plus) - solution.potential(minus);
    Ok(open_volts / (Complex64::ONE + thevenin / ohms))
}

/// Reading of a voltmeter with its own admittance across the nets.
///
/// Only a net with next to nothing behind it feels the meter; its ghost voltage then collapses as on a real meter.
pub(super) fn volts(
    steady: &mut Steady<'_>,
    halves: Option<&mut BetweenHalves<'_>>,
    (plus, minus): (NetId, NetId),
    ohms: f64,
) -> Result<Prediction, SolveError> {
    let probe = Probe::voltage(plus, minus);
    let admittance = 1.0 / ohms;
    let thevenin = steady.solution().impedance_between(plus, minus)?;
    if halves.is_none() && (thevenin * admittance).norm() < 1e-6 {
        return magnitude(steady, None, probe);
    }
    // The slope of what a loaded net shows, given the weight of a change of its phasor.
    let slope = |state: &mut Steady<'_>, weight: Complex64| {
        let loaded = state.solution().loaded(plus, minus, admittance)?;
        let thevenin = state.solution().impedance_between(plus, minus)?;
        let divider = (Complex64::ONE + thevenin * admittance).inv();
        state.gradient_of_loaded(&loaded, &probe, divider * weight)
    };
    let whole = volts_across(steady.solution(), (plus, minus), ohms)?;
    let Some(halves) = halves else {
        let gradient = slope(steady, Probe::magnitude_weights(whole))?;
        return Ok(Prediction { value: whole.norm(), gradient });
    };
    let reading = halves.reading(whole, volts_across(halves.blocking.solution(), (plus, minus), ohms)?);
    halves.blocking.follow_speeds_of(steady)?;
    let (by_whole, by_blocking) = (slope(steady, reading.by_whole)?, slope(&mut halves.blocking, reading.by_blocking)?);
    Ok(halves.prediction(&reading, by_whole, &by_blocking))
}

pub(super) fn magnitude(
    steady: &mut Steady<'_>,
    halves: Option<&mut BetweenHalves<'_>>,
    probe: Probe,
) -> Result<Prediction, SolveError> {
    let whole = probe.value(steady.solution());
    let Some(halves) = halves else {
        let gradient = steady.gradient(&probe.scaled(Probe::magnitude_weights(whole)))?;
        return Ok(Prediction { value: whole.norm(), gradient });
    };
    let reading = halves.reading(whole, probe.value(halves.blocking.solution()));
    halves.blocking.follow_speeds_of(steady)?;
    let by_whole = steady.gradient(&probe.clone().scaled(reading.by_whole))?;
    let by_blocking = halves.blocking.gradient(&probe.scaled(reading.by_blocking))?;
    Ok(halves.prediction(&reading, by_whole, &by_blocking))
}
