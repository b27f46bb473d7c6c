//! A course of the unit against the one that it should take: what is lost, what is at risk.

use crate::course::{BodyCourse, Course};
use crate::knowledge::chance_past;
use crate::loads::{Against, place_words};
use crate::options::ROOM_CELSIUS;
use crate::stress::burnt_words;
use crate::surroundings::Surroundings;
use bench::winding_class::WindingLimit;
use bench::{Part, Place, Unit, words};
use machine::Motion;

/// Plate currents may be exceeded by a tenth (UL 507, 45.1: input current not above 110 % of rated), and so may the volts
/// of a capacitor (data sheets to IEC 60252-1: 1.1 times rated); the same is taken for contacts, cords and wires (common
/// practice, no source).
pub const OVERLOADED: f64 = 1.1;
/// A load is said to be past its rating where that is likelier than not.
const LIKELY: f64 = 0.5;
/// A winding is said to come near its limit from one spread below it on: a chance of one in six.
pub(crate) const NEAR: f64 = 0.16;
/// A speed that is off by more than this share is another speed (engineering judgement).
const OTHER_SPEED: f64 = 0.1;
/// A motor with less than this share of its proper torque at rest starts worse (engineering judgement).
const STARTS_WEAKER: f64 = 0.8;
/// A heater below this share of its proper watts is lost (engineering judgement).
const HEATER_LOST: f64 = 0.5;
/// Watts below which a part does nothing worth losing.
const WORTH_WATTS: f64 = 2.0;
/// Something that a repair changes, in one position or more.
#[derive(Debug, Clone, PartialEq)]
pub struct Remark {
    /// Positions in which it holds.
    pub positions: Vec<String>,
    /// What.
    pub what: What,
}

/// How many times its rating a part carries.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Times {
    /// Most probably.
    pub times: f64,
    /// Standard deviation of that.
    pub spread: f64,
}

impl Times {
    /// '122 ± 15 %'.
    pub fn words(self) -> String {
        let percent = |share: f64| (100.0 * share).round();
        match percent(self.spread) > 0.0 {
            true => format!("{} ± {} %", percent(self.times), percent(self.spread)),
            false => format!("{} %", percent(self.times)),
        }
    }

    /// How likely it is past what is allowed, in words.
    pub fn chance_words(self) -> String {
        let allowed = (100.0 * OVERLOADED).round();
        let chance = chance_past(self.times, self.spread, OVERLOADED);
        format!("{} likely past the {allowed} % that are allowed", words::percent(chance))
    }

    /// Whether it is likelier than not past what is allowed.
    pub fn is_past(self) -> bool {
        chance_past(self.times, self.spread, OVERLOADED) >= LIKELY
    }
}

/// How hot a winding gets against its limit, in words.
pub fn winding_words(celsius: f64, spread_kelvin: f64, limit: WindingLimit) -> String {
    let chance = words::percent(chance_past(celsius, spread_kelvin, limit.celsius));
    format!(
        "about {} °C (give or take {}), {chance} likely past its limit of {}",
        celsius.round(),
        spread_kelvin.round(),
        limit.words()
    )
}

/// What changes. Parts by index.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum What {
    /// The unit is cut off.
    CutOff(&'static str),
    /// A motor that should run stands.
    Stands(usize),
    /// A motor runs the other way.
    RunsBackwards(usize),
    /// A motor runs at another speed, its share of the proper one.
    OtherSpeed(usize, f64),
    /// A motor has less torque to start with, its share of the proper one.
    StartsWeaker(usize, f64),
    /// A part that should take power takes little, its share of the proper watts.
    GivesLess(usize, f64),
    /// A part or wire carries more than it is made for, or has more volts across it.
    Overloaded(Place, Against, Times),
    /// A winding, by part and body, comes near or past its limit: degrees Celsius with their spread.
    Hot(usize, usize, f64, f64, WindingLimit),
    /// It gets about as hot about a capacitor as that may get, or hotter.
    HotAbout(Surroundings),
    /// Heat opens the contact of a protector.
    Opens(usize),
    /// A winding, by part and body, burns out: at what temperature, degrees Celsius, and after how many minutes.
    BurnsOut(usize, usize, f64, f64),
}

impl What {
    /// Whether it is a risk, not merely a loss.
    pub fn is_risk(self) -> bool {
        !matches!(self, What::Stands(_) | What::OtherSpeed(..) | What::GivesLess(..))
    }

    fn is_alike(self, other: What) -> bool {
        match (self, other) {
            (What::OtherSpeed(a, _), What::OtherSpeed(b, _))
            | (What::StartsWeaker(a, _), What::StartsWeaker(b, _))
            | (What::GivesLess(a, _), What::GivesLess(b, _))
            | (What::Hot(a, ..), What::Hot(b, ..))
            | (What::BurnsOut(a, ..), What::BurnsOut(b, ..)) => a == b,
            (What::Overloaded(a, of, _), What::Overloaded(b, by, _)) => (a, of) == (b, by),
            (What::HotAbout(a), What::HotAbout(b)) => a.part == b.part,
            _ => self == other,
        }
    }

    /// The worse of two that are alike.
    fn worse(self, other: What) -> What {
        let extent = |what: What| match what {
            What::OtherSpeed(_, share) => (1.0 - share).abs(),
            What::GivesLess(_, share) | What::StartsWeaker(_, share) => 1.0 - share,
            What::Overloaded(.., times) => times.times,
            What::HotAbout(about) => about.celsius,
            What::Hot(_, _, celsius, ..) => celsius,
            What::BurnsOut(.., minutes) => -minutes,
            _ => 0.0,
        };
        if extent(other) > extent(self) { other } else { self }
    }

    /// In words.
    pub fn words(self, unit: &Unit) -> String {
        let name = |part: usize| unit.parts()[part].name.as_str();
        let winding = |part: usize, body: usize| unit.heat_of(part).winding_words(body);
        let percent = |share: f64| (100.0 * share).round();
        match self {
            What::CutOff(words) => words.into(),
            What::Stands(part) => format!("{} stands{}", name(part), air_of(unit, part)),
            What::RunsBackwards(part) => format!("{} runs backwards", name(part)),
            What::OtherSpeed(part, share) => format!("{} runs at {} % of its proper speed", name(part), percent(share)),
            What::StartsWeaker(part, share) => format!(
                "{} has {} % of its proper torque to start with: against its load, or at low volts, it may not start",
                name(part),
                percent(share)
            ),
            What::GivesLess(part, share) if share < 0.02 => format!("{} does nothing", name(part)),
            What::GivesLess(part, share) => format!("{} gives {} % of its proper watts", name(part), percent(share)),
            What::Overloaded(place, against, times) => {
                let (name, of) = (place_words(unit, place), against.words());
                let (times, chance) = (times.words(), times.chance_words());
                match against {
                    Against::Volts => format!("{name} has {times} {of} across it, {chance}"),
                    _ => format!("{name} carries {times} {of}, {chance}"),
                }
            }
            What::HotAbout(about) => format!("{} sits in {}", name(about.part), about.words()),
            What::Hot(part, body, celsius, spread, limit) => {
                let (winding, comes_to) = (winding(part, body), winding_words(celsius, spread, limit));
                format!("{winding} of {} comes to {comes_to}", name(part))
            }
            What::Opens(part) => format!("heat opens {}", name(part)),
            What::BurnsOut(part, body, celsius, minutes) => {
                format!("{}: {}", name(part), burnt_words(winding(part, body), celsius, minutes))
            }
        }
    }
}

/// Whose air goes with a fan that stands.
fn air_of(unit: &Unit, fan: usize) -> String {
    let named: Vec<&str> = unit
        .air()
        .streams
        .iter()
        .filter(|stream| stream.fan == fan)
        .flat_map(|stream| stream.parts.iter().filter(|&&part| part != fan))
        .map(|&part| unit.parts()[part].name.as_str())
        .collect();
    if named.is_empty() { String::new() } else { format!(", and no air passes {}", named.join(", ")) }
}

/// What differs between a course and the proper one in the same position.
pub fn differences(unit: &Unit, proper: &Course, course: &Course, gone: Option<usize>) -> Vec<What> {
    let mut found: Vec<What> = Vec::new();
    if let (Some(words), None) = (course.cut_off, proper.cut_off) {
        found.push(What::CutOff(words));
    }
    for motor in &proper.motors {
        let Some(now) = course.motors.iter().find(|now| now.part == motor.part) else { continue };
        if motor.motion != Motion::Running || course.cut_off.is_some() {
            continue;
        }
        if now.motion != Motion::Running {
            found.push(What::Stands(motor.part));
        } else if now.rpm * motor.rpm < 0.0 {
            found.push(What::RunsBackwards(motor.part));
        } else if (now.rpm / motor.rpm - 1.0).abs() > OTHER_SPEED {
            found.push(What::OtherSpeed(motor.part, now.rpm / motor.rpm));
        }
        let starting = now.start_torque.zip(motor.start_torque).map(|(now, proper)| (now / proper).abs());
        if let Some(share) = starting.filter(|share| *share < STARTS_WEAKER && now.motion == Motion::Running) {
            found.push(What::StartsWeaker(motor.part, share));
        }
    }
    let is_load = |part: &Part| part.kind.synchronous_rpm(unit.hertz()).is_none() && !part.kind.feeds_unit();
    for (part, _) in unit.parts().iter().enumerate().filter(|(_, entry)| is_load(entry)) {
        let (should, does) = (proper.part_watts[part], course.part_watts[part]);
        if course.cut_off.is_none() && should > WORTH_WATTS && does < HEATER_LOST * should {
            found.push(What::GivesLess(part, (does / should).max(0.0)));
        }
    }
    found.extend(strains(unit, course, gone));
    found.extend(course.opened.iter().filter(|part| !proper.opened.contains(part)).map(|&part| What::Opens(part)));
    found
}

/// Parts and wires that a course takes past what they are made for; of two windings of a part the one that gets hotter.
pub fn strains(unit: &Unit, course: &Course, gone: Option<usize>) -> Vec<What> {
    let mut found = Vec::new();
    for load in course.loads.iter().filter(|load| gone.map(Place::Part) != Some(load.place)) {
        let times = Times { times: load.times, spread: load.spread };
        if times.is_past() {
            found.push(What::Overloaded(load.place, load.against, times));
        }
    }
    let hot = course.surroundings.iter().filter(|about| Some(about.part) != gone && about.is_near_limit());
    found.extend(hot.map(|&about| What::HotAbout(about)));
    for part in (0..unit.parts().len()).filter(|&part| Some(part) != gone) {
        let class = unit.winding_class(part);
        let is_wound = |body: &&BodyCourse| body.part == part && unit.heat_of(part).bodies[body.body].is_winding();
        let wound = course.bodies.iter().filter(is_wound);
        let Some(body) = wound.max_by(|a, b| a.hottest_celsius.total_cmp(&b.hottest_celsius)) else { continue };
        let burns = course.burns_out.filter(|&(part, burnt, _)| (part, burnt) == (body.part, body.body));
        if let Some((.., seconds)) = burns {
            found.push(What::BurnsOut(body.part, body.body, class.burns_celsius(), seconds / 60.0));
            continue;
        }
        let limit = class.limit(ROOM_CELSIUS);
        if chance_past(body.hottest_celsius, body.spread_kelvin, limit.celsius) >= NEAR {
            found.push(What::Hot(body.part, body.body, body.hottest_celsius, body.spread_kelvin, limit));
        }
    }
    found
}

/// Remarks of several positions put together, the same thing once with all its positions.
pub fn gather(found: impl IntoIterator<Item = (String, Vec<What>)>) -> Vec<Remark> {
    let mut remarks: Vec<Remark> = Vec::new();
    for (position, list) in found {
        for what in list {
            match remarks.iter_mut().find(|remark| remark.what.is_alike(what)) {
                Some(remark) => {
                    remark.what = remark.what.worse(what);
                    if !remark.positions.contains(&position) {
                        remark.positions.push(position.clone());
                    }
                }
                None => remarks.push(Remark { positions: vec![position.clone()], what }),
            }
        }
    }
    remarks
}
