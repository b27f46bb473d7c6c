//! The most probable values under one suspect, and the suspect's evidence.
//!
//! With standard-normal `z` the log posterior is `sum l_i(m_i(z)) - z^2 / 2`. It is maximised by Gauss-Newton steps
//! with exact derivatives ([`crate::ascent`]); at the top, Laplace's approximation gives the evidence
//!
//! ```text
//! ln p(readings | suspect) = sum l_i - z^2 / 2 - 1/2 ln det(I + sum w_i j_i j_i^T)
//! ```
//!
//! Source: MacKay, Information Theory, Inference and Learning Algorithms (2003), ch. 27; the weights `w_i` are those of
//! iteratively reweighted least squares for the gross-error mixture.

use crate::ascent::{self, Curvature, Hill, Manner};
use crate::evidence::{Evidence, Outlook};
use crate::narrowing::Narrowing;
use crate::prior::Prior;
use crate::reading_model::{Datum, LogLikelihood};
use bench::wiring::{severity_unknown, unknown_count};
use bench::{FaultSet, Measure, PredictError, Prediction, Reading, Value};
use nalgebra::{DMatrix, DVector};
use std::borrow::Cow;
use std::sync::Arc;

/// Priors hold every unknown back, so that damping is left out.
const MANNER: Manner = Manner { step_limit: 16, small_gain: 1e-3, damping: None };
/// Shares of its own predictive spread by which a reading is widened in the first steps.
const PATIENCE: [f64; 4] = [1.0, 0.5, 0.25, 0.1];
/// Ohms above which a reading may be one through insulation, for where a fit begins; above [`INSULATION_OHMS`] it is.
///
/// [`INSULATION_OHMS`]: crate::reading_model::INSULATION_OHMS
const LEAST_INSULATION: f64 = 1e4;
/// Where such a climb begins, in standard deviations from the median: within the range of an ohmmeter.
const LOW_INSULATION: f64 = -2.0;

/// The top of a suspect's posterior.
#[derive(Debug, Clone)]
pub struct Fit {
    /// The suspect's faults.
    pub faults: FaultSet,
    /// Standard-normal values at the top; shared, as all below, by the hypotheses that share the fit: of parts side by side
    /// there are thousands.
    pub z: Arc<DVector<f64>>,
    /// Deviations at the top.
    pub deviations: Arc<[f64]>,
    /// Predictions at the top.
    pub outlook: Arc<Outlook>,
    /// Log evidence.
    pub log_evidence: f64,
    /// How much of it predictions gained by following curves in place of straight lines, where that was looked at.
    pub gained_by_bends: f64,
    /// Per reading, the density of its figure if it was taken at one of its neighbours, where that was looked at; empty if
    /// of none.
    pub neighbours: Arc<[Option<f64>]>,
    /// What the readings leave of the spread of `z`, by the Gauss-Newton matrix at the top.
    pub narrowing: Arc<Narrowing>,
    /// Steps taken.
    pub steps: usize,
    /// Whether the fit arrived before the step limit.
    pub arrived: bool,
    /// Per reading, the probability that it is grossly wrong.
    pub doubt: Vec<f64>,
    /// Further tops of the same posterior, where they were looked for and found.
    pub other_tops: Arc<[OtherTop]>,
}

/// A further top of a posterior.
#[derive(Debug, Clone)]
pub struct OtherTop {
    /// The fit at it.
    pub fit: Fit,
    /// About what share of the evidence it stands for.
    pub share: f64,
}

type Standing = ascent::Standing<Outlook>;
type Climb = ascent::Climb<Outlook>;

/// A suspect's posterior as a hill.
struct Posterior<'e, 'j> {
    evidence: &'e Evidence<'j>,
    faults: &'e FaultSet,
    prior: &'e Prior,
    judged: &'e [Judged],
    /// Shares of their own predictive spread by which readings are widened in the first steps.
    patience: &'e [f64],
    /// The share that the present step is taken with, and by how much it widens each reading.
    share: f64,
    widths: Vec<f64>,
}

impl Hill for Posterior<'_, '_> {
    type View = Outlook;

    fn view(&self, place: &DVector<f64>) -> Option<Outlook> {
        self.evidence.outlook(self.faults, &self.prior.deviations(place)).ok()
    }

    fn height(&self, place: &DVector<f64>, view: &Outlook) -> f64 {
        self.evidence.log_posterior_judging(view, place, self.judged)
    }

    fn slopes(&self, from: &Standing) -> (DVector<f64>, Curvature) {
        let (rows, pulls) = self.evidence.slopes(self.prior, &from.view, &from.place, self.share, self.judged);
        (rows.tr_mul(&pulls) - &from.place, Curvature::OverPrior { rows, pulls })
    }

    fn is_lenient(&mut self, step: usize, from: &Standing) -> bool {
        let is_doubted = |doubt: &f64| *doubt > 0.5;
        let share = self.patience.get(step).copied();
        let share = share.filter(|_| self.evidence.doubts(&from.view).iter().any(is_doubted));
        self.share = share.unwrap_or(0.0);
        self.widths = self.evidence.widths(self.prior, &from.view, self.share);
        share.is_some()
    }

    fn lenient_height(&self, place: &DVector<f64>, view: &Outlook) -> f64 {
        self.evidence.lenient_height(view, place, self.judged, &self.widths)
    }
}

/// How a fit takes a reading that it does not judge by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Judged {
    /// As right.
    Right,
    /// As grossly wrong.
    Wrong,
}

impl Evidence<'_> {
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

    /// Finds the most probable values under a suspect, starting from those of another fit or from the medians.
    ///
    /// Severities are tried from small to large before the first step, since their effect can be anything but linear. Where
    /// the top still doubts a reading through insulation, it is climbed to once more from low insulation of each sound
    /// part: from usual insulation, which a meter shows as open, nothing points there.
    ///
    /// # Errors
    /// [`PredictError`] if the suspect cannot be solved at its medians.
    pub fn fit(&self, faults: &FaultSet, start: Option<&Fit>) -> Result<Fit, PredictError> {
        self.fit_judging(faults, start, &[])
    }

    /// As [`Evidence::fit`], with every reading taken as right or as wrong, unless `judged` is empty.
    pub(crate) fn fit_judging(
        &self,
        faults: &FaultSet,
        start: Option<&Fit>,
        judged: &[Judged],
    ) -> Result<Fit, PredictError> {
        let prior = self.prior.with_severities(&self.job.unit, faults);
        let z = start.map_or_else(|| DVector::zeros(prior.count()), |fit| self.start_from(fit, faults, prior.count()));
        let outlook = self.outlook(faults, &prior.deviations(&z))?;
        let height = self.log_posterior_judging(&outlook, &z, judged);
        let mut begin = Standing { place: z, view: outlook, height };
        for severity in self.prior.count()..prior.count() {
            begin = self.scan(faults, &prior, begin, severity, &[-2.0, -1.0, 1.0, 2.0], judged)?;
        }
        let mut climb = self.climb(faults, &prior, begin.clone(), judged, &PATIENCE);
        // Leniency may lead away from a top on which some reading is rightly doubted.
        if climb.top.height < begin.height {
            climb = self.climb(faults, &prior, begin, judged, &[]);
        }
        if self.doubts_insulation(&climb.top.view) {
            for unknown in self.prior.wide() {
                let mut z = climb.top.place.clone();
                z[unknown] = LOW_INSULATION;
                let outlook = self.outlook(faults, &prior.deviations(&z))?;
                let height = self.log_posterior_judging(&outlook, &z, judged);
                let other = self.climb(faults, &prior, Standing { place: z, view: outlook, height }, judged, &PATIENCE);
                if other.top.height > climb.top.height {
                    climb = other;
                }
            }
        }
        Ok(self.at_top(faults, &prior, climb, judged))
    }

    /// The fit at the top that is reached from given values.
    ///
    /// # Errors
    /// [`PredictError`] if the suspect cannot be solved there.
    pub(crate) fn fit_from(&self, faults: &FaultSet, z: DVector<f64>) -> Result<Fit, PredictError> {
        let prior = self.prior.with_severities(&self.job.unit, faults);
        let outlook = self.outlook(faults, &prior.deviations(&z))?;
        let height = self.log_posterior(&outlook, &z);
        let climb = self.climb(faults, &prior, Standing { place: z, view: outlook, height }, &[], &[]);
        Ok(self.at_top(faults, &prior, climb, &[]))
    }

    /// Laplace's approximation at the top that a climb came to.
    fn at_top(&self, faults: &FaultSet, prior: &Prior, climb: Climb, judged: &[Judged]) -> Fit {
        let Climb { top: Standing { place: z, view: outlook, height }, steps, arrived } = climb;
        let (slopes, _) = self.slopes(prior, &outlook, &z, 0.0, judged);
        let narrowing = Narrowing::new(slopes).unwrap_or_else(|| Narrowing::none(z.len()));
        let log_evidence = height - 0.5 * narrowing.log_determinant();
        let (deviations, narrowing) = (prior.deviations(&z).into(), Arc::new(narrowing));
        let doubt = self.doubts(&outlook);
        let (faults, z, outlook, other_tops) = (faults.clone(), Arc::new(z), Arc::new(outlook), Arc::default());
        Fit {
            faults,
            z,
            deviations,
            outlook,
            log_evidence,
            gained_by_bends: 0.0,
            neighbours: Arc::default(),
            narrowing,
            steps,
            arrived,
            doubt,
            other_tops,
        }
    }

    /// Where to begin with what another fit knows: the unit's own values, and the sizes of the faults that both have.
    fn start_from(&self, fit: &Fit, faults: &FaultSet, count: usize) -> DVector<f64> {
        let unit = &self.job.unit;
        let mut z = DVector::zeros(count);
        let own = self.prior.count();
        z.rows_mut(0, own).copy_from(&fit.z.rows(0, own));
        for (position, fault) in faults.0.iter().enumerate() {
            let source = fit.faults.0.iter().position(|other| other == fault);
            let source = source.and_then(|source| severity_unknown(unit, &fit.faults, source));
            if let (Some(target), Some(source)) = (severity_unknown(unit, faults, position), source) {
                z[target] = fit.z[source];
            }
        }
        z
    }

    /// The best of a place and of those with one value elsewhere.
    fn scan(
        &self,
        faults: &FaultSet,
        prior: &Prior,
        from: Standing,
        unknown: usize,
        places: &[f64],
        judged: &[Judged],
    ) -> Result<Standing, PredictError> {
        let (mut best, mut height) = (None, self.height_from_afar(&from.view, &from.place, judged));
        for &place in places {
            let mut other = from.place.clone();
            other[unknown] = place;
            if let Ok(tried) = self.outlook_values(faults, &prior.deviations(&other)) {
                let tried_height = self.height_from_afar(&tried, &other, judged);
                if tried_height > height {
                    (best, height) = (Some(other), tried_height);
                }
            }
        }
        let Some(z) = best else { return Ok(from) };
        let view = self.outlook(faults, &prior.deviations(&z))?;
        Ok(Standing { height: self.log_posterior_judging(&view, &z, judged), view, place: z })
    }

    /// Log posterior, up to the prior's constant, with no slip of a decimal point: between places far apart such a narrow
    /// curve would be met or missed by chance.
    fn height_from_afar(&self, outlook: &Outlook, z: &DVector<f64>, judged: &[Judged]) -> f64 {
        let readings = self.data.iter().zip(&outlook.predictions).enumerate();
        let readings = readings.map(|(reading, (datum, prediction))| match judged.get(reading) {
            None => datum.log_likelihood_unslipped(prediction.value),
            Some(_) => likelihood(datum, prediction.value, 0.0, judged, reading).value,
        });
        readings.sum::<f64>() + outlook.symptoms - 0.5 * z.norm_squared()
    }

    /// Whether a reading that went through insulation is rather wrong than right if things are as predicted.
    fn doubts_insulation(&self, outlook: &Outlook) -> bool {
        let through = |reading: &Reading| match reading.measure {
            Measure::Ohms(..) => matches!(reading.value, Value::Number(ohms) if ohms > LEAST_INSULATION),
            Measure::TouchMilliamps(_) | Measure::LeakageMilliamps(_) => true,
            _ => false,
        };
        self.taken.iter().zip(self.doubts(outlook)).any(|(reading, doubt)| doubt > 0.5 && through(reading))
    }

    /// Climbs to a top.
    ///
    /// In the first steps every reading is widened by shares of its own predictive spread, `patience`, both where a step
    /// is computed and where it is judged: a start that is far off would else write off the very reading that knows
    /// better. Leniency ends early once no reading is doubted.
    fn climb(&self, faults: &FaultSet, prior: &Prior, begin: Standing, judged: &[Judged], patience: &[f64]) -> Climb {
        let mut posterior =
            Posterior { evidence: self, faults, prior, judged, patience, share: 0.0, widths: Vec::new() };
        ascent::climb(&mut posterior, begin, MANNER)
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

    /// Of every reading with a say, the slopes times the root of its weight, a row each, and how hard it pulls: with these as
    /// `B` and `d` the gradient of the log posterior is `B^T d - z`, and its Gauss-Newton matrix `I + B^T B`.
    ///
    /// `patience` widens every reading by that share of its own predictive spread when judging whether it is right.
    fn slopes(
        &self,
        prior: &Prior,
        outlook: &Outlook,
        z: &DVector<f64>,
        patience: f64,
        judged: &[Judged],
    ) -> (DMatrix<f64>, DVector<f64>) {
        let mut slopes: Vec<DVector<f64>> = Vec::with_capacity(self.data.len());
        let mut pulls = Vec::with_capacity(self.data.len());
        for (reading, (datum, prediction)) in self.data.iter().zip(&outlook.predictions).enumerate() {
            if prediction.gradient.is_empty() || !prediction.value.is_finite() {
                continue;
            }
            let white = prior.whiten(&prediction.gradient);
            let likelihood = likelihood(datum, prediction.value, patience * white.norm(), judged, reading);
            if likelihood.curvature > 0.0 {
                let root = likelihood.curvature.sqrt();
                slopes.push(white * root);
                pulls.push(likelihood.slope / root);
            }
        }
        let rows = DMatrix::from_fn(slopes.len(), z.len(), |row, column| slopes[row][column]);
        (rows, DVector::from_vec(pulls))
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
    /// The same for a suspect of one kin with this one: other names, or a further fault that changes nothing.
    pub(crate) fn renamed(&self, evidence: &Evidence<'_>, faults: &FaultSet) -> Fit {
        match faults.0.iter().find(|fault| !self.faults.0.contains(fault)) {
            Some(&further) if faults.0.len() > self.faults.0.len() => self.with_silent(evidence, further),
            _ => Fit { faults: faults.clone(), ..self.clone() },
        }
    }

    /// The same for a suspect with a further fault that changes nothing: its size, if it has one, keeps its prior.
    pub(crate) fn with_silent(&self, evidence: &Evidence<'_>, fault: usize) -> Fit {
        let unit = &evidence.job.unit;
        let mut faults = self.faults.clone();
        faults.0.push(fault);
        faults.0.sort_unstable();
        let count = unknown_count(unit, &faults);
        // Sizes stand behind the unit's own values, in the order of the faults.
        let mut sources: Vec<Option<usize>> = (0..evidence.prior.count()).map(Some).collect();
        sources.resize(count, None);
        for position in 0..faults.0.len() {
            let known = self.faults.0.iter().position(|own| *own == faults.0[position]);
            if let Some(target) = severity_unknown(unit, &faults, position) {
                sources[target] = known.and_then(|known| severity_unknown(unit, &self.faults, known));
            }
        }
        let of = |value: &dyn Fn(usize) -> f64, unknown: usize| sources[unknown].map_or(0.0, value);
        let narrowing = if count == self.narrowing.count() {
            Arc::clone(&self.narrowing)
        } else {
            Arc::new(self.narrowing.rearranged(&sources))
        };
        let other_tops = self.other_tops.iter();
        let other_tops =
            other_tops.map(|top| OtherTop { fit: top.fit.with_silent(evidence, fault), share: top.share }).collect();
        Fit {
            z: Arc::new(DVector::from_fn(count, |unknown, _| of(&|source| self.z[source], unknown))),
            deviations: (0..count).map(|unknown| of(&|source| self.deviations[source], unknown)).collect(),
            narrowing,
            other_tops,
            faults,
            ..self.clone()
        }
    }

    /// How far each prediction at the top is from what straight lines about it say at the medians.
    pub(crate) fn moved(&self, prior: &Prior) -> Vec<f64> {
        let moved = |prediction: &Prediction| match prediction.gradient.is_empty() || !prediction.value.is_finite() {
            true => 0.0,
            false => prior.whiten(&prediction.gradient).dot(&self.z),
        };
        self.outlook.predictions.iter().map(moved).collect()
    }

    /// A datum of the evidence, with what the fit knows of its neighbours.
    pub(crate) fn datum(&self, evidence: &Evidence<'_>, reading: usize) -> Datum {
        let datum = &evidence.data[reading];
        let density = self.neighbours.get(reading).copied().flatten();
        density.map_or_else(|| datum.clone(), |density| datum.with_neighbours(density))
    }

    /// The evidence, with what the fit knows of neighbours.
    pub(crate) fn knowing_neighbours<'e, 'j>(&self, evidence: &'e Evidence<'j>) -> Cow<'e, Evidence<'j>> {
        if self.neighbours.iter().all(Option::is_none) {
            return Cow::Borrowed(evidence);
        }
        let mut knowing = evidence.clone();
        knowing.data = (0..evidence.data.len()).map(|reading| self.datum(evidence, reading)).collect();
        Cow::Owned(knowing)
    }

    /// Standard deviation that the unknown values leave in a prediction.
    pub fn spread(&self, prior: &Prior, gradient: &[f64]) -> f64 {
        self.narrowing.variance(&prior.whiten(gradient)).sqrt()
    }
}
