//! Inrush limiter: an NTC disc in series with a load, some ohms cold and a few per cent of that once its own current has
//! warmed it.
//!
//! # Assumes
//! It is cold when the unit is switched on and has had its minute to warm when something is read. It is then hot if cold it
//! would take more than a few watts, and else cold; a real one lies between where its load takes a small share of its rated
//! current, which the spread of its hot ohms covers in part. In an unplugged unit it is cold.

use super::{Kind, UnknownSpec, disc};
use crate::fault::{FaultMode, Severity};
use crate::job::Positive;
use crate::switching::OwnContact;
use crate::wiring::PartWiring;
use serde::Deserialize;

/// Cold ohms where they are not given: 5 to 20 ohms are usual in front of small loads (common practice, no source).
const USUAL_OHMS: f64 = 10.0;
/// Watts that a cold disc must take to end hot. A disc sheds some 15 mW a kelvin; at 3 W cold it settles at about a fifth
/// of its cold ohms, half way on a log scale (makers' tables, from memory).
const WARMING_WATTS: f64 = 3.0;
/// Hot ohms over cold ones at a good part of the rated current (makers' tables, from memory: 1.5 to 5 % at all of it).
const HOT_SHARE: f64 = 0.04;

/// Inrush limiter. Terminals: a, b.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct InrushLimiter {
    /// Ohms at room temperature, as marked.
    pub ohms: Option<Positive>,
}

impl Kind for InrushLimiter {
    fn name(&self) -> &'static str {
        "inrush-limiter"
    }

    fn terminals(&self) -> Vec<String> {
        vec!["a".into(), "b".into()]
    }

    fn describe(&self) -> String {
        self.ohms.map_or("NTC disc".into(), |ohms| format!("NTC disc, {} ohm cold", ohms.0))
    }

    fn unknowns(&self) -> Vec<UnknownSpec> {
        // Discs are sold to 15 or 20 %, at 25 degrees; a cooler or warmer bench moves them by some 4 % a kelvin.
        let (ohms, spread) = self.ohms.map_or((USUAL_OHMS, 0.6), |ohms| (ohms.0, 0.17));
        vec![
            UnknownSpec::new("cold ohms", ohms, spread).between_sisters(0.1),
            UnknownSpec::new("hot ohms", HOT_SHARE * ohms, spread.hypot(0.7)).between_sisters(0.2),
        ]
    }

    fn faults(&self) -> Vec<FaultMode> {
        let repair = "replace the inrush limiter {} with one of the same ohms and amps";
        let joint = "renew the joints of the inrush limiter {} with its leads left long, and look for scorched board";
        vec![
            FaultMode::new("cracked-open", "the disc of the inrush limiter is cracked and open", 0.03, repair),
            FaultMode::new("shorted", "the disc of the inrush limiter has broken through", 0.006, repair)
                .sized(Severity::ohms(0.3, 1.0)),
            FaultMode::new("bad-joint", "the heat of the inrush limiter has spoilt one of its joints", 0.02, joint)
                .sized(Severity::ohms(5.0, 1.5)),
        ]
    }

    fn own_contacts(&self) -> Vec<OwnContact> {
        let law = disc::law(WARMING_WATTS);
        vec![OwnContact { moved_words: "the disc is hot and lets the current pass", law }]
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        disc::connect(part, "bad-joint", "bad joint");
    }
}
