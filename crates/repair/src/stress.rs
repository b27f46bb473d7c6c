//! Parts that the fault drove past what they are made for: how far, for how long, what it cost them, and the check that
//! clears each for use again.
//!
//! # Assumes
//! Insulation ages twice as fast for every 10 K (Montsinger's rule; Kosow, Electric Machinery and Transformers, example
//! 13-1, has a factor of 4 for 20 K over the class). A winding without a class on its plate is taken to be of class B.

use crate::RepairError;
use crate::compare::{OVERLOADED, WINDING_CELSIUS};
use crate::course::course;
use crate::options::ROOM_CELSIUS;
use crate::positions::live_positions;
use bench::heat::simulate::Case;
use bench::heat::{HeatScales, simulate};
use bench::kinds::Kind;
use bench::{FaultSet, Place};
use diagnosis::{Diagnosis, Suspect};
use proof::insulation::HALVING_KELVINS;

/// Further than this over the class the rule says nothing: insulation chars (engineering judgement).
const RULE_HOLDS_KELVIN: f64 = 80.0;
/// Seconds between looks at a logged run.
const STEP_SECONDS: f64 = 60.0;

/// How long the unit was run with the fault.
#[derive(Debug, Clone, PartialEq)]
pub enum Exposure {
    /// In logged runs of the job, by name.
    Logged(Vec<String>),
    /// As the technician reckons, minutes in the worst position.
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
    /// Where: the position or the run.
    pub place: String,
    /// Minutes for which it was past its rating or class.
    pub minutes: f64,
    /// Hours of life at the temperature of its class that its insulation has spent meanwhile; `None` for what did not get
    /// that warm, and for a winding so hot that no rule holds.
    pub life_hours: Option<f64>,
    /// How to clear it for use again.
    pub check: &'static str,
}

/// Rate of ageing at a temperature, where it is one at the temperature of the class.
pub fn ageing(celsius: f64, class_celsius: f64) -> f64 {
    ((celsius - class_celsius) / HALVING_KELVINS).exp2()
}

fn within_rule(celsius: f64) -> bool {
    celsius <= WINDING_CELSIUS + RULE_HOLDS_KELVIN
}

/// Everything that a suspect has strained. With logged runs in the job these are followed with the fault in; else the unit
/// is taken to have run for `reckoned_minutes` in each position by itself, and the worst counts.
///
/// # Errors
/// [`RepairError`] if the unit cannot be solved.
pub fn stress(
    found: &Diagnosis<'_>,
    suspect: &Suspect,
    reckoned_minutes: f64,
) -> Result<(Exposure, Vec<Strained>), RepairError> {
    let job = found.evidence.job;
    let unit = &job.unit;
    let Some(faults) = suspect.faults.as_ref().filter(|_| suspect.fit.is_some()) else {
        return Ok((Exposure::Reckoned(reckoned_minutes), Vec::new()));
    };
    let deviations = suspect.deviations(unit);
    let mut list: Vec<Strained> = Vec::new();
    let logged: Vec<usize> = job.logs.iter().map(|log| log.run).collect();
    if logged.is_empty() {
        for setup in live_positions(job) {
            let course = course(unit, &setup, faults, &deviations, ROOM_CELSIUS)?;
            for load in course.loads.iter().filter(|load| load.times > OVERLOADED) {
                let entry = strained(unit, faults, load.part, &setup.name);
                let load = Some((load.times, load.is_volts));
                merge(&mut list, Strained { load, minutes: reckoned_minutes, ..entry });
            }
            for body in &course.bodies {
                if unit.heat_of(body.part).bodies[body.body].name == "winding" && body.hottest_celsius > WINDING_CELSIUS
                {
                    let entry = strained(unit, faults, body.part, &setup.name);
                    let life = ageing(body.hottest_celsius, WINDING_CELSIUS) * reckoned_minutes / 60.0;
                    let life_hours = within_rule(body.hottest_celsius).then_some(life);
                    let winding = Some((body.hottest_celsius, body.spread_kelvin));
                    merge(&mut list, Strained { winding, minutes: reckoned_minutes, life_hours, ..entry });
                }
            }
        }
        sort(&mut list);
        return Ok((Exposure::Reckoned(reckoned_minutes), list));
    }
    let scales = HeatScales::medians(unit);
    for &run in &logged {
        let run = &job.runs[run];
        let case = Case { unit, setups: &job.setups, run, faults, deviations: &deviations, scales: &scales };
        let times: Vec<f64> =
            (0..=(run.end_seconds / STEP_SECONDS) as usize).map(|step| step as f64 * STEP_SECONDS).collect();
        let timeline = simulate(case, &times, |observed| crate::course::loads(unit, observed))?;
        for (node, place) in timeline.nodes.iter().enumerate() {
            let Some((part, body)) = *place else { continue };
            if unit.heat_of(part).bodies[body].name != "winding" {
                continue;
            }
            let celsius = timeline.samples.iter().map(|sample| sample.celsius[node]);
            let hottest = celsius.clone().fold(run.room_celsius, f64::max);
            let hot = celsius.clone().filter(|&celsius| celsius > WINDING_CELSIUS).count();
            if hot > 0 {
                let life: f64 = celsius.map(|celsius| ageing(celsius, WINDING_CELSIUS) * STEP_SECONDS / 3600.0).sum();
                let life_hours = within_rule(hottest).then_some(life);
                let spread = bench::heat::body::SHED_SPREAD * (hottest - run.room_celsius);
                let entry = strained(unit, faults, part, &run.name);
                let minutes = hot as f64 * STEP_SECONDS / 60.0;
                merge(&mut list, Strained { winding: Some((hottest, spread)), minutes, life_hours, ..entry });
            }
        }
        for sample in &timeline.samples {
            for load in sample.look.iter().filter(|load| load.times > OVERLOADED) {
                let entry = strained(unit, faults, load.part, &run.name);
                let minutes = STEP_SECONDS / 60.0;
                merge_in_run(&mut list, Strained { load: Some((load.times, load.is_volts)), minutes, ..entry });
            }
        }
    }
    sort(&mut list);
    let names = logged.iter().map(|&run| job.runs[run].name.clone()).collect();
    Ok((Exposure::Logged(names), list))
}

fn strained(unit: &bench::Unit, faults: &FaultSet, part: usize, place: &str) -> Strained {
    let is_repaired = faults.0.iter().any(|&fault| unit.faults()[fault].place == Place::Part(part));
    let check = check_of(unit.parts()[part].kind.as_ref(), unit.hertz());
    Strained {
        part,
        is_repaired,
        load: None,
        winding: None,
        place: place.into(),
        minutes: 0.0,
        life_hours: None,
        check,
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
    known.minutes = known.minutes.max(entry.minutes);
}

/// The same within one run, where minutes of overload add up beside those of heat.
fn merge_in_run(list: &mut Vec<Strained>, entry: Strained) {
    match list.iter_mut().find(|known| known.part == entry.part) {
        Some(known) => {
            if known.winding.is_none() {
                known.minutes += entry.minutes;
            }
            if entry.load.map(|load| load.0) > known.load.map(|load| load.0) {
                known.load = entry.load;
            }
        }
        None => list.push(entry),
    }
}

/// Sound parts first, the most strained ahead.
fn sort(list: &mut [Strained]) {
    let extent = |entry: &Strained| {
        let heat = entry.winding.map_or(0.0, |(celsius, _)| ageing(celsius, WINDING_CELSIUS));
        entry.load.map_or(0.0, |(times, _)| times).max(heat)
    };
    list.sort_by(|a, b| a.is_repaired.cmp(&b.is_repaired).then(extent(b).total_cmp(&extent(a))));
}
