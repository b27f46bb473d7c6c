//! A probe on a neighbouring terminal, or the clamp round a neighbouring lead.
//!
//! A wrong reading of this kind shows what its neighbour should. Where neighbours are known by all readings that are right, with
//! means `m_j` and variances `v_j`, the density of the figure `x` of one that was taken at any of them alike is
//!
//! ```text
//! 1/k sum_j N(x; m_j, sigma^2 + v_j)
//! ```
//!
//! Neighbours beyond the meter's range show no figure, and do not count.

use crate::evidence::Evidence;
use crate::fit::Fit;
use crate::reading_model::normal_density;
use bench::{Measure, Meter, Prediction, TerminalId, Unit, observe};

/// Places where the same measure may have been taken by mistake: one probe on another terminal of its part, the clamp
/// round another lead of the part unless it has but two, which carry the same. Those of a cord or supply are told by their
/// colours and shapes.
pub(crate) fn neighbours(unit: &Unit, measure: Measure) -> Vec<Measure> {
    let siblings = |terminal: TerminalId| {
        let part = unit.part_of(terminal);
        let is_plain = !unit.parts()[part].kind.feeds_unit();
        unit.terminals_of(part).map(TerminalId).filter(move |&other| is_plain && other != terminal)
    };
    let either_end = |a: TerminalId, b: TerminalId, between: fn(TerminalId, TerminalId) -> Measure| {
        let first = siblings(a).filter(|&other| other != b).map(|other| between(other, b));
        first.chain(siblings(b).filter(|&other| other != a).map(|other| between(a, other))).collect()
    };
    match measure {
        Measure::Ohms(a, b) => either_end(a, b, Measure::Ohms),
        Measure::Volts(a, b) => either_end(a, b, Measure::Volts),
        Measure::AmpsAtTerminal(terminal) => {
            let others: Vec<Measure> = siblings(terminal).map(Measure::AmpsAtTerminal).collect();
            if others.len() > 1 { others } else { Vec::new() }
        }
        _ => Vec::new(),
    }
}

/// What a suspect predicts, at the values of a fit, for all neighbours of some readings that show a figure: per reading
/// those within the meter's range. Readings of a setup that cannot be solved have none.
pub(crate) fn predicted(evidence: &Evidence<'_>, fit: &Fit, readings: &[usize]) -> Vec<Vec<Prediction>> {
    let (job, taken) = (evidence.job, &evidence.taken);
    let mut found: Vec<Vec<Prediction>> = readings.iter().map(|_| Vec::new()).collect();
    let mut setups: Vec<usize> = readings.iter().map(|&reading| taken[reading].setup).collect();
    setups.sort_unstable();
    setups.dedup();
    for setup in setups {
        let answered = observe(&job.unit, &job.setups[setup], &fit.faults, &fit.deviations, |observed| {
            for (reading, found) in
                readings.iter().zip(&mut found).filter(|(reading, _)| taken[**reading].setup == setup)
            {
                let (entry, meter) = (&taken[*reading], &job.meters[taken[*reading].meter]);
                let is_shown = |prediction: &Prediction| is_in_range(prediction, entry.measure, meter);
                let asked = neighbours(&job.unit, entry.measure).into_iter();
                found.extend(asked.filter_map(|place| observed.measure(place, meter).ok()).filter(is_shown));
            }
        });
        debug_assert!(answered.is_ok(), "what a fit stands at was solved before");
    }
    found
}

fn is_in_range(prediction: &Prediction, measure: Measure, meter: &Meter) -> bool {
    prediction.value.is_finite() && prediction.value <= meter.limit(measure)
}

/// Density of a figure that was taken at any of its neighbours alike, by their means and variances; `None` if there are none.
pub(crate) fn density(value: f64, sigma: f64, neighbours: &[(f64, f64)]) -> Option<f64> {
    let densities =
        neighbours.iter().map(|&(mean, variance)| normal_density(value - mean, sigma.hypot(variance.sqrt())));
    (!neighbours.is_empty()).then(|| densities.sum::<f64>() / neighbours.len() as f64)
}

#[cfg(test)]
mod tests {
    use super::density;

    /// Whatever neighbours show, all figures that were taken at them add up to one.
    #[test]
    fn figures_of_neighbours_add_up_to_one() {
        let neighbours = [(12.0, 0.5), (40.0, 9.0), (41.0, 0.0)];
        let step = 0.01;
        let sum: f64 = (0..8000).filter_map(|place| density(step * f64::from(place), 0.8, &neighbours)).sum();
        assert!((step * sum - 1.0).abs() < 1e-9, "{}", step * sum);
        assert_eq!(density(12.0, 0.8, &[]), None);
    }
}
