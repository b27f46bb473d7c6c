//! One-shot thermal fuse: opens once for good.
//!
//! # Assumes
//! In a setup it is whole unless it is the fault. In a run it opens at its temperature; without `opens_celsius` it never
//! does.

use super::rated::ContactAmps;
use super::{Kind, Rating, contact};
use crate::fault::{FaultMode, Severity};
use crate::heat::{HeatContact, PartHeat};
use crate::job::Positive;
use crate::wiring::PartWiring;
use serde::Deserialize;

/// One-shot thermal fuse. Terminals: a, b.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ThermalFuse {
    /// Temperature at which it opens, degrees Celsius.
    pub opens_celsius: Option<Positive>,
    /// Amps that it may carry, if marked.
    pub rated_amps: Option<ContactAmps>,
}

impl Kind for ThermalFuse {
    fn name(&self) -> &'static str {
        "thermal-fuse"
    }

    fn terminals(&self) -> Vec<String> {
        vec!["a".into(), "b".into()]
    }

    fn describe(&self) -> String {
        let opens = self.opens_celsius;
        let opens = opens.map_or("one-shot thermal fuse".into(), |opens| format!("opens at {} C, for good", opens.0));
        opens + &self.rated_amps.map_or(String::new(), |amps| format!(", {} A", amps.0))
    }

    fn faults(&self) -> Vec<FaultMode> {
        let repair =
            "find what overheated, then replace the thermal fuse {} with one of the same temperature and current";
        vec![
            FaultMode::new("blown", "the thermal fuse has opened", 0.04, repair),
            FaultMode::new("bad-joint", "a crimp of the thermal fuse has gone high in resistance", 0.006, repair)
                .sized(Severity::ohms(5.0, 1.5)),
        ]
    }

    fn is_protector(&self) -> bool {
        true
    }

    fn rating(&self) -> Option<Rating> {
        self.rated_amps.map(|amps| Rating::Amps { terminal: 0, amps: amps.0 })
    }

    fn heat(&self) -> PartHeat {
        PartHeat::feeler()
    }

    fn heat_contact(&self, _size: &dyn Fn(&str) -> Option<f64>) -> Option<HeatContact> {
        contact::by_heat(self.opens_celsius.map(|opens| opens.0), None, None)
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        if part.has_moved(0) {
            return;
        }
        part.conductor(part.terminal(0), part.terminal(1), "blown", "bad-joint");
    }
}
