//! The unit as the heat network sees it: what each body takes at its temperatures, and what switches.

use super::body::{HeatContact, HeatSource, PartHeat, RATED_RISE_KELVIN};
use super::contact::contact_of;
use super::layout::HeatLayout;
use super::simulate::Case;
use super::timeline::{End, Event, Sample, Timeline, What, end_of};
use crate::meter::Meter;
use crate::observe::{Observed, PredictError, observe_moment};
use crate::reading::Measure;
use crate::switching::ContactId;
use crate::unit::{TerminalId, Unit};
use crate::wiring::{Conditions, fault_size};
use machine::LoadLaw;
use machine::heat::{Plant, Regime, RunOutcome, Threshold};
use std::collections::BTreeSet;

/// Fault of a fan's motor by which less air passes, and fault of the frame by which the unit stands in hot air.
pub(crate) const AIR_BLOCKED: &str = "air-blocked";
pub(crate) const HOT_SURROUNDINGS: &str = "hot-surroundings";
/// Air that a fan slipping on its shaft still moves (engineering judgement).
const LOOSE_FAN_SHARE: f64 = 0.1;
/// Time in which the pressures about a stopped compressor become level, seconds (common practice, no source: wait three
/// minutes before switching on again).
const LEVELLING_SECONDS: f64 = 180.0;

/// What stays the same throughout a run.
struct World<'a> {
    case: Case<'a>,
    layout: &'a HeatLayout,
    room_celsius: f64,
    /// Contacts that heat moves, by part.
    contacts: Vec<(usize, HeatContact)>,
    /// Windings: part and body, the temperature of its class and that at which it burns out, degrees Celsius.
    windings: Vec<((usize, usize), f64, f64)>,
    /// Share of its air that each part's fan moves at rated speed, faults counted.
    fan_share: Vec<f64>,
    meter: Meter,
}

/// What a unit has brought about in itself at a moment that may be kept or not.
#[derive(Default)]
struct Tried {
    moved: BTreeSet<ContactId>,
    running: BTreeSet<usize>,
    breaker_open: bool,
    residual_trip_open: bool,
}

/// A unit going through a run.
pub(super) struct Simulation<'a, T, L> {
    world: World<'a>,
    /// Which step of the run holds.
    step: usize,
    conditions: Conditions,
    /// Speeds at the moment last solved, by machine.
    speeds: Vec<f64>,
    /// What the unit had brought about at the moment last solved.
    tried: Tried,
    /// Compressors that turn.
    running: BTreeSet<usize>,
    /// Compressors that have stopped, and when their pressures will be level.
    levelling: Vec<(usize, f64)>,
    /// Windings, by part and body, that have passed their class.
    past_class: BTreeSet<(usize, usize)>,
    /// The winding that has burnt out, which ends the run.
    burnt: Option<(usize, usize)>,
    times: &'a [f64],
    look: L,
    samples: Vec<Sample<T>>,
    events: Vec<Event>,
    /// What went wrong while recording, to be told at the next occasion.
    trouble: Option<PredictError>,
}

impl<'a> World<'a> {
    fn new(case: Case<'a>, layout: &'a HeatLayout) -> Self {
        let unit = case.unit;
        let size = |part: usize, name: &str| fault_size(unit, case.faults, case.deviations, part, name);
        let contact = |part: usize| Some((part, contact_of(unit, case.faults, case.deviations, part)?));
        let windings = |part: usize| {
            let class = unit.winding_class(part);
            let of_body = move |body: usize| ((part, body), class.class.celsius(), class.burns_celsius());
            unit.heat_of(part).windings().map(of_body)
        };
        let fan_share = |part: usize| {
            let left = 1.0 - size(part, AIR_BLOCKED).unwrap_or(0.0);
            if size(part, "fan-loose").is_some() { left * LOOSE_FAN_SHARE } else { left }
        };
        let warmer = size(unit.part_of(unit.frame()), HOT_SURROUNDINGS).unwrap_or(0.0);
        World {
            case,
            layout,
            room_celsius: case.run.room_celsius + warmer,
            contacts: (0..unit.parts().len()).filter_map(contact).collect(),
            windings: (0..unit.parts().len()).flat_map(windings).collect(),
            fan_share: (0..unit.parts().len()).map(fan_share).collect(),
            meter: Meter::handheld(),
        }
    }

    fn unit(&self) -> &'a Unit {
        self.case.unit
    }

    /// Takes the temperatures of windings and rotors, by part, from those of the nodes.
    ///
    /// A part's first body is its winding, its last is what its rotor is as warm as; a second winding without a body of its own
    /// is as warm as the first.
    fn set_celsius(&self, conditions: &mut Conditions, celsius: &[f64]) {
        let parts = 0..self.unit().parts().len();
        let of = |part: usize, body: fn(&PartHeat) -> usize| match self.unit().heat_of(part) {
            heat if heat.bodies.is_empty() => self.room_celsius,
            heat => celsius[self.layout.node(part, body(heat))],
        };
        conditions.winding_celsius = parts.clone().map(|part| of(part, |_| 0)).collect();
        conditions.second_winding_celsius =
            parts.clone().map(|part| of(part, |heat| heat.second_winding().unwrap_or(0))).collect();
        conditions.rotor_celsius = parts.map(|part| of(part, |heat| heat.bodies.len() - 1)).collect();
    }

    /// Solves the unit in a step of the run and hands it to `look`.
    fn observe<R>(
        &self,
        step: usize,
        conditions: &Conditions,
        speeds: &mut Vec<f64>,
        look: impl FnOnce(&mut Observed<'_>) -> R,
    ) -> Result<R, PredictError> {
        let Case { unit, setups, run, faults, deviations, .. } = self.case;
        observe_moment(unit, &setups[run.steps[step].setup], faults, deviations, conditions, speeds, look)
    }

    fn regime(&self, observed: &Observed<'_>) -> Regime {
        let watts =
            self.layout.nodes.iter().map(|node| node.map_or(0.0, |(part, body)| self.heat(observed, part, body)));
        let flow = |part: usize| observed.share_of_rated_speed(part).unwrap_or(0.0) * self.fan_share[part];
        Regime {
            watts: watts.collect(),
            watts_per_kelvin: self.layout.watts_per_kelvin(flow),
            fixed_celsius: HeatLayout::fixed_celsius(self.room_celsius),
        }
    }

    /// Heat into a body, watts.
    fn heat(&self, observed: &Observed<'_>, part: usize, body: usize) -> f64 {
        match self.unit().heat_of(part).bodies[body].source {
            HeatSource::Windings => observed.windings_heat(part),
            HeatSource::MainWinding => observed.windings_heat(part) - observed.second_winding_heat(part),
            HeatSource::SecondWinding => observed.second_winding_heat(part),
            HeatSource::Iron => observed.iron_heat(part),
            HeatSource::Everything => observed.heat(part),
            HeatSource::Nothing => 0.0,
            HeatSource::HeaterVolts { element, rated_volts } => {
                RATED_RISE_KELVIN * (observed.element_volts(part, element) / rated_volts).powi(2)
            }
            HeatSource::SelfHeld { element, hold_watts, least_watts } => {
                let watts = observed.element_heat(part, element);
                let is_hot = observed.conditions().moved_contacts.contains(&(part, 0));
                match watts > least_watts {
                    true if is_hot => hold_watts,
                    true => watts,
                    false => 0.0,
                }
            }
            HeatSource::Disc { terminals, rated_amps, rated_watts } => {
                rated_watts * (most_amps(self.unit(), observed, part, terminals, &self.meter) / rated_amps).powi(2)
            }
            source @ (HeatSource::Current { .. } | HeatSource::Feed { .. }) => {
                RATED_RISE_KELVIN * times_rated(self.unit(), observed, part, source, &self.meter).powi(2)
            }
        }
    }

    fn brought_about(&self, observed: &Observed<'_>) -> Tried {
        let wired = observed.wired();
        let compresses = |part: usize, machine: usize| {
            observed.conditions().against_pressure.contains(&part)
                || wired.assembly.machines[machine].load.law == LoadLaw::LevelPressure
        };
        let turns = |&part: &usize| {
            wired.machine_of(part).is_some_and(|machine| compresses(part, machine))
                && observed.speed_ratio(part).is_some_and(|ratio| ratio != 0.0)
        };
        let running = (0..self.unit().parts().len()).filter(turns).collect();
        let moved = observed.conditions().moved_contacts.clone();
        Tried {
            moved,
            running,
            breaker_open: observed.breaker_opened(),
            residual_trip_open: observed.residual_trip_opened(),
        }
    }

    /// Whether a crossing, by its threshold, is that of a disc; those behind the contacts are of windings.
    fn follows(&self, index: usize) -> bool {
        let is_disc = |&(part, contact): &(usize, HeatContact)| {
            matches!(self.unit().heat_of(part).bodies[contact.body].source, HeatSource::SelfHeld { .. })
        };
        self.contacts.get(index).is_some_and(is_disc)
    }

    fn has_moved(&self, conditions: &Conditions, index: usize) -> bool {
        let (part, contact) = self.contacts[index];
        if part == self.unit().supply() {
            return conditions.breaker_open;
        }
        conditions.moved_contacts.contains(&(part, contact.contact))
    }
}

impl<'a, T, L: FnMut(&mut Observed<'_>) -> T> Simulation<'a, T, L> {
    pub(super) fn new(case: Case<'a>, layout: &'a HeatLayout, times: &'a [f64], look: L) -> Self {
        Simulation {
            world: World::new(case, layout),
            step: 0,
            conditions: Conditions { follows_heat: true, ..Conditions::default() },
            speeds: Vec::new(),
            tried: Tried::default(),
            running: BTreeSet::new(),
            levelling: Vec::new(),
            past_class: BTreeSet::new(),
            burnt: None,
            times,
            look,
            samples: Vec::new(),
            events: vec![Event { seconds: 0.0, what: What::Setup(case.run.steps[0].setup) }],
            trouble: None,
        }
    }

    pub(super) fn room_celsius(&self) -> f64 {
        self.world.room_celsius
    }

    pub(super) fn finish(self, outcome: &RunOutcome) -> Timeline<T> {
        let parts: Vec<usize> = self.world.contacts.iter().map(|&(part, _)| part).collect();
        let (nodes, air) = (self.world.layout.nodes.clone(), self.world.layout.air.clone());
        // Only contacts cycle, and a disc that its own current warms only follows what feeds it.
        let mut outcome = outcome.clone();
        outcome.crossings.retain(|crossing| crossing.index < parts.len() && !self.world.follows(crossing.index));
        let mut end = match self.burnt {
            Some(winding) => End::BurntOut(Some(winding)),
            None => end_of(&outcome, &parts, &nodes),
        };
        let closes_warm = |part: usize| self.world.contacts.iter().any(|of| of.0 == part && of.1.warmth_closes);
        if let End::Cycling { part, closed_share, .. } = &mut end
            && closes_warm(*part)
        {
            *closed_share = 1.0 - *closed_share;
        }
        let (room_celsius, end_celsius) = (self.room_celsius(), outcome.celsius);
        Timeline { samples: self.samples, events: self.events, end, end_celsius, nodes, air, room_celsius }
    }

    /// The end of a run in which a node got hotter than anything holds.
    pub(super) fn run_away(mut self, seconds: f64, node: usize, celsius: f64) -> Timeline<T> {
        let (nodes, air) = (self.world.layout.nodes.clone(), self.world.layout.air.clone());
        let place = nodes[node];
        self.events.extend(place.map(|(part, body)| Event { seconds, what: What::BurntOut(part, body) }));
        let last = self.samples.last().map(|sample| sample.celsius.clone());
        let mut end_celsius = last.unwrap_or_else(|| vec![self.world.room_celsius; nodes.len()]);
        end_celsius[node] = celsius;
        let (room_celsius, end) = (self.room_celsius(), End::BurntOut(place));
        Timeline { samples: self.samples, events: self.events, end, end_celsius, nodes, air, room_celsius }
    }

    /// A winding passes the temperature of its class, or burns out.
    fn winding_crossed(&mut self, seconds: f64, winding: (usize, usize)) {
        let (part, body) = winding;
        let what = if self.past_class.insert(winding) {
            What::PassesClass(part, body)
        } else {
            self.burnt = Some(winding);
            What::BurntOut(part, body)
        };
        self.events.push(Event { seconds, what });
    }

    /// Goes on from what the unit has brought about; a compressor that has stopped meets pressure for a while.
    fn keep(&mut self, seconds: f64, tried: Tried) {
        let Tried { moved, running, breaker_open, residual_trip_open } = tried;
        self.conditions.moved_contacts = moved;
        if breaker_open && !self.conditions.breaker_open {
            self.conditions.breaker_open = true;
            self.events.push(Event { seconds, what: What::BreakerOpened });
        }
        if residual_trip_open && !self.conditions.residual_trip_open {
            self.conditions.residual_trip_open = true;
            self.events.push(Event { seconds, what: What::ResidualTripOpened });
        }
        for &part in self.running.difference(&running) {
            self.levelling.retain(|&(stopped, _)| stopped != part);
            self.levelling.push((part, seconds + LEVELLING_SECONDS));
            self.conditions.against_pressure.insert(part);
        }
        self.running = running;
    }

    /// When the next step of the run begins.
    fn next_step(&self) -> Option<f64> {
        self.world.case.run.steps.get(self.step + 1).map(|step| step.seconds)
    }
}

/// Current that warms a body over the rated one; zero for one that no current warms.
pub(super) fn times_rated(unit: &Unit, observed: &Observed<'_>, part: usize, source: HeatSource, meter: &Meter) -> f64 {
    match source {
        HeatSource::Current { terminals, rated_amps } => most_amps(unit, observed, part, terminals, meter) / rated_amps,
        HeatSource::Feed { rated_amps } => observed.feed_amps() / rated_amps,
        _ => 0.0,
    }
}

/// The largest current at some terminals of a part, amperes.
fn most_amps(unit: &Unit, observed: &Observed<'_>, part: usize, terminals: &[usize], meter: &Meter) -> f64 {
    let amps = |&place: &usize| {
        let measure = Measure::AmpsAtTerminal(TerminalId(unit.terminals_of(part).start + place));
        observed.value(measure, meter).unwrap_or(0.0)
    };
    terminals.iter().map(amps).fold(0.0, f64::max)
}

impl<T, L: FnMut(&mut Observed<'_>) -> T> Plant for Simulation<'_, T, L> {
    type Error = PredictError;

    fn regime(&mut self, _seconds: f64, celsius: &[f64]) -> Result<Regime, PredictError> {
        if let Some(trouble) = self.trouble.take() {
            return Err(trouble);
        }
        self.world.set_celsius(&mut self.conditions, celsius);
        let Simulation { world, step, conditions, speeds, tried, .. } = self;
        world.observe(*step, conditions, speeds, |observed| {
            *tried = world.brought_about(observed);
            world.regime(observed)
        })
    }

    fn kept(&mut self, seconds: f64) {
        let tried = std::mem::take(&mut self.tried);
        self.keep(seconds, tried);
    }

    fn thresholds(&self) -> Vec<Threshold> {
        let threshold = |(index, &(part, contact)): (usize, &(usize, HeatContact))| {
            let node = self.world.layout.node(part, contact.body);
            if self.world.has_moved(&self.conditions, index) {
                Threshold { node, celsius: contact.closes_celsius.unwrap_or(f64::NEG_INFINITY), rising: false }
            } else {
                Threshold { node, celsius: contact.opens_celsius, rising: true }
            }
        };
        let winding = |&(winding, class, burns): &((usize, usize), f64, f64)| {
            let celsius = match (self.past_class.contains(&winding), self.burnt) {
                (false, _) => class,
                (true, None) => burns,
                (true, Some(_)) => f64::INFINITY,
            };
            Threshold { node: self.world.layout.node(winding.0, winding.1), celsius, rising: true }
        };
        let contacts = self.world.contacts.iter().enumerate().map(threshold);
        contacts.chain(self.world.windings.iter().map(winding)).collect()
    }

    fn crossed(&mut self, seconds: f64, index: usize) {
        if let Some(winding) = index.checked_sub(self.world.contacts.len()) {
            return self.winding_crossed(seconds, self.world.windings[winding].0);
        }
        let (part, contact) = self.world.contacts[index];
        let place = (part, contact.contact);
        let what = if part == self.world.unit().supply() {
            self.conditions.breaker_open = true;
            What::BreakerTripped
        } else {
            let is_back = self.conditions.moved_contacts.remove(&place);
            if !is_back {
                self.conditions.moved_contacts.insert(place);
            }
            if is_back == contact.warmth_closes { What::Opened(part) } else { What::Closed(part) }
        };
        self.events.push(Event { seconds, what });
    }

    fn is_over(&self) -> bool {
        self.burnt.is_some()
    }

    fn next_change(&self, _seconds: f64) -> Option<f64> {
        let moments = self.levelling.iter().map(|&(_, moment)| moment).chain(self.next_step());
        moments.min_by(f64::total_cmp)
    }

    fn next_output(&self, seconds: f64) -> Option<f64> {
        self.times.get(self.samples.len()).copied().filter(|&time| time > seconds)
    }

    fn change(&mut self, seconds: f64) {
        let against = &mut self.conditions.against_pressure;
        self.levelling.retain(|&(part, moment)| {
            if moment <= seconds {
                against.remove(&part);
            }
            moment > seconds
        });
        if self.next_step() == Some(seconds) {
            self.step += 1;
            let setup = self.world.case.run.steps[self.step].setup;
            self.events.push(Event { seconds, what: What::Setup(setup) });
        }
    }

    fn record(&mut self, seconds: f64, celsius: &[f64], _regime: &Regime) {
        let is_asked_for = self.times.get(self.samples.len()) == Some(&seconds);
        // At the moment of a change the setup that begins is looked at.
        if self.next_step() == Some(seconds) || !(is_asked_for || self.conditions.winding_celsius.is_empty()) {
            return;
        }
        self.world.set_celsius(&mut self.conditions, celsius);
        let Simulation { world, step, conditions, speeds, look, .. } = self;
        match world.observe(*step, conditions, speeds, |observed| (world.brought_about(observed), look(observed))) {
            Ok((tried, look)) => {
                self.keep(seconds, tried);
                if is_asked_for {
                    self.samples.push(Sample { seconds, celsius: celsius.to_vec(), look });
                }
            }
            Err(error) => self.trouble = Some(error),
        }
    }
}
