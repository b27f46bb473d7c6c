//! The most probable values under one suspect, and the suspect's evidence.
//!
//! With standard-normal `z` the log posterior is `sum l_i(m_i(z)) - z^2 / 2`. It is maximised by Gauss-Newton steps
//! with exact derivatives; at the top, Laplace's approximation gives the evidence
//!
//! ```text
//! ln p(readings | suspect) = sum l_i - z^2 / 2 - 1/2 ln det(I + sum w_i j_i j_i^T)
//! ```
//!
//! Source: MacKay, Information Theory, Inference and Learning Algorithms (2003), ch. 27; the weights `w_i` are those of
//! iteratively reweighted least squares for the gross-error mixture.

use crate::DiagnosisError;
use crate::bar_rounds::{log_place, taken};
use crate::prior::Prior;
use crate::reading_model::{Datum, LogLikelihood};
use crate::symptom_model::{self, SoundState, Traits};
use crate::watch::Watch;
use crate::worked::Worked;
use bench::wiring::unknown_count;
use bench::{FaultSet, Job, Observed, PredictError, Prediction, Reading, observe, observe_values};
use nalgebra::{Cholesky, DMatrix, DVector};
use std::sync::Arc;

/// Steps after which a fit stops where it is.
const STEP_LIMIT: usize = 16;
/// Shares of its own predictive spread by which a reading is widened in the first steps.
const PATIENCE: [f64; 4] = [1.0, 0.5, 0.25, 0.1];
/// A fit has arrived when a step gains less than this, nats.
const ARRIVED: f64 = 1e-3;

/// A job prepared for fitting: readings as data, setups with what is to be asked in each.
pub struct Evidence<'j> {
    /// The job.
    pub job: &'j Job,
    /// Readings as they are weighed: those of the job in its order, but a round from bar to bar as three.
    pub taken: Vec<Reading>,
    /// Of each of them, which reading of the job it comes from.
    pub sources: Vec<usize>,
    /// The same as data.
    pub data: Vec<Datum>,
    /// Prior of the unit's own unknowns.
    pub prior: Prior,
    /// Who waits for what is made of it.
    pub watch: Watch,
    /// Per setup with anything in it: readings and symptoms.
    setups: Vec<Asked>,
    /// What the sound unit does, per symptom.
    sound: Vec<SoundState>,
    /// What it does in use.
    pub(crate) worked: Worked,
}

/// A setup in which something was read or noticed.
pub(crate) struct Asked {
    setup: usize,
    /// Readings taken in it.
    pub(crate) readings: Vec<usize>,
    /// Symptoms noticed in it.
    pub(crate) symptoms: Vec<usize>,
}

/// What a suspect predicts at given deviations.
#[derive(Debug, Clone)]
pub struct Outlook {
    /// Per reading; without derivatives if they were not asked for.
    pub predictions: Vec<Prediction>,
    /// Sum of the log-probabilities of the symptoms, and of the place of a fault on a ring.
    pub symptoms: f64,
}

/// The top of a suspect's posterior.
#[derive(Debug, Clone)]
pub struct Fit {
    /// The suspect's faults.
    pub faults: FaultSet,
    /// Standard-normal values at the top.
    pub z: DVector<f64>,
    /// Deviations at the top.
    pub deviations: Vec<f64>,
    /// Predictions at the top.
    pub outlook: Outlook,
    /// Log evidence.
    pub log_evidence: f64,
    /// Inverse of the Gauss-Newton matrix at the top: covariance of `z`. By far the largest part of a fit, and shared by
    /// all hypotheses that share the fit.
    pub covariance: Arc<DMatrix<f64>>,
    /// Steps taken.
    pub steps: usize,
    /// Whether the fit arrived before the step limit.
    pub arrived: bool,
    /// Per reading, the probability that it is grossly wrong.
    pub doubt: Vec<f64>,
    /// Further tops of the same posterior, where they were looked for and found.
    pub other_tops: Vec<OtherTop>,
}

/// A further top of a posterior.
#[derive(Debug, Clone)]
pub struct OtherTop {
    /// The fit at it.
    pub fit: Fit,
    /// About what share of the evidence it stands for.
    pub share: f64,
}

/// A place on a posterior.
#[derive(Clone)]
struct Standing {
    z: DVector<f64>,
    outlook: Outlook,
    /// Log posterior, up to the prior's constant.
    height: f64,
}

/// What a climb came to.
struct Climb {
    top: Standing,
    steps: usize,
    arrived: bool,
}

/// How a fit takes a reading that it does not judge by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Judged {
    /// As right.
    Right,
    /// As grossly wrong.
    Wrong,
}

impl<'j> Evidence<'j> {
    /// Prepares a job.
    ///
    /// # Errors
    /// [`DiagnosisError::Predict`] if the sound unit cannot be solved.
    pub fn new(job: &'j Job) -> Result<Self, DiagnosisError> {
        let unit = &job.unit;
        let (sources, (taken, data)): (Vec<usize>, (Vec<Reading>, Vec<Datum>)) = taken(job).into_iter().unzip();
        let mut setups = Vec::new();
        for index in 0..job.setups.len() {
            let readings: Vec<usize> = (0..taken.len()).filter(|&r| taken[r].setup == index).collect();
            let symptoms: Vec<usize> = (0..job.symptoms.len()).filter(|&s| job.symptoms[s].setup == index).collect();
            if !(readings.is_empty() && symptoms.is_empty()) {
                setups.push(Asked { setup: index, readings, symptoms });
            }
        }
        // Unplugged setups are solved fastest: a suspect that they rule out needs no more.
        setups.sort_by_key(|asked| job.setups[asked.setup].energised);
        let none = FaultSet::none();
        let medians = vec![0.0; unknown_count(unit, &none)];
        let mut sound = vec![SoundState::default(); job.symptoms.len()];
        for asked in &setups {
            observe(unit, &job.setups[asked.setup], &none, &medians, |observed| {
                for &symptom in &asked.symptoms {
                    sound[symptom] = SoundState::of(observed, job.symptoms[symptom].part);
                }
            })?;
        }
        let worked = Worked::new(job, &medians)?;
        Ok(Evidence { job, taken, sources, data, prior: Prior::new(unit), watch: Watch::new(), setups, sound, worked })
    }

    /// What a suspect predicts, with derivatives.
    ///
    /// # Errors
    /// [`PredictError`] if a setup has no solution with these faults.
    pub fn outlook(&self, faults: &FaultSet, deviations: &[f64]) -> Result<Outlook, PredictError> {
        let mut outlook = self.nothing_yet();
        for asked in &self.setups {
            self.look_at(asked, faults, deviations, &mut outlook, true, |observed, entry| {
                observed.measure(entry.measure, &self.job.meters[entry.meter])
            })?;
        }
        Ok(outlook)
    }

    /// What a suspect predicts, without derivatives.
    ///
    /// # Errors
    /// As [`Evidence::outlook`].
    pub fn outlook_values(&self, faults: &FaultSet, deviations: &[f64]) -> Result<Outlook, PredictError> {
        let mut outlook = self.nothing_yet();
        for asked in &self.setups {
            self.look_at_values(asked, faults, deviations, &mut outlook)?;
        }
        Ok(outlook)
    }

    /// Setups with something asked in them, fastest first.
    pub(crate) fn asked(&self) -> &[Asked] {
        &self.setups
    }

    /// An outlook to be filled in setup by setup.
    pub(crate) fn nothing_yet(&self) -> Outlook {
        let empty = Prediction { value: 0.0, gradient: Vec::new() };
        Outlook { predictions: vec![empty; self.data.len()], symptoms: 0.0 }
    }

    /// Fills in what is asked in one setup, without derivatives.
    pub(crate) fn look_at_values(
        &self,
        asked: &Asked,
        faults: &FaultSet,
        deviations: &[f64],
        outlook: &mut Outlook,
    ) -> Result<(), PredictError> {
        self.look_at(asked, faults, deviations, outlook, false, |observed, entry| {
            let value = observed.value(entry.measure, &self.job.meters[entry.meter])?;
            Ok(Prediction { value, gradient: Vec::new() })
        })
    }

    fn look_at(
        &self,
        asked: &Asked,
        faults: &FaultSet,
        deviations: &[f64],
        outlook: &mut Outlook,
        derivatives: bool,
        ask: impl Fn(&mut Observed<'_>, &Reading) -> Result<Prediction, PredictError>,
    ) -> Result<(), PredictError> {
        let job = self.job;
        let mut answer = |observed: &mut Observed<'_>| {
            for &symptom in &asked.symptoms {
                let (entry, sound) = (&job.symptoms[symptom], self.sound[symptom]);
                let traits = Traits::of(&job.unit, faults, entry.part);
                outlook.symptoms += symptom_model::log_probability(entry, observed, sound, traits);
            }
            for &reading in &asked.readings {
                let entry = &self.taken[reading];
                let prediction = ask(observed, entry)?;
                outlook.predictions[reading] = self.data[reading].met_by(prediction, entry, &job.meters[entry.meter]);
            }
            outlook.symptoms += log_place(observed, &self.taken, &asked.readings);
            Ok(())
        };
        let setup = &job.setups[asked.setup];
        if derivatives {
            observe(&job.unit, setup, faults, deviations, &mut answer)?
        } else {
            observe_values(&job.unit, setup, faults, deviations, &mut answer)?
        }
    }

    /// Log posterior, up to the prior's constant.
    pub(crate) fn log_posterior(&self, outlook: &Outlook, z: &DVector<f64>) -> f64 {
        self.log_posterior_judging(outlook, z, &[])
    }

    fn log_posterior_judging(&self, outlook: &Outlook, z: &DVector<f64>, judged: &[Judged]) -> f64 {
        self.log_likelihood_judging(outlook, judged) - 0.5 * z.norm_squared()
    }

    /// Log-likelihood of all readings and symptoms.
    pub fn log_likelihood(&self, outlook: &Outlook) -> f64 {
        self.log_likelihood_judging(outlook, &[])
    }

    fn log_likelihood_judging(&self, outlook: &Outlook, judged: &[Judged]) -> f64 {
        let readings: f64 = self
            .data
            .iter()
            .zip(&outlook.predictions)
            .enumerate()
            .map(|(reading, (datum, prediction))| likelihood(datum, prediction.value, 0.0, judged, reading).value)
            .sum();
        readings + outlook.symptoms
    }

    /// Finds the most probable values under a suspect, starting from `start` (zeros are the medians).
    ///
    /// Severities are tried from small to large before the first step, since their effect can be anything but linear.
    ///
    /// # Errors
    /// [`PredictError`] if the suspect cannot be solved at its medians.
    pub fn fit(&self, faults: &FaultSet, start: Option<&DVector<f64>>) -> Result<Fit, PredictError> {
        self.fit_judging(faults, start, &[])
    }

    /// As [`Evidence::fit`], with every reading taken as right or as wrong, unless `judged` is empty.
    pub(crate) fn fit_judging(
        &self,
        faults: &FaultSet,
        start: Option<&DVector<f64>>,
        judged: &[Judged],
    ) -> Result<Fit, PredictError> {
        let prior = self.prior.with_severities(&self.job.unit, faults);
        let mut z = DVector::zeros(prior.count());
        if let Some(start) = start {
            let shared = start.len().min(self.prior.count());
            z.rows_mut(0, shared).copy_from(&start.rows(0, shared));
        }
        let mut outlook = self.outlook(faults, &prior.deviations(&z))?;
        let mut height = self.log_posterior_judging(&outlook, &z, judged);
        for severity in self.prior.count()..prior.count() {
            let mut best = z.clone();
            for trial in [-2.0, -1.0, 1.0, 2.0] {
                let mut other = z.clone();
                other[severity] = trial;
                if let Ok(tried) = self.outlook_values(faults, &prior.deviations(&other)) {
                    let tried_height = self.log_posterior_judging(&tried, &other, judged);
                    if tried_height > height {
                        (best, height) = (other, tried_height);
                    }
                }
            }
            if best != z {
                outlook = self.outlook(faults, &prior.deviations(&best))?;
                z = best;
            }
        }
        let begin = Standing { z, outlook, height };
        let mut climb = self.climb(faults, &prior, begin.clone(), judged, &PATIENCE);
        // Leniency may lead away from a top on which some reading is rightly doubted.
        if climb.top.height < begin.height {
            climb = self.climb(faults, &prior, begin, judged, &[]);
        }
        let Climb { top: Standing { z, outlook, height }, steps, arrived } = climb;
        let (_, curvature) = self.slopes(&prior, &outlook, &z, 0.0, judged);
        let (covariance, log_determinant) = match Cholesky::new(curvature) {
            Some(factor) => {
                let log_determinant = 2.0 * factor.l_dirty().diagonal().iter().map(|d| d.ln()).sum::<f64>();
                (factor.inverse(), log_determinant)
            }
            None => (DMatrix::identity(z.len(), z.len()), 0.0),
        };
        let (deviations, covariance) = (prior.deviations(&z), Arc::new(covariance));
        let log_evidence = height - 0.5 * log_determinant;
        let doubt = self.doubts(&outlook);
        let (faults, other_tops) = (faults.clone(), Vec::new());
        Ok(Fit { faults, z, deviations, outlook, log_evidence, covariance, steps, arrived, doubt, other_tops })
    }

    /// Climbs to a top by Gauss-Newton steps.
    ///
    /// In the first steps every reading is widened by shares of its own predictive spread, `patience`, both where a step
    /// is computed and where it is judged: a start that is far off would else write off the very reading that knows
    /// better. Leniency ends early once no reading is doubted.
    fn climb(&self, faults: &FaultSet, prior: &Prior, begin: Standing, judged: &[Judged], patience: &[f64]) -> Climb {
        let Standing { mut z, mut outlook, mut height } = begin;
        let (mut steps, mut arrived) = (0, false);
        while steps < STEP_LIMIT && !arrived {
            let is_doubted = |doubt: &f64| *doubt > 0.5;
            let lenient = patience.get(steps).copied().filter(|_| self.doubts(&outlook).iter().any(is_doubted));
            let share = lenient.unwrap_or(0.0);
            let (gradient, curvature) = self.slopes(prior, &outlook, &z, share, judged);
            let Some(factor) = Cholesky::new(curvature) else { break };
            let step = factor.solve(&gradient);
            let widths = self.widths(prior, &outlook, share);
            let from = if share > 0.0 { self.lenient_height(&outlook, &z, judged, &widths) } else { height };
            steps += 1;
            let mut gained = 0.0;
            let mut length = 1.0;
            while length > 0.05 {
                let next = &z + &step * length;
                if let Ok(tried) = self.outlook(faults, &prior.deviations(&next)) {
                    let tried_height = self.lenient_height(&tried, &next, judged, &widths);
                    if tried_height > from {
                        gained = tried_height - from;
                        (z, outlook) = (next, tried);
                        height = self.log_posterior_judging(&outlook, &z, judged);
                        break;
                    }
                }
                length *= 0.4;
            }
            arrived = lenient.is_none() && gained < ARRIVED;
        }
        Climb { top: Standing { z, outlook, height }, steps, arrived }
    }

    /// By how much each reading is widened if it is met with patience.
    fn widths(&self, prior: &Prior, outlook: &Outlook, patience: f64) -> Vec<f64> {
        let width = |prediction: &Prediction| match patience == 0.0 || prediction.gradient.is_empty() {
            true => 0.0,
            false => patience * prior.whiten(&prediction.gradient).norm(),
        };
        outlook.predictions.iter().map(width).collect()
    }

    /// Log posterior with widened readings, up to the prior's constant.
    fn lenient_height(&self, outlook: &Outlook, z: &DVector<f64>, judged: &[Judged], widths: &[f64]) -> f64 {
        let readings: f64 = self
            .data
            .iter()
            .zip(&outlook.predictions)
            .zip(widths)
            .enumerate()
            .map(|(reading, ((datum, prediction), &width))| {
                likelihood(datum, prediction.value, width, judged, reading).lenient
            })
            .sum();
        readings + outlook.symptoms - 0.5 * z.norm_squared()
    }

    /// Per reading, the probability that it is wrong if things are as predicted.
    pub(crate) fn doubts(&self, outlook: &Outlook) -> Vec<f64> {
        let doubt =
            |(datum, prediction): (&Datum, &Prediction)| 1.0 - datum.log_likelihood(prediction.value, 0.0).sound;
        self.data.iter().zip(&outlook.predictions).map(doubt).collect()
    }

    /// Gradient of the log posterior and its Gauss-Newton matrix.
    ///
    /// `patience` widens every reading by that share of its own predictive spread when judging whether it is right.
    fn slopes(
        &self,
        prior: &Prior,
        outlook: &Outlook,
        z: &DVector<f64>,
        patience: f64,
        judged: &[Judged],
    ) -> (DVector<f64>, DMatrix<f64>) {
        let mut gradient = -z;
        let mut matrix = DMatrix::identity(z.len(), z.len());
        for (reading, (datum, prediction)) in self.data.iter().zip(&outlook.predictions).enumerate() {
            if prediction.gradient.is_empty() || !prediction.value.is_finite() {
                continue;
            }
            let white = prior.whiten(&prediction.gradient);
            let likelihood = likelihood(datum, prediction.value, patience * white.norm(), judged, reading);
            gradient.axpy(likelihood.slope, &white, 1.0);
            matrix.ger(likelihood.curvature, &white, &white, 1.0);
        }
        (gradient, matrix)
    }
}

fn likelihood(datum: &Datum, predicted: f64, widened: f64, judged: &[Judged], reading: usize) -> LogLikelihood {
    match judged.get(reading) {
        None => datum.log_likelihood(predicted, widened),
        Some(Judged::Right) => datum.log_likelihood_right(predicted),
        Some(Judged::Wrong) => datum.log_likelihood_wrong(),
    }
}

impl Fit {
    /// The same for a suspect whose only fault changes nothing: its size, if it has one, keeps its prior.
    pub(crate) fn with_silent(&self, evidence: &Evidence<'_>, fault: usize) -> Fit {
        let faults = FaultSet(vec![fault]);
        let count = unknown_count(&evidence.job.unit, &faults);
        let mut fit = self.clone();
        let other_tops = self.other_tops.iter();
        fit.other_tops =
            other_tops.map(|top| OtherTop { fit: top.fit.with_silent(evidence, fault), share: top.share }).collect();
        fit.faults = faults;
        fit.deviations.resize(count, 0.0);
        fit.z = fit.z.resize_vertically(count, 0.0);
        let known = fit.covariance.nrows();
        if known < count {
            let mut covariance = fit.covariance.as_ref().clone().resize(count, count, 0.0);
            (known..count).for_each(|added| covariance[(added, added)] = 1.0);
            fit.covariance = Arc::new(covariance);
        }
        fit
    }

    /// How far each prediction at the top is from what straight lines about it say at the medians.
    pub(crate) fn moved(&self, prior: &Prior) -> Vec<f64> {
        let moved = |prediction: &Prediction| match prediction.gradient.is_empty() || !prediction.value.is_finite() {
            true => 0.0,
            false => prior.whiten(&prediction.gradient).dot(&self.z),
        };
        self.outlook.predictions.iter().map(moved).collect()
    }

    /// Standard deviation that the unknown values leave in a prediction.
    pub fn spread(&self, prior: &Prior, gradient: &[f64]) -> f64 {
        let white = prior.whiten(gradient);
        (white.transpose() * self.covariance.as_ref() * &white)[0].max(0.0).sqrt()
    }
}
