//! Logs as evidence for every suspect.

use super::channel::{ChannelFinding, channel_findings};
use super::forecast::{Forecast, Forecaster, Free, parts_that_matter};
use super::linear::{self, Judged};
use super::record::LogRecord;
use crate::evidence::Evidence;
use crate::fit::Fit;
use crate::log_weights::LogSum;
use bench::heat::{HeatScales, Logged};
use bench::{FaultSet, PredictError, observe};
use nalgebra::{DMatrix, DVector};

/// Share of logs that are of another run than they say, or otherwise wrong as a whole (common practice, no source).
const WRONG_SHARE: f64 = 0.02;
/// Steps by which the best values of what is free are sought; the run is close to a straight line in them.
const STEPS: usize = 4;
/// Longest step, in standard deviations.
const LONGEST_STEP: f64 = 1.5;
/// Sizes of a fault at which it is glanced at, in standard deviations from the fitted one.
const GLANCES: [f64; 3] = [0.0, -1.2, 1.2];

/// What a log says of one suspect.
#[derive(Debug, Clone, PartialEq)]
pub struct LogFinding {
    /// Index of the log in the job.
    pub log: usize,
    /// Log-probability of the log under the suspect, nats.
    pub log_evidence: f64,
    /// For each channel how it agrees; `None` without values.
    pub channels: Vec<Option<ChannelFinding>>,
    /// When a protector should first stop the unit, seconds.
    pub predicted_stop: Option<f64>,
    /// Between which times it stopped, seconds.
    pub logged_stop: Option<(f64, f64)>,
    /// By how much the log moves the deviation of the size of each fault of the suspect.
    pub size_shifts: Vec<f64>,
    /// What is not known of the unit's heat, at its most probable.
    pub scales: HeatScales,
}

/// What all logs of a job say of one suspect.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LogVerdict {
    /// By log.
    pub findings: Vec<LogFinding>,
}

impl LogVerdict {
    /// By how much the logs move the deviation of the size of the fault at a place of the suspect's set.
    pub fn size_shift(&self, position: usize) -> f64 {
        // Several logs mostly say the same; the last one stands for all.
        self.findings.last().and_then(|finding| finding.size_shifts.get(position)).copied().unwrap_or(0.0)
    }

    /// What is not known of the unit's heat, at its most probable by the last log.
    pub fn scales(&self) -> Option<&HeatScales> {
        self.findings.last().map(|finding| &finding.scales)
    }

    /// Sum over all logs, nats.
    pub fn log_evidence(&self) -> f64 {
        self.findings.iter().map(|finding| finding.log_evidence).sum()
    }
}

/// The logs of a job, prepared.
pub(crate) struct LogEvidence<'a, 'j> {
    evidence: &'a Evidence<'j>,
    logs: Vec<Prepared>,
}

struct Prepared {
    record: LogRecord,
    /// What the sound unit would log.
    sound: DVector<f64>,
    /// How that follows what is not known of its heat: the slopes that suspects are glanced at with.
    slopes: DMatrix<f64>,
    /// Spread of the level of each channel in the sound unit.
    levels: Vec<f64>,
}

impl<'a, 'j> LogEvidence<'a, 'j> {
    /// Prepares the logs; `sound` is the fit of the sound unit.
    pub(crate) fn new(evidence: &'a Evidence<'j>, sound: &Fit) -> Result<Self, PredictError> {
        let mut prepared = LogEvidence { evidence, logs: Vec::new() };
        for log in 0..evidence.job.logs.len() {
            let record = LogRecord::new(evidence.job, log);
            let forecaster = prepared.forecaster(&record, &sound.faults, Some(sound));
            let at = DVector::zeros(forecaster.free.len());
            let forecast = forecaster.at(&at)?;
            let slopes = forecaster.slopes(&at, &forecast)?;
            let levels = prepared.level_spreads(&record, &sound.faults, Some(sound), &forecaster.deviations)?;
            prepared.logs.push(Prepared { sound: forecast.values, slopes, levels, record });
        }
        Ok(prepared)
    }

    /// What is to be said of logs that nothing explains, nats.
    pub(crate) fn log_unexplained(&self) -> f64 {
        self.logs.iter().map(|log| self.unexplained(log)).sum()
    }

    /// About what the logs say of a suspect, from a run or three of it.
    pub(crate) fn glance(&self, faults: &FaultSet, fit: Option<&Fit>) -> f64 {
        self.logs.iter().map(|log| self.mixed(log, self.glance_at(log, faults, fit).unwrap_or(f64::NEG_INFINITY))).sum()
    }

    /// What the logs say of a suspect at its fitted values, or at its medians without a fit.
    pub(crate) fn verdict(&self, faults: &FaultSet, fit: Option<&Fit>) -> LogVerdict {
        LogVerdict { findings: self.logs.iter().map(|log| self.finding(log, faults, fit)).collect() }
    }

    fn unexplained(&self, log: &Prepared) -> f64 {
        let record = &log.record;
        let levels = vec![0.0; record.quantities.len()];
        let covariance = record.covariance(self.room(record), &log.sound, &levels, |_| true);
        let times = self.evidence.job.logs[record.log].seconds.len().max(1) as f64;
        linear::log_normal(&(record.values() - &log.sound), covariance) - (times + 1.0).ln()
    }

    /// Evidence with the chance that the log as a whole is wrong.
    fn mixed(&self, log: &Prepared, log_evidence: f64) -> f64 {
        let mut mixture = LogSum::default();
        mixture.add((1.0 - WRONG_SHARE).ln() + log_evidence);
        mixture.add(WRONG_SHARE.ln() + self.unexplained(log));
        mixture.log()
    }

    fn room(&self, record: &LogRecord) -> f64 {
        let job = self.evidence.job;
        job.runs[job.logs[record.log].run].room_celsius
    }

    fn forecaster<'r>(&'r self, record: &'r LogRecord, faults: &'r FaultSet, fit: Option<&Fit>) -> Forecaster<'r> {
        let job = self.evidence.job;
        let medians = || vec![0.0; bench::wiring::unknown_count(&job.unit, faults)];
        let deviations = fit.map_or_else(medians, |fit| fit.deviations.to_vec());
        let size_spreads = self.size_spreads(faults, fit);
        let parts = parts_that_matter(job, record).into_iter();
        let mut free: Vec<Free> = parts.flat_map(|part| [Free::Shed(part), Free::Stored(part)]).collect();
        free.extend((0..size_spreads.len()).filter(|&place| size_spreads[place] > 0.0).map(Free::Size));
        Forecaster { job, record, faults, deviations, size_spreads, free }
    }

    fn glance_at(&self, log: &Prepared, faults: &FaultSet, fit: Option<&Fit>) -> Result<f64, PredictError> {
        let forecaster = self.forecaster(&log.record, faults, fit);
        let shared = log.slopes.ncols();
        let count = forecaster.free.len();
        let looks = if count > shared { &GLANCES[..] } else { &GLANCES[..1] };
        let zeros = DVector::zeros(shared);
        let mut best = f64::NEG_INFINITY;
        for &size in looks {
            let at = DVector::from_fn(count, |place, _| if place < shared { 0.0 } else { size });
            let forecast = forecaster.at(&at)?;
            let judged =
                linear::judge(&log.record, self.room(&log.record), &zeros, &forecast, &log.slopes, &log.levels);
            best = best.max(judged.log_evidence - 0.5 * size * size);
        }
        Ok(best)
    }

    fn finding(&self, log: &Prepared, faults: &FaultSet, fit: Option<&Fit>) -> LogFinding {
        let record = &log.record;
        let nothing = LogFinding {
            log: record.log,
            log_evidence: self.mixed(log, f64::NEG_INFINITY),
            channels: vec![None; record.quantities.len()],
            predicted_stop: None,
            logged_stop: record.stopped,
            size_shifts: vec![0.0; faults.0.len()],
            scales: HeatScales::medians(&self.evidence.job.unit),
        };
        let Ok(Best { forecast, noise, log_evidence, size_shifts, scales }) = self.best(log, faults, fit) else {
            return nothing;
        };
        LogFinding {
            log_evidence: self.mixed(log, log_evidence),
            channels: channel_findings(record, &forecast, &noise),
            predicted_stop: forecast.trip.seconds,
            size_shifts,
            scales,
            ..nothing
        }
    }

    /// The best forecast over what is free, and the log's evidence with all of it integrated out.
    fn best(&self, log: &Prepared, faults: &FaultSet, fit: Option<&Fit>) -> Result<Best, PredictError> {
        let record = &log.record;
        let forecaster = self.forecaster(record, faults, fit);
        let levels = self.level_spreads(record, faults, fit, &forecaster.deviations)?;
        let judge = |at: &DVector<f64>, forecast: &Forecast, slopes: &DMatrix<f64>| {
            linear::judge(record, self.room(record), at, forecast, slopes, &levels)
        };
        let mut at = DVector::zeros(forecaster.free.len());
        let mut forecast = forecaster.at(&at)?;
        let mut judged = judge(&at, &forecast, &forecaster.slopes(&at, &forecast)?);
        for _ in 0..STEPS {
            let Judged { step: Some(step), .. } = &judged else { break };
            let next = &at + step * (LONGEST_STEP / step.amax().max(LONGEST_STEP));
            let tried = forecaster.at(&next)?;
            let other = judge(&next, &tried, &forecaster.slopes(&next, &tried)?);
            if other.height <= judged.height + WORTH_A_STEP {
                break;
            }
            (at, forecast, judged) = (next, tried, other);
        }
        let mut size_shifts = vec![0.0; faults.0.len()];
        for (&what, &value) in forecaster.free.iter().zip(at.iter()) {
            if let Free::Size(position) = what {
                size_shifts[position] = forecaster.size_spreads[position] * value;
            }
        }
        let (scales, _) = forecaster.values_at(&at);
        let noise = record.covariance(self.room(record), &forecast.values, &levels, |_| false);
        Ok(Best { forecast, noise, log_evidence: judged.log_evidence, size_shifts, scales })
    }

    /// Standard deviation that the readings leave in the deviation of each fault's size; zero without a size.
    fn size_spreads(&self, faults: &FaultSet, fit: Option<&Fit>) -> Vec<f64> {
        let unit = &self.evidence.job.unit;
        let own = self.evidence.prior.count();
        let mut sized = 0;
        faults
            .0
            .iter()
            .map(|&fault| match &unit.faults()[fault].mode.severity {
                None => 0.0,
                Some(severity) => {
                    let place = own + sized;
                    sized += 1;
                    let left = fit.filter(|fit| fit.faults.0.len() == faults.0.len() && place < fit.narrowing.count());
                    severity.log_spread * left.map_or(1.0, |fit| fit.narrowing.variance_of(place).sqrt().min(1.0))
                }
            })
            .collect()
    }

    /// Spread that the values of the unit leave in the level of each electrical channel, in its unit.
    fn level_spreads(
        &self,
        record: &LogRecord,
        faults: &FaultSet,
        fit: Option<&Fit>,
        deviations: &[f64],
    ) -> Result<Vec<f64>, PredictError> {
        let job = self.evidence.job;
        let log = &job.logs[record.log];
        let prior = self.evidence.prior.with_severities(&job.unit, faults);
        let setup = &job.setups[job.runs[log.run].steps[0].setup];
        observe(&job.unit, setup, faults, deviations, |observed| {
            record
                .quantities
                .iter()
                .map(|quantity| match *quantity {
                    Logged::Celsius(..) | Logged::Air(_) => 0.0,
                    Logged::Electric(measure) => {
                        let Ok(prediction) = observed.measure(measure, &job.meters[log.meter]) else { return 0.0 };
                        let spread = match fit {
                            Some(fit) => fit.spread(&prior, &prediction.gradient),
                            None => prior.whiten(&prediction.gradient).norm(),
                        };
                        spread.hypot(LEVEL_SHARE * prediction.value)
                    }
                })
                .collect()
        })
    }
}

/// A step that gains less than this, nats, is not taken.
const WORTH_A_STEP: f64 = 0.05;
/// Share of an electrical value by which the model may be off alike at all times (engineering judgement, as for
/// readings).
const LEVEL_SHARE: f64 = 0.05;

struct Best {
    forecast: Forecast,
    /// Covariance of logged values about it.
    noise: DMatrix<f64>,
    log_evidence: f64,
    size_shifts: Vec<f64>,
    scales: HeatScales,
}
