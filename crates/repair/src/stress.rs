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
use crate::compare::{NEAR, Times, winding_words};
use crate::knowledge::{Knowledge, chance_past};
use crate::loads::{Against, load_spreads, loads};
use crate::options::ROOM_CELSIUS;
use crate::positions::live_positions;
use crate::surroundings::{Surroundings, at_sample, hottest};
use bench::heat::body::SHED_SPREAD;
use bench::heat::simulate::Case;
use bench::heat::timeline::{Timeline, What};
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
/// Seconds between looks, and how many looks a shorter run gets at least.
const STEP_SECONDS: f64 = 60.0;
const FEWEST_LOOKS: f64 = 20.0;

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
            let lasting = if minutes < 1.0 { duration(60.0 * minutes) } else { format!("{} minutes", minutes.round()) };
            format!("as if run for {lasting} in the worst position ({by})")
        });
        let both: Vec<String> = logged.into_iter().chain(reckoned).collect();
        format!("With the fault in it, {}.", both.join(", and "))
    }
}

/// A part or wire that was strained.
#[derive(Debug, Clone, PartialEq)]
pub struct Strained {
    /// The part or wire.
    pub what: Place,
    /// Whether the suspect's repair replaces it, or mends it where it is a wire. A motor whose switch or air path is put right keeps
    /// its windings.
    pub is_repaired: bool,
    /// Highest loads over what it is made for, of those that are likelier than not past it.
    pub loads: Vec<(Against, Times)>,
    /// Highest temperature of its winding, of two the one that got hotter, degrees Celsius, with its spread, if it came near
    /// its limit or past it.
    pub winding: Option<(f64, f64)>,
    /// Which winding that is: "winding", "start winding".
    pub winding_name: &'static str,
    /// Minutes after which its winding burns out, at the temperature in `winding`; `None` if it does not.
    pub burns_after_minutes: Option<f64>,
    /// Seconds for which it is made to be in circuit at a start, if it was left in.
    pub left_in: Option<f64>,
    /// How hot it got about it, if it is a capacitor and that came near what it may get or past it.
    pub about: Option<Surroundings>,
    /// What its winding is held to; `None` of a wire.
    pub limit: Option<WindingLimit>,
    /// Where: the position or the run.
    pub place: String,
    /// Minutes for which it was past its rating, or within a spread of the limit of its winding or past that, or left in
    /// circuit.
    pub minutes: f64,
    /// Hours of life at the temperature of its class that its insulation has spent meanwhile; `None` for what did not come
    /// near its limit, and for a winding so hot that no rule holds.
    pub life_hours: Option<f64>,
}

impl Strained {
    /// How far it went, in words.
    pub fn words(&self) -> String {
        let all = self.load_words().into_iter().chain(self.left_in_words()).chain(self.heat_words());
        all.collect::<Vec<_>>().join("; ")
    }

    /// What it carried, in words.
    pub fn load_words(&self) -> Vec<String> {
        let words = |(against, times): &(Against, Times)| {
            format!("{} {}, {}", times.words(), against.words(), times.chance_words())
        };
        self.loads.iter().map(words).collect()
    }

    /// That it was left in circuit, in words.
    pub fn left_in_words(&self) -> Option<String> {
        self.left_in.map(|seconds| format!("left in circuit, made for {} s at a start", seconds.round()))
    }

    /// How hot its winding came to be, or what is about it, in words; `None` if that stayed well within its limit.
    pub fn heat_words(&self) -> Option<String> {
        self.winding_words().or_else(|| self.about.map(Surroundings::words))
    }

    /// How to clear it for use again (common practice, no source).
    pub fn check(&self, unit: &Unit) -> String {
        let Place::Part(part) = self.what else { return WIRE_CHECK.to_owned() };
        let is_contacts = |(against, _): &(Against, Times)| *against == Against::Contacts;
        let has_contacts = self.loads.iter().any(is_contacts);
        let has_more = self.heat_words().is_some() || self.left_in.is_some() || !self.loads.iter().all(is_contacts);
        let own = (has_more || !has_contacts).then(|| check_of(unit.parts()[part].kind.as_ref(), unit.hertz()));
        let contacts = has_contacts.then_some(CONTACT_CHECK);
        own.into_iter().chain(contacts).collect::<Vec<_>>().join("; ")
    }

    /// What its winding came to, in words; `None` if it stayed well within its limit.
    pub fn winding_words(&self) -> Option<String> {
        let (celsius, spread) = self.winding?;
        match self.burns_after_minutes {
            Some(minutes) => Some(burnt_words(self.winding_name, celsius, minutes)),
            None => Some(format!("{} {}", self.winding_name, winding_words(celsius, spread, self.limit?))),
        }
    }

    /// How far it went, to put the worst first.
    fn extent(&self) -> f64 {
        let winding = self.winding.zip(self.limit).map(|((celsius, _), limit)| celsius / limit.celsius);
        let about = self.about.map(|about| about.celsius / about.max_celsius);
        let left_in = self.left_in.map(|seconds| 60.0 * self.minutes / seconds);
        let loads = self.loads.iter().map(|(_, times)| times.times);
        loads.chain(winding).chain(about).chain(left_in).fold(0.0, f64::max)
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
    // Sound parts first: they are the ones that would be used again.
    list.sort_by(|a, b| a.is_repaired.cmp(&b.is_repaired).then(b.extent().total_cmp(&a.extent())));
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
        let step_seconds = STEP_SECONDS.min(followed.end_seconds / FEWEST_LOOKS);
        // A little more, so that rounding loses no look.
        let last = (followed.end_seconds / step_seconds + 1e-6) as usize;
        let times: Vec<f64> = (0..=last).map(|step| step as f64 * step_seconds).collect();
        let timeline = simulate(case, &times, |observed| (loads(unit, observed), in_circuit(unit, observed)))?;
        let minutes = (run.end_seconds - followed.end_seconds) / 60.0;
        let goes_on = GoesOn { minutes, from: followed.end_seconds, step_seconds };
        let live = run.steps.iter().map(|step| &setups[step.setup]).find(|setup| setup.energised);
        let spreads = live.map(|setup| load_spreads(unit, setup, faults, deviations, &self.known)).transpose()?;
        let spreads = spreads.unwrap_or_default();
        let mut list = Vec::new();
        for sample in timeline.samples.iter().filter(|sample| sample.seconds > 0.0) {
            for &(part, seconds) in &sample.look.1 {
                let new = Strained { left_in: Some(seconds), ..self.entry(Place::Part(part), run) };
                entry_of(&mut list, new).minutes += goes_on.minutes_at(sample.seconds);
            }
        }
        for sample in &timeline.samples {
            let mut past: Vec<Place> = Vec::new();
            for load in &sample.look.0 {
                let share = spreads.iter().find(|known| known.is_same(load)).map_or(0.0, |known| known.spread);
                let times = Times { times: load.times, spread: load.times * share };
                if times.is_past() {
                    take_load(&mut entry_of(&mut list, self.entry(load.place, run)).loads, load.against, times);
                    past.push(load.place);
                }
            }
            past.dedup();
            for place in past {
                let entry = entry_of(&mut list, self.entry(place, run));
                // What was left in circuit has its minutes.
                if entry.left_in.is_none() {
                    entry.minutes += goes_on.minutes_at(sample.seconds);
                }
            }
        }
        for about in hottest(unit, &timeline).into_iter().filter(|about| about.is_near_limit()) {
            let minutes = self.minutes_near(about.part, &timeline, &goes_on);
            merge(&mut list, Strained { about: Some(about), minutes, ..self.entry(Place::Part(about.part), run) });
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
                ..self.entry(Place::Part(part), run)
            };
            merge(&mut list, entry);
        }
        // Steps add up to no more than the run.
        list.iter_mut().for_each(|entry| entry.minutes = entry.minutes.min(run.end_seconds / 60.0));
        Ok(list)
    }

    /// Minutes for which it is about as hot about a part as that may get, or hotter.
    fn minutes_near<T>(&self, part: usize, timeline: &Timeline<T>, goes_on: &GoesOn) -> f64 {
        let is_near = |sample: &usize| {
            let about = at_sample(self.unit, timeline, *sample);
            about.into_iter().any(|about| about.part == part && about.is_near_limit())
        };
        let near = (0..timeline.samples.len()).filter(is_near);
        near.map(|sample| goes_on.minutes_at(timeline.samples[sample].seconds)).sum()
    }

    fn entry(&self, what: Place, run: &Run) -> Strained {
        let unit = self.unit;
        let limit = |part: usize| unit.winding_class(part).limit(run.room_celsius);
        Strained {
            what,
            is_repaired: self.faults.0.iter().any(|&fault| unit.faults()[fault].renews(what)),
            loads: Vec::new(),
            left_in: None,
            winding: None,
            winding_name: "winding",
            burns_after_minutes: None,
            about: None,
            limit: if let Place::Part(part) = what { Some(limit(part)) } else { None },
            place: run.name.clone(),
            minutes: 0.0,
            life_hours: None,
        }
    }
}

/// Minutes beyond those that are followed, each as one of the last hour.
struct GoesOn {
    minutes: f64,
    from: f64,
    /// Between looks.
    step_seconds: f64,
}

impl GoesOn {
    /// Minutes that a sample stands for.
    fn minutes_at(&self, seconds: f64) -> f64 {
        let step = if seconds > 0.0 { self.step_seconds / 60.0 } else { 0.0 };
        let is_last = seconds > self.from - LAST_SECONDS;
        if is_last && self.minutes > 0.0 { step * (1.0 + self.minutes / (LAST_SECONDS / 60.0)) } else { step }
    }
}

/// How contacts are cleared that carried too much, and how a wire is.
const CONTACT_CHECK: &str = "volts across each closed contact under load, below half a volt, and cold no more ohms than the \
    meter's leads alone; no pits, no browning at its terminals";
const WIRE_CHECK: &str = "look along it and at both ends for browned or hardened insulation and loose crimps; make it anew if \
    there are any, of a size that bears its amps";

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

/// The entry of a part or wire, put in if it is not there.
fn entry_of(list: &mut Vec<Strained>, new: Strained) -> &mut Strained {
    let place = list.iter().position(|known| known.what == new.what).unwrap_or_else(|| {
        list.push(new);
        list.len() - 1
    });
    &mut list[place]
}

/// Takes a load in: the worst counts.
fn take_load(loads: &mut Vec<(Against, Times)>, against: Against, times: Times) {
    match loads.iter_mut().find(|(known, _)| *known == against) {
        Some((_, known)) if known.times >= times.times => {}
        Some((_, known)) => *known = times,
        None => loads.push((against, times)),
    }
}

/// Takes a strain in: the worst of a part counts.
fn merge(list: &mut Vec<Strained>, entry: Strained) {
    let Some(known) = list.iter_mut().find(|known| known.what == entry.what) else {
        list.push(entry);
        return;
    };
    entry.loads.iter().for_each(|&(against, times)| take_load(&mut known.loads, against, times));
    let heat = |entry: &Strained| {
        let minutes = entry.burns_after_minutes.map(|minutes| -minutes);
        (entry.winding.map(|(celsius, _)| celsius), minutes, entry.about.map(|about| about.celsius))
    };
    if heat(&entry) > heat(known) {
        known.winding = entry.winding;
        known.winding_name = entry.winding_name;
        known.burns_after_minutes = entry.burns_after_minutes;
        known.about = entry.about;
        known.life_hours = entry.life_hours;
        known.place = entry.place;
    }
    known.left_in = known.left_in.or(entry.left_in);
    known.minutes = known.minutes.max(entry.minutes);
}
