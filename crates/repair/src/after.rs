//! Readings taken after a repair against those predicted for the repaired unit.

use crate::RepairError;
use crate::renewed::{perhaps_renewed, renewed};
use bench::{FaultSet, Prediction, Reading, observe};
use diagnosis::prior::Prior;
use diagnosis::reading_model::{Datum, sigma};
use diagnosis::{Diagnosis, Suspect};

/// A reading further than this from what the repaired unit should show does not agree, standard deviations.
const AGREES: f64 = 3.0;
/// A reading that the fault would have moved by less than this says nothing of the repair, standard deviations.
const TELLS: f64 = 3.0;

/// A reading after the repair.
#[derive(Debug, Clone, PartialEq)]
pub struct AfterReading {
    /// The reading.
    pub reading: Reading,
    /// What the repaired unit should show; infinite for open.
    pub predicted: f64,
    /// Standard deviation between that and a right reading.
    pub spread: f64,
    /// What it would show with the fault still in; infinite for open.
    pub with_fault: f64,
    /// Whether it agrees with the repaired unit.
    pub agrees: bool,
    /// Whether it would have been another one with the fault still in, so that it proves anything.
    pub tells: bool,
}

/// Every reading after the repair of a job, against the unit without the faults of a suspect.
///
/// Values that the readings before have told stay as they were fitted, but for parts that the repair replaces, as in
/// [`crate::options()`]: these are known by their plates only. The other parts that it is about may be new too, so they may
/// be as far off as new ones.
///
/// # Errors
/// [`RepairError`] if the repaired unit cannot be solved.
pub fn after(found: &Diagnosis<'_>, suspect: &Suspect) -> Result<Vec<AfterReading>, RepairError> {
    let job = found.evidence.job;
    let unit = &job.unit;
    let Some(repaired) = &job.repaired else { return Ok(Vec::new()) };
    let (Some(faults), Some(fit)) = (&suspect.faults, &suspect.fit) else { return Ok(Vec::new()) };
    let prior = &found.evidence.prior;
    let (new, perhaps_new) = (renewed(unit, faults), perhaps_renewed(unit, faults));
    let is_new = |unknown: usize| perhaps_new.contains(&unknown);
    let mut sound: Vec<f64> = fit.deviations[..prior.count()].to_vec();
    new.into_iter().for_each(|unknown| sound[unknown] = 0.0);
    let deviations = suspect.deviations(unit);
    let mut list = Vec::new();
    for reading in &repaired.readings {
        let meter = &job.meters[reading.meter];
        let setup = &job.setups[reading.setup];
        let predicted: Prediction =
            observe(unit, setup, &FaultSet::none(), &sound, |observed| observed.measure(reading.measure, meter))??;
        let with_fault =
            observe(unit, setup, faults, &deviations, |observed| observed.measure(reading.measure, meter))??.value;
        let left = left_over(prior, &fit.narrowing, &predicted.gradient, &is_new);
        let datum = Datum::new(unit, reading, meter);
        let (spread, agrees, tells) = match datum {
            Datum::Open { limit, .. } => {
                (0.0, predicted.value > limit, (with_fault > limit) != (predicted.value > limit))
            }
            Datum::Shown { value, .. } => {
                let reach = if predicted.value.is_finite() { predicted.value } else { value };
                let spread = sigma(reading.measure, meter, reach.max(value)).hypot(left);
                let agrees = predicted.value.is_finite() && (value - predicted.value).abs() <= AGREES * spread;
                let tells = !with_fault.is_finite() || (with_fault - predicted.value).abs() > TELLS * spread;
                (spread, agrees, tells)
            }
        };
        let reading = reading.clone();
        list.push(AfterReading { reading, predicted: predicted.value, spread, with_fault, agrees, tells });
    }
    Ok(list)
}

/// Standard deviation of a prediction: what readings before have left of it, and all of the spread of new parts.
fn left_over(
    prior: &Prior,
    narrowing: &diagnosis::narrowing::Narrowing,
    gradient: &[f64],
    is_new: &impl Fn(usize) -> bool,
) -> f64 {
    if gradient.is_empty() {
        return 0.0;
    }
    let part = |new: bool| -> Vec<f64> {
        gradient.iter().enumerate().map(|(unknown, &slope)| if is_new(unknown) == new { slope } else { 0.0 }).collect()
    };
    let mut known = prior.whiten(&part(false));
    // The fit may know sizes of faults beside the unit's own values; they are none of the repaired unit's.
    known = known.resize_vertically(narrowing.count(), 0.0);
    let fresh = prior.whiten(&part(true));
    (narrowing.variance(&known) + fresh.norm_squared()).sqrt()
}
