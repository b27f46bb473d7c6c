//! Ohms of pairs of leads under one hypothesis that was weighed, as a meter would show them.

use crate::fit::{REFERENCE_CELSIUS, sigma};
use crate::inference::{Finding, Weighed};
use circuit::SolveError;
use machine::copper::resistance_ratio;
use nalgebra::DVector;

/// What a meter would show between two leads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expected {
    /// Ohms at the temperature of the case; infinite for open.
    pub ohms: f64,
    /// Standard deviation of what is shown: of the ohms as known, and of the meter.
    pub spread: f64,
}

const OPEN: Expected = Expected { ohms: f64::INFINITY, spread: 0.0 };

/// For every pair of leads what a hypothesis expects, by its most probable fit.
///
/// # Errors
/// [`SolveError`] if its network cannot be solved.
pub fn outlook(finding: &Finding, hypothesis: &Weighed, pairs: &[(usize, usize)]) -> Result<Vec<Expected>, SolveError> {
    let Some((_, fit)) = finding.evidence[hypothesis.group].as_ref().and_then(|found| found.fits.first()) else {
        return Ok(vec![OPEN; pairs.len()]);
    };
    let mut terminal_of = vec![0; hypothesis.lead_at.len()];
    hypothesis.lead_at.iter().enumerate().for_each(|(terminal, &lead)| terminal_of[lead] = terminal);
    let terminals: Vec<(usize, usize)> = pairs.iter().map(|&(a, b)| (terminal_of[a], terminal_of[b])).collect();
    let ratio = resistance_ratio(finding.case.winding_celsius, REFERENCE_CELSIUS);
    let meter = finding.case.readings.first();
    let expected = |resistance: circuit::PairResistance| {
        if !resistance.ohms.is_finite() {
            return OPEN;
        }
        let ohms = resistance.ohms * ratio;
        let gradient = DVector::from_vec(resistance.gradient) * ratio;
        let known = gradient.dot(&(&fit.covariance * &gradient)).max(0.0).sqrt();
        Expected { ohms, spread: meter.map_or(0.0, |reading| sigma(reading, ohms)).hypot(known) }
    };
    Ok(finding.layout(hypothesis.group).between(&fit.latents, &terminals)?.into_iter().map(expected).collect())
}
