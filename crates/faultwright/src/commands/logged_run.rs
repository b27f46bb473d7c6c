//! What was logged in a run of a job, as the log of a heat run, with what the unit's own thermal model expects of it.

use crate::exit::Failure;
use ::record::WindingByOhms;
use ::record::expected::expected;
use ::record::heat_runs::{heat_runs, limit_of};
use ::record::logged_run::live_setup;
use bench::Job;
use bench::heat::Logged;
use proof::heat_run::forecast::prior::ThermalPrior;
use proof::heat_run::import::Log;
use proof::heat_run::limit::Limit;

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
    let log = ::record::logged_run::logged(job, index, of_run());
    let by_ohms: Vec<WindingByOhms> =
        heat_runs(job).into_iter().filter(|known| known.name == run.name).flat_map(|known| known.by_ohms).collect();
    if log.channels.iter().all(|channel| channel.is_room) && by_ohms.is_empty() {
        let words =
            format!("no temperatures were logged in run '{}'; add them under [[logs]], with celsius and at", run.name);
        return Err(Failure::WrongUse(words));
    }
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
    let logged: Vec<Logged> = of_run().flat_map(|entry| &entry.channels).map(|channel| channel.logged).collect();
    let priors = expected(job, run, &logged)?;
    let is_off = live_setup(job, run).is_none();
    Ok(LoggedRun { log, room_celsius: run.room_celsius, priors, limits, by_ohms, is_off })
}
