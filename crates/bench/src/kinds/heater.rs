//! Heating element.
//!
//! # Assumes
//! Resistance does not change with temperature (nickel-chrome rises by about 5 %; inside the spread).

use super::{Insulation, Kind, Rating, UnknownSpec};
use crate::fault::{FaultMode, Severity};
use crate::heat::PartHeat;
use crate::job::Positive;
use crate::wiring::PartWiring;
use serde::Deserialize;

/// Spread of element ohms about rated: elements are made to about +5/-10 % of rated power (common practice, no source).
const OHMS_SPREAD: f64 = 0.05;

/// Rise of a sheathed element over the air at rated watts, at rest and in a full stream, kelvins, and the time in which
/// it warms, seconds (engineering judgement: sheaths run at some 300 to 500 degrees in still air).
const STILL_RISE: f64 = 420.0;
const STREAM_RISE: f64 = 200.0;
const WARMING_SECONDS: f64 = 60.0;

/// Heating element. Terminals: a, b.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Heater {
    /// Rated volts.
    pub volts: Positive,
    /// Rated watts at rated volts.
    pub watts: Positive,
}

/// Broken where it touches: elements burn through at one spot, and about a quarter of those that break are left leaning on the
/// sheath. The ohms are those of the piece and of the touch together (engineering judgement).
fn broken_to_frame(end: &str, repair: &'static str) -> FaultMode {
    let words = format!("the element is broken and its piece at {end} touches the metal sheath");
    FaultMode::new(format!("broken-{end}-to-frame"), words, 0.006, repair).sized(Severity::ohms(30.0, 1.5))
}

impl Kind for Heater {
    fn name(&self) -> &'static str {
        "heater"
    }

    fn terminals(&self) -> Vec<String> {
        vec!["a".into(), "b".into()]
    }

    fn describe(&self) -> String {
        let ohms = self.volts.0 * self.volts.0 / self.watts.0;
        format!("{} W at {} V ({ohms:.1} ohm)", self.watts.0, self.volts.0)
    }

    fn unknowns(&self) -> Vec<UnknownSpec> {
        let ohms = self.volts.0 * self.volts.0 / self.watts.0;
        vec![UnknownSpec::new("element ohms", ohms, OHMS_SPREAD)]
    }

    fn faults(&self) -> Vec<FaultMode> {
        let repair = "replace the heater {}";
        vec![
            FaultMode::new("open", "the element is broken", 0.04, repair),
            FaultMode::new("to-frame", "the element has broken through to its metal sheath", 0.012, repair)
                .sized(Severity::ohms(2000.0, 2.5)),
            broken_to_frame("a", repair),
            broken_to_frame("b", repair),
            FaultMode::new("bad-joint", "a terminal of the element has gone high in resistance", 0.012, repair)
                .sized(Severity::ohms(5.0, 1.5)),
            FaultMode::new("wrong-rating", "an element of another rating is fitted", 0.005, repair)
                .sized(Severity::factor("times rated ohms", 1.0, 0.6)),
        ]
    }

    fn heat(&self) -> PartHeat {
        PartHeat::plain("element", self.watts.0, STILL_RISE, STREAM_RISE, WARMING_SECONDS)
    }

    fn plate_volts(&self) -> Option<f64> {
        Some(self.volts.0)
    }

    fn rating(&self) -> Option<Rating> {
        Some(Rating::Watts(self.watts.0))
    }

    fn insulation(&self) -> Option<Insulation> {
        Some(Insulation::of_element(self.watts.0, [0, 1]))
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        let (a, b) = (part.terminal(0), part.terminal(1));
        let mut ohms = part.unknown(0);
        let pieces = [("a", a), ("b", b)];
        let touching =
            pieces.map(|(end, node)| part.severity(format_args!("broken-{end}-to-frame")).map(|ohms| (node, ohms)));
        let is_broken = part.has("open") || touching.iter().any(Option::is_some);
        for (node, ohms) in touching.into_iter().flatten() {
            part.resistor("path to frame", node, part.frame(), ohms);
        }
        if is_broken {
            return;
        }
        if let Some(factor) = part.severity("wrong-rating") {
            ohms = &ohms * &factor;
        }
        if let Some(joint) = part.severity("bad-joint") {
            ohms = &ohms + &joint;
        }
        match part.severity("to-frame") {
            Some(leak) => {
                // Where along the element it breaks through is not known; the middle stands for it.
                let middle = part.inner();
                let half = &ohms * 0.5;
                part.resistor("element, first half", a, middle, half.clone());
                part.resistor("element, second half", middle, b, half);
                part.resistor("path to frame", middle, part.frame(), leak);
            }
            None => part.resistor("element", a, b, ohms),
        }
    }
}
