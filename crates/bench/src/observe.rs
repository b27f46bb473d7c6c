//! What a meter would show: a unit in a setup, solved, and asked.

mod capacitance;
mod carried;
mod core;
mod flow;
mod heat;
mod run_down;
mod shown;

pub use capacitance::{NoCapacitance, sees_capacitor};
pub use carried::Carried;
pub use core::MOST_CORE_VOLTS;
pub use flow::ElementFlow;

use crate::fault::{FaultSet, Place};
use crate::half_wave::BetweenHalves;
use crate::meter::Meter;
use crate::reading::Measure;
use crate::settle::{Layout, solve};
use crate::setup::Setup;
use crate::switching::ContactId;
use crate::unit::{TerminalId, Unit};
use crate::wiring::{Conditions, Wired};
use circuit::{DirectNetwork, NetId, Probe, Quantity, SolveError};
use machine::{Motion, Steady};
use shown::{magnitude, volts, volts_across};

/// A person from hand to earth, ohms. At supply frequency the touch-current network of IEC 60990 (1500 ohm beside 0.22
/// microfarad, with 500 ohm in series; from memory) has 1.99 kohm; it is taken as a plain resistance.
const BODY_OHMS: f64 = 2000.0;

/// A predicted reading and its derivative by every unknown.
#[derive(Debug, Clone, PartialEq)]
pub struct Prediction {
    /// In the measure's unit; infinite for a resistance without a path and the capacitance of a shorted capacitor.
    pub value: f64,
    /// `d value / d deviation`.
    pub gradient: Vec<f64>,
}

impl Prediction {
    /// A quantity, with its slopes where this one's gradient is zero throughout.
    fn with(mut self, quantity: &Quantity) -> Self {
        self.value = quantity.value();
        for &(unknown, slope) in quantity.slopes() {
            self.gradient[unknown.0] += slope;
        }
        self
    }

    fn times(mut self, factor: f64) -> Self {
        self.value *= factor;
        self.gradient.iter_mut().for_each(|slope| *slope *= factor);
        self
    }
}

/// Why a setup could not be predicted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PredictError {
    /// The network has no solution.
    #[error("setup {setup}: {source}")]
    Network {
        /// Name of the setup.
        setup: String,
        /// What the network solution says.
        source: SolveError,
    },
    /// The heat of a run cannot be followed.
    #[error("run {run}: {reason}")]
    Heat {
        /// Name of the run.
        run: String,
        /// Why not.
        reason: String,
    },
    /// A measure that does not fit the setup.
    #[error("setup {setup}: {reason}")]
    Measure {
        /// Name of the setup.
        setup: String,
        /// Why it does not fit.
        reason: &'static str,
    },
}

pub(crate) enum State<'a> {
    Isolated(DirectNetwork<'a>),
    Live(Box<Steady<'a>>),
}

/// A unit in a setup, solved.
pub struct Observed<'a> {
    pub(crate) unit: &'a Unit,
    pub(crate) setup: &'a Setup,
    pub(crate) wired: &'a Wired,
    pub(crate) state: State<'a>,
    pub(crate) conditions: Conditions,
    pub(crate) chattering: Option<ContactId>,
    /// Whether what depends on the solution itself was found with it: diodes, saturation.
    pub(crate) is_found: bool,
    /// For units with diodes.
    pub(crate) halves: Option<Box<BetweenHalves<'a>>>,
}

/// Solves `unit` in `setup` with `faults` in it and hands the result to `look`.
///
/// Contacts that the unit moves by itself are where its run-up has left them. If the supply current then exceeds what
/// opens the breaker at once, or what does not come back opens the earth-leakage trip, what is handed over is the unit
/// cut off.
///
/// # Errors
/// [`PredictError::Network`].
pub fn observe<R>(
    unit: &Unit,
    setup: &Setup,
    faults: &FaultSet,
    deviations: &[f64],
    look: impl FnOnce(&mut Observed<'_>) -> R,
) -> Result<R, PredictError> {
    solve(Layout { unit, setup, faults, deviations, derivatives: true }, Conditions::default(), &mut Vec::new(), look)
}

/// As [`observe`], for callers that want values only: quicker, and all derivatives are zero.
///
/// # Errors
/// [`PredictError::Network`].
pub fn observe_values<R>(
    unit: &Unit,
    setup: &Setup,
    faults: &FaultSet,
    deviations: &[f64],
    look: impl FnOnce(&mut Observed<'_>) -> R,
) -> Result<R, PredictError> {
    solve(Layout { unit, setup, faults, deviations, derivatives: false }, Conditions::default(), &mut Vec::new(), look)
}

/// Solves `unit` at a moment of a run, from the speeds of the moment before, which become those of this one.
///
/// # Errors
/// [`PredictError::Network`].
pub(crate) fn observe_moment<R>(
    unit: &Unit,
    setup: &Setup,
    faults: &FaultSet,
    deviations: &[f64],
    conditions: &Conditions,
    speeds: &mut Vec<f64>,
    look: impl FnOnce(&mut Observed<'_>) -> R,
) -> Result<R, PredictError> {
    let moment = Layout { unit, setup, faults, deviations, derivatives: false };
    solve(moment, conditions.clone(), speeds, look)
}

impl<'a> Observed<'a> {
    /// The layout behind this solution.
    pub fn wired(&self) -> &'a Wired {
        self.wired
    }

    /// The setup.
    pub fn setup(&self) -> &'a Setup {
        self.setup
    }

    /// The live solution; `None` for an unplugged unit.
    pub fn steady(&self) -> Option<&Steady<'a>> {
        match &self.state {
            State::Live(steady) => Some(steady),
            State::Isolated(_) => None,
        }
    }

    /// The live solution, to be asked for derivatives; `None` for an unplugged unit.
    pub fn steady_mut(&mut self) -> Option<&mut Steady<'a>> {
        match &mut self.state {
            State::Live(steady) => Some(steady),
            State::Isolated(_) => None,
        }
    }

    /// The direct-current solution; `None` for a live unit.
    pub fn direct(&self) -> Option<&DirectNetwork<'a>> {
        match &self.state {
            State::Isolated(direct) => Some(direct),
            State::Live(_) => None,
        }
    }

    /// Whether the breaker ahead of the unit opened at once.
    pub fn breaker_opened(&self) -> bool {
        self.conditions.breaker_open
    }

    /// Whether the earth-leakage trip ahead of the unit opened.
    pub fn residual_trip_opened(&self) -> bool {
        self.conditions.residual_trip_open
    }

    /// What cut the unit off, in words; `None` if nothing did.
    pub fn cut_off_words(&self) -> Option<&'static str> {
        crate::words::cut_off(self.breaker_opened(), self.residual_trip_opened())
    }

    /// Whether the breaker or the earth-leakage trip cut the unit off.
    pub fn is_cut_off(&self) -> bool {
        self.conditions.is_cut_off()
    }

    /// What the unit has brought about in itself: contacts that have moved, the breaker.
    pub fn conditions(&self) -> &Conditions {
        &self.conditions
    }

    /// A contact that moves to and fro without end, so that what is shown is one moment of it.
    pub fn chattering(&self) -> Option<ContactId> {
        self.chattering
    }

    /// Whether speeds and contacts have come to rest.
    pub fn settled(&self) -> bool {
        self.chattering.is_none() && self.steady().is_none_or(Steady::settled) && self.is_found
    }

    /// Speed of a motor over its synchronous speed; `None` if it is no motor or the unit is unplugged.
    pub fn speed_ratio(&self, part: usize) -> Option<f64> {
        Some(self.steady()?.speed_ratio(self.wired.machine_of(part)?))
    }

    /// What a motor does.
    pub fn motion(&self, part: usize) -> Option<Motion> {
        Some(self.steady()?.motion(self.wired.machine_of(part)?))
    }

    /// Real power a part takes, watts; for the supply and cord, what the whole unit takes.
    pub fn watts(&self, part: usize) -> f64 {
        let Some(steady) = self.steady() else { return 0.0 };
        let (place, sign) = self.watts_of(part);
        sign * self.wired.elements_of(place).map(|element| steady.solution().power(element.branch).re).sum::<f64>()
    }

    /// Speed of a motor over the speed for which its load is rated; `None` if it is no motor or the unit is unplugged.
    pub fn share_of_rated_speed(&self, part: usize) -> Option<f64> {
        let machine = self.wired.machine_of(part)?;
        let reference = self.wired.assembly.machines[machine].load.reference_ratio;
        Some((self.steady()?.speed_ratio(machine) / reference).abs())
    }

    /// What a motor's shaft asks for, live or not: the torque of what it drives at its rated speed, and its friction.
    pub fn shaft_torques(&self, part: usize) -> Option<(f64, f64)> {
        let load = &self.wired.assembly.machines[self.wired.machine_of(part)?].load;
        Some((load.torque.value(), load.friction_torque.value()))
    }

    /// Current over the rating of the breaker ahead, if the part is what feeds the unit.
    pub fn share_of_breaker(&self, part: usize) -> Option<f64> {
        let parts = self.unit.parts();
        let supply = parts[self.unit.supply()].kind.supply()?;
        parts[part].kind.feeds_unit().then(|| self.feed_amps() / supply.breaker_amps)
    }

    /// Potential of the metal frame to earth, volts.
    pub fn frame_volts(&self) -> f64 {
        self.steady().map_or(0.0, |steady| steady.solution().potential(self.wired.net_at(self.unit.frame())).norm())
    }

    /// Current that a person would carry from the metal frame to earth, milliamperes.
    ///
    /// # Errors
    /// [`PredictError::Network`].
    pub fn body_milliamps(&self) -> Result<f64, PredictError> {
        self.value(Measure::TouchMilliamps(self.unit.frame()), &Meter::handheld())
    }

    /// What is shown by a meter of so many ohms across two nets, volts.
    fn loaded_volts(&self, steady: &Steady<'_>, nets: (NetId, NetId), ohms: f64) -> Result<f64, PredictError> {
        if nets.0 == nets.1 {
            return Ok(0.0);
        }
        let network_error = |source| PredictError::Network { setup: self.setup.name.clone(), source };
        let across = |solution| volts_across(solution, nets, ohms).map_err(network_error);
        let whole = across(steady.solution())?;
        Ok(match &self.halves {
            Some(halves) => halves.reading(whole, across(halves.blocking.solution())?).value,
            None => whole.norm(),
        })
    }

    fn watts_of(&self, part: usize) -> (Place, f64) {
        if self.unit.parts()[part].kind.feeds_unit() {
            (Place::Part(self.unit.supply()), -1.0)
        } else {
            (Place::Part(part), 1.0)
        }
    }

    /// Prepares for questions about many pairs of terminals: each is answered at once then.
    pub fn expect_many(&self) {
        if let State::Isolated(direct) = &self.state {
            direct.prepare();
        }
    }

    /// What a meter shows for a measure, without derivatives: several times faster.
    ///
    /// # Errors
    /// As [`Observed::measure`].
    pub fn value(&self, measure: Measure, meter: &Meter) -> Result<f64, PredictError> {
        let steady = match (&self.state, measure) {
            (State::Isolated(direct), Measure::Ohms(a, b)) => {
                return Ok(direct.ohms(self.wired.net_at(a), self.wired.net_at(b)));
            }
            (_, Measure::Microfarads(a, b)) => return Ok(self.microfarads(a, b)?.value()),
            (_, Measure::Bars(part, pair)) => {
                return Ok(self.wired.bar_ring(part).map_or(0.0, |ring| ring.figure(pair).value()));
            }
            (State::Live(_), Measure::Ohms(..)) => return Err(self.ohms_on_live()),
            (State::Isolated(_), _) => return Ok(0.0),
            (State::Live(steady), _) => steady,
        };
        let solution = steady.solution();
        Ok(match measure {
            Measure::Ohms(..) | Measure::Microfarads(..) | Measure::Bars(..) => 0.0,
            Measure::Volts(a, b) => {
                self.loaded_volts(steady, (self.wired.net_at(a), self.wired.net_at(b)), meter.volts_input_ohms)?
            }
            Measure::TouchMilliamps(terminal) => {
                let nets = (self.wired.net_at(terminal), NetId::REFERENCE);
                1e3 * self.loaded_volts(steady, nets, BODY_OHMS)? / BODY_OHMS
            }
            Measure::LeakageMilliamps(part) => {
                1e3 * self.shown(&self.wired.residual_current(self.unit, part), solution)
            }
            Measure::AmpsAtTerminal(terminal) => {
                self.wired.terminal_current(terminal).map_or(0.0, |probe| self.shown(&probe, solution))
            }
            Measure::AmpsInWire(wire) => {
                self.wired.wire_current(wire).map_or(0.0, |probe| self.shown(&probe, solution))
            }
            Measure::Rpm(part) => {
                let rpm = self.wired.machine_of(part).map_or(0.0, |machine| self.wired.reference_rpm(machine));
                rpm * self.speed_ratio(part).unwrap_or(0.0).abs()
            }
            Measure::RunDown(part) => {
                self.wired.machine_of(part).map_or(0.0, |machine| run_down::seconds(self.wired, steady, machine))
            }
            Measure::Watts(part) => self.watts(part),
        })
    }

    /// What a meter makes of a phasor.
    fn shown(&self, probe: &Probe, solution: &circuit::Solution<'_>) -> f64 {
        let whole = probe.value(solution);
        let reading = |halves: &BetweenHalves<'_>| halves.reading(whole, probe.value(halves.blocking.solution())).value;
        self.halves.as_deref().map_or(whole.norm(), reading)
    }

    fn microfarads(&self, a: TerminalId, b: TerminalId) -> Result<Quantity, PredictError> {
        sees_capacitor(self.unit, self.setup, [a, b])
            .map_err(|why| PredictError::Measure { setup: self.setup.name.clone(), reason: why.words() })?;
        Ok(capacitance::microfarads(self.unit, self.wired, a))
    }

    fn ohms_on_live(&self) -> PredictError {
        let reason = "an ohmmeter cannot be used while the supply is on";
        PredictError::Measure { setup: self.setup.name.clone(), reason }
    }

    /// What a meter shows for a measure, with derivatives.
    ///
    /// # Errors
    /// [`PredictError::Measure`] for ohms on a live unit, and for microfarads of what is no capacitor off its wires.
    pub fn measure(&mut self, measure: Measure, meter: &Meter) -> Result<Prediction, PredictError> {
        let unknowns = self.wired.assembly.unknown_count;
        let nothing = Prediction { value: 0.0, gradient: vec![0.0; unknowns] };
        if let Measure::Microfarads(a, b) = measure {
            return Ok(nothing.with(&self.microfarads(a, b)?));
        }
        let (setup, halves) = (self.setup, self.halves.as_deref_mut());
        let network_error = move |source| PredictError::Network { setup: setup.name.clone(), source };
        let steady = match (&mut self.state, measure) {
            (State::Isolated(direct), Measure::Ohms(a, b)) => {
                let pair = direct.resistance(self.wired.net_at(a), self.wired.net_at(b), unknowns);
                return Ok(Prediction { value: pair.ohms, gradient: pair.gradient });
            }
            (_, Measure::Bars(part, pair)) => {
                let Some(ring) = self.wired.bar_ring(part) else { return Ok(nothing) };
                return Ok(nothing.with(ring.figure(pair)));
            }
            (State::Live(_), Measure::Ohms(..)) => return Err(self.ohms_on_live()),
            (State::Isolated(_), _) => return Ok(nothing),
            (State::Live(steady), _) => steady,
        };
        match measure {
            Measure::Ohms(..) | Measure::Microfarads(..) | Measure::Bars(..) => Ok(nothing),
            Measure::Volts(a, b) => {
                let (plus, minus) = (self.wired.net_at(a), self.wired.net_at(b));
                if plus == minus {
                    return Ok(nothing);
                }
                volts(steady, halves, (plus, minus), meter.volts_input_ohms).map_err(network_error)
            }
            Measure::TouchMilliamps(terminal) => {
                let net = self.wired.net_at(terminal);
                if net == NetId::REFERENCE {
                    return Ok(nothing);
                }
                let volts = volts(steady, halves, (net, NetId::REFERENCE), BODY_OHMS).map_err(network_error)?;
                Ok(volts.times(1e3 / BODY_OHMS))
            }
            Measure::LeakageMilliamps(part) => {
                let probe = self.wired.residual_current(self.unit, part);
                Ok(magnitude(steady, halves, probe).map_err(network_error)?.times(1e3))
            }
            Measure::AmpsAtTerminal(terminal) => match self.wired.terminal_current(terminal) {
                Some(probe) => magnitude(steady, halves, probe).map_err(network_error),
                None => Ok(nothing),
            },
            Measure::AmpsInWire(wire) => match self.wired.wire_current(wire) {
                Some(probe) => magnitude(steady, halves, probe).map_err(network_error),
                None => Ok(nothing),
            },
            Measure::Rpm(part) => {
                let Some(machine) = self.wired.machine_of(part) else { return Ok(nothing) };
                let synchronous = self.wired.reference_rpm(machine);
                let ratio = steady.speed_ratio(machine);
                let scale = synchronous * ratio.signum();
                let slopes = steady.speed_gradient(machine).map_err(network_error)?;
                let gradient = slopes.iter().map(|slope| slope * scale).collect();
                Ok(Prediction { value: synchronous * ratio.abs(), gradient })
            }
            Measure::RunDown(part) => match self.wired.machine_of(part) {
                Some(machine) => run_down::prediction(self.wired, steady, machine).map_err(network_error),
                None => Ok(nothing),
            },
            Measure::Watts(part) => {
                let feeds = self.unit.parts()[part].kind.feeds_unit();
                let place = Place::Part(if feeds { self.unit.supply() } else { part });
                let sign = if feeds { -1.0 } else { 1.0 };
                let mut total = nothing;
                for element in self.wired.elements_of(place) {
                    let probe = Probe::power(steady.solution(), element.branch);
                    total.value += sign * steady.solution().power(element.branch).re;
                    let slopes = steady.gradient(&probe).map_err(network_error)?;
                    for (sum, slope) in total.gradient.iter_mut().zip(slopes) {
                        *sum += sign * slope;
                    }
                }
                Ok(total)
            }
        }
    }
}
