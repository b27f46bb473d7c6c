//! From the logs after a repair to verdicts.

use bench::heat::Logged;
use bench::{Job, Unit};
use proof::heat_run::forecast::Series;
use proof::heat_run::forecast::prior::ThermalPrior;
use proof::heat_run::limit::Limit;
use proof::heat_run::verdict::{Verdict, Withheld, judge};
use proof::insulation::{Method, Narrow, State, limits};
use repair::class::{InsulationClass, JobClass};

/// Standard whose limits hold for windings measured by a thermocouple: that for household and similar appliances.
const STANDARD: &str = "IEC 60335-1";

/// A judged heat run.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatRun {
    /// Name of the run.
    pub name: String,
    /// Per temperature.
    pub channels: Vec<HeatChannel>,
}

/// What a temperature is held to.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatLimit {
    /// Degrees Celsius in the room of the run.
    pub celsius: f64,
    /// The class that it is of.
    pub class: InsulationClass,
    /// Where it is from.
    pub source: String,
}

/// A judged temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatChannel {
    /// What it is.
    pub name: String,
    /// Minutes and degrees Celsius.
    pub points: Vec<(f64, f64)>,
    /// Where it is going, degrees Celsius, with the ends of the 95 % interval; nothing if too little was logged.
    pub going_to: Option<(f64, [f64; 2])>,
    /// What it is held to; nothing for what no limit is known for.
    pub limit: Option<HeatLimit>,
    /// Whether it passes; `None` as long as that is open.
    pub passes: Option<bool>,
    /// The verdict in words.
    pub words: String,
}

/// Every log after the repair, judged.
pub fn heat_runs(job: &Job) -> Vec<HeatRun> {
    let Some(repaired) = &job.repaired else { return Vec::new() };
    let class = JobClass::of(job);
    let mut runs = Vec::new();
    for log in &repaired.logs {
        let run = &job.runs[log.run];
        let mut channels = Vec::new();
        for channel in &log.channels {
            let Logged::Celsius(part, body) = channel.logged else { continue };
            let limit = limit_of(&job.unit, part, body, class.at(&job.unit, part), run.room_celsius);
            let points: Vec<(f64, f64)> = log
                .seconds
                .iter()
                .zip(&channel.values)
                .filter_map(|(&seconds, value)| value.map(|value| (seconds / 60.0, value)))
                .collect();
            channels.push(judged(job.unit.body_name(part, body), points, limit, run.room_celsius));
        }
        runs.push(HeatRun { name: run.name.clone(), channels });
    }
    runs
}

/// The limit of a winding, and of the core about it, which is cooler; nothing for a class that the standard has no limit for.
fn limit_of(unit: &Unit, part: usize, body: usize, class: InsulationClass, room_celsius: f64) -> Option<HeatLimit> {
    let body = &unit.heat_of(part).bodies[body];
    if !(body.is_winding() || body.name == "core") {
        return None;
    }
    let of = |method| {
        let narrow = Narrow { state: Some(State::Running), method: Some(method), ..Narrow::default() };
        limits(&class.class.to_string(), STANDARD, narrow)
    };
    // Not every class has a figure for thermocouples; that by resistance is the higher one.
    let found = of(Method::Thermocouple).or_else(|_| of(Method::Resistance)).ok()?;
    let limit = found.first()?;
    let source = format!("{}, {}", class.words(), limit.source);
    Some(HeatLimit { celsius: limit.celsius_in(room_celsius), class, source })
}

fn judged(name: String, points: Vec<(f64, f64)>, limit: Option<HeatLimit>, room_celsius: f64) -> HeatChannel {
    let is_whole = points.iter().all(|(_, celsius)| celsius.fract() == 0.0);
    let series = Series {
        minutes: points.iter().map(|(minutes, _)| *minutes).collect(),
        celsius: points.iter().map(|(_, celsius)| *celsius).collect(),
        room: None,
        resolution_kelvin: if is_whole { 1.0 } else { 0.1 },
    };
    let held_to = limit.as_ref().map(|limit| Limit {
        celsius: limit.celsius,
        words: "winding".into(),
        source: limit.source.clone(),
        // The limit is that of this very room already.
        room_celsius: None,
    });
    let judgement = judge(&series, held_to.as_ref(), Some(room_celsius), &ThermalPrior::default());
    let going_to = judgement.forecast.as_ref().map(|forecast| {
        let (low, high) = forecast.interval(0.95);
        (forecast.final_celsius(), [low, high])
    });
    let passes = match judgement.verdict {
        Verdict::Pass => Some(true),
        Verdict::Fail => Some(false),
        Verdict::NotYet => None,
    };
    let words = match (judgement.verdict, judgement.withheld) {
        (Verdict::Pass, _) => "stays below its limit",
        (Verdict::Fail, _) => "goes above its limit",
        (_, Some(Withheld::NoLimit)) => "no limit is known for it",
        (_, Some(Withheld::TooShort | Withheld::TooEarly)) => "the run is too short to know",
        (_, Some(Withheld::Interrupted)) => "the current was interrupted: a cutout, or somebody switched it off",
        (_, Some(Withheld::SensorLost)) => "the sensor fell off",
        (_, Some(Withheld::BelowRoom)) => "ends below the room: not a temperature of this unit",
        _ => "not certain yet: go on logging",
    };
    HeatChannel { name, points, going_to, limit, passes, words: words.into() }
}
