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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pairs::compatible;

    /// Giving up saves work; what could matter is looked at to the end all the same.
    #[test]
    fn what_could_matter_is_never_given_up() -> Result<(), Box<dyn std::error::Error>> {
        let job = bench::job::read("demo", include_str!("../../../demos/dough-proofer.toml"))?;
        let evidence = Evidence::new(&job)?;
        let (mut given_up, mut kept) = (0, 0);
        for name in ["C1 open", "C1 low", "M1 main-shorted-turns", "supply low-volts"] {
            let own = job.unit.find_fault(name).ok_or(name)?;
            let fit = evidence.fit(&FaultSet(vec![own]), None)?;
            let (host, needed) = (Host::new(&evidence, &fit), fit.log_evidence - 1.0);
            let others =
                (0..job.unit.faults().len()).filter(|&other| other != own && compatible(&evidence, own, other));
            for other in others {
                let looked_at = |needed: f64| host.beside(&FaultSet(vec![own]), other, needed);
                match (looked_at(f64::NEG_INFINITY), looked_at(needed)) {
                    (Some(Beside::Hides), Some(Beside::Hides)) | (None, None) => kept += 1,
                    (Some(Beside::Weighs(full)), Some(Beside::Weighs(early))) if full == early => kept += 1,
                    (Some(Beside::Weighs(full)), Some(Beside::Weighs(_))) => {
                        assert!(full < needed, "{name} and fault {other}: {full}, needed {needed}");
                        given_up += 1;
                    }
                    _ => panic!("{name} and fault {other} hide or not by how soon they are given up"),
                }
            }
        }
        assert!(given_up > 20 && kept > 20, "{given_up} given up, {kept} looked at to the end");
        Ok(())
    }
}
