//! A round from bar to bar as evidence: three figures, and what a place on the ring costs.
//!
//! Whatever errs alike at all pairs (the meter's per cents, its leads, the coils' temperature) stands in the typical ohms
//! alone, which share the armature's unknown ohms with every other reading of it; the other two figures are ratios, in
//! which it falls out. A fault could sit at any of `n` places and the round has been turned to the one it points to, so a
//! suspect with a fault on the ring is as much less likely: of the sum over places, `1/n` each, the largest term is kept.
//! Without that, the most extreme of two dozen sound pairs would speak for a fault.

use crate::reading_model::{Datum, GROSS_SHARE, Gross, LARGEST_SHOWN, gross_density, sigma};
use bench::bars::figures;
use bench::{BarPair, Job, Measure, Observed, Reading, Value};

/// Spread of the coils of a sound armature: between the highest and the lowest of two dozen lie four of it, 10 to 15 %
/// (common practice, no source).
const COIL_SPREAD: f64 = 0.03;
/// Ohms by which probes on bars differ from touch to touch (engineering judgement).
const TOUCH_OHMS: f64 = 0.02;
/// Ohms that leads may add to all pairs alike (as for other ohms).
const LEAD_OHMS: f64 = 0.15;
/// Ohms above which a pair is called open: such rounds are read in the lowest range (common practice, no source).
const OPEN_OHMS: f64 = 200.0;
/// How much less sure the median of many is than their mean, for a normal distribution.
const MEDIAN_OVER_MEAN: f64 = 1.253;

/// All readings by their place in the job, with their data; a round from bar to bar becomes three, and one taken again and
/// found alike is one with the first.
pub(crate) fn taken(job: &Job) -> Vec<(usize, (Reading, Datum))> {
    let mut list = Vec::with_capacity(job.readings.len());
    for (source, reading) in job.readings.iter().enumerate() {
        match reading.measure {
            Measure::Bars(part, _) => list.extend(round(job, reading, part).into_iter().map(|one| (source, one))),
            _ => {
                let datum = Datum::new(&job.unit, reading, &job.meters[reading.meter]);
                match first_of(&mut list, reading, &datum) {
                    Some(first) => first.taken_again(),
                    None => list.push((source, (reading.clone(), datum))),
                }
            }
        }
    }
    list
}

/// The same reading taken before with the same meter, if it was alike.
fn first_of<'l>(list: &'l mut [(usize, (Reading, Datum))], reading: &Reading, datum: &Datum) -> Option<&'l mut Datum> {
    let is_first = |(_, (other, shown)): &&mut (usize, (Reading, Datum))| {
        (other.setup, other.measure, other.meter) == (reading.setup, reading.measure, reading.meter)
            && shown.is_alike(datum)
    };
    list.iter_mut().find(is_first).map(|(_, (_, first))| first)
}

fn round(job: &Job, reading: &Reading, part: usize) -> Vec<(Reading, Datum)> {
    let figures = figures(&reading.round);
    let Value::Number(typical) = figures[0] else { return Vec::new() };
    let meter = &job.meters[reading.meter];
    let count = reading.round.len() as f64;
    let counts = meter.ohms.counts * meter.ohms.count / 3f64.sqrt();
    // Of one pair, over the typical.
    let scatter = COIL_SPREAD.hypot(counts.hypot(TOUCH_OHMS) / typical);
    let middle = MEDIAN_OVER_MEAN / (count - 2.0).sqrt() * scatter;
    BarPair::ALL
        .into_iter()
        .zip(figures)
        .map(|(pair, value)| {
            let measure = Measure::Bars(part, pair);
            let spread = |shown: f64| match pair {
                BarPair::Typical => sigma(measure, meter, shown).hypot(middle * typical),
                // Leads draw a ratio toward one.
                _ => (scatter * shown.max(1.0)).hypot(middle).hypot((shown - 1.0) * LEAD_OHMS / (typical + LEAD_OHMS)),
            };
            let gross = |shown: f64| match pair {
                BarPair::Typical => gross_density(&job.unit, measure, shown),
                // A pair that stands out is probed again before it is written down: as many rounds are grossly wrong
                // somewhere as single readings are (engineering judgement).
                _ => gross_density(&job.unit, measure, shown) / count,
            };
            let datum = datum(value, spread, gross, OPEN_OHMS / typical);
            (Reading { measure, value, ..reading.clone() }, datum)
        })
        .collect()
}

fn datum(value: Value, spread: impl Fn(f64) -> f64, gross: impl Fn(f64) -> f64, limit: f64) -> Datum {
    match value {
        Value::Open => Datum::Open { limit, gross_share: GROSS_SHARE },
        Value::Number(shown) => {
            let value = shown.min(LARGEST_SHOWN);
            Datum::Shown { value, sigma: spread(value), gross: Gross::anything(gross(value)), gross_share: GROSS_SHARE }
        }
    }
}

/// Log-probability of the place that the rounds of a setup point to: nothing unless a fault has a place on the ring.
///
/// `readings` are those taken in the setup; `all` all of them, since a place that one round has paid for costs no other.
pub(crate) fn log_place(observed: &Observed<'_>, all: &[Reading], readings: &[usize]) -> f64 {
    let is_first = |&reading: &usize| {
        let measure = all[reading].measure;
        matches!(measure, Measure::Bars(_, BarPair::Odd)) && all[..reading].iter().all(|other| other.measure != measure)
    };
    let places = readings.iter().copied().filter(|reading| is_first(reading)).filter_map(|reading| {
        let Measure::Bars(part, _) = all[reading].measure else { return None };
        observed.wired().bar_ring(part).filter(|ring| ring.has_place)
    });
    -places.map(|ring| ring.bars.ln()).sum::<f64>()
}
