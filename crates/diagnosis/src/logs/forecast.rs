//! What a suspect predicts for a log, and how that follows what is not known of its heat.

use super::record::LogRecord;
use super::trip::Trip;
use bench::heat::{Case, HeatScales, What, body::SHED_SPREAD, body::STORED_SPREAD, contact_of, record};
use bench::wiring::severity_unknown;
use bench::{FaultSet, Job, PredictError};
use nalgebra::{DMatrix, DVector};

/// What a run depends on beside the values that readings are fitted with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Free {
    /// All conductances of a part.
    Shed(usize),
    /// All heat capacities of a part.
    Stored(usize),
    /// Size of the fault at a place in the suspect's set.
    Size(usize),
}

/// A suspect with fitted values, in a run.
pub(crate) struct Forecaster<'a> {
    pub(crate) job: &'a Job,
    pub(crate) record: &'a LogRecord,
    pub(crate) faults: &'a FaultSet,
    pub(crate) deviations: Vec<f64>,
    /// Standard deviation that the readings leave in the deviation of each fault's size.
    pub(crate) size_spreads: Vec<f64>,
    pub(crate) free: Vec<Free>,
}

/// A prediction.
#[derive(Debug, Clone)]
pub(crate) struct Forecast {
    /// By point of the record.
    pub(crate) values: DVector<f64>,
    pub(crate) trip: Trip,
}

/// Parts whose heat a log of this job shows.
pub(crate) fn parts_that_matter(job: &Job, record: &LogRecord) -> Vec<usize> {
    let air = job.unit.air();
    let mut parts: Vec<usize> = Vec::new();
    for quantity in &record.quantities {
        parts.extend(quantity.warm_part());
    }
    for touch in &air.touches {
        parts.push(touch.on);
    }
    // Where heat moves a contact in an air stream, the heat of all that the stream passes counts.
    parts.extend(air.streams.iter().flat_map(|stream| stream.parts.iter().copied().chain([stream.fan])));
    parts.sort_unstable();
    parts.dedup();
    parts.retain(|&part| !job.unit.heat_of(part).bodies.is_empty());
    parts
}

impl Forecaster<'_> {
    /// Scales of heat and deviations of the unit with what is free at standard-normal values.
    pub(crate) fn values_at(&self, free: &DVector<f64>) -> (HeatScales, Vec<f64>) {
        let unit = &self.job.unit;
        let mut scales = HeatScales::medians(unit);
        let mut deviations = self.deviations.clone();
        for (&what, &value) in self.free.iter().zip(free.iter()) {
            match what {
                Free::Shed(part) => scales.shed[part] += SHED_SPREAD * value,
                Free::Stored(part) => scales.stored[part] += STORED_SPREAD * value,
                Free::Size(position) => {
                    if let Some(unknown) = severity_unknown(unit, self.faults, position) {
                        deviations[unknown] += self.size_spreads[position] * value;
                    }
                }
            }
        }
        (scales, deviations)
    }

    /// The prediction with what is free at standard-normal values `free`.
    pub(crate) fn at(&self, free: &DVector<f64>) -> Result<Forecast, PredictError> {
        let unit = &self.job.unit;
        let log = &self.job.logs[self.record.log];
        let run = &self.job.runs[log.run];
        let (scales, deviations) = self.values_at(free);
        let case =
            Case { unit, setups: &self.job.setups, run, faults: self.faults, deviations: &deviations, scales: &scales };
        let (quantities, seconds) = (&self.record.quantities, &self.record.seconds);
        let timeline = record(case, seconds, quantities, &self.job.meters[log.meter])?;
        let last = timeline.samples.last();
        let value = |point: &super::record::Point| {
            let sample = timeline.samples.get(point.time).or(last);
            sample.map_or(f64::NAN, |sample| sample.look[point.channel])
        };
        let values = DVector::from_iterator(self.record.points.len(), self.record.points.iter().map(value));
        let end_seconds = seconds.last().copied().unwrap_or(0.0);
        let is_stop = |what: What| {
            matches!(what, What::Opened(_) | What::BreakerOpened | What::BreakerTripped | What::BurntOut(..))
        };
        let opened = timeline.events.iter().find(|event| is_stop(event.what) && event.seconds <= end_seconds);
        let nearest = nearest_protector(self.job, self.faults, &deviations, &timeline, run.room_celsius);
        let (margin_kelvin, rise_kelvin) = nearest.unwrap_or((f64::INFINITY, 0.0));
        Ok(Forecast {
            values,
            trip: Trip { seconds: opened.map(|event| event.seconds), margin_kelvin, rise_kelvin, end_seconds },
        })
    }

    /// Change of each value with each free one, about a place; zero where a protector has opened.
    pub(crate) fn slopes(&self, at: &DVector<f64>, forecast: &Forecast) -> Result<DMatrix<f64>, PredictError> {
        let mut slopes = DMatrix::zeros(self.record.points.len(), self.free.len());
        for column in 0..self.free.len() {
            let mut moved = at.clone();
            moved[column] += PROBE;
            let other = self.at(&moved)?;
            let stops = [forecast.trip.seconds, other.trip.seconds];
            for (row, point) in self.record.points.iter().enumerate() {
                let is_lost = stops.iter().flatten().any(|&stop| self.record.seconds[point.time] >= stop);
                slopes[(row, column)] = if is_lost { 0.0 } else { (other.values[row] - forecast.values[row]) / PROBE };
            }
        }
        Ok(slopes)
    }
}

/// Change of a free value, in standard deviations, by which slopes are found.
const PROBE: f64 = 0.25;

/// Margin to opening and rise over the room of the protector that comes nearest to opening, at the logged times.
fn nearest_protector(
    job: &Job,
    faults: &FaultSet,
    deviations: &[f64],
    timeline: &bench::heat::Timeline<Vec<f64>>,
    room_celsius: f64,
) -> Option<(f64, f64)> {
    let unit = &job.unit;
    let works_by_heat = |part: usize| unit.own_contacts().iter().any(|placed| placed.has_heat && placed.id.0 == part);
    let of_part = |part: usize| {
        let contact = contact_of(unit, faults, deviations, part).filter(|_| !works_by_heat(part))?;
        let node = timeline.node(part, contact.body)?;
        let hottest = timeline.samples.iter().map(|sample| sample.celsius[node]).fold(f64::NEG_INFINITY, f64::max);
        hottest.is_finite().then_some((contact.opens_celsius - hottest, (hottest - room_celsius).max(0.0)))
    };
    (0..unit.parts().len()).filter_map(of_part).min_by(|a, b| a.0.total_cmp(&b.0))
}
