//! Sequencer: a small heater that bends a strip, and a contact that the strip closes after a while.
//!
//! A control feeds the heater; the contact switches a heating element or a fan, so that several stages come on one after
//! another. After switching off the strip cools, and the contact opens after another while.
//!
//! The strip warms with one time constant, so at rated volts it reaches the share `s` of its final warmth after
//! `t ln(1 / (1 - s))` and cools from all of it to the share `r` after `t ln(1 / r)`. With `r` a fixed share of `s`, the two
//! delays that are told fix both.
//!
//! # Assumes
//! The strip is made for its heater at rated volts, whatever watts that has, so its warmth goes with the square of the volts.
//! The heater's ohms do not change with its warmth, nor the delays with the room's. In a setup the heater has been fed for
//! long enough; in a run the contact moves after its delays. A sequencer of several contacts is several parts, their
//! heaters beside each other.

use super::contact::{self, ContactOdds};
use super::rated::{self, ContactAmps};
use super::{Insulation, Kind, UnknownSpec};
use crate::fault::FaultMode;
use crate::heat::body::celsius_at;
use crate::heat::{HeatContact, PartHeat};
use crate::job::Positive;
use crate::switching::{ContactLaw, OwnContact, Thresholds};
use crate::wiring::PartWiring;
use serde::Deserialize;

/// Ohms of a heater for 24 V of which no watts are given: about 20 are published (homesteady.com, a weak source).
const USUAL_WATTS: f64 = 24.0 * 24.0 / 20.0;
/// Delays that are not given, seconds: half a minute to close, somewhat longer to open (common practice, no source).
const USUAL_CLOSING_SECONDS: f64 = 30.0;
const OPENING_OVER_CLOSING: f64 = 1.5;
/// Warmth at which it opens over that at which it closes, as shares of what rated volts make (engineering judgement).
const OPENING_SHARE: f64 = 0.8;
/// Least opening delay over the closing delay: with less the contact would not close at nine tenths of its volts.
const LEAST_OPENING: f64 = 0.3;

/// A contact that switches heating elements and arcs as it opens slowly (common practice, no source).
const ODDS: ContactOdds = ContactOdds { stuck_open: 0.015, welded: 0.015, burnt: 0.015 };

/// What the heater is called among its elements.
const HEATER: &str = "heater";

/// Sequencer. Terminals: heater-a, heater-b, a, b.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(try_from = "SequencerEntry")]
#[schemars(with = "SequencerEntry")]
pub struct Sequencer {
    entry: SequencerEntry,
    warmth: Warmth,
}

/// As written in a job file.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SequencerEntry {
    /// Rated volts of its heater.
    volts: Positive,
    /// Rated watts of its heater.
    watts: Option<Positive>,
    /// Seconds from feeding its heater until its contact closes; 30 if not given.
    closes_after_seconds: Option<Positive>,
    /// Seconds from switching its heater off, warm through, until its contact opens; half as long again as closing if not
    /// given.
    opens_after_seconds: Option<Positive>,
    /// Amps that its contact may carry, if marked; of 16(4) the figure in brackets where a motor is switched.
    rated_amps: Option<ContactAmps>,
}

/// How its strip warms: shares of what rated volts end in.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Warmth {
    closes: f64,
    time_constant_seconds: f64,
}

impl Warmth {
    /// The warmth that two delays amount to.
    fn of_delays(closing_seconds: f64, opening_seconds: f64) -> Self {
        // Rises with the share from nothing to infinity.
        let excess =
            |share: f64| opening_seconds * -(1.0 - share).ln() + closing_seconds * (OPENING_SHARE * share).ln();
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if excess(middle) < 0.0 { low = middle } else { high = middle }
        }
        let closes = 0.5 * (low + high);
        Warmth { closes, time_constant_seconds: closing_seconds / -(1.0 - closes).ln() }
    }
}

impl TryFrom<SequencerEntry> for Sequencer {
    type Error = String;

    fn try_from(entry: SequencerEntry) -> Result<Self, Self::Error> {
        let closing = entry.closes_after_seconds.map_or(USUAL_CLOSING_SECONDS, |seconds| seconds.0);
        let opening = entry.opens_after_seconds.map_or(OPENING_OVER_CLOSING * closing, |seconds| seconds.0);
        if opening < LEAST_OPENING * closing {
            return Err(format!(
                "it opens {opening} s after switching off and closes after {closing} s, expected at least {LEAST_OPENING} \
                 times as long to open; exchange the two, or leave out what is not known"
            ));
        }
        Ok(Sequencer { warmth: Warmth::of_delays(closing, opening), entry })
    }
}

impl Sequencer {
    fn watts(&self) -> f64 {
        self.entry.watts.map_or(USUAL_WATTS, |watts| watts.0)
    }
}

impl Kind for Sequencer {
    fn name(&self) -> &'static str {
        "sequencer"
    }

    fn terminals(&self) -> Vec<String> {
        ["heater-a", "heater-b", "a", "b"].map(String::from).to_vec()
    }

    fn describe(&self) -> String {
        let watts = self.entry.watts.map_or(String::new(), |watts| format!(", {} W", watts.0));
        let seconds = self.entry.closes_after_seconds;
        let delay = seconds.map_or(String::new(), |seconds| format!(", closes after {} s", seconds.0));
        let contact = rated::contact_words(self.entry.rated_amps);
        format!("heater for {} V{watts}{delay}{contact}", self.entry.volts.0)
    }

    fn unknowns(&self) -> Vec<UnknownSpec> {
        // Small wound heaters are made to a tenth or so; without watts the size is a guess (engineering judgement).
        let spread = if self.entry.watts.is_some() { 0.1 } else { 0.5 };
        vec![UnknownSpec::new("heater ohms", self.entry.volts.0.powi(2) / self.watts(), spread)]
    }

    fn faults(&self) -> Vec<FaultMode> {
        let repair = "replace the sequencer {}";
        let mut faults = contact::faults("", "the contact of the sequencer", &ODDS, repair);
        faults.push(FaultMode::new("heater-open", "the heater inside the sequencer is open", 0.025, repair));
        faults
    }

    fn own_contacts(&self) -> Vec<OwnContact> {
        let leaves = self.warmth.closes.sqrt() * self.entry.volts.0;
        let law = ContactLaw::HeaterVolts(HEATER, Thresholds { leaves, returns: OPENING_SHARE.sqrt() * leaves });
        vec![OwnContact { moved_words: "the strip is warm and has closed the contact", law }]
    }

    fn insulation(&self) -> Option<Insulation> {
        Some(Insulation::of_coil([0, 1]))
    }

    fn heat(&self) -> PartHeat {
        PartHeat::heater_warmed("strip", HEATER, self.entry.volts.0, self.warmth.time_constant_seconds)
    }

    fn heat_contact(&self, _size: &dyn Fn(&str) -> Option<f64>) -> Option<HeatContact> {
        let at = |share: f64| celsius_at(share.sqrt());
        Some(HeatContact {
            contact: 0,
            body: 0,
            opens_celsius: at(self.warmth.closes),
            closes_celsius: Some(at(OPENING_SHARE * self.warmth.closes)),
            warmth_closes: true,
        })
    }

    fn rated_contact_amps(&self) -> Option<f64> {
        self.entry.rated_amps.map(|amps| amps.0)
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        if !part.has("heater-open") {
            part.resistor(HEATER, part.terminal(0), part.terminal(1), part.unknown(0));
        }
        contact::connect(part, part.terminal(2), part.terminal(3), part.has_moved(0), "");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: closing in as long as opening, `1 / (1 - s) = 1 / (0.8 s)`, so `s = 1 / 1.8` and `t = t_close / ln 2.25`.
    #[test]
    fn alike_delays_close_it_at_five_ninths_of_its_warmth() {
        let warmth = Warmth::of_delays(40.0, 40.0);
        assert!((warmth.closes - 1.0 / 1.8).abs() < 1e-12, "{warmth:?}");
        assert!((warmth.time_constant_seconds - 40.0 / 2.25_f64.ln()).abs() < 1e-9, "{warmth:?}");
    }

    #[test]
    fn at_the_least_opening_delay_it_still_closes_at_nine_tenths_of_its_volts() {
        let warmth = Warmth::of_delays(100.0, 100.0 * LEAST_OPENING);
        assert!(warmth.closes < 0.81, "{warmth:?}");
    }
}
