//! What a meter would show: a unit in a setup, solved, and asked.

mod flow;

pub use flow::ElementFlow;

use crate::fault::{FaultSet, Place};
use crate::meter::Meter;
use crate::protection::trips;
use crate::reading::Measure;
use crate::setup::Setup;
use crate::switching::{ContactId, Switching};
use crate::unit::Unit;
use crate::wiring::{CORE_LOSS_BRANCH, Conditions, Wired, wire_up};
use circuit::{BranchId, Complex64, DirectNetwork, NetId, Probe, SolveError};
use machine::{Motion, Steady};

/// A person from hand to earth, ohms. At supply frequency the touch-current network of IEC 60990 (1500 ohm beside 0.22
/// microfarad, with 500 ohm in series; from memory) has 1.99 kohm; it is taken as a plain resistance.
const BODY_OHMS: f64 = 2000.0;

/// A predicted reading and its derivative by every unknown.
#[derive(Debug, Clone, PartialEq)]
pub struct Prediction {
    /// In the measure's unit; infinite for a resistance without a path.
    pub value: f64,
    /// `d value / d deviation`.
    pub gradient: Vec<f64>,
}

impl Prediction {
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

enum State<'a> {
    Isolated(DirectNetwork<'a>),
    Live(Box<Steady<'a>>),
}

/// A unit in a setup, solved.
pub struct Observed<'a> {
    unit: &'a Unit,
    setup: &'a Setup,
    wired: &'a Wired,
    state: State<'a>,
    conditions: Conditions,
    chattering: Option<ContactId>,
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
    solve(Moment { unit, setup, faults, deviations, derivatives: true }, Conditions::default(), &mut Vec::new(), look)
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
    solve(Moment { unit, setup, faults, deviations, derivatives: false }, Conditions::default(), &mut Vec::new(), look)
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
    let moment = Moment { unit, setup, faults, deviations, derivatives: false };
    solve(moment, conditions.clone(), speeds, look)
}

/// What is to be solved.
struct Moment<'m> {
    unit: &'m Unit,
    setup: &'m Setup,
    faults: &'m FaultSet,
    deviations: &'m [f64],
    derivatives: bool,
}

/// Solves a moment in which `conditions` hold, from the speeds of a moment before if there are any.
fn solve<R>(
    moment: Moment<'_>,
    mut conditions: Conditions,
    speeds: &mut Vec<f64>,
    look: impl FnOnce(&mut Observed<'_>) -> R,
) -> Result<R, PredictError> {
    let Moment { unit, setup, faults, deviations, derivatives } = moment;
    let network_error = |source| PredictError::Network { setup: setup.name.clone(), source };
    if !setup.energised {
        speeds.iter_mut().for_each(|speed| *speed = 0.0);
        let wired = wire_up(unit, setup, faults, deviations, &conditions, derivatives);
        let direct = DirectNetwork::new(&wired.assembly.network).map_err(network_error)?;
        let state = State::Isolated(direct);
        return Ok(look(&mut Observed { unit, setup, wired: &wired, state, conditions, chattering: None }));
    }
    let mut switching = Switching::new(unit);
    loop {
        let wired = wire_up(unit, setup, faults, deviations, &conditions, derivatives);
        let factored = wired.assembly.factor().map_err(network_error)?;
        let ratios = wired.assembly.ratios_after(speeds);
        let (steady, wants) = switching.run_up(&wired, &factored, ratios, &conditions).map_err(network_error)?;
        if wants.is_none() && !conditions.is_cut_off() && trips(unit, &wired, &steady, &mut conditions) {
            switching.begin_again(&mut conditions);
            speeds.clear();
            continue;
        }
        *speeds = steady.speed_ratios().to_vec();
        if let Some(contact) = wants.or_else(|| switching.warmed(&wired, &conditions, &steady)) {
            switching.toggle(contact, &mut conditions);
            continue;
        }
        let state = State::Live(Box::new(steady));
        let chattering = switching.chattering();
        return Ok(look(&mut Observed { unit, setup, wired: &wired, state, conditions, chattering }));
    }
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
        self.chattering.is_none() && self.steady().is_none_or(Steady::settled)
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

    /// Heat in a part's windings, watts.
    pub fn windings_heat(&self, part: usize) -> f64 {
        self.branch_heat(part, |label| label != CORE_LOSS_BRANCH)
    }

    /// Heat in a part's core and rotor, watts.
    pub fn iron_heat(&self, part: usize) -> f64 {
        let rotor = self.steady().zip(self.wired.machine_of(part));
        self.branch_heat(part, |label| label == CORE_LOSS_BRANCH)
            + rotor.map_or(0.0, |(steady, machine)| steady.rotor_loss(machine))
    }

    fn branch_heat(&self, part: usize, wanted: impl Fn(&str) -> bool) -> f64 {
        let Some(steady) = self.steady() else { return 0.0 };
        let elements = self.wired.elements_of(Place::Part(part)).filter(|element| wanted(&element.label));
        elements.map(|element| self.copper_loss(steady, element.branch)).sum()
    }

    /// Heat in a motor's windings and rotor, or in any other part, watts.
    pub fn heat(&self, part: usize) -> f64 {
        let Some(steady) = self.steady() else { return 0.0 };
        let copper: f64 =
            self.wired.elements_of(Place::Part(part)).map(|element| self.copper_loss(steady, element.branch)).sum();
        copper + self.wired.machine_of(part).map_or(0.0, |machine| steady.rotor_loss(machine))
    }

    fn copper_loss(&self, steady: &Steady<'_>, branch: BranchId) -> f64 {
        let ohms = self.wired.assembly.network.branches()[branch.0].resistance.value();
        steady.solution().current(branch).norm_sqr() * ohms
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

    /// Volts between two nets with `ohms` across them.
    fn loaded_volts(&self, steady: &Steady<'_>, plus: NetId, minus: NetId, ohms: f64) -> Result<f64, PredictError> {
        if plus == minus {
            return Ok(0.0);
        }
        let solution = steady.solution();
        let network_error = |source| PredictError::Network { setup: self.setup.name.clone(), source };
        let thevenin = solution.impedance_between(plus, minus).map_err(network_error)?;
        let open_volts = solution.potential(plus) - solution.potential(minus);
        Ok((open_volts / (Complex64::ONE + thevenin / ohms)).norm())
    }

    fn watts_of(&self, part: usize) -> (Place, f64) {
        if self.unit.parts()[part].kind.feeds_unit() {
            (Place::Part(self.unit.supply()), -1.0)
        } else {
            (Place::Part(part), 1.0)
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
            (State::Live(_), Measure::Ohms(..)) => return Err(self.ohms_on_live()),
            (State::Isolated(_), _) => return Ok(0.0),
            (State::Live(steady), _) => steady,
        };
        let solution = steady.solution();
        Ok(match measure {
            Measure::Ohms(..) => 0.0,
            Measure::Volts(a, b) => {
                self.loaded_volts(steady, self.wired.net_at(a), self.wired.net_at(b), meter.volts_input_ohms)?
            }
            Measure::TouchMilliamps(terminal) => {
                let volts = self.loaded_volts(steady, self.wired.net_at(terminal), NetId::REFERENCE, BODY_OHMS)?;
                1e3 * volts / BODY_OHMS
            }
            Measure::LeakageMilliamps(part) => {
                1e3 * self.wired.residual_current(self.unit, part).value(solution).norm()
            }
            Measure::AmpsAtTerminal(terminal) => {
                self.wired.terminal_current(terminal).map_or(0.0, |probe| probe.value(solution).norm())
            }
            Measure::AmpsInWire(wire) => {
                self.wired.wire_current(wire).map_or(0.0, |probe| probe.value(solution).norm())
            }
            Measure::Rpm(part) => {
                let synchronous = self.unit.parts()[part].kind.synchronous_rpm(self.unit.hertz()).unwrap_or(0.0);
                synchronous * self.speed_ratio(part).unwrap_or(0.0).abs()
            }
            Measure::Watts(part) => self.watts(part),
        })
    }

    fn ohms_on_live(&self) -> PredictError {
        let reason = "an ohmmeter cannot be used while the supply is on";
        PredictError::Measure { setup: self.setup.name.clone(), reason }
    }

    /// What a meter shows for a measure, with derivatives.
    ///
    /// # Errors
    /// [`PredictError::Measure`] for ohms on a live unit.
    pub fn measure(&mut self, measure: Measure, meter: &Meter) -> Result<Prediction, PredictError> {
        let unknowns = self.wired.assembly.unknown_count;
        let nothing = Prediction { value: 0.0, gradient: vec![0.0; unknowns] };
        let setup = self.setup;
        let network_error = move |source| PredictError::Network { setup: setup.name.clone(), source };
        let steady = match (&mut self.state, measure) {
            (State::Isolated(direct), Measure::Ohms(a, b)) => {
                let pair = direct.resistance(self.wired.net_at(a), self.wired.net_at(b), unknowns);
                return Ok(Prediction { value: pair.ohms, gradient: pair.gradient });
            }
            (State::Live(_), Measure::Ohms(..)) => return Err(self.ohms_on_live()),
            (State::Isolated(_), _) => return Ok(nothing),
            (State::Live(steady), _) => steady,
        };
        match measure {
            Measure::Ohms(..) => Ok(nothing),
            Measure::Volts(a, b) => {
                let (plus, minus) = (self.wired.net_at(a), self.wired.net_at(b));
                if plus == minus {
                    return Ok(nothing);
                }
                volts(steady, plus, minus, 1.0 / meter.volts_input_ohms).map_err(network_error)
            }
            Measure::TouchMilliamps(terminal) => {
                let net = self.wired.net_at(terminal);
                if net == NetId::REFERENCE {
                    return Ok(nothing);
                }
                let volts = volts(steady, net, NetId::REFERENCE, 1.0 / BODY_OHMS).map_err(network_error)?;
                Ok(volts.times(1e3 / BODY_OHMS))
            }
            Measure::LeakageMilliamps(part) => {
                let probe = self.wired.residual_current(self.unit, part);
                Ok(magnitude(steady, probe).map_err(network_error)?.times(1e3))
            }
            Measure::AmpsAtTerminal(terminal) => match self.wired.terminal_current(terminal) {
                Some(probe) => magnitude(steady, probe).map_err(network_error),
                None => Ok(nothing),
            },
            Measure::AmpsInWire(wire) => match self.wired.wire_current(wire) {
                Some(probe) => magnitude(steady, probe).map_err(network_error),
                None => Ok(nothing),
            },
            Measure::Rpm(part) => {
                let Some(machine) = self.wired.machine_of(part) else { return Ok(nothing) };
                let synchronous = self.unit.parts()[part].kind.synchronous_rpm(self.unit.hertz()).unwrap_or(0.0);
                let ratio = steady.speed_ratio(machine);
                let scale = synchronous * ratio.signum();
                let slopes = steady.speed_gradient(machine).map_err(network_error)?;
                let gradient = slopes.iter().map(|slope| slope * scale).collect();
                Ok(Prediction { value: synchronous * ratio.abs(), gradient })
            }
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

/// Reading of a voltmeter with its own admittance across the nets.
///
/// Only a net with next to nothing behind it feels the meter; its ghost voltage then collapses as on a real meter.
fn volts(steady: &mut Steady<'_>, plus: NetId, minus: NetId, admittance: f64) -> Result<Prediction, SolveError> {
    let probe = Probe::voltage(plus, minus);
    let thevenin = steady.solution().impedance_between(plus, minus)?;
    if (thevenin * admittance).norm() < 1e-6 {
        return magnitude(steady, probe);
    }
    let loaded = steady.solution().loaded(plus, minus, admittance)?;
    let shown = probe.value(&loaded);
    let weight = Probe::magnitude_weights(shown);
    let divider = (Complex64::ONE + thevenin * admittance).inv();
    let gradient = steady.gradient_of_loaded(&loaded, &probe, divider * weight)?;
    Ok(Prediction { value: shown.norm(), gradient })
}

fn magnitude(steady: &mut Steady<'_>, probe: Probe) -> Result<Prediction, SolveError> {
    let value = probe.value(steady.solution());
    let gradient = steady.gradient(&probe.scaled(Probe::magnitude_weights(value)))?;
    Ok(Prediction { value: value.norm(), gradient })
}
