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
use crate::compare::OVERLOADED;
use crate::course::{Load, loads};
use crate::options::ROOM_CELSIUS;
use crate::positions::live_positions;
use bench::heat::body::SHED_SPREAD;
use bench::heat::simulate::Case;
use bench::heat::timeline::What;
use bench::heat::{HeatScales, Run, RunStep, simulate};
use bench::kinds::Kind;
use bench::winding_class::InsulationClass;
use bench::words::duration;
use bench::{FaultSet, Place, Setup, Unit};
use diagnosis::{Diagnosis, Suspect};
use proof::insulation::{LogPoint, life_spent};

/// Further than this over the class the rule says nothing: insulation chars (engineering judgement).
const RULE_HOLDS_KELVIN: f64 = 80.0;
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
    /// Minutes after which its winding burns out, at the temperature in `winding`; `None` if it does not.
    pub burns_after_minutes: Option<f64>,
    /// The class that its winding is held to.
    pub class: InsulationClass,
    /// Where: the position or the run.
    pub place: String,
    /// Minutes for which it was past its rating or class.
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
    let logged: Vec<usize> = job.logs.iter().map(|log| log.run).collect();
    let exposure = match logged.is_empty() {
        true => Exposure::Reckoned(reckoned_minutes),
        false => Exposure::Logged(logged.iter().map(|&run| job.runs[run].name.clone()).collect()),
    };
    let Some(faults) = suspect.faults.as_ref().filter(|_| suspect.fit.is_some()) else {
        return Ok((exposure, Vec::new()));
    };
    let subject = Subject { unit: &job.unit, faults, deviations: &suspect.deviations(&job.unit) };
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
        entry.load.map_or(0.0, |(times, _)| times).max(over)
    };
    // Sound parts first: they are the ones that would be used again.
    list.sort_by(|a, b| a.is_repaired.cmp(&b.is_repaired).then(extent(b).total_cmp(&extent(a))));
    Ok((exposure, list))
}

impl Strained {
    /// What its winding came to, in words; `None` if it stayed within its class.
    pub fn winding_words(&self) -> Option<String> {
        let (celsius, spread) = self.winding?;
        Some(match self.burns_after_minutes {
            Some(minutes) => burnt_words(celsius, minutes),
            None => {
                let class = self.class.short_words();
                format!("winding about {} °C (give or take {}), past {class}", celsius.round(), spread.round())
            }
        })
    }
}

/// A winding that burns out, in words.
pub(crate) fn burnt_words(celsius: f64, minutes: f64) -> String {
    format!("winding beyond {} °C: burns out after about {}", celsius.round(), duration(60.0 * minutes))
}

/// A unit with a suspect's faults in it.
struct Subject<'s> {
    unit: &'s Unit,
    faults: &'s FaultSet,
    deviations: &'s [f64],
}

impl Subject<'_> {
    /// What one run strains.
    fn follow(&self, setups: &[Setup], run: &Run) -> Result<Vec<Strained>, RepairError> {
        let Subject { unit, faults, deviations } = *self;
        let scales = HeatScales::medians(unit);
        let case = Case { unit, setups, run, faults, deviations, scales: &scales };
        let last = (run.end_seconds / STEP_SECONDS) as usize;
        let times: Vec<f64> = (0..=last).map(|step| step as f64 * STEP_SECONDS).collect();
        let timeline = simulate(case, &times, |observed| loads(unit, observed))?;
        let mut list = Vec::new();
        for sample in &timeline.samples {
            for load in sample.look.iter().filter(|load| load.times > OVERLOADED) {
                let minutes = if sample.seconds > 0.0 { STEP_SECONDS / 60.0 } else { 0.0 };
                take_load(&mut list, self.entry(load.part, &run.name), load, minutes);
            }
        }
        for (node, place) in timeline.nodes.iter().enumerate() {
            let Some((part, body)) = *place else { continue };
            if !unit.heat_of(part).bodies[body].is_winding() {
                continue;
            }
            let held_to = unit.winding_class(part);
            let class = held_to.class;
            let burnt = timeline.events.iter().find(|event| event.what == What::BurntOut(part));
            let log: Vec<LogPoint> = timeline
                .samples
                .iter()
                .map(|sample| LogPoint { hours: sample.seconds / 3600.0, celsius: sample.celsius[node] })
                .collect();
            let hottest = match burnt {
                Some(_) => held_to.burns_celsius(),
                None => log.iter().map(|point| point.celsius).fold(run.room_celsius, f64::max),
            };
            if hottest <= class.celsius() {
                continue;
            }
            let hot = log.iter().filter(|point| point.hours > 0.0 && point.celsius > class.celsius()).count();
            let holds = hottest <= class.celsius() + RULE_HOLDS_KELVIN;
            let entry = Strained {
                winding: Some((hottest, SHED_SPREAD * (hottest - run.room_celsius))),
                burns_after_minutes: burnt.map(|event| event.seconds / 60.0),
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
            winding: None,
            burns_after_minutes: None,
            class: unit.winding_class(part),
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

/// Takes in that a part is overloaded for some minutes more.
fn take_load(list: &mut Vec<Strained>, new: Strained, load: &Load, minutes: f64) {
    let place = list.iter().position(|known| known.part == load.part).unwrap_or_else(|| {
        list.push(new);
        list.len() - 1
    });
    let known = &mut list[place];
    known.minutes += minutes;
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
    let heat = |entry: &Strained| {
        (entry.winding.map(|(celsius, _)| celsius), entry.burns_after_minutes.map(|minutes| -minutes))
    };
    if heat(&entry) > heat(known) {
        known.winding = entry.winding;
        known.burns_after_minutes = entry.burns_after_minutes;
        known.life_hours = entry.life_hours;
        known.place = entry.place;
    }
    known.minutes = known.minutes.max(entry.minutes);
}
