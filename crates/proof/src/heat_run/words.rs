//! What is found of a heat run, as one would tell a colleague.

use super::cycling::Cycling;
use super::equilibrium::Rule;
use super::finding::{ChannelFinding, Interrupted};
use super::limit::Limit;
use super::quick::Quick;
use super::resistance::AtEnd;
use super::verdict::{LEAST_MINUTES, SENSOR_KELVIN, SURE, Verdict, Withheld};

/// Shares of the rise below this are not worth a line.
const WORTH_SAYING: f64 = 0.05;
/// Stops whose minutes are said.
const STOPS_SAID: usize = 4;

/// How temperatures are written.
#[derive(Debug, Clone, Copy)]
pub struct Scale {
    /// Behind a figure, such as `C`.
    pub unit: &'static str,
    /// The figure of so many degrees Celsius.
    pub of: fn(f64) -> f64,
}

impl Scale {
    /// Degrees Celsius, as terminals show them.
    pub const CELSIUS: Scale = Scale { unit: "C", of: |celsius| celsius };

    fn figure(self, celsius: f64) -> String {
        format!("{:.1}", (self.of)(celsius))
    }
}

/// A rule of rest, how it stands, and what it leaves out if that matters.
#[derive(Debug, Clone, PartialEq)]
pub struct RestWords {
    /// The rule and how it stands.
    pub words: String,
    /// What meeting it does not say, where nothing else is decided.
    pub caveat: Option<String>,
}

/// Ahead of everything else.
pub const STAY: &str = "Stay with the unit while it runs: a forecast is no protection. Leave its cutouts and fuses in circuit, and \
                        stop at smell, smoke or noise whatever is printed here.";

impl Verdict {
    /// For programs.
    pub fn key(self) -> &'static str {
        match self {
            Verdict::Pass => "pass",
            Verdict::Fail => "fail",
            Verdict::NotYet => "not yet",
        }
    }
}

impl Withheld {
    /// For programs.
    pub fn key(self) -> &'static str {
        match self {
            Withheld::TooShort => "too-short",
            Withheld::TooEarly => "too-early",
            Withheld::Uncertain => "uncertain",
            Withheld::NoLimit => "no-limit",
            Withheld::Interrupted => "interrupted",
            Withheld::SensorLost => "sensor-lost",
            Withheld::BelowRoom => "below-room",
            Withheld::RoomUnknown => "room-unknown",
            Withheld::Off => "off",
            Withheld::HardlyWarmed => "hardly-warmed",
        }
    }
}

/// The verdict of one temperature with its reason.
pub fn verdict_words(channel: &ChannelFinding, scale: Scale) -> String {
    let judgement = &channel.judgement;
    match (judgement.verdict, judgement.withheld) {
        (Verdict::Pass, _) => "pass: it stays below the limit; you may stop".into(),
        (Verdict::Fail, _) => "fail: it goes above the limit; stop the run".into(),
        (Verdict::NotYet, Some(reason)) => format!("not yet: {}", withheld_words(reason, channel, scale)),
        (Verdict::NotYet, None) => "not yet".into(),
    }
}

fn withheld_words(reason: Withheld, channel: &ChannelFinding, scale: Scale) -> String {
    let more = || match channel.minutes_to_verdict {
        Some(minutes) => format!("keep running, about {} more", time_words(minutes)),
        None => format!(
            "keep running to rest; before, it is not sure on which side of the limit it ends, and within {SENSOR_KELVIN} K of it \
             no sensor tells"
        ),
    };
    match reason {
        Withheld::TooShort => "too little was logged to say anything; keep running".into(),
        Withheld::TooEarly => format!(
            "the figures look settled, but no run is judged before {LEAST_MINUTES:.0} minutes, its main time constant and half of \
             its rise; {}",
            more()
        ),
        Withheld::Uncertain => more(),
        Withheld::NoLimit => "no limit was given (--limit CELSIUS)".into(),
        Withheld::Interrupted => {
            let what = match channel.interrupted {
                Some(Interrupted { minute, row: Some(row), .. }) => {
                    format!("the current stopped at row {row} (minute {minute:.0})")
                }
                Some(Interrupted { minute, until_minute: Some(until), .. }) => {
                    format!("from minute {minute:.0} on the temperature fell, and rose again from minute {until:.0}")
                }
                Some(Interrupted { minute, .. }) => format!("from minute {minute:.0} on the temperature fell"),
                None => "the current stopped".into(),
            };
            format!("{what}; a run that a cutout interrupts is no pass. If it was you, run it again without a break")
        }
        Withheld::SensorLost => match channel.lost_at {
            Some(row) => format!("its sensor fell off, or its readings stop, at row {row}; fix it and run again"),
            None => "its sensor fell off; fix it and run again".into(),
        },
        Withheld::BelowRoom => "it is, or would end, below the room's temperature: wrong column, unit or probe, or a unit that came in cold"
            .into(),
        Withheld::RoomUnknown => room_unknown_words(channel.limit.as_ref(), scale),
        Withheld::HardlyWarmed => {
            "it has hardly warmed and is about as warm as the room: is the unit on, and is this sensor on it?".into()
        }
        Withheld::Off => "the supply was off in this run: that proves nothing; run it with the unit on".into(),
    }
}

/// What is said of a winding at switching off, by its resistance. `limit` is what it was held to.
pub fn switch_off_words(end: &AtEnd, limit: Option<&Limit>, scale: Scale) -> String {
    const REST: &str =
        "how much further it would have risen, ohms do not tell: that holds for a run that had come to rest";
    match (end.verdict, end.withheld) {
        (Verdict::Pass, _) => format!("pass: below its limit at switching off; {REST}"),
        (Verdict::Fail, _) => "fail: above its limit at switching off".into(),
        (_, Some(Withheld::BelowRoom)) => {
            "not yet: that is below the room's temperature; are these the hot ohms, and the cold ones of this winding?".into()
        }
        (_, Some(Withheld::RoomUnknown)) => format!("not yet: {}", room_unknown_words(limit, scale)),
        (_, Some(Withheld::TooEarly)) => {
            "not yet: below its limit at switching off, but what was still to come may bring it above; run it for longer".into()
        }
        (_, Some(Withheld::NoLimit)) => "not yet: no limit was given (--limit CELSIUS or --class CLASS)".into(),
        _ => "not yet: the limit lies within what the readings leave open; read sooner after switching off, and more often".into(),
    }
}

fn room_unknown_words(limit: Option<&Limit>, scale: Scale) -> String {
    format!(
        "the limit is meant for a room at {:.0} {}: log the room or say how warm it is (--ambient CELSIUS)",
        (scale.of)(limit.and_then(|limit| limit.room_celsius).unwrap_or_default()),
        scale.unit
    )
}

/// Where a temperature is, where it is going, what that leaves to its limit, how fast it warms and how long until it rests,
/// a line each; nothing if too little was logged.
pub fn figures_words(channel: &ChannelFinding, scale: Scale) -> Vec<String> {
    let (judgement, unit) = (&channel.judgement, scale.unit);
    let (Some(known), Some(&now)) = (&judgement.forecast, channel.series.celsius.last()) else { return Vec::new() };
    let (low, high) = known.interval(0.95);
    let mut lines = vec![format!(
        "now {} {unit} after {}; going to {} {unit} (95 %: {} to {})",
        scale.figure(now),
        logged_words(judgement.minutes),
        scale.figure(known.final_celsius()),
        scale.figure(low),
        scale.figure(high)
    )];
    if let (Some(limit), Some(below)) = (&channel.limit, judgement.probability_below) {
        if judgement.correction_kelvin != 0.0 {
            lines.push(format!(
                "the limit is meant for a room at {:.0} {unit}: {:+.1} K on what was measured",
                (scale.of)(limit.room_celsius.unwrap_or_default()),
                judgement.correction_kelvin
            ));
        }
        if judgement.withheld == Some(Withheld::RoomUnknown) {
            lines.push("how warm the room is, is not known: nothing was corrected".into());
        }
        let margin = limit.celsius - judgement.correction_kelvin - known.final_celsius();
        let probability = match below {
            _ if below >= SURE => "more than 99.9 %".to_owned(),
            _ if below <= 1.0 - SURE => "less than 0.1 %".to_owned(),
            _ => format!("{:.1} %", 100.0 * below),
        };
        let margin = if margin >= 0.0 { format!("{margin:.1} K to spare") } else { format!("{:.1} K over", -margin) };
        lines.push(format!(
            "limit {:.0} {unit} ({}; {}): {margin}; it stays below with a probability of {probability}",
            (scale.of)(limit.celsius),
            limit.words,
            limit.source
        ));
    }
    lines.extend(channel.quick.as_ref().and_then(|quick| quick_words(quick, scale)));
    let (fast, fast_share) = known.fast_minutes(0.5);
    let mut constants = format!(
        "main time constant {:.0} minutes ({:.0} to {:.0})",
        known.main_minutes(0.5),
        known.main_minutes(0.05),
        known.main_minutes(0.95)
    );
    if fast_share > WORTH_SAYING {
        constants += &format!("; {:.0} % of the rise comes within a few minutes ({fast:.1})", 100.0 * fast_share);
    }
    lines.push(constants);
    let (usual, latest) = (known.minutes_until_within(1.0, 0.5), known.minutes_until_within(1.0, 0.9));
    lines.push(match usual {
        _ if latest < 0.5 => "within 1 K of its end".to_owned(),
        _ if usual < 0.5 => format!("within 1 K of its end now, or within {}", time_words(latest)),
        _ => format!(
            "within 1 K of its end in about {}; nine times in ten within {}",
            time_words(usual),
            time_words(latest)
        ),
    });
    lines
}

/// What quick rules say, and what is to be held of them.
fn quick_words(quick: &Quick, scale: Scale) -> Option<String> {
    let of = |celsius: f64| format!("{} {}", scale.figure(celsius), scale.unit);
    let three = quick
        .three_readings
        .map(|celsius| format!("three readings {} apart say {}", time_words(quick.spacing_minutes), of(celsius)));
    let one = quick.one_exponential.map(|celsius| format!("one exponential fitted to all says {}", of(celsius)));
    let said: Vec<String> = three.into_iter().chain(one).collect();
    (!said.is_empty()).then(|| {
        format!("by quick rules: {}; these leave out what warms slowly and mostly say too little", said.join(", "))
    })
}

/// Each rule of rest with how it stands; nothing if too little was logged.
pub fn rest_words(channel: &ChannelFinding) -> Vec<RestWords> {
    if channel.judgement.forecast.is_none() {
        return Vec::new();
    }
    let is_open = channel.judgement.verdict == Verdict::NotYet;
    let of = |&(rule, is_met, since): &(Rule, bool, Option<f64>)| {
        let state = match since {
            Some(minute) if is_met => format!("met since minute {minute:.0}"),
            Some(minute) => format!("was met at minute {minute:.0}, is not now"),
            None => "not met".to_owned(),
        };
        RestWords {
            words: format!("at rest by '{}' ({}): {state}", rule.words(), rule.source()),
            caveat: (is_met && is_open).then(|| format!("that rule leaves out: {}", rule.leaves_out())),
        }
    };
    channel.rules.iter().map(of).collect()
}

/// When the unit stopped.
pub fn cycling_words(cycling: &Cycling, scale: Scale) -> String {
    let times = match cycling.stops {
        1 => "once".to_owned(),
        stops => format!("{stops} times"),
    };
    let degrees = |celsius: f64| format!("{:.0} {}", (scale.of)(celsius), scale.unit);
    let (opens, closes) = (cycling.opens_celsius.map(degrees), cycling.closes_celsius.map(degrees));
    let mut words = match &cycling.shown_by {
        None => format!("The current stopped {times}"),
        Some(name) => format!("The unit stopped {times}: {name} fell as it does when off, and rose again"),
    };
    match (&cycling.shown_by, opens) {
        (None, Some(opens)) => words += &format!(", the hottest sensor at {opens}"),
        (Some(_), Some(opens)) => words += &format!(", from {opens}"),
        (_, None) => {}
    }
    match (&cycling.shown_by, closes) {
        (None, Some(closes)) => words += &format!(", and came back at {closes}"),
        (Some(_), Some(closes)) => words += &format!(" and from {closes}"),
        (_, None) => {}
    }
    if let Some(period) = cycling.period_minutes {
        words += &format!("; about every {}", time_words(period));
    }
    words + ": a cutout at work, or somebody at the switch. " + &when_words(cycling)
}

/// From which minute to which the unit was off.
fn when_words(cycling: &Cycling) -> String {
    let each = cycling.when.iter().take(STOPS_SAID).map(|(from, until)| match until {
        Some(until) => format!("{from:.0} to {until:.0}"),
        None => format!("{from:.0} to the end"),
    });
    let more = if cycling.stops > STOPS_SAID as u64 { ", and so on" } else { "" };
    format!("Off from minute {}{more}.", each.collect::<Vec<_>>().join(", "))
}

/// Minutes that were logged: to the minute, as the last row says them.
pub fn logged_words(minutes: f64) -> String {
    match minutes.round() {
        1.0 => "1 minute".into(),
        whole => format!("{whole:.0} minutes"),
    }
}

/// Minutes that are estimated, as one says them.
pub fn time_words(minutes: f64) -> String {
    match minutes {
        _ if minutes < 1.5 => "1 minute".into(),
        _ if minutes < 10.0 => format!("{minutes:.0} minutes"),
        _ if minutes < 120.0 => format!("{:.0} minutes", (minutes / 5.0).round() * 5.0),
        _ => format!("{:.1} hours", minutes / 60.0),
    }
}
