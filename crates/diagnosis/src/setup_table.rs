//! Everything a setup would show, with the spread that unknown values leave in it.

use crate::prior::Prior;
use bench::heat::{Trip, trips};
use bench::switching::PlacedContact;
use bench::wiring::Owner;
use bench::words::moved_contact;
use bench::{
    FaultSet, Job, Measure, Meter, Observed, Place, PredictError, Prediction, TerminalId, Unit, observe, sees_capacitor,
};
use circuit::{Complex64, Probe};
use machine::Motion;

/// A value and its standard deviation.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Spread {
    /// Most probable value; `None` stands for an infinite resistance.
    pub value: Option<f64>,
    /// Standard deviation.
    pub spread: f64,
}

/// A terminal of a live unit.
#[derive(Debug, Clone, PartialEq)]
pub struct TerminalRow {
    /// The terminal.
    pub terminal: TerminalId,
    /// Volts to the neutral of the supply.
    pub volts: Spread,
    /// Amperes from the wires into the part; `None` while its wires are lifted.
    pub amps: Option<Spread>,
}

/// An element of a live unit.
#[derive(Debug, Clone, PartialEq)]
pub struct ElementRow {
    /// Where it belongs.
    pub place: Place,
    /// What it is.
    pub label: String,
    /// Volts across it.
    pub volts: Spread,
    /// Amperes through it.
    pub amps: Spread,
    /// Watts it takes; negative if it delivers.
    pub watts: Spread,
}

/// A motor of a live unit.
#[derive(Debug, Clone, PartialEq)]
pub struct MotorRow {
    /// The motor.
    pub part: usize,
    /// What it does.
    pub motion: Motion,
    /// Revolutions per minute; negative when it runs backward.
    pub rpm: Spread,
    /// Electrical torque, newton metres.
    pub torque: Spread,
}

/// Ohms between two terminals of one part of an unplugged unit, everything else connected as the setup says.
#[derive(Debug, Clone, PartialEq)]
pub struct OhmsRow {
    /// One terminal.
    pub from: TerminalId,
    /// The other.
    pub to: TerminalId,
    /// Ohms.
    pub ohms: Spread,
}

/// Capacitance of a capacitor that is off its wires.
#[derive(Debug, Clone, PartialEq)]
pub struct CapacitanceRow {
    /// The part.
    pub part: usize,
    /// Microfarads; no value if a meter shows over range.
    pub microfarads: Spread,
}

/// The metal of a live unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FrameRow {
    /// Volts to the earth of the supply.
    pub volts: Spread,
    /// Through a person from the frame to earth, milliamperes.
    pub touch_milliamps: Spread,
    /// What does not come back to the supply, milliamperes.
    pub leakage_milliamps: Spread,
}

/// Everything a setup would show.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SetupTable {
    /// Whether the breaker opens at once.
    pub breaker_opened: bool,
    /// Whether the earth-leakage trip opens.
    pub residual_trip_opened: bool,
    /// Whether all speeds and contacts settled.
    pub settled: bool,
    /// Contacts that have moved by themselves, or were called on to and cannot, in words: `M1: the centrifugal switch has
    /// opened`.
    pub moved: Vec<String>,
    /// A part whose contact moves to and fro without end.
    pub chattering: Option<usize>,
    /// Parts whose linear iron gets too many volts, with how many times those of their plates.
    pub saturated: Vec<(usize, f64)>,
    /// Terminals, live.
    pub terminals: Vec<TerminalRow>,
    /// Elements, live.
    pub elements: Vec<ElementRow>,
    /// The frame, live.
    pub frame: Option<FrameRow>,
    /// Motors, live.
    pub motors: Vec<MotorRow>,
    /// Ohms, unplugged.
    pub ohms: Vec<OhmsRow>,
    /// Of an unplugged unit.
    pub capacitances: Vec<CapacitanceRow>,
    /// Fuses, overloads and the breaker that the currents open in the end, soonest first.
    pub trips: Vec<Trip>,
}

/// Predicts everything in a setup with faults put in, values at `deviations`.
///
/// # Errors
/// [`PredictError`] if the setup has no solution.
pub fn setup_table(job: &Job, setup: usize, faults: &FaultSet, deviations: &[f64]) -> Result<SetupTable, PredictError> {
    let prior = Prior::new(&job.unit).with_severities(&job.unit, faults);
    observe(&job.unit, &job.setups[setup], faults, deviations, |observed| {
        let trips = trips(&job.unit, observed, faults, deviations);
        fill(job, faults, &prior, observed).map(|table| SetupTable { trips, ..table })
    })?
}

fn fill(job: &Job, faults: &FaultSet, prior: &Prior, observed: &mut Observed<'_>) -> Result<SetupTable, PredictError> {
    let unit = &job.unit;
    let meter = &job.meters[0];
    let row = |prediction: Prediction| spread_of(prior, &prediction);
    let moved = |placed: &&PlacedContact| observed.conditions().moved_contacts.contains(&placed.id);
    let words =
        |placed: &PlacedContact| format!("{}: {}", unit.parts()[placed.id.0].name, moved_contact(unit, placed, faults));
    let moved: Vec<String> = unit.own_contacts().iter().filter(moved).map(words).collect();
    let chattering = observed.chattering().map(|(part, _)| part);
    let mut table = SetupTable {
        moved,
        chattering,
        breaker_opened: observed.breaker_opened(),
        residual_trip_opened: observed.residual_trip_opened(),
        settled: observed.settled(),
        saturated: observed.saturated(),
        ..SetupTable::default()
    };
    if !observed.setup().energised {
        for part in (0..unit.parts().len()).filter(|&part| part != unit.supply()) {
            for from in unit.terminals_of(part) {
                for to in from + 1..unit.terminals_of(part).end {
                    let (from, to) = (TerminalId(from), TerminalId(to));
                    let measure = Measure::Ohms(from, to);
                    let ohms = row(over_range(observed.measure(measure, meter)?, measure, meter));
                    table.ohms.push(OhmsRow { from, to, ohms });
                    if sees_capacitor(unit, observed.setup(), [from, to]).is_ok() {
                        let measure = Measure::Microfarads(from, to);
                        let microfarads = row(over_range(observed.measure(measure, meter)?, measure, meter));
                        table.capacitances.push(CapacitanceRow { part, microfarads });
                    }
                }
            }
        }
        return Ok(table);
    }
    let neutral = unit.neutral();
    for terminal in (0..unit.terminal_count()).map(TerminalId) {
        let volts = row(observed.measure(Measure::Volts(terminal, neutral), meter)?);
        let lifted = observed.setup().lifted.contains(&terminal);
        let amps = if lifted { None } else { Some(row(observed.measure(Measure::AmpsAtTerminal(terminal), meter)?)) };
        table.terminals.push(TerminalRow { terminal, volts, amps });
    }
    table.elements = elements(prior, observed)?;
    let (frame, earth) = (unit.frame(), earth_of(unit));
    table.frame = Some(FrameRow {
        volts: row(observed.measure(Measure::Volts(frame, earth), meter)?),
        touch_milliamps: row(observed.measure(Measure::TouchMilliamps(frame), meter)?),
        leakage_milliamps: row(observed.measure(Measure::LeakageMilliamps(unit.supply()), meter)?),
    });
    for part in 0..unit.parts().len() {
        let Some(machine) = observed.wired().machine_of(part) else { continue };
        let synchronous = observed.wired().reference_rpm(machine);
        let setup = observed.setup().name.clone();
        let Some(steady) = observed.steady_mut() else { continue };
        let failed = |source| PredictError::Network { setup, source };
        let torque_gradient = steady.torque_gradient(machine).map_err(failed.clone())?;
        let torque = row(Prediction { value: steady.torque(machine), gradient: torque_gradient });
        let ratio = steady.speed_ratio(machine);
        let gradient =
            steady.speed_gradient(machine).map_err(failed)?.iter().map(|slope| slope * synchronous).collect();
        let rpm = row(Prediction { value: ratio * synchronous, gradient });
        table.motors.push(MotorRow { part, motion: steady.motion(machine), rpm, torque });
    }
    Ok(table)
}

/// The earth of the supply: its live conductors come first, then neutral.
fn earth_of(unit: &Unit) -> TerminalId {
    let supply = unit.supply();
    TerminalId(unit.terminals_of(supply).start + unit.parts()[supply].kind.live_conductors() + 1)
}

fn elements(prior: &Prior, observed: &mut Observed<'_>) -> Result<Vec<ElementRow>, PredictError> {
    let wired = observed.wired();
    let setup = observed.setup().name.clone();
    let Some(steady) = observed.steady_mut() else { return Ok(Vec::new()) };
    let failed = |source| PredictError::Network { setup: setup.clone(), source };
    let mut rows = Vec::new();
    for element in &wired.elements {
        let Owner::Place(place) = element.owner else { continue };
        let ends = &wired.assembly.network.branches()[element.branch.0];
        let mut magnitude = |probe: Probe| -> Result<Spread, PredictError> {
            let value = probe.value(steady.solution());
            let gradient = steady.gradient(&probe.scaled(Probe::magnitude_weights(value))).map_err(failed)?;
            Ok(Spread { value: Some(value.norm()), spread: prior.whiten(&gradient).norm() })
        };
        let volts = magnitude(Probe::voltage(ends.from, ends.to))?;
        let amps = magnitude(Probe::currents(vec![(element.branch, Complex64::ONE)]))?;
        let probe = Probe::power(steady.solution(), element.branch);
        let value = steady.solution().power(element.branch).re;
        let gradient = steady.gradient(&probe).map_err(failed)?;
        let watts = Spread { value: Some(value), spread: prior.whiten(&gradient).norm() };
        rows.push(ElementRow { place, label: element.label.to_string(), volts, amps, watts });
    }
    Ok(rows)
}

/// What a single measure would show in a setup with faults put in, values at `deviations`.
///
/// # Errors
/// [`PredictError`] if the setup has no solution or the measure does not fit it.
pub fn expected(
    job: &Job,
    setup: usize,
    measure: Measure,
    faults: &FaultSet,
    deviations: &[f64],
) -> Result<Spread, PredictError> {
    let prior = Prior::new(&job.unit).with_severities(&job.unit, faults);
    observe(&job.unit, &job.setups[setup], faults, deviations, |observed| {
        let prediction = observed.measure(measure, &job.meters[0])?;
        Ok(spread_of(&prior, &over_range(prediction, measure, &job.meters[0])))
    })?
}

fn spread_of(prior: &Prior, prediction: &Prediction) -> Spread {
    Spread {
        value: prediction.value.is_finite().then_some(prediction.value),
        spread: prior.whiten(&prediction.gradient).norm(),
    }
}

/// What is above the meter's range is infinite.
fn over_range(prediction: Prediction, measure: Measure, meter: &Meter) -> Prediction {
    if prediction.value > meter.limit(measure) {
        return Prediction { value: f64::INFINITY, gradient: vec![0.0; prediction.gradient.len()] };
    }
    prediction
}
