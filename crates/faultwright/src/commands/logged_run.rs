//! What was logged in a run of a job, as the log of a heat run, with what the unit's own thermal model expects of it.

use crate::commands::named;
use crate::exit::Failure;
use bench::heat::{Case, HeatScales, Logged, Run, record};
use bench::{Job, Measure};
use proof::heat_run::forecast::prior::ThermalPrior;
use proof::heat_run::import::bins::Bins;
use proof::heat_run::import::current::Watch;
use proof::heat_run::import::header::Quantity;
use proof::heat_run::import::{Channel, Log};

/// Temperatures over the room follow from plates to about a third; time constants to about half. Rules of thumb.
const RISE_SHARE: f64 = 0.35;
const MAIN_SPREAD: f64 = 0.5;
/// Moments at which the model is asked.
const MOMENTS: u32 = 200;

/// A log with what is expected of it.
pub struct LoggedRun {
    /// What was logged, from the last time the unit was switched on.
    pub log: Log,
    /// The room of the run.
    pub room_celsius: f64,
    /// What the model of the sound unit expects of each temperature.
    pub priors: Vec<(String, ThermalPrior)>,
}

/// The logs of a run put together.
///
/// # Errors
/// [`Failure::WrongUse`] if no temperature was logged in the run; [`Failure::Unsolvable`] if the unit is.
pub fn log(job: &Job, index: usize) -> Result<LoggedRun, Failure> {
    let run = &job.runs[index];
    let (from, to) = live_stretch(job, run);
    let mut log =
        Log { channels: vec![], oddities: vec![], rows: 0, seconds: 0.0, starts_at_seconds: 0.0, current: None };
    let mut priors = Vec::new();
    let after = job.repaired.iter().flat_map(|repaired| &repaired.logs);
    for entry in job.logs.iter().chain(after).filter(|entry| entry.run == index) {
        log.rows += entry.seconds.len() as u64;
        for logged in &entry.channels {
            let values: Vec<(f64, f64)> = entry
                .seconds
                .iter()
                .zip(&logged.values)
                .filter(|&(&seconds, _)| seconds >= from && seconds < to)
                .filter_map(|(&seconds, value)| value.map(|value| (seconds - from, value)))
                .collect();
            let (name, quantity) = match logged.logged {
                Logged::Celsius(part, body) => (job.unit.body_name(part, body), Quantity::Temperature),
                Logged::Electric(Measure::AmpsAtTerminal(_) | Measure::AmpsInWire(_)) => {
                    let watch = log.current.get_or_insert_with(Watch::default);
                    values.iter().for_each(|&(seconds, amps)| watch.look(seconds, amps, logged.line as u64));
                    continue;
                }
                Logged::Electric(_) => continue,
            };
            let mut bins = Bins::default();
            values.iter().for_each(|&(seconds, value)| bins.add(seconds, value));
            log.seconds = values.last().map_or(log.seconds, |&(seconds, _)| log.seconds.max(seconds));
            if let (Logged::Celsius(part, body), true) = (logged.logged, from == 0.0) {
                priors.extend(expected(job, run, (part, body), to)?.map(|prior| (name.clone(), prior)));
            }
            log.channels.push(Channel { name, quantity, is_room: false, bins, lost_at: None, put_on_seconds: None });
        }
    }
    if log.channels.is_empty() {
        let words =
            format!("no temperatures were logged in run '{}'; add them under [[logs]], with celsius and at", run.name);
        return Err(Failure::WrongUse(words));
    }
    Ok(LoggedRun { log, room_celsius: run.room_celsius, priors })
}

/// The last stretch of a run in which the supply was on without a change of the setup.
fn live_stretch(job: &Job, run: &Run) -> (f64, f64) {
    let last = run.steps.iter().rposition(|step| job.setups[step.setup].energised).unwrap_or_default();
    let end = run.steps.get(last + 1).map_or(f64::INFINITY, |step| step.seconds);
    (run.steps.get(last).map_or(0.0, |step| step.seconds), end)
}

/// Rise and main time constant (until 63 % of the rise) that the sound unit would have from cold.
fn expected(job: &Job, run: &Run, at: (usize, usize), to: f64) -> Result<Option<ThermalPrior>, Failure> {
    let end = run.end_seconds.min(to);
    let times: Vec<f64> = (0..=MOMENTS).map(|moment| end * f64::from(moment) / f64::from(MOMENTS)).collect();
    let scales = HeatScales::medians(&job.unit);
    let (faults, deviations) = named::faults(job, &[])?;
    let case =
        Case { unit: &job.unit, setups: &job.setups, run, faults: &faults, deviations: &deviations, scales: &scales };
    let timeline = record(case, &times, &[Logged::Celsius(at.0, at.1)], &job.meters[0])?;
    let rises: Vec<f64> = timeline.samples.iter().map(|sample| sample.look[0] - run.room_celsius).collect();
    let Some(&last) = rises.last() else { return Ok(None) };
    // A run that ends while everything still warms tells of neither.
    let before = rises[rises.len() * 9 / 10];
    if last < 5.0 || last - before > 0.03 * last {
        return Ok(None);
    }
    let reached = rises.iter().position(|&rise| rise > 0.632 * last).unwrap_or_default();
    Ok(Some(ThermalPrior {
        rise_kelvin: last,
        rise_spread_kelvin: RISE_SHARE * last,
        main_minutes: (times[reached] / 60.0).max(1.0),
        main_spread: MAIN_SPREAD,
    }))
}
