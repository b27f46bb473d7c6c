//! Overload relay: bimetal strips in the leads of a motor, and a contact for the coil of its contactor.
//!
//! Each pole carries one lead of the motor, from L to T. When the strips have bent far enough, the contact 95-96 opens
//! and with it the coil's circuit; the poles themselves stay closed.
//!
//! # Assumes
//! The pole with the most current decides. The room's warmth does not count (compensated strips); a missing phase trips
//! no sooner than its current does. The poles' few milliohms are left out.

use super::contact::{self, ContactOdds};
use super::{Kind, Rating};
use crate::fault::{FaultMode, Severity};
use crate::heat::body::celsius_at;
use crate::heat::{HeatContact, PartHeat};
use crate::job::Positive;
use crate::wiring::PartWiring;
use serde::Deserialize;

/// Least current that trips it in the end, over its setting: between the 1.05 times at which it must not trip and the 1.2
/// times at which it must (IEC 60947-4-1, from memory).
const LEAST_TRIPPING: f64 = 1.12;
/// Current at which the trip class is told, over the setting, and the share of the class's seconds after which it trips
/// there from cold: class 10 asks for more than 4 and at most 10 s (IEC 60947-4-1, from memory).
const CLASS_CURRENT: f64 = 7.2;
const CLASS_SHARE: f64 = 0.7;
/// Steady current at which the strips would be as warm as when one that resets itself closes again, over the setting
/// (engineering judgement: it does so after some minutes).
const RESET_CURRENT: f64 = 0.7;
/// Trip classes, seconds.
const CLASSES: [u32; 4] = [5, 10, 20, 30];

/// Odds of the contact (common practice, no source).
const ODDS: ContactOdds = ContactOdds { stuck_open: 0.012, welded: 0.002, burnt: 0.006 };

/// Overload relay. Terminals: L1, T1 and so on for each pole, then 95, 96. Positions: closed (ordinary), open.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(try_from = "OverloadRelayEntry")]
#[schemars(with = "OverloadRelayEntry")]
pub struct OverloadRelay {
    entry: OverloadRelayEntry,
}

/// How it closes again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Reset {
    /// By its button.
    Manual,
    /// By itself, once the strips have cooled.
    #[serde(rename = "self")]
    ByItself,
}

/// As written in a job file.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OverloadRelayEntry {
    /// Amps that it is set to, or should be.
    amps: Positive,
    /// Leads of the motor that pass through it: 1, 2 or 3; 3 if not given.
    poles: Option<u32>,
    /// Trip class: 5, 10, 20 or 30; 10 if not given.
    class: Option<u32>,
    /// How it closes again: manual, if not given, or self.
    reset: Option<Reset>,
}

impl TryFrom<OverloadRelayEntry> for OverloadRelay {
    type Error = String;

    fn try_from(entry: OverloadRelayEntry) -> Result<Self, Self::Error> {
        if !matches!(entry.poles, None | Some(1..=3)) {
            return Err("poles of an overload relay, expected 1, 2 or 3; count its pairs L1 T1 and so on".into());
        }
        if entry.class.is_some_and(|class| !CLASSES.contains(&class)) {
            return Err("class of an overload relay, expected 5, 10, 20 or 30; leave it out if it is not marked".into());
        }
        Ok(OverloadRelay { entry })
    }
}

impl OverloadRelay {
    fn poles(&self) -> usize {
        self.entry.poles.map_or(3, |poles| poles as usize)
    }

    fn warming_seconds(&self) -> f64 {
        let class = f64::from(self.entry.class.unwrap_or(10));
        let (heat, least) = (CLASS_CURRENT.powi(2), LEAST_TRIPPING.powi(2));
        CLASS_SHARE * class / (heat / (heat - least)).ln()
    }
}

impl Kind for OverloadRelay {
    fn name(&self) -> &'static str {
        "overload-relay"
    }

    fn terminals(&self) -> Vec<String> {
        let poles = (1..=self.poles()).flat_map(|pole| [format!("L{pole}"), format!("T{pole}")]);
        poles.chain(["95".into(), "96".into()]).collect()
    }

    fn describe(&self) -> String {
        let reset = match self.entry.reset {
            Some(Reset::ByItself) => "resets itself",
            _ => "reset by its button",
        };
        format!("set to {} A, class {}, {reset}", self.entry.amps.0, self.entry.class.unwrap_or(10))
    }

    fn positions(&self) -> Vec<String> {
        contact::positions()
    }

    fn ordinary_position(&self) -> Option<String> {
        Some("closed".into())
    }

    fn faults(&self) -> Vec<FaultMode> {
        let repair = "replace the overload relay {}";
        let tripped = "find what drew too much, then press the button of the overload relay {}";
        let mut faults = contact::faults("", "the contact 95-96", &ODDS, repair);
        faults.push(FaultMode::new("tripped", "the overload relay has tripped and was not reset", 0.04, tripped));
        let setting = "set the overload relay {} to the amps on the motor's plate";
        faults.push(
            FaultMode::new("wrong-setting", "the overload relay is set to other amps than it should be", 0.02, setting)
                .sized(Severity::factor("times the right amps", 0.75, 0.4)),
        );
        for pole in 1..=self.poles() {
            let open = format!("the strip or a clamp of pole {pole} is open");
            faults.push(FaultMode::new(format!("pole-{pole}-open"), open, 0.004, repair));
            let joint = format!("a clamp of pole {pole} has gone high in resistance");
            let clean = "clean and tighten the clamps of the overload relay {}";
            faults.push(
                FaultMode::new(format!("pole-{pole}-bad-joint"), joint, 0.006, clean).sized(Severity::ohms(3.0, 1.5)),
            );
        }
        faults
    }

    fn is_protector(&self) -> bool {
        true
    }

    fn rating(&self) -> Option<Rating> {
        Some(Rating::AmpsAtAny { terminals: 2 * self.poles(), amps: self.entry.amps.0 })
    }

    fn heat(&self) -> PartHeat {
        const POLES: &[usize] = &[0, 2, 4];
        PartHeat::current_warmed("strips", &POLES[..self.poles()], self.entry.amps.0, self.warming_seconds())
    }

    fn heat_contact(&self, size: &dyn Fn(&str) -> Option<f64>) -> Option<HeatContact> {
        let setting = size("wrong-setting").unwrap_or(1.0);
        let resets = (self.entry.reset == Some(Reset::ByItself)).then(|| Positive(celsius_at(RESET_CURRENT * setting)));
        contact::by_heat(Some(celsius_at(LEAST_TRIPPING * setting)), resets, None)
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        for pole in 0..self.poles() {
            let (from, to) = (part.terminal(2 * pole), part.terminal(2 * pole + 1));
            let name = pole + 1;
            part.conductor(from, to, &format!("pole-{name}-open"), &format!("pole-{name}-bad-joint"));
        }
        let (from, to) = (part.terminal(2 * self.poles()), part.terminal(2 * self.poles() + 1));
        let closed = part.position() != Some("open") && !part.has("tripped") && !part.has_moved(0);
        contact::connect(part, from, to, closed, "");
    }
}
