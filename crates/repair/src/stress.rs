//! Parts that the fault drove past what they are made for: how far, for how long, what it cost them, and the check that
//! clears each for use again.
//!
//! The unit is followed with the fault in it: through the runs that were logged, or from cold for as long as somebody
//! reckons, in each position of its switches by itself; of a part the worst counts.
//!
//! # Assumes
//! Loads and temperatures of the model at the fitted values; insulation ages by the ten-kelvin rule
//! ([`proof::insulation::life_spent`]), which says nothing far above the class.

use crate::RepairError;
use crate::class::{InsulationClass, JobClass};
use crate::compare::OVERLOADED;
use crate::course::{Load, loads};
use crate::options::ROOM_CELSIUS;
use crate::positions::live_positions;
use bench::heat::body::SHED_SPREAD;
use bench::heat::simulate::Case;
use bench::heat::{HeatScales, Run, RunStep, simulate};
use bench::kinds::Kind;
use bench::observe::ElementFlow;
use bench::{FaultSet, Observed, Place, Setup, Unit};
use diagnosis::{Diagnosis, Suspect};
use proof::insulation::{LogPoint, life_spent};

/// Further than this over the class the rule says nothing: insulation chars (engineering judgement).
const RULE_HOLDS_KELVIN: f64 = 80.0;
/// Share of the supply's volts across a part above which it is in circuit; behind a hot disc it has next to none.
const LIVE_SHARE: f64 = 0.1;
/// Seconds between looks.
const STEP_SECONDS: f64 = 60.0;

/// How long the unit was run with the fault.
#[derive(Debug, Clone, PartialEq)]
pub enum Exposure {
    /// In logged runs of the job, by name.
    Logged(Vec<String>),
    /// As the technician reckons, minutes in each position.
    Reckoned(f64),
}

/// A part that was strained.
#[derive(Debug, Clone, PartialEq)]
pub struct Strained {
    /// The part.
    pub part: usize,
    /// Whether the suspect's repair replaces it or works on it anyway.
    pub is_repaired: bool,
    /// Highest load over its rating, if it went past it; whether that is volts.
    pub load: Option<(f64, bool)>,
    /// Highest temperature of its winding, degrees Celsius, with its spread, if it went past its class.
    pub winding: Option<(f64, f64)>,
    /// Seconds for which it is made to be in circuit at a start, if it was left in.
    pub left_in: Option<f64>,
    /// The class that its winding is held to.
    pub class: InsulationClass,
    /// Where: the position or the run.
    pub place: String,
    /// Minutes for which it was past its rating or class, or left in circuit.
    pub minutes: f64,
    /// Hours of life at the temperature of its class that its insulation has spent meanwhile; `None` for what did not get
    /// past its class, and for a winding so hot that no rule holds.
    pub life_hours: Option<f64>,
    /// How to clear it for use again.
    pub check: &'static str,
}

/// Everything that a suspect has strained. With logged runs in the job these are followed; else `reckoned_minutes` from cold
/// in each position.
///
/// # Errors
/// [`RepairError`] if the unit cannot be solved.
pub fn stress(
    found: &Diagnosis<'_>,
    suspect: &Suspect,
    reckoned_minutes: f64,
) -> Result<(Exposure, Vec<Strained>), RepairError> {
    let job = found.evidence.job;
    let class = JobClass::of(job);
    let logged: Vec<usize> = job.logs.iter().map(|log| log.run).collect();
    let exposure = match logged.is_empty() {
        true => Exposure::Reckoned(reckoned_minutes),
        false => Exposure::Logged(logged.iter().map(|&run| job.runs[run].name.clone()).collect()),
    };
    let Some(faults) = suspect.faults.as_ref().filter(|_| suspect.fit.is_some()) else {
        return Ok((exposure, Vec::new()));
    };
    let subject = Subject { unit: &job.unit, faults, deviations: &suspect.deviations(&job.unit), class };
    let mut list: Vec<Strained> = Vec::new();
    if logged.is_empty() {
        for setup in live_positions(job) {
            let steps = vec![RunStep { seconds: 0.0, setup: 0 }];
            let (name, end_seconds) = (setup.name.clone(), 60.0 * reckoned_minutes);
            let run = Run { name, steps, end_seconds, room_celsius: ROOM_CELSIUS, line: 0 };
            subject.follow(&[setup], &run)?.into_iter().for_each(|entry| merge(&mut list, entry));
        }
    } else {
        for &run in &logged {
            subject.follow(&job.setups, &job.runs[run])?.into_iter().for_each(|entry| merge(&mut list, entry));
        }
    }
    let extent = |entry: &Strained| {
        let over = entry.winding.map_or(0.0, |(celsius, _)| celsius / entry.class.class.celsius());
        let left_in = entry.left_in.map_or(0.0, |seconds| 60.0 * entry.minutes / seconds);
        entry.load.map_or(0.0, |(times, _)| times).max(over).max(left_in)
    };
    // Sound parts first: they are the ones that would be used again.
    list.sort_by(|a, b| a.is_repaired.cmp(&b.is_repaired).then(extent(b).total_cmp(&extent(a))));
    Ok((exposure, list))
}

/// A unit with a suspect's faults in it.
struct Subject<'s> {
    unit: &'s Unit,
    faults: &'s FaultSet,
    deviations: &'s [f64],
    class: JobClass,
}

impl Subject<'_> {
    /// What one run strains.
    fn follow(&self, setups: &[Setup], run: &Run) -> Result<Vec<Strained>, RepairError> {
        let Subject { unit, faults, deviations, class } = *self;
        let scales = HeatScales::medians(unit);
        let case = Case { unit, setups, run, faults, deviations, scales: &scales };
        let last = (run.end_seconds / STEP_SECONDS) as usize;
        let times: Vec<f64> = (0..=last).map(|step| step as f64 * STEP_SECONDS).collect();
        let timeline = simulate(case, &times, |observed| (loads(unit, observed), in_circuit(unit, observed)))?;
        let mut list = Vec::new();
        for sample in timeline.samples.iter().filter(|sample| sample.seconds > 0.0) {
            for &(part, seconds) in &sample.look.1 {
                let new = Strained { left_in: Some(seconds), ..self.entry(part, &run.name) };
                entry_of(&mut list, new).minutes += STEP_SECONDS / 60.0;
            }
        }
        for sample in &timeline.samples {
            for load in sample.look.0.iter().filter(|load| load.times > OVERLOADED) {
                let minutes = if sample.seconds > 0.0 { STEP_SECONDS / 60.0 } else { 0.0 };
                take_load(&mut list, self.entry(load.part, &run.name), load, minutes);
            }
        }
        for (node, place) in timeline.nodes.iter().enumerate() {
            let Some((part, body)) = *place else { continue };
            if !unit.heat_of(part).bodies[body].is_winding() {
                continue;
            }
            let class = class.at(unit, part).class;
            let log: Vec<LogPoint> = timeline
                .samples
                .iter()
                .map(|sample| LogPoint { hours: sample.seconds / 3600.0, celsius: sample.celsius[node] })
                .collect();
            let hottest = log.iter().map(|point| point.celsius).fold(run.room_celsius, f64::max);
            if hottest <= class.celsius() {
                continue;
            }
            let hot = log.iter().filter(|point| point.hours > 0.0 && point.celsius > class.celsius()).count();
            let holds = hottest <= class.celsius() + RULE_HOLDS_KELVIN;
            let entry = Strained {
                winding: Some((hottest, SHED_SPREAD * (hottest - run.room_celsius))),
                minutes: hot as f64 * STEP_SECONDS / 60.0,
                life_hours: life_spent(class, &log).ok().filter(|_| holds).map(|spent| spent.hours),
                ..self.entry(part, &run.name)
            };
            merge(&mut list, entry);
        }
        Ok(list)
    }

    fn entry(&self, part: usize, place: &str) -> Strained {
        let unit = self.unit;
        Strained {
            part,
            is_repaired: self.faults.0.iter().any(|&fault| unit.faults()[fault].place == Place::Part(part)),
            load: None,
            left_in: None,
            winding: None,
            class: self.class.at(unit, part),
            place: place.into(),
            minutes: 0.0,
            life_hours: None,
            check: check_of(unit.parts()[part].kind.as_ref(), unit.hertz()),
        }
    }
}

/// How a part is cleared (common practice, no source).
fn check_of(kind: &dyn Kind, hertz: f64) -> &'static str {
    if kind.synchronous_rpm(hertz).is_some() {
        "cold, ohms of every winding against its plate or its sister; insulation to the frame at 500 V; then amps at every speed, and smell and colour of the winding"
    } else if kind.starting_seconds().is_some() {
        "replace it if it is bulged, has leaked or smells; else discharged and off its wires, microfarads no less than the mark"
    } else if kind.is_capacitor() {
        "discharged and off its wires, microfarads within 5 % of the mark; no bulge, no leak"
    } else if kind.is_protector() || kind.is_current_fuse() {
        "replace it if it has opened many times; else see that it closes cold and opens at its temperature"
    } else if kind.is_set_by_hand() || !kind.positions().is_empty() {
        "volts across each closed contact under load, below half a volt; no browning at its terminals"
    } else if kind.feeds_unit() {
        "feel plug and cord along their length under load; no browning at the pins"
    } else {
        "ohms against what it should have, insulation to the frame at 500 V; look for browning"
    }
}

/// Parts made for a few seconds at a start that are in circuit, with those seconds.
fn in_circuit(unit: &Unit, observed: &Observed<'_>) -> Vec<(usize, f64)> {
    let supply_volts = unit.parts()[unit.supply()].kind.supply().map_or(0.0, |supply| supply.volts);
    let flows = observed.element_flows();
    let is_live = |part: usize| {
        let is_its = |flow: &&ElementFlow| flow.place == Place::Part(part) && flow.amps > 0.0;
        flows.iter().filter(is_its).any(|flow| flow.volts > LIVE_SHARE * supply_volts)
    };
    let parts = (0..unit.parts().len()).filter_map(|part| Some((part, unit.parts()[part].kind.starting_seconds()?)));
    parts.filter(|&(part, _)| is_live(part)).collect()
}

/// The entry of a part, put in if it is not there.
fn entry_of(list: &mut Vec<Strained>, new: Strained) -> &mut Strained {
    let place = list.iter().position(|known| known.part == new.part).unwrap_or_else(|| {
        list.push(new);
        list.len() - 1
    });
    &mut list[place]
}

/// Takes in that a part is overloaded for some minutes more.
fn take_load(list: &mut Vec<Strained>, new: Strained, load: &Load, minutes: f64) {
    let known = entry_of(list, new);
    // What was left in circuit has its minutes.
    if known.left_in.is_none() {
        known.minutes += minutes;
    }
    if known.load.is_none_or(|(times, _)| load.times > times) {
        known.load = Some((load.times, load.is_volts));
    }
}

/// Takes a strain in: the worst of a part counts.
fn merge(list: &mut Vec<Strained>, entry: Strained) {
    let Some(known) = list.iter_mut().find(|known| known.part == entry.part) else {
        list.push(entry);
        return;
    };
    if entry.load.map(|(times, _)| times) > known.load.map(|(times, _)| times) {
        known.load = entry.load;
    }
    if entry.winding.map(|(celsius, _)| celsius) > known.winding.map(|(celsius, _)| celsius) {
        known.winding = entry.winding;
        known.life_hours = entry.life_hours;
        known.place = entry.place;
    }
    known.left_in = known.left_in.or(entry.left_in);
    known.minutes = known.minutes.max(entry.minutes);
}
