//! Parts that the fault drove past what they are made for: how far, for how long, what it cost them, and the check that
//! clears each for use again.
//!
//! The unit is followed with the fault in it: through the runs that were logged, and from cold for as long as somebody
//! reckons if that is longer, in each position of its switches by itself; of a part the worst counts.
//!
//! # Assumes
//! Loads and temperatures of the model at the fitted values; insulation ages by the ten-kelvin rule
//! ([`proof::insulation::life_spent`]), which says nothing far above the class.

use crate::RepairError;
use crate::compare::{NEAR, Times, rating_words, winding_words};
use crate::course::{load_spreads, loads};
use crate::knowledge::{Knowledge, chance_past};
use crate::options::ROOM_CELSIUS;
use crate::positions::live_positions;
use bench::heat::body::SHED_SPREAD;
use bench::heat::simulate::Case;
use bench::heat::timeline::What;
use bench::heat::{HeatScales, Run, RunStep, simulate};
use bench::kinds::Kind;
use bench::observe::ElementFlow;
use bench::winding_class::WindingLimit;
use bench::words::duration;
use bench::{FaultSet, Job, Observed, Place, Setup, Unit};
use diagnosis::{Diagnosis, Suspect};
use proof::insulation::{LogPoint, life_spent};

/// Further than this over the class the rule says nothing: insulation chars (engineering judgement).
const RULE_HOLDS_KELVIN: f64 = 80.0;
/// Share of the supply's volts across a part above which it is in circuit; behind a hot disc it has next to none.
const LIVE_SHARE: f64 = 0.1;
/// Seconds between looks.
const STEP_SECONDS: f64 = 60.0;

/// Minutes for which a unit is taken to have run with its fault where nobody says.
pub const RECKONED_MINUTES: f64 = 60.0;
/// A unit is followed no longer than this, seconds; what is left of a longer time goes on as its last hour did.
const FOLLOWED_SECONDS: f64 = 43_200.0;
/// Seconds of that last hour.
const LAST_SECONDS: f64 = 3600.0;

/// Who says for how long a unit was run with its fault.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reckoner {
    /// Whoever asks.
    Asker,
    /// The job, under what was done.
    Job,
    /// Nobody.
    Nobody,
}

/// How long the unit was run with the fault.
#[derive(Debug, Clone, PartialEq)]
pub struct Exposure {
    /// Logged runs that were followed, by name.
    pub logged: Vec<String>,
    /// Minutes that were followed in each position, and who says so; none where the logs are longer.
    pub reckoned: Option<(f64, Reckoner)>,
}

impl Exposure {
    /// Whoever asks counts alone; else the longest log and what the job reckons, and the logs alone if they are longer.
    fn of(job: &Job, asked_minutes: Option<f64>) -> Self {
        let noted = job.repaired.as_ref().and_then(|repaired| repaired.minutes_with_fault);
        let reckoned = match (asked_minutes, noted) {
            (Some(minutes), _) => return Exposure { logged: Vec::new(), reckoned: Some((minutes, Reckoner::Asker)) },
            (None, Some(minutes)) => (minutes, Reckoner::Job),
            (None, None) => (RECKONED_MINUTES, Reckoner::Nobody),
        };
        let logged = job.logs.iter().map(|log| &job.runs[log.run]);
        let longest = logged.clone().map(|run| run.end_seconds / 60.0).fold(0.0, f64::max);
        Exposure {
            logged: logged.map(|run| run.name.clone()).collect(),
            reckoned: (reckoned.0 > longest).then_some(reckoned),
        }
    }

    /// In a sentence.
    pub fn words(&self) -> String {
        let logged = (!self.logged.is_empty()).then(|| format!("as logged in {}", self.logged.join(", ")));
        let reckoned = self.reckoned.map(|(minutes, reckoner)| {
            let by = match reckoner {
                Reckoner::Asker => "as asked",
                Reckoner::Job => "noted for the job",
                Reckoner::Nobody => "nobody says how long it was: minutes_with_fault under [repaired] does",
            };
            format!("as if run for {} minutes in the worst position ({by})", minutes.round())
        });
        let both: Vec<String> = logged.into_iter().chain(reckoned).collect();
        format!("With the fault in it, {}.", both.join(", and "))
    }
}

/// A part that was strained.
#[derive(Debug, Clone, PartialEq)]
pub struct Strained {
    /// The part.
    pub part: usize,
    /// Whether the suspect's repair replaces it or works on it anyway.
    pub is_repaired: bool,
    /// Highest load over its rating, if it is likelier than not past it; whether that is volts.
    pub load: Option<(Times, bool)>,
    /// Highest temperature of its winding, of two the one that got hotter, degrees Celsius, with its spread, if it came near
    /// its limit or past it.
    pub winding: Option<(f64, f64)>,
    /// Which winding that is: "winding", "start winding".
    pub winding_name: &'static str,
    /// Minutes after which its winding burns out, at the temperature in `winding`; `None` if it does not.
    pub burns_after_minutes: Option<f64>,
    /// Seconds for which it is made to be in circuit at a start, if it was left in.
    pub left_in: Option<f64>,
    /// What its winding is held to.
    pub limit: WindingLimit,
    /// Where: the position or the run.
    pub place: String,
    /// Minutes for which it was past its rating, or within a spread of the limit of its winding or past that, or left in
    /// circuit.
    pub minutes: f64,
    /// Hours of life at the temperature of its class that its insulation has spent meanwhile; `None` for what did not come
    /// near its limit, and for a winding so hot that no rule holds.
    pub life_hours: Option<f64>,
    /// How to clear it for use again.
    pub check: &'static str,
}

impl Strained {
    /// How far it went, in words.
    pub fn words(&self, unit: &Unit) -> String {
        let load = self.load.map(|(times, is_volts)| {
            format!("{} {}, {}", times.words(), rating_words(unit, self.part, is_volts), times.chance_words())
        });
        let winding = self.winding_words();
        let left_in = self.left_in.map(|seconds| format!("left in circuit, made for {} s at a start", seconds.round()));
        let all = load.into_iter().chain(left_in).chain(winding);
        all.collect::<Vec<_>>().join("; ")
    }

    /// What its winding came to, in words; `None` if it stayed well within its limit.
    pub fn winding_words(&self) -> Option<String> {
        let (celsius, spread) = self.winding?;
        Some(match self.burns_after_minutes {
            Some(minutes) => burnt_words(self.winding_name, celsius, minutes),
            None => format!("{} {}", self.winding_name, winding_words(celsius, spread, self.limit)),
        })
    }
}

/// Everything that a suspect has strained: in the runs that were logged, and from cold in each position for as long as the job
/// or else [`RECKONED_MINUTES`] says, if that is longer. `asked_minutes` goes before both.
///
/// # Errors
/// [`RepairError`] if the unit cannot be solved.
pub fn stress(
    found: &Diagnosis<'_>,
    suspect: &Suspect,
    asked_minutes: Option<f64>,
) -> Result<(Exposure, Vec<Strained>), RepairError> {
    let job = found.evidence.job;
    let exposure = Exposure::of(job, asked_minutes);
    let (Some(faults), Some(fit)) = (&suspect.faults, &suspect.fit) else { return Ok((exposure, Vec::new())) };
    let prior = found.evidence.prior.with_severities(&job.unit, faults);
    let known = Knowledge::of_unit(prior, &fit.narrowing, &[]);
    let deviations = &suspect.deviations(&job.unit);
    let subject = Subject { unit: &job.unit, faults, deviations, known };
    let mut list: Vec<Strained> = Vec::new();
    if let Some((minutes, _)) = exposure.reckoned {
        for setup in live_positions(job) {
            let steps = vec![RunStep { seconds: 0.0, setup: 0 }];
            let (name, end_seconds) = (setup.name.clone(), 60.0 * minutes);
            let run = Run { name, steps, end_seconds, room_celsius: ROOM_CELSIUS, line: 0 };
            subject.follow(&[setup], &run)?.into_iter().for_each(|entry| merge(&mut list, entry));
        }
    }
    for log in job.logs.iter().filter(|_| !exposure.logged.is_empty()) {
        subject.follow(&job.setups, &job.runs[log.run])?.into_iter().for_each(|entry| merge(&mut list, entry));
    }
    let extent = |entry: &Strained| {
        let over = entry.winding.map_or(0.0, |(celsius, _)| celsius / entry.limit.celsius);
        let left_in = entry.left_in.map_or(0.0, |seconds| 60.0 * entry.minutes / seconds);
        entry.load.map_or(0.0, |(times, _)| times.times).max(over).max(left_in)
    };
    // Sound parts first: they are the ones that would be used again.
    list.sort_by(|a, b| a.is_repaired.cmp(&b.is_repaired).then(extent(b).total_cmp(&extent(a))));
    Ok((exposure, list))
}

/// A winding that burns out, in words.
pub(crate) fn burnt_words(winding: &str, celsius: f64, minutes: f64) -> String {
    format!("{winding} beyond {} °C: burns out after about {}", celsius.round(), duration(60.0 * minutes))
}

/// A unit with a suspect's faults in it.
struct Subject<'s> {
    unit: &'s Unit,
    faults: &'s FaultSet,
    deviations: &'s [f64],
    known: Knowledge<'s>,
}

impl Subject<'_> {
    /// What one run strains.
    fn follow(&self, setups: &[Setup], run: &Run) -> Result<Vec<Strained>, RepairError> {
        let Subject { unit, faults, deviations, .. } = *self;
        let scales = HeatScales::medians(unit);
        let followed = Run { end_seconds: run.end_seconds.min(FOLLOWED_SECONDS), ..run.clone() };
        let case = Case { unit, setups, run: &followed, faults, deviations, scales: &scales };
        let last = (followed.end_seconds / STEP_SECONDS) as usize;
        let times: Vec<f64> = (0..=last).map(|step| step as f64 * STEP_SECONDS).collect();
        let timeline = simulate(case, &times, |observed| (loads(unit, observed), in_circuit(unit, observed)))?;
        let goes_on = GoesOn { minutes: (run.end_seconds - followed.end_seconds) / 60.0, from: followed.end_seconds };
        let live = run.steps.iter().map(|step| &setups[step.setup]).find(|setup| setup.energised);
        let spreads = live.map(|setup| load_spreads(unit, setup, faults, deviations, &self.known)).transpose()?;
        let spreads = spreads.unwrap_or_default();
        let mut list = Vec::new();
        for sample in timeline.samples.iter().filter(|sample| sample.seconds > 0.0) {
            for &(part, seconds) in &sample.look.1 {
                let new = Strained { left_in: Some(seconds), ..self.entry(part, run) };
                entry_of(&mut list, new).minutes += goes_on.minutes_at(sample.seconds);
            }
        }
        for sample in &timeline.samples {
            for load in &sample.look.0 {
                let known = spreads.iter().find(|(part, is_volts, _)| (*part, *is_volts) == (load.part, load.is_volts));
                let spread = load.times * known.map_or(0.0, |(.., share)| *share);
                let times = Times { times: load.times, spread };
                if times.is_past() {
                    let minutes = goes_on.minutes_at(sample.seconds);
                    take_load(&mut list, self.entry(load.part, run), (times, load.is_volts), minutes);
                }
            }
        }
        for (node, place) in timeline.nodes.iter().enumerate() {
            let Some((part, body)) = *place else { continue };
            if !unit.heat_of(part).bodies[body].is_winding() {
                continue;
            }
            let limit = unit.winding_class(part).limit(run.room_celsius);
            let class = limit.class.class;
            let burnt = timeline.events.iter().find(|event| event.what == What::BurntOut(part, body));
            let is_near =
                |celsius: f64| chance_past(celsius, SHED_SPREAD * (celsius - run.room_celsius), limit.celsius) >= NEAR;
            let point = |seconds: f64, celsius: f64| LogPoint { hours: seconds / 3600.0, celsius };
            let mut log: Vec<LogPoint> =
                timeline.samples.iter().map(|sample| point(sample.seconds, sample.celsius[node])).collect();
            let hottest = match burnt {
                Some(_) => limit.class.burns_celsius(),
                None => log.iter().map(|point| point.celsius).fold(timeline.end_celsius[node], f64::max),
            };
            if !is_near(hottest) {
                continue;
            }
            let minutes = timeline.samples.iter().filter(|sample| is_near(sample.celsius[node]));
            let minutes = minutes.map(|sample| goes_on.minutes_at(sample.seconds)).sum();
            if let Some(end) = timeline.samples.last().filter(|_| goes_on.minutes > 0.0) {
                log.push(point(run.end_seconds, end.celsius[node]));
            }
            let holds = hottest <= class.celsius() + RULE_HOLDS_KELVIN;
            let entry = Strained {
                winding: Some((hottest, SHED_SPREAD * (hottest - run.room_celsius))),
                winding_name: unit.heat_of(part).winding_words(body),
                burns_after_minutes: burnt.map(|event| event.seconds / 60.0),
                minutes,
                life_hours: life_spent(class, &log).ok().filter(|_| holds).map(|spent| spent.hours),
                ..self.entry(part, run)
            };
            merge(&mut list, entry);
        }
        Ok(list)
    }

    fn entry(&self, part: usize, run: &Run) -> Strained {
        let unit = self.unit;
        Strained {
            part,
            is_repaired: self.faults.0.iter().any(|&fault| unit.faults()[fault].place == Place::Part(part)),
            load: None,
            left_in: None,
            winding: None,
            winding_name: "winding",
            burns_after_minutes: None,
            limit: unit.winding_class(part).limit(run.room_celsius),
            place: run.name.clone(),
            minutes: 0.0,
            life_hours: None,
            check: check_of(unit.parts()[part].kind.as_ref(), unit.hertz()),
        }
    }
}

/// Minutes beyond those that are followed, each as one of the last hour.
struct GoesOn {
    minutes: f64,
    from: f64,
}

impl GoesOn {
    /// Minutes that a sample stands for.
    fn minutes_at(&self, seconds: f64) -> f64 {
        let step = if seconds > 0.0 { STEP_SECONDS / 60.0 } else { 0.0 };
        let is_last = seconds > self.from - LAST_SECONDS;
        if is_last && self.minutes > 0.0 { step * (1.0 + self.minutes / (LAST_SECONDS / 60.0)) } else { step }
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
    } else if kind.is_current_fuse() {
        "replace it: one that has carried more than its amps melts sooner the next time"
    } else if kind.is_protector() {
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
fn take_load(list: &mut Vec<Strained>, new: Strained, load: (Times, bool), minutes: f64) {
    let known = entry_of(list, new);
    // What was left in circuit has its minutes.
    if known.left_in.is_none() {
        known.minutes += minutes;
    }
    if known.load.is_none_or(|(times, _)| load.0.times > times.times) {
        known.load = Some(load);
    }
}

/// Takes a strain in: the worst of a part counts.
fn merge(list: &mut Vec<Strained>, entry: Strained) {
    let Some(known) = list.iter_mut().find(|known| known.part == entry.part) else {
        list.push(entry);
        return;
    };
    if entry.load.map(|(times, _)| times.times) > known.load.map(|(times, _)| times.times) {
        known.load = entry.load;
    }
    let heat = |entry: &Strained| {
        (entry.winding.map(|(celsius, _)| celsius), entry.burns_after_minutes.map(|minutes| -minutes))
    };
    if heat(&entry) > heat(known) {
        known.winding = entry.winding;
        known.winding_name = entry.winding_name;
        known.burns_after_minutes = entry.burns_after_minutes;
        known.life_hours = entry.life_hours;
        known.place = entry.place;
    }
    known.left_in = known.left_in.or(entry.left_in);
    known.minutes = known.minutes.max(entry.minutes);
}
