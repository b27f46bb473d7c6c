//! A run, and what it asks of the plant that it heats.

use super::crossing::Threshold;
use super::error::RunError;
use super::network::{HeatNetwork, Regime};
use super::outcome::RunOutcome;
use super::stepper::Stepper;

/// More outputs than anyone reads (engineering judgement).
const MOST_OUTPUTS: f64 = 1e6;

/// What is heated: it says what holds at a moment, and switches.
pub trait Plant {
    /// Why it could not say what holds.
    type Error;

    /// Heat and conductances at a moment, with the temperatures of all nodes in degrees Celsius.
    ///
    /// Called for states that are kept and for states within a step that are only tried; must not switch anything.
    fn regime(&mut self, seconds: f64, celsius: &[f64]) -> Result<Regime, Self::Error>;

    /// Temperatures at which something will switch, as things stand.
    ///
    /// A device keeps its place in the list (crossings are counted by place) and, once crossed, gives the temperature at
    /// which it switches back, or an infinite one.
    fn thresholds(&self) -> Vec<Threshold>;

    /// The state that was asked for last is kept: what has moved by itself there has moved.
    fn kept(&mut self, _seconds: f64) {}

    /// The threshold at a place of that list was crossed: the plant changes its state.
    fn crossed(&mut self, seconds: f64, index: usize);

    /// The next moment, later than `seconds`, at which the plant changes by itself, such as the next setup of a run.
    fn next_change(&self, seconds: f64) -> Option<f64>;

    /// That moment has come.
    fn change(&mut self, seconds: f64);

    /// The next moment, later than `seconds`, to be recorded besides the regular outputs.
    fn next_output(&self, _seconds: f64) -> Option<f64> {
        None
    }

    /// Whether nothing more is to be followed: the run ends where it stands.
    fn is_over(&self) -> bool {
        false
    }

    /// A moment to keep: start, end, regular outputs, and just before and just after whatever switches or changes (two
    /// calls with the same seconds). Outputs within a step come with a regime between those of its two ends.
    fn record(&mut self, seconds: f64, celsius: &[f64], regime: &Regime);
}

/// Runs a plant from `start_celsius` for `until_seconds`.
///
/// `tolerance_kelvin` bounds the estimated error of each step. Within a step the exponential Heun method (Hochbruck and
/// Ostermann, Acta Numerica 19, 2010, section 2) takes conductances, and the change of heat with temperature that the
/// steps before have shown (Broyden, Mathematics of Computation 19, 1965), as its linear part.
pub fn run<P: Plant>(
    network: &HeatNetwork,
    start_celsius: &[f64],
    until_seconds: f64,
    output_every_seconds: f64,
    tolerance_kelvin: f64,
    plant: &mut P,
) -> Result<RunOutcome, RunError<P::Error>> {
    network.check()?;
    let settings = [
        ("length in seconds", until_seconds),
        ("time between outputs in seconds", output_every_seconds),
        ("tolerance in kelvins", tolerance_kelvin),
    ];
    if let Some(&(what, value)) = settings.iter().find(|(_, value)| !(value.is_finite() && *value > 0.0)) {
        return Err(RunError::Setting { what, value });
    }
    if until_seconds / output_every_seconds > MOST_OUTPUTS {
        return Err(RunError::TooManyOutputs { every_seconds: output_every_seconds, until_seconds });
    }
    let nodes = network.capacities.len();
    let given = start_celsius.iter().filter(|celsius| celsius.is_finite()).count();
    if given != nodes || start_celsius.len() != nodes {
        return Err(RunError::Start { given, nodes });
    }
    let mut stepper = Stepper::new(network, plant, start_celsius, output_every_seconds, tolerance_kelvin);
    stepper.go(until_seconds)?;
    Ok(stepper.outcome())
}
