//! PTC starter: a ceramic disc that is a few ohms cold, and cuts itself off once its own current has heated it.
//!
//! # Assumes
//! In a setup it is cold when the unit is switched on. While energised it always ends hot, whether or not the motor has
//! started, and stays hot on the little that it goes on drawing. The second or so that this takes is longer than a start.
//!
//! In a run its own watts warm it, it holds itself at its temperature while it is fed, and it must cool before it lets the
//! start current pass again: a motor switched on before that does not start. In between it is either cold or hot.

use super::{Kind, UnknownSpec, contact, disc};
use crate::fault::{FaultMode, Severity};
use crate::heat::air::USUAL_ROOM_CELSIUS;
use crate::heat::{Body, HeatContact, HeatSource, PartHeat};
use crate::job::Positive;
use crate::switching::OwnContact;
use crate::wiring::PartWiring;
use serde::Deserialize;

/// Cold ohms where they are not given: published 3 to 12 ohms at room temperature (a weak source).
const USUAL_OHMS: f64 = 6.0;
/// Watts that heat a disc through; less than it takes to keep one hot would (engineering judgement).
const HEATING_WATTS: f64 = 10.0;
/// Ohms of a hot disc: a few watts at mains volts (engineering judgement).
const HOT_OHMS: f64 = 15e3;

/// Heat that warms the disc and its springs by a kelvin, joules: some 4 g of ceramic at 0.5 J/(g K), and a little metal; so a
/// start's few hundred watts heat it through in about a second, within the 0.1 to several seconds that are published
/// (ampfort.net, PTC motor starters).
const JOULES_PER_KELVIN: f64 = 2.5;
/// Watts that keep it hot in a room at 20 degrees, and the temperature that it then holds (common practice, no source: 2 to
/// 3 W).
const HOLD_WATTS: f64 = 2.5;
const HOLD_CELSIUS: f64 = 140.0;
/// Temperature at which it cuts the current off, and below which it lets it pass again (engineering judgement: ceramics of
/// 115 to 135 degrees; with the values above it takes some two minutes to cool).
const CUTS_OFF_CELSIUS: f64 = 120.0;
const COOLED_CELSIUS: f64 = 60.0;

/// PTC starter. Terminals: a, b.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PtcStarter {
    /// Ohms at room temperature, where published.
    pub ohms: Option<Positive>,
}

impl Kind for PtcStarter {
    fn name(&self) -> &'static str {
        "ptc-starter"
    }

    fn terminals(&self) -> Vec<String> {
        vec!["a".into(), "b".into()]
    }

    fn describe(&self) -> String {
        self.ohms.map_or("PTC starter".into(), |ohms| format!("{} ohm cold", ohms.0))
    }

    fn unknowns(&self) -> Vec<UnknownSpec> {
        // Discs are sold to 20 or 25 % (engineering judgement).
        let (ohms, spread) = self.ohms.map_or((USUAL_OHMS, 0.45), |ohms| (ohms.0, 0.15));
        vec![UnknownSpec::new("cold ohms", ohms, spread), UnknownSpec::new("hot ohms", HOT_OHMS, 0.8)]
    }

    fn faults(&self) -> Vec<FaultMode> {
        let repair = "replace the PTC starter {}";
        vec![
            FaultMode::new("cracked-open", "the disc of the PTC starter is cracked and open", 0.04, repair),
            FaultMode::new("shorted", "the disc of the PTC starter has broken through", 0.012, repair)
                .sized(Severity::ohms(1.0, 1.0)),
            FaultMode::new("bad-contact", "a contact spring of the PTC starter is burnt", 0.012, repair)
                .sized(Severity::ohms(20.0, 1.0)),
        ]
    }

    fn own_contacts(&self) -> Vec<OwnContact> {
        let law = disc::law(HEATING_WATTS);
        vec![OwnContact { moved_words: "the disc is hot and has cut the start winding off", law }]
    }

    fn heat(&self) -> PartHeat {
        let body = Body {
            name: disc::DISC,
            joules_per_kelvin: JOULES_PER_KELVIN,
            still_watts_per_kelvin: HOLD_WATTS / (HOLD_CELSIUS - USUAL_ROOM_CELSIUS),
            stream_watts_per_kelvin: 0.0,
            source: HeatSource::SelfHeld {
                element: disc::DISC,
                hold_watts: HOLD_WATTS,
                least_watts: disc::COOLED_SHARE * HEATING_WATTS,
            },
        };
        PartHeat { bodies: vec![body], links: Vec::new() }
    }

    fn heat_contact(&self, _size: &dyn Fn(&str) -> Option<f64>) -> Option<HeatContact> {
        contact::by_heat(Some(CUTS_OFF_CELSIUS), Some(Positive(COOLED_CELSIUS)), None)
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        disc::connect(part, "bad-contact", "burnt spring");
    }
}
