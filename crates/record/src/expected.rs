//! What the thermal model of a unit expects of a run, ahead of any log.

use crate::logged_run::live_stretch;
use bench::heat::{Case, HeatScales, Logged, Run, record};
use bench::wiring::unknown_count;
use bench::{FaultSet, Job, PredictError};
use proof::heat_run::forecast::prior::ThermalPrior;

/// Temperatures over the room follow from plates to about a third; time constants to about half. Rules of thumb.
const RISE_SHARE: f64 = 0.35;
const MAIN_SPREAD: f64 = 0.5;
/// Moments at which the model is asked.
const MOMENTS: u32 = 200;
/// A rise of fewer kelvins tells nothing.
const LEAST_RISE_KELVIN: f64 = 5.0;
/// A run whose last tenth brings a larger share of the rise has no end in sight.
const STILL_RISING_SHARE: f64 = 0.03;

/// Rise and main time constant (until 63 % of the rise) that the sound unit would have from cold, for each temperature by name.
/// Nothing of a run that is not live from its beginning, or that ends while everything still warms.
///
/// # Errors
/// [`PredictError`] if the unit cannot be solved.
pub fn expected(job: &Job, run: &Run, temperatures: &[Logged]) -> Result<Vec<(String, ThermalPrior)>, PredictError> {
    let live = live_stretch(job, run);
    let named = temperatures.iter().filter_map(|&at| Some((at, at.celsius_place(&job.unit)?)));
    let (at, names): (Vec<Logged>, Vec<String>) = named.unzip();
    if live.start > 0.0 || at.is_empty() {
        return Ok(Vec::new());
    }
    let end = run.end_seconds.min(live.end);
    let times: Vec<f64> = (0..=MOMENTS).map(|moment| end * f64::from(moment) / f64::from(MOMENTS)).collect();
    let scales = HeatScales::medians(&job.unit);
    let faults = FaultSet::none();
    let deviations = vec![0.0; unknown_count(&job.unit, &faults)];
    let case =
        Case { unit: &job.unit, setups: &job.setups, run, faults: &faults, deviations: &deviations, scales: &scales };
    let timeline = record(case, &times, &at, &job.meters[0])?;
    let prior = |place: usize| {
        let rises: Vec<f64> = timeline.samples.iter().map(|sample| sample.look[place] - run.room_celsius).collect();
        let &last = rises.last()?;
        let before = rises[rises.len() * 9 / 10];
        if last < LEAST_RISE_KELVIN || last - before > STILL_RISING_SHARE * last {
            return None;
        }
        let reached = rises.iter().position(|&rise| rise > 0.632 * last).unwrap_or_default();
        Some(ThermalPrior {
            rise_kelvin: last,
            rise_spread_kelvin: RISE_SHARE * last,
            main_minutes: (times[reached] / 60.0).max(1.0),
            main_spread: MAIN_SPREAD,
        })
    };
    Ok(names.into_iter().enumerate().filter_map(|(place, name)| Some((name, prior(place)?))).collect())
}
