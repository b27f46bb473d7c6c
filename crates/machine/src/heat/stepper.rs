//! The steps of a run: as long as the tolerance allows, cut where something switches.

use super::crossing::{Threshold, first_crossing};
use super::error::RunError;
use super::network::{HeatNetwork, Regime};
use super::outcome::{Crossing, RunOutcome};
use super::path::{Affine, Path};
use super::run::Plant;
use nalgebra::{DMatrix, DVector};

/// More switchings than this within a second are chatter (no contact that a temperature moves does so; engineering
/// judgement).
const MOST_CROSSINGS_PER_SECOND: usize = 20;
/// Temperature above which there is no machine left, degrees Celsius (copper boils at about 2560; from memory).
const BURNT_CELSIUS: f64 = 3000.0;
/// Steps after which a run is given up: an hour of the steepest real switching takes some thousands (engineering
/// judgement).
const MOST_STEPS: usize = 200_000;
/// Longest step, s: slow changes of the room are seen at least twice an hour (engineering judgement).
const LONGEST_STEP: f64 = 1800.0;
/// Shortest step, s, as a share of which a tolerance that cannot be met is given up.
const SHORTEST_STEP: f64 = 1e-7;
/// The first step moves no node by more than this many tolerances, and takes no longer than this.
const FIRST_TOLERANCES: f64 = 10.0;
const FIRST_SECONDS: f64 = 60.0;
/// Safety of the next step's length, and the bounds of its change (usual choices; Hairer, Norsett and Wanner, Solving
/// Ordinary Differential Equations I, section II.4).
const SAFETY: f64 = 0.9;
const MOST_GROWTH: f64 = 5.0;
const LEAST_GROWTH: f64 = 0.1;
/// A step must move some node by this many tolerances for its change of heat to be laid to temperature.
const LEARNING_TOLERANCES: f64 = 2.0;

/// A run on its way.
pub(super) struct Stepper<'a, P: Plant> {
    network: &'a HeatNetwork,
    plant: &'a mut P,
    tolerance: f64,
    /// The state that is kept, and what holds there.
    seconds: f64,
    celsius: DVector<f64>,
    regime: Regime,
    /// Change of the rates with the temperatures beyond what conductances explain, per second.
    learned: DMatrix<f64>,
    /// Change of the rates with time by what is given from outside, K/s^2.
    drift: DVector<f64>,
    /// Length of the next step, s.
    step: f64,
    /// Regular outputs made, the one at the start left out.
    outputs: usize,
    /// The moment recorded last.
    recorded: f64,
    output_every: f64,
    crossings: Vec<Crossing>,
    regime_calls: usize,
    steps: usize,
    rejected_steps: usize,
}

/// A step that met the tolerance.
struct Step {
    seconds: f64,
    path: Path,
    /// What holds at about its end.
    late_regime: Regime,
    error: f64,
}

impl<'a, P: Plant> Stepper<'a, P> {
    /// At the start of a run; all values have been checked.
    pub(super) fn new(
        network: &'a HeatNetwork,
        plant: &'a mut P,
        start_celsius: &[f64],
        output_every: f64,
        tolerance: f64,
    ) -> Self {
        let nodes = start_celsius.len();
        Stepper {
            network,
            plant,
            tolerance,
            seconds: 0.0,
            celsius: DVector::from_column_slice(start_celsius),
            regime: Regime { watts: Vec::new(), watts_per_kelvin: Vec::new(), fixed_celsius: Vec::new() },
            learned: DMatrix::zeros(nodes, nodes),
            drift: DVector::zeros(nodes),
            step: 0.0,
            outputs: 0,
            recorded: f64::NEG_INFINITY,
            output_every,
            crossings: Vec::new(),
            regime_calls: 0,
            steps: 0,
            rejected_steps: 0,
        }
    }

    /// How it ended.
    pub(super) fn outcome(self) -> RunOutcome {
        RunOutcome {
            seconds: self.seconds,
            kelvin_per_second: self.network.rates(&self.regime, self.celsius.as_slice()),
            celsius: self.celsius.as_slice().to_vec(),
            crossings: self.crossings,
            regime_calls: self.regime_calls,
            steps: self.steps,
            rejected_steps: self.rejected_steps,
        }
    }

    /// Runs to the end.
    pub(super) fn go(&mut self, until: f64) -> Result<(), RunError<P::Error>> {
        self.start_anew()?;
        while self.seconds < until && !self.plant.is_over() {
            if self.steps + self.rejected_steps > MOST_STEPS {
                return Err(RunError::TooSteep { seconds: self.seconds });
            }
            let change = self.next_change()?;
            let stop = change.map_or(until, |change| change.min(until));
            let thresholds = self.thresholds()?;
            let step = self.try_steps(stop - self.seconds, &thresholds)?;
            match first_crossing(&step.path, step.seconds, &thresholds, 0.0) {
                Some((share, index)) => self.stop_at_crossing(&step, share, index, thresholds[index])?,
                None => self.keep(step, stop)?,
            }
            if change == Some(self.seconds) {
                self.record_once();
                self.plant.change(self.seconds);
                self.start_anew()?;
            }
        }
        self.record_once();
        Ok(())
    }

    /// The longest step within `limit` seconds that meets the tolerance.
    fn try_steps(&mut self, limit: f64, thresholds: &[Threshold]) -> Result<Step, RunError<P::Error>> {
        let mut seconds = self.step.min(limit).min(LONGEST_STEP);
        let rate = self.rates(&self.regime, &self.celsius);
        let drift = self.drift.clone();
        let mut matrix = self.network.rate_matrix(&self.regime) + &self.learned;
        for attempt in 0.. {
            if attempt == 2 {
                // What was learned may mislead.
                matrix -= &self.learned;
                self.learned.fill(0.0);
            }
            if seconds < SHORTEST_STEP.min(limit) {
                break;
            }
            let expected = Affine { rate: &rate, matrix: &matrix, slope: &drift };
            let Some(mut path) = Path::new(&self.celsius, &expected, seconds) else {
                seconds *= LEAST_GROWTH;
                continue;
            };
            // Nothing beyond a switching is worth an electrical solution.
            if let Some((share, _)) = first_crossing(&path, seconds, thresholds, self.tolerance) {
                seconds *= share;
                match Path::new(&self.celsius, &expected, seconds) {
                    Some(shorter) => path = shorter,
                    None => break,
                }
            }
            let end = path.end();
            let late_regime = self.ask(self.seconds + seconds, &end)?;
            let late_rate = self.rates(&late_regime, &end);
            let slope = (late_rate - &rate - &matrix * (&end - &self.celsius)) / seconds;
            let corrected = Affine { slope: &slope, ..expected };
            let path = Path::new(&self.celsius, &corrected, seconds);
            let error = path.as_ref().map_or(f64::INFINITY, |path| (path.end() - end).amax());
            match path {
                Some(path) if error <= self.tolerance => return Ok(Step { seconds, path, late_regime, error }),
                _ => seconds *= self.growth(error).min(0.5),
            }
            self.rejected_steps += 1;
        }
        Err(RunError::TooSteep { seconds: self.seconds })
    }

    /// Factor for the length of a step with this error, which goes with the square of the length.
    fn growth(&self, error: f64) -> f64 {
        (SAFETY * (self.tolerance / error).sqrt()).clamp(LEAST_GROWTH, MOST_GROWTH)
    }

    /// Keeps a whole step; `stop` is where it had to end at the latest.
    fn keep(&mut self, step: Step, stop: f64) -> Result<(), RunError<P::Error>> {
        let end = step.path.end();
        let seconds = self.seconds + step.seconds;
        // Rounding must neither pass the stop nor leave a sliver before it.
        let seconds = if stop - seconds < SHORTEST_STEP { stop } else { seconds };
        let regime = self.ask(seconds, &end)?;
        self.record_outputs(&step, &regime, 1.0);
        self.plant.kept(seconds);
        self.learn(&end, &regime, step.seconds);
        // A step that was cut short by a stop says nothing against the length of the next.
        let grown = step.seconds * self.growth(step.error);
        self.step = if seconds == stop { grown.max(self.step) } else { grown };
        self.move_to(seconds, end, regime)
    }

    /// Ends a step where a threshold is crossed.
    fn stop_at_crossing(
        &mut self,
        step: &Step,
        share: f64,
        index: usize,
        threshold: Threshold,
    ) -> Result<(), RunError<P::Error>> {
        let late = step.late_regime.clone();
        self.record_outputs(step, &late, share);
        let (celsius, regime) = self.within(step, &late, share);
        self.move_to(self.seconds + share * step.seconds, celsius, regime)?;
        self.record_once();
        self.cross(index, threshold)?;
        self.start_anew()
    }

    fn move_to(&mut self, seconds: f64, celsius: DVector<f64>, regime: Regime) -> Result<(), RunError<P::Error>> {
        (self.seconds, self.celsius, self.regime) = (seconds, celsius, regime);
        self.steps += 1;
        let node = self.celsius.imax();
        let celsius = self.celsius[node];
        if celsius > BURNT_CELSIUS { Err(RunError::Runaway { seconds, node, celsius }) } else { Ok(()) }
    }

    /// After something changed: crosses what is already beyond its threshold, and forgets what was learned.
    fn start_anew(&mut self) -> Result<(), RunError<P::Error>> {
        let beyond = |list: &[Threshold], celsius: &DVector<f64>| {
            list.iter().position(|threshold| threshold.kelvin_beyond(celsius[threshold.node]) >= 0.0)
        };
        let mut list = self.thresholds()?;
        while let Some(index) = beyond(&list, &self.celsius) {
            self.cross(index, list[index])?;
            list = self.thresholds()?;
        }
        self.regime = self.ask(self.seconds, &self.celsius.clone())?;
        self.plant.kept(self.seconds);
        self.record_here();
        self.learned.fill(0.0);
        self.drift.fill(0.0);
        let fastest = self.rates(&self.regime, &self.celsius).amax();
        self.step = (FIRST_TOLERANCES * self.tolerance / fastest).min(FIRST_SECONDS);
        Ok(())
    }

    fn cross(&mut self, index: usize, threshold: Threshold) -> Result<(), RunError<P::Error>> {
        let seconds = self.seconds;
        self.crossings.push(Crossing { seconds, index, threshold });
        let earlier = self.crossings.len().checked_sub(MOST_CROSSINGS_PER_SECOND + 1);
        if earlier.is_some_and(|place| seconds - self.crossings[place].seconds < 1.0) {
            return Err(RunError::Chatter { seconds, index, celsius: threshold.celsius });
        }
        self.plant.crossed(seconds, index);
        Ok(())
    }

    /// Learns from a step how heat changes with temperature: the least change of what was known before that explains
    /// the rates at both ends.
    fn learn(&mut self, end: &DVector<f64>, regime: &Regime, seconds: f64) {
        let moved = end - &self.celsius;
        let early = Regime { fixed_celsius: regime.fixed_celsius.clone(), ..self.regime.clone() };
        let outside = self.rates(&early, &self.celsius);
        self.drift = (&outside - self.rates(&self.regime, &self.celsius)) / seconds;
        if moved.amax() > LEARNING_TOLERANCES * self.tolerance {
            let matrix = self.network.rate_matrix(regime) + &self.learned;
            let unexplained = self.rates(regime, end) - outside - matrix * &moved;
            self.learned += unexplained * moved.transpose() / moved.norm_squared();
        }
    }

    /// Temperatures and regime at a share of a step.
    fn within(&self, step: &Step, late: &Regime, share: f64) -> (DVector<f64>, Regime) {
        let celsius = step.path.celsius(share);
        let way = step.path.end() - &self.celsius;
        let gone = (&celsius - &self.celsius).dot(&way) / way.norm_squared();
        let share_of_way = if gone.is_finite() { gone.clamp(0.0, 1.0) } else { share };
        let regime = self.regime.between(late, share, share_of_way);
        (celsius, regime)
    }

    /// Records the outputs within the first share of a step.
    fn record_outputs(&mut self, step: &Step, late: &Regime, share: f64) {
        let end = self.seconds + share * step.seconds;
        loop {
            let regular = (self.outputs + 1) as f64 * self.output_every;
            let asked = self.plant.next_output(self.recorded.max(self.seconds));
            let seconds = asked.map_or(regular, |asked| asked.min(regular));
            if seconds > end {
                return;
            }
            let (celsius, regime) = self.within(step, late, ((seconds - self.seconds) / step.seconds).clamp(0.0, 1.0));
            self.plant.record(seconds, celsius.as_slice(), &regime);
            self.recorded = seconds;
            self.outputs += usize::from(seconds == regular);
        }
    }

    /// Records the state that is kept, unless a regular output has done so.
    fn record_once(&mut self) {
        if self.recorded < self.seconds {
            self.record_here();
        }
    }

    fn record_here(&mut self) {
        self.recorded = self.seconds;
        self.plant.record(self.seconds, self.celsius.as_slice(), &self.regime);
    }

    fn rates(&self, regime: &Regime, celsius: &DVector<f64>) -> DVector<f64> {
        DVector::from_vec(self.network.rates(regime, celsius.as_slice()))
    }

    fn ask(&mut self, seconds: f64, celsius: &DVector<f64>) -> Result<Regime, RunError<P::Error>> {
        self.regime_calls += 1;
        let asked = self.plant.regime(seconds, celsius.as_slice());
        let regime = asked.map_err(|cause| RunError::Plant { seconds, cause })?;
        match self.network.check_regime(&regime) {
            Ok(()) => Ok(regime),
            Err(cause) => Err(RunError::Regime { seconds, cause }),
        }
    }

    fn thresholds(&self) -> Result<Vec<Threshold>, RunError<P::Error>> {
        let list = self.plant.thresholds();
        let nodes = self.celsius.len();
        match list.iter().position(|threshold| threshold.node >= nodes || threshold.celsius.is_nan()) {
            Some(index) => {
                let Threshold { node, celsius, .. } = list[index];
                Err(RunError::Threshold { index, node, celsius, nodes })
            }
            None => Ok(list),
        }
    }

    fn next_change(&self) -> Result<Option<f64>, RunError<P::Error>> {
        match self.plant.next_change(self.seconds) {
            Some(next) if next.is_nan() || next <= self.seconds => {
                Err(RunError::ChangeNotLater { seconds: self.seconds, next })
            }
            next => Ok(next),
        }
    }
}
