//! Reads the ohms of windings that were taken hot, after the heat run of a repaired unit.

use super::load::{Job, Reader};
use super::names;
use crate::repaired::{HotOhms, Metal};
use serde::Deserialize;
use std::ops::{Range, RangeInclusive};
use toml::Spanned;

/// Most readings of one winding; it is cold long before.
const MOST_READINGS: usize = 200;
/// Rooms, and windings that have stood in one, degrees Celsius.
const COLD: RangeInclusive<f64> = -40.0..=70.0;
/// An hour after switching off nothing tells of that moment any more, seconds.
const LATEST_SECONDS: f64 = 3600.0;

/// Ohms of a winding after the heat run: read several times after switching off, and once cold.
#[derive(Debug, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HotOhmsEntry {
    /// The run after which they were read; its log ends at switching off.
    #[schemars(with = "String")]
    pub run: Spanned<String>,
    /// The winding, such as `M1.winding`.
    #[schemars(with = "String")]
    pub winding: Spanned<String>,
    /// Its ohms when cold, by the same meter and leads.
    #[schemars(with = "f64")]
    pub cold_ohms: Spanned<f64>,
    /// Its temperature then, degrees Celsius: that of the room it had stood in.
    #[schemars(with = "f64")]
    pub cold_celsius: Spanned<f64>,
    /// The room at the end of the run, degrees Celsius; as logged, or else that of the run, if not given.
    #[schemars(with = "Option<f64>")]
    pub room_celsius: Option<Spanned<f64>>,
    /// When the hot ohms were read, seconds after switching off.
    #[schemars(with = "Vec<f64>")]
    pub seconds: Spanned<Vec<f64>>,
    /// The hot ohms, one for each time.
    #[schemars(with = "Vec<f64>")]
    pub ohms: Spanned<Vec<f64>>,
    /// What the winding is made of; copper if not given.
    pub metal: Option<Metal>,
}

impl Reader<'_, '_> {
    pub(super) fn hot_ohms(&mut self, job: &Job, entry: &HotOhmsEntry, span: Range<usize>) -> Option<HotOhms> {
        let run = self.run_named(job, &entry.run);
        let winding = self.winding_named(job, &entry.winding);
        let mut is_whole = true;
        for (what, celsius) in
            [("cold_celsius", Some(&entry.cold_celsius)), ("room_celsius", entry.room_celsius.as_ref())]
        {
            if let Some(celsius) = celsius.filter(|celsius| !COLD.contains(celsius.get_ref())) {
                let problem = self.problems.error(celsius.span(), format!("{what} of {}", celsius.get_ref()));
                problem
                    .expected(format!("degrees Celsius of a room, {} to {}", COLD.start(), COLD.end()))
                    .mend("read the cold ohms with the unit at the temperature of the room, and write that");
                is_whole = false;
            }
        }
        let is_ohms = |ohms: f64| ohms.is_finite() && ohms > 0.0;
        if !is_ohms(*entry.cold_ohms.get_ref()) {
            let problem = self.problems.error(entry.cold_ohms.span(), format!("{} ohms", entry.cold_ohms.get_ref()));
            problem.expected("ohms above zero").mend("without the cold ohms the hot ones tell no temperature");
            is_whole = false;
        }
        let (seconds, ohms) = (entry.seconds.get_ref(), entry.ohms.get_ref());
        if seconds.len() != ohms.len() {
            let message = format!("{} ohms for {} times", ohms.len(), seconds.len());
            self.problems.error(entry.ohms.span(), message).expected("ohms for each time");
            is_whole = false;
        }
        if seconds.is_empty() || seconds.len() > MOST_READINGS {
            let problem = self.problems.error(entry.seconds.span(), format!("{} readings", seconds.len()));
            problem.expected(format!("1 to {MOST_READINGS}")).mend("three or more within the first minutes tell most");
            is_whole = false;
        }
        let is_time = |seconds: f64| (0.0..=LATEST_SECONDS).contains(&seconds);
        let is_late = |pair: &[f64]| pair[1] <= pair[0];
        if let Some(&wrong) = seconds.iter().find(|&&seconds| !is_time(seconds)) {
            let problem = self.problems.error(entry.seconds.span(), format!("{wrong} seconds after switching off"));
            problem
                .expected(format!("0 to {LATEST_SECONDS}"))
                .mend("seconds since switching off, not minutes of the run");
            is_whole = false;
        } else if let Some(pair) = seconds.windows(2).find(|pair| is_late(pair)) {
            let problem = self.problems.error(entry.seconds.span(), format!("{} after {} seconds", pair[1], pair[0]));
            problem.expected("times in order, each once");
            is_whole = false;
        }
        if let Some(wrong) = ohms.iter().find(|&&ohms| !is_ohms(ohms)) {
            let problem = self.problems.error(entry.ohms.span(), format!("{wrong} ohms"));
            problem.expected("ohms above zero").mend("leave out what was read over range, with its time");
            is_whole = false;
        }
        is_whole.then_some(())?;
        Some(HotOhms {
            run: run?,
            winding: winding?,
            cold: (*entry.cold_ohms.get_ref(), *entry.cold_celsius.get_ref()),
            room_celsius: entry.room_celsius.as_ref().map(|celsius| *celsius.get_ref()),
            readings: seconds.iter().copied().zip(ohms.iter().copied()).collect(),
            metal: entry.metal.unwrap_or_default(),
            line: self.problems.line(span.start),
        })
    }

    fn winding_named(&mut self, job: &Job, text: &Spanned<String>) -> Option<(usize, usize)> {
        let unit = &job.unit;
        let is_winding = |&(part, body): &(usize, usize)| unit.heat_of(part).bodies[body].is_winding();
        let found = unit.find_body(text.get_ref()).filter(is_winding);
        if found.is_none() && !self.unread.has_part_of(text.get_ref()) {
            let known: Vec<String> =
                unit.bodies().filter(is_winding).map(|(part, body)| unit.body_name(part, body)).collect();
            let problem = self.problems.error(text.span(), format!("'{}' is no winding", text.get_ref()));
            problem.expected(match known.is_empty() {
                true => "a winding, but this unit has none".to_owned(),
                false => format!("one of {}", known.join(", ")),
            });
            problem.mend = names::mend(text.get_ref(), &known);
        }
        found
    }
}
