//! The values of a log that count, and how far instruments and model may be off.

use bench::heat::{Log, Logged};
use bench::{Job, Measure};
use nalgebra::{DMatrix, DVector};

/// Most times that are used of a log; more say no more, since they are correlated.
const MOST_TIMES: usize = 24;
/// Values of one channel that are closer than this say the same, seconds (engineering judgement: nothing that is logged
/// here moves much faster, and what the model gets wrong moves no faster).
const LEAST_SECONDS: f64 = 45.0;
/// Standard deviation of a thermometer against the place it is said to be at, kelvins: the same at all times, and from
/// one time to the next (engineering judgement: a contact probe on a curved surface).
const THERMOMETER_KELVIN: f64 = 1.5;
const THERMOMETER_UNREST_KELVIN: f64 = 0.5;
/// Share of a rise over the room by which the heat model may be off (engineering judgement).
const RISE_SHARE: f64 = 0.06;
/// Share of an electrical value by which the model may be off in step with nothing else (engineering judgement).
const DRIFT_SHARE: f64 = 0.01;
/// Time over which errors of the model are alike, seconds: that of a small motor's iron (engineering judgement).
const LIKENESS_SECONDS: f64 = 1200.0;
/// How far off a prediction may be that is of no use: kelvins, and share of an electrical value (engineering judgement).
const USELESS_KELVIN: f64 = 40.0;
const USELESS_SHARE: f64 = 1.0;
/// A value below this share of the largest before it is a unit that has stopped taking power.
const STOPPED_SHARE: f64 = 0.3;

/// One value of a log.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Place of its channel among those of the log.
    pub channel: usize,
    /// Place of its time among the times used.
    pub time: usize,
    /// The value.
    pub value: f64,
}

/// A log as the inference sees it.
#[derive(Debug, Clone)]
pub struct LogRecord {
    /// Index of the log in the job.
    pub log: usize,
    /// Times used, seconds from the start of the run.
    pub seconds: Vec<f64>,
    /// What the channels hold.
    pub quantities: Vec<Logged>,
    /// Values up to the first stop that no setup explains.
    pub points: Vec<Point>,
    /// Between which times, in seconds, the unit first stopped taking power though no setup stopped it.
    pub stopped: Option<(f64, f64)>,
    /// Channel that would show a stop, if any does.
    pub stop_channel: Option<usize>,
    /// Instrument errors, by point.
    sigmas: Vec<f64>,
}

impl LogRecord {
    /// The record of a log of a job.
    pub fn new(job: &Job, log: usize) -> Self {
        let entry = &job.logs[log];
        let chosen = chosen_times(&entry.seconds);
        let seconds: Vec<f64> = chosen.iter().map(|&time| entry.seconds[time]).collect();
        let quantities: Vec<Logged> = entry.channels.iter().map(|channel| channel.logged).collect();
        let stop_channel = quantities.iter().position(|&quantity| shows_power(quantity));
        // A stop is looked for among all times, so that its moment is known as well as it was logged.
        let stopped = stop_channel.and_then(|channel| first_stop(job, entry, channel));
        let mut points = Vec::new();
        for (place, channel) in entry.channels.iter().enumerate() {
            for (time, &from) in chosen.iter().enumerate() {
                let is_before = stopped.is_none_or(|(before, _)| entry.seconds[from] <= before);
                if let (Some(value), true) = (channel.values[from], is_before) {
                    points.push(Point { channel: place, time, value });
                }
            }
        }
        let meter = &job.meters[entry.meter];
        let instrument = |point: &Point| match quantities[point.channel] {
            Logged::Celsius(..) | Logged::Air(_) => THERMOMETER_UNREST_KELVIN,
            Logged::Electric(measure) => meter.accuracy(measure).standard_uncertainty(point.value),
        };
        let sigmas = points.iter().map(instrument).collect();
        LogRecord { log, seconds, quantities, points, stopped, stop_channel, sigmas }
    }

    /// The values.
    pub fn values(&self) -> DVector<f64> {
        DVector::from_iterator(self.points.len(), self.points.iter().map(|point| point.value))
    }

    /// Covariance of values about `predicted`, both by point: instruments, model, and what the fit leaves open of the
    /// level of each channel (`level_spread`, by channel, in its unit). Points for which `is_useless` says so are
    /// predicted in vain.
    pub fn covariance(
        &self,
        room_celsius: f64,
        predicted: &DVector<f64>,
        level_spread: &[f64],
        is_useless: impl Fn(&Point) -> bool,
    ) -> DMatrix<f64> {
        let alike =
            |a: &Point, b: &Point| (-(self.seconds[a.time] - self.seconds[b.time]).abs() / LIKENESS_SECONDS).exp();
        let drift = |index: usize| match self.quantities[self.points[index].channel] {
            Logged::Celsius(..) | Logged::Air(_) => RISE_SHARE * (predicted[index] - room_celsius).abs(),
            Logged::Electric(_) => DRIFT_SHARE * predicted[index].abs(),
        };
        let useless = |index: usize| {
            let point = &self.points[index];
            match self.quantities[point.channel] {
                _ if !is_useless(point) => 0.0,
                Logged::Celsius(..) | Logged::Air(_) => USELESS_KELVIN,
                Logged::Electric(_) => USELESS_SHARE * point.value.abs().max(predicted[index].abs()),
            }
        };
        DMatrix::from_fn(self.points.len(), self.points.len(), |row, column| {
            let (a, b) = (&self.points[row], &self.points[column]);
            let own = if row == column { self.sigmas[row].powi(2) } else { 0.0 };
            if a.channel != b.channel {
                return own;
            }
            let probe = if self.quantities[a.channel].is_celsius() { THERMOMETER_KELVIN } else { 0.0 };
            let level = level_spread[a.channel].powi(2) + probe.powi(2);
            own + level + alike(a, b) * (drift(row) * drift(column) + useless(row) * useless(column))
        })
    }

    /// Whether a value is that of a unit that has stopped, beside the largest before it.
    fn has_stopped(largest: f64, value: f64) -> bool {
        value < STOPPED_SHARE * largest
    }
}

fn shows_power(quantity: Logged) -> bool {
    matches!(quantity, Logged::Electric(Measure::AmpsAtTerminal(_) | Measure::AmpsInWire(_) | Measure::Watts(_)))
}

/// At most [`MOST_TIMES`] places, evenly spread over time and no closer than [`LEAST_SECONDS`]; the first among them.
fn chosen_times(seconds: &[f64]) -> Vec<usize> {
    let (Some(first), Some(last)) = (seconds.first(), seconds.last()) else { return Vec::new() };
    let apart = ((last - first) / (MOST_TIMES - 1) as f64).max(LEAST_SECONDS);
    let mut chosen: Vec<usize> = Vec::new();
    for (place, &second) in seconds.iter().enumerate() {
        // Clocks are read to a second or so.
        if chosen.last().is_none_or(|&before| second >= seconds[before] + apart - 1.0) {
            chosen.push(place);
        }
    }
    chosen
}

/// Between which times a channel fell though the setup stayed.
fn first_stop(job: &Job, log: &Log, channel: usize) -> Option<(f64, f64)> {
    let run = &job.runs[log.run];
    let values: Vec<(f64, f64)> = log
        .seconds
        .iter()
        .zip(&log.channels[channel].values)
        .filter_map(|(&seconds, value)| value.map(|value| (seconds, value)))
        .collect();
    let mut largest = 0.0f64;
    for pair in values.windows(2) {
        let ((before, from), (after, to)) = (pair[0], pair[1]);
        if run.setup_at(before) != run.setup_at(after) {
            largest = to;
            continue;
        }
        largest = largest.max(from);
        if LogRecord::has_stopped(largest, to) {
            return Some((before, after));
        }
    }
    None
}
