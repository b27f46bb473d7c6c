//! What stands behind an answer: the arrangements that make it so, what is open in them, and the ohms of their sections.

use crate::arrangement::Break;
use crate::fit::REFERENCE_CELSIUS;
use crate::inference::Finding;
use machine::copper::resistance_ratio;
use nalgebra::DVector;

/// Standard deviations to either side of the middle that hold 95 %.
const HALF_OF_95: f64 = 1.96;

/// One arrangement behind an answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Form {
    /// Index of the arrangement.
    pub arrangement: usize,
    /// What is open in it.
    pub open: Break,
    /// Leads at its terminals.
    pub lead_at: Vec<usize>,
    /// Probability of answer and arrangement together.
    pub probability: f64,
    /// Its sections.
    pub sections: Vec<SectionOhms>,
}

/// A section between two leads or nodes, with its ohms.
#[derive(Debug, Clone, PartialEq)]
pub struct SectionOhms {
    /// What it is.
    pub name: String,
    /// Lead at one end; nothing if it ends inside.
    pub from: Option<usize>,
    /// Lead at the other.
    pub to: Option<usize>,
    /// Whether it is open.
    pub open: bool,
    /// Most probable ohms at the temperature of the case.
    pub ohms: f64,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Most probable ohms at 20 degrees Celsius.
    pub ohms_20c: f64,
    /// Whether any reading says something about it; if not, the ohms are what such motors have.
    pub measured: bool,
}

/// A section is measured if the readings leave less than this standard deviation of its logarithm (engineering judgement).
const NARROWED: f64 = 0.1;

/// The arrangements behind an answer with at least this share of it, the most probable first.
pub fn forms(finding: &Finding, answer: usize, least_share: f64) -> Vec<Form> {
    let total = finding.answers[answer].probability;
    finding
        .hypotheses
        .iter()
        .filter(|hypothesis| hypothesis.answer == answer && hypothesis.probability >= least_share * total)
        .map(|hypothesis| {
            let group = &finding.groups[hypothesis.group];
            Form {
                arrangement: group.arrangement,
                open: group.open,
                lead_at: hypothesis.lead_at.clone(),
                probability: hypothesis.probability,
                sections: sections(finding, hypothesis.group, &hypothesis.lead_at),
            }
        })
        .collect()
}

fn sections(finding: &Finding, group: usize, lead_at: &[usize]) -> Vec<SectionOhms> {
    let layout = finding.layout(group);
    let Some(evidence) = &finding.evidence[group] else { return Vec::new() };
    let ratio = resistance_ratio(finding.case.winding_celsius, REFERENCE_CELSIUS);
    let lead = |node: usize| lead_at.get(node).copied();
    let fitted: f64 = evidence.fits.iter().map(|(share, _)| share).sum();
    (0..layout.arrangement.sections.len())
        .map(|index| {
            // Mean and variance of the logarithm over the fits with different readings wrong.
            let weights = DVector::from_fn(layout.arrangement.latents, |latent, _| {
                let of_latent = |&&(other, _): &&(usize, f64)| other == latent;
                layout.arrangement.sections[index].weights.iter().find(of_latent).map_or(0.0, |&(_, weight)| weight)
            });
            let (mut mean, mut square) = (0.0, 0.0);
            for (share, fit) in &evidence.fits {
                let log = layout.section(index, &fit.latents).value().ln();
                let variance = weights.dot(&(&fit.covariance * &weights));
                mean += share / fitted * log;
                square += share / fitted * (log * log + variance);
            }
            let spread = (square - mean * mean).max(0.0).sqrt();
            let section = &layout.arrangement.sections[index];
            let ohms_20c = mean.exp();
            SectionOhms {
                name: section.name.clone(),
                from: lead(section.from),
                to: lead(section.to),
                open: layout.open == Break::Section(index),
                ohms: ohms_20c * ratio,
                low: (mean - HALF_OF_95 * spread).exp() * ratio,
                high: (mean + HALF_OF_95 * spread).exp() * ratio,
                ohms_20c,
                measured: spread < NARROWED,
            }
        })
        .collect()
}
