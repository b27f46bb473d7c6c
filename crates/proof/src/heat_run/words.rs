//! What is found of a heat run, as one would tell a colleague.

use super::finding::{ChannelFinding, Cycling};
use super::verdict::{LEAST_MINUTES, Verdict, Withheld};

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
        }
    }
}

/// The verdict of one temperature with its reason.
pub fn verdict_words(channel: &ChannelFinding) -> String {
    let judgement = &channel.judgement;
    match (judgement.verdict, judgement.withheld) {
        (Verdict::Pass, _) => "pass: it stays below the limit; you may stop".into(),
        (Verdict::Fail, _) => "fail: it goes above the limit; stop the run".into(),
        (Verdict::NotYet, Some(reason)) => format!("not yet: {}", withheld_words(reason, channel)),
        (Verdict::NotYet, None) => "not yet".into(),
    }
}

fn withheld_words(reason: Withheld, channel: &ChannelFinding) -> String {
    let more = || match channel.minutes_to_verdict {
        Some(minutes) => format!("keep running, about {} more", time_words(minutes)),
        None => "keep running to rest; the limit is too near to be sure before".into(),
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
            "the current stopped, or the temperature fell, within the run; a run that a cutout interrupts is no pass. If it \
             was you, run it again without a break"
                .into()
        }
        Withheld::SensorLost => match channel.lost_at {
            Some(row) => format!("its sensor fell off at row {row}; fix it and run again"),
            None => "its sensor fell off; fix it and run again".into(),
        },
        Withheld::BelowRoom => "it would end below the room's temperature; wrong column, unit or probe?".into(),
    }
}

/// What the current did.
pub fn cycling_words(cycling: &Cycling) -> String {
    let mut words = match cycling.stops {
        1 => "The current stopped once".to_owned(),
        stops => format!("The current stopped {stops} times"),
    };
    if let Some(opens) = cycling.opens_celsius {
        words += &format!(", the hottest sensor at {opens:.0} C");
    }
    if let Some(closes) = cycling.closes_celsius {
        words += &format!(", and came back at {closes:.0} C");
    }
    if let Some(period) = cycling.period_minutes {
        words += &format!("; about every {}", time_words(period));
    }
    words + ": a cutout at work, or somebody at the switch."
}

/// Minutes as one says them.
pub fn time_words(minutes: f64) -> String {
    match minutes {
        _ if minutes < 1.5 => "1 minute".into(),
        _ if minutes < 10.0 => format!("{minutes:.0} minutes"),
        _ if minutes < 120.0 => format!("{:.0} minutes", (minutes / 5.0).round() * 5.0),
        _ => format!("{:.1} hours", minutes / 60.0),
    }
}
