//! What was logged in a run of a job, as the log of a heat run, with what the unit's own thermal model expects of it.

use crate::commands::named;
use crate::exit::Failure;
use ::record::WindingByOhms;
use ::record::heat_runs::{heat_runs, limit_of};
use ::record::logged_run::{live_setup, live_stretch, logged};
use bench::Job;
use bench::heat::{Case, HeatScales, Logged, Run, record};
use proof::heat_run::forecast::prior::ThermalPrior;
use proof::heat_run::import::Log;
use proof::heat_run::limit::Limit;

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
    /// What windings and cores are held to by the class on their plates or of the job, as the record does it.
    pub limits: Vec<(String, Limit)>,
    /// Windings by their ohms after it.
    pub by_ohms: Vec<WindingByOhms>,
    /// Whether the supply is never on in it.
    pub is_off: bool,
}

/// The logs of a run put together.
///
/// # Errors
/// [`Failure::WrongUse`] if no temperature was logged in the run; [`Failure::Unsolvable`] if the unit is.
pub fn log(job: &Job, index: usize) -> Result<LoggedRun, Failure> {
    let run = &job.runs[index];
    let after = job.repaired.iter().flat_map(|repaired| &repaired.logs);
    let of_run = || job.logs.iter().chain(after.clone()).filter(|entry| entry.run == index);
    let log = logged(job, index, of_run());
    let by_ohms: Vec<WindingByOhms> =
        heat_runs(job).into_iter().filter(|known| known.name == run.name).flat_map(|known| known.by_ohms).collect();
    if log.channels.iter().all(|channel| channel.is_room) && by_ohms.is_empty() {
        let words =
            format!("no temperatures were logged in run '{}'; add them under [[logs]], with celsius and at", run.name);
        return Err(Failure::WrongUse(words));
    }
    let live = live_stretch(job, run);
    let room = log.channels.iter().find(|channel| channel.is_room);
    let room = room.and_then(|room| room.bins.means().last()).map_or(run.room_celsius, |(_, celsius)| celsius);
    let mut limits: Vec<(String, Limit)> = Vec::new();
    for channel in of_run().flat_map(|entry| &entry.channels) {
        let Logged::Celsius(part, body) = channel.logged else { continue };
        let name = job.unit.body_name(part, body);
        if !limits.iter().any(|(known, _)| *known == name) {
            let limit = limit_of(&job.unit, part, body, job.unit.winding_class(part), room);
            limits.extend(limit.map(|(limit, _)| (name, limit)));
        }
    }
    let mut priors = Vec::new();
    for channel in of_run().flat_map(|entry| &entry.channels).filter(|_| live.start == 0.0) {
        let Some(name) = channel.logged.celsius_place(&job.unit) else { continue };
        priors.extend(expected(job, run, channel.logged, live.end)?.map(|prior| (name, prior)));
    }
    let is_off = live_setup(job, run).is_none();
    Ok(LoggedRun { log, room_celsius: run.room_celsius, priors, limits, by_ohms, is_off })
}

/// Rise and main time constant (until 63 % of the rise) that the sound unit would have from cold.
fn expected(job: &Job, run: &Run, at: Logged, to: f64) -> Result<Option<ThermalPrior>, Failure> {
    let end = run.end_seconds.min(to);
    let times: Vec<f64> = (0..=MOMENTS).map(|moment| end * f64::from(moment) / f64::from(MOMENTS)).collect();
    let scales = HeatScales::medians(&job.unit);
    let (faults, deviations) = named::faults(job, &[])?;
    let case =
        Case { unit: &job.unit, setups: &job.setups, run, faults: &faults, deviations: &deviations, scales: &scales };
    let timeline = record(case, &times, &[at], &job.meters[0])?;
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
