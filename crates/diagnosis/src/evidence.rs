//! A job prepared for weighing: its readings as data, and what a suspect predicts for each of them.

use crate::DiagnosisError;
use crate::bar_rounds::{log_place, taken};
use crate::prior::Prior;
use crate::reading_model::Datum;
use crate::symptom_model::{self, SoundState, Traits};
use crate::watch::Watch;
use crate::worked::Worked;
use bench::wiring::unknown_count;
use bench::{FaultSet, Job, Observed, PredictError, Prediction, Reading, observe, observe_values};

/// A job prepared for fitting: readings as data, setups with what is to be asked in each.
#[derive(Clone)]
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
#[derive(Clone)]
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
    /// Per reading; without derivatives if they were not asked for, and not a number where nothing was looked at yet.
    pub predictions: Vec<Prediction>,
    /// Sum of the log-probabilities of the symptoms, and of the place of a fault on a ring.
    pub symptoms: f64,
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
        let empty = Prediction { value: f64::NAN, gradient: Vec::new() };
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
}
