//! Windings after a heat run by their ohms: how hot they were at switching off, and whether that proves anything.
//!
//! Ohms tell the mean temperature of a winding at one moment, and not how much further it would have risen. So they are a proof only of a
//! run whose logged temperatures had come to rest; what these may still rise by, in the end, is granted to the winding too.

use crate::heat_runs::HeatChannel;
use bench::repaired::Metal as Wire;
use bench::winding_class::InsulationClass;
use bench::{HotOhms, Job};
use draw::Drawing;
use draw::chart::{self, Series, time_log};
use proof::heat_run::equilibrium::Rule;
use proof::heat_run::limit::Limit;
use proof::heat_run::resistance::{AtEnd, AtSwitchOff, Metal, NotCarriedBack, at_switch_off, judge};
use proof::heat_run::verdict::{Verdict, Withheld};

/// The rules by which a log may be at rest. That of three readings says little of the first hours, and is none of them.
const RULES: [Rule; 2] = [Rule::Hour, Rule::HalfHour];

/// A winding by its ohms.
#[derive(Debug, Clone)]
pub struct WindingByOhms {
    /// The winding, such as `M1.winding`.
    pub name: String,
    /// Its part and body.
    pub place: (usize, usize),
    /// Seconds after switching off, and ohms.
    pub readings: Vec<(f64, f64)>,
    /// Ohms and degrees Celsius when cold.
    pub cold: (f64, f64),
    /// What it is made of.
    pub metal: Metal,
    /// The room at the end of the run, degrees Celsius.
    pub room_celsius: f64,
    /// What it is held to: the limit of its class by resistance; nothing for a class that the standard has none for.
    pub limit: Option<Limit>,
    /// The class that says so.
    pub class: InsulationClass,
    /// Its ohms at switching off, or why they are not known.
    pub found: Result<AtSwitchOff, NotCarriedBack>,
    /// What is said of it at switching off; a pass leaves room for what was still to come.
    pub end: Option<AtEnd>,
    /// Whether the run had come to rest by then.
    pub rest: Rest,
}

/// Whether a run had come to rest.
#[derive(Debug, Clone, PartialEq)]
pub enum Rest {
    /// Everything that was logged had.
    Came {
        /// The temperature that rose most slowly.
        channel: String,
        /// A rule that it meets.
        rule: Rule,
        /// What may still have been to come of a rise, as a share of it (upper end of the 95 % interval).
        still_share: f64,
    },
    /// This one was still rising, or not logged for long enough to tell.
    Rising(String),
    /// The unit stopped in between, or was off.
    Interrupted,
    /// No temperature of the unit was logged that tells.
    Unknown,
}

impl Rest {
    /// Whether it had.
    pub fn came(&self) -> bool {
        matches!(self, Rest::Came { .. })
    }

    /// In words.
    pub fn words(&self) -> String {
        match self {
            Rest::Came { channel, rule, .. } => {
                format!("the run had come to rest: {channel}, {} ({})", rule.words(), rule.source())
            }
            Rest::Rising(channel) => format!("{channel} was not at rest, so the winding would have become hotter: run it for longer"),
            Rest::Interrupted => "the run was interrupted, so the winding had not come to rest".into(),
            Rest::Unknown => {
                "whether the run had come to rest, ohms do not tell: log another temperature of the unit to its end, such as a core or \
                 a surface"
                    .into()
            }
        }
    }
}

/// A winding after a run with these channels. The room is that at the end of its log.
pub fn judged(job: &Job, hot: &HotOhms, channels: &[HeatChannel], room_celsius: f64) -> WindingByOhms {
    let (part, body) = hot.winding;
    let room_celsius = hot.room_celsius.unwrap_or(room_celsius);
    let class = job.unit.winding_class(part);
    let limit = class.standard_limit_by_resistance(room_celsius).map(|limit| {
        let source = format!("{}, {}", class.words(), limit.source);
        Limit { words: format!("{} by resistance", job.unit.heat_of(part).bodies[body].name), source, ..limit }
    });
    let metal = match hot.metal {
        Wire::Copper => Metal::Copper,
        Wire::Aluminium => Metal::Aluminium,
    };
    let found = at_switch_off(&hot.readings);
    let rest = rest(channels);
    let judged = |limit: Option<&Limit>| {
        found.as_ref().ok().map(|found| judge(found, metal, hot.cold, Some(room_celsius), limit))
    };
    let mut end = judged(limit.as_ref());
    if let (Some(AtEnd { verdict: Verdict::Pass, .. }), Some(limit), Ok(found)) = (end, &limit, &found)
        && let Rest::Came { still_share, .. } = rest
    {
        let hottest = metal.celsius(hot.cold.0, hot.cold.1, found.interval(0.95).1);
        let still_kelvin = still_share * (hottest - room_celsius).max(0.0);
        let lower = Limit { celsius: limit.celsius - still_kelvin, ..limit.clone() };
        let is_sure = |end: &AtEnd| end.verdict == Verdict::Pass;
        end = judged(Some(&lower)).filter(is_sure).or(end.map(|end| AtEnd {
            verdict: Verdict::NotYet,
            withheld: Some(Withheld::TooEarly),
            ..end
        }));
    }
    WindingByOhms {
        name: job.unit.body_name(part, body),
        place: hot.winding,
        readings: hot.readings.clone(),
        cold: hot.cold,
        metal,
        room_celsius,
        limit,
        class,
        found,
        end,
        rest,
    }
}

/// Whether everything that was logged had come to rest by the end, as far as it tells anything.
fn rest(channels: &[HeatChannel]) -> Rest {
    let mut slowest: Option<(f64, &HeatChannel, Rule)> = None;
    for channel in channels {
        let judgement = &channel.finding.judgement;
        match judgement.withheld {
            Some(Withheld::Interrupted | Withheld::Off) => return Rest::Interrupted,
            Some(Withheld::SensorLost | Withheld::HardlyWarmed | Withheld::BelowRoom) => continue,
            _ => {}
        }
        let met = |rule: &Rule| channel.finding.rules.iter().any(|(known, is_met, _)| known == rule && *is_met);
        let (Some(rule), Some(known)) = (RULES.into_iter().find(met), &judgement.forecast) else {
            return Rest::Rising(channel.name().to_owned());
        };
        let now = channel.finding.series.celsius.last().copied().unwrap_or_default();
        let risen = now - known.start_celsius();
        let still = (known.interval(0.95).1 - now).max(0.0);
        if risen > 0.0 && slowest.is_none_or(|(share, ..)| still / risen > share) {
            slowest = Some((still / risen, channel, rule));
        }
    }
    slowest.map_or(Rest::Unknown, |(still_share, channel, rule)| Rest::Came {
        channel: channel.name().to_owned(),
        rule,
        still_share,
    })
}

impl WindingByOhms {
    /// Temperature at so many ohms, degrees Celsius.
    pub fn celsius(&self, ohms: f64) -> f64 {
        self.metal.celsius(self.cold.0, self.cold.1, ohms)
    }

    /// Temperature at switching off, with the ends of the 95 % interval.
    pub fn at_switch_off(&self) -> Option<(f64, [f64; 2])> {
        let found = self.found.as_ref().ok()?;
        let (low, high) = found.interval(0.95);
        Some((self.celsius(found.ohms()), [self.celsius(low), self.celsius(high)]))
    }

    /// Whether it passes; `None` as long as that is open.
    pub fn passes(&self) -> Option<bool> {
        match self.end.map(|end| end.verdict) {
            Some(Verdict::Pass) if self.rest.came() => Some(true),
            Some(Verdict::Fail) => Some(false),
            _ => None,
        }
    }

    /// The verdict in words.
    pub fn words(&self) -> String {
        let end = match (&self.found, self.end) {
            (Err(error), _) => return error.to_string(),
            (_, None) => return "nothing is known of it".into(),
            (_, Some(end)) => end,
        };
        match (end.verdict, end.withheld) {
            (Verdict::Pass, _) if self.rest.came() => {
                format!("stays below its limit by its ohms at switching off; {}", self.rest.words())
            }
            (Verdict::Pass, _) => format!("below its limit by its ohms at switching off, but {}", self.rest.words()),
            (Verdict::Fail, _) => "above its limit by its ohms at switching off".into(),
            (_, Some(Withheld::TooEarly)) => {
                "below its limit by its ohms at switching off, but what was still to come may bring it above: run it for longer".into()
            }
            (_, Some(Withheld::NoLimit)) => "no limit by resistance is known for its class".into(),
            (_, Some(Withheld::BelowRoom)) => {
                "its ohms make it colder than the room: are these the hot ones, and the cold ones of this winding?"
                    .into()
            }
            _ => "its limit lies within what the ohms leave open: read them sooner after switching off, and more often"
                .into(),
        }
    }

    /// The readings as temperatures over the minutes since switching off, carried back to that moment.
    pub fn chart(&self, width: f64) -> Drawing {
        let line = |label: &str, points| Series { label: label.into(), unit: "°C".into(), points };
        let read: Vec<(f64, f64)> =
            self.readings.iter().map(|&(seconds, ohms)| (seconds / 60.0, self.celsius(ohms))).collect();
        let first = read.first().copied();
        let mut series = vec![line(&format!("{}, by its ohms", self.name), read)];
        if let (Some((celsius, _)), Some(first)) = (self.at_switch_off(), first) {
            series.push(line("carried back", vec![(0.0, celsius), first]));
        }
        let limit = self.limit.as_ref().map(|limit| chart::Limit {
            words: limit.words.clone(),
            unit: "°C".into(),
            value: limit.celsius,
        });
        time_log(&format!("{} after switching off", self.name), &series, limit.as_slice(), width)
    }
}
