//! What happens in a run, in words.

use super::timeline::{End, What};
use super::trip::Trip;
use crate::job::Job;
use crate::unit::Unit;
use crate::winding_class::BURNS_OVER_CLASS_KELVIN;
use crate::words;

/// Cycles that differ by less than this share are alike (engineering judgement).
const ALIKE: f64 = 0.05;

/// What happened, in words.
pub fn event_words(job: &Job, what: What) -> String {
    let name = |part: usize| &job.unit.parts()[part].name;
    let winding = |part: usize, body: usize| job.unit.heat_of(part).winding_words(body);
    let kind = |part: usize| job.unit.parts()[part].kind.name();
    match what {
        What::Setup(setup) => format!("setup {}", job.setups[setup].name),
        What::Opened(part) if kind(part) == "ptc-starter" => format!("{} is hot and cuts itself off", name(part)),
        What::Closed(part) if kind(part) == "ptc-starter" => format!("{} has cooled", name(part)),
        What::Opened(part) => format!("{} opens", name(part)),
        What::Closed(part) if kind(part) == "sequencer" => format!("{} closes", name(part)),
        What::Closed(part) => format!("{} closes again", name(part)),
        What::BreakerOpened => "the breaker opens at once".into(),
        What::ResidualTripOpened => "the earth-leakage trip opens".into(),
        What::BreakerTripped => "the breaker opens: too much current for too long".into(),
        What::PassesClass(part, body) => {
            let class = job.unit.winding_class(part);
            format!(
                "the {} of {} passes {} °C, the limit of {}",
                winding(part, body),
                name(part),
                class.class.celsius(),
                class.short_words()
            )
        }
        What::BurntOut(part, body) if job.unit.heat_of(part).bodies[body].is_winding() => {
            let class = job.unit.winding_class(part);
            let over = format!("{BURNS_OVER_CLASS_KELVIN} K over {}", class.short_words());
            let at = class.burns_celsius();
            format!("the {} of {} burns out: it is at {at} °C, {over}", winding(part, body), name(part))
        }
        What::BurntOut(part, _) => format!("{} burns out: it gets hotter without end", name(part)),
    }
}

/// What burns out, in words: "the start winding of M1", or the part alone where that says enough.
pub fn burning_words(unit: &Unit, part: usize, body: usize) -> String {
    let (name, heat) = (&unit.parts()[part].name, unit.heat_of(part));
    if heat.bodies[body].is_winding() && heat.second_winding().is_some() {
        format!("the {} of {name}", heat.winding_words(body))
    } else {
        name.clone()
    }
}

/// How soon a protector opens, in words: `F1 blows after about 12 s`.
pub fn trip_words(unit: &Unit, trip: &Trip) -> String {
    let part = &unit.parts()[trip.part];
    let what = match () {
        () if trip.part == unit.supply() => "the breaker opens".to_owned(),
        () if part.kind.is_current_fuse() => format!("{} blows", part.name),
        () => format!("{} trips", part.name),
    };
    let times = words::number(trip.times_rated);
    let rating = if part.kind.name() == "overload-relay" { "what it is set to" } else { "its rating" };
    format!("{what} after about {} ({times} times {rating}, from cold)", words::duration(trip.seconds))
}

/// How a run ended, in words.
pub fn end_words(unit: &Unit, end: End) -> String {
    let name = |part: usize| unit.parts()[part].name.clone();
    match end {
        End::Settled => "At the end all temperatures stand.".into(),
        End::Cycling { part, period_seconds, previous_seconds, closed_share } => {
            let change = match previous_seconds.map(|previous| period_seconds / previous) {
                None => " (the only whole cycle of the run)",
                Some(times) if times > 1.0 + ALIKE => ", less and less often,",
                Some(times) if times < 1.0 - ALIKE => ", more and more often,",
                Some(_) => "",
            };
            format!(
                "It never settles: {} opens every {} minutes{change} and is closed for {} of the time.",
                name(part),
                words::number(period_seconds / 60.0),
                words::percent(closed_share)
            )
        }
        End::Moving { part, kelvin_per_hour } => format!(
            "At the end {} still {} by {} K an hour.",
            part.map_or("the air".into(), name),
            if kelvin_per_hour > 0.0 { "warms" } else { "cools" },
            words::number(kelvin_per_hour.abs())
        ),
        End::BurntOut(place) => {
            let what = place.map_or("the air".into(), |(part, body)| burning_words(unit, part, body));
            format!("The run ends where {what} burns out: what comes after is not known.")
        }
    }
}
