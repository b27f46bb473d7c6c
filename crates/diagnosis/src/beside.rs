//! A further fault beside those of a fit, at the values of the fit.

use crate::evidence::{Asked, Evidence, Outlook};
use crate::fit::Fit;
use crate::screen::Sway;
use crate::singles::{estimate_sized, same_looks};
use bench::FaultSet;
use bench::wiring::{severity_unknown, unknown_count};
use std::borrow::Cow;

/// A fault beside others is looked at no further when the setups looked at put it this far, in nats, below what could
/// matter, however well it met the rest.
const HOPELESS: f64 = 2.0;

/// What a further fault does beside those that were fitted.
pub(crate) enum Beside {
    /// Nothing that a reading could show, at any size.
    Hides,
    /// All of them have about this log evidence.
    Weighs(f64),
}

/// A fit, prepared for looks at further faults.
pub(crate) struct Host<'e, 'j> {
    fit: &'e Fit,
    /// The evidence, with what the fit knows of neighbours.
    evidence: Cow<'e, Evidence<'j>>,
    sway: Sway,
    moved: Vec<f64>,
    /// Setups, those that the fit meets worst first.
    setups: Vec<Asked>,
}

impl<'e, 'j> Host<'e, 'j> {
    pub(crate) fn new(evidence: &'e Evidence<'j>, fit: &'e Fit) -> Self {
        let prior = evidence.prior.with_severities(&evidence.job.unit, &fit.faults);
        let (sway, moved) = (Sway::new(&prior, &fit.outlook), fit.moved(&prior));
        let evidence = fit.knowing_neighbours(evidence);
        let missed = |&reading: &usize| {
            let datum = &evidence.data[reading];
            datum.best() - datum.log_likelihood(fit.outlook.predictions[reading].value, 0.0).value
        };
        let missed = |asked: &Asked| asked.readings.iter().map(missed).sum::<f64>();
        let mut setups: Vec<(Asked, f64)> =
            evidence.asked().iter().map(|asked| (asked.clone(), missed(asked))).collect();
        setups.sort_by(|a, b| b.1.total_cmp(&a.1));
        let setups = setups.into_iter().map(|(asked, _)| asked).collect();
        Host { fit, evidence, sway, moved, setups }
    }

    /// Looks at a further fault beside those of the fit or of their kin; `None` if they cannot be solved there.
    ///
    /// As soon as the log evidence is far below what is `needed`, even if all readings not looked at yet were met as well as
    /// can be, nothing more is solved: those count as the fit meets them without the further fault.
    pub(crate) fn beside(&self, own: &FaultSet, other: usize, needed: f64) -> Option<Beside> {
        let (fit, unit) = (self.fit, &self.evidence.job.unit);
        let mut faults = FaultSet(own.0.iter().copied().chain([other]).collect());
        faults.0.sort_unstable();
        let mut deviations = fit.deviations[..self.evidence.prior.count()].to_vec();
        deviations.resize(unknown_count(unit, &faults), 0.0);
        let mut size = None;
        for (place, fault) in faults.0.iter().enumerate() {
            let Some(target) = severity_unknown(unit, &faults, place) else { continue };
            match own.0.iter().position(|known| known == fault) {
                Some(known) => {
                    if let Some(source) = severity_unknown(unit, own, known) {
                        deviations[target] = fit.deviations[source];
                    }
                }
                None => {
                    size = unit.faults()[other].mode.severity.as_ref().map(|severity| (target, severity.log_spread));
                }
            }
        }
        let sizes: &[f64] = if size.is_some() { &[-2.0, 0.0, 2.0] } else { &[0.0] };
        let mut looks: Vec<(f64, Outlook)> = sizes.iter().map(|&at| (at, self.evidence.nothing_yet())).collect();
        for (place, asked) in self.setups.iter().enumerate() {
            for (at, look) in &mut looks {
                if let Some((unknown, log_spread)) = size {
                    deviations[unknown] = *at * log_spread;
                }
                self.evidence.look_at_values(asked, &faults, &deviations, look).ok()?;
            }
            if place + 1 < self.setups.len() && self.estimate(&looks) < needed - HOPELESS {
                for &reading in self.setups[place + 1..].iter().flat_map(|asked| &asked.readings) {
                    let value = fit.outlook.predictions[reading].value;
                    looks.iter_mut().for_each(|(_, look)| look.predictions[reading].value = value);
                }
                return Some(Beside::Weighs(self.estimate(&looks)));
            }
        }
        if looks.iter().all(|(_, look)| same_looks(&self.evidence.data, look, &fit.outlook)) {
            return Some(Beside::Hides);
        }
        Some(Beside::Weighs(self.estimate(&looks)))
    }

    /// What the fit's own evidence has gained by curves, all that is measured against it has.
    fn estimate(&self, looks: &[(f64, Outlook)]) -> f64 {
        let looks: Vec<(f64, &Outlook)> = looks.iter().map(|(at, look)| (*at, look)).collect();
        estimate_sized(&self.evidence, &looks, &self.sway, &self.moved) + self.fit.gained_by_bends
    }
}
